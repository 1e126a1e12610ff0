//! The bank, what charges it and what draws on it.

use super::{Explain, n};
use crate::engine::bank::charged;
use crate::engine::dc_lines::fed_chargers;
use crate::engine::leads::Leads;
use crate::engine::links::limited_as;
use crate::engine::setting::{COLDEST_C, SETTING_MOST};
use crate::engine::vehicle::is_inverter_of_bank;
use crate::plan::{Known, Plan, YesNo};
use crate::units::Volts;

pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    match e.finding.check.id {
        "compensation-on-lithium" => compensation(e),
        "compensation-not-at-bank" => not_at_bank(e),
        "charge-volts-impossible" => impossible(e),
        "charge-over-limit" | "charge-limit-unknown" => charge_sum(e),
        "inverter-surge-over-peak" => surge(e),
        "inverter-cut-off-low" => cutoff(e),
        "uneven-battery-leads" => split(e),
        "vents-small" => vents(e),
        "charge-volts-high" | "charge-volts-outside-window" => window(e),
        "profiles-disagree" => apart(e),
        "lithium-charged-cold" => cold(e),
        "lithium-stored-cold" => stored(e),
        "discharge-over-limit"
        | "inverter-over-discharge-limit"
        | "discharge-rate-unknown"
        | "inverter-large-for-12v" => draw(e),
        "array-small-for-lead" => finish(e),
        "battery-does-not-fit" => room(e),
        _ => None,
    }
}

/// A source's settings: absorption, equalising, millivolts a kelvin.
fn settings<'a>(plan: &'a Plan, id: &str) -> Option<(&'a Known<Volts>, Option<&'a Known<Volts>>)> {
    let controller = plan.controllers.iter().find(|k| k.id.as_str() == id);
    let charger = plan.chargers.iter().find(|k| k.id.as_str() == id);
    controller
        .map(|k| (&k.absorb_v, k.equalise_v.as_ref()))
        .or_else(|| charger.map(|k| (&k.absorb_v, k.equalise_v.as_ref())))
}

fn compensation(e: &mut Explain<'_>) -> Option<()> {
    let (absorb, equalise) = settings(e.c.plan, e.finding.name(0))?;
    let known = |v: Option<&Known<Volts>>| v.and_then(|v| v.known()).map_or(0.0, |v| v.0);
    let highest = known(Some(absorb)).max(known(equalise));
    let (mv, at_0) = (e.finding.n(0), e.finding.n(1));
    e.say(format!("highest setting {} V, meant for 25 C; {} mV/K", n(highest), n(mv)));
    e.say(format!("at 0 C: {} V + 25 K x {} V/K = {} V", n(highest), n(-mv / 1000.0), n(at_0)));
    Some(())
}

fn not_at_bank(e: &mut Explain<'_>) -> Option<()> {
    let (wanted, held, bank_c) = (e.finding.n(0), e.finding.n(1), e.finding.n(2));
    let by_k = (wanted - held) / (25.0 - bank_c).max(1e-9);
    e.say(format!(
        "set to {} V, meant for 25 C; {} mV/K; the bank as cold as {:.0} C",
        n(held),
        n(-by_k * 1000.0),
        bank_c
    ));
    e.say(format!("{} V + {} K x {} V/K = {} V", n(held), n(25.0 - bank_c), n(by_k), n(wanted)));
    Some(())
}

fn impossible(e: &mut Explain<'_>) -> Option<()> {
    let (row, twelves) = (e.c.chemistry().ok()?, e.c.by_cells().ok()?);
    let (volts, most) = (e.finding.n(0), e.finding.n(1));
    if let Some((set_v, mv)) = compensated(e) {
        e.say(format!(
            "set to {} V, meant for 25 C; at {COLDEST_C:.0} C: {} V + {} K x {} V/K = {} V",
            n(set_v),
            n(set_v),
            n(25.0 - COLDEST_C),
            n(-mv / 1000.0),
            n(volts)
        ));
    }
    e.say(format!(
        "{} is charged to {} V for 12 V at most, x {} for this bank of {} V = {} V; x {} = {} V",
        row.chemistry,
        n(row.charge_most_v),
        n(twelves),
        n(e.finding.n(3)),
        n(e.finding.n(2)),
        n(SETTING_MOST),
        n(most)
    ));
    Some(())
}

