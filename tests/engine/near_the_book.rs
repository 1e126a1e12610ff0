//! Mistakes that lie close to what is right: each beside a twin that is right and stays silent.

use super::cures::{cures, is_curable};
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

/// LFP takes no charge below 0 C (`battery_chemistry.csv`); the coach sees -12 C. A cut-off of -10 C lets charge in from there up
/// to 0 C, one of -20 C all that the coach sees; one of 0 C or 5 C, a heated space, or a maker's sheet for the cold prevents it.
#[test]
fn a_cut_off_below_what_lithium_is_charged_at_is_said() {
    let of = |cut_off: f64| with(&sound(), &[("bank.charge_cutoff_c", n(cut_off))]);
    let level = |p: &Plan| found(&evaluate(p), "lithium-charged-cold").first().map(|f| f.level);
    assert_eq!(level(&of(-10.0)), Some(Level::Stop));
    assert_eq!(level(&of(-20.0)), Some(Level::Stop));
    let r = evaluate(&of(-10.0));
    let text = found(&r, "lithium-charged-cold")[0].text();
    assert!(text.contains("lets charge in down to -10 C") && text.contains("rule lfp-charge-least-c"), "{text}");
    is_curable(&of(-10.0), "lithium-charged-cold", "bank");
    let steps = cures(&of(-20.0), "lithium-charged-cold", "bank");
    assert!(steps[0].name.contains("no charge below"), "{}", steps[0].name);
    for right in [
        of(0.0),
        of(5.0),
        with(&of(-10.0), &[("bank.heated", word("yes"))]),
        with(&of(-20.0), &[("job.coldest_c", n(3.0))]),
        insert(&of(-20.0), "rules", r#"(id: "lfp-charge-least-c", value: -20.0, reason: "the maker's sheet")"#),
    ] {
        assert_eq!(level(&right), None, "{}", texts(&evaluate(&right)));
    }
    // A heater that holds it, and one that does not.
    assert_eq!(level(&with(&of(-10.0), &[("bank.heater_w", n(200.0))])), None);
    let weak = with(&of(-10.0), &[("bank.heater_w", n(1.0))]);
    assert_eq!(level(&weak), Some(Level::Stop), "{}", texts(&evaluate(&weak)));
}

/// What is entered as the coldest air gets colder, and nothing else changes: nothing about the cold gets milder. Colder air was as
/// warm before, on its way down.
#[test]
fn colder_air_makes_nothing_milder() {
    let about_cold =
        ["lithium-charged-cold", "coldest-above-stays", "cold-voc-over-limit", "device-volts-low", "fuse-volts-low"];
    let worst = |p: &Plan, c: f64| {
        let r = evaluate(&with(p, &[("job.coldest_c", n(c))]));
        r.findings.iter().filter(|f| about_cold.contains(&f.check.id)).map(|f| f.level).min()
    };
    // A graver level is the lesser one; none is the mildest.
    let rank = |level: Option<Level>| level.map_or(3, |l| l as u8);
    let start = |cut_off: f64| {
        let battery = format!(r#"(id: "SB", kind: "start battery", chemistry: "LFP", charge_cutoff_c: {cut_off:?})"#);
        insert(&sound(), "devices", &battery)
    };
    let of = |cut_off: f64| with(&sound(), &[("bank.charge_cutoff_c", n(cut_off))]);
    let heated = |watts: f64| with(&of(-20.0), &[("bank.heater_w", n(watts))]);
    let mut stops = 0;
    for p in [
        of(-25.0),
        of(-20.0),
        of(-5.0),
        of(-0.5),
        of(0.0),
        start(-20.0),
        start(-3.0),
        heated(1.0),
        heated(20.0),
        heated(60.0),
    ] {
        let mut before = 3;
        for tenths in (-400..=250).rev().step_by(5) {
            let coldest = f64::from(tenths) / 10.0;
            let now = rank(worst(&p, coldest));
            assert!(now <= before, "{coldest} C: {now} after {before}");
            before = now;
        }
        stops += usize::from(before == 0);
    }
    assert!(stops >= 8, "{stops}");
}

/// Two packs on a lead each to one bar; the negatives come from the shunt, but for what is told.
fn two_packs(negatives: [&str; 2]) -> Plan {
    let mut p = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 500.0))"#);
    p = insert(&p, "devices", r#"(id: "BB", kind: "bus")"#);
    p = with(&p, &[("bank.parallel", n(2.0)), ("runs.W3.from", id("BB")), ("runs.W3.negative_from", id("SHN"))]);
    p = with(&p, &[("runs.W4.negative_from", id("SHN")), ("runs.W7.from", id("SHN"))]);
    p.runs.iter_mut().find(|r| r.id.as_str() == "W3").expect("main").protection.clear();
    for (i, negative) in negatives.iter().enumerate() {
        let lead = format!(
            r#"(id: "B{i}", from: "BK", to: "BB", gauge: "2/0 AWG", negative_from: "{negative}", legs: [(id: "L1",
                length_m: 0.5, insulation_c: 105.0)], protection: [(id: "F1", at: "from", family: "UL 248-15 T",
                amps_a: 110.0, distance_m: 0.1)])"#
        );
        p = insert(&p, "runs", &lead);
    }
    p
}

