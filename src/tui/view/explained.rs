//! What a finding's check looks at, and what a result means: said before the keys in the help.

use crate::document::checked::looks;
use crate::engine::{Finding, Level, rules_of};
use crate::plan::{Plan, rules};
use crate::standards::rules::rule;
use crate::tui::layout::RESULT_LINES;
use crate::tui::model::Model;
use crate::tui::theme::Role;
use crate::tui::words;
use crate::wording::findings::{About, Entry};

use super::results::{self, Line};

type Lines = Vec<(String, Role)>;

fn say(lines: &mut Lines, text: &str, role: Role) {
    lines.push((text.into(), role));
}

/// About the focused line of the findings.
pub(super) fn finding(model: &Model) -> Lines {
    let mut lines = Vec::new();
    let Some((entry, plan)) = model.entry().zip(model.plan()) else { return lines };
    say(&mut lines, &entry.head(plan), Role::Heading);
    say(&mut lines, &entry.said(plan), Role::Text);
    match &entry.about {
        About::Finding(finding) => of_finding(plan, &entry, finding, &mut lines),
        About::NotChecked(waiting) => {
            looked_at(waiting.check, &mut lines);
            let text = "This check could not run, and says nothing for or against the plan: on every sheet it stands as not checked. \
                        Enter goes to what it waits for.";
            say(&mut lines, text, Role::Text);
        }
        About::Waiting(checks) => {
            let mut told: Vec<&str> = Vec::new();
            for waiting in checks {
                if !told.contains(&waiting.check) {
                    told.push(waiting.check);
                    looked_at(waiting.check, &mut lines);
                }
            }
            say(
                &mut lines,
                "These checks wait for one value, and say nothing until then. Enter goes there.",
                Role::Text,
            );
        }
        About::Unknown(_) => {
            let text = "Values that nobody has entered; each figure and check that needs one waits for it, and none is assumed. \
                        Enter goes to the first.";
            say(&mut lines, text, Role::Text);
        }
    }
    lines
}

/// What a check looks at and what not.
pub(super) fn looked_at(check: &str, lines: &mut Lines) {
    match looks(check) {
        Some(looks) => {
            say(lines, &format!("{check} looks at: {}", looks.at), Role::Text);
            say(lines, &format!("Not looked at: {}", looks.not_at), Role::Text);
        }
        None => say(lines, check, Role::Text),
    }
}

fn of_finding(plan: &Plan, entry: &Entry<'_>, finding: &Finding, lines: &mut Lines) {
    let level = match finding.level {
        Level::Stop => "stop: do not build it like this",
        Level::Caution => "caution: look again",
        Level::Note => "note: worth knowing",
    };
    say(lines, level, Role::Mark(finding.level));
    looked_at(finding.check.id, lines);
    for (label, text) in entry.lines(plan) {
        say(lines, &format!("{label}: {text}"), Role::Text);
    }
    for rule in rules_of(finding).into_iter().filter_map(rule) {
        let own = plan.rules.iter().rev().find(|r| r.id.as_str() == rule.id).and_then(|r| r.value.known());
        let basis = plan.job.basis;
        let value = rules::with_unit(rule, own.map_or(rule.value(basis), |own| own.0));
        let changed = if own.is_some() { ", changed in this plan" } else { "" };
        say(lines, &format!("rule {}: {value}{changed} [{}]", rule.label, rule.source_of(basis)), Role::Text);
    }
    let ways =
        "Enter has its working, step by step, and its cures; x accepts it with a reason; v changes a rule it rests on.";
    say(lines, ways, Role::Text);
}

