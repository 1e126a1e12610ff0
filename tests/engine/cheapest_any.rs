//! Sizing all against every combination there is, on small plans made of random numbers: none that is no worse costs less.

use super::plan;
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::{Known, Plan};
use coachwire::standards::conductor::{Gauge, area_mm2};
use coachwire::standards::fuse::ratings;
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::{Fuse, Spool, Stock};
use coachwire::units::{Amps, Celsius, Metres, Number};

/// Random numbers from 0 to 1, the same from the same seed.
///
/// Source: Marsaglia 2003, "Xorshift RNGs", J. Stat. Software 8(14), the triple 13, 7, 17.
pub(super) struct Random(u64);

impl Random {
    pub(super) fn of(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub(super) fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(super) fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.next()
    }
}

const SIZES: [&str; 9] = ["12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG", "1/0 AWG", "2/0 AWG", "4/0 AWG"];

pub(super) fn gauge(n: usize) -> Gauge {
    SIZES[n].parse().expect("gauge")
}

/// A lithium bank on a bus that feeds an inverter and a load; gauges and ratings open. The load's leg is for 75 C.
fn small(r: &mut Random) -> Plan {
    let (main, of_inverter, of_load) = (r.between(0.2, 1.0), r.between(0.4, 1.6), r.between(0.5, 4.0));
    let (watts, load) = (r.between(200.0, 1200.0), r.between(20.0, 300.0));
    let run = |id: &str, from: &str, to: &str, metres: f64, insulation: f64| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "?", legs: [(id: "L1", length_m: {metres:?},
                insulation_c: {insulation:?}, ambient_c: 30.0)], protection: [(id: "F1", at: "from",
                family: "UL 248-15 T", amps_a: "?", distance_m: 0.1)]),"#
        )
    };
    plan(&format!(
        r#"(bank: (chemistry: "LFP", unit_v: 12.8, unit_ah: 200.0, series: 1.0, parallel: 1.0, ohmic_mohm: 3.0,
            max_discharge_a: 200.0, max_charge_a: 100.0, charge_cutoff_c: 0.0, vented: "no"),
        inverters: [(id: "INV", watts_w: {watts:?}, idle_w: 10.0)], devices: [(id: "BUS", kind: "bus")],
        loads: [(id: "L1", watts_w: {load:?}, hours_day: 4.0)],
        runs: [{}{}{}])"#,
        run("W1", "BK", "BUS", main, 105.0),
        run("W2", "BUS", "INV", of_inverter, 105.0),
        run("W3", "BUS", "L1", of_load, 75.0),
    ))
}

pub(super) fn spool(gauge: Gauge, insulation_c: f64, left_m: f64, price: f64) -> Spool {
    Spool {
        gauge: Known::Is(gauge),
        insulation_c: Known::Is(Celsius(insulation_c)),
        left_m: Known::Is(Metres(left_m)),
        price_per_metre: Some(Known::Is(Number(price))),
        ..Spool::default()
    }
}

/// Every gauge of its system with a price about that of its copper; fuses of class T with prices that follow nothing.
fn shop(r: &mut Random) -> Stock {
    let mut stock = Stock::default();
    for gauge in Gauge::Awg(0).ladder() {
        stock.truck.spools.push(spool(gauge, 125.0, 0.0, area_mm2(gauge) * r.between(0.15, 0.25)));
    }
    stock
}

fn priced(r: &mut Random, stock: &mut Stock, count: f64) {
    stock.truck.fuses.extend(ratings(FuseFamily::ClassT).iter().map(|amps| Fuse {
        family: Known::Is(FuseFamily::ClassT),
        amps_a: Known::Is(Amps(*amps)),
        count: Known::Is(Number(count)),
        price: Some(Known::Is(Number(r.between(15.0, 25.0)))),
        ..Fuse::default()
    }));
}

/// Metres of both poles, and the insulation, of each run.
fn needs(p: &Plan) -> Vec<(Gauge, f64, f64)> {
    let of = |run: &coachwire::plan::Run| {
        let leg = &run.legs[0];
        let (c, m) = (leg.insulation_c.known().expect("entered").0, leg.length_m.known().expect("entered").0);
        (*run.gauge.known().expect("a gauge"), c, m)
    };
    p.runs.iter().map(of).collect()
}

