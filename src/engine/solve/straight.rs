//! The commonest moments of a year: trackers at their arrays' maximum and other chargers, three at most, into a bank whose
//! volts follow its current along a straight line, with nothing near a limit: all giving what they can, or all holding their volts. The
//! bank's volts are then a root of the currents' sum, and only the currents are searched for; where they are held, even
//! these follow in one go.
//!
//! Whatever else a moment is goes to [`super::joint`], which finds the same here.

use std::array::from_fn;

use crate::physics::battery::{BankHour, Limit, Offer};
use crate::physics::charging::{ChargeSettings, above_25_k};
use crate::physics::compare::{larger, smaller};
use crate::physics::controller::Tracker;
use crate::physics::module::Point;

use super::held::FIRM_OHM;
use super::settled::{AtPosts, highest};
use super::source::{self, Share};
use super::{Charging, Flow, Idle, Lit, Makes, Moment, Settled, held_over_v, held_v};

/// Most sources that are looked at so. Source: our own choice: two trackers beside one other charger.
const MOST: usize = 3;

/// Steps at most; one does, or two.
const STEPS: usize = 8;
/// A step of this share of a current leaves less than its square: what changes the volts is a small part of them.
const NEAR: f64 = 1e-5;

/// A source that gives.
#[derive(Clone, Copy)]
struct Given {
    k: usize,
    /// Output with the array at its maximum; no end of them for a charger that is not solar.
    watts: f64,
    most_a: f64,
    /// Volts of the array there that its tracker can use: best less headroom; no end of them without one.
    reach_v: f64,
    best: Point,
}

impl Given {
    /// A tracker with its array at its maximum.
    #[inline]
    fn tracker(tracker: &Tracker, k: usize, best: Point) -> Self {
        let watts = tracker.conversion * tracker.tracking * best.power_w() - tracker.self_w;
        Self { k, watts: watts.max(0.0), most_a: tracker.most_a, reach_v: best.v - tracker.headroom_v, best }
    }

    /// A charger that gives one current.
    fn feeder(k: usize, amps: f64) -> Self {
        Self { k, watts: f64::INFINITY, most_a: amps, reach_v: f64::INFINITY, best: Point::default() }
    }
}

/// What is found of a moment.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Found {
    /// Nothing, and nothing is changed.
    Not,
    /// Where all meet with nothing held, and that a bank too cold to charge keeps it from flowing.
    Blocked,
    /// All of it.
    All,
}

/// All that is found of such a moment, source by source.
pub(in crate::engine) struct Met<const N: usize> {
    pub(super) k: [usize; N],
    /// How many of them are solar; these come first.
    pub(super) suns: usize,
    /// What each could send into `offered_v`.
    pub(in crate::engine) offers: [f64; N],
    pub(in crate::engine) shares: [Share; N],
    pub(super) offered_v: f64,
    /// What each sends.
    pub(in crate::engine) amps: [f64; N],
    /// Volts that each holds, and whether it is past absorption.
    pub(in crate::engine) holds: [(f64, bool); N],
    pub(super) posts_v: f64,
    pub(super) net_a: f64,
    pub(super) limit: Limit,
    pub(super) idle: Option<Idle>,
    /// Whether the bank is too cold for what flows.
    pub(in crate::engine) is_blocked: bool,
}

impl<const N: usize> Met<N> {
    /// Controllers that send all they offer into some volts, those of the posts, for a start.
    #[inline]
    pub(super) fn of_suns(
        k: [usize; N],
        offers: [f64; N],
        shares: [Share; N],
        holds: [(f64, bool); N],
        offered_v: f64,
    ) -> Self {
        let (posts_v, net_a, limit, idle, is_blocked) = (offered_v, 0.0, Limit::None, None, false);
        Self { k, suns: N, offers, shares, offered_v, amps: offers, holds, posts_v, net_a, limit, idle, is_blocked }
    }

