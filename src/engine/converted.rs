//! What converters to 12 V make of a DC load: the volts it hangs on, and what it asks of the bank.

use crate::plan::wiring::Supply;
use crate::plan::{DeviceKind, Figure, Missing, Plan};
use crate::stock::Stock;

use super::circuit::{Circuit, Link, Node, Role, Way, device_kind};
use super::context::{Context, at};
use super::currents::{Pair, RunCurrents, Terminals, bank_side, converter_ahead, flow_steps};
use super::inflow::on_run;
use super::loads::own_inverter;

/// What a converter gives of what it takes where its sheet is not entered.
/// Source: common practice for step-down converters, 88 to 95 %.
const EFFICIENCY: f64 = 0.9;

/// Nominal volts behind a converter.
pub(super) const CONVERTED_V: f64 = 12.0;

/// What a converter to 12 V gives at most: it regulates.
/// Source: common practice: such converters are set between 12.5 V and 13.8 V; from memory.
pub(super) const GIVEN_MOST_V: f64 = 13.8;

/// Highest volts of a run behind a converter: its own, or what a source there is set to. The bank's chargers raise them not.
pub(super) fn highest_v(c: &Context<'_>, run: usize) -> f64 {
    let converter = converter_ahead(c, run).map(|(device, _)| device);
    let settings = |node: Node| settings_v(c.plan, node).filter(move |_| c.circuit.beyond(node) == converter);
    sources(c.plan).flat_map(settings).fold(GIVEN_MOST_V, f64::max)
}

/// Most that a converter feeds a run with, whatever happens behind it.
pub(super) struct Gives<'a> {
    pub(super) amps: f64,
    /// The fuse ahead of it that lets no more through; 0 where its own rating is less.
    pub(super) fuse_a: f64,
    pub(super) name: &'a str,
}

/// Most that a run is fed by a converter: its rating, or what passes the smallest fuse on its input, by their volts; its rating where
/// that is no more than `enough_a`.
///
/// Source: conservation of energy, the bank's highest volts against the converter's 12 V; what nobody has entered as lost
/// in it counts as nothing lost.
pub(super) fn gives<'a>(c: &'a Context<'_>, run: usize, enough_a: Option<f64>) -> Option<Figure<Gives<'a>>> {
    let (device, behind) = converter_ahead(c, run)?;
    let upstream = c.circuit.links.get(run)?.upstream.as_slice();
    let ahead = upstream.get(..upstream.len().saturating_sub(behind.len())).unwrap_or_default();
    let device = c.plan.devices.get(device)?;
    let field = || at("devices", &device.id, "ratings.amps_a");
    Some((|| {
        let rated = device.ratings.amps_a.as_ref();
        let rated_a = rated.map_or_else(|| Err(Missing(field())), |a| Ok(a.at(field)?.0))?;
        let own = Gives { amps: rated_a, fuse_a: 0.0, name: device.id.as_str() };
        if enough_a.is_some_and(|a| rated_a <= a + 1e-9) {
            return Ok(own);
        }
        let alone = ahead.iter().filter(|j| c.circuit.own_way_of(**j).is_none());
        let known = alone.flat_map(|j| on_run(c, *j, true)).filter_map(|(amps, _)| amps.ok());
        let Some(fuse_a) = known.min_by(f64::total_cmp) else { return Ok(own) };
        let share = device.efficiency_pct.as_ref().and_then(|k| k.known()).map_or(1.0, |pct| pct.0 / 100.0);
        let through_a = fuse_a * c.high_v()? * share / CONVERTED_V;
        Ok(if through_a < rated_a { Gives { amps: through_a, fuse_a, ..own } } else { own })
    })())
}

/// Controllers and chargers.
pub(super) fn sources(plan: &Plan) -> impl Iterator<Item = Node> {
    (0..plan.controllers.len()).map(Node::Controller).chain((0..plan.chargers.len()).map(Node::Charger))
}

/// The known volts that a source is set to.
pub(super) fn settings_v(plan: &Plan, node: Node) -> impl Iterator<Item = f64> {
    let set = match node {
        Node::Controller(i) => plan.controllers.get(i).map(|k| [Some(k.absorb_v), k.float_v, k.equalise_v]),
        Node::Charger(i) => plan.chargers.get(i).map(|k| [Some(k.absorb_v), k.float_v, k.equalise_v]),
        _ => None,
    };
    set.into_iter().flatten().flatten().filter_map(|k| k.known().map(|v| v.0))
}

