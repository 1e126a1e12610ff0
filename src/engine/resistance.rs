//! Resistance of runs: leg by leg at the temperature the current brings the copper to, with all that sits on the way.

use std::sync::LazyLock;

use crate::plan::wiring::{FuseAt, Return};
use crate::plan::{DeviceKind, FieldPath, Figure, Leg, Missing, Protection, Run};
use crate::standards::ampacity::{AmpacityCase, ampacity};
use crate::standards::conductor::{
    AWG, COPPER_CLAD_RESISTANCE, COPPER_ZERO_C, Gauge, MM2, resistance_ohm_per_m, standard_resistance_factor,
};
use crate::standards::correction::bundle_factor;
use crate::standards::kinds::{Basis, FuseFamily, Laid, Metal};

use super::circuit::{Link, Node, device_kind};
use super::context::{Context, at, finite};

/// Hottest that copper is counted at where nobody knows its insulation, C: beyond it the wire is lost anyway.
/// Source: common practice; far above any insulation.
const HOTTEST_C: f64 = 300.0;

/// Amps at which one conductor rises from 30 to 90 C, by gauge, open and enclosed.
static AT_90_C: LazyLock<[Vec<[f64; 2]>; 2]> = LazyLock::new(|| {
    let amps = |gauge| {
        [Laid::Open, Laid::Enclosed].map(|laid| {
            ampacity(&AmpacityCase {
                basis: Basis::UsRv,
                gauge,
                metal: Metal::Plain,
                laid,
                insulation_c: 90.0,
                ambient_c: 30.0,
                bundled: 1,
                parallel: 1,
                terminal_c: 90.0,
                engine_space: false,
            })
            .map_or(1.0, |w| w.table_a)
        })
    };
    [
        (0..AWG.len() as u8).map(|i| amps(Gauge::Awg(i))).collect(),
        (0..MM2.len() as u8).map(|i| amps(Gauge::Mm2(i))).collect(),
    ]
});

fn at_90_c(gauge: Gauge, laid: Laid) -> f64 {
    let [awg, mm2] = &*AT_90_C;
    let row = match gauge {
        Gauge::Awg(i) => awg.get(usize::from(i)),
        Gauge::Mm2(i) => mm2.get(usize::from(i)),
    };
    row.map_or(1.0, |[open, enclosed]| if laid == Laid::Open { *open } else { *enclosed })
}

/// Path of a leg's field.
pub(super) fn leg_path(run: &Run, leg: &Leg, field: &str) -> FieldPath {
    FieldPath::of(&["runs", run.id.as_str(), "legs", leg.id.as_str(), field])
}

/// Path of a protective device's field.
pub(super) fn fuse_path(run: &Run, fuse: &Protection, field: &str) -> FieldPath {
    FieldPath::of(&["runs", run.id.as_str(), "protection", fuse.id.as_str(), field])
}

/// The legs that are part of the finished system.
pub(super) fn legs(run: &Run) -> impl Iterator<Item = &Leg> + Clone {
    run.legs.iter().filter(|l| l.state.stays())
}

/// The protective devices that are part of the finished system and open the positive pole.
pub(super) fn fuses(run: &Run) -> impl Iterator<Item = &Protection> + Clone {
    run.protection.iter().filter(|p| p.state.stays() && p.pole == crate::plan::wiring::Pole::Positive)
}

/// A leg's conductor size: its own, or the run's.
pub(super) fn gauge_of(run: &Run, leg: &Leg) -> Figure<Gauge> {
    match &leg.gauge {
        Some(own) => own.at(|| leg_path(run, leg, "gauge")),
        None => run.gauge.at(|| at("runs", &run.id, "gauge")),
    }
}

/// A leg's surrounding air, C: as entered, or its zone's.
pub(super) fn ambient_of(c: &Context<'_>, run: &Run, leg: &Leg) -> Figure<f64> {
    match &leg.ambient_c {
        Some(own) => own.at(|| leg_path(run, leg, "ambient_c")).map(|t| t.0),
        None => leg.zone.at(|| leg_path(run, leg, "zone")).map(|z| c.rules.ambient(z)),
    }
}

