//! Findings that compare one figure with one that is entered or allowed.

use super::{Explain, n};
use crate::engine::converted::Shares;
use crate::engine::dc_lines::{Shared, ahead, dc_line};
use crate::engine::loads::own_inverter;
use crate::engine::parts::FEET_A_TUBE;
use crate::plan::wiring::Supply;

pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    let (first, second) = (e.finding.n(0), e.finding.n(1));
    match e.finding.check.id {
        "device-volts-low" | "fuse-volts-low" => {
            let circuit = e.finding.numbers.get(1).copied()?;
            e.say(format!("made for {} V DC, as its sheet or rating says", n(first)));
            let most = e.c.chemistry().ok()?.charge_most_v;
            let twelves = e.c.by_cells().ok()?;
            e.say(format!(
                "its circuit reaches {} V: on a battery's side {} V for 12 V x {}, on the panels' the cold Voc of the string",
                n(circuit),
                n(most),
                n(twelves)
            ));
        }
        "device-below-current" => {
            let run = e.finding.name(1).to_string();
            let found = e.report.runs.iter().find(|r| r.id.as_str() == run);
            let how = found.map_or("", |r| r.design_how);
            e.say(format!("{run} brings {} A ({how})", n(first)));
        }
        "battery-own-fuse" => {
            e.say(format!(
                "{} in parallel: at one's own fuse the larger of its own fault and that of all others",
                n(second)
            ));
            let (fault, margin) = (e.finding.n(2), e.finding.n(3));
            e.say(format!("{} kA x {} = {} kA", n(fault / 1000.0), n(margin), n(first / 1000.0)));
        }
        "breakaway-on-cut-off" => {
            let each = e.c.plan.bank.discharge_cutoff_v.as_ref()?.known()?.0;
            let series = e.c.series().ok()?;
            e.say(format!(
                "the bank cuts itself off at {} V x {} in series = {} V",
                n(each),
                n(series),
                n(each * series)
            ));
        }
        "inverter-without-run" | "loads-over-inverter" => loads(e),
        "inverter-of-load-unknown" => {
            for inv in e.c.plan.inverters.iter().filter(|i| i.state.stays()) {
                if let Some(pct) = inv.efficiency_pct.known() {
                    e.say(format!("{} makes {} % of what it takes", inv.id, n(pct.0)));
                }
            }
            e.say("a run from an inverter to a load tells which one carries it".to_string());
        }
        "bank-age-not-counted" => {
            e.say(format!("{} years old, as entered; its Ah count as they are entered", n(first)))
        }
        "inverter-cut-off-left-out" => e.say(format!("it turns off at {} V, as entered", n(first))),
        "parallel-too-thin" => {
            let least = e.c.rules.parallel_least_mm2;
            e.say(format!("one conductor {} mm2 of copper, {} mm2 at least to share current", n(first), n(least)));
        }
        "place-string-not-there" => {
            let (place, panels) = (e.finding.n(2), e.finding.n(3));
            e.say(match place > 0.0 {
                true => format!("place {} of string {}, panels in that: {}", n(place), n(first), n(panels)),
                false => format!("a place for string {}, strings on the array: {}", n(first), n(second)),
            });
        }
        "panel-in-shadow" => {
            e.say(format!("of it while the rest of its string stands lit: {second:.0} %"));
            let taken = e.finding.n(2);
            e.say(format!(
                "shaded in {first:.0} % of the month's direct sun, the coach facing each way in turn; all arrays at their best \
                 without any shadow, less the same with every one: {taken:.0} Wh a day"
            ));
        }
        _ => return drawn(e),
    }
    Some(())
}

