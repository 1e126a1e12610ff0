//! Two single leads crossed on a bar of plus and a bar of minus: exchanged, before anything else is tried.

use crate::engine::Engine;
use crate::engine::circuit::{Circuit, Node, Role, device_kind, is_start};
use crate::engine::exchanged::Exchanged;
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::resistance::fuses;
use crate::plan::wiring::Return;
use crate::plan::{BANK_ID, DeviceKind, Edit, FieldPath, Id, Plan, Run, Step, Value};
use crate::stock::Stock;

use super::{candidates, order};

/// What two crossed leads are told by where no fuse shows which of them is crossed.
const TOLD: [&str; 3] = ["poles-joined", "bank-not-joined", "converter-two-feeds"];

/// What crossed leads are told by: any other cure of these leaves a thing's plus on the bar of minus.
const ABOUT: [&str; 6] = [
    "poles-joined",
    "converter-two-feeds",
    "source-end-unfused",
    "charger-end-unfused",
    "return-not-drawn",
    "negative-leads-nowhere",
];

/// A place that the bank's own posts, or those of a start battery, are joined to by runs alone.
#[derive(Clone, Copy)]
struct Place {
    node: Node,
    plus: bool,
    /// The start battery; of the bank none.
    start: Option<usize>,
    /// The run that it is joined by.
    by: usize,
}

/// A single lead from a place to a thing, or to a bar.
struct Lead<'a> {
    index: usize,
    run: &'a Run,
    field: &'static str,
    to: &'a Id,
    place: Place,
    far: Node,
}

impl Lead<'_> {
    fn is_fused(&self) -> bool {
        fuses(self.run).next().is_some()
    }

    fn set(&self, to: &Id) -> Edit {
        Edit::Set { at: FieldPath::of(&["runs", self.run.id.as_str(), self.field]), to: Value::Id(to.clone()) }
    }
}

/// The steps against a finding, and how many of them exchange crossed leads: those come first, and where one cures no other is offered.
pub(super) fn first(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (circuit, finding): (&Circuit, &Finding),
    before: &Report,
) -> (Vec<Step>, usize) {
    if finding.check.id == "leads-crossed" {
        let is_own = |crossed: &&Exchanged| {
            let run = crossed.runs.first().and_then(|i| plan.runs.get(*i));
            run.is_some_and(|run| finding.run() == Some(run.id.as_str()))
        };
        let all = Exchanged::all(plan, circuit);
        let steps = all.iter().filter(is_own).filter_map(|crossed| crossed.step(plan));
        return (steps.collect(), 1);
    }
    let (mut all, only) = steps(plan, circuit, finding);
    let swaps = all.len();
    if !only {
        let mut others = candidates(engine, plan, stock, finding, before);
        order::by_rank(plan, finding, &mut others);
        all.extend(others);
    }
    (all, swaps)
}

