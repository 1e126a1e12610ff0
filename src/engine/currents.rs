//! The two currents of every run, each with how it was found.

use crate::plan::power::{AcSource, ChargerKind};
use crate::plan::{Controller, DeviceKind, FieldPath, Figure, Missing, Run};

use super::arrays;
use super::asides;
use super::circuit::{Link, Node, Role, device_kind, tracking};
use super::context::{Context, at, finite, need};
use super::converted::{self, lost_behind};
use super::dc_lines;
use super::leads::Leads;
use super::loads::is_used;
use super::{links, passed_on, vehicle};

/// A source's or consumer's currents.
#[derive(Clone, Debug)]
pub(super) struct Pair {
    /// Largest continuous.
    pub(super) design_a: Figure<f64>,
    /// At the working point.
    pub(super) drop_a: Figure<f64>,
    pub(super) how: &'static str,
    pub(super) drop_how: &'static str,
}

/// Currents of one run.
#[derive(Clone, Debug)]
pub(super) struct RunCurrents {
    pub(super) pair: Pair,
    /// What the chargers on it push at the working point that run while driving, on shore power, by a generator.
    pub(super) chargers_a: [Figure<f64>; 3],
    /// What the solar controllers alone send through it.
    pub(super) solar_a: Figure<f64>,
    /// What the consumers on it draw at the working point.
    pub(super) draw_a: Figure<f64>,
    /// Of a pair whose negative brings back something else than its positive feeds: what flows there.
    pub(super) back: Option<Box<Self>>,
    /// Where what a line from the vehicle brings is all that is not known: what flows without it, largest and at the working
    /// point.
    pub(super) sure: Option<[f64; 2]>,
}

/// Currents of every terminal, by its place in its section.
pub(super) struct Terminals {
    pub(super) controllers: Vec<Pair>,
    pub(super) inverters: Vec<Pair>,
    pub(super) chargers: Vec<Pair>,
    /// What each charger draws at its DC input.
    pub(super) inputs: Vec<Pair>,
    pub(super) loads: Vec<Pair>,
    /// Runs whose current is entered.
    pub(super) entered: Vec<usize>,
}

impl Terminals {
    pub(super) fn of(c: &Context<'_>) -> Self {
        let loads = (0..c.plan.loads.len()).map(|i| load(c, i)).collect();
        Self {
            controllers: c.plan.controllers.iter().enumerate().map(|(i, k)| controller(c, i, k)).collect(),
            inverters: (0..c.plan.inverters.len()).map(|i| inverter(c, i)).collect(),
            chargers: c
                .plan
                .chargers
                .iter()
                .map(|ch| {
                    let out = need(&ch.out_a, "chargers", &ch.id, "out_a").map(|a| a.0);
                    both(out, "rated output of the charger")
                })
                .collect(),
            inputs: (0..c.plan.chargers.len()).map(|i| dc_lines::input(c, i)).collect(),
            loads,
            entered: passed_on::all_entered(c),
        }
    }
}

pub(super) fn both(amps: Figure<f64>, how: &'static str) -> Pair {
    Pair { design_a: amps.clone(), drop_a: amps, how, drop_how: how }
}

/// Watts of all arrays on a controller at STC.
fn array_watts(c: &Context<'_>, index: usize) -> Figure<f64> {
    c.circuit.arrays_of(index).filter_map(|i| c.plan.arrays.get(i)).map(|a| arrays::watts(c.plan, a)).sum()
}

/// Short-circuit current of all arrays on a controller at STC.
pub(super) fn array_isc_a(c: &Context<'_>, index: usize) -> Figure<f64> {
    c.circuit.arrays_of(index).filter_map(|i| c.plan.arrays.get(i)).map(|a| arrays::isc_a(c.plan, a)).sum()
}

