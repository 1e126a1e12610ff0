//! Lithium in the heated space while nobody lives there.

use super::cures::{cures, is_curable};
use super::mistakes::{sound, with, word};
use super::{evaluate, found, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

const CHECK: &str = "lithium-stored-cold";

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// The bank in the heated space, no cut-off entered, the coldest place stored at -30 C.
fn stored() -> Plan {
    with(
        &sound(),
        &[("bank.charge_cutoff_c", Value::Nothing), ("bank.heated", word("yes")), ("job.coldest_c", n(-30.0))],
    )
}

/// LFP takes no charge below 0 C (makers' sheets; `battery_chemistry.csv`); an interior is warm only while lived in. A cut-off that is
/// entered, a heater that holds it, or air that is never so cold prevents it.
#[test]
fn a_heated_space_is_as_cold_as_the_air_while_stored() {
    let r = evaluate(&stored());
    let f = found(&r, CHECK);
    assert!(f.len() == 1 && f[0].level == Level::Caution, "{}", texts(&r));
    assert_eq!((f[0].n(0), f[0].n(1)), (-30.0, 0.0));
    assert!(
        f[0].text().contains("nothing stops charging below 0 C") && f[0].text().contains("sunny day"),
        "{}",
        f[0].text()
    );
    assert!(!r.findings.iter().any(|f| f.level == Level::Stop), "{}", texts(&r));
    is_curable(&stored(), "lithium-stored-cold", "bank");
    for right in [
        with(&stored(), &[("bank.charge_cutoff_c", n(0.0))]),
        with(&stored(), &[("bank.heater_w", n(500.0))]),
        with(&stored(), &[("job.coldest_c", n(2.0))]),
        with(&stored(), &[("bank.chemistry", word("AGM"))]),
        sound(),
    ] {
        assert!(found(&evaluate(&right), CHECK).is_empty(), "{}", texts(&evaluate(&right)));
    }
    // A cut-off under what lithium is charged at, and a heater that is too weak, are no more than none.
    for wrong in [("bank.charge_cutoff_c", -10.0), ("bank.heater_w", 1.0)] {
        let r = evaluate(&with(&stored(), &[(wrong.0, n(wrong.1))]));
        assert_eq!(found(&r, CHECK).len(), 1, "{wrong:?}: {}", texts(&r));
    }
    // One that nobody has read off yet is waited for.
    let r = evaluate(&with(&stored(), &[("bank.charge_cutoff_c", Value::Unknown)]));
    assert!(r.not_checked.iter().any(|n| n.check == CHECK && n.waits_for.as_str() == "bank.charge_cutoff_c"));
}

/// With nothing entered as the coldest, a coach that is lived in all year is never stored; one with months that nobody lives in it is.
#[test]
fn months_without_a_stay_are_stored() {
    let cold = "-12 -10 -2 6 12 17 22 20 14 7 -3 -10";
    let of = |months: &str| {
        let edits = [
            ("job.coldest_c", Value::Nothing),
            ("stays.ST1.mean_c", Value::Text(cold.into())),
            ("stays.ST1.months", Value::Text(months.into())),
        ];
        evaluate(&with(&stored(), &edits))
    };
    assert!(found(&of("all"), CHECK).is_empty());
    assert_eq!(found(&of("May-Sep"), CHECK).len(), 1, "{}", texts(&of("May-Sep")));
}

/// Moved in from the cold the stop is gone and the reservation stays, and is said with the step.
#[test]
fn moved_inside_it_is_not_silent() {
    let outside = with(&stored(), &[("bank.heated", word("no"))]);
    let steps = cures(&outside, "lithium-charged-cold", "bank");
    let moved = steps.iter().find(|s| s.name.contains("heated living space")).expect("offered");
    assert!(moved.name.contains(CHECK), "{}", moved.name);
    assert_eq!(found(&evaluate(&outside.with(moved).expect("applies")), CHECK).len(), 1);
}
