//! Steps that set a figure or a place: ratings, limits, where a thing stands, which panels are in a string.

use crate::arrange::Arrange;
use crate::engine::Engine;
use crate::engine::circuit::{Circuit, Node, Role};
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::rule::Rules;
use crate::plan::entry::{self, Units};
use crate::plan::field::Leaf;
use crate::plan::power::ChargerKind;
use crate::plan::{
    Array, BANK_ID, Device, DeviceKind, Edit, FieldPath, Id, Inverter, Months, Plan, Stay, Step, Strings, Value, YesNo,
};
use crate::standards::chemistry::Window;
use crate::standards::fuse::smallest_at_least;
use crate::standards::kinds::{Chemistry, FuseFamily, Mount, Zone};
use crate::stock::Stock;

use super::links;
use super::names;
use super::profiles::{self, Charged};

/// Chargers are sold and set in steps of this, A. Source: common practice.
pub(super) const CHARGER_STEP_A: f64 = 5.0;
/// Hottest air is given in steps of this, C. Source: common practice.
const AMBIENT_STEP_C: f64 = 5.0;
/// Usual continuous ratings of switches, bus bars, shunts and converters, A.
/// Source: common practice, what is sold; from memory.
const RATED_A: [f64; 16] =
    [10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 80.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0, 500.0, 600.0];
/// Usual continuous ratings of inverters, W. Source: common practice, what is sold; from memory.
const INVERTERS_W: [f64; 10] = [300.0, 500.0, 700.0, 1000.0, 1500.0, 2000.0, 2500.0, 3000.0, 4000.0, 5000.0];
/// What the label of a lithium battery for a system of 12 V says, V. Source: four cells of 3.2 V.
const LITHIUM_LABEL_V: f64 = 12.8;
/// An inverter's surge is given in steps of this, W. Source: common practice.
const SURGE_STEP_W: f64 = 100.0;
/// Places that are offered, the usual one first. Source: common practice.
const PLACES: [Zone; 3] = [Zone::Cabinet, Zone::Basement, Zone::BatteryBox];

