//! The inverters' own cut-offs: loads behind one stop while its terminals stand below it.

use crate::engine::day::{Through, Usage};
use crate::engine::solve::{Charging, Flow, Moment, solve_with};
use crate::physics::battery::BankHour;

use super::{Part, Step};

/// Most inverters of one plan whose cut-offs the year carries, a bit each. Source: our own choice.
pub const MOST_CUT_OFFS: usize = 32;

/// An inverter that switches itself off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CutOff {
    /// Its index in the plan.
    pub inverter: usize,
    /// Its place among those that the loads come by.
    pub place: usize,
    /// Volts at its terminals under load below which it is off.
    pub off_v: f64,
    /// Volts at them, nothing drawn through it, at which it starts again; none: as soon as it would not be cut off at once.
    pub on_v: Option<f64>,
    /// Loop resistance from the posts.
    pub ohm: f64,
}

impl CutOff {
    /// Whether it would cut so many watts off with the posts at some volts.
    #[inline]
    fn cuts(&self, posts_v: f64, ac_w: f64) -> bool {
        // Its terminals stand lower than the posts by its ohms times its watts over their volts; here without the division.
        ac_w > 0.0 && posts_v * (posts_v - self.off_v) < self.ohm * ac_w
    }

    /// Volts at the posts below which it cuts so many watts off.
    /// Source: Ohm's law on its own way, V V - off V = R W solved for V.
    fn strikes_v(&self, ac_w: f64) -> f64 {
        0.5 * (self.off_v + (self.off_v * self.off_v + 4.0 * self.ohm * ac_w).sqrt())
    }
}

/// All of them in an hour.
#[derive(Clone, Copy)]
pub(super) struct Inverters<'a> {
    pub(super) all: &'a [CutOff],
    /// What is drawn through them; none where something else than the bank carries it.
    pub(super) usage: Option<&'a Usage>,
    pub(super) month: usize,
    pub(super) hour_of_day: usize,
    /// With the posts above it none cuts anything off in any hour.
    pub(super) most_v: f64,
}

/// Volts at the posts above which no inverter cuts anything off in any hour of a year.
pub(super) fn most_v(all: &[CutOff], usage: &Usage) -> f64 {
    let most_w = |one: &CutOff| {
        let hours = (0..12).flat_map(|month| (0..24).map(move |hour| (month, hour)));
        hours.map(|(month, hour)| usage.through(one.place, month, hour).all_w).fold(0.0, f64::max)
    };
    // The two tests may differ in their last digits.
    all.iter().map(|one| one.strikes_v(most_w(one)) * (1.0 + 1e-9)).fold(0.0, f64::max)
}

