//! Arrays in unlike light that share their controller, each with a home run of its own: the year takes each to carry its part of the
//! current by its rating. What that is off by, beside what each really carries.
//!
//! Source of truth: Kirchhoff's laws over the same single-diode equations (De Soto 2006): each array's own ohms in series with its
//! own cells, both at the controller's volts, and the highest power over all volts.

use coachwire::engine::lit::{ArrayInput, BehindInput, StringsOf, best_behind, offer};
use coachwire::engine::memo::Stage;
use coachwire::engine::sites::Site;
use coachwire::engine::sky::{LitHour, sky_year};
use coachwire::physics::cell::Mounting;
use coachwire::physics::module::{Cell, Label, Module, SILICON_EV};
use coachwire::standards::kinds::Mount;

/// Two panels of 330 W in series in each array. Source: invented label.
fn module() -> Module {
    let (vmp_v, imp_a, voc_v, isc_a) = (33.9, 9.74, 40.7, 10.29);
    let label = Label { vmp_v, imp_a, voc_v, isc_a, alpha_pct_k: 0.048, beta_pct_k: -0.29, band_gap_ev: SILICON_EV };
    Module::from_label(&label).expect("a module")
}

/// 45 N, a sunny plain, facing south.
fn site(tilt_deg: f64) -> Site {
    Site {
        latitude_deg: 45.0,
        clock: None,
        ghi_kwh_m2_day: [1.7, 2.5, 3.8, 4.9, 5.8, 6.4, 6.4, 5.6, 4.3, 2.9, 1.8, 1.4],
        mean_c: [-5.0, -3.0, 3.0, 8.0, 14.0, 19.0, 22.0, 21.0, 15.0, 9.0, 2.0, -3.0],
        daily_range_k: None,
        wind_m_s: [2.0; 12],
        tilt_deg,
        heading_deg: (tilt_deg != 0.0).then_some(180.0),
        horizon_deg: 0.0,
        soiling_share: 0.0,
        months: 0x0fff,
        seed: 1,
    }
}

fn cell(module: &Module, mounting: Mounting, lit: &LitHour) -> Cell {
    let cell_c = mounting.cell_c(lit.warming_w_m2, lit.air_c, lit.wind_m_s);
    module.at((lit.beam_w_m2 + lit.diffuse_w_m2).max(0.0), cell_c).scaled(2.0, 1.0)
}

/// The most that two arrays give at one voltage, each behind its own ohms: a scan in steps of a hundredth of their open volts, then
/// finer about its best.
fn best_w(cells: &[Cell; 2], ohms: [f64; 2]) -> f64 {
    let at = |v: f64| v * (cells[0].current_at(v, ohms[0]) + cells[1].current_at(v, ohms[1]));
    let (mut from, mut to) = (0.0, 90.0);
    for _ in 0..5 {
        let step = (to - from) / 100.0;
        let best =
            (0..=100).map(|k| from + step * f64::from(k)).max_by(|a, b| at(*a).total_cmp(&at(*b))).expect("some");
        (from, to) = (f64::max(best - step, 0.0), best + step);
    }
    at(f64::midpoint(from, to)).max(0.0)
}

/// One array tilted up by 60 degrees beside one glued flat at 45 N, home runs that lose 3 % each at rated watts, the target of
/// arrays, and of unlike length: what is off is small beside that.
#[test]
fn unlike_lit_arrays_share_their_loop_by_rating_within_a_bound() {
    let module = module();
    let (tilted, flat) = (sky_year(&site(60.0)), sky_year(&site(0.0)));
    let rated_ohm = 0.03 * 2.0 * 33.9 / 9.74;
    let strings = |mount| StringsOf { mount, parallel: 1, modules: vec![(module, 3.0, 2)] };
    let offer = Stage::new(offer(&ArrayInput {
        strings: vec![strings(Mount::Tilted), strings(Mount::Glued)],
        sky: Stage::new(tilted.clone()),
        is_tilted: true,
        flat: Some(Stage::new(flat.clone())),
        shade: None,
    }));
    for ohms in [[rated_ohm, rated_ohm], [rated_ohm, 0.0], [0.0, rated_ohm]] {
        // Each carries half of the current, by its rating.
        let behind = best_behind(&BehindInput { offer: offer.clone(), pv_ohm: (ohms[0] + ohms[1]) / 4.0 });
        let (mut year, mut worst) = ((0.0, 0.0), 0.0_f64);
        for month in 0..12 {
            let ours: f64 = behind.month(month).0.iter().map(|p| p.v * p.i).sum();
            let hours = tilted.hours.iter().zip(&flat.hours).filter(|(lit, _)| usize::from(lit.month) == month);
            let truth: f64 = hours
                .map(|(up, down)| {
                    assert_eq!(up.hour, down.hour);
                    let up = cell(&module, Mounting::OPEN_RACK, up);
                    best_w(&[up, cell(&module, Mounting::INSULATED_BACK, down)], ohms)
                })
                .sum();
            let off = ours / truth - 1.0;
            assert!(
                off.abs() < MONTH,
                "{ohms:?}, month {month}: {ours:.0} Wh, {truth:.0} by what each carries: {off:+.5}"
            );
            worst = if off.abs() > worst.abs() { off } else { worst };
            year = (year.0 + ours, year.1 + truth);
        }
        let off = year.0 / year.1 - 1.0;
        assert!(off.abs() < YEAR, "{ohms:?}: {off:+.5} in the year, {worst:+.5} in the worst month");
    }
}

/// Most that a month may be off by, and the year, as shares of what arrives.
const MONTH: f64 = 0.01;
const YEAR: f64 = 0.005;
