//! A fuse of its own at each of several batteries in parallel, in place of one that all share: each has to open what one
//! battery drives, or all the others, and not the whole bank.

use crate::engine::Engine;
use crate::engine::circuit::{Circuit, Node, Role};
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::plan::format::item_text;
use crate::plan::job::YesNo;
use crate::plan::{Edit, FieldPath, ListPath, Plan, Step, Value};
use crate::standards::fuse::smallest_at_least;
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;

use super::fuse_edits;

/// Most batteries that are given leads of their own. Source: our own choice, more than one bar takes.
const MOST: usize = 8;

/// The lead that all batteries share drawn once for each, of the same wire, each with the fuse that its part wants.
pub(super) fn steps(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (index, finding): (usize, &Finding),
    _before: &Report,
) -> Vec<Step> {
    leads(engine, plan, stock, index).filter(|_| finding.check.id == "interrupt-below-fault").into_iter().collect()
}

fn leads(engine: &mut Engine, plan: &Plan, stock: &Stock, index: usize) -> Option<Step> {
    let count = plan.bank.parallel.known()?.0 as usize;
    let (circuit, _) = Circuit::of(plan);
    let (run, link) = (plan.runs.get(index)?, circuit.links.get(index)?);
    // What all of the bank's own current goes through: nobody lays a lead from each battery to one small load.
    let main = matches!(link.role, Role::Shared | Role::InverterFeed);
    let alone = main && link.near() == Some(Node::Bank) && circuit.own_ways.is_empty();
    if !alone || !(2..=MOST).contains(&count) {
        return None;
    }
    let list = ListPath::new("runs");
    let (mut with, mut edits, mut ids) = (plan.clone(), Vec::new(), vec![run.id.clone()]);
    for _ in 1..count {
        let mut more = run.clone();
        more.id = with.free_id(&list);
        let edit = Edit::Insert { list: list.clone(), after: ids.last().cloned(), item: item_text(&more) };
        with = with.with(&Step::one("", edit.clone())).ok()?;
        edits.push(edit);
        ids.push(more.id);
    }
    let each = Edit::Set { at: FieldPath::new("bank.fused_each"), to: Value::Word(YesNo::Yes.word()) };
    with = with.with(&Step::one("", each.clone())).ok()?;
    edits.push(each);
    let report = engine.evaluate_wires(&with, stock);
    let mut amps = 0.0_f64;
    let place = |id: &crate::plan::Id| with.runs.iter().position(|r| r.id == *id);
    for i in ids.iter().filter_map(place) {
        amps = amps.max(report.runs.get(i)?.fuse_min_a.as_ref().ok()?.0);
    }
    let amps = smallest_at_least(FuseFamily::ClassT, amps)?;
    for i in ids.iter().filter_map(place) {
        let (own, figures) = (with.runs.get(i)?, report.runs.get(i)?);
        let mut proposed = figures.proposed.clone()?;
        (proposed.amps.0, proposed.family) = (amps, FuseFamily::ClassT);
        edits.extend(fuse_edits(own, &proposed));
    }
    let names: Vec<String> = ids.iter().map(ToString::to_string).collect();
    let name = format!(
        "a lead and a fuse of its own for each of {count} batteries: {}, {amps} A {} each",
        names.join(", "),
        FuseFamily::ClassT
    );
    Some(Step { name, edits })
}
