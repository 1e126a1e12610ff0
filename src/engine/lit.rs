//! The array stage: what an array offers in each daylight hour, before any wire.

use std::sync::OnceLock;

use crate::physics::array::{Array, Group};
use crate::physics::cell::Mounting;
use crate::physics::controller::Source;
use crate::physics::module::{Cell, Module, Point};
use crate::standards::kinds::Mount;

use super::memo::Stage;
use super::shade::{Left, Shade};
use super::sky::SkyYear;
use super::solve::{Lit, best_point};

/// Equal strings: how they are mounted, how many, and the modules of one, each with how many bypass groups it has.
#[derive(Clone, Debug, PartialEq)]
pub struct StringsOf {
    pub mount: Mount,
    pub parallel: usize,
    /// (module, bypass groups, how many in series), unlike ones apart.
    pub modules: Vec<(Module, f64, usize)>,
}

/// What the array stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct ArrayInput {
    pub strings: Vec<StringsOf>,
    /// The light at the stay's tilt.
    pub sky: Stage<SkyYear>,
    /// Whether that tilt is more than none.
    pub is_tilted: bool,
    /// The light on the flat roof, for strings that stay down where others are tilted. Its hours are those of `sky`.
    pub flat: Option<Stage<SkyYear>>,
    /// What stands on the roof; none where that shades nothing that is known.
    pub shade: Option<Stage<Shade>>,
}

/// How strings lie at a stay: in which light, and how they cool there.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Face {
    is_flat: bool,
    mounting: Mounting,
}

/// What a face has in one hour.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Under {
    light_w_m2: f64,
    cell_c: f64,
}

/// Equal strings that lie alike.
#[derive(Clone, Debug, PartialEq)]
struct Laid {
    strings: StringsOf,
    /// Its number among the faces.
    face: usize,
}

/// An array in one daylight hour.
#[derive(Clone, Debug, PartialEq)]
pub struct OfferHour {
    pub hour: u16,
    pub month: u8,
    /// Effective irradiance beside all shadows, W/m2; the mean by rated watts where strings lie in unlike light.
    pub light_w_m2: f64,
    /// One diode equation for the whole array where it is even and evenly lit but for shadows: of its current as much as these
    /// leave, the mean of all ways that the nose may point.
    pub even: Option<Cell>,
    /// Maximum power without wire, after shade.
    pub best: Point,
    /// Share of its current that shadows leave an uneven array.
    pub current: f64,
}

/// The array stage's result.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    pub hours: Vec<OfferHour>,
    /// Rated watts of all panels.
    pub rated_w: f64,
    laid: Vec<Laid>,
    /// How many unlike faces there are, and of an uneven array what each of them has, hour by hour.
    faces: usize,
    under: Vec<Under>,
    /// At maximum power after shade, Wh in each whole month, and what shade takes of it.
    pub month_wh: [f64; 12],
    pub shade_wh: [f64; 12],
    /// What each panel alone at its own best would give more, Wh in all its months.
    pub unlike_wh: f64,
}

/// What the trackers' stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct BehindInput {
    pub offer: Stage<Offer>,
    /// Loop resistance of the array's runs.
    pub pv_ohm: f64,
}

/// The best points behind the PV loop, hour by hour of an offer: an edit on the bank's side needs no new search. A month
/// is searched when it is first looked at, by whoever does: a year on two threads searches on both.
#[derive(Debug)]
pub struct Behind {
    input: BehindInput,
    months: [OnceLock<Vec<Point>>; 12],
}

/// What the trackers' stage finds, month by month when it is looked at.
#[must_use]
pub fn best_behind(input: &BehindInput) -> Behind {
    Behind { input: input.clone(), months: Default::default() }
}

impl Behind {
    /// The best points of a month's hours, and the place of the first of them among the offer's hours.
    #[must_use]
    pub fn month(&self, month: usize) -> (&[Point], usize) {
        let hours = &self.input.offer.hours;
        let first = hours.partition_point(|hour| usize::from(hour.month) < month);
        let search = || {
            let of_month = hours.get(first..).unwrap_or_default();
            let of_month = of_month.split_at(of_month.partition_point(|hour| usize::from(hour.month) == month)).0;
            let mut array = Array::default();
            of_month.iter().map(|hour| self.best(hour, &mut array)).collect()
        };
        (self.months.get(month).map_or(&[], |found| found.get_or_init(search)), first)
    }