/// One-way length of a run, m.
pub(super) fn length_m(run: &Run) -> Figure<f64> {
    let mut total = 0.0;
    let mut any = false;
    for leg in legs(run) {
        total += leg.length_m.at(|| leg_path(run, leg, "length_m"))?.0;
        any = true;
    }
    if any { Ok(total) } else { Err(Missing(at("runs", &run.id, "legs"))) }
}

/// Metres of conductor for each metre of positive: 2 for a pair of equal lengths, 1 without a return.
fn metres_per_metre(run: &Run, one_way_m: f64) -> Figure<f64> {
    match run.return_path {
        Return::None => Ok(1.0),
        Return::Chassis => Err(Missing(at("runs", &run.id, "measured_ohm"))),
        Return::Pair => match &run.negative_length_m {
            None => Ok(2.0),
            Some(n) => {
                let negative = n.at(|| at("runs", &run.id, "negative_length_m"))?.0;
                Ok(if one_way_m > 0.0 { 1.0 + negative / one_way_m } else { 2.0 })
            }
        },
    }
}

/// What decides a leg's temperature and resistance.
pub(super) struct LegWire<'a> {
    pub(super) leg: &'a Leg,
    pub(super) gauge: Gauge,
    pub(super) ambient_c: f64,
    pub(super) parallel: f64,
    pub(super) bundled: f64,
    /// Metres of conductor, both poles.
    pub(super) metres: f64,
}

impl LegWire<'_> {
    /// Ohms of the leg's conductors at a temperature.
    pub(super) fn ohm(&self, clad: f64, conductor_c: f64) -> f64 {
        let clad = if self.leg.metal == Metal::CopperClad { clad / COPPER_CLAD_RESISTANCE } else { 1.0 };
        resistance_ohm_per_m(self.gauge, self.leg.metal, conductor_c)
            * standard_resistance_factor(self.gauge, self.leg.standard)
            * clad
            * self.metres
            / self.parallel
    }

    /// Temperature of the conductor at a current, C.
    ///
    /// The rise goes with heat, and heat with I2 R where R itself rises: Tc = Ta + k (Tc + 234.5)/(90 + 234.5), with
    /// k the rise of 60 K at table amps times (I/table amps)2; solved for Tc. The table's 90 C column of NEC 310.17
    /// (open) or 310.16 (enclosed) fixes it for every insulation, as the same wire warms the same in any jacket.
    /// No hotter than its insulation is made for, or than the air where that is hotter: a current that would is more than its ampacity,
    /// which is found, and no wire works there.
    /// Source: NEC 310.15(B), ampacity at other ambients, after Neher and McGrath 1957; copper as 234.5 + T; NEC 310.14(A)(3), no
    /// conductor is used so that its insulation's rating is exceeded, from memory.
    pub(super) fn conductor_c(&self, amps: f64) -> f64 {
        self.free_c(amps).min(self.hottest_c())
    }

    fn hottest_c(&self) -> f64 {
        self.leg.insulation_c.known().map_or(HOTTEST_C, |c| c.0).max(self.ambient_c)
    }

    /// Whether a current would bring the conductor past what its insulation is made for.
    pub(super) fn is_held(&self, amps: f64) -> bool {
        self.leg.insulation_c.known().is_some() && self.free_c(amps) > self.hottest_c() + 1e-9
    }

    /// The same, whatever its insulation.
    fn free_c(&self, amps: f64) -> f64 {
        let bundle = bundle_factor(Basis::UsRv, self.bundled as u32).value;
        let full = at_90_c(self.gauge, self.leg.laid_as()) * bundle * self.parallel;
        let metal = if self.leg.metal == Metal::CopperClad { COPPER_CLAD_RESISTANCE } else { 1.0 };
        let share = 60.0 * (amps / full).powi(2) * metal / (90.0 - COPPER_ZERO_C);
        let tc = (self.ambient_c - share * COPPER_ZERO_C) / (1.0 - share);
        if share < 1.0 && tc.is_finite() { tc.min(HOTTEST_C.max(self.ambient_c)) } else { HOTTEST_C }
    }
}

