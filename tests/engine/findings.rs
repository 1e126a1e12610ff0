//! Every rule's mistake is one edit away from a plan where nothing is said; that plan is each one's silent twin.

use super::samples::SOUND;
use super::{evaluate, found, near, only_more_panel_than_output, plan, says, texts};
use coachwire::engine::{Finding, Level, Report, accept, working};
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};
use coachwire::standards::conductor::Gauge;

fn edited(edits: &[(&str, Value)]) -> Plan {
    let edits = edits.iter().map(|(at, to)| Edit::Set { at: FieldPath::new(*at), to: to.clone() }).collect();
    plan(SOUND).with(&Step { name: "test".into(), edits }).unwrap_or_else(|e| panic!("{e}"))
}

fn report(edits: &[(&str, Value)]) -> Report {
    evaluate(&edited(edits))
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse::<Gauge>().expect("gauge"))
}

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

/// What no edit of the plan mends: a figure that only the battery's maker has; an end that nobody has said yet.
const NO_CURE: [&str; 1] = ["fault-current-assumed"];

fn expect(level: Level, check: &str, subject: &str, edits: &[(&str, Value)]) {
    let r = report(edits);
    let ok = r.findings.iter().any(|f| f.check.id == check && f.subject.as_str() == subject && f.level == level);
    assert!(ok, "{level} {check} {subject} after {edits:?}; found:\n{}{:?}", texts(&r), r.not_checked);
    if level != Level::Note && !NO_CURE.contains(&check) {
        super::cures::is_curable(&edited(edits), check, subject);
    }
}

/// Its 840 W on an output of 52 A are worth knowing, and no mistake.
#[test]
fn a_sound_plan_is_silent() {
    let r = evaluate(&plan(SOUND));
    assert!(only_more_panel_than_output(&r), "{}", texts(&r));
    assert!(r.not_checked.is_empty(), "{:?}", r.not_checked);
    assert!(r.unknown.is_empty(), "{:?}", r.unknown);
}

/// Stops: NEC 690.7, 690.8, 690.9, 310.15, 240.4, 552.10(E); chemistry limits.
#[test]
fn stops_are_one_edit_away() {
    let stop = |check: &str, subject: &str, at: &str, to: Value| expect(Level::Stop, check, subject, &[(at, to)]);
    stop("cold-voc-over-limit", "arrays.A1", "arrays.A1.strings", Value::Text("5S1P P1".into()));
    stop("fuse-volts-low", "runs.W2", "runs.W2.protection.F1.volts_dc_v", n(12.0));
    stop("fuse-above-conductor", "runs.W6", "runs.W6.gauge", gauge("10 AWG"));
    stop("source-end-unfused", "runs.W6", "runs.W6.protection.F1.state", Value::Word("removed"));
    stop("fuse-far-from-source", "runs.W3", "runs.W3.protection.F1.distance_m", n(0.5));
    stop("conductor-below-current", "runs.W5", "runs.W5.gauge", gauge("8 AWG"));
    stop("ambient-over-insulation", "runs.W1", "runs.W1.legs.L1.ambient_c", n(90.0));
    stop("fuse-below-design", "runs.W2", "runs.W2.protection.F1.amps_a", n(50.0));
    stop("interrupt-below-fault", "runs.W3", "runs.W3.protection.F1.family", Value::Word("open link"));
    stop("charge-volts-high", "controllers.C1", "controllers.C1.absorb_v", n(14.8));
    stop("equalise-not-allowed", "controllers.C1", "controllers.C1.equalise_v", n(15.5));
    stop("compensation-on-lithium", "controllers.C1", "controllers.C1.temp_comp_mv_k", n(-24.0));
    stop("lithium-charged-cold", "bank", "bank.charge_cutoff_c", Value::Nothing);
    stop("copper-clad", "runs.W5", "runs.W5.legs.L1.metal", Value::Word("copper-clad"));
    let drawn = [("loads.L1.life_safety", Value::Word("yes")), ("runs.W6.to", id("L1"))];
    expect(Level::Stop, "life-safety-behind-switch", "loads.L1", &drawn);
    stop("flooded-unvented", "bank", "bank.chemistry", Value::Word("flooded"));
}

