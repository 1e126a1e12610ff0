//! The months of the year above the stays.

use ratatui::layout::Rect;

use crate::plan::Figure;
use crate::plan::lists::MONTH_NAMES;
use crate::tui::model::Model;
use crate::tui::theme::Role;
use crate::tui::words::{figure, fixed};
use crate::units::WattHours;

use super::paint::Paint;

/// Rows the table takes.
const ROWS: u16 = 14;

/// Draws the table where it fits; returns the rows used.
pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) -> u16 {
    let Some(document) = &model.document else { return 0 };
    if area.height < ROWS + 4 || area.width < 76 {
        return 0;
    }
    let report = &document.shown().report;
    let head = ["month", "sun kWh", "array", "harvest", "load", "deficit", "short", "unused", "no sun"];
    let row = |paint: &mut Paint, y: u16, cells: &[String], role: Role| {
        for (i, cell) in cells.iter().enumerate() {
            let x = area.x + 1 + u16::try_from(i).unwrap_or(0) * 8;
            if i == 0 {
                paint.text(x + 2, y, 6, cell, role);
            } else {
                paint.right(x, y, 8, cell, role);
            }
        }
    };
    row(paint, area.y, &head.map(String::from), Role::Heading);
    let wh = |f: &Figure<WattHours>| figure(f, |w| fixed(w.0, 0));
    for (i, month) in report.year.months.iter().enumerate() {
        let cells = [
            MONTH_NAMES.get(i).copied().unwrap_or("").to_string(),
            figure(&month.ghi_kwh_m2_day, |g| fixed(*g, 2)),
            wh(&month.array_wh_day),
            wh(&month.harvest_wh_day),
            wh(&month.load_wh_day),
            wh(&month.deficit_wh_day),
            wh(&month.shortfall_wh_day),
            wh(&month.unused_wh_day),
            figure(&month.days_without_sun, |d| fixed(*d, 1)),
        ];
        row(paint, area.y + 1 + u16::try_from(i).unwrap_or(0), &cells, Role::Text);
    }
    ROWS
}
