//! The year on the plan's real wires: from labels, places and runs to monthly figures.

use crate::climate::year::MONTH_DAYS;
use crate::physics::controller::{STATIC_TRACKING, Tracker};
use crate::physics::module::{Module, Point};
use crate::plan::{Controller, Figure, Id, Missing, Plan};
use crate::standards::kinds::ControllerKind;
use crate::units::WattHours;

use super::arrays::{Labels, module};
use super::circuit::{Circuit, Node, PathKind, Way};
use super::context::{Context, at, missing, need};
use super::lit::{ArrayInput, BehindInput, Offer, StringsOf, best_behind, offer};
use super::memo::{Memo, Stage};
use super::report::{Report, YearFigures};
use super::shade::Horizon;
use super::sites::{Site, Spot, site, stay_of_months};
use super::sky::{SkyYear, sky_year};
use super::solve::{Charging, Makes, Solar};
use super::year::{Lighting, Year, YearInput, is_sound, year};

/// Volts per 12 V that the posts are held at through the year: the middle of a charge, lithium and lead.
/// Source: common practice; a battery that is simulated replaces it.
const POSTS_V: [f64; 2] = [13.4, 13.2];

/// The remembered stages.
#[derive(Clone)]
pub(super) struct Stages {
    pub(super) module: Labels,
    sky: Memo<Site, SkyYear>,
    shade: Memo<Open, Horizon>,
    array: Memo<ArrayInput, Offer>,
    behind: Memo<BehindInput, Vec<Point>>,
    year: Memo<YearInput, Year>,
}

/// What the shade stage depends on: nothing stands on the roof yet.
#[derive(Clone, PartialEq)]
struct Open;

impl Default for Stages {
    fn default() -> Self {
        Self {
            module: Labels::default(),
            sky: Memo::with_room(24),
            shade: Memo::with_room(4),
            array: Memo::with_room(48),
            behind: Memo::with_room(64),
            year: Memo::with_room(24),
        }
    }
}

impl Stages {
    /// Offers with their best points behind the PV loops.
    fn lights(&mut self, circuit: &Charging, offers: &[Stage<Offer>]) -> Vec<Lighting> {
        let behind = circuit.solars.iter().zip(offers).map(|(solar, offer)| {
            let tracks = matches!(solar.makes, Makes::Tracking(_));
            let input = BehindInput { offer: offer.clone(), pv_ohm: solar.pv_ohm };
            Lighting { offer: offer.clone(), best: tracks.then(|| self.behind.get(input, best_behind)) }
        });
        behind.collect()
    }

    fn offer_of(&mut self, strings: &[StringsOf], mount: crate::standards::kinds::Mount, site: &Site) -> Stage<Offer> {
        let sky = self.sky.get(site.clone(), sky_year);
        let shade = self.shade.get(Open, |_| Horizon::open());
        self.array.get(ArrayInput { strings: strings.to_vec(), mount, sky, shade }, offer)
    }
}

/// A stay and what each controller's array offers there.
struct Lit {
    stay: usize,
    site: Figure<Site>,
    offers: Figure<Vec<Stage<Offer>>>,
}

/// A controller with its arrays, ready for the year.
struct Source {
    controller: usize,
    strings: Vec<StringsOf>,
    mount: crate::standards::kinds::Mount,
    /// Runs of its PV loop.
    pv_runs: Vec<usize>,
}

/// Fills the year's figures into a report whose runs and loads are there already.
pub(super) fn fill(stages: &mut Stages, context: &Context<'_>, spots: &[Figure<Spot>], report: &mut Report) {
    let plan = context.plan;
    let of_months = stay_of_months(plan);
    let sources = sources(stages, plan, &context.circuit);
    let compiled = sources.as_ref().map_err(Clone::clone).and_then(|s| compile(context, report, s));
    let mut offers: Vec<Lit> = Vec::new();
    for (i, (stay, spot)) in plan.stays.iter().zip(spots).enumerate() {
        let months = (0..12).filter(|m| of_months[*m] == Some(i)).fold(0_u16, |mask, m| mask | 1 << m);
        if months != 0 {
            let site = site(stay, spot, months);
            let lit = sources.as_ref().map_err(Clone::clone).and_then(|sources| {
                let site = site.as_ref().map_err(Clone::clone)?;
                Ok(sources.iter().map(|s| stages.offer_of(&s.strings, s.mount, site)).collect())
            });
            offers.push(Lit { stay: i, site, offers: lit });
        }
    }
    let done = compiled.map(|circuit| {
        let lit = offers.iter().filter_map(|lit| lit.offers.as_ref().ok());
        let stays = lit.map(|lit| stages.lights(&circuit, lit)).collect();
        stages.year.get(YearInput { circuit, stays }, year)
    });
    months(&of_months, &offers, done.as_ref().map(|y| &**y), report);
    if let Ok(sources) = &sources {
        offered(plan, sources, &offers, report);
    }
    if let (Ok(year), Ok(sources)) = (&done, &sources) {
        losses(context, year, sources, report);
    } else if let Err(waits) = &done {
        for run in &mut report.runs {
            run.loss_wh_day = Err(waits.clone());
        }
    }
}