    /// Whether nobody has looked at a month yet.
    #[must_use]
    pub fn waits(&self, month: usize) -> bool {
        self.months.get(month).is_some_and(|found| found.get().is_none())
    }

    fn best(&self, hour: &OfferHour, array: &mut Array) -> Point {
        let BehindInput { offer, pv_ohm } = &self.input;
        match &hour.even {
            Some(cell) => best_point(Lit::Even { cell, bare: &hour.best }, *pv_ohm),
            None => {
                offer.fill(hour, array);
                best_point(Lit::Mixed(array), *pv_ohm)
            }
        }
    }
}

impl Offer {
    /// Fills a general array for one hour.
    pub fn fill(&self, hour: &OfferHour, array: &mut Array) {
        let at = self.hours.binary_search_by_key(&hour.hour, |h| h.hour).unwrap_or(0) * self.faces;
        fill(&self.laid, self.under.get(at..at + self.faces).unwrap_or_default(), hour.current, array);
    }
}

/// The mounting constants of a mount, on panels that are tilted up or lie on the roof: let down, those that can be tilted
/// are as close to it as those on feet. Source: King et al. 2004, SAND2004-3535, table 1, whose open rack has air all round.
#[must_use]
pub fn mounting(mount: Mount, is_tilted: bool) -> Mounting {
    match mount {
        Mount::Feet => Mounting::CLOSE_ROOF,
        Mount::Glued => Mounting::INSULATED_BACK,
        Mount::Tilted => {
            if is_tilted {
                Mounting::OPEN_RACK
            } else {
                Mounting::CLOSE_ROOF
            }
        }
    }
}

/// Strings by how they lie, equal ones together, and the faces. What is glued down lies flat whatever the tilt.
fn laid(strings: &[StringsOf], is_tilted: bool) -> (Vec<Laid>, Vec<Face>) {
    let (mut all, mut faces): (Vec<Laid>, Vec<Face>) = (Vec::new(), Vec::new());
    for own in strings {
        let is_flat = is_tilted && own.mount == Mount::Glued;
        let lies = Face { is_flat, mounting: mounting(own.mount, is_tilted) };
        let face = faces.iter().position(|f| *f == lies).unwrap_or_else(|| {
            faces.push(lies);
            faces.len() - 1
        });
        match all.iter_mut().find(|l| l.face == face && l.strings.modules == own.modules) {
            Some(equal) => equal.strings.parallel += own.parallel,
            None => all.push(Laid { strings: own.clone(), face }),
        }
    }
    (all, faces)
}

/// An array that shadows leave no more of its current than this is dark: all of it lies under something.
/// Source: our own choice; a diode equation of no current has no volts.
const DARK: f64 = 1e-6;

