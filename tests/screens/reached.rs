//! Whatever is cut at 80x24 can be come to by keys: what stands under the rows of a box, the header, the help.

use super::{DUNLIN, Screen};
use coachwire::document::checked::{self, looks};
use coachwire::plan::Plan;
use coachwire::plan::samples::sample;
use coachwire::tui::model::Overlay;
use coachwire::tui::view::below_rows;

/// Every line about the marked row is shown by Space, and the first stands again after the last; another row begins anew.
#[test]
fn lines_about_a_marked_row_are_read_to_the_end() {
    let mut scrolled = 0;
    for (name, opens) in
        [("thistle", "l"), ("thistle", "G"), ("larkspur", "l"), ("larkspur", "i"), ("thistle", "i"), ("thistle", "z")]
    {
        let mut screen = Screen::on(sample(name).expect("sample").text, (80, 24));
        screen.keys(opens).look().climb();
        for _ in 0..12 {
            let over = screen.model.overlay.clone().expect("a box");
            let (lines, room) = below_rows(&screen.model, &over);
            if lines > room {
                scrolled += 1;
                let first = screen.text();
                assert!(first.contains("more line"), "{name} {opens}: {first}");
                assert!(first.lines().last().is_some_and(|l| l.contains("Space more")), "{name} {opens}: {first}");
                // As many pages as it takes with one line of each for what is left, then the end is said.
                let mut pages = 1;
                while !screen.text().contains("that is all") {
                    screen.keys(" ");
                    pages += 1;
                    assert!(pages <= lines, "{name} {opens}: no end: {}", screen.text());
                }
                let once = (room - 1).max(1);
                assert_eq!(pages, (lines - once).div_ceil(once) + 1, "{name} {opens}: {lines} in {room}");
                screen.keys(" ");
                assert_eq!(screen.text(), first, "{name} {opens}");
            }
            screen.keys("<Down>");
        }
    }
    assert!(scrolled > 3, "{scrolled}");
}

/// A text that is scrolled says word by word what a screen that holds all of it says.
#[test]
fn what_is_scrolled_is_what_a_tall_screen_shows() {
    let text = sample("thistle").expect("sample").text;
    let mut small = Screen::on(text, (80, 24));
    small.keys("i");
    let Some(Overlay::Isolation(view)) = small.model.overlay.clone() else { panic!("no box") };
    for _ in 0..view.all.len() {
        let over = small.model.overlay.clone().expect("a box");
        let (lines, room) = below_rows(&small.model, &over);
        let mut seen: Vec<String> = Vec::new();
        for _ in 0..lines {
            let shown = small.text();
            let rows = shown.lines().filter(|l| l.starts_with('|') || l.contains("| "));
            seen.extend(rows.map(|l| l.trim_matches(|c: char| c == '|' || c == ' ').to_string()));
            if lines <= room {
                break;
            }
            small.keys(" ");
        }
        let mut tall = Screen::on(text, (80, 70));
        tall.keys("i");
        tall.model.overlay.clone_from(&small.model.overlay);
        for line in tall.text().lines().filter(|l| l.contains("DEAD") || l.contains("LIVE") || l.contains("HELD")) {
            let line = line.trim_matches(|c: char| c == '|' || c == ' ');
            assert!(seen.iter().any(|s| s == line), "{line:?} is never shown at 80x24");
        }
        small.keys("<Down>");
    }
}

/// The counts and the mark of what is not saved are whole at any width, whatever plan and place are called.
#[test]
fn the_header_never_cuts_counts_nor_what_is_not_saved() {
    let long = "a very long name of a file that somebody has given to the plan of a customer.ron";
    let place = "Llanfairpwllgwyngyllgogerychwyrndrobwllllantysiliogogogoch";
    let text = sample("thistle").expect("sample").text.replacen("Quartzsite AZ", place, 1);
    for width in [40, 60, 80, 100, 120] {
        for baseline in ["", "b", "m"] {
            let mut screen = Screen::on(&text, (width, 24));
            screen.model.path = Some(std::path::PathBuf::from("/plans").join(long));
            screen.keys(baseline).keys("+");
            let header = screen.text().lines().next().unwrap_or_default().to_string();
            let report = &screen.model.document.as_ref().unwrap().shown().report;
            let unknown = report.unknown.len();
            assert!(screen.model.document.as_ref().unwrap().is_dirty());
            assert!(header.contains(" * ") || header.contains("~ * "), "{width}: {header}");
            let counts = [format!("unknown {unknown}"), format!("?{unknown}")];
            assert!(counts.iter().any(|c| header.ends_with(c.as_str())), "{width}: {header}");
            assert!(header.contains("stop ") || header.contains('!'), "{width}: {header}");
            assert!(header.trim_start().starts_with("a very"), "{width}: {header}");
        }
    }
}

