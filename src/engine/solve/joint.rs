//! Currents of all sources, the volts of their arrays and those of the posts, found together by Newton's method, in
//! three steps or so. It serves the usual moment: few sources, even arrays, trackers at their arrays' maximum.
//!
//! Whatever is not found here goes to the general search.

use crate::physics::battery::BankHour;
use crate::physics::controller::Tracker;
use crate::physics::lead::Local;
use crate::physics::module::Cell;

use super::held::{Way, held_at, hold_ohm, is_sensed};
use super::meet::LEAST_SHARE;
use super::source::{constant_power_a, is_dark};
use super::{Charging, Flow, Kind, Lit, Makes, Moment};

/// Most sources that are looked at together. Source: our own choice; a coach rarely has more that give at a time.
const MOST: usize = 4;
/// Steps at most; three do.
const STEPS: usize = 12;
/// A step of this share leaves about its square.
pub(super) const NEAR: f64 = 1e-5;
/// The same of a junction's volts over its `a`: an exponential leaves half the square.
pub(super) const NEAR_JUNCTION: f64 = 1e-4;
/// The same of the bank's net current, whose curve bends most near none.
pub(super) const SMALL: f64 = 3e-4;

/// What a source's current follows from.
#[derive(Clone, Copy)]
enum Gives<'a> {
    /// A current, whatever the volts.
    Amps(f64),
    /// Power over its output's volts, while its array's best volts stand high enough above these.
    Watts { watts: f64, tracker: &'a Tracker, best_v: f64, low: Option<Low<'a>> },
    /// An array joined to the posts: where its junction stands, behind all that its loop and its way resist.
    Joined { cell: &'a Cell, junction_v: f64, conductance_s: f64, ohm: f64, block_v: f64, most_a: f64 },
    /// Held volts at its output, or at the posts where it reads them there.
    Volts { held_v: f64, ohm: f64, at_posts: bool },
}

/// An even array that may stand too low for its tracker, and the resistance of its loop.
#[derive(Clone, Copy)]
struct Low<'a> {
    cell: &'a Cell,
    pv_ohm: f64,
}

impl Low<'_> {
    /// Output power with the array held at `v`, and its change with that.
    #[cold]
    fn watts(&self, tracker: &Tracker, v: f64) -> (f64, f64) {
        let [amps, slope_s, _] = self.cell.current_and_slopes(v, self.pv_ohm);
        let share = tracker.conversion * tracker.tracking;
        let watts = share * v * amps - tracker.self_w;
        if amps > 0.0 && watts > 0.0 { (watts, share * (amps + v * slope_s)) } else { (0.0, 0.0) }
    }
}

/// A source on its way to where it settles.
#[derive(Clone, Copy)]
struct Side<'a> {
    gives: Gives<'a>,
    amps: f64,
}

/// Newton's straight line: how a current changes, less `slope_s` for every volt that its way's end rises.
#[derive(Clone, Copy, Default)]
struct Line {
    change_a: f64,
    slope_s: f64,
    /// For a joined array: how far its junction is off, and how fast that is mended.
    off_v: f64,
    stretch: f64,
}

impl<'a> Side<'a> {
    const NONE: Self = Self { gives: Gives::Amps(0.0), amps: 0.0 };

    /// Source `k` giving all it can; none where the general search has to look.
    #[inline]
    fn free(circuit: &'a Charging, moment: &Moment<'a>, flow: &Flow, k: usize) -> Option<Self> {
        let Some(solar) = circuit.solars.get(k) else {
            let f = k - circuit.solars.len();
            let share = moment.feeding.get(f).copied().unwrap_or(0.0);
            let amps = circuit.feeders.get(f)?.out_a * share;
            return Some(Self { gives: Gives::Amps(amps), amps });
        };
        let gives = match (moment.lit.get(k)?, &solar.makes) {
            (Lit::None, _) => Gives::Amps(0.0),
            (lit, Makes::Tracking(tracker)) => match (*flow.watts.get(k)?, lit) {
                (0.0, _) => Gives::Amps(0.0),
                (watts, lit) => {
                    let low =
                        if let Lit::Even { cell, .. } = lit { Some(Low { cell, pv_ohm: solar.pv_ohm }) } else { None };
                    Gives::Watts { watts, tracker, best_v: moment.best.get(k)?.v, low }
                }
            },
            (Lit::Even { cell, .. }, Makes::Pwm { block_v, most_a }) => {
                let ohm = cell.rs_ohm + solar.pv_ohm + circuit.own_ohm(k);
                Gives::Joined { cell, junction_v: 0.0, conductance_s: 0.0, ohm, block_v: *block_v, most_a: *most_a }
            }
            (Lit::Mixed(_), Makes::Pwm { .. }) => return None,
        };
        Some(Self { gives, amps: 0.0 })
    }

