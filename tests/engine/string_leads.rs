//! Strings of one array that come down on runs of their own to a combiner: each carries its strings, and is protected at the
//! end where the others are.

use super::cures::{apply_all, cures, is_curable};
use super::mistakes::{insert, sound, with};
use super::string_place::four;
use super::{evaluate, found, near, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

/// The four strings of two of `string_place`, drawn from one array.
pub(super) fn one(count: usize, gauge: &str, fuse: &str) -> Plan {
    let mut p = insert(&sound(), "devices", r#"(id: "CMB", kind: "combiner")"#);
    p.arrays[0].strings = "2S4P P1".parse().expect("strings");
    p.arrays[0].places.clear();
    p = with(&p, &[("runs.W1.from", Value::Id("CMB".parse().expect("id")))]);
    for i in 1..=count {
        let run = format!(
            r#"(id: "S{i}", from: "A1", to: "CMB", gauge: "{gauge}", legs: [(id: "L1", length_m: 2.0, zone: "roof",
                insulation_c: 90.0)], protection: [{fuse}])"#
        );
        p = insert(&p, "runs", &run);
    }
    p
}

fn gpv(at: &str, amps: f64) -> String {
    format!(r#"(id: "F1", at: "{at}", family: "IEC 60269-6 gPV", amps_a: {amps:?}, distance_m: 0.1)"#)
}

fn run<'a>(r: &'a Report, id: &str) -> &'a coachwire::engine::report::RunFigures {
    r.runs.iter().find(|x| x.id.as_str() == id).expect("run")
}

fn on_leads(r: &Report) -> Vec<String> {
    // Of the leads of one array the drop of the worst alone is said.
    let lead =
        |f: &&coachwire::engine::Finding| f.subject.as_str().starts_with("runs.S") && f.check.id != "drop-over-target";
    r.findings.iter().filter(lead).map(|f| format!("{} {}", f.check.id, f.subject)).collect()
}

/// NEC 690.8(A)(1), 690.9(B): a lead with one string of 10.7 A carries 1.25 x that, and its fuse is 1.5625 x that at least.
/// Drawn from one array or from four the same coach has the same figures.
#[test]
fn one_array_on_four_leads_is_four_arrays() {
    let apart = evaluate(&four("10 AWG", "to", 0.1));
    let r = evaluate(&one(4, "10 AWG", &gpv("to", 20.0)));
    assert_eq!(on_leads(&r), on_leads(&apart), "{}", texts(&r));
    for check in ["loop", "string-fuse-missing", "string-leads-unshared", "string-fuse-rating", "string-fuse-wrong-end"]
    {
        assert!(found(&r, check).is_empty(), "{}", texts(&r));
    }
    for id in ["S1", "S2", "S3", "S4"] {
        near(id, run(&r, id).design_a.clone().map(|a| a.0), 1.25 * 10.7, 1e-9);
        near(id, run(&r, id).fuse_min_a.clone().map(|a| a.0), 1.5625 * 10.7, 1e-9);
        near(id, run(&r, id).drop_at_a.clone().map(|a| a.0), 10.1, 1e-9);
        near(id, run(&r, id).path_drop_v.clone().map(|v| v.0), run(&apart, id).path_drop_v.clone().expect("V").0, 1e-9);
        near(
            id,
            run(&r, id).loss_wh_day.clone().map(|l| l.0),
            run(&apart, id).loss_wh_day.clone().expect("Wh").0,
            1e-6,
        );
    }
    assert_eq!(found(&r, "drop-over-target").len(), 1, "{}", texts(&r));
    near("beyond", run(&r, "W1").design_a.clone().map(|a| a.0), 4.0 * 1.25 * 10.7, 1e-9);
    near("year", r.year.harvest_kwh.clone(), apart.year.harvest_kwh.clone().expect("kWh"), 1e-9);
    // Two strings on each of two leads, joined at the panels.
    let two = evaluate(&one(2, "6 AWG", ""));
    near("two", run(&two, "S1").design_a.clone().map(|a| a.0), 2.0 * 1.25 * 10.7, 1e-9);
    assert!(found(&two, "loop").is_empty() && found(&two, "string-fuse-missing").len() == 1, "{}", texts(&two));
}

/// NEC 690.9(A): three others push 40.1 A into a string of 20 A: each lead wants its fuse, at the combiner, of 16.8 A to 20 A.
#[test]
fn what_is_wrong_on_a_string_lead_is_said_and_mended() {
    let bare = one(4, "10 AWG", "");
    let r = evaluate(&bare);
    let f = found(&r, "string-fuse-missing");
    assert!(f.len() == 1 && f[0].level == Level::Stop && (f[0].n(0) - 40.125).abs() < 1e-9, "{}", texts(&r));
    is_curable(&bare, "string-fuse-missing", "controllers.C1");
    let steps = cures(&bare, "string-fuse-missing", "controllers.C1");
    let cured = bare.with(&steps[0]).expect("applies");
    let r = evaluate(&cured);
    assert!(on_leads(&r).is_empty(), "{}", texts(&r));
    // One of them bare.
    let mut some = one(4, "10 AWG", &gpv("to", 20.0));
    some.runs.iter_mut().find(|r| r.id.as_str() == "S3").expect("drawn").protection.clear();
    let r = evaluate(&some);
    let f = found(&r, "string-fuse-missing");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    assert!(f[0].text().ends_with("the one on S3, which has none, needs a fuse of 16.8 A to 20 A"), "{}", f[0].text());
    some.runs.iter_mut().find(|r| r.id.as_str() == "S1").expect("drawn").protection.clear();
    let r = evaluate(&some);
    let text = found(&r, "string-fuse-missing")[0].text();
    assert!(text.contains("those on S1 and S3, which have none, need each a fuse"), "{text}");
    // At the panels' end, and too small for its string.
    let wrong = evaluate(&one(4, "10 AWG", &gpv("from", 20.0)));
    assert_eq!(found(&wrong, "string-fuse-wrong-end").len(), 4, "{}", texts(&wrong));
    let small = evaluate(&one(4, "10 AWG", &gpv("to", 15.0)));
    assert_eq!(found(&small, "string-fuse-rating").len(), 4, "{}", texts(&small));
    apply_all(&bare);
}

