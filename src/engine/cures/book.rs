//! Steps for the negative side, bonds, disconnects and breakers that close by themselves.

use crate::engine::circuit::{Circuit, Minus, Node, Role, joining_run, name_of, node_of};
use crate::engine::report::Report;
use crate::engine::resistance::{fuse_path, fuses};
use crate::engine::rule::Rules;
use crate::engine::sizing::make::made_of;
use crate::engine::sizing::{system_of, thinnest_with};
use crate::plan::format::item_text;
use crate::plan::wiring::{FuseAt, Protection, Resets, Return};
use crate::plan::{DeviceKind, Edit, FieldPath, Id, Known, Leg, ListPath, Plan, Run, State, Step, Value};
use crate::standards::chemistry::chemistry;
use crate::standards::fuse::{ratings, smallest_at_least};
use crate::standards::kinds::FuseFamily;
use crate::units::{Amps, Metres, Number};

use super::super::finding::Finding;

/// The steps for a finding about an item; none where this file knows none.
pub(super) fn steps(plan: &Plan, list: &str, id: &str, finding: &Finding, before: &Report) -> Option<Vec<Step>> {
    let run = || plan.runs.iter().position(|r| list == "runs" && r.id.as_str() == id);
    Some(match finding.check.id {
        "shunt-bypass" => {
            run().and_then(|i| to_shunt(plan.runs.get(i)?, finding.name(1), finding.name(2))).into_iter().collect()
        }
        "shunt-without-run" => over_shunt(plan, id).into_iter().collect(),
        "return-not-drawn" => run()
            .and_then(|i| plan.runs.get(i))
            .map_or_else(Vec::new, |r| super::minus::beside(plan, r, finding.name(1))),
        "negative-leads-nowhere" if list == "devices" => super::minus::joined(plan, id),
        "negative-leads-nowhere" => {
            run().and_then(|i| from_shunt(plan, plan.runs.get(i)?, finding.name(1))).into_iter().collect()
        }
        "panels-on-bank" => through_controller(plan, id).into_iter().collect(),
        "array-controller-differs" => {
            let at = FieldPath::new(format!("{list}.{id}.controller"));
            let to = finding.name(2).parse().ok()?;
            vec![Step::one(format!("{id}: on {}", finding.name(2)), Edit::Set { at, to: Value::Id(to) })]
        }
        "panel-below-fuse" => {
            let of_feed = panel_fuse(plan, id, finding, before).into_iter().flatten();
            of_feed.chain(smaller_fuse(plan, finding)).collect()
        }
        "device-below-fuse" => {
            let another = super::settings::larger(plan, id, finding.n(0));
            smaller_fuses(plan, finding, before).into_iter().chain(another).collect()
        }
        "poles-joined" => run().map_or_else(Vec::new, |i| apart(plan, i)),
        "load-drawn-on-dc" => {
            let to_dc =
                Edit::Set { at: FieldPath::new(format!("loads.{}.supply", finding.name(0))), to: Value::Word("DC") };
            vec![
                Step::one(format!("{id} taken out"), Edit::Remove { at: finding.subject.clone() }),
                Step::one(format!("{} fed by: DC", finding.name(0)), to_dc),
            ]
        }
        "bond-small" => super::bonds::steps(plan, finding),
        "bond-missing" => bond(plan, finding.n(0)).into_iter().collect(),
        "auto-reset-breaker" => {
            if list == "devices" {
                return Some(no_breaker(plan, id, before));
            }
            run().and_then(|i| plain_fuse(plan.runs.get(i)?, i, finding.name(0), before)).into_iter().collect()
        }
        "inverter-cut-off-low" => cut_off(plan, list, id).into_iter().collect(),
        "inverter-cut-off-high" => vec![off_at(list, id, finding.n(1))],
        "interrupt-below-fault" if list == "devices" => {
            no_breaker(plan, id, before).into_iter().chain(super::volts::breaker(plan, id, finding)).collect()
        }
        _ => return None,
    })
}

