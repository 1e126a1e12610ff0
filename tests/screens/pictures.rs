//! Pictures of the screens. Few, so that a meant change is read before it is blessed.

use super::{DUNLIN, Screen};
use coachwire::tui::theme::Palette;

/// The small and the large screen.
const SIZES: [(u16, u16); 2] = [(80, 24), (120, 40)];

fn shot(name: &str, size: (u16, u16), screen: &Screen) {
    let name = format!("{name}__{}x{}", size.0, size.1);
    insta::with_settings!({ snapshot_path => "snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, screen.picture());
    });
}

/// The script's picture at both sizes.
fn shots(name: &str, script: &str) {
    for size in SIZES {
        let mut screen = Screen::on(DUNLIN, size);
        screen.keys(script).look();
        shot(name, size, &screen);
    }
}

#[test]
fn bench_at_rest() {
    shots("bench__at_rest", "");
}

#[test]
fn bench_mid_edit() {
    shots("bench__mid_edit", "<Down><Enter>4");
}

#[test]
fn bench_text_that_does_not_parse() {
    shots("bench__does_not_parse", "<Down><Enter>4x");
}

#[test]
fn bench_after_a_change_with_baseline_held() {
    shots("bench__baseline", "b<Down>+");
}

#[test]
fn form_of_a_run() {
    shots("form__run", "<Left><Left><Left><Left><Enter>");
}

#[test]
fn findings() {
    shots("findings__list", "5");
}

#[test]
fn help() {
    shots("box__help", "?");
}

#[test]
fn working_and_isolation() {
    shots("box__working", "<Down>e");
    shots("box__isolation", "<Down>i");
}

#[test]
fn picking_from_a_list() {
    shots("field__choices", "<Down><Left><Left><Left><Enter>");
    shots("field__choices_narrowed", "<Down><Left><Left><Left><Enter>b");
}

#[test]
fn an_accepted_finding() {
    shots("findings__accepted", "5xmeasured on site<Enter>");
}

#[test]
fn truck_stock() {
    use coachwire::tui::message::Message;
    use coachwire::tui::shop::{TruckFile, TruckState};
    let broken = "/van/truck.ron: line 4, column 30: no AWG size".to_string();
    let read = coachwire::stock::Truck::starter();
    for (name, state, script) in [
        ("stock__none", TruckState::Missing, ""),
        ("stock__lists", TruckState::Read(read.clone()), ""),
        ("stock__spools", TruckState::Read(read.clone()), "<Enter><Down>"),
        ("stock__field", TruckState::Read(read), "<Down><Enter><Enter><Enter>82"),
        ("stock__broken", TruckState::Broken(broken), ""),
    ] {
        for size in SIZES {
            let mut screen = Screen::on(DUNLIN, size);
            screen.keys("8");
            screen.send(Message::Truck(TruckFile { path: "/van/truck.ron".into(), state: state.clone() }));
            screen.keys(script);
            shot(name, size, &screen);
        }
    }
}

/// The year's pages, the ladders and the sizing of all runs; years are filled in as the workers would.
#[test]
fn the_year_and_the_ladders() {
    for (name, script) in [
        ("year__months", "y"),
        ("year__picture", "y<Right>"),
        ("year__limits", "y<Right><Right>"),
        ("year__typical_day", "y<Right><Right><Right>m"),
        ("year__dark_day", "y<Right><Right><Right><Right>m"),
        ("year__dull_spell", "y<Left>"),
        ("ladder__gauge", "<Down>l"),
        ("ladder__fuse", "<Down>lf"),
        ("ladder__wiring", "<BackTab><BackTab>l"),
        ("ladder__controller", "<BackTab><BackTab><Down>l"),
        ("ladder__batteries", "<BackTab><BackTab><Down><Down>l"),
        ("sizing__proposal", "z"),
        ("loads__list", "2"),
    ] {
        for size in SIZES {
            let mut screen = Screen::on(DUNLIN, size);
            screen.keys(script).look();
            shot(name, size, &screen);
        }
    }
    for size in SIZES {
        let mut screen = Screen::on(DUNLIN, size);
        screen.keys("z");
        shot("sizing__awaited", size, &screen);
        screen.look().keys("t").look();
        shot("sizing__truck", size, &screen);
    }
}

