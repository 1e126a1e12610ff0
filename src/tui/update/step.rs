//! The next standard size of a field: at once where one moves about, as a draft where the field is open.

use crate::document::usual;
use crate::engine::LadderOf;
use crate::engine::ladder::{Columns, GaugeColumns};
use crate::engine::sizing::{LaidGauge, gauge_edits};
use crate::plan::entry;
use crate::plan::{Edit, FieldPath, Id, Kind, Known, Leg, Plan, Protection, Run, State, Step, Value};
use crate::standards::conductor::Gauge;
use crate::tui::bench;
use crate::tui::form::Row;
use crate::tui::line_edit::LineEdit;
use crate::tui::message::Effect;
use crate::tui::model::{Model, Pane};
use crate::tui::words;

use super::field::{base, commit, is_on_year, parsed_name, set_step};

/// What a size key comes to.
enum Next {
    /// What the program would choose where nothing is known.
    Chosen(Step),
    /// The size beside.
    Size(Step),
    /// It cannot choose: the ladder of gauges opens.
    Ladder,
    Not(String),
}

/// A field to step: of `plan`, its value that of `now`, where the step is named as a change of what stands in `from`.
struct Stepped<'a> {
    plan: &'a Plan,
    now: &'a Plan,
    from: &'a Plan,
    at: &'a FieldPath,
    prelude: &'a [Edit],
    up: bool,
}

/// Steps the focused field to its next standard size. An unknown gauge or fuse becomes what the program would choose;
/// where it cannot choose, the ladder of gauges opens.
pub(super) fn step(model: &mut Model, up: bool) -> Option<Effect> {
    let Some((at, prelude)) = focused_field(model) else {
        let run = model.plan().and_then(|plan| plan.runs.get(model.bench.run)).map(|run| run.id.to_string());
        match run.filter(|_| model.is_on_bench() && model.bench.pane == Pane::Results) {
            Some(run) => model.say(format!("these are results: Tab goes on to RUNS, there - + step the size of {run}")),
            None => model.say("there is no size to step here"),
        }
        return None;
    };
    let plan = base(model, &prelude)?;
    let from = model.document.as_ref()?.stepped_from(at.as_str()).cloned();
    let from = from.as_ref().unwrap_or(&plan);
    match next(model, &Stepped { plan: &plan, now: &plan, from, at: &at, prelude: &prelude, up }) {
        Next::Chosen(step) => {
            super::items::apply(model, step);
        }
        Next::Ladder => return super::ladder::open(model),
        Next::Not(why) => model.say(why),
        Next::Size(step) => {
            let document = model.document.as_mut()?;
            let done = match prelude.is_empty() {
                true => document.apply_stepping(&step, at.as_str()),
                false => document.apply(step),
            };
            if let Err(refused) = done {
                model.say(refused.why);
            }
        }
    }
    None
}

/// Steps what stands in the open field; that is a draft like what is typed, until Enter.
pub(super) fn step_open(model: &mut Model, up: bool) -> Option<Effect> {
    let field = model.field.as_ref()?;
    // From an emptied field one steps as from what stood there.
    let is_empty = field.said.is_err() && field.line.text().is_empty();
    if field.touched && field.said.is_err() && !is_empty {
        commit(model);
        return None;
    }
    let (at, prelude) = (field.at.clone(), field.prelude.clone());
    let plan = base(model, &prelude)?;
    let now = if field.touched && !is_empty { model.plan()?.clone() } else { plan.clone() };
    match next(model, &Stepped { plan: &plan, now: &now, from: &plan, at: &at, prelude: &prelude, up }) {
        Next::Chosen(step) | Next::Size(step) => {
            let document = model.document.as_mut()?;
            if let Err(refused) = document.try_draft(step) {
                model.say(refused.why);
                return None;
            }
            let text = entry::show_at(&document.shown().plan, &at).unwrap_or_default();
            let field = model.field.as_mut()?;
            field.line = LineEdit::replacing(text.clone());
            (field.touched, field.said) = (true, Ok(text));
        }
        Next::Ladder => {
            commit(model);
            return super::ladder::open(model);
        }
        Next::Not(why) => model.say(why),
    }
    None
}

