//! One moment of the charging circuit: amps from every source, and what the bank takes or gives.
//!
//! A moment is solved from its own inputs alone, so that any hour of a year is the same as a moment asked for by
//! itself. First what is on offer: every source giving all it can, the posts no higher than absorption. Then what
//! really flows, where a held voltage, the bank's limits or an empty bank let less of it in.

mod held;
mod holding;
pub(super) mod joined;
mod joint;
mod meet;
mod settled;
mod source;
pub(super) mod straight;

use crate::physics::array::Array;
use crate::physics::battery::{Bank, BankHour, Limit, Store};
use crate::physics::charging::{ChargeSettings, above_25_k};
use crate::physics::controller::{Source as _, Tracker};
use crate::physics::module::{Cell, Point};
use crate::physics::supply::{Ask, falling, feed};

use joint::Met;
use straight::Found;

pub(super) use held::out_v;
pub(super) use settled::{AtPosts, Settled};
pub use source::Share;

/// A controller between its array and the bank.
#[derive(Clone, Debug, PartialEq)]
pub enum Makes {
    /// Joins array and bank; drops `block_v` in its switch.
    Pwm { block_v: f64, most_a: f64 },
    /// Converts.
    Tracking(Tracker),
}

/// What a source of charge holds the bank at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    pub charge: ChargeSettings,
    /// Whether it reads the volts at the posts and not at its own output.
    pub sensed: bool,
}

/// A solar charger of the compiled circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Solar {
    pub makes: Makes,
    /// Loop resistance from the array to the controller.
    pub pv_ohm: f64,
    /// Segments from the controller to the posts, as indices into [`Charging::segments_ohm`].
    pub out: Vec<usize>,
    pub setting: Setting,
    /// What a controller that joins array and bank draws itself, from the bank, day and night.
    pub self_w: f64,
}

/// The line that a DC-DC charger draws on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    pub source_v: f64,
    pub ohm: f64,
    pub efficiency: f64,
    /// Volts at its input below which it stops.
    pub cutout_v: f64,
    /// Of its own current, what its alternator's rating leaves it while it stays on. It asks for all of it.
    pub part: f64,
}

/// A charger that is not solar: a constant current up to its held volts.
#[derive(Clone, Debug, PartialEq)]
pub struct Feeder {
    pub out_a: f64,
    pub out: Vec<usize>,
    pub setting: Setting,
    /// None: its input is stiff.
    pub line: Option<Line>,
}

/// What is at the bank's posts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Posts {
    /// A voltage that nothing moves.
    Fixed(f64),
    Bank(Bank),
}

/// The compiled charging circuit: what a year's hours are solved over.
#[derive(Clone, Debug, PartialEq)]
pub struct Charging {
    pub posts: Posts,
    pub solars: Vec<Solar>,
    pub feeders: Vec<Feeder>,
    /// Loop resistance of each segment between sources and posts.
    pub segments_ohm: Vec<f64>,
    /// Ohms that two sources share on their ways to the posts, row by row, solars first; on the diagonal a way's whole
    /// resistance.
    coupling: Vec<f64>,
    /// Whether no two sources share any.
    apart: bool,
    /// Whether every solar controller is a tracker.
    all_track: bool,
    /// Whether the input of some charger hangs on a line.
    has_lines: bool,
    /// Two feeders and the ohms that their lines have in common, for all that have any.
    shared_lines: Vec<(usize, usize, f64)>,
    /// For each segment the sources that send through it, a bit each, solars first.
    carried: Vec<u64>,
}

impl Charging {
    /// A circuit.
    #[must_use]
    pub fn of(posts: Posts, solars: Vec<Solar>, feeders: Vec<Feeder>, segments_ohm: Vec<f64>) -> Self {
        let ways: Vec<&[usize]> =
            solars.iter().map(|s| s.out.as_slice()).chain(feeders.iter().map(|f| f.out.as_slice())).collect();
        let shared = |a: &[usize], b: &[usize]| -> f64 {
            a.iter().filter(|s| b.contains(s)).filter_map(|s| segments_ohm.get(*s)).sum()
        };
        let coupling: Vec<f64> = ways.iter().flat_map(|a| ways.iter().map(|b| shared(a, b))).collect();
        let through = |s: usize| {
            let all = ways.iter().enumerate().take(64).filter(|(_, way)| way.contains(&s));
            all.fold(0, |mask, (k, _)| mask | 1_u64 << k)
        };
        let carried = (0..segments_ohm.len()).map(through).collect();
        let n = ways.len();
        let apart = coupling.iter().enumerate().all(|(i, ohm)| i % (n + 1) == 0 || *ohm == 0.0);
        let all_track = solars.iter().all(|solar| matches!(solar.makes, Makes::Tracking(_)));
        let has_lines = feeders.iter().any(|feeder| feeder.line.is_some());
        Self {
            posts,
            solars,
            feeders,
            segments_ohm,
            coupling,
            apart,
            all_track,
            has_lines,
            shared_lines: Vec::new(),
            carried,
        }
    }

