//! Batteries in parallel that links join from post to post: how they share the bank's current, and what the links carry; what their
//! limits count for, by links and by leads of their own alike.

use crate::physics::links::{TakeOff, most_in_link, shares};
use crate::plan::power::Joined;
use crate::plan::{Figure, Known, Leg, Missing, State, YesNo};
use crate::standards::ampacity::{AmpacityCase, AmpacityRefusal};
use crate::standards::conductor::{Gauge, area_mm2, resistance_ohm_per_m};
use crate::standards::kinds::{Basis, Laid, Metal, Zone};
use crate::standards::small_wire::{next_standard_rating_a, small_wire_fuse_limit_a};
use crate::units::{Amps, Volts};

use super::bank::{charged, drawn_a};
use super::capacity::{LegCapacity, limit_c, solve};
use super::checks::rule_value_of;
use super::circuit::{Link, Node, Role, on_bank_side};
use super::context::{Context, missing};
use super::currents::{RunCurrents, Terminals, alone, bank_side, both};
use super::leads::{Leads, battery_ohm};
use super::let_through::{Through, all_rated, over_run};
use super::report::{LinkFigures, LoadFigures};

/// A bank whose batteries are joined by links.
#[derive(Clone, Debug)]
pub(super) struct Links {
    pub(super) take_off: TakeOff,
    /// Of one link, its lugs with it, and of one battery; not asked where the batteries are even whatever they are.
    pub(super) ohms: Option<(f64, f64)>,
    /// Part of the bank's current that each battery gives.
    pub(super) shares: Vec<f64>,
}

/// How the bank's batteries are joined. None where nobody has entered that links join them, or there is but one.
fn joined(c: &Context<'_>) -> Option<Figure<TakeOff>> {
    let bank = &c.plan.bank;
    let any = bank.joined.is_some() || bank.link_gauge.is_some();
    if !any || !bank.state.stays() || bank.parallel.known().is_none_or(|n| n.0 < 2.0) {
        return None;
    }
    match bank.joined {
        Some(Known::Is(Joined::Leads)) => None,
        Some(Known::Is(Joined::OneEnd)) => Some(Ok(TakeOff::OneEnd)),
        Some(Known::Is(Joined::Corners)) => Some(Ok(TakeOff::Corners)),
        Some(Known::Unknown) | None => Some(Err(missing("bank.joined"))),
    }
}

/// Whether leads of their own are drawn to batteries that are entered as joined by links: those count, links do not.
pub(super) fn drawn_besides(c: &Context<'_>) -> bool {
    matches!(joined(c), Some(Ok(_))) && !c.circuit.own_loops().is_empty()
}

impl Links {
    /// The bank's; none where its batteries are not joined by links.
    pub(super) fn of(c: &Context<'_>) -> Option<Figure<Self>> {
        let take_off = joined(c)?;
        c.circuit.own_loops().is_empty().then(|| Self::solved(c, take_off?))
    }

    fn solved(c: &Context<'_>, take_off: TakeOff) -> Figure<Self> {
        let count = c.parallel()? as usize;
        // Two at opposite corners have one link each on their way.
        if take_off == TakeOff::Corners && count == 2 {
            return Ok(Self { take_off, ohms: None, shares: vec![0.5; 2] });
        }
        let (gauge, each) = made_of(c)?;
        let (link_ohm, battery_ohm) = (link_ohm(c, gauge, each)?, battery_ohm(c)?);
        let shares = shares(take_off, count, link_ohm / battery_ohm.max(1e-9));
        Ok(Self { take_off, ohms: Some((link_ohm, battery_ohm)), shares })
    }

    /// Part of the battery that gives most: one at a take-off.
    pub(super) fn most(&self) -> f64 {
        self.shares.iter().copied().fold(0.0, f64::max)
    }

    /// Part of the battery that gives least.
    pub(super) fn least(&self) -> f64 {
        self.shares.iter().copied().fold(1.0, f64::min)
    }

    /// An even part.
    pub(super) fn even(&self) -> f64 {
        (self.shares.len().max(1) as f64).recip()
    }

