//! Steps that give a run's fuse another rating: of its own family, of one nearer to what flows, or within what instructions
//! allow.

use crate::arrange::Arrange;
use crate::engine::loads::start_more_w;
use crate::engine::report::{Proposed, Report, RunFigures, Why};
use crate::engine::resistance::{fuse_path, fuses};
use crate::engine::{Finding, Level};
use crate::plan::wiring::{FuseAt, Resets, Supply};
use crate::plan::{Edit, Plan, Run, Step, Value};
use crate::standards::fuse::{dc_volts, interrupt_a, ratings, resistance_ohm, smallest_at_least};
use crate::standards::kinds::FuseFamily;
use crate::units::Amps;

use super::{bought, fuse_edits, settings};

/// A rating so many times another is far above it. Source: our own choice.
const FAR_ABOVE: f64 = 2.0;

/// Against a fault, or volts that a fuse is not made for: what opens it in the rating nearest to the one that the fuse has, which was
/// chosen for what hangs there.
/// The family that is proposed, where it has one that is near; else the nearest of all that open it.
pub(in crate::engine) fn nearest(
    plan: &Plan,
    run: &Run,
    figures: Option<&RunFigures>,
    proposed: &Proposed,
) -> Option<Proposed> {
    let figures = figures?;
    let now = fuses(run).next()?.amps_a.known()?.0;
    let (least, most) = (figures.fuse_min_a.as_ref().ok()?.0, figures.fuse_max_a.as_ref().ok()?.0);
    let starts = starts_at_a(plan, figures);
    let of = |family: FuseFamily| [least.max(starts), least].iter().find_map(|l| near(family, now, *l, most));
    let far = |amps: f64| (amps / now).max(now / amps);
    let own = of(proposed.family);
    let (volts, fault) = at_place(figures)?;
    let others = || opens(volts, fault).filter_map(|f| Some((of(f)?, f)));
    let (amps, family) = match own.filter(|amps| far(*amps) < FAR_ABOVE) {
        Some(amps) => (amps, proposed.family),
        None => {
            let all = own.map(|amps| (amps, proposed.family)).into_iter().chain(others());
            all.min_by(|a, b| far(a.0).total_cmp(&far(b.0)))?
        }
    };
    Some(Proposed { amps: Amps(amps), family, ..proposed.clone() })
}

/// The rating of a family that is within limits and nearest to one: the largest not above it, else the next that is.
fn near(family: FuseFamily, now: f64, least: f64, most: f64) -> Option<f64> {
    let fit = || ratings(family).iter().copied().filter(|a| *a >= least - 1e-9 && *a <= most + 1e-9);
    fit().filter(|a| *a <= now + 1e-9).max_by(f64::total_cmp).or_else(|| fit().min_by(f64::total_cmp))
}

/// What the load that a run ends on takes while one of it starts and its others run, A; nothing where no start is entered.
fn starts_at_a(plan: &Plan, figures: &RunFigures) -> f64 {
    let run = plan.runs.iter().find(|r| r.id == figures.id);
    let ends = || run.into_iter().flat_map(|r| [&r.from, &r.to]).filter_map(|end| end.known());
    let load = plan.loads.iter().find(|l| l.state.stays() && l.supply == Supply::Dc && ends().any(|id| *id == l.id));
    let watts = load.and_then(|l| {
        let (one, quantity, surge) = (l.watts_w.known()?.0, l.quantity.known()?.0, l.surge_w.as_ref()?.known()?.0);
        Some(one * quantity + start_more_w(one, surge))
    });
    let volts = figures.base_v.as_ref().map_or(0.0, |v| v.0);
    watts.filter(|_| volts > 0.0).map_or(0.0, |watts| watts / volts)
}

/// That rating, and the smallest as well; that one alone where the fuse is moved, and needs no other rating for it.
pub(super) fn near_or(
    plan: &Plan,
    (run, figures): (&Run, Option<&RunFigures>),
    proposed: &Proposed,
    finding: &Finding,
    smallest: impl Fn() -> Option<Step>,
) -> Vec<Step> {
    let near = nearest_step(plan, run, figures, proposed, finding);
    let is_moved = near.is_some() && finding.check.id == "fuse-far-from-source";
    near.into_iter().chain((!is_moved).then(smallest).flatten()).collect()
}

/// A step that gives a run's fuse that rating.
fn nearest_step(
    plan: &Plan,
    run: &Run,
    figures: Option<&RunFigures>,
    proposed: &Proposed,
    finding: &Finding,
) -> Option<Step> {
    let place = match finding.check.id {
        "interrupt-below-fault" | "fuse-volts-low" => "",
        "fuse-far-from-source" => ", where it is fed",
        _ => return None,
    };
    let near = nearest(plan, run, figures, proposed)?;
    let name = format!("{} fuse: {} A {}{place}", run.id, near.amps.0, near.family);
    Some(Step { name, edits: fuse_edits(run, &near) })
}

/// Most fuses that are tried in place of one that loses too much. Source: our own choice; each is a whole answer.
const MOST_OTHERS: usize = 8;

