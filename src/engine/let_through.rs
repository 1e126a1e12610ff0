//! What fuses let through: out to a place, and back by a negative that is drawn by itself.

use crate::plan::wiring::Return;
use crate::plan::{Figure, Run};

use super::capacity::of_run;
use super::circuit::{Node, PathKind, Role};
use super::context::Context;
use super::protection::{Limits, limits};
use super::resistance::{fuse_path, fuses};

/// Amps, and the fuses that decide them.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Through {
    pub(super) amps: f64,
    /// `F1 of W6`, one each.
    pub(super) by: Vec<String>,
}

impl Through {
    fn plus(mut self, other: Self) -> Self {
        self.amps += other.amps;
        self.by.extend(other.by);
        self
    }
}

fn less(a: Option<Through>, b: Option<Through>) -> Option<Through> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.amps < a.amps { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// The smallest fuse of a run whose rating is known.
fn of_fuses(c: &Context<'_>, run: usize) -> Option<Through> {
    let run = c.plan.runs.get(run)?;
    let known = fuses(run).filter_map(|p| Some((p.amps_a.known()?.0, format!("{} of {}", p.id, run.id))));
    known.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(amps, by)| Through { amps, by: vec![by] })
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
/// through. None where something hangs on no fuse, or behind a converter, whose own limit decides there.
pub(super) fn back(c: &Context<'_>, index: usize) -> Figure<Option<Through>> {
    let circuit = &c.circuit;
    let Some(link) = circuit.links.get(index).filter(|l| matches!(l.role, Role::NegativeMain | Role::Bond)) else {
        return Ok(None);
    };
    if let Some(battery) = circuit.own_backs.iter().position(|way| way.contains(&index)) {
        let Some(own) = circuit.own_ways.get(battery) else { return Ok(None) };
        all_rated(c, own)?;
        return Ok(own.iter().map(|i| of_fuses(c, *i)).fold(None, less));
    }
    // Of a DC-DC charger's line, what its fuses let through.
    if let Some(line) =
        circuit.line_negative(index).and_then(|i| circuit.way_of(PathKind::ChargerInput, Node::Charger(i)))
    {
        all_rated(c, &line.runs)?;
        return Ok(line.runs.iter().map(|i| of_fuses(c, *i)).fold(None, less));
    }
    if let Some(over) = circuit.over_frame.get(index).and_then(Option::as_ref) {
        let things: Vec<Node> = over.back.iter().map(|(n, _)| *n).collect();
        let by_it = |place: Node| circuit.way_back(place).is_some_and(|runs| runs.contains(&index));
        let mut most = past_fuses(c, &things, link.role == Role::Bond, &by_it)?;
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
        let Some(own) = past_fuses(c, things, link.role == Role::Bond, &by_it)? else { return Ok(None) };
        most = Some(match most {
            Some(most) => more(most, own),
            None => own,
        });
    }
    Ok(most)
}

/// What comes back over a shunt, by whichever negatives: those of pairs, drawn by themselves, or the own of batteries.
pub(super) fn over_shunt(c: &Context<'_>, shunt: Node) -> Figure<Option<Through>> {
    let over_it = |place: Node| place == shunt || c.circuit.places_home(place).contains(&shunt);
    past_fuses(c, c.circuit.coming_over(c.plan, shunt), false, &over_it)
}

/// Of a way from the bank outward the runs up to the first converter's input, as what comes back is what that takes; whether
/// the converter's own current comes back so, none where there is no converter. Nothing comes back through one: a source behind it
/// sends the bank nothing.
fn ahead_of_converter(c: &Context<'_>, way: &mut Vec<usize>, comes: &dyn Fn(Node) -> bool) -> Option<bool> {
    let input = |run: &usize| c.circuit.at_converter(*run).filter(|(_, feeds)| *feeds);
    let (at, (converter, _)) = way.iter().enumerate().find_map(|(at, run)| Some((at, input(run)?)))?;
    way.truncate(at + 1);
    Some(comes(converter))
}

/// What comes back of some things, over a bond or not, and at a fault at each place whose current comes back the same way.
fn past_fuses(
    c: &Context<'_>,
    things: &[Node],
    is_bond: bool,
    comes: &dyn Fn(Node) -> bool,
) -> Figure<Option<Through>> {
    let circuit = &c.circuit;
    let mut draws: Vec<Vec<usize>> = Vec::new();
    let mut pushes: Vec<Vec<usize>> = Vec::new();
    for thing in things {
        let way = circuit.ways.iter().find(|way| way.end == *thing && way.kind != PathKind::ChargerInput);
        let straight =
            || circuit.straight.iter().find(|(i, _)| Node::Device(*i) == *thing).map(|(_, runs)| runs.clone());
        let Some(mut runs) = way.map(|way| way.positives(circuit).collect()).or_else(straight) else { return Ok(None) };
        let gives = matches!(thing, Node::Controller(_) | Node::Charger(_) | Node::Device(_));
        match ahead_of_converter(c, &mut runs, comes) {
            Some(false) => return Ok(None),
            Some(true) if gives => continue,
            _ => {}
        }
        all_rated(c, &runs)?;
        if gives {
            runs.reverse();
            pushes.push(runs);
        } else {
            draws.push(runs);
        }
    }
    let of = |ways: &[Vec<usize>]| together(c, &ways.iter().map(Vec::as_slice).collect::<Vec<_>>());
    // What hangs on no fuse is told of elsewhere.
    let most = match (draws.is_empty(), pushes.is_empty()) {
        (true, true) => None,
        (false, true) => of(&draws),
        (true, false) => of(&pushes),
        (false, false) => of(&draws).and_then(|out| Some(more(out, of(&pushes)?))),
    };
    let Some(mut most) = most else { return Ok(None) };
    for place in (0..c.plan.devices.len()).map(Node::Device) {
        if circuit.negatives_at(place).next().is_none() || !comes(place) {
            continue;
        }
        let mut way = circuit.plus_way(place, usize::MAX);
        if ahead_of_converter(c, &mut way, comes) == Some(false) {
            continue;
        }
        all_rated(c, &way)?;
        if let Some(at_fault) = way.iter().map(|i| over_run(c, *i)).fold(None, less) {
            most = more(most, at_fault);
        }
    }
    // What hangs on a run that has its negative in the frame comes back by the bond, as does a fault at its end.
    let chassis = |i: &usize| c.plan.runs.get(*i).is_some_and(|r| r.return_path == Return::Chassis);
    let ends = draws.iter().chain(&pushes).filter(|_| is_bond);
    for way in ends {
        let Some(last) = way.iter().rposition(chassis) else { continue };
        let way = way.get(..=last).unwrap_or_default();
        if let Some(at_fault) = way.iter().map(|i| over_run(c, *i)).fold(None, less) {
            most = more(most, at_fault);
        }
    }
    Ok(Some(most))
}

fn more(a: Through, b: Through) -> Through {
    if b.amps > a.amps { b } else { a }
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
