//! The proposed gauges: they meet the rules, they are the cheapest that do, and they leave alone what must stay.

use super::samples::{SOUND, WRONG};
use super::{evaluate, plan, texts};
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Known, Plan, State, Step, Value};
use coachwire::standards::conductor::{Gauge, area_mm2, copper_kg_per_m};
use coachwire::standards::kinds::Basis;
use coachwire::stock::Stock;
use coachwire::stock::truck::{Spool, Truck};
use coachwire::units::{Celsius, Metres, Number};
use proptest::prelude::*;

const BY_GAUGE: [&str; 4] =
    ["conductor-below-current", "fuse-above-conductor", "charger-end-unfused", "drop-over-target"];

fn whole(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("sample").text).unwrap_or_else(|e| panic!("{e}"))
}

pub(super) fn sized(p: &Plan) -> Plan {
    let step = Engine::default().size_all(p, &Stock::default(), false);
    p.with(&step).unwrap_or_else(|e| panic!("{step:?}: {e}"))
}

fn is_new_stop(before: &Report, f: &Finding) -> bool {
    f.level == Level::Stop && !before.findings.iter().any(|b| b.level == Level::Stop && b.identity() == f.identity())
}

/// What a single gauge of the ladder could still cure without a new stop.
fn curable(p: &Plan) -> Vec<String> {
    let mut engine = Engine::default();
    let report = engine.evaluate_wires(p, &Stock::default());
    let mut left = Vec::new();
    for f in report.findings.iter().filter(|f| BY_GAUGE.contains(&f.check.id)) {
        let run = p.runs.iter().find(|r| f.subject.as_str() == format!("runs.{}", r.id)).expect("a run");
        if run.legs.iter().any(|l| l.state != State::New) {
            continue;
        }
        for gauge in run.gauge.known().expect("gauge").ladder() {
            let at = FieldPath::new(format!("runs.{}.gauge", run.id));
            let with = p.with(&Step::one("x", Edit::Set { at, to: Value::Gauge(gauge) })).expect("edit");
            let after = engine.evaluate_wires(&with, &Stock::default());
            // A drop may only move to another run of its path: the path itself must be within its target.
            let figures = after.runs.iter().find(|r| r.id == run.id).expect("figures");
            let within = match (&figures.path_drop_pct, figures.target_pct) {
                (Ok(pct), Some(target)) => *pct <= target,
                (Ok(_), None) => true,
                // A line too thin for its charger's power has no drop at all.
                (Err(_), _) => false,
            };
            let gone = !after.findings.iter().any(|g| g.identity() == f.identity())
                && (within || f.check.id != "drop-over-target");
            let fits = !after.findings.iter().any(|g| {
                g.check.id == "terminal-does-not-take" && g.subject == f.subject
                    || BY_GAUGE.contains(&g.check.id) && !report.findings.iter().any(|b| b.identity() == g.identity())
            });
            if gone && fits && !after.findings.iter().any(|g| is_new_stop(&report, g)) {
                left.push(format!("{gauge} cures {}", f.text()));
                break;
            }
        }
    }
    left
}

fn copper_kg(p: &Plan) -> f64 {
    let of = |r: &coachwire::plan::Run| {
        let poles = if r.return_path == coachwire::plan::wiring::Return::Pair { 2.0 } else { 1.0 };
        let gauge = *r.gauge.known().expect("gauge");
        r.legs.iter().map(|l| l.length_m.known().expect("m").0 * poles * copper_kg_per_m(gauge)).sum::<f64>()
    };
    p.runs.iter().map(of).sum()
}

#[test]
fn samples_are_sized_without_new_stops() {
    for name in ["bramble", "sorrel", "marram", "larkspur", "thistle"] {
        let p = whole(name);
        let (before, after) = (evaluate(&p), evaluate(&sized(&p)));
        for f in &after.findings {
            assert!(!is_new_stop(&before, f), "{name}: {}", f.text());
        }
        assert_eq!(curable(&sized(&p)), Vec::<String>::new(), "{name}:\n{}", texts(&after));
    }
}

