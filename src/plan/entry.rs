//! Text to value and back: the one place for `22'6"`.
//!
//! What a person types is read generously, never guessed silently: [`Parsed::understood`] says which unit was
//! taken. Lengths are rounded to 0.1 mm, so that they show again as typed.

mod choices;
mod fits;
mod names;
mod number;
mod said;
mod show;
mod step;
mod unit;

pub use choices::{begins, choices};
pub use said::said;
pub use show::{seen, show, show_plain, unit_suffix};
pub use step::{step, step_in};

use super::Plan;
use super::edit::{Step, check, record_in};
use super::field::{Kind, Meta, Quantity, Record, Rejected, Value};
use super::job::{GaugeSystem, LengthUnit, TemperatureUnit};
use super::lists::{Monthly, Months, Strings, short_layout};
use super::path::{FieldPath, Id};
use crate::units::{KG_PER_POUND, METRES_PER_FOOT};
use crate::words::counted;

/// The longest text a field takes.
pub const LONGEST_TEXT: usize = 4000;

/// A value read from text, and how it was understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Parsed {
    pub value: Value,
    /// For the eye: `6.858 m = 22'6"`. Empty where the text speaks for itself.
    pub understood: String,
}

/// In which units a plan shows, and what bare numbers mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Units {
    pub gauge: GaugeSystem,
    pub length: LengthUnit,
    pub temperature: TemperatureUnit,
}

impl Units {
    /// The plan's own.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        Self { gauge: plan.job.gauge_system, length: plan.job.length_unit, temperature: plan.job.temperature_unit }
    }

    /// Those of the file: metres and Celsius.
    pub const STORED: Self =
        Self { gauge: GaugeSystem::Awg, length: LengthUnit::Metres, temperature: TemperatureUnit::Celsius };
}

/// Reads what was typed into a field of the plan.
///
/// # Errors
/// [`Rejected`] names the field, what is wrong and what is accepted.
pub fn parse(plan: &Plan, at: &FieldPath, text: &str) -> Result<Parsed, Rejected> {
    let parsed = parse_in(Units::of(plan), plan, at, text)?;
    match (&parsed.value, is_option(at)) {
        (Value::Text(lines), true) => {
            let understood = edits(plan, at, lines)?;
            Ok(Parsed { understood, ..parsed })
        }
        _ => Ok(parsed),
    }
}

/// Whether a field holds the edits of an option.
fn is_option(at: &FieldPath) -> bool {
    let (owner, key) = at.split_last();
    key == "edits" && owner.split_last().0.as_str() == "options"
}

/// Tries an option's edits on the plan, each on what those before it leave: how many there are. What a file says stays.
fn edits(plan: &Plan, at: &FieldPath, text: &str) -> Result<String, Rejected> {
    let lines: Vec<String> = text.lines().map(ToString::to_string).collect();
    if plan.get_at(at).is_some_and(|now| now == Value::Text(text.into())) {
        return Ok(String::new());
    }
    match Step::parse(plan, "", &lines) {
        Ok(step) if step.edits.len() == 1 => Ok("1 edit, as the plan takes it".into()),
        Ok(step) => Ok(format!("{} edits, as the plan takes them", step.edits.len())),
        Err(e) => Err(Rejected::new(
            at.clone(),
            if e.at.as_str().is_empty() { e.why } else { format!("{}: {}", e.at, e.why) },
        )),
    }
}

/// [`parse`] in any tree of records.
///
/// # Errors
/// As [`parse`].
pub fn parse_in(units: Units, root: &dyn Record, at: &FieldPath, text: &str) -> Result<Parsed, Rejected> {
    let (owner_path, key) = at.split_last();
    let owner = record_in(root, &owner_path);
    let meta = owner.and_then(|o| super::rules::meta_of(o, key));
    let units = if owner.is_some_and(|o| super::rules::own_value(o, key).is_some()) { Units::STORED } else { units };
    let (Some(owner), Some(meta)) = (owner, meta) else {
        return Err(super::edit::no_such(root, at));
    };
    let refused = |why: String| Rejected::new(at.clone(), why);
    let parsed = read(units, root, &owner_path, owner, meta, text).map_err(refused)?;
    if let Some(why) = broken(units, meta, &parsed.value) {
        return Err(refused(why));
    }
    check(meta, &parsed.value).map_err(|why| refused(outside(units, meta, &parsed.value).unwrap_or(why)))?;
    fits::fits(root, at, meta, &parsed.value).map_err(refused)?;
    Ok(said_of_share(meta, text, parsed))
}

