//! What fuses let flow through a device for as long as it likes: in by some of its runs, out by others.

use crate::engine::circuit::{Node, Role, device_kind};
use crate::engine::context::Context;
use crate::engine::currents::converter_ahead;
use crate::engine::resistance::{fuse_path, fuses};
use crate::physics::flow::is_through;
use crate::plan::{DeviceKind, Figure, Run};

use super::{Ahead, By, Comes, Link, Net, breaker_a};

/// Runs of one device that may lead either way, which are tried in all combinations up to so many. Source: our own choice.
const MOST_TRIED: usize = 4;

/// Which way current is followed from a device.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    In,
    Out,
    /// Into the bank as well.
    OutToBank,
}

/// What the fuses and breakers ahead of a device let through it, where more than it allows comes in by some of its runs and can go
/// out by the others. None where it is no more, where something comes in and goes out past no fuse at all, and behind a
/// converter, whose own limit decides.
///
/// Source: Kirchhoff's current law; each fuse opens at its own rating only.
pub(in crate::engine) fn over(c: &Context<'_>, device: usize, allows_a: f64) -> Figure<Option<Ahead>> {
    let node = Node::Device(device);
    let runs: Vec<usize> = c.circuit.at(node).iter().copied().filter(|i| carries(c, *i)).collect();
    if runs.len() < 2 || is_held(c, node, &runs, allows_a) || runs.iter().any(|i| converter_ahead(c, *i).is_some()) {
        return Ok(None);
    }
    let leads = |way: Way| -> Vec<usize> {
        let by = |i: &usize| {
            let (net, places, [source, end]) = net(c, node, &[*i], way);
            is_through(places, &net.most, source, end)
        };
        runs.iter().copied().filter(by).collect()
    };
    let (ins, outs) = (leads(Way::In), leads(Way::OutToBank));
    let either: Vec<usize> = ins.iter().copied().filter(|i| outs.contains(i)).collect();
    let only = |all: &[usize]| -> Vec<usize> { all.iter().copied().filter(|i| !either.contains(i)).collect() };
    let splits: Vec<(Vec<usize>, Vec<usize>)> = if either.len() > MOST_TRIED {
        vec![(ins, outs)]
    } else {
        let of = |bits: usize| {
            let (mut a, mut b) = (only(&ins), only(&outs));
            for (k, i) in either.iter().enumerate() {
                if bits >> k & 1 == 1 { &mut a } else { &mut b }.push(*i);
            }
            (a, b)
        };
        (0..1_usize << either.len()).map(of).collect()
    };
    let mut most: Option<Ahead> = None;
    for (a, b) in splits {
        let found = lets(c, node, (&a, &b), allows_a)?;
        if found.as_ref().is_some_and(|f| most.as_ref().is_none_or(|m| f.amps > m.amps)) {
            most = found;
        }
    }
    Ok(most)
}

/// What comes in by some runs and goes out by others, where that is more than what is allowed.
fn lets(c: &Context<'_>, node: Node, (a, b): (&[usize], &[usize]), allows_a: f64) -> Figure<Option<Ahead>> {
    // One battery of the bank takes nothing from another: it charges from what is not of the bank.
    let out = if is_of_bank(c, node, a) { Way::Out } else { Way::OutToBank };
    let both = (flow(c, node, a, Way::In, allows_a), flow(c, node, b, out, allows_a));
    let within = |flow: &Figure<Comes>| flow.as_ref().is_ok_and(|comes| !comes.is_over(allows_a));
    if within(&both.0) || within(&both.1) {
        return Ok(None);
    }
    let guard = match (both.0?, both.1?) {
        // What is ahead of it guards it, or does not, whatever is less behind it.
        (Comes::Behind(ahead), _) => Some(ahead),
        // What has no fuse ahead of it is told of itself; one behind it that all goes through guards it still.
        (Comes::Free, Comes::Behind(one)) if !one.name.contains(',') => Some(one),
        _ => None,
    };
    // What an alternator gives is held to what flows, elsewhere.
    Ok(guard.filter(|l| l.name.contains("fuse ") || l.name.contains("breaker ")))
}

/// Whether some of a place's runs bring what the bank gives.
fn is_of_bank(c: &Context<'_>, node: Node, runs: &[usize]) -> bool {
    runs.iter().filter_map(|i| c.circuit.links.get(*i)).any(|l| {
        let fed = l.near() == Some(Node::Bank) || !l.upstream.is_empty();
        l.looped || (l.far() == Some(node) && fed && !matches!(l.role, Role::ChargerInput | Role::StartLead))
    })
}

