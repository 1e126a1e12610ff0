//! What the bank's own circuit does not tell alone: the vehicle's battery and its line, loops of two switches, what is entered for a
//! run further out, what comes back over the chassis.

use super::cures::is_curable;
use super::mistakes::{caught, insert, sound, with, word};
use super::{evaluate, found, near, plan, says, texts};
use coachwire::engine::report::RunFigures;
use coachwire::engine::{Isolation, Level, Report, isolation};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn of<'a>(r: &'a Report, id: &str) -> &'a RunFigures {
    r.runs.iter().find(|f| f.id.as_str() == id).expect("a run")
}

fn design(r: &Report, id: &str, want: f64) {
    near(id, of(r, id).design_a.clone().map(|a| a.0), want, 0.002);
}

fn fuse(at: &str, amps: f64) -> String {
    format!(r#"(id: "F{at}", at: "{at}", family: "UL 248-15 T", amps_a: {amps:?}, distance_m: 0.1)"#)
}

/// A run of a metre with its fuses.
fn run(p: &Plan, name: &str, ends: (&str, &str), size: &str, fuses: &str) -> Plan {
    let text = format!(
        r#"(id: "{name}", from: "{}", to: "{}", gauge: "{size}", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
            protection: [{fuses}])"#,
        ends.0, ends.1
    );
    insert(p, "runs", &text)
}

fn start(p: &Plan) -> Plan {
    insert(p, "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#)
}

/// Lead stands at 11.0 V per 12 V under load whatever the house bank is (rules, 1): 600 W / (11.0 V x 0.9) = 60.6 A, by the
/// lithium bank it would be 55.6 A; 60 W / 11.0 V = 5.45 A.
#[test]
fn what_hangs_on_the_vehicle_draws_at_the_volts_of_lead() {
    let p = insert(&start(&sound()), "inverters", r#"(id: "INV2", watts_w: 600.0, efficiency_pct: 90.0, idle_w: 5.0)"#);
    let p = run(&p, "W30", ("SB", "INV2"), "4 AWG", &fuse("from", 80.0));
    let p = insert(&p, "loads", r#"(id: "L2", watts_w: 60.0, hours_day: 1.0)"#);
    let p = run(&p, "W31", ("SB", "L2"), "12 AWG", &fuse("from", 15.0));
    let r = evaluate(&p);
    design(&r, "W30", 600.0 / (11.0 * 0.9));
    near("fuse", of(&r, "W30").fuse_min_a.clone().map(|a| a.0), 75.76, 0.001);
    design(&r, "W31", 60.0 / 11.0);
    near("working", of(&r, "W31").drop_at_a.clone().map(|a| a.0), 60.0 / 12.0, 1e-9);
    // Its wire and fuse are judged: it is not without a run.
    assert!(!says(&r, "inverter-unconnected", "inverters.INV2"), "{}", texts(&r));
    // On the bank's bus both go by the bank.
    let r = evaluate(&with(&p, &[("runs.W30.from", id("BUS")), ("runs.W31.from", id("BUS"))]));
    design(&r, "W30", 600.0 / (12.0 * 0.9));
    design(&r, "W31", 60.0 / 12.0);
    // On nothing at all it is still said.
    let r = evaluate(&with(&p, &[("runs.W30.legs.L1.state", word("removed"))]));
    assert!(says(&r, "inverter-unconnected", "inverters.INV2"), "{}", texts(&r));
}

/// Energy: a charger that gets its AC from an inverter on the vehicle's battery brings the house bank something.
#[test]
fn an_inverter_on_the_vehicle_is_no_circle() {
    let charger =
        r#"(id: "CH", kind: "converter", out_a: 20.0, efficiency_pct: 88.0, absorb_v: 14.2, ac_source: "inverter")"#;
    let circle = run(&insert(&sound(), "chargers", charger), "W30", ("CH", "BUS"), "4 AWG", &fuse("to", 40.0));
    let r = evaluate(&circle);
    assert!(says(&r, "inverter-feeds-charger", "chargers.CH"), "{}", texts(&r));
    let apart = with(&start(&circle), &[("runs.W5.from", id("SB"))]);
    let r = evaluate(&apart);
    assert!(found(&r, "inverter-feeds-charger").is_empty(), "{}", texts(&r));
}

/// A heated place is kept from freezing, not from the engine's heat: 80 C in an engine bay (rules, 2) against a label of 55 C.
#[test]
fn heating_cools_no_bank() {
    let hot =
        [("bank.heated", word("yes")), ("bank.ratings.max_ambient_c", n(55.0)), ("bank.zone", word("engine bay"))];
    let r = evaluate(&with(&sound(), &hot));
    let f = found(&r, "device-too-hot");
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].n(0)), (1, "bank", 80.0), "{}", texts(&r));
    let cool = with(&with(&sound(), &hot), &[("bank.zone", word("cabinet"))]);
    assert!(found(&evaluate(&cool), "device-too-hot").is_empty());
}

