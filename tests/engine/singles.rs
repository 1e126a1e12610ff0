//! A coach all in single conductors: what is forgotten in it or stands in the wrong place is told once, at the place where it is, with one
//! key that mends it; and nothing of that hangs on the order in which its runs are listed.

use std::collections::BTreeSet;

use super::comes_back::{NONE, fuse};
use super::cures::{cures, is_curable};
use super::mistakes::{insert, with};
use super::{evaluate, found, plan, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::samples::SAMPLES;
use coachwire::plan::wiring::Return;
use coachwire::plan::{Plan, Run, Value};

/// One run: id, from, to, gauge, metres, and the fuse at its from end, A.
type Lead<'a> = (&'a str, &'a str, &'a str, &'a str, f64, f64);

const PLUS: [Lead<'static>; 8] = [
    ("W3", "BK", "SW", "4/0 AWG", 0.6, 250.0),
    ("W4", "SW", "PB", "4/0 AWG", 0.4, 0.0),
    ("W5", "PB", "INV", "4/0 AWG", 0.8, 200.0),
    ("W6", "PB", "FP", "6 AWG", 1.5, 50.0),
    ("W7", "PB", "CH", "4 AWG", 1.2, 60.0),
    ("W8", "FP", "L1", "12 AWG", 3.0, 10.0),
    ("W9", "FP", "L2", "12 AWG", 2.0, 10.0),
    ("W11", "BK", "L9", "14 AWG", 3.0, 5.0),
];

const MINUS: [Lead<'static>; 8] = [
    ("N1", "BK-", "SHN", "4/0 AWG", 0.3, 0.0),
    ("N2", "SHN", "NB", "4/0 AWG", 0.3, 0.0),
    ("N5", "INV", "NB", "4/0 AWG", 0.8, 0.0),
    ("N7", "CH", "NB", "4 AWG", 1.2, 0.0),
    ("N8", "L1", "NB", "12 AWG", 3.0, 0.0),
    ("N9", "L2", "NB", "12 AWG", 2.0, 0.0),
    ("N11", "L9", "NB", "14 AWG", 3.0, 0.0),
    ("B1", "SHN", "CHS", "4/0 AWG", 0.6, 0.0),
];

/// The coach with some runs left out and others drawn instead.
pub(super) fn coach(without: &[&str], more: &[Lead<'_>]) -> Plan {
    let mut text = String::new();
    let kept = PLUS.iter().chain(&MINUS).filter(|lead| !without.contains(&lead.0));
    for (id, from, to, gauge, m, fuse_a) in kept.chain(more) {
        let fused = if *fuse_a > 0.0 { fuse(*fuse_a) } else { String::new() };
        text += &format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}", {NONE}
                legs: [(id: "L1", length_m: {m:?}, ambient_c: 30.0, insulation_c: 105.0)], {fused}),"#
        );
    }
    // A part that no run ends on asks for one.
    let on = |id: &str| more.iter().any(|lead| [lead.1, lead.2].contains(&id));
    let parts = [("CV", "12 V converter"), ("FP2", "fuse panel")].into_iter().filter(|(id, _)| on(id));
    let devices: String = parts.map(|(id, kind)| format!(r#", (id: "{id}", kind: "{kind}")"#)).collect();
    plan(&format!(
        r#"(
        bank: (chemistry: "LFP", unit_v: 12.8, unit_ah: 100.0, series: 1.0, parallel: 3.0, ohmic_mohm: 6.0,
            max_discharge_a: 100.0, max_charge_a: 50.0, charge_cutoff_c: 0.0, vented: "no"),
        inverters: [(id: "INV", watts_w: 1000.0, idle_w: 20.0, efficiency_pct: 90.0)],
        chargers: [(id: "CH", kind: "shore", out_a: 45.0, efficiency_pct: 88.0, absorb_v: 14.2)],
        devices: [(id: "SW", kind: "switch"), (id: "NSW", kind: "switch"), (id: "PB", kind: "bus"), (id: "NB", kind: "bus"),
            (id: "NB2", kind: "bus"), (id: "FP", kind: "fuse panel"), (id: "SHN", kind: "shunt", ratings: (amps_a: 300.0)),
            (id: "CHS", kind: "chassis point"){devices}],
        loads: [(id: "L1", watts_w: 60.0, hours_day: 4.0), (id: "L2", watts_w: 40.0, hours_day: 8.0),
            (id: "L9", name: "gas detector", watts_w: 3.0, hours_day: 24.0, life_safety: "yes")],
        runs: [{text}],
    )"#
    ))
}

