//! Every ladder row against the plan after it is chosen, column by column, on all samples.

use coachwire::engine::ladder::{Columns, ControllerColumns, Fit, FuseColumns, GaugeColumns, StringsColumns};
use coachwire::engine::report::RunFigures;
use coachwire::engine::sizing::Totals;
use coachwire::engine::{Engine, Finding, LadderOf, Level, Report, Rung};
use coachwire::plan::samples::SAMPLES;
use coachwire::plan::{Figure, Id, Known, Plan, State};
use coachwire::standards::conductor::Gauge;
use coachwire::stock::{Spool, Stock};
use coachwire::units::{Celsius, Metres, Number};

/// Every gauge on a spool with a price and a weight of its own, and the shelf that the program comes with.
fn stock() -> Stock {
    let mut stock = Stock::first();
    for (n, gauge) in Gauge::Awg(0).ladder().chain(Gauge::Mm2(0).ladder()).enumerate() {
        stock.truck.spools.push(Spool {
            gauge: Known::Is(gauge),
            insulation_c: Known::Is(Celsius(150.0)),
            left_m: Known::Is(Metres(3.0 + n as f64)),
            price_per_metre: Some(Known::Is(Number(1.0 + n as f64))),
            kg_per_metre: Some(Known::Is(Number(0.01 * (1.0 + n as f64)))),
            ..Spool::default()
        });
    }
    stock
}

fn open(r: &Report) -> Vec<&Finding> {
    r.findings.iter().filter(|f| f.accepted.is_none()).collect()
}

/// What one has and the other has not, by what it is and how grave.
fn lacking<'a>(has: &'a Report, other: &Report) -> Vec<&'a Finding> {
    let there = |f: &Finding| open(other).iter().any(|g| g.identity() == f.identity() && g.level == f.level);
    open(has).into_iter().filter(|f| !there(f)).collect()
}

fn same<T: PartialEq + std::fmt::Debug>(what: &str, column: &T, plan: &T) {
    assert_eq!(column, plan, "{what}");
}

/// Within rounding, or waiting for the same.
fn near(what: &str, column: &Figure<f64>, plan: &Figure<f64>) {
    match (column, plan) {
        (Ok(a), Ok(b)) => assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{what}: {a}, the plan says {b}"),
        _ => assert_eq!(column.is_err(), plan.is_err(), "{what}: {column:?}, the plan says {plan:?}"),
    }
}

fn gauge(what: &str, c: &GaugeColumns, f: &RunFigures, before: &RunFigures) {
    same(what, &c.drop_v, &f.drop_v);
    same(what, &c.drop_pct, &f.drop_pct);
    same(what, &c.path_drop_pct, &f.path_drop_pct);
    same(what, &c.ampacity_a, &f.ampacity_a);
    same(what, &c.governs, &f.governs);
    same(what, &c.fuse_min_a, &f.fuse_min_a);
    same(what, &c.fuse_max_a, &f.fuse_max_a);
    let spare = || Ok((f.ampacity_a.clone()?.0 / f.design_a.clone()?.0 - 1.0) * 100.0);
    if !c.drops_out && f.design_a.as_ref().is_ok_and(|a| a.0 > 0.0) {
        near(what, &c.margin_pct, &spare());
    }
    if let (Some((end, pct, target)), true) = (&c.other_path, before.path_drop_pct.is_ok()) {
        same(what, &Some(end), &f.path_end.as_ref());
        same(what, &(Ok(*pct), Some(*target)), &(f.path_drop_pct.clone(), f.target_pct));
    }
}

fn fuse(what: &str, c: &FuseColumns, f: &RunFigures, is_string: bool) {
    let first = f.fuses.first().expect("a fuse");
    same(what, &c.interrupt_a, &first.interrupt_a);
    same(what, &c.fault_a, &first.fault_a);
    same(what, &c.margin, &first.margin);
    if !is_string {
        near(what, &c.margin_a, &f.fuse_max_a.clone().map(|most| most.0 - c.amps));
        if f.design_a.as_ref().is_ok_and(|a| a.0 > 0.0) {
            near(what, &c.times_design, &f.design_a.clone().map(|a| c.amps / a.0));
        }
    }
}

fn strings(what: &str, c: &StringsColumns, p: &Plan, r: &Report, index: usize) {
    let a = &r.arrays[index];
    same(what, &c.voc_cold_v, &a.voc_cold_v);
    same(what, &c.vmp_hot_v, &a.vmp_hot_v);
    same(what, &c.imp_a, &a.imp_a);
    same(what, &c.isc_a, &a.isc_a);
    let controller = a.controller.as_ref().and_then(|id| p.controllers.iter().find(|k| k.id == *id));
    same(what, &c.limit_v.clone().ok(), &controller.and_then(|k| k.max_pv_v.known().copied()));
    if let Some(home) = &c.home {
        let f = r.runs.iter().find(|f| f.id == home.run).expect("the home run");
        same(what, &c.path_drop_pct, &f.path_drop_pct);
        let least = f.path.iter().filter_map(|id| r.runs.iter().find(|x| x.id == *id));
        let spare = |f: &RunFigures| Ok((f.ampacity_a.clone()?.0 / f.design_a.clone()?.0 - 1.0) * 100.0);
        let least = least.map(spare).reduce(|a: Figure<f64>, b| Ok(a?.min(b?)));
        near(what, &c.spare_pct, &least.expect("a run"));
    }
}