    /// Near what it gives into some volts; `ohm`: of its way, were all others to give as much as it does.
    #[inline]
    fn begin(&mut self, end_v: f64, way_ohm: f64) {
        match &mut self.gives {
            Gives::Amps(amps) => self.amps = *amps,
            Gives::Watts { watts, tracker, .. } => {
                self.amps = constant_power_a(*watts, end_v, way_ohm).0.min(tracker.most_a);
            }
            Gives::Joined { cell, junction_v, conductance_s, ohm, block_v, .. } => {
                *junction_v = cell.junction_bound_v(end_v + *block_v, *ohm - cell.rs_ohm);
                (self.amps, *conductance_s) = cell.junction_line(*junction_v);
            }
            Gives::Volts { .. } => self.amps = 0.0,
        }
    }

    /// The line over the volts at the end of its way, its own drop there left out.
    #[inline]
    fn line(&self, end_v: f64, own_ohm: f64) -> Line {
        match &self.gives {
            Gives::Amps(amps) => Line { change_a: amps - self.amps, ..Line::default() },
            Gives::Watts { watts, tracker, best_v, low } => {
                let out_v = end_v + own_ohm * self.amps;
                let (mut watts, mut slope_w) = (*watts, 0.0);
                if let Some(low) = low
                    && *best_v < out_v + tracker.headroom_v
                {
                    (watts, slope_w) = low.watts(tracker, out_v + tracker.headroom_v);
                }
                if tracker.most_a * out_v <= watts {
                    return Line { change_a: tracker.most_a - self.amps, ..Line::default() };
                }
                // amps * out_v = watts, of which out_v changes both sides.
                let pull_a = self.amps - slope_w;
                let over = (out_v + own_ohm * pull_a).recip();
                Line { change_a: (watts - self.amps * out_v) * over, slope_s: pull_a * over, ..Line::default() }
            }
            Gives::Joined { junction_v, conductance_s, ohm, block_v, .. } => {
                let off_v = junction_v - ohm * self.amps - end_v - block_v;
                let stretch = (1.0 + ohm * conductance_s).recip();
                let slope_s = conductance_s * stretch;
                Line { change_a: slope_s * off_v, slope_s, off_v, stretch }
            }
            Gives::Volts { held_v, ohm, .. } => {
                let slope_s = ohm.recip();
                Line { change_a: (held_v - end_v) * slope_s - self.amps, slope_s, ..Line::default() }
            }
        }
    }

    /// Goes a step, the end of its way rising by `end_v`; whether it was a small one.
    #[inline]
    fn go(&mut self, line: &Line, step_a: f64, end_v: f64) -> bool {
        self.amps += step_a;
        match &mut self.gives {
            Gives::Joined { cell, junction_v, conductance_s, .. } => {
                let step_v = (end_v - line.off_v) * line.stretch;
                *junction_v += step_v;
                let near = step_v.abs() <= NEAR_JUNCTION * cell.a_v;
                if !near {
                    (self.amps, *conductance_s) = cell.junction_line(*junction_v);
                }
                near
            }
            // A firm post turns the last digit of its volts into so much.
            _ => step_a.abs() <= NEAR * self.amps.abs() + 1e-7,
        }
    }

    fn reads_posts(&self) -> bool {
        matches!(self.gives, Gives::Volts { at_posts: true, .. })
    }
}

/// How the posts answer: `weight * change_v = off_v + ohm * change of the net current`.
#[derive(Clone, Copy)]
struct Answer {
    weight: f64,
    off_v: f64,
    ohm: f64,
}

/// What all but `k` do in a row.
#[inline]
fn others<const N: usize>(row: &[f64; N], x: &[f64; N], k: usize) -> f64 {
    (0..N).filter(|j| *j != k).map(|j| row[j] * x[j]).sum()
}

/// Where a search begins.
#[derive(Clone, Copy)]
struct Guess {
    posts_v: f64,
    /// The bank's curve at a net current near that, where it is known.
    seen: Option<(f64, Local)>,
}

/// What the bank is taken to do, at first.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Bank {
    Charging,
    Discharging,
    /// It takes nothing and gives nothing.
    Blocked,
}

