//! The chassis bond, disconnects, and devices that stand too hot.

use crate::engine::Work;
use crate::engine::capacity::ratings;
use crate::engine::circuit::{Node, PathKind, Role, device_kind};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::resistance::gauge_of;
use crate::engine::runs::path_of;
use crate::plan::{DeviceKind, FieldPath, Protection, Run};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::standards::kinds::{FuseFamily, Zone};
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};

static BOND_SOURCE: Source = Source::new("NEC", "552.10(C)(4)", Standing::Verified);
/// Smallest chassis bond. Source: NEC 552.10(C)(4).
const LEAST_BOND: Gauge = Gauge::Awg(5);

static BOND_THIN: Check = Check {
    id: "bond-too-thin",
    safety: false,
    say: |f| {
        format!(
            "{}: a chassis bond of {:.1} mm2; it must be at least 8 AWG and no smaller than the bank's own lead, {:.1} mm2",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};
static NO_BOND: Check = Check {
    id: "no-bond-drawn",
    safety: false,
    say: |_| {
        "no chassis bond is drawn: draw it as a run without return to the chassis point, or say why there is none"
            .into()
    },
};
static NO_MAIN: Check = Check {
    id: "no-battery-disconnect",
    safety: false,
    say: |_| "nothing on any way from the bank can switch it off by hand".into(),
};
static NO_PV: Check = Check {
    id: "no-pv-disconnect",
    safety: false,
    say: |f| format!("{}: nothing on its way to the controller can disconnect it under load", f.name(0)),
};
static HOT: Check = Check {
    id: "device-too-hot",
    safety: false,
    say: |f| format!("{} stands in {:.0} C ({}), it is made for {:.0} C", f.name(0), f.n(0), f.name(1), f.n(1)),
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    bonds(w, out);
    disconnects(w, out);
    hot(w, out);
}

/// Whether a protective device can be opened by hand under load.
fn breaker(fuse: &Protection) -> bool {
    fuse.family.known() == Some(&FuseFamily::Breaker) && fuse.state.stays()
}

/// Thickest conductor of a run's live legs.
fn thickest_mm2(run: &Run) -> Option<f64> {
    let legs = run.legs.iter().filter(|l| l.state.stays());
    legs.filter_map(|l| Some(area_mm2(gauge_of(run, l).ok()?) * l.per_pole.known()?.0)).reduce(f64::max)
}

fn bonds(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let links = || plan.runs.iter().zip(&w.context.circuit.links);
    let lead_mm2 = links()
        .filter(|(_, l)| l.role != Role::Bond && [l.from, l.to].contains(&Some(Node::Bank)))
        .filter_map(|(run, _)| thickest_mm2(run))
        .fold(area_mm2(LEAST_BOND), f64::max);
    let is_chassis = |n: Option<Node>| n.is_some_and(|n| device_kind(plan, n) == Some(DeviceKind::Chassis));
    let mut drawn = false;
    for (run, link) in links().filter(|(_, l)| l.role == Role::Bond && (is_chassis(l.from) || is_chassis(l.to))) {
        drawn = true;
        let mm2 = thickest_mm2(run);
        // A case's own bond may be thinner; the one at the bus or the bank's negative may not.
        let main = [link.from, link.to].into_iter().flatten().any(|n| {
            matches!(n, Node::Bank | Node::BankMinus)
                || matches!(device_kind(plan, n), Some(DeviceKind::Bus | DeviceKind::Shunt))
        });
        let needed = if main { lead_mm2 } else { area_mm2(LEAST_BOND) };
        // A hundredth below, so that 8 AWG is not thinner than 8.37 mm2 by rounding.
        if let Some(mm2) = mm2.filter(|mm2| *mm2 < needed * 0.99) {
            let found = Finding::new(&BOND_THIN, Level::Caution, path_of(run), &[mm2, needed], &BOND_SOURCE)
                .smaller_is_worse()
                .named([&run.id]);
            out.take(&BOND_THIN, || path_of(run), Ok(Some(found)));
        }
    }
    if !drawn && plan.bank.state.stays() && !plan.runs.is_empty() && plan.bank.chemistry.known().is_some() {
        let found = Finding::new(&NO_BOND, Level::Note, "runs".into(), &[], &BOND_SOURCE);
        out.take(&NO_BOND, || "runs".into(), Ok(Some(found)));
    }
}

fn disconnects(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let opens = |i: &usize| {
        let switch = w.context.circuit.links.get(*i).is_some_and(|l| {
            [l.from, l.to].into_iter().flatten().any(|n| {
                matches!(device_kind(plan, n), Some(DeviceKind::Switch | DeviceKind::Disconnect | DeviceKind::Isolator))
            })
        });
        switch || plan.runs.get(*i).is_some_and(|r| r.protection.iter().any(breaker))
    };
    let drawing = |kind| matches!(kind, PathKind::Inverter | PathKind::CriticalLoad | PathKind::OtherLoad);
    let ways = &w.context.circuit.ways;
    if ways.iter().any(|way| drawing(way.kind))
        && !ways.iter().any(|way| drawing(way.kind) && way.runs.iter().any(opens))
    {
        let found = Finding::new(&NO_MAIN, Level::Caution, "bank".into(), &[], &COMMON_PRACTICE);
        out.take(&NO_MAIN, || "bank".into(), Ok(Some(found)));
    }
    for way in ways.iter().filter(|way| way.kind == PathKind::Array && !way.runs.iter().any(opens)) {
        if let Node::Array(i) = way.end
            && let Some(array) = plan.arrays.get(i)
        {
            let subject = || FieldPath::new(format!("arrays.{}", array.id));
            let found = Finding::new(&NO_PV, Level::Caution, subject(), &[], &COMMON_PRACTICE).named([&array.id]);
            out.take(&NO_PV, subject, Ok(Some(found)));
        }
    }
}

/// Devices whose instructions name a hottest ambient below that of the place they stand in.
fn hot(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let mut one = |node: Node, zone: Option<Zone>, list: &str, id: &crate::plan::Id| {
        let subject = || FieldPath::new(format!("{list}.{id}"));
        let outcome: Outcome = (|| {
            let (Some(zone), Some((r, path))) = (zone, ratings(w.context, node)) else { return Ok(None) };
            let Some(most) = &r.max_ambient_c else { return Ok(None) };
            let (most, here) = (most.at(|| path("ratings.max_ambient_c"))?.0, w.context.rules.ambient(zone));
            Ok((here > most).then(|| {
                Finding::new(&HOT, Level::Caution, subject(), &[here, most], &COMMON_PRACTICE)
                    .named([id.as_str(), zone.word()])
            }))
        })();
        out.take(&HOT, subject, outcome);
    };
    for (i, x) in plan.controllers.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        one(Node::Controller(i), x.zone, "controllers", &x.id);
    }
    for (i, x) in plan.inverters.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        one(Node::Inverter(i), x.zone, "inverters", &x.id);
    }
    for (i, x) in plan.chargers.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        one(Node::Charger(i), x.zone, "chargers", &x.id);
    }
    for (i, x) in plan.devices.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        one(Node::Device(i), x.zone, "devices", &x.id);
    }
}
