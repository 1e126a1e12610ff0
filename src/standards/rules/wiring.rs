//! Drop, resistance, ambient and ampacity.

use super::{Rule, memory, practice, read, rules};

/// Source: common practice and ABYC E-11 (drop), from memory (resistances), NEC 110.14(C), 310.10 (ampacity).
pub(super) static RULES: &[Rule] = rules! {
    "drop-array" "drop, array to controller" "%" (3.0) 0.1..20.0 practice("");
    "Most volts lost from the panels to the controller, percent of string Vmp at STC. Over it: caution."
    "drop-controller-bank" "drop, controller to bank" "%" (1.25) 0.1..10.0 practice("0.15 V per 12 V");
    "Most volts lost from a solar controller to the bank's posts: more makes the controller see a full battery early."
    "drop-inverter" "drop, bank to inverter" "%" (2.0) 0.1..10.0 practice("");
    "Most volts lost from the bank's posts to the inverter at rated load."
    "drop-charger" "drop, charger to bank" "%" (2.0) 0.1..10.0 practice("");
    "Most volts lost from a shore or DC-DC charger to the bank's posts."
    "drop-charger-input" "drop, DC-DC input line" "%" (0.0) 0.0..20.0 practice("none: drop-out judges it");
    "Most volts lost from the start battery to a DC-DC charger; 0: no target, its input is judged by whether it drops out."
    "drop-critical" "drop, critical loads" "%" (3.0) 0.1..20.0 read("ABYC E-11", "11.14.2.6");
    "Most volts lost to feeders, pumps, electronics, detectors and brakes."
    "drop-other" "drop, other loads" "%" (10.0) 0.1..20.0 read("ABYC E-11", "11.14.2.6");
    "Most volts lost to lighting and other loads that stand it."

    "battery-switch-mohm" "battery switch" "mohm" (0.15) 0.0..10.0 memory("battery switch", "");
    "Contact resistance of a battery switch."
    "lugged-joint-mohm" "lugged joint" "mohm" (0.05) 0.0..10.0 memory("lugged joint", "");
    "Resistance of one crimped and bolted joint."
    "pv-connector-mohm" "PV connector pair" "mohm" (0.3) 0.0..10.0 memory("PV connector", "");
    "Resistance of one mated pair of PV connectors."
    "fuse-drop-v" "fuse, drop at rating" "V" (0.1) 0.0..0.5 memory("ISO 8820", "");
    "Volts across a fuse at its rated current."
    "class-t-drop-v" "class T, drop at rating" "V" (0.06) 0.0..0.5 memory("UL 248-15", "");
    "Volts across a class T fuse at its rated current."
    "breaker-drop-v" "breaker, drop at rating" "V" (0.12) 0.0..0.5 memory("DC breaker", "0.10-0.15 V");
    "Volts across a breaker at its rated current."
    "shunt-drop-v" "shunt, drop at rating" "V" (0.05) 0.0..0.2 memory("shunt", "50 mV class");
    "Volts across a shunt at its rated current."

    "ambient-roof" "ambient, on the roof" "C" (70.0) -40.0..150.0 practice("");
    "Air around a cable on the roof skin in the sun. No rooftop adder comes on top."
    "ambient-roof-cavity" "ambient, roof cavity" "C" (60.0) -40.0..150.0 practice("");
    "Air between roof skin and ceiling."
    "ambient-refrigerator" "ambient, behind the refrigerator" "C" (55.0) -40.0..150.0 practice("");
    "Air behind an absorption refrigerator."
    "ambient-cabinet" "ambient, cabinet" "C" (40.0) -40.0..150.0 practice("");
    "Air in a closed cabinet of the living space."
    "ambient-basement" "ambient, basement" "C" (45.0) -40.0..150.0 practice("");
    "Air in a storage bay under the floor."
    "ambient-battery-box" "ambient, battery box" "C" (45.0) -40.0..150.0 practice("");
    "Air in a battery compartment."
    "ambient-engine-bay" "ambient, engine bay" "C" (80.0) -40.0..150.0 practice("");
    "Air beside the engine after a climb."
    "ambient-exhaust" "ambient, near exhaust" "C" (105.0) -40.0..200.0 practice("");
    "Air beside an exhaust."
    "ambient-gas-locker" "ambient, gas locker" "C" (45.0) -40.0..150.0 practice("");
    "Air in the compartment of the gas bottles."

    "terminal-c" "terminals, temperature rating" "C" (75.0) 60.0..125.0 memory("NEC", "110.14(C)");
    "The column that caps the ampacity unless the device says otherwise. The cap itself is not corrected. Not used by marine and metric rules."
    "other-basis-pct" "other basis shown from" "%" (20.0) 0.0..100.0 practice("");
    "The ampacity on the other rule basis is shown beside when it differs by more than this."
    "bundle-marine" "bundle factors below 50 V" "on/off" [1.0, 1.0, 1.0] 0.0..1.0 memory("ABYC E-11", "bundle factors");
    "The boat law asks for none below 50 V; newer practice uses them."
    "parallel-least-mm2" "parallel conductors from" "mm2" (50.0) 0.5..120.0 memory("NEC", "310.10, 1/0 AWG and larger");
    "Conductors of one pole may share the current only from this size on, of equal length, gauge and lugs."
    "copper-clad-resistance" "copper-clad aluminium, resistance" "x" (1.6) 1.0..2.0 memory("copper-clad aluminium", "");
    "Resistance over that of copper of the same size."
    "copper-clad-ampacity" "copper-clad aluminium, ampacity" "x" (0.78) 0.5..1.0 memory("copper-clad aluminium", "");
    "Ampacity over that of copper of the same size."
    "least-array-mm2" "thinnest array home run proposed" "mm2" [5.2, 5.2, 4.0] 0.5..120.0 practice("10 AWG, 4 mm2");
    "Sizing proposes no thinner wire from the panels: what PV connectors and roof glands are made for. No check asks for it; 10 AWG holds 5.26 mm2."
    "least-feed-mm2" "thinnest power feed proposed" "mm2" [5.2, 5.2, 6.0] 0.5..120.0 practice("10 AWG, 6 mm2");
    "Sizing proposes no thinner wire for controllers, chargers, inverters and panels: strength, terminals, and a charger that is added later. No check asks for it."
    "least-branch-mm2" "thinnest load branch proposed" "mm2" [2.0, 1.3, 1.5] 0.5..120.0 practice("14 AWG");
    "Sizing proposes no thinner wire to a load. The former NEC 551.10 and NEC 552.10 tables begin at 18 AWG; no check asks for more."
    "bond-least-mm2" "chassis bond, at least" "mm2" (8.3) 1.0..120.0 read("NEC", "552.10(C)(4), 8 AWG");
    "The bond from battery to chassis, and not smaller than the unbonded battery lead where that is larger."
};
