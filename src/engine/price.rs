//! What the job costs: parts bought new, labour, taxes. A part without a price is counted, never taken as free.
//!
//! Equipment is sold at the price its own entry states. Wire and fuses come from the truck stock, which knows what they
//! cost: the plan's markup is added to those, and to nothing else.

use crate::plan::ledger::Taxed;
use crate::plan::wiring::Return;
use crate::plan::{BANK_ID, FieldPath, Figure, Id, Known, Leg, Missing, Plan, Protection, Run, State};
use crate::standards::conductor::{Gauge, area_mm2, copper_kg_per_m};
use crate::standards::kinds::FuseFamily;
use crate::stock::{Spool, Stock};
use crate::units::{Amps, Number};

use super::capacity::ratings;
use super::circuit::{Node, Role};
use super::context::{Context, at};
use super::links::bought;
use super::protection::fuses_of;
use super::report::{PriceFigures, none_yet};
use super::resistance::{gauge_of, leg_path, legs, length_m};
use super::runs::end_id;
use crate::standards::lug::Stud;

/// The cheapest spool that a leg can be made of: its gauge and metal, insulated for at least its temperature. None
/// where no such spool has a price, or the leg's insulation is not known.
fn spool<'a>(stock: &'a Stock, gauge: Gauge, leg: &Leg) -> Option<(&'a Spool, f64)> {
    let wanted_c = leg.insulation_c.known()?.0;
    stock
        .truck
        .spools
        .iter()
        .filter(|s| s.gauge.known() == Some(&gauge) && s.metal == leg.metal)
        .filter(|s| s.insulation_c.known().is_some_and(|c| c.0 >= wanted_c - 1e-9))
        .filter_map(|s| Some((s, s.price_per_metre.as_ref()?.known()?.0)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

/// What a metre of a leg's wire costs by the truck stock, before markup.
pub(super) fn wire_cost_per_m(stock: &Stock, gauge: Gauge, leg: &Leg) -> Option<f64> {
    spool(stock, gauge, leg).map(|(_, cost)| cost)
}

/// What a metre of a gauge that has no price would cost: between the next thinner and the next thicker one that have, by their copper.
/// For choosing alone, never for a quote; none where it has no such neighbour on both sides.
///
/// Source: our own choice: between sizes a wire's price goes about with its copper.
pub(super) fn wire_cost_between(stock: &Stock, gauge: Gauge, leg: &Leg) -> Option<f64> {
    let priced = |g: Gauge| Some((area_mm2(g), wire_cost_per_m(stock, g, leg)?));
    let (thin_mm2, thin) = gauge.ladder().rev().filter(|g| *g < gauge).find_map(priced)?;
    let (thick_mm2, thick) = gauge.ladder().filter(|g| *g > gauge).find_map(priced)?;
    let share = (area_mm2(gauge) - thin_mm2) / (thick_mm2 - thin_mm2).max(f64::MIN_POSITIVE);
    Some(thin + (thick - thin) * share)
}

/// Weight of a metre of a leg's wire: as its spool says, or of its copper alone.
pub(super) fn wire_kg_per_m(stock: &Stock, gauge: Gauge, leg: &Leg) -> f64 {
    let own = spool(stock, gauge, leg).and_then(|(s, _)| s.kg_per_metre.as_ref()?.known().map(|kg| kg.0));
    own.unwrap_or_else(|| copper_kg_per_m(gauge))
}

/// What the truck stock's costs are multiplied by: 1 and the plan's markup.
pub(super) fn markup(plan: &Plan) -> Figure<f64> {
    match &plan.money.markup_pct {
        None => Ok(1.0),
        Some(pct) => Ok(1.0 + pct.at(|| "money.markup_pct".into())?.0 / 100.0),
    }
}

/// What a fuse costs by the truck stock, before markup.
fn fuse_cost(stock: &Stock, fuse: &Protection) -> Option<f64> {
    fuse_cost_of(stock, *fuse.family.known()?, *fuse.amps_a.known()?)
}

/// What a fuse of a family and rating costs by the truck stock, before markup.
pub(super) fn fuse_cost_of(stock: &Stock, family: FuseFamily, amps: Amps) -> Option<f64> {
    let same = |f: &&crate::stock::Fuse| f.family.known() == Some(&family) && f.amps_a.known() == Some(&amps);
    let costs = stock.truck.fuses.iter().filter(same).filter_map(|f| Some(f.price.as_ref()?.known()?.0));
    costs.min_by(f64::total_cmp)
}

/// What a fuse of a family and rating weighs by the truck stock, kg.
pub(super) fn fuse_kg_of(stock: &Stock, family: FuseFamily, amps: Amps) -> Option<f64> {
    let same = |f: &&crate::stock::Fuse| f.family.known() == Some(&family) && f.amps_a.known() == Some(&amps);
    stock.truck.fuses.iter().filter(same).find_map(|f| Some(f.weight_kg.as_ref()?.known()?.0))
}

/// What the new wire of a run costs before markup, and what it weighs, kg.
pub(super) fn new_wire(stock: &Stock, run: &Run) -> Figure<(Option<f64>, f64)> {
    let (mut cost, mut kg) = (Some(0.0), 0.0);
    for leg in run.legs.iter().filter(|l| l.state == State::New) {
        let (gauge, metres) = (gauge_of(run, leg)?, wire_m(run, leg)?);
        cost = cost.and_then(|sum| Some(sum + wire_cost_per_m(stock, gauge, leg)? * metres));
        kg += wire_kg_per_m(stock, gauge, leg) * metres;
    }
    Ok((cost, kg))
}

/// Metres of wire of a leg, every conductor of every pole.
pub(super) fn wire_m(run: &Run, leg: &Leg) -> Figure<f64> {
    let path = |f: &str| leg_path(run, leg, f);
    let poles = match (run.return_path, &run.negative_length_m) {
        (Return::Pair, None) => 2.0,
        (Return::Pair, Some(negative)) => {
            let one_way = length_m(run)?;
            let negative = negative.at(|| at("runs", &run.id, "negative_length_m"))?.0;
            if one_way > 0.0 { 1.0 + negative / one_way } else { 2.0 }
        }
        _ => 1.0,
    };
    Ok(leg.length_m.at(|| path("length_m"))?.0 * poles * leg.per_pole.at(|| path("per_pole"))?.0)
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
pub(super) fn figures(c: &Context<'_>, stock: &Stock) -> PriceFigures {
    let plan = c.plan;
    let mut sum = Sum { known: 0.0, unpriced: 0, waits: None };
    equipment(plan, &mut sum);
    let lugs = lugs(c, stock);
    from_stock(c, stock, lugs.cost, &mut sum);
    let money = &plan.money;
    let m = |known: Option<&Known<Number>>, field: &str| -> Figure<f64> {
        known.map_or(Ok(0.0), |k| k.at(|| FieldPath::of(&["money", field])).map(|n| n.0))
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
            let path = || FieldPath::of(&["money", "tasks", task.id.as_str(), "hours_h"]);
            hours += task.hours_h.at(path)?.0;
        }
        let work = if hours > 0.0 { hours * money.labour_rate.at(|| "money.labour_rate".into())?.0 } else { 0.0 };
        Ok(work + m(money.travel.as_ref(), "travel")?)
    })();
    let tax: Figure<f64> = (|| {
        let mut total = 0.0;
        for tax in &money.taxes {
            let rate = tax.rate_pct.at(|| FieldPath::of(&["money", "taxes", tax.id.as_str(), "rate_pct"]))?.0 / 100.0;
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
        lugs: lugs.counted,
        lugs_not_counted: lugs.not_counted,
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

/// Wire and fuses bought new, from the truck stock, beside what lugs cost.
fn from_stock(c: &Context<'_>, stock: &Stock, lugs: f64, sum: &mut Sum) {
    let plan = c.plan;
    let mut cost = lugs;
    for (i, run) in plan.runs.iter().enumerate() {
        for leg in run.legs.iter().filter(|l| l.state == State::New) {
            match leg_cost(stock, run, leg) {
                Some(each) => cost += each,
                None => sum.unpriced += 1,
            }
        }
        for fuse in run.protection.iter().filter(|p| p.state == State::New) {
            match fuse_cost(stock, fuse) {
                Some(each) => cost += each * fuses_of(c, i, fuse),
                None => sum.unpriced += 1,
            }
        }
    }
    if let Some(links) = bought(c) {
        let each = links.ok().and_then(|l| Some(wire_cost_per_m(stock, l.gauge, &l.leg)? * l.metres));
        match each {
            Some(each) => cost += each,
            None => sum.unpriced += 1,
        }
    }
    if cost > 0.0 {
        match markup(plan) {
            Ok(factor) => sum.known += cost * factor,
            Err(missing) => {
                sum.waits.get_or_insert(missing);
            }
        }
    }
}

fn leg_cost(stock: &Stock, run: &Run, leg: &Leg) -> Option<f64> {
    let gauge = gauge_of(run, leg).ok()?;
    Some(wire_cost_per_m(stock, gauge, leg)? * wire_m(run, leg).ok()?)
}

/// An end of a run: of both its poles, or of one where the other ends elsewhere.
pub(super) struct WireEnd<'a> {
    /// The leg that ends there.
    pub(super) leg: &'a Leg,
    /// What it ends on; none where nobody has said.
    pub(super) node: Option<Node>,
    poles: usize,
    /// Whether it is where the run begins.
    pub(super) first: bool,
}

impl WireEnd<'_> {
    /// The stud of its terminal, where its size is known.
    pub(super) fn stud(&self, c: &Context<'_>) -> Option<Stud> {
        Stud::named(&ratings(c, self.node?)?.0.stud)
    }

    /// Conductors that end there.
    pub(super) fn conductors(&self) -> usize {
        self.poles * self.leg.per_pole.known().map_or(1, |n| n.0.clamp(1.0, 6.0) as usize)
    }
}

/// The ends of a run's conductors. A negative that is not said to end elsewhere ends where its positive does.
pub(super) fn wire_ends<'a>(c: &Context<'a>, index: usize) -> impl Iterator<Item = WireEnd<'a>> {
    let (link, run) = (c.circuit.links.get(index), c.plan.runs.get(index));
    let legs = || run.into_iter().flat_map(legs);
    let pair = run.is_some_and(|r| r.return_path == Return::Pair);
    let [first, last] = link.map_or([None; 2], |l| l.negatives);
    let named = |of: fn(&Run) -> bool, node: Option<Node>| run.filter(|r| pair && of(r)).map(|_| node);
    let ends = [
        (legs().next(), link.and_then(|l| l.from), named(|r| r.negative_from.is_some(), first), true),
        (legs().last(), link.and_then(|l| l.to), named(|r| r.negative_to.is_some(), last), false),
    ];
    let each = move |(leg, node, negative, first): (Option<&'a Leg>, Option<Node>, Option<Option<Node>>, bool)| {
        let end = |node: Option<Node>, poles: usize| leg.map(|leg| WireEnd { leg, node, poles, first });
        match negative {
            Some(other) if other != node => [end(node, 1), end(other, 1)],
            _ => [end(node, if pair { 2 } else { 1 }), None],
        }
    };
    ends.into_iter().flat_map(each).flatten()
}

/// An end of a run that lies on a stud.
pub(super) struct LugEnd<'a> {
    /// The leg that ends there.
    pub(super) leg: &'a Leg,
    pub(super) stud: Stud,
    /// What the stud belongs to.
    pub(super) owner: &'a str,
    conductors: usize,
}

/// The ends of a run that lie on a stud of a known size.
pub(super) fn lug_ends<'a>(c: &Context<'a>, index: usize) -> impl Iterator<Item = LugEnd<'a>> {
    let on_stud = move |end: WireEnd<'a>| {
        let owner = end_id(c.plan, end.node?).map_or(BANK_ID, Id::as_str);
        Some(LugEnd { leg: end.leg, stud: end.stud(c)?, owner, conductors: end.conductors() })
    };
    wire_ends(c, index).filter_map(on_stud)
}

