//! The open field: every key that parses is a draft with its report; Enter makes it one step.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use crate::document::usual;
use crate::plan::entry;
use crate::plan::{Edit, FieldPath, Kind, Meta, Plan, Step, Value};
use crate::standards::fuse::trade_words;
use crate::tui::bench::{self, Column};
use crate::tui::choice::ChoiceList;
use crate::tui::form::Row;
use crate::tui::keymap::{self, Action, Context};
use crate::tui::layout;
use crate::tui::line_edit::{LONGEST, LineEdit, PASTED};
use crate::tui::message::Effect;
use crate::tui::model::{Left, Model, OpenField, Overlay};
use crate::tui::words;

use super::{browse, file, seasons};

/// The committed plan with a field's prelude.
pub(super) fn base(model: &Model, prelude: &[Edit]) -> Option<Plan> {
    let plan = &model.document.as_ref()?.committed().plan;
    plan.with(&Step { name: String::new(), edits: prelude.to_vec() }).ok()
}

/// Opens a field for typing.
pub(super) fn open(model: &mut Model, at: &FieldPath, prelude: Vec<Edit>) {
    let Some(plan) = base(model, &prelude) else { return };
    let Some(meta) = plan.meta(at) else { return };
    let now = entry::show_at(&plan, at).unwrap_or_default().replace('\n', "; ");
    let mut list = ChoiceList::of(&plan, at, meta, &now);
    if let (Some(list), Kind::Ref(_)) = (&mut list, meta.kind) {
        list.described(bench::equipment(&plan));
    }
    let line = LineEdit::replacing(now);
    model.field = Some(OpenField {
        at: at.clone(),
        prelude,
        line,
        touched: false,
        is_new_rule: false,
        is_refused: false,
        said: Ok(String::new()),
        list,
    });
}

/// What can be the first of a text opens the field of a form's row; whether it did. Digits and a point do where no text
/// stands, a minus where the row takes numbers below nothing, small letters where there is something to choose or nothing
/// typed yet, capitals on any text and where something that the row takes begins with them. They would lead to another screen otherwise, or be a command, from the middle of an
/// entry. Where a text stands small letters are commands.
pub(super) fn begins(model: &mut Model, key: KeyEvent) -> bool {
    let KeyCode::Char(c) = key.code else { return false };
    if !key.modifiers.difference(KeyModifiers::SHIFT).is_empty() {
        return false;
    }
    let is_key = || keymap::resolve(model.context(), key).is_some();
    if c.is_uppercase() && model.takes_words() && !model.types(c) && is_key() {
        // From the middle of a word a key would lead elsewhere, and what follows would be keys there.
        model.say(format!("nothing to choose here begins with {c}; after Esc {c} is a key"));
        return true;
    }
    let is_letter = c.is_alphabetic() && (model.types(c) || (model.takes_words() && !is_key()));
    let row = model.any_row();
    let is_month = matches!(c, '+' | '-') && matches!(&row, Some(Row::Field { meta, .. }) if meta.kind == Kind::Months);
    // A step down before a number would leave it without its sign.
    let is_sign = c == '-' && matches!(&row, Some(Row::Field { meta, .. }) if is_signed(meta));
    let is_text = is_letter || is_month || is_sign;
    if !(c.is_ascii_digit() || c == '.' || is_text) {
        return is_lost_letter(model, key, c);
    }
    // Where no choice has the digit it is no entry; where a text stands it is a key as a small letter is.
    if matches!(&row, Some(Row::Field { meta, .. }) if !is_letter && !can_begin(meta, c))
        || (model.holds_text() && !is_text)
    {
        return false;
    }
    match (model.context(), row) {
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
        (Context::Shop, Some(Row::Field { .. })) => {
            super::act(model, Action::Enter);
            if model.context() == Context::Field {
                super::act(model, Action::Type(c));
            }
            true
        }
        _ => false,
    }
}

/// Digits over a number's cell of the Bench show screens. What follows them there and is part of a measure alone (`4.5`, `6'3`, `2/0`) takes
/// them back into the cell, where a point begins typing as well; whether it did. So does the first letter of a unit after two digits or more
/// that began with the key of the Bench itself, which nobody wants there (`12awg`, `16mm2`).
pub(super) fn goes_on(model: &mut Model, key: KeyEvent) -> bool {
    let mut digits = std::mem::take(&mut model.digits);
    let KeyCode::Char(c) = key.code else { return false };
    let is_plain = key.modifiers.difference(KeyModifiers::SHIFT).is_empty();
    let is_there = is_plain && matches!(model.context(), Context::Browsing | Context::Shop);
    if !is_there || digits.is_empty() && !model.is_on_number() {
        return false;
    }
    digits.push(c);
    if c.is_ascii_digit() {
        model.digits = digits;
        return false;
    }
    let is_aught =
        c == '/' && model.bench.column == Column::Gauge && matches!(digits.as_str(), "1/" | "2/" | "3/" | "4/");
    let is_unit = digits.starts_with('1') && digits.len() > 2 && matches!(c, 'a' | 'A' | 'c' | 'f' | 'i' | 'm');
    if !(matches!(c, '.' | '\'' | '"') || is_aught || is_unit) {
        return false;
    }
    if model.shop.is_some() {
        super::shop::act(model, Action::Back);
    }
    browse::show(model, 1);
    browse::enter(model);
    if model.field.is_some() {
        digits.chars().for_each(|c| drop(super::act(model, Action::Type(c))));
    }
    true
}

