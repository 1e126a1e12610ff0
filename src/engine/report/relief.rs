//! What would serve load that goes short, and which of that comes first.

use crate::arrange::Arrange;
use crate::climate::year::MONTH_DAYS;
use crate::plan::{Figure, Id};
use crate::units::WattHours;

use super::{Limit, MonthFigures};

/// A change that may serve load which goes short.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Remedy {
    /// One string more of an array, like its first.
    String(Id),
    /// Twice the batteries in parallel.
    Batteries,
    /// Every run a gauge thicker.
    Wire,
    /// Controllers of twice the amps.
    Controllers,
    /// Tracking controllers for PWM ones, of so many tenths of a percent of efficiency.
    Tracking(u32),
    /// The bank in the heated space.
    Warmth,
    /// Inverters without a cut-off of their own.
    CutOff,
    /// A bank without a discharge limit.
    Discharge,
    /// An hour more of driving a day.
    Driving,
    /// Chargers at the volts that are usual for their battery.
    Settings,
}

impl Remedy {
    /// What is changed.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::String(array) => format!("one string more on {array}"),
            Self::Batteries => "twice the batteries".into(),
            Self::Wire => "every run a gauge thicker".into(),
            Self::Controllers => "controllers of twice the amps".into(),
            Self::Tracking(tenths) => format!("tracking controllers of {} %", f64::from(*tenths) / 10.0),
            Self::Warmth => "the bank in the heated space".into(),
            Self::CutOff => "no cut-off of the inverter's own".into(),
            Self::Discharge => "no discharge limit of the bank".into(),
            Self::Driving => "an hour more of driving a day".into(),
            Self::Settings => "charge volts as usual for the bank".into(),
        }
    }

    /// The same in a word or two.
    #[must_use]
    pub fn short(&self) -> String {
        match self {
            Self::String(array) => format!("string {array}"),
            Self::Batteries => "batteries".into(),
            Self::Wire => "wire".into(),
            Self::Controllers => "amps".into(),
            Self::Tracking(_) => "tracking".into(),
            Self::Warmth => "warm bank".into(),
            Self::CutOff => "cut-off".into(),
            Self::Discharge => "disch limit".into(),
            Self::Driving => "driving".into(),
            Self::Settings => "charge volts".into(),
        }
    }

    /// What stands in its way in a month, and what is lost to that, Wh a mean day: of a bank what turns more away, of wire the part
    /// that loses more. The sun that does not shine is no loss.
    #[must_use]
    pub fn mends(&self, month: &MonthFigures) -> (Limit, f64) {
        let of = |named: Limit| {
            let all = month.losses.as_ref().map_or_else(|_| Vec::new(), |losses| losses.named().to_vec());
            let found = all.into_iter().find(|(limit, _)| *limit == named);
            found.and_then(|(_, wh)| wh.ok()).map_or(0.0, |wh| wh.0)
        };
        let of_two = |a: Limit, b: Limit| (if of(b) > of(a) { b } else { a }, of(a) + of(b));
        let known = |wh: Option<&Figure<WattHours>>| wh.and_then(|wh| wh.as_ref().ok()).map_or(0.0, |wh| wh.0);
        match self {
            Self::String(_) | Self::Driving => (Limit::Sun, 0.0),
            Self::Batteries => of_two(Limit::Full, Limit::ChargeLimit),
            Self::Settings => (Limit::Full, of(Limit::Full)),
            Self::Wire => of_two(Limit::BankWire, Limit::ArrayWire),
            Self::Controllers => (Limit::Controller, of(Limit::Controller)),
            Self::Tracking(_) => (Limit::Volts, of(Limit::Volts)),
            Self::Warmth => (Limit::Cold, of(Limit::Cold) + known(Some(&month.other_cold_wh_day))),
            Self::CutOff => (Limit::CutOff, known(month.cut_off_wh_day.as_ref())),
            Self::Discharge => (Limit::DischargeLimit, known(Some(&month.held_back_wh_day))),
        }
    }

    /// What takes more of the customer comes later: a setting, wire, a place, an appliance, panels, driving day after day,
    /// batteries. `is_full`: beside a bank that turns away more than goes short it is no sun that lacks, and panels come after
    /// batteries.
    /// Source: common practice, by what they cost.
    fn place(&self, is_full: bool) -> u8 {
        match self {
            Self::Settings | Self::CutOff => 0,
            Self::Wire => 1,
            Self::Warmth => 2,
            Self::Controllers => 3,
            Self::Tracking(_) => 4,
            Self::Discharge => 5,
            Self::Batteries if is_full => 6,
            Self::String(_) => 7,
            Self::Driving => 8,
            Self::Batteries => 9,
        }
    }
}

/// What a remedy alone serves of the load that goes short.
#[derive(Clone, Debug, PartialEq)]
pub struct Relief {
    pub remedy: Remedy,
    /// Wh a mean day of each month, January first: less than nothing where more goes short with it, none where it is not
    /// known.
    pub served_wh_day: [Option<f64>; 12],
}

impl Relief {
    /// In all months that are known, kWh a year.
    #[must_use]
    pub fn kwh(&self) -> f64 {
        let each = self.served_wh_day.iter().zip(MONTH_DAYS);
        each.filter_map(|(wh, days)| Some((*wh)? * days as f64 / 1000.0)).sum()
    }
}

