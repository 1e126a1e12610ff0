//! What the year says about stays, charging and loads: months counted twice or not at all, chargers that charge nothing,
//! loads that go without.

mod age;
mod assumed;
mod at_once;
mod cold_bank;
mod cutoff;
mod near_cold;
mod seen;
mod start;

use crate::climate::year::MONTH_DAYS;
use crate::engine::Work;
use crate::engine::circuit::{Node, PathKind};
use crate::engine::context::{at, need};
use crate::engine::converted::Shares;
use crate::engine::dc_lines::line_runs;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::loads::{is_used, lossiest, own_inverter};
use crate::engine::vehicle::on_start;
use crate::plan::power::ChargerKind;
use crate::plan::wiring::Supply;
use crate::plan::{FieldPath, Figure, Inverter, Known, Load, Missing, Stay, YesNo};
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};
use crate::words::counted;

use super::unconnected::said_with_bank;
use seen::{Judged, Seen, a_year, in_year, of_year, take};

static PLATING: Source = Source::new("LFP", "no charge below the cell's cut-off", Standing::FromMemory);

/// Energy below which a yearly loss is not worth a word, Wh. Source: common practice (the rounding of a year).
const WORTH_A_WORD_WH: f64 = 1000.0;
/// Less load than this that goes without in a year is a rounding, Wh. Source: our own choice.
const SERVED_WH: f64 = 1.0;
/// Less sun than this is none, kWh/m2 a mean day. Source: our own choice; a panel of 100 W gives less than 1 Wh.
const NO_SUN_KWH: f64 = 0.01;

const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

static TWICE: Check = Check {
    id: "months-in-two-stays",
    safety: false,
    say: |f| format!("{}: {} in {} too; the year counts them there", f.name(0), f.name(2), f.name(1)),
};
static NOWHERE: Check = Check {
    id: "months-without-stay",
    safety: false,
    say: |f| {
        let then = if f.name(1).is_empty() { "" } else { "; " };
        format!("no stay in {}; the year's sums wait for one{then}{}", f.name(0), f.name(1))
    },
};
static NO_RUN: Check = Check {
    id: "charger-without-run",
    safety: false,
    say: |f| {
        let when = match f.name(1) {
            "driving" => format!("{:.1} h of driving a day", f.n(0)),
            "shore" => format!("{:.1} days of shore power a month", f.n(0)),
            "generator" => "a generator's charger".into(),
            _ => return format!("{}: no run leads from it to the bank; it charges nothing", f.name(0)),
        };
        format!("{}: {when}, but no run leads from it to the bank; it charges nothing", f.name(0))
    },
};
static NO_INPUT: Check = Check {
    id: "charger-without-input",
    safety: false,
    say: |f| format!("{}: no run leads to its input from alternator or start battery; it charges nothing", f.name(0)),
};
static IDLE_INVERTER: Check = Check {
    id: "inverter-without-run",
    safety: false,
    say: |f| format!("{} has loads of {:.0} W, but no run leads to it from the bank", f.name(0), f.n(0)),
};
static MEDICAL: Check = Check {
    id: "medical-not-served",
    safety: false,
    say: |f| {
        let when = in_year(f.name(1));
        format!(
            "medical loads go without {:.0} Wh {when}, worst in {} with {:.0} Wh a day; batteries, panels, other charging or \
             less other load would serve them{}",
            f.n(0),
            f.name(0),
            f.n(1),
            f.name(2)
        )
    },
};
static OVER_INVERTER: Check = Check {
    id: "loads-over-inverter",
    safety: false,
    say: |f| {
        if f.n(2) > f.n(1) {
            format!(
                "{} alone takes {:.0} W, the inverter is rated {:.0} W: it cannot run through it; the year has it asked for and not \
                 served, but where shore power carries it",
                f.name(0),
                f.n(2),
                f.n(1)
            )
        } else {
            format!("loads of {:.0} W on an inverter rated {:.0} W: not all at once", f.n(0), f.n(1))
        }
    },
};
static WHICH_INVERTER: Check = Check {
    id: "inverter-of-load-unknown",
    safety: false,
    say: |f| {
        let (loads, all, them) = (f.name(0), f.name(1), if f.name(0).contains(", ") { "them" } else { "it" });
        let taken = match f.name(2) {
            "" => "what the bank gives for that waits".to_string(),
            taken => format!("the year and the audit take {taken}, which loses most"),
        };
        format!("{loads}: no run from an inverter tells which of {all} carries {them}; {taken}")
    },
};
static COLD: Check = Check {
    id: "charge-lost-to-cold",
    safety: false,
    say: |f| {
        let helps = match f.name(1) {
            "" => "a warm place lets it in, so does a heater, which draws on the bank",
            _ => "its heater stands without charge or is too small then; a warm place lets it in",
        };
        let (wh, month, day_wh) = (f.n(0), f.name(0), f.n(1));
        let when = a_year(f.name(3));
        let helps = match f.name(4) {
            "" => helps.to_string(),
            assumed => format!("{helps}; {assumed}"),
        };
        match f.name(2) {
            "" => format!(
                "too cold to take {wh:.0} Wh of charge {when}, worst in {month} with {day_wh:.0} Wh a day; {helps}"
            ),
            _ => format!(
                "too cold for {wh:.0} Wh of charge {when}, which the year leaves out though nothing stops them, worst in \
                 {month} with {day_wh:.0} Wh a day; {helps}"
            ),
        }
    },
};
static SHORT: Check = Check {
    id: "shortfall",
    safety: false,
    say: |f| {
        let beyond = match f.numbers.get(3) {
            Some(wh) => format!("; {wh:.0} Wh of it are asked of inverters beyond their rating"),
            None => String::new(),
        };
        format!(
            "loads go without {:.0} Wh on {} {}, worst in {} with {:.0} Wh a day{beyond}{}",
            f.n(0),
            counted(f.n(1).round(), "day"),
            of_year(f.name(2)),
            f.name(0),
            f.n(2),
            f.name(1)
        )
    },
};
static NO_SUN: Check = Check {
    id: "month-without-sun",
    safety: false,
    say: |f| {
        let none = match (f.name(1), f.name(2)) {
            (dark, "") => format!("no sun in {dark}"),
            ("", faint) => format!("next to no sun in {faint}"),
            (dark, faint) => format!("no sun in {dark}, next to none in {faint}"),
        };
        format!("{}: {none}; only other charging fills the bank then", f.name(0))
    },
};

