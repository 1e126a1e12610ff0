//! What sizing all runs would do, run by run with its reason, and what a plan comes to.

use std::sync::Arc;

use crate::engine::circuit::Circuit;
use crate::engine::context::Context;
use crate::engine::cures::refit_edits;
use crate::engine::currents::Terminals;
use crate::engine::finding::{Finding, Level};
use crate::engine::memo::Wanted;
use crate::engine::price;
use crate::engine::protection::{goes_in_panel, panel_of, wants_fuse};
use crate::engine::report::Report;
use crate::engine::resistance::{fuses, legs};
use crate::engine::{Engine, runs};
use crate::plan::{FieldPath, Figure, Id, Plan, Run, State, Step};
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::Amps;

use super::keep::{TOO_SMALL, is_carried, leans_anew};
use super::make::{Make, made_of, makes, no_pair, takes};
use super::spools::on_van;
use super::unknown::open_fuses;
use super::{bond, by_gauge, is_new_stop, links, make, said, sizes, truck, wire};
use crate::engine::circuit::Role;

/// Findings about a run that another fuse would cure.
pub(super) const BY_FUSE: [&str; 4] =
    ["fuse-above-conductor", "fuse-below-design", "source-end-unfused", "interrupt-below-fault"];

/// The sizing of all runs: one step, and what it does to each run.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// Without edits where nothing is to change.
    pub step: Step,
    /// In the order of the plan.
    pub rows: Vec<SizedRun>,
    /// What is said of the whole beside its rows.
    pub notes: Vec<String>,
}

/// A fuse by its rating and family.
pub type FuseSize = (Amps, FuseFamily);

/// One run, before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct SizedRun {
    pub run: Id,
    /// Of its new legs; none where unknown.
    pub gauge: (Option<Make>, Option<Make>),
    /// The first fuse it has.
    pub fuse: (Option<FuseSize>, Option<FuseSize>),
    /// What decides its size, or why it is left as it is.
    pub why: String,
}

impl SizedRun {
    /// Whether the step changes it.
    #[must_use]
    pub fn changes(&self) -> bool {
        self.gauge.0 != self.gauge.1 || self.fuse.0 != self.fuse.1
    }
}

/// What a plan comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Totals {
    /// The path that is worst against its target: its last run, percent, target.
    pub worst_drop: Option<(Id, f64, f64)>,
    /// Not accepted.
    pub stops: usize,
    pub cautions: usize,
    /// Mean day of the year.
    pub harvest_wh_day: Figure<f64>,
    /// Parts whose price is known, and how many have none.
    pub parts: (f64, usize),
    /// Of all wire bought new, kg, with its lugs as far as the truck stock knows what they weigh.
    pub wire_kg: Figure<f64>,
}

impl Totals {
    /// The totals of a plan and its report.
    #[must_use]
    pub fn of(plan: &Plan, stock: &Stock, report: &Report) -> Self {
        let over = |r: &&crate::engine::report::RunFigures| match (&r.path_drop_pct, r.target_pct) {
            (Ok(pct), Some(target)) if target > 0.0 => pct / target,
            _ => -1.0,
        };
        let worst = report.runs.iter().max_by(|a, b| over(a).total_cmp(&over(b)));
        let worst_drop = worst.and_then(|r| Some((r.id.clone(), r.path_drop_pct.clone().ok()?, r.target_pct?)));
        let count = |level| report.findings.iter().filter(|f| f.level == level && f.accepted.is_none()).count();
        let new = plan.runs.iter().flat_map(|r| legs(r).filter(|l| l.state == State::New).map(move |l| (r, l)));
        let wire_kg: Figure<f64> = new
            .map(|(run, leg)| {
                let gauge = crate::engine::resistance::gauge_of(run, leg)?;
                Ok(price::wire_m(run, leg)? * price::wire_kg_per_m(stock, gauge, leg))
            })
            .sum();
        let (circuit, _) = Circuit::of(plan);
        let c = Context::of(plan, circuit, &stock.truck.fuses);
        let wire_kg = wire_kg.and_then(|kg| Ok(kg + price::links_kg(&c, stock)? + price::lugs(&c, stock).kg));
        Self {
            worst_drop,
            stops: count(Level::Stop),
            cautions: count(Level::Caution),
            harvest_wh_day: report.year.harvest_kwh.clone().map(|kwh| kwh * 1000.0 / 365.0),
            parts: (report.price.known_parts.0, report.price.unpriced),
            wire_kg,
        }
    }
}

