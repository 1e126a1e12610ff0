//! The negative side: what reaches the bank round the shunt, and the bond to the chassis.

use crate::engine::Work;
use crate::engine::circuit::{Node, Role, device_kind, is_start, is_thing, name_of, node_of};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::loads::own_wh;
use crate::engine::resistance::{gauge_of, leg_path, legs};
use crate::engine::runs::path_of;
use crate::engine::sizing::thinnest_with;
use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, FieldPath, Figure, Id, Known, Run, YesNo};
use crate::standards::cited::BOND;
use crate::standards::conductor::{Gauge, area_mm2};
use crate::standards::source::COMMON_PRACTICE;

use super::rule_value;

static BYPASS: Check = Check {
    id: "shunt-bypass",
    safety: false,
    say: |f| {
        let (shunts, count) = match f.name(3) {
            "" => (format!("shunt {}", f.name(1)), "does"),
            others => (format!("shunts {others}"), "do"),
        };
        let what = match (f.numbers.first(), f.numbers.get(1)) {
            (Some(wh), Some(watts)) => format!("the {wh:.0} Wh a day of its life safety, {watts:.1} W on the mean"),
            _ => "what flows there".into(),
        };
        format!("{}: its negative joins the bank's post past the {shunts}, which {count} not count {what}", f.name(0))
    },
};
static BOND_MISSING: Check = Check {
    id: "bond-missing",
    safety: false,
    say: |f| {
        let area = if f.name(0).ends_with("mm2") { String::new() } else { format!(" ({:.1} mm2)", f.n(0)) };
        let none = match f.name(1) {
            "" => "no chassis bond is drawn".to_string(),
            run => format!("no bond joins the negative with the chassis, {run} does not"),
        };
        format!("{none}; it wants {} at least{area}", f.name(0))
    },
};
static BOND_SMALL: Check = Check {
    id: "bond-small",
    safety: false,
    say: |f| {
        format!(
            "{}: a bond of {:.1} mm2, at least {:.1} mm2 is wanted ({}), as thick as the largest battery lead",
            f.name(0),
            f.n(0),
            f.n(1),
            f.name(1)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    bypass(w, out);
    bonds(w, out);
}

/// What monitors and their sense leads draw at most. Source: our own choice, above the milliamps of their sheets.
const MONITOR_A: f64 = 1.0;

/// The negative side as the shunts part it.
struct Parted<'a> {
    w: &'a Work<'a>,
    /// The shunts that come first from the post, beside each other where they are several.
    shunts: Vec<Node>,
    /// What stands on the bank's side of them.
    bank_side: Vec<Node>,
    /// The places between them and the post, the post with them.
    trunk: Vec<Node>,
    /// Whether the drawing says how they are joined to the bank.
    said: bool,
    /// The panel that loads without a run of their own hang on, and whether any of them is worth counting.
    panel: Option<(Node, bool)>,
}

impl<'a> Parted<'a> {
    /// None without a shunt. One in the positive, or behind another, counts a part alone: nothing passes it by.
    fn of(w: &'a Work<'a>) -> Option<Self> {
        let (plan, circuit) = (w.context.plan, &w.context.circuit);
        let is = |(_, d): &(usize, &crate::plan::Device)| d.state.stays() && d.kind.known() == Some(&DeviceKind::Shunt);
        let all: Vec<Node> = plan.devices.iter().enumerate().filter(is).map(|(i, _)| Node::Device(i)).collect();
        let reached = circuit.joined_to(Node::BankMinus, None, &all);
        let mut shunts: Vec<Node> = all.iter().copied().filter(|n| reached.contains(n)).collect();
        if shunts.is_empty() {
            shunts.extend(all.first());
        }
        if shunts.is_empty() {
            return None;
        }
        not_behind(w, &mut shunts);
        let mut bank_side = circuit.joined_to(Node::BankMinus, None, &shunts);
        bank_side.retain(|n| !shunts.contains(n));
        let mut trunk: Vec<Node> = shunts.iter().flat_map(|n| circuit.places_home(*n)).collect();
        trunk.push(Node::BankMinus);
        // Joined to it by what is drawn, with something that comes back by it.
        let panel = panel_of_undrawn(w);
        let comes = |n: &Node| is_thing(*n) || is_start(plan, *n) || panel.is_some_and(|(at, _)| at == *n);
        let mut barred = shunts.clone();
        barred.push(Node::BankMinus);
        let beyond = |shunt: Node| {
            circuit.arriving(shunt).any(|i| {
                let far = circuit.negative_of(i).map(|(a, b)| if a == shunt { b } else { a });
                far.is_some_and(|far| circuit.joined_to(far, Some(i), &barred).iter().any(comes))
            })
        };
        let homed = |n: Node| matches!(circuit.homeward_run(n), Some(Some(_))) && beyond(n);
        let said = shunts.iter().any(|n| said_at_bank(w, *n) || homed(*n));
        Some(Self { w, shunts, bank_side, trunk, said, panel })
    }

    /// An end that is the bank's own negative, or stands on its side of the shunt.
    fn past<'k>(&self, id: Option<&'k Known<Id>>) -> Option<(&'k str, Node)> {
        let id = id?.known()?;
        let node = node_of(self.w.context.plan, id.as_str())?;
        let node = if node == Node::Bank { Node::BankMinus } else { node };
        let past = node == Node::BankMinus || (self.said && self.bank_side.contains(&node));
        past.then(|| (id.as_str(), node))
    }

    /// Where a run brings what the shunt should count to the bank's side of it, if it does: what its cure has to move. Where that is
    /// life safety alone, what it draws as well, Wh a day of the month with most.
    fn joins(&self, i: usize, run: &Run, role: Role) -> Option<(String, Option<f64>)> {
        let (plan, circuit) = (self.w.context.plan, &self.w.context.circuit);
        let (from, to) = circuit.negative_of(i)?;
        if self.beside_a_lead(i) {
            return Some(("BK-".to_string(), None));
        }
        let (near, far) = match (self.trunk.contains(&from), self.trunk.contains(&to)) {
            (true, false) => (from, to),
            (false, true) => (to, from),
            _ => return None,
        };
        // A pair brings its negative where its positive ends, or where that is said to be.
        let named = [&run.negative_from, &run.negative_to].into_iter().filter_map(|k| self.past(k.as_ref()));
        let named = named.into_iter().find(|(_, n)| *n == near);
        // What comes back by the chassis joins where that is bonded, which is told of the bond.
        let at_post = run.return_path != Return::Chassis && near == Node::BankMinus && self.said;
        if role != Role::NegativeMain && named.is_none() && !at_post {
            return None;
        }
        let barred = [self.trunk.as_slice(), &self.shunts].concat();
        let mut beyond = circuit.joined_to(far, Some(i), &barred);
        // Of a converter what it feeds: by whichever way that comes back, what is taken from the bank for it comes by this one.
        let is_converter = |n: &Node| device_kind(plan, *n) == Some(DeviceKind::Converter);
        let fed: Vec<Node> = beyond.iter().copied().filter(is_converter).flat_map(|n| circuit.fed_by(n)).collect();
        beyond.extend(fed);
        let comes = |n: &Node| is_thing(*n) || is_start(plan, *n) || self.panel.is_some_and(|(at, _)| at == *n);
        if self.shunts.contains(&far) || !beyond.iter().any(comes) {
            return None;
        }
        // However it is drawn: detectors may hang ahead of the shunt, brakes draw when they are pulled alone.
        let life_wh = if beyond.iter().any(|n| self.counts(*n)) { None } else { Some(self.life_wh(&beyond)) };
        if life_wh.is_some_and(|wh| wh <= 0.0) {
            return None;
        }
        if role == Role::NegativeMain {
            let place = match near {
                Node::Device(d) => plan.devices.get(d)?.id.to_string(),
                _ => "BK-".to_string(),
            };
            return Some((place, life_wh));
        }
        if let Some((id, _)) = named {
            return Some((id.to_string(), life_wh));
        }
        let design_a = self.w.report.runs.get(i).and_then(|r| r.design_a.as_ref().ok());
        let small = life_wh.is_none() && design_a.is_some_and(|a| a.0 < MONITOR_A);
        (at_post && !small).then(|| ("BK".to_string(), life_wh))
    }

    /// What life safety among some things draws, Wh a day of the month with most; what nobody knows of it is told of as unknown.
    fn life_wh(&self, things: &[Node]) -> f64 {
        let c = self.w.context;
        let hung = |i: usize| things.contains(&Node::Load(i)) || things.contains(&c.circuit.hangs_on(Node::Load(i)));
        let all = || {
            c.plan.loads.iter().enumerate().filter(|(i, l)| l.life_safety == YesNo::Yes && l.state.stays() && hung(*i))
        };
        let in_month = |month: usize| all().filter_map(|(_, load)| own_wh(c, load, month).ok()).sum::<f64>();
        (0..12).map(in_month).fold(0.0, f64::max)
    }

    /// Whether a pair that leaves the bank has its negative at the post by its own word, and leads to where another's comes
    /// from the shunt: the two negatives of one place lie on both sides of it, and current takes the way without it.
    fn beside_a_lead(&self, i: usize) -> bool {
        let circuit = &self.w.context.circuit;
        let leaves = |j: usize| {
            let link = circuit.links.get(j)?;
            let at_bank = link.from == Some(Node::Bank) || link.to == Some(Node::Bank);
            let (from, to) = circuit.negative_of(j).filter(|_| at_bank && link.role != Role::NegativeMain)?;
            // The conductor's ends as the drawing has them, the bank's first.
            Some(if link.from == Some(Node::Bank) { (from, to) } else { (to, from) })
        };
        let says = circuit.links.get(i).is_some_and(|link| link.negatives.contains(&Some(Node::BankMinus)));
        let Some((Node::BankMinus, place)) = leaves(i).filter(|_| says) else { return false };
        if self.shunts.contains(&place) || is_thing(place) {
            return false;
        }
        let barred = [&[Node::BankMinus], self.shunts.as_slice()].concat();
        let beyond = circuit.joined_to(place, Some(i), &barred);
        let past = |(near, far): (Node, Node)| self.shunts.contains(&near) && beyond.contains(&far);
        (0..circuit.links.len()).filter(|j| *j != i).filter_map(leaves).any(past)
    }

    /// Whether a thing is other than life safety.
    fn counts(&self, node: Node) -> bool {
        match node {
            Node::Load(i) => self.w.context.plan.loads.get(i).is_some_and(|l| l.life_safety == YesNo::No),
            n => is_thing(n) || is_start(self.w.context.plan, n) || self.panel == Some((n, true)),
        }
    }
}

