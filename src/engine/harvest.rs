//! The year on the plan's real wires: from labels, places and runs to monthly figures.

use std::sync::Arc;

use crate::climate::year::MONTH_DAYS;
use crate::physics::battery::Store;
use crate::physics::module::Module;
use crate::plan::job::Stay;
use crate::plan::{Array, Controller, Figure, Id, Missing, Plan};
use crate::standards::kinds::{ControllerKind, Mount};
use crate::units::WattHours;

use super::arrays;
use super::arrays::{Labels, module};
use super::circuit::{Circuit, Node, PathKind, Way};
use super::compile::{Compiled, compile, cut_offs, heater, leads, ohm, posts_v};
use super::context::{Context, at, missing};
use super::cures::Before;
use super::day::{Usage, driving};
use super::drawn::{Audit, Audits, Drawings};
use super::lit::{ArrayInput, Behind, BehindInput, Offer, StringsOf, best_behind, offer};
use super::made::made;
use super::memo::{Memo, Stage, Wanted};
use super::months;
use super::months::{MonthsInput, Told};
use super::report::{Report, YearFigures};
use super::roof::access::{Access, AccessInput};
use super::roof::shadow::{Shaded, ShadowInput};
use super::roof::{lies, on_roof, things};
use super::shade::{Lying, Shade, ShadeInput, Works, shade};
use super::sites::{Looked, SHOWN_SEED, Site, Spot, site, stay_of_months, sun};
use super::sky::{SkyYear, sky_year};
use super::solve::{Charging, Makes, Posts};
use super::warmth::{Warmth, WarmthInput, warmth};
use super::year::{Lighting, StayInput, Year, YearInput, year_beside};

/// The remembered stages.
#[derive(Clone)]
pub(super) struct Stages {
    pub(super) module: Labels,
    pub(super) looked: Looked,
    sky: Memo<Site, SkyYear>,
    shade: Memo<ShadeInput, Shade>,
    array: Memo<ArrayInput, Offer>,
    behind: Memo<BehindInput, Behind>,
    warm: Memo<WarmthInput, Warmth>,
    pub(super) shadow: Memo<ShadowInput, Vec<Shaded>>,
    pub(super) access: Memo<AccessInput, Vec<Access>>,
    year: Memo<Arc<YearInput>, Told>,
    months: Memo<MonthsInput, YearFigures>,
    pub(super) drawings: Drawings,
    pub(super) audits: Audits,
    /// What cures start from, of the plan that was asked about last.
    pub(super) before: Option<Arc<Before>>,
    /// On how many threads a year may run.
    pub(super) threads: usize,
    pub(super) wanted: Wanted,
}

