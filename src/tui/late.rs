//! Answers worked out beside the keys. Each belongs to one report and one question, and is shown with no other: what is
//! on screen is never that of an earlier plan.

use std::sync::Arc;

use crate::document::Shown;
use crate::document::look::{Answer, Question};
use crate::engine::report::NextUp;
use crate::tui::model::{Model, Overlay};

/// A question that was asked of a report, and its answer once it has arrived.
#[derive(Clone, Debug)]
struct Asked {
    generation: u64,
    of: Shown,
    question: Question,
    answer: Option<Answer>,
}

/// The newest question of each kind.
#[derive(Clone, Debug, Default)]
pub struct Late {
    asked: [Option<Asked>; Question::KINDS],
}

impl Late {
    fn of(&self, shown: &Shown, question: &Question) -> Option<&Asked> {
        let asked = self.asked.get(question.kind())?.as_ref()?;
        (asked.question == *question && Arc::ptr_eq(&asked.of.report, &shown.report)).then_some(asked)
    }

    /// The answer to a question about what is shown, if it is there.
    #[must_use]
    pub fn answer(&self, shown: &Shown, question: &Question) -> Option<&Answer> {
        self.of(shown, question)?.answer.as_ref()
    }

    /// Notes a question; false where it was asked already.
    pub fn ask(&mut self, generation: u64, shown: &Shown, question: &Question) -> bool {
        if self.of(shown, question).is_some() {
            return false;
        }
        if let Some(slot) = self.asked.get_mut(question.kind()) {
            *slot = Some(Asked { generation, of: shown.clone(), question: question.clone(), answer: None });
        }
        true
    }

    /// An answer arrives; one that is no longer asked for is dropped.
    pub fn arrives(&mut self, generation: u64, answer: Answer) {
        if let Some(asked) = self.asked.iter_mut().flatten().find(|a| a.generation == generation) {
            asked.answer = Some(answer);
        }
    }
}

impl Model {
    /// What the screen shows that is worked out beside the keys: on the Bench what more copper in the selected run is
    /// worth, on the opened year what its page needs.
    #[must_use]
    pub fn question(&self) -> Option<Question> {
        let shown = self.document.as_ref()?.shown();
        let report = &shown.report;
        match &self.overlay {
            Some(Overlay::Seasons(view)) => view.question(&shown.plan, report),
            None if self.is_on_bench() && self.shop.is_none() => {
                let run = report.runs.get(self.bench.run)?;
                matches!(run.next_up, NextUp::Gauge(_)).then(|| Question::Worth(run.id.clone()))
            }
            _ => None,
        }
    }
}
