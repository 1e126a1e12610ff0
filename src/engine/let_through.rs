//! What fuses let through: out to a place, and back by a negative that is drawn by itself.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Figure, Run};

use super::capacity::of_run;
use super::circuit::{Link, Node, PathKind, Role, device_kind};
use super::context::Context;
use super::converted;
use super::protection::{Limits, limits};
use super::resistance::{fuse_path, fuses};

/// Amps, and the fuses that decide them.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Through {
    pub(super) amps: f64,
    /// `F1 of W6`, one each; a converter where that is what gives no more.
    pub(super) by: Vec<String>,
    /// What converters give at most, where that decides: wire of so much ampacity carries it for as long as it likes.
    pub(super) given_a: f64,
}

impl Through {
    /// Whether what allows so much bears it: of several fuses together a fiftieth more, as where one of a few amps stands beside a main one.
    /// Source: our own choice, well below the tenth more that a single fuse carries for 100 h (ISO 8820-3, operating time; from memory).
    pub(super) fn is_within(&self, most_a: f64, ampacity_a: f64) -> bool {
        self.amps <= most_a * if self.by.len() > 1 { 1.02 } else { 1.0 } + 1e-9 || self.given_a <= ampacity_a + 1e-9
    }

    /// Whether it is a converter that limits it, no fuse.
    pub(super) fn is_given(&self) -> bool {
        !self.by.iter().any(|by| by.contains(" of "))
    }

    pub(super) fn plus(mut self, other: Self) -> Self {
        self.amps += other.amps;
        self.by.extend(other.by);
        self.given_a = f64::INFINITY;
        self
    }
}

pub(super) fn less(a: Option<Through>, b: Option<Through>) -> Option<Through> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.amps < a.amps { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// The smallest fuse of a run whose rating is known.
fn of_fuses(c: &Context<'_>, run: usize) -> Option<Through> {
    let run = c.plan.runs.get(run)?;
    let known = fuses(run).filter_map(|p| Some((p.amps_a.known()?.0, format!("{} of {}", p.id, run.id))));
    known.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(amps, by)| Through { amps, by: vec![by], given_a: f64::INFINITY })
}

/// What these runs let through is known where every fuse on them has a rating: else the first that has none.
pub(super) fn all_rated(c: &Context<'_>, runs: &[usize]) -> Figure<()> {
    for run in runs.iter().filter_map(|i| c.plan.runs.get(*i)) {
        for fuse in fuses(run) {
            fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a"))?;
        }
    }
    Ok(())
}

/// What a run lets through; of batteries in parallel with leads of their own, what the leads of all do.
pub(super) fn over_run(c: &Context<'_>, run: usize) -> Option<Through> {
    if c.circuit.own_way_of(run).is_none() {
        return of_fuses(c, run);
    }
    let each = c.circuit.own_ways.iter().map(|way| way.iter().map(|i| of_fuses(c, *i)).fold(None, less));
    each.reduce(|a, b| Some(a?.plus(b?))).flatten()
}

/// Where it is the own fuses of batteries in parallel that let so much through together: the most that one battery's does.
pub(super) fn most_of_one(c: &Context<'_>, through: &Through) -> Option<f64> {
    let own = &c.circuit.own_ways;
    let together = over_run(c, *own.first()?.first()?)?;
    let each = || own.iter().filter_map(|way| way.iter().map(|i| of_fuses(c, *i)).fold(None, less));
    (own.len() > 1 && together.by == through.by).then(|| each().map(|one| one.amps).fold(0.0, f64::max))
}

/// What some ways let out together, each a row of runs from the bank outward: every fuse caps what hangs on it. None where
/// something hangs on no fuse.
fn together(c: &Context<'_>, ways: &[&[usize]]) -> Option<Through> {
    let mut firsts: Vec<usize> = Vec::new();
    for way in ways {
        let first = *way.first()?;
        // Own leads of batteries in parallel are one.
        let same =
            |i: &usize| *i == first || (c.circuit.own_way_of(*i).is_some() && c.circuit.own_way_of(first).is_some());
        if !firsts.iter().any(same) {
            firsts.push(first);
        }
    }
    let mut all: Option<Through> = None;
    for first in firsts {
        let of_lead = c.circuit.own_way_of(first).is_some();
        let on = |way: &&&[usize]| {
            way.first().is_some_and(|i| *i == first || (of_lead && c.circuit.own_way_of(*i).is_some()))
        };
        let rests: Vec<&[usize]> = ways.iter().filter(on).filter_map(|way| way.get(1..)).collect();
        let own = less(over_run(c, first), together(c, &rests))?;
        all = Some(match all {
            Some(sum) => sum.plus(own),
            None => own,
        });
    }
    all
}

