//! Ladders: every choice as a row, with what it does to the plan; about the marked row, its findings by name.

mod goal;

use ratatui::layout::Rect;

use crate::engine::ladder::{Columns, ControllerColumns, Fit, FuseColumns, GaugeColumns, StringsColumns};
use crate::engine::{Finding, LadderOf, Level, Rung};
use crate::plan::entry::Units;
use crate::plan::{Edit, Figure, Run, State};
use crate::tui::model::{Ladder, Model};
use crate::tui::theme::Role;
use crate::tui::words::{self, amps, figure, fixed};
use crate::wording::findings::sentence;
use crate::wording::run::ends;

use super::paint::{Paint, paged, wrap};
use super::results::shade_line;
use super::table::{self, Cell, Table, WIDE, left, right};

/// The harvest of a mean day, that of the dullest month and of the brightest beside it.
const MONTHS: &str = "Wh/day (months)";
/// Columns that go first where a screen is too narrow for all: whether a row fits stays to the last, and no mean day stands
/// without its months.
const DISPENSABLE: [&str; 23] = [
    "lb",
    "kg",
    "chg",
    "drop%",
    "price",
    "spare",
    "truck",
    "short Wh/y",
    "usable Wh",
    "flt kA",
    "hot V",
    "shade%",
    "clip",
    "cur",
    "spareV",
    "fuse",
    "fuses",
    "new",
    "watts",
    "opens",
    "dropV",
    MONTHS,
    "caut",
];
/// The same for a fuse, a wiring and a controller: what the lines below the rows say too.
const OF_FUSE: [&str; 5] = ["lb", "kg", "chg", "flt kA", "opens"];
const OF_WIRING: [&str; 6] = ["lb", "kg", "price", "chg", "shade%", "A"];
const OF_CONTROLLER: [&str; 4] = ["lb", "kg", "chg", "clip"];

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect, ladder: &Ladder) {
    let wide = area.width >= WIDE;
    let mut rows: Vec<Vec<Cell>> = ladder.rungs.iter().map(|r| cells(model, ladder, r, wide)).collect();
    let first: &[&str] = match ladder.of {
        LadderOf::Gauge(_) => &[],
        LadderOf::Fuse(..) => &OF_FUSE,
        LadderOf::Strings(_) => &OF_WIRING,
        LadderOf::Controller(_) => &OF_CONTROLLER,
        LadderOf::Goal(_) => &goal::DISPENSABLE,
    };
    let order: Vec<&str> = first.iter().chain(&DISPENSABLE).copied().collect();
    table::widen(&mut rows, MONTHS);
    table::widen(&mut rows, "path%");
    for row in &mut rows {
        table::narrow(row, usize::from(area.width.saturating_sub(6)), &order);
    }
    let about_rows = about_rows(area.height);
    let changed = model.plan().map(words::rules_changed).unwrap_or_default();
    let title = title(model, ladder) + &changed;
    let width = usize::from(area.width.saturating_sub(6));
    let table = Table {
        title: &title,
        heading: rows.first().map(|r| table::heading(r)).unwrap_or_default(),
        rows: rows.iter().zip(&ladder.rungs).map(|(cells, r)| table::row(r.current, cells)).collect(),
        cursor: ladder.cursor,
        about: about(model, ladder, width, about_rows),
        about_rows,
    };
    table::draw(paint, area, &table);
}

fn title(model: &Model, ladder: &Ladder) -> String {
    let joins = |id: &crate::plan::Id| {
        let run = model.plan().and_then(|p| p.runs.iter().find(|r| r.id == *id));
        run.map(ends).map(|(from, to)| format!(" {from} > {to}")).unwrap_or_default()
    };
    match &ladder.of {
        LadderOf::Gauge(run) => format!("GAUGES OF {run}{}", joins(run)),
        LadderOf::Fuse(run, _) => {
            let family = ladder.rungs.first().and_then(|r| match &r.columns {
                Columns::Fuse(c) => {
                    let plain = crate::standards::fuse::trade_words(c.family.word()).first();
                    Some(plain.map_or(c.family.to_string(), |plain| format!("{} ({plain})", c.family)))
                }
                _ => None,
            });
            format!("FUSE OF {run}{}: {}", joins(run), family.unwrap_or_default())
        }
        LadderOf::Strings(array) => format!("WIRINGS OF {array}"),
        LadderOf::Controller(controller) => format!("CONTROLLERS FOR {controller}: the shelf"),
        LadderOf::Goal(goal) => goal::title(model, ladder, goal),
    }
}