/// Four strings on three leads, or unlike ones: what flows in each nobody can tell, and it is said once.
#[test]
fn leads_that_share_nothing_out_are_said_once() {
    for p in [one(3, "10 AWG", &gpv("to", 20.0)), {
        let mut p = one(2, "10 AWG", &gpv("to", 20.0));
        p.arrays[0].strings = "P1+P1 | P1".parse().expect("strings");
        p
    }] {
        let r = evaluate(&p);
        let f = found(&r, "string-leads-unshared");
        assert!(f.len() == 1 && f[0].level == Level::Caution, "{}", texts(&r));
        assert!(f[0].text().contains("draw each string as an array of its own"), "{}", f[0].text());
        assert!(on_leads(&r).is_empty(), "{}", texts(&r));
        let waits = |check: &str| r.not_checked.iter().any(|w| w.check == check);
        assert!(waits("conductor-below-current") && waits("string-fuse-missing"), "{:?}", r.not_checked);
    }
    // More leads than strings are no string leads: one of them may be left alone with all.
    let r = evaluate(&{
        let mut p = one(2, "10 AWG", "");
        p.arrays[0].strings = "2S1P P1".parse().expect("strings");
        p
    });
    assert_eq!(found(&r, "loop").len(), 2, "{}", texts(&r));
    assert!(found(&r, "string-leads-unshared").is_empty());
}

/// Four strings on three leads: a lead more, like the others; strings of two panels and of one: a lead each and arrays of
/// their own. What is offered brings no stop.
#[test]
fn leads_that_share_nothing_out_are_mended() {
    let uneven = one(3, "10 AWG", &gpv("to", 20.0));
    is_curable(&uneven, "string-leads-unshared", "arrays.A1");
    let steps = cures(&uneven, "string-leads-unshared", "arrays.A1");
    assert_eq!(steps[0].name, "A1: a run for each string, W8 like S1; W1: 6 AWG");
    let r = evaluate(&uneven.with(&steps[0]).expect("applies"));
    near("a lead", run(&r, "W8").design_a.clone().map(|a| a.0), 1.25 * 10.7, 1e-9);
    // Two strings on one of two leads, which carries them: NEC 690.9(A) asks for no fuse of two strings' own.
    let mut three = one(2, "6 AWG", "");
    three.arrays[0].strings = "P1+P1 | P1+P1 | P1".parse().expect("strings");
    is_curable(&three, "string-leads-unshared", "arrays.A1");
    apply_all(&three);
}

/// String fuses of 15 A where 1.5625 x 10.7 = 16.7 A are wanted (NEC 690.8, 690.9(B)), on 14 AWG, whose fuse is 15 A at most
/// (former NEC 551.10): another fuse alone, or other wire alone, mends nothing. Panels that stand 15 A have no fuse at
/// all: their strings are joined in two, which want none, on two of the four leads.
#[test]
fn a_string_fuse_that_wants_other_wire_gets_both() {
    let of = |gauge: &str, series_a: f64| {
        let wide =
            [("panels.P1.series_fuse_a", Value::Number(series_a)), ("controllers.C1.max_pv_v", Value::Number(150.0))];
        with(&one(4, gauge, &gpv("to", 15.0)), &wide)
    };
    let thin = of("14 AWG", 25.0);
    is_curable(&thin, "string-fuse-rating", "runs.S1");
    let steps = cures(&thin, "string-fuse-rating", "runs.S1");
    assert!(steps[0].name.starts_with("string fuses on S1, S2, S3, S4: 20 A, S1 12 AWG"), "{steps:?}");
    let cured = evaluate(&thin.with(&steps[0]).expect("applies"));
    assert!(found(&cured, "string-fuse-rating").is_empty(), "{}", texts(&cured));
    let none_fits = of("10 AWG", 15.0);
    is_curable(&none_fits, "string-fuse-rating", "runs.S1");
    let steps = cures(&none_fits, "string-fuse-rating", "runs.S1");
    assert!(steps[0].name.starts_with("A1: 4S2P P1, without S3 and S4, S1 without F1, S2 without F1"), "{steps:?}");
    // The right twin.
    let right = one(4, "10 AWG", &gpv("to", 20.0));
    assert!(found(&evaluate(&right), "string-fuse-rating").is_empty());
}
