//! What is said of the links between batteries in parallel.

use crate::engine::Report;
use crate::plan::entry::{self, Units};
use crate::plan::field::Record;
use crate::plan::{Known, Plan, State, Value};
use crate::standards::lug::Stud;
use crate::words;

use super::number::{UNKNOWN, fixed};
use super::run::{current, waiting};

/// The links between the bank's batteries: as entered, what each battery gives, what a link carries, what is counted; empty
/// where no links join them.
#[must_use]
pub fn links(plan: &Plan, report: &Report) -> Vec<String> {
    let Some(figures) = &report.bank.links else { return Vec::new() };
    let shown = |key: &str| {
        let meta = plan.bank.metas().into_iter().find(|m| m.key == key)?;
        let value = plan.bank.get(key).filter(|v| *v != Value::Nothing)?;
        Some(entry::show(Units::of(plan), meta, &value))
    };
    let or_unknown = |key: &str| shown(key).unwrap_or_else(|| UNKNOWN.into());
    let each = shown("links_each").map_or_else(String::new, |n| format!("{n} x "));
    let between = plan.bank.parallel.known().map_or(0.0, |n| (n.0 - 1.0).max(0.0));
    let made = format!(
        "joined by {}; {} in each pole, each {each}{}, {} long, insulation {}",
        or_unknown("joined"),
        words::counted(between, "link"),
        or_unknown("link_gauge"),
        or_unknown("link_length_m"),
        or_unknown("link_insulation_c")
    );
    let shares = match &figures.shares {
        Ok(shares) => {
            let parts: Vec<String> = shares.iter().map(|part| format!("{} %", fixed(part * 100.0, 1))).collect();
            format!("of the bank's current each battery gives, from the plus lead on: {}", parts.join(", "))
        }
        Err(waits) => format!("what each battery gives: {UNKNOWN}, {}", waiting(plan, waits)),
    };
    let carries = format!(
        "the link beside a lead carries {} of the bank's {} and loses {} in each pole at most, as warm as its insulation stands; it may \
         carry {}",
        current(&figures.link_a),
        current(&figures.bank_a),
        figures.link_v.as_ref().map_or(UNKNOWN.into(), |v| format!("{} V", fixed(v.0, 3))),
        current(&figures.ampacity_a)
    );
    let least = match &figures.least {
        Ok(Some(gauge)) => format!("the thinnest that carries that and leaves them even enough: {gauge}"),
        Ok(None) => {
            "no gauge that the posts take carries that and leaves them even enough, as the leads are taken off".into()
        }
        Err(waits) => format!("the thinnest that would do: {UNKNOWN}, {}", waiting(plan, waits)),
    };
    let counted = "what the links lose is in no path's drop: paths begin at the posts where the leads are taken off";
    vec![made, bought(plan, between), shares, carries, least, counted.into()]
}

/// The figures that matter of them, in a line: what the link that carries most does, and how far the batteries are from even.
#[must_use]
pub fn in_short(report: &Report) -> Option<String> {
    let figures = report.bank.links.as_ref()?;
    let (link, may) = (current(&figures.link_a), current(&figures.ampacity_a));
    let shares = figures.shares.as_ref().map_or(UNKNOWN.into(), |all| {
        let pct = |share: f64| fixed(share * 100.0, 1);
        let (least, most) = all.iter().fold((1.0_f64, 0.0_f64), |(least, most), x| (least.min(*x), most.max(*x)));
        format!("{} to {} %", pct(least), pct(most))
    });
    let loses = figures.link_v.as_ref().map_or(UNKNOWN.into(), |v| fixed(v.0, 3));
    Some(format!("link {link}, may {may}, loses {loses} V; each battery {shares}"))
}

/// What of them is bought.
fn bought(plan: &Plan, between: f64) -> String {
    let bank = &plan.bank;
    if bank.state != State::New {
        return "they are there already: in no price".into();
    }
    let each = bank.links_each.as_ref().map_or(Some(1.0), |n| n.known().map(|n| n.0.max(1.0)));
    let cables = each.map(|each| 2.0 * between * each);
    let long = bank.link_length_m.as_ref().and_then(Known::known).zip(cables).map(|(m, cables)| m.0 * cables);
    let long = long.map_or_else(|| UNKNOWN.into(), |m| entry::said(Units::of(plan), &format!("{m:.2} m"), &[m]));
    let count = |n: f64, what: &str| words::counted(n, what);
    let lugs = match (cables, Stud::named(&bank.ratings.stud).is_some()) {
        (Some(cables), true) => count(2.0 * cables, "lug"),
        _ => "lugs not counted, as the posts' stud or the cables are not entered".into(),
    };
    let cables = cables.map_or_else(|| UNKNOWN.into(), |n| count(n, "cable"));
    format!("bought with the batteries: {cables}, {long} in all, {lugs}; priced as other new wire")
}