/// Between what a value was taken as and what is to be typed where another was meant.
pub const ELSE_TYPE: &str = ": type ";

/// A share of the hours typed as 0.5 may be meant as half of them: what it is taken as stands beside it.
fn said_of_share(meta: &Meta, text: &str, parsed: Parsed) -> Parsed {
    match parsed.value {
        Value::Number(x) if meta.key == "duty_pct" && x > 0.0 && x <= 1.0 && !text.contains('%') => {
            let understood = format!("{x} %{ELSE_TYPE}{} for {x} of the time", round(Quantity::Percent, x * 100.0));
            Parsed { understood, ..parsed }
        }
        _ => parsed,
    }
}

/// What is on or off, by these words as well as their numbers.
fn on_or_off(text: &str) -> Result<(f64, String), String> {
    let is_one = |words: [&str; 3]| words.iter().any(|word| text.eq_ignore_ascii_case(word));
    match () {
        () if is_one(["on", "yes", "1"]) => Ok((1.0, String::new())),
        () if is_one(["off", "no", "0"]) => Ok((0.0, String::new())),
        () => Err(format!("{text:?} is neither on nor off")),
    }
}

/// Says in the plan's own units that a number, or one of twelve, is out of its bounds.
fn outside(units: Units, meta: &Meta, value: &Value) -> Option<String> {
    let (quantity, x) = match (meta.kind, value) {
        (Kind::Number { quantity, .. }, Value::Number(x)) => (quantity, *x),
        (Kind::Monthly { quantity, least, most }, Value::Text(t)) => {
            let all: Monthly = t.parse().ok()?;
            (quantity, all.0.into_iter().find(|x| !(least..=most).contains(x))?)
        }
        _ => return None,
    };
    let (Kind::Number { least, most, .. } | Kind::Monthly { least, most, .. }) = meta.kind else { return None };
    // Nobody counts so many digits.
    let said = if x.abs() >= 1e9 { "a number of that size".into() } else { show::number(units, meta.key, quantity, x) };
    (x < least || x > most).then(|| {
        format!(
            "{said} is outside what is accepted: {}{}",
            bounds(units, meta.key, quantity, least, most),
            or_unknown(meta)
        )
    })
}

/// Says that something is counted and comes in no parts.
fn broken(units: Units, meta: &Meta, value: &Value) -> Option<String> {
    let (Kind::Number { quantity: Quantity::Count, least, most }, Value::Number(x)) = (meta.kind, value) else {
        return None;
    };
    (x.fract() != 0.0).then(|| {
        let accepted = bounds(units, meta.key, Quantity::Count, least, most);
        format!("{x} is no whole number; accepted: {accepted}{}", or_unknown(meta))
    })
}

fn or_unknown(meta: &Meta) -> &'static str {
    if meta.unknown { "; write ? where it is not known" } else { "" }
}

/// From the least to the most, in the plan's unit.
#[must_use]
pub fn bounds(units: Units, key: &str, quantity: Quantity, least: f64, most: f64) -> String {
    let say = |x: f64, up: bool| show::bound(units, key, quantity, x, up);
    format!("{} to {}", say(least, true), say(most, false))
}

/// A field of the plan as text in the plan's units.
#[must_use]
pub fn show_at(plan: &Plan, at: &FieldPath) -> Option<String> {
    let units = if super::rules::rule_at(at).is_some() { Units::STORED } else { Units::of(plan) };
    Some(show(units, plan.meta(at)?, &plan.get_at(at)?))
}

/// The same as it is read on a form: see [`seen`].
#[must_use]
pub fn seen_at(plan: &Plan, at: &FieldPath) -> Option<String> {
    let units = if super::rules::rule_at(at).is_some() { Units::STORED } else { Units::of(plan) };
    Some(seen(units, plan.meta(at)?, &plan.get_at(at)?))
}

/// Lines typed on one line: `\\n` is a line's end, `\\\\` a backslash.
fn unfold(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        match c {
            '\\' => match chars.next() {
                Some('n') => out.push('\n'),
                Some(other) => out.push(other),
                None => out.push('\\'),
            },
            other => out.push(other),
        }
    }
    out
}

