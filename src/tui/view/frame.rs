//! Header, help line, footer.

use crate::words::counted;
use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr;

use crate::engine::Level;
use crate::engine::sizing::SizedRun;
use crate::plan::{FieldPath, Kind, Plan, Quantity, Value};
use crate::standards::cited::of_field;
use crate::tui::bench::Column;
use crate::tui::form::Row;
use crate::tui::keymap::{self, Context};
use crate::tui::line_edit::PASTED;
use crate::tui::model::{Model, OpenField, Overlay, Pane};
use crate::tui::theme::Role;
use crate::tui::words;
use crate::wording::findings::Count;

use super::paint::{Paint, wrap};

/// The plan, saved or not, draft, basis, places, findings by level. Where it is narrow the place's name gives way first, then
/// the plan's; the mark of what is not saved and the counts never do.
pub(super) fn header(model: &Model, paint: &mut Paint, area: Rect) {
    let Some(document) = &model.document else { return };
    let shown = document.shown();
    let name = match &model.path {
        Some(path) => path.file_name().unwrap_or_default().to_string_lossy().into_owned(),
        None if shown.plan.job.title.is_empty() => "new plan".into(),
        None => shown.plan.job.title.clone(),
    };
    let star = if document.is_dirty() { " *" } else { "" };
    let basis = format!("{}{}", shown.plan.job.basis, words::rules_changed(&shown.plan));
    let place = place(model);
    let marks = [
        (model.locked_by.is_some(), "READ ONLY", Role::Alert),
        (document.baseline().is_some(), "base held", Role::Figure),
        (model.is_tab_on_unknowns, "Tab: ?", Role::Figure),
    ];
    let mut marks: Vec<(&str, Role)> =
        marks.into_iter().filter(|(holds, ..)| *holds).map(|(_, word, role)| (word, role)).collect();
    marks.push((&basis, Role::Header));
    let taken: usize = marks.iter().map(|(word, _)| word.width() + 2).sum();
    // The draft's word has a place of its own before the counts: what stands to its left need not be sent again.
    let left = |counts: &str| {
        let counted = area.right().saturating_sub(columns(counts) + 1).max(area.x);
        (counted, if document.is_draft() { counted.saturating_sub(7) } else { counted })
    };
    let all = counts(model, area.width < 60);
    let room = usize::from(left(&all).1.saturating_sub(area.x + 1));
    let right = if room < taken + star.len() + LEAST_NAME { counts(model, true) } else { all };
    let (counted, end) = left(&right);
    let room = usize::from(end.saturating_sub(area.x + 1));
    let named = room.saturating_sub(taken + star.len()).max(LEAST_NAME.min(room.saturating_sub(star.len())));
    let mut x = area.x + 1;
    x += paint.text(x, area.y, u16::try_from(named).unwrap_or(u16::MAX), &name, Role::Figure);
    x += paint.text(x, area.y, end.saturating_sub(x), star, Role::Figure) + 2;
    marks.push((&place, Role::Header));
    for (word, role) in marks {
        // Less than a few letters of a name say nothing.
        let is_told = x + LEAST_WORD <= end || x + columns(word) <= end;
        if is_told && !word.is_empty() {
            x += paint.text(x, area.y, end - x, word, role) + 2;
        }
    }
    if document.is_draft() {
        paint.text(counted.saturating_sub(6).max(area.x), area.y, 5, "DRAFT", Role::Alert);
    }
    paint.right(area.x, area.y, area.width, &right, Role::Header);
    for level in [Level::Stop, Level::Caution] {
        mark_count(paint, area, &right, level);
    }
}

/// Columns that the plan's name has at least, while there are as many.
const LEAST_NAME: usize = 8;
/// Columns with which a word is begun that does not fit.
const LEAST_WORD: u16 = 4;

fn columns(text: &str) -> u16 {
    u16::try_from(text.width()).unwrap_or(u16::MAX)
}

fn mark_count(paint: &mut Paint, area: Rect, right: &str, level: Level) {
    let Some(at) = right.find(level.word()) else { return };
    let text = right.get(at..).unwrap_or("");
    let length = text.find("  ").unwrap_or(text.len());
    if text.get(..length).is_some_and(|t| t.ends_with(" 0")) {
        return;
    }
    let used = u16::try_from(right.len()).unwrap_or(u16::MAX);
    let start = area.right().saturating_sub(used).saturating_add(u16::try_from(at).unwrap_or(0));
    paint.mark(start, area.y, u16::try_from(length).unwrap_or(0), Role::Mark(level));
}

