//! The bank: what it takes, what it gives, what that does to its state, hour by hour.
//!
//! A [`Bank`] is what was bought, a [`Store`] its state, a [`BankHour`] both at a temperature with everything worked
//! out that does not depend on the current. Powers of an hour are those of its start; where the state would cross a
//! limit, the hour is cut there. Every step returns a [`Balance`] that closes.
//!
//! Lithium near empty rises by more than a volt within an hour. So its state follows from the energy that enters or
//! leaves its cells, not from the current of the start: what is lost is the start's ohmic power and the charge that does
//! not stay, never less than nothing, and a bank gives back no more than it was given.

mod step;

use super::compare::larger;
use super::law::{CURRENT_A, Law};
use super::lead::{self, C10_OF_C20, Cell, Local, Plates};
use super::lithium;

/// What the bank is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Make {
    /// Lead-acid.
    Lead(Plates),
    /// Lithium iron phosphate with its management unit.
    Phosphate,
}

/// A battery bank as one whole: cells in series, ampere-hours of all strings together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bank {
    /// What it is made of.
    pub make: Make,
    /// Cells in series: 6 or 4 for a 12 V bank.
    pub cells: f64,
    /// Capacity at the 20 h rate, Ah.
    pub rated_ah: f64,
    /// Resistance under load of the whole bank at 25 C, ohms, where known; read for lithium only.
    pub sag_ohm: Option<f64>,
    /// Greatest charge current, A.
    pub most_charge_a: Option<f64>,
    /// Greatest continuous discharge current, A: the management unit's.
    pub most_discharge_a: Option<f64>,
    /// Volts under load at which discharge ends.
    pub least_v: Option<f64>,
    /// State of charge below which nothing is drawn.
    pub least_soc: f64,
    /// Own temperature below which no charge enters, C: lithium's cut-off.
    pub least_charge_c: Option<f64>,
}

/// A battery's own temperature, and what follows from that alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warm {
    battery_c: f64,
    /// As [`lithium::cold_growth`].
    cold_growth: f64,
}

impl Warm {
    /// At a temperature. Source: as [`lithium::cold_growth`].
    #[must_use]
    pub fn at(battery_c: f64) -> Self {
        Self { battery_c, cold_growth: lithium::cold_growth(battery_c) }
    }

    /// The temperature, C. Source: as given.
    #[must_use]
    pub fn battery_c(&self) -> f64 {
        self.battery_c
    }
}

/// State of a bank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Store {
    /// Charge held over the rated capacity, 0 to 1.
    pub soc: f64,
}

/// Energy of a step, all of it: `in_wh = out_wh + stored_wh + lost_wh`.
///
/// `lost_wh` is resistance, gassing and self-discharge.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Balance {
    /// Into the posts.
    pub in_wh: f64,
    /// Out of the posts.
    pub out_wh: f64,
    /// Change of what rests in the cells.
    pub stored_wh: f64,
    /// Lost inside.
    pub lost_wh: f64,
    /// How long current flowed, h; less than asked where a limit cut the step.
    pub hours: f64,
    /// How far the posts' mean volts lie above those of the start, where a source goes on with its current
    /// ([`BankHour::fed_by`]).
    pub lift_v: f64,
}

impl Balance {
    /// How far it fails to close, Wh. Source: conservation of energy.
    #[must_use]
    pub fn gap_wh(&self) -> f64 {
        self.in_wh - self.out_wh - self.stored_wh - self.lost_wh
    }
}

impl std::ops::Add for Balance {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            in_wh: self.in_wh + other.in_wh,
            out_wh: self.out_wh + other.out_wh,
            stored_wh: self.stored_wh + other.stored_wh,
            lost_wh: self.lost_wh + other.lost_wh,
            hours: self.hours + other.hours,
            lift_v: self.lift_v,
        }
    }
}

/// What is on offer at the posts, or asked of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Offer {
    /// A current, A.
    Current(f64),
    /// A power, W.
    Power(f64),
}

