//! The year stage: sources, bank and loads solved hour by hour, after an uncounted December.

mod beam;
mod hour;
mod inverter;
mod pieces;
mod plain;
mod starting;
mod stretch;
mod sums;

use std::sync::Arc;

use crate::climate::year::MONTH_DAYS;
use crate::physics::battery::{Bank, Store, Warm};
use crate::physics::module::Point;

use super::day::{Through, Usage, is_shore_day};
use super::lit::{Behind, Offer, OfferHour};
use super::memo::Stage;
use super::solve::straight::Suns;
use super::solve::{Charging, Flow, Lit, Makes, Moment, Posts, Solar};
use super::warmth::Warmth;

use beam::Beam;
use inverter::Inverters;
use pieces::Crew;
use plain::Bare;
use stretch::Hour;

pub use hour::Step;
pub use inverter::{CutOff, MOST_CUT_OFFS};
pub use sums::{DaySums, MonthSums};

/// A controller's array at one stay.
#[derive(Clone, Debug, PartialEq)]
pub struct Lighting {
    pub offer: Stage<Offer>,
    /// Its best points behind the PV loop; none where the controller does not look for them.
    pub best: Option<Stage<Behind>>,
}

/// A stay's part of the year.
#[derive(Clone, Debug, PartialEq)]
pub struct StayInput {
    /// Months spent there; bit 0 is January.
    pub months: u16,
    /// One a solar controller.
    pub lights: Vec<Lighting>,
    /// How warm the bank is; none where the posts are held.
    pub warm: Option<Stage<Warmth>>,
    /// Share of each hour of a day in which the engine runs, from its beginning on.
    pub driving: [f64; 24],
    /// Days a month on shore power.
    pub shore_days: f64,
}

/// When a charger that is not solar gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Runs {
    Driving,
    OnShore,
    /// So many hours a day from [`BEGINS`] on.
    Generator {
        hours: u8,
    },
    /// The same, and on shore power.
    OnShoreOrGenerator {
        hours: u8,
    },
    Never,
}

impl Runs {
    /// Hours of a day in which a generator runs it, a bit each.
    fn generated(self) -> u32 {
        match self {
            Self::Generator { hours } | Self::OnShoreOrGenerator { hours } => {
                (BEGINS..BEGINS + hours.min(24)).fold(0, |mask, hour| mask | 1 << (hour % 24))
            }
            Self::Driving | Self::OnShore | Self::Never => 0,
        }
    }
}

/// What the year stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct YearInput {
    pub circuit: Charging,
    /// One a feeder of the circuit.
    pub runs: Vec<Runs>,
    pub stays: Vec<StayInput>,
    pub usage: Usage,
    /// Volts above the bank that each tracking controller's array needs, open, to start on a day; one a solar, 0: none.
    pub start_v: Vec<f64>,
    /// The inverters' own cut-offs, where they are known.
    pub cut_offs: Vec<CutOff>,
    /// State at the beginning of the uncounted December.
    pub start: Store,
    /// How often the whole year passes before it is counted, at least; none for the shown year.
    pub passes: usize,
}

/// The year stage's result: whole months, January first, and whole-year losses.
#[derive(Clone, Debug, PartialEq)]
pub struct Year {
    pub months: [MonthSums; 12],
    /// One a day; default in months without a stay.
    pub days: Vec<DaySums>,
    /// Lost in each controller's PV loop, a year.
    pub pv_loss_wh: Vec<f64>,
    /// Lost in each segment, a year.
    pub segment_loss_wh: Vec<f64>,
    /// Lost to each controller's current limit, a year.
    pub clipped_wh: Vec<f64>,
    /// Lost by each controller whose array's best volts lay below the bank's, a year.
    pub held_wh: Vec<f64>,
    /// Whether the bank was simulated, so that its figures mean something.
    pub with_bank: bool,
    /// Not served because an inverter's own cut-off had it off, by month; of each of [`YearInput::cut_offs`].
    pub cut_offs: Vec<(usize, [f64; 12])>,
}

