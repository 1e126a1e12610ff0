//! What the engine answers: figures in units, or the field they wait for. No hourly series, no formatted text.

mod loads;
mod relief;
mod why;
mod year;

pub use loads::{ApartFigures, LoadFigures, LoadRow, SeasonFigures, SurgeFigures, TogetherFigures};
pub use relief::{Relief, Reliefs, Remedy, one_string};
pub use why::Why;
pub use year::{
    ButFirst, CutOffFigures, DullSpell, HourFigures, HoursOfMonths, Limit, Lived, Losses, LostShares, MadeUp,
    MonthFigures, OneWay, Range, Repeats, SpellDay, Spread, Ways, YearFigures,
};

use std::sync::Arc;

use crate::plan::{FieldPath, Figure, Id};
use crate::standards::Source;
use crate::standards::conductor::Gauge;
use crate::standards::kinds::FuseFamily;
use crate::units::{AmpHours, Amps, Celsius, Metres, Number, Ohms, Volts, WattHours, Watts};

use super::finding::Finding;

/// The whole answer to one plan.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Report {
    /// In the order of the plan.
    pub arrays: Vec<ArrayFigures>,
    pub controllers: Vec<ControllerFigures>,
    pub bank: BankFigures,
    pub inverters: Vec<InverterFigures>,
    pub loads: Arc<LoadFigures>,
    /// In the order of the plan.
    pub runs: Vec<RunFigures>,
    pub year: Arc<YearFigures>,
    pub roof: RoofFigures,
    pub price: PriceFigures,
    /// Stops first, then cautions, then notes; within a level in the order of the plan.
    pub findings: Vec<Finding>,
    /// Safety checks that could not run, with the field each waits for.
    pub not_checked: Vec<NotChecked>,
    /// Other checks that could not run, with the field each waits for.
    pub waiting: Vec<NotChecked>,
    /// Unknown fields that some figure or check waits for; each once, in the order of the plan.
    pub unknown: Vec<FieldPath>,
    /// Coldest air that the panels see: as entered, else of the stays.
    pub coldest_c: Option<Celsius>,
}

/// The roof.
#[derive(Clone, Debug, PartialEq)]
pub struct RoofFigures {
    /// Hold of the worst foot over its pull, of the panel that pulls most; a bound, not a certificate.
    pub uplift_factor: Figure<f64>,
    /// Holes for the feet of all panels.
    pub holes: Figure<f64>,
    /// Panels by their places; empty where no year could be set up, or something of the roof is not known.
    pub shade: Vec<PlaceShade>,
    /// What shade on the roof takes of each month's array energy, January first; nothing in months without any.
    pub shade_taken: [Taken; 12],
    /// What is serviced; empty where something of the roof is not known.
    pub access: Vec<PlaceAccess>,
}

impl Default for RoofFigures {
    fn default() -> Self {
        Self {
            uplift_factor: none_yet(),
            holes: none_yet(),
            shade: Vec::new(),
            shade_taken: [Taken::default(); 12],
            access: Vec::new(),
        }
    }
}

/// What shade on the roof takes of the arrays' energy in a month.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Taken {
    /// Of a mean day.
    pub wh_day: f64,
    /// Of what they would have at their best without.
    pub share: f64,
}

/// For how much of the worst month's direct sun things on the roof shade a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceShade {
    /// The array and its place, by their places in the plan.
    pub array: usize,
    pub place: usize,
    /// 0 is January.
    pub month: usize,
    pub share: f64,
    /// The share in which some other panel of its string stands in the sun.
    pub alone: f64,
    /// What shades most of it, by its place in the plan.
    pub thing: usize,
}

/// How something that is serviced can be come to.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceAccess {
    /// By its place in the plan.
    pub thing: usize,
    /// The panel nearest to it: array and place, by their places in the plan.
    pub nearest: (usize, usize),
    /// How far that lies from it, m; negative where it lies over it.
    pub gap_m: f64,
    /// Whether a way leads to one of its long sides.
    pub has_way: bool,
}

