//! Saving, opening, leaving, recovery.

use std::path::PathBuf;

use super::{DUNLIN, Screen};
use coachwire::plan::Plan;
use coachwire::tui::message::{Effect, Message, OpenWhat, Opened, SaveFailure};
use coachwire::tui::model::Overlay;

fn dunlin_path() -> PathBuf {
    PathBuf::from("/plans/dunlin.ron")
}

#[test]
fn both_keys_save_and_the_star_goes_when_saved() {
    for key in ["w", "<C-s>"] {
        let mut screen = Screen::dunlin();
        screen.keys("+");
        assert!(screen.text().contains("dunlin.ron *"));
        screen.keys(key);
        match screen.effects.pop() {
            Some(Effect::Save { plan, path, replace }) => {
                assert_eq!((path, replace), (dunlin_path(), false));
                assert_eq!(plan, screen.plan());
            }
            other => panic!("{other:?}"),
        }
        screen.send(Message::Saved(Ok(dunlin_path())));
        assert!(!screen.text().contains("dunlin.ron *"));
    }
}

#[test]
fn an_edit_made_while_saving_stays_unsaved() {
    let mut screen = Screen::dunlin();
    screen.keys("+w+");
    screen.send(Message::Saved(Ok(dunlin_path())));
    assert!(screen.model.document.as_ref().unwrap().is_dirty());
}

#[test]
fn quitting_asks_only_when_unsaved() {
    let mut screen = Screen::dunlin();
    screen.keys("q");
    assert!(matches!(screen.effects.pop(), Some(Effect::Quit { clean: true })));
    let mut screen = Screen::dunlin();
    screen.keys("+q");
    assert!(screen.effects.is_empty());
    screen.keys("<Esc>");
    assert!(screen.model.overlay.is_none() && !screen.model.is_leaving);
    screen.keys("qs");
    assert!(matches!(screen.effects.pop(), Some(Effect::Save { .. })));
    screen.send(Message::Saved(Ok(dunlin_path())));
    assert!(matches!(screen.effects.pop(), Some(Effect::Quit { clean: true })));
}

#[test]
fn a_failed_save_does_not_quit() {
    let mut screen = Screen::dunlin();
    screen.keys("+qs");
    screen.effects.clear();
    screen.send(Message::Saved(Err(SaveFailure::Failed(dunlin_path(), "the disk is full".into()))));
    assert!(screen.effects.is_empty());
    assert!(screen.said().contains("the disk is full"));
    screen.keys("w");
    screen.effects.clear();
    screen.send(Message::Saved(Ok(dunlin_path())));
    assert!(screen.effects.is_empty(), "a later save does not quit either");
}

#[test]
fn a_file_changed_on_disk_is_not_replaced_unasked() {
    let mut screen = Screen::dunlin();
    screen.keys("+w");
    screen.effects.clear();
    screen.send(Message::Saved(Err(SaveFailure::ChangedOnDisk(dunlin_path(), vec!["W1 gauge 6 AWG -> 4 AWG".into()]))));
    assert!(screen.text().contains("changed on disk"));
    let Some(Overlay::Confirm(asked)) = &screen.model.overlay else { panic!("a question") };
    let said = "1 difference of this plan from the file: W1 gauge 6 AWG -> 4 AWG.";
    assert!(asked.question.contains(said), "{}", asked.question);
    screen.keys("<Esc>");
    assert!(screen.effects.is_empty());
    screen.keys("w");
    screen.effects.clear();
    screen.send(Message::Saved(Err(SaveFailure::ChangedOnDisk(dunlin_path(), Vec::new()))));
    screen.keys("r");
    assert!(matches!(screen.effects.pop(), Some(Effect::Save { replace: true, .. })));
}

