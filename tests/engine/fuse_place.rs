//! A proposed fuse opens the fault at its own place, and says truly why it is of another family than the usual one.

use super::mistakes::{insert, sound, with};
use super::{evaluate, found, texts};
use coachwire::engine::report::{Proposed, Report};
use coachwire::engine::{Engine, Level};
use coachwire::plan::samples::SAMPLES;
use coachwire::plan::wiring::{FuseAt, Pole};
use coachwire::plan::{Known, Plan, Value};
use coachwire::standards::fuse::interrupt_a;
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::{Fuse, Stock};
use coachwire::units::{Amps, Number};

fn van(family: FuseFamily, amps: f64) -> Stock {
    let fuse = Fuse {
        family: Known::Is(family),
        amps_a: Known::Is(Amps(amps)),
        count: Known::Is(Number(20.0)),
        ..Fuse::default()
    };
    let mut stock = Stock::default();
    stock.truck.fuses = vec![fuse];
    stock
}

fn proposed(r: &Report, run: &str) -> Proposed {
    let figures = r.runs.iter().find(|f| f.id.as_str() == run).expect("a run");
    figures.proposed.clone().unwrap_or_else(|| panic!("{run}: none\n{}", texts(r)))
}

/// A lamp of 36 W (3 A) on 14 AWG behind the fuse panel of a bank that drives 13.3 V / 1 mohm = 13.3 kA at its posts (rules of
/// fault current): 8 m of 10 AWG ahead, 52 mohm there and back at 20 C (NEC Chapter 9 table 8, 3.28 ohm/km), leave 250 A.
fn lamp() -> Plan {
    let long = [
        ("runs.W6.gauge", Value::Gauge("10 AWG".parse().expect("gauge"))),
        ("runs.W6.legs.L1.length_m", Value::Number(8.0)),
        ("runs.W6.protection.F1.amps_a", Value::Number(30.0)),
    ];
    let p = insert(&with(&sound(), &long), "loads", r#"(id: "L9", watts_w: 36.0, hours_day: 1.0)"#);
    insert(
        &p,
        "runs",
        r#"(id: "W9", from: "FP", to: "L9", gauge: "14 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 15.0, distance_m: 0.0)])"#,
    )
}

#[test]
fn a_blade_is_proposed_where_it_opens_what_comes_there() {
    let r = evaluate(&lamp());
    let fuse = &r.runs.iter().find(|f| f.id.as_str() == "W9").expect("run").fuses[0];
    let fault = fuse.fault_a.clone().expect("a fault").0;
    assert!((200.0..300.0).contains(&fault), "{fault}");
    let new = proposed(&r, "W9");
    assert_eq!((new.family, new.amps.0), (FuseFamily::BladeC, 4.0), "{new:?}");
    assert!(new.why.to_string().contains("common blade"), "{new:?}");
    // One on the truck comes first.
    let r = Engine::default().evaluate(&lamp(), &van(FuseFamily::BladeC, 10.0));
    assert_eq!((proposed(&r, "W9").family, proposed(&r, "W9").amps.0), (FuseFamily::BladeC, 10.0));
    // At the bank's own post nothing but class T opens 13.3 kA.
    assert_eq!(proposed(&r, "W3").family, FuseFamily::ClassT);
}

/// Of every run of the samples: what is proposed opens the fault at the place of the fuse that is there, and what its reason says of
/// the usual family's limit is so. Source: each family's own interrupt rating (ISO 8820, UL 248-15).
#[test]
fn reasons_are_true() {
    let (mut seen, mut other) = (0, 0);
    for sample in SAMPLES {
        let plan = Plan::from_text(sample.text).unwrap_or_else(|e| panic!("{e}"));
        let r = evaluate(&plan);
        for (run, figures) in plan.runs.iter().zip(&r.runs) {
            let Some(new) = &figures.proposed else { continue };
            let at = if new.at_from { FuseAt::From } else { FuseAt::To };
            let there = run.protection.iter().zip(&figures.fuses);
            let near = |m: f64| m <= 0.178;
            let mut there = there.filter(|(p, _)| {
                p.at == at && p.pole == Pole::Positive && p.distance_m.known().is_some_and(|m| near(m.0))
            });
            let Some((_, fuse)) = there.next() else { continue };
            let (Ok(fault), Ok(volts)) = (&fuse.fault_a, &fuse.circuit_v) else { continue };
            seen += 1;
            let need = fault.0 * fuse.margin;
            let opens = interrupt_a(new.family, volts.0).expect("stands the volts");
            assert!(opens >= need, "{} {}: {new:?} for {need} A", sample.name, run.id);
            if new.why.to_string().contains("needed here") {
                other += 1;
                let blade = interrupt_a(FuseFamily::BladeC, volts.0).unwrap_or(0.0);
                assert!(need > blade, "{} {}: {} A, and a blade opens them: {}", sample.name, run.id, need, new.why);
            }
            // Where a blade is there, opens its fault and is of the right amps, none of another family is asked for.
            let right = |amps: f64| {
                let limit = |f: &coachwire::plan::Figure<Amps>| f.as_ref().map_or(0.0, |a| a.0);
                amps >= limit(&figures.fuse_min_a) && amps <= limit(&figures.fuse_max_a)
            };
            let is_blade = fuse.family == Ok(FuseFamily::BladeC) && fuse.amps.as_ref().is_ok_and(|a| right(a.0));
            if is_blade && need <= 1000.0 && fuse.amps.as_ref().is_ok_and(|a| a.0 <= 40.0) {
                assert_eq!(new.family, FuseFamily::BladeC, "{} {}: {new:?}", sample.name, run.id);
            }
        }
    }
    assert!(seen > 30, "{seen}");
    assert!(other > 0, "no other family is ever asked for");
}

/// A fuse on the truck that fits by its amps, and with which no cure comes about, takes none away: what is not on the truck is tried
/// then.
#[test]
fn a_fuse_on_the_truck_takes_no_cure_away() {
    let breaker = [("runs.W2.protection.F1.resets", Value::Word("automatic"))];
    let worn = with(&sound(), &breaker);
    let thin = with(&sound(), &[("runs.W6.gauge", Value::Gauge("12 AWG".parse().expect("gauge")))]);
    for (plan, check) in [(worn, "auto-reset-breaker"), (thin, "fuse-above-conductor")] {
        let mut engine = Engine::default();
        let r = evaluate(&plan);
        let about = found(&r, check)[0].clone();
        assert!(about.level != Level::Note);
        assert!(!engine.cures(&plan, &Stock::default(), &about).is_empty(), "{check}");
        for (family, amps) in
            [(FuseFamily::BoltOnStud, 100.0), (FuseFamily::BoltOnStud, 70.0), (FuseFamily::Sf30, 30.0)]
        {
            let steps = engine.cures(&plan, &van(family, amps), &about);
            assert!(!steps.is_empty(), "{check} with {amps} A {family} on the truck");
        }
    }
}
