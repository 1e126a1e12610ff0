//! Fuses: the limits of their rating, the one the program would fit, and the end it belongs at.

mod behind;
mod panel;

use crate::plan::{DeviceKind, Figure, Known, Leg, Missing, Protection, Run};
use crate::standards::cited::{AMPACITY, INSTRUCTIONS};
use crate::standards::fuse::{Purpose, dc_volts, interrupt_a, ratings as fuse_ratings, smallest_at_least, usual};
use crate::standards::kinds::{Basis, FuseFamily};
use crate::standards::small_wire::{SMALL_WIRE, next_standard_rating_a, small_wire_fuse_limit_a};
use crate::stock::Fuse;
use crate::units::{Amps, Volts};

use super::capacity::{RunCapacity, leg_capacities, ratings};
use super::circuit::{Link, Node, Role, device_kind};
use super::context::Context;
use super::converted;
use super::currents::step_down;
use super::fault::{self, Source};
use super::inflow;
use super::report::{FuseFigures, Proposed, Why};
use super::resistance::{fuse_path, fuses, gauge_of, leg_path, legs};
use super::starting;
use super::vehicle;
use crate::plan::wiring::{FuseAt, Pole};

pub(super) use panel::{goes_in_panel, panel_of};

/// Limits of a run's fuse.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limits {
    /// At least.
    pub(super) least_a: f64,
    /// At most, without the next-rating-up rule.
    pub(super) strict_a: f64,
    /// At most, with it where it applies.
    pub(super) most_a: f64,
    /// Corrected ampacity.
    pub(super) ampacity_a: f64,
    /// At most by the rule for small wire.
    pub(super) small_a: Option<f64>,
    /// At most by the sheet of what it feeds.
    pub(super) device_a: Option<f64>,
}

/// What decides the largest fuse of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bound {
    Ampacity,
    SmallWire,
    Device,
}

impl Limits {
    /// What decides: the lowest; the wire where several say the same.
    pub(super) fn bound(&self) -> Bound {
        let (small, device) = (self.small_a.unwrap_or(f64::MAX), self.device_a.unwrap_or(f64::MAX));
        if self.strict_a + 1e-9 < small.min(device) {
            Bound::Ampacity
        } else if small <= device {
            Bound::SmallWire
        } else {
            Bound::Device
        }
    }

    /// The document that decides the largest fuse under a basis.
    pub(super) fn cited(&self, basis: Basis) -> &'static crate::standards::Source {
        match self.bound() {
            Bound::Ampacity => AMPACITY.of(basis),
            Bound::SmallWire => &SMALL_WIRE,
            Bound::Device => INSTRUCTIONS.of(basis),
        }
    }

    /// What is reported: the strict limit, unless only the next rating up leaves room.
    pub(super) fn shown(&self) -> (f64, bool) {
        let fits =
            crate::standards::small_wire::STANDARD_RATINGS.iter().any(|r| *r >= self.least_a && *r <= self.strict_a);
        if !fits && self.most_a > self.strict_a && self.most_a >= self.least_a {
            (self.most_a, true)
        } else {
            (self.strict_a, false)
        }
    }
}

/// Small-wire fuse limit of the thinnest of some legs, if its rule is on.
fn small_wire_a<'r>(c: &Context<'_>, run: &Run, legs: impl Iterator<Item = &'r Leg>) -> Figure<Option<f64>> {
    let mut least: Option<f64> = None;
    if c.rules.small_wire_limits >= 0.5 {
        for leg in legs {
            if let Some(limit) = small_wire_fuse_limit_a(gauge_of(run, leg)?) {
                least = Some(least.map_or(limit, |l| l.min(limit)));
            }
        }
    }
    Ok(least)
}

/// Whether any of some legs is of the sizes that the rule of the next rating up never holds for, whatever the basis, and
/// whether or not their own limits are on.
/// Source: NEC 240.4(B) and (D), 18 to 10 AWG; metric sizes no thicker by the same reasoning.
fn is_small<'r>(run: &Run, mut legs: impl Iterator<Item = &'r Leg>) -> Figure<bool> {
    legs.try_fold(false, |small, leg| Ok(small || small_wire_fuse_limit_a(gauge_of(run, leg)?).is_some()))
}

/// Whose instructions name the largest fuse of a run, by its id.
pub(super) fn device_ahead_of(c: &Context<'_>, index: usize) -> Option<String> {
    device_limit(c, index).ok().flatten().map(|(_, id)| id)
}

