//! What is typed or pasted reaches what it is meant for, or is refused in words.

use coachwire::plan::field::Record;
use coachwire::plan::samples::sample;
use coachwire::plan::{Known, Plan};
use coachwire::tui::form::{Place, Row, row_of, rows};
use coachwire::tui::message::{Effect, Message};

use super::Screen;

fn feet(screen: &Screen, i: usize) -> Option<f64> {
    screen.plan().runs[i].legs[0].length_m.known().map(|m| (m.0 / 0.3048 * 100.0).round() / 100.0)
}

/// A measure typed over a length without opening it lands in it, though its first digits are the screens' keys.
#[test]
fn a_measure_typed_over_a_cell_lands_in_it() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Left>4.5<Down>1.2<Enter>");
    assert_eq!(
        (screen.model.screen, feet(&screen, 1), feet(&screen, 2)),
        (1, Some(4.5), Some(1.2)),
        "{}",
        screen.text()
    );
    screen.keys("<Up>22'6\"<Enter>");
    assert_eq!(feet(&screen, 1), Some(22.5), "{}", screen.text());
    screen.keys(".5<Enter>");
    assert_eq!(feet(&screen, 1), Some(0.5));
    // One whose first digit asks for the truck stock.
    screen.keys("8.25<Enter>");
    assert_eq!(feet(&screen, 1), Some(8.25));
    assert!(screen.model.shop.is_none() && screen.model.is_on_bench(), "{}", screen.text());
    // Esc drops it as any draft.
    screen.keys("3.<Esc>");
    assert_eq!((feet(&screen, 1), screen.model.screen), (Some(8.25), 1));
}

/// A gauge as well: aughts, and sizes of two digits with their unit. Nothing else is made of their letters.
#[test]
fn a_gauge_typed_over_a_cell_lands_in_it() {
    let mut screen = Screen::dunlin();
    let before = screen.plan();
    for (typed, gauge) in [("2/0", "2/0 AWG"), ("12awg", "12 AWG"), ("16mm2", "16 mm2"), ("10AWG", "10 AWG")] {
        screen.keys(&format!("{typed}<Enter>"));
        assert_eq!(
            screen.plan().runs[0].gauge.known().map(ToString::to_string).as_deref(),
            Some(gauge),
            "{}",
            screen.text()
        );
        assert!(screen.model.is_on_bench() && screen.model.field.is_none(), "{typed}: {}", screen.text());
    }
    let mut after = (*screen.plan()).clone();
    after.runs[0].gauge = before.runs[0].gauge;
    assert_eq!(after, *before);
    // From another screen its own keys stay what they are.
    let mut screen = Screen::dunlin();
    screen.keys("2a");
    assert!(screen.model.screen == 2 && !screen.model.is_on_bench(), "{}", screen.text());
}

/// Digits alone show screens, and the footer says so where a number might be typed.
#[test]
fn digits_alone_show_screens_and_the_footer_says_so() {
    let mut screen = Screen::dunlin();
    for (keys, says) in
        [("<Left>", true), ("<Right>", true), ("<Right>", true), ("<Left><Left><Left>", false), ("<Tab>", false)]
    {
        screen.keys(keys);
        assert_eq!(screen.text().contains("0-8 views"), says, "{keys}: {}", screen.text());
    }
    let mut screen = Screen::dunlin();
    screen.keys("4");
    assert_eq!(screen.model.screen, 4);
    // Once something else was done there a point leads nowhere.
    screen.keys("<Down>.");
    assert!(screen.model.screen == 4 && screen.model.field.is_none(), "{}", screen.text());
    assert!(screen.undo_names().is_empty());
}

/// A text longer than a line takes is refused whole: what stood stands, and nothing is opened or emptied.
#[test]
fn a_long_paste_is_refused_and_leaves_what_stood() {
    let long = || Message::Paste("x".repeat(5000));
    let mut screen = Screen::dunlin();
    let before = screen.plan();
    screen.keys("0<Enter>").send(long());
    assert!(screen.said().contains("4000") && screen.said().contains("nothing changed"), "{}", screen.said());
    assert!(screen.model.field.is_none(), "{}", screen.text());
    screen.keys("<Enter>").send(long());
    // In an open field that is said where the eye is, whole, until the next key.
    let refused = "job job: pasted text over 4000 characters is not taken; nothing changed";
    assert!(screen.text().contains(refused), "{}", screen.text());
    screen.keys("<Left>");
    assert!(!screen.text().contains(refused), "{}", screen.text());
    screen.keys("<Enter>");
    assert_eq!(screen.plan(), before);
    // Beside what is typed: that stays, and both together may be too long.
    screen.keys("<Enter>Old van").send(Message::Paste("x".repeat(3999)));
    assert!(screen.said().contains("nothing changed"), "{}", screen.said());
    screen.keys("<Enter>");
    assert_eq!(screen.plan().job.title, "Old van");
    // Over the Bench, and where a path is asked for.
    let mut screen = Screen::dunlin();
    screen.send(long());
    assert!(screen.model.field.is_none() && screen.said().starts_with("W1"), "{}", screen.said());
    screen.keys("W").send(long());
    assert!(screen.said().contains("nothing changed") && screen.text().contains("dunlin.ron"), "{}", screen.text());
    // One that fits is taken.
    screen.keys("<Esc>0<Enter>").send(Message::Paste("y".repeat(4000)));
    screen.keys("<Enter>");
    assert_eq!(screen.plan().job.title.len(), 4000);
}

