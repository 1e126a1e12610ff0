//! Steps that would cure a finding: each is tried by evaluating the plan with it; one that adds a stop is not offered.

mod alike;
mod anew;
mod apart;
mod back;
mod bared;
mod battery;
mod bonds;
mod book;
mod bought;
mod completed;
mod controller;
mod converter;
mod crossed;
mod each;
mod feed;
mod fitting;
mod fused;
mod kept;
mod kinds;
mod larger;
mod link;
mod links;
mod looped;
mod lower;
mod minus;
mod names;
mod nearer;
mod order;
mod path;
mod placed;
mod profiles;
mod rating;
mod roof;
mod serve;
mod settings;
mod stored;
mod strings;
mod switched;
mod usual;
mod volts;
mod whole;
mod wire;
mod worse;

use std::sync::Arc;

use crate::plan::wiring::FuseAt;
use crate::plan::{Edit, FieldPath, Plan, Step, Value};
use crate::stock::Stock;

use super::checks::NO_CLIMATE;
use super::circuit::{Circuit, Role};
use super::context::Context;
use super::converted::moves_to_other_volts;
use super::report::{NotChecked, Report};
use super::resistance::fuses;
use super::{Engine, Finding, Level};

use bared::{bare_behind, is_bare, is_of_cold, unmasked};
use fused::{insert, is_there, left_open, moved, rated_edits, with_fuse};

pub use {kinds::is_curable, rating::opening as opening_fuse};

pub(super) use alike::{equals, with as alike};
pub(super) use bought::{wire as relaid, with as as_bought};
pub(super) use fused::{fuse_edits, put, refit_edits};
pub(super) use looped::ends_without;
pub(super) use nearer::LEAST_M as NEAREST_M;
pub(super) use path::{LEAST_M, LEAST_SHARE, way_of};
pub(super) use placed::rewired;
pub(super) use profiles::all_usual;
pub(super) use rating::nearest as nearest_rating;
pub(super) use strings::string_fuses;
pub(super) use worse::listed;

/// The check that a source's end has a fuse.
pub(super) const UNFUSED: &str = "source-end-unfused";
/// Findings that are told apart from others of the same cause by what the year loses.
const BY_YEAR: [&str; 2] = ["array-below-bank", "hot-vmp-low"];
/// Most steps that are offered.
const MOST: usize = 4;
/// Insulation that wire is sold in for this work, as far as the tables of ampacity go that its field names.
/// Source: ABYC E-11 and 33 CFR 183.425 Table 5; NEC 310.104(A), from memory.
const JACKETS_C: [f64; 4] = [75.0, 90.0, 105.0, 125.0];
/// Where a fuse is put, m of wire from the terminal: well within every basis.
/// Source: common practice, as near as the lug lets it sit.
const NEAR_M: f64 = 0.1;
/// How far along its wire a fuse that is there may stay, m: 7 in, the least that any basis asks.
/// Source: ABYC E-11, 7 in; common practice, 200 mm in metric work; from memory.
const NEAR_ENOUGH_M: f64 = 0.1778;

/// The answers of a plan that every cure of one of its findings is held against.
#[derive(Debug)]
pub(super) struct Before {
    plan: Plan,
    stock: Stock,
    full: Report,
    /// On wires alone.
    wires: Report,
}

impl Before {
    /// Those of a plan: once for all its findings.
    fn of(engine: &mut Engine, plan: &Plan, stock: &Stock) -> Arc<Self> {
        if let Some(known) = engine.stages.before.as_ref().filter(|b| b.plan == *plan && b.stock == *stock) {
            return Arc::clone(known);
        }
        let (full, wires) = (engine.evaluate(plan, stock), engine.evaluate_wires(plan, stock));
        let new = Arc::new(Self { plan: plan.clone(), stock: stock.clone(), full, wires });
        engine.stages.before = Some(Arc::clone(&new));
        new
    }
}

/// What is known of the cures of a finding.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cures {
    /// Those that cure it and add no stop.
    pub steps: Vec<Step>,
    /// What was tried: the first step of each kind, and how many there were.
    pub tried: Vec<(Step, usize)>,
}

