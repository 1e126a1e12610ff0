//! The shade stage: what the things on the roof leave of an array's power, by how high the sun stands and how much of the
//! light is the sky's.
//!
//! Nobody knows where the nose will point, so all bearings of the sun are averaged: the result knows neither place nor date, and
//! one serves all stays and every sky. A bypass group with the middle of some cell in a shadow has the sky's light alone. Light and
//! warmth are taken as they usually are with such a sky. What that and the nodes cost is measured by a test against every hour
//! solved by itself.

use crate::arrange::Arrange;
use crate::physics::module::{Cell, Module, Point};
use crate::physics::shadow::{Rect, hides_below, sky_share};
use crate::physics::strings::Curves;

/// Bearings of the sun from the nose, over which all is averaged. Source: our own choice; with the nodes below within 1.2 % of the
/// unshaded array in any month (test).
pub const BEARINGS: usize = 36;
/// Elevations of the sun, degrees. Source: our own choice, closer where shadows are long.
const ELEVATIONS_DEG: [f64; 14] = [2.0, 4.0, 7.0, 10.0, 14.0, 18.0, 23.0, 28.0, 34.0, 41.0, 49.0, 58.0, 70.0, 85.0];
/// Shares of the light that come from the sky, and the light that goes with them, W/m2.
/// Source: our own choice, about the means of the typical years.
const SKIES: [(f64, f64); 7] =
    [(0.03, 850.0), (0.1, 750.0), (0.2, 650.0), (0.35, 480.0), (0.55, 330.0), (0.75, 230.0), (1.0, 150.0)];
/// Cells over 20 C by light, K m2/W. Source: as [`crate::physics::cell::Mounting::CLOSE_ROOF`] in a light wind, rounded.
const WARMING: f64 = 0.035;
/// Volts that an array is looked at, evenly up to open circuit. Source: our own choice, 0.1 % of power at most.
const GRID: usize = 96;
/// How far over those volts a bank's may lie that a joined array works at. Source: our own choice, 16.5 V on one of 12 V.
const BANK_RISES: f64 = 1.25;
/// Most strips that a panel is cut into. Source: no panel has as many bypass diodes.
const MOST_STRIPS: f64 = 12.0;

/// Where a controller has its array work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Works {
    /// At the best of the volts above these.
    Above(f64),
    /// At these volts.
    At(f64),
}

/// A panel of a string.
#[derive(Clone, Debug, PartialEq)]
pub struct Lying {
    pub module: Module,
    /// Bypass groups.
    pub groups: f64,
    /// Where it lies, and the height of its face; none where nobody said: then nothing shades it.
    pub at: Option<(Rect, f64)>,
}

/// What the shade stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct ShadeInput {
    /// What stands on the roof, with its height above the skin.
    pub things: Vec<(Rect, f64)>,
    /// All strings in parallel on one controller.
    pub strings: Vec<Vec<Lying>>,
    pub works: Works,
}

impl ShadeInput {
    /// Whether anything stands there that is higher than some panel of which it is known where it lies.
    #[must_use]
    pub fn has_any(&self) -> bool {
        let highest_m = self.things.iter().map(|(_, height_m)| *height_m).fold(0.0, f64::max);
        let mut lying = self.strings.iter().flatten().filter_map(|panel| panel.at);
        lying.any(|(_, face_m)| highest_m > face_m)
    }
}

/// A share for every elevation and sky.
type Table = [[f64; SKIES.len()]; ELEVATIONS_DEG.len()];

/// What is left of an array under shade.
#[derive(Clone, Debug)]
pub struct Shade {
    tangents: [f64; ELEVATIONS_DEG.len()],
    power: Table,
    current: Table,
    /// Up to where a bank moves the volts of an array that is joined to it.
    most_v: Option<f64>,
}

/// Shares that shade leaves of what the array would have without.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Left {
    /// Of the power at the best volts.
    pub power: f64,
    /// Of the current where the controller has it work.
    pub current: f64,
}

impl Left {
    /// Without shade.
    pub const ALL: Self = Self { power: 1.0, current: 1.0 };
}

impl Shade {
    /// What is left, by the tangent of the sun's elevation and the share of the light that comes from the sky.
    #[must_use]
    pub fn left(&self, tangent: f64, sky: f64) -> Left {
        let (e, up) = between(&self.tangents, tangent);
        let (s, over) = between(&SKIES.map(|(share, _)| share), sky);
        let of = |table: &Table| {
            let at = |e: usize, s: usize| table.get(e).and_then(|row| row.get(s)).copied().unwrap_or(1.0);
            let across = |e: usize| at(e, s) + (at(e, s + 1) - at(e, s)) * over;
            across(e) + (across(e + 1) - across(e)) * up
        };
        Left { power: of(&self.power), current: of(&self.current) }
    }

