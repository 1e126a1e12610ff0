//! The year opened: the stay with the fields that can be changed, and a page each for the year's table, its picture, what
//! limits it, two of its days and its longest dull spell.

pub(super) mod columns;
mod days;
mod limits;
mod notes;
mod trees;

use crate::words::counted;
use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr;

use crate::document::look::{Answer, Question};
use crate::document::{Document, Shown};
use crate::engine::Report;
use crate::engine::making_up::{GENERATOR_H, LEFT};
use crate::engine::report::{MadeUp, MonthFigures};
use crate::engine::year::BEGINS;
use crate::plan::lists::MONTH_NAMES;
use crate::plan::power::ChargerKind;
use crate::plan::{FieldPath, Figure, Known, Plan, Value, entry};
use crate::tui::layout;
use crate::tui::model::Model;
use crate::tui::seasons::{SeasonsView, WhatIf, YearPage, may_be_made_up};
use crate::tui::theme::Role;
use crate::tui::words::{self, UNKNOWN, figure, fixed, narrow, whole};
use crate::units::WattHours;
use crate::wording::naming::months;

use super::overlay::text_width;
use super::paint::{Paint, wrapped};
use super::results::{OWN_USE, has_no_loads};

type Lines = Vec<(String, Role)>;

/// Widest text of a page, where the screen has room for it.
const WIDTH: usize = 74;
/// Longest bar, and what stands beside one.
const BAR: usize = 44;
const BESIDE_BAR: usize = 24;
/// Columns of a field that is typed in.
const FIELD: u16 = 12;

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect, view: &SeasonsView) {
    let Some(document) = &model.document else { return };
    let lines = lines(model, view);
    let head = head_rows(document);
    let (page, pages) = view.page.place();
    let without = if document.is_draft() { ", without the draft" } else { "" };
    let title = format!("YEAR {page} of {pages}: {}{without}", view.page.name());
    let inside = paint.boxed_in(area, &title, width(model), head + lines.len().max(1));
    draw_stay(model, paint, inside, view);
    if let Some(change) = since_base(document, view) {
        let y = inside.y + 2;
        if y < inside.bottom() {
            paint.text(inside.x, y, inside.width, &change, Role::Changed);
        }
    }
    let used = u16::try_from(head).unwrap_or(0).min(inside.height);
    let body = Rect { y: inside.y + used, height: inside.height - used, ..inside };
    let (kept, moving) = lines.split_at(kept(&lines));
    let height = usize::from(body.height).saturating_sub(kept.len());
    let first = view.scroll.min(moving.len().saturating_sub(height));
    let shown = kept.iter().chain(moving.iter().skip(first).take(height));
    for (y, (line, role)) in (body.y..body.bottom()).zip(shown) {
        paint.text(body.x, y, body.width, line, *role);
    }
    let top = Rect { y: inside.y.saturating_sub(1), height: 1, ..inside };
    paint.hidden(top, first, moving.len().saturating_sub(first + height));
}

/// Lines at the top of a page that stay where they are: down to the heading of its columns.
fn kept(lines: &Lines) -> usize {
    lines.iter().take(3).position(|(_, role)| *role == Role::Heading).map_or(0, |heading| heading + 1)
}

/// Rows above the page: the stay, its fields, and the change since the baseline.
fn head_rows(document: &Document) -> usize {
    if document.baseline().is_some() { 3 } else { 2 }
}

/// Lines of the page that can be scrolled, and how many of them a full box shows.
pub(super) fn extent(model: &Model, view: &SeasonsView) -> (usize, usize) {
    let head = model.document.as_ref().map_or(0, head_rows);
    let lines = lines(model, view);
    let kept = kept(&lines);
    (lines.len() - kept, layout::overlay_lines(model.size).saturating_sub(head + kept))
}

