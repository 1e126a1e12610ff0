//! From the plan to the charging circuit that the year solves: controllers, chargers, bank, and the ohms between.

use crate::physics::battery::{Bank, Make};
use crate::physics::charging::ChargeSettings;
use crate::physics::controller::{STATIC_TRACKING, Tracker};
use crate::physics::lead::{Plates, c10_of};
use crate::physics::warmth::{Body, heat_wh_k, loss_w_k};
use crate::plan::job::YesNo;
use crate::plan::power::{AcSource, ChargerKind};
use crate::plan::wiring::DeviceKind;
use crate::plan::{Charger, Controller, FieldPath, Figure, Known, Missing, Plan, Run};
use crate::standards::kinds::{Chemistry, ControllerKind};
use crate::units::{Number, Volts};

use super::circuit::{Half, Node, PathKind, Way};
use super::context::{Context, at, missing, need};
use super::currents::{self, RunCurrents, Terminals, both};
use super::day::Usage;
use super::dc_lines::{Shared, dc_line, line_runs, rated_share};
use super::harvest::Source;
use super::leads::Leads;
use super::links::limited_as;
use super::loads::is_idle;
use super::report::Report;
use super::resistance::{negative_part, run_loop};
use super::setting::{Senses, coldest_v, of_bank, senses};
use super::solve::{Charging, Feeder, Line, Makes, Posts, Setting, Solar};
use super::warmth::Heater;
use super::year::{CutOff, MOST_CUT_OFFS, MOST_SOLARS, Runs};

/// Volts per 12 V that the posts are held at where the bank cannot be simulated: the middle of a charge, lithium and
/// lead. Source: common practice.
const POSTS_V: [f64; 2] = [13.4, 13.2];
/// Kelvin above its cut-off that a battery's heater holds. Source: heaters that switch off at 5 C, from memory.
pub(super) const HEATER_ABOVE_K: f64 = 5.0;
/// Absorption of no time at all ends where its volts are reached, not before: so long after, h. Source: our own choice.
const LEAST_ABSORB_H: f64 = 0.01;
/// Discharge time of a lead battery's label, h. Source: BCI and EN 50342, C20.
const LABEL_H: f64 = 20.0;

/// The compiled circuit and what goes with it.
pub(super) struct Compiled {
    pub(super) circuit: Charging,
    /// One a feeder.
    pub(super) runs: Vec<Runs>,
    /// The run of each segment.
    pub(super) segment_runs: Vec<usize>,
    /// What the bank waits for, where the posts are held in its place.
    pub(super) waits: Option<Missing>,
}

/// The segments between sources and posts as they are found.
#[derive(Default)]
struct Segments {
    runs: Vec<usize>,
    /// The one conductor that a segment is of, where ways go over a run's two apart.
    halves: Vec<Option<Half>>,
    ohms: Vec<f64>,
}

impl Segments {
    fn way(&mut self, context: &Context<'_>, report: &Report, way: &Way) -> Figure<Vec<usize>> {
        let mut out = Vec::with_capacity(way.runs.len());
        for run in &way.runs {
            // The batteries' own ways are one segment, under the first run of the first of them.
            let own = context.circuit.is_lead(*run);
            if own && way.runs.iter().find(|i| context.circuit.is_lead(**i)) != Some(run) {
                continue;
            }
            let charges = |w: &&Way| matches!(w.kind, PathKind::ControllerBank | PathKind::Charger);
            let mut ways = context.circuit.ways.iter().filter(charges);
            let apart = !own && ways.any(|w| w.half(*run).is_some());
            let conductors = match (apart, way.half(*run)) {
                (false, _) => &[None][..],
                (true, Some(Half::Positive)) => &[Some(Half::Positive)],
                (true, Some(Half::Negative)) => &[Some(Half::Negative)],
                (true, None) => &[Some(Half::Positive), Some(Half::Negative)],
            };
            for half in conductors {
                out.push(self.one(context, report, *run, *half)?);
            }
        }
        Ok(out)
    }

    fn one(&mut self, context: &Context<'_>, report: &Report, run: usize, half: Option<Half>) -> Figure<usize> {
        let leads = leads(context, report, run).transpose()?;
        let run = leads.as_ref().and_then(|l| l.firsts().next()).unwrap_or(run);
        let known = self.runs.iter().zip(&self.halves).position(|(r, h)| (*r, *h) == (run, half));
        if let Some(segment) = known {
            return Ok(segment);
        }
        let whole = leads.map_or_else(|| ohm(context, report, run), |l| Ok(l.added_ohm()))?;
        self.ohms.push(match half {
            None => whole,
            Some(half) => whole * part_of(context, report, run, half)?,
        });
        self.runs.push(run);
        self.halves.push(half);
        Ok(self.runs.len() - 1)
    }
}