/// Every end of the run's negative that lies on the bank's post, or on what joins it there, goes to the shunt.
fn to_shunt(run: &Run, shunt: &str, joins: &str) -> Option<Step> {
    let shunt: Id = shunt.parse().ok()?;
    let post = |k: Option<&Known<Id>>, negative: bool| {
        k.and_then(|k| k.known())
            .is_some_and(|id| id.as_str() == "BK-" || (negative && (id.as_str() == "BK" || id.as_str() == joins)))
    };
    // Where nothing is said of its negative, it ends where its positive does.
    let bank = |k: &Known<Id>| k.known().is_some_and(|id| matches!(id.as_str(), "BK" | "BK+"));
    let unsaid = |named: &Option<Known<Id>>, drawn: &Known<Id>| joins == "BK" && named.is_none() && bank(drawn);
    // A run of its own on the negative side, the bond too, ends on the post with its very ends.
    let own = run.return_path == Return::None;
    let ends = [
        (post(Some(&run.from), own) && own, "from"),
        (post(Some(&run.to), own) && own, "to"),
        (post(run.negative_from.as_ref(), true) || unsaid(&run.negative_from, &run.from), "negative_from"),
        (post(run.negative_to.as_ref(), true) || unsaid(&run.negative_to, &run.to), "negative_to"),
    ];
    let edits: Vec<Edit> = ends
        .into_iter()
        .filter(|(is, _)| *is)
        .map(|(_, field)| Edit::Set {
            at: FieldPath::of(&["runs", run.id.as_str(), field]),
            to: Value::Id(shunt.clone()),
        })
        .collect();
    (!edits.is_empty()).then(|| Step { name: format!("{}: negative to {shunt}", run.id), edits })
}

/// All that ends on the bank's negative post led over a shunt that nothing leads to; beside single conductors one more from the post to
/// it, as the thickest of them.
fn over_shunt(plan: &Plan, shunt: &str) -> Option<Step> {
    let at_post = |r: &Run| [&r.from, &r.to].into_iter().any(|k| k.known().is_some_and(|id| id.as_str() == "BK-"));
    let comes_back = |r: &&Run| match r.return_path {
        Return::Pair => true,
        Return::None => at_post(r),
        Return::Chassis => false,
    };
    let (mut edits, mut names, mut like): (Vec<Edit>, Vec<&str>, Option<&Run>) = (Vec::new(), Vec::new(), None);
    for run in plan.runs.iter().filter(comes_back) {
        let Some(step) = to_shunt(run, shunt, "BK") else { continue };
        edits.extend(step.edits);
        names.push(run.id.as_str());
        let copper = |r: &Run| made_of(r).map_or(0.0, |make| make.area_mm2());
        if run.return_path == Return::None && like.is_none_or(|l| copper(run) > copper(l)) {
            like = Some(run);
        }
    }
    let mut name = format!("negatives over {shunt}: {}", names.join(", "));
    if let Some(like) = like {
        let lead = super::minus::single(plan, &"BK-".parse().ok()?, &shunt.parse().ok()?, like, false);
        name = format!("{name}; {}", lead.name);
        edits.extend(lead.edits);
    }
    (!edits.is_empty()).then_some(Step { name, edits })
}

/// The largest rating of a fuse's family that the panel behind it is made for.
fn smaller_fuse(plan: &Plan, finding: &Finding) -> Option<Step> {
    let run = plan.runs.iter().find(|r| r.id.as_str() == finding.name(2))?;
    let fuse = fuses(run).find(|f| f.id.as_str() == finding.name(1))?;
    let family = fuse.family.known()?;
    let fit = ratings(*family).iter().copied().filter(|a| *a <= finding.n(1) + 1e-9);
    let amps = fit.max_by(f64::total_cmp)?;
    let at = FieldPath::of(&["runs", run.id.as_str(), "protection", fuse.id.as_str(), "amps_a"]);
    Some(Step::one(format!("{} fuse: {amps} A {family}", run.id), Edit::Set { at, to: Value::Number(amps) }))
}