fn cells(model: &Model, ladder: &Ladder, rung: &Rung, wide: bool) -> Vec<Cell> {
    let mut cells = match &rung.columns {
        Columns::Gauge(c) => of_gauge(units(model), (c, rung.over.is_some()), wide),
        Columns::Fuse(c) => of_fuse(c),
        Columns::Strings(c) => of_strings(c, wide),
        Columns::Controller(c) => of_controller(c, wide),
        Columns::Goal(c) => return goal::cells(model, ladder, rung, c, wide),
    };
    cells.extend(of_year(rung, wide));
    cells.push(right("chg", 5, change(ladder, rung)));
    let price = match (model.are_prices_hidden, kept_run(model, ladder)) {
        (true, _) => String::new(),
        (false, Some(_)) => "-".into(),
        (false, None) => words::price(&rung.price),
    };
    cells.push(right("price", 5, price));
    let (_, unit) = words::weight(units(model), 0.0);
    cells.push(right(unit, 4, figure(&rung.weight_kg, |k| fixed(words::weight(units(model), *k).0, 1))));
    // Those that need the year come with it, as `..` beside them and the line about the row say.
    let count = |n: usize, sign: &str| if n == 0 { String::new() } else { format!("{sign}{n}") };
    cells.push(right("new", 3, count(rung.new.len(), "+")));
    cells.push(right("cur", 3, count(rung.cured.len(), "-")));
    let fit = match rung.fit {
        Fit::Yes if !rung.keeps.is_empty() => "but",
        Fit::Yes if rung.over.is_some() => "over",
        Fit::Yes => "yes",
        Fit::Unknown(_) => "?",
        Fit::No(_) => "no",
    };
    cells.push(left("fit", 4, fit));
    cells
}

/// The harvest of a mean day and its months: in two columns, on a narrow screen in one.
fn of_year(rung: &Rung, wide: bool) -> Vec<Cell> {
    let mean = match &rung.harvest_wh_day {
        // Every digit, so that what changed is the difference of two that are shown.
        Some(f) => figure(f, |w| words::narrow(w.0, 6)),
        None => "..".into(),
    };
    // Where arrays grow there are five digits.
    let width = if matches!(rung.columns, Columns::Goal(_)) { 18 } else { 16 };
    match (wide, harvest(rung)) {
        (true, _) => vec![right("Wh/day", 6, mean), right("worst-best", 11, spread(rung))],
        (false, Some(mean)) => vec![right(MONTHS, width, format!("{} ({})", words::narrow(mean, 5), spread(rung)))],
        (false, None) => vec![right(MONTHS, width, mean)],
    }
}

fn units(model: &Model) -> Units {
    model.plan().map_or(Units::STORED, Units::of)
}

fn of_gauge(units: Units, (c, is_over): (&GaugeColumns, bool), wide: bool) -> Vec<Cell> {
    // What is not there since the charger drops out is not unknown.
    let or_out = |text: String| if c.drops_out && text == words::UNKNOWN { "out".into() } else { text };
    let signs = match (is_over, c.other_path.is_some()) {
        (true, true) => "!^",
        (true, false) => "!",
        (false, true) => "^",
        (false, false) => "",
    };
    let mut cells = vec![
        left("gauge", 8, made(c)),
        right("dropV", 5, or_out(figure(&c.drop_v, |v| fixed(v.0, 2)))),
        right("drop%", 5, or_out(figure(&c.drop_pct, percent))),
        right("path%", 5, or_out(figure(&c.path_drop_pct, percent)) + signs),
        right("A", 4, figure(&c.ampacity_a, |a| fixed(a.0, 0))),
        right("spare", 5, or_out(spare(&c.margin_pct))),
        right(
            "fuse",
            4,
            c.fuse.as_ref().map_or("-".into(), |(a, _)| fixed(a.0, 0) + if c.sets_fuse { "*" } else { "" }),
        ),
    ];
    if wide {
        cells.push(left("may have", 10, range(c)));
        let truck = if c.on_truck_m > 0.0 { words::spool(units, c.on_truck_m) } else { "-".into() };
        cells.push(right("truck", 6, truck));
    }
    cells
}

