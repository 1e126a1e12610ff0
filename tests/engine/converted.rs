//! A 24 V bank with a converter to 12 V: what the loads behind it are made for, and what the converter loses.

use super::cures::{apply_all, cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

/// The sound plan on 25.6 V: its fuse panel behind a converter by W9, gas detectors L5 on the panel by W15. The converter
/// hangs on a bus behind the main switch.
fn trailer(load: &str, converter: &str) -> Plan {
    let p = with(
        &sound(),
        &[
            ("bank.unit_v", n(25.6)),
            ("bank.ohmic_mohm", Value::Nothing),
            ("bank.short_circuit_a", n(3000.0)),
            ("controllers.C1.absorb_v", n(28.4)),
            ("runs.W6.to", id("CV")),
            ("loads.L1.made_for", word("12 V")),
        ],
    );
    let p =
        insert(&p, "devices", &format!(r#"(id: "CV", kind: "12 V converter", {converter} ratings: (amps_a: 40.0))"#));
    let p = insert(
        &p,
        "loads",
        &format!(
            r#"(id: "L5", name: "gas and CO detectors", watts_w: 2.5, hours_day: 24.0, life_safety: "yes", {load})"#
        ),
    );
    let run = |id: &str, from: &str, to: &str, gauge: &str, amps: f64| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}",
                legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: {amps:.1}, distance_m: 0.1)])"#
        )
    };
    let p = insert(&p, "runs", &run("W9", "CV", "FP", "8 AWG", 40.0));
    insert(&p, "runs", &run("W15", "FP", "L5", "14 AWG", 1.0))
}

const DETECTOR: &str = r#"made_for: "12 V""#;

fn waits(r: &Report, check: &str, field: &str) -> bool {
    r.not_checked.iter().any(|c| c.check == check && c.waits_for.as_str() == field)
}

/// Whatever is offered for life safety behind a switch, the detector stays behind the converter: 12 V, not the bank's 25.6 V
/// (a detector's label).
#[test]
fn no_cure_puts_a_twelve_volt_detector_on_the_banks_volts() {
    for load in [DETECTOR, "", r#"made_for: "?""#, r#"made_for: "12 or 24 V""#] {
        let p = trailer(load, "");
        let steps = cures(&p, "life-safety-behind-switch", "loads.L5");
        assert!(!steps.is_empty(), "{load}");
        for step in steps {
            let after = p.with(&step).expect("applies");
            assert_eq!(after.runs.last(), p.runs.last(), "{load}: {}", step.name);
            let (panel, converter) = (after.runs.iter().find(|r| r.id.as_str() == "W9"), step.name.as_str());
            assert_eq!(panel.and_then(|r| r.from.known()).map(|i| i.as_str()), Some("CV"), "{converter}");
            assert!(!says(&evaluate(&after), "device-volts-unfit", "loads.L5"));
        }
    }
    is_curable(&trailer(DETECTOR, ""), "life-safety-behind-switch", "loads.L5");
    apply_all(&trailer(DETECTOR, ""));
}

/// A load's label against the nominal volts of its circuit.
#[test]
fn a_load_on_other_volts_than_it_is_made_for_is_a_stop() {
    let fed = |made: &'static str, from: &str| {
        with(&trailer("", ""), &[("loads.L5.made_for", word(made)), ("runs.W15.from", id(from))])
    };
    for (made, from, volts) in [
        ("12 V", "FP", None),
        ("12 or 24 V", "FP", None),
        ("24 V", "FP", Some(12.0)),
        ("48 V", "FP", Some(12.0)),
        ("12 V", "BUS", Some(24.0)),
        ("24 V", "BUS", None),
        ("12 to 48 V", "BUS", None),
    ] {
        let r = evaluate(&fed(made, from));
        let f = found(&r, "device-volts-unfit");
        assert_eq!(f.first().map(|f| f.n(0)), volts, "{made} on {from}: {}", texts(&r));
        assert!(f.iter().all(|f| f.level == Level::Stop), "{made} on {from}");
    }
    let wrong = fed("12 V", "BUS");
    let text = found(&evaluate(&wrong), "device-volts-unfit")[0].text();
    assert_eq!(text, "L5 is made for 12 V, W15 brings it 24 V");
    assert_eq!(
        cures(&wrong, "device-volts-unfit", "loads.L5")[0].name,
        "W15 moved: to FP; its wire to be measured anew"
    );
    apply_all(&wrong);
    // The coach's usual: a 12 V bank.
    let twelve = with(&sound(), &[("loads.L1.made_for", word("24 V"))]);
    assert!(says(&evaluate(&twelve), "device-volts-unfit", "loads.L1"));
}

