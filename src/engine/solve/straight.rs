//! The commonest moments of a year: trackers at their arrays' maximum and other chargers, three at most, into a bank whose
//! volts follow its current along a straight line, with nothing near a limit: all giving what they can, or all holding their volts. The
//! bank's volts are then a root of the currents' sum, and only the currents are searched for; where they are held, even
//! these follow in one go.
//!
//! Whatever else a moment is goes to [`super::joint`], which finds the same here.

use std::array::from_fn;

use crate::physics::battery::{Bank, BankHour, Limit, Offer};
use crate::physics::controller::Tracker;
use crate::physics::module::Point;

use super::held::FIRM_OHM;
use super::source::{self, Share};
use super::{Charging, Flow, Idle, Lit, Makes, Moment, held_v};

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
}

impl Given {
    /// A tracker with its array at its maximum.
    #[inline]
    fn tracker(tracker: &Tracker, k: usize, best: Point) -> Self {
        let watts = tracker.conversion * tracker.tracking * best.power_w() - tracker.self_w;
        Self { k, watts: watts.max(0.0), most_a: tracker.most_a, reach_v: best.v - tracker.headroom_v }
    }

    /// A charger that gives one current.
    fn feeder(k: usize, amps: f64) -> Self {
        Self { k, watts: f64::INFINITY, most_a: amps, reach_v: f64::INFINITY }
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

impl Found {
    fn all(is_met: bool) -> Self {
        if is_met { Self::All } else { Self::Not }
    }
}

/// Solves the moment if it is one of these; all its controllers have to be trackers.
pub(super) fn met(circuit: &Charging, bank: &Bank, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> Found {
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
    let all = (circuit, bank, now, moment, line);
    match given {
        [a, ..] if n == 1 => met_of(all, ([a], suns), flow),
        [a, b, _] if n == 2 => met_of(all, ([a, b], suns), flow),
        all_three if n == MOST => met_of(all, (all_three, suns), flow),
        _ => Found::Not,
    }
}

/// The sources of such a moment, the ohms that they share, and what each would hold.
struct Straight<'a, const N: usize> {
    circuit: &'a Charging,
    now: &'a BankHour<'a>,
    moment: &'a Moment<'a>,
    given: [Given; N],
    /// How many of them are trackers; these come first.
    suns: usize,
    ohm: [[f64; N]; N],
    /// Volts, and whether it is past absorption.
    holds: [(f64, bool); N],
    /// Whether it reads the volts at the posts.
    sensed: [bool; N],
    /// The bank's volts at rest and its ohms.
    line: (f64, f64),
}

/// What they all work with: the bank's line last.
type Around<'a> = (&'a Charging, &'a Bank, &'a BankHour<'a>, &'a Moment<'a>, (f64, f64));

#[inline]
fn met_of<const N: usize>(
    (circuit, bank, now, moment, line): Around<'_>,
    (given, suns): ([Given; N], usize),
    flow: &mut Flow,
) -> Found {
    let ohm = given.map(|one| given.map(|other| circuit.shared_ohm(one.k, other.k)));
    let (mut holds, mut sensed, mut absorb_v) = ([(0.0, false); N], [false; N], 0.0_f64);
    for i in 0..N {
        let Some(setting) = circuit.setting(given[i].k) else { return Found::Not };
        let held_h = moment.held_h.get(given[i].k).copied().unwrap_or(0.0);
        absorb_v = absorb_v.max(setting.charge.held_v(false, moment.battery_c));
        (holds[i], sensed[i]) = (held_v(setting, bank, now, moment, held_h), setting.sensed);
    }
    let straight = Straight { circuit, now, moment, given, suns, ohm, holds, sensed, line };
    let start_v = straight.start_v();
    // Past absorption they hold less.
    let least_v = straight.holds.iter().map(|(volts, _)| *volts).fold(absorb_v, f64::min);
    if start_v > least_v {
        // All of them would absorb at the same volts, or the general way has to look what is on offer.
        let same = absorb_v >= circuit.absorb_v(moment.battery_c);
        return Found::all(same && straight.held(absorb_v, flow));
    }
    straight.freely(start_v, flow)
}

impl<const N: usize> Straight<'_, N> {
    /// Near the volts of the posts with nothing held.
    fn start_v(&self) -> f64 {
        let (rest_v, bank_ohm) = self.line;
        let sum_w: f64 = self.given.iter().map(|one| one.watts.min(one.most_a * rest_v)).sum();
        rest_v + bank_ohm * (sum_w - self.moment.load_w) / rest_v
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
        let out_v = self.ohm.map(|row| posts_v + dot(&row, amps));
        let is_low = self.given.iter().zip(&out_v).any(|(one, out_v)| one.reach_v < *out_v);
        if is_low { None } else { Some(out_v) }
    }

    /// Each giving all it can, below what it would hold.
    fn freely(&self, start_v: f64, flow: &mut Flow) -> Found {
        let Some((amps, posts_v)) = self.currents(start_v) else { return Found::Not };
        let Some(out_v) = self.out_v(posts_v, &amps) else { return Found::Not };
        let net_a = amps.iter().sum::<f64>() - self.moment.load_w / posts_v;
        let above = |i: usize| (if self.sensed[i] { posts_v } else { out_v[i] }) > self.holds[i].0;
        let blocked = net_a > 0.0 && !self.now.may_charge();
        if !blocked && !self.may(net_a, posts_v) || (0..N).any(above) {
            return Found::Not;
        }
        self.put(&amps, &out_v, posts_v, flow);
        (flow.posts_v, flow.net_a) = (posts_v, net_a);
        if blocked { Found::Blocked } else { Found::All }
    }

    /// Each holding its volts and able to give more, or off where another holds more: currents and posts follow in one go.
    fn held(&self, absorb_v: f64, flow: &mut Flow) -> bool {
        let Some(offers) = self.currents_into(absorb_v) else { return false };
        let Some(out_v) = self.out_v(absorb_v, &offers) else { return false };
        let load_w = self.moment.load_w;
        let net_a = offers.iter().sum::<f64>() - load_w / absorb_v;
        if !(self.is_past() || net_a > 0.0 && self.now.needs_more(net_a, absorb_v)) {
            return false;
        }
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
            let Some(((idle_v, _), idle_a, _)) = idle() else { return false };
            return self.alone((&offers, &out_v, absorb_v), self.idle(idle_v, &idle_a), flow);
        };
        let mut net_a = net_a - load_w / posts_v;
        let mut limit = Limit::Held;
        if net_a > 0.0 && !self.now.may_charge() {
            let Some(((idle_v, _), idle_a, _)) = idle() else { return false };
            (posts_v, amps, net_a, limit) = (idle_v, idle_a, 0.0, Limit::Cold);
        }
        if !within(&amps) || !self.may(net_a, posts_v) || root_v <= 0.0 {
            return false;
        }
        self.put(&offers, &out_v, absorb_v, flow);
        for (one, sent_a) in self.given.iter().zip(amps) {
            if let Some(slot) = flow.amps.get_mut(one.k) {
                *slot = sent_a;
            }
        }
        if net_a < 0.0 {
            let idle = idle().filter(|((idle_v, _), ..)| *idle_v < rest_v);
            flow.idle = idle.map(|((idle_v, _), idle_a, _)| self.idle(idle_v, &idle_a));
        }
        (flow.posts_v, flow.net_a, flow.limit) = (posts_v, net_a, limit);
        true
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
    fn alone(&self, (offers, out_v, absorb_v): (&[f64; N], &[f64; N], f64), idle: Idle, flow: &mut Flow) -> bool {
        let given = self.now.give(Offer::Power(self.moment.load_w));
        let is_above = self.holds.iter().all(|(held_v, _)| given.volts > *held_v) && idle.posts_v < self.line.0;
        if !is_above || given.limit != Limit::None || given.current_a <= 0.0 || !self.now.may_charge() {
            return false;
        }
        self.put(offers, out_v, absorb_v, flow);
        flow.amps.fill(0.0);
        flow.idle = Some(idle);
        (flow.posts_v, flow.net_a, flow.limit) = (given.volts, -given.current_a, Limit::Held);
        true
    }

    /// Notes what each offers into some volts, and what it would hold.
    #[inline]
    fn put(&self, offers: &[f64; N], out_v: &[f64; N], offered_v: f64, flow: &mut Flow) {
        flow.offered_v = offered_v;
        flow.put_for(self.circuit, self.given.iter().fold(0, |all, one| all | 1 << (one.k & 63)));
        for i in 0..N {
            let k = self.given[i].k;
            let share = match self.circuit.solars.get(k).map(|solar| &solar.makes) {
                Some(Makes::Tracking(tracker)) => {
                    let best = self.moment.best.get(k).copied().unwrap_or_default();
                    source::at(tracker, best, offers[i], out_v[i], false)
                }
                _ => Share::default(),
            };
            flow.put(k, offers[i], self.holds[i], share);
        }
    }

    /// What the trackers give with nothing held, and the volts of the posts: Newton's method in the currents.
    /// Source: each `amps * out_v = watts` or its limit, Kirchhoff's laws, the bank's `rest_v + ohm * net_a`.
    #[inline]
    fn currents(&self, start_v: f64) -> Option<([f64; N], f64)> {
        let mut amps = self.near(start_v)?;
        // A round of what follows from these saves a step.
        let (rest_v, bank_ohm) = self.line;
        let posts_v = rest_v + bank_ohm * (amps.iter().sum::<f64>() - self.moment.load_w / start_v);
        amps = self.into(posts_v, &amps);
        for _ in 0..STEPS {
            let (posts_v, root_v) = self.posts(amps.iter().sum());
            if root_v < 0.1 * posts_v {
                return None;
            }
            if self.step(&mut amps, posts_v, self.line.1 * posts_v / root_v) {
                let (posts_v, root_v) = self.posts(amps.iter().sum());
                return (root_v > 0.0 && amps.iter().all(|a| *a >= 0.0)).then_some((amps, posts_v));
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
        Some(self.into(posts_v, &self.given.map(|one| (one.watts * over).min(one.most_a))))
    }

    /// What each gives into some volts with the drops of such currents.
    #[inline]
    fn into(&self, posts_v: f64, amps: &[f64; N]) -> [f64; N] {
        from_fn(|i| {
            let Given { watts, most_a, .. } = self.given[i];
            (watts / (posts_v + dot(&self.ohm[i], amps))).min(most_a)
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