/// A fuse that a panel is made for in the run that feeds it, where another run's is the one ahead: its own made smaller, or one put.
fn panel_fuse(plan: &Plan, id: &str, finding: &Finding, before: &Report) -> Option<Vec<Step>> {
    let (circuit, _) = Circuit::of(plan);
    let feed = *circuit.plus_way(node_of(plan, id)?, usize::MAX).last()?;
    let (run, figures) = (plan.runs.get(feed)?, before.runs.get(feed)?);
    if run.id.as_str() == finding.name(2) {
        return None;
    }
    let Some(fuse) = fuses(run).next() else {
        let proposed = figures.proposed.as_ref()?;
        let name = format!("{} fuse: {} A {}", run.id, proposed.amps.0, proposed.family);
        return Some(vec![Step { name, edits: super::fuse_edits(run, proposed) }]);
    };
    let family = fuse.family.known()?;
    let fit = ratings(*family).iter().copied().filter(|a| *a <= finding.n(1) + 1e-9);
    let amps = fit.max_by(f64::total_cmp)?;
    let at = fuse_path(run, fuse, "amps_a");
    Some(vec![Step::one(format!("{} fuse: {amps} A {family}", run.id), Edit::Set { at, to: Value::Number(amps) })])
}

/// The fuses that let too much through a device in the largest ratings that let it no more than it is made for, where what flows in
/// their runs leaves room for that.
fn smaller_fuses(plan: &Plan, finding: &Finding, before: &Report) -> Option<Step> {
    let share = finding.n(1) / finding.n(0).max(1e-9);
    let (mut edits, mut names) = (Vec::new(), Vec::new());
    for name in finding.name(1).trim_end_matches(" together").split(", ") {
        let (fuse, run) = name.strip_prefix("fuse ")?.split_once(" of ")?;
        let index = plan.runs.iter().position(|r| r.id.as_str() == run)?;
        let run = plan.runs.get(index)?;
        let fuse = fuses(run).find(|f| f.id.as_str() == fuse)?;
        let (family, most) = (fuse.family.known()?, fuse.amps_a.known()?.0 * share);
        let least = before.runs.get(index)?.fuse_min_a.as_ref().ok()?.0;
        let fit = ratings(*family).iter().copied().filter(|a| *a <= most + 1e-9 && *a >= least - 1e-9);
        let amps = fit.max_by(f64::total_cmp)?;
        edits.push(Edit::Set { at: fuse_path(run, fuse, "amps_a"), to: Value::Number(amps) });
        names.push(format!("{} fuse: {amps} A {family}", run.id));
    }
    Some(Step { name: names.join(", "), edits })
}

/// A run that joins plus with minus: taken out, or its end on plus moved to the negative side.
fn apart(plan: &Plan, index: usize) -> Vec<Step> {
    let (circuit, _) = Circuit::of(plan);
    let plus = circuit.plus.as_slice();
    let (Some(run), Some((place, minus))) = (plan.runs.get(index), circuit.joins_poles(plan, plus, index)) else {
        return Vec::new();
    };
    let negative =
        if place == Node::Bank && minus != Minus::Chassis { Node::BankMinus } else { circuit.negative_place(plan) };
    let to = name_of(plan, negative);
    let is_it = |k: &Known<Id>| k.known().and_then(|id| node_of(plan, id.as_str())) == Some(place);
    let pair = run.return_path != Return::None;
    let ends = [
        (!pair && is_it(&run.from), "from"),
        (!pair && is_it(&run.to), "to"),
        (pair && run.negative_from.as_ref().is_some_and(is_it), "negative_from"),
        (pair && run.negative_to.as_ref().is_some_and(is_it), "negative_to"),
    ];
    let set = |field: &str| {
        let at = FieldPath::of(&["runs", run.id.as_str(), field]);
        Some(Edit::Set { at, to: Value::Id(to.parse().ok()?) })
    };
    let edits: Vec<Edit> = ends.into_iter().filter(|(is, _)| *is).filter_map(|(_, field)| set(field)).collect();
    let itself = minus == Minus::Place(negative) || edits.is_empty();
    let moved = (!itself).then(|| Step { name: format!("{}: negative to {to}", run.id), edits });
    let removed = (!pair).then(|| super::serve::out(run, "it joins plus and minus"));
    // A bond that is the only one has its place; of a short nothing is wanted.
    let bonds = |i: &usize| *i != index && circuit.links.get(*i).is_some_and(|l| l.role == Role::Bond);
    let is_wanted = match minus {
        Minus::Chassis => !(0..plan.runs.len()).any(|i| bonds(&i)),
        Minus::Thing(_) => true,
        Minus::Place(_) => pair,
    };
    let both = if is_wanted { [moved, removed] } else { [removed, moved] };
    // What has no other minus wants this one, without a fuse.
    let lacks = matches!(minus, Minus::Place(_)) && !circuit.has_way_back(place);
    let unfused = if lacks { super::minus::unfused(plan, run, place) } else { None };
    unfused.map_or_else(|| both.into_iter().flatten().collect(), |step| vec![step])
}

