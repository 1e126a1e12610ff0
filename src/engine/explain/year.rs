//! Sums of the typical year, month by month.

use super::{Explain, n};
use crate::climate::year::MONTH_DAYS;
use crate::engine::arrays::string_vmp_v;
use crate::engine::circuit::tracking;
use crate::engine::report::MonthFigures;
use crate::plan::lists::MONTH_NAMES;
use crate::plan::{Figure, Known};
use crate::units::WattHours;
use crate::words::counted;

pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    match e.finding.check.id {
        "shortfall" => short(e),
        "medical-not-served" => medical(e),
        "charge-lost-to-cold" => cold(e),
        "cold-days-not-in-year" => near_cold(e),
        "cold-bank-gives-less" => colder(e),
        "inverter-cuts-off" => off(e),
        "inverter-cut-off-high" | "bank-cut-off-high" => stands(e),
        "loads-below-cut-off" => at_once(e),
        "clipping" => clipped(e),
        "array-below-bank" => below(e),
        "sun-above-air" => sunny(e),
        _ => None,
    }
}

/// What the own cut-off of the finding's inverter keeps from its loads.
fn cut_off(e: &mut Explain<'_>) -> Option<()> {
    let at = e.c.plan.inverters.iter().position(|inv| e.finding.subject.as_str() == format!("inverters.{}", inv.id))?;
    let wh_day = e.report.year.cut_offs.iter().find(|own| own.inverter == at)?.wh_day.clone();
    by_month(e, |m, _| wh_day.get(m).cloned().unwrap_or(Ok(WattHours(0.0))))
}

/// The days of each month that has any, times what is lost or lacking on its mean day.
fn months(e: &mut Explain<'_>, of: impl Fn(&MonthFigures) -> Figure<WattHours>) -> Option<()> {
    by_month(e, |_, month| of(month))
}

fn by_month(e: &mut Explain<'_>, of: impl Fn(usize, &MonthFigures) -> Figure<WattHours>) -> Option<()> {
    let mut parts = Vec::new();
    for (m, ((month, days), name)) in e.report.year.months.iter().zip(MONTH_DAYS).zip(MONTH_NAMES).enumerate() {
        if month.stay.is_none() {
            continue;
        }
        let Ok(WattHours(wh)) = of(m, month) else { continue };
        if wh > 0.0 {
            parts.push(format!("{name} {days} x {wh:.1}"));
        }
    }
    e.say(format!("days x Wh of a mean day: {}", parts.join(", ")));
    Some(())
}

/// The sum and the worst month, as the finding has them.
fn total(e: &mut Explain<'_>, sum: f64, day: f64) {
    let month = e.finding.names.iter().find(|name| MONTH_NAMES.contains(&name.as_str()));
    let month = month.map_or("", String::as_str).to_string();
    let whole = e.report.year.lived.unmet_pct.is_ok() && e.report.year.months.iter().all(|m| m.stay.is_some());
    let when = if whole { "in the typical year" } else { "in the months that are known" };
    e.say(format!("together {sum:.0} Wh {when}, most in {month}: {day:.0} Wh a day"));
}

fn short(e: &mut Explain<'_>) -> Option<()> {
    e.say("hour by hour the bank gives what the loads ask down to its floor; what is asked below that goes without");
    months(e, |m| m.shortfall_wh_day.clone())?;
    let mut days = Vec::new();
    for ((month, length), name) in e.report.year.months.iter().zip(MONTH_DAYS).zip(MONTH_NAMES) {
        let Ok(share) = month.short_days_share.clone() else { continue };
        if share > 0.0 {
            days.push(format!("{name} {length} x {}", n(share)));
        }
    }
    let (sum, short, day) = (e.finding.n(0), e.finding.n(1), e.finding.n(2));
    if let Some(wh) = e.finding.numbers.get(3) {
        e.say(format!(
            "{wh:.0} Wh of it would go through inverters beyond what they are rated for, which carry none of that"
        ));
    }
    e.say(format!("days on which something goes without: {} = {}", days.join(" + "), counted(short.round(), "day")));
    total(e, sum, day);
    Some(())
}

fn medical(e: &mut Explain<'_>) -> Option<()> {
    let of = |l: &&crate::plan::Load| l.state.stays() && l.medical == crate::plan::YesNo::Yes;
    let ids: Vec<&str> = e.c.plan.loads.iter().filter(of).map(|l| l.id.as_str()).collect();
    let ids = ids.join(", ");
    e.say(format!("medical loads {ids}, never shed: what they ask of a bank that is empty goes without"));
    months(e, |m| m.medical_short_wh_day.clone())?;
    let (sum, day) = (e.finding.n(0), e.finding.n(1));
    total(e, sum, day);
    Some(())
}

