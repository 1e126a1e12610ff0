//! Temperature compensation that is missing, or of another bank; surges below what runs; panels that two trackers share; loads
//! that no run tells the panel of.

use super::cure_kinds::mended;
use super::cures::is_curable;
use super::explained::all_worked;
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// AGM in an unheated box at so many degrees, its controller in the cabinet.
fn agm(mv: f64, coldest_c: f64, heated: &'static str) -> Plan {
    let set = [
        ("bank.chemistry", word("AGM")),
        ("bank.unit_v", n(12.0)),
        ("bank.zone", word("battery box")),
        ("bank.heated", word(heated)),
        ("controllers.C1.zone", word("cabinet")),
        ("controllers.C1.absorb_v", n(14.4)),
        ("controllers.C1.temp_comp_mv_k", n(mv)),
        ("job.coldest_c", n(coldest_c)),
    ];
    with(&sound(), &set)
}

/// At -5 C lead wants 14.4 V + 30 K x 24 mV/K = 15.12 V, whether its charger has no compensation or knows nothing of the cold.
#[test]
fn no_compensation_is_told_like_one_without_a_sensor() {
    let (none, unsensed) = (evaluate(&agm(0.0, -5.0, "no")), evaluate(&agm(-24.0, -5.0, "no")));
    let of = |r: &coachwire::engine::Report, check: &str| {
        let all = found(r, check);
        all.iter().map(|f| (f.level, f.n(0), f.n(1))).collect::<Vec<_>>()
    };
    let (a, b) = (of(&none, "compensation-none"), of(&unsensed, "compensation-not-at-bank"));
    assert_eq!(a.len(), 1, "{}", texts(&none));
    assert_eq!(a, b);
    assert!(a[0].0 == Level::Caution && (a[0].1 - 15.12).abs() < 1e-9, "{a:?}");
    for (p, check) in
        [(agm(0.0, -5.0, "no"), "compensation-none"), (agm(-24.0, -5.0, "no"), "compensation-not-at-bank")]
    {
        is_curable(&p, check, "controllers.C1");
        all_worked(&p);
    }
    // Warm enough, or lithium: nothing to say. In a heated space 13 K x 24 mV/K = 0.31 V are worth knowing.
    assert!(found(&evaluate(&agm(0.0, 18.0, "no")), "compensation-none").is_empty());
    assert!(found(&evaluate(&sound()), "compensation-none").is_empty());
    let heated = evaluate(&agm(0.0, -5.0, "yes"));
    assert!(found(&heated, "compensation-none").iter().all(|f| f.level == Level::Note), "{}", texts(&heated));
}

/// 3 to 5 mV/K a cell is what sheets of lead have: 18 to 30 mV/K for 12 V, twice that for 24 V. Source: common practice.
#[test]
fn compensation_of_another_bank_is_said() {
    let sensed = |mv: f64| with(&agm(mv, -5.0, "no"), &[("controllers.C1.temp_sense", word("yes"))]);
    for (mv, out) in [(-18.0, 0.0), (-24.0, 0.0), (-30.0, 0.0), (-3.0, 15.0), (-60.0, 30.0)] {
        let r = evaluate(&sensed(mv));
        let all = found(&r, "compensation-unusual");
        assert_eq!(all.iter().map(|f| f.n(0)).sum::<f64>(), out, "{mv}: {}", texts(&r));
    }
    let twice = |mv: f64| with(&sensed(mv), &[("bank.series", n(2.0)), ("controllers.C1.absorb_v", n(28.8))]);
    assert!(found(&evaluate(&twice(-48.0)), "compensation-unusual").is_empty());
    assert!(!found(&evaluate(&twice(-24.0)), "compensation-unusual").is_empty());
    is_curable(&sensed(-60.0), "compensation-unusual", "controllers.C1");
    all_worked(&sensed(-60.0));
}

