//! What the year brings: month by month, by the hour, in dull spells and under other skies.

use crate::climate::year::MONTH_DAYS;
use crate::plan::Figure;
use crate::units::WattHours;
use crate::words;

use super::none_yet;

/// The year.
#[derive(Clone, Debug, PartialEq)]
pub struct YearFigures {
    /// January first.
    pub months: [MonthFigures; 12],
    pub harvest_kwh: Figure<f64>,
    /// All that the loads take, what shore power carries past the bank too.
    pub load_kwh: Figure<f64>,
    /// Into the posts of the bank.
    pub stored_kwh: Figure<f64>,
    /// Days on which some load is not served.
    pub shortfall_days: Figure<f64>,
    /// Load not served, percent of all that the loads take.
    pub unmet_pct: Figure<f64>,
    /// Sums of the months that have a stay: the year's, where all have one.
    pub lived: Lived,
    /// The longest dull spell of the sky in the months that have a stay; none where no day is dull.
    pub dull_spell: Figure<Option<DullSpell>>,
    /// The days that are hardest on the bank; none where it is hardly used.
    pub hardest: Figure<Option<DullSpell>>,
    /// Least state of charge in the months that have a stay and its day, 0 = the first of January.
    pub least_soc: Figure<(f64, usize)>,
    /// Where what the arrays could give is lost.
    pub lost: Figure<LostShares>,
    /// What the own cut-off of each inverter keeps from its loads, of those whose cut-off is in the year.
    pub cut_offs: Vec<CutOffFigures>,
}

/// What an inverter's own cut-off keeps from its loads.
#[derive(Clone, Debug, PartialEq)]
pub struct CutOffFigures {
    /// Its index in the plan.
    pub inverter: usize,
    /// Of a mean day of each month, January first.
    pub wh_day: [Figure<WattHours>; 12],
}

impl YearFigures {
    /// What alternator and shore could have given in the months that have a stay, had the bank not been too cold for it, kWh.
    ///
    /// # Errors
    /// The field that a month waits for.
    pub fn other_cold_kwh(&self) -> Figure<f64> {
        let lived = self.months.iter().zip(MONTH_DAYS).filter(|(month, _)| month.stay.is_some());
        lived.map(|(month, days)| Ok(month.other_cold_wh_day.clone()?.0 * days as f64 / 1000.0)).sum()
    }
}

/// Where energy of the year is lost: shares of what the arrays could give, percent. What a remedy would serve of the load
/// that goes short is another matter: [`super::relief::Relief`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LostShares {
    /// What the arrays could give.
    pub array_kwh: f64,
    /// What shade on the roof takes before that.
    pub shade_kwh: f64,
    /// Thicker wire, on both sides of the controllers.
    pub wire_pct: f64,
    /// A tracking controller, or more volts.
    pub volts_pct: f64,
    /// Larger controllers.
    pub controller_pct: f64,
    /// A larger bank, or load while the sun shines.
    pub bank_pct: f64,
    /// A warm bank.
    pub warmth_pct: f64,
}

/// Sums of the months that have a stay.
#[derive(Clone, Debug, PartialEq)]
pub struct Lived {
    /// How many months those are, and their days.
    pub months: usize,
    pub days: usize,
    pub harvest_kwh: Figure<f64>,
    pub load_kwh: Figure<f64>,
    /// What charges beside the sun brings.
    pub other_kwh: Figure<f64>,
    /// Into the posts of the bank.
    pub stored_kwh: Figure<f64>,
    /// Days on which some load is not served.
    pub short_days: Figure<f64>,
    /// Load not served, percent of all that the loads take.
    pub unmet_pct: Figure<f64>,
}

impl YearFigures {
    /// Whether the load of some month is the audit alone: while the bank's hours wait, what controllers draw themselves and a
    /// heater is in no load, nor in what is reckoned by it.
    #[must_use]
    pub fn is_load_the_audit(&self) -> bool {
        let is_lived = self.months.iter().any(|m| m.stay.is_some());
        let mut there = self.months.iter().filter(|m| m.stay.is_some() || !is_lived);
        there.any(|m| m.load_wh_day.is_ok() && m.shortfall_wh_day.is_err())
    }
}

impl Lived {
    /// Load not served.
    ///
    /// # Errors
    /// The field that it waits for.
    pub fn short_kwh(&self) -> Figure<f64> {
        Ok(self.unmet_pct.clone()? / 100.0 * self.load_kwh.clone()?)
    }

