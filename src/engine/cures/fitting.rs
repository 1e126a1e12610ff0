//! What wire a step may name on a run: what its terminals take, as they say or as such terminals are usually made.

use crate::arrange::Arrange;
use crate::engine::capacity::{ratings, terminals};
use crate::engine::circuit::{Circuit, Node, Role};
use crate::engine::context::Context;
use crate::engine::protection::{goes_in_panel, panel_of};
use crate::engine::resistance::{fuses, legs};
use crate::engine::sizing::make::{Make, Takes, made_of, makes, takes};
use crate::engine::sizing::system_of;
use crate::plan::{Plan, Run, State};
use crate::standards::conductor::area_mm2;

/// Thickest copper in a PV connector, and on a way of a fuse panel for blades, mm2.
/// Source: IEC 62852, connectors for cable of 2.5 to 10 mm2 (14 to 8 AWG), from memory; a panel's screws and lugs for them, common
/// practice, from memory.
const SMALL_MM2: f64 = 10.0;
/// The same on a controller's and a combiner's terminals, on the panels' side.
/// Source: common practice, clamps for 35 mm2 (2 AWG) at most; from memory.
const CLAMP_MM2: f64 = 35.0;

/// Thickest copper of one pole that the ends of a run usually take, where no terminal there says what it takes; without bound
/// where nothing is usual, or what lies there, `was`, is thicker already.
fn usual_most_mm2(c: &Context<'_>, index: usize, was: f64) -> f64 {
    let (Some(run), Some(link)) = (c.plan.runs.get(index), c.circuit.links.get(index)) else { return f64::MAX };
    let plugs = |node: Node| match node {
        Node::Array(i) => c.plan.arrays.get(i).is_some_and(|a| a.strings.0.len() < 2),
        _ => false,
    };
    let says = |node: Node| ratings(c, node).is_some_and(|(r, _)| r.largest_wire.is_some());
    let blade = || fuses(run).next().and_then(|f| f.family.known()).is_none_or(|f| goes_in_panel(*f));
    let most = match () {
        () if link.role == Role::Array && terminals(c, index).any(plugs) => SMALL_MM2,
        () if terminals(c, index).any(says) => f64::MAX,
        () if panel_of(c, index).is_some() && blade() => SMALL_MM2,
        () if link.role == Role::Array => CLAMP_MM2,
        () => f64::MAX,
    };
    if was > most + 1e-9 { f64::MAX } else { most }
}

/// What a run can be made of that its terminals take, rising in copper.
pub(super) fn fitting(c: &Context<'_>, index: usize) -> Vec<Make> {
    let was = c.plan.runs.get(index).and_then(made_of).map_or(0.0, Make::area_mm2);
    let most = usual_most_mm2(c, index, was);
    let fits = |m: &Make| m.area_mm2() <= most + 1e-9 && takes(c, index, *m).may();
    let mut all: Vec<Make> = makes(c, index).into_iter().filter(fits).collect();
    all.arrange_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()));
    all
}

/// The same, and two equal ones in each pole wherever no terminal says that it does not take them; what it has to say first.
///
/// Source: NEC 310.10: conductors in parallel are 1/0 AWG and larger; the plan's rule holds the figure.
pub(super) fn or_two(c: &Context<'_>, index: usize) -> Vec<(Make, Option<String>)> {
    let mut all: Vec<(Make, Option<String>)> = fitting(c, index).into_iter().map(|make| (make, None)).collect();
    let Some(run) = c.plan.runs.get(index) else { return all };
    let was = made_of(run).filter(|m| m.per_pole < 2 && all.iter().all(|(m, _)| m.per_pole < 2));
    let mixed = legs(run).any(|l| l.state == State::New) && legs(run).any(|l| l.state != State::New);
    let Some(was) = was.filter(|_| !mixed) else { return all };
    let most = usual_most_mm2(c, index, was.area_mm2());
    for gauge in system_of(c.plan, run).ladder().filter(|g| area_mm2(*g) >= c.rules.parallel_least_mm2) {
        let two = Make { gauge, per_pole: 2 };
        match takes(c, index, two) {
            _ if two.area_mm2() > most + 1e-9 => {}
            Takes::No(_) => {}
            Takes::Ask(why) => all.push((two, Some(why))),
            Takes::Yes | Takes::Unsaid => all.push((two, None)),
        }
    }
    all.arrange_by(|(a, _), (b, _)| a.area_mm2().total_cmp(&b.area_mm2()));
    all
}

/// Whether another plan has wire in some run that is thicker than it was and than its terminals usually take.
pub(super) fn is_too_thick(plan: &Plan, with: &Plan) -> bool {
    let mm2 = |run: &Run| made_of(run).map_or(0.0, Make::area_mm2);
    let was = |now: &Run| plan.runs.iter().find(|r| r.id == now.id).map_or(f64::MAX, mm2);
    let thicker: Vec<usize> =
        (0..).zip(&with.runs).filter(|(_, now)| mm2(now) > was(now) + 1e-9).map(|(i, _)| i).collect();
    if thicker.is_empty() {
        return false;
    }
    // Terminals as they are then: panels may lie otherwise.
    let c = Context::of(with, Circuit::of(with).0, &[]);
    let over = |i: usize| {
        let run = with.runs.get(i)?;
        Some((was(run), mm2(run))).filter(|(was, now)| *now > usual_most_mm2(&c, i, *was) + 1e-9)
    };
    thicker.into_iter().any(|i| over(i).is_some())
}
