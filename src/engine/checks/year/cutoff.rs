//! Cut-offs by volts that turn loads off while the bank still holds charge that the year counts on.

use crate::engine::Work;
use crate::engine::compile::bank;
use crate::engine::context::{at, missing, need};
use crate::engine::converted::Shares;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::loads::carried_by;
use crate::engine::vehicle::is_inverter_of_bank;
use crate::physics::battery::{Bank, Store};
use crate::plan::wiring::Supply;
use crate::plan::{FieldPath, Figure, Inverter, Known, Missing};
use crate::standards::source::COMMON_PRACTICE;

use super::at_once;
use super::seen::{Judged, Seen, in_year, take};

/// Charge above the floor within which a cut-off may strike. Source: our own choice; volts tell charge no closer.
pub(super) const ROOM: f64 = 0.1;
/// Warmth at which volts are compared, C. Source: the label's, 25 C.
pub(super) const LABEL_C: f64 = 25.0;

static INVERTER: Check = Check {
    id: "inverter-cut-off-high",
    safety: false,
    say: |f| {
        let (id, cut_v, watts, charge, floor) = (f.name(0), f.n(0), f.n(2), f.n(3), f.n(4));
        let strikes = if charge >= 100.0 {
            format!("turns off at {cut_v:.1} V, where not even a full bank stands under a mean load of {watts:.0} W")
        } else {
            format!(
                "turns off at {cut_v:.1} V, where the bank stands under a mean load of {watts:.0} W with {charge:.0} % in it"
            )
        };
        let (when, wh, day_wh) = (in_year(f.name(2)), f.n(5), f.n(6));
        let year = match f.name(1) {
            "waits" => String::new(),
            "" => ". The year leaves this cut-off out: it counts its loads as served".to_string(),
            "none" => format!(". The bank does not come down to that {when}"),
            month => {
                format!(". While it is off {wh:.0} Wh are asked for {when}, most in {month} with {day_wh:.0} a day")
            }
        };
        format!("{id} {strikes}; at {:.1} V it would use it down to {floor:.0} %{year}", f.n(1))
    },
};
static OFF: Check = Check {
    id: "inverter-cuts-off",
    safety: false,
    say: |f| {
        format!(
            "{}: its terminals come down to its cut-off of {:.1} V under their load: {:.0} Wh are asked for while \
             it is off {}, most in {} with {:.0} Wh a day; thicker wire to it or a lower cut-off serves those for which there \
             is charge, more charge or a larger bank the others",
            f.name(0),
            f.n(0),
            f.n(1),
            in_year(f.name(2)),
            f.name(1),
            f.n(2)
        )
    },
};
static RESTART: Check = Check {
    id: "inverter-restart-volts",
    safety: false,
    say: |f| {
        let (id, on_v) = (f.name(0), f.n(0));
        if f.n(1) > 0.0 {
            format!(
                "{id} starts again at {on_v:.1} V, not above its cut-off of {:.1} V; the year takes no second threshold",
                f.n(1)
            )
        } else {
            format!(
                "{id} starts again at {on_v:.1} V, but no charger is set higher than {:.1} V: once off it stays off",
                f.n(2)
            )
        }
    },
};
static MANAGEMENT: Check = Check {
    id: "bank-cut-off-high",
    safety: false,
    say: |f| {
        format!(
            "BK: its management unit cuts off at {:.2} V, where the bank stands under a mean load of {:.0} W with {:.0} % in \
             it; usable Wh and days without sun count it down to {:.0} %, the year does not",
            f.n(0),
            f.n(2),
            f.n(3),
            f.n(4)
        )
    },
};

