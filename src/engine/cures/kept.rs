//! Steps that cure, but bring a caution or leave a fuse to lean on the next rating up: offered after those that bring nothing.

use crate::engine::report::Report;
use crate::engine::sizing::brings_any;
use crate::plan::Step;

use super::{MOST, first_words};

/// Most steps of one kind that are tried where the first of them brings something. Source: our own choice; each is a whole
/// answer.
const MOST_TRIED: usize = 4;

/// Those kept back, the first of each kind, and how many of it there were.
#[derive(Default)]
pub(super) struct Kept(Vec<(Step, usize)>);

impl Kept {
    /// Keeps a step back where it brings something; whether it does.
    pub(super) fn takes(&mut self, step: &Step, before: &Report, after: &Report) -> bool {
        if !brings_any(before, after) {
            return false;
        }
        match self.0.iter_mut().find(|(s, _)| first_words(s) == first_words(step)) {
            Some((_, times)) => *times += 1,
            None => self.0.push((step.clone(), 1)),
        }
        true
    }

    /// Whether enough steps of a kind have been tried.
    pub(super) fn is_enough(&self, step: &Step) -> bool {
        self.0.iter().any(|(s, times)| first_words(s) == first_words(step) && *times >= MOST_TRIED)
    }

    /// Adds them to those that bring nothing, where there is none of the kind.
    pub(super) fn put_after(self, found: &mut Vec<Step>) {
        for (step, _) in self.0 {
            if found.len() < MOST && !found.iter().any(|s| first_words(s) == first_words(&step)) {
                found.push(step);
            }
        }
    }
}
