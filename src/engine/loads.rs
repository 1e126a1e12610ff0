//! What the loads ask of the bank on a mean day of each month, and what can run together.

use crate::climate::year::MONTH_DAYS;
use crate::plan::wiring::Supply;
use crate::plan::{Figure, Id, Load, Missing, Plan};
use crate::units::{Amps, WattHours, Watts};

use super::context::{Context, at, missing, need};
use super::converted::Shares;
use super::report::{LoadFigures, LoadRow, SeasonFigures, SurgeFigures, TogetherFigures};
use super::sites::stay_of_months;

/// Whether a month (0 = January) is winter or summer where the coach is then; in a month without a stay, where the first
/// one is.
///
/// Source: common practice: December to February and June to August north of the equator.
fn season(c: &Context<'_>, month: usize) -> Figure<(bool, bool)> {
    let there = stay_of_months(c.plan).get(month).copied().flatten();
    let stay = there.and_then(|i| c.plan.stays.get(i)).or(c.plan.stays.first());
    let Some(stay) = stay else { return Err(missing("stays")) };
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

/// Efficiency of the inverter that an AC load hangs on.
pub(super) fn inverter_share(c: &Context<'_>, shares: &Shares, load: usize) -> Figure<f64> {
    let own = shares.inverter(c.plan, load).and_then(|i| c.plan.inverters.get(i));
    let Some(inv) = own else { return Err(missing("inverters")) };
    Ok((need(&inv.efficiency_pct, "inverters", &inv.id, "efficiency_pct")?.0 / 100.0).max(0.01))
}

/// The figures of all loads together.
pub(super) fn figures(c: &Context<'_>, shares: &Shares) -> LoadFigures {
    let mut idle: Figure<f64> = Ok(0.0);
    for inv in c.plan.inverters.iter().filter(|i| i.state.stays()) {
        idle = idle.and_then(|sum| {
            let watts = need(&inv.idle_w, "inverters", &inv.id, "idle_w")?.0;
            Ok(sum + watts * need(&inv.idle_h_day, "inverters", &inv.id, "idle_h_day")?.0)
        });
    }
    // All at the bank, and what of it the inverters lose and draw unloaded, and what converters lose.
    let month_wh = |month: usize| -> Figure<(f64, f64, f64)> {
        let (mut dc, mut ac, mut converted) = (0.0, 0.0, 0.0);
        // By inverter: what it carries, and through which share.
        let mut carried: Vec<(Option<usize>, f64, f64)> = Vec::new();
        for (i, load) in c.plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays()) {
            let wh = own_wh(c, load, month)?;
            match load.supply {
                Supply::Dc if wh > 0.0 => {
                    let at_bank = wh / shares.get(i)?;
                    dc += at_bank;
                    converted += at_bank - wh;
                }
                Supply::Dc => {}
                Supply::Inverter if wh > 0.0 => {
                    ac += wh;
                    let own = shares.inverter(c.plan, i);
                    match carried.iter_mut().find(|(inverter, ..)| *inverter == own) {
                        Some((_, sum, _)) => *sum += wh,
                        None => carried.push((own, wh, inverter_share(c, shares, i)?)),
                    }
                }
                Supply::Inverter => {}
            }
        }
        let through = carried.iter().fold(0.0, |sum, (_, wh, share)| sum + wh / share);
        let idle = idle.clone()?;
        Ok((dc + through + idle, through - ac + idle, converted))
    };
    let parts: [Figure<(f64, f64, f64)>; 12] = std::array::from_fn(month_wh);
    let months: [Figure<f64>; 12] = parts.clone().map(|month| month.map(|(all, ..)| all));
    let inverter = parts.clone().map(|month| month.map(|(_, lost, _)| lost));
    let converter = parts.map(|month| month.map(|(.., lost)| lost));
    let year_wh = months.iter().zip(MONTH_DAYS).map(|(wh, days)| wh.clone().map(|wh| wh * days as f64)).sum();
    let (together, surge) = match peaks(c, shares) {
        Ok((together, surge)) => (Ok(together), surge),
        Err(waits) => (Err(waits.clone()), Err(waits)),
    };
    LoadFigures {
        dc_simultaneous_w: simultaneous_w(c, shares).map(Watts),
        seasons: seasons(c, &months),
        inverter: seasons(c, &inverter),
        converter: seasons(c, &converter),
        year_kwh: Figure::<f64>::map(year_wh, |wh| wh / 1000.0),
        worst_day: worst_day(&months),
        together,
        surge,
        spread_share: AUDIT_SHARE,
        each: c.plan.loads.iter().map(|load| row(c, load)).collect(),
        wh_day: months.map(|wh| wh.map(WattHours)),
    }
}

