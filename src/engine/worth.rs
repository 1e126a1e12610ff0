//! What more copper in a run is worth: the year's harvest with its next gauge up against the harvest as it is, and what of it
//! serves load.

use crate::plan::{Figure, Id, Plan, Run, Step};
use crate::stock::Stock;
use crate::units::WattHours;

use super::Engine;
use super::circuit::{Node, PathKind};
use super::context::{Context, at, missing};
use super::report::{Lived, NextUp, Report, Worth};
use super::sizing::{LaidGauge, Make, make_edits};

/// The next gauge up of a run, if more of it could bring more sun to the bank.
pub(super) fn next_up(c: &Context<'_>, index: usize, run: &Run) -> NextUp {
    let solar = |kind: PathKind| matches!(kind, PathKind::Array | PathKind::ControllerBank);
    if !c.circuit.ways.iter().any(|way| solar(way.kind) && way.runs.contains(&index)) {
        let sources = |n: &Node| matches!(n, Node::Array(_) | Node::Controller(_));
        let beside = c.circuit.links.get(index).is_some_and(|l| l.looped && l.away.iter().any(sources));
        return if beside { NextUp::Beside } else { NextUp::CarriesNoSun };
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
        let next = before.runs.iter().find(|r| r.id == *run).map(|r| &r.next_up);
        let gauge = match next {
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
        let served_kwh = served_kwh(lived).zip(served_kwh(&before.year.lived)).map(|(after, before)| after - before);
        Ok(Worth { gauge, wh_day: WattHours(kwh_year * 1000.0 / days), kwh_year, served_kwh, months: lived.months })
    }
}

/// Load served in the months that have a stay; none where that is not known.
fn served_kwh(lived: &Lived) -> Option<f64> {
    Some(lived.load_kwh.as_ref().ok()? * (1.0 - lived.unmet_pct.as_ref().ok()? / 100.0))
}