/// One battery's negative straight on the post: by it current goes round the shunt (Kirchhoff).
#[test]
fn one_packs_negative_past_the_shunt_is_a_way_round_it() {
    let right = evaluate(&two_packs(["SHN", "SHN"]));
    assert!(found(&right, "shunt-bypass").is_empty(), "{}", texts(&right));
    let wrong = two_packs(["SHN", "BK-"]);
    let r = evaluate(&wrong);
    let f = found(&r, "shunt-bypass");
    assert!(f.len() == 1 && f[0].subject.as_str() == "runs.B1" && f[0].level == Level::Caution, "{}", texts(&r));
    is_curable(&wrong, "shunt-bypass", "runs.B1");
    assert!(says(&evaluate(&two_packs(["BK-", "SHN"])), "shunt-bypass", "runs.B0"));
    // Both from the post to a bar that the shunt's own negative leaves: right, as nothing goes by another way.
    let mut home = two_packs(["BK-", "BK-"]);
    for run in home.runs.iter_mut().filter(|r| r.id.as_str().starts_with('B')) {
        run.negative_to = Some(coachwire::plan::Known::Is("SHN".parse().expect("id")));
    }
    assert!(found(&evaluate(&home), "shunt-bypass").is_empty(), "{}", texts(&evaluate(&home)));
}

fn fault_a(r: &Report, run: &str) -> f64 {
    let run = r.runs.iter().find(|x| x.id.as_str() == run).expect("run");
    run.fuses[0].fault_a.clone().expect("known").0
}

/// The sound plan with 12 m to its bar, its bond on the bank's negative post, 0.2 m of it, and a fuse of the panel's feed that
/// opens so much.
fn bonded(opens_a: f64) -> Plan {
    let edits = [
        ("runs.W4.legs.L1.length_m", n(12.0)),
        ("runs.W7.from", id("BK-")),
        ("runs.W7.legs.L1.length_m", n(0.2)),
        ("runs.W6.protection.F1.interrupt_a", n(opens_a)),
    ];
    with(&sound(), &edits)
}

/// By hand, 13.3 V and three packs of 3 mohm, cold (NEC Chapter 9 Table 8 at 20 C: 4/0 AWG 0.0499 ohm per 1000 ft, 6 AWG 0.402):
/// the fuse of the panel's feed has 12.6 m of 4/0 there and back ahead of it, and 0.1 m of its own run one way. To the frame
/// it is 12.6 m out and 0.2 m of bond back, and the ohms of frame and joints, which nobody knows.
#[test]
fn a_fault_to_the_frame_may_be_more_than_one_to_the_negative() {
    let per_m = |per_1000_ft: f64| per_1000_ft / 304.8;
    let (main, own, bond) = (12.6 * per_m(0.0499), 0.1 * per_m(0.402), 0.2 * per_m(0.0499));
    let by_negatives = 13.3 / (0.001 + 2.0 * main + own);
    let by_frame = 13.3 / (0.001 + main + bond + own);
    near("by the negatives", Ok(fault_a(&evaluate(&bonded(9000.0)), "W6")), by_negatives, 0.01);
    // Between the two: no stop, as the frame's ohms are not known, and said with those that would do.
    let opens = by_negatives * 1.15 * 1.1;
    let r = evaluate(&bonded(opens));
    let f = found(&r, "interrupt-below-frame-fault");
    assert!(f.len() == 1 && f[0].subject.as_str() == "runs.W6" && f[0].level == Level::Note, "{}", texts(&r));
    near("fault", Ok(f[0].n(0)), by_frame, 0.01);
    near("ohms that would do", Ok(f[0].n(4)), 13.3 * 1.1 / opens - 13.3 / by_frame, 0.15);
    assert!(!says(&r, "interrupt-below-fault", "runs.W6"));
    // Below both it is a stop, above both nothing; nor without a bond, nor with one behind the bar.
    let low = evaluate(&bonded(by_negatives));
    assert!(says(&low, "interrupt-below-fault", "runs.W6") && found(&low, "interrupt-below-frame-fault").is_empty());
    let mut unbonded = bonded(opens);
    unbonded.runs.retain(|r| r.id.as_str() != "W7");
    let at_bar = with(&bonded(opens), &[("runs.W7.from", id("BUS")), ("runs.W7.legs.L1.length_m", n(0.6))]);
    // Nor where any frame has the ohms that would do.
    for right in [bonded(by_frame * 1.12), bonded(by_frame * 1.05), unbonded, at_bar, sound()] {
        assert!(found(&evaluate(&right), "interrupt-below-frame-fault").is_empty(), "{}", texts(&evaluate(&right)));
    }
}