impl Report {
    /// Whether somebody has yet to say how long the coach drives or stands on shore power, where something would use it: the
    /// year takes none, so that what goes short is at most what it says.
    #[must_use]
    pub fn charging_unknown(&self) -> bool {
        self.unknown.iter().any(|at| {
            let at = at.as_str();
            at.starts_with("stays.") && (at.ends_with(".drive_h_day") || at.ends_with(".shore_days_month"))
        })
    }

    /// Whether it has a finding of the same check, subject and level.
    #[must_use]
    pub fn says(&self, finding: &Finding) -> bool {
        self.findings.iter().any(|f| f.level == finding.level && f.identity() == finding.identity())
    }

    /// What a run's own safety checks wait for, or the drop of a path that it is on: before that it is no matter of `ok`.
    #[must_use]
    pub fn run_waits_for(&self, run: &Id) -> Option<&FieldPath> {
        let own = FieldPath::from("runs").join(run);
        let drop = self.waiting.iter().filter(|n| n.check == "drop-over-target");
        self.not_checked.iter().chain(drop).find(|n| n.subject.is_within(&own)).map(|n| &n.waits_for)
    }
}

/// A check that could not run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotChecked {
    /// Id of the check.
    pub check: &'static str,
    /// What it would have been about.
    pub subject: FieldPath,
    /// The field it waits for.
    pub waits_for: FieldPath,
}

/// A figure that has not been computed: an empty field path.
pub(super) fn none_yet<T>() -> Figure<T> {
    Err(crate::plan::Missing(FieldPath::new("")))
}

/// An array.
#[derive(Clone, Debug, PartialEq)]
pub struct ArrayFigures {
    pub id: Id,
    pub panels: usize,
    pub watts: Figure<Watts>,
    /// Open-circuit volts of its longest string at the coldest place.
    pub voc_cold_v: Figure<Volts>,
    /// Whether the cold volts come from the code table for want of a coefficient.
    pub voc_by_table: bool,
    /// Volts at maximum power of its shortest string, hot.
    pub vmp_hot_v: Figure<Volts>,
    /// Open-circuit volts, hot, at 100 W/m2.
    pub voc_start_v: Figure<Volts>,
    /// Short-circuit current at STC, all strings.
    pub isc_a: Figure<Amps>,
    /// Current at maximum power at STC, all strings.
    pub imp_a: Figure<Amps>,
    pub controller: Option<Id>,
    pub weight_kg: Figure<f64>,
    /// What its panels together give less than each alone at its own best, a mean day; zero for like panels.
    pub unlike_wh_day: Figure<WattHours>,
    /// Its panels, with the coefficients of volts without load and of power that their curves have, %/K.
    pub coefficients: Vec<(Id, [f64; 2])>,
}

/// A controller.
#[derive(Clone, Debug, PartialEq)]
pub struct ControllerFigures {
    pub id: Id,
    /// Highest of its arrays' cold volts.
    pub voc_cold_v: Figure<Volts>,
    /// Short-circuit current of its arrays at STC.
    pub isc_a: Figure<Amps>,
    /// Largest continuous output.
    pub design_a: Figure<Amps>,
    /// What its arrays offer at maximum power, kWh a year.
    pub offered_kwh: Figure<f64>,
    /// Energy lost to its output limit, kWh a year.
    pub clipped_kwh: Figure<f64>,
    /// Energy lost because the hot array falls below the bank, kWh a year.
    pub low_volts_kwh: Figure<f64>,
}

/// The bank.
#[derive(Clone, Debug, PartialEq)]
pub struct BankFigures {
    /// Nominal.
    pub volts: Figure<Volts>,
    pub amp_hours: Figure<AmpHours>,
    pub usable_wh: Figure<WattHours>,
    /// Prospective fault current at its posts.
    pub fault_a: Figure<Amps>,
    /// How the fault current was found.
    pub fault_how: &'static str,
    /// Discharge limit of all packs together, if stated.
    pub discharge_limit_a: Figure<Amps>,
    /// Charge limit of all packs together, if stated.
    pub charge_limit_a: Figure<Amps>,
    /// Low volts that design currents are taken at.
    pub low_v: Figure<Volts>,
    /// Of batteries in parallel that links join; none where none do.
    pub links: Option<LinkFigures>,
}