/// On 24 V what nobody entered is asked, of life safety and of any other DC load; on 12 V it is not, nor of what an inverter feeds.
#[test]
fn the_volts_of_a_load_are_asked_where_the_bank_is_not_of_twelve() {
    let asked = |p: &Plan, load: &str| waits(&evaluate(p), "device-volts-unfit", &format!("loads.{load}.made_for"));
    assert!(asked(&trailer("", ""), "L5") && !asked(&trailer(DETECTOR, ""), "L5"));
    let other = with(&trailer(DETECTOR, ""), &[("loads.L1.made_for", Value::Nothing)]);
    assert!(asked(&other, "L1"));
    assert!(!asked(&with(&other, &[("loads.L1.supply", word("inverter"))]), "L1"));
    assert!(evaluate(&other).unknown.iter().any(|f| f.as_str() == "loads.L1.made_for"));
    assert!(!asked(&sound(), "L1"));
    // A question mark is a question on any bank.
    assert!(asked(&with(&sound(), &[("loads.L1.made_for", Value::Unknown)]), "L1"));
}

/// What is joined anew on 24 V is joined to volts that it is known to be made for, or to 12 V; never to more.
#[test]
fn nothing_is_joined_to_volts_it_may_not_stand() {
    for (made, offers) in [(Value::Nothing, true), (word("12 V"), true), (word("48 V"), false)] {
        let mut p =
            with(&trailer("", ""), &[("loads.L5.made_for", made.clone()), ("loads.L5.life_safety", word("no"))]);
        p.runs.retain(|r| r.id.as_str() != "W15");
        p.loads.last_mut().expect("L5").state = coachwire::plan::State::New;
        // Another load with a run of its own: who draws some draws all that is new.
        let run = r#"(id: "W16", from: "FP", to: "L1", gauge: "14 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 7.5, distance_m: 0.1)])"#;
        let p = insert(&p, "runs", run);
        let steps = cures(&p, "load-without-run", "loads.L5");
        assert_eq!(!steps.is_empty(), offers, "{made:?}: {steps:?}");
        for step in steps {
            let run = p.with(&step).expect("applies").runs.last().expect("drawn").clone();
            assert_eq!(run.from.known().map(|i| i.as_str()), Some("FP"), "{}", step.name);
        }
    }
}

/// Behind a converter a load draws what it takes over the converter's efficiency: its own 90 % where nothing is entered, as an
/// inverter's loads do (conservation of energy).
#[test]
fn a_converters_loss_is_in_the_day_the_peak_and_the_days_without_sun() {
    let dc_wh = |p: &Plan| -> f64 {
        p.loads.iter().map(|l| l.watts_w.known().unwrap().0 * l.hours_day.known().unwrap().0).sum()
    };
    let p = trailer(DETECTOR, "");
    let own = dc_wh(&p);
    let idle = p.inverters[0].idle_w.known().unwrap().0 * p.inverters[0].idle_h_day.known().unwrap().0;
    let half = with(&p, &[("devices.CV.efficiency_pct", n(50.0))]);
    for (p, share) in [(&p, 0.9), (&half, 0.5)] {
        let r = evaluate(p);
        near("day", r.loads.wh_day[0].clone().map(|w| w.0), own / share + idle, 1e-9);
        near("lost", r.loads.converter.winter_wh_day.clone().map(|w| w.0), own / share - own, 1e-9);
        let watts: f64 = p.loads.iter().map(|l| l.watts_w.known().unwrap().0).sum();
        near("at once", r.loads.dc_simultaneous_w.clone().map(|w| w.0), watts / share, 1e-9);
        let together = r.loads.together.clone().expect("known");
        near("DC of all", Ok(together.dc_w), watts / share, 1e-9);
    }
    let lasts = |p: &Plan| evaluate(p).year.months[0].days_without_sun.clone();
    let load = |p: &Plan| evaluate(p).year.months[0].load_wh_day.clone().unwrap().0;
    near("days", Ok(lasts(&half).unwrap() / lasts(&p).unwrap()), load(&p) / load(&half), 1e-6);
    near("year", Ok(load(&half) - load(&p)), own / 0.5 - own / 0.9, 1e-6);
    let unknown = with(&p, &[("devices.CV.efficiency_pct", Value::Unknown)]);
    let waits = evaluate(&unknown).loads.wh_day[0].clone().expect_err("waits");
    assert_eq!(waits.0.as_str(), "devices.CV.efficiency_pct");
}

