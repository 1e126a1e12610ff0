//! The array stage: what an array offers in each daylight hour, before any wire.

use std::sync::OnceLock;

use crate::physics::array::{Array, Group};
use crate::physics::cell::Mounting;
use crate::physics::controller::Source;
use crate::physics::module::{Cell, Module, Point};
use crate::standards::kinds::Mount;

use super::memo::Stage;
use super::shade::Horizon;
use super::sky::{LitHour, SkyYear};
use super::solve::{Lit, best_point};

/// Equal strings: how many, and the modules of one, each with how many bypass groups it has.
#[derive(Clone, Debug, PartialEq)]
pub struct StringsOf {
    pub parallel: usize,
    /// (module, bypass groups, how many in series), unlike ones apart.
    pub modules: Vec<(Module, f64, usize)>,
}

/// Strings of one controller that lie alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Lying {
    pub strings: Vec<StringsOf>,
    pub mount: Mount,
    pub sky: Stage<SkyYear>,
}

/// What the array stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct ArrayInput {
    pub strings: Vec<StringsOf>,
    pub mount: Mount,
    pub sky: Stage<SkyYear>,
    /// Other strings on the same controller that lie otherwise: on another mount, or flat where these are tilted. Of the same
    /// stay: their skies have the same hours.
    pub beside: Vec<Lying>,
    pub shade: Stage<Horizon>,
}

/// An array in one daylight hour.
#[derive(Clone, Debug, PartialEq)]
pub struct OfferHour {
    pub hour: u16,
    pub month: u8,
    /// Effective irradiance, W/m2.
    pub light_w_m2: f64,
    pub cell_c: f64,
    /// One diode equation for the whole array where it is even and evenly lit.
    pub even: Option<Cell>,
    /// Maximum power without wire, and the junction volts there (a start for the point with wire).
    pub best: Point,
    pub junction_v: f64,
}

/// The array stage's result.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    pub hours: Vec<OfferHour>,
    strings: Vec<StringsOf>,
    beside: Vec<Beside>,
    /// At maximum power, Wh in each whole month.
    pub month_wh: [f64; 12],
    /// What each panel alone at its own best would give more, Wh in all its months.
    pub unlike_wh: f64,
}

/// Strings that lie otherwise, with their own light, W/m2, and warmth, C, in each of an offer's hours.
#[derive(Clone, Debug, PartialEq)]
struct Beside {
    strings: Vec<StringsOf>,
    hours: Vec<(f64, f64)>,
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
            let of_month = of_month.iter().take_while(|hour| usize::from(hour.month) == month);
            let mut array = Array::default();
            of_month.map(|hour| self.best(hour, &mut array)).collect()
        };
        (self.months.get(month).map_or(&[], |found| found.get_or_init(search)), first)
    }

    fn best(&self, hour: &OfferHour, array: &mut Array) -> Point {
        let BehindInput { offer, pv_ohm } = &self.input;
        match &hour.even {
            Some(cell) => best_point(Lit::Even { cell, junction_v: hour.junction_v }, *pv_ohm),
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
        array.clear();
        add(&self.strings, hour.light_w_m2, hour.cell_c, array);
        if self.beside.is_empty() {
            return;
        }
        let place = self.hours.partition_point(|h| h.hour < hour.hour);
        for other in &self.beside {
            let (light_w_m2, cell_c) = other.hours.get(place).copied().unwrap_or_default();
            add(&other.strings, light_w_m2, cell_c, array);
        }
    }
}

/// The mounting constants of a mount.
#[must_use]
pub fn mounting(mount: Mount) -> Mounting {
    match mount {
        Mount::Feet => Mounting::CLOSE_ROOF,
        Mount::Glued => Mounting::INSULATED_BACK,
        Mount::Tilted => Mounting::OPEN_RACK,
    }
}