    /// How far the worst is off an even part, percent of it.
    pub(super) fn apart_pct(&self) -> f64 {
        let even = self.even();
        (self.most() - even).max(even - self.least()) / even * 100.0
    }

    /// Part of the bank's current in the link that carries most.
    pub(super) fn in_link(&self) -> f64 {
        most_in_link(&self.shares)
    }
}

/// Part of the battery that gives most, by links or by leads of their own. None where nothing says that they are not even.
pub(super) fn most_given(c: &Context<'_>) -> Option<Figure<f64>> {
    if let Some(links) = Links::of(c) {
        return Some(links.map(|links| links.most()));
    }
    let lead = *c.circuit.own_loops().first()?.first()?;
    let leads = Leads::cold(c, lead)?;
    Some(leads.map(|leads| leads.shares().into_iter().fold(0.0, f64::max)))
}

/// So many batteries as their limits count for: the one that gives most comes to its own first.
pub(super) fn limited_as(c: &Context<'_>) -> Figure<f64> {
    most_given(c).map_or_else(|| c.parallel(), |most| Ok(most?.recip()))
}

/// Gauge, and cables side by side.
pub(super) fn made_of(c: &Context<'_>) -> Figure<(Gauge, f64)> {
    let gauge = c.plan.bank.link_gauge.as_ref().ok_or_else(|| missing("bank.link_gauge"))?;
    let each = each_of(c);
    Ok((gauge.at(|| "bank.link_gauge".into())?, each?))
}

/// Cables side by side in a link.
fn each_of(c: &Context<'_>) -> Figure<f64> {
    let each = c.plan.bank.links_each.as_ref();
    each.map_or(Ok(1.0), |n| n.at(|| "bank.links_each".into()).map(|n| n.0.max(1.0)))
}

/// Length of one.
fn long_m(c: &Context<'_>) -> Figure<f64> {
    let length = c.plan.bank.link_length_m.as_ref().ok_or_else(|| missing("bank.link_length_m"))?;
    Ok(length.at(|| "bank.link_length_m".into())?.0)
}

/// Whether a link is of several cables that are too thin to share: one counts then, in what it carries and in what it loses.
/// Source: NEC 310.10, the plan's rule holds the figure.
pub(super) fn is_too_thin(c: &Context<'_>, gauge: Gauge, each: f64) -> bool {
    each > 1.0 && area_mm2(gauge) < c.rules.parallel_least_mm2
}

/// Ohms of one link: cold, as leads are where they decide what batteries give; with a lug at each end of every cable that counts.
/// Source: NEC Ch. 9 Table 8 or IEC 60228 by the gauge's system; lugged joints by their rule.
fn link_ohm(c: &Context<'_>, gauge: Gauge, made: f64) -> Figure<f64> {
    ohm_at(c, gauge, made, c.rules.fault_cable_c)
}

/// The same as warm as its insulation stands.
fn most_ohm(c: &Context<'_>) -> Figure<f64> {
    let (gauge, made) = made_of(c)?;
    let insulation = c.plan.bank.link_insulation_c.as_ref().ok_or_else(|| missing("bank.link_insulation_c"))?;
    let warm_c = insulation.at(|| "bank.link_insulation_c".into())?.0;
    ohm_at(c, gauge, made, warm_c)
}

fn ohm_at(c: &Context<'_>, gauge: Gauge, made: f64, conductor_c: f64) -> Figure<f64> {
    let each = if is_too_thin(c, gauge, made) { 1.0 } else { made };
    let wire = resistance_ohm_per_m(gauge, Metal::Plain, conductor_c) * long_m(c)?;
    Ok((wire + 2.0 * c.rules.lugged_joint_mohm / 1000.0) / each)
}

/// What a link's ampacity rests on: copper in the open where the batteries stand.
pub(super) fn case(c: &Context<'_>, basis: Basis) -> Figure<AmpacityCase> {
    let (gauge, each) = made_of(c)?;
    case_of(c, basis, gauge, each)
}

