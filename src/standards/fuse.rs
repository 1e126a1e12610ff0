//! Protective devices by standard: ratings that exist, volts, what they can interrupt, what they drop.

use super::kinds::FuseFamily;
use super::source::{COMMON_PRACTICE, Source, Standing};
use crate::words;

/// Blade fuses.
/// Source: ISO 8820-3, from memory.
pub static ISO_8820_3: Source = Source::new("ISO 8820-3", "", Standing::FromMemory);
/// Bolted strip fuses.
/// Source: ISO 8820-5, from memory.
pub static ISO_8820_5: Source = Source::new("ISO 8820-5", "", Standing::FromMemory);
/// Single-bolt fuse-links on the battery stud.
/// Source: ISO 8820-6, from memory.
pub static ISO_8820_6: Source = Source::new("ISO 8820-6", "", Standing::FromMemory);
/// Open bolted fuse-links: 2.7 kA.
/// Source: an inverter handbook's page on interrupt ratings; some device sheets say more.
pub static OPEN_LINK: Source = Source::new("open bolted fuse-link", "2.7 kA, inverter handbook", Standing::Verified);
/// Class T.
/// Source: UL 248-15, 1-1200 A, 200 kA AC read in a fuse class table; 20 kA at 125 V DC from memory.
pub static UL_248_15: Source = Source::new("UL 248-15", "class T", Standing::FromMemory);
/// Photovoltaic string fuses, 10 x 38.
/// Source: IEC 60269-6, from memory.
pub static IEC_60269_6: Source = Source::new("IEC 60269-6", "gPV 10x38", Standing::FromMemory);
/// Direct-current breakers of the vehicle trade.
/// Source: from memory; UL 1077 and UL 489 breakers each state their own volts and interrupt rating.
pub static DC_BREAKER: Source = Source::new("DC breaker", "device sheet", Standing::FromMemory);

/// Source: ISO 8820-3 type C, from memory.
#[rustfmt::skip]
static BLADE_C: [f64; 13] = [1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0];
/// Source: ISO 8820-3 type E, from memory.
static BLADE_E: [f64; 8] = [20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0];
/// Source: ISO 8820-5 SF30, from memory.
static SF30: [f64; 11] = [30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 125.0, 150.0, 175.0, 200.0];
/// Source: ISO 8820-5 SF51, from memory.
#[rustfmt::skip]
static SF51: [f64; 14] =
    [60.0, 80.0, 100.0, 125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0];
/// Source: ISO 8820-6, from memory.
#[rustfmt::skip]
static BOLT_ON_STUD: [f64; 15] =
    [30.0, 40.0, 50.0, 60.0, 75.0, 80.0, 90.0, 100.0, 125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0];
/// Source: open bolted fuse-links as sold, from memory; no ISO part claimed.
#[rustfmt::skip]
static LINK: [f64; 20] = [
    35.0, 40.0, 50.0, 60.0, 80.0, 100.0, 130.0, 150.0, 175.0, 200.0, 225.0, 250.0, 275.0, 300.0, 325.0, 350.0, 400.0,
    500.0, 600.0, 750.0,
];
/// Source: UL 248-15 (1 to 1200 A); the steps follow NEC 240.6(A).
#[rustfmt::skip]
static CLASS_T: [f64; 34] = [
    1.0, 3.0, 6.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 125.0,
    150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0, 600.0, 700.0, 800.0, 1000.0, 1200.0,
];
/// Source: IEC 60269-6 gPV 10 x 38 as sold, from memory.
#[rustfmt::skip]
static GPV: [f64; 15] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 16.0, 20.0, 25.0, 30.0, 32.0];
/// Source: DC breakers as sold to the vehicle trade, from memory.
#[rustfmt::skip]
static BREAKER: [f64; 20] = [
    5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 120.0, 135.0, 150.0, 200.0,
    250.0, 300.0,
];

/// Every rating a family is made in, amps, rising.
/// Source: ISO 8820-3, -5, -6; UL 248-15; IEC 60269-6; as each table says.
#[must_use]
pub fn ratings(family: FuseFamily) -> &'static [f64] {
    match family {
        FuseFamily::BladeC => &BLADE_C,
        FuseFamily::BladeE => &BLADE_E,
        FuseFamily::Sf30 => &SF30,
        FuseFamily::Sf51 => &SF51,
        FuseFamily::BoltOnStud => &BOLT_ON_STUD,
        FuseFamily::OpenLink => &LINK,
        FuseFamily::ClassT => &CLASS_T,
        FuseFamily::Gpv => &GPV,
        FuseFamily::Breaker => &BREAKER,
    }
}

