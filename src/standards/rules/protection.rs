//! Fuses: size, place, what they must interrupt.

use super::{Rule, memory, practice, read, rules};

/// Source: NEC 240.4, 552.10(E), 690.9; 33 CFR 183.455; ABYC E-11; ISO 10133, as each row says.
pub(super) static RULES: &[Rule] = rules! {
    "fuse-factor" "fuse over design current" "x" (1.25) 1.0..3.0 memory("NEC", "210.20(A), 215.3; PV 690.9(B)");
    "A fuse is at least this times the design current; below it caution."
    "fuse-least-factor" "fuse over design current, at least" "x" (1.0) 0.5..2.0 practice("");
    "A fuse below this times the design current: stop, it will open in use."
    "conductor-factor" "conductor over design current" "x" (1.0) 1.0..2.0 memory("NEC", "215.2(A); PV 690.8(B)(2)");
    "Ampacity after all factors is at least this times the design current; below it stop."
    "next-rating-up" "next rating up allowed" "on/off" (1.0) 0.0..1.0 memory("NEC", "240.4(B)");
    "Where ampacity falls between ratings and the run feeds no outlets; never for 18-10 AWG. Off: never above ampacity."
    "small-wire-limits" "small-wire fuse limits" "on/off" [1.0, 0.0, 0.0] 0.0..1.0 memory("former NEC 551.10, NEC 552.10(E)(1)", "");
    "18, 16, 14, 12, 10 AWG are fused at 6, 8, 15, 20, 30 A at most in RV low-voltage wiring."
    "fuse-distance-note-m" "fuse distance, note from" "m" [0.1778, 0.1778, 0.2] 0.0..2.0 practice("7 in, as boats must");
    "Along the conductor from the source: up to here nothing is said."
    "fuse-distance-m" "fuse distance, at most" "m" [0.4572, 0.1778, 0.2] 0.0..2.0 read("NEC", "552.10(E)(4), 18 in");
    "Along the conductor from the source: beyond it stop."
    "fuse-distance-sheathed-m" "fuse distance, sheathed" "m" [0.4572, 1.016, 0.2] 0.0..2.0 read("NEC", "552.10(E)(4), 18 in");
    "The same where the conductor lies in a sheath or enclosure all the way."
    "fuse-distance-post-m" "fuse distance, sheathed, at the post" "m" [0.4572, 1.8288, 0.2] 0.0..2.0 read("NEC", "552.10(E)(4), 18 in");
    "The same where the sheathed conductor starts at a battery post."
    "tap-times" "tap, fuses ahead over ampacity" "x" (3.0) 1.0..5.0 memory("NEC", "240.21(B)(2)");
    "Where batteries in parallel meet, a lead fused at its battery may have this times its ampacity ahead; above it stop."
    "tap-length-m" "tap, longest" "m" (7.62) 0.0..15.0 memory("NEC", "240.21(B)(2), 25 ft");
    "Such a lead is no longer than this; beyond it the fuses ahead are held to its ampacity."
    "unfused-strings" "strings without fuses, at most" "" (2.0) 1.0..10.0 memory("NEC", "690.9(A)");
    "From one string more, and maximum series fuse unknown: caution."
    "interrupt-margin" "interrupt rating over fault current" "x" (1.1) 1.0..3.0 practice("");
    "A device interrupts at least this times the fault current at its DC volts; below it stop. Not of an assumed fault, nor of the table by cold cranking amps, whose rows are interrupt ratings themselves."
    "fault-volts-lfp" "fault volts, LFP" "V per 12 V" (13.3) 10.0..16.0 practice("");
    "Volts behind a fault on a lithium bank."
    "fault-volts-lead" "fault volts, lead" "V per 12 V" (12.8) 10.0..16.0 practice("");
    "Volts behind a fault on a lead bank."
    "fault-cable-c" "fault, cable temperature" "C" (20.0) -40.0..75.0 practice("");
    "Cable counts cold; fuses, joints and management units count for nothing."
    "lfp-unknown-fault-a" "fault current, LFP unknown" "A" (20000.0) 1000.0..100000.0 read("ABYC E-11", "newer text, 20 kA");
    "A lithium battery whose maker gives no short-circuit current."
    "lead-ohmic-mohm" "ohmic resistance, lead, 100 Ah" "mohm" (4.0) 0.5..50.0 memory("lead-acid", "12.6 V / (4 mohm x 100/Ah)");
    "A lead battery without cold-cranking amps, per 12 V unit of 100 Ah."
    "lead-fault-volts" "fault volts for that figure" "V per 12 V" (12.6) 10.0..14.0 memory("lead-acid", "12.6 V / (4 mohm x 100/Ah)");
    "Volts in the same estimate."
    "start-battery-cca-a" "start battery, cold cranking amps" "A" (800.0) 100.0..2500.0 practice("650-1000 A");
    "Its fault current follows from the table by cold cranking amps."
    "shunt-sense-fuse-a" "sense lead fuse" "A" (1.0) 0.25..5.0 practice("0.5-1 A");
    "Fuse of a shunt's or sensor's positive lead at the battery."
    "alternator-line-factor" "alternator line, fuse over charger input" "x" (1.25) 1.0..2.0 practice("1.25-1.5");
    "Fuses at both ends of a line between two batteries over its design current."
};
