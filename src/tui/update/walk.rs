//! The walk-round: which question comes next, from a blank plan to its first answer.

use crate::arrange::Arrange;
use crate::engine::Finding;
use crate::plan::job::LengthUnit;
use crate::plan::power::ChargerKind;
use crate::plan::{FieldPath, Id, Known, Plan, Value, entry};
use crate::standards::kinds::Basis;
use crate::tui::form;
use crate::tui::message::Effect;
use crate::tui::model::{Answer, Confirm, Model, Overlay, Pane, Then};
use crate::tui::words;

use super::browse::{go_to, show};
use super::{field, items, overlay};

/// The next step of the walk-round: where to go, and what to add first.
pub(super) fn guide(model: &mut Model) -> Option<Effect> {
    use crate::document::usual;
    let plan = model.plan()?;
    if let Some(what) = wanted(plan, &model.passed) {
        let (step, at) = usual::add(plan, what);
        items::apply_and_go(model, step, &at);
    }
    let plan = model.plan()?;
    if let Some(stay) = plan.stays.iter().find(|s| s.latitude_deg == Known::Unknown) {
        let at = FieldPath::from("stays").join(&stay.id);
        go_to(model, &at);
        overlay::pick_place(model, at);
        return None;
    }
    if is_first(plan) && plan.job.basis == Basis::UsRv && plan.job.length_unit == LengthUnit::Feet {
        let at = FieldPath::from("job.basis");
        if !model.passed.contains(&at) {
            super::quick::ask_basis(model);
            return None;
        }
    }
    let passed = &model.passed;
    let coldest = || {
        let at = FieldPath::from("job.coldest_c");
        (is_first(plan) && plan.job.coldest_c.is_none() && !passed.contains(&at)).then_some(at)
    };
    let target = coldest()
        .or_else(|| first_unknown(plan, "bank", &bank_label(plan), passed))
        .or_else(|| first_unknown(plan, "panels", &PANEL_LABEL, passed))
        .or_else(|| first_unknown(plan, "controllers", &CONTROLLER_LABEL, passed))
        .or_else(|| empty_strings(plan).filter(|at| !passed.contains(at)))
        .or_else(|| OTHERS.iter().find_map(|(list, keys)| first_unknown(plan, list, keys, passed)))
        .or_else(|| dc_dc_efficiency(plan, passed));
    if let Some(at) = target {
        go_to(model, &at);
        field::open(model, &at, Vec::new());
        return None;
    }
    let step = usual::missing_runs(plan);
    if !step.edits.is_empty() {
        show(model, 1);
        items::apply(model, step);
        model.bench.pane = Pane::Runs;
    }
    let plan = model.plan()?;
    let mut unknown: Vec<FieldPath> = form::unknowns(plan, &[]);
    unknown.retain(|at| at.is_within(&"runs".into()) && !model.passed.contains(at));
    // Run by run, as one measures and chooses: the ends, the way, then the wire and its fuses.
    let place = |at: &FieldPath| {
        let run = plan.runs.iter().position(|run| at.is_within(&FieldPath::from("runs").join(&run.id)));
        let (_, key) = at.split_last();
        (run, RUN_ORDER.iter().position(|k| *k == key).unwrap_or(RUN_ORDER.len()))
    };
    unknown.arrange_by_key(place);
    match unknown.into_iter().next() {
        Some(at) if usual::lacks_engine(plan) && is_charger_input(plan, &at) => ask_engine(model, at),
        Some(at) => {
            show(model, 1);
            go_to(model, &at);
            field::open(model, &at, Vec::new());
        }
        None => complete(model),
    }
    None
}

