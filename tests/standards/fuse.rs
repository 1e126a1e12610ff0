//! Fuses, interrupting, chemistries.

use coachwire::standards::chemistry::{
    CHEMISTRIES, LFP_UNKNOWN_FAULT_A, chemistry, lead_branch_interrupt_a, lead_main_interrupt_a, lead_short_circuit_a,
};
use coachwire::standards::fuse::{
    Purpose, dc_volts, drop_at_rating_v, interrupt_a, largest_at_most, ratings, resistance_ohm, smallest_at_least,
    usual,
};
use coachwire::standards::kinds::{Chemistry, FuseFamily};
use proptest::prelude::*;

use crate::support::{near_rel, rows};

fn row_of(family: FuseFamily) -> Option<&'static str> {
    Some(match family {
        FuseFamily::BladeC => "ISO 8820-3 type C",
        FuseFamily::BladeE => "ISO 8820-3 type E",
        FuseFamily::Sf30 => "SF30",
        FuseFamily::Sf51 => "SF51",
        FuseFamily::BoltOnStud => "ISO 8820-6",
        FuseFamily::OpenLink => "open bolt-down",
        FuseFamily::ClassT => "Class T",
        FuseFamily::Gpv => "gPV (IEC 60269-6)",
        FuseFamily::Breaker => return None,
    })
}

/// Source: ISO 8820-3, -5, -6; UL 248-15; IEC 60269-6: ratings as listed for each type.
#[test]
fn ratings_whole() {
    let table = rows("standards/fuse_types.csv");
    for family in FuseFamily::ALL {
        let Some(name) = row_of(*family) else { continue };
        let row = table.iter().find(|r| r.text("type").contains(name)).unwrap();
        let listed: Vec<f64> = row
            .text("standard_ratings_A")
            .trim_start_matches("1-1200: ")
            .split(',')
            .filter_map(|cell| cell.trim().parse().ok())
            .collect();
        assert!(listed.len() >= 8, "{family}");
        // Class T is listed to 600 A and an ellipsis, with 1200 A as the end.
        let ours: Vec<f64> =
            ratings(*family).iter().copied().filter(|r| *family != FuseFamily::ClassT || *r <= 600.0).collect();
        assert_eq!(ours, listed, "{family}");
    }
    assert_eq!(ratings(FuseFamily::ClassT).last(), Some(&1200.0));
}

#[test]
fn ratings_rise_without_repeats() {
    for family in FuseFamily::ALL {
        let list = ratings(*family);
        assert!(list.len() >= 8 && list.windows(2).all(|w| w[0] < w[1]), "{family}");
        assert!(list[0] > 0.0);
    }
}

/// Source: ISO 8820-6: 10 kA at 14 V, 5 kA at 32 V, 2 kA at 58 V; open link 2.7 kA (inverter handbook); class T 20 kA at
/// 125 V DC.
#[test]
fn interrupting_falls_with_volts() {
    let stud = |v| interrupt_a(FuseFamily::BoltOnStud, v);
    assert_eq!((stud(14.0), stud(16.0)), (Some(10_000.0), Some(10_000.0)));
    assert_eq!((stud(16.1), stud(32.0)), (Some(5_000.0), Some(5_000.0)));
    assert_eq!((stud(53.2), stud(58.0), stud(58.1)), (Some(2_000.0), Some(2_000.0), None));
    assert_eq!(interrupt_a(FuseFamily::OpenLink, 13.3), Some(2_700.0));
    assert_eq!(interrupt_a(FuseFamily::ClassT, 58.4), Some(20_000.0));
    assert_eq!(interrupt_a(FuseFamily::ClassT, 126.0), None);
    assert_eq!(interrupt_a(FuseFamily::BladeC, 40.0), None);
    assert_eq!(interrupt_a(FuseFamily::Breaker, 12.0), None);
    assert_eq!(interrupt_a(FuseFamily::BladeC, f64::NAN), None);
    let table = rows("standards/fuse_types.csv");
    for (family, words) in [
        (FuseFamily::BladeC, "1000 A @ 32 V"),
        (FuseFamily::BladeE, "1000 A @ 32 V"),
        (FuseFamily::Sf30, "2000 A @ 32 V"),
        (FuseFamily::Sf51, "2000 A @ 32 V"),
        (FuseFamily::OpenLink, "2700 A"),
    ] {
        let name = row_of(family).unwrap();
        let row = table.iter().find(|r| r.text("type").contains(name)).unwrap();
        assert!(row.text("interrupt_rating").contains(words));
        let amps = interrupt_a(family, 32.0).unwrap();
        assert!(words.starts_with(&format!("{amps} A")), "{family}: {amps} against {words}");
    }
}

/// Source: drops at rating as rule values: 0.1 V, class T 0.06 V, breaker within 0.1 to 0.15 V.
#[test]
fn drops_at_rating() {
    assert_eq!(drop_at_rating_v(FuseFamily::Sf30), 0.1);
    assert_eq!(drop_at_rating_v(FuseFamily::ClassT), 0.06);
    assert!((0.1..=0.15).contains(&drop_at_rating_v(FuseFamily::Breaker)));
    near_rel("200 A class T", resistance_ohm(FuseFamily::ClassT, 200.0), 0.0003, 1e-12);
    assert_eq!(resistance_ohm(FuseFamily::ClassT, 0.0), 0.0);
}

