//! The Bench: equipment, results, wiring runs; detail of the selected thing where there is room.

use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr;

use crate::engine::report::RunFigures;
use crate::engine::{Level, Report};
use crate::plan::{FieldPath, Plan, Run};
use crate::standards::small_wire::small_wire_fuse_limit_a;
use crate::tui::bench::{self, Column};
use crate::tui::layout;
use crate::tui::model::{Model, Overlay, Pane};
use crate::tui::theme::Role;
use crate::tui::words::{self, amps, figure, fixed};
use crate::wording::run::{ends, path_pct, path_place};

use super::paint::Paint;
use super::{detail, results};

/// Draws the Bench; what of the results had no room, in full.
pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) -> Vec<String> {
    let Some(document) = &model.document else { return Vec::new() };
    let plan = &document.shown().plan;
    let equipment = bench::equipment(plan);
    let panes = layout::bench(area, equipment.len(), plan.runs.len());
    draw_equipment(model, paint, panes.equipment, &equipment);
    if panes.results.x > panes.equipment.right() {
        for y in panes.results.y..panes.results.bottom() {
            let bar = paint.theme.bar();
            paint.text(panes.results.x - 1, y, 1, bar, Role::Text);
        }
    }
    let cut = results::draw(model, paint, panes.results);
    draw_runs(model, paint, panes.runs);
    if panes.detail.height > 0 {
        detail::draw(model, paint, panes.detail);
    }
    cut
}

fn draw_equipment(model: &Model, paint: &mut Paint, area: Rect, lines: &[bench::Equipment]) {
    let focused = model.bench.pane == Pane::Equipment;
    paint.title(area, "EQUIPMENT", focused);
    let height = usize::from(area.height.saturating_sub(1));
    let first = layout::first_row(model.bench.equipment, lines.len(), height);
    for (i, line) in lines.iter().enumerate().skip(first).take(height) {
        let y = area.y + 1 + u16::try_from(i - first).unwrap_or(0);
        let selected = i == model.bench.equipment;
        if selected {
            paint.text(area.x, y, 1, cursor(model, focused), Role::Figure);
        }
        let role = if selected && focused { Role::Selected } else { Role::Figure };
        paint.text(area.x + 2, y, 5, &line.id, role);
        paint.text(area.x + 8, y, area.width.saturating_sub(8), &line.text, Role::Text);
        if selected && focused {
            paint.set_cursor(area.x + 2, y);
        }
    }
    paint.hidden(area, first, lines.len().saturating_sub(first + height));
}

/// Where the columns of the runs stand: x and width; a width of 0 is left out.
#[derive(Clone, Copy, Default)]
struct Columns {
    id: (u16, u16),
    from: (u16, u16),
    to: (u16, u16),
    length: (u16, u16),
    gauge: (u16, u16),
    amps: (u16, u16),
    drop: (u16, u16),
    pct: (u16, u16),
    fuse: (u16, u16),
    loss: (u16, u16),
    mark: (u16, u16),
}

impl Columns {
    fn of(area: Rect) -> Self {
        let spare = area.width.saturating_sub(80);
        let name = 5 + (spare / 4).min(7);
        let mut widths =
            [4, name, name, 6 + (spare / 8).min(2), 8 + (spare / 8).min(3), 6, 6, 5, 9 + (spare / 4).min(10), 5, 8];
        // On a narrow screen these go first: loss, volts, amps, percent, fuse, length.
        let gaps = |w: &[u16; 11]| w.iter().filter(|w| **w > 0).count() as u16;
        for gone in [9, 6, 5, 7, 8, 3] {
            if widths.iter().sum::<u16>() + gaps(&widths) + 2 > area.width
                && let Some(width) = widths.get_mut(gone)
            {
                *width = 0;
            }
        }
        let mut x = area.x + 2;
        let mut next = |i: usize| {
            let width = widths.get(i).copied().unwrap_or(0);
            let at = (x, width);
            if width > 0 {
                // The arrow stands between the two ends.
                x += width + if i == 1 { 2 } else { 1 };
            }
            at
        };
        Self {
            id: next(0),
            from: next(1),
            to: next(2),
            length: next(3),
            gauge: next(4),
            amps: next(5),
            drop: next(6),
            pct: next(7),
            fuse: next(8),
            loss: next(9),
            mark: next(10),
        }
    }
}

