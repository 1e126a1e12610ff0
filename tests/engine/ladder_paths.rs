//! Gauge ladders tell of the path that has least room with each row, and choose for all equal leads at once.

use super::mistakes::{insert, sound, with};
use super::{evaluate, found, texts};
use coachwire::engine::{Engine, LadderOf, Rung};
use coachwire::plan::{Edit, Known, Plan, Value};
use coachwire::standards::conductor::area_mm2;
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::Stock;

fn rows(p: &Plan, run: &str) -> Vec<Rung> {
    let mut all = Engine::default().ladder(p, &Stock::default(), &LadderOf::Gauge(run.parse().expect("id")));
    all.retain(|r| r.gauge().expect("a gauge").per_pole == 1);
    all.sort_by(|a, b| area_mm2(a.gauge().unwrap().gauge).total_cmp(&area_mm2(b.gauge().unwrap().gauge)));
    all
}

/// The main run carries controller and inverter: which of them is nearest to its target changes with its gauge. Drop is
/// proportional to resistance (Ohm's law): along the rows the share that the nearest loses of its target never rises.
#[test]
fn the_path_of_a_row_is_that_of_the_plan_with_it() {
    let mut changed = 0;
    for (m2, watts) in [(0.3, 1000.0), (0.9, 1000.0), (1.1, 700.0), (1.2, 500.0)] {
        let n = Value::Number;
        let p = with(&sound(), &[("runs.W2.legs.L1.length_m", n(m2)), ("inverters.INV.watts_w", n(watts))]);
        for run in ["W3", "W4"] {
            let index = p.runs.iter().position(|r| r.id.as_str() == run).expect("there");
            let (mut last, mut ends) = (f64::MAX, Vec::new());
            for rung in rows(&p, run) {
                let columns = rung.gauge().expect("a gauge");
                let after = evaluate(&p.with(&rung.step).expect("applies")).runs.swap_remove(index);
                assert_eq!(columns.path_drop_pct, after.path_drop_pct, "{run} {}", rung.name());
                let pct = columns.path_drop_pct.clone().expect("percent") / after.target_pct.expect("a target");
                // A fuse of another rating loses otherwise: those rows stand for themselves.
                let same_fuse = !columns.sets_fuse;
                assert!(pct <= last + 1e-9 || !same_fuse, "{run} {}: {pct} after {last}", rung.name());
                last = pct;
                let own = evaluate(&p).runs.swap_remove(index).path_end;
                assert_eq!(columns.other_path.is_some(), after.path_end != own, "{run} {}", rung.name());
                ends.push(after.path_end.clone());
            }
            ends.dedup();
            changed += usize::from(ends.len() > 1);
            // The row that the plan has tells what the plan's own line does.
            let own = rows(&p, run).into_iter().find(|r| r.current).expect("the plan's");
            assert_eq!(own.gauge().unwrap().path_drop_pct, evaluate(&p).runs[index].path_drop_pct);
        }
    }
    assert!(changed > 0, "no ladder whose judged path changes");
}

/// Three batteries, each on its own lead to the switch.
fn leads() -> Plan {
    let mut p = sound();
    for name in ["X1", "X2", "X3"] {
        let run = format!(
            r#"(id: "{name}", from: "BK", to: "SW", gauge: "2/0 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1)])"#
        );
        p = insert(&p, "runs", &run);
    }
    p.runs.retain(|r| r.id.as_str() != "W3");
    p
}

fn touched(rung: &Rung, run: &str) -> bool {
    let of = |e: &Edit| matches!(e, Edit::Set { at, .. } if at.as_str().starts_with(&format!("runs.{run}.")));
    rung.step.edits.iter().any(of)
}

/// NEC 310.10: conductors in parallel are of equal length and size; common practice for batteries, so that they share alike.
#[test]
fn equal_leads_are_chosen_for_together() {
    let p = leads();
    let alone: Vec<Rung> = rows(&sound(), "W3");
    for (rung, one) in rows(&p, "X2").iter().zip(&alone) {
        let after = p.with(&rung.step).expect("applies");
        let gauge = |run: &str| after.runs.iter().find(|r| r.id.as_str() == run).expect("there").gauge;
        assert!(gauge("X1") == gauge("X2") && gauge("X2") == gauge("X3"), "{}", rung.name());
        let r = evaluate(&after);
        assert!(found(&r, "uneven-battery-leads").is_empty(), "{}", texts(&r));
        if !rung.current {
            assert!(["X1", "X2", "X3"].iter().all(|run| touched(rung, run)), "{:?}", rung.step);
            assert!(rung.step.name.ends_with("; X1 and X3 alike"), "{}", rung.step.name);
        }
        // The wire of all three: three times that of one run of the same length.
        let (all, each) = (rung.weight_kg.clone().expect("kg"), one.weight_kg.clone().expect("kg"));
        assert!((all - 3.0 * each).abs() < 1e-9, "{}: {all} of {each}", rung.name());
    }
    // A lead that is already another is chosen for by itself.
    let mut other = leads();
    other.runs.iter_mut().find(|r| r.id.as_str() == "X3").expect("there").gauge =
        Known::Is("4/0 AWG".parse().expect("gauge"));
    let thin = rows(&other, "X1").into_iter().next().expect("a row");
    assert!(touched(&thin, "X2") && !touched(&thin, "X3"), "{:?}", thin.step);
    // Their fuses as well.
    let of = LadderOf::Fuse("X2".parse().expect("id"), Some(FuseFamily::ClassT));
    let fuses = Engine::default().ladder(&p, &Stock::default(), &of);
    let next = fuses.iter().find(|r| !r.current).expect("a row");
    assert!(["X1", "X2", "X3"].iter().all(|run| touched(next, run)), "{:?}", next.step);
}