/// What comes back by a negative that is drawn by itself, or over the chassis by a bond: all that goes out past the fuses of what hangs on it, or as much
/// as they let through at a fault at a place whose negative it is. Of one battery's own, what the fuse of its positive lets
/// through. Behind a converter what the fuses there do, and no more than it gives. None where something hangs on no fuse.
pub(super) fn back(c: &Context<'_>, index: usize) -> Figure<Option<Through>> {
    back_of(c, index, true)
}

/// The same of what things draw alone: what a device that stands in the way carries for as long as it likes. A fault at a bar
/// ahead of all fuses but the battery's own would come over what stands in the positive just as well, which is not held to it either.
pub(super) fn back_of_things(c: &Context<'_>, index: usize) -> Figure<Option<Through>> {
    back_of(c, index, false)
}

fn back_of(c: &Context<'_>, index: usize, faults: bool) -> Figure<Option<Through>> {
    let circuit = &c.circuit;
    let Some(link) = circuit.links.get(index).filter(|l| matches!(l.role, Role::NegativeMain | Role::Bond)) else {
        return Ok(None);
    };
    if let Some(battery) = circuit.own_backs.iter().position(|way| way.contains(&index)) {
        let Some(own) = circuit.own_ways.get(battery) else { return Ok(None) };
        all_rated(c, own)?;
        return Ok(own.iter().map(|i| of_fuses(c, *i)).fold(None, less));
    }
    // On a start battery's side, what the fuses of all let through that comes back by it.
    let of_start: Vec<Vec<usize>> = circuit.ways_of_start(index).map(|way| way.positives(circuit).collect()).collect();
    if !of_start.is_empty() {
        of_start.iter().try_for_each(|runs| all_rated(c, runs))?;
        return Ok(together(c, &of_start.iter().map(Vec::as_slice).collect::<Vec<_>>()));
    }
    if let Some(over) = circuit.over_frame.get(index).and_then(Option::as_ref) {
        let things: Vec<Node> = over.back.iter().map(|(n, _)| *n).collect();
        let by_it = |place: Node| circuit.way_back(place).is_some_and(|runs| runs.contains(&index));
        let mut most = past_fuses(c, &things, (link.role == Role::Bond, faults), &by_it)?;
        // A fault of a vehicle's line to the house's negative goes home by the bond, past that line's fuses.
        for charger in &over.inputs {
            let Some(line) = circuit.way_of(PathKind::ChargerInput, Node::Charger(*charger)) else { continue };
            all_rated(c, &line.runs)?;
            if let Some(own) = line.runs.iter().map(|i| of_fuses(c, *i)).fold(None, less)
                && (most.is_some() || things.is_empty())
            {
                most = Some(most.map_or(own.clone(), |most| more(most, own)));
            }
        }
        return Ok(most);
    }
    // On loops the most of what it may be left with.
    let mut most: Option<Through> = None;
    let by_it = |place: Node| circuit.way_back(place).is_some_and(|runs| runs.contains(&index));
    for things in link.left_with.iter().chain(link.left_with.is_empty().then_some(&link.away)) {
        let own: Vec<Node> = things.iter().copied().filter(|n| faults || draws(c, *n)).collect();
        let Some(own) = past_fuses(c, &own, (link.role == Role::Bond, faults), &by_it)? else { return Ok(None) };
        most = Some(match most {
            Some(most) => more(most, own),
            None => own,
        });
    }
    Ok(most)
}

