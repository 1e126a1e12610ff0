//! One moment of the charging circuit: amps in every run on the way from the arrays to the bank's posts.

use crate::physics::array::Array;
use crate::physics::controller::{Source, Tracker, Tracking, tracking_point};
use crate::physics::module::{Cell, Point};

/// A controller between its array and the bank.
#[derive(Clone, Debug, PartialEq)]
pub enum Makes {
    /// Joins array and bank; drops `block_v` in its switch.
    Pwm { block_v: f64, most_a: f64 },
    /// Converts.
    Tracking(Tracker),
}

/// A solar charger of the compiled circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Solar {
    pub makes: Makes,
    /// Loop resistance from the array to the controller.
    pub pv_ohm: f64,
    /// Segments from the controller to the posts, as indices into [`Charging::segments_ohm`].
    pub out: Vec<usize>,
}

/// The compiled charging circuit: what a year's hours are solved over.
#[derive(Clone, Debug, PartialEq)]
pub struct Charging {
    /// Volts at the posts.
    pub bank_v: f64,
    pub solars: Vec<Solar>,
    /// Loop resistance of each segment between controllers and posts.
    pub segments_ohm: Vec<f64>,
}

/// What one array offers at a moment.
#[derive(Clone, Copy)]
pub enum Lit<'a> {
    /// Dark.
    None,
    /// One diode equation, with a starting point for the search of its maximum.
    Even { cell: &'a Cell, junction_v: f64 },
    /// Unlike modules.
    Mixed(&'a Array),
}

/// The point of greatest power behind a PV loop: what a tracking controller looks for.
#[must_use]
pub fn best_point(lit: Lit<'_>, pv_ohm: f64) -> Point {
    match lit {
        Lit::None => Point::default(),
        Lit::Even { cell, junction_v } => cell.max_power_from(junction_v, pv_ohm).0,
        Lit::Mixed(array) => array.max_power(pv_ohm),
    }
}

/// What one controller does at a moment.
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
}

/// One diode equation whose maximum is found already.
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

/// Rounds of the mutual search; each takes two digits or more, as the wires drop about a hundredth.
const ROUNDS: usize = 40;
/// Where two rounds agree to this share the search ends.
const SAME: f64 = 1e-14;
/// The same for the arithmetic search: a round leaves a hundredth of the last one's change, so the error left is
/// of the order of 1e-13.
const ALMOST: f64 = 1e-11;

/// What flows at a moment; kept between moments only for its memory.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Flow {
    /// One a controller.
    pub shares: Vec<Share>,
    /// Current in each segment.
    pub segments_a: Vec<f64>,
    best: Vec<Point>,
    amps: Vec<f64>,
    watts: Vec<f64>,
    /// Ohms that two controllers share on their ways to the posts, row by row; on the diagonal a way's whole
    /// resistance.
    coupling: Vec<f64>,
}

