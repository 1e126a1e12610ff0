//! Several DC-DC chargers on one line from the start battery: what all draw flows through what they share, and what one
//! draws lowers the volts of the others.

use super::alternators::dc_dc;
use super::mistakes::{insert, with};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::report::RunFigures;
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::{Edit, FieldPath, Known, Plan, State, Step, Value};
use coachwire::stock::Stock;
use coachwire::units::Metres;

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// Two chargers of 20 A at 14.2 V and 90 % (315.6 W in each) behind a line that they share, its ohms measured, and 0.005
/// ohm of their own each; an alternator of 200 A.
fn two(shared_ohm: f64, cutout_v: f64) -> Plan {
    // The alternator's own run is not drawn: its volts stand at the battery (`alternator_lead.rs` draws it).
    let out = ["runs.W20", "runs.W21"].map(|run| Edit::Remove { at: FieldPath::new(run) });
    let p = dc_dc(200.0).with(&Step { name: "out".into(), edits: out.into() }).expect("there");
    let p = with(&p, &[("chargers.CH.out_a", n(20.0)), ("chargers.CH.input_cutout_v", n(cutout_v))]);
    let other = format!(
        r#"(id: "CK", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2, input_cutout_v: {cutout_v:?})"#
    );
    let p = insert(&p, "chargers", &other);
    let mut p = insert(&p, "devices", r#"(id: "JB", kind: "bus", state: "existing")"#);
    for (name, from, to, ohm, protection) in [
        (
            "W30",
            "SB",
            "JB",
            shared_ohm,
            r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 80.0, distance_m: 0.1)"#,
        ),
        ("W31", "JB", "CH", 0.005, ""),
        ("W32", "JB", "CK", 0.005, ""),
        ("W33", "CK", "BUS", 0.002, r#"(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)"#),
    ] {
        let text = format!(
            r#"(id: "{name}", from: "{from}", to: "{to}", gauge: "2 AWG", measured_ohm: {ohm}, legs: [(id: "L1",
                length_m: 1.0, insulation_c: 105.0, state: "existing")], protection: [{protection}])"#
        );
        p = insert(&p, "runs", &text);
    }
    p
}

fn run<'a>(r: &'a Report, id: &str) -> &'a RunFigures {
    r.runs.iter().find(|f| f.id.as_str() == id).expect("there")
}

fn amps(r: &Report, id: &str) -> (f64, f64) {
    let here = run(r, id);
    (here.design_a.clone().expect("known").0, here.drop_at_a.clone().expect("known").0)
}

/// By hand: alike, both stand at V^2 - 13.2 V + 315.56 (2 x 0.03 + 0.005) = 0: 11.40 V, 27.68 A each, 55.36 A in what
/// they share. One alone: V^2 - 13.2 V + 315.56 x 0.035 = 0: 12.30 V, 25.65 A.
/// Source: Kirchhoff's laws with P = V I.
#[test]
fn a_shared_line_carries_what_all_on_it_draw() {
    let r = evaluate(&two(0.03, 11.0));
    let each = 27.678;
    for (id, all) in [("W30", 2.0 * each), ("W31", each), ("W32", each)] {
        near("design", Ok(amps(&r, id).0), all, 0.001);
        near("working", Ok(amps(&r, id).1), all, 0.001);
    }
    assert!(found(&r, "dc-dc-drops-out").is_empty(), "{}", texts(&r));
    let alone =
        two(0.03, 11.0).with(&Step::one("out", Edit::Remove { at: FieldPath::new("runs.W32") })).expect("there");
    near("one alone", Ok(amps(&evaluate(&alone), "W30").0), 25.652, 0.001);
    // Taken out of use it draws nothing.
    let removed = with(&two(0.03, 11.0), &[("chargers.CK.state", Value::Word("removed"))]);
    near("one removed", Ok(amps(&evaluate(&removed), "W30").0), 25.652, 0.001);
    // What one of them asks of the line is known once the other's amps are.
    let asks = with(&two(0.03, 11.0), &[("chargers.CK.out_a", Value::Unknown)]);
    let waits = run(&evaluate(&asks), "W30").design_a.clone().expect_err("not known");
    assert_eq!(waits.0.as_str(), "chargers.CK.out_a");
}