/// What the trade calls a family in plain words, the usual one first; none of them a maker's name.
/// Source: common practice.
#[must_use]
pub fn trade_words(word: &str) -> &'static [&'static str] {
    match word {
        "ISO 8820-3 C" => &["blade", "plug-in blade"],
        "ISO 8820-3 E" => &["large blade"],
        "ISO 8820-5 SF30" => &["bolt-down strip, 30 mm", "strip 30", "small strip"],
        "ISO 8820-5 SF51" => &["bolt-down strip, 51 mm", "strip 51", "large strip"],
        "ISO 8820-6" => &["stud fuse", "terminal fuse", "single bolt"],
        "open link" => &["bolt-down link", "fuse link"],
        "UL 248-15 T" => &["class T"],
        "IEC 60269-6 gPV" => &["solar cartridge", "string fuse", "PV fuse", "10x38"],
        "DC breaker" => &["circuit breaker"],
        _ => &[],
    }
}

/// Where a family's figures stand.
/// Source: as each names itself.
#[must_use]
pub fn source(family: FuseFamily) -> &'static Source {
    match family {
        FuseFamily::BladeC | FuseFamily::BladeE => &ISO_8820_3,
        FuseFamily::Sf30 | FuseFamily::Sf51 => &ISO_8820_5,
        FuseFamily::BoltOnStud => &ISO_8820_6,
        FuseFamily::OpenLink => &OPEN_LINK,
        FuseFamily::ClassT => &UL_248_15,
        FuseFamily::Gpv => &IEC_60269_6,
        FuseFamily::Breaker => &DC_BREAKER,
    }
}

/// The smallest rating of a family at or above this current.
/// Source: the family's own list of ratings.
#[must_use]
pub fn smallest_at_least(family: FuseFamily, amps: f64) -> Option<f64> {
    ratings(family).iter().copied().find(|r| *r >= amps)
}

/// The largest rating of a family at or below this current.
/// Source: the family's own list of ratings.
#[must_use]
pub fn largest_at_most(family: FuseFamily, amps: f64) -> Option<f64> {
    ratings(family).iter().rev().copied().find(|r| *r <= amps)
}

/// Rated DC volts of a family's usual device; none for breakers, which each say their own.
/// Source: ISO 8820-3, -5, -6 (32 and 58 V); UL 248-15 (125 V DC); IEC 60269-6 (1000 V DC); from memory.
#[must_use]
pub fn dc_volts(family: FuseFamily) -> Option<f64> {
    match family {
        FuseFamily::BladeC | FuseFamily::BladeE | FuseFamily::Sf30 | FuseFamily::Sf51 | FuseFamily::OpenLink => {
            Some(32.0)
        }
        FuseFamily::BoltOnStud => Some(58.0),
        FuseFamily::ClassT => Some(125.0),
        FuseFamily::Gpv => Some(1000.0),
        FuseFamily::Breaker => None,
    }
}

/// DC volts that breakers, switches and disconnects are sold for.
/// Source: common practice, what the vehicle and solar trade sells; from memory.
static DC_RATINGS: [f64; 11] = [32.0, 48.0, 60.0, 80.0, 125.0, 150.0, 250.0, 300.0, 500.0, 600.0, 1000.0];

/// The smallest usual DC rating of a breaker, switch or disconnect at or above these volts.
/// Source: common practice.
#[must_use]
pub fn dc_rating_at_least(volts: f64) -> Option<f64> {
    DC_RATINGS.iter().copied().find(|r| *r >= volts)
}

/// Up to this many DC volts, amps interrupted.
/// Source: ISO 8820-6: 10 kA in a 12 V system (counted up to 16 V), 5 kA at 32 V, 2 kA at 58 V; from memory.
static BOLT_ON_STUD_INTERRUPTS: [(f64, f64); 3] = [(16.0, 10_000.0), (32.0, 5_000.0), (58.0, 2_000.0)];

