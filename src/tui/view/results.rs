//! The results that matter, each with its change since the baseline.

use crate::words::counted;
use ratatui::layout::Rect;

use crate::document::Shown;
use crate::document::look::{Answer, Question};
use crate::engine::report::NextUp;
use crate::engine::{Finding, Level, Report};
use crate::plan::entry::Units;
use crate::plan::lists::MONTH_NAMES;
use crate::plan::{Figure, Known, Plan};
use crate::tui::model::{Model, Pane};
use crate::tui::theme::Role;
use crate::tui::words::{self, figure, fixed, num};
use crate::wording::findings::Count;

use super::paint::{Paint, wrap};

/// One line of the results.
#[derive(Clone, Debug, Default)]
pub(super) struct Line {
    label: &'static str,
    value: String,
    /// What follows where it has room, and is left out where it has none.
    after: String,
    /// The number whose change is shown, and its decimals.
    number: Option<f64>,
    decimals: usize,
    /// Words for the change where no number says it.
    change: Option<String>,
}

impl Line {
    pub(super) fn label(&self) -> &'static str {
        self.label
    }

    pub(super) fn value(&self) -> &str {
        &self.value
    }
}

/// Draws the pane; what had no room, in full, the marked one first.
pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) -> Vec<String> {
    let mut cut = Vec::new();
    let Some(document) = &model.document else { return cut };
    let focused = model.bench.pane == Pane::Results;
    paint.title(area, "RESULTS", focused);
    let base = document.baseline();
    if base.is_some() {
        let said = " base +/- ";
        let width = 10.min(area.width);
        paint.text(area.right() - width, area.y, width, said, Role::Heading);
    }
    let lines = lines(model, document.shown(), base);
    let before = base.map(|b| self::lines(model, b, None));
    let height = usize::from(area.height.saturating_sub(1));
    let first = model.bench.results.min(lines.len().saturating_sub(height));
    // Values that are too long go on below where every line still has its row.
    let mut spare = height.saturating_sub(lines.len());
    let mut y = area.y;
    for (i, line) in lines.iter().enumerate().skip(first).take(height) {
        y += 1;
        if focused && i == model.bench.results {
            paint.text(area.x, y, 1, ">", Role::Text);
        }
        paint.text(area.x + 1, y, 8, line.label, Role::Text);
        let change = match (&line.change, before.as_ref().and_then(|b| b.get(i))) {
            (Some(change), _) => change.clone(),
            (None, Some(then)) => words::change_shown(line.number, then.number, line.decimals),
            (None, None) => String::new(),
        };
        let used = u16::try_from(change.len()).unwrap_or(0);
        let room = area.width.saturating_sub(10 + if used > 0 { used + 1 } else { 0 });
        paint.right(area.x, y, area.width, &change, Role::Changed);
        let mut value = line.value.clone();
        if value.chars().count() + line.after.chars().count() <= usize::from(room) {
            value.push_str(&line.after);
        }
        let parts = wrap(&value, usize::from(room));
        if (2..=spare + 1).contains(&parts.len()) {
            spare -= parts.len() - 1;
            paint.text(area.x + 10, y, room, parts.first().map_or("", |part| part), Role::Figure);
            for part in parts.iter().skip(1) {
                y += 1;
                paint.text(area.x + 10, y, room, part, Role::Figure);
            }
        } else {
            // Cut between words: a number that is cut reads as another.
            let whole = parts.first().filter(|first| parts.len() > 1 && first.chars().count() < usize::from(room));
            let shown = whole.map_or_else(
                || value.clone(),
                |first| {
                    if first.chars().count() + 1 < usize::from(room) {
                        format!("{first} ~")
                    } else {
                        format!("{first}~")
                    }
                },
            );
            paint.text(area.x + 10, y, room, &shown, Role::Figure);
            if parts.len() > 1 {
                let at = if i == model.bench.results { 0 } else { cut.len() };
                cut.insert(at, format!("{} {}", line.label, line.value));
            }
        }
    }
    paint.hidden(
        Rect { width: area.width.saturating_sub(if base.is_some() { 10 } else { 0 }), ..area },
        first,
        lines.len().saturating_sub(first + height),
    );
    if focused {
        paint.set_cursor(area.x, area.y);
    }
    cut
}

/// What stands for a figure of loads that nobody has entered.
const NO_LOADS: &str = "no loads entered";
/// What the year's load is then.
pub(super) const OWN_USE: &str = "own use of equipment";