/// The stay and its fields, the marked one reversed or being typed in.
fn draw_stay(model: &Model, paint: &mut Paint, inside: Rect, view: &SeasonsView) {
    let Some(plan) = model.plan() else { return };
    let Some(stay) = plan.stays.get(view.stay) else {
        paint.text(inside.x, inside.y, inside.width, "the plan has no stay yet: screen 3 adds one", Role::Text);
        return;
    };
    let place = if stay.place.is_empty() { UNKNOWN } else { &stay.place };
    let months = months(stay);
    // Months that an earlier stay has count there.
    let report = model.document.as_ref().map(|document| &document.committed().report);
    let of = |(m, month): (usize, &MonthFigures)| stay.months.has(m).then_some(month.stay);
    let is_elsewhere = |s: Option<usize>| s.is_some_and(|s| s != view.stay);
    let is_nowhere =
        stay.months.0 != 0 && report.is_some_and(|r| r.year.months.iter().enumerate().filter_map(of).all(is_elsewhere));
    let counts = if is_nowhere { ": none counts, other stays have them" } else { "" };
    let short = format!("{} {place}, {months}{counts}", stay.id);
    let whole = format!("stay {} of {}: {short}", view.stay + 1, plan.stays.len());
    let said = if whole.width() <= usize::from(inside.width) { whole } else { short };
    match model.document.as_ref().and_then(|document| as_typed(document, view)) {
        Some(change) => paint.text(inside.x, inside.y, inside.width, &change, Role::Changed),
        None => paint.text(inside.x, inside.y, inside.width, &said, Role::Heading),
    };
    let y = inside.y + 1;
    if y >= inside.bottom() {
        return;
    }
    let mut x = inside.x;
    for field in WhatIf::ALL {
        let (key, label, none) = field.about();
        let at = path(plan, view, key);
        let room = |x: u16| inside.right().saturating_sub(x);
        x += paint.text(x, y, room(x), label, Role::Text) + 1;
        match model.field.as_ref().filter(|open| open.at == at) {
            Some(open) => {
                let width = FIELD.min(room(x));
                paint.line_edit(x, y, width, &open.line);
                x += width;
            }
            None => {
                let value = match plan.get_at(&at) {
                    Some(Value::Nothing) => none.to_string(),
                    _ => entry::show_at(plan, &at).unwrap_or_default(),
                };
                let role = if view.field == field { Role::Selected } else { Role::Figure };
                if view.field == field {
                    paint.set_cursor(x, y);
                }
                x += paint.text(x, y, room(x), &value, role);
            }
        }
        // All three on the smallest screen too.
        x += if inside.width < 60 { 1 } else { 3 };
    }
    let drives = |c: &crate::plan::Charger| c.state.stays() && c.kind == Known::Is(ChargerKind::DcDc);
    if !plan.chargers.iter().any(drives) && inside.width >= 60 {
        let room = inside.right().saturating_sub(x.saturating_sub(2));
        paint.text(x.saturating_sub(2), y, room, "(no DC-DC charger)", Role::Text);
    }
}

fn path(plan: &Plan, view: &SeasonsView, key: &str) -> FieldPath {
    let id = plan.stays.get(view.stay).map_or("", |s| s.id.as_str());
    FieldPath::from("stays").join(id).join(key)
}

/// What the year and the month have gained and lost since the baseline; none where none is held.
fn since_base(document: &Document, view: &SeasonsView) -> Option<String> {
    Some(format!("base: {}", change(document.shown(), document.baseline()?, view)))
}

/// What the draft brings, while it is typed; where a baseline is held its line says so.
fn as_typed(document: &Document, view: &SeasonsView) -> Option<String> {
    let is_said = document.is_draft() && document.baseline().is_none();
    is_said.then(|| format!("as typed: {}", change(document.shown(), document.committed(), view)))
}

/// What one year and month have over another.
fn change(now: &Shown, then: &Shown, view: &SeasonsView) -> String {
    let (now, then) = (&now.report.year, &then.report.year);
    let number = |what: &str, now: Option<f64>, then: Option<f64>, decimals: usize, unit: &str| {
        let change = words::change_shown(now, then, decimals);
        (!change.is_empty()).then(|| format!("{what} {change} {unit}"))
    };
    let known = |f: &Figure<f64>| f.as_ref().ok().copied();
    let day = |f: &Figure<WattHours>| f.as_ref().ok().map(|w| w.0);
    let mut said = vec![
        number("harvest", known(&now.harvest_kwh), known(&then.harvest_kwh), 0, "kWh/y"),
        number("short", known(&now.shortfall_days), known(&then.shortfall_days), 0, "d/y"),
    ];
    if let (Some(now), Some(then)) = (now.months.get(view.month), then.months.get(view.month)) {
        let month = name(view.month);
        said.push(number(month, day(&now.harvest_wh_day), day(&then.harvest_wh_day), 0, "Wh/d"));
        said.push(number("short", day(&now.shortfall_wh_day), day(&then.shortfall_wh_day), 0, "Wh/d"));
    }
    let said: Vec<String> = said.into_iter().flatten().collect();
    if said.is_empty() { "no change".into() } else { said.join(", ") }
}