/// Ids of every check of the engine, from its source.
fn checks() -> Vec<String> {
    fn within(dir: &std::path::Path, out: &mut Vec<String>) {
        for entry in std::fs::read_dir(dir).expect("a folder").flatten() {
            let path = entry.path();
            if path.is_dir() {
                within(&path, out);
            } else if let Ok(text) = std::fs::read_to_string(&path) {
                let statics = text.split(": Check =").skip(1);
                let each =
                    statics.filter(|s| s.trim_start().starts_with("Check {")).filter_map(|s| s.split('"').nth(1));
                out.extend(each.map(ToString::to_string));
            }
        }
    }
    let mut all = Vec::new();
    within(std::path::Path::new("src/engine"), &mut all);
    all
}

/// Of every check is said what it looks at and what not, once.
#[test]
fn every_check_says_what_it_looks_at_and_what_not() {
    let all = checks();
    assert!(all.len() > 150, "{}", all.len());
    for id in &all {
        let told = checked::ALL.iter().filter(|l| l.checks.contains(&id.as_str())).count();
        assert_eq!(told, 1, "{id}");
        let looks = looks(id).expect("told");
        assert!(looks.at.len() > 30 && looks.not_at.len() > 15, "{id}");
        assert!(!looks.at.contains(" safe") && !looks.at.contains("compliant"), "{id}");
    }
    for id in checked::ALL.iter().flat_map(|l| l.checks) {
        assert!(all.iter().any(|known| known == id), "{id} is no check");
    }
}

/// The help asked for on a finding tells its check, source and rules before the keys.
#[test]
fn help_on_a_finding_tells_its_check() {
    let mut screen = Screen::on(sample("thistle").expect("sample").text, (80, 24));
    screen.keys("5");
    let finding = screen.model.finding_at().expect("a finding").clone();
    screen.keys("?");
    let read = |screen: &mut Screen| {
        let mut all = screen.text();
        for _ in 0..4 {
            screen.keys("<PgDn>");
            all += &screen.text();
        }
        all
    };
    let text = read(&mut screen);
    let told = looks(finding.check.id).expect("told");
    let first = |s: &str| s.split(' ').take(4).collect::<Vec<_>>().join(" ");
    for part in [&first(told.at), &first(told.not_at), "source: ", "KEYS", finding.check.id] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let mut screen = Screen::dunlin();
    screen.keys("5<End>?");
    let text = read(&mut screen);
    assert!(text.contains("Enter goes to the first."), "the last of the list is what nobody has entered: {text}");
}

/// The help asked for on the results tells what the marked figure means and what it is of.
#[test]
fn help_on_a_result_tells_what_it_means() {
    for (down, words) in [
        (0, "would arrive at the bank's posts"),
        (3, "Load that is not served"),
        (4, "usable Wh by its label's volts x Ah"),
        (6, "Open-circuit volts"),
        (9, "Findings that are open"),
        (14, "Days of the year on which some load"),
    ] {
        let mut screen = Screen::on(DUNLIN, (80, 24));
        screen.keys("<BackTab>").keys(&"<Down>".repeat(down)).keys("?");
        let text = screen.text();
        assert!(text.contains("RESULT: ") && text.contains(words), "{down}: {text}");
    }
}