fn case_of(c: &Context<'_>, basis: Basis, gauge: Gauge, each: f64) -> Figure<AmpacityCase> {
    let bank = &c.plan.bank;
    let insulation = bank.link_insulation_c.as_ref().ok_or_else(|| missing("bank.link_insulation_c"))?;
    let zone = bank.zone.ok_or_else(|| missing("bank.zone"))?;
    let terminal_c = limit_c(c, bank.ratings.terminal_c.as_ref(), || "bank.ratings.terminal_c".into());
    Ok(AmpacityCase {
        basis,
        gauge,
        metal: Metal::Plain,
        laid: Laid::Open,
        insulation_c: insulation.at(|| "bank.link_insulation_c".into())?.0,
        ambient_c: c.rules.ambient(zone),
        bundled: each as u32,
        parallel: each as u32,
        terminal_c: terminal_c?,
        engine_space: matches!(zone, Zone::EngineBay | Zone::Exhaust),
    })
}

/// The largest fuse at the bank's posts: what flows in a link as long as another battery is off, its management unit open or a post
/// loose, is what the bank gives, and no fuse but this stops more. None where each battery has a fuse of its own, or none is there.
/// Source: NEC 240.4: a conductor is protected at its ampacity; a link has nothing else ahead of it.
pub(super) fn fuse_ahead(c: &Context<'_>) -> Figure<Option<Through>> {
    if c.plan.bank.fused_each == YesNo::Yes {
        return Ok(None);
    }
    let runs = posts(c);
    all_rated(c, &runs)?;
    Ok(runs.into_iter().filter_map(|i| over_run(c, i)).max_by(|a, b| a.amps.total_cmp(&b.amps)))
}

/// What the fuses of all runs from the posts that loads or inverters hang on let through together: a link at a take-off carries their sum, as
/// no one of them opens below its own rating. What sources give is less than their fuses, and is held to what flows. None where there is one.
/// Source: Kirchhoff's current law; NEC 240.4.
pub(super) fn fuses_together(c: &Context<'_>) -> Option<Through> {
    let draws = |n: &Node| !matches!(n, Node::Controller(_) | Node::Charger(_)) || c.circuit.is_fed_by_bank(*n);
    let serves = |i: &usize| c.circuit.links.get(*i).is_some_and(|l| l.away.iter().any(draws));
    let all: Vec<Through> = posts(c).into_iter().filter(serves).filter_map(|i| over_run(c, i)).collect();
    if all.len() < 2 { None } else { all.into_iter().reduce(Through::plus) }
}

/// The runs that leave the bank's post.
fn posts(c: &Context<'_>) -> Vec<usize> {
    let of_post = |l: &Link| {
        l.near() == Some(Node::Bank) && l.from != l.to && on_bank_side(l.role) && l.role != Role::NegativeMain
    };
    (0..c.circuit.links.len()).filter(|i| c.circuit.links.get(*i).is_some_and(of_post)).collect()
}

/// The largest fuse that protects a link, as that of a run.
/// Source: NEC 240.4(B), never for 18 to 10 AWG; the plan's rule turns it off.
pub(super) fn fuse_most_a(c: &Context<'_>, gauge: Gauge, carries_a: f64) -> f64 {
    let rounds = c.rules.next_rating_up >= 0.5 && small_wire_fuse_limit_a(gauge).is_none() && carries_a > 0.0;
    next_standard_rating_a(carries_a).filter(|_| rounds).unwrap_or(carries_a)
}

