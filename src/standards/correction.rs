//! Correction of ampacity for heat and for bundling.

use super::kinds::Basis;
use super::source::{Source, Standing};

/// Printed ambient factors for 60, 75 and 90 C insulation.
/// Source: NEC 310.15(B)(1), read in IRC E3705.2, which repeats it.
pub static NEC_AMBIENT: Source = Source::new("NEC", "310.15(B)(1), 30 C", Standing::Verified);
/// Printed ambient factors for 105 and 125 C insulation.
/// Source: NEC 690.31(A)(a), from memory; every figure equals the formula to the printed digit.
pub static NEC_AMBIENT_HOT: Source = Source::new("NEC", "690.31(A)(a)", Standing::FromMemory);
/// The formula the printed factors follow.
/// Source: NEC 310.15(B), I = I30 x sqrt((Tc - Ta)/(Tc - 30)).
pub static AMBIENT_FORMULA: Source = Source::new("NEC", "310.15(B) sqrt((Tc-Ta)/(Tc-30))", Standing::Computed);
/// The same formula where boat rules or metric ones govern.
/// Source: printed engine-space factors for 33 CFR 183.425 at 50 C, which follow sqrt((Tc - Ta)/(Tc - 30)).
pub static ENGINE_SPACE: Source =
    Source::new("33 CFR 183.425", "engine-space factors, sqrt((Tc-Ta)/(Tc-30))", Standing::Computed);
/// The formula by the insulation's own limit, where the tables of the rules end below it.
/// Source: NEC 310.15(B) and the engine-space factors for 33 CFR 183.425: one formula.
pub static ENGINE_SPACE_OWN: Source =
    Source::new("NEC", "310.15(B) sqrt((Tc-Ta)/(Tc-30)), Tc of the insulation, engine space", Standing::Computed);
/// Bundle factors for RV work.
/// Source: NEC 2014 310.15(B)(3)(a), now 310.15(C)(1).
pub static NEC_BUNDLE: Source = Source::new("NEC", "310.15(C)(1)", Standing::Verified);
/// Bundle factors for marine and metric work.
/// Source: Coast Guard compliance guideline for 50 V and more; applied below 50 V as newer ABYC E-11 text does, from memory.
pub static MARINE_BUNDLE: Source = Source::new("ABYC E-11", "bundle factors", Standing::FromMemory);

/// Top of the band in degrees C, factor.
type Band = (f64, f64);

/// Source: NEC 310.15(B)(1), 60 C insulation.
static BANDS_60: [Band; 10] = [
    (10.0, 1.29),
    (15.0, 1.22),
    (20.0, 1.15),
    (25.0, 1.08),
    (30.0, 1.0),
    (35.0, 0.91),
    (40.0, 0.82),
    (45.0, 0.71),
    (50.0, 0.58),
    (55.0, 0.41),
];

/// Source: NEC 310.15(B)(1), 75 C insulation.
static BANDS_75: [Band; 13] = [
    (10.0, 1.2),
    (15.0, 1.15),
    (20.0, 1.11),
    (25.0, 1.05),
    (30.0, 1.0),
    (35.0, 0.94),
    (40.0, 0.88),
    (45.0, 0.82),
    (50.0, 0.75),
    (55.0, 0.67),
    (60.0, 0.58),
    (65.0, 0.47),
    (70.0, 0.33),
];

/// Source: NEC 310.15(B)(1), 90 C insulation.
static BANDS_90: [Band; 16] = [
    (10.0, 1.15),
    (15.0, 1.12),
    (20.0, 1.08),
    (25.0, 1.04),
    (30.0, 1.0),
    (35.0, 0.96),
    (40.0, 0.91),
    (45.0, 0.87),
    (50.0, 0.82),
    (55.0, 0.76),
    (60.0, 0.71),
    (65.0, 0.65),
    (70.0, 0.58),
    (75.0, 0.5),
    (80.0, 0.41),
    (85.0, 0.29),
];

/// Source: NEC 690.31(A)(a), 105 C insulation (from memory).
static BANDS_105: [Band; 15] = [
    (30.0, 1.0),
    (35.0, 0.97),
    (40.0, 0.93),
    (45.0, 0.89),
    (50.0, 0.86),
    (55.0, 0.82),
    (60.0, 0.77),
    (65.0, 0.73),
    (70.0, 0.68),
    (75.0, 0.63),
    (80.0, 0.58),
    (85.0, 0.52),
    (90.0, 0.45),
    (95.0, 0.37),
    (100.0, 0.26),
];

/// Source: NEC 690.31(A)(a), 125 C insulation (from memory).
static BANDS_125: [Band; 19] = [
    (30.0, 1.0),
    (35.0, 0.97),
    (40.0, 0.95),
    (45.0, 0.92),
    (50.0, 0.89),
    (55.0, 0.86),
    (60.0, 0.83),
    (65.0, 0.79),
    (70.0, 0.76),
    (75.0, 0.73),
    (80.0, 0.69),
    (85.0, 0.65),
    (90.0, 0.61),
    (95.0, 0.56),
    (100.0, 0.51),
    (105.0, 0.46),
    (110.0, 0.4),
    (115.0, 0.32),
    (120.0, 0.23),
];

