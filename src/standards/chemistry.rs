//! Batteries by chemistry: volts, limits, what a fault can draw.

use super::kinds::Chemistry;
use super::source::{Source, Standing};

/// Charge windows.
/// Source: common practice; the battery maker's sheet governs.
pub static CHARGE_PRACTICE: Source =
    Source::new("common practice", "charge settings, 12 V, 25 C", Standing::CommonPractice);
/// Chemistry figures recalled.
/// Source: from memory; the battery maker's sheet governs.
pub static CHEMISTRY_MEMORY: Source = Source::new("battery chemistry", "", Standing::FromMemory);
/// LFP charge volts per cell.
/// Source: articles on LFP rest volts; 3.50 to 3.65 V a cell.
pub static LFP_CHARGE: Source = Source::new("LFP", "3.50-3.65 V per cell", Standing::Verified);
/// Lead short-circuit currents by cold-cranking amps.
/// Source: ABYC E-11 interrupting-capacity tables (older edition), read in a reprint and an inverter handbook.
pub static CCA_TABLE: Source = Source::new("ABYC E-11", "interrupting capacity by CCA", Standing::Verified);
/// Lead without a cold-cranking figure.
/// Source: 12.6 V over 4 mohm at 100 Ah, from memory.
pub static LEAD_OHMIC: Source = Source::new("lead-acid", "12.6 V / (4 mohm x 100/Ah)", Standing::FromMemory);
/// Lithium without a short-circuit figure.
/// Source: newer ABYC E-11 text in paraphrase: the maker's figure, or 20 kA.
pub static LFP_FAULT: Source = Source::new("ABYC E-11", "20 kA where not known", Standing::Verified);

/// From and to, both allowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Lower end.
    pub least: f64,
    /// Upper end.
    pub most: f64,
}

const fn window(least: f64, most: f64) -> Window {
    Window { least, most }
}

/// One chemistry, per 12 V unit at 25 C unless said otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChemistryRow {
    /// Which.
    pub chemistry: Chemistry,
    /// Volts that name the system.
    pub nominal_v: f64,
    /// Volts at which an inverter draws most, designed for.
    pub low_v: f64,
    /// Volts behind a fault.
    pub fault_v: f64,
    /// Absorption.
    pub absorb_v: Window,
    /// Never above this while charging, equalising apart.
    pub charge_most_v: f64,
    /// Float; LFP may do without.
    pub float_v: Window,
    /// Equalising, where the chemistry stands it.
    pub equalise_v: Option<Window>,
    /// Temperature compensation of the charge volts, mV per K and 12 V unit; (0, 0) means none is allowed.
    pub compensation_mv_per_k: Window,
    /// Share of the rated charge normally used.
    pub usable_depth: f64,
    /// Cell temperatures between which it may be charged, C.
    pub charge_c: Window,
    /// Cell temperatures between which it may be discharged, C.
    pub discharge_c: Window,
    /// Charge current normally used, share of rated ampere-hours.
    pub charge_rate: Window,
    /// Charge current not to exceed where the maker gives none, share of rated ampere-hours.
    pub charge_rate_most: f64,
    /// Discharge current taken where the maker gives none, share of rated ampere-hours.
    pub discharge_rate: f64,
    /// Peukert exponent, middle of the usual span.
    pub peukert: f64,
    /// Charge out over charge in.
    pub coulombic: f64,
    /// Ohmic resistance of a 100 Ah unit, mohm: the low side, for faults.
    pub ohmic_mohm_100ah: f64,
    /// Where the charge windows stand.
    pub charge_source: &'static Source,
    /// Where the other figures stand.
    pub source: &'static Source,
}

