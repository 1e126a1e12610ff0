//! A fuse that is there and a drop: it stays where any gauge meets the target with it, by a brute force over all gauges, and one case by
//! hand.

use super::cheapest_any::{Random, gauge, is_as_good, spool};
use super::plan;
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::{Known, Plan, State};
use coachwire::standards::conductor::{Gauge, area_mm2};
use coachwire::standards::fuse::{ratings, resistance_ohm};
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::{Fuse, Stock};
use coachwire::units::{Amps, Number};

const FAMILIES: [FuseFamily; 2] = [FuseFamily::BoltOnStud, FuseFamily::ClassT];

/// A 40 A controller on a bus, the bus on a lithium bank; both runs are fused at the bank's side.
pub(super) fn coach(controller_m: f64, main_m: f64, main_a: f64, state: &str) -> Plan {
    let run = |id: &str, from: &str, to: &str, metres: f64, at: &str, fuse: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "6 AWG", legs: [(id: "L1", length_m: {metres:?},
                insulation_c: 105.0, ambient_c: 40.0)], protection: [(id: "F1", at: "{at}", {fuse},
                distance_m: 0.1, state: "{state}")]),"#
        )
    };
    let main = format!(r#"family: "UL 248-15 T", amps_a: {main_a:?}"#);
    plan(&format!(
        r#"(bank: (chemistry: "LFP", unit_v: 12.8, unit_ah: 200.0, series: 1.0, parallel: 1.0, ohmic_mohm: 3.0,
            max_discharge_a: 200.0, max_charge_a: 100.0, charge_cutoff_c: 0.0, vented: "no"),
        panels: [(id: "P1", pmax_w: 200.0, vmp_v: 20.0, imp_a: 10.0, voc_v: 24.0, isc_a: 10.6)],
        arrays: [(id: "A1", strings: "2S2P P1", controller: "C1")],
        controllers: [(id: "C1", kind: "tracking", max_pv_v: 150.0, max_pv_a: 60.0, out_a: 40.0, absorb_v: 14.2)],
        devices: [(id: "BUS", kind: "bus")],
        runs: [{}{}])"#,
        run("W1", "BK", "BUS", main_m, "from", &main),
        run("W2", "C1", "BUS", controller_m, "to", r#"family: "ISO 8820-6", amps_a: 60.0"#),
    ))
}

/// Wire at about the price of its copper, and fuses of both families at prices that follow nothing.
fn shop(r: &mut Random, times: f64) -> Stock {
    let mut stock = Stock::default();
    for gauge in Gauge::Awg(0).ladder() {
        stock.truck.spools.push(spool(gauge, 125.0, 0.0, area_mm2(gauge) * r.between(0.2, 0.3)));
    }
    for family in FAMILIES {
        let dear = if family == FuseFamily::ClassT { 12.0 } else { 4.0 };
        stock.truck.fuses.extend(ratings(family).iter().map(|amps| Fuse {
            family: Known::Is(family),
            amps_a: Known::Is(Amps(*amps)),
            price: Some(Known::Is(Number(times * dear * r.between(0.8, 1.6)))),
            ..Fuse::default()
        }));
    }
    stock
}

fn rated(p: &Plan, n: usize) -> (FuseFamily, f64) {
    let f = &p.runs[n].protection[0];
    (*f.family.known().expect("a family"), f.amps_a.known().expect("a rating").0)
}

fn price(stock: &Stock, (family, amps): (FuseFamily, f64)) -> f64 {
    let same = |f: &&Fuse| f.family == Known::Is(family) && f.amps_a == Known::Is(Amps(amps));
    stock.truck.fuses.iter().find(same).and_then(|f| f.price.as_ref()?.known()).expect("a price").0
}

/// Both poles of wire, and the fuses: one that is there already costs nothing, another in its place all of its price; one still to be
/// bought no less than the one that was chosen.
fn cost(p: &Plan, was: &Plan, stock: &Stock) -> f64 {
    let each = |n: usize| {
        let run = &p.runs[n];
        let gauge = run.gauge.known().expect("a gauge");
        let of = stock.truck.spools.iter().find(|s| s.gauge.known() == Some(gauge)).expect("a spool");
        let wire =
            2.0 * run.legs[0].length_m.known().expect("m").0 * of.price_per_metre.as_ref().unwrap().known().unwrap().0;
        let (had, has) = (rated(was, n), rated(p, n));
        wire + match was.runs[n].protection[0].state {
            State::New => price(stock, has).max(price(stock, had)),
            _ if had == has => 0.0,
            _ => price(stock, has),
        }
    };
    (0..p.runs.len()).map(each).sum()
}

/// Every gauge from 10 to 4/0 AWG on each run, the fuses as they are.
fn all_of(p: &Plan) -> Vec<Plan> {
    let mut all = vec![p.clone()];
    for n in 0..p.runs.len() {
        let made = |p: &Plan, g: usize| {
            let mut p = p.clone();
            p.runs[n].gauge = Known::Is(gauge(g));
            p
        };
        all = all.iter().flat_map(|p| (1..9).map(|g| made(p, g)).collect::<Vec<_>>()).collect();
    }
    all
}

fn said(p: &Plan) -> String {
    (0..p.runs.len()).map(|n| format!("{} {:?}; ", p.runs[n].gauge.known().expect("a gauge"), rated(p, n))).collect()
}