/// A factor and where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// What the table figure is multiplied by.
    pub value: f64,
    /// Where the factor stands.
    pub source: &'static Source,
}

/// Ambient factor for a column's temperature; none where the ambient reaches it, or where its table prints none.
///
/// US RV: the printed bands, each ambient counted at the top of its band; above the last one the table has a dash.
/// Marine and metric: the formula above 30 C, never a credit below.
/// Source: NEC 310.15(B)(1) and 690.31(A)(a); formula NEC 310.15(B).
#[must_use]
pub fn ambient_factor(basis: Basis, column_c: f64, ambient_c: f64) -> Option<Factor> {
    if ambient_c.is_nan() || ambient_c >= column_c {
        return None;
    }
    if basis != Basis::UsRv {
        return Some(Factor { value: formula(column_c, ambient_c.max(30.0))?, source: &ENGINE_SPACE });
    }
    let Some((bands, source)) = printed_bands(column_c) else {
        return Some(Factor { value: formula(column_c, ambient_c.max(30.0))?, source: &AMBIENT_FORMULA });
    };
    bands.iter().find(|(top_c, _)| ambient_c <= *top_c).map(|(_, value)| Factor { value: *value, source })
}

/// Ambient factor beside an engine for insulation better than the column it is credited with: the formula at the
/// insulation's own limit, never a credit below 30 C. None where the column is the insulation's own.
/// Source: engine-space factors printed for 105 C conductors of 33 CFR 183.425, 0.85 at 50 C, which follow
/// sqrt((Tc - Ta)/(Tc - 30)); NEC 310.15(B) is the same formula.
#[must_use]
pub fn engine_space_factor(basis: Basis, column_c: f64, insulation_c: f64, ambient_c: f64) -> Option<Factor> {
    let better = insulation_c > column_c + 1e-9 && ambient_c > 30.0;
    let source = if basis == Basis::UsRv { &ENGINE_SPACE_OWN } else { &ENGINE_SPACE };
    let value = better.then(|| formula(insulation_c, ambient_c)).flatten()?;
    Some(Factor { value, source })
}

fn printed_bands(column_c: f64) -> Option<(&'static [Band], &'static Source)> {
    let tables: [(f64, &'static [Band], &'static Source); 5] = [
        (60.0, &BANDS_60, &NEC_AMBIENT),
        (75.0, &BANDS_75, &NEC_AMBIENT),
        (90.0, &BANDS_90, &NEC_AMBIENT),
        (105.0, &BANDS_105, &NEC_AMBIENT_HOT),
        (125.0, &BANDS_125, &NEC_AMBIENT_HOT),
    ];
    tables.into_iter().find(|(c, ..)| (c - column_c).abs() < 0.01).map(|(_, bands, source)| (bands, source))
}

/// sqrt((Tc - Ta)/(Tc - 30)); none where the ambient reaches the conductor's limit or the limit is not above 30 C.
/// Source: NEC 310.15(B), ampacity at other ambients; the same law gives the engine-space factors at 50 C.
#[must_use]
pub fn formula(conductor_c: f64, ambient_c: f64) -> Option<f64> {
    if conductor_c > 30.0 && ambient_c < conductor_c {
        let factor = ((conductor_c - ambient_c) / (conductor_c - 30.0)).sqrt();
        factor.is_finite().then_some(factor)
    } else {
        None
    }
}

/// More than this many current-carrying conductors, factor.
/// Source: NEC 2014 310.15(B)(3)(a), now 310.15(C)(1).
static NEC_BUNDLES: [(u32, f64); 6] = [(4, 0.8), (7, 0.7), (10, 0.5), (21, 0.45), (31, 0.4), (41, 0.35)];

/// From this many current-carrying conductors on, factor.
/// Source: Coast Guard compliance guideline (50 V and more); below 50 V by newer ABYC E-11 text, from memory.
static MARINE_BUNDLES: [(u32, f64); 4] = [(3, 0.7), (4, 0.6), (7, 0.5), (25, 0.4)];

/// Factor for current-carrying conductors that touch over a distance.
///
/// The boat law itself asks for none below 50 V; the marine steps are used all the same, as newer practice does.
/// Source: NEC 310.15(C)(1) for US RV; ABYC E-11 (from memory below 50 V) for marine and metric.
#[must_use]
pub fn bundle_factor(basis: Basis, conductors: u32) -> Factor {
    let (table, source): (&[(u32, f64)], _) =
        if basis == Basis::UsRv { (&NEC_BUNDLES, &NEC_BUNDLE) } else { (&MARINE_BUNDLES, &MARINE_BUNDLE) };
    let value = table.iter().rev().find(|(from, _)| conductors >= *from).map_or(1.0, |(_, factor)| *factor);
    Factor { value, source }
}
