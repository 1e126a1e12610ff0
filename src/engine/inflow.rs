//! What can come into an end of a run over the rest of the circuit, and what limits it. On a loop a fault is fed from both ends of
//! a run: from each by the widest of all the ways that lead there.

use std::collections::VecDeque;

use crate::plan::{DeviceKind, Figure, Missing};

use super::circuit::{Node, Role, device_kind};
use super::context::{Context, at};
use super::currents::converter_ahead;
use super::protection::distance_limits_at;
use super::resistance::{fuse_distance_m, fuse_path, fuses};

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
    /// Behind the largest, over all ways, of the smallest fuse on the way.
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
pub(super) type Caps = [[Option<f64>; 2]];

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

/// Batteries on ways of their own feed a fault side by side: what lies ahead of where they meet is all their fuses
/// together; none where one of them has none.
///
/// Source: Kirchhoff's current law: each opens at its own rating only.
pub(super) fn side_by_side(c: &Context<'_>, near: bool) -> Figure<Option<Ahead>> {
    let (mut sum, mut names) = (0.0, Vec::new());
    for way in &c.circuit.own_ways {
        let mut least: Option<(f64, String)> = None;
        for (amps, name) in way.iter().flat_map(|i| on_run(c, *i, near)) {
            let amps = amps?;
            if least.as_ref().is_none_or(|l| amps < l.0) {
                least = Some((amps, name));
            }
        }
        let Some((amps, name)) = least else { return Ok(None) };
        sum += amps;
        names.push(name);
    }
    Ok(Some(Ahead { amps: sum, name: format!("{} together", names.join(", ")) }))
}

/// What limits a way so far.
#[derive(Clone)]
struct Way {
    amps: f64,
    by: By,
    /// A rating on it that nobody has entered.
    waits: Option<Missing>,
}

#[derive(Clone, Copy)]
enum By {
    Nothing,
    Fuse(usize),
    Breaker(Node),
    Leads,
}

impl Way {
    fn limited(mut self, amps: Figure<f64>, by: By) -> Self {
        match amps {
            Ok(amps) if amps < self.amps => (self.amps, self.by) = (amps, by),
            Ok(_) => {}
            Err(waits) => self.waits = self.waits.or(Some(waits)),
        }
        self
    }

    fn is_wider(&self, than: &Self) -> bool {
        self.amps > than.amps || (self.amps >= than.amps && self.waits.is_none() && than.waits.is_some())
    }
}

/// What can come into the `from` or the `to` end of a run with the run itself open. Each of `caps` is taken as one more fuse at
/// that end of its run.
///
/// Source: a conductor is protected where it receives its supply, from each source of its own: NEC 240.21, 33 CFR 183.455. Of
/// the ways the widest counts, and of its fuses the smallest: it is the one that opens.
pub(super) fn comes_in(c: &Context<'_>, run: usize, at_from: bool, caps: Option<&Caps>) -> Figure<Comes> {
    let Some(link) = c.circuit.links.get(run) else { return Ok(Comes::Nothing) };
    let Some(end) = (if at_from { link.from } else { link.to }) else { return Ok(Comes::Nothing) };
    let converter = converter_ahead(c, run).map(|(device, _)| Node::Device(device));
    let converts = |n: Node| device_kind(c.plan, n) == Some(DeviceKind::Converter);
    let is_source = |n: Node| match converter {
        Some(converter) => n == converter,
        None => n == Node::Bank || c.circuit.is_of_engine(n),
    };
    let inside = c.circuit.own_way_of(run).is_some();
    let mut best: Vec<Option<Way>> = vec![None; c.circuit.places()];
    let mut widest: Option<Way> = None;
    let begin = Way { amps: f64::INFINITY, by: By::Nothing, waits: None };
    let mut queue = VecDeque::from([(end, at_breaker(c, end, begin))]);
    while let Some((node, way)) = queue.pop_front() {
        let Some(slot) = best.get_mut(c.circuit.slot(node)) else { continue };
        if slot.as_ref().is_some_and(|had| !way.is_wider(had)) {
            continue;
        }
        *slot = Some(way.clone());
        if is_source(node) {
            if widest.as_ref().is_none_or(|w| way.is_wider(w)) {
                widest = Some(way);
            }
            continue;
        }
        if node != end && (converts(node) || c.circuit.is_end(node)) {
            continue;
        }
        for &i in c.circuit.at(node).iter().filter(|i| **i != run) {
            let Some((other, over)) =
                c.circuit.links.get(i).filter(|l| super::circuit::on_bank_side(l.role)).and_then(|l| {
                    let other = c.circuit.other(i, node)?;
                    Some((other, usize::from(l.from != Some(other))))
                })
            else {
                continue;
            };
            let lead = !inside && c.circuit.own_way_of(i).is_some();
            let mut next = if lead { over_leads(c, way.clone()) } else { over_fuses(c, i, way.clone()) };
            if let Some(cap) = caps.and_then(|all| all.get(i)?.get(over).copied().flatten()) {
                next = next.limited(Ok(cap), By::Fuse(i));
            }
            queue.push_back((other, if lead { next } else { at_breaker(c, other, next) }));
        }
    }
    told(c, widest)
}

