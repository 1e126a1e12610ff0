//! Fields that are often wanted, one key from the run: a fuse's type, a leg's insulation and zone; and what an answer
//! brings up next.

use crate::plan::job::{GaugeSystem, LengthUnit, Paper, TemperatureUnit};
use crate::plan::{Edit, FieldPath, Id, Known, Leg, Plan, Run, State, Step, Value};
use crate::standards::kinds::Basis;
use crate::tui::bench::Column;
use crate::tui::model::{Answer, Confirm, Left, Model, Overlay, Pane, Then};
use crate::tui::words;
use crate::words::counted;

use super::{browse, field};

/// Opens a field of the selected run over the Bench; elsewhere on its own form.
fn open(model: &mut Model, at: &FieldPath) {
    if !model.is_on_bench() {
        browse::go_to(model, at);
    }
    field::open(model, at, Vec::new());
}

fn selected(model: &Model) -> Option<Run> {
    let id = model.run()?;
    model.plan()?.runs.iter().find(|run| run.id == id).cloned()
}

/// The hours a day of the selected load.
pub(super) fn hours(model: &mut Model) {
    let load = model.item().filter(|at| at.is_within(&"loads".into()));
    match load {
        Some(load) => {
            let at = load.join("hours_day");
            browse::go_to(model, &at);
            field::open(model, &at, Vec::new());
        }
        None => model.say("put the cursor on a load first: 2 has them"),
    }
}

/// The type of the selected run's first fuse; where it has none its amps come first.
pub(super) fn fuse_type(model: &mut Model) {
    let Some(run) = selected(model) else { return model.say("put the cursor on a run first: Tab leads to RUNS") };
    let item = FieldPath::from("runs").join(&run.id);
    match run.protection.first() {
        Some(fuse) => open(model, &item.join("protection").join(&fuse.id).join("family")),
        None if model.is_on_bench() => {
            model.bench.column = Column::Fuse;
            browse::enter(model);
        }
        None => model.say(format!("{} has no fuse yet: a on its list adds one", run.id)),
    }
}

/// A field of the selected run's leg: the first where it is not known, else the first.
pub(super) fn leg_field(model: &mut Model, key: &str) {
    let Some(run) = selected(model) else { return model.say("put the cursor on a run first: Tab leads to RUNS") };
    let is_unknown = |leg: &&Leg| match key {
        "zone" => leg.zone == Known::Unknown,
        "laid" => leg.laid == Known::Unknown,
        _ => leg.insulation_c == Known::Unknown,
    };
    match run.legs.iter().find(is_unknown).or(run.legs.first()) {
        Some(leg) => open(model, &FieldPath::from("runs").join(&run.id).join("legs").join(&leg.id).join(key)),
        None => model.say(format!("{} has no leg yet: enter its length first", run.id)),
    }
}

/// On the Bench a fuse is asked for whole: after its amps its type, after that how far along the wire it sits; Esc leaves
/// the rest `?`.
pub(super) fn follow(model: &mut Model, at: &FieldPath) {
    let (fuse, key) = at.split_last();
    if !model.is_on_bench() || model.overlay.is_some() || !fuse.as_str().contains(".protection.") {
        return;
    }
    let is_unknown = |key: &str| model.plan().and_then(|p| p.get_at(&fuse.join(key))) == Some(Value::Unknown);
    let next = match key {
        "amps_a" if is_unknown("amps_a") => None,
        "amps_a" if is_unknown("family") => Some("family"),
        "family" if is_unknown("amps_a") => Some("amps_a"),
        "amps_a" | "family" if is_unknown("distance_m") => Some("distance_m"),
        _ => None,
    };
    if let Some(next) = next {
        field::open(model, &fuse.join(next), Vec::new());
    }
}

/// A new run is asked for its ends first.
pub(super) fn open_ends(model: &mut Model) {
    model.bench.pane = Pane::Runs;
    model.bench.column = Column::From;
    browse::enter(model);
}