/// Every set of three gauges between bank and inverter is tried: none that says nothing has less copper.
#[test]
fn no_cheaper_set_passes() {
    let mut p = plan(SOUND);
    p.runs.retain(|r| matches!(r.id.as_str(), "W3" | "W4" | "W5"));
    p.arrays.clear();
    p.controllers.clear();
    p.loads.clear();
    p.bank.parallel = Known::Is(Number(1.0));
    p.bank.max_discharge_a = None;
    let spoken = |p: &Plan, engine: &mut Engine| {
        let report = engine.evaluate_wires(p, &Stock::default());
        report.findings.iter().any(|f| f.subject.as_str().starts_with("runs.") && f.level != Level::Note)
    };
    let mut engine = Engine::default();
    let ladder: Vec<Gauge> = Gauge::Awg(0).ladder().skip(5).collect();
    let mut least = f64::MAX;
    for a in &ladder {
        for b in &ladder {
            for c in &ladder {
                for (run, gauge) in p.runs.iter_mut().zip([a, b, c]) {
                    run.gauge = Known::Is(*gauge);
                }
                let kg = copper_kg(&p);
                if kg < least && !spoken(&p, &mut engine) {
                    least = kg;
                }
            }
        }
    }
    assert!(least < f64::MAX, "some set passes");
    for run in &mut p.runs {
        run.gauge = Known::Is(Gauge::Awg(0));
    }
    let best = sized(&p);
    let names: Vec<String> = best.runs.iter().map(|r| r.gauge.known().expect("gauge").to_string()).collect();
    assert!(copper_kg(&best) <= least + 1e-9, "{names:?}: {} kg, {least} kg is enough", copper_kg(&best));
}

#[test]
fn existing_legs_and_terminals_are_respected() {
    let p = whole("sorrel");
    let after = sized(&p);
    for (old, new) in p.runs.iter().zip(&after.runs) {
        for (a, b) in old.legs.iter().zip(&new.legs).filter(|(a, _)| a.state == State::Existing) {
            let gauge = |r: &coachwire::plan::Run, l: &coachwire::plan::Leg| {
                *l.gauge.as_ref().unwrap_or(&r.gauge).known().expect("gauge")
            };
            assert_eq!(gauge(old, a), gauge(new, b), "{} {}", old.id, a.id);
        }
    }
    let mut p = plan(SOUND);
    p.inverters[0].ratings.largest_wire = Some(Known::Is("2 AWG".parse().expect("gauge")));
    p.inverters[0].watts_w = Known::Is(coachwire::units::Watts(1200.0));
    let w5 = *sized(&p).runs[4].gauge.known().expect("gauge");
    assert!(area_mm2(w5) <= area_mm2("2 AWG".parse().expect("gauge")) + 1e-9, "{w5}");
}

#[test]
fn an_inverter_cable_too_thin_is_sized() {
    let p = whole("thistle");
    let after = evaluate(&sized(&p));
    for gone in ["conductor-below-current", "source-end-unfused"] {
        assert!(
            !after.findings.iter().any(|f| f.check.id == gone && f.subject.as_str() == "runs.W5"),
            "{}",
            texts(&after)
        );
    }
}

fn truck(spools: &[(&str, f64)]) -> Stock {
    let spool = |(gauge, left): &(&str, f64)| Spool {
        gauge: Known::Is(gauge.parse().expect("gauge")),
        insulation_c: Known::Is(Celsius(105.0)),
        left_m: Known::Is(Metres(*left)),
        ..Spool::default()
    };
    Stock { truck: Truck { spools: spools.iter().map(spool).collect(), ..Truck::default() }, ..Stock::default() }
}

/// Only gauges on the van, and no more of them than is left.
#[test]
fn from_stock_only_uses_what_is_left() {
    let p = plan(SOUND);
    let stock = truck(&[("8 AWG", 100.0), ("2 AWG", 3.0), ("2/0 AWG", 20.0)]);
    let step = Engine::default().size_all(&p, &stock, true);
    let after = p.with(&step).expect("applies");
    assert!(!step.edits.is_empty());
    let mut used = 0.0;
    for (old, new) in p.runs.iter().zip(&after.runs).filter(|(a, b)| a.gauge != b.gauge) {
        let gauge = new.gauge.known().expect("gauge").to_string();
        assert!(["8 AWG", "2 AWG", "2/0 AWG"].contains(&gauge.as_str()), "{}: {gauge}", old.id);
        if gauge == "2 AWG" {
            used += new.legs.iter().map(|l| l.length_m.known().expect("m").0 * 2.0).sum::<f64>();
        }
    }
    assert!(used <= 3.0 + 1e-9, "{used} m of 2 AWG");
    assert!(Engine::default().size_all(&p, &Stock::default(), true).edits.is_empty(), "an empty van changes nothing");
}

