//! Conductor sizes: what they are called, how much copper they hold, what they resist.

use std::fmt;
use std::str::FromStr;
use std::sync::LazyLock;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::kinds::{Metal, WireStandard};
use super::source::{Source, Standing};

/// A conductor size, in the system it is sold in.
///
/// Written `"10 AWG"`, `"2/0 AWG"`, `"16 mm2"`. Only sizes that have a row in the tables exist:
/// AWG 18 to 4/0, IEC 60228 class 5 0.75 to 120 mm2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Gauge {
    /// Index into [`AWG`], thinnest first.
    Awg(u8),
    /// Index into [`MM2`], thinnest first.
    Mm2(u8),
}

/// AWG sizes, thinnest first.
/// Source: NEC Chapter 9 Table 8 (sizes 18 to 4/0, without those the trade does not stock).
pub const AWG: [&str; 15] = ["18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"];

/// Metric sizes, thinnest first.
/// Source: IEC 60228 class 5.
pub const MM2: [&str; 14] = ["0.75", "1", "1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70", "95", "120"];

impl Gauge {
    /// Every size of the same system, thinnest first.
    pub fn ladder(self) -> impl DoubleEndedIterator<Item = Self> + Clone {
        let (awg, n) = match self {
            Self::Awg(_) => (true, AWG.len()),
            Self::Mm2(_) => (false, MM2.len()),
        };
        (0..n as u8).map(move |i| if awg { Self::Awg(i) } else { Self::Mm2(i) })
    }

    /// The next thicker size of the same system, if there is one.
    #[must_use]
    pub fn thicker(self) -> Option<Self> {
        self.ladder().find(|g| *g > self)
    }

    /// The next thinner size of the same system, if there is one.
    #[must_use]
    pub fn thinner(self) -> Option<Self> {
        self.ladder().rev().find(|g| *g < self)
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Awg(i) => f.pad(&format!("{} AWG", AWG.get(usize::from(*i)).unwrap_or(&"?"))),
            Self::Mm2(i) => f.pad(&format!("{} mm2", MM2.get(usize::from(*i)).unwrap_or(&"?"))),
        }
    }
}

impl FromStr for Gauge {
    type Err = String;

    /// Reads `10 AWG`, `10awg`, `2/0 awg`, `16 mm2`, `16mm2`; the system must be said.
    fn from_str(s: &str) -> Result<Self, String> {
        let low = s.trim().to_ascii_lowercase();
        let find = |table: &[&str], size: &str| table.iter().position(|t| *t == size.trim()).map(|i| i as u8);
        if let Some(size) = low.strip_suffix("awg") {
            find(&AWG, size)
                .map(Self::Awg)
                .ok_or_else(|| format!("{s:?} is no AWG size known here; sizes: {}", AWG.join(", ")))
        } else if let Some(size) = low.strip_suffix("mm2").or_else(|| low.strip_suffix("mm²")) {
            find(&MM2, size)
                .map(Self::Mm2)
                .ok_or_else(|| format!("{s:?} is no metric size known here; sizes in mm2: {}", MM2.join(", ")))
        } else {
            Err(format!("{s:?} does not say its system; write \"10 AWG\" or \"16 mm2\""))
        }
    }
}

impl Serialize for Gauge {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Gauge {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let s = <std::borrow::Cow<'de, str>>::deserialize(d)?;
        s.parse().map_err(serde::de::Error::custom)
    }
}