/// Every check on stays and on what the year brings.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    stays(w, out);
    out.take(&NOWHERE, || "stays".into(), Ok(nowhere(w)));
    for (i, ch) in w.context.plan.chargers.iter().enumerate().filter(|(_, c)| c.state.stays()) {
        let subject = || FieldPath::of(&["chargers", ch.id.as_str()]);
        out.take(&NO_RUN, subject, Ok(without_run(w, i)));
        out.take(&NO_INPUT, subject, Ok(without_input(w, i)));
    }
    let shares = Shares::of(w.context);
    for (i, inv) in w.context.plan.inverters.iter().enumerate().filter(|(_, i)| i.state.stays()) {
        let subject = || FieldPath::of(&["inverters", inv.id.as_str()]);
        out.take(&IDLE_INVERTER, subject, idle_inverter(w, &shares, i));
        out.take(&OVER_INVERTER, subject, over_inverter(w, &shares, i));
    }
    out.take(&WHICH_INVERTER, || "inverters".into(), Ok(which_inverter(w, &shares)));
    let bank = || FieldPath::new("bank");
    take(out, &MEDICAL, bank, medical(w));
    take(out, &COLD, bank, cold(w));
    take(out, &near_cold::NEAR, bank, near_cold::near(w));
    take(out, &cold_bank::COLDER, bank, cold_bank::colder(w));
    take(out, &SHORT, bank, short(w));
    out.take(&age::AGED, || "bank.age_years".into(), age::aged(w));
    assumed::all(w, out);
    cutoff::all(w, out);
    start::all(w, out);
}

fn named(months: impl Iterator<Item = usize>) -> String {
    months.filter_map(|m| MONTHS.get(m).copied()).collect::<Vec<_>>().join(", ")
}

