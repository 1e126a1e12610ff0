//! Sizing help: the goal in words, its columns, and what is said of a row.

use crate::engine::ladder::{Fit, Goal, GoalColumns, More, met_by_none, short_of};
use crate::engine::{Level, Rung};
use crate::plan::Plan;
use crate::tui::model::{Ladder, Model};
use crate::tui::view::results::{SHADE, shade_taken};
use crate::tui::words::{self, UNKNOWN, figure, fixed};
use crate::wording::naming::months;

use super::{Cell, change, left, of_year, right, signed, units};

/// Columns that go first where a screen is too narrow for all.
pub(super) const DISPENSABLE: [&str; 9] =
    ["short Wh", "chg", "usable Wh", "watts", "also", "short d", "lb", "kg", "price"];

/// The goal in words, and where no row meets it that none does.
pub(super) fn title(model: &Model, ladder: &Ladder, goal: &Goal) -> String {
    let Some(plan) = model.plan() else { return String::new() };
    // At the head, where no width cuts it off.
    let none = if met_by_none(plan, &ladder.rungs).is_some() { " NOT MET" } else { "" };
    format!("GOAL{none}: lasts {} days without sun, no load short at {}", goal.dull_days(plan), stays(plan, goal))
}

/// Where no row meets the goal, how far it was looked.
fn beyond(model: &Model, ladder: &Ladder) -> Option<String> {
    let (batteries, strings) = met_by_none(model.plan()?, &ladder.rungs)?;
    Some(format!("tried: up to {batteries} batteries in parallel, {strings} strings on one array"))
}

/// The stays of the goal.
fn stays(plan: &Plan, goal: &Goal) -> String {
    let counted: Vec<&str> =
        plan.stays.iter().map(|s| &s.id).filter(|id| goal.counts(id)).map(|id| id.as_str()).collect();
    match counted.len() {
        0 => "no stay".into(),
        n if n == plan.stays.len() => "all stays".into(),
        // Which they are stands below.
        n if n > 2 => format!("{n} of {} stays", plan.stays.len()),
        _ => counted.join(", "),
    }
}

/// The stays, the marked one in brackets; none where there is nothing to choose.
pub(super) fn choice(model: &Model, ladder: &Ladder, goal: &Goal) -> Option<String> {
    let plan = model.plan().filter(|plan| plan.stays.len() > 1)?;
    let each = plan.stays.iter().enumerate().map(|(i, stay)| {
        let counted = if goal.counts(&stay.id) { "in" } else { "out" };
        let said = format!("{} {} {counted}", stay.id, months(stay));
        if i == ladder.stay { format!("[{said}]") } else { said }
    });
    Some(format!("stays: {}", each.collect::<Vec<_>>().join("  ")))
}

pub(super) fn cells(model: &Model, ladder: &Ladder, rung: &Rung, c: &GoalColumns, wide: bool) -> Vec<Cell> {
    let meets = match rung.fit {
        Fit::Yes => "yes",
        Fit::Unknown(_) if rung.harvest_wh_day.is_none() => "",
        Fit::Unknown(_) => UNKNOWN,
        Fit::No(_) => "no",
    };
    let price = match (model.are_prices_hidden, c.is_plan) {
        (true, _) => String::new(),
        (false, true) => "-".into(),
        // What its new stops ask for is not in it.
        (false, false) => known(c.more.price, 0, c.more.unpriced + brings(rung, Level::Stop)),
    };
    // What falls short of the goal does not read as the goal.
    let lasts = |days: f64| fixed(days, model.plan().map_or(1, |plan| short_of(days, c.goal.dull_days(plan))));
    let (weight, unit) = words::weight(units(model), c.more.kg);
    let weight = if c.is_plan { "-".into() } else { known(weight, 1, c.more.unweighed) };
    // Till the year is there one mark says so: what is not there yet is not unknown.
    let later = |text: String| if rung.harvest_wh_day.is_none() { String::new() } else { text };
    let mut cells = vec![
        right("batt", 4, batteries(model, c.batteries)),
        right("usable Wh", 9, figure(&c.usable_wh, |w| fixed(w.0, 0))),
        right("panels", 6, c.panels.to_string()),
        right("watts", 5, figure(&c.watts, |w| fixed(w.0, 0))),
        right("short d", 7, later(figure(&c.short_days, |d| fixed(*d, 0)))),
        right("short Wh", 8, later(figure(&c.shortfall_wh, |w| fixed(w.0, 0)))),
        right("lasts d", 7, later(figure(&c.days_without_sun, |d| lasts(*d)))),
    ];
    // Which array a row grows is plain where there is one.
    if model.plan().is_some_and(|plan| plan.arrays.iter().filter(|a| a.state.stays()).count() > 1) {
        let strings = right("strings", 7, format!("{} {}", c.array, c.strings));
        match (wide, cells.get_mut(2)) {
            (false, Some(panels)) => *panels = strings,
            _ => cells.insert(2, strings),
        }
    }
    cells.extend(of_year(rung, wide));
    cells.extend([
        right("chg", 5, change(ladder, rung)),
        right("price", 8, price),
        right(unit, 8, weight),
        right("meets", 5, meets),
        right("stop", 4, count(rung, Level::Stop)),
        right("caut", 4, count(rung, Level::Caution)),
        left("also", 8, later(also(rung))),
    ]);
    cells
}