/// A letter that is no command, typed at a text that stands: says how the text is edited.
fn is_lost_letter(model: &mut Model, key: KeyEvent, c: char) -> bool {
    let is_lost = c.is_alphabetic() && model.context() == Context::Browsing && model.holds_text();
    let is_lost = is_lost && keymap::resolve(Context::Browsing, key).is_none();
    if is_lost {
        model.say("small letters are keys here: Enter, Backspace or a capital types over the text");
    }
    is_lost
}

/// Whether a field takes numbers below nothing.
fn is_signed(meta: &Meta) -> bool {
    matches!(meta.kind, Kind::Number { least, .. } | Kind::Monthly { least, .. } if least < 0.0)
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
            let field = model.field.take();
            let at = field.as_ref().map(|field| field.at.clone());
            let is_new_rule = field.as_ref().is_some_and(|field| field.is_new_rule);
            if let Some(kept) = &mut model.closed {
                kept.field = field;
            }
            if let Some(document) = &mut model.document {
                document.drop_draft();
            }
            if let Some(at) = at.as_ref().filter(|_| is_new_rule) {
                super::rules::leave(model, at);
            }
            model.left = at.map(|at| Left { at, by_esc: true });
        }
        Action::Enter => {
            let at = model.field.as_ref().map(|field| field.at.clone());
            let was = at.as_ref().and_then(|at| place_of(model, at));
            if commit(model)
                && let Some(at) = at
            {
                if super::quick::ask_same(model, &at) {
                    return None;
                }
                let now = place_of(model, &at);
                if let Some(place) = now.filter(|now| was.as_ref() != Some(now) && !now.name.is_empty()) {
                    ask_where(model, &place);
                }
                if model.is_guided {
                    return super::walk::guide_on(model, &at);
                }
                super::rules::ask_reason(model, &at);
                super::quick::follow(model, &at);
                if model.takes_words() {
                    // What was just chosen is not chosen anew by a letter: u takes it back.
                    model.left = Some(Left { at, by_esc: false });
                }
            }
        }
        Action::Up | Action::Down | Action::Larger | Action::Smaller if has_list(model) => move_choice(model, action),
        Action::Up | Action::Down => {
            let is_typed = model.field.as_ref().is_some_and(|field| field.touched);
            if commit(model) && !is_on_year(model) {
                let was = model.bench.run;
                browse::move_cursor(model, action);
                // A column is typed down: what comes next is text again, not a key.
                if is_typed
                    && model.is_on_bench()
                    && model.bench.run != was
                    && super::step::focused_field(model).is_some()
                {
                    browse::enter(model);
                }
            }
        }
        Action::NextPane | Action::PreviousPane => {
            if commit(model) {
                return open_next(model, action == Action::NextPane);
            }
        }
        Action::Larger | Action::Smaller => return super::step::step_open(model, action == Action::Larger),
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
        (field.touched, field.is_refused) = (true, false);
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
        Action::Type(c) => {
            line.insert(c.encode_utf8(&mut [0; 4]));
        }
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

/// Pasted text goes into what is open as one text; a focused field opens for it. What no line takes changes nothing.
pub(super) fn paste(model: &mut Model, text: &str) {
    if text.len() <= LONGEST && pasted(model, text) {
        return;
    }
    let is_plan = model.overlay.is_none() && model.shop.is_none();
    let at = model.focus().filter(|_| is_plan).zip(model.plan());
    let place = at.map_or_else(|| "here".into(), |(at, plan)| words::path(plan, &at));
    model.say(format!("{place}: {PASTED} over {LONGEST} characters is not taken; nothing changed"));
}

