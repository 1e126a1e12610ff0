//! Gathers what checks say, and what they and the figures wait for.

use crate::arrange::Arrange;
use crate::plan::{FieldPath, Figure, Missing, Plan, Value};

use super::checks;
use super::finding::{Check, Finding};
use super::memo::Memo;
use super::order;
use super::report::{NotChecked, Report};

/// What a check says: pass, found, or the field it waits for.
pub(super) type Outcome = Figure<Option<Finding>>;

/// Everything gathered so far.
#[derive(Clone, Default)]
pub(super) struct Gathered {
    findings: Vec<Finding>,
    not_checked: Vec<NotChecked>,
    waiting: Vec<NotChecked>,
    waits: Vec<FieldPath>,
    /// What the roof's checks said before.
    pub(super) roof: Remembered,
}

/// What the roof's checks said, by what they read.
pub(super) type Remembered = Memo<checks::Read, Gathered>;

/// What a report says of its checks, in order.
pub(super) struct Said {
    pub(super) findings: Vec<Finding>,
    pub(super) not_checked: Vec<NotChecked>,
    pub(super) waiting: Vec<NotChecked>,
    pub(super) unknown: Vec<FieldPath>,
}

impl Gathered {
    pub(super) fn new(findings: Vec<Finding>, roof: Remembered) -> Self {
        Self { findings, roof, ..Self::default() }
    }

    /// With what was gathered elsewhere.
    pub(super) fn add(&mut self, more: &Self) {
        self.findings.extend_from_slice(&more.findings);
        for (list, more) in [(&mut self.not_checked, &more.not_checked), (&mut self.waiting, &more.waiting)] {
            for waits in more {
                if !list.contains(waits) {
                    list.push(waits.clone());
                }
            }
        }
        self.waits.extend_from_slice(&more.waits);
    }

    /// Takes the outcome of a check on a subject. A figure that is not computed at all (an empty path) passes.
    pub(super) fn take(&mut self, check: &'static Check, subject: impl FnOnce() -> FieldPath, outcome: Outcome) {
        match outcome {
            Ok(None) => {}
            Ok(Some(finding)) => self.findings.push(finding),
            Err(Missing(path)) if path.as_str().is_empty() => {}
            Err(Missing(path)) => {
                let list = if check.safety { &mut self.not_checked } else { &mut self.waiting };
                let waits = NotChecked { check: check.id, subject: subject(), waits_for: path.clone() };
                if !list.contains(&waits) {
                    list.push(waits);
                }
                self.waits.push(path);
            }
        }
    }

    /// Every finding so far, to add to it.
    pub(super) fn each(&mut self, add: impl FnMut(&mut Finding)) {
        self.findings.iter_mut().for_each(add);
    }

    /// Whether any of these was found.
    pub(super) fn has(&self, ids: &[&str]) -> bool {
        self.findings.iter().any(|f| ids.contains(&f.check.id))
    }

    /// Counts an unknown that a check does not need for its answer.
    pub(super) fn wait(&mut self, path: FieldPath) {
        self.waits.push(path);
    }

    /// Sorted: findings by level and then the plan's order; unknowns once each, in the plan's order.
    pub(super) fn into_order(mut self, plan: &Plan, report: &Report) -> Said {
        self.findings.arrange_by_cached_key(|f| (f.level, order::place(plan, &f.subject)));
        for list in [&mut self.not_checked, &mut self.waiting] {
            list.arrange_by_cached_key(|n| order::place(plan, &n.subject));
        }
        // What was entered and cannot be used is a finding's matter.
        self.waiting.retain(|n| !is_entered(plan, &n.waits_for));
        figures_wait(report, &mut self.waits);
        // A gauge that is too thin for its line to work at all is waited for, but not unknown.
        self.waits.retain(|p| !matches!(plan.get_at(p), Some(Value::Gauge(_))));
        self.waits.arrange_by(Ord::cmp);
        self.waits.dedup();
        self.waits.retain(|path| !is_entered(plan, path) && !is_of_gone(plan, path));
        if self.waits.len() > 1 {
            self.waits.arrange_by_cached_key(|p| order::full(plan, p));
        }
        let Self { findings, not_checked, waiting, waits, .. } = self;
        Said { findings, not_checked, waiting, unknown: waits }
    }
}

/// Whether a field holds a value.
fn is_entered(plan: &Plan, path: &FieldPath) -> bool {
    match plan.get_at(path) {
        None | Some(Value::Unknown | Value::Nothing) => false,
        Some(Value::Text(text)) => !text.is_empty(),
        Some(_) => true,
    }
}

/// Whether a path is of the legs of a run of which none is left: given up, it asks for nothing.
fn is_of_gone(plan: &Plan, path: &FieldPath) -> bool {
    let of = |id: &str| plan.runs.iter().find(|r| r.id.as_str() == id).is_some_and(|r| !r.legs.is_empty());
    path.as_str().strip_prefix("runs.").and_then(|rest| rest.strip_suffix(".legs")).is_some_and(of)
}

/// The fields that figures of a report wait for.
fn figures_wait(report: &Report, waits: &mut Vec<FieldPath>) {
    macro_rules! each {
        ($owner:expr; $($field:ident),*) => {$(
            if let Err(Missing(path)) = &$owner.$field && !path.as_str().is_empty() {
                waits.push(path.clone());
            }
        )*};
    }
    for a in &report.arrays {
        each!(a; watts, voc_cold_v, vmp_hot_v, voc_start_v, isc_a, imp_a, weight_kg);
    }
    for k in &report.controllers {
        each!(k; voc_cold_v, isc_a, design_a, clipped_kwh, low_volts_kwh);
    }
    let b = &report.bank;
    each!(b; volts, amp_hours, usable_wh, fault_a, discharge_limit_a, charge_limit_a, low_v);
    for i in &report.inverters {
        each!(i; design_a);
        if let Some(Err(Missing(path))) = &i.cutoff_a {
            waits.push(path.clone());
        }
    }
    for wh in &report.loads.wh_day {
        if let Err(Missing(path)) = wh {
            waits.push(path.clone());
        }
    }
    each!(report.loads; dc_simultaneous_w, together, surge);
    for r in &report.runs {
        each!(r; length_m, design_a, drop_at_a, resistance_ohm, wire_c, drop_v, drop_pct, base_v, path_drop_v,
            path_drop_pct, ampacity_a, fuse_min_a, fuse_max_a, loss_wh_day);
        for f in &r.fuses {
            each!(f; amps, family, fault_a, interrupt_a, circuit_v);
        }
    }
    for m in &report.year.months {
        each!(m; ghi_kwh_m2_day, array_wh_day, harvest_wh_day, load_wh_day, deficit_wh_day, days_without_sun);
    }
    each!(report.price; parts, labour, tax, total);
}