/// All lines of a page.
fn lines(model: &Model, view: &SeasonsView) -> Lines {
    let Some(document) = &model.document else { return Vec::new() };
    let shown = document.committed();
    let mut lines = Vec::new();
    match view.page {
        YearPage::Table => table(model, shown, view, &mut lines),
        YearPage::Picture => picture(model, shown, view, &mut lines),
        YearPage::Limits => limits::page(model, shown, view, &mut lines),
        YearPage::TypicalDay | YearPage::DarkDay => days::day(model, shown, view, &mut lines),
        YearPage::DullSpell => days::spell(model, shown, view, &mut lines),
    }
    wrapped(lines, width(model))
}

/// A table as wide as its rows where the screen has room for them; else its columns one part below the other, each with the
/// names of the rows, which take the first `lead` columns. The table is the lines from `from` on, its heading first.
fn in_parts(lines: &mut Lines, from: usize, lead: usize, width: usize) {
    let block = lines.split_off(from);
    let rows: Vec<Vec<char>> = block.iter().map(|(row, _)| row.chars().collect()).collect();
    let wide = rows.iter().map(Vec::len).max().unwrap_or(0);
    if wide <= width {
        return lines.extend(block);
    }
    let is_gap = |x: &usize| rows.iter().all(|row| row.get(*x).is_none_or(|c| *c == ' '));
    let mut begins = lead;
    while begins < wide {
        let most = begins + width.saturating_sub(lead).max(1);
        let ends = if wide <= most { wide } else { (begins + 1..=most).rev().find(is_gap).unwrap_or(most) };
        for (row, (_, role)) in rows.iter().zip(&block) {
            let part = row.iter().take(lead).chain(row.iter().take(ends).skip(begins));
            // A heading that stays while its rows move would stand over another part.
            let role = if *role == Role::Heading { Role::Figure } else { *role };
            lines.push((part.collect::<String>().trim_end().into(), role));
        }
        begins = ends;
    }
}

/// A known number of Wh, else none.
fn wh_of(f: &Figure<WattHours>) -> f64 {
    f.as_ref().map_or(0.0, |w| w.0)
}

/// Wh in a column of five.
fn wh(f: &Figure<WattHours>) -> String {
    figure(f, |w| narrow(w.0, 5))
}

fn narrow_wh(f: &Figure<WattHours>, columns: usize) -> String {
    figure(f, |w| narrow(w.0, columns))
}

pub(super) fn name(month: usize) -> &'static str {
    MONTH_NAMES.get(month).copied().unwrap_or("")
}

/// `>` before the month that is looked at, `-` where it is none of the shown stay, and `*` before the others of that stay where there
/// are several stays.
fn mark(report: &Report, view: &SeasonsView, month: usize) -> char {
    let stay = |m: usize| report.year.months.get(m).and_then(|f| f.stay);
    let several = (0..12).any(|m| stay(m) != stay(0));
    match stay(month) {
        here if month == view.month => {
            if several && here != Some(view.stay) {
                '-'
            } else {
                '>'
            }
        }
        Some(s) if s == view.stay && several => '*',
        _ => ' ',
    }
}

/// A text of one paragraph; `lines` wraps it.
fn say(lines: &mut Lines, text: &str) {
    lines.push((text.into(), Role::Text));
}

/// Columns of text: a page's rows, on a wide screen more for what is said about them.
fn width(model: &Model) -> usize {
    text_width(model.size.0).max(WIDTH.min(usize::from(model.size.0.saturating_sub(6))))
}

fn blank(lines: &mut Lines) {
    lines.push((String::new(), Role::Text));
}

/// How a row of a month is shown.
fn row_role(view: &SeasonsView, month: usize) -> Role {
    if month == view.month { Role::SelectedRow } else { Role::Text }
}

