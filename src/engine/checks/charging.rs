//! Charge settings and limits of the bank: every source of charge, and the inverter.

use crate::engine::Work;
use crate::engine::bank::charged;
use crate::engine::circuit::{Node, PathKind};
use crate::engine::context::at;
use crate::engine::dc_lines;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::vehicle::is_inverter_of_bank;
use crate::plan::power::{AcSource, ChargerKind};
use crate::plan::sources::LABEL;
use crate::plan::{Device, FieldPath, Figure, Id, Known, Missing, YesNo};
use crate::standards::chemistry::LFP_CHARGE;
use crate::standards::source::COMMON_PRACTICE;
use crate::units::Volts;

use super::profile::{Profile, profiles};
use super::{cold, digits, rule_value};

static VOLTS_HIGH: Check = Check {
    id: "charge-volts-high",
    safety: true,
    say: |f| {
        let who = if f.name(2).is_empty() { "the bank" } else { f.name(2) };
        format!("{}: {} at {:.2} V, {who} stands {:.2} V", f.name(0), f.name(1), f.n(0), f.n(1))
    },
};
static EQUALISE: Check = Check {
    id: "equalise-not-allowed",
    safety: true,
    say: |f| {
        let whose = if f.name(1).is_empty() { "this chemistry" } else { f.name(1) };
        format!("{}: equalising at {:.1} V is set, {whose} must not be equalised", f.name(0), f.n(0))
    },
};
static COMPENSATION: Check = Check {
    id: "compensation-on-lithium",
    safety: true,
    say: |f| {
        let on = if f.name(1).is_empty() { "lithium" } else { f.name(1) };
        format!(
            "{}: {:.0} mV per K of temperature compensation on {on}; at 0 C it would charge to {:.2} V",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};
static APART: Check = Check {
    id: "profiles-disagree",
    safety: false,
    say: |f| {
        let what = if f.name(2) == "float" { "float" } else { "absorb" };
        let (volts, most) = digits::apart(f.n(0), f.n(1), 2);
        let (first, other) = (f.name(0), f.name(1));
        format!("{first} and {other} {what} {volts} V apart, over {most} V; one will stop early or hold the bank up")
    },
};
static FLOAT_ABOVE: Check = Check {
    id: "float-above-absorption",
    safety: false,
    say: |f| {
        let year = if f.name(1).is_empty() { "" } else { "; the year charges on at its float" };
        format!("{}: floats at {:.2} V, above its absorption at {:.2} V{year}", f.name(0), f.n(0), f.n(1))
    },
};
static OUTSIDE: Check = Check {
    id: "charge-volts-outside-window",
    safety: false,
    say: |f| {
        let (id, what, never) = (f.name(0), f.name(1), f.name(2));
        let whose = if f.name(3).is_empty() { "this battery" } else { f.name(3) };
        format!("{id}: {what} at {:.2} V{never}, {:.2} V to {:.2} V is usual for {whose}", f.n(1), f.n(2), f.n(3))
    },
};
static INVERTER_OVER: Check = Check {
    id: "inverter-over-discharge-limit",
    safety: false,
    say: |f| {
        let (draws, gives) = digits::apart(f.n(0), f.n(1), 0);
        let who = match f.name(1) {
            "" => format!("{} draws", f.name(0)),
            others => format!("{} and {others} together draw", f.name(0)),
        };
        format!("{who} {draws} A at rated watts, the bank gives {gives} A; the year sees hourly means only")
    },
};
static RATE_UNKNOWN: Check = Check {
    id: "discharge-rate-unknown",
    safety: false,
    say: |f| {
        let (draws, rate) = digits::apart(f.n(0), f.n(1), 0);
        format!(
            "{} draws {draws} A at rated watts; the packs' continuous discharge rating is not known, {} x their Ah would be \
             {rate} A",
            f.name(0),
            f.n(2)
        )
    },
};
static CHARGE_OVER: Check = Check {
    id: "charge-over-limit",
    safety: false,
    say: |f| format!("all chargers together push {:.0} A, the bank takes {:.0} A", f.n(0), f.n(1)),
};
static CHARGE_UNKNOWN: Check = Check {
    id: "charge-limit-unknown",
    safety: false,
    say: |f| {
        let (sum, usual) = digits::apart(f.n(0), f.n(1), 0);
        format!(
            "all chargers together push {sum} A; what the bank takes is not known, so the sum was not checked: {usual} A, {} x its \
             Ah, is as much as is usual for {}",
            f.n(2),
            f.name(0)
        )
    },
};
static LOOP: Check = Check {
    id: "inverter-feeds-charger",
    safety: true,
    say: |f| {
        let (id, when) = (f.name(0), f.name(1));
        format!("{id} takes its AC from the inverter, which takes it from the bank that {id} charges{when}")
    },
};
static ALTERNATOR: Check = Check {
    id: "alternator-overdrawn",
    safety: false,
    say: |f| {
        let (id, amps) = (f.name(0), f.n(1));
        let (pct, most) = digits::apart(f.n(0), f.n(2), 0);
        // The start battery lends the rest for a while only.
        let year = if f.n(0) > 100.0 { "; the year counts what its rating brings and no more" } else { "" };
        match f.name(1) {
            "" => format!("{id} draws {amps:.0} A, {pct} % of its alternator, over {most} %{year}"),
            others => {
                format!("{id} and {others} together draw {amps:.0} A, {pct} % of their alternator, over {most} %{year}")
            }
        }
    },
};

static NO_ALTERNATOR: Check = Check {
    id: "alternator-not-found",
    safety: false,
    say: |f| {
        let (id, names, why, instead) = (f.name(0), f.name(1), f.name(2), f.name(3));
        format!("{id} alternator: {names} is {why}{instead}")
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let profiles = profiles(w);
    for p in &profiles {
        let path = || p.path();
        out.take(&VOLTS_HIGH, path, volts_high(w, p, "absorption", Some(p.absorb_v), "absorb_v"));
        out.take(&VOLTS_HIGH, path, volts_high(w, p, "float", p.float_v, "float_v"));
        if !p.joined {
            out.take(&OUTSIDE, path, outside(w, p));
        }
        out.take(&EQUALISE, path, equalise(w, p));
        out.take(&COMPENSATION, path, compensation(w, p));
    }
    let mut sources: Vec<&Id> = Vec::new();
    for p in &profiles {
        if !sources.contains(&p.id) {
            sources.push(p.id);
            out.take(&FLOAT_ABOVE, || p.path(), Ok(float_above(w, p)));
        }
    }
    // What the same sources charge is compared once.
    let mut compared: Vec<Vec<&Id>> = Vec::new();
    for p in profiles.iter().filter(|p| !p.joined) {
        let of = |other: &&Profile<'_>| other.start == p.start && !other.joined;
        let together: Vec<&Profile<'_>> = profiles.iter().filter(of).collect();
        let ids: Vec<&Id> = together.iter().map(|p| p.id).collect();
        if !compared.contains(&ids) {
            apart(w, out, &together);
            compared.push(ids);
        }
    }
    cold::all(w, out);
    let bank = || FieldPath::new("bank");
    out.take(&CHARGE_OVER, bank, charge_over(w));
    let unknown = limit_unknown(w);
    if matches!(unknown, Ok(Some(_))) {
        out.wait("bank.max_charge_a".into());
    }
    out.take(&CHARGE_UNKNOWN, bank, unknown);
    let of_bank = |i: &usize| is_inverter_of_bank(w.context, *i);
    for (i, inv) in w.context.plan.inverters.iter().enumerate().filter(|(i, _)| of_bank(i)) {
        let path = || FieldPath::of(&["inverters", inv.id.as_str()]);
        out.take(&INVERTER_OVER, path, inverter_over(w, i, &inv.id));
        rate_unknown(w, out, i, &inv.id);
    }
    for (i, ch) in w.context.plan.chargers.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        let path = || FieldPath::of(&["chargers", ch.id.as_str()]);
        let outcome = match (&ch.ac_source, ch.kind.known()) {
            (_, Some(ChargerKind::DcDc)) | (None, _) => Ok(None),
            (Some(source), _) => source
                .at(|| at("chargers", &ch.id, "ac_source"))
                .and_then(|source| Ok(circles(w, i, source)?.map(|when| looped(&ch.id, when)))),
        };
        out.take(&LOOP, path, outcome);
        match alternator_of(w, i) {
            Ok((device, named)) => {
                out.take(&NO_ALTERNATOR, path, Ok(named));
                out.take(&ALTERNATOR, path, alternator(w, i, device));
            }
            Err(missing) => out.take(&ALTERNATOR, path, Err(missing)),
        }
    }
}

fn volts_high(w: &Work<'_>, p: &Profile<'_>, what: &str, set: Option<&Known<Volts>>, field: &str) -> Outcome {
    let Some(set) = set else { return Ok(None) };
    let volts = set.at(|| p.field(field))?.0;
    let most = p.most_v(w, volts)?;
    // The battery's own label where it allows less than its chemistry.
    let source = if most < p.high_v(w)? - 1e-9 { &LABEL } else { p.chemistry(w)?.charge_source };
    Ok((volts > most + 1e-6).then(|| {
        let names = [p.id.to_string(), what.to_string(), p.whose(w), p.battery(w)];
        Finding::new(&VOLTS_HIGH, Level::Stop, p.path(), &[volts, most], source).named(names)
    }))
}

/// A float above absorption. What is not known of either waits elsewhere.
fn float_above(w: &Work<'_>, p: &Profile<'_>) -> Option<Finding> {
    let (float, absorb) = (p.float_v?.known()?.0, p.absorb_v.known()?.0);
    (float > absorb + 1e-6).then(|| {
        // Of what no run joins to the bank the year has nothing; before any run is drawn it has all.
        let kind = if matches!(p.node, Node::Controller(_)) { PathKind::ControllerBank } else { PathKind::Charger };
        let in_year = w.context.plan.runs.is_empty() || w.context.circuit.way_of(kind, p.node).is_some();
        Finding::new(&FLOAT_ABOVE, Level::Caution, p.path(), &[float, absorb], &COMMON_PRACTICE)
            .named([p.id.as_str(), if in_year { "year" } else { "" }])
    })
}

/// Equalising: never on lithium or on what its chemistry forbids; where allowed, not above the chemistry's window, nor
/// above what the battery's own sheet names.
fn equalise(w: &Work<'_>, p: &Profile<'_>) -> Outcome {
    let Some(set) = p.equalise_v else { return Ok(None) };
    let volts = set.at(|| p.field("equalise_v"))?.0;
    let row = p.chemistry(w)?;
    match row.equalise_v {
        None => {
            let found = Finding::new(&EQUALISE, Level::Stop, p.path(), &[volts], row.charge_source);
            Ok(Some(found.named([p.id.to_string(), p.whose(w), p.battery(w)])))
        }
        Some(window) => {
            let most = window.most * p.by_cells(w)?;
            if volts > most + 1e-6 {
                let found = Finding::new(&VOLTS_HIGH, Level::Stop, p.path(), &[volts, most], row.charge_source);
                return Ok(Some(found.named([p.id.to_string(), "equalising".into(), p.whose(w), p.battery(w)])));
            }
            // A sheet may mean its figure for absorption alone and name another for equalising: no stop.
            let label = w.context.plan.bank.max_charge_v.as_ref().and_then(Known::known).filter(|_| p.start.is_none());
            let Some(label) = label else { return Ok(None) };
            let most = label.0 * w.context.series()?;
            Ok((volts > most + 1e-6).then(|| {
                Finding::new(&VOLTS_HIGH, Level::Caution, p.path(), &[volts, most], &LABEL)
                    .named([p.id.as_str(), "equalising"])
            }))
        }
    }
}

fn compensation(w: &Work<'_>, p: &Profile<'_>) -> Outcome {
    // Where it is allowed nothing has to be known.
    if p.chemistry(w).is_ok_and(|row| row.compensation_allowed()) {
        return Ok(None);
    }
    let mv = p.temp_comp_mv_k.at(|| p.field("temp_comp_mv_k"))?.0;
    if mv == 0.0 || p.chemistry(w)?.compensation_allowed() {
        return Ok(None);
    }
    // The highest volts the source is set to, 25 K colder than its settings are for.
    let known = |v: Option<&Known<Volts>>| v.and_then(|v| v.known()).map_or(0.0, |v| v.0);
    let highest = known(Some(p.absorb_v)).max(known(p.equalise_v));
    let at_0_c = highest - mv / 1000.0 * 25.0;
    Ok(Some(Finding::new(&COMPENSATION, Level::Stop, p.path(), &[mv, at_0_c], &LFP_CHARGE).smaller_is_worse().named([
        p.id.to_string(),
        p.whose(w),
        p.battery(w),
    ])))
}

/// Volts that the bank stands but that charge it badly: the one farthest outside its window. What it does not stand
/// is a stop of its own.
fn outside(w: &Work<'_>, p: &Profile<'_>) -> Outcome {
    let row = p.chemistry(w)?;
    let (twelves, most) = (p.by_cells(w)?, p.most_v(w, 0.0)?);
    let phases = [
        ("absorption", Some(p.absorb_v), "absorb_v", Some(row.absorb_v)),
        ("float", p.float_v, "float_v", Some(row.float_v)),
        ("equalising", p.equalise_v, "equalise_v", row.equalise_v),
    ];
    let mut worst: Option<(f64, [f64; 3], &str)> = None;
    for (name, set, field, window) in phases {
        let (Some(set), Some(window)) = (set, window) else { continue };
        let volts = set.at(|| p.field(field))?.0;
        // A label that allows less than the window narrows it.
        let high = if name == "equalising" { window.most * twelves } else { (window.most * twelves).min(most) };
        let low = (window.least * twelves).min(high);
        let off = (low - volts).max(volts - high);
        let stopped = volts > high.max(if name == "equalising" { 0.0 } else { most }) + 1e-6;
        if off > 1e-6 && !stopped && worst.is_none_or(|(o, ..)| off > o) {
            worst = Some((off, [volts, low, high], name));
        }
    }
    // Source: common practice, a bank stands above its nominal volts while it charges; a float above them charges on.
    let bank_v = p.nominal_v(w)? + 1e-9;
    // What hardly charges it is graver than a setting further off.
    if let Some(volts) = p.absorb_v.known().map(|v| v.0).filter(|v| *v <= bank_v) {
        let (low, high) = (row.absorb_v.least * twelves, (row.absorb_v.most * twelves).min(most));
        worst = Some((low.min(high) - volts, [volts, low.min(high), high], "absorption"));
    }
    Ok(worst.map(|(off, [volts, low, high], name)| {
        let floats = p.float_v.and_then(|v| v.known()).is_some_and(|v| v.0 > bank_v);
        let hardly = name == "absorption" && volts <= bank_v && !floats;
        let said = if hardly { ", which hardly charges it" } else { "" };
        let level = if hardly { Level::Stop } else { Level::Caution };
        let numbers = [off, volts, low, high];
        Finding::new(&OUTSIDE, level, p.path(), &numbers, row.charge_source).named([
            p.id.to_string(),
            name.to_string(),
            said.to_string(),
            p.whose(w),
            p.battery(w),
        ])
    }))
}

/// What most sources agree on in one of their settings; where they are too few or too far apart, nothing.
struct Usual {
    values: Vec<Option<f64>>,
    reference: Option<usize>,
    limit: f64,
}

impl Usual {
    /// Source: our own choice; more than half of three or more are taken to be right.
    fn of(values: Vec<Option<f64>>, limit: f64) -> Self {
        let known: Vec<(usize, f64)> = values.iter().enumerate().filter_map(|(i, v)| Some((i, (*v)?))).collect();
        let near = |v: f64, by: f64| known.iter().filter(|(_, other)| (v - other).abs() <= by + 1e-9).count();
        let votes = known.iter().map(|(i, v)| ((near(*v, limit), near(*v, 0.0)), *i));
        // The first of those with most votes.
        let best = votes.rev().max_by_key(|(votes, _)| *votes);
        let reference = best.filter(|((agree, _), _)| known.len() > 2 && agree * 2 > known.len()).map(|(_, i)| i);
        Self { values, reference, limit }
    }

    /// Whom a source is compared with: an odd one with the reference, others with those before them that are not odd.
    fn partners(&self, k: usize) -> Vec<usize> {
        match self.reference.filter(|_| self.odd(k)) {
            Some(reference) => vec![reference],
            None => (0..k).filter(|i| !self.odd(*i)).collect(),
        }
    }

    fn odd(&self, k: usize) -> bool {
        let value = |i: usize| self.values.get(i).copied().flatten();
        let off = self.reference.and_then(|r| Some((value(r)? - value(k)?).abs()));
        off.is_some_and(|v| v > self.limit + 1e-9)
    }
}

/// Absorption and float volts of any two sources: each beside that one of its partners from which it is furthest.
fn apart(w: &Work<'_>, out: &mut Gathered, profiles: &[&Profile<'_>]) {
    let Some(first) = profiles.first() else { return };
    let limit = first.by_cells(w).map(|twelves| w.context.rules.profile_apart_v * twelves);
    let fields = ["absorb", "float"].map(|what| {
        let values = profiles.iter().map(|p| Some(p.set(what)?.known()?.0)).collect();
        (what, Usual::of(values, limit.clone().unwrap_or(f64::MAX)))
    });
    for (k, p) in profiles.iter().enumerate() {
        let mut worst: Outcome = Ok(None);
        for (what, usual) in &fields {
            for first in usual.partners(k).into_iter().filter_map(|i| profiles.get(i)) {
                let further = |found: &Finding| match &worst {
                    Ok(Some(before)) => found.n(0) > before.n(0) + 1e-9,
                    _ => true,
                };
                match two_apart(w, first, p, what, &limit) {
                    Ok(Some(found)) if further(&found) => worst = Ok(Some(found)),
                    // What is sure of two hides behind no third that nobody knows.
                    Err(missing) if matches!(worst, Ok(None)) => worst = Err(missing),
                    _ => {}
                }
            }
        }
        out.take(&APART, || p.path(), worst);
    }
}

fn two_apart(w: &Work<'_>, first: &Profile<'_>, p: &Profile<'_>, what: &str, limit: &Figure<f64>) -> Outcome {
    let (Some(a), Some(b)) = (first.set(what), p.set(what)) else { return Ok(None) };
    let field = format!("{what}_v");
    let apart = (a.at(|| first.field(&field))?.0 - b.at(|| p.field(&field))?.0).abs();
    let limit = limit.clone()?;
    Ok((apart > limit + 1e-9).then(|| {
        let names = [first.id.to_string(), p.id.to_string(), what.to_string(), p.battery(w)];
        Finding::new(&APART, Level::Caution, p.path(), &[apart, limit], &COMMON_PRACTICE).named(names)
    }))
}

fn looped(id: &Id, when: &str) -> Finding {
    let path = FieldPath::new(format!("chargers.{id}"));
    Finding::new(&LOOP, Level::Stop, path, &[], &COMMON_PRACTICE).named([id.as_str(), when])
}

/// Whether a charger charges the bank from the bank, and when: by an inverter's outlet always, by the coach's AC, which
/// shore or inverter feeds, whenever the inverter runs and nothing locks the charger out then.
///
/// Source: common practice; an inverter that feeds a charger of its own bank only empties it.
fn circles(w: &Work<'_>, charger: usize, source: AcSource) -> Figure<Option<&'static str>> {
    let Some(ch) = w.context.plan.chargers.get(charger) else { return Ok(None) };
    // One that charges a start battery and not the bank is a load like others, unless a DC-DC charger takes it on from there.
    let circuit = &w.context.circuit;
    if circuit.charges_start(Node::Charger(charger)).is_some_and(|battery| !circuit.hands_on(w.context.plan, battery)) {
        return Ok(None);
    }
    // Nothing of one behind a converter comes back to the bank.
    if circuit.beyond(Node::Charger(charger)).is_some() {
        return Ok(None);
    }
    // One that hangs on the vehicle's own battery takes nothing from the bank.
    if !(0..w.context.plan.inverters.len()).any(|i| is_inverter_of_bank(w.context, i)) {
        return Ok(None);
    }
    match (source, &ch.locked_out) {
        (AcSource::Inverter, _) => Ok(Some("")),
        (AcSource::Either, None) => Ok(Some("; whenever the inverter runs, as nothing locks it out then")),
        (AcSource::Either, Some(known)) => match known.at(|| at("chargers", &ch.id, "locked_out"))? {
            YesNo::Yes => Ok(None),
            YesNo::No => Ok(Some("; whenever the inverter runs, as nothing locks it out then")),
        },
        _ => Ok(None),
    }
}

/// An inverter that draws more than the packs give; and where none of several does, all of them together, said of the first.
fn inverter_over(w: &Work<'_>, i: usize, id: &Id) -> Outcome {
    let limit = w.report.bank.discharge_limit_a.clone()?.0;
    let draws = |i: usize| w.terminals.inverters.get(i).map_or(Ok(0.0), |p| p.design_a.clone());
    let found = |draws: f64, others: &str| {
        let path = FieldPath::new(format!("inverters.{id}"));
        Finding::new(&INVERTER_OVER, Level::Caution, path, &[draws, limit], &LABEL).named([id.as_str(), others])
    };
    let own = draws(i)?;
    if own > limit + 1e-9 {
        return Ok(Some(found(own, "")));
    }
    let inverters = &w.context.plan.inverters;
    let stay: Vec<usize> = (0..inverters.len()).filter(|j| is_inverter_of_bank(w.context, *j)).collect();
    let [first, others @ ..] = stay.as_slice() else { return Ok(None) };
    if *first != i || others.is_empty() {
        return Ok(None);
    }
    let mut together = own;
    for j in others {
        together += draws(*j)?;
    }
    let names: Vec<&str> = others.iter().filter_map(|j| inverters.get(*j)).map(|x| x.id.as_str()).collect();
    Ok((together > limit + 1e-9).then(|| found(together, &names.join(" and "))))
}

/// Packs whose rating nobody knows: what an inverter draws beside the rate that is usual, and the rating is asked for.
fn rate_unknown(w: &Work<'_>, out: &mut Gathered, i: usize, id: &Id) {
    let known = w.context.plan.bank.max_discharge_a.as_ref().is_some_and(|k| k.known().is_some());
    if known || !w.context.plan.bank.state.stays() || !w.context.chemistry().is_ok_and(|r| r.chemistry.is_lithium()) {
        return;
    }
    let per_h = rule_value(w, "discharge-rate-unknown");
    let found = (|| {
        let rate_a = w.report.bank.amp_hours.clone()?.0 * per_h;
        let draws = w.terminals.inverters.get(i).map_or(Ok(0.0), |p| p.design_a.clone())?;
        Ok((draws > rate_a + 1e-9).then(|| {
            let path = FieldPath::new(format!("inverters.{id}"));
            Finding::new(&RATE_UNKNOWN, Level::Note, path, &[draws, rate_a, per_h], &COMMON_PRACTICE).named([id])
        }))
    })();
    if matches!(found, Ok(Some(_))) {
        out.wait("bank.max_discharge_a".into());
    }
    out.take(&RATE_UNKNOWN, || FieldPath::new(format!("inverters.{id}")), found);
}

fn charge_over(w: &Work<'_>) -> Outcome {
    let limit = w.report.bank.charge_limit_a.clone()?.0;
    let all = charged(w.context, w.terminals)?;
    // What is over the limit without what nobody knows stays so with it.
    let known_a = all.known_a();
    let sum = if known_a > limit + 1e-9 { known_a } else { all.all_a()? };
    Ok((sum > limit + 1e-9).then(|| Finding::new(&CHARGE_OVER, Level::Caution, "bank".into(), &[sum, limit], &LABEL)))
}

/// A bank whose maker's charge limit nobody has entered: what is pushed beside the most that is usual for its kind. What is
/// not known of the sum waits elsewhere.
fn limit_unknown(w: &Work<'_>) -> Outcome {
    let bank = &w.context.plan.bank;
    if !bank.state.stays() || bank.max_charge_a.as_ref().is_some_and(|k| k.known().is_some()) {
        return Ok(None);
    }
    let (Ok(row), Ok(amp_hours)) = (w.context.chemistry(), &w.report.bank.amp_hours) else { return Ok(None) };
    let Ok(all) = charged(w.context, w.terminals) else { return Ok(None) };
    let (sum, usual) = (all.known_a(), amp_hours.0 * row.charge_rate_most);
    let found =
        || Finding::new(&CHARGE_UNKNOWN, Level::Note, "bank".into(), &[sum, usual, row.charge_rate_most], row.source);
    Ok((sum > usual + 1e-9).then(|| found().named([row.chemistry.word()])))
}

/// The alternator that a DC-DC charger draws on; a name that leads to none is said.
fn alternator_of<'a>(w: &'a Work<'_>, i: usize) -> Figure<(Option<&'a Device>, Option<Finding>)> {
    let (device, wrong) = dc_lines::alternator_of(w.context, i)?;
    let (Some((id, why)), Some(ch)) = (wrong, w.context.plan.chargers.get(i)) else { return Ok((device, None)) };
    let instead = device.map_or(String::new(), |d| format!("; the one on its line is {}", d.id));
    let found =
        Finding::new(&NO_ALTERNATOR, Level::Caution, at("chargers", &ch.id, "alternator"), &[], &COMMON_PRACTICE);
    Ok((device, Some(found.named([ch.id.as_str(), id.as_str(), why, instead.as_str()]))))
}

/// What the DC-DC chargers of one alternator draw together against its rating, said of the first of them.
fn alternator(w: &Work<'_>, i: usize, device: Option<&Device>) -> Outcome {
    let (plan, Some(device)) = (w.context.plan, device) else { return Ok(None) };
    let all = dc_lines::on_alternator(w.context, device);
    if all.first() != Some(&i) {
        return Ok(None);
    }
    let path = || at("devices", &device.id, "ratings.amps_a");
    let rating = device.ratings.amps_a.as_ref().ok_or_else(|| Missing(path()))?.at(path)?.0;
    let mut draws = 0.0;
    for j in &all {
        draws += w.terminals.inputs.get(*j).map_or(Ok(0.0), |p| p.design_a.clone())?;
    }
    let pct = draws / rating.max(1e-9) * 100.0;
    Ok((pct > w.context.rules.alternator_share_pct).then(|| {
        let mut ids = all.iter().filter_map(|j| plan.chargers.get(*j)).map(|ch| ch.id.as_str());
        let first = ids.next().unwrap_or_default();
        let path = FieldPath::new(format!("chargers.{first}"));
        let others: Vec<&str> = ids.collect();
        let numbers = [pct, draws, w.context.rules.alternator_share_pct];
        Finding::new(&ALTERNATOR, Level::Caution, path, &numbers, &COMMON_PRACTICE)
            .named([first.to_string(), others.join(" and ")])
    }))
}
