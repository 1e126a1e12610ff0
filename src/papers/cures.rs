//! Cures as text prints them: each tried on the plan, of one kind so many.

use std::collections::HashMap;

use crate::engine::{Engine, Finding};
use crate::plan::{FieldPath, Plan};
use crate::stock::Stock;
use crate::wording::told::Cured;

/// Findings of one check whose cures are tried: twenty, fewer in a plan of very many runs. Source: our own choice; each takes some
/// ten evaluations of the plan, longer the more is in it, and who has more of a kind has one thing to mend.
fn tried_of_a_kind(plan: &Plan) -> usize {
    (2400 / plan.runs.len().max(1)).clamp(4, 20)
}

/// What cures each finding of a plan that it is asked of.
pub fn of<'a>(engine: &'a mut Engine, plan: &'a Plan, stock: &'a Stock) -> impl FnMut(&Finding) -> Cured + 'a {
    let most = tried_of_a_kind(plan);
    let mut tried: HashMap<&str, usize> = HashMap::new();
    move |finding| {
        let times = tried.entry(finding.check.id).or_default();
        *times += 1;
        if *times > most {
            return (vec![not_tried(most, &finding.subject)], String::new());
        }
        let found = engine.cures_tried(plan, stock, finding);
        (found.steps.iter().map(|step| step.name.clone()).collect(), found.in_vain())
    }
}

/// What stands in the place of cures that were not tried.
fn not_tried(most: usize, subject: &FieldPath) -> String {
    format!("not tried here, as {most} of this kind were; the full screen tries those of {subject}")
}
