//! The gauge ladder: every size as a row, with what it does to the run and the plan.

use crate::engine::Rung;
use crate::tui::model::{Ladder, Model};
use crate::tui::words::{self, figure, fixed};

use super::bench::amps;

/// The heading of the columns.
pub(super) const HEADING: &str = "  gauge    dropV    % path%     A  fuse A     Wh/day   chg price   kg fit";

/// One row as text.
pub(super) fn row(model: &Model, ladder: &Ladder, rung: &Rung) -> String {
    let here = ladder.rungs.iter().find(|r| r.current).and_then(harvest);
    let wh = match &rung.harvest_wh_day {
        Some(f) => figure(f, |w| fixed(w.0, 0)),
        None => "..".into(),
    };
    let change = match (harvest(rung), here) {
        (Some(a), Some(b)) if rung.current || a == b => "0".into(),
        (Some(a), Some(b)) => words::change(Some(a), Some(b), usize::from((a - b).abs() < 99.95)),
        _ => String::new(),
    };
    let fuse = match (&rung.fuse_min_a, &rung.fuse_max_a) {
        (Ok(least), Ok(most)) if least.0 > most.0 => "none".into(),
        (Ok(least), Ok(most)) => format!("{}..{}", amps(least.0), amps(most.0)),
        (_, Ok(most)) => format!("..{}", amps(most.0)),
        _ => "?".into(),
    };
    let price = if model.are_prices_hidden { String::new() } else { words::price(&rung.price) };
    let fits = match rung.fits {
        Some(true) => "yes",
        Some(false) => "no",
        None => "?",
    };
    format!(
        "{} {:<8} {:>5} {:>4} {:>5} {:>5}  {:<10} {:>6} {:>5} {:>5} {:>4} {:<3}",
        if rung.current { "*" } else { " " },
        rung.gauge.to_string(),
        figure(&rung.drop_v, |v| fixed(v.0, 2)),
        figure(&rung.drop_pct, percent),
        figure(&rung.path_drop_pct, percent),
        figure(&rung.ampacity_a, |a| amps(a.0)),
        fuse,
        wh,
        change,
        price,
        figure(&rung.weight_kg, |k| fixed(*k, 1)),
        fits,
    )
}

fn percent(p: &f64) -> String {
    fixed(*p, usize::from(*p < 99.95))
}

fn harvest(rung: &Rung) -> Option<f64> {
    rung.harvest_wh_day.as_ref()?.as_ref().ok().map(|w| w.0)
}

/// What governs the marked rung's ampacity, and what it would do to the findings.
pub(super) fn remark(ladder: &Ladder) -> String {
    let mut said = Vec::new();
    if let Some(rung) = ladder.rungs.get(ladder.cursor) {
        if !rung.governs.is_empty() {
            said.push(format!("{}: {}", rung.gauge, rung.governs));
        }
        if rung.fuse_fits == Ok(false) {
            said.push("its fuse would not fit".into());
        }
        if rung.new > 0 {
            said.push(format!("{} new findings", rung.new));
        }
        if rung.cured > 0 {
            said.push(format!("{} findings cured", rung.cured));
        }
    }
    if !ladder.complete {
        said.push(".. the year is being computed".into());
    }
    said.join("; ")
}