/// The steps for a finding; none where this file knows none.
pub(super) fn steps(plan: &Plan, list: &str, id: &str, finding: &Finding) -> Option<Vec<Step>> {
    let set = |field: &str, to: Value, name: String| {
        let at = if list == "bank" { format!("bank.{field}") } else { format!("{list}.{id}.{field}") };
        Step::one(name, Edit::Set { at: FieldPath::new(at), to })
    };
    Some(match finding.check.id {
        "discharge-over-limit" => more_batteries(plan, finding),
        "inverter-over-discharge-limit" | "inverter-surge-over-peak" => {
            let mut all = more_batteries(plan, finding);
            all.extend(smaller_inverter(plan, id, finding));
            all
        }
        "device-below-current" => {
            super::volts::breaker(plan, id, finding).or_else(|| larger(plan, id, finding.n(0))).into_iter().collect()
        }
        "volts-behind-converter" => super::converter::lowered(plan, id).into_iter().collect(),
        "converter-over-limit" => larger(plan, id, finding.n(0)).into_iter().collect(),
        "loads-over-inverter" => {
            let next = INVERTERS_W.into_iter().filter(|w| *w >= finding.n(2) - 1e-9);
            next.map(|w| set("watts_w", Value::Number(w), format!("{id}: another, of {w} W"))).collect()
        }
        "vehicle-volts-differ" => one_vehicle(plan, id, finding),
        "alternator-not-found" => {
            let at = || FieldPath::new(format!("chargers.{id}.alternator"));
            vec![Step::one(format!("{id} alternator: that on its line"), Edit::Set { at: at(), to: Value::Nothing })]
        }
        "current-overridden-without-reason" => {
            let name = format!("{}: what its circuit comes to", finding.name(0));
            vec![Step::one(name, Edit::Set { at: finding.subject.clone(), to: Value::Nothing })]
        }
        "rule-out-of-bounds" => {
            let bound = finding.n(0).clamp(finding.n(1), finding.n(2));
            vec![set("value", Value::Number(bound), format!("{id}: {bound}"))]
        }
        "rule-not-known" | "rule-changed-without-reason" | "rule-changed-twice" => vec![less_changed(id, finding)],
        "no-such-name" => names::steps(plan, finding),
        "months-in-two-stays" => one_stay(plan, id, finding.name(1)),
        "alternator-overdrawn" => {
            let amps = |id: &str| Some(plan.chargers.iter().find(|c| c.id.as_str() == id)?.out_a.known()?.0);
            let others: f64 = finding.name(1).split(" and ").filter_map(amps).sum();
            let share = Rules::of(plan).alternator_share_pct / finding.n(0).max(1e-9);
            // The others of its alternator stay as they are.
            let most = (((amps(id)? + others) * share - others) / CHARGER_STEP_A).floor() * CHARGER_STEP_A;
            let step = || set("out_a", Value::Number(most), format!("{id}: {most} A, another or set lower"));
            (most >= CHARGER_STEP_A).then(step).into_iter().collect()
        }
        "device-too-hot" => elsewhere(plan, list, id, finding.n(0)),
        "sparks-by-battery" | "sparks-by-gas" if list != "runs" => without_sparks(plan, list, id),
        "sparks-by-battery" | "sparks-by-gas" => plain_fuses(plan, id).into_iter().collect(),
        "feet-tilted" => tilted_or_flat(plan, id, finding),
        "bank-by-gas" => {
            places(plan).map(|z| set("zone", Value::Word(z.word()), format!("batteries moved: {z}"))).collect()
        }
        "flooded-unvented" => vec![vented()],
        "vents-small" => {
            let wanted = finding.n(1).ceil();
            vec![set("vent_area_cm2", Value::Number(wanted), format!("vents: {wanted} cm2 each"))]
        }
        "charge-lost-to-cold" => {
            vec![set("heated", Value::Word(YesNo::Yes.word()), "batteries moved: into the heated living space".into())]
        }
        "series-over-limit" | "bank-cut-off-high" | "float-above-absorption" | "sun-above-air" => {
            mistyped(plan, list, id, finding)?
        }
        "unlike-panels" if list == "arrays" => alike(plan, id),
        "run-to-itself" if finding.name(1) == BANK_ID => {
            plan.runs.iter().filter(|r| r.id.as_str() == id).filter_map(|r| links::of_run(plan, r)).collect()
        }
        "run-to-itself" => {
            vec![Step::one(
                format!("{id} removed: it leads nowhere"),
                Edit::Remove { at: FieldPath::new(format!("runs.{id}")) },
            )]
        }
        _ => return None,
    })
}

/// What sparks moved to where it may; or of contacts that are opened by hand one that does not spark: bought, or found on the sheet of
/// what is there.
fn without_sparks(plan: &Plan, list: &str, id: &str) -> Vec<Step> {
    use DeviceKind::{Breaker, Disconnect, Isolator, Switch};
    let set = |field: &str, to: Value, name: String| {
        Step::one(name, Edit::Set { at: FieldPath::new(format!("{list}.{id}.{field}")), to })
    };
    let apart = places(plan).filter(|z| plan.bank.zone != Some(*z));
    let moved = apart.map(|z| set("zone", Value::Word(z.word()), format!("{id} moved: {z}")));
    let contacts =
        |d: &&Device| d.id.as_str() == id && matches!(d.kind.known(), Some(Switch | Breaker | Disconnect | Isolator));
    let name = || format!("{id}: one whose sheet says ignition protected");
    let sealed = plan.devices.iter().find(contacts);
    moved.chain(sealed.map(|_| set("ratings.sparks", Value::Word(YesNo::No.word()), name()))).collect()
}

/// Panels on feet that stays have a tilt for: a mount that is tilted up; else, where none of the others is, no tilt.
fn tilted_or_flat(plan: &Plan, array: &str, finding: &Finding) -> Vec<Step> {
    let at = FieldPath::new(format!("arrays.{array}.mount"));
    let up = Step::one(
        format!("{array}: of a mount that is tilted up"),
        Edit::Set { at, to: Value::Word(Mount::Tilted.word()) },
    );
    let others = plan.arrays.iter().filter(|a| a.state.stays() && a.mount == Mount::Tilted);
    let flat = |stay: &str| Edit::Set { at: FieldPath::new(format!("stays.{stay}.tilt_deg")), to: Value::Number(0.0) };
    let edits = finding.name(1).split(", ").map(flat).collect();
    let name = format!("{}: no tilt, as {array} lies flat", finding.name(1));
    let flat = (others.count() == 0).then_some(Step { name, edits });
    [up].into_iter().chain(flat).collect()
}

