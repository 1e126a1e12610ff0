//! Rule values.

use std::collections::HashSet;

use coachwire::standards::Standing;
use coachwire::standards::ampacity::{COPPER_CLAD_AMPACITY, PARALLEL_LEAST_MM2};
use coachwire::standards::chemistry::{LFP_UNKNOWN_FAULT_A, chemistry};
use coachwire::standards::cold::FALLBACK_BETA_PER_K;
use coachwire::standards::conductor::COPPER_CLAD_RESISTANCE;
use coachwire::standards::fuse::drop_at_rating_v;
use coachwire::standards::kinds::{Basis, Chemistry, FuseFamily, Zone};
use coachwire::standards::rules::{all, ambient_c, ambient_rule_id, rule};

use crate::support::near_abs;

#[test]
fn rules_are_well_formed() {
    let mut seen = HashSet::new();
    for r in all() {
        assert!(seen.insert(r.id), "{} twice", r.id);
        assert!(r.id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{}", r.id);
        assert!(!r.label.is_empty() && r.help.ends_with('.'), "{}", r.id);
        for basis in Basis::ALL {
            let v = r.value(*basis);
            assert!(v >= r.least && v <= r.most, "{} {basis}: {v} outside {}..{}", r.id, r.least, r.most);
        }
        assert!(!r.source.document.is_empty(), "{}", r.id);
        assert!(r.source.standing != Standing::Verified || r.source.document != "common practice");
        assert_eq!(rule(r.id), Some(r));
    }
    assert!(seen.len() > 80, "{}", seen.len());
    assert_eq!(rule("no-such-rule"), None);
}

/// Source: 33 CFR 183.455(b): 7 in and, sheathed, 40 in. ABYC E-11: 72 in at the post. NEC 552.10(E)(4): 18 in.
/// ISO 10133: 200 mm. One inch is 0.0254 m.
#[test]
fn fuse_distances() {
    let at = |id: &str, b| rule(id).unwrap().value(b);
    near_abs("7 in", at("fuse-distance-note-m", Basis::UsRv), 7.0 * 0.0254, 1e-9);
    near_abs("18 in", at("fuse-distance-m", Basis::UsRv), 18.0 * 0.0254, 1e-9);
    near_abs("7 in", at("fuse-distance-m", Basis::Marine), 7.0 * 0.0254, 1e-9);
    near_abs("40 in", at("fuse-distance-sheathed-m", Basis::Marine), 40.0 * 0.0254, 1e-9);
    near_abs("72 in", at("fuse-distance-post-m", Basis::Marine), 72.0 * 0.0254, 1e-9);
    near_abs("200 mm", at("fuse-distance-m", Basis::Metric), 0.2, 1e-9);
}

/// Source: common practice: ambient of each zone.
#[test]
fn zone_ambients() {
    for (zone, c) in [
        (Zone::Roof, 70.0),
        (Zone::RoofCavity, 60.0),
        (Zone::Refrigerator, 55.0),
        (Zone::Cabinet, 40.0),
        (Zone::Basement, 45.0),
        (Zone::BatteryBox, 45.0),
        (Zone::EngineBay, 80.0),
        (Zone::Exhaust, 105.0),
        (Zone::GasLocker, 45.0),
    ] {
        for basis in Basis::ALL {
            assert_eq!(ambient_c(zone, *basis), c, "{zone}");
        }
    }
    for zone in Zone::ALL {
        assert!(rule(ambient_rule_id(*zone)).is_some(), "{zone}");
    }
}

/// Figures that stand both in a table and as a rule must be one figure.
#[test]
fn rules_and_tables_agree() {
    let v = |id: &str| rule(id).unwrap().us_rv;
    assert_eq!(v("copper-clad-resistance"), COPPER_CLAD_RESISTANCE);
    assert_eq!(v("copper-clad-ampacity"), COPPER_CLAD_AMPACITY);
    assert_eq!(v("parallel-least-mm2"), PARALLEL_LEAST_MM2);
    assert_eq!(v("lfp-unknown-fault-a"), LFP_UNKNOWN_FAULT_A);
    near_abs("beta", v("beta-fallback"), FALLBACK_BETA_PER_K * 100.0, 1e-12);
    for (id, family) in [
        ("fuse-drop-v", FuseFamily::BladeC),
        ("class-t-drop-v", FuseFamily::ClassT),
        ("breaker-drop-v", FuseFamily::Breaker),
    ] {
        assert_eq!(v(id), drop_at_rating_v(family));
    }
    let (lfp, lead) = (chemistry(Chemistry::Lfp), chemistry(Chemistry::Flooded));
    assert_eq!((v("fault-volts-lfp"), v("inverter-volts-lfp")), (lfp.fault_v, lfp.low_v));
    assert_eq!((v("fault-volts-lead"), v("inverter-volts-lead")), (lead.fault_v, lead.low_v));
    assert_eq!((v("usable-depth-lfp"), v("usable-depth-lead")), (lfp.usable_depth, lead.usable_depth));
    assert_eq!(v("lfp-charge-least-c"), lfp.charge_c.least);
    assert_eq!(v("lead-ohmic-mohm"), lead.ohmic_mohm_100ah);
}

/// Each basis cites its own documents, and none of another's: the NEC is law for coaches of the United States, 33 CFR and
/// ABYC for boats, ISO and IEC for metric work. What one takes over from another says so.
#[test]
fn each_basis_has_its_own_source() {
    for r in all() {
        for basis in [Basis::Marine, Basis::Metric] {
            let source = r.source_of(basis);
            assert!(!source.document.contains("NEC"), "{} {basis}: {source}", r.id);
            assert!(basis == Basis::Marine || !source.document.starts_with("33 CFR"), "{} {basis}: {source}", r.id);
        }
        assert_eq!(*r.source_of(Basis::UsRv), r.source, "{}", r.id);
    }
    let said = |id: &str, basis| rule(id).unwrap().source_of(basis).to_string();
    assert_eq!(said("fuse-distance-m", Basis::UsRv), "NEC 552.10(E)(4), 18 in");
    assert_eq!(said("fuse-distance-m", Basis::Marine), "33 CFR 183.455 (b)(1), 7 in");
    assert_eq!(said("fuse-distance-m", Basis::Metric), "ISO 10133 200 mm (from memory)");
    assert_eq!(said("tap-length-m", Basis::UsRv), "NEC 240.21(B)(2), 25 ft (from memory)");
    assert_eq!(said("tap-length-m", Basis::Marine), "common practice NEC 240.21(B)(2), taken over from RVs");
    assert_eq!(said("next-rating-up", Basis::UsRv), "NEC 240.4(B) (from memory)");
    assert_eq!(said("next-rating-up", Basis::Metric), "common practice next standard rating, rule next-rating-up");
}