/// Source: common practice: gPV for strings; class T at a lithium bank; on the stud for lead at 12 V.
#[test]
fn usual_families_can_do_their_purpose() {
    assert_eq!(usual(Purpose::PvString, 15.0, 90.0).family, FuseFamily::Gpv);
    assert_eq!(usual(Purpose::LithiumMain, 250.0, 13.3).family, FuseFamily::ClassT);
    assert_eq!(usual(Purpose::LeadMain, 150.0, 12.8).family, FuseFamily::BoltOnStud);
    for purpose in Purpose::ALL {
        for volts in [13.3, 26.6, 53.2, 110.0] {
            for amps in [1.0, 25.0, 30.0, 90.0, 300.0, 450.0] {
                let pick = usual(*purpose, amps, volts);
                if *purpose == Purpose::PvString && amps > 32.0 {
                    continue;
                }
                assert!(
                    smallest_at_least(pick.family, amps).is_some(),
                    "{purpose} {amps} A {volts} V: {}",
                    pick.family
                );
                assert!(
                    dc_volts(pick.family).is_some_and(|v| v >= volts),
                    "{purpose} {amps} A {volts} V: {}",
                    pick.family
                );
                assert!(!pick.reason.is_empty());
            }
        }
    }
}

/// Source: ABYC E-11 interrupting-capacity tables, older edition, 12 and 24 V rows.
#[test]
fn lead_interrupt_by_cold_cranking_amps_whole() {
    for row in rows("standards/interrupt_capacity_marine.csv").iter().filter(|r| r.text("system") == "12 V and 24 V") {
        let span = row.text("battery_total_CCA");
        let inside: &[f64] = match span {
            "<=650" => &[0.0, 500.0, 650.0],
            "651-1100" => &[651.0, 900.0, 1100.0],
            ">1100" => &[1101.0, 5000.0],
            other => panic!("{other}"),
        };
        for cca in inside {
            assert_eq!(lead_main_interrupt_a(*cca), row.num("main_AIC_A"), "{cca}");
            assert_eq!(lead_branch_interrupt_a(*cca), row.num("branch_AIC_A"), "{cca}");
        }
    }
    // 12.6 V over 4 mohm at 100 Ah.
    near_rel("100 Ah", lead_short_circuit_a(100.0), 3150.0, 1e-12);
    near_rel("200 Ah", lead_short_circuit_a(200.0), 6300.0, 1e-12);
    assert_eq!(lead_short_circuit_a(-1.0), 0.0);
    assert_eq!(LFP_UNKNOWN_FAULT_A, 20_000.0);
}

/// Source: battery chemistry figures as published: volts per cell times six (four for LFP), and what lithium never gets.
#[test]
fn chemistries() {
    for row in &CHEMISTRIES {
        assert_eq!(chemistry(row.chemistry).chemistry, row.chemistry);
        assert!(row.absorb_v.least <= row.absorb_v.most && row.absorb_v.most <= row.charge_most_v);
        assert!(row.float_v.least < row.float_v.most && row.float_v.most < row.absorb_v.least);
        assert!(row.low_v < row.fault_v && row.charge_c.least < row.charge_c.most);
    }
    let lfp = chemistry(Chemistry::Lfp);
    assert!(!lfp.compensation_allowed() && !lfp.equalise_allowed());
    assert_eq!((lfp.low_v, lfp.fault_v, lfp.charge_most_v, lfp.charge_c.least), (12.0, 13.3, 14.6, 0.0));
    let flooded = chemistry(Chemistry::Flooded);
    assert!(flooded.compensation_allowed() && flooded.equalise_allowed());
    assert_eq!((flooded.low_v, flooded.fault_v), (11.0, 12.8));
    let published = rows("standards/battery_chemistry.csv");
    let cell = |chemistry: &str, quantity: &str| {
        let row = published
            .iter()
            .find(|r| r.text("chemistry") == chemistry && r.text("quantity").starts_with(quantity))
            .unwrap();
        row.text("value").to_owned()
    };
    for (window, text) in [
        (flooded.absorb_v, cell("flooded lead-acid", "absorption")),
        (chemistry(Chemistry::Agm).absorb_v, cell("AGM", "absorption")),
        (lfp.absorb_v, cell("LiFePO4", "charge V/cell")),
        (lfp.float_v, cell("LiFePO4", "float")),
    ] {
        assert!(text.contains(&format!("{:.1}-{:.1}", window.least, window.most)), "{window:?} not in {text}");
    }
}

proptest! {
    #[test]
    fn a_proposed_rating_exists(amps in 0.0..1500.0_f64, v in 0.0..200.0_f64, dv in 0.0..100.0_f64) {
        for family in FuseFamily::ALL {
            if let Some(up) = smallest_at_least(*family, amps) {
                prop_assert!(up >= amps && ratings(*family).contains(&up));
            }
            if let Some(down) = largest_at_most(*family, amps) {
                prop_assert!(down <= amps && ratings(*family).contains(&down));
            }
            let more = interrupt_a(*family, v + dv).unwrap_or(0.0);
            prop_assert!(more <= interrupt_a(*family, v).unwrap_or(0.0));
        }
    }
}