    /// The best point, of what it would be without shade. By volts that a bank moves to, an array that is joined to it must not
    /// seem to give more than it has at its best.
    #[must_use]
    pub fn best(&self, left: Left, bare: Point, amps_at: impl Fn(f64) -> f64) -> Point {
        let i = bare.i * left.power;
        match self.most_v.map(|v| v.min(bare.v)) {
            Some(v) if left.current > left.power && v > 0.0 => {
                Point { i: i.max(left.current * amps_at(v) * v / bare.v), ..bare }
            }
            _ => Point { i, ..bare },
        }
    }
}

/// The node below a number and how far it lies toward the next one; the ends hold beyond them.
fn between(nodes: &[f64], x: f64) -> (usize, f64) {
    let k = nodes.partition_point(|node| *node <= x).clamp(1, nodes.len() - 1) - 1;
    let node = |k: usize| nodes.get(k).copied().unwrap_or(0.0);
    (k, ((x - node(k)) / (node(k + 1) - node(k))).clamp(0.0, 1.0))
}

/// Strings of the same panels: each kind of them, how many bypass groups it has, and how many of these all have together.
type Make = Vec<(Module, f64, f64)>;

/// A string: its make, and of each group that something hides, its kind there and below which tangents.
struct Strung {
    make: usize,
    hidden: Vec<(usize, [f64; BEARINGS])>,
}

/// Half a cell, m. Source: cells of 156 to 166 mm.
const HALF_CELL_M: f64 = 0.08;

/// The strips of a panel that its bypass diodes bridge, side by side along its length, each as far as the middles of its cells
/// reach: a cell counts as shaded where its middle is.
/// Source: common practice: a diode bridges two columns of cells; half a cell in shadow gives half of its current.
#[must_use]
pub fn strips(panel: &Rect, groups: f64) -> Vec<Rect> {
    let n = groups.round().clamp(1.0, MOST_STRIPS);
    let strip = |k: usize| {
        let from = k as f64 / n;
        let whole = if panel.l_m >= panel.w_m {
            Rect { y_m: panel.y_m + panel.w_m * from, w_m: panel.w_m / n, ..*panel }
        } else {
            Rect { x_m: panel.x_m + panel.l_m * from, l_m: panel.l_m / n, ..*panel }
        };
        whole.wider(-HALF_CELL_M.min(0.49 * whole.l_m.min(whole.w_m)))
    };
    (0..n as usize).map(strip).collect()
}

/// Things as far as they stand above a face.
fn above(things: &[(Rect, f64)], face_m: f64) -> Vec<(Rect, f64)> {
    things.iter().map(|(thing, height_m)| (*thing, height_m - face_m)).filter(|(_, above_m)| *above_m > 0.0).collect()
}

/// Below which tangents a strip lies in some shadow, bearing by bearing.
fn horizon(things: &[(Rect, f64)], strip: &Rect) -> [f64; BEARINGS] {
    std::array::from_fn(|k| {
        let bearing = ((k as f64 + 0.5) / BEARINGS as f64 * std::f64::consts::TAU).sin_cos();
        let each = things.iter().map(|(thing, above_m)| hides_below(thing, *above_m, bearing, strip));
        each.fold(0.0, f64::max)
    })
}

/// Skies, by their numbers, under which it is worked out what all strings see of the sky; straight between them.
/// Source: our own choice.
const SEEN_AT: [usize; 3] = [1, 3, 6];

/// What they see under any sky.
fn seen_under(seen: &[f64; SEEN_AT.len()], share: f64) -> f64 {
    let nodes = SEEN_AT.map(|s| SKIES.get(s).map_or(1.0, |(share, _)| *share));
    let (k, up) = between(&nodes, share);
    let at = |k: usize| seen.get(k).copied().unwrap_or(1.0);
    at(k) + (at(k + 1) - at(k)) * up
}

/// Step in which shares of the sky are told apart. Source: our own choice; a whole number of them is all of it.
const SKY_STEP: f64 = 1.0 / 32.0;

/// Equal strings beside things that hide a part of the sky: their make, of each kind and share of the sky how many groups, and
/// how many strings.
struct Beside {
    make: usize,
    groups: Vec<(usize, f64, f64)>,
    parallel: f64,
}