    /// The same with feeders whose lines have ohms in common: two of them, and how many.
    #[must_use]
    pub fn on_lines(self, shared_lines: Vec<(usize, usize, f64)>) -> Self {
        Self { shared_lines, ..self }
    }

    /// Whether it can be solved at all: sane posts and no negative resistance.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        let at_rest = match &self.posts {
            Posts::Fixed(v) => *v,
            Posts::Bank(bank) => bank.rated_ah.min(bank.cells),
        };
        let ohms = self.solars.iter().map(|s| s.pv_ohm).chain(self.segments_ohm.iter().copied());
        at_rest.is_finite() && at_rest > 0.0 && ohms.into_iter().all(|ohm| ohm.is_finite() && ohm >= 0.0)
    }

    /// Sources of either kind.
    #[must_use]
    pub fn sources(&self) -> usize {
        self.solars.len() + self.feeders.len()
    }

    /// Each segment's resistance and the sources that send through it, a bit each, solars first.
    pub(super) fn segments(&self) -> impl Iterator<Item = (f64, u64)> {
        self.segments_ohm.iter().copied().zip(self.carried.iter().copied())
    }

    fn row(&self, k: usize) -> &[f64] {
        let n = self.sources();
        self.coupling.get(k * n..(k + 1) * n).unwrap_or_default()
    }

    /// What two sources share on their ways; nothing where one of them is none.
    fn shared_ohm(&self, k: usize, j: usize) -> f64 {
        let n = self.sources();
        if k < n && j < n { self.coupling.get(k * n + j).copied().unwrap_or(0.0) } else { 0.0 }
    }

    fn own_ohm(&self, k: usize) -> f64 {
        self.coupling.get(k * (self.sources() + 1)).copied().unwrap_or(0.0)
    }

    pub(super) fn setting(&self, k: usize) -> Option<&Setting> {
        match self.solars.get(k) {
            Some(solar) => Some(&solar.setting),
            None => self.feeders.get(k - self.solars.len()).map(|f| &f.setting),
        }
    }

    /// The highest absorption volts of its sources at a battery temperature.
    #[inline]
    fn absorb_v(&self, battery_c: f64) -> f64 {
        let all = (0..self.sources()).filter_map(|k| self.setting(k));
        all.map(|s| s.charge.held_v(false, battery_c)).fold(0.0, f64::max)
    }
}

/// What one array offers at a moment.
#[derive(Clone, Copy, Debug)]
pub enum Lit<'a> {
    /// Dark.
    None,
    /// One diode equation, and its maximum power without wire.
    Even { cell: &'a Cell, bare: &'a Point },
    /// Unlike modules.
    Mixed(&'a Array),
}

/// The point of greatest power behind a PV loop: what a tracking controller looks for.
#[must_use]
#[inline]
pub fn best_point(lit: Lit<'_>, pv_ohm: f64) -> Point {
    match lit {
        Lit::None => Point::default(),
        Lit::Even { cell, bare } => cell.max_power_behind(*bare, pv_ohm),
        Lit::Mixed(array) => array.max_power(pv_ohm),
    }
}

/// All that a moment depends on beside the circuit.
#[derive(Clone, Copy, Debug)]
pub struct Moment<'a> {
    /// One a solar controller.
    pub lit: &'a [Lit<'a>],
    /// Best point of each array behind its loop; read for trackers only.
    pub best: &'a [Point],
    /// Share of its current that each feeder gives.
    pub feeding: &'a [f64],
    /// Power drawn at the posts.
    pub load_w: f64,
    pub store: Store,
    pub battery_c: f64,
    /// Hours that each source has held its absorption volts today; no end of them once it is past absorption.
    pub held_h: &'a [f64],
}

