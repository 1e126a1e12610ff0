//! Panels from their labels, and the arrays made of them.

use crate::plan::field::{Kind, Quantity};
use crate::plan::known::Known;
use crate::plan::lists::Strings;
use crate::plan::path::Id;
use crate::plan::ratings::{Ratings, State};
use crate::plan::sources::{CHOICE, LABEL, NEC_690_7, SURVEY};
use crate::standards::kinds::Mount;
use crate::units::{Amps, Kilograms, Metres, Number, Volts, Watts};
use crate::{record, word_leaves, words};

words! { /// How a panel is built.
Build { Rigid = "rigid", Flexible = "flexible" } }
words! { /// Which way a panel lies on the roof.
Lie { Along = "along", Across = "across" } }
word_leaves!(Build, Lie, Mount);

record! {
    /// A panel type, as its label says (1000 W/m2, 25 C).
    Panel "panel" item "P" {
        name: String => "name", Kind::Text, "What you call it; no brand needed.", &CHOICE;
        pmax_w: Known<Watts> => "Pmax", Kind::Number { quantity: Quantity::Watts, least: 1.0, most: 1000.0 }, "Rated power on the label.", &LABEL;
        vmp_v: Known<Volts> => "Vmp", Kind::Number { quantity: Quantity::Volts, least: 1.0, most: 150.0 }, "Volts at maximum power.", &LABEL;
        imp_a: Known<Amps> => "Imp", Kind::Number { quantity: Quantity::Amps, least: 0.05, most: 30.0 }, "Current at maximum power.", &LABEL;
        voc_v: Known<Volts> => "Voc", Kind::Number { quantity: Quantity::Volts, least: 1.0, most: 180.0 }, "Open-circuit volts.", &LABEL;
        isc_a: Known<Amps> => "Isc", Kind::Number { quantity: Quantity::Amps, least: 0.05, most: 35.0 }, "Short-circuit current.", &LABEL;
        cells: Known<Number> => "cells", Kind::Number { quantity: Quantity::Count, least: 2.0, most: 240.0 }, "Cells in series as the eye counts them; a half-cell panel of 120 counts 60.", &LABEL;
        bypass_groups: Known<Number> => "bypass groups", Kind::Number { quantity: Quantity::Count, least: 1.0, most: 12.0 }, "Cell groups with a bypass diode: 2 on most 36-cell panels, 3 on larger ones.", &LABEL;
        alpha_pct_k: Known<Number> => "alpha (Isc)", Kind::Number { quantity: Quantity::PercentPerK, least: -0.2, most: 0.3 }, "Current coefficient; about +0.05 %/K.", &LABEL;
        beta_pct_k: Known<Number> => "beta (Voc)", Kind::Number { quantity: Quantity::PercentPerK, least: -0.6, most: -0.05 }, "Voltage coefficient: %/K, mV/K or V/K, with or without its minus.", &NEC_690_7;
        gamma_pct_k: Known<Number> => "gamma (Pmax)", Kind::Number { quantity: Quantity::PercentPerK, least: -0.8, most: -0.05 }, "Power coefficient. Harvest goes by the curve through the label's volts and amps with alpha and beta, whose own power coefficient a note names where this one is another; the heat of glued and close mounts is reckoned by it.", &LABEL;
        series_fuse_a: Known<Amps> => "max series fuse", Kind::Number { quantity: Quantity::Amps, least: 0.5, most: 60.0 }, "Maximum series fuse on the label.", &LABEL;
        length_m: Known<Metres> => "length", Kind::Number { quantity: Quantity::Size, least: 0.05, most: 3.0 }, "Longer side of the frame.", &LABEL;
        width_m: Known<Metres> => "width", Kind::Number { quantity: Quantity::Size, least: 0.05, most: 2.0 }, "Shorter side of the frame.", &LABEL;
        thickness_m: Known<Metres> => "thickness", Kind::Number { quantity: Quantity::Size, least: 0.001, most: 0.2 }, "Height of the frame.", &LABEL;
        weight_kg: Known<Kilograms> => "weight", Kind::Number { quantity: Quantity::Mass, least: 0.1, most: 60.0 }, "One panel.", &LABEL;
        build: Build = Build::Rigid => "build", Kind::Words(Build::WORDS), "Framed glass or a flexible sheet.", &SURVEY;
        price: Option<Known<Number>> => "price each", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "Selling price of one.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// Strings of panels on one controller.
    Array "array" item "A" {
        strings: Strings => "strings", Kind::Strings, "3S2P P1 is two strings of three P1 in series; unlike: P1+P1 | P1+P2.", &CHOICE;
        mount: Mount = Mount::Feet => "mount", Kind::Words(Mount::WORDS), "On feet an inch or two up, glued flat, or tilted up in use: decides the cell temperature. What is glued lies flat whatever the tilt of a stay; feet and tilted stand at it, feet as warm as close to the roof. Tilted panels at a tilt of 0 are as warm as those on feet.", &SURVEY;
        controller: Known<Id> => "controller", Kind::Ref(&["controllers"]), "The controller it feeds.", &CHOICE;
        state: State = State::New => "state", Kind::Words(State::WORDS), "Bought new, existing, removed, or left in place dead.", &SURVEY;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    parts { ratings: Ratings }
    lists { places: PanelPlace }
}

record! {
    /// Where one panel of an array lies on the roof.
    PanelPlace "panel place" item "PP" {
        string: Option<Known<Number>> => "string", Kind::Number { quantity: Quantity::Count, least: 1.0, most: 200.0 }, "Which string it belongs to, 1 first.", &CHOICE;
        x_m: Known<Metres> => "X", Kind::Number { quantity: Quantity::Size, least: -1.0, most: 25.0 }, "Its front edge, back from the front edge of the roof.", &SURVEY;
        y_m: Known<Metres> => "Y", Kind::Number { quantity: Quantity::Size, least: -1.0, most: 5.0 }, "Its driver-side edge, from the driver's side of the roof.", &SURVEY;
        lie: Lie = Lie::Along => "long side", Kind::Words(Lie::WORDS), "Its long side along the coach or across it.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}
