//! The job and where the coach goes.

use crate::plan::Plan;
use crate::plan::field::{Kind, Quantity};
use crate::plan::known::Known;
use crate::plan::lists::{Monthly, Months};
use crate::plan::sources::{ASKED, CHOICE, PRACTICE, SURVEY};
use crate::standards::conductor::Gauge;
use crate::standards::kinds::{Basis, Mount};
use crate::units::{Celsius, Hours, Kilograms, Metres, Number};
use crate::{record, word_leaves, words};

words! { /// How conductor sizes are named when only a number is typed.
GaugeSystem { Awg = "AWG", Mm2 = "mm2" } }
words! { /// How lengths are shown.
LengthUnit { Feet = "feet", Metres = "metres" } }
words! { /// How temperatures are shown.
TemperatureUnit { Fahrenheit = "F", Celsius = "C" } }
words! { /// Paper for what is printed.
Paper { Letter = "letter", A4 = "A4" } }
words! { /// What stands round the coach.
Sky { Open = "open", LightTrees = "light trees", Trees = "trees" } }

impl Sky {
    /// How high something stands all round, degrees.
    /// Source: our own assumption; no document says how high trees round a coach are.
    #[must_use]
    pub const fn horizon_deg(self) -> f64 {
        match self {
            Self::Open => 0.0,
            Self::LightTrees => 15.0,
            Self::Trees => 30.0,
        }
    }

    /// What the word is taken as, and on whose word; nothing of an open sky.
    #[must_use]
    pub fn taken_as(self) -> Option<String> {
        let degrees = self.horizon_deg();
        (degrees > 0.0).then(|| format!("{self} taken as {degrees} degrees high all round, {}", Self::BASIS))
    }

    /// On whose word trees are as high as that.
    pub const BASIS: &'static str = "our own assumption";
}
words! { /// Yes or no.
YesNo { No = "no", Yes = "yes" } }
impl GaugeSystem {
    /// Its thinnest size.
    #[must_use]
    pub fn thinnest(self) -> Gauge {
        match self {
            Self::Awg => Gauge::Awg(0),
            Self::Mm2 => Gauge::Mm2(0),
        }
    }
}

word_leaves!(GaugeSystem, LengthUnit, TemperatureUnit, Paper, Sky, YesNo, Basis);

