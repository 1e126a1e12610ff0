//! Ladders: every choice for one thing of the plan as a row, with all that follows from it.
//!
//! A row's wire columns come at once, its year later: `finish` fills that in and judges the findings by the whole answer.

mod controller;
mod fuse;
mod gauge;
mod goal;
mod strings;

use crate::plan::{FieldPath, Figure, Id, Plan, Run, Step};
use crate::standards::conductor::Gauge;
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::{Amps, Number, Volts, WattHours, Watts};

use super::Engine;
use super::finding::{Finding, Level};
use super::report::Report;
use super::sizing::{FuseSize, Make};

pub use fuse::families;
pub(super) use gauge::gauge_step;
pub use goal::{Goal, More, met_by_none, short_of};

/// What a ladder is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LadderOf {
    /// The gauge of a run.
    Gauge(Id),
    /// The fuse of a run: ratings of one family; without one, of the family it has or should have.
    Fuse(Id, Option<FuseFamily>),
    /// How an array's panels are wired.
    Strings(Id),
    /// Which controller of the shelf.
    Controller(Id),
    /// How many batteries and panels meet a goal.
    Goal(Goal),
}

impl LadderOf {
    /// What is chosen for; none where that is more than one thing.
    fn about(&self) -> Option<FieldPath> {
        let (list, id) = match self {
            Self::Gauge(id) | Self::Fuse(id, _) => ("runs", id),
            Self::Strings(id) => ("arrays", id),
            Self::Controller(id) => ("controllers", id),
            Self::Goal(_) => return None,
        };
        Some(FieldPath::new(format!("{list}.{id}")))
    }

    /// The runs whose paths a row changes: its own, or those that end on what is chosen for.
    fn runs<'a>(&self, plan: &'a Plan) -> Vec<&'a Id> {
        let is_meant = |run: &&Run| match self {
            Self::Gauge(id) | Self::Fuse(id, _) => run.id == *id,
            Self::Strings(id) | Self::Controller(id) => [&run.from, &run.to].iter().any(|end| end.known() == Some(id)),
            Self::Goal(_) => false,
        };
        plan.runs.iter().filter(is_meant).map(|run| &run.id).collect()
    }
}

/// Whether a row may be built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fit {
    Yes,
    /// Why it cannot be told.
    Unknown(String),
    /// What forbids it.
    No(String),
}

/// One row: a choice, and what the plan becomes with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Rung {
    /// Its place in the ladder.
    pub place: usize,
    /// What applies it.
    pub step: Step,
    /// Whether the plan has it.
    pub current: bool,
    /// What only this kind of ladder shows.
    pub columns: Columns,
    /// Selling price of the part: wire, fuse, controller; of a wiring the new wire from its panels to the controller, as
    /// drawn, and its string fuses; of batteries and panels how much more than the plan's.
    pub price: Figure<Number>,
    /// Weight of the part, kg; the same.
    pub weight_kg: Figure<f64>,
    /// Whether it may be built; of batteries and panels, whether they meet the goal.
    pub fit: Fit,
    /// Percent and target of the path that a run of it is judged on, where it is over that: the one furthest over.
    pub over: Option<(f64, f64)>,
    /// Stops about what is chosen for that stay with it, as they would with the others.
    pub keeps: Vec<Finding>,
    /// Findings it brings and cures against the plan as it stands; accepted ones count as none.
    pub new: Vec<Finding>,
    pub cured: Vec<Finding>,
    /// Harvest of a mean day of the months that have a stay; filled in later than the rest.
    pub harvest_wh_day: Option<Figure<WattHours>>,
    /// The same of the dullest of those months and of the brightest, 0 = January; none where it is not known.
    pub harvest_ends: Option<[(usize, f64); 2]>,
    /// What charges beside the sun brings on a mean day; none where that is not known.
    pub other_wh_day: Option<f64>,
    /// Every stop of the plan with it.
    stops: Vec<Finding>,
}

/// The columns of one kind of ladder.
#[derive(Clone, Debug, PartialEq)]
pub enum Columns {
    Gauge(Box<GaugeColumns>),
    Fuse(FuseColumns),
    Strings(StringsColumns),
    Controller(ControllerColumns),
    Goal(GoalColumns),
}

