//! The shadow stage: for how much of each month's direct sun something on the roof shades a panel.

use crate::climate::year::MONTH_DAYS;
use crate::engine::memo::Stage;
use crate::engine::sky::SkyYear;
use crate::physics::shadow::{Rect, shades_from};

/// Ways that the nose may point, over which all is averaged: nobody knows it beforehand. Source: our own choice.
const HEADINGS: usize = 8;

/// What the shadow stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct ShadowInput {
    pub sky: Stage<SkyYear>,
    /// What stands on the roof, with its height above the skin.
    pub things: Vec<(Rect, f64)>,
    /// Panels, with the height of their faces.
    pub panels: Vec<(Rect, f64)>,
    /// Which string each of them belongs to: equal numbers, one string.
    pub strings: Vec<usize>,
}

/// Of one panel: the worst month at a stay, what share of its direct sun is shaded, and the thing that shades most of it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shaded {
    pub month: usize,
    pub share: f64,
    /// Of it, the share in which some other panel of its string stands in the sun.
    pub alone: f64,
    pub thing: usize,
}

/// The sun of one hour of a month's days.
#[derive(Clone, Copy, Default)]
struct Beam {
    wh: f64,
    azimuth_deg: f64,
    tangent: f64,
}

/// Direct sun of each month by the hour of the day, with the sun where it stands about the middle of the month.
fn beams(sky: &SkyYear) -> [[Beam; 24]; 12] {
    let mut all = [[Beam::default(); 24]; 12];
    for lit in &sky.hours {
        let (month, hour) = (usize::from(lit.month), usize::from(lit.hour));
        let Some(beam) = all.get_mut(month).and_then(|hours| hours.get_mut(hour % 24)) else { continue };
        beam.wh += lit.beam_w_m2;
        // The last day up to the middle of the month on which the sun is up then, or the first one after it.
        let middle = MONTH_DAYS.iter().take(month).sum::<usize>() + 15;
        if hour / 24 <= middle || beam.tangent <= 0.0 {
            (beam.azimuth_deg, beam.tangent) = (lit.sun_azimuth_deg, lit.sun_tangent);
        }
    }
    all
}

/// Each panel's worst month, in the order given.
#[must_use]
pub fn shadow(input: &ShadowInput) -> Vec<Shaded> {
    let n = input.panels.len();
    let mut worst = vec![Shaded::default(); n];
    for (month, hours) in beams(&input.sky).iter().enumerate() {
        let all_wh: f64 = hours.iter().map(|b| b.wh).sum::<f64>() * HEADINGS as f64;
        if all_wh <= 0.0 {
            continue;
        }
        let mut sums = vec![Sums { things: vec![0.0; input.things.len()], ..Sums::default() }; n];
        for beam in hours.iter().filter(|b| b.wh > 0.0) {
            for k in 0..HEADINGS {
                moment(input, beam, beam.azimuth_deg - 360.0 * k as f64 / HEADINGS as f64, &mut sums);
            }
        }
        for (slot, sums) in worst.iter_mut().zip(&sums) {
            let share = sums.shaded_wh / all_wh;
            if share > slot.share {
                let most = sums.things.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
                let thing = most.map_or(0, |(i, _)| i);
                *slot = Shaded { month, share, alone: sums.alone_wh / all_wh, thing };
            }
        }
    }
    worst
}

/// Of one panel in one month, Wh of direct sun on a square metre.
#[derive(Clone, Default)]
struct Sums {
    shaded_wh: f64,
    alone_wh: f64,
    /// By what shades it.
    things: Vec<f64>,
}

/// One hour with the nose pointing one way.
fn moment(input: &ShadowInput, beam: &Beam, bearing_deg: f64, sums: &mut [Sums]) {
    let bearing = bearing_deg.to_radians().sin_cos();
    let mut shaded = vec![false; input.panels.len()];
    for (((panel, face_m), sums), shaded) in input.panels.iter().zip(sums.iter_mut()).zip(&mut shaded) {
        for ((thing, height_m), sum) in input.things.iter().zip(&mut sums.things) {
            if shades_from(thing, height_m - face_m, bearing, beam.tangent, panel) {
                *sum += beam.wh;
                *shaded = true;
            }
        }
    }
    for (i, sums) in sums.iter_mut().enumerate().filter(|(i, _)| shaded.get(*i) == Some(&true)) {
        sums.shaded_wh += beam.wh;
        let mut others = input.strings.iter().zip(&shaded);
        if others.any(|(string, shaded)| !shaded && input.strings.get(i) == Some(string)) {
            sums.alone_wh += beam.wh;
        }
    }
}
