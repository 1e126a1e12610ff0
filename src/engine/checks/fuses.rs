//! Fuse ratings: against the conductor, the current, the fault.

use crate::arrange::Arrange;
use crate::engine::Work;
use crate::engine::circuit::{Circuit, Link, Node, Role, device_kind, name_of};
use crate::engine::context::Context;
use crate::engine::fault::{self, Source};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::inflow::TOGETHER;
use crate::engine::let_through;
use crate::engine::protection::{self, Bound, Limits, is_string_fuse};
use crate::engine::resistance::{fuse_path, fuses};
use crate::engine::runs::{Found, path_of};
use crate::engine::starting::{known, start_batteries};
use crate::plan::{DeviceKind, FieldPath, Figure, Missing, Plan, Protection, Run, State};
use crate::standards::chemistry::LFP_FAULT;
use crate::standards::cited::{FUSE_LOADING, INTERRUPT, NEXT_RATING, PV_FUSE_LOADING};
use crate::standards::fuse::interrupt_a;
use crate::standards::kinds::FuseFamily;
use crate::standards::source::COMMON_PRACTICE;

use super::digits::{apart, kilo, rated};
use super::said_once;

static ABOVE: Check = Check {
    id: "fuse-above-conductor",
    safety: true,
    say: |f| {
        let (fuse, allowed) = compared(f.n(0), f.n(1));
        let up = match f.numbers.get(3) {
            Some(up) => format!(", {} A with the next rating up", rated(*up)),
            None => String::new(),
        };
        let (run, by, allows) = (f.name(0), f.name(1), f.name(2));
        // Behind a converter without a fuse.
        if f.name(3) == GIVEN {
            return format!("{run}: {by} gives {fuse} A, {allows} {allowed} A");
        }
        format!("{run}: fuse {by} of {fuse} A, {allows} {allowed} A{up}")
    },
};
static ROUNDED: Check = Check {
    id: "next-rating-up",
    safety: false,
    say: |f| {
        let (fuse, ampacity) = (rated(f.n(0)), apart(f.n(0), f.n(1), 1).1);
        let (run, by, whose) = (f.name(0), f.name(1), f.name(2));
        // What several let through together need be no rating.
        let is = if whose == BACK || by.ends_with(TOGETHER) { "is within" } else { "is" };
        format!(
            "{run}: {by} of {fuse} A{whose} {is} the next standard rating above {ampacity} A of ampacity (rule next-rating-up)"
        )
    },
};
pub(super) static SMALL: Check = Check {
    id: "fuse-below-design",
    safety: true,
    say: |f| {
        let wanted = apart(f.n(0), f.n(2), 1).1;
        let flows = apart(f.n(0), f.n(1), 1).1;
        let (run, fuse, amps) = (f.name(0), f.name(1), rated(f.n(0)));
        format!("{run}: fuse {fuse} of {amps} A for {flows} A, at least {wanted} A is wanted")
    },
};
pub(super) static OPENS: Check = Check {
    id: "interrupt-below-fault",
    safety: true,
    say: |f| {
        let (needed, opens) = apart(f.n(3) / 1000.0, f.n(1) / 1000.0, 1);
        let against = if f.n(4) > 1.0 {
            format!("is {} x {} = {needed} kA needed", kilo(f.n(0), 1), factor(f.n(4)))
        } else {
            format!("asks for {needed} kA")
        };
        let (run, fuse, volts) = (f.name(0), f.name(1), rated(f.n(2)));
        // A breaker that is a device of its own has no run in its name.
        let opener = if fuse.is_empty() { run.to_string() } else { format!("{run}: fuse {fuse}") };
        if let Some(strings) = f.numbers.get(5) {
            let (needed, opens) = apart(f.n(3), f.n(1), 1);
            let others = if *strings > 1.0 { ", which the other strings can push into it" } else { "" };
            let by = format!(
                "{opens} A at {volts} V DC, the panels drive {:.1} A x {} = {needed} A",
                f.n(0),
                factor(f.n(4))
            );
            return format!("{opener} interrupts {by}{others}");
        }
        let beyond = beyond_all(f.n(2), f.n(3));
        if f.n(1) <= 0.0 {
            return format!("{opener} has no rating to interrupt at {volts} V DC, {} {against}{beyond}", f.name(2));
        }
        format!("{opener} interrupts {opens} kA at {volts} V DC, {} {against}{beyond}", f.name(2))
    },
};
static BY_FRAME: Check = Check {
    id: "interrupt-below-frame-fault",
    safety: false,
    say: |f| {
        let (needed, opens) = apart(f.n(3) / 1000.0, f.n(1) / 1000.0, 1);
        let others = if f.name(1).is_empty() { String::new() } else { format!(" (and {})", f.name(1)) };
        format!(
            "{}{others}: a fault to the frame comes back over the bond, and with less than {:.1} mohm in frame and joints asks for \
             {needed} kA there; the fuse interrupts {opens} kA at {} V DC, enough by the negatives alone",
            f.name(0),
            f.n(4) * 1000.0,
            rated(f.n(2))
        )
    },
};
static ASSUMED: Check = Check {
    id: "fault-current-assumed",
    safety: false,
    say: |f| format!("no short-circuit figure; {:.0} A is assumed: class T fuses, or the maker's figure", f.n(0)),
};