fn place(model: &Model) -> String {
    let Some(plan) = model.plan() else { return String::new() };
    let Some(first) = plan.stays.first() else { return String::new() };
    let name = if first.place.is_empty() { words::UNKNOWN } else { &first.place };
    match plan.stays.len() {
        1 => name.to_string(),
        n => format!("{name} +{}", n - 1),
    }
}

/// `stop 1  caution 2  unknown 3`; on a narrow screen `!1 c2 ?3`. What is accepted has a count of its own.
fn counts(model: &Model, is_narrow: bool) -> String {
    let Some(document) = &model.document else { return String::new() };
    let shown = document.shown();
    let (stop, caution) = (Count::of(&shown.report, Level::Stop), Count::of(&shown.report, Level::Caution));
    let unknown = shown.report.unknown.len();
    let accepted = stop.accepted + caution.accepted;
    let (stop, caution) = (stop.open, caution.open);
    match (is_narrow, accepted) {
        (true, 0) => format!("!{stop} c{caution} ?{unknown} "),
        (true, accepted) => format!("!{stop} c{caution} x{accepted} ?{unknown} "),
        (false, 0) => format!("stop {stop}  caution {caution}  unknown {unknown} "),
        (false, accepted) => format!("stop {stop}  caution {caution}  accepted {accepted}  unknown {unknown} "),
    }
}

/// Rows that the newest message needs to be read whole, on the Bench and where no plan is open: what is said there at the start
/// and stands nowhere else is longest.
pub(super) fn said_rows(model: &Model, area: Rect) -> u16 {
    let is_there = model.document.is_none() || (model.is_on_bench() && model.shop.is_none());
    let is_fresh = is_there && model.field.is_none() && model.overlay.is_none() && !model.is_message_stale;
    let most = if area.height >= 18 { 3 } else { 2 };
    let message = model.messages.last().filter(|_| is_fresh);
    let lines = message.map_or(0, |message| wrap(message, usize::from(area.width.saturating_sub(1))).len());
    u16::try_from(lines).unwrap_or(most).min(most)
}

/// While a field is open: how it is understood and its help with source. Else the newest message, else about what is
/// focused: in the results what was `cut` there.
pub(super) fn help(model: &Model, paint: &mut Paint, area: Rect, cut: &[String]) {
    let row = |n: u16| (area.x + 1, area.y + n, area.width.saturating_sub(1));
    let (x, y, width) = row(0);
    // A box over the Bench covers the first of two lines: what is said there goes to the second.
    let over = model.overlay.is_some() && area.height == 2 && !model.is_message_stale;
    let message = model.messages.last().filter(|_| over);
    if let Some(message) = message {
        paint.text(x, y + 1, width, message, Role::Text);
    }
    let answer = || awaited(model).or_else(|| super::bench::answer(model));
    let answer = if area.height > 1 && message.is_none() { answer() } else { None };
    if let (Some(text), None) = (&answer, &model.field) {
        paint.text(x, y + 1, width, text, Role::Figure);
    }
    // What a key has just been answered, and a field that is typed in, come first.
    if let Some(trouble) = &model.recovery_trouble
        && model.field.is_none()
        && (model.is_message_stale || model.messages.is_empty())
    {
        paint.text(x, y, width, &format!("no recovery copy: {trouble}"), Role::Alert);
        return;
    }
    let Some(field) = &model.field else {
        match model.messages.last() {
            // A long message has the answer's line too, until the next key.
            Some(message) if !model.is_message_stale && !over && wrap(message, usize::from(width)).len() > 1 => {
                said(paint, area, &[(message.clone(), Role::Text)]);
            }
            Some(message) if !model.is_message_stale && !over && answer.is_none() && area.height > 1 => {
                let about = Some(about(model)).filter(|text| !text.is_empty());
                let texts: Vec<String> = std::iter::once(message.clone()).chain(about).collect();
                said(paint, area, &texts.into_iter().map(|text| (text, Role::Text)).collect::<Vec<_>>());
            }
            Some(message) if !model.is_message_stale && !over => said(paint, area, &[(message.clone(), Role::Text)]),
            Some(_) if over => {}
            _ => focused(model, paint, area, answer.is_some(), cut),
        }
        return;
    };
    let Some(plan) = model.whole_plan() else { return };
    let plan = &*plan;
    if super::bench::is_typed_below(model, area.width) {
        return typed_below(model, plan, field, paint, area);
    }
    let first = opened(model, plan, field, answer.as_ref().map(|_| usize::from(width)));
    let used = wrap(&first.0, usize::from(width)).len();
    // The line of these two has their help in it.
    let kind = plan.meta(&field.at).map(|m| m.kind);
    let is_told = matches!(kind, Some(Kind::Gauge | Kind::Number { quantity: Quantity::Length, .. }));
    match answer.filter(|_| used < usize::from(area.height) && (field.touched || is_told)) {
        // What was worked out stays below where it stands: a digit changes its figures, not the line.
        Some(text) => {
            paint.text(x, y, width, &first.0, first.1);
            paint.text(x, y + 1, width, &text, Role::Figure);
        }
        // What is asked, or wrong, is said in full, before what the field is.
        None if used >= usize::from(area.height) => said(paint, area, &[first]),
        None => {
            let rows = usize::from(area.height).saturating_sub(used).max(1);
            let text = awaited(model).unwrap_or_else(|| about(model));
            let text = fitting(text, usize::from(width), rows);
            said(paint, area, &[first, (text, Role::Text)]);
        }
    }
}