/// The gauge, and how many in each pole where there are several; short enough for its column.
fn made(c: &GaugeColumns) -> String {
    let gauge = c.gauge.to_string();
    if c.per_pole > 1 { format!("{}x {}", c.per_pole, gauge.trim_end_matches(" AWG")) } else { gauge }
}

fn of_fuse(c: &FuseColumns) -> Vec<Cell> {
    let kilo = |a: &crate::units::Amps| fixed(a.0 / 1000.0, 1);
    vec![
        right("rating", 6, format!("{} A", fixed(c.amps, usize::from(c.amps.fract() > 0.0)))),
        right("truck", 5, if c.on_truck > 0.0 { fixed(c.on_truck, 0) } else { "-".into() }),
        right("spare A", 7, figure(&c.margin_a, |a| signed(*a, 1))),
        right("x design", 8, figure(&c.times_design, |x| fixed(*x, 2))),
        right("dropV", 5, figure(&c.drop_v, |v| fixed(v.0, 3))),
        right("opens", 5, figure(&c.interrupt_a, kilo)),
        right("flt kA", 6, figure(&c.fault_a, kilo)),
    ]
}

fn of_strings(c: &StringsColumns, wide: bool) -> Vec<Cell> {
    let mut cells = vec![
        left("wiring", 7, c.layout.clone()),
        right("cold V", 6, figure(&c.voc_cold_v, |v| fixed(v.0, 1))),
        right("takes", 5, figure(&c.limit_v, |v| fixed(v.0, 0))),
        right("hot V", 6, figure(&c.vmp_hot_v, |v| fixed(v.0, 1))),
        right("A", 5, figure(&c.imp_a, |a| fixed(a.0, 1))),
        right("drop%", 5, figure(&c.path_drop_pct, percent)),
        right("fuses", 5, figure(&c.string_fuse_a, |f| f.map_or("-".into(), |a| format!("{} A", fixed(a.0, 0))))),
        right("shade%", 6, figure(&c.shaded_pct, |p| fixed(*p, 0))),
    ];
    if wide {
        cells.insert(5, right("Isc A", 5, figure(&c.isc_a, |a| fixed(a.0, 1))));
        cells.insert(7, right("spare", 5, spare(&c.spare_pct)));
    }
    cells
}

fn of_controller(c: &ControllerColumns, wide: bool) -> Vec<Cell> {
    let mut cells = vec![
        left("controller", if wide { 34 } else { 22 }, c.name.clone()),
        right("out A", 5, figure(&c.out_a, |a| fixed(a.0, 0))),
        right("spareV", 6, figure(&c.margin_v, |v| signed(v.0, 1))),
        right("clip", 5, figure(&c.clipped_kwh, |k| fixed(*k, 0))),
    ];
    if wide {
        cells.insert(2, right("takes V", 7, figure(&c.limit_v, |v| fixed(v.0, 0))));
    }
    cells
}

/// What a wire carries over its design current.
fn spare(pct: &Figure<f64>) -> String {
    figure(pct, |p| if *p > 999.0 { ">999%".into() } else { signed(*p, 0) + "%" })
}

fn signed(x: f64, decimals: usize) -> String {
    let text = fixed(x, decimals);
    if x > 0.0 && !text.starts_with('-') { format!("+{text}") } else { text }
}

fn percent(p: &f64) -> String {
    fixed(*p, usize::from(*p < 99.95))
}

