//! Devices that have no section of their own, loads, and the wiring runs between all of them.

use crate::plan::field::{Kind, Quantity};
use crate::plan::job::YesNo;
use crate::plan::known::Known;
use crate::plan::lists::Months;
use crate::plan::path::Id;
use crate::plan::ratings::{Ratings, State};
use crate::plan::sources::{ASKED, CHOICE, LABEL, NEC_310_15, NEC_552_10, PRACTICE, SHEET, SURVEY};
use crate::standards::conductor::Gauge;
use crate::standards::kinds::{Chemistry, FuseFamily, Laid, Metal, WireStandard, Zone};
use crate::units::{AmpHours, Amps, Celsius, Hours, Kilograms, Metres, Number, Ohms, Volts, Watts};
use crate::{record, word_leaves, words};

words! { /// What a device is. Arrays, controllers, the bank, inverters, chargers and loads have sections of their own.
DeviceKind {
    Combiner = "combiner", Bus = "bus", Shunt = "shunt", Switch = "switch", FusePanel = "fuse panel",
    Splice = "splice", Chassis = "chassis point", StartBattery = "start battery", Isolator = "isolator",
    Alternator = "alternator", Converter = "12 V converter", Tow = "tow connector", Breaker = "resetting breaker",
    Disconnect = "PV disconnect", Generator = "generator",
} }
words! { /// How a load is fed.
Supply { Dc = "DC", Inverter = "inverter" } }
words! { /// The nominal volts a DC load is made for.
MadeFor {
    Twelve = "12 V", TwentyFour = "24 V", FortyEight = "48 V", TwelveOrTwentyFour = "12 or 24 V", Wide = "12 to 48 V",
} }
words! { /// When in the day a load is used.
When { AnyTime = "any time", Morning = "morning", Daytime = "daytime", Afternoon = "afternoon", Evening = "evening", Night = "night" } }
words! { /// How the current comes back.
Return { Pair = "pair", Chassis = "chassis", None = "none" } }
words! { /// Where a protective device sits on its run.
FuseAt { From = "from", To = "to", Leg = "leg" } }
words! { /// Which pole it opens.
Pole { Positive = "positive", Negative = "negative" } }
words! { /// How a tripped device comes back.
Resets { No = "no", Manual = "manual", Automatic = "automatic" } }
word_leaves!(DeviceKind, Supply, MadeFor, When, Return, FuseAt, Pole, Resets, FuseFamily, Laid, Metal, WireStandard);

impl DeviceKind {
    /// Whether current passes through it that it is made for so many amps of: left out, that is not known.
    #[must_use]
    pub fn has_rating(self) -> bool {
        use DeviceKind::{Breaker, Bus, Combiner, Disconnect, FusePanel, Isolator, Shunt, Switch, Tow};
        matches!(self, Bus | Shunt | Switch | FusePanel | Isolator | Breaker | Disconnect | Combiner | Tow)
    }
}

impl MadeFor {
    /// Whether it runs on a circuit of these nominal volts.
    #[must_use]
    pub fn fits(self, nominal_v: f64) -> bool {
        let (least, most) = match self {
            Self::Twelve => (12.0, 12.0),
            Self::TwentyFour => (24.0, 24.0),
            Self::FortyEight => (48.0, 48.0),
            Self::TwelveOrTwentyFour => (12.0, 24.0),
            Self::Wide => (12.0, 48.0),
        };
        (least - 0.5..=most + 0.5).contains(&nominal_v)
    }
}