    /// Into a flow; `true`.
    #[inline]
    pub(super) fn put(&self, circuit: &Charging, flow: &mut Flow) -> bool {
        flow.put_for(circuit, self.k.iter().fold(0, |all, k| all | 1 << (k & 63)));
        for i in 0..N {
            flow.put(self.k[i], (self.offers[i], self.amps[i]), self.holds[i], self.shares[i]);
        }
        flow.offered_v = self.offered_v;
        (flow.posts_v, flow.net_a, flow.limit, flow.idle) = (self.posts_v, self.net_a, self.limit, self.idle);
        true
    }

    fn found(&self, circuit: &Charging, flow: &mut Flow) -> Found {
        self.put(circuit, flow);
        if self.is_blocked { Found::Blocked } else { Found::All }
    }
}

impl<const N: usize> Settled for Met<N> {
    fn at_posts(&self) -> AtPosts {
        AtPosts { posts_v: self.posts_v, net_a: self.net_a, limit: self.limit, idle: self.idle }
    }

    fn sent_a(&self) -> (f64, f64) {
        let (suns, others) = self.amps.split_at(self.suns.min(N));
        (suns.iter().sum(), others.iter().sum())
    }

    #[inline(always)]
    fn offered_w(&self) -> (f64, f64) {
        let others = self.offers.iter().skip(self.suns).sum::<f64>();
        (self.shares.iter().take(self.suns).map(|s| s.out_a).sum::<f64>() * self.offered_v, others * self.offered_v)
    }

    fn holds(&self) -> (f64, bool) {
        highest(self.holds.iter().zip(&self.amps).map(|(hold, amps)| (*hold, *amps)))
    }
}