impl Engine {
    /// All runs sized, with the reason for each; see [`Engine::size_all`]. By the rules alone.
    pub fn propose_sizes(&mut self, plan: &Plan, stock: &Stock, from_stock_only: bool) -> Proposal {
        self.proposed(plan, stock, from_stock_only)
    }

    /// The same; nothing once it is no longer wanted.
    pub fn propose_sizes_while(
        &mut self,
        plan: &Plan,
        stock: &Stock,
        from_stock_only: bool,
        is_wanted: Arc<dyn Fn() -> bool + Send + Sync>,
    ) -> Option<Proposal> {
        self.stages.wanted = Wanted::while_said(is_wanted);
        let proposal = self.proposed(plan, stock, from_stock_only);
        let is_whole = self.stages.wanted.is();
        self.stages.wanted = Wanted::default();
        is_whole.then_some(proposal)
    }

    fn proposed(&mut self, plan: &Plan, stock: &Stock, from_stock_only: bool) -> Proposal {
        let step = self.size_all(plan, stock, from_stock_only);
        let with = plan.with(&step).unwrap_or_else(|_| plan.clone());
        let all = stock;
        let left = from_stock_only.then(|| links::left(&with, stock));
        let stock = left.as_ref().unwrap_or(stock);
        let before = self.evaluate_wires(plan, stock);
        let after = self.evaluate_wires(&with, stock);
        let (circuit, _) = Circuit::of(&with);
        let c = Context::of(&with, circuit, &stock.truck.fuses);
        let terminals = Terminals::of(&c);
        let found = runs::find(&c, &terminals);
        let mut asked =
            Asked { engine: self, c: &c, stock, from_stock_only, was: plan, before: &before, after: &after };
        let mut rows = Vec::new();
        for (i, (old, new)) in plan.runs.iter().zip(&with.runs).enumerate() {
            if !asked.engine.stages.wanted.is() {
                break;
            }
            let is_changed = made_of(old) != made_of(new);
            let unsized_for = asked.not_sized(i, new, &found, is_changed);
            let is_unsized = unsized_for.is_some();
            let mut why = unsized_for.unwrap_or_else(|| asked.decides(i, new, is_changed));
            let held = || truck::not_carried(&c, stock, i).filter(|_| from_stock_only && !is_changed && !is_unsized);
            if let Some(held) = held() {
                why = format!("held: {held}; {}", why.trim_start_matches("held: "));
            }
            let fuse_was_open = fuse(old).is_none() && fuse(new).is_some();
            let lost = asked.loses_less(i, (old, new));
            if let Some(lost) = &lost {
                why = format!("{lost}; wire: {why}");
            } else if fuse_was_open || (!is_changed && fuse(old) != fuse(new)) {
                let what = if fuse_was_open && fuses(old).next().is_none() {
                    "had no fuse"
                } else if fuse_was_open {
                    "fuse for its current"
                } else if before.findings.iter().any(|f| too_small(f, old)) {
                    "a fuse for its current"
                } else if after.runs.get(i).is_some_and(|r| lay_above(old, r)) {
                    "a fuse that its wire stands"
                } else {
                    "a fuse that opens what may flow then"
                };
                why = format!("{what}; wire: {why}");
            }
            if let Some((was, is)) = other_type(old, new).filter(|_| lost.is_none()) {
                why = format!("{is} in place of {was}: no {was} fits there; {why}");
            }
            let family = |run: &Run| fuses(run).next().and_then(|f| f.family.known().copied());
            let leaves = family(new).filter(|f| family(old) != Some(*f) && !goes_in_panel(*f));
            if let (Some(panel), Some(_)) = (panel_of(&c, i), leaves) {
                why = format!("its fuse in a holder of its own outside {panel}; {why}");
            }
            if let Some(small) = asked.stays_small(i, new) {
                why = format!("{why}; {small}");
            }
            if let Some(none) = asked.wants_one(i, new) {
                why = format!("{none}; {why}");
            }
            if let Some(open) = asked.left_open(i, new) {
                why = format!("{why}; {open}");
            }
            if let Some(spent) = asked.spent(i, new) {
                why = format!("{spent}; {why}");
            }
            rows.push(SizedRun {
                run: old.id.clone(),
                gauge: (made_of(old), made_of(new)),
                fuse: (fuse(old), fuse(new)),
                why,
            });
        }
        rows.extend(links::row(plan, &with));
        let notes = said::notes(plan, all, from_stock_only);
        Proposal { step, rows, notes }
    }
}

