//! How much current a conductor may carry where it lies, and how that was found.

use std::fmt;

use super::cited::PARALLEL;
use super::conductor::{COPPER_CLAD, Gauge, area_mm2};
use super::correction::{ambient_factor, bundle_factor, engine_space_factor};
use super::kinds::{Basis, Laid, Metal};
use super::source::{Source, Standing};
use crate::words;

/// Conductors in a raceway or cable.
/// Source: NEC 310.16 (2014 and later figures), from memory; two independent copies agree.
pub static NEC_310_16: Source = Source::new("NEC", "310.16", Standing::FromMemory);
/// Single conductors in free air.
/// Source: NEC 310.17, read in an open textbook; 3 AWG from memory.
pub static NEC_310_17: Source = Source::new("NEC", "310.17", Standing::Verified);
/// 105 and 125 C conductors of PV circuits, not more than three together. Read by nothing but whoever looks it up: what
/// a run may carry starts in NEC 310.16 or 310.17.
/// Source: NEC 690.31(A)(b), 2020 and later, from memory.
pub static NEC_690_31: Source = Source::new("NEC", "690.31(A)(b)", Standing::FromMemory);
/// The boat law's table.
/// Source: 33 CFR 183.425 Table 5, read as the document.
pub static CFR_183_425: Source = Source::new("33 CFR 183.425", "Table 5", Standing::Verified);
/// The terminal cap.
/// Source: NEC 110.14(C); the column's figure is used without ambient or bundle factors.
pub static NEC_110_14: Source = Source::new("NEC", "110.14(C)", Standing::FromMemory);
/// Conductors in parallel.
/// Source: NEC 310.10, 1/0 AWG and larger.
pub static NEC_310_10: Source = Source::new("NEC", "310.10", Standing::FromMemory);

/// Source: NEC 310.16, interpolated.
static NEC_310_16_BETWEEN: Source = Source::new("NEC", "310.16 interpolated on copper area", Standing::Computed);
/// Source: NEC 310.17, interpolated.
static NEC_310_17_BETWEEN: Source = Source::new("NEC", "310.17 interpolated on copper area", Standing::Computed);
/// Source: NEC 690.31(A)(b), interpolated.
static NEC_690_31_BETWEEN: Source = Source::new("NEC", "690.31(A)(b) interpolated on copper area", Standing::Computed);
/// Source: 33 CFR 183.425 Table 5, interpolated.
static CFR_BETWEEN: Source = Source::new("33 CFR 183.425", "Table 5 interpolated on copper area", Standing::Computed);
/// Source: 33 CFR 183.425 Table 5; NEC 90 C figures by the formula of NEC 310.15(B).
static SMALL_BLANK: Source =
    Source::new("33 CFR 183.425", "Table 5 or NEC 90 C figure scaled, the lower", Standing::Computed);

words! {
    /// The printed ampacity tables.
    Printed { Nec31016 = "NEC 310.16", Nec31017 = "NEC 310.17", Nec69031 = "NEC 690.31(A)(b)", Cfr183 = "33 CFR 183.425 Table 5" }
}

/// Insulation temperature and amps for 18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 1/0, 2/0, 3/0, 4/0 AWG; 0 where the table is blank.
type Column = (f64, [f64; 15]);

/// Source: NEC 310.16 copper, 2014 and later, from memory; two independent copies agree.
#[rustfmt::skip]
static COLUMNS_310_16: [Column; 3] = [
    (60.0, [0.0, 0.0, 15.0, 20.0, 30.0, 40.0, 55.0, 70.0, 85.0, 95.0, 110.0, 125.0, 145.0, 165.0, 195.0]),
    (75.0, [0.0, 0.0, 20.0, 25.0, 35.0, 50.0, 65.0, 85.0, 100.0, 115.0, 130.0, 150.0, 175.0, 200.0, 230.0]),
    (90.0, [14.0, 18.0, 25.0, 30.0, 40.0, 55.0, 75.0, 95.0, 115.0, 130.0, 145.0, 170.0, 195.0, 225.0, 260.0]),
];

/// Source: NEC 310.17 copper; 3 AWG from memory.
#[rustfmt::skip]
static COLUMNS_310_17: [Column; 3] = [
    (60.0, [0.0, 0.0, 25.0, 30.0, 40.0, 60.0, 80.0, 105.0, 120.0, 140.0, 165.0, 195.0, 225.0, 260.0, 300.0]),
    (75.0, [0.0, 0.0, 30.0, 35.0, 50.0, 70.0, 95.0, 125.0, 145.0, 170.0, 195.0, 230.0, 265.0, 310.0, 360.0]),
    (90.0, [18.0, 24.0, 35.0, 40.0, 55.0, 80.0, 105.0, 140.0, 165.0, 190.0, 220.0, 260.0, 300.0, 350.0, 405.0]),
];