impl Cures {
    /// What was tried in vain, where nothing cures it: `PP1 moved (24 ways); A1: 1S4P P1`. Empty where nothing was, or where
    /// something cures.
    #[must_use]
    pub fn in_vain(&self) -> String {
        if !self.steps.is_empty() {
            return String::new();
        }
        let said = |(step, times): &(Step, usize)| match times {
            1 => step.name.clone(),
            times => format!("{} ({times} ways)", first_words(step)),
        };
        self.tried.iter().map(said).collect::<Vec<_>>().join("; ")
    }

    fn try_one(&mut self, step: &Step) {
        match self.tried.iter_mut().find(|(known, _)| first_words(known) == first_words(step)) {
            Some((_, times)) => *times += 1,
            None => self.tried.push((step.clone(), 1)),
        }
    }
}

/// What a step is about: its name up to the colon.
fn first_words(step: &Step) -> &str {
    step.name.split(':').next().unwrap_or_default()
}

/// The steps that cure a finding and add no stop, and what was tried; nothing once not wanted. Then with fuses not on the van.
pub(super) fn of(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    finding: &Finding,
    is_wanted: &dyn Fn() -> bool,
) -> Option<Cures> {
    let found = with_stock(engine, plan, stock, finding, is_wanted)?;
    if !found.steps.is_empty() || found.tried.is_empty() || stock.truck.fuses.is_empty() {
        return Some(found);
    }
    let mut bought = stock.clone();
    bought.truck.fuses.clear();
    let any = with_stock(engine, plan, &bought, finding, is_wanted)?;
    Some(if any.steps.is_empty() { found } else { any })
}

fn with_stock(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    finding: &Finding,
    is_wanted: &dyn Fn() -> bool,
) -> Option<Cures> {
    let known = Before::of(engine, plan, stock);
    let (before, wires) = (&known.full, &known.wires);
    let mut found = Cures::default();
    let (mut lesser, mut kept): (Vec<Step>, kept::Kept) = (Vec::new(), kept::Kept::default());
    let (circuit, _) = Circuit::of(plan);
    let bare = bare_behind(plan, &circuit, finding);
    let unsaid = [bare.clone(), bared::beside(plan, &circuit, finding)].concat();
    // No stop comes of the year: what is there on wires alone is judged so.
    let by_wires = wires.says(finding) && !BY_YEAR.contains(&finding.check.id);
    let around = Context::of(plan, circuit.clone(), &stock.truck.fuses);
    let (all, swaps) = crossed::first(engine, plan, stock, (&circuit, finding), before);
    for (n, step) in all.into_iter().enumerate() {
        let step = alike::with(plan, &circuit, bought::step(plan, step));
        let offered = &found.steps;
        if order::is_needless(finding, offered, &step) || (!offered.is_empty() && profiles::is_last(finding, &step)) {
            continue;
        }
        if offered.len() >= MOST {
            break;
        }
        // One step of a gauge, or one place, is enough: others cure as well and cost more.
        if offered.iter().any(|s| first_words(s) == first_words(&step)) || kept.is_enough(&step) {
            continue;
        }
        is_wanted().then_some(())?;
        let Ok(after) = plan.with(&step) else { continue };
        let is_same = |s: &Step| plan.with(s).is_ok_and(|plan| plan == after);
        let is_unfit = moves_to_other_volts(stock, plan, &after) || fitting::is_too_thick(plan, &after);
        if after == *plan || offered.iter().any(is_same) || is_unfit {
            continue;
        }
        found.try_one(&step);
        let own = engine.evaluate_wires(&after, stock);
        let (step, after, own) = bonds::with(engine, plan, stock, (finding, wires), (step, after, own));
        let (step, after, own) = worse::with_fuses(engine, plan, stock, (finding, wires), (step, after, own));
        let (step, after, own) = bared::with_fuses(engine, plan, stock, (wires, &unsaid), (step, after, own));
        let whole = (!by_wires && !brings_stop(wires, &own, &bare)).then(|| engine.evaluate(&after, stock));
        let mended = match &whole {
            Some(whole) => cures(finding, before, whole, &bare),
            None => by_wires && cures(finding, wires, &own, &bare),
        };
        if !mended || !path::meets(plan, &after, finding) || switched::leaves_unswitched(finding, wires, &own) {
            continue;
        }
        let answers = whole.as_ref().map_or((wires, &own), |whole| (before, whole));
        // In colder air what was too high is higher still.
        let by = (!is_of_cold(finding)).then(|| worse::by(plan, finding, wires, &own)).flatten();
        let to = match by {
            Some(worse::By::Stop) => continue,
            Some(worse::By::Lesser) => &mut lesser,
            None if n >= swaps && kept.takes(&step, answers) => continue,
            None => &mut found.steps,
        };
        if !to.iter().any(|s| first_words(s) == first_words(&step)) {
            to.push(step);
        }
        if n < swaps {
            break;
        }
    }
    order::in_order(engine, plan, stock, (finding, before), &mut found.steps, &kept);
    // A stop, and medical loads that go short, outrank a drop that grows a little.
    if found.steps.is_empty() || finding.level == Level::Stop || finding.check.id == "medical-not-served" {
        lesser.retain(|s| !found.steps.iter().any(|o| first_words(o) == first_words(s)));
        found.steps.extend(lesser);
        found.steps.truncate(MOST);
    }
    order::in_proportion(&around, finding, before, &mut found);
    if found.steps.is_empty() && by_wires && finding.level == Level::Stop {
        found.steps.extend(completed::with_neighbours(engine, plan, stock, (finding, wires), &found.tried));
    }
    finished(engine, &known, finding, by_wires, found, is_wanted)
}