/// Twenty-four coaches, 64 pairs of gauges each: where fuses went, no pair with those that were drawn was as good; with the fuses that
/// it came to none that is as good costs less. No fuse that went is above the one ahead of it (W1's is ahead of W2's).
#[test]
fn fuses_stay_where_a_gauge_does() {
    let (mut tried, mut changed, mut stayed) = (0, 0, 0);
    for seed in 1..=24 {
        let mut r = Random::of(seed);
        let state = if seed % 2 == 0 { "new" } else { "existing" };
        let p = coach(r.between(0.4, 4.5), r.between(0.3, 0.9), [60.0, 70.0, 80.0][seed as usize % 3], state);
        // Every third shop asks so much for a fuse that no wire is worth it where one is there.
        let stock = shop(&mut r, if seed % 3 == 0 { 40.0 } else { 1.0 });
        let mut engine = Engine::default();
        let sized = p.with(&engine.size_all(&p, &stock, false)).expect("applies");
        let (own, after) = (cost(&sized, &p, &stock), engine.evaluate_wires(&sized, &stock));
        assert!(engine.size_all(&sized, &stock, false).edits.is_empty(), "seed {seed}: sized again");
        let other = (0..2).filter(|n| rated(&sized, *n) != rated(&p, *n)).count();
        (changed, stayed) = (changed + usize::from(other > 0), stayed + usize::from(other == 0));
        let raised = rated(&sized, 1).1 > rated(&p, 1).1;
        assert!(!raised || rated(&sized, 1).1 <= rated(&sized, 0).1, "seed {seed}: {}", said(&sized));
        let drawn = all_of(&p).into_iter().filter(|_| other > 0);
        let same = all_of(&sized).into_iter().filter(|q| cost(q, &p, &stock) < own * (1.0 - 1e-6));
        for q in drawn.chain(same) {
            tried += 1;
            let good = is_as_good(&engine.evaluate_wires(&q, &stock), &after);
            assert!(!good, "seed {seed}: {own} for {}, {} for {}", said(&sized), cost(&q, &p, &stock), said(&q));
        }
    }
    assert!(tried > 200 && changed > 1 && stayed > 1, "{tried} {changed} {stayed}");
}

fn drops(r: &Report) -> usize {
    r.findings.iter().filter(|f| f.check.id == "drop-over-target" && f.level != Level::Note).count()
}

/// A fuse of ISO 8820-6 has 0.1 V at its rating: of 60 A at 40 A 67 mV, of the 150 mV that 1.25 % of 12 V are. Copper makes up for it
/// however little another fuse costs, as long as some gauge does; further away none does (4/0 AWG has 0.16 mOhm a metre at 20 C,
/// ASTM B258: 7 m and back are 90 mV at 40 A), and the row says why and what the path would lose with the one that was there.
#[test]
fn copper_makes_up_before_a_larger_fuse() {
    let lost_mv = |a: f64| resistance_ohm(FuseFamily::BoltOnStud, a) * 40.0 * 1000.0;
    assert!((lost_mv(60.0) - 66.7).abs() < 0.1, "0.1 V x 40 / 60");
    let mut cheap = shop(&mut Random::of(5), 1.0);
    cheap.truck.fuses.iter_mut().for_each(|f| f.price = Some(Known::Is(Number(0.01))));
    for stock in [&cheap, &Stock::default()] {
        let row = |p: &Plan| Engine::default().propose_sizes(p, stock, false).rows[1].clone();
        for metres in [0.3, 0.6, 1.2, 2.0] {
            let near = coach(metres, 0.6, 125.0, "new");
            assert_eq!(row(&near).fuse.1, Some((Amps(60.0), FuseFamily::BoltOnStud)), "{metres} m");
            let sized = near.with(&Engine::default().size_all(&near, stock, false)).expect("applies");
            assert_eq!(drops(&Engine::default().evaluate_wires(&sized, stock)), 0, "{metres} m");
        }
        let far = row(&coach(7.0, 0.3, 125.0, "new"));
        let (amps, family) = far.fuse.1.expect("a fuse");
        assert!((family, amps) != (FuseFamily::BoltOnStud, Amps(60.0)), "{far:?}");
        assert!(far.why.contains(" for less drop; with 60 A"), "{far:?}");
    }
}

/// Wire with prices and no fuse with one: a fuse is bought in another rating or of another family where, and only where, it is when nothing
/// has a price, and the target is met all the same. Source: a price that is missing on both sides cancels.
#[test]
fn a_fuse_without_a_price_is_bought_in_another_rating() {
    let mut stock = Stock::default();
    for gauge in Gauge::Awg(0).ladder() {
        stock.truck.spools.push(spool(gauge, 125.0, 0.0, area_mm2(gauge)));
    }
    let mut swapped = 0;
    for metres in [0.6, 1.5, 2.5, 4.0, 5.0, 6.0, 7.0] {
        let p = coach(metres, 0.3, 200.0, "new");
        let sized = |stock: &Stock| {
            let step = Engine::default().propose_sizes(&p, stock, false).step;
            let with = p.with(&step).expect("applies");
            let went = rated(&with, 1) != (FuseFamily::BoltOnStud, 60.0);
            (went, drops(&Engine::default().evaluate_wires(&with, stock)))
        };
        let (by_weight, by_price) = (sized(&Stock::default()), sized(&stock));
        swapped += usize::from(by_weight.0);
        assert_eq!(by_price, by_weight, "{metres} m");
    }
    assert!(swapped > 0);
}
