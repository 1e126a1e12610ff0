//! The commonest moments in which volts are held: all sources with the highest setting hold it and could give more, any
//! set lower are off. Each current is then a straight line over the posts' volts, and only the bank's own is searched
//! for; a bank that takes nothing leaves a quadratic. Sources set higher that cannot bring the bank so far give all they can.
//!
//! Whatever else is held goes to the search of [`super::held`], which finds the same here.

use std::array::from_fn;

use crate::physics::battery::{BankHour, Limit};

use super::held::{FIRM_OHM, SAME_SETTING_V, SMALL_A, Way, held_at, hold_ohm, is_sensed, let_go, note};
use super::joint::{self, meet_held};
use super::source::{offer, offset_v, one};
use super::straight::solved;
use super::{Charging, Flow, Idle, Lit, Makes, Moment};

/// Most sources that hold together. Source: our own choice; a coach rarely has more that give at a time.
const MOST: usize = 4;
/// Steps at most; two or three do.
const STEPS: usize = 10;
/// A step of this share leaves less than its square.
const NEAR: f64 = 1e-5;

/// The sources that hold: each gives `pull - volts * conductance`.
pub(super) struct Holding {
    places: [usize; MOST],
    n: usize,
    pub(super) pull: [f64; MOST],
    pub(super) conductance: [f64; MOST],
    /// Of all together.
    pull_a: f64,
    conductance_s: f64,
}

impl Holding {
    /// Those with the highest setting of all that have something to give; none where they are too many.
    fn of(circuit: &Charging, flow: &Flow) -> Option<Self> {
        let giving = || flow.held.iter().zip(&flow.offers).enumerate().filter(|(_, (_, offer_a))| **offer_a > 0.0);
        let highest_v = giving().map(|(_, (held_v, _))| *held_v).fold(0.0, f64::max);
        if highest_v <= 0.0 {
            return None;
        }
        let (mut places, mut n) = ([0; MOST], 0);
        for (k, _) in giving().filter(|(_, (held_v, _))| **held_v >= highest_v - SAME_SETTING_V) {
            *places.get_mut(n)? = k;
            n += 1;
        }
        let all = Self::at(places, n);
        Some(match n {
            1 => all.lines::<1>(circuit, flow),
            2 => all.lines::<2>(circuit, flow),
            3 => all.lines::<3>(circuit, flow),
            _ => all.lines::<MOST>(circuit, flow),
        })
    }

    fn at(places: [usize; MOST], n: usize) -> Self {
        Self { places, n, pull: [0.0; MOST], conductance: [0.0; MOST], pull_a: 0.0, conductance_s: 0.0 }
    }

    /// Some sources, and the volts that each holds; none where they are too many.
    #[inline]
    pub(super) fn among<const N: usize>(circuit: &Charging, sources: [usize; N], held: [f64; N]) -> Option<Self> {
        let mut places = [0; MOST];
        places.get_mut(..N)?.copy_from_slice(&sources);
        Some(Self::at(places, N).lines_of(circuit, held))
    }

    #[inline]
    fn lines<const N: usize>(self, circuit: &Charging, flow: &Flow) -> Self {
        let held = from_fn(|i| held_at(flow, self.places[i]));
        self.lines_of::<N>(circuit, held)
    }

    /// With the line of each.
    /// Source: Kirchhoff's laws; each stands at its volts behind what it and the others drop in the ways they share.
    #[inline]
    fn lines_of<const N: usize>(mut self, circuit: &Charging, held: [f64; N]) -> Self {
        let mut rows = [[0.0; N]; N];
        for (i, k) in self.places.iter().take(N).enumerate() {
            let sensed = is_sensed(circuit, *k);
            for (j, other) in self.places.iter().take(N).enumerate() {
                let own = if i == j { FIRM_OHM } else { 0.0 };
                rows[i][j] = own + if sensed { 0.0 } else { circuit.shared_ohm(*k, *other) };
            }
        }
        let [pull, conductance] = solved(rows, [held, [1.0; N]]);
        for i in 0..N {
            (self.pull[i], self.conductance[i]) = (pull[i], conductance[i]);
            self.pull_a += pull[i];
            self.conductance_s += conductance[i];
        }
        self
    }

