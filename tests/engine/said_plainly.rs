//! Sentences that read as a technician would say them: one panel or several, no more digits than tell two numbers apart,
//! the plan's own units.

use super::mistakes::{sound, with, word};
use super::{evaluate, found, texts};
use coachwire::engine::Engine;
use coachwire::plan::samples::sample;
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

fn larkspur() -> Plan {
    Plan::from_text(sample("larkspur").expect("there").text).expect("reads")
}

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// The text of the only finding of a check.
fn text(p: &Plan, check: &str) -> String {
    let r = evaluate(p);
    let all = found(&r, check);
    assert_eq!(all.len(), 1, "{check}\n{}", texts(&r));
    all[0].text()
}

#[test]
fn one_panel_held_back_is_one() {
    let r = evaluate(&larkspur());
    let said: Vec<String> = found(&r, "panel-in-shadow").iter().map(|f| f.text()).collect();
    assert!(said.iter().any(|t| t.contains("PP2 in series with it stands lit and is held back")), "{said:?}");
    assert!(said.iter().all(|t| !t.contains("stand lit")), "{said:?}");
}

/// A fuse of 35 A at 35 A: no decimals tell equal numbers apart; 1.25 x 35 A are 43.75 A (NEC 690.9(B)).
#[test]
fn equal_numbers_get_no_more_decimals() {
    let edits = [
        ("runs.W6.design_override_a", n(35.0)),
        ("runs.W6.protection.F1.amps_a", n(35.0)),
        ("runs.W3.protection.F1.amps_a", n(200.0)),
    ];
    let p = with(&sound(), &edits);
    let said = text(&p, "fuse-below-design");
    assert!(said.starts_with("W6: fuse F1 of 35 A for 35.0 A, at least 43.8 A"), "{said}");
}

/// Volts just under a limit are not all of it; far over it they are so in any weather.
#[test]
fn a_share_below_the_whole_reads_below_it() {
    let voc = evaluate(&sound()).arrays[0].voc_cold_v.clone().expect("volts").0;
    let limit = |v: f64| text(&with(&sound(), &[("controllers.C1.max_pv_v", n(v))]), "cold-voc-over-limit");
    let said = limit(voc / 0.997);
    assert!(said.contains("(99.7 %)"), "{said}");
    let said = limit(voc * 0.5);
    assert!(said.contains("(200 %); exceeded in any weather"), "{said}");
    let said = limit(voc * 0.97);
    assert!(said.contains("; exceeded below "), "{said}");
}

#[test]
fn a_fuse_without_a_rating_to_interrupt_is_said_to_have_none() {
    let p = with(&sound(), &[("runs.W3.protection.F1.interrupt_a", n(0.0))]);
    let said = text(&p, "interrupt-below-fault");
    assert!(said.starts_with("W3: fuse F1 has no rating to interrupt at "), "{said}");
}

/// A size that is an area needs no area beside it.
#[test]
fn a_bond_in_square_millimetres_is_said_once() {
    let gone = [("runs.W7.legs.L1.state", word("removed")), ("job.gauge_system", word("mm2"))];
    let said = text(&with(&sound(), &gone), "bond-missing");
    assert!(said.ends_with(" mm2 at least") && said.matches("mm2").count() == 1, "{said}");
    let said = text(&with(&sound(), &gone[..1]), "bond-missing");
    assert!(said.ends_with("4/0 AWG at least (107.2 mm2)"), "{said}");
}

/// A panel laid into an obstacle: how far it is moved, and where to, is in inches where the plan is in feet.
#[test]
fn a_moved_panel_is_moved_in_the_plans_units() {
    let mut p = larkspur();
    let (x, y) = (p.roof.obstacles[0].x_m, p.roof.obstacles[0].y_m);
    let place = &mut p.arrays[1].places[0];
    (place.x_m, place.y_m) = (x, y);
    let id = place.id.clone();
    let r = evaluate(&p);
    let laid = r.findings.iter().filter(|f| matches!(f.check.id, "panel-over-opening" | "panel-on-obstacle"));
    let about = laid.into_iter().find(|f| f.subject.as_str().ends_with(id.as_str())).expect("laid into it");
    let mut moved = 0;
    for step in Engine::default().cures(&p, &Stock::default(), about) {
        if let Some(way) = step.name.strip_prefix(&format!("{id} moved: ")) {
            let ends = ["back", "forward", "to the passenger side", "to the driver's side"];
            assert!(
                way.split(", ").all(|part| part.contains("\" ") && ends.iter().any(|e| part.ends_with(e))),
                "{way}"
            );
            assert!(!way.contains("mm"), "{way}");
            moved += 1;
        }
    }
    assert!(moved > 0);
}

/// A drop of more than ten times the volts, from a load entered in wrong units, reads as what it is.
#[test]
fn a_drop_past_a_thousand_per_cent_is_not_its_target() {
    let p = with(
        &sound(),
        &[("loads.L1.watts_w", n(20_000.0)), ("loads.L1.quantity", n(20.0)), ("loads.L1.hours_day", n(0.1))],
    );
    let r = evaluate(&p);
    let said: Vec<String> = found(&r, "drop-over-target").iter().map(|f| f.text()).collect();
    let percent =
        |text: &String| -> Option<f64> { text.split_once(" on the way, ")?.1.split(' ').next()?.parse().ok() };
    let most = said.iter().filter_map(percent).fold(0.0, f64::max);
    assert!(most > 1000.0 && said.iter().all(|t| !t.contains("just over")), "{said:?}");
}