/// Fuses no smaller than one which lose less than it does, within what the wire allows: of its own family, and of those that open the
/// fault there. The nearest rating first, its own family before others; of another family that which loses least of one rating.
///
/// Source: a fuse has its volts at its rating, and so ohms that go with one over that.
pub(super) fn that_lose_less(
    run: &Run,
    figures: &RunFigures,
    (family, now): (FuseFamily, f64),
    most: f64,
) -> Vec<Proposed> {
    let own_ohm = resistance_ohm(family, now);
    let others: Vec<FuseFamily> = at_place(figures).map_or(Vec::new(), |(volts, fault)| opens(volts, fault).collect());
    let families =
        std::iter::once(family).chain(others.into_iter().filter(|f| *f != family && *f != FuseFamily::Breaker));
    let rated = |family: FuseFamily| {
        let fit = ratings(family).iter().copied().filter(move |a| *a >= now - 1e-9 && *a <= most + 1e-9);
        fit.filter(move |a| resistance_ohm(family, *a) < own_ohm - 1e-12).map(move |amps| (amps, family))
    };
    let mut all: Vec<(f64, FuseFamily)> = families.flat_map(rated).collect();
    all.arrange_by(|a, b| {
        let ohm = |x: &(f64, FuseFamily)| resistance_ohm(x.1, x.0);
        a.0.total_cmp(&b.0).then((a.1 != family).cmp(&(b.1 != family))).then(ohm(a).total_cmp(&ohm(b)))
    });
    let at_from = fuses(run).next().is_some_and(|f| f.at == FuseAt::From);
    let of =
        |(amps, family)| Proposed { family, amps: Amps(amps), at_from, looped: false, why: Why::Said("loses less") };
    all.into_iter().take(MOST_OTHERS).map(of).collect()
}

/// Fault currents that fuses and their holders are sold for beyond what their families have, A.
/// Source: common practice, from memory; the sheet of the one that is bought says it.
const SHEETS_A: [f64; 4] = [25_000.0, 30_000.0, 50_000.0, 100_000.0];

/// Against a fault where no fuse is proposed: one of another family, or of a sheet of its own.
pub(super) fn that_opens(run: &Run, figures: Option<&RunFigures>, finding: &Finding) -> Option<Step> {
    let figures = figures.filter(|f| finding.check.id == "interrupt-below-fault" && f.proposed.is_none())?;
    let opening = opening(run, figures)
        .map(|p| Step { name: format!("{} fuse: {} A {}", run.id, p.amps.0, p.family), edits: fuse_edits(run, &p) });
    opening.or_else(|| by_own_sheet(run, figures))
}

/// Where none is proposed as nothing is known to flow there: a family that opens it, the one that opens the
/// least of those, in the rating that the fuse has, or the nearest that its wire stands.
#[must_use]
pub fn opening(run: &Run, figures: &RunFigures) -> Option<Proposed> {
    let (now, most) = (fuses(run).next()?.amps_a.known()?.0, figures.fuse_max_a.as_ref().ok()?.0);
    let least = figures.fuse_min_a.as_ref().map_or(0.0, |a| a.0);
    let (volts, fault) = at_place(figures)?;
    let mut all: Vec<FuseFamily> = opens(volts, fault).collect();
    all.arrange_by(|a, b| interrupt_a(*a, volts).unwrap_or(0.0).total_cmp(&interrupt_a(*b, volts).unwrap_or(0.0)));
    let of = |family: FuseFamily| {
        let larger = smallest_at_least(family, now - 1e-9).filter(|a| *a <= most + 1e-9);
        let smaller = || ratings(family).iter().copied().filter(|a| *a <= now && *a >= least).max_by(f64::total_cmp);
        Some((larger.or_else(smaller)?, family))
    };
    let (amps, family) = all.into_iter().find_map(of)?;
    let at_from = fuses(run).next()?.at == FuseAt::From;
    Some(Proposed { family, amps: Amps(amps), at_from, looped: false, why: Why::Said("opens the fault") })
}

/// Against a fault that no family opens: the fuse that is there as one whose own sheet gives enough.
fn by_own_sheet(run: &Run, figures: &RunFigures) -> Option<Step> {
    let (fuse, (volts, fault)) = (fuses(run).next()?, at_place(figures)?);
    if opens(volts, fault).next().is_some() {
        return None;
    }
    let amps = SHEETS_A.into_iter().find(|a| *a >= fault)?;
    let name = format!("{} {}: one whose own sheet says that it opens {} kA", run.id, fuse.id, amps / 1000.0);
    Some(Step::one(name, Edit::Set { at: fuse_path(run, fuse, "interrupt_a"), to: Value::Number(amps) }))
}

/// Volts at a run's first fuse, and what it has to open there.
fn at_place(figures: &RunFigures) -> Option<(f64, f64)> {
    let place = figures.fuses.first()?;
    Some((place.circuit_v.as_ref().ok()?.0, place.fault_a.as_ref().ok()?.0 * place.margin))
}