/// Lithium in the cold: its cut-off where it charges from, if it has one that is lower, or a warmer place; a start battery of lead in
/// its place, which may be charged as cold as that.
pub(super) fn uncharged_cold(plan: &Plan, finding: &Finding) -> Vec<Step> {
    let set = |field: &str, to: Value| Edit::Set { at: finding.subject.join(field), to };
    let least_c = finding.n(1);
    let cut_off = || {
        let of = if finding.name(3).is_empty() { String::new() } else { format!(" of {}", finding.name(3)) };
        let name = format!("management unit{of}: no charge below {least_c} C, where it can be set so");
        Step::one(entry::said(Units::of(plan), &name, &[least_c]), set("charge_cutoff_c", Value::Number(least_c)))
    };
    let cut_off = (finding.name(0) == "low").then(cut_off);
    let heated = set("heated", Value::Word(YesNo::Yes.word()));
    let moved = match finding.name(3) {
        "" => vec![Step::one("batteries moved: into the heated living space", heated)],
        id => vec![
            Step::one(format!("{id}: another, AGM"), set("chemistry", Value::Word(Chemistry::Agm.word()))),
            Step::one(format!("{id} moved: into the heated living space"), heated),
        ],
    };
    cut_off.into_iter().chain(moved).collect()
}

/// Figures that may have been mistyped, as they usually are.
fn mistyped(plan: &Plan, list: &str, id: &str, finding: &Finding) -> Option<Vec<Step>> {
    let set = |at: String, to: Value, name: String| vec![Step::one(name, Edit::Set { at: FieldPath::new(at), to })];
    Some(match finding.check.id {
        "series-over-limit" => {
            let most = Some(finding.n(1)).filter(|most| *most > 0.0)?;
            let name = format!("batteries: {most} in series, as their maker allows");
            set("bank.series".into(), Value::Number(most), name)
        }
        "bank-cut-off-high" => {
            let each_v = (finding.n(1) / plan.bank.series.known()?.0.max(1.0) * 10.0).floor() / 10.0;
            let name = format!("management unit: off at {each_v:.1} V each, where it can be set so");
            set("bank.discharge_cutoff_v".into(), Value::Number(each_v), name)
        }
        "sun-above-air" => {
            let name = format!("{id}: the sun of its climate, not its own figures");
            set(format!("stays.{id}.sun_kwh_m2_day"), Value::Nothing, name)
        }
        _ => float_below(plan, list, id, finding),
    })
}

/// Float and absorption exchanged, as they may have been mistyped; else float at the top of what is usual, or at absorption
/// where that is less; else absorption as it is usual.
fn float_below(plan: &Plan, list: &str, id: &str, finding: &Finding) -> Vec<Step> {
    let (float, absorb) = (finding.n(0), finding.n(1));
    let volts =
        |field: &str, v: f64| Edit::Set { at: FieldPath::new(format!("{list}.{id}.{field}")), to: Value::Number(v) };
    let exchanged = Step {
        name: format!("{id}: absorb {float} V and float {absorb} V, exchanged"),
        edits: vec![volts("absorb_v", float), volts("float_v", absorb)],
    };
    let mut steps = Vec::new();
    if let Some(Charged { row, twelves, start, .. }) = profiles::charged(plan, id) {
        let usual = |w: &Window, v: f64| v >= w.least * twelves - 1e-6 && v <= w.most * twelves + 1e-6;
        if usual(&row.absorb_v, float) && usual(&row.float_v, absorb) {
            steps.push(exchanged);
        }
        let float = (row.float_v.most * twelves).min(absorb);
        if usual(&row.float_v, float) {
            steps.push(Step::one(format!("{id}: float {float} V"), volts("float_v", float)));
        }
        // As another source absorbs; one that is alone at the least that is usual.
        let same = |other: &Id| {
            other.as_str() != id && profiles::charged(plan, other.as_str()).is_some_and(|c| c.start == start)
        };
        let others = plan.controllers.iter().filter(|k| same(&k.id)).map(|k| k.absorb_v);
        let others = others.chain(plan.chargers.iter().filter(|k| same(&k.id)).map(|k| k.absorb_v));
        let other = others.filter_map(|v| v.known().map(|v| v.0)).find(|v| *v >= finding.n(0));
        let absorb = other.unwrap_or(row.absorb_v.least * twelves);
        steps.push(Step::one(format!("{id}: absorb {absorb} V"), volts("absorb_v", absorb)));
    }
    steps
}

