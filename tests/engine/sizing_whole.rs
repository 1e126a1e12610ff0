//! Sizing of all runs on whole coaches: what the truck's spools hold, what misses its target by a hair, leads that are chosen
//! together, and the bond of doubled leads.

use super::{found, says, texts};
use coachwire::engine::sizing::Proposal;
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::wiring::Return;
use coachwire::plan::{Edit, FieldPath, Known, Plan, Run, State, Step, Value};
use coachwire::standards::conductor::{Gauge, area_mm2};
use coachwire::stock::{Spool, Stock};
use coachwire::units::{Celsius, Metres, Number};
use std::collections::BTreeMap;

pub(super) const FOUR_PACKS: &str = include_str!("plans/four-packs.ron");
pub(super) const TRUCK_48: &str = include_str!("plans/truck-48.ron");
pub(super) const BUS_24: &str = include_str!("plans/bus-24.ron");
pub(super) const BY_A_HAIR: &str = include_str!("plans/by-a-hair.ron");
pub(super) const FACTORY_LEAD: &str = include_str!("plans/factory-lead.ron");

pub(super) fn read(text: &str) -> Plan {
    Plan::from_text(text).unwrap_or_else(|e| panic!("{e}"))
}

pub(super) fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().unwrap())
}

pub(super) fn with(plan: &Plan, edits: &[(&str, Value)]) -> Plan {
    let set = |(at, to): &(&str, Value)| Edit::Set { at: FieldPath::new((*at).to_string()), to: to.clone() };
    let step = Step { name: String::new(), edits: edits.iter().map(set).collect() };
    plan.with(&step).unwrap_or_else(|e| panic!("{e:?}"))
}

fn all_open(plan: &Plan) -> Plan {
    let mut open = plan.clone();
    open.runs.iter_mut().for_each(|run| run.gauge = Known::Unknown);
    open
}

pub(super) fn wires(plan: &Plan) -> Report {
    Engine::default().evaluate_wires(plan, &Stock::default())
}

fn size(plan: &Plan, stock: &Stock, only: bool) -> (Proposal, Plan) {
    let proposal = Engine::default().propose_sizes(plan, stock, only);
    let sized = plan.with(&proposal.step).unwrap();
    let again = Engine::default().propose_sizes(&sized, stock, only);
    assert!(again.step.edits.is_empty(), "sized again: {:?}", again.step.edits);
    (proposal, sized)
}

fn run<'a>(plan: &'a Plan, id: &str) -> &'a Run {
    plan.runs.iter().find(|r| r.id.as_str() == id).unwrap()
}

fn why<'a>(proposal: &'a Proposal, id: &str) -> &'a str {
    &proposal.rows.iter().find(|r| r.run.as_str() == id).unwrap().why
}

fn same(a: &Finding, b: &Finding) -> bool {
    a.identity() == b.identity() && a.level == b.level
}

/// Metres of wire of each new leg, both poles and all conductors.
fn metres(run: &Run) -> Vec<(Gauge, f64)> {
    let poles = if run.return_path == Return::Pair { 2.0 } else { 1.0 };
    let new = run.legs.iter().filter(|l| l.state == State::New);
    let of = new.filter_map(|l| {
        let gauge = *l.gauge.as_ref().unwrap_or(&run.gauge).known()?;
        Some((gauge, l.length_m.known()?.0 * l.per_pole.known()?.0 * poles))
    });
    of.collect()
}

fn copper(plan: &Plan) -> f64 {
    plan.runs.iter().flat_map(metres).map(|(gauge, m)| area_mm2(gauge) * m).sum()
}

fn truck(spools: &[(&str, f64, f64)]) -> Stock {
    let mut stock = Stock::default();
    let of = |(gauge, left, price): &(&str, f64, f64)| Spool {
        gauge: Known::Is(gauge.parse().unwrap()),
        insulation_c: Known::Is(Celsius(105.0)),
        left_m: Known::Is(Metres(*left)),
        price_per_metre: Some(Known::Is(Number(*price))),
        ..Spool::default()
    };
    stock.truck.spools = spools.iter().map(of).collect();
    stock
}

