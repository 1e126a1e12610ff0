//! Fuses of runs that start at a fuse panel; what fits a run of no current; a controller that has to stand close to its bus; copper
//! out of all proportion, the least of it first.

use super::mistakes::{insert, with};
use super::{evaluate, found, plan, texts};
use coachwire::engine::{Engine, Report};
use coachwire::plan::{Plan, Step, Value};
use coachwire::standards::conductor::area_mm2;
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::{Fuse, Stock};
use coachwire::units::{Amps, METRES_PER_FOOT, Number};
use coachwire::wording::run::fuse_fits;

/// An AGM bank, 6 AWG of so many metres to a fuse panel, and from there a critical load on 14 AWG behind a fuse.
pub(super) fn panelled(feeder_m: f64, fuse: &str, more: &str) -> Plan {
    plan(&format!(
        r#"(bank: (chemistry: "AGM", unit_v: 12.0, unit_ah: 100.0, series: 1.0, parallel: 1.0, cca_a: 650.0, vented: "yes"),
        devices: [(id: "FP", kind: "fuse panel")],
        loads: [(id: "LT", watts_w: 60.0, hours_day: 2.0, critical: "yes"{more})],
        runs: [
            (id: "W1", from: "BK", to: "FP", gauge: "6 AWG", legs: [(id: "L1", length_m: {feeder_m:?},
                insulation_c: 105.0, ambient_c: 40.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)]),
            (id: "W2", from: "FP", to: "LT", gauge: "14 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0,
                ambient_c: 40.0)], protection: [(id: "F1", at: "from", {fuse}, distance_m: 0.02)])])"#
    ))
}

const BLADE: &str = r#"family: "ISO 8820-3 C", amps_a: 10.0"#;

fn cures(p: &Plan, stock: &Stock, check: &str, subject: &str) -> Vec<Step> {
    let r = Engine::default().evaluate(p, stock);
    let f = found(&r, check).into_iter().find(|f| f.subject.as_str() == subject);
    let f = f.unwrap_or_else(|| panic!("{check}: {}", texts(&r)));
    Engine::default().cures(p, stock, f)
}

fn names(steps: &[Step]) -> Vec<&str> {
    steps.iter().map(|s| s.name.as_str()).collect()
}

/// ISO 8820-3 blades open 1 kA (from memory). With 0.5 m of 6 AWG ahead of the panel a fault of 650 A of cold cranking is more: what opens
/// it is no blade, and is said to sit outside the panel, by the cure and by sizing all.
#[test]
fn what_does_not_go_into_the_panel_is_said_to_sit_outside() {
    let p = panelled(0.5, BLADE, "");
    let steps = cures(&p, &Stock::default(), "interrupt-below-fault", "runs.W2");
    assert!(
        !steps.is_empty() && steps.iter().all(|s| s.name.contains("W2's in a holder of its own outside FP")),
        "{:?}",
        names(&steps)
    );
    let proposal = Engine::default().propose_sizes(&p, &Stock::default(), false);
    let row = proposal.rows.iter().find(|r| r.run.as_str() == "W2").expect("the row");
    assert_ne!(row.fuse.1.expect("a fuse").1, FuseFamily::BladeC);
    assert!(row.why.contains("in a holder of its own outside FP"), "{}", row.why);
    // A feeder's fuse is in no panel.
    assert!(
        proposal.rows[0].run.as_str() == "W1" && !proposal.rows[0].why.contains("outside"),
        "{}",
        proposal.rows[0].why
    );
}

/// Where a blade opens the fault it stays one, whatever else the van carries, and no drop is a reason for another family.
#[test]
fn a_panel_keeps_its_own_family() {
    let mut stock = Stock::default();
    stock.truck.fuses.push(Fuse {
        family: coachwire::plan::Known::Is(FuseFamily::ClassT),
        amps_a: coachwire::plan::Known::Is(Amps(10.0)),
        count: coachwire::plan::Known::Is(Number(5.0)),
        ..Fuse::default()
    });
    let p = panelled(9.0, BLADE, "");
    let of = |p: &Plan, stock: &Stock| Engine::default().evaluate(p, stock);
    let r = of(&p, &stock);
    assert!(found(&r, "interrupt-below-fault").is_empty(), "{}", texts(&r));
    assert_eq!(r.runs[1].proposed.as_ref().expect("a fuse").family, FuseFamily::BladeC);
    // On the bus bar of a bank the one on the van comes first.
    let bar = with(&p, &[("devices.FP.kind", Value::Word("bus"))]);
    assert_eq!(of(&bar, &stock).runs[1].proposed.as_ref().expect("a fuse").family, FuseFamily::ClassT);
    for s in [&stock, &Stock::default()] {
        let steps = cures(&p, s, "drop-over-target", "runs.W2");
        let leaves = steps.iter().any(|s| s.name.starts_with("W2 fuse:") && !s.name.contains("ISO 8820-3"));
        assert!(!steps.is_empty() && !leaves, "{:?}", names(&steps));
    }
}

