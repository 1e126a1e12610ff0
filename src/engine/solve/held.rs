//! What flows where a held voltage or the bank's own limit lets in less than is on offer.

use crate::physics::battery::{Bank, BankHour, Limit, Offer};

use super::meet::LEAST_SHARE;
use super::source::{offset_v, one};
use super::{Charging, Flow, Moment, Posts, held_v};

/// Rounds of a search; Newton's steps need three or four.
const ROUNDS: usize = 60;
/// Changes of which source is held; there are rarely more than two.
const TURNS: usize = 12;
/// Share of the volts where a search ends.
const SAME: f64 = 1e-12;
/// Ohms between a sensed post and the source that holds it: its volts fall by less than 0.2 mV, and no division is by
/// zero. Source: our own choice.
const FIRM_OHM: f64 = 1e-6;

/// A current that is none. Source: our own choice; a source that just holds its volts must not be thought off.
const SMALL_A: f64 = 1e-6;

/// How a source works.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    /// Gives all it can.
    Free,
    /// Holds its volts.
    Holding,
    /// Its volts are exceeded by what another holds.
    Off,
}

/// Notes what each source holds; whether any of them stands above it in the flow as it is.
pub(super) fn binds(circuit: &Charging, bank: &Bank, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> bool {
    note(circuit, bank, now, moment, flow);
    (0..circuit.sources()).any(|k| {
        let out_a = flow.amps.get(k).copied().unwrap_or(0.0);
        out_a > 0.0 && out_v(circuit, k, flow.posts_v, &flow.amps) > held_at(flow, k) * (1.0 + SAME)
    })
}

fn note(circuit: &Charging, bank: &Bank, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) {
    if !flow.held.is_empty() {
        return;
    }
    for k in 0..circuit.sources() {
        let held_h = moment.held_h.get(k).copied().unwrap_or(0.0);
        let (volts, floating) = circuit.setting(k).map_or((0.0, false), |s| held_v(s, bank, now, moment, held_h));
        flow.held.push(volts);
        flow.floating.push(floating);
    }
}

fn held_at(flow: &Flow, k: usize) -> f64 {
    flow.held.get(k).copied().unwrap_or(0.0)
}

fn is_sensed(circuit: &Charging, k: usize) -> bool {
    circuit.setting(k).is_some_and(|s| s.sensed)
}

/// Volts that a source reads.
fn out_v(circuit: &Charging, k: usize, posts_v: f64, amps: &[f64]) -> f64 {
    if is_sensed(circuit, k) {
        return posts_v;
    }
    posts_v + circuit.row(k).iter().zip(amps).map(|(ohm, a)| ohm * a).sum::<f64>()
}

/// What really flows. The offers in the flow stay as they are; where there are none yet at these volts, `one` finds
/// them as it goes.
pub(super) fn settle(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) {
    let Posts::Bank(bank) = &circuit.posts else { return };
    note(circuit, bank, now, moment, flow);
    let (shares, offers) = (flow.shares.clone(), flow.offers.clone());
    flow.amps.copy_from_slice(&offers);
    let n = circuit.sources();
    let mut ways = vec![Way::Free; n];
    for (k, way) in ways.iter_mut().enumerate() {
        if flow.amps.get(k).is_some_and(|a| *a > 0.0)
            && out_v(circuit, k, flow.offered_v, &flow.amps) > held_at(flow, k)
        {
            *way = Way::Holding;
        }
    }
    let first = ways.clone();
    let (mut net_a, mut volts) = settled(circuit, now, moment, &mut ways, false, flow);
    let blocked = net_a > 0.0 && !now.may_charge();
    if blocked {
        ways = first;
        flow.amps.copy_from_slice(&offers);
        (net_a, volts) = settled(circuit, now, moment, &mut ways, true, flow);
    }
    if !agrees(moment, net_a, volts, flow) {
        (net_a, volts) = by_halving(circuit, now, moment, &mut ways, blocked, flow);
    }
    if net_a < 0.0 && now.hinders(-net_a, volts) != Limit::None {
        short(circuit, now, moment, &mut ways, flow);
        (flow.shares, flow.offers) = (shares, offers);
        return;
    }
    flow.limit = Limit::Held;
    if blocked {
        flow.limit = Limit::Cold;
    } else if net_a >= now.most_charge_a() {
        net_a = now.most_charge_a();
        volts = now.curve(net_a).volts;
        flow.limit = Limit::Current;
        // What each could give at these lower volts, to share out from.
        turn_until_steady(circuit, moment, volts, &mut ways, flow);
    }
    share_out(net_a + moment.load_w / volts, flow);
    (flow.posts_v, flow.net_a) = (volts, net_a);
    (flow.shares, flow.offers) = (shares, offers);
}

/// Whether what the sources give is what bank and loads take.
fn agrees(moment: &Moment<'_>, net_a: f64, volts: f64, flow: &Flow) -> bool {
    let (taken_a, given_a) = (net_a + moment.load_w / volts, flow.sources_a());
    net_a == f64::NEG_INFINITY || (taken_a - given_a).abs() <= 1e-4 * (1.0 + given_a)
}

/// The same by halving the volts, where sources with unlike settings on one way never stop changing: slow and sure.
fn by_halving(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    ways: &mut [Way],
    blocked: bool,
    flow: &mut Flow,
) -> (f64, f64) {
    let highest_v = flow.held.iter().copied().fold(flow.offered_v, f64::max);
    let (mut low_v, mut high_v) = (now.discharge_rest_v(), highest_v.max(now.discharge_rest_v()));
    let mut net_a = f64::NEG_INFINITY;
    for _ in 0..ROUNDS {
        let volts = f64::midpoint(low_v, high_v);
        turn_until_steady(circuit, moment, volts, ways, flow);
        let spare_a = flow.sources_a() - moment.load_w / volts;
        net_a = if blocked { 0.0 } else { now.accepted_a(volts) };
        if spare_a > net_a {
            low_v = volts;
        } else {
            high_v = volts;
        }
    }
    // Below its rest the bank would have to give.
    let volts = f64::midpoint(low_v, high_v);
    if low_v == now.discharge_rest_v() { (f64::NEG_INFINITY, volts) } else { (net_a, volts) }
}

/// Goes on until no source changes its way; net current and volts.
fn settled(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    ways: &mut [Way],
    blocked: bool,
    flow: &mut Flow,
) -> (f64, f64) {
    let (mut net_a, mut volts) = (0.0, flow.offered_v);
    for _ in 0..TURNS {
        let mut pull = Pull::of(circuit, ways, flow);
        (net_a, volts) = together(circuit, now, moment, ways, &mut pull, blocked, flow);
        let before = flow.amps.clone();
        if !turn(circuit, moment, volts, ways, flow) && steady(&before, &flow.amps) {
            break;
        }
    }
    (net_a, volts)
}

/// The bank gives what its limits allow beside sources that hold their volts or are off.
fn short(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, ways: &mut [Way], flow: &mut Flow) {
    let mut volts = now.discharge_rest_v();
    // The higher the volts, the less the sources give and the lower the bank is drawn.
    let (mut low_v, mut high_v) = (0.0, volts * (1.0 + SAME));
    for round in 0..ROUNDS {
        let before = flow.amps.clone();
        let turned = turn(circuit, moment, volts, ways, flow);
        let given = now.give(Offer::Power((moment.load_w - flow.sources_a() * volts).max(0.0)));
        (flow.net_a, flow.limit) = (-given.current_a, given.limit);
        let settled = (given.volts - volts).abs() <= SAME * volts;
        if given.volts > volts {
            low_v = volts;
        } else {
            high_v = volts;
        }
        let inside = round < 8 && given.volts > low_v && given.volts < high_v;
        volts = if inside || settled { given.volts } else { f64::midpoint(low_v, high_v) };
        // One that is down for what is asked of it stays so, though it could give a little less.
        if given.limit == Limit::Empty || settled && !turned && steady(&before, &flow.amps) {
            break;
        }
    }
    if flow.limit == Limit::Empty {
        volts = now.rest_v();
    }
    // A bank that gives less the more is asked may never settle: what the sources give is that at the last volts.
    turn_until_steady(circuit, moment, volts, ways, flow);
    flow.posts_v = volts;
    flow.no_more_than_asked(moment);
}

fn turn_until_steady(circuit: &Charging, moment: &Moment<'_>, volts: f64, ways: &mut [Way], flow: &mut Flow) {
    for _ in 0..TURNS {
        let before = flow.amps.clone();
        if !turn(circuit, moment, volts, ways, flow) && steady(&before, &flow.amps) {
            break;
        }
    }
}

fn steady(before: &[f64], after: &[f64]) -> bool {
    before.iter().zip(after).all(|(a, b)| (a - b).abs() <= 1e-9 * (a.abs() + b.abs()))
}

/// Makes the sources' currents add up to what is taken, each with its share of them.
fn share_out(taken_a: f64, flow: &mut Flow) {
    let sum = flow.sources_a();
    if sum > 0.0 && taken_a.is_finite() {
        let share = (taken_a / sum).max(0.0);
        flow.amps.iter_mut().for_each(|a| *a *= share);
    }
}

/// The holding sources as one: volts behind a conductance; and each of them as a line `amps - volts * conductance_s`.
struct Pull {
    conductance_s: f64,
    amps: f64,
    lines: Vec<(usize, f64, f64)>,
}

impl Pull {
    /// Each holding source stands at its volts behind what it and the others drop in the ways they share.
    fn of(circuit: &Charging, ways: &[Way], flow: &Flow) -> Self {
        let holding = || ways.iter().enumerate().filter(|(_, way)| **way == Way::Holding).map(|(k, _)| k);
        let mut rows: Vec<(usize, Vec<f64>, f64, f64)> = holding()
            .map(|k| {
                let row = circuit.row(k);
                let of = |j: usize| if is_sensed(circuit, k) { 0.0 } else { row.get(j).copied().unwrap_or(0.0) };
                let ohms = holding().map(|j| of(j) + if j == k { FIRM_OHM } else { 0.0 }).collect();
                let others = flow.amps.iter().enumerate().filter(|(j, _)| ways.get(*j) != Some(&Way::Holding));
                let offset_v: f64 = others.map(|(j, a)| of(j) * a).sum();
                (k, ohms, held_at(flow, k) - offset_v, 1.0)
            })
            .collect();
        eliminate(&mut rows);
        let lines: Vec<(usize, f64, f64)> = rows.into_iter().map(|(k, _, amps, s)| (k, amps, s)).collect();
        Self { conductance_s: lines.iter().map(|l| l.2).sum(), amps: lines.iter().map(|l| l.1).sum(), lines }
    }

    /// Volts at which the holding sources give just what is asked of them beside a spare current.
    fn volts(&self, spare_a: f64) -> f64 {
        (self.amps + spare_a) / self.conductance_s
    }

    /// What a holding source gives at some volts of the posts.
    fn line_a(&self, k: usize, volts: f64) -> Option<f64> {
        self.lines.iter().find(|l| l.0 == k).map(|(_, amps, s)| amps - s * volts)
    }
}

/// Solves the rows' equations for both their right sides, in place: Gauss and Jordan without exchange, as each row's
/// own resistance is its largest.
fn eliminate(rows: &mut [(usize, Vec<f64>, f64, f64)]) {
    for i in 0..rows.len() {
        let Some((_, ohms, amps, s)) = rows.get_mut(i) else { return };
        let own = ohms.get(i).copied().unwrap_or(1.0);
        ohms.iter_mut().for_each(|ohm| *ohm /= own);
        (*amps, *s) = (*amps / own, *s / own);
        let (pivot, pivot_amps, pivot_s) = (ohms.clone(), *amps, *s);
        for (j, (_, ohms, amps, s)) in rows.iter_mut().enumerate() {
            let factor = ohms.get(i).copied().unwrap_or(0.0);
            if j != i && factor != 0.0 {
                ohms.iter_mut().zip(&pivot).for_each(|(ohm, p)| *ohm -= factor * p);
                (*amps, *s) = (*amps - factor * pivot_amps, *s - factor * pivot_s);
            }
        }
    }
}

/// Net current and volts at which holding sources, free sources, load and bank agree.
fn together(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    ways: &[Way],
    pull: &mut Pull,
    blocked: bool,
    flow: &mut Flow,
) -> (f64, f64) {
    let spare_a =
        |volts: f64, flow: &mut Flow| free_a(circuit, moment, volts, ways, flow) - moment.load_w / volts.max(0.1);
    if pull.conductance_s <= 0.0 {
        if blocked {
            // Too little for the loads brings the volts down until another source comes in; too much, up.
            let high_v = flow.offered_v;
            let enough = spare_a(high_v, flow) > 0.0;
            return (0.0, if enough { high_v } else { now.discharge_rest_v() });
        }
        // Without one that holds, all the current there is flows.
        pull.conductance_s = 1e-12;
    }
    let pull = &*pull;
    let resting = |low_v: f64, high_v: f64, flow: &mut Flow| {
        let mut volts = pull.volts(0.0).clamp(low_v, high_v);
        for _ in 0..ROUNDS {
            let next_v = pull.volts(spare_a(volts, flow)).clamp(low_v, high_v);
            let settled = (next_v - volts).abs() <= SAME * volts.abs();
            volts = next_v;
            if settled {
                break;
            }
        }
        (0.0, volts)
    };
    if blocked {
        return resting(0.0, f64::MAX, flow);
    }
    let (mut low_a, mut high_a) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut net_a = now.accepted_a(pull.volts(0.0));
    let mut volts = 0.0;
    for round in 0..ROUNDS {
        let bank = now.curve(net_a);
        volts = bank.volts;
        if net_a < 0.0 && volts < LEAST_SHARE * now.discharge_rest_v() {
            // No volts at which bank and sources carry the load.
            return (f64::NEG_INFINITY, now.discharge_rest_v());
        }
        // How far the volts that the sources would hold lie above the bank's: falls as the current grows.
        let over_v = pull.volts(spare_a(volts, flow) - net_a) - volts;
        let slope_ohm = 1.0 / pull.conductance_s + bank.ohm;
        let step_a = over_v / slope_ohm;
        if step_a.abs() * slope_ohm.min(1.0) <= SAME * volts.abs() {
            break;
        }
        if over_v > 0.0 {
            low_a = net_a;
        } else {
            high_a = net_a;
        }
        let mut next_a = net_a + step_a;
        if net_a > 0.0 && next_a < 0.0 && low_a < 0.0 {
            next_a = 0.0;
        } else if net_a == 0.0 && over_v < 0.0 {
            // Below zero the curve is that of discharge, which begins lower.
            let rest_v = now.discharge_rest_v();
            if pull.volts(spare_a(rest_v, flow)) >= rest_v {
                return resting(rest_v, volts, flow);
            }
            next_a = next_a.min(-f64::MIN_POSITIVE);
        } else if net_a < 0.0 && next_a > 0.0 {
            next_a = -f64::MIN_POSITIVE;
        }
        let inside = next_a > low_a && next_a < high_a;
        net_a = if inside && round < 20 { next_a } else { middle(low_a, high_a, next_a) };
    }
    (net_a, volts)
}

/// The middle of two bounds, or the guess where one of them is not known yet.
fn middle(low: f64, high: f64, guess: f64) -> f64 {
    if low.is_finite() && high.is_finite() { f64::midpoint(low, high) } else { guess }
}

fn hold_ohm(circuit: &Charging, k: usize) -> f64 {
    if is_sensed(circuit, k) { FIRM_OHM } else { circuit.own_ohm(k).max(FIRM_OHM) }
}

fn hold_offset_v(circuit: &Charging, k: usize, amps: &[f64]) -> f64 {
    if is_sensed(circuit, k) { 0.0 } else { offset_v(circuit, k, amps) }
}

/// Current of the sources that give all they can.
fn free_a(circuit: &Charging, moment: &Moment<'_>, volts: f64, ways: &[Way], flow: &mut Flow) -> f64 {
    let mut sum = 0.0;
    for (k, _) in ways.iter().enumerate().filter(|(_, way)| **way == Way::Free) {
        let out_a = one(circuit, moment, k, volts + offset_v(circuit, k, &flow.amps), flow).0;
        if let Some(a) = flow.amps.get_mut(k) {
            *a = out_a;
        }
        sum += out_a;
    }
    sum
}

/// Each source's current at the volts found, and how it works there; whether one of them changed its way.
fn turn(circuit: &Charging, moment: &Moment<'_>, volts: f64, ways: &mut [Way], flow: &mut Flow) -> bool {
    let mut changed = false;
    let pull = Pull::of(circuit, ways, flow);
    // Those that hold the least yield first.
    let mut order: Vec<usize> = (0..ways.len()).collect();
    order.sort_by(|a, b| held_at(flow, *a).total_cmp(&held_at(flow, *b)));
    for k in order {
        let Some(way) = ways.get_mut(k) else { continue };
        let alone_a = (held_at(flow, k) - hold_offset_v(circuit, k, &flow.amps) - volts) / hold_ohm(circuit, k);
        let hold_a = pull.line_a(k, volts).unwrap_or(alone_a);
        let offset_v = offset_v(circuit, k, &flow.amps);
        let free_a = one(circuit, moment, k, volts + offset_v, flow).0;
        // From free to off and back the way leads over holding, or two sources could swap for ever.
        let next = match *way {
            _ if free_a <= 0.0 => Way::Free,
            Way::Holding if hold_a < -SMALL_A => Way::Off,
            Way::Holding if hold_a >= free_a => Way::Free,
            Way::Off if hold_a <= 0.0 => Way::Off,
            Way::Free if hold_a >= free_a * (1.0 - SMALL_A) - SMALL_A => Way::Free,
            _ => Way::Holding,
        };
        let amps = match next {
            Way::Off => 0.0,
            Way::Holding => hold_a.clamp(0.0, free_a.max(0.0)),
            Way::Free => free_a,
        };
        if let Some(a) = flow.amps.get_mut(k) {
            *a = amps;
        }
        changed |= next != *way;
        *way = next;
    }
    changed
}