/// What lugs cost, before markup, how many there are with a price and without, and what they weigh as far as the truck
/// stock says.
pub(super) struct Lugs {
    cost: f64,
    pub(super) kg: f64,
    counted: usize,
    not_counted: usize,
}

/// Lugs of the new wire: at every end on a stud of known size one for each conductor of each pole, as drawn.
pub(super) fn lugs(c: &Context<'_>, stock: &Stock) -> Lugs {
    let mut all = Lugs { cost: 0.0, kg: 0.0, counted: 0, not_counted: 0 };
    for (i, run) in c.plan.runs.iter().enumerate() {
        if c.circuit.links.get(i).is_none_or(|l| l.role == Role::Dead) {
            continue;
        }
        for end in lug_ends(c, i).filter(|e| e.leg.state == State::New) {
            all.add(stock, gauge_of(run, end.leg).ok(), end.stud, end.conductors);
        }
    }
    // One at each end of every cable between the batteries.
    if let (Some(Ok(links)), Some(stud)) = (bought(c), Stud::named(&c.plan.bank.ratings.stud)) {
        all.add(stock, Some(links.gauge), stud, 2 * links.count as usize);
    }
    all
}

impl Lugs {
    fn add(&mut self, stock: &Stock, gauge: Option<Gauge>, stud: Stud, count: usize) {
        self.kg += gauge.and_then(|g| lug_kg(stock, g, stud)).unwrap_or(0.0) * count as f64;
        match gauge.and_then(|g| lug_cost(stock, g, stud)) {
            Some(each) => {
                self.cost += each * count as f64;
                self.counted += count;
            }
            None => self.not_counted += count,
        }
    }
}

