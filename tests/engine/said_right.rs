//! What findings say and cite: the document of the plan's own basis, the numbers that the technician needs.

use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::entry::{self, Units};
use coachwire::plan::{Edit, Plan, Step, Value, samples};
use coachwire::standards::chemistry::lead_main_interrupt_a;
use coachwire::stock::Stock;

use super::mistakes::{insert, with as edited, word};
use super::samples::{SOUND, WRONG};
use super::{evaluate, plan, says, texts};
use crate::support::near_abs;

const BASES: [&str; 3] = ["US RV", "marine", "metric"];

fn report(edits: &[(&str, Value)]) -> Report {
    evaluate(&edited(&plan(SOUND), edits))
}

fn one<'a>(r: &'a Report, check: &str, subject: &str) -> &'a Finding {
    let mut all = r.findings.iter().filter(|f| f.check.id == check && f.subject.as_str() == subject);
    let first = all.next().unwrap_or_else(|| panic!("no {check} on {subject}:\n{}", texts(r)));
    assert!(all.next().is_none(), "{check} on {subject} twice:\n{}", texts(r));
    first
}

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn gauge(size: &str) -> Value {
    Value::Gauge(size.parse().expect("gauge"))
}

fn sample(name: &str) -> Plan {
    Plan::from_text(samples::sample(name).expect("sample").text).unwrap_or_else(|e| panic!("{e}"))
}

/// Source: NEC 240.4(B), 310.17: 6 AWG carries 95 A at 75 C terminals, so that 100 A ahead of it is the next rating up.
#[test]
fn an_upstream_fuse_rounded_up_says_so() {
    let p = edited(
        &plan(SOUND),
        &[("runs.W6.protection.F1.state", word("removed")), ("runs.W3.protection.F1.amps_a", n(100.0))],
    );
    let r = evaluate(&p);
    let note = one(&r, "next-rating-up", "runs.W6");
    assert_eq!((note.level, note.n(0), note.n(1)), (Level::Note, 100.0, 95.0));
    let text = note.text();
    assert!(text.contains("fuse F1 of W3 of 100 A ahead of it") && text.contains("rule next-rating-up"), "{text}");
    assert_eq!(note.source.place, "240.4(B)");
    assert!(!says(&r, "source-end-unfused", "runs.W6"), "{}", texts(&r));
    // Within its ampacity nothing is rounded; with the rule off the fuse ahead protects it no longer.
    assert!(!says(&evaluate(&edited(&p, &[("runs.W3.protection.F1.amps_a", n(90.0))])), "next-rating-up", "runs.W6"));
    let off = insert(&p, "rules", r#"(id: "next-rating-up", value: 0.0, reason: "strict")"#);
    let off = evaluate(&off);
    assert!(!says(&off, "next-rating-up", "runs.W6"));
    assert_eq!(one(&off, "source-end-unfused", "runs.W6").level, Level::Stop);
}

/// Source: the rule's own margin of 1.1 over a fault that is known; 13.3 V through 1 mohm and the cable to the fuse.
#[test]
fn interrupt_messages_show_the_margin_and_what_is_needed() {
    let r = evaluate(&plan(WRONG));
    let f = one(&r, "interrupt-below-fault", "runs.W5");
    assert!((f.n(3) - 1.1 * f.n(0)).abs() < 1e-6 && f.n(4) == 1.1, "{:?}", f.numbers);
    assert!(f.n(0) > 12_500.0 && f.n(0) < 13_300.0, "{}", f.n(0));
    let said = format!("{:.1} kA x 1.1 = {:.1} kA needed", f.n(0) / 1000.0, f.n(3) / 1000.0);
    let text = f.text();
    assert!(text.contains(&said) && text.contains("interrupts 6.0 kA at 15.8 V DC"), "{text}");
}

/// Source: ABYC E-11, interrupting capacity by cold cranking amps: its rows are ratings asked for, and 1.1 is not
/// taken of them again.
#[test]
fn cranking_amp_rows_are_ratings_themselves() {
    let lead = |family: &'static str, interrupt: Option<f64>| {
        let own = interrupt.map_or(Value::Nothing, n);
        report(&[
            ("bank.chemistry", word("AGM")),
            ("bank.ohmic_mohm", Value::Nothing),
            ("bank.cca_a", n(200.0)),
            ("runs.W3.protection.F1.family", word(family)),
            ("runs.W3.protection.F1.interrupt_a", own),
        ])
    };
    let table = lead_main_interrupt_a(200.0 * 3.0);
    let weak = lead("ISO 8820-5 SF30", Some(1000.0));
    near_abs("at the posts", weak.bank.fault_a.clone().unwrap().0, table, 1e-9);
    let f = one(&weak, "interrupt-below-fault", "runs.W3");
    assert_eq!((f.n(3), f.n(4)), (f.n(0), 1.0));
    let text = f.text();
    assert!(text.contains("the table by cold cranking amps asks for") && !text.contains("1.1"), "{text}");
    assert!(!says(&lead("UL 248-15 T", Some(table)), "interrupt-below-fault", "runs.W3"), "the row itself is enough");
    // Behind leads it is no longer a row of the table, and is not called one.
    let far = report(&[
        ("bank.chemistry", word("AGM")),
        ("bank.ohmic_mohm", Value::Nothing),
        ("bank.cca_a", n(200.0)),
        ("runs.W3.legs.L1.length_m", n(6.0)),
        ("runs.W3.gauge", Value::Gauge("8 AWG".parse().unwrap())),
        ("runs.W5.protection.F1.interrupt_a", n(200.0)),
    ]);
    let f = one(&far, "interrupt-below-fault", "runs.W5");
    assert!(f.n(0) < table - 100.0, "{}", f.n(0));
    let said = format!(
        "the fault there, reckoned from the {:.1} kA of the table by cold cranking amps, asks for",
        table / 1000.0
    );
    assert!(f.text().contains(&said), "{}", f.text());
}

