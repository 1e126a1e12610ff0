//! Single leads that are exchanged, two by two: what hangs behind them has minus on its fused lead and plus on the other.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Edit, FieldPath, Id, Plan, Run, Step, Value};

use super::circuit::{Circuit, Node, Role, device_kind, is_thing, name_of, senses};
use super::resistance::fuses;

/// The fields of a run's two ends.
const ENDS: [&str; 2] = ["from", "to"];
/// Most leads of a drawing that is looked through for those exchanged. Source: our own choice, several times what a coach has.
const MOST: usize = 120;
/// Most exchanges that are looked for. Source: our own choice; more are no slip of the hand but another drawing.
const MOST_EXCHANGED: usize = 6;
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
    /// Whether they lie between places, and not at one thing, a panel or a converter.
    pub(super) are_mains: bool,
    /// Whether it hangs wrong only once those before are put right.
    pub(super) is_hidden: bool,
    wrong: Vec<Node>,
}

impl Exchanged {
    /// The exchanges of two leads that put right all that hangs wrong, one after another; each time the one that leaves fuses in plus and shunts
    /// in minus, of several the one that leaves least wrong. None where any of it stays wrong.
    pub(super) fn all(plan: &Plan, circuit: &Circuit) -> Vec<Self> {
        let mut leads = leads(plan, circuit);
        let mut all: Vec<Self> = Vec::new();
        let mut first: Option<Vec<Node>> = None;
        while leads.len() <= MOST && all.len() <= MOST_EXCHANGED {
            let Some(was) = lie(plan, circuit, &leads) else { break };
            let drawn = first.get_or_insert_with(|| was.0.wrong.clone());
            if was.0.wrong.is_empty() {
                return all;
            }
            let Some((at, left, mut found)) = Self::next(plan, circuit, &mut leads, &was) else { break };
            // What is to be moved twice is no slip of the hand.
            if all.iter().any(|known| known.runs.iter().any(|run| found.runs.contains(run))) {
                break;
            }
            found.wrong = was.0.wrong.into_iter().filter(|n| !left.contains(n)).collect();
            found.is_hidden = !found.wrong.iter().any(|n| drawn.contains(n));
            exchange(&mut leads, at);
            all.push(found);
        }
        Vec::new()
    }

