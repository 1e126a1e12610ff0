//! What is of a start battery and not of the bank: said, so that nothing drops out of the bank's sums unnoticed.

use crate::engine::Work;
use crate::engine::circuit::{Node, device_kind, is_start, name_of};
use crate::engine::dc_lines::line_runs;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::plan::{DeviceKind, FieldPath};
use crate::standards::source::COMMON_PRACTICE;

static CHARGES: Check = Check {
    id: "charges-start-battery",
    safety: false,
    say: |f| {
        let (id, battery, fed) = (f.name(0), f.name(1), f.name(2));
        let taken = match fed {
            "" => "",
            _ => "; what it takes of the bank in a day is in no load: enter it as one",
        };
        format!(
            "{id} charges the start battery {battery}, not the bank: its settings are held to that one, and the year has nothing of it{taken}"
        )
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
        let subject = || FieldPath::new(format!("chargers.{}", charger.id));
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
        let Some(battery) = circuit.charges_start(Node::Charger(i)) else { continue };
        let subject = || FieldPath::new(format!("chargers.{}", charger.id));
        let Some(battery) = plan.devices.get(battery) else { continue };
        let fed = if circuit.is_fed_by_bank(Node::Charger(i)) { "fed" } else { "" };
        let found = Finding::new(&CHARGES, Level::Note, subject(), &[], &COMMON_PRACTICE);
        let names = [charger.id.as_str(), battery.id.as_str(), fed];
        out.take(&CHARGES, subject, Ok(Some(found.named(names))));
    }
    let mut batteries: Vec<usize> = circuit.on_vehicle.iter().map(|(_, battery)| *battery).collect();
    batteries.dedup();
    for battery in batteries {
        let things = circuit.on_vehicle.iter().filter(|(_, by)| *by == battery);
        let names: Vec<String> = things.map(|(node, _)| name_of(plan, *node)).collect();
        let Some(device) = plan.devices.get(battery) else { continue };
        let subject = || FieldPath::new(format!("devices.{}", device.id));
        let names = names.join(", ");
        let found = Finding::new(&FEEDS, Level::Note, subject(), &[], &COMMON_PRACTICE);
        out.take(&FEEDS, subject, Ok(Some(found.named([names]))));
    }
}
