//! Runs side by side: batteries in parallel on a lead each, arrays with a home run each.

use super::samples::SOUND;
use super::{evaluate, found, near, plan, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::Known;

const MAIN: &str = r#"(id: "W3", from: "BK", to: "SW","#;
const DEVICES: &str = r#"devices: [(id: "SW", kind: "switch"),"#;

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
        .replace(DEVICES, r#"devices: [(id: "BB", kind: "bus"), (id: "SW", kind: "switch"),"#)
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
    let one = one.replace(DEVICES, r#"devices: [(id: "BB", kind: "bus"), (id: "SW", kind: "switch"),"#);
    let one = evaluate(&plan(&one));
    near("harvest", three.year.harvest_kwh.clone(), one.year.harvest_kwh.clone().unwrap(), 1e-12);
    near("drop", run(&three, "W2").path_drop_pct.clone(), run(&one, "W2").path_drop_pct.clone().unwrap(), 1e-12);
    let lost: f64 = ["B1", "B2", "B3"].iter().map(|id| run(&three, id).loss_wh_day.clone().unwrap().0).sum();
    near("loss", Ok(lost), run(&one, "B1").loss_wh_day.clone().unwrap().0, 1e-9);
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