/// A run's negative on the shunt, where what it ended on leads nowhere; without one where its positive is.
fn from_shunt(plan: &Plan, run: &Run, end: &str) -> Option<Step> {
    let shunt = plan.devices.iter().find(|d| d.state.stays() && d.kind.known() == Some(&DeviceKind::Shunt));
    let is = |k: &Known<Id>| k.known().is_some_and(|id| id.as_str() == end);
    let named = |k: &Option<Known<Id>>| k.as_ref().is_some_and(is);
    let field = match named(&run.negative_from) || (is(&run.from) && !named(&run.negative_to)) {
        true => "negative_from",
        false => "negative_to",
    };
    let at = FieldPath::of(&["runs", run.id.as_str(), field]);
    match shunt {
        Some(shunt) => {
            let to = Value::Id(shunt.id.clone());
            Some(Step::one(format!("{}: negative to {}", run.id, shunt.id), Edit::Set { at, to }))
        }
        None if named(&run.negative_from) || named(&run.negative_to) => {
            let name = format!("{}: negative beside its positive all the way", run.id);
            Some(Step::one(name, Edit::Set { at, to: Value::Nothing }))
        }
        None => None,
    }
}

/// The run that brings panels to the bank's side ends on their controller instead.
fn through_controller(plan: &Plan, array: &str) -> Option<Step> {
    let controller = plan.arrays.iter().find(|a| a.id.as_str() == array)?.controller.known()?.clone();
    let (run, end) = joining_run(plan, array)?;
    let at = FieldPath::new(format!("runs.{run}.{end}"));
    Some(Step::one(format!("{run}: to {controller}"), Edit::Set { at, to: Value::Id(controller) }))
}

/// A run of an array that ends on something that takes no panels: led to the array's controller.
pub(super) fn led(plan: &Plan, circuit: &Circuit, array: &str) -> Option<Step> {
    let index = plan.arrays.iter().position(|a| a.id.as_str() == array)?;
    let (node, to) = (Node::Array(index), plan.arrays.get(index)?.controller.known()?.clone());
    let takes_none = |end: Option<Node>| matches!(end, Some(Node::Inverter(_) | Node::Load(_)));
    plan.runs.iter().zip(&circuit.links).find_map(|(run, link)| {
        let end = match (link.from == Some(node), link.to == Some(node)) {
            (true, _) if takes_none(link.to) => "to",
            (_, true) if takes_none(link.from) => "from",
            _ => return None,
        };
        let at = FieldPath::of(&["runs", run.id.as_str(), end]);
        Some(Step::one(format!("{}: to {to}", run.id), Edit::Set { at, to: Value::Id(to.clone()) }))
    })
}

