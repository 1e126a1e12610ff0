//! The last step of a working: the finding's own number against what it is held to, both as the finding has them.

use super::{Explain, n};
use crate::engine::arrays::reaches_at_c;
use crate::words::counted;

/// What a number is, its place among the finding's, its unit; what it is held to, and the place of that.
type Pair = (&'static str, usize, &'static str, &'static str, usize);

/// The pair of a finding that compares two of its numbers.
fn pair(check: &str) -> Option<Pair> {
    Some(match check {
        "start-batteries-unlike-volts" | "vehicle-volts-differ" => ("the one's", 0, "V", "the other's", 1),
        "battery-lead-fed-by-others" => ("ahead", 0, "A", "each carries", 1),
        "battery-link-below-current" | "battery-link-below-fuse" => ("asked", 0, "A", "carried", 1),
        "batteries-unlike-volts" => ("the vehicle's", 0, "V", "the bank's", 1),
        "charge-over-limit" => ("together", 0, "A", "the bank takes", 1),
        "charge-limit-unknown" => ("together", 0, "A", "usual at most", 1),
        "charge-volts-impossible" => ("set to", 0, "V", "for this bank at most", 1),
        "charger-end-unfused" => ("pushed", 0, "A", "its conductor carries", 1),
        "clock-off-longitude" => ("entered", 1, "h", "by its longitude", 2),
        "compensation-none" => ("the bank wants", 0, "V", "it gets", 1),
        "compensation-not-at-bank" => ("the bank wants", 0, "V", "it gets", 1),
        "conductor-below-current" => ("asked", 0, "A", "carried", 1),
        "device-below-current" => ("flows", 0, "A", "rated", 1),
        "device-volts-low" | "fuse-volts-low" => ("made for", 0, "V", "its circuit reaches", 1),
        "discharge-over-limit" => ("drawn", 0, "A", "given", 1),
        "discharge-rate-unknown" => ("drawn", 0, "A", "usual", 1),
        "feeder-fuse-below-branches" => ("rated", 0, "A", "behind it", 1),
        "float-above-absorption" => ("floats at", 0, "V", "absorbs at", 1),
        "fuse-above-conductor" => ("rated", 0, "A", "allowed", 1),
        "fuse-below-design" => ("rated", 0, "A", "wanted", 2),
        "fuse-far-from-source" => ("wire from the source to the fuse", 0, "m", "at most", 1),
        "hot-vmp-low" => ("arrive", 0, "V", "needed", 1),
        "inverter-over-discharge-limit" => ("drawn", 0, "A", "given", 1),
        "inverter-surge-over-peak" => ("drawn", 0, "A", "the packs' peak", 1),
        "isc-over-input" => ("pushed", 0, "A", "its input takes", 1),
        "loads-below-cut-off" => ("its terminals", 0, "V", "its cut-off", 1),
        "measured-below-copper" => ("measured", 0, "mohm", "its copper at 20 C", 1),
        "makers-lead" => ("given", 0, "A", "a new lead of its gauge would carry", 1),
        "next-rating-up" => ("rated", 0, "A", "ampacity", 1),
        "terminals-not-counted" => ("flows", 0, "A", "at the column of its terminals", 1),
        "other-basis-ampacity" => ("flows", 0, "A", "carried by the other basis", 2),
        "device-below-fuse" | "panel-below-fuse" => ("let through", 0, "A", "rated", 1),
        "volts-behind-converter" => ("set to", 0, "V", "made for at most", 1),
        "shock-volts" => ("open", 0, "V", "said above", 1),
        "surge-below-watts" => ("to start", 0, "W", "running", 1),
        "start-over-inverter" => ("asked at the start", 0, "W", "given for a moment", 1),
        "start-volts-low" => ("open", 0, "V", "needed", 1),
        "string-leads-unshared" => ("come down", 0, "strings", "drawn", 1),
        "string-fuse-missing" => ("pushed", 0, "A", "a string stands", 1),
        "string-fuse-wrong-end" => ("pushed", 0, "A", "its lead carries", 1),
        "unlike-panels" => ("apart", 0, "%", "at most", 2),
        _ => return None,
    })
}

pub(super) fn say(e: &mut Explain<'_>) {
    before(e);
    let own = pair(e.finding.check.id).or_else(|| sometimes(e));
    if let Some((what, i, unit, against, j)) = own {
        let (x, y) = (e.finding.n(i), e.finding.n(j));
        let by = match (x - y).abs() {
            apart if apart < 1e-9 => String::new(),
            apart => format!(": {} {unit} {}", n(apart), if x > y { "over" } else { "under" }),
        };
        e.say(format!("{what} {} {unit}, {against} {} {unit}{by}", n(x), n(y)));
    }
    of_lines(e);
    let _ = other(e);
}

/// What reaches a DC-DC charger.
fn of_lines(e: &mut Explain<'_>) {
    let (volts, amps, usual) = (e.finding.n(0), e.finding.n(1), e.finding.n(2));
    if e.is("dc-dc-input-low") {
        e.say(format!("{} V at its input drawing {} A; many stop below {} V", n(volts), n(amps), n(usual)));
    }
    if e.is("dc-dc-input-sags") {
        let (source_v, pct) = (e.finding.n(3), e.finding.n(4));
        e.say(format!("V x V - V E + P R = 0, upper root: {} V at {} A, from {} V", n(volts), n(amps), n(source_v)));
        let part = format!("({} - {}) V of the nominal volts = {} %", n(source_v), n(volts), n(pct));
        let stops = if usual > 0.0 { format!("; it stops below {} V", n(usual)) } else { String::new() };
        e.say(format!("{part}, drawing {} A{stops}", n(amps)));
    }
    if e.is("line-ahead-of-tow") {
        e.say(format!(
            "alternator low is left out, nothing is drawn ahead of its line: {} V are taken there",
            n(volts)
        ));
    }
}

/// The pair of a finding that compares in some cases only.
fn sometimes(e: &Explain<'_>) -> Option<Pair> {
    let f = e.finding;
    Some(match f.check.id {
        "current-overridden" | "current-overridden-without-reason" if f.numbers.len() > 1 => {
            ("entered", 0, "A", "its circuit comes to", 1)
        }
        "inverter-restart-volts" if f.n(1) > 0.0 => ("starts again at", 0, "V", "its cut-off", 1),
        "inverter-restart-volts" => ("starts again at", 0, "V", "highest setting of what charges", 2),
        "loads-over-inverter" if f.n(2) > 0.0 => ("the largest alone", 2, "W", "rated", 1),
        "loads-over-inverter" => ("at once", 0, "W", "rated together", 1),
        "series-over-limit" if f.n(1) > 0.0 => ("in series", 0, "batteries", "their maker allows", 1),
        "source-end-unfused" if f.n(0) > 0.0 => ("ahead", 0, "A", "allowed", 1),
        _ => return None,
    })
}

/// What the sentence tells beside its pair.
fn before(e: &mut Explain<'_>) {
    let f = e.finding;
    match f.check.id {
        "conductor-below-current" if f.numbers.len() > 3 => {
            e.say(format!("before ambient and bundle factors {} A x {} = {} A", n(f.n(2)), n(f.n(3)), n(f.n(0))));
        }
        "fuse-above-conductor" if f.numbers.len() > 3 => {
            e.say(format!("with the next rating up {} A would be allowed", n(f.n(3))));
        }
        "terminals-not-counted" => {
            e.say(format!("the {} C column of its table, without ambient and bundle factors", n(f.n(2))));
        }
        "compensation-none" => {
            e.say(format!("usual {} mV/K x ({:.0} C - 25 C) over {} V as set", n(f.n(3)), f.n(2), n(f.n(1))));
        }
        "loads-on-first-panel" => {
            e.say(format!("{} without a run, {}", counted(f.n(0), "load"), counted(f.n(1), "fuse panel")));
        }
        "fuse-far-from-source" if f.n(3) > 0.0 => {
            let (on, all, most) = (f.name(3), n(f.n(3)), n(f.n(4)));
            e.say(format!("fuses on {on} let {all} A through together, of {most} A that it allows"));
            e.say(format!(
                "lengths along the conductor added up to the furthest of them; a note from {:.4} m on",
                f.n(2)
            ));
        }
        "fuse-far-from-source" if f.n(2) > 0.0 => e.say(format!("worth a note from {:.4} m on", f.n(2))),
        "hot-vmp-low" => low_volts(e),
        "source-end-unfused" if f.n(2) > 0.0 => e.say(format!("the fuse ahead of what gives it: {} A", n(f.n(2)))),
        "string-fuse-missing" => {
            let every = if f.name(1).is_empty() { "every" } else { "that" };
            e.say(format!("a fuse in {every} string: {} A at least, {} A at most", n(f.n(2)), n(f.n(1))));
        }
        "string-fuse-wrong-end" => {
            e.say(format!("its fuse sits {} m of wire from the other strings, {} m at most", n(f.n(2)), n(f.n(3))));
        }
        "unlike-panels" if f.n(1) >= 1.0 => {
            e.say(format!(
                "each alone at its best, less all together: {} Wh a mean day of the typical year",
                n(f.n(1))
            ));
        }
        _ => {}
    }
}

/// Volts of a label, by the cells that they are taken as.
fn cells(e: &mut Explain<'_>) {
    let (label_v, taken, third) = (n(e.finding.n(0)), n(e.finding.n(1)), e.finding.n(2));
    if e.finding.check.id != "cells-by-label" {
        let reckoned = e.finding.numbers.get(3).map_or(String::new(), |v| format!("; reckoned with {} V", n(*v)));
        return e.say(format!("{label_v} V / {taken} in series = {third:.2} V a cell, of the label's volts{reckoned}"));
    }
    let other = n(third);
    e.say(format!("by 3.2 V a cell it would be {other} cells; a lithium battery of 12 V has four of them"));
    e.say(format!("{label_v} V are taken as a system's volts, four cells for every 12 V: {taken} cells"));
}

/// What is lost by too few volts, and what a longer string would reach.
fn low_volts(e: &mut Explain<'_>) {
    let f = e.finding;
    if f.n(3) >= 1.0 {
        let when = e.report.year.lived.when();
        e.say(format!("hours in which it cannot work at its best: {} Wh {when}", n(f.n(3))));
    }
    if let &[_, _, _, _, drop, least, ..] = f.numbers.as_slice() {
        e.say(format!("its way loses {} V, with the thickest and shortest wire {} V still", n(drop), n(least)));
    }
    if let &[series, open, limit] = f.numbers.get(6..9).unwrap_or_default() {
        e.say(format!("{series:.0} in series would do, but are open at {} V cold, of {} V taken", n(open), n(limit)));
    }
}

/// What is entered as the coldest air, against the stays'.
fn above_stays(e: &mut Explain<'_>) {
    let f = e.finding;
    let (entered, stays_c) = (f.n(0), f.n(1));
    if let (Some(voc), Some(limit)) = (f.numbers.get(2), f.numbers.get(3)) {
        e.say(format!("there {} stands at {} V open, {} takes {} V", f.name(1), n(*voc), f.name(2), n(*limit)));
    }
    let (stay, margin) = (f.name(0), n(e.rule("cold-margin-k")));
    e.say(format!("{stay}: extreme minimum of its climate, and of its own means, less {margin} K: {stays_c:.1} C"));
    e.say(format!("entered {entered:.1} C, by the stays {stays_c:.1} C: {} K over", n(entered - stays_c)));
}

/// Last steps that are no difference of two numbers.
fn other(e: &mut Explain<'_>) -> Option<()> {
    let f = e.finding;
    let (first, second, third) = (f.n(0), f.n(1), f.n(2));
    match f.check.id {
        "battery-own-fuse" => e.say(format!("each of {} fuses must open {} kA", n(second), n(first / 1000.0))),
        "cold-voc-over-limit" => {
            let array = e.c.plan.arrays.iter().find(|a| e.item("arrays") == Some(a.id.as_str()))?;
            if let (Some(at), true) = (reaches_at_c(e.c.plan, array, second), f.numbers.len() > 4) {
                e.say(format!("by the same formula it stands at {} V at {at:.1} C", n(second)));
            }
            let name = f.name(1);
            e.say(format!("{} V / {} V that {name} takes = {:.1} %", n(first), n(second), f.n(3)));
        }
        "cells-by-label" | "label-volts-unlikely" | "start-battery-volts-unlikely" => cells(e),
        "compensation-unusual" => {
            let (least, most) = (n(third), n(f.n(3)));
            e.say(format!("{} mV/K are {} mV/K outside {least} to {most}", n(second), n(first)));
        }
        "compensation-on-lithium" => {
            let own = e.start().map(|own| own.row.charge_most_v * own.twelves);
            let most = own.map_or_else(|| e.c.high_v().ok(), Some)?;
            let taken = "the bank takes, whatever its temperature";
            e.say(format!("{} mV/K make {} V of it at 0 C, of {} V that {taken}", n(first), n(second), n(most)));
        }
        "copper-clad" => {
            e.say(format!("against copper: {} x the resistance, {} x the ampacity", n(first), n(second)));
        }
        "equalise-not-allowed" => {
            let own = e.start().map(|own| own.row.chemistry);
            let chemistry = own.map_or_else(|| e.c.chemistry().ok().map(|row| row.chemistry), Some)?;
            e.say(format!("{} V are set; {chemistry} has no volts to be equalised at", n(first)));
        }
        "fault-current-assumed" => {
            e.say(format!("neither short-circuit amps nor ohmic mohm of the batteries are known: {} A", n(first)));
        }
        "interrupt-below-fault" => {
            let (needed, margin) = (f.n(3), f.n(4));
            let fault = format!("{} kA x {} = {} kA", n(first / 1000.0), n(margin), n(needed / 1000.0));
            e.say(format!("the fault {fault}; it opens {} kA at {} V", n(second / 1000.0), n(third)));
        }
        "interrupt-below-frame-fault" => {
            let needed = f.n(3);
            let times = needed / first.max(1e-9);
            e.say("cold cable up to the fuse, and back by the bond; frame and joints have no ohms here".to_string());
            e.say(format!("the fault {} kA x {} = {} kA", n(first / 1000.0), n(times), n(needed / 1000.0)));
            let more_mohm = n(f.n(4) * 1000.0);
            e.say(format!("it opens {} kA at {} V; {more_mohm} mohm more would do", n(second / 1000.0), n(third)));
        }
        "lithium-charged-cold" if f.name(0) == "low" => {
            e.say(format!("{first:.1} C, charge stops below {third:.1} C, and none is good below {second:.1} C"));
        }
        "lithium-stored-cold" => {
            e.say(format!("{first:.1} C, and no charge is good below {second:.1} C: {} K under", n(second - first)));
        }
        "coldest-above-stays" => above_stays(e),
        "lithium-charged-cold" => {
            let air = if f.numbers.len() > 4 { format!(" in air of {third:.1} C") } else { String::new() };
            e.say(format!("{first:.1} C{air}, and no charge below {second:.1} C: {} K under", n(second - first)));
        }
        "pwm-panel-volts-high" => {
            let times = n(first / second.max(1e-9));
            e.say(format!("{} V / {} V = {times} times, over {}", n(first), n(second), n(third)));
        }
        "series-over-limit" if second <= 0.0 => {
            e.say(format!("{} in series, and nothing is entered of how many their maker allows", n(first)));
        }
        "series-fuse-unknown" => {
            let least = e.rule("unfused-strings");
            e.say(format!("{} strings; up to {} want no fuses, more want the panel's maximum", n(first), n(least)));
        }
        "unlike-panels-loss" => {
            e.say(format!("each panel alone at its best, less all together: {} Wh a mean day", n(first)));
        }
        _ => return None,
    }
    Some(())
}
