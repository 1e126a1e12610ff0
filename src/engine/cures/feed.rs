//! Steps that draw or move a run: what is not joined, what a switch must not kill, what no switch takes off the bank.

use crate::arrange::Arrange;
use crate::engine::circuit::{Circuit, Link, Node, PathKind, Role, device_kind, is_start, node_of, path_at};
use crate::engine::context::Context;
use crate::engine::converted::{CONVERTED_V, given_at};
use crate::engine::currents::converter_ahead;
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::{Engine, Level};
use crate::plan::format::item_text;
use crate::plan::power::ChargerKind;
use crate::plan::wiring::{FuseAt, Protection, Supply};
use crate::plan::{
    BANK_ID, Charger, Device, DeviceKind, Edit, FieldPath, Id, Known, Leg, ListPath, Plan, Run, State, Step, Value,
};
use crate::stock::Stock;
use crate::units::Metres;

use super::{NEAR_M, converter, fuse_edits, minus, switched};

/// The steps for a finding; none where this file knows none.
pub(super) fn steps(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (list, id): (&str, &str),
    finding: &Finding,
    before: &Report,
) -> Option<Vec<Step>> {
    let (circuit, _) = Circuit::of(plan);
    Some(match finding.check.id {
        "no-bank-disconnect" => disconnects(engine, plan, stock, finding, before),
        "no-array-disconnect" => {
            let array = plan.arrays.iter().position(|a| a.id.as_str() == id)?;
            let last = *circuit.way_of(PathKind::Array, Node::Array(array))?.runs.last()?;
            let breaker = super::book::breaker(plan, id, before);
            breaker.into_iter().chain(switched::pv_disconnect(plan, &circuit, array, last, before)).collect()
        }
        "bank-without-run" => {
            let most = circuit.islands.iter().max_by_key(|x| x.runs.len())?;
            let heart = path_at(plan, most.heart(plan, &circuit)?)?;
            vec![drawn(plan, &BANK_ID.parse().ok()?, &heart.split_last().1.parse().ok()?, Some(FuseAt::From))]
        }
        "array-feeds-two-controllers" => apart_trackers(plan, &circuit, id),
        "alternator-on-lithium" | "batteries-unlike-volts" => dc_dc_between(plan, &circuit, id).into_iter().collect(),
        "life-safety-behind-switch" | "life-safety-behind-cut-off" => {
            let mut all = to_dc(plan, &circuit, id);
            let start = to_start(plan, &circuit, id).map(|s| refused(engine, plan, stock, s));
            let by_bank = plan.loads.iter().position(|l| l.id.as_str() == id);
            let by_bank = by_bank.is_some_and(|i| circuit.ways.iter().any(|w| w.end == Node::Load(i)));
            let c = Context::of(plan, circuit, &stock.truck.fuses);
            let posts = to_posts(&c, id).into_iter().map(|s| refused(engine, plan, stock, s));
            // What the bank feeds stays on the bank; the engine's battery has the engine to start.
            let (first, last) = if by_bank { (None, start) } else { (start, None) };
            all.extend(first.into_iter().chain(posts).chain(last));
            all
        }
        "device-volts-unfit" => {
            let c = Context::of(plan, circuit, &stock.truck.fuses);
            let moved = to_its_volts(&c, id).into_iter().map(|s| refused(engine, plan, stock, s));
            moved.chain(converter::steps(&c, id, finding, before)).collect()
        }
        "life-safety-negative-switched" => minus::ahead(plan, &circuit, id, finding.name(1)),
        "life-safety-through-plug" => {
            let c = Context::of(plan, Circuit::of(plan).0, &stock.truck.fuses);
            let posts = to_posts(&c, id).into_iter().map(|s| refused(engine, plan, stock, s));
            own_battery(plan, &circuit, id).into_iter().chain(posts).collect()
        }
        "breakaway-on-cut-off" => own_battery(plan, &circuit, id).into_iter().collect(),
        // A plus drawn to what negatives join to the bank would short it: two leads are crossed there, or one begins on the wrong bar.
        "bank-not-joined" if on_minus(plan, &circuit, id) => minus::fed(plan, &circuit, id),
        "bank-not-joined" => {
            let loose = loose_end(plan, &circuit, id).into_iter().flat_map(|end| joined(plan, &circuit, list, &end));
            loose.chain(joined(plan, &circuit, list, id)).collect()
        }
        // One that charges another battery wants no run to the bank.
        "controller-without-run" if finding.level == Level::Note => Vec::new(),
        "controller-without-run"
        | "inverter-unconnected"
        | "inverter-without-run"
        | "panel-without-run"
        | "charger-without-run"
        | "load-without-supply"
        | "load-without-run" => joined(plan, &circuit, list, id),
        // From the bank's own post first, ahead of every switch.
        "life-safety-without-run" => joined(plan, &circuit, list, id).into_iter().rev().collect(),
        "array-without-run" => {
            let controller = plan.arrays.iter().find(|a| a.id.as_str() == id)?.controller.known()?.clone();
            let led = super::book::led(plan, &circuit, id);
            led.into_iter().chain([drawn(plan, &id.parse().ok()?, &controller, None)]).collect()
        }
        "charger-without-input" => {
            let starts = |d: &&Device| d.state.stays() && d.kind.known() == Some(&DeviceKind::StartBattery);
            let battery = plan.devices.iter().find(starts)?;
            vec![drawn(plan, &battery.id, &id.parse().ok()?, Some(FuseAt::From))]
        }
        _ => return None,
    })
}

