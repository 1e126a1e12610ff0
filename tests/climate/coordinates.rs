//! Positions typed as text.

use coachwire::climate::coordinates::{parse, show};
use coachwire::climate::places::find;
use proptest::prelude::*;

use crate::support::near_abs;

#[test]
fn every_usual_way_is_read() {
    for text in [
        "33.66,-114.23",
        "33.66, -114.23",
        " 33.66 -114.23 ",
        "33.66;-114.23",
        "33.66N 114.23W",
        "33.66 n, 114.23 w",
        "33.66N114.23W",
        "N33.66 W114.23",
        "N 33.66, W 114.23",
        "114.23W 33.66N",
        "33.66\u{b0}N 114.23\u{b0}W",
        "+33.66 \u{2212}114.23",
    ] {
        assert_eq!(parse(text), Some(Ok((33.66, -114.23))), "{text}");
    }
    assert_eq!(parse("43.5S 172.6E"), Some(Ok((-43.5, 172.6))));
    assert_eq!(parse("0,0"), Some(Ok((0.0, 0.0))));
    assert_eq!(parse("-90,180"), Some(Ok((-90.0, 180.0))));
}

#[test]
fn words_are_no_positions() {
    for text in ["", "  ", "Quartzsite", "100 Mile House", "sew", "n", "Paris 75001 Texas", ","] {
        assert_eq!(parse(text), None, "{text}");
    }
}

#[test]
fn errors_say_what_to_write() {
    for (text, says) in [
        ("33.66", "1 numbers given: a position is latitude and longitude"),
        ("33,66 -114,23", "4 numbers given"),
        ("95,10", "latitude 95 is beyond the poles"),
        ("-114.23,33.66", "latitude -114.23 is beyond the poles: it lies within -90 and 90, and comes first"),
        ("10,200", "longitude 200 is out of range"),
        ("33.66N 114.23", "give both numbers a letter or neither"),
        ("33.66N 114.23S", "one of N or S, one of E or W"),
        ("33.66N -114.23W", "-114.23 has both a sign and a letter"),
        ("N33.66 114.23W", "give both numbers a letter or neither"),
        ("33.6.6,10", "`33.6.6` is no number of degrees"),
        ("3-3,10", "`3-3` is no number of degrees"),
    ] {
        let error = parse(text).expect(text).expect_err(text).to_string();
        assert!(error.contains(says), "{text}: {error}");
        assert!(find(text, 5).is_empty(), "{text}");
    }
}

#[test]
fn a_typed_position_is_a_place() {
    let places = find("43.5S 172.6E", 5);
    assert_eq!(places.len(), 1);
    let place = &places[0];
    assert_eq!(place.name, "43.50 S 172.60 E");
    assert_eq!((place.lat_deg, place.lon_deg, place.elevation_m), (-43.5, 172.6, None));
    assert!(find("43.5S 172.6E", 0).is_empty());
}

proptest! {
    #[test]
    fn what_is_shown_reads_back(lat in -90.0..90.0_f64, lon in -180.0..180.0_f64) {
        let (lat_again, lon_again) = parse(&show(lat, lon)).unwrap().unwrap();
        near_abs("lat", lat_again, lat, 0.005_001);
        near_abs("lon", lon_again, lon, 0.005_001);
    }

    #[test]
    fn any_text_is_read_without_panic(text in "\\PC{0,40}", numeric in "[0-9NSEW.,;+ -]{0,24}") {
        for text in [text, numeric] {
            if let Some(Ok((lat, lon))) = parse(&text) {
                prop_assert!(lat.abs() <= 90.0 && lon.abs() <= 180.0);
            }
            prop_assert!(find(&text, 3).len() <= 3);
        }
    }
}
