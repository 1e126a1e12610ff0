//! What the year takes for what nobody has entered, and what cannot be as it was entered: hours and days that are not
//! known, shore power without gear for it, more sun than there is.

use crate::climate::year::top_of_air_kwh_m2_day;
use crate::engine::Work;
use crate::engine::circuit::{Node, device_kind, is_start};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::plan::power::{AcSource, ChargerKind};
use crate::plan::wiring::Supply;
use crate::plan::{Array, Charger, DeviceKind, FieldPath, Known, Stay};
use crate::standards::kinds::Mount;
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};

use super::named;

static TOP_OF_AIR: Source =
    Source::new("Duffie & Beckman", "eq. 1.10.3, sun above the air on the level", Standing::Verified);

static UNKNOWN_HOURS: Check = Check {
    id: "driving-unknown",
    safety: false,
    say: |f| format!("{}: hours of driving a day are not known; the year takes none", f.name(0)),
};
static UNKNOWN_DAYS: Check = Check {
    id: "shore-days-unknown",
    safety: false,
    say: |f| format!("{}: days a month on shore power are not known; the year takes none", f.name(0)),
};
static NO_GEAR: Check = Check {
    id: "shore-without-charger",
    safety: false,
    say: |f| {
        let carries = if f.n(1) > 0.0 {
            "; the year takes it that shore power carries what draws through the inverter on those days, which wants an inlet \
             and a transfer switch"
        } else {
            ""
        };
        format!("{}: {:.1} days a month on shore power, but no charger takes it{carries}", f.name(0), f.n(0))
    },
};
static NO_DRIVER: Check = Check {
    id: "driving-without-charger",
    safety: false,
    say: |f| {
        let (stay, hours) = (f.name(0), f.n(0));
        match f.name(1) {
            "" => format!("{stay}: {hours:.1} h of driving a day, but no DC-DC charger; it charges nothing"),
            wired => {
                format!(
                    "{stay}: {hours:.1} h of driving a day, but no DC-DC charger; what {wired} lets through to the bank nobody \
                     can foretell, the year takes none"
                )
            }
        }
    },
};
static TOO_SUNNY: Check = Check {
    id: "sun-above-air",
    safety: false,
    say: |f| {
        format!(
            "{}: its own sun is more than reaches the top of the air in {}: {:.2} kWh/m2 a day of {:.2} at most",
            f.name(0),
            f.name(1),
            f.n(0),
            f.n(1)
        )
    },
};

static CLOCK: Check = Check {
    id: "clock-off-longitude",
    safety: false,
    say: |f| {
        let (id, off_h, clock_h, own_h) = (f.name(0), f.n(0), f.n(1), f.n(2));
        format!(
            "{id}: its clock stands at {clock_h:+.1} h, {off_h:.1} h from the {own_h:+.1} h of its longitude; loads go by it"
        )
    },
};

static STAYS_FLAT: Check = Check {
    id: "tilt-not-counted",
    safety: false,
    say: |f| {
        format!(
            "{}: glued down it lies flat; the tilt of up to {:.0} degrees at {} is not counted for it",
            f.name(0),
            f.n(0),
            f.name(1)
        )
    },
};

static FEET: Check = Check {
    id: "feet-tilted",
    safety: false,
    say: |f| {
        format!(
            "{}: feet are fixed, but at {} a tilt of up to {:.0} degrees is entered; the year takes it as tilted so, as warm as \
             close to the roof. What can be tilted up is of mount tilted, and cooler; what cannot has a tilt of 0",
            f.name(0),
            f.name(1),
            f.n(0)
        )
    },
};

/// A clock no further from the sun's is one that people live by, h.
/// Source: legal zones as they are: some 3 h in the west of China, less elsewhere.
const CLOCK_H: f64 = 4.0;
/// Beyond this longitude a zone may have the date of the other side, degrees. Source: the date line, at most at 150 W.
const DATE_LINE_DEG: f64 = 150.0;

/// What a month's sun is rounded to, kWh/m2 a day. Source: published tables of sun have two decimals.
const ROUNDED_KWH: f64 = 0.01;