    /// When their sums come: a year, or in so many months where others have no stay.
    #[must_use]
    pub fn when(&self) -> String {
        match self.months {
            0 | 12 => "a year".into(),
            n => format!("in the {} with a stay", words::counted(n, "month")),
        }
    }

    /// What so much a mean day comes to in all of these months.
    #[must_use]
    pub fn in_all_kwh(&self, wh_day: f64) -> f64 {
        wh_day * self.days as f64 / 1000.0
    }
}

impl Default for Lived {
    fn default() -> Self {
        Self {
            months: 0,
            days: 0,
            harvest_kwh: none_yet(),
            load_kwh: none_yet(),
            other_kwh: none_yet(),
            stored_kwh: none_yet(),
            short_days: none_yet(),
            unmet_pct: none_yet(),
        }
    }
}

impl Lived {
    /// Harvest of a mean day.
    ///
    /// # Errors
    /// The field that the harvest waits for.
    pub fn harvest_wh_day(&self) -> Figure<WattHours> {
        self.harvest_kwh.clone().map(|kwh| WattHours(kwh * 1000.0 / self.days.max(1) as f64))
    }

    /// What charges beside the sun brings on a mean day; none where that is not known.
    #[must_use]
    pub fn other_wh_day(&self) -> Option<f64> {
        self.other_kwh.as_ref().ok().map(|kwh| kwh * 1000.0 / self.days.max(1) as f64)
    }
}

/// Hours a day that make up each month's shortfall, January first: 0 where nothing goes short, none where no hours that were tried do.
pub type HoursOfMonths = Vec<Figure<Option<f64>>>;

/// How many hours more a day of driving, or of a generator, make up what goes short: each tried in a year of its own in which every
/// day of all months has so many more.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeUp {
    /// None without a charger that the engine feeds.
    pub driving: Option<HoursOfMonths>,
    /// None without one that a generator feeds.
    pub generator: Option<HoursOfMonths>,
    /// Of [`MadeUp::hours`], after a month that none of those tried make up.
    pub but_first: ButFirst,
}

/// The least hours a day with which load goes short in a month on none but its first days, so many, as it does when the month before
/// ends: by what that leaves of the bank. None where no hours come to that, or all is made up by as few.
pub type ButFirst = Vec<Option<(f64, usize)>>;

impl MadeUp {
    /// Those of a generator where there is one, else of driving.
    #[must_use]
    pub fn hours(&self) -> Option<&HoursOfMonths> {
        self.generator.as_ref().or(self.driving.as_ref())
    }
}

/// Consecutive days, and how the bank fares in them.
#[derive(Clone, Debug, PartialEq)]
pub struct DullSpell {
    /// Day of the year, 0 = the first of January.
    pub first_day: usize,
    pub days: usize,
    /// Harvest of a mean day of it.
    pub harvest: WattHours,
    /// What alternator and shore bring to the posts on such a day.
    pub other: WattHours,
    /// What is asked of the bank.
    pub load: WattHours,
    /// Load not served in all of it.
    pub shortfall: WattHours,
    pub least_soc: f64,
    /// Day by day.
    pub each: Vec<SpellDay>,
}

/// A day of a spell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpellDay {
    pub harvest: WattHours,
    pub other: WattHours,
    pub load: WattHours,
    pub shortfall: WattHours,
    pub least_soc: f64,
}

/// Harvest of days that a tenth, half and nine tenths of a month's days stay under.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    pub dull: WattHours,
    pub typical: WattHours,
    pub bright: WattHours,
    /// Days of the year near to these that are spent as most of the month are, 0 = the first of January.
    pub dull_day: usize,
    pub typical_day: usize,
    pub bright_day: usize,
}

/// One hour of the simulated year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HourFigures {
    /// Hour of the year by the clock of the place, 0 = the first of the first of January.
    pub hour: u16,
    /// Light that panels beside every shadow on the roof use, after glass and dirt, W/m2.
    pub sun_w_m2: f64,
    /// Arrays at maximum power after shade.
    pub array_w: f64,
    /// What could arrive at the posts.
    pub harvest_w: f64,
    /// What of it did.
    pub solar_w: f64,
    pub other_w: f64,
    pub load_w: f64,
    pub shortfall_w: f64,
    /// Of that, what the inverter's own cut-off keeps from its loads.
    pub cut_off_w: f64,
    /// Into the bank; negative: out of it.
    pub bank_a: f64,
    /// As the hour begins.
    pub posts_v: f64,
    /// State of charge at the hour's end, 0 to 1.
    pub soc: f64,
    pub battery_c: f64,
    /// A day on shore power: what loads draw through the inverter does not come from the bank.
    pub on_shore: bool,
    /// Which way tilted panels look on this day that may look anywhere, degrees clockwise from north.
    pub heading_deg: Option<f64>,
}

