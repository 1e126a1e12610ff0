//! Plan -> Report: total, deterministic, without I/O. Findings, not errors.

pub mod accept;
mod arrays;
mod asides;
mod bank;
mod capacity;
mod checks;
pub mod circuit;
mod compile;
mod context;
mod converted;
mod crew;
mod cures;
mod currents;
pub mod day;
mod dc_lines;
pub mod drawn;
mod exchanged;
mod explain;
pub mod extract;
mod fault;
pub mod finding;
mod follows;
mod gather;
mod harvest;
mod hinge;
mod inflow;
pub mod isolation;
pub mod ladder;
mod leads;
mod let_through;
mod links;

pub mod lit;
mod loads;
mod look;
mod made;
pub mod making_up;
pub mod memo;
mod months;
mod order;
pub mod parts;
mod passed_on;
mod price;
mod protection;
mod relief;
pub mod report;
mod resistance;
pub mod roof;
mod rule;
mod runs;
mod setting;
pub mod shade;
mod shunts;
pub mod sites;
pub mod sizing;
pub mod sky;
pub mod solve;
mod spells;
mod spread;
mod starting;
mod vehicle;
pub mod warmth;
mod ways;
pub mod worked;
mod worth;
pub mod year;

pub use accept::accepted_as;
pub use arrays::Weather;
pub use checks::{fault_words, rules_of};
pub use cures::{Cures, is_curable, opening_fuse};
pub use finding::{Check, Finding, Level};
pub use hinge::{Bearing, Part};
pub use isolation::{Isolation, isolation};
pub use ladder::{LadderOf, Rung};
pub use look::SEEDS;
pub use report::{Report, Working};
pub use rule::{Changed, Rules};
pub use sizing::Selection;
pub use spells::DULL_CLEARNESS;
pub use spread::MonthSpread;
pub use worked::{Worked, legs_worked, worked};

use std::num::NonZero;
use std::sync::Arc;
use std::thread;

use crate::plan::{Figure, Id, Plan, Step};
use crate::stock::Stock;
use crate::units::{Celsius, Ohms};

use circuit::Circuit;
use context::Context;
use currents::Terminals;
use drawn::{Audit, Drawn};
use gather::{Gathered, Remembered};
use harvest::Stages;

/// The engine with its remembered stages.
#[derive(Clone, Default)]
pub struct Engine {
    stages: Stages,
    /// What the roof's checks said.
    roof: Remembered,
}

/// How much of an answer is wanted.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Asked {
    All,
    /// No year, and no finding that needs one.
    Wires,
    /// No findings.
    Figures,
}

/// Everything one evaluation finds, for the checks.
struct Work<'a> {
    context: &'a Context<'a>,
    weather: &'a Weather,
    spots: &'a [Figure<sites::Spot>],
    terminals: &'a Terminals,
    found: &'a [runs::Found],
    drops: &'a [runs::PathDrop],
    source: &'a Figure<fault::Source>,
    report: &'a Report,
    /// What each load hangs on.
    supplies: &'a [isolation::Supplies],
}

impl Work<'_> {
    /// The same with a report.
    fn on<'b>(&'b self, report: &'b Report) -> Work<'b> {
        Work { report, ..*self }
    }
}

impl Engine {
    /// Each year of it on as many threads as this machine has, four at most; to the same answers, bit for bit.
    #[must_use]
    pub fn on_all_threads() -> Self {
        Self::on_threads(thread::available_parallelism().map_or(1, NonZero::get))
    }

    /// Each year of it on so many threads at most.
    #[must_use]
    pub fn on_threads(threads: usize) -> Self {
        let mut engine = Self::default();
        engine.stages.threads = threads;
        engine
    }

    /// What it remembers, for a thread of its own that shares the machine with others like it.
    #[must_use]
    pub fn fork(&self) -> Self {
        let mut fork = self.clone();
        fork.stages.threads = 1;
        fork
    }

    /// The whole answer.
    pub fn evaluate(&mut self, plan: &Plan, stock: &Stock) -> Report {
        self.answer(plan, stock, None, Asked::All)
    }

    /// The whole answer in a given weather.
    pub fn evaluate_in(&mut self, plan: &Plan, stock: &Stock, weather: &Weather) -> Report {
        self.answer(plan, stock, Some(weather), Asked::All)
    }

    /// The answer on wires alone: no year, and no finding that needs one. For candidates by the dozen.
    pub fn evaluate_wires(&mut self, plan: &Plan, stock: &Stock) -> Report {
        self.answer(plan, stock, None, Asked::Wires)
    }

    /// The figures alone, the year's among them, and no findings. For candidates by the hundred.
    pub fn evaluate_figures(&mut self, plan: &Plan, stock: &Stock) -> Report {
        self.answer(plan, stock, None, Asked::Figures)
    }

    fn answer(&mut self, plan: &Plan, stock: &Stock, given: Option<&Weather>, asked: Asked) -> Report {
        let mut report = self.found(plan, stock, given, asked);
        if asked == Asked::Figures {
            return report;
        }
        self.gather_consequences(plan, stock, given, &mut report);
        if asked == Asked::All {
            self.mark_changed(plan, stock, given, &mut report);
        }
        report
    }