/// What kept a flow below what was on offer or asked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Limit {
    /// Nothing did.
    #[default]
    None,
    /// The charger holds its volts.
    Held,
    /// The bank's current limit.
    Current,
    /// Too cold to charge.
    Cold,
    /// Volts under load are down.
    Sag,
    /// Nothing left above the floor.
    Empty,
}

/// Current through the posts, one way or the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flow {
    /// Volts at the posts.
    pub volts: f64,
    /// Current, A, never negative.
    pub current_a: f64,
    /// What kept it from being more.
    pub limit: Limit,
}

impl Flow {
    /// Power at the posts, W. Source: P = V I.
    #[must_use]
    pub fn power_w(&self) -> f64 {
        self.volts * self.current_a
    }
}

/// Volts under load never count below this share of those at rest: past half of them, more current brings less power.
/// Source: maximum power transfer, with room.
const LEAST_SHARE: f64 = 0.6;

/// Current up to which a lead bank gives all its charge, A for each Ah. Source: the label's 20 h rate.
const SLOW_RATE: f64 = 1.0 / 20.0;
/// Current at which absorption ends, A for each Ah. Source: 1 to 2 % of C20, common practice.
const TAIL_SHARE: f64 = 0.02;

/// A bank at the start of an hour: its state and temperature, and all that follows from these alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BankHour<'a> {
    bank: &'a Bank,
    store: Store,
    battery_c: f64,
    law: Law,
    /// What rests in the cells, Wh.
    rests_wh: f64,
    /// Of the current through the posts, what comes of sources that give it whatever the volts do, A.
    firm_a: f64,
    /// Cells in series and capacity as they are reckoned with.
    series: f64,
    capacity_ah: f64,
    /// State of charge below which nothing can be drawn, however slowly.
    floor_soc: f64,
}

