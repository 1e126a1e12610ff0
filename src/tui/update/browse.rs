//! Moving about, and what single keys do while no field is open.

use crate::plan::{FieldPath, Plan};
use crate::tui::bench::{self, Column};
use crate::tui::form::{self, Page, Place, Row};
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::message::Effect;
use crate::tui::model::{Left, Model, Overlay, Pane};

use super::{
    field, file, findings, isolation, items, ladder, overlay, quick, rules, seasons, shelf, shop, sizing, walk, working,
};

pub(super) fn act(model: &mut Model, action: Action) -> Option<Effect> {
    match action {
        Action::Up | Action::Down | Action::PageUp | Action::PageDown | Action::First | Action::Last => {
            move_cursor(model, action);
        }
        Action::Left | Action::Right => move_column(model, action == Action::Right),
        Action::NextPane | Action::PreviousPane => next_pane(model, action == Action::NextPane),
        Action::Enter => enter(model),
        Action::Back => back(model),
        Action::Larger | Action::Smaller => return super::step::step(model, action == Action::Larger),
        Action::Show(screen) => show(model, screen),
        Action::Undo | Action::Redo => history(model, action == Action::Undo),
        Action::Baseline => baseline(model),
        Action::NextUnknown => next_unknown(model, false),
        Action::UnknownsOnly => {
            model.is_tab_on_unknowns = !model.is_tab_on_unknowns;
            model.say(if model.is_tab_on_unknowns { "Tab walks the unknowns" } else { "Tab walks the panes" });
        }
        Action::GoTo => findings::go_to(model),
        Action::Guide => return walk::guide(model),
        Action::Palette => palette(model),
        Action::Borders => model.theme.ascii = !model.theme.ascii,
        Action::Prices => model.are_prices_hidden = !model.are_prices_hidden,
        Action::Add | Action::Duplicate | Action::Earlier | Action::Later | Action::Rename | Action::Delete => {
            items::act(model, action);
        }
        Action::Pick => shelf::open(model),
        Action::Shelve => shelf::ask(model),
        Action::EraseAll => type_over(model),
        Action::Ladder => return ladder::open(model),
        Action::SizingHelp => return ladder::open_goal(model),
        Action::SizeAll => sizing::open(model),
        Action::Working => working::open(model),
        Action::Hours => quick::hours(model),
        Action::FuseType => quick::fuse_type(model),
        Action::Insulation => quick::leg_field(model, "insulation_c"),
        Action::Zone => quick::leg_field(model, "zone"),
        Action::Laid => quick::leg_field(model, "laid"),
        Action::Seasons => seasons::open(model),
        Action::Isolation => isolation::open(model),
        Action::Shop => return shop::open(model),
        Action::Rule => match model.finding_at().cloned().filter(|_| model.is_on_findings()) {
            Some(finding) => rules::of_finding(model, &finding),
            None => rules::open(model, Vec::new()),
        },
        Action::Help => model.overlay = Some(Overlay::Help { scroll: 0, over: None }),
        Action::Messages => model.overlay = Some(Overlay::Messages { scroll: usize::MAX }),
        Action::Actions => overlay::open_actions(model),
        Action::History => overlay::open_history(model),
        Action::Accept => findings::ask_reason(model),
        Action::OpenFile => overlay::open_plan(model),
        Action::Save => return file::save(model),
        Action::SaveAs => file::save_as(model),
        Action::Papers => file::papers(model),
        Action::Quit => return file::quit(model),
        _ => {}
    }
    None
}

fn moved(action: Action, at: usize, count: usize, page: usize) -> usize {
    let last = count.saturating_sub(1);
    match action {
        Action::Up => at.saturating_sub(1),
        Action::Down => at + 1,
        Action::PageUp => at.saturating_sub(page.max(1)),
        Action::PageDown => at.saturating_add(page.max(1)),
        Action::First => 0,
        Action::Last => last,
        _ => at,
    }
    .min(last)
}