/// The first fuse of a run, where it is known.
pub(in crate::engine) fn fuse(run: &Run) -> Option<FuseSize> {
    let fuse = fuses(run).next()?;
    Some((*fuse.amps_a.known()?, *fuse.family.known()?))
}

/// The types of a run's first fuse before and after, where its type has changed.
fn other_type(old: &Run, new: &Run) -> Option<(FuseFamily, FuseFamily)> {
    let family = |run: &Run| fuses(run).next().and_then(|f| f.family.known().copied());
    Some((family(old)?, family(new)?)).filter(|(was, is)| was != is)
}

/// Whether a run's fuse was above what its wire carries now.
fn lay_above(old: &Run, now: &crate::engine::report::RunFigures) -> bool {
    let had = fuse(old).map(|f| f.0.0);
    matches!((had, &now.fuse_max_a), (Some(had), Ok(most)) if had > most.0 + 1e-9)
}

/// A fuse of a run by its name, where it is known.
fn fuse_named(run: &Run, id: &Id) -> Option<FuseSize> {
    let fuse = fuses(run).find(|f| f.id == *id)?;
    Some((*fuse.amps_a.known()?, *fuse.family.known()?))
}

/// Whether a finding says that a run's fuse is smaller than its current wants.
fn too_small(f: &Finding, run: &Run) -> bool {
    f.check.id == TOO_SMALL && f.level != Level::Note && f.accepted.is_none() && f.run() == Some(run.id.as_str())
}

/// What the reasons are found from: the proposal evaluated.
pub(super) struct Asked<'a> {
    pub(super) engine: &'a mut Engine,
    pub(super) c: &'a Context<'a>,
    pub(super) stock: &'a Stock,
    pub(super) from_stock_only: bool,
    was: &'a Plan,
    pub(super) before: &'a Report,
    pub(super) after: &'a Report,
}