    /// Net current and volts at which they agree with a bank that takes it and with the load: Newton's method.
    pub(super) fn charging(&self, now: &BankHour<'_>, load_w: f64) -> Option<(f64, f64)> {
        let load_a = load_w * self.conductance_s / self.pull_a;
        let (emf_v, ohm) = ((self.pull_a - load_a) / self.conductance_s, self.conductance_s.recip());
        let mut net_a = now.nearly_taken_a(emf_v, ohm);
        for _ in 0..STEPS {
            let bank = now.curve(net_a);
            let load_a = load_w / bank.volts;
            let off_a = self.pull_a - self.conductance_s * bank.volts - load_a - net_a;
            let step_a = off_a / (1.0 + bank.ohm * (self.conductance_s - load_a / bank.volts));
            net_a += step_a;
            if net_a.is_nan() || net_a <= 0.0 {
                return None;
            }
            if step_a.abs() <= NEAR * net_a {
                return Some((net_a, bank.volts + bank.ohm * step_a));
            }
        }
        None
    }

    /// Volts at which they just carry the load, the bank taking nothing; none where there are none.
    fn resting_v(&self, load_w: f64) -> Option<f64> {
        let squared = self.pull_a * self.pull_a - 4.0 * self.conductance_s * load_w;
        (squared >= 0.0).then(|| (self.pull_a + squared.sqrt()) / (2.0 * self.conductance_s))
    }

    /// Notes what each gives at some volts; whether all of them could give more, and those that are off stand below.
    fn put(&self, circuit: &Charging, moment: &Moment<'_>, volts: f64, flow: &mut Flow) -> bool {
        flow.amps.fill(0.0);
        let places = self.places.get(..self.n).unwrap_or_default();
        for (k, (pull, conductance)) in places.iter().zip(self.pull.iter().zip(&self.conductance)) {
            let amps = pull - volts * conductance;
            let Some(slot) = flow.amps.get_mut(*k) else { return false };
            if !(-SMALL_A..flow.offers.get(*k).copied().unwrap_or(0.0)).contains(&amps) {
                return false;
            }
            *slot = amps.max(0.0);
        }
        // At lower volts than those of the offers each could give that and more.
        let could = |k: &usize| {
            let given_a = flow.amps.get(*k).copied().unwrap_or(0.0);
            given_a < one(circuit, moment, *k, volts + offset_v(circuit, *k, &flow.amps)).out_a
        };
        if volts > flow.offered_v && !places.iter().all(could) {
            return false;
        }
        let is_off = |k: usize| {
            let seen_v = volts + if is_sensed(circuit, k) { 0.0 } else { offset_v(circuit, k, &flow.amps) };
            held_at(flow, k) <= seen_v
        };
        (0..circuit.sources())
            .all(|k| places.contains(&k) || flow.offers.get(k).is_none_or(|offer_a| *offer_a <= 0.0) || is_off(k))
    }
}

/// How each works, as the search begins: those with the highest settings give all they can, until that brings the bank above
/// a setting; those that have it hold it, and any below it are off. None where they are too many.
fn ways(circuit: &Charging, now: &BankHour<'_>, load_w: f64, flow: &Flow) -> Option<[Way; MOST]> {
    let mut ways = [Way::Free; MOST];
    ways.get(..circuit.sources())?;
    let giving = || flow.held.iter().zip(&flow.offers).enumerate().filter(|(_, (_, offer_a))| **offer_a > 0.0);
    let (mut above_v, mut sum_a) = (f64::INFINITY, 0.0);
    loop {
        let lower = || giving().filter(|(_, (held_v, _))| **held_v < above_v);
        let highest_v = lower().map(|(_, (held_v, _))| *held_v).fold(f64::NEG_INFINITY, f64::max);
        if highest_v == f64::NEG_INFINITY {
            return Some(ways);
        }
        above_v = highest_v - SAME_SETTING_V;
        let equal = || giving().filter(|(_, (held_v, _))| (above_v..=highest_v).contains(*held_v));
        let way = if stands_above(now, load_w, highest_v, sum_a, false) {
            Way::Off
        } else {
            sum_a += equal().map(|(_, (_, offer_a))| offer_a).sum::<f64>();
            if stands_above(now, load_w, highest_v, sum_a, false) { Way::Holding } else { Way::Free }
        };
        for (k, _) in equal() {
            if let Some(slot) = ways.get_mut(k) {
                *slot = way;
            }
        }
    }
}

