//! What was checked and against what, what was found, what was not checked.

use crate::engine::Rules;
use crate::wording::lines::wrap;
use crate::wording::told::{self, Cures};

use super::Matter;
use super::sheet::{head, heading, rule_said};

const TITLE: &str = "CHECKS: what was checked, against what, and what was found";
const SOURCES: &str = "Each finding names the document that it rests on. \"From memory\" means recalled, not read in the \
                       document; \"common practice\" means that no document is claimed.";
const LIMITS: &str = "What was not entered was not checked, and that nothing was found proves nothing. A finding that was \
                      accepted stays a finding. No plan replaces inspection and measurement of the finished work.";

/// The paper.
pub(super) fn text(matter: &Matter<'_>, cures: Cures<'_>) -> String {
    let Matter { plan, report, .. } = *matter;
    let mut out = String::new();
    head(&mut out, matter, TITLE, "see NOT CHECKED below");
    wrap(&mut out, "places    ", &told::places(plan));
    wrap(&mut out, "coldest   ", &told::coldest(plan, report));
    wrap(&mut out, "checked   ", &told::inventory(plan, report));
    out.push('\n');
    wrap(&mut out, "", SOURCES);
    let changed = Rules::changed(plan);
    if !changed.is_empty() {
        heading(&mut out, &format!("RULE VALUES CHANGED IN THIS PLAN {}", changed.len()));
        changed.iter().for_each(|c| wrap(&mut out, "  ", &rule_said(plan, c)));
    }
    if report.findings.is_empty() {
        out.push('\n');
        wrap(&mut out, "", "Nothing was found by the checks that could run.");
    }
    told::found(&mut out, plan, report, cures);
    out.push('\n');
    wrap(&mut out, "", told::CAUTION);
    out.push('\n');
    wrap(&mut out, "", LIMITS);
    out
}