fn controller(c: &Context<'_>, index: usize, k: &Controller) -> Pair {
    let rated = need(&k.out_a, "controllers", &k.id, "out_a").map(|a| a.0);
    let Some(tracks) = tracking(&k.kind) else {
        let kind = Err(Missing(at("controllers", &k.id, "kind")));
        return both(kind, "needs the kind of controller");
    };
    if c.circuit.arrays_of(index).next().is_none() {
        return both(rated, "rated output of the controller");
    }
    let (design, drop) = if tracks {
        let through = || Ok::<f64, Missing>(array_watts(c, index)? * c.rules.tracking_efficiency);
        // Behind a converter it gives at the volts there.
        let steps = || c.circuit.beyond(Node::Controller(index)).map_or(Ok(1.0), |_| c.twelves());
        let design = (|| Ok(c.rules.array_current_factor * through()? * steps()? / c.low_v()?))();
        (design, (|| Ok(through()? * steps()? / c.bank_v()?))())
    } else {
        let imp: Figure<f64> =
            c.circuit.arrays_of(index).filter_map(|i| c.plan.arrays.get(i)).map(|a| arrays::imp_a(c.plan, a)).sum();
        (array_isc_a(c, index).map(|isc| c.rules.array_current_factor * isc), imp)
    };
    let path = || at("controllers", &k.id, "out_a");
    let held = |x: Figure<f64>| -> Figure<f64> { finite(x?.min(rated.clone()?), path) };
    let limited = |x: &Figure<f64>| matches!((x, &rated), (Ok(x), Ok(r)) if x < r);
    let how = match (limited(&design), tracks) {
        (true, true) => {
            "1.25 x array watts x efficiency / low bank volts; panels added would raise it to the rated output"
        }
        (true, false) => "1.25 x Isc of all strings; panels added would raise it to the rated output",
        (false, _) => "rated output of the controller",
    };
    let drop_how = match (limited(&drop), tracks) {
        (true, true) => "array watts x efficiency / bank volts",
        (true, false) => "Imp of all strings",
        (false, _) => "rated output of the controller",
    };
    Pair { design_a: held(design), drop_a: held(drop), how, drop_how }
}

/// Low and usual volts of the vehicle's own battery, where a thing hangs on that alone, whatever the bank is.
fn on_vehicle(c: &Context<'_>, thing: Node) -> Option<(f64, f64)> {
    vehicle::on_start(c, thing).map(|device| vehicle::own_v(c, device))
}

fn inverter(c: &Context<'_>, index: usize) -> Pair {
    let Some(inv) = c.plan.inverters.get(index) else { return both(Ok(0.0), "") };
    let amps = (|| {
        let watts = need(&inv.watts_w, "inverters", &inv.id, "watts_w")?.0;
        let share = need(&inv.efficiency_pct, "inverters", &inv.id, "efficiency_pct")?.0 / 100.0;
        let low_v = on_vehicle(c, Node::Inverter(index)).map_or_else(|| c.low_v(), |(low_v, _)| Ok(low_v))?;
        finite(watts / (low_v * share), || at("inverters", &inv.id, "efficiency_pct"))
    })();
    both(amps, "rated watts / (low bank volts x efficiency)")
}

fn load(c: &Context<'_>, index: usize) -> Pair {
    let Some(l) = c.plan.loads.get(index) else { return both(Ok(0.0), "") };
    let watts: Figure<f64> = (|| {
        let each = need(&l.watts_w, "loads", &l.id, "watts_w")?.0;
        Ok(each * need(&l.quantity, "loads", &l.id, "quantity")?.0)
    })();
    let over =
        |volts: Figure<f64>| -> Figure<f64> { finite(watts.clone()? / volts?, || FieldPath::new("bank.unit_v")) };
    if let Some((low_v, rest_v)) = on_vehicle(c, Node::Load(index)) {
        return Pair {
            design_a: over(Ok(low_v)),
            drop_a: over(Ok(rest_v)),
            how: "its watts / low volts of the start battery",
            drop_how: "its watts / volts of the start battery",
        };
    }
    Pair {
        design_a: over(c.low_v()),
        drop_a: over(c.bank_v()),
        how: "its watts / low bank volts",
        drop_how: "its watts / bank volts",
    }
}