/// Every chemistry.
/// Source: charge windows common practice and LFP 3.50-3.65 V per cell; other figures from memory.
pub static CHEMISTRIES: [ChemistryRow; 4] = [
    ChemistryRow {
        chemistry: Chemistry::Flooded,
        nominal_v: 12.0,
        low_v: 11.0,
        fault_v: 12.8,
        absorb_v: window(14.4, 14.8),
        charge_most_v: 14.8,
        float_v: window(13.2, 13.6),
        equalise_v: Some(window(15.0, 16.2)),
        compensation_mv_per_k: window(-30.0, -18.0),
        usable_depth: 0.5,
        charge_c: window(-20.0, 50.0),
        discharge_c: window(-20.0, 50.0),
        charge_rate: window(0.10, 0.20),
        charge_rate_most: 0.25,
        discharge_rate: 0.2,
        peukert: 1.25,
        coulombic: 0.85,
        ohmic_mohm_100ah: 4.0,
        charge_source: &CHARGE_PRACTICE,
        source: &CHEMISTRY_MEMORY,
    },
    ChemistryRow {
        chemistry: Chemistry::Agm,
        nominal_v: 12.0,
        low_v: 11.0,
        fault_v: 12.8,
        absorb_v: window(14.3, 14.7),
        charge_most_v: 14.7,
        float_v: window(13.4, 13.8),
        equalise_v: None,
        compensation_mv_per_k: window(-30.0, -18.0),
        usable_depth: 0.5,
        charge_c: window(-20.0, 50.0),
        discharge_c: window(-20.0, 50.0),
        charge_rate: window(0.10, 0.40),
        charge_rate_most: 0.5,
        discharge_rate: 0.25,
        peukert: 1.10,
        coulombic: 0.95,
        ohmic_mohm_100ah: 4.0,
        charge_source: &CHARGE_PRACTICE,
        source: &CHEMISTRY_MEMORY,
    },
    ChemistryRow {
        chemistry: Chemistry::Gel,
        nominal_v: 12.0,
        low_v: 11.0,
        fault_v: 12.8,
        absorb_v: window(14.0, 14.3),
        charge_most_v: 14.4,
        float_v: window(13.05, 13.8),
        equalise_v: None,
        compensation_mv_per_k: window(-30.0, -18.0),
        usable_depth: 0.5,
        charge_c: window(-20.0, 50.0),
        discharge_c: window(-20.0, 50.0),
        charge_rate: window(0.10, 0.20),
        charge_rate_most: 0.2,
        discharge_rate: 0.2,
        peukert: 1.15,
        coulombic: 0.93,
        ohmic_mohm_100ah: 4.0,
        charge_source: &CHARGE_PRACTICE,
        source: &CHEMISTRY_MEMORY,
    },
    ChemistryRow {
        chemistry: Chemistry::Lfp,
        nominal_v: 12.0,
        low_v: 12.0,
        fault_v: 13.3,
        absorb_v: window(14.0, 14.6),
        charge_most_v: 14.6,
        float_v: window(13.4, 13.6),
        equalise_v: None,
        compensation_mv_per_k: window(0.0, 0.0),
        usable_depth: 0.9,
        charge_c: window(0.0, 45.0),
        discharge_c: window(-20.0, 55.0),
        charge_rate: window(0.20, 0.50),
        charge_rate_most: 0.5,
        discharge_rate: 0.5,
        peukert: 1.03,
        coulombic: 0.99,
        ohmic_mohm_100ah: 1.0,
        charge_source: &LFP_CHARGE,
        source: &CHEMISTRY_MEMORY,
    },
];

/// Lead whose kind nobody has entered: of each figure what some kind of lead takes.
/// Source: the rows of lead; common practice.
pub static LEAD_OF_ANY_KIND: ChemistryRow = ChemistryRow {
    absorb_v: window(14.0, 14.8),
    float_v: window(13.05, 13.8),
    charge_rate: window(0.10, 0.40),
    charge_rate_most: 0.5,
    ..CHEMISTRIES[0]
};

