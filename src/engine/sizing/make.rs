//! What the legs of a run can be made of: a gauge, or two equal ones in each pole where a terminal takes nothing as
//! thick as is wanted; and whether the terminals take it.

use std::fmt;

use crate::arrange::Arrange;
use crate::engine::capacity::{ratings, terminals};
use crate::engine::circuit::{Node, device_kind};
use crate::engine::context::Context;
use crate::engine::resistance::{legs, own_conductors};
use crate::plan::{DeviceKind, Edit, Known, Leg, Run, State, Value};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::standards::lug::Stud;

use super::wire::system;

/// Conductors of one size in each pole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Make {
    pub gauge: Gauge,
    /// In parallel in each pole.
    pub per_pole: u32,
}

impl fmt::Display for Make {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.per_pole {
            0 | 1 => write!(f, "{}", self.gauge),
            n => write!(f, "{n} x {}", self.gauge),
        }
    }
}

impl Make {
    /// A gauge, as many in each pole as the run is drawn with.
    pub(in crate::engine) fn as_drawn(run: &Run, gauge: Gauge) -> Self {
        Self { gauge, per_pole: drawn(run) }
    }

    /// Copper of one pole.
    pub(in crate::engine) fn area_mm2(self) -> f64 {
        area_mm2(self.gauge) * f64::from(self.per_pole.max(1))
    }
}

/// The legs that a choice of wire is about: those bought new; all of them where none is.
pub(in crate::engine) fn chosen_legs(run: &Run) -> impl Iterator<Item = &Leg> {
    let any_new = legs(run).any(|l| l.state == State::New);
    legs(run).filter(move |l| !any_new || l.state == State::New)
}

/// Conductors in each pole as a run is drawn: those of the first leg that is chosen.
fn drawn(run: &Run) -> u32 {
    let count = chosen_legs(run).find_map(|l| l.per_pole.known());
    count.map_or(1, |n| n.0.clamp(1.0, 6.0) as u32)
}

/// What a run's chosen legs are made of; none where that is not known.
pub(in crate::engine) fn made_of(run: &Run) -> Option<Make> {
    let leg = chosen_legs(run).next();
    let gauge = leg.and_then(|l| l.gauge.as_ref()).unwrap_or(&run.gauge).known().copied()?;
    Some(Make::as_drawn(run, gauge))
}

/// The gauge of the legs that a choice of wire is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LaidGauge {
    One(Gauge),
    Unknown,
    /// They have not one in common.
    Several,
}

impl LaidGauge {
    /// Of a run: of the legs bought new, or of all where none is.
    #[must_use]
    pub fn of(run: &Run) -> Self {
        let mut all = chosen_legs(run).map(|l| l.gauge.as_ref().unwrap_or(&run.gauge).known().copied());
        let first = all.next().unwrap_or(run.gauge.known().copied());
        match first {
            _ if !all.all(|gauge| gauge == first) => Self::Several,
            Some(gauge) => Self::One(gauge),
            None => Self::Unknown,
        }
    }
}

/// The edits that set how many conductors each pole of a run's chosen legs has, and how many lie in their bundle then.
pub(super) fn count_edits(run: &Run, make: Make) -> Vec<Edit> {
    if make.per_pole == drawn(run) {
        return Vec::new();
    }
    let set = |leg: &Leg, field: &str, n: f64| Edit::Set {
        at: crate::engine::resistance::leg_path(run, leg, field),
        to: Value::Number(n),
    };
    let of = |leg: &Leg| {
        let bundled = bundled_with(run, leg, make.per_pole).map(|n| set(leg, "bundled", n));
        std::iter::once(set(leg, "per_pole", f64::from(make.per_pole))).chain(bundled)
    };
    chosen_legs(run).flat_map(of).collect()
}

/// Most conductors that the field of a bundle takes.
const MOST_BUNDLED: f64 = 60.0;

