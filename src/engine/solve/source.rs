//! What a source sends into given posts.

use crate::physics::controller::{Source, Tracker, Tracking, tracking_point};
use crate::physics::module::Point;

use super::{Ask, Charging, Flow, Kind, Lit, Makes, Moment, falling, feed, joint};

/// Rounds of the mutual search; each takes two digits or more, as the wires drop about a hundredth.
const ROUNDS: usize = 40;
/// Where two rounds agree to this share the search ends.
const SAME: f64 = 1e-14;
/// The same where sources share a way: a round leaves a hundredth of the last one's change.
const ALMOST: f64 = 1e-11;

/// Halvings of a span of volts until its ends are the same number. Source: digits of a double.
const HALVINGS: usize = 60;

/// What one solar controller does at a moment when it gives all it can.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Share {
    /// Current in its array's runs.
    pub pv_a: f64,
    /// Volts at its PV terminals.
    pub pv_v: f64,
    /// Current it sends toward the posts.
    pub out_a: f64,
    /// Volts at its output.
    pub out_v: f64,
    /// Output it could not pass for its current limit, W.
    pub clipped_w: f64,
    /// Whether the array's best volts lay below the bank's.
    pub held: bool,
    /// Change of `out_a` with the posts' volts, never positive.
    slope_s: f64,
}

/// All sources together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Together {
    pub(super) amps: f64,
    /// Change with the posts' volts.
    pub(super) slope_s: f64,
    /// Whether none of them moved in the last round, or none depends on another.
    pub(super) steady: bool,
}

/// Every source giving all it can into posts at `posts_v`, into the flow's shares and offers.
#[inline]
pub(super) fn offer(circuit: &Charging, moment: &Moment<'_>, posts_v: f64, flow: &mut Flow) -> Together {
    let sum = settled_sweep(circuit, moment, posts_v, flow);
    round_off(circuit, moment, posts_v, flow).unwrap_or(sum)
}

/// Fills in the shares of offers that are settled; the sum anew where they had to be found in the general way.
pub(super) fn round_off(circuit: &Charging, moment: &Moment<'_>, posts_v: f64, flow: &mut Flow) -> Option<Together> {
    (!complete(circuit, moment, posts_v, flow)).then(|| settled_sweep(circuit, moment, posts_v, flow))
}

fn settled_sweep(circuit: &Charging, moment: &Moment<'_>, posts_v: f64, flow: &mut Flow) -> Together {
    if let Some(amps) = joint::into(circuit, moment, posts_v, flow) {
        return Together { amps, slope_s: 0.0, steady: true };
    }
    let mut sum = sweep(circuit, moment, posts_v, ALMOST, flow);
    for _ in 1..ROUNDS {
        if sum.steady {
            break;
        }
        sum = sweep(circuit, moment, posts_v, ALMOST, flow);
    }
    sum
}

/// One round of it: each source with what the others gave in the last; steady where none moved by more than `same`.
pub(super) fn sweep(circuit: &Charging, moment: &Moment<'_>, posts_v: f64, same: f64, flow: &mut Flow) -> Together {
    let mut sum = Together { amps: 0.0, slope_s: 0.0, steady: true };
    // Powers at the arrays' maximum do not reckon with one that stands too low.
    flow.low_is_in = false;
    for k in 0..circuit.sources() {
        if is_dark(circuit, moment, k) {
            continue;
        }
        let (out_a, slope_s, alone) = match (flow.watts.get(k), flow.most_a.get(k)) {
            (Some(power_w), Some(most_a)) if flow.kind == Kind::Arithmetic => {
                let mut out_v = posts_v;
                for (ohm, a) in circuit.row(k).iter().zip(&flow.offers) {
                    out_v += ohm * a;
                }
                let free_a = power_w / out_v;
                if free_a < *most_a { (free_a, -free_a / out_v, false) } else { (*most_a, 0.0, false) }
            }
            _ => {
                let share = one(circuit, moment, k, posts_v + offset_v(circuit, k, &flow.offers));
                if let Some(slot) = flow.shares.get_mut(k) {
                    *slot = share;
                }
                (share.out_a, share.slope_s, circuit.apart)
            }
        };
        if let Some(a) = flow.offers.get_mut(k) {
            sum.steady &= alone || (out_a - *a).abs() <= same * out_a;
            *a = out_a;
        }
        sum.amps += out_a;
        sum.slope_s += slope_s;
    }
    sum
}

