//! The answer as JSON for scripts: fields are added, never renamed; what is not known is `null`.

use serde_json::{Map, Value, json};

use crate::engine::report::{
    ArrayFigures, DullSpell, LinkFigures, Lived, LoadFigures, MadeUp, MonthFigures, NotChecked, PlaceShade, Reliefs,
    Remedy, RunFigures,
};
use crate::engine::{Finding, Report};
use crate::plan::wiring::FuseAt;
use crate::plan::{Figure, Id, Known, Plan, Run};
use crate::units::{AmpHours, Amps, Celsius, Hours, Kilograms, Metres, Number as Plain, Ohms, Volts, WattHours, Watts};

/// A figure that JSON can say.
trait Said {
    fn said(&self) -> Value;
}

macro_rules! said {
    ($($unit:ident)*) => { $(impl Said for $unit { fn said(&self) -> Value { json!(self.0 + 0.0) } })* };
}
said! { AmpHours Amps Celsius Hours Kilograms Metres Plain Ohms Volts WattHours Watts }

impl Said for f64 {
    fn said(&self) -> Value {
        // No figure is a negative nothing.
        json!(self + 0.0)
    }
}

impl<T: Said> Said for Figure<T> {
    fn said(&self) -> Value {
        self.as_ref().map_or(Value::Null, Said::said)
    }
}

impl<T: Said> Said for Known<T> {
    fn said(&self) -> Value {
        self.known().map_or(Value::Null, Said::said)
    }
}

/// The whole answer, with every figure at full precision.
#[must_use]
pub fn json(plan: &Plan, report: &Report) -> Value {
    json!({
        "plan": plan.job.title,
        "basis": plan.job.basis.word(),
        "arrays": report.arrays.iter().map(array).collect::<Vec<_>>(),
        "bank": {
            "volts": report.bank.volts.said(),
            "amp_hours": report.bank.amp_hours.said(),
            "usable_wh": report.bank.usable_wh.said(),
            "fault_a": report.bank.fault_a.said(),
            "links": report.bank.links.as_ref().map_or(Value::Null, links),
        },
        "runs": plan.runs.iter().map(|run| run_value(run, figures_of(report, run))).collect::<Vec<_>>(),
        "months": report.year.months.iter().enumerate().map(|(i, m)| month(plan, i, m)).collect::<Vec<_>>(),
        "loads": loads(&report.loads),
        "year": {
            "harvest_kwh": report.year.harvest_kwh.said(),
            "harvest_months": months_apart(report),
            "load_kwh": report.year.load_kwh.said(),
            "load_is_audit_alone": report.year.is_load_the_audit(),
            "shortfall_days": report.year.shortfall_days.said(),
            "unmet_pct": report.year.unmet_pct.said(),
            "least_soc": report.year.least_soc.clone().map(|(soc, _)| soc).said(),
            "stored_kwh": report.year.stored_kwh.said(),
            "lost": report.year.lost.as_ref().map_or(Value::Null, |lost| json!({
                "array_kwh": lost.array_kwh,
                "wire_pct": lost.wire_pct,
                "volts_pct": lost.volts_pct,
                "controller_pct": lost.controller_pct,
                "bank_pct": lost.bank_pct,
                "warmth_pct": lost.warmth_pct,
            })),
            "other_cold_kwh": report.year.other_cold_kwh().said(),
            "charging_unknown": report.charging_unknown(),
            "lived": lived(&report.year.lived),
            "dull_spell": spell(&report.year.dull_spell),
            "hardest_spell": spell(&report.year.hardest),
        },
        "roof": {
            "panels": (0..plan.arrays.len()).flat_map(|a| places(plan, a, &report.roof.shade)).collect::<Vec<_>>(),
            "holes": report.roof.holes.said(),
            "uplift_factor": report.roof.uplift_factor.said(),
        },
        "price": {
            "parts": report.price.parts.said(),
            "labour": report.price.labour.said(),
            "tax": report.price.tax.said(),
            "total": report.price.total.said(),
            "lugs": report.price.lugs,
            "lugs_not_counted": report.price.lugs_not_counted,
        },
        "unknown": report.unknown.len(),
        "not_checked": report.not_checked.iter().map(waits).collect::<Vec<_>>(),
        "waiting": report.waiting.iter().map(waits).collect::<Vec<_>>(),
        "findings": report.findings.iter().map(finding).collect::<Vec<_>>(),
    })
}