/// Largest fuse that instructions allow on a run, and whose they are: those of what it feeds, and of the batteries where it
/// leaves their post. In a lead that several batteries share one fuse stands for one at each.
fn device_limit(c: &Context<'_>, index: usize) -> Figure<Option<(f64, String)>> {
    let Some(link) = c.circuit.links.get(index) else { return Ok(None) };
    let mut least: Option<(f64, String)> = None;
    for node in [link.far(), link.near().filter(|n| *n == Node::Bank)].into_iter().flatten() {
        let Some((ratings, path)) = ratings(c, node) else { continue };
        let Some(most) = &ratings.max_fuse_a else { continue };
        let each_a = most.at(|| path("ratings.max_fuse_a"))?.0;
        let shared = node == Node::Bank && c.circuit.own_way_of(index).is_none();
        let most_a = if shared { each_a * c.parallel()? } else { each_a };
        if least.as_ref().is_none_or(|(a, _)| most_a < *a) {
            let (owner, _) = path("max_fuse_a").split_last();
            let id = owner.segments().last().unwrap_or_default().to_string();
            least = Some((most_a, if id == "bank" { crate::plan::BANK_ID.into() } else { id }));
        }
    }
    Ok(least)
}

/// Largest fuse for an ampacity, strictly and with the next rating up.
///
/// Source: NEC 240.4(B), 240.6(A); former NEC 551.10, NEC 552.10(E)(1) for small wire.
pub(super) fn limits(c: &Context<'_>, index: usize, run: &Run, ampacity_a: f64, design_a: f64) -> Figure<Limits> {
    let small = Small { limit_a: small_wire_a(c, run, legs(run))?, any: is_small(run, legs(run))? };
    limits_with(c, index, small, ampacity_a, design_a)
}

/// What the smallest wires of some legs ask for.
#[derive(Clone, Copy)]
struct Small {
    /// Their own limit, where its rule is on.
    limit_a: Option<f64>,
    /// Whether there are any.
    any: bool,
}

/// What a fuse's rating is at least times of the design current of its run.
pub(super) fn fuse_factor(c: &Context<'_>, index: usize) -> f64 {
    match c.circuit.links.get(index).map(|l| l.role) {
        Some(Role::ChargerInput) => c.rules.alternator_line_factor,
        _ => c.rules.fuse_factor,
    }
}

fn limits_with(c: &Context<'_>, index: usize, small: Small, ampacity_a: f64, design_a: f64) -> Figure<Limits> {
    let device = device_limit(c, index)?.map(|(amps, _)| amps);
    let others = [small.limit_a, device].into_iter().flatten().fold(f64::MAX, f64::min);
    let strict_a = ampacity_a.min(others);
    let up = if c.rules.next_rating_up >= 0.5 && !small.any && ampacity_a > 0.0 {
        next_standard_rating_a(ampacity_a).unwrap_or(ampacity_a)
    } else {
        ampacity_a
    };
    // A sense lead carries milliamps: its fuse is that of the lead.
    let senses = c.circuit.links.get(index).is_some_and(|l| l.role == Role::Sense);
    let lead_a = if senses { c.rules.shunt_sense_fuse_a } else { 0.0 };
    Ok(Limits {
        least_a: (fuse_factor(c, index) * design_a).max(lead_a),
        strict_a,
        most_a: up.min(others),
        ampacity_a,
        small_a: small.limit_a,
        device_a: device,
    })
}

/// Highest volts at the bank's posts: what its chemistry or its label takes, and what any charger that stays is set to,
/// equalising where it is on. Settings nobody has entered are unknowns of their own.
pub(super) fn highest_v(c: &Context<'_>) -> Figure<f64> {
    let plan = c.plan;
    let mut most = c.high_v()?;
    let label = plan.bank.max_charge_v.as_ref().and_then(|k| k.known());
    if let Some(Volts(v)) = label {
        most = most.max(v * c.series()?);
    }
    let mut take = |set: Option<&crate::plan::Known<Volts>>| {
        most = set.and_then(|k| k.known()).map_or(most, |v| most.max(v.0));
    };
    // What charges a start battery alone has that one's volts, what stands behind a converter those there.
    let apart = |node: Node| c.circuit.charges_start(node).is_some() || c.circuit.beyond(node).is_some();
    for (i, k) in plan.controllers.iter().enumerate().filter(|(_, k)| k.state.stays()) {
        if apart(Node::Controller(i)) {
            continue;
        }
        take(Some(&k.absorb_v));
        take(k.float_v.as_ref());
        take(k.equalise_v.as_ref());
    }
    for (i, k) in plan.chargers.iter().enumerate().filter(|(_, k)| k.state.stays()) {
        if apart(Node::Charger(i)) {
            continue;
        }
        take(Some(&k.absorb_v));
        take(k.float_v.as_ref());
        take(k.equalise_v.as_ref());
    }
    Ok(most)
}

