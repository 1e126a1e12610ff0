//! What hangs on one battery's own way, of several in parallel, before the place where all meet.

use crate::plan::{Figure, Missing};

use super::circuit::Node;
use super::context::Context;
use super::currents::{Pair, RunCurrents, Terminals, bank_side};
use super::leads::Leads;

/// The same where something hangs on one battery's way before all meet: that comes from its own battery first, and over the
/// rest of its way, against what flows there else, from the others. As long as ohms are not known all of it is taken to come
/// from its own.
pub(super) fn with(
    c: &Context<'_>,
    t: &Terminals,
    index: usize,
    (leads, share, how): (Option<&Leads>, f64, &'static str),
    found: RunCurrents,
) -> RunCurrents {
    let circuit = &c.circuit;
    let Some(link) = circuit.links.get(index) else { return found };
    let aside = |n: &Node| circuit.asides.iter().any(|a| a.things.contains(n));
    let main: Vec<Node> = link.away.iter().copied().filter(|n| !aside(n)).collect();
    let loops = circuit.own_loops();
    let own = loops.iter().position(|way| way.contains(&index)).unwrap_or(0);
    let mut push = Parts::of(c, t, index, &main, true).times(share);
    let mut draw = Parts::of(c, t, index, &main, false).times(share);
    // At the working point, what flows the other way than over any path.
    let mut against_a: [Figure<f64>; 2] = [Ok(0.0), Ok(0.0)];
    for a in &circuit.asides {
        let runs = circuit.own_ways.get(a.way).map_or(&[][..], Vec::as_slice);
        // Its own negative is on the battery's side of the place.
        let is_ahead = |i: &usize| runs.iter().position(|r| r == i).is_none_or(|k| k < a.after);
        let ahead: Vec<usize> = loops.get(a.way).into_iter().flatten().copied().filter(is_ahead).collect();
        let part = match leads {
            Some(leads) => leads.aside(a.way, &ahead, own),
            None => 1.0,
        };
        let [pushed, drawn] = [true, false].map(|sources| Parts::of(c, t, index, &a.things, sources));
        let against = own == a.way && !ahead.contains(&index);
        if against {
            // What the others bring to it flows toward the battery here.
            let others = leads.map_or(1.0, |leads| 1.0 - leads.aside(a.way, &ahead, a.way));
            let [pushed, drawn] = [pushed.times(others), drawn.times(others)];
            push.design_a = plus(&push.design_a, &drawn.design_a);
            draw.design_a = plus(&draw.design_a, &pushed.design_a);
            against_a = [plus(&against_a[0], &drawn.drop_a), plus(&against_a[1], &pushed.drop_a)];
        } else {
            push = push.and(&pushed.times(part));
            draw = draw.and(&drawn.times(part));
        }
    }
    let larger = |a: &Figure<f64>, b: &Figure<f64>| Ok::<f64, Missing>(a.clone()?.max(b.clone()?));
    let pair = Pair {
        design_a: larger(&push.design_a, &draw.design_a),
        drop_a: larger(&plus(&push.drop_a, &against_a[0]), &plus(&draw.drop_a, &against_a[1])),
        how,
        drop_how: how,
    };
    let Parts { chargers_a, solar_a, .. } = push;
    RunCurrents { pair, chargers_a, solar_a, draw_a: draw.drop_a, back: found.back, sure: None }
}

fn plus(a: &Figure<f64>, b: &Figure<f64>) -> Figure<f64> {
    Ok(a.clone()? + b.clone()?)
}

/// What the sources among some things push, or the others draw.
struct Parts {
    design_a: Figure<f64>,
    drop_a: Figure<f64>,
    chargers_a: [Figure<f64>; 3],
    solar_a: Figure<f64>,
}

impl Parts {
    fn of(c: &Context<'_>, t: &Terminals, index: usize, things: &[Node], sources: bool) -> Self {
        let is = |n: &Node| matches!(n, Node::Controller(_) | Node::Charger(_));
        let some: Vec<Node> = things.iter().copied().filter(|n| is(n) == sources).collect();
        let RunCurrents { pair, chargers_a, solar_a, .. } = bank_side(c, t, index, &some, true);
        Self { design_a: pair.design_a, drop_a: pair.drop_a, chargers_a, solar_a }
    }

    fn times(self, part: f64) -> Self {
        let of = |amps: Figure<f64>| amps.map(|a| a * part);
        let Self { design_a, drop_a, chargers_a, solar_a } = self;
        Self { design_a: of(design_a), drop_a: of(drop_a), chargers_a: chargers_a.map(of), solar_a: of(solar_a) }
    }

    fn and(&self, other: &Self) -> Self {
        let each = |i: usize| match (self.chargers_a.get(i), other.chargers_a.get(i)) {
            (Some(a), Some(b)) => plus(a, b),
            _ => Ok(0.0),
        };
        Self {
            design_a: plus(&self.design_a, &other.design_a),
            drop_a: plus(&self.drop_a, &other.drop_a),
            chargers_a: std::array::from_fn(each),
            solar_a: plus(&self.solar_a, &other.solar_a),
        }
    }
}
