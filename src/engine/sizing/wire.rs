//! The gauges a run can be made of: what its terminals take, what its current and its fuses want.

use crate::engine::capacity::{RunCapacity, of_run};
use crate::engine::circuit::{Circuit, Node, Role};
use crate::engine::context::{Context, at};
use crate::engine::let_through::{Through, allowed, at_bars, back};
use crate::engine::price::{wire_cost_between, wire_cost_per_m, wire_m};
use crate::engine::protection::{Limits, is_string_fuse, limits, protected, wants_fuse};
use crate::engine::resistance::{fuse_distance_m, fuses, leg_path, legs, length_m, run_loop};
use crate::engine::runs::Found;
use crate::plan::{Edit, FieldPath, Figure, Known, Leg, Plan, Protection, Run, State, Value};
use crate::standards::conductor::{Gauge, area_mm2, copper_kg_per_m};
use crate::standards::fuse::smallest_at_least;
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::Number;

use super::larger::ahead_a;
use super::make::{Make, bundled_with, count_edits, made_of, makes, makes_or_two, takes};
use super::sizes;
use super::spools::on_van;

/// What several conductors in each pole count against one of as much copper. Source: our own choice, for twice the lugs.
const TWO_COST: f64 = 1.05;

/// One make for a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Candidate {
    pub(super) make: Make,
    /// Of one pole.
    pub(super) area_mm2: f64,
    /// Loop at the current that warms it.
    pub(super) ohm: f64,
    /// What decides: price or copper.
    pub(super) cost: f64,
    /// Whether its fuses lean on the next rating up.
    pub(super) leans: bool,
    /// Which fuse it is reckoned with: nothing for the one that the run has.
    pub(super) fuse: usize,
    price: Option<f64>,
    /// Whether that is taken as between the prices of the next gauges.
    is_between: bool,
    copper_kg: f64,
}

impl Candidate {
    /// Its cost by the one measure or the other; none where it has no price.
    pub(super) fn cost_by(&self, price: bool) -> Option<f64> {
        if price { self.price } else { Some(self.copper_kg) }
    }
}

/// A run to be sized.
#[derive(Clone, Debug)]
pub(super) struct Sized {
    /// Its place in the plan.
    pub(super) index: usize,
    /// Rising in copper.
    pub(super) candidates: Vec<Candidate>,
    /// The gauge it has.
    pub(super) now: Option<Candidate>,
    /// What it had before anything was sized.
    pub(super) was: Option<Candidate>,
    /// Of new wire, every conductor, as it is drawn.
    pub(super) metres: f64,
    /// Of every wire that carries its current, whatever its fuses allow: those without a price, and those whose price is taken as
    /// between the next ones.
    pub(super) unpriced: Vec<Gauge>,
    pub(super) between: Vec<Gauge>,
    /// Whether any of them is protected by the fuses that the run has.
    pub(super) is_fused: bool,
}

/// The gauge system of a run: that of the gauge it has, or the plan's.
pub(in crate::engine) fn system(plan: &Plan, run: &Run) -> Gauge {
    run.gauge.known().copied().unwrap_or(plan.job.gauge_system.thinnest())
}

/// The thinnest size of a system with this much copper.
pub(in crate::engine) fn thinnest_with(system: Gauge, mm2: f64) -> Option<Gauge> {
    system.ladder().find(|g| area_mm2(*g) >= mm2 - 1e-9)
}

pub(super) fn is_new(leg: &Leg) -> bool {
    leg.state == State::New
}

/// Whether any leg that stays is bought new.
pub(super) fn has_new_leg(run: &Run) -> bool {
    legs(run).any(is_new)
}

/// Whether every leg that stays is bought new, so that the run's own gauge may change.
pub(super) fn is_all_new(run: &Run) -> bool {
    legs(run).all(is_new)
}

/// The plan with the thickest wire in every line to a DC-DC charger: its current is least there, and it always has one.
pub(super) fn lines_opened(plan: &Plan) -> Plan {
    let mut opened = plan.clone();
    let (circuit, _) = Circuit::of(plan);
    for (run, link) in opened.runs.iter_mut().zip(&circuit.links) {
        if link.role == Role::ChargerInput
            && has_new_leg(run)
            && let Some(thickest) = system(plan, run).ladder().next_back()
        {
            *run = with_make(run, Make::as_drawn(run, thickest));
        }
    }
    opened
}