/// Source: NEC 110.3(B); elsewhere what the inverter's sheet says, which is no clause of the NEC.
#[test]
fn a_device_that_limits_its_fuse_is_named() {
    for basis in BASES {
        let r = report(&[("job.basis", word(basis)), ("inverters.INV.ratings.max_fuse_a", n(100.0))]);
        let f = one(&r, "fuse-above-conductor", "runs.W5");
        assert_eq!((f.level, f.n(0), f.n(1)), (Level::Stop, 150.0, 100.0));
        assert!(f.text().contains("fuse F1 of 150 A, INV allows 100 A"), "{}", f.text());
        let cited = f.source.to_string();
        assert!(cited.contains("the equipment's instructions"), "{cited}");
        assert_eq!(cited.contains("NEC 110.3(B)"), basis == "US RV", "{cited}");
    }
    let wire = report(&[("runs.W6.protection.F1.amps_a", n(110.0)), ("inverters.INV.ratings.max_fuse_a", n(400.0))]);
    let f = one(&wire, "fuse-above-conductor", "runs.W6");
    assert!(f.text().contains("its conductor allows 95 A") && f.source.place == "310.15", "{}", f.text());
}

/// The batteries' instructions limit the fuse at their post, of a lead that three share to three times as much; what hangs on
/// the bus is no matter of theirs. Source: NEC 110.3(B).
#[test]
fn batteries_that_limit_their_fuse_are_named() {
    let of = |each_a: f64| report(&[("bank.ratings.max_fuse_a", n(each_a))]);
    let wrong = of(45.0);
    let f = one(&wrong, "fuse-above-conductor", "runs.W3");
    assert_eq!((f.level, f.n(0), f.n(1)), (Level::Stop, 150.0, 135.0));
    assert!(f.text().contains("fuse F1 of 150 A, BK allows 135 A"), "{}", f.text());
    assert!(!says(&wrong, "fuse-above-conductor", "runs.W5"), "behind the bus");
    let p = edited(&plan(SOUND), &[("bank.ratings.max_fuse_a", n(45.0))]);
    super::cures::is_curable(&p, "fuse-above-conductor", "runs.W3");
    super::cures::apply_all(&p);
    assert!(!says(&of(50.0), "fuse-above-conductor", "runs.W3"), "three of 50 A are 150 A");
}