/// The families that stand these volts and open this fault; what a breaker does is its own sheet's.
fn opens(volts: f64, fault: f64) -> impl Iterator<Item = FuseFamily> {
    let stands = move |f: &FuseFamily| {
        !matches!(f, FuseFamily::Breaker | FuseFamily::Gpv)
            && dc_volts(*f).is_some_and(|v| v >= volts)
            && interrupt_a(*f, volts).is_some_and(|a| a >= fault)
    };
    FuseFamily::ALL.iter().copied().filter(stands)
}

/// A fuse of the same family in a rating that its run wants: as the sheet of the one that is there says it opens.
pub(super) fn same_family(run: &Run, finding: &Finding) -> Option<Step> {
    let fuse = fuses(run).next().filter(|_| finding.check.id == "fuse-below-design")?;
    let family = fuse.family.known().filter(|_| fuse.resets != Resets::Automatic)?;
    let amps = smallest_at_least(*family, finding.n(2))?;
    let at = fuse_path(run, fuse, "amps_a");
    Some(Step::one(format!("{} fuse: {amps} A {family}", run.id), Edit::Set { at, to: Value::Number(amps) }))
}

/// Whether a run's fuse cannot stay of its family for what fails there: what cures that comes before a rating alone.
pub(super) fn is_unfit(before: &Report, run: &str) -> bool {
    let stops =
        |f: &Finding| matches!(f.check.id, "interrupt-below-fault" | "fuse-volts-low") && f.level == Level::Stop;
    before.findings.iter().any(|f| stops(f) && f.run() == Some(run) && f.accepted.is_none())
}

/// Against a fault that comes back over the frame: a family that opens it on every run that is named, each in the rating that
/// its fuse has, or the nearest that its run wants. Without the one that would open the most where a lesser one does.
pub(super) fn by_frame(plan: &Plan, before: &Report, finding: &Finding) -> Vec<Step> {
    let (volts, needed_a) = (finding.n(2), finding.n(3));
    let others = finding.name(1).split(", ");
    let named: Vec<&str> = std::iter::once(finding.name(0)).chain(others).filter(|id| !id.is_empty()).collect();
    let opens = |f: &FuseFamily| {
        !matches!(f, FuseFamily::Breaker | FuseFamily::Gpv) && interrupt_a(*f, volts).is_some_and(|a| a >= needed_a)
    };
    let mut families: Vec<FuseFamily> = FuseFamily::ALL.iter().copied().filter(opens).collect();
    families.arrange_by(|a, b| interrupt_a(*a, volts).unwrap_or(0.0).total_cmp(&interrupt_a(*b, volts).unwrap_or(0.0)));
    let all_in = |family: FuseFamily| {
        let (mut edits, mut names) = (Vec::new(), Vec::new());
        for (run, figures) in plan.runs.iter().zip(&before.runs).filter(|(r, _)| named.contains(&r.id.as_str())) {
            let fuse = fuses(run).next()?;
            let now_a = fuse.amps_a.known()?.0;
            let (least, most) = (figures.fuse_min_a.as_ref().ok()?.0, figures.fuse_max_a.as_ref().ok()?.0);
            let of = |at_least: f64| smallest_at_least(family, at_least - 1e-9).filter(|a| *a <= most + 1e-9);
            let amps = of(now_a.max(least)).or_else(|| of(least))?;
            let mut own = vec![
                Edit::Set { at: fuse_path(run, fuse, "family"), to: Value::Word(family.word()) },
                Edit::Set { at: fuse_path(run, fuse, "amps_a"), to: Value::Number(amps) },
            ];
            for (there, field) in
                [(fuse.volts_dc_v.is_some(), "volts_dc_v"), (fuse.interrupt_a.is_some(), "interrupt_a")]
            {
                if there {
                    own.push(Edit::Set { at: fuse_path(run, fuse, field), to: Value::Nothing });
                }
            }
            own.extend(bought::with(run, fuse, &own));
            edits.extend(own);
            names.push(format!("{} {amps} A", run.id));
        }
        let name = format!("{family}, which opens it by the frame too: {}", names.join(", "));
        (!edits.is_empty()).then_some(Step { name, edits })
    };
    families.into_iter().filter_map(all_in).collect()
}

/// Against a fuse that is larger than instructions allow: more batteries, in a lead that they share; else one of the largest
/// rating of its family that they do allow, which may be worked harder than is usual, and is said then.
pub(super) fn by_sheet(plan: &Plan, run: &Run, finding: &Finding) -> Vec<Step> {
    if finding.check.id != "fuse-above-conductor" || finding.name(2).contains("conductor") {
        return Vec::new();
    }
    let banks = finding.name(2).starts_with(crate::plan::BANK_ID);
    let more = if banks { settings::more_batteries(plan, finding) } else { Vec::new() };
    let lower = || {
        let fuse = fuses(run).find(|f| f.id.as_str() == finding.name(1))?;
        let all = ratings(*fuse.family.known()?).iter().copied();
        let amps = all.filter(|a| *a <= finding.n(1) + 1e-9).max_by(f64::total_cmp)?;
        let at = fuse_path(run, fuse, "amps_a");
        Some(Step::one(format!("{} {} rated: {amps} A", run.id, fuse.id), Edit::Set { at, to: Value::Number(amps) }))
    };
    more.into_iter().chain(lower()).collect()
}
