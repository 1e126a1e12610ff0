//! A path whose target no gauge reaches: what is held on it, and what would do beside thick wire: a larger fuse, or ends
//! nearer to each other.

use crate::engine::finding::{Finding, Level};
use crate::engine::protection::is_string_fuse;
use crate::engine::report::{Report, RunFigures};
use crate::engine::resistance::{fuse_path, fuses, leg_path, legs};
use crate::plan::{Edit, Known, Plan, Run, Step, Value};
use crate::standards::fuse::{ratings, resistance_ohm, smallest_at_least};
use crate::units::Amps;

use super::make::{Make, asked_pair, asks_for_two, made_of, makes_or_two};
use super::proposal::{Asked, BY_FUSE, fuse};
use super::spools::on_van;
use super::wire;

/// Ratings tried over the one that a fuse has. Source: our own choice; each is a whole answer.
const MOST_LARGER: usize = 4;

impl Asked<'_> {
    /// What is said of a fuse that is larger than usual, or went though it was right, for what it loses: what the path would lose with the
    /// one that was there, or with the first rating that its current wants.
    pub(super) fn loses_less(&mut self, index: usize, (old, new): (&Run, &Run)) -> Option<String> {
        let (has, family) = fuse(new).filter(|has| fuse(old) != Some(*has))?;
        let about = |f: &&Finding| f.run() == Some(old.id.as_str()) && f.level != Level::Note;
        let was_wrong = self.before.findings.iter().filter(about).any(|f| BY_FUSE.contains(&f.check.id));
        let usual = || {
            let least = self.after.runs.get(index)?.fuse_min_a.as_ref().ok()?.0;
            Some((Amps(smallest_at_least(family, least)?), family))
        };
        let (had, of) = match fuse(old) {
            Some(had) => Some(had).filter(|_| !was_wrong),
            None => usual(),
        }?;
        if resistance_ohm(family, has.0) >= resistance_ohm(of, had.0) - 1e-9 {
            return None;
        }
        let mut with = self.c.plan.clone();
        let own = fuses(new).next()?.id.clone();
        let there = with.runs.get_mut(index)?.protection.iter_mut().find(|f| f.id == own)?;
        (there.amps_a, there.family) = (Known::Is(had), Known::Is(of));
        let figures = self.engine.evaluate_wires(&with, self.stock).runs.into_iter().nth(index)?;
        let (pct, target) = (figures.path_drop_pct.ok()?, figures.target_pct?);
        let had = if of == family { format!("{} A", had.0) } else { format!("{} A {of}", had.0) };
        (pct > target).then(|| format!("{} A {family} for less drop; with {had} {pct:.2} %", has.0))
    }

    /// What a run's path loses over a target that the thickest wire in all that is sized on it does not reach, and what is
    /// held there.
    pub(super) fn out_of_reach(&mut self, index: usize) -> Option<String> {
        let figures = self.after.runs.get(index)?;
        let (pct, target) = (figures.path_drop_pct.clone().ok()?, figures.target_pct?);
        if pct <= target {
            return None;
        }
        let (mut edits, mut held) = (Vec::new(), Vec::new());
        let runs = self.c.plan.runs.iter().enumerate().filter(|(_, run)| figures.path.contains(&run.id));
        for (i, run) in runs {
            let may =
                |m: &Make| wire::fits(self.c, i, *m) && (!self.from_stock_only || on_van(self.stock, run, m.gauge));
            let all = makes_or_two(self.c, i).into_iter().filter(may);
            let is_held = run.measured_ohm.is_some() || !wire::has_new_leg(run);
            match all.max_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2())).filter(|_| !is_held) {
                Some(make) => edits.extend(wire::edits(run, make, true)),
                None => held.push(run.id.as_str()),
            }
        }
        let with = self.c.plan.with(&Step { name: String::new(), edits }).ok()?;
        let report = self.engine.evaluate_wires(&with, self.stock);
        let best = report.runs.get(index)?;
        if best.path_drop_pct.as_ref().is_ok_and(|pct| best.target_pct.is_none_or(|target| *pct <= target)) {
            return None;
        }
        let because = match held.as_slice() {
            [] => String::new(),
            held => format!(", {} held", held.join(", ")),
        };
        let figures = figures.clone();
        let would = self.would_do(index, &figures, (&with, &report)).map_or(String::new(), |what| format!("; {what}"));
        let runs = || self.c.plan.runs.iter().enumerate().filter(|(_, run)| figures.path.contains(&run.id));
        let ask = runs().find_map(|(i, run)| Some(format!("; {} in two: {}", run.id, asks_for_two(self.c, i)?)));
        let ask = ask.map(|ask| ask + &self.two_would_do(index, &figures, &with).unwrap_or_default());
        let would = format!("{would}{}", ask.unwrap_or_default());
        Some(format!("path {pct:.2} %, target {target:.2} %, out of reach of any gauge{because}{would}"))
    }

    /// What would do with two in each pole wherever that has to be asked first: the wire alone, or with larger fuses. Named is all
    /// of the path that is in two then.
    fn two_would_do(&mut self, index: usize, figures: &RunFigures, with: &Plan) -> Option<String> {
        let runs = self.c.plan.runs.iter().enumerate().filter(|(_, run)| figures.path.contains(&run.id));
        let pairs: Vec<(&Run, Make)> = runs.filter_map(|(i, run)| Some((run, asked_pair(self.c, i)?))).collect();
        let edits = pairs.iter().flat_map(|(run, make)| wire::edits(run, *make, true)).collect();
        let with = with.with(&Step { name: String::new(), edits }).ok()?;
        let in_two = with.runs.iter().filter(|run| figures.path.contains(&run.id));
        let in_two = in_two.filter_map(|run| Some((&run.id, made_of(run).filter(|make| make.per_pole > 1)?)));
        let names: Vec<String> = in_two.map(|(id, make)| format!("{id} {make}")).collect();
        let wire = names.join(", ");
        if self.reaches(&with, index, Vec::new()) {
            return Some(format!("; {wire} would do then"));
        }
        let report = self.engine.evaluate_wires(&with, self.stock);
        let fuses = self.larger_fuses(index, figures, (&with, &report))?;
        Some(format!("; {wire} with {fuses} would do then"))
    }

    /// What would reach the target beside the thickest wire: larger fuses, or shorter runs. `thick`: the plan with that wire,
    /// and its answer.
    fn would_do(&mut self, index: usize, figures: &RunFigures, thick: (&Plan, &Report)) -> Option<String> {
        if let Some(fuses) = self.larger_fuses(index, figures, thick) {
            return Some(format!("{fuses} with thicker wire would do"));
        }
        let with = thick.0;
        let on_path = |run: &Run| figures.path.contains(&run.id);
        let share = (1..=7).map(|n| 1.0 - 0.1 * f64::from(n)).find(|share| {
            let cut = |run: &Run| -> Vec<Edit> {
                let of = legs(run).filter_map(|leg| {
                    let m = leg.length_m.known()?.0 * share;
                    Some(Edit::Set { at: leg_path(run, leg, "length_m"), to: Value::Number(m) })
                });
                of.collect()
            };
            let edits = with.runs.iter().filter(|run| on_path(run)).flat_map(cut).collect();
            self.reaches(with, index, edits)
        });
        share.map(|s| format!("the thickest wire, {:.0} % shorter all along, would do", (1.0 - s) * 100.0))
    }

    /// One larger fuse that would reach the target with the wire of a plan, or all of them.
    fn larger_fuses(&mut self, index: usize, figures: &RunFigures, thick: (&Plan, &Report)) -> Option<String> {
        let (with, report) = thick;
        let on_path = |run: &Run| figures.path.contains(&run.id);
        let mut larger: Vec<Vec<(String, Edit)>> = Vec::new();
        for (i, run) in with.runs.iter().enumerate().filter(|(_, run)| on_path(run)) {
            let Some(fuse) = fuses(run).next().filter(|f| !is_string_fuse(self.c, i, f)) else { continue };
            let (Some(family), Some(amps)) = (fuse.family.known(), fuse.amps_a.known()) else { continue };
            let Some(most) = report.runs.get(i).and_then(|r| r.fuse_max_a.clone().ok()) else { continue };
            let more = ratings(*family).iter().filter(|a| **a > amps.0 + 1e-9 && **a <= most.0 + 1e-9);
            let edit = |a: &f64| Edit::Set { at: fuse_path(run, fuse, "amps_a"), to: Value::Number(*a) };
            larger.push(more.take(MOST_LARGER).map(|a| (format!("{} {a} A", run.id), edit(a))).collect());
        }
        let one = larger.iter().flatten().find(|(_, edit)| self.reaches(with, index, vec![edit.clone()]));
        if let Some((what, _)) = one {
            return Some(format!("a fuse of {what}"));
        }
        let all: Vec<&(String, Edit)> = larger.iter().filter_map(|of| of.last()).collect();
        let edits: Vec<Edit> = all.iter().map(|(_, edit)| edit.clone()).collect();
        if all.len() > 1 && self.reaches(with, index, edits) {
            let names: Vec<&str> = all.iter().map(|(what, _)| what.as_str()).collect();
            return Some(format!("fuses of {}", names.join(", ")));
        }
        None
    }

    /// Whether a run's path meets its target in a plan with these edits.
    fn reaches(&mut self, plan: &Plan, index: usize, edits: Vec<Edit>) -> bool {
        let Ok(with) = plan.with(&Step { name: String::new(), edits }) else { return false };
        let report = self.engine.evaluate_wires(&with, self.stock);
        let met = |r: &RunFigures| r.path_drop_pct.as_ref().is_ok_and(|pct| r.target_pct.is_none_or(|t| *pct <= t));
        report.runs.get(index).is_some_and(met)
    }
}