fn read(
    units: Units,
    root: &dyn Record,
    owner_path: &FieldPath,
    owner: &dyn Record,
    meta: &Meta,
    text: &str,
) -> Result<Parsed, String> {
    let as_is = |value| Ok(Parsed { value, understood: String::new() });
    let trimmed = text.trim();
    if text.len() > LONGEST_TEXT && meta.kind != Kind::Lines {
        return Err(format!("at most {LONGEST_TEXT} bytes of text"));
    }
    if trimmed == "?" && (meta.unknown || !matches!(meta.kind, Kind::Text | Kind::Lines)) {
        return as_is(Value::Unknown);
    }
    if trimmed.is_empty() && meta.absent {
        return as_is(Value::Nothing);
    }
    // A number that is left out can be said so.
    let is_number = matches!(meta.kind, Kind::Number { .. });
    if is_number && meta.absent && ["none", "any"].iter().any(|word| trimmed.eq_ignore_ascii_case(word)) {
        return Ok(Parsed { value: Value::Nothing, understood: "left out".into() });
    }
    match meta.kind {
        Kind::Text if meta.unknown => as_is(Value::Id(names::name(&names::legs(root, owner_path), trimmed)?)),
        Kind::Text if text.chars().any(char::is_control) => Err("text on one line is needed".into()),
        Kind::Text => as_is(Value::Text(text.to_string())),
        Kind::Lines => as_is(Value::Text(unfold(text))),
        Kind::Number { quantity, .. } => number(units, owner, meta, quantity, trimmed),
        Kind::Gauge if trimmed.is_empty() => Err(nothing_typed(meta, "8awg, 2/0 awg, 16mm2")),
        Kind::Gauge => {
            let (gauge, note) = names::gauge(units, trimmed)?;
            let understood = if note.is_empty() { gauge.to_string() } else { format!("{gauge} ({note})") };
            Ok(Parsed { value: Value::Gauge(gauge), understood })
        }
        Kind::Words(words) => {
            let word = names::word(words, trimmed)?;
            Ok(Parsed { value: Value::Word(word), understood: word.into() })
        }
        Kind::Ref(lists) => as_is(Value::Id(names::name(&names::candidates(root, lists), trimmed)?)),
        Kind::Months => {
            let months = months(owner, meta, trimmed)?;
            Ok(Parsed { value: Value::Text(months.to_string()), understood: months.to_string() })
        }
        Kind::Monthly { quantity: Quantity::Temperature, .. } => temperatures(units, owner, meta, trimmed),
        Kind::Monthly { .. } => {
            let monthly: Monthly = trimmed.parse()?;
            as_is(Value::Text(monthly.to_string()))
        }
        Kind::Strings => strings(root, owner, trimmed),
    }
}

/// Twelve temperatures in the plan's unit, or in the one that stands behind each of them or behind all.
fn temperatures(units: Units, owner: &dyn Record, meta: &Meta, text: &str) -> Result<Parsed, String> {
    let mut words: Vec<&str> = text.split([' ', ',', ';']).filter(|w| !w.is_empty()).collect();
    let of_all = words.pop_if(|last| last.eq_ignore_ascii_case("c") || last.eq_ignore_ascii_case("f")).unwrap_or("");
    let mut all = [0.0; 12];
    if words.len() != all.len() {
        return Err(format!("twelve temperatures, January first, are needed; {} found", words.len()));
    }
    for (slot, word) in all.iter_mut().zip(words) {
        let typed =
            if word.ends_with(|c: char| c.is_ascii_alphabetic()) { word.into() } else { format!("{word}{of_all}") };
        match number(units, owner, meta, Quantity::Temperature, &typed)?.value {
            Value::Number(x) => *slot = x,
            _ => return Err(format!("{word:?} is no temperature; twelve of them, January first")),
        }
    }
    let value = Value::Text(Monthly(all).to_string());
    Ok(Parsed { understood: show(units, meta, &value), value })
}

/// Months; with a sign before them they come to those that stand, or leave them.
fn months(owner: &dyn Record, meta: &Meta, text: &str) -> Result<Months, String> {
    let stands = match owner.get(meta.key) {
        Some(Value::Text(now)) => now.parse().unwrap_or(Months(0)),
        _ => Months(0),
    };
    match (text.strip_prefix('+'), text.strip_prefix('-')) {
        (Some(more), _) => Ok(Months(stands.0 | more.parse::<Months>()?.0)),
        (_, Some(less)) => Ok(Months(stands.0 & !less.parse::<Months>()?.0)),
        _ => text.parse(),
    }
}

