//! Volts and currents of panels.

use super::{Explain, n};
use crate::engine::arrays::{string_sums, string_vmp_v, voc_cold};
use crate::engine::currents::array_isc_a;
use crate::plan::Array;

pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    match e.finding.check.id {
        "cold-voc-over-limit" | "shock-volts" => cold_voc(e),
        "hot-vmp-low" => hot_vmp(e),
        "start-volts-low" => start(e),
        "pwm-panel-volts-high" => pwm(e),
        "isc-over-input" => isc(e),
        "string-fuse-missing" => string_fuses(e),
        "string-fuse-rating" => string_rating(e),
        _ => None,
    }
}

fn array<'a>(e: &Explain<'a>) -> Option<(usize, &'a Array)> {
    let id = e.item("arrays")?;
    e.c.plan.arrays.iter().enumerate().find(|(_, a)| a.id.as_str() == id)
}

/// Source: NEC 690.7(A), the label's coefficient or the table's factor.
fn cold_voc(e: &mut Explain<'_>) -> Option<()> {
    let (_, array) = array(e)?;
    let plan = e.c.plan;
    let coldest = e.coldest_c.clone().ok()?;
    let (volts, by_table) = voc_cold(plan, array, coldest).ok()?;
    let below = 25.0 - coldest;
    e.say(format!("coldest air {coldest:.1} C, {} K below the 25 C of the labels", n(below)));
    let string = array.strings.0.iter().max_by_key(|s| s.len())?;
    let of = |id: &crate::plan::Id| plan.panels.iter().find(|p| p.id == *id);
    let panel = of(string.first()?)?;
    match (by_table, array.strings.alike(), panel.beta_pct_k.known()) {
        (false, Some(_), Some(beta)) => e.say(format!(
            "{} in series x Voc {} V x (1 + {} /K x {} K) = {} V",
            string.len(),
            n(panel.voc_v.known()?.0),
            n(-beta.0 / 100.0),
            n(below),
            n(volts)
        )),
        (true, ..) => {
            let voc: f64 = string.iter().filter_map(of).filter_map(|p| p.voc_v.known()).map(|v| v.0).sum();
            e.say(format!("{} V of the string at 25 C x {} by the table = {} V", n(voc), n(volts / voc), n(volts)));
        }
        _ => e.say(format!("each panel's Voc x (1 - its coefficient x {} K), summed: {} V", n(below), n(volts))),
    }
    Some(())
}

fn hot_vmp(e: &mut Explain<'_>) -> Option<()> {
    let (i, array) = array(e)?;
    let hot = e.report.arrays.get(i)?.vmp_hot_v.as_ref().ok()?.0;
    let (arrives, needs) = (e.finding.n(0), e.finding.n(1));
    let stc = string_vmp_v(e.c.plan, array).ok()?;
    e.say(format!("string at maximum power: {} V at 25 C, {} V in the hottest month", n(stc), n(hot)));
    e.say(format!("less {} V on the way = {} V at the controller", n(hot - arrives), n(arrives)));
    e.say(format!("wanted there: {} V, absorption with its margin", n(needs + e.finding.n(2))));
    Some(())
}

fn start(e: &mut Explain<'_>) -> Option<()> {
    let (i, _) = array(e)?;
    let open = e.report.arrays.get(i)?.voc_start_v.as_ref().ok()?.0;
    e.say(format!("open volts of the hot string at {} W/m2: {} V", n(e.c.rules.start_sun), n(open)));
    let (base, scan) = (e.finding.n(1), e.finding.n(2));
    let with = if scan > 0.0 {
        format!(" + a start headroom of up to {} V, which is not known", n(scan))
    } else {
        String::new()
    };
    e.say(format!("wanted: {} V ({} V bank when low, and its headroom){with}", n(base), n(e.c.low_v().ok()?)));
    Some(())
}

fn pwm(e: &mut Explain<'_>) -> Option<()> {
    let (_, array) = array(e)?;
    let vmp = string_vmp_v(e.c.plan, array).ok()?;
    let (absorb, factor) = (e.finding.n(1), e.c.rules.pwm_far_above);
    e.say(format!(
        "string Vmp {} V against {} V absorption x {} = {} V",
        n(vmp),
        n(absorb),
        n(factor),
        n(absorb * factor)
    ));
    e.say("a PWM controller holds the panels at the bank's volts: what is above is lost");
    Some(())
}

fn isc(e: &mut Explain<'_>) -> Option<()> {
    let id = e.item("controllers")?;
    let i = e.c.plan.controllers.iter().position(|k| k.id.as_str() == id)?;
    let mut parts = Vec::new();
    for array in e.c.circuit.arrays_of(i).filter_map(|a| e.c.plan.arrays.get(a)) {
        for string in &array.strings.0 {
            parts.push(n(string_sums(e.c.plan, array, string).ok()?.isc_a));
        }
    }
    e.say(format!("Isc of its strings: {} = {} A", parts.join(" + "), n(array_isc_a(e.c, i).ok()?)));
    Some(())
}

fn string_fuses(e: &mut Explain<'_>) -> Option<()> {
    let id = e.item("controllers")?;
    let i = e.c.plan.controllers.iter().position(|k| k.id.as_str() == id)?;
    let mut all = Vec::new();
    for array in e.c.circuit.arrays_of(i).filter_map(|a| e.c.plan.arrays.get(a)) {
        for string in &array.strings.0 {
            all.push(string_sums(e.c.plan, array, string).ok()?.isc_a);
        }
    }
    let (total, factor) = (all.iter().sum::<f64>(), e.c.rules.array_current_factor);
    let own = e.finding.n(2) / e.c.rules.string_fuse_factor;
    let into = if e.finding.name(1).is_empty() { "the smallest" } else { e.finding.name(1) };
    e.say(format!(
        "{} strings, Isc {} A together; the others into {into}: ({} - {}) x {} = {} A",
        all.len(),
        n(total),
        n(total),
        n(own),
        n(factor),
        n((total - own) * factor)
    ));
    e.say("a string stands the lesser of its panels' maximum series fuse and its lead");
    Some(())
}

fn string_rating(e: &mut Explain<'_>) -> Option<()> {
    let (has, least, most) = (e.finding.n(0), e.finding.n(1), e.finding.n(2));
    let factor = e.c.rules.string_fuse_factor;
    e.say(format!("at least {} x Isc {} A = {} A", n(factor), n(least / factor), n(least)));
    e.say(format!("at most {} A, the panels' maximum series fuse; there is {} A", n(most), n(has)));
    Some(())
}