/// One load's seasons; nothing where it does not stay.
fn row(c: &Context<'_>, load: &Load) -> LoadRow {
    let months = std::array::from_fn(|m| if load.state.stays() { own_wh(c, load, m) } else { Ok(0.0) });
    LoadRow { id: load.id.clone(), seasons: seasons(c, &months) }
}

fn simultaneous_w(c: &Context<'_>, shares: &Shares) -> Figure<f64> {
    let mut months = [0.0; 12];
    let all = c.plan.loads.iter().enumerate();
    for (i, load) in all.filter(|(_, l)| l.state.stays() && l.supply == Supply::Dc) {
        let watts = need(&load.watts_w, "loads", &load.id, "watts_w")?.0;
        let all = watts * need(&load.quantity, "loads", &load.id, "quantity")?.0 / shares.get(i)?;
        for (m, sum) in months.iter_mut().enumerate() {
            if load.months.has(m) {
                *sum += all;
            }
        }
    }
    Ok::<f64, Missing>(months.into_iter().fold(0.0, f64::max))
}

/// Share either way that totals of an energy audit are off by.
/// Source: common practice; use asked for and read off labels, not measured over days, is known to a quarter.
const AUDIT_SHARE: f64 = 0.25;

/// A part of the year.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Season {
    Summer,
    Winter,
    Between,
}

/// The season of a month (0 = January).
fn season_of(c: &Context<'_>, month: usize) -> Figure<Season> {
    Ok(match season(c, month)? {
        (true, _) => Season::Winter,
        (_, true) => Season::Summer,
        _ => Season::Between,
    })
}

/// Mean days of the seasons. What is the same all year needs no season.
fn seasons(c: &Context<'_>, months: &[Figure<f64>; 12]) -> SeasonFigures {
    let mean = |wanted: Season| -> Figure<WattHours> {
        if let Some(Ok(first)) = months.first()
            && months.iter().all(|m| m.as_ref() == Ok(first))
        {
            return Ok(WattHours(*first));
        }
        let (mut wh, mut days) = (0.0, 0.0);
        for (m, (figure, length)) in months.iter().zip(MONTH_DAYS).enumerate() {
            if season_of(c, m)? == wanted {
                wh += figure.clone()? * length as f64;
                days += length as f64;
            }
        }
        // Where the coach has no such season there is no figure of it.
        if days > 0.0 { Ok(WattHours(wh / days)) } else { Err(missing("")) }
    };
    SeasonFigures {
        summer_wh_day: mean(Season::Summer),
        winter_wh_day: mean(Season::Winter),
        between_wh_day: mean(Season::Between),
    }
}

/// The month whose usual day takes the most; the first of several.
fn worst_day(months: &[Figure<f64>; 12]) -> Figure<(usize, WattHours)> {
    let mut worst = (0, WattHours(0.0));
    for (m, figure) in months.iter().enumerate() {
        let wh = figure.clone()?;
        if wh > worst.1.0 {
            worst = (m, WattHours(wh));
        }
    }
    Ok(worst)
}

/// What the inverters can carry: watts all the time and for a start, and what they draw unloaded.
struct Inverters {
    share: f64,
    rated_w: f64,
    surge_w: Figure<Option<f64>>,
    idle_w: f64,
}

fn inverters(c: &Context<'_>, shares: &Shares) -> Figure<Inverters> {
    let share = inverter_share(c, shares, usize::MAX)?;
    let mut all = Inverters { share, rated_w: 0.0, surge_w: Ok(Some(0.0)), idle_w: 0.0 };
    for inv in c.plan.inverters.iter().filter(|i| i.state.stays()) {
        all.rated_w += need(&inv.watts_w, "inverters", &inv.id, "watts_w")?.0;
        all.idle_w += need(&inv.idle_w, "inverters", &inv.id, "idle_w")?.0;
        let surge = inv.surge_w.as_ref().map(|w| w.at(|| at("inverters", &inv.id, "surge_w"))).transpose();
        all.surge_w = all.surge_w.and_then(|sum| Ok(sum.zip(surge?).map(|(sum, w)| sum + w.0)));
    }
    Ok(all)
}

/// A load that runs: all of it, and what one more watt-hungry start adds to one that runs. DC at the bank, AC at outlets.
struct Running<'a> {
    load: &'a Load,
    all_w: f64,
    start_w: Figure<f64>,
}