/// Nothing is left to ask: says what is, and what comes next.
fn complete(model: &mut Model) {
    let Some(plan) = model.plan() else { return };
    let loads = if plan.loads.is_empty() { "; 2 then s: loads" } else { "" };
    let is_open = plan.runs.iter().any(|run| run.gauge == Known::Unknown);
    let sizes = if is_open { "; z sizes runs" } else { "" };
    // Passed over is also what was answered or left out.
    let empty = empty_strings(plan);
    let is_left = |at: &&FieldPath| plan.get_at(at).is_none_or(|v| v == Value::Unknown) || empty.as_ref() == Some(*at);
    let left = model.passed.iter().filter(is_left).count();
    // The next round asks for them again; rules, units and the coldest place are asked once.
    model.passed.retain(|at| at.is_within(&"job".into()));
    model.is_guided = false;
    show(model, 1);
    let all = model.document.as_ref().map_or(0, |d| d.shown().report.unknown.len());
    let rest = match (impossible(model, None), all) {
        (Some(why), _) => format!("no harvest yet: {why}"),
        (None, 0) => "nothing else is waited for".to_string(),
        (None, all) => format!("n: next of {all} unknown"),
    };
    let said = match left {
        0 => format!("the walk-round is complete; {rest}{sizes}{loads}"),
        n => format!("the walk-round is complete, {n} of its questions left at ? (g asks again); {rest}{sizes}{loads}"),
    };
    model.say(said);
}

/// Answers that cannot all be right, for which the harvest waits though none of them is unknown: of one thing, or of any.
fn impossible(model: &Model, within: Option<&FieldPath>) -> Option<String> {
    let shown = model.document.as_ref()?.shown();
    let is_it = |f: &&Finding| {
        let is_set = || within.is_some_and(|at| matches!(at.split_last().1, "absorb_v" | "float_v" | "equalise_v"));
        (f.check.id == "label-impossible" || (f.check.id == "charge-volts-high" && is_set()))
            && within.is_none_or(|at| f.subject.is_within(at) || at.is_within(&f.subject))
    };
    let finding = shown.report.findings.iter().find(is_it)?;
    Some(crate::wording::findings::sentence(&shown.plan, finding))
}

/// Whether only the place of a plan is known yet: rules, units and the coldest place are asked before the batteries.
fn is_first(plan: &Plan) -> bool {
    plan.bank.chemistry == Known::Unknown && plan.panels.is_empty() && plan.runs.is_empty()
}

/// In which order a run's unknown fields are asked for; what is not named comes last.
const RUN_ORDER: [&str; 8] = ["from", "to", "length_m", "zone", "laid", "insulation_c", "gauge", "amps_a"];

/// Whether a field says where a DC-DC charger's input comes from.
fn is_charger_input(plan: &Plan, at: &FieldPath) -> bool {
    let is_dc_dc = |id: &Id| {
        let mut chargers = plan.chargers.iter();
        chargers.any(|c| c.id == *id && c.kind == Known::Is(ChargerKind::DcDc))
    };
    let run = plan.runs.iter().find(|run| *at == FieldPath::from("runs").join(&run.id).join("from"));
    run.and_then(|run| run.to.known()).is_some_and(is_dc_dc)
}

/// No device of the plan is an answer: asks whether the usual ones shall be added.
fn ask_engine(model: &mut Model, at: FieldPath) {
    use crate::document::usual;
    let Some(plan) = model.plan() else { return };
    let step = usual::engine_side(plan);
    let question = format!(
        "{}: a DC-DC charger draws on the engine's side, and the plan has no start battery, alternator or tow connector.",
        words::path(plan, &at)
    );
    show(model, 1);
    go_to(model, &at);
    model.overlay = Some(Overlay::Confirm(Confirm {
        question,
        answers: vec![
            Answer {
                letter: '1',
                words: "add a start battery and an alternator, both existing",
                then: Then::Apply(step),
            },
            Answer { letter: '2', words: "leave it ? and go on", then: Then::Pass(at) },
        ],
        cursor: 0,
    }));
}

/// What the walk-round adds next, once everything before it is known.
fn wanted(plan: &Plan, passed: &[FieldPath]) -> Option<crate::document::usual::Addition> {
    use crate::document::usual::Addition;
    if plan.stays.is_empty() {
        return Some(Addition::Stay);
    }
    let lacks = |list: &str, keys: &[&str]| first_unknown(plan, list, keys, passed).is_some();
    if plan.stays.iter().any(|s| s.latitude_deg == Known::Unknown) || lacks("bank", &bank_label(plan)) {
        return None;
    }
    if plan.panels.is_empty() {
        return Some(Addition::Panel);
    }
    if lacks("panels", &PANEL_LABEL) {
        return None;
    }
    if plan.controllers.is_empty() {
        return Some(Addition::Controller);
    }
    (!lacks("controllers", &CONTROLLER_LABEL) && plan.arrays.is_empty()).then_some(Addition::Array)
}

