//! Ampacity of runs: every leg by the plan's basis, the weakest one counts.

use crate::plan::{FieldPath, Figure, Known, Leg, Missing, Run};
use crate::standards::ampacity::{
    AmpacityCase, AmpacityRefusal, AmpacityWorking, COPPER_CLAD_AMPACITY, Derating, ampacity_with,
};
use crate::standards::kinds::{Basis, Metal, Zone};
use crate::standards::source::COMMON_PRACTICE;
use crate::units::Celsius;

use super::circuit::Node;
use super::context::{Context, at};
use super::report::Working;
use super::resistance::{ambient_of, bundled, gauge_of, leg_path, legs};
use super::worked::unused;

/// The ampacity of one leg.
#[derive(Clone, Copy, Debug)]
pub(super) struct LegCapacity {
    pub(super) amps: f64,
    /// Before ambient and bundle factors.
    pub(super) before_a: f64,
    pub(super) governs: &'static str,
    pub(super) refusal: Option<AmpacityRefusal>,
}

/// The ampacity of a run: that of its weakest leg.
#[derive(Clone, Copy, Debug)]
pub(super) struct RunCapacity {
    pub(super) weakest: LegCapacity,
    /// Index of the weakest leg in the run.
    pub(super) leg: usize,
    /// Smallest ampacity before factors.
    pub(super) before_a: f64,
    /// The same leg by the other basis, where that differs by more than the rule's share.
    pub(super) other_a: Option<f64>,
}

/// A terminal's own limit, C, or the rule's. Nothing waits for it where the plan's basis has no cap by terminals.
/// Source: NEC 110.14(C); boat practice knows no such cap.
pub(super) fn limit_c(c: &Context<'_>, own: Option<&Known<Celsius>>, path: impl FnOnce() -> FieldPath) -> Figure<f64> {
    match own {
        Some(Known::Is(own)) => Ok(own.0),
        Some(Known::Unknown) if c.rules.basis == Basis::UsRv => Err(Missing(path())),
        _ => Ok(c.rules.terminal_c),
    }
}

/// The lowest limit that is entered for any terminal of a run, C; none where none is.
pub(super) fn entered_terminal_c(c: &Context<'_>, index: usize) -> Option<f64> {
    let own = |node| ratings(c, node).and_then(|(r, _)| r.terminal_c?.known().map(|t| t.0));
    terminals(c, index).filter_map(own).reduce(f64::min)
}

/// The lower temperature rating of a run's terminals, C.
/// Source: NEC 110.14(C): the lowest rating of any connected terminal.
pub(super) fn terminal_c(c: &Context<'_>, index: usize) -> Figure<f64> {
    let Some(link) = c.circuit.links.get(index) else { return Ok(c.rules.terminal_c) };
    let mut least = if link.from.is_none() || link.to.is_none() { c.rules.terminal_c } else { f64::MAX };
    for node in terminals(c, index) {
        let value = match ratings(c, node) {
            Some((r, path)) => limit_c(c, r.terminal_c.as_ref(), || path("ratings.terminal_c"))?,
            None => c.rules.terminal_c,
        };
        least = least.min(value);
    }
    Ok(least)
}

/// Whether each of a run's terminals has a limit of its own, so that the rule's is not used.
pub(super) fn all_terminals_own(c: &Context<'_>, index: usize) -> bool {
    let is_own = |node| ratings(c, node).is_some_and(|(r, _)| r.terminal_c.is_some());
    let has_ends = c.circuit.links.get(index).is_some_and(|link| link.from.is_some() && link.to.is_some());
    has_ends && terminals(c, index).all(is_own)
}

/// What a run's conductors end on: its two ends, and those of its negative where they are others.
pub(super) fn terminals(c: &Context<'_>, index: usize) -> impl Iterator<Item = Node> {
    let link = c.circuit.links.get(index);
    let ends = link.map_or([None, None], |link| [link.from, link.to]);
    let others = link.map_or([None, None], |link| link.negatives);
    ends.into_iter().chain(others.map(|node| node.filter(|n| !ends.contains(&Some(*n))))).flatten()
}