/// What is offered, each step completed and named with what it brings, and then in order.
fn finished(
    engine: &mut Engine,
    known: &Before,
    finding: &Finding,
    by_wires: bool,
    mut found: Cures,
    is_wanted: &dyn Fn() -> bool,
) -> Option<Cures> {
    let mut bring = Vec::new();
    for step in &mut found.steps {
        is_wanted().then_some(())?;
        if told(engine, known, finding, by_wires, step) {
            bring.push(step.clone());
        }
    }
    let Before { plan, stock, full, wires } = known;
    order::fuse_before_copper(plan, finding, &mut found.steps, &bring);
    order::sized_once(engine, plan, stock, (finding, wires), &mut found.steps, &bring);
    order::least_harm_first(engine, plan, stock, finding, &mut found.steps);
    order::panels_kept_first(engine, plan, stock, (finding, full), &mut found.steps, &bring);
    Some(found)
}

/// A step that is offered, completed where a step more leaves nothing new, and named with what it brings; whether it brings anything.
fn told(engine: &mut Engine, known: &Before, finding: &Finding, by_wires: bool, step: &mut Step) -> bool {
    let Before { plan, stock, full, wires } = known;
    if by_wires && let Some(whole) = completed::with(engine, plan, stock, (finding, wires), step) {
        *step = whole;
    }
    names::say_sheet(plan, step);
    names::say_new_wire(plan, step);
    names::say_taken(plan, step);
    let Ok(with) = plan.with(step) else { return false };
    let (own, whole) = (engine.evaluate_wires(&with, stock), engine.evaluate(&with, stock));
    let answers = if by_wires { (wires, &own) } else { (full, &whole) };
    let said = worse::said(plan, finding, answers, (full, &whole));
    step.name.push_str(&(said.clone() + &worse::costs(finding, full, &whole)));
    !said.is_empty()
}

