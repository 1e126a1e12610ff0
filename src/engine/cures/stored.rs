//! Lithium that stands unheated while stored: what keeps charge from it is read off and entered, or a heater holds it.

use crate::engine::finding::Finding;
use crate::plan::entry::{self, Units};
use crate::plan::{Edit, Plan, Step, Value};

/// The cut-off of its own management unit, or of every charger by a sensor at the battery: one field has both. Then a heater.
pub(super) fn steps(plan: &Plan, finding: &Finding) -> Vec<Step> {
    let set = |field: &str, to: f64| Edit::Set { at: finding.subject.join(field), to: Value::Number(to) };
    let (least_c, wanted_w) = (finding.n(1), finding.n(2));
    let who = if finding.name(0).is_empty() { "BK" } else { finding.name(0) };
    let name = format!(
        "{who}: no charge below {least_c} C, by its management unit, or by a battery sensor and the own low temperature stop of \
         every charger, read off their sheets"
    );
    let mut all = vec![Step::one(entry::said(Units::of(plan), &name, &[least_c]), set("charge_cutoff_c", least_c))];
    if wanted_w > 0.0 {
        all.push(Step::one(format!("{who} heater: {wanted_w} W, on while stored too"), set("heater_w", wanted_w)));
    }
    all
}