/// The insulation of the leg before this one, of those whose insulation is known; the first after it where none is before.
pub(super) fn as_above(plan: &Plan, at: &FieldPath) -> Option<Value> {
    if at.split_last().1 != "insulation_c" || plan.get_at(at) != Some(Value::Unknown) {
        return None;
    }
    let legs = || plan.runs.iter().flat_map(|run| run.legs.iter().map(move |leg| (leg_path(&run.id, &leg.id), leg)));
    let here = legs().position(|(path, _)| path.join("insulation_c") == *at)?;
    let known = |leg: &Leg| leg.insulation_c.known().map(|c| Value::Number(c.0));
    let before: Vec<Value> = legs().take(here).filter_map(|(_, leg)| known(leg)).collect();
    before.last().cloned().or_else(|| legs().skip(here + 1).find_map(|(_, leg)| known(leg)))
}

fn leg_path(run: &Id, leg: &Id) -> FieldPath {
    FieldPath::from("runs").join(run).join("legs").join(leg)
}

/// After a leg's insulation, zone or way of laying: offers the same for new wire that has none entered, of its run or of
/// all; whether it asks.
pub(super) fn ask_same(model: &mut Model, at: &FieldPath) -> bool {
    let (Some(plan), key) = (model.plan(), at.split_last().1) else { return false };
    let (Some(meta), Some(value)) = (plan.meta(at), plan.get_at(at)) else { return false };
    let (what, shown) = match (key, &value) {
        ("insulation_c", Value::Number(celsius)) => ("insulation", format!("{} C", words::num(*celsius))),
        ("zone", Value::Word(word)) => (meta.label, (*word).to_string()),
        ("laid", Value::Word(word)) => ("way of laying", (*word).to_string()),
        _ => return false,
    };
    let of_run = |run: &Run| -> Vec<FieldPath> {
        let new = run.legs.iter().filter(|leg| leg.state == State::New);
        let fields = new.map(|leg| leg_path(&run.id, &leg.id).join(key));
        fields.filter(|at| plan.get_at(at) == Some(Value::Unknown)).collect()
    };
    let all: Vec<FieldPath> = plan.runs.iter().flat_map(of_run).collect();
    let own = plan.runs.iter().find(|run| at.is_within(&FieldPath::from("runs").join(&run.id))).map(of_run);
    let own = own.unwrap_or_default();
    // One more is as soon typed as answered for.
    if all.len() < 2 {
        return false;
    }
    let step = |paths: &[FieldPath]| {
        let edits = paths.iter().map(|at| Edit::Set { at: at.clone(), to: value.clone() });
        Step { name: format!("{what} {shown} of {}", counted(paths.len(), "leg")), edits: edits.collect() }
    };
    let named: Vec<String> = all.iter().take(6).map(|at| words::path(plan, &at.split_last().0)).collect();
    let more = all.len() - named.len();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let question = format!(
        "{}: {shown}. {} legs of new wire have no {what} entered: {}{more}. The same there? Arrows and Enter answer{}.",
        words::path(plan, at),
        all.len(),
        named.join(", "),
        if model.is_guided { "; what is typed is the next answer" } else { "" }
    );
    // What is typed ahead chooses nothing.
    let letter = Answer::BY_ARROWS;
    let only = if model.is_guided { Then::Pass(at.clone()) } else { Then::Nothing };
    let mut answers = vec![Answer { letter, words: "only here", then: only }];
    if !own.is_empty() && own.len() < all.len() {
        answers.push(Answer { letter, words: "the rest of this run", then: Then::Apply(step(&own)) });
    }
    answers.push(Answer { letter, words: "all of them", then: Then::Apply(step(&all)) });
    model.overlay = Some(Overlay::Confirm(Confirm { question, answers, cursor: 0 }));
    true
}

/// The plan's units as they go with metric rules, or with the others.
fn usual_units(is_metric: bool) -> [(&'static str, &'static str); 4] {
    match is_metric {
        true => [
            ("gauge_system", GaugeSystem::Mm2.word()),
            ("length_unit", LengthUnit::Metres.word()),
            ("temperature_unit", TemperatureUnit::Celsius.word()),
            ("paper", Paper::A4.word()),
        ],
        false => [
            ("gauge_system", GaugeSystem::Awg.word()),
            ("length_unit", LengthUnit::Feet.word()),
            ("temperature_unit", TemperatureUnit::Fahrenheit.word()),
            ("paper", Paper::Letter.word()),
        ],
    }
}

