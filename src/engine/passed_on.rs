//! What a run carries for others beside what hangs on it by the drawing alone: a line from the vehicle, what is entered for a
//! run behind it, what comes back over the chassis.

use crate::plan::{Figure, Known, Missing, Run};
use crate::units::Amps;

use super::circuit::{Node, Role, is_thing};
use super::context::{Context, at};
use super::converted::lost_behind;
use super::currents::{
    Pair, RunCurrents, Terminals, alone, both, chargers_of, coming_back, derived, flow_steps, is_mixed, larger, stepped,
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

/// What flows in a run of a line from the vehicle where it is entered for another run of the same line, or as its largest alone.
/// None where nothing of it is entered; and what is entered for the run itself stands in place of all else.
pub(super) fn along_line(c: &Context<'_>, index: usize, run: &Run) -> Option<RunCurrents> {
    let (device, _) = c.circuit.straight.iter().find(|(_, runs)| runs.contains(&index))?;
    let mut pair = from_vehicle(c, Node::Device(*device))?.ok()?;
    (pair.how, pair.drop_how) = ("as entered for the line that it is on", "as entered for the line that it is on");
    if run.design_override_a.is_some() {
        pair.design_a = Err(Missing(at("runs", &run.id, "design_override_a")));
    }
    if run.drop_override_a.is_some() {
        pair.drop_a = Err(Missing(at("runs", &run.id, "drop_override_a")));
    }
    Some(alone(pair))
}

/// Amps by which what is entered for runs behind one is more than what hangs on them.
#[derive(Default)]
pub(super) struct More {
    /// Pushed, largest and at the working point.
    pub(super) push_a: [f64; 2],
    /// Drawn.
    pub(super) draw_a: [f64; 2],
    /// Of what is pushed at the working point the sun's, and that of the chargers that run together.
    pub(super) solar_a: f64,
    pub(super) chargers_a: [f64; 3],
}

impl More {
    pub(super) fn is_any(&self) -> bool {
        self.push_a[0] > 0.0 || self.draw_a[0] > 0.0
    }
}

/// The runs whose current is entered.
pub(super) fn all_entered(c: &Context<'_>) -> Vec<usize> {
    let known = |own: &Option<Known<Amps>>| own.as_ref().is_some_and(|k| k.known().is_some());
    let entered = |run: &Run| known(&run.design_override_a) || known(&run.drop_override_a);
    c.plan.runs.iter().enumerate().filter(|(_, run)| entered(run)).map(|(i, _)| i).collect()
}

/// What is entered for the runs behind one, or for those whose current a negative brings back, above what their circuits come
/// to. What is entered as less changes the run itself alone: its things can still draw what they are rated for, and what a fuse
/// ahead is held to is lowered only by who says so there.
pub(super) fn entered(c: &Context<'_>, t: &Terminals, index: usize, away: &[Node], negative: bool) -> More {
    let mut more = More::default();
    for j in t.entered.iter().copied().filter(|j| *j != index) {
        let Some(run) = c.plan.runs.get(j) else { continue };
        if !is_behind(c, j, index, away, negative) || c.circuit.is_alone_beyond(j) {
            continue;
        }
        let (found, Ok(times)) = (derived(c, t, j, run), flow_steps(c, j)) else { continue };
        let things = || c.circuit.links.get(j).into_iter().flat_map(|l| l.away.iter());
        let load = things().find_map(|n| if let Node::Load(i) = n { Some(*i) } else { None });
        let lost = load.and_then(|load| lost_behind(c, index, load, negative).ok()).map_or(1.0, f64::abs);
        let over = |own: &Option<Known<Amps>>, found: &Figure<f64>| {
            let own_a = own.as_ref().and_then(|k| k.known()).map_or(0.0, |a| a.0);
            found.as_ref().map_or(0.0, |found_a| (own_a - found_a).max(0.0)) / times.max(1.0) * lost
        };
        let over_a =
            [over(&run.design_override_a, &found.pair.design_a), over(&run.drop_override_a, &found.pair.drop_a)];
        let add = |sum: &mut [f64; 2]| sum.iter_mut().zip(over_a).for_each(|(sum, a)| *sum += a);
        let charger = things().find_map(|n| chargers_of(c, n));
        let sun = things().any(|n| matches!(n, Node::Controller(_)));
        if sun || charger.is_some() {
            add(&mut more.push_a);
            match charger.and_then(|group| more.chargers_a.get_mut(group)) {
                Some(slot) if !sun => *slot += over_a[1],
                _ => more.solar_a += over_a[1],
            }
        }
        if things().any(|n| matches!(n, Node::Inverter(_) | Node::Load(_))) {
            add(&mut more.draw_a);
        }
    }
    more
}

/// A line to DC-DC chargers with what is entered for lines behind it.
pub(super) fn on_line(c: &Context<'_>, t: &Terminals, index: usize, own: Pair) -> Pair {
    if t.entered.iter().all(|j| *j == index) {
        return own;
    }
    let away = c.circuit.links.get(index).map_or(&[][..], |l| l.away.as_slice());
    let more = entered(c, t, index, away, false);
    let plus = |amps: Figure<f64>, of: usize| amps.map(|a| a + more.push_a[of] + more.draw_a[of]);
    let how = if more.is_any() { ENTERED_BEHIND } else { own.how };
    Pair { design_a: plus(own.design_a, 0), drop_a: plus(own.drop_a, 1), how, ..own }
}

/// How a current came about that is more than its circuit comes to.
pub(super) const ENTERED_BEHIND: &str = "what its circuit comes to, and more as entered for a run behind it";

/// Whether a run lies behind another: all that hangs on it hangs on that one too, and of two that carry the same it is the one
/// further out.
fn is_behind(c: &Context<'_>, run: usize, ahead: usize, away: &[Node], negative: bool) -> bool {
    let Some(link) = c.circuit.links.get(run) else { return false };
    // A charger hangs on the bank's side by what it gives, on the vehicle's by what it draws.
    let is_line = |role: Option<Role>| role == Some(Role::ChargerInput);
    let line_ahead = is_line(c.circuit.links.get(ahead).map(|l| l.role));
    let carries = matches!(
        link.role,
        Role::ChargerInput
            | Role::ControllerOutput
            | Role::Shared
            | Role::InverterFeed
            | Role::ChargerOutput
            | Role::PanelFeed
            | Role::LoadBranch
    );
    let things = || link.away.iter().filter(|n| is_thing(**n));
    let on_bank_side = !is_line(Some(link.role));
    let one_side = if line_ahead { !on_bank_side || is_branch(link.role) } else { on_bank_side };
    if !carries || !one_side || link.looped || c.circuit.is_lead(run) || things().next().is_none() {
        return false;
    }
    let within = things().all(|n| away.contains(n));
    let all = away.iter().filter(|n| is_thing(**n)).all(|n| link.away.contains(n));
    let lead = |i: &usize| *i == ahead || (c.circuit.is_lead(ahead) && c.circuit.is_lead(*i));
    within && (!all || negative || link.upstream.iter().any(lead))
}

fn is_branch(role: Role) -> bool {
    matches!(role, Role::LoadBranch | Role::PanelFeed)
}

/// What flows over the chassis by a bond of the negative: it carries that in service. Several bonds: each may be left alone
/// with all of it. What DC-DC chargers draw goes the way of what sources push, against what loads draw.
pub(super) fn by_bond(c: &Context<'_>, t: &Terminals, index: usize) -> RunCurrents {
    let Some(over) = c.circuit.over_frame.get(index).and_then(Option::as_ref) else {
        return alone(both(Ok(0.0), "a bond carries nothing in service"));
    };
    let gives = |n: &Node| matches!(n, Node::Controller(_) | Node::Charger(_) | Node::Device(_));
    let of = |behind: bool, sources: bool| -> Vec<Node> {
        let some = over.back.iter().filter(|(n, b)| *b == behind && gives(n) == sources);
        some.map(|(n, _)| *n).collect()
    };
    let back = |behind: bool, sources: bool| {
        let things = of(behind, sources);
        let all = coming_back(c, t, index, &things, is_mixed(&things));
        if behind && !things.is_empty() { stepped(all, &c.twelves()) } else { all }
    };
    let plus = |a: &Figure<f64>, b: &Figure<f64>| Ok::<f64, Missing>(a.clone()? + b.clone()?);
    let (push, draw) = (back(false, true), [back(false, false), back(true, false)]);
    let inputs = over.inputs.iter().filter_map(|i| t.inputs.get(*i));
    let drawn_a: Figure<f64> = inputs.map(|pair| pair.design_a.clone()).sum();
    let sum = |pick: fn(&RunCurrents) -> &Figure<f64>| plus(pick(&draw[0]), pick(&draw[1]));
    let [home, line] = [plus(&push.pair.design_a, &drawn_a), plus(&push.pair.drop_a, &drawn_a)];
    let how = "what flows over the chassis";
    let pair = Pair {
        design_a: larger(&home, Some(&sum(|x| &x.pair.design_a))),
        drop_a: larger(&line, Some(&sum(|x| &x.pair.drop_a))),
        how,
        drop_how: how,
    };
    // Where what the vehicle's line brings is not known, the rest of it is sure.
    let sure = push.sure.and_then(|[design_a, drop_a]| {
        let (drawn_a, [design, drop]) =
            (drawn_a.clone().ok()?, [sum(|x| &x.pair.design_a).ok()?, sum(|x| &x.pair.drop_a).ok()?]);
        Some([(design_a + drawn_a).max(design), (drop_a + drawn_a).max(drop)])
    });
    let mut chargers_a = push.chargers_a.clone();
    if let Some(driving) = chargers_a.first_mut() {
        *driving = plus(driving, &drawn_a);
    }
    RunCurrents { pair, chargers_a, draw_a: sum(|x| &x.draw_a), back: None, sure, ..push }
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