/// The panel that loads without a run of their own hang on, and whether any of them is worth counting; none where none is.
fn panel_of_undrawn(w: &Work<'_>) -> Option<(Node, bool)> {
    let stay = w.context.plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays());
    let hung = stay.map(|(i, load)| (Node::Load(i), w.context.circuit.hangs_on(Node::Load(i)), load));
    let undrawn = hung.filter(|(own, at, _)| own != at).map(|(_, at, load)| (at, load.life_safety == YesNo::No));
    undrawn.reduce(|(at, counts), (_, more)| (at, counts || more))
}

/// Whether a run that ends on the bank says that its negative is a shunt's.
fn said_at_bank(w: &Work<'_>, shunt: Node) -> bool {
    w.context.circuit.links.iter().any(|link| {
        (link.from == Some(Node::Bank) || link.to == Some(Node::Bank)) && link.negatives.contains(&Some(shunt))
    })
}

/// Leaves of several shunts those beside the nearest. One on its load side counts a part alone, though what passes the nearest
/// by may lead to it as well.
fn not_behind(w: &Work<'_>, shunts: &mut Vec<Node>) {
    let circuit = &w.context.circuit;
    let Some(nearest) = shunts.iter().copied().min_by_key(|n| circuit.places_home(*n).len()) else { return };
    let barred = [&[Node::BankMinus], shunts.as_slice()].concat();
    let far = |i: usize| circuit.negative_of(i).map(|(a, b)| if a == nearest { b } else { a });
    let loads: Vec<Node> = circuit
        .arriving(nearest)
        .filter_map(|i| Some(circuit.joined_to(far(i)?, Some(i), &barred)))
        .flatten()
        .collect();
    let behind = |n: &Node| circuit.places_home(*n).first().is_some_and(|home| loads.contains(home));
    shunts.retain(|n| *n == nearest || !behind(n));
}