/// The sources of a moment that may give: `N` of them, or fewer.
struct Joint<'a, const N: usize> {
    circuit: &'a Charging,
    sides: [Side<'a>; N],
    /// Their places among all sources.
    places: [usize; N],
    /// What each reads of the others' drops; on the diagonal its way's own resistance.
    ohm: [[f64; N]; N],
}

impl<'a, const N: usize> Joint<'a, N> {
    /// None at all.
    fn none(circuit: &'a Charging) -> Self {
        Self { circuit, sides: [Side::NONE; N], places: [usize::MAX; N], ohm: [[0.0; N]; N] }
    }

    /// With the sources at `places`, as `side` has them; none where the general search has to look. Filled in where it
    /// stands: it is too large to be handed on.
    #[inline]
    fn with(
        &mut self,
        places: &[usize; MOST],
        side: impl Fn(usize) -> Option<Side<'a>>,
        posts_v: f64,
    ) -> Option<&mut Self> {
        for (slot, k) in self.sides.iter_mut().zip(places).filter(|(_, k)| **k != usize::MAX) {
            *slot = side(*k)?;
        }
        self.places.copy_from_slice(places.get(..N)?);
        for (row, (k, side)) in self.ohm.iter_mut().zip(self.places.iter().zip(&self.sides)) {
            for (slot, j) in row.iter_mut().zip(&self.places) {
                if k == j || !side.reads_posts() {
                    *slot = self.circuit.shared_ohm(*k, *j);
                }
            }
        }
        self.begin(posts_v);
        Some(self)
    }

    #[inline]
    fn begin(&mut self, posts_v: f64) {
        for (side, row) in self.sides.iter_mut().zip(&self.ohm) {
            side.begin(posts_v, row.iter().sum());
        }
    }

    fn amps(&self) -> f64 {
        self.sides.iter().map(|side| side.amps).sum()
    }

    /// One step towards where all agree: the posts' change, and whether all of it was small.
    #[inline]
    fn step(&mut self, posts_v: f64, load_s: f64, answer: Answer) -> Option<(f64, bool)> {
        let amps = self.sides.map(|side| side.amps);
        let mut lines = [Line::default(); N];
        for k in 0..N {
            let row = &self.ohm[k];
            let end_v = posts_v + others(row, &amps, k);
            lines[k] = self.sides[k].line(end_v, row[k]);
        }
        let (start, slope) = self.together(&lines);
        let rise = answer.weight + answer.ohm * (slope.iter().sum::<f64>() - load_s);
        if rise < 0.05 * answer.weight || rise <= 0.0 {
            return None;
        }
        let step_v = (answer.off_v + answer.ohm * start.iter().sum::<f64>()) / rise;
        let mut steps = start;
        steps.iter_mut().zip(&slope).for_each(|(a, s)| *a -= s * step_v);
        let mut near = step_v.abs() <= NEAR * posts_v;
        for k in 0..N {
            let end_v = step_v + others(&self.ohm[k], &steps, k);
            near &= self.sides[k].go(&lines[k], steps[k], end_v);
        }
        Some((step_v, near))
    }

    /// Every change with those of the others in it, as a straight line over the change of the posts' volts alone: Gauss
    /// and Jordan without exchange, as each row's own place is its largest.
    #[inline]
    fn together(&self, lines: &[Line; N]) -> ([f64; N], [f64; N]) {
        let (mut start, mut slope) = (lines.map(|line| line.change_a), lines.map(|line| line.slope_s));
        let mut rows = self.ohm;
        for k in 0..N {
            rows[k] = rows[k].map(|ohm| ohm * lines[k].slope_s);
            rows[k][k] = 1.0;
        }
        for i in 0..N {
            let over = rows[i][i].recip();
            let pivot = rows[i].map(|x| x * over);
            rows[i] = pivot;
            (start[i], slope[i]) = (start[i] * over, slope[i] * over);
            for k in (0..N).filter(|k| *k != i) {
                let factor = rows[k][i];
                rows[k].iter_mut().zip(&pivot).for_each(|(x, p)| *x -= factor * p);
                start[k] -= factor * start[i];
                slope[k] -= factor * slope[i];
            }
        }
        (start, slope)
    }

    /// Once all agree: whether no array draws from the posts; one that does is taken off them.
    fn all_give(&mut self) -> bool {
        let mut all = true;
        for side in &mut self.sides {
            if side.amps < 0.0 && matches!(side.gives, Gives::Joined { .. }) {
                *side = Side::NONE;
                all = false;
            }
        }
        all
    }

