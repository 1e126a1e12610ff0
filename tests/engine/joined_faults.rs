//! A fault is fed by every battery that reaches its place: start batteries that an isolator joins to the bus too.

use super::cures::is_curable;
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::Report;
use coachwire::plan::{Plan, Value};

/// Ohms of so many metres of copper at 20 C, by NEC Chapter 9 Table 8 reduced by 234.5 + T: 4/0 AWG 0.0499, 2/0 AWG 0.0793 ohm
/// per 1000 ft.
fn ohm(per_1000_ft: f64, metres: f64) -> f64 {
    metres / 304.8 * per_1000_ft
}

/// The sound plan with a start battery joined to its bus by an isolator, 0.4 and 0.5 m of 2/0 AWG, fused at both ends.
fn joined() -> Plan {
    let mut p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    p = insert(&p, "devices", r#"(id: "ISO", kind: "isolator")"#);
    for (id, from, to, at, m) in [("X1", "SB", "ISO", "from", 0.4), ("X2", "ISO", "BUS", "to", 0.5)] {
        let run = format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2/0 AWG", legs: [(id: "L1", length_m: {m:?}, insulation_c: 105.0)],
            protection: [(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1)])"#
        );
        p = insert(&p, "runs", &run);
    }
    p
}

fn fault_a(r: &Report, run: &str) -> f64 {
    let run = r.runs.iter().find(|x| x.id.as_str() == run).expect("run");
    run.fuses[0].fault_a.clone().expect("known").0
}

/// What several sources drive through ohms that they share (Millman's theorem).
fn together(sources: &[(f64, f64)], shared: f64) -> f64 {
    let siemens: f64 = sources.iter().map(|(_, ohm)| 1.0 / ohm).sum();
    sources.iter().map(|(volts, ohm)| volts / ohm).sum::<f64>() / (1.0 + shared * siemens)
}

/// By hand: three packs of 3 mohm at 13.3 V with 0.9 m of 4/0 there and back; a start battery of 800 CCA, 3 kA by the table of
/// ABYC E-11, at 12.8 V with 0.9 m of 2/0 there and back; both through 0.1 m of 4/0 up to the inverter's fuse.
#[test]
fn a_start_battery_on_the_bus_feeds_a_fault_there() {
    let (bank, start) = (0.001 + ohm(0.0499, 1.8), 12.8 / 3000.0 + ohm(0.0793, 1.8));
    let up_to = ohm(0.0499, 0.1);
    let (r, alone) = (evaluate(&joined()), evaluate(&sound()));
    near("bank alone", Ok(fault_a(&alone, "W5")), 13.3 / (bank + up_to), 0.01);
    near("both", Ok(fault_a(&r, "W5")), together(&[(13.3, bank), (12.8, start)], up_to), 0.01);
    assert!(fault_a(&r, "W5") > 1.2 * fault_a(&alone, "W5"));
    // At the main fuse the bank drives what it did: the start battery comes from the other side, with less.
    near("main", Ok(fault_a(&r, "W3")), fault_a(&alone, "W3"), 1e-9);
    // At the start battery's own fuse the larger side is the bank, through all of the line but its first 0.1 m.
    let from_bus = bank + ohm(0.0793, 2.0 * 0.5 + 2.0 * 0.3);
    near("line", Ok(fault_a(&r, "X1")), 13.3 / from_bus, 0.01);
}