/// Months of a stay that an earlier one has, and months in which no sun comes over the horizon.
fn stays(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    for (i, stay) in plan.stays.iter().enumerate() {
        let subject = || FieldPath::of(&["stays", stay.id.as_str()]);
        let before = plan.stays.iter().take(i);
        let first = |m: usize| before.clone().find(|s| s.months.has(m));
        let both: Vec<usize> = (0..12).filter(|m| stay.months.has(*m) && first(*m).is_some()).collect();
        let owner = both.first().and_then(|m| first(*m));
        let finding = owner.map(|owner| {
            Finding::new(&TWICE, Level::Caution, subject(), &[both.len() as f64], &COMMON_PRACTICE).named([
                stay.id.as_str(),
                owner.id.as_str(),
                &named(both.iter().copied()),
            ])
        });
        out.take(&TWICE, subject, Ok(finding));
        let months = w.report.year.months.iter().enumerate().filter(|(_, f)| f.stay == Some(i));
        let sun = months.filter_map(|(m, f)| Some((m, f.ghi_kwh_m2_day.clone().ok()?)));
        let dark: Vec<(usize, f64)> = sun.filter(|(_, kwh)| *kwh < NO_SUN_KWH).collect();
        let finding = (!dark.is_empty()).then(|| {
            let of = |is_none: bool| named(dark.iter().filter(|(_, kwh)| (*kwh <= 0.0) == is_none).map(|(m, _)| *m));
            Finding::new(&NO_SUN, Level::Note, subject(), &[dark.len() as f64], &COMMON_PRACTICE).named([
                stay.id.as_str(),
                &of(true),
                &of(false),
            ])
        });
        let mut own = w.report.year.months.iter().filter(|f| f.stay == Some(i));
        take(out, &NO_SUN, subject, Ok((finding, own.find_map(|f| f.ghi_kwh_m2_day.clone().err()))));
    }
}

fn nowhere(w: &Work<'_>) -> Option<Finding> {
    let stays = &w.context.plan.stays;
    let none: Vec<usize> = (0..12).filter(|m| !stays.iter().any(|s| s.months.has(*m))).collect();
    (!stays.is_empty() && !none.is_empty()).then(|| {
        Finding::new(&NOWHERE, Level::Note, "stays".into(), &[none.len() as f64], &COMMON_PRACTICE)
            .named([named(none.iter().copied()), begins(stays)])
    })
}

/// What is in the bank where a stay follows a month without one: nobody knows, and the year has to begin with something.
fn begins(stays: &[Stay]) -> String {
    let has = |m: usize| stays.iter().any(|s| s.months.has(m));
    let name = |m: usize| MONTHS.get(m).copied().unwrap_or_default();
    let begin = (0..12).filter(|m| has(*m) && !has((m + 11) % 12)).map(|m| {
        // December runs once before the year, uncounted, where somebody is there.
        match (0..m).rev().find(|m| has(*m)).or(has(11).then_some(11)) {
            Some(before) => format!("{} begins with what is in the bank when {} ends", name(m), name(before)),
            None => format!("{} begins with a full bank, which is among what serves its loads", name(m)),
        }
    });
    begin.collect::<Vec<_>>().join(", ")
}

/// A charger that some stay would run, with nothing drawn between it and the bank.
fn without_run(w: &Work<'_>, index: usize) -> Option<Finding> {
    let plan = w.context.plan;
    let charger = plan.chargers.get(index)?;
    let most = |of: fn(&crate::plan::Stay) -> Option<f64>| plan.stays.iter().filter_map(of).fold(0.0, f64::max);
    let (given, when) = match charger.kind.known().unwrap_or(&ChargerKind::Generator) {
        ChargerKind::DcDc => (most(|s| Some(s.drive_h_day.as_ref()?.known()?.0)), "driving"),
        ChargerKind::Shore | ChargerKind::Converter => {
            (most(|s| Some(s.shore_days_month.as_ref()?.known()?.0)), "shore")
        }
        ChargerKind::Generator => (1.0, "generator"),
    };
    let node = Node::Charger(index);
    let circuit = &w.context.circuit;
    let charges =
        circuit.way_of(PathKind::Charger, node).is_some() || circuit.start_batteries_of(node).next().is_some();
    let drawn = charges || circuit.beyond(node).is_some() || said_with_bank(w, node);
    let when = if given > 0.0 && charger.kind.known().is_some() { when } else { "" };
    (!drawn).then(|| {
        let subject = FieldPath::of(&["chargers", charger.id.as_str()]);
        Finding::new(&NO_RUN, Level::Caution, subject, &[given], &COMMON_PRACTICE).named([charger.id.as_str(), when])
    })
}

/// A DC-DC charger that leads to the bank and has nothing drawn to its own input.
fn without_input(w: &Work<'_>, index: usize) -> Option<Finding> {
    let charger = w.context.plan.chargers.get(index)?;
    let drawn = w.context.circuit.way_of(PathKind::Charger, Node::Charger(index)).is_some();
    let is_dc = charger.kind.known() == Some(&ChargerKind::DcDc);
    (is_dc && drawn && line_runs(w.context, index).is_empty()).then(|| {
        let subject = FieldPath::of(&["chargers", charger.id.as_str()]);
        Finding::new(&NO_INPUT, Level::Caution, subject, &[], &COMMON_PRACTICE).named([charger.id.as_str()])
    })
}

