//! The year from monthly means against hourly truth.
//!
//! Source of truth: typical-year files of Greensboro (TMY3 723170), Miami (TMY2 12839) and Amsterdam (IWEC 062400)
//! run hour by hour through SPA, Hay-Davies, Martin-Ruiz, King and De Soto (see the header of `year_monthly.csv`).
//! The program sees only twelve means of sun, temperature and wind.

use std::collections::BTreeMap;

use coachwire::climate::clock::Clock;
use coachwire::engine::lit::{ArrayInput, Offer, StringsOf, offer};
use coachwire::engine::memo::Stage;
use coachwire::engine::sites::Site;
use coachwire::engine::sky::sky_year;
use coachwire::physics::module::{Label, Module, SILICON_EV};
use coachwire::standards::kinds::Mount;

use crate::support::{Row, near_abs, near_rel, rows};

fn module(name: &str) -> Module {
    let labels = rows("physics/modules_desoto.csv");
    let row = labels.iter().find(|r| r.text("module") == name).unwrap();
    Module::from_label(&Label {
        vmp_v: row.num("vmp"),
        imp_a: row.num("imp"),
        voc_v: row.num("voc"),
        isc_a: row.num("isc"),
        alpha_pct_k: row.num("alpha_pct_K"),
        beta_pct_k: row.num("beta_pct_K"),
        band_gap_ev: SILICON_EV,
    })
    .unwrap()
}

fn site(months: &[&Row]) -> Site {
    let twelve = |key: &str| std::array::from_fn(|m| months[m].num(key));
    Site {
        latitude_deg: months[0].num("lat"),
        clock: Some(Clock { longitude_deg: months[0].num("lon"), zone_h: months[0].num("tz") }),
        ghi_kwh_m2_day: twelve("ghi_kWh_m2_d"),
        mean_c: twelve("t_mean_C"),
        daily_range_k: None,
        wind_m_s: twelve("wind_mean"),
        tilt_deg: months[0].num("tilt"),
        heading_deg: Some(180.0),
        horizon_deg: 0.0,
        soiling_share: 0.0,
        months: 0x0fff,
        seed: 1,
    }
}

fn offer_of(module: Module, site: &Site) -> Offer {
    offer(&ArrayInput {
        strings: vec![StringsOf { mount: Mount::Feet, parallel: 1, modules: vec![(module, 2.0, 1)] }],
        sky: Stage::new(sky_year(site)),
        is_tilted: site.tilt_deg != 0.0,
        flat: None,
        shade: None,
    })
}

/// Energy into a battery held at 13.2 V through a wire without resistance, kWh a month.
fn pwm_kwh(offer: &Offer) -> [f64; 12] {
    let mut out = [0.0; 12];
    for hour in &offer.hours {
        let cell = hour.even.unwrap();
        out[usize::from(hour.month)] += cell.current_at(13.2, 0.0).max(0.0) * 13.2 / 1000.0;
    }
    out
}

#[test]
fn year_from_monthly_means_agrees_with_hourly_truth() {
    let table = rows("physics/year_monthly.csv");
    let mut groups: Vec<Vec<&Row>> = Vec::new();
    for row in &table {
        let same = |g: &Vec<&Row>| ["site", "module", "tilt"].iter().all(|k| g[0].text(k) == row.text(k));
        match groups.iter_mut().find(|g| same(g)) {
            Some(group) => group.push(row),
            None => groups.push(vec![row]),
        }
    }
    assert_eq!(groups.len(), 12, "three sites, two modules, two tilts");
    for group in groups {
        assert_eq!(group.len(), 12);
        let name = format!("{} {} {}", group[0].text("site"), group[0].text("module"), group[0].text("tilt"));
        let flat = group[0].num("tilt") == 0.0;
        let (year_limit, month_limit) = if flat { (0.01, 0.03) } else { (0.04, 0.10) };
        let offer = offer_of(module(group[0].text("module")), &site(&group));
        let best = offer.month_wh.map(|wh| wh / 1000.0);
        for (kind, ours, truth_key, synth_key) in [
            ("maximum power", best, "E_mppt_true", "synth_E_mppt"),
            ("direct at 13.2 V", pwm_kwh(&offer), "E_pwm13v2_true", "synth_E_pwm13v2"),
        ] {
            let (mut ours_sum, mut truth_sum, mut synth_sum) = (0.0, 0.0, 0.0);
            for (m, row) in group.iter().enumerate() {
                let (truth, synth) = (row.num(truth_key), row.num(synth_key));
                let error = ours[m] / truth - 1.0;
                assert!(error.abs() <= month_limit, "{name} {kind} month {}: {:.2} %", m + 1, error * 100.0);
                let apart = ours[m] / synth - 1.0;
                assert!(apart.abs() <= 0.003, "{name} {kind} month {}: {:.3} % off reference", m + 1, apart * 100.0);
                ours_sum += ours[m];
                truth_sum += truth;
                synth_sum += synth;
            }
            let error = ours_sum / truth_sum - 1.0;
            assert!(error.abs() <= year_limit, "{name} {kind} year: {:.2} %", error * 100.0);
            assert!((ours_sum / synth_sum - 1.0).abs() <= 0.003, "{name} {kind} year off reference");
        }
    }
}