fn drawn(e: &mut Explain<'_>) -> Option<()> {
    let (first, second) = (e.finding.n(0), e.finding.n(1));
    match e.finding.check.id {
        "converter-over-limit" => {
            let id = e.item("devices")?;
            let rated = e.c.plan.devices.iter().find(|d| d.id.as_str() == id)?.ratings.amps_a.as_ref()?.known()?.0;
            e.say(format!("it gives {} A; its loads that run at once take {} A", n(rated), n(first.max(second))));
        }
        "source-behind-converter" => {
            e.say(format!("it gives {} A at 12 V, whatever the bank's {} V do", n(first), n(second)));
        }
        "unlike-panels" => {
            let (what, of) = (e.finding.name(1).to_string(), e.finding.name(2).to_string());
            e.say(format!("{of} of {what}: (largest - smallest) / largest = {} %", n(first)));
        }
        "shunt-bypass" if !e.finding.numbers.is_empty() => {
            e.say(format!("its life safety draws {} W on the mean x 24 h = {} Wh a day", n(second), n(first)));
        }
        "small-parts-not-priced" => {
            let f = e.finding;
            let [lugs, open, glands, tubes, fuses] = [0, 1, 2, 3, 4].map(|i| n(f.n(i)));
            e.say(format!(
                "new wire has {lugs} ends on studs of known size and {open} on others; {tubes} tubes: one for each {} mounting feet, \
                 {glands} for where cables come in; {fuses} fuses by type and rating, one of each to spare",
                n(FEET_A_TUBE)
            ));
        }
        "auto-reset-breaker" => e.say(format!("rated {} A, and made to close by itself", n(first))),
        "dc-dc-drops-out" => {
            let (volts, amps) = (e.finding.n(0), e.finding.n(1));
            over_lead(e);
            let law = match e.finding.name(1) {
                "" => "V x V - V E + P R = 0".to_string(),
                others => {
                    e.say(format!(
                        "{others} draws on the same line: what each draws lowers the volts of all that share it"
                    ));
                    "V x V - V (E - the others' drop) + P R = 0 for each, all at once".into()
                }
            };
            if volts > 0.0 {
                let (watts, stops, ohm) = (volts * amps, e.finding.n(2), n(e.finding.n(3)));
                e.say(format!(
                    "its line has {ohm} ohm at {} C, or as warm as what flows makes it, no hotter than its insulation is made \
                     for; a run's own row has it as warm as its own current makes it",
                    n(e.finding.n(4))
                ));
                e.say(format!("it draws {} W at its input, whatever the volts there", n(watts)));
                let root = format!("{} V at {} A; it stops below {} V", n(volts), n(amps), n(stops));
                e.say(format!("{law}, upper root: {root}"));
            } else {
                let (watts, most_w, ohm) = (n(e.finding.n(1)), n(e.finding.n(2)), n(e.finding.n(3)));
                e.say(format!("{law} has no real root at {ohm} ohm: {watts} W asked, {most_w} W at most"));
            }
        }
        _ => return None,
    }
    Some(())
}

/// What lies between the alternator and the beginning of a charger's own line.
fn over_lead(e: &mut Explain<'_>) {
    let charger = e.c.plan.chargers.iter().position(|x| x.id.as_str() == e.finding.name(0));
    let Some((runs @ [_, ..], index)) = charger.map(|i| (ahead(e.c, i), i)) else { return };
    let ids: Vec<&str> = runs.iter().filter_map(|i| e.c.plan.runs.get(*i)).map(|r| r.id.as_str()).collect();
    let (ids, Ok(line), Ok(shared)) = (ids.join(" and "), dc_line(e.c, index), Shared::of(e.c, index)) else { return };
    let own = shared.ohm_in(runs);
    let (volts, whole) = (n(line.source_v), n(line.ohm));
    e.say(format!(
        "E is the alternator's low {volts} V at its own terminals; R is its whole line of {whole} ohm, {ids} ahead of it with {} among it",
        n(own)
    ));
}

fn loads(e: &mut Explain<'_>) {
    let (c, shares) = (e.c, Shares::of(e.c));
    let id = e.item("inverters").unwrap_or_default().to_string();
    let own = c.plan.inverters.iter().position(|i| i.id.as_str() == id);
    let first = c.plan.inverters.iter().position(|i| i.state.stays());
    // Its own, and those that no run leads to.
    let counts = |load: usize| match own_inverter(c, &shares, load) {
        Ok(Some(by)) => Some(by) == own,
        _ => own == first,
    };
    let all = c.plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays() && l.supply != Supply::Dc);
    let each = all.filter(|(i, _)| counts(*i)).filter_map(|(_, l)| {
        let (watts, quantity) = (l.watts_w.known()?.0, l.quantity.known()?.0);
        Some(format!("{} {} W x {}", l.id, n(watts), n(quantity)))
    });
    let said: Vec<String> = each.collect();
    e.say(format!("loads through an inverter: {}", said.join(", ")));
    for inv in c.plan.inverters.iter().filter(|i| i.state.stays()) {
        if let Some(watts) = inv.watts_w.known() {
            e.say(format!("{} is rated {} W", inv.id, n(watts.0)));
        }
    }
    if e.is("inverter-without-run") {
        let all = e.finding.n(0);
        e.say(format!("together {} W", n(all)));
    }
}