static LEFT_OUT: Check = Check {
    id: "inverter-cut-off-left-out",
    safety: false,
    say: |f| {
        format!(
            "{}: the year leaves out the {:.1} V at which it turns off, since what lies between it and the bank is not all known, \
             and counts its loads as served",
            f.name(0),
            f.n(0)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let shares = Shares::of(w.context);
    // One that hangs on a start battery is in no year.
    let of_bank = |i: &usize| is_inverter_of_bank(w.context, *i);
    for (i, inverter) in plan.inverters.iter().enumerate().filter(|(i, _)| of_bank(i)) {
        let subject = || FieldPath::of(&["inverters", inverter.id.as_str()]);
        // Left out of the year where nobody knows them.
        for (volts, field) in [(&inverter.cutoff_v, "cutoff_v"), (&inverter.restart_v, "restart_v")] {
            if matches!(volts, Some(Known::Unknown)) {
                out.wait(subject().join(field));
            }
        }
        let high = inverter_off(w, i, &subject());
        let is_said = matches!(high, Ok((Some(_), _)));
        take(out, &INVERTER, subject, high);
        if !is_said {
            take(out, &at_once::BELOW, subject, at_once::below(w, &shares, i, &subject()));
        }
        out.take(&RESTART, subject, restart(w, inverter, &subject()));
        if !is_said {
            take(out, &OFF, subject, cuts_off(w, i, &subject()));
            out.take(&LEFT_OUT, subject, Ok(left_out(w, &shares, i, &subject())));
        }
    }
    out.take(&MANAGEMENT, || "bank".into(), management_off(w));
}

/// The charge at which a bank stands at some volts under a load, and the volts at which it stands at its floor; nothing
/// where that charge is near the floor or below it.
fn strikes(bank: &Bank, cut_v: f64, watts: f64) -> Option<(f64, f64)> {
    // By the law of its cells alone: what keeps it from giving is said elsewhere.
    let stands_v = |soc: f64| {
        let at = bank.at(Store { soc }, LABEL_C);
        at.discharge_v(watts / at.rest_v())
    };
    if stands_v((bank.least_soc + ROOM).min(1.0)) >= cut_v {
        return None;
    }
    let (mut below, mut above) = (bank.least_soc, 1.0);
    for _ in 0..40 {
        let middle = f64::midpoint(below, above);
        if stands_v(middle) < cut_v {
            below = middle;
        } else {
            above = middle;
        }
    }
    Some((above, stands_v(bank.least_soc.max(0.02))))
}

/// An inverter under the mean load of the month with most, and its own at least: under more, volts sag below
/// the settings of right jobs, too, and come back.
fn inverter_off(w: &Work<'_>, i: usize, subject: &FieldPath) -> Judged {
    let Some(inverter) = w.context.plan.inverters.get(i) else { return Ok((None, None)) };
    let Some(cut_v) = &inverter.cutoff_v else { return Ok((None, None)) };
    let cut_v = cut_v.at(|| subject.join("cutoff_v"))?;
    let bank = bank(w.context)?;
    let watts = mean_w(w)?.max(need(&inverter.idle_w, "inverters", &inverter.id, "idle_w")?.0);
    // A management unit that cuts off as high is the one to be said.
    let struck = strikes(&bank, cut_v.0, watts).filter(|_| bank.least_v.is_none_or(|least_v| least_v + 0.1 < cut_v.0));
    let Some((soc, floor_v)) = struck else { return Ok((None, None)) };
    let unserved = unserved(w, i).transpose();
    let waits = match &unserved {
        Err(waits) => Some(waits.clone()),
        Ok(seen) => seen.as_ref().and_then(|seen| seen.waits.clone()),
    };
    let found = {
        // A tenth of a volt below where the floor stands, but above what the management unit does.
        let most_v = (floor_v * 10.0 - 1e-6).floor() / 10.0;
        let most_v = bank.least_v.map_or(most_v, |least_v| most_v.max(((least_v + 0.1) * 10.0).round() / 10.0));
        let (month, when, wh, day_wh) = match &unserved {
            Err(_) => ("waits", String::new(), 0.0, 0.0),
            Ok(None) => ("", String::new(), 0.0, 0.0),
            Ok(Some(seen)) if seen.wh < WORTH_WH => ("none", seen.when(), seen.wh, seen.day_wh),
            Ok(Some(seen)) => (seen.month, seen.when(), seen.wh, seen.day_wh),
        };
        let numbers = [cut_v.0, most_v, watts, soc * 100.0, bank.least_soc * 100.0, wh, day_wh];
        let found = Finding::new(&INVERTER, Level::Caution, subject.clone(), &numbers, &COMMON_PRACTICE);
        found.named([inverter.id.as_str(), month, &when])
    };
    Ok((Some(found), waits))
}

/// Less than this in a year is not worth a word, Wh. Source: our own choice; it is none on screen.
const WORTH_WH: f64 = 1.0;

/// What an inverter's cut-off keeps from its loads. None where the year does not have that cut-off: nothing hangs on it, or
/// something about it is not known; an error where the year itself waits.
fn unserved(w: &Work<'_>, i: usize) -> Option<Figure<Seen>> {
    let year = &w.report.year;
    match (year.cut_offs.iter().find(|own| own.inverter == i), &year.lived.unmet_pct) {
        (Some(own), _) => {
            // What the month itself waits for is what this does.
            let of_month = |m| own.wh_day.get(m).cloned().unwrap_or_else(|| Err(missing("stays")));
            Some(Seen::by_month(w, |m, figures| figures.shortfall_wh_day.clone().and_then(|_| of_month(m))))
        }
        (None, Err(waits)) => Some(Err(waits.clone())),
        (None, Ok(_)) => None,
    }
}

/// An inverter that the year finds off at times, though the bank stands above its cut-off under a mean load.
fn cuts_off(w: &Work<'_>, i: usize, subject: &FieldPath) -> Judged {
    let Some(inverter) = w.context.plan.inverters.get(i) else { return Ok((None, None)) };
    let Some(cut_v) = &inverter.cutoff_v else { return Ok((None, None)) };
    let cut_v = cut_v.at(|| subject.join("cutoff_v"))?.0;
    let Some(seen) = unserved(w, i).transpose()? else { return Ok((None, None)) };
    let found = (seen.wh >= WORTH_WH).then(|| {
        let numbers = [cut_v, seen.wh, seen.day_wh];
        let found = Finding::new(&OFF, Level::Caution, subject.clone(), &numbers, &COMMON_PRACTICE);
        found.named([inverter.id.as_str(), seen.month, &seen.when()])
    });
    Ok((found, seen.waits))
}

/// A cut-off that the year does not have, of an inverter that loads hang on.
fn left_out(w: &Work<'_>, shares: &Shares, i: usize, subject: &FieldPath) -> Option<Finding> {
    let (plan, year) = (w.context.plan, &w.report.year);
    let inverter = plan.inverters.get(i)?;
    let cut_v = inverter.cutoff_v.as_ref()?.known()?.0;
    // Where the year itself waits for something, that is what is said.
    if year.lived.unmet_pct.is_err() || year.cut_offs.iter().any(|own| own.inverter == i) {
        return None;
    }
    let hangs = |load: usize| carried_by(w.context, shares, load).is_ok_and(|(by, _)| by == i);
    let mut loads = plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays() && l.supply == Supply::Inverter);
    loads.any(|(load, _)| hangs(load)).then(|| {
        let found = Finding::new(&LEFT_OUT, Level::Note, subject.clone(), &[cut_v], &COMMON_PRACTICE);
        found.named([&inverter.id])
    })
}

/// Volts to start again that are below those of the cut-off, or that no charger brings the bank to.
fn restart(w: &Work<'_>, inverter: &Inverter, subject: &FieldPath) -> Outcome {
    let Some(on_v) = &inverter.restart_v else { return Ok(None) };
    let on_v = on_v.at(|| subject.join("restart_v"))?.0;
    let cut_v = inverter.cutoff_v.as_ref().and_then(Known::known).map_or(0.0, |v| v.0);
    let plan = w.context.plan;
    let solar = plan.controllers.iter().filter(|k| k.state.stays()).map(|k| ("controllers", &k.id, &k.absorb_v));
    let other = plan.chargers.iter().filter(|c| c.state.stays()).map(|c| ("chargers", &c.id, &c.absorb_v));
    let (mut most_v, mut waits) = (0.0, None);
    for (list, id, volts) in solar.chain(other) {
        match volts.known() {
            Some(volts) => most_v = f64::max(most_v, volts.0),
            // One that nobody knows may be set high enough.
            None => waits = waits.or_else(|| Some(Missing(at(list, id, "absorb_v")))),
        }
    }
    let numbers = match waits {
        _ if cut_v > 0.0 && on_v <= cut_v => [on_v, cut_v, 0.0],
        _ if most_v >= on_v => return Ok(None),
        Some(waits) => return Err(waits),
        None if most_v > 0.0 => [on_v, 0.0, most_v],
        None => return Ok(None),
    };
    let found = Finding::new(&RESTART, Level::Caution, subject.clone(), &numbers, &COMMON_PRACTICE);
    Ok(Some(found.named([&inverter.id])))
}

/// Mean load of the month with most.
fn mean_w(w: &Work<'_>) -> Figure<f64> {
    let most = |most: Figure<f64>, wh: &Figure<crate::units::WattHours>| Ok(most?.max(wh.clone()?.0));
    Ok(w.report.loads.wh_day.iter().fold(Ok(0.0), most)? / 24.0)
}

/// The management unit under the mean load of the month with most.
fn management_off(w: &Work<'_>) -> Outcome {
    let cut_off = match &w.context.plan.bank.discharge_cutoff_v {
        None => return Ok(None),
        Some(cut_off) => cut_off.at(|| "bank.discharge_cutoff_v".into()),
    };
    // What it holds is not asked before there is a cut-off.
    cut_off?;
    let bank = bank(w.context)?;
    let Some(cut_v) = bank.least_v else { return Ok(None) };
    let watts = mean_w(w)?;
    Ok(strikes(&bank, cut_v, watts).map(|(soc, floor_v)| {
        let numbers = [cut_v, floor_v, watts, soc * 100.0, bank.least_soc * 100.0];
        Finding::new(&MANAGEMENT, Level::Caution, "bank".into(), &numbers, &COMMON_PRACTICE)
    }))
}
