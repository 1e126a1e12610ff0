//! Counts in words: of one it is said as of one.

use super::evaluate;
use coachwire::engine::{Finding, Report};
use coachwire::plan::Plan;
use coachwire::plan::samples::SAMPLES;
use coachwire::words::counted;

/// What is counted is said of one as of one: in no finding of any sample, and of none with a load and a panel more or less, stands
/// `1 loads`.
#[test]
fn one_is_said_of_one() {
    assert_eq!([counted(0, "run"), counted(1, "run"), counted(2, "run")], ["0 runs", "1 run", "2 runs"]);
    assert_eq!(
        [counted(1.0, "day"), counted(1.5, "day"), counted("12 345", "day")],
        ["1 day", "1.5 days", "12 345 days"]
    );
    let slips = |r: &Report| -> Vec<String> {
        let many = ["loads", "days", "panels", "runs", "strings", "batteries", "months", "fuses", "hours", "legs"];
        let is_slip = |words: &[&str]| {
            let last = |n: usize| words.get(n).map(|w| w.trim_matches([',', ';', ':', '.', '(', ')']));
            words[0] == "1" && [1, 2].into_iter().filter_map(last).any(|word| many.contains(&word))
        };
        let texts = r.findings.iter().map(Finding::text);
        texts.filter(|t| t.split(' ').collect::<Vec<_>>().windows(3).any(is_slip)).collect()
    };
    for sample in SAMPLES {
        let p = Plan::from_text(sample.text).expect("a sample");
        assert_eq!(slips(&evaluate(&p)), Vec::<String>::new(), "{}", sample.name);
        for load in &p.loads {
            let mut one = p.clone();
            one.loads.retain(|l| l.id == load.id);
            assert_eq!(slips(&evaluate(&one)), Vec::<String>::new(), "{} with {}", sample.name, load.id);
        }
    }
}
