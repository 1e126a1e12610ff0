//! Gathers what checks say, and what they and the figures wait for.

use crate::plan::{FieldPath, Figure, Missing, Plan, Value};

use super::finding::{Check, Finding};
use super::order;
use super::report::{NotChecked, Report};

/// What a check says: pass, found, or the field it waits for.
pub(super) type Outcome = Figure<Option<Finding>>;

/// Everything gathered so far.
pub(super) struct Gathered {
    findings: Vec<Finding>,
    not_checked: Vec<NotChecked>,
    waits: Vec<FieldPath>,
}

impl Gathered {
    pub(super) fn new(findings: Vec<Finding>) -> Self {
        Self { findings, not_checked: Vec::new(), waits: Vec::new() }
    }

    /// Takes the outcome of a check on a subject. A figure that is not computed at all (an empty path) passes.
    pub(super) fn take(&mut self, check: &'static Check, subject: impl FnOnce() -> FieldPath, outcome: Outcome) {
        match outcome {
            Ok(None) => {}
            Ok(Some(finding)) => self.findings.push(finding),
            Err(Missing(path)) if path.as_str().is_empty() => {}
            Err(Missing(path)) => {
                if check.safety {
                    let subject = subject();
                    let known = |n: &NotChecked| n.check == check.id && n.subject == subject && n.waits_for == path;
                    if !self.not_checked.iter().any(known) {
                        self.not_checked.push(NotChecked { check: check.id, subject, waits_for: path.clone() });
                    }
                }
                self.waits.push(path);
            }
        }
    }

    /// Every finding so far, to add to it.
    pub(super) fn each(&mut self, add: impl FnMut(&mut Finding)) {
        self.findings.iter_mut().for_each(add);
    }

    /// Counts an unknown that a check does not need for its answer.
    pub(super) fn wait(&mut self, path: FieldPath) {
        self.waits.push(path);
    }

    /// Sorted: findings by level and then the plan's order; unknowns once each, in the plan's order.
    pub(super) fn into_order(
        mut self,
        plan: &Plan,
        report: &Report,
    ) -> (Vec<Finding>, Vec<NotChecked>, Vec<FieldPath>) {
        self.findings.sort_by_cached_key(|f| (f.level, order::place(plan, &f.subject)));
        self.not_checked.sort_by_cached_key(|n| order::place(plan, &n.subject));
        figures_wait(report, &mut self.waits);
        // A gauge that is too thin for its line to work at all is waited for, but not unknown.
        self.waits.retain(|p| !matches!(plan.get_at(p), Some(Value::Gauge(_))));
        self.waits.sort_unstable();
        self.waits.dedup();
        // What was entered and cannot be used is a finding's matter.
        self.waits.retain(|path| !is_entered(plan, path));
        if self.waits.len() > 1 {
            self.waits.sort_by_cached_key(|p| order::full(plan, p));
        }
        (self.findings, self.not_checked, self.waits)
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
    each!(report.loads; dc_simultaneous_w);
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
