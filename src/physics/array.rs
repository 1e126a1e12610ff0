//! Arrays of unlike or unequally lit modules: strings in parallel, bypass groups in series.

use super::bracket::Bracket;
use super::controller::Source;
use super::humps::{Bounds, Stretch};
use super::module::{Cell, Point};
use super::strand::{Kind, Strand};

/// Most volts at which bypass diodes of mixed parallel strings begin to conduct that are told apart; further ones
/// share a stretch. Source: no roof has as many.
const MOST_KNEES: usize = 64;
/// Share by which a maximum must lie above the best one found to be worth a search. Source: a hundredth of the
/// tolerance that power is asked for.
const WORTH: f64 = 1e-9;
/// Stretches that one search looks at, at most: far more than it takes, so that nothing can run on.
/// Source: count over random arrays, some 40 on the average.
const MOST_STRETCHES: u32 = 4000;

/// Equal bypass groups of a string.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Group {
    /// One group: the cells between the ends of one bypass diode, in the light of the darkest of them.
    pub cell: Cell,
    /// How many in series.
    pub count: f64,
}

impl Group {
    /// Groups that each hold a share of a module's cells in series, e.g. a half where it has two bypass diodes.
    /// Source: series elements of one diode equation add up.
    #[must_use]
    pub fn of(module: &Cell, share: f64, count: f64) -> Self {
        Self { cell: module.scaled(share, 1.0), count }
    }
}

/// Equal strings in parallel: a stretch of the kinds.
#[derive(Clone, Copy, Debug)]
struct Strings {
    first: usize,
    end: usize,
    parallel: f64,
}

/// The highest point found so far, and its volts before the resistance.
#[derive(Clone, Copy, Debug, Default)]
struct Best {
    point: Point,
    inner_v: f64,
    /// Whether it is a maximum, not only a point that a search came by.
    settled: bool,
}

impl Best {
    fn raise(&mut self, other: Self) {
        if other.point.power_w() > self.point.power_w() {
            *self = other;
        }
    }
}

/// Strings in parallel. Refill one with [`Array::clear`] and [`Array::add_string`]: it keeps its memory.
#[derive(Clone, Debug, Default)]
pub struct Array {
    kinds: Vec<Kind>,
    strings: Vec<Strings>,
    even: Option<Cell>,
}

impl Array {
    /// Takes every string out. Source: none needed.
    pub fn clear(&mut self) {
        self.kinds.clear();
        self.strings.clear();
        self.even = None;
    }

    /// Adds equal strings in parallel, each of these groups in series. Groups without cells are passed over.
    /// Source: Kirchhoff's laws: order within a string and among strings does not matter.
    pub fn add_string(&mut self, parallel: f64, groups: &[Group]) {
        let first = self.kinds.len();
        for group in groups {
            let Group { cell, count } = *group;
            let sound = count > 0.0 && cell.a_v > 0.0 && cell.i0_a > 0.0;
            if !sound {
                continue;
            }
            let mine = self.kinds.get_mut(first..).unwrap_or_default();
            if let Some(kind) = mine.iter_mut().find(|kind| kind.cell == cell) {
                kind.count += count;
                continue;
            }
            let kind = Kind::new(cell, count);
            let place = mine.iter().take_while(|other| other.isc_a <= kind.isc_a).count();
            self.kinds.insert(first + place, kind);
        }
        let end = self.kinds.len();
        if end == first || parallel.is_nan() || parallel <= 0.0 {
            self.kinds.truncate(first);
            return;
        }
        let mine = self.kinds.get(first..end).unwrap_or_default();
        let twin = self.strings.iter_mut().find(|s| self.kinds.get(s.first..s.end).is_some_and(|k| same(k, mine)));
        if let Some(twin) = twin {
            twin.parallel += parallel;
            self.kinds.truncate(first);
        } else {
            self.strings.push(Strings { first, end, parallel });
            self.keep_knees();
        }
        self.even = match (self.strings.as_slice(), self.kinds.as_slice()) {
            ([strings], [kind]) => Some(kind.cell.scaled(kind.count, strings.parallel)),
            _ => None,
        };
    }

    /// The whole array as one diode equation where all of it is equal. Source: Kirchhoff's laws.
    #[must_use]
    pub fn even(&self) -> Option<Cell> {
        self.even
    }

    /// Strings joined with unlike ones are asked many times over: the volts of their knees are worth keeping.
    fn keep_knees(&mut self) {
        if self.strings.len() < 2 {
            return;
        }
        for strings in &self.strings {
            for k in strings.first..strings.end {
                let Some(kind) = self.kinds.get(k) else { continue };
                if kind.knee_v.is_none() {
                    let knee_v = self.strand(strings).volts(kind.isc_a, 0.0)[0];
                    if let Some(kind) = self.kinds.get_mut(k) {
                        kind.knee_v = Some(knee_v);
                    }
                }
            }
        }
    }