/// What a row has no column for: on a narrow screen, what the wide one shows.
fn beside(model: &Model, ladder: &Ladder, rung: &Rung, width: usize) -> Option<String> {
    let other = match &rung.columns {
        Columns::Gauge(c) => c.other_path.as_ref(),
        _ => None,
    };
    let other = other.map(|(end, pct, target)| {
        format!("^ the path of {end}, which has less room then: {} of {} %", fixed(*pct, 2), words::num(*target))
    });
    if width + 6 >= usize::from(WIDE) {
        return other;
    }
    let is_same = other.is_none();
    let other = other.map_or(String::new(), |said| format!("{said}; "));
    let changed = match change(ladder, rung) {
        changed if changed.is_empty() => changed,
        changed => format!(", {changed} Wh/day"),
    };
    let weight = weight(model, rung);
    Some(match &rung.columns {
        Columns::Gauge(c) => {
            let units = units(model);
            let truck = match c.on_truck_m {
                m if m > 0.0 => format!(", {} on the truck", words::spool(units, m)),
                _ => String::new(),
            };
            let fuse = match range(c).as_str() {
                "none" => "no fuse fits it".to_string(),
                range => format!("fuse {range} A"),
            };
            let path = path(model, ladder).filter(|_| is_same);
            let path = path.map(|path| format!("path% is of {path}; ")).unwrap_or_default();
            format!("{other}{path}{fuse}{weight}{changed}{truck}")
        }
        Columns::Strings(c) => {
            let of = |f: &Figure<crate::units::Amps>| figure(f, |a| fixed(a.0, 1));
            let wire = format!("{} A, Isc {} A, wire {} spare", of(&c.imp_a), of(&c.isc_a), spare(&c.spare_pct));
            let price = match (model.are_prices_hidden, words::price(&rung.price)) {
                (false, price) if price != words::UNKNOWN => format!(", price {price}"),
                _ => String::new(),
            };
            format!("{wire}{price}{weight}{changed}")
        }
        Columns::Controller(c) => {
            let of = |f: &Figure<f64>| figure(f, |x| fixed(*x, 0));
            let takes = figure(&c.limit_v, |v| fixed(v.0, 0));
            format!("takes {takes} V, {} kWh clipped a year{weight}{changed}", of(&c.clipped_kwh))
        }
        Columns::Goal(_) if rung.harvest_wh_day.is_none() => return None,
        Columns::Goal(c) => goal::beside(c),
        Columns::Fuse(c) => {
            let kilo = |a: &crate::units::Amps| fixed(a.0 / 1000.0, 1);
            let opens = figure(&c.interrupt_a, kilo);
            format!("opens {opens} kA of {} kA fault{weight}{changed}", figure(&c.fault_a, kilo))
        }
    })
}

/// A row's weight after a comma; empty where it is not known.
fn weight(model: &Model, rung: &Rung) -> String {
    rung.weight_kg.as_ref().map_or(String::new(), |k| {
        let (weight, unit) = words::weight(units(model), *k);
        format!(", {} {unit}", fixed(weight, 1))
    })
}

/// What a controller's run to the bank makes of it: its drop, its fuse, and what that may be.
fn to_bank(c: &ControllerColumns) -> String {
    let may = match &c.fuse_range_a {
        (Ok(least), Ok(most)) if least.0 > most.0 => "no fuse fits its wire".into(),
        (least, most) => format!("may have {}..{}", figure(least, |a| amps(a.0)), figure(most, |a| amps(a.0))),
    };
    let fuse = c.fuse_a.map_or("no fuse".into(), |a| format!("fuse {} A", amps(a.0)));
    format!("to the bank {} % lost, {fuse}, {may}", figure(&c.path_drop_pct, percent))
}

/// The runs whose drop a gauge ladder gives in percent together, where there is more than the one.
fn path(model: &Model, ladder: &Ladder) -> Option<String> {
    let LadderOf::Gauge(run) = &ladder.of else { return None };
    let report = &model.document.as_ref()?.committed().report;
    let path = &report.runs.iter().find(|r| r.id == *run)?.path;
    (path.len() > 1).then(|| path.iter().map(crate::plan::Id::as_str).collect::<Vec<_>>().join(" > "))
}