/// What an array offers through its year.
#[must_use]
pub fn offer(input: &ArrayInput) -> Offer {
    let (laid, faces) = laid(&input.strings, input.is_tilted);
    let even = even_module(&laid);
    let weights: Vec<f64> = (0..faces.len()).map(|face| rated_w(laid.iter().filter(|l| l.face == face))).collect();
    let rated_w = weights.iter().sum();
    let mut array = Array::default();
    let (mut month_wh, mut shade_wh) = ([0.0; 12], [0.0; 12]);
    let mut unlike_wh = 0.0;
    let mut hours = Vec::with_capacity(input.sky.hours.len());
    let mut all_under = Vec::new();
    for (n, lit) in input.sky.hours.iter().enumerate() {
        let on_roof = input.flat.as_ref().and_then(|flat| flat.hours.get(n)).unwrap_or(lit);
        let under = faces.iter().map(|face| {
            let lit = if face.is_flat { on_roof } else { lit };
            let cell_c = face.mounting.cell_c(lit.warming_w_m2, lit.air_c, lit.wind_m_s);
            Under { light_w_m2: (lit.beam_w_m2 + lit.diffuse_w_m2).max(0.0), cell_c }
        });
        let first = all_under.len();
        all_under.extend(under);
        let under = all_under.get(first..).unwrap_or_default();
        let light_w_m2 = mean_light_w_m2(under, &weights);
        if light_w_m2 <= 0.0 {
            all_under.truncate(first);
            continue;
        }
        let shadows = input.shade.as_ref();
        let left = shadows.map_or(Left::ALL, |shade| shade.left(lit.sun_tangent, lit.sky_part()));
        let best =
            |bare: Point, amps_at: &dyn Fn(f64) -> f64| shadows.map_or(bare, |shade| shade.best(left, bare, amps_at));
        let (even, bare, best) = match (even, under) {
            (Some((module, series, parallel)), [Under { light_w_m2, cell_c }]) => {
                let cell = module.at(*light_w_m2, *cell_c).scaled(series, parallel);
                let bare = cell.max_power(0.0);
                all_under.clear();
                let best = best(bare, &|v| cell.current_at(v, 0.0));
                (Some(shadows.map_or(cell, |_| cell.scaled(1.0, left.current))), bare, best)
            }
            _ => {
                fill(&laid, under, 1.0, &mut array);
                let bare = array.max_power(0.0);
                let best = best(bare, &|v| array.current_at(v, 0.0));
                unlike_wh += (alone_w(&laid, under) - bare.power_w()).max(0.0) * left.power;
                (None, bare, best)
            }
        };
        let month = usize::from(lit.month);
        let is_dark = left.current <= DARK;
        let best = if is_dark { Point::default() } else { best };
        if let (Some(wh), Some(lost)) = (month_wh.get_mut(month), shade_wh.get_mut(month)) {
            *wh += best.power_w();
            *lost += bare.power_w() - best.power_w();
        }
        if is_dark {
            all_under.truncate(first);
            continue;
        }
        let current = left.current;
        hours.push(OfferHour { hour: lit.hour, month: lit.month, light_w_m2, even, best, current });
    }
    Offer { hours, rated_w, laid, faces: faces.len(), under: all_under, month_wh, shade_wh, unlike_wh }
}

/// The mean light on all faces, each by its rated watts.
fn mean_light_w_m2(under: &[Under], weights: &[f64]) -> f64 {
    match under {
        [one] => one.light_w_m2,
        _ => {
            let sum: f64 = under.iter().zip(weights).map(|(u, w)| u.light_w_m2 * w).sum();
            sum / weights.iter().sum::<f64>().max(f64::MIN_POSITIVE)
        }
    }
}

/// Rated watts of strings.
fn rated_w<'a>(laid: impl Iterator<Item = &'a Laid>) -> f64 {
    laid.map(|l| l.strings.watts(|module| module.at(1000.0, 25.0).max_power(0.0).power_w())).sum()
}

/// The module, series and parallel counts of an even array.
fn even_module(laid: &[Laid]) -> Option<(&Module, f64, f64)> {
    match laid {
        [one] => match one.strings.modules.as_slice() {
            [(module, _, series)] => Some((module, *series as f64, one.strings.parallel as f64)),
            _ => None,
        },
        _ => None,
    }
}

impl StringsOf {
    /// Watts of all modules together, of what each has alone.
    fn watts(&self, each_w: impl Fn(&Module) -> f64) -> f64 {
        self.modules.iter().map(|(module, _, count)| each_w(module) * *count as f64).sum::<f64>() * self.parallel as f64
    }
}

/// Power of every panel alone at its own best.
fn alone_w(laid: &[Laid], under: &[Under]) -> f64 {
    let own = |l: &Laid| {
        let Some(Under { light_w_m2, cell_c }) = under.get(l.face) else { return 0.0 };
        l.strings.watts(|module| module.at(*light_w_m2, *cell_c).max_power(0.0).power_w())
    };
    laid.iter().map(own).sum()
}

/// `current`: the share of it that shadows leave.
fn fill(laid: &[Laid], under: &[Under], current: f64, array: &mut Array) {
    array.clear();
    for Laid { strings, face } in laid {
        let Some(Under { light_w_m2, cell_c }) = under.get(*face) else { continue };
        let groups: Vec<Group> = strings
            .modules
            .iter()
            .map(|(module, groups, count)| {
                Group::of(&module.at(*light_w_m2, *cell_c), 1.0 / groups, groups * *count as f64)
            })
            .collect();
        array.add_string(strings.parallel as f64 * current, &groups);
    }
}