    /// The figures and every finding that is asked for, each for itself.
    fn found(&mut self, plan: &Plan, stock: &Stock, given: Option<&Weather>, asked: Asked) -> Report {
        let spots = sites::spots(plan, &mut self.stages.looked);
        let rules = Rules::of(plan);
        let weather = &given.cloned().unwrap_or_else(|| Weather::of(plan, &spots, rules.cold_margin_k));
        let drawn = Drawn::of(&mut self.stages.drawings, plan);
        let context = Context::with(plan, rules, drawn.circuit.clone(), &stock.truck.fuses);
        let c = &context;
        let audit = Audit::of(&mut self.stages.audits, c);
        let terminals = Terminals::of(c);
        let found = runs::find(c, &terminals);
        let drops = runs::path_drops(c, &found);
        let source = fault::bank(c);
        let arrays = arrays::figures(c, &mut self.stages.module, weather);
        let voc: Vec<_> = arrays.iter().map(|a| a.voc_cold_v.clone()).collect();
        let mut report = Report {
            runs: runs::figures(c, &found, &drops, &runs::Around { source: &source, voc: &voc }),
            controllers: bank::controllers(c, &terminals, &arrays),
            inverters: bank::inverters(c, &terminals),
            bank: bank::figures(c, &terminals, &audit.figures, &source),
            loads: Arc::clone(&audit.figures),
            price: price::figures(c, stock),
            roof: roof::figures(plan, &c.rules),
            arrays,
            coldest_c: weather.coldest_c.clone().ok().map(Celsius),
            ..Report::default()
        };
        let empty = Report::default();
        let work = Work {
            context: c,
            weather,
            spots: &spots,
            terminals: &terminals,
            found: &found,
            drops: &drops,
            source: &source,
            report: &empty,
            supplies: &drawn.supplies,
        };
        let mut gathered = Gathered::new(drawn.findings.clone(), std::mem::take(&mut self.roof));
        let mut before_year = |report: &Report| {
            if asked != Asked::Figures {
                checks::before_year(&work.on(report), &mut gathered);
            }
        };
        match asked {
            Asked::Wires => before_year(&report),
            _ => harvest::fill(&mut self.stages, c, (&spots, &audit.usage), &mut report, before_year),
        }
        self.roof = std::mem::take(&mut gathered.roof);
        if asked == Asked::Figures {
            return report;
        }
        checks::with_year(&work.on(&report), &mut gathered);
        let said = gathered.into_order(plan, &report);
        report.findings = said.findings;
        report.not_checked = said.not_checked;
        report.waiting = said.waiting;
        report.unknown = said.unknown;
        accept::apply(plan, &context.rules, &mut report.findings);
        report
    }

    /// Steps that would cure a finding and add no stop.
    pub fn cures(&mut self, plan: &Plan, stock: &Stock, finding: &Finding) -> Vec<Step> {
        self.cures_tried(plan, stock, finding).steps
    }

    /// The same, with what was tried.
    pub fn cures_tried(&mut self, plan: &Plan, stock: &Stock, finding: &Finding) -> Cures {
        // What the steps that are tried leave behind is let go of again.
        let mut engine = self.clone();
        let found = cures::of(&mut engine, plan, stock, finding, &|| true).unwrap_or_default();
        self.stages.before = engine.stages.before;
        found
    }

    /// The same; none where they are no longer wanted.
    pub fn cures_while(
        &mut self,
        plan: &Plan,
        stock: &Stock,
        finding: &Finding,
        is_wanted: impl Fn() -> bool,
    ) -> Option<Vec<Step>> {
        Some(cures::of(self, plan, stock, finding, &is_wanted)?.steps)
    }
}

/// How the ampacity of a run's weakest leg comes about, line by line, and then its two currents' factors; empty where
/// it is not known.
#[must_use]
pub fn working(plan: &Plan, run: &Id) -> Working {
    with_run(plan, run, capacity::working).unwrap_or_default()
}

/// The nearest fuse ahead of a run, as `F1 of W3`; none where there is none.
#[must_use]
pub fn fuse_ahead(plan: &Plan, run: &Id) -> Option<String> {
    with_run(plan, run, |c, index, _| {
        let upstream = c.circuit.links.get(index)?.upstream.as_slice();
        let ahead = currents::converter_ahead(c, index).map_or(upstream, |(_, behind)| behind).iter().rev();
        let mut runs = ahead.filter_map(|i| c.plan.runs.get(*i));
        runs.find_map(|up| Some(format!("{} of {}", resistance::fuses(up).next()?.id, up.id)))
    })?
}

/// Whether a run is to have a fuse of its own.
#[must_use]
pub fn wants_fuse(plan: &Plan, run: &Id) -> bool {
    with_run(plan, run, |c, index, _| protection::wants_fuse(c, index)) == Some(true)
}

/// Ohms of a run's conductors alone, both poles, at a conductor temperature; none where there is no such run.
#[must_use]
pub fn conductors_ohm(plan: &Plan, run: &Id, conductor_c: f64) -> Option<Figure<Ohms>> {
    with_run(plan, run, |c, _, run| resistance::conductors_ohm(c, run, conductor_c).map(Ohms))
}

fn with_run<T>(plan: &Plan, run: &Id, of: impl FnOnce(&Context<'_>, usize, &crate::plan::Run) -> T) -> Option<T> {
    let (circuit, _) = Circuit::of(plan);
    let context = Context::of(plan, circuit, &[]);
    let index = plan.runs.iter().position(|r| r.id == *run)?;
    Some(of(&context, index, plan.runs.get(index)?))
}