/// Highest volts of a run's circuit. Behind a converter those there, which no charger of the bank raises.
pub(super) fn circuit_v(c: &Context<'_>, index: usize, voc: &[Figure<Volts>]) -> Figure<f64> {
    let Some(link) = c.circuit.links.get(index) else { return c.posts_most_v() };
    match link.role {
        Role::Array => {
            let mut most = 0.0_f64;
            for node in &link.away {
                if let Node::Array(i) = node
                    && let Some(v) = voc.get(*i)
                {
                    most = most.max(v.clone()?.0);
                }
            }
            Ok(most)
        }
        Role::ChargerInput | Role::StartLead => Ok(vehicle::highest_v(c, index)),
        _ if vehicle::from_start(c, index).is_some() => Ok(vehicle::highest_v(c, index)),
        // The minus of a vehicle's line, drawn by itself, stands against that line's plus.
        Role::NegativeMain if let Some(charger) = c.circuit.line_negatives_of(index).next() => {
            let is_line = |l: &Link| l.role == Role::ChargerInput && l.away.contains(&Node::Charger(charger));
            let line = c.circuit.links.iter().position(is_line);
            Ok(vehicle::highest_v(c, line.unwrap_or(index)))
        }
        _ => match step_down(c, index)? {
            times if times > 1.0 => Ok(converted::highest_v(c, index)),
            _ => c.posts_most_v(),
        },
    }
}

/// Rated DC volts of a fuse: its own sheet's, or its family's.
pub(super) fn fuse_volts(run: &Run, fuse: &Protection) -> Figure<f64> {
    match &fuse.volts_dc_v {
        Some(v) => v.at(|| fuse_path(run, fuse, "volts_dc_v")).map(|v| v.0),
        None => {
            let family = fuse.family.at(|| fuse_path(run, fuse, "family"))?;
            dc_volts(family).ok_or_else(|| Missing(fuse_path(run, fuse, "volts_dc_v")))
        }
    }
}

/// What a fuse can interrupt at these volts: its own sheet's figure, or its family's; nothing above its family's volts.
fn fuse_interrupt_a(run: &Run, fuse: &Protection, volts: f64) -> Figure<f64> {
    match &fuse.interrupt_a {
        Some(a) => a.at(|| fuse_path(run, fuse, "interrupt_a")).map(|a| a.0),
        None => {
            let family = fuse.family.at(|| fuse_path(run, fuse, "family"))?;
            if family == FuseFamily::Breaker {
                return Err(Missing(fuse_path(run, fuse, "interrupt_a")));
            }
            Ok(interrupt_a(family, volts).unwrap_or(0.0))
        }
    }
}

/// The figures of a run's fuses.
pub(super) fn fuse_figures(
    c: &Context<'_>,
    source: &Figure<Source>,
    index: usize,
    run: &Run,
    voc: &[Figure<Volts>],
) -> Vec<FuseFigures> {
    fuses(run)
        .map(|fuse| {
            let volts = circuit_v(c, index, voc);
            let fault = fault::at_fuse(c, source, index, run, fuse).unwrap_or_else(super::report::none_yet);
            FuseFigures {
                id: fuse.id.clone(),
                amps: fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a")),
                family: fuse.family.at(|| fuse_path(run, fuse, "family")),
                margin: fault.as_ref().map_or(c.rules.interrupt_margin, |f| f.margin),
                fault_a: fault.map(|f| Amps(f.amps)),
                interrupt_a: volts.clone().and_then(|v| fuse_interrupt_a(run, fuse, v)).map(Amps),
                circuit_v: volts.map(Volts),
            }
        })
        .collect()
}