/// Source: NEC 690.31(A)(b), 2020 and later, from memory.
#[rustfmt::skip]
static COLUMNS_690_31: [Column; 2] = [
    (105.0, [15.0, 19.0, 29.0, 36.0, 46.0, 64.0, 81.0, 109.0, 129.0, 143.0, 168.0, 193.0, 229.0, 263.0, 301.0]),
    (125.0, [16.0, 20.0, 31.0, 39.0, 50.0, 69.0, 87.0, 118.0, 139.0, 154.0, 181.0, 208.0, 247.0, 284.0, 325.0]),
];

/// Source: 33 CFR 183.425 Table 5.
#[rustfmt::skip]
static COLUMNS_183_425: [Column; 7] = [
    (60.0, [10.0, 15.0, 20.0, 25.0, 40.0, 55.0, 80.0, 105.0, 120.0, 140.0, 165.0, 195.0, 225.0, 260.0, 300.0]),
    (75.0, [10.0, 15.0, 20.0, 25.0, 40.0, 65.0, 95.0, 125.0, 145.0, 170.0, 195.0, 230.0, 265.0, 310.0, 360.0]),
    (80.0, [15.0, 20.0, 25.0, 35.0, 50.0, 70.0, 100.0, 130.0, 150.0, 175.0, 210.0, 245.0, 285.0, 330.0, 385.0]),
    (90.0, [20.0, 25.0, 30.0, 40.0, 55.0, 70.0, 100.0, 135.0, 155.0, 180.0, 210.0, 245.0, 285.0, 330.0, 385.0]),
    (105.0, [20.0, 25.0, 35.0, 45.0, 60.0, 80.0, 120.0, 160.0, 180.0, 210.0, 245.0, 285.0, 330.0, 385.0, 445.0]),
    (125.0, [25.0, 30.0, 40.0, 50.0, 70.0, 90.0, 125.0, 170.0, 195.0, 225.0, 265.0, 305.0, 355.0, 410.0, 475.0]),
    (200.0, [25.0, 35.0, 45.0, 55.0, 70.0, 100.0, 135.0, 180.0, 210.0, 240.0, 280.0, 325.0, 370.0, 430.0, 510.0]),
];

impl Printed {
    fn columns(self) -> &'static [Column] {
        match self {
            Self::Nec31016 => &COLUMNS_310_16,
            Self::Nec31017 => &COLUMNS_310_17,
            Self::Nec69031 => &COLUMNS_690_31,
            Self::Cfr183 => &COLUMNS_183_425,
        }
    }

    fn source(self, between: bool) -> &'static Source {
        match (self, between) {
            (Self::Nec31016, false) => &NEC_310_16,
            (Self::Nec31016, true) => &NEC_310_16_BETWEEN,
            (Self::Nec31017, false) => &NEC_310_17,
            (Self::Nec31017, true) => &NEC_310_17_BETWEEN,
            (Self::Nec69031, false) => &NEC_690_31,
            (Self::Nec69031, true) => &NEC_690_31_BETWEEN,
            (Self::Cfr183, false) => &CFR_183_425,
            (Self::Cfr183, true) => &CFR_BETWEEN,
        }
    }
}

/// The figure a table prints for an AWG size, amps at 30 C; none where the cell is blank or the column does not exist.
/// Source: the table named.
#[must_use]
pub fn printed_a(table: Printed, column_c: f64, gauge: Gauge) -> Option<f64> {
    let Gauge::Awg(i) = gauge else { return None };
    let (_, amps) = table.columns().iter().find(|(c, _)| (c - column_c).abs() < 0.01)?;
    amps.get(usize::from(i)).copied().filter(|a| *a > 0.0)
}

