//! Two batteries in parallel, each with its lead, fuse and switch, on one shunt: its volts on every way whatever else is drawn at
//! it, what fuses let back over it and over a negative that both share, and what both switches open.

use super::cures::cures;
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Level, Report, isolation};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// The bar's way back to the place on which both packs' negatives meet.
#[derive(Clone, Copy, PartialEq)]
enum Back {
    /// By the negatives of both second runs.
    Pairs,
    /// By one run of its own.
    Jumper,
    /// By both.
    Both,
}

/// A second battery's way beside the first; `place`: a shunt by its rating, or a bar without ohms.
fn packs(place: &str, back: Back, fuse_a: f64, jumper: &str) -> Plan {
    let mut p = insert(&sound(), "devices", &format!(r#"(id: "SHN", {place})"#));
    p = insert(&p, "devices", r#"(id: "SWB", kind: "switch")"#);
    p.runs.retain(|r| !["W3", "W4"].contains(&r.id.as_str()));
    for (first, second, switch) in [("X1", "Y1", "SW"), ("X2", "Y2", "SWB")] {
        let lead = format!(
            r#"(id: "{first}", from: "BK", to: "{switch}", gauge: "4/0 AWG", negative_to: "SHN", legs: [(id: "L1",
            length_m: 0.6, insulation_c: 105.0)], protection: [(id: "F1", at: "from", family: "UL 248-15 T",
            amps_a: {fuse_a:?}, distance_m: 0.1)])"#
        );
        let negative = if back == Back::Jumper { "" } else { r#"negative_from: "SHN", "# };
        let on = format!(
            r#"(id: "{second}", from: "{switch}", to: "BUS", gauge: "4/0 AWG", {negative}legs: [(id: "L1", length_m: 0.3,
            insulation_c: 105.0)])"#
        );
        p = insert(&insert(&p, "runs", &lead), "runs", &on);
    }
    if back != Back::Pairs {
        let run = format!(
            r#"(id: "N1", from: "SHN", to: "BUS", gauge: "{jumper}", return_path: "none", legs: [(id: "L1",
            length_m: 0.3, insulation_c: 105.0)])"#
        );
        p = insert(&p, "runs", &run);
    }
    with(&p, &[("bank.parallel", n(2.0)), ("runs.W7.from", Value::Id("SHN".parse().expect("id")))])
}

fn shunt(amps: f64) -> String {
    format!(r#"kind: "shunt", ratings: (amps_a: {amps:?})"#)
}

const BAR: &str = r#"kind: "bus""#;

/// What stays on: a panel of its own at the bank, its negative at the shunt.
fn with_detectors(p: &Plan) -> Plan {
    let p = insert(p, "devices", r#"(id: "AON", kind: "fuse panel")"#);
    let p = insert(&p, "loads", r#"(id: "L7", watts_w: 3.0, hours_day: 24.0)"#);
    let lead = r#"(id: "D1", from: "BK", to: "AON", gauge: "12 AWG", negative_from: "SHN", legs: [(id: "L1", length_m: 0.8,
        insulation_c: 105.0)], protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.1)])"#;
    let branch = r#"(id: "D2", from: "AON", to: "L7", gauge: "14 AWG", legs: [(id: "L1", length_m: 5.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.03)])"#;
    insert(&insert(&p, "runs", lead), "runs", branch)
}

fn volts(r: &Report, run: &str) -> f64 {
    let run = r.runs.iter().find(|r| r.id.as_str() == run).expect("run");
    run.path_drop_v.clone().expect("drop").0
}

/// A shunt loses 0.05 V at its rating (from memory), by all that passes it (Kirchhoff's current law): what both leads carry
/// together, on the way to the inverter, whichever runs are drawn at it.
#[test]
fn a_shunt_of_two_packs_is_on_every_way_whatever_else_hangs_on_it() {
    for back in [Back::Pairs, Back::Jumper, Back::Both] {
        for is_on in [false, true] {
            let of = |place: &str| {
                let p = packs(place, back, 150.0, "4/0 AWG");
                evaluate(&if is_on { with_detectors(&p) } else { p })
            };
            let (bar, small, large) = (of(BAR), of(&shunt(250.0)), of(&shunt(500.0)));
            let amps = |id: &str| {
                let run = small.runs.iter().find(|r| r.id.as_str() == id).expect("lead");
                run.drop_at_a.clone().expect("amps").0
            };
            let flows = amps("X1") + amps("X2");
            assert!(flows > 90.0, "{flows} A");
            for (r, rated) in [(&small, 250.0), (&large, 500.0)] {
                let (added, want) = (volts(r, "W5") - volts(&bar, "W5"), 0.05 / rated * flows);
                assert!(
                    (added - want).abs() < want * 0.02,
                    "{rated} A, {is_on}: {added} V, not {want} V\n{}",
                    texts(r)
                );
            }
        }
    }
}