/// Whether a finding is gone, or a mistake no more than worth knowing, and no stop has come.
fn cures(finding: &Finding, before: &Report, after: &Report, bare: &[FieldPath]) -> bool {
    let stays =
        |f: &&Finding| f.identity() == finding.identity() && (f.level != Level::Note || finding.level == f.level);
    let gone = !after.findings.iter().any(|f| stays(&f));
    // What was found by the least that surely flows waited for the rest before, too.
    let by_least = |f: &Finding| {
        let own = |r: &&super::report::RunFigures| f.run() == Some(r.id.as_str());
        before.runs.iter().find(own).is_some_and(|r| r.design_a.is_err())
    };
    // A stop that nothing checks any more is hidden, not cured.
    let hidden = |f: &Finding| {
        let same = |n: &NotChecked| n.check == f.check.id && n.subject == f.subject;
        let was = unmasked(f, bare) || by_least(f) || before.not_checked.iter().any(same);
        f.level == Level::Stop && after.not_checked.iter().any(same) && !was
    };
    let gone = gone && !before.findings.iter().any(hidden);
    gone && !brings_stop(before, after, bare) && !after.findings.iter().any(|f| takes_its_place(finding, f, before))
}

/// Whether a stop has come, apart from what colder air brings to light. Of one source each setting and each battery is a stop of
/// its own.
fn brings_stop(before: &Report, after: &Report, bare: &[FieldPath]) -> bool {
    let says = |f: &Finding| match f.check.id {
        "charge-volts-high" => before.findings.iter().any(|g| g.identity() == f.identity() && g.names == f.names),
        _ => before.says(f),
    };
    after.findings.iter().any(|f| f.level == Level::Stop && !says(f) && !bared::by_cold(f, bare))
}

/// Whether a finding only says by another name what a step was to cure: volts that are too few are the array's or the
/// controller's word, and a setting copied to one source may be wrong for it or leave another the odd one.
fn takes_its_place(finding: &Finding, new: &Finding, before: &Report) -> bool {
    // A place whose climate nobody knows has no other sun to go by.
    if finding.check.id == "sun-above-air" && new.check.id == NO_CLIMATE.id {
        return !before.says(new);
    }
    let same: &[&str] = match finding.check.id {
        "array-below-bank" | "hot-vmp-low" => &["array-below-bank", "hot-vmp-low"],
        // Strings that no longer charge when they are hot are no cure; a headroom that nobody knows may be enough.
        "cold-voc-over-limit" | "pwm-panel-volts-high" | "isc-over-input" if new.n(2) <= 0.0 => &["hot-vmp-low"],
        // More panels than the input takes: the cure of that would take them off again.
        "array-small-for-lead" => &["isc-over-input", "cold-voc-over-limit", "pwm-panel-volts-high"],
        // A second conductor that ends on a bar of plus brings nothing back.
        "return-not-drawn" => &["negative-leads-nowhere"],
        // What one panel no longer is another must not become.
        "panel-in-shadow" => &["panel-in-shadow"],
        "float-above-absorption" => &["float-above-absorption", "profiles-disagree", "charge-volts-outside-window"],
        "profiles-disagree" => &["profiles-disagree", "charge-volts-outside-window", "float-above-absorption"],
        // Another inverter has to carry its loads as well.
        "inverter-over-discharge-limit" | "inverter-surge-over-peak" => &["loads-over-inverter"],
        "battery-does-not-fit" | "weight-over-margin" => &[],
        _ => return false,
    };
    // Batteries and panels that are lighter or lower must not be too heavy or too large in turn.
    let stand = ["battery-does-not-fit", "weight-over-margin"];
    if stand.contains(&finding.check.id) && stand.contains(&new.check.id) && !before.says(new) {
        return true;
    }
    if same.contains(&new.check.id) {
        return new.level != Level::Note && !before.says(new);
    }
    // Volts over what the controller takes must not grow either.
    let was = before.findings.iter().find(|f| f.identity() == new.identity()).map_or(0.0, |f| f.n(0));
    same.contains(&"hot-vmp-low")
        && new.check.id == "cold-voc-over-limit"
        && new.level == Level::Stop
        && new.n(0) > was + 1e-9
}