/// The strings with what hides them from the sun, their makes, and what hides them from the sky.
fn strung(input: &ShadeInput) -> (Vec<Strung>, Vec<Make>, Vec<Beside>) {
    let (mut all, mut makes, mut skies) = (Vec::new(), Vec::<Make>::new(), Vec::<Beside>::new());
    for string in &input.strings {
        let (mut make, mut hidden, mut seen) = (Make::new(), Vec::new(), Vec::<(usize, f64, f64)>::new());
        for panel in string {
            let kind = make.iter().position(|(module, groups, _)| *module == panel.module && *groups == panel.groups);
            let kind = kind.unwrap_or_else(|| {
                make.push((panel.module, panel.groups, 0.0));
                make.len() - 1
            });
            if let Some((.., count)) = make.get_mut(kind) {
                *count += panel.groups;
            }
            let mut sees = |share: f64, count: f64| match seen.iter_mut().find(|(k, s, _)| (*k, *s) == (kind, share)) {
                Some((.., sum)) => *sum += count,
                None => seen.push((kind, share, count)),
            };
            let Some((rect, face_m)) = &panel.at else {
                sees(1.0, panel.groups);
                continue;
            };
            let things = above(&input.things, *face_m);
            let strips = strips(rect, panel.groups);
            for strip in &strips {
                let share = 1.0 - ((1.0 - sky_share(&things, strip)) / SKY_STEP).round() * SKY_STEP;
                sees(share, panel.groups / strips.len() as f64);
                let horizon = horizon(&things, strip);
                if horizon.iter().any(|tangent| *tangent > 0.0) {
                    hidden.push((kind, horizon));
                }
            }
        }
        let make = Patterns::number(&mut makes, make);
        seen.arrange_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        match skies.iter_mut().find(|known| known.make == make && known.groups == seen) {
            Some(equal) => equal.parallel += 1.0,
            None => skies.push(Beside { make, groups: seen, parallel: 1.0 }),
        }
        all.push(Strung { make, hidden });
    }
    (all, makes, skies)
}

/// Strings of one make with so many groups of each kind in shade.
#[derive(PartialEq)]
struct Shaded {
    make: usize,
    groups: Vec<f64>,
}

/// Which strings are shaded how: the number among all that was found.
#[derive(Default)]
struct Patterns {
    strings: Vec<Shaded>,
    /// Of each pattern the strings, by their numbers, in rising order.
    patterns: Vec<Vec<usize>>,
}

impl Patterns {
    fn number<T: PartialEq>(known: &mut Vec<T>, new: T) -> usize {
        known.iter().position(|k| *k == new).unwrap_or_else(|| {
            known.push(new);
            known.len() - 1
        })
    }

    /// The pattern of a bearing at a sun; with none every group stands lit.
    fn of(&mut self, strings: &[Strung], makes: &[Make], sun: Option<(usize, f64)>) -> usize {
        let one = |string: &Strung| {
            let mut groups = vec![0.0; makes.get(string.make).map_or(0, Vec::len)];
            for (kind, horizon) in &string.hidden {
                let is_dark = sun.is_some_and(|(k, tangent)| horizon.get(k).is_some_and(|least| tangent < *least));
                if let Some(slot) = groups.get_mut(*kind).filter(|_| is_dark) {
                    *slot += 1.0;
                }
            }
            Self::number(&mut self.strings, Shaded { make: string.make, groups })
        };
        let mut pattern: Vec<usize> = strings.iter().map(one).collect();
        pattern.arrange_by_key(|string| *string);
        Self::number(&mut self.patterns, pattern)
    }
}

