//! What is said of a switch, disconnect or fuse that opens: what goes dead, what stays alive behind it, and by what.

use crate::engine::Isolation;
use crate::plan::{FieldPath, Plan};

use super::run::{ends, word};

/// What a line is, for whoever sets it apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// What is opened.
    Opened,
    /// What stays alive, or is held up.
    Live,
    Said,
}

/// A switch or fuse by its name, kind or ends.
#[must_use]
pub fn name(plan: &Plan, opened: &Isolation) -> String {
    let (at, short) = (&opened.switch, &opened.name);
    let device = plan.devices.iter().find(|d| *at == FieldPath::from("devices").join(&d.id));
    if let Some(device) = device {
        let called = device.name.trim();
        return if called.is_empty() { format!("{short} {}", word(&device.kind)) } else { format!("{short} {called}") };
    }
    let run = plan.runs.iter().find(|r| at.is_within(&FieldPath::from("runs").join(&r.id)));
    run.map_or_else(
        || short.clone(),
        |run| {
            let (from, to) = ends(run);
            format!("{short}, {from} > {to}")
        },
    )
}

/// What it does when it opens, line by line.
#[must_use]
pub fn said(plan: &Plan, opened: &Isolation) -> Vec<(What, String)> {
    let mut lines = vec![(What::Opened, format!("{} open:", name(plan, opened)))];
    let dead: Vec<String> = opened.dead.iter().map(|id| named(plan, id.as_str())).collect();
    let dead = if dead.is_empty() { "nothing".into() } else { dead.join(", ") };
    lines.push((What::Said, format!("DEAD: {dead}")));
    if opened.live.is_empty() {
        lines.push((What::Said, "STAYS LIVE behind it: nothing".into()));
    }
    // What is kept alive by the same thing stands on one line.
    let mut by: Vec<(&str, Vec<String>)> = Vec::new();
    for (id, why) in &opened.live {
        match by.iter_mut().find(|(w, _)| *w == why.as_str()) {
            Some((_, ids)) => ids.push(named(plan, id.as_str())),
            None => by.push((why, vec![named(plan, id.as_str())])),
        }
    }
    for (why, ids) in by {
        let is_held = opened.live.iter().any(|(id, w)| w == why && opened.held.contains(id));
        let how = if is_held { "HELD UP" } else { "STAYS LIVE" };
        lines.push((What::Live, format!("{how} by {why}: {}", ids.join(", "))));
    }
    if !opened.holders.is_empty() {
        let all = if opened.holders.len() > 1 { "all of this is" } else { "this is" };
        lines.push((What::Said, format!("What is held up is dead once {all} off too: {}", opened.holders.join(", "))));
    }
    lines
}

/// `L3 water pump`: an id with the name it has, if any.
fn named(plan: &Plan, id: &str) -> String {
    let load = plan.loads.iter().find(|l| l.id.as_str() == id).filter(|l| !l.name.trim().is_empty());
    load.map_or_else(|| id.to_string(), |load| format!("{id} {}", load.name))
}
