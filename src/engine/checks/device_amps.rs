//! Whether what stands in a run carries the run's current: whatever has a rating and is no source.

use crate::engine::Work;
use crate::engine::circuit::{Node, Role, device_kind, on_bank_side};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::inflow::over_device;
use crate::engine::let_through::{all_rated, back_of_things, less, over_negatives, over_run};
use crate::engine::protection::fuse_factor;
use crate::engine::resistance::fuses;
use crate::engine::shunts::{leads_over, over_place};
use crate::plan::wiring::DeviceKind;
use crate::plan::{Device, FieldPath, Figure, Missing};
use crate::standards::cited::{DEVICE_FUSE, FUSE_LOADING, INSTRUCTIONS, PANEL_FUSE};

use super::digits::{apart, rated};
use super::fuses::compared;

static OVER: Check = Check {
    id: "device-below-current",
    safety: true,
    say: |f| {
        let (amps, flows) = (rated(f.n(1)), apart(f.n(1), f.n(0), 1).1);
        let wants = match f.numbers.get(2) {
            Some(wants) => format!(", and a breaker wants {} A at least for that", apart(f.n(1), *wants, 1).1),
            None => String::new(),
        };
        format!("{} is rated {amps} A; {} brings {flows} A through it{wants}", f.name(0), f.name(1))
    },
};

static PANEL: Check = Check {
    id: "panel-below-fuse",
    safety: false,
    say: |f| {
        let (through, amps) = compared(f.n(0), f.n(1));
        format!(
            "{} is rated {amps} A; fuse {} of {} ahead of it lets {through} A through",
            f.name(0),
            f.name(1),
            f.name(2)
        )
    },
};

static GUARD: Check = Check {
    id: "device-below-fuse",
    safety: false,
    say: |f| {
        let (through, amps) = compared(f.n(0), f.n(1));
        let lets = if f.name(1).contains(',') || f.name(1).contains(" and ") { "let" } else { "lets" };
        format!("{} is rated {amps} A; {} {lets} {through} A through it", f.name(0), f.name(1))
    },
};

static CONVERTER: Check = Check {
    id: "converter-over-limit",
    safety: false,
    say: |f| format!("{} gives {} A; what runs behind it at once takes {:.1} A", f.name(0), rated(f.n(1)), f.n(0)),
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    for (i, device) in w.context.plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()) {
        let subject = || FieldPath::of(&["devices", device.id.as_str()]);
        out.take(&OVER, subject, over(w, (Node::Device(i), device)));
        out.take(&CONVERTER, subject, converter(w, (Node::Device(i), device)));
        out.take(&PANEL, subject, panel(w, (Node::Device(i), device)));
        out.take(&GUARD, subject, guarded(w, i, device));
    }
}

/// What a converter's own output has to give at once, by the runs that leave it, against its rated amps.
fn converter(w: &Work<'_>, (node, device): (Node, &Device)) -> Outcome {
    let (DeviceKind::Converter, Some(amps)) =
        (device.kind.known().copied().unwrap_or(DeviceKind::Splice), &device.ratings.amps_a)
    else {
        return Ok(None);
    };
    let rated_a = amps.at(|| FieldPath::of(&["devices", device.id.as_str(), "ratings", "amps_a"]))?.0;
    let mut takes_a = 0.0;
    for (link, run) in w.context.circuit.links.iter().zip(&w.report.runs) {
        if carries(link.role) && link.near() == Some(node) {
            takes_a += run.design_a.clone()?.0;
        }
    }
    Ok((takes_a > rated_a * 1.001).then(|| {
        let subject = FieldPath::of(&["devices", device.id.as_str()]);
        Finding::new(&CONVERTER, Level::Caution, subject, &[takes_a, rated_a], INSTRUCTIONS.of(w.context.rules.basis))
            .named([device.id.as_str()])
    }))
}

/// What the smallest fuse on the way to a fuse panel lets through, against what the panel is made for: its branches together
/// may draw so much for as long as they like.
fn panel(w: &Work<'_>, (node, device): (Node, &Device)) -> Outcome {
    let (Some(DeviceKind::FusePanel), Some(amps)) = (device.kind.known(), &device.ratings.amps_a) else {
        return Ok(None);
    };
    let rated_a = amps.at(|| FieldPath::of(&["devices", device.id.as_str(), "ratings", "amps_a"]))?.0;
    let way = w.context.circuit.plus_way(node, usize::MAX);
    // What is ahead of a converter protects nothing behind it.
    let behind = way.iter().rposition(|i| w.context.circuit.at_converter(*i).is_some_and(|(_, feeds)| feeds));
    let own = way.get(behind.map_or(0, |at| at + 1)..).unwrap_or_default();
    all_rated(w.context, own)?;
    let breakers = own.iter().filter_map(|i| breaker_ahead(w, *i));
    let fuses = own.iter().filter_map(|i| over_run(w.context, *i));
    let Some(least) = fuses.min_by(|a, b| a.amps.total_cmp(&b.amps)) else { return Ok(None) };
    if least.amps.min(breakers.fold(f64::MAX, f64::min)) <= rated_a * 1.001 {
        return Ok(None);
    }
    let (fuse, run) = least.by.first().and_then(|by| by.split_once(" of ")).unwrap_or_default();
    let subject = FieldPath::of(&["devices", device.id.as_str()]);
    let source = PANEL_FUSE.of(w.context.rules.basis);
    let found = Finding::new(&PANEL, Level::Caution, subject, &[least.amps, rated_a], source);
    Ok(Some(found.named([device.id.as_str(), fuse, run])))
}