/// Prices decide where all are known: the dear thin wire loses to the cheap thick one.
#[test]
fn price_decides_before_copper() {
    let p = plan(SOUND);
    let mut stock = Stock::default();
    for gauge in Gauge::Awg(0).ladder() {
        let price = if gauge.to_string() == "4/0 AWG" { 1.0 } else { 20.0 };
        stock.truck.spools.push(Spool {
            gauge: Known::Is(gauge),
            insulation_c: Known::Is(Celsius(105.0)),
            left_m: Known::Is(Metres(100.0)),
            price_per_metre: Some(Known::Is(Number(price))),
            ..Spool::default()
        });
    }
    let after = p.with(&Engine::default().size_all(&p, &stock, false)).expect("applies");
    assert!(after.runs.iter().take(6).all(|r| r.gauge.known().expect("gauge").to_string() == "4/0 AWG"));
}

/// One run: the smallest conductor, its fuse, and why nothing thinner does.
#[test]
fn selection_says_why() {
    let p = plan(SOUND);
    let s = Engine::default().select(&p, &Stock::default(), &p.runs[4].id).expect("known");
    // 1000 W / (12 V x 0.88) = 94.7 A; 125 A is the next fuse of its family above 118.4 A.
    assert!(s.meets_target, "{s:?}");
    assert_eq!(s.fuse.as_ref().map(|f| f.amps.0), Some(125.0), "{s:?}");
    assert!(s.reasons.iter().any(|r| r.starts_with("8 AWG") && r.contains("may flow")), "{s:?}");
    let thinner = s.gauge.thinner().expect("thinner").to_string();
    assert!(s.reasons.iter().any(|r| r.starts_with(&thinner)), "{s:?}");
}

/// A plan with lengths, gauges, watts and a rule basis of its own.
#[derive(Clone, Debug)]
struct Job {
    which: usize,
    basis: usize,
    lengths: Vec<f64>,
    gauges: Vec<u8>,
    watts: f64,
}

fn job() -> impl Strategy<Value = Job> {
    (
        0_usize..4,
        0_usize..3,
        prop::collection::vec(0.2..9.0_f64, 20),
        prop::collection::vec(0_u8..14, 20),
        200.0..3000.0_f64,
    )
        .prop_map(|(which, basis, lengths, gauges, watts)| Job { which, basis, lengths, gauges, watts })
}

/// The job that a number stands for.
fn job_of_seed(seed: u64) -> Plan {
    let d = super::sizing_any::first_of(&job(), seed);
    let mut p = match d.which {
        0 => plan(SOUND),
        1 => plan(WRONG),
        2 => whole("larkspur"),
        _ => whole("marram"),
    };
    p.job.basis = [Basis::UsRv, Basis::Marine, Basis::Metric][d.basis];
    for (run, (length, gauge)) in p.runs.iter_mut().zip(d.lengths.iter().zip(&d.gauges)) {
        for leg in &mut run.legs {
            leg.length_m = Known::Is(Metres(*length));
        }
        let metric = matches!(run.gauge.known(), Some(Gauge::Mm2(_)));
        run.gauge = Known::Is(if metric { Gauge::Mm2(*gauge) } else { Gauge::Awg(*gauge) });
    }
    for inverter in &mut p.inverters {
        inverter.watts_w = Known::Is(coachwire::units::Watts(d.watts));
    }
    p
}

/// No stop is added, and no gauge could still cure a finding.
fn leaves_nothing_to_cure(p: &Plan) -> Result<(), String> {
    let mut engine = Engine::default();
    let before = engine.evaluate_wires(p, &Stock::default());
    let after_plan = sized(p);
    let after = engine.evaluate_wires(&after_plan, &Stock::default());
    if let Some(f) = after.findings.iter().find(|f| is_new_stop(&before, f)) {
        return Err(format!("brings: {}", f.text()));
    }
    let left = curable(&after_plan);
    if left.is_empty() { Ok(()) } else { Err(format!("{left:?}")) }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any lengths, watts, gauges and basis.
    #[test]
    fn nothing_a_gauge_could_cure_is_left(seed in any::<u64>().no_shrink()) {
        let found = leaves_nothing_to_cure(&job_of_seed(seed));
        found.map_err(|why| TestCaseError::fail(format!("drawing {seed}: {why}")))?;
    }
}

