//! Runs side by side: batteries in parallel on a lead each, arrays with a home run each.

use super::samples::SOUND;
use super::{evaluate, found, near, plan, texts};
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::{Known, Plan};
use coachwire::stock::Stock;

const MAIN: &str = r#"(id: "W3", from: "BK", to: "SW","#;
const DEVICES: &str = "devices: [";

/// The sound plan with three batteries, each on a 2 AWG lead of its own with a fuse, to one bus before the switch.
fn leads(each: [&str; 3]) -> String {
    let lead = |n: usize, legs: &str| {
        format!(
            r#"(id: "B{n}", from: "BK", to: "BB", gauge: "2 AWG", {legs},
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)]),"#
        )
    };
    let all: String = each.iter().enumerate().map(|(n, legs)| lead(n + 1, legs)).collect();
    let main = r#"(id: "W3", from: "BB", to: "SW","#;
    SOUND
        .replace(MAIN, &format!("{all}\n        {main}"))
        .replace(DEVICES, r#"devices: [(id: "BB", kind: "bus", ratings: (amps_a: 1000.0)),"#)
}

fn metres(length_m: f64) -> String {
    format!(r#"legs: [(id: "L1", length_m: {length_m:?}, insulation_c: 105.0)]"#)
}

fn run<'a>(r: &'a Report, id: &str) -> &'a coachwire::engine::report::RunFigures {
    r.runs.iter().find(|x| x.id.as_str() == id).expect("run")
}

/// Source: Kirchhoff's current law: of equal batteries on equal leads each gives a third; a lead, its fuse and its drop are
/// judged at that and not at the whole.
#[test]
fn equal_batteries_on_equal_leads_give_a_third_each() {
    let same = metres(0.6);
    let r = evaluate(&plan(&leads([&same, &same, &same])));
    assert!(!r.findings.iter().any(|f| f.level == Level::Stop), "{}", texts(&r));
    for check in ["loop", "fuse-below-design", "uneven-battery-leads"] {
        assert!(found(&r, check).is_empty(), "{}", texts(&r));
    }
    let whole = run(&r, "W3").design_a.clone().unwrap().0;
    assert!(whole > 90.0, "{whole}");
    for id in ["B1", "B2", "B3"] {
        near(id, run(&r, id).design_a.clone().map(|a| a.0), whole / 3.0, 1e-12);
        near(id, run(&r, id).fuse_min_a.clone().map(|a| a.0), whole / 3.0 * 1.25, 1e-12);
        assert_eq!(run(&r, id).path_drop_pct, run(&r, "W3").path_drop_pct, "{id}");
        near(id, run(&r, id).loss_wh_day.clone().map(|l| l.0), run(&r, "B1").loss_wh_day.clone().unwrap().0, 1e-9);
        assert!(run(&r, id).loss_wh_day.clone().unwrap().0 > 0.0, "{id}");
    }
    // The wrong twin: a fuse that a third of the current is too much for.
    let thin = leads([&same, &same, &same]).replace("amps_a: 60.0", "amps_a: 30.0");
    let r = evaluate(&plan(&thin));
    assert_eq!(found(&r, "fuse-below-design").len(), 3, "{}", texts(&r));
}

/// Source: Kirchhoff's laws by hand: 3 mohm a battery and leads of 1, 2 and 5 mohm carry as 1/4 : 1/5 : 1/8.
#[test]
fn unequal_leads_share_by_their_ohms() {
    let ohms = ["0.001", "0.002", "0.005"].map(|ohm| format!("measured_ohm: {ohm}, {}", metres(0.6)));
    let r = evaluate(&plan(&leads([&ohms[0], &ohms[1], &ohms[2]])));
    let whole = run(&r, "W3").design_a.clone().unwrap().0;
    let sum = 1.0 / 4.0 + 1.0 / 5.0 + 1.0 / 8.0;
    for (id, part) in [("B1", 1.0 / 4.0), ("B2", 1.0 / 5.0), ("B3", 1.0 / 8.0)] {
        near(id, run(&r, id).design_a.clone().map(|a| a.0), whole * part / sum, 1e-9);
    }
    let uneven = found(&r, "uneven-battery-leads");
    near("most", Ok(uneven[0].n(1)), 100.0 * 0.25 / sum, 1e-9);
    // What is lost in each goes with the square of its part times its ohms.
    let lost = |id: &str| run(&r, id).loss_wh_day.clone().unwrap().0;
    near("loss", Ok(lost("B3") / lost("B1")), (4.0 * 4.0 * 5.0) / (8.0 * 8.0 * 1.0), 1e-9);
}