/// What kind of moment it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Kind {
    /// Trackers alone, each at its array's maximum: their power does not depend on volts.
    Arithmetic,
    /// As [`joint`] has it, but for the number of controllers.
    Usual,
    #[default]
    Any,
}

/// A bank that neither takes nor gives: sources carry the loads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Idle {
    pub(super) posts_v: f64,
    /// What of the loads the solar controllers carry.
    pub(super) solar_share: f64,
}

/// Most sources that have a bit each. Source: our own choice.
const MOST_PUT: usize = 64;

/// What flows at a moment; kept between moments only for its memory.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Flow {
    /// What each solar controller could send, and where its array works then.
    pub shares: Vec<Share>,
    /// Volts at the posts that the offers were taken at.
    pub offered_v: f64,
    /// What each source, solars first, really sends.
    pub amps: Vec<f64>,
    /// Volts at the posts.
    pub posts_v: f64,
    /// Into the bank; negative: out of it.
    pub net_a: f64,
    /// What keeps a source from giving, or the bank from serving, more.
    pub limit: Limit,
    /// Whether each source is past its absorption.
    pub floating: Vec<bool>,
    /// Where the bank ends giving, though it gives now: none where nothing holds the sources back.
    idle: Option<Idle>,
    /// Every source's offer, solars first.
    offers: Vec<f64>,
    /// Volts that each source holds at most.
    held: Vec<f64>,
    scratch: held::Scratch,
    /// Output of each tracker at its array's maximum, and each controller's limit.
    watts: Vec<f64>,
    most_a: Vec<f64>,
    kind: Kind,
    /// Whether the offers reckon with arrays that stand too low.
    low_is_in: bool,
    /// Whether any source had something to give.
    has_sources: bool,
    /// Whether its lists are as a moment without sources leaves them.
    is_clear: bool,
    /// The sources that its lists were last written for by [`Flow::put`] alone, a bit each; none: in another way.
    put_for: u64,
}

impl Flow {
    /// Current of all sources.
    #[must_use]
    pub fn sources_a(&self) -> f64 {
        self.amps.iter().sum()
    }

    /// Power that the solar controllers together could bring to the posts.
    #[must_use]
    pub fn offered_w(&self) -> f64 {
        self.shares.iter().map(|s| s.out_a).sum::<f64>() * self.offered_v
    }

    /// Power that the other chargers together could bring to the posts.
    #[must_use]
    pub fn fed_w(&self) -> f64 {
        self.offers.iter().skip(self.shares.len()).sum::<f64>() * self.offered_v
    }

    /// What each source could send, solars first.
    pub(super) fn offered_a(&self) -> &[f64] {
        &self.offers
    }

    /// The sources are left with what the loads draw beyond what the bank gives.
    fn no_more_than_asked(&mut self, moment: &Moment<'_>) {
        let (asked_a, sum_a) = (moment.load_w / self.posts_v + self.net_a, self.sources_a());
        if sum_a > asked_a && sum_a > 0.0 {
            let share = (asked_a / sum_a).max(0.0);
            self.amps.iter_mut().for_each(|a| *a *= share);
        }
    }

    /// Makes ready for some sources, a bit each, that [`Flow::put`] will write: all others give nothing and hold nothing.
    fn put_for(&mut self, circuit: &Charging, sources: u64) {
        let (n, solars) = (circuit.sources(), circuit.solars.len());
        if self.put_for != sources || self.amps.len() != n || self.shares.len() != solars || n > MOST_PUT {
            self.clear(circuit);
            reset(&mut self.held, n);
            reset(&mut self.floating, n);
        }
        (self.put_for, self.is_clear) = (sources, false);
    }

    /// What a source offers and what it sends, and what it would hold.
    #[inline]
    fn put(&mut self, k: usize, (offer_a, sent_a): (f64, f64), (held_v, floating): (f64, bool), share: Share) {
        if let (Some(offer), Some(sent)) = (self.offers.get_mut(k), self.amps.get_mut(k)) {
            (*offer, *sent) = (offer_a, sent_a);
        }
        if let (Some(held), Some(floats)) = (self.held.get_mut(k), self.floating.get_mut(k)) {
            (*held, *floats) = (held_v, floating);
        }
        if let Some(slot) = self.shares.get_mut(k) {
            *slot = share;
        }
    }

    /// Whether any source had something to give; without one nothing is offered, and nothing flows from any.
    pub(super) fn has_sources(&self) -> bool {
        self.has_sources
    }

