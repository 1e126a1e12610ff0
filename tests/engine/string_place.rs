//! A string's fuse belongs at the combiner, where the other strings feed a fault in its lead; and the next rating up is
//! never for the smallest wires, whatever the basis.

use super::cures::is_curable;
use super::mistakes::{insert, sound, with};
use super::{evaluate, found, texts};
use coachwire::engine::{Engine, LadderOf, Level};
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// Four strings of two, each with its own lead and fuse to a combiner on the roof.
pub(super) fn four(gauge: &str, at: &str, metres: f64) -> Plan {
    let mut p = insert(&sound(), "devices", r#"(id: "CMB", kind: "combiner")"#);
    p.arrays[0].strings = "2S1P P1".parse().expect("strings");
    p.arrays[0].places.clear();
    for i in 2..=4 {
        p = insert(&p, "arrays", &format!(r#"(id: "A{i}", strings: "2S1P P1", controller: "C1")"#));
    }
    p = with(&p, &[("runs.W1.from", Value::Id("CMB".parse().expect("id")))]);
    for i in 1..=4 {
        let run = format!(
            r#"(id: "S{i}", from: "A{i}", to: "CMB", gauge: "{gauge}", legs: [(id: "L1", length_m: 2.0, zone: "roof",
                insulation_c: 90.0)], protection: [(id: "F1", at: "{at}", family: "IEC 60269-6 gPV", amps_a: 20.0,
                distance_m: {metres:?})])"#
        );
        p = insert(&p, "runs", &run);
    }
    p
}

/// Three others of 10.7 A push 3 x 1.25 x 10.7 = 40.1 A back (NEC 690.9(A)): into 14 AWG on a hot roof past no fuse if
/// that sits at the panels. 6 AWG carries it, and its fuse may protect the panels from there.
#[test]
fn a_string_fuse_at_the_panels_protects_no_thin_lead() {
    let wrong = four("14 AWG", "from", 0.1);
    let r = evaluate(&wrong);
    let f = found(&r, "string-fuse-wrong-end");
    assert_eq!(f.len(), 4, "{}", texts(&r));
    assert!(f.iter().all(|f| f.level == Level::Stop && (f.n(0) - 40.1).abs() < 0.1), "{}", texts(&r));
    is_curable(&wrong, "string-fuse-wrong-end", "runs.S1");
    let r = evaluate(&four("14 AWG", "to", 0.1));
    assert!(found(&r, "string-fuse-wrong-end").is_empty(), "{}", texts(&r));
    // A lead that carries all that can come is protected; its fuse belongs at the combiner all the same.
    let r = evaluate(&four("6 AWG", "from", 0.1));
    let f = found(&r, "string-fuse-wrong-end");
    assert!(f.len() == 4 && f.iter().all(|f| f.level == Level::Caution), "{}", texts(&r));
    assert!(f[0].text().contains("at the panels' end"), "{}", f[0].text());
    // At the right end, but with most of the lead between.
    assert_eq!(found(&evaluate(&four("14 AWG", "to", 1.5)), "string-fuse-wrong-end").len(), 4);
}