/// Small packs on long wire: a frame would have to bring more ohms than steel and bolts have, and it is a caution.
#[test]
fn a_fault_to_the_frame_that_no_frame_makes_small_is_a_caution() {
    let long =
        [("runs.W4.legs.L1.length_m", n(12.0)), ("runs.W4.gauge", Value::Gauge("6 AWG".parse().expect("gauge")))];
    let p = with(&bonded(500.0), &long);
    let r = evaluate(&p);
    let f = found(&r, "interrupt-below-frame-fault");
    assert!(f.iter().any(|f| f.level == Level::Caution && f.n(4) > 0.01), "{}", texts(&r));
}

/// A start battery with a line to a DC-DC charger and a radio of its own; or a battery with the radio alone.
fn radio(family: &str, line: bool) -> Plan {
    let mut p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    p = insert(&p, "loads", r#"(id: "L2", watts_w: 60.0, hours_day: 1.0)"#);
    let on = format!(
        r#"(id: "W20", from: "SB", to: "L2", gauge: "12 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "{family}", amps_a: 15.0, distance_m: 0.0)])"#
    );
    p = insert(&p, "runs", &on);
    if line {
        let dc =
            r#"(id: "DC", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2, input_cutout_v: 10.5)"#;
        p = insert(&p, "chargers", dc);
        for (run, from, to, amps, at) in [("W21", "SB", "DC", 40.0, "from"), ("W22", "DC", "BUS", 30.0, "to")] {
            let run = format!(
                r#"(id: "{run}", from: "{from}", to: "{to}", gauge: "4 AWG", legs: [(id: "L1", length_m: 1.0,
                    insulation_c: 105.0)], protection: [(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: {amps:?},
                    distance_m: 0.0)])"#
            );
            p = insert(&p, "runs", &run);
        }
    }
    p
}

/// ABYC E-11 table, 800 CCA: 3 kA at a start battery, whether or not anything charges from it; a blade opens 1 kA, a single-bolt
/// link on the stud 10 kA.
#[test]
fn a_start_batterys_own_loads_have_fuses_that_open_its_fault() {
    let blade = evaluate(&radio("ISO 8820-3 C", true));
    assert!(says(&blade, "interrupt-below-fault", "runs.W20"), "{}", texts(&blade));
    near("fault", Ok(fault_a(&blade, "W20")), 3000.0, 1e-9);
    is_curable(&radio("ISO 8820-3 C", true), "interrupt-below-fault", "runs.W20");
    let bolt = with(&radio("ISO 8820-6", true), &[("runs.W20.protection.F1.amps_a", n(30.0))]);
    assert!(!says(&evaluate(&bolt), "interrupt-below-fault", "runs.W20"), "{}", texts(&evaluate(&bolt)));
    assert!(says(&evaluate(&radio("ISO 8820-3 C", false)), "interrupt-below-fault", "runs.W20"));
}

/// Its 12 V are not the bank's: on a bank of 48 V a fuse for 32 V is right there.
#[test]
fn a_start_batterys_loads_have_its_volts() {
    let of = |volts: f64| {
        with(&radio("ISO 8820-3 C", true), &[("runs.W20.protection.F1.volts_dc_v", n(volts)), ("bank.series", n(4.0))])
    };
    let low = |p: &Plan| says(&evaluate(p), "fuse-volts-low", "runs.W20");
    assert!(!low(&of(32.0)), "{}", texts(&evaluate(&of(32.0))));
    assert!(low(&of(12.0)));
}

/// NDS 12.2 counts thread in wood: through luan it is the rafter's, under every foot. That is said, whatever comes of it.
#[test]
fn thread_in_rafters_is_said_to_be_taken_so() {
    let luan = |grip_m: f64| {
        let roof = [
            ("roof.deck", word("luan")),
            ("roof.deck_m", n(0.005)),
            ("roof.screw_grip_m", n(grip_m)),
            ("roof.rafter_spacing_m", n(0.4)),
        ];
        with(&sound(), &roof)
    };
    let r = evaluate(&luan(0.0115));
    let f = found(&r, "uplift-factor-low");
    assert!(f.len() == 1 && f[0].text().contains("6.5 mm of every screw taken to be in a rafter"), "{}", texts(&r));
    let r = evaluate(&luan(0.0177));
    let f = found(&r, "feet-on-rafters");
    assert!(f.len() == 1 && f[0].level == Level::Note, "{}", texts(&r));
    assert!(found(&r, "uplift-factor-low").is_empty());
    // A plywood deck holds by itself, and what was tested is no assumption.
    for right in [
        sound(),
        with(&sound(), &[("roof.rafter_spacing_m", n(0.4))]),
        with(&luan(0.0177), &[("roof.tested_n", n(900.0))]),
    ] {
        assert!(found(&evaluate(&right), "feet-on-rafters").is_empty(), "{}", texts(&evaluate(&right)));
    }
}