/// What a source behind a converter gives, as if at the bank's volts: as all else in a run is reckoned before it is stepped down.
pub(super) fn at_bank(c: &Context<'_>, run: usize, pair: &Pair) -> Pair {
    let steps = flow_steps(c, run);
    let of = |amps: &Figure<f64>| Ok(amps.clone()? / steps.clone()?.max(1.0));
    Pair { design_a: of(&pair.design_a), drop_a: of(&pair.drop_a), ..pair.clone() }
}

/// Of what hangs on converters beside each other one of them gives all that it can, or its part by their ratings where that
/// is more than it can; all of it where a rating is not known.
pub(super) fn beside(c: &Context<'_>, t: &Terminals, index: usize, found: RunCurrents) -> RunCurrents {
    match share_beside(c, t, index) {
        Some(share) => found.times(&Ok(share)),
        None => found,
    }
}

/// The one minus of a converter brings back its own part of what it and those beside it give.
pub(super) fn minus_beside(c: &Context<'_>, t: &Terminals, link: &Link, found: RunCurrents) -> RunCurrents {
    let circuit = &c.circuit;
    let is_minus = |i: &&usize| circuit.links.get(**i).is_some_and(|l| l.role == Role::NegativeMain);
    let output = |own: Node| {
        let gives = |i: &&usize| circuit.at_converter(**i) == Some((own, false)) && !is_minus(i);
        let runs = circuit.at(own);
        runs.iter().find(gives).copied().filter(|_| runs.iter().filter(is_minus).count() == 1)
    };
    match [link.from, link.to].into_iter().flatten().filter(|_| c.converts).find_map(output) {
        Some(output) => beside(c, t, output, found),
        None => found,
    }
}

fn share_beside(c: &Context<'_>, t: &Terminals, index: usize) -> Option<f64> {
    let ((own, _), link) = (c.circuit.at_converter(index)?, c.circuit.links.get(index)?);
    let same = |l: &Link| l.away.len() == link.away.len() && l.away.iter().all(|n| link.away.contains(n));
    let mut ratings: Vec<(Node, Option<f64>)> = Vec::new();
    let mut output = None;
    for (i, _) in c.circuit.links.iter().enumerate().filter(|(_, l)| same(l)) {
        let Some((node, feeds)) = c.circuit.at_converter(i) else { continue };
        output = output.or((!feeds).then_some(i));
        if ratings.iter().any(|(n, _)| *n == node) {
            continue;
        }
        let device = match node {
            Node::Device(i) => c.plan.devices.get(i),
            _ => None,
        };
        ratings.push((node, device.and_then(|d| Some(d.ratings.amps_a.as_ref()?.known()?.0))));
    }
    let own_a = ratings.iter().find(|(node, _)| *node == own).and_then(|(_, amps)| *amps);
    let sum_a: Option<f64> = ratings.iter().map(|(_, amps)| *amps).sum();
    // What they give together, with nothing lost in them.
    let given = || bank_side(c, t, output.unwrap_or(index), &link.away, false).pair.design_a;
    let (Some(own_a), Some(sum_a), true) = (own_a, sum_a, ratings.len() > 1) else { return None };
    let (Ok(all_a), Ok(times)) = (given(), c.twelves()) else { return None };
    Some((own_a / sum_a.max(1e-9)).max((own_a / (all_a * times).max(1e-9)).min(1.0)))
}

/// Whether a plan has a converter at all.
pub(super) fn any(plan: &Plan) -> bool {
    plan.devices.iter().any(|d| d.state.stays() && d.kind.known() == Some(&DeviceKind::Converter))
}

/// What of a current reaches the far ends of these runs: through every converter that one of them ends on, once through each.
fn share_over(c: &Context<'_>, runs: &[usize]) -> Figure<f64> {
    let mut all = 1.0;
    let far = |r: &usize| c.circuit.links.get(*r)?.far();
    for (k, node) in runs.iter().enumerate().filter_map(|(k, r)| Some((k, far(r)?))) {
        let Node::Device(i) = node else { continue };
        // A way goes by a converter's own minus, too.
        if runs.iter().take(k).any(|r| far(r) == Some(node)) {
            continue;
        }
        let Some(device) = c.plan.devices.get(i) else { continue };
        if device.kind.known() == Some(&DeviceKind::Converter) {
            let share = match &device.efficiency_pct {
                Some(pct) => pct.at(|| at("devices", &device.id, "efficiency_pct"))?.0 / 100.0,
                None => EFFICIENCY,
            };
            all *= share.max(0.01);
        }
    }
    Ok(all)
}