/// Watts that run need no start: an unknown surge of one leaves what is drawn at once known.
#[test]
fn running_watts_wait_for_no_start() {
    let known = evaluate(&sound());
    let r = evaluate(&with(&sound(), &[("loads.L1.surge_w", Value::Unknown)]));
    assert_eq!(r.loads.together, known.loads.together);
    assert!(r.loads.together.is_ok());
    assert_eq!(r.loads.surge.as_ref().expect_err("waits").0.as_str(), "loads.L1.surge_w");
}

/// A run from the bank is sized for the inverter and the DC loads beside it; so much is drawn of the packs too.
#[test]
fn dc_loads_count_beside_the_inverter_against_the_packs() {
    let base = evaluate(&sound());
    let low = base.bank.low_v.clone().unwrap().0;
    let inverter = base.inverters[0].design_a.clone().unwrap().0;
    let dc = base.loads.dc_simultaneous_w.clone().unwrap().0 / low;
    assert!(dc > 1.0);
    let packs = base.bank.discharge_limit_a.clone();
    let parallel = sound().bank.parallel.known().unwrap().0;
    let of = |limit: f64| with(&sound(), &[("bank.max_discharge_a", n(limit / parallel / 0.9))]);
    let over = of(inverter + dc / 2.0);
    let r = evaluate(&over);
    let f = found(&r, "discharge-over-limit");
    assert_eq!((f.len(), f[0].level, f[0].subject.as_str()), (1, Level::Caution, "bank"), "{packs:?} {}", texts(&r));
    near("together", Ok(f[0].n(0)), inverter + dc, 1e-9);
    assert!(f[0].text().starts_with("INV at rated watts and the DC loads that run at once draw"), "{}", f[0].text());
    assert!(found(&evaluate(&of(inverter + dc * 1.01)), "discharge-over-limit").is_empty());
    // The inverter alone is said as such.
    let alone = evaluate(&of(inverter - 1.0));
    assert!(
        found(&alone, "discharge-over-limit").is_empty() && !found(&alone, "inverter-over-discharge-limit").is_empty()
    );
    is_curable(&over, "discharge-over-limit", "bank");
    apply_all(&over);
    // A start too.
    let surge = |peak: f64| {
        evaluate(&with(&sound(), &[("inverters.INV.surge_w", n(2000.0)), ("bank.peak_a", n(peak / parallel))]))
    };
    let start = 2000.0 / (low * 0.88);
    assert!(found(&surge(start + dc * 1.01), "inverter-surge-over-peak").is_empty());
    let r = surge(start + dc / 2.0);
    let f = found(&r, "inverter-surge-over-peak");
    near("start beside loads", Ok(f[0].n(0)), start + dc, 1e-9);
    assert!(f[0].text().contains("INV's surge and the DC loads that run at once draw"), "{}", f[0].text());
}

/// A rating is held to what flows through it, whatever has it; what a source gives is its own.
#[test]
fn whatever_has_a_rating_is_held_to_its_current() {
    let of = |kind: &str, amps: f64| {
        let p = insert(&sound(), "devices", &format!(r#"(id: "X", kind: "{kind}", ratings: (amps_a: {amps:.1}))"#));
        let p = with(&p, &[("runs.W5.to", id("X"))]);
        let run = r#"(id: "W30", from: "X", to: "INV", gauge: "2/0 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)])"#;
        evaluate(&insert(&p, "runs", run))
    };
    for kind in ["tow connector", "splice", "bus", "switch", "isolator", "combiner"] {
        assert!(says(&of(kind, 40.0), "device-below-current", "devices.X"), "{kind}: {}", texts(&of(kind, 40.0)));
        assert!(!says(&of(kind, 400.0), "device-below-current", "devices.X"), "{kind}");
    }
}