/// Links between batteries in parallel: what each battery gives, and what the link that carries most does.
fn links(links: &LinkFigures) -> Value {
    json!({
        "shares": links.shares.as_ref().map_or(Value::Null, |all| json!(all)),
        "bank_a": links.bank_a.said(),
        "link_a": links.link_a.said(),
        "link_v": links.link_v.said(),
        "ampacity_a": links.ampacity_a.said(),
        "least_gauge": links.least.as_ref().ok().and_then(|g| g.map(|g| g.to_string())),
    })
}

/// Beside them, what each remedy alone would serve of the load that goes short: a year for each.
pub fn add_reliefs(json: &mut Value, report: &Report, reliefs: &Figure<Reliefs>) {
    let one = |relief: &crate::engine::report::Relief| json!({ "with": relief.remedy.words(), "kwh": relief.kwh(), "wh_day": relief.served_wh_day });
    let all = reliefs.as_ref().map_or(Value::Null, |all| all.each.iter().map(one).collect());
    if let Some(year) = json.get_mut("year").and_then(Value::as_object_mut) {
        year.insert("would_serve".into(), all);
    }
    let months = json.get_mut("months").and_then(Value::as_array_mut).into_iter().flatten();
    for ((m, month), figures) in months.enumerate().zip(&report.year.months) {
        let best = reliefs.as_ref().ok().and_then(|all| all.best(m, figures));
        let others = reliefs.iter().flat_map(|all| all.others(m, figures)).map(Remedy::words);
        let others: Vec<String> = others.collect();
        let said =
            best.map_or(Value::Null, |(with, wh)| json!({ "with": with.words(), "wh_day": wh, "as_much": others }));
        let Some(month) = month.as_object_mut() else { continue };
        month.insert("helps_most".into(), said);
        // What serves most of a load that goes short is what limits it: the losses alone only guess. Where no sun shines at all it is
        // the sun, whatever a larger bank carries over from the months before.
        let is_dark = figures.ghi_kwh_m2_day.as_ref().is_ok_and(|sun| *sun <= 0.0);
        let what = reliefs.as_ref().ok().and_then(|all| all.limit(m, figures)).filter(|_| !is_dark);
        if let (Some((_, wh)), Some(what)) = (best, what) {
            month.insert("limited_by".into(), json!({ "what": what, "wh_day": wh }));
        }
    }
}

/// Beside them, how many hours a day make up what goes short: null where nothing could bring them, or no hours do.
pub fn add_made_up(json: &mut Value, made_up: &Figure<MadeUp>) {
    let Ok(MadeUp { driving, generator, but_first }) = made_up else { return };
    let Some(months) = json.get_mut("months").and_then(Value::as_array_mut) else { return };
    for (m, month) in months.iter_mut().enumerate().filter_map(|(m, month)| Some((m, month.as_object_mut()?))) {
        for (key, of) in [("drive_h_day", driving), ("generator_h_day", generator)] {
            let hours = of.as_ref().and_then(|of| of.get(m)?.clone().ok()?);
            month.insert(key.into(), json!(hours));
        }
        let but = but_first.get(m).copied().flatten().map(|(hours, days)| json!({ "h_day": hours, "days": days }));
        month.insert("made_up_but_for_first_days".into(), but.into());
    }
}

/// Sums of the months that have a stay.
fn lived(lived: &Lived) -> Value {
    json!({
        "months": lived.months,
        "days": lived.days,
        "harvest_kwh": lived.harvest_kwh.said(),
        "load_kwh": lived.load_kwh.said(),
        "stored_kwh": lived.stored_kwh.said(),
        "shortfall_days": lived.short_days.said(),
        "unmet_pct": lived.unmet_pct.said(),
    })
}

/// Days in a row, the first of January counted as 1.
fn spell(spell: &Figure<Option<DullSpell>>) -> Value {
    let Ok(Some(spell)) = spell else { return Value::Null };
    json!({
        "first_day": spell.first_day + 1,
        "days": spell.days,
        "harvest_wh_day": spell.harvest.said(),
        "other_wh_day": spell.other.said(),
        "load_wh_day": spell.load.said(),
        "shortfall_wh": spell.shortfall.said(),
        "least_soc": spell.least_soc,
    })
}

/// A check that could not run.
fn waits(n: &NotChecked) -> Value {
    json!({ "id": n.check, "subject": n.subject.as_str(), "waits_for": n.waits_for.as_str() })
}

/// What a dull, a typical and a bright month bring, kWh a month; null where a month is not known.
fn months_apart(report: &Report) -> Value {
    report.year.month_spread().map_or(Value::Null, |s| {
        json!({
            "dull": { "month": s.dull.0 + 1, "kwh": s.dull.1 },
            "typical": { "month": null, "kwh": s.typical },
            "bright": { "month": s.bright.0 + 1, "kwh": s.bright.1 },
        })
    })
}