/// Source: resistances in parallel: three leads of 3 mohm are one of 1 mohm, to the year and to every path's drop.
#[test]
fn three_leads_are_one_of_a_third() {
    let three = format!("measured_ohm: 0.003, {}", metres(0.6));
    let three = evaluate(&plan(&leads([&three, &three, &three])));
    let one = SOUND.replace(
        MAIN,
        &format!(
            r#"(id: "B1", from: "BK", to: "BB", gauge: "4/0 AWG", measured_ohm: 0.001, {},
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1)]),
        (id: "W3", from: "BB", to: "SW","#,
            metres(0.6)
        ),
    );
    let one = one.replace(DEVICES, r#"devices: [(id: "BB", kind: "bus", ratings: (amps_a: 1000.0)),"#);
    let one = evaluate(&plan(&one));
    near("harvest", three.year.harvest_kwh.clone(), one.year.harvest_kwh.clone().unwrap(), 1e-12);
    near("drop", run(&three, "W2").path_drop_pct.clone(), run(&one, "W2").path_drop_pct.clone().unwrap(), 1e-12);
    let lost: f64 = ["B1", "B2", "B3"].iter().map(|id| run(&three, id).loss_wh_day.clone().unwrap().0).sum();
    near("loss", Ok(lost), run(&one, "B1").loss_wh_day.clone().unwrap().0, 1e-9);
}

/// What lies ahead of where the leads meet is all their fuses together.
/// Source: Kirchhoff's current law: three fuses of 60 A side by side pass 180 A for ever, and 6 AWG carries less.
#[test]
fn fuses_side_by_side_add_up() {
    let same = metres(0.6);
    let without = |runs: &[&str], amps: f64| {
        let text = leads([&same, &same, &same]).replace("amps_a: 60.0", &format!("amps_a: {amps:?}"));
        let mut p = plan(&text);
        p.runs.iter_mut().filter(|r| runs.contains(&r.id.as_str())).for_each(|r| r.protection.clear());
        evaluate(&p)
    };
    let r = without(&["W3", "W6"], 60.0);
    let unfused = found(&r, "source-end-unfused");
    assert_eq!(unfused.len(), 1, "{}", texts(&r));
    assert_eq!((unfused[0].subject.as_str(), unfused[0].n(0)), ("runs.W6", 180.0));
    // Three smaller ones pass less than it carries: nothing lacks.
    assert!(found(&without(&["W3", "W6"], 20.0), "source-end-unfused").is_empty());
    // With one lead unfused the others protect nothing behind them, and it lacks one itself.
    let r = without(&["W3", "W6", "B1"], 20.0);
    let bare: Vec<&str> = found(&r, "source-end-unfused").iter().map(|f| f.subject.as_str()).collect();
    assert!(bare.contains(&"runs.B1"), "{bare:?}");
}