/// Moves the cursor of what is shown.
pub(super) fn move_cursor(model: &mut Model, action: Action) {
    let page = layout::page_rows(model.size);
    model.left = None;
    let Some(document) = &model.document else { return };
    let shown = document.shown();
    if let Some(top) = model.pages.last_mut() {
        let rows = form::rows(&shown.plan, &top.place);
        let to = moved(action, top.cursor, rows.len(), page);
        let stop = form::stop_at(&rows, to);
        let up = matches!(action, Action::Up | Action::PageUp);
        // A heading is passed over in the direction of travel.
        top.cursor = if up && stop >= top.cursor && to < top.cursor {
            rows.iter().take(to).rposition(Row::is_stop).unwrap_or(top.cursor)
        } else {
            stop
        };
    } else if model.screen == 5 {
        model.finding = moved(action, model.finding, model.entries().len(), page);
    } else {
        let state = &mut model.bench;
        match state.pane {
            Pane::Equipment => {
                state.equipment = moved(action, state.equipment, bench::equipment(&shown.plan).len(), page);
            }
            Pane::Results => state.results = moved(action, state.results, layout::RESULT_LINES, page),
            Pane::Runs => state.run = moved(action, state.run, shown.plan.runs.len(), page),
        }
    }
}

fn move_column(model: &mut Model, right: bool) {
    if !model.is_on_bench() {
        if !right {
            back(model);
        } else if matches!(model.form_row(), Some(Row::Item { .. } | Row::Link { .. })) {
            enter(model);
        }
        return;
    }
    match model.bench.pane {
        Pane::Runs => {
            if let Some(column) = model.bench.column.beside(right) {
                model.bench.column = column;
            }
        }
        Pane::Equipment if right => model.bench.pane = Pane::Results,
        Pane::Results if !right => model.bench.pane = Pane::Equipment,
        _ => {}
    }
}

fn next_pane(model: &mut Model, forward: bool) {
    if model.is_tab_on_unknowns {
        next_unknown(model, !forward);
    } else if model.is_on_bench() {
        model.bench.pane = match (model.bench.pane, forward) {
            (Pane::Equipment, true) | (Pane::Runs, false) => Pane::Results,
            (Pane::Results, true) | (Pane::Equipment, false) => Pane::Runs,
            (Pane::Runs, true) | (Pane::Results, false) => Pane::Equipment,
        };
    } else {
        move_cursor(model, if forward { Action::Down } else { Action::Up });
    }
}

/// Opens what is focused.
pub(super) fn enter(model: &mut Model) {
    if let Some(row) = model.form_row() {
        match row {
            Row::Field { at, .. } => field::open(model, &at, Vec::new()),
            Row::Item { at, .. } => model.pages.push(Page::new(Place::Record(at))),
            Row::Link { place, .. } => model.pages.push(Page::new(place)),
            Row::Add { .. } => items::act(model, Action::Add),
            Row::Heading(_) => {}
        }
        return;
    }
    if model.is_on_findings() {
        return findings::open(model);
    }
    match model.bench.pane {
        Pane::Results => show(model, 5),
        Pane::Equipment => {
            if let Some(at) = model.focus() {
                model.pages.push(Page::new(Place::Record(at)));
            }
        }
        Pane::Runs => enter_run(model),
    }
}

fn enter_run(model: &mut Model) {
    let Some(plan) = model.plan() else { return };
    let Some(run) = plan.runs.get(model.bench.run) else { return };
    let Some(cell) = model.cell() else { return };
    let item = FieldPath::from("runs").join(&run.id);
    if !cell.prelude.is_empty() || plan.meta(&cell.at).is_some() {
        field::open(model, &cell.at, cell.prelude);
        return;
    }
    if model.bench.column == Column::Length
        && let Some(leg) = run.legs.first()
    {
        // Each leg has a length of its own: the first one opens, the run's form lies below it.
        let leg = item.join("legs").join(&leg.id);
        let length = leg.join("length_m");
        let rows = form::rows(plan, &Place::Record(item.clone()));
        let below = Page { place: Place::Record(item), cursor: form::row_of(&rows, &leg).unwrap_or(0) };
        let page = form::page_for(plan, &length);
        model.pages.push(below);
        model.pages.extend(page);
        field::open(model, &length, Vec::new());
        return;
    }
    model.pages.push(Page::new(Place::Record(item)));
}

/// Opens the focused field with nothing in it.
fn type_over(model: &mut Model) {
    if matches!(model.form_row(), Some(Row::Field { .. })) || (model.is_on_bench() && model.bench.pane == Pane::Runs) {
        enter(model);
    }
    if model.field.is_some() {
        field::act(model, Action::EraseAll);
    }
}