    /// No source gives anything or holds anything.
    fn clear(&mut self, circuit: &Charging) {
        let (n, solars) = (circuit.sources(), circuit.solars.len());
        if !self.is_clear || self.amps.len() != n || self.shares.len() != solars {
            reset(&mut self.shares, solars);
            reset(&mut self.offers, n);
            reset(&mut self.amps, n);
            self.held.clear();
            self.floating.clear();
        }
        (self.put_for, self.is_clear) = (0, true);
    }

    /// The same before a search that writes them.
    fn begin(&mut self, circuit: &Charging, moment: &Moment<'_>) {
        self.clear(circuit);
        self.is_clear = false;
        source::begin(circuit, moment, self);
    }
}

/// So many defaults, in the memory there is.
fn reset<T: Clone + Default>(list: &mut Vec<T>, n: usize) {
    if list.len() == n {
        list.fill(T::default());
    } else {
        list.clear();
        list.resize(n, T::default());
    }
}

/// Solves one moment.
pub fn solve(circuit: &Charging, moment: &Moment<'_>, flow: &mut Flow) {
    solve_with(circuit, moment, flow);
}

/// The same; the bank at that moment, none where the posts are held.
#[inline]
pub(super) fn solve_with<'a>(circuit: &'a Charging, moment: &Moment<'_>, flow: &mut Flow) -> Option<BankHour<'a>> {
    let now = solve_once(circuit, moment, flow);
    if circuit.has_lines && moment.feeding.iter().any(|share| *share > 0.0) {
        return without_dropped(circuit, moment, now, flow);
    }
    now
}

/// The moment anew as often as a charger's line does not carry what it draws at the volts found: such a charger drops out
/// and brings nothing, the one whose input stands lowest first.
/// What its alternator is rated for does not keep it on: where all its own current drops it out, it brings nothing.
/// Source: its own cut-out; constant power over its line, alone or with others, [`feed`] and [`falling`].
#[cold]
fn without_dropped<'a>(
    circuit: &'a Charging,
    moment: &Moment<'_>,
    mut now: Option<BankHour<'a>>,
    flow: &mut Flow,
) -> Option<BankHour<'a>> {
    let mut feeding = Vec::new();
    let part = |f: usize| circuit.feeders.get(f).and_then(|feeder| feeder.line).map_or(1.0, |line| line.part);
    if moment.feeding.iter().enumerate().any(|(f, share)| *share > 0.0 && part(f) < 1.0) {
        feeding.extend(moment.feeding.iter().enumerate().map(|(f, share)| share / part(f).max(f64::MIN_POSITIVE)));
        loop {
            solve_once(circuit, &Moment { feeding: &feeding, ..*moment }, flow);
            let Some(f) = source::dropping(circuit, flow, &feeding) else { break };
            feeding.get_mut(f).into_iter().for_each(|share| *share = 0.0);
        }
        feeding.iter_mut().zip(moment.feeding).for_each(|(asked, share)| *asked = asked.min(*share));
        now = solve_once(circuit, &Moment { feeding: &feeding, ..*moment }, flow);
    }
    loop {
        let feeds = if feeding.is_empty() { moment.feeding } else { feeding.as_slice() };
        let Some(f) = source::dropping(circuit, flow, feeds) else { return now };
        if feeding.is_empty() {
            feeding.extend_from_slice(moment.feeding);
        }
        feeding.get_mut(f).into_iter().for_each(|share| *share = 0.0);
        now = solve_once(circuit, &Moment { feeding: &feeding, ..*moment }, flow);
    }
}

fn solve_once<'a>(circuit: &'a Charging, moment: &Moment<'_>, flow: &mut Flow) -> Option<BankHour<'a>> {
    let is_lit = moment.lit.iter().any(|lit| !matches!(lit, Lit::None));
    flow.has_sources = is_lit || moment.feeding.iter().any(|share| *share > 0.0);
    (flow.limit, flow.idle) = (Limit::None, None);
    match &circuit.posts {
        Posts::Fixed(volts) => {
            flow.has_sources = true;
            flow.begin(circuit, moment);
            source::offer(circuit, moment, *volts, flow);
            flow.amps.copy_from_slice(&flow.offers);
            (flow.offered_v, flow.posts_v) = (*volts, *volts);
            flow.net_a = flow.sources_a() - moment.load_w / volts;
            None
        }
        Posts::Bank(bank) if !flow.has_sources => {
            flow.clear(circuit);
            let now = bank.giving(moment.store, moment.battery_c);
            meet::from_bank_alone(&now, moment, flow);
            Some(now)
        }
        Posts::Bank(bank) => {
            let now = bank.at(moment.store, moment.battery_c);
            with_sources(circuit, &now, moment, flow);
            Some(now)
        }
    }
}