/// A field that no cell of the Bench shows is typed in beside its name; what is wrong with it, or what it is, below.
fn typed_below(model: &Model, plan: &Plan, field: &OpenField, paint: &mut Paint, area: Rect) {
    let (x, width) = (area.x + 1, area.width.saturating_sub(1));
    let name = format!("{}: ", words::path(plan, &field.at));
    let (told, role) = opened(model, plan, field, Some(usize::from(width)));
    let own = told.replacen(&name, "", 1);
    let used = paint.text(x, area.y, width, &name, Role::Text);
    let room = TYPED.min(width - used);
    let rest = used + room + 2;
    let is_below = role == Role::Alert && area.height > 1;
    if !is_below {
        paint.text(x + rest, area.y, width.saturating_sub(rest), &own, role);
    }
    let below = match is_below {
        true => (own, role),
        false => (fitting(about(model), usize::from(width), 1), Role::Text),
    };
    if area.height > 1 {
        said(paint, Rect { y: area.y + 1, height: area.height - 1, ..area }, &[below]);
    }
    paint.line_edit(x + used, area.y, room, &field.line);
}

/// Columns of a field that is typed in below the Bench.
const TYPED: u16 = 18;

/// An open field's own line: what may be typed, how it is understood, or what is wrong with it. Where it has one line of
/// a width alone, what is accepted instead waits until Enter: a text is wrong before it is whole, too.
fn opened(model: &Model, plan: &Plan, field: &OpenField, one_line: Option<usize>) -> (String, Role) {
    if let Some(refused) = model.messages.last().filter(|m| !model.is_message_stale && m.contains(PASTED)) {
        return (refused.clone(), Role::Alert);
    }
    let label = words::path(plan, &field.at);
    // Emptied it asks again, until Enter has been refused.
    let is_emptied = field.line.text().is_empty() && !field.is_refused;
    match &field.said {
        Ok(understood) if field.touched && !understood.is_empty() => (format!("{label}: {understood}"), Role::Text),
        Err(why) if !is_emptied => {
            let whole = format!("! {label}: {why}");
            let short = why.find(": ").into_iter().chain(why.find("; ")).min().and_then(|end| why.get(..end));
            let is_long = one_line.is_some_and(|width| wrap(&whole, width).len() > 1) && !field.is_refused;
            let said = short.filter(|_| is_long).map_or(whole, |short| format!("! {label}: {short} .."));
            (said, Role::Alert)
        }
        _ => {
            let meta = plan.meta(&field.at);
            let how = match (&field.list, meta.map(|m| m.kind)) {
                (Some(_), _) => "type a part or use arrows",
                (None, Some(Kind::Gauge)) => "8awg, 2/0, 16mm2",
                (None, Some(Kind::Lines)) => "runs.W2.gauge = 6 AWG, remove runs.W5 ..; \\n between two",
                _ if field.at.as_str() == "job.coldest_c" => "type; left empty: the coldest of its stays",
                (None, Some(Kind::Number { quantity: Quantity::Length, .. })) => "22'6\", 27in, 6.5m",
                _ => "type",
            };
            let unknown = if meta.is_some_and(|m| m.unknown) { "; ? where it is not known" } else { "" };
            let fits = is_proposed(plan, &field.at);
            let unknown = match (unknown.is_empty(), model.is_guided) {
                (false, true) if fits => "; PgUp: what fits; ?: unknown, go on; Esc ends the walk",
                (false, false) if fits => "; PgUp: what fits; ? where it is not known",
                (false, true) => "; ?: unknown, go on; Esc ends the walk",
                (true, true) => "; Esc ends the walk",
                _ => unknown,
            };
            let before = model.messages.last().filter(|m| !model.is_message_stale && m.starts_with("taken: "));
            let before = before.map_or_else(String::new, |m| format!("{m}; now "));
            (format!("{before}{label}: {how}{unknown}"), Role::Text)
        }
    }
}