/// What fuses let through a switch, a bar, an isolator or a splice for as long as it likes, and back over a shunt, against what it is
/// made for. A breaker opens itself, a source gives no more than it can, and a panel is judged by the fuse ahead of it.
fn guarded(w: &Work<'_>, index: usize, device: &Device) -> Outcome {
    use DeviceKind::{Alternator, Breaker, Converter, FusePanel, Generator};
    let own = [Alternator, Breaker, Converter, FusePanel, Generator];
    let held = device.kind.known().is_some_and(|k| !own.contains(k)) && !w.context.circuit.is_end(Node::Device(index));
    let Some(amps) = device.ratings.amps_a.as_ref().filter(|_| held) else { return Ok(None) };
    let rated_a = amps.at(|| FieldPath::of(&["devices", device.id.as_str(), "ratings", "amps_a"]))?.0;
    let most_a = rated_a * 1.001;
    let over = over_device(w.context, index, most_a)?.map(|ahead| (ahead.amps, ahead.name));
    let Some((amps, by)) = over.or(over_negative(w, Node::Device(index), most_a)?) else { return Ok(None) };
    let subject = FieldPath::of(&["devices", device.id.as_str()]);
    let found = Finding::new(&GUARD, Level::Caution, subject, &[amps, rated_a], &DEVICE_FUSE);
    Ok(Some(found.named([device.id.to_string(), by])))
}

/// All that the fuses on the bank's own runs let out of it, and in; none where one has none.
fn at_bank_a(w: &Work<'_>) -> Option<f64> {
    let circuit = &w.context.circuit;
    let carries = |i: &&usize| circuit.links.get(**i).is_some_and(|l| on_bank_side(l.role) && l.role != Role::Sense);
    let least = |i: &usize| {
        let fuses = w.context.plan.runs.get(*i).into_iter().flat_map(fuses);
        fuses.filter_map(|f| f.amps_a.known()).map(|a| a.0).min_by(f64::total_cmp)
    };
    circuit.at(Node::Bank).iter().filter(carries).map(least).sum()
}

/// What fuses let back over a place by a negative that is drawn by itself, or over a shunt or a bar of negatives by whichever, where that is
/// more than it is made for.
fn over_negative(w: &Work<'_>, place: Node, most_a: f64) -> Figure<Option<(f64, String)>> {
    let circuit = &w.context.circuit;
    let on = |i: &&usize| circuit.links.get(**i).is_some_and(|l| l.role == Role::NegativeMain);
    if at_bank_a(w).is_some_and(|amps| amps <= most_a) {
        return Ok(None);
    }
    // Of those on it the one that most comes back by.
    let away = |i: &usize| circuit.links.get(*i).map_or(0, |l| l.away.len());
    let single = match circuit.at(place).iter().filter(on).max_by_key(|i| away(i)) {
        Some(run) => back_of_things(w.context, *run)?,
        None => None,
    };
    // However its negatives are drawn, but for one within a battery's own way.
    let is_minus = match device_kind(w.context.plan, place) {
        Some(DeviceKind::Shunt) => true,
        Some(DeviceKind::Bus) => circuit.plus.get(circuit.slot(place)) != Some(&true),
        _ => false,
    };
    let all_over = match (is_minus, leads_over(w.context, place).and_then(|l| l.first().copied())) {
        (true, Some(lead)) => {
            all_rated(w.context, &circuit.own_ways.concat())?;
            less(over_run(w.context, lead), over_negatives(w.context, place)?)
        }
        (true, None) if over_place(w.context, w.terminals, place).is_some() => over_negatives(w.context, place)?,
        _ => None,
    };
    let most = single.into_iter().chain(all_over).max_by(|a, b| a.amps.total_cmp(&b.amps));
    let through = most.filter(|through| !through.is_within(most_a, 0.0) && !through.by.is_empty());
    let named = |by: &[String]| by.iter().map(|one| format!("fuse {one}")).collect::<Vec<_>>();
    Ok(through
        .map(|t| (t.amps, format!("{}{}", named(&t.by).join(", "), if t.by.len() > 1 { " together" } else { "" }))))
}

/// The rating of a breaker that a run begins at.
fn breaker_ahead(w: &Work<'_>, run: usize) -> Option<f64> {
    let Node::Device(i) = w.context.circuit.links.get(run)?.near()? else { return None };
    let device = w.context.plan.devices.get(i).filter(|d| d.kind.known() == Some(&DeviceKind::Breaker))?;
    Some(device.ratings.amps_a.as_ref()?.known()?.0)
}

