//! A coach that is tilted toward any, standing one way.

use coachwire::engine::Engine;
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

use super::{n, plan, with};

fn tilted(name: &str, edits: &[(&str, Value)]) -> Plan {
    let plan = plan(name);
    let tilts: Vec<String> = plan.stays.iter().map(|s| format!("stays.{}.tilt_deg", s.id)).collect();
    let mut all: Vec<(&str, Value)> = tilts.iter().map(|at| (at.as_str(), n(30.0))).collect();
    all.extend(edits.iter().cloned());
    with(&plan, &all)
}

/// Each way is the plan with that heading typed in; the ends are theirs. North of the tropics the sun side harvests most:
/// within 45 degrees of south, and least within 45 of north. Source: Duffie & Beckman, surfaces toward the equator.
#[test]
fn every_way_is_the_plan_with_that_heading() {
    let stock = Stock::default();
    for name in ["bramble", "sorrel"] {
        let any = tilted(name, &[]);
        let ways = Engine::default().ways_while(&any, &stock, || true).unwrap().unwrap();
        assert_eq!(ways.each.len(), 8);
        for way in &ways.each {
            let headings: Vec<String> = any.stays.iter().map(|s| format!("stays.{}.heading_deg", s.id)).collect();
            let edits: Vec<(&str, Value)> = headings.iter().map(|at| (at.as_str(), n(way.heading_deg))).collect();
            let fixed = Engine::default().evaluate(&with(&any, &edits), &stock);
            assert_eq!(fixed.year.harvest_kwh, Ok(way.harvest_kwh), "{name} {}", way.heading_deg);
            assert_eq!(fixed.year.unmet_pct.clone().ok(), way.unmet_pct, "{name} {}", way.heading_deg);
            for (month, (harvest, short)) in fixed.year.months.iter().zip(way.months.iter().map(|m| m.unwrap())) {
                assert_eq!(month.harvest_wh_day.clone().unwrap().0, harvest);
                assert_eq!(month.shortfall_wh_day.clone().ok().map(|w| w.0), short);
            }
        }
        let ((least, north), (most, south)) = ways.ends(|w| Some(w.harvest_kwh)).unwrap();
        assert!(
            [0.0, 45.0, 315.0].contains(&north) && [135.0, 180.0, 225.0].contains(&south),
            "{name}: {north} {south}"
        );
        let mean = Engine::default().evaluate(&any, &stock).year.harvest_kwh.clone().unwrap();
        assert!(least < mean && mean < most && most > 1.05 * least, "{name}: {least} {mean} {most}");
        let ((served, _), (short, _)) = ways.ends(|w| w.unmet_pct).unwrap();
        assert!(served <= short);
    }
    // A flat coach, or one that names its heading, is no question; given up where nobody waits.
    let flat = Engine::default().ways_while(&plan("bramble"), &stock, || true).unwrap();
    assert!(flat.is_err());
    assert!(Engine::default().ways_while(&tilted("bramble", &[]), &stock, || false).is_none());
}