pub(super) fn has_no_loads(plan: &Plan) -> bool {
    !plan.loads.iter().any(|load| load.state.stays())
}

/// Beside a load that waits for the year.
const AUDIT_ALONE: &str = ", audit";

/// The month with the least or most of something.
fn extreme(report: &Report, most: bool, get: impl Fn(usize) -> Option<f64>) -> Option<(usize, f64)> {
    let mut best: Option<(usize, f64)> = None;
    for month in 0..report.year.months.len() {
        let Some(x) = get(month) else { continue };
        if best.is_none_or(|(_, b)| if most { x > b } else { x < b }) {
            best = Some((month, x));
        }
    }
    best
}

fn name(month: usize) -> &'static str {
    MONTH_NAMES.get(month).copied().unwrap_or("")
}

/// The lines, always as many whatever is known, so that two plans compare line by line.
pub(super) fn lines(model: &Model, shown: &Shown, base: Option<&Shown>) -> Vec<Line> {
    let (plan, report) = (&*shown.plan, &*shown.report);
    let mut lines = Vec::new();
    let has_base = model.document.as_ref().is_some_and(|d| d.baseline().is_some());
    energy((plan, report), has_base, &mut lines);
    lines.push(worth(model, shown));
    lines.push(cold_voc(plan, report));
    lines.push(fault(report));
    lines.push(if model.are_prices_hidden {
        Line { label: "price", value: "hidden".into(), ..Line::default() }
    } else {
        price(plan, report)
    });
    lines.push(counts(report, base));
    lines.push(waiting(report));
    let usable = &report.bank.usable_wh;
    lines.push(Line {
        label: "bank",
        value: format!(
            "{} usable by label, {}",
            figure(usable, |w| format!("{} Wh", num(w.0))),
            figure(&report.bank.volts, |v| format!("{} V", num(v.0)))
        ),
        number: usable.as_ref().ok().map(|w| w.0),
        ..Line::default()
    });
    year(plan, report, &mut lines);
    let lived = &report.year.lived;
    let days = if has_gap(report) { &lived.short_days } else { &report.year.shortfall_days };
    lines.push(Line {
        label: "short",
        value: if has_no_loads(plan) {
            NO_LOADS.into()
        } else {
            format!(
                "{} {}{}",
                counted(figure(days, |d| num(*d)), "day"),
                lived.when(),
                if report.charging_unknown() { ", at most" } else { "" }
            )
        },
        number: days.as_ref().ok().copied(),
        decimals: 1,
        ..Line::default()
    });
    lines
}

fn energy((plan, report): (&Plan, &Report), has_base: bool, lines: &mut Vec<Line>) {
    let month = |m: usize| report.year.months.get(m);
    let harvest = |m: usize| month(m).and_then(|m| m.harvest_wh_day.as_ref().ok().map(|w| w.0));
    let load = |m: usize| {
        month(m)
            .and_then(|m| m.load_wh_day.as_ref().ok().map(|w| w.0))
            .or_else(|| report.loads.wh_day.get(m).and_then(|w| w.as_ref().ok().map(|w| w.0)))
    };
    let short = |m: usize| month(m)?.shortfall_wh_day.as_ref().ok().map(|w| w.0);
    let wh = |found: Option<(usize, f64)>| match found {
        Some((m, x)) => format!("      {} {:>8} Wh/d", name(m), fixed(x, 0)),
        None => format!("          {:>8} Wh/d", words::UNKNOWN),
    };
    let worst = extreme(report, false, harvest);
    let best = extreme(report, true, harvest);
    let most_short = extreme(report, true, short).filter(|(_, x)| fixed(*x, 0) != "0");
    let shortest = most_short.or_else(|| worst.and_then(|(m, _)| short(m).map(|x| (m, x))));
    // Of the month of the least harvest; only without any harvest of the month of the most load.
    let load_at = match worst {
        Some((m, _)) => load(m).map(|x| (m, x)),
        None => extreme(report, true, load),
    };
    // A charged bank carries load over: the shortfall may be worst in another month, and then both are named.
    let also = match (worst, shortest) {
        (Some((m, _)), Some((at, _))) if at != m => short(m).map(|x| format!(", {} {}", name(m), fixed(x, 0))),
        _ => None,
    };
    let mut push = |label, value, found: Option<(usize, f64)>, decimals| {
        lines.push(Line { label, value, number: found.map(|(_, x)| x), decimals, ..Line::default() });
    };
    push("harvest", spread(report, worst, "worst", has_base), worst, 0);
    push("", spread(report, best, "best", has_base), best, 0);
    let is_bare = has_no_loads(plan);
    // While the bank's hours wait, what equipment takes itself is in no load.
    let is_audit = report.year.is_load_the_audit();
    let own = load_at.filter(|(_, x)| is_bare && !is_audit && fixed(*x, 0) != "0");
    let own = own.map_or(String::new(), |(_, x)| format!("; own use of the equipment {} Wh/d", fixed(x, 0)));
    let or_none = |text: String, more: &str| if is_bare { format!("{NO_LOADS}{more}") } else { text };
    let alone = if is_audit { AUDIT_ALONE } else { "" };
    push("load", or_none(wh(load_at) + alone, &own), load_at, 0);
    // What nobody knows of other charging may bring some of it.
    let at_most = if report.charging_unknown() { ", at most" } else { "" };
    push("short", or_none(wh(shortest) + &also.unwrap_or_default() + at_most, ""), shortest, 0);
    let lasts = |m: usize| month(m).and_then(|m| m.days_without_sun.as_ref().ok().copied());
    let least = extreme(report, false, lasts);
    // The month of the least harvest where it makes no difference.
    let same = |d: f64| least.is_some_and(|(_, least)| fixed(least, 1) == fixed(d, 1));
    let days = worst.and_then(|(m, _)| lasts(m).filter(|d| same(*d)).map(|d| (m, d))).or(least);
    let said = match days {
        Some((m, d)) => {
            format!("{}{} days without sun ({})", if is_audit { "<= " } else { "" }, fixed(d, 1), name(m))
        }
        None => "? days without sun".into(),
    };
    push("lasts", or_none(said, ""), days, 1);
}

