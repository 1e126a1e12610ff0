//! All runs sized on screen: proposed, dropped, applied as one step, taken back.

use super::Screen;
use coachwire::plan::samples::sample;
use coachwire::tui::model::Overlay;

fn larkspur() -> Screen {
    let mut screen = Screen::on(sample("larkspur").expect("sample").text, (80, 24));
    while screen.model.focus().is_none_or(|f| !f.as_str().starts_with("runs.")) {
        let was = screen.model.focus();
        screen.keys("<Down>");
        assert_ne!(screen.model.focus(), was, "no run to put the cursor on");
    }
    screen
}

fn truck_only(screen: &Screen) -> Option<bool> {
    match &screen.model.overlay {
        Some(Overlay::Sizing(s)) => Some(s.truck_only),
        _ => None,
    }
}

#[test]
fn a_proposal_is_shown_and_dropped_without_a_trace() {
    let mut screen = larkspur();
    let before = screen.plan();
    screen.keys("z");
    assert_eq!(truck_only(&screen), Some(false));
    assert_eq!(screen.plan(), before);
    screen.keys("t");
    assert_eq!(truck_only(&screen), Some(true));
    screen.keys("<Esc>");
    assert_eq!(truck_only(&screen), None);
    assert_eq!((screen.plan(), screen.shown()), (before.clone(), before));
    assert_eq!(screen.undo_names(), Vec::<String>::new());
}

#[test]
fn a_proposal_is_applied_as_one_step() {
    let mut screen = larkspur();
    let before = screen.plan();
    screen.keys("z");
    let proposed = screen.shown();
    screen.keys("<Enter>");
    assert_eq!(screen.plan(), proposed);
    assert_eq!(screen.undo_names().len(), usize::from(proposed != before));
    screen.keys("u");
    assert_eq!(screen.plan(), before);
}