/// Whether a fuse protects one string of several on its run: it sits at the array's end, before the strings are joined.
/// At the other end there is one fuse, and all their current goes through it.
pub(super) fn is_string_fuse(c: &Context<'_>, index: usize, fuse: &Protection) -> bool {
    let Some(link) = c.circuit.links.get(index) else { return false };
    let at_array = |(end, node): (FuseAt, Option<Node>)| matches!(node, Some(Node::Array(_))) && fuse.at == end;
    link.role == Role::Array
        && fuse.family.known() == Some(&FuseFamily::Gpv)
        && [(FuseAt::From, link.from), (FuseAt::To, link.to)].into_iter().any(at_array)
        && strings_on(c, index) >= 2
}

/// Strings on a run that leaves an array; one at least.
pub(super) fn strings_on(c: &Context<'_>, index: usize) -> usize {
    let Some(link) = c.circuit.links.get(index) else { return 1 };
    let array = [link.from, link.to].into_iter().flatten().find_map(|n| match n {
        Node::Array(i) => c.plan.arrays.get(i),
        _ => None,
    });
    let all = array.map_or(1, |a| a.strings.0.len().max(1));
    c.circuit.string_leads_of(c.plan, index).map_or(all, |leads| leads.each.unwrap_or(1))
}

/// How many fuses one entry stands for: a string fuse is in every string of its array.
pub(super) fn fuses_of(c: &Context<'_>, index: usize, fuse: &Protection) -> f64 {
    if is_string_fuse(c, index, fuse) { strings_on(c, index) as f64 } else { 1.0 }
}

/// Whether a run is the engine's starter cable, straight from its battery: no fuse stands its current.
fn is_starter_cable(c: &Context<'_>, link: &Link) -> bool {
    let battery = link.near().is_some_and(|n| device_kind(c.plan, n) == Some(DeviceKind::StartBattery));
    battery && matches!(link.far(), Some(Node::Load(i)) if starting::is_starter(c.plan, i))
}

/// Whether nothing but the engine's own starter hangs on a run: it runs for seconds.
pub(super) fn is_of_starter(c: &Context<'_>, index: usize) -> bool {
    let is_starter = |n: &Node| matches!(n, Node::Load(i) if starting::is_starter(c.plan, *i));
    let away = c.circuit.links.get(index).filter(|l| l.role == Role::LoadBranch).map_or(&[][..], |l| &l.away);
    !away.is_empty() && away.iter().all(is_starter)
}

/// Whether a run's source end wants a fuse at all.
pub(super) fn wants_fuse(c: &Context<'_>, index: usize) -> bool {
    let Some(link) = c.circuit.links.get(index) else { return false };
    match link.role {
        Role::Array | Role::Bond | Role::NegativeMain | Role::Dead => false,
        // Where it begins nobody knows.
        _ if link.near().is_none() => false,
        // A jumper between batteries in the bank's own box.
        Role::Open if link.from == Some(Node::Bank) && link.from == link.to => false,
        // One that leads nowhere yet is live from the bank's post all the same.
        Role::Open => link.near() == Some(Node::Bank) || !link.upstream.is_empty(),
        Role::LoadBranch if is_starter_cable(c, link) => false,
        // The factory's own lead from the alternator is original equipment, as the starter cable is.
        Role::StartLead => {
            let mut stays = c.plan.runs.get(index).map(legs).into_iter().flatten().peekable();
            stays.peek().is_none() || stays.any(|l| l.state != crate::plan::State::Existing)
        }
        // Links between posts of one bank stay silent.
        Role::BatteryLink => link.from != link.to && !(link.from == Some(Node::Bank) && link.to == Some(Node::Bank)),
        _ => true,
    }
}

fn purpose(c: &Context<'_>, index: usize) -> Purpose {
    let Some(link) = c.circuit.links.get(index) else { return Purpose::Branch };
    let at_post = link.near() == Some(Node::Bank);
    let lithium = c.chemistry().is_ok_and(|r| r.chemistry.is_lithium());
    match (link.role, at_post) {
        (Role::Array, _) => Purpose::PvString,
        (_, true) if lithium => Purpose::LithiumMain,
        (_, true) => Purpose::LeadMain,
        (Role::LoadBranch, _) => Purpose::Branch,
        _ => Purpose::Feeder,
    }
}

