//! From a label to the single-diode parameters, without a root finder of many dimensions.

use super::module::{Label, Module, first_ideality_v, saturation_ratio};

/// Warming for the temperature condition, K. Source: De Soto, Klein & Beckman 2006, Solar Energy 80:78.
const WARMING_K: f64 = 2.0;

/// What one ideality leads to.
#[derive(Clone, Copy)]
struct Fit {
    rs_ohm: f64,
    /// Saturation current times e^(Voc/a): kept so that nothing overflows.
    knee_a: f64,
    gsh_s: f64,
}

/// See [`Module::from_label`].
pub(super) fn extract(label: &Label) -> Result<Module, &'static str> {
    refuse(label)?;
    let Some((a_v, fit)) = ideality(label) else {
        return Err("no single-diode curve runs through these four values");
    };
    let i0_a = fit.knee_a * (-label.voc_v / a_v).exp();
    Ok(Module {
        il_a: fit.knee_a - i0_a + fit.gsh_s * label.voc_v,
        i0_a,
        a_v,
        rs_ohm: fit.rs_ohm,
        gsh_s: fit.gsh_s,
        alpha_a_k: label.alpha_pct_k / 100.0 * label.isc_a,
        band_gap_ev: label.band_gap_ev,
    })
}

/// Labels that no falling, concave curve can have.
fn refuse(label: &Label) -> Result<(), &'static str> {
    let Label { vmp_v, imp_a, voc_v, isc_a, alpha_pct_k, beta_pct_k, band_gap_ev } = *label;
    let all = [vmp_v, imp_a, voc_v, isc_a, alpha_pct_k, beta_pct_k, band_gap_ev];
    if all.iter().any(|x| !x.is_finite()) {
        return Err("a label value is not a finite number");
    }
    if vmp_v <= 0.0 || imp_a <= 0.0 || band_gap_ev <= 0.0 {
        return Err("label values must be above zero");
    }
    if voc_v <= vmp_v {
        return Err("Voc must be above Vmp");
    }
    if isc_a <= imp_a {
        return Err("Isc must be above Imp");
    }
    if voc_v >= 2.0 * vmp_v || isc_a >= 2.0 * imp_a {
        return Err("Vmp and Imp must be above half of Voc and Isc");
    }
    Ok(())
}

/// The ideality that meets the temperature condition, or the nearest below it with a shunt that does not feed.
fn ideality(label: &Label) -> Option<(f64, Fit)> {
    let (least_v, most_v) = (label.voc_v / 300.0, label.voc_v / 4.0);
    let first_v = first_ideality_v(label);
    let first_v = if first_v.is_finite() { first_v.clamp(least_v, most_v) } else { label.voc_v / 26.0 };
    let wanted_v = refined(label, first_v).clamp(least_v, most_v);
    if let Some(fit) = fit(label, wanted_v) {
        return Some((wanted_v, fit));
    }
    // Squarer curves have a smaller ideality: walk down to one that fits, then back up to the largest.
    let mut low_v = wanted_v;
    let mut found = None;
    while found.is_none() && low_v > least_v {
        low_v = (low_v * 0.95).max(least_v);
        found = fit(label, low_v).map(|fit| (low_v, fit));
    }
    let mut best = found?;
    let mut high_v = (low_v / 0.95).min(wanted_v);
    for _ in 0..60 {
        let middle_v = f64::midpoint(best.0, high_v);
        match fit(label, middle_v) {
            Some(fit) => best = (middle_v, fit),
            None => high_v = middle_v,
        }
    }
    Some(best)
}

/// Secant on the temperature condition from the closed form; the start itself where it does not settle.
fn refined(label: &Label, first_v: f64) -> f64 {
    let (mut old_v, mut new_v) = (first_v, first_v * 1.001);
    let Some(mut old_miss) = temperature_miss(label, old_v) else { return first_v };
    for _ in 0..30 {
        let Some(miss) = temperature_miss(label, new_v) else { return first_v };
        let next_v = new_v - miss * (new_v - old_v) / (miss - old_miss);
        // The closed form is within a few tenths of a percent; anything far off is a secant gone astray.
        if !next_v.is_finite() || (next_v / first_v - 1.0).abs() > 0.1 {
            return if miss == 0.0 { new_v } else { first_v };
        }
        (old_v, old_miss, new_v) = (new_v, miss, next_v);
        if (new_v - old_v).abs() < 1e-13 * new_v {
            return new_v;
        }
    }
    new_v
}

