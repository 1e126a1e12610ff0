//! `places`.

use super::program::Home;

#[test]
fn words_narrow_the_list_down() {
    let ran = Home::new().run(&["places", "quartzsite", "az"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    // Source: GeoNames, Quartzsite, 33.66 N 114.23 W.
    assert!(ran.out.starts_with("   33.66   -114.23"), "{}", ran.out);
    assert!(ran.out.contains("Quartzsite, Arizona, United States"), "{}", ran.out);
    assert_eq!(ran.out.lines().count(), 1);
}

#[test]
fn a_position_is_a_place() {
    let ran = Home::new().run(&["places", "-33.2,150"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.starts_with("  -33.20    150.00"), "{}", ran.out);
}

#[test]
fn what_fits_nothing_says_so() {
    let home = Home::new();
    home.run(&["places", "zzzz", "qqqq"]).refused(2, &["zzzz qqqq", "33.66,-114.23"]);
    home.run(&["places", "95,10"]).refused(2, &["95", "beyond the poles"]);
}
