//! Two single leads that are exchanged: what hangs behind them has minus on its fused lead and plus on the other.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Edit, FieldPath, Id, Plan, Run, Step, Value};

use super::circuit::{Circuit, Node, Role, device_kind, name_of, senses};
use super::resistance::fuses;

/// The fields of a run's two ends.
const ENDS: [&str; 2] = ["from", "to"];
/// Most leads of a drawing that is looked through for those exchanged. Source: our own choice, several times what a coach has.
const MOST: usize = 120;
const PLUS: u8 = 1;
const MINUS: u8 = 2;

/// One conductor between two places; that of a pair stays where it is.
#[derive(Clone, Copy)]
struct Lead {
    run: usize,
    ends: [Node; 2],
    /// Its pole is told: by a fuse, which belongs in plus, or as the positive of a pair.
    is_plus: bool,
    is_single: bool,
}

/// How leads lie: the things that hang right and wrong, and what of mains, bonds, switches and shunts stands in the other pole than its own.
struct Lie {
    right: usize,
    wrong: Vec<Node>,
    odd: usize,
}

/// Two leads, an end of each, and what hangs wrong for it.
pub(super) struct Exchanged {
    pub(super) runs: [usize; 2],
    ends: [usize; 2],
    /// Whether they lie between places, and not at the one thing that hangs wrong.
    pub(super) are_mains: bool,
    wrong: Vec<Node>,
}

impl Exchanged {
    /// The exchange of two leads that puts right all that hangs wrong, of several the one that leaves fuses in plus and shunts in minus.
    pub(super) fn of(plan: &Plan, circuit: &Circuit) -> Option<Self> {
        let mut leads = leads(plan, circuit);
        let (was, marks) = lie(plan, circuit, &leads)?;
        let n = was.wrong.len();
        if n == 0 || leads.len() > MOST {
            return None;
        }
        let mut best: Option<((usize, bool), Self)> = None;
        let pole = |node: Node| marks.get(circuit.slot(node)).copied().unwrap_or(0);
        for i in 0..leads.len() {
            for (j, x, y) in (0..i).flat_map(|j| [(j, 1, 1), (j, 0, 0), (j, 1, 0), (j, 0, 1)]) {
                let (Some(one), Some(other)) = (leads.get(i).copied(), leads.get(j).copied()) else { continue };
                let (Some(a), Some(b)) = (one.ends.get(x).copied(), other.ends.get(y).copied()) else { continue };
                let far = |lead: &Lead, end: usize| lead.ends.get(1 - end).copied().filter(|n| pole(*n) == 0);
                let is_of_one = far(&one, x) == far(&other, y);
                if !one.is_single
                    || !other.is_single
                    || !is_of_one
                    || pole(a) + pole(b) != PLUS + MINUS
                    || pole(a) * pole(b) == 0
                {
                    continue;
                }
                exchange(&mut leads, (i, x), (j, y));
                let now = lie(plan, circuit, &leads).map(|(now, _)| now);
                exchange(&mut leads, (i, x), (j, y));
                let mends = |now: &Lie| now.wrong.is_empty() && now.right >= was.right + n;
                let Some(now) = now.filter(mends) else { continue };
                // A thing's own leads before the mains.
                let (runs, are_mains) = ([other.run, one.run], far(&one, x).is_none());
                if best.as_ref().is_none_or(|(known, _)| (now.odd, are_mains) < *known) {
                    let found = Self { runs, ends: [y, x], are_mains, wrong: was.wrong.clone() };
                    best = Some(((now.odd, are_mains), found));
                }
            }
        }
        best.map(|(_, found)| found)
    }

    /// What hangs wrong: `INV, C1 and FP`.
    pub(super) fn things(&self, plan: &Plan) -> String {
        let names: Vec<String> = self.wrong.iter().map(|n| name_of(plan, *n)).collect();
        match names.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            _ => names.concat(),
        }
    }

    /// The two exchanged.
    pub(super) fn step(&self, plan: &Plan) -> Option<Step> {
        let run = |k: usize| plan.runs.get(*self.runs.get(k)?);
        let field = |k: usize| ENDS.get(*self.ends.get(k)?).copied();
        let end = |k: usize| -> Option<&Id> {
            let run = run(k)?;
            if field(k)? == "from" { run.from.known() } else { run.to.known() }
        };
        let (one, other, a, b) = (run(0)?, run(1)?, end(0)?, end(1)?);
        let set = |run: &Run, field: &str, to: &Id| Edit::Set {
            at: FieldPath::of(&["runs", run.id.as_str(), field]),
            to: Value::Id(to.clone()),
        };
        Some(Step {
            name: format!("{} to {b}, {} to {a}: the two are crossed", one.id, other.id),
            edits: vec![set(one, field(0)?, b), set(other, field(1)?, a)],
        })
    }
}

