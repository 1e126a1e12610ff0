//! Which way a coach that may stand any way stands on each day of a month.

use std::f64::consts::TAU;

use crate::arrange::Arrange;
use crate::climate::year::SkyHour;
use crate::physics::sky::{Facing, Light, Plane, Skyline, beam_modifier};

use super::super::sites::Site;
use super::{ALBEDO, above};

/// Ways that are told apart at least, where a month has fewer days with sun. Source: our own choice; the mean of so many
/// is that of all ways to a few thousandths.
const LEAST_WAYS: usize = 24;
/// What a month is evened out by: its light on the panels, that of the mornings less that of the afternoons, its square, on
/// which hang heat and what a controller cuts off, and what of it is faint, which modules make less of.
const MEASURES: usize = 4;
/// What they count beside one another. Source: our own choice; the light first, since all that arrives goes by it.
const WEIGHTS: [f64; MEASURES] = [1.0, 0.2, 0.3, 0.3];
/// Light that is faint, W/m2: more of it counts less and less. Source: our own choice; modules are rated at 200 and 1000.
const FAINT_W_M2: f64 = 100.0;
/// Turns of the whole order that are tried where the first comes out uneven, and what is even, of the light.
/// Source: our own choice; a month with a few bright days alone takes more than one.
const STARTS: usize = 6;
const EVEN: f64 = 5e-4;
/// Rounds of changing places, at most. Source: our own choice; three or four do.
const ROUNDS: usize = 8;
/// Steps of the table of glass. Source: our own choice; straight lines between them are within 0.001.
const GLASS: usize = 128;

/// Which way the panels look on each day of a month that has sun, degrees clockwise from north. A coach that may stand any
/// way stands another way every day, so that all that follows, clipping and full banks included, is of a coach that faces
/// somewhere. Its ways are as many as the days and lie evenly round the circle. The days take them in the order of their
/// light, each step about 0.38 of a turn, so that dull days and bright ones face all ways alike; then pairs change places
/// until what the month's direct light comes to on the panels is what it comes to on the mean of all ways.
///
/// Source: quadrature by good lattice points in two dimensions (Korobov; Niederreiter 1992, ch. 5), balanced by the
/// integrals that are known.
pub(super) fn ways(site: &Site, of_month: &[SkyHour], trees: &Skyline) -> Vec<f64> {
    let days = || of_month.chunk_by(|a, b| a.hour / 24 == b.hour / 24);
    let fixed = if site.tilt_deg == 0.0 { Some(180.0) } else { site.heading_deg };
    if let Some(heading) = fixed {
        return vec![heading; days().count()];
    }
    let light: Vec<f64> = days().map(|today| today.iter().map(|hour| hour.ghi_w_m2).sum()).collect();
    let n = light.len().max(LEAST_WAYS);
    let stride = stride(n);
    let mut order: Vec<usize> = (0..n).collect();
    // Places without a day come first, as the darkest.
    let of = |day: &usize| light.get(*day).copied().unwrap_or(0.0);
    order.arrange_by(|a, b| of(a).total_cmp(&of(b)));
    let (apart, light_sum) = apart(site, days(), n, trees);
    let mut best: Option<(f64, Vec<usize>)> = None;
    for start in 0..STARTS {
        let mut ways = vec![0; n];
        for (rank, day) in order.iter().enumerate() {
            if let Some(way) = ways.get_mut(*day) {
                *way = (rank * stride + start * n / STARTS) % n;
            }
        }
        let left = even_out(&mut ways, &apart, EVEN * light_sum);
        if best.as_ref().is_none_or(|(least, _)| left < *least) {
            best = Some((left, ways));
        }
        if left <= EVEN * light_sum {
            break;
        }
    }
    let ways = best.map_or(Vec::new(), |(_, ways)| ways);
    ways.into_iter().take(light.len()).map(|way| 360.0 * way as f64 / n as f64).collect()
}