/// How many conductors touch along a leg with another number in each pole: those of other runs stay, its own come and go.
/// None where what lies there is not known.
///
/// Source: NEC 310.15(C)(1): each conductor of a parallel set counts as one that carries current.
pub(super) fn bundled_with(run: &Run, leg: &Leg, per_pole: u32) -> Option<f64> {
    let was = leg.per_pole.known()?.0.clamp(1.0, 6.0);
    let entered = leg.bundled.known()?.0;
    let (own_was, own) = (own_conductors(run, was), own_conductors(run, f64::from(per_pole)));
    Some((entered.max(own_was) - own_was + own).min(MOST_BUNDLED))
}

/// What terminals say of a wire.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::engine) enum Takes {
    Yes,
    /// No terminal states a size.
    Unsaid,
    /// What has to be known first.
    Ask(String),
    No(String),
}

impl Takes {
    /// Whether nothing known forbids it and nothing has to be asked.
    pub(in crate::engine) fn may(&self) -> bool {
        matches!(self, Self::Yes | Self::Unsaid)
    }
}

/// Whether the terminals at both ends of a run take a wire, those of its negative included where it has others. How many
/// lie in one is asked only of more than are drawn.
///
/// Source: instructions of the devices; that a stud takes two lugs, a bus bar a lug on each of two studs and a chassis point a
/// lug on each of two bolts is common practice.
pub(in crate::engine) fn takes(c: &Context<'_>, index: usize, make: Make) -> Takes {
    let (mut said, mut ask) = (false, None);
    // So many as are drawn lie there already.
    let already = c.plan.runs.get(index).map_or(1, drawn);
    for node in terminals(c, index) {
        let Some((r, path)) = ratings(c, node) else { continue };
        let owner = path("x");
        let name = owner.segments().nth(1).filter(|_| node != Node::Bank && node != Node::BankMinus).unwrap_or("BK");
        let size = |k: &Option<Known<Gauge>>| k.as_ref().and_then(|k| k.known()).map(|g| area_mm2(*g));
        let (least, most) = (size(&r.smallest_wire), size(&r.largest_wire));
        let area = area_mm2(make.gauge);
        if least.is_some_and(|least| area < least - 1e-9) || most.is_some_and(|most| area > most + 1e-9) {
            return Takes::No("the terminals do not take it".into());
        }
        said |= least.is_some() || most.is_some();
        if make.per_pole > 1 {
            match r.wires_each.as_ref() {
                Some(Known::Is(n)) if n.0 < f64::from(make.per_pole) => {
                    return Takes::No(format!("{name} takes {} in one terminal", n.0));
                }
                Some(Known::Is(_)) => {}
                None if Stud::named(&r.stud).is_some() || has_places(device_kind(c.plan, node)) => {}
                _ if make.per_pole <= already => {}
                _ => ask = Some(format!("whether {name} takes {} in one terminal is not known", make.per_pole)),
            }
        }
    }
    match ask {
        Some(what) => Takes::Ask(what),
        None if said => Takes::Yes,
        None => Takes::Unsaid,
    }
}

/// Whether a thing has a place for each of several lugs: a bus bar's studs, bolts of a chassis point.
fn has_places(kind: Option<DeviceKind>) -> bool {
    matches!(kind, Some(DeviceKind::Bus | DeviceKind::Chassis))
}

/// What a run can be made of: every gauge of its system, as many in each pole as it is drawn with; where that is several,
/// of wire all new, one of each gauge as well; then, where a terminal takes none so thick, two equal ones with more copper
/// than the thickest it takes. Rising in copper.
///
/// Source: NEC 310.10: conductors in parallel are 1/0 AWG and larger; the plan's rule holds the figure.
pub(in crate::engine) fn makes(c: &Context<'_>, index: usize) -> Vec<Make> {
    let Some(run) = c.plan.runs.get(index) else { return Vec::new() };
    // Several so thin as share no current are no choice, but for the one that is drawn.
    let shares = |m: &Make| {
        m.per_pole < 2 || area_mm2(m.gauge) >= c.rules.parallel_least_mm2 || run.gauge.known() == Some(&m.gauge)
    };
    let singles = system(c.plan, run).ladder().map(|gauge| Make::as_drawn(run, gauge)).filter(shares);
    let mut all: Vec<Make> = singles.collect();
    all.extend(pairs(c, index, run, &all));
    if drawn(run) > 1 && legs(run).all(|l| l.state == State::New) {
        all.extend(system(c.plan, run).ladder().map(|gauge| Make { gauge, per_pole: 1 }));
        all.arrange_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()).then(a.per_pole.cmp(&b.per_pole)));
    }
    all
}