/// Part of a run's ohms that one of its conductors has.
fn part_of(context: &Context<'_>, report: &Report, run: usize, half: Half) -> Figure<f64> {
    let (drawn, figures) = context.plan.runs.get(run).zip(report.runs.get(run)).ok_or_else(|| missing("runs"))?;
    // Warmth changes the parts little: of a run whose own current is not known they count cold.
    let amps = match &figures.drop_at_a {
        Err(waits) if is_of_idle(context, waits) => without_idle(context, run, drawn).pair.drop_a.unwrap_or(0.0),
        known => known.as_ref().map_or(0.0, |a| a.0),
    };
    let negative = negative_part(context, run, drawn, amps)?;
    Ok(if half == Half::Negative { negative } else { 1.0 - negative })
}

/// The charging circuit with the resistances of the plan's runs. `used`: whether the loads are known; `generator_h`: hours of
/// generator a day, in a year that tries them.
pub(super) fn compile(
    context: &Context<'_>,
    report: &Report,
    sources: &[Source],
    used: Figure<()>,
    generator_h: Option<u8>,
) -> Figure<Compiled> {
    let plan = context.plan;
    if sources.len() > MOST_SOLARS {
        return Err(missing("controllers"));
    }
    let mut segments = Segments::default();
    let mut waits = used.err();
    let mut solars = Vec::new();
    for source in sources {
        let controller = plan.controllers.get(source.controller).ok_or_else(|| missing("controllers"))?;
        let mut pv_ohm = 0.0;
        for (run, part) in &source.pv_runs {
            pv_ohm += part * part * ohm(context, report, *run)?;
        }
        let way = context
            .circuit
            .way_of(PathKind::ControllerBank, Node::Controller(source.controller))
            .ok_or_else(|| missing("runs"))?;
        let setting = setting_of(context, controller);
        if let Err(missing) = &setting {
            waits.get_or_insert_with(|| missing.clone());
        }
        solars.push(Solar {
            makes: makes(controller)?,
            pv_ohm,
            out: segments.way(context, report, way)?,
            setting: setting.unwrap_or(UNSET),
            self_w: need(&controller.self_use_w, "controllers", &controller.id, "self_use_w")?.0,
        });
    }
    let (mut feeders, mut runs, mut drivers) = (Vec::new(), Vec::new(), Vec::new());
    for index in 0..plan.chargers.len() {
        match feeder(context, report, (index, generator_h), &mut segments) {
            Ok(Some((feeder, when))) => {
                if feeder.line.is_some() {
                    drivers.push((feeders.len(), index));
                }
                feeders.push(feeder);
                runs.push(when);
            }
            Ok(None) => {}
            Err(missing) => {
                waits.get_or_insert(missing);
            }
        }
    }
    let posts = match (&waits, bank(context)) {
        (None, Ok(bank)) => Posts::Bank(bank),
        (_, bank) => {
            if let Err(missing) = bank {
                waits.get_or_insert(missing);
            }
            (feeders, runs, drivers) = (Vec::new(), Vec::new(), Vec::new());
            Posts::Fixed(posts_v(context)?)
        }
    };
    let circuit = Charging::of(posts, solars, feeders, segments.ohms).on_lines(lines_shared(context, &drivers)?);
    if circuit.is_sound() {
        Ok(Compiled { circuit, runs, segment_runs: segments.runs, waits })
    } else {
        let is_empty = matches!(&circuit.posts, Posts::Bank(bank) if bank.rated_ah <= 0.0);
        Err(missing(if is_empty { "bank.unit_ah" } else { "runs" }))
    }
}

/// Volts at the posts in the middle of a charge.
pub(super) fn posts_v(context: &Context<'_>) -> Figure<f64> {
    let lithium = context.chemistry()?.chemistry.is_lithium();
    Ok(POSTS_V[usize::from(!lithium)] * context.by_cells()?)
}

/// Ohms that the lines of two feeders have in common, for all that have any; of each feeder its charger.
fn lines_shared(context: &Context<'_>, drivers: &[(usize, usize)]) -> Figure<Vec<(usize, usize, f64)>> {
    let mut shared = Vec::new();
    for (place, (f, charger)) in drivers.iter().enumerate() {
        let line = Shared::of(context, *charger)?;
        for (g, other) in drivers.iter().skip(place + 1) {
            let ohm = line.ohm_of(*charger, *other);
            if ohm > 0.0 {
                shared.push((*f, *g, ohm));
            }
        }
    }
    Ok(shared)
}