/// Where AWG resistances come from.
/// Source: NEC Chapter 9 Table 8, stranded, plain and coated copper at 75 C; the figures are recalled and agree with
/// public reprints and with one constant per circular mil over every size.
pub static NEC_TABLE_8: Source = Source::new("NEC", "Chapter 9 Table 8 (stranded, 75 C)", Standing::FromMemory);
/// Where metric resistances come from.
/// Source: IEC 60228 class 5, read in three reprints that agree.
pub static IEC_60228: Source = Source::new("IEC 60228", "class 5 (20 C)", Standing::Verified);
/// Where AWG areas come from.
/// Source: ASTM B258, the diameter law.
pub static ASTM_B258: Source = Source::new("ASTM B258", "d = 0.127 mm x 92^((36-n)/39)", Standing::Computed);
/// Where the smallest areas of vehicle wire come from.
/// Source: SAE J1127 and J1128, read in a wire catalogue's reprint.
pub static SAE_AREA: Source = Source::new("SAE J1127/J1128", "smallest conductor area", Standing::Verified);
/// Where the figures of copper-clad aluminium come from.
/// Source: from memory.
pub static COPPER_CLAD: Source =
    Source::new("copper-clad aluminium", "resistance x 1.6, ampacity x 0.78", Standing::FromMemory);
/// The copper temperature law.
/// Source: NEC Chapter 9 Table 8 note 2 and FAA AC 43.13-1B chapter 11 (zero resistance at -234.5 C).
pub static COPPER_LAW: Source = Source::new("FAA AC 43.13-1B", "R ~ 234.5 + T", Standing::Verified);

struct Awg8 {
    circular_mils: f64,
    plain: f64,
    coated: f64,
    /// No SAE figure for 3 AWG was found.
    sae_circular_mils: Option<f64>,
}

const fn awg8(circular_mils: f64, plain: f64, coated: f64, sae: f64) -> Awg8 {
    let sae_circular_mils = if sae > 0.0 { Some(sae) } else { None };
    Awg8 { circular_mils, plain, coated, sae_circular_mils }
}

// 3.14 is the printed resistance of 14 AWG.
#[allow(clippy::approx_constant)]
/// Area, ohms per 1000 ft at 75 C (stranded, plain and coated), smallest SAE area; in the order of [`AWG`].
/// Source: NEC Chapter 9 Table 8 (from memory); SAE J1127/J1128 areas as reprinted in a marine wire catalogue.
static AWG_COPPER: [Awg8; 15] = [
    awg8(1620.0, 7.95, 8.45, 1537.0),
    awg8(2580.0, 4.99, 5.29, 2336.0),
    awg8(4110.0, 3.14, 3.26, 3702.0),
    awg8(6530.0, 1.98, 2.05, 5833.0),
    awg8(10380.0, 1.24, 1.29, 9343.0),
    awg8(16510.0, 0.778, 0.809, 14810.0),
    awg8(26240.0, 0.491, 0.51, 24538.0),
    awg8(41740.0, 0.308, 0.321, 37360.0),
    awg8(52620.0, 0.245, 0.254, 0.0),
    awg8(66360.0, 0.194, 0.201, 62450.0),
    awg8(83690.0, 0.154, 0.16, 77790.0),
    awg8(105_600.0, 0.122, 0.127, 98980.0),
    awg8(133_100.0, 0.0967, 0.101, 125_100.0),
    awg8(167_800.0, 0.0766, 0.0797, 158_600.0),
    awg8(211_600.0, 0.0608, 0.0626, 205_500.0),
];

/// Square millimetres, ohms per km at 20 C plain and tinned; in the order of [`MM2`].
/// Source: IEC 60228 class 5 (three reprints agree).
static MM2_COPPER: [(f64, f64, f64); 14] = [
    (0.75, 26.0, 26.7),
    (1.0, 19.5, 20.0),
    (1.5, 13.3, 13.7),
    (2.5, 7.98, 8.21),
    (4.0, 4.95, 5.09),
    (6.0, 3.3, 3.39),
    (10.0, 1.91, 1.95),
    (16.0, 1.21, 1.24),
    (25.0, 0.78, 0.795),
    (35.0, 0.554, 0.565),
    (50.0, 0.386, 0.393),
    (70.0, 0.272, 0.277),
    (95.0, 0.206, 0.21),
    (120.0, 0.161, 0.164),
];