fn table(model: &Model, shown: &Shown, view: &SeasonsView, lines: &mut Lines) {
    let waits = |figure: &Figure<f64>, lines: &mut Lines| waits(shown, figure, lines);
    let report = &shown.report;
    let (other, meant) = other_word(report);
    let answer = match model.late.answer(shown, &Question::MadeUp) {
        Some(Answer::MadeUp(answer)) => Some(answer),
        _ => None,
    };
    let is_asked = may_be_made_up(&shown.plan, report);
    let nothing_short = report.year.months.iter().all(|m| m.shortfall_wh_day.as_ref().is_ok_and(|wh| wh.0 < 0.5));
    let heading = format!("     sun array  harv dull-bright  load{other:>6}  bank unused short lasts  gen");
    let from = lines.len();
    lines.push((heading, Role::Heading));
    for (m, month) in report.year.months.iter().enumerate() {
        let spread = figure(&month.spread_wh_day, |s| format!("{}-{}", narrow(s.dull.0, 5), narrow(s.bright.0, 5)));
        let row = format!(
            "{}{:<3} {:>3} {:>5} {:>5} {:>11} {:>5} {:>5} {:>5} {:>6} {:>5} {:>4}  {:>4}",
            mark(report, view, m),
            name(m),
            figure(&month.ghi_kwh_m2_day, |g| fixed(*g, 1)),
            wh(&month.array_wh_day),
            wh(&month.harvest_wh_day),
            spread,
            wh(&month.load_wh_day),
            wh(&month.other_wh_day),
            wh(&month.charged_wh_day),
            wh(&month.unused_wh_day),
            wh(&month.shortfall_wh_day),
            figure(&month.days_without_sun, |d| lasts(*d)),
            if nothing_short { "0".into() } else { made_up(answer, is_asked, m) },
        );
        lines.push((row, row_role(view, m)));
    }
    in_parts(lines, from, 4, width(model));
    by_driving(answer, lines);
    but_first(answer, lines);
    others(report, lines);
    notes::cold(report, lines);
    notes::lasts_less(shown, lines);
    notes::audit_alone(report, lines);
    notes::no_array(shown, lines);
    notes::assumed(shown, lines);
    notes::one_way(model, shown, view, lines);
    notes::raised(shown, lines);
    notes::shade(shown, lines);
    trees::taken_as(shown, lines);
    blank(lines);
    let month = report.year.months.get(view.month);
    if let Some(share) = month.and_then(|m| m.short_days_share.as_ref().ok()).filter(|share| **share > 0.0) {
        say(lines, &format!("{}: some load goes short on {} % of the days", name(view.month), fixed(share * 100.0, 0)));
    }
    notes::cut_off(report, lines);
    sums(shown, lines);
    notes::begins(shown, lines);
    waits(&report.year.lived.unmet_pct, lines);
    let most = GENERATOR_H.last().copied().unwrap_or(0);
    say(
        lines,
        &format!(
            "Wh a day; harv: harvest at the posts, a tenth of the days bring less than the first of dull-bright and a tenth \
             more than the second; {other}: what {meant}; bank: into it; unused: on offer and not taken; \
             short: load not served; lasts: days without sun or shore power that the bank lasts, by its label's volts x Ah x usable share, as cold as it is that \
             month; gen: the least hours a day of generator (or d: of driving more than now) of those tried that make up all but {} % of \
             the shortfall, each in a year of its own with so many every day of all months, from {BEGINS}:00 on (d: after what is \
             driven already); -: no charger for it, or none of those tried, up to {most} h, do. > the month looked at, * others of \
             this stay. A typical year: the next may be duller.",
            fixed(LEFT * 100.0, 0)
        ),
    );
}

/// The sums of the year, or of the months that have a stay where some have none.
fn sums(shown: &Shown, lines: &mut Lines) {
    let report = &shown.report;
    let lived = &report.year.lived;
    let kwh = |f: &Figure<f64>| figure(f, |k| whole(*k));
    let what = match lived.months {
        0 | 12 => "year".into(),
        1 => "the one month with a stay (the year's sums wait for one in the others)".into(),
        n => format!("the {n} months with a stay (the year's sums wait for one in the others)"),
    };
    say(
        lines,
        &format!(
            "{what}: harvest {} kWh{}; into the bank {} kWh; {}{}; not served {} % of it on {}",
            kwh(&lived.harvest_kwh),
            by_month(report),
            kwh(&lived.stored_kwh),
            match has_no_loads(&shown.plan) {
                true => format!("no loads entered, {OWN_USE} {} kWh", figure(&lived.load_kwh, |k| fixed(*k, 1))),
                false => figure(&lived.load_kwh, |k| {
                    let (least, most) = report.loads.range(*k);
                    format!("load {} kWh ({}-{} as audits are)", whole(*k), whole(least), whole(most))
                }),
            },
            carried(report),
            figure(&lived.unmet_pct, |p| fixed(*p, 1)),
            counted(kwh(&lived.short_days), "day"),
        ),
    );
}