    /// Whether what was taken for granted holds at the volts found.
    fn holds(&self, posts_v: f64) -> bool {
        let amps = self.sides.map(|side| side.amps);
        self.sides.iter().zip(&self.ohm).all(|(side, row)| match &side.gives {
            Gives::Joined { most_a, .. } => side.amps <= *most_a,
            Gives::Watts { tracker, best_v, low: None, .. } => {
                let out_v = posts_v + row.iter().zip(&amps).map(|(ohm, a)| ohm * a).sum::<f64>();
                *best_v >= out_v + tracker.headroom_v
            }
            _ => true,
        })
    }

    fn note(&self, amps: &mut [f64]) {
        amps.fill(0.0);
        for (k, side) in self.places.iter().zip(&self.sides) {
            if let Some(slot) = amps.get_mut(*k) {
                *slot = side.amps;
            }
        }
    }

    /// Goes on until all agree at given volts; what they give together.
    #[inline]
    fn give_into(&mut self, posts_v: f64) -> Option<f64> {
        for _ in 0..STEPS {
            let (_, near) = self.step(posts_v, 0.0, Answer { weight: 1.0, off_v: 0.0, ohm: 0.0 })?;
            if near && self.all_give() {
                return self.holds(posts_v).then(|| self.amps());
            }
        }
        None
    }

    /// Goes on until all agree with the bank and the load; net current and volts.
    #[inline]
    fn meet(&mut self, now: &BankHour<'_>, moment: &Moment<'_>, guess: Guess, bank: Bank) -> Option<(f64, f64)> {
        let (charging, blocked) = (bank == Bank::Charging, bank == Bank::Blocked);
        let either = blocked || now.is_one_line();
        let Guess { mut posts_v, mut seen } = guess;
        let least_v = LEAST_SHARE * now.discharge_rest_v();
        for _ in 0..STEPS {
            let load_a = moment.load_w / posts_v;
            let net_a = self.amps() - load_a;
            // Beyond zero its own side's curve goes on straight until all agree.
            let own_a = match charging {
                _ if either => net_a,
                true => net_a.max(0.0),
                false => net_a.min(-f64::MIN_POSITIVE),
            };
            let (seen_a, bank) = match seen.take() {
                Some(seen) => seen,
                None if blocked => (own_a, Local::default()),
                None => (own_a, now.curve(own_a)),
            };
            let answer = if blocked {
                Answer { weight: 0.0, off_v: net_a, ohm: 1.0 }
            } else {
                Answer { weight: 1.0, off_v: bank.volts - posts_v + bank.ohm * (net_a - seen_a), ohm: bank.ohm }
            };
            let (step_v, near) = self.step(posts_v, load_a / posts_v, answer)?;
            posts_v += step_v;
            if posts_v <= least_v {
                return None;
            }
            if near && self.all_give() {
                let net_a = self.amps() - moment.load_w / posts_v;
                let fits = either || (net_a > 0.0) == charging && (net_a - seen_a).abs() <= SMALL * net_a.abs();
                let net_a = if blocked { 0.0 } else { net_a };
                return (fits && self.holds(posts_v)).then_some((net_a, posts_v));
            }
        }
        None
    }
}

/// The sources that may give, and how many.
fn giving(circuit: &Charging, flow: &Flow, gives: impl Fn(usize) -> bool) -> Option<([usize; MOST], usize)> {
    let (mut places, mut n) = ([usize::MAX; MOST], 0);
    if flow.kind == Kind::Any {
        return None;
    }
    for k in (0..circuit.sources()).filter(|k| gives(*k)) {
        *places.get_mut(n)? = k;
        n += 1;
    }
    Some((places, n))
}

/// What all give into given volts, into the flow's offers; their sum.
pub(super) fn into(circuit: &Charging, moment: &Moment<'_>, posts_v: f64, flow: &mut Flow) -> Option<f64> {
    let (places, n) = giving(circuit, flow, |k| !is_dark(circuit, moment, k))?;
    let sum_a = match n {
        1 => into_of::<1>(circuit, moment, &places, posts_v, flow),
        2 => into_of::<2>(circuit, moment, &places, posts_v, flow),
        3 => into_of::<3>(circuit, moment, &places, posts_v, flow),
        _ => into_of::<MOST>(circuit, moment, &places, posts_v, flow),
    };
    flow.low_is_in = sum_a.is_some();
    sum_a
}

