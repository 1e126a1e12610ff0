//! What is of a start battery and not of the bank: what charges it, hangs on it, and what a fault draws of it; each beside the
//! same thing on the bank, or beside a right twin.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::document::usual::with_cold_cut_off;
use coachwire::engine::{Level, Report};
use coachwire::plan::{Edit, Figure, Plan, Step, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

pub(super) fn run(id: &str, (from, to): (&str, &str), at: &str, family: &str, amps: f64) -> String {
    format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "10 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "{at}", family: "{family}", amps_a: {amps:?}, distance_m: 0.0)])"#
    )
}

/// The sound plan with a bank of 24 V and a start battery.
pub(super) fn truck() -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    with(&p, &[("bank.series", n(2.0)), ("bank.max_series", n(4.0)), ("controllers.C1.absorb_v", n(28.4))])
}

/// A maintainer of 6 A for lead on the inverter's outlet, led to some place.
pub(super) fn maintained(to: &str) -> Plan {
    let charger = r#"(id: "CH5", kind: "shore", out_a: 6.0, efficiency_pct: 90.0, ac_source: "inverter", absorb_v: 14.4,
        float_v: 13.5, temp_comp_mv_k: -24.0, temp_sense: "yes")"#;
    let p = insert(&truck(), "chargers", charger);
    insert(&p, "runs", &run("W40", ("CH5", to), "to", "UL 248-15 T", 10.0))
}

const OF_BANK: [&str; 6] = [
    "charge-volts-outside-window",
    "compensation-on-lithium",
    "inverter-feeds-charger",
    "profiles-disagree",
    "charger-without-run",
    "charge-volts-high",
];

fn of_charger(r: &Report, id: &str) -> Vec<String> {
    let of = |check: &&&str| says(r, check, &format!("chargers.{id}"));
    OF_BANK.iter().filter(of).map(|check| (*check).to_string()).collect()
}

pub(super) fn waits(r: &Report, check: &str, field: &str) -> bool {
    r.not_checked.iter().any(|w| w.check == check && w.waits_for.as_str() == field)
}

/// `battery_chemistry.csv`: lead takes 14.4 to 14.8 V and -24 mV/K for 12 V, lithium neither on 24 V. The same charger on the
/// bank's bus is three mistakes.
#[test]
fn a_maintainer_is_held_to_the_battery_that_it_charges() {
    let r = evaluate(&maintained("SB"));
    assert_eq!(of_charger(&r, "CH5"), Vec::<String>::new(), "{}", texts(&r));
    let said = found(&r, "charges-start-battery");
    assert!(said.len() == 1 && said[0].level == Level::Note && said[0].name(1) == "SB", "{}", texts(&r));
    let r = evaluate(&maintained("BUS"));
    let all = of_charger(&r, "CH5");
    for check in ["charge-volts-outside-window", "compensation-on-lithium", "inverter-feeds-charger"] {
        assert!(all.iter().any(|c| c == check), "{check}: {}", texts(&r));
    }
    assert!(found(&r, "charges-start-battery").is_empty());
}