/// A bank of 24 V, a converter to 12 V, and a battery of 12 V on what that gives.
fn sub_battery() -> Plan {
    let p = with(
        &start(&sound()),
        &[("bank.unit_v", n(25.6)), ("bank.ohmic_mohm", n(9.0)), ("controllers.C1.absorb_v", n(28.4))],
    );
    let p = insert(&p, "devices", r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: 20.0))"#);
    let p = insert(&p, "devices", r#"(id: "B12", kind: "bus")"#);
    let p = run(&p, "W30", ("BUS", "CV"), "10 AWG", &fuse("from", 15.0));
    let p = run(&p, "W31", ("CV", "B12"), "8 AWG", &fuse("to", 30.0));
    run(&p, "W32", ("SB", "B12"), "8 AWG", &fuse("from", 40.0))
}

fn live<'a>(i: &'a Isolation, id: &str) -> Option<&'a str> {
    i.live.iter().find(|(x, _)| x.as_str() == id).map(|(_, why)| why.as_str())
}

/// Nothing comes back through a converter: the panels hold the bus up, the battery of 12 V its own bar.
#[test]
fn a_battery_behind_a_converter_keeps_no_bus_alive() {
    let p = sub_battery();
    let all = isolation(&p);
    let sw = all.iter().find(|i| i.name == "SW").expect("a switch");
    assert_eq!(live(sw, "BUS"), Some("the panels A1 in daylight, through C1"), "{sw:?}");
    assert!(sw.held.iter().any(|x| x.as_str() == "BUS"), "{sw:?}");
    assert_eq!(live(sw, "B12"), Some("the start battery SB"), "{sw:?}");
    let mut dark = p.clone();
    dark.arrays.clear();
    let all = isolation(&dark);
    let sw = all.iter().find(|i| i.name == "SW").expect("a switch");
    assert!(sw.dead.iter().any(|x| x.as_str() == "BUS") && live(sw, "B12").is_some(), "{sw:?}");
    // On the bank's own bus it does keep it alive.
    let all = isolation(&with(&dark, &[("runs.W32.to", id("BUS"))]));
    let sw = all.iter().find(|i| i.name == "SW").expect("a switch");
    assert_eq!(live(sw, "BUS"), Some("the start battery SB"), "{sw:?}");
}