/// A switch, bus bar, shunt or converter that is made for a current.
pub(super) fn larger(plan: &Plan, device: &str, amps: f64) -> Option<Step> {
    let device = plan.devices.iter().find(|d| d.id.as_str() == device)?;
    // Tow connectors are not made in such steps.
    let rated = RATED_A.into_iter().find(|a| *a >= amps && device.kind.known() != Some(&DeviceKind::Tow))?;
    let at = FieldPath::of(&["devices", device.id.as_str(), "ratings", "amps_a"]);
    Some(Step::one(format!("{}: another, made for {rated} A", device.id), Edit::Set { at, to: Value::Number(rated) }))
}

/// The battery of the volts of what charges it, or that of the battery's: which of the two was entered wrong the label tells.
fn one_vehicle(plan: &Plan, battery: &str, finding: &Finding) -> Vec<Step> {
    let (own_v, others_v, other) = (finding.n(0), finding.n(1), finding.name(1));
    let Some(device) = plan.devices.iter().find(|d| d.id.as_str() == battery) else { return Vec::new() };
    let lithium = device.chemistry.as_ref().and_then(|k| k.known()).is_some_and(|c| c.is_lithium());
    let label_v = if lithium { others_v / 12.0 * LITHIUM_LABEL_V } else { others_v };
    let field = if device.unit_v.is_some() { "unit_v" } else { "ratings.volts_dc_v" };
    let at = FieldPath::new(format!("devices.{battery}.{field}"));
    let first = Step::one(format!("{battery}: a battery of {label_v} V"), Edit::Set { at, to: Value::Number(label_v) });
    let second = if plan.devices.iter().any(|d| d.id.as_str() == other) {
        let at = FieldPath::new(format!("devices.{other}.ratings.volts_dc_v"));
        Step::one(format!("{other}: one of {own_v} V"), Edit::Set { at, to: Value::Number(own_v) })
    } else {
        let at = FieldPath::new(format!("chargers.{other}.alternator_low_v"));
        Step::one(format!("{other} alternator low: left out"), Edit::Set { at, to: Value::Nothing })
    };
    vec![first, second]
}

/// Months of two stays left to one of them: to the one they were counted in, or to the other.
fn one_stay(plan: &Plan, later: &str, first: &str) -> Vec<Step> {
    let of = |id: &str| plan.stays.iter().find(|s| s.id.as_str() == id);
    let (Some(a), Some(b)) = (of(first), of(later)) else { return Vec::new() };
    let less = |stay: &Stay, other: &Stay| {
        let months = Months(stay.months.0 & !other.months.0);
        let at = FieldPath::of(&["stays", stay.id.as_str()]);
        if months.0 == 0 {
            return Step::one(
                format!("{} removed: its months are those of {}", stay.id, other.id),
                Edit::Remove { at },
            );
        }
        let to = Value::Text(months.to_string());
        Step::one(format!("{} months: {months}", stay.id), Edit::Set { at: at.join("months"), to })
    };
    vec![less(b, a), less(a, b)]
}

/// Places for what may not stand where it does, cool ones first.
fn places(plan: &Plan) -> impl Iterator<Item = Zone> {
    let rules = Rules::of(plan);
    let mut all = PLACES;
    all.arrange_by(|a, b| rules.ambient(*a).total_cmp(&rules.ambient(*b)));
    all.into_iter()
}

