//! What is printed: the papers of plans, as text.
//!
//! After a change that is meant: `INSTA_UPDATE=always cargo test --test main papers::`, and read the difference.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks;
mod isolation;
mod prints;
mod wires;

use coachwire::engine::{Engine, Report};
use coachwire::papers::{self, Matter, Paper};
use coachwire::plan::samples::sample;
use coachwire::plan::{FieldPath, Plan};
use coachwire::stock::Stock;

/// A sample plan.
pub(crate) fn sampled(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("a sample").text).expect("it reads")
}

/// A sample with the items of a list that it has none of.
fn with(name: &str, list: &str, items: &str) -> Plan {
    let text =
        sample(name).expect("a sample").text.replacen("version: 1,", &format!("version: 1, {list}: [{items}],"), 1);
    Plan::from_text(&text).expect("it reads")
}

/// A plan with fields as a person would type them.
fn set(plan: &Plan, fields: &[(&str, &str)]) -> Plan {
    fields.iter().fold(plan.clone(), |plan, (at, text)| {
        let at = FieldPath::new(*at);
        let to = coachwire::plan::entry::parse(&plan, &at, text).expect("it parses").value;
        plan.with(&coachwire::plan::Step::one("set", coachwire::plan::Edit::Set { at, to })).expect("it is taken")
    })
}

/// The papers of a plan and its report; cures are tried where they are asked for.
fn printed_with(plan: &Plan, cured: bool) -> (Vec<Paper>, Report) {
    let (mut engine, stock) = (Engine::default(), Stock::default());
    let report = engine.evaluate(plan, &stock);
    let bearings = engine.bearings(plan, &stock);
    let matter = Matter { name: "x.ron", plan, report: &report, bearings: &bearings, shop: &stock.settings };
    let papers = papers::all(&matter, &mut |finding| {
        if !cured {
            return (Vec::new(), String::new());
        }
        let found = engine.cures_tried(plan, &stock, finding);
        (found.steps.iter().map(|step| step.name.clone()).collect(), found.in_vain())
    });
    (papers, report)
}

fn printed(plan: &Plan) -> (Vec<Paper>, Report) {
    printed_with(plan, false)
}

/// One paper of them.
#[track_caller]
fn paper<'a>(papers: &'a [Paper], name: &str) -> &'a str {
    &papers.iter().find(|p| p.name == name).expect("a paper of this name").text
}

/// Its words with one space between.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What a wire schedule says of a run.
#[track_caller]
fn block<'a>(wires: &'a str, run: &str) -> &'a str {
    let head = format!("\n{run} ");
    let from = wires.find(&head).unwrap_or_else(|| panic!("{run} is not in\n{wires}")) + 1;
    let rest = &wires[from..];
    rest.split("\n\n").next().unwrap_or(rest)
}
