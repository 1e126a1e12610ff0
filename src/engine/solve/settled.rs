//! What the year asks of a moment that is solved, however that was found.

use crate::physics::battery::Limit;

use super::{Flow, Idle};

/// The bank's part in a moment.
#[derive(Clone, Copy)]
pub(in crate::engine) struct AtPosts {
    /// Volts at the posts.
    pub(in crate::engine) posts_v: f64,
    /// Into the bank; negative: out of it.
    pub(in crate::engine) net_a: f64,
    /// What keeps a source from giving, or the bank from serving, more.
    pub(in crate::engine) limit: Limit,
    /// Where the bank ends giving, if sources that could do more then carry the loads.
    pub(in crate::engine) idle: Option<Idle>,
}

/// What a moment comes to for the hour that begins with it.
pub(in crate::engine) trait Settled {
    /// What flows at the posts.
    fn at_posts(&self) -> AtPosts;
    /// What the solar controllers send together, and the other chargers.
    fn sent_a(&self) -> (f64, f64);
    /// Power that they could bring to the posts.
    fn offered_w(&self) -> (f64, f64);
    /// The highest volts that one that gives would hold, and whether it is past absorption; nothing where none does.
    fn holds(&self) -> (f64, bool);
}

impl Settled for Flow {
    fn at_posts(&self) -> AtPosts {
        AtPosts { posts_v: self.posts_v, net_a: self.net_a, limit: self.limit, idle: self.idle }
    }

    fn sent_a(&self) -> (f64, f64) {
        let (suns, others) = self.amps.split_at(self.shares.len().min(self.amps.len()));
        (suns.iter().sum(), others.iter().sum())
    }

    fn offered_w(&self) -> (f64, f64) {
        (self.offered_w(), self.fed_w())
    }

    fn holds(&self) -> (f64, bool) {
        let holds = self.held.iter().zip(self.floating.iter().copied().chain(std::iter::repeat(false)));
        highest(holds.map(|(held_v, floats)| (*held_v, floats)).zip(self.amps.iter().copied()))
    }
}

/// Of what sources hold, with what each sends, the highest of those that give: the first of them.
#[inline]
pub(super) fn highest(all: impl Iterator<Item = ((f64, bool), f64)>) -> (f64, bool) {
    all.filter(|(_, amps)| *amps > 0.0).fold((0.0, true), |most, (hold, _)| if hold.0 > most.0 { hold } else { most })
}