impl HourFigures {
    /// Goes on with the rest of its hour, each of the two in its mean over the whole hour: what a part brings or draws is
    /// so much less of one, its volts count by how long it is.
    pub(in crate::engine) fn go_on(&mut self, rest: &Self) {
        self.array_w += rest.array_w;
        self.harvest_w += rest.harvest_w;
        self.solar_w += rest.solar_w;
        self.other_w += rest.other_w;
        self.load_w += rest.load_w;
        self.shortfall_w += rest.shortfall_w;
        self.cut_off_w += rest.cut_off_w;
        self.bank_a += rest.bank_a;
        self.posts_v += rest.posts_v;
        self.soc = rest.soc;
    }
}

/// Mean, least and most of some repeats.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Range {
    pub mean: f64,
    pub least: f64,
    pub most: f64,
}

impl Range {
    /// Of the numbers given; zeros of none.
    #[must_use]
    pub fn of(all: &[f64]) -> Self {
        if all.is_empty() {
            return Self::default();
        }
        Self {
            mean: all.iter().sum::<f64>() / all.len() as f64,
            least: all.iter().copied().fold(f64::INFINITY, f64::min),
            most: all.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        }
    }
}

/// How the plan fares in years whose clear and dull days fall otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeats {
    /// How many years.
    pub years: usize,
    /// Load not served, percent of all.
    pub unmet_pct: Range,
    /// Days a year on which some load is not served.
    pub short_days: Range,
    /// Least state of charge, 0 to 1.
    pub least_soc: Range,
}

/// The year of a coach that stands one way all the time.
#[derive(Clone, Debug, PartialEq)]
pub struct OneWay {
    /// Where its panels look, degrees clockwise from north.
    pub heading_deg: f64,
    pub harvest_kwh: f64,
    /// Load not served, percent of all; none without a bank.
    pub unmet_pct: Option<f64>,
    /// Harvest and, with a bank, load not served of a mean day, January first; none where they are not known.
    pub months: Vec<Option<(f64, Option<f64>)>>,
}

/// The same for ways evenly round the circle.
#[derive(Clone, Debug, PartialEq)]
pub struct Ways {
    pub each: Vec<OneWay>,
}

impl Ways {
    /// The least and the most of something, each with where the panels look then; none where it is not known.
    pub fn ends(&self, of: impl Fn(&OneWay) -> Option<f64>) -> Option<((f64, f64), (f64, f64))> {
        let all = || self.each.iter().filter_map(|way| Some((of(way)?, way.heading_deg)));
        let least = all().min_by(|a, b| a.0.total_cmp(&b.0))?;
        Some((least, all().max_by(|a, b| a.0.total_cmp(&b.0))?))
    }
}

/// Where the array's energy went that did not reach the bank, a mean day.
#[derive(Clone, Debug, PartialEq)]
pub struct Losses {
    /// The array could not work at its best volts: a PWM controller, or a tracker held above them.
    pub mismatch: WattHours,
    /// Between array and controller.
    pub array_wire: WattHours,
    /// Conversion and own use of the controllers.
    pub conversion: WattHours,
    /// Over the controllers' output limits.
    pub clipped: WattHours,
    /// Between controller and bank.
    pub bank_wire: WattHours,
    /// The bank was full or its volts held; known with the bank only, as the next two.
    pub full: Figure<WattHours>,
    /// Over the bank's charge limit.
    pub limited: Figure<WattHours>,
    /// The bank was too cold.
    pub cold: Figure<WattHours>,
}

impl Losses {
    /// Each with its name.
    pub fn named(&self) -> [(Limit, Figure<WattHours>); 8] {
        [
            (Limit::Volts, Ok(self.mismatch)),
            (Limit::ArrayWire, Ok(self.array_wire)),
            (Limit::Conversion, Ok(self.conversion)),
            (Limit::Controller, Ok(self.clipped)),
            (Limit::BankWire, Ok(self.bank_wire)),
            (Limit::Full, self.full.clone()),
            (Limit::ChargeLimit, self.limited.clone()),
            (Limit::Cold, self.cold.clone()),
        ]
    }
}

