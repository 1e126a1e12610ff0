//! Cures take the least that serves, from where it costs least, and say what they cost; a fuse goes where it is asked for and is no
//! larger than a label allows; figures are those of copper that its insulation stands.

use super::cures::cures;
use super::explained_raised::three_leads;
use super::mistakes::{insert, sound, with};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::worked::{DropPart, PartOf, worked};
use coachwire::engine::{Level, Report};
use coachwire::plan::wiring::FuseAt;
use coachwire::plan::{Edit, Known, Plan, Step, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn word(w: &'static str) -> Value {
    Value::Word(w)
}

/// The sound plan with a shore charger of 45 A beside its controller of 52 A.
fn on_shore() -> Plan {
    let charger = r#"(id: "CA", kind: "shore", out_a: 45.0, absorb_v: 14.2, efficiency_pct: 88.0, ac_source: "shore")"#;
    let run = r#"(id: "V1", from: "CA", to: "BUS", gauge: "4 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
        protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#;
    insert(&insert(&sound(), "chargers", charger), "runs", run)
}

fn harvest_kwh(r: &Report) -> f64 {
    *r.year.lived.harvest_kwh.as_ref().expect("a year")
}

/// Whether a step sets a field.
fn sets(step: &Step, field: &str) -> bool {
    step.edits.iter().any(|e| matches!(e, Edit::Set { at, .. } if at.as_str() == field))
}

/// 97 A on a bank that takes 75 A: the shore charger set lower costs no sun and comes first; the controller set lower costs harvest, and
/// its name says how much, which is what the plan with it harvests less.
#[test]
fn charge_is_given_up_where_the_year_loses_least() {
    let p = with(&on_shore(), &[("bank.max_charge_a", n(25.0))]);
    let before = evaluate(&p);
    let steps = cures(&p, "charge-over-limit", "bank");
    let first = &steps[0];
    assert!(sets(first, "chargers.CA.out_a") && !sets(first, "controllers.C1.out_a"), "{steps:?}");
    assert!(!first.name.contains("costs"), "{}", first.name);
    let harvests = |step: &Step| harvest_kwh(&evaluate(&p.with(step).expect("applies")));
    assert!((harvests(first) - harvest_kwh(&before)).abs() < 1.0, "{} {}", harvests(first), harvest_kwh(&before));
    let solar = steps.iter().find(|s| s.edits.len() == 1 && sets(s, "controllers.C1.out_a")).expect("offered");
    let less = harvest_kwh(&before) - harvests(solar);
    assert!(less > 50.0 && solar.name.contains(&format!("; costs: {less:.0} kWh of ")), "{less} {}", solar.name);
}

/// Where one alone cannot give up enough two do together, and days on which loads go short then are said.
#[test]
fn several_give_up_charge_together_and_short_days_are_said() {
    let p = with(&on_shore(), &[("bank.max_charge_a", n(10.0)), ("loads.L1.hours_day", n(24.0))]);
    let steps = cures(&p, "charge-over-limit", "bank");
    let first = &steps[0];
    assert!(sets(first, "chargers.CA.out_a") && sets(first, "controllers.C1.out_a"), "{steps:?}");
    let after = evaluate(&p.with(first).expect("applies"));
    assert!(found(&after, "charge-over-limit").is_empty(), "{}", texts(&after));
    let days = after.year.lived.short_days.clone().expect("a year").round();
    assert!(
        days > 20.0 && first.name.contains(&format!("loads go short on {days} days instead of ")),
        "{}",
        first.name
    );
}

/// A line from the start battery over an isolator to the house, bare at the start battery: the fuse goes where the finding says that
/// none is, and every fuse that is offered does.
/// Source: a fuse at each battery, within 7 in of it (NEC 552.10(E)).
#[test]
fn a_tow_line_is_fused_at_the_battery_that_is_named() {
    let flows = r#"design_override_a: 20.0, drop_override_a: 12.0, override_reason: "clamp reading""#;
    let devices = [
        r#"(id: "SB", kind: "start battery", zone: "engine bay", state: "existing", cca_a: 750.0)"#,
        r#"(id: "ISO", kind: "isolator", zone: "engine bay", state: "existing", ratings: (amps_a: 80.0))"#,
    ];
    let mut p = devices.iter().fold(sound(), |p, device| insert(&p, "devices", device));
    let runs = [
        format!(
            r#"(id: "V1", from: "SB", to: "ISO", gauge: "10 AWG", {flows}, legs: [(id: "L1", zone: "engine bay",
            length_m: 0.5, insulation_c: 125.0, state: "existing")])"#
        ),
        format!(
            r#"(id: "V2", from: "ISO", to: "BUS", gauge: "10 AWG", {flows}, legs: [(id: "L1", length_m: 6.0,
            insulation_c: 105.0, state: "existing")], protection: [(id: "F1", at: "to", family: "UL 248-15 T",
            amps_a: 30.0, distance_m: 0.1)])"#
        ),
    ];
    for run in &runs {
        p = insert(&p, "runs", run);
    }
    let r = evaluate(&p);
    assert!(says(&r, "source-end-unfused", "runs.V1"), "{}", texts(&r));
    let steps = cures(&p, "source-end-unfused", "runs.V1");
    assert!(!steps.is_empty());
    for step in &steps {
        let with = p.with(step).expect("applies");
        let fuse = &with.runs.iter().find(|r| r.id.as_str() == "V1").expect("drawn").protection[0];
        assert_eq!(fuse.at, FuseAt::From, "{}", step.name);
        assert!(!says(&evaluate(&with), "fuse-far-from-source", "runs.V1"), "{}", step.name);
    }
}