/// 55.36 A on a wire that carries one of them but not both. Source: NEC 310.17, 10 AWG at 75 C and 30 C: 50 A.
#[test]
fn a_shared_line_too_thin_for_both_is_a_stop() {
    let p = with(&two(0.03, 11.0), &[("runs.W30.gauge", Value::Gauge("10 AWG".parse().expect("gauge")))]);
    let r = evaluate(&p);
    let stop = found(&r, "conductor-below-current");
    assert_eq!(stop.iter().map(|f| (f.level, f.subject.as_str())).collect::<Vec<_>>(), [(Level::Stop, "runs.W30")]);
    near("what may flow", Ok(stop[0].n(0)), 55.36, 0.001);
}

/// Both stand at 11.40 V, below a cut-out of 11.6: the one that drops out leaves the other 12.30 V. With 0.08 ohm in common
/// there is no answer for both: V^2 - 13.2 V + 315.56 x 0.165 = 0 has no real root, as 174.24 is less than 208.27; what the
/// line brings both is 13.2^2 / (4 x 0.165) x 2 = 528 W. One alone stands at 10.75 V there.
#[test]
fn the_lower_of_two_inputs_drops_out_first() {
    let drops = |shared_ohm: f64, cutout_v: f64| {
        let r = evaluate(&two(shared_ohm, cutout_v));
        found(&r, "dc-dc-drops-out")
            .iter()
            .map(|f| (f.subject.to_string(), f.numbers.clone(), f.text()))
            .collect::<Vec<_>>()
    };
    let said = drops(0.03, 11.6);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].0 == "chargers.CK" && said[0].2.contains("while CH draws on the same line"), "{said:?}");
    near("volts", Ok(said[0].1[0]), 11.401, 0.0005);
    let said = drops(0.08, 10.5);
    assert_eq!(said.len(), 1, "{said:?}");
    near("asked", Ok(said[0].1[1]), 631.1, 0.001);
    near("brings", Ok(said[0].1[2]), 528.0, 0.001);
    assert!(said[0].2.contains("with CH on the same line 631 W are asked of it"), "{said:?}");
    // The other does not keep running either where its own cut-out is higher than it then stands.
    assert_eq!(drops(0.08, 11.5).len(), 2);
    assert_eq!(drops(0.03, 11.0), []);
    // The one that asks for more volts goes first, whichever stands first in the list.
    let higher = with(&two(0.03, 11.0), &[("chargers.CH.input_cutout_v", n(11.6))]);
    assert!(says(&evaluate(&higher), "dc-dc-drops-out", "chargers.CH"));
    assert!(!says(&evaluate(&higher), "dc-dc-drops-out", "chargers.CK"));
}

/// Wh a day in January from chargers, with two hours of driving and loads that leave room for all of it.
fn other_wh(p: &Plan) -> f64 {
    let p = with(p, &[("stays.ST1.drive_h_day", n(2.0)), ("loads.L1.watts_w", n(500.0))]);
    evaluate(&p).year.months[0].other_wh_day.clone().expect("a year").0
}

/// The year goes by the same line: while both can run they bring twice what one does, a little more as more amps lift the
/// bank's volts; where the second drops out, what one does. Source: 20 A for 2 h at 13 to 14.4 V are 520 to 576 Wh.
#[test]
fn the_year_counts_who_keeps_running() {
    let alone = |shared: f64, cutout_v: f64| {
        let p = two(shared, cutout_v);
        p.with(&Step::one("out", Edit::Remove { at: FieldPath::new("runs.W32") })).expect("there")
    };
    let one = other_wh(&alone(0.03, 11.0));
    assert!((500.0..580.0).contains(&one), "{one}");
    let both = other_wh(&two(0.01, 11.0));
    near("both", Ok(both), 2.0 * one, 0.03);
    near("one dropped out", Ok(other_wh(&two(0.08, 10.5))), one, 1e-6);
}

