//! How a run's limits come about, for the eye: ampacity leg by leg, drop part by part and along the whole path.

use crate::plan::{Figure, Id, Known, Leg, Plan, Run};
use crate::standards::ampacity::{AmpacityCase, AmpacityRefusal, AmpacityWorking, Derating, ampacity_with};
use crate::standards::kinds::{Basis, Zone};
use crate::standards::rules::ambient_rule_id;

use super::capacity::{all_terminals_own, case, derating, fewer_entered, other_basis, solve, terminal_c};
use super::circuit::{Circuit, Node, Way};
use super::context::Context;
use super::cures::way_of;
use super::currents::Terminals;
use super::finding::Finding;
use super::resistance::{Fitting, each_fitting, leg_wires, legs};
use super::rule::{Changed, Rules};
use super::runs::{self, Found, current_on, judged_on, part_on};

/// One leg's way to its ampacity.
#[derive(Clone, Debug, PartialEq)]
pub struct LegWork {
    pub leg: Id,
    pub zone: Option<Zone>,
    /// Whether the ambient was entered for this leg; else it is its zone's.
    pub ambient_entered: bool,
    /// Why its zone's is not the standard one; none where it is, or is not used.
    pub ambient_changed: Option<String>,
    /// Why the limit of its terminals is not the standard one; none where it is, or is a device's own.
    pub terminal_changed: Option<String>,
    pub case: AmpacityCase,
    /// How it is laid, in words.
    pub laid: &'static str,
    /// What was entered as in its bundle, where its own conductors are more.
    pub fewer_bundled: Option<u32>,
    /// Table figure, factors and cap, or why there is none.
    pub working: Result<AmpacityWorking, AmpacityRefusal>,
    /// What the leg carries, amps: changed rule values counted.
    pub amps: f64,
    pub governs: &'static str,
    /// The same by the other basis, where it differs by more than the rule's share.
    pub other: Option<(Basis, f64)>,
}

/// One part of a run's resistance.
#[derive(Clone, Debug, PartialEq)]
pub struct DropPart {
    pub what: PartOf,
    pub ohm: f64,
}

/// What a part of a run's resistance is.
#[derive(Clone, Debug, PartialEq)]
pub enum PartOf {
    /// The conductors of a leg: its name, metres of conductor both poles, their temperature in C, and whether that is held at the most
    /// that its insulation is made for.
    Leg {
        leg: Id,
        metres: f64,
        wire_c: f64,
        held: bool,
    },
    Fuse(Id),
    Extra(Id),
    Connectors(Id),
    /// So many lugs, and how many of them lie side by side at the end with most.
    Joints(f64, f64),
    Device(Id),
    /// The whole run as it was measured.
    Measured,
}

/// One run of a path at the current that flows on it then.
#[derive(Clone, Debug, PartialEq)]
pub struct Segment {
    pub run: Id,
    pub ohm: Figure<f64>,
    pub amps: Figure<f64>,
}

/// Everything about one run.
#[derive(Clone, Debug, PartialEq)]
pub struct Worked {
    pub run: Id,
    pub legs: Figure<Vec<LegWork>>,
    /// The run's own working current, amps.
    pub amps: Figure<f64>,
    pub parts: Figure<Vec<DropPart>>,
    /// The path its drop is judged on, source first.
    pub path: Vec<Segment>,
}

/// How a run's figures come about; none where there is no such run.
#[must_use]
pub fn worked(plan: &Plan, run: &Id) -> Option<Worked> {
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &[]);
    let index = plan.runs.iter().position(|r| r.id == *run)?;
    let of = plan.runs.get(index)?;
    let found = runs::find(&c, &Terminals::of(&c));
    let currents = &found.get(index)?.currents;
    let (amps, warming) = (currents.pair.drop_a.clone(), currents.warming_a());
    Some(Worked {
        run: run.clone(),
        legs: leg_works(&c, index, of).into_iter().map(|(_, work)| work).collect(),
        parts: warming.and_then(|amps| parts(&c, index, of, amps)),
        amps,
        path: path(&c, &found, index),
    })
}

/// The way to the ampacity of every leg that stays, of every run in the order of the plan.
#[must_use]
pub fn legs_worked(plan: &Plan) -> Vec<Vec<(Id, Figure<LegWork>)>> {
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &[]);
    plan.runs.iter().enumerate().map(|(index, run)| leg_works(&c, index, run)).collect()
}

fn leg_works(c: &Context<'_>, index: usize, run: &Run) -> Vec<(Id, Figure<LegWork>)> {
    let terminal = terminal_c(c, index);
    legs(run).map(|leg| (leg.id.clone(), terminal.clone().and_then(|t| leg_work(c, index, run, leg, t)))).collect()
}