/// What a source is given where its settings are not known: it never holds anything down.
const UNSET: Setting = Setting {
    charge: ChargeSettings { absorb_v: f64::MAX, absorb_h: None, float_v: None, compensation_v_per_k: 0.0 },
    sensed: false,
};

/// The leads of the bank's batteries that a run is one of, as they are at work: together they are one segment.
pub(super) fn leads(context: &Context<'_>, report: &Report, run: usize) -> Option<Figure<Leads>> {
    Leads::of(context, run, |i| ohm(context, report, i))
}

/// A run's ohms at work. Where these wait for the efficiency of an inverter that no load hangs on, nothing of it warms the wire
/// in the year, whatever it could carry.
pub(super) fn ohm(context: &Context<'_>, report: &Report, run: usize) -> Figure<f64> {
    let figures = report.runs.get(run).ok_or_else(|| missing("runs"))?;
    match &figures.resistance_ohm {
        Ok(ohm) => Ok(ohm.0),
        Err(waits) if is_of_idle(context, waits) => {
            let drawn = context.plan.runs.get(run).ok_or_else(|| missing("runs"))?;
            let amps = without_idle(context, run, drawn).warming_a()?;
            Ok(run_loop(context, run, drawn, amps, None)?.ohm)
        }
        Err(waits) => Err(waits.clone()),
    }
}

/// Whether a figure waits for what an inverter loses that nothing hangs on.
fn is_of_idle(context: &Context<'_>, waits: &Missing) -> bool {
    let mut all = context.plan.inverters.iter().enumerate();
    let at = all.find(|(_, inv)| waits.0 == at("inverters", &inv.id, "efficiency_pct"));
    at.is_some_and(|(inverter, _)| is_idle(context, inverter))
}

/// What flows in a run with nothing through the inverters of which that is so.
fn without_idle(context: &Context<'_>, index: usize, run: &Run) -> RunCurrents {
    let mut terminals = Terminals::of(context);
    for (i, pair) in terminals.inverters.iter_mut().enumerate() {
        if matches!(&pair.drop_a, Err(waits) if is_of_idle(context, waits)) && is_idle(context, i) {
            *pair = both(Ok(0.0), pair.how);
        }
    }
    currents::of_run(context, &terminals, index, run)
}

fn makes(controller: &Controller) -> Figure<Makes> {
    let field = |key: &str| at("controllers", &controller.id, key);
    let most_a = need(&controller.out_a, "controllers", &controller.id, "out_a")?.0;
    Ok(match controller.kind.at(|| field("kind"))? {
        ControllerKind::Pwm => Makes::Pwm { block_v: 0.0, most_a },
        ControllerKind::Tracking => Makes::Tracking(Tracker {
            tracking: STATIC_TRACKING,
            conversion: controller.efficiency_pct.at(|| field("efficiency_pct"))?.0 / 100.0,
            self_w: controller.self_use_w.at(|| field("self_use_w"))?.0,
            // An unknown headroom counts as none: an ideal step-down converter. It is counted as unknown.
            headroom_v: controller.run_headroom_v.known().map_or(0.0, |v| v.0),
            most_a,
        }),
    })
}

fn setting_of(context: &Context<'_>, controller: &Controller) -> Figure<Setting> {
    let field = |key: &str| at("controllers", &controller.id, key);
    let set = |volts: f64, key: &str| of_bank(context, volts, || field(key));
    let absorb_v = set(controller.absorb_v.at(|| field("absorb_v"))?.0, "absorb_v")?;
    let float_v = volts(controller.float_v.as_ref()).map(|v| set(v, "float_v")).transpose()?;
    let sense = senses(&context.plan.bank, controller.temp_sense, controller.zone);
    // One that floats above its absorption charges on at its float: what it could bring is taken at that.
    let absorb_v = float_v.map_or(absorb_v, |float_v| absorb_v.max(float_v));
    let by_k = kelvin_v(context, &controller.temp_comp_mv_k, sense, absorb_v, || field("temp_comp_mv_k"));
    Ok(Setting {
        charge: ChargeSettings {
            absorb_v,
            absorb_h: controller.absorb_h.as_ref().and_then(Known::known).map(|h| h.0.max(LEAST_ABSORB_H)),
            float_v,
            compensation_v_per_k: by_k?,
        },
        sensed: controller.volt_sense == YesNo::Yes,
    })
}