/// What some days of a month come to.
#[derive(Clone, Debug, PartialEq)]
struct Part {
    sums: MonthSums,
    days: Vec<DaySums>,
    /// As in [`Year`], of these days alone: of each solar controller, then of each segment.
    solars: Vec<Lost>,
    segment_loss_wh: Vec<f64>,
    /// As in [`Year`], of these days alone: of each inverter.
    cut_off_wh: Vec<f64>,
    /// Of each solar controller's offered current and each source's, A2h, row by row.
    products_a2h: Vec<f64>,
}

/// What a solar controller loses, Wh; as in [`Year`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Lost {
    pv_wh: f64,
    clipped_wh: f64,
    held_wh: f64,
    /// Away from its array's best volts.
    mismatch_wh: f64,
    /// In conversion and own use.
    convert_wh: f64,
}

impl Part {
    fn empty(YearInput { circuit, cut_offs, .. }: &YearInput, days: usize) -> Self {
        Self {
            sums: MonthSums::NONE,
            days: Vec::with_capacity(days),
            solars: vec![Lost::default(); circuit.solars.len()],
            segment_loss_wh: vec![0.0; circuit.segments_ohm.len()],
            cut_off_wh: vec![0.0; cut_offs.len()],
            products_a2h: vec![0.0; circuit.solars.len() * circuit.sources()],
        }
    }
}

impl Year {
    fn empty(input: &YearInput) -> Self {
        let circuit = &input.circuit;
        Self {
            months: [MonthSums::NONE; 12],
            days: vec![DaySums::default(); MONTH_DAYS.iter().sum()],
            pv_loss_wh: vec![0.0; circuit.solars.len()],
            segment_loss_wh: vec![0.0; circuit.segments_ohm.len()],
            clipped_wh: vec![0.0; circuit.solars.len()],
            held_wh: vec![0.0; circuit.solars.len()],
            with_bank: matches!(circuit.posts, Posts::Bank(_)),
            cut_offs: input.cut_offs.iter().map(|one| (one.inverter, [0.0; 12])).collect(),
        }
    }

    /// The days that follow.
    fn add(&mut self, at: &PartAt<'_>, part: &Part) {
        if let Some(month) = self.months.get_mut(at.month) {
            *month = month.and(&part.sums);
        }
        let first = first_day(at.month) + at.first;
        for (slot, day) in self.days.iter_mut().skip(first).zip(&part.days) {
            *slot = *day;
        }
        let sums = self.pv_loss_wh.iter_mut().zip(&mut self.clipped_wh).zip(&mut self.held_wh);
        for (((pv, clipped), held), lost) in sums.zip(&part.solars) {
            *pv += lost.pv_wh;
            *clipped += lost.clipped_wh;
            *held += lost.held_wh;
        }
        self.segment_loss_wh.iter_mut().zip(&part.segment_loss_wh).for_each(|(sum, part)| *sum += part);
        for ((_, months), part) in self.cut_offs.iter_mut().zip(&part.cut_off_wh) {
            months.get_mut(at.month).into_iter().for_each(|sum| *sum += part);
        }
    }
}

/// Runs the year.
#[must_use]
pub fn year(input: &YearInput) -> Year {
    settled(input, None).0
}

/// The same, on so many threads at most; bit for bit the same.
#[must_use]
pub fn year_on(input: &YearInput, threads: usize) -> Year {
    if threads > 1 { year_beside(&Arc::new(input.clone()), threads, &mut || {}) } else { year(input) }
}

/// The same. `aside`: what this thread does first while others begin, where there are any; done once, or not at all.
pub(super) fn year_beside(input: &Arc<YearInput>, threads: usize, aside: &mut dyn FnMut()) -> Year {
    settled(input, Some(&mut Crew { input, threads, aside: Some(aside) })).0
}