/// What all runs that were given a gauge take together, and what the others of it have, is no more than the spool has.
///
/// Source: counted here from the lengths drawn, one conductor at a time.
fn holds(plan: &Plan, stock: &Stock) -> Plan {
    let (_, sized) = size(plan, stock, true);
    let mut given: BTreeMap<Gauge, f64> = BTreeMap::new();
    for (old, new) in plan.runs.iter().zip(&sized.runs).filter(|(old, new)| old != new) {
        assert_ne!(metres(old), metres(new), "{}: changed in nothing that is bought", new.id);
        for (gauge, m) in metres(new) {
            *given.entry(gauge).or_default() += m;
        }
    }
    assert!(!given.is_empty(), "nothing sized");
    for (gauge, m) in given {
        let spools = stock.truck.spools.iter().filter(|s| s.gauge.known() == Some(&gauge));
        let left: f64 = spools.filter_map(|s| s.left_m.known()).map(|m| m.0).sum();
        assert!(m <= left + 1e-9, "{gauge}: {m} m of {left} m");
    }
    sized
}

#[test]
fn no_spool_gives_more_than_it_has() {
    for left in [6.0, 12.0, 20.0, 22.0, 30.0, 33.0] {
        let stock = truck(&[
            ("4 mm2", left, 2.0),
            ("10 mm2", 9.0, 4.0),
            ("35 mm2", 5.0, 12.0),
            ("2.5 mm2", 13.0, 1.0),
            ("50 mm2", 5.0, 15.0),
        ]);
        let sized = holds(&read(TRUCK_48), &stock);
        // One metre of a controller's lead at 26 A is not of 50 mm2 for want of another.
        let lead = run(&sized, "P4").gauge.known().copied().unwrap();
        assert!(area_mm2(lead) <= 10.0, "{left}: {lead}");
    }
    for left in [9.0, 22.0, 43.0] {
        let stock = truck(&[
            ("10 AWG", left, 2.0),
            ("6 AWG", 6.0, 4.0),
            ("2/0 AWG", 6.0, 12.0),
            ("12 AWG", 30.0, 1.0),
            ("2 AWG", 8.0, 8.0),
        ]);
        holds(&all_open(&read(BUS_24)), &stock);
    }
}

/// The same with an inverter and a controller so far from their bus that no fuse and no gauge meets their targets.
pub(super) fn out_of_reach() -> Plan {
    let far = [("runs.W5.legs.L1.length_m", 3.0), ("runs.R1.legs.L1.length_m", 10.0)];
    with(&read(BY_A_HAIR), &far.map(|(at, m)| (at, Value::Number(m))))
}

/// Thickest wire on the whole way: where that misses the target as well, no copper was bought for it, and its row says so.
#[test]
fn what_misses_its_target_by_a_hair_gets_what_the_rules_ask() {
    // With fuses of a size that is chosen as well, larger ones bring it within its target.
    let open = wires(&size(&read(BY_A_HAIR), &Stock::default(), false).1);
    assert!(found(&open, "drop-over-target").is_empty());
    let p = out_of_reach();
    let (proposal, sized) = size(&p, &Stock::default(), false);
    let after = wires(&sized);
    let over = found(&after, "drop-over-target");
    assert!(!over.is_empty(), "nothing is out of reach here");
    for f in over {
        let id = f.run().unwrap();
        let way = &after.runs.iter().find(|r| r.id.as_str() == id).unwrap().path;
        let mut thick = sized.clone();
        for run in thick.runs.iter_mut().filter(|r| way.contains(&r.id)) {
            run.gauge = Known::Is("4/0 AWG".parse().unwrap());
        }
        let path = f.subject.as_str();
        assert!(says(&wires(&thick), "drop-over-target", path), "{path} is in reach of 4/0 AWG");
        assert!(why(&proposal, id).contains("out of reach of any gauge"), "{}", why(&proposal, id));
        // What flows there is no more than 90 A: 2 AWG carries 95 A at 60 C (NEC 310.16), 1 AWG 110 A.
        for run in sized.runs.iter().filter(|r| way.contains(&r.id)) {
            let mm2 = area_mm2(*run.gauge.known().unwrap());
            assert!(mm2 <= area_mm2("1 AWG".parse().unwrap()), "{}: {mm2} mm2", run.id);
        }
    }
}

