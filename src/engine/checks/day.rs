//! Hours of a day that cannot be: loads in use for more of them than there are, inverters on for fewer than their loads run.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::loads::{carried_by, most_factor, of_bank};
use crate::plan::wiring::Supply;
use crate::plan::{FieldPath, Inverter, Load};
use crate::standards::source::COMMON_PRACTICE;

use crate::engine::converted::Shares;

/// Hours of a day. Source: definition.
const DAY_H: f64 = 24.0;
/// Hours that are no more than rounding. Source: our own choice.
const NOTHING_H: f64 = 0.01;

static PAST_DAY: Check = Check {
    id: "load-past-day",
    safety: false,
    say: |f| {
        format!(
            "{}: {:.1} h a day in {}, counted with its duty and the season's factor, and a day has {DAY_H:.0}: what grows then is its \
             watts, which wires and fuses do not know of",
            f.name(0),
            f.n(0),
            f.name(1)
        )
    },
};
static OUTLASTS: Check = Check {
    id: "load-outlasts-inverter",
    safety: false,
    say: |f| {
        format!(
            "{} runs {:.1} h a day through {}, which is on {:.1} h: its own draw for the rest, {:.0} Wh a day, is not counted",
            f.name(0),
            f.n(0),
            f.name(1),
            f.n(1),
            f.n(2)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let (plan, shares) = (w.context.plan, Shares::of(w.context));
    for (_, load) in of_bank(w.context, &shares) {
        let subject = || FieldPath::of(&["loads", load.id.as_str()]);
        out.take(&PAST_DAY, subject, past_day(w, load));
    }
    for (i, inverter) in plan.inverters.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        let subject = || FieldPath::of(&["inverters", inverter.id.as_str()]);
        out.take(&OUTLASTS, subject, outlasts(w, &shares, i, inverter));
    }
}

/// The most hours that a load is counted with, where a day has fewer. What is not known yet of the load is said where it is needed;
/// which seasons its months are in is waited for where one of them would make them more than a day has.
fn past_day(w: &Work<'_>, load: &Load) -> Outcome {
    let known = [&load.duty_pct, &load.winter_factor, &load.summer_factor].map(|x| x.known().map(|x| x.0));
    let (Some(hours), [Some(duty), Some(winter), Some(summer)]) = (load.hours_day.known(), known) else {
        return Ok(None);
    };
    let hours = hours.0 * duty / 100.0;
    let is_over = |hours: f64| hours > DAY_H + NOTHING_H;
    if !is_over(hours * winter.max(summer)) {
        return Ok(None);
    }
    let most = most_factor(w.context, load)?.map(|(factor, season)| (hours * factor, season));
    Ok(most.filter(|(hours, _)| is_over(*hours)).map(|(hours, season)| {
        let subject = FieldPath::of(&["loads", load.id.as_str()]);
        let finding = Finding::new(&PAST_DAY, Level::Caution, subject, &[hours], &COMMON_PRACTICE);
        finding.named([load.id.as_str(), season])
    }))
}

/// The load that runs longest through an inverter, where that is on for less.
fn outlasts(w: &Work<'_>, shares: &Shares, index: usize, inverter: &Inverter) -> Outcome {
    let (Some(on), Some(idle)) = (inverter.idle_h_day.known(), inverter.idle_w.known()) else { return Ok(None) };
    let mut longest: Option<(&Load, f64)> = None;
    for (i, load) in of_bank(w.context, shares).filter(|(_, l)| l.supply == Supply::Inverter && !l.never_runs()) {
        let Some(hours) = load.hours_day.known().map(|h| h.0) else { continue };
        let is_own = carried_by(w.context, shares, i).is_ok_and(|(by, _)| by == index);
        let draws = load.watts_w.known().is_none_or(|x| x.0 > 0.0);
        if is_own && draws && longest.is_none_or(|(_, most)| hours > most) {
            longest = Some((load, hours));
        }
    }
    let Some((load, hours)) = longest.filter(|(_, hours)| *hours > on.0 + NOTHING_H) else { return Ok(None) };
    let subject = FieldPath::of(&["inverters", inverter.id.as_str()]);
    let numbers = [hours, on.0, (hours - on.0) * idle.0];
    let finding = Finding::new(&OUTLASTS, Level::Caution, subject, &numbers, &COMMON_PRACTICE);
    Ok(Some(finding.named([&load.id, &inverter.id])))
}