/// Solves the moment if it is one of these; all its controllers have to be trackers.
pub(super) fn met(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> Found {
    let Some(line) = now.line() else { return Found::Not };
    let mut given = [Given::feeder(0, 0.0); MOST];
    let mut n = 0;
    for (k, ((solar, lit), best)) in circuit.solars.iter().zip(moment.lit).zip(moment.best).enumerate() {
        let Makes::Tracking(tracker) = &solar.makes else { return Found::Not };
        if matches!(lit, Lit::None) {
            continue;
        }
        let Some(slot) = given.get_mut(n) else { return Found::Not };
        *slot = Given::tracker(tracker, k, *best);
        n += 1;
    }
    let suns = n;
    for (f, share) in moment.feeding.iter().enumerate().filter(|(_, share)| **share > 0.0) {
        let k = circuit.solars.len() + f;
        let (Some(slot), Some(feeder)) = (given.get_mut(n), circuit.feeders.get(f)) else { return Found::Not };
        *slot = Given::feeder(k, feeder.out_a * share);
        n += 1;
    }
    let all = (circuit, now, moment, line);
    match given {
        [a, ..] if n == 1 => met_of(all, ([a], suns)).map_or(Found::Not, |met| met.found(circuit, flow)),
        [a, b, _] if n == 2 => met_of(all, ([a, b], suns)).map_or(Found::Not, |met| met.found(circuit, flow)),
        all_three if n == MOST => met_of(all, (all_three, suns)).map_or(Found::Not, |met| met.found(circuit, flow)),
        _ => Found::Not,
    }
}

/// A circuit of one kind of controllers, few enough: what of it holds at every moment.
pub(in crate::engine) enum Suns {
    /// Other controllers, or too many.
    Not,
    One(Ways<1>),
    Two(Ways<2>),
    Three(Ways<3>),
    /// So many arrays joined to the bank, one or two.
    Joined(usize),
}

impl Suns {
    pub(in crate::engine) fn of(circuit: &Charging) -> Self {
        if circuit.solars.iter().all(|solar| matches!(solar.makes, Makes::Pwm { .. })) {
            return Self::Joined(circuit.solars.len());
        }
        match circuit.solars.len() {
            1 => Ways::of(circuit).map_or(Self::Not, Self::One),
            2 => Ways::of(circuit).map_or(Self::Not, Self::Two),
            3 => Ways::of(circuit).map_or(Self::Not, Self::Three),
            _ => Self::Not,
        }
    }
}

/// So many trackers and their ways to the posts.
pub(in crate::engine) struct Ways<const N: usize> {
    trackers: [Tracker; N],
    charge: [ChargeSettings; N],
    sensed: [bool; N],
    ohm: [[f64; N]; N],
}

impl<const N: usize> Ways<N> {
    fn of(circuit: &Charging) -> Option<Self> {
        let first = circuit.solars.first()?;
        let Makes::Tracking(tracker) = &first.makes else { return None };
        let (mut trackers, mut charge, mut sensed) = ([*tracker; N], [first.setting.charge; N], [false; N]);
        for (i, solar) in circuit.solars.iter().enumerate().take(N) {
            let Makes::Tracking(tracker) = &solar.makes else { return None };
            (trackers[i], charge[i], sensed[i]) = (*tracker, solar.setting.charge, solar.setting.sensed);
        }
        Some(Self { trackers, charge, sensed, ohm: from_fn(|k| from_fn(|j| circuit.shared_ohm(k, j))) })
    }

    /// Solves a moment in which all of them are in the light and no other charger gives, if it is one of these.
    #[inline]
    pub(in crate::engine) fn met(&self, circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>) -> Option<Met<N>> {
        let line = now.line()?;
        let best: &[Point; N] = moment.best.try_into().ok()?;
        let held_h: &[f64; N] = moment.held_h.first_chunk()?;
        let over_k = above_25_k(moment.battery_c);
        let given = from_fn(|k| Given::tracker(&self.trackers[k], k, best[k]));
        let holds = from_fn(|k| held_over_v(&self.charge[k], now, over_k, held_h[k]));
        let absorb_v = self.charge.iter().map(|charge| charge.held_over_v(false, over_k)).fold(0.0, larger);
        let trackers: [_; N] = from_fn(|k| Some(&self.trackers[k]));
        let straight =
            Straight { now, moment, given, trackers, suns: N, ohm: &self.ohm, holds, sensed: self.sensed, line };
        straight.met(circuit, absorb_v)
    }
}

/// The sources of such a moment, the ohms that they share, and what each would hold.
struct Straight<'a, const N: usize> {
    now: &'a BankHour<'a>,
    moment: &'a Moment<'a>,
    given: [Given; N],
    /// What they are; none: a charger that is not solar.
    trackers: [Option<&'a Tracker>; N],
    /// How many of them are trackers; these come first.
    suns: usize,
    ohm: &'a [[f64; N]; N],
    /// Volts, and whether it is past absorption.
    holds: [(f64, bool); N],
    /// Whether it reads the volts at the posts.
    sensed: [bool; N],
    /// The bank's volts at rest and its ohms.
    line: (f64, f64),
}

/// What they all work with: the bank's line last.
type Around<'a> = (&'a Charging, &'a BankHour<'a>, &'a Moment<'a>, (f64, f64));

fn met_of<const N: usize>(
    (circuit, now, moment, line): Around<'_>,
    (given, suns): ([Given; N], usize),
) -> Option<Met<N>> {
    let ohm = given.map(|one| given.map(|other| circuit.shared_ohm(one.k, other.k)));
    let (mut holds, mut sensed, mut absorb_v) = ([(0.0, false); N], [false; N], 0.0_f64);
    for i in 0..N {
        let setting = circuit.setting(given[i].k)?;
        let held_h = moment.held_h.get(given[i].k).copied().unwrap_or(0.0);
        absorb_v = larger(absorb_v, setting.charge.held_v(false, moment.battery_c));
        (holds[i], sensed[i]) = (held_v(setting, now, moment, held_h), setting.sensed);
    }
    let trackers = given.map(|one| match circuit.solars.get(one.k).map(|solar| &solar.makes) {
        Some(Makes::Tracking(tracker)) => Some(tracker),
        _ => None,
    });
    Straight { now, moment, given, trackers, suns, ohm: &ohm, holds, sensed, line }.met(circuit, absorb_v)
}