fn nothing_typed(meta: &Meta, examples: &str) -> String {
    let unknown = if meta.unknown { ", or ? where it is not known" } else { "" };
    format!("{} is needed; write {examples}{unknown}", meta.label)
}

fn number(units: Units, owner: &dyn Record, meta: &Meta, quantity: Quantity, text: &str) -> Result<Parsed, String> {
    let examples = match meta.key {
        "heading_deg" => "180, south, SW, or any: averaged",
        _ => unit::accepted(quantity),
    };
    if text.is_empty() {
        return Err(nothing_typed(meta, examples));
    }
    let unknown = if meta.unknown { ", or ? where it is not known" } else { "" };
    let help = |why: String| format!("{why}; write {examples}{unknown}");
    let plain = number::plain(text);
    let has_digit = plain.contains(|c: char| c.is_ascii_digit());
    let (x, said) = match quantity {
        Quantity::PercentPerK => coefficient(units, owner, meta, &plain).map_err(help)?,
        Quantity::Money => amount(units, meta, &plain).map_err(help)?,
        Quantity::OnOff => on_or_off(text).map_err(help)?,
        // Quoted as it was typed, before a letter at its end is taken for the north's.
        _ if !has_digit && (meta.key != "heading_deg" || compass(&plain).is_none()) => {
            return Err(help(format!("{text:?} is no number")));
        }
        Quantity::Plain if meta.key == unit::KG_PER_METRE => weight_per_length(units, meta, &plain).map_err(help)?,
        Quantity::Degrees => bearing(units, meta, &plain).map_err(help)?,
        Quantity::Hours if plain.contains(':') => {
            let typed = number::read(&plain.replacen(':', "h", 1)).map_err(help)?;
            unit::convert(units, meta, quantity, &typed).map_err(help)?
        }
        _ => unit::convert(units, meta, quantity, &number::read(&plain).map_err(help)?).map_err(help)?,
    };
    let (x, said) = match meta.kind {
        // A coefficient that can only fall is printed with and without its minus.
        Kind::Number { most, .. }
            if matches!(quantity, Quantity::PercentPerK | Quantity::MillivoltsPerK) && most <= 0.0 && x > 0.0 =>
        {
            (-x, join(&said, "taken as negative"))
        }
        _ => (x, said),
    };
    let x = round(quantity, x);
    if !x.is_finite() {
        return Err(help("that is too large a number".into()));
    }
    let understood = understood(units, meta, quantity, x, &said);
    Ok(Parsed { value: Value::Number(x), understood })
}

fn join(a: &str, b: &str) -> String {
    if a.is_empty() { b.into() } else { format!("{a}; {b}") }
}

/// Lengths to 0.1 mm, weights to 0.1 g, forces and torques to 0.1 mN and 0.1 mN m, temperatures and coefficients to a ten-thousandth, the rest to nine digits after the point.
fn round(quantity: Quantity, x: f64) -> f64 {
    let to = |k: f64| if x.abs() < 1e12 { (x * k).round() / k + 0.0 } else { x };
    match quantity {
        Quantity::Length | Quantity::Size | Quantity::Temperature | Quantity::PercentPerK | Quantity::Mass => to(1e4),
        Quantity::Newtons | Quantity::NewtonMetres => to(1e4),
        _ if x.abs() < 1e6 => to(1e9),
        _ => x,
    }
}

fn understood(units: Units, meta: &Meta, quantity: Quantity, x: f64, said: &str) -> String {
    let value = Value::Number(x);
    let shown = show(units, meta, &value);
    let stored = show_plain(meta, &value);
    // The plan's own unit first.
    let both = match quantity {
        Quantity::Length | Quantity::Size => match units.length {
            LengthUnit::Feet => format!("{shown} = {stored}"),
            LengthUnit::Metres => {
                format!("{stored} = {}", show(Units { length: LengthUnit::Feet, ..units }, meta, &value))
            }
        },
        Quantity::Mass | Quantity::Newtons | Quantity::NewtonMetres if shown != stored => {
            format!("{shown} = {stored}")
        }
        Quantity::Temperature => {
            let f = show(Units { temperature: TemperatureUnit::Fahrenheit, ..units }, meta, &value);
            match units.temperature {
                _ if f == stored => stored,
                TemperatureUnit::Fahrenheit => format!("{f} = {stored}"),
                TemperatureUnit::Celsius => format!("{stored} = {f}"),
            }
        }
        _ => shown,
    };
    if said.is_empty() { both } else { format!("{both} ({said})") }
}