fn stops(r: &Report) -> Vec<String> {
    r.findings.iter().filter(|f| f.level == Level::Stop).map(|f| format!("{} {}", f.check.id, f.subject)).collect()
}

/// The finding is told, the first step offered mends it, brings no stop, and leaves no finding of these checks.
#[track_caller]
fn mended(p: &Plan, check: &str, subject: &str) -> (String, Plan) {
    is_curable(p, check, subject);
    let step = cures(p, check, subject).remove(0);
    let after = p.with(&step).expect("applies");
    let r = evaluate(&after);
    assert_eq!(stops(&r), Vec::<String>::new(), "{}", step.name);
    for check in ["return-not-drawn", "negative-leads-nowhere", "bank-not-joined", "poles-joined"] {
        assert!(found(&r, check).is_empty(), "{}: {}", step.name, texts(&r));
    }
    (step.name.clone(), after)
}

fn run<'a>(p: &'a Plan, id: &str) -> &'a Run {
    p.runs.iter().find(|r| r.id.as_str() == id).expect("drawn")
}

fn ends(run: &Run) -> [String; 2] {
    [&run.from, &run.to].map(|end| end.known().map_or_else(String::new, ToString::to_string))
}

/// The coach as it is right says nothing of poles, returns or stops; so does one whose panel has its own minus beside its loads', but that this is
/// to be measured: nothing comes back by it, and from the panel's plus it would be a dead short (NEC 110.7).
#[test]
fn a_coach_in_single_conductors_is_right() {
    let own = coach(&[], &[("N6", "FP", "NB", "6 AWG", 1.5, 0.0)]);
    let measured = super::mistakes::with(&own, &[("runs.N6.polarity_measured", super::mistakes::word("yes"))]);
    for (p, asked) in [(coach(&[], &[]), &[][..]), (own, &["runs.N6"]), (measured, &[])] {
        let r = evaluate(&p);
        assert_eq!(stops(&r), Vec::<String>::new());
        for check in ["return-not-drawn", "negative-leads-nowhere", "bank-not-joined", "poles-joined"] {
            assert!(found(&r, check).is_empty(), "{check}: {}", texts(&r));
        }
        let read: Vec<_> = found(&r, "read-as-negative").into_iter().map(|f| f.subject.as_str()).collect();
        assert_eq!(read, asked, "{}", texts(&r));
    }
    let r = evaluate(&coach(&[], &[]));
    assert!(r.not_checked.iter().all(|n| n.waits_for.as_str() != "runs"), "{:?}", r.not_checked);
}