static OWN_FUSES: Check = Check {
    id: "battery-own-fuse",
    safety: false,
    say: |f| {
        let needed = kilo(f.n(0), 1);
        let how = if f.n(3) > 1.0 {
            format!(", its fault of {} x {}", kilo(f.n(2), 1), factor(f.n(3)))
        } else {
            String::new()
        };
        format!("BK: the fuse at each of {:.0} parallel batteries must open {needed}{how}", f.n(1))
    },
};

/// What would help where no family of fuses opens a fault.
fn beyond_all(volts: f64, needed_a: f64) -> String {
    let most = FuseFamily::ALL.iter().filter_map(|family| interrupt_a(*family, volts)).fold(0.0, f64::max);
    if most <= 0.0 || needed_a <= most + 1e-9 {
        return String::new();
    }
    format!(
        "; no family in the table opens more than {}: a fuse at each battery's own post, more wire ahead of it, or one whose \
         sheet gives more",
        kilo(most, 1)
    )
}

/// A factor as a rule gives it: `1.1`, `1.25`.
fn factor(x: f64) -> String {
    let text = format!("{x:.2}");
    text.trim_end_matches('0').trim_end_matches('.').into()
}

/// A rating and what it is held against.
pub(super) fn compared(rating: f64, against: f64) -> (String, String) {
    let text = rated(against);
    let against = if text == rated(rating) { apart(rating, against, 1).1 } else { text };
    (rated(rating), against)
}