pub(in crate::engine) fn with_make(run: &Run, make: Make) -> Run {
    let other_count = make.per_pole != Make::as_drawn(run, make.gauge).per_pole;
    let mut made = run.clone();
    let whole = is_all_new(run);
    if whole {
        made.gauge = Known::Is(make.gauge);
    }
    for leg in made.legs.iter_mut().filter(|l| is_new(l)) {
        leg.gauge = (!whole).then_some(Known::Is(make.gauge));
        if other_count {
            if let Some(n) = bundled_with(run, leg, make.per_pole) {
                leg.bundled = Known::Is(Number(n));
            }
            leg.per_pole = Known::Is(Number(f64::from(make.per_pole)));
        }
    }
    made
}

/// The edits that give a run's new legs a make; existing ones keep theirs, unless all of them exist: then the wire is
/// replaced. `whole`: also where nothing changes.
pub(in crate::engine) fn edits(run: &Run, make: Make, whole: bool) -> Vec<Edit> {
    let gauge = make.gauge;
    let set = |at, to| Edit::Set { at, to };
    let mut edits = Vec::new();
    if is_all_new(run) || !has_new_leg(run) {
        if whole || run.gauge.known() != Some(&gauge) {
            edits.push(set(at("runs", &run.id, "gauge"), Value::Gauge(gauge)));
        }
        for leg in legs(run).filter(|l| l.gauge.is_some()) {
            edits.push(set(leg_path(run, leg, "gauge"), Value::Nothing));
        }
    } else {
        for leg in legs(run).filter(|l| is_new(l)) {
            let has = leg.gauge.as_ref().unwrap_or(&run.gauge).known();
            if has != Some(&gauge) {
                // What the run has needs no word of the leg's own: a gauge stepped back is the plan it came from.
                let own = if run.gauge.known() == Some(&gauge) { Value::Nothing } else { Value::Gauge(gauge) };
                edits.push(set(leg_path(run, leg, "gauge"), own));
            }
        }
    }
    edits.extend(count_edits(run, make));
    edits
}

/// Whether a run may be made so as far as its terminals go.
pub(super) fn fits(c: &Context<'_>, index: usize, make: Make) -> bool {
    takes(c, index, make).may()
}

/// Whether a run made like this carries its current; none where that is not known.
fn carries(c: &Context<'_>, index: usize, run: &Run, role: Role, design_a: f64) -> Option<bool> {
    let capacity = of_run(c, index, run).ok()?;
    let weakest = capacity.weakest;
    let before = role != Role::Array || capacity.before_a >= design_a * c.rules.pv_conductor_factor - 1e-9;
    Some(weakest.refusal.is_none() && before && weakest.amps >= design_a * c.rules.conductor_factor - 1e-9)
}

/// Whether a run of this gauge would carry its current.
pub(super) fn would_carry(c: &Context<'_>, index: usize, found: &Found, gauge: Gauge) -> bool {
    let (Some(run), Some(link)) = (c.plan.runs.get(index), c.circuit.links.get(index)) else { return false };
    let made = with_make(run, Make::as_drawn(run, gauge));
    let wire_a = found.currents.wire_a();
    wire_a.is_ok_and(|amps| carries(c, index, &made, link.role, amps) == Some(true))
}