/// Back from a form; on a numbered screen its first page stays.
fn back(model: &mut Model) {
    let keeps_root = !matches!(model.screen, 1 | 5);
    if model.pages.len() > usize::from(keeps_root) {
        model.pages.pop();
    }
}

/// Shows a numbered screen.
pub(super) fn show(model: &mut Model, screen: u8) {
    model.screen = screen;
    model.pages.clear();
    if !matches!(screen, 1 | 5) {
        model.pages.push(Page::new(form::root(screen)));
    }
}

/// Goes back to where the user stood when the plan was last left, as [`Model::stood`] says it; what no longer exists is left.
pub(super) fn stand(model: &mut Model, stood: &str) {
    let mut parts = stood.split(' ');
    let screen = parts.next().and_then(|screen| screen.parse().ok()).filter(|screen| (1..=7).contains(screen));
    let run = parts.next().and_then(|id| model.plan()?.runs.iter().position(|run| run.id.as_str() == id));
    if let Some(run) = run {
        model.bench.run = run;
    }
    if let Some(screen) = screen.filter(|screen| *screen != model.screen) {
        show(model, screen);
    }
}

fn history(model: &mut Model, undo: bool) {
    let Some(document) = &mut model.document else { return };
    let said = if undo {
        document.undo().map_or_else(|| "nothing to undo".into(), |n| format!("undone: {n}"))
    } else {
        document.redo().map_or_else(|| "nothing to redo".into(), |n| format!("done again: {n}"))
    };
    model.say(said);
}

fn baseline(model: &mut Model) {
    let Some(document) = &mut model.document else { return };
    let held = document.baseline().is_some();
    if held {
        document.release_baseline();
        model.say("baseline let go");
    } else {
        document.hold_baseline();
        model.say("baseline held: every figure shows its change since; b lets it go");
    }
}

pub(super) fn palette(model: &mut Model) {
    model.theme.palette = model.theme.palette.next();
    model.say(format!("palette {}", model.theme.palette));
}

/// Goes to the next unknown after the focused field, or to the one before.
pub(super) fn next_unknown(model: &mut Model, backward: bool) {
    let Some(document) = &model.document else { return };
    let shown = document.shown();
    let unknowns = form::unknowns(&shown.plan, &shown.report.unknown);
    if unknowns.is_empty() {
        model.say("nothing is unknown");
        return;
    }
    let is_waited_for = !shown.report.unknown.is_empty();
    let focus = model.focus();
    let here = focus.as_ref().and_then(|at| unknowns.iter().position(|u| u == at));
    let within = focus.as_ref().and_then(|at| unknowns.iter().position(|u| u.is_within(at)));
    let count = unknowns.len();
    let next = match (here, within) {
        (Some(i), _) if backward => (i + count - 1) % count,
        (Some(i), _) => (i + 1) % count,
        (None, Some(i)) => i,
        (None, None) if backward => count - 1,
        (None, None) => 0,
    };
    if let Some(at) = unknowns.get(next).cloned() {
        go_to(model, &at);
        // The same key goes on, whatever is to be chosen there.
        model.left = Some(Left { at, by_esc: false });
        let idle = if is_waited_for { "" } else { "; no figure and no check waits for it" };
        model.say(format!("unknown {} of {count}{idle}", next + 1));
    }
}

/// Puts the cursor on a field or item: on the Bench where it has a cell there, else on its form.
pub(super) fn go_to(model: &mut Model, at: &FieldPath) {
    let Some(plan) = model.plan() else { return };
    if let Some((run, column)) = bench_cell(plan, at)
        && model.screen == 1
    {
        model.pages.clear();
        model.bench.pane = Pane::Runs;
        model.bench.run = run;
        model.bench.column = column;
        return;
    }
    if let Some(page) = form::page_for(plan, at) {
        if matches!(model.screen, 1 | 5) {
            model.pages.clear();
        } else {
            model.pages.truncate(1);
        }
        model.pages.push(page);
    }
}

fn bench_cell(plan: &Plan, at: &FieldPath) -> Option<(usize, Column)> {
    plan.runs.iter().enumerate().find_map(|(i, run)| {
        let column = Column::ALL.iter().find(|c| {
            let cell = bench::cell(plan, (run, false), **c);
            cell.prelude.is_empty() && cell.at == *at
        })?;
        Some((i, *column))
    })
}
