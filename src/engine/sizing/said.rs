//! What the sizing of all runs says beside its rows: by what it chose, what its step brings, and why the truck serves nobody.

use crate::arrange::Arrange;
use crate::engine::finding::Level;
use crate::engine::report::Report;
use crate::plan::Plan;
use crate::standards::conductor::Gauge;
use crate::stock::Stock;

use super::unknown;
use super::wire::Sized;
use super::{Was, settle};

/// What decides between gauges where the truck stock has prices, but not of all that could be chosen; and spools of which nobody
/// knows what they are insulated for, where only those may be used.
pub(super) fn notes(plan: &Plan, stock: &Stock, from_stock_only: bool) -> Vec<String> {
    let mut all = Vec::new();
    if stock.truck.spools.iter().any(|s| s.price_per_metre.as_ref().is_some_and(|p| p.known().is_some())) {
        let none = std::collections::BTreeSet::new();
        let was = Was { plan, thins_back: false, by_price: true, given_up: &none };
        let known = unknown::provisional(plan, &unknown::open_fuses(plan));
        let (between, without) = settle::of_plan(&known, was, stock, from_stock_only, |_, problem| {
            let of = |which: fn(&Sized) -> &[Gauge]| unpriced(plan, stock, &problem.runs, which);
            (of(|s| &s.between), of(|s| &s.unpriced))
        });
        if !without.is_empty() {
            all.push(format!("no price for {without} in the truck stock (8): gauges are chosen by weight of copper"));
        } else if !between.is_empty() {
            all.push(format!(
                "no price for {between} in the truck stock (8): taken as between the next ones, by copper"
            ));
        }
    }
    if from_stock_only && stock.truck.spools.is_empty() {
        all.push("no wire in the truck stock, or its file does not read: Esc, then 8".into());
    }
    let unread = stock.truck.spools.iter().filter(|s| s.insulation_c.known().is_none()).filter_map(|s| s.gauge.known());
    let unread = listed(unread.copied());
    if from_stock_only && !unread.is_empty() {
        all.push(format!(
            "insulation not entered of the truck's {unread}: no run is sized from them; Esc, then 8, enters it"
        ));
    }
    all
}

/// Gauges without a price by name: those of which no spool has one, then those that have one in wire which is not insulated for what the
/// legs stand in.
fn unpriced(plan: &Plan, stock: &Stock, runs: &[Sized], which: fn(&Sized) -> &[Gauge]) -> String {
    let is_priced = |g: &Gauge| {
        let mut same = stock.truck.spools.iter().filter(|s| s.gauge.known() == Some(g));
        same.any(|s| s.price_per_metre.as_ref().is_some_and(|p| p.known().is_some()))
    };
    let cool: Vec<&Sized> = runs.iter().filter(|s| which(s).iter().any(is_priced)).collect();
    let legs = cool.iter().filter_map(|s| plan.runs.get(s.index)).flat_map(|r| &r.legs);
    let most_c = legs.filter_map(|l| l.insulation_c.known()).map(|c| c.0).fold(0.0, f64::max);
    let all = |priced: bool| listed(runs.iter().flat_map(which).copied().filter(|g| is_priced(g) == priced));
    match (all(false), all(true)) {
        (none, cool) if cool.is_empty() => none,
        (none, cool) if none.is_empty() => format!("{cool} insulated for {most_c:.0} C"),
        (none, cool) => format!("{none}, nor for {cool} insulated for {most_c:.0} C"),
    }
}

/// Gauges by name, the thinnest first, each once, their system named once.
fn listed(gauges: impl Iterator<Item = Gauge>) -> String {
    let mut all: Vec<Gauge> = gauges.collect();
    all.arrange_by(Ord::cmp);
    all.dedup();
    let names: Vec<String> = all.iter().map(ToString::to_string).collect();
    let unit = |i: usize| names.get(i).and_then(|name| name.split_once(' '));
    let short = |(i, name): (usize, &String)| match (unit(i), unit(i + 1)) {
        (Some((size, own)), Some((_, next))) if own == next => size.to_string(),
        _ => name.clone(),
    };
    names.iter().enumerate().map(short).collect::<Vec<_>>().join(", ")
}

/// What a plan that is sized has against it that it had not: by check, with what each is about; nothing where it has nothing new.
#[must_use]
pub fn brings(before: &Report, after: &Report) -> String {
    let new = after.findings.iter().filter(|f| f.level != Level::Note && !before.says(f));
    let all = crate::engine::cures::listed(new);
    if all.is_empty() { all } else { format!("brings: {all}") }
}