/// Fuses of single batteries are no part of the plan; what they must open is said.
fn own_fuses(w: &Work<'_>) -> Outcome {
    let Some(amps) = fault::own_fuse_a(w.context, w.source) else { return Ok(None) };
    let (fault, margin) = (amps?, w.source.as_ref().map_or(1.0, |s| s.margin));
    let numbers = [fault * margin, w.context.parallel()?, fault, margin];
    Ok(Some(Finding::new(
        &OWN_FUSES,
        Level::Note,
        FieldPath::new("bank"),
        &numbers,
        INTERRUPT.of(w.context.rules.basis),
    )))
}

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    out.take(&OWN_FUSES, || "bank".into(), own_fuses(w));
    // Where its maker's figure is entered: no step can stand for that.
    let figure = || FieldPath::new("bank.short_circuit_a");
    if let Ok(source) = w.source
        && source.assumed
    {
        let found = Finding::new(&ASSUMED, Level::Caution, figure(), &[source.amps], &LFP_FAULT);
        out.take(&ASSUMED, figure, Ok(Some(found)));
    }
    for (i, run) in w.context.plan.runs.iter().enumerate() {
        let (Some(f), Some(link)) = (w.found.get(i), w.context.circuit.links.get(i)) else { continue };
        let path = || path_of(run);
        if matches!(link.role, Role::NegativeMain | Role::Bond) {
            out.take(&ABOVE, path, comes_back(w, i, run, f));
        }
        if matches!(link.role, Role::Dead | Role::Bond) {
            continue;
        }
        for (j, fuse) in fuses(run).enumerate() {
            // None has to be on the maker's own lead: one that came with it is the maker's choice, as the lead is.
            let is_makers =
                link.role == Role::StartLead && fuse.state == State::Existing && !protection::wants_fuse(w.context, i);
            if !is_string_fuse(w.context, i, fuse) && !is_makers {
                out.take(&ABOVE, path, above(w, i, run, f, fuse));
                if link.role != Role::Sense {
                    let said = small(w, i, link.role, run, f, fuse);
                    // With what the vehicle's line adds a caution may be a stop: not checked as long as nobody knows.
                    let waits = f.currents.pair.design_a.as_ref().err();
                    if let (Ok(Some(found)), Some(missing)) = (&said, waits)
                        && found.level != Level::Stop
                    {
                        out.take(&SMALL, path, Err(missing.clone()));
                    }
                    out.take(&SMALL, path, said_once(link.joined, said));
                }
            }
            out.take(&OPENS, path, interrupt(w, i, j, run, fuse));
        }
    }
    to_frame(w, out);
}

/// What frame and joints are taken to have at least, ohms: where a fault needs more than that to be small enough, it is a
/// caution. Source: our own choice, after some milliohm of steel, bolted joints and a chafed place, from memory.
const FRAME_OHM: f64 = 0.01;

/// Ohms that no frame with its bolted joints is without. Source: our own choice, from memory.
const LEAST_FRAME_OHM: f64 = 0.001;

/// Fuses that open a fault which comes back by the negatives, but not one to the bonded frame as long as that has no ohms of
/// its own: nobody knows those before they are measured, so it is no stop. One finding for each place that they leave.
fn to_frame(w: &Work<'_>, out: &mut Gathered) {
    let mut all: Vec<(Option<Node>, Finding)> = Vec::new();
    let mut short: Vec<(&Run, &Link, [f64; 5])> = Vec::new();
    for (i, (run, link)) in w.context.plan.runs.iter().zip(&w.context.circuit.links).enumerate() {
        let own = fuses(run).enumerate().filter_map(|(j, fuse)| short_by_frame(w, i, j, run, fuse));
        short.extend(own.max_by(|a, b| a[4].total_cmp(&b[4])).map(|numbers| (run, link, numbers)));
    }
    // By their ids, in whatever order they are drawn.
    let id = |run: &Run| (run.id.as_str().len(), run.id.to_string());
    short.arrange_by_key(|(run, ..)| id(run));
    for (run, link, numbers) in short {
        match all.iter_mut().find(|(near, _)| near.is_some() && *near == link.near()) {
            Some((_, found)) => {
                if let Some(names) = found.names.get_mut(1) {
                    names.push_str(if names.is_empty() { "" } else { ", " });
                    names.push_str(run.id.as_str());
                }
                if numbers[4] > found.n(4) {
                    found.numbers = numbers.to_vec();
                }
            }
            None => {
                let source = INTERRUPT.of(w.context.rules.basis);
                let found = Finding::new(&BY_FRAME, Level::Note, path_of(run), &numbers, source);
                all.push((link.near(), found.named([run.id.as_str(), ""])));
            }
        }
    }
    for (_, mut found) in all {
        found.level = if found.n(4) > FRAME_OHM { Level::Caution } else { Level::Note };
        let subject = found.subject.clone();
        out.take(&BY_FRAME, || subject, Ok(Some(found)));
    }
}

