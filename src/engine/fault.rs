//! Fault current: of the bank, and at every fuse's own place.

mod cold;
mod home;
mod joined;
mod mesh;

pub(super) use cold::Cold;
pub(super) use joined::beside_own;

use crate::plan::{DeviceKind, FieldPath, Figure, Missing, Protection, Run, YesNo};
use crate::standards::chemistry::lead_main_interrupt_a;
use crate::units::{AmpHours, Amps, Number};

use super::circuit::{Node, Role, device_kind, is_start};
use super::context::{Context, finite};
use super::currents::step_down;
use super::resistance::{fuse_distance_m, fuses, length_m};
use super::starting::{StartBattery, is_of_life_safety, known};
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
    /// Cold cranking amps of all of it, entered or usual, where the table's row of them is the figure.
    row_cca: Option<f64>,
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
    let amps = finite(amps, || FieldPath::new("bank.parallel"))?;
    Ok(Source { volts, amps, how, assumed, margin, cca_each, row_cca: cca_each.map(|each| each * parallel) })
}

/// Fault current of the battery that a run from the vehicle begins at.
fn start_battery(c: &Context<'_>, run: usize, upstream: &[usize]) -> Figure<Source> {
    start_source(c, vehicle::battery_of(c, run, upstream), vehicle::twelves(c, run))
}

/// Fault current of a start battery: its maker's amps, the table by its cold cranking amps, or as estimated from its
/// ampere-hours; with nothing entered the table at the rule's cold cranking amps. What a trailer's own battery for life
/// safety drives, nobody knows before something is entered: it cranks nothing. Lithium has 20 kA unless its maker says else.
///
/// Source: ABYC E-11, interrupting capacity by CCA, 20 kA for lithium; usual CCA common practice; lead without CCA 12.6 V /
/// (4 mohm x 100/Ah), from memory.
fn start_source(c: &Context<'_>, device: Option<usize>, twelves: f64) -> Figure<Source> {
    let (rules, margin) = (&c.rules, c.rules.interrupt_margin);
    let lead_v = rules.fault_volts_lead * twelves;
    let of = |volts: f64, amps: f64, how: &'static str, margin: f64| Source {
        volts,
        amps,
        how,
        assumed: false,
        margin,
        cca_each: None,
        row_cca: None,
    };
    let usual = || Source {
        assumed: true,
        row_cca: Some(rules.start_battery_cca_a),
        ..of(lead_v, lead_main_interrupt_a(rules.start_battery_cca_a), "table by usual cold cranking amps", 1.0)
    };
    let own = device.map(|i| StartBattery::of(c, i)).transpose()?;
    let (Some(own), Some(device)) = (own, device) else { return Ok(usual()) };
    let lithium = own.row.chemistry.is_lithium();
    let volts = if lithium { rules.fault_volts_lfp * own.twelves } else { rules.fault_volts_lead * own.twelves };
    if let Some(Amps(amps)) = known(own.device.short_circuit_a.as_ref()) {
        return Ok(of(volts, amps, "maker's amps of the start battery", margin));
    }
    if lithium {
        let amps = rules.lfp_unknown_fault_a;
        return Ok(Source { assumed: true, ..of(volts, amps, "assumed: no short-circuit figure of it", 1.0) });
    }
    if let Some(Amps(cca)) = known(own.device.cca_a.as_ref()) {
        let by_table = of(volts, lead_main_interrupt_a(cca), "table by its cold cranking amps", 1.0);
        return Ok(Source { cca_each: Some(cca), row_cca: Some(cca), ..by_table });
    }
    if let Some(AmpHours(ah)) = known(own.device.unit_ah.as_ref()) {
        let ohm = rules.lead_ohmic_mohm / 1000.0 * 100.0 / ah.max(1e-3);
        let amps = finite(rules.lead_fault_volts / ohm, || own.field("unit_ah"))?;
        return Ok(of(volts, amps, "estimated from its ampere-hours", margin));
    }
    let open = [("cca_a", own.device.cca_a.is_some()), ("unit_ah", own.device.unit_ah.is_some())];
    let asked = open.into_iter().find(|(_, asked)| *asked).map(|(field, _)| field);
    match asked.or_else(|| is_of_life_safety(c, Node::Device(device)).then_some("cca_a")) {
        Some(field) => Err(Missing(own.field(field))),
        None => Ok(Source { volts, ..usual() }),
    }
}