fn exchange(leads: &mut [Lead], one: (usize, usize), other: (usize, usize)) {
    let end = |leads: &[Lead], at: (usize, usize)| leads.get(at.0).and_then(|l| l.ends.get(at.1)).copied();
    let (Some(a), Some(b)) = (end(leads, one), end(leads, other)) else { return };
    for (at, node) in [(one, b), (other, a)] {
        if let Some(end) = leads.get_mut(at.0).and_then(|l| l.ends.get_mut(at.1)) {
            *end = node;
        }
    }
}

/// The conductors that lie between known places, but for bonds and a shunt's lead for its volts. Of pairs those that say of each pole where
/// it ends.
fn leads(plan: &Plan, circuit: &Circuit) -> Vec<Lead> {
    let mut all = Vec::new();
    for (index, (run, link)) in plan.runs.iter().zip(&circuit.links).enumerate() {
        let (Some(from), Some(to)) = (link.from, link.to) else { continue };
        let is_dead = !run.legs.is_empty() && run.legs.iter().all(|l| !l.state.stays());
        if from == to || is_dead || link.role == Role::Bond || (link.role == Role::Sense && senses(run)) {
            continue;
        }
        let is_single = run.return_path == Return::None;
        let lead = |ends, is_plus| Lead { run: index, ends, is_plus, is_single };
        if is_single {
            all.push(lead([from, to], fuses(run).next().is_some()));
        } else if let Some((a, b)) = circuit.negative_of(index)
            && run.return_path == Return::Pair
        {
            // A thing has both poles; what both conductors end on else does as well, and tells nothing.
            let told = |end: Node, own: Node| end != own || is_end(plan, own);
            if told(a, from) && told(b, to) {
                all.extend([lead([from, to], true), lead([a, b], false)]);
            }
        }
    }
    all
}

/// Whether a pole ends here: what is no post and joins no wires.
fn is_end(plan: &Plan, node: Node) -> bool {
    use DeviceKind::{Breaker, Bus, Disconnect, Isolator, Shunt, Splice, Switch};
    let joins =
        matches!(device_kind(plan, node), Some(Breaker | Bus | Disconnect | Isolator | Shunt | Splice | Switch));
    !joins && !matches!(node, Node::Bank | Node::BankMinus)
}

/// How leads lie, and the pole of each place; none where plus and minus meet.
fn lie(plan: &Plan, circuit: &Circuit, leads: &[Lead]) -> Option<(Lie, Vec<u8>)> {
    let mut marks = vec![0_u8; circuit.plus.len()];
    for (start, pole) in [(Node::Bank, PLUS), (Node::BankMinus, MINUS)] {
        let mut stack = vec![start];
        while let Some(node) = stack.pop() {
            let mark = marks.get_mut(circuit.slot(node))?;
            match *mark {
                0 => *mark = pole,
                known if known == pole => continue,
                _ => return None,
            }
            for lead in leads {
                let [a, b] = lead.ends;
                let far = if a == node { b } else { a };
                if (a == node || b == node) && !is_end(plan, far) {
                    stack.push(far);
                }
            }
        }
    }
    let pole = |node: Node| marks.get(circuit.slot(node)).copied().unwrap_or(0);
    let mut lie = Lie { right: 0, wrong: Vec::new(), odd: 0 };
    let mut things: Vec<(Node, [bool; 4])> = Vec::new();
    for lead in leads {
        let [a, b] = lead.ends;
        if pole(a) != 0 && pole(b) != 0 {
            lie.odd += usize::from(lead.is_single && lead.is_plus && pole(a) == MINUS);
        }
        for (thing, at) in [(a, b), (b, a)] {
            let pole = pole(at);
            if !is_end(plan, thing) || pole == 0 {
                continue;
            }
            let known = things.iter().position(|(n, _)| *n == thing).unwrap_or_else(|| {
                things.push((thing, [false; 4]));
                things.len() - 1
            });
            let which = usize::from(pole == MINUS) + 2 * usize::from(!lead.is_plus);
            if let Some(has) = things.get_mut(known).and_then(|(_, has)| has.get_mut(which)) {
                *has = true;
            }
        }
    }
    for (thing, has) in things {
        match has {
            [true, _, false, _] | [true, .., true] => lie.right += 1,
            [false, true, true, _] => lie.wrong.push(thing),
            _ => {}
        }
    }
    for node in (0..plan.devices.len()).map(Node::Device) {
        let own = match device_kind(plan, node) {
            Some(DeviceKind::Shunt) => MINUS,
            Some(DeviceKind::Switch | DeviceKind::Breaker) => PLUS,
            _ => continue,
        };
        lie.odd += usize::from(pole(node) + own == PLUS + MINUS);
    }
    // The frame stands on minus.
    let bonds = circuit.links.iter().filter(|l| l.role == Role::Bond);
    lie.odd += bonds.flat_map(|l| [l.from, l.to]).flatten().filter(|n| pole(*n) == PLUS).count();
    Some((lie, marks))
}