/// A gas detector keeps its supply whatever a switch does (NFPA 1192, as the finding cites): with a switch in the bank's minus its own
/// minus is led to the bank's side of that, at the shunt's load side where the shunt lies there.
#[test]
fn a_detectors_minus_is_led_round_a_switch_in_the_minus() {
    let check = "life-safety-negative-switched";
    let main = [("N2", "SHN", "NSW", "4/0 AWG", 0.3, 0.0), ("N3", "NSW", "NB", "4/0 AWG", 0.3, 0.0)];
    let behind_shunt =
        |more: &[Lead<'_>], without: &[&str]| coach(&[&["N2"], without].concat(), &[&main, more].concat());
    let own = behind_shunt(&[], &[]);
    let at_switch = behind_shunt(&[("N11", "L9", "NSW", "14 AWG", 3.0, 0.0)], &["N11"]);
    for p in [&own, &at_switch] {
        let (name, after) = mended(p, check, "loads.L9");
        assert_eq!(ends(run(&after, "N11")), ["L9", "SHN"], "{name}");
        assert!(name.contains("measured anew") && found(&evaluate(&after), "shunt-bypass").is_empty(), "{name}");
    }
    // On a bar of its own behind a switch in that bar's lead: the bar ahead of the switch.
    let lead = [("N12", "NB", "NSW", "10 AWG", 0.3, 0.0), ("N13", "NSW", "NB2", "10 AWG", 0.3, 0.0)];
    let sub = coach(&["N11"], &[&lead[..], &[("N11", "L9", "NB2", "14 AWG", 3.0, 0.0)]].concat());
    assert_eq!(ends(run(&mended(&sub, check, "loads.L9").1, "N11")), ["L9", "NB"]);
    // A switch ahead of the shunt leaves the post alone, past the shunt, which is noted.
    let main = [("N1", "BK-", "NSW", "4/0 AWG", 0.3, 0.0), ("N3", "NSW", "SHN", "4/0 AWG", 0.3, 0.0)];
    let ahead = coach(&["N1"], &main);
    let (name, after) = mended(&ahead, check, "loads.L9");
    assert_eq!(ends(run(&after, "N11")), ["L9", "BK-"], "{name}");
    // Its twin, on the shunt from the start, is silent.
    let right = behind_shunt(&[("N11", "L9", "SHN", "14 AWG", 3.0, 0.0)], &["N11"]);
    assert!(found(&evaluate(&right), check).is_empty() && stops(&evaluate(&right)).is_empty());
}

/// What lacks its minus is named, and gets one beside its plus: from the same place, of the same wire and length, without a fuse (NEC
/// 240.15(A): overcurrent devices stand in the ungrounded conductor), to the bar that the others' are on.
#[test]
fn a_forgotten_minus_is_drawn_to_the_bar_of_minus() {
    for (lost, plus, thing) in [("N8", "W8", "L1"), ("N5", "W5", "INV"), ("N7", "W7", "CH"), ("N11", "W11", "L9")] {
        let p = coach(&[lost], &[]);
        let subject = format!("runs.{plus}");
        let r = evaluate(&p);
        let f = found(&r, "return-not-drawn");
        assert_eq!((f.len(), f[0].subject.as_str()), (1, subject.as_str()), "{}", texts(&r));
        assert!(f[0].text().starts_with(&format!("{thing} lacks its minus")), "{}", f[0].text());
        let (name, after) = mended(&p, "return-not-drawn", &subject);
        let drawn = after.runs.last().expect("drawn");
        assert_eq!(ends(drawn), [thing, "NB"], "{name}");
        let like = run(&after, plus);
        assert_eq!((drawn.gauge, drawn.return_path, drawn.protection.len()), (like.gauge, Return::None, 0), "{name}");
        let length = |r: &Run| r.legs.iter().map(|l| l.length_m.known().expect("measured").0).sum::<f64>();
        super::near(plus, Ok(length(drawn)), length(like), 1e-9);
    }
}

/// The one wire that is missing between the bar of minus and the bank is told at the bar, once, and drawn by one key.
#[test]
fn a_bar_of_minus_that_nothing_leads_on_from_is_told_once() {
    let check = "negative-leads-nowhere";
    for (without, bar, to) in [(&["N2"][..], "NB", "SHN"), (&["N1"], "SHN", "BK-"), (&["N1", "N2", "B1"], "NB", "BK-")]
    {
        let p = coach(without, &[]);
        let r = evaluate(&p);
        assert!(found(&r, "return-not-drawn").is_empty(), "{}", texts(&r));
        let f = found(&r, check);
        let subject = format!("devices.{bar}");
        assert_eq!(f.iter().map(|f| f.subject.as_str()).collect::<Vec<_>>(), [subject.as_str()], "{}", texts(&r));
        assert!(f[0].text().starts_with(&format!("{bar}: nothing leads from it back to the bank")), "{}", f[0].text());
        let (name, after) = mended(&p, check, &subject);
        assert_eq!(ends(after.runs.last().expect("drawn")), [bar, to], "{name}");
        assert!(name.contains("to be measured"), "{name}");
    }
}

/// A fuse stands in the ungrounded conductor (NEC 240.15(A)): in the minus of what has its plus by another run it is taken out.
#[test]
fn a_fuse_in_the_minus_is_taken_out() {
    let p = coach(&["N7"], &[("N7", "CH", "NB", "4 AWG", 1.2, 60.0)]);
    let (name, after) = mended(&p, "poles-joined", "runs.N7");
    assert!(run(&after, "N7").protection.is_empty() && name.contains("its fuse taken out"), "{name}");
    // With a minus of its own beside it, it is plus on the bar of minus.
    let p = coach(&[], &[("X1", "CH", "NB", "4 AWG", 1.2, 60.0)]);
    assert!(mended(&p, "poles-joined", "runs.X1").0.starts_with("X1 removed"));
}

/// What is fed from the bar of minus has no plus: its feed begins on the bar of plus instead.
#[test]
fn a_feed_from_the_bar_of_minus_begins_on_that_of_plus() {
    let panel_minus = ("N6", "FP", "NB", "6 AWG", 1.5, 0.0);
    for (feed, thing, more) in [
        (("W6", "NB", "FP", "6 AWG", 1.5, 50.0), "FP", None),
        (("W6", "NB", "FP", "6 AWG", 1.5, 50.0), "FP", Some(panel_minus)),
        (("W5", "NB", "INV", "4/0 AWG", 0.8, 200.0), "INV", None),
    ] {
        let p = coach(&[feed.0], &[&[feed][..], more.as_slice()].concat());
        let r = evaluate(&p);
        let text = found(&r, "bank-not-joined")[0].text();
        assert!(text.contains(&format!("no plus leads from the bank to {thing}")), "{text}");
        let (name, after) = mended(&p, "bank-not-joined", "devices.NB");
        assert_eq!(ends(run(&after, feed.0)), ["PB", thing], "{name}");
    }
}

/// The two mains crossed at the posts, and at the bars: the two are exchanged, and neither is taken out, which would leave plus on minus.
#[test]
fn crossed_mains_are_exchanged() {
    let posts = [("W3", "BK-", "SW", "4/0 AWG", 0.6, 250.0), ("N1", "BK", "SHN", "4/0 AWG", 0.3, 0.0)];
    let bars = [("W4", "SW", "NB", "4/0 AWG", 0.4, 0.0), ("N2", "SHN", "PB", "4/0 AWG", 0.3, 0.0)];
    for crossed in [posts, bars] {
        let p = coach(&[crossed[0].0, crossed[1].0], &crossed);
        let r = evaluate(&p);
        let subject = found(&r, "leads-crossed").first().expect("told").subject.to_string();
        assert!(found(&r, "poles-joined").is_empty(), "{}", texts(&r));
        let steps = cures(&p, "leads-crossed", &subject);
        assert_eq!(steps.len(), 1, "{steps:?}");
        let (name, after) = mended(&p, "leads-crossed", &subject);
        assert!(name.contains("the two are crossed"), "{name}");
        assert_eq!(after.runs.len(), p.runs.len());
    }
}

/// From a bar of plus to a bar of minus a run is a dead short (NEC 110.7), whether or not that bar is joined to the bank yet, with a fuse or
/// without; and of a run that is to go nothing waits for others.
#[test]
fn plus_on_a_bar_of_minus_is_a_stop_always() {
    for without in [&[][..], &["N2"], &["N1", "N2"]] {
        for amps in [0.0, 200.0] {
            for (from, to) in [("PB", "NB"), ("NB", "PB")] {
                let p = coach(without, &[("X1", from, to, "4/0 AWG", 0.5, amps)]);
                let r = evaluate(&p);
                assert!(says(&r, "poles-joined", "runs.X1"), "{without:?} {amps} {from}: {}", texts(&r));
                let mut waits = r.not_checked.iter().filter(|n| n.waits_for.as_str() == "runs");
                assert!(waits.all(|n| n.subject.as_str() != "runs.X1"), "{:?}", r.not_checked);
            }
        }
    }
}

/// Every finding and everything that waits, but for what is said of several runs by the first of them.
fn told(p: &Plan) -> BTreeSet<String> {
    let r = evaluate(p);
    let is_first = |id: &str| ["interrupt-below-frame-fault", "battery-lead-fed-by-others"].contains(&id);
    let said = |check: &str, subject: &str| if is_first(check) { String::new() } else { subject.to_string() };
    let findings = r.findings.iter().map(|f| {
        let subject = said(f.check.id, f.subject.as_str());
        format!("{} {} {subject}", f.level, f.check.id)
    });
    findings.chain(r.not_checked.iter().map(|n| format!("{} {} waits", n.check, n.subject))).collect()
}

/// The runs listed the other way round, minus first, and shuffled (xorshift of Marsaglia 2003, by seed).
fn orders(p: &Plan) -> Vec<Plan> {
    let order = |by: &dyn Fn(&mut Vec<Run>)| {
        let mut other = p.clone();
        by(&mut other.runs);
        other
    };
    let mut all = vec![order(&|runs| runs.reverse())];
    all.push(order(&|runs| runs.sort_by_key(|r| r.return_path != Return::None || !r.protection.is_empty())));
    for seed in 1..4_u64 {
        all.push(order(&|runs| {
            let mut x = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15);
            for i in (1..runs.len()).rev() {
                x ^= x << 13;
                x ^= x >> 7;
                x ^= x << 17;
                runs.swap(i, (x % (i as u64 + 1)) as usize);
            }
        }));
    }
    all
}