/// What a run's fault is reckoned from, where that is a start battery.
pub(super) fn start_behind(c: &Context<'_>, run: usize) -> Option<Source> {
    let link = c.circuit.links.get(run)?;
    match vehicle::from_start(c, run) {
        Some((_, upstream)) => start_battery(c, run, &upstream).ok(),
        None if matches!(link.role, Role::ChargerInput | Role::StartLead) => start_battery(c, run, &link.upstream).ok(),
        None => None,
    }
}

/// What a fault comes back by.
#[derive(Clone, Copy)]
enum Back {
    /// The negatives of the runs that it goes out over.
    Negatives,
    /// The negatives that are drawn from the fault's place to the post, so many ohms; those of batteries with leads of their
    /// own are counted with their batteries.
    Home(f64),
    /// The frame, whose own ohms nobody knows and count for nothing, and so many ohms from the frame to the post.
    Frame(f64),
}

impl Back {
    /// Cold ohms that a run has in the loop.
    fn ohm_of(self, c: &Context<'_>, run: usize) -> Figure<f64> {
        let (out, back) = cold::poles(c, run)?;
        Ok(if matches!(self, Self::Negatives) { out + back } else { out })
    }

    /// What the loop has beside the runs it goes out over.
    fn beside_ohm(self) -> f64 {
        if let Self::Frame(ohm) | Self::Home(ohm) = self { ohm } else { 0.0 }
    }
}

/// So many runs as lie side by side where one is a battery's own: the current of all shares them.
fn beside(c: &Context<'_>, run: usize) -> f64 {
    if c.circuit.is_lead(run) { c.circuit.own_loops().len().max(1) as f64 } else { 1.0 }
}

/// Whether a vehicle's frame is a way back, on which its battery's negative is from the factory: a tow plug has a ground wire
/// of its own.
fn on_vehicle(c: &Context<'_>, upstream: &[usize]) -> bool {
    let tow = |n: Option<Node>| n.is_some_and(|n| device_kind(c.plan, n) == Some(DeviceKind::Tow));
    !upstream.iter().filter_map(|i| c.circuit.links.get(*i)).any(|l| tow(l.from) || tow(l.to))
}

fn known_or_none(ohm: Figure<f64>, unknown_is_none: bool) -> Figure<f64> {
    if unknown_is_none { Ok(ohm.unwrap_or(0.0)) } else { ohm }
}

/// Fault current at a fuse: its strongest source through the cold cable up to it. None where no battery feeds it.
///
/// Cable at 20 C; fuses, joints and management units count for nothing. Back by the negatives from its place to the post,
/// drawn beside their positives or by themselves; the piece of its own run ahead of a fuse near its beginning counts one way, as the fault may be at the fuse itself. Start batteries that
/// isolators or bus bars join to that end drive it too (`joined.rs`); between batteries the larger of what either end drives through
/// the fuse counts.
/// Source: Kirchhoff's laws; common practice for what counts.
pub(super) fn at_fuse(
    c: &Context<'_>,
    source: &Figure<Source>,
    index: usize,
    run: &Run,
    fuse: &Protection,
) -> Option<Figure<Fault>> {
    through_cable(c, source, (index, run, fuse), Over { frame: false, unknown_is_none: false })
}

/// The most that a fault at a fuse can draw: cable of unknown length or size counts for nothing.
pub(super) fn at_fuse_at_most(
    c: &Context<'_>,
    source: &Figure<Source>,
    index: usize,
    run: &Run,
    fuse: &Protection,
) -> Option<Figure<Fault>> {
    through_cable(c, source, (index, run, fuse), Over { frame: false, unknown_is_none: true })
}