/// The figures of a chemistry.
/// Source: as each row says.
#[must_use]
pub fn chemistry(which: Chemistry) -> &'static ChemistryRow {
    let [flooded, agm, gel, lfp] = &CHEMISTRIES;
    match which {
        Chemistry::Flooded => flooded,
        Chemistry::Agm => agm,
        Chemistry::Gel => gel,
        Chemistry::Lfp => lfp,
    }
}

/// Cells of a 12 V battery: lead, lithium iron phosphate.
/// Source: IEC 60050-482, nominal voltage; common practice.
const CELLS_PER_12: [f64; 2] = [6.0, 4.0];
/// Nominal volts of a cell: lead, lithium iron phosphate. Source: as [`CELLS_PER_12`].
const CELL_V: [f64; 2] = [2.0, 3.2];
/// Volts of a cell that labels have, from and to. Source: common practice: lead of 12 to 12.8 V has six cells, lithium iron phosphate
/// of 12 to 13.6 V four.
const CELL_LABEL_V: [(f64, f64); 2] = [(1.9, 2.15), (2.9, 3.45)];
/// Volts of a lead cell up to which what was typed may be of so many cells, read off while it is charged. Source: common practice,
/// 14.4 to 14.7 V of a 12 V battery.
const LEAD_CHARGED_CELL_V: f64 = 2.45;
/// Volts that a lithium cell is charged to, as labels have it. Source: articles on LFP, 3.65 V a cell.
const LFP_LABEL_CHARGE_V: f64 = 3.65;

impl ChemistryRow {
    /// Cells in series in one battery of these label volts. Lead has 2 V a cell, lithium iron phosphate 3.2 V: 12.8 V are
    /// four, 51.2 V sixteen. A lithium label of 12, 24, 36, 48 or 60 V names the system: four cells for every 12 V.
    /// Source: IEC 60050-482, nominal voltage; system labels common practice.
    #[must_use]
    pub fn cells(&self, label_v: f64) -> f64 {
        let lithium = usize::from(self.chemistry.is_lithium());
        let twelves = label_v / self.nominal_v;
        let of_system = lithium == 1 && (twelves - twelves.round()).abs() < 1e-6;
        let cells = if of_system { twelves * CELLS_PER_12[1] } else { label_v / CELL_V[lithium] };
        let cells = cells.round().max(1.0);
        // Rest or charge volts of so many cells as are sold: 13.2 and 13.8 V are of six, no lead has seven.
        let sold = (1..=cells as u32).rev().map(f64::from).find(|n| self.is_sold(*n)).unwrap_or(cells);
        if label_v / sold <= LEAD_CHARGED_CELL_V { sold } else { cells }
    }

    /// Whether batteries are sold with so many cells. Source: common practice: lead with one to four, with eight and in sixes.
    fn is_sold(&self, cells: f64) -> bool {
        self.chemistry.is_lithium() || cells <= 4.0 || cells == 8.0 || cells % 6.0 == 0.0
    }

    /// Times 12 V that one battery of these label volts is by its cells: what figures of a 12 V battery are multiplied by.
    /// Source: as [`ChemistryRow::cells`].
    #[must_use]
    pub fn twelves(&self, label_v: f64) -> f64 {
        self.cells(label_v) / CELLS_PER_12[usize::from(self.chemistry.is_lithium())]
    }

    /// Another number of cells that a label may mean just as well, where the charge volts of the same label do not rule it out.
    /// Source: nominal 3.2 V and 3.65 V charged for each cell.
    #[must_use]
    pub fn other_cells(&self, label_v: f64, label_charge_v: Option<f64>) -> Option<f64> {
        let (taken, other) = (self.cells(label_v), (label_v / CELL_V[1]).round().max(1.0));
        let is_told = label_charge_v.is_some_and(|v| (v / LFP_LABEL_CHARGE_V).round() == taken);
        (self.chemistry.is_lithium() && other != taken && !is_told).then_some(other)
    }

