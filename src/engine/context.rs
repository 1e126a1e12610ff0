//! What every step of one evaluation reads.

use std::sync::OnceLock;

use crate::plan::{FieldPath, Figure, Id, Known, Missing, Plan};
use crate::standards::chemistry::{ChemistryRow, chemistry};

use crate::stock::Fuse;

use super::circuit::Circuit;
use super::converted;
use super::fault::Cold;
use super::memo::Stage;
use super::protection;
use super::rule::Rules;

/// One evaluation's inputs.
pub(super) struct Context<'a> {
    pub(super) plan: &'a Plan,
    pub(super) rules: Rules,
    pub(super) circuit: Stage<Circuit>,
    /// Fuses on the van.
    pub(super) van_fuses: &'a [Fuse],
    pub(super) cold: Cold,
    /// What nearly every check asks for, once it was.
    by_cells: OnceLock<Figure<f64>>,
    high_v: OnceLock<Figure<f64>>,
    posts_most_v: OnceLock<Figure<f64>>,
    /// Whether any device that stays is a converter.
    pub(super) converts: bool,
}

/// The path of a field of a list item.
pub(super) fn at(list: &str, id: &Id, field: &str) -> FieldPath {
    FieldPath::of(&[list, id.as_str(), field])
}

/// A known number, or its path.
pub(super) fn need<T: Clone>(value: &Known<T>, list: &str, id: &Id, field: &str) -> Figure<T> {
    value.at(|| at(list, id, field))
}

/// What is missing, by path.
pub(super) fn missing(path: impl Into<FieldPath>) -> Missing {
    Missing(path.into())
}

/// A figure that is not finite was asked of nonsense; it waits for the field that made it so.
pub(super) fn finite(x: f64, path: impl FnOnce() -> FieldPath) -> Figure<f64> {
    if x.is_finite() { Ok(x) } else { Err(Missing(path())) }
}

impl<'a> Context<'a> {
    pub(super) fn of(plan: &'a Plan, circuit: Stage<Circuit>, van_fuses: &'a [Fuse]) -> Self {
        Self::with(plan, Rules::of(plan), circuit, van_fuses)
    }

    /// Where the plan's rules are at hand.
    pub(super) fn with(plan: &'a Plan, rules: Rules, circuit: Stage<Circuit>, van_fuses: &'a [Fuse]) -> Self {
        let (by_cells, high_v, posts_most_v) = (OnceLock::new(), OnceLock::new(), OnceLock::new());
        let converts = converted::any(plan);
        Self { plan, rules, circuit, van_fuses, cold: Cold::of(plan), by_cells, high_v, posts_most_v, converts }
    }

    /// The bank's chemistry.
    pub(super) fn chemistry(&self) -> Figure<&'static ChemistryRow> {
        self.plan.bank.chemistry.at(|| "bank.chemistry".into()).map(chemistry)
    }

    /// Nominal volts of the bank as its labels say: 12.8, 24, 51.2.
    pub(super) fn bank_v(&self) -> Figure<f64> {
        let bank = &self.plan.bank;
        Ok(bank.unit_v.at(|| "bank.unit_v".into())?.0 * self.series()?)
    }

    /// Batteries in series.
    pub(super) fn series(&self) -> Figure<f64> {
        Ok(self.plan.bank.series.at(|| "bank.series".into())?.0)
    }

    /// Strings of batteries in parallel.
    pub(super) fn parallel(&self) -> Figure<f64> {
        Ok(self.plan.bank.parallel.at(|| "bank.parallel".into())?.0)
    }

    /// Cells in series in the bank.
    pub(super) fn cells(&self) -> Figure<f64> {
        Ok(self.chemistry()?.cells(self.plan.bank.unit_v.at(|| "bank.unit_v".into())?.0) * self.series()?)
    }

    /// Times 12 V by its cells: what volts stated for a 12 V battery are multiplied by. A bank of 6 V is half of one.
    pub(super) fn by_cells(&self) -> Figure<f64> {
        let find =
            || Ok(self.chemistry()?.twelves(self.plan.bank.unit_v.at(|| "bank.unit_v".into())?.0) * self.series()?);
        self.by_cells.get_or_init(find).clone()
    }

    /// The system's volts over 12: 1, 2, 4.
    pub(super) fn twelves(&self) -> Figure<f64> {
        let twelves = if self.chemistry().is_ok() { self.by_cells()? } else { self.bank_v()? / 12.5 };
        Ok(twelves.round().max(1.0))
    }

    /// The volts that battery-side percentages are of: 12, 24 or 48 whatever the chemistry.
    pub(super) fn base_v(&self) -> Figure<f64> {
        let volts = self.bank_v()?;
        Ok(if volts < 9.0 { volts } else { self.twelves()? * 12.0 })
    }

    /// Share of the capacity to count on: as entered, else the rule's for the chemistry.
    pub(super) fn usable_share(&self) -> Figure<f64> {
        match &self.plan.bank.usable_pct {
            Some(pct) => Ok(pct.at(|| "bank.usable_pct".into())?.0 / 100.0),
            None if self.chemistry()?.chemistry.is_lithium() => Ok(self.rules.usable_depth_lfp),
            None => Ok(self.rules.usable_depth_lead),
        }
    }

    /// Low bank volts that design currents are taken at.
    pub(super) fn low_v(&self) -> Figure<f64> {
        let per_12 = if self.chemistry()?.chemistry.is_lithium() {
            self.rules.inverter_volts_lfp
        } else {
            self.rules.inverter_volts_lead
        };
        Ok(per_12 * self.by_cells()?)
    }

    /// Highest volts of the bank's circuits: the chemistry's charge limit.
    pub(super) fn high_v(&self) -> Figure<f64> {
        self.high_v.get_or_init(|| Ok(self.chemistry()?.charge_most_v * self.by_cells()?)).clone()
    }

    /// What [`protection::highest_v`] finds, once it was asked for.
    pub(super) fn posts_most_v(&self) -> Figure<f64> {
        self.posts_most_v.get_or_init(|| protection::highest_v(self)).clone()
    }
}