/// The most that a fault to the bonded frame can draw through a fuse: out by the positives, back by frame and bond. None where
/// nothing bonds the frame.
pub(super) fn by_frame(
    c: &Context<'_>,
    source: &Figure<Source>,
    index: usize,
    run: &Run,
    fuse: &Protection,
) -> Option<Figure<Fault>> {
    through_cable(c, source, (index, run, fuse), Over { frame: true, unknown_is_none: false })
}

/// Volts that drive a fault through a fuse of a run: the bank's, or a vehicle's where that alone feeds it.
pub(super) fn volts_at(c: &Context<'_>, source: &Figure<Source>, index: usize) -> Option<f64> {
    start_behind(c, index).or_else(|| source.clone().ok()).map(|s| s.volts)
}

/// What a fault comes back by, and whether cable that is not known counts for nothing.
#[derive(Clone, Copy)]
struct Over {
    frame: bool,
    unknown_is_none: bool,
}

fn through_cable(
    c: &Context<'_>,
    source: &Figure<Source>,
    (index, run, fuse): (usize, &Run, &Protection),
    over: Over,
) -> Option<Figure<Fault>> {
    let link = c.circuit.links.get(index)?;
    let fed = joined::Fed { c, source, index, run, fuse, over };
    // Behind a converter the bank drives no fault, only what the converter gives; a battery that hangs there does.
    if step_down(c, index).is_ok_and(|times| times > 1.0) {
        return if over.frame { None } else { fed.by_joined_alone().transpose() };
    }
    let known = |ohm: Figure<f64>| known_or_none(ohm, over.unknown_is_none);
    let starts = |node: Option<Node>| node.is_some_and(|n| is_start(c.plan, n));
    let through = |source: &Source, from: bool, upstream: &[usize], back: Back| -> Figure<Fault> {
        let mut ohm = known(own_ohm(c, (index, run), fuse, from, over.frame))? + back.beside_ohm();
        for i in upstream {
            ohm += known(back.ohm_of(c, *i))? / beside(c, *i);
        }
        let amps = finite(source.volts / (source.ohm() + ohm), || FieldPath::new("bank.unit_v"))?;
        Ok(Fault { amps, margin: source.margin })
    };
    let of_vehicle = |from: bool, upstream: &[usize]| {
        let back = if over.frame { Back::Frame(0.0) } else { Back::Negatives };
        let own = || {
            let vehicle = start_battery(c, index, upstream)?;
            fed.with_bank(through(&vehicle, from, upstream, back)?, &vehicle, from, upstream)
        };
        (!over.frame || on_vehicle(c, upstream)).then(own)
    };
    let near = link.near_from;
    match link.role {
        Role::Array | Role::Dead | Role::Bond => None,
        Role::ChargerInput | Role::StartLead if starts(link.near()) || !link.upstream.is_empty() => {
            of_vehicle(near, &link.upstream)
        }
        Role::ChargerInput | Role::StartLead => None,
        // What the bank does not feed hangs on a start battery, or on nothing that drives a fault.
        _ if link.upstream.is_empty() && link.near() != Some(Node::Bank) => {
            let first = vehicle::from_start(c, index).and_then(|(_, upstream)| of_vehicle(near, &upstream));
            // Of two start batteries the one that drives more through it.
            match (link.role == Role::BatteryLink).then(|| of_vehicle(!near, &link.beyond)).flatten() {
                Some(other) => Some(first.unwrap_or_else(|| other.clone()).and_then(|a| {
                    let b = other?;
                    Ok(if b.needed_a() > a.needed_a() { b } else { a })
                })),
                None => first,
            }
        }
        _ => {
            let back = if over.frame { cold::frame(c).transpose()? } else { Ok(Back::Home(0.0)) };
            let one_way = || {
                let own = batteries(c, source, index, over.unknown_is_none, back.clone()?)?;
                let back = match over.frame {
                    true => back?,
                    false => home::negatives(c, index, own.is_some(), over.unknown_is_none)?,
                };
                match own.map(|bank| Batteries { back, ..bank }) {
                    Some(bank) => bank.at(&fed),
                    None => fed.larger(through(&source.clone()?, near, &link.upstream, back)?, &link.upstream, back),
                }
            };
            Some(match mesh::most(&fed) {
                Some(all_ways) => one_way().and_then(|a| Ok(joined::larger(a, Some(all_ways?)))),
                None => one_way(),
            })
        }
    }
}