/// The fault to the frame at a fuse that does not open it, and the ohms in frame and joints with which it would.
fn short_by_frame(w: &Work<'_>, i: usize, j: usize, run: &Run, fuse: &Protection) -> Option<[f64; 5]> {
    let figures = w.report.runs.get(i)?.fuses.get(j)?;
    let (opens, by_negatives) = (figures.interrupt_a.as_ref().ok()?.0, figures.fault_a.as_ref().ok()?.0);
    let volts = figures.circuit_v.as_ref().ok()?.0;
    if opens < by_negatives * figures.margin - 1e-9 || opens <= 0.0 {
        return None;
    }
    let fault = fault::by_frame(w.context, w.source, i, run, fuse)?.ok()?;
    if opens >= fault.needed_a() - 1e-9 {
        return None;
    }
    // Source: Ohm's law at the volts of the fault.
    let drives_v = fault::volts_at(w.context, w.source, i)?;
    let ohm = drives_v * fault.margin / opens - drives_v / fault.amps.max(1e-9);
    (ohm >= LEAST_FRAME_OHM).then_some([fault.amps, opens, volts, fault.needed_a(), ohm])
}

/// What a fault of so many amps is called whose size is compared. Less than what its source drives at the posts is not the
/// table's figure, but reckoned from it. Where the run begins at a start battery, that one's figure.
pub(super) fn faults(c: &Context<'_>, source: &Figure<Source>, run: usize, amps: f64, margin: f64) -> String {
    let table = "the table by cold cranking amps";
    // No row is more than itself.
    let is = |row_a: f64| kilo(amps, 1) == kilo(row_a, 1) && amps < row_a + 0.5;
    let start = fault::start_behind(c, run).filter(|_| margin <= 1.0 && c.rules.interrupt_margin > 1.0);
    if let Some(start) = start {
        let by = match start.cca_each {
            Some(_) => "the table by the start battery's cold cranking amps",
            None if start.amps >= c.rules.lfp_unknown_fault_a => "the assumed fault of a lithium start battery",
            None => "the table by usual cold cranking amps",
        };
        return match is(start.amps) {
            true => by.into(),
            false => format!("the fault there, reckoned from the {} of {by},", kilo(start.amps, 1)),
        };
    }
    match source {
        _ if margin > 1.0 || c.rules.interrupt_margin <= 1.0 => "the fault there".into(),
        Ok(source) if source.assumed => "the assumed fault".into(),
        // The bank's figure is of its own: what the table tells of is a start battery.
        Ok(source) if source.cca_each.is_none() => {
            let mut starts = start_batteries(c.plan).map(|(_, d)| known(d.cca_a.as_ref())).peekable();
            // A tow connector stands for a battery that nobody has seen.
            let is_tow =
                (0..c.plan.devices.len()).any(|i| device_kind(c.plan, Node::Device(i)) == Some(DeviceKind::Tow));
            let is_read = starts.peek().is_some() && starts.all(|cca| cca.is_some()) && !is_tow;
            format!(
                "the fault there, reckoned from the table by {}cold cranking amps,",
                if is_read { "" } else { "usual " }
            )
        }
        Ok(source) if source.is_row(amps) => table.into(),
        // At a battery's own fuse the row is that of some of them.
        Ok(_) if !c.circuit.own_ways.is_empty() => format!("the fault there, reckoned from {table},"),
        Ok(source) if !is(source.amps) => {
            format!("the fault there, reckoned from the {} of {table},", kilo(source.amps, 1))
        }
        _ => table.into(),
    }
}

/// The limits that a fuse on this run is held to: those of the legs it protects.
fn limits(w: &Work<'_>, i: usize, run: &Run, f: &Found, fuse: &Protection) -> Result<Limits, Missing> {
    let capacity = f.capacity.as_ref().map_err(Clone::clone)?;
    protection::protected(w.context, i, run, fuse, capacity, 0.0)
}