    /// The next of them: the two ends, and what it leaves wrong.
    fn next(
        plan: &Plan,
        circuit: &Circuit,
        leads: &mut [Lead],
        (was, marks): &(Lie, Vec<u8>),
    ) -> Option<([At; 2], Vec<Node>, Self)> {
        use DeviceKind::{Converter, FusePanel};
        let n = was.wrong.len();
        let pole = |node: Node| marks.get(circuit.slot(node)).copied().unwrap_or(0);
        let is_fed = |node: Node| matches!(device_kind(plan, node), Some(Converter | FusePanel));
        let mut best: Option<Best> = None;
        for i in 0..leads.len() {
            for (j, x, y) in (0..i).flat_map(|j| [(j, 1, 1), (j, 0, 0), (j, 1, 0), (j, 0, 1)]) {
                let (Some(one), Some(other)) = (leads.get(i).copied(), leads.get(j).copied()) else { continue };
                let ([Some(a), Some(far)], [Some(b), Some(other_far)]) =
                    ([x, 1 - x].map(|k| one.ends.get(k).copied()), [y, 1 - y].map(|k| other.ends.get(k).copied()))
                else {
                    continue;
                };
                let is_place = |n: Node| pole(n) != 0 || device_kind(plan, n) == Some(Converter);
                let between = far != other_far;
                if !one.is_single
                    || !other.is_single
                    || (between && !(is_place(far) && is_place(other_far)))
                    || pole(a) + pole(b) != PLUS + MINUS
                    || pole(a) * pole(b) == 0
                {
                    continue;
                }
                let at = [(i, x), (j, y)];
                exchange(leads, at);
                let now = lie(plan, circuit, leads).map(|(now, _)| now);
                exchange(leads, at);
                // Nothing is right any more for want of a lead.
                let mends = |now: &Lie| now.wrong.len() < n && now.right + now.wrong.len() >= was.right + n;
                let Some(now) = now.filter(mends) else { continue };
                // A thing's own leads before the mains.
                let key = (now.odd, now.wrong.len(), between);
                if best.as_ref().is_none_or(|(known, ..)| key < *known) {
                    let are_mains = between && ![a, b, far, other_far].into_iter().any(is_fed);
                    let id = |lead: &Lead| plan.runs.get(lead.run).map(|run| &run.id);
                    let rank = |lead: &Lead, far| (!lead.is_plus, pole(far) != PLUS, id(lead).map(Id::as_str));
                    let mut found = Self {
                        runs: [other.run, one.run],
                        ends: [y, x],
                        are_mains,
                        is_hidden: false,
                        wrong: Vec::new(),
                    };
                    // The one that belongs in plus first, in whatever order they are drawn.
                    if rank(&one, far) < rank(&other, other_far) {
                        found.runs.reverse();
                        found.ends.reverse();
                    }
                    best = Some((key, at, now.wrong, found));
                }
            }
        }
        best.map(|(_, at, left, found)| (at, left, found))
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

/// How good an exchange is, its two ends, and what it leaves wrong.
type Best = ((usize, usize, bool), [At; 2], Vec<Node>, Exchanged);

/// A lead, and which of its ends.
type At = (usize, usize);

fn exchange(leads: &mut [Lead], [one, other]: [At; 2]) {
    let end = |leads: &[Lead], at: At| leads.get(at.0).and_then(|l| l.ends.get(at.1)).copied();
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

/// Whether a fuse panel is a place of one pole: all that hangs on it are things by single leads, and one lead feeds it.
fn is_panel_of_one(plan: &Plan, leads: &[Lead], node: Node) -> bool {
    let at = || leads.iter().filter(|l| l.ends.contains(&node));
    let converts = |n: &Node| device_kind(plan, *n) == Some(DeviceKind::Converter);
    let feeds = |l: &&Lead| l.ends.iter().any(|n| *n != node && (!is_end(plan, *n) || converts(n)));
    device_kind(plan, node) == Some(DeviceKind::FusePanel)
        && at().filter(feeds).count() == 1
        && at().filter(feeds).all(|l| l.is_single)
}

/// What a converter gives leaves it by its fused lead, or by the one that is left over beside those of both poles.
fn given(plan: &Plan, leads: &[Lead], pole: impl Fn(Node) -> u8) -> Vec<Node> {
    let converters = (0..plan.devices.len()).map(Node::Device);
    let mut all = Vec::new();
    for node in converters.filter(|n| device_kind(plan, *n) == Some(DeviceKind::Converter)) {
        let at = leads.iter().filter(|l| l.ends.contains(&node)).flat_map(|l| l.ends.map(|far| (l, far)));
        let at: Vec<(&Lead, Node)> = at.filter(|(l, far)| *far != node && l.is_single).collect();
        let has = |own: u8| at.iter().any(|(_, far)| pole(*far) == own);
        let mut left: Vec<(&Lead, Node)> = at.iter().copied().filter(|(_, far)| pole(*far) == 0).collect();
        if left.iter().any(|(l, _)| l.is_plus) {
            left.retain(|(l, _)| l.is_plus);
        } else if !has(PLUS) || !has(MINUS) {
            continue;
        }
        if has(PLUS) || has(MINUS) {
            all.extend(left.into_iter().map(|(_, far)| far).filter(|n| !is_thing(*n)));
        }
    }
    all
}

/// How leads lie, and the pole of each place; none where plus and minus meet.
fn lie(plan: &Plan, circuit: &Circuit, leads: &[Lead]) -> Option<(Lie, Vec<u8>)> {
    let mut marks = vec![0_u8; circuit.plus.len()];
    let is_end = |node: Node| is_end(plan, node) && !is_panel_of_one(plan, leads, node);
    let mut stack = vec![(Node::Bank, PLUS), (Node::BankMinus, MINUS)];
    let mut from_bank = None;
    loop {
        while let Some((node, pole)) = stack.pop() {
            let mark = marks.get_mut(circuit.slot(node))?;
            match *mark {
                0 => *mark = pole,
                known if known == pole => continue,
                _ => return None,
            }
            for lead in leads {
                let [a, b] = lead.ends;
                let far = if a == node { b } else { a };
                if (a == node || b == node) && !is_end(far) {
                    stack.push((far, pole));
                }
            }
        }
        if from_bank.is_some() {
            break;
        }
        from_bank = Some(marks.clone());
        let pole = |node: Node| marks.get(circuit.slot(node)).copied().unwrap_or(0);
        stack.extend(given(plan, leads, pole).into_iter().filter(|n| !is_end(*n)).map(|n| (n, PLUS)));
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
            // What a converter gives tells nothing of how it is fed.
            let is_given = || {
                let known = from_bank.as_ref().and_then(|marks| marks.get(circuit.slot(at)));
                known == Some(&0) && device_kind(plan, thing) == Some(DeviceKind::Converter)
            };
            if !is_end(thing) || pole == 0 || is_given() {
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
            Some(DeviceKind::Switch | DeviceKind::Breaker | DeviceKind::FusePanel) => PLUS,
            _ => continue,
        };
        lie.odd += usize::from(pole(node) + own == PLUS + MINUS);
    }
    // The frame stands on minus.
    let bonds = circuit.links.iter().filter(|l| l.role == Role::Bond);
    lie.odd += bonds.flat_map(|l| [l.from, l.to]).flatten().filter(|n| pole(*n) == PLUS).count();
    Some((lie, marks))
}
