//! What flows where a held voltage or the bank's own limit lets in less than is on offer.

use crate::physics::battery::{BankHour, Limit, Offer};

use super::holding::{self, eliminate, share_out, stands_above};
use super::joint::{self, meet_held};
use super::meet::{self, LEAST_SHARE};
use super::source::{is_dark, offer, offset_v, one};
use super::{Charging, Flow, Idle, Moment, held_v};

/// Rounds of a search; Newton's steps need three or four.
const ROUNDS: usize = 60;
/// Changes of which source is held; there are rarely more than two.
const TURNS: usize = 12;
/// Share of what a source holds that the posts do not fall below for its sake. Source: our own choice, wires lose less than that; behind a
/// loop of a quarter of an ohm the posts would fall to volts that no load works at.
const NO_LOWER: f64 = 0.95;
/// Share of the volts where a search ends.
const SAME: f64 = 1e-12;
/// Ohms between a sensed post and the source that holds it: its volts fall by less than 0.2 mV, and no division is by
/// zero. Source: our own choice.
pub(super) const FIRM_OHM: f64 = 1e-6;

/// A current that is none. Source: our own choice; a source that just holds its volts must not be thought off.
pub(super) const SMALL_A: f64 = 1e-6;

/// Settings that differ by less count as one where a search begins. Source: our own choice; a charger's are no finer.
pub(super) const SAME_SETTING_V: f64 = 0.05;

/// How a source works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Way {
    /// Gives all it can.
    Free,
    /// Holds its volts.
    Holding,
    /// Its volts are exceeded by what another holds.
    Off,
}

/// Memory of a search.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Scratch {
    ways: Vec<Way>,
    /// Each holding source as a line `amps - volts * conductance_s`; zeros for others.
    lines: Vec<(f64, f64)>,
    rows: Vec<f64>,
    holding: Vec<usize>,
    /// Those that hold the least first.
    order: Vec<usize>,
    before: Vec<f64>,
}

/// Whether any source stands above what it holds in the flow as it is.
pub(super) fn binds(circuit: &Charging, flow: &Flow) -> bool {
    (0..circuit.sources()).any(|k| {
        let out_a = flow.amps.get(k).copied().unwrap_or(0.0);
        out_a > 0.0 && out_v(circuit, k, flow.posts_v, &flow.amps) > held_at(flow, k) * (1.0 + SAME)
    })
}

/// Notes what each source holds that may have something to give.
pub(super) fn note(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) {
    flow.held.clear();
    flow.floating.clear();
    for k in 0..circuit.sources() {
        if is_dark(circuit, moment, k) {
            flow.held.push(0.0);
            flow.floating.push(false);
            continue;
        }
        let held_h = moment.held_h.get(k).copied().unwrap_or(0.0);
        let (volts, floating) = circuit.setting(k).map_or((0.0, false), |s| held_v(s, now, moment, held_h));
        flow.held.push(volts);
        flow.floating.push(floating);
    }
}

/// One that gives nothing holds nothing.
pub(super) fn let_go(flow: &mut Flow) {
    for ((held_v, floats), offer_a) in flow.held.iter_mut().zip(&mut flow.floating).zip(&flow.offers) {
        if *offer_a <= 0.0 {
            (*held_v, *floats) = (0.0, false);
        }
    }
}

pub(super) fn held_at(flow: &Flow, k: usize) -> f64 {
    flow.held.get(k).copied().unwrap_or(0.0)
}

pub(super) fn is_sensed(circuit: &Charging, k: usize) -> bool {
    circuit.setting(k).is_some_and(|s| s.sensed)
}

/// Volts that a source reads.
pub(in crate::engine) fn out_v(circuit: &Charging, k: usize, posts_v: f64, amps: &[f64]) -> f64 {
    if is_sensed(circuit, k) {
        return posts_v;
    }
    posts_v + circuit.row(k).iter().zip(amps).map(|(ohm, a)| ohm * a).sum::<f64>()
}

/// What really flows. The offers in the flow stay as they are, and what each source holds.
pub(super) fn settle(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) {
    if holding::met(circuit, now, moment, flow) || holding::cold(circuit, now, moment, flow) {
        return;
    }
    let mut room = std::mem::take(&mut flow.scratch);
    let mut search = Search { circuit, now, moment, room: &mut room, conductance_s: 0.0, pull_a: 0.0, jointly: false };
    search.settle(flow);
    flow.scratch = room;
}

