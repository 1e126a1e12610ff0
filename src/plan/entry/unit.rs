//! Which units a quantity may be typed in, and what a bare number means.

use super::Units;
use super::number::Typed;
use crate::plan::field::{Meta, Quantity};
use crate::plan::job::{LengthUnit, TemperatureUnit};
use crate::units::{KG_PER_POUND, METRES_PER_FOOT, METRES_PER_INCH, NEWTONS_PER_POUND};

/// A unit: spellings, size in the stored unit.
type Unit = (&'static [&'static str], f64);

const FEET: Unit = (&["'", "ft", "foot", "feet"], METRES_PER_FOOT);
const INCHES: Unit = (&["\"", "in", "inch", "inches"], METRES_PER_INCH);
const LENGTHS: &[Unit] = &[
    (&["m", "metre", "metres", "meter", "meters"], 1.0),
    (&["cm"], 0.01),
    (&["mm"], 0.001),
    FEET,
    INCHES,
    (&["yd", "yard", "yards"], 3.0 * METRES_PER_FOOT),
];
const HOURS: &[Unit] = &[
    (&["h", "hr", "hrs", "hour", "hours"], 1.0),
    (&["min", "mins", "minute", "minutes", "m"], 1.0 / 60.0),
    (&["s", "sec"], 1.0 / 3600.0),
];
/// One pound-force inch in newton metres. Source: NIST SP 811, appendix B.
pub(super) const NM_PER_LBF_IN: f64 = 0.112_984_83;
/// Metres a second in one knot and one mile an hour. Source: NIST SP 811, appendix B (exact).
const MS_PER_KNOT: f64 = 1852.0 / 3600.0;
const MS_PER_MPH: f64 = 0.44704;

/// The units of a quantity other than temperature; the first is the stored one.
fn table(quantity: Quantity) -> &'static [Unit] {
    match quantity {
        Quantity::Length | Quantity::Size => LENGTHS,
        Quantity::Hours => HOURS,
        Quantity::Volts => &[(&["v", "vdc", "volt", "volts"], 1.0), (&["mv"], 0.001), (&["kv"], 1000.0)],
        Quantity::Amps => &[(&["a", "amp", "amps", "adc"], 1.0), (&["ma"], 0.001), (&["ka"], 1000.0)],
        Quantity::Watts => &[(&["w", "watt", "watts", "va"], 1.0), (&["kw", "kva"], 1000.0)],
        Quantity::WattHours => &[(&["wh"], 1.0), (&["kwh"], 1000.0)],
        Quantity::AmpHours => &[(&["ah"], 1.0), (&["mah"], 0.001)],
        Quantity::Ohms => {
            &[(&["ohm", "ohms"], 1.0), (&["mohm", "mohms", "milliohm", "milliohms"], 0.001), (&["uohm"], 1e-6)]
        }
        Quantity::Milliohms => {
            &[(&["mohm", "mohms", "milliohm", "milliohms"], 1.0), (&["ohm", "ohms"], 1000.0), (&["uohm"], 0.001)]
        }
        Quantity::Mass => &[
            (&["kg", "kilo", "kilos"], 1.0),
            (&["g"], 0.001),
            (&["lb", "lbs", "pound", "pounds"], KG_PER_POUND),
            (&["oz"], KG_PER_POUND / 16.0),
        ],
        Quantity::Percent => &[(&["%", "pct", "percent"], 1.0)],
        Quantity::PercentPerK => &[(&["%/k", "%/c", "%/degc", "%", "pct/k"], 1.0)],
        Quantity::MillivoltsPerK => &[(&["mv/k", "mv/c", "mv/degc", "mv"], 1.0), (&["v/k", "v/c", "v/degc"], 1000.0)],
        Quantity::Degrees => &[(&["deg", "degrees"], 1.0), (&["'"], 1.0 / 60.0), (&["\""], 1.0 / 3600.0)],
        Quantity::MetresPerSecond => &[
            (&["m/s"], 1.0),
            (&["km/h", "kph"], 1.0 / 3.6),
            (&["mph"], MS_PER_MPH),
            (&["kn", "kt", "knots"], MS_PER_KNOT),
        ],
        Quantity::NewtonMetres => &[
            (&["nm", "n*m", "n-m"], 1.0),
            (&["lb-in", "in-lb", "lbin", "inlb", "inlbs", "in-lbs", "lbfin", "lbf-in"], NM_PER_LBF_IN),
            (&["lb-ft", "ft-lb", "lbft", "ftlb", "ftlbs", "ft-lbs", "lbfft", "lbf-ft"], 12.0 * NM_PER_LBF_IN),
        ],
        Quantity::Newtons => &[
            (&["n", "newton", "newtons"], 1.0),
            (&["kn"], 1000.0),
            (&["lbf", "lb", "lbs", "pound", "pounds"], NEWTONS_PER_POUND),
            (&["kgf", "kg"], NEWTONS_PER_POUND / KG_PER_POUND),
        ],
        Quantity::Irradiance => &[(&["w/m2", "w/m^2"], 1.0), (&["kw/m2", "kw/m^2"], 1000.0)],
        Quantity::Years => &[(&["years", "year", "y", "yr", "yrs"], 1.0), (&["months", "month", "mo"], 1.0 / 12.0)],
        Quantity::Temperature | Quantity::Count | Quantity::Money | Quantity::Plain | Quantity::OnOff => &[],
    }
}