/// A string of small panels beside one of 10.7 A: 1.25 x 10.7 = 13.4 A go back into it (NEC 690.9(A)), and its label has
/// 10 A at most. Panels whose label has 15 A stand that, and two like strings push no more into one than it gives.
#[test]
fn of_two_unlike_strings_the_smaller_may_want_a_fuse() {
    let of = |series_a: f64| {
        let small = format!(
            r#"(id: "PS", name: "small", pmax_w: 100.0, vmp_v: 19.0, imp_a: 5.2, voc_v: 22.8, isc_a: 5.4, cells: 36.0,
                alpha_pct_k: 0.05, beta_pct_k: -0.28, gamma_pct_k: -0.35, series_fuse_a: {series_a:?})"#
        );
        let p = insert(&sound(), "panels", &small);
        let apart = [("arrays.A1.strings", Value::Text("1S1P P1".into()))];
        let mut p = with(&p, &apart);
        p.arrays[0].places.clear();
        let p = insert(&p, "arrays", r#"(id: "A2", strings: "1S1P PS", controller: "C1")"#);
        let end = p.runs[0].to.known().expect("drawn").clone();
        let lead = format!(
            r#"(id: "S2", from: "A2", to: "{end}", gauge: "10 AWG", legs: [(id: "L1", length_m: 2.0, zone: "roof",
                insulation_c: 90.0)])"#
        );
        insert(&p, "runs", &lead)
    };
    let wrong = of(10.0);
    let r = evaluate(&wrong);
    let f = found(&r, "string-fuse-missing");
    assert!(f.len() == 1 && f[0].level == Level::Stop, "{}", texts(&r));
    assert!((f[0].n(0) - 1.25 * 10.7).abs() < 1e-9 && f[0].n(1) == 10.0, "{:?}", f[0].numbers);
    // 690.9(B): 1.5625 x 5.4 = 8.44 A at least.
    assert!(
        f[0].text().ends_with("into that of PS, which stands 10.0 A; that one needs a fuse of 8.5 A to 10 A"),
        "{}",
        f[0].text()
    );
    is_curable(&wrong, "string-fuse-missing", "controllers.C1");
    assert!(found(&evaluate(&of(15.0)), "string-fuse-missing").is_empty());
    assert!(found(&evaluate(&sound()), "string-fuse-missing").is_empty());
    // Both strings of one array: a fuse of its own wants an array of its own.
    let both = with(&wrong, &[("arrays.A1.strings", Value::Text("P1 | PS".into()))]);
    let r = evaluate(&both);
    let f = found(&r, "string-fuse-missing");
    assert!(f.len() == 1, "{}", texts(&r));
}

/// Two strings of 10.7 A on one home run: at the panels' end each has a fuse of its own; at the controller's end there is
/// one, and 1.25 x 2 x 10.7 = 26.8 A go through it (NEC 690.8(A)(1), 690.9(B): at least 1.25 x that).
#[test]
fn at_the_controller_a_string_type_fuse_is_the_only_one() {
    let fused = |at: &str| {
        let fuse = format!(
            r#"(id: "F1", at: "{at}", family: "IEC 60269-6 gPV", amps_a: 20.0, volts_dc_v: 1000.0, distance_m: 0.1)"#
        );
        let mut p = sound();
        p.runs[0].protection.clear();
        insert(&p, "runs.W1.protection", &fuse)
    };
    let small = |p: &Plan| found(&evaluate(p), "fuse-below-design").iter().any(|f| f.subject.as_str() == "runs.W1");
    assert!(small(&fused("to")), "{}", texts(&evaluate(&fused("to"))));
    assert!(!small(&fused("from")), "{}", texts(&evaluate(&fused("from"))));
}

/// NEC 240.4(B) with 240.4(D): the next rating up is for conductors above 10 AWG; 6 mm2 is no thicker than that class.
#[test]
fn the_next_rating_up_is_never_for_small_wire() {
    for (basis, gauge) in [("marine", "10 AWG"), ("marine", "14 AWG"), ("metric", "6 mm2"), ("metric", "2.5 mm2")] {
        let word = match basis {
            "marine" => Value::Word("marine"),
            _ => Value::Word("metric"),
        };
        let size = |g: &str| Value::Gauge(g.parse().expect("gauge"));
        let base = with(&sound(), &[("job.basis", word.clone()), ("runs.W6.gauge", size(gauge))]);
        let carries = evaluate(&base).runs[5].ampacity_a.clone().expect("known").0;
        let next = coachwire::standards::small_wire::next_standard_rating_a(carries).expect("rating");
        assert!(next > carries, "a case that tells");
        let above = with(&base, &[("runs.W6.protection.F1.amps_a", n(next))]);
        let r = evaluate(&above);
        let here = |check: &str| found(&r, check).iter().any(|f| f.subject.as_str() == "runs.W6");
        assert!(here("fuse-above-conductor") && !here("next-rating-up"), "{basis} {gauge}:\n{}", texts(&r));
        // The next size that is thicker may have it.
        let thick = if basis == "marine" { "8 AWG" } else { "10 mm2" };
        let thick = with(&base, &[("runs.W6.gauge", size(thick))]);
        let carries = evaluate(&thick).runs[5].ampacity_a.clone().expect("known").0;
        let next = coachwire::standards::small_wire::next_standard_rating_a(carries).expect("rating");
        if next > carries {
            let r = evaluate(&with(&thick, &[("runs.W6.protection.F1.amps_a", n(next))]));
            assert!(
                !found(&r, "fuse-above-conductor").iter().any(|f| f.subject.as_str() == "runs.W6"),
                "{}",
                texts(&r)
            );
        }
        // No row of the ladder brings a fuse above what such wire carries.
        let rows = Engine::default().ladder(&base, &Stock::default(), &LadderOf::Gauge(base.runs[5].id.clone()));
        for row in rows.iter().filter(|r| r.name() == gauge) {
            let with = base.with(&row.step).expect("applies");
            let fuse = with.runs[5].protection[0].amps_a.known().expect("rating").0;
            let brought = with.runs[5].protection != base.runs[5].protection;
            assert!(!brought || fuse <= carries + 1e-9, "{basis} {gauge}: {fuse} A on {carries} A");
        }
    }
}

