//! Answers worked out beside the keys. Each belongs to one report and one question, and is shown with no other: what is
//! on screen is never that of an earlier plan.

use std::sync::Arc;

use crate::document::Shown;
use crate::document::look::{Answer, Question};
use crate::engine::report::NextUp;
use crate::engine::{Finding, is_curable};
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

/// What is asked of a finding that some step may cure.
fn cures_of(finding: &Finding) -> Option<Question> {
    is_curable(finding.check.id).then(|| Question::Cures(finding.check.id, finding.subject.clone()))
}

impl Model {
    /// Whether a step is known to cure the focused finding: each has been tried.
    #[must_use]
    pub fn is_cured(&self) -> bool {
        let shown = self.document.as_ref().map(crate::document::Document::shown);
        let answer = shown.zip(self.finding_at().and_then(cures_of)).and_then(|(s, q)| self.late.answer(s, &q));
        matches!(answer, Some(Answer::Cures(steps)) if !steps.is_empty())
    }

    /// Whose answers are shown. On the opened year those of the plan without the draft, as a digit there would change every
    /// row of its page: what the draft brings stands above them.
    #[must_use]
    pub fn answered(&self) -> Option<&Shown> {
        let document = self.document.as_ref()?;
        let is_year = matches!(self.overlay, Some(Overlay::Seasons(_)));
        Some(if is_year { document.committed() } else { document.shown() })
    }

    /// What the screen shows that is worked out beside the keys: on the Bench what more copper in the selected run is
    /// worth, on the opened year what its page needs.
    #[must_use]
    pub fn question(&self) -> Option<Question> {
        let shown = self.answered()?;
        let report = &shown.report;
        match &self.overlay {
            Some(Overlay::Seasons(view)) => {
                let asked = view.questions(&shown.plan, report);
                let open = asked.iter().find(|question| self.late.answer(shown, question).is_none());
                open.or(asked.last()).cloned()
            }
            None if self.is_on_findings() => self.finding_at().and_then(cures_of),
            None if self.is_on_bench() && self.shop.is_none() => {
                let run = report.runs.get(self.bench.run)?;
                matches!(run.next_up, NextUp::Gauge(_)).then(|| Question::Worth(run.id.clone()))
            }
            _ => None,
        }
    }
}
