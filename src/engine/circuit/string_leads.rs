//! Arrays whose strings come down on runs of their own, side by side to one place.

use crate::plan::Plan;
use crate::plan::wiring::Return;

use super::{Circuit, Node, Role};

/// The runs that an array's strings come down on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(in crate::engine) struct StringLeads {
    pub(in crate::engine) runs: Vec<usize>,
    /// Strings of the array.
    pub(in crate::engine) strings: usize,
    /// Strings on each of the runs; none where the drawing does not tell them apart.
    pub(in crate::engine) each: Option<usize>,
}

impl StringLeads {
    /// Part of the array's current on each of the runs.
    pub(in crate::engine) fn share(&self) -> Option<f64> {
        Some(self.each? as f64 / self.strings.max(1) as f64)
    }
}

impl Circuit {
    /// Pairs that leave an array side by side to one place, no more of them than it has strings. Like strings are on them in
    /// equal numbers, where those come out even; which of unlike ones is on which run nothing says.
    #[must_use]
    pub(in crate::engine) fn string_leads(&self, plan: &Plan, array: usize) -> Option<StringLeads> {
        let strings = &plan.arrays.get(array)?.strings.0;
        let node = Node::Array(array);
        let on = || self.at(node).iter().copied().filter(|i| self.role(*i) == Role::Array);
        // Most come down on one.
        on().nth(1)?;
        let on: Vec<usize> = on().collect();
        let place = self.other(*on.first()?, node)?;
        let pair = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path == Return::Pair);
        let alike = on.iter().all(|i| pair(i) && self.other(*i, node) == Some(place));
        if !alike || on.len() > strings.len() {
            return None;
        }
        let equal = strings.iter().all(|s| Some(s) == strings.first());
        let each = (equal && strings.len() % on.len() == 0).then_some(strings.len() / on.len());
        Some(StringLeads { runs: on, strings: strings.len(), each })
    }

    /// The same of the array that a run leaves.
    #[must_use]
    pub(in crate::engine) fn string_leads_of(&self, plan: &Plan, run: usize) -> Option<StringLeads> {
        let link = self.links.get(run).filter(|l| l.role == Role::Array)?;
        let array = [link.from, link.to].into_iter().flatten().find_map(|n| match n {
            Node::Array(i) => Some(i),
            _ => None,
        })?;
        self.string_leads(plan, array).filter(|leads| leads.runs.contains(&run))
    }
}
