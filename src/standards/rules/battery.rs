//! Batteries: limits, temperature, venting, room.

use super::{Rule, memory, practice, read, rules};

/// Source: common practice, NEC 552.10(D), IEC 62485-2 from memory, as each row says.
pub(super) static RULES: &[Rule] = rules! {
    "discharge-share" "discharge limit of parallel packs" "" (0.9) 0.1..1.0 practice("");
    "Continuous rating times packs times this; packs in series do not add."
    "discharge-rate-unknown" "discharge where the rating is unknown" "C" (0.5) 0.05..5.0 practice("C/2");
    "A note only."
    "interior-least-c" "heated interior, at least" "C" (12.0) -10.0..25.0 practice("");
    "Battery temperature inside while the coach is lived in: the mean air, and not below this."
    "lfp-charge-least-c" "lithium charged from" "C" (0.0) -30.0..15.0 memory("LFP", "no charge below 0 C");
    "Its own cut-off where the pack gives none."
    "dull-days" "days without sun wanted" "d" (2.0) 0.0..30.0 practice("2-3 without generator or driving");
    "What the bank should last on its own in the month with the most load; for sizing help."
    "usable-depth-lfp" "usable share, LFP" "" (0.9) 0.1..1.0 practice("0.80-0.90");
    "Share of rated charge used."
    "usable-depth-lead" "usable share, lead" "" (0.5) 0.1..0.9 practice("");
    "Share of rated charge used."
    "cutoff-lfp-v" "inverter cut-off, LFP" "V per 12 V" (12.0) 10.0..13.0 practice("above the management unit's");
    "An inverter stops before the battery's own management unit does."
    "lead-finish-pct" "array for lead, of its capacity in amps" "%" (5.0) 0.0..50.0 practice("5-10 % of C20");
    "Lead that solar alone never fills sulphates: arrays that give less than this share of its capacity want shore power."
    "profile-apart-v" "charge profiles disagree from" "V per 12 V" (0.2) 0.01..1.0 practice("");
    "Absorption volts of two chargers of one bank further apart than this: caution."
    "vent-area-mm2" "vent area, each, high and low" "mm2" (1100.0) 0.0..100000.0 read("NEC", "552.10(D)");
    "At least this outside, or the calculated area where that is larger."
    "vent-slope-cm2" "vent area per air flow" "cm2 h/m3" (28.0) 1.0..100.0 memory("IEC 62485-2", "A = 28 Q");
    "Calculated area of each opening."
    "vent-air-factor" "air flow per gas current" "m3/h" (0.05) 0.01..1.0 memory("IEC 62485-2", "Q = 0.05 n I C/1000");
    "Cells times gas current (mA per Ah) times Ah/1000 times this."
    "vent-gas-flooded-ma" "gas current, flooded, boost" "mA/Ah" (20.0) 0.0..100.0 memory("IEC 62485-2", "");
    "For the calculated vent area."
    "terminal-room-m" "room above the terminals" "m" (0.0254) 0.0..0.2 practice("1 in");
    "Between a battery's terminals and whatever is above."
};