/// Leads of batteries in parallel count as all of them: no set of gauges beside the one chosen costs less and leaves no more.
///
/// Source: every set of these is evaluated.
#[test]
fn leads_that_are_chosen_together_count_together() {
    let p = read(FOUR_PACKS);
    let (_, sized) = size(&p, &Stock::default(), false);
    // Drawn, the charger's way loses 2.01 % of 2 %: its own lead mends that, and four leads of batteries stay as they are.
    assert!(says(&wires(&p), "drop-over-target", "runs.W9"));
    assert_eq!(run(&sized, "B1").gauge, run(&p, "B1").gauge);
    let (now, cost) = (wires(&sized), copper(&sized));
    let groups: [(&[&str], &[&str]); 4] = [
        (&["B1", "B2", "B3", "B4"], &["3 AWG", "2 AWG", "1 AWG"]),
        (&["W9"], &["6 AWG", "4 AWG", "3 AWG", "2 AWG"]),
        (&["W3"], &["4 AWG", "3 AWG", "2 AWG"]),
        (&["N1", "N2", "N3", "N4"], &["4 AWG", "3 AWG", "2 AWG"]),
    ];
    let mut cheaper = 0;
    for n in 0..3 * 4 * 3 * 3 {
        let (mut rest, mut p) = (n, sized.clone());
        for (ids, gauges) in groups {
            let pick: Gauge = gauges[rest % gauges.len()].parse().unwrap();
            rest /= gauges.len();
            for run in p.runs.iter_mut().filter(|r| ids.contains(&r.id.as_str())) {
                run.gauge = Known::Is(pick);
            }
        }
        if copper(&p) >= cost - 1e-9 {
            continue;
        }
        cheaper += 1;
        let r = wires(&p);
        let counts = |f: &&Finding| f.level != Level::Note || f.check.id == "next-rating-up";
        let more = r.findings.iter().filter(counts).any(|f| !now.findings.iter().any(|g| same(f, g)));
        // What is over its target is not to lose more.
        let pct = |r: &Report, i: usize| r.runs[i].path_drop_pct.as_ref().copied().unwrap_or(0.0);
        let over = |i: usize| now.runs[i].target_pct.is_some_and(|target| pct(&now, i) > target);
        let more = more || (0..now.runs.len()).any(|i| over(i) && pct(&r, i) > pct(&now, i) + 1e-9);
        assert!(
            more,
            "{} mm2 m where {cost} was chosen: {:?}",
            copper(&p),
            p.runs.iter().map(|r| r.gauge).collect::<Vec<_>>()
        );
    }
    assert!(cheaper > 5, "{cheaper}");
}

/// The doubled leads are 2 x 2/0 AWG, 134.9 mm2: no one gauge is as thick.
#[test]
fn the_bond_of_doubled_leads_is_doubled() {
    let p = read(FOUR_PACKS);
    let twice = |plan: &Plan| {
        let bond = run(plan, "WB");
        (bond.gauge.known().map(ToString::to_string), bond.legs[0].per_pole.known().map(|n| n.0))
    };
    for start in [gauge("4/0 AWG"), gauge("14 AWG"), Value::Unknown] {
        let p = with(&p, &[("runs.WB.gauge", start)]);
        let (_, sized) = size(&p, &Stock::default(), false);
        assert_eq!(twice(&sized), (Some("2/0 AWG".into()), Some(2.0)));
        assert!(!says(&wires(&sized), "bond-small", "runs.WB"), "{}", texts(&wires(&sized)));
    }
    // Where the chassis point takes one wire only, nothing does, and the row says what is wanted.
    let one = with(&p, &[("devices.CHS.ratings.wires_each", Value::Number(1.0))]);
    let (proposal, sized) = size(&one, &Stock::default(), false);
    assert!(says(&wires(&sized), "bond-small", "runs.WB"));
    let why = why(&proposal, "WB");
    assert!(why.starts_with("held: 134.9 mm2 wanted") && why.contains("no two in parallel"), "{why}");
}