impl<const N: usize> Straight<'_, N> {
    #[inline]
    fn met(&self, circuit: &Charging, absorb_v: f64) -> Option<Met<N>> {
        if self.now.is_down() {
            let volts = self.now.rest_v();
            let amps = self.currents_into(volts)?;
            if amps.iter().sum::<f64>() * volts < self.moment.load_w {
                return self.short(volts, amps);
            }
        }
        let (start_v, start_a) = self.start();
        // Past absorption they hold less.
        let least_v = self.holds.iter().map(|(volts, _)| *volts).fold(absorb_v, smaller);
        if start_v > least_v {
            // All of them would absorb at the same volts, or the general way has to look what is on offer.
            let same = absorb_v >= circuit.absorb_v(self.moment.battery_c);
            return if same { self.held(absorb_v, (start_v, start_a)) } else { None };
        }
        self.freely(start_v, start_a)
    }

    /// Beside a bank that is down, less than the load: all of it goes to the load, and the bank rests. None where one would stand
    /// above what it holds.
    #[inline(never)]
    fn short(&self, volts: f64, amps: [f64; N]) -> Option<Met<N>> {
        let out_v = self.out_v(volts, &amps)?;
        if (0..N).any(|i| (if self.sensed[i] { volts } else { out_v[i] }) > self.holds[i].0) {
            return None;
        }
        Some(Met { posts_v: volts, limit: Limit::Empty, ..self.offered((&amps, &out_v), volts) })
    }

    /// Near the volts of the posts with nothing held, and near what each gives into them.
    #[inline]
    fn start(&self) -> (f64, [f64; N]) {
        let (rest_v, bank_ohm) = self.line;
        let over = rest_v.recip();
        let first_a = self.given.map(|one| smaller(one.watts * over, one.most_a));
        let rise = bank_ohm * (first_a.iter().sum::<f64>() - self.moment.load_w * over);
        // One over volts a little higher, without another division.
        let over = over * (1.0 - rise * over);
        (rest_v + rise, self.given.map(|one| smaller(one.watts * over, one.most_a)))
    }

    /// Whether one of them is past absorption.
    fn is_past(&self) -> bool {
        self.holds.iter().any(|(_, floating)| *floating)
    }

    /// The bank's volts with the sources giving `sum_a`, and the root they come from: those of
    /// `posts_v = rest_v + bank_ohm * (sum_a - load_w / posts_v)`.
    #[inline]
    fn posts(&self, sum_a: f64) -> (f64, f64) {
        let (rest_v, bank_ohm) = self.line;
        let driven_v = rest_v + bank_ohm * sum_a;
        let root_v = (driven_v * driven_v - 4.0 * bank_ohm * self.moment.load_w).max(0.0).sqrt();
        (0.5 * (driven_v + root_v), root_v)
    }

    /// Whether the bank takes or gives a net current.
    #[inline]
    fn may(&self, net_a: f64, posts_v: f64) -> bool {
        if net_a > 0.0 {
            return self.now.may_charge() && net_a <= self.now.most_charge_a();
        }
        self.now.hinders(-net_a, posts_v) == Limit::None
    }

    /// What each stands at behind its way; none where an array stands too low for its tracker.
    #[inline]
    fn out_v(&self, posts_v: f64, amps: &[f64; N]) -> Option<[f64; N]> {
        let out_v = from_fn(|i| posts_v + dot(&self.ohm[i], amps));
        let is_low = self.given.iter().zip(&out_v).any(|(one, out_v)| one.reach_v < *out_v);
        if is_low { None } else { Some(out_v) }
    }

    /// Each giving all it can, below what it would hold.
    fn freely(&self, start_v: f64, start_a: [f64; N]) -> Option<Met<N>> {
        let (amps, posts_v) = self.currents(start_v, start_a)?;
        let out_v = self.out_v(posts_v, &amps)?;
        let net_a = amps.iter().sum::<f64>() - self.moment.load_w / posts_v;
        let above = |i: usize| (if self.sensed[i] { posts_v } else { out_v[i] }) > self.holds[i].0;
        let is_blocked = net_a > 0.0 && !self.now.may_charge();
        if !is_blocked && !self.may(net_a, posts_v) || (0..N).any(above) {
            return None;
        }
        Some(Met { net_a, is_blocked, ..self.offered((&amps, &out_v), posts_v) })
    }

    /// Each holding its volts and able to give more, or off where another holds more: currents and posts follow in one go.
    fn held(&self, absorb_v: f64, (start_v, start_a): (f64, [f64; N])) -> Option<Met<N>> {
        let load_w = self.moment.load_w;
        // Past absorption too what all could give counts at the volts it would bring the bank to, absorption's at most.
        let freely = if self.is_past() && start_v <= absorb_v { self.currents(start_v, start_a) } else { None };
        let (offers, offered_v) = match freely.filter(|(_, posts_v)| *posts_v <= absorb_v) {
            Some(freely) => freely,
            None => {
                let offers = self.currents_into(absorb_v)?;
                let net_a = offers.iter().sum::<f64>() - load_w / absorb_v;
                if net_a <= 0.0 || !self.now.needs_more(net_a, absorb_v) {
                    return None;
                }
                (offers, absorb_v)
            }
        };
        let out_v = self.out_v(offered_v, &offers)?;
        let (rest_v, bank_ohm) = self.line;
        // The bank's volts with so much pull and conductance, and the root that they come from.
        let beside_bank = |pull_a: f64, conductance_s: f64| {
            let weight = 1.0 + bank_ohm * conductance_s;
            let driven_v = (rest_v + bank_ohm * pull_a) / weight;
            let root_v = (driven_v * driven_v - 4.0 * bank_ohm * load_w / weight).max(0.0).sqrt();
            (0.5 * (driven_v + root_v), root_v)
        };
        // With a bank that rests.
        let resting = |pull_a: f64, conductance_s: f64| {
            let root_a = (pull_a * pull_a - 4.0 * conductance_s * load_w).max(0.0).sqrt();
            ((pull_a + root_a) / (2.0 * conductance_s), root_a)
        };
        let within = |amps: &[f64; N]| amps.iter().zip(&offers).all(|(a, most_a)| (0.0..*most_a).contains(a));
        let idle = || self.holding(resting).filter(|(_, amps, _)| within(amps));
        let Some(((mut posts_v, root_v), mut amps, net_a)) = self.holding(beside_bank) else {
            let ((idle_v, _), idle_a, _) = idle()?;
            return self.alone((&offers, &out_v, offered_v), self.idle(idle_v, &idle_a));
        };
        let mut net_a = net_a - load_w / posts_v;
        let mut limit = Limit::Held;
        if net_a > 0.0 && !self.now.may_charge() {
            let ((idle_v, _), idle_a, _) = idle()?;
            (posts_v, amps, net_a, limit) = (idle_v, idle_a, 0.0, Limit::Cold);
        }
        if !within(&amps) || !self.may(net_a, posts_v) || root_v <= 0.0 {
            return None;
        }
        let idle = if net_a < 0.0 { idle().filter(|((idle_v, _), ..)| *idle_v < rest_v) } else { None };
        let idle = idle.map(|((idle_v, _), idle_a, _)| self.idle(idle_v, &idle_a));
        Some(Met { amps, posts_v, net_a, limit, idle, ..self.offered((&offers, &out_v), offered_v) })
    }

    /// The volts that the sources hold together, what each gives then, and all of them: those that would draw are off, and
    /// see no less than they hold. None where all are off, or the search has to look. `volts`: those of the posts from
    /// the sources' pull and conductance, and what goes with them.
    fn holding(&self, volts: impl Fn(f64, f64) -> (f64, f64)) -> Option<((f64, f64), [f64; N], f64)> {
        let mut is_on = [true; N];
        for _ in 0..N {
            // Every current is `pull - posts_v * conductance`, and so is their sum.
            let rows: [[f64; N]; N] = from_fn(|i| {
                from_fn(|j| {
                    let firm = if !is_on[i] { 1.0 } else { FIRM_OHM };
                    let way = if self.sensed[i] || !is_on[i] { 0.0 } else { self.ohm[i][j] };
                    way + if i == j { firm } else { 0.0 }
                })
            });
            let of_on = |values: [f64; N]| -> [f64; N] { from_fn(|i| if is_on[i] { values[i] } else { 0.0 }) };
            let [pull, conductance] = solved(rows, [of_on(self.holds.map(|(held_v, _)| held_v)), of_on([1.0; N])]);
            let (pull_a, conductance_s) = (pull.iter().sum::<f64>(), conductance.iter().sum::<f64>());
            let found = volts(pull_a, conductance_s);
            let amps: [f64; N] = from_fn(|i| pull[i] - found.0 * conductance[i]);
            if amps.iter().all(|a| *a >= 0.0) {
                let seen_v = |i: usize| found.0 + if self.sensed[i] { 0.0 } else { dot(&self.ohm[i], &amps) };
                let fits = (0..N).all(|i| is_on[i] || self.holds[i].0 <= seen_v(i));
                return fits.then_some((found, amps, pull_a - found.0 * conductance_s));
            }
            is_on = from_fn(|i| is_on[i] && amps[i] >= 0.0);
            if !is_on.contains(&true) {
                return None;
            }
        }
        None
    }

    /// Where the bank comes to rest beside currents that carry the loads.
    fn idle(&self, posts_v: f64, amps: &[f64; N]) -> Idle {
        let (solar_a, sum_a) = (amps.iter().take(self.suns).sum::<f64>(), amps.iter().sum::<f64>());
        Idle { posts_v, solar_share: if self.suns == N || sum_a <= 0.0 { 1.0 } else { solar_a / sum_a } }
    }

    /// The bank standing above what all of them hold: it carries the loads alone, down to where they do.
    fn alone(&self, (offers, out_v, offered_v): (&[f64; N], &[f64; N], f64), idle: Idle) -> Option<Met<N>> {
        let given = self.now.give(Offer::Power(self.moment.load_w));
        let is_above = self.holds.iter().all(|(held_v, _)| given.volts > *held_v) && idle.posts_v < self.line.0;
        if !is_above || given.limit != Limit::None || given.current_a <= 0.0 || !self.now.may_charge() {
            return None;
        }
        Some(Met {
            amps: [0.0; N],
            posts_v: given.volts,
            net_a: -given.current_a,
            limit: Limit::Held,
            idle: Some(idle),
            ..self.offered((offers, out_v), offered_v)
        })
    }

    /// What each offers into some volts, and what it would hold; all of it sent, for a start.
    #[inline]
    fn offered(&self, (offers, out_v): (&[f64; N], &[f64; N]), offered_v: f64) -> Met<N> {
        let share = |i: usize| {
            let of = |tracker| source::at(tracker, self.given[i].best, offers[i], out_v[i], false);
            self.trackers[i].map_or_else(Share::default, of)
        };
        let k = self.given.map(|one| one.k);
        Met { suns: self.suns, ..Met::of_suns(k, *offers, from_fn(share), self.holds, offered_v) }
    }

    /// What the trackers give with nothing held, and the volts of the posts: Newton's method in the currents.
    /// Source: each `amps * out_v = watts` or its limit, Kirchhoff's laws, the bank's `rest_v + ohm * net_a`.
    #[inline]
    fn currents(&self, start_v: f64, start_a: [f64; N]) -> Option<([f64; N], f64)> {
        if start_v <= 0.0 {
            return None;
        }
        // A round of what follows from these saves a step.
        let mut amps = self.into(start_v, &start_a);
        for _ in 0..STEPS {
            let (posts_v, root_v) = self.posts(amps.iter().sum());
            if root_v < 0.1 * posts_v {
                return None;
            }
            let (before_a, rise_ohm) = (amps.iter().sum::<f64>(), self.line.1 * posts_v / root_v);
            if self.step(&mut amps, posts_v, rise_ohm) {
                // So near the volts follow the currents along a straight line.
                let posts_v = posts_v + rise_ohm * (amps.iter().sum::<f64>() - before_a);
                return amps.iter().all(|a| *a >= 0.0).then_some((amps, posts_v));
            }
        }
        None
    }

    /// The same into given volts.
    #[inline]
    fn currents_into(&self, posts_v: f64) -> Option<[f64; N]> {
        let mut amps = self.near(posts_v)?;
        for _ in 0..STEPS {
            if self.step(&mut amps, posts_v, 0.0) {
                return amps.iter().all(|a| *a >= 0.0).then_some(amps);
            }
        }
        None
    }

    /// Near what each gives at such volts.
    #[inline]
    fn near(&self, posts_v: f64) -> Option<[f64; N]> {
        if posts_v <= 0.0 {
            return None;
        }
        let over = posts_v.recip();
        Some(self.into(posts_v, &self.given.map(|one| smaller(one.watts * over, one.most_a))))
    }

    /// What each gives into some volts with the drops of such currents.
    #[inline]
    fn into(&self, posts_v: f64, amps: &[f64; N]) -> [f64; N] {
        from_fn(|i| {
            let Given { watts, most_a, .. } = self.given[i];
            smaller(watts / (posts_v + dot(&self.ohm[i], amps)), most_a)
        })
    }

    /// A step towards where all agree, the posts rising by `rise_ohm` for each ampere; whether it was a small one.
    #[inline]
    fn step(&self, amps: &mut [f64; N], posts_v: f64, rise_ohm: f64) -> bool {
        let (mut rows, mut off) = ([[0.0; N]; N], [0.0; N]);
        for i in 0..N {
            let Given { watts, most_a, .. } = self.given[i];
            let out_v = posts_v + dot(&self.ohm[i], amps);
            if most_a * out_v <= watts {
                off[i] = most_a - amps[i];
                rows[i][i] = 1.0;
                continue;
            }
            off[i] = watts - amps[i] * out_v;
            rows[i] = self.ohm[i].map(|own| amps[i] * (own + rise_ohm));
            rows[i][i] += out_v;
        }
        let [steps] = solved(rows, [off]);
        let mut near = true;
        for i in 0..N {
            amps[i] += steps[i];
            near &= steps[i].abs() <= NEAR * amps[i];
        }
        near
    }
}