/// Whether a size key puts what the program would choose into a field: into a run's own gauge or fuse that is not known.
fn is_proposed(plan: &Plan, at: &FieldPath) -> bool {
    let mut segments = at.segments();
    let is_own = matches!(
        (segments.next(), segments.nth(1), segments.next(), segments.next()),
        (Some("runs"), Some("gauge"), None, _) | (Some("runs"), Some("protection"), Some(_), Some("amps_a"))
    );
    is_own && plan.get_at(at) == Some(Value::Unknown)
}

/// Texts one below the other, wrapped as far as there are lines: each has one at least, the first all it needs.
fn said(paint: &mut Paint, area: Rect, texts: &[(String, Role)]) {
    let width = area.width.saturating_sub(1);
    let mut y = area.y;
    for (i, (text, role)) in texts.iter().enumerate() {
        let after = u16::try_from(texts.len() - i - 1).unwrap_or(0);
        let room = area.bottom().saturating_sub(y).saturating_sub(after);
        let mut lines = wrap(text, usize::from(width));
        if lines.len() > usize::from(room) {
            // What does not fit ends in `~`.
            let rest = lines.split_off(usize::from(room.max(1)) - 1);
            lines.push(rest.join(" "));
        }
        for line in &lines {
            if y >= area.bottom() {
                return;
            }
            let blank = " ".repeat(usize::from(width));
            paint.text(area.x + 1, y, width, &blank, Role::Text);
            paint.text(area.x + 1, y, width, line, *role);
            y += 1;
        }
    }
}

/// The focused field's help, when nothing else is to be said.
fn focused(model: &Model, paint: &mut Paint, area: Rect, has_answer: bool, cut: &[String]) {
    let is_year = matches!(model.overlay, Some(Overlay::Seasons(_)));
    let in_results = model.overlay.is_none() && model.is_on_bench() && model.bench.pane == Pane::Results;
    let waits = awaited(model).filter(|_| !has_answer);
    let (width, height) = (usize::from(area.width.saturating_sub(1)), if has_answer { 1 } else { area.height });
    let text = match waits.or_else(|| super::bench::run_change(model).filter(|_| !is_year)) {
        Some(text) => text,
        None if in_results && cut.is_empty() => {
            "worked out, not typed: ? says what the marked one means; y has the year, Enter the findings".into()
        }
        None if in_results => whole(cut, width, usize::from(height)),
        None => about(model),
    };
    let text = fitting(text, width, usize::from(height));
    said(paint, Rect { height, ..area }, &[(text, Role::Text)]);
}

/// As many of some texts as so many lines hold whole, the first in any case.
fn whole(texts: &[String], width: usize, rows: usize) -> String {
    let mut said = String::new();
    for text in texts {
        let more = if said.is_empty() { text.clone() } else { format!("{said}; {text}") };
        if said.is_empty() || wrap(&more, width).len() <= rows {
            said = more;
        }
    }
    said
}

/// What is said while sizes are worked out beside the keys, and once they are there.
fn awaited(model: &Model) -> Option<String> {
    let (awaited, plan) = model.sizing.zip(model.plan())?;
    let whence = if awaited.truck_only { " from the truck" } else { "" };
    let runs = counted(plan.runs.len(), "run");
    Some(match awaited.is_ready {
        true => format!("sizes of {runs}{whence} are there: z shows them, Esc drops them"),
        false => format!("sizing {runs}{whence} ..  every key works meanwhile; Esc gives it up"),
    })
}

/// Where a text has more lines than there are, the source at its end gives way: `?` has it.
fn fitting(text: String, width: usize, rows: usize) -> String {
    match text.rsplit_once(" [") {
        Some((short, _)) if wrap(&text, width).len() > rows => short.to_string(),
        _ => text,
    }
}

