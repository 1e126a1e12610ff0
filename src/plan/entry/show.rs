//! Values as they stand in the fields, in the plan's units.

use super::Units;
use super::unit::{KG_PER_METRE, NM_PER_LBF_IN, PER_METRE, always_celsius};
use crate::plan::field::{Kind, Meta, Quantity, Value};
use crate::plan::job::{LengthUnit, TemperatureUnit};
use crate::plan::lists::Monthly;
use crate::plan::rules::on_or_off;
use crate::units::{KG_PER_POUND, METRES_PER_FOOT, METRES_PER_INCH, NEWTONS_PER_POUND};

/// Lengths are rounded to 0.1 mm, temperatures to 0.0001 C, weights to 0.1 g and forces to 0.1 mN when read, so two texts mean the same when this is
/// the same.
fn ten_thousandths(x: f64) -> f64 {
    (x * 1e4).round()
}

/// What is thinner is not measured by tape: a sixteenth of an inch, to which that is read, is a tenth of it. Source: our own choice.
const LEAST_BY_TAPE_M: f64 = 0.625 * METRES_PER_INCH;

/// What is left of a spool of wire.
const LEFT: &str = "left_m";

/// A value as text in the plan's units; what it gives is read back as the same value (lengths to 0.1 mm).
#[must_use]
pub fn show(units: Units, meta: &Meta, value: &Value) -> String {
    match (value, meta.kind) {
        (Value::Number(x), Kind::Number { quantity, .. }) => number(units, meta.key, quantity, *x),
        (Value::Text(t), Kind::Monthly { quantity: Quantity::Temperature, .. }) => {
            t.parse().map_or_else(|_| t.clone(), |monthly| temperatures(units, meta.key, monthly))
        }
        _ => show_plain(meta, value),
    }
}

/// A value as it is read on a form: the size of a thing that is no round one as closely as a tape shows it, to the eighth of an
/// inch; sheet and what else is thin as it was typed. What the plan keeps is what [`show`] gives.
#[must_use]
pub fn seen(units: Units, meta: &Meta, value: &Value) -> String {
    let text = show(units, meta, value);
    match (value, meta.kind) {
        // What was typed by the foot, as a person would say it: cents, and four digits of weight.
        (Value::Number(x), _)
            if [PER_METRE, KG_PER_METRE].contains(&meta.key)
                && units.length == LengthUnit::Metres
                && trimmed(*x, 4) != plain_number(*x) =>
        {
            let places = if meta.key == PER_METRE { 100.0 } else { 10_000.0 };
            show(units, meta, &Value::Number((x * places).round() / places))
        }
        // What is left on a spool nobody measures closer.
        (Value::Number(x), Kind::Number { quantity: Quantity::Length, .. })
            if meta.key == LEFT && units.length == LengthUnit::Feet && x.abs() >= METRES_PER_FOOT =>
        {
            show(units, meta, &Value::Number((x / METRES_PER_INCH).round() * METRES_PER_INCH))
        }
        (Value::Number(x), Kind::Number { quantity: Quantity::Size, .. })
            if units.length == LengthUnit::Feet
                && x.abs() >= LEAST_BY_TAPE_M
                && text.split_once('.').is_some_and(|(_, part)| digits(part) > 1) =>
        {
            let eighths = (x / METRES_PER_INCH * 8.0).round();
            show(units, meta, &Value::Number(eighths / 8.0 * METRES_PER_INCH))
        }
        _ => text,
    }
}

/// Twelve temperatures with their unit behind the last.
fn temperatures(units: Units, key: &str, Monthly(all): Monthly) -> String {
    let each = all.map(|x| number(units, key, Quantity::Temperature, x));
    let unit = each.last().and_then(|last| last.rsplit_once(' ')).map_or("", |(_, unit)| unit);
    let bare: Vec<&str> = each.iter().map(|text| text.split(' ').next().unwrap_or_default()).collect();
    format!("{} {unit}", bare.join(" "))
}

fn digits(text: &str) -> usize {
    text.chars().take_while(char::is_ascii_digit).count()
}