/// Notes each tracker's power at its array's maximum, and what kind of moment it is, until [`complete`] says otherwise.
#[inline]
pub(super) fn begin(circuit: &Charging, moment: &Moment<'_>, flow: &mut Flow) {
    flow.watts.clear();
    flow.most_a.clear();
    flow.kind = Kind::Arithmetic;
    for (solar, best) in circuit.solars.iter().zip(moment.best) {
        let (watts, most_a) = match &solar.makes {
            Makes::Tracking(tracker) => {
                let watts = tracker.conversion * tracker.tracking * best.power_w() - tracker.self_w;
                (watts.max(0.0), tracker.most_a)
            }
            Makes::Pwm { most_a, .. } => {
                flow.kind = Kind::Usual;
                (0.0, *most_a)
            }
        };
        flow.watts.push(watts);
        flow.most_a.push(most_a);
    }
}

/// Fills in the shares of a usual moment from the offers; `false`: it is none, as an array stands too low for its
/// controller, and has to be begun again in the general way.
pub(super) fn complete(circuit: &Charging, moment: &Moment<'_>, posts_v: f64, flow: &mut Flow) -> bool {
    if flow.kind == Kind::Any {
        return true;
    }
    for (k, solar) in circuit.solars.iter().enumerate() {
        let out_a = flow.offers.get(k).copied().unwrap_or(0.0);
        let out_v = posts_v + circuit.row(k).iter().zip(&flow.offers).map(|(ohm, a)| ohm * a).sum::<f64>();
        let share = match &solar.makes {
            Makes::Tracking(tracker) => {
                let best = moment.best.get(k).copied().unwrap_or_default();
                let lit = moment.lit.get(k).copied().unwrap_or(Lit::None);
                let low = best.v > 0.0 && best.v < out_v + tracker.headroom_v;
                match lit {
                    _ if !low => at(tracker, best, out_a, out_v, false),
                    Lit::Even { cell, .. } if flow.low_is_in => {
                        let v = out_v + tracker.headroom_v;
                        let i = cell.current_at(v, solar.pv_ohm).max(0.0);
                        at(tracker, Point { v, i }, out_a, out_v, true)
                    }
                    _ => {
                        flow.kind = Kind::Any;
                        flow.offers.iter_mut().for_each(|a| *a = 0.0);
                        return false;
                    }
                }
            }
            Makes::Pwm { block_v, most_a } if out_a < *most_a => joined_at(*block_v, out_a, out_v),
            // What its limit cuts off only the array tells.
            Makes::Pwm { .. } => one(circuit, moment, k, posts_v + offset_v(circuit, k, &flow.offers)),
        };
        if let Some(slot) = flow.shares.get_mut(k) {
            *slot = share;
        }
    }
    true
}

/// A tracker's share with its array at a point.
pub(super) fn at(tracker: &Tracker, point: Point, out_a: f64, out_v: f64, held: bool) -> Share {
    let clipped_w = if out_a < tracker.most_a {
        0.0
    } else {
        let power_w = tracker.conversion * tracker.tracking * point.power_w() - tracker.self_w;
        (power_w - out_a * out_v).max(0.0)
    };
    Share { pv_a: point.i, pv_v: point.v, out_a, out_v, clipped_w, held, slope_s: 0.0 }
}

/// A joined array's share within its controller's limit.
pub(super) fn joined_at(block_v: f64, out_a: f64, out_v: f64) -> Share {
    Share { pv_a: out_a, pv_v: out_v + block_v, out_a, out_v, ..Share::default() }
}

/// Whether a source has nothing to give.
pub(super) fn is_dark(circuit: &Charging, moment: &Moment<'_>, k: usize) -> bool {
    match k.checked_sub(circuit.solars.len()) {
        None => matches!(moment.lit.get(k), None | Some(Lit::None)),
        Some(f) => moment.feeding.get(f).is_none_or(|share| *share <= 0.0),
    }
}

/// What the others drop in the segments that a source shares with them.
#[inline]
pub(super) fn offset_v(circuit: &Charging, k: usize, amps: &[f64]) -> f64 {
    if circuit.apart {
        return 0.0;
    }
    let mut offset_v = 0.0;
    for (j, (ohm, a)) in circuit.row(k).iter().zip(amps).enumerate() {
        offset_v += if j == k { 0.0 } else { ohm * a };
    }
    offset_v
}