/// What nothing in the drawing tells.
fn underived(run: &Run) -> RunCurrents {
    let path = at("runs", &run.id, "design_override_a");
    let drop = Missing(at("runs", &run.id, "drop_override_a"));
    let mut pair = both(Err(Missing(path)), "what flows here cannot be derived: enter it");
    pair.drop_a = Err(drop);
    alone(pair)
}

impl RunCurrents {
    /// Largest continuous in either conductor: both are of one wire.
    pub(super) fn wire_a(&self) -> Figure<f64> {
        larger(&self.pair.design_a, self.back.as_ref().map(|b| &b.pair.design_a))
    }

    /// The larger in its two conductors at the working point: what warms it. What a line from the vehicle adds and nobody knows
    /// is left out: of some kelvin more or less no drop hangs.
    pub(super) fn warming_a(&self) -> Figure<f64> {
        let known = |of: &Self| of.sure.map_or_else(|| of.pair.drop_a.clone(), |[_, drop_a]| Ok(drop_a));
        larger(&known(self), self.back.as_deref().map(known).as_ref())
    }

    /// What certainly flows in either conductor, where what the vehicle's line adds is not known.
    pub(super) fn sure_a(&self) -> Option<f64> {
        let of = |of: &Self| of.sure.map(|[design_a, _]| design_a);
        of(self).into_iter().chain(self.back.as_deref().and_then(of)).reduce(f64::max)
    }
}

pub(super) fn larger(out: &Figure<f64>, back: Option<&Figure<f64>>) -> Figure<f64> {
    match back {
        Some(back) => Ok(out.clone()?.max(back.clone()?)),
        None => out.clone(),
    }
}

/// The currents of a run from the terminals on its far side.
pub(super) fn of_run(c: &Context<'_>, t: &Terminals, index: usize, run: &Run) -> RunCurrents {
    let mut currents = derived(c, t, index, run);
    let with = |own: &Option<crate::plan::Known<crate::units::Amps>>, field: &str| {
        own.as_ref().map(|o| o.at(|| at("runs", &run.id, field)).map(|a| a.0))
    };
    if let Some(own) = with(&run.design_override_a, "design_override_a") {
        (currents.pair.design_a, currents.pair.how) = (own, "entered, in place of the computed one");
    }
    if let Some(own) = with(&run.drop_override_a, "drop_override_a") {
        (currents.draw_a, currents.solar_a) = (own.clone(), own.clone());
        currents.chargers_a = std::array::from_fn(|_| own.clone());
        currents.back = None;
        (currents.pair.drop_a, currents.pair.drop_how) = (own, "entered, in place of the computed one");
    }
    currents
}

pub(super) fn alone(pair: Pair) -> RunCurrents {
    let drop_a = || pair.drop_a.clone();
    let chargers_a = std::array::from_fn(|_| drop_a());
    RunCurrents { chargers_a, solar_a: drop_a(), draw_a: drop_a(), back: None, sure: None, pair }
}

/// The converter that a run is fed by, and the runs between the two, source first: what is ahead of a converter protects
/// nothing behind it.
pub(super) fn converter_ahead<'a>(c: &'a Context<'_>, index: usize) -> Option<(usize, &'a [usize])> {
    let link = c.circuit.links.get(index).filter(|_| c.converts)?;
    if link.role == Role::NegativeMain {
        return c.circuit.converter_before(index).map(|device| (device, &[][..]));
    }
    let converts = |node: Option<Node>| match node? {
        Node::Device(i) if device_kind(c.plan, Node::Device(i)) == Some(DeviceKind::Converter) => Some(i),
        _ => None,
    };
    if let Some(device) = converts(link.near()) {
        return Some((device, &[]));
    }
    let places = link.upstream.iter().enumerate().rev();
    places.into_iter().find_map(|(place, i)| {
        let device = converts(c.circuit.links.get(*i)?.far())?;
        Some((device, link.upstream.get(place + 1..).unwrap_or_default()))
    })
}

/// How many times the volts of a run the bank's are: behind a converter to 12 V one for each 12 V of the bank, else 1.
pub(super) fn step_down(c: &Context<'_>, index: usize) -> Figure<f64> {
    if converter_ahead(c, index).is_some() { c.twelves() } else { Ok(1.0) }
}

