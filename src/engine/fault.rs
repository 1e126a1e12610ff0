//! Fault current: of the bank, and at every fuse's own place.

use crate::plan::{FieldPath, Figure, Known, Protection, Run, YesNo};
use crate::standards::chemistry::lead_main_interrupt_a;
use crate::units::{Amps, Number};

use super::circuit::{Node, Role, is_start};
use super::context::{Context, finite};
use super::currents::step_down;
use super::resistance::{conductors_ohm, fuse_distance_m, length_m};
use super::vehicle;

/// The bank as a fault sees it.
#[derive(Clone, Debug)]
pub(super) struct Source {
    pub(super) volts: f64,
    pub(super) amps: f64,
    pub(super) how: &'static str,
    /// Whether the amps are an assumption, not a figure of these batteries.
    pub(super) assumed: bool,
    /// Times a fault is what must be opened: the rule's margin over a figure of these batteries; none on an assumption,
    /// which is already the most that is ever taken, and none on the table by cold cranking amps, whose rows are the
    /// interrupt ratings asked for.
    pub(super) margin: f64,
    /// Cold cranking amps of each of the batteries in parallel, where the table by them is the figure.
    pub(super) cca_each: Option<f64>,
}

/// A fault at a fuse, and the margin that an interrupt rating has to keep over it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fault {
    pub(super) amps: f64,
    pub(super) margin: f64,
}

impl Fault {
    /// What a fuse there must be able to open.
    pub(super) fn needed_a(self) -> f64 {
        self.amps * self.margin
    }
}

impl Source {
    fn ohm(&self) -> f64 {
        if self.amps > 0.0 { self.volts / self.amps } else { f64::MAX }
    }

    /// Whether amps are what the table gives for some of the batteries.
    pub(super) fn is_row(&self, amps: f64) -> bool {
        self.cca_each.is_some() && (lead_main_interrupt_a(f64::MIN_POSITIVE)..=self.amps).contains(&amps) && {
            let rows = [0.0, 1_000.0, f64::MAX].map(lead_main_interrupt_a);
            rows.iter().any(|row| (row - amps).abs() < 1e-6)
        }
    }

    /// What so many of the bank's batteries in parallel drive together. The table has steps: two of a small row may be of
    /// the largest.
    fn several_a(&self, count: f64, parallel: f64) -> f64 {
        match self.cca_each {
            Some(_) if count <= 0.0 => 0.0,
            Some(cca) => lead_main_interrupt_a(cca * count),
            None => self.amps / parallel.max(1.0) * count,
        }
    }
}

/// A figure that is there and known; an unknown one falls to the next best.
fn known<T: Copy>(field: Option<&Known<T>>) -> Option<T> {
    field.and_then(|k| k.known()).copied()
}

