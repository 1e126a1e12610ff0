//! The open field: every key that parses is a draft with its report; Enter makes it one step.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use crate::document::usual;
use crate::engine::LadderOf;
use crate::engine::ladder::{Columns, GaugeColumns};
use crate::engine::sizing::{LaidGauge, gauge_edits};
use crate::plan::entry;
use crate::plan::{Edit, FieldPath, Id, Kind, Known, Leg, Meta, Plan, Protection, Run, State, Step, Value};
use crate::standards::conductor::Gauge;
use crate::standards::fuse::trade_words;
use crate::tui::bench;
use crate::tui::choice::ChoiceList;
use crate::tui::form::Row;
use crate::tui::keymap::{self, Action, Context};
use crate::tui::layout;
use crate::tui::line_edit::LineEdit;
use crate::tui::message::Effect;
use crate::tui::model::{Model, OpenField, Overlay, Pane};
use crate::tui::shop::Shop;
use crate::tui::words;

use super::{browse, file, seasons};

/// The committed plan with a field's prelude.
fn base(model: &Model, prelude: &[Edit]) -> Option<Plan> {
    let plan = &model.document.as_ref()?.committed().plan;
    plan.with(&Step { name: String::new(), edits: prelude.to_vec() }).ok()
}

/// Opens a field for typing.
pub(super) fn open(model: &mut Model, at: &FieldPath, prelude: Vec<Edit>) {
    let Some(plan) = base(model, &prelude) else { return };
    let Some(meta) = plan.meta(at) else { return };
    let now = entry::show_at(&plan, at).unwrap_or_default().replace('\n', "; ");
    let list = ChoiceList::of(&plan, at, meta, &now);
    let line = LineEdit::replacing(now);
    model.field = Some(OpenField { at: at.clone(), prelude, line, touched: false, said: Ok(String::new()), list });
}

/// A digit or a point typed on the row of a form's field that is no text standing already, a letter on an empty text field's, or a capital where a text stands
/// already, opens the field and is the first of its text; whether it was one. It would lead to another screen otherwise,
/// or be a command, from the middle of an entry. Where a text stands small letters are commands; those that write to
/// another file are capitals.
pub(super) fn begins(model: &mut Model, key: KeyEvent) -> bool {
    let KeyCode::Char(c) = key.code else { return false };
    if !key.modifiers.difference(KeyModifiers::SHIFT).is_empty() {
        return false;
    }
    let is_text = (c.is_alphabetic() && model.takes_letters()) || (c.is_uppercase() && model.takes_capitals());
    if !(c.is_ascii_digit() || c == '.' || is_text) {
        return is_lost_letter(model, key, c);
    }
    // Where no choice has the digit it is no entry; where a text stands it is a key as a small letter is.
    if matches!(model.form_row(), Some(Row::Field { meta, .. }) if !can_begin(meta, c))
        || (model.holds_text() && !is_text)
    {
        return false;
    }
    match (model.context(), model.form_row()) {
        (Context::Browsing, Some(Row::Field { at, meta })) => {
            let (stay, _) = at.split_last();
            if is_text && meta.key == "place" && stay.as_str().starts_with("stays.") {
                // A place is found by typing: that brings its position too.
                super::overlay::pick_place(model, stay);
                super::act(model, Action::Type(c));
                return true;
            }
            super::act(model, Action::Enter);
            if model.field.is_some() {
                super::act(model, Action::Type(c));
            }
            true
        }
        (Context::Shop, _) if matches!(model.shop.as_ref().and_then(Shop::row), Some(Row::Field { .. })) => {
            super::act(model, Action::Enter);
            if model.context() == Context::Field {
                super::act(model, Action::Type(c));
            }
            true
        }
        _ => false,
    }
}

/// A letter that is no command, typed at a text that stands: says how the text is edited.
fn is_lost_letter(model: &mut Model, key: KeyEvent, c: char) -> bool {
    let is_text = matches!(model.form_row(), Some(Row::Field { meta, .. }) if meta.kind == Kind::Text && !meta.unknown);
    let is_lost = c.is_alphabetic() && model.context() == Context::Browsing && is_text;
    let is_lost = is_lost && keymap::resolve(Context::Browsing, key).is_none();
    if is_lost {
        model.say("small letters are keys here: Enter, Backspace or a capital types over the text");
    }
    is_lost
}

/// Whether a digit can stand in what a field takes.
fn can_begin(meta: &Meta, c: char) -> bool {
    let Kind::Words(words) = meta.kind else { return true };
    words.iter().any(|word| word.contains(c) || trade_words(word).iter().any(|name| name.contains(c)))
}