/// The same by the year, and how far months stray: as far as the reference synthesis does, whose hours these are.
///
/// Source of truth: `year_annual.csv`, sums of the three hourly files and the errors of an independent synthesis of the
/// same definition. Bounds: 1 % a year flat and 4 % tilted; 0.3 % of the synthesis, and of its errors.
#[test]
fn years_from_monthly_means_agree_with_annual_truth() {
    let (annual, monthly) = (rows("physics/year_annual.csv"), rows("physics/year_monthly.csv"));
    assert_eq!(annual.len(), 12, "three sites, two modules, two tilts");
    for row in &annual {
        let name = format!("{} {} {}", row.text("site"), row.text("module"), row.text("tilt"));
        let same = |r: &&Row| ["site", "module", "tilt"].iter().all(|k| r.text(k) == row.text(k));
        let months: Vec<&Row> = monthly.iter().filter(same).collect();
        let limit = if row.num("tilt") == 0.0 { 0.01 } else { 0.04 };
        let (site, sum) = (site(&months), |of: &[f64]| of.iter().sum::<f64>());
        let light = sky_year(&site).hours.iter().map(|h| h.warming_w_m2).sum::<f64>() / 1000.0;
        near_rel(&format!("{name} light"), light, row.num("poa_true"), limit);
        let offer = offer_of(module(row.text("module")), &site);
        for (ours, kind, truth_key) in
            [(offer.month_wh.map(|wh| wh / 1000.0), "mppt", "E_mppt_true"), (pwm_kwh(&offer), "pwm", "E_pwm13v2_true")]
        {
            let (truth, synth) = (row.num(&format!("E_{kind}_true")), row.num(&format!("synth_E_{kind}")));
            near_rel(&format!("{name} {kind}"), sum(&ours), truth, limit);
            near_rel(&format!("{name} {kind} beside the synthesis"), sum(&ours), synth, 0.003);
            near_abs(&format!("{name} {kind} error"), sum(&ours) / truth - 1.0, row.num(&format!("err_{kind}")), 0.003);
            let off: Vec<f64> = ours.iter().zip(&months).map(|(wh, r)| wh / r.num(truth_key) - 1.0).collect();
            let rms = (off.iter().map(|e| e * e).sum::<f64>() / 12.0).sqrt();
            let most = off.iter().fold(0.0_f64, |most, e| most.max(e.abs()));
            near_abs(&format!("{name} {kind} rms"), rms, row.num(&format!("monthly_rms_{kind}")), 0.003);
            near_abs(&format!("{name} {kind} worst month"), most, row.num(&format!("monthly_max_{kind}")), 0.003);
        }
    }
}

/// Days' worth of load in a battery that keeps 92 % of what goes in, under a constant load: percent of it not served
/// in the second of two equal years, begun full (the model that the header of `reliability.csv` states).
fn unmet_pct(offer: &Offer, day_wh: f64, c_days: f64) -> f64 {
    let (full_wh, load_wh) = (c_days * day_wh, day_wh / 24.0);
    let mut hourly_wh = vec![0.0; 8760];
    for hour in &offer.hours {
        hourly_wh[usize::from(hour.hour)] = hour.best.power_w();
    }
    let (mut held_wh, mut unmet_wh) = (full_wh, 0.0);
    for _ in 0..2 {
        unmet_wh = 0.0;
        for wh in &hourly_wh {
            let over_wh = wh - load_wh;
            held_wh = if over_wh > 0.0 { full_wh.min(held_wh + 0.92 * over_wh) } else { held_wh + over_wh };
            if held_wh < 0.0 {
                unmet_wh -= held_wh;
                held_wh = 0.0;
            }
        }
    }
    100.0 * unmet_wh / (365.0 * day_wh)
}

/// Source of truth: `reliability.csv`, the same battery on the hourly files of the three places.
#[test]
fn load_not_served_agrees_with_hourly_truth() {
    let months = rows("physics/year_monthly.csv");
    let mut offers: BTreeMap<&str, Vec<Offer>> = BTreeMap::new();
    for name in ["greensboro", "miami", "amsterdam"] {
        let is = |r: &&Row| r.text("site") == name && r.text("module") == "perc200" && r.num("tilt") == 0.0;
        let group: Vec<&Row> = months.iter().filter(is).collect();
        assert_eq!(group.len(), 12, "{name}");
        let of = |seed| offer_of(module("perc200"), &Site { seed, ..site(&group) });
        offers.insert(name, (1..=10).map(of).collect());
    }
    let table = rows("physics/reliability.csv");
    assert_eq!(table.len(), 36);
    for row in &table {
        let (day_wh, c_days) = (row.num("load_Wh_d"), row.num("c_days"));
        let all: Vec<f64> = offers[row.text("site")].iter().map(|o| unmet_pct(o, day_wh, c_days)).collect();
        let name = format!("{} {} {c_days}", row.text("site"), row.num("f"));
        let mean = all.iter().sum::<f64>() / 10.0;
        near_abs(&format!("{name} against truth"), mean, row.num("unmet_true_pct"), 1.5);
        near_abs(&format!("{name} mean"), mean, row.num("unmet_synth_mean_pct"), 0.05);
        near_abs(
            &format!("{name} least"),
            all.iter().copied().fold(f64::MAX, f64::min),
            row.num("unmet_synth_min"),
            0.1,
        );
        near_abs(&format!("{name} most"), all.iter().copied().fold(0.0, f64::max), row.num("unmet_synth_max"), 0.1);
    }
}