/// A gauge.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeColumns {
    pub gauge: Gauge,
    /// So many of it in each pole.
    pub per_pole: u32,
    pub drop_v: Figure<Volts>,
    pub drop_pct: Figure<f64>,
    /// As the plan says with it.
    pub path_drop_pct: Figure<f64>,
    /// Where that is another path than the plan's, since it has less room with this gauge: its end, percent, target.
    pub other_path: Option<(Id, f64, f64)>,
    pub ampacity_a: Figure<Amps>,
    /// Ampacity over the design current, percent of the latter.
    pub margin_pct: Figure<f64>,
    pub governs: &'static str,
    pub fuse_min_a: Figure<Amps>,
    pub fuse_max_a: Figure<Amps>,
    /// The fuse that the run has with it; none where it has none.
    pub fuse: Option<FuseSize>,
    /// Whether choosing the row puts that fuse there.
    pub sets_fuse: bool,
    /// Whether the charger behind it drops out, so that no current is there to lose volts at.
    pub drops_out: bool,
    /// Metres of it on the truck.
    pub on_truck_m: f64,
}

/// A fuse rating.
#[derive(Clone, Debug, PartialEq)]
pub struct FuseColumns {
    pub family: FuseFamily,
    pub amps: f64,
    /// How many are on the truck.
    pub on_truck: f64,
    /// What it protects carries this much more, amps.
    pub margin_a: Figure<f64>,
    /// Times the design current.
    pub times_design: Figure<f64>,
    /// Drop across it at the working current.
    pub drop_v: Figure<Volts>,
    pub interrupt_a: Figure<Amps>,
    pub fault_a: Figure<Amps>,
    /// Times the fault is what it must be able to open.
    pub margin: f64,
}

/// A wiring of an array.
#[derive(Clone, Debug, PartialEq)]
pub struct StringsColumns {
    /// `2S3P`.
    pub layout: String,
    pub voc_cold_v: Figure<Volts>,
    /// Highest volts of its controller.
    pub limit_v: Figure<Volts>,
    pub vmp_hot_v: Figure<Volts>,
    /// At maximum power, all strings.
    pub imp_a: Figure<Amps>,
    pub isc_a: Figure<Amps>,
    /// From the panels to the controller, percent of string Vmp.
    pub path_drop_pct: Figure<f64>,
    /// Ampacity over the design current of the wire on the way there, percent of the latter; the least of its runs.
    pub spare_pct: Figure<f64>,
    /// Fuse that every string needs, smallest of the family; none where none is needed.
    pub string_fuse_a: Figure<Option<Amps>>,
    /// What is left of its power with one panel in shade, percent: at best volts (tracking) or the bank's (PWM).
    pub shaded_pct: Figure<f64>,
    /// The run at its panels, which the wiring leaves as it is drawn.
    pub home: Option<HomeRun>,
    /// What its string fuses cost of that.
    pub fuses_price: Figure<Number>,
    /// Whether some string fuse has no weight in the truck stock: the weight is that of the rest.
    pub fuses_unweighed: bool,
}

/// A home run as it is drawn, and the smallest wire that its wiring wants.
#[derive(Clone, Debug, PartialEq)]
pub struct HomeRun {
    pub run: Id,
    pub drawn: Option<Make>,
    /// None where none is found, or where nothing of it is bought new.
    pub wants: Option<Make>,
    /// Whether the target of its path is met with what it wants.
    pub meets_target: bool,
}

/// A controller.
#[derive(Clone, Debug, PartialEq)]
pub struct ControllerColumns {
    pub id: Id,
    pub name: String,
    /// A typical row that came with the program.
    pub typical: bool,
    pub out_a: Figure<Amps>,
    pub limit_v: Figure<Volts>,
    /// Its limit over the cold volts of its arrays.
    pub margin_v: Figure<Volts>,
    /// From it to the bank, percent.
    pub path_drop_pct: Figure<f64>,
    /// The fuse of its run to the bank, and what that has to be at least and at most.
    pub fuse_a: Option<Amps>,
    pub fuse_range_a: (Figure<Amps>, Figure<Amps>),
    /// Lost to its output limit, kWh a year; with the year.
    pub clipped_kwh: Figure<f64>,
}