fn leg_work(c: &Context<'_>, index: usize, run: &Run, leg: &Leg, terminal: f64) -> Figure<LegWork> {
    let changed = Rules::changed(c.plan);
    let ambient_changed = || {
        let zone = leg.zone.known().filter(|_| leg.ambient_c.is_none())?;
        let found = changed.iter().rev().find(|x| x.rule.id == ambient_rule_id(*zone))?;
        Some(found.said().to_string())
    };
    let is_rules = |x: &&Changed<'_>| x.rule.id == "terminal-c" && x.value == terminal;
    let is_rule_taken = !all_terminals_own(c, index);
    let terminal_changed = changed.iter().rev().find(is_rules).filter(|_| is_rule_taken).map(|x| x.said().to_string());
    let basis = other_basis(c.rules.basis);
    let case_here = case(c, run, leg, terminal, c.rules.basis)?;
    let here = solve(c, &case_here);
    let other = solve(c, &case(c, run, leg, terminal, basis)?).amps;
    let apart = (other - here.amps).abs() > c.rules.other_basis_pct / 100.0 * here.amps;
    let derating = Derating { copper_clad: c.rules.copper_clad_ampacity, ..derating(c) };
    Ok(LegWork {
        leg: leg.id.clone(),
        zone: leg.zone.known().copied(),
        ambient_entered: matches!(leg.ambient_c, Some(Known::Is(_))),
        ambient_changed: ambient_changed(),
        terminal_changed,
        working: ampacity_with(&case_here, &derating),
        fewer_bundled: fewer_entered(&case_here, leg),
        case: case_here,
        laid: leg.laid_words(),
        amps: here.amps,
        governs: here.governs,
        other: apart.then_some((basis, other)),
    })
}

/// What is said beside the limit of terminals where the basis has no cap by it.
#[must_use]
pub fn unused(basis: Basis) -> &'static str {
    match basis {
        Basis::UsRv => "",
        Basis::Marine => " (no cap by marine rules)",
        Basis::Metric => " (no cap by metric rules)",
    }
}

/// The parts of a run's resistance at a current, in the order of the legs, then what sits on the way.
fn parts(c: &Context<'_>, index: usize, run: &Run, amps: f64) -> Figure<Vec<DropPart>> {
    if let Some(measured) = &run.measured_ohm {
        let ohm = measured.at(|| super::context::at("runs", &run.id, "measured_ohm"))?.0;
        return Ok(vec![DropPart { what: PartOf::Measured, ohm }]);
    }
    let clad = c.rules.copper_clad_resistance;
    let counted = c.circuit.counted(index, run);
    let mut all = Vec::new();
    for wire in leg_wires(c, &counted)? {
        let wire_c = wire.conductor_c(amps);
        let held = wire.is_held(amps);
        let what = PartOf::Leg { leg: wire.leg.id.clone(), metres: wire.metres, wire_c, held };
        all.push(DropPart { what, ohm: wire.ohm(clad, wire_c) });
    }
    let device = |node: Node| match node {
        Node::Device(i) => c.plan.devices.get(i).map(|d| d.id.clone()),
        _ => None,
    };
    each_fitting(c, index, &counted, |fitting, ohm| {
        let what = match fitting {
            Fitting::Fuse(p) => PartOf::Fuse(p.id.clone()),
            Fitting::Extra(leg) => PartOf::Extra(leg.id.clone()),
            Fitting::Connectors(leg) => PartOf::Connectors(leg.id.clone()),
            Fitting::Joints(n, beside) => PartOf::Joints(n, beside),
            Fitting::Device(node) => match device(node) {
                Some(id) => PartOf::Device(id),
                None => return,
            },
        };
        if ohm > 0.0 {
            all.push(DropPart { what, ohm });
        }
    })?;
    Ok(all)
}

fn path(c: &Context<'_>, found: &[Found], index: usize) -> Vec<Segment> {
    let drops = runs::path_drops(c, found);
    let way = judged_on(c, &drops).get(index).copied().flatten().and_then(|w| c.circuit.judged_way(w));
    way.map_or_else(Vec::new, |way| segments(c, found, way))
}

/// The path that a finding of drop is about.
pub(super) fn path_of(c: &Context<'_>, t: &Terminals, finding: &Finding) -> Vec<Segment> {
    let way = way_of(c, finding);
    way.map_or_else(Vec::new, |way| segments(c, &runs::find(c, t), way))
}

fn segments(c: &Context<'_>, found: &[Found], way: &Way) -> Vec<Segment> {
    let segment = |i: &usize| {
        let (run, found_here) = (c.plan.runs.get(*i)?, found.get(*i)?);
        // Over one conductor of a pair: its ohms at the current that flows there.
        let part = part_on(way, found, *i);
        Some(Segment {
            run: run.id.clone(),
            ohm: found_here.at_drop.as_ref().map(|l| l.ohm * part).map_err(Clone::clone),
            amps: current_on(way, found, *i).map(|a| if part > 0.0 { a / part } else { a }),
        })
    };
    runs::worst_of(c, found, way).iter().filter_map(segment).collect()
}
