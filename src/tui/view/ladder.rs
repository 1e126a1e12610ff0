//! The gauge ladder: every size as a row, with what it does to the run and the plan.

use crate::engine::Rung;
use crate::tui::model::{Ladder, Model};
use crate::tui::words::{figure, fixed, num};

use super::bench::amps;

/// The heading of the columns.
pub(super) const HEADING: &str =
    "   gauge     drop V    %  path %  ampacity  fuse A     Wh/day   change  price  kg   fits";

/// One row as text.
pub(super) fn row(model: &Model, ladder: &Ladder, rung: &Rung) -> String {
    let here = ladder.rungs.iter().find(|r| r.current).and_then(harvest);
    let wh = match &rung.harvest_wh_day {
        Some(f) => figure(f, |w| fixed(w.0, 0)),
        None => "..".into(),
    };
    let change = match (harvest(rung), here) {
        (Some(a), Some(b)) if rung.current || a == b => "0".into(),
        (Some(a), Some(b)) => crate::tui::words::change(Some(a), Some(b), 1),
        _ => String::new(),
    };
    let fuse = match (&rung.fuse_min_a, &rung.fuse_max_a) {
        (Ok(least), Ok(most)) if least.0 > most.0 => "none".into(),
        (Ok(least), Ok(most)) => format!("{}..{}", num(least.0), num(most.0)),
        (_, Ok(most)) => format!("..{}", num(most.0)),
        _ => "?".into(),
    };
    let price = if model.are_prices_hidden { String::new() } else { figure(&rung.price, |p| fixed(p.0, 0)) };
    let fits = match rung.fits {
        Some(true) => "yes",
        Some(false) => "no",
        None => "?",
    };
    let marks = match (rung.new, rung.cured) {
        (0, 0) => String::new(),
        (new, 0) => format!(" {new} new"),
        (0, cured) => format!(" {cured} cured"),
        (new, cured) => format!(" {new} new, {cured} cured"),
    };
    format!(
        "{} {:<9} {:>6} {:>5} {:>6} {:>9}  {:<9} {:>7} {:>8} {:>6} {:>4}   {:<4}{marks}",
        if rung.current { "*" } else { " " },
        rung.gauge.to_string(),
        figure(&rung.drop_v, |v| fixed(v.0, 2)),
        figure(&rung.drop_pct, |p| fixed(*p, 1)),
        figure(&rung.path_drop_pct, |p| fixed(*p, 1)),
        figure(&rung.ampacity_a, |a| format!("{} A", amps(a.0))),
        fuse,
        wh,
        change,
        price,
        figure(&rung.weight_kg, |k| fixed(*k, 1)),
        fits,
    )
}

fn harvest(rung: &Rung) -> Option<f64> {
    rung.harvest_wh_day.as_ref()?.as_ref().ok().map(|w| w.0)
}

/// What governs the marked rung's ampacity.
pub(super) fn remark(ladder: &Ladder) -> String {
    match ladder.rungs.get(ladder.cursor) {
        Some(r) if !r.governs.is_empty() => format!("{}: {}", r.gauge, r.governs),
        _ if ladder.complete => String::new(),
        _ => ".. the year's harvest is being computed".into(),
    }
}