#[test]
fn cautions_and_notes_are_one_edit_away() {
    let caution = |check: &str, subject: &str, at: &str, to: Value| expect(Level::Caution, check, subject, &[(at, to)]);
    caution("cold-voc-over-limit", "arrays.A1", "controllers.C1.max_pv_v", n(56.0));
    caution("drop-over-target", "runs.W1", "runs.W1.legs.L1.length_m", n(20.0));
    caution("fuse-below-design", "runs.W2", "runs.W2.protection.F1.amps_a", n(60.0));
    caution("isc-over-input", "controllers.C1", "controllers.C1.max_pv_a", n(15.0));
    caution("copper-clad", "runs.W1", "runs.W1.legs.L1.metal", Value::Word("copper-clad"));
    caution("parallel-too-thin", "runs.W1", "runs.W1.legs.L1.per_pole", n(2.0));
    caution("fault-current-assumed", "bank.short_circuit_a", "bank.ohmic_mohm", Value::Nothing);
    caution("inverter-over-discharge-limit", "inverters.INV", "bank.max_discharge_a", n(30.0));
    caution("charge-over-limit", "bank", "bank.max_charge_a", n(10.0));
    caution("hot-vmp-low", "arrays.A1", "controllers.C1.run_headroom_v", n(25.0));
    caution("start-volts-low", "arrays.A1", "controllers.C1.start_headroom_v", n(50.0));
    caution("pwm-panel-volts-high", "arrays.A1", "controllers.C1.kind", Value::Word("PWM"));
    caution("dangling-end", "runs.W6", "runs.W6.to", id("NOWHERE"));
    caution("run-to-itself", "runs.W6", "runs.W6.to", id("BUS"));
    expect(Level::Note, "shock-volts", "arrays.A1", &[("arrays.A1.strings", Value::Text("4S1P P1".into()))]);
    expect(Level::Note, "fuse-far-from-source", "runs.W3", &[("runs.W3.protection.F1.distance_m", n(0.3))]);
    // 8 AWG, 75 C terminals, open: 70 A by NEC 310.17 is itself a standard rating; in air at 50 C, 90 C insulation,
    // 80 x 0.82 = 65.6 A lies between 60 and 70 A.
    expect(
        Level::Note,
        "next-rating-up",
        "runs.W6",
        &[
            ("runs.W6.gauge", gauge("8 AWG")),
            ("runs.W6.legs.L1.ambient_c", n(50.0)),
            ("runs.W6.protection.F1.amps_a", n(70.0)),
        ],
    );
}

/// Marine work allows 7 in where US RV work allows 18 (33 CFR 183.455, NEC 552.10(E)(4)).
#[test]
fn the_basis_sets_the_fuse_distance() {
    let at = ("runs.W3.protection.F1.distance_m", n(0.3));
    expect(Level::Stop, "fuse-far-from-source", "runs.W3", &[("job.basis", Value::Word("marine")), at.clone()]);
    assert_eq!(found(&report(&[at]), "fuse-far-from-source")[0].level, Level::Note);
}

/// A 10 AWG run with 80 A on it: 30 A by the small-wire limit; 4 AWG open at 75 C terminals carries 125 A (NEC 310.17).
#[test]
fn small_wire_and_terminal_column() {
    let r = report(&[("runs.W6.gauge", gauge("10 AWG")), ("runs.W6.protection.F1.amps_a", n(80.0))]);
    let f = found(&r, "fuse-above-conductor");
    assert_eq!((f[0].n(0), f[0].n(1)), (80.0, 30.0));
    let p = edited(&[("runs.W5.gauge", gauge("4 AWG")), ("inverters.INV.watts_w", n(2000.0))]);
    let r = evaluate(&p);
    near("ampacity", r.runs[4].ampacity_a.clone().map(|a| a.0), 125.0, 1e-9);
    near("design", r.runs[4].design_a.clone().map(|a| a.0), 189.4, 0.001);
    assert_eq!(r.runs[4].governs, "terminal");
    assert!(says(&r, "conductor-below-current", "runs.W5"));
    let lines = working(&p, &r.runs[4].id);
    assert!(lines.iter().any(|(_, value, source)| *value == 125.0 && !source.document.is_empty()), "{lines:?}");
}