fn into_of<const N: usize>(
    circuit: &Charging,
    moment: &Moment<'_>,
    places: &[usize; MOST],
    posts_v: f64,
    flow: &mut Flow,
) -> Option<f64> {
    let free = |k| Side::free(circuit, moment, flow, k);
    let mut joint = Joint::<N>::none(circuit);
    let joint = joint.with(places, free, posts_v)?;
    let sum_a = joint.give_into(posts_v)?;
    joint.note(&mut flow.offers);
    Some(sum_a)
}

/// Where sources, bank and load meet.
#[derive(Clone, Copy)]
pub(super) enum Met {
    /// With nothing held: net current and volts.
    Freely(f64, f64),
    /// Above absorption volts: what the sources give into these is on offer.
    Above,
}

/// Where all meet bank and load with nothing held, up to absorption volts; the offers into the flow.
pub(super) fn meet(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    absorb_v: f64,
    flow: &mut Flow,
) -> Option<Met> {
    let (places, n) = giving(circuit, flow, |k| !is_dark(circuit, moment, k))?;
    let met = match n {
        1 => meet_of::<1>(circuit, now, moment, &places, absorb_v, flow),
        2 => meet_of::<2>(circuit, now, moment, &places, absorb_v, flow),
        3 => meet_of::<3>(circuit, now, moment, &places, absorb_v, flow),
        _ => meet_of::<MOST>(circuit, now, moment, &places, absorb_v, flow),
    };
    flow.low_is_in = met.is_some();
    met
}

fn meet_of<const N: usize>(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    places: &[usize; MOST],
    absorb_v: f64,
    flow: &mut Flow,
) -> Option<Met> {
    let rest_v = now.rest_v();
    let above = |flow: &mut Flow| -> Option<bool> {
        let net_a = into_of::<N>(circuit, moment, places, absorb_v, flow)? - moment.load_w / absorb_v;
        Some(net_a > 0.0 && now.needs_more(net_a, absorb_v))
    };
    let mut joint = Joint::<N>::none(circuit);
    let joint = joint.with(places, |k| Side::free(circuit, moment, flow, k), rest_v)?;
    let guess_a = joint.amps() - moment.load_w / rest_v;
    let bank = if guess_a > 0.0 { Bank::Charging } else { Bank::Discharging };
    let curve = now.curve(guess_a);
    // What seems to end above absorption volts is looked at there first: more often than not that is all.
    let seems_above = curve.volts > absorb_v;
    if seems_above && above(flow)? {
        return Some(Met::Above);
    }
    let (net_a, volts) = joint.meet(now, moment, Guess { posts_v: curve.volts, seen: Some((guess_a, curve)) }, bank)?;
    if !seems_above && net_a > 0.0 && volts > absorb_v && above(flow)? {
        return Some(Met::Above);
    }
    joint.note(&mut flow.offers);
    Some(Met::Freely(net_a, volts))
}

/// The same where each source works in a way of its own: amps into the flow.
pub(super) fn meet_held(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    ways: &[Way],
    bank: Bank,
    flow: &mut Flow,
) -> Option<(f64, f64)> {
    let gives = |k: usize| match ways.get(k) {
        Some(Way::Holding) => true,
        Some(Way::Free) => !is_dark(circuit, moment, k),
        Some(Way::Off) | None => false,
    };
    let (places, n) = giving(circuit, flow, gives)?;
    match n {
        0 => None,
        1 => held_of::<1>(circuit, now, moment, ways, &places, bank, flow),
        2 => held_of::<2>(circuit, now, moment, ways, &places, bank, flow),
        3 => held_of::<3>(circuit, now, moment, ways, &places, bank, flow),
        _ => held_of::<MOST>(circuit, now, moment, ways, &places, bank, flow),
    }
}

fn held_of<const N: usize>(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    ways: &[Way],
    places: &[usize; MOST],
    bank: Bank,
    flow: &mut Flow,
) -> Option<(f64, f64)> {
    let guess_v = flow.offered_v;
    let side = |k: usize| match ways.get(k)? {
        Way::Off => Some(Side::NONE),
        Way::Free => Side::free(circuit, moment, flow, k),
        Way::Holding => {
            let (held_v, ohm) = (held_at(flow, k), hold_ohm(circuit, k));
            Some(Side { gives: Gives::Volts { held_v, ohm, at_posts: is_sensed(circuit, k) }, amps: 0.0 })
        }
    };
    let mut joint = Joint::<N>::none(circuit);
    let joint = joint.with(places, side, guess_v)?;
    let met = joint.meet(now, moment, Guess { posts_v: guess_v, seen: None }, bank)?;
    joint.note(&mut flow.amps);
    Some(met)
}
