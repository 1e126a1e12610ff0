//! A DC-DC charger that is fed from the start battery: with the engine running that stands at the alternator's volts less what the
//! alternator's own run loses.

use super::mistakes::{insert, sound, with};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::ladder::Fit;
use coachwire::engine::report::RunFigures;
use coachwire::engine::{Engine, LadderOf, Level, Report};
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};
use coachwire::stock::Stock;

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn run<'a>(r: &'a Report, id: &str) -> &'a RunFigures {
    r.runs.iter().find(|f| f.id.as_str() == id).expect("there")
}

fn design(r: &Report, id: &str) -> f64 {
    run(r, id).design_a.clone().unwrap_or_else(|e| panic!("{id} waits for {e:?}\n{}", texts(r))).0
}

fn wire(p: &Plan, id: &str, (from, to): (&str, &str), ohm: f64, fuse: &str) -> Plan {
    let text = format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2 AWG", measured_ohm: {ohm:?}, legs: [(id: "L1", length_m: 2.0,
            insulation_c: 105.0, zone: "cabinet", state: "existing")], protection: [{fuse}])"#
    );
    insert(p, "runs", &text)
}

/// Alternator, 0.0065 ohm, a start battery or a stud, 0.0235 ohm, a charger of 40 A at 14.1 V and 90 %: 626.7 W at its input, which
/// stops below 11 V; the alternator at 12.5 V.
pub(super) fn van(middle: &str) -> Plan {
    let p =
        insert(&sound(), "devices", r#"(id: "ALT", kind: "alternator", state: "existing", ratings: (amps_a: 150.0))"#);
    let p = insert(&p, "devices", &format!(r#"(id: "SB", kind: "{middle}", state: "existing")"#));
    let charger = r#"(id: "CH", kind: "DC-DC", out_a: 40.0, efficiency_pct: 90.0, alternator: "ALT", alternator_low_v: 12.5,
        input_cutout_v: 11.0, absorb_v: 14.1)"#;
    let p = insert(&p, "chargers", charger);
    let p = wire(&p, "W20", ("ALT", "SB"), 0.0065, "");
    let fuse = |at: &str| format!(r#"(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: 80.0, distance_m: 0.1)"#);
    let p = wire(&p, "W21", ("SB", "CH"), 0.0235, &fuse("from"));
    wire(&p, "W22", ("CH", "BUS"), 0.002, &fuse("to"))
}

fn without(p: &Plan, run: &str) -> Plan {
    p.with(&Step::one("out", Edit::Remove { at: FieldPath::new(format!("runs.{run}")) })).expect("there")
}

/// The upper root of V^2 - V E + P R = 0, and the amps there. Source: Kirchhoff's voltage law with P = V I.
fn by_hand(e: f64, p: f64, ohm: f64) -> (f64, f64) {
    let volts = f64::midpoint(e, (e * e - 4.0 * p * ohm).sqrt());
    (volts, p / volts)
}

const WATTS: f64 = 40.0 * 14.1 / 0.9;

/// By hand: 10.75 V and 58.3 A over both runs, 11.18 V and 56.0 A over the charger's own alone.
#[test]
fn the_alternators_own_run_is_part_of_the_line() {
    let (volts, amps) = by_hand(12.5, WATTS, 0.0065 + 0.0235);
    let battery = evaluate(&van("start battery"));
    near("line", Ok(design(&battery, "W21")), amps, 1e-6);
    near("drop-out", Ok(found(&battery, "dc-dc-drops-out")[0].n(0)), volts, 1e-6);
    // The same copper through a stud.
    near("stud", Ok(design(&evaluate(&van("bus")), "W21")), amps, 1e-6);
    // Where it is not drawn the alternator's volts are taken at the battery, and that is said.
    let bare = evaluate(&without(&van("start battery"), "W20"));
    near("not drawn", Ok(design(&bare, "W21")), by_hand(12.5, WATTS, 0.0235).1, 1e-6);
    assert!(run(&bare, "W21").design_how.contains("taken at the start battery"), "{}", run(&bare, "W21").design_how);
    assert!(run(&battery, "W21").design_how.contains("alternator's own run"), "{}", run(&battery, "W21").design_how);
    assert!(found(&bare, "dc-dc-drops-out").is_empty(), "{}", texts(&bare));
    let about = found(&battery, "dc-dc-drops-out")[0];
    let steps = Engine::default().explain(&van("start battery"), &battery, about);
    assert!(steps.iter().any(|s| s.contains("W20 ahead of it with 0.0065 among it")), "{steps:?}");
}

/// An own run of the alternator that ends on a stud which battery and charger hang on counts as well.
#[test]
fn so_is_one_that_ends_on_a_stud_beside_the_battery() {
    let p = insert(&van("start battery"), "devices", r#"(id: "JB", kind: "bus", state: "existing")"#);
    let p = without(&without(&p, "W20"), "W21");
    let p = wire(&wire(&p, "W20", ("ALT", "JB"), 0.0065, ""), "W23", ("JB", "SB"), 0.001, "");
    let p = wire(&p, "W21", ("JB", "CH"), 0.0235, "");
    near("stud", Ok(design(&evaluate(&p), "W21")), by_hand(12.5, WATTS, 0.03).1, 1e-6);
}

/// What it loses nobody knows: the line waits for that, but what flows at least, 626.7 W / 12.5 V = 50.1 A, is known.
#[test]
fn an_unknown_run_is_waited_for() {
    let p = with(&van("start battery"), &[("runs.W20.measured_ohm", Value::Unknown)]);
    let r = evaluate(&p);
    let waits = run(&r, "W21").design_a.clone().expect_err("not known");
    assert_eq!(waits.0.as_str(), "runs.W20.measured_ohm");
    assert!(r.not_checked.iter().any(|c| c.check == "conductor-below-current" && c.subject.as_str() == "runs.W21"));
    let thin = evaluate(&with(&p, &[("runs.W21.gauge", gauge("14 AWG"))]));
    let stop = found(&thin, "conductor-below-current");
    assert_eq!(stop.iter().map(|f| (f.level, f.subject.as_str())).collect::<Vec<_>>(), [(Level::Stop, "runs.W21")]);
    near("at least", Ok(stop[0].n(0)), WATTS / 12.5, 1e-6);
}

/// Head lights on the start battery are fed by the same run; a starter does not turn while the engine runs. 110 W at the low volts of
/// lead, 11 V, are 10 A.
#[test]
fn what_hangs_on_the_battery_loads_it_too() {
    let with_load = |name: &str| {
        let load = format!(r#"(id: "L9", name: "{name}", watts_w: 110.0, hours_day: 1.0)"#);
        design(&evaluate(&wire(&insert(&van("start battery"), "loads", &load), "W24", ("SB", "L9"), 0.01, "")), "W21")
    };
    near("lights", Ok(with_load("head lights")), by_hand(12.5 - 0.065, WATTS, 0.03).1, 1e-6);
    near("starter", Ok(with_load("starter")), by_hand(12.5, WATTS, 0.03).1, 1e-6);
}

/// A path is judged from a battery's posts: the line's 0.0235 ohm at its current, and it is said that the alternator's run is not
/// among it. Where a stud stands in the battery's place both runs are the path.
#[test]
fn the_drop_says_from_where_it_is() {
    let judged = r#"(id: "drop-charger-input", value: 3.0, reason: "as the customer asks")"#;
    let lost = |middle: &str| {
        let r = evaluate(&insert(&van(middle), "rules", judged));
        let f = found(&r, "drop-over-target").into_iter().find(|f| f.subject.as_str() == "runs.W21").cloned();
        let f = f.unwrap_or_else(|| panic!("{middle}: {}", texts(&r)));
        (f.n(1), design(&r, "W21"), f.text())
    };
    let (volts, amps, text) = lost("start battery");
    assert!(volts > 0.0235 * amps - 1e-9 && volts < 0.03 * amps, "{volts} {amps}");
    assert!(text.contains("from SB on, not counting W20"), "{text}");
    let (volts, amps, text) = lost("bus");
    assert!(volts > 0.03 * amps - 1e-9 && !text.contains("not counting"), "{volts} {text}");
    let (p, r) = (van("start battery"), evaluate(&van("start battery")));
    assert_eq!(coachwire::wording::run::path_place(&p, run(&r, "W21")).as_deref(), Some("to CH from SB"));
    assert_eq!(coachwire::wording::run::path_place(&p, run(&r, "W6")).as_deref(), Some("to L1"));
}

/// Two chargers, each by its own run from the battery, share the alternator's: alike, both at V^2 - E V + P (2 x 0.0065 + 0.0235) = 0.
#[test]
fn chargers_with_runs_of_their_own_share_it() {
    let p = with(&van("start battery"), &[("chargers.CH.out_a", n(20.0))]);
    let other = r#"(id: "CK", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, alternator: "ALT", alternator_low_v: 12.5,
        input_cutout_v: 11.0, absorb_v: 14.1)"#;
    let p = insert(&p, "chargers", other);
    let p = wire(&wire(&p, "W31", ("SB", "CK"), 0.0235, ""), "W32", ("CK", "BUS"), 0.002, "");
    let r = evaluate(&p);
    let (_, amps) = by_hand(12.5, WATTS / 2.0, 2.0 * 0.0065 + 0.0235);
    for id in ["W21", "W31"] {
        near(id, Ok(design(&r, id)), amps, 1e-6);
    }
}

/// What the charger cannot draw it does not bring. Source: 40 A for 2 h at 13 to 14.1 V are 1040 to 1130 Wh.
#[test]
fn the_year_goes_by_the_same_line() {
    let other_wh = |p: &Plan| {
        let p = with(p, &[("stays.ST1.drive_h_day", n(2.0)), ("loads.L1.watts_w", n(500.0))]);
        evaluate(&p).year.months[0].other_wh_day.clone().expect("a year").0
    };
    // 20 mohm more than its own: at 12 V in the bank, 533 W, it stands at 10.2 V.
    let thin = other_wh(&with(&van("start battery"), &[("runs.W20.measured_ohm", n(0.02))]));
    assert!(thin < 1.0, "it drops out: {thin}");
    let thick = other_wh(&with(&van("start battery"), &[("runs.W20.measured_ohm", n(0.001))]));
    assert!((1000.0..1150.0).contains(&thick), "{thick}");
}

/// Of real wire: every gauge that the selection takes keeps the charger running, and no row of the ladder fits that does not.
#[test]
fn no_gauge_is_chosen_with_which_the_charger_drops_out() {
    let edits = [
        ("runs.W21.measured_ohm", Value::Nothing),
        ("runs.W21.legs.L1.length_m", n(8.0)),
        ("runs.W21.legs.L1.state", Value::Word("new")),
    ];
    let p = with(&van("start battery"), &edits);
    let id = "W21".parse().expect("id");
    let (mut engine, stock) = (Engine::default(), Stock::default());
    let chosen = engine.select(&p, &stock, &id).expect("a gauge");
    let drops = |g: &str| says(&evaluate(&with(&p, &[("runs.W21.gauge", gauge(g))])), "dc-dc-drops-out", "chargers.CH");
    assert!(!drops(&chosen.gauge.to_string()), "{chosen:?}");
    assert!(chosen.reasons.iter().any(|why| why.contains("will cycle or drop out")), "{:?}", chosen.reasons);
    let mut refused = 0;
    for rung in engine.ladder(&p, &stock, &LadderOf::Gauge(id)) {
        let after = evaluate(&p.with(&rung.step).expect("applies"));
        if says(&after, "dc-dc-drops-out", "chargers.CH") {
            refused += 1;
            assert!(matches!(rung.fit, Fit::No(_)), "{}", rung.name());
        }
    }
    assert!(refused > 2, "thin wire makes it drop out");
}

/// A line that has no answer at all: thicker by a step brings no finding that thinner wire did not have. Source: NEC 310.17, what 12 and
/// 10 AWG carry is less than P / E.
#[test]
fn thinner_wire_is_a_stop_where_thicker_is() {
    let long = [("runs.W21.measured_ohm", Value::Nothing), ("runs.W21.legs.L1.length_m", n(12.0))];
    let p = with(&van("start battery"), &long);
    let stops = |g: &str| {
        let r = evaluate(&with(&p, &[("runs.W21.gauge", gauge(g))]));
        (says(&r, "conductor-below-current", "runs.W21"), run(&r, "W21").design_a.is_err())
    };
    assert_eq!(stops("12 AWG"), (true, true), "no root");
    let mut was = true;
    for g in ["12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG"] {
        let (is, _) = stops(g);
        assert!(was || !is, "{g} is a stop, and thinner wire was none");
        was = is;
    }
}

/// What hangs on the start battery and comes back over the chassis goes home to that one's negative, which is on the frame: nothing of it
/// is in the house's negatives, bond or shunt. Source: Kirchhoff's current law round the start battery.
#[test]
fn the_house_negative_carries_nothing_of_the_start_battery() {
    for (name, watts) in [("starter", 2000.0), ("head lights", 120.0)] {
        let plain = with(&van("start battery"), &[("runs.W3.negative_to", Value::Id("SHN".parse().expect("id")))]);
        let plain = insert(&plain, "devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 300.0))"#);
        let plain = with(&plain, &[("runs.W4.negative_from", Value::Id("SHN".parse().expect("id")))]);
        let load = format!(r#"(id: "L9", name: "{name}", watts_w: {watts:?}, hours_day: 1.0)"#);
        let p = wire(&insert(&plain, "loads", &load), "W24", ("SB", "L9"), 0.01, "");
        let p = with(&p, &[("runs.W24.return_path", Value::Word("chassis"))]);
        let (was, is) = (evaluate(&plain), evaluate(&p));
        for id in ["W2", "W3", "W4", "W5", "W6", "W7"] {
            assert_eq!(run(&is, id).design_a, run(&was, id).design_a, "{name}: {id}");
            assert_eq!(run(&is, id).drop_v, run(&was, id).drop_v, "{name}: {id}");
        }
        assert!(found(&is, "device-below-current").is_empty(), "{}", texts(&is));
    }
}

/// A starter of 2 kW on 8 AWG, which carries no 182 A all the time: it runs for seconds, and is told like the maker's lead.
/// Source: common practice; ABYC E-11 leaves cranking motors out of what it asks of conductors' protection, from memory.
#[test]
fn a_starters_cable_is_not_judged_by_what_it_carries_all_the_time() {
    let load = |name: &str| format!(r#"(id: "L9", name: "{name}", watts_w: 2000.0, hours_day: 1.0)"#);
    let of = |name: &str| {
        let p = wire(&insert(&van("start battery"), "loads", &load(name)), "W24", ("SB", "L9"), 0.001, "");
        evaluate(&with(&p, &[("runs.W24.gauge", gauge("8 AWG"))]))
    };
    let starter = of("starter");
    assert!(!says(&starter, "conductor-below-current", "runs.W24"), "{}", texts(&starter));
    let note = found(&starter, "makers-lead");
    assert!(note.len() == 1 && note[0].level == Level::Note && note[0].text().contains("the engine's own starter"));
    near("draws", Ok(note[0].n(0)), 2000.0 / 11.0, 1e-6);
    assert!(says(&of("winch"), "conductor-below-current", "runs.W24"));
}
