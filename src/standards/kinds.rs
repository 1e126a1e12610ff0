//! The choices that rules and tables speak of.

use crate::words;

words! {
    /// Which body of rules governs the plan.
    Basis {
        /// North American RV practice: NEC tables, former 551.10 small-wire fuse limits, 18 in fuse distance.
        UsRv = "US RV",
        /// US federal boat rules and marine practice, used on coaches by choice.
        Marine = "marine",
        /// Metric conductors, 200 mm fuse distance.
        Metric = "metric",
    }
}

words! {
    /// Battery chemistry.
    Chemistry { Flooded = "flooded", Agm = "AGM", Gel = "gel", Lfp = "LFP" }
}

impl Chemistry {
    /// Whether it is a lithium chemistry.
    #[must_use]
    pub fn is_lithium(self) -> bool {
        self == Self::Lfp
    }
}

/// What else may be typed for a word, beside what the trade calls a fuse: other names of the same thing.
/// Source: common practice.
#[must_use]
pub fn other_names(word: &str) -> &'static [&'static str] {
    match word {
        "LFP" => &["LiFePO4", "lithium iron phosphate", "lithium", "Li"],
        "flooded" => &["wet"],
        "tracking" => &["MPPT", "maximum power point", "tracker"],
        _ => &[],
    }
}

words! {
    /// What a conductor is made of.
    Metal { Plain = "plain", Tinned = "tinned", CopperClad = "copper-clad" }
}

words! {
    /// To which standard's area a conductor is drawn.
    WireStandard { Ul = "UL", Sae = "SAE", Iec = "IEC" }
}

words! {
    /// Where in the coach a leg runs: decides its ambient temperature unless one is entered.
    Zone {
        Roof = "roof",
        RoofCavity = "roof cavity",
        Refrigerator = "refrigerator",
        Cabinet = "cabinet",
        Basement = "basement",
        BatteryBox = "battery box",
        EngineBay = "engine bay",
        Exhaust = "exhaust",
        /// The compartment of the gas bottles.
        GasLocker = "gas locker",
    }
}

words! {
    /// How a leg is laid: decides which ampacity table applies.
    Laid {
        /// Single conductors in the open or in loose loom.
        Open = "open",
        /// In conduit, a jacketed cable or a closed cavity.
        Enclosed = "enclosed",
    }
}

words! {
    /// Families of protective devices, by standard.
    FuseFamily {
        BladeC = "ISO 8820-3 C",
        BladeE = "ISO 8820-3 E",
        Sf30 = "ISO 8820-5 SF30",
        Sf51 = "ISO 8820-5 SF51",
        BoltOnStud = "ISO 8820-6",
        OpenLink = "open link",
        ClassT = "UL 248-15 T",
        Gpv = "IEC 60269-6 gPV",
        Breaker = "DC breaker",
    }
}

words! {
    /// Controller principle.
    ControllerKind { Pwm = "PWM", Tracking = "tracking" }
}

words! {
    /// How panels stand on the roof: decides the cell temperature.
    Mount { Feet = "feet", Glued = "glued", Tilted = "tilted" }
}