/// Solves a moment in which a bank of one line stands above what all its sources hold, and gives alone; `false`: it is
/// none, and nothing is changed. The search would find the same.
pub(super) fn off(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, absorb_v: f64, flow: &mut Flow) -> bool {
    if !now.is_one_line() || !now.may_charge() {
        return false;
    }
    let given = now.give(Offer::Power(moment.load_w));
    let is_below = |k: usize| {
        let held_h = moment.held_h.get(k).copied().unwrap_or(0.0);
        circuit.setting(k).is_some_and(|s| held_v(s, now, moment, held_h).0 < given.volts)
    };
    let mut lit = (0..circuit.sources()).filter(|k| !is_dark(circuit, moment, *k));
    if given.limit != Limit::None || given.current_a <= 0.0 || given.volts >= absorb_v || !lit.all(is_below) {
        return false;
    }
    let net_a = offer(circuit, moment, absorb_v, flow).amps - moment.load_w / absorb_v;
    flow.offered_v = absorb_v;
    if net_a <= 0.0 || !now.needs_more(net_a, absorb_v) {
        meet::freely(circuit, now, moment, net_a, flow);
    }
    note(circuit, now, moment, flow);
    let_go(flow);
    flow.amps.fill(0.0);
    let mut room = std::mem::take(&mut flow.scratch);
    let mut search = Search { circuit, now, moment, room: &mut room, conductance_s: 0.0, pull_a: 0.0, jointly: false };
    flow.idle = search.idle(flow);
    flow.scratch = room;
    (flow.posts_v, flow.net_a, flow.limit) = (given.volts, -given.current_a, Limit::Held);
    true
}

/// The search for what flows.
struct Search<'a> {
    circuit: &'a Charging,
    now: &'a BankHour<'a>,
    moment: &'a Moment<'a>,
    room: &'a mut Scratch,
    /// The holding sources as one: a current less the posts' volts times a conductance.
    conductance_s: f64,
    pull_a: f64,
    /// Whether the currents in the flow were found together with the volts.
    jointly: bool,
}

