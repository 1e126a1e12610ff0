//! Volts and currents of panels.

use super::{Explain, n};
use crate::engine::arrays::{Coldest, string_sums, string_vmp_v, voc_cold};
use crate::engine::currents::array_isc_a;
use crate::plan::Array;
use crate::standards::cold::voc_factor;

pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    match e.finding.check.id {
        "cold-voc-over-limit" | "shock-volts" => cold_voc(e),
        "hot-vmp-low" => hot_vmp(e),
        "start-volts-low" => start(e),
        "pwm-panel-volts-high" => pwm(e),
        "isc-over-input" => isc(e),
        "string-fuse-missing" => string_fuses(e),
        "string-fuse-rating" => string_rating(e),
        "label-power-apart" | "label-cells-unlikely" | "label-power-over-area" => label(e),
        "label-beta-not-met" | "label-gamma-not-used" => coefficient(e),
        _ => None,
    }
}

/// Source: P = V I; volts in series add.
fn label(e: &mut Explain<'_>) -> Option<()> {
    let id = e.item("panels")?;
    let p = e.c.plan.panels.iter().find(|p| p.id.as_str() == id)?;
    let (first, second) = (e.finding.n(0), e.finding.n(1));
    match e.finding.check.id {
        "label-power-apart" => {
            let (vmp, imp) = (p.vmp_v.known()?.0, p.imp_a.known()?.0);
            e.say(format!("Vmp {} V x Imp {} A = {} W; Pmax on the label {} W", n(vmp), n(imp), n(second), n(first)));
        }
        "label-cells-unlikely" => {
            let voc = p.voc_v.known()?.0;
            e.say(format!("Voc {} V / {} cells in series = {} V a cell", n(voc), n(second), n(first)));
        }
        _ => {
            let (length, width, pmax) = (p.length_m.known()?.0, p.width_m.known()?.0, p.pmax_w.known()?.0);
            let size = format!("{} W / ({} m x {} m)", n(pmax), n(length), n(width));
            e.say(format!("{size} = {} W/m2; the most taken for possible {} W/m2", n(first), n(second)));
        }
    }
    Some(())
}

/// Source: De Soto, Klein & Beckman 2006, the curve of the label's points at 25 C and at 50 C.
fn coefficient(e: &mut Explain<'_>) -> Option<()> {
    let (own, curve, more) = (e.finding.n(0), e.finding.n(1), e.finding.n(2));
    let what = if e.finding.check.id == "label-beta-not-met" { "volts without load" } else { "power" };
    e.say("one curve through Vmp, Imp, Voc and Isc of the label, alpha and the nearest to beta that such a curve has");
    e.say(format!("its {what} from 25 C to 50 C: {curve:.3} %/K; by the label {own:.3} %/K"));
    e.say(format!(
        "{own:.2} %/K and {curve:.2} %/K are {:.2} apart; over 40 K that is {:.1} %",
        (curve - own).abs(),
        more.abs()
    ));
    Some(())
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
    let Coldest { place, volts, .. } = voc_cold(plan, array, coldest).ok()?;
    let below = 25.0 - coldest;
    if plan.job.coldest_c.is_none() {
        let margin = n(e.rule("cold-margin-k"));
        e.say(format!(
            "of every place all twelve months, lived in or not, since it may be stored there and a stay may have only a part of a month: the mean extreme minimum of the climate's \
             years less {margin} K, colder by as much as the coldest whole month of own means is"
        ));
    }
    e.say(format!("coldest air {coldest:.1} C, {} K below the 25 C of the labels", n(below)));
    let string = array.strings.0.get(place)?;
    let unlike = array.strings.0.iter().any(|other| other != string);
    let mut parts = Vec::new();
    for same in string.chunk_by(|a, b| a == b) {
        let panel = plan.panels.iter().find(|p| Some(&p.id) == same.first())?;
        let by = match panel.beta_pct_k.known() {
            Some(beta) => format!("(1 + {} /K x {} K)", n(-beta.0 / 100.0), n(below)),
            None => format!("{} by the table", n(voc_factor(coldest)?)),
        };
        parts.push(format!("{} in series x Voc {} V x {by}", same.len(), n(panel.voc_v.known()?.0)));
    }
    let which = if unlike { format!("string {} stands highest: ", place + 1) } else { String::new() };
    e.say(format!("{which}{} = {} V", parts.join(" + "), n(volts)));
    Some(())
}

fn hot_vmp(e: &mut Explain<'_>) -> Option<()> {
    let (i, array) = array(e)?;
    let hot = e.report.arrays.get(i)?.vmp_hot_v.as_ref().ok()?.0;
    let (arrives, needs) = (e.finding.n(0), e.finding.n(1));
    let stc = string_vmp_v(e.c.plan, array).ok()?;
    e.say(format!("string at maximum power: {} V at 25 C, {} V in the hottest month lived in", n(stc), n(hot)));
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
