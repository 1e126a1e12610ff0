//! Standard time by place: what clocks on the wall there are ahead of universal time.

use super::places::Place;

/// A part of a country that keeps other time than the rest of it.
struct Part {
    country: &'static str,
    /// Code or name of the state or province; `*`: any.
    region: &'static str,
    /// South, north, west and east, degrees; the first part that a place lies in counts.
    within: [f64; 4],
    hours: f64,
}

const fn part(country: &'static str, region: &'static str, within: [f64; 4], hours: f64) -> Part {
    Part { country, region, within, hours }
}

/// States and countries that two zones share: on which side of a line a town lies, by boxes that the towns of the embedded list fit.
///
/// Source: US 49 CFR Part 71 for the United States; elsewhere the tz database (public domain); lines drawn as boxes of our own.
#[rustfmt::skip]
static PARTS: &[Part] = &[
    part("US", "FL", [29.9, 30.55, -180.0, -84.99], -6.0),
    part("US", "FL", [30.55, 90.0, -180.0, -84.87], -6.0),
    part("US", "ID", [45.45, 90.0, -180.0, 180.0], -8.0),
    part("US", "IN", [41.2, 90.0, -180.0, -86.47], -6.0),
    part("US", "IN", [40.75, 41.2, -180.0, -86.93], -6.0),
    part("US", "IN", [-90.0, 38.2, -180.0, -86.6], -6.0),
    part("US", "IN", [38.2, 38.45, -180.0, -87.4], -6.0),
    part("US", "KS", [37.73, 39.57, -180.0, -101.4], -7.0),
    part("US", "KY", [37.9, 90.0, -180.0, -86.3], -6.0),
    part("US", "KY", [37.3, 37.9, -180.0, -86.0], -6.0),
    part("US", "KY", [-90.0, 37.3, -180.0, -84.95], -6.0),
    part("US", "MI", [-90.0, 46.35, -180.0, -87.5], -6.0),
    part("US", "MI", [-90.0, 46.6, -180.0, -89.7], -6.0),
    part("US", "ND", [-90.0, 47.6, -180.0, -102.08], -7.0),
    part("US", "ND", [-90.0, 46.62, -180.0, -101.3], -7.0),
    part("US", "NE", [41.75, 42.1, -180.0, -100.9], -7.0),
    part("US", "NE", [-90.0, 90.0, -180.0, -101.25], -7.0),
    part("US", "SD", [44.6, 90.0, -180.0, -100.6], -7.0),
    part("US", "SD", [-90.0, 44.6, -180.0, -101.1], -7.0),
    part("US", "TN", [-90.0, 35.3, -85.5, 180.0], -5.0),
    part("US", "TN", [35.3, 35.6, -85.1, 180.0], -5.0),
    part("US", "TN", [35.6, 90.0, -84.87, 180.0], -5.0),
    part("US", "TX", [-90.0, 90.0, -180.0, -104.9], -7.0),
    part("US", "OR", [42.45, 44.45, -118.15, 180.0], -7.0),
    part("US", "NV", [40.0, 41.0, -114.1, 180.0], -7.0),
    part("US", "AK", [-90.0, 54.0, -180.0, -169.5], -10.0),
    part("CA", "BC", [55.05, 90.0, -122.95, 180.0], -7.0),
    part("CA", "BC", [-90.0, 49.4, -116.75, 180.0], -7.0),
    part("CA", "BC", [49.4, 51.0, -116.4, 180.0], -7.0),
    part("CA", "BC", [51.0, 52.0, -117.3, 180.0], -7.0),
    part("CA", "SK", [53.0, 53.5, -180.0, -109.95], -7.0),
    part("CA", "ON", [48.5, 49.0, -92.0, -91.2], -5.0),
    part("CA", "ON", [-90.0, 90.0, -180.0, -90.0], -6.0),
    part("CA", "QC", [-90.0, 90.0, -63.0, 180.0], -4.0),
    part("CA", "NL", [52.4, 90.0, -180.0, 180.0], -4.0),
    part("CA", "NU", [68.0, 74.0, -180.0, -89.0], -7.0),
    part("CA", "NU", [-90.0, 90.0, -180.0, -100.0], -7.0),
    part("CA", "NU", [-90.0, 90.0, -180.0, -85.0], -6.0),
    part("MX", "Chihuahua", [30.8, 90.0, -180.0, 180.0], -7.0),
    part("MX", "Nayarit", [-90.0, 20.95, -180.0, 180.0], -6.0),
    part("MX", "", [-90.0, 90.0, -180.0, -108.5], -7.0),
    part("AU", "*", [-32.5, -31.5, 141.0, 142.0], 9.5),
    part("AU", "*", [-90.0, 90.0, -180.0, 129.0], 8.0),
    part("AU", "*", [-90.0, 90.0, -180.0, 138.0], 9.5),
    part("AU", "*", [-90.0, -26.0, -180.0, 141.0], 9.5),
    part("CL", "*", [-90.0, 90.0, -180.0, -100.0], -6.0),
    part("CL", "*", [-90.0, -43.7, -180.0, 180.0], -3.0),
    part("EC", "*", [-90.0, 90.0, -180.0, -85.0], -6.0),
    part("ES", "*", [-90.0, 90.0, -180.0, -12.0], 0.0),
    part("PT", "*", [-90.0, 90.0, -180.0, -20.0], -1.0),
    part("ID", "*", [-90.0, 90.0, 127.0, 180.0], 9.0),
    part("ID", "*", [-90.0, 90.0, 114.5, 180.0], 8.0),
    part("MN", "*", [-90.0, 90.0, -180.0, 93.0], 7.0),
    part("CD", "*", [0.5, 90.0, -180.0, 24.0], 1.0),
    part("CD", "*", [-90.0, 90.0, 21.5, 180.0], 2.0),
    part("FM", "*", [-90.0, 90.0, 155.0, 180.0], 11.0),
    part("PG", "*", [-90.0, 90.0, 154.5, 180.0], 11.0),
];

