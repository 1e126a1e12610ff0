//! Another device or fuse where one is not made for the volts of its circuit.

use crate::engine::arrays;
use crate::engine::circuit::{Circuit, Role};
use crate::engine::resistance::{fuse_path, fuses};
use crate::engine::rule::Rules;
use crate::plan::wiring::Resets;
use crate::plan::{DeviceKind, Edit, FieldPath, Plan, Step, Value};
use crate::standards::fuse::{dc_rating_at_least, ratings, smallest_at_least};
use crate::standards::kinds::FuseFamily;

use super::super::finding::Finding;
use super::strings;

/// A switch, breaker, disconnect, bus or inverter of the next usual DC rating. Chargers are chosen by more than that.
/// No inverter is made for panels' volts: what brings them there is led to their controller.
pub(super) fn device(plan: &Plan, (list, id): (&str, &str), finding: &Finding) -> Vec<Step> {
    if list == "inverters" {
        let (circuit, _) = Circuit::of(plan);
        let led: Vec<Step> =
            plan.arrays.iter().filter_map(|a| super::book::led(plan, &circuit, a.id.as_str())).collect();
        if !led.is_empty() || finding.n(1) > INVERTERS_V {
            return led;
        }
    }
    let Some(volts) = dc_rating_at_least(finding.n(1)) else { return Vec::new() };
    let at = FieldPath::new(format!("{list}.{id}.ratings.volts_dc_v"));
    vec![Step::one(format!("{id}: another, made for {volts} V DC"), Edit::Set { at, to: Value::Number(volts) })]
}

/// The most DC volts that inverters of coaches are made for, V. Source: common practice, those for banks of 48 V; from memory.
const INVERTERS_V: f64 = 68.0;

/// Fault currents that DC breakers of battery circuits are sold for, A. Source: common practice, from memory.
const OPENS_A: [f64; 5] = [1500.0, 3000.0, 5000.0, 10_000.0, 20_000.0];

/// Another breaker in place of one drawn as a device.
pub(super) fn breaker(plan: &Plan, id: &str, finding: &Finding) -> Option<Step> {
    if finding.check.id == "interrupt-below-fault" { opens(id, finding) } else { carries(plan, id, finding) }
}

/// A breaker that opens the fault at its place.
fn opens(id: &str, finding: &Finding) -> Option<Step> {
    let amps = OPENS_A.into_iter().find(|a| *a >= finding.n(3))?;
    let at = FieldPath::new(format!("devices.{id}.ratings.interrupt_a"));
    Some(Step::one(
        format!("{id}: another, that opens {} kA", amps / 1000.0),
        Edit::Set { at, to: Value::Number(amps) },
    ))
}

/// A breaker of the next rating that carries what flows through it.
fn carries(plan: &Plan, id: &str, finding: &Finding) -> Option<Step> {
    let device = plan.devices.iter().find(|d| d.id.as_str() == id)?;
    let wants_a = finding.numbers.get(2).copied().filter(|_| device.kind.known() == Some(&DeviceKind::Breaker))?;
    let amps = smallest_at_least(FuseFamily::Breaker, wants_a)?;
    let at = FieldPath::new(format!("devices.{id}.ratings.amps_a"));
    Some(Step::one(format!("{id}: another, of {amps} A"), Edit::Set { at, to: Value::Number(amps) }))
}

/// A breaker of the next usual DC rating; on a PV circuit a string fuse in place of any other, or a breaker where none is as
/// large.
pub(super) fn fuse(plan: &Plan, run: &str, finding: &Finding) -> Option<Step> {
    let index = plan.runs.iter().position(|r| r.id.as_str() == run)?;
    let run = plan.runs.get(index)?;
    let fuse = fuses(run).find(|f| f.id.as_str() == finding.name(1))?;
    let set = |field: &str, to: Value| Edit::Set { at: fuse_path(run, fuse, field), to };
    if fuse.family.known() == Some(&FuseFamily::Breaker) {
        let volts = dc_rating_at_least(finding.n(1))?;
        let name = format!("{} {}: another, made for {volts} V DC", run.id, fuse.id);
        return Some(Step::one(name, set("volts_dc_v", Value::Number(volts))));
    }
    let (circuit, _) = Circuit::of(plan);
    if circuit.links.get(index).is_none_or(|l| l.role != Role::Array) {
        return None;
    }
    let rating = fuse.amps_a.known()?.0;
    let alone = arrays::alone_on(plan, &circuit, index);
    let label_a = alone.and_then(|array| arrays::series_fuse_a(plan, array));
    // What the panels' label allows is the most, whatever was there.
    let most_a = label_a.unwrap_or(f64::MAX);
    let below = || label_a.and_then(|most| ratings(FuseFamily::Gpv).iter().copied().rev().find(|a| *a <= most));
    let least_a = alone.map_or(0.0, |a| arrays::string_fuse_least_a(plan, a, Rules::of(plan).string_fuse_factor));
    if label_a.is_some() && below().is_none_or(|a| a < least_a - 1e-9) {
        let mut step = strings::out_of(run, fuse);
        step.name
            .push_str(&format!("; no fuse of {least_a:.1} A, as it wants, is within the {most_a} A of their label"));
        return Some(step);
    }
    let Some(amps) = smallest_at_least(FuseFamily::Gpv, rating).filter(|a| *a <= most_a).or_else(below) else {
        // Above the largest string fuse a breaker.
        let (volts, amps) = (dc_rating_at_least(finding.n(1))?, smallest_at_least(FuseFamily::Breaker, rating)?);
        let mut edits = vec![
            set("family", Value::Word(FuseFamily::Breaker.word())),
            set("amps_a", Value::Number(amps)),
            set("volts_dc_v", Value::Number(volts)),
            set("resets", Value::Word(Resets::Manual.word())),
        ];
        if fuse.interrupt_a.is_some() {
            edits.push(set("interrupt_a", Value::Unknown));
        }
        return Some(Step { name: format!("{} {}: a DC breaker of {amps} A, {volts} V", run.id, fuse.id), edits });
    };
    let mut edits = vec![set("family", Value::Word(FuseFamily::Gpv.word())), set("amps_a", Value::Number(amps))];
    for (own, field) in [(fuse.volts_dc_v.is_some(), "volts_dc_v"), (fuse.interrupt_a.is_some(), "interrupt_a")] {
        if own {
            edits.push(set(field, Value::Nothing));
        }
    }
    Some(Step { name: format!("{} {}: {amps} A {}", run.id, fuse.id, FuseFamily::Gpv), edits })
}
