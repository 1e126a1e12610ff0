//! The small parts that a job wants beside its equipment, wire and fuses, reckoned from the drawing: lugs and other ends of new wire,
//! what comes in through the roof, sealant, spare fuses. Made when it is shown, and where a price has nothing for it.

use crate::arrange::Arrange;
use crate::plan::wiring::{FuseAt, Protection};
use crate::plan::{DeviceKind, Figure, Id, Leg, Missing, Plan, Run, State};
use crate::standards::conductor::Gauge;
use crate::standards::kinds::{FuseFamily, Mount, Zone};
use crate::standards::lug::Stud;
use crate::units::Amps;

use super::circuit::{Circuit, Node, Role, device_kind};
use super::context::Context;
use super::links::bought;
use super::price::wire_ends;
use super::resistance::{gauge_of, leg_path, legs};
use super::roof::only_adhesive;

/// Lugs more of each size than there are ends. Source: common practice, two of each size.
pub const SPARE_LUGS: usize = 2;
/// Mounting feet that a tube of sealant of 10 oz does. Source: common practice, 8 to 12; the fewer, so that it is enough.
pub const FEET_A_TUBE: f64 = 8.0;

/// Ends of a conductor at a fuse holder that stands in it. Source: the drawing, one on each side.
const HOLDER_ENDS: usize = 2;

/// What an end of wire wants a lug for: its gauge and the stud, where they are known.
pub type EndOf = (Option<Gauge>, Option<Stud>);

/// Small parts by the drawing. What nobody has entered is left open in each of them, never guessed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SmallParts {
    /// Ends of new wire, and of wire cut for a new fuse, by their gauge, where it is known, and the stud they lie on. Without a stud: a lug, or a ferrule in a clamp.
    pub ends: Vec<(EndOf, usize)>,
    /// Conductors of new runs that come in through the roof, by their run.
    pub through_roof: Vec<(Id, Figure<usize>)>,
    /// Feet of new panels that are sealed to the roof; none where there are no such panels.
    pub feet: Option<Figure<f64>>,
    /// New fuses by family and rating, where these are known: a spare of each. Breakers are reset, and want none.
    pub fuses: Vec<(Option<(FuseFamily, Amps)>, usize)>,
}

impl SmallParts {
    /// Those of a plan.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        let (circuit, _) = Circuit::of(plan);
        let mut all = Self::drawn(&Context::of(plan, circuit, &[]));
        // Thick first, as one packs them; what is open last.
        all.ends.arrange_by(|(a, _), (b, _)| (b.1.is_some(), b.0, b.1).cmp(&(a.1.is_some(), a.0, a.1)));
        let key = |of: &Option<(FuseFamily, Amps)>| of.map_or((1, FuseFamily::Breaker, 0.0), |(f, a)| (0, f, a.0));
        all.fuses.arrange_by(|(a, _), (b, _)| {
            let (a, b) = (key(a), key(b));
            (a.0, a.1).cmp(&(b.0, b.1)).then(b.2.total_cmp(&a.2))
        });
        all
    }

    /// The same in the order of the plan.
    pub(super) fn drawn(c: &Context<'_>) -> Self {
        let mut all = Self::default();
        for (i, run) in c.plan.runs.iter().enumerate() {
            if c.circuit.links.get(i).is_none_or(|l| l.role == Role::Dead) {
                continue;
            }
            for end in wire_ends(c, i).filter(|e| e.leg.state == State::New && !matches!(e.node, Some(Node::Array(_))))
            {
                count(&mut all.ends, (gauge_of(run, end.leg).ok(), end.stud(c)), end.conductors());
            }
            for fuse in run.protection.iter().filter(|f| f.state == State::New) {
                if let Some(leg) = cut_for(c, i, run, fuse) {
                    let conductors = leg.per_pole.known().map_or(1, |n| n.0.clamp(1.0, 6.0) as usize);
                    count(&mut all.ends, (gauge_of(run, leg).ok(), None), HOLDER_ENDS * conductors);
                }
            }
            let breaker = |f: &FuseFamily| *f == FuseFamily::Breaker;
            for fuse in
                run.protection.iter().filter(|f| f.state == State::New && !f.family.known().is_some_and(breaker))
            {
                let rated = fuse.family.known().copied().zip(fuse.amps_a.known().copied());
                count(&mut all.fuses, rated, 1);
            }
            if legs(run).any(|l| l.state == State::New) && is_through_roof(c, i, run).unwrap_or(true) {
                all.through_roof.push((run.id.clone(), is_through_roof(c, i, run).map(|_| of_run(c, i))));
            }
        }
        if let Some(Ok(links)) = bought(c) {
            let stud = Stud::named(&c.plan.bank.ratings.stud);
            count(&mut all.ends, (Some(links.gauge), stud), 2 * links.count as usize);
        }
        all.feet = feet(c.plan);
        all
    }

    /// Lugs for studs of a known size, without those to spare.
    #[must_use]
    pub fn lugs(&self) -> usize {
        self.ends.iter().filter(|((_, stud), _)| stud.is_some()).map(|(_, n)| n).sum()
    }

    /// Ends on terminals of which no stud is entered.
    #[must_use]
    pub fn open_ends(&self) -> usize {
        self.ends.iter().filter(|((_, stud), _)| stud.is_none()).map(|(_, n)| n).sum()
    }

    /// Glands: the plan has one place where cables come in, and all of them come in there.
    #[must_use]
    pub fn glands(&self) -> usize {
        usize::from(!self.through_roof.is_empty())
    }

    /// Conductors that come in there.
    ///
    /// # Errors
    /// The field that it waits for.
    pub fn cables(&self) -> Figure<usize> {
        self.through_roof.iter().try_fold(0, |sum, (_, n)| Ok(sum + n.clone()?))
    }

    /// Tubes of sealant, of 10 oz: for the feet, and one for the place where cables come in.
    ///
    /// # Errors
    /// The field that it waits for.
    ///
    /// Source: common practice, one for 8 to 12 feet and one for each entry.
    pub fn tubes(&self) -> Figure<usize> {
        let feet = self.feet.clone().unwrap_or(Ok(0.0))?;
        Ok((feet / FEET_A_TUBE - 1e-9).ceil().max(0.0) as usize + self.glands())
    }

    /// Fuses of a known type and rating to have one more of.
    #[must_use]
    pub fn spare_fuses(&self) -> usize {
        self.fuses.iter().filter(|(of, _)| of.is_some()).count()
    }

    /// Whether there is nothing to forget.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty() && self.through_roof.is_empty() && self.feet.is_none() && self.fuses.is_empty()
    }
}