/// A new run of unknown gauge and length, with a fuse of unknown rating at the end that wants one: what is to be measured
/// and sized is left open.
pub(super) fn drawn(plan: &Plan, from: &Id, to: &Id, fused: Option<FuseAt>) -> Step {
    let runs = ListPath::new("runs");
    let mut run = Run { id: plan.free_id(&runs), ..Run::default() };
    (run.from, run.to) = (Known::Is(from.clone()), Known::Is(to.clone()));
    run.legs.push(Leg { id: Id::numbered("L", 1), ..Leg::default() });
    if let Some(at) = fused {
        let fuse = Protection { at, distance_m: Known::Is(Metres(NEAR_M)), ..Protection::default() };
        run.protection.push(Protection { id: Id::numbered("F", 1), ..fuse });
    }
    let item = item_text(&run);
    let edit = Edit::Insert { list: runs, after: plan.runs.last().map(|r| r.id.clone()), item };
    let name = format!("draw a run: {} from {from} to {to}, to be measured and sized", run.id);
    Step::one(name, edit)
}

/// Devices of a kind that stay, with their places in the plan: of fuse panels those with the fewest runs on them first, as the
/// likeliest to have a way free.
fn of_kind<'a>(plan: &'a Plan, circuit: &Circuit, kind: DeviceKind) -> Vec<(usize, &'a Device)> {
    let stays = |(_, d): &(usize, &Device)| d.state.stays() && d.kind.known() == Some(&kind);
    let mut all: Vec<(usize, &Device)> = plan.devices.iter().enumerate().filter(stays).collect();
    let on = |i: usize| {
        let ends = |l: &&Link| [l.from, l.to].contains(&Some(Node::Device(i)));
        circuit.links.iter().filter(ends).count()
    };
    if kind == DeviceKind::FusePanel {
        all.arrange_by_key(|(i, _)| on(*i));
    }
    all
}