/// Which table and column an insulation temperature uses: the column at or below it.
///
/// US RV: NEC 310.17 in the open, NEC 310.16 enclosed. Neither has a 105 C column, so that insulation of 105 C and more
/// is credited with the 90 C one: the columns of NEC 690.31(A)(b) are for PV circuits alone, and those of the boat law
/// are another body of rules.
/// Marine and metric: the boat law's table however laid, since it has one case only.
/// Source: NEC 310.16, 310.17; 33 CFR 183.425 Table 5.
#[must_use]
pub fn column(basis: Basis, laid: Laid, insulation_c: f64) -> Option<(Printed, f64)> {
    let table = match (basis, laid) {
        (Basis::UsRv, Laid::Open) => Printed::Nec31017,
        (Basis::UsRv, Laid::Enclosed) => Printed::Nec31016,
        _ => Printed::Cfr183,
    };
    let usable = table.columns().iter().map(|(c, _)| *c).filter(|c| *c <= insulation_c + 1e-9);
    usable.max_by(f64::total_cmp).map(|c| (table, c))
}

/// Table ampacity of one conductor at 30 C, amps, and where it stands.
///
/// A metric size lies between AWG rows: straight on log amps over log area, below 18 AWG by its share of the area, above
/// 4/0 no more than 4/0. 18 and 16 AWG at 60 and 75 C, blank in the NEC tables: the lower of the boat law's figure and
/// the 90 C figure scaled by sqrt((Tc - 30)/60).
/// Source: NEC 310.16, 310.17, 690.31(A)(b); 33 CFR 183.425 Table 5; interpolation computed.
fn table_figure(table: Printed, column_c: f64, gauge: Gauge) -> Option<(f64, &'static Source)> {
    match gauge {
        Gauge::Awg(_) => match printed_a(table, column_c, gauge) {
            Some(a) => Some((a, table.source(false))),
            None => {
                let scaled = printed_a(table, 90.0, gauge)? * ((column_c - 30.0) / 60.0).max(0.0).sqrt();
                Some((scaled.min(printed_a(Printed::Cfr183, column_c, gauge)?), &SMALL_BLANK))
            }
        },
        Gauge::Mm2(_) => {
            let area = area_mm2(gauge);
            let at = |g: Gauge| table_figure(table, column_c, g).map(|(a, _)| (area_mm2(g), a));
            let below = Gauge::Awg(0).ladder().rev().find(|&g| area_mm2(g) <= area);
            let above = Gauge::Awg(0).ladder().find(|&g| area_mm2(g) > area);
            let amps = match (below, above) {
                (Some(b), Some(a)) => {
                    let ((s0, i0), (s1, i1)) = (at(b)?, at(a)?);
                    i0 * (i1 / i0).powf((area / s0).ln() / (s1 / s0).ln())
                }
                (None, Some(a)) => at(a).map(|(s, i)| i * area / s)?,
                (Some(b), None) => at(b)?.1,
                (None, None) => return None,
            };
            Some((amps, table.source(true)))
        }
    }
}

/// What decides the ampacity of one leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AmpacityCase {
    /// Rule basis.
    pub basis: Basis,
    /// Size of one conductor.
    pub gauge: Gauge,
    /// What it is made of.
    pub metal: Metal,
    /// How it is laid.
    pub laid: Laid,
    /// Insulation temperature rating, C.
    pub insulation_c: f64,
    /// Air around it, C.
    pub ambient_c: f64,
    /// Current-carrying conductors that touch along the way, its own included.
    pub bundled: u32,
    /// Equal conductors per pole.
    pub parallel: u32,
    /// The lower temperature rating of its terminals, C.
    pub terminal_c: f64,
    /// Whether it lies beside an engine or its exhaust.
    pub engine_space: bool,
}

/// Why there is no ampacity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AmpacityRefusal {
    /// The air is as hot as the insulation may become, or hotter than its column has a factor for.
    AmbientTooHot { ambient_c: f64, conductor_c: f64 },
    /// The air is as hot as the column that the insulation is credited with, and cooler than the insulation itself stands.
    NoColumn { ambient_c: f64, column_c: f64, insulation_c: f64 },
    /// No column at or below this insulation or terminal temperature.
    BelowTable { insulation_c: f64, least_c: f64 },
    /// Conductors in parallel must be 1/0 AWG (50 mm2) or larger.
    ParallelTooThin { gauge: Gauge },
}

impl fmt::Display for AmpacityRefusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AmbientTooHot { ambient_c, conductor_c } => {
                write!(f, "air at {ambient_c} C leaves nothing for a conductor that may reach {conductor_c} C")
            }
            Self::NoColumn { ambient_c, column_c, insulation_c } => write!(
                f,
                "insulation of {insulation_c} C stands air at {ambient_c} C, but is credited with the {column_c} C column only"
            ),
            Self::BelowTable { insulation_c, least_c } => {
                write!(f, "{insulation_c} C is below the lowest column of the tables, {least_c} C")
            }
            Self::ParallelTooThin { gauge } => {
                write!(f, "{gauge} in parallel: conductors in parallel are 1/0 AWG (50 mm2) or larger")
            }
        }
    }
}

