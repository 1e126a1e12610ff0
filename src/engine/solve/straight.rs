//! The commonest moments of a year: one tracker or two at their arrays' maximum, into a bank whose volts follow its
//! current along a straight line, with nothing near a limit: all giving what they can, or all holding their volts. The
//! bank's volts are then a root of the currents' sum, and only the currents are searched for; where they are held, even
//! these follow in one go.
//!
//! Whatever else a moment is goes to [`super::joint`], which finds the same here.

use std::array::from_fn;

use crate::physics::battery::{Bank, BankHour, Limit, Offer};
use crate::physics::controller::Tracker;

use super::held::FIRM_OHM;
use super::source::{self, is_dark};
use super::{Charging, Flow, Idle, Kind, Makes, Moment, held_v};

/// Steps at most; one does, or two.
const STEPS: usize = 8;
/// A step of this share of a current leaves less than its square: what changes the volts is a small part of them.
const NEAR: f64 = 1e-5;

/// A tracker that gives.
#[derive(Clone, Copy)]
struct Given<'a> {
    k: usize,
    tracker: &'a Tracker,
    /// Output with the array at its maximum.
    watts: f64,
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

/// Solves the moment if it is one of these.
pub(super) fn met(circuit: &Charging, bank: &Bank, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> Found {
    if flow.kind != Kind::Arithmetic || moment.feeding.iter().any(|share| *share > 0.0) {
        return Found::Not;
    }
    let mut lit = (0..circuit.solars.len()).filter(|k| !is_dark(circuit, moment, *k));
    let given = |k: usize, flow: &Flow| match &circuit.solars.get(k)?.makes {
        Makes::Tracking(tracker) => Some(Given { k, tracker, watts: *flow.watts.get(k)? }),
        Makes::Pwm { .. } => None,
    };
    match (lit.next(), lit.next(), lit.next()) {
        (Some(a), None, _) => given(a, flow).map_or(Found::Not, |a| met_of(circuit, bank, now, moment, [a], flow)),
        (Some(a), Some(b), None) => {
            let both = given(a, flow).zip(given(b, flow));
            both.map_or(Found::Not, |(a, b)| met_of(circuit, bank, now, moment, [a, b], flow))
        }
        _ => Found::Not,
    }
}

/// The trackers of such a moment, the ohms that they share, and what each would hold.
struct Straight<'a, const N: usize> {
    circuit: &'a Charging,
    now: &'a BankHour<'a>,
    moment: &'a Moment<'a>,
    given: [Given<'a>; N],
    ohm: [[f64; N]; N],
    /// Volts, and whether it is past absorption.
    holds: [(f64, bool); N],
    /// Whether it reads the volts at the posts.
    sensed: [bool; N],
    /// The bank's volts at rest and its ohms.
    line: (f64, f64),
}

fn met_of<const N: usize>(
    circuit: &Charging,
    bank: &Bank,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    given: [Given<'_>; N],
    flow: &mut Flow,
) -> Found {
    let Some(line) = now.line() else { return Found::Not };
    let ohm = given.map(|one| given.map(|other| circuit.shared_ohm(one.k, other.k)));
    let (mut holds, mut sensed, mut absorb_v) = ([(0.0, false); N], [false; N], 0.0_f64);
    for i in 0..N {
        let Some(setting) = circuit.setting(given[i].k) else { return Found::Not };
        let held_h = moment.held_h.get(given[i].k).copied().unwrap_or(0.0);
        absorb_v = absorb_v.max(setting.charge.held_v(false, moment.battery_c));
        (holds[i], sensed[i]) = (held_v(setting, bank, now, moment, held_h), setting.sensed);
    }
    let straight = Straight { circuit, now, moment, given, ohm, holds, sensed, line };
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
        let sum_w: f64 = self.given.iter().map(|one| one.watts).sum();
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
        let is_low = |(one, out_v): (&Given<'_>, &f64)| {
            let best_v = self.moment.best.get(one.k).map_or(0.0, |best| best.v);
            best_v < out_v + one.tracker.headroom_v
        };
        if self.given.iter().zip(&out_v).any(is_low) { None } else { Some(out_v) }
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

    /// Each holding its volts and able to give more: currents and posts follow in one go.
    fn held(&self, absorb_v: f64, flow: &mut Flow) -> bool {
        let Some(offers) = self.currents_into(absorb_v) else { return false };
        let Some(out_v) = self.out_v(absorb_v, &offers) else { return false };
        let load_w = self.moment.load_w;
        let net_a = offers.iter().sum::<f64>() - load_w / absorb_v;
        if !(self.is_past() || net_a > 0.0 && self.now.needs_more(net_a, absorb_v)) {
            return false;
        }
        // Every current is `pull - posts_v * conductance`, and so is their sum.
        let rows: [[f64; N]; N] = from_fn(|i| {
            from_fn(|j| if self.sensed[i] { 0.0 } else { self.ohm[i][j] } + if i == j { FIRM_OHM } else { 0.0 })
        });
        let [pull, conductance] = solved(rows, [self.holds.map(|(held_v, _)| held_v), [1.0; N]]);
        let (pull_a, conductance_s) = (pull.iter().sum::<f64>(), conductance.iter().sum::<f64>());
        let (rest_v, bank_ohm) = self.line;
        let weight = 1.0 + bank_ohm * conductance_s;
        let driven_v = (rest_v + bank_ohm * pull_a) / weight;
        let root_v = (driven_v * driven_v - 4.0 * bank_ohm * load_w / weight).max(0.0).sqrt();
        let mut posts_v = 0.5 * (driven_v + root_v);
        // With a bank that rests.
        let idle_v =
            (pull_a + (pull_a * pull_a - 4.0 * conductance_s * load_w).max(0.0).sqrt()) / (2.0 * conductance_s);
        let mut net_a = pull_a - posts_v * conductance_s - load_w / posts_v;
        let mut limit = Limit::Held;
        if net_a > 0.0 && !self.now.may_charge() {
            (posts_v, net_a, limit) = (idle_v, 0.0, Limit::Cold);
        }
        let amps: [f64; N] = from_fn(|i| pull[i] - posts_v * conductance[i]);
        let within = |amps: [f64; N]| amps.iter().zip(&offers).all(|(a, most_a)| (0.0..*most_a).contains(a));
        if amps.iter().all(|a| *a < 0.0) && within(from_fn(|i| pull[i] - idle_v * conductance[i])) {
            return self.alone(&offers, &out_v, absorb_v, idle_v, flow);
        }
        if !within(amps) || !self.may(net_a, posts_v) || root_v <= 0.0 {
            return false;
        }
        self.put(&offers, &out_v, absorb_v, flow);
        for (one, sent_a) in self.given.iter().zip(amps) {
            if let Some(slot) = flow.amps.get_mut(one.k) {
                *slot = sent_a;
            }
        }
        if net_a < 0.0 && idle_v < rest_v && within(from_fn(|i| pull[i] - idle_v * conductance[i])) {
            flow.idle = Some(Idle { posts_v: idle_v, solar_share: 1.0 });
        }
        (flow.posts_v, flow.net_a, flow.limit) = (posts_v, net_a, limit);
        true
    }

    /// The bank standing above what all of them hold: it carries the loads alone, down to where they do at `idle_v`.
    fn alone(&self, offers: &[f64; N], out_v: &[f64; N], absorb_v: f64, idle_v: f64, flow: &mut Flow) -> bool {
        let given = self.now.give(Offer::Power(self.moment.load_w));
        let is_above = self.holds.iter().all(|(held_v, _)| given.volts > *held_v) && idle_v < self.line.0;
        if !is_above || given.limit != Limit::None || given.current_a <= 0.0 || !self.now.may_charge() {
            return false;
        }
        self.put(offers, out_v, absorb_v, flow);
        flow.amps.fill(0.0);
        flow.idle = Some(Idle { posts_v: idle_v, solar_share: 1.0 });
        (flow.posts_v, flow.net_a, flow.limit) = (given.volts, -given.current_a, Limit::Held);
        true
    }

    /// Notes what each offers into some volts, and what it would hold.
    #[inline]
    fn put(&self, offers: &[f64; N], out_v: &[f64; N], offered_v: f64, flow: &mut Flow) {
        flow.offered_v = offered_v;
        flow.no_settings(self.circuit.sources());
        for i in 0..N {
            let Given { k, tracker, .. } = self.given[i];
            let best = self.moment.best.get(k).copied().unwrap_or_default();
            flow.put(k, offers[i], self.holds[i], source::at(tracker, best, offers[i], out_v[i], false));
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
        Some(self.into(posts_v, &self.given.map(|one| one.watts * over)))
    }

    /// What each gives into some volts with the drops of such currents.
    #[inline]
    fn into(&self, posts_v: f64, amps: &[f64; N]) -> [f64; N] {
        from_fn(|i| {
            let Given { tracker, watts, .. } = self.given[i];
            (watts / (posts_v + dot(&self.ohm[i], amps))).min(tracker.most_a)
        })
    }

    /// A step towards where all agree, the posts rising by `rise_ohm` for each ampere; whether it was a small one.
    #[inline]
    fn step(&self, amps: &mut [f64; N], posts_v: f64, rise_ohm: f64) -> bool {
        let (mut rows, mut off) = ([[0.0; N]; N], [0.0; N]);
        for i in 0..N {
            let Given { tracker, watts, .. } = self.given[i];
            let out_v = posts_v + dot(&self.ohm[i], amps);
            if tracker.most_a * out_v <= watts {
                off[i] = tracker.most_a - amps[i];
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
