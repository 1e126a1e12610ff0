//! What can come into an end of a run over the rest of the circuit, and what limits it: what all ways that lead there bring
//! together. On a loop a fault is fed from both ends of a run, and so is one in a battery's own lead.

use crate::physics::flow::{Arc, most_through};
use crate::plan::{DeviceKind, Figure, Missing};

use super::circuit::{Link, Node, Role, device_kind, on_bank_side};
use super::context::{Context, at};
use super::currents::converter_ahead;
use super::protection::{Limits, distance_limits_at};
use super::resistance::{fuse_distance_m, fuse_path, fuses, length_m};

/// What protects one end of a run from ahead of it: its rating, and what it is called.
pub(super) struct Ahead {
    pub(super) amps: f64,
    pub(super) name: String,
}

/// What can come into an end of a run.
pub(super) enum Comes {
    /// No source reaches it but over the run itself.
    Nothing,
    /// A source does, by some way with no fuse at all.
    Free,
    /// Behind fuses that together open at no less.
    Behind(Ahead),
}

impl Comes {
    /// Whether it is more than a wire may be left with.
    pub(super) fn is_over(&self, most_a: f64) -> bool {
        match self {
            Self::Nothing => false,
            Self::Free => true,
            Self::Behind(ahead) => ahead.amps > most_a + 1e-9,
        }
    }
}

/// Of every run what a fuse at each of its ends is taken to let in there, `from` first.
pub(super) type Caps = Vec<[Option<f64>; 2]>;

/// Whether a run lies on a loop of positives, so that both its ends are fed. Batteries in parallel with leads of their own are no
/// loop: each feeds its own.
pub(super) fn is_on_loop(c: &Context<'_>, run: usize) -> bool {
    let looped =
        |l: &super::circuit::Link| l.looped && !matches!(l.role, Role::Array | Role::NegativeMain | Role::Sense);
    c.circuit.links.get(run).is_some_and(|l| looped(l) && l.from != l.to && l.from.is_some() && l.to.is_some())
        && c.circuit.own_way_of(run).is_none()
}

/// Whether a run hangs on the bank over loops: the shortest way there is not the only one.
pub(super) fn is_behind_loop(c: &Context<'_>, run: usize) -> bool {
    let converted = converter_ahead(c, run);
    let upstream = c.circuit.links.get(run).map_or(&[][..], |l| l.upstream.as_slice());
    let ahead = converted.map_or(upstream, |(_, behind)| behind);
    ahead.iter().any(|i| is_on_loop(c, *i))
}

/// Rating of a breaker that stands at a node, if one does.
pub(super) fn breaker_a(c: &Context<'_>, node: Option<Node>) -> Option<Figure<f64>> {
    let Node::Device(i) = node? else { return None };
    let device = c.plan.devices.get(i)?;
    if device_kind(c.plan, Node::Device(i)) != Some(DeviceKind::Breaker) {
        return None;
    }
    let path = || at("devices", &device.id, "ratings.amps_a");
    Some(device.ratings.amps_a.as_ref().map_or_else(|| Err(Missing(path())), |a| a.at(path).map(|a| a.0)))
}

/// What a breaker at a node is called.
pub(super) fn breaker_name(c: &Context<'_>, node: Option<Node>) -> String {
    match node {
        Some(Node::Device(i)) => c.plan.devices.get(i).map_or_else(String::new, |d| format!("breaker {}", d.id)),
        _ => String::new(),
    }
}

/// The breaker at the source's end of a run and the fuses on it, each with its rating and what it is called.
pub(super) fn on_run(c: &Context<'_>, i: usize, near: bool) -> Vec<(Figure<f64>, String)> {
    let mut all = Vec::new();
    if let Some(up) = c.circuit.links.get(i) {
        let source_side = if near { up.near() } else { up.far() };
        all.extend(breaker_a(c, source_side).map(|amps| (amps, breaker_name(c, source_side))));
    }
    if let Some(run) = c.plan.runs.get(i) {
        for fuse in fuses(run) {
            let amps = fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a")).map(|a| a.0);
            all.push((amps, format!("fuse {} of {}", fuse.id, run.id)));
        }
    }
    all
}