/// Solves one moment.
///
/// The posts' volts are held by the bank. Controllers that share a segment see each other's drop: each is solved
/// in turn with the currents of the others until nothing moves.
pub fn solve(circuit: &Charging, lit: &[Lit<'_>], flow: &mut Flow) {
    flow.couple(circuit);
    let mut best = std::mem::take(&mut flow.best);
    best.clear();
    best.extend(circuit.solars.iter().zip(lit).map(|(solar, lit)| match solar.makes {
        Makes::Pwm { .. } => Point::default(),
        Makes::Tracking(_) => best_point(*lit, solar.pv_ohm),
    }));
    solve_from(circuit, lit, &best, flow);
    flow.best = best;
}

/// As [`solve`], with the trackers' best points found already and a flow made by [`Flow::of`] this circuit.
pub fn solve_from(circuit: &Charging, lit: &[Lit<'_>], best: &[Point], flow: &mut Flow) {
    if solve_at_best(circuit, best, flow) {
        return;
    }
    flow.start(circuit);
    for _ in 0..ROUNDS {
        let mut moved = false;
        for (k, (solar, lit)) in circuit.solars.iter().zip(lit).enumerate() {
            let Some(old) = flow.shares.get(k).copied() else { continue };
            let (posts_v, own_ohm) = flow.seen_by(circuit, solar, old.out_a);
            let best = best.get(k).copied().unwrap_or_default();
            let share = match lit {
                Lit::None => Share { out_v: posts_v, ..Share::default() },
                Lit::Even { cell, .. } => one(solar, *cell, best, posts_v, own_ohm),
                Lit::Mixed(array) => one(solar, *array, best, posts_v, own_ohm),
            };
            moved |= flow.replace(k, solar, share);
        }
        if circuit.solars.len() == 1 || !moved {
            break;
        }
    }
}

/// The usual moment, by arithmetic alone: every controller tracks, and every array stays above its controller's
/// output by the headroom, so that its power does not depend on the output's volts. `false`: it is no such moment.
///
/// Its answer is that of the general search: the same currents at the same points.
pub fn solve_at_best(circuit: &Charging, best: &[Point], flow: &mut Flow) -> bool {
    let n = circuit.solars.len();
    flow.start(circuit);
    flow.amps.clear();
    flow.watts.clear();
    for (k, (solar, best)) in circuit.solars.iter().zip(best).enumerate() {
        let Makes::Tracking(tracker) = &solar.makes else { return false };
        let power_w = (tracker.conversion * tracker.tracking * best.power_w() - tracker.self_w).max(0.0);
        let own_ohm = flow.coupling.get(k * n + k).copied().unwrap_or(0.0);
        flow.watts.push(power_w);
        flow.amps.push(constant_power_a(power_w, circuit.bank_v, own_ohm).min(tracker.most_a));
    }
    for _ in 0..ROUNDS {
        let mut moved = false;
        for k in 0..n {
            let (Some(row), Some(solar)) = (flow.coupling.get(k * n..(k + 1) * n), circuit.solars.get(k)) else {
                return false;
            };
            let Makes::Tracking(tracker) = &solar.makes else { return false };
            let out_v = circuit.bank_v + row.iter().zip(&flow.amps).map(|(ohm, a)| ohm * a).sum::<f64>();
            let out_a = (flow.watts.get(k).copied().unwrap_or(0.0) / out_v).min(tracker.most_a);
            if let Some(a) = flow.amps.get_mut(k) {
                moved |= (out_a - *a).abs() > ALMOST * out_a;
                *a = out_a;
            }
        }
        if !moved {
            break;
        }
    }
    for (k, (solar, best)) in circuit.solars.iter().zip(best).enumerate() {
        let Makes::Tracking(tracker) = &solar.makes else { return false };
        let row = flow.coupling.get(k * n..(k + 1) * n).unwrap_or_default();
        let out_v = circuit.bank_v + row.iter().zip(&flow.amps).map(|(ohm, a)| ohm * a).sum::<f64>();
        if best.v > 0.0 && best.v < out_v + tracker.headroom_v {
            return false;
        }
        let (power_w, out_a) = (flow.watts.get(k).copied().unwrap_or(0.0), flow.amps.get(k).copied().unwrap_or(0.0));
        let clipped_w = if out_a < tracker.most_a { 0.0 } else { (power_w - out_a * out_v).max(0.0) };
        if let Some(share) = flow.shares.get_mut(k) {
            *share = Share { pv_a: best.i, pv_v: best.v, out_a, out_v, clipped_w, held: false };
        }
    }
    for (solar, share) in circuit.solars.iter().zip(&flow.shares) {
        for s in &solar.out {
            if let Some(a) = flow.segments_a.get_mut(*s) {
                *a += share.out_a;
            }
        }
    }
    true
}

impl Flow {
    /// A flow for one circuit. [`solve`] makes it anew when the circuit is another.
    #[must_use]
    pub fn of(circuit: &Charging) -> Self {
        let mut flow = Self::default();
        flow.couple(circuit);
        flow
    }

    fn couple(&mut self, circuit: &Charging) {
        self.coupling.clear();
        for one in &circuit.solars {
            for other in &circuit.solars {
                let shared = one.out.iter().filter(|s| other.out.contains(s));
                self.coupling.push(shared.filter_map(|s| circuit.segments_ohm.get(*s)).sum());
            }
        }
    }

    fn start(&mut self, circuit: &Charging) {
        self.shares.clear();
        self.shares.resize(circuit.solars.len(), Share::default());
        self.segments_a.clear();
        self.segments_a.resize(circuit.segments_ohm.len(), 0.0);
    }

    /// The posts as a controller sees them: with what the others drop in the segments it shares, behind its own
    /// resistance.
    fn seen_by(&self, circuit: &Charging, solar: &Solar, own_a: f64) -> (f64, f64) {
        let (mut offset_v, mut own_ohm) = (0.0, 0.0);
        for s in &solar.out {
            let ohm = circuit.segments_ohm.get(*s).copied().unwrap_or(0.0);
            offset_v += ohm * (self.segments_a.get(*s).copied().unwrap_or(0.0) - own_a);
            own_ohm += ohm;
        }
        (circuit.bank_v + offset_v, own_ohm)
    }

    /// Puts a controller's new share in place; whether its current moved.
    fn replace(&mut self, k: usize, solar: &Solar, share: Share) -> bool {
        let Some(slot) = self.shares.get_mut(k) else { return false };
        let more_a = share.out_a - slot.out_a;
        *slot = share;
        for s in &solar.out {
            if let Some(a) = self.segments_a.get_mut(*s) {
                *a += more_a;
            }
        }
        more_a.abs() > SAME * share.out_a.abs()
    }
}

/// One controller against given posts behind its own resistance.
fn one<S: Source + ?Sized>(solar: &Solar, source: &S, best: Point, posts_v: f64, own_ohm: f64) -> Share {
    match &solar.makes {
        Makes::Pwm { block_v, most_a } => {
            let loop_ohm = solar.pv_ohm + own_ohm;
            let free = source.current_at(posts_v + block_v, loop_ohm).max(0.0);
            let amps = free.min(*most_a);
            let out_v = posts_v + amps * own_ohm;
            Share {
                pv_a: amps,
                pv_v: out_v + block_v,
                out_a: amps,
                out_v,
                clipped_w: (free - amps) * posts_v,
                held: false,
            }
        }
        Makes::Tracking(tracker) => tracked(tracker, &Found { source, best }, posts_v, own_ohm, solar.pv_ohm),
    }
}

/// A tracker into posts behind its own resistance: constant power, unless its array is held at the output's volts.
fn tracked<S: Source>(tracker: &Tracker, found: &S, posts_v: f64, own_ohm: f64, pv_ohm: f64) -> Share {
    // What tracking does not find is taken off whether the array is at its maximum or held: with a loss in one of
    // the two alone the power would jump between them, and thicker wire could harvest less.
    let conversion = tracker.conversion * tracker.tracking;
    let free = Tracker { most_a: f64::MAX, conversion, tracking: 1.0, ..*tracker };
    let mut out_v = posts_v;
    let mut point = tracking_point(found, &free, out_v, pv_ohm);
    let mut out_a = constant_power_a(point.bank_w, posts_v, own_ohm);
    for _ in 0..ROUNDS {
        let next_v = posts_v + out_a.min(tracker.most_a) * own_ohm;
        let settled = (next_v - out_v).abs() <= SAME * next_v.abs();
        out_v = next_v;
        // At its maximum the power does not depend on the output's volts.
        let headroom_kept = point.tracking == Tracking::Maximum && point.input.v >= out_v + tracker.headroom_v;
        if settled || headroom_kept {
            break;
        }
        point = tracking_point(found, &free, out_v, pv_ohm);
        out_a = constant_power_a(point.bank_w, posts_v, own_ohm);
    }
    let limited_a = out_a.min(tracker.most_a);
    Share {
        pv_a: point.input.i,
        pv_v: point.input.v,
        out_a: limited_a,
        out_v,
        clipped_w: if out_a > limited_a { (point.bank_w - limited_a * out_v).max(0.0) } else { 0.0 },
        held: point.tracking == Tracking::Held,
    }
}

/// Current that carries `power_w` into `posts_v` behind `own_ohm`.
fn constant_power_a(power_w: f64, posts_v: f64, own_ohm: f64) -> f64 {
    if power_w <= 0.0 || posts_v <= 0.0 {
        return 0.0;
    }
    // 2 P / (V + sqrt(V^2 + 4 R P)) keeps its digits as R goes to zero.
    2.0 * power_w / (posts_v + (posts_v * posts_v + 4.0 * own_ohm * power_w).sqrt())
}
