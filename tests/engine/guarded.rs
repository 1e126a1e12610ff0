//! What stands in the way of current is made for what the fuse that guards it lets through.

use super::cures::cures;
use super::explained_raised::three_leads;
use super::mistakes::{caught, insert, sound, with};
use super::{evaluate, found, says, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

const CHECK: &str = "device-below-fuse";

/// The sound plan with a main fuse and a switch of such ratings; 4/0 AWG of 105 C insulation stands them.
fn guarded(fuse: f64, switch: f64) -> Plan {
    let heavy = ["runs.W3.gauge", "runs.W4.gauge"].map(|at| (at, Value::Gauge("4/0 AWG".parse().expect("gauge"))));
    let p = with(&sound(), &heavy);
    with(
        &p,
        &[
            ("runs.W3.protection.F1.amps_a", n(fuse)),
            ("runs.W5.protection.F1.amps_a", n(300.0)),
            ("devices.SW.ratings.amps_a", n(switch)),
            ("devices.BUS.ratings.amps_a", n(300.0)),
        ],
    )
}

/// A fuse opens above its rating only: what is behind it may carry that much for ever (Kirchhoff; a fuse of UL 248-15 carries its
/// rating without end).
#[test]
fn a_main_fuse_above_the_switch_behind_it_is_said() {
    let p = guarded(300.0, 200.0);
    let r = caught("guard", &p, &guarded(200.0, 200.0), Level::Caution, CHECK, "devices.SW");
    let f = found(&r, CHECK);
    assert_eq!((f.len(), f[0].n(0), f[0].n(1)), (1, 300.0, 200.0), "{}", texts(&r));
    assert_eq!(f[0].text(), "SW is rated 200 A; fuse F1 of W3 lets 300 A through it");
    // A smaller fuse, as long as it is 1.25 times what flows; and a switch that is made for it.
    let names: Vec<String> = cures(&p, "device-below-fuse", "devices.SW").into_iter().map(|s| s.name).collect();
    assert!(names[0].starts_with("W3 fuse: 200 A UL 248-15 T"), "{names:?}");
    assert!(names.iter().any(|s| s.starts_with("SW: another, made for 300 A")), "{names:?}");
    let flows = r.runs.iter().find(|x| x.id.as_str() == "W3").expect("drawn").design_a.clone().expect("known").0;
    let tight = guarded(300.0, (flows * 1.1).ceil());
    let names: Vec<String> = cures(&tight, CHECK, "devices.SW").into_iter().map(|s| s.name).collect();
    assert!(names.iter().all(|s| !s.contains("fuse:")) && !names.is_empty(), "{names:?}");
}

#[test]
fn what_is_not_known_is_neither_wrong_nor_right() {
    let open = with(&guarded(300.0, 200.0), &[("devices.SW.ratings.amps_a", Value::Unknown)]);
    let r = evaluate(&open);
    assert!(!says(&r, CHECK, "devices.SW"), "{}", texts(&r));
    assert!(r.waiting.iter().any(|w| w.check == CHECK && w.subject.as_str() == "devices.SW"));
    let none = with(&guarded(300.0, 200.0), &[("devices.SW.ratings.amps_a", Value::Nothing)]);
    assert!(evaluate(&none).waiting.iter().all(|w| w.check != CHECK));
    let held = with(&guarded(300.0, 200.0), &[("runs.W3.protection.F1.amps_a", Value::Unknown)]);
    let r = evaluate(&held);
    assert!(!says(&r, CHECK, "devices.SW"), "{}", texts(&r));
    assert!(r.waiting.iter().any(|w| w.check == CHECK && w.waits_for.as_str() == "runs.W3.protection.F1.amps_a"));
}

/// Three batteries with a fuse of 150 A each let 450 A onto the bar where they meet (Kirchhoff's current law); a switch in one lead
/// carries that battery's 150 A alone.
#[test]
fn fuses_side_by_side_add_up_where_they_meet_and_not_before() {
    let big = [("devices.SW.ratings.amps_a", n(600.0)), ("devices.BUS.ratings.amps_a", n(600.0))];
    let p = with(&three_leads(0.6), &big);
    let big = [("inverters.INV.watts_w", n(4000.0)), ("runs.W5.protection.F1.amps_a", n(600.0))];
    let p = with(&p, &big);
    let r = evaluate(&p);
    assert!(found(&r, CHECK).is_empty(), "{}", texts(&r));
    let small = with(&p, &[("devices.SW.ratings.amps_a", n(400.0))]);
    let r = evaluate(&small);
    let f = found(&r, CHECK);
    assert_eq!((f.len(), f[0].n(0), f[0].n(1)), (1, 450.0, 400.0), "{}", texts(&r));
    assert!(f[0].text().contains("F1 of X1") && f[0].text().contains("F1 of X3"), "{}", f[0].text());
    // A switch of its own in one lead.
    let p = insert(&p, "devices", r#"(id: "S1", kind: "switch", ratings: (volts_dc_v: 48.0, amps_a: 200.0))"#);
    let lead = r#"(id: "X1B", from: "S1", to: "SW", gauge: "4/0 AWG", legs: [(id: "L1", length_m: 0.2, insulation_c: 105.0)])"#;
    let mut p = insert(&p, "runs", lead);
    p.runs.iter_mut().find(|r| r.id.as_str() == "X1").expect("drawn").to =
        coachwire::plan::Known::Is("S1".parse().expect("id"));
    let r = evaluate(&p);
    assert!(found(&r, CHECK).is_empty(), "{}", texts(&r));
    let r = evaluate(&with(&p, &[("devices.S1.ratings.amps_a", n(100.0))]));
    let f = found(&r, CHECK);
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].n(0)), (1, "devices.S1", 150.0), "{}", texts(&r));
}