/// What alternator and shore bring in a month, Wh a day, each apart.
fn apart(month: &MonthFigures) -> (f64, f64) {
    match (&month.other_wh_day, &month.shore_wh_day) {
        (Ok(both), Ok(shore)) => (both.0 - shore.0, shore.0),
        _ => (0.0, 0.0),
    }
}

/// The column of other charging: that of the one source there is, or of both together; and what that means.
fn other_word(report: &Report) -> (&'static str, &'static str) {
    let brings = |of: fn((f64, f64)) -> f64| report.year.months.iter().any(|m| of(apart(m)) >= 0.5);
    match (brings(|a| a.0), brings(|a| a.1)) {
        (true, false) => ("alt", "the alternator brings to the posts"),
        (false, true) => ("shore", "shore power brings to the posts and carries past them"),
        _ => ("other", "alternator and shore bring to the posts, and shore carries past them"),
    }
}

/// Where both alternator and shore bring something: how much each, month by month.
fn others(report: &Report, lines: &mut Lines) {
    if other_word(report).0 != "other" {
        return;
    }
    let months = report.year.months.iter().enumerate().map(|(m, month)| (m, apart(month)));
    let some = months.filter(|(_, (alternator, shore))| alternator + shore >= 0.5);
    let all: Vec<String> =
        some.map(|(m, (alternator, shore))| format!("{} {}+{}", name(m), whole(alternator), whole(shore))).collect();
    if !all.is_empty() {
        say(lines, &format!("other, alternator + shore: {}", all.join(", ")));
    }
}

/// That the load is all there is, where shore power brings some of it.
fn carried(report: &Report) -> &'static str {
    let shore = report.year.months.iter().any(|m| apart(m).1 >= 0.5);
    if shore { ", that on shore power with it" } else { "" }
}

/// What a dull, a typical and a bright month bring of it.
fn by_month(report: &Report) -> String {
    report.year.month_spread().map_or(String::new(), |s| {
        let (dull, bright) = (name(s.dull.0), name(s.bright.0));
        let (least, middle, most) = (whole(s.dull.1), whole(s.typical), whole(s.bright.1));
        format!(
            ", of which a dull month brings {least} ({dull}), a typical one {middle}, a bright one {most} ({bright})"
        )
    })
}

/// Days in four columns: what is beside them must not read as their unit.
fn lasts(days: f64) -> String {
    match days {
        days if days < 99.95 => fixed(days, 1),
        days if days < 999.5 => fixed(days, 0),
        _ => ">999".into(),
    }
}

/// Hours that make up what goes short in a month: of the generator, else of driving. `is_asked`: whether anything may.
fn made_up(answer: Option<&Figure<MadeUp>>, is_asked: bool, month: usize) -> String {
    let hours = |hours: f64| if hours < 9.95 { fixed(hours, 1) } else { fixed(hours, 0) };
    match answer {
        None if is_asked => "..".into(),
        None => "-".into(),
        Some(Err(_)) => UNKNOWN.into(),
        Some(Ok(made)) => {
            let but = made.but_first.get(month).copied().flatten().map(|(hours, _)| Ok(Some(hours)));
            let of = made.hours().and_then(|of| of.get(month));
            let d = if made.generator.is_none() { "d" } else { "" };
            match but.as_ref().or(of) {
                None | Some(Ok(None)) => "-".into(),
                Some(Err(_)) => UNKNOWN.into(),
                Some(Ok(Some(h))) if *h <= 0.0 => "0".into(),
                Some(Ok(Some(h))) => format!("{d}{}", hours(*h)),
            }
        }
    }
}

