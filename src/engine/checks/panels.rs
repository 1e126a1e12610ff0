//! Strings: cold and hot volts, currents, unlike panels.

use crate::engine::Work;
use crate::engine::arrays::{self, path_of};
use crate::engine::circuit::{Node, PathKind, tracking};
use crate::engine::context::{at, need};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::plan::{Array, Controller, FieldPath, Figure, Missing};
use crate::standards::cited::{PV_VOLTS, SHOCK};
use crate::standards::cold::NEC_690_7_A;
use crate::standards::source::COMMON_PRACTICE;

use super::digits::{apart, rated};
use super::wires::least_way_v;

/// No panel is as warm as this where its open volts matter, C. Source: our own choice; hot cells are near 70 C.
const WARMEST_C: f64 = 70.0;

static COLD_VOC: Check = Check {
    id: "cold-voc-over-limit",
    safety: true,
    say: |f| {
        let (open, takes) = (apart(f.n(0), f.n(1), 1).0, rated(f.n(1)));
        let pct = apart(f.n(3), 100.0, 0).0;
        let text = format!("{}: {open} V open at {:.0} C, {} takes {takes} V ({pct} %)", f.name(0), f.n(2), f.name(1));
        match f.numbers.get(4) {
            Some(c) if f.n(0) > f.n(1) && *c > WARMEST_C => format!("{text}; exceeded in any weather"),
            Some(c) if f.n(0) > f.n(1) => format!("{text}; exceeded below {c:.1} C"),
            Some(c) => format!("{text}; reached at {c:.1} C"),
            None => text,
        }
    },
};
static SHOCK_VOLTS: Check = Check {
    id: "shock-volts",
    safety: false,
    say: |f| {
        let (volts, most) = (apart(f.n(0), f.n(1), 0).0, rated(f.n(1)));
        format!(
            "{} can reach {volts} V, over {most} V: open nothing under load, cover the panels before work",
            f.name(0)
        )
    },
};
static HOT_VMP: Check = Check {
    id: "hot-vmp-low",
    safety: false,
    say: |f| {
        let lost = if f.n(3) >= 1.0 { format!("; {:.0} Wh {} are lost", f.n(3), f.name(4)) } else { String::new() };
        let lost = format!("{}{lost}", beyond_wire(f));
        if f.n(2) > 0.0 {
            format!(
                "{}: hot, {:.1} V arrive at {}, which needs {:.1} V and a headroom nobody has given; from {:.1} V of it \
                 it cannot charge fully{lost}",
                f.name(0),
                f.n(0),
                f.name(1),
                f.n(1),
                f.n(0) - f.n(1)
            )
        } else {
            format!(
                "{}: hot, {:.1} V arrive at {}, which needs {:.1} V to charge fully{}{lost}",
                f.name(0),
                f.n(0),
                f.name(1),
                f.n(1),
                f.name(2)
            )
        }
    },
};
/// What would do where the best of wire is too little as well.
fn beyond_wire(f: &Finding) -> String {
    let (Some(v), Some(least)) = (f.numbers.get(4), f.numbers.get(5)) else { return String::new() };
    let lacks = f.n(1) - f.n(0) - v;
    let wire = if lacks > 0.0 {
        format!("; its way loses {v:.2} V, and without any loss {lacks:.1} V would lack still")
    } else {
        format!("; its way loses {v:.2} V, {least:.2} V of it with any wire, which is too much still")
    };
    match (f.name(2), f.numbers.get(6), f.numbers.get(7), f.numbers.get(8)) {
        ("", Some(series), Some(open), Some(takes)) => {
            let (open, takes) = (apart(*open, *takes, 1).0, rated(*takes));
            format!(
                "{wire}: {series:.0} panels in series would, but are {open} V open when cold, and {} takes {takes} V; a \
                 controller that takes more volts is wanted, or one that charges from fewer",
                f.name(1)
            )
        }
        ("", ..) if f.name(3).is_empty() => format!("{wire}: more panels in series would do"),
        ("", ..) => format!("{wire}: more panels in series would do, if {} takes their volts when cold", f.name(1)),
        _ => format!("{wire}: panels of more cells, or a tracking controller with two in series would do"),
    }
}

