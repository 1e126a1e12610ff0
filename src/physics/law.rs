//! How a bank's volts follow its current: one cell of either chemistry.

use super::lead::{Cell, Local};

/// Greatest current and power that are looked at. Source: our own choice; keeps products finite.
pub(super) const CURRENT_A: f64 = 1e6;

/// How volts follow current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Law {
    Lead(Cell),
    Ohmic { rest_v: f64, ohm: f64 },
}

impl Law {
    #[inline]
    pub(super) fn charging(&self, current_a: f64) -> Local {
        match self {
            Self::Lead(cell) => cell.charging(current_a),
            Self::Ohmic { rest_v, ohm } => Local { volts: rest_v + ohm * current_a, ohm: *ohm },
        }
    }

    #[inline]
    pub(super) fn discharging(&self, current_a: f64) -> Local {
        match self {
            Self::Lead(cell) => cell.discharging(current_a),
            Self::Ohmic { rest_v, ohm } => Local { volts: rest_v - ohm * current_a, ohm: *ohm },
        }
    }

    /// Volts while it gives a current that brings out `cell_w`, not none.
    #[inline]
    pub(super) fn giving_v(&self, current_a: f64, cell_w: f64) -> f64 {
        match self {
            Self::Lead(_) => cell_w / current_a,
            Self::Ohmic { rest_v, ohm } => rest_v - ohm * current_a,
        }
    }

    pub(super) fn rest_v(&self) -> f64 {
        match self {
            Self::Lead(cell) => cell.rest_v(),
            Self::Ohmic { rest_v, .. } => *rest_v,
        }
    }

    pub(super) fn accepted_a(&self, held_v: f64) -> f64 {
        match self {
            Self::Lead(cell) => cell.accepted_a(held_v),
            Self::Ohmic { rest_v, ohm } => ((held_v - rest_v) / ohm).clamp(0.0, CURRENT_A),
        }
    }

    /// Near the current that enters from `emf_v` behind `behind_ohm`.
    pub(super) fn nearly_taken_a(&self, emf_v: f64, behind_ohm: f64) -> f64 {
        match self {
            Self::Lead(cell) => cell.nearly_taken_a(emf_v, behind_ohm),
            Self::Ohmic { rest_v, ohm } => ((emf_v - rest_v) / (ohm + behind_ohm)).clamp(0.0, CURRENT_A),
        }
    }

    pub(super) fn deliverable_a(&self, least_v: f64) -> f64 {
        match self {
            Self::Lead(cell) => cell.deliverable_a(least_v),
            Self::Ohmic { rest_v, ohm } => ((rest_v - least_v) / ohm).clamp(0.0, CURRENT_A),
        }
    }

    pub(super) fn needs_more(&self, current_a: f64, held_v: f64) -> bool {
        match self {
            Self::Lead(cell) => cell.needs_more(current_a, held_v),
            Self::Ohmic { rest_v, ohm } => rest_v + ohm * current_a > held_v,
        }
    }

    /// Current that brings in `cell_w` a cell.
    pub(super) fn current_in_a(&self, cell_w: f64) -> f64 {
        match self {
            Self::Lead(cell) => cell.current_in_a(cell_w),
            Self::Ohmic { rest_v, ohm } => 2.0 * cell_w / (rest_v + (rest_v * rest_v + 4.0 * ohm * cell_w).sqrt()),
        }
    }

    /// Current that brings out `cell_w` a cell with volts of no less than `least_v`; none where no current does.
    pub(super) fn current_out_a(&self, cell_w: f64, least_v: f64) -> Option<f64> {
        match self {
            Self::Lead(cell) => cell.current_out_a(cell_w, least_v),
            Self::Ohmic { rest_v, ohm } => {
                let squared = rest_v * rest_v - 4.0 * ohm * cell_w;
                let current_a = 2.0 * cell_w / (rest_v + squared.max(0.0).sqrt());
                (squared >= 0.0 && rest_v - ohm * current_a >= least_v).then_some(current_a)
            }
        }
    }
}
