//! The coldest air as entered, against what the stays' own climate has: said where an answer changes by it.

use crate::engine::Work;
use crate::engine::arrays::voc_cold;
use crate::engine::capacity::ratings;
use crate::engine::circuit::{Link, Node, Role};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::protection::fuse_volts;
use crate::engine::resistance::fuses;
use crate::engine::sites::coldest_stay;
use crate::plan::{FieldPath, Known};
use crate::standards::source::{Source, Standing};

use super::{cold, digits};

static BY_CLIMATE: Source =
    Source::new("ERA5, 2016-2025", "extreme minimum of the place, less rule cold-margin-k", Standing::Computed);

/// An entered coldest so little above the stays' is the same, K. Source: our own choice; whole degrees are entered.
const SAME_K: f64 = 0.5;

static ABOVE_STAYS: Check = Check {
    id: "coldest-above-stays",
    safety: true,
    say: |f| {
        let (entered, stays_c) = digits::apart(f.n(0), f.n(1), 0);
        let stay = f.name(0);
        let mut said = format!(
            "coldest air is entered as {entered} C; {stay} goes down to {stays_c} C by its climate with the margin"
        );
        if let (Some(voc), Some(limit)) = (f.numbers.get(2), f.numbers.get(3)) {
            let pct = digits::apart(voc / limit.max(1e-9) * 100.0, 100.0, 0).0;
            let (voc, limit) = (digits::apart(*voc, *limit, 1).0, digits::rated(*limit));
            said +=
                &format!(", where {} stands at {voc} V open and {} takes {limit} V ({pct} %)", f.name(1), f.name(2));
        }
        match f.name(3) {
            "" => {}
            batteries => {
                said += &format!(", where nothing would keep charge from {batteries}, of lithium, too cold for it")
            }
        }
        said + "; what is entered counts. Left out, the stays' counts"
    },
};

/// Something whose rating cold volts are held to, and what they come to in the stays' own cold.
struct Over {
    array: String,
    by: String,
    volts: f64,
    limit: f64,
    level: Level,
}

/// What is entered as the coldest air, against the climate of the stays. What is entered counts; where a rating that holds there
/// would be exceeded in the stays' own cold, or lithium charged that is too cold for it, that is as grave as if it were found.
/// Where no answer changes there is nothing to say.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let Some(entered) = plan.job.coldest_c.as_ref().and_then(Known::known) else { return };
    let at = || FieldPath::new("job.coldest_c");
    let (coldest, waits) = coldest_stay(plan, w.spots, w.context.rules.cold_margin_k);
    if let Some(waits) = waits {
        out.wait(waits.0);
    }
    let Some((stays_c, stay)) = coldest.filter(|(c, _)| entered.0 > c + SAME_K) else { return };
    let Some(stay) = plan.stays.get(stay) else { return };
    let over = most_over(w, entered.0, stays_c);
    let charged = cold::charged_at(w, stays_c);
    let levels = over.iter().map(|o| o.level).chain(charged.iter().map(|(_, level)| *level));
    let Some(level) = levels.min() else { return };
    let mut numbers = vec![entered.0, stays_c];
    let batteries: Vec<&str> = charged.iter().map(|(name, _)| name.as_str()).collect();
    let mut names = [stay.id.to_string(), String::new(), String::new(), batteries.join(" and ")];
    if let Some(over) = over {
        numbers.extend([over.volts, over.limit]);
        (names[1], names[2]) = (over.array, over.by);
    }
    let found = Finding::new(&ABOVE_STAYS, level, at(), &numbers, &BY_CLIMATE);
    out.take(&ABOVE_STAYS, at, Ok(Some(found.named(names))));
}

/// The rating that cold volts are most over, or nearest to, in the stays' cold and not yet at what is entered.
fn most_over(w: &Work<'_>, entered_c: f64, stays_c: f64) -> Option<Over> {
    let worst = |a: Over, b: Over| if b.volts / b.limit > a.volts / a.limit { b } else { a };
    controllers(w, entered_c, stays_c).into_iter().chain(on_home_runs(w, entered_c, stays_c)).reduce(worst)
}

/// Volts of an array's strings open in such cold.
fn voc_v(w: &Work<'_>, array: usize, c: f64) -> Option<f64> {
    let plan = w.context.plan;
    let array = plan.arrays.get(array).filter(|a| a.state.stays())?;
    voc_cold(plan, array, c).ok().map(|cold| cold.volts)
}

fn controllers(w: &Work<'_>, entered_c: f64, stays_c: f64) -> Vec<Over> {
    let plan = w.context.plan;
    let (stop_pct, caution_pct) = (w.context.rules.voc_stop_pct, w.context.rules.voc_caution_pct);
    let level = |pct: f64| match pct {
        _ if pct > stop_pct => Some(Level::Stop),
        _ if pct >= caution_pct => Some(Level::Caution),
        _ => None,
    };
    let of = |(i, array): (usize, &crate::plan::Array)| {
        let controller = plan.controllers.get(w.context.circuit.feeds.get(i).copied().flatten()?)?;
        let limit = controller.max_pv_v.known()?.0;
        let pct = |c: f64| Some(voc_v(w, i, c)? / limit.max(1e-9) * 100.0);
        let (here, there) = (level(pct(entered_c)?), level(pct(stays_c)?)?);
        let volts = voc_v(w, i, stays_c)?;
        // The graver level is the lesser one.
        here.is_none_or(|here| there < here).then(|| Over {
            array: array.id.to_string(),
            by: controller.id.to_string(),
            volts,
            limit,
            level: there,
        })
    };
    plan.arrays.iter().enumerate().filter_map(of).collect()
}

/// Fuses and devices on the panels' side: what is made for fewer volts than its circuit reaches is a stop.
fn on_home_runs(w: &Work<'_>, entered_c: f64, stays_c: f64) -> Vec<Over> {
    let plan = w.context.plan;
    let mut all = Vec::new();
    let links = w.context.circuit.links.iter().zip(&plan.runs);
    for (link, run) in links.filter(|(l, _)| l.role == Role::Array) {
        let most = |c: f64| highest(w, link, c);
        let (Some((_, here)), Some((array, volts))) = (most(entered_c), most(stays_c)) else { continue };
        let array = plan.arrays.get(array).map_or_else(String::new, |a| a.id.to_string());
        let mut take = |by: String, limit: f64| {
            if limit >= here && limit < volts {
                all.push(Over { array: array.clone(), by, volts, limit, level: Level::Stop });
            }
        };
        for fuse in fuses(run) {
            if let Ok(rated) = fuse_volts(run, fuse) {
                take(format!("{} {}", run.id, fuse.id), rated);
            }
        }
        for node in [link.from, link.to].into_iter().flatten() {
            if let (Node::Device(i), Some((r, _))) = (node, ratings(w.context, node))
                && let (Some(rated), Some(device)) = (r.volts_dc_v.as_ref().and_then(Known::known), plan.devices.get(i))
            {
                take(device.id.to_string(), rated.0);
            }
        }
    }
    all
}

/// The array behind a run that stands highest in such cold, and its volts.
fn highest(w: &Work<'_>, link: &Link, c: f64) -> Option<(usize, f64)> {
    let of = |n: &Node| match n {
        Node::Array(i) => Some((*i, voc_v(w, *i, c)?)),
        _ => None,
    };
    link.away.iter().filter_map(of).max_by(|a, b| a.1.total_cmp(&b.1))
}