fn candidates(engine: &mut Engine, plan: &Plan, stock: &Stock, finding: &Finding, before: &Report) -> Vec<Step> {
    let mut segments = finding.subject.segments();
    let (list, id) = (segments.next().unwrap_or_default(), segments.next().unwrap_or_default());
    // The drop of a path is cured where most of it is lost.
    let id = finding.run().unwrap_or(id);
    let mut said = roof::steps(plan, finding);
    if let ("panel-in-shadow", Some(moved)) = (finding.check.id, &mut said) {
        // Where there is no place without shade, one panel's shadow holds back none of the others in parallel.
        moved.extend(strings::steps(engine, plan, stock, id, finding, before).unwrap_or_default());
    }
    let said = said.or_else(|| book::steps(plan, list, id, finding, before));
    let said = said.or_else(|| Some(links::before(plan, finding, settings::steps(plan, list, id, finding)?)));
    let said = said.or_else(|| usual::steps(plan, list, id, finding));
    let said = said.or_else(|| strings::steps(engine, plan, stock, id, finding, before));
    let said = said.or_else(|| serve::steps(engine, plan, stock, finding, before));
    let said = said.or_else(|| {
        (finding.check.id == "string-leads-unshared").then(|| {
            let suited = |s: Step| strings::suited(engine, plan, stock, s, finding, before);
            apart::steps(plan, id).into_iter().map(suited).collect()
        })
    });
    let said = said.map(|steps| battery::all_fused(engine, plan, stock, (finding, before), steps));
    if let Some(mut steps) = said.or_else(|| feed::steps(engine, plan, stock, (list, id), finding, before)) {
        if list == "devices" && matches!(finding.check.id, "auto-reset-breaker" | "device-below-current") {
            // Another rating that helps only with other wire: both at once.
            let another = volts::breaker(plan, id, finding).filter(|_| finding.check.id == "device-below-current");
            steps.extend(another.iter().flat_map(|b| path::on_both_sides(engine, plan, stock, id, b, before)));
            steps.extend(lower::behind_device(plan, id, before));
            let spliced = path::spliced(engine, plan, stock, id, before);
            // None that closes by itself is bought where the one that is there has no place.
            let resets = |f: &Finding| f.check.id == "auto-reset-breaker" && f.subject == finding.subject;
            if before.findings.iter().any(resets) {
                let all = book::no_breaker(plan, id, before).into_iter().chain(spliced);
                return all.chain(steps).collect();
            }
            steps.extend(spliced);
        }
        return steps;
    }
    plain(engine, plan, stock, (list, id), finding, before)
}

