//! Where things stand: sparks by gassing batteries, heat, room, weight.

use crate::arrange::Arrange;
use crate::engine::Work;
use crate::engine::capacity::ratings;
use crate::engine::circuit::{Node, Role, device_kind};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::resistance::{fuses, legs};
use crate::engine::runs::path_of;
use crate::plan::sources::SHEET;
use crate::plan::wiring::FuseAt;
use crate::plan::{DeviceKind, FieldPath, Figure, Known, Missing, Ratings, State, YesNo};
use crate::standards::cited::{GAS_LOCKER, SPARKS, VENT_FLOW, VENT_LEAST};
use crate::standards::kinds::{Chemistry, FuseFamily, Zone};
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};
use crate::units::{Kilograms, Metres};

use super::rule_value;

static DOOR_LABEL: Source = Source::new("the coach's weight label", "", Standing::Verified);

static BY_BATTERY: Check = Check {
    id: "sparks-by-battery",
    safety: true,
    say: |f| {
        let own = if f.name(2).is_empty() { "can spark" } else { UNSAID };
        format!("{} {own} and stands in the {} with flooded batteries, which gas", f.name(0), f.name(1))
    },
};
static GAS: Check = Check {
    id: "sparks-by-gas",
    safety: true,
    say: |f| {
        let own = if f.name(1).is_empty() { "can spark" } else { UNSAID };
        format!("{} {own} and stands in the locker of the gas bottles", f.name(0))
    },
};
/// What is said of gear whose own sheet is not entered.
const UNSAID: &str = "is taken to spark, as such gear does unless its sheet says otherwise (sparks no),";
static BANK_BY_GAS: Check = Check {
    id: "bank-by-gas",
    safety: false,
    say: |_| "BK: batteries stand in the locker of the gas bottles; joining or loosening a lead sparks".into(),
};
static VENTS: Check = Check {
    id: "vents-small",
    safety: true,
    say: |f| {
        format!(
            "BK: each vent has {:.0} cm2, {:.0} cm2 high and low are wanted for {:.0} Ah of flooded batteries",
            f.n(0),
            f.n(1),
            f.n(2)
        )
    },
};
static TOO_HOT: Check = Check {
    id: "device-too-hot",
    safety: true,
    say: |f| {
        if let Some(gives_c) = f.numbers.get(2) {
            return format!(
                "{}: what air its label allows is not entered; the {} reaches {:.0} C, and lithium cells usually take no charge \
                 above {:.0} C and give none above {gives_c:.0} C: a cooler place, or the label's own limit",
                f.name(0),
                f.name(1),
                f.n(0),
                f.n(1)
            );
        }
        format!(
            "{} works up to {:.0} C, the {} reaches {:.0} C: a cooler place, or one that stands more",
            f.name(0),
            f.n(1),
            f.name(1),
            f.n(0)
        )
    },
};
static NO_ROOM: Check = Check {
    id: "battery-does-not-fit",
    safety: false,
    say: |f| {
        if f.n(2) > 0.0 {
            format!(
                "BK: {:.0} mm high with room over its terminals, the space has {:.0} mm: lower ones{}, another space, or on \
                 their side where their maker allows it",
                f.n(0),
                f.n(1),
                f.name(0)
            )
        } else {
            format!("BK: {:.0} batteries, {:.0} stand in the space", f.n(0), f.n(1))
        }
    },
};
static HEAVY: Check = Check {
    id: "weight-over-margin",
    safety: false,
    say: |f| {
        let heaviest = if f.name(0).is_empty() { String::new() } else { format!("; heaviest: {}", f.name(0)) };
        // No fewer of them are a cure then.
        let least = match f.name(1) {
            "" => String::new(),
            least => format!(
                "; with one battery and one panel of it still {least}, another vehicle or less other cargo would do"
            ),
        };
        format!("the job adds {:.0} kg, the coach may take {:.0} kg more{heaviest}{least}", f.n(0), f.n(1))
    },
};

/// Air that hardly any controller, inverter, charger or battery is made for. Source: common practice, sheets end at 40 to 60 C.
const USUAL_MOST_C: f64 = 60.0;
/// Up to which lithium cells usually take charge, and give. Source: common practice.
const LITHIUM_C: [f64; 2] = [55.0, 60.0];
/// So many of the heaviest are named. Source: our own choice.
const HEAVIEST: usize = 3;

