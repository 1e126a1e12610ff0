//! What more copper in a run is worth: the year's harvest with its next gauge up against the harvest as it is, what chargers bring
//! more where their current flows in it, and what of it serves load.

use crate::plan::{Figure, Id, Plan, Run, Step};
use crate::stock::Stock;
use crate::units::WattHours;

use super::Engine;
use super::circuit::{Node, PathKind};
use super::context::{Context, at, missing};
use super::report::{Lived, NextUp, Report, Worth};
use super::sizing::{LaidGauge, Make, make_edits};

/// Whether a charger's current flows in a run, or what it draws from the vehicle.
pub(super) fn is_of_charger(c: &Context<'_>, index: usize) -> bool {
    let charges = |kind: PathKind| matches!(kind, PathKind::Charger | PathKind::ChargerInput);
    c.circuit.ways.iter().any(|way| charges(way.kind) && way.runs.contains(&index))
        || c.circuit.ahead.iter().any(|runs| runs.contains(&index))
}

/// The next gauge up of a run, if more of it could bring more to the bank.
pub(super) fn next_up(c: &Context<'_>, index: usize, run: &Run) -> NextUp {
    let solar = |kind: PathKind| matches!(kind, PathKind::Array | PathKind::ControllerBank);
    let of_sun = c.circuit.ways.iter().any(|way| solar(way.kind) && way.runs.contains(&index));
    if !of_sun && !is_of_charger(c, index) {
        let sources = |n: &Node| matches!(n, Node::Array(_) | Node::Controller(_));
        let beside = c.circuit.links.get(index).is_some_and(|l| l.looped && l.away.iter().any(sources));
        return if beside { NextUp::Beside } else { NextUp::ChargesNothing };
    }
    if run.measured_ohm.as_ref().is_some_and(|ohm| ohm.known().is_some()) {
        return NextUp::Measured;
    }
    match LaidGauge::of(run) {
        LaidGauge::Unknown => NextUp::Unknown(at("runs", &run.id, "gauge")),
        LaidGauge::Several => NextUp::OwnLegs,
        LaidGauge::One(gauge) => gauge.thicker().map_or(NextUp::Largest, NextUp::Gauge),
    }
}

impl Engine {
    /// What the next gauge up of a run brings, `before` being the answer to the plan as it is: one year more.
    ///
    /// # Errors
    /// The field that the year waits for; an empty path where there is no next gauge.
    pub fn worth(&mut self, plan: &Plan, stock: &Stock, before: &Report, run: &Id) -> Figure<Worth> {
        let figures = before.runs.iter().find(|r| r.id == *run);
        let gauge = match figures.map(|r| &r.next_up) {
            Some(NextUp::Gauge(gauge)) => *gauge,
            Some(NextUp::Unknown(field)) => return Err(missing(field.clone())),
            _ => return Err(missing("")),
        };
        let kwh = before.year.lived.harvest_kwh.clone()?;
        // As the ladder's row has it: existing legs keep their wire beside new ones.
        let old = plan.runs.iter().find(|r| r.id == *run).ok_or_else(|| missing(""))?;
        let edits = make_edits(old, Make::as_drawn(old, gauge), true);
        let step = Step { name: String::new(), edits };
        let with = plan.with(&step).map_err(|_| missing(""))?;
        let after = self.evaluate(&with, stock);
        let lived = &after.year.lived;
        let kwh_year = lived.harvest_kwh.clone()? - kwh;
        let days = lived.days.max(1) as f64;
        let was = &before.year.lived;
        let served_kwh = served_kwh(lived).zip(served_kwh(was)).map(|(after, before)| after - before);
        let other_kwh = match figures.is_some_and(|r| r.of_charger) {
            true => Some(lived.other_kwh.clone()? - was.other_kwh.clone()?),
            false => None,
        };
        let (wh_day, months, days) = (WattHours(kwh_year * 1000.0 / days), lived.months, lived.days);
        Ok(Worth { gauge, wh_day, kwh_year, other_kwh, served_kwh, months, days })
    }
}

/// Load served in the months that have a stay; none where that is not known.
fn served_kwh(lived: &Lived) -> Option<f64> {
    Some(lived.load_kwh.as_ref().ok()? * (1.0 - lived.unmet_pct.as_ref().ok()? / 100.0))
}