/// The setting and the mV a kelvin that a finding about compensation starts from.
fn compensated(e: &Explain<'_>) -> Option<(f64, f64)> {
    e.finding.subject.as_str().ends_with(".temp_comp_mv_k").then_some(())?;
    let (plan, id) = (e.c.plan, e.finding.name(0));
    let controller = plan.controllers.iter().find(|k| k.id.as_str() == id).map(|k| &k.temp_comp_mv_k);
    let of = controller.or_else(|| plan.chargers.iter().find(|k| k.id.as_str() == id).map(|k| &k.temp_comp_mv_k));
    let mv = of?.known()?.0;
    Some((e.finding.n(0) + mv / 1000.0 * (25.0 - COLDEST_C), mv))
}

fn charge_sum(e: &mut Explain<'_>) -> Option<()> {
    let all = charged(e.c, e.t).ok()?;
    let (parts, sum): (Vec<String>, f64) =
        (all.parts.iter().map(|(id, amps)| format!("{id} {} A", n(*amps))).collect(), all.known_a());
    e.say(format!("all that can charge together: {} = {} A", parts.join(" + "), n(sum)));
    if e.is("charge-limit-unknown") {
        let (usual, rate) = (e.finding.n(1), e.finding.n(2));
        e.say(format!("usual at most: {} Ah x {} /h = {} A", n(usual / rate.max(1e-9)), n(rate), n(usual)));
        return Some(());
    }
    let limit = e.report.bank.charge_limit_a.as_ref().ok()?.0;
    e.say(format!("the bank's limit: {} = {} A", e.in_parallel()?, n(limit)));
    Some(())
}

fn surge(e: &mut Explain<'_>) -> Option<()> {
    let low = e.c.low_v().ok()?;
    let id = e.item("inverters")?;
    let mut sum = 0.0;
    let own = e.c.plan.inverters.iter().find(|i| i.id.as_str() == id)?;
    let with_others = !e.finding.name(1).is_empty();
    let others = e.c.plan.inverters.iter().enumerate();
    let others = others.filter(|(i, x)| x.id != own.id && is_inverter_of_bank(e.c, *i) && with_others).map(|(_, x)| x);
    for (i, watts, what) in std::iter::once((own, own.surge_w.as_ref()?.known()?.0, "surge"))
        .chain(others.filter_map(|i| Some((i, i.watts_w.known()?.0, "rated"))))
    {
        let share = i.efficiency_pct.known()?.0 / 100.0;
        let amps = watts / (low * share);
        sum += amps;
        e.say(format!("{} {what} {} W / ({} V x {}) = {} A", i.id, n(watts), n(low), n(share), n(amps)));
    }
    if with_others {
        sum += loads(e, low)?;
        e.say(format!("together {} A", n(sum)));
    }
    let each = e.c.plan.bank.peak_a.as_ref()?.known()?.0;
    let peak = n(each * limited_as(e.c).ok()?);
    e.say(format!("the packs' peak: {} A x {} = {peak} A", n(each), e.in_parallel()?));
    Some(())
}

fn cutoff(e: &mut Explain<'_>) -> Option<()> {
    let each = e.c.plan.bank.discharge_cutoff_v.as_ref()?.known()?.0;
    let series = e.c.series().ok()?;
    e.say(format!("the packs switch off at {} V x {} in series = {} V", n(each), n(series), n(each * series)));
    e.say(format!("the inverter at {} V, not before them", n(e.finding.n(0))));
    Some(())
}

