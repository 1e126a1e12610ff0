//! What was entered and cannot be used: names that stand for nothing, labels that no panel has, places without climate.

use crate::engine::Work;
use crate::engine::arrays::label;
use crate::engine::context::at;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::roof::string_of;
use crate::physics::module::Module;
use crate::plan::{FieldPath, Id, Known, Missing, Panel, Plan, Stay};
use crate::standards::source::COMMON_PRACTICE;

static NO_SUCH: Check = Check {
    id: "no-such-name",
    safety: false,
    say: |f| {
        let have = match f.name(3) {
            "" => "there is none".to_string(),
            names => format!("there is {names}"),
        };
        format!("{} names {} {}, which is not there; {have}", f.name(0), f.name(1), f.name(2))
    },
};
static NO_STRING: Check = Check {
    id: "place-string-not-there",
    safety: false,
    say: |f| {
        if f.n(2) > 0.0 {
            let has = if f.n(3) == 1.0 { "1 panel".to_string() } else { format!("{} panels", f.n(3)) };
            return format!("{} {} is place {} of string {}, which has {has}", f.name(0), f.name(1), f.n(2), f.n(0));
        }
        let has = match f.n(1) as usize {
            1 => "its array has one string".to_string(),
            n => format!("its array has {n} strings"),
        };
        format!("{} {} is a place of string {}, {has}", f.name(0), f.name(1), f.n(0))
    },
};
static NO_PANEL: Check = Check {
    id: "label-impossible",
    safety: false,
    say: |f| {
        format!(
            "{}: no panel has such a label, with Voc {} V, Isc {} A, Vmp {} V, Imp {} A: {}; hot volts and harvest wait \
             for the right one",
            f.name(0),
            f.n(0),
            f.n(1),
            f.n(2),
            f.n(3),
            f.name(1)
        )
    },
};
pub(in crate::engine) static NO_CLIMATE: Check = Check {
    id: "place-without-climate",
    safety: false,
    say: |f| {
        format!(
            "{}: the built-in climate knows nothing at {}, {}; it has land from 60S to 75N. To be entered instead: {}",
            f.name(0),
            f.name(1),
            f.name(2),
            f.name(3)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    for found in no_such(plan) {
        let subject = found.subject.clone();
        out.take(&NO_SUCH, || subject, Ok(Some(found)));
    }
    for found in no_string(plan) {
        let subject = found.subject.clone();
        out.take(&NO_STRING, || subject, Ok(Some(found)));
    }
    for panel in &plan.panels {
        let subject = || FieldPath::of(&["panels", panel.id.as_str()]);
        out.take(&NO_PANEL, subject, Ok(impossible(w, panel)));
    }
    for stay in &plan.stays {
        let subject = || FieldPath::of(&["stays", stay.id.as_str()]);
        out.take(&NO_CLIMATE, subject, Ok(no_climate(w, stay)));
    }
}

/// What arrays and fuses name and the plan does not have.
fn no_such(plan: &Plan) -> Vec<Finding> {
    let mut all = Vec::new();
    let mut say = |subject: FieldPath, [owner, what, id]: [&str; 3], have: &mut dyn Iterator<Item = &Id>| {
        let have = have.map(Id::as_str).collect::<Vec<_>>().join(", ");
        let found = Finding::new(&NO_SUCH, Level::Caution, subject, &[], &COMMON_PRACTICE);
        all.push(found.named([owner, what, id, &have]));
    };
    for array in plan.arrays.iter().filter(|a| a.state.stays()) {
        let subject = || FieldPath::of(&["arrays", array.id.as_str()]);
        let have = || plan.controllers.iter().map(|c| &c.id);
        if let Some(id) = array.controller.known().filter(|id| !have().any(|x| x == *id)) {
            say(subject(), [array.id.as_str(), "controller", id.as_str()], &mut have());
        }
        let strange = array.strings.0.iter().flatten().find(|id| !plan.panels.iter().any(|p| p.id == **id));
        if let Some(id) = strange {
            say(subject(), [array.id.as_str(), "panel", id.as_str()], &mut plan.panels.iter().map(|p| &p.id));
        }
    }
    for run in &plan.runs {
        for fuse in run.protection.iter().filter(|f| f.state.stays()) {
            let have = || run.legs.iter().map(|l| &l.id);
            let leg = fuse.leg.as_ref().and_then(Known::known);
            if let Some(id) = leg.filter(|id| !have().any(|x| x == *id)) {
                let owner = format!("{} of {}", fuse.id, run.id);
                say(FieldPath::of(&["runs", run.id.as_str()]), [&owner, "leg", id.as_str()], &mut have());
            }
        }
    }
    all
}

/// Places on the roof of a string that their array does not have.
fn no_string(plan: &Plan) -> Vec<Finding> {
    let mut all = Vec::new();
    for array in plan.arrays.iter().filter(|a| a.state.stays() && a.strings.panels() > 0) {
        let strings = array.strings.0.len() as f64;
        let mut taken = vec![0_usize; array.strings.0.len()];
        for (index, place) in array.places.iter().enumerate() {
            let here =
                string_of(array, index).and_then(|k| Some((k, array.strings.0.get(k)?.len(), taken.get_mut(k)?)));
            if let Some((k, has, nth)) = here {
                *nth += 1;
                if *nth > has {
                    let subject = FieldPath::of(&["arrays", array.id.as_str(), "places", place.id.as_str()]);
                    let numbers = [(k + 1) as f64, strings, *nth as f64, has as f64];
                    let found = Finding::new(&NO_STRING, Level::Caution, subject, &numbers, &COMMON_PRACTICE);
                    all.push(found.named([&array.id, &place.id]));
                }
            }
            let string = place.string.as_ref().and_then(|n| n.known()).map_or(0.0, |n| n.0);
            if string > strings + 1e-9 {
                let subject = FieldPath::of(&["arrays", array.id.as_str(), "places", place.id.as_str()]);
                let found = Finding::new(&NO_STRING, Level::Caution, subject, &[string, strings], &COMMON_PRACTICE);
                all.push(found.named([&array.id, &place.id]));
            }
        }
    }
    all
}

/// A label that some figure waits for, though all of it is there.
fn impossible(w: &Work<'_>, panel: &Panel) -> Option<Finding> {
    let fields = [at("panels", &panel.id, "vmp_v"), at("panels", &panel.id, "imp_a")];
    let hot = w.report.arrays.iter().filter_map(|a| a.vmp_hot_v.as_ref().err());
    let sun = w.report.year.months.iter().filter_map(|m| m.array_wh_day.as_ref().err());
    let waited_for = hot.chain(sun).any(|Missing(path)| fields.contains(path));
    let label = label(panel, w.context.rules.beta_fallback).ok().filter(|_| waited_for)?;
    let why = Module::from_label(&label).err()?;
    let numbers = [label.voc_v, label.isc_a, label.vmp_v, label.imp_a];
    let subject = FieldPath::of(&["panels", panel.id.as_str()]);
    Some(Finding::new(&NO_PANEL, Level::Caution, subject, &numbers, &COMMON_PRACTICE).named([panel.id.as_str(), why]))
}

/// A stay whose place the built-in climate does not know, and what its own figures still lack.
fn no_climate(w: &Work<'_>, stay: &Stay) -> Option<Finding> {
    let index = w.context.plan.stays.iter().position(|s| s.id == stay.id)?;
    let spot = w.spots.get(index)?.as_ref().ok().filter(|spot| !spot.has_climate())?;
    let lacks = [
        (stay.sun_kwh_m2_day.is_none(), "own sun of the stay"),
        (stay.mean_c.is_none(), "own mean temp of the stay"),
        (w.context.plan.job.coldest_c.is_none(), "coldest of the job"),
    ];
    let lacks: Vec<&str> = lacks.into_iter().filter(|(lacks, _)| *lacks).map(|(_, what)| what).collect();
    let subject = FieldPath::of(&["stays", stay.id.as_str()]);
    let (north, east) = spot.degrees();
    (!lacks.is_empty()).then(|| {
        Finding::new(&NO_CLIMATE, Level::Note, subject, &[north, east], &COMMON_PRACTICE).named([
            stay.id.as_str(),
            &degrees(north, ["N", "S"]),
            &degrees(east, ["E", "W"]),
            &lacks.join(", "),
        ])
    })
}

fn degrees(of: f64, [plus, minus]: [&str; 2]) -> String {
    format!("{}{}", of.abs(), if of < 0.0 { minus } else { plus })
}
