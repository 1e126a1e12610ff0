//! Lithium in the heated space, while nobody lives there: stored it stands as cold as the air, and panels charge on any sunny day.

use super::{COLDEST_C, Charged, LFP_COLD};
use crate::engine::Work;
use crate::engine::checks::profile::profiles;
use crate::engine::compile::HEATER_ABOVE_K;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Outcome;
use crate::engine::sites::stay_of_months;
use crate::physics::warmth::heated;
use crate::plan::{Known, Missing, YesNo};

/// Watts of heaters go in steps of this. Source: common practice, pads of 5 W and more; from memory.
const HEATER_STEP_W: f64 = 5.0;

pub(super) static STORED: Check = Check {
    id: "lithium-stored-cold",
    safety: true,
    say: |f| {
        let (bank_c, least_c) = (f.n(0), f.n(1));
        let who = if f.name(0).is_empty() { "BK" } else { f.name(0) };
        let held = if f.n(3) > 0.0 { ", where its heater alone does not hold it" } else { "" };
        let lets = match f.numbers.get(4) {
            Some(stops_c) => format!("its cut-off lets charge in down to {stops_c:.0} C"),
            None => format!("nothing stops charging below {least_c:.0} C"),
        };
        let by = match f.name(1) {
            "sun" => "panels charge on any sunny day",
            _ => "what charges it does so then too",
        };
        let most = if f.numbers.len() > 4 { format!(", {least_c:.0} C is the least") } else { String::new() };
        format!(
            "{who}: its space is warm only while lived in. Stored or driven unheated it gets down to {bank_c:.0} C{held}, and \
             {lets}{most}: {by}"
        )
    },
};

/// Whether the coach may stand unheated: what is entered as the coldest is where it is stored or driven; else where there are months
/// that nobody lives in it.
fn may_stand(w: &Work<'_>) -> bool {
    w.context.plan.job.coldest_c.is_some() || stay_of_months(w.context.plan).iter().any(Option::is_none)
}

/// Lithium in the heated space that nothing but that keeps from being charged too cold.
///
/// # Errors
/// The field that it waits for.
pub(super) fn stored(w: &Work<'_>, of: &Charged<'_>) -> Outcome {
    let least = w.context.rules.lfp_charge_least_c;
    let inside_c = w.context.rules.interior_least_c;
    let stops_c = of.cutoff_c.and_then(|k| k.known()).map(|c| c.0);
    // A space that is colder even while lived in is found so already.
    let is_warm = of.heated == Known::Is(YesNo::Yes) && inside_c >= least;
    if !is_warm || stops_c.is_some_and(|c| c >= least - 1e-9) || !may_stand(w) {
        return Ok(None);
    }
    if !of.row.clone()?.chemistry.is_lithium() {
        return Ok(None);
    }
    match w.weather.coldest_c.clone() {
        Ok(coldest) => in_cold(w, of, coldest, stops_c),
        // What does not hang on it is not asked for it.
        Err(waits) => {
            let hangs = !matches!(in_cold(w, of, COLDEST_C, stops_c), Ok(None));
            if hangs { Err(waits) } else { Ok(None) }
        }
    }
}

/// The same in such air.
fn in_cold(w: &Work<'_>, of: &Charged<'_>, coldest: f64, stops_c: Option<f64>) -> Outcome {
    let least = w.context.rules.lfp_charge_least_c;
    if coldest >= least {
        return Ok(None);
    }
    let (mut held, mut watts) = (coldest, 0.0);
    if let Some(Known::Is(own)) = of.heater_w {
        held = heated(coldest, least + HEATER_ABOVE_K, own.0 / of.loss_w_k(w)?.max(1e-9)).0;
        watts = own.0;
    }
    if held >= least {
        return Ok(None);
    }
    // One that nobody has read off yet prevents nothing.
    let asked = [
        (of.cutoff_c.is_some() && stops_c.is_none(), "charge_cutoff_c"),
        (of.heater_w == Some(&Known::Unknown), "heater_w"),
    ];
    if let Some((_, field)) = asked.into_iter().find(|(is_asked, _)| *is_asked) {
        return Err(Missing(of.field(field)));
    }
    // What would hold it there; 0 where the label is not known.
    let loss_w_k = of.loss_w_k(w).unwrap_or(0.0);
    let wanted_w = (loss_w_k * (least - coldest) / HEATER_STEP_W).ceil() * HEATER_STEP_W;
    let mut numbers = vec![held, least, wanted_w, watts];
    numbers.extend(stops_c);
    let has_sun =
        of.start.is_none() && profiles(w).iter().any(|p| p.start.is_none() && is_controller(w, p.id.as_str()));
    let found = Finding::new(&STORED, Level::Caution, of.path(), &numbers, &LFP_COLD).smaller_is_worse();
    Ok(Some(found.named([of.name(), if has_sun { "sun" } else { "" }])))
}

fn is_controller(w: &Work<'_>, id: &str) -> bool {
    w.context.plan.controllers.iter().any(|k| k.id.as_str() == id)
}