/// Current-carrying conductors of its own run that lie along a leg: so many in each pole, and as many back in a pair.
pub(super) fn own_conductors(run: &Run, per_pole: f64) -> f64 {
    if run.return_path == Return::Pair { 2.0 * per_pole } else { per_pole }
}

/// Current-carrying conductors that touch along a leg: as entered, where it is drawn with several in each pole at least its
/// own, whatever was entered for one.
///
/// Source: NEC 310.15(C)(1): each conductor of a parallel set counts as one that carries current.
pub(super) fn bundled(run: &Run, leg: &Leg) -> Figure<f64> {
    let entered = leg.bundled.at(|| leg_path(run, leg, "bundled"))?.0.clamp(1.0, 1000.0);
    let per_pole = leg.per_pole.at(|| leg_path(run, leg, "per_pole"))?.0.clamp(1.0, 6.0);
    Ok(if per_pole > 1.0 { entered.max(own_conductors(run, per_pole)) } else { entered })
}

/// The wire of every leg.
pub(super) fn leg_wires<'a>(c: &Context<'_>, run: &'a Run) -> Figure<Vec<LegWire<'a>>> {
    let mut wires = Vec::with_capacity(run.legs.len());
    each_wire(c, run, |wire| wires.push(wire))?;
    Ok(wires)
}

fn each_wire<'a>(c: &Context<'_>, run: &'a Run, mut put: impl FnMut(LegWire<'a>)) -> Figure<()> {
    let length = length_m(run)?;
    let factor = metres_per_metre(run, length)?;
    for leg in legs(run) {
        put(LegWire {
            leg,
            gauge: gauge_of(run, leg)?,
            ambient_c: ambient_of(c, run, leg)?,
            parallel: leg.per_pole.at(|| leg_path(run, leg, "per_pole"))?.0.max(1.0),
            bundled: bundled(run, leg)?,
            metres: leg.length_m.at(|| leg_path(run, leg, "length_m"))?.0 * factor,
        });
    }
    Ok(())
}

/// Ohms of all conductors of a run at one temperature, without fuses and joints.
///
/// # Errors
/// The first unknown field on the way.
pub(super) fn conductors_ohm(c: &Context<'_>, run: &Run, conductor_c: f64) -> Figure<f64> {
    if let Some(measured) = &run.measured_ohm {
        return measured.at(|| at("runs", &run.id, "measured_ohm")).map(|r| r.0);
    }
    let mut ohm = 0.0;
    each_wire(c, run, |wire| ohm += wire.ohm(c.rules.copper_clad_resistance, conductor_c))?;
    Ok(ohm)
}

/// The same of each of its poles: the positive, and the negative that is drawn with it. Half of what was measured.
pub(super) fn poles_ohm(c: &Context<'_>, run: &Run, conductor_c: f64) -> Figure<(f64, f64)> {
    let whole = conductors_ohm(c, run, conductor_c)?;
    let out = match (run.return_path, &run.measured_ohm) {
        (Return::None, _) => 1.0,
        (_, Some(_)) => 0.5,
        _ => metres_per_metre(run, length_m(run)?)?.recip(),
    };
    Ok((whole * out, whole * (1.0 - out)))
}

/// The same of the positive alone, which is known where what comes back over a chassis is not.
pub(super) fn out_ohm(c: &Context<'_>, run: &Run, conductor_c: f64) -> Figure<f64> {
    let is_measured = run.measured_ohm.as_ref().is_some_and(|ohm| ohm.known().is_some());
    if run.return_path != Return::Chassis || is_measured {
        return poles_ohm(c, run, conductor_c).map(|(out, _)| out);
    }
    conductors_ohm(c, &Run { return_path: Return::None, measured_ohm: None, ..run.clone() }, conductor_c)
}

