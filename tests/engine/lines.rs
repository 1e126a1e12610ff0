//! The engine's own charge lead, the input line of a DC-DC charger, and converters.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::report::RunFigures;
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn run<'a>(r: &'a Report, id: &str) -> &'a RunFigures {
    r.runs.iter().find(|f| f.id.as_str() == id).expect("a run")
}

/// The alternator of 120 A on the start battery by a lead of the factory's.
pub(super) fn factory(turned: bool) -> Plan {
    let (from, to) = if turned { ("SB", "ALT") } else { ("ALT", "SB") };
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let p = insert(&p, "devices", r#"(id: "ALT", kind: "alternator", state: "existing", ratings: (amps_a: 120.0))"#);
    let lead = format!(
        r#"(id: "W10", from: "{from}", to: "{to}", gauge: "1/0 AWG", legs: [(id: "L1", zone: "cabinet", length_m: 1.5,
            insulation_c: 125.0, state: "existing")])"#
    );
    insert(&p, "runs", &lead)
}

/// Original equipment: no fuse is asked of it, and its current is what the alternator is rated for.
#[test]
fn the_factory_charge_lead_is_left_alone() {
    for turned in [false, true] {
        let p = factory(turned);
        let r = evaluate(&p);
        assert!(!r.findings.iter().any(|f| f.subject.as_str() == "runs.W10"), "{}", texts(&r));
        assert!(!r.not_checked.iter().any(|c| c.subject.as_str() == "runs.W10"), "{:?}", r.not_checked);
        near("design", run(&r, "W10").design_a.clone().map(|a| a.0), 120.0, 1e-9);
        // A new one runs to a battery, and is fused there.
        let new = with(&p, &[("runs.W10.legs.L1.state", word("new"))]);
        let r = evaluate(&new);
        assert_eq!(found(&r, "source-end-unfused").len(), 1, "{}", texts(&r));
        assert!(found(&r, "source-end-unfused")[0].text().ends_with("no fuse at SB"));
        assert!(super::cures::apply_all(&new) >= 1);
        let at = if turned { "from" } else { "to" };
        let fuse = format!(r#"(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1)"#);
        let fused = evaluate(&insert(&new, "runs.W10.protection", &fuse));
        assert!(!fused.findings.iter().any(|f| f.subject.as_str() == "runs.W10"), "{}", texts(&fused));
    }
    let unrated = with(&factory(false), &[("devices.ALT.ratings.amps_a", Value::Unknown)]);
    let waits = run(&evaluate(&unrated), "W10").design_a.clone().expect_err("not rated");
    assert_eq!(waits.0.as_str(), "devices.ALT.ratings.amps_a");
}

/// The maker chose its wire as well: thin by the table in an engine bay, it is a note; a new one is a stop.
/// Source: NEC table 310.17: 4 AWG carries 125 A at 75 C terminals, less than the alternator's 150 A.
#[test]
fn the_factory_charge_lead_is_not_judged_by_the_table() {
    let thin = with(
        &factory(false),
        &[
            ("runs.W10.gauge", Value::Gauge("4 AWG".parse().expect("gauge"))),
            ("runs.W10.legs.L1.zone", word("engine bay")),
            ("devices.ALT.ratings.amps_a", n(150.0)),
        ],
    );
    let r = evaluate(&thin);
    let about: Vec<_> = r.findings.iter().filter(|f| f.subject.as_str() == "runs.W10").collect();
    assert!(about.len() == 1 && about[0].check.id == "makers-lead", "{}", texts(&r));
    assert_eq!(about[0].level, Level::Note);
    assert!(about[0].text().contains("not judged") && about[0].n(0) == 150.0 && about[0].n(1) < 150.0);
    assert!(!r.not_checked.iter().any(|c| c.subject.as_str() == "runs.W10"), "{:?}", r.not_checked);
    let new = evaluate(&with(&thin, &[("runs.W10.legs.L1.state", word("new"))]));
    assert!(says(&new, "conductor-below-current", "runs.W10") && found(&new, "makers-lead").is_empty());
}

pub(super) fn dc_dc(gauge: &str) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let p = insert(
        &p,
        "chargers",
        r#"(id: "DC", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2, input_cutout_v: 10.5)"#,
    );
    let out = r#"(id: "W12", from: "DC", to: "BK", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#;
    let line = format!(
        r#"(id: "W10", from: "SB", to: "DC", gauge: "{gauge}", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#
    );
    insert(&insert(&p, "runs", out), "runs", &line)
}