impl Bank {
    /// The bank in a state at its own temperature.
    /// Source: Copetti, Lorenzo & Chenlo 1993 for lead, on the 20 h capacity; Prada et al. 2013 rest volts and one
    /// resistance for lithium.
    #[must_use]
    pub fn at(&self, store: Store, battery_c: f64) -> BankHour<'_> {
        self.stands(store, self.warm(battery_c), Cell::at)
    }

    /// The same where it will hardly be charged: cheaper then, and the same figures. Source: as [`Bank::at`].
    #[must_use]
    pub fn giving(&self, store: Store, battery_c: f64) -> BankHour<'_> {
        self.stands(store, self.warm(battery_c), Cell::giving)
    }

    /// Without what no lead battery asks for.
    #[inline]
    fn warm(&self, battery_c: f64) -> Warm {
        match self.make {
            Make::Phosphate => Warm::at(battery_c),
            Make::Lead(_) => Warm { battery_c, cold_growth: 1.0 },
        }
    }

    /// [`Bank::at`] where what follows from the temperature is known. Source: as there.
    #[inline]
    #[must_use]
    pub fn at_warm(&self, store: Store, warm: Warm) -> BankHour<'_> {
        self.stands(store, warm, Cell::at)
    }

    /// [`Bank::giving`] where what follows from the temperature is known. Source: as there.
    #[inline]
    #[must_use]
    pub fn giving_warm(&self, store: Store, warm: Warm) -> BankHour<'_> {
        self.stands(store, warm, Cell::giving)
    }

    #[inline]
    fn stands(&self, store: Store, warm: Warm, cell: fn(Plates, f64, f64, f64) -> Cell) -> BankHour<'_> {
        let battery_c = warm.battery_c.clamp(-40.0, 60.0);
        let store = Store { soc: store.soc.clamp(0.0, 1.0) };
        let (series, capacity_ah) = (self.series(), self.capacity_ah());
        let (law, per_ah) = match self.make {
            Make::Lead(plates) => {
                let cell = cell(plates, capacity_ah * C10_OF_C20, store.soc, battery_c);
                (Law::Lead(cell), lead::energy_wh_per_ah(store.soc))
            }
            Make::Phosphate => {
                let (rest_v, per_ah) = lithium::rest_v_and_energy(store.soc);
                let ohm = match self.sag_ohm {
                    Some(ohm) => (ohm / series).max(1e-9) * warm.cold_growth,
                    None => lithium::sag_cell_ohm_25(self.rated_ah) * warm.cold_growth,
                };
                (Law::Ohmic { rest_v, ohm }, per_ah)
            }
        };
        let rests_wh = per_ah * series * capacity_ah;
        let floor_soc = self.floor_soc(battery_c, 0.0);
        BankHour { bank: self, store, battery_c, law, rests_wh, series, capacity_ah, firm_a: 0.0, floor_soc }
    }

    /// Energy that rests in the cells at a state of charge, Wh: the integral of rest volts over charge, from empty.
    /// Source: work of a charge, the integral of V dQ, with the rest volts of each model.
    #[must_use]
    pub fn energy_wh(&self, soc: f64) -> f64 {
        self.per_ah(soc.clamp(0.0, 1.0)) * self.series() * self.capacity_ah()
    }

    /// Of a cell, for each ampere-hour.
    fn per_ah(&self, soc: f64) -> f64 {
        match self.make {
            Make::Lead(_) => lead::energy_wh_per_ah(soc),
            Make::Phosphate => lithium::energy_wh_per_ah(soc),
        }
    }

    /// State of charge at which its posts stand at some volts without current; none where that depends on which way the
    /// last current went (lead).
    /// Source: rest volts of the chemistry, inverted.
    #[must_use]
    pub fn soc_at_rest_v(&self, volts: f64) -> Option<f64> {
        match self.make {
            Make::Phosphate => Some(lithium::soc_at_rest_v(volts / self.series())),
            Make::Lead(_) => None,
        }
    }

    /// State of charge below which nothing can be drawn at a current and temperature: the user's floor, of lead the depth
    /// of what cold leaves of the capacity, or charge the plates cannot give that fast or that cold. It is not lost: a slower or warmer hour draws it.
    /// Source: Copetti, Lorenzo & Chenlo 1993, capacity (rate and 0.5 % per K), never above the label's; the same share
    /// per K for lithium, common practice; for lead depth of discharge times temperature factor, IEEE 1013 (from memory).
    #[must_use]
    #[inline]
    pub fn floor_soc(&self, battery_c: f64, current_a: f64) -> f64 {
        let cold = (1.0 + 0.005 * (battery_c.clamp(-40.0, 60.0) - 25.0)).min(1.0);
        let rated_ah = self.capacity_ah();
        let fast = match self.make {
            Make::Lead(_) if current_a > SLOW_RATE * rated_ah => {
                (C10_OF_C20 * lead::capacity_ratio(rated_ah * C10_OF_C20, 25.0, current_a)).min(1.0)
            }
            _ => 1.0,
        };
        let least = self.least_soc.clamp(0.0, 1.0);
        let own = if matches!(self.make, Make::Lead(_)) { 1.0 - (1.0 - least) * cold } else { least };
        larger(own, 1.0 - cold * fast)
    }

    /// Energy that can be drawn from a state down to the floor, at rest volts, Wh.
    /// Source: as [`Bank::energy_wh`] and [`Bank::floor_soc`].
    #[must_use]
    pub fn usable_wh(&self, store: Store, battery_c: f64, current_a: f64) -> f64 {
        (self.energy_wh(store.soc) - self.energy_wh(self.floor_soc(battery_c, current_a))).max(0.0)
    }

    /// Current at which absorption ends by itself, A. Source: 1 to 2 % of C20, common practice.
    #[must_use]
    pub fn tail_a(&self) -> f64 {
        TAIL_SHARE * self.capacity_ah()
    }

    /// Whether charge may enter at its own temperature. Source: lithium plating below the maker's cut-off, usually 0 C.
    #[must_use]
    pub fn may_charge(&self, battery_c: f64) -> bool {
        self.least_charge_c.is_none_or(|least_c| battery_c >= least_c)
    }

    /// Share of its charge that a bank loses by itself in an hour; doubles with 10 K.
    /// Source: 3 % a month flooded, 2 % others at 25 C, common practice; the doubling from memory (Arrhenius).
    #[must_use]
    pub fn self_discharge_per_hour(&self, battery_c: f64) -> f64 {
        let month = match self.make {
            Make::Lead(Plates::Flooded) => 0.03,
            _ => 0.02,
        };
        month / 730.0 * ((battery_c.clamp(-40.0, 60.0) - 25.0) / 10.0).exp2()
    }

    /// A store after `hours` of nothing but self-discharge. Source: as [`Bank::self_discharge_per_hour`].
    #[must_use]
    pub fn leak(&self, store: Store, battery_c: f64, hours: f64) -> (Store, Balance) {
        let share = (self.self_discharge_per_hour(battery_c) * hours.max(0.0)).min(1.0);
        let after = Store { soc: store.soc.clamp(0.0, 1.0) * (1.0 - share) };
        let lost_wh = self.energy_wh(store.soc) - self.energy_wh(after.soc);
        (after, Balance { stored_wh: -lost_wh, lost_wh, ..Balance::default() })
    }

    fn series(&self) -> f64 {
        self.cells.clamp(1.0, 1000.0)
    }

    fn capacity_ah(&self) -> f64 {
        self.rated_ah.clamp(1e-3, 1e9)
    }
}