/// Whether an AC load counts behind an inverter: by its run, as the only one, or, where no run tells, behind the first.
fn hangs_on(w: &Work<'_>, shares: &Shares, load: usize, inverter: usize) -> Figure<bool> {
    let first = || w.context.plan.inverters.iter().position(|i| i.state.stays());
    Ok(own_inverter(w.context, shares, load)?.or_else(first) == Some(inverter))
}

/// AC loads that stay.
fn ac_loads<'a>(w: &'a Work<'_>) -> impl Iterator<Item = (usize, &'a Load)> {
    let loads = w.context.plan.loads.iter().enumerate();
    loads.filter(|(_, l)| l.state.stays() && l.supply == Supply::Inverter)
}

/// Loads through an inverter that nothing feeds; of loads that no run leads to where nothing feeds any.
fn idle_inverter(w: &Work<'_>, shares: &Shares, i: usize) -> Outcome {
    let plan = w.context.plan;
    let fed = |i: usize| {
        let node = Node::Inverter(i);
        let by_vehicle = on_start(w.context, node).is_some();
        by_vehicle || w.context.circuit.way_of(PathKind::Inverter, node).is_some() || said_with_bank(w, node)
    };
    let any_fed = plan.inverters.iter().enumerate().any(|(i, inv)| inv.state.stays() && fed(i));
    let Some(inverter) = plan.inverters.get(i).filter(|_| !fed(i)) else { return Ok(None) };
    let mut watts = 0.0;
    for (index, load) in ac_loads(w) {
        let is_drawn = own_inverter(w.context, shares, index)?.is_some();
        if hangs_on(w, shares, index, i)? && (is_drawn || !any_fed) {
            watts += load.watts_w.at(|| at("loads", &load.id, "watts_w"))?.0;
        }
    }
    Ok((watts > 0.0).then(|| {
        let subject = FieldPath::of(&["inverters", inverter.id.as_str()]);
        Finding::new(&IDLE_INVERTER, Level::Caution, subject, &[watts], &COMMON_PRACTICE).named([inverter.id.as_str()])
    }))
}

/// AC loads that no run leads to from one of several inverters.
fn which_inverter(w: &Work<'_>, shares: &Shares) -> Option<Finding> {
    let is_open = |index: &usize| matches!(own_inverter(w.context, shares, *index), Ok(None));
    let loads: Vec<&str> = ac_loads(w).filter(|(index, _)| is_open(index)).map(|(_, l)| l.id.as_str()).collect();
    let all: Vec<&str> = w.context.plan.inverters.iter().filter(|i| i.state.stays()).map(|i| i.id.as_str()).collect();
    let first = loads.first()?;
    let taken = lossiest(w.context).ok().and_then(|i| w.context.plan.inverters.get(i));
    let names = [loads.join(", "), all.join(", "), taken.map_or_else(String::new, |i| i.id.to_string())];
    let subject = FieldPath::new(format!("loads.{first}"));
    Some(Finding::new(&WHICH_INVERTER, Level::Note, subject, &[], &COMMON_PRACTICE).named(names))
}

fn has_load(w: &Work<'_>, is_one: impl Fn(&Load) -> bool) -> bool {
    w.context.plan.loads.iter().any(|l| l.state.stays() && is_one(l))
}

fn medical(w: &Work<'_>) -> Judged {
    if !has_load(w, |l| l.medical == YesNo::Yes) {
        return Ok((None, None));
    }
    let seen = Seen::of(w, |m| m.medical_short_wh_day.clone())?;
    let found = (seen.wh >= SERVED_WH).then(|| {
        let numbers = [seen.wh, seen.day_wh];
        let names = [seen.month, &seen.when(), assumed::at_most(w)];
        Finding::new(&MEDICAL, Level::Caution, "bank".into(), &numbers, &COMMON_PRACTICE).named(names)
    });
    Ok((found, seen.waits))
}