/// What reaches the bank's negative without passing the shunt: runs of their own, bonds, negatives that end there.
fn bypass(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let Some(parted) = Parted::of(w) else { return };
    let called: Vec<String> = parted.shunts.iter().map(|n| name_of(plan, *n)).collect();
    let several = if called.len() > 1 { called.join(", ") } else { String::new() };
    let is_shunt = |n: Option<Node>| n.is_some_and(|n| parted.shunts.contains(&n));
    let plus = w.context.circuit.plus.as_slice();
    for (i, (run, link)) in plan.runs.iter().zip(&w.context.circuit.links).enumerate() {
        if is_shunt(link.from) || is_shunt(link.to) {
            continue;
        }
        let joins = match link.role {
            // From plus it is no bond at all.
            Role::Bond if w.context.circuit.joins_poles(plan, plus, i).is_some() => None,
            Role::Bond => {
                parted.past(Some(&run.from)).or(parted.past(Some(&run.to))).map(|(id, _)| (id.to_string(), None))
            }
            // Panels give their current to the bank through the controller: a negative of theirs that is said to end on the
            // bank's side joins the controller's there.
            Role::Array => {
                let named = [&run.negative_from, &run.negative_to].into_iter();
                named.filter_map(|k| parted.past(k.as_ref())).map(|(id, _)| (id.to_string(), None)).next()
            }
            role => parted.joins(i, run, role),
        };
        if let Some((joins, life_wh)) = joins {
            let first = called.first().map_or("", String::as_str);
            let names = [run.id.as_str(), first, joins.as_str(), several.as_str()];
            let numbers = life_wh.map_or_else(Vec::new, |wh| vec![wh, wh / 24.0]);
            let volts = w.context.bank_v().unwrap_or(12.0);
            let is_little = life_wh.is_some_and(|wh| wh / 24.0 < MONITOR_A * volts);
            let level = if is_little { Level::Note } else { Level::Caution };
            let found = Finding::new(&BYPASS, level, path_of(run), &numbers, &COMMON_PRACTICE).named(names);
            out.take(&BYPASS, || path_of(run), Ok(Some(found)));
        }
    }
}

