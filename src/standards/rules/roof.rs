//! Mounting, access.

use super::{Rule, memory, practice, rules};

/// Source: common practice; NDS for withdrawal; from memory where said.
pub(super) static RULES: &[Rule] = rules! {
    "uplift-factor" "hold over uplift" "x" (2.0) 1.0..10.0 practice("");
    "Of the worst foot. A bound, not a certificate."
    "uplift-speed-ms" "air speed over the roof" "m/s" (33.528) 5.0..80.0 practice("75 mph");
    "Driving speed and headwind together."
    "uplift-cp" "uplift coefficient" "" (1.2) 0.1..5.0 memory("no standard", "-0.5 to -1.5 for a panel on a moving roof");
    "Pressure over the panel's area; no standard covers a panel on a moving roof."
    "uplift-air" "air density" "kg/m3" (1.225) 0.8..1.5 memory("ISO 2533", "sea level, 15 C");
    "For the dynamic pressure."
    "uplift-front-pct" "share of the front pair of feet" "%" (60.0) 25.0..100.0 practice("");
    "Share of the whole uplift that the front pair carries."
    "uplift-prying" "prying, screws on one side" "x" (1.5) 1.0..4.0 memory("prying", "");
    "Times the load where a foot's screws stand on one side of it."
    "deck-least-m" "wood deck that counts" "m" (0.009) 0.003..0.05 practice("9 mm");
    "Thinner wood, foam laminate and thin metal hold nothing until tested."
    "osb-gravity" "specific gravity, OSB" "" (0.50) 0.2..0.8 memory("NDS", "Table 12.3.3B");
    "For withdrawal."
    "plywood-gravity" "specific gravity, plywood" "" (0.42) 0.2..0.8 memory("NDS", "Table 12.3.3B");
    "For withdrawal."
    "access-way-m" "way to a serviced item" "m" (0.3048) 0.0..1.0 practice("12 in");
    "One clear approach from the ladder to one long side; less is a caution."
    "access-gap-m" "gap on its other sides" "m" (0.0508) 0.0..1.0 practice("2 in");
    "Less is a caution."
    "shadow-share-pct" "shadow on a panel" "%" (10.0) 0.5..100.0 practice("");
    "Of a month's direct sun; more, on a panel in series with others, is a caution."
};
