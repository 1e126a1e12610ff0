//! Nothing committed is lost, in whatever order programs are killed, questions left open and plans opened: over real files.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use coachwire::store::{RealDisk, Store};
use coachwire::tui::Request;
use coachwire::tui::effect::Performer;
use coachwire::tui::inbox::Inbox;
use coachwire::tui::message::{Effect, Message, OpenWhat};
use coachwire::tui::model::Model;
use coachwire::tui::update::update;
use coachwire::tui::worker::Workers;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use super::{DUNLIN, parse};

/// A folder with plans and the data directory of the programs.
struct Place(tempfile::TempDir);

impl Place {
    fn new() -> Self {
        let place = Self(tempfile::tempdir().unwrap());
        std::fs::write(place.plan(), DUNLIN).unwrap();
        place
    }

    fn plan(&self) -> PathBuf {
        self.0.path().join("dunlin.ron")
    }

    fn open(&self, path: &Path) -> Program {
        self.start(Some(OpenWhat::File(path.to_path_buf())))
    }

    fn start(&self, open: Option<OpenWhat>) -> Program {
        let store = Store::new(Arc::new(RealDisk), Some(self.0.path().join("data")));
        let mut performer = Performer::with(store, Workers::in_line(Inbox::quiet().post()));
        let request = Request { open, ..Request::default() };
        let (start, remarks) = performer.start(&request, (80, 24)).unwrap();
        let mut model = Model::new(start);
        remarks.into_iter().for_each(|remark| model.say(remark));
        Program { model, performer }
    }

    /// Titles of every copy there is, in the data directory and beside the plans.
    fn copies(&self) -> Vec<String> {
        let mut titles = Vec::new();
        for folder in [self.0.path().to_path_buf(), self.0.path().join("data/recovery")] {
            for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
                let name = entry.file_name().to_string_lossy().into_owned();
                if name.contains("recovery") && !name.ends_with(".lock") && entry.path().is_file() {
                    let text = std::fs::read_to_string(entry.path()).unwrap();
                    titles.push(coachwire::plan::Plan::from_text(&text).unwrap().job.title);
                }
            }
        }
        titles.sort();
        titles
    }
}

/// The program but for its terminal. Dropped, it ends as if killed: nothing is tidied up but what the system tidies.
struct Program {
    model: Model,
    performer: Performer,
}

impl Program {
    fn keys(&mut self, script: &str) -> &mut Self {
        for key in parse(script) {
            let mut next = update(&mut self.model, Message::Key(key));
            while let Some(effect) = next.take() {
                if let Effect::Quit { clean } = effect {
                    self.performer.leave(&self.model, clean);
                    return self;
                }
                let answer = self.performer.perform(effect, &self.model);
                next = answer.and_then(|message| update(&mut self.model, message));
            }
            self.keep();
        }
        self
    }

    fn keep(&mut self) {
        while let Some(message) = self.performer.keep(&self.model) {
            update(&mut self.model, message);
        }
    }

    /// Commits another title.
    fn title(&mut self, title: &str) -> &mut Self {
        let document = self.model.document.as_mut().unwrap();
        let mut plan = (*document.committed().plan).clone();
        plan.job.title = title.into();
        document.replace(format!("title {title}"), plan);
        self.keep();
        self
    }

    fn shown(&self) -> &str {
        &self.model.plan().unwrap().job.title
    }

    /// The title of the copy that is asked about.
    fn asked(&self) -> Option<String> {
        use coachwire::tui::model::{Overlay, Then};
        let Some(Overlay::Confirm(confirm)) = &self.model.overlay else { return None };
        confirm.answers.iter().find_map(|answer| match &answer.then {
            Then::Recover(copy) => Some(copy.plan.job.title.clone()),
            _ => None,
        })
    }

    fn said(&self) -> String {
        self.model.messages.join("\n")
    }
}

