//! A fault at a fuse of a run that lies on a loop, or behind one: it comes by all ways at once, and on a loop from either end.

use crate::engine::circuit::{Node, Role, device_kind, on_bank_side};
use crate::engine::context::{Context, finite};
use crate::engine::inflow::{is_behind_loop, is_on_loop};
use crate::physics::net::ohm_between;
use crate::plan::{DeviceKind, FieldPath, Figure, Protection, Run};

use super::cold::frame;
use super::joined::larger;
use super::{Back, Fault, Over, Source, known_or_none, own_ohm};

/// The most that the bank drives through a fuse from an end of its run, the run itself open there; none where it lies on no loop
/// nor behind one. What comes back by the negatives that lie beside each run counts with it, and no other.
///
/// Source: Kirchhoff's laws.
pub(super) fn most(
    c: &Context<'_>,
    source: &Figure<Source>,
    (index, run, fuse): (usize, &Run, &Protection),
    over: Over,
) -> Option<Figure<Fault>> {
    let on_loop = is_on_loop(c, index);
    if !on_loop && !is_behind_loop(c, index) {
        return None;
    }
    let link = c.circuit.links.get(index)?;
    let back = match over.frame {
        true => frame(c).transpose()?,
        false => Ok(Back::Negatives),
    };
    let from_end = |from: bool| -> Option<Figure<Fault>> {
        let end = if from { link.from } else { link.to }?;
        let through = || {
            let (back, source) = (back.clone()?, source.clone()?);
            let Some(ahead) = ahead_ohm(c, back, end, index, over)? else { return Ok(None) };
            let own = known_or_none(own_ohm(c, run, fuse, from, over.frame), over.unknown_is_none)?;
            let ohm = source.ohm() + own + back.beside_ohm() + ahead;
            let amps = finite(source.volts / ohm, || FieldPath::new("bank.unit_v"))?;
            Ok(Some(Fault { amps, margin: source.margin }))
        };
        through().transpose()
    };
    let ends = [true, false].into_iter().filter(|from| on_loop || *from == link.near_from);
    ends.filter_map(from_end).reduce(|a, b| Ok(larger(a?, Some(b?))))
}

/// Cold ohms from the bank to a place by all ways together, one run left out; none where none leads there.
fn ahead_ohm(c: &Context<'_>, back: Back, end: Node, but: usize, over: Over) -> Figure<Option<f64>> {
    // Numbers in the order in which places are met.
    let (mut numbers, mut count) = (vec![None; c.circuit.places()], 0);
    let mut place_of = |node: Node| {
        let Some(number) = numbers.get_mut(c.circuit.slot(node)) else { return 0 };
        *number.get_or_insert_with(|| {
            count += 1;
            count - 1
        })
    };
    place_of(Node::Bank);
    let end_place = place_of(end);
    // What a converter gives on is its own, whatever drives it.
    let converts = |node: Node| node != end && device_kind(c.plan, node) == Some(DeviceKind::Converter);
    let mut conductors = Vec::new();
    for (i, link) in c.circuit.links.iter().enumerate() {
        let (Some(from), Some(to)) = (link.from, link.to) else { continue };
        let carries = i != but && from != to && on_bank_side(link.role) && link.role != Role::Sense;
        if !carries || converts(from) || converts(to) {
            continue;
        }
        conductors.push((i, place_of(from), place_of(to)));
    }
    let upstream = c.circuit.links.get(but).map_or(&[][..], |l| l.upstream.as_slice());
    let is_ahead = |i: usize| upstream.contains(&i) || c.circuit.links.get(i).is_some_and(|l| l.looped);
    let mut all = Vec::with_capacity(conductors.len());
    for (i, from, to) in conductors {
        let ohm = known_or_none(back.ohm_of(c, i), over.unknown_is_none);
        match ohm {
            Ok(ohm) => all.push((from, to, ohm)),
            // A branch that nothing comes by need not be known.
            Err(missing) if is_ahead(i) => return Err(missing),
            Err(_) => all.push((from, to, 0.0)),
        }
    }
    Ok(ohm_between(count, &all, end_place, 0))
}