pub(super) fn act(model: &mut Model, action: Action) -> Option<Effect> {
    match action {
        Action::Back => {
            if std::mem::take(&mut model.is_guided) {
                model.say("g goes on with the walk-round");
            }
            model.left = model.field.take().map(|field| field.at);
            if let Some(document) = &mut model.document {
                document.drop_draft();
            }
            if let Some(at) = model.left.clone() {
                super::rules::leave(model, &at);
            }
        }
        Action::Enter => {
            let at = model.field.as_ref().map(|field| field.at.clone());
            if commit(model)
                && let Some(at) = at
            {
                if super::quick::ask_insulation(model, &at) {
                    return None;
                }
                if model.is_guided {
                    return super::walk::guide_on(model, &at);
                }
                super::rules::ask_reason(model, &at);
                super::quick::follow(model, &at);
            }
        }
        Action::Up | Action::Down | Action::Larger | Action::Smaller if has_list(model) => move_choice(model, action),
        Action::Up | Action::Down => {
            let is_typed = model.field.as_ref().is_some_and(|field| field.touched);
            if commit(model) && !is_on_year(model) {
                let was = model.bench.run;
                browse::move_cursor(model, action);
                // A column is typed down: what comes next is text again, not a key.
                if is_typed && model.is_on_bench() && model.bench.run != was && focused_field(model).is_some() {
                    browse::enter(model);
                }
            }
        }
        Action::NextPane | Action::PreviousPane => {
            if commit(model) {
                open_next(model, action == Action::NextPane);
            }
        }
        Action::Larger | Action::Smaller => {
            let open_field = model.field.as_ref().map(|field| (field.at.clone(), field.prelude.clone()));
            if commit(model) {
                // The open field itself: over the Bench it need not be that of the marked cell.
                if let Some(effect) = step_at(model, open_field.clone(), action == Action::Larger) {
                    return Some(effect);
                }
                super::settle(model);
                match open_field {
                    _ if is_on_year(model) => seasons::edit(model),
                    Some((at, prelude)) => {
                        let stands = model.plan().is_some_and(|plan| plan.meta(&at).is_some());
                        open(model, &at, if stands { Vec::new() } else { prelude });
                    }
                    None => {}
                }
            }
        }
        Action::Save => {
            if commit(model) {
                return file::save(model);
            }
        }
        _ => {
            edit_line(model, action);
        }
    }
    None
}

fn edit_line(model: &mut Model, action: Action) {
    let Some(field) = &mut model.field else { return };
    let before = field.line.text().to_string();
    apply_to_line(&mut field.line, action);
    if field.line.text() != before {
        field.touched = true;
        if let Some(list) = &mut field.list {
            list.narrowed(field.line.text());
        }
        draft(model);
    }
}

fn has_list(model: &Model) -> bool {
    model.field.as_ref().is_some_and(|field| field.list.is_some())
}

/// Marks another row of a list by an arrow or a page key.
pub(super) fn mark_choice(list: &mut ChoiceList, typed: Option<&str>, action: Action, page: usize) {
    let is_page = matches!(action, Action::Larger | Action::Smaller);
    let is_down = matches!(action, Action::Down | Action::Smaller);
    list.mark(typed, is_down, if is_page { page.max(2) } else { 1 });
}

/// Marks another choice; the plan with it is the draft.
fn move_choice(model: &mut Model, action: Action) {
    let page = layout::overlay_rows(model.size);
    let Some(field) = &mut model.field else { return };
    let typed = field.typed().map(ToString::to_string);
    let Some(list) = &mut field.list else { return };
    mark_choice(list, typed.as_deref(), action, page);
    field.touched = true;
    draft(model);
}

/// Applies a typing action to a line.
pub(super) fn apply_to_line(line: &mut LineEdit, action: Action) {
    match action {
        Action::Type(c) => line.insert(c.encode_utf8(&mut [0; 4])),
        Action::Left => line.left(),
        Action::Right => line.right(),
        Action::First => line.home(),
        Action::Last => line.end(),
        Action::EraseLeft => line.erase_left(),
        Action::EraseRight => line.erase_right(),
        Action::EraseWord => line.erase_word(),
        Action::EraseAll => line.erase_all(),
        _ => {}
    }
}

/// Pasted text goes into what is open as one text; a focused field opens for it.
pub(super) fn paste(model: &mut Model, text: &str) {
    match &mut model.overlay {
        Some(Overlay::Pick(pick)) => {
            pick.line.insert(text);
            pick.cursor = 0;
            return;
        }
        Some(Overlay::Prompt(prompt)) => return prompt.line.insert(text),
        Some(Overlay::Seasons(_)) if model.field.is_some() => {}
        Some(_) => return,
        None if model.shop.is_some() => return super::shop::paste(model, text),
        None => {}
    }
    if model.document.is_some() && model.field.is_none() {
        browse::enter(model);
    }
    if let Some(field) = &mut model.field {
        field.line.insert(text);
        field.touched = true;
        if let Some(list) = &mut field.list {
            list.narrowed(field.line.text());
        }
        draft(model);
    }
}