/// What exchanges crossed leads, and whether nothing but that is to be tried against a finding.
fn steps(plan: &Plan, circuit: &Circuit, finding: &Finding) -> (Vec<Step>, bool) {
    let places = places(plan, circuit);
    let on = |node: Node| places.iter().find(|p| p.node == node).copied();
    // A bond to the frame is no lead of a thing.
    let is_fed = |far: Node| !is_start(plan, far) && device_kind(plan, far) != Some(DeviceKind::Chassis);
    let mut leads = Vec::new();
    for (index, (run, link)) in plan.runs.iter().zip(&circuit.links).enumerate() {
        let ((Some(from), Some(to)), Return::None) = ((link.from, link.to), run.return_path) else { continue };
        let ends = [("from", &run.from, from, to), ("to", &run.to, to, from)];
        for (field, id, near, far) in ends.into_iter().filter(|_| link.role != Role::Dead) {
            let leads_on = on(far).is_none_or(|p| p.by == index && device_kind(plan, far) == Some(DeviceKind::Bus));
            if let (Some(place), Some(to), true) = (on(near), id.known(), leads_on && is_fed(far)) {
                leads.push(Lead { index, run, field, to, place, far });
            }
        }
    }
    let (mut steps, mut only) = (Vec::new(), false);
    let told = TOLD.contains(&finding.check.id);
    let about = ABOUT.contains(&finding.check.id);
    for one in leads.iter().filter(|l| !l.place.plus) {
        let others = || leads.iter().filter(|l| l.place.plus && l.place.start == one.place.start);
        let own = || others().filter(|l| l.far == one.far);
        // A bar behind a bar: what hangs between the two has its fuse on that of minus.
        let beyond = |l: &&Lead<'_>| {
            let is_bus = device_kind(plan, l.place.node) == Some(DeviceKind::Bus);
            let (y, z) = (Some(one.far), Some(l.far));
            let pair = circuit.links.iter().any(|k| [k.from, k.to].contains(&y) && k.negatives.contains(&z));
            let at = |far: Node| leads.iter().filter(move |k| k.place.node == far && k.place.by != k.index);
            let single = || at(one.far).filter(|k| k.is_fused()).any(|k| at(l.far).any(|other| other.far == k.far));
            is_bus && on(l.far).is_some() && (pair || single())
        };
        let is_bar = on(one.far).is_some();
        // A plus with its fuse is where it belongs.
        if (is_bar && !one.is_fused()) || own().any(|l| !is_bar && l.is_fused()) {
            continue;
        }
        for other in others().filter(|l| !l.is_fused() && if is_bar { beyond(l) } else { l.far == one.far }) {
            let names = [&one.run.id, &other.run.id].map(Id::as_str);
            if !told && !one.is_fused() {
                continue;
            }
            only |= about && finding.run().is_some_and(|id| names.contains(&id));
            let to = |plus: &Id| Step {
                name: format!("{} to {plus}, {} to {}: the two are crossed", names[0], names[1], one.to),
                edits: vec![one.set(plus), other.set(one.to)],
            };
            let at = if is_bar { 0 } else { steps.len() };
            steps.insert(at, to(other.to));
            // What life safety hangs on goes to the post, ahead of every switch.
            if let (Ok(post), None, true) = (BANK_ID.parse::<Id>(), one.place.start, one.is_fused()) {
                let mut step = to(&post);
                step.edits.extend(super::anew::lengths(plan, &Step { edits: vec![one.set(&post)], ..step.clone() }));
                step.name.push_str("; its wire to be measured anew");
                steps.push(step);
            }
        }
    }
    (steps, only)
}

/// The places of both poles, from the posts on.
fn places(plan: &Plan, circuit: &Circuit) -> Vec<Place> {
    let post = |node, plus| Place { node, plus, start: None, by: usize::MAX };
    let mut all = vec![post(Node::Bank, true), post(Node::BankMinus, false)];
    let passes = |node: Node| {
        use DeviceKind::{Breaker, Bus, Disconnect, Isolator, Shunt, Splice, Switch};
        matches!(device_kind(plan, node), Some(Breaker | Bus | Disconnect | Isolator | Shunt | Splice | Switch))
    };
    let join = |all: &mut Vec<Place>, new: Place| {
        if passes(new.node) && all.iter().all(|p| p.node != new.node) {
            all.push(new);
        }
    };
    let mut next = 0;
    for of_starts in [false, true] {
        for i in (0..plan.devices.len()).filter(|_| of_starts) {
            let node = Node::Device(i);
            // A start battery has one node for both posts: its plus is the lead with the fuse.
            let kind = device_kind(plan, node);
            for by in circuit.at(node).iter().copied().filter(|_| kind == Some(DeviceKind::StartBattery)) {
                let Some(run) = plan.runs.get(by).filter(|r| r.return_path == Return::None) else { continue };
                let plus = fuses(run).next().is_some();
                if let Some(node) = circuit.other(by, node) {
                    join(&mut all, Place { node, plus, start: Some(i), by });
                }
            }
            if circuit.is_minus_bar(plan, node) {
                join(&mut all, post(node, false));
            }
        }
        while let Some(at) = all.get(next).copied() {
            next += 1;
            for by in circuit.at(at.node).iter().copied() {
                let goes = |r: &&Run| at.plus || r.return_path == Return::None;
                let is_dead = circuit.links.get(by).is_none_or(|l| matches!(l.role, Role::Dead | Role::Sense));
                if let (Some(_), Some(node), false) =
                    (plan.runs.get(by).filter(goes), circuit.other(by, at.node), is_dead)
                {
                    join(&mut all, Place { node, by, ..at });
                }
            }
        }
    }
    all
}