/// A run that no current is known for: what its line says would fit is what sizing all puts.
#[test]
fn what_fits_a_run_of_no_current_is_said() {
    let p = with(&panelled(0.5, BLADE, ""), &[("loads.LT.watts_w", Value::Number(0.0))]);
    let r: Report = evaluate(&p);
    assert_eq!(r.runs[1].design_a.as_ref().map(|a| a.0), Ok(0.0));
    let row = &Engine::default().propose_sizes(&p, &Stock::default(), false).rows[1];
    let (amps, family) = row.fuse.1.expect("a fuse");
    assert_ne!(family, FuseFamily::BladeC);
    let lines = fuse_fits(&p, &r, &r.runs[1]);
    assert!(lines.iter().any(|l| l.starts_with(&format!("would fit {} A {family} ", amps.0))), "{lines:?} {row:?}");
    // One that opens the fault is fit as it is.
    let far = with(&panelled(9.0, BLADE, ""), &[("loads.LT.watts_w", Value::Number(0.0))]);
    let r = evaluate(&far);
    assert!(
        !fuse_fits(&far, &r, &r.runs[1]).iter().any(|l| l.contains("would fit")),
        "{:?}",
        fuse_fits(&far, &r, &r.runs[1])
    );
}

/// Usual mistake 3 where the controller's terminals take 6 AWG at most: nothing of 2 ft or more is within 1.25 % of 12 V, and it has a
/// cure all the same, a foot at least and whole inches, with that wire.
#[test]
fn a_controller_that_takes_thin_wire_alone_is_moved_close() {
    let far = super::fuses_weighed::coach(4.0, 0.3, 125.0, "new");
    let gauge = |text: &str| Value::Gauge(text.parse().expect("gauge"));
    let thin = [
        ("controllers.C1.ratings.largest_wire", gauge("6 AWG")),
        ("runs.W1.gauge", gauge("4/0 AWG")),
        ("runs.W2.protection.F1.amps_a", Value::Number(80.0)),
    ];
    let p = with(&far, &thin);
    let steps = cures(&p, &Stock::default(), "drop-over-target", "runs.W2");
    let step =
        steps.iter().find(|s| s.name.starts_with("C1 nearer: W2 ")).unwrap_or_else(|| panic!("{:?}", names(&steps)));
    let after = p.with(step).expect("applies");
    let metres = after.runs[1].legs[0].length_m.known().expect("m").0;
    let inches = metres / METRES_PER_FOOT * 12.0;
    assert!((12.0 - 1e-6..24.0).contains(&inches) && (inches - inches.round()).abs() < 0.01, "{inches}");
    assert!(found(&evaluate(&after), "drop-over-target").is_empty());
}

/// Of copper that is all out of proportion the least stands first.
#[test]
fn the_least_of_far_too_much_copper_comes_first() {
    let class_t = r#"family: "UL 248-15 T", amps_a: 15.0"#;
    let gauge = |text: &str| Value::Gauge(text.parse().expect("gauge"));
    let mut several = 0;
    for (feeder_m, other) in
        [(4.0, 200.0), (5.0, 120.0), (6.0, 200.0), (7.0, 200.0), (8.0, 150.0), (9.0, 250.0), (12.0, 120.0)]
    {
        let p = insert(
            &panelled(feeder_m, class_t, ""),
            "loads",
            &format!(r#"(id: "L2", watts_w: {other:?}, hours_day: 2.0)"#),
        );
        let branch = r#"(id: "W3", from: "FP", to: "L2", gauge: "10 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0,
            ambient_c: 40.0)], protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.02)])"#;
        let set = [
            ("loads.LT.watts_w", Value::Number(100.0)),
            ("runs.W1.protection.F1.amps_a", Value::Number(50.0)),
            ("runs.W2.gauge", gauge("12 AWG")),
        ];
        let p = with(&insert(&p, "runs", branch), &set);
        let steps = cures(&p, &Stock::default(), "drop-over-target", "runs.W2");
        let heavy = steps.iter().filter(|s| s.name.contains("far more copper"));
        let copper = |s: &Step| -> f64 {
            let of =
                |r: &coachwire::plan::Run| area_mm2(*r.gauge.known().unwrap()) * r.legs[0].length_m.known().unwrap().0;
            p.with(s).expect("applies").runs.iter().map(of).sum()
        };
        let all: Vec<f64> = heavy.map(copper).collect();
        assert!(all.windows(2).all(|w| w[0] <= w[1] + 1e-6), "{all:?} {:?}", names(&steps));
        // Only where nothing less does.
        assert!(all.is_empty() || all.len() == steps.len(), "{:?}", names(&steps));
        several += usize::from(all.len() > 1);
    }
    assert!(several > 0);
}

/// A load without a run of its own on the panel stays as it was: nothing is said of a fuse that is not there.
#[test]
fn a_bare_panel_says_nothing() {
    let p = insert(&panelled(9.0, BLADE, ""), "loads", r#"(id: "L2", watts_w: 10.0, hours_day: 1.0)"#);
    let rows = Engine::default().propose_sizes(&p, &Stock::default(), false).rows;
    assert!(rows.iter().all(|r| !r.why.contains("outside")), "{rows:?}");
}
