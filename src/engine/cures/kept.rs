//! Steps that cure, but bring a caution or leave a fuse to lean on the next rating up: offered after those that bring nothing.

use crate::engine::report::Report;
use crate::engine::sizing::brings_any;
use crate::plan::Step;

use crate::engine::Level;

use super::{MOST, first_words};

/// Most steps of one kind that are tried where the first of them brings something. Source: our own choice; each is a whole
/// answer.
const MOST_TRIED: usize = 4;

/// Those kept back, the first of each kind, how many of it there were, and whether the first brings a caution.
#[derive(Default)]
pub(super) struct Kept(Vec<(Step, usize, bool)>);

impl Kept {
    /// Keeps a step back where it brings something; whether it does.
    pub(super) fn takes(&mut self, step: &Step, (before, after): (&Report, &Report)) -> bool {
        if !brings_any(before, after) {
            return false;
        }
        match self.0.iter_mut().find(|(s, ..)| first_words(s) == first_words(step)) {
            Some((_, times, _)) => *times += 1,
            None => {
                let cautions = after.findings.iter().any(|f| f.level != Level::Note && !before.says(f));
                self.0.push((step.clone(), 1, cautions));
            }
        }
        true
    }

    /// Whether enough steps of a kind have been tried.
    pub(super) fn is_enough(&self, step: &Step) -> bool {
        self.0.iter().any(|(s, times, _)| first_words(s) == first_words(step) && *times >= MOST_TRIED)
    }

    /// Adds those that bring a caution, or the others, to what brings nothing, where there is none of the kind.
    pub(super) fn put_after(&self, found: &mut Vec<Step>, cautions: bool) {
        for (step, ..) in self.0.iter().filter(|(.., brings)| *brings == cautions) {
            if found.len() < MOST && !found.iter().any(|s| first_words(s) == first_words(step)) {
                found.push(step.clone());
            }
        }
    }
}