/// What the links between batteries that are bought with them weigh, kg.
pub(super) fn links_kg(c: &Context<'_>, stock: &Stock) -> Figure<f64> {
    bought(c).map_or(Ok(0.0), |links| links.map(|l| wire_kg_per_m(stock, l.gauge, &l.leg) * l.metres))
}

/// The truck's lugs of a gauge and stud.
fn lugs_of(stock: &Stock, gauge: Gauge, stud: Stud) -> impl Iterator<Item = &crate::stock::Lug> {
    let same = move |l: &&crate::stock::Lug| l.gauge.known() == Some(&gauge) && Stud::named(&l.stud) == Some(stud);
    stock.truck.lugs.iter().filter(same)
}

/// The cheapest lug of a gauge and stud in the truck stock; none where none has a price.
fn lug_cost(stock: &Stock, gauge: Gauge, stud: Stud) -> Option<f64> {
    let costs = lugs_of(stock, gauge, stud).filter_map(|l| Some(l.price.as_ref()?.known()?.0));
    costs.min_by(f64::total_cmp)
}

/// What one weighs, kg.
fn lug_kg(stock: &Stock, gauge: Gauge, stud: Stud) -> Option<f64> {
    lugs_of(stock, gauge, stud).find_map(|l| Some(l.weight_kg.as_ref()?.known()?.0))
}
