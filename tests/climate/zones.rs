//! Standard time of places.
//!
//! Source of truth: the zones of the tz database (public domain) that the comments name, their standard time in 2026.

use coachwire::climate::places::{Place, find};
use coachwire::climate::zones::standard_h;

fn hours(words: &str) -> Option<f64> {
    standard_h(&find(words, 1).into_iter().next().expect(words))
}

#[test]
fn towns_have_the_clock_of_their_zone() {
    for (town, zone_h) in [
        // America/Phoenix, Los_Angeles, Denver, Boise
        ("Quartzsite AZ", -7.0),
        ("Yuma AZ", -7.0),
        ("Corvallis OR", -8.0),
        ("Ontario OR", -7.0),
        ("Kalispell MT", -7.0),
        ("Boise ID", -7.0),
        ("Sandpoint ID", -8.0),
        ("West Wendover NV", -7.0),
        // Chicago, New_York, Detroit, Menominee
        ("El Paso TX", -7.0),
        ("Amarillo TX", -6.0),
        ("Pensacola FL", -6.0),
        ("Tampa FL", -5.0),
        ("Detroit MI", -5.0),
        ("Ironwood MI", -6.0),
        ("Chattanooga TN", -5.0),
        ("Nashville TN", -6.0),
        // Indiana/Knox, Indiana/Tell_City, Indiana/Indianapolis, Kentucky/Louisville
        ("Knox IN", -6.0),
        ("Tell City IN", -6.0),
        ("Indianapolis IN", -5.0),
        ("Louisville KY", -5.0),
        ("Bowling Green KY", -6.0),
        // North_Dakota/New_Salem, Denver
        ("New Salem ND", -6.0),
        ("Dickinson ND", -7.0),
        ("Rapid City SD", -7.0),
        ("Anchorage AK", -9.0),
        ("Honolulu HI", -10.0),
        // Vancouver, Dawson_Creek, Fort_Nelson, Creston, Edmonton, Regina, Winnipeg
        ("Vancouver BC", -8.0),
        ("Dawson Creek BC", -7.0),
        ("Fort Nelson BC", -7.0),
        ("Creston BC", -7.0),
        ("Regina SK", -6.0),
        // Atikokan, Toronto, Winnipeg for Kenora
        ("Atikokan ON", -5.0),
        ("Kenora ON", -6.0),
        // Halifax, St_Johns, Goose_Bay, Whitehorse
        ("Halifax NS", -4.0),
        ("St. John's NL", -3.5),
        ("Happy Valley-Goose Bay NL", -4.0),
        ("Whitehorse YT", -7.0),
        // Tijuana, Hermosillo, Mazatlan, Bahia_Banderas, Ciudad_Juarez, Cancun, Mexico_City
        ("Tijuana", -8.0),
        ("Hermosillo", -7.0),
        ("Mazatl\u{e1}n", -7.0),
        ("Ciudad Ju\u{e1}rez", -7.0),
        ("Canc\u{fa}n", -5.0),
        ("Guadalajara mexico", -6.0),
        // Europe/Lisbon, Madrid, Paris; Atlantic/Canary, Azores; Asia/Kolkata; Australia/Adelaide, Broken_Hill
        ("Faro portugal", 0.0),
        ("Vigo spain", 1.0),
        ("Paris france", 1.0),
        ("Las Palmas de Gran Canaria", 0.0),
        ("Ponta Delgada", -1.0),
        ("Mumbai", 5.5),
        ("Adelaide", 9.5),
        ("Perth australia", 8.0),
    ] {
        assert_eq!(hours(town), Some(zone_h), "{town}");
    }
}

/// No clock is known of a position alone.
#[test]
fn a_position_has_no_clock_of_its_own() {
    assert_eq!(standard_h(&Place::at(33.66, -114.23)), None);
}