/// Plans with many things wrong.
fn wrong_plans() -> Vec<Plan> {
    let mut all: Vec<Plan> = ["thistle", "bramble", "larkspur", "marram", "sorrel"].map(sample).into();
    all.push(plan(WRONG));
    let many: [&[(&str, Value)]; 9] = [
        &[("runs.W3.protection.F1.state", word("removed")), ("runs.W6.gauge", gauge("14 AWG"))],
        &[("runs.W3.protection.F1.distance_m", n(0.55)), ("runs.W6.legs.L1.zone", word("engine bay"))],
        &[("runs.W2.protection.F1.volts_dc_v", n(12.0)), ("runs.W5.protection.F1.amps_a", n(70.0))],
        &[("arrays.A1.strings", Value::Text("1S4P P1".into())), ("runs.W1.gauge", gauge("16 AWG"))],
        &[("bank.chemistry", word("flooded")), ("bank.vented", word("no")), ("bank.zone", word("gas locker"))],
        &[("controllers.C1.zone", word("gas locker")), ("runs.W1.protection.F1.amps_a", n(15.0))],
        &[("runs.W5.gauge", gauge("6 AWG")), ("runs.W5.legs.L1.per_pole", n(2.0)), ("runs.W7.gauge", gauge("8 AWG"))],
        &[("runs.W1.legs.L1.ambient_c", n(95.0)), ("arrays.A1.strings", Value::Text("4S1P P1".into()))],
        &[("devices.SW.ratings.amps_a", n(50.0)), ("runs.W1.protection.F1.volts_dc_v", n(32.0))],
    ];
    all.extend(many.iter().map(|edits| edited(&plan(SOUND), edits)));
    all
}

/// Source: each body of rules is its own: the NEC is no law for boats or metric coaches, nor the boat law for US coaches.
#[test]
fn every_finding_cites_its_own_basis() {
    let mut cited: Vec<(String, &str)> = Vec::new();
    for p in wrong_plans() {
        for basis in BASES {
            let r = evaluate(&edited(&p, &[("job.basis", word(basis))]));
            cited.extend(r.findings.iter().map(|f| (format!("{} of {}: {}", f.check.id, f.subject, f.source), basis)));
            for f in &r.findings {
                // Where a label gives no coefficient the table itself is what the volts are taken from.
                let table = f.source.place == "Table 690.7(A)";
                let said = format!("{} {}", f.source, f.text());
                let fits = match basis {
                    "US RV" => {
                        !["33 CFR", "ISO ", "IEC ", "EN "].iter().any(|x| said.contains(x))
                            || f.check.id == "vents-small"
                    }
                    _ => table || !said.contains("NEC"),
                };
                assert!(fits, "{basis}: {} on {}: {said}", f.check.id, f.subject);
            }
        }
    }
    let has = |basis: &str, what: &str| cited.iter().any(|(s, b)| *b == basis && s.contains(what));
    for (basis, what) in [
        ("US RV", "NEC 310.15"),
        ("US RV", "NEC 552.10(E)"),
        ("marine", "33 CFR 183.425 Table 5"),
        ("marine", "33 CFR 183.455"),
        ("metric", "33 CFR 183.425 Table 5 by copper area"),
        ("metric", "ISO 10133 200 mm"),
        ("metric", "EN 1949"),
        ("marine", "ABYC A-1"),
        ("US RV", "NFPA 1192"),
    ] {
        assert!(has(basis, what), "{basis} never cites {what}");
    }
}

/// Source: 49 CFR 393.43(d) is about brakes of trailers that break away; NFPA 1192 asks for the detectors.
#[test]
fn life_safety_cites_what_asks_for_each_load() {
    for (name, us, metric) in [
        ("Breakaway brakes", "49 CFR 393.43(d)", "common practice"),
        ("Propane detector", "NFPA 1192 gas", "EN 50194-2"),
        ("LP gas alarm", "NFPA 1192 gas", "EN 50194-2"),
        ("CO alarm", "NFPA 1192 carbon monoxide", "EN 50291-2"),
        ("Step interlock", "common practice", "common practice"),
    ] {
        for (basis, want) in [("US RV", us), ("metric", metric)] {
            let edits = [
                ("job.basis", word(basis)),
                ("loads.L1.life_safety", word("yes")),
                ("loads.L1.name", Value::Text(name.into())),
                ("runs.W6.to", Value::Id("L1".parse().expect("id"))),
            ];
            let r = report(&edits);
            let f = one(&r, "life-safety-behind-switch", "loads.L1");
            assert!(f.source.to_string().starts_with(want), "{name}, {basis}: {}", f.source);
        }
    }
}