/// Runs the year and shows every counted hour: its number, what it depended on, what flowed, what it came to. An hour in
/// which the engine runs for a part of it is shown twice: that part, then the rest.
pub fn run(input: &YearInput, see: &mut impl FnMut(u16, &Moment<'_>, &Flow, &Step)) -> Year {
    let (_, begun) = settled(input, None);
    let suns = Suns::of(&input.circuit);
    let mut runner = Runner { is_seen: true, ..Runner::of(input, &suns, begun) };
    let mut out = Year::empty(input);
    for at in pieces::parts(input, false) {
        out.add(&at, &runner.part(&at, see));
    }
    out
}

/// A year in whose course the bank gained or lost no more than this share of the load stands for every such year.
/// Source: our own choice: it moves what goes unserved by no more than that.
const SETTLED: f64 = 0.0002;
/// Years until then, at most. Source: our own choice; a bank that holds more than a season comes near in two.
const MOST_YEARS: usize = 5;

/// The year, and the state it begins with: after the uncounted December, and as many years more as a large bank needs to
/// end as it began. Without that it would live on a charge that no year brings.
fn settled(input: &YearInput, mut crew: Option<&mut Crew<'_>>) -> (Year, State) {
    let mut start = State { store: input.start, off: 0, rise_k: 0.0 };
    let months = input.stays.iter().fold(0, |all, stay| all | stay.months);
    let most_years = if months == EVERY_MONTH { MOST_YEARS } else { 1 };
    let mut passed = 0;
    let mut known = Vec::new();
    loop {
        let pass = pieces::pass(input, start, passed == 0, crew.as_deref_mut(), &mut known);
        let sum = |of: fn(&MonthSums) -> f64| pass.year.months.iter().map(of).sum::<f64>();
        let is_settled = sum(|m| m.stored_wh).abs() <= SETTLED * sum(|m| m.load_wh);
        passed += 1;
        if passed > input.passes && is_settled || passed >= input.passes + most_years {
            return (pass.year, pass.start);
        }
        start = pass.end;
    }
}

/// January to December, a bit each.
const EVERY_MONTH: u16 = 0xfff;

/// The first day of a month, counted from the first of January.
fn first_day(month: usize) -> usize {
    MONTH_DAYS.iter().take(month).sum()
}

/// Days of a month to be run.
#[derive(Clone, Copy)]
struct PartAt<'a> {
    month: usize,
    /// The first of them, counted from the first of the month.
    first: usize,
    days: usize,
    /// Whether they are of the year and not of the spin-up.
    counts: bool,
    stay: &'a StayInput,
    /// Which of them are spent on shore power, a bit each.
    on_shore: u32,
}

/// What an hour leaves to the next one, and a month to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
struct State {
    store: Store,
    /// The inverters that their own cut-offs have off, a bit each.
    off: u32,
    /// How far its heater has the bank above where it would be without.
    rise_k: f64,
}

/// What goes on from hour to hour, and memory for the rest.
struct Runner<'a> {
    input: &'a YearInput,
    bank: Option<&'a Bank>,
    /// The same with no floor, for what is never shed.
    deep: Option<Bank>,
    store: Store,
    /// The inverters that their own cut-offs have off, a bit each.
    off: u32,
    /// How far its heater has the bank above where it would be without.
    rise_k: f64,
    held_h: Vec<f64>,
    /// Controllers that wait for their array's first volts of the day, a bit each, and those that do so each morning.
    waits: u16,
    mornings: u16,
    flow: Flow,
    /// Hours of the day in which a generator runs, a bit each, and whether this is one.
    generated: u32,
    on_generator: bool,
    /// One an array.
    beams: Vec<Beam<'a>>,
    /// The same for the solver, where all of them are even.
    even: Vec<Lit<'a>>,
    best: Vec<Point>,
    feeding: Vec<f64>,
    /// Whether it is driven, on shore power or on a generator, as they are fed now.
    fed: (bool, bool, bool),
    /// Whether any of them gives then.
    is_fed: bool,
    suns: &'a Suns,
    /// Whether somebody looks at each hour: then all of them go the general way.
    is_seen: bool,
    /// How warm the bank is from here on, hour by hour, where hours may be plain ones.
    warm: &'a [Warm],
    /// The next hour in which some array is lit.
    next_lit: u16,
    /// Whether all arrays were dark in the last hour.
    is_dark: bool,
    /// What the controllers draw from the bank in the dark.
    dark_w: f64,
    /// See [`Inverters::most_v`].
    cut_off_most_v: f64,
    /// Whether some source's time of absorption is longer than the hour of it that is left to be held.
    times: bool,
}