/// What one source does into posts behind its own resistance.
pub(super) fn one(circuit: &Charging, moment: &Moment<'_>, k: usize, posts_v: f64) -> Share {
    let own_ohm = circuit.own_ohm(k);
    let Some(solar) = circuit.solars.get(k) else {
        let f = k - circuit.solars.len();
        let share = moment.feeding.get(f).copied().unwrap_or(0.0);
        let out_a = circuit.feeders.get(f).map_or(0.0, |feeder| feeder.out_a * share);
        return Share { out_a, ..Share::default() };
    };
    let best = moment.best.get(k).copied().unwrap_or_default();
    match moment.lit.get(k).copied().unwrap_or(Lit::None) {
        Lit::None => Share { out_v: posts_v, ..Share::default() },
        Lit::Even { cell, .. } => match &solar.makes {
            Makes::Pwm { block_v, most_a } => {
                let [free_a, slope_s, _] = cell.current_and_slopes(posts_v + block_v, solar.pv_ohm + own_ohm);
                joined(*block_v, *most_a, (free_a, slope_s), posts_v, own_ohm)
            }
            Makes::Tracking(tracker) => tracked(tracker, cell, best, posts_v, own_ohm, solar.pv_ohm),
        },
        Lit::Mixed(array) => match &solar.makes {
            Makes::Pwm { block_v, most_a } => {
                let free_a = array.current_at(posts_v + block_v, solar.pv_ohm + own_ohm);
                joined(*block_v, *most_a, (free_a, 0.0), posts_v, own_ohm)
            }
            Makes::Tracking(tracker) => tracked(tracker, array, best, posts_v, own_ohm, solar.pv_ohm),
        },
    }
}

/// What a charger that sends something asks of its line.
fn ask(circuit: &Charging, flow: &Flow, f: usize) -> Option<Ask> {
    let (feeder, k) = (circuit.feeders.get(f)?, circuit.solars.len() + f);
    let line = feeder.line?;
    let out_a = flow.amps.get(k).copied().filter(|a| *a > 0.0)?;
    let out_v = flow.posts_v + circuit.row(k).iter().zip(&flow.amps).map(|(ohm, a)| ohm * a).sum::<f64>();
    let power_w = out_a * out_v / line.efficiency.max(0.01);
    Some(Ask { source_v: line.source_v, power_w, cutout_v: line.cutout_v })
}

/// The charger among those that feed whose input falls shortest of what it needs; none where all have that. One whose line
/// cannot carry the power at all comes first.
pub(super) fn dropping(circuit: &Charging, flow: &Flow, feeds: &[f64]) -> Option<usize> {
    let is_on = |f: usize| feeds.get(f).is_some_and(|share| *share > 0.0);
    let asking = |f: usize| ask(circuit, flow, f).filter(|_| is_on(f));
    let own_ohm = |f: usize| circuit.feeders.get(f).and_then(|feeder| feeder.line).map_or(0.0, |line| line.ohm);
    if circuit.shared_lines.is_empty() {
        let short_v = |f: usize| {
            let ask = asking(f)?;
            let input = feed(ask.source_v, own_ohm(f), ask.power_w);
            let short_v = input.map_or(f64::INFINITY, |input| ask.cutout_v - input.input_v);
            (short_v > 0.0).then_some((f, short_v))
        };
        return (0..circuit.feeders.len()).filter_map(short_v).max_by(|a, b| a.1.total_cmp(&b.1)).map(|(f, _)| f);
    }
    let on: Vec<(usize, Ask)> = (0..circuit.feeders.len()).filter_map(|f| Some((f, asking(f)?))).collect();
    let asks: Vec<Ask> = on.iter().map(|(_, ask)| *ask).collect();
    let place = |i: usize| on.get(i).map_or(0, |(f, _)| *f);
    let ohm = |i: usize, j: usize| match (place(i), place(j)) {
        (f, g) if f == g => own_ohm(f),
        (f, g) => {
            let shared = |(a, b, _): &&(usize, usize, f64)| (*a, *b) == (f, g) || (*a, *b) == (g, f);
            circuit.shared_lines.iter().find(shared).map_or(0.0, |(.., ohm)| *ohm)
        }
    };
    falling(&asks, ohm).map(place)
}

/// An array joined to posts behind a resistance by a switch that limits the current.
fn joined(block_v: f64, most_a: f64, (free_a, slope_s): (f64, f64), posts_v: f64, own_ohm: f64) -> Share {
    let free_a = free_a.max(0.0);
    let amps = free_a.min(most_a);
    let out_v = posts_v + amps * own_ohm;
    Share {
        pv_a: amps,
        pv_v: out_v + block_v,
        out_a: amps,
        out_v,
        clipped_w: (free_a - amps) * posts_v,
        held: false,
        slope_s: if amps < free_a || free_a <= 0.0 { 0.0 } else { slope_s },
    }
}

