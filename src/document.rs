//! A plan being worked on: plan, report, draft, baseline, history. The one caller of the engine.

pub mod checked;
pub mod difference;
pub mod look;
pub mod search;
pub mod usual;

use std::sync::Arc;

use crate::engine::{Cures, Engine, Finding, Report};
use crate::plan::{Plan, Rejected, Step};
use crate::stock::Stock;

/// A plan and the report that answers it.
#[derive(Clone, Debug)]
pub struct Shown {
    pub plan: Arc<Plan>,
    pub report: Arc<Report>,
}

/// One undo step: the state before it, and its name.
#[derive(Clone, Debug)]
struct Past {
    plan: Arc<Plan>,
    /// Not there for a step that came back with a recovery copy: computed when it is gone back to.
    report: Option<Arc<Report>>,
    name: String,
    /// Field path whose repeated stepping merges into this step, until focus leaves.
    merge: Option<String>,
}

/// The document. Every change of the plan goes through here.
pub struct Document {
    committed: Shown,
    draft: Option<(Step, Shown)>,
    baseline: Option<Shown>,
    undo: Vec<Past>,
    redo: Vec<Past>,
    /// What redo would have done before the newest step, for where that is forgotten.
    redo_before: Vec<Past>,
    engine: Engine,
    stock: Arc<Stock>,
    revision: u64,
    saved_revision: u64,
    /// The plan that stands in its file.
    saved: Option<Arc<Plan>>,
}

/// Undo keeps this many steps.
const UNDO_DEPTH: usize = 1000;

impl Document {
    /// A document on a plan.
    #[must_use]
    pub fn new(plan: Plan, stock: Arc<Stock>) -> Self {
        let mut engine = Engine::on_all_threads();
        let report = Arc::new(engine.evaluate(&plan, &stock));
        let plan = Arc::new(plan);
        Self {
            saved: Some(Arc::clone(&plan)),
            committed: Shown { plan, report },
            draft: None,
            baseline: None,
            undo: Vec::new(),
            redo: Vec::new(),
            redo_before: Vec::new(),
            engine,
            stock,
            revision: 0,
            saved_revision: 0,
        }
    }

    /// What is on screen: the draft if there is one.
    #[must_use]
    pub fn shown(&self) -> &Shown {
        self.draft.as_ref().map_or(&self.committed, |(_, shown)| shown)
    }

    /// The plan without the draft.
    #[must_use]
    pub fn committed(&self) -> &Shown {
        &self.committed
    }

    /// Whether a draft is shown.
    #[must_use]
    pub fn is_draft(&self) -> bool {
        self.draft.is_some()
    }

    /// The plan held for comparison.
    #[must_use]
    pub fn baseline(&self) -> Option<&Shown> {
        self.baseline.as_ref()
    }

    /// Counts committed changes; the recovery copy is written when it rises.
    #[must_use]
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Whether the committed plan differs from the one last saved.
    #[must_use]
    pub fn is_dirty(&self) -> bool {
        let is_saved = |saved: &Arc<Plan>| Arc::ptr_eq(saved, &self.committed.plan) || *saved == self.committed.plan;
        self.revision != self.saved_revision && !self.saved.as_ref().is_some_and(is_saved)
    }

    /// Notes that the committed plan stands in its file.
    pub fn mark_saved(&mut self) {
        self.mark_saved_at(self.revision);
    }

    /// Notes that the plan of an earlier revision stands in its file.
    pub fn mark_saved_at(&mut self, revision: u64) {
        self.saved_revision = revision;
        // Of an earlier one the plan is not at hand: then only its number tells.
        self.saved = (revision == self.revision).then(|| Arc::clone(&self.committed.plan));
    }

    /// Notes that the committed plan stands in no file.
    pub fn mark_unsaved(&mut self) {
        self.saved_revision = u64::MAX;
        self.saved = None;
    }

    /// The engine, for ladders and candidates (a fork).
    #[must_use]
    pub fn engine(&self) -> Engine {
        self.engine.fork()
    }

    /// The stock prices come from.
    #[must_use]
    pub fn stock(&self) -> &Arc<Stock> {
        &self.stock
    }