/// Each battery with a switch of its own: the same as a lead of its own.
#[test]
fn a_switch_of_its_own_is_on_the_batterys_way() {
    let lead = |n: usize| {
        format!(
            r#"(id: "B{n}", from: "BK", to: "S{n}", gauge: "2 AWG", {},
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)]),
            (id: "X{n}", from: "S{n}", to: "SW", gauge: "2 AWG", {}),"#,
            metres(0.4),
            metres(0.2)
        )
    };
    let whole = |ways: String| {
        let (before, after) = SOUND.split_once(MAIN).unwrap();
        let after = after.split_once("(id: \"W4\"").unwrap().1;
        let devices =
            r#"devices: [(id: "S1", kind: "switch"), (id: "S2", kind: "switch"), (id: "S3", kind: "switch"),"#;
        evaluate(&plan(&format!("{before}{ways}\n        (id: \"W4\"{after}").replace(DEVICES, devices)))
    };
    let r = whole((1..=3).map(lead).collect());
    assert!(!r.findings.iter().any(|f| f.level == Level::Stop || f.check.id == "loop"), "{}", texts(&r));
    let design_a = run(&r, "W4").design_a.clone().unwrap().0;
    for id in ["B1", "X1", "B3", "X3"] {
        near(id, run(&r, id).design_a.clone().map(|a| a.0), design_a / 3.0, 1e-9);
    }
    // A fault goes through as much cable as without the switches, whose contacts count for nothing.
    let bare = |n: usize| {
        format!(
            r#"(id: "B{n}", from: "BK", to: "SW", gauge: "2 AWG", {},
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)]),"#,
            metres(0.6)
        )
    };
    let one_run = whole((1..=3).map(bare).collect());
    for id in ["W5", "B1"] {
        let fault = |r: &Report| run(r, id).fuses[0].fault_a.clone().map(|a| a.0);
        near(id, fault(&r), fault(&one_run).unwrap(), 1e-9);
    }
}

/// Equal leads stay equal: sized all at once, and by the steps that cure what one of them lacks; unequal ones are cured by
/// making them equal. Source: trade practice, leads of parallel batteries of one gauge and length.
#[test]
fn equal_leads_stay_equal() {
    let gauges = |p: &Plan| -> Vec<String> {
        p.runs.iter().filter(|r| r.id.as_str().starts_with('B')).map(|r| format!("{:?}", r.gauge)).collect()
    };
    let alike = |p: &Plan| gauges(p).windows(2).all(|two| two[0] == two[1]);
    let same = metres(0.6);
    for gauge in ["6 AWG", "4/0 AWG", "10 AWG"] {
        let p =
            plan(&leads([&same, &same, &same]).replace("gauge: \"2 AWG\", legs", &format!("gauge: \"{gauge}\", legs")));
        let (mut engine, stock) = (Engine::default(), Stock::default());
        let sized = p.with(&engine.size_all(&p, &stock, false)).unwrap();
        assert!(alike(&p) && alike(&sized), "{gauge}: {:?}", gauges(&sized));
        for finding in evaluate(&p).findings.iter().filter(|f| f.level <= Level::Caution) {
            for step in engine.cures(&p, &stock, finding) {
                let cured = p.with(&step).unwrap();
                assert!(alike(&cured), "{}: {:?}", step.name, gauges(&cured));
            }
        }
    }
    let uneven = plan(&leads([&metres(0.3), &metres(0.3), &metres(3.0)]));
    let f = found(&evaluate(&uneven), "uneven-battery-leads")[0].clone();
    let steps = Engine::default().cures(&uneven, &Stock::default(), &f);
    assert!(steps[0].name.starts_with("leads short"), "{steps:?}");
    assert!(found(&evaluate(&uneven.with(&steps[0]).unwrap()), "uneven-battery-leads").is_empty());
}

/// Two feeds side by side to one panel: no more can flow there than the panel's loads draw.
/// Source: Kirchhoff's current law; 60 W at 12.0 V are 5 A.
#[test]
fn a_second_feed_carries_no_more_than_lies_beyond() {
    let feed = r#"(id: "W6", from: "BUS", to: "FP", gauge: "6 AWG","#;
    let second = format!(
        r#"(id: "W66", from: "BUS", to: "FP", gauge: "6 AWG", {},
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)]),
        {feed}"#,
        metres(2.0)
    );
    let r = evaluate(&plan(&SOUND.replace(feed, &second)));
    for id in ["W6", "W66"] {
        near(id, run(&r, id).design_a.clone().map(|a| a.0), 5.0, 1e-9);
    }
    assert!(!r.findings.iter().any(|f| f.level == Level::Stop), "{}", texts(&r));
    assert_eq!(found(&r, "loop").len(), 2, "{}", texts(&r));
}