fn volts(known: Option<&Known<Volts>>) -> Option<f64> {
    known.and_then(Known::known).map(|v| v.0)
}

/// An unknown compensation counts as off, and is counted as unknown. So does one by the warmth of another place than the bank's.
/// One that brings the highest setting to volts that no such bank is charged at is no setting either.
fn kelvin_v(
    context: &Context<'_>,
    known: &Known<Number>,
    sense: Senses,
    volts: f64,
    field: impl FnOnce() -> FieldPath,
) -> Figure<f64> {
    let by_k = known.known().filter(|_| sense != Senses::Elsewhere).map_or(0.0, |mv| mv.0 / 1000.0);
    of_bank(context, coldest_v(volts, by_k.min(0.0)), field).map(|_| by_k)
}

/// When a charger gives; none where it never does. A generator is run by hand: it counts in a year that tries hours of it alone,
/// and a shore charger with it, if there is a generator.
fn when(plan: &Plan, charger: &Charger, kind: ChargerKind, generator_h: Option<u8>) -> Option<Runs> {
    let source = charger.ac_source.as_ref().and_then(Known::known);
    let on_shore = source.is_none_or(|s| matches!(s, AcSource::Shore | AcSource::Either));
    let has_generator =
        || plan.devices.iter().any(|d| d.state.stays() && d.kind.known() == Some(&DeviceKind::Generator));
    match kind {
        ChargerKind::DcDc => Some(Runs::Driving),
        _ if source == Some(&AcSource::Inverter) => None,
        _ if kind == ChargerKind::Generator || source == Some(&AcSource::Generator) => {
            generator_h.map(|hours| Runs::Generator { hours })
        }
        ChargerKind::Shore | ChargerKind::Converter if on_shore => {
            let generated = generator_h.filter(|_| has_generator());
            Some(generated.map_or(Runs::OnShore, |hours| Runs::OnShoreOrGenerator { hours }))
        }
        _ => None,
    }
}

/// A charger that is drawn to the bank and feeds it from outside.
fn feeder(
    context: &Context<'_>,
    report: &Report,
    (index, generator_h): (usize, Option<u8>),
    segments: &mut Segments,
) -> Figure<Option<(Feeder, Runs)>> {
    let Some(charger) = context.plan.chargers.get(index).filter(|c| c.state.stays()) else { return Ok(None) };
    let field = |key: &str| at("chargers", &charger.id, key);
    let kind = charger.kind.at(|| field("kind"))?;
    let Some(runs) = when(context.plan, charger, kind, generator_h) else { return Ok(None) };
    let stays = &context.plan.stays;
    let some = |of: Option<f64>| of.is_some_and(|x| x > 0.0);
    let ever = match runs {
        Runs::Driving => stays.iter().any(|s| some(s.drive_h_day.as_ref().and_then(Known::known).map(|h| h.0))),
        Runs::Generator { .. } | Runs::OnShoreOrGenerator { .. } => true,
        _ => stays.iter().any(|s| some(s.shore_days_month.as_ref().and_then(Known::known).map(|d| d.0))),
    };
    let Some(way) = context.circuit.way_of(PathKind::Charger, Node::Charger(index)).filter(|_| ever) else {
        return Ok(None);
    };
    // With no run to its input it charges nothing.
    if runs == Runs::Driving && line_runs(context, index).is_empty() {
        return Ok(None);
    }
    let line = match runs {
        Runs::Driving => Some(Line { part: rated_share(context, index), ..dc_line(context, index)? }),
        _ => None,
    };
    let set = |volts: f64, key: &str| of_bank(context, volts, || field(key));
    let sense = senses(&context.plan.bank, charger.temp_sense, charger.zone);
    let absorb_v = set(charger.absorb_v.at(|| field("absorb_v"))?.0, "absorb_v")?;
    let float_v = volts(charger.float_v.as_ref()).map(|v| set(v, "float_v")).transpose()?;
    let most_v = float_v.map_or(absorb_v, |float_v| absorb_v.max(float_v));
    let by_k = kelvin_v(context, &charger.temp_comp_mv_k, sense, most_v, || field("temp_comp_mv_k"));
    let charge = ChargeSettings { absorb_v, absorb_h: None, float_v, compensation_v_per_k: by_k? };
    let out_a = charger.out_a.at(|| field("out_a"))?.0 * line.map_or(1.0, |line| line.part);
    let feeder =
        Feeder { out_a, out: segments.way(context, report, way)?, setting: Setting { charge, sensed: false }, line };
    Ok(Some((feeder, runs)))
}