impl Columns {
    /// Where a column that can be focused stands.
    fn place(&self, column: Column) -> (u16, u16) {
        match column {
            Column::Id => self.id,
            Column::From => self.from,
            Column::To => self.to,
            Column::Length => self.length,
            Column::Gauge => self.gauge,
            Column::Fuse => self.fuse,
        }
    }
}

fn draw_runs(model: &Model, paint: &mut Paint, area: Rect) {
    let Some(document) = &model.document else { return };
    let shown = document.shown();
    let plan = &shown.plan;
    let focused = model.bench.pane == Pane::Runs;
    paint.title(area, "RUNS", focused);
    if area.height < 2 {
        return;
    }
    let at = Columns::of(area);
    let y = area.y + 1;
    for ((x, width), text, right) in [
        (at.id, "id", false),
        (at.from, "from", false),
        (at.to, "to", false),
        (at.length, "length", true),
        (at.gauge, "gauge", false),
        (at.amps, "A", true),
        (at.drop, "drop V", true),
        (at.pct, "%", true),
        (at.fuse, "fuse", false),
        (at.loss, "Wh/d", true),
        (at.mark, "", false),
    ] {
        if right {
            paint.right(x, y, width, text, Role::Text);
        } else {
            paint.text(x, y, width, text, Role::Text);
        }
    }
    if plan.runs.is_empty() {
        paint.text(
            area.x + 2,
            y + 1,
            area.width,
            "no runs yet: a adds one, g leads through the walk-round",
            Role::Text,
        );
        return;
    }
    let height = usize::from(area.height.saturating_sub(2));
    let first = layout::first_row(model.bench.run, plan.runs.len(), height);
    for (i, run) in plan.runs.iter().enumerate().skip(first).take(height) {
        let y = area.y + 2 + u16::try_from(i - first).unwrap_or(0);
        draw_run(model, paint, &at, y, run, i == model.bench.run);
    }
    paint.hidden(area, first, plan.runs.len().saturating_sub(first + height));
}

fn draw_run(model: &Model, paint: &mut Paint, at: &Columns, y: u16, run: &Run, selected: bool) {
    let Some(document) = &model.document else { return };
    let shown = document.shown();
    let plan = &shown.plan;
    let figures = run_figures(&shown.report, run);
    let base = document.baseline().and_then(|b| run_figures(&b.report, run));
    let row = if selected { Role::SelectedRow } else { Role::Text };
    if selected {
        paint.text(at.id.0 - 2, y, 1, cursor(model, model.bench.pane == Pane::Runs), Role::Figure);
    }
    let (from, to) = ends(run);
    paint.text(at.id.0, y, at.id.1, run.id.as_str(), row);
    paint.text(at.from.0, y, at.from.1, &from, row);
    paint.text((at.to.0).saturating_sub(2), y, 1, ">", Role::Text);
    paint.text(at.to.0, y, at.to.1, &to, row);
    paint.right(at.length.0, y, at.length.1, &bench::length_within(plan, run, at.length.1), row);
    paint.text(at.gauge.0, y, at.gauge.1, &bench::gauge(run), row);
    paint.text(at.fuse.0, y, at.fuse.1, &bench::fuse(run), row);
    let shown_figures = [
        (at.amps, amps_text(figures), base.map(|b| amps_text(Some(b)))),
        (at.drop, drop_text(figures), base.map(|b| drop_text(Some(b)))),
        (at.pct, pct_text(figures), base.map(|b| pct_text(Some(b)))),
        (at.loss, loss_text(figures), base.map(|b| loss_text(Some(b)))),
    ];
    for ((x, width), text, was) in shown_figures {
        let role = if was.is_some_and(|was| was != text) { Role::Changed } else { row };
        paint.right(x, y, width, &text, role);
    }
    let (mark, role) = mark(&shown.report, run, figures);
    paint.text(at.mark.0, y, at.mark.1, mark, role);
    if selected && model.bench.pane == Pane::Runs {
        focus_cell(model, paint, at, y, plan, run);
    }
}

