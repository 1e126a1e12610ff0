//! The negative side: what reaches the bank round the shunt, and the bond to the chassis.

use crate::engine::Work;
use crate::engine::circuit::{Node, Role, device_kind, node_of};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::resistance::{gauge_of, leg_path, legs};
use crate::engine::runs::path_of;
use crate::engine::sizing::thinnest_with;
use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, FieldPath, Figure, Id, Known, Run};
use crate::standards::cited::BOND;
use crate::standards::conductor::{Gauge, area_mm2};
use crate::standards::source::COMMON_PRACTICE;

use super::returns::Negatives;
use super::rule_value;

static BYPASS: Check = Check {
    id: "shunt-bypass",
    safety: false,
    say: |f| {
        format!(
            "{}: its negative joins the bank's post past the shunt {}, which does not count what flows there",
            f.name(0),
            f.name(1)
        )
    },
};
static BOND_MISSING: Check = Check {
    id: "bond-missing",
    safety: false,
    say: |f| {
        let area = if f.name(0).ends_with("mm2") { String::new() } else { format!(" ({:.1} mm2)", f.n(0)) };
        format!("no chassis bond is drawn; it wants {} at least{area}", f.name(0))
    },
};
static BOND_SMALL: Check = Check {
    id: "bond-small",
    safety: false,
    say: |f| {
        format!(
            "{}: a bond of {:.1} mm2, at least {:.1} mm2 is wanted ({}), as thick as the largest battery lead",
            f.name(0),
            f.n(0),
            f.n(1),
            f.name(1)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    bypass(w, out);
    bonds(w, out);
}

/// The negative drawn as runs of their own, cut at the shunt.
struct Negative<'a> {
    w: &'a Work<'a>,
    shunt: Node,
    /// What stands on the bank's side of the shunt.
    bank_side: Vec<Node>,
}

impl<'a> Negative<'a> {
    fn of(w: &'a Work<'a>, shunt: Node) -> Self {
        let mut negative = Self { w, shunt, bank_side: Vec::new() };
        negative.bank_side = negative.reach(Node::BankMinus, usize::MAX, &[]).0;
        negative
    }

    /// What negatives join to a node without crossing the shunt or a barred node, and whether they lead to the shunt.
    fn reach(&self, start: Node, skip: usize, barred: &[Node]) -> (Vec<Node>, bool) {
        let (mut found, mut next, mut shunt) = (vec![start], 0, false);
        while let Some(&node) = found.get(next) {
            next += 1;
            for (i, (run, link)) in self.w.context.plan.runs.iter().zip(&self.w.context.circuit.links).enumerate() {
                let negative = run.return_path == Return::None
                    && matches!(link.role, Role::NegativeMain | Role::Open | Role::Sense);
                let other = match (link.from, link.to) {
                    (Some(a), Some(b)) if a == node => b,
                    (Some(a), Some(b)) if b == node => a,
                    _ => continue,
                };
                if i == skip || !negative || found.contains(&other) || barred.contains(&other) {
                    continue;
                }
                if other == self.shunt {
                    shunt = true;
                } else {
                    found.push(other);
                }
            }
        }
        (found, shunt)
    }

    /// An end that is the bank's own negative, or stands on its side of the shunt.
    fn past<'k>(&self, id: &'k Option<Known<Id>>) -> Option<&'k str> {
        let id = id.as_ref()?.known()?;
        let node = node_of(self.w.context.plan, id.as_str())?;
        (node == Node::Bank || self.bank_side.contains(&node)).then(|| id.as_str())
    }

    /// Whether a run of the main negative leads anywhere but to the shunt.
    fn stray(&self, i: usize, ends: [Option<Node>; 2]) -> bool {
        let strays = |n: &Node| !self.reach(*n, i, &[Node::BankMinus]).1;
        let far: Vec<Node> = ends.into_iter().flatten().filter(|n| *n != Node::BankMinus).collect();
        let mut near = far.iter().filter(|n| self.bank_side.contains(n)).peekable();
        match (far.len(), near.peek()) {
            (2, Some(_)) => near.any(strays),
            // On the far side it may be drawn either way.
            _ => !far.is_empty() && far.iter().all(strays),
        }
    }
}

/// What reaches the bank's negative without passing the shunt: runs of their own, bonds, negatives that end there.
fn bypass(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let shunt = plan.devices.iter().position(|d| d.state.stays() && d.kind.known() == Some(&DeviceKind::Shunt));
    let Some((index, shunt)) = shunt.and_then(|i| Some((i, plan.devices.get(i)?))) else { return };
    let negative = Negative::of(w, Node::Device(index));
    let negatives = Negatives::of(plan, &w.context.circuit.links);
    for (i, (run, link)) in plan.runs.iter().zip(&w.context.circuit.links).enumerate() {
        let ends = [link.from, link.to];
        if ends.contains(&Some(Node::Device(index))) {
            continue;
        }
        let (from, to) = (Some(run.from.clone()), Some(run.to.clone()));
        // Where it joins the bank's side: what its cure has to move.
        let joins = match link.role {
            Role::Dead | Role::Sense => None,
            Role::NegativeMain => negative.stray(i, ends).then_some("BK-"),
            Role::Bond => negative.past(&from).or(negative.past(&to)),
            Role::Array | Role::ChargerInput | Role::StartLead => None,
            _ => negative.past(&run.negative_from).or(negative.past(&run.negative_to)).or_else(|| {
                // A pair brings its negative where its positive ends.
                negatives.passes_by(w, i, run, Node::Device(index)).then_some("BK")
            }),
        };
        if let Some(joins) = joins {
            let names = [run.id.as_str(), shunt.id.as_str(), joins];
            let found = Finding::new(&BYPASS, Level::Caution, path_of(run), &[], &COMMON_PRACTICE).named(names);
            out.take(&BYPASS, || path_of(run), Ok(Some(found)));
        }
    }
}