/// What comes back over it is named by the runs that bring it, not by one that carries a quarter of an ampere.
#[test]
fn a_shunt_too_small_for_two_packs_names_their_leads() {
    let r = evaluate(&with_detectors(&packs(&shunt(60.0), Back::Pairs, 150.0, "")));
    let f = found(&r, "device-below-current");
    let f = f.iter().find(|f| f.subject.as_str() == "devices.SHN").unwrap_or_else(|| panic!("{}", texts(&r)));
    assert_eq!(f.name(1), "what comes back by X1, X2");
    // 1000 W / (12 V x 0.88) and 63 W of loads.
    assert!(f.n(0) > 94.7 && f.n(0) < 105.0, "{}", f.text());
}

/// Both packs' fuses together let 600 A back over it, by pairs as by a run of its own, where what they feed is fused for no less
/// (Kirchhoff's current law); what the loads' own fuses let through is all there is where that is less.
#[test]
fn a_shunt_below_both_packs_fuses_is_said() {
    let packs = |place: &str, back: Back, fuse_a: f64, jumper: &str| {
        with(&packs(place, back, fuse_a, jumper), &[("runs.W5.protection.F1.amps_a", n(600.0))])
    };
    for back in [Back::Pairs, Back::Jumper] {
        let less = with(&packs(&shunt(500.0), back, 300.0, "4/0 AWG"), &[("runs.W5.protection.F1.amps_a", n(150.0))]);
        assert!(!says(&evaluate(&less), "device-below-fuse", "devices.SHN"));
        let r = evaluate(&with_detectors(&packs(&shunt(500.0), back, 300.0, "4/0 AWG")));
        let f = found(&r, "device-below-fuse");
        let f = f.iter().find(|f| f.subject.as_str() == "devices.SHN").unwrap_or_else(|| panic!("{}", texts(&r)));
        assert_eq!((f.n(0), f.n(1)), (600.0, 500.0), "{}", f.text());
        let r = evaluate(&with_detectors(&packs(&shunt(600.0), back, 300.0, "4/0 AWG")));
        assert!(!says(&r, "device-below-fuse", "devices.SHN"), "{}", texts(&r));
    }
    // Whatever else is drawn at it: a lead of grounds, a negative of a charger's own, a jumper beside the pairs.
    for (more, end) in [("GB", r#"(id: "GB", kind: "bus")"#), ("C1", ""), ("BUS", "")] {
        let mut p = packs(&shunt(100.0), Back::Pairs, 300.0, "");
        if !end.is_empty() {
            p = with(&insert(&p, "devices", end), &[("runs.W7.from", Value::Id("GB".parse().expect("id")))]);
        }
        let lead = format!(
            r#"(id: "N9", from: "SHN", to: "{more}", gauge: "4/0 AWG", return_path: "none", legs: [(id: "L1",
            length_m: 0.3, insulation_c: 105.0)])"#
        );
        let r = evaluate(&insert(&p, "runs", &lead));
        let all = found(&r, "device-below-fuse");
        let f =
            all.iter().find(|f| f.subject.as_str() == "devices.SHN").unwrap_or_else(|| panic!("{more}\n{}", texts(&r)));
        assert_eq!((f.n(0), f.n(1)), (600.0, 100.0), "{more}: {}", f.text());
    }
}

/// One negative behind two packs of 300 A each: 4/0 AWG carries what either lets through, and more of the same carries both. A
/// thinner one is above what one pack alone lets through, which nothing opens (NEC 240.4).
#[test]
fn a_common_negative_behind_two_packs_is_doubled_and_their_fuses_stay() {
    let p = packs(&shunt(600.0), Back::Jumper, 300.0, "4/0 AWG");
    let r = evaluate(&p);
    let f = found(&r, "fuse-above-conductor");
    let f = f.iter().find(|f| f.subject.as_str() == "runs.N1").unwrap_or_else(|| panic!("{}", texts(&r)));
    assert_eq!((f.level, f.n(0)), (Level::Caution, 600.0), "{}", f.text());
    let steps = cures(&p, "fuse-above-conductor", "runs.N1");
    assert!(steps[0].name.starts_with("N1: 2 x 4/0 AWG"), "{steps:?}");
    assert!(steps.iter().all(|s| !s.name.contains("fuse")), "{steps:?}");
    let after = evaluate(&p.with(&steps[0]).expect("applies"));
    assert!(!says(&after, "fuse-above-conductor", "runs.N1"), "{}", texts(&after));
    assert!(after.findings.iter().all(|f| f.level != Level::Stop), "{}", texts(&after));
    let thin = evaluate(&packs(&shunt(600.0), Back::Jumper, 300.0, "2 AWG"));
    let f = found(&thin, "fuse-above-conductor");
    let level = f.iter().find(|f| f.subject.as_str() == "runs.N1").map(|f| f.level);
    assert_eq!(level, Some(Level::Stop), "{}", texts(&thin));
}

