//! The coldest air, entered or by the stays; lithium charged in the cold: what prevents it, and from how many degrees.

use crate::engine::Work;
use crate::engine::arrays::voc_cold;
use crate::engine::compile::{HEATER_ABOVE_K, bank};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::sites::{coldest_month, coldest_stay};
use crate::physics::warmth::{heated, loss_w_k, outside_c};
use crate::plan::lists::MONTH_NAMES;
use crate::plan::{Known, Missing, YesNo};
use crate::standards::source::{Source, Standing};

use super::digits;

static BY_CLIMATE: Source =
    Source::new("ERA5, 2016-2025", "extreme minimum of the place, less rule cold-margin-k", Standing::Computed);

/// An entered coldest so little above the stays' is the same, K. Source: our own choice; whole degrees are entered.
const SAME_K: f64 = 0.5;

static ABOVE_STAYS: Check = Check {
    id: "coldest-above-stays",
    safety: false,
    say: |f| {
        let (entered, stays_c) = digits::apart(f.n(0), f.n(1), 0);
        let mut said = format!(
            "coldest air is entered as {entered} C; {} goes down to {stays_c} C by its climate with the margin",
            f.name(0)
        );
        if let (Some(voc), Some(limit)) = (f.numbers.get(2), f.numbers.get(3)) {
            let (voc, limit) = digits::apart(*voc, *limit, 1);
            said += &format!(", where {} stands at {voc} V open and {} takes {limit} V", f.name(1), f.name(2));
        }
        match f.name(3) {
            "" => {}
            _ => said += ", where nothing would keep charge from lithium that is too cold for it",
        }
        said + "; what is entered counts. Left out, the stays' counts"
    },
};

static LFP_COLD: Source = Source::new("LFP", "no charge below 0 C", Standing::FromMemory);

pub(super) static COLD: Check = Check {
    id: "lithium-charged-cold",
    safety: true,
    say: |f| {
        let (bank_c, least_c, air_c) = (f.n(0), f.n(1), f.n(2));
        let down = |c: f64| match f.name(2) {
            "" => format!("air down to {c:.0} C"),
            month => format!("{} C in it on the mean of {month}", digits::apart(c, least_c, 1).0),
        };
        if f.name(0) == "low" {
            let (stops, most) = digits::apart(f.n(2), least_c, 0);
            let lets = format!("its cut-off lets charge in down to {stops} C");
            let how =
                format!("under {most} C lithium plates, unless the maker's sheet allows it (rule lfp-charge-least-c)");
            let colder = match f.name(1) {
                "" => down(bank_c),
                _ => format!("in the coldest air its heater holds it at {bank_c:.0} C"),
            };
            return format!("BK: {colder}, and {lets}; {how}");
        }
        if f.numbers.len() < 5 {
            return format!("BK: {} and nothing stops charging below {least_c:.0} C", down(bank_c));
        }
        let (held, cut_off) = digits::apart(bank_c, least_c, 0);
        format!(
            "BK: {}, where its heater of {:.0} W against {:.1} W lost per kelvin holds it at {held} C, \
             and nothing stops charging below {cut_off} C",
            down(air_c),
            f.n(3),
            f.n(4)
        )
    },
};

/// What is entered as the coldest air, against the climate of the stays: what is entered counts, and where that is warmer
/// it is said. A caution where the stays' own would bring cold volts over a limit, or charge into cold lithium.
pub(super) fn above_stays(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let Some(entered) = plan.job.coldest_c.as_ref().and_then(Known::known) else { return };
    let at = || "job.coldest_c".into();
    let (coldest, waits) = coldest_stay(plan, w.spots, w.context.rules.cold_margin_k);
    if let Some(waits) = waits {
        out.take(&ABOVE_STAYS, at, Err(waits));
    }
    let Some((stays_c, stay)) = coldest.filter(|(c, _)| entered.0 > c + SAME_K) else { return };
    let Some(stay) = plan.stays.get(stay) else { return };
    let mut numbers = vec![entered.0, stays_c];
    let mut names = [stay.id.to_string(), String::new(), String::new(), String::new()];
    if let Some((array, controller, voc, limit)) = over_there(w, entered.0, stays_c) {
        numbers.extend([voc, limit]);
        (names[1], names[2]) = (array, controller);
    }
    let charges = plan.controllers.iter().any(|k| k.state.stays()) || plan.chargers.iter().any(|c| c.state.stays());
    let charged = |c: f64| charges && matches!(lithium_at(w, (c, None)), Ok(Some(_)));
    let by_month = coldest_in_bank(w);
    if charged(stays_c) && !charged(by_month.map_or(entered.0, |(c, _)| c.min(entered.0))) {
        names[3] = "lithium".into();
    }
    let level = if numbers.len() > 2 || !names[3].is_empty() { Level::Caution } else { Level::Note };
    // Within the margin the stays' own extreme is no colder than what is entered.
    if level == Level::Note && entered.0 <= stays_c + w.context.rules.cold_margin_k {
        return;
    }
    let found = Finding::new(&ABOVE_STAYS, level, at(), &numbers, &BY_CLIMATE);
    out.take(&ABOVE_STAYS, at, Ok(Some(found.named(names))));
}

/// The first array that is within what its controller takes at what is entered, and over it in the stays' cold: its name and
/// the controller's, and the volts of both.
fn over_there(w: &Work<'_>, entered_c: f64, stays_c: f64) -> Option<(String, String, f64, f64)> {
    let plan = w.context.plan;
    let stay = plan.arrays.iter().enumerate().filter(|(_, a)| a.state.stays());
    stay.into_iter().find_map(|(i, array)| {
        let controller = plan.controllers.get(w.context.circuit.feeds.get(i).copied().flatten()?)?;
        let most = controller.max_pv_v.known()?.0 * w.context.rules.voc_stop_pct / 100.0;
        let voc = |c: f64| voc_cold(plan, array, c).ok().map(|cold| cold.volts);
        let (here, there) = (voc(entered_c)?, voc(stays_c)?);
        (here <= most && there > most).then(|| {
            (array.id.to_string(), controller.id.to_string(), there, controller.max_pv_v.known().map_or(most, |v| v.0))
        })
    })
}

