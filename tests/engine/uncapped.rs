//! Terminals of a lower limit than their wire's: a cap in RV work, and said where the basis has none.

use super::mistakes::{sound, with, word};
use super::{evaluate, found, near, texts};
use coachwire::engine::worked::worked;
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Plan, Value};
use coachwire::wording::run::{leg_case, leg_sums};

/// The sound plan on a basis, its panel's terminals of some limit, and so much on its feeder of 6 AWG, 105 C.
pub(super) fn panel_of(basis: &'static str, terminal: Value, amps: f64) -> Plan {
    with(
        &sound(),
        &[
            ("job.basis", word(basis)),
            ("devices.FP.ratings.terminal_c", terminal),
            ("runs.W6.design_override_a", Value::Number(amps)),
            ("runs.W6.override_reason", Value::Text("measured".into())),
            ("runs.W6.legs.L1.insulation_c", Value::Number(105.0)),
            ("runs.W6.legs.L1.laid", word("open")),
        ],
    )
}

/// 6 AWG: NEC 310.17 at 60 C 80 A, and 33 CFR 183.425 Table 5 at 60 C 80 A, at 105 C 120 A. NEC 110.14(C) holds RV work to the
/// first; the boat law has no such cap, and 90 A are told there.
#[test]
fn a_cap_where_the_basis_has_one_and_a_note_where_it_has_none() {
    let ampacity = |p: &Plan| {
        let r = evaluate(p);
        r.runs.iter().find(|x| x.id.as_str() == "W6").expect("run").ampacity_a.clone().map(|a| a.0)
    };
    let at = |c: f64| Value::Number(c);
    near("RV", ampacity(&panel_of("US RV", at(60.0), 90.0)), 80.0, 1e-9);
    for basis in ["marine", "metric"] {
        let p = panel_of(basis, at(60.0), 90.0);
        assert_eq!(ampacity(&p), ampacity(&panel_of(basis, Value::Nothing, 90.0)), "{basis}");
        let r = evaluate(&p);
        let f = found(&r, "terminals-not-counted");
        assert_eq!(f.len(), 1, "{}", texts(&r));
        assert_eq!((f[0].level, f[0].subject.as_str(), f[0].n(0), f[0].n(2)), (Level::Note, "runs.W6", 90.0, 60.0));
        near("table", Ok(f[0].n(1)), 80.0, 1e-9);
        let lines = Engine::default().explain(&p, &r, f[0]);
        assert!(lines.iter().any(|l| l.contains("80 A")), "{lines:?}");
        // Within the column, of a limit as high as the wire's, or of one that nobody entered: nothing to tell.
        for quiet in
            [panel_of(basis, at(60.0), 79.0), panel_of(basis, at(105.0), 90.0), panel_of(basis, Value::Nothing, 90.0)]
        {
            assert!(found(&evaluate(&quiet), "terminals-not-counted").is_empty(), "{}", texts(&evaluate(&quiet)));
        }
    }
    assert!(found(&evaluate(&panel_of("US RV", at(60.0), 90.0)), "terminals-not-counted").is_empty());
}

/// What no rule of the basis uses, nothing waits for; in RV work it does.
#[test]
fn an_unknown_limit_is_waited_for_where_it_caps() {
    let waits = |basis| {
        let r = evaluate(&panel_of(basis, Value::Unknown, 90.0));
        r.runs.iter().any(|x| x.id.as_str() == "W6" && x.ampacity_a.is_err())
    };
    assert!(waits("US RV") && !waits("marine") && !waits("metric"));
}

/// The working says whether the limit is used, with and without a word of it in the sums.
#[test]
fn the_working_says_whether_the_limit_is_used() {
    let said = |basis| {
        let p = panel_of(basis, Value::Number(60.0), 90.0);
        let all = worked(&p, &"W6".parse().expect("id")).expect("run").legs.expect("known");
        format!("{}; {}", leg_case(&p, &all[0]), leg_sums(&p, &all[0]).join("; "))
    };
    let (rv, marine) = (said("US RV"), said("marine"));
    assert!(rv.contains("terminals 60 C") && rv.contains("by the terminals [NEC 110.14(C)"), "{rv}");
    assert!(!rv.contains("no cap"), "{rv}");
    assert!(marine.contains("terminals 60 C (no cap by marine rules)"), "{marine}");
    assert!(!marine.contains("at most"), "{marine}");
}