/// A relay joins it to the bank: then the charger charges both, and the inverter feeds its own bank.
#[test]
fn a_battery_that_is_joined_to_the_bank_is_charged_with_it() {
    let p = insert(&maintained("SB"), "devices", r#"(id: "ISO", kind: "isolator")"#);
    let p = insert(&p, "runs", &run("W41", ("SB", "ISO"), "from", "UL 248-15 T", 30.0));
    let p = insert(&p, "runs", &run("W42", ("ISO", "BUS"), "to", "UL 248-15 T", 30.0));
    let all = of_charger(&evaluate(&p), "CH5");
    assert!(all.iter().any(|c| c == "inverter-feeds-charger"), "{all:?}");
}

/// `battery_chemistry.csv`: flooded lead is charged to 14.8 V at most, AGM to 14.7 V, for 24 V twice that; lithium takes no
/// compensation.
#[test]
fn its_own_chemistry_and_volts_decide() {
    let high = with(&maintained("SB"), &[("chargers.CH5.absorb_v", n(15.2))]);
    let r = evaluate(&high);
    let f = found(&r, "charge-volts-high");
    assert!(f.len() == 1 && f[0].subject.as_str() == "chargers.CH5", "{}", texts(&r));
    assert!((f[0].n(1) - 14.8).abs() < 1e-9 && f[0].text().contains("start battery SB"), "{}", f[0].text());
    for step in cures(&high, "charge-volts-high", "chargers.CH5") {
        let p = high.with(&step).expect("applies");
        assert!(p.chargers.iter().all(|c| c.absorb_v.known().is_none_or(|v| v.0 < 14.81)), "{}", step.name);
    }
    is_curable(&high, "charge-volts-high", "chargers.CH5");
    let agm = with(&maintained("SB"), &[("devices.SB.chemistry", word("AGM")), ("chargers.CH5.absorb_v", n(14.8))]);
    let r = evaluate(&agm);
    assert!(found(&r, "charge-volts-high").iter().any(|f| (f.n(1) - 14.7).abs() < 1e-9), "{}", texts(&r));
    let lfp = with(&maintained("SB"), &[("devices.SB.chemistry", word("LFP"))]);
    assert!(of_charger(&evaluate(&lfp), "CH5").iter().any(|c| c == "compensation-on-lithium"));
    // A truck's of 24 V: asked for as long as nobody has said so.
    let high = [("chargers.CH5.absorb_v", n(28.8)), ("chargers.CH5.float_v", n(27.0))];
    let asked = evaluate(&with(&maintained("SB"), &high));
    assert!(waits(&asked, "charge-volts-high", "devices.SB.unit_v"), "{:?}", asked.not_checked);
    assert_eq!(of_charger(&asked, "CH5"), Vec::<String>::new());
    let told = evaluate(&with(&with(&maintained("SB"), &high), &[("devices.SB.unit_v", n(24.0))]));
    assert_eq!(of_charger(&told, "CH5"), Vec::<String>::new(), "{}", texts(&told));
    assert!(told.not_checked.iter().all(|w| w.subject.as_str() != "chargers.CH5"), "{:?}", told.not_checked);
}

/// No cure of anything sets what charges the start battery to the bank's volts: 29.2 V are double of what it takes.
#[test]
fn no_cure_brings_the_banks_volts_to_it() {
    let p = with(&maintained("SB"), &[("chargers.CH5.float_v", n(14.9)), ("chargers.CH5.absorb_v", n(14.2))]);
    let r = evaluate(&p);
    assert!(!r.findings.is_empty());
    let mut tried = 0;
    for f in &r.findings {
        for step in cures(&p, f.check.id, f.subject.as_str()) {
            tried += 1;
            let after = p.with(&step).expect("applies");
            let set = after.chargers.iter().find(|c| c.id.as_str() == "CH5").expect("stays");
            assert!(set.absorb_v.known().is_some_and(|v| v.0 < 15.0), "{}: {}", f.text(), step.name);
        }
    }
    assert!(tried > 0, "{}", texts(&r));
}

fn amps(r: &Report, run: &str) -> Figure<f64> {
    r.runs.iter().find(|x| x.id.as_str() == run).expect("drawn").design_a.clone().map(|a| a.0)
}

/// A DC-DC charger of 5 A at 14.4 V and 90 %, its runs drawn from one side to the other.
fn dc_dc(first: (&str, &str), second: (&str, &str)) -> Plan {
    let charger =
        r#"(id: "CH6", kind: "DC-DC", out_a: 5.0, efficiency_pct: 90.0, absorb_v: 14.4, input_cutout_v: 10.5)"#;
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let p = insert(&p, "chargers", charger);
    let p = insert(&p, "runs", &run("W90", first, "from", "UL 248-15 T", 10.0));
    insert(&p, "runs", &run("W91", second, "to", "UL 248-15 T", 10.0))
}

/// By hand: 5 A x 14.4 V / 0.90 = 80 W; at the 12.0 V that lithium is designed for 6.67 A go in, 5 A come out. On the bus they
/// are drawn beside the 60 W of the panel and the inverter: what charges the bank is the controller alone.
#[test]
fn a_dc_dc_charger_from_the_bank_is_its_load() {
    let p = dc_dc(("BUS", "CH6"), ("CH6", "SB"));
    let r = evaluate(&p);
    near("in", amps(&r, "W90"), 80.0 / 12.0, 1e-9);
    near("out", amps(&r, "W91"), 5.0, 1e-9);
    let alone = evaluate(&dc_dc(("SB", "CH6"), ("CH6", "BUS")));
    // Towards the bank: 80 W at the end of its line from 13.2 V.
    let input = amps(&alone, "W90").expect("known");
    assert!(input > 80.0 / 13.2 && input < 80.0 / 12.0, "{input}");
    near("out", amps(&alone, "W91"), 5.0, 1e-9);
    let with_load = amps(&r, "W3").expect("known");
    let without = amps(&evaluate(&sound()), "W3").expect("known");
    assert!((with_load - without - 80.0 / 12.0).abs() < 1e-6, "{with_load} {without}");
    assert!(found(&r, "charges-start-battery").len() == 1, "{}", texts(&r));
    assert_eq!(of_charger(&r, "CH6"), Vec::<String>::new(), "{}", texts(&r));
    // What it pushes does not count against what the bank takes: 52 A of the controller and 5 A over 55.
    let small = [("bank.parallel", n(1.0)), ("bank.max_charge_a", n(55.0))];
    assert!(!says(&evaluate(&with(&p, &small)), "charge-over-limit", "bank"));
    assert!(says(&evaluate(&with(&dc_dc(("SB", "CH6"), ("CH6", "BUS")), &small)), "charge-over-limit", "bank"));
    // One run drawn the other way round says nothing: from the engine it charges the bank, as most do.
    let mixed = evaluate(&dc_dc(("CH6", "SB"), ("CH6", "BUS")));
    assert!(found(&mixed, "charges-start-battery").is_empty(), "{}", texts(&mixed));
}

/// A blade of 15 A at the start battery's own post, for a radio alone.
pub(super) fn radio(family: &str, more: &str) -> Plan {
    let p = insert(&sound(), "devices", &format!(r#"(id: "SB", kind: "start battery"{more})"#));
    let p = insert(&p, "loads", r#"(id: "L9", name: "radio", watts_w: 60.0, hours_day: 2.0)"#);
    insert(&p, "runs", &run("W92", ("SB", "L9"), "from", family, 15.0))
}

fn fault(p: &Plan) -> Figure<f64> {
    let r = evaluate(p);
    let run = r.runs.iter().find(|x| x.id.as_str() == "W92").expect("drawn").fuses[0].fault_a.clone();
    run.map(|a| a.0)
}

/// ABYC E-11 by cold cranking amps: 3 kA for the usual 800, 1.5 kA up to 650, 5 kA over 1100; without those 12.6 V over 4 mohm
/// at 100 Ah: of 12 Ah 33.3 mohm, 378 A. A blade opens 1 kA, a single-bolt link 10 kA.
#[test]
fn a_fuse_at_a_start_battery_opens_that_ones_fault() {
    let opens = |p: &Plan| !says(&evaluate(p), "interrupt-below-fault", "runs.W92");
    let blade = |more: &str| radio("ISO 8820-3 C", more);
    near("usual", fault(&blade("")), 3000.0, 1e-9);
    near("650 CCA", fault(&blade(", cca_a: 650.0")), 1500.0, 1e-9);
    near("1200 CCA", fault(&blade(", cca_a: 1200.0")), 5000.0, 1e-9);
    near("12 Ah", fault(&blade(", unit_ah: 12.0")), 12.6 / 0.004 / 100.0 * 12.0, 1e-9);
    near("its maker's", fault(&blade(", short_circuit_a: 900.0")), 900.0, 1e-9);
    near("lithium", fault(&blade(r#", chemistry: "LFP""#)), 20_000.0, 1e-9);
    assert!(!opens(&blade("")) && !opens(&blade(", cca_a: 650.0")), "{}", texts(&evaluate(&blade(""))));
    assert!(
        opens(&blade(", unit_ah: 12.0"))
            && opens(&with(&radio("ISO 8820-6", ""), &[("runs.W92.protection.F1.amps_a", n(30.0))]))
    );
    is_curable(&blade(""), "interrupt-below-fault", "runs.W92");
    let text = found(&evaluate(&blade("")), "interrupt-below-fault")[0].text();
    assert!(text.contains("usual cold cranking amps"), "{text}");
    // What nobody knows is not checked; nor what a trailer's own battery for its brakes drives.
    let asked = evaluate(&blade(r#", cca_a: "?""#));
    assert!(waits(&asked, "interrupt-below-fault", "devices.SB.cca_a"), "{:?}", asked.not_checked);
    let brakes = with(&blade(""), &[("loads.L9.life_safety", word("yes"))]);
    assert!(waits(&evaluate(&brakes), "interrupt-below-fault", "devices.SB.cca_a"), "{}", texts(&evaluate(&brakes)));
    let brakes = with(&blade(", unit_ah: 12.0"), &[("loads.L9.life_safety", word("yes"))]);
    let r = evaluate(&brakes);
    assert!(r.not_checked.iter().all(|w| w.check != "interrupt-below-fault"), "{:?}", r.not_checked);
    // A chassis return hides nothing of a fault at the fuse itself.
    let chassis = with(&blade(""), &[("runs.W92.return_path", word("chassis"))]);
    assert!(!opens(&chassis), "{}", texts(&evaluate(&chassis)));
}

/// The bank's own figure is another: two of 700 CCA ask for 5 kA by the table, the start battery of 800 for 3 kA.
#[test]
fn what_is_said_of_its_fault_is_its_own_figure() {
    let lead = [
        ("bank.chemistry", word("AGM")),
        ("bank.unit_v", n(12.0)),
        ("bank.ohmic_mohm", Value::Nothing),
        ("bank.cca_a", n(700.0)),
    ];
    let far = with(&radio("ISO 8820-3 C", ""), &lead);
    let far = with(&far, &[("runs.W92.protection.F1.distance_m", n(0.1))]);
    let text = found(&evaluate(&far), "interrupt-below-fault").iter().map(|f| f.text()).collect::<Vec<_>>().join("; ");
    assert!(text.contains("3.0 kA") && !text.contains("5.0 kA"), "{text}");
}

/// By hand: the audit has 60 W x 8 h of the bank, and the radio's 60 W x 2 h = 120 Wh stand apart; with a run from the bank's
/// panel they are its own.
#[test]
fn loads_of_a_start_battery_are_not_the_banks() {
    let p = radio("UL 248-15 T", "");
    let bank = with(&p, &[("runs.W92.from", id("FP"))]);
    let plain = evaluate(&sound());
    let (r, other) = (evaluate(&p), evaluate(&bank));
    let day = |r: &Report| r.loads.wh_day[0].clone().map(|wh| wh.0);
    near("the bank's", day(&r), day(&plain).expect("known"), 1e-12);
    near("with it", day(&other), day(&plain).expect("known") + 120.0, 1e-9);
    assert_eq!(r.loads.together, plain.loads.together);
    assert_eq!(r.loads.surge.clone().map(|s| s.watts), plain.loads.surge.clone().map(|s| s.watts));
    assert_eq!(r.year.unmet_pct, plain.year.unmet_pct);
    assert_eq!(r.year.stored_kwh, plain.year.stored_kwh);
    assert_ne!(other.year.stored_kwh, plain.year.stored_kwh);
    let apart = r.loads.apart.clone().expect("said apart");
    assert_eq!(apart.loads.iter().map(|id| id.as_str()).collect::<Vec<_>>(), ["L9"]);
    near("apart", apart.seasons.summer_wh_day.map(|wh| wh.0), 120.0, 1e-9);
    let said = found(&r, "loads-on-start-battery");
    assert!(said.len() == 1 && said[0].text().contains("L9"), "{}", texts(&r));
    assert!(other.loads.apart.is_none() && found(&other, "loads-on-start-battery").is_empty());
    // A winch of 3 kW there is no matter of the packs' limit of 270 A.
    let winch = |p: &Plan| with(p, &[("loads.L9.watts_w", n(3000.0))]);
    assert!(!says(&evaluate(&winch(&p)), "discharge-over-limit", "bank"));
    assert!(says(&evaluate(&winch(&bank)), "discharge-over-limit", "bank"));
}

/// An inverter on the start battery, and what hangs on it: neither its idle watts nor its loads are the bank's.
#[test]
fn an_inverter_of_a_start_battery_takes_its_loads_along() {
    let ac = insert(&sound(), "loads", r#"(id: "L9", watts_w: 100.0, hours_day: 3.0, supply: "inverter")"#);
    let p = insert(&ac, "devices", r#"(id: "SB", kind: "start battery")"#);
    let p = with(&p, &[("runs.W5.from", id("SB"))]);
    let r = evaluate(&p);
    near("DC alone", r.loads.wh_day[0].clone().map(|wh| wh.0), 480.0, 1e-9);
    assert!(r.loads.together.is_ok() && r.year.unmet_pct.is_ok(), "{:?} {:?}", r.loads.together, r.year.unmet_pct);
    assert!(!says(&r, "inverter-without-run", "inverters.INV"), "{}", texts(&r));
    // On the bank 300 Wh through 88 % and 20 W all day come on top.
    near("all", evaluate(&ac).loads.wh_day[0].clone().map(|wh| wh.0), 480.0 + 300.0 / 0.88 + 480.0, 1e-9);
}

/// Jumpers in the bank's own box and the starter cable have no fuse (NEC 552.10(E) names battery circuits; common practice
/// leaves both bare); a winch on the same cable wants one.
#[test]
fn jumpers_and_the_starter_cable_are_silent() {
    let bare = |id: &str, from: &str, to: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2/0 AWG", legs: [(id: "L1", length_m: 1.0,
                insulation_c: 105.0, state: "existing")])"#
        )
    };
    let jumper = insert(&sound(), "runs", &bare("W94", "BK", "BK"));
    let r = evaluate(&jumper);
    assert!(!says(&r, "source-end-unfused", "runs.W94"), "{}", texts(&r));
    assert!(found(&r, "run-to-itself").iter().all(|f| f.level == Level::Note), "{}", texts(&r));
    let on = |name: &str| {
        let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
        let p = insert(&p, "loads", &format!(r#"(id: "L9", name: "{name}", watts_w: 1800.0, hours_day: 0.01)"#));
        says(&evaluate(&insert(&p, "runs", &bare("W95", "SB", "L9"))), "source-end-unfused", "runs.W95")
    };
    assert!(!on("starter motor") && !on("Engine starter"));
    assert!(on("winch") && on("starter battery heater") && on("starter relay"));
    assert!(on("no starter") && on("fridge starter") && on("step starter motor"));
    // On a bus a run from and to it is no jumper.
    let itself = insert(&sound(), "runs", &bare("W96", "BUS", "BUS"));
    assert!(says(&evaluate(&itself), "run-to-itself", "runs.W96"));
}

/// A DC-DC charger of 20 A behind a tow connector over 12 m of 10 AWG, with or without what is known of its line.
fn towed(more: &str, metres: f64) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "TOW", kind: "tow connector")"#);
    let charger = format!(r#"(id: "CH2", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.4{more})"#);
    let p = insert(&p, "chargers", &charger);
    let line = format!(
        r#"(id: "W90", from: "TOW", to: "CH2", gauge: "10 AWG", legs: [(id: "L1", length_m: {metres:?}, insulation_c: 90.0)])"#
    );
    insert(&insert(&p, "runs", &line), "runs", &run("W91", ("CH2", "BUS"), "to", "UL 248-15 T", 25.0))
}

fn unknown(r: &Report, field: &str) -> bool {
    r.unknown.iter().any(|path| path.as_str() == field)
}

/// By V^2 - V E + P R = 0: 20 A x 14.4 V / 0.90 = 320 W from 13.2 V over 24 m of 10 AWG at 60 C. NEC chapter 9, table 8: 4.07
/// ohm a km at 75 C, at 60 C 1 + 0.00323 x (60 - 75) of it, 3.87: 93 mohm. Then 10.2 V reach it, over 1 m 13.0 V.
#[test]
fn a_tow_line_says_what_reaches_its_charger_and_what_nobody_knows() {
    let r = evaluate(&towed("", 12.0));
    let ohm = 24.0 * 0.00407 * (1.0 + 0.00323 * (60.0 - 75.0));
    let volts = (13.2 + (13.2_f64 * 13.2 - 4.0 * 320.0 * ohm).sqrt()) / 2.0;
    let f = found(&r, "dc-dc-input-low");
    assert!(f.len() == 1 && f[0].level == Level::Note, "{}", texts(&r));
    assert!((f[0].n(0) / volts - 1.0).abs() < 0.03, "{} {volts}", f[0].n(0));
    for field in ["input_cutout_v", "alternator", "alternator_low_v"] {
        assert!(unknown(&r, &format!("chargers.CH2.{field}")), "{field}: {:?}", r.unknown);
    }
    assert!(says(&r, "line-ahead-of-tow", "chargers.CH2"), "{}", texts(&r));
    assert!(found(&evaluate(&towed("", 1.0)), "dc-dc-input-low").is_empty());
    // Known to run on with less, and what stands at the plug measured: nothing to say of either.
    let known = evaluate(&towed(", input_cutout_v: 9.0, alternator_low_v: 13.2", 12.0));
    assert!(found(&known, "dc-dc-input-low").is_empty() && found(&known, "line-ahead-of-tow").is_empty());
    assert!(!unknown(&known, "chargers.CH2.input_cutout_v") && !unknown(&known, "chargers.CH2.alternator_low_v"));
    // Its line loses 3 V of 12 V, which no target judges: a word of it; over 1 m, 0.2 V and 4 V above where it stops, none.
    let sags = |more: &str, metres: f64| {
        let r = evaluate(&towed(more, metres));
        found(&r, "dc-dc-input-sags").first().map(|f| (f.level, f.n(0), f.n(4)))
    };
    let (level, reaches, pct) = sags(", input_cutout_v: 9.0", 12.0).expect("a note");
    assert!(level == Level::Note && (reaches / volts - 1.0).abs() < 0.03, "{reaches} {volts}");
    assert!((pct - (13.2 - reaches) / 12.0 * 100.0).abs() < 1e-6 && pct > 10.0, "{pct}");
    assert_eq!(sags(", input_cutout_v: 9.0", 1.0), None);
    // 13.0 V, 0.3 V above where it stops.
    assert!(sags(", input_cutout_v: 12.7", 1.0).is_some_and(|(_, _, pct)| pct < 10.0));
    // One that stops at 11 V drops out.
    assert!(says(&evaluate(&towed(", input_cutout_v: 11.0", 12.0)), "dc-dc-drops-out", "chargers.CH2"));
}

/// Each with what it brings up.
pub(super) fn raised() -> Vec<(&'static str, Plan)> {
    vec![
        ("charges-start-battery", maintained("SB")),
        ("charge-volts-high", with(&maintained("SB"), &[("chargers.CH5.absorb_v", n(15.2))])),
        ("dc-dc-input-low", towed("", 12.0)),
        ("dc-dc-input-sags", towed(", input_cutout_v: 9.9, alternator_low_v: 13.2", 12.0)),
        ("line-ahead-of-tow", towed("", 12.0)),
        ("loads-on-start-battery", radio("UL 248-15 T", "")),
    ]
}

/// Kirchhoff: a controller led to the inverter's studs sends its 52 A over the inverter's wire, as a charger there does.
#[test]
fn a_controller_on_the_inverters_studs_is_reckoned() {
    let p = with(&sound(), &[("runs.W2.to", id("INV"))]);
    let r = evaluate(&p);
    near("its own run", amps(&r, "W2"), amps(&evaluate(&sound()), "W2").expect("known"), 1e-9);
    assert!(found(&r, "controller-without-run").is_empty(), "{}", texts(&r));
    let said = found(&r, "meets-at-terminals");
    assert!(said.len() == 1 && said[0].text().contains("taken as one post"), "{}", texts(&r));
    assert!(r.not_checked.iter().all(|w| w.waits_for != "runs".into()), "{:?}", r.not_checked);
}

/// Bank, inverter, maintainer, start battery, and from there a DC-DC charger back to the bank: the same loop with a battery in it.
#[test]
fn what_a_dc_dc_charger_takes_on_from_the_start_battery_is_a_loop() {
    let p = maintained("SB");
    assert!(found(&evaluate(&p), "inverter-feeds-charger").is_empty());
    let charger = r#"(id: "CH6", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 28.4)"#;
    let p = insert(&p, "chargers", charger);
    let p = insert(&p, "runs", &run("W41", ("SB", "CH6"), "from", "UL 248-15 T", 70.0));
    let p = insert(&p, "runs", &run("W42", ("CH6", "BUS"), "to", "UL 248-15 T", 30.0));
    let r = evaluate(&p);
    let f = found(&r, "inverter-feeds-charger");
    assert!(f.len() == 1 && f[0].level == Level::Stop && f[0].name(0) == "CH5", "{}", texts(&r));
}

/// An interlock on the engine's own battery: of that 800 A of cold cranking are usual, so a blade of 1 kA at its post is a stop. On a
/// trailer's own battery, which cranks nothing, nobody knows.
#[test]
fn an_engines_battery_stays_one_with_an_interlock_on_it() {
    let interlock = r#"(id: "L9", name: "slide interlock", watts_w: 10.0, hours_day: 0.1, life_safety: "yes")"#;
    let of = |engine: bool| {
        let p = insert(&truck(), "loads", interlock);
        let p = insert(&p, "runs", &run("W44", ("SB", "L9"), "from", "ISO 8820-3 C", 15.0));
        if !engine {
            return p;
        }
        let p =
            insert(&p, "devices", r#"(id: "ALT", kind: "alternator", state: "existing", ratings: (amps_a: 100.0))"#);
        insert(&p, "runs", &run("W45", ("ALT", "SB"), "to", "UL 248-15 T", 150.0))
    };
    let stops = |p: &Plan| {
        let r = evaluate(p);
        (says(&r, "interrupt-below-fault", "runs.W44"), waits(&r, "interrupt-below-fault", "devices.SB.cca_a"))
    };
    assert_eq!(stops(&of(true)), (true, false), "{}", texts(&evaluate(&of(true))));
    assert_eq!(stops(&of(false)), (false, true), "{}", texts(&evaluate(&of(false))));
}

/// A 24 V bank tied to a battery of 12 V by its own label: volts that differ, as where its rating says so.
#[test]
fn a_start_batterys_own_volts_are_held_to_the_banks() {
    let p = insert(&truck(), "devices", r#"(id: "ISO", kind: "isolator")"#);
    let p = insert(&p, "runs", &run("W41", ("SB", "ISO"), "from", "UL 248-15 T", 30.0));
    let p = insert(&p, "runs", &run("W42", ("ISO", "BUS"), "to", "UL 248-15 T", 30.0));
    for field in ["devices.SB.unit_v", "devices.SB.ratings.volts_dc_v"] {
        let r = evaluate(&with(&p, &[(field, n(12.0))]));
        assert!(says(&r, "batteries-unlike-volts", "devices.SB"), "{field}: {}", texts(&r));
    }
}

/// A lithium start battery in air of -12 C, where lithium takes no charge below 0 C: as of the bank, what is none prevents nothing,
/// and what nobody has read off is not checked. By hand a cube of 12.8 V x 100 Ah at 100 kWh/m3 loses 3 W/m2K x 6 x 0.234^2 m2 =
/// 0.985 W/K: 1 W holds it 1 K warmer, 30 W anything up to the thermostat.
#[test]
fn a_lithium_start_battery_charged_in_the_cold_is_a_stop() {
    let of = |more: &str| {
        let battery = format!(r#"(id: "SB", kind: "start battery", state: "existing"{more})"#);
        insert(&sound(), "devices", &battery)
    };
    let level = |more: &str| {
        let r = evaluate(&of(more));
        let f: Vec<_> = r.findings.iter().filter(|f| f.check.id == "lithium-charged-cold").collect();
        assert!(f.iter().all(|f| f.subject.as_str() == "devices.SB" && f.text().starts_with("SB: ")), "{}", texts(&r));
        f.first().map(|f| f.level)
    };
    let waits = |more: &str, field: &str| waits(&evaluate(&of(more)), "lithium-charged-cold", field);
    let lfp = r#", chemistry: "LFP", unit_v: 12.8"#;
    assert_eq!(level(lfp), Some(Level::Stop));
    for right in ["", r#", chemistry: "AGM""#] {
        assert_eq!(level(right), None, "{right}");
    }
    for (more, is) in [
        (", charge_cutoff_c: 0.0", None),
        (", charge_cutoff_c: -5.0", Some(Level::Stop)),
        (", charge_cutoff_c: -20.0", Some(Level::Stop)),
        (r#", heated: "yes""#, None),
        (", unit_ah: 100.0, heater_w: 1.0", Some(Level::Stop)),
        (", unit_ah: 100.0, heater_w: 30.0", None),
    ] {
        assert_eq!(level(&format!("{lfp}{more}")), is, "{more}");
    }
    let r = evaluate(&of(&format!("{lfp}, unit_ah: 100.0, heater_w: 1.0")));
    near("held", Ok(found(&r, "lithium-charged-cold")[0].n(0)), -12.0 + 1.0 / 0.985, 0.01);
    for (more, field) in [
        (r#", chemistry: "?""#.to_string(), "chemistry"),
        (format!(r#"{lfp}, charge_cutoff_c: "?""#), "charge_cutoff_c"),
        (format!(r#"{lfp}, heater_w: "?""#), "heater_w"),
        (format!(r#"{lfp}, heated: "?""#), "heated"),
        (format!("{lfp}, heater_w: 30.0"), "unit_ah"),
    ] {
        assert!(waits(&more, &format!("devices.SB.{field}")), "{more}");
    }
    assert!(evaluate(&of("")).not_checked.is_empty());
    for (more, name) in [("", "AGM"), (", charge_cutoff_c: -5.0", "no charge below")] {
        let steps = cures(&of(&format!("{lfp}{more}")), "lithium-charged-cold", "devices.SB");
        assert!(
            steps.iter().any(|s| s.name.contains(name)),
            "{more}: {:?}",
            steps.iter().map(|s| &s.name).collect::<Vec<_>>()
        );
    }
}

/// Chosen as lithium, nobody has read off its cut-off yet: that is not none.
#[test]
fn a_start_battery_chosen_as_lithium_asks_for_its_cut_off() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let chosen = |chemistry: &'static str| {
        let edit = Edit::Set { at: "devices.SB.chemistry".into(), to: Value::Word(chemistry) };
        p.with(&with_cold_cut_off(&p, Step::one("", edit))).expect("applies")
    };
    assert!(waits(&evaluate(&chosen("LFP")), "lithium-charged-cold", "devices.SB.charge_cutoff_c"));
    let agm = chosen("AGM");
    assert_eq!(agm.devices.iter().find(|d| d.id.as_str() == "SB").and_then(|d| d.charge_cutoff_c), None);
}

/// 120 W of a 12 V battery over 2 m of 10 AWG and back: 10 A over 4 m of 3.9 mohm/m at 20 C (NEC Chapter 9, Table 8, 1.24 ohm/kft at
/// 75 C, is 4.07) are 0.16 V and the fuse's 0.06 V at its rating of 15 A; with no return drawn it is counted there and back as well.
#[test]
fn a_start_batterys_run_loses_volts_both_ways() {
    let p = insert(&truck(), "loads", r#"(id: "L9", name: "work light", watts_w: 120.0, hours_day: 1.0)"#);
    let of = |path: &str| {
        let p = insert(&p, "runs", &run("W44", ("SB", "L9"), "from", "UL 248-15 T", 15.0));
        let p = with(&p, &[("runs.W44.return_path", word(if path == "pair" { "pair" } else { "none" }))]);
        let r = evaluate(&p);
        let run = r.runs.iter().find(|r| r.id.as_str() == "W44").expect("run");
        (run.drop_v.clone().expect("drop").0, run.drop_at_a.clone().expect("amps").0)
    };
    let ((both_v, amps), (none_v, _)) = (of("pair"), of("none"));
    let wire_v = amps * 4.0 * 0.0039;
    let fuse_v = 0.06 * amps / 15.0;
    assert!((both_v - fuse_v - wire_v).abs() < 0.15 * wire_v, "{both_v} V at {amps} A");
    assert_eq!(both_v, none_v);
}