/// The same where its current is reckoned at the bank's volts: what a source behind the converter gives never was at those.
pub(super) fn flow_steps(c: &Context<'_>, index: usize) -> Figure<f64> {
    if c.circuit.is_alone_beyond(index) { Ok(1.0) } else { step_down(c, index) }
}

/// Behind a converter the same power is more current: its efficiency is on its other side.
pub(super) fn stepped(found: RunCurrents, times: &Figure<f64>) -> RunCurrents {
    if *times == Ok(1.0) {
        return found;
    }
    let mut found = found.times(times);
    found.pair.how = "behind the converter to 12 V: bank current by their volts";
    found.pair.drop_how = found.pair.how;
    found
}

/// One battery's own lead carries its part of what the bank does: by the ohms of leads and batteries, or equal parts as
/// long as a lead's ohms are not known.
fn shared_out(c: &Context<'_>, t: &Terminals, index: usize, found: RunCurrents) -> RunCurrents {
    let Some(leads) = Leads::cold(c, index) else { return found };
    let equal = 1.0 / c.circuit.own_loops().len().max(1) as f64;
    let (share, how) = match &leads {
        Ok(leads) => (leads.share_of(index).unwrap_or(equal), "its battery's part of the bank's current, by ohms"),
        Err(_) => (equal, "its battery's part of the bank's current, leads taken as equal"),
    };
    if !c.circuit.asides.is_empty() {
        return asides::with(c, t, index, (leads.as_ref().ok(), share, how), found);
    }
    let found = found.times(&Ok(share));
    RunCurrents { pair: Pair { how, drop_how: how, ..found.pair }, ..found }
}

/// The currents of a run by its circuit alone, whatever is entered in their place.
pub(super) fn derived(c: &Context<'_>, t: &Terminals, index: usize, run: &Run) -> RunCurrents {
    let mut found = from_role(c, t, index, run);
    // What hangs on a start battery comes back to that one: of the bank's negatives nothing is told.
    let backs = c.circuit.negative.backs.get(index).and_then(Option::as_ref);
    if let Some(things) = backs.filter(|things| !things.is_empty() || !vehicle::is_of_start(c, index)) {
        let mixed = is_mixed(things);
        let left = c.circuit.negative.left_with.get(index).map_or(&[][..], Vec::as_slice);
        let back = most(left, things, |away| coming_back(c, t, index, away, mixed));
        found.back = Some(Box::new(stepped(back, &flow_steps(c, index))));
    }
    shared_out(c, t, index, found)
}

/// Whether things are of several kinds: sources, inverters, loads.
pub(super) fn is_mixed(things: &[Node]) -> bool {
    let kind = |n: &Node| match n {
        Node::Controller(_) => 0,
        Node::Charger(_) => 1,
        Node::Inverter(_) => 2,
        _ => 3,
    };
    things.iter().any(|n| things.first().is_some_and(|first| kind(first) != kind(n)))
}