/// The year's harvest with its dullest and its brightest month, and the load as closely as audits know it.
fn year(plan: &Plan, report: &Report, lines: &mut Vec<Line>) {
    let (kwh, loads) = match has_gap(report) {
        true => (&report.year.lived.harvest_kwh, &report.year.lived.load_kwh),
        false => (&report.year.harvest_kwh, &report.year.load_kwh),
    };
    let when = if has_gap(report) { format!(" {}", report.year.lived.when()) } else { String::new() };
    let months = report.year.month_spread().map_or(String::new(), |s| {
        let of = |(month, kwh): (usize, f64)| format!("{} {}", name(month), fixed(kwh, 0));
        format!(" ({}, {})", of(s.dull), of(s.bright))
    });
    let shade = match shade_taken(report, SHADE) {
        Some(((m, most), _)) => format!("; roof shade taken off, {:.0} % in {}", most * 100.0, name(m)),
        None if is_shade_unknown(plan, report) && kwh.is_ok() => "; no roof shade taken off: not known".into(),
        None => String::new(),
    };
    let is_audit = report.year.is_load_the_audit();
    // Without loads there is no audit whose range it could have.
    let load = match has_no_loads(plan) {
        // Of equipment that takes nothing, or is not there, there is no figure to give.
        true if loads.as_ref().is_ok_and(|kwh| num(*kwh) == "0") => NO_LOADS.into(),
        true if is_audit => format!("{OWN_USE} {} kWh", words::UNKNOWN),
        true => format!("{OWN_USE} {} kWh", figure(loads, |k| num(*k))),
        false => figure(loads, |k| {
            let (least, most) = report.loads.range(*k);
            format!("load {} kWh ({least:.0}-{most:.0}){}", num(*k), if is_audit { AUDIT_ALONE } else { "" })
        }),
    };
    let number = |figure: &Figure<f64>| figure.as_ref().ok().copied();
    lines.push(Line {
        label: "year",
        value: format!("in {} kWh{when}{months}{shade}", figure(kwh, |k| num(*k))),
        number: number(kwh),
        ..Line::default()
    });
    lines.push(Line { label: "", value: load, number: number(loads), ..Line::default() });
}

/// Whether some months, but not all, have a stay: the year has sums of those alone.
fn has_gap(report: &Report) -> bool {
    (1..12).contains(&report.year.lived.months)
}

/// Less shade than this is not worth a word, a share. Source: our own choice; the climate is known no closer.
pub(super) const SHADE: f64 = 0.005;

/// The months of which shade on the roof takes most and least; none where it is less than some share throughout.
pub(super) fn shade_taken(report: &Report, least: f64) -> Option<((usize, f64), (usize, f64))> {
    let of = |m: usize| report.roof.shade_taken.get(m).map(|taken| taken.share);
    let worst = extreme(report, true, of).filter(|(_, share)| *share >= least)?;
    Some((worst, extreme(report, false, of)?))
}

