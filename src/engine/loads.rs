//! What the loads ask of the bank on a mean day of each month, and what can run together.

use crate::plan::wiring::Supply;
use crate::plan::{Figure, Load, Missing};
use crate::units::{WattHours, Watts};

use super::context::{Context, at, missing, need};
use super::report::LoadFigures;

/// Whether a month (0 = January) is among the three coldest or warmest, by the hemisphere of the first stay.
///
/// Source: common practice: December to February and June to August north of the equator.
fn season(c: &Context<'_>, month: usize) -> Figure<(bool, bool)> {
    let Some(stay) = c.plan.stays.first() else { return Err(missing("stays")) };
    let north = need(&stay.latitude_deg, "stays", &stay.id, "latitude_deg")?.0 >= 0.0;
    let (december, june) = (matches!(month, 11 | 0 | 1), matches!(month, 5..=7));
    Ok(if north { (december, june) } else { (june, december) })
}

/// Wh a day of one load at its own terminals, in a month.
pub(super) fn own_wh(c: &Context<'_>, load: &Load, month: usize) -> Figure<f64> {
    if !load.months.has(month) {
        return Ok(0.0);
    }
    let f = |field: &str| at("loads", &load.id, field);
    let watts = load.watts_w.at(|| f("watts_w"))?.0 * load.quantity.at(|| f("quantity"))?.0;
    let hours = load.hours_day.at(|| f("hours_day"))?.0 * load.duty_pct.at(|| f("duty_pct"))?.0 / 100.0;
    let (winter, summer) =
        (load.winter_factor.at(|| f("winter_factor"))?.0, load.summer_factor.at(|| f("summer_factor"))?.0);
    let factor = if winter == 1.0 && summer == 1.0 {
        1.0
    } else {
        match season(c, month)? {
            (true, _) => winter,
            (_, true) => summer,
            _ => 1.0,
        }
    };
    Ok(watts * hours * factor)
}

/// Efficiency of the inverter that carries the AC loads: the first that stays.
pub(super) fn inverter_share(c: &Context<'_>) -> Figure<f64> {
    let Some(inv) = c.plan.inverters.iter().find(|i| i.state.stays()) else { return Err(missing("inverters")) };
    Ok((need(&inv.efficiency_pct, "inverters", &inv.id, "efficiency_pct")?.0 / 100.0).max(0.01))
}

/// The figures of all loads together.
pub(super) fn figures(c: &Context<'_>) -> LoadFigures {
    let mut idle: Figure<f64> = Ok(0.0);
    for inv in c.plan.inverters.iter().filter(|i| i.state.stays()) {
        idle = idle.and_then(|sum| {
            let watts = need(&inv.idle_w, "inverters", &inv.id, "idle_w")?.0;
            Ok(sum + watts * need(&inv.idle_h_day, "inverters", &inv.id, "idle_h_day")?.0)
        });
    }
    let month_wh = |month: usize| -> Figure<f64> {
        let (mut dc, mut ac) = (0.0, 0.0);
        for load in c.plan.loads.iter().filter(|l| l.state.stays()) {
            let wh = own_wh(c, load, month)?;
            match load.supply {
                Supply::Dc => dc += wh,
                Supply::Inverter => ac += wh,
            }
        }
        let through = if ac > 0.0 { ac / inverter_share(c)? } else { 0.0 };
        Ok(dc + through + idle.clone()?)
    };
    LoadFigures {
        wh_day: std::array::from_fn(|m| month_wh(m).map(WattHours)),
        dc_simultaneous_w: simultaneous_w(c).map(Watts),
    }
}

fn simultaneous_w(c: &Context<'_>) -> Figure<f64> {
    let mut months = [0.0; 12];
    for load in c.plan.loads.iter().filter(|l| l.state.stays() && l.supply == Supply::Dc) {
        let watts = need(&load.watts_w, "loads", &load.id, "watts_w")?.0;
        let all = watts * need(&load.quantity, "loads", &load.id, "quantity")?.0;
        for (m, sum) in months.iter_mut().enumerate() {
            if load.months.has(m) {
                *sum += all;
            }
        }
    }
    Ok::<f64, Missing>(months.into_iter().fold(0.0, f64::max))
}