/// Volts across a device of a family at its rating.
pub(super) fn drop_at_rating_v(c: &Context<'_>, family: FuseFamily) -> f64 {
    match family {
        FuseFamily::ClassT => c.rules.class_t_drop_v,
        FuseFamily::Breaker => c.rules.breaker_drop_v,
        _ => c.rules.fuse_drop_v,
    }
}

/// What adds ohms to a run beside its conductors.
#[derive(Clone, Copy)]
pub(super) enum Fitting<'a> {
    Fuse(&'a Protection),
    /// Stated extra ohms of a leg.
    Extra(&'a Leg),
    Connectors(&'a Leg),
    /// So many lugged joints, and how many of them lie side by side at the end with most.
    Joints(f64, f64),
    /// A switch, shunt or breaker that the run ends on.
    Device(Node),
}

/// Ohms of fuses, joints, connectors and stated extras of a run, and of the device it arrives at first.
pub(super) fn fittings_ohm(c: &Context<'_>, index: usize, run: &Run) -> Figure<f64> {
    let mut ohm = 0.0;
    each_fitting(c, index, run, |_, x| ohm += x)?;
    Ok(ohm)
}

/// Every fitting of a run with its ohms.
pub(super) fn each_fitting<'a>(
    c: &Context<'_>,
    index: usize,
    run: &'a Run,
    mut put: impl FnMut(Fitting<'a>, f64),
) -> Figure<()> {
    for fuse in fuses(run) {
        let amps = fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a"))?.0;
        let family = fuse.family.at(|| fuse_path(run, fuse, "family"))?;
        if amps > 0.0 {
            // String fuses lie side by side.
            let side_by_side = super::protection::fuses_of(c, index, fuse);
            put(Fitting::Fuse(fuse), drop_at_rating_v(c, family) / amps / side_by_side);
        }
    }
    for leg in legs(run) {
        if let Some(extra) = &leg.extra_mohm {
            put(Fitting::Extra(leg), extra.at(|| leg_path(run, leg, "extra_mohm"))?.0 / 1000.0);
        }
        if let Some(pairs) = &leg.pv_connectors {
            let pairs = pairs.at(|| leg_path(run, leg, "pv_connectors"))?.0;
            put(Fitting::Connectors(leg), pairs * c.rules.pv_connector_mohm / 1000.0);
        }
    }
    // At each end one lug on every conductor of each pole; those of one pole lie side by side.
    let poles = if run.return_path == Return::None { 1.0 } else { 2.0 };
    let per_pole = |leg: Option<&Leg>| match leg {
        Some(leg) => leg.per_pole.at(|| leg_path(run, leg, "per_pole")).map(|n| n.0.max(1.0)),
        None => Ok(1.0),
    };
    let (near, far) = (per_pole(legs(run).next())?, per_pole(legs(run).last())?);
    let each_ohm = c.rules.lugged_joint_mohm / 1000.0;
    put(Fitting::Joints(poles * (near + far), near.max(far)), poles * (1.0 / near + 1.0 / far) * each_ohm);
    let Some(link) = c.circuit.links.get(index) else { return Ok(()) };
    for passed in super::shunts::passed(c, index) {
        put(Fitting::Device(passed.shunt), device_ohm(c, passed.shunt)? * passed.times);
    }
    for node in [link.from, link.to].into_iter().flatten() {
        let shunt = device_kind(c.plan, node) == Some(DeviceKind::Shunt);
        if !shunt && first_run_at(c, node) == Some(index) {
            put(Fitting::Device(node), device_ohm(c, node)?);
        }
    }
    Ok(())
}

/// A device on the way is counted once: in the first run that ends on it, and where batteries' own ways meet in one
/// that is of none of them.
fn first_run_at(c: &Context<'_>, node: Node) -> Option<usize> {
    if !matches!(node, Node::Device(_)) {
        return None;
    }
    let ends = |(_, l): &(usize, &Link)| l.from == Some(node) || l.to == Some(node);
    let mut on = c.circuit.links.iter().enumerate().filter(ends).map(|(i, _)| i).peekable();
    let first = on.peek().copied();
    // What hangs on one battery's way before it meets the others has its own share of that way.
    if c.circuit.asides.iter().any(|a| a.place == node) {
        return on.find(|i| c.circuit.is_lead(*i)).or(first);
    }
    on.find(|i| !c.circuit.is_lead(*i)).or(first)
}

/// Shunts that all batteries' own negatives meet on: those negatives, and the shunt's own ohms.
pub(super) fn common_shunts(c: &Context<'_>) -> Figure<Vec<(Vec<usize>, f64)>> {
    super::shunts::met_on(c).map(|(shunt, leads)| Ok((leads, device_ohm(c, shunt)?))).collect()
}

/// Ohms of a switch, shunt, breaker or disconnect.
fn device_ohm(c: &Context<'_>, node: Node) -> Figure<f64> {
    let Node::Device(i) = node else { return Ok(0.0) };
    let Some(device) = c.plan.devices.get(i) else { return Ok(0.0) };
    // One whose rating is not known counts for nothing; what is judged with it waits (`unrated`).
    let amps = device.ratings.amps_a.as_ref().and_then(|amps| amps.known()).map_or(0.0, |amps| amps.0);
    let at_rating = |volts: f64| Ok(if amps > 0.0 { volts / amps } else { 0.0 });
    match device_kind(c.plan, node) {
        Some(DeviceKind::Switch) => Ok(c.rules.battery_switch_mohm / 1000.0),
        Some(DeviceKind::Shunt) => at_rating(c.rules.shunt_drop_v),
        Some(DeviceKind::Breaker | DeviceKind::Disconnect) => at_rating(c.rules.breaker_drop_v),
        _ => Ok(0.0),
    }
}

/// The rating that nobody has entered of a device whose drop some runs would count.
pub(super) fn unrated(c: &Context<'_>, runs: &[usize]) -> Option<FieldPath> {
    use DeviceKind::{Breaker, Disconnect, Shunt};
    let counts = |node: Node, i: usize| match device_kind(c.plan, node) {
        Some(Shunt) => super::shunts::passed(c, i).iter().any(|passed| passed.shunt == node),
        Some(Breaker | Disconnect) => first_run_at(c, node) == Some(i),
        _ => false,
    };
    let open = c
        .plan
        .devices
        .iter()
        .enumerate()
        .filter(|(_, d)| d.state.stays() && d.ratings.amps_a.as_ref().is_none_or(|amps| amps.known().is_none()));
    let mut open = open.filter(|(d, _)| runs.iter().any(|i| counts(Node::Device(*d), *i)));
    open.next().map(|(_, device)| at("devices", &device.id, "ratings.amps_a"))
}

/// A run's resistance at a current.
#[derive(Clone, Copy, Debug)]
pub(super) struct Loop {
    pub(super) ohm: f64,
    /// Of the hottest leg.
    pub(super) wire_c: f64,
}

/// The loop of a run at a current: conductors at the temperature it brings them to, and everything on the way.
/// `held_c`: a conductor temperature to take instead.
pub(super) fn run_loop(c: &Context<'_>, index: usize, run: &Run, amps: f64, held_c: Option<f64>) -> Figure<Loop> {
    loop_at(c, index, run, amps, &|wire| held_c.unwrap_or_else(|| wire.conductor_c(amps)))
}

/// The same, each conductor at least so warm.
pub(super) fn run_loop_from(c: &Context<'_>, index: usize, run: &Run, amps: f64, least_c: f64) -> Figure<Loop> {
    loop_at(c, index, run, amps, &|wire| wire.conductor_c(amps).max(least_c))
}

fn loop_at(
    c: &Context<'_>,
    index: usize,
    run: &Run,
    amps: f64,
    conductor_c: &dyn Fn(&LegWire<'_>) -> f64,
) -> Figure<Loop> {
    let clad = c.rules.copper_clad_resistance;
    let run = &*c.circuit.counted(index, run);
    if let Some(measured) = &run.measured_ohm {
        let ohm = measured.at(|| at("runs", &run.id, "measured_ohm"))?.0;
        let wire_c = leg_wires(c, run).map_or(20.0, |wires| hottest(&wires, amps));
        return Ok(Loop { ohm, wire_c });
    }
    let mut total = Loop { ohm: 0.0, wire_c: f64::MIN };
    each_wire(c, run, |wire| {
        let tc = conductor_c(&wire);
        total.ohm += wire.ohm(clad, tc);
        total.wire_c = total.wire_c.max(tc);
    })?;
    total.ohm += fittings_ohm(c, index, run)?;
    total.ohm = finite(total.ohm, || at("runs", &run.id, "legs"))?;
    Ok(total)
}

/// Part of a run's ohms at a current that its negative has: wire by its length, half of lugs and of stated extras, the
/// shunt it passes; half of what was measured. A run that is one conductor is all its own.
pub(super) fn negative_part(c: &Context<'_>, index: usize, run: &Run, amps: f64) -> Figure<f64> {
    match (run.return_path, &run.measured_ohm) {
        (Return::Pair, None) => {}
        (Return::Pair, Some(_)) => return Ok(0.5),
        _ => return Ok(0.0),
    }
    let clad = c.rules.copper_clad_resistance;
    let of_wire = 1.0 - metres_per_metre(run, length_m(run)?)?.recip();
    let wires = leg_wires(c, run)?;
    let mut ohm: f64 = wires.iter().map(|w| w.ohm(clad, w.conductor_c(amps)) * of_wire).sum();
    let shunts = super::shunts::passed(c, index);
    each_fitting(c, index, run, |fitting, x| {
        ohm += match fitting {
            Fitting::Fuse(_) => 0.0,
            Fitting::Extra(_) | Fitting::Connectors(_) | Fitting::Joints(..) => x / 2.0,
            Fitting::Device(node) if shunts.iter().any(|p| p.shunt == node && p.negative) => x,
            Fitting::Device(_) => 0.0,
        };
    })?;
    let whole = run_loop(c, index, run, amps, None)?.ohm;
    Ok(if whole > 0.0 { (ohm / whole).min(1.0) } else { 0.0 })
}

fn hottest(wires: &[LegWire<'_>], amps: f64) -> f64 {
    wires.iter().map(|w| w.conductor_c(amps)).fold(f64::MIN, f64::max)
}

/// Metres of wire from the near end to a fuse.
pub(super) fn fuse_distance_m(run: &Run, near_from: bool, fuse: &Protection) -> Figure<f64> {
    let distance = || fuse.distance_m.at(|| fuse_path(run, fuse, "distance_m")).map(|d| d.0);
    match (fuse.at, near_from) {
        (FuseAt::From, true) | (FuseAt::To, false) => distance(),
        (FuseAt::From, false) | (FuseAt::To, true) => Ok((length_m(run)? - distance()?).max(0.0)),
        (FuseAt::Leg, _) => {
            let id = match &fuse.leg {
                Some(id) => id.at(|| fuse_path(run, fuse, "leg"))?,
                None => return Err(Missing(fuse_path(run, fuse, "leg"))),
            };
            let mut from_start = 0.0;
            for leg in legs(run) {
                if leg.id == id {
                    let total = length_m(run)?;
                    let place = from_start + distance()?;
                    return Ok(if near_from { place } else { (total - place).max(0.0) });
                }
                from_start += leg.length_m.at(|| leg_path(run, leg, "length_m"))?.0;
            }
            Err(Missing(fuse_path(run, fuse, "leg")))
        }
    }
}
