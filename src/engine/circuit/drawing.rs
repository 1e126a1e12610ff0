//! What the drawing says: the ends of every run, and what is wrong with them.

use std::collections::{HashMap, HashSet};

use crate::plan::field::Record;
use crate::plan::{ENDS, FieldPath, Id, Known, Plan, Run};
use crate::standards::source::COMMON_PRACTICE;

use super::{Circuit, Link, Node, Role, node_in, node_of};
use crate::engine::finding::{Check, Finding, Level};

static DANGLING: Check = Check {
    id: "dangling-end",
    safety: false,
    say: |f| match f.name(2) {
        "" => format!("{} ends on {}, which is not in the plan", f.name(0), f.name(1)),
        end => format!("{} {end}: {} is not in the plan", f.name(0), f.name(1)),
    },
};
static REMOVED_END: Check = Check {
    id: "end-on-removed",
    safety: false,
    say: |f| match f.name(2) {
        "" => format!("{} stays, but {} at its end is removed or dead", f.name(0), f.name(1)),
        end => format!("{} {end}: {} is removed or dead", f.name(0), f.name(1)),
    },
};
static TO_ITSELF: Check = Check {
    id: "run-to-itself",
    safety: false,
    say: |f| {
        let jumper = match (f.level, f.name(2)) {
            (Level::Note, "parallel") => {
                ": a link between batteries in parallel is entered at the bank itself, where it counts (joined by, link gauge, \
                 link length); drawn as a run it is in no figure"
            }
            (Level::Note, _) => {
                ", as a jumper between its batteries: it is held to all that the bank gives and takes, and is in no path's drop"
            }
            _ => "",
        };
        format!("{} leaves {} and ends on it again{jumper}", f.name(0), f.name(1))
    },
};
static DUPLICATE: Check = Check {
    id: "duplicate-name",
    safety: false,
    say: |f| match f.name(1) {
        "" => format!("{} names two things; references mean the first", f.name(0)),
        list => format!("{} stands twice in {list}; references mean the first", f.name(0)),
    },
};
static LOOPED: Check = Check {
    id: "loop",
    safety: false,
    say: |f| {
        let (run, others) = (f.name(0), f.name(2));
        let held = match f.name(3) {
            "" => "to all that the loop feeds",
            _ => "to the most that it carries wherever the loop is opened",
        };
        format!("{run} lies on a loop with {others}: current can go either way round, so each of them is held {held}")
    },
};

/// A finding about a run.
fn about_run(check: &'static Check, level: Level, run: &Run, other: &str) -> Finding {
    Finding::new(check, level, FieldPath::of(&["runs", run.id.as_str()]), &[], &COMMON_PRACTICE)
        .named([run.id.as_str(), other])
}

