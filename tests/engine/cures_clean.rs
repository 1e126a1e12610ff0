//! Cures that leave nothing behind: no new stop, what they bring said and offered last, what a technician does first offered first.

use super::cures::{cures, offer_all};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, Plan, Step, Value};
use coachwire::standards::fuse::interrupt_a;
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::Stock;

const UNFUSED: &str = "source-end-unfused";

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn whole(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("sample").text).unwrap_or_else(|e| panic!("{e}"))
}

fn stops(r: &Report) -> Vec<&Finding> {
    r.findings.iter().filter(|f| f.level == Level::Stop).collect()
}

/// Two batteries on leads of their own to one switch, none with a fuse, and nothing behind them.
fn bare_leads() -> Plan {
    let mut p = with(
        &sound(),
        &[("bank.parallel", n(2.0)), ("runs.W3.gauge", Value::Gauge("1/0 AWG".parse().expect("gauge")))],
    );
    for id in ["W3", "W5"] {
        p.runs.iter_mut().find(|r| r.id.as_str() == id).expect("run").protection.clear();
    }
    let lead =
        r#"(id: "W8", from: "SW", to: "BK", gauge: "1/0 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 105.0)])"#;
    insert(&p, "runs", lead)
}

/// A fuse on one of two leads protects nothing that both feed: the other battery still does without any. Both get one at once, each at
/// its own battery's end, and nothing behind comes up that was not there. Source: Kirchhoff's current law; NEC 552.10(E).
#[test]
fn a_cure_fuses_all_bare_leads_of_a_bank() {
    let p = bare_leads();
    let before = evaluate(&p);
    for (run, other) in [("W3", "W8"), ("W8", "W3")] {
        let subject = format!("runs.{run}");
        let steps = cures(&p, UNFUSED, &subject);
        assert!(!steps.is_empty(), "{run}:\n{}", texts(&before));
        for step in steps {
            let after = p.with(&step).expect("applies");
            let fuse = |id: &str| {
                let run = after.runs.iter().find(|r| r.id.as_str() == id).expect("run");
                let [fuse] = run.protection.as_slice() else { panic!("{}: {:?}", step.name, run.protection) };
                let end = if fuse.at.word() == "from" { &run.from } else { &run.to };
                assert_eq!(end.known().map(|id| id.as_str()), Some("BK"), "{}", step.name);
                (fuse.amps_a, fuse.family)
            };
            assert_eq!(fuse(run), fuse(other), "{}", step.name);
            let r = evaluate(&after);
            assert!(stops(&r).iter().all(|f| before.says(f)), "{}:\n{}", step.name, texts(&r));
            assert!(stops(&r).len() < stops(&before).len(), "{}:\n{}", step.name, texts(&r));
        }
    }
    offer_all(&p);
}

/// 28.4 V and 27 V on a lead battery of 12 V: one setting alone leaves the other, both go at once, to what lead takes: 14.0 to 14.8
/// and 13.05 to 13.8 V (common practice, `battery_chemistry.csv`).
#[test]
fn two_wrong_settings_of_a_charger_go_at_once() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", unit_v: 12.0)"#);
    let p = insert(
        &p,
        "chargers",
        r#"(id: "CH5", kind: "shore", out_a: 6.0, absorb_v: 28.4, float_v: 27.0, efficiency_pct: 85.0)"#,
    );
    let p = insert(
        &p,
        "runs",
        r#"(id: "W9", from: "SB", to: "CH5", gauge: "10 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 15.0, distance_m: 0.05)])"#,
    );
    let before = evaluate(&p);
    assert_eq!(found(&before, "charge-volts-high").len(), 2, "{}", texts(&before));
    let steps = cures(&p, "charge-volts-high", "chargers.CH5");
    let step = steps.first().unwrap_or_else(|| panic!("none:\n{}", texts(&before)));
    let after = p.with(step).expect("applies");
    let ch = after.chargers.iter().find(|c| c.id.as_str() == "CH5").expect("charger");
    let (absorb, float) = (ch.absorb_v.known().expect("volts").0, ch.float_v.expect("some").known().expect("volts").0);
    assert!((14.0..=14.8).contains(&absorb) && (13.05..=13.8).contains(&float), "{}: {absorb} {float}", step.name);
    let r = evaluate(&after);
    assert!(found(&r, "charge-volts-high").is_empty() && found(&r, "charge-volts-outside-window").is_empty());
    // The fuse there cannot open its fault either: that another setting stays wrong beside it does not keep its cure away.
    if says(&before, "interrupt-below-fault", "runs.W9") {
        assert!(!cures(&p, "interrupt-below-fault", "runs.W9").is_empty());
    }
}