/// Whether one run alone brings what comes, and a fuse on the one way there holds that to what is allowed: what most devices are
/// held by.
fn is_held(c: &Context<'_>, node: Node, runs: &[usize], allows_a: f64) -> bool {
    let engine = |l: &Link| l.away.iter().any(|n| c.circuit.is_of_engine(*n));
    let links = || runs.iter().filter_map(|i| Some((*i, c.circuit.links.get(*i)?)));
    let mut feeds = links().filter(|(_, l)| l.looped || l.far() == Some(node) || engine(l));
    let (Some((feed, link)), None) = (feeds.next(), feeds.next()) else { return false };
    let holds = |i: usize| {
        let small = |run: &Run| fuses(run).any(|f| f.amps_a.known().is_some_and(|a| a.0 <= allows_a));
        c.plan.runs.get(i).is_some_and(small)
    };
    // All that comes to a place behind such a run comes over it.
    let alone = |i: &usize| {
        c.circuit.own_way_of(*i).is_none() && c.circuit.links.get(*i).is_some_and(|l| !l.looped && !engine(l))
    };
    holds(feed) || link.upstream.iter().any(|i| alone(i) && holds(*i))
}

fn carries(c: &Context<'_>, run: usize) -> bool {
    c.circuit.links.get(run).is_some_and(|l| {
        l.from != l.to
            && !matches!(l.role, Role::Array | Role::Dead | Role::Bond | Role::NegativeMain | Role::Sense | Role::Open)
    })
}

/// Whether current goes on past a place: over one that no terminal and no battery ends.
fn goes_on(c: &Context<'_>, node: Node) -> bool {
    !c.circuit.is_end(node) && device_kind(c.plan, node) != Some(DeviceKind::Converter)
}

/// Whether something gives at a place, or takes, as much as it is let.
fn ends(c: &Context<'_>, node: Node, over: Role, way: Way) -> bool {
    let kind = device_kind(c.plan, node);
    match way {
        Way::In => node == Node::Bank || c.circuit.is_of_engine(node),
        Way::Out | Way::OutToBank => match node {
            Node::Bank => way == Way::OutToBank,
            Node::Inverter(_) | Node::Load(_) => true,
            Node::Charger(_) => over == Role::ChargerInput || c.circuit.is_fed_by_bank(node),
            _ => matches!(
                kind,
                Some(DeviceKind::StartBattery | DeviceKind::FusePanel | DeviceKind::Converter | DeviceKind::Tow)
            ),
        },
    }
}

/// What can come into a device, or leave it, by some of its runs alone.
fn flow(c: &Context<'_>, device: Node, by: &[usize], way: Way, allows_a: f64) -> Figure<Comes> {
    let (net, places, ends) = net(c, device, by, way);
    net.comes(c, places, ends, Some(allows_a))
}

/// The ways of that, how many places they join, and from which to which of them it flows.
fn net(c: &Context<'_>, device: Node, by: &[usize], way: Way) -> (Net, usize, [usize; 2]) {
    let (places, beyond) = (c.circuit.places(), c.circuit.places() * 2);
    let splits = |n: Node| n != device && breaker_a(c, Some(n)).is_some();
    // A breaker has two sides: what passes it goes from the first to the second.
    let side = |n: Node, second: bool| c.circuit.slot(n) + if second && splits(n) { places } else { 0 };
    let arc = |near: usize, far: usize| if way == Way::In { (far, near) } else { (near, far) };
    let (mut net, mut reached, mut seen) = (Net::default(), vec![(device, Role::Open)], vec![false; places]);
    let mut next = 0;
    while let Some(&(node, over)) = reached.get(next) {
        next += 1;
        if seen.get_mut(c.circuit.slot(node)).is_none_or(|mark| std::mem::replace(mark, true)) {
            continue;
        }
        if splits(node) {
            net.add(arc(side(node, false), side(node, true)), By::Breaker(node), breaker_a(c, Some(node)).into_iter());
        }
        if node != device && ends(c, node, over, way) {
            let given = given_a(c, node, way);
            let by = if given.is_some() { By::Gives(node) } else { By::Source };
            net.add(arc(side(node, true), beyond), by, given.into_iter().map(Ok));
        }
        if node != device && !goes_on(c, node) {
            continue;
        }
        for &i in c.circuit.at(node).iter().filter(|i| carries(c, **i) && (node != device || by.contains(i))) {
            let (Some(other), Some(link)) = (c.circuit.other(i, node), c.circuit.links.get(i)) else { continue };
            if other == device {
                continue;
            }
            let own = c.plan.runs.get(i).into_iter().flat_map(|r| fuses(r).map(move |fuse| (r, fuse)));
            let rated = own.map(|(r, fuse)| fuse.amps_a.at(|| fuse_path(r, fuse, "amps_a")).map(|a| a.0));
            net.add(arc(side(node, true), side(other, false)), By::Run(i), rated);
            reached.push((other, link.role));
        }
    }
    let ends = if way == Way::In { [beyond, side(device, false)] } else { [side(device, false), beyond] };
    (net, beyond + 1, ends)
}

/// What an alternator gives at most: its own rating.
fn given_a(c: &Context<'_>, node: Node, way: Way) -> Option<f64> {
    let Node::Device(i) = node else { return None };
    let is_it = way == Way::In && device_kind(c.plan, node) == Some(DeviceKind::Alternator);
    Some(c.plan.devices.get(i).filter(|_| is_it)?.ratings.amps_a.as_ref()?.known()?.0)
}