/// The steps of a finding that no family of them knows.
fn plain(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (list, id): (&str, &str),
    finding: &Finding,
    before: &Report,
) -> Vec<Step> {
    let set = |field: &str, to: Value, name: String| {
        Step::one(name, Edit::Set { at: FieldPath::new(format!("{list}.{id}.{field}")), to })
    };
    let apart = || profiles::off_battery(plan, id, finding);
    match finding.check.id {
        "dc-dc-drops-out" => {
            let (circuit, _) = Circuit::of(plan);
            let c = Context::of(plan, circuit, &stock.truck.fuses);
            // Copper out of proportion, and wire in the place of what lies there, after a charger that asks for less.
            let wires = path::steps(engine, &c, stock, finding, before);
            let (last, first): (Vec<Step>, Vec<Step>) =
                wires.into_iter().partition(|s| nearer::is_heavy(&c, before, s) || path::replaces(plan, s));
            first.into_iter().chain(settings::lesser_charger(plan, id)).chain(last).collect()
        }
        "uneven-battery-leads" => alike::leads(plan, &Circuit::of(plan).0),
        "uneven-battery-links" | "batteries-joined-twice" => links::steps(plan, finding),
        id if id.starts_with("battery-link-below-") => links::steps(plan, finding),
        "parallel-too-thin" if list == "bank" => links::steps(plan, finding),
        "polarity-assumed" | "read-as-negative" => {
            vec![set("polarity_measured", Value::Word("yes"), format!("{id}: polarity measured, as it is drawn"))]
        }
        "equalise-not-allowed" => {
            let off = set("equalise_v", Value::Nothing, format!("{id}: equalise off"));
            [off].into_iter().chain(apart()).collect()
        }
        "compensation-on-lithium" => {
            let off = set("temp_comp_mv_k", Value::Number(0.0), format!("{id}: temperature compensation off"));
            [off].into_iter().chain(apart()).collect()
        }
        "charge-volts-high" => {
            let most = finding.n(1);
            // Within what is usual as well, where that is less.
            let absorb = profiles::usual_most_v(plan, id, "absorb_v").map_or(most, |v| v.min(most));
            let one = [
                set("absorb_v", Value::Number(absorb), format!("{id}: absorb {absorb} V")),
                set("float_v", Value::Nothing, format!("{id}: float off")),
                set("equalise_v", Value::Number(most), format!("{id}: equalise {most} V")),
            ];
            one.into_iter().chain(profiles::all_usual(plan, id)).chain(apart()).collect()
        }
        "charge-volts-outside-window" => {
            let field = match finding.name(1) {
                "float" => "float_v",
                "equalising" => "equalise_v",
                _ => "absorb_v",
            };
            let volts = if finding.n(1) < finding.n(2) { finding.n(2) } else { finding.n(3) };
            let one = set(field, Value::Number(volts), format!("{id}: {} {volts} V", finding.name(1)));
            // As another source has it, where that is within: at the window's edge they would disagree.
            let others = profiles::as_others(plan, id, field, (finding.n(2), finding.n(3)));
            others.into_iter().chain([one]).chain(profiles::all_usual(plan, id)).chain(apart()).collect()
        }
        "profiles-disagree" => profiles::alike(plan, id, finding),
        "lithium-charged-cold" => settings::uncharged_cold(plan, finding),
        "lithium-stored-cold" => stored::steps(plan, finding),
        "inverter-feeds-charger" => vec![
            set("ac_source", Value::Word("shore"), format!("{id}: AC from shore only")),
            set(
                "locked_out",
                Value::Word("yes"),
                format!("{id} locked out: a relay keeps it off while the inverter runs"),
            ),
        ],
        "copper-clad" => plain_copper(plan, id),
        "device-volts-low" if matches!(list, "devices" | "inverters") => volts::device(plan, (list, id), finding),
        _ if list == "runs" => run_steps(engine, plan, stock, id, finding, before),
        _ => Vec::new(),
    }
}

fn plain_copper(plan: &Plan, run: &str) -> Vec<Step> {
    let Some(run) = plan.runs.iter().find(|r| r.id.as_str() == run) else { return Vec::new() };
    let edits = run.legs.iter().map(|leg| Edit::Set {
        at: super::resistance::leg_path(run, leg, "metal"),
        to: Value::Word(crate::standards::kinds::Metal::Plain.word()),
    });
    vec![Step { name: format!("{}: copper", run.id), edits: edits.collect() }]
}

/// Findings about a run that another fuse may cure, and those that other wire may.
const BY_FUSE: [&str; 9] = [
    "battery-lead-fed-by-others",
    "fuse-above-conductor",
    "fuse-below-design",
    "interrupt-below-fault",
    "fuse-volts-low",
    "source-end-unfused",
    "fuse-far-from-source",
    "next-rating-up",
    "charger-end-unfused",
];
const BY_WIRE: [&str; 6] = [
    "conductor-below-current",
    "drop-over-target",
    "lug-not-usual",
    "fuse-above-conductor",
    "source-end-unfused",
    "charger-end-unfused",
];