/// The most that fuses ahead let into a fault at a place of plus, all that hangs behind which comes back by a negative: the fault does so
/// as well, past the fuses ahead of the place alone. That place parts, or the negative is the post's own; with it its node.
pub(super) fn at_bars(c: &Context<'_>, index: usize, carries_a: f64) -> Figure<Option<(Through, Node)>> {
    let circuit = &c.circuit;
    let Some(link) = circuit.links.get(index).filter(|l| l.role == Role::NegativeMain) else { return Ok(None) };
    let rated = |run: &Run| fuses(run).filter_map(|f| f.amps_a.known()).any(|a| a.0 > carries_a + 1e-9);
    let is_of_frame = circuit.over_frame.get(index).is_some_and(Option::is_some);
    let is_own =
        circuit.own_backs.iter().any(|way| way.contains(&index)) || circuit.ways_of_start(index).next().is_some();
    if is_of_frame || is_own || circuit.converter_before(index).is_some() || !c.plan.runs.iter().any(rated) {
        return Ok(None);
    }
    let at_post = [link.from, link.to].contains(&Some(Node::BankMinus));
    let ways: Vec<(Node, Vec<usize>)> = (circuit.ways.iter())
        .filter(|way| way.kind != PathKind::ChargerInput)
        .map(|way| (way.end, way.positives(circuit).collect()))
        .collect();
    // A converter comes back where its own minus does.
    let by_it = |n: Node| circuit.way_back(n).is_some_and(|runs| runs.contains(&index));
    let comes = |end: &Node, things: &[Node]| match end {
        Node::Device(_) => by_it(*end),
        _ => things.contains(end),
    };
    let mut most: Option<(Through, Node)> = None;
    for things in link.left_with.iter().chain(link.left_with.is_empty().then_some(&link.away)) {
        for (_, runs) in ways.iter().filter(|(end, _)| things.contains(end)) {
            let own = up_to_converter(c, runs);
            for (n, last) in own.iter().enumerate() {
                let mut beside = ways.iter().filter(|(_, others)| others.contains(last));
                let next = runs.get(n + 1);
                let parts = at_post || beside.clone().any(|(_, others)| others.get(n + 1) != next);
                let place = circuit.links.get(*last).and_then(Link::far).filter(|n| matches!(n, Node::Device(_)));
                // What a panel holds lies behind its cover, and its branches have fuses of their own.
                let place = place.filter(|n| device_kind(c.plan, *n) != Some(DeviceKind::FusePanel));
                let (Some(place), true) = (place, parts && beside.all(|(end, _)| comes(end, things))) else {
                    continue;
                };
                let ahead = own.get(..=n).unwrap_or_default();
                all_rated(c, ahead)?;
                let Some(lets) = ahead.iter().map(|i| over_run(c, *i)).fold(None, less) else { continue };
                if most.as_ref().is_none_or(|(most, _)| lets.amps > most.amps) {
                    most = Some((lets, place));
                }
            }
        }
    }
    Ok(most)
}

/// What a finding of so many amps on a negative goes by.
pub(super) fn told(c: &Context<'_>, index: usize, amps: f64) -> Option<Through> {
    let at_bars = || at_bars(c, index, 0.0).ok().flatten().map(|(through, _)| through);
    let is = |through: &Through| (through.amps - amps).abs() < 1e-6;
    let back = back(c, index).ok().flatten();
    if back.as_ref().is_some_and(is) { back } else { at_bars().filter(is).or(back) }
}

/// What loads and inverters draw back over a shunt or a bar of negatives, by whichever of those: of pairs, drawn by themselves, or the own
/// of batteries. A source gives no more than it can, which is held to what flows.
pub(super) fn over_negatives(c: &Context<'_>, place: Node) -> Figure<Option<Through>> {
    let things = c.circuit.coming_over(c.plan, place);
    let draws: Vec<Node> = things.iter().copied().filter(|n| draws(c, *n)).collect();
    past_fuses(c, &draws, (false, false), &|n| n == place || c.circuit.places_home(n).contains(&place))
}

fn draws(c: &Context<'_>, thing: Node) -> bool {
    !matches!(thing, Node::Controller(_) | Node::Charger(_) | Node::Device(_)) || c.circuit.is_fed_by_bank(thing)
}

/// A way from the bank outward as far as the first converter: what comes back of all behind that comes past its feed.
fn up_to_converter<'a>(c: &Context<'_>, runs: &'a [usize]) -> &'a [usize] {
    let feeds = |i: &usize| c.circuit.at_converter(*i).is_some_and(|(_, feeds)| feeds);
    runs.iter().position(feeds).map_or(runs, |at| runs.get(..=at).unwrap_or_default())
}