/// Cold ohms of a run's own cable that are in the loop of a fault at a fuse on it, from one of its ends.
fn own_ohm(c: &Context<'_>, (index, run): (usize, &Run), fuse: &Protection, from: bool, frame: bool) -> Figure<f64> {
    let distance = fuse_distance_m(run, from, fuse)?;
    if distance <= 0.0 {
        return Ok(0.0);
    }
    let length = length_m(run)?;
    if length <= 0.0 {
        return Ok(0.0);
    }
    // Where a run begins the negative that it left is at hand; further on its own lies beside it.
    let at_hand = distance <= c.rules.fuse_distance_note_m + 1e-9;
    let ohm = match at_hand || frame {
        true => cold::out(c, index, run)?,
        false => cold::poles(c, index).map(|(out, back)| out + back)?,
    };
    Ok(ohm * (distance / length).min(1.0))
}

/// How far along its run a fuse sits, as a part of its length.
fn share_along(run: &Run, fuse: &Protection, from: bool) -> Figure<f64> {
    let (distance, length) = (fuse_distance_m(run, from, fuse)?, length_m(run)?);
    Ok(if length > 0.0 { (distance / length).clamp(0.0, 1.0) } else { 0.0 })
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
    back: Back,
}

/// The batteries whose own ways a run is on, or hangs on. None where the bank's figure is an assumption: that one is of
/// the whole bank, whatever it is made of.
fn batteries<'a>(
    c: &'a Context<'_>,
    source: &Figure<Source>,
    index: usize,
    unknown_is_none: bool,
    back: Back,
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
        back,
    };
    for (k, way) in all.ways.iter().enumerate() {
        let own = if all.by_frame() { 0.0 } else { all.own_back_ohm(c, k)? };
        all.leads.push(all.lead_ohm(c, way)? + own);
    }
    Ok(Some(all))
}