/// Whether something would use hours of driving; whether a charger takes shore power; whether that carries loads past the
/// bank.
fn uses(w: &Work<'_>) -> (bool, bool, bool) {
    let plan = w.context.plan;
    let chargers = || plan.chargers.iter().filter(|c| c.state.stays());
    let drives = chargers().any(|c| c.kind.known().is_none_or(|k| *k == ChargerKind::DcDc));
    let carries = plan.inverters.iter().any(|i| i.state.stays())
        && plan.loads.iter().any(|l| l.state.stays() && l.supply == Supply::Inverter);
    (drives, chargers().any(takes_shore), carries)
}

/// What is said of a shortfall where some stay's driving or shore power is not known: the year takes none.
pub(super) fn at_most(w: &Work<'_>) -> &'static str {
    let (drives, shore, carries) = uses(w);
    let is_open = |s: &Stay| {
        matches!(s.drive_h_day, Some(Known::Unknown)) && drives
            || matches!(s.shore_days_month, Some(Known::Unknown)) && (shore || carries)
    };
    if w.context.plan.stays.iter().any(is_open) {
        "; at most, as hours of driving or shore days are not known and the year takes none"
    } else {
        ""
    }
}

/// What a finding is about, made where it is said.
type Subject<'a> = &'a dyn Fn() -> FieldPath;

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let (drives, shore, carries) = uses(w);
    for stay in &plan.stays {
        let subject = || FieldPath::of(&["stays", stay.id.as_str()]);
        let note = |check, level, numbers: &[f64]| {
            Finding::new(check, level, subject(), numbers, &COMMON_PRACTICE).named([stay.id.as_str()])
        };
        let hours = match &stay.drive_h_day {
            Some(Known::Unknown) if drives => {
                out.wait(subject().join("drive_h_day"));
                Some(note(&UNKNOWN_HOURS, Level::Note, &[0.0]))
            }
            Some(Known::Is(hours)) if hours.0 > 0.0 && !drives => {
                Some(note(&NO_DRIVER, Level::Note, &[hours.0]).named([stay.id.as_str(), straight_line(w).as_str()]))
            }
            _ => None,
        };
        out.take(&UNKNOWN_HOURS, subject, Ok(hours));
        let days = match &stay.shore_days_month {
            Some(Known::Unknown) if shore || carries => {
                out.wait(subject().join("shore_days_month"));
                Some(note(&UNKNOWN_DAYS, Level::Note, &[0.0]))
            }
            Some(Known::Is(days)) if days.0 > 0.0 && !shore => {
                Some(note(&NO_GEAR, Level::Caution, &[days.0, f64::from(u8::from(carries))]))
            }
            _ => None,
        };
        out.take(&UNKNOWN_DAYS, subject, Ok(days));
        out.take(&TOO_SUNNY, subject, too_sunny(w, stay, &subject));
        out.take(&CLOCK, subject, clock_off(stay, &subject));
    }
    for array in plan.arrays.iter().filter(|a| a.state.stays() && a.strings.panels() > 0) {
        let subject = || FieldPath::of(&["arrays", array.id.as_str(), "mount"]);
        let check = match array.mount {
            Mount::Glued => &STAYS_FLAT,
            Mount::Feet => &FEET,
            Mount::Tilted => continue,
        };
        out.take(check, subject, Ok(is_tilted(w, check, array, &subject)));
    }
    settings(w, out);
}

/// What stands in the line from the engine's battery or alternator straight to the bank: an isolator or relay, else the
/// line's first run; nothing where none leads there.
fn straight_line(w: &Work<'_>) -> String {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let stay = plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays());
    let ways =
        stay.filter(|(i, _)| is_start(plan, Node::Device(*i))).filter_map(|(i, _)| circuit.straight_to_bank(plan, i));
    let Some(way) = ways.into_iter().find(|way| !way.is_empty()) else { return String::new() };
    let ends = way.iter().filter_map(|i| circuit.links.get(*i)).flat_map(|l| [l.from, l.to]).flatten();
    let isolator = ends.into_iter().find_map(|n| match n {
        Node::Device(i) if device_kind(plan, n) == Some(DeviceKind::Isolator) => plan.devices.get(i),
        _ => None,
    });
    let run = way.first().and_then(|i| plan.runs.get(*i));
    isolator.map(|d| d.id.to_string()).or_else(|| run.map(|r| r.id.to_string())).unwrap_or_default()
}

/// Whether a charger works on shore power.
fn takes_shore(charger: &Charger) -> bool {
    let source = charger.ac_source.as_ref().and_then(Known::known);
    let kind = charger.kind.known().is_none_or(|k| matches!(k, ChargerKind::Shore | ChargerKind::Converter));
    kind && source.is_none_or(|s| matches!(s, AcSource::Shore | AcSource::Either))
}