/// The question left open, further edits, killed: both are asked about, the newer first, until each is decided.
#[test]
fn edits_after_a_question_left_open_are_asked_about_too() {
    let place = Place::new();
    place.open(&place.plan()).title("one");
    let mut second = place.open(&place.plan());
    assert_eq!(second.asked().as_deref(), Some("one"));
    second.keys("<Esc>").title("two");
    assert_eq!(place.copies(), ["one", "two"]);
    drop(second);
    // Undecided again, and again edited.
    let mut third = place.open(&place.plan());
    assert_eq!(third.asked().as_deref(), Some("two"));
    third.keys("<Esc>").title("three");
    drop(third);
    assert_eq!(place.copies(), ["one", "three", "two"]);
    // Dropped: the next one is asked about at once. Taken up and saved: the oldest stays for the next opening.
    let mut fourth = place.open(&place.plan());
    assert_eq!(fourth.asked().as_deref(), Some("three"));
    fourth.keys("f");
    assert_eq!(fourth.asked().as_deref(), Some("two"));
    fourth.keys("r");
    assert_eq!((fourth.shown(), place.copies()), ("two", vec!["one".to_string(), "two".to_string()]));
    fourth.keys("wq");
    drop(fourth);
    let mut fifth = place.open(&place.plan());
    assert_eq!((fifth.shown(), fifth.asked().as_deref()), ("two", Some("one")));
    fifth.keys("f");
    assert_eq!((fifth.asked(), place.copies().is_empty()), (None, true));
}

/// Saving, or throwing away, what was edited beside an open question leaves the copy that was asked about.
#[test]
fn an_open_question_outlives_saving_and_leaving() {
    for (keys, stands) in [("wq", "two"), ("qx", "Dunlin")] {
        let place = Place::new();
        place.open(&place.plan()).title("one");
        let mut second = place.open(&place.plan());
        second.keys("<Esc>").title("two").keys(keys);
        drop(second);
        assert_eq!(place.copies(), ["one"], "{keys}");
        let third = place.open(&place.plan());
        assert!(third.shown().contains(stands), "{keys}: {}", third.shown());
        assert_eq!(third.asked().as_deref(), Some("one"), "{keys}");
    }
}

/// Another plan is opened from a question left open, and edited; a third from there.
#[test]
fn a_plan_opened_from_an_open_question_has_a_copy_of_its_own() {
    let place = Place::new();
    let other = place.0.path().join("other.ron");
    std::fs::write(&other, DUNLIN).unwrap();
    place.open(&place.plan()).title("one");
    let mut second = place.open(&place.plan());
    second.keys(&format!("<Esc>o{}<Enter>", other.display())).title("elsewhere");
    drop(second);
    assert_eq!(place.open(&place.plan()).asked().as_deref(), Some("one"));
    assert_eq!(place.open(&other).asked().as_deref(), Some("elsewhere"));
}

/// Saved under another name beside an open question: the new file's edits are its own.
#[test]
fn a_plan_saved_under_another_name_has_a_copy_of_its_own() {
    let place = Place::new();
    place.open(&place.plan()).title("one");
    let other = place.0.path().join("other.ron");
    let mut second = place.open(&place.plan());
    second.keys("<Esc>").title("two").keys(&format!("W<C-u>{}<Enter>", other.display())).title("three");
    drop(second);
    assert_eq!(place.copies(), ["one", "three"]);
    assert_eq!(place.open(&other).asked().as_deref(), Some("three"));
    assert_eq!(place.open(&place.plan()).asked().as_deref(), Some("one"));
}

/// Two plans never saved, both killed: one question after the other, with questions left open and edits between.
#[test]
fn every_plan_never_saved_is_asked_about() {
    let place = Place::new();
    place.start(Some(OpenWhat::Blank)).title("one");
    place.start(Some(OpenWhat::Blank)).title("two");
    let mut third = place.start(None);
    assert_eq!(third.asked().as_deref(), Some("two"));
    third.keys("<Esc>").title("three");
    drop(third);
    assert_eq!(place.copies(), ["one", "three", "two"], "all by one process: no name is written over");
    let mut fourth = place.start(None);
    assert_eq!(fourth.asked().as_deref(), Some("three"));
    // While one program asks about them, another is not offered them, nor do they seem forgotten afterwards.
    assert_eq!(place.start(None).asked(), None);
    fourth.keys("r").title("three again");
    drop(fourth);
    assert_eq!(place.copies(), ["one", "three again", "two"]);
    let mut fifth = place.start(None);
    assert_eq!(fifth.asked().as_deref(), Some("three again"));
    fifth.keys("ff");
    assert_eq!(fifth.asked().as_deref(), Some("one"));
    drop(fifth);
    // A plan with a file says that there is one more.
    let sixth = place.open(&place.plan());
    assert_eq!(sixth.asked(), None);
    assert!(sixth.said().contains("1 recovery copy waits: a plan never saved, \"one\""), "{}", sixth.said());
}