/// 20 A at 14.2 V and 90 % of 13.2 V: about 24 A. 6 m of 6 AWG (1.35 mohm/m stranded, NEC Chapter 9 Table 8 at 20 C)
/// lose some 0.2 V, over 0.24 V with the fuse: of 2 % of 12 V; 1/0 AWG a quarter of it. Where the plan sets no target the
/// input is judged by its drop-out alone.
/// Source: V^2 - V E + P R = 0; the rules' section on alternators.
#[test]
fn the_input_line_of_a_dc_dc_charger_has_the_target_that_the_plan_sets() {
    let none = evaluate(&dc_dc("8 AWG"));
    assert!(found(&none, "drop-over-target").is_empty(), "{}", texts(&none));
    assert_eq!(run(&none, "W10").target_pct, None);
    assert!(run(&none, "W10").path_drop_pct.clone().expect("known") > 2.0);
    let dc_dc = |gauge: &str| targeted(&dc_dc(gauge), 2.0);
    let thin = evaluate(&dc_dc("8 AWG"));
    let said = found(&thin, "drop-over-target");
    assert_eq!(said.iter().map(|f| f.subject.as_str()).collect::<Vec<_>>(), ["runs.W10"], "{}", texts(&thin));
    assert_eq!((said[0].level, said[0].n(3)), (Level::Caution, 2.0));
    assert!(said[0].text().contains("target 2 % (its input line, rule drop-charger-input"));
    let (v, amps) = (14.2 * 20.0 / 0.9, run(&thin, "W10").drop_at_a.clone().expect("known").0);
    assert!(amps > v / 13.2 && amps < v / 11.0, "{amps}");
    let thick = evaluate(&dc_dc("2 AWG"));
    assert!(found(&thick, "drop-over-target").is_empty(), "{}", texts(&thick));
    assert!(super::cures::apply_all(&dc_dc("8 AWG")) >= 1);
}

/// The plan with a target for the input lines of its DC-DC chargers.
fn targeted(plan: &Plan, pct: f64) -> Plan {
    let mut plan = plan.clone();
    plan.rules.push(coachwire::plan::RuleChange {
        id: "drop-charger-input".parse().expect("id"),
        value: coachwire::plan::Known::Is(coachwire::units::Number(pct)),
        reason: "test".into(),
    });
    plan
}

/// 0.1 % of 12 V are 12 mV: 6 m of 4/0 AWG (0.16 mohm/m, NEC Chapter 9 Table 8) lose more at 24 A. No copper buys that: the
/// line gets what its current and its fuse of 40 A want, whether it had a gauge or none, and says what is left.
#[test]
fn a_target_out_of_reach_buys_no_copper() {
    use coachwire::standards::conductor::area_mm2;
    let mm2 = |g: &str| area_mm2(g.parse().expect("gauge"));
    for (gauge, known) in [("8 AWG", true), ("8 AWG", false)] {
        let mut p = targeted(&dc_dc(gauge), 0.1);
        let line = p.runs.iter_mut().find(|r| r.id.as_str() == "W10").expect("there");
        if !known {
            line.gauge = coachwire::plan::Known::Unknown;
        }
        let proposal = coachwire::engine::Engine::default().propose_sizes(&p, &Default::default(), false);
        let row = proposal.rows.iter().find(|r| r.run.as_str() == "W10").expect("a row");
        let after = row.gauge.1.expect("a gauge");
        assert!(area_mm2(after.gauge) <= mm2("8 AWG") + 1e-9, "{after}: {}", row.why);
        assert!(row.why.contains("target 0.10 %, out of reach of any gauge"), "{}", row.why);
    }
}

