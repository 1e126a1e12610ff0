//! Sizing from the truck alone: each spool serves what its insulation is good for, and is counted down by itself.

use super::mistakes::{insert, sound};
use coachwire::engine::Engine;
use coachwire::plan::{Known, Plan};
use coachwire::stock::{Spool, Stock};
use coachwire::units::{Celsius, Metres, Number, Ohms};

/// Branches of 300 W from the bus in 2 AWG, each with its leg's insulation, C, and length, m; all else is held as it was
/// measured.
fn branches(legs: &[(f64, f64)]) -> Plan {
    let mut p = sound();
    for run in &mut p.runs {
        run.measured_ohm = Some(Known::Is(Ohms(0.001)));
        run.gauge = Known::Is("2 AWG".parse().expect("gauge"));
    }
    for (n, (insulation_c, long)) in (1..).zip(legs) {
        p = insert(&p, "loads", &format!(r#"(id: "X{n}", watts_w: 300.0, hours_day: 1.0)"#));
        let run = format!(
            r#"(id: "Y{n}", from: "BUS", to: "X{n}", gauge: "2 AWG", legs: [(id: "L1", length_m: {long:?},
            insulation_c: {insulation_c:?}, ambient_c: 30.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#
        );
        p = insert(&p, "runs", &run);
    }
    p
}

/// Spools of 8 AWG: insulation, C, and metres left.
fn truck(spools: &[(f64, f64)]) -> Stock {
    let mut stock = Stock::default();
    stock.truck.spools.extend(spools.iter().map(|(insulation_c, left_m)| Spool {
        gauge: Known::Is("8 AWG".parse().expect("gauge")),
        insulation_c: Known::Is(Celsius(*insulation_c)),
        left_m: Known::Is(Metres(*left_m)),
        price_per_metre: Some(Known::Is(Number(3.0))),
        ..Spool::default()
    }));
    stock
}

/// The gauge and the reason of each branch, sized from the truck alone.
fn sized(legs: &[(f64, f64)], spools: &[(f64, f64)]) -> Vec<(String, String)> {
    let p = branches(legs);
    let rows = Engine::default().propose_sizes(&p, &truck(spools), true).rows;
    let own = rows.into_iter().filter(|r| r.run.as_str().starts_with('Y'));
    own.map(|r| (r.gauge.1.expect("a gauge").to_string(), r.why)).collect()
}

/// Both poles of 4 m are 8 m. Wire for 75 C never serves a leg entered as 105 C, however much of it there is; wire for 105 C
/// serves either. Source: NEC 310.4 and the insulation's own rating: its ampacities are those of its temperature.
#[test]
fn wire_for_less_heat_never_serves_a_leg_for_more() {
    let gauges = |legs: &[(f64, f64)], spools: &[(f64, f64)]| -> Vec<String> {
        sized(legs, spools).into_iter().map(|r| r.0).collect()
    };
    let (hot, cool) = ((105.0, 4.0), (75.0, 4.0));
    assert_eq!(gauges(&[hot], &[(75.0, 30.0), (105.0, 7.9)]), ["2 AWG"]);
    assert_eq!(gauges(&[hot], &[(75.0, 30.0), (105.0, 8.0)]), ["8 AWG"]);
    assert_eq!(gauges(&[cool], &[(105.0, 8.0)]), ["8 AWG"]);
    // Each spool by itself: the cool leg leaves the better wire to the hot one as long as there is other.
    assert_eq!(gauges(&[cool, hot], &[(105.0, 8.0), (75.0, 8.0)]), ["8 AWG", "8 AWG"]);
    assert_eq!(gauges(&[cool, hot], &[(105.0, 16.0)]), ["8 AWG", "8 AWG"]);
    assert_eq!(gauges(&[hot, hot], &[(105.0, 8.0), (75.0, 30.0)]), ["8 AWG", "2 AWG"]);
    assert_eq!(gauges(&[cool, hot], &[(75.0, 7.0), (105.0, 9.0)]).iter().filter(|g| *g == "8 AWG").count(), 1);
    // One of 4 m lies on each: the pair is cut from both.
    assert_eq!(gauges(&[hot], &[(105.0, 4.5), (125.0, 4.5)]), ["8 AWG"]);
    // No conductor is made of two ends.
    assert_eq!(gauges(&[hot], &[(105.0, 3.0), (105.0, 3.0), (105.0, 3.0)]), ["2 AWG"]);
}

/// The row says how much is left for its insulation, and that there is other wire; a foot is 0.3048 m.
#[test]
fn a_row_says_what_is_left_for_its_insulation() {
    let why = |legs: &[(f64, f64)], spools: &[(f64, f64)]| sized(legs, spools).swap_remove(legs.len() - 1).1;
    let other = "; other 8 AWG there is not for insulation of 105 C";
    assert_eq!(
        why(&[(105.0, 4.0)], &[(75.0, 30.0), (105.0, 4.0)]),
        format!("held: 8 AWG: 26.2' needed, 13.1' left on the truck{other}")
    );
    assert_eq!(
        why(&[(105.0, 4.0), (105.0, 4.0)], &[(75.0, 30.0), (105.0, 8.0)]),
        format!("held: 8 AWG: 26.2' needed, 26.2' left on the truck, 26.2' of it taken by Y1{other}")
    );
    assert_eq!(
        why(&[(105.0, 4.0)], &[(105.0, 3.0), (105.0, 3.0), (105.0, 3.0)]),
        "held: 8 AWG: 26.2' needed, 29.5' left on the truck, not in lengths of 13.1'"
    );
}

/// A leg goes on in the next one: 2 m in the cabinet and 2 m in the cavity are 4 m of one wire.
#[test]
fn legs_alike_are_one_piece_of_wire() {
    let two = |spools: &[(f64, f64)]| {
        let mut p = branches(&[(105.0, 2.0)]);
        let run = p.runs.iter_mut().find(|r| r.id.as_str() == "Y1").expect("there");
        let mut more = run.legs[0].clone();
        more.id = "L2".parse().expect("id");
        run.legs.push(more);
        let rows = Engine::default().propose_sizes(&p, &truck(spools), true).rows;
        rows.into_iter().find(|r| r.run.as_str() == "Y1").expect("a row").gauge.1.expect("a gauge").to_string()
    };
    assert_eq!(two(&[(105.0, 4.0), (105.0, 4.0)]), "8 AWG");
    assert_eq!(two(&[(105.0, 3.5), (105.0, 3.5), (105.0, 3.5)]), "2 AWG");
}

fn spool(gauge: &str, insulation_c: Known<Celsius>, left_m: f64) -> Spool {
    let (gauge, left_m) = (Known::Is(gauge.parse().expect("gauge")), Known::Is(Metres(left_m)));
    Spool { gauge, insulation_c, left_m, price_per_metre: Some(Known::Is(Number(3.0))), ..Spool::default() }
}

/// A run whose wire no spool serves stays as it is, and says so: no wire is taken for it.
#[test]
fn a_run_on_wire_that_the_truck_has_not_reads_held() {
    let mut p = branches(&[(105.0, 4.0)]);
    let run = p.runs.iter_mut().find(|r| r.id.as_str() == "Y1").expect("there");
    run.protection[0].amps_a = Known::Is(coachwire::units::Amps(125.0));
    run.legs[0].ambient_c = Some(Known::Is(Celsius(45.0)));
    let mut stock = Stock::default();
    stock.truck.spools = vec![spool("4 AWG", Known::Is(Celsius(105.0)), 30.0), spool("2 AWG", Known::Unknown, 30.0)];
    let row = |stock: &Stock| {
        let rows = Engine::default().propose_sizes(&p, stock, true).rows;
        let row = rows.into_iter().find(|r| r.run.as_str() == "Y1").expect("a row");
        assert!(!row.changes(), "{row:?}");
        row.why
    };
    assert!(row(&stock).starts_with("held: the insulation of the truck's 2 AWG is not entered; "), "{}", row(&stock));
    stock.truck.spools.pop();
    assert!(row(&stock).starts_with("held: no 2 AWG on the truck; "), "{}", row(&stock));
    stock.truck.spools.push(spool("2 AWG", Known::Is(Celsius(105.0)), 30.0));
    assert!(!row(&stock).contains("held"), "{}", row(&stock));
}

/// Where another run has the last of the wire that would do, that is said, though its own insulation is for less.
#[test]
fn wire_that_others_have_used_up_is_said() {
    let p = branches(&[(75.0, 4.0), (105.0, 6.0)]);
    let mut stock = truck(&[(105.0, 12.5)]);
    stock.truck.spools.push(spool("6 AWG", Known::Is(Celsius(105.0)), 30.0));
    let rows = Engine::default().propose_sizes(&p, &stock, true).rows;
    let own = |id: &str| rows.iter().find(|r| r.run.as_str() == id).expect("a row");
    assert_eq!(own("Y1").gauge.1.expect("a gauge").to_string(), "8 AWG");
    assert_eq!(own("Y2").gauge.1.expect("a gauge").to_string(), "6 AWG");
    assert_eq!(own("Y2").why, "no thinner: the 8 AWG on the truck is used up by Y1");
    // With more of it there is nothing to say.
    stock.truck.spools[0].left_m = Known::Is(Metres(40.0));
    let rows = Engine::default().propose_sizes(&p, &stock, true).rows;
    assert!(rows.iter().all(|r| !r.why.contains("used up")), "{rows:?}");
}