/// One string of panels whose label allows 20 A, its home run with a fuse of 40 A for 32 V: the fuse for its volts is no larger than
/// the label, and the fuse above the label is a finding by itself. Where 1.5625 x 10.7 A = 16.7 A is more than the label, none is.
/// Source: the label's maximum series fuse, NEC 110.3(B); 690.8 and 690.9(B) for the least.
#[test]
fn a_fuse_in_one_string_stays_within_its_label() {
    let of = |label: f64, amps: f64| {
        let edits = [
            ("arrays.A1.strings", Value::Text("2S1P P1".into())),
            ("panels.P1.series_fuse_a", n(label)),
            ("runs.W1.protection.F1.family", word("ISO 8820-3 C")),
            ("runs.W1.protection.F1.amps_a", n(amps)),
            ("runs.W1.protection.F1.volts_dc_v", Value::Nothing),
            ("runs.W1.protection.F1.interrupt_a", Value::Nothing),
        ];
        with(&sound(), &edits)
    };
    let p = of(20.0, 40.0);
    let r = evaluate(&p);
    let f = found(&r, "string-fuse-rating")[0];
    assert_eq!((f.level, f.subject.as_str(), f.n(0), f.n(2)), (Level::Caution, "runs.W1", 40.0, 20.0), "{}", f.text());
    near("least", Ok(f.n(1)), 1.5625 * 10.7, 1e-6);
    let fuse = |p: &Plan| p.runs.iter().find(|r| r.id.as_str() == "W1").expect("drawn").protection.first().cloned();
    for check in ["fuse-volts-low", "string-fuse-rating"] {
        for step in cures(&p, check, "runs.W1") {
            let left = fuse(&p.with(&step).expect("applies")).and_then(|f| f.amps_a.known().map(|a| a.0));
            assert!(
                left.is_none_or(|a| a <= 20.0) || step.name.contains("brings: string-fuse-rating"),
                "{}",
                step.name
            );
        }
    }
    assert_eq!(
        fuse(&p.with(&cures(&p, "fuse-volts-low", "runs.W1")[0]).expect("applies"))
            .expect("fused")
            .amps_a
            .known()
            .map(|a| a.0),
        Some(20.0)
    );
    assert!(found(&evaluate(&of(20.0, 20.0)), "string-fuse-rating").is_empty());
    let small = of(16.0, 40.0);
    let steps = cures(&small, "fuse-volts-low", "runs.W1");
    assert!(steps[0].name.contains("no fuse of 16.7 A, as it wants, is within the 16 A"), "{steps:?}");
    assert!(fuse(&small.with(&steps[0]).expect("applies")).is_none(), "{steps:?}");
}

