//! A load that takes more to start than the inverter gives for a moment.

use crate::engine::Work;
use crate::engine::context::at;
use crate::engine::converted::inverter_of;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::plan::wiring::Supply;
use crate::plan::{FieldPath, Load};
use crate::standards::source::COMMON_PRACTICE;

static OVER: Check = Check {
    id: "start-over-inverter",
    safety: false,
    say: |f| {
        format!(
            "{}: takes {:.0} W to start, the inverter gives {:.0} W for a moment: it will not start, or the inverter trips",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let ac = |load: &&Load| load.state.stays() && load.supply == Supply::Inverter;
    for (i, load) in w.context.plan.loads.iter().enumerate().filter(|(_, load)| ac(load)) {
        let subject = || FieldPath::new(format!("loads.{}", load.id));
        out.take(&OVER, subject, over(w, (i, load), subject()));
    }
}

/// One start by itself, against the inverter that it hangs on, or where none is drawn that which gives most for a moment; one without a short rating is not judged.
fn over(w: &Work<'_>, (index, load): (usize, &Load), subject: FieldPath) -> Outcome {
    let Some(start) = &load.surge_w else { return Ok(None) };
    let start_w = start.at(|| at("loads", &load.id, "surge_w"))?.0;
    let mut most_w = None;
    let own = inverter_of(w.context, index);
    let all =
        w.context.plan.inverters.iter().enumerate().filter(|(i, x)| x.state.stays() && own.is_none_or(|own| own == *i));
    for (_, inverter) in all {
        let Some(short) = &inverter.surge_w else { return Ok(None) };
        let short_w = short.at(|| at("inverters", &inverter.id, "surge_w"))?.0;
        most_w = Some(most_w.map_or(short_w, |most: f64| most.max(short_w)));
    }
    let over = most_w.filter(|most_w| start_w > *most_w);
    Ok(over.map(|most_w| {
        Finding::new(&OVER, Level::Caution, subject, &[start_w, most_w], &COMMON_PRACTICE).named([&load.id])
    }))
}