/// The start battery joined to the bus by an isolator, its line fused at both batteries.
fn isolator(p: &Plan) -> Plan {
    let p = insert(&start(p), "devices", r#"(id: "ISO", kind: "isolator")"#);
    let p = run(&p, "T1", ("SB", "ISO"), "4 AWG", &fuse("from", 100.0));
    run(&p, "T2", ("ISO", "BUS"), "4 AWG", &fuse("to", 100.0))
}

/// What the line carries as entered.
fn carries(p: &Plan, amps: f64) -> Plan {
    let reason = |run: &str| (format!("runs.{run}.override_reason"), Value::Text("measured".into()));
    let amps_of = |run: &str| (format!("runs.{run}.design_override_a"), n(amps));
    let all = [amps_of("T1"), reason("T1"), amps_of("T2"), reason("T2")];
    all.iter().fold(p.clone(), |p, (at, to)| with(&p, &[(at, to.clone())]))
}

/// By hand: the controller gives 52 A (its rating; 1.25 x 840 W x 0.97 / 12.0 V would be more), the line 80 A: 132 A over the main
/// leads, where the inverter takes 1000 / (12.0 x 0.88) + 60 / 12.0 = 99.7 A. Charge limit 3 x 50 = 150 A.
#[test]
fn a_line_from_the_vehicle_counts_on_the_banks_side() {
    design(&evaluate(&sound()), "W3", 1000.0 / 10.56 + 5.0);
    let told = carries(&isolator(&sound()), 80.0);
    let r = evaluate(&told);
    for main in ["W3", "W4"] {
        design(&r, main, 132.0);
    }
    let f = found(&r, "fuse-below-design");
    assert!(f.len() == 1 && f[0].subject.as_str() == "runs.W3" && f[0].level == Level::Caution, "{}", texts(&r));
    assert!(found(&r, "charge-over-limit").is_empty());
    let r = evaluate(&with(&told, &[("bank.max_charge_a", n(40.0))]));
    near("charge", Ok(found(&r, "charge-over-limit")[0].n(0)), 132.0, 1e-9);
    // Branches and what feeds the panel are none of its ways.
    design(&r, "W6", 5.0);
}

/// What nobody has entered is not known on the bank's side either; what is too much without it stays a stop.
#[test]
fn an_unknown_line_from_the_vehicle_is_not_checked_on_the_banks_side() {
    let untold = isolator(&sound());
    let r = evaluate(&untold);
    let waits = of(&r, "W3").design_a.clone().expect_err("nobody has entered it");
    assert_eq!(waits.0.as_str(), "runs.T1.design_override_a");
    let not_checked =
        |check: &str, subject: &str| r.not_checked.iter().any(|x| x.check == check && x.subject.as_str() == subject);
    for check in ["conductor-below-current", "fuse-below-design"] {
        assert!(not_checked(check, "runs.W3"), "{check}: {:?}", r.not_checked);
    }
    assert!(of(&r, "W3").resistance_ohm.is_ok(), "the year's ohms stay");
    let without = evaluate(&sound());
    assert_eq!(r.year.harvest_kwh.is_ok(), without.year.harvest_kwh.is_ok(), "{:?}", r.year.harvest_kwh);
    assert!(of(&r, "W6").design_a.is_ok() && of(&r, "W2").design_a.is_ok());
    // 52 A of 120 A without the line: waits; 52 A of 45 A: over it whatever the line brings.
    let limit = |amps: f64| evaluate(&with(&untold, &[("bank.max_charge_a", n(amps))]));
    assert!(found(&limit(40.0), "charge-over-limit").is_empty());
    assert!(limit(40.0).waiting.iter().any(|x| x.check == "charge-over-limit"));
    assert!(says(&limit(15.0), "charge-over-limit", "bank"));
    // A caution that the line may make a stop of is both.
    let near_it = evaluate(&with(&untold, &[("runs.W3.protection.F1.amps_a", n(110.0))]));
    assert!(says(&near_it, "fuse-below-design", "runs.W3"), "{}", texts(&near_it));
    assert!(near_it.not_checked.iter().any(|x| x.check == "fuse-below-design" && x.subject.as_str() == "runs.W3"));
    let thin =
        evaluate(&with(&untold, &[("runs.W4.gauge", gauge("8 AWG")), ("runs.W3.protection.F1.amps_a", n(80.0))]));
    assert!(says(&thin, "conductor-below-current", "runs.W4"), "{}", texts(&thin));
    assert!(says(&thin, "fuse-below-design", "runs.W3"), "{}", texts(&thin));
}

/// A start battery of 12 V tied to a bank of 24 V.
pub(super) fn unlike() -> Plan {
    let p = carries(&isolator(&sound()), 30.0);
    let of_24 = [("bank.unit_v", n(25.6)), ("bank.ohmic_mohm", n(9.0)), ("controllers.C1.absorb_v", n(28.4))];
    with(&with(&p, &of_24), &[("devices.SB.ratings.volts_dc_v", n(16.0))])
}

/// 12 V and 24 V tied together: nothing but ohms holds the current. What volts the vehicle has decides.
#[test]
fn batteries_of_unlike_volts_are_not_joined() {
    let on = |unit_v: f64, absorb_v: f64| {
        with(
            &carries(&isolator(&sound()), 30.0),
            &[("bank.unit_v", n(unit_v)), ("bank.ohmic_mohm", n(9.0)), ("controllers.C1.absorb_v", n(absorb_v))],
        )
    };
    let of_24 = |p: &Plan, volts: f64| with(p, &[("devices.SB.ratings.volts_dc_v", n(volts))]);
    let p = on(25.6, 28.4);
    let r = caught("12 on 24", &of_24(&p, 16.0), &of_24(&p, 32.0), Level::Stop, "batteries-unlike-volts", "devices.SB");
    let f = found(&r, "batteries-unlike-volts");
    assert_eq!((f[0].n(0), f[0].n(1)), (12.0, 24.0), "{}", f[0].text());
    // Nobody has said what the vehicle has.
    let r = evaluate(&p);
    assert!(found(&r, "batteries-unlike-volts").is_empty());
    let waits = r.not_checked.iter().find(|x| x.check == "batteries-unlike-volts").expect("not checked");
    assert_eq!(waits.subject.as_str(), "devices.SB");
    // A bank of 12 V is the vehicle's own; none has 48 V.
    let r = evaluate(&on(12.8, 14.2));
    assert!(found(&r, "batteries-unlike-volts").is_empty(), "{}", texts(&r));
    assert!(!r.not_checked.iter().any(|x| x.check == "batteries-unlike-volts"));
    assert!(says(&evaluate(&of_24(&on(12.8, 14.2), 32.0)), "batteries-unlike-volts", "devices.SB"));
    assert!(says(&evaluate(&on(51.2, 56.8)), "batteries-unlike-volts", "devices.SB"));
    // Behind a converter it is joined to nothing but that.
    assert!(found(&evaluate(&sub_battery()), "batteries-unlike-volts").is_empty());
}

/// Two buses, a switch each, and a link between them; inverters of 100 A and 50 A.
fn two_switches(link: &str) -> Plan {
    let runs = [
        ("W1", "BK", "BB", "4/0 AWG", fuse("from", 250.0)),
        ("W2", "BB", "S1", "4/0 AWG", String::new()),
        ("W3", "S1", "B1", "4/0 AWG", String::new()),
        ("W4", "BB", "S2", "4/0 AWG", String::new()),
        ("W5", "S2", "B2", "4/0 AWG", String::new()),
        ("I1", "B1", "INV1", "4/0 AWG", String::new()),
        ("I2", "B2", "INV2", "4/0 AWG", String::new()),
    ];
    let p = plan(
        r#"(bank: (chemistry: "LFP", unit_v: 12.8, unit_ah: 200.0, series: 1.0, parallel: 2.0, ohmic_mohm: 3.0,
            max_discharge_a: 200.0),
        inverters: [(id: "INV1", watts_w: 1080.0, efficiency_pct: 90.0), (id: "INV2", watts_w: 540.0, efficiency_pct: 90.0)],
        devices: [(id: "BB", kind: "bus"), (id: "S1", kind: "switch"), (id: "S2", kind: "switch"), (id: "B1", kind: "bus"),
            (id: "B2", kind: "bus")])"#,
    );
    let p = runs.iter().fold(p, |p, (name, from, to, size, fuses)| run(&p, name, (from, to), size, fuses));
    if link.is_empty() { p } else { run(&p, "LK", ("B1", "B2"), link, "") }
}