/// A form shows first what belongs to the thing's kind; what is for other kinds follows below, and nothing is left out.
#[test]
fn a_form_shows_the_fields_of_its_kind_first() {
    let plan = Plan::from_text(sample("marram").expect("sample").text).expect("reads");
    let of = |at: &str, key: &str| {
        let rows = rows(&plan, &Place::Record(at.into()));
        let others = rows.iter().position(|r| matches!(r, Row::Heading(t) if t == "OF OTHER KINDS"));
        let own = row_of(&rows, &format!("{at}.{key}").as_str().into()).expect("there");
        let fields = rows.iter().filter(|r| matches!(r, Row::Field { .. })).count();
        (others.is_none_or(|at| own < at), own, fields)
    };
    let is_own = |at: &str, key: &str| of(at, key).0;
    for (at, key, want) in [
        ("devices.SHN", "cca_a", false),
        ("devices.SHN", "efficiency_pct", false),
        ("devices.SHN", "ratings.amps_a", true),
        ("devices.SB", "cca_a", true),
        ("devices.SB", "efficiency_pct", false),
        ("devices.ALT", "chemistry", false),
        ("chargers.CH1", "alternator", true),
        ("chargers.CH2", "alternator", false),
        ("chargers.CH2", "ac_source", true),
    ] {
        assert_eq!(is_own(at, key), want, "{at} {key}");
    }
    // The rating of a shunt is on the first screen of 80 by 24.
    assert!(of("devices.SHN", "ratings.amps_a").1 < 20);
    let device = &plan.devices[0];
    let all = device.metas().len() + device.ratings.metas().len();
    assert_eq!(of("devices.SHN", "cca_a").2, all);
}

/// How the papers are written is said where they are looked for.
#[test]
fn papers_say_how_they_are_written() {
    let mut screen = Screen::dunlin();
    screen.keys("6");
    assert!(screen.text().contains("coachwire papers /plans/dunlin.ron --to DIR"), "{}", screen.text());
    for (word, says) in [("paper", "O writes what"), ("print", "Write checks"), ("write", "Write checks")] {
        let mut screen = Screen::dunlin();
        screen.keys(&format!(" {word}"));
        assert!(screen.text().contains(says), "{word}: {}", screen.text());
    }
}

/// In the truck stock, where counts are typed, a digit leads nowhere and says so.
#[test]
fn digits_show_no_screen_over_the_truck_stock() {
    let mut screen = Screen::dunlin();
    screen.keys("8");
    assert!(matches!(screen.effects.pop(), Some(Effect::OpenTruck)));
    let state = coachwire::tui::shop::TruckState::Missing;
    screen.send(Message::Truck(coachwire::tui::shop::TruckFile { path: "/van/truck.ron".into(), state }));
    assert!(screen.model.shop.is_some());
    screen.keys("2");
    assert!(screen.model.shop.is_some() && screen.said().contains("Esc leads back"), "{}", screen.text());
}

/// A fuse typed into the cell of a conductor that is of the negative side opens that, so that the drawing is read as before.
#[test]
fn a_fuse_typed_on_a_minus_opens_the_minus() {
    use coachwire::plan::wiring::Pole;
    let mut plan = Plan::from_text(sample("marram").unwrap().text).unwrap();
    let mut run = plan.runs[0].clone();
    (run.id, run.return_path) = ("N99".parse().unwrap(), coachwire::plan::wiring::Return::None);
    (run.from, run.to) = (Known::Is("BK-".parse().unwrap()), Known::Is("SHN".parse().unwrap()));
    (run.negative_from, run.negative_to, run.protection) = (None, None, Vec::new());
    plan.runs.push(run);
    let minus = plan.runs.len() - 1;
    let report = coachwire::engine::Engine::default().evaluate(&plan, &coachwire::stock::Stock::default());
    assert!(report.runs[minus].is_minus && !report.runs[0].is_minus);
    let mut screen = Screen::on(&plan.to_text(), (80, 24));
    screen.model.bench.run = minus;
    screen.model.bench.column = coachwire::tui::bench::Column::Fuse;
    screen.keys("<Enter>150<Enter>");
    let fuses = &screen.plan().runs[minus].protection;
    assert_eq!(fuses.iter().map(|f| f.pole).collect::<Vec<_>>(), [Pole::Negative], "{}", screen.text());
}