impl<'a> Runner<'a> {
    fn of(input: &'a YearInput, suns: &'a Suns, State { store, off, rise_k }: State) -> Self {
        let bank = match &input.circuit.posts {
            Posts::Bank(bank) => Some(bank),
            Posts::Fixed(_) => None,
        };
        let solars = input.circuit.solars.len();
        let lights = input.stays.iter().map(|stay| stay.lights.len()).max().unwrap_or(0).min(solars);
        let beam = |solar: &Solar| {
            let (lit_w, dark_w, tracks) = match &solar.makes {
                // What a tracker draws by day is taken off its array's power.
                Makes::Tracking(tracker) => (0.0, tracker.self_w, true),
                Makes::Pwm { .. } => (solar.self_w, solar.self_w, false),
            };
            Beam { lit_w, dark_w, pv_ohm: solar.pv_ohm, tracks, ..Beam::default() }
        };
        let beams: Vec<_> = input.circuit.solars.iter().take(lights).map(beam).collect();
        Self {
            input,
            bank,
            deep: bank.map(|b| Bank { least_soc: 0.0, ..*b }),
            store,
            off,
            rise_k,
            held_h: vec![0.0; input.circuit.sources()],
            waits: 0,
            mornings: input.start_v.iter().take(solars).rev().fold(0, |mask, v| mask << 1 | u16::from(*v > 0.0)),
            flow: Flow::default(),
            generated: input.runs.iter().fold(0, |mask, runs| mask | runs.generated()),
            on_generator: false,
            even: vec![Lit::None; lights],
            best: vec![Point::default(); lights],
            next_lit: u16::MAX,
            feeding: vec![0.0; input.circuit.feeders.len()],
            fed: (false, false, false),
            is_fed: false,
            suns,
            is_seen: false,
            warm: &[],
            is_dark: true,
            dark_w: beams.iter().fold(0.0, |sum, beam| sum + beam.dark_w),
            cut_off_most_v: inverter::most_v(&input.cut_offs, &input.usage),
            times: stretch::times(&input.circuit),
            beams,
        }
    }

    fn state(&self) -> State {
        State { store: self.store, off: self.off, rise_k: self.rise_k }
    }

    fn begin(&mut self, State { store, off, rise_k }: State) {
        (self.store, self.off, self.rise_k) = (store, off, rise_k);
    }