fn running<'a>(c: &Context<'a>, shares: &Shares) -> Figure<Vec<Running<'a>>> {
    let plan: &'a Plan = c.plan;
    let mut all = Vec::new();
    for (i, load) in plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays()) {
        let one = need(&load.watts_w, "loads", &load.id, "watts_w")?.0;
        let quantity = need(&load.quantity, "loads", &load.id, "quantity")?.0;
        let share = if load.supply == Supply::Dc { shares.get(i)? } else { 1.0 };
        let start_w = match &load.surge_w {
            Some(surge) if quantity > 0.0 => {
                surge.at(|| at("loads", &load.id, "surge_w")).map(|w| (w.0 - one).max(0.0) / share)
            }
            _ => Ok(0.0),
        };
        all.push(Running { load, all_w: one * quantity / share, start_w });
    }
    Ok(all)
}

/// What can run together, and the largest start beside it, in the month with most of each. Every load of a month runs
/// at once; what hangs on the inverters counts up to their ratings, through the efficiency of the one that carries what is not drawn. What a start takes
/// is no matter of what runs.
/// Source: common practice; the largest running set plus the largest start.
fn peaks(c: &Context<'_>, shares: &Shares) -> Figure<(TogetherFigures, Figure<SurgeFigures>)> {
    let all = running(c, shares)?;
    let has_ac = all.iter().any(|r| r.load.supply == Supply::Inverter && r.all_w > 0.0);
    let stays = c.plan.inverters.iter().any(|i| i.state.stays());
    let inverters = if has_ac || stays { Some(inverters(c, shares)?) } else { None };
    let amps = |watts: f64| c.low_v().ok().filter(|v| *v > 0.0).map(|v| Amps(watts / v));
    // DC watts, AC watts and a limit on these, as watts at the bank.
    let at_bank = |dc_w: f64, ac_w: f64, most_w: Option<f64>| match &inverters {
        Some(inv) if ac_w > 0.0 => {
            let carried = most_w.map_or(ac_w, |most| ac_w.min(most));
            (dc_w + carried / inv.share, carried < ac_w)
        }
        Some(inv) => (dc_w + inv.idle_w, false),
        None => (dc_w, false),
    };
    let rated_w = inverters.as_ref().map(|i| i.rated_w);
    let in_month = |month: usize| {
        let sum = |supply: Supply| {
            let here = all.iter().filter(|r| r.load.months.has(month) && r.load.supply == supply);
            here.map(|r| r.all_w).sum::<f64>()
        };
        (sum(Supply::Dc), sum(Supply::Inverter))
    };
    let mut together: Option<TogetherFigures> = None;
    for month in 0..12 {
        let (dc_w, ac_w) = in_month(month);
        let (watts, is_capped) = at_bank(dc_w, ac_w, rated_w);
        if together.is_none_or(|t| watts > t.watts.0) {
            together = Some(TogetherFigures { month, dc_w, ac_w, watts: Watts(watts), amps: amps(watts), is_capped });
        }
    }
    let largest = || {
        let mut surge: Option<SurgeFigures> = None;
        for month in 0..12 {
            let (dc_w, ac_w) = in_month(month);
            let (watts, is_capped) = at_bank(dc_w, ac_w, rated_w);
            let mut consider = |load: Option<&Id>, watts: f64, is_capped: bool| {
                if surge.as_ref().is_none_or(|s| watts > s.watts.0) {
                    let load = load.cloned();
                    surge = Some(SurgeFigures { load, month, watts: Watts(watts), amps: amps(watts), is_capped });
                }
            };
            consider(None, watts, is_capped);
            for r in all.iter().filter(|r| r.load.months.has(month)) {
                let start_w = r.start_w.clone()?;
                let (watts, is_capped) = match r.load.supply {
                    _ if start_w <= 0.0 => continue,
                    Supply::Dc => (watts + start_w, is_capped),
                    // What runs beside it is within the inverters' ratings.
                    Supply::Inverter => {
                        let beside = rated_w.map_or(ac_w, |rated| ac_w.min(rated));
                        let most_w = inverters.as_ref().map_or(Ok(None), |i| i.surge_w.clone())?;
                        at_bank(dc_w, beside + start_w, most_w)
                    }
                };
                consider(Some(&r.load.id), watts, is_capped);
            }
        }
        surge.ok_or_else(|| missing("loads"))
    };
    let together = together.ok_or_else(|| missing("loads"))?;
    Ok((together, largest()))
}