fn above(w: &Work<'_>, i: usize, run: &Run, f: &Found, fuse: &Protection) -> Outcome {
    let amps = fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a"))?.0;
    let limits = limits(w, i, run, f, fuse)?;
    let basis = w.context.rules.basis;
    if amps > limits.most_a + 1e-9 {
        let mut numbers = vec![amps, limits.most_a.min(limits.strict_a), limits.ampacity_a];
        numbers.extend((limits.most_a > limits.strict_a + 1e-9).then_some(limits.most_a));
        let by = match limits.bound() {
            Bound::Device => match protection::device_ahead_of(w.context, i) {
                Some(id) => format!("{id} allows"),
                None => "what it feeds allows".into(),
            },
            Bound::Ampacity | Bound::SmallWire => "its conductor allows".into(),
        };
        let found = Finding::new(&ABOVE, Level::Stop, path_of(run), &numbers, limits.cited(basis));
        return Ok(Some(found.named([run.id.to_string(), fuse.id.to_string(), by])));
    }
    Ok((amps > limits.strict_a + 1e-9)
        .then(|| rounded(w, run, [amps, limits.ampacity_a], &format!("fuse {}", fuse.id), "")))
}

/// Of a fuse whose current a negative brings back.
const BACK: &str = ", whose current it brings back,";

/// The note that a fuse stands on the next-rating-up rule for a run: its own, or one ahead of it.
pub(super) fn rounded(w: &Work<'_>, run: &Run, numbers: [f64; 2], fuse: &str, ahead: &str) -> Finding {
    let source = NEXT_RATING.of(w.context.rules.basis);
    Finding::new(&ROUNDED, Level::Note, path_of(run), &numbers, source).named([run.id.as_str(), fuse, ahead])
}

/// A negative drawn by itself carries what the fuses of its positives let through. It wants no fuse of its own, but wire for
/// that. Where batteries in parallel have a fuse each, and each of those alone is within what the wire carries, only a fault that
/// all of them feed and none of them opens is more: look again.
/// Source: NEC 240.4, conductors are protected at their ampacity; that the grounded one is meant too, from memory; one common negative
/// behind fused batteries: common practice.
/// A fault at a bar of plus comes back by it past the main fuse alone: where only that is more than it carries, look again. Source: as
/// above; that it is no stop, our own choice, since a bolted fault opens the fuse and only one that stays near its rating heats the wire.
fn comes_back(w: &Work<'_>, i: usize, run: &Run, f: &Found) -> Outcome {
    let Ok(capacity) = &f.capacity else { return Ok(None) };
    let Some(through) = let_through::back(w.context, i)? else { return Ok(None) };
    let limits = let_through::allowed(w.context, i, run, capacity.weakest.amps)?;
    if through.is_within(limits.most_a, limits.ampacity_a) {
        let at_bars = let_through::at_bars(w.context, i, limits.most_a)?;
        if let Some((by, place)) = at_bars.filter(|(by, _)| !by.is_within(limits.most_a, limits.ampacity_a)) {
            let by_it = format!(", whose current a fault at {} brings back by it,", name_of(w.context.plan, place));
            let (numbers, fuse) = (back_numbers(&limits, by.amps), listed(&by.by) + &by_it);
            let cited = limits.cited(w.context.rules.basis);
            let found = Finding::new(&ABOVE, Level::Caution, path_of(run), &numbers, cited);
            return Ok(Some(found.named([run.id.to_string(), fuse, "its conductor allows".into()])));
        }
        let leans = through.amps > limits.strict_a + 1e-9 && through.given_a > limits.ampacity_a + 1e-9;
        return Ok(leans.then(|| rounded(w, run, [through.amps, limits.ampacity_a], &listed(&through.by), BACK)));
    }
    if through.is_given() {
        let allows_a = if through.given_a.is_finite() { limits.ampacity_a } else { limits.most_a };
        let numbers = [through.amps, allows_a, limits.ampacity_a];
        let found = Finding::new(&ABOVE, Level::Stop, path_of(run), &numbers, &COMMON_PRACTICE);
        let by = through.by.join(" and ") + BACK;
        return Ok(Some(found.named([run.id.as_str(), &by, "its conductor allows", GIVEN])));
    }
    let numbers = back_numbers(&limits, through.amps);
    let alone = let_through::most_of_one(w.context, &through).is_some_and(|one| one <= limits.most_a + 1e-9);
    let (level, allows) = match alone {
        true => (Level::Caution, "each alone within what its conductor allows,"),
        false => (Level::Stop, "its conductor allows"),
    };
    let found = Finding::new(&ABOVE, level, path_of(run), &numbers, limits.cited(w.context.rules.basis));
    let fuse = listed(&through.by);
    Ok(Some(found.named([run.id.to_string(), format!("{fuse}{BACK}"), allows.into()])))
}