/// A value as text in the stored unit, the same in every plan.
#[must_use]
pub fn show_plain(meta: &Meta, value: &Value) -> String {
    match value {
        Value::Unknown => "?".into(),
        Value::Nothing => String::new(),
        Value::Text(t) if meta.kind == Kind::Lines => t.replace('\\', "\\\\").replace('\n', "\\n"),
        Value::Text(t) => t.clone(),
        Value::Gauge(g) => g.to_string(),
        Value::Word(w) => (*w).into(),
        Value::Id(id) => id.to_string(),
        Value::Number(x) => match meta.kind {
            Kind::Number { quantity: Quantity::OnOff, .. } => on_or_off(*x).into(),
            Kind::Number { quantity, .. } => format!("{}{}", plain_number(*x), unit_suffix(quantity)),
            _ => plain_number(*x),
        },
    }
}

fn plain_number(x: f64) -> String {
    if x == 0.0 { "0".into() } else { format!("{x}") }
}

pub(super) fn number(units: Units, key: &str, quantity: Quantity, x: f64) -> String {
    match (quantity, units.length) {
        (Quantity::OnOff, _) => on_or_off(x).into(),
        (Quantity::Length, LengthUnit::Feet) => feet(x),
        (Quantity::Size, LengthUnit::Feet) => inches(x),
        (Quantity::Length, LengthUnit::Metres) => format!("{} m", trimmed(x, 4)),
        (Quantity::Size, LengthUnit::Metres) => format!("{} mm", trimmed(x * 1000.0, 1)),
        (Quantity::Money, LengthUnit::Feet) if key == PER_METRE => format!("{}/ft", trimmed(x * METRES_PER_FOOT, 4)),
        (Quantity::Money, LengthUnit::Metres) if key == PER_METRE => format!("{}/m", plain_number(x)),
        (Quantity::Plain, LengthUnit::Feet) if key == KG_PER_METRE => {
            format!("{} lb/ft", trimmed(x * METRES_PER_FOOT / KG_PER_POUND, 6))
        }
        (Quantity::Plain, LengthUnit::Metres) if key == KG_PER_METRE => format!("{} kg/m", plain_number(x)),
        (Quantity::Temperature, _) if units.temperature == TemperatureUnit::Fahrenheit && !always_celsius(key) => {
            format!("{} F", shortest(x * 1.8 + 32.0, 3, |f| ten_thousandths((f - 32.0) / 1.8) == ten_thousandths(x)))
        }
        (Quantity::Temperature, _) => format!("{} C", trimmed(x, 4)),
        (Quantity::Mass, LengthUnit::Feet) => pounds(x, KG_PER_POUND, "lb", "kg"),
        (Quantity::NewtonMetres, LengthUnit::Feet) => pounds(x, NM_PER_LBF_IN, "in-lb", "N m"),
        (Quantity::Newtons, LengthUnit::Feet) => pounds(x, NEWTONS_PER_POUND, "lbf", "N"),
        _ => format!("{}{}", plain_number(x), unit_suffix(quantity)),
    }
}

/// The nearest figure within a bound that is round in the plan's unit: whole inches and pounds, below twelve of them tenths,
/// below one hundredths.
pub(super) fn bound(units: Units, key: &str, quantity: Quantity, x: f64, up: bool) -> String {
    let (per, name) = match (quantity, units.length) {
        (Quantity::Length | Quantity::Size, LengthUnit::Feet) => (METRES_PER_INCH, ""),
        (Quantity::Mass, LengthUnit::Feet) => (KG_PER_POUND, "lb"),
        (Quantity::NewtonMetres, LengthUnit::Feet) => (NM_PER_LBF_IN, "in-lb"),
        (Quantity::Newtons, LengthUnit::Feet) => (NEWTONS_PER_POUND, "lbf"),
        _ => return number(units, key, quantity, x),
    };
    let many = x / per;
    let in_one = if many.abs() < 1.0 {
        100.0
    } else if many.abs() < 12.0 {
        10.0
    } else {
        1.0
    };
    let steps = many * in_one;
    let round = (if up { (steps - 1e-9).ceil() } else { (steps + 1e-9).floor() }) / in_one;
    if name.is_empty() { number(units, key, quantity, round * per) } else { format!("{} {name}", trimmed(round, 2)) }
}