fn from_role(c: &Context<'_>, t: &Terminals, index: usize, run: &Run) -> RunCurrents {
    let Some(link) = c.circuit.links.get(index) else { return alone(both(Ok(0.0), "")) };
    match link.role {
        Role::Dead => alone(both(Ok(0.0), "removed or dead")),
        Role::Bond => passed_on::by_bond(c, t, index),
        Role::Sense => alone(both(Ok(0.0), "a sense lead carries milliamps")),
        Role::Array => match c.circuit.string_leads_of(c.plan, index).map(|leads| leads.share()) {
            None => alone(array_side(c, &link.away)),
            Some(Some(share)) => alone(strings_on(array_side(c, &link.away), share)),
            // Which strings are on it nobody can tell.
            Some(None) => underived(run),
        },
        Role::StartLead => alone(both(alternator_a(c, &link.away), "rated output of the alternator")),
        Role::NegativeMain if c.circuit.line_negatives_of(index).next().is_some() => {
            let inputs = c.circuit.line_negatives_of(index).filter_map(|i| t.inputs.get(i));
            alone(dc_lines::with_loads(c, index, dc_lines::together(inputs)))
        }
        Role::ChargerInput => {
            let inputs = link.away.iter().filter_map(|n| match n {
                Node::Charger(i) => t.inputs.get(*i),
                _ => None,
            });
            let own = dc_lines::with_loads(c, index, dc_lines::together(inputs));
            dc_lines::at_least(c, index, alone(passed_on::on_line(c, t, index, own)))
        }
        Role::Open if link.from == Some(Node::Bank) && link.from == link.to => links::jumper(c, t, index),
        _ if !link.joined => alone(both(Err(Missing("runs".into())), "the bank is not joined to it yet")),
        Role::NegativeMain if let Some(bond) = c.circuit.bond_beyond(c.plan, index) => passed_on::by_bond(c, t, bond),
        Role::NegativeMain if link.away.is_empty() => {
            alone(both(Err(Missing("runs".into())), "nothing that is drawn comes back by it"))
        }
        Role::NegativeMain => {
            let of = |away: &[Node]| coming_back(c, t, index, away, is_mixed(&link.away));
            let found = converted::minus_beside(c, t, link, most(&link.left_with, &link.away, of));
            stepped(found, &flow_steps(c, index))
        }
        Role::Open if ![link.from, link.to].contains(&Some(Node::BankMinus)) => {
            alone(both(Err(beyond(run, link)), "nothing is drawn beyond it yet"))
        }
        Role::BatteryLink => passed_on::along_line(c, index, run).unwrap_or_else(|| underived(run)),
        Role::Open if link.away.is_empty() => underived(run),
        _ => {
            let of = |away: &[Node]| bank_side(c, t, index, away, link.role == Role::Shared);
            stepped(converted::beside(c, t, index, most(&link.left_with, &link.away, of)), &flow_steps(c, index))
        }
    }
}

/// The larger of all that a conductor may be left with; all there is where that is not told, or there is but one way.
fn most(left: &[Vec<Node>], all: &[Node], of: impl Fn(&[Node]) -> RunCurrents) -> RunCurrents {
    let each = left.iter().map(|some| of(some));
    each.reduce(|a, b| a.or_larger(&b)).unwrap_or_else(|| of(all))
}

/// What the current of a run that leads nowhere waits for: an end of its own, or a run that leads on.
fn beyond(run: &Run, link: &Link) -> Missing {
    match (link.from, link.to) {
        (None, _) => Missing(at("runs", &run.id, "from")),
        (_, None) => Missing(at("runs", &run.id, "to")),
        _ => Missing("runs".into()),
    }
}

/// What the alternators on a lead are rated for.
fn alternator_a(c: &Context<'_>, away: &[Node]) -> Figure<f64> {
    let mut sum = 0.0;
    for node in away {
        let Node::Device(i) = node else { continue };
        let Some(device) = c.plan.devices.get(*i) else { continue };
        let path = || at("devices", &device.id, "ratings.amps_a");
        let rated = device.ratings.amps_a.as_ref().ok_or_else(|| Missing(path()))?;
        sum += rated.at(path)?.0;
    }
    Ok(sum)
}

fn array_side(c: &Context<'_>, away: &[Node]) -> Pair {
    let arrays = || {
        away.iter().filter_map(|n| match n {
            Node::Array(i) => c.plan.arrays.get(*i),
            _ => None,
        })
    };
    let isc: Figure<f64> = arrays().map(|a| arrays::isc_a(c.plan, a)).sum();
    Pair {
        design_a: isc.map(|isc| isc * c.rules.array_current_factor),
        drop_a: arrays().map(|a| arrays::imp_a(c.plan, a)).sum(),
        how: "1.25 x Isc x strings",
        drop_how: "Imp x strings",
    }
}

/// What the strings on one of an array's leads give of all that it gives.
fn strings_on(all: Pair, share: f64) -> Pair {
    let of = |amps: Figure<f64>| amps.map(|a| a * share);
    Pair {
        design_a: of(all.design_a),
        drop_a: of(all.drop_a),
        how: "1.25 x Isc x the strings on it",
        drop_how: "Imp x the strings on it",
    }
}