/// A drawing is what it is whatever the order of its runs in the file: the right coach, one with a converter whose minus is as near to the
/// post as the plus that feeds it, one with no fuse at the inverter, wrong ones, and the samples.
#[test]
fn the_order_of_runs_changes_no_answer() {
    let converter = [
        ("W20", "BK", "CV", "10 AWG", 1.0, 20.0),
        ("W21", "CV", "FP2", "10 AWG", 1.0, 0.0),
        ("N20", "CV", "NB", "10 AWG", 1.0, 0.0),
        ("W8", "FP2", "L1", "12 AWG", 3.0, 10.0),
    ];
    let bare = [("W5", "PB", "INV", "4/0 AWG", 0.8, 0.0), ("W7", "PB", "CH", "4 AWG", 1.2, 0.0)];
    let all = [
        coach(&[], &[]),
        coach(&["W8"], &converter),
        coach(&["W8", "W5"], &[&converter[..], &bare[..1]].concat()),
        coach(&["W5", "W7"], &bare),
        coach(&["W5", "W7", "N1", "N2"], &bare),
        coach(&["N7", "W6"], &[("W6", "NB", "FP", "6 AWG", 1.5, 50.0)]),
        coach(&["W5"], &[("W5", "NB", "INV", "4/0 AWG", 0.8, 200.0), ("X1", "PB", "NB", "2 AWG", 0.5, 0.0)]),
        super::comes_back::singly(),
        super::comes_back::usual(),
    ];
    for (n, p) in all.iter().enumerate() {
        let right = told(p);
        orders(p).iter().for_each(|other| assert_eq!(told(other), right, "drawing {n}"));
    }
    // With an unfused inverter beside a converter fed from the post the right drawing says no stop in any order.
    for p in orders(&all[2]).iter().chain([&all[2]]) {
        assert_eq!(stops(&evaluate(p)), Vec::<String>::new());
    }
    for sample in SAMPLES {
        let p = Plan::from_text(sample.text).expect("reads");
        let right = told(&p);
        orders(&p).iter().take(3).for_each(|other| assert_eq!(told(other), right, "{}", sample.name));
    }
}