/// A switch in each lead of three batteries takes nothing off the wire, and adds nothing to the fault: 20 kA taken of the whole bank
/// behind three leads of 0.6 m of 4/0 beside each other, there and back, 0.3 m more and 0.1 m up to the fuse. With any of them open it
/// is less (Rayleigh's monotonicity), so that all closed is what each fuse is held to.
#[test]
fn a_switch_in_each_lead_leaves_the_assumed_fault_as_it_is() {
    let whole = super::explained_raised::three_leads(0.6);
    let mut whole = with(&whole, &[("bank.ohmic_mohm", Value::Nothing), ("bank.short_circuit_a", Value::Nothing)]);
    whole.runs.iter_mut().filter(|r| r.id.as_str().starts_with('X')).for_each(|r| r.protection[0].interrupt_a = None);
    let mut cut = whole.clone();
    for k in 1..=3 {
        cut = insert(
            &cut,
            "devices",
            &format!(r#"(id: "S{k}", kind: "switch", ratings: (amps_a: 200.0, volts_dc_v: 48.0))"#),
        );
        let rest = format!(
            r#"(id: "Y{k}", from: "S{k}", to: "SW", gauge: "4/0 AWG", legs: [(id: "L1", length_m: 0.2, insulation_c: 105.0)])"#
        );
        cut = insert(&cut, "runs", &rest);
        let (to, length) = (format!("runs.X{k}.to"), format!("runs.X{k}.legs.L1.length_m"));
        let id = Value::Id(format!("S{k}").parse().expect("id"));
        cut = with(&cut, &[(to.as_str(), id), (length.as_str(), Value::Number(0.4))]);
    }
    let ahead = 13.3 / 20_000.0 + ohm(0.0499, 1.2) / 3.0 + ohm(0.0499, 0.6) + ohm(0.0499, 0.1);
    let (a, b) = (fault_a(&evaluate(&whole), "W5"), fault_a(&evaluate(&cut), "W5"));
    near("by hand", Ok(a), 13.3 / ahead, 0.01);
    near("with switches", Ok(b), a, 1e-9);
}

/// Beyond a wire that both go over, both count behind it: 2 m of 6 AWG, 0.402 ohm per 1000 ft at 20 C, to the panel.
#[test]
fn what_both_go_over_is_counted_once() {
    let (bank, start) = (0.001 + ohm(0.0499, 1.8), 12.8 / 3000.0 + ohm(0.0793, 1.8));
    let branch = r#"(id: "W20", from: "FP", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.0)])"#;
    let r = evaluate(&insert(&joined(), "runs", branch));
    near("branch", Ok(fault_a(&r, "W20")), together(&[(13.3, bank), (12.8, start)], ohm(0.402, 4.0)), 0.01);
}

/// A load on the start battery itself, fused there: that battery's 3 kA, and the bank over the isolator.
#[test]
fn the_bank_feeds_a_fault_at_the_start_battery() {
    let p = insert(&joined(), "loads", r#"(id: "L9", name: "horn", watts_w: 60.0, hours_day: 0.1)"#);
    let branch = r#"(id: "W20", from: "SB", to: "L9", gauge: "12 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.0)])"#;
    let r = evaluate(&insert(&p, "runs", branch));
    let bank = 0.001 + ohm(0.0499, 1.8) + ohm(0.0793, 1.8);
    near("at it", Ok(fault_a(&r, "W20")), 3000.0 + 13.3 / bank, 0.01);
}

/// A fuse that opens the bank's fault with its margin, and not that of both: a stop with the isolator, and none without it.
#[test]
fn a_fuse_that_opens_the_bank_alone_is_not_enough() {
    let opens = |p: Plan| with(&p, &[("runs.W5.protection.F1.interrupt_a", Value::Number(12_500.0))]);
    let (wrong, right) = (opens(joined()), opens(sound()));
    assert!(says(&evaluate(&wrong), "interrupt-below-fault", "runs.W5"), "{}", texts(&evaluate(&wrong)));
    is_curable(&wrong, "interrupt-below-fault", "runs.W5");
    assert!(found(&evaluate(&right), "interrupt-below-fault").is_empty(), "{}", texts(&evaluate(&right)));
    // Nor where the isolator is out.
    let out = opens(with(&joined(), &[("devices.ISO.state", word("removed"))]));
    assert!(!says(&evaluate(&out), "interrupt-below-fault", "runs.W5"), "{}", texts(&evaluate(&out)));
}

/// What nobody knows of the line is never taken as no fault: it waits, where the fuse does not open all there could be.
#[test]
fn a_line_of_unknown_length_waits() {
    let open = with(&joined(), &[("runs.X2.legs.L1.length_m", Value::Unknown)]);
    let weak = with(&open, &[("runs.W5.protection.F1.interrupt_a", Value::Number(12_500.0))]);
    let waits = |p: &Plan| {
        let r = evaluate(p);
        r.not_checked.iter().any(|x| x.check == "interrupt-below-fault" && x.subject.as_str() == "runs.W5")
    };
    assert!(waits(&weak) && !waits(&open));
}

/// Two leads with their negatives on the shunt: drawn from there or to there they are the same wire. By hand a lead's negative
/// of 5 m for 0.5 m loses its battery's part of the current in 4.5 m more of 2/0 AWG at the wire's warmth.
#[test]
fn a_batterys_own_negative_to_the_shunt_counts_in_drop_as_in_fault() {
    let packs = |end: &str, metres: f64| {
        let mut p = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 500.0))"#);
        p = insert(&p, "devices", r#"(id: "BB", kind: "bus")"#);
        let id = |text: &str| Value::Id(text.parse().expect("id"));
        p = with(
            &p,
            &[("bank.parallel", Value::Number(2.0)), ("runs.W3.from", id("BB")), ("runs.W3.return_path", word("none"))],
        );
        p = with(&p, &[("runs.W4.negative_from", id("SHN")), ("runs.W7.from", id("SHN"))]);
        p.runs.iter_mut().find(|r| r.id.as_str() == "W3").expect("main").protection.clear();
        for i in 1..=2 {
            let lead = format!(
                r#"(id: "B{i}", from: "BK", to: "BB", gauge: "2/0 AWG", {end}: "SHN", negative_length_m: {metres:?}, legs: [(id: "L1",
                length_m: 0.5, insulation_c: 105.0)], protection: [(id: "F1", at: "from", family: "UL 248-15 T",
                amps_a: 110.0, distance_m: 0.1)])"#
            );
            p = insert(&p, "runs", &lead);
        }
        evaluate(&p)
    };
    let path = |r: &Report| {
        let run = r.runs.iter().find(|r| r.id.as_str() == "W5").expect("run");
        run.path_drop_v.clone().expect("drop").0
    };
    let (from, to, far) = (packs("negative_from", 0.5), packs("negative_to", 0.5), packs("negative_from", 5.0));
    near("one drawing", Ok(path(&from)), path(&to), 1e-9);
    near("one fault", Ok(fault_a(&from, "W5")), fault_a(&to, "W5"), 1e-9);
    let lead = far.runs.iter().find(|r| r.id.as_str() == "B1").expect("lead");
    let (amps, at_c) = (lead.drop_at_a.clone().expect("amps").0, lead.wire_c.clone().expect("warmth").0);
    let more = amps * ohm(0.0793, 4.5) * (234.5 + at_c) / 254.5;
    near("far negative", Ok(path(&far) - path(&from)), more, 0.03);
    assert!(found(&from, "shunt-bypass").is_empty(), "{}", texts(&from));
}