/// On the bank the other source of the same battery is what it is set like. 16 V and 15 V on 12.8 V of lithium.
#[test]
fn both_settings_go_by_the_banks_own_volts() {
    let ch = r#"(id: "CH", kind: "shore", out_a: 20.0, absorb_v: 16.0, float_v: 15.0, efficiency_pct: 90.0)"#;
    let run = r#"(id: "W9", from: "BUS", to: "CH", gauge: "8 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)])"#;
    let p = insert(&insert(&with(&sound(), &[("controllers.C1.float_v", n(13.5))]), "chargers", ch), "runs", run);
    let steps = cures(&p, "charge-volts-high", "chargers.CH");
    let step = steps.first().unwrap_or_else(|| panic!("none:\n{}", texts(&evaluate(&p))));
    let r = evaluate(&p.with(step).expect("applies"));
    for check in ["charge-volts-high", "charge-volts-outside-window", "profiles-disagree"] {
        assert!(found(&r, check).is_empty(), "{}:\n{}", step.name, texts(&r));
    }
    // Equalising beside absorption, on flooded lead.
    let lead = [("bank.chemistry", word("flooded")), ("bank.unit_v", n(12.0)), ("bank.vented", word("yes"))];
    let high = [
        ("controllers.C1.absorb_v", n(16.5)),
        ("controllers.C1.float_v", Value::Nothing),
        ("controllers.C1.equalise_v", n(17.5)),
    ];
    let p = with(&with(&sound(), &lead), &high);
    let steps = cures(&p, "charge-volts-high", "controllers.C1");
    let step = steps.first().unwrap_or_else(|| panic!("none:\n{}", texts(&evaluate(&p))));
    let after = evaluate(&p.with(step).expect("applies"));
    assert!(found(&after, "charge-volts-high").is_empty(), "{}:\n{}", step.name, texts(&after));
}

/// 38 A on 8 AWG that lies there and carries 46.9 A in 53 C: 47.5 A of fuse are wanted, and 50 A is the next standard rating above
/// what the wire carries (NEC 240.4(B), 240.6(A)). Sizing all takes it, as no other fits, and leaves it so; where the wire is new
/// thicker wire does without.
#[test]
fn sizing_takes_the_next_rating_up_where_no_other_fits() {
    let ch = r#"(id: "CH", kind: "shore", out_a: 38.0, absorb_v: 14.2, efficiency_pct: 90.0)"#;
    let run = |state: &str| {
        format!(
            r#"(id: "W8", from: "CH", to: "BUS", gauge: "8 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 75.0,
                ambient_c: 53.0, state: "{state}")],
                protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 45.0, distance_m: 0.1)])"#
        )
    };
    let sized = |state: &str| {
        let p = insert(&insert(&sound(), "chargers", ch), "runs", &run(state));
        assert!(says(&evaluate(&p), "fuse-below-design", "runs.W8"), "{}", texts(&evaluate(&p)));
        let after = p.with(&Engine::default().size_all(&p, &Stock::default(), false)).expect("applies");
        let again = Engine::default().size_all(&after, &Stock::default(), false).edits;
        assert!(again.is_empty(), "{state}: {again:?}");
        after
    };
    let old = sized("existing");
    let fuse = |p: &Plan| p.runs.iter().find(|r| r.id.as_str() == "W8").expect("run").protection[0].amps_a;
    assert_eq!(fuse(&old).known().map(|a| a.0), Some(50.0));
    let r = evaluate(&old);
    assert!(says(&r, "next-rating-up", "runs.W8") && !says(&r, "fuse-below-design", "runs.W8"), "{}", texts(&r));
    let r = evaluate(&sized("new"));
    assert!(!says(&r, "next-rating-up", "runs.W8") && !says(&r, "fuse-below-design", "runs.W8"), "{}", texts(&r));
}

/// Whether a step makes a charger, a controller or an inverter give less than it does.
fn cuts(p: &Plan, step: &Step) -> bool {
    let less = |e: &Edit| match e {
        Edit::Set { at, to: Value::Number(to) } => {
            let own = at.as_str().ends_with(".out_a") || at.as_str().ends_with(".watts_w");
            own && matches!(p.get_at(at), Some(Value::Number(now)) if *to < now)
        }
        _ => false,
    };
    step.edits.iter().any(less)
}

/// A DC-DC charger's input line whose fuse is too small, and whose wire takes no larger one: wire and fuse first, the charger set lower
/// last. Source: common practice, the wiring follows the equipment.
#[test]
fn what_leaves_the_equipment_what_it_is_comes_first() {
    let thin =
        [("runs.W6.gauge", Value::Gauge("6 mm2".parse().expect("gauge"))), ("runs.W6.protection.F1.amps_a", n(30.0))];
    let p = with(&whole("marram"), &thin);
    let steps = cures(&p, "fuse-below-design", "runs.W6");
    assert!(!cuts(&p, &steps[0]), "{steps:?}");
    assert!(cuts(&p, steps.last().expect("several")) && steps.len() > 1, "{steps:?}");
    // The same of an inverter on a fuse that is too small.
    let p = with(&sound(), &[("inverters.INV.watts_w", n(1900.0))]);
    for finding in evaluate(&p).findings.iter().filter(|f| f.check.id != "charge-over-limit") {
        let steps = Engine::default().cures(&p, &Stock::default(), finding);
        let first_cut = steps.iter().position(|s| cuts(&p, s)).unwrap_or(steps.len());
        assert!(steps.iter().skip(first_cut).all(|s| cuts(&p, s)), "{}: {steps:?}", finding.text());
    }
}

