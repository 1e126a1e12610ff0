//! What the job costs: parts bought new, labour, taxes. A part without a price is counted, never taken as free.

use crate::plan::ledger::Taxed;
use crate::plan::wiring::Return;
use crate::plan::{FieldPath, Figure, Known, Leg, Missing, Plan, Protection, Run, State};
use crate::standards::conductor::Gauge;
use crate::stock::Stock;
use crate::units::Number;

use super::context::at;
use super::report::{PriceFigures, none_yet};

/// What the plan adds to costs from the truck stock: 1.3 for a markup of 30 %. Without a markup costs stand as they
/// are.
pub(super) fn markup(plan: &Plan) -> f64 {
    plan.money.markup_pct.as_ref().and_then(|m| m.known()).map_or(1.0, |m| 1.0 + m.0 / 100.0)
}

/// Cost of a metre of wire for a leg: the cheapest spool of that gauge and metal whose jacket stands the leg's
/// insulation temperature, if the truck stock knows one.
pub(super) fn wire_cost_per_m(stock: &Stock, gauge: Gauge, leg: &Leg) -> Option<f64> {
    let wanted_c = leg.insulation_c.known().map_or(0.0, |c| c.0);
    stock
        .truck
        .spools
        .iter()
        .filter(|s| s.gauge.known() == Some(&gauge) && s.metal == leg.metal)
        .filter(|s| s.insulation_c.known().is_some_and(|c| c.0 >= wanted_c))
        .filter_map(|s| s.price_per_metre.as_ref()?.known().map(|p| p.0))
        .reduce(f64::min)
}

/// Cost of a fuse, if the truck stock knows it.
fn fuse_cost(stock: &Stock, fuse: &Protection) -> Option<f64> {
    let (family, amps) = (fuse.family.known()?, fuse.amps_a.known()?);
    let same = |f: &&crate::stock::truck::Fuse| f.family.known() == Some(family) && f.amps_a.known() == Some(amps);
    stock.truck.fuses.iter().find(same)?.price.as_ref()?.known().map(|p| p.0)
}

/// The running sum of parts.
struct Sum {
    known: f64,
    unpriced: usize,
    waits: Option<Missing>,
}

impl Sum {
    /// Adds `count` parts at a price; absent and unknown prices are counted.
    fn add(&mut self, count: f64, price: Option<&Known<Number>>, path: impl FnOnce() -> FieldPath) {
        match price {
            Some(Known::Is(each)) => self.known += each.0 * count,
            Some(Known::Unknown) => {
                self.unpriced += 1;
                self.waits.get_or_insert_with(|| Missing(path()));
            }
            None => self.unpriced += 1,
        }
    }
}

/// The figures of the quote.
pub(super) fn figures(plan: &Plan, stock: &Stock) -> PriceFigures {
    let mut sum = Sum { known: 0.0, unpriced: 0, waits: None };
    equipment(plan, &mut sum);
    wire(plan, stock, &mut sum);
    let money = &plan.money;
    let m = |known: Option<&Known<Number>>, field: &str| -> Figure<f64> {
        known.map_or(Ok(0.0), |k| k.at(|| FieldPath::new(format!("money.{field}"))).map(|n| n.0))
    };
    let consumables = m(money.consumables.as_ref(), "consumables");
    let parts: Figure<f64> = match (&sum.waits, sum.unpriced) {
        (Some(missing), _) => Err(missing.clone()),
        (None, 0) => consumables.map(|c| c + sum.known),
        (None, _) => none_yet(),
    };
    let labour: Figure<f64> = (|| {
        let mut hours = 0.0;
        for task in &money.tasks {
            let path = || FieldPath::new(format!("money.tasks.{}.hours_h", task.id));
            hours += task.hours_h.at(path)?.0;
        }
        let work = if hours > 0.0 { hours * money.labour_rate.at(|| "money.labour_rate".into())?.0 } else { 0.0 };
        Ok(work + m(money.travel.as_ref(), "travel")?)
    })();
    let tax: Figure<f64> = (|| {
        let mut total = 0.0;
        for tax in &money.taxes {
            let rate = tax.rate_pct.at(|| FieldPath::new(format!("money.taxes.{}.rate_pct", tax.id)))?.0 / 100.0;
            total += rate
                * match tax.on {
                    Taxed::Parts => parts.clone()?,
                    Taxed::Labour => labour.clone()?,
                    Taxed::Both => parts.clone()? + labour.clone()?,
                };
        }
        Ok(total)
    })();
    let total: Figure<f64> = (|| Ok(parts.clone()? + labour.clone()? + tax.clone()?))();
    PriceFigures {
        parts: parts.map(Number),
        labour: labour.map(Number),
        tax: tax.map(Number),
        total: total.map(Number),
        known_parts: Number(sum.known),
        unpriced: sum.unpriced,
    }
}

fn equipment(plan: &Plan, sum: &mut Sum) {
    let new = |s: State| s == State::New;
    for panel in &plan.panels {
        let count = plan
            .arrays
            .iter()
            .filter(|a| new(a.state))
            .flat_map(|a| a.strings.0.iter().flatten())
            .filter(|id| **id == panel.id)
            .count();
        if count > 0 {
            sum.add(count as f64, panel.price.as_ref(), || at("panels", &panel.id, "price"));
        }
    }
    macro_rules! each {
        ($($list:ident),*) => {$(
            for item in plan.$list.iter().filter(|i| new(i.state)) {
                sum.add(1.0, item.price.as_ref(), || at(stringify!($list), &item.id, "price"));
            }
        )*};
    }
    each!(controllers, inverters, chargers, devices, loads);
    let bank = &plan.bank;
    // A plan without a bank has neither of these counts.
    if let (true, Some(s), Some(p)) = (new(bank.state), bank.series.known(), bank.parallel.known()) {
        sum.add(s.0 * p.0, bank.price.as_ref(), || "bank.price".into());
    }
}

fn wire(plan: &Plan, stock: &Stock, sum: &mut Sum) {
    let markup = markup(plan);
    let mut take = |cost: Option<f64>| match cost {
        Some(cost) => sum.known += cost * markup,
        None => sum.unpriced += 1,
    };
    for run in &plan.runs {
        for leg in run.legs.iter().filter(|l| l.state == State::New) {
            take(leg_cost(stock, run, leg));
        }
        for fuse in run.protection.iter().filter(|p| p.state == State::New) {
            take(fuse_cost(stock, fuse));
        }
    }
}

/// Cost of a leg's wire, both poles.
fn leg_cost(stock: &Stock, run: &Run, leg: &Leg) -> Option<f64> {
    let gauge = super::resistance::gauge_of(run, leg).ok()?;
    let poles = if run.return_path == Return::Pair { 2.0 } else { 1.0 };
    Some(wire_cost_per_m(stock, gauge, leg)? * leg.length_m.known()?.0 * poles * leg.per_pole.known()?.0)
}