record! {
    /// The job: the coach, the customer's reference, the rule basis and the units.
    Job "job" {
        title: String => "job", Kind::Text, "What the job is called.", &CHOICE;
        coach_kind: String => "coach", Kind::Text, "Kind of coach: van, trailer, fifth wheel, class C.", &SURVEY;
        coach_length_m: Option<Known<Metres>> => "coach length", Kind::Number { quantity: Quantity::Length, least: 1.0, most: 20.0 }, "Length of the coach body.", &SURVEY;
        coach_year: Option<Known<Number>> => "model year", Kind::Number { quantity: Quantity::Count, least: 1930.0, most: 2100.0 }, "Model year.", &SURVEY;
        cargo_margin_kg: Option<Known<Kilograms>> => "cargo margin", Kind::Number { quantity: Quantity::Mass, least: 0.0, most: 10000.0 }, "Weight the coach may still take, from its door label less what it carries.", &SURVEY;
        customer: String => "customer ref", Kind::Text, "Your reference for the customer; no more than you need.", &CHOICE;
        surveyed: String => "surveyed", Kind::Text, "Date of the survey.", &CHOICE;
        basis: Basis = Basis::UsRv => "rule basis", Kind::Words(Basis::WORDS), "Which body of rules the checks follow.", &CHOICE;
        gauge_system: GaugeSystem = GaugeSystem::Awg => "gauges in", Kind::Words(GaugeSystem::WORDS), "What a bare number in a gauge field means.", &CHOICE;
        length_unit: LengthUnit = LengthUnit::Feet => "lengths in", Kind::Words(LengthUnit::WORDS), "How lengths are shown and what a bare number means.", &CHOICE;
        temperature_unit: TemperatureUnit = TemperatureUnit::Fahrenheit => "temperatures in", Kind::Words(TemperatureUnit::WORDS), "How temperatures are shown and what a bare number means.", &CHOICE;
        paper: Paper = Paper::Letter => "paper", Kind::Words(Paper::WORDS), "Sheet size of what is printed.", &CHOICE;
        currency: String = "USD".into() => "currency", Kind::Text, "Shown beside prices.", &CHOICE;
        coldest_c: Option<Known<Celsius>> => "coldest", Kind::Number { quantity: Quantity::Temperature, least: -60.0, most: 30.0 }, "Coldest air where the coach is stored or driven. Left out: the coldest of its stays, with a margin; colder where a stay's own mean temperatures are.", &ASKED;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// A place and the months spent there.
    Stay "stay" item "ST" {
        place: String => "place", Kind::Text, "Name of the place; type part of it and pick, or enter latitude and longitude.", &ASKED;
        latitude_deg: Known<Number> => "latitude", Kind::Number { quantity: Quantity::Degrees, least: -90.0, most: 90.0 }, "North positive.", &ASKED;
        longitude_deg: Known<Number> => "longitude", Kind::Number { quantity: Quantity::Degrees, least: -180.0, most: 180.0 }, "East positive.", &ASKED;
        clock_h: Option<Known<Hours>> => "clock", Kind::Number { quantity: Quantity::Hours, least: -12.0, most: 14.0 }, "Standard time there: hours that clocks are ahead of universal time, -7 in Arizona; daylight saving left out. A place picked by its name brings it. Left out: by the longitude, the nearest whole hour, which may be an hour off.", &ASKED;
        elevation_m: Option<Known<Metres>> => "elevation", Kind::Number { quantity: Quantity::Length, least: -430.0, most: 6000.0 }, "Above sea level. Left out: that of the climate cell.", &ASKED;
        months: Months => "months", Kind::Months, "Months spent there: nov-mar, 11-3, 6 7 8, or all; +jul adds one to those that stand, -feb takes one out.", &ASKED;
        tilt_deg: Known<Number> = Known::Is(Number(0.0)) => "tilt in use", Kind::Number { quantity: Quantity::Degrees, least: 0.0, most: 90.0 }, "Panel tilt while parked there; 0 is flat, as glued ones are.", &ASKED;
        heading_deg: Option<Known<Number>> => "tilted toward", Kind::Number { quantity: Quantity::Degrees, least: 0.0, most: 360.0 }, "Compass bearing tilted panels face. Left out: any, averaged.", &ASKED;
        sky: Sky = Sky::Open => "sky", Kind::Words(Sky::WORDS), "What stands round the coach: light trees taken as 15 degrees high all round, trees as 30, our own assumption. Behind them the sun and the bright ring round it are gone, and of the rest of the sky 7 or 25 %.", &ASKED;
        soiling_pct: Known<Number> = Known::Is(Number(3.0)) => "soiling", Kind::Number { quantity: Quantity::Percent, least: 0.0, most: 90.0 }, "Sun lost to dirt; 3 to 7 % is usual.", &PRACTICE;
        sun_kwh_m2_day: Option<Monthly> => "own sun", Kind::Monthly { quantity: Quantity::Plain, least: 0.0, most: 15.0 }, "Twelve monthly means on a flat roof, kWh/m2 a day, instead of the built-in climate.", &ASKED;
        mean_c: Option<Monthly> => "own mean temp", Kind::Monthly { quantity: Quantity::Temperature, least: -60.0, most: 60.0 }, "Twelve monthly mean temperatures instead of the built-in climate.", &ASKED;
        wind_m_s: Option<Monthly> => "own wind", Kind::Monthly { quantity: Quantity::Plain, least: 0.0, most: 30.0 }, "Twelve monthly mean winds, m/s at 10 m. Left out: 2 m/s, parked and sheltered.", &ASKED;
        drive_h_day: Option<Known<Hours>> => "driving", Kind::Number { quantity: Quantity::Hours, least: 0.0, most: 24.0 }, "Hours driven a day, as a mean.", &ASKED;
        shore_days_month: Option<Known<Number>> => "shore days", Kind::Number { quantity: Quantity::Plain, least: 0.0, most: 31.0 }, "Days a month with shore power.", &ASKED;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

impl Stay {
    /// Whether panels are tilted there toward no heading of their own.
    fn is_toward_any(&self) -> bool {
        self.heading_deg.is_none() && self.tilt_deg.known().is_some_and(|tilt| tilt.0 > 0.0)
    }
}

impl Plan {
    /// Whether every panel is glued down: flat on the roof, whatever the tilt at a stay.
    #[must_use]
    pub fn lies_flat(&self) -> bool {
        let mut arrays = self.arrays.iter().filter(|a| a.state.stays() && a.strings.panels() > 0).peekable();
        arrays.peek().is_some() && arrays.all(|a| a.mount == Mount::Glued)
    }

    /// The stays at which panels are tilted toward no heading of their own.
    pub fn toward_any(&self) -> impl Iterator<Item = &Stay> {
        let tilts = !self.lies_flat();
        self.stays.iter().filter(move |stay| tilts && stay.is_toward_any())
    }
}