/// Whether something stands on the roof whose shade nobody can tell: all harvest is that of a bare roof then.
pub(super) fn is_shade_unknown(plan: &Plan, report: &Report) -> bool {
    let has_array = plan.arrays.iter().any(|a| a.state.stays());
    report.roof.shade.is_empty() && has_array && !plan.roof.obstacles.is_empty()
}

/// The same in a line of its own, beside harvest that is less by it, or would be if it were known.
pub(super) fn shade_line(plan: &Plan, report: &Report) -> Option<String> {
    if is_shade_unknown(plan, report) {
        return Some(
            "no roof shade taken off: where panels lie, or how large all that stands there is, is not known".into(),
        );
    }
    let ((m, share), _) = shade_taken(report, SHADE)?;
    Some(format!("roof shade taken off: up to {:.0} % ({})", share * 100.0, name(m)))
}

/// A month's harvest with that of its dull and its bright days. Beside a baseline the change needs the unit's room; the
/// load below has it.
fn spread(report: &Report, found: Option<(usize, f64)>, word: &str, has_base: bool) -> String {
    let Some((m, mean)) = found else { return format!("{word:<6}{} Wh/d", words::UNKNOWN) };
    let days = report.year.months.get(m).and_then(|m| m.spread_wh_day.as_ref().ok());
    let range = days.map(|s| format!(" ({:.0}-{:.0})", s.dull.0, s.bright.0)).unwrap_or_default();
    format!("{word:<6}{} {mean:.0}{range}{}", name(m), if has_base { "" } else { " Wh/d" })
}

/// What the next gauge up of the selected run is worth.
fn worth(model: &Model, shown: &Shown) -> Line {
    let line = |value: String| Line { label: "worth", value, ..Line::default() };
    let Some(run) = shown.report.runs.get(model.bench.run) else { return line("-".into()) };
    let id = &run.id;
    let gauge = match &run.next_up {
        NextUp::Gauge(gauge) => gauge,
        NextUp::Largest => return line(format!("{id} has the largest gauge")),
        NextUp::ChargesNothing => return line(format!("{id} carries no charging current")),
        NextUp::Beside => return line(format!("{id} lies beside another; not reckoned")),
        NextUp::Measured => return line(format!("{id}: its resistance is measured")),
        NextUp::OwnLegs => return line(format!("{id}: its legs differ in gauge")),
        NextUp::Unknown(_) => return line(format!("{id}: ? (its gauge)")),
    };
    // Those that are still awaited have their places, so that nothing else moves.
    let said = |day: &str, year: &str, unit: &str, served: &str| Line {
        after: format!(" ({id} {gauge})"),
        ..line(format!("{day:<5} Wh/d {year:<4} {unit} used {served:<4}"))
    };
    match model.late.answer(shown, &Question::Worth(id.clone())) {
        Some(Answer::Worth(Ok(worth))) => {
            let (day, year) = (signed(worth.brings_wh_day()), signed(worth.brings_kwh()));
            let unit =
                if worth.months == 12 { "kWh/y".into() } else { format!("kWh in {}", counted(worth.months, "month")) };
            // Most of it comes when the bank is full.
            let served = worth.served_kwh.map_or("?".into(), signed);
            said(&day, &year, &unit, &served)
        }
        Some(_) => line(format!("{id} {gauge}: ? Wh/d")),
        None => said("..", "..", "kWh/y", ".."),
    }
}

fn signed(x: f64) -> String {
    let text = fixed(x, usize::from(x.abs() < 99.95));
    if text.starts_with('-') || text == "0" { text } else { format!("+{text}") }
}