/// Drawings that ended with a path over its target by a three hundredth or less, which one gauge more would cure.
#[test]
fn a_path_over_its_target_by_a_hair_is_within_reach() {
    for seed in [96, 321, 344] {
        assert_eq!(leaves_nothing_to_cure(&job_of_seed(seed)), Ok(()), "drawing {seed}");
    }
}

fn with(p: &Plan, edits: &[(&str, Value)]) -> Plan {
    let edits = edits.iter().map(|(at, to)| Edit::Set { at: FieldPath::new(*at), to: to.clone() }).collect();
    p.with(&Step { name: "test".into(), edits }).unwrap_or_else(|e| panic!("{e}"))
}

/// A long cable to a large inverter, whose 2 % no gauge reaches: 227 A over 2 x 12 m of 4/0 AWG (0.050 ohm/1000 ft at 20 C,
/// NEC chapter 9 table 8) lose 0.9 V of the 0.24 V allowed. What leads to it is not thinned.
#[test]
fn a_path_out_of_reach_is_not_thinned() {
    let far = with(
        &plan(SOUND),
        &[
            ("inverters.INV.watts_w", Value::Number(2000.0)),
            ("runs.W5.legs.L1.length_m", Value::Number(12.0)),
            ("runs.W5.gauge", Value::Gauge("4 AWG".parse().expect("gauge"))),
        ],
    );
    let sized = sized(&far);
    let pct = |p: &Plan| evaluate(p).runs[4].path_drop_pct.clone().expect("known");
    let target = evaluate(&far).runs[4].target_pct.expect("a target");
    assert!(pct(&sized) > target, "out of reach: {} %", pct(&sized));
    for i in [2, 3, 4] {
        let mm2 = |p: &Plan| area_mm2(*p.runs[i].gauge.known().expect("gauge"));
        assert!(mm2(&sized) >= mm2(&far), "{}: {} of {}", far.runs[i].id, mm2(&sized), mm2(&far));
    }
    // Within reach the same runs are thinned.
    let near = plan(SOUND);
    let thin = super::sizing::sized(&near);
    assert!(copper_kg(&thin) < copper_kg(&near));
}