/// Pounds, of weight or of force: `27 lb`; the stored unit where a label gave round figures of that.
fn pounds(x: f64, per_pound: f64, name: &str, stored: &str) -> String {
    let same = |lb: f64| ten_thousandths(lb * per_pound) == ten_thousandths(x);
    let round = (0..=1).map(|decimals| trimmed(x / per_pound, decimals));
    let mut round = round.filter(|text| text.parse::<f64>().is_ok_and(same));
    round.next().map_or_else(|| format!("{} {stored}", plain_number(x)), |text| format!("{text} {name}"))
}

/// Feet and inches: `22'6"`.
fn feet(x: f64) -> String {
    let sign = if x < 0.0 { "-" } else { "" };
    let size = x.abs();
    let mut whole = (size / METRES_PER_FOOT + 1e-9).floor();
    if whole > 1e9 {
        return format!("{} m", plain_number(x));
    }
    let mut rest = inch_text(whole * METRES_PER_FOOT, size);
    if rest == "12" {
        whole += 1.0;
        rest = "0".into();
    }
    match (whole as u64, rest.as_str()) {
        (0, "0") => "0'".into(),
        (0, inch) => format!("{sign}{inch}\""),
        (feet, "0") => format!("{sign}{feet}'"),
        (feet, inch) if inch.contains(['/', ' ']) => format!("{sign}{feet}' {inch}\""),
        (feet, inch) => format!("{sign}{feet}'{inch}\""),
    }
}

/// Inches: `59 1/8"`.
fn inches(x: f64) -> String {
    let text = inch_text(0.0, x.abs());
    if x < 0.0 && text != "0" { format!("-{text}\"") } else { format!("{text}\"") }
}

/// Inches above the whole feet, without a sign: whole, tenths, sixteenths, else as many decimals as 0.1 mm needs.
fn inch_text(feet_m: f64, metres: f64) -> String {
    let inches = ((metres - feet_m) / METRES_PER_INCH).max(0.0);
    let same = |i: f64| ten_thousandths(feet_m + i * METRES_PER_INCH) == ten_thousandths(metres);
    for decimals in 0..=1 {
        let text = trimmed(inches, decimals);
        if text.parse::<f64>().is_ok_and(same) {
            return text;
        }
    }
    let sixteenths = (inches * 16.0).round();
    if sixteenths < 1e12 && same(sixteenths / 16.0) {
        let (mut above, mut below) = (sixteenths as u64, 16);
        while above.is_multiple_of(2) && below > 1 {
            above /= 2;
            below /= 2;
        }
        return match (above / below, above % below) {
            (0, part) => format!("{part}/{below}"),
            (whole, 0) => format!("{whole}"),
            (whole, part) => format!("{whole} {part}/{below}"),
        };
    }
    shortest(inches, 4, same)
}

/// The fewest decimals that still mean the same.
fn shortest(x: f64, most: usize, same: impl Fn(f64) -> bool) -> String {
    (0..=most)
        .map(|decimals| trimmed(x, decimals))
        .find(|text| text.parse::<f64>().is_ok_and(&same))
        .unwrap_or_else(|| plain_number(x))
}

/// At most so many decimals, without zeros at the end or a minus before nothing.
fn trimmed(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".into() } else { text.to_string() }
}

/// The stored unit of a quantity, with a space before it, as written after a number.
#[must_use]
pub fn unit_suffix(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Length | Quantity::Size => " m",
        Quantity::Temperature => " C",
        Quantity::Volts => " V",
        Quantity::Amps => " A",
        Quantity::Watts => " W",
        Quantity::WattHours => " Wh",
        Quantity::AmpHours => " Ah",
        Quantity::Ohms => " ohm",
        Quantity::Milliohms => " mohm",
        Quantity::Hours => " h",
        Quantity::Mass => " kg",
        Quantity::Percent => " %",
        Quantity::PercentPerK => " %/K",
        Quantity::MillivoltsPerK => " mV/K",
        Quantity::Degrees => " deg",
        Quantity::MetresPerSecond => " m/s",
        Quantity::NewtonMetres => " N m",
        Quantity::Newtons => " N",
        Quantity::Irradiance => " W/m2",
        Quantity::Years => " years",
        Quantity::Count | Quantity::Money | Quantity::Plain | Quantity::OnOff => "",
    }
}