/// An option's edits are tried as they are typed: what the plan does not take is refused, and says what is accepted.
#[test]
fn edits_of_an_option_are_checked_as_they_are_typed() {
    let plan = Plan::from_text(DUNLIN).expect("reads");
    let run = plan.runs[1].id.as_str();
    let with =
        DUNLIN.trim_end().trim_end_matches(')').to_string() + "    options: [(id: \"OPT1\", name: \"thicker\")],\n)\n";
    let mut screen = Screen::on(&with, (80, 24));
    screen.keys("6");
    let to = |screen: &mut Screen, at: &str| {
        for _ in 0..200 {
            let focus = screen.model.focus().map(|f| f.as_str().to_string()).unwrap_or_default();
            if focus == at {
                return;
            }
            if at.starts_with(&focus) && !focus.is_empty() {
                screen.keys("<Enter>");
            } else {
                screen.keys("<Down>");
            }
        }
        panic!("{at} is not come to: {}", screen.text());
    };
    to(&mut screen, "options.OPT1.edits");
    let before = screen.plan();
    for (typed, said) in [
        (format!("runs.{run}.gouge = 6 AWG"), "gouge"),
        (format!("runs.{run}.gauge = 5 elephants"), "elephants"),
        ("runs.NONE.gauge = 6 AWG".into(), "NONE"),
        ("paint it red".into(), "runs.W2.gauge = 6 AWG"),
    ] {
        screen.keys("<Enter><C-u>").keys(&typed).keys("<Enter>");
        assert!(screen.said().contains(said), "{typed}: {}", screen.said());
        assert_eq!(screen.plan(), before, "{typed} is not taken");
        screen.keys("<Esc>");
    }
    screen.keys("<Enter><C-u>").keys(&format!("runs.{run}.gauge = 2 AWG\\nremove runs.{run}"));
    assert!(screen.text().contains("2 edits, as the plan takes them"), "{}", screen.text());
    screen.keys("<Enter>");
    assert_eq!(screen.plan().options[0].edits.0.len(), 2);
}

/// A row whose path is over its drop target says so by a sign and in words; which rows that are, each evaluated as a plan of its own.
#[test]
fn a_row_over_its_drop_target_says_so() {
    let mut over = 0;
    for (name, keys) in
        [("larkspur", "l"), ("larkspur", "<Down><Down>l"), ("thistle", "<Down>l"), ("sorrel", "<Down>l")]
    {
        let mut screen = Screen::on(sample(name).expect("sample").text, (120, 40));
        screen.keys(keys).climb();
        let Some(Overlay::Ladder(ladder)) = screen.model.overlay.clone() else { panic!("no ladder") };
        let coachwire::engine::LadderOf::Gauge(run) = &ladder.of else { panic!("no gauges") };
        for (i, rung) in ladder.rungs.iter().enumerate() {
            let plan = screen.plan().with(&rung.step).expect("a plan");
            let report = coachwire::engine::Engine::default().evaluate(&plan, &coachwire::stock::Stock::default());
            let figures = report.runs.iter().find(|r| r.id == *run).expect("its figures");
            let is_over =
                matches!((&figures.path_drop_pct, figures.target_pct), (Ok(pct), Some(target)) if *pct > target);
            assert_eq!(rung.over.is_some(), is_over, "{name}: {}", rung.name());
            screen.keys(&format!("<Home>{}", "<Down>".repeat(i)));
            let text = screen.text();
            assert_eq!(text.contains("over its drop target"), is_over, "{name}: {text}");
            let fits = rung.fit == coachwire::engine::ladder::Fit::Yes && rung.keeps.is_empty();
            assert_eq!(text.contains(&format!("{}: fits", rung.name())), fits && !is_over, "{name}: {text}");
            let row = text.lines().filter(|l| l.contains(" AWG ")).nth(i).map(ToString::to_string);
            if let Some(row) = row.filter(|row| {
                row.contains(&format!(" {} ", rung.name())) || row.contains(&format!("*{} ", rung.name()))
            }) {
                assert_eq!(row.contains('!'), is_over, "{name}: {row}");
            }
            over += usize::from(is_over);
        }
    }
    assert!(over > 3, "{over}");
}