/// By how much the model warmed by 2 K misses the open-circuit volts the label's coefficient asks for, as the
/// logarithm of a ratio of currents.
fn temperature_miss(label: &Label, a_v: f64) -> Option<f64> {
    let fit = fit_any(label, a_v)?;
    let warm_v = label.voc_v * (1.0 + label.beta_pct_k / 100.0 * WARMING_K);
    let warm_a_v = a_v * (298.15 + WARMING_K) / 298.15;
    let light_a = fit.knee_a * -(-label.voc_v / a_v).exp_m1()
        + fit.gsh_s * label.voc_v
        + label.alpha_pct_k / 100.0 * label.isc_a * WARMING_K;
    let growth = saturation_ratio(label.band_gap_ev, WARMING_K);
    let diode_a = fit.knee_a * growth * ((warm_v / warm_a_v - label.voc_v / a_v).exp() - (-label.voc_v / a_v).exp());
    let miss = ((light_a - fit.gsh_s * warm_v) / diode_a).ln();
    miss.is_finite().then_some(miss)
}

/// A fit whose shunt does not feed and whose currents are positive.
fn fit(label: &Label, a_v: f64) -> Option<Fit> {
    fit_any(label, a_v).filter(|fit| fit.gsh_s >= 0.0 && fit.rs_ohm >= 0.0 && fit.knee_a > 0.0)
}

/// For one ideality: bisect the series resistance on the slope of power at the label's point.
fn fit_any(label: &Label, a_v: f64) -> Option<Fit> {
    let most_ohm = (label.voc_v - label.vmp_v) / label.imp_a;
    let (mut low_ohm, mut high_ohm) = (0.0, most_ohm * (1.0 - 1e-9));
    let sign = |ohm: f64| slope_w_v(label, a_v, ohm).map(|(slope, _)| slope > 0.0);
    let at_low = sign(low_ohm)?;
    if at_low == sign(high_ohm)? {
        return None;
    }
    for _ in 0..100 {
        let middle = f64::midpoint(low_ohm, high_ohm);
        if middle <= low_ohm || middle >= high_ohm {
            break;
        }
        if sign(middle)? == at_low {
            low_ohm = middle;
        } else {
            high_ohm = middle;
        }
    }
    slope_w_v(label, a_v, low_ohm).map(|(_, fit)| fit)
}

/// For one ideality and series resistance the curve through the label's three points is linear in the light
/// current, the saturation current and the shunt; gives dP/dV at the label's Vmp with them.
fn slope_w_v(label: &Label, a_v: f64, rs_ohm: f64) -> Option<(f64, Fit)> {
    let Label { vmp_v, imp_a, voc_v, isc_a, .. } = *label;
    // Exponentials over e^(Voc/a).
    let unit = (-voc_v / a_v).exp();
    let short = ((isc_a * rs_ohm - voc_v) / a_v).exp() - unit;
    let open = 1.0 - unit;
    let knee = ((vmp_v + imp_a * rs_ohm - voc_v) / a_v).exp() - unit;
    let (row1, row2) = ([open - short, voc_v - isc_a * rs_ohm], [open - knee, voc_v - vmp_v - imp_a * rs_ohm]);
    let determinant = row1[0] * row2[1] - row1[1] * row2[0];
    let knee_a = (isc_a * row2[1] - row1[1] * imp_a) / determinant;
    let gsh_s = (row1[0] * imp_a - isc_a * row2[0]) / determinant;
    let conductance_s = knee_a / a_v * (knee + unit) + gsh_s;
    let slope = imp_a - vmp_v * conductance_s / (1.0 + rs_ohm * conductance_s);
    slope.is_finite().then_some((slope, Fit { rs_ohm, knee_a, gsh_s }))
}