/// A run that joins a thing to the bank: from where a part that the bank feeds ends short of it, from a bus, or from the
/// bank's own posts, in that order.
fn joined(plan: &Plan, circuit: &Circuit, list: &str, id: &str) -> Vec<Step> {
    let (Ok(to), Some(node)) = (id.parse::<Id>(), node_of(plan, id)) else { return Vec::new() };
    let c = Context::of(plan, Circuit::of(plan).0, &[]);
    let made = plan.loads.iter().find(|l| list == "loads" && l.id == to).and_then(|l| l.made_for.as_ref()?.known());
    let base_v = c.base_v().unwrap_or(CONVERTED_V);
    // A load hangs on the volts that it is made for; where nobody said, and for all else, on the bank's.
    let suits = |v: &f64| made.map_or_else(|| (*v - base_v).abs() < 1e-6, |made| made.fits(*v));
    let bus = |kind: DeviceKind| {
        let fed = of_kind(plan, circuit, kind).into_iter().filter(|(_, d)| d.id != to);
        let fed: Vec<(usize, &Device)> = fed.filter(|(i, _)| circuit.fed(plan, Node::Device(*i))).collect();
        let right = |i: usize| given_at(&c, i).is_ok_and(|all| !all.is_empty() && all.iter().all(suits));
        fed.iter().find(|(i, _)| right(*i)).or(fed.first()).map(|(_, d)| d.id.clone())
    };
    // What hangs on the bank and leads nowhere yet is where the missing run begins.
    let short = circuit.links.iter().find_map(|l| {
        let open = l.role == Role::Open && [l.from, l.to].contains(&Some(Node::Bank));
        let end = [l.from, l.to].into_iter().flatten().find(|n| *n != Node::Bank && *n != node);
        let path = path_at(plan, end.filter(|_| open)?)?;
        path.split_last().1.parse::<Id>().ok()
    });
    let panel = if list == "loads" { bus(DeviceKind::FusePanel) } else { None };
    let from = [short, panel, bus(DeviceKind::Bus), BANK_ID.parse().ok()].into_iter().flatten();
    from.map(|from| past_no_shunt(plan, circuit, drawn(plan, &from, &to, Some(FuseAt::From)), &from)).collect()
}

/// A new run from the bank's own post with its negative on the shunt that others' are on: what it brings back is counted.
fn past_no_shunt(plan: &Plan, circuit: &Circuit, mut step: Step, from: &Id) -> Step {
    let node = shunt(plan).and_then(|id| node_of(plan, id.as_str()));
    let counts = node.is_some_and(|n| circuit.has_way_back(n));
    if let (true, Some(shunt)) = (counts && from.as_str() == BANK_ID, shunt(plan)) {
        let at = FieldPath::new(format!("runs.{}.negative_from", plan.free_id(&ListPath::new("runs"))));
        step.edits.push(Edit::Set { at, to: Value::Id(shunt) });
    }
    step
}

/// The wires between two controllers' panels taken out, one at a time.
fn apart_trackers(plan: &Plan, circuit: &Circuit, id: &str) -> Vec<Step> {
    let Some(node) = node_of(plan, id) else { return Vec::new() };
    let runs = circuit.beside_on_panels(node).runs.into_iter().filter_map(|i| plan.runs.get(i));
    let out = |run: &Run| {
        let at = FieldPath::of(&["runs", run.id.as_str()]);
        Step::one(format!("{} taken out: panels of its own for each controller", run.id), Edit::Remove { at })
    };
    runs.map(out).collect()
}

/// A DC-DC charger at the bank's end of an alternator's line, and a new run on from it. What it is to give, and how long the
/// run is, is left open.
fn dc_dc_between(plan: &Plan, circuit: &Circuit, start: &str) -> Option<Step> {
    let device = plan.devices.iter().position(|d| d.id.as_str() == start)?;
    let way = circuit.straight_to_bank(plan, device)?;
    // The first run of the line that ends on what the bank's own leads meet: a bus, a switch, a post.
    let on_bank = |node: Node| {
        let kind = device_kind(plan, node);
        node == Node::Bank || matches!(kind, Some(DeviceKind::Bus | DeviceKind::Switch | DeviceKind::FusePanel))
    };
    let far = |i: &usize| {
        let link = circuit.links.get(*i)?;
        let end = if on_bank(link.to?) { ("to", link.to?) } else { ("from", link.from?) };
        on_bank(end.1).then_some((*i, end.0, end.1))
    };
    let (index, field, node) = way.iter().find_map(far)?;
    let run = plan.runs.get(index)?;
    let beyond =
        if node == Node::Bank { BANK_ID.parse().ok()? } else { path_at(plan, node)?.split_last().1.parse().ok()? };
    let absorb_v = plan.controllers.iter().find(|k| k.state.stays()).map_or(Known::Unknown, |k| k.absorb_v);
    let chargers = ListPath::new("chargers");
    let id = plan.free_id(&chargers);
    let charger = Charger { id: id.clone(), kind: Known::Is(ChargerKind::DcDc), absorb_v, ..Charger::default() };
    let mut step = drawn(plan, &id, &beyond, Some(FuseAt::To));
    let after = plan.chargers.last().map(|c| c.id.clone());
    let (insert, set) = (
        Edit::Insert { list: chargers, after, item: item_text(&charger) },
        Edit::Set { at: FieldPath::of(&["runs", run.id.as_str(), field]), to: Value::Id(id.clone()) },
    );
    step.edits.splice(0..0, [insert, set]);
    step.name =
        format!("DC-DC charger {id} at the end of {}: its amps and its run on to {beyond} to be chosen", run.id);
    Some(step)
}

