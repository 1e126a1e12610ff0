//! Lithium charged in the cold: what prevents it, and from how many degrees.

use crate::engine::Work;
use crate::engine::compile::{HEATER_ABOVE_K, bank};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Outcome;
use crate::physics::warmth::{heated, loss_w_k};
use crate::plan::{Known, Missing, YesNo};
use crate::standards::source::{Source, Standing};

use super::digits;

static LFP_COLD: Source = Source::new("LFP", "no charge below 0 C", Standing::FromMemory);

pub(super) static COLD: Check = Check {
    id: "lithium-charged-cold",
    safety: true,
    say: |f| {
        let (bank_c, least_c, air_c) = (f.n(0), f.n(1), f.n(2));
        if f.name(0) == "low" {
            let (stops, most) = digits::apart(f.n(2), least_c, 0);
            let lets = format!("its cut-off lets charge in down to {stops} C");
            let how =
                format!("under {most} C lithium plates, unless the maker's sheet allows it (rule lfp-charge-least-c)");
            let colder = match f.name(1) {
                "" => format!("air down to {bank_c:.0} C"),
                _ => format!("in the coldest air its heater holds it at {bank_c:.0} C"),
            };
            return format!("BK: {colder}, and {lets}; {how}");
        }
        if f.numbers.len() < 5 {
            return format!("BK: air down to {bank_c:.0} C and nothing stops charging below {least_c:.0} C");
        }
        let (held, cut_off) = digits::apart(bank_c, least_c, 0);
        format!(
            "BK: air down to {air_c:.0} C, where its heater of {:.0} W against {:.1} W lost per kelvin holds it at {held} C, \
             and nothing stops charging below {cut_off} C",
            f.n(3),
            f.n(4)
        )
    },
};

/// Lithium charged where it is colder than it stands with nothing to prevent it: no cut-off of its own, no heated space, no
/// heater that is strong enough. A cut-off that is set lower than lithium is charged at prevents a part of it, or where the
/// air is no colder nothing at all.
pub(super) fn cold(w: &Work<'_>) -> Outcome {
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
    let coldest = w.weather.coldest_c.clone()?.max(inside_c.unwrap_or(f64::MIN));
    if coldest >= least {
        return Ok(None);
    }
    if let Some(Known::Is(watts)) = &bank.heater_w {
        return under_heater(w, coldest, least, watts.0, stops_c);
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
        return Ok(Some(set_low(coldest, least, stops_c, "")));
    }
    let found = Finding::new(&COLD, Level::Stop, "bank".into(), &[coldest, least], &LFP_COLD);
    Ok(Some(found.smaller_is_worse()))
}

/// A cut-off below what lithium is charged at: what prevents nothing at all is as none.
fn set_low(coldest: f64, least: f64, stops_c: f64, heated: &str) -> Finding {
    let level = if stops_c > coldest { Level::Caution } else { Level::Stop };
    let found = Finding::new(&COLD, level, "bank".into(), &[coldest, least, stops_c], &LFP_COLD);
    found.named(["low", heated]).smaller_is_worse()
}

/// A heater prevents it only where it holds the bank above its cut-off in the coldest air.
///
/// Source: steady state of a heated body; what the batteries lose is from memory, and their maker's sheet governs.
fn under_heater(w: &Work<'_>, coldest: f64, least: f64, watts: f64, stops_c: Option<f64>) -> Outcome {
    let batteries = w.context.series()? * w.context.parallel()?;
    let loss_w_k = loss_w_k(bank(w.context)?.energy_wh(1.0) / batteries.max(1.0), batteries);
    let (held, _) = heated(coldest, least + HEATER_ABOVE_K, watts / loss_w_k.max(1e-9));
    if let Some(stops_c) = stops_c.filter(|_| held < least) {
        return Ok(Some(set_low(held, least, stops_c, "heated")));
    }
    Ok((held < least).then(|| {
        let numbers = [held, least, coldest, watts, loss_w_k];
        Finding::new(&COLD, Level::Stop, "bank".into(), &numbers, &LFP_COLD).smaller_is_worse()
    }))
}