#[test]
fn a_locked_plan_is_read_only_and_saves_elsewhere() {
    let opened = Opened {
        plan: Plan::from_text(DUNLIN).unwrap(),
        path: Some(dunlin_path()),
        locked_by: Some("another session".into()),
        recovery: None,
        remark: None,
    };
    let mut screen = Screen::with(super::Start { opened: Some(opened), ..Screen::start() });
    assert!(screen.text().contains("READ ONLY"));
    screen.keys("+w");
    assert!(screen.effects.is_empty(), "asks for another name instead");
    screen.keys("<C-u>/plans/other.ron<Enter>");
    match screen.effects.pop() {
        Some(Effect::Save { path, replace, .. }) => {
            assert_eq!((path, replace), (PathBuf::from("/plans/other.ron"), false))
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_recovery_copy_is_offered_and_can_be_declined() {
    let open = || {
        let plan = Plan::from_text(DUNLIN).unwrap();
        let mut newer = plan.clone();
        newer.job.title = "newer".into();
        let opened = Opened {
            plan,
            path: Some(dunlin_path()),
            locked_by: None,
            recovery: Some((Box::new(newer.into()), "10:42, 3 kB".into())),
            remark: None,
        };
        Screen::with(super::Start { opened: Some(opened), ..Screen::start() })
    };
    let mut screen = open();
    assert!(screen.text().contains("10:42, 3 kB"));
    screen.keys("r");
    assert_eq!(screen.plan().job.title, "newer");
    assert!(screen.model.document.as_ref().unwrap().is_dirty());
    let mut screen = open();
    screen.keys("f");
    assert!(matches!(screen.effects.pop(), Some(Effect::DropRecovery)));
    assert_ne!(screen.plan().job.title, "newer");
    // Neither: the copy stays, and that is said.
    let mut screen = open();
    screen.keys("<Esc>");
    assert!(screen.effects.is_empty() && screen.said().contains("not decided"), "{}", screen.said());
}

/// Edits taken up are one step over the file's plan, and all of them can be read before that.
#[test]
fn a_recovery_copy_says_what_differs_and_loses_nothing() {
    let plan = Plan::from_text(DUNLIN).unwrap();
    let mut newer = plan.clone();
    newer.job.title = "newer".into();
    newer.loads.pop();
    for run in &mut newer.runs {
        run.note = "again".into();
    }
    let count = 2 + newer.runs.len();
    assert!(count > 4, "enough for the list to be offered");
    let opened = Opened {
        plan: plan.clone(),
        path: Some(dunlin_path()),
        locked_by: None,
        recovery: Some((Box::new(newer.clone().into()), "10:42, 3 kB".into())),
        remark: None,
    };
    let mut screen = Screen::with(super::Start { opened: Some(opened), ..Screen::start() });
    let text = screen.text().replace('\n', " ");
    assert!(
        text.contains(&format!("{count} ")) && text.contains("differences from the file") && text.contains("-> newer"),
        "{text}"
    );
    screen.keys("d");
    let text = screen.text();
    assert!(text.contains("L2 is gone") && text.contains("-> again"), "{text}");
    assert!(screen.effects.is_empty(), "nothing is decided by reading");
    screen.keys("<Esc>r");
    assert_eq!(screen.plan(), std::sync::Arc::new(newer.clone()));
    assert!(matches!(screen.effects.pop(), Some(Effect::TakenUp)));
    screen.keys("u");
    assert_eq!(screen.plan(), std::sync::Arc::new(plan));
    screen.keys("r");
    assert_eq!(screen.plan(), std::sync::Arc::new(newer));
}

#[test]
fn opening_another_plan_asks_for_the_unsaved_one() {
    let mut screen = Screen::dunlin();
    screen.keys("+o/plans/x.ron<Enter>");
    assert!(screen.effects.is_empty());
    screen.keys("x");
    match screen.effects.pop() {
        Some(Effect::Open(OpenWhat::File(path))) => assert_eq!(path, PathBuf::from("/plans/x.ron")),
        other => panic!("{other:?}"),
    }
}

#[test]
fn hanging_up_keeps_the_recovery_copy() {
    let mut screen = Screen::dunlin();
    screen.keys("+");
    screen.send(Message::HangUp);
    assert!(matches!(screen.effects.pop(), Some(Effect::Quit { clean: false })));
}

#[test]
fn esc_never_quits_and_never_loses_an_edit() {
    let mut screen = Screen::dunlin();
    screen.keys("+").keys(&"<Esc>".repeat(20));
    assert!(screen.effects.is_empty() && !screen.model.is_leaving);
    assert_eq!(screen.undo_names().len(), 1);
    let mut screen = Screen::with(Screen::start());
    screen.keys(&"<Esc>".repeat(5));
    assert!(screen.effects.is_empty());
}

/// The papers of the plan as it stands go to a folder that is asked for; papers that are there are replaced after a question alone.
#[test]
fn papers_are_written_from_the_screen_and_none_replaced_unasked() {
    let folder = || PathBuf::from("/plans/dunlin-papers");
    let mut screen = Screen::dunlin();
    let written = |screen: &mut Screen| match screen.effects.pop() {
        Some(Effect::Papers { plan, name, folder, replace }) => {
            // What is on paper and in no file says so.
            assert_eq!(name, "dunlin.ron with edits not saved");
            assert!(plan == screen.plan());
            (folder, replace)
        }
        other => panic!("{other:?}"),
    };
    screen.keys("+O");
    assert!(screen.text().contains("/plans/dunlin-papers"), "{}", screen.text());
    screen.keys("<Enter>");
    assert_eq!(written(&mut screen), (folder(), false));
    screen.send(Message::PapersThere(folder()));
    assert!(screen.text().contains("has papers already"), "{}", screen.text());
    screen.keys("<Enter>");
    assert!(screen.effects.is_empty() && screen.text().contains("Folder of checks"), "{}", screen.text());
    screen.keys("elsewhere<Enter>");
    assert_eq!(written(&mut screen), ("elsewhere".into(), false));
    screen.send(Message::PapersThere(folder()));
    screen.keys("r");
    assert_eq!(written(&mut screen), (folder(), true));
    screen.send(Message::Written(Ok(folder())));
    assert!(
        screen.said().contains("checks.txt") && screen.said().contains("/plans/dunlin-papers"),
        "{}",
        screen.said()
    );
    // An empty name is no folder, and Esc writes nothing.
    screen.keys("O<C-u><Enter>");
    assert!(screen.effects.is_empty() && screen.text().contains("type a folder"), "{}", screen.text());
    screen.keys("<Esc>");
    assert!(screen.effects.is_empty() && screen.model.overlay.is_none());
}

/// How papers are written in a shell stands whole on the screen of papers, quoted where the path has spaces.
#[test]
fn the_command_for_papers_is_whole_and_quoted() {
    let mut screen = Screen::dunlin();
    screen.model.path =
        Some("/plans/jo/a long folder name for a customer of mine/and one more level here/the plan.ron".into());
    let text = screen.keys("6").text();
    let flat: String = text.lines().map(|line| line.trim().to_string() + " ").collect();
    let whole = "coachwire papers '/plans/jo/a long folder name for a customer of mine/and one more level here/the plan.ron' --to DIR";
    assert!(flat.contains(whole), "{text}");
    assert!(text.contains("O writes checks"), "{text}");
}

/// A morning's edits come back as the steps that they were; back at what the file has, there is nothing to save.
#[test]
fn a_recovery_copy_with_its_steps_goes_back_one_by_one() {
    let plan = Plan::from_text(DUNLIN).unwrap();
    let titled = |title: &str| {
        let mut plan = plan.clone();
        plan.job.title = title.into();
        plan
    };
    let past = vec![
        ("second".to_string(), std::sync::Arc::new(titled("one"))),
        ("first".to_string(), std::sync::Arc::new(plan.clone())),
    ];
    let copy = coachwire::tui::message::Copy { plan: titled("two"), past, undone: Vec::new() };
    let opened = Opened {
        plan: plan.clone(),
        path: Some(dunlin_path()),
        locked_by: None,
        recovery: Some((Box::new(copy), "10:42, 3 kB".into())),
        remark: None,
    };
    let mut screen = Screen::with(super::Start { opened: Some(opened), ..Screen::start() });
    assert!(screen.text().contains("u goes back step by step"), "{}", screen.text());
    screen.keys("r");
    assert!(screen.said().contains("last 2 steps back one by one"), "{}", screen.said());
    assert_eq!(screen.undo_names(), ["second", "first"]);
    let dirty = |screen: &Screen| screen.model.document.as_ref().unwrap().is_dirty();
    assert!(dirty(&screen));
    screen.keys("u");
    assert_eq!((screen.plan().job.title.as_str(), dirty(&screen)), ("one", true));
    screen.keys("u");
    assert_eq!((*screen.plan() == plan, dirty(&screen)), (true, false));
    screen.effects.clear();
    screen.keys("q");
    assert!(matches!(screen.effects.pop(), Some(Effect::Quit { clean: true })), "nothing asks to be saved");
}
