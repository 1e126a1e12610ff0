//! The usual mistakes as another technician would draw them: on the negative side, through a bus or a splice, behind a switch, side
//! by side, from the other end, in a trailer behind its tow plug; each beside its right twin.

use super::mistakes::{caught, insert, sound, with, word};
use super::{evaluate, found, near, texts};
use coachwire::engine::Level::{Caution, Stop};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn read(text: &str) -> Plan {
    Plan::from_text(text).unwrap_or_else(|e| panic!("{e}"))
}

fn all(p: &Plan, items: &[(&str, &str)]) -> Plan {
    items.iter().fold(p.clone(), |p, (list, item)| insert(&p, list, item))
}

/// A run of 90 C wire: id, ends, gauge, metres, and what else it says.
fn run(id: &str, (from, to): (&str, &str), gauge: &str, metres: f64, more: &str) -> String {
    format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}", legs: [(id: "L1", length_m: {metres:?}, insulation_c: 90.0)]{more})"#
    )
}

fn fuse(at: &str, amps: f64) -> String {
    format!(r#", protection: [(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: {amps:?}, distance_m: 0.1)]"#)
}

const ALONE: &str = r#", return_path: "none""#;

/// 1: of two arrays on one controller one alone is too long: 5 x 24.9 V x (1 + 0.0028 x 37) = 137.4 V, over its 105 V.
#[test]
fn m01_one_array_of_two_on_a_controller() {
    let of = |strings: &str| {
        let array = format!(r#"(id: "A2", strings: "{strings}", controller: "C1")"#);
        let home = run("W8", ("A2", "C1"), "8 AWG", 7.0, "");
        let p = all(&sound(), &[("arrays", &array), ("runs", &home)]);
        let p = with(&p, &[("arrays.A1.strings", Value::Text("2S1P P1".into()))]);
        let breaker = r#"(id: "F1", at: "to", family: "DC breaker", amps_a: 40.0, volts_dc_v: 150.0, interrupt_a: 5000.0,
            distance_m: 0.2, resets: "manual")"#;
        insert(&p, "runs.W8.protection", breaker)
    };
    let r = caught("1", &of("5S1P P1"), &of("2S1P P1"), Stop, "cold-voc-over-limit", "arrays.A2");
    near("volts", Ok(found(&r, "cold-voc-over-limit")[0].n(0)), 137.4, 0.001);
}

/// 3: the way from the controller in two pieces, over a splice: 41.6 A over 4.6 m of 8 AWG, there and back, lose far over the 0.15 V
/// of common practice.
#[test]
fn m03_a_controller_far_off_over_a_splice() {
    let of = |metres: f64| {
        let p = insert(&sound(), "devices", r#"(id: "SP", kind: "splice")"#);
        let p = with(&p, &[("runs.W2.from", id("SP")), ("runs.W2.legs.L1.length_m", n(metres))]);
        insert(&p, "runs", &run("W8", ("C1", "SP"), "2 AWG", metres, ""))
    };
    let r = evaluate(&of(2.3));
    let at = found(&r, "drop-over-target").first().map(|f| f.subject.to_string()).unwrap_or_else(|| texts(&r));
    caught("3", &of(2.3), &of(0.15), Caution, "drop-over-target", &at);
}

/// 4: the thin wire is one leg of the run, prep wire that is there: 12 AWG, 20 A at most by former NEC 551.10.
#[test]
fn m04_the_thin_leg_of_a_run() {
    let prep = r#"(id: "L2", gauge: "12 AWG", length_m: 1.0, insulation_c: 90.0, state: "existing")"#;
    let wrong = insert(&sound(), "runs.W6.legs", prep);
    let right = with(&wrong, &[("runs.W6.protection.F1.amps_a", n(20.0))]);
    let r = caught("4, a leg", &wrong, &right, Stop, "fuse-above-conductor", "runs.W6");
    assert_eq!(found(&r, "fuse-above-conductor")[0].n(1), 20.0);
}

/// 4: the thin wire is the negative alone, which a load has of its own to the bar: what its fuse of 15 A lets through comes back by
/// it, and 18 AWG is for 6 A by former NEC 551.10.
#[test]
fn m04_the_thin_negative_of_a_load() {
    let of = |size: &str| {
        let branch = run("W8", ("FP", "L1"), "14 AWG", 2.0, &format!("{}{ALONE}", fuse("from", 15.0)));
        let p = insert(&shunted(), "runs", &branch);
        insert(&p, "runs", &run("N3", ("L1", "NB"), size, 2.0, ALONE))
    };
    let r = evaluate(&of("18 AWG"));
    let f = r.findings.iter().find(|f| f.level == Stop).unwrap_or_else(|| panic!("{}", texts(&r)));
    assert_eq!(f.subject.as_str(), "runs.N3", "{}", texts(&r));
    caught("4, negative", &of("18 AWG"), &of("14 AWG"), Stop, f.check.id, "runs.N3");
}

/// 4: a panel's feeder as two runs, its loads without any: the negative alone is thin. Former NEC 551.10: 14 AWG is for 15 A, 40 A
/// are ahead; and no dead short, as a panel has a bar for negatives.
#[test]
fn m04_the_thin_negative_of_a_panel() {
    let of = |size: &str| {
        let p = with(&sound(), &[("runs.W6.return_path", word("none"))]);
        insert(&p, "runs", &run("W8", ("FP", "BUS"), size, 2.0, ALONE))
    };
    let r = evaluate(&of("14 AWG"));
    let f = r.findings.iter().find(|f| f.level == Stop).unwrap_or_else(|| panic!("{}", texts(&r)));
    assert_eq!(f.subject.as_str(), "runs.W8", "{}", texts(&r));
    assert!(["fuse-above-conductor", "conductor-below-current"].contains(&f.check.id), "{}", texts(&r));
    for check in ["poles-joined", "return-not-drawn"] {
        assert!(found(&r, check).is_empty(), "{}", texts(&r));
    }
    caught("4, negative", &of("14 AWG"), &of("6 AWG"), Stop, f.check.id, "runs.W8");
}

/// 5: the main fuse stands behind the switch, so that all of W3 and the switch are bare.
#[test]
fn m05_the_main_fuse_behind_the_switch() {
    let of = |behind: bool| {
        let mut p = sound();
        let fuse = p.runs[2].protection.clone();
        if behind {
            p.runs[2].protection.clear();
            p.runs[3].protection = fuse;
        }
        p
    };
    let r = evaluate(&of(true));
    let said = ["source-end-unfused", "fuse-far-from-source"].map(|check| found(&r, check));
    let first = said.iter().flatten().next().unwrap_or_else(|| panic!("{}", texts(&r)));
    let (check, at) = (first.check.id, first.subject.to_string());
    assert!(at == "runs.W3" || at == "runs.W4", "{at}");
    caught("5, behind the switch", &of(true), &of(false), Stop, check, &at);
}

/// 5: drawn from the far end, `from` is the switch: 0.6 m of bare wire at the bank.
#[test]
fn m05_a_run_drawn_from_its_far_end() {
    let of = |at: &'static str| {
        let ends = [("runs.W3.from", id("SW")), ("runs.W3.to", id("BK")), ("runs.W3.protection.F1.at", word(at))];
        with(&sound(), &ends)
    };
    caught("5, from the far end", &of("from"), &of("to"), Stop, "fuse-far-from-source", "runs.W3");
}

/// 5: a branch from a fuse panel without its fuse, the feeder's 40 A ahead of 14 AWG (15 A by former NEC 551.10).
#[test]
fn m05_a_branch_of_a_panel_without_a_fuse() {
    let bare = insert(&sound(), "runs", &run("W8", ("FP", "L1"), "14 AWG", 2.0, ""));
    let fused = insert(&sound(), "runs", &run("W8", ("FP", "L1"), "14 AWG", 2.0, &fuse("from", 10.0)));
    caught("5, a branch", &bare, &fused, Stop, "source-end-unfused", "runs.W8");
}

/// 6: an automotive blade fuse of 1 kA on a branch that leaves the bank by itself, past switch and bus.
#[test]
fn m06_a_small_fuse_straight_at_the_bank() {
    let of = |family: &str| {
        let panel = run("W8", ("BK", "AON"), "8 AWG", 1.0, &fuse("from", 20.0).replace("UL 248-15 T", family));
        all(&sound(), &[("devices", r#"(id: "AON", kind: "fuse panel")"#), ("runs", &panel)])
    };
    let r = caught("6", &of("ISO 8820-3 C"), &of("UL 248-15 T"), Stop, "interrupt-below-fault", "runs.W8");
    let f = found(&r, "interrupt-below-fault")[0];
    assert!(f.n(0) > 5.0 * f.n(1), "{}", f.text());
}

/// 7: the low volt part is a switch of its own in the array's line, drawn between two runs, or in its negative: 2 x 24.9 V x 1.1036
/// = 55 V cold.
#[test]
fn m07_a_low_volt_switch_in_the_arrays_line() {
    let of = |volts: f64| {
        let device = format!(r#"(id: "PVD", kind: "PV disconnect", ratings: (volts_dc_v: {volts:?}, amps_a: 40.0))"#);
        let p = insert(&sound(), "devices", &device);
        let p = with(&p, &[("runs.W1.from", id("PVD"))]);
        insert(&p, "runs", &run("W8", ("A1", "PVD"), "8 AWG", 1.0, ""))
    };
    let r = caught("7", &of(32.0), &of(150.0), Stop, "device-volts-low", "devices.PVD");
    near("cold", Ok(found(&r, "device-volts-low")[0].n(1)), 2.0 * 24.9 * 1.1036, 0.001);
}

/// 8: the positive is thick and the negative, a run of its own, is not: 1400 W / (12.0 V x 0.88) = 132.6 A.
#[test]
fn m08_the_inverters_negative_too_thin() {
    let of = |size: &str| {
        let p = with(&sound(), &[("inverters.INV.watts_w", n(1100.0)), ("runs.W5.return_path", word("none"))]);
        let p = with(&p, &[("runs.W5.protection.F1.amps_a", n(150.0))]);
        insert(&p, "runs", &run("W8", ("INV", "BUS"), size, 1.0, ALONE))
    };
    let r = caught("8, negative", &of("6 AWG"), &of("4/0 AWG"), Stop, "conductor-below-current", "runs.W8");
    near("amps", Ok(found(&r, "conductor-below-current")[0].n(0)), 1100.0 / (12.0 * 0.88), 1e-6);
}

/// 8: two thin runs side by side: a loose lug leaves either with all of it. NEC 310.10: conductors share from 1/0 AWG on.
#[test]
fn m08_two_thin_runs_side_by_side() {
    let of = |size: &str| {
        let p = with(&sound(), &[("runs.W5.gauge", gauge(size)), ("inverters.INV.watts_w", n(1200.0))]);
        insert(&p, "runs", &run("W8", ("BUS", "INV"), size, 1.0, &fuse("from", 150.0)).replace("90.0", "105.0"))
    };
    caught("8, side by side", &of("6 AWG"), &of("4/0 AWG"), Stop, "conductor-below-current", "runs.W8");
}

/// 9: what two inverters draw together, each within the limit: 2 x 1000 W / (12 V x 0.88) = 189 A of 3 x 60 A x 0.9 = 162 A.
#[test]
fn m09_two_inverters_together() {
    let of = |each: f64| {
        let p = insert(&sound(), "inverters", r#"(id: "IN2", watts_w: 1000.0, idle_w: 20.0)"#);
        let p = insert(&p, "runs", &run("W8", ("BUS", "IN2"), "2/0 AWG", 1.0, &fuse("from", 150.0)));
        with(&p, &[("bank.max_discharge_a", n(each)), ("runs.W3.protection.F1.amps_a", n(250.0))])
    };
    let r = evaluate(&of(60.0));
    let f = found(&r, "inverter-over-discharge-limit");
    let at = f.first().map(|f| f.subject.to_string()).unwrap_or_else(|| texts(&r));
    let r = caught("9", &of(60.0), &of(100.0), Caution, "inverter-over-discharge-limit", &at);
    near("both", Ok(found(&r, "inverter-over-discharge-limit")[0].n(0)), 2000.0 / (12.0 * 0.88), 1e-6);
}

/// 10: the lead settings are those of the vehicle's DC-DC charger, behind the tow plug of a trailer.
#[test]
fn m10_lead_settings_on_a_trailers_dc_dc() {
    let tow = read(include_str!("plans/tow-line.ron"));
    let right = evaluate(&tow);
    assert!(found(&right, "compensation-on-lithium").is_empty() && found(&right, "equalise-not-allowed").is_empty());
    let warm = with(&tow, &[("chargers.DD.temp_comp_mv_k", n(-24.0))]);
    super::cures::is_curable(&warm, "compensation-on-lithium", "chargers.DD");
    let equal = with(&tow, &[("chargers.DD.equalise_v", n(15.5))]);
    super::cures::is_curable(&equal, "equalise-not-allowed", "chargers.DD");
    // The volts of lead on the one source among three: AGM's 14.7 V are over the 14.6 V of a lithium bank.
    let high = with(&tow, &[("chargers.DD.absorb_v", n(14.7))]);
    super::cures::is_curable(&high, "charge-volts-high", "chargers.DD");
}

/// 11: the old charge line from the alternator stays on a lithium bank, over the tow plug with no charger between.
#[test]
fn m11_the_old_tow_line_kept_on_lithium() {
    let link = read(include_str!("plans/tow-link.ron"));
    let r = evaluate(&link);
    let f = found(&r, "alternator-on-lithium");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    super::cures::is_curable(&link, "alternator-on-lithium", f[0].subject.as_str());
    for right in [read(include_str!("plans/tow-line.ron")), with(&link, &[("bank.chemistry", word("AGM"))])] {
        let r = evaluate(&right);
        assert!(found(&r, "alternator-on-lithium").is_empty(), "{}", texts(&r));
    }
}

/// 12: no array, and a shore charger alone charges the bank that stands in an unheated box.
#[test]
fn m12_cold_lithium_on_shore_power_alone() {
    let of = |cut_off: Value| {
        let mut p = sound();
        p.controllers.clear();
        p.arrays.clear();
        p.runs.retain(|r| !["W1", "W2"].contains(&r.id.as_str()));
        let charger =
            r#"(id: "CH", kind: "shore", out_a: 40.0, efficiency_pct: 90.0, absorb_v: 14.2, ac_source: "shore")"#;
        let p = all(&p, &[("chargers", charger), ("runs", &run("W8", ("CH", "BUS"), "6 AWG", 1.0, &fuse("to", 60.0)))]);
        with(&p, &[("bank.charge_cutoff_c", cut_off), ("bank.zone", word("battery box")), ("bank.heated", word("no"))])
    };
    caught("12", &of(Value::Nothing), &of(n(0.0)), Stop, "lithium-charged-cold", "bank");
}

fn shunted() -> Plan {
    let p = all(
        &sound(),
        &[
            ("devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 500.0))"#),
            ("devices", r#"(id: "NB", kind: "bus")"#),
        ],
    );
    // The mains singly: positive by switch and bus, negative by shunt and bar.
    let p = with(&p, &[("runs.W3.return_path", word("none")), ("runs.W4.return_path", word("none"))]);
    let p = with(
        &p,
        &["W2", "W5", "W6"].map(|x| (format!("runs.{x}"), x)).map(|(at, x)| {
            let end = if x == "W2" { "negative_to" } else { "negative_from" };
            (Box::leak(format!("{at}.{end}").into_boxed_str()) as &str, id("NB"))
        }),
    );
    let p = with(&p, &[("runs.W7.from", id("NB"))]);
    let main = |x: &str, ends| run(x, ends, "4/0 AWG", 0.3, ALONE).replace("90.0", "105.0");
    all(&p, &[("runs", &main("N1", ("BK-", "SHN"))), ("runs", &main("N2", ("SHN", "NB")))])
}

/// 13: every negative ends on the bar behind the shunt, and a second cable leads from the bar to the post.
#[test]
fn m13_a_cable_beside_the_shunt() {
    let right = shunted();
    let wrong = insert(&right, "runs", &run("N3", ("NB", "BK-"), "4/0 AWG", 0.3, ALONE));
    caught("13, beside", &wrong, &right, Caution, "shunt-bypass", "runs.N3");
}

/// 13: one pair's negative ends on a second bar, and that on the post.
#[test]
fn m13_a_bar_of_its_own_to_the_post() {
    let of = |to: &str| {
        let p = insert(&shunted(), "devices", r#"(id: "NB2", kind: "bus")"#);
        let p = with(&p, &[("runs.W6.negative_from", id("NB2"))]);
        insert(&p, "runs", &run("N3", ("NB2", to), "4/0 AWG", 0.3, ALONE))
    };
    caught("13, a bar", &of("BK-"), &of("NB"), Caution, "shunt-bypass", "runs.N3");
}

/// 13: the frame, bonded at the bar and at the post as well, is a way round the shunt.
#[test]
fn m13_a_second_bond_at_the_post() {
    let of = |from: &str| {
        let p = insert(&shunted(), "devices", r#"(id: "CH2", kind: "chassis point")"#);
        insert(&p, "runs", &run("N3", (from, "CH2"), "4/0 AWG", 0.3, ALONE))
    };
    let r = evaluate(&of("BK-"));
    assert!(r.findings.iter().any(|f| f.check.id == "shunt-bypass"), "{}", texts(&r));
    let at = found(&r, "shunt-bypass")[0].subject.to_string();
    caught("13, a second bond", &of("BK-"), &of("NB"), Caution, "shunt-bypass", &at);
}

/// 19: the old breaker that closes by itself is one of the run's own, and the prep wire a leg in the middle of new wire.
#[test]
fn m19_prep_wire_in_the_middle_of_new_wire() {
    let of = |size: &str| {
        let leg = format!(r#"(id: "L2", gauge: "{size}", length_m: 0.1, insulation_c: 90.0, state: "existing")"#);
        insert(&sound(), "runs.W2.legs", &leg)
    };
    caught("19", &of("12 AWG"), &of("2 AWG"), Stop, "conductor-below-current", "runs.W2");
}

/// 20: unlike panels side by side, each alone in its string: 20.8 V and 18.72 V at their best, 10 % apart, over 5 %.
#[test]
fn m20_unlike_panels_side_by_side() {
    let of = |vmp: f64, imp: f64| {
        let other = format!(
            r#"(id: "P2", pmax_w: {:?}, vmp_v: {vmp:?}, imp_a: {imp:?}, voc_v: {:?}, isc_a: 10.7, cells: 36.0, alpha_pct_k: 0.05,
            beta_pct_k: -0.28, series_fuse_a: 20.0, weight_kg: 12.0)"#,
            (vmp * imp).round(),
            vmp * 1.2
        );
        with(&insert(&sound(), "panels", &other), &[("arrays.A1.strings", Value::Text("P1+P1 | P2+P2".into()))])
    };
    caught("20", &of(18.72, 10.0), &of(20.8, 10.1), Caution, "unlike-panels", "arrays.A1");
}

/// 21: a trailer's DC-DC charger behind the tow plug, whose line is too long for what it asks.
#[test]
fn m21_a_long_line_through_the_tow_plug() {
    let tow = read(include_str!("plans/tow-line.ron"));
    let r = evaluate(&tow);
    assert!(found(&r, "dc-dc-drops-out").is_empty(), "{}", texts(&r));
    let long = with(&tow, &[("runs.W2.legs.L1.length_m", n(40.0))]);
    assert!(!found(&evaluate(&long), "dc-dc-drops-out").is_empty(), "{}", texts(&evaluate(&long)));
    super::cures::apply_all(&long);
    // Two units on one alternator of 180 A: 12 V-side currents add.
    let weak = with(&tow, &[("devices.ALT.ratings.amps_a", n(40.0))]);
    super::cures::is_curable(&weak, "alternator-overdrawn", "chargers.DD");
    assert!(found(&r, "alternator-overdrawn").is_empty(), "{}", texts(&r));
}

/// 23: the bond in two pieces, over a bar: the piece at the frame is thin.
#[test]
fn m23_the_thin_half_of_a_bond() {
    let of = |size: &str| {
        let p = insert(&shunted(), "devices", r#"(id: "GB", kind: "bus")"#);
        let p = with(&p, &[("runs.W7.from", id("GB")), ("runs.W7.gauge", gauge(size))]);
        insert(&p, "runs", &run("N3", ("NB", "GB"), "4/0 AWG", 0.3, ALONE).replace("90.0", "105.0"))
    };
    caught("23", &of("8 AWG"), &of("4/0 AWG"), Caution, "bond-small", "runs.W7");
}

/// 13: a start battery that an isolator joins to the bus, its own negative a cable by itself: to the post what it takes and gives passes
/// the shunt by, to the bar it does not.
#[test]
fn m13_a_start_batterys_own_negative() {
    let of = |to: &str| {
        let p = all(
            &shunted(),
            &[
                ("devices", r#"(id: "SB", kind: "start battery", state: "existing")"#),
                ("devices", r#"(id: "ISO", kind: "isolator")"#),
                ("runs", &run("X1", ("SB", "ISO"), "2 AWG", 0.4, &format!("{}{ALONE}", fuse("from", 100.0)))),
                ("runs", &run("X2", ("ISO", "BUS"), "2 AWG", 0.5, &format!("{}{ALONE}", fuse("to", 100.0)))),
            ],
        );
        insert(&p, "runs", &run("N3", ("SB", to), "2 AWG", 0.9, ALONE))
    };
    let (wrong, right) = (evaluate(&of("BK-")), evaluate(&of("NB")));
    let said = |r: &coachwire::engine::Report| {
        found(r, "shunt-bypass").iter().map(|f| f.subject.to_string()).collect::<Vec<_>>()
    };
    assert_eq!((said(&wrong), said(&right)), (vec!["runs.N3".to_string()], vec![]), "{}", texts(&wrong));
    super::cures::is_curable(&of("BK-"), "shunt-bypass", "runs.N3");
}