/// 1.5625 Isc appears once: as the fuse of an array's run.
#[test]
fn array_factors_apply_once() {
    let r = evaluate(&plan(SOUND));
    near("design", r.runs[0].design_a.clone().map(|a| a.0), 1.25 * 2.0 * 10.7, 1e-9);
    near("fuse", r.runs[0].fuse_min_a.clone().map(|a| a.0), 1.5625 * 2.0 * 10.7, 1e-9);
    near("drop", r.runs[0].drop_at_a.clone().map(|a| a.0), 2.0 * 10.1, 1e-9);
}

/// Three strings of 10.7 A on a 20 A series fuse: 2 x 1.25 x 10.7 = 26.75 A flow back (NEC 690.9(A)); two strings: no.
#[test]
fn string_fuses_from_three_strings_on() {
    let three = [("arrays.A1.strings", Value::Text("1S3P P1".into())), ("runs.W1.gauge", gauge("6 AWG"))];
    let r = report(&three);
    let f = found(&r, "string-fuse-missing");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    near("back", Ok(f[0].n(0)), 26.75, 1e-9);
    let two = report(&[("arrays.A1.strings", Value::Text("1S2P P1".into()))]);
    assert!(found(&two, "string-fuse-missing").is_empty());
    let unknown = [three[0].clone(), ("panels.P1.series_fuse_a", Value::Unknown)];
    assert!(says(&report(&unknown), "series-fuse-unknown", "controllers.C1"));
}

/// An unknown on the way makes figures wait and safety checks not checked; it never becomes a finding.
#[test]
fn unknowns_are_counted_apart() {
    let r = report(&[("runs.W5.legs.L1.insulation_c", Value::Unknown)]);
    assert!(only_more_panel_than_output(&r), "{}", texts(&r));
    assert_eq!(r.unknown.iter().map(FieldPath::as_str).collect::<Vec<_>>(), ["runs.W5.legs.L1.insulation_c"]);
    assert!(r.not_checked.iter().any(|c| c.check == "conductor-below-current" && c.subject.as_str() == "runs.W5"));
    assert!(r.runs[4].ampacity_a.is_err() && r.runs[4].drop_v.is_ok());
}

/// A chassis return has no resistance until it is measured, and never none.
#[test]
fn chassis_return_waits_for_its_measurement() {
    let chassis = ("runs.W6.return_path", Value::Word("chassis"));
    let r = report(std::slice::from_ref(&chassis));
    assert_eq!(r.runs[5].resistance_ohm.clone().unwrap_err().0.as_str(), "runs.W6.measured_ohm");
    let r = report(&[chassis, ("runs.W6.measured_ohm", n(0.02))]);
    near("measured", r.runs[5].resistance_ohm.clone().map(|o| o.0), 0.02, 1e-12);
}