/// A switch, breaker or disconnect of the same part that only one run ends on: what the missing run ends on, most likely.
fn loose_end(plan: &Plan, circuit: &Circuit, heart: &str) -> Option<String> {
    let node = node_of(plan, heart)?;
    let island = circuit.islands.iter().find(|x| x.nodes.contains(&node))?;
    let ends = |n: &Node| circuit.links.iter().filter(|l| l.from == Some(*n) || l.to == Some(*n)).count();
    let passes = |n: &&Node| {
        let kind = device_kind(plan, **n);
        matches!(kind, Some(DeviceKind::Switch | DeviceKind::Breaker | DeviceKind::Disconnect)) && ends(n) == 1
    };
    let loose = island.nodes.iter().find(passes)?;
    Some(path_at(plan, *loose)?.split_last().1.to_string())
}

/// The end of a run that faces the bank.
pub(super) fn near_field(link: &Link) -> (&'static str, FuseAt) {
    if link.near_from { ("from", FuseAt::From) } else { ("to", FuseAt::To) }
}

/// A load that the inverter feeds, on DC: where no run leads to it, with one from the bank's own post, as a feed that nobody
/// has drawn cannot be checked.
fn to_dc(plan: &Plan, circuit: &Circuit, id: &str) -> Vec<Step> {
    let load = plan.loads.iter().position(|l| l.id.as_str() == id && l.supply == Supply::Inverter);
    let Some(node) = load.map(Node::Load) else { return Vec::new() };
    let edit = Edit::Set { at: FieldPath::new(format!("loads.{id}.supply")), to: Value::Word(Supply::Dc.word()) };
    if circuit.links.iter().any(|l| (l.from == Some(node) || l.to == Some(node)) && l.role != Role::Dead) {
        return vec![Step::one(format!("{id} fed by: DC"), edit)];
    }
    let (Ok(bank), Ok(to)) = (BANK_ID.parse::<Id>(), id.parse::<Id>()) else { return Vec::new() };
    let mut step = drawn(plan, &bank, &to, Some(FuseAt::From));
    if let Some(shunt) = shunt(plan) {
        let run = plan.free_id(&ListPath::new("runs"));
        let at = FieldPath::new(format!("runs.{run}.negative_from"));
        step.edits.push(Edit::Set { at, to: Value::Id(shunt) });
    }
    step.edits.insert(0, edit);
    step.name = format!("{id} fed by: DC; {}", step.name);
    vec![step]
}

/// The run to a load that a start battery feeds past a switch, moved to that battery itself.
fn to_start(plan: &Plan, circuit: &Circuit, id: &str) -> Option<(usize, Step)> {
    let load = plan.loads.iter().position(|l| l.id.as_str() == id)?;
    let node = Some(Node::Load(load));
    let index = circuit.links.iter().position(|l| l.far() == node)?;
    let (run, link) = (plan.runs.get(index)?, circuit.links.get(index)?);
    let first = circuit.links.get(*circuit.from_start(plan, index).first()?)?;
    let battery = path_at(plan, [first.from, first.to].into_iter().flatten().find(|n| is_start(plan, *n))?)?;
    let battery: Id = battery.split_last().1.parse().ok()?;
    let at = FieldPath::new(format!("runs.{}.{}", run.id, near_field(link).0));
    let name = format!("{} moved: to {battery}", run.id);
    Some((index, Step::one(name, Edit::Set { at, to: Value::Id(battery) })))
}