/// States and provinces, by country and hours.
///
/// Source: US 49 CFR Part 71; tz database (public domain) for Canada; for Mexico and Brazil by name, the same.
#[rustfmt::skip]
static STATES: &[(&str, f64, &str)] = &[
    ("US", -5.0, "CT DC DE FL GA IN KY MA MD ME MI NC NH NJ NY OH PA RI SC VA VT WV"),
    ("US", -6.0, "AL AR IA IL KS LA MN MO MS ND NE OK SD TN TX WI"),
    ("US", -7.0, "AZ CO ID MT NM UT WY"),
    ("US", -8.0, "CA NV OR WA"),
    ("US", -9.0, "AK"),
    ("US", -10.0, "HI"),
    ("CA", -3.5, "NL"),
    ("CA", -4.0, "NB NS PE"),
    ("CA", -5.0, "ON QC NU"),
    ("CA", -6.0, "MB SK"),
    ("CA", -7.0, "AB NT YT"),
    ("CA", -8.0, "BC"),
];

/// The same by name.
#[rustfmt::skip]
static NAMED: &[(&str, &str, f64)] = &[
    ("MX", "Baja California", -8.0), ("MX", "Baja California Sur", -7.0), ("MX", "Sonora", -7.0), ("MX", "Sinaloa", -7.0),
    ("MX", "Nayarit", -7.0), ("MX", "Quintana Roo", -5.0),
    ("BR", "Acre", -5.0), ("BR", "Amazonas", -4.0), ("BR", "Mato Grosso", -4.0), ("BR", "Mato Grosso do Sul", -4.0),
    ("BR", "Rondonia", -4.0), ("BR", "Roraima", -4.0),
];

/// Countries by hours; Russia is not among them.
///
/// Source: tz database (public domain), as of 2026, the smaller of its January and July hours.
#[rustfmt::skip]
static COUNTRIES: &[(f64, &str)] = &[
    (-11.0, "AS NU"),
    (-10.0, "CK PF"),
    (-6.0, "BZ CR GT HN MX NI SV"),
    (-5.0, "BS CO CU EC HT JM KY PA PE TC"),
    (-4.0, "AG AI AW BB BL BM BO BQ CL CW DM DO GD GP GY KN LC MF MQ MS PR SX TT VC VE VG VI"),
    (-3.0, "AR BR FK GF PM PY SR UY"),
    (-2.0, "GL GS"),
    (-1.0, "CV"),
    (0.0, "BF CI FO GB GG GH GM GN GW IE IM IS JE LR ML MR PT SH SL SN ST TG"),
    (1.0, "AD AL AO AT BA BE BJ CD CF CG CH CM CZ DE DK DZ EH ES FR GA GI GQ HR HU IT LI LU MA MC ME MK MT NE NG NL NO PL RS SE SI SJ SK SM TD TN VA XK"),
    (2.0, "AX BG BI BW CY EE EG FI GR IL LB LS LT LV LY MD MW MZ NA PS RO RW SD SS SZ UA ZA ZM ZW"),
    (3.0, "BH BY DJ ER ET IQ JO KE KM KW MG QA SA SO SY TR TZ UG YE YT"),
    (3.5, "IR"),
    (4.0, "AE AM AZ GE MU OM RE SC"),
    (4.5, "AF"),
    (5.0, "KZ PK TF TJ TM UZ"),
    (5.5, "IN LK"),
    (5.75, "NP"),
    (6.0, "BD BT IO KG"),
    (6.5, "MM"),
    (7.0, "ID KH LA TH VN"),
    (8.0, "BN CN HK MN MO MY PH SG TW"),
    (9.0, "JP KP KR PW TL"),
    (10.0, "AU FM GU MP PG"),
    (11.0, "NC NF SB VU"),
    (12.0, "FJ KI MH NZ WF"),
    (13.0, "TO WS"),
];

/// Hours that standard time at a place of the list is ahead of universal time; none for a position alone, nor where that is not
/// known.
#[must_use]
pub fn standard_h(place: &Place) -> Option<f64> {
    let country = place.country_code.as_str();
    if country.is_empty() {
        return None;
    }
    let is_region = |region: &str| {
        region == "*"
            || if region.is_empty() {
                place.region.is_empty()
            } else {
                region == place.region_code || region == place.region
            }
    };
    let part = PARTS.iter().find(|part| {
        let [south, north, west, east] = part.within;
        part.country == country
            && is_region(part.region)
            && (south..north).contains(&place.lat_deg)
            && (west..east).contains(&place.lon_deg)
    });
    let lists = |codes: &str, wanted: &str| codes.split(' ').any(|code| code == wanted);
    let state = || STATES.iter().find(|(of, _, codes)| *of == country && lists(codes, &place.region_code)).map(|s| s.1);
    let named = || NAMED.iter().find(|(of, name, _)| *of == country && *name == place.region).map(|s| s.2);
    let whole = || COUNTRIES.iter().find(|(_, codes)| lists(codes, country)).map(|c| c.0);
    part.map(|part| part.hours).or_else(state).or_else(named).or_else(whole)
}
