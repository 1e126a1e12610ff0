//! Cures on whole coaches: what comes first, and what a cure brings with it.

use super::sizing_whole::{BUS_24, FACTORY_LEAD, FOUR_PACKS, gauge, read, wires, with};
use super::{found, says, texts};
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::wiring::{Protection, Resets};
use coachwire::plan::{Known, Plan, Step, Value};
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::Stock;
use coachwire::units::{Amps, Volts};

fn evaluate(plan: &Plan) -> Report {
    Engine::default().evaluate(plan, &Stock::default())
}

fn finding<'a>(report: &'a Report, check: &str, subject: &str) -> &'a Finding {
    let f = report.findings.iter().find(|f| f.check.id == check && f.subject.as_str() == subject);
    f.unwrap_or_else(|| panic!("{check} {subject} is not there:\n{}", texts(report)))
}

fn cures(plan: &Plan, check: &str, subject: &str) -> Vec<Step> {
    Engine::default().cures(plan, &Stock::default(), finding(&evaluate(plan), check, subject))
}

/// What a step brings: cautions, stops, and fuses on the next rating up.
fn brings(plan: &Plan, step: &Step) -> Vec<String> {
    let (was, now) = (evaluate(plan), evaluate(&plan.with(step).unwrap()));
    let counts = |f: &&Finding| f.level != Level::Note || f.check.id == "next-rating-up";
    let new = now.findings.iter().filter(counts).filter(|f| !was.findings.iter().any(|g| g.identity() == f.identity()));
    new.map(|f| format!("{} {}", f.check.id, f.subject)).collect()
}

fn none() -> Vec<String> {
    Vec::new()
}

#[test]
fn a_bond_of_doubled_leads_has_a_cure() {
    let p = read(FOUR_PACKS);
    for thin in ["4/0 AWG", "8 AWG"] {
        let p = with(&p, &[("runs.WB.gauge", gauge(thin))]);
        let steps = cures(&p, "bond-small", "runs.WB");
        assert_eq!(steps[0].name, "WB: 2 x 2/0 AWG");
        assert_eq!(brings(&p, &steps[0]), none());
    }
    // Nobody said that one terminal takes two: nothing is doubled there.
    let one = with(&p, &[("devices.CHS.ratings.wires_each", Value::Number(1.0))]);
    let steps = cures(&one, "bond-small", "runs.WB");
    assert!(steps.iter().all(|s| !s.name.contains("2 x")), "{steps:?}");
}

/// A thicker lead of the battery wants a thicker bond (NEC 552.10(C)(4)): both in one step.
#[test]
fn the_bond_goes_along_with_a_lead() {
    let mut p = super::sizing_whole::out_of_reach();
    let step = Engine::default().size_all(&p, &Stock::default(), false);
    p = p.with(&step).unwrap();
    let (mut tried, mut along) = (0, 0);
    for length_m in [6.0, 9.0] {
        let p = with(&p, &[("runs.W4.legs.L1.length_m", Value::Number(length_m))]);
        for f in evaluate(&p).findings.iter().filter(|f| f.level != Level::Note) {
            for step in Engine::default().cures(&p, &Stock::default(), f) {
                tried += 1;
                along += usize::from(step.name.contains("; WB "));
                let bond = brings(&p, &step).into_iter().filter(|s| s.starts_with("bond-small")).count();
                assert_eq!(bond, 0, "{}", step.name);
            }
        }
    }
    assert!(tried > 3 && along > 0, "{tried} {along}");
}

/// A breaker of 125 A that opens 10 kA only: the fuse in its place is of 125 A too, which its wire stands.
#[test]
fn a_fuse_against_a_fault_keeps_the_rating_that_stood() {
    let mut p = read(FOUR_PACKS);
    let run = p.runs.iter_mut().find(|r| r.id.as_str() == "B1").unwrap();
    let old = run.protection[0].clone();
    run.protection[0] = Protection {
        family: Known::Is(FuseFamily::Breaker),
        amps_a: Known::Is(Amps(125.0)),
        volts_dc_v: Some(Known::Is(Volts(48.0))),
        interrupt_a: Some(Known::Is(Amps(10_000.0))),
        resets: Resets::Manual,
        ..old
    };
    let steps = cures(&p, "interrupt-below-fault", "runs.B1");
    assert!(steps[0].name.starts_with("B1 fuse: 125 A UL 248-15 T"), "{}", steps[0].name);
    assert_eq!(brings(&p, &steps[0]), none());
}

#[test]
fn a_wire_that_no_gauge_mends_is_mended_by_a_smaller_inverter() {
    let p = with(&read(BUS_24), &[("inverters.INV.watts_w", Value::Number(9000.0))]);
    let steps = cures(&p, "conductor-below-current", "runs.W5");
    assert!(steps.iter().any(|s| s.name.starts_with("INV: another, of ")), "{steps:?}");
    assert_eq!(brings(&p, &steps[0]), none());
}

/// Where one gauge more needs no next rating up, that is offered.
#[test]
fn a_cure_leans_on_no_next_rating_where_one_gauge_more_does_not() {
    let p = with(&read(BUS_24), &[("runs.W5.gauge", gauge("2 AWG"))]);
    let steps = cures(&p, "fuse-above-conductor", "runs.W5");
    assert!(!steps.is_empty());
    for step in &steps {
        assert_eq!(brings(&p, step), none(), "{}", step.name);
    }
}

/// One lead far longer than the others is cut to theirs first.
#[test]
fn uneven_leads_are_made_short_before_they_are_made_long() {
    // A small fuse that opens what may flow then as well.
    let p = with(
        &read(BUS_24),
        &[
            ("runs.B2.legs.L1.length_m", Value::Number(9.0)),
            ("runs.W7.protection.F1.family", Value::Word(FuseFamily::ClassT.word())),
            ("runs.W7.protection.F1.interrupt_a", Value::Nothing),
        ],
    );
    let steps = cures(&p, "uneven-battery-leads", "bank");
    assert!(steps[0].name.starts_with("leads short: each "), "{}", steps[0].name);
    assert_eq!(brings(&p, &steps[0]), none());
}

/// A panel of 100 W asks for no 4/0 AWG: the thin lead that loses most of it, thicker.
#[test]
fn volts_lost_in_one_lead_are_cured_there() {
    let p = read(FACTORY_LEAD);
    let report = evaluate(&p);
    let low = found(&report, "hot-vmp-low");
    assert!(!low.is_empty(), "{}", texts(&report));
    let steps = cures(&p, "hot-vmp-low", low[0].subject.as_str());
    assert!(steps[0].name.starts_with("W1 L2: ") && !steps[0].name.contains("/0"), "{}", steps[0].name);
    let after = evaluate(&p.with(&steps[0]).unwrap());
    for f in low {
        assert!(!says(&after, "hot-vmp-low", f.subject.as_str()), "{}", f.text());
    }
    assert!(wires(&p).findings.len() >= wires(&p.with(&steps[0]).unwrap()).findings.len());
}