/// Whether what is ahead of a run may come by several ways at once: over loops, from batteries with leads of their own, from the
/// bank and a start battery that is joined to it.
pub(super) fn is_fed_by_several(c: &Context<'_>, run: usize) -> bool {
    let Some(link) = c.circuit.links.get(run).filter(|l| on_bank_side(l.role)) else { return false };
    let converted = converter_ahead(c, run);
    let ahead = converted.map_or(link.upstream.as_slice(), |(_, behind)| behind);
    let joined = |l: &Link| {
        let at = |n: &Node| c.circuit.is_of_engine(*n);
        on_bank_side(l.role) && l.role != Role::Sense && l.away.iter().any(at)
    };
    ahead.iter().any(|i| is_on_loop(c, *i) || c.circuit.own_way_of(*i).is_some())
        || (converted.is_none() && c.circuit.links.iter().any(joined))
}

/// Whether a run is fed from both its ends: on a loop, or from one battery of several and from where these meet.
pub(super) fn is_fed_from_both(c: &Context<'_>, run: usize) -> bool {
    is_on_loop(c, run) || c.circuit.own_way_of(run).is_some()
}

/// Whether an end of a run is that of one battery's own lead from which the others feed it.
pub(super) fn is_meeting_end(c: &Context<'_>, run: usize, at_from: bool) -> bool {
    c.circuit.own_way_of(run).is_some() && c.circuit.links.get(run).is_some_and(|l| l.near_from != at_from)
}

/// Times its ampacity that may be ahead of a conductor that a fuse at its other end keeps within it, and the longest that it may be, m.
/// Source: NEC 240.21(B)(2), taps of no more than 25 ft and no less than a third of the rating ahead; from memory.
const TAP: (f64, f64) = (3.0, 7.62);

/// What an end of a run stands ahead of it.
#[derive(Clone, Copy)]
pub(super) struct Stands {
    /// With nothing to say.
    pub(super) carries_a: f64,
    /// Without a stop.
    pub(super) most_a: f64,
}

/// What an end of a run stands. Where batteries in parallel meet, the fuse at a battery keeps its lead from more than it carries
/// of that one, and what its maker allows is about that fuse; what the others bring may be as much as a tap may have ahead.
///
/// Source: NEC 240.21(B)(2) and (H).
pub(super) fn stands(c: &Context<'_>, run: usize, at_from: bool, limits: &Limits) -> Stands {
    let carries_a = match is_meeting_end(c, run, at_from) {
        true => limits.most_a.max(limits.ampacity_a.min(limits.small_a.unwrap_or(f64::MAX))),
        false => return Stands { carries_a: limits.most_a, most_a: limits.most_a },
    };
    let long_m: Figure<f64> = own_way(c, run).iter().filter_map(|i| c.plan.runs.get(*i)).map(length_m).sum();
    let is_tap = is_fused_at_battery(c, run) && long_m.is_ok_and(|m| m <= TAP.1 + 1e-9);
    let most_a = if is_tap { carries_a.max(TAP.0 * limits.ampacity_a) } else { carries_a };
    Stands { carries_a, most_a }
}

fn own_way<'a>(c: &'a Context<'_>, run: usize) -> &'a [usize] {
    c.circuit.own_ways.iter().find(|way| way.contains(&run)).map_or(&[], Vec::as_slice)
}

/// Whether a run is on a battery's own way and the fuse at that battery is there.
pub(super) fn is_fused_at_battery(c: &Context<'_>, run: usize) -> bool {
    let fused = |first: &usize| is_fused_at(c, *first, c.circuit.links.get(*first).is_some_and(|l| l.near_from));
    own_way(c, run).first().is_some_and(fused)
}

/// What an arc of the net stands for.
#[derive(Clone, Copy)]
enum By {
    /// A way into a source.
    Source,
    Run(usize),
    Breaker(Node),
}