impl Inverters<'_> {
    #[inline]
    fn through(&self, one: &CutOff) -> Through {
        self.usage.map_or_else(Through::default, |usage| usage.through(one.place, self.month, self.hour_of_day))
    }

    /// Whether none of them would cut anything off with the posts at some volts.
    #[inline]
    pub(super) fn leave(&self, posts_v: f64) -> bool {
        posts_v > self.most_v || self.all.iter().all(|one| !one.cuts(posts_v, self.through(one).all_w))
    }

    /// Those that are off, and what is drawn through each.
    pub(super) fn which(&self, off: u32) -> impl Iterator<Item = (usize, Through)> {
        let all = self.all.iter().enumerate().filter(move |(k, _)| off >> k & 1 == 1);
        all.map(|(k, one)| (k, self.through(one)))
    }

    /// Of those not `off` the one that goes off first with the posts at some volts; none where all of them go on.
    #[inline]
    pub(super) fn next_off(&self, off: u32, posts_v: f64) -> Option<usize> {
        if self.leave(posts_v) { None } else { self.next_of(off, posts_v) }
    }

    #[cold]
    #[inline(never)]
    fn next_of(&self, off: u32, posts_v: f64) -> Option<usize> {
        self.first(!off, |one, ac_w| one.cuts(posts_v, ac_w).then(|| -one.strikes_v(ac_w)))
    }

    /// Of some the first by volts, of those that have any.
    fn first(&self, of: u32, volts: impl Fn(&CutOff, f64) -> Option<f64>) -> Option<usize> {
        let all = self.which(of).filter_map(|(k, through)| Some((k, volts(self.all.get(k)?, through.all_w)?)));
        all.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(k, _)| k)
    }

    /// Of those that were off the ones that stay so until they have come back, a bit each.
    #[inline]
    pub(super) fn waiting(&self, was_off: u32) -> u32 {
        if was_off == 0 {
            return 0;
        }
        let second = self.all.iter().enumerate().filter(|(_, one)| one.on_v.is_some());
        second.fold(0, |mask, (k, _)| mask | 1 << k) & was_off
    }

    /// What would be drawn through those that are off.
    #[inline]
    pub(super) fn cut(&self, off: u32) -> Through {
        if off == 0 { Through::default() } else { self.behind(off) }
    }

    /// A step without what would be drawn through those that are off, into the sums as theirs: but beside a bank that is down at
    /// its beginning, which keeps everything from the loads at its floor and below it.
    #[inline]
    pub(super) fn without(&self, (step, cut): (&mut Step, Through), (off, is_down): (u32, bool), out: &mut Part) {
        if off == 0 {
            return;
        }
        if !is_down {
            for (k, through) in self.which(off) {
                out.cut_off_wh.get_mut(k).into_iter().for_each(|sum| *sum += through.all_w * step.hours);
            }
        }
        step.without(cut, is_down);
    }

    fn behind(&self, off: u32) -> Through {
        self.which(off).fold(Through::default(), |sum, (_, one)| Through {
            all_w: sum.all_w + one.all_w,
            medical_w: sum.medical_w + one.medical_w,
        })
    }

    /// Solves a moment of an hour with all its loads, and tells which are off in it, a bit each: then without those behind them. One
    /// is off where its terminals would stand below its cut-off at the hour's mean watts, and goes on being so until they have
    /// come back. Of several the one goes off first that does at the highest volts, and the others are looked at without its
    /// load. What others lose on a run it shares with them is not counted.
    /// Source: Ohm's law on its own way; a switch with two thresholds.
    pub(super) fn solve<'a>(
        &self,
        circuit: &'a Charging,
        moment: &mut Moment<'_>,
        was_off: u32,
        flow: &mut Flow,
    ) -> (Option<BankHour<'a>>, u32) {
        let waits = self.waiting(was_off);
        let all_w = moment.load_w;
        moment.load_w = self.left_w(all_w, waits);
        let now = solve_with(circuit, moment, flow);
        if waits == 0 && self.leave(flow.posts_v) {
            return (now, 0);
        }
        let mut at = Settling { inverters: *self, circuit, all_w, moment, flow, now, off: waits };
        at.cut();
        // What waits starts again at its volts, and goes off once more where its own load is too much for them.
        let mut left = waits;
        while let Some(k) = at.ready(left) {
            left &= !(1 << k);
            at.off &= !(1 << k);
            at.solve();
            at.cut();
        }
        (at.now, at.off)
    }

    /// What of so much is drawn without those that are off.
    #[inline]
    pub(super) fn left_w(&self, all_w: f64, off: u32) -> f64 {
        if off == 0 { all_w } else { (all_w - self.behind(off).all_w).max(0.0) }
    }
}

/// A moment, and those that are off in it, a bit each.
struct Settling<'s, 'a, 'm> {
    inverters: Inverters<'s>,
    circuit: &'a Charging,
    /// The load with all of them on.
    all_w: f64,
    moment: &'s mut Moment<'m>,
    flow: &'s mut Flow,
    now: Option<BankHour<'a>>,
    off: u32,
}

impl Settling<'_, '_, '_> {
    /// The moment without what is behind those that are off.
    fn solve(&mut self) {
        let load_w = self.inverters.left_w(self.all_w, self.off);
        if load_w != self.moment.load_w {
            self.moment.load_w = load_w;
            self.now = solve_with(self.circuit, self.moment, self.flow);
        }
    }

    /// Those that are on go off one by one, as long as any would.
    fn cut(&mut self) {
        while let Some(k) = self.inverters.next_off(self.off, self.flow.posts_v) {
            self.off |= 1 << k;
            self.solve();
        }
    }

    /// Of those that wait the one that starts at the lowest volts, if the posts are up to them.
    fn ready(&self, waits: u32) -> Option<usize> {
        let posts_v = self.flow.posts_v;
        self.inverters.first(waits & self.off, |one, _| one.on_v.filter(|on_v| *on_v <= posts_v))
    }
}