/// What the things on the roof leave of an array.
#[must_use]
pub fn shade(input: &ShadeInput) -> Shade {
    let (strings, makes, skies) = strung(input);
    let tangents = ELEVATIONS_DEG.map(|deg| deg.to_radians().tan());
    let mut patterns = Patterns::default();
    let open = patterns.of(&strings, &makes, None);
    let suns = tangents.map(|tangent| {
        let of = |k| patterns.of(&strings, &makes, Some((k, tangent)));
        std::array::from_fn::<usize, BEARINGS, _>(of)
    });
    let none = [[1.0; SKIES.len()]; ELEVATIONS_DEG.len()];
    let (mut power, mut current) = (none, none);
    let unders = SKIES.map(|sky| Under::of(&makes, sky, input.works));
    let opens = unders.each_ref().map(|under| under.open(&patterns, open));
    let seen = SEEN_AT.map(|s| unders.get(s).zip(opens.get(s)).map_or(1.0, |(under, open)| under.seen(*open, &skies)));
    for (s, (under, open)) in unders.iter().zip(opens).enumerate() {
        let left = under.left(&patterns, open, seen_under(&seen, under.share));
        for ((power, current), found) in power.iter_mut().zip(&mut current).zip(&suns) {
            let mean = |of: fn(&Left) -> f64| {
                found.iter().filter_map(|pattern| left.get(*pattern)).map(of).sum::<f64>() / BEARINGS as f64
            };
            if let (Some(power), Some(current)) = (power.get_mut(s), current.get_mut(s)) {
                (*power, *current) = (mean(|left| left.power), mean(|left| left.current));
            }
        }
    }
    let most_v = match input.works {
        Works::At(v) => Some(v * BANK_RISES),
        Works::Above(_) => None,
    };
    Shade { tangents, power, current, most_v }
}

/// The highest power of some currents at rising volts, by the parabola through the best point and those beside it.
/// Source: numerical analysis: from one point to the next alone the highest is missed by up to a thousandth.
fn highest(at_v: &[f64], amps: &[f64]) -> f64 {
    let watts = |k: usize| Some(at_v.get(k)? * amps.get(k)?);
    let mut best = (0, 0.0);
    for k in 0..at_v.len() {
        if let Some(w) = watts(k).filter(|w| *w > best.1) {
            best = (k, w);
        }
    }
    let (k, most_w) = best;
    let beside = || {
        let (before, after) = (k.checked_sub(1)?, k + 1);
        let (back_v, on_v) = (at_v.get(k)? - at_v.get(before)?, at_v.get(after)? - at_v.get(k)?);
        let (rise, fall) = ((most_w - watts(before)?) / back_v, (watts(after)? - most_w) / on_v);
        let (slope, bend) = ((rise * on_v + fall * back_v) / (back_v + on_v), (fall - rise) / (back_v + on_v));
        (bend < 0.0).then(|| -0.25 * slope * slope / bend)
    };
    most_w + beside().unwrap_or(0.0)
}

/// Strings under one sky.
struct Under<'a> {
    makes: &'a [Make],
    /// Share of the light that comes from the sky, the light, and how warm the cells are.
    share: f64,
    light_w_m2: f64,
    cell_c: f64,
    /// Volts that the array is looked at, rising, and the current that no string is driven backwards beyond.
    at_v: Vec<f64>,
    back_a: f64,
    /// The volts among these that a controller joins it to.
    joined: Option<usize>,
}

/// What a sum of strings has: power at its best volts, and current where it is joined to a bank.
#[derive(Clone, Copy, Default)]
struct Has {
    best_w: f64,
    joined_a: f64,
}

impl Has {
    /// As shares of what another has.
    fn of(self, all: Self) -> Left {
        let part = |of: f64, all: f64, none: f64| if all > 0.0 { (of / all).min(1.0) } else { none };
        let power = part(self.best_w, all.best_w, 1.0);
        Left { power, current: part(self.joined_a, all.joined_a, power) }
    }
}

impl<'a> Under<'a> {
    fn of(makes: &'a [Make], (share, light_w_m2): (f64, f64), works: Works) -> Self {
        let cell_c = 20.0 + WARMING * light_w_m2;
        let open_v = |make: &Make| -> f64 {
            let each = make.iter();
            each.map(|(module, groups, all)| module.at(light_w_m2, cell_c).ideal_open_circuit_v() * all / groups).sum()
        };
        let top_v = makes.iter().map(open_v).fold(0.0, f64::max);
        let isc_a = |(module, ..): &(Module, f64, f64)| module.at(light_w_m2, cell_c).current_at(0.0, 0.0);
        let back_a = makes.iter().flatten().map(isc_a).fold(0.0, f64::max);
        let mut at_v: Vec<f64> = (1..=GRID).map(|k| top_v * k as f64 / GRID as f64).collect();
        let mut joined = None;
        match works {
            // An array that never stands so high charges nothing, whatever the shade.
            Works::Above(least_v) if least_v < top_v => {
                at_v.retain(|v| *v > least_v);
                at_v.insert(0, least_v);
            }
            Works::Above(_) => {}
            Works::At(v) => {
                let place = at_v.partition_point(|other| *other < v);
                at_v.insert(place, v);
                joined = Some(place);
            }
        }
        Self { makes, share, light_w_m2, cell_c, at_v, back_a, joined }
    }

