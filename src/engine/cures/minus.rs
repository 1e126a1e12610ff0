//! Steps for single conductors that are forgotten or stand in the wrong place: a minus that is drawn, led round a switch, or freed of a
//! fuse; a feed that begins on the bar of minus.

use crate::engine::circuit::{Circuit, Node, PathKind, Role, device_kind, is_thing, name_of, node_of};
use crate::engine::resistance::{fuses, legs};
use crate::plan::format::item_text;
use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Edit, FieldPath, Id, Known, ListPath, Plan, Run, State, Step, Value, YesNo};

/// The minus of life safety that a switch opens, on to the bank's side of that: its own conductor first, then what brings back nothing
/// but life safety.
pub(super) fn ahead(plan: &Plan, circuit: &Circuit, id: &str, switch: &str) -> Vec<Step> {
    let (Some(load), Some(opened)) = (node_of(plan, id), node_of(plan, switch)) else { return Vec::new() };
    if let Some(step) = off_frame(plan, circuit, load, switch) {
        return vec![step];
    }
    let vital =
        |n: &Node| matches!(n, Node::Load(i) if plan.loads.get(*i).is_some_and(|l| l.life_safety == YesNo::Yes));
    let start = circuit.hangs_on(load);
    let home = circuit.steps_home(start);
    let Some(at) = home.iter().position(|(_, n)| *n == opened) else { return Vec::new() };
    let mut steps = Vec::new();
    let mut here = start;
    for (run, place) in home.iter().take(at + 1) {
        let own = here == start || circuit.coming_over(plan, here).iter().all(vital);
        for (_, to) in home.iter().skip(at + 1).filter(|(_, n)| is_place(plan, *n)) {
            let run = run.and_then(|run| plan.runs.get(run)).filter(|_| own);
            steps.extend(run.and_then(|run| led(plan, circuit, run, *place, *to)));
        }
        here = *place;
    }
    steps
}

/// Whether lugs of several meet at a place of the negative side.
fn is_place(plan: &Plan, node: Node) -> bool {
    use DeviceKind::{Bus, Shunt, Splice};
    node == Node::BankMinus || matches!(device_kind(plan, node), Some(Bus | Shunt | Splice))
}

/// The end of a run's minus that lies at a place led on to another one.
fn led(plan: &Plan, circuit: &Circuit, run: &Run, place: Node, to: Node) -> Option<Step> {
    let index = plan.runs.iter().position(|r| r.id == run.id)?;
    let at_from = circuit.negative_of(index)?.0 == place;
    let single = run.return_path == Return::None;
    let field = match (single, at_from) {
        (true, true) => "from",
        (true, false) => "to",
        (false, true) => "negative_from",
        (false, false) => "negative_to",
    };
    let name = name_of(plan, to);
    let at = FieldPath::of(&["runs", run.id.as_str(), field]);
    let mut step =
        Step::one(format!("{}: negative to {name}", run.id), Edit::Set { at, to: Value::Id(name.parse().ok()?) });
    let anew = super::anew::lengths(plan, &step);
    if !anew.is_empty() {
        step.name.push_str("; its wire to be measured anew");
        step.edits.extend(anew);
    }
    Some(step)
}

/// Where its current comes back over the frame and its bond, a conductor of its own instead.
fn off_frame(plan: &Plan, circuit: &Circuit, load: Node, switch: &str) -> Option<Step> {
    let way = circuit.ways.iter().find(|w| w.end == load)?;
    let by_frame = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path == Return::Chassis);
    let i = way.positives(circuit).find(by_frame)?;
    let (run, link) = (plan.runs.get(i)?, circuit.links.get(i)?);
    let shunt = super::feed::shunt(plan).filter(|s| s.as_str() != switch);
    let to: Id = shunt.or_else(|| "BK-".parse().ok())?;
    let own = FieldPath::of(&["runs", run.id.as_str()]);
    let field = if link.near_from { "negative_from" } else { "negative_to" };
    let edits = vec![
        Edit::Set { at: own.join("return_path"), to: Value::Word(Return::Pair.word()) },
        Edit::Set { at: own.join(field), to: Value::Id(to.clone()) },
    ];
    Some(Step { name: format!("{}: a pair, its negative to {to}", run.id), edits })
}