/// Copper of a run's thinnest leg, mm2, conductors in parallel counted.
fn copper_mm2(run: &Run) -> Figure<Option<f64>> {
    let mut least: Option<f64> = None;
    for leg in legs(run) {
        let each = leg.per_pole.at(|| leg_path(run, leg, "per_pole"))?.0.max(1.0);
        let area = area_mm2(gauge_of(run, leg)?) * each;
        least = Some(least.map_or(area, |l| l.min(area)));
    }
    Ok(least)
}

/// Copper of the largest lead that leaves the bank's positive post, or of the one that batteries with leads of their own feed
/// together.
fn largest_lead_mm2(w: &Work<'_>) -> Figure<Option<f64>> {
    let mut most: Option<f64> = None;
    for (run, link) in w.context.plan.runs.iter().zip(&w.context.circuit.links) {
        let at_post = link.from == Some(Node::Bank) || link.to == Some(Node::Bank);
        let own = |i: &usize| w.context.circuit.own_way_of(*i).is_some();
        let of_all = link.role == Role::Shared && !link.upstream.is_empty() && link.upstream.iter().all(own);
        let lead =
            !matches!(link.role, Role::Dead | Role::Bond | Role::NegativeMain | Role::Sense) && (at_post || of_all);
        if lead && let Some(area) = copper_mm2(run)? {
            most = Some(most.map_or(area, |m| m.max(area)));
        }
    }
    Ok(most)
}