/// What each cure brings is said with it, what only the year finds too, and none that brings something in its wires stands before one that
/// does not.
#[test]
fn what_a_cure_brings_is_said_and_comes_last() {
    let n_of = |r: &Report, before: &Report, own: &Finding| {
        let new = |f: &&Finding| f.level != Level::Note && f.identity() != own.identity() && !before.says(f);
        r.findings.iter().filter(new).count()
    };
    let w = |id: &str, to: &str| {
        format!(
            r#"(id: "{id}", from: "BK", to: "{to}", gauge: "14 AWG",
        legs: [(id: "L1", length_m: 1.5, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.05)])"#
        )
    };
    let loads = r#"(id: "L9", name: "gas detector", watts_w: 1.4, hours_day: 24.0, life_safety: "yes")"#;
    let plans = [
        whole("thistle"),
        with(&whole("larkspur"), &[("runs.W3.gauge", Value::Gauge("8 AWG".parse().expect("gauge")))]),
        with(&sound(), &[("runs.W2.legs.L1.length_m", n(4.5)), ("runs.W3.legs.L1.length_m", n(3.0))]),
        insert(&insert(&sound(), "loads", loads), "runs", &w("W9", "L9")),
        with(&sound(), &[("inverters.INV.watts_w", n(2500.0))]),
    ];
    let mut offered = 0;
    for p in &plans {
        let before = Engine::default().evaluate_wires(p, &Stock::default());
        let year = evaluate(p);
        for finding in &before.findings {
            let mut brings = false;
            for step in Engine::default().cures(p, &Stock::default(), finding) {
                let after = Engine::default().evaluate_wires(&p.with(&step).expect("applies"), &Stock::default());
                let new = n_of(&after, &before, finding) > 0;
                let by_year = n_of(&evaluate(&p.with(&step).expect("applies")), &year, finding) > 0;
                assert_eq!(
                    step.name.contains("; brings: "),
                    new || by_year,
                    "{}: {}\n{}",
                    finding.text(),
                    step.name,
                    texts(&after)
                );
                assert!(new || !brings || step.name.contains("; makes worse: "), "{}: {}", finding.text(), step.name);
                brings |= new;
                offered += 1;
            }
        }
    }
    assert!(offered > 20, "{offered}");
}

/// A fault above what any family opens, 20 kA, at a small line to the brakes: one lead from each battery to it is no answer, but a fuse
/// whose own sheet gives enough is. Six packs of 13.3 V / 1 mohm give 79.8 kA at the posts. Source: Ohm's law; UL 248-15, 20 kA DC.
#[test]
fn no_small_line_gets_a_lead_from_every_battery() {
    let p = with(&whole("larkspur"), &[("bank.ohmic_mohm", n(1.0)), ("bank.parallel", n(6.0))]);
    let before = evaluate(&p);
    let short: Vec<&Finding> = found(&before, "interrupt-below-fault");
    let brakes = short.iter().find(|f| {
        p.runs.iter().any(|r| f.run() == Some(r.id.as_str()) && r.to.known().is_some_and(|t| t.as_str() == "L13"))
    });
    let brakes = brakes.unwrap_or_else(|| panic!("no stop at the brakes:\n{}", texts(&before)));
    assert!(interrupt_a(FuseFamily::ClassT, 14.6).is_some_and(|a| a < brakes.n(3)), "{:?}", brakes.numbers);
    let steps = Engine::default().cures(&p, &Stock::default(), brakes);
    assert!(!steps.is_empty() && steps.iter().all(|s| !s.name.contains("each of")), "{steps:?}");
    let sheet = steps.iter().find(|s| s.name.contains("own sheet")).unwrap_or_else(|| panic!("{steps:?}"));
    let gives = sheet.edits.iter().find_map(|e| match e {
        Edit::Set { at, to: Value::Number(a) } if at.as_str().ends_with("interrupt_a") => Some(*a),
        _ => None,
    });
    assert!(gives.is_some_and(|a| a >= brakes.n(3)), "{sheet:?}");
}

/// A fuse at a start battery ahead of a panel that nothing is known to hang on: what flows there chooses no fuse, but what may flow in a
/// fault does. Source: NEC 110.9.
#[test]
fn a_fuse_with_no_known_load_is_swapped_for_one_that_opens() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let p = insert(&p, "devices", r#"(id: "FPS", kind: "fuse panel")"#);
    let run = r#"(id: "W9", from: "SB", to: "FPS", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "ISO 8820-3 E", amps_a: 60.0, distance_m: 0.1)])"#;
    let p = insert(&p, "runs", run);
    assert!(says(&evaluate(&p), "interrupt-below-fault", "runs.W9"), "{}", texts(&evaluate(&p)));
    super::cures::is_curable(&p, "interrupt-below-fault", "runs.W9");
}
