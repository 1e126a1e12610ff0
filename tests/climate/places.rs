//! Places found by typing. Expected places: GeoNames (CC BY 4.0) and any atlas.

use coachwire::climate::places::{Place, count, find};

use crate::support::near_abs;

fn first(words: &str) -> Place {
    find(words, 1).into_iter().next().expect(words)
}

fn names(words: &str, most: usize) -> Vec<String> {
    find(words, most).into_iter().map(|p| format!("{}, {}", p.name, p.region)).collect()
}

/// GeoNames 5310183.
#[test]
fn a_small_winter_town_is_there() {
    for words in ["quartzsite", "Quartzs", "QUARTZSITE AZ", "quartzsite, arizona", "quartzsite us", "quartzsite az usa"]
    {
        let place = first(words);
        assert_eq!((place.name.as_str(), place.region_code.as_str()), ("Quartzsite", "AZ"), "{words}");
        assert_eq!((place.region.as_str(), place.country.as_str()), ("Arizona", "United States"));
        near_abs("lat", place.lat_deg, 33.664, 1e-9);
        near_abs("lon", place.lon_deg, -114.23, 1e-9);
        assert_eq!((place.elevation_m, place.population), (Some(268.0), 3626));
    }
    assert!(names("rtzsit", 9).contains(&"Quartzsite, Arizona".to_owned()), "a middle of the name");
}

#[test]
fn state_or_country_tells_namesakes_apart() {
    assert_eq!(first("portland me").region, "Maine");
    assert_eq!(first("portland or").region, "Oregon");
    assert_eq!(first("Portland").region, "Oregon", "the larger one first");
    assert_eq!(first("paris tex").region, "Texas");
    assert_eq!(first("paris").country, "France");
    assert_eq!(first("london canada").country_code, "CA");
    assert_eq!(first("london on").country_code, "CA");
    assert_eq!(first("London uk").country, "United Kingdom");
}

#[test]
fn exact_names_come_before_longer_ones_and_beginnings_before_middles() {
    let plain = |p: &Place| p.name.to_lowercase().replace(['-', '\''], " ");
    for (typed, exact) in [("york", "York"), ("paris", "Paris"), ("salem", "Salem"), ("lake", "Lake")] {
        let found = find(typed, 400);
        assert!(found.len() > 3, "{typed}");
        let class = |p: &Place| {
            let name = plain(p);
            match name.strip_prefix(typed) {
                Some("") => 0,
                Some(rest) if rest.starts_with(' ') => 1,
                Some(_) => 2,
                None if name.split(|c: char| !c.is_alphanumeric()).any(|w| w.starts_with(typed)) => 3,
                None => 4,
            }
        };
        // Names in other scripts or with a second spelling are told apart by that; the plain ones by their letters.
        let of_letters = |p: &&Place| plain(p).contains(typed);
        let classes: Vec<_> =
            found.iter().filter(of_letters).map(|p| (class(p), std::cmp::Reverse(p.population))).collect();
        assert!(classes.is_sorted(), "{typed}: {:?}", names(typed, 400));
        assert!(exact != "York" || found[0].name == exact, "{:?}", found[0]);
    }
}

#[test]
fn accents_case_and_punctuation_do_not_count() {
    for (typed, name) in [
        ("zurich", "Zürich"),
        ("ZÜRICH", "Zürich"),
        ("sao jose dos campos", "São José dos Campos"),
        ("montreal", "Montréal"),
        ("coeur dalene", "Coeur d'Alene"),
        ("Coeur d\u{2019}Alene", "Coeur d'Alene"),
        ("winston salem", "Winston-Salem"),
        ("Winston-Salem NC", "Winston-Salem"),
        ("st johns canada", "St. John's"),
    ] {
        assert_eq!(first(typed).name, name, "{typed}");
    }
}

#[test]
fn a_state_alone_lists_its_largest_towns() {
    assert_eq!(first("arizona").name, "Phoenix");
    assert_eq!(names("new mexico", 1), ["Albuquerque, New Mexico"]);
}

#[test]
fn nothing_fits_nothing() {
    for words in ["", "   ", "...", "xyzzyq", "quartzsite nevada", "a b c d e f g h i j k l m n o p q r s"] {
        assert!(find(words, 5).is_empty(), "`{words}`: {:?}", names(words, 5));
    }
    assert!(find("san", 0).is_empty());
    assert_eq!(find("san", 7).len(), 7);
}

/// The count of the table the file was packed from.
#[test]
fn every_place_is_read_and_makes_sense() {
    assert_eq!(count(), 8271);
    let mut afloat = std::collections::BTreeSet::new();
    for letter in 'a'..='z' {
        for place in find(&letter.to_string(), usize::MAX) {
            assert!(!place.name.is_empty() && !place.country.is_empty() && place.country_code.len() == 2, "{place:?}");
            assert!(place.lat_deg.abs() <= 90.0 && place.lon_deg.abs() <= 180.0, "{place:?}");
            // Shore of the Dead Sea to the highest towns of the Andes; none where the list has that of the sea's bed.
            match place.elevation_m {
                Some(elevation) => assert!((-430.0..5200.0).contains(&elevation), "{place:?}"),
                None => {
                    afloat.insert(place.name.clone() + &place.country_code);
                }
            }
            assert!(place.population < 40_000_000, "{place:?}");
        }
    }
    // Shores and small islands, every one of them by any atlas.
    assert_eq!(afloat.len(), 23, "{afloat:?}");
}

/// The list has the sea's bed for places on small islands. Bermuda rises from the sea to 79 m (CIA World Factbook); Furnace
/// Creek in Death Valley lies 58 m below it (USGS: 190 ft).
#[test]
fn only_land_lies_below_the_sea() {
    let bermuda = &find("pembroke parish bermuda", 1)[0];
    assert_eq!((bermuda.country_code.as_str(), bermuda.elevation_m), ("BM", None));
    let valley = &find("furnace creek california", 1)[0];
    assert!((valley.elevation_m.unwrap() + 58.0).abs() < 3.0, "{valley:?}");
}