    fn part(&mut self, at: &PartAt<'a>, see: &mut impl FnMut(u16, &Moment<'_>, &Flow, &Step)) -> Part {
        let PartAt { month, stay, days, on_shore, .. } = *at;
        let first = first_day(month) + at.first;
        let begin = u16::try_from(first * 24).unwrap_or(0);
        for (beam, light) in self.beams.iter_mut().zip(&stay.lights) {
            beam.go_to(light, month, begin);
        }
        self.beams.iter_mut().skip(stay.lights.len()).for_each(|beam| beam.left = &[]);
        self.next_lit = self.beams.iter().map(Beam::next).fold(u16::MAX, u16::min);
        let warm = stay.warm.as_ref().filter(|_| !self.is_seen && self.rise_k == 0.0);
        self.warm = warm.map_or(&[], |warm| warm.from_hour(usize::from(begin)));
        let mut out = Part::empty(self.input, days);
        for day in 0..days {
            let on_shore = on_shore >> day & 1 == 1;
            self.dawn(stay, (first + day) * 24, &mut out.sums);
            let mut today = DaySums { least_soc: self.store.soc, ..DaySums::default() };
            for hour_of_day in 0..24 {
                let number = u16::try_from((first + day) * 24 + hour_of_day).unwrap_or(0);
                self.hour(stay, (month, hour_of_day, number), on_shore, (&mut out, &mut today), see);
            }
            if self.input.usage.has_beyond() && !on_shore {
                self.beyond(month, &mut out.sums, &mut today);
            }
            out.sums.short_days += f64::from(u8::from(today.shortfall_wh > SHORT_WH));
            out.sums.least_soc = out.sums.least_soc.min(today.least_soc);
            out.days.push(today);
        }
        for (slot, beam) in out.solars.iter_mut().zip(&mut self.beams) {
            *slot = std::mem::take(&mut beam.lost);
        }
        hour::in_segments(&self.input.circuit, &mut out);
        out
    }

    /// What a day asks of inverters beyond what they carry: asked for and not served, but for hours in which a generator
    /// carries it past them.
    fn beyond(&self, month: usize, sums: &mut MonthSums, today: &mut DaySums) {
        for hour_of_day in (0..24).filter(|h| self.generated >> h & 1 == 0) {
            let Through { all_w, medical_w } = self.input.usage.beyond(month, hour_of_day);
            sums.load_wh += all_w;
            sums.beyond_wh += all_w;
            sums.medical_short_wh += medical_w;
            today.load_wh += all_w;
            today.shortfall_wh += all_w;
        }
    }

    /// A new day: chargers begin again, and the bank has leaked a day's worth.
    fn dawn(&mut self, stay: &StayInput, hour: usize, sums: &mut MonthSums) {
        self.held_h.iter_mut().for_each(|h| *h = 0.0);
        self.waits = self.mornings;
        if let Some(bank) = self.bank {
            let battery_c = self.battery_c(stay, hour);
            let (after, balance) = bank.leak(self.store, battery_c, 24.0);
            self.store = Store { soc: grained(after.soc) };
            self.rise_k = grained(self.rise_k);
            sums.stored_wh += balance.stored_wh;
            sums.lost_wh += balance.lost_wh;
        }
    }

    /// An hour, into the sums: where the engine runs for a part of it, that part and then the rest.
    fn hour(
        &mut self,
        stay: &'a StayInput,
        (month, hour_of_day, number): (usize, usize, u16),
        on_shore: bool,
        (out, today): (&mut Part, &mut DaySums),
        see: &mut impl FnMut(u16, &Moment<'_>, &Flow, &Step),
    ) {
        let driving = stay.driving.get(hour_of_day).copied().unwrap_or(0.0);
        self.on_generator = self.generated >> hour_of_day & 1 == 1;
        self.feed(driving >= LEAST_H, on_shore);
        let (own_w, all_even, all_lit) = self.light_up(number);
        if self.waits != 0 && !self.is_dark {
            self.start_bright();
        }
        let usage = &self.input.usage;
        let asked = usage.at(month, hour_of_day, on_shore || self.on_generator);
        let drawn = (!on_shore && !self.on_generator).then_some(usage);
        let (all, most_v) = (self.input.cut_offs.as_slice(), self.cut_off_most_v);
        let inverters = Inverters { all, usage: drawn, month, hour_of_day, most_v };
        let warm = self.warm.split_first().map(|(warm, left)| {
            self.warm = left;
            *warm
        });
        if let Some(warm) = warm
            && self.plain(&Bare { asked, inverters, own_w, warm, all_lit, off: 0 }, (out, today))
        {
            return;
        }
        let battery_c = self.battery_c(stay, usize::from(number));
        let heater = stay.warm.as_ref().and_then(|warm| warm.heater.as_ref());
        let heater_w = heater.map_or(0.0, |heater| heater.asks_w(battery_c - self.rise_k, self.rise_k));
        let mut by_bank_w = heater_w;
        if self.waits != 0 && !self.is_dark {
            by_bank_w += self.start(battery_c);
        }
        let hour = Hour { number, asked, inverters, own_w, by_bank_w, heater, heater_w, battery_c, all_even };
        let is_cut = (LEAST_H..=1.0 - LEAST_H).contains(&driving) && self.input.runs.contains(&Runs::Driving);
        let heat_wh = if is_cut {
            self.in_two(&hour, (driving, on_shore), (out, today), see)
        } else {
            self.stretches(&hour, 1.0, (out, today), see)
        };
        if let Some(heater) = heater {
            self.rise_k = heater.body.after_k(self.rise_k, heat_wh);
        }
    }

    /// How warm the bank is.
    fn battery_c(&self, stay: &StayInput, hour: usize) -> f64 {
        stay.warm.as_ref().map_or(25.0, |warm| warm.bare_c(hour) + self.rise_k)
    }

    /// What each array has in an hour; what the controllers draw from the bank in it, whether all arrays are even, and all of
    /// them lit.
    #[inline]
    fn light_up(&mut self, number: u16) -> (f64, bool, bool) {
        if number < self.next_lit {
            if !self.is_dark {
                self.beams.iter_mut().for_each(|beam| beam.lit = None);
                self.even.fill(Lit::None);
                self.best.fill(Point::default());
                self.is_dark = true;
            }
            return (self.dark_w, true, false);
        }
        self.is_dark = false;
        let (mut own_w, mut all_even, mut all_lit, mut next_lit) = (0.0, true, true, u16::MAX);
        for (k, beam) in self.beams.iter_mut().enumerate() {
            let (Some(even), Some(best)) = (self.even.get_mut(k), self.best.get_mut(k)) else { continue };
            match beam.left.split_first().filter(|(hour, _)| hour.hour == number) {
                None => {
                    own_w += beam.dark_w;
                    all_lit = false;
                    (beam.lit, *even, *best) = (None, Lit::None, Point::default());
                }
                Some((hour, left)) => {
                    own_w += beam.lit_w;
                    (beam.lit, beam.left) = (Some(hour), left);
                    (*best, beam.points) =
                        beam.points.split_first().map_or_else(Default::default, |(best, left)| (*best, left));
                    *even = if let Some(cell) = &hour.even {
                        Lit::Even { cell, bare: &hour.best }
                    } else {
                        if let Some(offer) = beam.offer {
                            offer.fill(hour, &mut beam.array);
                        }
                        all_even = false;
                        Lit::None
                    };
                }
            }
            next_lit = next_lit.min(beam.next());
        }
        self.next_lit = next_lit;
        (own_w, all_even, all_even && all_lit)
    }
}