/// Source: NEC 690 is about PV circuits; 210.20(A) and 215.3 ask for 125 % of continuous load, 110.4 for enough volts.
#[test]
fn battery_fuses_cite_no_pv_rule() {
    let small = |at: &str, run: &str| {
        let r = report(&[(at, n(5.0))]);
        one(&r, "fuse-below-design", run).source.to_string()
    };
    for (at, run) in [("runs.W5.protection.F1.amps_a", "runs.W5"), ("runs.W2.protection.F1.amps_a", "runs.W2")] {
        assert!(small(at, run).starts_with("NEC 210.20(A), 215.3"), "{}", small(at, run));
    }
    assert!(small("runs.W1.protection.F1.amps_a", "runs.W1").starts_with("NEC 690.9(B)"));
    let volts = |at: &str, run: &str| one(&report(&[(at, n(10.0))]), "fuse-volts-low", run).source.place;
    assert!(volts("runs.W2.protection.F1.volts_dc_v", "runs.W2").starts_with("110.4"));
    assert_eq!(volts("runs.W1.protection.F1.volts_dc_v", "runs.W1"), "690.7(A)");
}

/// Source: the circuit reaches the highest volts that any charger on it is set to, equalising included.
#[test]
fn charge_settings_raise_the_volts_of_the_circuit() {
    let fused = ("runs.W5.protection.F1.volts_dc_v", n(16.0));
    let lead = [("bank.chemistry", word("flooded")), fused.clone()];
    let equalised = [lead[0].clone(), fused.clone(), ("controllers.C1.equalise_v", n(16.2))];
    assert!(!says(&report(&lead), "fuse-volts-low", "runs.W5"), "{}", texts(&report(&lead)));
    let f = report(&equalised);
    let f = one(&f, "fuse-volts-low", "runs.W5");
    assert_eq!((f.level, f.n(0), f.n(1)), (Level::Stop, 16.0, 16.2));
    let label = report(&[lead[0].clone(), fused, ("bank.max_charge_v", n(16.4))]);
    assert_eq!(one(&label, "fuse-volts-low", "runs.W5").n(1), 16.4);
    let device = report(&[lead[0].clone(), equalised[2].clone(), ("devices.SW.ratings.volts_dc_v", n(16.0))]);
    let f = one(&device, "device-volts-low", "devices.SW");
    assert_eq!(f.n(1), 16.2);
    assert!(f.source.place.starts_with("110.4") && f.text().contains("16 V DC, its circuit reaches 16.2 V"));
}

/// A main fuse that is missing is one thing to mend: what hangs on it unfused is named there. A run that no fuse of
/// the first one's size could protect is another place.
#[test]
fn one_missing_main_fuse_is_one_stop() {
    let stops = |r: &Report| -> Vec<String> {
        let all = r.findings.iter().filter(|f| f.level == Level::Stop);
        all.map(|f| format!("{} {}", f.check.id, f.subject)).collect()
    };
    let bare = ("runs.W3.protection.F1.state", word("removed"));
    let r = report(std::slice::from_ref(&bare));
    assert_eq!(stops(&r), ["source-end-unfused runs.W3"]);
    let text = one(&r, "source-end-unfused", "runs.W3").text();
    assert!(text.contains("no fuse at BK") && text.contains("W4 behind it"), "{text}");
    let thin = report(&[bare, ("runs.W4.gauge", gauge("14 AWG"))]);
    assert_eq!(one(&thin, "source-end-unfused", "runs.W4").level, Level::Stop);
    assert!(!one(&thin, "source-end-unfused", "runs.W3").text().contains("W4"));
    // Both ends of one thin wire: the bank's fault, and what the controller can push into it.
    let both = evaluate(&edited(&sample("thistle"), &[("runs.W3.protection.F1.state", word("removed"))]));
    let text = one(&both, "source-end-unfused", "runs.W3").text();
    assert!(text.contains("at BK and none at C1, where 52.0 A can be pushed into the 47.9 A"), "{text}");
    assert!(!says(&both, "charger-end-unfused", "runs.W3"));
}

fn cures(p: &Plan, check: &str, subject: &str) -> Vec<Step> {
    let r = evaluate(p);
    Engine::default().cures(p, &Stock::default(), one(&r, check, subject))
}