/// One thing that stands somewhere.
struct Thing<'a> {
    list: &'static str,
    id: &'a crate::plan::Id,
    node: Node,
    zone: Option<Zone>,
}

macro_rules! things {
    ($plan:expr, $out:ident; $($list:ident $node:ident),*) => {$(
        for (i, x) in $plan.$list.iter().enumerate().filter(|(_, x)| x.state.stays()) {
            $out.push(Thing { list: stringify!($list), id: &x.id, node: Node::$node(i), zone: x.zone });
        }
    )*};
}

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let basis = w.context.rules.basis;
    let mut all: Vec<Thing<'_>> = Vec::with_capacity(16);
    things!(plan, all; controllers Controller, inverters Inverter, chargers Charger, devices Device);
    let flooded = plan.bank.state.stays() && plan.bank.chemistry.known() == Some(&Chemistry::Flooded);
    for thing in &all {
        let path = || FieldPath::of(&[thing.list, thing.id.as_str()]);
        let Some((r, _)) = ratings(w.context, thing.node) else { continue };
        if flooded {
            out.take(&BY_BATTERY, path, sparks(w, thing, r));
        }
        if thing.zone == Some(Zone::GasLocker) && may_spark(w, thing, r) {
            let found = Finding::new(&GAS, Level::Stop, path(), &[], GAS_LOCKER.of(basis));
            let found = found.named([thing.id.as_str(), unsaid(r)]);
            out.take(&GAS, path, Ok(Some(found)));
        }
        out.take(&TOO_HOT, path, too_hot(w, thing, r));
    }
    breakers_on_runs(w, out, flooded);
    if plan.bank.state.stays() && plan.bank.zone == Some(Zone::GasLocker) {
        let found = Finding::new(&BANK_BY_GAS, Level::Caution, "bank".into(), &[], GAS_LOCKER.of(basis));
        out.take(&BANK_BY_GAS, || "bank".into(), Ok(Some(found)));
    }
    if flooded {
        out.take(&VENTS, || "bank".into(), vents(w));
    }
    if plan.bank.state.stays() {
        out.take(&TOO_HOT, || "bank".into(), bank_too_hot(w));
        out.take(&NO_ROOM, || "bank".into(), room(w));
    }
    out.take(&HEAVY, || "job".into(), heavy(w));
}

/// Gear that sparks unless its sheet says it does not: contacts under load, relays, brushes, fans, plugs.
fn may_spark(w: &Work<'_>, thing: &Thing<'_>, r: &Ratings) -> bool {
    match r.sparks {
        Some(said) => said == YesNo::Yes,
        None => match thing.node {
            Node::Inverter(_) | Node::Charger(_) | Node::Controller(_) => true,
            node => matches!(
                device_kind(w.context.plan, node),
                Some(
                    DeviceKind::Switch
                        | DeviceKind::Breaker
                        | DeviceKind::Disconnect
                        | DeviceKind::Isolator
                        | DeviceKind::Converter
                        | DeviceKind::Generator
                        | DeviceKind::Alternator
                )
            ),
        },
    }
}

/// A word where its sheet does not say whether it sparks.
fn unsaid(r: &Ratings) -> &'static str {
    if r.sparks.is_none() { "unsaid" } else { "" }
}

/// Breakers drawn on a run, by the zone of the leg they sit in. A fuse is closed and breaks nothing by hand.
fn breakers_on_runs(w: &Work<'_>, out: &mut Gathered, flooded: bool) {
    let (plan, basis) = (w.context.plan, w.context.rules.basis);
    let links = &w.context.circuit.links;
    for (run, _) in plan.runs.iter().zip(links).filter(|(_, l)| l.role != Role::Dead) {
        for fuse in fuses(run).filter(|f| f.family.known() == Some(&FuseFamily::Breaker)) {
            let leg = match fuse.at {
                FuseAt::From => legs(run).next(),
                FuseAt::To => legs(run).last(),
                FuseAt::Leg => {
                    let id = fuse.leg.as_ref().and_then(|k| k.known());
                    legs(run).find(|l| Some(&l.id) == id)
                }
            };
            let zone = leg.and_then(|l| l.zone.known()).copied();
            let name = format!("{} {}", run.id, fuse.id);
            let path = || path_of(run);
            if zone == Some(Zone::GasLocker) {
                let found = Finding::new(&GAS, Level::Stop, path(), &[], GAS_LOCKER.of(basis)).named([name.clone()]);
                out.take(&GAS, path, Ok(Some(found)));
            }
            if flooded && zone == Some(Zone::BatteryBox) && plan.bank.zone == zone {
                let found = Finding::new(&BY_BATTERY, Level::Stop, path(), &[], SPARKS.of(basis));
                out.take(&BY_BATTERY, path, Ok(Some(found.named([name.as_str(), Zone::BatteryBox.word()]))));
            }
        }
    }
}