/// A 48 V bank with a panel of 12 V behind a converter.
pub(super) fn stepped(efficiency: &str, amps: &str, feed_m: f64) -> Plan {
    let cv = format!(r#"(id: "CV", kind: "12 V converter"{efficiency}, ratings: ({amps}))"#);
    let p = insert(&sound(), "devices", &cv);
    let feed = format!(
        r#"(id: "W21", from: "BUS", to: "CV", gauge: "14 AWG", legs: [(id: "L1", length_m: {feed_m:.1}, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.1)])"#
    );
    let mut p = insert(&p, "runs", &feed);
    p.runs[5].from = coachwire::plan::Known::Is("CV".parse().expect("id"));
    with(&p, &[("bank.series", n(4.0)), ("loads.L1.watts_w", n(240.0))])
}

/// 240 W at 12 V are 20 A; at 48 V 5 A, and at 80 % 6.25 A. Left out, 90 % are taken.
/// Source: P = V I on either side, the converter's share between them.
#[test]
fn a_converter_takes_what_it_loses_as_well() {
    let amps =
        |efficiency: &str, id: &str| run(&evaluate(&stepped(efficiency, "", 1.0)), id).design_a.clone().map(|a| a.0);
    near("behind", amps(", efficiency_pct: 80.0", "W6"), 20.0, 1e-9);
    near("100 %", amps(", efficiency_pct: 100.0", "W21"), 5.0, 1e-9);
    near("80 %", amps(", efficiency_pct: 80.0", "W21"), 6.25, 1e-9);
    near("left out", amps("", "W21"), 5.0 / 0.9, 1e-9);
}

#[test]
fn a_converter_gives_no_more_than_its_amps() {
    assert!(says(&evaluate(&stepped("", "amps_a: 15.0", 1.0)), "converter-over-limit", "devices.CV"));
    for right in ["amps_a: 20.0", ""] {
        assert!(found(&evaluate(&stepped("", right, 1.0)), "converter-over-limit").is_empty(), "{right}");
    }
}

/// 14 AWG at 5.6 A: 10.3 mohm/m and two ways, 10 % of 48 V at some 42 m (NEC Chapter 9 Table 8).
#[test]
fn the_way_to_a_converter_has_the_target_of_loads() {
    let far = evaluate(&stepped("", "", 55.0));
    let said = found(&far, "drop-over-target");
    assert!(
        said.iter().any(|f| f.subject.as_str() == "runs.W21" && f.n(2) == 48.0 && f.n(3) == 10.0),
        "{}",
        texts(&far)
    );
    let near_by = evaluate(&stepped("", "", 3.0));
    assert!(!says(&near_by, "drop-over-target", "runs.W21"), "{}", texts(&near_by));
    assert_eq!(run(&near_by, "W21").target_pct, Some(10.0));
    // A critical load behind it: the tighter one.
    let critical = with(&stepped("", "", 3.0), &[("loads.L1.critical", word("yes"))]);
    assert_eq!(run(&evaluate(&critical), "W21").target_pct, Some(3.0));
}

/// The two conductors of a DC-DC charger's line drawn by themselves, to the start battery's plus and minus, are the pair that they make: the
/// same current, drop and fuse, whichever way the negative is drawn, and no fuse in it. A negative that is longer and thinner loses its
/// own part of the current (Ohm's law; NEC Chapter 9 Table 8), and is held to the fuse of its positive (NEC 240.4).
#[test]
fn a_line_drawn_in_single_conductors_is_the_pair_it_makes() {
    let base = insert(
        &factory(false),
        "chargers",
        r#"(id: "DC", kind: "DC-DC", out_a: 30.0, efficiency_pct: 90.0, alternator: "ALT", absorb_v: 14.2, input_cutout_v: 11.0)"#,
    );
    let out = r#"(id: "W20", from: "DC", to: "BUS", gauge: "4 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
        protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 50.0, distance_m: 0.1)])"#;
    let base = insert(&with(&base, &[("devices.ALT.ratings.amps_a", n(180.0))]), "runs", out);
    let wire = |id: &str, (from, to): (&str, &str), gauge: &str, metres: f64, more: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}", legs: [(id: "L1", length_m: {metres:?}, insulation_c: 105.0)]{more})"#
        )
    };
    let fuse = r#", protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)]"#;
    let none = r#", return_path: "none""#;
    let pair = insert(&base, "runs", &wire("W21", ("SB", "DC"), "4 AWG", 4.0, fuse));
    let single = insert(&base, "runs", &wire("W21", ("SB", "DC"), "4 AWG", 4.0, &format!("{fuse}{none}")));
    let with_back =
        |ends: (&str, &str), gauge: &str, m: f64| insert(&single, "runs", &wire("W22", ends, gauge, m, none));
    let own = ["W21", "W22"];
    let about = |r: &Report| {
        let of = |f: &&coachwire::engine::Finding| own.iter().any(|id| f.subject.as_str() == format!("runs.{id}"));
        r.findings.iter().filter(of).map(|f| (f.check.id, f.level)).collect::<Vec<_>>()
    };
    let together = evaluate(&pair);
    for ends in [("DC", "SB"), ("SB", "DC")] {
        let r = evaluate(&with_back(ends, "4 AWG", 4.0));
        assert_eq!(about(&r), about(&together), "{}", texts(&r));
        assert!(!r.not_checked.iter().any(|c| c.subject.as_str().starts_with("runs.W2")), "{:?}", r.not_checked);
        for id in own {
            near(
                "amps",
                run(&r, id).design_a.clone().map(|a| a.0),
                run(&together, "W21").design_a.clone().expect("known").0,
                1e-6,
            );
            let pct = run(&together, "W21").path_drop_pct.clone().expect("known");
            near("path", run(&r, id).path_drop_pct.clone(), pct, 1e-6);
        }
        assert!(run(&r, "W22").proposed.is_none(), "no fuse belongs there");
    }
    // 9 m of 10 AWG back: 0.9989 ohm/1000 ft at 20 C and 1.24 at 75 C, times what flows.
    let thin = evaluate(&with_back(("DC", "SB"), "10 AWG", 9.0));
    let (volts, amps) =
        (run(&thin, "W22").drop_v.clone().expect("known").0, run(&thin, "W22").drop_at_a.clone().expect("known").0);
    let ohm = |per_kft: f64| 9.0 / 304.8 * per_kft;
    assert!(volts > amps * ohm(0.9989) && volts < amps * ohm(1.24) * 1.1, "{volts} V of {amps} A");
    assert!(amps > run(&together, "W21").drop_at_a.clone().expect("known").0, "what arrives lower draws more");
    assert!(says(&thin, "fuse-above-conductor", "runs.W22"), "{}", texts(&thin));
    super::cures::is_curable(&with_back(("DC", "SB"), "10 AWG", 9.0), "fuse-above-conductor", "runs.W22");
    // Two without any fuse: one of them lacks it.
    let bare = with(&with_back(("DC", "SB"), "4 AWG", 4.0), &[("runs.W21.protection.F1.state", word("removed"))]);
    let r = evaluate(&bare);
    let unfused: Vec<_> = found(&r, "source-end-unfused").iter().map(|f| f.subject.to_string()).collect();
    assert_eq!(unfused, ["runs.W21"], "{}", texts(&r));
}