/// What such hours leave short, after a month that none of those tried make up.
fn but_first(answer: Option<&Figure<MadeUp>>, lines: &mut Lines) {
    let Some(Ok(made)) = answer else { return };
    for (m, but) in made.but_first.iter().enumerate() {
        let Some((_, days)) = but else { continue };
        let (here, days, before) = (name(m), counted(days, "day"), name((m + 11) % 12));
        say(lines, &format!("gen: {here} but for its first {days}, short as {before} leaves the bank"));
    }
}

/// Hours of driving, where the column has those of the generator.
fn by_driving(answer: Option<&Figure<MadeUp>>, lines: &mut Lines) {
    let Some(Ok(MadeUp { driving: Some(driving), generator: Some(_), .. })) = answer else { return };
    let each = driving.iter().enumerate().filter_map(|(m, hours)| match hours {
        Ok(Some(h)) if *h > 0.0 => Some(format!("{} {}", name(m), fixed(*h, 1))),
        Ok(None) => Some(format!("{} -", name(m))),
        _ => None,
    });
    let all: Vec<String> = each.collect();
    if !all.is_empty() {
        say(lines, &format!("or by so many hours more of driving alone: {}", all.join(", ")));
    }
}

/// What a figure waits for, if it does.
fn waits<T>(shown: &Shown, figure: &Figure<T>, lines: &mut Lines) {
    if let Err(missing) = figure {
        let what = if missing.0.as_str().is_empty() {
            "a stay, an array and runs".into()
        } else {
            words::awaited(&shown.plan, &missing.0)
        };
        let some = shown.report.year.months.iter().any(|m| m.charged_wh_day.is_ok());
        let not = if some { "not every month is simulated, nor the year" } else { "the bank is not simulated" };
        say(lines, &format!("{not}: waits for {what}"));
    }
}

fn picture(model: &Model, shown: &Shown, view: &SeasonsView, lines: &mut Lines) {
    let report = &shown.report;
    let longest = BAR.min(width(model).saturating_sub(BESIDE_BAR)).max(1);
    let months = &report.year.months;
    let known = |f: &Figure<WattHours>| f.as_ref().map_or(0.0, |w| w.0);
    let bright = |m: &MonthFigures| m.spread_wh_day.as_ref().map_or(0.0, |s| s.bright.0);
    let most = months.iter().map(|m| bright(m).max(known(&m.load_wh_day))).fold(1.0, f64::max);
    let at = |w: f64| ((w / most * longest as f64).round() as usize).min(longest);
    for (m, month) in months.iter().enumerate() {
        let (harvest, load) = (known(&month.harvest_wh_day), known(&month.load_wh_day));
        let dull = month.spread_wh_day.as_ref().map_or(0.0, |s| s.dull.0);
        let bar: String = (0..=longest)
            .map(|x| match x {
                _ if x == at(load) && load > 0.0 => '|',
                _ if x < at(dull) => '=',
                _ if x < at(harvest) => '#',
                _ if x < at(bright(month)) => '-',
                _ => ' ',
            })
            .collect();
        let row = format!(
            "{}{:<3} {bar} {:>6} of {:>6}",
            mark(report, view, m),
            name(m),
            narrow_wh(&month.harvest_wh_day, 6),
            narrow_wh(&month.load_wh_day, 6)
        );
        lines.push((row, row_role(view, m)));
    }
    blank(lines);
    say(lines, "= a dull day's harvest  # to the mean  - to a bright day's  | load; Wh a day");
    notes::shade(shown, lines);
}

/// A day of the year by its date.
fn date(day: usize) -> String {
    let month = month_of(day);
    let before: usize = crate::climate::year::MONTH_DAYS.iter().take(month).sum();
    format!("{} {}", day % 365 - before + 1, name(month))
}

/// The month that a day of the year is in.
fn month_of(day: usize) -> usize {
    let mut ends = crate::climate::year::MONTH_DAYS.iter().scan(0, |end, days| {
        *end += days;
        Some(*end)
    });
    ends.position(|end| day % 365 < end).unwrap_or(11)
}

/// The stay of a month.
fn place_of(shown: &Shown, month: usize) -> &str {
    let stay = shown.report.year.months.get(month).and_then(|m| m.stay);
    stay.and_then(|s| shown.plan.stays.get(s)).map_or("", |s| s.place.as_str())
}
