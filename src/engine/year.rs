//! The year stage: sources, bank and loads solved hour by hour, after an uncounted December.

mod hour;
mod inverter;
mod pieces;

use crate::climate::year::MONTH_DAYS;
use crate::physics::array::Array;
use crate::physics::battery::{Bank, Store};
use crate::physics::controller::Source;
use crate::physics::module::Point;

use super::day::{Usage, is_shore_day};
use super::lit::{Offer, OfferHour};
use super::memo::Stage;
use super::solve::{Charging, Flow, Lit, Makes, Moment, Posts, solve};
use super::warmth::Warmth;

pub use hour::Step;
pub use inverter::CutOff;

/// A controller's array at one stay.
#[derive(Clone, Debug, PartialEq)]
pub struct Lighting {
    pub offer: Stage<Offer>,
    /// Its best points behind the PV loop; none where the controller does not look for them.
    pub best: Option<Stage<Vec<Point>>>,
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
    /// Share of each hour of a day in which the engine runs.
    pub driving: [f64; 24],
    /// Days a month on shore power.
    pub shore_days: f64,
}

/// When a charger that is not solar gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Runs {
    Driving,
    OnShore,
    Never,
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
    /// The inverter's own cut-off, where it is known.
    pub cut_off: Option<CutOff>,
    /// State at the beginning of the uncounted December.
    pub start: Store,
    /// How often the whole year passes before it is counted, at least; none for the shown year.
    pub passes: usize,
}

/// Sums of one month, Wh.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MonthSums {
    /// What could arrive at the posts.
    pub harvest_wh: f64,
    /// What of it did.
    pub solar_wh: f64,
    /// What other chargers brought to the posts.
    pub other_wh: f64,
    /// What of that came from shore power.
    pub shore_wh: f64,
    pub load_wh: f64,
    pub served_wh: f64,
    /// Change of what rests in the cells.
    pub stored_wh: f64,
    /// Lost in the cells.
    pub lost_wh: f64,
    /// Into the posts of the bank.
    pub charged_wh: f64,
    /// Not taken because the bank was full or its volts held.
    pub full_wh: f64,
    /// Not taken because of the bank's charge limit.
    pub limited_wh: f64,
    /// Not taken because the bank was too cold.
    pub cold_wh: f64,
    /// The same of what other chargers could have given.
    pub other_cold_wh: f64,
    /// Lost in the PV loops.
    pub pv_wire_wh: f64,
    /// Lost between controllers and posts.
    pub out_wire_wh: f64,
    /// Lost to the controllers' current limits.
    pub clipped_wh: f64,
    /// Lost because the array did not work at its best volts.
    pub mismatch_wh: f64,
    /// Lost in conversion and own use of the controllers.
    pub convert_wh: f64,
    /// Days on which some load was not served.
    pub short_days: f64,
    /// Of the medical loads, not served.
    pub medical_short_wh: f64,
    /// Not served because the inverter's own cut-off had it off.
    pub cut_off_wh: f64,
    /// Of the load, what depends on how the bank fares: its heater, and controllers that wait for it to be lower.
    pub by_bank_wh: f64,
    /// Least state of charge.
    pub least_soc: f64,
}

impl MonthSums {
    /// Load not served.
    #[must_use]
    pub fn shortfall_wh(&self) -> f64 {
        (self.load_wh - self.served_wh).max(0.0)
    }

    /// How far the energy at the posts fails to close.
    #[must_use]
    pub fn gap_wh(&self) -> f64 {
        self.solar_wh + self.other_wh - self.served_wh - self.stored_wh - self.lost_wh
    }
}

/// One day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DaySums {
    pub harvest_wh: f64,
    pub load_wh: f64,
    pub shortfall_wh: f64,
    pub least_soc: f64,
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
    /// Whether the inverter's cut-off is in it.
    pub with_cut_off: bool,
}