impl Circuit {
    pub(super) fn place_ends(&mut self, plan: &Plan, findings: &mut Vec<Finding>) {
        let names = names(plan);
        for run in &plan.runs {
            let live = run.legs.is_empty() || run.legs.iter().any(|l| l.state.stays());
            let mut end = |id: &Known<Id>| {
                let name = id.known()?;
                let Some(node) = names.get(name.as_str()).copied() else {
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
            if live {
                negative_ends(plan, run, findings);
            }
            if from.is_some() && from == to {
                // From the bank to itself: a jumper between batteries in its box.
                let level = if from == Some(Node::Bank) { Level::Note } else { Level::Caution };
                let name = run.from.known().map_or("", Id::as_str);
                let several = plan.bank.parallel.known().is_some_and(|n| n.0 >= 2.0);
                let how = if several { "parallel" } else { "" };
                let found = about_run(&TO_ITSELF, level, run, name);
                findings.push(found.named([run.id.as_str(), name, how]));
            }
            let role = if live { Role::Open } else { Role::Dead };
            let negatives = [&run.negative_from, &run.negative_to];
            self.links.push(Link {
                from,
                to,
                negatives: negatives.map(|end| node_of(plan, end.as_ref()?.known()?.as_str())),
                role,
                near_from: true,
                away: Vec::new(),
                upstream: Vec::new(),
                beyond: Vec::new(),
                looped: false,
                left_with: Vec::new(),
                joined: true,
            });
        }
    }

    /// Runs that are one of several ways between the same ends.
    pub(super) fn loops(&self, plan: &Plan, findings: &mut Vec<Finding>) {
        for (i, (link, run)) in self.links.iter().zip(&plan.runs).enumerate() {
            // Batteries in parallel on a way each are no loop to speak of, nor are strings on a lead each.
            if self.own_way_of(i).is_some() || self.string_leads_of(plan, i).is_some() {
                continue;
            }
            let Some(others) = link.looped.then(|| self.round(i)).flatten() else { continue };
            let name = |i: &usize| plan.runs.get(*i).map_or("?", |r| r.id.as_str());
            let mut names: Vec<&str> = others.iter().map(name).collect();
            let last = names.pop().unwrap_or_default();
            let others = if names.is_empty() { last.to_string() } else { format!("{} and {last}", names.join(", ")) };
            let at = run.from.known().map_or("?", Id::as_str);
            let mut named = vec![run.id.as_str(), at, others.as_str()];
            named.extend((!link.left_with.is_empty()).then_some("told"));
            findings.push(about_run(&LOOPED, Level::Note, run, "").named(named));
        }
    }
}

/// Of so many items it is quicker to remember the names than to look through the list.
const MANY: usize = 16;

/// What stands under every name: [`node_of`] for a plan of many runs.
fn names(plan: &Plan) -> HashMap<&str, Node> {
    let mut names = HashMap::new();
    for section in ENDS {
        let Some(list) = plan.list(section) else { continue };
        for (i, id) in (0..list.len()).filter_map(|i| list.id_at(i).map(|id| (i, id.as_str()))) {
            names.entry(id).or_insert(node_in(section, i));
        }
    }
    names.extend(["BK", "BK+"].map(|name| (name, Node::Bank)));
    names.insert("BK-", Node::BankMinus);
    names
}

/// Ends of a run's negative that are drawn elsewhere, on nothing that stays.
fn negative_ends(plan: &Plan, run: &Run, findings: &mut Vec<Finding>) {
    let ends =
        [("negative_from", "negative from", &run.negative_from), ("negative_to", "negative to", &run.negative_to)];
    for (field, words, end) in ends {
        let Some(name) = end.as_ref().and_then(|k| k.known()) else { continue };
        let check = match node_of(plan, name.as_str()) {
            None => &DANGLING,
            Some(node) if !stays(plan, node) => &REMOVED_END,
            Some(_) => continue,
        };
        let subject = FieldPath::of(&["runs", run.id.as_str(), field]);
        let found = Finding::new(check, Level::Caution, subject, &[], &COMMON_PRACTICE);
        findings.push(found.named([run.id.as_str(), name.as_str(), words]));
    }
}

/// Whether an end of a run is on what is removed or dead.
pub(super) fn ends_on_removed(plan: &Plan, run: &Run) -> bool {
    let gone = |end: &Known<Id>| end.known().and_then(|id| node_of(plan, id.as_str())).is_some_and(|n| !stays(plan, n));
    gone(&run.from) || gone(&run.to)
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

/// Two items under one name: in the whole plan for what a run can end on, else within a list, nested ones too.
pub(super) fn duplicates(plan: &Plan, findings: &mut Vec<Finding>) {
    let mut twice = |path: String, id: &str, list: &str| {
        findings.push(
            Finding::new(&DUPLICATE, Level::Caution, FieldPath::new(path), &[], &COMMON_PRACTICE).named([id, list]),
        );
    };
    let mut ids = HashSet::new();
    for section in ENDS {
        let Some(list) = plan.list(section) else { continue };
        for id in (0..list.len()).filter_map(|i| list.id_at(i)) {
            if !ids.insert(id.as_str()) || matches!(id.as_str(), "BK" | "BK+" | "BK-") {
                twice(format!("{section}.{id}"), id.as_str(), "");
            }
        }
    }
    within(plan, None, &mut twice);
}

/// Where a record stands, as steps from the plan: put into words only where there is something to say.
#[derive(Clone, Copy)]
struct Trail<'a> {
    up: Option<&'a Self>,
    part: &'a str,
}

impl Trail<'_> {
    fn path(&self) -> String {
        self.up.map_or_else(|| self.part.to_string(), |up| format!("{}.{}", up.path(), self.part))
    }
}

/// Names that stand twice in one list of a record, or of what is in it.
fn within(record: &dyn Record, up: Option<&Trail<'_>>, twice: &mut dyn FnMut(String, &str, &str)) {
    for part in record.part_names() {
        if let Some(inner) = record.part(part) {
            within(inner, Some(&Trail { up, part }), twice);
        }
    }
    for name in record.list_names() {
        let Some(list) = record.list(name) else { continue };
        // Rules and acceptances have no names that anything refers to.
        if up.is_none() && matches!(*name, "rules" | "accepted") {
            continue;
        }
        let (under, own) = (Trail { up, part: name }, up.is_none() && ENDS.contains(name));
        let mut ids = HashSet::new();
        for i in 0..list.len() {
            let (Some(id), Some(item)) = (list.id_at(i), list.at(i)) else { continue };
            let here = Trail { up: Some(&under), part: id.as_str() };
            let is_second = if list.len() > MANY {
                !ids.insert(id.as_str())
            } else {
                list.position(id.as_str()).is_some_and(|first| first < i)
            };
            if !own && is_second {
                let place = if up.is_none() { String::new() } else { under.path() };
                twice(here.path(), id.as_str(), &place);
            }
            within(item, Some(&here), twice);
        }
    }
}