    /// A bypass group of a kind with so much of the sky, in the sun or without it.
    fn group(&self, (module, groups, _): &(Module, f64, f64), seen: f64, is_lit: bool) -> Cell {
        let sun = if is_lit { 1.0 - self.share } else { 0.0 };
        module.at(self.light_w_m2 * (sun + self.share * seen), self.cell_c).scaled(1.0 / groups, 1.0)
    }

    fn has<'c>(&self, strings: impl Iterator<Item = (f64, &'c Vec<f64>)>) -> Has {
        let mut sum = vec![0.0; self.at_v.len()];
        for (parallel, curve) in strings {
            sum.iter_mut().zip(curve).for_each(|(sum, amps)| *sum += parallel * amps);
        }
        let best_w = highest(&self.at_v, &sum);
        let joined_a = self.joined.and_then(|place| sum.get(place)).map_or(0.0, |amps| amps.max(0.0));
        Has { best_w, joined_a }
    }

    /// Currents of the strings of some patterns, each group with so much of the sky; those of no other strings.
    fn amps(&self, patterns: &Patterns, of: &[Vec<usize>], seen: f64) -> Vec<Vec<f64>> {
        let curves = |make: &Make| {
            let each = make.iter().flat_map(|kind| [self.group(kind, seen, false), self.group(kind, seen, true)]);
            Curves::of(&each.collect::<Vec<_>>(), self.back_a)
        };
        let curves: Vec<Curves> = self.makes.iter().map(curves).collect();
        let amps = |(number, string): (usize, &Shaded)| {
            if !of.iter().any(|pattern| pattern.contains(&number)) {
                return Vec::new();
            }
            let counts = self.makes.get(string.make).into_iter().flatten().zip(&string.groups);
            let counts: Vec<f64> =
                counts.flat_map(|((.., all), dark)| [dark.min(*all), (all - dark).max(0.0)]).collect();
            curves.get(string.make).map_or_else(Vec::new, |curves| curves.currents(&counts, &self.at_v))
        };
        patterns.strings.iter().enumerate().map(amps).collect()
    }

    /// What a pattern has by the currents of its strings.
    fn sum(&self, pattern: &[usize], amps: &[Vec<f64>]) -> Has {
        self.has(pattern.iter().filter_map(|string| Some((1.0, amps.get(*string)?))))
    }

    /// What the pattern has in which all stands in the sun, beside all of the sky.
    fn open(&self, patterns: &Patterns, open: usize) -> Has {
        let Some(pattern) = patterns.patterns.get(open) else { return Has::default() };
        self.sum(pattern, &self.amps(patterns, std::slice::from_ref(pattern), 1.0))
    }

    /// What each pattern leaves.
    fn left(&self, patterns: &Patterns, in_open: Has, seen: f64) -> Vec<Left> {
        let amps = self.amps(patterns, &patterns.patterns, seen);
        patterns.patterns.iter().map(|pattern| self.sum(pattern, &amps).of(in_open)).collect()
    }

    /// The share of the sky's light that leaves all strings what their groups give, each with its own share, while all stand in
    /// the sun. Source: Kirchhoff's laws.
    fn seen(&self, in_open: Has, skies: &[Beside]) -> f64 {
        let shares = || skies.iter().flat_map(|beside| &beside.groups).map(|(_, share, _)| *share);
        let (least, most) = (shares().fold(1.0, f64::min), shares().fold(0.0, f64::max));
        if least >= most {
            return least;
        }
        let curve = |beside: &Beside| {
            let kinds = self.makes.get(beside.make).map_or(&[][..], Vec::as_slice);
            let cells = beside.groups.iter().filter_map(|(k, seen, _)| Some(self.group(kinds.get(*k)?, *seen, true)));
            let counts: Vec<f64> = beside.groups.iter().map(|(.., count)| *count).collect();
            (beside.parallel, Curves::of(&cells.collect::<Vec<_>>(), self.back_a).currents(&counts, &self.at_v))
        };
        let all: Vec<(f64, Vec<f64>)> = skies.iter().map(curve).collect();
        let Left { power, current } = self.has(all.iter().map(|(parallel, curve)| (*parallel, curve))).of(in_open);
        let left = if self.joined.is_some() { current } else { power };
        (1.0 - (1.0 - left) / self.share).clamp(least, most)
    }
}