/// A pane's cursor; where the keys go elsewhere, what it was left on. Behind a box, which leaves it beside its edge, none.
fn cursor(model: &Model, focused: bool) -> &'static str {
    match (&model.overlay, focused) {
        (Some(_), _) => "",
        (None, true) => ">",
        (None, false) => "-",
    }
}

/// The focused cell reversed, or the line being typed in its place.
fn focus_cell(model: &Model, paint: &mut Paint, at: &Columns, y: u16, plan: &Plan, run: &Run) {
    match &model.field {
        Some(field) => {
            if let Some((x, width)) = cell_of(model, at, plan, run, &field.at) {
                // A word that is chosen is read whole: it goes on over the figures beside it.
                let end = at.mark.0 + at.mark.1;
                let whole = u16::try_from(field.line.text().width() + 1).unwrap_or(width);
                let is_fuses = field.list.is_some() && field.at.as_str().contains(".protection.");
                let width = if field.list.is_some() { width.max(whole).min(end.saturating_sub(x)) } else { width };
                paint.line_edit(x, y, width, &field.line);
                // Of a part of a fuse's type the choice is what counts, and the one that arrows have marked since.
                let meant = field.meant();
                if is_fuses && field.typed().is_some() && meant != field.line.text() {
                    let after = x + u16::try_from(field.line.text().width() + 1).unwrap_or(0);
                    paint.text(after, y, end.saturating_sub(after), &format!("> {meant}"), Role::Figure);
                }
            }
        }
        None => {
            let (x, width) = at.place(model.bench.column);
            paint.mark(x, y, width, Role::Selected);
            paint.set_cursor(x, y);
        }
    }
}

/// Where a field of the selected run is drawn in the table: in the cell that is marked or another that shows it, all of a fuse
/// in the fuse's; none where no cell does.
fn cell_of(model: &Model, at: &Columns, plan: &Plan, run: &Run, field: &FieldPath) -> Option<(u16, u16)> {
    let shows = |column: &Column| bench::cell(plan, (run, false), *column).at == *field;
    let others = Column::ALL.iter().copied();
    let column = std::iter::once(model.bench.column).chain(others).find(shows).or_else(|| {
        let of_fuse = FieldPath::from("runs").join(&run.id).join("protection");
        field.is_within(&of_fuse).then_some(Column::Fuse)
    })?;
    Some(at.place(column)).filter(|(_, width)| *width > 0)
}

/// Whether the open field stands in no cell of the Bench, on a screen so wide: it is typed in on the line below then.
pub(super) fn is_typed_below(model: &Model, width: u16) -> bool {
    let (Some(field), Some(document), true) = (&model.field, &model.document, model.is_on_bench()) else {
        return false;
    };
    let plan = &document.shown().plan;
    let at = Columns::of(Rect { x: 0, y: 0, width, height: 1 });
    let run = plan.runs.get(model.bench.run).filter(|_| model.bench.pane == Pane::Runs);
    model.overlay.is_none() && run.is_none_or(|run| cell_of(model, &at, plan, run, &field.at).is_none())
}

/// A run's figures in a report.
pub(super) fn run_figures<'a>(report: &'a Report, run: &Run) -> Option<&'a RunFigures> {
    report.runs.iter().find(|r| r.id == run.id)
}

fn amps_text(f: Option<&RunFigures>) -> String {
    f.map_or_else(|| words::UNKNOWN.into(), |f| figure(&f.drop_at_a, |a| amps(a.0)))
}

fn drop_text(f: Option<&RunFigures>) -> String {
    f.map_or_else(|| words::UNKNOWN.into(), |f| figure(&f.drop_v, |v| fixed(v.0, 2)))
}

fn pct_text(f: Option<&RunFigures>) -> String {
    f.map_or_else(|| words::UNKNOWN.into(), |f| figure(&f.drop_pct, |p| fixed(*p, 1)))
}

fn loss_text(f: Option<&RunFigures>) -> String {
    f.map_or_else(|| words::UNKNOWN.into(), |f| figure(&f.loss_wh_day, |w| fixed(w.0, 0)))
}