/// The drawn way leads through one of three batteries' leads; the other two carry the same current and stay as thick.
#[test]
fn leads_of_parallel_batteries_out_of_reach_stay_alike() {
    let lead = |id: &str| {
        format!(
            r#"(id: "{id}", from: "BK", to: "PB", gauge: "2 AWG", legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 110.0, distance_m: 0.1)])"#
        )
    };
    let mut p = super::mistakes::insert(&plan(SOUND), "devices", r#"(id: "PB", kind: "bus")"#);
    for id in ["B1", "B2", "B3"] {
        p = super::mistakes::insert(&p, "runs", &lead(id));
    }
    let far = with(
        &p,
        &[
            ("runs.W3.from", Value::Id("PB".parse().expect("id"))),
            ("inverters.INV.watts_w", Value::Number(2000.0)),
            ("runs.W5.legs.L1.length_m", Value::Number(12.0)),
        ],
    );
    let after = sized(&far);
    for id in ["B1", "B2", "B3"] {
        let gauge = |p: &Plan| p.runs.iter().find(|r| r.id.as_str() == id).expect("there").gauge;
        let mm2 = |p: &Plan| area_mm2(*gauge(p).known().expect("gauge"));
        assert!(mm2(&after) >= mm2(&far), "{id}: {:?} of {:?}", gauge(&after), gauge(&far));
    }
}

/// Selection goes no thinner than practice has it, as sizing all does not: 14 AWG would carry the current of two small
/// panels, home runs are of 10 AWG at least (common practice, rule least-array-mm2).
#[test]
fn a_selection_is_no_thinner_than_practice_has_it() {
    let p = with(
        &plan(SOUND),
        &[("runs.W1.legs.L1.length_m", Value::Number(0.5)), ("runs.W1.protection.F1.amps_a", Value::Number(20.0))],
    );
    let s = Engine::default().select(&p, &Stock::default(), &p.runs[0].id).expect("known");
    assert_eq!(s.gauge.to_string(), "10 AWG", "{:?}", s.reasons);
    assert!(s.reasons.iter().any(|r| r == "10 AWG is the least in practice"), "{:?}", s.reasons);
    assert_eq!(sized(&p).runs[0].gauge.known(), Some(&s.gauge));
}

/// A fuse that lay within its wire stays within it. Rules, section 4: the next rating up only where no other fits.
#[test]
fn no_fuse_comes_to_lean_on_the_next_rating_up() {
    let near = ["W3", "W4", "W5", "W2", "W6"].map(|run| format!("runs.{run}.legs.L1.length_m"));
    let near = near.iter().fold(plan(SOUND), |p, at| with(&p, &[(at.as_str(), Value::Number(0.15))]));
    // NEC table 310.17 at 75 C: 3 AWG carries 145 A, 2 AWG 170 A, 1 AWG 195 A, each just short of a standard rating.
    for amps in [125.0, 150.0, 175.0, 200.0] {
        let p = with(&near, &[("runs.W3.protection.F1.amps_a", Value::Number(amps))]);
        let (before, after) = (evaluate(&p), evaluate(&sized(&p)));
        let leans = |r: &Report| r.findings.iter().filter(|f| f.check.id == "next-rating-up").count();
        assert_eq!((leans(&before), leans(&after)), (0, 0), "{amps} A:\n{}", texts(&after));
    }
}

/// A blade fuse of 1 kA on a bank of 4 kA (its family's own rating) cannot open a fault near it, whatever the wire; one
/// that can is part of the step.
#[test]
fn a_fuse_that_cannot_open_its_fault_is_swapped() {
    let blade = [
        ("runs.W6.protection.F1.family", Value::Word("ISO 8820-3 C")),
        ("runs.W6.protection.F1.amps_a", Value::Number(30.0)),
    ];
    let p = with(&plan(SOUND), &blade);
    let stop = |r: &Report| r.findings.iter().filter(|f| f.check.id == "interrupt-below-fault").count();
    assert_eq!(stop(&evaluate(&p)), 1, "{}", texts(&evaluate(&p)));
    let after = sized(&p);
    assert_eq!(stop(&evaluate(&after)), 0, "{}", texts(&evaluate(&after)));
    assert_ne!(after.runs[5].protection[0].family, p.runs[5].protection[0].family);
    // From the truck alone, only a fuse that it carries.
    let only = p.with(&Engine::default().size_all(&p, &truck(&[("6 AWG", 50.0)]), true)).expect("applies");
    assert_eq!(only.runs[5].protection[0].family, p.runs[5].protection[0].family);
}

/// A fuse under 1.25 times what flows for hours is not left: NEC 690.9(B) asks at least that of a source's fuse.
#[test]
fn a_fuse_smaller_than_its_current_wants_is_sized_with_the_wire() {
    let at = FieldPath::new("runs.W2.protection.F1.amps_a");
    let small = Step::one("small", Edit::Set { at, to: Value::Number(60.0) });
    let p = plan(SOUND).with(&small).unwrap();
    let before = evaluate(&p);
    let says = |r: &Report| r.findings.iter().any(|f| f.check.id == "fuse-below-design" && f.run() == Some("W2"));
    assert!(says(&before), "{}", texts(&before));
    let proposal = Engine::default().propose_sizes(&p, &Stock::default(), false);
    let with = p.with(&proposal.step).unwrap();
    let after = evaluate(&with);
    assert!(!says(&after), "{}", texts(&after));
    assert!(!after.findings.iter().any(|f| is_new_stop(&before, f)), "{}", texts(&after));
    let design = after.runs.iter().find(|r| r.id.as_str() == "W2").unwrap().design_a.clone().unwrap().0;
    let row = proposal.rows.iter().find(|r| r.run.as_str() == "W2").unwrap();
    let (was, is) = (row.fuse.0.unwrap(), row.fuse.1.unwrap());
    assert!(was.0.0 == 60.0 && is.0.0 >= 1.25 * design, "{row:?} {design}");
    assert_eq!(was.1, is.1, "its type has a rating that fits");
    assert!(row.changes() && row.why.contains("fuse for its current"), "{}", row.why);
    assert_eq!(sized(&with), with, "sized again it stays so");
}