#[test]
fn a_cure_says_what_it_changes() {
    let p = edited(&plan(SOUND), &[("runs.W3.protection.F1.distance_m", n(0.55))]);
    let names: Vec<String> = cures(&p, "fuse-far-from-source", "runs.W3").into_iter().map(|s| s.name).collect();
    assert!(names.iter().any(|s| s == "W3 F1 nearer: to BK's terminal"), "{names:?}");
    assert!(names.iter().all(|s| !s.contains("moved")), "it is at that end: {names:?}");
    for p in wrong_plans() {
        for f in &evaluate(&p).findings {
            for step in Engine::default().cures(&p, &Stock::default(), f) {
                let after = p.with(&step).expect("applies");
                assert_ne!(after, p, "{step:?} changes nothing");
                for edit in &step.edits {
                    let Edit::Set { at, to } = edit else { continue };
                    let moved_there = at.as_str().ends_with(".at") && p.get_at(at).as_ref() == Some(to);
                    assert!(!(moved_there && step.name.contains("moved")), "{step:?}: it is there already");
                }
                let fuse = |p: &Plan| p.runs.iter().flat_map(|r| r.protection.clone()).collect::<Vec<_>>();
                assert!(!step.name.contains("with fuse") || fuse(&p) != fuse(&after), "{step:?} leaves the fuse");
            }
        }
    }
}

/// The percentage over its target reads above it, however little it is over.
#[test]
fn a_drop_just_over_its_target_reads_over_it() {
    just_over("2");
    just_over("10");
}