/// Ratings of the fuse that a gauge may have.
fn range(c: &GaugeColumns) -> String {
    match (&c.fuse_min_a, &c.fuse_max_a) {
        (Ok(least), Ok(most)) if least.0 > most.0 => "none".into(),
        (Ok(least), Ok(most)) => format!("{}..{}", amps(least.0), amps(most.0)),
        (_, Ok(most)) => format!("..{}", amps(most.0)),
        _ => words::UNKNOWN.into(),
    }
}

fn harvest(rung: &Rung) -> Option<f64> {
    rung.harvest_wh_day.as_ref()?.as_ref().ok().map(|w| w.0)
}

/// The harvest against that of the row the plan has.
fn change(ladder: &Ladder, rung: &Rung) -> String {
    let here = ladder.rungs.iter().find(|r| r.current).and_then(harvest);
    match (harvest(rung), here) {
        (Some(a), Some(b)) if rung.current || a == b => "0".into(),
        // Without a gap between thousands: the column is narrow.
        (Some(a), Some(b)) => {
            // What a gauge brings is told to a tenth, which its row does not show.
            let is_small = (a - b).abs() < 99.95;
            let text =
                if is_small { words::change(Some(a), Some(b), 1) } else { words::change_shown(Some(a), Some(b), 0) };
            let text = text.replace(' ', "");
            if text.is_empty() { "0".into() } else { text }
        }
        _ => String::new(),
    }
}

/// What a mean day of the dullest month brings, and of the brightest.
fn spread(rung: &Rung) -> String {
    match (&rung.harvest_wh_day, rung.harvest_ends) {
        (_, Some([dull, bright])) => format!("{}-{}", words::narrow(dull.1, 5), words::narrow(bright.1, 5)),
        (None, _) => "..".into(),
        _ => words::UNKNOWN.into(),
    }
}

/// Whether a wiring brings string fuses.
fn has_fuses(rung: &Rung) -> bool {
    rung.step.edits.iter().any(|e| matches!(e, Edit::Insert { .. }))
}

/// What is said of a wiring beside its columns: what it does to wire and fuses, and what shade leaves of it.
fn strings_said(model: &Model, rung: &Rung, c: &StringsColumns) -> Vec<String> {
    let mut said = Vec::new();
    if has_fuses(rung) {
        let amps = figure(&c.string_fuse_a, |f| f.map_or("-".into(), |a| format!("{} A", fixed(a.0, 0))));
        let price = match model.are_prices_hidden {
            true => String::new(),
            false => format!(", price {}", words::price(&c.fuses_price)),
        };
        said.push(format!("a fuse of {amps} in every string comes with it{price}"));
    }
    if c.fuses_unweighed {
        said.push("string fuses not weighed".into());
    }
    if let Some(home) = &c.home {
        let drawn = home.drawn.map_or("of no gauge yet".into(), |make| format!("{make} as drawn"));
        let wants = match home.wants {
            Some(make) if home.drawn == Some(make) => ", what it wants".into(),
            Some(make) if home.meets_target => format!(", it wants {make}"),
            Some(make) => format!(", the best is {make}, over its target"),
            None => String::new(),
        };
        said.push(format!("{} stays {drawn}{wants}", home.run));
    }
    let shaded = figure(&c.shaded_pct, |p| fixed(*p, 0));
    said.push(format!("with one panel in shade (a tenth of the light) {shaded} % of its power are left"));
    said
}

/// The run of a gauge ladder whose legs all exist: a row says what lies there, and buys nothing.
fn kept_run<'a>(model: &'a Model, ladder: &Ladder) -> Option<&'a Run> {
    let LadderOf::Gauge(id) = &ladder.of else { return None };
    let run = model.plan()?.runs.iter().find(|run| run.id == *id)?;
    (!run.legs.is_empty() && run.legs.iter().all(|leg| leg.state == State::Existing)).then_some(run)
}