fn split(e: &mut Explain<'_>) -> Option<()> {
    let lead = *e.c.circuit.own_loops().first()?.first()?;
    let leads = Leads::cold(e.c, lead)?.ok()?;
    e.say(format!("each battery {} mohm behind its own lead, cold:", n(leads.battery_ohm() * 1000.0)));
    let firsts: Vec<usize> = leads.firsts().collect();
    for ((ohm, share), run) in leads.ohms().into_iter().zip(leads.shares()).zip(firsts) {
        let id = e.c.plan.runs.get(run)?.id.clone();
        let all = (ohm + leads.battery_ohm()) * 1000.0;
        e.say(format!(
            "on {id}: lead {} mohm, together {} mohm, carries {} %",
            n(ohm * 1000.0),
            n(all),
            n(share * 100.0)
        ));
    }
    let (equal, apart) = (e.finding.n(3), e.finding.n(0));
    let (count, most) = (e.finding.n(4), e.finding.n(5));
    e.say(format!(
        "{} in parallel, equal leads would give each {} %; the worst is {} % of that off, {} % at most",
        n(count),
        n(equal),
        n(apart),
        n(most)
    ));
    Some(())
}

fn vents(e: &mut Explain<'_>) -> Option<()> {
    let capacity = e.report.bank.amp_hours.as_ref().ok()?.0;
    let cells = e.c.cells().ok()?;
    let (gas, air) = (e.rule("vent-gas-flooded-ma"), e.rule("vent-air-factor"));
    let (least, slope) = (e.rule("vent-area-mm2") / 100.0, e.rule("vent-slope-cm2"));
    let q = air * cells * gas * capacity / 1000.0;
    e.say(format!(
        "air Q = {} x {} cells x {} mA/Ah x {} Ah / 1000 = {} m3/h",
        n(air),
        n(cells),
        n(gas),
        n(capacity),
        n(q)
    ));
    e.say(format!("area {} x Q = {} cm2; at least {} cm2", n(slope), n(slope * q), n(least)));
    e.say(format!("wanted {} cm2, there are {} cm2", n(least.max(slope * q)), n(e.finding.n(0))));
    Some(())
}

fn window(e: &mut Explain<'_>) -> Option<()> {
    let own = e.start();
    let (row, twelves) = match &own {
        Some(own) => (own.row, own.twelves),
        None => (e.c.chemistry().ok()?, e.c.by_cells().ok()?),
    };
    let (kind, whose) = match &own {
        Some(own) => (own.kind(), format!("the start battery {}", own.device.id)),
        None => (row.chemistry.word(), "this bank".into()),
    };
    e.say(format!(
        "{kind} for 12 V: absorption {} to {} V, float {} to {} V, {} V at most; times {} for {whose}",
        n(row.absorb_v.least),
        n(row.absorb_v.most),
        n(row.float_v.least),
        n(row.float_v.most),
        n(row.charge_most_v),
        n(twelves)
    ));
    if let Some(label) = e.c.plan.bank.max_charge_v.as_ref().and_then(|k| k.known()).filter(|_| own.is_none()) {
        let series = e.c.series().ok()?;
        e.say(format!("by its label {} V x {} in series = {} V", n(label.0), n(series), n(label.0 * series)));
    }
    if e.is("charge-volts-high") {
        let (set, most) = (e.finding.n(0), e.finding.n(1));
        e.say(format!("{} is set to {} V, {} V over {} V", e.finding.name(1), n(set), n(set - most), n(most)));
    } else {
        let (off, set, low, high) = (e.finding.n(0), e.finding.n(1), e.finding.n(2), e.finding.n(3));
        let name = e.finding.name(1).to_string();
        e.say(format!("{name} is set to {} V; {} to {} V here: {} V off", n(set), n(low), n(high), n(off)));
    }
    Some(())
}

