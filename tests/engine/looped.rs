//! Runs on loops of positives: rings of splices, doubled feeds, ties between panels, loads wired on from load to load. A fault in one
//! is fed from both its ends.

use super::cures::cures;
use super::samples::SOUND;
use super::{evaluate, found, near, plan, says, texts};
use coachwire::engine::{Engine, Finding, Isolation, Level, Report, isolation};
use coachwire::plan::Plan;
use coachwire::plan::wiring::FuseAt;
use coachwire::stock::Stock;

const UNFUSED: &str = "source-end-unfused";
const FAR: &str = "fuse-far-from-source";

/// A run of the cabinet, with fuses at its ends.
fn line(id: &str, from: &str, to: &str, gauge: &str, fuses: &[(&str, f64)]) -> String {
    let fuse = |(n, (at, amps)): (usize, &(&str, f64))| {
        format!(r#"(id: "F{}", at: "{at}", family: "UL 248-15 T", amps_a: {amps:?}, distance_m: 0.1),"#, n + 1)
    };
    let fuses: String = fuses.iter().enumerate().map(fuse).collect();
    format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}",
            legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)], protection: [{fuses}]),"#
    )
}

/// The sound plan with more devices and runs, and without one of its own where that is named.
fn with(devices: &str, without: &str, runs: &[String]) -> Plan {
    let text = SOUND
        .replace("devices: [", &format!("devices: [{devices}"))
        .replace("    ],\n)", &format!("{}],\n)", runs.concat()));
    let loads = r#"loads: [(id: "L2", watts_w: 30.0, hours_day: 1.0), (id: "L3", watts_w: 20.0, hours_day: 1.0), "#;
    let mut p = plan(&text.replace("loads: [", loads));
    p.runs.retain(|r| r.id.as_str() != without);
    p
}

/// Of a run what is said of its protection.
fn of<'a>(r: &'a Report, run: &str) -> Vec<&'a Finding> {
    let own = |f: &&Finding| f.run() == Some(run) && (f.check.id == UNFUSED || f.check.id == FAR);
    r.findings.iter().filter(own).collect()
}

fn protected(r: &Report, runs: &[&str]) {
    for run in runs {
        assert!(of(r, run).is_empty(), "{run}:\n{}", texts(r));
    }
}