fn cold(w: &Work<'_>) -> Judged {
    let plan = w.context.plan;
    let charges = plan.controllers.iter().any(|k| k.state.stays()) || plan.chargers.iter().any(|c| c.state.stays());
    if !charges || !w.context.chemistry()?.chemistry.is_lithium() {
        return Ok((None, None));
    }
    let seen = Seen::of(w, |m| m.losses.clone().and_then(|l| Ok(l.cold? + m.other_cold_wh_day.clone()?)))?;
    let heater = plan.bank.heater_w.as_ref().map_or("", |_| "heater");
    let stops = if plan.bank.charge_cutoff_c.is_none() { "none" } else { "" };
    let found = (seen.wh >= WORTH_A_WORD_WH).then(|| {
        let unheated = match plan.bank.heated {
            Known::Unknown => {
                "at most, as whether it is in the heated space is not known and the year takes it outside"
            }
            Known::Is(_) => "",
        };
        let names = [seen.month, heater, stops, &seen.when(), unheated];
        Finding::new(&COLD, Level::Caution, "bank".into(), &[seen.wh, seen.day_wh], &PLATING).named(names)
    });
    Ok((found, seen.waits))
}

fn short(w: &Work<'_>) -> Judged {
    if !has_load(w, |_| true) {
        return Ok((None, None));
    }
    let seen = Seen::of(w, |m| m.shortfall_wh_day.clone())?;
    let months = w.report.year.months.iter().zip(MONTH_DAYS).enumerate().filter(|(m, _)| seen.months.has(*m));
    let days: f64 = months.filter_map(|(_, (f, days))| Some(f.short_days_share.clone().ok()? * days as f64)).sum();
    let beyond = Seen::of(w, |m| m.beyond_wh_day.clone()).map_or(0.0, |seen| seen.wh);
    let found = (seen.wh >= SERVED_WH).then(|| {
        let mut numbers = vec![seen.wh, days, seen.day_wh];
        numbers.extend((beyond >= SERVED_WH).then_some(beyond));
        let names = [seen.month, assumed::at_most(w), &seen.when()];
        Finding::new(&SHORT, Level::Note, "bank".into(), &numbers, &COMMON_PRACTICE).named(names)
    });
    Ok((found, seen.waits))
}

/// What hangs on an inverter in the month with most, against its rating; what no run leads to against all of them together,
/// said of the first. One load that it cannot carry is a caution; several that together are more are a matter of turns.
fn over_inverter(w: &Work<'_>, shares: &Shares, i: usize) -> Outcome {
    let plan = w.context.plan;
    let Some(inverter) = plan.inverters.get(i) else { return Ok(None) };
    let rating = |inv: &Inverter| Ok::<f64, Missing>(need(&inv.watts_w, "inverters", &inv.id, "watts_w")?.0);
    // Of each kind of load the months' watts, and the largest alone.
    let (mut drawn, mut free) = (([0.0; 12], (0.0, "")), ([0.0; 12], (0.0, "")));
    for (index, load) in ac_loads(w).filter(|(_, l)| !l.never_runs()) {
        if !hangs_on(w, shares, index, i)? {
            continue;
        }
        let field = |key: &str| at("loads", &load.id, key);
        let one = load.watts_w.at(|| field("watts_w"))?.0;
        let watts = one * load.quantity.at(|| field("quantity"))?.0;
        let is_drawn = own_inverter(w.context, shares, index)?.is_some();
        let (months, single) = if is_drawn { &mut drawn } else { &mut free };
        if one > single.0 {
            *single = (one, load.id.as_str());
        }
        for (_, sum) in months.iter_mut().enumerate().filter(|(m, _)| is_used(w.context, load, *m)) {
            *sum += watts;
        }
    }
    let said = |(months, single): ([f64; 12], (f64, &str)), rated: f64, largest: f64| {
        let most = months.into_iter().fold(0.0, f64::max);
        let (level, over) = if single.0 > largest { (Level::Caution, single.0) } else { (Level::Note, 0.0) };
        (most > rated || over > 0.0).then(|| {
            let subject = FieldPath::of(&["inverters", inverter.id.as_str()]);
            let numbers = [most, if over > 0.0 { largest } else { rated }, over];
            Finding::new(&OVER_INVERTER, level, subject, &numbers, &COMMON_PRACTICE).named([single.1])
        })
    };
    let own_w = rating(inverter)?;
    if let Some(found) = said(drawn, own_w, own_w) {
        return Ok(Some(found));
    }
    let (mut rated, mut largest) = (0.0, 0.0_f64);
    for inv in plan.inverters.iter().filter(|i| i.state.stays()) {
        let watts = rating(inv)?;
        rated += watts;
        largest = largest.max(watts);
    }
    Ok(said(free, rated, largest))
}