/// On a run whose wire exists a row of the ladder has no price and says that it buys nothing; nor does it.
#[test]
fn a_gauge_of_wire_that_exists_buys_nothing() {
    let text = sample("larkspur").expect("sample").text;
    let mut screen = Screen::on(text, (80, 24));
    let mut plan = screen.plan().as_ref().clone();
    for leg in &mut plan.runs[0].legs {
        leg.state = coachwire::plan::State::Existing;
    }
    let id = plan.runs[0].id.clone();
    screen = Screen::on(&plan.to_text(), (80, 24));
    let parts = |screen: &Screen| {
        let price = screen.model.document.as_ref().unwrap().shown().report.price.clone();
        (price.known_parts, price.unpriced)
    };
    let before = parts(&screen);
    screen.keys("l").climb();
    assert!(
        screen.text().contains(&format!("{id}'s wire exists: choosing this says what lies there and buys")),
        "{}",
        screen.text()
    );
    screen.keys("<Down><Enter>");
    assert_ne!(screen.plan().runs[0].gauge, plan.runs[0].gauge);
    assert_eq!(parts(&screen), before);
}

/// What the pane about the selected thing has no room for stands in the help, line by line; so it does on a small screen.
#[test]
fn the_help_has_all_that_is_known_of_the_selected_thing() {
    for keys in ["", "<Down><Down>", "<BackTab><BackTab>"] {
        let text = sample("larkspur").expect("sample").text;
        let mut tall = Screen::on(text, (80, 90));
        tall.keys(keys);
        let shown = tall.text();
        let (_, below) = shown.split_once(" DETAIL ").expect("the pane");
        let told: Vec<&str> = below.lines().skip(1).take(1).map(str::trim).filter(|l| !l.is_empty()).collect();
        assert!(!told.is_empty());
        let mut small = Screen::on(text, (80, 24));
        small.keys(keys).keys("?");
        let mut read = String::new();
        for _ in 0..4 {
            read += &small.text();
            small.keys("<PgDn>");
        }
        let words = |s: &str| s.replace('|', " ").split_whitespace().collect::<Vec<_>>().join(" ");
        for line in told {
            let first = words(line).split(' ').take(4).collect::<Vec<_>>().join(" ");
            assert!(words(&read).contains(&first), "{first}: {read}");
        }
    }
}

/// Every page of the opened year, the help, a finding, a working and the messages end somewhere, and by keys one comes there.
#[test]
fn every_long_text_is_read_to_its_end() {
    let scripts = [
        "y",
        "y<Right>",
        "y<Right><Right>",
        "y<Right><Right><Right>",
        "y<Left>",
        "y<Left><Left>",
        "?",
        "5<Enter>",
        "5?",
        "e",
        "l?",
        "z?",
        "<BackTab>?",
    ];
    for name in ["larkspur", "thistle", "marram"] {
        for script in scripts {
            let mut screen = Screen::on(sample(name).expect("sample").text, (80, 24));
            screen.keys(script).look();
            let before = screen.text();
            for _ in 0..30 {
                screen.keys("<PgDn>");
            }
            let after = screen.text();
            // The box's own: lists behind it may go on below as well.
            let titled = |text: &str| text.lines().find(|l| l.contains("+- ")).unwrap_or_default().to_string();
            let title = titled(&after);
            assert!(!title.contains("below"), "{name} {script}: {after}");
            if titled(&before).contains("more below") {
                assert!(title.contains("more above"), "{name} {script}: {after}");
                let said = before.lines().last().unwrap_or_default().to_string();
                assert!(said.contains("Space more") || said.contains("Down more"), "{name} {script}: {said}\n{before}");
            }
        }
    }
}

/// A question shows its answers on the smallest screen too.
#[test]
fn a_question_shows_its_answers_on_a_low_screen() {
    let mut screen = Screen::on(DUNLIN, (40, 12));
    screen.keys("<Down>+q");
    let Some(Overlay::Confirm(asked)) = screen.model.overlay.clone() else { panic!("it asks") };
    for answer in &asked.answers {
        let start: String = answer.words.chars().take(12).collect();
        assert!(screen.text().contains(&start), "{}: {}", answer.words, screen.text());
    }
}
