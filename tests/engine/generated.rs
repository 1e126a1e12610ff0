//! Properties over plans made from nothing but random numbers: any bank, arrays, wires, fuses and rule basis.

use super::cures::offer_all;
use super::{evaluate, plan};
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::{Known, Plan};
use coachwire::standards::conductor::{Gauge, area_mm2};
use coachwire::standards::fuse::ratings;
use coachwire::standards::kinds::FuseFamily;
use coachwire::standards::small_wire::{next_standard_rating_a, small_wire_fuse_limit_a};
use coachwire::stock::Stock;
use coachwire::units::Number;
use proptest::prelude::*;

/// One run's wire and fuse.
#[derive(Clone, Debug)]
struct Wire {
    gauge: u8,
    length_m: f64,
    ambient_c: f64,
    insulation: usize,
    bundled: u8,
    is_enclosed: bool,
    /// Family, rating, distance; none where it has no fuse.
    fuse: Option<(usize, usize, f64)>,
}

#[derive(Clone, Debug)]
pub(super) struct Drawing {
    basis: usize,
    is_lfp: bool,
    parallel: u8,
    ohmic_mohm: f64,
    strings: [(u8, u8); 2],
    arrays: usize,
    inverter_w: f64,
    load_w: [f64; 2],
    largest: Option<u8>,
    wires: Vec<Wire>,
}

fn wire() -> impl Strategy<Value = Wire> {
    let fuse = prop::option::weighted(0.7, (0_usize..9, 0_usize..40, 0.02..0.6_f64));
    (0_u8..14, 0.1..9.0_f64, -10.0..75.0_f64, 0_usize..4, 1_u8..9, any::<bool>(), fuse).prop_map(
        |(gauge, length_m, ambient_c, insulation, bundled, is_enclosed, fuse)| Wire {
            gauge,
            length_m,
            ambient_c,
            insulation,
            bundled,
            is_enclosed,
            fuse,
        },
    )
}

pub(super) fn drawing() -> impl Strategy<Value = Drawing> {
    let power = (200.0..3500.0_f64, [5.0..400.0_f64, 5.0..400.0_f64], prop::option::of(6_u8..14));
    let bank = (0_usize..3, any::<bool>(), 1_u8..6, 0.5..6.0_f64);
    let sun = ([(1_u8..5, 1_u8..5), (1_u8..5, 1_u8..5)], 1_usize..3);
    (bank, sun, power, prop::collection::vec(wire(), 10)).prop_map(|(bank, sun, power, wires)| Drawing {
        basis: bank.0,
        is_lfp: bank.1,
        parallel: bank.2,
        ohmic_mohm: bank.3,
        strings: sun.0,
        arrays: sun.1,
        inverter_w: power.0,
        load_w: power.1,
        largest: power.2,
        wires,
    })
}

fn size(basis: usize, index: u8) -> Gauge {
    if basis == 2 { Gauge::Mm2(index) } else { Gauge::Awg(index) }
}

fn run(d: &Drawing, n: usize, from: &str, to: &str) -> String {
    let w = &d.wires[n % d.wires.len()];
    let insulation = [75.0, 90.0, 105.0, 125.0][w.insulation];
    let laid = if w.is_enclosed { "enclosed" } else { "open" };
    let fuse = w.fuse.map_or(String::new(), |(family, rating, distance)| {
        let family = FuseFamily::ALL[family % FuseFamily::ALL.len()];
        let amps = ratings(family)[rating % ratings(family).len()];
        let at = if from.starts_with('C') { "to" } else { "from" };
        format!(r#"(id: "F1", at: "{at}", family: "{}", amps_a: {amps:?}, distance_m: {distance:?})"#, family.word())
    });
    format!(
        r#"(id: "W{}", from: "{from}", to: "{to}", gauge: "{}", legs: [(id: "L1", length_m: {:?}, ambient_c: {:?},
            insulation_c: {insulation:?}, laid: "{laid}", bundled: {:?})], protection: [{fuse}]),"#,
        n + 1,
        size(d.basis, w.gauge),
        w.length_m,
        w.ambient_c,
        f64::from(w.bundled),
    )
}