/// What comes back over a shunt, and by which runs.
fn all_back(w: &Work<'_>, node: Node) -> Option<(f64, String)> {
    let (amps, runs) = over_place(w.context, w.terminals, node)?;
    let names: Vec<&str> = runs.iter().filter_map(|i| Some(w.context.plan.runs.get(*i)?.id.as_str())).collect();
    let names = if names.len() > 1 { format!("what comes back by {}", names.join(", ")) } else { names.concat() };
    Some((amps.ok()?, names))
}

/// Whether a run of this role carries current day by day.
fn carries(role: Role) -> bool {
    !matches!(role, Role::Dead | Role::Sense | Role::Bond | Role::Open)
}

/// Whether anything flows through a device, by a positive or a negative.
fn is_passed(w: &Work<'_>, node: Node) -> bool {
    let circuit = &w.context.circuit;
    let role = |i: usize| circuit.links.get(i).is_some_and(|l| carries(l.role));
    circuit.at(node).iter().any(|i| role(*i)) || circuit.negatives_at(node).any(|(i, _)| role(i))
}

/// What a run brings to a device by its positive, or by its negative where that ends on it. `on_it`: runs whose negatives do.
fn brought(w: &Work<'_>, i: usize, node: Node, on_it: &[usize]) -> Option<f64> {
    let (link, found) = (w.context.circuit.links.get(i)?, w.found.get(i)?);
    if !carries(link.role) {
        return None;
    }
    let out_a = &found.currents.pair.design_a;
    let back_a = found.currents.back.as_ref().map_or(out_a, |back| &back.pair.design_a);
    let positive = link.from == Some(node) || link.to == Some(node);
    let negative = link.negatives.contains(&Some(node)) || on_it.contains(&i);
    let by = |is: bool, amps: &Figure<f64>| amps.as_ref().ok().copied().filter(|_| is);
    by(positive, out_a).into_iter().chain(by(negative, back_a)).reduce(f64::max)
}

/// The largest current that one run brings to a device or takes from it, by its positive or its negative, against its
/// rating. Currents that are not known yet are judged on their own runs.
fn over(w: &Work<'_>, (node, device): (Node, &Device)) -> Outcome {
    use DeviceKind::{Alternator, Breaker, Converter, Generator};
    // What a source gives is its rating, and held to what is drawn of it.
    let gives = [Alternator, Converter, Generator];
    let Some(kind) = device.kind.known().filter(|k| !gives.contains(k)) else { return Ok(None) };
    let field = || FieldPath::of(&["devices", device.id.as_str(), "ratings", "amps_a"]);
    let Some(amps) = &device.ratings.amps_a else {
        // That of one that nothing flows through does not matter.
        return if kind.has_rating() && is_passed(w, node) { Err(Missing(field())) } else { Ok(None) };
    };
    let rated_a = amps.at(field)?.0;
    let on_it: Vec<usize> = w.context.circuit.negatives_at(node).map(|(run, _)| run).collect();
    let breaker = *kind == Breaker;
    let mut most: Option<(f64, &str)> = None;
    let mut wants_a = 0.0_f64;
    for (i, run) in w.context.plan.runs.iter().enumerate() {
        let Some(amps) = brought(w, i, node, &on_it) else { continue };
        wants_a = wants_a.max(amps * fuse_factor(w.context, i));
        if most.is_none_or(|(a, _)| amps > a) {
            most = Some((amps, run.id.as_str()));
        }
    }
    let all = if *kind == DeviceKind::Shunt { all_back(w, node) } else { None };
    if let Some((amps, names)) = all.filter(|(amps, _)| most.is_none_or(|(a, _)| *amps > a)) {
        let subject = FieldPath::of(&["devices", device.id.as_str()]);
        let cited = INSTRUCTIONS.of(w.context.rules.basis);
        let found = || Finding::new(&OVER, Level::Caution, subject, &[amps, rated_a], cited);
        return Ok((amps > rated_a * 1.001).then(|| found().named([device.id.to_string(), names])));
    }
    let cited = INSTRUCTIONS.of(w.context.rules.basis);
    // A rounding is no overload.
    let over = most.filter(|(amps, _)| *amps > rated_a * 1.001);
    if breaker && let Some((amps, run)) = most.filter(|_| wants_a > rated_a * 1.001) {
        // A breaker trips: it is held to what a fuse is.
        let level = if over.is_some() { Level::Stop } else { Level::Caution };
        let subject = FieldPath::of(&["devices", device.id.as_str()]);
        let cited = FUSE_LOADING.of(w.context.rules.basis);
        let found = Finding::new(&OVER, level, subject, &[amps, rated_a, wants_a], cited);
        return Ok(Some(found.named([device.id.as_str(), run])));
    }
    Ok(over.map(|(amps, run)| {
        let subject = FieldPath::of(&["devices", device.id.as_str()]);
        Finding::new(&OVER, Level::Caution, subject, &[amps, rated_a], cited).named([device.id.as_str(), run])
    }))
}