/// The links between batteries in parallel.
#[derive(Clone, Debug, PartialEq)]
pub struct LinkFigures {
    /// Part of the bank's current that each battery gives or takes, from the positive's take-off on.
    pub shares: Figure<Vec<f64>>,
    /// Largest continuous current of the bank.
    pub bank_a: Figure<Amps>,
    /// Of that, in the link that carries most.
    pub link_a: Figure<Amps>,
    /// Lost in that link, in one pole, at most: as warm as its insulation stands.
    pub link_v: Figure<Volts>,
    /// What one link may carry.
    pub ampacity_a: Figure<Amps>,
    /// The thinnest gauge that meets its rules; none where none does.
    pub least: Figure<Option<Gauge>>,
}

impl Default for BankFigures {
    fn default() -> Self {
        Self {
            volts: none_yet(),
            amp_hours: none_yet(),
            usable_wh: none_yet(),
            fault_a: none_yet(),
            fault_how: "",
            discharge_limit_a: none_yet(),
            charge_limit_a: none_yet(),
            low_v: none_yet(),
            links: None,
        }
    }
}

/// An inverter.
#[derive(Clone, Debug, PartialEq)]
pub struct InverterFigures {
    pub id: Id,
    /// At rated watts and low bank volts.
    pub design_a: Figure<Amps>,
    /// At rated watts and its own cut-off volts, if stated.
    pub cutoff_a: Option<Figure<Amps>>,
}

/// A run.
#[derive(Clone, Debug, PartialEq)]
pub struct RunFigures {
    pub id: Id,
    /// One way, all legs.
    pub length_m: Figure<Metres>,
    /// Largest continuous current: for protection and ampacity.
    pub design_a: Figure<Amps>,
    /// How `design_a` was found.
    pub design_how: &'static str,
    /// The current that really flows at the working point: for drop.
    pub drop_at_a: Figure<Amps>,
    pub drop_how: &'static str,
    /// Loop, with fuses, switches, joints, at the solved conductor temperature.
    pub resistance_ohm: Figure<Ohms>,
    /// Of the hottest leg at `drop_at_a`.
    pub wire_c: Figure<Celsius>,
    pub drop_v: Figure<Volts>,
    /// Percent of `base_v`.
    pub drop_pct: Figure<f64>,
    /// What percentages are of: the bank's nominal volts, or the string's Vmp.
    pub base_v: Figure<Volts>,
    /// Drop of the whole path this run is part of, source to load.
    pub path_drop_v: Figure<Volts>,
    pub path_drop_pct: Figure<f64>,
    /// Percent that the path is judged against; `None` where nothing flows.
    pub target_pct: Option<f64>,
    /// Runs of that path, source first.
    pub path: Vec<Id>,
    /// What that path leads to, or from. A path is chosen by its percent over its target, so that another may be named
    /// when some run is changed, of a larger percent and a larger target.
    pub path_end: Option<Id>,
    /// Corrected ampacity of the weakest leg.
    pub ampacity_a: Figure<Amps>,
    /// What sets it.
    pub governs: &'static str,
    /// The weakest leg.
    pub weakest_leg: Option<Id>,
    /// Ampacity of the same leg by the other basis, where it differs by more than the rule's share.
    pub other_basis_a: Option<f64>,
    /// Smallest permissible fuse.
    pub fuse_min_a: Figure<Amps>,
    /// Largest permissible fuse.
    pub fuse_max_a: Figure<Amps>,
    /// Whether `fuse_max_a` uses the next-rating-up rule.
    pub rounded_up: bool,
    /// What the program would fit, where a fuse belongs.
    pub proposed: Option<Proposed>,
    /// The fuses it has.
    pub fuses: Vec<FuseFigures>,
    /// Energy of the sun that its conductors, fuses and joints lose on a mean day; where a charger sends through it
    /// too, the sun's part by current. An empty path where no sun flows.
    pub loss_wh_day: Figure<WattHours>,
    /// What there is to gain from more copper.
    pub next_up: NextUp,
    /// Whether a charger's current flows there, or what it draws from the vehicle.
    pub of_charger: bool,
    /// Whether it is a conductor of the negative side, drawn by itself, or a bond.
    pub is_minus: bool,
    /// Which of its limits hang on rule values that the plan changes.
    pub changed: ByChanged,
}