fn cold(e: &mut Explain<'_>) -> Option<()> {
    let least = match e.c.plan.bank.charge_cutoff_c.as_ref().and_then(Known::known) {
        Some(own) => own.0,
        None => e.c.rules.lfp_charge_least_c,
    };
    e.say(format!(
        "no charge while the cells are below {} C; what sun and chargers offer in those hours is lost",
        n(least)
    ));
    months(e, |m| m.losses.clone().and_then(|l| Ok(l.cold? + m.other_cold_wh_day.clone()?)))?;
    let (sum, day) = (e.finding.n(0), e.finding.n(1));
    total(e, sum, day);
    Some(())
}

fn near_cold(e: &mut Explain<'_>) -> Option<()> {
    let f = e.finding;
    let (mean_c, least_c, wh) = (f.n(0), f.n(1), f.n(2));
    if let &[.., bare_c, watts] = f.numbers.as_slice()
        && f.numbers.len() > 3
    {
        e.say(format!(
            "without its heater {} C; {} W hold it {} K above that",
            n(bare_c),
            n(watts),
            n(mean_c - bare_c)
        ));
        super::bank::uninsulated(e);
    }
    e.say("the year has each day of a month as warm as its mean; real days lie 3 to 5 K about it");
    e.say(format!(
        "the bank in {} on the mean of 24 h, over what it takes charge at: {} - {} = {} K; lets in {} Wh of the sun a day",
        f.name(0),
        n(mean_c),
        n(least_c),
        n(mean_c - least_c),
        n(wh)
    ));
    Some(())
}

/// Source: Copetti, Lorenzo & Chenlo 1993, capacity; the tables of `standards/cold_bank.rs`.
fn colder(e: &mut Explain<'_>) -> Option<()> {
    let f = e.finding;
    let (own_c, label, year, least) = (f.n(0), f.n(1), f.n(2), f.n(3));
    e.say(format!("usable Wh by the label over the load of a day in {}: {label:.1} days", f.name(0)));
    let left = 1.0 + 0.005 * (own_c - 25.0);
    e.say(format!("by the year 1 - 0.005 x (25 - {}) = {} of the label's Ah are left", n(own_c), n(left)));
    let how = match f.name(1) {
        "lead" => {
            e.say("lead: the depth that is used is of what cold leaves");
            let frost = f.numbers.get(5..7).map_or(String::new(), |of| match of {
                [charge, freezes_c] => format!("; {} % freezes at {} C", n(*charge), n(*freezes_c)),
                _ => String::new(),
            });
            format!("{label:.1} / {:.2} = {least:.1} by the worksheet{frost}", f.n(4))
        }
        _ => {
            e.say("lithium: only what cold leaves under the floor that is used down to is lost");
            format!("{least:.1} with {} of {} to {} % left", n(f.n(4)), n(f.n(4)), n(f.n(5)))
        }
    };
    e.say(format!("{} at {} C: {label:.1} days by the label, {year:.1} by the year, {how}", f.name(0), n(own_c)));
    Some(())
}

fn off(e: &mut Explain<'_>) -> Option<()> {
    let cut_v = e.finding.n(0);
    e.say(format!("off where its terminals come down to {} V, until they stand higher again", n(cut_v)));
    cut_off(e)?;
    let (sum, day) = (e.finding.n(1), e.finding.n(2));
    total(e, sum, day);
    e.say(format!("while it is off at {} V", n(cut_v)));
    Some(())
}

/// What the bank stands at under the mean load of the month with most.
fn stands(e: &mut Explain<'_>) -> Option<()> {
    let f = e.finding;
    let (cut_v, floor_v, watts, charge, floor) = (f.n(0), f.n(1), f.n(2), f.n(3), f.n(4));
    let mut most = ("", 0.0);
    for (wh, name) in e.report.loads.wh_day.iter().zip(MONTH_NAMES) {
        let wh = wh.clone().ok()?.0;
        most = if wh > most.1 { (name, wh) } else { most };
    }
    let (name, wh) = most;
    e.say(format!("mean load of {name}, the month with most: {} Wh / 24 h = {} W", n(wh), n(wh / 24.0)));
    if f.n(5) >= 1.0 {
        cut_off(e)?;
        total(e, f.n(5), f.n(6));
    }
    e.say(format!(
        "by the law of its cells, under {} W at 25 C, the bank used down to {} %: {} V",
        n(watts),
        n(floor),
        n(floor_v)
    ));
    e.say(format!("under the same it stands at {} V with {} % in it", n(cut_v), n(charge)));
    Some(())
}