/// The ratings of what stands at a node, and the path of its fields.
pub(super) fn ratings<'a>(
    c: &'a Context<'_>,
    node: Node,
) -> Option<(&'a crate::plan::Ratings, impl Fn(&str) -> FieldPath + 'a)> {
    macro_rules! of {
        ($list:ident, $i:expr) => {{
            let item = c.plan.$list.get($i)?;
            (&item.ratings, stringify!($list), Some(&item.id))
        }};
    }
    let (ratings, list, id) = match node {
        Node::Bank | Node::BankMinus => (&c.plan.bank.ratings, "bank", None),
        Node::Array(i) => of!(arrays, i),
        Node::Controller(i) => of!(controllers, i),
        Node::Inverter(i) => of!(inverters, i),
        Node::Charger(i) => of!(chargers, i),
        Node::Device(i) => of!(devices, i),
        Node::Load(i) => of!(loads, i),
    };
    Some((ratings, move |field: &str| match id {
        Some(id) => at(list, id, field),
        None => FieldPath::of(&[list, field]),
    }))
}

/// What an ampacity of a leg rests on.
pub(super) fn case(c: &Context<'_>, run: &Run, leg: &Leg, terminal_c: f64, basis: Basis) -> Figure<AmpacityCase> {
    let insulation: &Known<Celsius> = &leg.insulation_c;
    let bundled = bundled(run, leg)? as u32;
    Ok(AmpacityCase {
        basis,
        gauge: gauge_of(run, leg)?,
        metal: leg.metal,
        laid: leg.laid_as(),
        insulation_c: insulation.at(|| leg_path(run, leg, "insulation_c"))?.0,
        ambient_c: ambient_of(c, run, leg)?,
        bundled: if basis != Basis::UsRv && c.rules.bundle_marine < 0.5 { 1 } else { bundled },
        parallel: leg.per_pole.at(|| leg_path(run, leg, "per_pole"))?.0.clamp(1.0, 6.0) as u32,
        terminal_c,
        engine_space: leg.zone.known().is_some_and(|z| matches!(z, Zone::EngineBay | Zone::Exhaust)),
    })
}

/// What the plan's rules change of a derating.
pub(super) fn derating(c: &Context<'_>) -> Derating {
    Derating { parallel_least_mm2: c.rules.parallel_least_mm2, ..Derating::default() }
}

/// The ampacity of a case; conductors too thin to be paralleled count as one, a refused case carries nothing.
pub(super) fn solve(c: &Context<'_>, case: &AmpacityCase) -> LegCapacity {
    let clad = if case.metal == Metal::CopperClad { c.rules.copper_clad_ampacity / COPPER_CLAD_AMPACITY } else { 1.0 };
    let held = |w: AmpacityWorking, refusal| LegCapacity {
        amps: w.ampacity_a * clad,
        before_a: w.before_factors_a() * clad,
        governs: w.governs.word(),
        refusal,
    };
    let refused = |why: AmpacityRefusal| LegCapacity {
        amps: 0.0,
        before_a: 0.0,
        governs: match why {
            AmpacityRefusal::AmbientTooHot { .. } => "air too hot for the insulation",
            AmpacityRefusal::NoColumn { .. } => "no column for the insulation",
            AmpacityRefusal::BelowTable { .. } => "insulation below every table",
            AmpacityRefusal::ParallelTooThin { .. } => "too thin to be paralleled",
        },
        refusal: Some(why),
    };
    let derating = derating(c);
    match ampacity_with(case, &derating) {
        Ok(w) => held(w, None),
        Err(why @ AmpacityRefusal::ParallelTooThin { .. }) => {
            let one = AmpacityCase { parallel: 1, ..*case };
            ampacity_with(&one, &derating).map_or_else(refused, |w| held(w, Some(why)))
        }
        Err(why) => refused(why),
    }
}

/// The ampacity of every leg of a run.
pub(super) fn leg_capacities(c: &Context<'_>, index: usize, run: &Run) -> Figure<Vec<(usize, LegCapacity)>> {
    each_leg(c, run, terminal_c(c, index)?).collect()
}

fn each_leg(c: &Context<'_>, run: &Run, terminal_c: f64) -> impl Iterator<Item = Figure<(usize, LegCapacity)>> {
    run.legs.iter().enumerate().filter(|(_, l)| l.state.stays()).map(move |(i, leg)| {
        let found = solve(c, &case(c, run, leg, terminal_c, c.rules.basis)?);
        // What no column says is not known, and no zero.
        if matches!(found.refusal, Some(AmpacityRefusal::NoColumn { .. })) {
            return Err(Missing(leg_path(run, leg, "ambient_c")));
        }
        Ok((i, found))
    })
}