/// The worst finding about a run, that one was accepted, or `?` where its figures or its safety checks wait for something.
fn mark(report: &Report, run: &Run, figures: Option<&RunFigures>) -> (&'static str, Role) {
    let item = FieldPath::from("runs").join(&run.id);
    let (open, accepted): (Vec<_>, Vec<_>) =
        report.findings.iter().filter(|f| f.subject.is_within(&item)).partition(|f| f.accepted.is_none());
    let worst = open.iter().map(|f| f.level).min();
    if let Some(level @ (Level::Stop | Level::Caution)) = worst {
        return (words::level(level), Role::Mark(level));
    }
    let waits = figures.is_none_or(|f| f.drop_v.is_err() || f.design_a.is_err() || f.ampacity_a.is_err());
    if waits || report.run_waits_for(&run.id).is_some() {
        return (words::UNKNOWN, Role::Figure);
    }
    if accepted.iter().any(|f| f.level != Level::Note) {
        return ("accepted", Role::Figure);
    }
    match worst {
        Some(level) => (words::level(level), Role::Mark(level)),
        None => ("ok", Role::Text),
    }
}

/// What the selected run has gained and lost since the baseline, in one line.
pub(super) fn run_change(model: &Model) -> Option<String> {
    let document = model.document.as_ref()?;
    let base = document.baseline()?;
    let shown = document.shown();
    if !model.is_on_bench() || model.bench.pane != Pane::Runs {
        return None;
    }
    let run = shown.plan.runs.get(model.bench.run)?;
    let was = base.plan.runs.iter().find(|r| r.id == run.id);
    let Some(was) = was else { return Some(format!("{} since base: new", run.id)) };
    let mut said = Vec::new();
    let (gauge, before) = (bench::gauge(run), bench::gauge(was));
    if gauge != before {
        said.push(format!("{before} -> {gauge}"));
    }
    let (length, before) = (bench::length(&shown.plan, run), bench::length(&base.plan, was));
    if length != before {
        said.push(format!("{before} -> {length}"));
    }
    let (fuse, before) = (bench::fuse(run), bench::fuse(was));
    if fuse != before {
        said.push(format!("fuse {before} -> {fuse}"));
    }
    let (now, then) = (run_figures(&shown.report, run), run_figures(&base.report, was));
    let mut number = |get: fn(&RunFigures) -> Option<f64>, decimals: usize, unit: &str| {
        let change = words::change_shown(now.and_then(get), then.and_then(get), decimals);
        if !change.is_empty() {
            said.push(format!("{change} {unit}"));
        }
    };
    number(|f| f.drop_v.as_ref().ok().map(|v| v.0), 2, "V");
    number(|f| f.drop_pct.as_ref().ok().copied(), 1, "%");
    number(|f| f.loss_wh_day.as_ref().ok().map(|w| w.0), 0, "Wh/d");
    let all = if said.is_empty() { "no change".into() } else { said.join(", ") };
    Some(format!("{} since base: {all}", run.id))
}

