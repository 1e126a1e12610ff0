//! The run of days. Reference rows: Bendt et al. 1981 and Graham et al. 1988, evaluated with scipy 1.17.1.

use coachwire::climate::sequence::{DAYS, clearness_bounds, daily_clearness, in_order_of, walk};
use coachwire::climate::year::MONTH_DAYS;
use proptest::prelude::*;

use crate::support::{near_abs, rows};

#[test]
fn quantiles_agree_with_the_reference_rows() {
    for row in rows("physics/synth_kt_quantiles.csv") {
        let (kt, n) = (row.num("ktm"), row.num("n") as usize);
        let days = daily_clearness(kt, n);
        let (lowest, highest) = clearness_bounds(kt);
        let mean = days.iter().sum::<f64>() / n as f64;
        let sd = (days.iter().map(|k| (k - mean).powi(2)).sum::<f64>() / n as f64).sqrt();
        let all = [
            ("kmin", lowest),
            ("kmax", highest),
            ("q0", days[0]),
            ("q1", days[1]),
            ("q_n4", days[n / 4]),
            ("q_n2", days[n / 2]),
            ("q_nm2", days[n - 2]),
            ("q_nm1", days[n - 1]),
            ("mean", mean),
            ("sd", sd),
        ];
        for (column, got) in all {
            near_abs(&format!("line {} {column}", row.line), got, row.num(column), 1e-7);
        }
    }
}

#[test]
fn days_come_in_the_reference_order() {
    for row in rows("physics/synth_day_kt.csv") {
        let day = row.num("day") as usize;
        let variates = walk(row.text("seed").parse().unwrap());
        let mut year = Vec::new();
        for days in MONTH_DAYS {
            let first = year.len();
            year.extend(in_order_of(&variates[first..first + days], &daily_clearness(row.num("ktm"), days)));
        }
        near_abs(&format!("line {}", row.line), year[day], row.num("kt"), 1e-7);
    }
}

/// Means outside the rows: the distribution has to meet any that a month can have.
#[test]
fn mean_is_met_wherever_it_is_within_reach() {
    for n in [28, 29, 30, 31, 365] {
        for kt in (10..=95).map(|k| f64::from(k) / 100.0) {
            let days = daily_clearness(kt, n);
            near_abs(&format!("kt {kt} n {n}"), days.iter().sum::<f64>() / n as f64, kt, 1e-10);
            assert!(days.is_sorted(), "kt {kt} n {n}: {days:?}");
            let (lowest, highest) = clearness_bounds(kt);
            assert!(days[0] >= lowest && days[n - 1] <= highest, "kt {kt} n {n}: {days:?}");
        }
    }
}

/// Graham, Hollands & Unny 1988: a stationary standard Gaussian with the stated lag-one correlation.
#[test]
fn walk_has_the_published_correlation() {
    let (mut sum, mut square, mut product, mut count) = (0.0, 0.0, 0.0, 0.0);
    for seed in 0..400 {
        let days = walk(seed);
        sum += days.iter().sum::<f64>();
        square += days.iter().map(|z| z * z).sum::<f64>();
        product += days.windows(2).map(|w| w[0] * w[1]).sum::<f64>();
        count += DAYS as f64;
    }
    near_abs("mean", sum / count, 0.0, 0.02);
    near_abs("variance", square / count, 1.0, 0.02);
    near_abs("lag one", product / square, 0.30, 0.01);
}

proptest! {
    #[test]
    fn any_clearness_gives_finite_days(kt in -1e9..1e9_f64, n in 0_usize..400) {
        let days = daily_clearness(kt, n);
        prop_assert_eq!(days.len(), n);
        prop_assert!(days.iter().all(|k| k.is_finite() && *k >= 0.0));
    }

    #[test]
    fn any_seed_gives_finite_days(seed: u64) {
        prop_assert!(walk(seed).iter().all(|z| z.is_finite()));
    }
}