/// Reads the text and shows the plan with it, marked as a draft; text that does not parse shows the committed plan.
fn draft(model: &mut Model) {
    let Some(field) = &model.field else { return };
    let (at, prelude, text) = (field.at.clone(), field.prelude.clone(), field.meant());
    let Some(plan) = base(model, &prelude) else { return };
    let read = super::quick::date(&at, &text).and_then(|()| entry::parse(&plan, &at, &text).map_err(|e| e.why));
    let said = read.and_then(|parsed| {
        let step = set_step(&plan, &at, prelude, parsed.value, parsed_name);
        match &mut model.document {
            Some(document) => document.try_draft(step).map(|()| parsed.understood).map_err(|e| e.why),
            None => Ok(parsed.understood),
        }
    });
    if said.is_err()
        && let Some(document) = &mut model.document
    {
        document.drop_draft();
    }
    if let Some(field) = &mut model.field {
        field.said = said;
    }
}

fn parsed_name(plan: &Plan, at: &FieldPath, before: &Value, after: &Value) -> String {
    let units = entry::Units::of(plan);
    let label = words::path(plan, at);
    let Some(meta) = plan.meta(at) else { return label };
    let show = |value: &Value| match value {
        Value::Nothing => "none".into(),
        Value::Text(t) if t.is_empty() => "none".into(),
        value => short(&entry::show(units, meta, value)),
    };
    format!("{label} {} -> {}", show(before), show(after))
}

fn short(text: &str) -> String {
    let line = text.lines().next().unwrap_or("");
    if line.chars().count() > 24 { format!("{}..", line.chars().take(22).collect::<String>()) } else { line.into() }
}

type Namer = fn(&Plan, &FieldPath, &Value, &Value) -> String;

/// A step that gives a field a value, named by what it changes.
fn set_step(plan: &Plan, at: &FieldPath, mut edits: Vec<Edit>, to: Value, name: Namer) -> Step {
    let before = plan.get_at(at).unwrap_or(Value::Unknown);
    let name = name(plan, at, &before, &to);
    edits.push(Edit::Set { at: at.clone(), to });
    usual::with_cold_cut_off(plan, Step { name, edits })
}

/// Commits what is typed. False where it does not parse: the field stays open.
pub(super) fn commit(model: &mut Model) -> bool {
    let Some(field) = &mut model.field else { return true };
    if let (true, Err(why)) = (field.touched, &field.said) {
        let why = why.clone();
        if field.list.is_none() {
            // What is typed next is another try, not the end of this one.
            field.line.freshen();
        }
        model.say(why);
        return false;
    }
    if super::quick::ask_units(model) {
        return false;
    }
    let Some(document) = &mut model.document else { return true };
    document.commit_draft();
    model.field = None;
    if let Some(remark) = refused_when_locked(model) {
        model.say(remark);
    }
    true
}

fn refused_when_locked(model: &Model) -> Option<String> {
    let who = model.locked_by.as_ref()?;
    let dirty = model.document.as_ref()?.is_dirty();
    dirty.then(|| format!("read only ({who}): this stays in memory until W saves it under another name"))
}

/// Whether a field of the opened year is meant.
fn is_on_year(model: &Model) -> bool {
    matches!(model.overlay, Some(Overlay::Seasons(_)))
}

/// After Tab: the next field opens, or the next unknown where Tab walks those.
fn open_next(model: &mut Model, forward: bool) {
    if is_on_year(model) {
        seasons::mark(model, forward);
        return seasons::edit(model);
    }
    if model.is_tab_on_unknowns {
        browse::next_unknown(model, !forward);
    } else if model.is_on_bench() {
        match model.bench.column.beside(forward) {
            Some(column) => model.bench.column = column,
            None => browse::move_cursor(model, if forward { Action::Down } else { Action::Up }),
        }
    } else {
        browse::move_cursor(model, if forward { Action::Down } else { Action::Up });
    }
    let opens = match model.form_row() {
        Some(row) => matches!(row, Row::Field { .. }),
        None => model.is_on_bench() && model.bench.pane == Pane::Runs && model.bench.column != bench::Column::Id,
    };
    if opens {
        browse::enter(model);
    }
}

