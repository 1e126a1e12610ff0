//! In which order steps are offered, and which of them others make needless.

use crate::arrange::Arrange;
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::sizing::make::made_of;
use crate::engine::{Engine, Level};
use crate::plan::{Edit, Figure, Plan, Run, Step, Value};
use crate::stock::Stock;

use super::{BY_WIRE, Cures, controller, kept, nearer, settings, wire};

/// How near at hand a step is: what a technician does first comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    /// Wire, fuses, places and settings that leave the equipment what it is.
    Right,
    /// Another device.
    Exchange,
    /// Equipment that gives less than it was chosen for.
    Less,
}

/// Findings about what a charger pushes, or is fed by, rather than about the wiring it pushes through: there a setting that asks for
/// less is the nearest thing, before batteries that are bought or copper out of proportion.
const BY_SETTING: [&str; 2] = ["charge-over-limit", "dc-dc-drops-out"];

impl Rank {
    fn of(plan: &Plan, finding: &Finding, step: &Step) -> Self {
        if BY_SETTING.contains(&finding.check.id) {
            return Self::Right;
        }
        let less = |e: &Edit| match e {
            Edit::Set { at, to: Value::Number(to) } => {
                let gives = matches!(at.split_last().1, "out_a" | "watts_w") && !at.as_str().starts_with("loads.");
                gives && matches!(plan.get_at(at), Some(Value::Number(now)) if *to < now - 1e-9)
            }
            _ => false,
        };
        match () {
            () if step.edits.iter().any(less) => Self::Less,
            () if controller::exchanges(step) => Self::Exchange,
            () => Self::Right,
        }
    }
}

/// Steps as near at hand as they are; those alike as they were.
pub(super) fn by_rank(plan: &Plan, finding: &Finding, steps: &mut [Step]) {
    steps.arrange_by_key(|step| Rank::of(plan, finding, step));
}

/// Findings whose steps are offered by what the year harvests with them, the most first.
const BY_HARVEST: [&str; 4] = ["unlike-panels", "cold-voc-over-limit", "pwm-panel-volts-high", "isc-over-input"];

/// Findings about how panels are wired. Of unlike panels the year alone decides, which may have more without the odd one.
const KEEP_PANELS: [&str; 4] = ["cold-voc-over-limit", "pwm-panel-volts-high", "isc-over-input", "start-volts-low"];

/// The order of steps against such a finding, once each is completed: the nearest at hand; of these first those that keep all panels on
/// the roof; then such as bring nothing, `bring` being those that do; and of like ones what harvests most in the year.
pub(super) fn panels_kept_first(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    steps: &mut Vec<Step>,
    bring: &[Step],
) {
    if KEEP_PANELS.contains(&finding.check.id) && steps.len() > 1 {
        *steps = settings::by_the_year(engine, plan, stock, (finding, before), std::mem::take(steps));
        steps.arrange_by_key(|s| (Rank::of(plan, finding, s), takes_off(plan, s), bring.contains(s)));
    }
}

