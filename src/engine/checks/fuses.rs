//! Fuse ratings: against the conductor, the current, the fault.

use crate::engine::Work;
use crate::engine::circuit::{Node, Role};
use crate::engine::fault;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::protection::{self, Limits, is_string_fuse, protected_a};
use crate::engine::resistance::{fuse_path, fuses};
use crate::engine::runs::{Found, path_of};
use crate::plan::sources::NEC_310_15;
use crate::plan::{FieldPath, Missing, Protection, Run};
use crate::standards::chemistry::LFP_FAULT;
use crate::standards::small_wire::{NEC_240_4_B, SMALL_WIRE};
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};

static NEC_690_9_B: Source = Source::new("NEC", "690.9(B), 80 % loading", Standing::Verified);

static ABOVE: Check = Check {
    id: "fuse-above-conductor",
    safety: true,
    say: |f| format!("{}: fuse {} of {:.0} A, its conductor allows {:.0} A", f.name(0), f.name(1), f.n(0), f.n(1)),
};
static ROUNDED: Check = Check {
    id: "next-rating-up",
    safety: false,
    say: |f| {
        format!(
            "{}: fuse {} of {:.0} A is the next standard rating above {:.1} A of ampacity",
            f.name(0),
            f.name(1),
            f.n(0),
            f.n(1)
        )
    },
};
static SMALL: Check = Check {
    id: "fuse-below-design",
    safety: true,
    say: |f| {
        format!(
            "{}: fuse {} of {:.0} A for {:.1} A, at least {:.1} A is wanted",
            f.name(0),
            f.name(1),
            f.n(0),
            f.n(1),
            f.n(2)
        )
    },
};
static INTERRUPT: Check = Check {
    id: "interrupt-below-fault",
    safety: true,
    say: |f| {
        format!(
            "{}: fuse {} opens {:.0} A at {:.0} V, a fault there draws {:.0} A",
            f.name(0),
            f.name(1),
            f.n(1),
            f.n(2),
            f.n(0)
        )
    },
};
static ASSUMED: Check = Check {
    id: "fault-current-assumed",
    safety: false,
    say: |f| format!("BK: no short-circuit figure; {:.0} A is assumed: class T fuses, or the maker's figure", f.n(0)),
};

static OWN_FUSES: Check = Check {
    id: "battery-own-fuse",
    safety: false,
    say: |f| format!("BK: the fuse at each of {:.0} parallel batteries must open {:.0} A", f.n(1), f.n(0)),
};

/// Fuses of single batteries are no part of the plan; what they must open is said.
fn own_fuses(w: &Work<'_>) -> Outcome {
    let Some(amps) = fault::own_fuse_a(w.context, w.source) else { return Ok(None) };
    let numbers = [amps? * w.context.rules.interrupt_margin, w.context.parallel()?];
    Ok(Some(Finding::new(&OWN_FUSES, Level::Note, FieldPath::new("bank"), &numbers, &COMMON_PRACTICE)))
}

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    out.take(&OWN_FUSES, || "bank".into(), own_fuses(w));
    if let Ok(source) = w.source
        && source.assumed
    {
        let found = Finding::new(&ASSUMED, Level::Caution, FieldPath::new("bank"), &[source.amps], &LFP_FAULT);
        out.take(&ASSUMED, || "bank".into(), Ok(Some(found)));
    }
    for (i, run) in w.context.plan.runs.iter().enumerate() {
        let (Some(f), Some(link)) = (w.found.get(i), w.context.circuit.links.get(i)) else { continue };
        if matches!(link.role, Role::Dead | Role::Bond) {
            continue;
        }
        let path = || path_of(run);
        for (j, fuse) in fuses(run).enumerate() {
            if !is_string_fuse(w.context, i, fuse) {
                out.take(&ABOVE, path, above(w, i, run, f, fuse));
                if link.role != Role::Sense {
                    out.take(&SMALL, path, small(w, run, f, fuse));
                }
            }
            out.take(&INTERRUPT, path, interrupt(w, i, j, run, fuse));
        }
    }
}

