//! What any device may be rated for, and its state in the job.

use crate::plan::field::{Kind, Quantity};
use crate::plan::job::YesNo;
use crate::plan::known::Known;
use crate::plan::sources::{CHOICE, LABEL, SHEET};
use crate::standards::conductor::Gauge;
use crate::units::{Amps, Celsius, Number, Volts};
use crate::{record, word_leaves, words};

words! { /// What happens to it in this job.
State { New = "new", Existing = "existing", Removed = "removed", Abandoned = "abandoned" } }
word_leaves!(State);

impl State {
    /// Whether it is part of the finished system.
    #[must_use]
    pub fn stays(self) -> bool {
        matches!(self, Self::New | Self::Existing)
    }
}

record! {
    /// Ratings a device may have. Absent: it has none, or it does not matter; amps of what always has some are not known then.
    Ratings "ratings" {
        volts_dc_v: Option<Known<Volts>> => "DC volts", Kind::Number { quantity: Quantity::Volts, least: 0.0, most: 2000.0 }, "Highest DC volts it may see.", &LABEL;
        amps_a: Option<Known<Amps>> => "amps", Kind::Number { quantity: Quantity::Amps, least: 0.0, most: 2000.0 }, "Continuous current rating. Left out: not known, of a bus, shunt, switch, breaker, disconnect, isolator, combiner, tow connector or fuse panel that current flows through.", &LABEL;
        interrupt_a: Option<Known<Amps>> => "interrupt", Kind::Number { quantity: Quantity::Amps, least: 0.0, most: 500_000.0 }, "Fault current it may open, at its DC volts.", &LABEL;
        max_fuse_a: Option<Known<Amps>> => "max fuse", Kind::Number { quantity: Quantity::Amps, least: 0.0, most: 2000.0 }, "Largest fuse its instructions allow ahead of it.", &SHEET;
        smallest_wire: Option<Known<Gauge>> => "smallest wire", Kind::Gauge, "Smallest conductor its terminals take.", &SHEET;
        largest_wire: Option<Known<Gauge>> => "largest wire", Kind::Gauge, "Largest conductor its terminals take.", &SHEET;
        wires_each: Option<Known<Number>> => "wires each", Kind::Number { quantity: Quantity::Count, least: 1.0, most: 6.0 }, "Conductors that one of its terminals takes. Left out: two lugs on a stud; of a clamp it is not known.", &SHEET;
        terminal_c: Option<Known<Celsius>> => "terminals", Kind::Number { quantity: Quantity::Temperature, least: 40.0, most: 150.0 }, "Temperature its terminals are rated for. Left out: 75 C. It caps ampacity by US RV rules; marine and metric rules have no such cap: where it would bite a note says so.", &SHEET;
        torque_nm: Option<Known<Number>> => "torque", Kind::Number { quantity: Quantity::NewtonMetres, least: 0.0, most: 100.0 }, "Tightening torque of its terminals.", &SHEET;
        stud: String => "stud", Kind::Text, "Stud or screw of its terminals.", &SHEET;
        max_ambient_c: Option<Known<Celsius>> => "max ambient", Kind::Number { quantity: Quantity::Temperature, least: 0.0, most: 120.0 }, "Hottest air it may work in.", &SHEET;
        sparks: Option<YesNo> => "sparks", Kind::Words(YesNo::WORDS), "Whether it can spark: relays, brushes, switches not ignition protected.", &SHEET;
        serial: String => "serial", Kind::Text, "Serial number.", &LABEL;
        sheet: String => "sheet", Kind::Text, "Which instructions were used, with their date.", &CHOICE;
    }
}
