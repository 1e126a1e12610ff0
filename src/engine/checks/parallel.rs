//! Batteries in parallel whose leads are drawn: what each one carries.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::leads::Leads;
use crate::plan::FieldPath;
use crate::standards::source::COMMON_PRACTICE;

use super::rule_value;

static UNEVEN: Check = Check {
    id: "uneven-battery-leads",
    safety: false,
    say: |f| {
        format!(
            "of {:.0} batteries in parallel the one on {} carries {:.0} % and the one on {} {:.0} %; equal leads would \
             give each {:.0} %, and {:.0} % of it off is the most",
            f.n(4),
            f.name(0),
            f.n(1),
            f.name(1),
            f.n(2),
            f.n(3),
            f.n(5)
        )
    },
};

/// Batteries in parallel whose own ways to one place are drawn.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    if let Some(first) = w.context.circuit.own_loops().first().and_then(|own| own.first()) {
        out.take(&UNEVEN, || FieldPath::new("bank"), uneven(w, *first));
    }
}

/// The split of the bank's current by conductance: each battery behind its own lead, cold.
/// Source: Kirchhoff's laws for parallel branches of equal open-circuit volts.
fn uneven(w: &Work<'_>, lead: usize) -> Outcome {
    let Some(leads) = Leads::cold(w.context, lead) else { return Ok(None) };
    let leads = leads?;
    let shares = leads.shares();
    let named = || shares.iter().zip(leads.firsts().filter_map(|i| w.context.plan.runs.get(i)));
    let (Some(most), Some(least)) =
        (named().max_by(|a, b| a.0.total_cmp(b.0)), named().min_by(|a, b| a.0.total_cmp(b.0)))
    else {
        return Ok(None);
    };
    let equal = 100.0 / shares.len() as f64;
    let (most_pct, least_pct) = (most.0 * 100.0, least.0 * 100.0);
    let apart = ((most_pct - equal).max(equal - least_pct)) / equal * 100.0;
    let limit = rule_value(w, "uneven-battery-pct");
    Ok((apart > limit + 1e-9).then(|| {
        let numbers = [apart, most_pct, least_pct, equal, shares.len() as f64, limit];
        Finding::new(&UNEVEN, Level::Caution, "bank".into(), &numbers, &COMMON_PRACTICE)
            .named([&most.1.id, &least.1.id])
    }))
}