/// The answer about the selected thing in one line: a run's fuse range and what its wire carries; else its full text.
pub(super) fn answer(model: &Model) -> Option<String> {
    let document = model.document.as_ref().filter(|_| model.is_on_bench())?;
    let shown = document.shown();
    match model.bench.pane {
        Pane::Results => return None,
        Pane::Equipment => {
            let line = bench::equipment(&shown.plan).into_iter().nth(model.bench.equipment)?;
            // What the links between its batteries carry, before what the line above says of the bank anyway.
            let links = crate::wording::links::in_short(&shown.report).filter(|_| line.at.as_str() == "bank");
            return Some(format!("{}: {}", line.id, links.unwrap_or(line.text)));
        }
        Pane::Runs => {}
    }
    let run = shown.plan.runs.get(model.bench.run)?;
    let now = run_figures(&shown.report, run)?;
    let was = document.baseline().and_then(|b| run_figures(&b.report, run)).map(fuse_range);
    let range = fuse_range(now);
    let mark = words::changed(&now.changed.fuse);
    let was = was.filter(|was| *was != range).map(|was| format!(" (was {was})")).unwrap_or_default();
    let how = governs(run, now);
    let pct = path_pct(now);
    let (names, plain) = (path_names(&shown.plan, now, &pct), vec![format!(", path {pct} %")]);
    let room = usize::from(model.size.0).saturating_sub(1);
    // What governs the ampacity gives way to the path's name where both have no room.
    let whole = |said: &str| {
        let forms = [format!("{said}{how}"), said.to_string()];
        let with = |paths: &[String]| -> Vec<String> {
            forms.iter().flat_map(|said| paths.iter().map(move |path| format!("{said}{path}"))).collect()
        };
        let mut all = with(&names);
        all.extend(with(&plain));
        all.iter().find(|text| text.chars().count() <= room).or(all.last()).cloned()
    };
    // Under a ladder's box this is the plan's own run, not the row that is marked.
    let stands = if matches!(model.overlay, Some(Overlay::Ladder(_))) { " as it stands" } else { "" };
    if let (Ok(least), Ok(most)) = (&now.fuse_min_a, &now.fuse_max_a)
        && least.0 > most.0
    {
        let path_of = format!("runs.{}", run.id);
        let about = |f: &crate::engine::Finding| f.subject.as_str() == path_of && f.check.id.ends_with("-unfused");
        if run.protection.is_empty() && !shown.report.findings.iter().any(about) {
            let carries = figure(&now.ampacity_a, |a| amps(a.0));
            return whole(&format!("{}{stands}: no fuse of its own, carries {carries} A", run.id));
        }
        // As long as what a gauge says that some fuse fits: its figures change and nothing moves.
        let (least, most) = (amps(least.0), format!("{:>4}", amps(most.0)));
        return whole(&format!("{}{stands}: fuse {least} to {most} A, can't be fused", run.id));
    }
    let carries = figure(&now.ampacity_a, |a| format!("{:>4}", amps(a.0)));
    let weak = words::changed(&now.changed.ampacity);
    whole(&format!("{}{stands}: fuse {range} A{mark}{was}, carries {carries} A{weak}", run.id))
}

/// What governs a run's ampacity, or the fuse it may have where that is less.
fn governs(run: &Run, now: &RunFigures) -> String {
    let small = |most: f64| {
        let own = run.legs.iter().filter_map(|l| l.gauge.as_ref()).chain([&run.gauge]).filter_map(|g| g.known());
        own.filter_map(|g| small_wire_fuse_limit_a(*g)).any(|limit| (limit - most).abs() < 1e-9)
    };
    let is_less = matches!((&now.fuse_max_a, &now.ampacity_a), (Ok(most), Ok(carries)) if most.0 < carries.0 - 1e-9);
    let no_fuse = matches!((&now.fuse_min_a, &now.fuse_max_a), (Ok(least), Ok(most)) if least.0 > most.0);
    match now.governs {
        _ if no_fuse && is_less => {
            let by_size = now.fuse_max_a.as_ref().is_ok_and(|most| small(most.0));
            let fuse_by = if by_size { "small wire" } else { "instructions" };
            match now.governs {
                "" => format!(" (fuse: {fuse_by})"),
                how => format!(" ({how}; fuse: {fuse_by})"),
            }
        }
        "" => String::new(),
        how => format!(" ({how})"),
    }
}

/// What is said of a run's path, the longest first: where it leads, its runs, its drop and target.
fn path_names(plan: &Plan, figures: &RunFigures, pct: &str) -> Vec<String> {
    let Some(place) = path_place(plan, figures) else { return Vec::new() };
    let runs: Vec<&str> = figures.path.iter().map(|id| id.as_str()).collect();
    let mark = words::changed(&figures.changed.target);
    let target = figures.target_pct.map_or_else(String::new, |t| format!(" of {}{mark}", words::num(t)));
    vec![
        format!(", path {place} over {}: {pct}{target} %", runs.join(" ")),
        format!(", path {place} {pct}{target} %"),
        format!(", path {place} {pct} %"),
    ]
}

/// Amps of the fuses that fit: `35.0 to 46.4`.
fn fuse_range(f: &RunFigures) -> String {
    match (&f.fuse_min_a, &f.fuse_max_a) {
        (Ok(least), Ok(most)) if least.0 > most.0 => "none".into(),
        // Always as wide, so that another gauge changes its figures and moves nothing.
        (least, most) => {
            format!("{} to {}", figure(least, |a| amps(a.0)), figure(most, |a| format!("{:>4}", amps(a.0))))
        }
    }
}
