//! The loads as a list: what each takes on a day of summer and of winter, and all of them together.

use ratatui::layout::Rect;

use crate::engine::report::LoadFigures;
use crate::plan::known::Known;
use crate::plan::lists::MONTH_NAMES;
use crate::plan::{Load, Plan};
use crate::tui::model::Model;
use crate::tui::theme::Role;
use crate::tui::words::{self, figure, fixed, num};
use crate::units::WattHours;

use super::paint::Paint;

/// Rows above the list: the sums, and the heading of the columns.
const ROWS: u16 = 3;
/// Fewest columns the list has room in.
const LEAST_WIDTH: u16 = 76;

/// Whether the loads are shown as a list here.
pub(super) fn fits(area: Rect) -> bool {
    area.width >= LEAST_WIDTH && area.height > ROWS + 2
}

/// January and July, winter first by the side of the equator where the first stay is.
fn months(plan: &Plan) -> (usize, usize) {
    let south = plan.stays.first().is_some_and(|s| s.latitude_deg.known().is_some_and(|l| l.0 < 0.0));
    if south { (6, 0) } else { (0, 6) }
}

/// Draws the sums and the heading; returns the rows used.
pub(super) fn draw_above(model: &Model, paint: &mut Paint, area: Rect) -> u16 {
    let Some(document) = &model.document else { return 0 };
    let shown = document.shown();
    let (winter, summer) = months(&shown.plan);
    let loads = &shown.report.loads;
    let day = |month: usize| loads.wh_day.get(month).map_or_else(|| words::UNKNOWN.into(), wh);
    let together = figure(&loads.dc_simultaneous_w, |w| num(w.0));
    let said = format!(
        "all at the bank, Wh/d: summer {}, winter {}; DC together at most {together} W",
        day(summer),
        day(winter)
    );
    paint.text(area.x + 1, area.y, area.width.saturating_sub(1), &said, Role::Figure);
    let said = worst(loads);
    paint.text(area.x + 1, area.y + 1, area.width.saturating_sub(1), &said, Role::Text);
    let head = columns("id", "name", ["watts", "qty", "hours", "duty", "fed by", "when", "summer", "winter"]);
    paint.text(area.x + 3, area.y + 2, area.width.saturating_sub(3), &head, Role::Heading);
    ROWS
}

fn wh(figure: &crate::plan::Figure<WattHours>) -> String {
    words::figure(figure, |w| fixed(w.0, 0))
}

/// Share either way that an audit of loads is off by. Source: common practice, 25 %.
const AUDIT_SHARE: f64 = 0.25;

/// The month whose usual day takes the most, with the range that an audit leaves.
fn worst(loads: &LoadFigures) -> String {
    let known: Option<Vec<f64>> = loads.wh_day.iter().map(|f| f.as_ref().ok().map(|w| w.0)).collect();
    let Some(known) = known else { return "worst usual day: ? (a load is not known)".into() };
    let most = known.iter().copied().fold(0.0, f64::max);
    let month = known.iter().position(|w| *w >= most).and_then(|m| MONTH_NAMES.get(m)).copied().unwrap_or("");
    let (least, greatest) = (fixed(most * (1.0 - AUDIT_SHARE), 0), fixed(most * (1.0 + AUDIT_SHARE), 0));
    format!("worst usual day {month} {} Wh; an audit is 25 % off either way: {least} to {greatest}", fixed(most, 0))
}

fn columns(id: &str, name: &str, rest: [&str; 8]) -> String {
    let [watts, quantity, hours, duty, supply, when, summer, winter] = rest;
    let name: String = name.chars().take(14).collect();
    format!(
        "{id:<4}{name:<14} {watts:>5} {quantity:>3} {hours:>5} {duty:>4} {supply:<8} {when:<9} {summer:>6} {winter:>6}"
    )
}

/// Wh of a month's day at the load's own terminals; `None` where a value is unknown.
///
/// Source: watts times hours times share of them, as the fields say.
fn own_wh(load: &Load, month: usize, factor: &Known<crate::units::Number>) -> Option<f64> {
    if !load.state.stays() || !load.months.has(month) {
        return Some(0.0);
    }
    let known = |x: &Known<crate::units::Number>| x.known().map(|n| n.0);
    let watts = load.watts_w.known()?.0 * known(&load.quantity)?;
    Some(watts * load.hours_day.known()?.0 * known(&load.duty_pct)? / 100.0 * known(factor)?)
}

/// One load as a row of the list.
pub(super) fn row(plan: &Plan, load: &Load) -> String {
    let (winter, summer) = months(plan);
    let number = |x: Option<f64>| x.map_or_else(|| words::UNKNOWN.to_string(), num);
    let day = |x: Option<f64>| x.map_or_else(|| words::UNKNOWN.to_string(), |x| fixed(x, 0));
    columns(
        load.id.as_str(),
        &load.name,
        [
            &number(load.watts_w.known().map(|w| w.0)),
            &number(load.quantity.known().map(|n| n.0)),
            &number(load.hours_day.known().map(|h| h.0)),
            &number(load.duty_pct.known().map(|n| n.0)),
            load.supply.word(),
            load.when.word(),
            &day(own_wh(load, summer, &load.summer_factor)),
            &day(own_wh(load, winter, &load.winter_factor)),
        ],
    )
}