/// A load moved to where the volts are that it is made for: a fuse panel, else a bus, a converter, the bank.
fn to_its_volts(c: &Context<'_>, id: &str) -> Vec<(usize, Step)> {
    let plan = c.plan;
    let Some(load) = plan.loads.iter().position(|l| l.id.as_str() == id) else { return Vec::new() };
    let Some(made) = plan.loads.get(load).and_then(|l| l.made_for.as_ref()?.known()) else { return Vec::new() };
    let own = c.circuit.links.iter().position(|l| l.far() == Some(Node::Load(load)));
    let fits = |volts: Vec<f64>| !volts.is_empty() && volts.iter().all(|v| made.fits(*v));
    let of = |kind: DeviceKind| {
        let there = |i: usize| given_at(c, i).is_ok_and(fits);
        of_kind(plan, &c.circuit, kind).into_iter().find(|(i, _)| there(*i)).map(|(_, d)| d.id.clone())
    };
    let bank = BANK_ID.parse().ok().filter(|_| c.base_v().is_ok_and(|v| made.fits(v)));
    let places = [of(DeviceKind::FusePanel), of(DeviceKind::Bus), of(DeviceKind::Converter), bank];
    let step = |to: Id| match own.and_then(|i| Some((i, plan.runs.get(i)?, c.circuit.links.get(i)?))) {
        Some((i, run, link)) => {
            let at = FieldPath::new(format!("runs.{}.{}", run.id, near_field(link).0));
            Some((i, Step::one(format!("{} moved: to {to}", run.id), Edit::Set { at, to: Value::Id(to) })))
        }
        None => Some((plan.runs.len(), drawn(plan, &to, &id.parse().ok()?, Some(FuseAt::From)))),
    };
    places.into_iter().flatten().filter_map(step).collect()
}

/// Each run on the way to a load moved to the bank's own post, its own first: nothing opens it there but its fuse. What a
/// converter feeds is never moved to the bank's volts: of such a way only the converter's own feed.
fn to_posts(c: &Context<'_>, id: &str) -> Vec<(usize, Step)> {
    let (plan, circuit) = (c.plan, &c.circuit);
    let Some(load) = plan.loads.iter().position(|l| l.id.as_str() == id) else { return Vec::new() };
    let node = Node::Load(load);
    let way = circuit.ways.iter().find(|w| w.end == node).map(|w| w.positives(circuit).collect::<Vec<_>>());
    let own = || circuit.links.iter().position(|l| l.from == Some(node) || l.to == Some(node));
    let runs = way.unwrap_or_else(|| own().into_iter().collect());
    let step = |i: usize| {
        let (run, link) = (plan.runs.get(i)?, circuit.links.get(i)?);
        let loads_end = [link.from, link.to].contains(&Some(node));
        let field = match loads_end {
            true if link.from == Some(node) => "to",
            true => "from",
            false => near_field(link).0,
        };
        let to = Value::Id(BANK_ID.parse().ok()?);
        let mut edits = vec![Edit::Set { at: FieldPath::of(&["runs", run.id.as_str(), field]), to }];
        // Its negative no longer leaves where its positive did.
        let negative =
            if field == "from" { (&run.negative_from, "negative_from") } else { (&run.negative_to, "negative_to") };
        if negative.0.is_none()
            && let Some(shunt) = shunt(plan)
        {
            let at = FieldPath::new(format!("runs.{}.{}", run.id, negative.1));
            edits.push(Edit::Set { at, to: Value::Id(shunt) });
        }
        Some((i, Step { name: format!("{} moved: to the bank's own post", run.id), edits }))
    };
    let named = |(n, (i, mut s)): (usize, (usize, Step))| {
        if n > 0 {
            s.name = s.name.replace(" moved:", " as well:").replace(" as well:", " moved, with what it feeds:");
        }
        (i, s)
    };
    let runs = runs.into_iter().rev().filter(|i| converter_ahead(c, *i).is_none());
    runs.filter_map(step).enumerate().map(named).collect()
}

/// Switches in the ways from the bank, each with what it would kill of life safety moved past it.
fn disconnects(engine: &mut Engine, plan: &Plan, stock: &Stock, finding: &Finding, before: &Report) -> Vec<Step> {
    let all = switched::switches(engine, plan, stock, finding, before);
    all.into_iter().map(|s| with_life_ahead(engine, plan, stock, before, s)).collect()
}

