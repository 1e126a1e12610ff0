//! `fields`.

use super::program::Home;

#[test]
fn a_field_says_what_it_accepts() {
    let ran = Home::new().run(&["fields", "runs.ID.gauge"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.starts_with("runs.ID.gauge\n"), "{}", ran.out);
    assert!(ran.out.contains("16 mm2") && ran.out.contains("\"?\""), "{}", ran.out);
    assert!(ran.out.lines().all(|l| l.chars().count() < 80));
}

#[test]
fn every_section_is_listed() {
    let ran = Home::new().run(&["fields"]);
    for path in
        ["job.basis", "stays.ID.months", "runs.ID.legs.ID.length_m", "bank.ratings.amps_a", "roof.obstacles.ID.h_m"]
    {
        assert!(ran.out.lines().any(|l| l == path), "{path} is missing");
    }
    Home::new().run(&["fields", "zzzz"]).refused(2, &["zzzz"]);
}
