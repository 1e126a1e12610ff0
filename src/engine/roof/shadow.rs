//! The shadow stage: for how much of each month's direct sun something on the roof shades a panel.

use crate::climate::year::MONTH_DAYS;
use crate::engine::memo::Stage;
use crate::engine::sky::SkyYear;
use crate::physics::shadow::{Rect, shades};

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
}

/// Of one panel: the worst month at a stay, what share of its direct sun is shaded, and the thing that shades most of it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shaded {
    pub month: usize,
    pub share: f64,
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

/// Each panel's worst month; panels in the order given.
#[must_use]
pub fn shadow(input: &ShadowInput) -> Vec<Shaded> {
    let beams = beams(&input.sky);
    input.panels.iter().map(|panel| worst(panel, input, &beams)).collect()
}

fn worst((panel, face_m): &(Rect, f64), input: &ShadowInput, beams: &[[Beam; 24]; 12]) -> Shaded {
    let headings: [f64; HEADINGS] = std::array::from_fn(|k| 360.0 * k as f64 / HEADINGS as f64);
    let mut worst = Shaded::default();
    let mut by_thing = vec![0.0; input.things.len()];
    for (month, hours) in beams.iter().enumerate() {
        let all_wh: f64 = hours.iter().map(|b| b.wh).sum::<f64>() * headings.len() as f64;
        let mut shaded_wh = 0.0;
        by_thing.fill(0.0);
        for beam in hours.iter().filter(|b| b.wh > 0.0) {
            for heading in &headings {
                let hit = |(thing, height_m): &(Rect, f64)| {
                    shades(thing, height_m - face_m, beam.azimuth_deg - heading, beam.tangent, panel)
                };
                let mut any = false;
                for (thing, sum) in input.things.iter().zip(&mut by_thing) {
                    if hit(thing) {
                        *sum += beam.wh;
                        any = true;
                    }
                }
                shaded_wh += if any { beam.wh } else { 0.0 };
            }
        }
        let share = if all_wh > 0.0 { shaded_wh / all_wh } else { 0.0 };
        if share > worst.share {
            let most = by_thing.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
            worst = Shaded { month, share, thing: most.map_or(0, |(i, _)| i) };
        }
    }
    worst
}