    /// Volts of each cell by a label of so many, where no cell of the kind has them (lead 2 V, lithium iron phosphate 3.2 V), or no
    /// battery of lead so many cells: 13.2 and 14 V are those of a rest or a charge and no label's.
    /// Source: IEC 60050-482, nominal voltage; the room about it common practice (labels of 12 to 12.8 V), as that lead is sold with
    /// one to four cells, with eight and in sixes.
    #[must_use]
    pub fn odd_cell_v(&self, label_v: f64) -> Option<f64> {
        let (least, most) = CELL_LABEL_V[usize::from(self.chemistry.is_lithium())];
        let cells = self.cells(label_v);
        let each_v = label_v / cells;
        (!(self.is_sold(cells) && (least..=most).contains(&each_v))).then_some(each_v)
    }

    /// Whether the charge volts may follow the temperature.
    #[must_use]
    pub fn compensation_allowed(&self) -> bool {
        self.compensation_mv_per_k.least < 0.0
    }

    /// Whether it may be equalised.
    #[must_use]
    pub fn equalise_allowed(&self) -> bool {
        self.equalise_v.is_some()
    }
}

/// Charge volts at a battery temperature, from those at 25 C, mV per K and cell, and the number of cells.
/// Source: encyclopaedia article on float voltage: 13.4 V at 25 C, -5 mV per K and cell.
#[must_use]
pub fn compensated_v(at_25_v: f64, mv_per_k_cell: f64, cells: f64, battery_c: f64) -> f64 {
    let volts = at_25_v + mv_per_k_cell / 1000.0 * cells * (battery_c - 25.0);
    if volts.is_finite() { volts } else { at_25_v }
}

/// Up to this many cold-cranking amps, main interrupt amps, branch interrupt amps; 12 and 24 V.
/// Source: ABYC E-11 interrupting-capacity tables, older edition; lead only.
static BY_CCA: [(f64, f64, f64); 3] =
    [(650.0, 1_500.0, 750.0), (1_100.0, 3_000.0, 1_500.0), (f64::INFINITY, 5_000.0, 2_500.0)];

/// What a main device must interrupt on a lead bank of this many cold-cranking amps, amps (12 and 24 V).
/// Source: ABYC E-11 interrupting-capacity tables, older edition.
#[must_use]
pub fn lead_main_interrupt_a(total_cca: f64) -> f64 {
    BY_CCA.iter().find(|(most, ..)| total_cca <= *most).map_or(5_000.0, |(_, main, _)| *main)
}

/// What a branch device must interrupt on a lead bank of this many cold-cranking amps, amps (12 and 24 V).
/// Source: ABYC E-11 interrupting-capacity tables, older edition.
#[must_use]
pub fn lead_branch_interrupt_a(total_cca: f64) -> f64 {
    BY_CCA.iter().find(|(most, ..)| total_cca <= *most).map_or(2_500.0, |(.., branch)| *branch)
}

/// Short-circuit current of a lead battery without a cold-cranking figure, amps, per 12 V unit of these ampere-hours;
/// 0 where they are not above zero.
/// Source: 12.6 V over 4 mohm x 100/Ah, from memory.
#[must_use]
pub fn lead_short_circuit_a(amp_hours: f64) -> f64 {
    let amps = 12.6 / (0.004 * 100.0) * amp_hours;
    if amps.is_finite() { amps.max(0.0) } else { 0.0 }
}

/// Short-circuit current of equal batteries: those in parallel add, those in series do not.
/// Source: newer ABYC E-11 text in paraphrase.
#[must_use]
pub fn bank_short_circuit_a(each_a: f64, in_parallel: u32) -> f64 {
    each_a * f64::from(in_parallel)
}

/// Short-circuit current assumed for a lithium battery whose maker gives none, amps.
/// Source: newer ABYC E-11 text in paraphrase, 20 kA.
pub const LFP_UNKNOWN_FAULT_A: f64 = 20_000.0;