/// Why limits of a run are not what the standard rule values give: the reasons; empty where they are.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ByChanged {
    pub target: String,
    pub ampacity: String,
    pub fuse: String,
}

/// The next gauge up of a run, or why there is nothing to gain from one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NextUp {
    Gauge(Gauge),
    /// It has the largest.
    Largest,
    /// No current of the sun or of a charger flows in it.
    ChargesNothing,
    /// One of several ways that lie side by side: what more copper in it alone brings is not reckoned.
    Beside,
    /// Its resistance was measured, and is not computed from a gauge.
    Measured,
    /// The legs that it would be bought for have not one gauge in common.
    OwnLegs,
    /// Its gauge is not known.
    Unknown(FieldPath),
}

/// What the next gauge up of a run brings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worth {
    pub gauge: Gauge,
    /// More harvest, mean day of the months that have a stay.
    pub wh_day: WattHours,
    /// In all of them.
    pub kwh_year: f64,
    /// Where a charger's current flows in it: what chargers bring more, in all of them.
    pub other_kwh: Option<f64>,
    /// More load served in all of them; none where that is not known. The rest comes when the bank is full.
    pub served_kwh: Option<f64>,
    /// How many those are, and their days.
    pub months: usize,
    pub days: usize,
}

impl Worth {
    /// What comes to the bank more in all of these months, of the sun and of the run's own chargers.
    #[must_use]
    pub fn brings_kwh(&self) -> f64 {
        self.kwh_year + self.other_kwh.unwrap_or(0.0)
    }

    /// The same on a mean day.
    #[must_use]
    pub fn brings_wh_day(&self) -> f64 {
        self.brings_kwh() * 1000.0 / self.days.max(1) as f64
    }
}

impl RunFigures {
    /// What is said before the fuse that the program would fit: beside a larger one of its own that may stay, which loses less, it is
    /// the smallest.
    #[must_use]
    pub fn would_fit(&self) -> &'static str {
        let larger = |f: &FuseFigures| {
            let (Some(p), Ok(most), Ok(amps)) = (&self.proposed, &self.fuse_max_a, &f.amps) else { return false };
            let opens = matches!((&f.interrupt_a, &f.fault_a), (Ok(opens), Ok(fault)) if opens.0 >= fault.0 * f.margin);
            amps.0 > p.amps.0 + 1e-9 && amps.0 <= most.0 + 1e-9 && opens
        };
        if self.fuses.iter().any(larger) { "smallest that would fit:" } else { "would fit" }
    }
}

/// A fuse the program would fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposed {
    pub family: FuseFamily,
    pub amps: Amps,
    /// `true`: at the run's from end.
    pub at_from: bool,
    /// Whether the run lies on a loop, so that each of its ends may want a fuse: what is there stays at its end.
    pub looped: bool,
    /// Why this family.
    pub why: Why,
}

/// A fuse that is there.
#[derive(Clone, Debug, PartialEq)]
pub struct FuseFigures {
    pub id: Id,
    pub amps: Figure<Amps>,
    pub family: Figure<FuseFamily>,
    /// Current of a fault there.
    pub fault_a: Figure<Amps>,
    /// Times that current is what it must be able to open.
    pub margin: f64,
    /// Current it can open at the circuit's volts.
    pub interrupt_a: Figure<Amps>,
    /// Highest volts of its circuit: charging, equalising where that is set.
    pub circuit_v: Figure<Volts>,
}

/// What it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct PriceFigures {
    pub parts: Figure<Number>,
    pub labour: Figure<Number>,
    pub tax: Figure<Number>,
    pub total: Figure<Number>,
    /// Parts whose price is known, and how many parts have none.
    pub known_parts: Number,
    pub unpriced: usize,
    /// Lugs whose price is in the sum, and those it lacks: the stock knows no price for them.
    pub lugs: usize,
    pub lugs_not_counted: usize,
}

impl Default for PriceFigures {
    fn default() -> Self {
        Self {
            parts: none_yet(),
            labour: none_yet(),
            tax: none_yet(),
            total: none_yet(),
            known_parts: Number(0.0),
            unpriced: 0,
            lugs: 0,
            lugs_not_counted: 0,
        }
    }
}

/// A step of a limit's working: label, value, source.
pub type Working = Vec<(String, f64, &'static Source)>;