/// Steps on a run: its fuse moved, the proposed fuse, a thicker conductor, a thicker conductor with its fuse.
fn run_steps(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    id: &str,
    finding: &Finding,
    before: &Report,
) -> Vec<Step> {
    let Some(index) = plan.runs.iter().position(|r| r.id.as_str() == id) else { return Vec::new() };
    let Some(run) = plan.runs.get(index) else { return Vec::new() };
    let (circuit, _) = Circuit::of(plan);
    let near_from = circuit.links.get(index).is_none_or(|l| l.near_from);
    let about_fuse = BY_FUSE.contains(&finding.check.id);
    let mut steps = Vec::new();
    let wrong_end = finding.check.id == "string-fuse-wrong-end";
    steps.extend(wrong_end.then(|| moved(run, near_from)).into_iter().flatten());
    let on_loop = looped::is_about_end(&circuit, index, run, finding);
    if on_loop {
        steps.extend(looped::steps(run, finding, before.runs.get(index).and_then(|r| r.proposed.as_ref())));
    } else if finding.check.id == "fuse-far-from-source" {
        // On a link between two batteries the other end may be the one without.
        steps.extend([near_from, !near_from].into_iter().filter_map(|end| moved(run, end)));
    }
    let volts_low = finding.check.id == "fuse-volts-low";
    steps.extend(volts_low.then(|| volts::fuse(plan, id, finding)).into_iter().flatten());
    let proposed = &looped::at_named(run, finding, before.runs.get(index).and_then(|r| r.proposed.as_ref()));
    let same = rating::same_family(run, finding);
    let (first, last) = if rating::is_unfit(before, id) { (None, same) } else { (same, None) };
    steps.extend(first.into_iter().chain(alike::fuse_as_beside(plan, &circuit, index, finding)));
    if let (true, Some(p)) = (about_fuse && !on_loop, proposed) {
        // The fuse that is there already is at most moved.
        let smallest = || match is_there(run, p) {
            true => moved(run, p.at_from),
            false => {
                Some(Step { name: format!("{} fuse: {} A {}", run.id, p.amps.0, p.family), edits: fuse_edits(run, p) })
            }
        };
        steps.extend(rating::near_or(plan, (run, before.runs.get(index)), p, finding, smallest));
    }
    steps.extend(last);
    let open = before.runs.get(index).is_none_or(|r| r.design_a.is_err()) || run.gauge.known().is_none();
    if finding.check.id == UNFUSED && !on_loop && open && proposed.is_none() && fuses(run).next().is_none() {
        steps.push(left_open(run, if near_from { FuseAt::From } else { FuseAt::To }));
    }
    if about_fuse && circuit.links.get(index).is_some_and(|l| l.role == Role::Array) {
        steps.extend(strings::breaker(engine, plan, stock, (index, run), finding, before));
        steps.extend(strings::unfused(plan, run, finding, before));
    }
    let c = Context::of(plan, circuit, &stock.truck.fuses);
    if finding.check.id == "interrupt-below-frame-fault" {
        steps.extend(rating::by_frame(plan, before, finding));
    }
    if about_fuse {
        steps.extend(each::steps(engine, plan, stock, (index, finding), before));
        steps.extend(rating::that_opens(run, before.runs.get(index), finding));
        steps.extend(link::steps(&c, index, run, finding));
        steps.extend(settings::smaller_chargers(&c, index, finding));
        steps.extend(settings::smaller_inverters(&c, index, finding));
        steps.extend(rating::by_sheet(plan, run, finding));
        steps.extend(back::steps(&c, (index, run), finding, before));
    }
    let Some(gauge) = run.gauge.known().copied() else { return steps };
    if BY_WIRE.contains(&finding.check.id) {
        // Where air leaves the wire nothing, what cures that cures this as well.
        let hot = |f: &&Finding| f.check.id == "ambient-over-insulation" && f.run() == Some(id);
        let hot = before.findings.iter().filter(hot).flat_map(|f| wire::cooler(plan, run, f.name(1)));
        steps.splice(0..0, hot.collect::<Vec<_>>());
    }
    match finding.check.id {
        "parallel-too-thin" => steps.extend(wire::in_one(&c, index, run, gauge)),
        "ambient-over-insulation" => steps.extend(wire::cooler(plan, run, finding.name(1))),
        "terminal-does-not-take" => steps.extend(wire::that_fit(&c, index, run)),
        _ => {}
    }
    if finding.check.id == "drop-over-target" {
        return wire::moved_or_thicker(engine, &c, stock, (index, run, gauge), finding, before);
    }
    steps.extend(wire::wider(engine, &c, stock, (index, run, gauge), finding, before));
    steps
}
