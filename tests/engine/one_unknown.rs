//! One value nobody has entered hides nothing that is sure without it; what hangs on something is not said to hang on
//! nothing.

use super::mistakes::with;
use super::{evaluate, found, texts};
use coachwire::engine::Report;
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Known, Plan, RuleChange, Step, Value};
use coachwire::units::Number;

fn larkspur() -> Plan {
    Plan::from_text(sample("larkspur").expect("there").text).expect("reads")
}

fn with_rule(p: &Plan, value: f64) -> Plan {
    let mut p = p.clone();
    let id = "drop-controller-bank".parse().expect("an id");
    p.rules.push(RuleChange { id, value: Known::Is(Number(value)), reason: "test".into() });
    p
}

fn over<'a>(r: &'a Report, run: &str) -> Option<&'a [f64]> {
    let subject = format!("runs.{run}");
    found(r, "drop-over-target").into_iter().find(|f| f.subject.as_str() == subject).map(|f| &f.numbers[..])
}

/// A load's watts decide only how warm the run is that the controllers share with it: their drop is found without.
/// Bounds by the resistance of copper, 1 + (t - 20)/254.5 (NEC chapter 9, table 8, note 2; 234.5 + t): from 20 to 105 C
/// a third more.
#[test]
fn a_load_of_unknown_watts_hides_no_controllers_drop() {
    let unknown = with(&larkspur(), &[("loads.L7.watts_w", Value::Unknown)]);
    let (r, q) = (evaluate(&larkspur()), evaluate(&unknown));
    for run in ["W2", "W5"] {
        let known = over(&r, run).expect("over its target");
        let least = over(&q, run).unwrap_or_else(|| panic!("{run}\n{}", texts(&q)));
        assert!(least[0] <= known[0] && least[0] > known[0] / (339.5 / 254.5), "{run}: {least:?} of {known:?}");
    }
    // Between what is sure and what its insulation stands, it waits; above both it is within.
    let pct = |target: f64| {
        let r = evaluate(&with_rule(&unknown, target));
        let line = r.runs.iter().find(|run| run.id.as_str() == "W2").expect("a line");
        (over(&r, "W2").is_some(), line.path_drop_pct.clone().map_err(|m| m.0.as_str().to_string()))
    };
    let [known, least] = [&r, &q].map(|r| over(r, "W2").expect("over its target")[0]);
    let (is_over, most) = pct(known * 339.5 / 254.5);
    let most = most.expect("within");
    assert!(!is_over && most > known);
    assert_eq!(pct((least + most) / 2.0), (false, Err("loads.L7.watts_w".into())));
}

/// What has its own way to the bank does not wait for the run that another thing lacks.
#[test]
fn a_controller_on_the_bank_is_not_said_to_want_a_run() {
    let thistle = Plan::from_text(sample("thistle").expect("there").text).expect("reads");
    let out = Step::one("out", Edit::Remove { at: FieldPath::new("runs.W1") });
    let r = evaluate(&thistle.with(&out).expect("there"));
    assert!(found(&r, "bank-not-joined").is_empty(), "{}", texts(&r));
    assert_eq!(found(&r, "array-without-run").len(), 1, "{}", texts(&r));
    assert!(found(&r, "controller-without-run").is_empty(), "{}", texts(&r));
    // Without its run to the bank it is.
    let out = Step::one("out", Edit::Remove { at: FieldPath::new("runs.W3") });
    assert_eq!(found(&evaluate(&thistle.with(&out).expect("there")), "controller-without-run").len(), 1);
}

/// A month without a stay: no sum of the year, and no sentence that tells one: what is told is of the other months.
#[test]
fn a_year_with_a_gap_tells_no_sums() {
    let r = evaluate(&larkspur());
    assert_eq!(found(&r, "shortfall").len(), 1);
    let gap = with(&larkspur(), &[("stays.ST1.months", Value::Text("11 12 1 2 3 4".into()))]);
    let r = evaluate(&gap);
    assert_eq!(found(&r, "months-without-stay").len(), 1);
    let told: Vec<String> = found(&r, "shortfall").iter().map(|f| f.text()).collect();
    assert!(told.len() == 1 && told[0].contains("days of Nov-") && !told[0].contains("year"), "{told:?}");
    let y = &r.year;
    let waits = |m: &coachwire::plan::Missing| m.0.as_str() == "stays";
    assert!(y.unmet_pct.as_ref().is_err_and(waits) && y.shortfall_days.as_ref().is_err_and(waits));
    assert!(y.load_kwh.as_ref().is_err_and(waits) && y.harvest_kwh.as_ref().is_err_and(waits));
    // What is of the months that have a stay is told as theirs.
    let lived = y.months.iter().filter(|m| m.stay.is_some()).count();
    assert!(y.lived.months == lived && lived < 12 && y.lived.unmet_pct.is_ok() && y.dull_spell.is_ok());
    let least = y.months.iter().filter_map(|m| m.least_soc.clone().ok()).fold(1.0, f64::min);
    assert!(y.least_soc.clone().is_ok_and(|(soc, _)| soc == least), "{:?}", y.least_soc);
    // Medical loads that go without in the other months are said all the same.
    let said: Vec<String> = found(&r, "medical-not-served").iter().map(|f| f.text()).collect();
    assert!(said.len() == 1 && said[0].contains(" in Nov-Sep of the typical year, worst in "), "{said:?}");
}

/// How a leg is laid, where nobody has said: judged as enclosed (NEC 310.16 has fewer amps than 310.17 for every gauge), and
/// said; but for the fuse's distance, where sheathing allows more (33 CFR 183.455), it is not taken to be sheathed.
#[test]
fn wire_that_nobody_knows_how_it_lies_is_judged_as_enclosed() {
    let at = "runs.W2.legs.L1.laid";
    let laid = |word| with(&larkspur(), &[(at, Value::Word(word))]);
    let unknown = with(&larkspur(), &[(at, Value::Unknown)]);
    let amps = |p: &Plan| {
        let r = evaluate(p);
        r.runs.iter().find(|r| r.id.as_str() == "W2").unwrap().ampacity_a.clone().unwrap().0
    };
    assert_eq!(amps(&unknown), amps(&laid("enclosed")));
    assert!(amps(&unknown) < amps(&laid("open")));
    let (r, open) = (evaluate(&unknown), evaluate(&laid("open")));
    assert!(r.unknown.contains(&FieldPath::new(at)) && !open.unknown.contains(&FieldPath::new(at)), "{:?}", r.unknown);
    assert!(Plan::from_text(&unknown.to_text()).is_ok_and(|again| again == unknown), "the file keeps it");
    // What cures it says what was taken.
    let thin = with(&unknown, &[("runs.W2.gauge", Value::Gauge("14 AWG".parse().unwrap()))]);
    let r = evaluate(&thin);
    let finding = r.findings.iter().find(|f| f.run() == Some("W2") && f.check.id == "conductor-below-current");
    let steps = coachwire::engine::Engine::default().cures(&thin, &Default::default(), finding.expect("far too thin"));
    assert!(!steps.is_empty() && steps.iter().all(|s| s.name.contains("W2 taken as laid enclosed")), "{steps:?}");
}