/// What is accepted in a field, as examples.
pub(super) fn accepted(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Length => "22'6\", 27in, 6.5m, 650cm",
        Quantity::Size => "59 1/8in, 3/8in, 4', 27\", 650mm, 1.2m",
        Quantity::Temperature => "-20 C, 14 F",
        Quantity::Volts => "13.8v",
        Quantity::Amps => "20a",
        Quantity::Watts => "350w, 1.2kw",
        Quantity::WattHours => "1500wh, 1.5kwh",
        Quantity::AmpHours => "100ah",
        Quantity::Ohms => "0.012ohm, 12mohm",
        Quantity::Milliohms => "2.5mohm",
        Quantity::Hours => "1.5h, 45min, 1h30",
        Quantity::Mass => "11kg, 24lb",
        Quantity::Count => "a whole number",
        Quantity::Percent => "30%",
        Quantity::PercentPerK => "-0.29%/K, and for a voltage -62mV/K or 0.062V/K",
        Quantity::MillivoltsPerK => "-24mV/K",
        Quantity::Degrees => "34.5, 34deg30'",
        Quantity::MetresPerSecond => "3m/s, 7mph, 11km/h",
        Quantity::NewtonMetres => "12Nm, 106in-lb, 9ft-lb",
        Quantity::Newtons => "600N, 135lbf",
        Quantity::Irradiance => "850W/m2",
        Quantity::Money => "12.50",
        Quantity::Plain => "a plain number",
        Quantity::OnOff => "on or off",
        Quantity::Years => "3, 18 months",
    }
}

/// The price of a length of wire: typed and shown by the foot where the plan has feet.
pub(super) const PER_METRE: &str = "price_per_metre";

/// The weight of a length of wire, likewise.
pub(super) const KG_PER_METRE: &str = "kg_per_metre";

/// Printed on jackets and terminals in Celsius whatever the country: these never follow the plan's unit.
pub(super) fn always_celsius(key: &str) -> bool {
    matches!(key, "insulation_c" | "terminal_c" | "link_insulation_c")
}

