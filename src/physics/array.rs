//! Arrays of unlike or unequally lit modules: strings in parallel, bypass groups in series.

use super::bracket::Bracket;
use super::controller::Source;
use super::module::{Cell, Point};
use super::strand::{Kind, Strand};

/// Most volts at which bypass diodes of mixed parallel strings begin to conduct that are told apart; further ones
/// share a stretch. Source: no roof has as many.
const MOST_KNEES: usize = 64;
/// Volts over which a bypass diode comes to conduct. Source: Schottky equation, 0.4 V at an ampere and more.
const ONSET_V: f64 = 0.4;

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

/// Strings in parallel. Of unlike, shaded strings in parallel the search may, seldom, take a maximum that lies up to
/// 1e-4 below the highest one. Refill one with [`Array::clear`] and [`Array::add_string`]: it keeps its memory.
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

    /// Volts, falling, where a string of unlike kinds sees a bypass diode begin to conduct, and those a little below
    /// where it does so well: the flat stretch between would hide a maximum beyond it.
    fn knees(&self) -> ([f64; MOST_KNEES], usize) {
        let mut knees = [0.0; MOST_KNEES];
        let mut count = 0;
        for strings in &self.strings {
            let strand = self.strand(strings);
            let weaker = strand.0.split_last().map_or(&[][..], |(_, weaker)| weaker);
            for kind in weaker {
                let knee_v = kind.knee_v.unwrap_or(0.0);
                for v in [knee_v, knee_v - ONSET_V * kind.count] {
                    if let Some(slot) = knees.get_mut(count)
                        && v > 0.0
                    {
                        *slot = v;
                        count += 1;
                    }
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

    /// The one maximum between two volts, if power has one there. With resistance behind the array, `v` is before it.
    fn local_maximum(&self, bottom_v: f64, top_v: f64, guess_v: f64, ohm: f64) -> Point {
        let mut bracket = Bracket::new(bottom_v, top_v);
        // Near the top, lest the search begin where a bypass diode already pulls and miss a maximum above it.
        let high_v = top_v - 0.15 * (top_v - bottom_v);
        let mut v = if guess_v > bottom_v && guess_v < top_v { guess_v } else { high_v };
        let mut best = Point::default();
        for _ in 0..80 {
            let [i, i1, i2] = self.currents(v);
            let out_v = v - ohm * i;
            if out_v * i > best.power_w() && i > 0.0 {
                best = Point { v: out_v, i };
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
        best
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
        let (_, mut top_v) = self.open_circuit_range();
        let (knees, count) = self.knees();
        let mut best = Point::default();
        let mut guess_v = self.guess_v();
        for &knee_v in knees.iter().take(count).chain([&0.0]) {
            // More than the volts at its top times the current at its bottom no stretch can give.
            if top_v > knee_v && top_v * self.currents(knee_v)[0] > best.power_w() {
                // Where bypass diodes conduct a stretch may hide a second maximum: it is searched from below too.
                let span_v = top_v - knee_v;
                let low_v = [knee_v + 0.15 * span_v, knee_v + 0.5 * span_v];
                for start_v in std::iter::once(guess_v).chain(low_v).take(if count > 0 { 3 } else { 1 }) {
                    let found = self.local_maximum(knee_v, top_v, start_v, ohm);
                    if found.power_w() > best.power_w() {
                        best = found;
                    }
                }
            }
            top_v = knee_v;
            guess_v = 0.82 * top_v;
        }
        best
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