/// The own cut-offs of the inverters that the AC loads come by, each behind its own way from the bank; one that has none, or of
/// which something is not known, has none in the year.
pub(super) fn cut_offs(context: &Context<'_>, report: &Report, usage: &Usage) -> Vec<CutOff> {
    let one = |(place, at): (usize, usize)| {
        let inverter = context.plan.inverters.get(at)?;
        let off_v = volts(inverter.cutoff_v.as_ref())?;
        let ohm = inverter_ohm(context, report, at)?.ok()?;
        // One that starts again below its own cut-off has no second threshold.
        let on_v = volts(inverter.restart_v.as_ref()).filter(|on_v| *on_v > off_v);
        Some(CutOff { inverter: at, place, off_v, on_v, ohm })
    };
    usage.inverters().enumerate().filter_map(one).take(MOST_CUT_OFFS).collect()
}

/// Loop resistance from the posts to an inverter's terminals, as the year has it; none where nothing is drawn to it.
pub(super) fn inverter_ohm(context: &Context<'_>, report: &Report, inverter: usize) -> Option<Figure<f64>> {
    let way = context.circuit.way_of(PathKind::Inverter, Node::Inverter(inverter))?;
    let mut segments = Segments::default();
    Some(segments.way(context, report, way).map(|_| segments.ohms.iter().sum()))
}

/// The bank as the year simulates it. Limits that its label does not state are none.
pub(super) fn bank(context: &Context<'_>) -> Figure<Bank> {
    let bank = &context.plan.bank;
    let chemistry = context.chemistry()?.chemistry;
    let (series, parallel) = (context.series()?, context.parallel()?);
    let lithium = chemistry.is_lithium();
    let label_ah = bank.unit_ah.at(|| "bank.unit_ah".into())?.0 * parallel;
    // Where links leave one battery more than its part, that one's limit is the bank's; as long as it is not known they are even.
    let as_many = limited_as(context).unwrap_or(parallel);
    let amps = |known: &Option<Known<crate::units::Amps>>, share: f64| {
        known.as_ref().and_then(Known::known).map(|a| a.0 * as_many * share)
    };
    let make = match chemistry {
        Chemistry::Flooded => Make::Lead(Plates::Flooded),
        Chemistry::Agm => Make::Lead(Plates::Agm),
        Chemistry::Gel => Make::Lead(Plates::Gel),
        Chemistry::Lfp => Make::Phosphate,
    };
    let rate_h = bank.rate_h.as_ref().and_then(Known::known).map_or(LABEL_H, |h| h.0);
    Ok(Bank {
        make,
        cells: context.cells()?,
        rated_ah: if lithium { label_ah } else { c10_of(label_ah, rate_h) / c10_of(1.0, LABEL_H) },
        sag_ohm: bank.sag_mohm.as_ref().and_then(Known::known).map(|m| m.0 / 1000.0 * series / parallel),
        most_charge_a: amps(&bank.max_charge_a, 1.0),
        most_discharge_a: amps(&bank.max_discharge_a, context.rules.discharge_share),
        least_v: volts(bank.discharge_cutoff_v.as_ref()).map(|v| v * series),
        least_soc: 1.0 - context.usable_share()?,
        least_charge_c: lithium.then(|| {
            bank.charge_cutoff_c.as_ref().and_then(Known::known).map_or(context.rules.lfp_charge_least_c, |c| c.0)
        }),
    })
}

/// The bank's heater, if it has one and needs it.
pub(super) fn heater(context: &Context<'_>, bank: &Bank) -> Option<Heater> {
    let own = &context.plan.bank;
    let watts = own.heater_w.as_ref().and_then(Known::known)?.0;
    let least_c = bank.least_charge_c?;
    let batteries = context.series().ok()? * context.parallel().ok()?;
    let battery_wh = bank.energy_wh(1.0) / batteries;
    let loss_w_k = loss_w_k(battery_wh, batteries);
    let weight_kg = own.weight_kg.as_ref().and_then(Known::known).map(|kg| kg.0);
    let body = Body::of(heat_wh_k(battery_wh, weight_kg, batteries), loss_w_k);
    (watts > 0.0 && loss_w_k > 0.0).then_some(Heater { watts, holds_c: least_c + HEATER_ABOVE_K, body })
}

/// Path of what a bank without simulation waits for; the empty path where nothing is missing.
pub(super) fn waiting(waits: Option<&Missing>) -> Missing {
    waits.cloned().unwrap_or_else(|| Missing(FieldPath::new("")))
}
