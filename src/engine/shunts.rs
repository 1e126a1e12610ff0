//! In which runs a shunt's volts are counted: once on every way, wherever it is named.

use crate::plan::{DeviceKind, Figure};

use super::circuit::{Circuit, Node, Role, device_kind};
use super::context::Context;
use super::currents::{Terminals, coming_back, flow_steps, is_mixed, stepped};

/// A shunt that a run counts, and whether it is its negative that passes it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Passed {
    pub(super) shunt: Node,
    pub(super) negative: bool,
    /// How many times its ohms count there: where batteries' own negatives all meet on it, so many as there are, since each
    /// brings its part of what the shunt passes.
    pub(super) times: f64,
}

/// The shunts whose volts are counted in a run. In the negative that is the run which leads on from one to the post, or,
/// where none does, each that comes to it; of several batteries' own that meet on it the one that all of them go on by, or, where
/// none or several do, those of all batteries; in the positive the first from the bank.
pub(super) fn passed<'a>(c: &'a Context<'_>, index: usize) -> &'a [Passed] {
    c.circuit.passed(index, || find(c, index))
}

fn find(c: &Context<'_>, index: usize) -> Vec<Passed> {
    let circuit = &c.circuit;
    let Some(link) = circuit.links.get(index).filter(|l| carries(l.role)) else { return Vec::new() };
    let is = |n: &Node| device_kind(c.plan, *n) == Some(DeviceKind::Shunt);
    let shunts = (0..c.plan.devices.len()).map(Node::Device).filter(is);
    let of = |shunt: Node| match circuit.homeward_run(shunt) {
        Some(home) => {
            let (runs, times) = match bearers(circuit, shunt, home) {
                Bearers::One(run) => (vec![run], 1.0),
                Bearers::Leads(leads) => {
                    let times = leads.len() as f64;
                    (leads, times)
                }
                Bearers::Each(runs) => (runs, 1.0),
            };
            runs.contains(&index).then_some(Passed { shunt, negative: true, times })
        }
        None => {
            let first = ends_on(circuit, index, shunt) && !link.upstream.iter().any(|i| ends_on(circuit, *i, shunt));
            first.then_some(Passed { shunt, negative: false, times: 1.0 })
        }
    };
    shunts.filter_map(of).collect()
}

/// By which negatives all that comes back over a shunt passes it.
enum Bearers {
    /// One that all of it goes by.
    One(usize),
    /// The own of all batteries, one of each.
    Leads(Vec<usize>),
    /// Each that comes to it bears its part.
    Each(Vec<usize>),
}

/// Those of a shunt, by the run that leads on from it to the post, if it is not at the post itself.
fn bearers(circuit: &Circuit, shunt: Node, home: Option<usize>) -> Bearers {
    let Some(home) = home.filter(|home| circuit.is_lead(*home)) else {
        return home.map_or_else(|| Bearers::Each(others(circuit, shunt)), Bearers::One);
    };
    let shared = others(circuit, shunt);
    // Where the batteries' own go on behind the shunt, what else comes there is only what hangs on it.
    let goes_on = circuit.arriving(shunt).any(|i| circuit.is_lead(i) && is_behind(circuit, i, shunt));
    match (shared.as_slice(), common(circuit, shunt, home)) {
        ([one], _) if !goes_on => Bearers::One(*one),
        (_, Some(leads)) => Bearers::Leads(leads),
        // One battery's own stands between its own runs.
        ([], None) => Bearers::One(home),
        _ if goes_on => Bearers::One(home),
        _ => Bearers::Each(shared),
    }
}

/// What comes to a place and is none of the batteries' own.
fn others(circuit: &Circuit, place: Node) -> Vec<usize> {
    circuit.arriving(place).filter(|i| !circuit.is_lead(*i)).collect()
}

/// Whether what a run brings to a shunt comes from behind it, not from the post.
fn is_behind(circuit: &Circuit, run: usize, shunt: Node) -> bool {
    let from = circuit.negative_of(run).map(|(from, to)| if from == shunt { to } else { from });
    from.is_some_and(|n| circuit.places_home(n).contains(&shunt))
}

/// The largest continuous current that negatives bring over a place, and the run that leads it on to the post, or those that
/// bring it there; where batteries' own meet there and nothing else brings all of it, those. None where nothing that hangs on the
/// net comes back over it, or where it is one battery's own.
pub(super) fn over_place(c: &Context<'_>, t: &Terminals, place: Node) -> Option<(Figure<f64>, Vec<usize>)> {
    let things = c.circuit.coming_over(c.plan, place);
    let home = c.circuit.homeward_run(place)?;
    let own = |i: usize| c.circuit.is_lead(i);
    let runs = match bearers(&c.circuit, place, home) {
        Bearers::One(run) if own(run) => return None,
        Bearers::One(run) => vec![run],
        Bearers::Each(runs) => runs,
        Bearers::Leads(leads) => {
            let (all, behind) = (others(&c.circuit, place), |i| own(i) && is_behind(&c.circuit, i, place));
            if all.is_empty() || c.circuit.arriving(place).any(behind) { leads } else { all }
        }
    };
    let index = *runs.first().filter(|_| !things.is_empty())?;
    let all = coming_back(c, t, index, things, is_mixed(things));
    Some((stepped(all, &flow_steps(c, index)).pair.design_a, runs))
}

/// The shunts that the own negatives of all batteries meet on, with those, where no single run leads on from there.
pub(super) fn met_on<'a>(c: &'a Context<'_>) -> impl Iterator<Item = (Node, Vec<usize>)> + 'a {
    let is = |n: &Node| device_kind(c.plan, *n) == Some(DeviceKind::Shunt);
    (0..c.plan.devices.len()).map(Node::Device).filter(is).filter_map(|shunt| Some((shunt, leads_over(c, shunt)?)))
}

/// The own negatives of all batteries where all that comes back over a shunt passes it by those.
pub(super) fn leads_over(c: &Context<'_>, shunt: Node) -> Option<Vec<usize>> {
    match bearers(&c.circuit, shunt, c.circuit.homeward_run(shunt)?) {
        Bearers::Leads(leads) => Some(leads),
        _ => None,
    }
}

/// The batteries' own negatives that meet on a shunt, one of each battery: of two the one on the post's side.
fn common(circuit: &Circuit, shunt: Node, home: usize) -> Option<Vec<usize>> {
    let loops = circuit.own_loops();
    let mut here: Vec<usize> = circuit.arriving(shunt).filter(|i| circuit.is_lead(*i)).collect();
    here.push(home);
    let of = |own: &Vec<usize>| {
        let on = || here.iter().copied().filter(|i| own.contains(i));
        on().find(|i| !is_behind(circuit, *i, shunt)).or_else(|| on().next())
    };
    let of_each: Vec<usize> = loops.iter().filter_map(of).collect();
    (of_each.len() > 1 && of_each.len() == loops.len()).then_some(of_each)
}

fn ends_on(circuit: &Circuit, run: usize, node: Node) -> bool {
    circuit.links.get(run).is_some_and(|l| l.from == Some(node) || l.to == Some(node))
}

fn carries(role: Role) -> bool {
    !matches!(
        role,
        Role::Array | Role::ChargerInput | Role::StartLead | Role::Sense | Role::Bond | Role::Dead | Role::Open
    )
}