/// Some of the sources giving all they can below what they would hold, the others in their ways; net current and volts.
fn beside_free(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    ways: &[Way],
    flow: &mut Flow,
) -> Option<(f64, f64)> {
    let (net_a, volts) = meet_held(circuit, now, moment, ways, joint::Bank::Charging, flow)?;
    let fits = |(k, way): (usize, &Way)| {
        let (amps, offer_a) = (flow.amps.get(k).copied()?, flow.offers.get(k).copied()?);
        let seen_v = volts + if is_sensed(circuit, k) { 0.0 } else { offset_v(circuit, k, &flow.amps) };
        Some(match way {
            _ if offer_a <= 0.0 => amps <= 0.0,
            Way::Free => seen_v + (hold_ohm(circuit, k) - FIRM_OHM) * amps <= held_at(flow, k),
            Way::Holding => (0.0..offer_a).contains(&amps),
            Way::Off => held_at(flow, k) <= seen_v,
        })
    };
    ways.iter().enumerate().all(|way| fits(way) == Some(true)).then_some((net_a, volts))
}

/// Solves a moment in which sources hold their volts while the bank charges; `false`: it is none of these, and what flows
/// is still to be found. Needs the offers, and what each holds.
pub(super) fn met(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> bool {
    if !now.may_charge() {
        return false;
    }
    let Some(ways) = ways(circuit, now, moment.load_w, flow) else { return false };
    let ways = ways.get(..circuit.sources()).unwrap_or_default();
    let is_one = |which: Way| {
        let mut giving = ways.iter().zip(&flow.offers).filter(|(_, offer_a)| **offer_a > 0.0);
        giving.any(|(way, _)| *way == which)
    };
    if is_one(Way::Free) {
        // Where nothing holds and nothing is off, all give into the volts that they bring.
        if !is_one(Way::Holding) && !is_one(Way::Off) {
            return false;
        }
        let Some((net_a, volts)) = beside_free(circuit, now, moment, ways, flow) else { return false };
        if net_a <= 0.0 || net_a >= now.most_charge_a() || volts > flow.offered_v {
            return false;
        }
        share_out(net_a + moment.load_w / volts, &mut flow.amps);
        (flow.posts_v, flow.net_a, flow.limit) = (volts, net_a, Limit::Held);
        return true;
    }
    let found = Holding::of(circuit, flow).and_then(|h| Some((h.charging(now, moment.load_w)?, h)));
    let Some(((net_a, volts), holding)) = found else { return false };
    if net_a >= now.most_charge_a() || volts > flow.offered_v || !holding.put(circuit, moment, volts, flow) {
        return false;
    }
    share_out(net_a + moment.load_w / volts, &mut flow.amps);
    (flow.posts_v, flow.net_a, flow.limit) = (volts, net_a, Limit::Held);
    true
}

/// Solves a moment in which sources are past their absorption and hold what comes then; `false`: it is none, and nothing
/// but memory is changed. Needs what each holds. The search would find the same.
pub(super) fn past(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    absorb_v: f64,
    flow: &mut Flow,
) -> bool {
    if !flow.floating.contains(&true) || !now.may_charge() || most_a(circuit, moment, flow) * absorb_v < moment.load_w {
        return false;
    }
    // Where all of it would not bring the bank to absorption, it is on offer at what it would bring it to.
    let net_a = offer(circuit, moment, absorb_v, flow).amps - moment.load_w / absorb_v;
    if net_a <= 0.0 || !now.needs_more(net_a, absorb_v) {
        return false;
    }
    flow.offered_v = absorb_v;
    let_go(flow);
    let is_met = met(circuit, now, moment, flow);
    if !is_met {
        // At lower volts one may give that gives nothing here.
        note(circuit, now, moment, flow);
    }
    is_met
}

/// No less than all sources can send.
fn most_a(circuit: &Charging, moment: &Moment<'_>, flow: &Flow) -> f64 {
    let of_sun = circuit.solars.iter().zip(moment.lit).zip(&flow.most_a).map(|((solar, lit), most_a)| {
        match (lit, &solar.makes) {
            (Lit::None, _) => 0.0,
            (Lit::Even { cell, .. }, Makes::Pwm { .. }) => cell.il_a.min(*most_a),
            _ => *most_a,
        }
    });
    let of_others = circuit.feeders.iter().zip(moment.feeding).map(|(feeder, share)| feeder.out_a * share);
    of_sun.sum::<f64>() + of_others.sum::<f64>()
}

/// The same where a bank too cold to charge takes nothing.
pub(super) fn cold(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> bool {
    if now.may_charge() {
        return false;
    }
    let Some(volts) = resting(circuit, moment, flow).filter(|v| *v >= now.discharge_rest_v()) else { return false };
    (flow.posts_v, flow.net_a, flow.limit) = (volts, 0.0, Limit::Cold);
    true
}

/// Where sources that hold carry the loads beside a bank that rests: the volts, and their currents into the flow; none
/// where it takes a search.
fn resting(circuit: &Charging, moment: &Moment<'_>, flow: &mut Flow) -> Option<f64> {
    let holding = Holding::of(circuit, flow)?;
    let volts = holding.resting_v(moment.load_w)?;
    holding.put(circuit, moment, volts, flow).then(|| {
        share_out(moment.load_w / volts, &mut flow.amps);
        volts
    })
}

/// What the bank comes to rest at beside them, and what of the loads the solar controllers carry then. The currents in the
/// flow are not to be kept.
pub(super) fn idle(circuit: &Charging, moment: &Moment<'_>, flow: &mut Flow) -> Option<Idle> {
    let posts_v = resting(circuit, moment, flow)?;
    let (solar_a, sum_a) = (flow.amps.iter().take(circuit.solars.len()).sum::<f64>(), flow.sources_a());
    Some(Idle { posts_v, solar_share: if sum_a > 0.0 { solar_a / sum_a } else { 0.0 } })
}

/// Whether the bank at so many amps of the sources stands above some volts; one that takes nothing, if they have any over.
#[inline]
pub(super) fn stands_above(now: &BankHour<'_>, load_w: f64, held_v: f64, sum_a: f64, blocked: bool) -> bool {
    let net_a = sum_a - load_w / held_v.max(0.1);
    match blocked {
        true => net_a > 0.0,
        false if net_a >= 0.0 => now.needs_more(net_a, held_v),
        false => now.discharge_rest_v() > held_v && now.curve(net_a).volts > held_v,
    }
}

/// Makes the sources' currents add up to what is taken, each with its share of them.
pub(super) fn share_out(taken_a: f64, amps: &mut [f64]) {
    let sum = amps.iter().sum::<f64>();
    if sum > 0.0 && taken_a.is_finite() {
        let share = (taken_a / sum).max(0.0);
        amps.iter_mut().for_each(|a| *a *= share);
    }
}

/// Solves the rows' equations for both their right sides, in place: Gauss and Jordan without exchange, as each row's
/// own resistance is its largest.
pub(super) fn eliminate(rows: &mut [f64], n: usize) {
    let width = n + 2;
    for i in 0..n {
        let (before, rest) = rows.split_at_mut(i * width);
        let (pivot, after) = rest.split_at_mut(width);
        let own = pivot.get(i).copied().unwrap_or(1.0);
        pivot.iter_mut().for_each(|x| *x /= own);
        for row in before.chunks_exact_mut(width).chain(after.chunks_exact_mut(width)) {
            let factor = row.get(i).copied().unwrap_or(0.0);
            if factor != 0.0 {
                row.iter_mut().zip(pivot.iter()).for_each(|(x, p)| *x -= factor * p);
            }
        }
    }
}