fn cold_voc(plan: &Plan, report: &Report) -> Line {
    let at = |c: f64| format!(" at {}", words::temperature(Units::of(plan), c));
    let coldest = match (&plan.job.coldest_c, &report.coldest_c) {
        (Some(Known::Is(c)), _) => at(c.0),
        (None, Some(c)) => format!("{}, its stays' coldest", at(c.0)),
        _ => String::new(),
    };
    let is_by_table = |id: &crate::plan::Id| {
        let fed = plan.arrays.iter().filter(|a| a.state.stays() && a.controller.known() == Some(id));
        let mut used = fed.flat_map(|a| a.strings.0.iter().flatten());
        used.any(|p| plan.panels.iter().any(|panel| panel.id == *p && panel.beta_pct_k.known().is_none()))
    };
    let limit = |id: &crate::plan::Id| {
        plan.controllers.iter().find(|c| c.id == *id).and_then(|c| c.max_pv_v.known().map(|v| v.0))
    };
    // The controller nearest its limit.
    let nearest =
        report.controllers.iter().filter_map(|c| Some(((c.voc_cold_v.as_ref().ok()?.0, limit(&c.id)), &c.id))).max_by(
            |(a, _), (b, _)| {
                let share = |(v, limit): &(f64, Option<f64>)| v / limit.unwrap_or(1e9).max(1e-9);
                share(a).total_cmp(&share(b))
            },
        );
    let coldest = match nearest {
        Some((_, id)) if is_by_table(id) => coldest + ", by table for want of beta",
        _ => coldest,
    };
    let (value, number) = match nearest.map(|(found, _)| found) {
        Some((v, Some(limit))) => {
            let over = if v > limit { " !stop" } else { "" };
            (format!("{} V of {} V{coldest}{over}", fixed(v, 1), num(limit)), Some(v))
        }
        Some((v, None)) => (format!("{} V of ? V{coldest}", fixed(v, 1)), Some(v)),
        None => (format!("? V{coldest}"), None),
    };
    Line { label: "cold Voc", value, number, decimals: 1, ..Line::default() }
}

fn fault(report: &Report) -> Line {
    let fault = &report.bank.fault_a;
    let amps =
        figure(fault, |a| if a.0 >= 1000.0 { format!("{} kA", num(a.0 / 1000.0)) } else { format!("{} A", num(a.0)) });
    let how = report.bank.fault_how;
    let value = if how.is_empty() { amps } else { format!("{amps}: {how}") };
    Line { label: "fault", value, number: fault.as_ref().ok().map(|a| a.0), ..Line::default() }
}

fn price(plan: &Plan, report: &Report) -> Line {
    let price = &report.price;
    let total = words::price(&price.total);
    let known = price.total.is_err() && price.known_parts.0 > 0.0;
    let sum = fixed(price.known_parts.0, 0);
    let rest = match (known, price.unpriced, price.lugs_not_counted) {
        (false, 0, 0) => String::new(),
        (false, 0, lugs) => format!(", {lugs} lugs not counted"),
        (false, parts, 0) => format!(", {parts} unpriced"),
        (false, parts, lugs) => format!(": {parts} parts, {lugs} lugs unpriced"),
        (true, 0, 0) => format!(", {sum} known"),
        (true, parts, 0) => format!(", {sum} known, {parts} unpriced"),
        // Both counts have room beside the sum on a narrow screen.
        (true, parts, lugs) => format!(": {sum} +{parts} parts +{lugs} lugs"),
    };
    Line {
        label: "price",
        value: format!("{total} {}{rest}", plan.job.currency),
        number: price.total.as_ref().ok().map(|p| p.0),
        ..Line::default()
    }
}

fn open(report: &Report) -> impl Iterator<Item = &Finding> {
    report.findings.iter().filter(|f| f.accepted.is_none())
}

/// Findings that are open now and were not in a base, and the reverse: (new, gone).
pub(super) fn compared(now: &Report, then: &Report) -> (usize, usize) {
    let lacks = |report: &Report, f: &Finding| !open(report).any(|g| g.identity() == f.identity());
    (open(now).filter(|f| lacks(then, f)).count(), open(then).filter(|f| lacks(now, f)).count())
}

fn counts(report: &Report, base: Option<&Shown>) -> Line {
    let of = |level: Level| Count::of(report, level);
    let (stop, caution, note) = (of(Level::Stop), of(Level::Caution), of(Level::Note));
    let accepted = match stop.accepted + caution.accepted + note.accepted {
        0 => String::new(),
        n => format!("  accepted {n}"),
    };
    let value = format!("stop {}  caution {}  note {}{accepted}", stop.open, caution.open, note.open);
    let change = base.map(|b| match compared(report, &b.report) {
        (0, 0) => String::new(),
        (new, 0) => format!("{new} new"),
        (0, gone) => format!("{gone} gone"),
        (new, gone) => format!("+{new} -{gone}"),
    });
    Line { label: "findings", value, change, ..Line::default() }
}

fn waiting(report: &Report) -> Line {
    let unknown = report.unknown.len();
    let value = format!("{unknown}, safety checks not run {}", report.not_checked.len());
    Line { label: "unknown", value, number: Some(unknown as f64), ..Line::default() }
}