/// The walk-round after an answer in a field: on to the next; what is left unknown is not asked for again
/// before the round is complete, whatever was done between its questions.
pub(super) fn guide_on(model: &mut Model, answered: &FieldPath) -> Option<Effect> {
    let is_unknown = model.plan()?.get_at(answered).is_none_or(|v| v == Value::Unknown);
    let is_empty = model.plan().and_then(empty_strings).as_ref() == Some(answered);
    // An answer, too: the coldest is that of the stays.
    let is_left_out = model.plan()?.get_at(answered) == Some(Value::Nothing);
    if (is_unknown || is_empty || is_left_out) && !model.passed.contains(answered) {
        model.passed.push(answered.clone());
    }
    if let Some(said) = understood(model, answered) {
        model.say(said);
    }
    guide(model)
}

/// What an answer was taken for, said while the next question stands: `12.8` may have gone into another field than meant.
fn understood(model: &Model, answered: &FieldPath) -> Option<String> {
    let plan = model.plan()?;
    let (meta, value) = (plan.meta(answered)?, plan.get_at(answered)?);
    let shown = match entry::show(entry::Units::of(plan), meta, &value) {
        shown if shown.is_empty() => "left out".into(),
        shown => shown,
    };
    let odd = impossible(model, Some(answered)).map_or_else(String::new, |why| format!("; {why}"));
    (value != Value::Unknown).then(|| format!("taken: {} {shown}{odd}", words::path(plan, answered)))
}

/// What must be known of the bank before anything can be computed, in the order of its label.
const BANK_LABEL: [&str; 7] = ["chemistry", "unit_v", "unit_ah", "series", "parallel", "charge_cutoff_c", "heated"];

/// What is asked of this bank: lead has no cut-off in the cold.
fn bank_label(plan: &Plan) -> Vec<&'static str> {
    let is_lead = plan.bank.chemistry.known().is_some_and(|c| !c.is_lithium());
    BANK_LABEL.into_iter().filter(|key| !(is_lead && *key == "charge_cutoff_c")).collect()
}

/// What a controller's label must give.
const CONTROLLER_LABEL: [&str; 4] = ["kind", "max_pv_v", "out_a", "absorb_v"];

/// What is asked of the rest, where there is any.
const OTHERS: [(&str, &[&str]); 3] = [
    ("inverters", &["watts_w", "idle_w"]),
    ("chargers", &["kind", "out_a", "absorb_v"]),
    ("loads", &["watts_w", "hours_day"]),
];

/// A DC-DC charger's input current waits for its efficiency; no other charger's line does.
fn dc_dc_efficiency(plan: &Plan, passed: &[FieldPath]) -> Option<FieldPath> {
    let dc_dc = plan.chargers.iter().filter(|c| c.kind == Known::Is(ChargerKind::DcDc));
    let mut fields = dc_dc.map(|c| FieldPath::from("chargers").join(&c.id).join("efficiency_pct"));
    fields.find(|at| plan.get_at(at) == Some(Value::Unknown) && !passed.contains(at))
}

/// What a panel's label must give before anything can be computed.
const PANEL_LABEL: [&str; 6] = ["pmax_w", "vmp_v", "imp_a", "voc_v", "isc_a", "cells"];

fn first_unknown(plan: &Plan, section: &str, keys: &[&str], passed: &[FieldPath]) -> Option<FieldPath> {
    let at = FieldPath::from(section);
    let in_record = |at: FieldPath| {
        let record = plan.record(&at)?;
        let unknown = keys.iter().filter(|key| record.get(key) == Some(Value::Unknown));
        unknown.map(|key| at.join(key)).find(|at| !passed.contains(at))
    };
    match plan.list_at(&at) {
        Some(list) => (0..list.len()).filter_map(|i| list.id_at(i)).find_map(|id| in_record(at.join(id))),
        None => in_record(at),
    }
}

fn empty_strings(plan: &Plan) -> Option<FieldPath> {
    let arrays = FieldPath::from("arrays");
    let empty = plan.arrays.iter().find(|a| a.strings.panels() == 0).map(|a| arrays.join(&a.id).join("strings"));
    empty.or_else(|| {
        let lost = plan.arrays.iter().find(|a| a.controller == Known::Unknown)?;
        Some(arrays.join(&lost.id).join("controller"))
    })
}