/// One array whose maximum is found already.
struct Found<'a, S: Source + ?Sized> {
    source: &'a S,
    best: Point,
}

impl<S: Source + ?Sized> Source for Found<'_, S> {
    fn current_at(&self, v: f64, extra_ohm: f64) -> f64 {
        self.source.current_at(v, extra_ohm)
    }
    fn max_power(&self, _: f64) -> Point {
        self.best
    }
    fn open_circuit_v(&self) -> f64 {
        self.source.open_circuit_v()
    }
}

/// A tracker into posts behind its own resistance: constant power, unless its array is held at the output's volts.
fn tracked<S: Source>(tracker: &Tracker, source: &S, best: Point, posts_v: f64, own_ohm: f64, pv_ohm: f64) -> Share {
    // What tracking does not find is taken off whether the array is at its maximum or held: with a loss in one of
    // the two alone the power would jump between them, and thicker wire could harvest less.
    let conversion = tracker.conversion * tracker.tracking;
    let best_w = (conversion * best.power_w() - tracker.self_w).max(0.0);
    let (free_a, reach_v) = constant_power_a(best_w, posts_v, own_ohm);
    let out_a = free_a.min(tracker.most_a);
    let out_v = posts_v + out_a * own_ohm;
    if best.v >= out_v + tracker.headroom_v {
        let clipped = free_a > out_a;
        return Share {
            pv_a: best.i,
            pv_v: best.v,
            out_a,
            out_v,
            clipped_w: if clipped { (best_w - out_a * out_v).max(0.0) } else { 0.0 },
            held: false,
            slope_s: if clipped { 0.0 } else { -out_a / reach_v },
        };
    }
    let free = Tracker { most_a: f64::MAX, conversion, tracking: 1.0, ..*tracker };
    low_array(tracker, &free, &Found { source, best }, posts_v, own_ohm, pv_ohm)
}

/// A tracker whose array may have to stand above its maximum, at the output's volts and the headroom.
fn low_array<S: Source>(
    tracker: &Tracker,
    free: &Tracker,
    found: &S,
    posts_v: f64,
    own_ohm: f64,
    pv_ohm: f64,
) -> Share {
    let sent = |out_v: f64| {
        let point = tracking_point(found, free, out_v, pv_ohm);
        (point, constant_power_a(point.bank_w, posts_v, own_ohm).0)
    };
    let lifted_v = |out_a: f64| posts_v + out_a.min(tracker.most_a) * own_ohm;
    let mut out_v = posts_v;
    let (mut point, mut out_a) = sent(out_v);
    let most_v = lifted_v(out_a);
    let mut is_settled = false;
    for _ in 0..ROUNDS {
        let next_v = lifted_v(out_a);
        is_settled = (next_v - out_v).abs() <= SAME * next_v.abs();
        out_v = next_v;
        if is_settled {
            break;
        }
        (point, out_a) = sent(out_v);
    }
    if !is_settled {
        // Over so many ohms a little more current lifts the output to where the array gives far less: halved until it fits.
        let (mut below_v, mut above_v) = (posts_v, most_v);
        for _ in 0..HALVINGS {
            out_v = 0.5 * (below_v + above_v);
            (point, out_a) = sent(out_v);
            *(if lifted_v(out_a) > out_v { &mut below_v } else { &mut above_v }) = out_v;
        }
        out_v = lifted_v(out_a);
    }
    let limited_a = out_a.min(tracker.most_a);
    Share {
        pv_a: point.input.i,
        pv_v: point.input.v,
        out_a: limited_a,
        out_v,
        clipped_w: if out_a > limited_a { (point.bank_w - limited_a * out_v).max(0.0) } else { 0.0 },
        held: point.tracking == Tracking::Held,
        slope_s: 0.0,
    }
}

/// Current that carries `power_w` into `posts_v` behind `own_ohm`, and the volts over which it changes by its own
/// size.
pub(super) fn constant_power_a(power_w: f64, posts_v: f64, own_ohm: f64) -> (f64, f64) {
    if power_w <= 0.0 || posts_v <= 0.0 {
        return (0.0, 1.0);
    }
    // 2 P / (V + sqrt(V^2 + 4 R P)) keeps its digits as R goes to zero; the root is V + 2 R I.
    let reach_v = (posts_v * posts_v + 4.0 * own_ohm * power_w).sqrt();
    (2.0 * power_w / (posts_v + reach_v), reach_v)
}