impl BankHour<'_> {
    /// The bank that it is of. Source: as [`Bank::at`].
    #[must_use]
    pub fn bank(&self) -> &Bank {
        self.bank
    }

    /// Volts at the posts without current. Source: as the law of the chemistry, at zero current.
    #[must_use]
    pub fn rest_v(&self) -> f64 {
        self.law.rest_v() * self.series
    }

    /// Volts at the posts while it takes a current, no charger holding them.
    /// Source: Copetti, Lorenzo & Chenlo 1993 (lead); rest volts and one resistance (lithium).
    #[must_use]
    pub fn charge_v(&self, current_a: f64) -> f64 {
        self.law.charging(current_a.clamp(0.0, CURRENT_A)).volts * self.series
    }

    /// Volts at the posts while it gives a current, no less than 0.
    /// Source: Copetti, Lorenzo & Chenlo 1993 (lead); rest volts and one resistance (lithium).
    #[must_use]
    pub fn discharge_v(&self, current_a: f64) -> f64 {
        self.law.discharging(current_a.clamp(0.0, CURRENT_A)).volts.max(0.0) * self.series
    }

    /// Volts at the posts at a net current, charge positive, and their slope. At no current those of the charge curve.
    /// Source: law of the chemistry and its first derivative.
    #[must_use]
    pub fn curve(&self, net_a: f64) -> Local {
        let series = self.series;
        let net_a = net_a.clamp(-CURRENT_A, CURRENT_A);
        let local = if net_a >= 0.0 { self.law.charging(net_a) } else { self.law.discharging(-net_a) };
        Local { volts: local.volts * series, ohm: local.ohm * series }
    }

    /// Whether volts follow current along one straight line, in charge and discharge.
    /// Source: one resistance both ways (lithium).
    #[must_use]
    pub fn is_one_line(&self) -> bool {
        self.line().is_some()
    }

    /// That line: volts at rest and ohms, at the posts; none where they follow a curve.
    /// Source: one resistance both ways (lithium).
    #[must_use]
    pub fn line(&self) -> Option<(f64, f64)> {
        match self.law {
            Law::Ohmic { rest_v, ohm } => Some((rest_v * self.series, ohm * self.series)),
            Law::Lead(_) => None,
        }
    }

    /// Volts at the posts at the very start of a charge.
    /// Source: law of the chemistry at zero current.
    #[must_use]
    pub fn charge_rest_v(&self) -> f64 {
        self.law.charging(0.0).volts * self.series
    }

    /// Volts at the posts at the very start of a discharge; lead's lie below those at the start of a charge.
    /// Source: law of the chemistry at zero current.
    #[must_use]
    pub fn discharge_rest_v(&self) -> f64 {
        match &self.law {
            Law::Lead(cell) => cell.discharging(0.0).volts * self.series,
            Law::Ohmic { rest_v, .. } => rest_v * self.series,
        }
    }

    /// Whether nothing is left above the floor, however little is asked. Source: as [`Bank::floor_soc`].
    #[must_use]
    pub fn is_down(&self) -> bool {
        self.store.soc <= self.floor_soc
    }

    /// As [`Bank::floor_soc`].
    #[inline]
    fn floor_at(&self, current_a: f64) -> f64 {
        match self.law {
            Law::Lead(_) if current_a > SLOW_RATE * self.capacity_ah => self.bank.floor_soc(self.battery_c, current_a),
            _ => self.floor_soc,
        }
    }

    /// Whether a charge current needs more than the held volts. Source: law of the chemistry.
    #[must_use]
    pub fn needs_more(&self, current_a: f64, held_v: f64) -> bool {
        self.law.needs_more(current_a.max(0.0), held_v / self.series)
    }

    /// What keeps the bank from giving a current at the volts it has then. Source: the bank's limits as given.
    #[must_use]
    pub fn hinders(&self, current_a: f64, volts: f64) -> Limit {
        if current_a > self.bank.most_discharge_a.unwrap_or(CURRENT_A) {
            Limit::Current
        } else if volts < larger(self.bank.least_v.unwrap_or(0.0), LEAST_SHARE * self.rest_v()) {
            Limit::Sag
        } else if self.store.soc <= self.floor_at(current_a) {
            Limit::Empty
        } else {
            Limit::None
        }
    }

    /// Current that enters while a charger holds `held_v` at the posts, within the bank's limit and its cold cut-off.
    /// Source: law of the chemistry solved for the current.
    #[must_use]
    pub fn accepted_a(&self, held_v: f64) -> f64 {
        if !self.bank.may_charge(self.battery_c) {
            return 0.0;
        }
        self.most_charge_a().min(self.law.accepted_a(held_v / self.series))
    }

    /// Near the current that enters from `emf_v` behind `ohm`: where a search may begin.
    /// Source: law of the chemistry, its one power taken roughly.
    #[must_use]
    pub fn nearly_taken_a(&self, emf_v: f64, ohm: f64) -> f64 {
        self.law.nearly_taken_a(emf_v / self.series, ohm / self.series)
    }

    /// Whether charge may enter in this hour. Source: as [`Bank::may_charge`].
    #[must_use]
    pub fn may_charge(&self) -> bool {
        self.bank.may_charge(self.battery_c)
    }

    /// Greatest charge current, A. Source: the bank's limit as given.
    #[must_use]
    pub fn most_charge_a(&self) -> f64 {
        self.bank.most_charge_a.unwrap_or(CURRENT_A).clamp(0.0, CURRENT_A)
    }

    fn none(&self, limit: Limit) -> Flow {
        Flow { volts: self.rest_v(), current_a: 0.0, limit }
    }

    /// What the bank takes of an offer from a charger that holds its posts at `held_v` at most.
    /// Source: law of the chemistry, then constant voltage; the bank's limits as given.
    #[must_use]
    pub fn take(&self, offer: Offer, held_v: f64) -> Flow {
        if !self.may_charge() {
            return self.none(Limit::Cold);
        }
        let (series, most_a) = (self.series, self.most_charge_a());
        let (offered_a, power_w) = match offer {
            Offer::Current(a) => (a.clamp(0.0, CURRENT_A), None),
            // At the held volts; a current at lower volts is more.
            Offer::Power(w) => (w.clamp(0.0, CURRENT_A) / held_v.max(1e-3), Some(w.clamp(0.0, CURRENT_A))),
        };
        if offered_a <= 0.0 {
            return self.none(Limit::None);
        }
        let held = self.law.needs_more(offered_a, held_v / series);
        let (wanted_a, limit) = match power_w {
            _ if held => (self.law.accepted_a(held_v / series).min(offered_a), Limit::Held),
            Some(w) => (self.law.current_in_a(w / series), Limit::None),
            None => (offered_a, Limit::None),
        };
        if wanted_a <= 0.0 {
            return self.none(limit);
        }
        if wanted_a > most_a {
            let volts = self.law.charging(most_a).volts * series;
            return Flow { volts, current_a: most_a, limit: Limit::Current };
        }
        let volts = match (held, power_w) {
            (true, _) => held_v,
            (false, Some(w)) => w / wanted_a,
            (false, None) => self.law.charging(wanted_a).volts * series,
        };
        Flow { volts, current_a: wanted_a, limit }
    }

    /// What the bank gives of what is asked: within its current limit, down to its least volts, above its floor.
    /// Where a limit binds it gives what the limit allows; a unit that opens altogether gives less.
    /// Source: law of the chemistry; the bank's limits as given.
    #[must_use]
    pub fn give(&self, ask: Offer) -> Flow {
        if self.is_down() {
            return self.none(if ask == Offer::Power(0.0) { Limit::None } else { Limit::Empty });
        }
        let series = self.series;
        let least_v = larger(self.bank.least_v.unwrap_or(0.0) / series, LEAST_SHARE * self.law.rest_v());
        let (asked_a, power_w) = match ask {
            Offer::Current(a) => (Some(a.clamp(0.0, CURRENT_A)), None),
            Offer::Power(w) => {
                let w = w.clamp(0.0, CURRENT_A);
                (self.law.current_out_a(w / series, least_v), Some(w))
            }
        };
        if asked_a == Some(0.0) {
            return self.none(Limit::None);
        }
        let most_a = self.bank.most_discharge_a.unwrap_or(CURRENT_A).clamp(0.0, CURRENT_A);
        let (current_a, limit) = match asked_a {
            Some(a) if a <= most_a => (a, Limit::None),
            _ => (most_a, Limit::Current),
        };
        let volts = match (limit, power_w) {
            (Limit::None, Some(w)) => self.law.giving_v(current_a, w / series),
            _ => self.law.discharging(current_a).volts,
        };
        let (current_a, volts, limit) = if volts >= least_v {
            (current_a, volts, limit)
        } else {
            (self.law.deliverable_a(least_v).min(current_a), least_v, Limit::Sag)
        };
        if current_a <= 0.0 {
            return self.none(limit);
        }
        if self.store.soc <= self.floor_at(current_a) {
            return self.none(Limit::Empty);
        }
        Flow { volts: volts * series, current_a, limit }
    }

    /// The same beside sources that keep up so many amperes through the hour, whatever the volts do; read for lithium.
    /// Source: a charger of constant current; all else keeps the power of its start.
    #[must_use]
    pub fn fed_by(mut self, firm_a: f64) -> Self {
        self.feed(firm_a);
        self
    }

    /// As [`Bank::tail_a`]. Source: as there.
    #[inline]
    #[must_use]
    pub fn tail_a(&self) -> f64 {
        TAIL_SHARE * self.capacity_ah
    }

    /// So many amperes. Source: as [`BankHour::fed_by`].
    #[must_use]
    pub fn firm_a(&self) -> f64 {
        self.firm_a
    }

    /// [`BankHour::fed_by`] in its own place: an hour of lead is large to move. Source: as there.
    pub fn feed(&mut self, firm_a: f64) {
        self.firm_a = firm_a;
    }
}