/// What a proposed fuse has to stand.
#[derive(Clone, Copy)]
pub(super) struct Duty {
    /// What it must be able to open, margin included.
    pub(super) opens_a: Option<f64>,
    pub(super) volts: f64,
}

/// Families a fuse of a battery-side run may be of, after the usual one, in the order tried.
const FAMILIES: [FuseFamily; 5] =
    [FuseFamily::BladeC, FuseFamily::Sf30, FuseFamily::BoltOnStud, FuseFamily::Sf51, FuseFamily::ClassT];

/// Whether a family stands the volts and opens the fault.
fn stands(family: FuseFamily, duty: Duty) -> bool {
    let need = duty.opens_a.unwrap_or(0.0);
    let opens = interrupt_a(family, duty.volts).is_some_and(|i| i >= need);
    opens && dc_volts(family).is_some_and(|v| v >= duty.volts)
}

/// The runs that hang on a feeder with nothing between: what draws behind it.
pub(super) fn branches<'a>(c: &'a Context<'_>, index: usize) -> impl Iterator<Item = (usize, &'a Run)> {
    let draws = |l: &Link| matches!(l.role, Role::LoadBranch | Role::PanelFeed);
    let feeds = |l: &&Link| l.role == Role::PanelFeed || (draws(l) && l.away.len() > 1);
    let any = c.circuit.links.get(index).filter(feeds).is_some();
    let runs = c.plan.runs.iter().zip(&c.circuit.links).enumerate().take(if any { usize::MAX } else { 0 });
    // Behind a converter other amps flow.
    let same = move |i: usize| matches!((step_down(c, i), step_down(c, index)), (Ok(a), Ok(b)) if a == b);
    let behind = runs.filter(move |(i, (_, l))| draws(l) && l.upstream.last() == Some(&index) && same(*i));
    behind.map(|(i, (run, _))| (i, run))
}

