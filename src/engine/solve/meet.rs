//! Where sources, loads and bank meet when nothing holds the volts down.

use crate::physics::battery::{BankHour, Limit, Offer};

use super::held::hold_ohm;
use super::source::{complete, offer, offset_v, sweep};
use super::{Charging, Flow, Moment};

/// Rounds of a search; Newton's steps need three or four.
const ROUNDS: usize = 60;
/// Share of the currents where a search ends.
const SAME: f64 = 1e-10;

/// Volts of the bank, as a share of those at rest, below which it does not carry the load.
/// Source: maximum power transfer, with room.
pub(super) const LEAST_SHARE: f64 = 0.6;

/// No source: the bank serves the load, as far as it can.
pub(super) fn from_bank_alone(now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) {
    let given = now.give(Offer::Power(moment.load_w));
    flow.posts_v = given.volts;
    flow.offered_v = given.volts;
    flow.net_a = -given.current_a;
    flow.limit = given.limit;
}

/// Sources, bank and load with nothing held: into the flow's offers, and from there into what flows.
pub(super) fn freely(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, guess_a: f64, flow: &mut Flow) {
    let charging = guess_a > 0.0;
    let found = if charging { side(circuit, now, moment, guess_a, true, flow) } else { None };
    let (net_a, volts) = found
        .or_else(|| side(circuit, now, moment, guess_a.min(0.0), false, flow))
        .or_else(|| if charging { None } else { side(circuit, now, moment, 0.0, true, flow) })
        .unwrap_or_else(|| between(circuit, now, moment, flow));
    take_up(circuit, now, moment, (net_a, volts), flow);
}

/// Net current and volts as found, with the offers in the flow, into what flows.
pub(super) fn take_up(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    (net_a, volts): (f64, f64),
    flow: &mut Flow,
) {
    if volts > 0.0 && !complete(circuit, moment, volts, flow) {
        freely(circuit, now, moment, net_a, flow);
        return;
    }
    flow.amps.copy_from_slice(&flow.offers);
    (flow.offered_v, flow.posts_v, flow.net_a) = (volts, volts, net_a);
    let hindered = if net_a < 0.0 { now.hinders(-net_a, volts) } else { Limit::None };
    if hindered != Limit::None || !net_a.is_finite() {
        short(circuit, now, moment, flow);
    }
}

/// The net current on one side of zero at which all agree, and the volts; none where it lies on the other. A bank that
/// cannot carry the load gives no end of current.
fn side(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    start_a: f64,
    charging: bool,
    flow: &mut Flow,
) -> Option<(f64, f64)> {
    const BEYOND: (f64, f64) = (f64::NEG_INFINITY, 0.0);
    let (mut low, mut high) = if charging { (0.0, f64::INFINITY) } else { (f64::NEG_INFINITY, 0.0) };
    let mut net_a = start_a.clamp(low, high);
    for round in 0..ROUNDS {
        // A hair below zero is on the curve of discharge.
        let bank = now.curve(if charging { net_a } else { net_a.min(-f64::MIN_POSITIVE) });
        if !charging && bank.volts < LEAST_SHARE * now.discharge_rest_v() {
            return Some(BEYOND);
        }
        // One round each: volts and shared ways settle together.
        let sum = sweep(circuit, moment, bank.volts, SAME, flow);
        let (amps, slope_s) = (sum.amps, sum.slope_s);
        let load_a = moment.load_w / bank.volts;
        let over_a = amps - load_a - net_a;
        if over_a > 0.0 {
            low = net_a;
        } else {
            high = net_a;
        }
        let slope = bank.ohm * (slope_s + load_a / bank.volts) - 1.0;
        // Where a little more current brings the volts down much, one step of what flows leads past that.
        let newton = if slope < -0.05 { net_a - over_a / slope } else { net_a + over_a };
        let next = if charging { newton.max(0.0) } else { newton.min(0.0) };
        // An array that stands too low tells no slope: halved until it fits.
        let is_halved = charging && (round >= 20 && high.is_finite() || round >= 12 && !(next > low && next < high));
        let next = if is_halved { f64::midpoint(low, high) } else { next };
        let scale_a = amps + load_a;
        if sum.steady && (next - net_a).abs() <= SAME * scale_a {
            if over_a.abs() <= 1e-9 * scale_a {
                return Some((amps - load_a, bank.volts));
            }
            // At zero the root itself may lie on the other side.
            return match () {
                () if next == 0.0 && (over_a < 0.0) == charging => None,
                () if charging => Some((amps - load_a, bank.volts)),
                () => Some(BEYOND),
            };
        }
        net_a = next;
    }
    Some(BEYOND)
}