/// How far each day's direct light on the panels, by each of `n` ways, is from its mean over them: a row a day, `n` rows, of
/// which those without a day are zero; and the mean light of all days together.
fn apart<'a>(
    site: &Site,
    days: impl Iterator<Item = &'a [SkyHour]>,
    n: usize,
    trees: &Skyline,
) -> (Vec<[f64; MEASURES]>, f64) {
    let plane = |tilt_deg| Facing::new(Plane { tilt_deg, azimuth_deg: 0.0 });
    let (level, tilted) = (plane(0.0), plane(site.tilt_deg));
    let (sin_tilt, cos_tilt) = site.tilt_deg.to_radians().sin_cos();
    let sides: Vec<(f64, f64)> = (0..n)
        .map(|way| {
            let (sin, cos) = (TAU * way as f64 / n as f64).sin_cos();
            (sin_tilt * sin, sin_tilt * cos)
        })
        .collect();
    let glass: [f64; GLASS + 1] = std::array::from_fn(|k| beam_modifier(k as f64 / GLASS as f64));
    let through = |cos: f64| {
        let (at, part) = ((cos * GLASS as f64) as usize, (cos * GLASS as f64).fract());
        let of = |k: usize| glass.get(k).copied().unwrap_or(1.0);
        of(at) + part * (of(at + 1) - of(at))
    };
    let mut apart = vec![[0.0; MEASURES]; n * n];
    let mut light_sum = 0.0;
    for (row, today) in apart.chunks_mut(n).zip(days) {
        for lit in today {
            let (sky, sun) = (above(lit), lit.sun());
            // On the level both go with the cosine of the zenith angle, as on the panels with that of incidence.
            let direct = level.hay_davies(&sky, sun, ALBEDO).over(trees, lit.cos_zenith);
            if direct.beam_w_m2 + direct.ring_w_m2 <= 0.0 {
                continue;
            }
            let ring = Light { ring_w_m2: direct.ring_w_m2 / lit.cos_zenith, ..Light::default() };
            let (beam, ring) = (direct.beam_w_m2 / lit.cos_zenith, tilted.through_glass_w_m2(&ring, 0.0));
            let all = tilted.hay_davies(&sky, sun, ALBEDO).over(trees, lit.cos_zenith);
            let even = tilted.through_glass_w_m2(&Light { beam_w_m2: 0.0, ring_w_m2: 0.0, ..all }, 0.0);
            let half = lit.sun_east.signum();
            let faint = |light: f64| light / (1.0 + light / FAINT_W_M2);
            let faint_even = faint(even);
            for (sums, (east, north)) in row.iter_mut().zip(&sides) {
                let cos = lit.sun_east * east + lit.sun_north * north + lit.cos_zenith * cos_tilt;
                if cos > 0.0 {
                    let light = cos * (beam * through(cos) + ring);
                    sums[0] += light;
                    sums[1] += light * half;
                    sums[2] += light * (light + 2.0 * even) / 1000.0;
                    sums[3] += faint(even + light) - faint_even;
                }
            }
        }
        let mean: [f64; MEASURES] = std::array::from_fn(|k| row.iter().map(|of| of[k]).sum::<f64>() / n as f64);
        light_sum += mean[0];
        for of in row {
            *of = std::array::from_fn(|k| (of[k] - mean[k]) * WEIGHTS[k]);
        }
    }
    (apart, light_sum)
}

/// Lets days change ways as long as their sum comes nearer to that of their means, till it is near enough; how far from it
/// that is then.
fn even_out(ways: &mut [usize], apart: &[[f64; MEASURES]], enough: f64) -> f64 {
    let n = ways.len();
    let of = |day: usize, way: usize| apart.get(day * n + way).copied().unwrap_or_default();
    let mut sum = [0.0; MEASURES];
    for (day, way) in ways.iter().enumerate() {
        let of = of(day, *way);
        sum = std::array::from_fn(|k| sum[k] + of[k]);
    }
    let size = |sum: &[f64; MEASURES]| sum.iter().map(|x| x * x).sum::<f64>();
    for _ in 0..ROUNDS {
        let before = size(&sum);
        for i in 0..n {
            if size(&sum) <= enough * enough {
                break;
            }
            for j in i + 1..n {
                let (Some(a), Some(b)) = (ways.get(i).copied(), ways.get(j).copied()) else { continue };
                let (now, then) = ([of(i, a), of(j, b)], [of(i, b), of(j, a)]);
                let after = std::array::from_fn(|k| sum[k] + then[0][k] + then[1][k] - now[0][k] - now[1][k]);
                if size(&after) < size(&sum) {
                    sum = after;
                    ways.swap(i, j);
                }
            }
        }
        if size(&sum) >= before {
            break;
        }
    }
    size(&sum).sqrt()
}

/// The number nearest to 0.382 of `n` that has no factor in common with it: 11 of 28 and of 30, 12 of 31.
fn stride(n: usize) -> usize {
    let gcd = |mut a: usize, mut b: usize| {
        while b > 0 {
            (a, b) = (b, a % b);
        }
        a
    };
    let off = |a: &usize| (*a as f64 - 0.381_966 * n as f64).abs();
    (1..n).filter(|a| gcd(*a, n) == 1).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(1)
}