/// Typed parts as a number in the stored unit, and what a bare number was taken for.
///
/// # Errors
/// What is wrong; the caller adds what is accepted.
pub(super) fn convert(units: Units, meta: &Meta, quantity: Quantity, typed: &Typed) -> Result<(f64, String), String> {
    let sign = if typed.negative { -1.0 } else { 1.0 };
    if quantity == Quantity::Temperature {
        return temperature(units, meta, typed, sign);
    }
    let known = table(quantity);
    let mut sum = 0.0;
    let mut said = String::new();
    let mut last: Option<f64> = None;
    let mut bare_before = false;
    for part in &typed.parts {
        let factor = if part.unit.is_empty() {
            if bare_before {
                return Err("a unit is needed where there is more than one number".into());
            }
            bare_before = true;
            let (factor, word) = bare(units, quantity, last, part.fraction, known);
            if let Some(word) = word {
                said = format!("a bare number is {word} here");
            }
            factor
        } else {
            factor_of(known, &part.unit).ok_or_else(|| match known.is_empty() {
                true => format!("{:?} does not belong here", part.unit),
                false => format!("{:?} is no unit known here", part.unit),
            })?
        };
        if last.is_some_and(|l| factor >= l) {
            return Err("a larger unit must come before a smaller one, and only one number of each".into());
        }
        last = Some(factor);
        sum += part.amount * factor;
    }
    Ok((sign * sum, said))
}

fn factor_of(known: &[Unit], unit: &str) -> Option<f64> {
    known.iter().find(|(names, _)| names.contains(&unit)).map(|(_, factor)| *factor)
}

/// What a number without a unit means: after feet inches, after hours minutes, else the plan's own unit.
fn bare(
    units: Units,
    quantity: Quantity,
    last: Option<f64>,
    fraction: bool,
    known: &[Unit],
) -> (f64, Option<&'static str>) {
    let stored = known.first().map_or(1.0, |u| u.1);
    match (quantity, last) {
        (Quantity::Length | Quantity::Size, Some(l)) if l == METRES_PER_FOOT => (METRES_PER_INCH, None),
        (Quantity::Hours | Quantity::Degrees, Some(1.0)) => (1.0 / 60.0, None),
        // Nothing smaller to continue with: refused by the order rule.
        (_, Some(_)) => (f64::INFINITY, None),
        (Quantity::Length, None) => match units.length {
            LengthUnit::Feet => (METRES_PER_FOOT, Some("feet")),
            LengthUnit::Metres => (1.0, Some("metres")),
        },
        (Quantity::Size, None) => match units.length {
            LengthUnit::Metres if !fraction => (0.001, Some("millimetres")),
            _ => (METRES_PER_INCH, Some("inches")),
        },
        (Quantity::Mass, None) => match units.length {
            LengthUnit::Feet => (KG_PER_POUND, Some("pounds")),
            LengthUnit::Metres => (1.0, Some("kilograms")),
        },
        (Quantity::NewtonMetres, None) => match units.length {
            LengthUnit::Feet => (NM_PER_LBF_IN, Some("inch-pounds")),
            LengthUnit::Metres => (1.0, Some("newton metres")),
        },
        (Quantity::Newtons, None) => match units.length {
            LengthUnit::Feet => (NEWTONS_PER_POUND, Some("pounds of force")),
            LengthUnit::Metres => (1.0, Some("newtons")),
        },
        (_, None) => (stored, None),
    }
}

fn temperature(units: Units, meta: &Meta, typed: &Typed, sign: f64) -> Result<(f64, String), String> {
    let [part] = typed.parts.as_slice() else { return Err("one number is needed".into()) };
    let amount = sign * part.amount;
    let from_f = |f: f64| (f - 32.0) / 1.8;
    match part.unit.as_str() {
        "c" | "degc" | "celsius" => Ok((amount, String::new())),
        "f" | "degf" | "fahrenheit" => Ok((from_f(amount), String::new())),
        "k" => Ok((amount - 273.15, String::new())),
        "" | "deg" if units.temperature == TemperatureUnit::Celsius || always_celsius(meta.key) => {
            Ok((amount, "a bare number is C here".into()))
        }
        "" | "deg" => Ok((from_f(amount), "a bare number is F here".into())),
        other => Err(format!("{other:?} is no unit known here")),
    }
}