/// The bank at rest between its curves of discharge and of charge: the sources carry the load at some volts there.
fn between(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> (f64, f64) {
    let (mut low_v, mut high_v) = (now.discharge_rest_v(), now.curve(0.0).volts.max(now.discharge_rest_v()));
    for _ in 0..ROUNDS {
        let volts = f64::midpoint(low_v, high_v);
        if offer(circuit, moment, volts, flow).amps * volts > moment.load_w {
            low_v = volts;
        } else {
            high_v = volts;
        }
    }
    let volts = f64::midpoint(low_v, high_v);
    let sum = offer(circuit, moment, volts, flow);
    (sum.amps - moment.load_w / volts, volts)
}

/// A bank that is down: whether the sources alone carry less than the load, and then what they do.
pub(super) fn short_of_load(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> bool {
    let volts = now.rest_v();
    let sum = offer(circuit, moment, volts, flow);
    if sum.amps * volts >= moment.load_w {
        return false;
    }
    flow.amps.copy_from_slice(&flow.offers);
    (flow.offered_v, flow.posts_v, flow.net_a, flow.limit) = (volts, volts, 0.0, Limit::Empty);
    held_back(circuit, moment, volts, flow);
    true
}

/// At posts that the cells of a bank hold, though it gives nothing: one whose absorption volts are too low for what it could send gives what
/// these drive through its way, or nothing.
/// Source: Ohm's and Kirchhoff's laws, one source after the other until none changes (Gauss and Seidel).
fn held_back(circuit: &Charging, moment: &Moment<'_>, volts: f64, flow: &mut Flow) {
    for _ in 0..ROUNDS {
        let mut is_steady = true;
        for k in 0..circuit.sources() {
            let offer_a = flow.offers.get(k).copied().unwrap_or(0.0);
            let Some(setting) = circuit.setting(k).filter(|_| offer_a > 0.0) else { continue };
            let ahead_v = volts + if setting.sensed { 0.0 } else { offset_v(circuit, k, &flow.amps) };
            let most_a = (setting.charge.held_v(false, moment.battery_c) - ahead_v) / hold_ohm(circuit, k);
            if let Some(slot) = flow.amps.get_mut(k) {
                let amps = offer_a.min(most_a).max(0.0);
                is_steady &= (amps - *slot).abs() <= SAME * offer_a;
                *slot = amps;
            }
        }
        if is_steady {
            break;
        }
    }
}

/// The bank gives what its limits allow, and the load gets less than it asks.
fn short(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) {
    let mut volts = now.discharge_rest_v();
    for _ in 0..ROUNDS {
        let sum = offer(circuit, moment, volts, flow);
        let given = now.give(Offer::Power((moment.load_w - sum.amps * volts).max(0.0)));
        flow.net_a = -given.current_a;
        flow.limit = given.limit;
        let settled = (given.volts - volts).abs() <= SAME * volts;
        volts = given.volts;
        if settled || given.current_a <= 0.0 {
            break;
        }
    }
    offer(circuit, moment, volts, flow);
    flow.amps.copy_from_slice(&flow.offers);
    (flow.offered_v, flow.posts_v) = (volts, volts);
    flow.no_more_than_asked(moment);
}
