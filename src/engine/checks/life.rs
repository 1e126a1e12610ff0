//! Life safety: what must stay alive whatever opens or cuts off.

use crate::engine::Work;
use crate::engine::circuit::{Node, device_kind};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::plan::wiring::Supply;
use crate::plan::{DeviceKind, FieldPath, Id, Known, Load, YesNo};
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};

static BRAKES: Source = Source::new("49 CFR", "393.43(d), brakes held 15 min", Standing::FromMemory);

static CUT_OFF: Check = Check {
    id: "life-safety-behind-cut-off",
    safety: true,
    say: |f| format!("{} hangs on {}, which may cut it off by itself", f.name(0), f.name(1)),
};
static NEGATIVE: Check = Check {
    id: "life-safety-negative-switched",
    safety: true,
    say: |f| format!("{} loses its negative when {} opens", f.name(0), f.name(1)),
};
static BREAKAWAY: Check = Check {
    id: "breakaway-on-cut-off",
    safety: false,
    say: |f| {
        format!(
            "{} has only the lithium bank, which cuts itself off at {:.1} V: a battery of its own holds the brakes",
            f.name(0),
            f.n(0)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let loads = w.context.plan.loads.iter().enumerate();
    for (i, load) in loads.filter(|(_, l)| l.life_safety == YesNo::Yes && l.state.stays()) {
        let path = || FieldPath::new(format!("loads.{}", load.id));
        if let Some(device) = cut_off_by(w, i, load) {
            let found =
                Finding::new(&CUT_OFF, Level::Stop, path(), &[], &COMMON_PRACTICE).named([load.id.to_string(), device]);
            out.take(&CUT_OFF, path, Ok(Some(found)));
        }
        if let Some(switch) = negative_switch(w, i) {
            let found = Finding::new(&NEGATIVE, Level::Stop, path(), &[], &BRAKES).named([load.id.to_string(), switch]);
            out.take(&NEGATIVE, path, Ok(Some(found)));
        }
        if is_breakaway(load) {
            out.take(&BREAKAWAY, path, Ok(breakaway(w, i, load)));
        }
    }
}

/// An inverter or a controller's load output that feeds it: each switches off when it likes.
fn cut_off_by(w: &Work<'_>, index: usize, load: &Load) -> Option<String> {
    let plan = w.context.plan;
    if load.supply == Supply::Inverter {
        let inverter = plan.inverters.iter().find(|x| x.state.stays());
        return Some(inverter.map_or_else(|| "an inverter".into(), |x| x.id.to_string()));
    }
    w.context.circuit.links.iter().find_map(|l| {
        let other = match (l.from, l.to) {
            (Some(Node::Load(i)), other) | (other, Some(Node::Load(i))) if i == index => other?,
            _ => return None,
        };
        match other {
            Node::Controller(i) => plan.controllers.get(i).map(|k| k.id.to_string()),
            Node::Inverter(i) => plan.inverters.get(i).map(|k| k.id.to_string()),
            _ => None,
        }
    })
}

/// A switch that stands in the negative of its way.
fn negative_switch(w: &Work<'_>, index: usize) -> Option<String> {
    let plan = w.context.plan;
    let way = w.context.circuit.ways.iter().find(|x| x.end == Node::Load(index))?;
    let switch = |k: &Option<Known<Id>>| {
        let id = k.as_ref()?.known()?;
        let i = plan.devices.iter().position(|d| d.id == *id && d.state.stays())?;
        let opens = matches!(
            device_kind(plan, Node::Device(i)),
            Some(DeviceKind::Switch | DeviceKind::Disconnect | DeviceKind::Isolator)
        );
        opens.then(|| id.to_string())
    };
    way.runs.iter().filter_map(|i| plan.runs.get(*i)).find_map(|r| switch(&r.negative_from).or(switch(&r.negative_to)))
}

/// Whether a life-safety load is the brake supply of a trailer that breaks away, by what it is called.
fn is_breakaway(load: &Load) -> bool {
    let name = load.name.to_ascii_lowercase();
    name.contains("breakaway") || name.contains("break-away") || name.contains("brake")
}

fn breakaway(w: &Work<'_>, index: usize, load: &Load) -> Option<Finding> {
    let bank = &w.context.plan.bank;
    let lithium = w.context.chemistry().is_ok_and(|r| r.chemistry.is_lithium());
    let fed = w.context.circuit.ways.iter().any(|x| x.end == Node::Load(index));
    let cutoff = bank.discharge_cutoff_v.as_ref()?.known()?.0 * w.context.series().unwrap_or(1.0);
    (lithium && fed).then(|| {
        let path = FieldPath::new(format!("loads.{}", load.id));
        Finding::new(&BREAKAWAY, Level::Caution, path, &[cutoff], &BRAKES).named([&load.id])
    })
}