/// A second wire from the switch to the bus, like the first: 0.3 m of 4/0.
fn doubled(p: &Plan) -> Plan {
    let beside = r#"(id: "W4B", from: "SW", to: "BUS", gauge: "4/0 AWG", legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#;
    insert(p, "runs", beside)
}

/// Behind a loop all batteries drive a fault by all ways at once. By hand, three packs of 3 mohm at 13.3 V over 0.6 m of 4/0 and two
/// of 0.3 m side by side, there and back, a start battery of 3 kA by the table over 0.9 m of 2/0; 0.1 m of 4/0 to the inverter's
/// fuse. Over the bus, and straight from the post.
#[test]
fn behind_a_loop_every_battery_counts_by_all_ways() {
    let (main, half) = (ohm(0.0499, 1.2), ohm(0.0499, 0.6) / 2.0);
    let start = 12.8 / 3000.0 + ohm(0.0793, 1.8);
    let up_to = ohm(0.0499, 0.1);
    let r = evaluate(&doubled(&joined()));
    near("at the bus", Ok(fault_a(&r, "W5")), together(&[(13.3, 0.001 + main + half), (12.8, start)], up_to), 0.01);
    // The isolator's line ends on the bank's post: both share the main and the two wires.
    let at_post = with(&doubled(&joined()), &[("runs.X2.to", Value::Id("BK".parse().expect("id")))]);
    let both = together(&[(13.3, 0.001), (12.8, start)], main + half + up_to);
    near("at the post", Ok(fault_a(&evaluate(&at_post), "W5")), both, 0.01);
    // A start battery never takes from a fault.
    assert!(both > fault_a(&evaluate(&doubled(&sound())), "W5"));
}