/// The two leads of a gauge of the same shape the other way round are the same drawing.
#[test]
fn a_minus_drawn_from_either_end_is_the_same() {
    let p = coach(&[], &[]);
    let right = told(&p);
    for id in ["N2", "N5", "N7", "N8"] {
        let [from, to] = ends(run(&p, id)).map(|end| Value::Id(end.parse().expect("id")));
        let turned = with(&p, &[(&format!("runs.{id}.from"), to), (&format!("runs.{id}.to"), from)]);
        assert_eq!(told(&turned), right, "{id}");
    }
    let again = insert(
        &p,
        "runs",
        r#"(id: "N10", from: "NB", to: "NB2", gauge: "2 AWG", return_path: "none", legs: [(id: "L1")])"#,
    );
    assert_eq!(stops(&evaluate(&again)), Vec::<String>::new());
}

/// From a fuse panel to minus a lead is a dead short (NEC 110.7), with a fuse or without, but where it may be the panel's own minus: it has no
/// fuse and ends where its loads have theirs.
#[test]
fn a_lead_from_a_panel_to_minus_is_a_stop() {
    for end in ["BK-", "SHN"] {
        for (from, to) in [("FP", end), (end, "FP")] {
            for (gauge, amps) in [("6 AWG", 0.0), ("14 AWG", 15.0)] {
                let r = evaluate(&coach(&[], &[("X1", from, to, gauge, 1.0, amps)]));
                assert!(says(&r, "poles-joined", "runs.X1"), "{from} {to} {amps}: {}", texts(&r));
            }
        }
    }
}

/// A load's minus is laid as its plus is: by the least that practice lays to a load, not by that of feeds.
#[test]
fn size_all_lays_a_loads_minus_as_its_plus() {
    let p = coach(&[], &[]);
    let all = coachwire::engine::Engine::default().propose_sizes(&p, &coachwire::stock::Stock::default(), false);
    let of = |id: &str| all.rows.iter().find(|row| row.run.as_str() == id).map(|row| row.gauge.1).expect("a row");
    for (plus, minus) in [("W8", "N8"), ("W9", "N9"), ("W11", "N11")] {
        assert_eq!(of(plus), of(minus), "{plus} {minus}");
    }
}