impl std::error::Error for AmpacityRefusal {}

words! {
    /// What held the ampacity down most.
    Governs { Insulation = "insulation", Ambient = "ambient", Bundle = "bundle", Metal = "metal", Terminal = "terminal" }
}

/// One line of a working: what, how much, where it stands.
pub type WorkingStep = (&'static str, f64, &'static Source);

/// An ampacity and the way to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AmpacityWorking {
    /// The rules it was worked by.
    pub basis: Basis,
    /// The table.
    pub table: &'static Source,
    /// The column used, C.
    pub column_c: f64,
    /// One conductor at 30 C, amps.
    pub table_a: f64,
    /// For the air around it.
    pub ambient_factor: f64,
    /// Where that factor stands.
    pub ambient_source: &'static Source,
    /// For its neighbours.
    pub bundle_factor: f64,
    /// Where that factor stands.
    pub bundle_source: &'static Source,
    /// 1 for copper, 0.78 for copper-clad aluminium.
    pub metal_factor: f64,
    /// Conductors per pole.
    pub parallel: u32,
    /// Table figure times all factors and conductors, amps.
    pub corrected_a: f64,
    /// All conductors at the terminals' column, without ambient and bundle factors, amps; none where the basis has no such cap.
    pub terminal_cap_a: Option<f64>,
    /// The lower of the two, amps.
    pub ampacity_a: f64,
    /// What held it down most.
    pub governs: Governs,
}

impl AmpacityWorking {
    /// All conductors before ambient and bundle factors, amps: what NEC 690.8(B) compares with 1.25 times the current.
    /// Source: NEC 690.8(B).
    #[must_use]
    pub fn before_factors_a(&self) -> f64 {
        self.table_a * self.metal_factor * f64::from(self.parallel)
    }

    /// The way to the ampacity, line by line.
    #[must_use]
    pub fn steps(&self) -> Vec<WorkingStep> {
        let mut steps = vec![
            ("insulation column, C", self.column_c, self.table),
            ("one conductor at 30 C, A", self.table_a, self.table),
            ("x ambient factor", self.ambient_factor, self.ambient_source),
            ("x bundle factor", self.bundle_factor, self.bundle_source),
        ];
        if self.metal_factor != 1.0 {
            steps.push(("x copper-clad aluminium", self.metal_factor, &COPPER_CLAD));
        }
        if self.parallel > 1 {
            steps.push(("x conductors in parallel", f64::from(self.parallel), PARALLEL.of(self.basis)));
        }
        steps.push(("= corrected, A", self.corrected_a, self.table));
        if let Some(cap) = self.terminal_cap_a {
            steps.push(("at most by terminals, A", cap, &NEC_110_14));
        }
        let last = if self.governs == Governs::Terminal { &NEC_110_14 } else { self.table };
        steps.push(("ampacity, A", self.ampacity_a, last));
        steps
    }
}

/// Ampacity of copper-clad aluminium over that of copper of the same size.
/// Source: from memory.
pub const COPPER_CLAD_AMPACITY: f64 = 0.78;

/// Conductors of one pole may share the current from this size on, mm2 (sold as the equal of 1/0 AWG).
/// Source: NEC 310.10, 1/0 AWG and larger.
pub const PARALLEL_LEAST_MM2: f64 = 50.0;

/// What a plan may set otherwise, as rule values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Derating {
    /// Ampacity of copper-clad aluminium over copper's.
    pub copper_clad: f64,
    /// Smallest conductor that may be laid in parallel, mm2.
    pub parallel_least_mm2: f64,
    /// Whether bundle factors apply.
    pub bundle: bool,
}

impl Default for Derating {
    fn default() -> Self {
        Self { copper_clad: COPPER_CLAD_AMPACITY, parallel_least_mm2: PARALLEL_LEAST_MM2, bundle: true }
    }
}

/// The lowest column of every table, C.
/// Source: NEC 310.16, 310.17; 33 CFR 183.425 Table 5.
const LEAST_COLUMN_C: f64 = 60.0;

/// A table's or a chart's ampacity times every factor that applies.
/// Source: NEC 310.15(B), (C): factors multiply; so in FAA AC 43.13-1B chapter 11, example 2.
#[must_use]
pub fn corrected_a(table_a: f64, factors: &[f64]) -> f64 {
    factors.iter().fold(table_a, |amps, factor| amps * factor)
}