/// Whether a run made like this is protected by the fuses it has. `strictly`: without the next rating up.
fn fused(c: &Context<'_>, index: usize, run: &Run, design_a: f64, strictly: bool) -> bool {
    let most_a = |l: &Limits| if strictly { l.strict_a } else { l.most_a };
    let Ok(capacity) = of_run(c, index, run) else { return false };
    // A negative is wire for the fuses whose current it brings back.
    if let Ok(Some(through)) = back(c, index) {
        let Ok(l) = allowed(c, index, run, capacity.weakest.amps) else { return false };
        let bears = |by: &Through| match strictly {
            true => by.amps <= l.strict_a + 1e-9 || by.given_a <= l.ampacity_a + 1e-9,
            false => by.is_within(l.most_a, l.ampacity_a),
        };
        let at_bars = at_bars(c, index, most_a(&l)).ok().flatten();
        return bears(&through) && at_bars.is_none_or(|(by, _)| bears(&by));
    }
    if fuses(run).next().is_none() && wants_fuse(c, index) {
        // One that has to get a fuse yet has room for one, or is protected by what is ahead.
        let wants = limits(c, index, run, capacity.weakest.amps, design_a);
        let ahead_a = || ahead_a(c, index);
        return wants.is_ok_and(|l| has_one(FuseFamily::ALL, &l) || ahead_a() <= most_a(&l) + 1e-9);
    }
    fuses(run).filter(|f| !is_string_fuse(c, index, f)).all(|f| {
        let Some(amps) = f.amps_a.known() else { return has_rating(c, index, run, f, &capacity, design_a) };
        let most = protected(c, index, run, f, &capacity, 0.0);
        most.is_ok_and(|l| amps.0 <= most_a(&l) + 1e-9)
    })
}

/// Whether a fuse of unknown rating can have one that its run wants and its wire allows.
fn has_rating(c: &Context<'_>, index: usize, run: &Run, f: &Protection, capacity: &RunCapacity, design_a: f64) -> bool {
    let wants = protected(c, index, run, f, capacity, design_a);
    let families = f.family.known().map_or(FuseFamily::ALL, std::slice::from_ref);
    wants.is_ok_and(|l| has_one(families, &l))
}

/// Whether some family is made in a rating within limits.
fn has_one(families: &[FuseFamily], l: &Limits) -> bool {
    families.iter().filter_map(|f| smallest_at_least(*f, l.least_a)).any(|amps| amps <= l.most_a + 1e-9)
}

fn candidate(c: &Context<'_>, stock: &Stock, index: usize, run: &Run, make: Make, amps: f64) -> Option<Candidate> {
    let gauge = make.gauge;
    let made = with_make(run, make);
    let ohm = run_loop(c, index, &made, amps, None).ok()?.ohm;
    let (mut price, mut is_between, mut copper_kg) = (Some(0.0), false, 0.0);
    for leg in legs(&made).filter(|l| is_new(l)) {
        let metres = wire_m(&made, leg).ok()?;
        copper_kg += metres * copper_kg_per_m(gauge);
        let own = wire_cost_per_m(stock, gauge, leg);
        is_between |= own.is_none();
        let each = own.or_else(|| wire_cost_between(stock, gauge, leg));
        price = price.and_then(|sum: f64| Some(sum + each? * metres));
    }
    // More lugs and more work than in one: where the copper is the same, one is chosen.
    let times = if make.per_pole > 1 { TWO_COST } else { 1.0 };
    (price, copper_kg) = (price.map(|p| p * times), copper_kg * times);
    let is_between = is_between && price.is_some();
    Some(Candidate {
        make,
        area_mm2: make.area_mm2(),
        ohm,
        cost: copper_kg,
        leans: false,
        fuse: 0,
        price,
        is_between,
        copper_kg,
    })
}

/// The least copper of a conductor that is newly laid, mm2, whatever would carry the current: what practice does not go
/// below for strength and for terminals.
///
/// Source: common practice, as the plan's rules say.
pub(super) fn least_mm2(c: &Context<'_>, index: usize) -> f64 {
    let Some(link) = c.circuit.links.get(index) else { return 0.0 };
    let of_load = || [link.from, link.to].into_iter().flatten().any(|n| matches!(n, Node::Load(_)));
    match link.role {
        Role::Array => c.rules.least_array_mm2,
        Role::LoadBranch => c.rules.least_branch_mm2,
        // A load's minus is no more than its plus.
        Role::NegativeMain if of_load() => c.rules.least_branch_mm2,
        _ => c.rules.least_feed_mm2,
    }
}