/// Copper of a run's thinnest leg, mm2, conductors in parallel counted.
fn copper_mm2(run: &Run) -> Figure<Option<f64>> {
    let mut least: Option<f64> = None;
    for leg in legs(run) {
        let each = leg.per_pole.at(|| leg_path(run, leg, "per_pole"))?.0.max(1.0);
        let area = area_mm2(gauge_of(run, leg)?) * each;
        least = Some(least.map_or(area, |l| l.min(area)));
    }
    Ok(least)
}

/// Copper of the largest lead that leaves the bank's positive post.
fn largest_lead_mm2(w: &Work<'_>) -> Figure<Option<f64>> {
    let mut most: Option<f64> = None;
    for (run, link) in w.context.plan.runs.iter().zip(&w.context.circuit.links) {
        let lead = !matches!(link.role, Role::Dead | Role::Bond | Role::NegativeMain | Role::Sense)
            && (link.from == Some(Node::Bank) || link.to == Some(Node::Bank));
        if lead && let Some(area) = copper_mm2(run)? {
            most = Some(most.map_or(area, |m| m.max(area)));
        }
    }
    Ok(most)
}

/// Source: NEC 552.10(C)(4): 8 AWG at least, and as thick as the ungrounded battery lead where that is larger.
fn bonds(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let links = &w.context.circuit.links;
    let drawn = links.iter().any(|l| l.from == Some(Node::Bank) || l.to == Some(Node::Bank));
    if !drawn || !plan.bank.state.stays() {
        return;
    }
    let least = rule_value(w, "bond-least-mm2");
    let main_mm2 = match largest_lead_mm2(w) {
        Ok(lead) => lead.map_or(least, |l| l.max(least)),
        Err(missing) => return out.wait(missing.0),
    };
    let mut bonded = false;
    for (run, link) in plan.runs.iter().zip(links).filter(|(_, l)| l.role == Role::Bond) {
        // The bond of a case follows its maker's sheet, and the least; that of the negative follows the lead.
        let case = |n: &Option<Node>| matches!(n, Some(Node::Inverter(_) | Node::Charger(_) | Node::Controller(_)));
        let of_case = [link.from, link.to].iter().any(case);
        bonded |= !of_case;
        let want = if of_case { least } else { main_mm2 };
        out.take(&BOND_SMALL, || path_of(run), small(w, run, want));
    }
    if !bonded {
        let returns =
            plan.runs.iter().zip(links).any(|(r, l)| r.return_path == Return::Chassis && l.role != Role::Dead);
        let point = plan
            .devices
            .iter()
            .enumerate()
            .find(|(i, d)| d.state.stays() && device_kind(plan, Node::Device(*i)) == Some(DeviceKind::Chassis));
        let level = if returns || point.is_some() { Level::Caution } else { Level::Note };
        let subject = || match point {
            Some((_, d)) => FieldPath::new(format!("devices.{}", d.id)),
            None => FieldPath::new("bank"),
        };
        let system = gauge_system(w);
        let size = thinnest_with(system, main_mm2).map_or_else(|| "the lead's size".to_string(), |g| g.to_string());
        let found =
            Finding::new(&BOND_MISSING, level, subject(), &[main_mm2], BOND.of(w.context.rules.basis)).named([size]);
        out.take(&BOND_MISSING, subject, Ok(Some(found)));
    }
}

fn gauge_system(w: &Work<'_>) -> Gauge {
    match w.context.plan.job.gauge_system {
        crate::plan::job::GaugeSystem::Awg => Gauge::Awg(0),
        crate::plan::job::GaugeSystem::Mm2 => Gauge::Mm2(0),
    }
}

fn small(w: &Work<'_>, run: &Run, want: f64) -> Outcome {
    let Some(area) = copper_mm2(run)? else { return Ok(None) };
    Ok((area < want - 1e-9).then(|| {
        let system = run.gauge.known().copied().unwrap_or(Gauge::Awg(0));
        let size = thinnest_with(system, want).map_or_else(|| "several in parallel".to_string(), |g| g.to_string());
        Finding::new(&BOND_SMALL, Level::Caution, path_of(run), &[area, want], BOND.of(w.context.rules.basis))
            .smaller_is_worse()
            .named([run.id.to_string(), size])
    }))
}