/// A detector with its run, and without one.
fn detector(state: &str, run: Option<&str>) -> Plan {
    let load = format!(
        r#"(id: "L9", name: "CO detector", watts_w: 1.0, hours_day: 24.0, life_safety: "yes", state: "{state}")"#
    );
    let p = insert(&sound(), "loads", &load);
    let branch = |id: &str, from: &str, to: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "14 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.1)])"#
        )
    };
    let p = insert(&p, "runs", &branch("W8", "FP", "L1"));
    run.map_or_else(|| p.clone(), |from| insert(&p, "runs", &branch("W9", from, "L9")))
}

/// What nothing is drawn to may hang on nothing: the drawing is asked for, where other loads have theirs.
#[test]
fn life_safety_on_no_run_is_said() {
    let wrong = detector("new", None);
    let r = evaluate(&wrong);
    let f = found(&r, "life-safety-without-run");
    assert!(f.len() == 1 && f[0].level == Level::Caution, "{}", texts(&r));
    is_curable(&wrong, "life-safety-without-run", "loads.L9");
    // The first that is offered feeds it ahead of every switch.
    let steps = cures(&wrong, "life-safety-without-run", "loads.L9");
    let with_run = wrong.with(&steps[0]).expect("applies");
    assert!(!says(&evaluate(&with_run), "life-safety-behind-switch", "loads.L9"), "{}", steps[0].name);
    let silent = |p: &Plan| found(&evaluate(p), "life-safety-without-run").is_empty();
    assert!(silent(&detector("new", Some("BK"))));
    // The coach's own wire, and a plan that draws no load's run.
    assert!(silent(&detector("existing", None)));
    let mut none = wrong.clone();
    none.runs.retain(|r| r.id.as_str() != "W8");
    assert!(silent(&none), "{}", texts(&evaluate(&none)));
}

/// Leads that are alike but for a longer negative are made alike by that, and negatives drawn by themselves too.
#[test]
fn unequal_negatives_are_made_equal() {
    let base = two_packs(["SHN", "SHN"]);
    let wrong = with(&base, &[("runs.B1.negative_length_m", n(6.0))]);
    let r = evaluate(&wrong);
    assert!(says(&r, "uneven-battery-leads", "bank"), "{}", texts(&r));
    is_curable(&wrong, "uneven-battery-leads", "bank");
    assert!(found(&evaluate(&base), "uneven-battery-leads").is_empty());
    let mut alone = base.clone();
    for run in alone.runs.iter_mut().filter(|r| r.id.as_str().starts_with('B')) {
        (run.return_path, run.negative_from) = (coachwire::plan::wiring::Return::None, None);
    }
    for (i, m) in [(0, 0.5), (1, 6.0)] {
        let negative = format!(
            r#"(id: "N{i}", from: "BK-", to: "SHN", gauge: "2/0 AWG", return_path: "none", legs: [(id: "L1", length_m: {m:?},
                insulation_c: 105.0)])"#
        );
        alone = insert(&alone, "runs", &negative);
    }
    assert!(says(&evaluate(&alone), "uneven-battery-leads", "bank"), "{}", texts(&evaluate(&alone)));
    is_curable(&alone, "uneven-battery-leads", "bank");
}

/// 114 W is 7.6 h behind universal time: a clock of +7 h has a sign too few.
#[test]
fn a_clock_with_the_wrong_sign_is_turned() {
    let p = with(&sound(), &[("stays.ST1.clock_h", n(7.0))]);
    is_curable(&p, "clock-off-longitude", "stays.ST1");
    let steps = cures(&p, "clock-off-longitude", "stays.ST1");
    assert_eq!(steps[0].name, "ST1 clock: -7.0 h, the other sign");
    let far = with(&sound(), &[("stays.ST1.clock_h", n(1.0))]);
    let named = &cures(&far, "clock-off-longitude", "stays.ST1")[0].name;
    assert!(named.starts_with("ST1 clock of its longitude"), "{named}");
    assert!(found(&evaluate(&with(&sound(), &[("stays.ST1.clock_h", n(-7.0))])), "clock-off-longitude").is_empty());
}