record! {
    /// A device that has no section of its own.
    Device "device" item "D" {
        kind: Known<DeviceKind> => "kind", Kind::Words(DeviceKind::WORDS), "What it is.", &SURVEY;
        name: String => "name", Kind::Text, "What you call it.", &CHOICE;
        zone: Option<Zone> => "stands in", Kind::Words(Zone::WORDS), "Where it is mounted.", &SURVEY;
        state: State = State::New => "state", Kind::Words(State::WORDS), "Bought new, existing, removed, or left in place dead.", &SURVEY;
        weight_kg: Option<Known<Kilograms>> => "weight", Kind::Number { quantity: Quantity::Mass, least: 0.0, most: 500.0 }, "Weight.", &LABEL;
        price: Option<Known<Number>> => "price", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "Selling price.", &CHOICE;
        efficiency_pct: Option<Known<Number>> => "efficiency", Kind::Number { quantity: Quantity::Percent, least: 40.0, most: 100.0 }, "Of a converter, output over input power; its amps are those it gives. Left out: 90 %.", &SHEET;
        chemistry: Option<Known<Chemistry>> => "chemistry", Kind::Words(Chemistry::WORDS), "Of a start battery. Left out: lead of some kind.", &LABEL;
        unit_v: Option<Known<Volts>> => "volts", Kind::Number { quantity: Quantity::Volts, least: 2.0, most: 60.0 }, "Of a start battery, its label volts; of two in series those of both. Left out: 12 V, or 24 V where a charger's alternator says so.", &LABEL;
        unit_ah: Option<Known<AmpHours>> => "amp hours", Kind::Number { quantity: Quantity::AmpHours, least: 0.5, most: 5000.0 }, "Of a start battery. Where its cold cranking amps are left out, its fault current is estimated from them.", &LABEL;
        cca_a: Option<Known<Amps>> => "cold cranking", Kind::Number { quantity: Quantity::Amps, least: 10.0, most: 10_000.0 }, "Of a start battery: its fault current follows. Left out, without amp hours: those of rule start-battery-cca-a.", &LABEL;
        short_circuit_a: Option<Known<Amps>> => "short circuit", Kind::Number { quantity: Quantity::Amps, least: 10.0, most: 100_000.0 }, "Of a start battery, as its maker states it.", &SHEET;
        charge_cutoff_c: Option<Known<Celsius>> => "cold cut-off", Kind::Number { quantity: Quantity::Temperature, least: -40.0, most: 30.0 }, "Of a lithium start battery: its own management unit stops charging below this. None: nothing stops it, which is a stop where it gets so cold.", &LABEL;
        heater_w: Option<Known<Watts>> => "heater", Kind::Number { quantity: Quantity::Watts, least: 0.0, most: 1000.0 }, "Heater of a lithium start battery.", &LABEL;
        heated: Option<Known<YesNo>> => "heated space", Kind::Words(YesNo::WORDS), "Whether a lithium start battery stands inside the heated living space. Left out: no.", &SURVEY;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    parts { ratings: Ratings }
}

record! {
    /// Something that uses energy.
    Load "load" item "L" {
        name: String => "name", Kind::Text, "What it is.", &ASKED;
        watts_w: Known<Watts> => "watts", Kind::Number { quantity: Quantity::Watts, least: 0.0, most: 20_000.0 }, "What one draws while running, at its own terminals.", &LABEL;
        quantity: Known<Number> = Known::Is(Number(1.0)) => "quantity", Kind::Number { quantity: Quantity::Count, least: 0.0, most: 500.0 }, "How many.", &ASKED;
        hours_day: Known<Hours> => "hours a day", Kind::Number { quantity: Quantity::Hours, least: 0.0, most: 24.0 }, "Hours a day it is in use.", &ASKED;
        duty_pct: Known<Number> = Known::Is(Number(100.0)) => "duty", Kind::Number { quantity: Quantity::Percent, least: 0.0, most: 100.0 }, "Share of those hours it really runs.", &PRACTICE;
        when: When = When::AnyTime => "when", Kind::Words(When::WORDS), "When in the day it is used: a furnace at night, a fan in the afternoon.", &ASKED;
        supply: Supply = Supply::Dc => "fed by", Kind::Words(Supply::WORDS), "DC straight from the bank, or AC through the inverter.", &ASKED;
        made_for: Option<Known<MadeFor>> => "made for", Kind::Words(MadeFor::WORDS), "Volts of a DC load, on its label. Left out: not entered; asked where the bank is not one of 12 V.", &LABEL;
        surge_w: Option<Known<Watts>> => "surge", Kind::Number { quantity: Quantity::Watts, least: 0.0, most: 60_000.0 }, "What it takes to start.", &LABEL;
        months: Months => "months", Kind::Months, "Months it is used.", &ASKED;
        winter_factor: Known<Number> = Known::Is(Number(1.0)) => "winter factor", Kind::Number { quantity: Quantity::Plain, least: 0.0, most: 10.0 }, "Times its use in winter: December to February, June to August south of the equator.", &PRACTICE;
        summer_factor: Known<Number> = Known::Is(Number(1.0)) => "summer factor", Kind::Number { quantity: Quantity::Plain, least: 0.0, most: 10.0 }, "Times its use in summer: June to August, December to February south of the equator.", &PRACTICE;
        critical: YesNo = YesNo::No => "critical", Kind::Words(YesNo::WORDS), "Judged against the tighter drop target.", &ASKED;
        medical: YesNo = YesNo::No => "medical", Kind::Words(YesNo::WORDS), "Never shed.", &ASKED;
        life_safety: YesNo = YesNo::No => "life safety", Kind::Words(YesNo::WORDS), "Breakaway brakes, gas and CO detectors, interlocks: no switch may kill it.", &PRACTICE;
        state: State = State::Existing => "state", Kind::Words(State::WORDS), "Bought new, existing, removed, or left in place dead.", &SURVEY;
        price: Option<Known<Number>> => "price", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "Selling price, if sold with the job.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    parts { ratings: Ratings }
}

impl Leg {
    /// How it is laid; where nobody has said, enclosed: there a wire carries less.
    #[must_use]
    pub fn laid_as(&self) -> Laid {
        self.laid.known().copied().unwrap_or(Laid::Enclosed)
    }