/// The bank's prospective fault current. Sag never enters; management units count for nothing.
///
/// Source: ABYC E-11 (20 kA where a lithium maker gives none; by CCA the interrupting capacity it asks for); lead without CCA
/// 12.6 V / (4 mohm x 100/Ah), from memory.
pub(super) fn bank(c: &Context<'_>) -> Figure<Source> {
    let bank = &c.plan.bank;
    let row = c.chemistry()?;
    let (series, parallel, twelves) = (c.series()?, c.parallel()?, c.by_cells()?);
    let lithium = row.chemistry.is_lithium();
    let per_12 = if lithium { c.rules.fault_volts_lfp } else { c.rules.fault_volts_lead };
    let volts = per_12 * twelves;
    let unit_v = volts / series.max(1.0);
    let each: Option<(f64, &'static str)> =
        known(bank.short_circuit_a.as_ref()).map(|Amps(a)| (a, "maker's amps x batteries")).or_else(|| {
            known(bank.ohmic_mohm.as_ref())
                .map(|Number(m)| (unit_v / (m / 1000.0), "fault volts / ohmic resistance x batteries in parallel"))
        });
    let rule = c.rules.interrupt_margin;
    let (amps, how, assumed, margin) = match (each, lithium, known(bank.cca_a.as_ref())) {
        (Some((each, how)), ..) => (each * parallel, how, false, rule),
        (None, true, _) => {
            (c.rules.lfp_unknown_fault_a, "assumed: no short-circuit figure of this lithium bank", true, 1.0)
        }
        (None, false, Some(Amps(cca))) => {
            (lead_main_interrupt_a(cca * parallel), "table by cold cranking amps of all in parallel", false, 1.0)
        }
        (None, false, None) => {
            let ah = bank.unit_ah.at(|| "bank.unit_ah".into())?.0;
            let unit_twelves = row.twelves(bank.unit_v.at(|| "bank.unit_v".into())?.0);
            let ohm = c.rules.lead_ohmic_mohm / 1000.0 * 100.0 / ah.max(1.0) * unit_twelves;
            (c.rules.lead_fault_volts * unit_twelves / ohm * parallel, "estimated from ampere-hours", false, rule)
        }
    };
    let cca_each = known(bank.cca_a.as_ref()).map(|a| a.0).filter(|_| each.is_none() && !lithium);
    Ok(Source { volts, amps: finite(amps, || FieldPath::new("bank.parallel"))?, how, assumed, margin, cca_each })
}

/// Fault current of a start battery, by the table at the rule's cold cranking amps.
///
/// Source: ABYC E-11, interrupting capacity by CCA; the CCA are common practice.
fn start_battery(c: &Context<'_>, run: usize) -> Source {
    Source {
        volts: c.rules.fault_volts_lead * vehicle::twelves(c, run),
        amps: lead_main_interrupt_a(c.rules.start_battery_cca_a),
        how: "table by usual cold cranking amps",
        assumed: true,
        margin: 1.0,
        cca_each: None,
    }
}

/// Fault current at a fuse: its strongest source through the cold cable up to it. None where no battery feeds it.
///
/// Cable at 20 C; fuses, joints and management units count for nothing. On a line between two batteries the larger of
/// what either end drives through the fuse.
/// Source: Ohm's law; common practice for what counts.
pub(super) fn at_fuse(
    c: &Context<'_>,
    source: &Figure<Source>,
    index: usize,
    run: &Run,
    fuse: &Protection,
) -> Option<Figure<Fault>> {
    through_cable(c, source, index, run, fuse, false)
}

/// The most that a fault at a fuse can draw: cable of unknown length or size counts for nothing.
pub(super) fn at_fuse_at_most(
    c: &Context<'_>,
    source: &Figure<Source>,
    index: usize,
    run: &Run,
    fuse: &Protection,
) -> Option<Figure<Fault>> {
    through_cable(c, source, index, run, fuse, true)
}

fn through_cable(
    c: &Context<'_>,
    source: &Figure<Source>,
    index: usize,
    run: &Run,
    fuse: &Protection,
    unknown_is_none: bool,
) -> Option<Figure<Fault>> {
    let link = c.circuit.links.get(index)?;
    // Behind a converter no battery drives a fault, only what the converter gives.
    if step_down(c, index).is_ok_and(|times| times > 1.0) {
        return None;
    }
    let starts = |node: Option<Node>| node.is_some_and(|n| is_start(c.plan, n));
    let through = |source: &Source, from: bool, upstream: &[usize]| -> Figure<Fault> {
        let known = |ohm: Figure<f64>| if unknown_is_none { Ok(ohm.unwrap_or(0.0)) } else { ohm };
        let mut ohm = known(own_ohm(c, run, fuse, from))?;
        for ahead in upstream.iter().filter_map(|i| c.plan.runs.get(*i)) {
            ohm += known(conductors_ohm(c, ahead, c.rules.fault_cable_c))?;
        }
        let amps = finite(source.volts / (source.ohm() + ohm), || FieldPath::new("bank.unit_v"))?;
        Ok(Fault { amps, margin: source.margin })
    };
    let near = link.near_from;
    match link.role {
        Role::Array | Role::Dead | Role::Bond => None,
        Role::ChargerInput | Role::StartLead if starts(link.near()) || !link.upstream.is_empty() => {
            Some(through(&start_battery(c, index), near, &link.upstream))
        }
        Role::ChargerInput | Role::StartLead => None,
        _ if link.upstream.is_empty() && link.near() != Some(Node::Bank) => None,
        _ => Some((|| {
            let bank = match batteries(c, source, index, unknown_is_none)? {
                Some(bank) => Fault { amps: bank.at(c, source, index, run, fuse)?, margin: source.clone()?.margin },
                None => through(&source.clone()?, near, &link.upstream)?,
            };
            let first = link.beyond.first().and_then(|i| c.circuit.links.get(*i));
            let other = starts(link.far()) || first.is_some_and(|l| starts(l.from) || starts(l.to));
            let other = other.then(|| through(&start_battery(c, index), !near, &link.beyond)).transpose()?;
            Ok(other.filter(|other| other.needed_a() > bank.needed_a()).unwrap_or(bank))
        })()),
    }
}

/// Cold ohms of a run from one of its ends to a fuse on it.
fn own_ohm(c: &Context<'_>, run: &Run, fuse: &Protection, from: bool) -> Figure<f64> {
    let distance = fuse_distance_m(run, from, fuse)?;
    if distance <= 0.0 {
        return Ok(0.0);
    }
    let length = length_m(run)?;
    if length <= 0.0 {
        return Ok(0.0);
    }
    Ok(conductors_ohm(c, run, c.rules.fault_cable_c)? * (distance / length).min(1.0))
}

/// A parallel bank whose batteries have ways of their own, drawn up to where they meet.
struct Batteries<'a> {
    ways: &'a [Vec<usize>],
    /// The cable of each way, cold ohms, in the order of the ways.
    leads: Vec<f64>,
    /// One battery without its way, and the others of all together without theirs.
    each_ohm: f64,
    others_ohm: f64,
    /// All of them together without their ways.
    all_ohm: f64,
    /// Whether they are by the table, whose steps are no ohms in parallel.
    by_table: bool,
    unknown_is_none: bool,
}