/// By Kirchhoff round the loop: the link carries (I2 Rb - I1 Ra) / (Ra + Rl + Rb), no more than the larger of I1 and I2
/// whatever the ohms, with either switch open as well; a switch's run may be left alone with both.
#[test]
fn a_link_between_two_switched_buses_carries_one_side_of_them() {
    let (one_a, two_a) = (100.0, 50.0);
    let p = two_switches("2 AWG");
    let r = evaluate(&p);
    for (name, want) in
        [("LK", one_a), ("W2", 150.0), ("W3", 150.0), ("W4", 150.0), ("W5", 150.0), ("I1", one_a), ("I2", two_a)]
    {
        design(&r, name, want);
    }
    for (a, link, b) in [(1.0, 1.0, 1.0), (1e6, 1.0, 1.0), (1.0, 1.0, 1e6), (0.1, 3.0, 2.0), (2.0, 0.01, 0.1)] {
        let flows: f64 = (two_a * b - one_a * a) / (a + link + b);
        assert!(flows.abs() <= of(&r, "LK").design_a.clone().expect("known").0 + 1e-9);
    }
    assert!(!says(&r, "conductor-below-current", "runs.LK"), "{}", texts(&r));
    let said = found(&r, "loop");
    assert!(
        !said.is_empty() && said.iter().all(|f| f.text().ends_with("wherever the loop is opened")),
        "{}",
        texts(&r)
    );
    // Too thin for the larger side.
    let thin = two_switches("8 AWG");
    assert!(says(&evaluate(&thin), "conductor-below-current", "runs.LK"));
    is_curable(&thin, "conductor-below-current", "runs.LK");
    // Without the link each switch has its own.
    let r = evaluate(&two_switches(""));
    design(&r, "W2", one_a);
    design(&r, "W4", two_a);
}