/// Places for what its own gets too hot for, that of the batteries last; then another that stands the air there.
fn elsewhere(plan: &Plan, list: &str, id: &str, reaches_c: f64) -> Vec<Step> {
    let (who, at) = if list == "bank" { ("batteries", "bank.zone".into()) } else { (id, format!("{list}.{id}.zone")) };
    let mut all: Vec<Zone> = places(plan).collect();
    all.arrange_by_key(|z| list != "bank" && plan.bank.zone == Some(*z));
    let step = |z: Zone| {
        let edit = Edit::Set { at: FieldPath::new(at.clone()), to: Value::Word(z.word()) };
        Step::one(format!("{who} moved: {z}"), edit)
    };
    let stands = (reaches_c / AMBIENT_STEP_C - 1e-9).ceil() * AMBIENT_STEP_C;
    let at = FieldPath::new(format!("{list}.{id}.ratings.max_ambient_c"));
    let name = format!("{id}: another, that works up to {stands:.0} C");
    let another = Step::one(name, Edit::Set { at, to: Value::Number(stands) });
    all.into_iter().map(step).chain((list != "bank").then_some(another)).collect()
}

/// DC-DC chargers of less output, which draw less through what feeds them: the largest that does is offered.
pub(super) fn smaller_chargers(c: &Context<'_>, index: usize, finding: &Finding) -> Vec<Step> {
    let feeds = c.circuit.links.get(index).is_some_and(|l| l.role == Role::ChargerInput);
    if finding.check.id != "fuse-below-design" || !feeds {
        return Vec::new();
    }
    let dc_dc = |c: &&crate::plan::Charger| c.state.stays() && c.kind.known() == Some(&ChargerKind::DcDc);
    c.plan.chargers.iter().filter(dc_dc).flat_map(lower).collect()
}

/// A charger of every output less, the largest first.
fn lower(c: &crate::plan::Charger) -> impl Iterator<Item = Step> + use<> {
    let (id, now) = (c.id.clone(), c.out_a.known().map_or(0.0, |a| a.0));
    let sizes = (1..=(now / CHARGER_STEP_A).ceil() as u32).rev().map(|n| f64::from(n) * CHARGER_STEP_A);
    let smaller = sizes.filter(move |a| *a < now - 1e-9);
    smaller.map(move |amps| {
        let at = FieldPath::new(format!("chargers.{id}.out_a"));
        Step::one(format!("{id}: {amps} A, another or set lower"), Edit::Set { at, to: Value::Number(amps) })
    })
}

/// A charger of less output, which its line may be enough for.
pub(super) fn lesser_charger(plan: &Plan, id: &str) -> Vec<Step> {
    plan.chargers.iter().filter(|c| c.id.as_str() == id).flat_map(lower).collect()
}

/// As many more batteries in parallel as bring the limit up to what is asked of it; the limit goes with their number. Those on
/// leads of their own come with leads like those that there are.
pub(super) fn more_batteries(plan: &Plan, finding: &Finding) -> Vec<Step> {
    let now = plan.bank.parallel.known().map_or(0.0, |n| n.0);
    // A surge that is too much by itself comes with what else is drawn beside it.
    let drawn = finding.n(0).max(if finding.check.id == "inverter-surge-over-peak" { finding.n(2) } else { 0.0 });
    let wanted = (now * drawn / finding.n(1).max(1e-9) - 1e-9).ceil();
    if now <= 0.0 || wanted <= now {
        return Vec::new();
    }
    let at = FieldPath::new("bank.parallel");
    let mut step = Step::one(format!("batteries: {wanted} in parallel"), Edit::Set { at, to: Value::Number(wanted) });
    let (circuit, _) = Circuit::of(plan);
    if let Some((name, leads)) = super::alike::more_leads(plan, &circuit, (wanted - now) as usize) {
        step.name.push_str(&name);
        step.edits.extend(leads);
    }
    vec![step]
}

