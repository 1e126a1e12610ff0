//! Selection: the smallest conductor and the fuse of one run, the rest of the plan as it stands.

use std::ops::ControlFlow::{self, Break, Continue};

use crate::engine::circuit::Circuit;
use crate::engine::context::Context;
use crate::engine::finding::{Finding, Level};
use crate::engine::report::{Proposed, Report};
use crate::engine::resistance::fuses;
use crate::engine::{Engine, cures};
use crate::plan::{Id, Plan, Step};
use crate::standards::conductor::Gauge;
use crate::stock::Stock;

use super::keep::leans;
use super::make::{Make, Takes, makes, no_pair, takes};
use super::{BY_GAUGE, line_of, proposal, sizes, wire};

/// Findings that a run wants a fuse of its own.
const UNFUSED: [&str; 2] = ["source-end-unfused", "charger-end-unfused"];

/// What a run should be made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Selection {
    pub run: Id,
    /// The smallest that satisfies every rule and the target of its path; the best there is where none does.
    pub gauge: Gauge,
    /// So many of it in each pole.
    pub per_pole: u32,
    /// Whether the path's drop target is met with it.
    pub meets_target: bool,
    /// The fuse with it: type, rating and end; none where none belongs or none fits.
    pub fuse: Option<Proposed>,
    /// Why: one line for each thinner gauge that fails, then what governs.
    pub reasons: Vec<String>,
}

/// What is wrong with a make.
enum Wrong {
    /// It may not be.
    Never(String),
    /// It may be where nothing better is: over its path's target; leaning on the next rating up.
    Over(String),
    Leans(String),
}

impl Engine {
    /// The smallest conductor and the fuse of a run, the rest of the plan as it stands: nothing thinner than practice has
    /// it, and no fuse on the next rating up, where some gauge does without. None where its current or ampacity waits for
    /// a field.
    pub fn select(&mut self, plan: &Plan, stock: &Stock, run: &Id) -> Option<Selection> {
        let index = plan.runs.iter().position(|r| r.id == *run)?;
        let (circuit, _) = Circuit::of(plan);
        let c = Context::of(plan, circuit, &stock.truck.fuses);
        let mut reasons = Vec::new();
        let (mut leaning, mut over): (Option<Tried>, Option<Tried>) = (None, None);
        for make in worth_trying(&c, index, &mut reasons) {
            match takes(&c, index, make) {
                Takes::Ask(why) => {
                    reasons.push(format!("{make}: {why}"));
                    continue;
                }
                Takes::No(why) if make.per_pole > 1 => {
                    reasons.push(format!("{make}: {why}"));
                    continue;
                }
                _ => {}
            }
            let tried = self.tried(&c, stock, index, make)?;
            match tried.judged(&c, index)? {
                Break(why) => return tried.selected(&c, index, true, why, reasons),
                Continue(Wrong::Never(why)) => reasons.push(why),
                Continue(Wrong::Over(why)) => {
                    reasons.push(why);
                    over.get_or_insert(tried);
                }
                Continue(Wrong::Leans(why)) => {
                    reasons.push(why);
                    leaning.get_or_insert(tried);
                }
            }
        }
        let meets_target = leaning.is_some();
        leaning.or(over)?.selected(&c, index, meets_target, Vec::new(), reasons)
    }

    /// A make with the fuse that goes with it, evaluated.
    fn tried(&mut self, c: &Context<'_>, stock: &Stock, index: usize, make: Make) -> Option<Tried> {
        let old = c.plan.runs.get(index)?;
        let step = Step { name: String::new(), edits: wire::edits(old, make, true) };
        let bare = self.evaluate_wires(&c.plan.with(&step).ok()?, stock);
        // Where what is ahead protects the wire, and it has none of its own, none is reckoned with.
        let has_one = fuses(old).next().is_some();
        let wants = |f: &Finding| f.run() == Some(old.id.as_str()) && UNFUSED.contains(&f.check.id);
        let fuse = bare.runs.get(index)?.proposed.clone();
        let fuse = fuse.filter(|_| has_one || bare.findings.iter().any(wants));
        let is_other = fuse.as_ref().is_some_and(|p| proposal::fuse(old) != Some((p.amps, p.family)));
        let mut both = step;
        if let Some(fuse) = &fuse {
            both.edits.extend(cures::fuse_edits(old, fuse));
        }
        let report = self.evaluate_wires(&c.plan.with(&both).ok()?, stock);
        Some(Tried { make, fuse, is_other, report })
    }
}