/// Where a minus may be led to: the bar that most are on, the shunt; without either the bank's post, as nothing goes round a shunt.
fn homes(plan: &Plan, circuit: &Circuit, but: Node) -> Vec<Id> {
    let negative = |i: &&usize| circuit.links.get(**i).is_some_and(|l| l.role == Role::NegativeMain);
    let on = |n: Node| circuit.at(n).iter().filter(negative).count();
    let all = || {
        (0..plan.devices.len())
            .map(Node::Device)
            .filter(|n| *n != but && on(*n) > 0 && !circuit.places_home(*n).contains(&but))
    };
    let bar = all().filter(|n| circuit.is_minus_bar(plan, *n)).reduce(|a, b| if on(b) > on(a) { b } else { a });
    let shunt = all().find(|n| device_kind(plan, *n) == Some(DeviceKind::Shunt) && circuit.has_way_back(*n));
    let post = (bar.is_none() && shunt.is_none()).then_some(Node::BankMinus);
    let places = [bar, shunt, post].into_iter().flatten();
    places.filter_map(|n| name_of(plan, n).parse().ok()).collect()
}

/// One more single conductor between two places, of the wire of another run: new, and without its fuses.
pub(super) fn single(plan: &Plan, from: &Id, to: &Id, like: &Run, measured: bool) -> Step {
    let list = ListPath::new("runs");
    let (from_end, to_end) = (Known::Is(from.clone()), Known::Is(to.clone()));
    let mut run = Run { id: plan.free_id(&list), from: from_end, to: to_end, gauge: like.gauge, ..Run::default() };
    run.return_path = Return::None;
    run.legs = legs(like).cloned().collect();
    if !measured {
        run.legs.truncate(1);
    }
    for leg in &mut run.legs {
        (leg.state, leg.pv_connectors, leg.extra_mohm) = (State::New, None, None);
        if !measured {
            (leg.length_m, leg.gauge) = (Known::Unknown, None);
        }
    }
    let asks = if measured { "" } else { ", to be measured" };
    let name = format!("minus drawn: {} from {from} to {to}, as {}{asks}", run.id, like.id);
    let edit = Edit::Insert { list, after: plan.runs.last().map(|r| r.id.clone()), item: item_text(&run) };
    Step::one(name, edit)
}

/// A run of plus alone: where minus has bars of its own, what it leads to gets one beside it; else the run becomes a pair.
pub(super) fn beside(plan: &Plan, run: &Run, thing: &str) -> Vec<Step> {
    let (circuit, _) = Circuit::of(plan);
    let by_panel = neighbours(plan, &circuit, run).and_then(|n| name_of(plan, n).parse::<Id>().ok());
    let homes = homes(plan, &circuit, Node::Bank).into_iter().filter(|to| by_panel.as_ref() != Some(to));
    let homes: Vec<Id> = by_panel.clone().into_iter().chain(homes).collect();
    let drawn = thing
        .parse::<Id>()
        .ok()
        .into_iter()
        .flat_map(|thing| homes.iter().map(move |to| single(plan, &thing, to, run, true)));
    let at = FieldPath::of(&["runs", run.id.as_str(), "return_path"]);
    let pair = Step::one(format!("{}: a pair", run.id), Edit::Set { at, to: Value::Word(Return::Pair.word()) });
    drawn.chain([pair]).collect()
}

/// The bar or shunt where most of what hangs on the same fuse panel has its minus, if that leads to the bank.
fn neighbours(plan: &Plan, circuit: &Circuit, run: &Run) -> Option<Node> {
    let link = plan.runs.iter().position(|r| r.id == run.id).and_then(|i| circuit.links.get(i))?;
    let panel = link.near().filter(|n| device_kind(plan, *n) == Some(DeviceKind::FusePanel))?;
    let things = circuit.at(panel).iter().filter_map(|i| circuit.other(*i, panel)).filter(|n| is_thing(*n));
    let mut bars: Vec<(Node, usize)> = Vec::new();
    for bar in things.flat_map(|thing| circuit.negatives_at(thing).map(|(_, bar)| bar)) {
        match bars.iter_mut().find(|(n, _)| *n == bar) {
            Some((_, count)) => *count += 1,
            None if is_place(plan, bar) && circuit.has_way_back(bar) => bars.push((bar, 1)),
            None => {}
        }
    }
    bars.into_iter().reduce(|a, b| if b.1 > a.1 { b } else { a }).map(|(bar, _)| bar)
}