/// An inverter of fewer watts in the place of one that draws more than the packs give.
fn smaller_inverter(plan: &Plan, id: &str, finding: &Finding) -> Option<Step> {
    let inverter = plan.inverters.iter().find(|i| i.id.as_str() == id)?;
    let now = inverter.watts_w.known()?.0;
    if finding.check.id == "inverter-over-discharge-limit" {
        let share = finding.n(1) / finding.n(0).max(1e-9);
        let watts = INVERTERS_W.into_iter().rev().find(|w| *w <= now * share + 1e-9)?;
        return Some(of_watts(inverter, watts));
    }
    // What it may surge to, beside what else is drawn, is a limit that it is chosen by.
    let (peak, all, alone) = (finding.n(1), finding.n(2), finding.n(3));
    let share = ((peak - (all - alone)) / alone.max(1e-9)).max(0.0);
    let surge = (inverter.surge_w.as_ref()?.known()?.0 * share / SURGE_STEP_W + 1e-9).floor() * SURGE_STEP_W;
    let watts = INVERTERS_W.into_iter().rev().find(|w| *w <= now.min(surge) + 1e-9)?.min(now);
    let at = |field: &str| FieldPath::new(format!("inverters.{id}.{field}"));
    Some(Step {
        name: format!("{id}: another, of {watts} W that surges to {surge} W at most"),
        edits: vec![
            Edit::Set { at: at("watts_w"), to: Value::Number(watts) },
            Edit::Set { at: at("surge_w"), to: Value::Number(surge) },
        ],
    })
}

/// Another inverter; what that one surges to is its own sheet's.
fn of_watts(inverter: &Inverter, watts: f64) -> Step {
    let at = |field: &str| FieldPath::of(&["inverters", inverter.id.as_str(), field]);
    let mut edits = vec![Edit::Set { at: at("watts_w"), to: Value::Number(watts) }];
    let mut name = format!("{}: another, of {watts} W", inverter.id);
    if inverter.surge_w.as_ref().is_some_and(|k| k.known().is_some()) {
        edits.push(Edit::Set { at: at("surge_w"), to: Value::Unknown });
        name.push_str(", its surge to be entered");
    }
    Step { name, edits }
}

/// Inverters of fewer watts, which draw less through what feeds them: the largest that does is offered.
pub(super) fn smaller_inverters(c: &Context<'_>, index: usize, finding: &Finding) -> Vec<Step> {
    let by_amps = ["fuse-below-design", "conductor-below-current"].contains(&finding.check.id);
    let link = c.circuit.links.get(index).filter(|_| by_amps);
    let fed = |i: usize| link.is_some_and(|l| l.away.contains(&Node::Inverter(i)));
    let all = c.plan.inverters.iter().enumerate().filter(|(i, x)| x.state.stays() && fed(*i));
    let less = |x: &Inverter| {
        let now = x.watts_w.known().map_or(0.0, |w| w.0);
        let sizes = INVERTERS_W.into_iter().rev().filter(move |w| *w < now - 1e-9);
        sizes.map(|w| of_watts(x, w)).collect::<Vec<_>>()
    };
    all.flat_map(|(_, x)| less(x)).collect()
}

/// The space vented; how large its vents are is to be measured.
fn vented() -> Step {
    let set = |field: &str, to: Value| Edit::Set { at: FieldPath::of(&["bank", field]), to };
    let edits = vec![set("vented", Value::Word(YesNo::Yes.word())), set("vent_area_cm2", Value::Unknown)];
    Step { name: "vented: vapour-tight to the inside, its vents to be measured".into(), edits }
}

/// Fuses in place of the breakers of a run, of the same amps or the next that their family has.
fn plain_fuses(plan: &Plan, run: &str) -> Option<Step> {
    let run = plan.runs.iter().find(|r| r.id.as_str() == run)?;
    let breakers = run.protection.iter().filter(|p| p.family.known() == Some(&FuseFamily::Breaker));
    let mut edits = Vec::new();
    for p in breakers {
        let amps = smallest_at_least(FuseFamily::ClassT, p.amps_a.known()?.0)?;
        let set = |field: &str, to: Value| Edit::Set {
            at: FieldPath::of(&["runs", run.id.as_str(), "protection", p.id.as_str(), field]),
            to,
        };
        edits.push(set("family", Value::Word(FuseFamily::ClassT.word())));
        edits.push(set("amps_a", Value::Number(amps)));
        edits.extend([set("volts_dc_v", Value::Nothing), set("interrupt_a", Value::Nothing)]);
        edits.push(set("resets", Value::Word(crate::plan::wiring::Resets::No.word())));
    }
    (!edits.is_empty()).then(|| Step { name: format!("{}: a fuse, no breaker", run.id), edits })
}