/// When a charger runs, as a place in [`RunCurrents::chargers_a`]: what runs at the same time charges together.
pub(super) fn chargers_of(c: &Context<'_>, node: &Node) -> Option<usize> {
    let Node::Charger(i) = node else { return None };
    let charger = c.plan.chargers.get(*i)?;
    let by_generator = charger.ac_source.as_ref().and_then(|s| s.known()) == Some(&AcSource::Generator);
    Some(match charger.kind.known() {
        Some(ChargerKind::DcDc) => 0,
        Some(ChargerKind::Generator) => 2,
        _ if by_generator => 2,
        _ => 1,
    })
}

/// Whether a thing on a run is a charger that draws over it, fed by the bank for a start battery: on the battery's side it
/// pushes.
fn takes(c: &Context<'_>, index: usize, node: Node) -> bool {
    c.circuit.is_fed_by_bank(node) && !vehicle::is_of_start(c, index)
}

/// What a run brings out to some things, or from them.
pub(super) fn bank_side(c: &Context<'_>, t: &Terminals, index: usize, away: &[Node], shared: bool) -> RunCurrents {
    together(c, t, index, away, shared, false)
}

/// What comes back from some things by a negative.
pub(super) fn coming_back(c: &Context<'_>, t: &Terminals, index: usize, away: &[Node], shared: bool) -> RunCurrents {
    together(c, t, index, away, shared, true)
}

fn together(c: &Context<'_>, t: &Terminals, index: usize, away: &[Node], shared: bool, negative: bool) -> RunCurrents {
    let zero = || Ok::<f64, Missing>(0.0);
    let (mut push, mut draw) = ((zero(), zero()), (zero(), zero()));
    let (mut push_how, mut draw_how) = (None, None);
    let mut solar_a = zero();
    let mut chargers_a: [Figure<f64>; 3] = std::array::from_fn(|_| zero());
    let add = |sum: &mut (Figure<f64>, Figure<f64>), pair: &Pair| {
        let plus = |a: &Figure<f64>, b: &Figure<f64>| Ok::<f64, Missing>(a.clone()? + b.clone()?);
        *sum = (plus(&sum.0, &pair.design_a), plus(&sum.1, &pair.drop_a));
    };
    for node in away.iter().filter(|n| !c.circuit.is_kept_from(index, **n)) {
        let (sum, how, pair) = match node {
            Node::Controller(i) => (&mut push, &mut push_how, t.controllers.get(*i)),
            Node::Charger(i) if takes(c, index, *node) => (&mut draw, &mut draw_how, t.inputs.get(*i)),
            Node::Charger(i) => (&mut push, &mut push_how, t.chargers.get(*i)),
            Node::Inverter(i) => (&mut draw, &mut draw_how, t.inverters.get(*i)),
            _ => continue,
        };
        let own = pair.filter(|_| c.circuit.beyond(*node).is_some()).map(|pair| converted::at_bank(c, index, pair));
        if let Some(pair) = own.as_ref().or(pair) {
            if matches!(node, Node::Controller(_)) {
                solar_a = (|| Ok::<f64, Missing>(solar_a.clone()? + pair.drop_a.clone()?))();
            }
            let charges = chargers_of(c, node).filter(|_| !takes(c, index, *node));
            if let Some(slot) = charges.and_then(|group| chargers_a.get_mut(group)) {
                *slot = (|| Ok::<f64, Missing>(slot.clone()? + pair.drop_a.clone()?))();
            }
            add(sum, pair);
            how.get_or_insert((pair.how, pair.drop_how));
        }
    }
    let mut waits = None;
    for line in away.iter().filter_map(|n| passed_on::from_vehicle(c, *n)) {
        match line {
            Ok(pair) => {
                if let Some(slot) = chargers_a.first_mut() {
                    *slot = (|| Ok::<f64, Missing>(slot.clone()? + pair.drop_a.clone()?))();
                }
                add(&mut push, &pair);
                push_how.get_or_insert((pair.how, pair.drop_how));
            }
            Err(missing) => waits = Some(missing),
        }
    }
    let more = passed_on::entered(c, t, index, away, negative);
    let plus = |sum: (Figure<f64>, Figure<f64>), [design_a, drop_a]: [f64; 2]| {
        (sum.0.map(|a| a + design_a), sum.1.map(|a| a + drop_a))
    };
    push = plus(push, more.push_a);
    solar_a = solar_a.map(|a| a + more.solar_a);
    for (slot, own) in chargers_a.iter_mut().zip(more.chargers_a) {
        *slot = std::mem::replace(slot, Ok(0.0)).map(|a| a + own);
    }
    if let Some(pair) = simultaneous(c, t, index, away, negative.then_some(false)) {
        add(&mut draw, &pair);
        draw_how.get_or_insert((pair.how, pair.drop_how));
    }
    draw = plus(draw, more.draw_a);
    // From a converter's minus to where what it gives comes back past it, as what sources push.
    let against = (negative && c.converts).then(|| simultaneous(c, t, index, away, Some(true))).flatten();
    let drawn_a = larger(&draw.1, against.as_ref().map(|pair| &pair.drop_a));
    against.iter().for_each(|pair| add(&mut push, pair));
    let pushes = matches!((&push.0, &draw.0), (Ok(p), Ok(d)) if p > d);
    let (how, drop_how) = match (shared, pushes, push_how, draw_how) {
        (true, true, ..) => ("all chargers together", "all chargers together"),
        (true, false, ..) => ("inverter at rated watts and simultaneous DC loads", "the same at the working point"),
        (false, _, Some(how), None) | (false, _, None, Some(how)) => how,
        _ => ("the larger of chargers and consumers", "the larger of chargers and consumers"),
    };
    let how = if more.is_any() { passed_on::ENTERED_BEHIND } else { how };
    let [design_a, drop_a] = [larger(&push.0, Some(&draw.0)), larger(&push.1, Some(&draw.1))];
    let mut pair = Pair { design_a, drop_a, how, drop_how };
    let mut sure = None;
    if let (Some(missing), Ok(design_a), Ok(drop_a)) = (waits, pair.design_a.clone(), pair.drop_a.clone()) {
        sure = Some([design_a, drop_a]);
        let how = "waits for what the line from the vehicle carries";
        pair = Pair { how, drop_how: how, ..both(Err(missing), how) };
    }
    RunCurrents { pair, chargers_a, solar_a, draw_a: drawn_a, back: None, sure }
}