/// What a family's usual device interrupts at these DC volts, amps; none above its rated volts, and none for breakers.
/// Source: ISO 8820-3 (1 kA), 8820-5 (2 kA), 8820-6 (by volts); open link 2.7 kA (inverter handbook); UL 248-15 (20 kA at
/// 125 V DC); IEC 60269-6 (10 kA at least).
#[must_use]
pub fn interrupt_a(family: FuseFamily, dc_v: f64) -> Option<f64> {
    let volts = dc_v.abs();
    let rated = dc_volts(family)?;
    if volts.is_nan() || volts > rated {
        return None;
    }
    match family {
        FuseFamily::BladeC | FuseFamily::BladeE => Some(1_000.0),
        FuseFamily::Sf30 | FuseFamily::Sf51 => Some(2_000.0),
        FuseFamily::BoltOnStud => {
            BOLT_ON_STUD_INTERRUPTS.iter().find(|(most_v, _)| volts <= *most_v).map(|(_, amps)| *amps)
        }
        FuseFamily::OpenLink => Some(2_700.0),
        FuseFamily::ClassT => Some(20_000.0),
        FuseFamily::Gpv => Some(10_000.0),
        FuseFamily::Breaker => None,
    }
}

/// Drop across the device at its rated current, volts.
/// Source: from memory; 0.1 V, class T 0.06 V, breaker 0.12 V (0.1 to 0.15).
#[must_use]
pub fn drop_at_rating_v(family: FuseFamily) -> f64 {
    match family {
        FuseFamily::ClassT => 0.06,
        FuseFamily::Breaker => 0.12,
        _ => 0.1,
    }
}

/// Resistance of a device, ohms, from its drop at rating; 0 where the rating is not above zero.
/// Source: drop at rating over rating.
#[must_use]
pub fn resistance_ohm(family: FuseFamily, rating_a: f64) -> f64 {
    if rating_a > 0.0 { drop_at_rating_v(family) / rating_a } else { 0.0 }
}

words! {
    /// What a protective device is for.
    Purpose {
        PvString = "string",
        LithiumMain = "lithium main",
        LeadMain = "lead main",
        /// Controller, charger, DC-DC charger, fuse panel.
        Feeder = "feeder",
        /// One load, a sense lead, a remote.
        Branch = "branch",
    }
}

/// The family usual for a purpose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Usual {
    /// The family.
    pub family: FuseFamily,
    /// Why.
    pub reason: &'static str,
    /// Where the advice stands.
    pub source: &'static Source,
}

/// Source: common practice.
static PRACTICE: Source = COMMON_PRACTICE;

/// The family a careful technician takes for a purpose at these amps and DC volts.
/// Source: common practice; NEC 690.9 for strings; ABYC E-11 (newer text) for lithium mains.
#[must_use]
pub fn usual(purpose: Purpose, amps: f64, dc_v: f64) -> Usual {
    let (family, reason, source) = match purpose {
        Purpose::PvString => (FuseFamily::Gpv, "made for a string's DC volts and its low fault current", &IEC_60269_6),
        Purpose::LithiumMain => {
            (FuseFamily::ClassT, "interrupts the fault current of a lithium bank, 20 kA", &UL_248_15)
        }
        Purpose::LeadMain if amps <= 300.0 && dc_v.abs() <= 16.0 => {
            (FuseFamily::BoltOnStud, "sits on the battery stud, interrupts 10 kA up to 16 V", &ISO_8820_6)
        }
        Purpose::LeadMain => (FuseFamily::ClassT, "more amps or volts than a fuse-link on the stud covers", &UL_248_15),
        _ if dc_v.abs() > 32.0 && dc_v.abs() <= 58.0 && amps <= 300.0 => {
            (FuseFamily::BoltOnStud, "blade and strip fuses end at 32 V; this one at 58 V", &ISO_8820_6)
        }
        _ if dc_v.abs() > 32.0 => (FuseFamily::ClassT, "rated for these volts and amps", &UL_248_15),
        Purpose::Branch | Purpose::Feeder if amps <= 40.0 => {
            (FuseFamily::BladeC, "the common blade up to 40 A, on every truck", &PRACTICE)
        }
        Purpose::Branch | Purpose::Feeder if amps <= 200.0 => (FuseFamily::Sf30, "bolted, M5, 30 to 200 A", &PRACTICE),
        _ if amps <= 500.0 => (FuseFamily::Sf51, "bolted, M8, up to 500 A", &PRACTICE),
        _ => (FuseFamily::ClassT, "above the bolted strip fuses", &UL_248_15),
    };
    Usual { family, reason, source }
}