/// The battery box is one space; in a larger zone only what is said to spark counts, and as a caution.
fn sparks(w: &Work<'_>, thing: &Thing<'_>, r: &Ratings) -> Outcome {
    let bank = &w.context.plan.bank;
    let (Some(place), Some(zone)) = (bank.zone, thing.zone) else { return Ok(None) };
    let boxed = place == Zone::BatteryBox;
    if zone != place || !may_spark(w, thing, r) || (!boxed && r.sparks != Some(YesNo::Yes)) {
        return Ok(None);
    }
    let level = if boxed || bank.vented.known() == Some(&YesNo::No) { Level::Stop } else { Level::Caution };
    let path = FieldPath::of(&[thing.list, thing.id.as_str()]);
    Ok(Some(Finding::new(&BY_BATTERY, level, path, &[], SPARKS.of(w.context.rules.basis)).named([
        thing.id.as_str(),
        place.word(),
        unsaid(r),
    ])))
}

/// Free area of each vent of flooded batteries: the least, or that for their gas where it is larger.
/// Source: NEC 552.10(D), 1.7 in2; IEC 62485-2, A = 28 Q, Q = 0.05 n I C/1000, from memory.
fn vents(w: &Work<'_>) -> Outcome {
    let bank = &w.context.plan.bank;
    if bank.vented.known() != Some(&YesNo::Yes) {
        return Ok(None);
    }
    let path = || FieldPath::new("bank.vent_area_cm2");
    let area = bank.vent_area_cm2.as_ref().ok_or_else(|| Missing(path()))?.at(path)?.0;
    let capacity = w.report.bank.amp_hours.clone()?.0;
    let cells = w.context.cells()?;
    let gas_ma = rule_value(w, "vent-gas-flooded-ma");
    let air_m3_h = rule_value(w, "vent-air-factor") * cells * gas_ma * capacity / 1000.0;
    let (least, for_gas) = (rule_value(w, "vent-area-mm2") / 100.0, rule_value(w, "vent-slope-cm2") * air_m3_h);
    let wanted = least.max(for_gas);
    let source = if for_gas > least { &VENT_FLOW } else { VENT_LEAST.of(w.context.rules.basis) };
    Ok((area < wanted - 1e-9).then(|| {
        Finding::new(&VENTS, Level::Caution, "bank".into(), &[area, wanted, capacity], source).smaller_is_worse()
    }))
}

/// Against its own sheet; where nobody entered that, air that none is usually made for is waited with.
fn too_hot(w: &Work<'_>, thing: &Thing<'_>, r: &Ratings) -> Outcome {
    let Some(zone) = thing.zone else { return Ok(None) };
    let at = |f: &str| FieldPath::of(&[thing.list, thing.id.as_str(), f]);
    let air = w.context.rules.ambient(zone);
    let Some(most) = &r.max_ambient_c else {
        let waits = air > USUAL_MOST_C + 1e-9 && is_electronic(w, thing);
        return if waits { Err(Missing(at("ratings.max_ambient_c"))) } else { Ok(None) };
    };
    let most = most.at(|| at("ratings.max_ambient_c"))?.0;
    Ok((air > most + 1e-9).then(|| {
        let path = FieldPath::of(&[thing.list, thing.id.as_str()]);
        Finding::new(&TOO_HOT, Level::Caution, path, &[air, most], &SHEET).named([thing.id.as_str(), zone.word()])
    }))
}

/// What is full of parts that heat wears; switches, bars and start batteries are made for where engines are.
fn is_electronic(w: &Work<'_>, thing: &Thing<'_>) -> bool {
    match thing.node {
        Node::Inverter(_) | Node::Charger(_) | Node::Controller(_) => true,
        node => device_kind(w.context.plan, node) == Some(DeviceKind::Converter),
    }
}