/// The thinnest gauge that meets the rules of a link: it carries its current, and what it is left with alone; and leaves the batteries as even as is asked. Of the
/// system that its gauge or the plan has, within what the posts are known to take; none where none does both.
fn least(c: &Context<'_>, bank_a: &Figure<f64>) -> Figure<Option<Gauge>> {
    let Some(take_off) = joined(c) else { return Ok(None) };
    let (take_off, bank_a, each) = (take_off?, bank_a.clone()?, each_of(c)?);
    let (count, battery_ohm) = (c.parallel()? as usize, battery_ohm(c)?);
    let fuse_a = fuse_ahead(c)?.map_or(0.0, |fuse| fuse.amps);
    let bank = &c.plan.bank;
    let known = bank.link_gauge.as_ref().and_then(Known::known).copied();
    let system = known.unwrap_or_else(|| c.plan.job.gauge_system.thinnest());
    let mm2 = |size: &Option<Known<Gauge>>| size.as_ref().and_then(Known::known).map(|g| area_mm2(*g));
    let (thin, thick) = (mm2(&bank.ratings.smallest_wire), mm2(&bank.ratings.largest_wire));
    let limit = rule_value_of(c.plan, "uneven-battery-pct");
    for gauge in system.ladder().filter(|g| !is_too_thin(c, *g, each)) {
        let area = area_mm2(gauge);
        if thin.is_some_and(|least| area < least - 1e-9) || thick.is_some_and(|most| area > most + 1e-9) {
            continue;
        }
        let shares = shares(take_off, count, link_ohm(c, gauge, each)? / battery_ohm.max(1e-9));
        let links = Links { take_off, ohms: None, shares };
        let part = if bank.fused_each == YesNo::Yes { links.in_link() } else { 1.0 };
        let needs = part * bank_a * c.rules.conductor_factor;
        let carries = solve(c, &case_of(c, c.rules.basis, gauge, each)?).amps;
        if links.apart_pct() <= limit && carries >= needs && fuse_most_a(c, gauge, carries) >= fuse_a - 1e-9 {
            return Ok(Some(gauge));
        }
    }
    Ok(None)
}

/// The cables of the links that are bought with the batteries.
pub(super) struct Bought {
    pub(super) gauge: Gauge,
    /// What each is made of, as a leg of wire.
    pub(super) leg: Leg,
    /// In both poles.
    pub(super) count: f64,
    pub(super) metres: f64,
}

/// Those of a bank that is new; none where no links join its batteries, or they are there.
pub(super) fn bought(c: &Context<'_>) -> Option<Figure<Bought>> {
    let bank = &c.plan.bank;
    (joined(c).is_some() && bank.state == State::New && c.circuit.own_loops().is_empty()).then_some(())?;
    Some((|| {
        let ((gauge, each), long_m) = (made_of(c)?, long_m(c)?);
        let count = 2.0 * (c.parallel()? - 1.0) * each;
        let insulation_c = bank.link_insulation_c.unwrap_or(Known::Unknown);
        let leg = Leg { insulation_c, ..Leg::default() };
        Ok(Bought { gauge, leg, count, metres: count * long_m })
    })())
}

/// What a link may carry.
pub(super) fn capacity(c: &Context<'_>) -> Figure<LegCapacity> {
    let found = solve(c, &case(c, c.rules.basis)?);
    // What no column says is not known, and no zero.
    match found.refusal {
        Some(AmpacityRefusal::NoColumn { .. }) => Err(missing("bank.link_insulation_c")),
        _ => Ok(found),
    }
}

/// The links' figures; none where batteries are not joined by links.
pub(super) fn figures(c: &Context<'_>, t: &Terminals, loads: &LoadFigures) -> Option<LinkFigures> {
    let links = Links::of(c)?;
    let bank_a = drawn_a(c, t, loads).and_then(|drawn| Ok(drawn.max(charged(c, t)?.all_a()?)));
    let link_a = (|| Ok::<f64, Missing>(links.as_ref().map_err(Clone::clone)?.in_link() * bank_a.clone()?))();
    Some(LinkFigures {
        least: least(c, &bank_a),
        shares: links.map(|l| l.shares),
        bank_a: bank_a.map(Amps),
        link_v: link_a.clone().and_then(|amps| Ok(Volts(amps * most_ohm(c)?))),
        link_a: link_a.map(Amps),
        ampacity_a: capacity(c).map(|x| Amps(x.amps)),
    })
}

/// What flows in a run from the bank to itself. Of batteries in series alone it carries all that hangs on the bank; in parallel
/// it is a link, which is entered at the bank and carries nothing beside those.
pub(super) fn jumper(c: &Context<'_>, t: &Terminals, run: usize) -> RunCurrents {
    if c.plan.bank.parallel.known().is_none_or(|n| n.0 < 2.0) {
        return bank_side(c, t, run, &c.circuit.on_bank(), true);
    }
    match c.plan.bank.joined {
        Some(Known::Is(_)) => alone(both(Ok(0.0), "the bank's links are entered at the bank")),
        _ => alone(both(Err(missing("bank.joined")), "a link between batteries is entered at the bank")),
    }
}
