//! The next standard size of a field, up or down.

use super::{Units, names};
use crate::plan::Plan;
use crate::plan::edit::check;
use crate::plan::field::{Kind, Meta, Quantity, Record, Value};
use crate::plan::job::LengthUnit;
use crate::plan::path::FieldPath;
use crate::standards::fuse::ratings;
use crate::standards::kinds::FuseFamily;
use crate::units::{METRES_PER_FOOT, METRES_PER_INCH, NEWTONS_PER_POUND};

/// The value one step up or down, or `None` where there is no next.
///
/// Conductor sizes and fuse ratings follow their ladders, words go round, numbers move by a trade step and stay
/// within the field's bounds.
#[must_use]
pub fn step(plan: &Plan, at: &FieldPath, up: bool) -> Option<Value> {
    let (owner_path, key) = at.split_last();
    let owner = plan.record(&owner_path)?;
    let meta = plan.meta(at)?;
    let mut from = owner.get(key)?;
    if meta.kind == Kind::Gauge && from == Value::Nothing {
        // A leg without a size of its own has the run's.
        let (legs, _) = owner_path.split_last();
        let (run, list) = legs.split_last();
        if list == "legs" {
            from = plan.get_at(&run.join("gauge"))?;
        }
    }
    let to = step_in(Units::of(plan), plan, owner, meta, &from, up)?;
    super::fits::fits(plan, at, meta, &to).is_ok().then_some(to)
}

/// [`step`] in any tree of records.
#[must_use]
pub fn step_in(
    units: Units,
    root: &dyn Record,
    owner: &dyn Record,
    meta: &Meta,
    from: &Value,
    up: bool,
) -> Option<Value> {
    let to = match (meta.kind, from) {
        (Kind::Gauge, Value::Gauge(g)) => Value::Gauge(if up { g.thicker() } else { g.thinner() }?),
        (Kind::Words(words), from) => {
            let at = words.iter().position(|w| *from == Value::Word(w));
            Value::Word(words.get(round(at, words.len(), up)?)?)
        }
        (Kind::Ref(lists), from) => {
            let names = names::fitting(root, meta, lists);
            let at = names.iter().position(|n| matches!(from, Value::Id(id) if id.as_str() == n));
            Value::Id(names.get(round(at, names.len(), up)?)?.parse().ok()?)
        }
        (Kind::Number { quantity, .. }, Value::Number(x)) => {
            Value::Number(number(units, owner, meta, quantity, *x, up)?)
        }
        _ => return None,
    };
    (check(meta, &to).is_ok() && to != *from).then_some(to)
}

/// The next index, going round.
fn round(at: Option<usize>, len: usize, up: bool) -> Option<usize> {
    match (at, up) {
        _ if len == 0 => None,
        (None, true) => Some(0),
        (None, false) => Some(len - 1),
        (Some(i), true) => Some((i + 1) % len),
        (Some(i), false) => Some((i + len - 1) % len),
    }
}

fn number(units: Units, owner: &dyn Record, meta: &Meta, quantity: Quantity, x: f64, up: bool) -> Option<f64> {
    let family = || match owner.get("family") {
        Some(Value::Word(w)) => w.parse::<FuseFamily>().ok(),
        _ => None,
    };
    if quantity == Quantity::Amps
        && meta.key == "amps_a"
        && let Some(family) = family()
        && let ladder = ratings(family)
        && !ladder.is_empty()
    {
        return rung(ladder, x, up);
    }
    match meta.key {
        "insulation_c" | "link_insulation_c" => return rung(&INSULATION_C, x, up),
        "terminal_c" => return rung(&TERMINAL_C, x, up),
        _ => {}
    }
    let by = by(units, quantity);
    let moved = if up { x + by } else { x - by };
    Some(match quantity {
        Quantity::Length | Quantity::Size => (moved * 1e4).round() / 1e4,
        _ => (moved * 1e6).round() / 1e6,
    })
}

fn rung(ladder: &[f64], x: f64, up: bool) -> Option<f64> {
    let next = if up { ladder.iter().find(|r| **r > x) } else { ladder.iter().rev().find(|r| **r < x) };
    next.copied()
}

/// How far a step goes, in the stored unit.
fn by(units: Units, quantity: Quantity) -> f64 {
    let feet = units.length == LengthUnit::Feet;
    match quantity {
        Quantity::Length if feet => METRES_PER_FOOT,
        Quantity::Length => 0.25,
        Quantity::Size if feet => METRES_PER_INCH,
        Quantity::Size => 0.01,
        Quantity::Volts | Quantity::Plain | Quantity::Milliohms => 0.1,
        Quantity::Watts => 10.0,
        Quantity::WattHours => 100.0,
        Quantity::AmpHours => 10.0,
        Quantity::Ohms => 0.001,
        Quantity::Hours => 0.5,
        Quantity::PercentPerK => 0.01,
        Quantity::Degrees => 5.0,
        Quantity::Irradiance => 50.0,
        Quantity::Newtons if feet => 10.0 * NEWTONS_PER_POUND,
        Quantity::Newtons => 50.0,
        Quantity::Temperature
        | Quantity::Amps
        | Quantity::Mass
        | Quantity::Count
        | Quantity::Percent
        | Quantity::MillivoltsPerK
        | Quantity::MetresPerSecond
        | Quantity::NewtonMetres
        | Quantity::Money
        | Quantity::OnOff
        | Quantity::Years => 1.0,
    }
}

/// Insulation temperatures that are sold.
/// Source: NEC 310.16 (60, 75, 90 C) and 690.31 (105, 125 C) column heads.
const INSULATION_C: [f64; 5] = [60.0, 75.0, 90.0, 105.0, 125.0];
/// Temperatures that terminals are listed for.
/// Source: NEC 110.14(C) (60, 75 C), and 90 C where a listing says so.
const TERMINAL_C: [f64; 3] = [60.0, 75.0, 90.0];