fn told(c: &Context<'_>, widest: Option<Way>) -> Figure<Comes> {
    let Some(way) = widest else { return Ok(Comes::Nothing) };
    if let Some(waits) = way.waits {
        return Err(waits);
    }
    let name = match way.by {
        By::Nothing => return Ok(Comes::Free),
        By::Breaker(node) => breaker_name(c, Some(node)),
        By::Leads => side_by_side(c, true)?.map_or_else(String::new, |all| all.name),
        By::Fuse(i) => {
            let run = c.plan.runs.get(i);
            let known = run.into_iter().flat_map(fuses).filter_map(|f| Some((f.amps_a.known()?.0, f)));
            let least = known.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, f)| f.id.as_str()).unwrap_or_default();
            format!("fuse {least} of {}", run.map_or("", |r| r.id.as_str()))
        }
    };
    Ok(Comes::Behind(Ahead { amps: way.amps, name }))
}

fn at_breaker(c: &Context<'_>, node: Node, way: Way) -> Way {
    match breaker_a(c, Some(node)) {
        Some(amps) => way.limited(amps, By::Breaker(node)),
        None => way,
    }
}

fn over_fuses(c: &Context<'_>, i: usize, way: Way) -> Way {
    let Some(run) = c.plan.runs.get(i) else { return way };
    fuses(run)
        .fold(way, |way, fuse| way.limited(fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a")).map(|a| a.0), By::Fuse(i)))
}

fn over_leads(c: &Context<'_>, way: Way) -> Way {
    match side_by_side(c, true) {
        Ok(Some(all)) => way.limited(Ok(all.amps), By::Leads),
        Ok(None) => way,
        Err(waits) => way.limited(Err(waits), By::Leads),
    }
}

/// Whether a fuse of a run sits near enough to one of its ends to protect it from there.
pub(super) fn is_fused_at(c: &Context<'_>, run: usize, at_from: bool) -> bool {
    let (Some(own), Some(link)) = (c.plan.runs.get(run), c.circuit.links.get(run)) else { return false };
    let (_, most_m) = distance_limits_at(c, own, if at_from { link.from } else { link.to });
    fuses(own).any(|f| fuse_distance_m(own, at_from, f).is_ok_and(|m| m <= most_m + 1e-6))
}

/// The end at which a run on loops gets a fuse: the first from the bank where more comes in than its wire may carry and no fuse
/// sits; else the first where more does.
pub(super) fn wanting_from(c: &Context<'_>, run: usize, most_a: f64) -> Option<bool> {
    let near = c.circuit.links.get(run)?.near_from;
    let over = |from: &bool| comes_in(c, run, *from, None).is_ok_and(|comes| comes.is_over(most_a));
    let ends = [near, !near];
    ends.into_iter().find(|from| !is_fused_at(c, run, *from) && over(from)).or_else(|| ends.into_iter().find(over))
}