/// Sizing help with its years, its goal changed: a stay left out, half a day more without sun; and a ladder of gauges.
#[test]
fn finished_ladders() {
    let bank = "<BackTab><BackTab><Down><Down>l";
    for (name, script) in [
        ("ladder__goal", bank.to_string()),
        ("ladder__goal_changed", format!("{bank}<Right>s+<Down>")),
        ("ladder__gauge_finished", "<Down>l".into()),
    ] {
        for size in SIZES {
            let mut screen = Screen::on(DUNLIN, size);
            screen.keys(&script).climb();
            shot(name, size, &screen);
        }
    }
}

/// An inverter whose terminals take two conductors of 1/0 AWG at most, on M8 studs.
#[test]
fn two_conductors_and_lugs() {
    let rated = r#"idle_w: 12.0, ratings: (largest_wire: "1/0 AWG", wires_each: 2.0, stud: "M8")"#;
    let text = DUNLIN.replacen("idle_w: 12.0", rated, 1);
    let down = "<Down><Down><Down>";
    for (name, script) in [
        ("ladder__two", format!("{down}l<End>")),
        ("sizing__two", "z".into()),
        ("working__two", format!("{down}e")),
        ("ladder__wiring_fused", "<BackTab><BackTab>l<Home>".into()),
    ] {
        for size in SIZES {
            let mut screen = Screen::on(&text, size);
            screen.keys(&script).look();
            shot(name, size, &screen);
        }
    }
}

#[test]
fn boxes() {
    let size = SIZES[0];
    for (name, script) in [
        ("box__actions", ":base"),
        ("box__ladder", "<Down>l"),
        ("box__add", "<Tab>a"),
        ("box__delete", "<BackTab><BackTab><Down>d"),
        ("box__rename", "R"),
        ("box__save_as", "W"),
        ("box__open", "o"),
        ("box__history", "<Down>++bU"),
        ("box__unsaved", "+q"),
        ("box__messages", "+-M"),
        ("box__place", "3<Enter><Enter>squartz"),
        ("box__finding", "5<Enter>"),
    ] {
        let mut screen = Screen::on(DUNLIN, size);
        screen.keys(script).look();
        shot(name, size, &screen);
    }
}

#[test]
fn start_and_sections() {
    shot("start__at_rest", SIZES[0], &Screen::with(Screen::start()));
    let mut screen = Screen::on(DUNLIN, SIZES[0]);
    screen.keys("0");
    shot("plan__sections", SIZES[0], &screen);
    for size in SIZES {
        let mut screen = Screen::on(DUNLIN, size);
        screen.keys("3");
        shot("year__stays", size, &screen);
    }
}

#[test]
fn narrow_screens_keep_the_three_panes() {
    let mut screen = Screen::on(DUNLIN, (40, 24));
    screen.keys("<Down>").look();
    shot("bench__narrow", (40, 24), &screen);
}

#[test]
fn plain_and_contrast_emit_no_colour() {
    for palette in [Palette::Plain, Palette::Contrast] {
        for script in ["", "5", "?", "<Down>l", "0", "<Enter>4x", "e", "i", "<Left><Left><Enter>"] {
            let mut screen = Screen::dunlin();
            screen.model.theme.palette = palette;
            screen.keys(script);
            assert!(!screen.has_colour(), "{palette} after {script:?}");
        }
    }
}

#[test]
fn no_color_chooses_the_plain_palette() {
    let choose = |no_color, term| Palette::choose(None, None, no_color, Some(term));
    assert_eq!(choose(Some("1"), "xterm"), Palette::Plain);
    assert_eq!(choose(Some(""), "xterm"), Palette::Colour, "an empty NO_COLOR does not count");
    assert_eq!(choose(None, "linux"), Palette::Plain);
    assert_eq!(Palette::choose(Some(Palette::Contrast), Some(Palette::Plain), Some("1"), None), Palette::Contrast);
}