fn pairs(c: &Context<'_>, index: usize, run: &Run, singles: &[Make]) -> Vec<Make> {
    let one_new = drawn(run) == 1 && legs(run).all(|l| l.state == State::New);
    let thickest = |may: bool| {
        let of = singles.iter().filter(move |m| takes(c, index, **m).may() == may).map(|m| m.area_mm2());
        of.fold(0.0, f64::max)
    };
    let taken = thickest(true);
    if !one_new || thickest(false) <= taken {
        return Vec::new();
    }
    let two = singles.iter().map(|m| Make { per_pole: 2, ..*m });
    let fit = |m: &Make| {
        let one = Make { per_pole: 1, ..*m };
        area_mm2(m.gauge) >= c.rules.parallel_least_mm2 && takes(c, index, one).may() && m.area_mm2() > taken
    };
    two.filter(fit).collect()
}

/// What all runs are sized from: what one can be made of, and two equal ones in each pole wherever its terminals are known
/// to take two: they reach further than the thickest single one, and may cost less.
pub(in crate::engine) fn makes_or_two(c: &Context<'_>, index: usize) -> Vec<Make> {
    let mut all = makes(c, index);
    let Some(run) = c.plan.runs.get(index) else { return all };
    let one_new = drawn(run) == 1 && legs(run).all(|l| l.state == State::New);
    if !one_new || all.iter().any(|m| m.per_pole > 1) {
        return all;
    }
    let enough = |g: &Gauge| area_mm2(*g) >= c.rules.parallel_least_mm2;
    let two = system(c.plan, run).ladder().filter(enough).map(|gauge| Make { gauge, per_pole: 2 });
    all.extend(two.filter(|m| takes(c, index, *m).may()));
    all.arrange_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()).then(a.per_pole.cmp(&b.per_pole)));
    all
}

/// What has to be asked before a run could have two in each pole; none where that is known, or it cannot have two.
pub(in crate::engine) fn asks_for_two(c: &Context<'_>, index: usize) -> Option<String> {
    let run = c.plan.runs.get(index)?;
    let one_new = drawn(run) == 1 && legs(run).all(|l| l.state == State::New);
    let enough = |g: &Gauge| area_mm2(*g) >= c.rules.parallel_least_mm2;
    let mut two =
        system(c.plan, run).ladder().filter(enough).filter(|_| one_new).map(|gauge| Make { gauge, per_pole: 2 });
    two.find_map(|m| match takes(c, index, m) {
        Takes::Ask(what) => Some(what),
        _ => None,
    })
}

/// The thickest two in each pole that a run could have, were its terminals known to take them; none where that is not asked.
pub(super) fn asked_pair(c: &Context<'_>, index: usize) -> Option<Make> {
    asks_for_two(c, index)?;
    let run = c.plan.runs.get(index)?;
    let two = system(c.plan, run).ladder().map(|gauge| Make { gauge, per_pole: 2 });
    let asked = two.filter(|m| matches!(takes(c, index, *m), Takes::Ask(_)));
    asked.max_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()))
}

/// Why no two smaller ones take the place of a wire too thick for the terminals; none where some could, or where that
/// is not what is wrong with it.
pub(in crate::engine) fn no_pair(c: &Context<'_>, index: usize, make: Make) -> Option<String> {
    let run = c.plan.runs.get(index)?;
    let all = makes(c, index);
    let taken = all.iter().filter(|m| takes(c, index, **m).may()).map(|m| m.area_mm2()).fold(0.0, f64::max);
    if make.per_pole > 1 || make.area_mm2() <= taken || all.iter().any(|m| m.per_pole > 1) {
        return None;
    }
    if !legs(run).all(|l| l.state == State::New) {
        return Some("and two in its place would have to be new on every leg".into());
    }
    let least = c.rules.parallel_least_mm2;
    Some(format!("nor two of {least:.0} mm2 (1/0 AWG) or more, the least that may be paralleled"))
}
