//! Charge settings that the year cannot use as entered: volts that no such bank is charged at, compensation by another
//! place's warmth; and a label that may stand for another number of cells.

use crate::engine::Work;
use crate::engine::context::at;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::setting::{SETTING_MOST, Senses, coldest_v, senses};
use crate::plan::job::YesNo;
use crate::plan::{FieldPath, Figure, Known};
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};
use crate::units::Volts;

use super::profile::{Profile, profiles};

pub(super) static NOMINAL: Source = Source::new("IEC 60050-482", "nominal volts of a cell", Standing::CommonPractice);

static IMPOSSIBLE: Check = Check {
    id: "charge-volts-impossible",
    safety: false,
    say: |f| {
        let (id, what, chemistry, then) = (f.name(0), f.name(1), f.name(2), f.name(3));
        format!(
            "{id}: {what} at {:.1} V is no setting for this bank: {chemistry} of {:.1} V is charged at {:.1} V at most, and up to \
             {SETTING_MOST} times that, {:.1} V, is accepted as a setting, cold and equalising included; {then}",
            f.n(0),
            f.n(3),
            f.n(2),
            f.n(1)
        )
    },
};
static ELSEWHERE: Check = Check {
    id: "compensation-not-at-bank",
    safety: false,
    say: |f| {
        let (id, own, bank) = (f.name(0), f.name(1), f.name(2));
        let (wanted, held, bank_c) = (f.n(0), f.n(1), f.n(2));
        let wants = format!("at {bank_c:.0} C the bank wants {wanted:.2} V");
        match own {
            "" => format!(
                "{id}: no temperature sensor at the bank, and where {id} or the bank stands is not entered; the year takes both \
                 to be as warm; if not, {wants} and may get {held:.2} V"
            ),
            _ => format!(
                "{id}: no temperature sensor at the bank; {id} stands in {own}, the bank in {bank}: {wants} and gets {held:.2} \
                 V, as {id} knows its own warmth alone; the year counts no compensation"
            ),
        }
    },
};
static NONE: Check = Check {
    id: "compensation-none",
    safety: false,
    say: |f| {
        let (id, chemistry) = (f.name(0), f.name(1));
        let (wanted, held, bank_c, usual) = (f.n(0), f.n(1), f.n(2), f.n(3));
        format!(
            "{id}: no temperature compensation; at {bank_c:.0} C {chemistry} wants {wanted:.2} V ({usual:.0} mV/K is usual) and gets \
             {held:.2} V"
        )
    },
};
static UNUSUAL: Check = Check {
    id: "compensation-unusual",
    safety: false,
    say: |f| {
        let (id, chemistry) = (f.name(0), f.name(1));
        let (set, least, most) = (f.n(1), f.n(2), f.n(3));
        format!(
            "{id}: temperature compensation of {set} mV/K, {least} to {most} mV/K is usual for {chemistry} of these volts, if \
             its maker says nothing else"
        )
    },
};
static CELLS: Check = Check {
    id: "cells-by-label",
    safety: false,
    say: |f| {
        let (label_v, taken, other) = (f.n(0), f.n(1), f.n(2));
        format!(
            "BK: a lithium battery of {label_v} V is taken as {taken} cells in series; one of {other} cells is to be entered as \
             {other} of 3.2 V in series"
        )
    },
};
static VOLTS: Check = Check {
    id: "label-volts-unlikely",
    safety: false,
    say: |f| {
        let (label_v, cells, each_v) = (f.n(0), f.n(1), f.n(2));
        format!(
            "BK: {label_v} V on the label would be {cells} {} of {each_v:.2} V, as no usual {} battery is: the volts of one battery as \
             it is sold are to be entered, and how many are in series",
            if cells == 1.0 { "cell" } else { "cells" },
            f.name(0)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    // What charges a start battery alone is judged against that one's volts.
    for s in profiles(w).iter().filter(|s| s.start.is_none()) {
        let subject = || FieldPath::of(&[s.list, s.id.as_str()]);
        for found in impossible(w, s) {
            out.take(&IMPOSSIBLE, subject, Ok(found));
        }
        out.take(&ELSEWHERE, subject, elsewhere(w, s));
        out.take(&NONE, subject, none(w, s));
        out.take(&UNUSUAL, subject, unusual(w, s));
    }
    out.take(&CELLS, || "bank.unit_v".into(), Ok(cells(w)));
    out.take(&VOLTS, || "bank.unit_v".into(), Ok(odd_volts(w)));
}

/// Settings of volts that a bank of these cells is never charged at; those of absorption and float in the coldest as well,
/// where they are compensated to it.
fn impossible(w: &Work<'_>, s: &Profile<'_>) -> [Option<Finding>; 4] {
    let volts = |set: Option<&Known<Volts>>| set.and_then(Known::known).map(|v| v.0);
    let (absorb, float) = (volts(Some(s.absorb_v)), volts(s.float_v));
    let by_k = s.temp_comp_mv_k.known().map_or(0.0, |mv| mv.0.min(0.0) / 1000.0);
    let counts = by_k < 0.0 && senses(&w.context.plan.bank, s.temp_sense, s.zone) != Senses::Elsewhere;
    let highest = absorb.map(|v| v.max(float.unwrap_or(v)));
    let cold = highest.filter(|v| counts && !is_over(w, *v)).map(|v| coldest_v(v, by_k));
    let waits = "the year waits for another";
    [
        over(w, s, ("absorption", "absorb_v", waits), absorb),
        over(w, s, ("float", "float_v", waits), float),
        over(w, s, ("equalising", "equalise_v", "the year has no equalising"), volts(s.equalise_v)),
        over(w, s, ("the highest setting, compensated to -40 C", "temp_comp_mv_k", waits), cold),
    ]
}

/// The most that is taken for a setting.
fn most_v(w: &Work<'_>) -> Option<f64> {
    Some(w.context.high_v().ok()? * SETTING_MOST)
}

fn is_over(w: &Work<'_>, volts: f64) -> bool {
    most_v(w).is_some_and(|most| volts > most)
}

fn over(
    w: &Work<'_>,
    s: &Profile<'_>,
    (what, field, then): (&str, &str, &'static str),
    volts: Option<f64>,
) -> Option<Finding> {
    let (volts, most, bank_v) = (volts.filter(|v| is_over(w, *v))?, most_v(w)?, w.context.bank_v().ok()?);
    let chemistry = w.context.chemistry().ok()?.chemistry.word();
    let numbers = [volts, most, most / SETTING_MOST, bank_v];
    let found = Finding::new(&IMPOSSIBLE, Level::Caution, at(s.list, s.id, field), &numbers, &COMMON_PRACTICE);
    Some(found.named([s.id.as_str(), what, chemistry, then]))
}

/// Compensation without a sensor at the bank. Lithium has none at all.
/// Source: common practice: the sensor goes to the bank, since what a controller has of its own tells of its own place.
fn elsewhere(w: &Work<'_>, s: &Profile<'_>) -> Outcome {
    let bank = &w.context.plan.bank;
    let mv = s.temp_comp_mv_k.known().map_or(0.0, |mv| mv.0);
    if mv == 0.0 || !bank.state.stays() || !w.context.chemistry()?.compensation_allowed() {
        return Ok(None);
    }
    let places = match senses(bank, s.temp_sense, s.zone) {
        Senses::Bank => return Ok(None),
        Senses::Elsewhere => s.zone.zip(bank.zone),
        Senses::Unsaid => None,
    };
    let Some(held) = s.absorb_v.known().map(|v| v.0) else { return Ok(None) };
    let bank_c = coldest_bank_c(w)?;
    let more = mv / 1000.0 * (bank_c - 25.0);
    let wanted = suited(w, held)? + more;
    if more.min(wanted - held) <= w.context.rules.profile_apart_v * w.context.by_cells()? {
        return Ok(None);
    }
    let level = if places.is_some() { Level::Caution } else { Level::Note };
    let [own, at_bank] = places.map_or(["", ""], |(own, bank)| [own.word(), bank.word()]);
    let subject = FieldPath::of(&[s.list, s.id.as_str()]);
    let found = Finding::new(&ELSEWHERE, level, subject, &[wanted, held, bank_c], &COMMON_PRACTICE);
    Ok(Some(found.named([s.id.as_str(), own, at_bank])))
}

/// The coldest that the bank is charged at.
fn coldest_bank_c(w: &Work<'_>) -> Figure<f64> {
    let heated = w.context.plan.bank.heated.known() == Some(&YesNo::Yes);
    let inside_c = heated.then_some(w.context.rules.interior_least_c);
    Ok(w.weather.coldest_c.clone()?.max(inside_c.unwrap_or(f64::MIN)).clamp(-40.0, 60.0))
}

/// Absorption as it is set, or the nearest that the bank takes: a wrong setting is told as that, and nothing is added to it.
fn suited(w: &Work<'_>, held: f64) -> Figure<f64> {
    let (row, twelves) = (w.context.chemistry()?, w.context.by_cells()?);
    Ok(held.clamp(row.absorb_v.least * twelves, row.absorb_v.most * twelves))
}

/// Lead with no compensation at all gets the same volts in the cold as with one that knows nothing of the bank's warmth.
/// In a heated space that is worth knowing, no more.
/// Source: common practice; the middle of what the chemistry's table has as usual.
fn none(w: &Work<'_>, s: &Profile<'_>) -> Outcome {
    let bank = &w.context.plan.bank;
    let (Some(mv), Some(held)) = (s.temp_comp_mv_k.known(), s.absorb_v.known()) else { return Ok(None) };
    let row = w.context.chemistry()?;
    if mv.0 != 0.0 || !bank.state.stays() || !row.compensation_allowed() {
        return Ok(None);
    }
    let twelves = w.context.by_cells()?;
    let usual = f64::midpoint(row.compensation_mv_per_k.least, row.compensation_mv_per_k.most) * twelves;
    let bank_c = coldest_bank_c(w)?;
    let more = usual / 1000.0 * (bank_c - 25.0);
    let wanted = suited(w, held.0)? + more;
    if more.min(wanted - held.0) <= w.context.rules.profile_apart_v * twelves {
        return Ok(None);
    }
    let level = if bank.heated.known() == Some(&YesNo::No) { Level::Caution } else { Level::Note };
    let subject = FieldPath::of(&[s.list, s.id.as_str()]);
    let found = Finding::new(&NONE, level, subject, &[wanted, held.0, bank_c, usual], row.charge_source);
    Ok(Some(found.named([s.id.as_str(), row.chemistry.word()])))
}

/// Compensation that no sheet of such a battery has, as of a bank of other volts or with its sign the other way.
fn unusual(w: &Work<'_>, s: &Profile<'_>) -> Outcome {
    let Some(mv) = s.temp_comp_mv_k.known().map(|mv| mv.0).filter(|mv| *mv != 0.0) else { return Ok(None) };
    let row = w.context.chemistry()?;
    if !w.context.plan.bank.state.stays() || !row.compensation_allowed() {
        return Ok(None);
    }
    let twelves = w.context.by_cells()?;
    let (least, most) = (row.compensation_mv_per_k.least * twelves, row.compensation_mv_per_k.most * twelves);
    let out = (least - mv).max(mv - most);
    let subject = FieldPath::of(&[s.list, s.id.as_str()]);
    Ok((out > 1e-9).then(|| {
        Finding::new(&UNUSUAL, Level::Caution, subject, &[out, mv, most, least], row.charge_source)
            .named([s.id.as_str(), row.chemistry.word()])
    }))
}

/// A label of volts that no battery of the kind has.
fn odd_volts(w: &Work<'_>) -> Option<Finding> {
    let bank = &w.context.plan.bank;
    let (row, label_v) = (w.context.chemistry().ok().filter(|_| bank.state.stays())?, bank.unit_v.known()?.0);
    let numbers = [label_v, row.cells(label_v), row.odd_cell_v(label_v)?];
    let found = Finding::new(&VOLTS, Level::Caution, "bank.unit_v".into(), &numbers, &NOMINAL);
    Some(found.named([row.chemistry.word()]))
}

/// A label that may stand for another number of cells.
fn cells(w: &Work<'_>) -> Option<Finding> {
    let bank = &w.context.plan.bank;
    let (row, label_v) = (w.context.chemistry().ok().filter(|_| bank.state.stays())?, bank.unit_v.known()?.0);
    let charge_v = bank.max_charge_v.as_ref().and_then(Known::known).map(|v| v.0);
    let other = row.other_cells(label_v, charge_v)?;
    let numbers = [label_v, row.cells(label_v), other];
    Some(Finding::new(&CELLS, Level::Note, "bank.unit_v".into(), &numbers, &NOMINAL))
}
