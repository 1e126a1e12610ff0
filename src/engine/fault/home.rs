//! The negatives that a fault comes back by, from its place to the bank's post.

use crate::engine::circuit::{Node, Piece, Role, is_thing};
use crate::engine::context::Context;
use crate::engine::resistance::length_m;
use crate::physics::net::ohm_between;
use crate::plan::{Figure, Run};

use super::{Back, cold, known_or_none};

/// What a fault where a run begins comes back by. Of a pair the negative that it left is at hand. Of a positive drawn by
/// itself it is that of what it feeds, and no more of it than its positive is long: which piece of it lies there nobody has
/// drawn. At the bank's own post it is the post. `leads_apart`: negatives of single batteries are counted with those.
///
/// Source: Ohm's law; that the nearest negative counts, our own choice.
pub(super) fn negatives(c: &Context<'_>, index: usize, leads_apart: bool, unknown_is_none: bool) -> Figure<Back> {
    let Some(link) = c.circuit.links.get(index) else { return Ok(Back::Negatives) };
    if link.near() == Some(Node::Bank) {
        return Ok(Back::Home(0.0));
    }
    let way = Way { c, leads_apart, unknown_is_none };
    let pair = c.circuit.negative_of(index).filter(|_| link.role != Role::NegativeMain);
    let own = pair.map(|(from, to)| if link.near_from { from } else { to });
    if let Some(pieces) = own.and_then(|n| c.circuit.fault_home(n)) {
        return Ok(Back::Home(way.ohm(pieces, f64::MAX)?));
    }
    let mut ahead_m = 0.0;
    for i in link.upstream.iter().filter(|i| !(leads_apart && c.circuit.is_lead(**i))) {
        ahead_m += c.plan.runs.get(*i).map_or(Ok(0.0), |r| known_or_none(length_m(r), unknown_is_none))?;
    }
    let mut least: Option<f64> = None;
    let things = link.away.iter().copied().filter(|n| is_thing(*n)).map(|n| c.circuit.hangs_on(n));
    for place in things.chain(link.near().filter(|n| !is_thing(*n))) {
        let Some(pieces) = c.circuit.fault_home(place) else { continue };
        let ohm = way.ohm(pieces, ahead_m)?;
        least = Some(least.map_or(ohm, |l| l.min(ohm)));
    }
    Ok(least.map_or(Back::Negatives, Back::Home))
}

struct Way<'a> {
    c: &'a Context<'a>,
    leads_apart: bool,
    unknown_is_none: bool,
}

impl Way<'_> {
    /// Cold ohms of the negatives of a way home, its own first, those on loops all together; of so many metres from the post at
    /// most.
    ///
    /// Source: Kirchhoff's laws.
    fn ohm(&self, pieces: &[Piece], most_m: f64) -> Figure<f64> {
        let (mut sum, mut left_m) = (0.0, most_m);
        for piece in pieces.iter().rev() {
            let runs = piece.mesh.iter().filter_map(|(run, ..)| *run).chain(piece.own.iter().copied());
            if self.leads_apart && runs.into_iter().any(|i| self.c.circuit.is_lead(i)) {
                continue;
            }
            let metres = self.metres(piece)?;
            sum += (left_m / metres.max(1e-9)).clamp(0.0, 1.0) * self.piece_ohm(piece)?;
            left_m -= metres;
        }
        Ok(sum)
    }

    /// How long a piece is: its own runs in line, or the shortest of those side by side.
    fn metres(&self, piece: &Piece) -> Figure<f64> {
        let of = |i: &usize| {
            let run = self.c.plan.runs.get(*i);
            run.map_or(Ok(0.0), |r| known_or_none(negative_m(r), self.unknown_is_none))
        };
        let beside = piece.mesh.iter().filter(|(_, a, b)| [(*a, *b), (*b, *a)].contains(&piece.ends));
        let mut least = piece.own.iter().map(of).sum::<Figure<f64>>()?;
        for (run, ..) in beside {
            least = run.as_ref().map_or(Ok(least), |i| Ok(of(i)?.min(least)))?;
        }
        Ok(least)
    }

    fn piece_ohm(&self, piece: &Piece) -> Figure<f64> {
        let of = |i: usize| known_or_none(self.negative_ohm(i), self.unknown_is_none);
        if piece.mesh.is_empty() {
            return piece.own.iter().map(|i| of(*i)).sum();
        }
        let slot = |n: Node| self.c.circuit.slot(n);
        let of_joint = |(run, a, b): &(Option<usize>, Node, Node)| Ok((slot(*a), slot(*b), run.map_or(Ok(0.0), of)?));
        let all = piece.mesh.iter().map(of_joint).collect::<Figure<Vec<_>>>()?;
        let places: Vec<usize> = all.iter().flat_map(|(a, b, _)| [*a, *b]).collect();
        let place = |s: usize| places.iter().position(|p| *p == s).unwrap_or(0);
        let all: Vec<_> = all.into_iter().map(|(a, b, ohm)| (place(a), place(b), ohm)).collect();
        Ok(ohm_between(places.len(), &all, place(slot(piece.ends.0)), place(slot(piece.ends.1))).unwrap_or(0.0))
    }

    fn negative_ohm(&self, index: usize) -> Figure<f64> {
        let (out, back) = cold::poles(self.c, index)?;
        let single = self.c.circuit.links.get(index).is_some_and(|l| l.role == Role::NegativeMain);
        Ok(if single { out } else { back })
    }
}

/// Length of a run's negative.
fn negative_m(run: &Run) -> Figure<f64> {
    match run.negative_length_m.as_ref().and_then(|k| k.known()) {
        Some(m) => Ok(m.0),
        None => length_m(run),
    }
}