fn dot<const N: usize>(row: &[f64; N], x: &[f64; N]) -> f64 {
    (0..N).map(|j| row[j] * x[j]).sum()
}

/// The equations of some currents solved for some right sides: one or two by Cramer's rule, more by Gauss and Jordan
/// without exchange, as each row's own place is its largest.
#[inline]
pub(super) fn solved<const N: usize, const M: usize>(
    mut rows: [[f64; N]; N],
    mut right: [[f64; N]; M],
) -> [[f64; N]; M] {
    let two = rows.first().zip(rows.get(1)).and_then(|(a, b)| Some(([a[0], *a.get(1)?], [b[0], *b.get(1)?])));
    match two {
        Some(_) if N > 2 => {
            for i in 0..N {
                let over = rows[i][i].recip();
                let pivot = rows[i].map(|x| x * over);
                rows[i] = pivot;
                right.iter_mut().for_each(|side| side[i] *= over);
                for k in (0..N).filter(|k| *k != i) {
                    let factor = rows[k][i];
                    rows[k].iter_mut().zip(&pivot).for_each(|(x, p)| *x -= factor * p);
                    right.iter_mut().for_each(|side| side[k] -= factor * side[i]);
                }
            }
        }
        Some(([a, b], [c, d])) => {
            let over = (a * d - b * c).recip();
            for side in &mut right {
                let (x, y) = (side[0], side[1]);
                (side[0], side[1]) = ((d * x - b * y) * over, (a * y - c * x) * over);
            }
        }
        None => {
            let over = rows[0][0].recip();
            right.iter_mut().for_each(|side| side[0] *= over);
        }
    }
    right
}