/// Two batteries, one over a switch and one straight to the bar: the switch in its lead is made for that lead's fuse, wherever it is
/// named, as no other lead ends on it.
#[test]
fn a_switch_in_one_lead_is_made_for_that_lead() {
    let mut p = with(&three_leads(0.6), &[("bank.parallel", n(2.0))]);
    p.runs.retain(|r| r.id.as_str() != "X3");
    for run in p.runs.iter_mut().filter(|r| r.id.as_str().starts_with('X')) {
        run.protection[0].amps_a = Known::Is(coachwire::units::Amps(200.0));
        if run.id.as_str() == "X2" {
            run.to = Known::Is("BUS".parse().expect("id"));
        }
    }
    let r = evaluate(&p);
    assert!(says(&r, "no-bank-disconnect", "bank"), "{}", texts(&r));
    let steps = cures(&p, "no-bank-disconnect", "bank");
    let mut named = 0;
    for step in &steps {
        for (_, rest) in
            step.name.match_indices("new battery switch in X2: ").map(|(i, what)| (i, &step.name[i + what.len()..]))
        {
            named += 1;
            assert!(rest.starts_with("200 A, "), "{}", step.name);
        }
    }
    assert!(named > 1, "{steps:?}");
}

/// Days on shore power are the fewest that serve, and in no stay that does without them: one day less, or one stay less, and medical
/// loads go short.
#[test]
fn days_on_shore_power_are_the_least_that_serve() {
    let means = r#"mean_c: "10 12 15 20 24 29 33 32 28 21 14 10""#;
    let mut p = insert(&on_shore(), "loads", r#"(id: "L9", watts_w: 30.0, hours_day: 24.0, medical: "yes")"#);
    p = with(&p, &[("stays.ST1.months", Value::Text("Feb-Apr".into()))]);
    for (id, latitude, months) in [("ST2", "50.0", "Dec-Jan"), ("ST3", "33.7", "May-Nov")] {
        let stay =
            format!(r#"(id: "{id}", latitude_deg: {latitude}, longitude_deg: -114.2, months: "{months}", {means})"#);
        p = insert(&p, "stays", &stay);
    }
    let steps = cures(&p, "medical-not-served", "bank");
    let step = steps.iter().find(|s| s.name.starts_with("on shore power")).unwrap_or_else(|| panic!("{steps:?}"));
    let short = |step: &Step| says(&evaluate(&p.with(step).expect("applies")), "medical-not-served", "bank");
    assert!(!short(step), "{}", step.name);
    for i in 0..step.edits.len() {
        let mut fewer = step.clone();
        fewer.edits.remove(i);
        assert!(fewer.edits.is_empty() || short(&fewer), "{} without {:?}", step.name, step.edits[i]);
    }
    let mut fewer = step.clone();
    for edit in &mut fewer.edits {
        let Edit::Set { to: Value::Number(days), .. } = edit else { panic!("{edit:?}") };
        *days -= 1.0;
    }
    assert!(short(&fewer), "{}", step.name);
}

/// A DC-DC charger of 40 A at 14.2 V, 90 %, at the end of a line from 13.2 V.
fn on_line(run: &str, cutout_v: f64) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let charger = format!(
        r#"(id: "DC", kind: "DC-DC", out_a: 40.0, efficiency_pct: 90.0, absorb_v: 14.2, alternator_low_v: 13.2,
        input_cutout_v: {cutout_v:?})"#
    );
    let run = format!(
        r#"(id: "W9", from: "SB", to: "DC", {run},
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 80.0, distance_m: 0.1)])"#
    );
    insert(&insert(&p, "chargers", &charger), "runs", &run)
}

/// 631 W over 0.0362 ohm from 13.2 V: the upper root is 11.15 V, which reads otherwise than a cut-out of 11.18 V, and the ohms are named.
/// Source: V^2 - V E + P R = 0 by hand.
#[test]
fn a_charger_just_under_its_cut_out_says_by_how_much() {
    let line = r#"gauge: "2 AWG", measured_ohm: 0.0362, legs: [(id: "L1", length_m: 4.0, insulation_c: 105.0)]"#;
    let r = evaluate(&on_line(line, 11.18));
    let text = found(&r, "dc-dc-drops-out")[0].text();
    assert!(text.contains("11.15 V at its input") && text.contains("stops below 11.18 V"), "{text}");
    assert!(text.contains("0.0362 ohm"), "{text}");
}

