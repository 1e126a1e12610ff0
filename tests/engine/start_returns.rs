//! How current comes back to a start battery: by negatives drawn there, over bars as well, over the frame, or by nothing that is drawn.

use super::comes_back::NONE;
use super::cures::is_curable;
use super::mistakes::{insert, sound};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::report::RunFigures;
use coachwire::engine::{Level, Report};
use coachwire::plan::Plan;

/// A run of 12 AWG: id, ends, metres, and what else it says.
type Run<'a> = (&'a str, &'a str, &'a str, f64, &'a str);

/// The sound plan with a start battery, 120 W and 60 W of loads for it, and a bar.
fn on_start(runs: &[Run<'_>]) -> Plan {
    let mut p = sound();
    for (list, item) in [
        ("devices", r#"(id: "SB", kind: "start battery", state: "existing")"#),
        ("devices", r#"(id: "NB3", kind: "bus", ratings: (amps_a: 200.0))"#),
        ("loads", r#"(id: "L8", watts_w: 60.0, hours_day: 1.0)"#),
        ("loads", r#"(id: "L9", watts_w: 120.0, hours_day: 1.0)"#),
    ] {
        p = insert(&p, list, item);
    }
    for (id, from, to, metres, more) in runs {
        let leg = format!(r#"legs: [(id: "L1", length_m: {metres:?}, insulation_c: 105.0)]"#);
        p = insert(&p, "runs", &format!(r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "12 AWG", {leg}, {more})"#));
    }
    p
}

fn fused(more: &str) -> String {
    format!(r#"{more} protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 15.0, distance_m: 0.1)]"#)
}

fn run<'a>(r: &'a Report, id: &str) -> &'a RunFigures {
    r.runs.iter().find(|x| x.id.as_str() == id).unwrap_or_else(|| panic!("{id}"))
}

fn design_a(r: &Report, id: &str) -> f64 {
    run(r, id).design_a.clone().unwrap_or_else(|m| panic!("{id} waits for {}", m.0)).0
}

fn path_v(r: &Report, id: &str) -> f64 {
    run(r, id).path_drop_v.clone().unwrap_or_else(|m| panic!("{id} waits for {}", m.0)).0
}

/// Kirchhoff's laws: what two loads draw, 120 W and 60 W at the 11.0 V of lead, comes back together by what their bar has to the
/// battery's minus; and the bar changes the path by its two lugs alone.
#[test]
fn a_bar_of_negatives_brings_back_all_that_hangs_on_it() {
    let alone = fused(NONE);
    let over = on_start(&[
        ("X1", "SB", "L9", 3.0, &alone),
        ("X2", "L9", "NB3", 3.0, NONE),
        ("X4", "SB", "L8", 3.0, &alone),
        ("X5", "L8", "NB3", 3.0, NONE),
        ("X3", "NB3", "SB", 1.0, NONE),
    ]);
    let r = evaluate(&over);
    for (id, watts) in [("X1", 120.0), ("X2", 120.0), ("X5", 60.0), ("X3", 180.0)] {
        near(id, Ok(design_a(&r, id)), watts / 11.0, 1e-9);
    }
    assert!(r.not_checked.is_empty() && found(&r, "return-not-drawn").is_empty(), "{}", texts(&r));
    let one = |runs: &[Run<'_>]| path_v(&evaluate(&on_start(runs)), "X1");
    let bar = one(&[("X1", "SB", "L9", 3.0, &alone), ("X2", "L9", "NB3", 3.0, NONE), ("X3", "NB3", "SB", 1.0, NONE)]);
    let straight = one(&[("X1", "SB", "L9", 3.0, &alone), ("X2", "L9", "SB", 4.0, NONE)]);
    // Joints of 0.05 mohm (from memory) at 10 A.
    assert!(bar > straight && bar - straight < 0.0015, "{bar} {straight}");
    // It is held to the fuses of both, 30 A: 16 AWG is for 8 A of fuse at most (former NEC 551.10).
    let mut thin = over;
    thin.runs.iter_mut().filter(|x| x.id.as_str() == "X3").for_each(|x| {
        x.gauge = coachwire::plan::Known::Is("16 AWG".parse().expect("gauge"));
    });
    let r = evaluate(&thin);
    let f = r.findings.iter().find(|f| f.check.id == "fuse-above-conductor" && f.subject.as_str() == "runs.X3");
    assert!(f.is_some_and(|f| f.level == Level::Stop && f.n(0) == 30.0), "{}", texts(&r));
}

/// One conductor with nothing that leads back loses what a pair of it does, and that is said; over the frame it waits to be measured, as
/// at the house bank. Source: Kirchhoff's current law; nobody knows what a frame loses.
#[test]
fn a_single_positive_is_not_counted_one_way() {
    let (alone, pair) = (fused(NONE), fused(""));
    let none = on_start(&[("X1", "SB", "L9", 3.0, &alone)]);
    let r = evaluate(&none);
    assert!(says(&r, "return-not-drawn", "runs.X1"), "{}", texts(&r));
    let pair = evaluate(&on_start(&[("X1", "SB", "L9", 3.0, &pair)]));
    near("there and back", Ok(path_v(&r, "X1")), path_v(&pair, "X1"), 1e-9);
    assert!(found(&pair, "return-not-drawn").is_empty());
    is_curable(&none, "return-not-drawn", "runs.X1");
    let frame = evaluate(&on_start(&[("X1", "SB", "L9", 3.0, &alone), ("X2", "L9", "CHS", 1.0, NONE)]));
    assert!(found(&frame, "return-not-drawn").is_empty(), "{}", texts(&frame));
    assert_eq!(run(&frame, "X1").path_drop_v.clone().map_err(|m| m.0.to_string()), Err("runs.X1.measured_ohm".into()));
    // An engine's starter has its return in its own block.
    let mut starter = none.clone();
    starter.loads.iter_mut().filter(|l| l.id.as_str() == "L9").for_each(|l| l.name = "starter".into());
    assert!(found(&evaluate(&starter), "return-not-drawn").is_empty());
}

/// The line of a DC-DC charger in single conductors over a bar: its negative wants no fuse, carries what the charger draws, and all of what
/// two of them do where they share it.
#[test]
fn a_line_comes_back_over_a_bar_too() {
    let with_chargers = |ids: &[&str], bar: bool| {
        let mut p = on_start(&[]);
        for (k, id) in ids.iter().enumerate() {
            p = insert(
                &p,
                "chargers",
                &format!(
                    r#"(id: "{id}", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2, alternator_low_v: 13.2,
                    input_cutout_v: 11.5)"#
                ),
            );
            let run = |name: &str, from: &str, to: &str, long: f64, more: &str| {
                format!(
                    r#"(id: "{name}{k}", from: "{from}", to: "{to}", gauge: "4 AWG", legs: [(id: "L1", length_m: {long:?},
                    insulation_c: 105.0)], {more})"#
                )
            };
            let fuse = |at: &str| {
                format!(r#"protection: [(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)]"#)
            };
            let (to, long) = if bar { ("NB3", 2.0) } else { ("SB", 3.0) };
            p = insert(&p, "runs", &run("XP", "SB", id, 3.0, &format!("{NONE} {}", fuse("from"))));
            p = insert(&p, "runs", &run("XN", id, to, long, NONE));
            p = insert(&p, "runs", &run("XO", id, "BUS", 1.0, &fuse("to")));
        }
        let main = r#"(id: "XM", from: "NB3", to: "SB", gauge: "4 AWG", return_path: "none", legs: [(id: "L1", length_m: 1.0,
            insulation_c: 105.0)])"#;
        if bar { insert(&p, "runs", main) } else { p }
    };
    let (over, straight) = (evaluate(&with_chargers(&["CH"], true)), evaluate(&with_chargers(&["CH"], false)));
    assert!(over.findings.iter().all(|f| f.level != Level::Stop), "{}", texts(&over));
    assert!(found(&over, "return-not-drawn").is_empty(), "{}", texts(&over));
    near("amps", Ok(design_a(&over, "XP0")), design_a(&straight, "XP0"), 1e-3);
    for id in ["XN0", "XM"] {
        near(id, Ok(design_a(&over, id)), design_a(&over, "XP0"), 1e-12);
    }
    let two = evaluate(&with_chargers(&["CH", "CI"], true));
    near("both", Ok(design_a(&two, "XM")), design_a(&two, "XP0") + design_a(&two, "XP1"), 1e-9);
    assert!(two.findings.iter().all(|f| f.level != Level::Stop), "{}", texts(&two));
}

/// A breaker marked 14 V on a vehicle's line: 15 V with the engine running (common practice) are above its mark, which is a stop whatever
/// it is sold for; what its sheet says is entered.
#[test]
fn a_breaker_marked_for_less_than_the_engine_brings() {
    let of = |volts: f64| {
        let breaker = format!(
            r#"(id: "RB", kind: "resetting breaker", ratings: (volts_dc_v: {volts:?}, amps_a: 15.0, interrupt_a: 3000.0))"#
        );
        let alone = fused("");
        let p = on_start(&[("X1", "SB", "RB", 1.0, &alone), ("X2", "RB", "L9", 3.0, "")]);
        evaluate(&insert(&p, "devices", &breaker))
    };
    let r = of(14.0);
    let f = found(&r, "device-volts-low");
    assert_eq!((f.len(), f[0].level, f[0].n(1)), (1, Level::Stop, 15.0), "{}", texts(&r));
    assert!(f[0].text().contains("15.0 V with the engine running; where its sheet gives more"), "{}", f[0].text());
    assert!(found(&of(16.0), "device-volts-low").is_empty());
}