#[test]
fn a_surge_below_what_runs_is_said() {
    let at = |surge: f64| evaluate(&with(&sound(), &[("loads.L1.surge_w", n(surge))]));
    assert!(says(&at(40.0), "surge-below-watts", "loads.L1.surge_w"), "{}", texts(&at(40.0)));
    // 60 W is what it runs at; none entered, or none at all, is no slip.
    for surge in [0.0, 60.0, 180.0] {
        assert!(found(&at(surge), "surge-below-watts").is_empty(), "{surge}");
    }
    let inverter = |surge: f64| evaluate(&with(&sound(), &[("inverters.INV.surge_w", n(surge))]));
    assert!(says(&inverter(900.0), "surge-below-watts", "inverters.INV.surge_w"));
    assert!(found(&inverter(2000.0), "surge-below-watts").is_empty());
}

const SECOND: &str = r#"(id: "C2", kind: "tracking", max_pv_v: 105.0, max_pv_a: 60.0, out_a: 52.0, run_headroom_v: 1.0,
    start_headroom_v: 5.0, absorb_v: 14.2)"#;

fn wire(id: &str, from: &str, to: &str) -> String {
    format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)])"#
    )
}

/// Two trackers on the plus of one combiner, or on one array's two wires: each searches on its own. Two with strings of their own
/// do not.
#[test]
fn two_trackers_do_not_share_panels() {
    let check = "array-feeds-two-controllers";
    let p = insert(&insert(&sound(), "controllers", SECOND), "runs", &wire("W8", "A1", "C2"));
    let r = evaluate(&p);
    assert!(says(&r, check, "controllers.C2"), "{}", texts(&r));
    mended(check, &p);
    let combiner = insert(&insert(&sound(), "controllers", SECOND), "devices", r#"(id: "CO", kind: "combiner")"#);
    let combiner = insert(&insert(&combiner, "runs", &wire("W8", "CO", "C1")), "runs", &wire("W9", "CO", "C2"));
    let combiner = with(&combiner, &[("runs.W1.to", Value::Id("CO".parse().expect("id")))]);
    assert!(says(&evaluate(&combiner), check, "controllers.C2"), "{}", texts(&evaluate(&combiner)));
    let own = insert(
        &insert(&sound(), "controllers", SECOND),
        "arrays",
        r#"(id: "A2", strings: "2S1P P1", controller: "C2")"#,
    );
    let own = insert(&own, "runs", &wire("W8", "A2", "C2"));
    assert!(found(&evaluate(&own), check).is_empty());
    assert!(found(&evaluate(&sound()), check).is_empty());
}

/// A wire beside another from the same panels carries some of their sun: it is not said to carry none.
#[test]
fn a_wire_beside_another_carries_sun() {
    let one = with(&sound(), &[("arrays.A1.strings", Value::Text("2S1P P1".into()))]);
    let r = evaluate(&insert(&one, "runs", &wire("W8", "A1", "C1")));
    let next = |id: &str| r.runs.iter().find(|x| x.id.as_str() == id).expect("run").next_up.clone();
    assert_eq!(next("W8"), coachwire::engine::report::NextUp::Beside);
    assert_eq!(next("W5"), coachwire::engine::report::NextUp::ChargesNothing);
}

#[test]
fn of_several_panels_the_first_is_said_to_carry_what_has_no_run() {
    let two = insert(&sound(), "devices", r#"(id: "FP2", kind: "fuse panel")"#);
    let r = evaluate(&two);
    let all = found(&r, "loads-on-first-panel");
    assert_eq!(
        all.iter().map(|f| (f.n(0), f.n(1), f.name(0))).collect::<Vec<_>>(),
        [(1.0, 2.0, "FP")],
        "{}",
        texts(&r)
    );
    assert!(found(&evaluate(&sound()), "loads-on-first-panel").is_empty());
}

/// A second charger on the inverter's own posts: what the inverter's run brings and takes counts both.
#[test]
fn what_hangs_on_an_inverters_posts_counts_in_its_run() {
    let charger = r#"(id: "CH", kind: "shore", out_a: 140.0, efficiency_pct: 88.0, absorb_v: 14.2)"#;
    let second = r#"(id: "INV2", watts_w: 600.0)"#;
    let short = |id: &str, from: &str, to: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
                protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 175.0, distance_m: 0.1)])"#
        )
    };
    let amps = |r: &coachwire::engine::Report, id: &str| {
        r.runs.iter().find(|x| x.id.as_str() == id).expect("run").design_a.clone().map(|a| a.0)
    };
    // 1000 W and 600 W at 12.0 V and 90 %, the usual efficiency of an inverter; each by hand.
    let both = insert(&insert(&sound(), "inverters", second), "runs", &short("W9", "INV2", "INV"));
    let (r, bar) = (evaluate(&both), {
        let p = insert(&insert(&sound(), "inverters", second), "runs", &short("W9", "INV2", "BUS"));
        evaluate(&p)
    });
    near("its own", amps(&r, "W9"), amps(&bar, "W9").expect("known"), 1e-9);
    near("both", amps(&r, "W5"), amps(&bar, "W5").expect("known") + amps(&bar, "W9").expect("known"), 1e-9);
    near("from the bank", amps(&r, "W3"), amps(&bar, "W3").expect("known"), 1e-9);
    assert!(!says(&r, "inverter-without-run", "inverters.INV2"), "{}", texts(&r));
    // A charger of 140 A pushes more than an inverter of 1000 W draws.
    let p = insert(&insert(&sound(), "chargers", charger), "runs", &short("W9", "CH", "INV"));
    let r = evaluate(&p);
    near("pushed", amps(&r, "W5"), 140.0, 1e-9);
    near("own", amps(&r, "W9"), 140.0, 1e-9);
    assert!(!says(&r, "charger-without-run", "chargers.CH"), "{}", texts(&r));
    // On a controller's terminals nothing says which side is meant: its run waits.
    let p = insert(&insert(&sound(), "chargers", charger), "runs", &short("W9", "CH", "C1"));
    let r = evaluate(&p);
    assert!(says(&r, "meets-at-terminals", "runs.W9"), "{}", texts(&r));
    assert!(r.not_checked.iter().any(|c| c.subject.as_str() == "runs.W9"), "{:?}", r.not_checked);
}