/// Controllers with the arrays they have.
fn sources(stages: &mut Stages, plan: &Plan, circuit: &Circuit) -> Figure<Vec<Source>> {
    let mut sources: Vec<Source> = Vec::new();
    for (i, array) in plan.arrays.iter().enumerate().filter(|(_, a)| a.state.stays()) {
        let controller =
            circuit.feeds.get(i).copied().flatten().ok_or_else(|| missing(at("arrays", &array.id, "controller")))?;
        let strings = strings_of(stages, plan, &array.id, &array.strings.0)?;
        let pv_runs =
            way(circuit, PathKind::Array, Node::Array(i)).map(|w| w.runs.clone()).ok_or_else(|| missing("runs"))?;
        match sources.iter_mut().find(|s| s.controller == controller) {
            Some(source) => source.strings.extend(strings),
            None => sources.push(Source { controller, strings, mount: array.mount, pv_runs }),
        }
    }
    Ok(sources)
}

fn strings_of(stages: &mut Stages, plan: &Plan, array: &Id, strings: &[Vec<Id>]) -> Figure<Vec<StringsOf>> {
    let mut out: Vec<StringsOf> = Vec::new();
    for string in strings {
        let mut modules: Vec<(Module, f64, usize)> = Vec::new();
        for id in string {
            let panel =
                plan.panels.iter().find(|p| p.id == *id).ok_or_else(|| missing(at("arrays", array, "strings")))?;
            let module = module(&mut stages.module, panel)?;
            let groups = panel.bypass_groups.known().map_or(1.0, |g| g.0);
            match modules.iter_mut().find(|(m, g, _)| *m == module && *g == groups) {
                Some((_, _, count)) => *count += 1,
                None => modules.push((module, groups, 1)),
            }
        }
        match out.iter_mut().find(|s| s.modules == modules) {
            Some(equal) => equal.parallel += 1,
            None => out.push(StringsOf { parallel: 1, modules }),
        }
    }
    Ok(out)
}

fn way(circuit: &Circuit, kind: PathKind, end: Node) -> Option<&Way> {
    circuit.ways.iter().find(|w| w.kind == kind && w.end == end)
}

/// The charging circuit with the resistances of the plan's runs.
fn compile(context: &Context<'_>, report: &Report, sources: &[Source]) -> Figure<Charging> {
    let plan = context.plan;
    let lithium = context.chemistry()?.chemistry.is_lithium();
    let bank_v = POSTS_V[usize::from(!lithium)] * context.twelves()?;
    let mut circuit = Charging { bank_v, solars: Vec::new(), segments_ohm: Vec::new() };
    let mut segment_runs: Vec<usize> = Vec::new();
    for source in sources {
        let controller = plan.controllers.get(source.controller).ok_or_else(|| missing("controllers"))?;
        let mut pv_ohm = 0.0;
        for run in &source.pv_runs {
            pv_ohm += ohm(report, *run)?;
        }
        let out_runs = way(&context.circuit, PathKind::ControllerBank, Node::Controller(source.controller))
            .ok_or_else(|| missing("runs"))?;
        let mut out = Vec::new();
        for run in &out_runs.runs {
            let segment = match segment_runs.iter().position(|r| r == run) {
                Some(segment) => segment,
                None => {
                    circuit.segments_ohm.push(ohm(report, *run)?);
                    segment_runs.push(*run);
                    segment_runs.len() - 1
                }
            };
            out.push(segment);
        }
        circuit.solars.push(Solar { makes: makes(controller)?, pv_ohm, out });
    }
    if is_sound(&circuit) { Ok(circuit) } else { Err(missing("runs")) }
}

fn ohm(report: &Report, run: usize) -> Figure<f64> {
    let run = report.runs.get(run).ok_or_else(|| missing("runs"))?;
    run.resistance_ohm.clone().map(|r| r.0)
}

fn makes(controller: &Controller) -> Figure<Makes> {
    let field = |key: &str| at("controllers", &controller.id, key);
    let most_a = need(&controller.out_a, "controllers", &controller.id, "out_a")?.0;
    Ok(match controller.kind.at(|| field("kind"))? {
        ControllerKind::Pwm => Makes::Pwm { block_v: 0.0, most_a },
        ControllerKind::Tracking => Makes::Tracking(Tracker {
            tracking: STATIC_TRACKING,
            conversion: controller.efficiency_pct.at(|| field("efficiency_pct"))?.0 / 100.0,
            self_w: controller.self_use_w.at(|| field("self_use_w"))?.0,
            // An unknown headroom counts as none: an ideal step-down converter. It is counted as unknown.
            headroom_v: controller.run_headroom_v.known().map_or(0.0, |v| v.0),
            most_a,
        }),
    })
}