/// A step that puts a switch in, with what it would kill of life safety moved to the bank's own post, each on its own run.
fn with_life_ahead(engine: &mut Engine, plan: &Plan, stock: &Stock, before: &Report, mut step: Step) -> Step {
    let killed = |r: &Report| {
        let is = |f: &&Finding| f.check.id == "life-safety-behind-switch" && !before.says(f);
        let ids = r.findings.iter().filter(is).filter_map(|f| f.subject.segments().nth(1).map(ToString::to_string));
        ids.collect::<Vec<_>>()
    };
    let Ok(with) = plan.with(&step) else { return step };
    for id in killed(&engine.evaluate_wires(&with, stock)) {
        let Ok(with) = plan.with(&step) else { return step };
        let c = Context::of(&with, Circuit::of(&with).0, &stock.truck.fuses);
        if let Some(own) = to_posts(&c, &id).into_iter().next() {
            let own = refused(engine, &with, stock, own);
            // What is there already is no part of the step.
            let is_new = |e: &Edit| !matches!(e, Edit::Set { at, to } if with.get_at(at).as_ref() == Some(to));
            step.edits.extend(own.edits.into_iter().filter(is_new));
            step.name = format!("{}; {}", step.name, own.name);
        }
    }
    step
}

pub(super) fn shunt(plan: &Plan) -> Option<Id> {
    let is = |d: &&Device| d.state.stays() && d.kind.known() == Some(&DeviceKind::Shunt);
    plan.devices.iter().find(is).map(|d| d.id.clone())
}

/// The step with the fuse that its run wants at the bank's post.
fn refused(engine: &mut Engine, plan: &Plan, stock: &Stock, (index, mut step): (usize, Step)) -> Step {
    let Ok(with) = plan.with(&step) else { return step };
    let after = engine.evaluate_wires(&with, stock);
    // The fuse is chosen by the wire as it was; what it must open waits for the new length.
    let anew = super::anew::lengths(plan, &step);
    let Some(run) = with.runs.get(index) else { return step };
    let path = format!("runs.{}", run.id);
    let stops = after.findings.iter().any(|f| f.level == Level::Stop && f.subject.as_str() == path);
    if let Some(p) = after.runs.get(index).and_then(|r| r.proposed.as_ref()).filter(|_| stops) {
        step.edits.extend(fuse_edits(run, p));
        step.name.push_str(&format!(", fuse {} A {}", p.amps.0, p.family));
    }
    if !anew.is_empty() {
        step.name.push_str("; its wire to be measured anew");
        step.edits.extend(anew);
    }
    step
}

/// Whether a thing hangs together with a bar of the bank's minus.
fn on_minus(plan: &Plan, circuit: &Circuit, id: &str) -> bool {
    let Some(node) = node_of(plan, id) else { return false };
    let island = circuit.islands.iter().find(|x| x.nodes.contains(&node));
    island.map_or(&[][..], |x| x.nodes.as_slice()).iter().chain([&node]).any(|n| circuit.is_minus_bar(plan, *n))
}

/// A battery of the brakes' own, as the trailer's law asks for, beside the lead they have; its lead is to be measured.
fn own_battery(plan: &Plan, circuit: &Circuit, id: &str) -> Option<Step> {
    let load = plan.loads.iter().position(|l| l.id.as_str() == id)?;
    let devices = ListPath::new("devices");
    let battery = Device {
        id: plan.free_id(&devices),
        kind: Known::Is(DeviceKind::StartBattery),
        name: "battery of the brakes".into(),
        state: State::New,
        ..Device::default()
    };
    let insert =
        Edit::Insert { list: devices, after: plan.devices.last().map(|d| d.id.clone()), item: item_text(&battery) };
    // Charged from the lead that feeds the brakes now.
    let feeds = |l: &&Link| l.from == Some(Node::Load(load)) || l.to == Some(Node::Load(load));
    circuit.links.iter().find(feeds)?;
    let mut step = drawn(plan, &battery.id, &id.parse().ok()?, Some(FuseAt::From));
    step.edits.insert(0, insert);
    step.name = format!("{} of its own: {}, its lead to be measured and sized", id, battery.id);
    Some(step)
}
