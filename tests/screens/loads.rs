//! The Loads screen: the list, and what all loads come to.

use super::{DUNLIN, Screen};
use coachwire::plan::FieldPath;
use coachwire::plan::samples::sample;
use coachwire::tui::form::page_for;

#[test]
fn loads_are_a_list_with_their_sums() {
    let mut screen = Screen::dunlin();
    screen.keys("2");
    let text = screen.text();
    // 55 W for 24 h at 40 %, and 40 W for 6 h.
    let line = |id: &str| text.lines().find(|l| l.split_whitespace().any(|w| w == id)).unwrap_or_default().to_string();
    assert!(line("L1").contains("528"), "{text}");
    assert!(line("L2").contains("240"), "{text}");
    screen.keys("c");
    assert_eq!(screen.plan().loads.len(), 3);
    screen.keys("<Enter>");
    assert!(screen.text().contains("hours a day"), "{}", screen.text());
}

#[test]
fn totals_have_their_range_and_peaks_their_amps() {
    let mut screen = Screen::on(DUNLIN, (80, 24));
    screen.keys("2");
    let text = screen.text();
    // 528 + 240 Wh of the loads and 288 Wh of the idle inverter, a quarter either way.
    assert!(text.contains("winter 1 056 (792-1 320)"), "{text}");
    assert!(text.contains("worst usual day Jan 1 056 (792-1 320), spring and autumn 1 056 (792-1 320)"), "{text}");
    assert!(text.contains("year 385 kWh (289-482); ranges +-25 % as audits are"), "{text}");
    // 55 + 40 W and 12 W of the idle inverter at 12.0 V.
    assert!(text.contains("all at once Jan: 107 W, 8.92 A at low volts"), "{text}");
    assert!(text.contains("largest start Jan: 107 W, 8.92 A at low volts: no load states a surge"), "{text}");
    assert!(text.lines().all(|l| !l.contains("at once") || !l.ends_with('~')), "{text}");
}

/// Full-timers' loads, AC and DC, at the least of the usual sizes.
#[test]
fn nothing_is_cut_off_at_eighty_columns() {
    for (size, said) in [((80, 24), "at once: whole month"), ((120, 40), "AC up to the inverter's rating")] {
        let mut screen = Screen::on(coachwire::plan::samples::sample("larkspur").unwrap().text, size);
        screen.keys("2");
        let text = screen.text();
        assert!(text.lines().skip(2).take(5).all(|l| !l.ends_with('~')) && text.contains(said), "{text}");
        assert!(text.contains("by inverter)"), "{text}");
    }
}

/// One sum is one figure, above the list and below it: 1 050 W for 24 h at 40 % are 10 080 Wh, the lights 243, the idle
/// inverter 288.
#[test]
fn a_sum_is_the_same_figure_in_both_its_places() {
    let large = DUNLIN.replacen("watts_w: 55.0", "watts_w: 1050.0", 1).replacen("watts_w: 40.0", "watts_w: 40.5", 1);
    let mut screen = Screen::on(&large, (80, 24));
    screen.keys("2");
    let text = screen.text();
    assert!(text.contains("summer 10 611 (7 958-13 264)"), "{text}");
    let foot = text.lines().find(|l| l.contains("all at the bank")).unwrap_or_else(|| panic!("{text}"));
    assert!(foot.trim_end().ends_with("10 611 10 611"), "{foot}");
}

/// A second refrigerator: 528 Wh and 55 W more.
#[test]
fn the_totals_follow_an_edit() {
    let mut screen = Screen::dunlin();
    screen.keys("2c");
    let text = screen.text();
    assert!(text.contains("winter 1 584 (1 188-1 980)") && text.contains("all at once Jan: 162 W, 13.5 A"), "{text}");
    screen.keys("<Enter><Down><Enter>?<Enter><Esc>");
    let text = screen.text();
    assert!(text.contains("worst usual day ? (waits for L3 watts)"), "{text}");
    screen.keys("uu");
    assert!(screen.text().contains("winter 1 056"), "{}", screen.text());
}

/// The rows of the list and those below it make the sum. By hand: 528 + 240 Wh and an idle inverter's 12 W over 24 h.
#[test]
fn the_list_adds_up_to_what_the_bank_gives() {
    for size in [(80, 24), (120, 40)] {
        let mut screen = Screen::on(DUNLIN, size);
        screen.keys("2");
        let text = screen.text();
        let winter = |of: &str| -> f64 {
            let line = text.lines().find(|l| l.contains(of)).unwrap_or_else(|| panic!("no {of}: {text}"));
            line.split_whitespace().next_back().unwrap().replace(' ', "").parse().unwrap()
        };
        assert_eq!(winter("inverter: loss and idle"), 288.0, "{text}");
        assert!(text.lines().any(|l| l.contains("all at the bank") && l.ends_with("1 056")), "{text}");
    }
}

/// What no field takes is said where it is typed, and nothing of the plan changes: numbers that are none, below nothing, beyond all
/// bounds, and nothing at all.
#[test]
fn what_cannot_be_is_refused_where_it_is_typed() {
    for (at, label) in [("bank.unit_ah", "Ah"), ("stays.ST1.latitude_deg", "latitude"), ("loads.L1.watts_w", "watts")] {
        for typed in ["NaN", "-1000", "1e9", "inf", ""] {
            let mut screen = Screen::dunlin();
            let before = screen.plan();
            let at = FieldPath::new(at);
            screen.model.pages.push(page_for(&before, &at).expect("a form"));
            screen.keys("<Enter><C-u>").keys(typed).keys("<Enter>");
            assert!(screen.model.field.is_some(), "{at} {typed:?} stays open: {}", screen.text());
            let said = screen.said();
            assert!(said.contains("accepted") || said.contains("write "), "{at} {label} {typed:?}: {said}");
            screen.keys("<Esc>");
            assert_eq!((screen.plan(), screen.undo_names().len()), (before, 0), "{at} {typed:?}");
        }
    }
}

/// A share typed as 0.5 is what its number says; what is to be typed for a half of the time is still read after Enter.
#[test]
fn the_hint_on_a_share_stays_after_enter() {
    let mut screen = Screen::on(sample("bramble").expect("sample").text, (80, 24));
    screen.keys("2");
    let page = page_for(&screen.plan(), &FieldPath::new("loads.L1.duty_pct")).expect("its form");
    screen.model.pages.push(page);
    screen.keys("<Enter><C-u>0.5<Enter>");
    assert!(screen.said().ends_with("0.5 %: type 50 for 0.5 of the time"), "{}", screen.said());
    screen.keys("<Enter><C-u>50<Enter>");
    assert!(!screen.text().contains(": type "), "{}", screen.text());
}