/// The first leg whose insulation stands its air, while no column of its table does: air, column, insulation, C.
pub(super) fn without_column(c: &Context<'_>, index: usize, run: &Run) -> Option<(usize, [f64; 3])> {
    let terminal = terminal_c(c, index).ok()?;
    run.legs.iter().enumerate().filter(|(_, l)| l.state.stays()).find_map(|(i, leg)| {
        match solve(c, &case(c, run, leg, terminal, c.rules.basis).ok()?).refusal? {
            AmpacityRefusal::NoColumn { ambient_c, column_c, insulation_c } => {
                Some((i, [ambient_c, column_c, insulation_c]))
            }
            _ => None,
        }
    })
}

/// The ampacity of a run.
pub(super) fn of_run(c: &Context<'_>, index: usize, run: &Run) -> Figure<RunCapacity> {
    let terminal_c = terminal_c(c, index)?;
    let (mut before_a, mut weakest) = (f64::MAX, None::<(usize, LegCapacity)>);
    for each in each_leg(c, run, terminal_c) {
        let (leg, found) = each?;
        before_a = before_a.min(found.before_a);
        if weakest.is_none_or(|(_, least)| found.amps < least.amps) {
            weakest = Some((leg, found));
        }
    }
    let Some((leg, weakest)) = weakest else { return Err(Missing(at("runs", &run.id, "legs"))) };
    let other = match run.legs.get(leg) {
        Some(l) => solve(c, &case(c, run, l, terminal_c, other_basis(c.rules.basis))?),
        None => weakest,
    };
    let other = if matches!(other.refusal, Some(AmpacityRefusal::NoColumn { .. })) { weakest.amps } else { other.amps };
    let apart = (other - weakest.amps).abs() > c.rules.other_basis_pct / 100.0 * weakest.amps;
    Ok(RunCapacity { weakest, leg, before_a, other_a: apart.then_some(other) })
}

/// The basis whose ampacity stands beside that of a plan's own.
pub(super) fn other_basis(basis: Basis) -> Basis {
    if basis == Basis::Marine { Basis::UsRv } else { Basis::Marine }
}

/// What was entered as in a leg's bundle, where its own conductors are more than that.
pub(super) fn fewer_entered(case: &AmpacityCase, leg: &Leg) -> Option<u32> {
    let entered = leg.bundled.known()?.0 as u32;
    (case.parallel > 1 && case.bundled > entered).then_some(entered)
}

/// How the ampacity of a run's weakest leg comes about, line by line; empty where it is not known.
pub(super) fn working(c: &Context<'_>, index: usize, run: &Run) -> Working {
    let lines = (|| -> Figure<Working> {
        let capacity = of_run(c, index, run)?;
        let Some(leg) = run.legs.get(capacity.leg) else { return Ok(Vec::new()) };
        let case = case(c, run, leg, terminal_c(c, index)?, c.rules.basis)?;
        let mut lines: Working = vec![
            (format!("leg {}, {} {}, air, C", leg.id, case.gauge, leg.laid_words()), case.ambient_c, &COMMON_PRACTICE),
            ("insulation, C".into(), case.insulation_c, &crate::plan::sources::LABEL),
            (format!("terminals, C{}", unused(case.basis)), case.terminal_c, &crate::plan::sources::SHEET),
        ];
        if let Some(entered) = fewer_entered(&case, leg) {
            let label = format!("in the bundle, its own conductors counted, {entered} entered");
            lines.push((label, f64::from(case.bundled), &crate::plan::sources::NEC_310_15));
        }
        match ampacity_with(&case, &derating(c)) {
            Ok(w) => {
                lines.extend(w.steps().into_iter().map(|(label, value, source)| (label.to_string(), value, source)))
            }
            Err(why) => lines.push((why.to_string(), capacity.weakest.amps, &COMMON_PRACTICE)),
        }
        Ok(lines)
    })();
    lines.unwrap_or_default()
}

/// Whether any leg that stays is of copper-clad aluminium.
pub(super) fn copper_clad(run: &Run) -> bool {
    legs(run).any(|l| l.metal == Metal::CopperClad)
}