/// Absorption under the bank's own volts is a stop, whatever its equalising is set to.
#[test]
fn what_hardly_charges_is_not_hidden_by_another_setting() {
    let set = [
        ("bank.chemistry", word("flooded")),
        ("bank.unit_v", n(12.0)),
        ("bank.series", n(2.0)),
        ("bank.vented", word("yes")),
        ("controllers.C1.absorb_v", n(14.6)),
    ];
    let p = with(&sound(), &set);
    let level = |p: &Plan| {
        let r = evaluate(p);
        let all = found(&r, "charge-volts-outside-window");
        all.iter().map(|f| (f.level, f.name(1).to_string())).collect::<Vec<_>>()
    };
    let stop = vec![(Level::Stop, "absorption".to_string())];
    assert_eq!(level(&p), stop);
    assert_eq!(level(&with(&p, &[("controllers.C1.equalise_v", n(15.4))])), stop);
}

/// AGM is charged at 14.7 V at most (battery_chemistry.csv), 15.42 V at -5 C (24 mV/K, common practice): a setting that is itself too
/// high is no base to add to.
#[test]
fn nothing_is_added_to_a_wrong_setting() {
    let of = |volts: f64| evaluate(&with(&agm(0.0, -5.0, "no"), &[("controllers.C1.absorb_v", n(volts))]));
    let r = of(15.0);
    let f = found(&r, "compensation-none");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    near("wanted", Ok(f[0].n(0)), 14.7 + 30.0 * 0.024, 1e-9);
    assert!(found(&of(17.0), "compensation-none").is_empty() && says(&of(17.0), "charge-volts-high", "controllers.C1"));
    // What is found of a field is said of the thing that has it.
    let said = coachwire::engine::sizing::brings(&of(14.4), &of(40.0));
    assert!(said.contains("charge-volts-impossible C1") && !said.contains('_'), "{said}");
}
