//! The truck stock: wire, fuses, lugs and parts on the van.

use crate::plan::field::{Kind, Quantity};
use crate::plan::format::{self, LoadError};
use crate::plan::known::Known;
use crate::plan::path::Id;
use crate::plan::sources::{CHOICE, LABEL, SURVEY};
use crate::record;
use crate::standards::conductor::Gauge;
use crate::standards::kinds::{FuseFamily, Metal};
use crate::units::{Amps, Celsius, Kilograms, Metres, Number};

record! {
    /// What is on the van.
    Truck "truck stock" {
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    lists { spools: Spool, fuses: Fuse, lugs: Lug, parts: Part }
}

record! {
    /// A spool of wire.
    Spool "spool" item "SP" {
        gauge: Known<Gauge> => "gauge", Kind::Gauge, "Conductor size: 8awg, 2/0 awg, 16mm2.", &LABEL;
        metal: Metal = Metal::Plain => "metal", Kind::Words(Metal::WORDS), "Plain or tinned copper.", &LABEL;
        insulation_c: Known<Celsius> => "insulation", Kind::Number { quantity: Quantity::Temperature, least: 40.0, most: 250.0 }, "Insulation temperature on the jacket.", &LABEL;
        colour: String => "colour", Kind::Text, "Colour of the jacket.", &LABEL;
        left_m: Known<Metres> => "left", Kind::Number { quantity: Quantity::Length, least: 0.0, most: 5000.0 }, "Length left on the spool.", &SURVEY;
        price_per_metre: Option<Known<Number>> => "price of wire", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 10_000.0 }, "What a metre or a foot costs you: 3.90/m, 1.20/ft; the plan's markup is added.", &CHOICE;
        kg_per_metre: Option<Known<Number>> => "weight of wire", Kind::Number { quantity: Quantity::Plain, least: 0.0, most: 20.0 }, "What a metre or a foot weighs: 0.12kg/m, 0.08lb/ft.", &LABEL;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// Fuses of one family and rating.
    Fuse "fuse" item "FS" {
        family: Known<FuseFamily> => "type", Kind::Words(FuseFamily::WORDS), "Its standard's designation.", &LABEL;
        amps_a: Known<Amps> => "amps", Kind::Number { quantity: Quantity::Amps, least: 0.1, most: 2000.0 }, "Its rating.", &LABEL;
        count: Known<Number> => "on board", Kind::Number { quantity: Quantity::Count, least: 0.0, most: 100_000.0 }, "How many are on the van.", &SURVEY;
        price: Option<Known<Number>> => "price", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "What one costs you; the plan's markup is added.", &CHOICE;
        weight_kg: Option<Known<Kilograms>> => "weight", Kind::Number { quantity: Quantity::Mass, least: 0.0, most: 500.0 }, "Weight of one, its holder included where it comes with it.", &LABEL;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// Lugs of one size.
    Lug "lug" item "LG" {
        gauge: Known<Gauge> => "gauge", Kind::Gauge, "Conductor size it takes.", &LABEL;
        stud: String => "stud", Kind::Text, "Stud it fits: M8, 3/8.", &LABEL;
        count: Known<Number> => "on board", Kind::Number { quantity: Quantity::Count, least: 0.0, most: 100_000.0 }, "How many are on the van.", &SURVEY;
        price: Option<Known<Number>> => "price", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "What one costs you; the plan's markup is added.", &CHOICE;
        weight_kg: Option<Known<Kilograms>> => "weight", Kind::Number { quantity: Quantity::Mass, least: 0.0, most: 500.0 }, "Weight of one.", &LABEL;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// Any other part.
    Part "part" item "PT" {
        name: String => "name", Kind::Text, "What it is.", &CHOICE;
        count: Known<Number> => "on board", Kind::Number { quantity: Quantity::Count, least: 0.0, most: 100_000.0 }, "How many are on the van.", &SURVEY;
        price: Option<Known<Number>> => "price", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "What one costs you; the plan's markup is added.", &CHOICE;
        weight_kg: Option<Known<Kilograms>> => "weight", Kind::Number { quantity: Quantity::Mass, least: 0.0, most: 500.0 }, "Weight of one.", &LABEL;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

/// Gauges, fuse ratings and studs of the trade, for a stock that is begun. Nothing is counted and nothing priced.
/// Source: common practice.
const GAUGES: [&str; 10] =
    ["14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG", "1/0 AWG", "2/0 AWG", "4/0 AWG"];
/// Source: common practice.
const FUSES: [(FuseFamily, f64); 6] = [
    (FuseFamily::BladeC, 15.0),
    (FuseFamily::BladeC, 30.0),
    (FuseFamily::Sf30, 60.0),
    (FuseFamily::Sf30, 100.0),
    (FuseFamily::ClassT, 200.0),
    (FuseFamily::ClassT, 400.0),
];
/// Source: common practice.
const LUGS: [(&str, &str); 6] =
    [("8 AWG", "1/4"), ("6 AWG", "1/4"), ("4 AWG", "5/16"), ("2 AWG", "5/16"), ("2/0 AWG", "3/8"), ("4/0 AWG", "3/8")];

impl Truck {
    /// A stock to begin with: the usual sizes, every count and price still to be entered.
    #[must_use]
    pub fn starter() -> Self {
        let gauge = |text: &str| text.parse().map_or(Known::Unknown, Known::Is);
        let mut truck = Self::default();
        truck.spools.extend(GAUGES.iter().zip(1..).map(|(size, n)| Spool {
            id: Id::numbered("SP", n),
            gauge: gauge(size),
            price_per_metre: Some(Known::Unknown),
            ..Spool::default()
        }));
        truck.fuses.extend(FUSES.iter().zip(1..).map(|((family, amps), n)| Fuse {
            id: Id::numbered("FS", n),
            family: Known::Is(*family),
            amps_a: Known::Is(Amps(*amps)),
            price: Some(Known::Unknown),
            ..Fuse::default()
        }));
        truck.lugs.extend(LUGS.iter().zip(1..).map(|((size, stud), n)| Lug {
            id: Id::numbered("LG", n),
            gauge: gauge(size),
            stud: (*stud).into(),
            price: Some(Known::Unknown),
            ..Lug::default()
        }));
        truck
    }

    /// Reads the truck stock's file.
    ///
    /// # Errors
    /// [`LoadError`] with line, column and field.
    pub fn from_text(text: &str) -> Result<Self, LoadError> {
        format::read_single(text, "a truck stock")
    }

    /// The text of its file.
    #[must_use]
    pub fn to_text(&self) -> String {
        format::write(self)
    }
}