fn apart(e: &mut Explain<'_>) -> Option<()> {
    let what = e.finding.name(2).to_string();
    let set = |id: &str| {
        let plan = e.c.plan;
        let controller = plan.controllers.iter().find(|k| k.id.as_str() == id);
        let charger = plan.chargers.iter().find(|k| k.id.as_str() == id);
        let pair = controller.map(|k| (&k.absorb_v, k.float_v.as_ref()));
        let (absorb, float) = pair.or_else(|| charger.map(|k| (&k.absorb_v, k.float_v.as_ref())))?;
        if what == "float" { float?.known().map(|v| v.0) } else { absorb.known().map(|v| v.0) }
    };
    let (a, b) = (set(e.finding.name(0))?, set(e.finding.name(1))?);
    let (first, second) = (e.finding.name(0).to_string(), e.finding.name(1).to_string());
    let twelves = e.start().map_or_else(|| e.c.by_cells().ok(), |own| Some(own.twelves))?;
    let each = e.c.rules.profile_apart_v;
    e.say(format!("allowed: {} V for 12 V x {} = {} V", n(each), n(twelves), n(each * twelves)));
    e.say(format!("{what}: {first} {} V, {second} {} V: {} V apart", n(a), n(b), n((a - b).abs())));
    Some(())
}

fn cold(e: &mut Explain<'_>) -> Option<()> {
    let coldest = e.coldest_c.clone();
    match e.finding.name(2) {
        "" => {
            let of = match e.c.plan.job.coldest_c {
                Some(_) => "as entered",
                None => "of every place all twelve months: a stay may have only a part of one",
            };
            e.say(format!("coldest air {:.1} C where it is stored or driven, {of}", coldest.ok()?));
        }
        month => {
            let than =
                coldest.map_or_else(|_| String::new(), |c| format!(", colder than the {c:.1} C of the coldest air"));
            e.say(format!("the year has it as cold as the mean of {month} at the stay then, all of it, lived in for a part of it or not{than}"));
        }
    }
    if let &[held, _, coldest, watts, loss] = e.finding.numbers.as_slice() {
        let rise = watts / loss.max(1e-9);
        e.say(format!(
            "heater {} W / {} W/K lost = {rise:.1} K above {coldest:.1} C: {held:.1} C at most",
            n(watts),
            n(loss)
        ));
        uninsulated(e);
    } else if e.finding.name(0) == "low" {
        e.say(format!("its cut-off prevents a charge below {:.1} C alone", e.finding.n(2)));
    } else {
        e.say(format!("nothing prevents a charge at {:.1} C: no cut-off, no heated space, no heater", e.finding.n(0)));
    }
    Some(())
}

/// What is lost of an insulated box is that of bare batteries: nobody has said how thick it is.
pub(super) fn uninsulated(e: &mut Explain<'_>) {
    if e.start().is_none() && e.c.plan.bank.insulated == YesNo::Yes {
        e.say("insulation of its box is not counted in what it loses: a heater needs less, and holds more, than this");
    }
}

fn stored(e: &mut Explain<'_>) -> Option<()> {
    let (held, wanted_w, watts) = (e.finding.n(0), e.finding.n(2), e.finding.n(3));
    let coldest = e.coldest_c.clone().ok()?;
    e.say(format!("coldest air {coldest:.1} C where it is stored or driven; the space is heated only while lived in"));
    if watts > 0.0 {
        e.say(format!("its heater of {} W alone holds it at {held:.1} C there", n(watts)));
        uninsulated(e);
    }
    match e.finding.numbers.get(4) {
        Some(stops_c) => e.say(format!("its cut-off prevents a charge below {stops_c:.1} C alone")),
        None => {
            e.say("no charge cut-off is entered: a management unit's own, or the chargers' by a sensor at the battery")
        }
    }
    if wanted_w > 0.0 {
        e.say(format!("a heater of {} W would hold it there, by what such batteries lose, from memory", n(wanted_w)));
    }
    Some(())
}

