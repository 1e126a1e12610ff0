//! The months of the year above the stays.

use ratatui::layout::Rect;

use crate::plan::Figure;
use crate::plan::lists::MONTH_NAMES;
use crate::tui::model::Model;
use crate::tui::theme::Role;
use crate::tui::words::{self, figure, fixed};
use crate::units::WattHours;

use super::paint::Paint;
use super::results::{OWN_USE, has_no_loads, shade_line};

/// Rows the table takes.
const ROWS: u16 = 14;

/// Draws the table where it fits; returns the rows used.
pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) -> u16 {
    let Some(document) = &model.document else { return 0 };
    if area.height < ROWS + 4 || area.width < 76 {
        return 0;
    }
    let report = &document.shown().report;
    let head = ["month", "sun kWh", "array", "harvest", "dull-bright", "load", "deficit", "short", "unused", "lasts"];
    paint.text(area.x + 1, area.y, area.width.saturating_sub(1), &line(&head.map(String::from)), Role::Heading);
    let wh = |f: &Figure<WattHours>| figure(f, |w| words::narrow(w.0, 6));
    for (y, (month, name)) in (area.y + 1..).zip(report.year.months.iter().zip(MONTH_NAMES)) {
        let cells = [
            name.to_string(),
            figure(&month.ghi_kwh_m2_day, |g| fixed(*g, 2)),
            wh(&month.array_wh_day),
            wh(&month.harvest_wh_day),
            figure(&month.spread_wh_day, |s| {
                format!("{}-{}", words::narrow(s.dull.0, 5), words::narrow(s.bright.0, 5))
            }),
            wh(&month.load_wh_day),
            wh(&month.deficit_wh_day),
            wh(&month.shortfall_wh_day),
            wh(&month.unused_wh_day),
            figure(&month.days_without_sun, |d| if *d < 999.5 { fixed(*d, 1) } else { ">999".into() }),
        ];
        paint.text(area.x + 1, y, area.width.saturating_sub(1), &line(&cells), Role::Text);
    }
    let at_most =
        report.charging_unknown().then(|| "deficit and short: at most, driving or shore days not known".into());
    let own = has_no_loads(&document.shown().plan).then(|| format!("no loads entered: load is {OWN_USE}"));
    let alone = report.year.is_load_the_audit().then(|| "load: the audit alone, without own use of equipment".into());
    let twice = document.shown().report.findings.iter().filter(|f| f.check.id == "months-in-two-stays");
    let twice = twice.map(|f| format!("{} of {} not counted: in {} already", f.name(2), f.name(0), f.name(1))).next();
    let said: Vec<String> =
        [twice, own.or(alone), at_most, shade_line(&document.shown().plan, report)].into_iter().flatten().collect();
    let y = area.y + ROWS - 1;
    paint.text(area.x + 1, y, area.width.saturating_sub(1), &said.join("; "), Role::Text);
    ROWS
}

/// Cells in their columns: harvest never without its dull and bright days.
fn line(cells: &[String; 10]) -> String {
    let [month, sun, array, harvest, spread, load, deficit, short, unused, days] = cells;
    format!(
        "{month:<5} {sun:>7} {array:>6} {harvest:>7} {spread:>11} {load:>6} {deficit:>7} {short:>6} {unused:>6} {days:>6}"
    )
}