/// What is said of a gauge beside its columns.
fn gauge_said(model: &Model, ladder: &Ladder, rung: &Rung, c: &GaugeColumns, width: usize) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(run) = kept_run(model, ladder) {
        let new = match (model.are_prices_hidden, words::price(&rung.price)) {
            (false, price) if price != words::UNKNOWN => format!(", {price} as new wire"),
            _ => String::new(),
        };
        said.push(format!("{}'s wire exists: choosing this says what lies there and buys none{new}", run.id));
    }
    if !c.governs.is_empty() {
        said.push(format!("ampacity by {}", c.governs));
    }
    if width + 6 >= usize::from(WIDE)
        && let Some(path) = path(model, ladder).filter(|_| c.other_path.is_none())
    {
        said.push(format!("path% is the drop of {path}"));
    }
    let same = |r: &&Rung| r.gauge().is_some_and(|n| n.per_pole == c.per_pole);
    let next = ladder.rungs.get(ladder.cursor + 1).filter(same);
    let report = model.document.as_ref().map(|document| &document.committed().report);
    let of_charger = report.is_some_and(|report| {
        report.runs.iter().any(|run| run.of_charger && matches!(&ladder.of, LadderOf::Gauge(id) if *id == run.id))
    });
    // Of a charger's run what it brings counts as well.
    let brings = |rung: &Rung| Some(harvest(rung)? + if of_charger { rung.other_wh_day? } else { 0.0 });
    let lived = report.map(|report| &report.year.lived);
    if let (Some(here), Some(more), Some(lived)) = (brings(rung), next.and_then(brings), lived) {
        let (day, all) = (fixed(more - here, 1), fixed(lived.in_all_kwh(more - here), 1));
        said.push(format!("worth of the next gauge up: {day} Wh/day, {all} kWh {}", lived.when()));
    }
    match &c.fuse {
        Some((amps, family)) if c.sets_fuse => {
            said.push(format!("* comes with fuse {} A {family} and its drop", amps.0))
        }
        Some((amps, family)) => said.push(format!("its fuse stays: {} A {family}", amps.0)),
        None => {}
    }
    said
}

/// The last lines: what has no column on a narrow screen, and of which months the harvest is the mean; and apart from them what no
/// harvest leaves out.
fn last_lines(model: &Model, ladder: &Ladder, rung: &Rung, width: usize) -> (Vec<String>, Option<String>) {
    let is_narrow = width + 6 < usize::from(WIDE);
    let ends = rung.harvest_ends.filter(|_| is_narrow).map(|[dull, bright]| {
        let of = |(month, wh): (usize, f64)| format!("{} {}", super::seasons::name(month), fixed(wh, 0));
        format!("Wh/day is a mean: from {} to {}", of(dull), of(bright))
    });
    let shown = model.document.as_ref().map(|document| document.committed());
    let shade = shown.and_then(|shown| shade_line(&shown.plan, &shown.report));
    let lines = match (beside(model, ladder, rung, width), ends) {
        // On one line where they fit.
        (Some(a), Some(b)) if a.chars().count() + b.chars().count() + 2 <= width => vec![format!("{a}; {b}")],
        (a, b) => b.into_iter().chain(a).flat_map(|text| wrap(&text, width)).collect(),
    };
    (lines, shade)
}

/// Lines about the marked row that have a place of their own, so many as there is room for, from the one that is scrolled to.
fn about(model: &Model, ladder: &Ladder, width: usize, room: usize) -> Vec<(String, Role)> {
    let Some(rung) = ladder.rungs.get(ladder.cursor) else { return Vec::new() };
    let (lines, last, room) = told(model, ladder, width, room);
    let of = |level: Level| rung.new.iter().filter(|f| f.level == level).count();
    let lead = match (of(Level::Stop), of(Level::Caution)) {
        (0, 0) => "... ".to_string(),
        (stops, cautions) => format!("... new: stop {stops}, caution {cautions}; "),
    };
    let mut page = paged(&lines, room, ladder.more, &lead);
    // Where they keep their place they need not be sent again when the year comes.
    page.resize(page.len().max(room), (String::new(), Role::Text));
    page.extend(last.into_iter().map(|l| (l, Role::Text)));
    page
}