fn next(model: &Model, field: &Stepped<'_>) -> Next {
    let Stepped { plan, now, at, prelude, .. } = *field;
    let run_in = |plan: &Plan| {
        let id = run_of_gauge(plan, at)?;
        plan.runs.iter().find(|r| r.id == id).cloned()
    };
    let run = run_in(now);
    let is_open = now.get_at(at) == Some(Value::Unknown);
    if is_open || run.as_ref().is_some_and(|run| LaidGauge::of(run) == LaidGauge::Unknown) {
        if let Some(step) = proposed_fuse(model, plan, at, prelude).or_else(|| chosen_gauge(model, plan, at)) {
            return Next::Chosen(step);
        }
        if run.is_some() {
            return Next::Ladder;
        }
    }
    let gauge = run.zip(run_in(plan)).and_then(|(now, laid)| next_gauge(field, &now, &laid));
    gauge.unwrap_or_else(|| next_value(field))
}

/// The run whose gauge a field is: its own, or that of its one new leg beside others that exist.
fn run_of_gauge(plan: &Plan, at: &FieldPath) -> Option<Id> {
    let is_it = |run: &&Run| {
        let item = FieldPath::from("runs").join(&run.id);
        let of_leg = |leg: &Leg| item.join("legs").join(&leg.id).join("gauge");
        *at == item.join("gauge") || bench::new_leg_beside_others(run).map(of_leg).as_ref() == Some(at)
    };
    plan.runs.iter().find(is_it).map(|run| run.id.clone())
}

/// An unknown gauge of a run becomes the smallest that its rules and its drop target allow, if that can be said; of a run
/// with a fuse the smallest that some fuse fits.
fn chosen_gauge(model: &Model, plan: &Plan, at: &FieldPath) -> Option<Step> {
    let run = run_of_gauge(plan, at)?;
    let document = model.document.as_ref()?;
    let (mut engine, stock) = (document.engine(), document.stock());
    let chosen = engine.select(plan, stock, &run).filter(|chosen| chosen.per_pole == 1)?;
    let has_fuse = plan.runs.iter().any(|r| r.id == run && !r.protection.is_empty());
    let rungs = engine.ladder(plan, stock, &LadderOf::Gauge(run));
    let columns = rungs.iter().filter_map(|rung| match &rung.columns {
        Columns::Gauge(columns) if columns.per_pole == 1 => Some(columns),
        _ => None,
    });
    let fuse_fits = |c: &GaugeColumns| matches!((&c.fuse_min_a, &c.fuse_max_a), (Ok(a), Ok(b)) if a.0 <= b.0);
    let mut thicker = columns.skip_while(|c| c.gauge != chosen.gauge);
    let gauge = thicker.find(|c| !has_fuse || fuse_fits(c))?.gauge;
    let missed = if chosen.meets_target { "" } else { "; no gauge that fits meets its drop target" };
    let name = format!("{} ? -> {gauge}, the smallest that fits{missed}", words::path(plan, at));
    let edits = gauge_edits(plan.runs.iter().find(|r| r.id == chosen.run)?, gauge);
    Some(Step { name, edits })
}

/// A run's gauge stepped as its ladder would: where some legs exist, those bought new. None where the legs differ: then
/// the field itself is what there is to step, unless that would rewrite wire which exists.
fn next_gauge(field: &Stepped<'_>, now: &Run, laid: &Run) -> Option<Next> {
    let gauge_of = |run: &Run| match LaidGauge::of(run) {
        LaidGauge::One(gauge) => Some(gauge),
        _ => None,
    };
    let Some(gauge) = gauge_of(now) else {
        let has = |new: bool| now.legs.iter().any(|l| l.state.stays() && (l.state == State::New) == new);
        let is_mixed = LaidGauge::of(now) == LaidGauge::Several && has(true) && has(false);
        let said = format!("{}: its new legs differ in gauge; step each leg's own", now.id);
        return is_mixed.then_some(Next::Not(said));
    };
    let Some(next) = (if field.up { gauge.thicker() } else { gauge.thinner() }) else {
        return Some(Next::Not("there is no next size".into()));
    };
    let was = field.from.runs.iter().find(|r| r.id == laid.id).and_then(gauge_of);
    let before = was.map_or(Value::Unknown, Value::Gauge);
    let name = parsed_name(field.plan, field.at, &before, &Value::Gauge(next));
    Some(Next::Size(Step { name, edits: gauge_edits(laid, next) }))
}

