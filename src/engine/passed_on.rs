//! What a run carries for others beside what hangs on it by the drawing alone: a line from the vehicle, what is entered for a
//! run behind it, what comes back over the chassis.

use crate::plan::{Figure, Known, Missing, Run};
use crate::units::Amps;

use super::circuit::{Node, Role, is_thing};
use super::context::{Context, at};
use super::currents::{
    Pair, RunCurrents, Terminals, alone, both, coming_back, derived, is_mixed, larger, lost_behind, step_down, stepped,
};

/// What a start battery or alternator that charges the bank by wire alone brings, as entered for its line; the field that
/// tells where nobody has. None where it charges no bank so.
pub(super) fn from_vehicle(c: &Context<'_>, node: Node) -> Option<Figure<Pair>> {
    let (_, runs) = c.circuit.straight.iter().find(|(i, _)| Node::Device(*i) == node)?;
    let is_line = |i: &&usize| c.circuit.links.get(**i).is_some_and(|l| l.role == Role::BatteryLink);
    let line: Vec<&Run> = runs.iter().filter(is_line).filter_map(|i| c.plan.runs.get(*i)).collect();
    let entered = |of: fn(&Run) -> Option<Known<Amps>>| line.iter().find_map(|r| of(r)?.known().map(|a| a.0));
    let first = line.first().copied().or_else(|| c.plan.runs.get(*runs.first()?))?;
    let Some(design_a) = entered(|r| r.design_override_a) else {
        return Some(Err(Missing(at("runs", &first.id, "design_override_a"))));
    };
    let how = "all chargers together, the line from the vehicle as entered";
    let drop_a = entered(|r| r.drop_override_a).unwrap_or(design_a);
    Some(Ok(Pair { drop_a: Ok(drop_a), ..both(Ok(design_a), how) }))
}

/// Amps by which what is entered for runs behind one is more than what hangs on them.
#[derive(Default)]
pub(super) struct More {
    pub(super) push_a: f64,
    pub(super) draw_a: f64,
}

impl More {
    pub(super) fn is_any(&self) -> bool {
        self.push_a > 0.0 || self.draw_a > 0.0
    }
}

/// The runs whose current is entered.
pub(super) fn all_entered(c: &Context<'_>) -> Vec<usize> {
    let entered = |run: &Run| run.design_override_a.as_ref().is_some_and(|k| k.known().is_some());
    c.plan.runs.iter().enumerate().filter(|(_, run)| entered(run)).map(|(i, _)| i).collect()
}

/// What is entered for the runs behind one, or for those whose current a negative brings back, above what their circuits come
/// to. What is entered as less changes the run itself alone.
pub(super) fn entered(c: &Context<'_>, t: &Terminals, index: usize, away: &[Node], negative: bool) -> More {
    let mut more = More::default();
    for j in t.entered.iter().copied().filter(|j| *j != index) {
        let Some(run) = c.plan.runs.get(j) else { continue };
        let Some(own_a) = run.design_override_a.as_ref().and_then(|k| k.known()).map(|a| a.0) else { continue };
        if !is_behind(c, j, index, away, negative) {
            continue;
        }
        let (Ok(found_a), Ok(times)) = (derived(c, t, j, run).pair.design_a, step_down(c, j)) else { continue };
        let things = || c.circuit.links.get(j).into_iter().flat_map(|l| l.away.iter());
        let load = things().find_map(|n| if let Node::Load(i) = n { Some(*i) } else { None });
        let lost = load.and_then(|load| lost_behind(c, index, load).ok()).unwrap_or(1.0);
        let over_a = (own_a - found_a).max(0.0) / times.max(1.0) * lost;
        let gives = |n: &Node| matches!(n, Node::Controller(_) | Node::Charger(_));
        let takes = |n: &Node| matches!(n, Node::Inverter(_) | Node::Load(_));
        more.push_a += if things().any(gives) { over_a } else { 0.0 };
        more.draw_a += if things().any(takes) { over_a } else { 0.0 };
    }
    more
}