/// Source: constant power; Copetti, Lorenzo & Chenlo 1993 (lead), rest volts and one resistance (lithium); Ohm's law.
fn at_once(e: &mut Explain<'_>) -> Option<()> {
    let f = e.finding;
    let (stands_v, cut_v, watts, amps, charge, holds) = (f.n(0), f.n(1), f.n(2), f.n(3), f.n(4), f.n(5));
    let (posts_v, own_a) = (f.n(6), f.n(7));
    let id = f.name(0).to_string();
    let inverter = e.c.plan.inverters.iter().find(|inv| inv.id.as_str() == id)?;
    let pct = inverter.efficiency_pct.known()?.0;
    e.say(format!("through {id} at its cut-off: {} W / {} % / {} V = {} A", n(watts), n(pct), n(cut_v), n(own_a)));
    if amps > own_a + 1e-9 {
        e.say(format!("beside it {} A: all DC loads of the month, and other inverters", n(amps - own_a)));
    }
    e.say(format!(
        "by the law of its cells, at 25 C, with {} % in it, giving {} A: {} V at its posts; colder it stands lower",
        n(charge),
        n(amps),
        n(posts_v)
    ));
    e.say(format!("{} A over the wire to {id} and back: {} V less", n(own_a), n(posts_v - stands_v)));
    if holds <= 100.0 {
        e.say(format!("the same with {} % in it: {} V", n(holds), n(cut_v)));
    }
    Some(())
}

/// Source: power balance at the bank's nominal volts.
fn clipped(e: &mut Explain<'_>) -> Option<()> {
    let id = e.item("controllers")?.to_string();
    let i = e.c.plan.controllers.iter().position(|k| k.id.as_str() == id)?;
    let (kwh, most, pct, rated) = (e.finding.n(0), e.finding.n(1), e.finding.n(2), e.finding.n(3));
    let mut watts = 0.0;
    for array in e.c.circuit.arrays_of(i).filter_map(|a| e.c.plan.arrays.get(a)) {
        watts += crate::engine::arrays::watts(e.c.plan, array).ok()?;
    }
    let volts = e.c.bank_v().ok()?;
    if rated > 0.0 {
        let share = e.c.rules.tracking_efficiency;
        e.say(format!("panels {} W x {} / {} V = {} A", n(watts), n(share), n(volts), n(rated)));
    }
    let figures = e.report.controllers.iter().find(|x| x.id.as_str() == id)?;
    let offered = figures.offered_kwh.clone().ok()?;
    e.say(format!("above its limit of {} A in the typical year: {kwh:.1} kWh of {offered:.1} kWh offered", n(most)));
    let when = e.report.year.lived.when();
    let panels = if rated > 0.0 { format!("its panels' rated watts {} A; ", n(rated)) } else { String::new() };
    e.say(format!("{panels}limit {} A, {kwh:.1} kWh {when} cut off, {} %", n(most), n(pct)));
    Some(())
}

/// What a controller's panels would give at their best volts, and what the volts it must hold let through.
fn below(e: &mut Explain<'_>) -> Option<()> {
    let id = e.item("controllers")?.to_string();
    let (i, k) = e.c.plan.controllers.iter().enumerate().find(|(_, k)| k.id.as_str() == id)?;
    for a in e.c.circuit.arrays_of(i) {
        let (array, figures) = (e.c.plan.arrays.get(a)?, e.report.arrays.get(a)?);
        let (stc, hot) = (string_vmp_v(e.c.plan, array).ok()?, figures.vmp_hot_v.as_ref().ok()?.0);
        let array = array.id.clone();
        e.say(format!("{array} at maximum power: {} V at 25 C, {} V in the hottest month lived in", n(stc), n(hot)));
    }
    let headroom = match k.run_headroom_v.known() {
        Some(v) if tracking(&k.kind) == Some(true) => format!(" + {} V of headroom", n(v.0)),
        _ => String::new(),
    };
    let (low, high) = (e.c.low_v().ok()?, e.c.high_v().ok()?);
    e.say(format!("it holds them at the bank's volts, {} V when low to {} V at most{headroom}", n(low), n(high)));
    let figures = e.report.controllers.iter().find(|x| x.id.as_str() == id)?;
    let offered = figures.offered_kwh.clone().ok()? * 1000.0;
    let (lost, when) = (e.finding.n(0), e.report.year.lived.when());
    e.say(format!(
        "hours in which that is above their best volts: of {offered:.0} Wh offered {when} {lost:.0} Wh are lost, {} %",
        n(lost / offered.max(1e-9) * 100.0)
    ));
    Some(())
}

/// Source: Duffie & Beckman, eq. 1.10.3.
fn sunny(e: &mut Explain<'_>) -> Option<()> {
    let id = e.item("stays")?;
    let latitude = e.c.plan.stays.iter().find(|s| s.id.as_str() == id)?.latitude_deg.known()?.0;
    let (own, top) = (e.finding.n(0), e.finding.n(1));
    e.say(format!(
        "above the air at latitude {} deg, on the level, the month's mean day: {top:.2} kWh/m2",
        n(latitude)
    ));
    e.say(format!("entered {own:.2} kWh/m2 a day: {:.2} more than {top:.2}", own - top));
    Some(())
}