/// 5 m of 12 AWG carry some 57 A, far above what they are made for: their copper is counted at the 105 C of their insulation and no
/// hotter, 1.98 ohm/1000 ft at 75 C brought to 105 C; beside it a fuse of 0.06 V at 80 A and four lugs of 0.05 mohm.
/// Source: NEC Chapter 9 Table 8, 12 AWG stranded, uncoated; copper as 234.5 + T; V^2 - V E + P R = 0.
#[test]
fn copper_is_counted_no_hotter_than_its_insulation() {
    let line = r#"gauge: "12 AWG", legs: [(id: "L1", length_m: 2.5, insulation_c: 105.0)]"#;
    let p = on_line(line, 9.0);
    let r = evaluate(&p);
    let run = r.runs.iter().find(|f| f.id.as_str() == "W9").expect("figures");
    near("copper", run.wire_c.clone().map(|c| c.0), 105.0, 1e-9);
    let ohm = 5.0 * 1.98 / 304.8 * (234.5 + 105.0) / (234.5 + 75.0) + 0.06 / 80.0 + 4.0 * 0.05e-3;
    near("ohm", run.resistance_ohm.clone().map(|o| o.0), ohm, 2e-3);
    let watts = 40.0 * 14.2 / 0.9;
    let volts = f64::midpoint(13.2, (13.2_f64 * 13.2 - 4.0 * watts * ohm).sqrt());
    near("amps", run.design_a.clone().map(|a| a.0), watts / volts, 2e-3);
    assert!(says(&r, "conductor-below-current", "runs.W9"), "{}", texts(&r));
    let worked = worked(&p, &run.id).expect("drawn");
    let held = |part: &DropPart| matches!(part.what, PartOf::Leg { held: true, .. });
    assert!(worked.parts.as_ref().expect("known").iter().any(held));
}

/// A factory end of 12 AWG in a run of 6 AWG under 40 A: no fuse above 20 A on 12 AWG (former NEC 551.10). The leg gets what carries it,
/// no more than the run has, and the rest of the run stays.
#[test]
fn a_leg_with_a_thinner_gauge_of_its_own_is_relaid_alone() {
    let leg = r#"(id: "L2", length_m: 1.0, gauge: "12 AWG", state: "existing", insulation_c: 90.0)"#;
    let p = insert(&sound(), "runs.W6.legs", leg);
    let gauges = |p: &Plan| {
        let run = p.runs.iter().find(|r| r.id.as_str() == "W6").expect("W6");
        let of =
            |leg: &coachwire::plan::Leg| leg.gauge.as_ref().unwrap_or(&run.gauge).known().expect("gauge").to_string();
        run.legs.iter().map(of).collect::<Vec<_>>()
    };
    assert_eq!(gauges(&p), ["6 AWG", "12 AWG"]);
    super::cures::is_curable(&p, "fuse-above-conductor", "runs.W6");
    let steps = cures(&p, "fuse-above-conductor", "runs.W6");
    let own = steps.iter().find(|s| s.name.starts_with("W6 L2: 8 AWG")).unwrap_or_else(|| panic!("{steps:?}"));
    let after = p.with(own).expect("applies");
    assert_eq!(gauges(&after), ["6 AWG", "8 AWG"]);
    let stop = |p: &Plan| evaluate(p).findings.iter().any(|f| f.level == Level::Stop);
    assert!(stop(&p) && !stop(&after), "{}", texts(&evaluate(&after)));
    super::cures::apply_all(&p);
    // The only leg of a run is named too, for the run says another gauge: the inverter's feed of 4/0 AWG drawn through 10 AWG.
    let whole = with(&sound(), &[("runs.W5.legs.L1.gauge", Value::Gauge("10 AWG".parse().expect("gauge")))]);
    for check in ["conductor-below-current", "fuse-above-conductor"] {
        super::cures::is_curable(&whole, check, "runs.W5");
        let steps = cures(&whole, check, "runs.W5");
        assert!(
            steps.iter().any(|s| s.name.starts_with("W5 L1: ") || s.name.starts_with("W5 L1 with fuse: ")),
            "{steps:?}"
        );
    }
}
