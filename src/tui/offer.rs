//! The question about a recovery copy: what it has otherwise than the file, and what can be done with it.

use crate::document::difference;
use crate::tui::message::Copy;
use crate::tui::model::{Answer, Confirm, Model, Overlay, Then};

/// Lines to read before a question is answered.
#[derive(Clone, Debug)]
pub struct LinesView {
    pub lines: Vec<String>,
    pub scroll: usize,
    pub asked: Box<Confirm>,
}

/// Differences that the question names.
pub(super) const SHOWN: usize = 4;

/// How many differences there are, and the first of them.
pub(super) fn named(lines: &[String], from: &str) -> String {
    let first = lines.iter().take(SHOWN).cloned().collect::<Vec<_>>().join("; ");
    let more = match lines.len().saturating_sub(SHOWN) {
        0 => String::new(),
        n => format!("; and {n} more"),
    };
    let of = if lines.len() == 1 { "difference" } else { "differences" };
    format!(" {} {of} {from}: {first}{more}.", lines.len())
}

/// Asks it over whatever is on screen.
pub fn ask(model: &mut Model, copy: Box<Copy>, what: &str) {
    model.overlay = Some(Overlay::Confirm(question(model, copy, what)));
}

/// The same on opening, after what is to be said of the file: the box has room for all of it.
pub fn ask_of(model: &mut Model, copy: Box<Copy>, what: &str, remark: Option<&str>) {
    let mut asked = question(model, copy, what);
    if let Some(remark) = remark {
        asked.question = format!("{}.\n{}", remark.trim_end_matches('.'), asked.question);
    }
    model.overlay = Some(Overlay::Confirm(asked));
}

/// Whether a recovery copy is to be taken up. `what`: when it and the file were written, in words.
fn question(model: &Model, copy: Box<Copy>, what: &str) -> Confirm {
    let of_file = model.path.is_some();
    let file = model.plan().filter(|_| of_file);
    let lines = file.map(|file| difference::between(file, &copy.plan)).unwrap_or_default();
    let mut question = format!("Edits that were not saved are kept in a recovery copy: {what}.");
    if !lines.is_empty() {
        question.push_str(&named(&lines, "from the file"));
    }
    match copy.undone.len() {
        0 => {}
        1 => question.push_str(" 1 step that was taken back can be done again."),
        n => question.push_str(&format!(" {n} steps that were taken back can be done again.")),
    }
    question.push_str(" Take it up?");
    let take = match (copy.past.is_empty(), of_file) {
        (false, _) => "take up the recovery copy; u goes back step by step",
        (true, true) => "take up the recovery copy; u goes back to the file",
        (true, false) => "take up the recovery copy",
    };
    let mut answers = vec![Answer { letter: 'r', words: take, then: Then::Recover(copy) }];
    if lines.len() > SHOWN {
        answers.push(Answer { letter: 'd', words: "read every difference first", then: Then::Read(lines) });
    }
    let drop = if of_file { "keep the file, drop the copy" } else { "drop the copy and begin with an empty plan" };
    answers.push(Answer { letter: 'f', words: drop, then: Then::DropRecovery });
    Confirm { question, answers, cursor: 0 }
}
