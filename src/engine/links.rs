//! Batteries in parallel that links join from post to post: how they share the bank's current, and what the links carry.

use crate::physics::links::{TakeOff, most_in_link, shares};
use crate::plan::power::Joined;
use crate::plan::{Figure, Known, Missing};
use crate::standards::ampacity::{AmpacityCase, AmpacityRefusal};
use crate::standards::conductor::{Gauge, resistance_ohm_per_m};
use crate::standards::kinds::{Basis, Laid, Metal, Zone};
use crate::units::Amps;

use super::bank::{charged, drawn_a};
use super::capacity::{LegCapacity, solve};
use super::context::{Context, missing};
use super::currents::{RunCurrents, Terminals, alone, bank_side, both};
use super::leads::battery_ohm;
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
        let (link_ohm, battery_ohm) = (link_ohm(c)?, battery_ohm(c)?);
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

/// So many batteries as their limits count for: the one that gives most comes to its own first.
pub(super) fn limited_as(c: &Context<'_>) -> Figure<f64> {
    match Links::of(c) {
        None => c.parallel(),
        Some(links) => Ok(links?.most().recip()),
    }
}

/// Gauge, and cables side by side.
pub(super) fn made_of(c: &Context<'_>) -> Figure<(Gauge, f64)> {
    let bank = &c.plan.bank;
    let gauge = bank.link_gauge.as_ref().ok_or_else(|| missing("bank.link_gauge"))?;
    let each = bank.links_each.as_ref().map_or(Ok(1.0), |n| n.at(|| "bank.links_each".into()).map(|n| n.0.max(1.0)));
    Ok((gauge.at(|| "bank.link_gauge".into())?, each?))
}

/// Ohms of one link: cold, as leads are where they decide what batteries give; with a lug at each end of every cable.
/// Source: NEC Ch. 9 Table 8 or IEC 60228 by the gauge's system; lugged joints by their rule.
fn link_ohm(c: &Context<'_>) -> Figure<f64> {
    let (gauge, each) = made_of(c)?;
    let length = c.plan.bank.link_length_m.as_ref().ok_or_else(|| missing("bank.link_length_m"))?;
    let metres = length.at(|| "bank.link_length_m".into())?.0;
    let wire = resistance_ohm_per_m(gauge, Metal::Plain, c.rules.fault_cable_c) * metres;
    Ok((wire + 2.0 * c.rules.lugged_joint_mohm / 1000.0) / each)
}

/// What a link's ampacity rests on: copper in the open where the batteries stand.
pub(super) fn case(c: &Context<'_>, basis: Basis) -> Figure<AmpacityCase> {
    let (gauge, each) = made_of(c)?;
    let bank = &c.plan.bank;
    let insulation = bank.link_insulation_c.as_ref().ok_or_else(|| missing("bank.link_insulation_c"))?;
    let zone = bank.zone.ok_or_else(|| missing("bank.zone"))?;
    let terminal = bank.ratings.terminal_c.as_ref();
    let terminal_c =
        terminal.map_or(Ok(c.rules.terminal_c), |t| t.at(|| "bank.ratings.terminal_c".into()).map(|t| t.0));
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
        shares: links.map(|l| l.shares),
        bank_a: bank_a.map(Amps),
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