fn months(of_months: &[Option<usize>; 12], offers: &[Lit], done: Result<&Year, &Missing>, report: &mut Report) {
    let usable = report.bank.usable_wh.clone();
    let mut total = YearFigures::default();
    for m in 0..12 {
        let days = MONTH_DAYS[m] as f64;
        let figures = &mut total.months[m];
        let stay = of_months[m];
        figures.stay = stay;
        let here = stay.and_then(|s| offers.iter().find(|lit| lit.stay == s)).ok_or_else(|| missing("stays"));
        figures.ghi_kwh_m2_day =
            here.clone().and_then(|lit| lit.site.as_ref().map(|s| s.ghi_kwh_m2_day[m]).map_err(Clone::clone));
        let lit = here.and_then(|lit| lit.offers.as_ref().map_err(Clone::clone));
        figures.array_wh_day = lit.clone().map(|lit| WattHours(lit.iter().map(|o| o.month_wh[m]).sum::<f64>() / days));
        figures.harvest_wh_day = lit.and_then(|_| match done {
            Ok(year) => Ok(WattHours(year.harvest_wh[m] / days)),
            Err(waits) => Err(waits.clone()),
        });
        figures.load_wh_day = report.loads.wh_day[m].clone();
        let (load, harvest) = (figures.load_wh_day.clone(), figures.harvest_wh_day.clone());
        figures.deficit_wh_day = load.clone().and_then(|load| Ok((load - harvest?).max(WattHours(0.0))));
        figures.days_without_sun = load.and_then(|load| {
            let usable = usable.clone()?;
            if load.0 > 0.0 { Ok(usable / load) } else { Err(missing("")) }
        });
    }
    let yearly = |of: &dyn Fn(usize) -> Figure<WattHours>| -> Figure<f64> {
        let mut kwh = 0.0;
        for (m, days) in MONTH_DAYS.iter().enumerate() {
            kwh += of(m)?.0 * *days as f64 / 1000.0;
        }
        Ok(kwh)
    };
    total.harvest_kwh = yearly(&|m| total.months[m].harvest_wh_day.clone());
    total.load_kwh = yearly(&|m| total.months[m].load_wh_day.clone());
    report.year = total;
}

/// Puts beside arrays and controllers what they could give, and what unlike panels cost.
fn offered(plan: &Plan, sources: &[Source], offers: &[Lit], report: &mut Report) {
    let days: f64 = MONTH_DAYS.iter().map(|d| *d as f64).sum();
    for (k, source) in sources.iter().enumerate() {
        let lit = || offers.iter().filter_map(|lit| lit.offers.as_ref().ok()?.get(k));
        let id = plan.controllers.get(source.controller).map(|c| &c.id);
        let kwh = lit().map(|o| o.month_wh.iter().sum::<f64>()).sum::<f64>() / 1000.0;
        let unlike_wh_day = WattHours(lit().map(|o| o.unlike_wh).sum::<f64>() / days);
        if let Some(figures) = report.controllers.iter_mut().find(|c| Some(&c.id) == id) {
            figures.offered_kwh = Ok(kwh);
        }
        if let Some(array) = report.arrays.iter_mut().find(|a| a.controller.as_ref() == id) {
            array.unlike_wh_day = Ok(unlike_wh_day);
        }
    }
}

/// Puts what wire, limits and low volts cost beside runs and controllers.
fn losses(context: &Context<'_>, year: &Year, sources: &[Source], report: &mut Report) {
    let days: f64 = MONTH_DAYS.iter().map(|d| *d as f64).sum();
    for run in &mut report.runs {
        run.loss_wh_day = Ok(WattHours(0.0));
    }
    let mut segments = year.segment_loss_wh.iter();
    let mut seen: Vec<usize> = Vec::new();
    for (k, source) in sources.iter().enumerate() {
        let ohms: Vec<f64> = source.pv_runs.iter().map(|r| ohm(report, *r).unwrap_or(0.0)).collect();
        let sum: f64 = ohms.iter().sum();
        let lost = year.pv_loss_wh.get(k).copied().unwrap_or(0.0);
        for (run, ohm) in source.pv_runs.iter().zip(&ohms) {
            if sum > 0.0 {
                add_loss(report, *run, lost * ohm / sum / days);
            }
        }
        let end = Node::Controller(source.controller);
        for run in way(&context.circuit, PathKind::ControllerBank, end).map(|w| w.runs.as_slice()).unwrap_or_default() {
            if !seen.contains(run) {
                seen.push(*run);
                add_loss(report, *run, segments.next().copied().unwrap_or(0.0) / days);
            }
        }
        let id = context.plan.controllers.get(source.controller).map(|c| &c.id);
        if let Some(figures) = report.controllers.iter_mut().find(|c| Some(&c.id) == id) {
            figures.clipped_kwh = Ok(year.clipped_wh.get(k).copied().unwrap_or(0.0) / 1000.0);
            figures.low_volts_kwh = Ok(year.held_wh.get(k).copied().unwrap_or(0.0) / 1000.0);
        }
    }
}

fn add_loss(report: &mut Report, run: usize, wh_day: f64) {
    if let Some(Ok(loss)) = report.runs.get_mut(run).map(|r| r.loss_wh_day.as_mut()) {
        loss.0 += wh_day;
    }
}
