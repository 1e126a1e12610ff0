//! The bond of the negative as sizing all makes it, and why it is left as it is.

use super::mistakes::{sound, with};
use super::says;
use coachwire::engine::Engine;
use coachwire::plan::{Known, Plan, Value};
use coachwire::standards::conductor::area_mm2;
use coachwire::stock::Stock;

fn sized(p: &Plan, only: bool) -> (Plan, String) {
    let proposal = Engine::default().propose_sizes(p, &Stock::default(), only);
    let why = proposal.rows.iter().find(|r| r.run.as_str() == "W7").expect("the bond").why.clone();
    (p.with(&proposal.step).expect("applies"), why)
}

fn mm2(p: &Plan, run: &str) -> f64 {
    p.runs.iter().find(|r| r.id.as_str() == run).and_then(|r| r.gauge.known()).map_or(0.0, |g| area_mm2(*g))
}

/// As thick as the largest battery lead, of at least 8 AWG, and no thicker, whatever it was drawn in; one that is there
/// stays. Source: NEC 552.10(C)(4).
#[test]
fn a_new_bond_gets_as_thick_as_the_lead_and_no_thicker() {
    let gauge = |text: &str| Value::Gauge(text.parse().expect("gauge"));
    for start in [gauge("4/0 AWG"), gauge("10 AWG"), Value::Unknown] {
        let (after, why) = sized(&with(&sound(), &[("runs.W7.gauge", start)]), false);
        assert!(mm2(&after, "W3") < area_mm2("4/0 AWG".parse().expect("gauge")), "the lead got thinner");
        assert_eq!(mm2(&after, "W7"), mm2(&after, "W3").max(area_mm2("8 AWG".parse().expect("gauge"))), "{why}");
        assert_eq!(why, "as the largest battery lead wants its bond");
        let again = Engine::default().size_all(&after, &Stock::default(), false);
        assert_eq!(again.edits, []);
    }
    let there = with(&sound(), &[("runs.W7.legs.L1.state", Value::Word("existing"))]);
    assert_eq!(mm2(&sized(&there, false).0, "W7"), mm2(&there, "W7"));
}

/// Without any wire on the truck the lead stays open, and the bond waits for it.
#[test]
fn a_bond_whose_lead_is_open_waits_for_it() {
    let p = with(&sound(), &[("runs.W7.gauge", Value::Unknown), ("runs.W3.gauge", Value::Unknown)]);
    let (after, why) = sized(&p, true);
    assert_eq!(after.runs[2].gauge, Known::Unknown);
    assert_eq!(why, "not sized: waits for runs.W3.gauge");
    let r = Engine::default().evaluate_wires(&after, &Stock::default());
    assert!(!says(&r, "bond-small", "runs.W7"));
    assert!(r.waiting.iter().any(|n| n.check == "bond-small" && n.waits_for.as_str() == "runs.W3.gauge"));
}