    /// The same in words, with what was taken for want of an answer.
    #[must_use]
    pub fn laid_words(&self) -> &'static str {
        match self.laid {
            Known::Is(laid) => laid.word(),
            Known::Unknown => "taken as enclosed (laid: not entered)",
        }
    }
}

/// Lists and parts whose items a run can end on.
pub const ENDS: &[&str] = &["arrays", "controllers", "bank", "inverters", "chargers", "devices", "loads"];

record! {
    /// One circuit's conductors between two devices, with their return.
    Run "run" item "W" {
        from: Known<Id> => "from", Kind::Ref(ENDS), "Device its positive leaves; the stronger source end first.", &SURVEY;
        to: Known<Id> => "to", Kind::Ref(ENDS), "Device its positive ends on.", &SURVEY;
        gauge: Known<Gauge> => "gauge", Kind::Gauge, "Conductor size of legs that have none of their own: 8awg, 2/0, 16mm2.", &CHOICE;
        return_path: Return = Return::Pair => "return", Kind::Words(Return::WORDS), "A second conductor beside it, the chassis, or none (a bond).", &SURVEY;
        negative_from: Option<Known<Id>> => "negative from", Kind::Ref(ENDS), "Where its negative leaves, if elsewhere.", &SURVEY;
        negative_to: Option<Known<Id>> => "negative to", Kind::Ref(ENDS), "Where its negative ends, if elsewhere; BK- is the bank's post.", &SURVEY;
        negative_length_m: Option<Known<Metres>> => "negative length", Kind::Number { quantity: Quantity::Length, least: 0.0, most: 60.0 }, "Length of the negative, if not that of the positive.", &SURVEY;
        polarity_measured: YesNo = YesNo::No => "polarity measured", Kind::Words(YesNo::WORDS), "Of wire or a port that is there already: whether a meter has shown which conductor is positive.", &SURVEY;
        measured_ohm: Option<Known<Ohms>> => "measured", Kind::Number { quantity: Quantity::Ohms, least: 0.0, most: 100.0 }, "Measured loop resistance of the whole run; used instead of the computed one.", &SURVEY;
        design_override_a: Option<Known<Amps>> => "design amps", Kind::Number { quantity: Quantity::Amps, least: 0.0, most: 2000.0 }, "Largest continuous current, in place of the computed one; give the reason.", &CHOICE;
        drop_override_a: Option<Known<Amps>> => "drop amps", Kind::Number { quantity: Quantity::Amps, least: 0.0, most: 2000.0 }, "Working current, in place of the computed one; give the reason.", &CHOICE;
        override_reason: String => "reason", Kind::Text, "Why a current is overridden.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    lists { legs: Leg, protection: Protection }
}

record! {
    /// A stretch of a run with one route, ambient temperature and bundle.
    Leg "leg" item "L" {
        zone: Known<Zone> = Known::Is(Zone::Cabinet) => "zone", Kind::Words(Zone::WORDS), "Where it runs: decides its ambient.", &SURVEY;
        length_m: Known<Metres> => "length", Kind::Number { quantity: Quantity::Length, least: 0.0, most: 60.0 }, "One way, along the real route: 22'6\", 27in, 6.5m.", &SURVEY;
        gauge: Option<Known<Gauge>> => "gauge", Kind::Gauge, "Its own conductor size. Left out: as the run.", &SURVEY;
        per_pole: Known<Number> = Known::Is(Number(1.0)) => "per pole", Kind::Number { quantity: Quantity::Count, least: 1.0, most: 6.0 }, "Conductors in parallel in each pole.", &CHOICE;
        metal: Metal = Metal::Plain => "metal", Kind::Words(Metal::WORDS), "Plain or tinned copper, or copper-clad aluminium (existing wire only).", &LABEL;
        standard: WireStandard = WireStandard::Ul => "standard", Kind::Words(WireStandard::WORDS), "Whose area the wire is drawn to; SAE wire is 6 to 12 % thinner.", &LABEL;
        insulation_c: Known<Celsius> => "insulation", Kind::Number { quantity: Quantity::Temperature, least: 40.0, most: 250.0 }, "Insulation temperature on the jacket: 60, 75, 90, 105, 125 C.", &NEC_310_15;
        ambient_c: Option<Known<Celsius>> => "ambient", Kind::Number { quantity: Quantity::Temperature, least: -40.0, most: 200.0 }, "Hottest air round it. Left out: that of its zone.", &NEC_310_15;
        laid: Known<Laid> = Known::Is(Laid::Open) => "laid", Kind::Words(Laid::WORDS), "Open or in loose loom; or in conduit, a jacketed cable or a cavity. Not known: taken as enclosed.", &SURVEY;
        bundled: Known<Number> = Known::Is(Number(2.0)) => "bundled", Kind::Number { quantity: Quantity::Count, least: 1.0, most: 60.0 }, "Current-carrying conductors in the bundle, its own return included.", &NEC_310_15;
        state: State = State::New => "state", Kind::Words(State::WORDS), "Bought new, existing, removed, or left in place dead.", &SURVEY;
        extra_mohm: Option<Known<Number>> => "extra", Kind::Number { quantity: Quantity::Milliohms, least: 0.0, most: 10_000.0 }, "Known extra resistance in this leg, both poles: splices, connectors.", &SURVEY;
        pv_connectors: Option<Known<Number>> => "PV connectors", Kind::Number { quantity: Quantity::Count, least: 0.0, most: 100.0 }, "Mated PV connector pairs in this leg.", &SURVEY;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// A fuse or breaker on a run.
    Protection "fuse" item "F" {
        at: FuseAt = FuseAt::From => "at", Kind::Words(FuseAt::WORDS), "Where the run begins (from), where it ends (to), or at the start of a leg.", &SURVEY;
        leg: Option<Known<Id>> => "leg", Kind::Text, "Which leg, where it sits at a leg.", &SURVEY;
        pole: Pole = Pole::Positive => "pole", Kind::Words(Pole::WORDS), "Which pole it opens.", &SURVEY;
        family: Known<FuseFamily> => "type", Kind::Words(FuseFamily::WORDS), "Its standard's designation.", &LABEL;
        amps_a: Known<Amps> => "amps", Kind::Number { quantity: Quantity::Amps, least: 0.1, most: 2000.0 }, "Its rating.", &LABEL;
        volts_dc_v: Option<Known<Volts>> => "DC volts", Kind::Number { quantity: Quantity::Volts, least: 0.0, most: 2000.0 }, "Its DC volts, if its own sheet differs from its family.", &LABEL;
        interrupt_a: Option<Known<Amps>> => "interrupt", Kind::Number { quantity: Quantity::Amps, least: 0.0, most: 500_000.0 }, "Its interrupt rating at its DC volts, if its own sheet differs from its family.", &LABEL;
        distance_m: Known<Metres> => "distance", Kind::Number { quantity: Quantity::Size, least: 0.0, most: 60.0 }, "Along the wire from that end's terminal to the fuse.", &NEC_552_10;
        resets: Resets = Resets::No => "resets", Kind::Words(Resets::WORDS), "No (a fuse), by hand, or by itself.", &LABEL;
        state: State = State::New => "state", Kind::Words(State::WORDS), "Bought new, existing, removed, or left in place dead.", &SURVEY;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

impl Run {
    /// Whether any end of it, its negative's too, is on a thing of this name.
    #[must_use]
    pub fn touches(&self, id: &Id) -> bool {
        let ends = [Some(&self.from), Some(&self.to), self.negative_from.as_ref(), self.negative_to.as_ref()];
        ends.into_iter().flatten().any(|end| end.known() == Some(id))
    }
}

impl Load {
    /// Whether it is known that it never runs: none of it is there, or no hours, no duty or no month are.
    #[must_use]
    pub fn never_runs(&self) -> bool {
        let none = |x: Option<f64>| x.is_some_and(|x| x <= 0.0);
        let counts = [&self.quantity, &self.duty_pct].map(|k| k.known().map(|x| x.0));
        self.months.0 == 0 || none(self.hours_day.known().map(|h| h.0)) || counts.into_iter().any(none)
    }
}