/// Leads whose length nobody has entered are taken as equal, so that their gauge can be chosen; the split waits.
#[test]
fn leads_of_unknown_length_are_taken_as_equal() {
    let unknown = r#"legs: [(id: "L1", length_m: "?", insulation_c: 105.0)]"#;
    let r = evaluate(&plan(&leads([&metres(0.6), unknown, unknown])));
    let whole = run(&r, "W3").design_a.clone().unwrap().0;
    near("B2", run(&r, "B2").design_a.clone().map(|a| a.0), whole / 3.0, 1e-12);
    assert!(run(&r, "B2").design_how.contains("taken as equal"), "{}", run(&r, "B2").design_how);
    assert!(found(&r, "uneven-battery-leads").is_empty());
}

/// The sound plan's array as two of a string each, each with a home run of its own.
fn two_arrays(ohm: [f64; 2]) -> String {
    let array = r#"arrays: [(id: "A1", strings: "2S2P P1", controller: "C1","#;
    let places = r#"places: [(id: "PP1", x_m: 0.2, y_m: 0.2), (id: "PP2", x_m: 1.8, y_m: 0.2),
            (id: "PP3", x_m: 0.2, y_m: 1.2), (id: "PP4", x_m: 1.8, y_m: 1.2)])],"#;
    let home = |id: &str, from: &str, ohm: f64| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "C1", gauge: "8 AWG", measured_ohm: {ohm:?},
                legs: [(id: "L1", length_m: 7.0, zone: "roof cavity", insulation_c: 90.0)]),"#
        )
    };
    let homes = format!("runs: [\n{}{}\n(id: \"W2\",", home("W1", "A1", ohm[0]), home("W21", "A2", ohm[1]));
    let (before, rest) = SOUND.split_once("runs: [").unwrap();
    let (_, after) = rest.split_once(r#"(id: "W2","#).unwrap();
    let text = format!("{before}{homes}{after}");
    text.replace(array, r#"arrays: [(id: "A1", strings: "2S1P P1", controller: "C1"), (id: "A2", strings: "2S1P P1", controller: "C1")],"#)
        .replace(places, "")
}

/// Source: resistances in parallel: equal arrays behind 0.2 ohm each are one array behind 0.1 ohm; a worse way of either
/// costs harvest, in its own run.
#[test]
fn each_array_pays_for_its_own_home_run() {
    let year = |ohm| evaluate(&plan(&two_arrays(ohm)));
    let two = year([0.2, 0.2]);
    let home = r#"(id: "W1", from: "A1", to: "C1", gauge: "8 AWG","#;
    let mut one = plan(&SOUND.replace(home, &format!("{home} measured_ohm: 0.1,")));
    one.runs[0].protection.clear();
    one.arrays[0].places.clear();
    assert!(matches!(one.runs[0].measured_ohm, Some(Known::Is(_))));
    let one = evaluate(&one);
    near("harvest", two.year.harvest_kwh.clone(), one.year.harvest_kwh.clone().unwrap(), 1e-9);
    let lost = |r: &Report, id: &str| run(r, id).loss_wh_day.clone().unwrap().0;
    near("loss", Ok(lost(&two, "W1") + lost(&two, "W21")), lost(&one, "W1"), 1e-9);
    near("alike", Ok(lost(&two, "W1")), lost(&two, "W21"), 1e-9);
    let worse = year([0.2, 0.6]);
    assert!(worse.year.harvest_kwh.clone().unwrap() < two.year.harvest_kwh.clone().unwrap() - 1.0);
    near("three times the loss", Ok(lost(&worse, "W21") / lost(&worse, "W1")), 3.0, 1e-9);
}