impl Search<'_> {
    fn settle(&mut self, flow: &mut Flow) {
        // A bank too cold to charge takes nothing, unless what the sources hold would have it give.
        let mut blocked = !self.now.may_charge();
        let (mut net_a, mut volts) = self.settled(blocked, flow);
        if blocked && volts < self.now.discharge_rest_v() {
            (net_a, volts) = self.settled(false, flow);
            blocked = net_a > 0.0;
            if blocked {
                (net_a, volts) = self.settled(true, flow);
            }
        }
        if !self.agrees(net_a, volts, flow) {
            (net_a, volts) = self.by_halving(blocked, flow);
        }
        if net_a < 0.0 && self.now.hinders(-net_a, volts) != Limit::None {
            self.short(flow);
            return;
        }
        flow.limit = Limit::Held;
        if blocked {
            flow.limit = Limit::Cold;
        } else if net_a >= self.now.most_charge_a() {
            net_a = self.now.most_charge_a();
            volts = self.now.curve(net_a).volts;
            flow.limit = Limit::Current;
            // What each could give at these lower volts, to share out from.
            self.turn_until_steady(volts, flow);
        }
        let taken_a = net_a + self.moment.load_w / volts;
        if net_a < 0.0 && self.now.is_one_line() {
            flow.idle = self.idle(flow);
        }
        share_out(taken_a, &mut flow.amps);
        (flow.posts_v, flow.net_a) = (volts, net_a);
    }

    /// The same moment with a bank that rests, if the sources can carry the loads below the volts of this one's.
    fn idle(&mut self, flow: &mut Flow) -> Option<Idle> {
        let load_w = self.moment.load_w;
        if flow.offers.iter().sum::<f64>() * flow.offered_v <= load_w {
            return None;
        }
        self.room.before.clone_from(&flow.amps);
        let idle = holding::idle(self.circuit, self.moment, flow);
        flow.amps.clone_from(&self.room.before);
        if let Some(idle) = idle {
            return (idle.posts_v < self.now.rest_v()).then_some(idle);
        }
        let amps = std::mem::take(&mut flow.amps);
        flow.amps.clone_from(&flow.offers);
        let (_, posts_v) = self.settled(true, flow);
        let (solar_a, sum_a) = (flow.amps.iter().take(self.circuit.solars.len()).sum::<f64>(), flow.sources_a());
        let carries = posts_v < self.now.rest_v() && sum_a * posts_v >= load_w * (1.0 - 1e-6);
        flow.amps = amps;
        carries.then(|| Idle { posts_v, solar_share: if sum_a > 0.0 { solar_a / sum_a } else { 0.0 } })
    }

    /// How each works at first: those with the highest settings give all they can, until that brings the bank above a
    /// setting; those that have it hold it, and any below it are off. Only drops in the ways can change that.
    fn begin(&mut self, blocked: bool, flow: &mut Flow) {
        let circuit = self.circuit;
        let (now, load_w) = (self.now, self.moment.load_w);
        let above = |held_v, sum_a| stands_above(now, load_w, held_v, sum_a, blocked);
        flow.amps.copy_from_slice(&flow.offers);
        let Scratch { ways, order, .. } = &mut *self.room;
        order.clear();
        order.extend(0..circuit.sources());
        order.sort_by(|a, b| held_at(flow, *a).total_cmp(&held_at(flow, *b)));
        ways.clear();
        ways.resize(circuit.sources(), Way::Free);
        let (mut sum_a, mut left) = (0.0, order.as_slice());
        while let Some(highest) = left.last() {
            let held_v = held_at(flow, *highest);
            let first = left.partition_point(|k| held_at(flow, *k) < held_v - SAME_SETTING_V);
            let (lower, equal) = left.split_at(first);
            left = lower;
            let way = if above(held_v, sum_a) {
                Way::Off
            } else {
                sum_a += equal.iter().filter_map(|k| flow.offers.get(*k)).sum::<f64>();
                if above(held_v, sum_a) { Way::Holding } else { Way::Free }
            };
            for k in equal.iter().filter(|k| flow.offers.get(**k).is_some_and(|a| *a > 0.0)) {
                if let (Some(slot), Some(amps)) = (ways.get_mut(*k), flow.amps.get_mut(*k)) {
                    *slot = way;
                    *amps = if way == Way::Off { 0.0 } else { *amps };
                }
            }
        }
    }

    fn way(&self, k: usize) -> Way {
        self.room.ways.get(k).copied().unwrap_or(Way::Off)
    }

    /// Whether what the sources give is what bank and loads take.
    fn agrees(&self, net_a: f64, volts: f64, flow: &Flow) -> bool {
        let (taken_a, given_a) = (net_a + self.moment.load_w / volts, flow.sources_a());
        net_a == f64::NEG_INFINITY || (taken_a - given_a).abs() <= 1e-4 * (1.0 + given_a)
    }

    /// The same by halving the volts, where sources with unlike settings on one way never stop changing: slow and sure.
    fn by_halving(&mut self, blocked: bool, flow: &mut Flow) -> (f64, f64) {
        let rest_v = self.now.discharge_rest_v();
        let highest_v = flow.held.iter().copied().fold(flow.offered_v, f64::max);
        let (mut low_v, mut high_v) = (rest_v, highest_v.max(rest_v));
        let mut net_a = f64::NEG_INFINITY;
        for _ in 0..ROUNDS {
            let volts = f64::midpoint(low_v, high_v);
            self.turn_until_steady(volts, flow);
            let spare_a = flow.sources_a() - self.moment.load_w / volts;
            net_a = if blocked { 0.0 } else { self.now.accepted_a(volts) };
            if spare_a > net_a {
                low_v = volts;
            } else {
                high_v = volts;
            }
        }
        // Below its rest the bank would have to give.
        let volts = f64::midpoint(low_v, high_v);
        if low_v == rest_v { (f64::NEG_INFINITY, volts) } else { (net_a, volts) }
    }

    /// Goes on until no source changes its way; net current and volts.
    fn settled(&mut self, blocked: bool, flow: &mut Flow) -> (f64, f64) {
        self.begin(blocked, flow);
        let (mut net_a, mut volts) = (0.0, flow.offered_v);
        let mut charging = flow.held.iter().any(|v| *v > self.now.charge_rest_v());
        for _ in 0..TURNS {
            let met = self.met(blocked, charging, flow);
            self.jointly = met.is_some();
            (net_a, volts) = match met {
                Some(met) => met,
                None => {
                    self.pull(flow);
                    self.together(blocked, flow)
                }
            };
            charging = net_a >= 0.0;
            self.room.before.clone_from(&flow.amps);
            // Sources that hold alone, and still could give more, change nothing for each other.
            let alone = self.jointly || self.room.ways.iter().all(|way| *way != Way::Free) || self.circuit.apart;
            let turned = self.turn(volts, flow);
            if !turned && (alone || steady(&self.room.before, &flow.amps)) {
                break;
            }
        }
        self.jointly = false;
        (net_a, volts)
    }

    /// Where sources, each in its way, meet bank and load, found at once.
    fn met(&self, blocked: bool, charging: bool, flow: &mut Flow) -> Option<(f64, f64)> {
        let on = |bank, flow: &mut Flow| meet_held(self.circuit, self.now, self.moment, &self.room.ways, bank, flow);
        if blocked {
            return on(joint::Bank::Blocked, flow);
        }
        if (0..self.circuit.sources()).all(|k| self.way(k) == Way::Off || flow.offers.get(k).is_none_or(|a| *a <= 0.0))
        {
            let given = self.now.give(Offer::Power(self.moment.load_w));
            flow.amps.fill(0.0);
            return (given.limit == Limit::None).then_some((-given.current_a, given.volts));
        }
        let (first, other) = (joint::Bank::Charging, joint::Bank::Discharging);
        let (first, other) = if charging { (first, other) } else { (other, first) };
        on(first, flow).or_else(|| if self.now.is_one_line() { None } else { on(other, flow) })
    }

    /// The bank gives what its limits allow beside sources that hold their volts or are off.
    fn short(&mut self, flow: &mut Flow) {
        let mut volts = self.now.discharge_rest_v();
        // The higher the volts, the less the sources give and the lower the bank is drawn.
        let (mut low_v, mut high_v) = (0.0, volts * (1.0 + SAME));
        for round in 0..ROUNDS {
            self.room.before.clone_from(&flow.amps);
            self.pull(flow);
            let turned = self.turn(volts, flow);
            let given = self.now.give(Offer::Power((self.moment.load_w - flow.sources_a() * volts).max(0.0)));
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
            if given.limit == Limit::Empty || settled && !turned && steady(&self.room.before, &flow.amps) {
                break;
            }
        }
        if flow.limit == Limit::Empty {
            volts = self.now.rest_v();
        }
        // A bank that gives less the more is asked may never settle: what the sources give is that at the last volts.
        self.turn_until_steady(volts, flow);
        flow.posts_v = self.lowered(volts, flow);
        flow.no_more_than_asked(self.moment);
    }

    /// Volts at which no loads go short for want of what sources keep back. A lithium bank whose unit limits what it gives adds
    /// no more, and its posts may stand above what they hold: then these fall until enough comes of them, or all give all they
    /// can, as far as wires go. Lead has no unit, and none keeps the plan's reserve: there the cells hold the posts up.
    /// Source: Kirchhoff's laws, the bank a constant current at its limit.
    fn lowered(&mut self, volts: f64, flow: &mut Flow) -> f64 {
        if flow.limit != Limit::Current || !self.now.is_one_line() || !self.keeps_back(volts, flow) {
            return volts;
        }
        let holding = (0..self.circuit.sources()).filter(|k| self.holds_back(*k, flow));
        let (mut low_v, mut high_v) = (holding.map(|k| held_at(flow, k) * NO_LOWER).fold(volts, f64::min), volts);
        for _ in 0..ROUNDS {
            let middle_v = f64::midpoint(low_v, high_v);
            self.turn_until_steady(middle_v, flow);
            *(if self.keeps_back(middle_v, flow) { &mut high_v } else { &mut low_v }) = middle_v;
        }
        self.turn_until_steady(low_v, flow);
        low_v
    }

    /// Whether loads go short at some volts while a source that has something to give holds its volts, or is off.
    fn keeps_back(&self, volts: f64, flow: &Flow) -> bool {
        (flow.sources_a() - flow.net_a) * volts < self.moment.load_w
            && (0..self.circuit.sources()).any(|k| self.holds_back(k, flow))
    }

    /// One that is past absorption and has no float is off for good, and so is one that is set for a bank of fewer cells.
    fn holds_back(&self, k: usize, flow: &Flow) -> bool {
        held_at(flow, k) > LEAST_SHARE * self.now.rest_v()
            && self.way(k) != Way::Free
            && flow.offers.get(k).is_some_and(|a| *a > 0.0)
    }

    fn turn_until_steady(&mut self, volts: f64, flow: &mut Flow) {
        for _ in 0..TURNS {
            self.room.before.clone_from(&flow.amps);
            self.pull(flow);
            if !self.turn(volts, flow) && steady(&self.room.before, &flow.amps) {
                break;
            }
        }
    }

    /// The holding sources as one: each stands at its volts behind what it and the others drop in the ways they share.
    fn pull(&mut self, flow: &Flow) {
        let circuit = self.circuit;
        let Scratch { ways, lines, rows, holding, .. } = &mut *self.room;
        let is_holding = |j: usize| ways.get(j) == Some(&Way::Holding);
        holding.clear();
        holding.extend((0..circuit.sources()).filter(|k| is_holding(*k)));
        lines.clear();
        lines.resize(circuit.sources(), (0.0, 0.0));
        let n = holding.len();
        // Of each row its resistances, then its two right sides.
        rows.clear();
        for k in holding.iter() {
            let row = circuit.row(*k);
            let sensed = is_sensed(circuit, *k);
            let of = |j: usize| if sensed { 0.0 } else { row.get(j).copied().unwrap_or(0.0) };
            rows.extend(holding.iter().map(|j| of(*j) + if j == k { FIRM_OHM } else { 0.0 }));
            let others = flow.amps.iter().enumerate().filter(|(j, _)| !is_holding(*j));
            let offset_v: f64 = others.map(|(j, a)| of(j) * a).sum();
            rows.extend([held_at(flow, *k) - offset_v, 1.0]);
        }
        eliminate(rows, n);
        (self.conductance_s, self.pull_a) = (0.0, 0.0);
        for (row, k) in rows.chunks_exact(n + 2).zip(holding.iter()) {
            if let (Some([amps, s]), Some(line)) = (row.get(n..), lines.get_mut(*k)) {
                *line = (*amps, *s);
                self.pull_a += amps;
                self.conductance_s += s;
            }
        }
    }

    /// Volts at which the holding sources give just what is asked of them beside a spare current.
    fn pull_v(&self, spare_a: f64) -> f64 {
        (self.pull_a + spare_a) / self.conductance_s
    }

    /// What the free sources give beyond the loads.
    fn spare_a(&self, volts: f64, flow: &mut Flow) -> f64 {
        let mut sum = 0.0;
        for k in 0..self.circuit.sources() {
            if self.way(k) == Way::Free && flow.offers.get(k).is_some_and(|a| *a > 0.0) {
                let seen_v = volts + offset_v(self.circuit, k, &flow.amps);
                let out_a = one(self.circuit, self.moment, k, seen_v).out_a;
                if let Some(a) = flow.amps.get_mut(k) {
                    *a = out_a;
                }
                sum += out_a;
            }
        }
        sum - self.moment.load_w / volts.max(0.1)
    }

    /// Net current and volts at which holding sources, free sources, load and bank agree.
    fn together(&mut self, blocked: bool, flow: &mut Flow) -> (f64, f64) {
        let rest_v = self.now.discharge_rest_v();
        if self.conductance_s <= 0.0 {
            if blocked {
                // Too little for the loads brings the volts down until another source comes in; too much, up.
                let high_v = flow.held.iter().copied().fold(flow.offered_v, f64::max);
                return (0.0, if self.spare_a(high_v, flow) > 0.0 { high_v } else { rest_v });
            }
            // Without one that holds, all the current there is flows.
            self.conductance_s = 1e-12;
        }
        if blocked {
            return self.resting(0.0, f64::MAX, flow);
        }
        let (mut low_a, mut high_a) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut net_a = self.now.accepted_a(self.pull_v(0.0));
        let mut volts = 0.0;
        for round in 0..ROUNDS {
            let bank = self.now.curve(net_a);
            volts = bank.volts;
            if net_a < 0.0 && volts < LEAST_SHARE * rest_v {
                // No volts at which bank and sources carry the load.
                return (f64::NEG_INFINITY, rest_v);
            }
            // How far the volts that the sources would hold lie above the bank's: falls as the current grows.
            let over_v = self.pull_v(self.spare_a(volts, flow) - net_a) - volts;
            let slope_ohm = 1.0 / self.conductance_s + bank.ohm;
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
                if self.pull_v(self.spare_a(rest_v, flow)) >= rest_v {
                    return self.resting(rest_v, volts, flow);
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

    /// Sources and loads alone, the volts within bounds; the bank takes and gives nothing.
    fn resting(&self, low_v: f64, high_v: f64, flow: &mut Flow) -> (f64, f64) {
        let mut volts = self.pull_v(0.0).clamp(low_v, high_v);
        for _ in 0..ROUNDS {
            let next_v = self.pull_v(self.spare_a(volts, flow)).clamp(low_v, high_v);
            let settled = (next_v - volts).abs() <= SAME * volts.abs();
            volts = next_v;
            if settled {
                break;
            }
        }
        (0.0, volts)
    }

    /// Each source's current at the volts found, and how it works there; whether one of them changed its way. Needs the
    /// lines of [`Search::pull`].
    fn turn(&mut self, volts: f64, flow: &mut Flow) -> bool {
        let mut changed = false;
        for i in 0..self.room.order.len() {
            let Some(k) = self.room.order.get(i).copied() else { break };
            let offer_a = flow.offers.get(k).copied().unwrap_or(0.0);
            let old = self.way(k);
            let here_a = flow.amps.get(k).copied().unwrap_or(0.0);
            let hold_a = match self.room.lines.get(k) {
                _ if self.jointly && old == Way::Holding => here_a,
                Some((amps, s)) if old == Way::Holding => amps - s * volts,
                _ => {
                    let offset_v = hold_offset_v(self.circuit, k, &flow.amps);
                    (held_at(flow, k) - offset_v - volts) / hold_ohm(self.circuit, k)
                }
            };
            if old == Way::Off && hold_a <= 0.0 {
                continue;
            }
            // At lower volts than those of the offers it could give that and more.
            let sure = old == Way::Holding && volts <= flow.offered_v && (-SMALL_A..offer_a).contains(&hold_a);
            let free_a = if self.jointly && old == Way::Free {
                here_a
            } else if sure {
                offer_a
            } else if offer_a > 0.0 {
                one(self.circuit, self.moment, k, volts + offset_v(self.circuit, k, &flow.amps)).out_a
            } else {
                0.0
            };
            // From free to off and back the way leads over holding, or two sources could swap for ever.
            let next = match old {
                _ if free_a <= 0.0 => Way::Free,
                Way::Holding if hold_a < -SMALL_A => Way::Off,
                Way::Holding if hold_a >= free_a => Way::Free,
                Way::Free if hold_a >= free_a * (1.0 - SMALL_A) - SMALL_A => Way::Free,
                _ => Way::Holding,
            };
            let amps = match next {
                Way::Off => 0.0,
                Way::Holding => hold_a.clamp(0.0, free_a.max(0.0)),
                Way::Free => free_a,
            };
            if let (Some(a), Some(way)) = (flow.amps.get_mut(k), self.room.ways.get_mut(k)) {
                (*a, *way) = (amps, next);
            }
            changed |= next != old;
        }
        changed
    }
}

fn steady(before: &[f64], after: &[f64]) -> bool {
    before.iter().zip(after).all(|(a, b)| (a - b).abs() <= 1e-9 * (a.abs() + b.abs()))
}

/// The middle of two bounds, or the guess where one of them is not known yet.
fn middle(low: f64, high: f64, guess: f64) -> f64 {
    if low.is_finite() && high.is_finite() { f64::midpoint(low, high) } else { guess }
}

pub(super) fn hold_ohm(circuit: &Charging, k: usize) -> f64 {
    FIRM_OHM + if is_sensed(circuit, k) { 0.0 } else { circuit.own_ohm(k) }
}

fn hold_offset_v(circuit: &Charging, k: usize, amps: &[f64]) -> f64 {
    if is_sensed(circuit, k) { 0.0 } else { offset_v(circuit, k, amps) }
}