    /// Puts another stock beside the plan and computes anew.
    pub fn set_stock(&mut self, stock: Arc<Stock>) {
        self.stock = stock;
        let plan = Arc::clone(&self.committed.plan);
        self.committed.report = Arc::new(self.engine.evaluate(&plan, &self.stock));
        self.draft = None;
    }

    /// Shows a step without committing it.
    ///
    /// # Errors
    /// Why the step is refused; the draft is dropped then.
    pub fn try_draft(&mut self, step: Step) -> Result<(), Rejected> {
        self.draft = None;
        let shown = self.evaluate(&step)?;
        self.draft = Some((step, shown));
        Ok(())
    }

    /// The step that is shown without being committed, and the plan with it.
    #[must_use]
    pub fn draft(&self) -> Option<&(Step, Shown)> {
        self.draft.as_ref()
    }

    /// Shows again what was a draft of the plan as it is committed now.
    pub fn draw_again(&mut self, draft: Option<(Step, Shown)>) {
        self.draft = draft;
    }

    /// Drops the draft.
    pub fn drop_draft(&mut self) {
        self.draft = None;
    }

    /// Commits the draft, if there is one and it changes anything.
    pub fn commit_draft(&mut self) {
        if let Some((step, shown)) = self.draft.take() {
            self.push(step.name, shown, None);
        }
    }

    /// Applies a step at once.
    ///
    /// # Errors
    /// Why it is refused; nothing is applied then.
    pub fn apply(&mut self, step: Step) -> Result<(), Rejected> {
        self.draft = None;
        let shown = self.evaluate(&step)?;
        self.push(step.name, shown, None);
        Ok(())
    }

    /// Puts another plan in place of this one, as one step that can be undone.
    pub fn replace(&mut self, name: String, plan: Plan) {
        self.draft = None;
        let report = self.engine.evaluate(&plan, &self.stock);
        self.push(name, Shown { plan: Arc::new(plan), report: Arc::new(report) }, None);
    }

    /// Takes up a plan with the steps that led to it (newest first, each with the plan before it). What lies between the
    /// plan here and the oldest of them is one more step, of this name. `undone`: those that redo does again, next first, each
    /// with the plan after it.
    pub fn take_up(
        &mut self,
        name: String,
        plan: Plan,
        past: Vec<(String, Arc<Plan>)>,
        undone: Vec<(String, Arc<Plan>)>,
    ) {
        let again = |(name, plan)| Past { plan, report: None, name, merge: None };
        self.take_up_past(name, plan, past);
        self.redo = undone.into_iter().rev().map(again).collect();
    }

    fn take_up_past(&mut self, name: String, plan: Plan, past: Vec<(String, Arc<Plan>)>) {
        let oldest = past.last().map(|(_, plan)| Arc::clone(plan));
        let here = self.committed.clone();
        self.replace(name.clone(), plan);
        let Some(oldest) = oldest else { return };
        self.undo.clear();
        // Steps taken before the plan was saved lead past its file: it is one of them then.
        if !past.iter().any(|(_, plan)| *plan == here.plan) && oldest != here.plan {
            self.undo.push(Past { plan: here.plan, report: Some(here.report), name, merge: None });
        }
        self.undo.extend(past.into_iter().rev().map(|(name, plan)| Past { plan, report: None, name, merge: None }));
    }

    /// Steps that undo would take back, newest first, each with the plan before it.
    pub fn past(&self) -> impl Iterator<Item = (String, Arc<Plan>)> {
        self.undo.iter().rev().map(|past| (past.name.clone(), Arc::clone(&past.plan)))
    }

    /// Steps that redo would do again, next first, each with the plan after it.
    pub fn undone(&self) -> impl Iterator<Item = (String, Arc<Plan>)> {
        self.redo.iter().rev().map(|next| (next.name.clone(), Arc::clone(&next.plan)))
    }

    fn shown_of(&mut self, plan: Arc<Plan>, report: Option<Arc<Report>>) -> Shown {
        let report = report.unwrap_or_else(|| Arc::new(self.engine.evaluate(&plan, &self.stock)));
        Shown { plan, report }
    }

    /// Applies a step that merges with the last step when that stepped the same field.
    ///
    /// # Errors
    /// Why it is refused; nothing is applied then.
    pub fn apply_stepping(&mut self, step: &Step, field: &str) -> Result<(), Rejected> {
        self.draft = None;
        let shown = self.evaluate(step)?;
        self.push(step.name.clone(), shown, Some(field.to_string()));
        Ok(())
    }

