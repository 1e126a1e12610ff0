//! Means of disconnection: the array from its controller, the bank from what it feeds.

use crate::engine::Work;
use crate::engine::circuit::{Circuit, Half, Node, PathKind, Role, Way, device_kind, on_bank_side};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::plan::wiring::Resets;
use crate::plan::{DeviceKind, FieldPath, YesNo};
use crate::standards::kinds::FuseFamily;
use crate::standards::source::COMMON_PRACTICE;

static ARRAY: Check = Check {
    id: "no-array-disconnect",
    safety: false,
    say: |f| format!("{} has no disconnect before {}: in daylight it cannot be made dead", f.name(0), f.name(1)),
};
static BANK: Check = Check {
    id: "no-bank-disconnect",
    safety: false,
    say: |f| {
        let past = match f.name(1) {
            "" => String::new(),
            runs => format!("; {runs} lead there past what switches: a switch in that way too, or that way taken out"),
        };
        format!("nothing switches {} off from the bank but pulling a fuse{past}", f.name(0))
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    for (k, way) in w.context.circuit.ways.iter().enumerate() {
        let said = w.context.circuit.ways.iter().take(k).any(|w| (w.kind, w.end) == (way.kind, way.end));
        if let (PathKind::Array, Node::Array(i), false) = (way.kind, way.end, said)
            && let Some(array) = plan.arrays.get(i)
            && array.state.stays()
            && !opens(w, way)
        {
            let path = || FieldPath::of(&["arrays", array.id.as_str()]);
            let controller = w.context.circuit.feeds.get(i).copied().flatten().and_then(|k| plan.controllers.get(k));
            let to = controller.map_or("its controller", |k| k.id.as_str());
            let found =
                Finding::new(&ARRAY, Level::Caution, path(), &[], &COMMON_PRACTICE).named([array.id.as_str(), to]);
            out.take(&ARRAY, path, Ok(Some(found)));
        }
    }
    if let Some((name, past)) = unswitched(w) {
        let runs = past.iter().filter_map(|i| plan.runs.get(*i)).map(|r| r.id.as_str()).collect::<Vec<_>>().join(", ");
        let found = Finding::new(&BANK, Level::Caution, "bank".into(), &[], &COMMON_PRACTICE).named([name, runs]);
        out.take(&BANK, || "bank".into(), Ok(Some(found)));
    }
}

/// Whether a switch, disconnect or breaker stands anywhere on a way.
fn opens(w: &Work<'_>, way: &Way) -> bool {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    way.runs.iter().any(|i| {
        let ends = match way.half(*i) {
            Some(Half::Negative) => circuit.negative_of(*i).map(|(from, to)| [Some(from), Some(to)]),
            _ => circuit.links.get(*i).map(|l| [l.from, l.to]),
        };
        let at_end = ends.into_iter().flatten().flatten().any(|n| {
            matches!(device_kind(plan, n), Some(DeviceKind::Switch | DeviceKind::Disconnect | DeviceKind::Breaker))
        });
        let on_run = plan.runs.get(*i).filter(|_| way.half(*i) != Some(Half::Negative)).is_some_and(|r| {
            r.protection
                .iter()
                .filter(|p| p.state.stays())
                .any(|p| p.resets == Resets::Manual || p.family.known() == Some(&FuseFamily::Breaker))
        });
        at_end || on_run
    })
}