/// The batteries whose own ways a run is on, or hangs on. None where the bank's figure is an assumption: that one is of
/// the whole bank, whatever it is made of.
fn batteries<'a>(
    c: &'a Context<'_>,
    source: &Figure<Source>,
    index: usize,
    unknown_is_none: bool,
) -> Figure<Option<Batteries<'a>>> {
    let parallel = c.parallel()?;
    let first = c.circuit.links.get(index).and_then(|l| l.upstream.first().copied()).unwrap_or(index);
    if c.circuit.own_way_of(first).is_none() {
        return Ok(None);
    }
    let source = source.clone()?;
    if source.assumed {
        return Ok(None);
    }
    let of = |count: f64| source.volts / source.several_a(count, parallel).max(1e-9);
    let mut all = Batteries {
        ways: &c.circuit.own_ways,
        leads: Vec::new(),
        each_ohm: of(1.0),
        others_ohm: of(parallel - 1.0),
        all_ohm: source.ohm(),
        by_table: source.cca_each.is_some(),
        unknown_is_none,
    };
    for way in all.ways {
        all.leads.push(all.cable_ohm(c, way)?);
    }
    Ok(Some(all))
}

impl Batteries<'_> {
    fn known(&self, ohm: Figure<f64>) -> Figure<f64> {
        if self.unknown_is_none { Ok(ohm.unwrap_or(0.0)) } else { ohm }
    }

    /// Cold ohms of the cable of some runs.
    fn cable_ohm(&self, c: &Context<'_>, runs: &[usize]) -> Figure<f64> {
        let of = |run: &Run| self.known(conductors_ohm(c, run, c.rules.fault_cable_c));
        runs.iter().filter_map(|i| c.plan.runs.get(*i)).map(of).sum()
    }

    /// Ohms of all batteries in parallel but the one on a way. By the table the batteries' own come as its row has them, and
    /// the leads beside each other: never more than with each battery behind its own lead.
    fn together_ohm(&self, but: Option<usize>) -> f64 {
        let others = || self.leads.iter().enumerate().filter(|(way, _)| Some(*way) != but).map(|(_, ohm)| *ohm);
        let beside = |inside: f64| 1.0 / others().map(|ohm| 1.0 / (inside + ohm).max(1e-12)).sum::<f64>().max(1e-12);
        if self.by_table {
            beside(0.0) + if but.is_some() { self.others_ohm } else { self.all_ohm }
        } else {
            beside(self.each_ohm)
        }
    }

    /// At a fuse on one of the ways the larger of its own battery's current and that of all the others, which comes
    /// back along the way; beyond the place where they meet that of all together.
    ///
    /// Source: Kirchhoff's laws for parallel branches of equal open-circuit volts.
    fn at(&self, c: &Context<'_>, source: &Figure<Source>, index: usize, run: &Run, fuse: &Protection) -> Figure<f64> {
        let volts = source.clone()?.volts;
        let Some(link) = c.circuit.links.get(index) else { return Ok(0.0) };
        let up_to = self.known(own_ohm(c, run, fuse, link.near_from))?;
        let on =
            self.ways.iter().enumerate().find_map(|(k, way)| Some((k, way, way.iter().position(|i| *i == index)?)));
        let ohm = if let Some((k, way, place)) = on {
            let back = self.known(own_ohm(c, run, fuse, !link.near_from))?;
            let (before, after) = (way.get(..place).unwrap_or_default(), way.get(place + 1..).unwrap_or_default());
            let own = self.each_ohm + self.cable_ohm(c, before)? + up_to;
            own.min(self.together_ohm(Some(k)) + self.cable_ohm(c, after)? + back)
        } else {
            let beyond: Vec<usize> =
                link.upstream.iter().copied().filter(|i| c.circuit.own_way_of(*i).is_none()).collect();
            self.together_ohm(None) + self.cable_ohm(c, &beyond)? + up_to
        };
        finite(volts / ohm, || FieldPath::new("bank.unit_v"))
    }

    /// The most that a fuse at any battery's own post must open.
    fn at_posts_a(&self, volts: f64) -> f64 {
        let of = |(k, lead): (usize, &f64)| {
            let others = self.together_ohm(Some(k)) + lead;
            volts / self.each_ohm.min(others).max(1e-12)
        };
        self.leads.iter().enumerate().map(of).fold(0.0, f64::max)
    }
}

/// What each battery's own fuse in a parallel bank must open: the larger of its own fault current and that of all the
/// others together, through their leads where they are drawn. None where there are no such fuses.
///
/// Source: Kirchhoff's current law; by the table each side as its own cold cranking amps have it.
pub(super) fn own_fuse_a(c: &Context<'_>, source: &Figure<Source>) -> Option<Figure<f64>> {
    let parallel = c.parallel().unwrap_or(1.0);
    (c.plan.bank.fused_each == YesNo::Yes && parallel >= 2.0).then(|| {
        for index in 0..c.circuit.links.len() {
            let lead = c.circuit.links.get(index).is_some_and(|l| l.near() == Some(Node::Bank));
            if lead && let Some(drawn) = batteries(c, source, index, true)? {
                return Ok(drawn.at_posts_a(source.clone()?.volts));
            }
        }
        let source = source.clone()?;
        // An assumed figure is that of the whole bank, whatever it is made of.
        let (each, others) = (source.several_a(1.0, parallel), source.several_a(parallel - 1.0, parallel));
        Ok(if source.assumed { source.amps } else { each.max(others) })
    })
}