static START_VOLTS: Check = Check {
    id: "start-volts-low",
    safety: false,
    say: |f| {
        let open = format!("{}: {:.1} V open in the morning, {} needs {:.1} V", f.name(0), f.n(0), f.name(1), f.n(1));
        if f.n(2) > 0.0 {
            format!("{open} and a headroom nobody has given; from {:.1} V of it it does not start", f.n(0) - f.n(1))
        } else {
            format!("{open} to start; the year has it off on each day until it has them")
        }
    },
};
static PWM_HIGH: Check = Check {
    id: "pwm-panel-volts-high",
    safety: false,
    say: |f| {
        format!(
            "{}: {:.1} V panels on a PWM controller that holds them at {:.1} V, over {} times that; the rest is lost",
            f.name(0),
            f.n(0),
            f.n(1),
            f.n(2)
        )
    },
};
static ISC_OVER: Check = Check {
    id: "isc-over-input",
    safety: false,
    say: |f| {
        let (isc, takes) = apart(f.n(0), f.n(1), 1);
        format!("{}: {isc} A short-circuit, its input takes {takes} A: fewer strings, or another controller", f.name(0))
    },
};
static UNLIKE: Check = Check {
    id: "unlike-panels",
    safety: false,
    say: |f| {
        let lost = if f.n(1) >= 1.0 { format!("; {:.0} Wh a day are lost", f.n(1)) } else { String::new() };
        let (pct, most) = apart(f.n(0), f.n(2), 0);
        format!("{}: panels in {} differ by {pct} % in {}, over {most} %{lost}", f.name(0), f.name(1), f.name(2))
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    super::coldest::all(w, out);
    for (i, array) in w.context.plan.arrays.iter().enumerate().filter(|(_, a)| a.state.stays()) {
        let path = || path_of(array);
        let feeds = w.context.circuit.feeds.get(i).copied().flatten();
        let controller = feeds.and_then(|k| w.context.plan.controllers.get(k));
        out.take(&SHOCK_VOLTS, path, shock(w, i, array));
        for id in array.strings.0.iter().flatten() {
            if let Ok(panel) = arrays::panel(w.context.plan, array, id)
                && panel.beta_pct_k.known().is_none()
            {
                out.wait(at("panels", &panel.id, "beta_pct_k"));
            }
        }
        out.take(&UNLIKE, path, unlike(w, i, array));
        let Some(k) = controller else {
            if array.controller.known().is_none() && array.strings.panels() > 0 {
                out.take(&COLD_VOC, path, Err(Missing(at("arrays", &array.id, "controller"))));
            }
            continue;
        };
        out.take(&COLD_VOC, path, cold_voc(w, i, array, k));
        out.take(&PWM_HIGH, path, pwm_high(w, array, k));
        hot(w, out, i, array, k);
    }
    for (i, k) in w.context.plan.controllers.iter().enumerate().filter(|(_, k)| k.state.stays()) {
        let path = || FieldPath::of(&["controllers", k.id.as_str()]);
        if w.context.circuit.arrays_of(i).next().is_some() {
            out.take(&ISC_OVER, path, isc_over(w, i, k));
            out.take(&UNLIKE, path, unlike_arrays(w, i, k));
            super::string_fuses::all(w, out, i, k);
        }
    }
}

fn figure(w: &Work<'_>, i: usize, of: fn(&crate::engine::report::ArrayFigures) -> Figure<f64>) -> Figure<f64> {
    w.report.arrays.get(i).map_or_else(|| Err(Missing("".into())), of)
}

fn cold_voc(w: &Work<'_>, i: usize, array: &Array, k: &Controller) -> Outcome {
    let limit = need(&k.max_pv_v, "controllers", &k.id, "max_pv_v")?.0;
    let voc = figure(w, i, |a| a.voc_cold_v.clone().map(|v| v.0))?;
    let coldest = w.weather.coldest_c.clone()?;
    let pct = voc / limit.max(1e-9) * 100.0;
    let level = if pct > w.context.rules.voc_stop_pct {
        Level::Stop
    } else if pct >= w.context.rules.voc_caution_pct {
        Level::Caution
    } else {
        return Ok(None);
    };
    let by_table = w.report.arrays.get(i).is_some_and(|a| a.voc_by_table);
    let source = if by_table { &NEC_690_7_A } else { PV_VOLTS.of(w.context.rules.basis) };
    let mut numbers = vec![voc, limit, coldest, pct];
    // The table has steps, not a temperature that could be solved for.
    numbers.extend(arrays::reaches_at_c(w.context.plan, array, limit).filter(|_| !by_table));
    Ok(Some(Finding::new(&COLD_VOC, level, path_of(array), &numbers, source).named([array.id.as_str(), k.id.as_str()])))
}

fn shock(w: &Work<'_>, i: usize, array: &Array) -> Outcome {
    let voc = figure(w, i, |a| a.voc_cold_v.clone().map(|v| v.0))?;
    let over = voc > w.context.rules.shock_v;
    Ok(over.then(|| {
        let numbers = [voc, w.context.rules.shock_v];
        Finding::new(&SHOCK_VOLTS, Level::Note, path_of(array), &numbers, SHOCK.of(w.context.rules.basis))
            .named([&array.id])
    }))
}

fn pwm_high(w: &Work<'_>, array: &Array, k: &Controller) -> Outcome {
    if tracking(&k.kind) == Some(true) {
        return Ok(None);
    }
    k.kind.at(|| at("controllers", &k.id, "kind"))?;
    let vmp = arrays::string_vmp_v(w.context.plan, array)?;
    let absorb = need(&k.absorb_v, "controllers", &k.id, "absorb_v")?.0;
    Ok((vmp > w.context.rules.pwm_far_above * absorb).then(|| {
        let numbers = [vmp, absorb, w.context.rules.pwm_far_above];
        Finding::new(&PWM_HIGH, Level::Caution, path_of(array), &numbers, &COMMON_PRACTICE).named([&array.id, &k.id])
    }))
}

/// A margin over a base. A headroom nobody has given matters only where it could change the answer: the base is then
/// named, and from which headroom on it falls short. What falls short without any fails on its own number.
fn margin(w: &Work<'_>, arrives: f64, base: f64, headroom: Option<f64>) -> Option<[f64; 3]> {
    let scan = w.context.rules.headroom_scan_v;
    match headroom {
        Some(headroom) => (arrives < base + headroom).then_some([arrives, base + headroom, 0.0]),
        None if arrives < base => Some([arrives, base, 0.0]),
        None => (arrives < base + scan).then_some([arrives, base, scan]),
    }
}

/// Run and start margins of hot strings.
fn hot(w: &Work<'_>, out: &mut Gathered, i: usize, array: &Array, k: &Controller) {
    let path = || path_of(array);
    if tracking(&k.kind) == Some(true) {
        for (known, field) in
            [(k.run_headroom_v.known(), "run_headroom_v"), (k.start_headroom_v.known(), "start_headroom_v")]
        {
            if known.is_none() {
                out.wait(at("controllers", &k.id, field));
            }
        }
        out.take(&START_VOLTS, path, start(w, i, array, k));
    }
    out.take(&HOT_VMP, path, hot_vmp(w, i, array, k));
}

fn start(w: &Work<'_>, i: usize, array: &Array, k: &Controller) -> Outcome {
    let open = figure(w, i, |a| a.voc_start_v.clone().map(|v| v.0))?;
    let headroom = k.start_headroom_v.known().map(|v| v.0);
    Ok(margin(w, open, w.context.low_v()?, headroom).map(|numbers| {
        Finding::new(&START_VOLTS, Level::Caution, path_of(array), &numbers, &COMMON_PRACTICE)
            .smaller_is_worse()
            .named([&array.id, &k.id])
    }))
}

/// Hot volts at the controller against absorption and its headroom, with what the year loses by it.
pub(super) fn hot_vmp(w: &Work<'_>, i: usize, array: &Array, k: &Controller) -> Outcome {
    let Some(tracks) = tracking(&k.kind) else {
        return Err(Missing(at("controllers", &k.id, "kind")));
    };
    let way = w.context.circuit.ways.iter().position(|x| x.kind == PathKind::Array && x.end == Node::Array(i));
    let drop = way.and_then(|x| w.drops.get(x)).map_or(Ok(0.0), |d| d.drop_v.clone())?;
    let arrives = figure(w, i, |a| a.vmp_hot_v.clone().map(|v| v.0))? - drop;
    let absorb = need(&k.absorb_v, "controllers", &k.id, "absorb_v")?.0;
    let headroom = if tracks { k.run_headroom_v.known().map(|v| v.0) } else { Some(w.context.rules.pwm_margin_v) };
    let joins = || format!(", {:.1} V of it a margin (rule pwm-margin-v)", w.context.rules.pwm_margin_v);
    let margin_of = if tracks { String::new() } else { joins() };
    // The loss is the controller's: its first array names it.
    let circuit = &w.context.circuit;
    let first = circuit.feeds.get(i).copied().flatten().and_then(|k| circuit.arrays_of(k).next()) == Some(i);
    let year = w.report.controllers.iter().find(|x| first && x.id == k.id);
    let lost_wh = year.and_then(|x| x.low_volts_kwh.clone().ok()).unwrap_or(0.0) * 1000.0;
    Ok(margin(w, arrives, absorb, headroom).map(|[arrives, needs, scan]| {
        let mut numbers = vec![arrives, needs, scan, lost_wh];
        let least = || way.and_then(|x| least_way_v(w, w.context.circuit.ways.get(x)?)).unwrap_or(0.0);
        let unmended = (scan <= 0.0).then(least).filter(|least| arrives + drop - least < needs);
        numbers.extend(unmended.into_iter().flat_map(|least| [drop, least]));
        let longer = longer_string(w, i, array, k, needs + drop);
        let open = if longer.is_err() { "unknown" } else { "" };
        let when = w.report.year.lived.when();
        if let (true, Ok(Some(over))) = (unmended.is_some(), longer) {
            numbers.extend(over);
        }
        Finding::new(&HOT_VMP, Level::Caution, path_of(array), &numbers, &COMMON_PRACTICE).smaller_is_worse().named([
            array.id.as_str(),
            k.id.as_str(),
            margin_of.as_str(),
            open,
            when.as_str(),
        ])
    }))
}

/// The shortest string whose hot volts reach so many, its open volts when cold and what the controller takes; none where
/// the controller takes them.
fn longer_string(w: &Work<'_>, i: usize, array: &Array, k: &Controller, wanted: f64) -> Figure<Option<[f64; 3]>> {
    let limit = need(&k.max_pv_v, "controllers", &k.id, "max_pv_v")?.0;
    let now = array.strings.series().max(1) as f64;
    let hot_each = figure(w, i, |a| a.vmp_hot_v.clone().map(|v| v.0))? / now;
    let cold_each = figure(w, i, |a| a.voc_cold_v.clone().map(|v| v.0))? / now;
    let series = (wanted / hot_each.max(1e-9) - 1e-9).ceil().max(now + 1.0);
    let open = cold_each * series;
    Ok((open / limit.max(1e-9) * 100.0 > w.context.rules.voc_stop_pct).then_some([series, open, limit]))
}

fn isc_over(w: &Work<'_>, i: usize, k: &Controller) -> Outcome {
    let most = need(&k.max_pv_a, "controllers", &k.id, "max_pv_a")?.0;
    let isc = crate::engine::currents::array_isc_a(w.context, i)?;
    Ok((isc > most).then(|| {
        let path = FieldPath::of(&["controllers", k.id.as_str()]);
        Finding::new(&ISC_OVER, Level::Caution, path, &[isc, most], &crate::plan::sources::SHEET).named([&k.id])
    }))
}

/// What an array's unlike panels cost a mean day; zero where the year is not known.
fn unlike_wh(w: &Work<'_>, i: usize) -> f64 {
    w.report.arrays.get(i).and_then(|a| a.unlike_wh_day.clone().ok()).map_or(0.0, |wh| wh.0)
}

/// Largest and smallest volts of a set of strings at maximum power, as one goes through them.
fn span(vmp: (f64, f64), v: f64) -> (f64, f64) {
    (vmp.0.max(v), vmp.1.min(v))
}

fn apart_pct((most, least): (f64, f64)) -> f64 {
    if most > least { (most - least) / most.max(1e-9) * 100.0 } else { 0.0 }
}

/// Panels that are not like one another in one array.
pub(super) fn unlike(w: &Work<'_>, i: usize, array: &Array) -> Outcome {
    if array.strings.alike().is_some() {
        return Ok(None);
    }
    let (mut worst, mut vmp) = ((0.0, "a string", "Imp"), (0.0_f64, f64::MAX));
    for string in &array.strings.0 {
        let sums = arrays::string_sums(w.context.plan, array, string)?;
        let pct = apart_pct(sums.imp_span);
        if pct > worst.0 {
            worst = (pct, "a string", "Imp");
        }
        vmp = span(vmp, sums.vmp_v);
    }
    let pct = apart_pct(vmp);
    if array.strings.0.len() > 1 && pct > worst.0 {
        worst = (pct, "parallel strings", "Vmp");
    }
    Ok((worst.0 > w.context.rules.unlike_pct).then(|| {
        Finding::new(
            &UNLIKE,
            Level::Caution,
            path_of(array),
            &[worst.0, unlike_wh(w, i), w.context.rules.unlike_pct],
            &COMMON_PRACTICE,
        )
        .named([array.id.as_str(), worst.1, worst.2])
    }))
}

/// Strings of several arrays in parallel on one controller, where none of the arrays is unlike in itself.
pub(super) fn unlike_arrays(w: &Work<'_>, k: usize, controller: &Controller) -> Outcome {
    let (mut all, mut alone) = ((0.0_f64, f64::MAX), 0.0_f64);
    let mut cost_wh = 0.0;
    let mut count = 0;
    for i in w.context.circuit.arrays_of(k) {
        let Some(array) = w.context.plan.arrays.get(i) else { continue };
        let mut own = (0.0_f64, f64::MAX);
        for string in &array.strings.0 {
            let vmp_v = arrays::string_sums(w.context.plan, array, string)?.vmp_v;
            (own, all) = (span(own, vmp_v), span(all, vmp_v));
        }
        alone = alone.max(apart_pct(own));
        cost_wh += unlike_wh(w, i);
        count += 1;
    }
    let (pct, limit) = (apart_pct(all), w.context.rules.unlike_pct);
    Ok((count > 1 && pct > limit && alone <= limit).then(|| {
        let path = FieldPath::of(&["controllers", controller.id.as_str()]);
        Finding::new(&UNLIKE, Level::Caution, path, &[pct, cost_wh, limit], &COMMON_PRACTICE).named([
            controller.id.as_str(),
            "parallel strings of its arrays",
            "Vmp",
        ])
    }))
}