/// Panels of one kind to a string, as far as they go into the strings that are there; and all of one of their kinds.
pub(super) fn alike(plan: &Plan, array: &str) -> Vec<Step> {
    let Some(a) = plan.arrays.iter().find(|a| a.id.as_str() == array) else { return Vec::new() };
    let mut kinds: Vec<(Id, usize)> = Vec::new();
    for id in a.strings.0.iter().flatten() {
        match kinds.iter_mut().find(|(kind, _)| kind == id) {
            Some((_, n)) => *n += 1,
            None => kinds.push((id.clone(), 1)),
        }
    }
    let set = |strings: Strings, name: String| {
        let at = FieldPath::new(format!("arrays.{array}.strings"));
        Step::one(name, Edit::Set { at, to: strings.to_value() })
    };
    let mut steps = Vec::new();
    let series = a.strings.series();
    if series > 0 && a.strings.0.iter().all(|s| s.len() == series) && kinds.iter().all(|(_, n)| n % series == 0) {
        let of = |(id, n): &(Id, usize)| vec![vec![id.clone(); series]; n / series];
        let strings = Strings(kinds.iter().flat_map(of).collect());
        steps.push(set(strings.clone(), format!("{array} sorted: {strings}")));
    }
    // Any kind may be the one that is kept: of the most watts first.
    let watts = |id: &Id| plan.panels.iter().find(|p| p.id == *id).and_then(|p| p.pmax_w.known()).map_or(0.0, |w| w.0);
    kinds.arrange_by(|a, b| watts(&b.0).total_cmp(&watts(&a.0)));
    for (kind, _) in &kinds {
        let strings = Strings(a.strings.0.iter().map(|s| vec![kind.clone(); s.len()]).collect());
        steps.push(set(strings.clone(), format!("{array} of {kind} alone: {strings}")));
        steps.extend(without_others(a, kind));
    }
    steps
}

/// An array without the panels that are not of a kind, where its strings are alike then.
fn without_others(array: &Array, kind: &Id) -> Option<Step> {
    let of_kind = |s: &Vec<Id>| s.iter().filter(|id| *id == kind).cloned().collect::<Vec<_>>();
    let strings = Strings(array.strings.0.iter().map(of_kind).filter(|s| !s.is_empty()).collect());
    let alike = strings.0.iter().all(|s| s.len() == strings.series());
    let name = format!("{} of its {kind} alone: {strings}", array.id);
    (alike && strings.series() > 0).then(|| Step { name, edits: super::placed::restrung(array, &strings) })
}

/// Steps by what they harvest in a year, the most first; of one that harvests less than the plan as it is that is said.
pub(super) fn by_the_year(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    steps: Vec<Step>,
) -> Vec<Step> {
    let is_said = finding.check.id == "unlike-panels";
    let kwh = |r: &Report| r.year.lived.harvest_kwh.as_ref().ok().copied();
    let mut all: Vec<(f64, Step)> = Vec::new();
    for mut step in steps {
        let after = plan.with(&step).ok().and_then(|with| kwh(&engine.evaluate_figures(&with, stock)));
        if let (Some(now), Some(then)) = (kwh(before), after)
            && is_said
            && now - then >= 0.5
        {
            step.name.push_str(&format!(", {:.0} kWh {} less", now - then, before.year.lived.when()));
        }
        all.push((after.unwrap_or(0.0), step));
    }
    all.arrange_by(|a, b| b.0.total_cmp(&a.0));
    // What harvests less than the plan does is none where something harvests more.
    if let Some(now) = kwh(before).filter(|now| is_said && all.first().is_some_and(|best| best.0 >= *now)) {
        all.retain(|(then, _)| *then >= now);
    }
    all.into_iter().map(|(_, step)| step).collect()
}

/// A change of a rule taken out; of several the first, as the last is the one in force.
fn less_changed(id: &str, finding: &Finding) -> Step {
    let name = match finding.check.id {
        "rule-changed-twice" => format!("{id}: the earlier change taken out"),
        _ => format!("{id}: no longer changed"),
    };
    Step::one(name, Edit::Remove { at: FieldPath::new(format!("rules.{id}")) })
}