/// Edits of a plan that someone else has open are asked about when the plan is next opened for writing.
#[test]
fn edits_of_a_plan_read_only_are_asked_about() {
    let place = Place::new();
    let holder = place.open(&place.plan());
    let mut reader = place.open(&place.plan());
    assert!(reader.model.locked_by.is_some());
    reader.title("read only");
    // In use: not offered to whoever has the plan.
    drop(holder);
    assert_eq!(place.open(&place.plan()).asked(), None);
    drop(reader);
    assert_eq!(place.open(&place.plan()).asked().as_deref(), Some("read only"));
}

/// A plan whose file has gone or was spoilt is there by its copy.
#[test]
fn a_plan_without_its_file_is_there_by_its_copy() {
    for spoilt in [None, Some("(version: 1, job")] {
        let place = Place::new();
        place.open(&place.plan()).title("one");
        match spoilt {
            None => std::fs::remove_file(place.plan()).unwrap(),
            Some(text) => std::fs::write(place.plan(), text).unwrap(),
        }
        let mut again = place.open(&place.plan());
        assert_eq!(again.asked().as_deref(), Some("one"));
        assert!(again.said().contains("dunlin.ron"), "{}", again.said());
        again.keys("r");
        drop(again);
        assert_eq!(place.open(&place.plan()).asked().as_deref(), Some("one"), "taken up, not saved, killed");
    }
}

/// What is said of a recovery copy at the start is read whole at 80 columns: why the file cannot be read in the question, the
/// copies that wait and what becomes of one left undecided on the lines below the Bench.
#[test]
fn what_is_said_at_the_start_is_read_whole() {
    let drawn = |program: &Program| {
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
        terminal.draw(|frame| coachwire::tui::view::view(&program.model, frame)).unwrap();
        let buffer = terminal.backend().buffer().clone();
        let rows = (0..24).map(|y| (0..80).map(|x| buffer[(x, y)].symbol().to_string()).collect::<String>());
        rows.map(|row| row.trim_matches([' ', '|', '\u{2502}']).to_string()).collect::<Vec<_>>().join(" ")
    };
    let squeezed = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let place = Place::new();
    place.open(&place.plan()).title("one");
    std::fs::write(place.plan(), "(version: 1, job").unwrap();
    let broken = place.open(&place.plan());
    let why = squeezed(&broken.model.messages[0]);
    // A path may be broken anywhere.
    let bare = |text: &str| text.replace(' ', "");
    assert!(bare(&drawn(&broken)).contains(bare(&why).trim_end_matches('.')), "{why}\n{}", drawn(&broken));
    drop(broken);
    let place = Place::new();
    place.start(Some(OpenWhat::Blank)).title("a coach of a customer who has not been back since");
    let mut undecided = place.start(None);
    undecided.keys("<Esc>");
    let said = undecided.model.messages.last().unwrap().clone();
    assert!(squeezed(&drawn(&undecided)).contains(&said), "{said}\n{}", drawn(&undecided));
    drop(undecided);
    let other = place.open(&place.plan());
    let waits = other.model.messages.last().unwrap().clone();
    assert!(waits.contains("recovery copy waits") && waits.len() > 80, "{waits}");
    assert!(squeezed(&drawn(&other)).contains(&waits), "{waits}\n{}", drawn(&other));
}

/// A copy that is no plan to this version stays, and is named.
#[test]
fn a_copy_that_cannot_be_read_stays_and_is_named() {
    let place = Place::new();
    let copy = place.0.path().join(".dunlin.ron.recovery");
    std::fs::write(&copy, "(version: 99)").unwrap();
    let mut program = place.open(&place.plan());
    assert!(program.said().contains(".dunlin.ron.recovery"), "{}", program.said());
    program.title("one").keys("w");
    assert_eq!(std::fs::read_to_string(&copy).unwrap(), "(version: 99)");
}