/// The cheapest spool for each, and a fuse of its rating each, without the plan's markup.
fn cost(p: &Plan, stock: &Stock) -> f64 {
    let wire = needs(p).into_iter().map(|(gauge, c, m)| {
        let fit = |s: &&Spool| s.gauge.known() == Some(&gauge) && s.insulation_c.known().is_some_and(|x| x.0 >= c);
        let each = stock.truck.spools.iter().filter(fit).filter_map(|s| s.price_per_metre.as_ref()?.known());
        2.0 * m * each.map(|n| n.0).fold(f64::MAX, f64::min)
    });
    let fuses = p.runs.iter().flat_map(|run| &run.protection).map(|f| {
        let same = |x: &&Fuse| x.amps_a.known() == f.amps_a.known() && x.family.known() == f.family.known();
        stock.truck.fuses.iter().find(same).and_then(|x| x.price.as_ref()?.known()).map_or(0.0, |n| n.0)
    });
    wire.sum::<f64>() + fuses.sum::<f64>()
}

/// Whether every conductor can be cut from some spool of its gauge that is insulated for it: all ways of it are tried.
fn can_be_cut(p: &Plan, stock: &Stock) -> bool {
    let pieces: Vec<(Gauge, f64, f64)> = needs(p).into_iter().flat_map(|n| [n, n]).collect();
    let mut left: Vec<f64> = stock.truck.spools.iter().map(|s| s.left_m.known().map_or(0.0, |m| m.0)).collect();
    fn cut(pieces: &[(Gauge, f64, f64)], left: &mut [f64], stock: &Stock) -> bool {
        let Some(((gauge, c, m), rest)) = pieces.split_first() else { return true };
        for (n, s) in stock.truck.spools.iter().enumerate() {
            let fits = s.gauge.known() == Some(gauge) && s.insulation_c.known().is_some_and(|x| x.0 >= *c);
            if fits && left[n] >= m - 1e-9 {
                left[n] -= m;
                if cut(rest, left, stock) {
                    return true;
                }
                left[n] += m;
            }
        }
        false
    }
    cut(&pieces, &mut left, stock)
}

/// A note does not count, but for one of a fuse that leans on the next rating up.
fn counts(f: &Finding) -> bool {
    f.level != Level::Note || f.check.id == "next-rating-up"
}

/// Whether a plan is no worse than another: no finding that the other has not, no path further over its target.
pub(super) fn is_as_good(now: &Report, than: &Report) -> bool {
    let known = |f: &Finding| than.findings.iter().any(|g| g.identity() == f.identity() && g.level == f.level);
    let over = |(a, b): (&coachwire::engine::report::RunFigures, &coachwire::engine::report::RunFigures)| {
        let share = |f: &coachwire::engine::report::RunFigures| {
            f.path_drop_pct.clone().ok().zip(f.target_pct).map_or(0.0, |(pct, target)| (pct / target).max(1.0))
        };
        share(a) > share(b) + 1e-9
    };
    now.findings.iter().filter(|f| counts(f)).all(known) && !now.runs.iter().zip(&than.runs).any(over)
}

/// Every combination of gauges, and of ratings from the one that is there up to the fourth larger where fuses are priced.
fn all_of(p: &Plan, ladder: &[Gauge], with_fuses: bool) -> Vec<Plan> {
    let mut all = vec![p.clone()];
    for n in 0..p.runs.len() {
        let amps = p.runs[n].protection[0].amps_a.known().expect("a rating").0;
        let larger = ratings(FuseFamily::ClassT).iter().copied().filter(|a| *a >= amps);
        let fuses: Vec<f64> = if with_fuses { larger.take(5).collect() } else { vec![amps] };
        all = all
            .into_iter()
            .flat_map(|p| {
                ladder.iter().flat_map(|gauge| fuses.iter().map(move |a| (*gauge, *a))).map(move |(gauge, amps)| {
                    let mut p = p.clone();
                    p.runs[n].gauge = Known::Is(gauge);
                    p.runs[n].protection[0].amps_a = Known::Is(Amps(amps));
                    p
                })
            })
            .collect();
    }
    all
}