/// How much more a run carries of a load's current than the load draws: the loss of every converter between them. Of a negative ahead
/// of the place where the two meet it is what the converter gives, or what it takes less that, which flows away from the post.
///
/// Source: Kirchhoff's current law at a converter with one minus for both its sides.
pub(super) fn lost_behind(c: &Context<'_>, index: usize, load: usize, negative: bool) -> Figure<f64> {
    // A negative on the far side of one carries what it gives, as does a bond.
    let is_bond = c.circuit.links.get(index).is_some_and(|l| l.role == Role::Bond);
    if is_bond || !c.converts || c.circuit.converter_before(index).is_some() {
        return Ok(1.0);
    }
    let to_load = |w: &&Way| w.end == Node::Load(load);
    let Some(way) = c.circuit.ways.iter().find(to_load) else { return Ok(1.0) };
    // A battery's own lead carries its part of the whole way, which may go by another one's; one of converters beside each
    // other may be on no way of its own.
    let own = if c.circuit.is_lead(index) { way.runs.as_slice() } else { std::slice::from_ref(&index) };
    let ahead = way.runs.iter().position(|r| *r == index).map_or(own, |i| way.runs.get(i..).unwrap_or_default());
    let taken = 1.0 / share_over(c, ahead)?;
    Ok(match homes(c, index, load, way).filter(|_| negative) {
        Some((true, false)) => taken - c.twelves()?,
        Some((false, true)) => c.twelves()?,
        _ => taken,
    })
}

/// Whether a negative is on the way home of the converter that a load hangs on, and of what comes back from the load itself.
fn homes(c: &Context<'_>, index: usize, load: usize, way: &Way) -> Option<(bool, bool)> {
    let circuit = &c.circuit;
    if converter_ahead(c, index).is_some() {
        return None;
    }
    let fed = |i: &usize| circuit.converter_fed(c.plan, *i);
    let feed = way.runs.iter().position(|i| fed(i).is_some())?;
    let own = circuit.way_back(way.runs.get(feed).and_then(fed)?)?;
    let behind = way.runs.get(feed + 1..).unwrap_or_default();
    let by = |n: Node| circuit.way_back(n).is_some_and(|runs| runs.contains(&index));
    let home = if behind.iter().any(|i| circuit.by_chassis(c.plan, *i)) {
        let bonds = circuit.links.iter().zip(&circuit.over_frame).filter(|(_, over)| over.is_some());
        bonds.flat_map(|(l, _)| [l.from, l.to]).flatten().any(by)
    } else {
        by(circuit.hangs_on(Node::Load(load)))
    };
    Some((own.contains(&index), home))
}

/// What the drawing tells of the loads: what of each DC load's draw on the bank reaches it, and the inverter that each AC load
/// hangs on.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Shares {
    dc: Vec<Figure<f64>>,
    /// Empty where there are not several inverters.
    ac: Vec<Option<usize>>,
    /// Loads and inverters that hang on a start battery and not on the bank: what they draw is not the bank's.
    apart: Vec<Node>,
}

impl Shares {
    /// Those of a plan's loads, by the converters on their ways and by their runs from inverters.
    pub(super) fn of(c: &Context<'_>) -> Self {
        let way = |load: usize| c.circuit.ways.iter().find(|w| w.end == Node::Load(load));
        let share = |load: usize| way(load).map_or(Ok(1.0), |way| share_over(c, &way.runs));
        let loads = || 0..c.plan.loads.len();
        let has_several = c.plan.inverters.iter().filter(|i| i.state.stays()).nth(1).is_some();
        Self {
            dc: if c.converts { loads().map(share).collect() } else { Vec::new() },
            ac: if has_several { loads().map(|load| inverter_on(c, load)).collect() } else { Vec::new() },
            apart: c.circuit.on_vehicle.iter().map(|(node, _)| *node).collect(),
        }
    }

    /// Whether an inverter hangs on a start battery and not on the bank.
    pub(super) fn is_inverter_apart(&self, inverter: usize) -> bool {
        self.apart.contains(&Node::Inverter(inverter))
    }

    /// Whether a load does, or the inverter that carries it.
    pub(super) fn is_apart(&self, c: &Context<'_>, load: usize) -> bool {
        if self.apart.is_empty() {
            return false;
        }
        let by_inverter = || {
            let is_ac = c.plan.loads.get(load).is_some_and(|l| l.supply == Supply::Inverter);
            let inverter = own_inverter(c, self, load).ok().flatten().filter(|_| is_ac);
            inverter.is_some_and(|i| self.is_inverter_apart(i))
        };
        self.apart.contains(&Node::Load(load)) || by_inverter()
    }