impl Asked<'_> {
    /// Why a fuse of unknown rating stays so: what it waits for, the stop that the one it wants would bring, or that none
    /// fits.
    fn left_open(&mut self, index: usize, run: &Run) -> Option<String> {
        let open = open_fuses(self.c.plan);
        let id = open.iter().find(|f| f.run == index)?.id.clone();
        let figures = self.after.runs.get(index)?;
        let least = match &figures.fuse_min_a {
            Ok(least) => least.0,
            Err(waits) if waits.0.as_str().is_empty() => return None,
            Err(waits) if waits.0 == own_gauge(run) => return Some(format!("{id} left open until it has a gauge")),
            Err(waits) => return Some(format!("{id} left open: waits for {}", waits.0)),
        };
        let edits = self.engine.filled((self.was, self.c.plan), (self.stock, self.from_stock_only), &open);
        let with = self.c.plan.with(&Step { name: String::new(), edits }).ok()?;
        let Some((amps, _)) = with.runs.get(index).and_then(|r| fuse_named(r, &id)) else {
            if figures.fuse_max_a.is_err() || !wants_fuse(self.c, index) {
                return None;
            }
            let none = if self.from_stock_only { "none on the truck" } else { "none" };
            return Some(format!("{id} left open: {none} from {least:.1} A fits its wire and its place"));
        };
        let report = self.engine.evaluate_wires(&with, self.stock);
        let stops = || report.findings.iter().filter(|f| is_new_stop(self.after, f));
        let place = |f: &Finding| self.c.plan.runs.iter().position(|r| f.run() == Some(r.id.as_str()));
        let behind = |f: &&Finding| {
            let link = place(f).and_then(|i| self.c.circuit.links.get(i));
            link.is_some_and(|link| link.upstream.contains(&index))
        };
        let stop = stops().find(|f| f.run() == Some(run.id.as_str())).or_else(|| stops().find(behind))?;
        Some(format!("{id} left open: with the {} A that it wants, {}", amps.0, stop.text_in(self.c.plan)))
    }

    /// Why a fuse that is smaller than its current wants stays: that none fits, or what the one that fits would bring.
    fn stays_small(&mut self, index: usize, run: &Run) -> Option<String> {
        let small = self.after.findings.iter().find(|f| too_small(f, run))?;
        let (amps, least) = (small.n(0), small.n(2));
        let stays = format!("fuse of {amps} A stays under {least:.1} A");
        if self.from_stock_only {
            return Some(format!("{stays}: the truck has none that fits"));
        }
        let Some(fuse) = self.after.runs.get(index).and_then(|r| r.proposed.clone()) else {
            return Some(format!("{stays}: none that its wire allows"));
        };
        let edits = refit_edits(run, &fuse);
        let with = self.c.plan.with(&Step { name: String::new(), edits }).ok()?;
        let report = self.engine.evaluate_wires(&with, self.stock);
        let brings = report.findings.iter().find(|f| f.level != Level::Note && !self.after.says(f));
        Some(match brings {
            Some(f) => format!("{stays}: with {} A, {}", fuse.amps.0, f.text_in(self.c.plan)),
            None => format!("{stays}: none that fits is found"),
        })
    }

    /// That the truck has no more of the fuse that a run would need, where it had some.
    fn spent(&self, index: usize, run: &Run) -> Option<String> {
        let stop = |f: &Finding| f.level == Level::Stop && f.run() == Some(run.id.as_str());
        let by_fuse = |f: &&Finding| stop(f) && BY_FUSE.contains(&f.check.id);
        let lacks =
            open_fuses(self.c.plan).iter().any(|f| f.run == index) || self.after.findings.iter().any(|f| by_fuse(&f));
        let figures = self.after.runs.get(index).filter(|_| lacks && self.from_stock_only)?;
        truck::fuses_spent((self.was, self.c.plan), self.stock, index, figures)
    }

    /// That a run has no fuse and has to get one: which, where one fits, and what that would bring.
    fn wants_one(&mut self, index: usize, run: &Run) -> Option<String> {
        if fuses(run).next().is_some() {
            return None;
        }
        let path = format!("runs.{}", run.id);
        let unfused =
            self.after.findings.iter().any(|f| f.check.id == "source-end-unfused" && f.subject.as_str() == path);
        let unseen =
            || self.after.not_checked.iter().any(|n| n.check == "source-end-unfused" && n.subject.as_str() == path);
        if !unfused && !unseen() {
            return None;
        }
        let Some(p) = self.after.runs.get(index).and_then(|r| r.proposed.clone()) else {
            return Some("no fuse: put one".into());
        };
        let end = if p.at_from { "from" } else { "to" };
        let put = format!("no fuse: put one, {} A {} at its {end} end", p.amps.0, p.family);
        if self.from_stock_only && !is_carried(self.stock, &p) {
            return Some(format!("{put}; the truck has none"));
        }
        let with = self.c.plan.with(&Step { name: String::new(), edits: refit_edits(run, &p) }).ok()?;
        let report = self.engine.evaluate_wires(&with, self.stock);
        let brings = report.findings.iter().find(|f| is_new_stop(self.after, f));
        Some(brings.map_or(put.clone(), |f| format!("{put}: with it, {}", f.text_in(self.c.plan))))
    }

    /// The stop that a run without a gauge would have with every one it could get: the thickest tells it.
    fn any_brings(&mut self, index: usize, run: &Run) -> Option<String> {
        let fitting = makes(self.c, index).into_iter().filter(|m| wire::fits(self.c, index, *m));
        let thickest = fitting.max_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()))?;
        let report = self.with(run, thickest)?;
        let stop = report.findings.iter().find(|f| is_new_stop(self.after, f))?;
        Some(format!("left open: with {thickest}, {}", stop.text_in(self.c.plan)))
    }

    /// What a bond without a gauge waits for.
    fn bond_waits(&mut self, run: &Run) -> String {
        let thinnest = made_of(run).is_none().then(|| wire::system(self.c.plan, run).ladder().next()).flatten();
        let with = thinnest.and_then(|gauge| {
            let step = Step { name: String::new(), edits: wire::edits(run, Make::as_drawn(run, gauge), true) };
            self.c.plan.with(&step).ok()
        });
        let report = with.map(|with| self.engine.evaluate_wires(&with, self.stock));
        let path = format!("runs.{}", run.id);
        let waiting = report.iter().flat_map(|r| r.not_checked.iter().chain(&r.waiting));
        let mut own = waiting.filter(|n| n.check == "bond-small" && n.subject.as_str() == path);
        match own.next() {
            Some(n) => format!("not sized: waits for {}", n.waits_for),
            None => match bond::stays(self.c.plan, run, report.as_ref().unwrap_or(self.after)) {
                Some(_) if self.from_stock_only => "held: the truck has no wire that thick left".into(),
                Some(why) => why,
                None if made_of(run).is_none() => {
                    "left open: it bonds no negative of the bank that asks for a size".into()
                }
                None => "held: no battery lead asks for a thicker bond".into(),
            },
        }
    }

    /// Why a run is not sized at all.
    fn not_sized(&mut self, index: usize, run: &Run, all: &[runs::Found], is_changed: bool) -> Option<String> {
        let found = all.get(index)?;
        let role = self.c.circuit.links.get(index)?.role;
        if !sizes(role) {
            return Some(match role {
                Role::Dead => "not sized: removed or dead".into(),
                Role::Bond if is_changed => "as the largest battery lead wants its bond".into(),
                Role::Bond => self.bond_waits(run),
                Role::Sense if is_changed => "the least in practice for a lead without current".into(),
                Role::Sense => "not sized: a sense lead".into(),
                _ => "not sized: leads nowhere that the plan knows".into(),
            });
        }
        if run.measured_ohm.is_some() {
            return Some("held: its resistance was measured".into());
        }
        if !wire::has_new_leg(run) {
            let unread = made_of(run).is_none();
            return Some(
                if unread {
                    "held: existing wire stays; its gauge is to be read off it"
                } else {
                    "held: existing wire stays"
                }
                .into(),
            );
        }
        if let Err(waits) = &found.currents.pair.design_a {
            // A line whose current follows from its own gauge waits for what its wire would still ask.
            let other = if waits.0 == own_gauge(run) { wire::waits_for(self.c, index, found) } else { None };
            return Some(format!("not sized: waits for {}", other.unwrap_or_else(|| waits.0.clone())));
        }
        if found.at_drop.is_err() {
            if let Some(waits) = wire::waits_for(self.c, index, found) {
                let own = format!("runs.{}", run.id);
                return Some(if waits == own_gauge(run) {
                    "not sized: the gauge of its existing wire is to be read off it".into()
                } else if is_changed && waits.as_str().starts_with(&format!("{own}.protection.")) {
                    "for its current and the fuse that it wants".into()
                } else {
                    format!("not sized: waits for {waits}")
                });
            }
            if let Some(why) = self.any_brings(index, run) {
                let asked = make::asks_for_two(self.c, index).map(|what| format!("; in two: {what}"));
                return Some(why + &asked.unwrap_or_default());
            }
        }
        if wire::sized(self.c, (self.stock, self.from_stock_only), index, found, made_of(run)).is_none() {
            let design = found.currents.pair.design_a.clone().unwrap_or(0.0);
            let whose = if self.from_stock_only { "no gauge on the truck" } else { "no gauge its terminals take" };
            let asked = makes(self.c, index).into_iter().find_map(|m| match takes(self.c, index, m) {
                make::Takes::Ask(what) => Some(format!("; two would be {m}: {what}")),
                _ => None,
            });
            let none = || {
                let thickest = makes(self.c, index).into_iter().max_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()));
                thickest.and_then(|m| no_pair(self.c, index, m)).map(|why| format!(", {why}"))
            };
            let pair = asked.or_else(none);
            let pair = pair.filter(|_| !self.from_stock_only).unwrap_or_default();
            let what = match made_of(run) {
                _ if is_changed => "the best there is",
                Some(_) => "held",
                None => "not sized",
            };
            let spools = || truck::no_spool(self.c, self.stock, index, found).filter(|_| self.from_stock_only);
            if let Some(why) = spools() {
                return Some(format!("{what}: {why}"));
            }
            return Some(format!("{what}: {whose} carries {design:.1} A{pair}"));
        }
        if self.from_stock_only
            && !is_changed
            && let Some(why) = truck::too_short(self.c, self.stock, index, all)
        {
            return Some(format!("held: {why}"));
        }
        None
    }

    /// What decides the size of a run: what keeps it from being thicker where something is left to cure, else what
    /// the next thinner gauge would bring.
    fn decides(&mut self, index: usize, run: &Run, is_changed: bool) -> String {
        let open = |f: &&Finding| {
            f.run() == Some(run.id.as_str())
                && f.level != Level::Note
                && (by_gauge(f) || f.check.id == "drop-over-target")
        };
        let left = self.after.findings.iter().find(open);
        let Some(now) = made_of(run) else { return "its gauge is not known".into() };
        let is_drop = left.is_some_and(|f| f.check.id == "drop-over-target");
        if let Some(why) = is_drop.then(|| self.out_of_reach(index)).flatten() {
            // What it is as thick as it is for, before what no gauge mends.
            let for_what = self.thinner_brings(index, run, now).filter(|_| is_changed);
            return match for_what {
                Some(what) => format!("{what}; no thicker: {why}"),
                None if is_changed => format!("no thicker: {why}"),
                None => format!("held: {why}"),
            };
        }
        if let Some(left) = left {
            let why = self.holds(index, run, now).unwrap_or_else(|| left.text_in(self.c.plan));
            return if is_changed { format!("no thicker: {why}") } else { format!("held: {why}") };
        }
        if now.area_mm2() < self.least_mm2(index) - 1e-9 && !is_changed {
            return "held: thinner than practice lays anew, but no check asks for more".into();
        }
        let Some(thinner) = self.thinner(index, run, now) else { return "the thinnest there is to choose".into() };
        if thinner.area_mm2() < self.least_mm2(index) - 1e-9 {
            return format!("{now} is the least in practice");
        }
        let brings = self.thinner_brings(index, run, now);
        let spent = || self.from_stock_only.then(|| truck::used_up(self.c, self.stock, index, thinner)).flatten();
        let waits = || self.after.run_waits_for(&run.id).map(|at| format!("cheapest by what is known: waits for {at}"));
        let meets = || "cheapest of those that meet rules and targets".into();
        brings.or_else(spent).or_else(waits).unwrap_or_else(meets)
    }

    /// What the next thinner gauge would bring.
    fn thinner_brings(&mut self, index: usize, run: &Run, now: Make) -> Option<String> {
        let path = format!("runs.{}", run.id);
        let thinner = self.thinner(index, run, now)?;
        let report = self.with(run, thinner)?;
        let brings = report
            .findings
            .iter()
            .filter(|f| leans_anew(self.after, f) || (f.level != Level::Note && !self.after.says(f)));
        match brings.min_by_key(|f| (f.subject.as_str() != path, f.level)) {
            Some(f) => Some(format!("{thinner}: {}", short(self.c.plan, f, &report, run))),
            None if self.is_over(&report, run) => {
                Some(format!("{thinner} would add to a path that is over its target"))
            }
            None => None,
        }
    }

    /// Whether some path over its target loses more through a run than it does as proposed.
    fn is_over(&self, with: &Report, run: &Run) -> bool {
        let pct = |r: &Report, i: usize| r.runs.get(i).and_then(|f| f.path_drop_pct.as_ref().ok().copied());
        let over = |f: &crate::engine::report::RunFigures| {
            f.path.contains(&run.id) && matches!((&f.path_drop_pct, f.target_pct), (Ok(pct), Some(most)) if *pct > most)
        };
        self.after.runs.iter().enumerate().any(|(i, f)| over(f) && pct(with, i) > pct(self.after, i))
    }

    /// What a thicker gauge would bring.
    fn holds(&mut self, index: usize, run: &Run, now: Make) -> Option<String> {
        let more = makes(self.c, index).into_iter().filter(|m| m.area_mm2() > now.area_mm2() + 1e-9);
        let thicker = more.min_by(|a, b| {
            let taken = |m: &Make| !wire::fits(self.c, index, *m);
            taken(a).cmp(&taken(b)).then(a.area_mm2().total_cmp(&b.area_mm2()))
        })?;
        match takes(self.c, index, thicker) {
            make::Takes::Ask(why) => return Some(format!("{thicker}: {why}")),
            make::Takes::No(_) if thicker.per_pole > 1 => return Some(format!("its terminals do not take {thicker}")),
            make::Takes::No(_) => {
                let pair = no_pair(self.c, index, thicker).map_or(String::new(), |why| format!(", {why}"));
                return Some(format!("its terminals do not take {thicker}{pair}"));
            }
            _ => {}
        }
        let report = self.with(run, thicker)?;
        let stop = report.findings.iter().find(|f| is_new_stop(self.before, f));
        stop.map(|f| format!("with {thicker}, {}", f.text_in(self.c.plan)))
    }

    /// The next thinner make that could have been taken.
    fn thinner(&self, index: usize, run: &Run, now: Make) -> Option<Make> {
        let could =
            |m: &Make| wire::fits(self.c, index, *m) && (!self.from_stock_only || on_van(self.stock, run, m.gauge));
        let less = makes(self.c, index).into_iter().filter(|m| m.area_mm2() < now.area_mm2() - 1e-9);
        less.filter(could).max_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()))
    }

    fn least_mm2(&self, index: usize) -> f64 {
        wire::least_mm2(self.c, index)
    }

    fn with(&mut self, run: &Run, make: Make) -> Option<Report> {
        let step = Step { name: String::new(), edits: wire::edits(run, make, true) };
        let with = self.c.plan.with(&step).ok()?;
        Some(self.engine.evaluate_wires(&with, self.stock))
    }
}

/// A finding in the words of a table's row.
fn short(plan: &Plan, f: &Finding, report: &Report, run: &Run) -> String {
    let figures = report.runs.iter().find(|r| r.id == run.id);
    match (f.check.id, figures) {
        ("conductor-below-current", Some(r)) => match (&r.ampacity_a, &r.design_a) {
            (Ok(carries), Ok(design)) => format!("carries {:.0} A of {:.1} A", carries.0, design.0),
            _ => f.text_in(plan),
        },
        ("drop-over-target", Some(r)) if f.run() == Some(run.id.as_str()) => match (&r.path_drop_pct, r.target_pct) {
            (Ok(pct), Some(target)) => format!("path {pct:.2} %, target {target:.2} %"),
            _ => f.text_in(plan),
        },
        _ => f.text_in(plan),
    }
}

fn own_gauge(run: &Run) -> FieldPath {
    FieldPath::of(&["runs", run.id.as_str(), "gauge"])
}