/// The largest fuse behind a feeder: a smaller one ahead of it opens first at a fault there, and takes the others along.
///
/// Source: common practice.
pub(super) fn largest_behind<'a>(c: &'a Context<'_>, index: usize) -> Option<(f64, &'a Run)> {
    let rated = |(_, run): (usize, &'a Run)| Some((fuses(run).next()?.amps_a.known()?.0, run));
    branches(c, index).filter_map(rated).max_by(|a, b| a.0.total_cmp(&b.0))
}

/// The fuse the program would fit; none where none belongs or none fits.
///
/// A fuse that is on the van comes first, then the smallest standard rating; the next rating up above the ampacity
/// only where nothing else fits. A feeder's is no smaller than those behind it where its wire has room for that.
pub(super) fn propose(c: &Context<'_>, index: usize, limits: &Limits, duty: Duty) -> Option<Proposed> {
    if !wants_fuse(c, index) || limits.least_a <= 0.0 {
        return None;
    }
    let near_from = c.circuit.links.get(index)?.near_from;
    // A battery's own lead has its first at the battery.
    let looped = inflow::is_on_loop(c, index) || inflow::is_fused_at_battery(c, index);
    let wanting = looped.then(|| inflow::wanting_from(c, index, limits)).flatten();
    let at_from = wanting.unwrap_or(near_from);
    let first = usual(purpose(c, index), limits.least_a, duty.volts);
    let others = FAMILIES.into_iter().filter(|f| *f != first.family);
    let families = std::iter::once(first.family).chain(others).filter(|f| stands(*f, duty));
    let unusual = |most: f64| not_usual(first.family, limits.least_a, most, duty);
    let built =
        |family: FuseFamily, amps: f64, why: Why| Some(Proposed { family, amps: Amps(amps), at_from, looped, why });
    let stud = (purpose(c, index) == Purpose::LeadMain && first.family == FuseFamily::ClassT)
        .then(|| no_stud_fuse(limits.least_a, duty));
    let floor_a = behind::largest_a(c, index).max(limits.least_a);
    let tried = [(floor_a, limits.strict_a), (limits.least_a, limits.strict_a), (limits.least_a, limits.most_a)];
    // What goes into a panel's own ways first, whatever else the van carries.
    let in_panel = panel_of(c, index).is_some() && goes_in_panel(first.family);
    for own in [true, false].into_iter().skip(usize::from(!in_panel)) {
        let families = families.clone().filter(|f| !own || *f == first.family);
        for (least_a, most) in tried {
            for family in families.clone() {
                if let Some(amps) = on_van(c.van_fuses, family, least_a, most) {
                    return built(family, amps, Why::Said("carried on the van"));
                }
            }
            for family in families.clone() {
                if let Some(amps) = smallest_at_least(family, least_a).filter(|a| *a <= most) {
                    let usual = family == first.family;
                    let why = match (usual, stud) {
                        (true, Some(why)) => why,
                        (true, None) => Why::Said(first.reason),
                        (false, _) => unusual(most),
                    };
                    return built(family, amps, why);
                }
            }
        }
    }
    None
}

/// Why a fuse is not of the usual family.
fn not_usual(usual: FuseFamily, least_a: f64, most_a: f64, duty: Duty) -> Why {
    let volts = duty.volts;
    let is_made = dc_volts(usual).is_some_and(|v| v >= volts);
    match (interrupt_a(usual, volts).filter(|_| is_made), duty.opens_a) {
        (None, _) => Why::NotMade { usual, volts },
        (Some(opens_a), Some(needed_a)) if opens_a < needed_a => Why::OpensLess { usual, volts, opens_a, needed_a },
        (Some(_), _) => Why::NoRating { usual, least_a, most_a },
    }
}

/// Why no fuse on the battery's stud will do.
fn no_stud_fuse(least_a: f64, duty: Duty) -> Why {
    let most_a = fuse_ratings(FuseFamily::BoltOnStud).iter().copied().fold(0.0, f64::max);
    let volts = duty.volts;
    match (interrupt_a(FuseFamily::BoltOnStud, volts), duty.opens_a) {
        _ if least_a > most_a => Why::StudEnds { most_a, needed_a: least_a },
        (Some(opens_a), Some(needed_a)) if opens_a < needed_a => Why::StudOpensLess { volts, opens_a, needed_a },
        (Some(opens_a), _) => Why::StudOpens { volts, opens_a },
        (None, _) => Why::StudNotMade { volts },
    }
}

/// The family that a fuse of a run would usually be of, whether or not its wire leaves a rating for it.
///
/// By the table of usual families.
pub(super) fn usual_family(c: &Context<'_>, index: usize, least_a: f64, volts: f64) -> FuseFamily {
    usual(purpose(c, index), least_a, volts).family
}

/// The smallest rating of a family on the van within these limits, that the family is really made in.
fn on_van(fuses: &[Fuse], family: FuseFamily, least_a: f64, most_a: f64) -> Option<f64> {
    let there = fuses.iter().filter(|f| f.count.known().is_some_and(|n| n.0 >= 1.0));
    let same = there.filter(|f| f.family.known() == Some(&family)).filter_map(|f| f.amps_a.known().map(|a| a.0));
    same.filter(|a| *a >= least_a && *a <= most_a && fuse_ratings(family).contains(a)).min_by(f64::total_cmp)
}

/// The limits of a fuse's rating by the legs that it protects, whatever flows there: its own, those beyond it as far as the next
/// fuse on the wire, and those ahead of it where no other fuse is: as much as it lets through flows there too.
/// Source: NEC 240.21, wire ahead of the first fuse carries that fuse's rating at least.
/// One at the end that faces away from the source is held to all of them, and so is one on a loop, which is fed from both.
pub(super) fn protected(
    c: &Context<'_>,
    index: usize,
    run: &Run,
    fuse: &Protection,
    whole: &RunCapacity,
    design_a: f64,
) -> Figure<Limits> {
    if inflow::is_on_loop(c, index) {
        return limits(c, index, run, whole.weakest.amps, design_a);
    }
    let near_from = c.circuit.links.get(index).is_none_or(|l| l.near_from);
    let nearer = |i: usize, than: usize| if near_from { i < than } else { i > than };
    let own = match fuse.at {
        FuseAt::Leg => Some(leg_place(run, fuse)?),
        at if (at == FuseAt::From) == near_from => None,
        _ => return limits(c, index, run, whole.weakest.amps, design_a),
    };
    let mut next: Vec<(usize, f64)> = Vec::new();
    // What opens the negative alone leaves a fault to the chassis to the fuse ahead of it.
    for other in fuses(run).filter(|f| f.at == FuseAt::Leg && f.pole == Pole::Positive && f.id != fuse.id) {
        let there = leg_place(run, other)?;
        if own.is_none_or(|own| nearer(own, there)) {
            next.push((there, leg_distance_m(run, other, there, near_from)?));
        }
    }
    if own.is_none() && next.is_empty() {
        return limits(c, index, run, whole.weakest.amps, design_a);
    }
    let (_, most_m) = distance_limits(c, index, run);
    let mut stay = (0..run.legs.len()).filter(|i| run.legs.get(*i).is_some_and(|l| l.state.stays()));
    let first = own
        .filter(|own| !is_first(c, index, run, fuse, *own))
        .or_else(|| if near_from { stay.next() } else { stay.next_back() });
    let protects = |i: usize| {
        let behind_next = next.iter().any(|(at, m)| nearer(*at, i) || (*at == i && *m <= most_m + 1e-6));
        first.is_some_and(|first| i == first || (nearer(first, i) && !behind_next))
    };
    let all = leg_capacities(c, index, run)?;
    let own = || all.iter().filter(|(i, _)| protects(*i));
    let of = || own().filter_map(|(i, _)| run.legs.get(*i));
    let small = Small { limit_a: small_wire_a(c, run, of())?, any: is_small(run, of())? };
    limits_with(c, index, small, own().map(|(_, l)| l.amps).fold(f64::MAX, f64::min).min(1e9), design_a)
}

/// Whether a fuse at a leg is the first from the source: none nearer on its run, none on what feeds that.
fn is_first(c: &Context<'_>, index: usize, run: &Run, fuse: &Protection, own: usize) -> bool {
    let Some(link) = c.circuit.links.get(index) else { return false };
    let nearer = |other: &Protection| match other.at {
        // One whose leg is not known may be nearer.
        FuseAt::Leg => leg_place(run, other).map_or(true, |at| if link.near_from { at <= own } else { at >= own }),
        at => (at == FuseAt::From) == link.near_from,
    };
    let fused = |i: &usize| c.plan.runs.get(*i).is_some_and(|r| fuses(r).next().is_some());
    fuse.pole == Pole::Positive
        && !fuses(run).any(|other| other.id != fuse.id && other.pole == Pole::Positive && nearer(other))
        && !link.upstream.iter().any(fused)
}

/// The leg that a fuse sits at, by its place in the run.
fn leg_place(run: &Run, fuse: &Protection) -> Figure<usize> {
    let path = || fuse_path(run, fuse, "leg");
    let id = fuse.leg.as_ref().ok_or_else(|| Missing(path()))?.at(path)?;
    run.legs.iter().position(|l| l.id == id).ok_or_else(|| Missing(path()))
}

/// Wire of its leg ahead of a fuse, from the end that faces the source, m.
fn leg_distance_m(run: &Run, fuse: &Protection, place: usize, near_from: bool) -> Figure<f64> {
    let metres = fuse.distance_m.at(|| fuse_path(run, fuse, "distance_m"))?.0;
    match run.legs.get(place) {
        Some(leg) if !near_from => Ok((leg.length_m.at(|| leg_path(run, leg, "length_m"))?.0 - metres).max(0.0)),
        _ => Ok(metres),
    }
}

/// Furthest that a fuse may sit from the source, m: `(silent up to, stop beyond)`.
///
/// Source: NEC 552.10(E)(4), 33 CFR 183.455, ISO 10133; ABYC E-11 at a post, from memory.
pub(super) fn distance_limits(c: &Context<'_>, index: usize, run: &Run) -> (f64, f64) {
    distance_limits_at(c, run, c.circuit.links.get(index).and_then(super::circuit::Link::near))
}

/// The same from one end of a run.
///
/// Source: as for [`distance_limits`].
pub(super) fn distance_limits_at(c: &Context<'_>, run: &Run, end: Option<Node>) -> (f64, f64) {
    // What nobody has said of is not taken to be sheathed: the shorter distance counts.
    let enclosed = Known::Is(crate::standards::kinds::Laid::Enclosed);
    let sheathed = legs(run).next().is_some() && legs(run).all(|l| l.laid == enclosed);
    let at_post = end == Some(Node::Bank);
    let most = match (sheathed, at_post) {
        (false, _) => c.rules.fuse_distance_m,
        (true, false) => c.rules.fuse_distance_sheathed_m,
        (true, true) => c.rules.fuse_distance_post_m,
    };
    let silent = if sheathed && c.rules.basis == Basis::Marine { most } else { c.rules.fuse_distance_note_m };
    (silent.min(most), most)
}
