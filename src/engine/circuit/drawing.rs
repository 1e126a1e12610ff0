//! What the drawing says: the ends of every run, and what is wrong with them.

use crate::plan::{FieldPath, Id, Known, Plan, Run};
use crate::standards::source::COMMON_PRACTICE;

use super::{Circuit, Link, Node, Role, node_of};
use crate::engine::finding::{Check, Finding, Level};

static DANGLING: Check = Check {
    id: "dangling-end",
    safety: false,
    say: |f| format!("{} ends on {}, which is not in the plan", f.name(0), f.name(1)),
};
static REMOVED_END: Check = Check {
    id: "end-on-removed",
    safety: false,
    say: |f| format!("{} stays, but {} at its end is removed or dead", f.name(0), f.name(1)),
};
static TO_ITSELF: Check = Check {
    id: "run-to-itself",
    safety: false,
    say: |f| format!("{} leaves {} and ends on it again", f.name(0), f.name(1)),
};
static DUPLICATE: Check = Check {
    id: "duplicate-name",
    safety: false,
    say: |f| format!("{} names two things; references mean the first", f.name(0)),
};
static LOOPED: Check = Check {
    id: "loop",
    safety: false,
    say: |f| format!("{} is one of several ways between the same ends; it is sized for the whole current", f.name(0)),
};

/// A finding about a run.
fn about_run(check: &'static Check, level: Level, run: &Run, other: &str) -> Finding {
    Finding::new(check, level, FieldPath::new(format!("runs.{}", run.id)), &[], &COMMON_PRACTICE)
        .named([run.id.as_str(), other])
}

impl Circuit {
    pub(super) fn place_ends(&mut self, plan: &Plan, findings: &mut Vec<Finding>) {
        for run in &plan.runs {
            let live = run.legs.is_empty() || run.legs.iter().any(|l| l.state.stays());
            let mut end = |id: &Known<Id>| {
                let name = id.known()?;
                let Some(node) = node_of(plan, name.as_str()) else {
                    findings.push(about_run(&DANGLING, Level::Caution, run, name.as_str()));
                    return None;
                };
                if live && !stays(plan, node) {
                    findings.push(about_run(&REMOVED_END, Level::Caution, run, name.as_str()));
                    return None;
                }
                Some(node)
            };
            let (from, to) = if live { (end(&run.from), end(&run.to)) } else { (None, None) };
            if from.is_some() && from == to {
                let name = run.from.known().map_or("", Id::as_str);
                findings.push(about_run(&TO_ITSELF, Level::Caution, run, name));
            }
            let role = if live { Role::Open } else { Role::Dead };
            self.links.push(Link {
                from,
                to,
                role,
                near_from: true,
                away: Vec::new(),
                upstream: Vec::new(),
                beyond: Vec::new(),
                looped: false,
            });
        }
    }

    /// Runs that are one of several ways between the same ends.
    pub(super) fn loops(&self, plan: &Plan, findings: &mut Vec<Finding>) {
        for (link, run) in self.links.iter().zip(&plan.runs) {
            if link.looped {
                findings.push(about_run(&LOOPED, Level::Note, run, ""));
            }
        }
    }
}

fn stays(plan: &Plan, node: Node) -> bool {
    match node {
        Node::Bank | Node::BankMinus => plan.bank.state.stays(),
        Node::Array(i) => plan.arrays.get(i).is_some_and(|x| x.state.stays()),
        Node::Controller(i) => plan.controllers.get(i).is_some_and(|x| x.state.stays()),
        Node::Inverter(i) => plan.inverters.get(i).is_some_and(|x| x.state.stays()),
        Node::Charger(i) => plan.chargers.get(i).is_some_and(|x| x.state.stays()),
        Node::Device(i) => plan.devices.get(i).is_some_and(|x| x.state.stays()),
        Node::Load(i) => plan.loads.get(i).is_some_and(|x| x.state.stays()),
    }
}

pub(super) fn duplicates(plan: &Plan, findings: &mut Vec<Finding>) {
    let mut ids: Vec<(&str, &str)> = Vec::with_capacity(32);
    let sections: [(&str, &dyn crate::plan::field::List); 6] = [
        ("arrays", &plan.arrays),
        ("controllers", &plan.controllers),
        ("inverters", &plan.inverters),
        ("chargers", &plan.chargers),
        ("devices", &plan.devices),
        ("loads", &plan.loads),
    ];
    let runs: (&str, &dyn crate::plan::field::List) = ("runs", &plan.runs);
    let mut twice = |section: &str, id: &str| {
        findings.push(
            Finding::new(&DUPLICATE, Level::Caution, FieldPath::new(format!("{section}.{id}")), &[], &COMMON_PRACTICE)
                .named([id]),
        );
    };
    for (section, list) in sections {
        for id in (0..list.len()).filter_map(|i| list.id_at(i)) {
            if matches!(id.as_str(), "BK" | "BK+" | "BK-") || ids.iter().any(|(_, x)| *x == id.as_str()) {
                twice(section, id.as_str());
            }
            ids.push((section, id.as_str()));
        }
    }
    let (section, list) = runs;
    for i in 0..list.len() {
        if let Some(id) = list.id_at(i)
            && list.position(id.as_str()).is_some_and(|first| first < i)
        {
            twice(section, id.as_str());
        }
    }
}