/// A temperature coefficient: percent as it stands, volts, amps or watts a kelvin by the label's own figure.
fn coefficient(units: Units, owner: &dyn Record, meta: &Meta, text: &str) -> Result<(f64, String), String> {
    let typed = number::read(text)?;
    let unit = typed.parts.first().map_or("", |p| p.unit.as_str());
    let unit = unit.replace("/degc", "/k").replace("/c", "/k");
    let (base_key, base_name, symbol) = match meta.key {
        "beta_pct_k" => ("voc_v", "Voc", "V"),
        "alpha_pct_k" => ("isc_a", "Isc", "A"),
        "gamma_pct_k" => ("pmax_w", "Pmax", "W"),
        _ => ("", "", ""),
    };
    let scale = match (unit.as_str(), symbol) {
        ("v/k", "V") | ("a/k", "A") | ("w/k", "W") => 1.0,
        ("mv/k" | "mv", "V") | ("ma/k" | "ma", "A") | ("mw/k", "W") => 0.001,
        _ => {
            return unit::convert(units, meta, Quantity::PercentPerK, &typed);
        }
    };
    let [part] = typed.parts.as_slice() else { return Err("one number is needed".into()) };
    let amount = if typed.negative { -part.amount } else { part.amount };
    match owner.get(base_key) {
        Some(Value::Number(base)) if base > 0.0 => {
            Ok((100.0 * amount * scale / base, format!("{text} of {base_name} {base} {symbol}")))
        }
        _ => Err(format!(
            "{text} needs {base_name} to become a percentage, and {base_name} is ?; enter {base_name} first"
        )),
    }
}

/// An amount of money: a currency sign or code may stand before or after it.
fn amount(units: Units, meta: &Meta, text: &str) -> Result<(f64, String), String> {
    if meta.key == unit::PER_METRE {
        return amount_per_length(units, meta, text);
    }
    plain_amount(units, meta, text)
}

/// What a length of wire costs: `1.20/ft`, `3.90/m`; a bare number is the price of the plan's own unit.
fn amount_per_length(units: Units, meta: &Meta, text: &str) -> Result<(f64, String), String> {
    let text = text.trim();
    let per = |ends: &[&str]| ends.iter().find_map(|end| text.strip_suffix(end)).map(str::trim_end);
    let by_foot = |head: &str| Ok((plain_amount(units, meta, head)?.0 / METRES_PER_FOOT, String::new()));
    match (per(&["/ft", "/foot"]), per(&["/m", "/metre"]), units.length) {
        (Some(head), _, _) => by_foot(head),
        (None, Some(head), _) => plain_amount(units, meta, head),
        (None, None, LengthUnit::Feet) => {
            by_foot(text).map(|(x, _)| (x, "a bare number is the price of a foot here".to_string()))
        }
        (None, None, LengthUnit::Metres) => plain_amount(units, meta, text),
    }
}

/// What a length of wire weighs: `0.08lb/ft`, `0.12kg/m`; a bare number is in the plan's own units.
fn weight_per_length(units: Units, meta: &Meta, text: &str) -> Result<(f64, String), String> {
    let text = text.trim();
    let per = |ends: &[&str]| ends.iter().find_map(|end| text.strip_suffix(end)).map(str::trim_end);
    let plain = |head: &str| Ok::<_, String>(unit::convert(units, meta, Quantity::Plain, &number::read(head)?)?.0);
    let by_foot = |head: &str| Ok::<_, String>(plain(head)? * KG_PER_POUND / METRES_PER_FOOT);
    match (per(&["lb/ft", "lbs/ft"]), per(&["kg/m"]), units.length) {
        (Some(head), _, _) => Ok((by_foot(head)?, String::new())),
        (None, Some(head), _) => Ok((plain(head)?, String::new())),
        (None, None, LengthUnit::Feet) => Ok((by_foot(text)?, "a bare number is lb/ft here".into())),
        (None, None, LengthUnit::Metres) => Ok((plain(text)?, String::new())),
    }
}