/// A bond from the negative side to the chassis, its length to be measured; with a chassis point if none is drawn.
fn bond(plan: &Plan, mm2: f64) -> Option<Step> {
    let mut run = Run { return_path: Return::None, ..Run::default() };
    // Where no gauge is so thick, two of half as much.
    let of = |n: f64| Some((thinnest_with(system_of(plan, &run), mm2 / n)?, n));
    let (gauge, each) = of(1.0).or_else(|| of(2.0))?;
    let of_kind =
        |kind: DeviceKind| plan.devices.iter().filter(move |d| d.state.stays() && d.kind.known() == Some(&kind));
    // A shunt that no run touches is no way to the bank.
    let from = match of_kind(DeviceKind::Shunt).find(|d| plan.runs.iter().any(|r| r.touches(&d.id))) {
        Some(shunt) => shunt.id.clone(),
        None => "BK-".parse().ok()?,
    };
    let mut edits = Vec::new();
    let devices = ListPath::new("devices");
    let (to, place) = match of_kind(DeviceKind::Chassis).next() {
        Some(point) => (point.id.clone(), point.id.to_string()),
        None => {
            let id = plan.free_id(&devices);
            let point = crate::plan::Device {
                id: id.clone(),
                kind: Known::Is(DeviceKind::Chassis),
                name: "chassis bond".into(),
                state: crate::plan::State::Existing,
                ..crate::plan::Device::default()
            };
            edits.push(Edit::Insert {
                list: devices,
                after: plan.devices.last().map(|d| d.id.clone()),
                item: item_text(&point),
            });
            (id, "the frame (new chassis point)".to_string())
        }
    };
    let several = if each > 1.0 { format!("{each} x ") } else { String::new() };
    let name = format!("bond {from} to {place}: {several}{gauge}");
    let runs = ListPath::new("runs");
    run.id = plan.free_id(&runs);
    (run.from, run.to, run.gauge) = (Known::Is(from), Known::Is(to), Known::Is(gauge));
    let mut leg = Leg { id: Id::numbered("L", 1), ..Leg::default() };
    if each > 1.0 {
        leg.per_pole = Known::Is(Number(each));
    }
    run.legs.push(leg);
    edits.push(Edit::Insert { list: runs, after: plan.runs.last().map(|r| r.id.clone()), item: item_text(&run) });
    Some(Step { name, edits })
}

/// A fuse in place of the breaker: the proposed one where there is one, else one of its own rating.
fn plain_fuse(run: &Run, index: usize, fuse: &str, before: &Report) -> Option<Step> {
    let old = run.protection.iter().find(|p| p.id.as_str() == fuse)?;
    let path = |field: &str| FieldPath::new(format!("runs.{}.protection.{fuse}.{field}", run.id));
    let mut edits = vec![Edit::Set { at: path("resets"), to: Value::Word(Resets::No.word()) }];
    if let Some(p) = before.runs.get(index).and_then(|r| r.proposed.as_ref()) {
        edits.push(Edit::Set { at: path("family"), to: Value::Word(p.family.word()) });
        edits.push(Edit::Set { at: path("amps_a"), to: Value::Number(p.amps.0) });
        for (own, field) in [(old.volts_dc_v.is_some(), "volts_dc_v"), (old.interrupt_a.is_some(), "interrupt_a")] {
            if own {
                edits.push(Edit::Set { at: path(field), to: Value::Nothing });
            }
        }
    }
    let other = before.runs.get(index).is_some_and(|r| r.proposed.is_some());
    let what = if other || old.family.known() != Some(&FuseFamily::Breaker) {
        "a fuse, no breaker"
    } else {
        "one that stays open"
    };
    Some(Step { name: format!("{} {fuse}: {what}", run.id), edits })
}

/// A splice in the place of a breaker that closes by itself: where a run on it has a fuse, that stays; else the one that
/// the run wants comes with it.
pub(super) fn no_breaker(plan: &Plan, device: &str, before: &Report) -> Vec<Step> {
    let Some(edits) = splice_edits(plan, device) else { return Vec::new() };
    let ends_on = |r: &Run| [&r.from, &r.to].into_iter().any(|k| k.known().is_some_and(|id| id.as_str() == device));
    let on: Vec<(usize, &Run)> = plan.runs.iter().enumerate().filter(|(_, r)| ends_on(r)).collect();
    let mut steps = Vec::new();
    if on.iter().any(|(_, r)| fuses(r).next().is_some()) {
        let name = format!("{device}: a splice, the fuse beside it stays");
        steps.push(Step { name, edits: edits.clone() });
    } else if fused_ahead(plan, &on) {
        steps.push(Step { name: format!("{device}: a splice, the fuse ahead of it stays"), edits: edits.clone() });
    }
    for (i, run) in on.into_iter().filter(|(_, r)| fuses(r).next().is_none()) {
        let Some(p) = before.runs.get(i).and_then(|f| f.proposed.as_ref()) else { continue };
        let name = format!("{device}: a splice, {} with {} A {}", run.id, p.amps.0, p.family);
        steps.push(Step { name, edits: edits.iter().cloned().chain(super::fuse_edits(run, p)).collect() });
    }
    steps
}

