//! What is of a start battery and not of the bank: said, so that nothing drops out of the bank's sums unnoticed.

use crate::engine::Work;
use crate::engine::circuit::{Node, PathKind, device_kind, is_start, name_of};
use crate::engine::dc_lines::{line_runs, whole_line};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::starting::{StartBattery, start_batteries};
use crate::engine::vehicle::system_of;
use crate::plan::{Device, DeviceKind, FieldPath};
use crate::standards::source::COMMON_PRACTICE;
use crate::words::counted;

use super::digits::rated;
use super::settings::NOMINAL;

static CHARGES: Check = Check {
    id: "charges-start-battery",
    safety: false,
    say: |f| {
        let (id, battery, fed, bank) = (f.name(0), f.name(1), f.name(2), f.name(3));
        let several = battery.contains(" and ");
        let (start, one) = if several { ("start batteries", "each") } else { ("start battery", "that one") };
        let taken = match fed {
            "" => "",
            _ => "; what it takes of the bank in a day is in no load: enter it as one",
        };
        let held = |whom: &str| format!("its settings are held to {whom}");
        match bank {
            "" => {
                let held = held(one);
                format!(
                    "{id} charges the {start} {battery}, not the bank: {held}, and the year has nothing of it{taken}"
                )
            }
            "beside" => {
                let held = held("all of them");
                format!(
                    "{id} charges the {start} {battery} beside the bank: {held}, and the year gives the bank all it brings"
                )
            }
            _ => {
                let held = held("both");
                format!(
                    "{id} charges the {start} {battery}, and by what joins them the bank: {held}, and the year has nothing of it"
                )
            }
        }
    },
};
static FEEDS: Check = Check {
    id: "loads-on-start-battery",
    safety: false,
    say: |f| {
        format!(
            "this start battery feeds {}, and the bank does not: no sum, limit or year of the bank has it",
            f.name(0)
        )
    },
};
static UNLIKE: Check = Check {
    id: "start-batteries-unlike",
    safety: false,
    say: |f| {
        let (first, other, runs) = (f.name(0), f.name(1), f.name(2));
        format!(
            "{first} ({}) and {other} ({}) are joined by {runs} with no charger between: what charges the one charges the other, at \
             volts that do not suit both",
            f.name(3),
            f.name(4)
        )
    },
};
static UNLIKE_VOLTS: Check = Check {
    id: "start-batteries-unlike-volts",
    safety: true,
    say: |f| {
        let (first, other, runs) = (f.name(0), f.name(1), f.name(2));
        format!(
            "{first}, of {} V, and {other}, of {} V, are joined by {runs} with no charger between: each drives into the other all \
             that wire and fuses let through",
            rated(f.n(0)),
            rated(f.n(1))
        )
    },
};
static ODD: Check = Check {
    id: "start-battery-volts-unlikely",
    safety: false,
    say: |f| {
        format!(
            "{}: {} V would be {} of {:.2} V, as no usual {} battery is; it is reckoned with {} V: its label's volts are to be entered",
            f.name(0),
            rated(f.n(0)),
            counted(f.n(1), "cell"),
            f.n(2),
            f.name(1),
            rated(f.n(3))
        )
    },
};
static DIFFER: Check = Check {
    id: "vehicle-volts-differ",
    safety: true,
    say: |f| {
        let (battery, other, own, others) = (f.name(0), f.name(1), rated(f.n(0)), rated(f.n(1)));
        let what = match f.name(2) {
            "" => format!("{other}, which charges it, is one of {others} V"),
            low => format!("alternator low of {other} is {low} V, that of a vehicle of {others} V"),
        };
        format!(
            "{battery} is a battery of {own} V, and {what}: one of the two is not so, and each is reckoned with as entered"
        )
    },
};
static AHEAD_OF_TOW: Check = Check {
    id: "line-ahead-of-tow",
    safety: false,
    say: |f| {
        let (id, tow, volts) = (f.name(0), f.name(1), f.n(0));
        format!(
            "{id}: its line begins at {tow}, where {volts:.1} V are taken; the vehicle's own wire ahead of it is not drawn and loses \
             some of them: measure there under load and enter it as alternator low, or draw that wire"
        )
    },
};