/// What each array has, where some are not even; of those whose controllers wait nothing.
#[cold]
fn mixed<'a>(beams: &'a [Beam<'a>], waits: u16, room: &'a mut Option<[Lit<'a>; MOST_SOLARS]>) -> &'a [Lit<'a>] {
    let room = room.insert([Lit::None; MOST_SOLARS]);
    for (k, (slot, Beam { lit, array, .. })) in room.iter_mut().zip(beams).enumerate() {
        *slot = match lit.filter(|_| waits >> k & 1 == 0) {
            None => Lit::None,
            Some(OfferHour { even: Some(cell), best, .. }) => Lit::Even { cell, bare: best },
            Some(_) => Lit::Mixed(array),
        };
    }
    room.get(..beams.len()).unwrap_or_default()
}

/// A bank's state to the nearest 2^-36 of its charge, and of a kelvin: two that differ by less begin the day as one, and go
/// on as one. Source: our own choice, a ten millionth of a watt-hour on a large bank.
fn grained(state: f64) -> f64 {
    /// The numbers between 2^16 and 2^17 stand so far apart.
    const GRAIN: f64 = 98_304.0;
    state + GRAIN - GRAIN
}

/// Most solar controllers of one plan that the year carries. Source: our own choice; more are refused by
/// [`YearInput`]'s maker.
pub const MOST_SOLARS: usize = 16;
/// The hour in which engine and generator begin. Source: our own choice; a day's drive after breakfast, quiet hours kept.
pub const BEGINS: u8 = 9;
/// A shorter part of an hour is none. Source: our own choice, some milliseconds.
const LEAST_H: f64 = 1e-6;
/// Less than this is no shortfall, Wh a day: a controller's own use in the last minutes before dawn.
/// Source: our own choice.
const SHORT_WH: f64 = 1e-6;
