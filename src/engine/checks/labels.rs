//! Labels that contradict themselves: figures of one panel that do not go together.

use crate::engine::Work;
use crate::engine::arrays::LABEL_ROUNDING;
use crate::engine::context::at;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::plan::Panel;
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};

static POWER: Check = Check {
    id: "label-power-apart",
    safety: false,
    say: |f| {
        let taken = if f.n(1) > f.n(0) { "; wires and fuses go by the larger" } else { "" };
        format!(
            "{} Pmax: {:.0} W, but Vmp x Imp is {:.0} W: one of the three is misread; harvest goes by Vmp and Imp{taken}",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};
static CELLS: Check = Check {
    id: "label-cells-unlikely",
    safety: false,
    say: |f| {
        format!(
            "{} cells: {:.2} V of Voc each with {:.0} in series, where silicon has {CELL_LEAST_V} to {CELL_MOST_V} V: Voc or cells is \
             misread; half cells count in pairs",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};
static AREA: Check = Check {
    id: "label-power-over-area",
    safety: false,
    say: |f| {
        format!(
            "{} length: {:.0} W/m2 by it and the width, where no panel gives {:.0}: its size or its power is misread",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};

static BETA: Check = Check {
    id: "label-beta-not-met",
    safety: false,
    say: |f| {
        format!(
            "{}: {:.2} %/K on the label, and no curve through its other figures has that: harvest goes by {:.2} %/K, the limit of \
             cold Voc by the label",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};
static GAMMA: Check = Check {
    id: "label-gamma-not-used",
    safety: false,
    say: |f| {
        format!(
            "{}: {:.2} %/K on the label, {:.2} %/K by the curve through its other figures, which the harvest goes by: \
             {:.1} % {} with cells at 65 C than by the label",
            f.name(0),
            f.n(0),
            f.n(1),
            f.n(2).abs(),
            if f.n(2) > 0.0 { "more" } else { "less" }
        )
    },
};

/// What is known of panels that are sold.
static DE_SOTO: Source =
    Source::new("De Soto, Klein & Beckman 2006", "Solar Energy 80:78, eq. 8-14", Standing::Verified);
static PANELS_SOLD: Source = Source::new("panels as sold", "", Standing::FromMemory);

/// Open volts of a cell at 25 C that a panel of silicon may have. Source: from memory: some 0.55 V of old cells to 0.76 V of the
/// best; a little room beside.
const CELL_LEAST_V: f64 = 0.5;
const CELL_MOST_V: f64 = 0.8;
/// Coefficients further apart are two, %/K. Source: IEC 61215-2 MQT 04, whose coefficients are good to a few hundredths at best.
const BETA_APART_PCT_K: f64 = 0.02;
const GAMMA_APART_PCT_K: f64 = 0.05;
/// Cells on a warm roof over the 25 C of the labels, K. Source: common practice.
const WARM_K: f64 = 40.0;
/// More than any panel gives for each square metre of its frame, W. Source: from memory: the best sold stay under 250.
const MOST_W_M2: f64 = 300.0;

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let used = |p: &&Panel| {
        let mut stay = plan.arrays.iter().filter(|a| a.state.stays());
        stay.any(|a| a.strings.0.iter().flatten().any(|id| *id == p.id))
    };
    for panel in plan.panels.iter().filter(used) {
        let mut said = |check, field: &str, numbers: Option<[f64; 2]>, source| {
            let subject = || at("panels", &panel.id, field);
            let caution = |n: [f64; 2]| Finding::new(check, Level::Caution, subject(), &n, source).named([&panel.id]);
            out.take(check, subject, Ok(numbers.map(caution)));
        };
        said(&POWER, "pmax_w", power(panel), &COMMON_PRACTICE);
        said(&CELLS, "cells", cells(panel), &PANELS_SOLD);
        said(&AREA, "length_m", area(panel), &PANELS_SOLD);
        let curves = w.report.arrays.iter().flat_map(|a| &a.coefficients);
        let Some((_, [beta, gamma])) = curves.into_iter().find(|(id, _)| *id == panel.id) else { continue };
        let mut note = |check: &'static Check, field: &str, own: Option<f64>, curve: f64, most: f64| {
            let subject = || at("panels", &panel.id, field);
            let found = own.filter(|own| (own - curve).abs() > most).map(|own| {
                let numbers = [own, curve, (curve - own) * WARM_K];
                Finding::new(check, Level::Note, subject(), &numbers, &DE_SOTO).named([&panel.id])
            });
            out.take(check, subject, Ok(found));
        };
        note(&BETA, "beta_pct_k", panel.beta_pct_k.known().map(|b| b.0), *beta, BETA_APART_PCT_K);
        note(&GAMMA, "gamma_pct_k", panel.gamma_pct_k.known().map(|g| g.0), *gamma, GAMMA_APART_PCT_K);
    }
}

/// Power of the label, and by its point of maximum power, where they differ by more than rounding.
fn power(panel: &Panel) -> Option<[f64; 2]> {
    let (pmax_w, vmp, imp) = (panel.pmax_w.known()?.0, panel.vmp_v.known()?.0, panel.imp_a.known()?.0);
    let (least, most) = (pmax_w.min(vmp * imp), pmax_w.max(vmp * imp));
    (most > least * (1.0 + LABEL_ROUNDING)).then_some([pmax_w, vmp * imp])
}

/// Open volts a cell and the cells, where no silicon has so much or so little. Other cells have no place here: the model's band
/// gap is that of silicon.
fn cells(panel: &Panel) -> Option<[f64; 2]> {
    let (voc_v, cells) = (panel.voc_v.known()?.0, panel.cells.known()?.0);
    let each_v = voc_v / cells.max(1.0);
    (!(CELL_LEAST_V..=CELL_MOST_V).contains(&each_v)).then_some([each_v, cells])
}

/// Watts for each square metre, and the most there may be.
fn area(panel: &Panel) -> Option<[f64; 2]> {
    let m2 = panel.length_m.known()?.0 * panel.width_m.known()?.0;
    let w_m2 = panel.pmax_w.known()?.0 / m2.max(1e-6);
    (w_m2 > MOST_W_M2).then_some([w_m2, MOST_W_M2])
}