/// A start battery whose volts none of its kind has.
///
/// Source: IEC 60050-482, nominal voltage.
fn odd(w: &Work<'_>, device: usize) -> Option<Finding> {
    let own = StartBattery::of(w.context, device).ok()?;
    let label_v = own.device.unit_v?.known()?.0;
    let numbers = [label_v, own.row.cells(label_v), own.row.odd_cell_v(label_v)?, own.twelves * 12.0];
    let found = Finding::new(&ODD, Level::Caution, own.field("unit_v"), &numbers, &NOMINAL);
    Some(found.named([own.device.id.as_str(), own.kind()]))
}

/// Start batteries joined by wire, relays and switches alone, of unlike volts or one of lithium beside lead; unlike lead is worth
/// knowing. Each is said beside those before it.
///
/// Source: Kirchhoff, as for the bank; of what suits them common practice.
fn unlike(w: &Work<'_>, out: &mut Gathered) {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let all: Vec<(usize, &Device)> = start_batteries(plan).collect();
    for (k, (b, other)) in all.iter().enumerate() {
        let before = all.get(..k).unwrap_or_default().iter();
        let Some((a, first, way)) = before.rev().find_map(|(a, d)| Some((*a, *d, circuit.between_starts(*a, *b)?)))
        else {
            continue;
        };
        let subject = || FieldPath::of(&["devices", other.id.as_str()]);
        let both = StartBattery::of(w.context, a).and_then(|own| Ok((own, StartBattery::of(w.context, *b)?)));
        let (one, two) = match both {
            Ok(both) => both,
            Err(missing) => {
                out.take(&UNLIKE_VOLTS, subject, Err(missing));
                continue;
            }
        };
        let runs: Vec<&str> = way.iter().filter_map(|i| plan.runs.get(*i)).map(|r| r.id.as_str()).collect();
        let names = [first.id.to_string(), other.id.to_string(), runs.join(", "), one.kind().into(), two.kind().into()];
        let numbers = [system_v(one.twelves), system_v(two.twelves)];
        if (numbers[0] - numbers[1]).abs() > 1e-9 {
            let found = Finding::new(&UNLIKE_VOLTS, Level::Stop, subject(), &numbers, &COMMON_PRACTICE);
            out.take(&UNLIKE_VOLTS, subject, Ok(Some(found.named(names.clone()))));
        }
        let is_lithium = |own: &StartBattery<'_>| own.row.chemistry.is_lithium();
        let told = first.chemistry.is_some() && other.chemistry.is_some();
        let level = match (is_lithium(&one) != is_lithium(&two), told && one.row.chemistry != two.row.chemistry) {
            (true, _) => Level::Caution,
            (_, true) => Level::Note,
            _ => continue,
        };
        let found = Finding::new(&UNLIKE, level, subject(), &[], &COMMON_PRACTICE);
        out.take(&UNLIKE, subject, Ok(Some(found.named(names))));
    }
}

/// A start battery whose volts are entered, and those of what charges it or is fed from it: the low volts of each DC-DC charger's
/// line that it is on, and what its alternator is made for.
///
/// Source: Kirchhoff's voltage law: all on one line stand at the same volts.
fn differ(w: &Work<'_>, out: &mut Gathered) {
    let (plan, c) = (w.context.plan, w.context);
    for (i, device) in start_batteries(plan).filter(|(_, d)| d.unit_v.is_some() || d.ratings.volts_dc_v.is_some()) {
        let subject = || FieldPath::of(&["devices", device.id.as_str()]);
        let Some(own_v) = StartBattery::of(c, i).ok().filter(|own| own.is_told).map(|own| system_v(own.twelves)) else {
            continue;
        };
        let on_it = |run: &usize| {
            let ends = c.circuit.links.get(*run).map(|l| [l.from, l.to]);
            ends.is_some_and(|ends| ends.contains(&Some(Node::Device(i))))
        };
        let lines = plan.chargers.iter().enumerate().filter(|(_, ch)| ch.state.stays());
        let low = lines.filter_map(|(j, ch)| {
            let low_v = ch.alternator_low_v.as_ref()?.known()?.0;
            let is_its = whole_line(c, j).iter().any(on_it);
            is_its.then(|| (system_of(low_v) * 12.0, ch.id.to_string(), rated(low_v)))
        });
        let made = c.circuit.alternators_of(plan, i).filter_map(|j| {
            let device = plan.devices.get(j)?;
            let volts = device.ratings.volts_dc_v.as_ref()?.known()?.0;
            Some((system_of(volts) * 12.0, device.id.to_string(), String::new()))
        });
        if let Some((volts, id, low)) = low.chain(made).find(|(volts, ..)| (volts - own_v).abs() > 1e-9) {
            let found = Finding::new(&DIFFER, Level::Stop, subject(), &[own_v, volts], &COMMON_PRACTICE);
            out.take(&DIFFER, subject, Ok(Some(found.named([device.id.to_string(), id, low]))));
        }
    }
}