    fn strand(&self, strings: &Strings) -> Strand<'_> {
        Strand(self.kinds.get(strings.first..strings.end).unwrap_or_default())
    }

    /// Current of all strings at the array's volts, with first and second derivatives.
    fn currents(&self, v: f64) -> [f64; 3] {
        let mut sum = [0.0; 3];
        for strings in &self.strings {
            let strand = self.strand(strings);
            let part = match strand.0 {
                [kind] if v >= 0.0 => kind.cell.scaled(kind.count, 1.0).current_and_slopes(v, 0.0),
                _ => strand.current(v, 0.0),
            };
            for (s, p) in sum.iter_mut().zip(part) {
                *s += strings.parallel * p;
            }
        }
        sum
    }

    /// Volts, falling, where a string of unlike kinds sees a bypass diode begin to conduct.
    fn knees(&self) -> ([f64; MOST_KNEES], usize) {
        let mut knees = [0.0; MOST_KNEES];
        let mut count = 0;
        for strings in &self.strings {
            let strand = self.strand(strings);
            let weaker = strand.0.split_last().map_or(&[][..], |(_, weaker)| weaker);
            for knee_v in weaker.iter().filter_map(|kind| kind.knee_v) {
                if let Some(slot) = knees.get_mut(count)
                    && knee_v > 0.0
                {
                    *slot = knee_v;
                    count += 1;
                }
            }
        }
        if let Some(found) = knees.get_mut(..count) {
            found.sort_unstable_by(|a, b| b.total_cmp(a));
        }
        (knees, count)
    }

    /// Mean of the strings' guesses, by their currents.
    fn guess_v(&self) -> f64 {
        let (mut sum_w, mut sum_a) = (0.0, 0.0);
        for strings in &self.strings {
            let strand = self.strand(strings);
            let current_a = strings.parallel * strand.0.first().map_or(0.0, |kind| kind.isc_a);
            sum_w += current_a * strand.guess_v();
            sum_a += current_a;
        }
        if sum_a > 0.0 { sum_w / sum_a } else { 0.0 }
    }

    fn open_circuit_range(&self) -> (f64, f64) {
        let each = self.strings.iter().map(|strings| self.strand(strings).open_circuit_v());
        each.fold((f64::INFINITY, 0.0), |(low, high), v| (low.min(v), high.max(v)))
    }

    /// Where power rises no further between two volts. With resistance behind the array, `v` is before it.
    fn local_maximum(&self, bottom_v: f64, top_v: f64, guess_v: f64, ohm: f64) -> Best {
        let mut bracket = Bracket::new(bottom_v, top_v);
        let inside = guess_v > bottom_v && guess_v < top_v;
        let mut v = if inside { guess_v } else { top_v - 0.15 * (top_v - bottom_v) };
        let mut best = Best::default();
        for _ in 0..80 {
            let [i, i1, i2] = self.currents(v);
            let out_v = v - ohm * i;
            if out_v * i > best.point.power_w() && i > 0.0 {
                best = Best { point: Point { v: out_v, i }, inner_v: v, settled: false };
            }
            let slope = i * (1.0 - ohm * i1) + out_v * i1;
            let bend = 2.0 * i1 * (1.0 - ohm * i1) + i2 * (out_v - ohm * i);
            let next_v = bracket.after(v, slope > 0.0, v - slope / bend);
            let step_v = next_v - v;
            v = next_v;
            if step_v.abs() <= 1e-6 * top_v {
                break;
            }
        }
        best.settled = (v - best.inner_v).abs() <= 1e-5 * top_v;
        best
    }

    fn stretch(&self, low_v: f64, high_v: f64, ohm: f64) -> Stretch {
        let (mut low, mut high, mut bounds) = ([0.0; 2], [0.0; 2], Bounds::default());
        for strings in &self.strings {
            let strand = self.strand(strings);
            let (a, b) = (strand.current(low_v, 0.0), strand.current(high_v, 0.0));
            let part = strand.current_bounds([b[0].min(a[0]), a[0]]);
            for k in 0..2 {
                low[k] += strings.parallel * a[k];
                high[k] += strings.parallel * b[k];
                bounds.slope[k] += strings.parallel * part.slope[k];
                bounds.bend[k] += strings.parallel * part.bend[k];
            }
        }
        Stretch { low_v, high_v, low, high, bounds, ohm }
    }

    /// Finds what between two volts lies above the best point: halves the stretch until each part either cannot
    /// reach it or has one maximum at most.
    fn search(&self, low_v: f64, high_v: f64, ohm: f64, best: &mut Best, left: &mut u32) {
        *left = left.saturating_sub(1);
        if *left == 0 || high_v - low_v <= 1e-7 * high_v {
            return;
        }
        let stretch = self.stretch(low_v, high_v, ohm);
        let [[low_w, rise], [high_w, fall]] = stretch.ends();
        let (v, [i, _]) = if low_w > high_w { (low_v, stretch.low) } else { (high_v, stretch.high) };
        best.raise(Best { point: Point { v: v - ohm * i, i: i.max(0.0) }, inner_v: v, settled: false });
        if stretch.most_w() <= best.point.power_w() * (1.0 + WORTH) {
            return;
        }
        let middle_v = f64::midpoint(low_v, high_v);
        if !stretch.single() {
            self.search(middle_v, high_v, ohm, best, left);
            self.search(low_v, middle_v, ohm, best, left);
            return;
        }
        let here = best.inner_v > low_v && best.inner_v < high_v;
        if rise > 0.0 && fall < 0.0 && !(here && best.settled) {
            let start_v = if here { best.inner_v } else { middle_v };
            best.raise(self.local_maximum(low_v, high_v, start_v, ohm));
        }
    }
}