#[inline(always)]
fn with_sources(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) {
    let is_down = now.is_down();
    // Trackers alone beside a bank that is down are looked at by the first of these, too.
    let mut found = if circuit.all_track { straight::met(circuit, now, moment, flow) } else { Found::Not };
    if found == Found::Not && is_down {
        flow.begin(circuit, moment);
        if meet::short_of_load(circuit, now, moment, flow) {
            return;
        }
    }
    if !circuit.all_track && (!is_down || flow.kind != Kind::Any) && joined::met(circuit, now, moment, flow) {
        found = Found::All;
    }
    if found == Found::All {
        return;
    }
    if found == Found::Blocked {
        source::begin(circuit, moment, flow);
    } else if !is_down {
        flow.begin(circuit, moment);
    }
    flow.put_for = 0;
    let absorb_v = circuit.absorb_v(moment.battery_c);
    if found == Found::Not && met_generally(circuit, now, moment, absorb_v, flow) {
        return;
    }
    if flow.net_a > 0.0 && (flow.net_a > now.most_charge_a() || !now.may_charge()) || held::binds(circuit, flow) {
        held::settle(circuit, now, moment, flow);
    }
}

/// Sources, bank and load with nothing held, into the flow; whether that, or more, is all there is to find: `false`: what
/// holds them is still to be looked at.
#[inline(never)]
fn met_generally(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, absorb_v: f64, flow: &mut Flow) -> bool {
    if held::off(circuit, now, moment, absorb_v, flow) {
        return true;
    }
    held::note(circuit, now, moment, flow);
    if holding::past(circuit, now, moment, absorb_v, flow) {
        return true;
    }
    if let Some(met) = joint::meet(circuit, now, moment, absorb_v, flow) {
        match met {
            Met::Freely(net_a, volts) => meet::take_up(circuit, now, moment, (net_a, volts), flow),
            Met::Above => {
                source::round_off(circuit, moment, absorb_v, flow);
                flow.offered_v = absorb_v;
                held::let_go(flow);
                held::settle(circuit, now, moment, flow);
                return true;
            }
        }
    } else {
        let load_a = moment.load_w / absorb_v;
        let net_a = source::sweep(circuit, moment, absorb_v, 1.0, flow).amps - load_a;
        // A first round is a hundredth off at most.
        let near = net_a + 0.05 * (net_a + load_a);
        if near > 0.0
            && now.needs_more(near, absorb_v)
            && let net_a = source::offer(circuit, moment, absorb_v, flow).amps - load_a
            && net_a > 0.0
            && now.needs_more(net_a, absorb_v)
        {
            flow.offered_v = absorb_v;
            held::let_go(flow);
            held::settle(circuit, now, moment, flow);
            return true;
        }
        meet::freely(circuit, now, moment, net_a, flow);
    }
    held::let_go(flow);
    false
}

/// Volts that a source holds at a moment, and whether it is past absorption.
#[inline]
fn held_v(setting: &Setting, now: &BankHour<'_>, moment: &Moment<'_>, held_h: f64) -> (f64, bool) {
    held_over_v(&setting.charge, now, above_25_k(moment.battery_c), held_h)
}

/// The same with the bank so many kelvin above 25 C.
#[inline]
fn held_over_v(charge: &ChargeSettings, now: &BankHour<'_>, over_k: f64, held_h: f64) -> (f64, bool) {
    let absorb_v = charge.held_over_v(false, over_k);
    let is_past = charge.absorb_h.is_some_and(|absorb_h| held_h >= absorb_h) || held_h == f64::INFINITY;
    // Little current means that absorption is over beside a bank that is nearly full; a lower one takes little since the volts are low, and is
    // held at the higher of both. Volts set above those of a full bank would push current into it for ever; it takes none.
    let may_end = charge.float_v.is_some_and(|float_v| is_past || float_v >= charge.absorb_v) || now.is_nearly_full();
    let floating = may_end && (is_past || now.is_full() || now.tapered(absorb_v, now.tail_a()));
    (if floating { charge.held_over_v(true, over_k) } else { absorb_v }, floating)
}