/// What one month comes to.
#[derive(Clone, Debug, PartialEq)]
struct Month {
    sums: MonthSums,
    days: Vec<DaySums>,
    /// As in [`Year`], of this month alone.
    pv_loss_wh: Vec<f64>,
    segment_loss_wh: Vec<f64>,
    clipped_wh: Vec<f64>,
    held_wh: Vec<f64>,
}

impl Month {
    fn empty(circuit: &Charging) -> Self {
        Self {
            sums: MonthSums { least_soc: 1.0, ..MonthSums::default() },
            days: Vec::with_capacity(31),
            pv_loss_wh: vec![0.0; circuit.solars.len()],
            segment_loss_wh: vec![0.0; circuit.segments_ohm.len()],
            clipped_wh: vec![0.0; circuit.solars.len()],
            held_wh: vec![0.0; circuit.solars.len()],
        }
    }
}

impl Year {
    fn empty(input: &YearInput) -> Self {
        let circuit = &input.circuit;
        Self {
            months: [MonthSums { least_soc: 1.0, ..MonthSums::default() }; 12],
            days: vec![DaySums::default(); MONTH_DAYS.iter().sum()],
            pv_loss_wh: vec![0.0; circuit.solars.len()],
            segment_loss_wh: vec![0.0; circuit.segments_ohm.len()],
            clipped_wh: vec![0.0; circuit.solars.len()],
            held_wh: vec![0.0; circuit.solars.len()],
            with_bank: matches!(circuit.posts, Posts::Bank(_)),
            with_cut_off: input.cut_off.is_some(),
        }
    }

    fn add(&mut self, number: usize, month: &Month) {
        if let Some(slot) = self.months.get_mut(number) {
            *slot = month.sums;
        }
        let first = first_day(number);
        for (slot, day) in self.days.iter_mut().skip(first).zip(&month.days) {
            *slot = *day;
        }
        for (sums, parts) in [
            (&mut self.pv_loss_wh, &month.pv_loss_wh),
            (&mut self.segment_loss_wh, &month.segment_loss_wh),
            (&mut self.clipped_wh, &month.clipped_wh),
            (&mut self.held_wh, &month.held_wh),
        ] {
            sums.iter_mut().zip(parts).for_each(|(sum, part)| *sum += part);
        }
    }
}

/// Runs the year.
#[must_use]
pub fn year(input: &YearInput) -> Year {
    year_on(input, 1)
}

/// The same, on so many threads at most; bit for bit the same.
#[must_use]
pub fn year_on(input: &YearInput, threads: usize) -> Year {
    settled(input, threads).0
}

