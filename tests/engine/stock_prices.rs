//! The truck stock: what it costs, and what it offers first.

use super::plan;
use super::samples::SOUND;
use coachwire::engine::Engine;
use coachwire::plan::field::Item;
use coachwire::plan::{Known, Plan};
use coachwire::standards::conductor::Gauge;
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::{Fuse, Spool, Stock};
use coachwire::units::{Amps, Celsius, Number};

fn gauge(text: &str) -> Gauge {
    text.parse().unwrap()
}

fn stocked(plan: &Plan) -> Stock {
    let mut stock = Stock::default();
    stock.truck.spools.clear();
    for (n, size) in gauge("10 AWG").ladder().enumerate() {
        let mut spool = Spool {
            gauge: Known::Is(size),
            insulation_c: Known::Is(Celsius(125.0)),
            price_per_metre: Some(Known::Is(Number(1.0 + n as f64))),
            ..Spool::default()
        };
        spool.set_id(format!("SP{n}").parse().unwrap());
        stock.truck.spools.push(spool);
    }
    let _ = plan;
    stock
}

/// Worked by hand: metres of both poles times the spool's cost times 1 + markup.
#[test]
fn a_rung_costs_its_wire_with_the_markup() {
    let mut plan = plan(SOUND);
    plan.money.markup_pct = Some(Known::Is(Number(30.0)));
    let stock = stocked(&plan);
    let run = &plan.runs[1];
    let metres: f64 =
        run.legs.iter().map(|l| l.length_m.known().unwrap().0 * l.per_pole.known().unwrap().0 * 2.0).sum();
    let rungs = Engine::default().ladder(&plan, &stock, &coachwire::engine::LadderOf::Gauge(run.id.clone()));
    assert_eq!(rungs.len(), 15);
    for (n, rung) in rungs.iter().enumerate() {
        let price = rung.price.clone().unwrap().0;
        assert!((price - metres * (1.0 + n as f64) * 1.3).abs() < 1e-9, "{}: {price}", rung.name());
    }
    let bare = Engine::default().ladder(&plan, &Stock::default(), &coachwire::engine::LadderOf::Gauge(run.id.clone()));
    assert!(bare.iter().all(|r| r.price.is_err()), "an empty van knows no price");
}

/// A rating the van carries is proposed before one that must be bought, where it lies within the limits.
#[test]
fn the_van_s_fuse_comes_first() {
    let plan = plan(SOUND);
    let proposed = |stock: &Stock| -> Vec<_> {
        let report = Engine::default().evaluate(&plan, stock);
        report.runs.iter().map(|r| (r.id.clone(), r.proposed.clone(), r.fuse_max_a.clone())).collect()
    };
    let bought = proposed(&Stock::default());
    let (id, first, most) =
        bought.iter().find_map(|(id, p, most)| Some((id, p.clone()?, most.clone().ok()?.0))).expect("a fuse");
    let next =
        coachwire::standards::fuse::ratings(first.family).iter().copied().find(|a| *a > first.amps.0 && *a <= most);
    let Some(next) = next else { panic!("{id}: no second rating fits below {most}") };
    let mut stock = Stock::default();
    let family: FuseFamily = first.family;
    stock.truck.fuses.push(Fuse {
        family: Known::Is(family),
        amps_a: Known::Is(Amps(next)),
        count: Known::Is(Number(2.0)),
        ..Fuse::default()
    });
    let carried = proposed(&stock);
    let (_, now, _) = carried.iter().find(|(other, ..)| other == id).unwrap();
    assert_eq!(now.clone().unwrap().amps.0, next);
}