fn set_job(key: &str, word: &'static str) -> Edit {
    Edit::Set { at: FieldPath::from("job").join(key), to: Value::Word(word) }
}

/// The rules and units of a plan that has only its place: asked by the walk-round, the usual ones of that side of the
/// ocean marked. What is chosen is data in the plan as if typed.
pub(super) fn ask_basis(model: &mut Model) {
    let Some(plan) = model.plan() else { return };
    let stay = plan.stays.first();
    let place = stay.map_or_else(String::new, |stay| stay.place.clone());
    // America north of Panama and its islands; our own line.
    let is_american = stay.is_none_or(|stay| {
        let (north, east) = (stay.latitude_deg.known().map(|d| d.0), stay.longitude_deg.known().map(|d| d.0));
        north.is_none_or(|d| d > 8.0) && east.is_none_or(|d| d < -50.0)
    });
    let step = |basis: Basis, units: &[(&str, &'static str)]| {
        let mut edits = vec![set_job("basis", basis.word())];
        edits.extend(units.iter().map(|(key, word)| set_job(key, word)));
        Then::Apply(Step { name: format!("{basis} rules and units"), edits })
    };
    let by_metres = [("length_unit", LengthUnit::Metres.word()), ("temperature_unit", TemperatureUnit::Celsius.word())];
    let answers = vec![
        Answer { letter: '1', words: "US RV rules; feet, F, AWG", then: Then::Pass("job.basis".into()) },
        Answer { letter: '2', words: "metric rules; metres, C, mm2", then: step(Basis::Metric, &usual_units(true)) },
        Answer { letter: '3', words: "marine rules; feet, F, AWG", then: step(Basis::Marine, &[]) },
        Answer { letter: '4', words: "US RV rules; metres, C, AWG", then: step(Basis::UsRv, &by_metres) },
    ];
    let question = format!("{place}: by which rules is the work judged, and in which units is it shown?");
    let cursor = usize::from(!is_american);
    model.overlay = Some(Overlay::Confirm(Confirm { question, answers, cursor }));
}

/// Another rule basis that is about to be committed: where the plan's units are those of the other side of the ocean,
/// asks whether they go along, in the same step; whether it asks.
pub(super) fn ask_units(model: &mut Model) -> bool {
    let is_basis = model.field.as_ref().is_some_and(|field| field.touched && field.at.as_str() == "job.basis");
    let (true, Some(document)) = (is_basis, &mut model.document) else { return false };
    let (was, now) = (&document.committed().plan.job, &document.shown().plan.job);
    if was.basis == now.basis {
        return false;
    }
    let is_metric = now.basis == Basis::Metric;
    let plan = &document.committed().plan;
    let along: Vec<(&str, &'static str)> = usual_units(is_metric)
        .into_iter()
        .filter(|(key, word)| plan.get_at(&FieldPath::from("job").join(key)) != Some(Value::Word(word)))
        .collect();
    if along.is_empty() {
        return false;
    }
    let basis = set_job("basis", now.basis.word());
    let name = format!("rule basis {} -> {}", was.basis, now.basis);
    let listed: Vec<&str> = along.iter().map(|(_, word)| *word).collect();
    let question = format!(
        "{name}. The plan's units are others: {} with it? Nothing is converted, only shown so.",
        listed.join(", ")
    );
    let mut edits = vec![basis.clone()];
    edits.extend(along.iter().map(|(key, word)| set_job(key, word)));
    let both = Step { name: format!("{name}, units too"), edits };
    document.drop_draft();
    model.left = model.field.take().map(|field| Left { at: field.at, by_esc: false });
    model.overlay = Some(Overlay::Confirm(Confirm {
        question,
        answers: vec![
            Answer { letter: 'u', words: "the units along", then: Then::Apply(both) },
            Answer { letter: 'o', words: "only the rules", then: Then::Apply(Step::one(name, basis)) },
        ],
        cursor: 0,
    }));
    true
}