/// The makes of a run without those thinner than practice has them, where any other is taken.
fn worth_trying(c: &Context<'_>, index: usize, reasons: &mut Vec<String>) -> Vec<Make> {
    let mut all = makes(c, index);
    if !c.circuit.links.get(index).is_some_and(|l| sizes(l.role)) {
        return all;
    }
    let least = wire::least_mm2(c, index) - 1e-9;
    let enough = |m: &Make| m.area_mm2() >= least;
    if let Some(first) = all.iter().find(|m| enough(m) && wire::fits(c, index, **m)).copied() {
        if all.first().is_some_and(|m| !enough(m)) {
            reasons.push(format!("{first} is the least in practice"));
        }
        all.retain(enough);
    }
    all
}

/// A make that was tried.
struct Tried {
    make: Make,
    fuse: Option<Proposed>,
    /// Whether that is not the one that is drawn.
    is_other: bool,
    report: Report,
}

impl Tried {
    /// Why it is right, or what is wrong with it; none where that waits for a field.
    fn judged(&self, c: &Context<'_>, index: usize) -> Option<ControlFlow<Vec<String>, Wrong>> {
        let (make, run) = (self.make, &c.plan.runs.get(index)?.id);
        let figures = self.report.runs.get(index)?;
        // A line that its charger drops out on has no current, or one that it does not keep up.
        let drops =
            self.report.findings.iter().find(|f| f.check.id == "dc-dc-drops-out" && line_of(c, f).contains(&index));
        if let Some(f) = drops {
            return Some(Continue(Wrong::Never(format!("{make}: {}", f.text_in(c.plan)))));
        }
        let (design, ampacity) = (figures.design_a.as_ref().ok()?, figures.ampacity_a.as_ref().ok()?);
        let about = |f: &&Finding| f.run() == Some(run.as_str());
        let own = || self.report.findings.iter().filter(about);
        let fails = |f: &&Finding| {
            f.level != Level::Note && (BY_GAUGE.contains(&f.check.id) || f.check.id == "terminal-does-not-take")
        };
        if let Some(f) = own().find(fails) {
            // Of the fuse that is there it says nothing where another would go with the wire.
            if let ("fuse-above-conductor", None, Ok(least), Ok(most)) =
                (f.check.id, &self.fuse, &figures.fuse_min_a, &figures.fuse_max_a)
            {
                let why = format!("{make}: no fuse fits: at least {:.1} A, at most {:.1} A", least.0, most.0);
                return Some(Continue(Wrong::Never(why)));
            }
            let pair = no_pair(c, index, make).map_or(String::new(), |why| format!(", {why}"));
            return Some(Continue(Wrong::Never(format!("{make}: {}{pair}", f.text_in(c.plan)))));
        }
        if let (Ok(pct), Some(target)) = (&figures.path_drop_pct, figures.target_pct)
            && *pct > target
        {
            let with = self.fuse.as_ref().filter(|_| self.is_other);
            let with = with.map_or(String::new(), |p| format!(" with a fuse of {} A {}", p.amps.0, p.family));
            let why = format!("{make}{with}: the path loses {pct:.2} %, its target is {target:.2} %");
            return Some(Continue(Wrong::Over(why)));
        }
        if let Some(f) = own().find(|f| leans(f)) {
            return Some(Continue(Wrong::Leans(format!("{make}: {}", f.text_in(c.plan)))));
        }
        let governs = figures.governs;
        let mut why = vec![format!("{make}: carries {:.0} A ({governs}) for {:.1} A", ampacity.0, design.0)];
        if let Some(fuse) = &self.fuse {
            why.push(format!("fuse {} A {}: {}", fuse.amps.0, fuse.family, fuse.why));
        }
        Some(Break(why))
    }

    fn selected(
        self,
        c: &Context<'_>,
        index: usize,
        meets_target: bool,
        why: Vec<String>,
        mut reasons: Vec<String>,
    ) -> Option<Selection> {
        reasons.extend(why);
        let Make { gauge, per_pole } = self.make;
        let run = c.plan.runs.get(index)?.id.clone();
        Some(Selection { run, gauge, per_pole, meets_target, fuse: self.fuse, reasons })
    }
}