/// A number of batteries, and the array that goes with it.
#[derive(Clone, Debug, PartialEq)]
pub struct GoalColumns {
    /// What is to be reached.
    pub goal: Goal,
    /// Whether it is the plan as it stands.
    pub is_plan: bool,
    /// In parallel.
    pub batteries: usize,
    pub usable_wh: Figure<WattHours>,
    /// The array that is made larger or smaller, and its strings.
    pub array: Id,
    pub strings: usize,
    /// Of all arrays.
    pub panels: usize,
    pub watts: Figure<Watts>,
    /// Days at the stays of the goal on which some load is not served.
    pub short_days: Figure<f64>,
    /// Load not served there.
    pub shortfall_wh: Figure<WattHours>,
    /// In their month with the most load.
    pub days_without_sun: Figure<f64>,
    /// Price and weight over those of the plan.
    pub more: More,
}

/// A row before it is judged against the others.
struct Drawn {
    step: Step,
    current: bool,
    columns: Columns,
    price: Figure<Number>,
    weight_kg: Figure<f64>,
    /// What this kind of ladder says of it.
    own: Fit,
    after: Report,
}

impl Rung {
    /// The columns of a gauge.
    #[must_use]
    pub fn gauge(&self) -> Option<&GaugeColumns> {
        match &self.columns {
            Columns::Gauge(columns) => Some(columns),
            _ => None,
        }
    }

    /// What is chosen with it.
    #[must_use]
    pub fn name(&self) -> String {
        match &self.columns {
            Columns::Gauge(c) => Make { gauge: c.gauge, per_pole: c.per_pole }.to_string(),
            Columns::Fuse(c) => format!("{} A", c.amps),
            Columns::Strings(c) => c.layout.clone(),
            Columns::Controller(c) => c.name.clone(),
            Columns::Goal(c) if c.is_plan => "the plan as it stands".into(),
            Columns::Goal(c) => {
                let of = |n: usize, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
                format!("{}, {}", of(c.batteries, "battery", "batteries"), of(c.panels, "panel", "panels"))
            }
        }
    }
}

impl Engine {
    /// The rows of a ladder, with the columns that need no year. None where there is nothing to choose.
    pub fn ladder(&mut self, plan: &Plan, stock: &Stock, of: &LadderOf) -> Vec<Rung> {
        let drawn = match of {
            LadderOf::Gauge(run) => gauge::rows(self, plan, stock, run),
            LadderOf::Fuse(run, family) => fuse::rows(self, plan, stock, run, *family),
            LadderOf::Strings(array) => strings::rows(self, plan, stock, array),
            LadderOf::Controller(controller) => controller::rows(self, plan, stock, controller),
            LadderOf::Goal(goal) => goal::rows(self, plan, stock, goal),
        };
        let before = self.evaluate_wires(plan, stock);
        judged(plan, drawn, &before, of.about().as_ref(), &of.runs(plan))
    }

    /// What so many batteries in parallel and strings come to, each with its whole year: what
    /// [`LadderOf::Goal`] searches among. For as long as they are wanted: given up between two years.
    pub fn goals_while(
        &mut self,
        plan: &Plan,
        stock: &Stock,
        choices: &[(usize, usize)],
        is_wanted: &dyn Fn() -> bool,
    ) -> Vec<GoalColumns> {
        goal::all(self, plan, stock, choices, is_wanted)
    }

    /// Fills in what needs the year, and the findings by the whole answer. `before`: that of the plan as it stands. A
    /// row that the plan refuses keeps its empty column.
    pub fn finish(&mut self, plan: &Plan, stock: &Stock, before: &Report, rung: &mut Rung) {
        self.finish_while(plan, stock, before, rung, &|| true);
    }

    /// The same for as long as it is wanted: given up between two years, the row as it was by then.
    pub fn finish_while(
        &mut self,
        plan: &Plan,
        stock: &Stock,
        before: &Report,
        rung: &mut Rung,
        is_wanted: &dyn Fn() -> bool,
    ) {
        let is_goal = matches!(rung.columns, Columns::Goal(_));
        if is_goal {
            goal::finish(self, plan, stock, rung, is_wanted);
        }
        if !is_wanted() {
            return;
        }
        let Ok(with) = plan.with(&rung.step) else { return };
        let after = self.evaluate(&with, stock);
        rung.harvest_wh_day = Some(after.year.lived.harvest_wh_day());
        rung.harvest_ends = after.year.month_ends();
        rung.other_wh_day = after.year.lived.other_wh_day();
        if let Columns::Controller(columns) = &mut rung.columns {
            columns.clipped_kwh = controller::clipped_kwh(columns, &after);
        }
        (rung.new, rung.cured) = changes(before, &after);
        if is_goal {
            // What else wants to be changed stands beside whether the goal is met.
            return;
        }
        let brings = rung.new.iter().find(|f| f.level == Level::Stop);
        if let (Some(stop), false) = (brings, matches!(rung.fit, Fit::No(_))) {
            rung.fit = Fit::No(stop.text_in(plan));
        }
    }
}