fn just_over(target: &str) {
    let p = insert(&plan(SOUND), "rules", &format!(r#"(id: "drop-inverter", value: {target}.0, reason: "test")"#));
    let at = |metres: f64| {
        let p = edited(&p, &[("runs.W5.legs.L1.length_m", n(metres)), ("runs.W5.gauge", gauge("1/0 AWG"))]);
        let r = evaluate(&p);
        let f = r.findings.iter().find(|f| f.check.id == "drop-over-target" && f.text().contains("INV:")).cloned();
        // As the screen and `check` print it.
        f.map(|f| (f.n(0), f.n(3), entry::said(Units::of(&p), &f.text(), &f.numbers)))
    };
    let (mut short, mut long) = (0.3, 40.0);
    assert!(at(short).is_none() && at(long).is_some(), "{:?} {:?}", at(short), at(long));
    let mut seen = 0;
    for _ in 0..24 {
        let metres = 0.5 * (short + long);
        let Some((pct, target, text)) = at(metres) else {
            short = metres;
            continue;
        };
        long = metres;
        let said: Vec<f64> = text
            .split_whitespace()
            .zip(text.split_whitespace().skip(1))
            .filter(|(_, u)| u.starts_with('%'))
            .filter_map(|(x, _)| x.parse().ok())
            .collect();
        assert_eq!(said.len(), 2, "{text}");
        assert!((said[1] - target).abs() < 1e-9 && (said[0] - pct).abs() < 0.06, "{text}");
        assert!(said[0] > said[1] || text.contains("just over its target of"), "{pct}: {text}");
        seen += 1;
    }
    assert!(seen > 5, "{seen}");
}

/// Source: 4 x 24.9 V at -0.28 %/K is 105 V at 25 - (105/99.6 - 1)/0.0028 = 5.6 C; 840 W at 97 % and 12.8 V are 63.7 A.
#[test]
fn thistle_says_what_a_technician_does_next() {
    let p = sample("thistle");
    let r = evaluate(&p);
    let cold = one(&r, "cold-voc-over-limit", "arrays.A1");
    near_abs("meets the limit", cold.n(4), 25.0 - (105.0 / 99.6 - 1.0) / 0.0028, 1e-9);
    assert!(cold.text().ends_with("exceeded below 5.6 C"), "{}", cold.text());
    let unknown = evaluate(&edited(&p, &[("panels.P1.beta_pct_k", Value::Unknown)]));
    let table = one(&unknown, "cold-voc-over-limit", "arrays.A1");
    assert!(!table.text().contains("below") && table.source.place == "Table 690.7(A)", "{}", table.text());

    let breaker = cures(&p, "device-volts-low", "devices.PVD");
    assert_eq!(breaker.iter().map(|s| s.name.as_str()).collect::<Vec<_>>(), ["PVD: another, made for 125 V DC"]);
    let after = evaluate(&p.with(&breaker[0]).expect("applies"));
    assert!(!says(&after, "device-volts-low", "devices.PVD"));

    let nearer = cures(&p, "drop-over-target", "runs.W3");
    let step = nearer.iter().find(|s| s.name.starts_with("C1 nearer: W3 ")).expect("nearer");
    let moved = p.with(step).expect("applies");
    let length = |p: &Plan, run: &str| -> f64 {
        let run = p.runs.iter().find(|r| r.id.as_str() == run).expect("run");
        run.legs.iter().map(|l| l.length_m.known().expect("length").0).sum()
    };
    let (shorter, longer) = (length(&p, "W3") - length(&moved, "W3"), length(&moved, "W2") - length(&p, "W2"));
    assert!(shorter > 3.0 && length(&moved, "W3") >= 0.6, "{shorter}");
    near_abs("the panels' wire takes what the bank's saves", longer, shorter, 1e-9);
    assert!(!says(&evaluate(&moved), "drop-over-target", "runs.W3"));

    let clips = one(&r, "clipping", "controllers.C1");
    assert_eq!(clips.level, Level::Note);
    near_abs("840 W at 12.8 V", clips.n(3), 840.0 * 0.97 / 12.8, 1e-9);
    assert!(clips.text().contains("limit of 52 A is under the 63.7 A"), "{}", clips.text());
}

/// Source: NFPA 1192, gas container compartments; NEC 552.10(D) for batteries that gas.
#[test]
fn controllers_and_disconnects_spark_too() {
    let p = insert(&plan(SOUND), "devices", r#"(id: "PVD", kind: "PV disconnect")"#);
    for (zone, subject) in [("controllers.C1.zone", "controllers.C1"), ("devices.PVD.zone", "devices.PVD")] {
        let r = evaluate(&edited(&p, &[(zone, word("gas locker"))]));
        assert_eq!(one(&r, "sparks-by-gas", subject).level, Level::Stop);
        assert!(!says(&evaluate(&edited(&p, &[(zone, word("cabinet"))])), "sparks-by-gas", subject));
        let gassing = [("bank.chemistry", word("flooded")), ("bank.zone", word("battery box"))];
        let beside = [gassing[0].clone(), gassing[1].clone(), (zone, word("battery box"))];
        assert_eq!(one(&evaluate(&edited(&p, &beside)), "sparks-by-battery", subject).level, Level::Stop);
    }
    // A breaker drawn on a run stands where its leg does; a fuse there is closed.
    let leg = ("runs.W1.legs.L1.zone", word("gas locker"));
    assert_eq!(one(&evaluate(&edited(&p, std::slice::from_ref(&leg))), "sparks-by-gas", "runs.W1").level, Level::Stop);
    let fused = [leg, ("runs.W1.protection.F1.family", word("IEC 60269-6 gPV"))];
    assert!(!says(&evaluate(&edited(&p, &fused)), "sparks-by-gas", "runs.W1"));
    let sealed = [("controllers.C1.zone", word("gas locker")), ("controllers.C1.ratings.sparks", word("no"))];
    assert!(!says(&evaluate(&edited(&p, &sealed)), "sparks-by-gas", "controllers.C1"));
}

/// Source: NEC 551 and 552 for coaches, 33 CFR 183 for boats: what governs follows the plan's basis. No clause of the code for coaches is cited to a boat or
/// a metric plan, neither by a finding nor by a field's help nor in the working, but where that code's own table is what
/// was read (690.7(A), for panels without a coefficient) or the boat law's table is (metric).
#[test]
fn no_clause_for_coaches_is_cited_to_boats_and_metric_work() {
    use coachwire::plan::samples::sample;
    use coachwire::standards::cited::of_field;
    use coachwire::standards::kinds::Basis;
    let table = "Table 690.7(A)";
    for (word_of, basis, start) in
        [("marine", Basis::Marine, "33 CFR 183"), ("metric", Basis::Metric, "33 CFR 183.425")]
    {
        for plan in [sample("thistle"), sample("larkspur"), sample("sorrel"), sample("bramble")] {
            let p = coachwire::plan::Plan::from_text(plan.expect("sample").text).unwrap_or_else(|e| panic!("{e}"));
            let p = super::mistakes::with(&p, &[("job.basis", word(word_of))]);
            let r = super::evaluate(&p);
            for f in &r.findings {
                let source = f.source.to_string();
                assert!(!source.contains("NEC") || source.contains(table), "{word_of} {}: {source}", f.check.id);
                assert!(!f.text().contains("NEC"), "{}", f.text());
            }
            for run in &p.runs {
                for (label, _, source) in coachwire::engine::working(&p, &run.id) {
                    assert!(!source.to_string().contains("NEC"), "{word_of} {} {label}: {source}", run.id);
                }
            }
        }
        let p = super::plan(super::samples::SOUND);
        let of = |at: &str| p.meta(&coachwire::plan::FieldPath::new(at)).expect(at).source;
        for (at, us, here) in [
            ("runs.W1.legs.L1.insulation_c", "NEC 310.15", start),
            ("runs.W1.legs.L1.ambient_c", "NEC 310.15", start),
            ("runs.W1.legs.L1.bundled", "NEC 310.15", start),
            (
                "runs.W1.protection.F1.distance_m",
                "NEC 552.10(E)",
                if word_of == "marine" { "33 CFR 183.455" } else { "ISO 10133" },
            ),
            ("panels.P1.beta_pct_k", "NEC 690.7(A)", if word_of == "marine" { "the equipment" } else { "IEC 62548" }),
        ] {
            assert!(of_field(of(at), Basis::UsRv).to_string().starts_with(us), "{at}");
            let there = of_field(of(at), basis).to_string();
            assert!(there.starts_with(here), "{at}: {there}");
        }
        // What is not a rule stays what it is.
        assert_eq!(of_field(of("bank.unit_ah"), basis), of("bank.unit_ah"));
    }
}

/// From memory, makers' sheets: class T 0.06 V at rating, shunt 0.05 V at rating, switch 0.15 mohm, lugged joint 0.05 mohm. On the
/// way to the inverter of larkspur: 400 A class T at 305.5 A 0.046 V, the switch 0.046 V, six joints at 305.5 A 0.092 V and
/// four at 284.1 A 0.057 V; the 500 A shunt and two joints beside it, where the 14.1 A of the brakes come back as well,
/// 0.032 and 0.032 V: 0.304 V, over the 0.24 V that 2 % of 12 V are. What wire can mend says nothing of the kind.
#[test]
fn fittings_that_no_wire_mends_are_said() {
    let p = Plan::from_text(samples::sample("larkspur").expect("sample").text).unwrap_or_else(|e| panic!("{e}"));
    let r = evaluate(&p);
    let f = one(&r, "drop-over-target", "runs.W7");
    near_abs("fittings, V", f.n(4), 0.304, 0.002);
    assert!(f.text().contains("; 0.30 V of it in fuses, switches and lugs, which no wire mends:"), "{}", f.text());
    let thin = report(&[("runs.W5.legs.L1.length_m", n(3.0))]);
    let f = thin.findings.iter().find(|f| f.check.id == "drop-over-target").expect("over");
    assert!(!f.text().contains("which no wire mends"), "{}", f.text());
}

/// What a fault is called is the same in the finding and beside the run: the table's row where it is one, else that it is reckoned from it.
/// Rows of the table by cold cranking amps: ABYC E-11, 3 kA from 651 to 1100.
#[test]
fn a_fault_is_called_the_same_in_the_finding_and_beside_the_run() {
    let p = insert(&super::mistakes::sound(), "devices", r#"(id: "SB", kind: "start battery", cca_a: 700.0)"#);
    let p = insert(&p, "loads", r#"(id: "L9", name: "winch", watts_w: 240.0, hours_day: 0.1)"#);
    for metres in [3.0, 0.3] {
        let run = format!(
            r#"(id: "W20", from: "SB", to: "L9", gauge: "8 AWG", legs: [(id: "L1", length_m: {metres:?}, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 30.0, distance_m: 0.1)])"#
        );
        let p = insert(&p, "runs", &run);
        let r = evaluate(&p);
        let f = one(&r, "interrupt-below-fault", "runs.W20");
        let called = f.name(2).to_string();
        assert_eq!(lead_main_interrupt_a(700.0), 3000.0);
        let is_row = format!("{:.1}", f.n(0) / 1000.0) == "3.0";
        let said = if is_row { "the table by" } else { "the fault there, reckoned from the 3.0 kA of the table by" };
        assert!(called.starts_with(said), "{} A: {called}", f.n(0));
        let figures = r.runs.iter().find(|x| x.id.as_str() == "W20").expect("run");
        let beside = coachwire::wording::run::fuse_fault(&p, "W20", &figures.fuses[0]);
        assert!(beside.contains(&format!("; {called} asks for ")), "{beside}\n{}", f.text());
    }
}