    /// That of one load; all where no converter is on its way.
    pub(super) fn get(&self, load: usize) -> Figure<f64> {
        self.dc.get(load).cloned().unwrap_or(Ok(1.0))
    }

    /// Of several inverters the one that a load has a run from.
    pub(super) fn inverter(&self, load: usize) -> Option<usize> {
        self.ac.get(load).copied().flatten()
    }
}

/// The inverter that a run leads from to a load.
fn inverter_on(c: &Context<'_>, load: usize) -> Option<usize> {
    c.circuit.links.iter().find_map(|l| match (l.from?, l.to?) {
        (Node::Inverter(i), Node::Load(at)) | (Node::Load(at), Node::Inverter(i)) if at == load => Some(i),
        _ => None,
    })
}

/// Nominal volts that runs from the bank bring to a place, each of them once.
pub(super) fn nominal_at(c: &Context<'_>, node: Node) -> Figure<Vec<f64>> {
    let mut all: Vec<f64> = Vec::new();
    for (i, link) in c.circuit.links.iter().enumerate() {
        let other = matches!(
            link.role,
            Role::Dead | Role::Bond | Role::Sense | Role::NegativeMain | Role::Open | Role::Array | Role::ChargerInput
        );
        // A start battery's own circuits are of the vehicle's volts.
        let by_bank = link.near() == Some(Node::Bank) || !link.upstream.is_empty();
        if other || !by_bank || link.far() != Some(node) {
            continue;
        }
        let volts = if converter_ahead(c, i).is_some() { CONVERTED_V } else { c.base_v()? };
        if !all.contains(&volts) {
            all.push(volts);
        }
    }
    Ok(all)
}

/// Nominal volts that a device gives on: of a converter its output's.
pub(super) fn given_at(c: &Context<'_>, device: usize) -> Figure<Vec<f64>> {
    let node = Node::Device(device);
    let fed = nominal_at(c, node)?;
    let converts = device_kind(c.plan, node) == Some(DeviceKind::Converter) && !fed.is_empty();
    Ok(if converts { vec![CONVERTED_V] } else { fed })
}

/// Nominal volts of the circuits that a DC load hangs on: by its own runs, or where none is drawn those of the fuse panels.
/// None where nothing is drawn from the bank.
pub(super) fn load_v(c: &Context<'_>, load: usize) -> Figure<Vec<f64>> {
    if !c.circuit.undrawn.contains(&load) {
        return nominal_at(c, Node::Load(load));
    }
    let mut all: Vec<f64> = Vec::new();
    for (i, device) in c.plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()) {
        if device.kind.known() == Some(&DeviceKind::FusePanel) {
            all.extend(nominal_at(c, Node::Device(i))?);
        }
    }
    all.dedup();
    // Which of several panels it hangs on, nobody has said.
    if all.iter().any(|v| Some(v) != all.first()) { Err(Missing("runs".into())) } else { Ok(all) }
}

/// Whether a step puts a DC load on other volts than it had and is made for; or on more than 12 V, and nobody has said that
/// it stands them.
pub(super) fn moves_to_other_volts(stock: &Stock, before: &Plan, after: &Plan) -> bool {
    let context = |plan| Context::of(plan, Circuit::of(plan).0, stock.truck.fuses.as_slice());
    let (old, new) = (context(before), context(after));
    let all_12 = |c: &Context<'_>| c.twelves().is_ok_and(|n| n == 1.0);
    if all_12(&old) && all_12(&new) {
        return false;
    }
    after.loads.iter().enumerate().filter(|(_, l)| l.state.stays() && l.supply == Supply::Dc).any(|(i, load)| {
        let had = before.loads.iter().position(|l| l.id == load.id);
        let had = had.filter(|i| before.loads.get(*i).is_some_and(|l| l.supply == Supply::Dc));
        // A run drawn to a load is held to it, whatever panel stood for it.
        let had = had.filter(|was| old.circuit.undrawn.contains(was) == new.circuit.undrawn.contains(&i));
        let had = had.and_then(|i| load_v(&old, i).ok()).unwrap_or_default();
        let made = load.made_for.as_ref().and_then(|k| k.known());
        let fits = |v: &f64| had.contains(v) || made.map_or(*v <= CONVERTED_V, |m| m.fits(*v));
        load_v(&new, i).is_ok_and(|volts| !volts.iter().all(fits))
    })
}