/// Either switch alone makes nothing dead, as the other battery feeds the bar: what both do is said beside them.
#[test]
fn what_both_switches_make_dead_is_said() {
    let mut p = packs(&shunt(600.0), Back::Pairs, 300.0, "");
    p.arrays.clear();
    let all = isolation(&p);
    let of = |name: &str| all.iter().find(|i| i.name == name).unwrap_or_else(|| panic!("{name} among {all:?}"));
    for one in ["SW", "SWB"] {
        assert!(of(one).dead.is_empty(), "{one}: {:?}", of(one));
    }
    let both = of("SW and SWB together");
    let dead: Vec<&str> = both.dead.iter().map(|id| id.as_str()).collect();
    for id in ["BUS", "INV", "FP", "L1"] {
        assert!(dead.contains(&id), "{id}: {both:?}");
    }
    assert!(!dead.contains(&"SW") && !dead.contains(&"SWB"), "{both:?}");
    // One battery's switch stands for all.
    assert!(isolation(&sound()).iter().all(|i| !i.name.contains("together")));
    // What hangs on the bank past both stays live.
    let on = isolation(&with_detectors(&with(&p, &[("loads.L1.life_safety", word("yes"))])));
    let both = on.iter().find(|i| i.name == "SW and SWB together").expect("both");
    assert!(!both.dead.iter().any(|id| id.as_str() == "AON"), "{both:?}");
}

/// A thinner one too: so many of the same wire as carry what both fuses let through, the next rating up where that rule is on
/// (NEC 240.4(B)). Each step leaves no stop.
#[test]
fn a_thinner_common_negative_gets_more_of_its_own_wire() {
    for (jumper, level) in [("2/0 AWG", Level::Caution), ("1/0 AWG", Level::Stop)] {
        let p = packs(&shunt(600.0), Back::Jumper, 300.0, jumper);
        let r = evaluate(&p);
        let f = found(&r, "fuse-above-conductor");
        let f = f.iter().find(|f| f.subject.as_str() == "runs.N1").unwrap_or_else(|| panic!("{}", texts(&r)));
        assert_eq!(f.level, level, "{}", f.text());
        let steps = cures(&p, "fuse-above-conductor", "runs.N1");
        let many = steps.iter().find(|s| s.name.starts_with("N1: ") && s.name.contains(&format!(" x {jumper}")));
        let after = evaluate(&p.with(many.unwrap_or_else(|| panic!("{steps:?}"))).expect("applies"));
        assert!(!says(&after, "fuse-above-conductor", "runs.N1"), "{}", texts(&after));
    }
}

/// Detectors on the bar behind both packs' switches live as long as either is closed, and die in storage, when both are open; ahead
/// of the switches they live on (NFPA 1192, gas detectors).
#[test]
fn detectors_behind_the_switches_of_both_packs_are_said() {
    let ahead = with_detectors(&packs(&shunt(600.0), Back::Pairs, 150.0, ""));
    let ahead = with(&ahead, &[("loads.L7.life_safety", word("yes"))]);
    let id = "life-safety-behind-switch";
    assert!(!says(&evaluate(&ahead), id, "loads.L7"), "{}", texts(&evaluate(&ahead)));
    let behind = with(&ahead, &[("runs.D1.from", Value::Id("BUS".parse().expect("id")))]);
    let r = evaluate(&behind);
    let f = found(&r, id);
    let f = f.iter().find(|f| f.subject.as_str() == "loads.L7").unwrap_or_else(|| panic!("{}", texts(&r)));
    assert_eq!((f.level, f.name(1), f.name(2)), (Level::Caution, "SW", "SWB"), "{}", f.text());
}

/// Both packs' leads straight on the bar: a switch in each is made for that lead's own fuse (Kirchhoff's current law), like for like.
#[test]
fn like_leads_get_like_switches() {
    let mut p = packs(&shunt(600.0), Back::Jumper, 300.0, "4/0 AWG");
    for lead in p.runs.iter_mut().filter(|r| r.id.as_str().starts_with('X')) {
        lead.to = coachwire::plan::Known::Is("BUS".parse().expect("id"));
    }
    p.runs.retain(|r| !r.id.as_str().starts_with('Y'));
    p.devices.retain(|d| !d.id.as_str().starts_with("SW"));
    let steps = cures(&p, "no-bank-disconnect", "bank");
    let both =
        steps.iter().filter(|s| s.name.contains("battery switch in X1: ") && s.name.contains("battery switch in X2: "));
    let both: Vec<_> = both.collect();
    assert!(!both.is_empty(), "{:?}", steps.iter().map(|s| &s.name).collect::<Vec<_>>());
    for step in both {
        let with = p.with(step).expect("applies");
        let new = with.devices.iter().filter(|d| p.devices.iter().all(|old| old.id != d.id));
        let amps: Vec<f64> = new.map(|d| d.ratings.amps_a.expect("rated").known().expect("known").0).collect();
        assert_eq!(amps, [300.0, 300.0], "{}", step.name);
    }
}