/// What an array offers through its year.
#[must_use]
pub fn offer(input: &ArrayInput) -> Offer {
    let sky_share = input.shade.sky_share();
    let even = even_module(&input.strings).filter(|_| input.beside.is_empty());
    let mut array = Array::default();
    let beside = input.beside.iter().map(|lying| Beside { strings: lying.strings.clone(), hours: Vec::new() });
    let mut out = Offer {
        hours: Vec::with_capacity(input.sky.hours.len()),
        strings: input.strings.clone(),
        beside: beside.collect(),
        month_wh: [0.0; 12],
        unlike_wh: 0.0,
    };
    let on = |lit: &LitHour, mount: Mount| {
        let cell_c = mounting(mount).cell_c(lit.warming_w_m2, lit.air_c, lit.wind_m_s);
        (light_on(lit, &input.shade, sky_share), cell_c)
    };
    let mut others = Vec::with_capacity(input.beside.len());
    for (place, lit) in input.sky.hours.iter().enumerate() {
        let (light_w_m2, cell_c) = on(lit, input.mount);
        others.clear();
        others.extend(input.beside.iter().map(|b| b.sky.hours.get(place).map_or((0.0, 0.0), |lit| on(lit, b.mount))));
        if light_w_m2 <= 0.0 && others.iter().all(|(light_w_m2, _)| *light_w_m2 <= 0.0) {
            continue;
        }
        let (cell, best, junction_v) = match even {
            Some((module, series, parallel)) => {
                let cell = module.at(light_w_m2, cell_c).scaled(series, parallel);
                let best = cell.max_power(0.0);
                (Some(cell), best, best.v + best.i * cell.rs_ohm)
            }
            None => {
                array.clear();
                add(&input.strings, light_w_m2, cell_c, &mut array);
                let mut alone = alone_w(&input.strings, light_w_m2, cell_c);
                for (lying, (light_w_m2, cell_c)) in input.beside.iter().zip(&others) {
                    add(&lying.strings, *light_w_m2, *cell_c, &mut array);
                    alone += alone_w(&lying.strings, *light_w_m2, *cell_c);
                }
                let best = array.max_power(0.0);
                out.unlike_wh += (alone - best.power_w()).max(0.0);
                (None, best, 0.0)
            }
        };
        if let Some(wh) = out.month_wh.get_mut(usize::from(lit.month)) {
            *wh += best.power_w();
        }
        out.beside.iter_mut().zip(&others).for_each(|(beside, here)| beside.hours.push(*here));
        out.hours.push(OfferHour {
            hour: lit.hour,
            month: lit.month,
            light_w_m2,
            cell_c,
            even: cell,
            best,
            junction_v,
        });
    }
    out
}

/// Light on an array behind its horizon, which turns with the coach; an open one does not care which way.
fn light_on(lit: &LitHour, shade: &Horizon, sky_share: f64) -> f64 {
    let beam = if shade.sees(lit.sun_azimuth_deg, lit.sun_tangent) { lit.beam_w_m2 } else { 0.0 };
    beam + lit.diffuse_w_m2 * sky_share
}

/// The module, series and parallel counts of an even array.
fn even_module(strings: &[StringsOf]) -> Option<(&Module, f64, f64)> {
    match strings {
        [one] => match one.modules.as_slice() {
            [(module, _, series)] => Some((module, *series as f64, one.parallel as f64)),
            _ => None,
        },
        _ => None,
    }
}

/// Power of every panel alone at its own best.
fn alone_w(strings: &[StringsOf], light_w_m2: f64, cell_c: f64) -> f64 {
    let string_w = |s: &StringsOf| -> f64 {
        let own = |(module, _, count): &(Module, f64, usize)| {
            module.at(light_w_m2, cell_c).max_power(0.0).power_w() * *count as f64
        };
        s.modules.iter().map(own).sum()
    };
    strings.iter().map(|s| string_w(s) * s.parallel as f64).sum()
}

/// Puts strings in so much light into an array.
fn add(strings: &[StringsOf], light_w_m2: f64, cell_c: f64, array: &mut Array) {
    for equal in strings {
        let groups: Vec<Group> = equal
            .modules
            .iter()
            .map(|(module, groups, count)| {
                Group::of(&module.at(light_w_m2, cell_c), 1.0 / groups, groups * *count as f64)
            })
            .collect();
        array.add_string(equal.parallel as f64, &groups);
    }
}