/// Runs the year and shows every counted hour: its number, what it depended on, what flowed, what it came to.
pub fn run(input: &YearInput, see: &mut impl FnMut(u16, &Moment<'_>, &Flow, &Step)) -> Year {
    let (_, begun) = settled(input, 1);
    let mut runner = Runner::of(input, begun);
    let mut out = Year::empty(input);
    for at in pieces::months(input, false) {
        out.add(at.number, &runner.month(&at, see));
    }
    out
}

/// A year in whose course the bank gained or lost no more than this share of the load stands for every such year.
/// Source: our own choice: it moves what goes unserved by no more than that.
const SETTLED: f64 = 0.002;
/// Years until then, at most. Source: our own choice; a bank that holds more than a season comes near in two.
const MOST_YEARS: usize = 5;

/// The year, and the state it begins with: after the uncounted December, and as many years more as a large bank needs to
/// end as it began. Without that it would live on a charge that no year brings.
fn settled(input: &YearInput, threads: usize) -> (Year, State) {
    let mut start = State { store: input.start, is_off: false, rise_k: 0.0 };
    let months = input.stays.iter().fold(0, |all, stay| all | stay.months);
    let most_years = if months == EVERY_MONTH { MOST_YEARS } else { 1 };
    let mut passed = 0;
    loop {
        let pass = pieces::pass(input, start, passed == 0, threads);
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

/// A month to be run.
#[derive(Clone, Copy)]
struct MonthAt<'a> {
    number: usize,
    /// Whether it is a month of the year and not of the spin-up.
    counts: bool,
    stay: &'a StayInput,
    /// Part of a shore day that is due when it begins.
    shore: f64,
}

/// What an hour leaves to the next one, and a month to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
struct State {
    store: Store,
    /// Whether the inverter's own cut-off has it off.
    is_off: bool,
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
    /// Whether the inverter's own cut-off has it off.
    is_off: bool,
    /// How far its heater has the bank above where it would be without.
    rise_k: f64,
    held_h: Vec<f64>,
    /// Controllers that wait for their array's first volts of the day, a bit each, and those that do so each morning.
    waits: u16,
    mornings: u16,
    arrays: Vec<Array>,
    flow: Flow,
    /// Each array's hour; none where it is dark.
    lit: Vec<Option<&'a OfferHour>>,
    best: Vec<Point>,
    feeding: Vec<f64>,
}

/// Where a month's hours of each array begin.
type At = Vec<usize>;

impl<'a> Runner<'a> {
    fn of(input: &'a YearInput, State { store, is_off, rise_k }: State) -> Self {
        let bank = match &input.circuit.posts {
            Posts::Bank(bank) => Some(bank),
            Posts::Fixed(_) => None,
        };
        let solars = input.circuit.solars.len();
        Self {
            input,
            bank,
            deep: bank.map(|b| Bank { least_soc: 0.0, ..*b }),
            store,
            is_off,
            rise_k,
            held_h: vec![0.0; input.circuit.sources()],
            waits: 0,
            mornings: input.start_v.iter().take(solars).rev().fold(0, |mask, v| mask << 1 | u16::from(*v > 0.0)),
            arrays: (0..solars).map(|_| Array::default()).collect(),
            flow: Flow::default(),
            lit: Vec::with_capacity(solars),
            best: Vec::with_capacity(solars),
            feeding: vec![0.0; input.circuit.feeders.len()],
        }
    }

    fn state(&self) -> State {
        State { store: self.store, is_off: self.is_off, rise_k: self.rise_k }
    }

    fn begin(&mut self, State { store, is_off, rise_k }: State) {
        (self.store, self.is_off, self.rise_k) = (store, is_off, rise_k);
    }

    fn month(&mut self, at: &MonthAt<'a>, see: &mut impl FnMut(u16, &Moment<'_>, &Flow, &Step)) -> Month {
        let MonthAt { number: month, stay, mut shore, .. } = *at;
        let first = first_day(month);
        let days = MONTH_DAYS.get(month).copied().unwrap_or(0);
        let begin = u16::try_from(first * 24).unwrap_or(0);
        let mut at: At = stay.lights.iter().map(|l| l.offer.hours.partition_point(|h| h.hour < begin)).collect();
        let mut out = Month::empty(&self.input.circuit);
        for day in 0..days {
            let on_shore = is_shore_day(&mut shore, stay.shore_days / days as f64);
            self.dawn(stay, (first + day) * 24, &mut out.sums);
            let mut today = DaySums { least_soc: self.store.soc, ..DaySums::default() };
            for hour_of_day in 0..24 {
                let number = u16::try_from((first + day) * 24 + hour_of_day).unwrap_or(0);
                let step = self.hour(stay, &mut at, (month, hour_of_day, number), on_shore, &mut out, see);
                step.add_to(&mut out.sums, &mut today);
            }
            out.sums.short_days += f64::from(u8::from(today.shortfall_wh > SHORT_WH));
            out.sums.least_soc = out.sums.least_soc.min(today.least_soc);
            out.days.push(today);
        }
        out
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

    fn hour(
        &mut self,
        stay: &'a StayInput,
        at: &mut At,
        (month, hour_of_day, number): (usize, usize, u16),
        on_shore: bool,
        out: &mut Month,
        see: &mut impl FnMut(u16, &Moment<'_>, &Flow, &Step),
    ) -> Step {
        let input = self.input;
        let circuit = &input.circuit;
        for (share, runs) in self.feeding.iter_mut().zip(&input.runs) {
            *share = match runs {
                Runs::Driving => stay.driving.get(hour_of_day).copied().unwrap_or(0.0),
                Runs::OnShore => f64::from(u8::from(on_shore)),
                Runs::Never => 0.0,
            };
        }
        let own_w = self.light_up(stay, at, number);
        let battery_c = self.battery_c(stay, usize::from(number));
        let heater = stay.warm.as_ref().and_then(|warm| warm.heater.as_ref());
        let heater_w = heater.map_or(0.0, |heater| heater.asks_w(battery_c - self.rise_k, self.rise_k));
        let mut by_bank_w = heater_w;
        let starts = self.waits != 0 && self.lit.iter().any(Option::is_some);
        if starts {
            by_bank_w += self.start(battery_c);
        }
        let mut lit_room = [Lit::None; MOST_SOLARS];
        for ((slot, hour), array) in lit_room.iter_mut().zip(&self.lit).zip(&self.arrays) {
            *slot = match hour {
                None => Lit::None,
                Some(OfferHour { even: Some(cell), junction_v, .. }) => Lit::Even { cell, junction_v: *junction_v },
                Some(_) => Lit::Mixed(array),
            };
        }
        if starts {
            let waiting = lit_room.iter_mut().enumerate().filter(|(k, _)| self.waits >> k & 1 == 1);
            waiting.for_each(|(_, slot)| *slot = Lit::None);
        }
        let asked = input.usage.at(month, hour_of_day, on_shore);
        let mut moment = Moment {
            lit: lit_room.get(..stay.lights.len().min(MOST_SOLARS)).unwrap_or_default(),
            best: &self.best,
            feeding: &self.feeding,
            load_w: asked.all_w + own_w + by_bank_w,
            store: self.store,
            battery_c,
            held_h: &self.held_h,
        };
        solve(circuit, &moment, &mut self.flow);
        if let Some(cut_off) = &input.cut_off {
            self.is_off = cut_off.settle(circuit, &mut moment, asked.ac_w, self.is_off, &mut self.flow);
        }
        let medical_w = if self.is_off { asked.medical_w - asked.medical_ac_w } else { asked.medical_w };
        let mut step = hour::step(circuit, self.bank.zip(self.deep.as_ref()), &moment, &self.flow, medical_w);
        if by_bank_w > 0.0 {
            out.sums.by_bank_wh += by_bank_w;
        }
        if let Some(heater) = heater {
            step.heat_wh = heater_w * step.share_served(medical_w);
            self.rise_k = heater.body.after_k(self.rise_k, step.heat_wh);
        }
        if self.is_off {
            // At its floor and below it is the empty bank that keeps everything from the loads.
            let is_down = self.bank.is_some_and(|bank| self.store.soc <= bank.floor_soc(battery_c, 0.0));
            step = step.without(asked, is_down);
        }
        out.sums.shore_wh += step.other_wh * self.shore_share();
        step.array_wh = hour::account(circuit, &self.lit, self.waits, &self.flow, out);
        see(number, &moment, &self.flow, &step);
        for (k, held_h) in self.held_h.iter_mut().enumerate() {
            *held_h = step.held_h(circuit, &self.flow, k, *held_h);
        }
        for (lit, i) in self.lit.iter().zip(at.iter_mut()) {
            *i += usize::from(lit.is_some());
        }
        self.store = step.after;
        step
    }

    /// Part of what the other chargers send that comes from shore power.
    fn shore_share(&self) -> f64 {
        let of = |amps: &[f64]| {
            let others = amps.iter().skip(self.input.circuit.solars.len()).zip(&self.input.runs);
            others.fold((0.0, 0.0), |(shore_a, all_a), (amps, runs)| {
                (shore_a + if *runs == Runs::OnShore { *amps } else { 0.0 }, all_a + amps)
            })
        };
        let (mut shore_a, mut all_a) = of(&self.flow.amps);
        if all_a <= 0.0 {
            // They may come in later in the hour.
            (shore_a, all_a) = of(self.flow.offered_a());
        }
        if all_a > 0.0 { shore_a / all_a } else { 0.0 }
    }

    /// How warm the bank is.
    fn battery_c(&self, stay: &StayInput, hour: usize) -> f64 {
        stay.warm.as_ref().map_or(25.0, |warm| warm.bare_c(hour) + self.rise_k)
    }

    /// Which of the controllers that have not run today start: those whose array, open, stands so far above the resting bank
    /// as they need. The others are as in the dark; what they draw themselves.
    /// Source: the maker's sheet, volts over the battery to start; kept running until the sun sets.
    fn start(&mut self, battery_c: f64) -> f64 {
        // No bank rests higher, and no array stands lower open than at its best: mostly that is enough to tell.
        let (most_v, rest_v) = match &self.input.circuit.posts {
            Posts::Bank(bank) => (bank.cells * MOST_CELL_V, None),
            Posts::Fixed(volts) => (*volts, Some(*volts)),
        };
        let rest_v = || rest_v.or_else(|| Some(self.bank?.at(self.store, battery_c).rest_v())).unwrap_or(most_v);
        let mut own_w = 0.0;
        let lit = self.lit.iter().zip(&self.arrays).zip(&mut self.best);
        let each = lit.zip(&self.input.start_v).zip(&self.input.circuit.solars).enumerate();
        for (k, ((((hour, array), best), start_v), solar)) in each {
            let Some(hour) = hour.filter(|_| self.waits >> k & 1 == 1) else { continue };
            let open_v = || hour.even.as_ref().map_or_else(|| array.open_circuit_v(), Source::open_circuit_v);
            if hour.best.v >= most_v + start_v || open_v() >= rest_v() + start_v {
                self.waits &= !(1 << k);
                continue;
            }
            *best = Point::default();
            own_w += match &solar.makes {
                Makes::Tracking(tracker) => tracker.self_w,
                Makes::Pwm { .. } => 0.0,
            };
        }
        own_w
    }

    /// What each array has in an hour, and what the controllers draw from the bank in it.
    fn light_up(&mut self, stay: &'a StayInput, at: &At, number: u16) -> f64 {
        self.lit.clear();
        self.best.clear();
        let mut own_w = 0.0;
        for (((light, i), solar), array) in
            stay.lights.iter().zip(at).zip(&self.input.circuit.solars).zip(&mut self.arrays)
        {
            let hour = light.offer.hours.get(*i).filter(|h| h.hour == number);
            let best = light.best.as_ref().and_then(|b| b.get(*i)).filter(|_| hour.is_some());
            own_w += match (&solar.makes, hour) {
                (Makes::Tracking(tracker), None) => tracker.self_w,
                (Makes::Tracking(_), Some(_)) => 0.0,
                (Makes::Pwm { .. }, _) => solar.self_w,
            };
            if let Some(hour) = hour
                && hour.even.is_none()
            {
                light.offer.fill(hour, array);
            }
            self.lit.push(hour);
            self.best.push(best.copied().unwrap_or_default());
        }
        own_w
    }
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
/// No cell rests above this. Source: lithium iron phosphate full, Prada et al. 2013 (3.6 V); lead lies below it.
const MOST_CELL_V: f64 = 3.6;
/// Less than this is no shortfall, Wh a day: a controller's own use in the last minutes before dawn.
/// Source: our own choice.
const SHORT_WH: f64 = 1e-6;