/// The bank in air above what its own label allows, or, where nobody entered that, what its chemistry usually does.
fn bank_too_hot(w: &Work<'_>) -> Outcome {
    let bank = &w.context.plan.bank;
    let Some(zone) = bank.zone else { return Ok(None) };
    let air = w.context.rules.ambient(zone);
    let path = || FieldPath::new("bank.ratings.max_ambient_c");
    let label = bank.ratings.max_ambient_c.as_ref();
    let Some(most) = label.filter(|most| most.known().is_some()) else {
        let [takes_c, gives_c] = LITHIUM_C;
        let is_lithium = bank.chemistry.known().is_some_and(|c| c.is_lithium());
        if is_lithium && air > takes_c + 1e-9 {
            let numbers = [air, takes_c, gives_c];
            let found = Finding::new(&TOO_HOT, Level::Caution, "bank".into(), &numbers, &COMMON_PRACTICE);
            return Ok(Some(found.named(["BK", zone.word()])));
        }
        return if label.is_some() || air > USUAL_MOST_C + 1e-9 { Err(Missing(path())) } else { Ok(None) };
    };
    let most = most.at(path)?.0;
    // Heating keeps the cold out, and no heat.
    if air <= most + 1e-9 {
        return Ok(None);
    }
    Ok(Some(Finding::new(&TOO_HOT, Level::Caution, "bank".into(), &[air, most], &SHEET).named(["BK", zone.word()])))
}

/// How many equal oblongs stand on a floor: rows of one lie, the rest of the floor filled with the other.
pub(in crate::engine) fn standing(floor: (f64, f64), unit: (f64, f64)) -> f64 {
    let count = |room: f64, each: f64| ((room + 1e-6) / each.max(1e-3)).floor().max(0.0);
    let one_way = |(l, w): (f64, f64), (a, b): (f64, f64)| {
        let rows = count(w, b);
        let mut most = 0.0_f64;
        let mut used = 0.0;
        while used <= rows {
            let rest = w - used * b;
            most = most.max(used * count(l, a) + count(l, b) * count(rest, a));
            used += 1.0;
        }
        most
    };
    one_way(floor, unit).max(one_way((floor.1, floor.0), unit))
}

fn room(w: &Work<'_>) -> Outcome {
    let bank = &w.context.plan.bank;
    let fields = [
        (&bank.space_l_m, "space_l_m"),
        (&bank.space_w_m, "space_w_m"),
        (&bank.space_h_m, "space_h_m"),
        (&bank.unit_l_m, "unit_l_m"),
        (&bank.unit_w_m, "unit_w_m"),
        (&bank.unit_h_m, "unit_h_m"),
    ];
    let mut sizes = [0.0; 6];
    for (slot, (field, name)) in sizes.iter_mut().zip(fields) {
        let Some(known) = field else { return Ok(None) };
        let Metres(m) = known.at(|| FieldPath::new(format!("bank.{name}")))?;
        *slot = m;
    }
    let [l, width, h, unit_l, unit_w, unit_h] = sizes;
    let tall = unit_h + rule_value(w, "terminal-room-m");
    let count = w.context.series()? * w.context.parallel()?;
    let note = |numbers: &[f64]| Finding::new(&NO_ROOM, Level::Note, "bank".into(), numbers, &COMMON_PRACTICE);
    if tall > h + 1e-6 {
        // Rounded down: one that just does not fit is none.
        let may = ((h - rule_value(w, "terminal-room-m")) * 1000.0 + 1e-6).floor();
        let lower = if may > 0.0 { format!(", of {may} mm at most over their terminals") } else { String::new() };
        return Ok(Some(note(&[tall * 1000.0, h * 1000.0, 1.0]).named([lower])));
    }
    let stand = standing((l, width), (unit_l, unit_w));
    Ok((count > stand).then(|| note(&[count, stand, 0.0])))
}

/// What there is of new batteries and panels beyond one of each, kg.
fn spare_kg(plan: &crate::plan::Plan) -> f64 {
    let bank = || {
        let each = plan.bank.weight_kg.as_ref()?.known()?.0 * plan.bank.series.known()?.0;
        Some(each * (plan.bank.parallel.known()?.0 - 1.0).max(0.0))
    };
    let batteries = bank().filter(|_| plan.bank.state == State::New).unwrap_or(0.0);
    let panels = plan.arrays.iter().filter(|a| a.state == State::New).flat_map(|a| a.strings.0.iter().flatten());
    let kg = |id: &crate::plan::Id| plan.panels.iter().find(|p| p.id == *id)?.weight_kg.known().map(|kg| kg.0);
    let (mut all, mut least) = (0.0, f64::MAX);
    for kg in panels.filter_map(kg) {
        all += kg;
        least = f64::min(least, kg);
    }
    batteries + if all > 0.0 { all - least } else { 0.0 }
}