impl Batteries<'_> {
    fn known(&self, ohm: Figure<f64>) -> Figure<f64> {
        known_or_none(ohm, self.unknown_is_none)
    }

    fn by_frame(&self) -> bool {
        matches!(self.back, Back::Frame(_))
    }

    /// Cold ohms of the cable of one battery's own runs, both poles of pairs.
    fn lead_ohm(&self, c: &Context<'_>, runs: &[usize]) -> Figure<f64> {
        let back = if self.by_frame() { self.back } else { Back::Negatives };
        runs.iter().map(|i| self.known(back.ohm_of(c, *i))).sum()
    }

    /// Cold ohms of a battery's own negative, where that is drawn by itself.
    fn own_back_ohm(&self, c: &Context<'_>, battery: usize) -> Figure<f64> {
        let runs = c.circuit.own_backs.get(battery).map_or(&[][..], Vec::as_slice);
        runs.iter().map(|i| self.known(cold::poles(c, *i).map(|(out, _)| out))).sum()
    }

    /// Cold ohms of the cable of some runs.
    fn cable_ohm(&self, c: &Context<'_>, runs: &[usize]) -> Figure<f64> {
        runs.iter().map(|i| self.known(self.back.ohm_of(c, *i))).sum()
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
    fn at(&self, fed: &joined::Fed<'_>) -> Figure<Fault> {
        let joined::Fed { c, index, run, fuse, .. } = *fed;
        let (volts, margin) = fed.source.as_ref().map(|s| (s.volts, s.margin)).map_err(Clone::clone)?;
        let Some(link) = c.circuit.links.get(index) else { return Ok(Fault { amps: 0.0, margin }) };
        let driven = |ohm: f64| -> Figure<Fault> {
            let amps = finite(volts / (ohm + self.back.beside_ohm()), || FieldPath::new("bank.unit_v"))?;
            Ok(Fault { amps, margin })
        };
        let up_to = self.known(own_ohm(c, (index, run), fuse, link.near_from, self.by_frame()))?;
        let on =
            self.ways.iter().enumerate().find_map(|(k, way)| Some((k, way, way.iter().position(|i| *i == index)?)));
        if let Some((k, way, place)) = on {
            let back = self.known(own_ohm(c, (index, run), fuse, !link.near_from, self.by_frame()))?;
            let (before, after) = (way.get(..place).unwrap_or_default(), way.get(place + 1..).unwrap_or_default());
            let own = self.each_ohm + self.lead_ohm(c, before)? + up_to;
            // Its own negative lies beside the rest of its lead.
            let rest = match way.as_slice() {
                [_] if !self.by_frame() => 1.0 - share_along(run, fuse, link.near_from)?,
                _ => 0.0,
            };
            let negative = if rest > 0.0 { self.own_back_ohm(c, k)? * rest } else { 0.0 };
            let shared = self.lead_ohm(c, after)? + back + negative;
            let others = fed.by_others(driven(self.together_ohm(Some(k)) + shared)?, shared, after)?;
            let own = driven(own)?;
            Ok(if others.needed_a() > own.needed_a() { others } else { own })
        } else {
            let beyond: Vec<usize> =
                link.upstream.iter().copied().filter(|i| c.circuit.own_way_of(*i).is_none()).collect();
            let all = match c.circuit.leaves_inside(&link.upstream) {
                Some((k, after)) => self.inside_ohm(c, k, after)?.min(self.together_ohm(None)),
                None => self.together_ohm(None),
            };
            let all = driven(all + self.cable_ohm(c, &beyond)? + up_to)?;
            fed.larger(all, &link.upstream, self.back)
        }
    }

    /// Ohms up to a place inside one of the ways, behind so many of its runs: its own battery over those beside all the others
    /// over the rest.
    fn inside_ohm(&self, c: &Context<'_>, k: usize, after: usize) -> Figure<f64> {
        let way = self.ways.get(k).map_or(&[][..], Vec::as_slice);
        let back = if self.by_frame() { 0.0 } else { self.own_back_ohm(c, k)? };
        let own = self.each_ohm + self.lead_ohm(c, way.get(..after).unwrap_or_default())? + back;
        let others = self.together_ohm(Some(k)) + self.lead_ohm(c, way.get(after..).unwrap_or_default())?;
        Ok(1.0 / (1.0 / own.max(1e-12) + 1.0 / others.max(1e-12)))
    }

    /// The most that a fuse drawn on any battery's own lead must open; none where none is drawn.
    fn at_fuses_a(&self, c: &Context<'_>, source: &Figure<Source>) -> Figure<Option<f64>> {
        let mut most: Option<f64> = None;
        for i in self.ways.iter().flatten() {
            let Some(run) = c.plan.runs.get(*i) else { continue };
            for fuse in fuses(run) {
                let over = Over { frame: false, unknown_is_none: self.unknown_is_none };
                let amps = self.at(&joined::Fed { c, source, index: *i, run, fuse, over })?.amps;
                most = Some(most.map_or(amps, |m| m.max(amps)));
            }
        }
        Ok(most)
    }

    /// The most that a fuse at any battery's own post must open.
    fn at_posts_a(&self, volts: f64, joined_a: f64) -> f64 {
        let of = |(k, lead): (usize, &f64)| {
            let others_a = volts / (self.together_ohm(Some(k)) + lead).max(1e-12) + joined_a;
            others_a.max(volts / self.each_ohm.max(1e-12))
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
            if lead && let Some(drawn) = batteries(c, source, index, true, Back::Home(0.0))? {
                // Where they are drawn, what each sees at its own place.
                return match drawn.at_fuses_a(c, source)? {
                    Some(amps) => Ok(amps),
                    None => Ok(drawn.at_posts_a(source.clone()?.volts, joined::at_bank_a(c)?)),
                };
            }
        }
        let source = source.clone()?;
        // An assumed figure is that of the whole bank, whatever it is made of.
        let (each, others) = (source.several_a(1.0, parallel), source.several_a(parallel - 1.0, parallel));
        Ok(if source.assumed { source.amps } else { each.max(others + joined::at_bank_a(c)?) })
    })
}
