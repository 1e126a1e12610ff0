//! A load that takes more to start than the inverter gives for a moment.

use crate::engine::Work;
use crate::engine::context::at;
use crate::engine::converted::Shares;
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

static BELOW: Check = Check {
    id: "surge-below-watts",
    safety: false,
    say: |f| {
        let what = if f.name(1) == "inverter" { "gives for a moment" } else { "takes to start" };
        format!(
            "{}: {:.0} W is what it {what}, less than its {:.0} W running: one of the two is entered wrong",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};

/// A surge that is less than what stands beside it: no device has that.
fn below(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let loads = plan.loads.iter().filter(|l| l.state.stays());
    let loads = loads.map(|l| ("loads", &l.id, "", &l.watts_w, &l.surge_w));
    let inverters = plan.inverters.iter().filter(|i| i.state.stays());
    let inverters = inverters.map(|i| ("inverters", &i.id, "inverter", &i.watts_w, &i.surge_w));
    for (list, id, what, watts, surge) in loads.chain(inverters) {
        let (Some(watts), Some(surge)) = (watts.known(), surge.as_ref().and_then(|k| k.known())) else { continue };
        if surge.0 > 0.0 && surge.0 < watts.0 - 1e-9 {
            let subject = at(list, id, "surge_w");
            let numbers = [surge.0, watts.0];
            let found = Finding::new(&BELOW, Level::Note, subject.clone(), &numbers, &COMMON_PRACTICE);
            out.take(&BELOW, || subject, Ok(Some(found.smaller_is_worse().named([id.as_str(), what]))));
        }
    }
}

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    below(w, out);
    let shares = Shares::of(w.context);
    let loads = w.context.plan.loads.iter().enumerate();
    for (i, load) in loads.filter(|(_, l)| l.state.stays() && l.supply == Supply::Inverter && !l.never_runs()) {
        let subject = || FieldPath::of(&["loads", load.id.as_str()]);
        out.take(&OVER, subject, over(w, load, shares.inverter(i)));
    }
}

/// One start by itself, against the inverter that its run comes from, or where no run tells the one that gives most for a
/// moment; one without a short rating is not judged.
fn over(w: &Work<'_>, load: &Load, own: Option<usize>) -> Outcome {
    let Some(start) = &load.surge_w else { return Ok(None) };
    let start_w = start.at(|| at("loads", &load.id, "surge_w"))?.0;
    let mut most_w = None;
    let all = w.context.plan.inverters.iter().enumerate().filter(|(_, i)| i.state.stays());
    for (_, inverter) in all.filter(|(i, _)| own.is_none_or(|own| own == *i)) {
        let Some(short) = &inverter.surge_w else { return Ok(None) };
        let short_w = short.at(|| at("inverters", &inverter.id, "surge_w"))?.0;
        most_w = Some(most_w.map_or(short_w, |most: f64| most.max(short_w)));
    }
    let over = most_w.filter(|most_w| start_w > *most_w);
    Ok(over.map(|most_w| {
        Finding::new(
            &OVER,
            Level::Caution,
            FieldPath::of(&["loads", load.id.as_str()]),
            &[start_w, most_w],
            &COMMON_PRACTICE,
        )
        .named([&load.id])
    }))
}