fn controller(what: &str, c: &ControllerColumns, p: &Plan, r: &Report, index: usize) {
    let k = &p.controllers[index];
    same(what, &c.out_a.clone().ok(), &k.out_a.known().copied());
    same(what, &c.limit_v.clone().ok(), &k.max_pv_v.known().copied());
    let cold = r.controllers[index].voc_cold_v.clone();
    if let (Ok(cold), Some(limit)) = (cold, k.max_pv_v.known()) {
        near(what, &c.margin_v.clone().map(|v| v.0), &Ok(limit.0 - cold.0));
    }
}

/// Price and weight of the wire differ from row to row as they do in the plan.
fn costs(what: &str, rows: &[(Rung, Plan, Report)], stock: &Stock) {
    let known = |r: &(Rung, Plan, Report)| {
        let kg = Totals::of(&r.1, stock, &r.2).wire_kg.ok()?;
        Some((r.0.price.clone().ok()?.0, r.2.price.known_parts.0, r.0.weight_kg.clone().ok()?, kg))
    };
    let all: Vec<_> = rows.iter().filter_map(known).collect();
    for pair in all.windows(2) {
        let (price, parts) = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
        let (kg, of_plan) = (pair[1].2 - pair[0].2, pair[1].3 - pair[0].3);
        assert!((price - parts).abs() < 1e-6, "{what}: {price} more, {parts} in the plan");
        assert!((kg - of_plan).abs() < 1e-6, "{what}: {kg} kg more, {of_plan} in the plan");
    }
}

fn of_all(p: &Plan) -> Vec<LadderOf> {
    let ids = |of: &mut dyn Iterator<Item = &Id>| of.cloned().collect::<Vec<_>>();
    let runs = ids(&mut p.runs.iter().map(|r| &r.id));
    let both = runs.into_iter().flat_map(|id| [LadderOf::Gauge(id.clone()), LadderOf::Fuse(id, None)]);
    let arrays = ids(&mut p.arrays.iter().map(|a| &a.id)).into_iter().map(LadderOf::Strings);
    let controllers = ids(&mut p.controllers.iter().map(|k| &k.id)).into_iter().map(LadderOf::Controller);
    both.chain(arrays).chain(controllers).collect()
}

#[test]
fn every_row_is_what_the_plan_says_when_it_is_chosen() {
    let (stock, mut engine) = (stock(), Engine::default());
    let mut rows_of = [0; 4];
    for sample in SAMPLES {
        let p = Plan::from_text(sample.text).unwrap_or_else(|e| panic!("{e}"));
        let before = engine.evaluate_wires(&p, &stock);
        for of in of_all(&p) {
            let mut rows = Vec::new();
            for rung in engine.ladder(&p, &stock, &of) {
                let with = p.with(&rung.step).unwrap_or_else(|e| panic!("{e}"));
                let after = engine.evaluate_wires(&with, &stock);
                let what = format!("{} {of:?} {}", sample.name, rung.name());
                let place = |id: &Id| p.runs.iter().position(|r| r.id == *id).expect("the run");
                match (&rung.columns, &of) {
                    (Columns::Gauge(c), LadderOf::Gauge(id)) => {
                        rows_of[0] += 1;
                        gauge(&what, c, &after.runs[place(id)], &before.runs[place(id)]);
                        let fuse = with.runs[place(id)].protection.first();
                        same(&what, &c.fuse, &fuse.and_then(|f| Some((*f.amps_a.known()?, *f.family.known()?))));
                    }
                    (Columns::Fuse(c), LadderOf::Fuse(id, _)) => {
                        rows_of[1] += 1;
                        let at_panels = p.arrays.iter().any(|a| {
                            let run = &with.runs[place(id)];
                            [&run.from, &run.to].iter().any(|end| end.known() == Some(&a.id))
                        });
                        fuse(&what, c, &after.runs[place(id)], at_panels);
                    }
                    (Columns::Strings(c), LadderOf::Strings(id)) => {
                        rows_of[2] += 1;
                        let index = p.arrays.iter().position(|a| a.id == *id).expect("the array");
                        strings(&what, c, &with, &after, index);
                    }
                    (Columns::Controller(c), LadderOf::Controller(id)) => {
                        rows_of[3] += 1;
                        let index = p.controllers.iter().position(|k| k.id == *id).expect("the controller");
                        controller(&what, c, &with, &after, index);
                    }
                    other => panic!("{other:?}"),
                }
                let texts = |all: &[&Finding]| all.iter().map(|f| f.text()).collect::<Vec<_>>();
                same(&what, &texts(&rung.new.iter().collect::<Vec<_>>()), &texts(&lacking(&after, &before)));
                same(&what, &texts(&rung.cured.iter().collect::<Vec<_>>()), &texts(&lacking(&before, &after)));
                let stop = lacking(&after, &before).iter().any(|f| f.level == Level::Stop);
                assert!(!stop || matches!(rung.fit, Fit::No(_)), "{what}: {:?}", rung.fit);
                rows.push((rung, with, after));
            }
            // Of wire that is there already a row has the price of new wire, which the plan does not buy.
            let new = |id: &Id| p.runs.iter().any(|r| r.id == *id && r.legs.iter().any(|l| l.state == State::New));
            if matches!(&of, LadderOf::Gauge(id) if new(id)) {
                costs(&format!("{} {of:?}", sample.name), &rows, &stock);
            }
        }
    }
    assert!(rows_of.iter().all(|n| *n >= 10), "{rows_of:?}");
}