/// Ways of what comes back over a negative, all on one side of converters: of what draws and of what pushes.
#[derive(Default)]
struct Side {
    draws: Vec<Vec<usize>>,
    pushes: Vec<Vec<usize>>,
}

impl Side {
    fn all(&self) -> impl Iterator<Item = &Vec<usize>> {
        self.draws.iter().chain(&self.pushes)
    }

    /// What the fuses on them let through. What hangs on none is told of elsewhere.
    fn most(&self, c: &Context<'_>) -> Option<Through> {
        let of = |ways: &[Vec<usize>]| together(c, &ways.iter().map(Vec::as_slice).collect::<Vec<_>>());
        match (self.draws.is_empty(), self.pushes.is_empty()) {
            (true, true) => None,
            (false, true) => of(&self.draws),
            (true, false) => of(&self.pushes),
            (false, false) => of(&self.draws).and_then(|out| Some(more(out, of(&self.pushes)?))),
        }
    }
}

/// Of a way from the bank outward the part whose current a negative brings back, and the run that leads from the converter ahead of it:
/// where the converter's own minus comes back over it too, what goes in, else what comes out.
fn part_of<'a>(c: &Context<'_>, runs: &'a [usize], comes: &dyn Fn(Node) -> bool) -> (&'a [usize], Option<usize>) {
    let ahead = up_to_converter(c, runs);
    let behind = runs.get(ahead.len()..).unwrap_or_default();
    let converter = ahead.last().and_then(|feed| c.circuit.converter_fed(c.plan, *feed));
    match (converter, behind.first()) {
        (Some(converter), Some(first)) if !comes(converter) => (behind, Some(*first)),
        _ => (ahead, None),
    }
}

/// No more than converters give over the runs that lead from them. Where these have no fuse, several behind them that let less through
/// say nothing of wire that carries all that is given.
/// Source: common practice, a converter limits its output: wire that carries that wants no fuse.
fn as_given(c: &Context<'_>, through: Option<Through>, outputs: &[usize]) -> Figure<Option<Through>> {
    let mut given = Ok(Through { amps: 0.0, by: Vec::new(), given_a: 0.0 });
    for gives in outputs.iter().filter_map(|run| converted::gives(c, *run, None)) {
        given = given.and_then(|mut sum| {
            let gives = gives?;
            if !sum.by.iter().any(|by| by == gives.name) {
                sum.amps += gives.amps;
                sum.by.push(gives.name.to_string());
            }
            Ok(Through { given_a: sum.amps, ..sum })
        });
    }
    Ok(Some(match (through, given) {
        (through, Ok(given)) if given.by.is_empty() => return Ok(through),
        (Some(fuses), Err(_)) => fuses,
        (Some(fuses), Ok(given)) if fuses.amps <= given.amps => {
            let is_bare = fuses.by.len() > 1 && outputs.iter().all(|run| of_fuses(c, *run).is_none());
            Through { given_a: if is_bare { given.amps } else { f64::INFINITY }, ..fuses }
        }
        (_, given) => given?,
    }))
}

