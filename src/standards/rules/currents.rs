//! Design currents, efficiencies, volts.

use super::{Rule, memory, practice, read, rules};

/// Source: NEC 690.7, 690.8, 690.9 (factors), common practice (efficiencies, alternators), from memory where said.
pub(super) static RULES: &[Rule] = rules! {
    "array-current-factor" "array current over Isc" "x" (1.25) 1.0..2.0 read("NEC", "690.8(A)(1)");
    "Bright cloud edges: an array's design current is this times the sum of its strings' Isc."
    "pv-conductor-factor" "PV conductor over design current" "x" (1.25) 1.0..2.0 read("NEC", "690.8(B)(1)");
    "A PV conductor's ampacity before ambient and bundle factors is at least this times the design current; after them, at least the design current."
    "string-fuse-factor" "string fuse over Isc" "x" (1.5625) 1.0..3.0 read("NEC", "690.8, 690.9(B)");
    "A string fuse is at least this times Isc: both factors of 1.25, once."
    "tracking-efficiency" "tracking controller, for its design current" "" (0.97) 0.5..1.0 practice("");
    "Share of the array's power a tracking controller passes on, for its output design current."
    "inverter-volts-lfp" "inverter, low bank volts, LFP" "V per 12 V" (12.0) 9.0..14.0 practice("");
    "Bank volts at which an inverter on lithium is designed for."
    "inverter-volts-lead" "inverter, low bank volts, lead" "V per 12 V" (11.0) 9.0..14.0 practice("");
    "Bank volts at which an inverter on lead is designed for."
    "inverter-large-watts" "inverter, large for 12 V" "W" (3000.0) 500.0..20000.0 practice("");
    "Above this at 12 V a higher bank voltage is proposed."
    "inverter-large-amps" "inverter, amps large for 12 V" "A" (300.0) 50.0..2000.0 practice("");
    "Above this at 12 V a higher bank voltage is proposed."

    "voc-stop-pct" "cold Voc, of a rating" "%" (100.0) 50.0..100.0 read("NEC", "690.7");
    "Cold open-circuit volts above this share of a rating: stop."
    "voc-caution-pct" "cold Voc, caution from" "%" (95.0) 50.0..100.0 practice("");
    "Cold open-circuit volts above this share of a rating: caution."
    "shock-v" "shock note from" "V" (60.0) 30.0..120.0 memory("NEC", "480/706, 60 V DC");
    "Cold volts above this: a note that the circuit can shock."
    "beta-fallback" "Voc coefficient where unknown" "%/K" (-0.30) -0.60..-0.05 practice("crystalline silicon");
    "For the harvest only; the limit check uses NEC Table 690.7(A)."
    "cold-margin-k" "margin under the climate's coldest" "K" (3.0) 0.0..20.0 practice("");
    "Taken off the coldest temperature of the climate data, which is a mean of many years."
    "headroom-scan-v" "headroom that could change the answer" "V" (5.0) 0.0..20.0 practice("");
    "Where a tracking controller's headroom is unknown: caution only if the answer changes between 0 V and this."
    "hot-rise-feet-k" "hot cell above air, on feet" "K" (47.0) 10.0..80.0 practice("");
    "For hot string volts: above the mean daily maximum of the hottest month."
    "hot-rise-glued-k" "hot cell above air, glued" "K" (55.0) 10.0..90.0 practice("");
    "For hot string volts of a panel glued to the roof."
    "start-sun" "start of the day" "W/m2" (100.0) 10.0..500.0 practice("");
    "Sun at which the string's open-circuit volts must reach low bank volts and the start headroom."
    "pwm-margin-v" "PWM, hot string volts over absorption" "V" (0.5) 0.0..5.0 practice("");
    "Hot Vmp less drop is at least absorption volts and this."
    "pwm-far-above" "PWM, panel volts over absorption" "x" (1.6) 1.0..5.0 practice("36 cells 1.3, 60 cells 2.1");
    "Panels whose Vmp is above this many times the absorption volts waste most of what is above: caution."
    "unlike-pct" "unlike panels" "%" (5.0) 0.0..50.0 practice("");
    "Imp in series or string Vmp in parallel differing by more than this: caution, with the Wh a day lost."
    "uneven-battery-pct" "unequal battery leads" "%" (10.0) 0.0..100.0 practice("");
    "Current of one parallel battery differing from its equal share by more than this: caution, with the split."

    "alternator-share-pct" "alternator, share for charging" "%" (50.0) 5.0..100.0 practice("30-40 % with much idling");
    "Charging current above this share of the alternator's rating: caution."
    "alternator-low-v" "alternator, low volts" "V" (13.2) 11.0..15.0 practice("warm idle");
    "Volts at a warm alternator idling, at which a DC-DC line is designed."
    "alternator-loop-c" "DC-DC line, least conductor temperature" "C" (60.0) -20.0..120.0 practice("");
    "Temperature of the loop when its drop decides whether the charger holds."
    "accepted-worsening-pct" "accepted finding lapses" "%" (1.0) 0.0..50.0 practice("");
    "An accepted finding comes back when its number is worse than then by more than this."
    "life-safety-hold-min" "breakaway brakes hold" "min" (15.0) 1.0..120.0 memory("49 CFR", "393.43(d)");
    "The breakaway supply holds the trailer's brakes for this long."
};