/// On the loop itself, each wire with the start battery on the far side of it: a fuse at the bus end of one of the two wires is
/// fed by the start battery straight and by the bank over the other wire; 0.1 m of 4/0 lead up to it.
#[test]
fn on_a_loop_the_start_battery_feeds_its_own_end() {
    let fuse = r#"(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1)"#;
    let r = evaluate(&insert(&doubled(&joined()), "runs.W4B.protection", fuse));
    let bank = 0.001 + ohm(0.0499, 1.2) + ohm(0.0499, 0.6);
    let start = 12.8 / 3000.0 + ohm(0.0793, 1.8);
    near("at its end", Ok(fault_a(&r, "W4B")), together(&[(13.3, bank), (12.8, start)], ohm(0.0499, 0.1)), 0.01);
}

/// The sound plan on lead: a bank of so many cold cranking amps in one battery, and a start battery as told.
fn by_table(cca: f64, start: &str) -> Plan {
    let p = with(&joined(), &[("bank.chemistry", word("AGM")), ("bank.ohmic_mohm", Value::Nothing)]);
    let p = with(&p, &[("bank.parallel", Value::Number(1.0)), ("bank.cca_a", Value::Number(cca))]);
    let horn = insert(&p, "loads", r#"(id: "L9", name: "horn", watts_w: 60.0, hours_day: 0.1)"#);
    let branch = r#"(id: "W20", from: "SB", to: "L9", gauge: "12 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.0)])"#;
    let mut p = insert(&horn, "runs", branch);
    let device = p.devices.iter_mut().find(|d| d.id.as_str() == "SB").expect("SB");
    let amps = |x: &str| Some(coachwire::plan::Known::Is(coachwire::units::Amps(x.parse().expect("amps"))));
    match start.split_once(' ') {
        Some(("cca", x)) => device.cca_a = amps(x),
        Some((_, x)) => device.short_circuit_a = amps(x),
        None => {}
    }
    p
}

/// ABYC E-11: to 650 cold cranking amps 1.5 kA, to 1100 3 kA, above 5 kA, of all batteries connected. Two of 300 are 600: no more
/// than 1.5 kA is asked, at the bus as at the start battery. A maker's own figure is no row: it adds to the bank's.
#[test]
fn by_the_table_no_more_is_asked_than_the_row_of_all() {
    let of = |p: Plan| {
        let r = evaluate(&p);
        (fault_a(&r, "W5"), fault_a(&r, "W20"))
    };
    let (bus, start) = of(by_table(300.0, "cca 300"));
    near("bus", Ok(bus), 1500.0, 1e-9);
    near("start", Ok(start), 1500.0, 1e-9);
    let (bank, line) = (12.8 / 1500.0 + ohm(0.0499, 1.8), ohm(0.0793, 1.8));
    let (bus, start) = of(by_table(300.0, "maker 1500"));
    let branches = [(12.8, bank), (12.8, 12.8 / 1500.0 + line)];
    near("bus, maker's", Ok(bus), together(&branches, ohm(0.0499, 0.1)), 0.01);
    near("start, maker's", Ok(start), 1500.0 + 12.8 / (bank + line), 0.01);
    assert!(bus > 1500.0 && start > 1500.0, "{bus} {start}");
}