/// The same over a tow connector: each part of it drawn as a pair or as its two conductors, in any order of the runs, is the same line (Ohm's law).
#[test]
fn a_line_over_a_tow_connector_is_the_same_in_single_conductors() {
    let base = insert(
        &factory(false),
        "chargers",
        r#"(id: "DC", kind: "DC-DC", out_a: 30.0, efficiency_pct: 90.0, alternator: "ALT", absorb_v: 14.2, input_cutout_v: 10.0)"#,
    );
    let out = r#"(id: "W20", from: "DC", to: "BUS", gauge: "4 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
        protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 50.0, distance_m: 0.1)])"#;
    let base = insert(&with(&base, &[("devices.ALT.ratings.amps_a", n(180.0))]), "runs", out);
    let base = insert(&base, "devices", r#"(id: "TOW", kind: "tow connector", ratings: (amps_a: 100.0))"#);
    let wire = |id: &str, from: &str, to: &str, more: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "4 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)]{more})"#
        )
    };
    let fuse = r#", protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)]"#;
    let none = r#", return_path: "none""#;
    let drawn = |is_single: [bool; 2]| {
        let part = |p: &Plan, k: usize, id: &str, (from, to): (&str, &str), fuse: &str| {
            let more = if is_single[k] { format!("{fuse}{none}") } else { fuse.to_string() };
            let p = insert(p, "runs", &wire(id, from, to, &more));
            if is_single[k] { insert(&p, "runs", &wire(&format!("{id}n"), to, from, none)) } else { p }
        };
        part(&part(&base, 0, "W21", ("SB", "TOW"), fuse), 1, "W22", ("TOW", "DC"), "")
    };
    let pairs = evaluate(&drawn([false, false]));
    let about = |r: &Report| {
        let of = |f: &&coachwire::engine::Finding| f.subject.as_str().starts_with("runs.W2") && f.level != Level::Note;
        r.findings.iter().filter(of).map(|f| (f.check.id, f.level)).collect::<Vec<_>>()
    };
    for is_single in [[false, true], [true, true]] {
        let p = drawn(is_single);
        let mut turned = p.clone();
        turned.runs.reverse();
        for p in [p, turned] {
            let r = evaluate(&p);
            assert_eq!(about(&r), about(&pairs), "{is_single:?}: {}", texts(&r));
            let pct = run(&pairs, "W22").path_drop_pct.clone().expect("known");
            near("path", run(&r, "W22").path_drop_pct.clone(), pct, 1e-6);
        }
    }
}