/// That it is a converter that gives so much, no fuse.
const GIVEN: &str = "given";

/// What a finding of a negative compares.
fn back_numbers(limits: &Limits, amps: f64) -> Vec<f64> {
    let up = (limits.most_a > limits.strict_a + 1e-9).then_some(limits.most_a);
    [amps, limits.most_a.min(limits.strict_a), limits.ampacity_a].into_iter().chain(up).collect()
}

/// Fuses as a sentence lists them: the first few, and how many more.
fn listed(by: &[String]) -> String {
    const MOST: usize = 3;
    let more = by.len().saturating_sub(MOST);
    match by.split_last() {
        _ if more > 0 => format!("{} and {more} more{TOGETHER}", by.get(..MOST).unwrap_or_default().join(", ")),
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}{TOGETHER}", rest.join(", ")),
        Some((last, _)) => last.clone(),
        None => String::new(),
    }
}

/// Where the fuse of such a note is, if not on the run itself.
pub(super) static AHEAD: &str = " ahead of it";

fn small(w: &Work<'_>, i: usize, role: Role, run: &Run, f: &Found, fuse: &Protection) -> Outcome {
    let amps = fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a"))?.0;
    let design = f.currents.pair.design_a.clone().or_else(|missing| match f.currents.sure {
        Some([sure, _]) if sure * protection::fuse_factor(w.context, i) > amps + 1e-9 => Ok(sure),
        _ => Err(missing),
    })?;
    let (rules, factor) = (&w.context.rules, protection::fuse_factor(w.context, i));
    let level = if amps < design * rules.fuse_least_factor - 1e-9 {
        Level::Stop
    } else if amps < design * factor - 1e-9 {
        Level::Caution
    } else {
        return Ok(None);
    };
    let numbers = [amps, design, design * factor];
    let cited = if role == Role::Array { &PV_FUSE_LOADING } else { &FUSE_LOADING };
    let found = Finding::new(&SMALL, level, path_of(run), &numbers, cited.of(rules.basis));
    Ok(Some(found.smaller_is_worse().named([&run.id, &fuse.id])))
}