/// How cold a bank outside gets on the mean of the coldest month that has a stay, and that month.
/// Source: as in the year, `outside_c` of a month that is as warm as its mean on every day.
fn coldest_in_bank(w: &Work<'_>) -> Option<(f64, usize)> {
    let is_insulated = w.context.plan.bank.insulated == YesNo::Yes;
    coldest_month(w.context.plan, w.spots).map(|(air_c, month)| (outside_c(air_c, is_insulated), month))
}

/// Lithium charged where it is colder than it stands with nothing to prevent it: no cut-off of its own, no heated space, no
/// heater that is strong enough. A cut-off that is set lower than lithium is charged at prevents a part of it, or where the
/// air is no colder nothing at all. Where the year itself has the bank colder than what is entered as the coldest air, that
/// counts.
pub(super) fn cold(w: &Work<'_>) -> Outcome {
    let by_month = coldest_in_bank(w);
    match (w.weather.coldest_c.clone(), by_month) {
        (Ok(entered), Some((c, month))) if c < entered => lithium_at(w, (c, Some(month))),
        (Ok(entered), _) => lithium_at(w, (entered, None)),
        (Err(waits), by_month) => {
            // What does not hang on it is not asked for it.
            let found = by_month.map_or(Ok(None), |(c, month)| lithium_at(w, (c, Some(month))))?;
            let hangs = found.is_none() && !matches!(lithium_at(w, (COLDEST_C, None)), Ok(None));
            if hangs { Err(waits) } else { Ok(found) }
        }
    }
}

/// No air is colder that a coach is used in, C. Source: the field's own bound.
const COLDEST_C: f64 = -60.0;

/// The same in such cold; of the mean of a month its number.
fn lithium_at(w: &Work<'_>, (coldest, month): (f64, Option<usize>)) -> Outcome {
    let bank = &w.context.plan.bank;
    if !w.context.chemistry()?.chemistry.is_lithium() {
        return Ok(None);
    }
    let least = w.context.rules.lfp_charge_least_c;
    let stops_c = bank.charge_cutoff_c.as_ref().and_then(|k| k.known()).map(|c| c.0);
    // A heated space is as cold as its rule says, whatever the air outside.
    let inside_c = (bank.heated == Known::Is(YesNo::Yes)).then_some(w.context.rules.interior_least_c);
    if stops_c.is_some_and(|c| c >= least - 1e-9) || inside_c.is_some_and(|c| c >= least) {
        return Ok(None);
    }
    let month = month.filter(|_| inside_c.is_none_or(|c| c < coldest));
    let month = month.and_then(|m| MONTH_NAMES.get(m).copied()).unwrap_or("");
    let coldest = coldest.max(inside_c.unwrap_or(f64::MIN));
    if coldest >= least {
        return Ok(None);
    }
    if let Some(Known::Is(watts)) = &bank.heater_w {
        return under_heater(w, (coldest, month), least, watts.0, stops_c);
    }
    // One that nobody has read off yet prevents nothing.
    for (asked, field) in [
        (bank.charge_cutoff_c.is_some() && stops_c.is_none(), "bank.charge_cutoff_c"),
        (bank.heated == Known::Unknown && w.context.rules.interior_least_c >= least, "bank.heated"),
        (bank.heater_w.is_some(), "bank.heater_w"),
    ] {
        if asked {
            return Err(Missing(field.into()));
        }
    }
    if let Some(stops_c) = stops_c {
        return Ok(Some(set_low((coldest, month), least, stops_c, "")));
    }
    let found = Finding::new(&COLD, Level::Stop, "bank".into(), &[coldest, least], &LFP_COLD);
    Ok(Some(found.named(["", "", month]).smaller_is_worse()))
}

/// A cut-off below what lithium is charged at: what prevents nothing at all is as none.
fn set_low((coldest, month): (f64, &str), least: f64, stops_c: f64, heated: &str) -> Finding {
    let level = if stops_c > coldest { Level::Caution } else { Level::Stop };
    let found = Finding::new(&COLD, level, "bank".into(), &[coldest, least, stops_c], &LFP_COLD);
    found.named(["low", heated, month]).smaller_is_worse()
}

/// A heater prevents it only where it holds the bank above its cut-off in the coldest air.
///
/// Source: steady state of a heated body; what the batteries lose is from memory, and their maker's sheet governs.
fn under_heater(w: &Work<'_>, (coldest, month): (f64, &str), least: f64, watts: f64, stops_c: Option<f64>) -> Outcome {
    let batteries = w.context.series()? * w.context.parallel()?;
    let loss_w_k = loss_w_k(bank(w.context)?.energy_wh(1.0) / batteries.max(1.0), batteries);
    let (held, _) = heated(coldest, least + HEATER_ABOVE_K, watts / loss_w_k.max(1e-9));
    if let Some(stops_c) = stops_c.filter(|_| held < least) {
        return Ok(Some(set_low((held, month), least, stops_c, "heated")));
    }
    Ok((held < least).then(|| {
        let numbers = [held, least, coldest, watts, loss_w_k];
        let found = Finding::new(&COLD, Level::Stop, "bank".into(), &numbers, &LFP_COLD);
        found.named(["", "", month]).smaller_is_worse()
    }))
}