/// The same with a second link beside the first, which closes two loops: neither link carries more than the larger side, in
/// plus or in minus (Kirchhoff: of two in parallel each carries a part), where it was held to both inverters' 150 A.
#[test]
fn of_two_links_neither_carries_both_sides() {
    let both = run(&two_switches("2 AWG"), "LK2", ("B1", "B2"), "2 AWG", "");
    let r = evaluate(&both);
    for (name, want) in [("LK", 100.0), ("LK2", 100.0), ("W2", 150.0), ("W3", 150.0), ("W4", 150.0), ("W5", 150.0)] {
        design(&r, name, want);
    }
    for link in ["runs.LK", "runs.LK2"] {
        assert!(!says(&r, "conductor-below-current", link), "{}", texts(&r));
    }
}

/// Bars that are all joined with each other, two loads on the first two: the wire between those is left with one of them at
/// most. Where there are too many ways to open them it is held to both, and that is said.
#[test]
fn a_mesh_too_large_to_tell_is_held_to_all() {
    let of = |bars: usize| {
        let mut p = plan(
            r#"(bank: (chemistry: "LFP", unit_v: 12.8, unit_ah: 200.0, series: 1.0, parallel: 1.0, ohmic_mohm: 3.0),
            loads: [(id: "L1", watts_w: 120.0, hours_day: 1.0), (id: "L2", watts_w: 240.0, hours_day: 1.0)])"#,
        );
        for k in 1..=bars {
            p = insert(&p, "devices", &format!(r#"(id: "B{k}", kind: "bus")"#));
            p = run(&p, &format!("F{k}"), ("BK", &format!("B{k}")), "4/0 AWG", &fuse("from", 200.0));
            for other in 1..k {
                let name = format!("X{other}x{k}");
                p = run(&p, &name, (&format!("B{other}"), &format!("B{k}")), "2 AWG", "");
            }
        }
        p = run(&p, "W1", ("B1", "L1"), "8 AWG", &fuse("from", 30.0));
        evaluate(&run(&p, "W2", ("B2", "L2"), "8 AWG", &fuse("from", 30.0)))
    };
    // 120 and 240 W at 12.0 V low volts of LFP.
    let (told, large) = (of(9), of(12));
    design(&told, "X1x2", 20.0);
    design(&told, "F1", 30.0);
    design(&large, "X1x2", 30.0);
    assert!(found(&told, "loop").iter().all(|f| f.text().ends_with("wherever the loop is opened")));
    assert!(found(&large, "loop").iter().all(|f| f.text().ends_with("to all that the loop feeds")));
}

/// 35 A more for a winch to come, as entered for the panel's feed, flow over all that feeds it (Kirchhoff).
#[test]
fn what_is_entered_for_a_run_counts_on_what_feeds_it() {
    let own = 1000.0 / 10.56 + 5.0;
    let entered = |run: &str, amps: f64| {
        let (at, why) = (format!("runs.{run}.design_override_a"), format!("runs.{run}.override_reason"));
        evaluate(&with(&sound(), &[(&at, n(amps)), (&why, Value::Text("a winch to come".into()))]))
    };
    let r = entered("W6", 40.0);
    design(&r, "W6", 40.0);
    for main in ["W3", "W4"] {
        design(&r, main, own + 35.0);
    }
    assert!(says(&r, "fuse-below-design", "runs.W3"), "{}", texts(&r));
    design(&r, "W5", 1000.0 / 10.56);
    // Less than its circuit comes to is the run's own matter.
    design(&entered("W6", 2.0), "W3", own);
    // A controller's: 120 A pushed are more than what is drawn.
    design(&entered("W2", 120.0), "W3", 120.0);
    // Of two in a row the one further out feeds nothing of the other.
    design(&entered("W4", 140.0), "W3", 140.0);
    design(&entered("W3", 140.0), "W4", own);
}

/// The panel's feed has its negative in the frame: 50 A (600 W / 12.0 V) come back by the bond, which is their conductor
/// (Kirchhoff; NEC 310.17: 14 AWG carries some 30 A in the open, 4/0 more than 300 A).
#[test]
fn a_bond_that_brings_current_back_is_held_to_it() {
    let chassis =
        [("runs.W6.return_path", word("chassis")), ("runs.W6.measured_ohm", n(0.002)), ("loads.L1.watts_w", n(600.0))];
    let wide = with(
        &with(&sound(), &chassis),
        &[("runs.W6.protection.F1.amps_a", n(70.0)), ("runs.W3.protection.F1.amps_a", n(200.0))],
    );
    let thin = with(&wide, &[("runs.W7.gauge", gauge("14 AWG"))]);
    let r = caught("thin bond", &thin, &wide, Level::Stop, "conductor-below-current", "runs.W7");
    near("flows", Ok(found(&r, "conductor-below-current")[0].n(0)), 600.0 / 12.0, 0.001);
    design(&r, "W7", 50.0);
    caught("fused above it", &thin, &wide, Level::Stop, "fuse-above-conductor", "runs.W7");
    let f = found(&r, "fuse-above-conductor");
    assert!(f.iter().any(|f| f.subject.as_str() == "runs.W7" && f.n(0) == 70.0), "{}", texts(&r));
    // As a pair nothing comes back by the bond.
    let pair = evaluate(&with(&thin, &[("runs.W6.return_path", word("pair"))]));
    design(&pair, "W7", 0.0);
    assert!(
        !pair.findings.iter().any(|f| f.subject.as_str() == "runs.W7" && f.level == Level::Stop),
        "{}",
        texts(&pair)
    );
}