/// An accepted finding keeps its reason until its number worsens by more than 1 %.
#[test]
fn accepted_findings_keep_their_reason_and_lapse() {
    let accept = |value: &str| {
        let ron = SOUND.replace(
            "stays: [",
            &format!(
                r#"accepted: [(id: "AC1", finding: "drop-over-target", subject: "runs.W1", reason: "short stay", value: {value})],
    stays: ["#
            ),
        );
        let long = Step::one("long", Edit::Set { at: "runs.W1.legs.L1.length_m".into(), to: n(20.0) });
        evaluate(&plan(&ron).with(&long).expect("edit"))
    };
    let now = found(&accept("\"?\""), "drop-over-target")[0].n(0);
    assert_eq!(
        found(&accept(&format!("{:.6}", now * 0.995)), "drop-over-target")[0].accepted.as_deref(),
        Some("short stay")
    );
    assert_eq!(found(&accept(&format!("{:.6}", now * 0.98)), "drop-over-target")[0].accepted, None);
}

/// A plan with one of its findings accepted as it stands.
fn accepting(plan: &Plan, f: &Finding, numbers: &str) -> Plan {
    let item = format!(
        r#"(id: "AC1", finding: "{}", subject: "{}", reason: "known", numbers: "{numbers}", level: "{}", said: {:?})"#,
        f.check.id,
        f.subject,
        f.level,
        f.text()
    );
    let list = FieldPath::from("accepted");
    let step = Step::one("accept", Edit::Insert { list, after: None, item });
    plan.with(&step).unwrap_or_else(|e| panic!("{e}: {}", f.check.id))
}

/// Every finding of a plan full of them stays accepted as it is, and is looked at anew when its first number was
/// better by 2 %, when there was another number, when it was less grave, or when it said another thing.
#[test]
fn every_accepted_finding_lapses() {
    let wrong = plan(super::samples::WRONG);
    let all = evaluate(&wrong).findings;
    assert!(all.len() > 15, "{}", all.len());
    let now = |p: &Plan, f: &Finding| {
        evaluate(p).findings.into_iter().find(|g| g.identity() == f.identity()).expect("it is there still")
    };
    for f in &all {
        let what = || format!("{} {}: {}", f.check.id, f.subject, f.text());
        let kept = accept::kept(f);
        let same = now(&accepting(&wrong, f, &kept), f);
        assert_eq!((same.accepted.as_deref(), same.lapsed), (Some("known"), None), "{}", what());
        let better = |n: f64| n * if f.larger_is_worse { 1.0 / 1.02 } else { 1.02 };
        match f.numbers.split_first() {
            Some((first, rest)) if *first > 0.0 => {
                let mut numbers = vec![better(*first)];
                numbers.extend(rest);
                let text: Vec<String> = numbers.iter().map(f64::to_string).collect();
                let worse = now(&accepting(&wrong, f, &text.join(" ")), f);
                assert_eq!((worse.accepted, worse.lapsed.as_deref()), (None, Some("known")), "{}", what());
            }
            Some(_) => {}
            None => {
                let other = Finding { names: vec!["Z9".into(); 3], ..f.clone() };
                let lapses = now(&accepting(&wrong, &other, ""), f).accepted.is_none();
                assert_eq!(lapses, other.text() != f.text(), "{}", what());
            }
        }
        if f.level != Level::Note {
            let graver = now(&accepting(&wrong, &Finding { level: Level::Note, ..f.clone() }, &kept), f);
            assert_eq!(graver.accepted, None, "{}", what());
        }
    }
}

/// What moves is not always the first number: an 80 A fuse accepted on wire that allows 70 A is a graver thing on wire
/// that allows 8 A; a caution of a cold voltage near the limit is another thing than one over it.
#[test]
fn accepted_findings_lapse_by_their_limits() {
    let mut edits = vec![("runs.W6.protection.F1.amps_a", n(80.0)), ("runs.W6.gauge", gauge("8 AWG"))];
    let subject = |r: &Report, check: &str| found(r, check)[0].clone();
    let at_8 = edited(&edits);
    let f = subject(&evaluate(&at_8), "fuse-above-conductor");
    let accepted = accepting(&at_8, &f, &accept::kept(&f));
    let with = |p: &Plan, at: &str, to: Value| p.with(&Step::one("t", Edit::Set { at: at.into(), to })).expect("edit");
    for (size, stays) in [("8 AWG", true), ("6 AWG", true), ("16 AWG", false)] {
        let r = evaluate(&with(&accepted, "runs.W6.gauge", gauge(size)));
        if let Some(f) = found(&r, "fuse-above-conductor").first() {
            assert_eq!(f.accepted.is_some(), stays, "{size}: {}", f.text());
        } else {
            assert_eq!(size, "6 AWG");
        }
    }
    edits = vec![("controllers.C1.max_pv_v", n(57.0))];
    let near_it = edited(&edits);
    let f = subject(&evaluate(&near_it), "cold-voc-over-limit");
    assert_eq!(f.level, Level::Caution, "{}", f.text());
    let accepted = accepting(&near_it, &f, &accept::kept(&f));
    assert!(subject(&evaluate(&accepted), "cold-voc-over-limit").accepted.is_some());
    let f = subject(&evaluate(&with(&accepted, "controllers.C1.max_pv_v", n(40.0))), "cold-voc-over-limit");
    assert_eq!((f.level, f.accepted, f.lapsed.as_deref()), (Level::Stop, None, Some("known")));
}

/// Rule values changed in the plan decide.
#[test]
fn changed_rules_decide() {
    let ron = SOUND.replace("stays: [", r#"rules: [(id: "drop-array", value: 0.5, reason: "bright day")], stays: ["#);
    assert!(says(&evaluate(&plan(&ron)), "drop-over-target", "runs.W1"));
}

/// Findings stand by level, then in the order of the plan.
#[test]
fn findings_are_sorted() {
    let r = evaluate(&plan(super::samples::WRONG));
    let levels: Vec<_> = r.findings.iter().map(|f| f.level).collect();
    assert!(levels.is_sorted(), "{}", texts(&r));
}

/// A warmer wire resists more: 40 C air against 20 C, by 234.5 + T.
#[test]
fn resistance_follows_the_conductor() {
    let at = |c: f64| report(&[("runs.W6.legs.L1.ambient_c", n(c))]).runs[5].clone();
    let (cold, warm) = (at(20.0), at(60.0));
    assert!(cold.wire_c.clone().expect("c").0 >= 20.0 && warm.wire_c.clone().expect("c").0 >= 60.0);
    let share = |r: &coachwire::engine::report::RunFigures| r.resistance_ohm.clone().expect("ohm").0;
    assert!(share(&warm) > share(&cold));
}

/// 20.8 V panels on 14.2 V: 1.46 times, a 36-cell panel on PWM as it should be. Two in series: 2.9 times.
#[test]
fn pwm_wants_panels_near_the_bank() {
    let pwm = |strings: &str| {
        report(&[("controllers.C1.kind", Value::Word("PWM")), ("arrays.A1.strings", Value::Text(strings.into()))])
    };
    assert!(!says(&pwm("1S2P P1"), "pwm-panel-volts-high", "arrays.A1"));
    assert!(says(&pwm("2S1P P1"), "pwm-panel-volts-high", "arrays.A1"));
}

/// A second panel of another Imp or Vmp: 5 % apart is the most that passes (common practice).
#[test]
fn unlike_panels_are_cautioned_beyond_five_percent() {
    let unlike = |vmp: &str, imp: &str, strings: &str| {
        let other = format!(
            "(id: \"P2\", pmax_w: 210.0, vmp_v: {vmp}, imp_a: {imp}, voc_v: 24.9, isc_a: 10.7, cells: 36.0, alpha_pct_k: \
             0.05, beta_pct_k: -0.28, series_fuse_a: 20.0, weight_kg: 12.0)],\n    arrays: ["
        );
        let ron = SOUND.replace("],\n    arrays: [", &format!(", {other}")).replace("2S2P P1", strings);
        evaluate(&plan(&ron))
    };
    let series = unlike("20.8", "9.09", "P1+P2");
    near("Imp", Ok(found(&series, "unlike-panels")[0].n(0)), 10.0, 1e-9);
    assert!(!says(&unlike("20.8", "9.7", "P1+P2"), "unlike-panels", "arrays.A1"));
    let parallel = unlike("18.72", "10.1", "P1 | P2");
    near("Vmp", Ok(found(&parallel, "unlike-panels")[0].n(0)), 10.0, 1e-9);
    assert!(!says(&unlike("20.0", "10.1", "P1 | P2"), "unlike-panels", "arrays.A1"));
}

/// Safety checks that wait, by what is not known.
#[test]
fn each_unknown_names_the_checks_that_wait_for_it() {
    let waiting = |field: &str, subject: &str| -> Vec<&'static str> {
        let r = report(&[(field, Value::Unknown)]);
        assert!(r.unknown.iter().any(|u| u.as_str() == field), "{field}: {:?}", r.unknown);
        let of = r.not_checked.iter().filter(|c| c.subject.as_str() == subject && c.waits_for.as_str() == field);
        of.map(|c| c.check).collect()
    };
    // A class T fuse opens what the bank drives without any cable: no length, no gauge is needed to say so.
    assert!(waiting("runs.W6.legs.L1.length_m", "runs.W6").is_empty());
    let gauge = waiting("runs.W6.gauge", "runs.W6");
    for check in ["conductor-below-current", "fuse-above-conductor"] {
        assert!(gauge.contains(&check), "{gauge:?}");
    }
    let amps = waiting("runs.W6.protection.F1.amps_a", "runs.W6");
    for check in ["fuse-above-conductor", "fuse-below-design"] {
        assert!(amps.contains(&check), "{amps:?}");
    }
    // The coefficient has the code's table to stand in: the check runs, and the unknown is counted.
    assert!(waiting("panels.P1.beta_pct_k", "arrays.A1").is_empty());
}

/// Common practice, per 12 V: LFP absorbs at 14.0 to 14.6 V and floats at 13.4 to 13.6 V or not at all; flooded lead
/// 14.4 to 14.8 V, 13.2 to 13.6 V, equalising from 15 V. Twice that for two in series.
#[test]
fn charge_volts_within_the_window_of_the_bank() {
    let of = |bank: &str, set: &str| {
        let ron = SOUND.replace("chemistry: \"LFP\", unit_v: 12.8, unit_ah: 100.0, series: 1.0", bank);
        let ron = ron.replace("absorb_v: 14.2)", &format!("{set})"));
        evaluate(&plan(&ron))
    };
    let said = |bank: &str, set: &str| {
        let r = of(bank, set);
        (says(&r, "charge-volts-high", "controllers.C1"), says(&r, "charge-volts-outside-window", "controllers.C1"))
    };
    let lfp = "chemistry: \"LFP\", unit_v: 12.8, unit_ah: 100.0, series: 1.0";
    for (set, want) in [
        ("absorb_v: 14.2, float_v: 13.5", (false, false)),
        ("absorb_v: 14.2", (false, false)),
        ("absorb_v: 13.6", (false, true)),
        ("absorb_v: 14.8", (true, false)),
        ("absorb_v: 14.2, float_v: 14.2", (false, true)),
        ("absorb_v: 14.2, float_v: 14.8", (true, false)),
    ] {
        assert_eq!(said(lfp, set), want, "lithium {set}");
    }
    let two = "chemistry: \"LFP\", unit_v: 12.8, unit_ah: 100.0, series: 2.0, max_series: 4.0";
    for (set, want) in [
        ("absorb_v: 28.4, float_v: 27.0", (false, false)),
        ("absorb_v: 14.2", (false, true)),
        ("absorb_v: 29.6", (true, false)),
    ] {
        assert_eq!(said(two, set), want, "two in series {set}");
    }
    let label = format!("{two}, max_charge_v: 14.3");
    assert_eq!(said(&label, "absorb_v: 28.8"), (true, false), "the label of each battery, times two");
    let flooded = "chemistry: \"flooded\", unit_v: 6.0, unit_ah: 220.0, series: 2.0";
    for (set, want) in [
        ("absorb_v: 14.6, float_v: 13.4, equalise_v: 15.6", (false, false)),
        ("absorb_v: 14.6, float_v: 13.9", (false, true)),
        ("absorb_v: 14.6, equalise_v: 14.8", (false, true)),
        ("absorb_v: 14.6, equalise_v: 16.6", (true, false)),
    ] {
        assert_eq!(said(flooded, set), want, "flooded {set}");
    }
}

/// One source's float holds the bank up against another's.
#[test]
fn floats_that_disagree_are_found_too() {
    let of = |float: &str| {
        let charger = format!(
            "chargers: [(id: \"CV\", kind: \"converter\", out_a: 45.0, efficiency_pct: 85.0, absorb_v: 14.2, \
             float_v: {float}, ac_source: \"shore\")],\n    devices: ["
        );
        evaluate(&plan(&SOUND.replace("absorb_v: 14.2)", "absorb_v: 14.2, float_v: 13.4)").replacen(
            "devices: [",
            &charger,
            1,
        )))
    };
    let apart = of("13.8");
    assert!(found(&apart, "profiles-disagree")[0].text().contains("float 0.40 V apart"), "{}", texts(&apart));
    assert!(found(&of("13.5"), "profiles-disagree").is_empty());
    // The rule that it rests on has no document.
    assert_eq!(found(&apart, "profiles-disagree")[0].source_said(), "common practice");
}