/// Whether a run lies behind another: all that hangs on it hangs on that one too, and of two that carry the same it is the one
/// further out.
fn is_behind(c: &Context<'_>, run: usize, ahead: usize, away: &[Node], negative: bool) -> bool {
    let Some(link) = c.circuit.links.get(run) else { return false };
    let carries = matches!(
        link.role,
        Role::ControllerOutput
            | Role::Shared
            | Role::InverterFeed
            | Role::ChargerOutput
            | Role::PanelFeed
            | Role::LoadBranch
    );
    let things = || link.away.iter().filter(|n| is_thing(**n));
    if !carries || link.looped || c.circuit.is_lead(run) || things().next().is_none() {
        return false;
    }
    let within = things().all(|n| away.contains(n));
    let all = away.iter().filter(|n| is_thing(**n)).all(|n| link.away.contains(n));
    let lead = |i: &usize| *i == ahead || (c.circuit.is_lead(ahead) && c.circuit.is_lead(*i));
    within && (!all || negative || link.upstream.iter().any(lead))
}

/// What comes back over the chassis by a bond of the negative: it carries that in service. Several bonds: each may be left alone
/// with all of it.
pub(super) fn by_bond(c: &Context<'_>, t: &Terminals, index: usize) -> RunCurrents {
    let Some(back) = c.circuit.over_frame.get(index).filter(|back| !back.is_empty()) else {
        return alone(both(Ok(0.0), "a bond carries nothing in service"));
    };
    let of = |behind: bool| -> Vec<Node> { back.iter().filter(|(_, b)| *b == behind).map(|(n, _)| *n).collect() };
    let (direct, converted) = (of(false), of(true));
    let all = coming_back(c, t, index, &direct, is_mixed(&direct)).pair;
    let low = stepped(coming_back(c, t, index, &converted, is_mixed(&converted)), &c.twelves()).pair;
    let sum = |a: Figure<f64>, b: Figure<f64>| Ok::<f64, Missing>(a? + b?);
    let low = if converted.is_empty() { both(Ok(0.0), "") } else { low };
    let how = "what comes back over the chassis";
    alone(Pair { design_a: sum(all.design_a, low.design_a), drop_a: sum(all.drop_a, low.drop_a), how, drop_how: how })
}

impl RunCurrents {
    /// All of it times so much.
    pub(super) fn times(self, times: &Figure<f64>) -> Self {
        let of = |amps: Figure<f64>| Ok::<f64, Missing>(amps? * times.clone()?);
        Self {
            pair: Pair { design_a: of(self.pair.design_a), drop_a: of(self.pair.drop_a), ..self.pair },
            chargers_a: self.chargers_a.map(of),
            solar_a: of(self.solar_a),
            draw_a: of(self.draw_a),
            sure: self.sure.and_then(|sure| times.as_ref().ok().map(|t| sure.map(|a| a * t))),
            ..self
        }
    }

    /// Of two ways that current may take the larger of each.
    pub(super) fn or_larger(self, other: &Self) -> Self {
        let of = |a: Figure<f64>, b: &Figure<f64>| larger(&a, Some(b));
        let sure = |x: &Self| x.sure.or(Some([x.pair.design_a.clone().ok()?, x.pair.drop_a.clone().ok()?]));
        let waits = self.sure.is_some() || other.sure.is_some();
        let most = sure(&self).zip(sure(other)).map(|(a, b)| [a[0].max(b[0]), a[1].max(b[1])]);
        let [x, y, z] = self.chargers_a;
        let [p, q, r] = &other.chargers_a;
        Self {
            pair: Pair {
                design_a: of(self.pair.design_a, &other.pair.design_a),
                drop_a: of(self.pair.drop_a, &other.pair.drop_a),
                ..self.pair
            },
            chargers_a: [of(x, p), of(y, q), of(z, r)],
            solar_a: of(self.solar_a, &other.solar_a),
            draw_a: of(self.draw_a, &other.draw_a),
            sure: most.filter(|_| waits),
            ..self
        }
    }
}