/// Whether pasted text was taken where it goes, or goes nowhere.
fn pasted(model: &mut Model, text: &str) -> bool {
    match &mut model.overlay {
        Some(Overlay::Pick(pick)) => {
            pick.cursor = 0;
            return pick.line.insert(text);
        }
        Some(Overlay::Prompt(prompt)) => return prompt.line.insert(text),
        Some(Overlay::Seasons(_)) if model.field.is_some() => {}
        Some(_) => return true,
        None if model.shop.is_some() => return super::shop::paste(model, text),
        None => {}
    }
    if model.document.is_some() && model.field.is_none() {
        if !model.form_row().map_or_else(|| model.is_on_cell(), |row| matches!(row, Row::Field { .. })) {
            model.say("no field is focused: what was pasted went nowhere");
            return true;
        }
        browse::enter(model);
    }
    if let Some(field) = &mut model.field {
        if !field.line.insert(text) {
            return false;
        }
        field.touched = true;
        if let Some(list) = &mut field.list {
            list.narrowed(field.line.text());
        }
        draft(model);
    }
    true
}

/// Reads the text and shows the plan with it, marked as a draft; text that does not parse shows the committed plan.
fn draft(model: &mut Model) {
    let Some(field) = &model.field else { return };
    let (at, prelude, text) = (field.at.clone(), field.prelude.clone(), field.meant());
    let Some(plan) = base(model, &prelude) else { return };
    let read = entry::parse(&plan, &at, &text).map_err(|e| e.why);
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

pub(super) fn parsed_name(plan: &Plan, at: &FieldPath, before: &Value, after: &Value) -> String {
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

pub(super) type Namer = fn(&Plan, &FieldPath, &Value, &Value) -> String;

/// A step that gives a field a value, named by what it changes.
pub(super) fn set_step(plan: &Plan, at: &FieldPath, mut edits: Vec<Edit>, to: Value, name: Namer) -> Step {
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
        field.is_refused = true;
        // What is typed next is another try, not the end of this one.
        field.line.freshen();
        model.say(why);
        return false;
    }
    if super::quick::ask_units(model) {
        return false;
    }
    let hint = hint(model);
    let Some(document) = &mut model.document else { return true };
    document.commit_draft();
    model.field = None;
    if let Some(remark) = refused_when_locked(model).or(hint) {
        model.say(remark);
    }
    true
}

/// What is said of a value beside what it is taken for, as to what should be typed for another: it stays to be read after Enter.
fn hint(model: &Model) -> Option<String> {
    let field = model.field.as_ref().filter(|field| field.touched)?;
    let said = field.said.as_ref().ok().filter(|said| said.contains(entry::ELSE_TYPE))?;
    Some(format!("{} {said}", words::path(model.plan()?, &field.at)))
}

/// A stay's place: its name, and whether a position stands beside it.
#[derive(PartialEq)]
struct Named {
    stay: FieldPath,
    name: String,
    has_position: bool,
}

fn place_of(model: &Model, at: &FieldPath) -> Option<Named> {
    let (stay, key) = at.split_last();
    let plan = model.document.as_ref()?.committed().plan.clone();
    let is_it = |s: &&crate::plan::job::Stay| key == "place" && stay == FieldPath::from("stays").join(&s.id);
    let found = plan.stays.iter().find(is_it)?;
    let has_position = found.latitude_deg.known().is_some();
    Some(Named { name: found.place.clone(), has_position, stay })
}

/// A name that was typed brings no position, and leaves one that stands there where it is: the places by that name are
/// offered, or it is said where none is known.
fn ask_where(model: &mut Model, Named { stay, name, has_position }: &Named) {
    if !crate::climate::places::find(name, 1).is_empty() {
        super::overlay::pick_place_named(model, stay.clone(), name);
    }
    model.say(if *has_position {
        format!("{name:?} is the name alone: latitude and longitude are those of before until a place is picked or they are typed")
    } else {
        format!("no position is known for {name:?}: s finds it among the places, or type latitude and longitude")
    });
}

fn refused_when_locked(model: &Model) -> Option<String> {
    let who = model.locked_by.as_ref()?;
    let dirty = model.document.as_ref()?.is_dirty();
    dirty.then(|| format!("read only ({who}): this stays in memory until W saves it under another name"))
}

/// Whether a field of the opened year is meant.
pub(super) fn is_on_year(model: &Model) -> bool {
    matches!(model.overlay, Some(Overlay::Seasons(_)))
}

/// After Tab: the next field opens, or the next unknown where Tab walks those.
fn open_next(model: &mut Model, forward: bool) -> Option<Effect> {
    if is_on_year(model) {
        seasons::mark(model, forward);
        seasons::edit(model);
        return None;
    }
    let stood = model.focus();
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
        None => model.is_on_cell(),
    };
    if opens {
        if model.focus() == stood {
            // Nothing lies beyond: on a walk-round the next question does.
            if let (true, true, Some(at)) = (model.is_guided, forward, &stood) {
                return super::walk::guide_on(model, at);
            }
            model.say(if forward { "this is the last row" } else { "this is the first row" });
        }
        browse::enter(model);
    }
    None
}