/// Share of what is served within which two remedies serve as much. Source: our own choice, far under what anybody measures and
/// far over the rounding of a year's sums.
const AS_MUCH: f64 = 1e-3;
/// Less than this serves nothing, Wh a mean day. Source: our own choice; it shows as 0.
const SHOWN_WH: f64 = 0.5;

/// All remedies that were tried; none where nothing goes short.
#[derive(Clone, Debug, PartialEq)]
pub struct Reliefs {
    pub each: Vec<Relief>,
}

impl Reliefs {
    /// The remedies whose worth is known, best first, and how many of them serve as much as the best: of these the one that takes
    /// least comes first.
    fn in_order(&self, is_full: bool, of: &dyn Fn(&Relief) -> Option<f64>) -> (Vec<(&Remedy, f64)>, usize) {
        let mut all: Vec<(&Remedy, f64)> =
            self.each.iter().filter_map(|relief| Some((&relief.remedy, of(relief)?))).collect();
        all.arrange_by(|a, b| b.1.total_cmp(&a.1));
        let most = all.first().map_or(0.0, |(_, served)| *served);
        let alike = all.partition_point(|(_, served)| *served >= most - AS_MUCH * most.abs());
        if let Some(alike) = all.get_mut(..alike) {
            alike.arrange_by_key(|(remedy, _)| remedy.place(is_full));
        }
        (all, alike)
    }

    /// The remedies of the year, best first, by kWh.
    #[must_use]
    pub fn of_year(&self) -> Vec<(&Remedy, f64)> {
        self.in_order(false, &|relief| Some(relief.kwh())).0
    }

    /// The remedies of a month, its index and figures given, best first, and how many of them serve as much as the best.
    #[must_use]
    pub fn of_month(&self, m: usize, month: &MonthFigures) -> (Vec<(&Remedy, f64)>, usize) {
        let of = |relief: &Relief| relief.served_wh_day.get(m).copied().flatten();
        self.in_order(Remedy::Batteries.mends(month).1 >= short_wh(month), &of)
    }

    /// What serves most of a month's load that goes short, and how much, Wh a mean day; none where nothing serves any.
    #[must_use]
    pub fn best(&self, m: usize, month: &MonthFigures) -> Option<(&Remedy, f64)> {
        self.of_month(m, month).0.into_iter().next().filter(|(_, served)| *served >= SHOWN_WH)
    }

    /// The others that serve as much as that; of several arrays the string of one.
    #[must_use]
    pub fn others(&self, m: usize, month: &MonthFigures) -> Vec<&Remedy> {
        let (mut all, alike) = self.of_month(m, month);
        all.truncate(alike);
        one_string(&mut all);
        all.into_iter().skip(1).map(|(remedy, _)| remedy).collect()
    }

    /// What limits a month in which load goes short, in a word, by what serves most of it; none where nothing serves any.
    #[must_use]
    pub fn limit(&self, m: usize, month: &MonthFigures) -> Option<&'static str> {
        let (with, served) = self.best(m, month)?;
        // What serves next to nothing of it is not what limits it: that is a loss that takes most of what the array gives, or the sun.
        let lacks_wh = short_wh(month) - month.beyond_wh_day.as_ref().map_or(0.0, |wh| wh.0);
        if served < LEAST_SHARE * lacks_wh {
            let array_wh = month.array_wh_day.as_ref().map_or(f64::INFINITY, |wh| wh.0);
            let most_wh = (array_wh / 2.0).max(LEAST_LOST * lacks_wh).min(lacks_wh);
            return Some(
                largest_loss(month).filter(|(_, wh)| *wh >= most_wh).map_or(Limit::Sun, |(limit, _)| limit).word(),
            );
        }
        let held_back_wh = Remedy::Discharge.mends(month).1;
        Some(match with.mends(month) {
            // Batteries bring their part of it as well.
            _ if *with == Remedy::Batteries && held_back_wh >= short_wh(month) / 2.0 => Limit::DischargeLimit.word(),
            // No full bank kept that from the loads: more of them would do what these do not.
            (Limit::Full, turned_away) if turned_away < short_wh(month) => "batteries",
            (limit, _) => limit.word(),
        })
    }
}

/// Less than this share of what goes short is next to nothing. Source: our own choice; half of that is what a tracker serves in a polar night.
const LEAST_SHARE: f64 = 0.01;
/// A loss of less than this share of what goes short is not what limits it, though it takes all that the array gives. Source: our own
/// choice; without it nine tenths would go short still.
const LEAST_LOST: f64 = 0.1;

/// The largest loss of a month that is known, Wh a mean day.
fn largest_loss(month: &MonthFigures) -> Option<(Limit, f64)> {
    let all = month.losses.as_ref().ok()?.named();
    all.into_iter().filter_map(|(limit, wh)| Some((limit, wh.ok()?.0))).max_by(|a, b| a.1.total_cmp(&b.1))
}

/// Of strings of several arrays that which comes first alone.
pub fn one_string(all: &mut Vec<(&Remedy, f64)>) {
    let mut has_string = false;
    all.retain(|(remedy, _)| !matches!(remedy, Remedy::String(_)) || !std::mem::replace(&mut has_string, true));
}

/// What goes short on a mean day; no end of it where that is not known.
fn short_wh(month: &MonthFigures) -> f64 {
    month.shortfall_wh_day.as_ref().map_or(f64::INFINITY, |wh| wh.0)
}