pub(super) fn drawn(d: &Drawing) -> Plan {
    let basis = ["US RV", "marine", "metric"][d.basis];
    let chemistry = if d.is_lfp { r#""LFP", unit_v: 12.8"# } else { r#""AGM", unit_v: 12.0"# };
    let (mut arrays, mut controllers, mut runs) = (String::new(), String::new(), String::new());
    let mut n = 0;
    let mut add = |from: &str, to: &str| {
        runs += &run(d, n, from, to);
        n += 1;
    };
    for (i, (series, strings)) in d.strings.iter().take(d.arrays).enumerate() {
        let i = i + 1;
        arrays += &format!(r#"(id: "A{i}", strings: "{series}S{strings}P P1", controller: "C{i}"),"#);
        controllers += &format!(
            r#"(id: "C{i}", kind: "tracking", max_pv_v: 150.0, max_pv_a: 60.0, out_a: 50.0, run_headroom_v: 1.0,
                start_headroom_v: 5.0, absorb_v: 14.2),"#
        );
        add(&format!("A{i}"), &format!("C{i}"));
        add(&format!("C{i}"), "BUS");
    }
    for (from, to) in [("BK", "SW"), ("SW", "BUS"), ("BUS", "INV"), ("BUS", "FP"), ("FP", "L1"), ("FP", "L2")] {
        add(from, to);
    }
    let largest = d.largest.map_or(String::new(), |g| format!(r#", ratings: (largest_wire: "{}")"#, size(d.basis, g)));
    plan(&format!(
        r#"(job: (coldest_c: -10.0, basis: "{basis}"),
        bank: (chemistry: {chemistry}, unit_ah: 100.0, series: 1.0, parallel: {:?}, ohmic_mohm: {:?},
            max_discharge_a: 100.0, max_charge_a: 50.0, charge_cutoff_c: 0.0, vented: "no"),
        panels: [(id: "P1", pmax_w: 210.0, vmp_v: 20.8, imp_a: 10.1, voc_v: 24.9, isc_a: 10.7, cells: 36.0,
            alpha_pct_k: 0.05, beta_pct_k: -0.28, series_fuse_a: 20.0, weight_kg: 12.0)],
        arrays: [{arrays}], controllers: [{controllers}],
        inverters: [(id: "INV", watts_w: {:?}, idle_w: 20.0{largest})],
        devices: [(id: "SW", kind: "switch"), (id: "BUS", kind: "bus"), (id: "FP", kind: "fuse panel")],
        loads: [(id: "L1", watts_w: {:?}, hours_day: 8.0), (id: "L2", watts_w: {:?}, hours_day: 2.0)],
        runs: [{runs}])"#,
        f64::from(d.parallel),
        d.ohmic_mohm,
        d.inverter_w,
        d.load_w[0],
        d.load_w[1],
    ))
}

pub(super) fn wires(p: &Plan) -> Report {
    Engine::default().evaluate_wires(p, &Stock::default())
}

/// How far each run's path is over its target, as a share of it.
fn over(r: &Report) -> Vec<Option<f64>> {
    let share = |x: &coachwire::engine::report::RunFigures| Some(x.path_drop_pct.clone().ok()? / x.target_pct?);
    r.runs.iter().map(share).collect()
}

fn worst_drop(r: &Report) -> f64 {
    let over = r.findings.iter().filter(|f| f.check.id == "drop-over-target").map(|f| f.n(0) / f.n(3));
    over.fold(0.0, f64::max)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, failure_persistence: None, ..ProptestConfig::default() })]

    /// One run made thicker: no run loses more, no path comes nearer its limit, no drop or ampacity finding comes.
    #[test]
    fn thicker_never_raises_a_drop_nor_adds_a_finding(d in drawing(), which in 0_usize..10, up in 1_u8..8) {
        let p = drawn(&d);
        let mut q = p.clone();
        let i = which % q.runs.len();
        let Some(now) = q.runs[i].gauge.known().copied() else { return Ok(()) };
        let Some(thicker) = now.ladder().filter(|g| *g > now).take(usize::from(up)).last() else { return Ok(()) };
        q.runs[i].gauge = Known::Is(thicker);
        let (before, after) = (wires(&p), wires(&q));
        for (was, is) in before.runs.iter().zip(&after.runs) {
            prop_assert!(was.drop_v.is_ok() && is.drop_v.is_ok(), "{}: {:?}", was.id, was.drop_v);
            let (was_v, is_v) = (was.drop_v.clone().unwrap().0, is.drop_v.clone().unwrap().0);
            prop_assert!(is_v <= was_v + 1e-9, "{} {now} > {thicker}: {} from {was_v} to {is_v} V", q.runs[i].id, is.id);
            let (had, has) = (was.ampacity_a.clone().unwrap().0, is.ampacity_a.clone().unwrap().0);
            prop_assert!(has >= had - 1e-9, "{} {now} > {thicker}: carries {had} then {has} A", is.id);
        }
        for (was, is) in over(&before).iter().zip(over(&after)) {
            if let (Some(was), Some(is)) = (was, is) {
                prop_assert!(is <= was + 1e-9, "{now} > {thicker}: {was} to {is} of the target");
            }
        }
        prop_assert!(worst_drop(&after) <= worst_drop(&before) + 1e-9);
        let by_wire = ["drop-over-target", "conductor-below-current", "ambient-over-insulation", "parallel-too-thin"];
        for f in after.findings.iter().filter(|f| by_wire.contains(&f.check.id)) {
            prop_assert!(before.findings.iter().any(|b| b.identity() == f.identity()), "{now} > {thicker}: {}", f.text());
        }
    }

    /// Every fuse the program would fit: at least 1.25 times the design current, at most what the wire carries or, where
    /// that rule is on and no other fits, the next standard rating; never above the small-wire limit.
    ///
    /// Source: NEC 240.4(B), 240.6(A); former NEC 551.10 for 18 to 10 AWG; 1.25 by NEC 210.20, 690.8.
    #[test]
    fn a_chosen_fuse_protects_its_wire_and_carries_its_load(d in drawing(), with_rule in any::<bool>()) {
        let mut p = drawn(&d);
        if !with_rule {
            p.rules.push(coachwire::plan::RuleChange {
                id: "next-rating-up".parse().expect("id"),
                value: Known::Is(Number(0.0)),
                reason: "off".into(),
            });
        }
        let report = wires(&p);
        for (i, r) in report.runs.iter().enumerate() {
            let Some(fuse) = &r.proposed else { continue };
            let (design, ampacity) = (r.design_a.clone().expect("known").0, r.ampacity_a.clone().expect("known").0);
            prop_assert!(fuse.amps.0 >= 1.25 * design - 1e-9, "{}: {} A for {design} A", r.id, fuse.amps.0);
            prop_assert!(ratings(fuse.family).contains(&fuse.amps.0));
            let most = if with_rule { next_standard_rating_a(ampacity).unwrap_or(ampacity) } else { ampacity };
            prop_assert!(fuse.amps.0 <= most.max(ampacity) + 1e-9, "{}: {} A, {ampacity} A", r.id, fuse.amps.0);
            let small = p.runs[i].gauge.known().and_then(|g| small_wire_fuse_limit_a(*g)).filter(|_| d.basis == 0);
            prop_assert!(small.is_none_or(|s| fuse.amps.0 <= s + 1e-9), "{}: {} A", r.id, fuse.amps.0);
        }
        // Of one run at a time, the one chosen with its wire too.
        let id = p.runs[p.runs.len() - 4].id.clone();
        if let Some(s) = Engine::default().select(&p, &Stock::default(), &id) {
            let mut q = p.clone();
            let run = q.runs.iter_mut().find(|r| r.id == id).expect("run");
            run.gauge = Known::Is(s.gauge);
            let r = wires(&q).runs.into_iter().find(|r| r.id == id).expect("run");
            let (design, ampacity) = (r.design_a.expect("known").0, r.ampacity_a.expect("known").0);
            prop_assert!(ampacity >= design - 1e-9, "{id} {}: carries {ampacity} of {design} A", s.gauge);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// All runs sized: no stop comes, no terminal gets more than it takes, nothing thin is paralleled, and nothing where one
    /// conductor would do.
    ///
    /// Source: NEC 310.10: conductors in parallel are 1/0 AWG and larger.
    #[test]
    fn sizing_keeps_to_the_terminals(d in drawing(), each in 0_usize..3) {
        let mut p = drawn(&d);
        let ratings = &mut p.inverters[0].ratings;
        ratings.wires_each = [None, Some(Known::Is(Number(1.0))), Some(Known::Is(Number(2.0)))][each];
        let q = p.with(&Engine::default().size_all(&p, &Stock::default(), false)).expect("applies");
        let (before, after) = (wires(&p), wires(&q));
        let has = |r: &Report, f: &Finding| r.findings.iter().any(|b| b.identity() == f.identity() && b.level == f.level);
        for f in after.findings.iter().filter(|f| f.level == Level::Stop || f.check.id == "terminal-does-not-take") {
            prop_assert!(has(&before, f), "{}", f.text());
        }
        for (was, run) in p.runs.iter().zip(&q.runs) {
            let two = run.legs[0].per_pole.known() == Some(&Number(2.0));
            prop_assert!(!two || each == 2, "{}", run.id);
            if let (true, Some(gauge)) = (two, run.gauge.known()) {
                prop_assert!(area_mm2(*gauge) >= 50.0, "{} {gauge}", run.id);
                let most = p.inverters[0].ratings.largest_wire.as_ref().and_then(|g| g.known()).map(|g| area_mm2(*g));
                prop_assert!(most.is_none_or(|m| area_mm2(*gauge) <= m + 1e-9));
                prop_assert_eq!(was.legs[0].per_pole.known(), Some(&Number(1.0)));
                // One conductor of no more metal would do less: something is said of it that is not said of two.
                let no_more = |g: &Gauge| area_mm2(*g) <= 2.0 * area_mm2(*gauge) && most.is_none_or(|m| area_mm2(*g) <= m);
                for single in gauge.ladder().filter(no_more) {
                    let mut one = q.clone();
                    let of_one = one.runs.iter_mut().find(|r| r.id == run.id).expect("run");
                    of_one.gauge = Known::Is(single);
                    of_one.legs.iter_mut().for_each(|leg| leg.per_pole = Known::Is(Number(1.0)));
                    let said = wires(&one);
                    // Or what was said is graver by its first number, the volts lost.
                    let same = |f: &Finding| after.findings.iter().find(|a| a.identity() == f.identity());
                    let graver = |f: &Finding| same(f).is_some_and(|a| f.n(0) > a.n(0) * (1.0 + 1e-9));
                    let is_worse = said.findings.iter().any(|f| !has(&after, f) || graver(f));
                    prop_assert!(is_worse, "{}: one {single} does what two {gauge} do", run.id);
                }
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// Every cure of every finding removes it and adds no stop.
    #[test]
    fn cures_cure_and_add_no_stop(d in drawing()) {
        offer_all(&drawn(&d));
    }
}

/// The plans are what they are meant to be: of every kind of finding the properties speak of there are many.
#[test]
fn generated_plans_are_worth_testing() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let (mut proposed, mut cures) = (0, 0);
    let mut kinds = std::collections::BTreeMap::<&str, usize>::new();
    for n in 0..40 {
        let p = drawn(&drawing().new_tree(&mut runner).expect("a drawing").current());
        let r = evaluate(&p);
        proposed += r.runs.iter().filter(|r| r.proposed.is_some()).count();
        for f in &r.findings {
            *kinds.entry(f.check.id).or_default() += 1;
        }
        if n < 3 {
            cures += offer_all(&p);
        }
    }
    for id in ["drop-over-target", "conductor-below-current", "fuse-above-conductor", "string-fuse-missing"] {
        assert!(kinds.get(id).is_some_and(|n| *n >= 10), "{id}: {kinds:?}");
    }
    assert!(proposed >= 60 && cures >= 20, "{proposed} {cures}");
}