/// How many lines there are about the marked row, and how many are shown at once.
pub(super) fn extent(model: &Model, ladder: &Ladder, size: (u16, u16)) -> (usize, usize) {
    let (lines, _, room) = told(model, ladder, usize::from(size.0.saturating_sub(6)), about_rows(size.1));
    (lines.len(), room)
}

/// Lines kept for what is said of the marked row.
fn about_rows(height: u16) -> usize {
    if height >= 36 { 8 } else { 5 }
}

/// Fewest lines in which a text can be scrolled.
const LEAST_PAGE: usize = 3;

/// All lines about the marked row - whether it fits and why, then its findings by name - those that keep their place below
/// them, and the room for the former. What has no column keeps its line, however many findings there are, while there is room.
fn told(model: &Model, ladder: &Ladder, width: usize, room: usize) -> (Vec<(String, Role)>, Vec<String>, usize) {
    let Some(rung) = ladder.rungs.get(ladder.cursor) else { return (Vec::new(), Vec::new(), room) };
    let mut said = vec![fits(model, rung)];
    let mut first = None;
    match &rung.columns {
        Columns::Goal(c) => {
            said = goal::about(model, ladder, rung, c);
            first = goal::choice(model, ladder, &c.goal);
        }
        Columns::Gauge(c) => said.extend(gauge_said(model, ladder, rung, c, width)),
        Columns::Strings(c) => said.extend(strings_said(model, rung, c)),
        Columns::Controller(c) => {
            said.push(to_bank(c));
            if c.typical {
                said.push("a typical row: check the label before ordering".into());
            }
        }
        Columns::Fuse(_) => {}
    }
    if rung.harvest_wh_day.is_none() {
        said.push(".. the year is to come, and what it finds".into());
    }
    let said = first.iter().flat_map(|text| wrap(text, width)).chain(wrap(&said.join("; "), width));
    let mut lines: Vec<(String, Role)> = said.into_iter().map(|l| (l, Role::Text)).collect();
    let said = |f: &Finding| model.plan().map_or_else(|| f.text(), |plan| sentence(plan, f));
    let told = |what: &str, f: &Finding| format!("{what} {} {}", words::level(f.level), said(f));
    let findings = rung.new.iter().map(|f| told("new", f)).chain(rung.cured.iter().map(|f| told("cured", f)));
    lines.extend(findings.flat_map(|f| wrap(&f, width)).map(|l| (l, Role::Text)));
    let (mut last, shade) = last_lines(model, ladder, rung, width);
    let room = room.saturating_sub(shade.iter().count());
    let left = room.saturating_sub(last.len());
    if lines.len() > left && left < LEAST_PAGE {
        lines.extend(last.drain(..).map(|l| (l, Role::Text)));
    }
    let left = room.saturating_sub(last.len());
    last.extend(shade);
    (lines, last, left)
}

/// Whether a row may be built, in the words that its column has in short, and by how much its path is over its drop target.
fn fits(model: &Model, rung: &Rung) -> String {
    let name = rung.name();
    let over = rung
        .over
        .map(|(pct, target)| format!("over its drop target: path {} of {} %", fixed(pct, 2), words::num(target)));
    let more = over.as_ref().map_or(String::new(), |over| format!("; {over}"));
    match (&rung.fit, over, rung.keeps.first()) {
        (Fit::Yes, _, Some(stop)) => {
            format!("{name}: may be, but a stop stays that no row cures: {}{more}", stop.text())
        }
        (Fit::Yes, Some(over), None) => format!("{name}: may be, but {over}"),
        (Fit::Yes, None, None) => format!("{name}: fits"),
        (Fit::Unknown(why), ..) => {
            format!("{name}: {}{more}", model.plan().map_or(why.clone(), |p| words::waits(p, why)))
        }
        (Fit::No(why), ..) => format!("{name}: no, {why}{more}"),
    }
}