fn next_value(field: &Stepped<'_>) -> Next {
    let Stepped { plan, now, from, at, prelude, up } = *field;
    let next = entry::step(now, at, up).or_else(|| first_size(now, at)).or_else(|| first_of_stay(now, at, up));
    let Some(next) = next.or_else(|| super::quick::as_above(now, at)) else {
        return Next::Not(match now.get_at(at) {
            Some(Value::Unknown | Value::Nothing) => "nothing to step from: Enter, and type it".into(),
            _ => "there is no next size".into(),
        });
    };
    if !prelude.is_empty() {
        return Next::Size(set_step(plan, at, prelude.to_vec(), next, parsed_name));
    }
    let before = from.get_at(at).unwrap_or(Value::Unknown);
    let name = parsed_name(plan, at, &before, &next);
    let step = Step::one(name, Edit::Set { at: at.clone(), to: next });
    Next::Size(usual::with_cold_cut_off(plan, step))
}

/// The field that stepping means: the focused one.
pub(super) fn focused_field(model: &Model) -> Option<(FieldPath, Vec<Edit>)> {
    let plan = model.plan()?;
    if is_on_year(model) {
        return Some((model.focus()?, Vec::new()));
    }
    if model.is_on_bench() {
        if model.bench.pane != Pane::Runs {
            return None;
        }
        let cell = model.cell()?;
        let exists = !cell.prelude.is_empty() || plan.meta(&cell.at).is_some();
        return exists.then_some((cell.at, cell.prelude));
    }
    match model.form_row()? {
        Row::Field { at, .. } => Some((at, Vec::new())),
        _ => None,
    }
}

/// An unknown fuse steps to what the report proposes, if it proposes one.
fn proposed_fuse(model: &Model, plan: &Plan, at: &FieldPath, prelude: &[Edit]) -> Option<Step> {
    let (fuse, key) = at.split_last();
    if key != "amps_a" || !fuse.as_str().contains(".protection.") {
        return None;
    }
    let run = at.segments().nth(1)?;
    let report = &model.document.as_ref()?.shown().report;
    let proposed = report.runs.iter().find(|r| r.id.as_str() == run)?.proposed.as_ref()?;
    let mut edits = prelude.to_vec();
    let unknown = Protection::default().family;
    edits.push(Edit::Set { at: at.clone(), to: Value::Number(proposed.amps.0) });
    if plan.get_at(&fuse.join("family")) == Some(crate::plan::field::Leaf::to_value(&unknown)) {
        edits.push(Edit::Set { at: fuse.join("family"), to: Value::Word(proposed.family.word()) });
    }
    let name = format!("{} ? -> {} A {}", words::path(plan, at), words::num(proposed.amps.0), proposed.family);
    Some(Step { name, edits })
}

/// Where stepping starts for a stay's fields that are left out: a heading at the side of the equator, driving at the
/// first step above none.
fn first_of_stay(plan: &Plan, at: &FieldPath, up: bool) -> Option<Value> {
    let (owner, key) = at.split_last();
    let stay = plan.stays.iter().find(|s| owner == FieldPath::from("stays").join(&s.id))?;
    if plan.get_at(at) != Some(Value::Nothing) {
        return None;
    }
    match key {
        "heading_deg" => {
            let is_south = stay.latitude_deg.known().is_some_and(|l| l.0 < 0.0);
            Some(Value::Number(if is_south { 0.0 } else { 180.0 }))
        }
        "drive_h_day" if up => Some(Value::Number(0.5)),
        _ => None,
    }
}

/// Where stepping starts for a leg's gauge that is left out: its run's, else a size in the middle of the trade.
fn first_size(plan: &Plan, at: &FieldPath) -> Option<Value> {
    let is_gauge = plan.meta(at)?.kind == Kind::Gauge;
    let empty = matches!(plan.get_at(at)?, Value::Unknown | Value::Nothing);
    let run = at.segments().nth(1).and_then(|id| plan.runs.iter().find(|r| r.id.as_str() == id));
    if let (true, true, Some(Known::Is(gauge))) = (is_gauge, empty, run.map(|r| &r.gauge)) {
        return Some(Value::Gauge(*gauge));
    }
    let text = match plan.job.gauge_system {
        crate::plan::job::GaugeSystem::Awg => "10 AWG",
        crate::plan::job::GaugeSystem::Mm2 => "6 mm2",
    };
    (is_gauge && empty).then(|| text.parse::<Gauge>().ok().map(Value::Gauge)).flatten()
}