/// The loads' totals, each with the range that it may really be in.
fn loads(loads: &LoadFigures) -> Value {
    let ranged = |total: f64| {
        let (least, most) = loads.range(total);
        json!({ "usual": total, "least": least, "most": most })
    };
    let day = |f: &Figure<WattHours>| f.as_ref().map_or(Value::Null, |w| ranged(w.0));
    let amps = |a: Option<Amps>| a.map_or(Value::Null, |a| a.said());
    json!({
        "spread_pct": loads.spread_share * 100.0,
        "summer_wh_day": day(&loads.seasons.summer_wh_day),
        "winter_wh_day": day(&loads.seasons.winter_wh_day),
        "between_wh_day": day(&loads.seasons.between_wh_day),
        "year_kwh": loads.year_kwh.as_ref().map_or(Value::Null, |kwh| ranged(*kwh)),
        "worst_day": loads.worst_day.as_ref().map_or(Value::Null, |(month, wh)| json!({
            "month": month + 1,
            "wh_day": ranged(wh.0),
        })),
        "on_start_battery": loads.apart.as_ref().map(|apart| json!({
            "loads": apart.loads.iter().map(Id::as_str).collect::<Vec<_>>(),
            "summer_wh_day": apart.seasons.summer_wh_day.said(),
            "winter_wh_day": apart.seasons.winter_wh_day.said(),
            "between_wh_day": apart.seasons.between_wh_day.said(),
        })),
        "dc_simultaneous_w": loads.dc_simultaneous_w.said(),
        "together": loads.together.as_ref().map_or(Value::Null, |t| json!({
            "month": t.month + 1,
            "watts": t.watts.said(),
            "amps": amps(t.amps),
            "dc_w": t.dc_w.said(),
            "ac_w": t.ac_w.said(),
            "over_inverter": t.is_capped,
        })),
        "surge": loads.surge.as_ref().map_or(Value::Null, |s| json!({
            "month": s.month + 1,
            "watts": s.watts.said(),
            "amps": amps(s.amps),
            "load": s.load.as_ref().map(Id::as_str),
            "over_inverter": s.is_capped,
        })),
    })
}

fn figures_of<'a>(report: &'a Report, run: &Run) -> Option<&'a RunFigures> {
    report.runs.iter().find(|r| r.id == run.id)
}

fn array(figures: &ArrayFigures) -> Value {
    json!({
        "id": figures.id.as_str(),
        "panels": figures.panels,
        "watts": figures.watts.said(),
        "voc_cold_v": figures.voc_cold_v.said(),
        "vmp_hot_v": figures.vmp_hot_v.said(),
        "isc_a": figures.isc_a.said(),
        "controller": figures.controller.as_ref().map(Id::as_str),
    })
}

/// A run; every computed figure is null where the engine has none.
fn run_value(run: &Run, figures: Option<&RunFigures>) -> Value {
    let mut out = Map::new();
    let end = |id: &Known<Id>| json!(id.known().map(Id::as_str));
    out.insert("id".into(), json!(run.id.as_str()));
    out.insert("from".into(), end(&run.from));
    out.insert("to".into(), end(&run.to));
    let mut add = |name: &str, value: fn(&RunFigures) -> Value| {
        out.insert(name.into(), figures.map_or(Value::Null, value));
    };
    add("length_m", |f| f.length_m.said());
    add("gauge", |_| Value::Null);
    add("design_a", |f| f.design_a.said());
    add("drop_at_a", |f| f.drop_at_a.said());
    add("drop_v", |f| f.drop_v.said());
    add("drop_pct", |f| f.drop_pct.said());
    add("path_drop_pct", |f| f.path_drop_pct.said());
    add("path_target_pct", |f| json!(f.target_pct));
    add("path_end", |f| json!(f.path_end.as_ref().map(Id::as_str)));
    add("path", |f| f.path.iter().map(Id::as_str).collect());
    add("resistance_ohm", |f| f.resistance_ohm.said());
    add("wire_c", |f| f.wire_c.said());
    add("ampacity_a", |f| f.ampacity_a.said());
    add("governs", |f| if f.governs.is_empty() { Value::Null } else { json!(f.governs) });
    add("fuse_min_a", |f| f.fuse_min_a.said());
    add("fuse_max_a", |f| f.fuse_max_a.said());
    out.insert("fuse_a".into(), smallest_fuse(run));
    out.insert("fuses".into(), fuses(run));
    out.insert("loss_wh_day".into(), figures.map_or(Value::Null, |f| f.loss_wh_day.said()));
    // Already in its place: the gauge is the plan's own.
    out.insert("gauge".into(), json!(run.gauge.known().map(ToString::to_string)));
    Value::Object(out)
}