/// Settings that the year has a way of its own for where they are not known: a lithium bank's sag by its size, no end of
/// absorption by time, no heater; and a bank outside the heated space where that makes a difference.
fn settings(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    if w.context.chemistry().is_ok_and(|row| row.chemistry.is_lithium()) {
        if matches!(plan.bank.sag_mohm, Some(Known::Unknown)) {
            out.wait("bank.sag_mohm".into());
        }
        if matches!(plan.bank.heater_w, Some(Known::Unknown)) {
            out.wait("bank.heater_w".into());
        }
    }
    let is_colder = w.weather.coldest_c.as_ref().is_ok_and(|c| *c < w.context.rules.interior_least_c);
    if is_colder && plan.bank.heated == Known::Unknown && w.context.chemistry().is_ok() {
        out.wait("bank.heated".into());
    }
    for k in plan.controllers.iter().filter(|k| k.state.stays()) {
        if matches!(k.absorb_h, Some(Known::Unknown)) {
            out.wait(FieldPath::of(&["controllers", k.id.as_str(), "absorb_h"]));
        }
    }
}

/// An array at stays with a tilt, which its mount cannot give it.
fn is_tilted(w: &Work<'_>, check: &'static Check, array: &Array, subject: Subject<'_>) -> Option<Finding> {
    let tilted = w.context.plan.stays.iter().filter_map(|s| Some((s.id.as_str(), s.tilt_deg.known()?.0)));
    let tilted: Vec<(&str, f64)> = tilted.filter(|(_, tilt)| *tilt > 0.0).collect();
    let most = tilted.iter().map(|(_, tilt)| *tilt).reduce(f64::max)?;
    let stays: Vec<&str> = tilted.iter().map(|(id, _)| *id).collect();
    let found = Finding::new(check, Level::Note, subject(), &[most], &COMMON_PRACTICE);
    Some(found.named([array.id.as_str(), stays.join(", ").as_str()]))
}

/// A clock that is far from what the longitude says: another place's, or one with a wrong sign.
fn clock_off(stay: &Stay, subject: Subject<'_>) -> Outcome {
    let Some(clock_h) = &stay.clock_h else { return Ok(None) };
    let clock_h = clock_h.at(|| subject().join("clock_h"))?.0;
    let longitude_deg = stay.longitude_deg.at(|| subject().join("longitude_deg"))?.0;
    let own_h = longitude_deg / 15.0;
    let off_h = (clock_h - own_h).abs();
    let off_h = if longitude_deg.abs() >= DATE_LINE_DEG { off_h.min((24.0 - off_h).abs()) } else { off_h };
    Ok((off_h > CLOCK_H).then(|| {
        Finding::new(&CLOCK, Level::Caution, subject(), &[off_h, clock_h, own_h], &COMMON_PRACTICE)
            .named([stay.id.as_str()])
    }))
}

/// The worst month in which a stay's own sun is more than there is above the air, and all such months.
fn too_sunny(w: &Work<'_>, stay: &Stay, subject: Subject<'_>) -> Outcome {
    let Some(own) = &stay.sun_kwh_m2_day else { return Ok(None) };
    let latitude = stay.latitude_deg.at(|| subject().join("latitude_deg"))?.0;
    let of_stay = |m: usize| {
        let first = w.context.plan.stays.iter().find(|s| s.months.has(m));
        first.is_some_and(|s| s.id == stay.id)
    };
    let top = |m: usize| top_of_air_kwh_m2_day(latitude, m);
    let over: Vec<(usize, f64)> =
        own.0.iter().copied().enumerate().filter(|(m, kwh)| of_stay(*m) && *kwh > top(*m) + ROUNDED_KWH).collect();
    let worst = over.iter().max_by(|a, b| (a.1 - top(a.0)).total_cmp(&(b.1 - top(b.0))));
    let Some(worst) = worst else { return Ok(None) };
    let months = named(over.iter().map(|(m, _)| *m));
    let numbers = [worst.1, top(worst.0)];
    let found = Finding::new(&TOO_SUNNY, Level::Caution, subject(), &numbers, &TOP_OF_AIR);
    Ok(Some(found.named([stay.id.as_str(), &months])))
}