/// About the marked result of the Bench.
pub(super) fn result(model: &Model) -> Lines {
    let mut lines = Vec::new();
    let Some(document) = &model.document else { return lines };
    let all = results::lines(model, document.shown(), document.baseline());
    let at = model.bench.results.min(all.len().saturating_sub(1));
    let Some(line) = all.get(at) else { return lines };
    say(&mut lines, &format!("RESULT: {}", named(&all, at)), Role::Heading);
    say(&mut lines, line.value().trim(), Role::Figure);
    say(&mut lines, MEANS.get(at).copied().unwrap_or_default(), Role::Text);
    if document.baseline().is_some() {
        say(&mut lines, "base +/-: its change since the plan that is held as baseline.", Role::Text);
    }
    if at <= 4 || at >= 12 {
        say(&mut lines, BASE, Role::Text);
    }
    lines
}

/// About the list of loads: its sums and its columns.
pub(super) fn loads(lines: &mut Lines) {
    LOADS.iter().for_each(|text| say(lines, text, Role::Text));
}

const LOADS: [&str; 3] = [
    "summer, winter: Wh on a usual day of these, with the factors of each load and what its inverter or converter loses; spring and autumn \
     lie between. In brackets what it may really be: such an audit is known to a quarter.",
    "all at once: every load of that month together, what comes by an inverter up to its rating. amps at low volts: the same at the \
     volts that the bank falls to under load, as wires and fuses are held to.",
    "largest start: that, and the load with the largest surge over its running watts starting beside it.",
];

/// A line's label; one without has that of the line before.
fn named(all: &[Line], at: usize) -> &'static str {
    let mut labels = all.iter().take(at + 1).map(Line::label);
    labels.rfind(|label| !label.is_empty()).unwrap_or(words::UNKNOWN)
}

/// What the year is.
const BASE: &str = "Base: the typical year of the plan's stays, hour by hour, 1 January to 31 December after a December that is not \
                    counted; the shade of what stands on the roof is taken off panels that have a place there, the nose pointing anywhere.";

/// What each line of the results means, in their order.
const MEANS: [&str; RESULT_LINES] = [
    "What would arrive at the bank's posts on a mean day of the month with the least: after controller and every ohm on the way, each \
     hour with the bank as full as it is at its start, before absorption, charge limits and cut-offs. In brackets: a tenth of its days \
     bring less than the first, a tenth more than the second.",
    "The same of the month with the most.",
    "All that is drawn on a mean day of that month - the audit, the equipment's own use, a bank's heater, at most: insulation of its \
     box is not counted - whether the bank or shore power carries it; while the bank's hours wait the audit alone.",
    "Load that is not served, of a mean day of that month; a charged bank carries load over, so the worst may be another month, which \
     is named then. At most: hours of driving or days on shore power are not known, and none are taken.",
    "How long the charged bank alone carries that month's day of load: usable Wh by its label's volts x Ah x usable share, less what \
     cold leaves in it, over the load of a day; no sun, no driving, no shore power.",
    "What the next gauge up of the run that is selected below brings on a mean day and in a year: harvest at the posts, which counts \
     what a full bank turns away, and where a charger's current flows in it what chargers bring more; used: how much more of the load is \
     served for it.",
    "Open-circuit volts of the strings on the controller that is nearest to its limit, at the coldest temperature, by the panels' \
     label, against the most that the controller takes.",
    "Amps into a dead short at the bank's posts, from the batteries' own figure, else from what their kind is taken to give; wire, \
     fuses and joints count for nothing. Every fuse and switch is held to the fault at its own place.",
    "Equipment at its selling price; new wire, fuses and lugs by the truck stock with the plan's markup; labour and taxes as entered. \
     While some part has no price there is no total, but the sum that is known; +2 parts, +4 lugs: so many without a price. What \
     exists costs nothing.",
    "Findings that are open, by level, and those accepted with a reason. Screen 5 has them; what they do not look at is not judged.",
    "Values nobody has entered, and safety checks that wait for one: those say nothing for or against the plan.",
    "Usable energy of the bank by its label: volts x Ah x usable share of its chemistry or as entered. Its volts are nominal.",
    "What would arrive at the bank's posts in the year, and in its dullest and brightest month.",
    "All that is drawn in the year, and in brackets how far such an audit is known.",
    "Days of the year on which some load is not served, in the hours of the typical year; the next year may be duller.",
];