/// All ways that lead to an end of a run, the run itself open.
#[derive(Default)]
struct Net {
    /// As much as surely comes by each, and at most: what nobody has entered is nothing, or without a limit.
    least: Vec<Arc>,
    most: Vec<Arc>,
    by: Vec<By>,
    /// Ratings that nobody has entered, each with its arc.
    waits: Vec<(usize, Missing)>,
}

impl Net {
    fn add(&mut self, (from, to): (usize, usize), by: By, ratings: impl Iterator<Item = Figure<f64>>) {
        let (mut known, mut is_open) = (f64::INFINITY, false);
        for rating in ratings {
            match rating {
                Ok(amps) => known = known.min(amps),
                Err(waits) => {
                    self.waits.push((self.by.len(), waits));
                    is_open = true;
                }
            }
        }
        self.least.push(Arc { from, to, most: if is_open { 0.0 } else { known } });
        self.most.push(Arc { from, to, most: known });
        self.by.push(by);
    }

    /// What comes in, where `allows` decides as far as ratings are not known.
    fn comes(&self, c: &Context<'_>, places: usize, [source, end]: [usize; 2], allows: Option<f64>) -> Figure<Comes> {
        let told = |arcs: &[Arc], (amps, cut): (f64, Vec<usize>)| match amps {
            _ if amps.is_infinite() => Comes::Free,
            _ if amps <= 0.0 => Comes::Nothing,
            _ => {
                let limits = cut.into_iter().filter(|k| arcs.get(*k).is_some_and(|a| a.most > 0.0));
                let names: Vec<String> = limits.filter_map(|k| name_of(c, *self.by.get(k)?)).collect();
                let together = if names.len() > 1 { " together" } else { "" };
                Comes::Behind(Ahead { amps, name: format!("{}{together}", names.join(", ")) })
            }
        };
        let most = most_through(places, &self.most, source, end);
        let Some((_, first)) = self.waits.first() else { return Ok(told(&self.most, most)) };
        let least = most_through(places, &self.least, source, end);
        if least.0 >= most.0 - 1e-9 || allows.is_some_and(|a| most.0 <= a + 1e-9) {
            return Ok(told(&self.most, most));
        }
        if allows.is_some_and(|a| least.0 > a + 1e-9) {
            return Ok(told(&self.least, least));
        }
        let matters = |(k, _): &&(usize, Missing)| {
            let mut arcs = self.least.clone();
            if let (Some(arc), Some(most)) = (arcs.get_mut(*k), self.most.get(*k)) {
                *arc = *most;
            }
            most_through(places, &arcs, source, end).0 > least.0 + 1e-9
        };
        Err(self.waits.iter().find(matters).map_or(first, |(_, waits)| waits).clone())
    }
}