/// Three strings whose run has one fuse of 20 A where it ends on a combiner: it is one for 3 x 10.7 x 1.25 = 40.1 A and wants 1.25 times
/// that (NEC 690.9(B)), and protects no string against the 2 x 1.25 x 10.7 = 26.75 A of the others (690.9(A)). Made one in each string,
/// 1.56 x 10.7 = 16.7 A at least, it mends both in one step. A fuse for all of them stays one, and string fuses come beside it.
#[test]
fn one_small_fuse_at_a_combiner_becomes_one_in_each_string() {
    let of = |at: &str, amps: f64| {
        let mut p = insert(&sound(), "devices", r#"(id: "CB", kind: "combiner", zone: "roof")"#);
        p.arrays[0].places.clear();
        let on = r#"(id: "V1", from: "CB", to: "C1", gauge: "4 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)])"#;
        let p = insert(&p, "runs", on);
        let text = |t: &str| Value::Text(t.into());
        let p = with(
            &p,
            &[
                ("arrays.A1.strings", text("2S3P P1")),
                ("runs.W1.to", Value::Id("CB".parse().expect("id"))),
                ("runs.W1.gauge", Value::Gauge("4 AWG".parse().expect("gauge"))),
            ],
        );
        let fuse = format!(
            r#"(id: "F2", at: "{at}", family: "IEC 60269-6 gPV", amps_a: {amps:.1}, volts_dc_v: 1000.0, distance_m: 0.1)"#
        );
        let out = coachwire::plan::Edit::Remove { at: coachwire::plan::FieldPath::new("runs.W1.protection.F1") };
        let p = p.with(&coachwire::plan::Step::one("out", out)).expect("there");
        insert(&p, "runs.W1.protection", &fuse)
    };
    let wrong = of("to", 20.0);
    let r = evaluate(&wrong);
    let small = found(&r, "fuse-below-design");
    assert_eq!((small.len(), small[0].level, small[0].n(0)), (1, Level::Stop, 20.0), "{}", texts(&r));
    assert!((small[0].n(1) - 40.125).abs() < 1e-6, "{}", small[0].text());
    let missing = found(&r, "string-fuse-missing");
    assert!(missing[0].level == Level::Stop && (missing[0].n(0) - 26.75).abs() < 1e-6, "{}", texts(&r));
    let about = ["fuse-below-design", "string-fuse-missing", "string-fuse-rating", "string-fuse-wrong-end"];
    for (check, subject) in [("fuse-below-design", "runs.W1"), ("string-fuse-missing", "controllers.C1")] {
        is_curable(&wrong, check, subject);
        let step = &super::cures::cures(&wrong, check, subject)[0];
        assert!(step.name.contains("W1 F2 as one in each string of A1"), "{check}: {}", step.name);
        let after = wrong.with(step).expect("applies");
        let r = evaluate(&after);
        assert!(about.iter().all(|id| found(&r, id).is_empty()), "{check}:\n{}", texts(&r));
        assert_eq!(after.runs.iter().find(|r| r.id.as_str() == "W1").expect("run").protection.len(), 1);
    }
    // Drawn so from the first it is silent; one that is for all of them is no string fuse.
    let r = evaluate(&of("from", 20.0));
    assert!(about.iter().all(|id| found(&r, id).is_empty()), "{}", texts(&r));
    let r = evaluate(&of("to", 60.0));
    assert!(found(&r, "fuse-below-design").is_empty() && !found(&r, "string-fuse-missing").is_empty(), "{}", texts(&r));
    let step = &super::cures::cures(&of("to", 60.0), "string-fuse-missing", "controllers.C1")[0];
    assert!(!step.name.contains("as one in each"), "{}", step.name);
}