impl Source for Array {
    fn current_at(&self, v: f64, extra_ohm: f64) -> f64 {
        let ohm = extra_ohm.max(0.0);
        if let Some(even) = self.even {
            return even.current_at(v, ohm);
        }
        if let [strings] = self.strings.as_slice() {
            return strings.parallel * self.strand(strings).current(v, ohm * strings.parallel)[0];
        }
        let v = v.clamp(-1e6, 1e6);
        let mut inner_v = v;
        let [mut i, mut slope, _] = self.currents(v);
        let mut bracket = Bracket::new(v.min(v + ohm * i), v.max(v + ohm * i));
        for _ in 0..100 {
            let miss = inner_v - ohm * i - v;
            let next_v = bracket.after(inner_v, miss < 0.0, inner_v - miss / (1.0 - ohm * slope));
            let step_v = next_v - inner_v;
            inner_v = next_v;
            if step_v == 0.0 {
                break;
            }
            [i, slope, _] = self.currents(inner_v);
            if step_v.abs() <= 1e-9 {
                break;
            }
        }
        i
    }

    fn max_power(&self, extra_ohm: f64) -> Point {
        let ohm = extra_ohm.max(0.0);
        if let Some(even) = self.even {
            return even.max_power(ohm);
        }
        if let [strings] = self.strings.as_slice() {
            let one = self.strand(strings).max_power(ohm * strings.parallel);
            return Point { v: one.v, i: one.i * strings.parallel };
        }
        let (_, top_v) = self.open_circuit_range();
        let (knees, count) = self.knees();
        let bottoms = || knees.iter().take(count).chain([&0.0]);
        let mut best = Best::default();
        let (mut high_v, mut guess_v) = (top_v, self.guess_v());
        for &knee_v in bottoms() {
            // More than the volts at its top times the current at its bottom no stretch can give.
            if high_v > knee_v && high_v * self.currents(knee_v)[0] > best.point.power_w() {
                best.raise(self.local_maximum(knee_v, high_v, guess_v, ohm));
            }
            high_v = knee_v;
            guess_v = 0.82 * high_v;
        }
        // Above the first knee no bypass diode conducts and there is one maximum; below it a stretch may hide more.
        let mut left = MOST_STRETCHES;
        for (&low_v, &high_v) in bottoms().skip(1).zip(bottoms()) {
            self.search(low_v, high_v, ohm, &mut best, &mut left);
        }
        best.point
    }

    fn open_circuit_v(&self) -> f64 {
        if let Some(even) = self.even {
            return even.open_circuit_v();
        }
        let (low_v, high_v) = self.open_circuit_range();
        if low_v >= high_v {
            return high_v;
        }
        let mut bracket = Bracket::new(low_v, high_v);
        let mut v = high_v;
        for _ in 0..100 {
            let [i, slope, _] = self.currents(v);
            let next_v = bracket.after(v, i > 0.0, v - i / slope);
            let step_v = next_v - v;
            v = next_v;
            if step_v.abs() <= 1e-10 {
                break;
            }
        }
        v
    }
}

/// Whether two strings are equal.
fn same(one: &[Kind], other: &[Kind]) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(a, b)| a.cell == b.cell && a.count == b.count)
}
