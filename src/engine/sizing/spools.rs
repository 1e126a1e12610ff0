//! The truck's wire, spool by spool: what a conductor is cut from has its gauge and metal, insulation of at least its
//! temperature, and as much left as it is long in one piece.

use crate::arrange::Arrange;
use crate::engine::price::wire_m;
use crate::engine::resistance::legs;
use crate::plan::{Known, Leg, Run};
use crate::standards::conductor::Gauge;
use crate::standards::kinds::Metal;
use crate::stock::{Spool, Stock};
use crate::units::Metres;

use super::wire::is_new;

/// A conductor to be cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Piece {
    pub(super) gauge: Gauge,
    metal: Metal,
    /// Insulated for at least this.
    least_c: f64,
    pub(super) metres: f64,
}

impl Piece {
    /// So long a piece of a leg's wire in a gauge.
    pub(super) fn of(gauge: Gauge, leg: &Leg, metres: f64) -> Self {
        Self { gauge, metal: leg.metal, least_c: least_c(leg), metres }
    }

    /// Whether another piece is of the same gauge and metal, whatever its insulation.
    pub(super) fn is_same_wire(&self, other: &Self) -> bool {
        self.gauge == other.gauge && self.metal == other.metal
    }

    /// Whether another piece is cut from wire that this one could be cut from.
    pub(super) fn could_be(&self, other: &Self) -> bool {
        self.is_same_wire(other) && other.least_c >= self.least_c - 1e-9
    }
}

/// Insulation that a leg's wire needs at least; any where nobody has entered it.
fn least_c(leg: &Leg) -> f64 {
    leg.insulation_c.known().map_or(0.0, |c| c.0)
}

/// Whether a leg's wire may be cut from a spool, whatever is left on it.
fn suits(spool: &Spool, gauge: Gauge, metal: Metal, least_c: f64) -> bool {
    spool.gauge.known() == Some(&gauge)
        && spool.metal == metal
        && spool.insulation_c.known().is_some_and(|c| c.0 >= least_c - 1e-9)
}

/// Whether the van carries a gauge for every new leg: metal and jacket.
pub(super) fn on_van(stock: &Stock, run: &Run, gauge: Gauge) -> bool {
    let carried = |leg: &Leg| stock.truck.spools.iter().any(|s| suits(s, gauge, leg.metal, least_c(leg)));
    legs(run).filter(|l| is_new(l)).all(carried)
}

/// Metres left of a gauge on all spools that serve these legs.
pub(in crate::engine) fn left_for<'a>(stock: &Stock, mut legs: impl Iterator<Item = &'a Leg>, gauge: Gauge) -> f64 {
    let first = legs.next();
    let (metal, mut most_c) = (first.map_or(Metal::Plain, |l| l.metal), first.map_or(0.0, least_c));
    for leg in legs {
        if leg.metal != metal {
            return 0.0;
        }
        most_c = most_c.max(least_c(leg));
    }
    let spools = stock.truck.spools.iter().filter(|s| suits(s, gauge, metal, most_c));
    // A sum of nothing has a minus before its zero.
    spools.filter_map(|s| s.left_m.known()).map(|m| m.0).sum::<f64>() + 0.0
}

/// The new conductors of a run whose gauge and length are known. Legs that follow one another and are made alike are one
/// piece: nobody cuts wire where it goes from one place into the next.
pub(super) fn pieces(run: &Run) -> Vec<Piece> {
    // Each with its conductors in a pole, and how long one of the negative is.
    let mut alike: Vec<(usize, Piece, f64, f64)> = Vec::new();
    for (n, leg) in legs(run).enumerate().filter(|(_, l)| is_new(l)) {
        let gauge = leg.gauge.as_ref().unwrap_or(&run.gauge).known().copied();
        let (long, count) = (leg.length_m.known().map(|m| m.0), leg.per_pole.known().map(|n| n.0.clamp(1.0, 6.0)));
        let (Some(gauge), Some(metres), Some(count), Ok(all)) = (gauge, long, count, wire_m(run, leg)) else {
            continue;
        };
        let piece = Piece::of(gauge, leg, metres);
        let negative = all / count - metres;
        match alike.last_mut() {
            Some((last, had, each, back)) if *last + 1 == n && *each == count && Piece { metres, ..*had } == piece => {
                (*last, had.metres, *back) = (n, had.metres + metres, *back + negative);
            }
            _ => alike.push((n, piece, count, negative)),
        }
    }
    let of = |(_, piece, count, back): (usize, Piece, f64, f64)| {
        let negative = Piece { metres: back, ..piece };
        let pair = std::iter::once(piece).chain((back > 1e-9).then_some(negative));
        std::iter::repeat_n(pair, count as usize).flatten()
    };
    alike.into_iter().flat_map(of).collect()
}

/// Metres left on each spool once all pieces are cut: the highest insulation first and then the longest, each from the spool of
/// the lowest insulation that serves it, of these from the one with the least left. None where one cannot be cut.
fn cut<'a>(stock: &'a Stock, pieces: &[Piece]) -> Option<Vec<(&'a Spool, f64)>> {
    let mut spools: Vec<(&Spool, f64)> = Vec::new();
    for spool in &stock.truck.spools {
        spools.extend(spool.left_m.known().map(|m| (spool, m.0)));
    }
    let rated = |s: &Spool| s.insulation_c.known().map_or(0.0, |c| c.0);
    let mut order: Vec<&Piece> = pieces.iter().collect();
    order.arrange_by(|a, b| b.least_c.total_cmp(&a.least_c).then(b.metres.total_cmp(&a.metres)));
    let all = order.into_iter().all(|p| {
        let fits = |(s, left): &&mut (&Spool, f64)| suits(s, p.gauge, p.metal, p.least_c) && *left >= p.metres - 1e-9;
        let from = spools.iter_mut().filter(fits);
        let from = from.min_by(|a, b| rated(a.0).total_cmp(&rated(b.0)).then(a.1.total_cmp(&b.1)));
        from.map(|(_, left)| *left -= p.metres).is_some()
    });
    all.then_some(spools)
}

/// Whether all pieces can be cut from the spools.
pub(super) fn can_cut(stock: &Stock, pieces: &[Piece]) -> bool {
    cut(stock, pieces).is_some()
}

/// The truck without some pieces; as it is where they cannot be cut from its spools.
pub(super) fn without(stock: &Stock, pieces: &[Piece]) -> Stock {
    let mut less = stock.clone();
    for (spool, left) in cut(stock, pieces).unwrap_or_default() {
        let same = stock.truck.spools.iter().position(|s| std::ptr::eq(s, spool));
        if let Some(own) = same.and_then(|i| less.truck.spools.get_mut(i)) {
            own.left_m = Known::Is(Metres(left.max(0.0)));
        }
    }
    less
}