/// What all conductors of a leg carry at the column of their terminals, without ambient and bundle factors, amps: the cap of RV
/// work, which boat practice does not know. Below the lowest column it is that column's figure, which is then too much.
/// Source: NEC 110.14(C).
#[must_use]
pub fn at_terminals_a(case: &AmpacityCase, derating: &Derating) -> Option<f64> {
    let (table, column_c) = column(case.basis, case.laid, case.terminal_c.max(LEAST_COLUMN_C))?;
    let metal = if case.metal == Metal::CopperClad { derating.copper_clad } else { 1.0 };
    table_figure(table, column_c, case.gauge).map(|(amps, _)| amps * metal * f64::from(case.parallel.max(1)))
}

/// The ampacity of one leg with the published factors, or why it has none.
/// Source: as [`ampacity_with`].
pub fn ampacity(case: &AmpacityCase) -> Result<AmpacityWorking, AmpacityRefusal> {
    ampacity_with(case, &Derating::default())
}

/// The ampacity of one leg, or why it has none.
///
/// Ambient and bundle factors multiply the insulation column; in RV work the terminals' column of the same table caps
/// the result and is not itself corrected. Boat practice knows no such cap. Beside an engine insulation that is better than
/// the last column keeps that column's figure and is corrected by its own limit.
/// Source: NEC 310.15, 110.14(C), 310.10; 33 CFR 183.425 Table 5 and its engine-space factors.
pub fn ampacity_with(case: &AmpacityCase, derating: &Derating) -> Result<AmpacityWorking, AmpacityRefusal> {
    let parallel = case.parallel.max(1);
    if parallel > 1 && area_mm2(case.gauge) < derating.parallel_least_mm2 {
        return Err(AmpacityRefusal::ParallelTooThin { gauge: case.gauge });
    }
    let at = |c: f64| {
        let (table, column_c) = column(case.basis, case.laid, c)?;
        table_figure(table, column_c, case.gauge).map(|(amps, source)| (amps, source, column_c))
    };
    let below = |c: f64| AmpacityRefusal::BelowTable { insulation_c: c, least_c: LEAST_COLUMN_C };
    let (table_a, table, column_c) = at(case.insulation_c).ok_or_else(|| below(case.insulation_c))?;
    let (ambient_c, insulation_c) = (case.ambient_c, case.insulation_c);
    let too_hot = if ambient_c < insulation_c && column_c < insulation_c {
        AmpacityRefusal::NoColumn { ambient_c, column_c, insulation_c }
    } else {
        AmpacityRefusal::AmbientTooHot { ambient_c, conductor_c: insulation_c }
    };
    let by_column = ambient_factor(case.basis, column_c, ambient_c);
    let own = if case.engine_space { engine_space_factor(case.basis, column_c, insulation_c, ambient_c) } else { None };
    // Printed factors are rounded: a column's may stand a hair over the formula.
    let better = match (own, by_column) {
        (Some(own), Some(column)) if column.value > own.value => Some(column),
        (own, column) => own.or(column),
    };
    let ambient = better.ok_or(too_hot)?;
    let bundle = bundle_factor(case.basis, if derating.bundle { case.bundled } else { 1 });
    let metal_factor = if case.metal == Metal::CopperClad { derating.copper_clad } else { 1.0 };
    let all = metal_factor * f64::from(parallel);
    let corrected_a = corrected_a(table_a, &[ambient.value, bundle.value, all]);
    let terminal_cap_a = if case.basis == Basis::UsRv {
        let (cap, ..) = at(case.terminal_c).ok_or_else(|| below(case.terminal_c))?;
        Some(cap * all)
    } else {
        None
    };
    let ampacity_a = terminal_cap_a.map_or(corrected_a, |cap| corrected_a.min(cap));
    let factors = [(Governs::Ambient, ambient.value), (Governs::Bundle, bundle.value), (Governs::Metal, metal_factor)];
    let governs = if ampacity_a < corrected_a {
        Governs::Terminal
    } else {
        factors.iter().fold((Governs::Insulation, 1.0), |least, f| if f.1 < least.1 { *f } else { least }).0
    };
    Ok(AmpacityWorking {
        basis: case.basis,
        table,
        column_c,
        table_a,
        ambient_factor: ambient.value,
        ambient_source: ambient.source,
        bundle_factor: bundle.value,
        bundle_source: bundle.source,
        metal_factor,
        parallel,
        corrected_a,
        terminal_cap_a,
        ampacity_a,
        governs,
    })
}