/// So many in parallel, and of how many in series each of those is.
fn batteries(model: &Model, parallel: usize) -> String {
    let series = model.plan().and_then(|plan| plan.bank.series.known()).map_or(1.0, |n| n.0);
    if series > 1.0 { format!("{parallel}x{series}") } else { parallel.to_string() }
}

/// New findings of a level that a row brings.
fn brings(rung: &Rung, level: Level) -> usize {
    rung.new.iter().filter(|f| f.level == level).count()
}

/// The same in its column; those of the year come with the year.
fn count(rung: &Rung, level: Level) -> String {
    match brings(rung, level) {
        _ if rung.harvest_wh_day.is_none() => String::new(),
        0 => "-".into(),
        n => format!("+{n}"),
    }
}

/// A difference; `+?` after it where a part of it is not known.
fn known(x: f64, decimals: usize, unknown: usize) -> String {
    match unknown {
        0 => signed(x, decimals),
        _ if x == 0.0 => UNKNOWN.into(),
        _ => signed(x, decimals) + "+?",
    }
}

/// What has a new stop: fuses, wires, controllers that want to be changed with it.
fn also(rung: &Rung) -> String {
    if rung.harvest_wh_day.is_none() {
        return "..".into();
    }
    let stops = rung.new.iter().filter(|f| f.level == Level::Stop);
    let mut names: Vec<String> = Vec::new();
    for stop in stops {
        let mut segments = stop.subject.segments();
        let (list, id) = (segments.next().unwrap_or(""), segments.next());
        let name = id.unwrap_or(list).to_string();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    if names.is_empty() { "-".into() } else { names.join(" ") }
}

/// What is said of a row.
pub(super) fn about(model: &Model, ladder: &Ladder, rung: &Rung, c: &GoalColumns) -> Vec<String> {
    let mut said: Vec<String> = beyond(model, ladder).into_iter().collect();
    said.push(match &rung.fit {
        Fit::Yes => match brings(rung, Level::Stop) {
            0 => format!("{}: meets the goal", rung.name()),
            n => format!("{}: meets the goal, but brings {}", rung.name(), words::new_stops(n)),
        },
        Fit::Unknown(why) => {
            format!("{}: {}", rung.name(), model.plan().map_or(why.clone(), |p| words::waits(p, why)))
        }
        Fit::No(why) => format!("{}: no, {why}", rung.name()),
    });
    let shown = model.document.as_ref().map(|document| document.committed());
    if !c.is_plan && shown.is_some_and(|shown| shade_taken(&shown.report, SHADE).is_some()) {
        said.push("no shade is taken off panels that are added: they have no place on the roof yet".into());
    }
    let also = also(rung);
    if !matches!(also.as_str(), "-" | "..") {
        said.push(format!("also to be changed: {also}"));
    }
    if c.is_plan {
        return said;
    }
    said.push(costs(model, rung, c.more));
    said.push(format!(
        "strings on {}: {}; other arrays as they are; no more than {2} batteries in parallel and {2} strings, no room on roof and in \
         bay looked at",
        c.array,
        c.strings,
        Goal::MOST
    ));
    said
}

/// What a narrow screen has no columns for.
pub(super) fn beside(c: &GoalColumns) -> String {
    let watts = figure(&c.watts, |w| fixed(w.0, 0));
    let (days, wh) = (figure(&c.short_days, |d| fixed(*d, 0)), figure(&c.shortfall_wh, |w| fixed(w.0, 0)));
    format!("{watts} W; short {days} d, {wh} Wh")
}

/// What a row costs and weighs over the plan, in words.
fn costs(model: &Model, rung: &Rung, more: More) -> String {
    let mut said = Vec::new();
    if !model.are_prices_hidden {
        let without = match brings(rung, Level::Stop) {
            0 => "",
            _ => ", without the controller, wire or fuses that its new stops ask for",
        };
        let parts = if more.unpriced == 1 { "part" } else { "parts" };
        said.push(
            match (more.unpriced, more.price) {
                (0, price) => format!("price {}", signed(price, 0)),
                (n, 0.0) => format!("price of {n} {parts} not known"),
                (n, price) => format!("price {} and {n} {parts} unpriced", signed(price, 0)),
            } + without,
        );
    }
    let (weight, unit) = words::weight(units(model), more.kg);
    said.push(match more.unweighed {
        0 => format!("weight {} {unit}", signed(weight, 1)),
        n => format!("weight {} {unit} and {n} unknown", signed(weight, 1)),
    });
    format!("{} against the plan", said.join(", "))
}
