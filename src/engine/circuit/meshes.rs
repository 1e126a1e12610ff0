//! Conductors that close loops together: what may come to lie behind each of them, whatever their ohms and wherever some of
//! them are open.

use crate::arrange::Arrange;

/// Most sets of places that are tried in one mesh. Source: our own choice; a loop of sixty bars has fewer, and so have ten that are all joined.
const MOST_SETS: usize = 2000;

/// Places numbered from 1 and what joins them; 0 is the one that all are fed from.
pub(super) struct Mesh {
    /// The two places of each joint.
    joints: Vec<(usize, usize)>,
    /// Of each place those that it is joined to, as bits.
    beside: Vec<u64>,
}

impl Mesh {
    /// None where there are more places than bits.
    pub(super) fn of(places: usize, joints: Vec<(usize, usize)>) -> Option<Self> {
        let mut beside = vec![0_u64; places + 1];
        if places >= 63 {
            return None;
        }
        for (a, b) in &joints {
            *beside.get_mut(*a)? |= 1 << b;
            *beside.get_mut(*b)? |= 1 << a;
        }
        Some(Self { joints, beside })
    }

    /// Of each joint the largest sets of places that may be left behind it alone; none where there are too many to try.
    ///
    /// Whatever the ohms, what flows in a joint is a mean of what flows there in each tree of joints that reaches all places
    /// once; in such a tree it is what lies behind the joint: places joined to each other, the rest joined to the source.
    /// Source: Kirchhoff 1847, trees of a network of resistances.
    pub(super) fn behind(&self) -> Option<Vec<Vec<u64>>> {
        let mut sets = Vec::new();
        for first in 1..self.beside.len() {
            // The source and the places before this one are those of other sets.
            self.grow(1 << first, (1 << first) - 1, &mut sets)?;
        }
        let all = (1_u64 << self.beside.len()) - 1;
        sets.retain(|set| self.reached(1, all & !set) == all & !set);
        sets.arrange_by_key(|set| std::cmp::Reverse(set.count_ones()));
        let of = |(a, b): &(usize, usize)| {
            let mut largest: Vec<u64> = Vec::new();
            for set in sets.iter().filter(|set| ((**set >> a) ^ (**set >> b)) & 1 == 1) {
                if !largest.iter().any(|other| other & set == *set) {
                    largest.push(*set);
                }
            }
            largest
        };
        Some(self.joints.iter().map(of).collect())
    }

    /// Every set of joined places that has these and none of those left out, once each.
    fn grow(&self, set: u64, left_out: u64, sets: &mut Vec<u64>) -> Option<()> {
        if sets.len() >= MOST_SETS {
            return None;
        }
        sets.push(set);
        let mut left_out = left_out;
        for place in bits(self.beside_all(set) & !set & !left_out) {
            self.grow(set | 1 << place, left_out, sets)?;
            left_out |= 1 << place;
        }
        Some(())
    }

    fn beside_all(&self, set: u64) -> u64 {
        bits(set).filter_map(|place| self.beside.get(place)).fold(0, |all, one| all | one)
    }

    /// Places that are reached from some within a set.
    fn reached(&self, start: u64, within: u64) -> u64 {
        let mut reached = start & within;
        loop {
            let next = reached | (self.beside_all(reached) & within);
            if next == reached {
                return reached;
            }
            reached = next;
        }
    }
}

/// The places of a set.
pub(super) fn bits(set: u64) -> impl Iterator<Item = usize> {
    (0..64).filter(move |place| (set >> place) & 1 == 1)
}