words! { /// What limits a month.
Limit {
    Sun = "sun", Volts = "volts", ArrayWire = "array wire", Conversion = "conversion", Controller = "controller",
    BankWire = "bank wire", Full = "bank full", ChargeLimit = "charge limit", Cold = "cold", CutOff = "inverter off", Shade = "shade",
    DischargeLimit = "discharge limit",
} }

impl Default for YearFigures {
    fn default() -> Self {
        Self {
            months: std::array::from_fn(|_| MonthFigures::default()),
            harvest_kwh: none_yet(),
            load_kwh: none_yet(),
            stored_kwh: none_yet(),
            shortfall_days: none_yet(),
            unmet_pct: none_yet(),
            lived: Lived::default(),
            dull_spell: none_yet(),
            hardest: none_yet(),
            least_soc: none_yet(),
            lost: none_yet(),
            cut_offs: Vec::new(),
        }
    }
}

/// One month, a mean day of it.
#[derive(Clone, Debug, PartialEq)]
pub struct MonthFigures {
    /// Index of its stay in the plan.
    pub stay: Option<usize>,
    /// On a level surface.
    pub ghi_kwh_m2_day: Figure<f64>,
    /// Modules at maximum power, after soiling and shade.
    pub array_wh_day: Figure<WattHours>,
    /// What the shade of things on the roof has taken of that, where panels are known to lie.
    pub shade_wh_day: Figure<WattHours>,
    /// What arrives at the bank's posts.
    pub harvest_wh_day: Figure<WattHours>,
    /// All that the loads take, with the controllers' own use and the heater: of the bank, and on shore power past it.
    pub load_wh_day: Figure<WattHours>,
    pub deficit_wh_day: Figure<WattHours>,
    pub shortfall_wh_day: Figure<WattHours>,
    pub unused_wh_day: Figure<WattHours>,
    /// Harvest of dull, typical and bright days.
    pub spread_wh_day: Figure<Spread>,
    /// Where the rest of the array's energy went.
    pub losses: Figure<Losses>,
    /// What limits it most, and by how much; none where nothing is lost or lacking.
    pub limited_by: Figure<Option<(Limit, WattHours)>>,
    /// Solar energy that the posts took, loads served on the way included.
    pub solar_wh_day: Figure<WattHours>,
    /// What alternator and shore brought to the posts, and the loads that shore power carried past them.
    pub other_wh_day: Figure<WattHours>,
    /// What of that came from shore power.
    pub shore_wh_day: Figure<WattHours>,
    /// What they could have given, had the bank not been too cold to take it.
    pub other_cold_wh_day: Figure<WattHours>,
    /// Into the bank.
    pub charged_wh_day: Figure<WattHours>,
    /// Of the medical loads, not served.
    pub medical_short_wh_day: Figure<WattHours>,
    /// Of the shortfall, what is asked of inverters beyond their rating.
    pub beyond_wh_day: Figure<WattHours>,
    /// Of the shortfall, what inverters' own cut-offs keep from their loads; none where none is in the year.
    pub cut_off_wh_day: Option<Figure<WattHours>>,
    /// Of the shortfall, what the bank's discharge limit keeps from the loads.
    pub held_back_wh_day: Figure<WattHours>,
    /// Share of days on which some load is not served.
    pub short_days_share: Figure<f64>,
    /// Least state of charge, 0 to 1.
    pub least_soc: Figure<f64>,
    /// Usable Wh over that month's day of load.
    pub days_without_sun: Figure<f64>,
}

impl Default for MonthFigures {
    fn default() -> Self {
        Self {
            stay: None,
            ghi_kwh_m2_day: none_yet(),
            array_wh_day: none_yet(),
            shade_wh_day: none_yet(),
            harvest_wh_day: none_yet(),
            load_wh_day: none_yet(),
            deficit_wh_day: none_yet(),
            shortfall_wh_day: none_yet(),
            beyond_wh_day: none_yet(),
            unused_wh_day: none_yet(),
            spread_wh_day: none_yet(),
            losses: none_yet(),
            limited_by: none_yet(),
            solar_wh_day: none_yet(),
            other_wh_day: none_yet(),
            shore_wh_day: none_yet(),
            other_cold_wh_day: none_yet(),
            charged_wh_day: none_yet(),
            medical_short_wh_day: none_yet(),
            cut_off_wh_day: None,
            held_back_wh_day: none_yet(),
            short_days_share: none_yet(),
            least_soc: none_yet(),
            days_without_sun: none_yet(),
        }
    }
}