/// Sized, and held against every combination that costs less: how many those are.
fn held(p: &Plan, stock: &Stock, only: bool, ladder: &[Gauge], with_fuses: bool) -> Result<usize, String> {
    let mut engine = Engine::default();
    let sized = p.with(&engine.size_all(p, stock, only)).map_err(|e| e.to_string())?;
    if sized.runs.iter().any(|r| r.gauge.known().is_none() || r.protection[0].amps_a.known().is_none()) {
        return Ok(0);
    }
    let (own, after) = (cost(&sized, stock), engine.evaluate_wires(&sized, stock));
    if only && !can_be_cut(&sized, stock) {
        return Err(format!("is not on the truck: {:?}", needs(&sized)));
    }
    let mut tried = 0;
    let missed = |r: &Report| r.findings.iter().any(|f| f.check.id == "drop-over-target");
    let same = |q: &Plan| q.runs.iter().zip(&sized.runs).all(|(a, b)| a.protection == b.protection);
    for other in all_of(&sized, ladder, with_fuses) {
        // A larger fuse is for a target that is missed, not for less copper.
        let larger = !same(&other);
        if larger && !missed(&after) {
            continue;
        }
        let less = cost(&other, stock) < own * (1.0 - 1e-6) && (!only || can_be_cut(&other, stock));
        if less {
            tried += 1;
            let then = engine.evaluate_wires(&other, stock);
            if is_as_good(&then, &after) && !(larger && missed(&then)) {
                let made = |p: &Plan| -> Vec<String> {
                    let of = |r: &coachwire::plan::Run| {
                        format!("{} {:?}", r.gauge.known().expect("a gauge"), r.protection[0].amps_a.known())
                    };
                    p.runs.iter().map(of).collect()
                };
                return Err(format!("{own} for {:?}, {} for {:?}", made(&sized), cost(&other, stock), made(&other)));
            }
        }
    }
    Ok(tried)
}

/// All gauges from the shop: no set costs less.
#[test]
fn no_set_of_gauges_costs_less() {
    let ladder: Vec<Gauge> = (0..SIZES.len()).map(gauge).collect();
    let mut tried = 0;
    for seed in 1..=12 {
        let mut r = Random::of(seed);
        let (p, stock) = (small(&mut r), shop(&mut r));
        tried += held(&p, &stock, false, &ladder, false).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
    }
    assert!(tried > 200, "{tried}");
}

/// Gauges and fuses, both priced: with the fuses that it came to no set costs less, and where a target is missed no larger ones reach it.
#[test]
fn no_set_of_gauges_and_fuses_costs_less() {
    let mut tried = 0;
    for seed in 1..=48 {
        let mut r = Random::of(seed);
        let (mut p, mut stock) = (small(&mut r), shop(&mut r));
        priced(&mut r, &mut stock, 0.0);
        p.runs.truncate(2);
        p.loads.clear();
        let ladder: Vec<Gauge> = (3..SIZES.len()).map(gauge).collect();
        tried += held(&p, &stock, false, &ladder, true).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
    }
    assert!(tried > 200, "{tried}");
}

/// From the truck alone, two spools of unlike insulation of some gauges: no set that can be cut from them costs less.
#[test]
fn no_set_from_the_truck_costs_less() {
    let (mut tried, mut whole) = (0, 0);
    for seed in 1..=24 {
        let mut r = Random::of(seed);
        let (p, mut stock) = (small(&mut r), Stock::default());
        let mut ladder = Vec::new();
        for n in (0..SIZES.len()).filter(|_| r.next() < 0.7).collect::<Vec<_>>() {
            ladder.push(gauge(n));
            let price = area_mm2(gauge(n)) * r.between(0.15, 0.25);
            stock.truck.spools.push(spool(gauge(n), 105.0, r.between(0.5, 6.0), price));
            if r.next() < 0.5 {
                stock.truck.spools.push(spool(gauge(n), 75.0, r.between(0.5, 9.0), price * 0.8));
            }
        }
        priced(&mut r, &mut stock, 3.0);
        // One price: which fuse is not what is asked here.
        stock.truck.fuses.iter_mut().for_each(|f| f.price = Some(Known::Is(Number(20.0))));
        let found = held(&p, &stock, true, &ladder, false).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
        tried += found;
        whole += usize::from(found > 0);
    }
    assert!(tried > 20 && whole > 5, "{tried} {whole}");
}