/// The leg that is cut for a fuse which stands away from what its run ends on; none for one on a terminal, or in what holds fuses.
fn cut_for<'a>(c: &Context<'_>, index: usize, run: &'a Run, fuse: &Protection) -> Option<&'a Leg> {
    use DeviceKind::{Combiner, FusePanel};
    let link = c.circuit.links.get(index)?;
    let holds = |node: Option<Node>| {
        let array = matches!(node, Some(Node::Array(_)));
        array || node.is_some_and(|n| matches!(device_kind(c.plan, n), Some(Combiner | FusePanel)))
    };
    let (node, leg) = match fuse.at {
        FuseAt::From => (link.from, legs(run).next()?),
        FuseAt::To => (link.to, legs(run).last()?),
        FuseAt::Leg => {
            let id = fuse.leg.as_ref().and_then(|k| k.known())?;
            return legs(run).find(|l| l.id == *id);
        }
    };
    let away = fuse.distance_m.known().is_some_and(|m| m.0 > 1e-9);
    (away && !holds(node)).then_some(leg)
}

/// Adds to the count of a thing.
fn count<K: PartialEq>(list: &mut Vec<(K, usize)>, what: K, more: usize) {
    match list.iter_mut().find(|(of, _)| *of == what) {
        Some((_, n)) => *n += more,
        None => list.push((what, more)),
    }
}

/// Conductors of a run where it comes in: as many as end at either end.
fn of_run(c: &Context<'_>, index: usize) -> usize {
    let mut most = [0, 0];
    for end in wire_ends(c, index) {
        if let Some(n) = most.get_mut(usize::from(!end.first)) {
            *n += end.conductors();
        }
    }
    most.into_iter().max().unwrap_or(0)
}

/// Whether a run has one part on the roof and another under it: by the zones of its legs, of what it ends on, and an array is on the
/// roof whatever they say.
fn is_through_roof(c: &Context<'_>, index: usize, run: &Run) -> Figure<bool> {
    let (mut above, mut below, mut waits) = (false, false, None);
    for leg in legs(run) {
        match leg.zone.known() {
            Some(Zone::Roof) => above = true,
            Some(_) => below = true,
            None => waits = waits.or_else(|| Some(Missing(leg_path(run, leg, "zone")))),
        }
    }
    let link = c.circuit.links.get(index);
    for node in link.into_iter().flat_map(|l| [l.from, l.to]).flatten() {
        let plan = c.plan;
        let zone = match node {
            Node::Array(_) => {
                above = true;
                continue;
            }
            Node::Controller(i) => plan.controllers.get(i).and_then(|x| x.zone),
            Node::Inverter(i) => plan.inverters.get(i).and_then(|x| x.zone),
            Node::Charger(i) => plan.chargers.get(i).and_then(|x| x.zone),
            Node::Device(i) => plan.devices.get(i).and_then(|x| x.zone),
            Node::Bank | Node::BankMinus => plan.bank.zone,
            Node::Load(_) => None,
        };
        match zone {
            Some(Zone::Roof) => above = true,
            Some(_) => below = true,
            None => {}
        }
    }
    match waits {
        // On the roof at one end, and nobody has said where the rest lies.
        Some(waits) if above && !below => Err(waits),
        _ => Ok(above && below),
    }
}

/// Feet of new arrays that go through the skin, which is sealed there.
fn feet(plan: &Plan) -> Option<Figure<f64>> {
    let mut panels = 0;
    for array in plan.arrays.iter().filter(|a| a.state == State::New && a.mount != Mount::Glued) {
        match only_adhesive(plan, array) {
            Ok(true) => {}
            Ok(false) => panels += array.strings.panels(),
            Err(waits) if array.strings.panels() > 0 => return Some(Err(waits)),
            Err(_) => {}
        }
    }
    let each = || plan.roof.feet_per_panel.at(|| "roof.feet_per_panel".into());
    (panels > 0).then(|| Ok(panels as f64 * each()?.0))
}