/// Of lighter or smaller things those first with which loads go short on the fewest days, and of these those that lose the least harvest.
pub(super) fn least_harm_first(engine: &mut Engine, plan: &Plan, stock: &Stock, finding: &Finding, steps: &mut [Step]) {
    if !["weight-over-margin", "battery-does-not-fit"].contains(&finding.check.id) || steps.len() < 2 {
        return;
    }
    let mut harm = |step: &Step| {
        let Ok(with) = plan.with(step) else { return (f64::MAX, 0.0) };
        let report = engine.evaluate(&with, stock);
        let rounded = |x: &Figure<f64>| x.as_ref().map_or(0.0, |x| x.round());
        (rounded(&report.year.lived.short_days), -rounded(&report.year.lived.harvest_kwh))
    };
    let mut all: Vec<((f64, f64), Step)> = steps.iter().map(|s| (harm(s), s.clone())).collect();
    all.arrange_by(|(a, _), (b, _)| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    for (at, (_, step)) in steps.iter_mut().zip(all) {
        *at = step;
    }
}

/// Against a drop: another fuse alone, which brings nothing, before the same beside wire and before wire of far more copper than a run
/// has.
pub(super) fn fuse_before_copper(plan: &Plan, finding: &Finding, steps: &mut [Step], bring: &[Step]) {
    if finding.check.id != "drop-over-target" {
        return;
    }
    let copper = |run: &Run| made_of(run).map_or(0.0, |make| make.area_mm2());
    let both =
        |step: &Step| plan.with(step).ok().map(|with| plan.runs.iter().cloned().zip(with.runs).collect::<Vec<_>>());
    let is_thick = |step: &Step| {
        let far_more = |(was, now): &(Run, Run)| copper(now) > MUCH * copper(was) + 1e-9;
        step.name.contains(" with fuse: ") || both(step).is_some_and(|all| all.iter().any(far_more))
    };
    let is_fuse = |step: &Step| {
        let same = |(was, now): &(Run, Run)| was.legs == now.legs && was.gauge == now.gauge;
        step.name.contains(" fuse: ") && !bring.contains(step) && both(step).is_some_and(|all| all.iter().all(same))
    };
    let thick = steps.iter().position(is_thick);
    let Some((thick, fuse)) = thick.zip(steps.iter().position(is_fuse)) else { return };
    if thick < fuse {
        steps.get_mut(thick..=fuse).into_iter().for_each(|some| some.rotate_right(1));
    }
}

/// Copper, as a multiple of what a run has, that is much for the volts of a fuse.
/// Source: our own choice; three AWG numbers are twice the copper.
const MUCH: f64 = 2.0;

/// Whether a finding says that a fuse is smaller than its current wants.
fn is_small(f: &Finding) -> bool {
    f.check.id == "fuse-below-design"
}

/// A run is sized once: first of all that step which lays in the run of a stop what nothing else that is wrong there wants other again;
/// else what no other stop there does. A fuse that a drop is mended by is large enough for its current too. `bring`: those that bring something.
pub(super) fn sized_once(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    steps: &mut [Step],
    bring: &[Step],
) {
    let (is_stop, is_drop) = (finding.level == Level::Stop, finding.check.id == "drop-over-target");
    let about = BY_WIRE.contains(&finding.check.id) && (is_stop || is_drop);
    let Some(id) = finding.run().filter(|_| about) else { return };
    let others = |r: &Report, stops: bool| {
        let is = |f: &&Finding| if stops { f.level == Level::Stop } else { f.level != Level::Note };
        let of_size = |f: &&Finding| BY_WIRE.contains(&f.check.id) || (is_drop && is_small(f));
        let same = |f: &&Finding| f.run() == Some(id) && of_size(f) && f.accepted.is_none();
        r.findings.iter().filter(is).filter(same).filter(|f| f.identity() != finding.identity()).count()
    };
    let small = is_drop && before.findings.iter().any(|f| f.run() == Some(id) && is_small(f) && f.accepted.is_none());
    let run = |p: &Plan| p.runs.iter().find(|r| r.id.as_str() == id).cloned();
    let made = |p: &Plan| run(p).map(|r| (made_of(&r), if small { r.protection } else { Vec::new() }));
    for stops in [true, false] {
        if others(before, stops) == 0 || !(stops || is_stop || small) {
            continue;
        }
        let mut leaves = |step: &Step| {
            let with = plan.with(step).ok().filter(|with| made(with) != made(plan))?;
            Some(others(&engine.evaluate_wires(&with, stock), stops))
        };
        let first = steps.first().and_then(&mut leaves).filter(|left| *left > 0);
        let may = |s: &Step| stops || !bring.contains(s);
        if let Some(at) = first.and_then(|_| steps.iter().position(|step| may(step) && leaves(step) == Some(0))) {
            steps.get_mut(..=at).into_iter().for_each(|some| some.rotate_right(1));
        }
    }
}

/// Whether what is offered already does with less what a step does: where another fuse alone cures, copper beside it mends
/// nothing, nor do more fuses; nor does another fuse where thicker copper alone loses little enough, nor other links beside leads
/// of the bank that are only moved.
pub(super) fn is_needless(finding: &Finding, offered: &[Step], step: &Step) -> bool {
    let has = |start: String| offered.iter().any(|s| s.name.starts_with(&start));
    if let Some((run, _)) = step.name.split_once(" with fuse: ") {
        return has(format!("{run} fuse: ")) || (finding.check.id == "drop-over-target" && has(format!("{run}: ")));
    }
    if let Some((run, _)) = step.name.strip_prefix("thicker: ").and_then(|rest| rest.split_once(' ')) {
        return has(format!("{run}: "));
    }
    if step.name.starts_with("bank leads at opposite corners and ") {
        return has("bank leads at opposite corners".into());
    }
    // Cooler air for wire that is too thin, where thicker wire or another fuse does; for air that is too hot it is the cure.
    if wire::is_out_of_heat(step) && offered.iter().any(|s| !wire::is_out_of_heat(s)) {
        return true;
    }
    step.name.starts_with("larger fuses: ") && offered.iter().any(|s| s.name.contains(" fuse: "))
}

/// The steps that bring no caution and after them those that do, of each the nearest at hand first; of those as near at hand what
/// leans on the next rating up last. [`panels_kept_first`] has the last word.
pub(super) fn in_order(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    steps: &mut Vec<Step>,
    kept: &kept::Kept,
) {
    if BY_HARVEST.contains(&finding.check.id) {
        *steps = settings::by_the_year(engine, plan, stock, (finding, before), std::mem::take(steps));
    }
    kept.put_after(steps, false);
    by_rank(plan, finding, steps);
    let mut others = steps.clone();
    kept.put_after(&mut others, true);
    let mut last = others.split_off(steps.len());
    by_rank(plan, finding, &mut last);
    steps.extend(last);
}

/// Volts that lack when panels are hot: what lacks is little in most years, and other ways than copper may cost panels.
const HOT: &str = "hot-vmp-low";

/// Whether a step leaves fewer panels on the roof.
fn takes_off(plan: &Plan, step: &Step) -> bool {
    let panels = |p: &Plan| p.arrays.iter().map(|a| a.strings.panels()).sum::<usize>();
    plan.with(step).is_ok_and(|with| panels(&with) < panels(plan))
}

/// Copper out of all proportion is not offered beside what does without, or last; it says so. What nobody would lay is not offered, and
/// said to be in vain.
pub(super) fn in_proportion(c: &Context<'_>, finding: &Finding, before: &Report, found: &mut Cures) {
    let is_hot = finding.check.id == HOT;
    if !BY_WIRE.contains(&finding.check.id) && !is_hot {
        return;
    }
    let steps = &mut found.steps;
    let (mut heavy, fit): (Vec<Step>, Vec<Step>) = steps.drain(..).partition(|s| nearer::is_heavy(c, before, s));
    if !is_hot {
        heavy.arrange_by(|a, b| nearer::copper_added(c, a).total_cmp(&nearer::copper_added(c, b)));
    }
    steps.extend(fit);
    if is_hot {
        steps.arrange_by_key(|s| takes_off(c.plan, s));
    }
    let too_much = |step: &Step| nearer::copper_times(c, before, step) > nearer::MOST;
    let (beyond, heavy): (Vec<Step>, Vec<Step>) = heavy.into_iter().partition(too_much);
    if steps.is_empty() || is_hot {
        let said = |step: Step| Step { name: format!("{}; far more copper than its current wants", step.name), ..step };
        steps.extend(heavy.into_iter().map(said));
    }
    if let (true, Some(step)) = (steps.is_empty(), beyond.into_iter().next()) {
        let said = Step { name: format!("{}: more copper than such a line is ever given", step.name), ..step };
        found.tried = vec![(said, 1)];
    }
}