/// Rows with their findings, and whether they fit: a stop that is new is this row's doing, and so is one that some other
/// row which can be built does not have.
fn judged(plan: &Plan, drawn: Vec<Drawn>, before: &Report, about: Option<&FieldPath>, runs: &[&Id]) -> Vec<Rung> {
    let mut rungs: Vec<Rung> = Vec::with_capacity(drawn.len());
    for (place, d) in drawn.into_iter().enumerate() {
        let (new, cured) = changes(before, &d.after);
        rungs.push(Rung {
            place,
            step: d.step,
            current: d.current,
            columns: d.columns,
            price: d.price,
            weight_kg: d.weight_kg,
            fit: d.own,
            over: over(runs, &d.after),
            keeps: kept(about, &d.after, before),
            new,
            cured,
            harvest_wh_day: None,
            harvest_ends: None,
            other_wh_day: None,
            stops: d.after.findings.into_iter().filter(|f| f.level == Level::Stop).collect(),
        });
    }
    if rungs.iter().all(|r| matches!(r.columns, Columns::Goal(_))) {
        return rungs;
    }
    let has = |stops: &[Finding], f: &Finding| stops.iter().any(|g| g.identity() == f.identity());
    let new_stop = |r: &Rung| r.new.iter().find(|f| f.level == Level::Stop).map(|f| f.text_in(plan));
    let buildable = |r: &&Rung| !matches!(r.fit, Fit::No(_)) && new_stop(r).is_none();
    let verdicts: Vec<Option<String>> = rungs
        .iter()
        .map(|r| {
            let avoided = |f: &&Finding| rungs.iter().filter(buildable).any(|other| !has(&other.stops, f));
            // A stop that every row brings is no row's excuse; one that the plan has is, where a row that can be
            // built is without it.
            new_stop(r).or_else(|| r.stops.iter().find(avoided).map(|f| f.text_in(plan)))
        })
        .collect();
    for (rung, verdict) in rungs.iter_mut().zip(verdicts) {
        if let (Some(why), false) = (verdict, matches!(rung.fit, Fit::No(_))) {
            rung.fit = Fit::No(why);
        }
    }
    rungs
}

/// What the paths of some runs lose over their target: percent and target of the one that is furthest over.
fn over(runs: &[&Id], after: &Report) -> Option<(f64, f64)> {
    let judged = after.runs.iter().filter(|r| runs.contains(&&r.id));
    let over = judged.filter_map(|r| Some((*r.path_drop_pct.as_ref().ok()?, r.target_pct?)));
    over.filter(|(pct, target)| pct > target).max_by(|a, b| (a.0 / a.1).total_cmp(&(b.0 / b.1)))
}

/// Stops about a thing that were there before and stay; accepted ones too.
fn kept(about: Option<&FieldPath>, after: &Report, before: &Report) -> Vec<Finding> {
    let Some(about) = about else { return Vec::new() };
    let own = after.findings.iter().filter(|f| f.level == Level::Stop && f.subject.is_within(about));
    own.filter(|f| before.says(f)).cloned().collect()
}

/// Findings of the one that the other lacks, and the other way round. An accepted one counts as none.
pub(super) fn changes(before: &Report, after: &Report) -> (Vec<Finding>, Vec<Finding>) {
    let lacks = |a: &Report, b: &Report| {
        let open = |r: &'_ Report, f: &Finding| {
            r.findings.iter().any(|g| g.accepted.is_none() && g.identity() == f.identity() && g.level == f.level)
        };
        a.findings.iter().filter(|f| f.accepted.is_none() && !open(b, f)).cloned().collect()
    };
    (lacks(after, before), lacks(before, after))
}