/// Steps the focused field to its next standard size. An unknown gauge or fuse becomes what the program would choose;
/// where it cannot choose, the ladder of gauges opens.
pub(super) fn step(model: &mut Model, up: bool) -> Option<Effect> {
    let focused = focused_field(model);
    step_at(model, focused, up)
}

fn step_at(model: &mut Model, field: Option<(FieldPath, Vec<Edit>)>, up: bool) -> Option<Effect> {
    let Some((at, prelude)) = field else {
        let run = model.plan().and_then(|plan| plan.runs.get(model.bench.run)).map(|run| run.id.to_string());
        match run.filter(|_| model.is_on_bench() && model.bench.pane == Pane::Results) {
            Some(run) => model.say(format!("these are results: Tab goes on to RUNS, there - + step the size of {run}")),
            None => model.say("there is no size to step here"),
        }
        return None;
    };
    let plan = base(model, &prelude)?;
    let run = run_of_gauge(&plan, &at).and_then(|id| plan.runs.iter().find(|r| r.id == id));
    let current = plan.get_at(&at);
    if current == Some(Value::Unknown) || run.is_some_and(|run| LaidGauge::of(run) == LaidGauge::Unknown) {
        if let Some(step) = proposed_fuse(model, &plan, &at, &prelude).or_else(|| chosen_gauge(model, &plan, &at)) {
            super::items::apply(model, step);
            return None;
        }
        if run.is_some() {
            return super::ladder::open(model);
        }
    }
    if let Some(run) = run
        && step_gauge(model, &plan, &at, run, up)
    {
        return None;
    }
    step_on(model, &plan, &at, prelude, up);
    None
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

/// Steps a run's gauge as its ladder would: where some legs exist, those bought new. Whether it did; where the legs
/// differ the field itself is what there is to step, unless that would rewrite wire which exists.
fn step_gauge(model: &mut Model, plan: &Plan, at: &FieldPath, run: &Run, up: bool) -> bool {
    let LaidGauge::One(now) = LaidGauge::of(run) else {
        let has = |new: bool| run.legs.iter().any(|l| l.state.stays() && (l.state == State::New) == new);
        let mixed = LaidGauge::of(run) == LaidGauge::Several && has(true) && has(false);
        if mixed {
            model.say(format!("{}: its new legs differ in gauge; step each leg's own", run.id));
        }
        return mixed;
    };
    let Some(next) = (if up { now.thicker() } else { now.thinner() }) else {
        model.say("there is no next size");
        return true;
    };
    let Some(document) = &mut model.document else { return true };
    let was = document.stepped_from(at.as_str()).and_then(|p| p.runs.iter().find(|r| r.id == run.id));
    let before = match was.map(LaidGauge::of) {
        Some(LaidGauge::One(gauge)) => gauge,
        _ => now,
    };
    let name = parsed_name(plan, at, &Value::Gauge(before), &Value::Gauge(next));
    if let Err(refused) = document.apply_stepping(&Step { name, edits: gauge_edits(run, next) }, at.as_str()) {
        model.say(refused.why);
    }
    true
}

fn step_on(model: &mut Model, plan: &Plan, at: &FieldPath, prelude: Vec<Edit>, up: bool) {
    let current = plan.get_at(at);
    let next = entry::step(plan, at, up).or_else(|| first_size(plan, at)).or_else(|| first_of_stay(plan, at, up));
    let next = next.or_else(|| super::quick::as_above(plan, at));
    let Some(next) = next else {
        let said = match current {
            Some(Value::Unknown | Value::Nothing) => "nothing to step from: Enter, and type it",
            _ => "there is no next size",
        };
        model.say(said);
        return;
    };
    let Some(document) = &mut model.document else { return };
    let from = document.stepped_from(at.as_str()).map_or(plan, |p| p);
    let before = from.get_at(at).unwrap_or(Value::Unknown);
    let name = parsed_name(plan, at, &before, &next);
    let done = if prelude.is_empty() {
        document.apply_stepping(&Step::one(name, Edit::Set { at: at.clone(), to: next }), at.as_str())
    } else {
        document.apply(set_step(plan, at, prelude, next, parsed_name))
    };
    if let Err(refused) = done {
        model.say(refused.why);
    }
}

/// The field that stepping means: the focused one.
fn focused_field(model: &Model) -> Option<(FieldPath, Vec<Edit>)> {
    let plan = model.plan()?;
    if is_on_year(model) {
        return Some((model.focus()?, Vec::new()));
    }
    if model.is_on_bench() {
        if model.bench.pane != Pane::Runs {
            return None;
        }
        let run = plan.runs.get(model.bench.run)?;
        let cell = bench::cell(plan, run, model.bench.column);
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