/// A field's label, help, choices and source on one line.
fn about(model: &Model) -> String {
    let Some((at, plan)) = model.focus().zip(model.whole_plan()) else { return String::new() };
    let plan = &*plan;
    let meta = plan.meta(&at).or_else(|| {
        let document = model.document.as_ref()?;
        document.committed().plan.meta(&at)
    });
    let Some(meta) = meta else { return unnamed(model, plan, &at) };
    // The choices come first: they are what has to be typed.
    let choices = match meta.kind {
        Kind::Words(_) if model.field.as_ref().is_some_and(|field| field.list.is_some()) => String::new(),
        Kind::Words(words) if words.len() > 4 => format!("Enter lists {} choices. ", words.len()),
        Kind::Words(words) => format!("{}. ", words.join(", ")),
        _ => String::new(),
    };
    let source = of_field(meta.source, plan.job.basis);
    format!("{}: {choices}{} [{source}]", meta.label, meta.help)
}

/// What Enter does with a thing that is no field.
fn unnamed(model: &Model, plan: &crate::plan::Plan, at: &crate::plan::FieldPath) -> String {
    let name = words::path(plan, at);
    if model.is_on_findings() {
        return match model.finding_at() {
            Some(_) => format!("{name}: Enter opens its source, cures and working; x accepts with a reason"),
            None => format!("{name}: Enter goes there"),
        };
    }
    match plan.list_at(at).map(|list| list.len()) {
        Some(count) if model.is_on_bench() => format!("{name}: the length of {count} together; Enter opens the first"),
        _ => match model.form_row() {
            Some(Row::Add { .. }) => format!("{name}: Enter adds one"),
            Some(_) => format!("{name}: Enter opens it"),
            None if model.is_on_bench() && model.overlay.is_none() => format!("{name}: Enter opens it"),
            None => name,
        },
    }
}

/// A key's label by what the key does here.
fn here(model: &Model, label: &'static str) -> &'static str {
    let row = model.shop.as_ref().map_or_else(|| model.form_row(), crate::tui::shop::Shop::row);
    let opens = || match row {
        Some(Row::Field { .. }) => "edit",
        Some(Row::Add { .. }) => "add",
        Some(_) => "open",
        None if model.is_on_findings() => "open",
        None => match model.bench.pane {
            Pane::Equipment => "open",
            Pane::Results => "findings",
            Pane::Runs if model.bench.column == Column::Id => "open",
            Pane::Runs => "edit",
        },
    };
    match label {
        "choose" => match &model.overlay {
            Some(Overlay::Sizing(sizing)) if sizing.proposal.rows.iter().any(SizedRun::changes) => "apply all",
            Some(Overlay::Sizing(_)) => "close",
            _ => "choose",
        },
        "edit" => opens(),
        "add" if model.is_on_findings() && model.shop.is_none() => "cure",
        "shelf/place" => match model.shelf_target() {
            Some(at) if at.as_str().starts_with("stays.") => "place",
            _ => "shelf",
        },
        other => other,
    }
}

/// Keys for what is focused, as many as fit.
pub(super) fn footer(model: &Model, paint: &mut Paint, area: Rect) {
    let mut x = area.x + 1;
    let context = model.context();
    let small = model.types('a');
    let mut hints =
        keymap::hints(context, |when| model.holds(when), |c| if c.is_uppercase() { model.types(c) } else { small });
    if matches!(context, Context::Browsing | Context::Field | Context::Shop | Context::Overlay) {
        for (_, label) in &mut hints {
            *label = here(model, label);
        }
    }
    // The way to everything else always fits.
    let is_way_out = |label: &str| matches!(label, "help" | "all" | "close" | "stay" | "drop draft");
    let needs = |key: &str, label: &str| u16::try_from(key.len() + label.len() + 3).unwrap_or(0);
    let ways_out = hints.iter().filter(|(_, label)| is_way_out(label));
    let mut reserve: u16 = ways_out.map(|(key, label)| needs(key, label)).sum();
    let end = area.right();
    for (key, label) in &hints {
        let wide = u16::try_from(key.len() + label.len() + 1).unwrap_or(u16::MAX);
        let must = is_way_out(label);
        reserve = reserve.saturating_sub(if must { needs(key, label) } else { 0 });
        let room = if must { end } else { end.saturating_sub(reserve) };
        if x.saturating_add(wide) > room {
            continue;
        }
        x += paint.text(x, area.y, end - x, key, Role::Key) + 1;
        x += paint.text(x, area.y, end.saturating_sub(x), label, Role::Text) + 2;
    }
}