/// AWG number for the diameter law, in the order of [`AWG`] (1/0 is 0, 4/0 is -3).
/// Source: ASTM B258.
const AWG_NUMBER: [i8; 15] = [18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3];

/// Resistance of copper-clad aluminium over that of plain copper of the same size.
/// Source: from memory.
pub const COPPER_CLAD_RESISTANCE: f64 = 1.6;
/// Temperature at which copper's resistance would vanish, degrees C.
/// Source: FAA AC 43.13-1B chapter 11; the same law as 0.00393 per K at 20 C.
pub const COPPER_ZERO_C: f64 = -234.5;
/// One circular mil in mm2.
/// Source: definition (a circle one thousandth of an inch across).
pub const MM2_PER_CIRCULAR_MIL: f64 = 0.000_506_707_479_097_497_8;
/// Density of copper, g/cm3.
/// Source: IEC 60028.
pub const COPPER_DENSITY: f64 = 8.89;
/// Ohm circular mils per foot of the marine drop formula.
/// Source: ABYC E-11 11.14.2.6 (K = 10.75); reproduces that table only, not a hot wire.
pub const MARINE_K: f64 = 10.75;

fn row<T>(table: &[T], index: u8) -> Option<&T> {
    table.get(usize::from(index).min(table.len().saturating_sub(1)))
}

/// Resistance of one conductor, ohms per metre, at a conductor temperature in degrees C.
///
/// Copper-clad aluminium counts as 1.6 times plain copper. The temperature is held within -200 to 1000 C.
/// Source: NEC Chapter 9 Table 8 stranded at 75 C (AWG), IEC 60228 class 5 at 20 C (mm2); temperature as 234.5 + T.
#[must_use]
pub fn resistance_ohm_per_m(gauge: Gauge, metal: Metal, conductor_c: f64) -> f64 {
    resistance_with(gauge, metal, conductor_c, COPPER_CLAD_RESISTANCE)
}

/// The same with another figure for copper-clad aluminium over copper, as a plan's rule may set.
/// Source: as [`resistance_ohm_per_m`].
#[must_use]
pub fn resistance_with(gauge: Gauge, metal: Metal, conductor_c: f64, copper_clad: f64) -> f64 {
    /// Metres in 1000 ft.
    /// Source: definition of the international foot.
    const M_PER_KFT: f64 = 304.8;
    let (plain, tinned, at_c) = match gauge {
        Gauge::Awg(i) => {
            row(&AWG_COPPER, i).map_or((0.0, 0.0, 75.0), |r| (r.plain / M_PER_KFT, r.coated / M_PER_KFT, 75.0))
        }
        Gauge::Mm2(i) => row(&MM2_COPPER, i).map_or((0.0, 0.0, 20.0), |r| (r.1 / 1000.0, r.2 / 1000.0, 20.0)),
    };
    let at_table = match metal {
        Metal::Plain => plain,
        Metal::Tinned => tinned,
        Metal::CopperClad => plain * copper_clad,
    };
    let held_c = conductor_c.clamp(-200.0, 1000.0);
    at_table * (held_c - COPPER_ZERO_C) / (at_c - COPPER_ZERO_C)
}

/// The source of a conductor's resistance.
/// Source: as each names itself.
#[must_use]
pub fn resistance_source(gauge: Gauge, metal: Metal) -> &'static Source {
    match (metal, gauge) {
        (Metal::CopperClad, _) => &COPPER_CLAD,
        (_, Gauge::Awg(_)) => &NEC_TABLE_8,
        (_, Gauge::Mm2(_)) => &IEC_60228,
    }
}

/// Cross-section, mm2: AWG by its diameter law, metric sizes as named.
/// Source: ASTM B258; IEC 60228.
#[must_use]
pub fn area_mm2(gauge: Gauge) -> f64 {
    match gauge {
        Gauge::Awg(i) => row(&*AWG_MM2, i).copied().unwrap_or(0.0),
        Gauge::Mm2(i) => row(&MM2_COPPER, i).map_or(0.0, |r| r.0),
    }
}

