//! Loads that an inverter cannot run from this bank, though the hours' means stay above its cut-off: what they draw while they
//! run pulls its terminals down to that.

use crate::engine::Work;
use crate::engine::checks::digits::apart;
use crate::engine::compile::{bank, inverter_ohm};
use crate::engine::converted::Shares;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::loads::{AtOnce, at_once, share_of};
use crate::physics::battery::{Bank, Store};
use crate::plan::{FieldPath, Missing};
use crate::standards::source::{Source, Standing};

use super::MONTHS;
use super::cutoff::{LABEL_C, ROOM};
use super::seen::Judged;

static UNDER_LOAD: Source = Source::new(
    "Copetti, Lorenzo & Chenlo 1993 (lead); rest volts and one resistance (lithium)",
    "volts under load",
    Standing::Computed,
);

pub(super) static BELOW: Check = Check {
    id: "loads-below-cut-off",
    safety: false,
    say: |f| {
        let (stands, cut) = apart(f.n(0), f.n(1), 1);
        let (watts, amps, charge, holds) = (f.n(2), f.n(3), f.n(4), f.n(5));
        let (id, month) = (f.name(0), f.name(2));
        let what = match f.name(1) {
            "" => format!("all that may run at once, {watts:.0} W through {id},"),
            load => format!("{load}, {watts:.0} W through {id},"),
        };
        let holds = match holds {
            holds if holds > 100.0 => "not even a full bank holds it up".to_string(),
            holds => format!("from {holds:.0} % up it stays on"),
        };
        format!(
            "{id} would turn off: {what} draws {amps:.0} A of the bank, and at {charge:.0} % of its charge, down to which it comes in \
             {month}, {id} stands at {stands} V then, under its cut-off of {cut} V; {holds}. The year sees hourly means and counts \
             such loads as served; more batteries in parallel, thicker leads or a lower cut-off hold it up"
        )
    },
};

/// Under its cut-off by less than this for each 12 V is not said. Source: our own choice; cut-offs are set to tenths of a volt.
const SAID_V: f64 = 0.1;

/// An inverter at its cut-off, with so much drawn through it and beside it.
#[derive(Clone, Copy)]
struct Drawn {
    /// Through it, and in all, A.
    own_a: f64,
    amps: f64,
    ohm: f64,
}

impl Drawn {
    /// What is drawn where its terminals stand at its cut-off: it stays on where the bank gives that above those volts.
    /// Source: constant power, P = V I; Ohm's law on its own way.
    fn at(cut_v: f64, ohm: f64, (own_w, beside_w): (f64, f64)) -> Self {
        let own_a = own_w / cut_v.max(1e-3);
        Self { own_a, amps: own_a + beside_w / (cut_v + ohm * own_a).max(1e-3), ohm }
    }

    /// Volts at the posts and at its terminals then, by the law of the cells alone: what else keeps a bank from giving is said
    /// elsewhere.
    fn stands_v(&self, bank: &Bank, soc: f64) -> (f64, f64) {
        let posts_v = bank.giving(Store { soc }, LABEL_C).discharge_v(self.amps);
        (posts_v, posts_v - self.ohm * self.own_a)
    }
}

/// The worst month of some.
struct Worst {
    drawn: Drawn,
    watts: f64,
    load: Option<usize>,
    month: usize,
    soc: f64,
    stands_v: f64,
}

/// The load that takes most by itself, a caution; else all that may run at once, a note; each in the month that is worst for it,
/// with the least charge that the year finds there, no nearer to the floor than volts tell.
pub(super) fn below(w: &Work<'_>, shares: &Shares, i: usize, subject: &FieldPath) -> Judged {
    let Some(inverter) = w.context.plan.inverters.get(i) else { return Ok((None, None)) };
    let Some(cut_v) = &inverter.cutoff_v else { return Ok((None, None)) };
    let Some(ohm) = inverter_ohm(w.context, w.report, i) else { return Ok((None, None)) };
    let months = at_once(w.context, shares, i)?;
    let lived = |m: &usize| w.report.year.months.get(*m).is_some_and(|figures| figures.stay.is_some());
    if !(0..12).filter(lived).any(|m| months[m].all_w > 0.0) {
        return Ok((None, None));
    }
    let cut_v = cut_v.at(|| subject.join("cutoff_v"))?.0;
    let (ohm, bank, share) = (ohm?, bank(w.context)?, share_of(w.context, i)?);
    let said_v = cut_v - SAID_V * w.context.twelves()?;
    let mut waits: Option<Missing> = None;
    let mut worst = |of: fn(&AtOnce) -> (f64, f64, Option<usize>)| {
        let mut worst: Option<Worst> = None;
        for (m, at) in months.iter().enumerate().filter(|(m, at)| lived(m) && at.all_w > 0.0) {
            let Some(figures) = w.report.year.months.get(m) else { continue };
            let soc = match &figures.least_soc {
                Ok(soc) => soc.max(bank.least_soc + ROOM).min(1.0),
                Err(missing) => {
                    waits.get_or_insert_with(|| missing.clone());
                    continue;
                }
            };
            let (watts, beside_w, load) = of(at);
            let drawn = Drawn::at(cut_v, ohm, (watts / share, beside_w));
            let (_, stands_v) = drawn.stands_v(&bank, soc);
            if worst.as_ref().is_none_or(|w| stands_v < w.stands_v) {
                worst = Some(Worst { drawn, watts, load, month: m, soc, stands_v });
            }
        }
        worst.filter(|worst| worst.stands_v < said_v)
    };
    let alone = worst(|at| (at.largest.map_or(0.0, |(_, w)| w), 0.0, at.largest.map(|(load, _)| load)));
    let found = alone.or_else(|| worst(|at| (at.all_w, at.beside_w, None))).map(|worst| {
        let Worst { drawn, watts, load, month, soc, stands_v } = worst;
        let load = load.and_then(|load| w.context.plan.loads.get(load));
        let level = if load.is_some() { Level::Caution } else { Level::Note };
        let holds = holds(&drawn, &bank, cut_v, soc).map_or(101.0, |soc| soc * 100.0);
        let (posts_v, _) = drawn.stands_v(&bank, soc);
        let numbers = [stands_v, cut_v, watts, drawn.amps, soc * 100.0, holds, posts_v, drawn.own_a];
        let names = [inverter.id.as_str(), load.map_or("", |load| load.id.as_str()), MONTHS[month]];
        Finding::new(&BELOW, level, subject.clone(), &numbers, &UNDER_LOAD).smaller_is_worse().named(names)
    });
    Ok((found, waits))
}

/// Least charge at which the terminals stay above the cut-off; none where not even a full bank does it.
fn holds(drawn: &Drawn, bank: &Bank, cut_v: f64, soc: f64) -> Option<f64> {
    let stands = |soc: f64| drawn.stands_v(bank, soc).1 >= cut_v;
    let (mut below, mut above) = (soc, 1.0);
    if !stands(above) {
        return None;
    }
    for _ in 0..20 {
        let middle = f64::midpoint(below, above);
        if stands(middle) { above = middle } else { below = middle }
    }
    Some(above)
}