/// The limits that a fuse on this run is held to: those of the legs it protects.
fn limits(w: &Work<'_>, i: usize, run: &Run, f: &Found, fuse: &Protection) -> Result<Limits, Missing> {
    let capacity = f.capacity.as_ref().map_err(Clone::clone)?;
    let amps = protected_a(w.context, i, run, fuse, capacity)?;
    protection::limits(w.context, i, run, amps, 0.0)
}

fn above(w: &Work<'_>, i: usize, run: &Run, f: &Found, fuse: &Protection) -> Outcome {
    let amps = fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a"))?.0;
    let limits = limits(w, i, run, f, fuse)?;
    if amps > limits.most_a + 1e-9 {
        let source = if limits.most_a + 1e-9 < limits.ampacity_a { &SMALL_WIRE } else { &NEC_310_15 };
        let numbers = [amps, limits.most_a.min(limits.strict_a), limits.ampacity_a];
        return Ok(Some(Finding::new(&ABOVE, Level::Stop, path_of(run), &numbers, source).named([&run.id, &fuse.id])));
    }
    Ok((amps > limits.strict_a + 1e-9).then(|| {
        Finding::new(&ROUNDED, Level::Note, path_of(run), &[amps, limits.ampacity_a], &NEC_240_4_B)
            .named([&run.id, &fuse.id])
    }))
}

fn small(w: &Work<'_>, run: &Run, f: &Found, fuse: &Protection) -> Outcome {
    let amps = fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a"))?.0;
    let design = f.currents.pair.design_a.clone()?;
    let rules = &w.context.rules;
    let level = if amps < design * rules.fuse_least_factor - 1e-9 {
        Level::Stop
    } else if amps < design * rules.fuse_factor - 1e-9 {
        Level::Caution
    } else {
        return Ok(None);
    };
    let numbers = [amps, design, design * rules.fuse_factor];
    Ok(Some(
        Finding::new(&SMALL, level, path_of(run), &numbers, &NEC_690_9_B).smaller_is_worse().named([&run.id, &fuse.id]),
    ))
}

/// Interrupt rating against the fault at the fuse's place. Against an assumed bank current the rating itself is
/// enough: the assumption is already the most that is ever taken. Where cable is not known yet, a fuse that opens the
/// fault without any cable passes.
fn interrupt(w: &Work<'_>, i: usize, j: usize, run: &Run, fuse: &Protection) -> Outcome {
    let Some(figures) = w.report.runs.get(i).and_then(|r| r.fuses.get(j)) else { return Ok(None) };
    let opens = figures.interrupt_a.clone()?.0;
    let assumed = w.source.as_ref().is_ok_and(|s| s.assumed);
    let margin = if assumed { 1.0 } else { w.context.rules.interrupt_margin };
    let fault = match figures.fault_a.clone() {
        Ok(fault) => fault.0,
        Err(missing) => {
            return match fault::at_fuse_at_most(w.context, w.source, i, run, fuse) {
                Some(Ok(most)) if opens >= most * margin => Ok(None),
                _ => Err(missing),
            };
        }
    };
    Ok((opens < fault * margin).then(|| {
        let volts = figures.circuit_v.as_ref().map_or(0.0, |v| v.0);
        Finding::new(&INTERRUPT, Level::Stop, path_of(run), &[fault, opens, volts], &COMMON_PRACTICE)
            .named([&run.id, &figures.id])
    }))
}

/// Largest current a run's sources could ever push: their rated outputs.
pub(super) fn rated_push_a(w: &Work<'_>, away: &[Node]) -> Result<f64, Missing> {
    let mut sum = 0.0;
    for node in away {
        match node {
            Node::Controller(i) => {
                if let Some(k) = w.context.plan.controllers.get(*i) {
                    sum += crate::engine::context::need(&k.out_a, "controllers", &k.id, "out_a")?.0;
                }
            }
            Node::Charger(i) => {
                sum += w.terminals.chargers.get(*i).map_or(Ok(0.0), |p| p.design_a.clone())?;
            }
            _ => {}
        }
    }
    Ok(sum)
}