/// The rating that limits the run: the smallest of its fuses; null where it has none or one is not known.
fn smallest_fuse(run: &Run) -> Value {
    let ratings: Option<Vec<f64>> =
        run.protection.iter().filter(|p| p.state.stays()).map(|p| p.amps_a.known().map(|a| a.0)).collect();
    json!(ratings.and_then(|r| r.into_iter().reduce(f64::min)))
}

fn fuses(run: &Run) -> Value {
    let at = |p: &crate::plan::Protection| match (p.at, &p.leg) {
        (FuseAt::Leg, Some(Known::Is(leg))) => leg.to_string(),
        (at, _) => at.word().to_string(),
    };
    let one = |p: &crate::plan::Protection| json!({ "at": at(p), "type": p.family.known().map(|f| f.word()), "amps": p.amps_a.said() });
    run.protection.iter().filter(|p| p.state.stays()).map(one).collect()
}

fn month(plan: &Plan, index: usize, figures: &MonthFigures) -> Value {
    let stay = figures.stay.and_then(|i| plan.stays.get(i));
    json!({
        "month": index + 1,
        "place": stay.map(|s| s.place.as_str()),
        "horizon_deg": stay.map(|s| s.sky.horizon_deg()),
        "horizon_basis": stay.and_then(|s| s.sky.taken_as()),
        "ghi_kwh_m2_day": figures.ghi_kwh_m2_day.said(),
        "array_wh_day": figures.array_wh_day.said(),
        "harvest_wh_day": figures.harvest_wh_day.said(),
        "load_wh_day": figures.load_wh_day.said(),
        "deficit_wh_day": figures.deficit_wh_day.said(),
        "shortfall_wh_day": figures.shortfall_wh_day.said(),
        "beyond_inverter_wh_day": figures.beyond_wh_day.said(),
        "unused_wh_day": figures.unused_wh_day.said(),
        "days_without_sun": figures.days_without_sun.said(),
        "other_wh_day": figures.other_wh_day.said(),
        "shore_wh_day": figures.shore_wh_day.said(),
        "other_cold_wh_day": figures.other_cold_wh_day.said(),
        "least_soc": figures.least_soc.said(),
        "losses_wh_day": figures.losses.as_ref().map_or(Value::Null, |losses| {
            losses.named().iter().map(|(limit, wh)| (limit.word().replace(' ', "_"), wh.said())).collect()
        }),
        "limited_by": figures.limited_by.as_ref().map_or(Value::Null, |limit| {
            limit.map_or(Value::Null, |(limit, wh)| json!({ "what": limit.word(), "wh_day": wh.said() }))
        }),
        "spread": figures.spread_wh_day.as_ref().map_or(Value::Null, |s| json!({
            "dull_wh": s.dull.said(),
            "typical_wh": s.typical.said(),
            "bright_wh": s.bright.said(),
        })),
        "cut_off_wh_day": figures.cut_off_wh_day.as_ref().map_or(Value::Null, Said::said),
        "discharge_limit_wh_day": figures.held_back_wh_day.said(),
        "roof_shade_wh_day": figures.shade_wh_day.said(),
        "stored_wh_day": figures.charged_wh_day.said(),
        "generator_h_day": null,
        "drive_h_day": null,
        "made_up_but_for_first_days": null,
        "made_up_in_h_day": "least that was tried, so many more in every month",
    })
}

/// Where the panels of an array lie; named by array and place.
fn places<'a>(plan: &'a Plan, number: usize, shade: &'a [PlaceShade]) -> impl Iterator<Item = Value> + 'a {
    let array = plan.arrays.get(number);
    array.into_iter().flat_map(|array| array.places.iter().map(move |p| (array, p))).enumerate().map(
        move |(i, (array, p))| {
            let shade = shade.iter().find(|s| (s.array, s.place) == (number, i));
            let thing = shade.and_then(|s| plan.roof.obstacles.get(s.thing));
            json!({
                "id": format!("{}.{}", array.id, p.id),
                "x_m": p.x_m.said(),
                "y_m": p.y_m.said(),
                "shade_wh_day": null,
                "shaded_pct": shade.map(|s| s.share * 100.0),
                "shaded_most_in": shade.map(|s| s.month + 1),
                "shaded_by": thing.map(|t| t.id.as_str()),
            })
        },
    )
}

fn finding(finding: &Finding) -> Value {
    json!({
        "id": finding.check.id,
        "level": finding.level.word(),
        "subject": finding.subject.as_str(),
        "text": finding.text(),
        "source": finding.source_said(),
        "accepted": finding.accepted,
        "lapsed": finding.lapsed,
    })
}