/// An alternator brings no more than it is rated for: of 24 A at 13.2 V and 90 % in 2 h 570 Wh, whatever the chargers ask.
/// Source: conservation of energy.
#[test]
fn the_year_counts_no_more_than_the_alternator_is_rated_for() {
    let rated = |amps: f64| with(&two(0.001, 9.0), &[("devices.ALT.ratings.amps_a", n(amps))]);
    let (free, held) = (other_wh(&rated(200.0)), other_wh(&rated(24.0)));
    let most_wh = 24.0 * 13.2 * 0.9 * 2.0;
    assert!(held <= most_wh && held > 0.85 * most_wh, "{held} of {most_wh}");
    assert!(free > 1.8 * held, "{free} and {held}");
    let said = |p: &Plan| found(&evaluate(p), "alternator-overdrawn").iter().map(|f| f.text()).collect::<String>();
    assert!(said(&rated(24.0)).contains("the year counts what its rating brings and no more"));
    // Over the share that keeps it cool, within its rating: all of it is there.
    assert!(said(&rated(60.0)).contains("% of their alternator, over 50 %") && !said(&rated(60.0)).contains("year"));
    near("within its rating", Ok(other_wh(&rated(60.0))), free, 1e-6);
}

/// What is offered against it cures it, and sizing all leaves neither a stop nor a charger that drops out.
#[test]
fn a_shared_line_that_lets_one_down_is_cured() {
    let thin = |p: &Plan| {
        let p = with(p, &[("runs.W30.gauge", Value::Gauge("10 AWG".parse().expect("gauge")))]);
        let p = with(&p, &[("runs.W30.measured_ohm", Value::Nothing), ("runs.W30.legs.L1.length_m", n(6.0))]);
        with(&p, &[("runs.W30.legs.L1.state", Value::Word("new"))])
    };
    let p = thin(&two(0.03, 11.5));
    let r = evaluate(&p);
    assert!(
        says(&r, "dc-dc-drops-out", "chargers.CK") && says(&r, "conductor-below-current", "runs.W30"),
        "{}",
        texts(&r)
    );
    super::cures::is_curable(&p, "dc-dc-drops-out", "chargers.CK");
    super::cures::is_curable(&p, "conductor-below-current", "runs.W30");
}

/// Two chargers that run at the same time share a run to the bank: it drops what both bring. A shore charger on it does not
/// charge while they do. Source: Ohm's law.
#[test]
fn an_output_that_several_share_drops_what_they_bring_together() {
    let p = two(0.01, 9.0);
    let p = insert(&p, "devices", r#"(id: "OUT", kind: "bus", state: "existing")"#);
    let shared = r#"(id: "W40", from: "OUT", to: "BUS", gauge: "2 AWG", measured_ohm: 0.004, legs: [(id: "L1", length_m: 1.0,
        insulation_c: 105.0)], protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 80.0, distance_m: 0.1)])"#;
    let p = insert(&p, "runs", shared);
    let to = |p: &Plan, name: &str| with(p, &[(name, Value::Id("OUT".parse().expect("id")))]);
    let both = to(&to(&p, "runs.W22.to"), "runs.W33.to");
    let drop_v = |p: &Plan, end: &str| {
        let (r, last) = (evaluate(p), if end == "CK" { "W33" } else { "W22" });
        run(&r, last).path_drop_pct.clone().expect("known") * 12.0 / 100.0
    };
    let one = with(&both, &[("chargers.CK.state", Value::Word("removed"))]);
    // In the shared run, and in what the bus has to the bank: 4/0 AWG, a switch and a fuse of less than 2 mohm.
    let more_v = drop_v(&both, "CH") - drop_v(&one, "CH");
    assert!((20.0 * 0.004..20.0 * 0.006).contains(&more_v), "{more_v}");
    // One on shore power instead: each alone.
    let shore = with(&both, &[("chargers.CK.kind", Value::Word("shore"))]);
    near("shore beside it", Ok(drop_v(&shore, "CH")), drop_v(&one, "CH"), 0.02);
}