/// The run that feeds a fuse panel or leaves a converter over which the plus of all comes that has its minus on a bar.
fn feeds_all(circuit: &Circuit, bar: Node) -> Option<usize> {
    let on = |n: &Node| circuit.negatives_at(bar).any(|(_, far)| far == *n);
    let mut ways = circuit.ways.iter().filter(|w| on(&w.end)).map(|w| w.positives(circuit).collect::<Vec<usize>>());
    let first = ways.next()?;
    let ways: Vec<Vec<usize>> = ways.collect();
    let mut shared = first.into_iter().filter(|i| ways.iter().all(|way| way.contains(i)));
    shared.rfind(|i| circuit.links.get(*i).is_some_and(|l| l.role == Role::PanelFeed))
}

/// From a bar of minus that nothing leads on from one conductor to the shunt, or to the bank's post, of the wire that its plus has.
pub(super) fn joined(plan: &Plan, bar: &str) -> Vec<Step> {
    let (circuit, _) = Circuit::of(plan);
    let (Ok(from), Some(node)) = (bar.parse::<Id>(), node_of(plan, bar)) else { return Vec::new() };
    let mut plus = circuit.ways.iter().filter(|w| !matches!(w.kind, PathKind::Array | PathKind::ChargerInput));
    let at_bank = |i: &usize| circuit.at(Node::Bank).contains(i);
    let main = || plus.find_map(|w| w.positives(&circuit).find(at_bank));
    let Some(like) = feeds_all(&circuit, node).or_else(main).and_then(|i| plan.runs.get(i)) else {
        return Vec::new();
    };
    homes(plan, &circuit, node).iter().map(|to| single(plan, &from, to, like, false)).collect()
}

/// What is fed from the bar of the bank's minus, from that of its plus instead: each such feed with its fuse, or as a pair.
pub(super) fn fed(plan: &Plan, circuit: &Circuit, id: &str) -> Vec<Step> {
    let on = |n: Node| circuit.at(n).len();
    let is_plus = |n: &Node| {
        device_kind(plan, *n) == Some(DeviceKind::Bus)
            && circuit.plus.get(circuit.slot(*n)) == Some(&true)
            && !circuit.is_minus_bar(plan, *n)
    };
    let bars = (0..plan.devices.len()).map(Node::Device).filter(is_plus);
    // Without any bar of plus the mains themselves are crossed.
    let plus = bars.reduce(|a, b| if on(b) > on(a) { b } else { a });
    let Some(to) = plus.and_then(|n| name_of(plan, n).parse::<Id>().ok()) else { return Vec::new() };
    let island = node_of(plan, id).and_then(|node| circuit.islands.iter().find(|x| x.nodes.contains(&node)));
    let (mut edits, mut names) = (Vec::new(), Vec::new());
    for i in island.map_or(&[][..], |island| island.runs.as_slice()) {
        let (Some(run), Some(link)) = (plan.runs.get(*i), circuit.links.get(*i)) else { continue };
        let pair = run.return_path == Return::Pair;
        for (end, id, field) in [(link.from, &run.from, "from"), (link.to, &run.to, "to")] {
            let is_minus = end.is_some_and(|n| circuit.is_minus_bar(plan, n));
            let (true, Some(minus)) = (is_minus && (pair || fuses(run).next().is_some()), id.known()) else { continue };
            let own = FieldPath::of(&["runs", run.id.as_str()]);
            edits.push(Edit::Set { at: own.join(field), to: Value::Id(to.clone()) });
            if pair {
                edits.push(Edit::Set { at: own.join(format!("negative_{field}")), to: Value::Id(minus.clone()) });
            }
            names.push(run.id.as_str());
        }
    }
    if edits.is_empty() {
        return Vec::new();
    }
    vec![Step { name: format!("{} to {to}: plus comes from there", names.join(", ")), edits }]
}

/// The fuse taken out of what leads from a thing, which has its plus already, to the bar of minus: it is that thing's minus.
pub(super) fn unfused(plan: &Plan, run: &Run, thing: Node) -> Option<Step> {
    let converts = device_kind(plan, thing) == Some(DeviceKind::Converter);
    let is = is_thing(thing) || converts || device_kind(plan, thing) == Some(DeviceKind::FusePanel);
    let at = |fuse: &Id| FieldPath::of(&["runs", run.id.as_str(), "protection", fuse.as_str()]);
    let edits: Vec<Edit> = fuses(run).map(|f| Edit::Remove { at: at(&f.id) }).collect();
    let name = || format!("{}: its fuse taken out, as the minus of {}", run.id, name_of(plan, thing));
    (is && !edits.is_empty()).then(|| Step { name: name(), edits })
}