/// Interrupt rating against the fault at the fuse's place, with the margin that its source asks for. Where cable is not known yet, a fuse that opens the
/// fault without any cable passes.
fn interrupt(w: &Work<'_>, i: usize, j: usize, run: &Run, fuse: &Protection) -> Outcome {
    let Some(figures) = w.report.runs.get(i).and_then(|r| r.fuses.get(j)) else { return Ok(None) };
    let opens = figures.interrupt_a.clone()?.0;
    if w.context.circuit.links.get(i).is_some_and(|link| link.role == Role::Array) {
        let strings = if is_string_fuse(w.context, i, fuse) { protection::strings_on(w.context, i) } else { 1 };
        let volts = figures.circuit_v.as_ref().map_or(0.0, |v| v.0);
        let names = [run.id.as_str(), figures.id.as_str()];
        return by_panels(w, i, (opens, volts, strings), path_of(run), &names);
    }
    let fault = match figures.fault_a.clone() {
        Ok(fault) => fault.0,
        Err(missing) => {
            return match fault::at_fuse_at_most(w.context, w.source, i, run, fuse) {
                Some(Ok(most)) if opens >= most.needed_a() => Ok(None),
                _ => Err(missing),
            };
        }
    };
    let needed = fault * figures.margin;
    Ok((opens < needed - 1e-9).then(|| {
        let volts = figures.circuit_v.as_ref().map_or(0.0, |v| v.0);
        let numbers = [fault, opens, volts, needed, figures.margin];
        let found = Finding::new(&OPENS, Level::Stop, path_of(run), &numbers, INTERRUPT.of(w.context.rules.basis));
        let said = with_others(w.context, i, faults(w.context, w.source, i, fault, figures.margin));
        found.named([run.id.to_string(), figures.id.to_string(), said])
    }))
}

/// What the panels alone drive through a fuse or a breaker on their own run, no battery behind it: 1.25 times their short circuit current, of a
/// fuse in each string what the others push into that one. A controller lets nothing back.
/// Source: NEC 690.8(A), the largest current of a PV source; the margin as for any fault.
pub(super) fn by_panels(
    w: &Work<'_>,
    i: usize,
    (opens, volts, strings): (f64, f64, usize),
    subject: FieldPath,
    names: &[&str],
) -> Outcome {
    let Some(found) = w.found.get(i) else { return Ok(None) };
    let (n, margin) = (strings.max(1) as f64, w.context.rules.interrupt_margin);
    let fault = found.currents.pair.design_a.clone()? * (n - 1.0).max(1.0) / n;
    let numbers = [fault, opens, volts, fault * margin, margin, n];
    // One that has no rating at such volts at all is told of by its volts.
    Ok((opens > 0.0 && opens < fault * margin - 1e-9).then(|| {
        Finding::new(&OPENS, Level::Stop, subject, &numbers, INTERRUPT.of(w.context.rules.basis)).named(names)
    }))
}

/// What a fault on a run is called where its size is compared, as the check has it: `the table by cold cranking amps`.
#[must_use]
pub fn fault_words(plan: &Plan, run: &str, amps: f64, margin: f64) -> String {
    let (circuit, _) = Circuit::of(plan);
    let c = &Context::of(plan, circuit, &[]);
    let index = plan.runs.iter().position(|r| r.id.as_str() == run).unwrap_or(usize::MAX);
    with_others(c, index, faults(c, &fault::bank(c), index, amps, margin))
}

/// The same with the batteries that have a part in it beside its own source.
fn with_others(c: &Context<'_>, i: usize, said: String) -> String {
    let names: Vec<String> = fault::beside_own(c, i).into_iter().map(|n| name_of(c.plan, n)).collect();
    match (names.as_slice(), said.strip_suffix(',')) {
        ([], _) => said,
        (_, Some(said)) => format!("{said}, with {},", names.join(" and ")),
        (_, None) => format!("{said} with {}", names.join(" and ")),
    }
}

/// Largest current a run's sources could ever push: their rated outputs.
pub(super) fn rated_push_a(w: &Work<'_>, away: &[Node]) -> Result<f64, Missing> {
    let mut sum = 0.0;
    for node in away {
        match node {
            Node::Controller(i) => {
                if let Some(k) = w.context.plan.controllers.get(*i) {
                    sum += crate::engine::context::need(&k.out_a, "controllers", &k.id, "out_a")?.0;
                }
            }
            Node::Charger(i) => {
                sum += w.terminals.chargers.get(*i).map_or(Ok(0.0), |p| p.design_a.clone())?;
            }
            _ => {}
        }
    }
    Ok(sum)
}