/// What comes back of some things, over a bond or not, and at a fault at each place whose current comes back the same way.
fn past_fuses(
    c: &Context<'_>,
    things: &[Node],
    (is_bond, faults): (bool, bool),
    comes: &dyn Fn(Node) -> bool,
) -> Figure<Option<Through>> {
    let circuit = &c.circuit;
    let (mut ahead, mut behind, mut outputs) = (Side::default(), Side::default(), Vec::new());
    // By a converter's own minus what it gives flows out again, where what hangs there has its minus on another way.
    let (mut out, mut out_by) = (Side::default(), Vec::new());
    for thing in things {
        let way = circuit.ways.iter().find(|way| way.end == *thing && way.kind != PathKind::ChargerInput);
        let straight =
            || circuit.straight.iter().find(|(i, _)| Node::Device(*i) == *thing).map(|(_, runs)| runs.clone());
        let runs = match circuit.beyond(*thing) {
            // What stands behind a converter gives nothing that comes back ahead of it.
            Some(converter) if is_bond || comes(Node::Device(converter)) => continue,
            Some(_) => Some(circuit.plus_way(*thing, usize::MAX)),
            None => way.map(|way| way.positives(circuit).collect()).or_else(straight),
        };
        let Some(mut runs) = runs else { return Ok(None) };
        let (own, output) = part_of(c, &runs, comes);
        all_rated(c, own)?;
        let kept = own.len();
        let feed = own.last().filter(|_| output.is_none() && kept < runs.len());
        if feed.and_then(|feed| circuit.converter_fed(c.plan, *feed)).is_some() && !comes(circuit.hangs_on(*thing)) {
            let given = runs.get(kept..).unwrap_or_default().to_vec();
            all_rated(c, &given)?;
            out_by.extend(given.first());
            out.draws.push(given);
        }
        match output {
            Some(_) => drop(runs.drain(..runs.len() - kept)),
            None => runs.truncate(kept),
        }
        outputs.extend(output);
        let side = if output.is_some() { &mut behind } else { &mut ahead };
        if matches!(thing, Node::Controller(_) | Node::Charger(_) | Node::Device(_)) {
            runs.reverse();
            side.pushes.push(runs);
        } else {
            side.draws.push(runs);
        }
    }
    let Some(mut most) = flows(c, (&ahead, &behind), &outputs)? else { return Ok(None) };
    if let (false, Some(given)) = (out_by.is_empty(), as_given(c, out.most(c), &out_by)?) {
        most = more(most, given);
    }
    let at_fault = |way: &[usize], output: Option<usize>| {
        let least = way.iter().map(|i| over_run(c, *i)).fold(None, less);
        if output.is_some() { as_given(c, least, output.as_slice()) } else { Ok(least) }
    };
    for place in (0..c.plan.devices.len()).map(Node::Device) {
        if !faults || circuit.negatives_at(place).next().is_none() || !comes(place) {
            continue;
        }
        let way = circuit.plus_way(place, usize::MAX);
        let (way, output) = part_of(c, &way, comes);
        all_rated(c, way)?;
        if let Some(at_fault) = at_fault(way, output)? {
            most = more(most, at_fault);
        }
    }
    // What hangs on a run that has its negative in the frame comes back by the bond, as does a fault at its end.
    let chassis = |i: &usize| c.plan.runs.get(*i).is_some_and(|r| r.return_path == Return::Chassis);
    for way in ahead.all().chain(behind.all()).filter(|_| is_bond) {
        let Some(last) = way.iter().rposition(chassis) else { continue };
        let output = way.first().copied().filter(|i| outputs.contains(i));
        if let Some(at_fault) = at_fault(way.get(..=last).unwrap_or_default(), output)? {
            most = more(most, at_fault);
        }
    }
    Ok(Some(most))
}

/// What the fuses on both sides of converters let through together, of what is given by these no more than that.
fn flows(c: &Context<'_>, (ahead, behind): (&Side, &Side), outputs: &[usize]) -> Figure<Option<Through>> {
    if outputs.is_empty() {
        return Ok(ahead.most(c));
    }
    let given = as_given(c, behind.most(c), outputs)?;
    if ahead.all().next().is_none() {
        return Ok(given);
    }
    Ok(ahead.most(c).and_then(|own| Some(own.plus(given?))))
}

/// The larger; wire that carries what is given is enough where it is for both.
fn more(a: Through, b: Through) -> Through {
    let given_a = a.given_a.max(b.given_a);
    Through { given_a, ..if b.amps > a.amps { b } else { a } }
}

/// What a negative allows that brings back what fuses let through, with those that lie beside it between the same places: they
/// share it.
pub(super) fn allowed(c: &Context<'_>, index: usize, run: &Run, ampacity_a: f64) -> Figure<Limits> {
    let mut all = limits(c, index, run, ampacity_a, 0.0)?;
    let own = c.circuit.links.get(index).map(|l| (l.from, l.to));
    let is_lead = c.circuit.is_lead(index);
    for (j, link) in c.circuit.links.iter().enumerate().filter(|(j, l)| *j != index && l.role == Role::NegativeMain) {
        let ends = [Some((link.from, link.to)), Some((link.to, link.from))];
        let (true, Some(beside)) = (!is_lead && ends.contains(&own), c.plan.runs.get(j)) else { continue };
        let more = limits(c, j, beside, of_run(c, j, beside)?.weakest.amps, 0.0)?;
        all.strict_a += more.strict_a;
        all.most_a += more.most_a;
        all.ampacity_a += more.ampacity_a;
    }
    Ok(all)
}