/// Looking back through the history loses nothing when the power goes: what was taken back can be done again.
#[test]
fn steps_taken_back_can_be_done_again_after_a_kill() {
    for (back, title) in [("u", "two"), ("uuu", "Dunlin: class C, winters south")] {
        let place = Place::new();
        let mut first = place.open(&place.plan());
        first.title("one").title("two").title("three").keys(back);
        assert_eq!(first.shown(), title);
        drop(first);
        let mut second = place.open(&place.plan());
        assert_eq!(second.asked().as_deref(), Some(title));
        second.keys("r");
        assert_eq!(second.shown(), title);
        second.keys("rrr");
        assert_eq!(second.shown(), "three", "{}", second.said());
        second.keys("uuu");
        assert_eq!(second.shown(), "Dunlin: class C, winters south");
        // Left in order with nothing unsaved: nothing is asked again.
        second.keys("q");
        drop(second);
        assert!(place.copies().is_empty() && place.open(&place.plan()).asked().is_none());
    }
}

/// Two plans without a title are told apart by what is in them.
#[test]
fn a_plan_without_a_title_is_told_by_what_is_in_it() {
    let place = Place::new();
    place.start(Some(OpenWhat::Sample("bramble".into()))).title("");
    let program = place.start(None);
    let question = match &program.model.overlay {
        Some(coachwire::tui::model::Overlay::Confirm(confirm)) => confirm.question.clone(),
        _ => String::new(),
    };
    let plan = coachwire::plan::Plan::from_text(coachwire::plan::samples::sample("bramble").unwrap().text).unwrap();
    let (stay, runs) = (&plan.stays[0].place, plan.runs.len());
    assert!(
        question.contains(&format!("without a title, {stay}, ")) && question.contains(&format!("{runs} runs")),
        "{question}"
    );
}

/// The plan's own file under another of its names is saved, not refused as somebody else's.
#[test]
fn the_open_file_is_saved_by_any_of_its_names() {
    let place = Place::new();
    let link = place.0.path().join("link.ron");
    std::os::unix::fs::symlink(place.plan(), &link).unwrap();
    let mut program = place.open(&place.plan());
    program.title("one").keys(&format!("W<C-u>{}<Enter>", link.display()));
    assert!(program.said().contains("saved: "), "{}", program.said());
    assert!(std::fs::read_to_string(place.plan()).unwrap().contains("\"one\""));
    assert!(!program.model.document.as_ref().unwrap().is_dirty());
}

/// A copy that is older than its file is said to be: taking it up would take back what was saved since.
#[test]
fn a_copy_older_than_its_file_is_said_to_be() {
    let place = Place::new();
    place.open(&place.plan()).title("one");
    let question = || match &place.open(&place.plan()).model.overlay {
        Some(coachwire::tui::model::Overlay::Confirm(confirm)) => confirm.question.clone(),
        _ => String::new(),
    };
    assert!(question().contains("copy written") && !question().contains("AFTER"), "{}", question());
    // Times of files may be no finer than a tick of the clock.
    std::thread::sleep(std::time::Duration::from_millis(50));
    place.open(&place.plan()).keys("<Esc>").title("two").keys("wq");
    assert!(question().contains("THE FILE WAS SAVED AFTER THIS COPY"), "{}", question());
}

/// While a rule is looked at the copy is that of before, with what redo would do again.
#[test]
fn redo_survives_a_rule_that_is_looked_at() {
    let place = Place::new();
    let mut program = place.open(&place.plan());
    program.title("one").title("two").keys("u").keys("vdrop-charger<Enter>");
    assert!(program.model.field.is_some() && !program.model.plan().unwrap().rules.is_empty());
    drop(program);
    let mut next = place.open(&place.plan());
    next.keys("r");
    assert_eq!((next.shown(), next.model.plan().unwrap().rules.len()), ("one", 0));
    next.keys("r");
    assert_eq!(next.shown(), "two");
    // What is changed is in the copy as soon as it is committed.
    next.keys("vdrop-charger<Enter>5 %<Enter>");
    drop(next);
    let mut last = place.open(&place.plan());
    last.keys("r");
    assert_eq!(last.model.plan().unwrap().rules.len(), 1);
}