/// Currents of the loads of these that can run together: the month with most. None where there are no loads. Of a negative those
/// that flow to the post, or away from it, as is asked.
fn simultaneous(c: &Context<'_>, t: &Terminals, index: usize, away: &[Node], from: Option<bool>) -> Option<Pair> {
    let loads = || {
        away.iter().filter_map(|n| match n {
            Node::Load(i) => Some(*i),
            _ => None,
        })
    };
    let first = loads().next()?;
    let times = |load: usize| {
        let times = lost_behind(c, index, load, from.is_some())?;
        Ok::<f64, Missing>(if from == Some(true) { -times } else { times }.max(0.0))
    };
    if loads().nth(1).is_none() {
        let pair = t.loads.get(first)?;
        let with = |amps: &Figure<f64>| Ok::<f64, Missing>(amps.clone()? * times(first)?);
        return Some(Pair { design_a: with(&pair.design_a), drop_a: with(&pair.drop_a), ..pair.clone() });
    }
    let most = |of: fn(&Pair) -> &Figure<f64>| -> Figure<f64> {
        let mut months = [0.0; 12];
        for i in loads() {
            let (Some(load), Some(pair)) = (c.plan.loads.get(i), t.loads.get(i)) else { continue };
            let amps = of(pair).clone()? * times(i)?;
            let used = months.iter_mut().enumerate().filter(|(m, _)| is_used(c, load, *m));
            used.for_each(|(_, sum)| *sum += amps);
        }
        Ok(months.into_iter().fold(0.0, f64::max))
    };
    Some(Pair {
        design_a: most(|p| &p.design_a),
        drop_a: most(|p| &p.drop_a),
        how: "its simultaneous loads at low bank volts",
        drop_how: "its simultaneous loads at bank volts",
    })
}