/// Volts that a battery of so many times 12 V is called by: 6, 8, 12, 24.
fn system_v(twelves: f64) -> f64 {
    (twelves * 12.0).round()
}

/// DC-DC chargers on a tow connector whose vehicle is not drawn, with nothing entered of what stands there.
fn ahead_of_tow(w: &Work<'_>, out: &mut Gathered) {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    for (i, charger) in
        plan.chargers.iter().enumerate().filter(|(_, c)| c.state.stays() && c.alternator_low_v.is_none())
    {
        let tow = |n: &Node| device_kind(plan, *n) == Some(DeviceKind::Tow) && is_start(plan, *n);
        let runs = line_runs(w.context, i);
        let mut ends = runs.iter().filter_map(|run| circuit.links.get(*run)).flat_map(|l| [l.from, l.to]).flatten();
        let Some(tow) = ends.find(tow) else { continue };
        let subject = || FieldPath::of(&["chargers", charger.id.as_str()]);
        let taken = [w.context.rules.alternator_low_v];
        let found = Finding::new(&AHEAD_OF_TOW, Level::Note, subject(), &taken, &COMMON_PRACTICE);
        out.take(&AHEAD_OF_TOW, subject, Ok(Some(found.named([charger.id.to_string(), name_of(plan, tow)]))));
        out.wait(subject().join("alternator_low_v"));
    }
}

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    ahead_of_tow(w, out);
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    for (i, charger) in plan.chargers.iter().enumerate() {
        let node = Node::Charger(i);
        let is_of_bank = circuit.way_of(PathKind::Charger, node).is_some();
        // One on the bank's bus charges what an isolator joins to that as a matter of course.
        let counts = |(_, joined): &(usize, bool)| !(is_of_bank && *joined);
        let of = circuit.start_batteries_of(node).filter(counts);
        let charged: Vec<(&str, bool)> =
            of.filter_map(|(i, joined)| Some((plan.devices.get(i)?.id.as_str(), joined))).collect();
        if charged.is_empty() {
            continue;
        }
        let subject = || FieldPath::of(&["chargers", charger.id.as_str()]);
        let fed = if circuit.is_fed_by_bank(node) { "fed" } else { "" };
        let bank = match (is_of_bank, charged.iter().any(|(_, joined)| *joined)) {
            (true, _) => "beside",
            (_, true) => "joined",
            _ => "",
        };
        let names: Vec<&str> = charged.iter().map(|(id, _)| *id).collect();
        let found = Finding::new(&CHARGES, Level::Note, subject(), &[], &COMMON_PRACTICE);
        let names = [charger.id.to_string(), names.join(" and "), fed.to_string(), bank.to_string()];
        out.take(&CHARGES, subject, Ok(Some(found.named(names))));
    }
    for (i, device) in start_batteries(plan) {
        out.take(&ODD, || FieldPath::of(&["devices", device.id.as_str(), "unit_v"]), Ok(odd(w, i)));
    }
    unlike(w, out);
    differ(w, out);
    let mut batteries: Vec<usize> = circuit.on_vehicle.iter().map(|(_, battery)| *battery).collect();
    batteries.dedup();
    for battery in batteries {
        let things = circuit.on_vehicle.iter().filter(|(_, by)| *by == battery);
        let names: Vec<String> = things.map(|(node, _)| name_of(plan, *node)).collect();
        let Some(device) = plan.devices.get(battery) else { continue };
        let subject = || FieldPath::of(&["devices", device.id.as_str()]);
        let names = names.join(", ");
        let found = Finding::new(&FEEDS, Level::Note, subject(), &[], &COMMON_PRACTICE);
        out.take(&FEEDS, subject, Ok(Some(found.named([names]))));
    }
}
