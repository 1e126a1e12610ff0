//! The sizing of all runs: run by run what would change and why, and what the plan comes to before and after.

use crate::words::counted;
use ratatui::layout::Rect;

use crate::engine::sizing::{SizedRun, Totals};
use crate::plan::entry::Units;
use crate::tui::model::{Model, Sizing};
use crate::tui::theme::Role;
use crate::tui::words::{self, figure, fixed};
use crate::wording::run::ends;

use super::paint::{Paint, paged, wrap};
use super::results::shade_line;
use super::table::{self, Cell, Table, WIDE, left, right};

/// Most lines about the whole.
const MOST_NOTES: usize = 4;
/// Lines about the marked row, least and most.
const WHY_ROWS: std::ops::RangeInclusive<usize> = 2..=4;

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect, sizing: &Sizing) {
    let wide = area.width >= WIDE;
    let rows: Vec<Vec<Cell>> = sizing.proposal.rows.iter().map(|r| cells(model, r, wide)).collect();
    let changed = sizing.proposal.rows.iter().filter(|r| r.changes()).count();
    let whence = if sizing.truck_only { "from the truck only" } else { "all gauges" };
    let title = match model.sizing {
        Some(awaited) if awaited.truck_only => "SIZE ALL: being sized anew from the truck only ..".to_string(),
        Some(_) => "SIZE ALL: being sized anew with all gauges ..".to_string(),
        None => format!("SIZE ALL, {whence}: {changed} of {} change", counted(rows.len(), "run")),
    };
    let (why, room) = whys(model, sizing, usize::from(area.width.saturating_sub(6)));
    let mut about = paged(&why, room, sizing.more, "... ");
    about.resize(room, (String::new(), Role::Text));
    let mut totals: Vec<Vec<Cell>> = Vec::new();
    totals.extend(sizing.base.as_ref().map(|t| total(model, "baseline", t)));
    totals.push(total(model, "as it is", &sizing.now));
    totals.push(total(model, "sized", &sizing.then));
    about.extend(totals.first().map(|t| (table::heading(t), Role::Heading)));
    about.extend(totals.iter().map(|t| (table::row(false, t), Role::Text)));
    let shown = model.document.as_ref().map(|document| document.committed());
    let shade = shown.and_then(|shown| shade_line(&shown.plan, &shown.report));
    about.extend(shade.map(|line| (format!("Wh/day: {line}"), Role::Text)));
    let width = usize::from(area.width.saturating_sub(6));
    let all = std::iter::once(&sizing.brings).filter(|brings| !brings.is_empty()).chain(&sizing.proposal.notes);
    let notes = all.flat_map(|note| wrap(note, width));
    about.extend(notes.take(MOST_NOTES).map(|line| (line, Role::Text)));
    let about_rows = about.len();
    let table = Table {
        title: &title,
        heading: rows.first().map(|r| table::heading(r)).unwrap_or_default(),
        rows: rows.iter().zip(&sizing.proposal.rows).map(|(cells, r)| table::row(r.changes(), cells)).collect(),
        cursor: sizing.cursor,
        about,
        about_rows,
    };
    table::draw(paint, area, &table);
}

/// Why the marked run's sizes are what they are, in lines, and the room for them: as many as the longest of the reasons takes,
/// so that the table stands still.
fn whys(model: &Model, sizing: &Sizing, width: usize) -> (Vec<(String, Role)>, usize) {
    let why = |row: &SizedRun| {
        let why = model.plan().map_or(row.why.clone(), |plan| words::waits(plan, &row.why));
        wrap(&format!("{}: {why}", row.run), width)
    };
    let most = sizing.proposal.rows.iter().map(|row| why(row).len()).max().unwrap_or(0);
    let marked = sizing.proposal.rows.get(sizing.cursor).map(why).unwrap_or_default();
    let lines = marked.into_iter().map(|l| (l, Role::Text)).collect();
    (lines, most.clamp(*WHY_ROWS.start(), *WHY_ROWS.end()))
}

/// How many lines there are about the marked run, and how many are shown at once.
pub(super) fn extent(model: &Model, sizing: &Sizing, columns: u16) -> (usize, usize) {
    let (lines, room) = whys(model, sizing, usize::from(columns.saturating_sub(6)));
    (lines.len(), room)
}

fn cells(model: &Model, row: &SizedRun, wide: bool) -> Vec<Cell> {
    let between = |a: String, b: String| if a == b { a } else { format!("{a} > {b}") };
    let gauge = |g: Option<crate::engine::sizing::Make>| g.map_or("?".into(), |g| g.to_string());
    let fuse = |f: Option<crate::engine::sizing::FuseSize>| {
        f.map_or("-".into(), |(a, _)| fixed(a.0, usize::from((a.0 - a.0.round()).abs() > 0.05)))
    };
    let mut short = between(gauge(row.gauge.0), gauge(row.gauge.1)).replacen(" AWG > ", " > ", 1);
    if short.contains(" x ") {
        short = short.replace(" x ", "x").replace(" AWG", "");
    }
    let mut cells = vec![left("run", 4, row.run.to_string())];
    if wide {
        let joins = model.plan().and_then(|p| p.runs.iter().find(|r| r.id == row.run)).map(ends);
        cells.push(left("from > to", 14, joins.map(|(a, b)| format!("{a} > {b}")).unwrap_or_default()));
    }
    cells.push(left("gauge", 14, short));
    cells.push(left("fuse A", 10, between(fuse(row.fuse.0), fuse(row.fuse.1))));
    cells.push(left(
        "because",
        if wide { 67 } else { 42 },
        model.plan().map_or(row.why.clone(), |plan| words::waits(plan, &row.why)),
    ));
    cells
}

fn total(model: &Model, name: &'static str, t: &Totals) -> Vec<Cell> {
    let drop = t
        .worst_drop
        .as_ref()
        .map_or("?".into(), |(run, pct, target)| format!("{run} {} of {} %", fixed(*pct, 2), fixed(*target, 2)));
    let parts = if model.are_prices_hidden {
        String::new()
    } else {
        match t.parts.1 {
            0 => fixed(t.parts.0, 0),
            n => format!("{} +{n}?", fixed(t.parts.0, 0)),
        }
    };
    let units = model.plan().map_or(Units::STORED, Units::of);
    let wire = if words::weight(units, 0.0).1 == "lb" { "wire lb" } else { "wire kg" };
    vec![
        left("", 8, name),
        left("worst drop", 18, drop),
        right("stop", 4, t.stops.to_string()),
        right("caution", 7, t.cautions.to_string()),
        right("Wh/day", 6, figure(&t.harvest_wh_day, |w| fixed(*w, 0))),
        right("parts", 11, parts),
        right(wire, 7, figure(&t.wire_kg, |k| fixed(words::weight(units, *k).0, 1))),
    ]
}