/// What can come into the `from` or the `to` end of a run with the run itself open: all that its sources bring by all ways
/// together. Each of `caps` is taken as one more fuse at that end of its run. A rating that nobody has entered is waited for only
/// where it decides whether that is above `allows`.
///
/// Source: a conductor is protected where it receives its supply, from each source of its own: NEC 240.21, 33 CFR 183.455.
/// Kirchhoff's current law: each fuse opens at its own rating only, so that the least that any cut lets through flows for ever.
pub(super) fn comes_in(
    c: &Context<'_>,
    run: usize,
    at_from: bool,
    caps: Option<&Caps>,
    allows: Option<f64>,
) -> Figure<Comes> {
    let Some(link) = c.circuit.links.get(run) else { return Ok(Comes::Nothing) };
    let Some(end) = (if at_from { link.from } else { link.to }) else { return Ok(Comes::Nothing) };
    let converter = converter_ahead(c, run).map(|(device, _)| Node::Device(device));
    let converts = |n: Node| device_kind(c.plan, n) == Some(DeviceKind::Converter);
    let is_tow = |n: Node| device_kind(c.plan, n) == Some(DeviceKind::Tow);
    let is_source = |n: Node| match converter {
        Some(converter) => n == converter,
        None => n == Node::Bank || c.circuit.is_of_engine(n),
    };
    let (places, source) = (c.circuit.places(), c.circuit.places() * 2);
    // What leaves a breaker has gone through it.
    let out = |n: Node| c.circuit.slot(n) + if breaker_a(c, Some(n)).is_some() { places } else { 0 };
    let (mut net, mut tows) = (Net::default(), Vec::new());
    let (mut reached, mut seen) = (vec![end], vec![false; places]);
    let mut next = 0;
    while let Some(&node) = reached.get(next) {
        next += 1;
        if seen.get_mut(c.circuit.slot(node)).is_none_or(|mark| std::mem::replace(mark, true)) {
            continue;
        }
        if let Some(amps) = breaker_a(c, Some(node)) {
            net.add((c.circuit.slot(node), out(node)), By::Breaker(node), std::iter::once(amps));
        }
        match is_source(node) {
            // What a vehicle has behind its connector is its own, and not drawn.
            true if is_tow(node) && node != end => tows.push(out(node)),
            true => net.add((source, out(node)), By::Source, std::iter::empty()),
            false => {}
        }
        if is_source(node) || (node != end && (converts(node) || c.circuit.is_end(node))) {
            continue;
        }
        for &i in c.circuit.at(node).iter().filter(|i| **i != run) {
            let Some(l) = c.circuit.links.get(i).filter(|l| on_bank_side(l.role)) else { continue };
            let Some(other) = c.circuit.other(i, node) else { continue };
            let cap = caps.and_then(|all| all.get(i)?.get(usize::from(l.from != Some(other))).copied().flatten());
            let own = c.plan.runs.get(i).into_iter().flat_map(|r| fuses(r).map(move |fuse| (r, fuse)));
            let rated = own.map(|(r, fuse)| fuse.amps_a.at(|| fuse_path(r, fuse, "amps_a")).map(|a| a.0));
            net.add((out(other), c.circuit.slot(node)), By::Run(i), rated.chain(cap.map(Ok)));
            reached.push(other);
        }
    }
    if !net.by.iter().any(|by| matches!(by, By::Source)) {
        tows.into_iter().for_each(|tow| net.add((source, tow), By::Source, std::iter::empty()));
    }
    net.comes(c, source + 1, [source, out(end)], allows)
}

/// What limits an arc: the smallest fuse of its run, its breaker.
fn name_of(c: &Context<'_>, by: By) -> Option<String> {
    match by {
        By::Source => None,
        By::Breaker(node) => Some(breaker_name(c, Some(node))),
        By::Run(i) => {
            let run = c.plan.runs.get(i)?;
            let known = fuses(run).filter_map(|f| Some((f.amps_a.known()?.0, f)));
            let least = known.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, f)| f.id.as_str()).unwrap_or_default();
            Some(format!("fuse {least} of {}", run.id))
        }
    }
}

/// Whether a fuse of a run sits near enough to one of its ends to protect it from there.
pub(super) fn is_fused_at(c: &Context<'_>, run: usize, at_from: bool) -> bool {
    let (Some(own), Some(link)) = (c.plan.runs.get(run), c.circuit.links.get(run)) else { return false };
    let (_, most_m) = distance_limits_at(c, own, if at_from { link.from } else { link.to });
    fuses(own).any(|f| fuse_distance_m(own, at_from, f).is_ok_and(|m| m <= most_m + 1e-6))
}

/// The end at which a run that is fed from both gets a fuse: the first from the bank where more comes in than it stands and no fuse
/// sits; else the first where more does.
pub(super) fn wanting_from(c: &Context<'_>, run: usize, limits: &Limits) -> Option<bool> {
    let near = c.circuit.links.get(run)?.near_from;
    let over = |from: &bool| is_over(c, run, *from, None, limits).is_ok_and(|over| over);
    let ends = [near, !near];
    ends.into_iter().find(|from| !is_fused_at(c, run, *from) && over(from)).or_else(|| ends.into_iter().find(over))
}

/// Whether more comes into an end of a run than it stands.
pub(super) fn is_over(
    c: &Context<'_>,
    run: usize,
    at_from: bool,
    caps: Option<&Caps>,
    limits: &Limits,
) -> Figure<bool> {
    let most_a = stands(c, run, at_from, limits).most_a;
    Ok(comes_in(c, run, at_from, caps, Some(most_a))?.is_over(most_a))
}