impl Default for Stages {
    fn default() -> Self {
        Self {
            module: Labels::default(),
            looked: Memo::with_room(24),
            sky: Memo::with_room(48),
            shade: Memo::with_room(24),
            array: Memo::with_room(48),
            behind: Memo::with_room(48),
            warm: Memo::with_room(24),
            shadow: Memo::with_room(24),
            access: Memo::with_room(8),
            year: Memo::with_room(6),
            months: Memo::with_room(8),
            drawings: Memo::with_room(8),
            audits: Memo::with_room(8),
            before: None,
            threads: 1,
            wanted: Wanted::default(),
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

    fn sky_of(&mut self, site: &Site) -> Stage<SkyYear> {
        self.sky.get_of(site, sky_year)
    }

    /// What sources offer at sites whose skies are given, site by site: where some strings are glued down they have the light of
    /// the flat roof. What is not remembered is made on as many threads as there are.
    fn offers_of(&mut self, sources: &[Source], sites: &[(&Site, &Stage<SkyYear>)]) -> Vec<Vec<Stage<Offer>>> {
        let shaded: Vec<&ShadeInput> = sources.iter().filter_map(|source| source.shade.as_ref()).collect();
        let mut shades = self.shade.get_all(&shaded, self.threads, shade).into_iter();
        let shades: Vec<Option<Stage<Shade>>> =
            sources.iter().map(|source| source.shade.as_ref().and_then(|_| shades.next())).collect();
        let mut missing: Vec<ArrayInput> = Vec::new();
        let mut all: Vec<Vec<Result<Stage<Offer>, usize>>> = Vec::with_capacity(sites.len());
        for (site, sky) in sites {
            let mut here = Vec::with_capacity(sources.len());
            for (source, shade) in sources.iter().zip(&shades) {
                let (sky, is_tilted, flat) = self.light_of(source, site, sky);
                let strings = source.strings.as_slice();
                let is = |kept: &ArrayInput| {
                    let ArrayInput { strings: own, sky: light, is_tilted: lies, flat: roof, shade: shadows } = kept;
                    *lies == is_tilted && *light == sky && *roof == flat && shadows == shade && own == strings
                };
                let offer = self.array.seek(is).ok_or_else(|| {
                    missing.iter().position(is).unwrap_or_else(|| {
                        let (strings, sky, flat) = (strings.to_vec(), sky.clone(), flat.clone());
                        missing.push(ArrayInput { strings, sky, is_tilted, flat, shade: shade.clone() });
                        missing.len() - 1
                    })
                });
                here.push(offer);
            }
            all.push(here);
        }
        let made = if missing.is_empty() { Vec::new() } else { made(&missing, self.threads, offer) };
        let made: Vec<Stage<Offer>> =
            missing.into_iter().zip(made).map(|(input, offer)| self.array.keep(input, |_| offer)).collect();
        // A year of hours each: those of plans that were tried and left are the most that the program holds.
        self.array.fit(all.iter().map(Vec::len).sum());
        self.behind.fit(2 * all.iter().map(Vec::len).sum::<usize>());
        self.warm.fit(sites.len());
        self.sky.fit(sites.len());
        let found = |offer: Result<Stage<Offer>, usize>| match offer {
            Ok(offer) => Some(offer),
            Err(at) => made.get(at).cloned(),
        };
        all.into_iter().map(|here| here.into_iter().filter_map(found).collect()).collect()
    }

    /// The light on a source's strings: at the stay's tilt, whether that is any, and on the flat roof beside it.
    fn light_of(
        &mut self,
        source: &Source,
        site: &Site,
        sky: &Stage<SkyYear>,
    ) -> (Stage<SkyYear>, bool, Option<Stage<SkyYear>>) {
        let glued = |s: &StringsOf| s.mount == Mount::Glued;
        let is_tilted = site.tilt_deg != 0.0 && !source.strings.iter().all(glued);
        let flat = (site.tilt_deg != 0.0 && source.strings.iter().any(glued)).then(|| self.sky_of(&site.flat()));
        match (is_tilted, flat) {
            (false, Some(flat)) => (flat, false, None),
            (_, flat) => (sky.clone(), is_tilted, flat),
        }
    }
}

/// A stay and what each controller's array offers there.
#[derive(Clone, PartialEq)]
pub(super) struct Lit {
    pub(super) stay: usize,
    months: u16,
    /// On level ground.
    pub(super) sun: Figure<[f64; 12]>,
    pub(super) offers: Figure<(Stage<SkyYear>, Vec<Stage<Offer>>)>,
}

impl Lit {
    /// What arrays have in a month at their best after shade, and what shade takes, Wh; none in another stay's.
    pub(super) fn month_wh(&self, month: usize) -> Option<(f64, f64)> {
        let (_, offers) = self.offers.as_ref().ok().filter(|_| self.has(month))?;
        let sum = |of: fn(&Offer) -> &[f64; 12]| offers.iter().filter_map(|offer| of(offer).get(month)).sum::<f64>();
        Some((sum(|offer| &offer.month_wh), sum(|offer| &offer.shade_wh)))
    }

    /// Whether a month, 0 for January, is spent at the stay.
    pub(super) fn has(&self, month: usize) -> bool {
        self.months & 1 << month != 0
    }
}

/// A controller with its arrays, ready for the year.
pub(super) struct Source {
    pub(super) controller: usize,
    strings: Vec<StringsOf>,
    /// What of it stands in the shadow of what; none where nothing is known to.
    shade: Option<ShadeInput>,
    /// Runs of its PV loop, each with the part of the controller's array current that it carries.
    pub(super) pv_runs: Vec<(usize, f64)>,
}

/// A year that could be set up, and what its bank waits for if it is not simulated.
pub(super) struct Setup {
    pub(super) input: YearInput,
    pub(super) segment_runs: Vec<usize>,
    pub(super) waits: Option<Missing>,
    /// What the sun of some stay waits for.
    pub(super) unlit: Option<Missing>,
    /// The sky of each stay of the input.
    pub(super) skies: Vec<Stage<SkyYear>>,
}

/// Fills the year's figures into a report whose runs and loads are there already. `meanwhile`: what can be said of the
/// report before it has the year's figures, on this thread while others begin the year.
pub(super) fn fill(
    stages: &mut Stages,
    context: &Context<'_>,
    (spots, usage): (&[Figure<Spot>], &Figure<Usage>),
    report: &mut Report,
    meanwhile: impl FnOnce(&Report),
) {
    let plan = context.plan;
    let sources = sources(stages, context);
    let lit = lit(stages, plan, &sources, spots, SHOWN_SEED);
    on_roof(stages, context, &lit, report);
    // A year of which the sun of some stay is not known has no sums.
    let whole = unlit(&lit).map_or(Ok(()), Err);
    if let (Ok(sources), Ok(())) = (&sources, &whole) {
        offered(context, sources, &lit, report);
    }
    let setup = set_up(stages, context, (&sources, &lit), usage, report, None);
    let threads = stages.threads;
    let (mut meanwhile, before) = (Some(meanwhile), &*report);
    let mut aside = || meanwhile.take().into_iter().for_each(|meanwhile| meanwhile(before));
    let mut year = |input: &Arc<YearInput>| Told::of(input, year_beside(input, threads, &mut aside));
    let mut told = |input: &YearInput| {
        let seen = stages.year.seek(|key| **key == *input);
        seen.unwrap_or_else(|| stages.year.keep(Arc::new(input.clone()), &mut year))
    };
    let done = setup.as_ref().map(|s| told(&s.input)).map_err(Clone::clone);
    aside();
    let waits = setup.as_ref().map(|s| s.waits.clone()).unwrap_or_default();
    let months = MonthsInput::of(context, lit, done.clone(), waits, report);
    report.year = stages.months.get_of(&months, months::figures).shared();
    match (whole.and(done), &setup, &sources) {
        (Ok(told), Ok(setup), Ok(sources)) => losses(context, &told.year, setup, sources, report),
        (Err(waits), ..) => {
            for run in &mut report.runs {
                run.loss_wh_day = Err(waits.clone());
            }
        }
        _ => {}
    }
}

/// The year's input alone under the sky of a seed, for those who look at its hours. `generator_h`: hours of generator a day that
/// are tried.
pub(super) fn input(
    stages: &mut Stages,
    context: &Context<'_>,
    spots: &[Figure<Spot>],
    report: &Report,
    seed: u64,
    generator_h: Option<u8>,
) -> Figure<Setup> {
    let sources = sources(stages, context);
    let lit = lit(stages, context.plan, &sources, spots, seed);
    let audit = Audit::of(&mut stages.audits, context);
    set_up(stages, context, (&sources, &lit), &audit.usage, report, generator_h)
}

/// What each stay that has months offers.
fn lit(stages: &mut Stages, plan: &Plan, sources: &Figure<Vec<Source>>, spots: &[Figure<Spot>], seed: u64) -> Vec<Lit> {
    let of_months = stay_of_months(plan);
    let is_flat = plan.lies_flat();
    let mut stays = Vec::with_capacity(plan.stays.len());
    for (i, (stay, spot)) in plan.stays.iter().zip(spots).enumerate() {
        let months = (0..12).filter(|m| of_months[*m] == Some(i)).fold(0_u16, |mask, m| mask | 1 << m);
        if months != 0 {
            // Where every panel is glued down no tilt changes anything.
            let site = site(stay, spot, months, is_flat).map(|site| Site { seed, ..site });
            stays.push((i, months, site, sun(stay, spot)));
        }
    }
    let sites: Vec<&Site> = stays.iter().filter_map(|(_, _, site, _)| site.as_ref().ok()).collect();
    let (skies, offers) = match sources {
        Ok(sources) => {
            let skies = stages.sky.get_all(&sites, stages.threads, sky_year);
            let lit: Vec<_> = sites.into_iter().zip(&skies).collect();
            let offers = stages.offers_of(sources, &lit);
            (skies, offers)
        }
        Err(_) => (Vec::new(), Vec::new()),
    };
    let mut found = skies.into_iter().zip(offers);
    let mut all = Vec::with_capacity(stays.len());
    for (stay, months, site, sun) in stays {
        let offers = match (sources, site) {
            (Ok(_), Ok(_)) => found.next().ok_or_else(|| missing("stays")),
            (Err(waits), _) => Err(waits.clone()),
            (_, Err(waits)) => Err(waits),
        };
        all.push(Lit { stay, months, sun, offers });
    }
    all
}

fn set_up(
    stages: &mut Stages,
    context: &Context<'_>,
    (sources, lit): (&Figure<Vec<Source>>, &[Lit]),
    used: &Figure<Usage>,
    report: &Report,
    generator_h: Option<u8>,
) -> Figure<Setup> {
    let sources = sources.as_ref().map_err(Clone::clone)?;
    let Compiled { circuit, runs, segment_runs, waits } =
        compile(context, report, sources, used.as_ref().map(|_| ()).map_err(Clone::clone), generator_h)?;
    let bank = match &circuit.posts {
        Posts::Bank(bank) => Some(bank),
        Posts::Fixed(_) => None,
    };
    let heater = bank.and_then(|b| heater(context, b));
    let cut_offs = match (bank, used) {
        (Some(_), Ok(usage)) => cut_offs(context, report, usage),
        _ => Vec::new(),
    };
    let is_inside = context.plan.bank.heated.known() == Some(&crate::plan::job::YesNo::Yes);
    let inside_least_c = is_inside.then_some(context.rules.interior_least_c);
    let is_insulated = context.plan.bank.insulated == crate::plan::job::YesNo::Yes;
    let (mut stays, mut skies) = (Vec::with_capacity(lit.len()), Vec::with_capacity(lit.len()));
    for here in lit {
        let (Ok((sky, offers)), Some(stay)) = (&here.offers, context.plan.stays.get(here.stay)) else { continue };
        let input = WarmthInput { sky: sky.clone(), inside_least_c, is_insulated, heater };
        skies.push(sky.clone());
        stays.push(StayInput {
            months: here.months,
            lights: stages.lights(&circuit, offers),
            warm: bank.map(|_| stages.warm.get(input, warmth)),
            driving: driving(known_or_none(stay, |s| s.drive_h_day.as_ref()?.known().map(|h| h.0))),
            shore_days: known_or_none(stay, |s| s.shore_days_month.as_ref()?.known().map(|d| d.0)),
        });
    }
    let start_v = sources.iter().map(|s| start_v(context.plan, s.controller)).collect();
    let usage = used.clone().unwrap_or_else(|_| Usage::none());
    let input = YearInput { circuit, runs, stays, usage, start_v, cut_offs, start: Store { soc: 1.0 }, passes: 0 };
    Ok(Setup { input, segment_runs, waits, unlit: unlit(lit), skies })
}

/// Volts above the bank that a tracking controller needs to start; an unknown headroom counts as none, and as unknown.
fn start_v(plan: &Plan, controller: usize) -> f64 {
    let tracks = |k: &&Controller| k.kind.known() == Some(&ControllerKind::Tracking);
    let of = plan.controllers.get(controller).filter(tracks).and_then(|k| k.start_headroom_v.known());
    of.map_or(0.0, |v| v.0)
}

/// What the sun of the first stay without one waits for.
pub(super) fn unlit(lit: &[Lit]) -> Option<Missing> {
    lit.iter().find_map(|here| here.offers.as_ref().err().cloned())
}

/// An unknown number counts as none. It is counted as unknown.
fn known_or_none(stay: &Stay, of: impl Fn(&Stay) -> Option<f64>) -> f64 {
    of(stay).unwrap_or(0.0)
}

/// Controllers with the arrays they have, but for those that charge another battery or feed loads alone.
fn sources(stages: &mut Stages, context: &Context<'_>) -> Figure<Vec<Source>> {
    let (plan, circuit) = (context.plan, &context.circuit);
    let mut sources: Vec<Source> = Vec::new();
    // Where the size or height of one of them is not known, nothing is taken off.
    let things = things(plan).unwrap_or_default();
    let things: Vec<_> = things.iter().map(|thing| (thing.rect, thing.height_m)).collect();
    for (i, array) in plan.arrays.iter().enumerate().filter(|(_, a)| a.state.stays()) {
        let controller =
            circuit.feeds.get(i).copied().flatten().ok_or_else(|| missing(at("arrays", &array.id, "controller")))?;
        if circuit.elsewhere(plan, controller).is_some() {
            continue;
        }
        let modules = modules(stages, context, array)?;
        let source = match sources.iter().position(|s| s.controller == controller) {
            Some(known) => sources.get_mut(known),
            None => {
                let shade =
                    ShadeInput { things: things.clone(), strings: Vec::new(), works: works(context, controller) };
                sources.push(Source { controller, strings: Vec::new(), shade: Some(shade), pv_runs: Vec::new() });
                sources.last_mut()
            }
        };
        let Some(source) = source else { continue };
        if let Some(shade) = source.shade.as_mut().filter(|shade| !shade.things.is_empty()) {
            shade.strings.extend(lying(plan, array, &modules));
        }
        add_strings(array, &modules, &mut source.strings);
    }
    for source in &mut sources {
        source.shade = source.shade.take().filter(ShadeInput::has_any);
        source.pv_runs = pv_runs(plan, circuit, source.controller)?;
    }
    Ok(sources)
}

/// The runs from a controller's arrays, each with its part of their current: arrays with ways of their own share it as
/// their currents at maximum power, so that every ohm on the way counts with the square of what flows there.
/// Source: Joule's law; the volts that unlike ways cost beside that are left out.
fn pv_runs(plan: &Plan, circuit: &Circuit, controller: usize) -> Figure<Vec<(usize, f64)>> {
    let mut runs: Vec<(usize, f64)> = Vec::new();
    let mut sum = 0.0;
    let arrays: Vec<usize> = circuit.arrays_of(controller).collect();
    for i in &arrays {
        let array = plan.arrays.get(*i).filter(|a| a.state.stays());
        let Some(array) = array else { continue };
        let amps = if arrays.len() == 1 { 1.0 } else { arrays::imp_a(plan, array)? };
        let way = way(circuit, PathKind::Array, Node::Array(*i)).ok_or_else(|| missing("runs"))?;
        sum += amps;
        // Strings on leads of their own share the array's current.
        let leads = circuit.string_leads(plan, *i).map_or_else(Vec::new, |leads| leads.runs);
        let share = amps / leads.len().max(1) as f64;
        let own = leads.iter().map(|run| (*run, share));
        let all = way.runs.iter().filter(|run| !leads.contains(run)).map(|run| (*run, amps));
        for (run, amps) in own.chain(all) {
            match runs.iter_mut().find(|(r, _)| *r == run) {
                Some((_, carried)) => *carried += amps,
                None => runs.push((run, amps)),
            }
        }
    }
    runs.iter_mut().for_each(|(_, part)| *part /= f64::max(sum, f64::MIN_POSITIVE));
    Ok(runs)
}

/// The modules of an array's strings, each with how many bypass groups it has.
fn modules(stages: &mut Stages, context: &Context<'_>, array: &Array) -> Figure<Vec<Vec<(Module, f64)>>> {
    let plan = context.plan;
    let mut of = |id: &Id| {
        let panel =
            plan.panels.iter().find(|p| p.id == *id).ok_or_else(|| missing(at("arrays", &array.id, "strings")))?;
        let module = module(&mut stages.module, panel, context.rules.beta_fallback)?;
        Ok((module, panel.bypass_groups.known().map_or(1.0, |g| g.0)))
    };
    array.strings.0.iter().map(|string| string.iter().map(&mut of).collect()).collect()
}

/// The strings of an array among those of its controller, equal ones of it together.
fn add_strings(array: &Array, strings: &[Vec<(Module, f64)>], all: &mut Vec<StringsOf>) {
    let first = all.len();
    for string in strings {
        let mut modules: Vec<(Module, f64, usize)> = Vec::new();
        for (module, groups) in string {
            match modules.iter_mut().find(|(m, g, _)| m == module && g == groups) {
                Some((_, _, count)) => *count += 1,
                None => modules.push((*module, *groups, 1)),
            }
        }
        match all.iter_mut().skip(first).find(|s| s.modules == modules) {
            Some(equal) => equal.parallel += 1,
            None => all.push(StringsOf { mount: array.mount, parallel: 1, modules }),
        }
    }
}

/// The same panels where they lie.
fn lying(plan: &Plan, array: &Array, strings: &[Vec<(Module, f64)>]) -> Vec<Vec<Lying>> {
    let all = strings.iter().zip(lies(plan, array)).map(|(string, places)| {
        let each = string.iter().zip(places);
        each.map(|((module, groups), at)| Lying { module: *module, groups: *groups, at }).collect()
    });
    all.collect()
}

/// Where a controller has its array work: a tracker above the bank's volts and what it needs over them, one that joins the two
/// at the bank's. Of one that nothing is known of, at its best.
fn works(context: &Context<'_>, controller: usize) -> Works {
    let controller = context.plan.controllers.get(controller);
    match (controller.and_then(|k| k.kind.known()), posts_v(context)) {
        (Some(ControllerKind::Pwm), Ok(v)) => Works::At(v),
        (Some(ControllerKind::Tracking), Ok(v)) => {
            Works::Above(v + controller.and_then(|k| k.run_headroom_v.known()).map_or(0.0, |over| over.0))
        }
        _ => Works::Above(0.0),
    }
}

fn way(circuit: &Circuit, kind: PathKind, end: Node) -> Option<&Way> {
    circuit.ways.iter().find(|w| w.kind == kind && w.end == end)
}

/// Puts beside arrays and controllers what they could give, and what unlike panels cost.
fn offered(context: &Context<'_>, sources: &[Source], offers: &[Lit], report: &mut Report) {
    let plan = context.plan;
    let days: f64 = MONTH_DAYS.iter().map(|d| *d as f64).sum();
    for (k, source) in sources.iter().enumerate() {
        let lit = || offers.iter().filter_map(|lit| lit.offers.as_ref().ok()?.1.get(k));
        let id = plan.controllers.get(source.controller).map(|c| &c.id);
        let kwh = lit().map(|o| o.month_wh.iter().sum::<f64>()).sum::<f64>() / 1000.0;
        let unlike_wh_day = lit().map(|o| o.unlike_wh).sum::<f64>() / days;
        if let Some(figures) = report.controllers.iter_mut().find(|c| Some(&c.id) == id) {
            figures.offered_kwh = Ok(kwh);
        }
        // Of several arrays none costs the others more than they cost it.
        let stays = |i: &usize| plan.arrays.get(*i).is_some_and(|a| a.state.stays());
        let all: Vec<usize> = context.circuit.arrays_of(source.controller).filter(stays).collect();
        for (i, part) in all.iter().zip(arrays::parts(plan, &all)) {
            if let Some(array) = report.arrays.get_mut(*i) {
                array.unlike_wh_day = Ok(WattHours(unlike_wh_day * part));
            }
        }
    }
}

/// Puts what wire, limits and low volts cost beside runs and controllers.
fn losses(context: &Context<'_>, year: &Year, setup: &Setup, sources: &[Source], report: &mut Report) {
    let days: f64 = MONTH_DAYS.iter().map(|d| *d as f64).sum();
    // The year computes the sun's losses alone: what carries none has no figure.
    let outs: Vec<usize> = setup.input.circuit.solars.iter().flat_map(|solar| solar.out.iter().copied()).collect();
    for (segment, (run, lost)) in setup.segment_runs.iter().zip(&year.segment_loss_wh).enumerate() {
        if outs.contains(&segment) {
            for (run, part) in parts(context, report, *run) {
                add_loss(report, run, lost * part / days);
            }
        }
    }
    for (k, source) in sources.iter().enumerate() {
        let lossy = |(r, part): &(usize, f64)| part * part * ohm(context, report, *r).unwrap_or(0.0);
        let ohms: Vec<f64> = source.pv_runs.iter().map(lossy).collect();
        let sum: f64 = ohms.iter().sum();
        let lost = year.pv_loss_wh.get(k).copied().unwrap_or(0.0);
        for ((run, _), ohm) in source.pv_runs.iter().zip(&ohms) {
            add_loss(report, *run, if sum > 0.0 { lost * ohm / sum / days } else { 0.0 });
        }
        let id = context.plan.controllers.get(source.controller).map(|c| &c.id);
        if let Some(figures) = report.controllers.iter_mut().find(|c| Some(&c.id) == id) {
            figures.clipped_kwh = Ok(year.clipped_wh.get(k).copied().unwrap_or(0.0) / 1000.0);
            figures.low_volts_kwh = Ok(year.held_wh.get(k).copied().unwrap_or(0.0) / 1000.0);
        }
    }
}

/// The runs of a segment, each with its part of the loss: one, or the leads of the bank's batteries.
fn parts(context: &Context<'_>, report: &Report, run: usize) -> Vec<(usize, f64)> {
    match leads(context, report, run) {
        Some(Ok(leads)) => leads.loss_parts(),
        _ => vec![(run, 1.0)],
    }
}

/// Adds to a run's loss, or begins it.
fn add_loss(report: &mut Report, run: usize, wh_day: f64) {
    if let Some(figures) = report.runs.get_mut(run) {
        let before = figures.loss_wh_day.as_ref().map_or(0.0, |loss| loss.0);
        figures.loss_wh_day = Ok(WattHours(before + wh_day));
    }
}