/// That of each AWG size, mm2. Source: ASTM B258, diameters.
static AWG_MM2: LazyLock<[f64; AWG_NUMBER.len()]> = LazyLock::new(|| {
    AWG_NUMBER.map(|number| {
        let diameter_mm = 0.127 * 92_f64.powf((36.0 - f64::from(number)) / 39.0);
        std::f64::consts::FRAC_PI_4 * diameter_mm * diameter_mm
    })
});

/// Cross-section in circular mils.
/// Source: NEC Chapter 9 Table 8 (AWG); by definition of the circular mil (mm2).
#[must_use]
pub fn circular_mils(gauge: Gauge) -> f64 {
    match gauge {
        Gauge::Awg(i) => row(&AWG_COPPER, i).map_or(0.0, |r| r.circular_mils),
        Gauge::Mm2(_) => area_mm2(gauge) / MM2_PER_CIRCULAR_MIL,
    }
}

/// Smallest area in circular mils that vehicle wire of this AWG size may have; none for 3 AWG and metric sizes.
/// Source: SAE J1127/J1128 as reprinted in a marine wire catalogue.
#[must_use]
pub fn sae_circular_mils(gauge: Gauge) -> Option<f64> {
    match gauge {
        Gauge::Awg(i) => row(&AWG_COPPER, i).and_then(|r| r.sae_circular_mils),
        Gauge::Mm2(_) => None,
    }
}

/// How much more a conductor drawn to this standard resists than the table's: nominal area over smallest SAE area for
/// AWG sizes of vehicle wire, else 1. For 3 AWG, whose SAE area is not known, the worse of its two neighbours.
/// Source: SAE J1127/J1128 areas over NEC Chapter 9 Table 8 areas, computed.
#[must_use]
pub fn standard_resistance_factor(gauge: Gauge, standard: WireStandard) -> f64 {
    let ratio = |g: Gauge| sae_circular_mils(g).map(|sae| circular_mils(g) / sae);
    if standard != WireStandard::Sae || matches!(gauge, Gauge::Mm2(_)) {
        return 1.0;
    }
    ratio(gauge).unwrap_or_else(|| {
        [gauge.thinner(), gauge.thicker()].into_iter().flatten().filter_map(ratio).fold(1.0, f64::max)
    })
}

/// Copper in one metre of one conductor, kg, without insulation.
/// Source: density 8.89 g/cm3 (IEC 60028) times the area, computed.
#[must_use]
pub fn copper_kg_per_m(gauge: Gauge) -> f64 {
    area_mm2(gauge) * COPPER_DENSITY / 1000.0
}

/// Circular mils that keep a drop, by the marine formula CM = K I L / E with the loop length in feet. None where the
/// drop is not above zero or the inputs are not finite.
/// Source: ABYC E-11 11.14.2.6, K = 10.75.
#[must_use]
pub fn marine_circular_mils(amps: f64, loop_ft: f64, drop_v: f64) -> Option<f64> {
    let mils = MARINE_K * amps * loop_ft / drop_v;
    (drop_v > 0.0 && mils.is_finite()).then_some(mils.max(0.0))
}

/// The thinnest AWG size with at least this many circular mils, counting vehicle wire at its smallest SAE area.
/// Source: NEC Chapter 9 Table 8 areas; SAE J1127/J1128 areas.
#[must_use]
pub fn thinnest_awg(least_circular_mils: f64, standard: WireStandard) -> Option<Gauge> {
    Gauge::Awg(0).ladder().find(|&g| {
        let area = if standard == WireStandard::Sae { sae_circular_mils(g).unwrap_or(0.0) } else { circular_mils(g) };
        area >= least_circular_mils
    })
}