/// All of the line drawn new, gauges and the fuse open: sized, its runs carry what both draw, by hand from the ohms that the
/// sizing gives them, and the fuse is at least 1.25 times that and at most what its wire carries.
/// Source: V^2 - V E + P R = 0 with both currents in what they share; NEC 210.20 for 1.25 times.
#[test]
fn a_shared_line_is_sized_for_both() {
    for (shared_m, own_m) in [(1.0, 0.5), (3.0, 1.0), (5.0, 2.0)] {
        let mut p = two(0.03, 11.0);
        for run in p.runs.iter_mut().filter(|r| ["W30", "W31", "W32"].contains(&r.id.as_str())) {
            (run.gauge, run.measured_ohm) = (Known::Unknown, None);
            let metres = if run.id.as_str() == "W30" { shared_m } else { own_m };
            (run.legs[0].state, run.legs[0].length_m) = (State::New, Known::Is(Metres(metres)));
            run.protection.iter_mut().for_each(|f| f.amps_a = Known::Unknown);
        }
        let proposal = Engine::default().propose_sizes(&p, &Stock::default(), false);
        let sized = p.with(&proposal.step).expect("applies");
        let r = Engine::default().evaluate_wires(&sized, &Stock::default());
        let ohm = |id: &str| {
            run(&r, id).resistance_ohm.clone().unwrap_or_else(|e| panic!("{id} {e:?} {:?}", proposal.rows)).0
        };
        // Both alike: V^2 - 13.2 V + P (2 R_shared + R_own) = 0, its upper root.
        let watts = 20.0 * 14.2 / 0.9;
        let volts = |e: f64, shared: f64, own: f64| {
            let r = 2.0 * shared + own;
            (e + (e * e - 4.0 * watts * r).sqrt()) / 2.0
        };
        let (shared, own) = (ohm("W30"), ohm("W31"));
        near("alike", Ok(ohm("W32")), own, 1e-6);
        let each = watts / volts(13.2, shared, own);
        for (id, amps) in [("W30", 2.0 * each), ("W31", each), ("W32", each)] {
            // The ohms are those of a wire warmed by its working current, the design current takes it warm.
            near(id, Ok(amps_of(&r, id)), amps, 0.01);
            let (fuse_least, carries) = (1.25 * amps_of(&r, id), run(&r, id).ampacity_a.clone().expect("known").0);
            assert!(carries >= amps_of(&r, id), "{id}: {carries} A");
            if id == "W30" {
                let there = sized.runs.iter().find(|r| r.id.as_str() == id).expect("there").protection[0].amps_a;
                let fuse = there.known().expect("a rating").0;
                assert!(fuse >= fuse_least - 1e-9 && fuse <= carries + 1e-9, "{fuse} A for {fuse_least}, {carries} A");
            }
        }
        let stops: Vec<String> = r.findings.iter().filter(|f| f.level == Level::Stop).map(|f| f.text()).collect();
        let before: Vec<String> =
            evaluate(&p).findings.iter().filter(|f| f.level == Level::Stop).map(|f| f.text()).collect();
        assert!(stops.iter().all(|s| before.contains(s)), "{stops:?}");
        assert!(found(&r, "dc-dc-drops-out").is_empty(), "{}", texts(&r));
        let again = Engine::default().size_all(&sized, &Stock::default(), false);
        assert_eq!(again.edits, [], "{shared_m}");
    }
}

fn amps_of(r: &Report, id: &str) -> f64 {
    amps(r, id).0
}