/// Source: NEC 552.10(C)(4): 8 AWG at least, and as thick as the ungrounded battery lead where that is larger.
fn bonds(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let links = &w.context.circuit.links;
    let drawn = links.iter().any(|l| l.from == Some(Node::Bank) || l.to == Some(Node::Bank));
    if !drawn || !plan.bank.state.stays() {
        return;
    }
    let least = rule_value(w, "bond-least-mm2");
    let main_mm2 = largest_lead_mm2(w).map(|lead| lead.map_or(least, |l| l.max(least)));
    let plus = w.context.circuit.plus.as_slice();
    let (mut bonded, mut astray) = (false, "");
    for (i, (run, link)) in plan.runs.iter().zip(links).enumerate() {
        // No thinner than the bond that it leads on to.
        if w.context.circuit.bond_beyond(plan, i).is_some() {
            out.take(&BOND_SMALL, || path_of(run), main_mm2.clone().and_then(|want| small(w, run, want)));
        }
        if link.role != Role::Bond {
            continue;
        }
        // The bond of a case follows its maker's sheet, and the least; that of the negative follows the lead.
        let case = |n: &Option<Node>| matches!(n, Some(Node::Inverter(_) | Node::Charger(_) | Node::Controller(_)));
        let of_case = [link.from, link.to].iter().any(case);
        if !of_case && !w.context.circuit.bonds_negative(plan, plus, i) {
            // From plus it is told as a short, and mended there.
            bonded |= w.context.circuit.joins_poles(plan, plus, i).is_some();
            astray = run.id.as_str();
            continue;
        }
        bonded |= !of_case;
        let want = if of_case { Ok(least) } else { main_mm2.clone() };
        out.take(&BOND_SMALL, || path_of(run), want.and_then(|want| small(w, run, want)));
    }
    let main_mm2 = match main_mm2 {
        Ok(mm2) => mm2,
        Err(missing) => return out.wait(missing.0),
    };
    if !bonded {
        let returns =
            plan.runs.iter().zip(links).any(|(r, l)| r.return_path == Return::Chassis && l.role != Role::Dead);
        let point = plan
            .devices
            .iter()
            .enumerate()
            .find(|(i, d)| d.state.stays() && device_kind(plan, Node::Device(*i)) == Some(DeviceKind::Chassis));
        let level = if returns || point.is_some() { Level::Caution } else { Level::Note };
        let subject = || match point {
            Some((_, d)) => FieldPath::of(&["devices", d.id.as_str()]),
            None => FieldPath::new("bank"),
        };
        let system = gauge_system(w);
        let size = thinnest_with(system, main_mm2).map_or_else(|| "the lead's size".to_string(), |g| g.to_string());
        let found = Finding::new(&BOND_MISSING, level, subject(), &[main_mm2], BOND.of(w.context.rules.basis))
            .named([size.as_str(), astray]);
        out.take(&BOND_MISSING, subject, Ok(Some(found)));
    }
}

fn gauge_system(w: &Work<'_>) -> Gauge {
    match w.context.plan.job.gauge_system {
        crate::plan::job::GaugeSystem::Awg => Gauge::Awg(0),
        crate::plan::job::GaugeSystem::Mm2 => Gauge::Mm2(0),
    }
}

fn small(w: &Work<'_>, run: &Run, want: f64) -> Outcome {
    let Some(area) = copper_mm2(run)? else { return Ok(None) };
    Ok((area < want - 1e-9).then(|| {
        let system = run.gauge.known().copied().unwrap_or(Gauge::Awg(0));
        let size = thinnest_with(system, want).map_or_else(|| "several in parallel".to_string(), |g| g.to_string());
        Finding::new(&BOND_SMALL, Level::Caution, path_of(run), &[area, want], BOND.of(w.context.rules.basis))
            .smaller_is_worse()
            .named([run.id.to_string(), size])
    }))
}