/// A bar whose branches' fuses together let less through than the main fuse may be made for those.
#[test]
fn what_can_go_out_counts_as_what_can_come_in() {
    let p = with(&guarded(300.0, 300.0), &[("runs.W5.protection.F1.amps_a", n(150.0))]);
    let branches: f64 = ["W5", "W6"]
        .into_iter()
        .map(|id| {
            p.runs.iter().find(|r| r.id.as_str() == id).expect("drawn").protection[0].amps_a.known().expect("rated").0
        })
        .sum();
    assert!(branches < 300.0, "{branches}");
    let r = evaluate(&with(&p, &[("devices.BUS.ratings.amps_a", n(branches))]));
    assert!(!says(&r, CHECK, "devices.BUS"), "{}", texts(&r));
    let r = evaluate(&with(&p, &[("devices.BUS.ratings.amps_a", n(branches - 10.0))]));
    assert!(says(&r, CHECK, "devices.BUS"), "{}", texts(&r));
    // Named is the fuse ahead.
    assert_eq!((found(&r, CHECK)[0].n(0), found(&r, CHECK)[0].name(1)), (300.0, "fuse F1 of W3"), "{}", texts(&r));
}

/// Three batteries of 150 A of fuse each meet on a shunt and a switch of like rating: through either goes what the batteries' fuses let out or
/// what the loads' take, whichever is less (Kirchhoff's current law).
#[test]
fn a_shunt_is_held_to_the_smaller_as_a_switch_is() {
    let id = |text: &str| Value::Id(text.parse().expect("id"));
    let p = insert(&three_leads(0.6), "devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 400.0))"#);
    let p = with(
        &p,
        &["X1", "X2", "X3"].map(|lead| match lead {
            "X1" => ("runs.X1.negative_to", id("SHN")),
            "X2" => ("runs.X2.negative_to", id("SHN")),
            _ => ("runs.X3.negative_to", id("SHN")),
        }),
    );
    let p = with(&p, &[("runs.W4.negative_from", id("SHN")), ("devices.BUS.ratings.amps_a", n(600.0))]);
    let told = |inverter_a: f64| {
        let edits = [("runs.W5.protection.F1.amps_a", n(inverter_a)), ("devices.SW.ratings.amps_a", n(400.0))];
        let r = evaluate(&with(&p, &edits));
        ["devices.SHN", "devices.SW"].map(|at| says(&r, CHECK, at))
    };
    // 200 A and the panel's 40 A are less than 400 A; with 400 A the batteries' 450 A is the smallest of 450 and 440 that is above it.
    assert_eq!(told(200.0), [false; 2]);
    assert_eq!(told(400.0), [true; 2]);
}

/// A switch that the program puts in is made for the fuse ahead of it.
#[test]
fn a_switch_that_is_put_in_is_made_for_its_fuse() {
    let p = with(&guarded(300.0, 300.0), &[("devices.SW.kind", Value::Word("splice"))]);
    let r = evaluate(&p);
    assert!(says(&r, "no-bank-disconnect", "bank"), "{}", texts(&r));
    for step in cures(&p, "no-bank-disconnect", "bank") {
        assert!(!step.name.contains(CHECK), "{}", step.name);
        let after = evaluate(&p.with(&step).expect("applies"));
        assert!(found(&after, CHECK).is_empty(), "{}: {}", step.name, texts(&after));
    }
}

/// Batteries on leads of their own that meet on a bar without any switch get one in each lead: one in the bar's way would leave the
/// others, and what was a foot of the lead is the lead beyond it, so that nothing has to be measured first.
#[test]
fn a_switch_in_each_battery_s_lead_takes_the_bank_off() {
    let mut p = three_leads(0.6);
    for lead in p.runs.iter_mut().filter(|r| r.id.as_str().starts_with('X')) {
        lead.to = coachwire::plan::Known::Is("BUS".parse().expect("id"));
    }
    p.runs.retain(|r| r.id.as_str() != "W4");
    p.devices.retain(|d| d.id.as_str() != "SW");
    let r = evaluate(&p);
    assert!(says(&r, "no-bank-disconnect", "bank"), "{}", texts(&r));
    let steps = cures(&p, "no-bank-disconnect", "bank");
    let step = steps.iter().find(|s| s.name.starts_with("a switch in each battery's lead")).expect("offered");
    let with = p.with(step).expect("applies");
    let after = evaluate(&with);
    assert!(!says(&after, "no-bank-disconnect", "bank") && found(&after, CHECK).is_empty(), "{}", texts(&after));
    assert_eq!(after.not_checked.len(), r.not_checked.len(), "{:?}", after.not_checked);
    let metres = |p: &Plan| -> f64 {
        let legs = p
            .runs
            .iter()
            .filter(|r| r.to.known().is_some_and(|to| to.as_str() == "BUS" || to.as_str().starts_with('D')));
        legs.flat_map(|r| &r.legs).filter_map(|l| l.length_m.known()).map(|m| m.0).sum()
    };
    assert!((metres(&with) - metres(&p)).abs() < 1e-9, "{} {}", metres(&with), metres(&p));
}
