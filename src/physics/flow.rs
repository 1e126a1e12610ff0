//! What can come over a net of ways that let so much through each, and which of them limit it.

use std::collections::VecDeque;

/// A way that lets so much through from one place to another, and nothing back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    pub from: usize,
    pub to: usize,
    pub most: f64,
}

/// Less than that is nothing.
const NOTHING: f64 = 1e-9;
/// No arc.
const NONE: usize = usize::MAX;

/// The most that comes from one of so many places to another, and the numbers of the arcs that limit it together: of all such sets
/// the one nearest to where it comes. Infinite, by none, where a way has no limit.
/// Source: Ford and Fulkerson 1956: the most that flows is what the least cut lets through; ways shortest first, Edmonds and
/// Karp 1972.
#[must_use]
pub fn most_through(places: usize, arcs: &[Arc], from: usize, to: usize) -> (f64, Vec<usize>) {
    let mut net = Net::of(places, arcs);
    let mut all = 0.0;
    if from == to {
        return (f64::INFINITY, Vec::new());
    }
    while let Some(way) = net.way(from, to) {
        let least = way.iter().map(|half| net.left(*half)).fold(f64::INFINITY, f64::min);
        if least.is_infinite() {
            return (f64::INFINITY, Vec::new());
        }
        way.iter().for_each(|half| net.take(*half, least));
        all += least;
    }
    let reaches = net.reaching(to);
    let is_in = |place: usize| reaches.get(place) == Some(&true);
    let cut = arcs.iter().enumerate().filter(|(_, arc)| is_in(arc.to) && !is_in(arc.from));
    (all, cut.map(|(k, _)| k).collect())
}

/// Whether anything comes from one place to another: whether [`most_through`] is more than nothing, for one search.
/// Source: as [`most_through`].
#[must_use]
pub fn is_through(places: usize, arcs: &[Arc], from: usize, to: usize) -> bool {
    from == to || Net::of(places, arcs).way(from, to).is_some()
}

/// Arcs with what is left of each, as halves: `2k` along arc `k`, `2k + 1` back along it.
struct Net<'a> {
    arcs: &'a [Arc],
    used: Vec<f64>,
    /// Of every place its first half, and of every half the next one of its place.
    first: Vec<usize>,
    next: Vec<usize>,
}

impl<'a> Net<'a> {
    fn of(places: usize, arcs: &'a [Arc]) -> Self {
        let (mut first, mut next) = (vec![NONE; places], vec![NONE; arcs.len() * 2]);
        for (k, arc) in arcs.iter().enumerate().rev() {
            for (half, place) in [(2 * k + 1, arc.to), (2 * k, arc.from)] {
                if let (Some(head), Some(slot)) = (first.get_mut(place), next.get_mut(half)) {
                    *slot = std::mem::replace(head, half);
                }
            }
        }
        Self { arcs, used: vec![0.0; arcs.len()], first, next }
    }

    fn halves(&self, place: usize) -> impl Iterator<Item = usize> + '_ {
        let after = |half: &usize| self.next.get(*half).copied().filter(|h| *h != NONE);
        std::iter::successors(self.first.get(place).copied().filter(|h| *h != NONE), after)
    }

    /// Where a half leads.
    fn end(&self, half: usize) -> usize {
        self.arcs.get(half / 2).map_or(NONE, |arc| if half.is_multiple_of(2) { arc.to } else { arc.from })
    }

    fn left(&self, half: usize) -> f64 {
        let (Some(arc), Some(used)) = (self.arcs.get(half / 2), self.used.get(half / 2)) else { return 0.0 };
        if half.is_multiple_of(2) { arc.most - used } else { *used }
    }

    fn take(&mut self, half: usize, amount: f64) {
        if let Some(used) = self.used.get_mut(half / 2) {
            *used += if half.is_multiple_of(2) { amount } else { -amount };
        }
    }

    /// The shortest way with something left, its halves from the end backward.
    fn way(&self, from: usize, to: usize) -> Option<Vec<usize>> {
        let mut by = vec![NONE; self.first.len()];
        let mut queue = VecDeque::from([from]);
        while let Some(place) = queue.pop_front() {
            for half in self.halves(place).filter(|h| self.left(*h) > NOTHING) {
                let end = self.end(half);
                let Some(slot) = by.get_mut(end).filter(|slot| **slot == NONE && end != from) else { continue };
                *slot = half;
                if end == to {
                    let before = |half: &usize| by.get(self.end(half ^ 1)).copied().filter(|h| *h != NONE);
                    return Some(std::iter::successors(Some(half), before).collect());
                }
                queue.push_back(end);
            }
        }
        None
    }

    /// The places from which something more could still come to one.
    fn reaching(&self, to: usize) -> Vec<bool> {
        let mut seen = vec![false; self.first.len()];
        let mut stack = vec![to];
        while let Some(place) = stack.pop() {
            if seen.get_mut(place).is_none_or(|mark| std::mem::replace(mark, true)) {
                continue;
            }
            // The other half of what leads away leads here.
            stack.extend(self.halves(place).filter(|h| self.left(h ^ 1) > NOTHING).map(|h| self.end(h)));
        }
        seen
    }
}