fn plain_amount(units: Units, meta: &Meta, text: &str) -> Result<(f64, String), String> {
    let bare = text
        .trim_start_matches(|c: char| {
            c == '$' || c == '\u{20ac}' || c == '\u{a3}' || c.is_ascii_alphabetic() || c == ' '
        })
        .trim_end_matches(['$', '\u{20ac}', '\u{a3}', ' ']);
    let bare = match bare.rsplit_once(' ') {
        Some((head, code)) if code.len() == 3 && code.chars().all(|c| c.is_ascii_alphabetic()) => head,
        _ => bare,
    };
    if bare.is_empty() || (bare.len() != text.len() && !text.contains(|c: char| c.is_ascii_digit())) {
        return Err(format!("{text:?} is no amount"));
    }
    unit::convert(units, meta, Quantity::Money, &number::read(bare)?)
}

/// An angle: latitude may end in N or S, longitude in E or W.
fn bearing(units: Units, meta: &Meta, text: &str) -> Result<(f64, String), String> {
    let ends: &[(&str, f64)] = match meta.key {
        "latitude_deg" => &[("n", 1.0), ("s", -1.0)],
        "longitude_deg" => &[("e", 1.0), ("w", -1.0)],
        _ => &[],
    };
    for (end, sign) in ends {
        if let Some(head) = text.strip_suffix(end) {
            let (x, said) = unit::convert(units, meta, Quantity::Degrees, &number::read(head.trim_end())?)?;
            if x < 0.0 {
                return Err(format!("{text:?} has both a sign and a letter"));
            }
            return Ok((sign * x, said));
        }
    }
    if meta.key == "heading_deg"
        && let Some(bearing) = compass(text)
    {
        return Ok((bearing, String::new()));
    }
    unit::convert(units, meta, Quantity::Degrees, &number::read(text)?)
}

/// A point of the compass in degrees: `sw`, `south-west`, `sse`.
/// Source: sixteen points 22 1/2 degrees apart, north first, by way of east.
fn compass(text: &str) -> Option<f64> {
    const POINTS: [&str; 16] =
        ["n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw"];
    let short = [("north", "n"), ("south", "s"), ("east", "e"), ("west", "w"), ("-", ""), (" ", "")]
        .iter()
        .fold(text.to_string(), |text, (word, letter)| text.replace(word, letter));
    POINTS.iter().position(|point| *point == short).map(|i| i as f64 * 22.5)
}

/// Strings of panels; the panel may be left out where only one can be meant.
fn strings(root: &dyn Record, owner: &dyn Record, text: &str) -> Result<Parsed, String> {
    let panels = names::candidates(root, &["panels"]);
    let own = match owner.get("strings") {
        Some(Value::Text(t)) => t.parse::<Strings>().ok().and_then(|s| s.alike().cloned()),
        _ => None,
    };
    let mut said = String::new();
    let full = if short_layout(text).is_some() {
        let only = own.map(|id| id.to_string()).or_else(|| match panels.as_slice() {
            [one] => Some(one.clone()),
            _ => None,
        });
        let panel = only.ok_or_else(|| {
            format!("{text:?} does not say which panel; write \"{text} P1\"; panels: {}", panels.join(", "))
        })?;
        said = format!(" ({panel} understood)");
        format!("{text} {panel}")
    } else {
        text.to_string()
    };
    if text.is_empty() {
        return Err("strings are needed; write 3S2P (series, parallel), or P1+P1 | P1+P2".into());
    }
    if text.chars().all(|c| c.is_ascii_digit()) {
        return Err(format!("{text:?} does not say how: {text}S is in series, {text}P in parallel, 3S2P both"));
    }
    let how = |why: String| format!("{why}; write 3S2P (series, parallel), or P1+P1 | P1+P2");
    let mut strings: Strings = full.parse()?;
    for panel in strings.0.iter_mut().flatten() {
        let found: Id = names::name(&panels, panel.as_str()).map_err(how)?;
        *panel = found;
    }
    let understood = format!("{}: {strings}{said}", counted(strings.panels(), "panel"));
    Ok(Parsed { value: Value::Text(strings.to_string()), understood })
}