    /// The plan before the steps of this field that the next one would merge with.
    #[must_use]
    pub fn stepped_from(&self, field: &str) -> Option<&Plan> {
        self.undo.last().filter(|p| p.merge.as_deref() == Some(field)).map(|p| &*p.plan)
    }

    /// Ends the merging of repeated steps (focus left the field).
    pub fn end_stepping(&mut self) {
        if let Some(last) = self.undo.last_mut() {
            last.merge = None;
        }
    }

    fn evaluate(&mut self, step: &Step) -> Result<Shown, Rejected> {
        let plan = self.committed.plan.with(step)?;
        if plan == *self.committed.plan {
            return Ok(self.committed.clone());
        }
        let report = self.engine.evaluate(&plan, &self.stock);
        Ok(Shown { plan: Arc::new(plan), report: Arc::new(report) })
    }

    fn push(&mut self, name: String, shown: Shown, merge: Option<String>) {
        if *shown.plan == *self.committed.plan {
            return;
        }
        let before = std::mem::replace(&mut self.committed, shown);
        let merges = merge.is_some() && self.undo.last().is_some_and(|last| last.merge == merge);
        if merges && self.undo.last().is_some_and(|last| *last.plan == *self.committed.plan) {
            // Stepped back to where it began: no step is left.
            self.undo.pop();
        } else if merges {
            if let Some(last) = self.undo.last_mut() {
                last.name = name;
            }
        } else {
            self.undo.push(Past { plan: before.plan, report: Some(before.report), name, merge });
            if self.undo.len() > UNDO_DEPTH {
                self.undo.remove(0);
            }
        }
        self.redo_before = std::mem::take(&mut self.redo);
        self.revision += 1;
    }

    /// Undoes the last step and returns its name.
    pub fn undo(&mut self) -> Option<String> {
        self.draft = None;
        let past = self.undo.pop()?;
        let before = self.shown_of(past.plan, past.report);
        let after = std::mem::replace(&mut self.committed, before);
        self.redo.push(Past { plan: after.plan, report: Some(after.report), name: past.name.clone(), merge: None });
        self.revision += 1;
        Some(past.name)
    }

    /// Takes the last step back as if it had never been, if it has this name; whether it had. What redo would have done before it
    /// stands again.
    pub fn forget(&mut self, name: &str) -> bool {
        let is_newest = self.redo.is_empty();
        let Some(past) = self.undo.pop_if(|last| is_newest && last.name == name) else { return false };
        self.draft = None;
        self.redo = std::mem::take(&mut self.redo_before);
        self.committed = self.shown_of(past.plan, past.report);
        let was_saved = self.revision.checked_sub(1) == Some(self.saved_revision);
        self.revision += 1;
        if was_saved {
            self.saved_revision = self.revision;
        }
        true
    }

    /// Does the last undone step again and returns its name.
    pub fn redo(&mut self) -> Option<String> {
        self.draft = None;
        let next = self.redo.pop()?;
        let after = self.shown_of(next.plan, next.report);
        let before = std::mem::replace(&mut self.committed, after);
        self.undo.push(Past { plan: before.plan, report: Some(before.report), name: next.name.clone(), merge: None });
        self.revision += 1;
        Some(next.name)
    }

    /// Names of the steps that undo would take back, last first.
    pub fn undo_names(&self) -> impl Iterator<Item = &str> {
        self.undo.iter().rev().map(|p| p.name.as_str())
    }

    /// Names of the steps that redo would do again, next first.
    pub fn redo_names(&self) -> impl Iterator<Item = &str> {
        self.redo.iter().rev().map(|p| p.name.as_str())
    }

    /// Holds the committed plan as the baseline.
    pub fn hold_baseline(&mut self) {
        self.baseline = Some(self.committed.clone());
    }

    /// Lets the baseline go.
    pub fn release_baseline(&mut self) {
        self.baseline = None;
    }

    /// Steps that would cure a finding of the committed plan.
    pub fn cures(&mut self, finding: &Finding) -> Cures {
        let plan = Arc::clone(&self.committed.plan);
        self.engine.cures_tried(&plan, &self.stock, finding)
    }
}