/// What is left of a job with one battery and one panel, and what one battery may weigh then.
fn heaviest_battery(plan: &crate::plan::Plan, least_kg: f64, margin: f64) -> String {
    let each = || Some(plan.bank.weight_kg.as_ref()?.known()?.0 * plan.bank.series.known()?.0);
    let may = each().filter(|_| plan.bank.state == State::New).map_or(0.0, |kg| kg - (least_kg - margin));
    // Rounded down to what is within.
    let may = (may * 10.0 + 1e-6).floor() / 10.0;
    match plan.bank.series.known() {
        Some(series) if may > 0.0 && series.0 <= 1.0 => {
            format!("{least_kg:.0} kg: a lighter battery, of {may} kg at most")
        }
        Some(series) if may > 0.0 => {
            format!("{least_kg:.0} kg: lighter batteries, {} of {may} kg at most in all", series.0)
        }
        _ => format!("{least_kg:.0} kg: lighter ones"),
    }
}

/// Weight of what is bought new less what is taken out, against the coach's margin. Weights nobody gave count as
/// nothing, so that what is found is true.
fn heavy(w: &Work<'_>) -> Outcome {
    let plan = w.context.plan;
    let Some(margin) = &plan.job.cargo_margin_kg else { return Ok(None) };
    let margin = margin.at(|| "job.cargo_margin_kg".into())?.0;
    let mut sum = 0.0;
    let mut waits: Option<Missing> = None;
    let sign = |s: State| match s {
        State::New => 1.0,
        State::Removed => -1.0,
        State::Existing | State::Abandoned => 0.0,
    };
    let mut parts: Vec<(String, f64)> = Vec::new();
    let mut add = |name: &str, count: f64, weight: Option<&Known<Kilograms>>, path: &dyn Fn() -> FieldPath| {
        if let Some(known) = weight.filter(|_| count != 0.0) {
            match known.at(path) {
                Ok(kg) => {
                    sum += kg.0 * count;
                    match parts.iter_mut().find(|(of, _)| of == name) {
                        Some(part) => part.1 += kg.0 * count,
                        None => parts.push((name.into(), kg.0 * count)),
                    }
                }
                Err(missing) => waits = waits.take().or(Some(missing)),
            }
        }
    };
    for array in plan.arrays.iter().filter(|a| sign(a.state) != 0.0) {
        for id in array.strings.0.iter().flatten() {
            if let Some(p) = plan.panels.iter().find(|p| p.id == *id) {
                let path = || FieldPath::of(&["panels", p.id.as_str(), "weight_kg"]);
                add(array.id.as_str(), sign(array.state), Some(&p.weight_kg), &path);
            }
        }
    }
    let batteries: Figure<f64> = (|| Ok(w.context.series()? * w.context.parallel()?))();
    if let Ok(n) = batteries {
        add("BK", n * sign(plan.bank.state), plan.bank.weight_kg.as_ref(), &|| "bank.weight_kg".into());
    }
    macro_rules! each {
        ($($list:ident),*) => {$(
            for x in &plan.$list {
                let path = || FieldPath::new(format!("{}.{}.weight_kg", stringify!($list), x.id));
                add(x.id.as_str(), sign(x.state), x.weight_kg.as_ref(), &path);
            }
        )*};
    }
    each!(controllers, inverters, chargers, devices);
    if sum > margin {
        parts.arrange_by(|a, b| b.1.total_cmp(&a.1));
        parts.retain(|(_, kg)| *kg > 0.0);
        parts.truncate(HEAVIEST);
        let mut numbers: Vec<f64> = [sum, margin].into_iter().chain(parts.iter().map(|(_, kg)| *kg)).collect();
        let named: Vec<String> = parts.iter().map(|(name, kg)| format!("{name} {kg:.0} kg")).collect();
        let least_kg = sum - spare_kg(plan);
        let least = if least_kg > margin { heaviest_battery(plan, least_kg, margin) } else { String::new() };
        numbers.extend((least_kg > margin).then_some(least_kg));
        let found = Finding::new(&HEAVY, Level::Note, "job".into(), &numbers, &DOOR_LABEL);
        return Ok(Some(found.named([named.join(", "), least])));
    }
    waits.map_or(Ok(None), Err)
}
