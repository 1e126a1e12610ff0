//! Charge settings that the year cannot use as entered: volts that no such bank is charged at, compensation by another
//! place's warmth; and a label that may stand for another number of cells.

use crate::engine::Work;
use crate::engine::context::at;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::setting::{SETTING_MOST, Senses, senses};
use crate::plan::job::YesNo;
use crate::plan::{FieldPath, Id, Known};
use crate::standards::kinds::Zone;
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};
use crate::units::{Number, Volts};

static NOMINAL: Source = Source::new("IEC 60050-482", "nominal volts of a cell", Standing::CommonPractice);

static IMPOSSIBLE: Check = Check {
    id: "charge-volts-impossible",
    safety: false,
    say: |f| {
        format!(
            "{}: {} at {:.1} V is no setting for this bank; the year waits for one of {:.1} V at most",
            f.name(0),
            f.name(1),
            f.n(0),
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

/// What compensates, and by what.
struct Set<'a> {
    list: &'static str,
    id: &'a Id,
    absorb_v: &'a Known<Volts>,
    float_v: Option<&'a Known<Volts>>,
    temp_comp_mv_k: &'a Known<Number>,
    temp_sense: YesNo,
    zone: Option<Zone>,
}

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let controllers = plan.controllers.iter().filter(|k| k.state.stays()).map(|k| Set {
        list: "controllers",
        id: &k.id,
        absorb_v: &k.absorb_v,
        float_v: k.float_v.as_ref(),
        temp_comp_mv_k: &k.temp_comp_mv_k,
        temp_sense: k.temp_sense,
        zone: k.zone,
    });
    let chargers = plan.chargers.iter().filter(|k| k.state.stays()).map(|k| Set {
        list: "chargers",
        id: &k.id,
        absorb_v: &k.absorb_v,
        float_v: k.float_v.as_ref(),
        temp_comp_mv_k: &k.temp_comp_mv_k,
        temp_sense: k.temp_sense,
        zone: k.zone,
    });
    for s in controllers.chain(chargers) {
        let subject = || FieldPath::of(&[s.list, s.id.as_str()]);
        for (what, field, set) in [("absorption", "absorb_v", Some(s.absorb_v)), ("float", "float_v", s.float_v)] {
            out.take(&IMPOSSIBLE, subject, Ok(impossible(w, s.list, s.id, (what, field, set))));
        }
        out.take(&ELSEWHERE, subject, elsewhere(w, &s));
    }
    out.take(&CELLS, || "bank.unit_v".into(), Ok(cells(w)));
}

/// Volts that a bank of these cells is never charged at, equalising included.
fn impossible(
    w: &Work<'_>,
    list: &str,
    id: &Id,
    (what, field, set): (&str, &str, Option<&Known<Volts>>),
) -> Option<Finding> {
    let (volts, most) = (set?.known()?.0, w.context.high_v().ok()? * SETTING_MOST);
    let subject = at(list, id, field);
    (volts > most).then(|| {
        Finding::new(&IMPOSSIBLE, Level::Caution, subject, &[volts, most], &COMMON_PRACTICE).named([id.as_str(), what])
    })
}

/// Compensation without a sensor at the bank. Lithium has none at all.
/// Source: common practice: the sensor goes to the bank, since what a controller has of its own tells of its own place.
fn elsewhere(w: &Work<'_>, s: &Set<'_>) -> Outcome {
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
    let inside_c = (bank.heated.known() == Some(&YesNo::Yes)).then_some(w.context.rules.interior_least_c);
    let bank_c = w.weather.coldest_c.clone()?.max(inside_c.unwrap_or(f64::MIN)).clamp(-40.0, 60.0);
    let wanted = held + mv / 1000.0 * (bank_c - 25.0);
    if wanted - held <= w.context.rules.profile_apart_v * w.context.by_cells()? {
        return Ok(None);
    }
    let level = if places.is_some() { Level::Caution } else { Level::Note };
    let [own, at_bank] = places.map_or(["", ""], |(own, bank)| [own.word(), bank.word()]);
    let subject = FieldPath::of(&[s.list, s.id.as_str()]);
    let found = Finding::new(&ELSEWHERE, level, subject, &[wanted, held, bank_c], &COMMON_PRACTICE);
    Ok(Some(found.named([s.id.as_str(), own, at_bank])))
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