/// The other runs over which what stands at the end of a way is on the bank too, by positives alone that nothing opens, the bank's
/// first: of a way whose negative is opened none.
fn past(w: &Work<'_>, way: &Way) -> Option<Vec<usize>> {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let negative = |i: &usize| {
        let bare = Way { runs: vec![*i], ..way.clone() };
        !way.positives(circuit).any(|run| run == *i) && opens(w, &bare)
    };
    if !way.runs.iter().any(|i| circuit.links.get(*i).is_some_and(|l| l.looped)) || way.runs.iter().any(negative) {
        return None;
    }
    let shuts = |i: usize| {
        let runs = vec![i];
        opens(w, &Way { runs, halves: vec![(i, Half::Positive)], ..way.clone() })
    };
    // Each place with the one before it and the run between.
    let (mut reached, mut next) = (vec![(way.end, 0, usize::MAX)], 0);
    while let Some(&(node, ..)) = reached.get(next) {
        if node == Node::Bank {
            let before = |(_, at, _): &(Node, usize, usize)| reached.get(*at).copied();
            let back = std::iter::successors(reached.get(next).copied(), before);
            return Some(back.map(|(_, _, run)| run).take_while(|run| *run != usize::MAX).collect());
        }
        next += 1;
        if node != way.end && circuit.is_end(node) {
            continue;
        }
        for i in circuit.at(node).iter().copied().filter(|i| carries(circuit, *i) && !shuts(*i)) {
            let is_new = |n: &Node| !reached.iter().any(|(there, ..)| there == n);
            let Some(other) = circuit.other(i, node).filter(is_new) else { continue };
            // A converter lets nothing up, and its feed alone lets anything in.
            if device_kind(plan, node) != Some(DeviceKind::Converter) || circuit.at_converter(i) == Some((node, true)) {
                reached.push((other, next - 1, i));
            }
        }
    }
    None
}

fn carries(circuit: &Circuit, run: usize) -> bool {
    circuit.links.get(run).is_some_and(|l| on_bank_side(l.role))
}

/// Whether a run carries more than one load's or the inverter's current.
fn is_shared(role: Role) -> bool {
    !matches!(role, Role::LoadBranch | Role::InverterFeed)
}

/// The fuse panels of a way.
fn panels<'a>(w: &'a Work<'_>, way: &'a Way) -> impl Iterator<Item = Node> + 'a {
    way.positives(&w.context.circuit)
        .filter_map(|i| w.context.circuit.links.get(i))
        .flat_map(|l| [l.from, l.to])
        .flatten()
        .filter(|n| device_kind(w.context.plan, *n) == Some(DeviceKind::FusePanel))
}

/// The first inverter or fuse panel that no switch takes off the bank, and the runs that lead there past one. A panel that feeds
/// life safety is left out, as nothing may switch that off, but where no switch takes off other loads together either.
fn unswitched(w: &Work<'_>) -> Option<(String, Vec<usize>)> {
    let plan = w.context.plan;
    let ways = &w.context.circuit.ways;
    let vital = |way: &Way| match way.end {
        Node::Load(i) => plan.loads.get(i).is_some_and(|l| l.life_safety == YesNo::Yes && l.state.stays()),
        _ => false,
    };
    let (mut any_opened, mut with_life) = (false, None);
    for way in ways {
        let Some(past) = (if opens(w, way) { past(w, way) } else { Some(Vec::new()) }) else {
            // A switch of one load, or of the inverter, takes off nothing else.
            let shared = |i: &usize| matches!(w.context.circuit.links.get(*i), Some(l) if is_shared(l.role));
            let runs = way.runs.iter().copied().filter(shared).collect();
            let draws = matches!(way.kind, PathKind::Inverter | PathKind::OtherLoad | PathKind::CriticalLoad);
            any_opened |= draws && !vital(way) && opens(w, &Way { runs, ..way.clone() });
            continue;
        };
        match (way.kind, way.end) {
            (PathKind::Inverter, Node::Inverter(i)) => {
                if let Some(inverter) = plan.inverters.get(i).filter(|x| x.state.stays()) {
                    return Some((inverter.id.to_string(), past));
                }
            }
            (PathKind::OtherLoad | PathKind::CriticalLoad, _) if !vital(way) => {
                let feeds_life =
                    |panel: Node| ways.iter().filter(|x| vital(x)).any(|x| panels(w, x).any(|p| p == panel));
                let panel = panels(w, way).next();
                if let Some(panel @ Node::Device(i)) = panel
                    && let Some(device) = plan.devices.get(i)
                {
                    let found = (device.id.to_string(), past);
                    if !feeds_life(panel) {
                        return Some(found);
                    }
                    with_life.get_or_insert(found);
                }
            }
            _ => {}
        }
    }
    with_life.filter(|_| !any_opened)
}