/// The tie of two panels: BUS feeds AON and FP, a run joins these.
fn tied(to_aon: &[(&str, f64)], tie: bool) -> Plan {
    let mut runs = vec![line("W10", "BUS", "AON", "6 AWG", to_aon)];
    if tie {
        runs.push(line("W11", "AON", "FP", "8 AWG", &[("from", 30.0)]));
    }
    with(r#"(id: "AON", kind: "fuse panel"),"#, "", &runs)
}

/// A run that leaves the bus without a fuse is unfused there, whatever ties the panels behind it. Fused at the wrong end it is too
/// far from the bus; a tie moves nothing to the other end.
///
/// Source: NEC 240.21, a conductor is protected where it receives its supply; NEC 552.10(E)(4), 18 in.
#[test]
fn a_tie_hides_no_unfused_source_end() {
    for tie in [false, true] {
        let r = evaluate(&tied(&[], tie));
        let all = of(&r, "W10");
        assert_eq!(all.len(), 1, "{}", texts(&r));
        assert_eq!((all[0].check.id, all[0].level, all[0].name(1)), (UNFUSED, Level::Stop, "BUS"), "{}", texts(&r));
        near("ahead", Ok(all[0].n(0)), 150.0, 1e-12);
        let far = evaluate(&tied(&[("to", 40.0)], tie));
        let all = of(&far, "W10");
        assert_eq!((all[0].check.id, all[0].level, all[0].name(1)), (FAR, Level::Stop, "BUS"), "{}", texts(&far));
        protected(&evaluate(&tied(&[("from", 40.0)], tie)), &["W6", "W10", "W11"]);
    }
    // What mends it sits at the bus.
    let steps = cures(&tied(&[], true), UNFUSED, "runs.W10");
    let fused: Vec<_> = steps.iter().filter(|s| s.name.contains("fused at BUS")).collect();
    assert_eq!(fused.len(), 1, "{steps:?}");
    let p = tied(&[("to", 40.0)], true);
    let moved = p.with(&cures(&p, FAR, "runs.W10")[0]).expect("applies");
    assert_eq!(moved.runs.iter().find(|r| r.id.as_str() == "W10").map(|r| r.protection[0].at), Some(FuseAt::From));
    protected(&evaluate(&moved), &["W6", "W10", "W11"]);
}

/// A second way to a place takes nothing from the fault at a fuse that stands where it did, on the loop and behind it; what comes by
/// both is their parallel.
///
/// Source: Kirchhoff's laws: a conductor more between two places never lowers what flows to either.
#[test]
fn a_second_way_lowers_no_fault() {
    let fused = [("from", 40.0)];
    let (alone, both) = (evaluate(&tied(&fused, false)), evaluate(&tied(&fused, true)));
    let fault = |r: &Report, run: &str| {
        let own = r.runs.iter().find(|f| f.id.as_str() == run).expect("a run");
        own.fuses[0].fault_a.clone().expect("known").0
    };
    for run in ["W6", "W10"] {
        assert!(fault(&both, run) >= fault(&alone, run) - 1e-6, "{run}: {} {}", fault(&both, run), fault(&alone, run));
    }
    // W11's fuse stands at AON: by W10 alone, its own run open there, more comes than by FP and the whole of W11.
    let (ahead, behind) = (fault(&both, "W11"), fault(&both, "W10"));
    assert!(ahead > 500.0 && ahead < behind, "{ahead} {behind}");
    // Two equal runs side by side halve the ohms between them and what hangs behind.
    let twin = |count: usize| {
        let runs: Vec<String> = (0..count).map(|n| line(&format!("W2{n}"), "BUS", "AON", "8 AWG", &fused)).collect();
        let branch = line("W30", "AON", "L2", "8 AWG", &[("from", 10.0)]);
        let p = with(r#"(id: "AON", kind: "fuse panel"),"#, "", &[runs, vec![branch]].concat());
        13.3 / fault(&evaluate(&p), "W30")
    };
    let (one, two) = (twin(1), twin(2));
    let bus = 13.3 / fault(&evaluate(&tied(&fused, false)), "W10");
    assert!(two < one && two > bus, "{one} {two} {bus}");
    // Of 2 m of 8 AWG there and back, 2.551 ohm/km at 75 C, taken to 20 C (NEC Ch. 9 Table 8, alpha 0.00323 at 75 C).
    near("half", Ok((one - two) * 1000.0), 0.5 * 4.0 * 2.551 / (1.0 + 0.00323 * 55.0), 0.05);
}

/// A ring of splices behind the panel: 16 AWG, which carries a fuse of 8 A at most, and 12 AWG, which carries 20 A.
fn ring(thin: &[(&str, f64)], thick: &[(&str, f64)]) -> Plan {
    let runs = [
        line("W10", "FP", "SP", "16 AWG", thin),
        line("W11", "FP", "SP2", "12 AWG", thick),
        line("W12", "SP", "SP2", "12 AWG", &[]),
        line("W13", "SP", "L2", "12 AWG", &[]),
        line("W14", "SP2", "L3", "12 AWG", &[]),
    ];
    with(r#"(id: "SP", kind: "splice"), (id: "SP2", kind: "splice"),"#, "", &runs)
}

fn ends(p: &Plan, run: &str) -> Vec<FuseAt> {
    let mut all: Vec<FuseAt> =
        p.runs.iter().find(|r| r.id.as_str() == run).expect("run").protection.iter().map(|f| f.at).collect();
    all.sort_by_key(|at| *at == FuseAt::To);
    all
}

/// What comes in at a splice the other way round the ring is held against the wire there; the fuse at the panel is right, and
/// stays.
///
/// Source: former NEC 551.10, 8 A on 16 AWG and 20 A on 12 AWG; NEC 240.21.
#[test]
fn a_ring_is_fed_from_both_sides() {
    let p = ring(&[("from", 6.0)], &[("from", 10.0)]);
    let r = evaluate(&p);
    let all = of(&r, "W10");
    assert_eq!(all.len(), 1, "{}", texts(&r));
    assert_eq!((all[0].check.id, all[0].name(1), all[0].n(0)), (UNFUSED, "SP", 10.0), "{}", texts(&r));
    protected(&r, &["W6", "W11", "W12", "W13", "W14"]);
    for step in cures(&p, UNFUSED, "runs.W10") {
        let after = p.with(&step).expect("applies");
        assert!(ends(&after, "W10").contains(&FuseAt::From), "{}", step.name);
        protected(&evaluate(&after), &["W10", "W11", "W12", "W13", "W14"]);
    }
    let sized = p.with(&Engine::default().size_all(&p, &Stock::default(), false)).expect("applies");
    assert!(ends(&sized, "W10").contains(&FuseAt::From), "{:?}", ends(&sized, "W10"));
    protected(&evaluate(&sized), &["W10", "W11", "W12", "W13", "W14"]);
    // No more than its own comes back to it: nothing to say.
    protected(&evaluate(&ring(&[("from", 6.0)], &[("from", 6.0)])), &["W10", "W11", "W12", "W13", "W14"]);
    // At the splices alone both are bare at the panel, behind the 40 A of its feed.
    let far = evaluate(&ring(&[("to", 6.0)], &[("to", 10.0)]));
    for run in ["W10", "W11"] {
        let all = of(&far, run);
        assert!(all.iter().any(|f| f.level == Level::Stop && f.name(1) == "FP"), "{run}:\n{}", texts(&far));
        assert!(!all.iter().any(|f| f.name(1) == "SP" || f.name(1) == "SP2"), "{run}:\n{}", texts(&far));
    }
}

/// Without a fuse the thin run lacks one at each end, where more comes in than it allows: one sentence names both, and the cure
/// puts both. Where nothing is fused yet, what its like gets will hold it at the splice as well.
#[test]
fn a_bare_run_of_a_ring_names_both_ends() {
    let bare = evaluate(&ring(&[], &[]));
    for run in ["W10", "W11"] {
        assert!(of(&bare, run).len() == 1 && of(&bare, run)[0].name(1) == "FP", "{run}:\n{}", texts(&bare));
    }
    let p = ring(&[], &[("from", 10.0)]);
    let r = evaluate(&p);
    let all = of(&r, "W10");
    assert_eq!(all.len(), 1, "{}", texts(&r));
    let text = all[0].text();
    assert!(text.contains("40 A ahead of FP") && text.contains("10 A ahead of SP"), "{text}");
    let after = p.with(&cures(&p, UNFUSED, "runs.W10")[0]).expect("applies");
    assert_eq!(ends(&after, "W10"), [FuseAt::From, FuseAt::To]);
}

/// Two feeds of one panel: each feeds the other from the panel's end.
///
/// Source: former NEC 551.10, 15 A on 14 AWG: the 40 A of the other feed are above that. Of two that each stand the other's fuse
/// nothing is to be said; and what one lacks at the bus is not said of the other.
#[test]
fn a_doubled_feed_feeds_the_other_one_backward() {
    let doubled = |gauge: &str, fuses: &[(&str, f64)]| with("", "", &[line("W10", "BUS", "FP", gauge, fuses)]);
    let r = evaluate(&doubled("14 AWG", &[("from", 15.0)]));
    let all = of(&r, "W10");
    assert_eq!(all.len(), 1, "{}", texts(&r));
    assert_eq!((all[0].check.id, all[0].name(1), all[0].n(0), all[0].n(1)), (UNFUSED, "FP", 40.0, 15.0));
    protected(&r, &["W6"]);
    protected(&evaluate(&doubled("6 AWG", &[("from", 40.0)])), &["W6", "W10"]);
    // Too thin for what flows there: the wire that carries it comes with a fuse at the end that lacks one, and keeps the other.
    let thin = with("", "", &[line("W10", "BK", "BUS", "8 AWG", &[("to", 40.0)])]);
    let steps = cures(&thin, UNFUSED, "runs.W10");
    assert!(!steps.is_empty(), "{}", texts(&evaluate(&thin)));
    for step in &steps {
        assert_eq!(ends(&thin.with(step).expect("applies"), "W10"), [FuseAt::From, FuseAt::To], "{}", step.name);
    }
    let bare = evaluate(&doubled("6 AWG", &[]));
    assert_eq!(of(&bare, "W10").len(), 1, "{}", texts(&bare));
    assert_eq!(of(&bare, "W10")[0].name(1), "BUS", "{}", texts(&bare));
    protected(&bare, &["W6"]);
}

/// A branch behind two ways is fed by both of them, however much shorter the one is: each fuse opens at its own rating only.
///
/// Source: Kirchhoff's current law: 15 A and 40 A.
#[test]
fn a_branch_behind_a_loop_is_held_to_all_ways() {
    let runs = |second: bool| {
        let mut runs = vec![
            line("W10", "BUS", "FP", "14 AWG", &[("from", 15.0), ("to", 15.0)]),
            line("W11", "FP", "L2", "14 AWG", &[]),
        ];
        if second {
            runs.push(line("W12", "BUS", "B2", "6 AWG", &[("from", 40.0)]));
            runs.push(line("W13", "B2", "FP", "6 AWG", &[]));
        }
        with(r#"(id: "B2", kind: "bus"),"#, "W6", &runs)
    };
    protected(&evaluate(&runs(false)), &["W10", "W11"]);
    let r = evaluate(&runs(true));
    let all = of(&r, "W11");
    assert_eq!((all.len(), all[0].n(0), all[0].n(1)), (1, 55.0, 15.0), "{}", texts(&r));
    protected(&r, &["W10", "W12", "W13"]);
}

/// A load that another hangs on is a splice: what that draws flows ahead of it, and its wire is held to the fuse there.
///
/// Source: Kirchhoff's current law; the same drawn with a splice is the twin.
#[test]
fn a_load_wired_on_from_a_load_counts_ahead_of_it() {
    let chain = |node: &str| {
        let mut runs =
            vec![line("W10", "FP", node, "14 AWG", &[("from", 10.0)]), line("W11", node, "L3", "18 AWG", &[])];
        if node != "L2" {
            runs.push(line("W12", node, "L2", "14 AWG", &[]));
        }
        evaluate(&with(r#"(id: "SP", kind: "splice"),"#, "", &runs))
    };
    let (load, splice) = (chain("L2"), chain("SP"));
    let design =
        |r: &Report, id: &str| r.runs.iter().find(|x| x.id.as_str() == id).expect("run").design_a.clone().map(|a| a.0);
    near("ahead", design(&load, "W10"), design(&splice, "W10").expect("known"), 1e-12);
    assert!(design(&load, "W10").expect("known") > design(&load, "W11").expect("known") * 2.0);
    assert!(!says(&load, "load-without-supply", "loads.L3"), "{}", texts(&load));
    assert!(load.not_checked.is_empty(), "{:?}", load.not_checked);
    let (own, twin) = (of(&load, "W11"), of(&splice, "W11"));
    assert_eq!((own.len(), own[0].n(0), own[0].n(1)), (1, 10.0, 6.0), "{}", texts(&load));
    assert_eq!(twin[0].numbers, own[0].numbers);
    // Two loads that have their feeds are joined: a loop, and the thin run between them takes the larger fuse.
    let runs = [
        line("W10", "FP", "L2", "14 AWG", &[("from", 3.0)]),
        line("W11", "FP", "L3", "14 AWG", &[("from", 10.0)]),
        line("W12", "L2", "L3", "18 AWG", &[]),
    ];
    let r = evaluate(&with("", "", &runs));
    assert!(!found(&r, "loop").is_empty(), "{}", texts(&r));
    let all = of(&r, "W12");
    assert_eq!((all.len(), all[0].name(1), all[0].n(0)), (1, "L3", 10.0), "{}", texts(&r));
    // Feeds that end on one load and lead no further are no loop.
    let two =
        [line("W10", "FP", "L2", "14 AWG", &[("from", 10.0)]), line("W11", "BUS", "L2", "14 AWG", &[("from", 10.0)])];
    assert!(found(&evaluate(&with("", "", &two)), "loop").is_empty());
}

fn opened(p: &Plan, name: &str) -> Isolation {
    isolation(p).into_iter().find(|i| i.name == name).expect("opener")
}

fn by<'a>(i: &'a Isolation, id: &str) -> &'a str {
    i.live.iter().find(|(x, _)| x.as_str() == id).map_or("", |(_, why)| why.as_str())
}

/// A way past the main switch, however long: what stays live behind it is listed, and nothing switches the coach off.
#[test]
fn a_way_past_the_switch_keeps_all_alive() {
    let two = [line("W10", "BK", "B2", "4 AWG", &[("from", 60.0)]), line("W11", "B2", "BUS", "4 AWG", &[])];
    let p = with(r#"(id: "B2", kind: "bus"),"#, "", &two);
    assert!(found(&evaluate(&with("", "", &[])), "no-bank-disconnect").is_empty());
    let r = evaluate(&p);
    let past = found(&r, "no-bank-disconnect").first().map(|f| f.text()).unwrap_or_default();
    assert!(past.contains("W10, W11") && past.contains("taken out"), "{past}\n{}", texts(&r));
    let sw = opened(&p, "SW");
    for id in ["BUS", "B2", "INV", "FP", "L1"] {
        assert_eq!(by(&sw, id), "the battery bank", "{id}: {sw:?}");
    }
    assert!(sw.dead.is_empty() && sw.held.is_empty(), "{sw:?}");
    // What hangs ahead of the switch is not behind it.
    let ahead = with(
        r#"(id: "B2", kind: "bus"),"#,
        "",
        &[two[0].clone(), two[1].clone(), line("W12", "BK", "L2", "14 AWG", &[("from", 15.0)])],
    );
    assert_eq!(by(&opened(&ahead, "SW"), "L2"), "");
    // Over the terminals of an inverter with a feed of its own: the bus is live, and is not held up by the sun alone.
    let studs = with("", "", &[line("W10", "BK", "INV", "4/0 AWG", &[("from", 150.0)])]);
    let sw = opened(&studs, "SW");
    assert_eq!(by(&sw, "BUS"), "the battery bank", "{sw:?}");
    assert_eq!(by(&sw, "INV"), "the battery bank", "{sw:?}");
    assert!(sw.held.is_empty(), "{sw:?}");
}

/// A second battery of the house, drawn as a start battery, beside one that cranks: no alternator charges it.
#[test]
fn a_second_house_battery_has_no_alternator() {
    let batteries = r#"(id: "SB", kind: "start battery", cca_a: 700.0), (id: "SB2", kind: "start battery", chemistry: "AGM", cca_a: 700.0),
        (id: "ALT", kind: "alternator", ratings: (amps_a: 100.0)),"#;
    let starts = line("W10", "ALT", "SB", "4 AWG", &[("to", 100.0)]);
    let joined = line("W11", "SB2", "BUS", "4 AWG", &[("from", 60.0), ("to", 60.0)]);
    let r = evaluate(&with(batteries, "", &[starts.clone(), joined.clone()]));
    let text = found(&r, "alternator-on-lithium").first().map(|f| f.text()).unwrap_or_default();
    assert!(text.starts_with("SB2 (AGM) is joined to the LFP bank by W11"), "{text}");
    assert!(!text.contains("alternator"), "{text}");
    let of_engine = line("W12", "ALT", "SB2", "4 AWG", &[("to", 100.0)]);
    let r = evaluate(&with(batteries, "", &[starts, joined, of_engine]));
    let text = found(&r, "alternator-on-lithium").first().map(|f| f.text()).unwrap_or_default();
    assert!(text.contains("nothing limits the alternator's current"), "{text}");
}