/// What makes a splice of a breaker that closes by itself.
pub(super) fn splice_edits(plan: &Plan, device: &str) -> Option<Vec<Edit>> {
    let breaker = |d: &&crate::plan::Device| d.kind.known() == Some(&DeviceKind::Breaker);
    let own = plan.devices.iter().filter(breaker).find(|d| d.id.as_str() == device)?;
    let set = |field: &str, to: Value| Edit::Set { at: FieldPath::new(format!("devices.{device}.{field}")), to };
    let state = set("state", Value::Word(State::New.word()));
    let mut edits = vec![set("kind", Value::Word(DeviceKind::Splice.word())), state];
    let r = &own.ratings;
    for (rated, field) in [
        (r.amps_a.is_some(), "ratings.amps_a"),
        (r.volts_dc_v.is_some(), "ratings.volts_dc_v"),
        (r.interrupt_a.is_some(), "ratings.interrupt_a"),
    ] {
        if rated {
            edits.push(set(field, Value::Nothing));
        }
    }
    Some(edits)
}

/// Whether any run on the way to some has a fuse.
fn fused_ahead(plan: &Plan, on: &[(usize, &Run)]) -> bool {
    let (circuit, _) = Circuit::of(plan);
    let ahead = on.iter().filter_map(|(i, _)| circuit.links.get(*i)).flat_map(|l| l.upstream.iter().chain(&l.beyond));
    ahead.filter_map(|i| plan.runs.get(*i)).any(|r| fuses(r).next().is_some())
}

/// A DC breaker at the controller's end of the array's way. Its volts are its sheet's: `?` until entered.
pub(super) fn breaker(plan: &Plan, array: &str, before: &Report) -> Option<Step> {
    let (circuit, _) = Circuit::of(plan);
    let i = plan.arrays.iter().position(|a| a.id.as_str() == array)?;
    let way = circuit.way_of(crate::engine::circuit::PathKind::Array, crate::engine::circuit::Node::Array(i))?;
    let last = *way.runs.last()?;
    let (run, link, figures) = (plan.runs.get(last)?, circuit.links.get(last)?, before.runs.get(last)?);
    let amps = smallest_at_least(FuseFamily::Breaker, figures.fuse_min_a.as_ref().ok()?.0)?;
    let fuse = Protection {
        at: if link.near_from { FuseAt::From } else { FuseAt::To },
        family: Known::Is(FuseFamily::Breaker),
        amps_a: Known::Is(Amps(amps)),
        volts_dc_v: Some(Known::Unknown),
        distance_m: Known::Is(Metres(super::NEAR_M)),
        resets: Resets::Manual,
        ..Protection::default()
    };
    let edit = Edit::Insert {
        list: ListPath::new(format!("runs.{}.protection", run.id)),
        after: run.protection.last().map(|p| p.id.clone()),
        item: item_text(&fuse),
    };
    Some(Step::one(format!("{} breaker: {amps} A", run.id), edit))
}

fn cut_off(plan: &Plan, list: &str, id: &str) -> Option<Step> {
    let bank = &plan.bank;
    let twelves = chemistry(*bank.chemistry.known()?).twelves(bank.unit_v.known()?.0) * bank.series.known()?.0;
    let volts = Rules::of(plan).cutoff_lfp_v * twelves;
    Some(off_at(list, id, volts))
}

fn off_at(list: &str, id: &str, volts: f64) -> Step {
    let at = FieldPath::new(format!("{list}.{id}.cutoff_v"));
    Step::one(format!("{id}: off at {volts} V"), Edit::Set { at, to: Value::Number(volts) })
}