/// What DC loads that run at once draw of the bank at low volts.
fn loads(e: &mut Explain<'_>, low_v: f64) -> Option<f64> {
    let watts = e.report.loads.dc_simultaneous_w.as_ref().ok()?.0;
    if watts > 0.0 {
        let amps = n(watts / low_v);
        e.say(format!("DC loads that run at once: {} W at the bank / {} V = {amps} A", n(watts), n(low_v)));
    }
    let mut sum = watts / low_v;
    for (charger, amps) in fed_chargers(e.c, e.t) {
        let amps = amps.ok()?;
        e.out.push(format!("{}, which the bank feeds: {} A", charger.id, n(amps)));
        sum += amps;
    }
    Some(sum)
}

fn draw(e: &mut Explain<'_>) -> Option<()> {
    let with_loads = e.is("discharge-over-limit");
    let (low, id) = (e.c.low_v().ok()?, e.item("inverters").unwrap_or_default().to_string());
    let together = with_loads || (e.is("inverter-over-discharge-limit") && !e.finding.name(1).is_empty());
    let mut sum = 0.0;
    for (i, (inv, pair)) in e.c.plan.inverters.iter().zip(&e.t.inverters).enumerate() {
        if inv.id.as_str() == id || (together && is_inverter_of_bank(e.c, i)) {
            let (watts, share) = (inv.watts_w.known()?.0, inv.efficiency_pct.known()?.0 / 100.0);
            let amps = pair.design_a.clone().ok()?;
            sum += amps;
            e.say(format!("{}: {} W / ({} V x {}) = {} A", inv.id, n(watts), n(low), n(share), n(amps)));
        }
    }
    if with_loads {
        sum += loads(e, low)?;
    }
    if together {
        e.say(format!("together {} A", n(sum)));
    }
    if with_loads || e.is("inverter-over-discharge-limit") {
        let (share, parallel) = (e.c.rules.discharge_share, e.in_parallel()?);
        let limit = e.finding.n(1);
        e.say(format!("packs' limit: rating x {parallel} x {} = {} A", n(share), n(limit)));
    }
    if e.is("discharge-rate-unknown") {
        let (rate, per_h) = (e.finding.n(1), e.finding.n(2));
        e.say(format!("usual rate: {} Ah x {} /h = {} A", n(rate / per_h.max(1e-9)), n(per_h), n(rate)));
    }
    Some(())
}

fn finish(e: &mut Explain<'_>) -> Option<()> {
    let mut amps = 0.0;
    for (i, pair) in e.t.controllers.iter().enumerate() {
        let stays = e.c.plan.controllers.get(i).is_some_and(|k| k.state.stays());
        if stays && e.c.circuit.arrays_of(i).next().is_some() {
            amps += pair.drop_a.clone().ok()?;
        }
    }
    let capacity = e.report.bank.amp_hours.as_ref().ok()?.0;
    e.say(format!("{} A / {} Ah = {} %", n(amps), n(capacity), n(amps / capacity * 100.0)));
    Some(())
}

fn room(e: &mut Explain<'_>) -> Option<()> {
    let bank = &e.c.plan.bank;
    let room = e.rule("terminal-room-m");
    let height = bank.unit_h_m.as_ref()?.known()?.0;
    if e.finding.n(2) > 0.0 {
        let (tall, has) = (e.finding.n(0), e.finding.n(1));
        e.say(format!(
            "{:.0} mm + {:.0} mm over the terminals = {tall:.0} mm, of {has:.0} mm",
            height * 1000.0,
            room * 1000.0
        ));
        return Some(());
    }
    let m = |k: &Option<Known<crate::units::Metres>>| k.as_ref()?.known().map(|m| m.0 * 1000.0);
    let (l, w) = (m(&bank.space_l_m)?, m(&bank.space_w_m)?);
    let (ul, uw) = (m(&bank.unit_l_m)?, m(&bank.unit_w_m)?);
    let (count, stand) = (e.finding.n(0), e.finding.n(1));
    e.say(format!(
        "floor {l:.0} mm x {w:.0} mm, each battery {ul:.0} mm x {uw:.0} mm: {stand:.0} stand there, turned as is best"
    ));
    e.say(format!("{} in series x {} in parallel = {count:.0}", n(e.c.series().ok()?), n(e.c.parallel().ok()?)));
    Some(())
}
