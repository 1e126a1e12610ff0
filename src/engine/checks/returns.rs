//! Where the current comes back: negatives that lead nowhere, and what of them goes round the shunt.

use crate::engine::Work;
use crate::engine::circuit::{Link, Node, PathKind, Role, Way, device_kind, node_of};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::runs::path_of;
use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Id, Known, Plan, Run, YesNo};
use crate::standards::source::COMMON_PRACTICE;

static NOT_DRAWN: Check = Check {
    id: "return-not-drawn",
    safety: false,
    say: |f| {
        format!(
            "{} has no return, and no negative is drawn that its current comes back by: its drop is counted one way only",
            f.name(0)
        )
    },
};
static NOWHERE: Check = Check {
    id: "negative-leads-nowhere",
    safety: false,
    say: |f| {
        format!(
            "{}: no negative leads from {} to the bank's post, nothing that hangs on it has a way back",
            f.name(0),
            f.name(1)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let mut said: Vec<usize> = Vec::new();
    let negatives = Negatives::of(w.context.plan, &w.context.circuit.links);
    let joined = negatives.reach(Node::BankMinus, None, &[]);
    for way in &w.context.circuit.ways {
        for i in one_way(w, way) {
            add(w, out, &mut said, i, &NOT_DRAWN, "");
        }
        if let Some((i, node)) = negatives.broken(w, way, &joined) {
            let name = crate::engine::circuit::path_at(w.context.plan, node);
            let name = name.map_or_else(String::new, |p| p.split_last().1.to_string());
            add(w, out, &mut said, i, &NOWHERE, &name);
        }
    }
}

fn add(w: &Work<'_>, out: &mut Gathered, said: &mut Vec<usize>, i: usize, check: &'static Check, name: &str) {
    let Some(run) = w.context.plan.runs.get(i).filter(|_| !said.contains(&i)) else { return };
    said.push(i);
    let found = Finding::new(check, Level::Caution, path_of(run), &[], &COMMON_PRACTICE);
    out.take(check, || path_of(run), Ok(Some(found.named([run.id.as_str(), name]))));
}

/// Runs of a way with no return, where no negative of their own is on it: beside none that joins the same two ends.
fn one_way(w: &Work<'_>, way: &Way) -> Vec<usize> {
    let (plan, links) = (w.context.plan, &w.context.circuit.links);
    let role = |i: &usize| links.get(*i).map(|l| l.role);
    if way.runs.iter().any(|i| role(i) == Some(Role::NegativeMain)) {
        return Vec::new();
    }
    let alone = |i: &usize| {
        let (Some(run), Some(link)) = (plan.runs.get(*i), links.get(*i)) else { return false };
        let ends = [(link.from, link.to), (link.to, link.from)];
        let beside = |(j, l): (usize, &Link)| j != *i && l.role != Role::Dead && ends.contains(&(l.from, l.to));
        run.return_path == Return::None && run.measured_ohm.is_none() && !links.iter().enumerate().any(beside)
    };
    way.runs.iter().copied().filter(alone).collect()
}

/// What negatives join: pairs by their second conductor, runs of their own, bars with what is said to be their negative.
pub(super) struct Negatives {
    /// Two ends, and the run between them; none where they are one bar.
    edges: Vec<(Node, Node, Option<usize>)>,
    /// Both ends of each run's negative.
    ends: Vec<Option<(Node, Node)>>,
}

/// An end of a run's negative: where it is said to be, else where the positive ends; the bank's is its negative post.
fn end(plan: &Plan, named: Option<&Known<Id>>, drawn: &Known<Id>) -> Option<Node> {
    let node = node_of(plan, named.unwrap_or(drawn).known()?.as_str())?;
    Some(if node == Node::Bank { Node::BankMinus } else { node })
}

/// Both ends of a run's negative.
pub(super) fn ends(plan: &Plan, run: &Run) -> Option<(Node, Node)> {
    Some((end(plan, run.negative_from.as_ref(), &run.from)?, end(plan, run.negative_to.as_ref(), &run.to)?))
}

impl Negatives {
    pub(super) fn of(plan: &Plan, links: &[Link]) -> Self {
        let (mut edges, mut both) = (Vec::new(), Vec::with_capacity(links.len()));
        let bar = |n: Node| matches!(device_kind(plan, n), Some(DeviceKind::Bus | DeviceKind::FusePanel));
        for (i, (run, link)) in plan.runs.iter().zip(links).enumerate() {
            let pair = run.return_path == Return::Pair
                && !matches!(link.role, Role::Dead | Role::Bond | Role::Array | Role::ChargerInput | Role::StartLead);
            if let (Role::NegativeMain, Some(from), Some(to)) = (link.role, link.from, link.to) {
                edges.push((from, to, Some(i)));
            }
            both.push(ends(plan, run));
            let Some((from, to)) = both.last().copied().flatten().filter(|_| pair) else { continue };
            edges.push((from, to, Some(i)));
            // A bar whose negative is said to be elsewhere has it there.
            for (named, drawn, node) in [(&run.negative_from, link.from, from), (&run.negative_to, link.to, to)] {
                if let Some(drawn) = drawn.filter(|n| named.is_some() && node != Node::BankMinus && bar(*n)) {
                    edges.push((drawn, node, None));
                }
            }
        }
        let mut all = Self { edges, ends: both };
        // A shunt that nothing joins to the post hangs on it.
        for i in 0..plan.devices.len() {
            let node = Node::Device(i);
            let shunt = device_kind(plan, node) == Some(DeviceKind::Shunt);
            if shunt && !all.reach(Node::BankMinus, None, &[]).contains(&node) {
                all.edges.push((Node::BankMinus, node, None));
            }
        }
        all
    }

    /// What negatives join to a node, one run left out, without crossing what is barred or a terminal.
    pub(super) fn reach(&self, start: Node, but: Option<usize>, barred: &[Node]) -> Vec<Node> {
        let (mut found, mut next) = (vec![start], 0);
        while let Some(&node) = found.get(next) {
            next += 1;
            if node != start && (barred.contains(&node) || ends_there(node)) {
                continue;
            }
            for (a, b, run) in &self.edges {
                let other = match (*a == node, *b == node) {
                    (true, _) => *b,
                    (_, true) => *a,
                    _ => continue,
                };
                if (run.is_none() || *run != but) && !found.contains(&other) {
                    found.push(other);
                }
            }
        }
        found
    }

    /// The first run of a way, from the bank, whose negative has no way to the bank's post; `joined`: what has.
    fn broken(&self, w: &Work<'_>, way: &Way, joined: &[Node]) -> Option<(usize, Node)> {
        if matches!(way.kind, PathKind::Array | PathKind::ChargerInput) {
            return None;
        }
        let (plan, links) = (w.context.plan, &w.context.circuit.links);
        let outward = !matches!(way.kind, PathKind::ControllerBank | PathKind::Charger);
        let mut runs: Vec<usize> = way.runs.clone();
        if !outward {
            runs.reverse();
        }
        // Without a return, or by the chassis, it comes back another way.
        let pairs = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path == Return::Pair);
        if !runs.iter().all(pairs) {
            return None;
        }
        runs.into_iter().find_map(|i| {
            let (from, to) = (*self.ends.get(i)?)?;
            let near = if links.get(i)?.near_from { from } else { to };
            (!joined.contains(&near)).then_some((i, near))
        })
    }

    /// Whether a pair that ends on the bank's own posts brings something there that does not pass a shunt: in a drawing
    /// that says of others at the bank that their negative is the shunt's.
    pub(super) fn passes_by(&self, w: &Work<'_>, i: usize, run: &Run, shunt: Node) -> bool {
        let plan = w.context.plan;
        let both = self.ends.get(i).copied().flatten();
        let Some((from, to)) = both.filter(|_| run.return_path == Return::Pair) else { return false };
        let far = match (from, to) {
            (Node::BankMinus, far) | (far, Node::BankMinus) if far != Node::BankMinus && far != shunt => far,
            _ => return false,
        };
        let design_a = w.report.runs.get(i).and_then(|r| r.design_a.as_ref().ok());
        if design_a.is_some_and(|a| a.0 < MONITOR_A) || !said_at_bank(w, shunt) {
            return false;
        }
        // What only keeps a detector alive is not worth counting.
        let counts = |n: &Node| match n {
            Node::Load(i) => plan.loads.get(*i).is_some_and(|l| l.life_safety == YesNo::No),
            n => ends_there(*n),
        };
        self.reach(far, Some(i), &[Node::BankMinus, shunt]).iter().any(counts)
    }
}

/// What monitors and their sense leads draw at most. Source: our own choice, above the milliamps of their sheets.
const MONITOR_A: f64 = 1.0;

/// Whether a run that ends on the bank says that its negative is a shunt's.
fn said_at_bank(w: &Work<'_>, shunt: Node) -> bool {
    w.context.plan.runs.iter().zip(&w.context.circuit.links).any(|(run, link)| {
        let named = [&run.negative_from, &run.negative_to].into_iter().flatten();
        let mut named = named.filter_map(|k| node_of(w.context.plan, k.known()?.as_str()));
        (link.from == Some(Node::Bank) || link.to == Some(Node::Bank)) && named.any(|n| n == shunt)
    })
}

/// What gives or takes current.
fn ends_there(node: Node) -> bool {
    matches!(node, Node::Load(_) | Node::Inverter(_) | Node::Controller(_) | Node::Charger(_))
}