/// A run with the gauges that suit it; none where it is not to be sized: existing wire, a measured loop, an unknown
/// current, or no gauge that carries it. `was`: what it had before anything was sized.
pub(super) fn sized(
    c: &Context<'_>,
    (stock, only_stock): (&Stock, bool),
    index: usize,
    found: &Found,
    was: Option<Make>,
) -> Option<Sized> {
    let run = c.plan.runs.get(index)?;
    let role = c.circuit.links.get(index)?.role;
    if !sizes(role) || run.measured_ohm.is_some() || !has_new_leg(run) {
        return None;
    }
    let design_a = found.currents.pair.design_a.clone().ok()?;
    let amps = found.currents.warming_a().ok()?;
    let mut carrying = Vec::new();
    let mut protected = Vec::new();
    for make in makes_or_two(c, index) {
        if !fits(c, index, make) {
            continue;
        }
        let made = with_make(run, make);
        if !carries(c, index, &made, role, found.currents.wire_a().ok()?)? {
            continue;
        }
        let one = candidate(c, stock, index, run, make, amps)?;
        carrying.push(one);
        if fused(c, index, &made, design_a, false) {
            let leans = !fused(c, index, &made, design_a, true);
            protected.push(Candidate { leans, ..one });
        }
    }
    // One conductor that its fuse does not protect is no better than the several it is drawn with.
    let several = made_of(run).is_some_and(|m| m.per_pole > 1);
    if several && protected.is_empty() && carrying.iter().all(|x| x.make.per_pole == 1) {
        return None;
    }
    // A fuse above every gauge is the fuse's fault: the wire is sized for its current.
    let priced = carrying.clone();
    let is_fused = !protected.is_empty();
    let mut candidates = if protected.is_empty() { carrying } else { protected };
    // Where terminals take nothing as thick as practice wants, what they take counts; what lies there already may stay.
    let least = least_mm2(c, index) - 1e-9;
    let enough = |x: &Candidate| x.area_mm2 >= least || was == Some(x.make);
    if candidates.iter().any(|x| x.area_mm2 >= least) {
        candidates.retain(enough);
    }
    let may = |x: &Candidate| !only_stock || on_van(stock, run, x.make.gauge);
    candidates.retain(may);
    let of = |is: fn(&&Candidate) -> bool| {
        let all = priced.iter().filter(|x| enough(x) && may(x)).filter(is);
        all.map(|x| x.make.gauge).collect::<Vec<Gauge>>()
    };
    let (unpriced, between) = (of(|x| x.price.is_none()), of(|x| x.is_between));
    let mut metres = 0.0;
    for leg in legs(run).filter(|l| is_new(l)) {
        metres += wire_m(run, leg).ok()?;
    }
    let now = made_of(run).and_then(|make| candidate(c, stock, index, run, make, amps));
    let was = was.and_then(|make| candidate(c, stock, index, run, make, amps));
    (!candidates.is_empty()).then_some(Sized { index, candidates, now, was, metres, unpriced, between, is_fused })
}

/// What a run without a gauge waits for beside that: what its ampacity, its drop or its metres wait for with the thickest
/// wire there is.
pub(super) fn waits_for(c: &Context<'_>, index: usize, found: &Found) -> Option<FieldPath> {
    let run = c.plan.runs.get(index)?;
    let thickest = makes(c, index).into_iter().max_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()))?;
    let made = with_make(run, thickest);
    let amps = found.currents.warming_a();
    let metres = || legs(&made).filter(|l| is_new(l)).map(|leg| wire_m(&made, leg)).sum::<Figure<f64>>();
    let known = of_run(c, index, &made).map(drop);
    let known = known.and_then(|()| run_loop(c, index, &made, amps?, None).map(drop));
    known.and_then(|()| metres().map(drop)).err().map(|waits| waits.0)
}

/// One measure of cost for all: price or copper.
pub(super) fn common_cost(all: &mut [Sized], by_price: bool) {
    for x in all.iter_mut().flat_map(|s| s.candidates.iter_mut().chain(s.now.as_mut()).chain(s.was.as_mut())) {
        x.cost = x.cost_by(by_price).unwrap_or(f64::MAX);
    }
}

/// Whether a run's fuses sit far enough along it for its own ohms to hold a fault down.
pub(super) fn fuse_lies_beyond(c: &Context<'_>, index: usize, near_from: bool) -> bool {
    let Some(run) = c.plan.runs.get(index) else { return false };
    let half = length_m(run).map_or(f64::MAX, |m| m / 2.0);
    fuses(run).all(|f| fuse_distance_m(run, near_from, f).is_ok_and(|m| m > half))
}
