//! Plans that bring up what no field of a whole coach spoilt alone does, each with the kind of finding it is meant for.

use super::mistakes::{insert, sound, with, word};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn text(s: &str) -> Value {
    Value::Text(s.into())
}

fn gauge(s: &str) -> Value {
    Value::Gauge(s.parse().expect("gauge"))
}

fn named(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("a sample").text).unwrap_or_else(|e| panic!("{e}"))
}

fn without(p: &Plan, at: &str) -> Plan {
    p.with(&Step::one("out", Edit::Remove { at: FieldPath::new(at) })).expect("there")
}

const OTHER: &str = r#"(id: "P2", pmax_w: 100.0, vmp_v: 18.0, imp_a: 5.56, voc_v: 22.0, isc_a: 6.0, cells: 36.0,
    alpha_pct_k: 0.05, beta_pct_k: -0.28, series_fuse_a: 15.0, weight_kg: 7.0)"#;

fn panels() -> Vec<(&'static str, Plan)> {
    let both = insert(&sound(), "panels", OTHER);
    let mixed = with(&both, &[("arrays.A1.strings", text("P1+P2"))]);
    let nearly = [
        ("panels.P2.vmp_v", n(20.8)),
        ("panels.P2.imp_a", n(9.7)),
        ("panels.P2.voc_v", n(24.9)),
        ("panels.P2.isc_a", n(10.3)),
        ("panels.P2.pmax_w", n(202.0)),
    ];
    let three = [("arrays.A1.strings", text("1S3P P1")), ("runs.W1.gauge", gauge("6 AWG"))];
    let three = with(&sound(), &three);
    let fuse =
        r#"(id: "F2", at: "from", family: "IEC 60269-6 gPV", amps_a: 15.0, volts_dc_v: 1000.0, distance_m: 0.1)"#;
    let unit = r#"(kind: "air conditioner", x_m: 3.3, y_m: 0.2, l_m: 0.7, w_m: 0.6, h_m: 0.09, serviced: "yes")"#;
    let other = r#"(id: "C2", kind: "tracking", max_pv_v: 250.0, max_pv_a: 60.0, out_a: 52.0, run_headroom_v: 1.0,
        start_headroom_v: 5.0, absorb_v: 14.2)"#;
    let controllers = insert(&sound(), "controllers", other);
    let twin =
        r#"(id: "W9", from: "A1", to: "C2", gauge: "8 AWG", legs: [(id: "L1", length_m: 7.0, insulation_c: 90.0)])"#;
    vec![
        ("array-below-bank", with(&sound(), &[("bank.unit_v", n(25.6)), ("arrays.A1.strings", text("1S1P P1"))])),
        ("array-feeds-two-controllers", insert(&controllers, "runs", twin)),
        ("array-controller-differs", with(&controllers, &[("arrays.A1.controller", id("C2"))])),
        ("panels-on-bank", with(&sound(), &[("runs.W1.to", id("BK"))])),
        ("label-power-apart", with(&sound(), &[("panels.P1.pmax_w", n(100.0))])),
        ("label-cells-unlikely", with(&sound(), &[("panels.P1.cells", n(72.0))])),
        ("label-beta-not-met", with(&sound(), &[("panels.P1.beta_pct_k", n(-0.6))])),
        ("label-gamma-not-used", with(&sound(), &[("panels.P1.gamma_pct_k", n(-0.8))])),
        ("label-volts-unlikely", with(&sound(), &[("bank.unit_v", n(2.0))])),
        ("label-power-over-area", with(&sound(), &[("panels.P1.length_m", n(0.5)), ("panels.P1.width_m", n(0.5))])),
        (
            "load-outlasts-inverter",
            with(
                &sound(),
                &[
                    ("loads.L1.supply", word("inverter")),
                    ("loads.L1.hours_day", n(9.0)),
                    ("inverters.INV.idle_h_day", n(4.0)),
                ],
            ),
        ),
        ("load-past-day", with(&sound(), &[("loads.L1.hours_day", n(24.0)), ("loads.L1.summer_factor", n(3.0))])),
        ("tilt-not-counted", with(&sound(), &[("arrays.A1.mount", word("glued")), ("stays.ST1.tilt_deg", n(20.0))])),
        ("feet-tilted", with(&sound(), &[("stays.ST1.tilt_deg", n(20.0))])),
        ("series-fuse-unknown", with(&three, &[("panels.P1.series_fuse_a", Value::Unknown)])),
        ("service-way-blocked", insert(&sound(), "roof.obstacles", unit)),
        ("string-fuse-missing", three.clone()),
        ("string-fuse-rating", insert(&three, "runs.W1.protection", fuse)),
        ("string-leads-unshared", super::string_leads::one(3, "10 AWG", "")),
        ("string-fuse-wrong-end", super::string_place::four("14 AWG", "from", 0.1)),
        ("unlike-panels-loss", with(&with(&both, &nearly), &[("arrays.A1.strings", text("P1+P2"))])),
        ("unlike-panels", mixed),
    ]
}

/// A coach whose inverter goes off while its bank stands above the cut-off: the lowest volts at which it does.
fn cut_off() -> Plan {
    let of = |volts: f64| with(&named("larkspur"), &[("bank.unit_ah", n(60.0)), ("inverters.INV.cutoff_v", n(volts))]);
    let volts = (0..15).map(|i| 11.6 + 0.1 * f64::from(i));
    volts.map(of).find(|p| !super::found(&super::evaluate(p), "inverter-cuts-off").is_empty()).expect("one goes off")
}

fn stays() -> Vec<(&'static str, Plan)> {
    let second = r#"(id: "ST2", latitude_deg: 40.0, longitude_deg: -106.0, months: "6 7 8")"#;
    let both = insert(&sound(), "stays", second);
    let north = [
        ("stays.ST1.latitude_deg", n(78.0)),
        ("stays.ST1.longitude_deg", n(15.0)),
        ("stays.ST1.sun_kwh_m2_day", text("0 0.1 1 3 5 5.5 4.5 2.5 1 0.2 0 0")),
    ];
    let sunny = [("stays.ST1.sun_kwh_m2_day", text("2.2 3.0 4.3 5.4 6.1 6.9 6.6 5.9 5.0 3.8 2.6 15.0"))];
    let plains = [("stays.ST1.latitude_deg", n(47.0)), ("stays.ST1.longitude_deg", n(-100.0))];
    vec![
        ("charge-lost-to-cold", with(&named("bramble"), &plains)),
        (
            "cold-bank-gives-less",
            with(&named("bramble"), &[("stays.ST1.mean_c", text("-12 -9 1 5 9 15 19 19 14 9 1 -9"))]),
        ),
        ("coldest-above-stays", with(&named("thistle"), &[("job.coldest_c", n(25.0))])),
        ("cold-days-not-in-year", with(&named("bramble"), &[("bank.charge_cutoff_c", n(-6.0))])),
        ("clock-off-longitude", with(&named("bramble"), &[("stays.ST1.clock_h", n(5.0))])),
        ("driving-unknown", with(&named("marram"), &[("stays.ST1.drive_h_day", Value::Unknown)])),
        ("driving-without-charger", with(&named("bramble"), &[("stays.ST1.drive_h_day", n(2.0))])),
        ("inverter-cuts-off", cut_off()),
        ("inverter-of-load-unknown", super::two_inverters::two(false)),
        ("inverter-cut-off-left-out", super::two_inverters::unknown_way()),
        ("inverter-restart-volts", with(&named("larkspur"), &[("inverters.INV.restart_v", n(9.0))])),
        ("medical-not-served", with(&named("larkspur"), &[("bank.unit_ah", n(20.0))])),
        ("month-without-sun", with(&sound(), &north)),
        ("months-without-stay", with(&both, &[("stays.ST1.months", text("9 10 11 12 1 2"))])),
        ("months-in-two-stays", both),
        ("shortfall", with(&named("larkspur"), &[("bank.unit_ah", n(20.0))])),
        ("sun-above-air", with(&named("bramble"), &sunny)),
    ]
}

fn runs() -> Vec<(&'static str, Plan)> {
    let own = |reason: &str| {
        let reason = ("runs.W5.override_reason", text(reason));
        with(&sound(), &[("runs.W5.design_override_a", n(120.0)), reason])
    };
    let run = |name: &str, from: &str, to: &str| {
        format!(
            r#"(id: "{name}", from: "{from}", to: "{to}", gauge: "12 AWG", legs: [(id: "L1", length_m: 2.0,
                insulation_c: 105.0)])"#
        )
    };
    let fused = |name: &str, from: &str, to: &str| {
        let fuse = r#", protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.1)])"#;
        run(name, from, to).strip_suffix(')').expect("a run").to_string() + fuse
    };
    let engine = super::alternators::dc_dc(60.0);
    let on_24 = super::misdrawn::on_24;
    let inverter = with(&sound(), &[("loads.L1.supply", word("inverter"))]);
    let hot = [
        ("runs.W6.gauge", gauge("8 AWG")),
        ("runs.W6.legs.L1.insulation_c", n(125.0)),
        ("runs.W6.legs.L1.ambient_c", n(100.0)),
    ];
    let long = [("runs.W21.gauge", gauge("8 AWG")), ("runs.W21.legs.L1.length_m", n(14.0))];
    let thin = [
        ("runs.W10.gauge", gauge("4 AWG")),
        ("runs.W10.legs.L1.zone", word("engine bay")),
        ("devices.ALT.ratings.amps_a", n(150.0)),
    ];
    let bundled = [
        ("runs.W6.design_override_a", n(55.0)),
        ("runs.W6.override_reason", text("measured")),
        ("runs.W6.legs.L1.insulation_c", n(75.0)),
        ("runs.W6.legs.L1.laid", word("open")),
        ("runs.W6.legs.L1.bundled", n(7.0)),
    ];
    let two_in_one = [("inverters.INV.ratings.wires_each", n(1.0)), ("runs.W5.legs.L1.per_pole", n(2.0))];
    let stud = |s: &str| with(&sound(), &[("inverters.INV.ratings.stud", text(s))]);
    vec![
        ("alternator-not-found", with(&engine, &[("chargers.CH.alternator", id("ZZ"))])),
        ("batteries-unlike-volts", super::other_sources::unlike()),
        ("ampacity-without-column", with(&sound(), &hot)),
        ("converter-over-limit", with(&on_24(), &[("loads.L1.watts_w", n(300.0))])),
        ("converter-two-feeds", insert(&on_24(), "runs", &run("W12", "BUS", "FP"))),
        ("current-overridden", own("measured")),
        ("current-overridden-without-reason", own("")),
        ("dc-dc-drops-out", with(&engine, &long)),
        ("device-below-fuse", with(&sound(), &[("devices.SW.ratings.amps_a", n(110.0))])),
        ("alternator-overdrawn", engine),
        ("load-on-controller", insert(&sound(), "runs", &run("W8", "C1", "L1"))),
        ("loads-without-run", without(&without(&sound(), "runs.W6"), "devices.FP")),
        ("lug-not-usual", stud("M5")),
        ("makers-lead", with(&super::lines::factory(false), &thin)),
        ("other-basis-ampacity", with(&sound(), &bundled)),
        ("terminals-not-counted", super::uncapped::panel_of("marine", n(60.0), 90.0)),
        ("charge-limit-unknown", with(&sound(), &[("bank.max_charge_a", Value::Nothing), ("bank.parallel", n(1.0))])),
        ("start-battery-volts-unlikely", with(&super::starts::truck(), &[("devices.SB.unit_v", n(7.0))])),
        ("panel-below-fuse", with(&sound(), &[("devices.FP.ratings.amps_a", n(30.0))])),
        ("poles-joined", insert(&sound(), "runs", &run("W21", "BK", "CHS"))),
        ("posts-joined", insert(&sound(), "runs", &run("W21", "BK", "BK-"))),
        ("rails-joined", insert(&on_24(), "runs", &fused("W11", "BUS", "L1"))),
        ("run-on-ac", insert(&inverter, "runs", &run("W21", "INV", "L1"))),
        ("terminal-does-not-take", with(&sound(), &[("inverters.INV.ratings.largest_wire", gauge("2/0 AWG"))])),
        ("terminal-does-not-take", with(&sound(), &two_in_one)),
        ("uneven-battery-leads", three_leads(3.0)),
        (
            "battery-lead-fed-by-others",
            with(&three_leads(0.6), &["runs.X1.gauge", "runs.X2.gauge", "runs.X3.gauge"].map(|x| (x, gauge("1 AWG")))),
        ),
        ("uneven-battery-links", super::battery_links::linked("links with leads at one end", "2/0 AWG", 0.3)),
        ("battery-link-below-current", super::battery_links::linked("links with leads at corners", "8 AWG", 0.2)),
        ("battery-link-below-fuse", super::battery_links::linked("links with leads at corners", "4 AWG", 0.2)),
        ("source-behind-converter", super::beyond::with_charger(25.6, 13.6)),
        ("volts-behind-converter", super::beyond::with_charger(25.6, 28.4)),
        ("batteries-joined-twice", with(&three_leads(0.6), &[("bank.joined", word("links with leads at one end"))])),
    ]
}

fn places() -> Vec<(&'static str, Plan)> {
    let hot = [("bank.ratings.max_ambient_c", n(50.0)), ("bank.zone", word("engine bay"))];
    let flooded = [
        ("bank.chemistry", word("flooded")),
        ("bank.vented", word("yes")),
        ("bank.parallel", n(1.0)),
        ("bank.unit_v", n(12.0)),
        ("bank.unit_ah", n(225.0)),
        ("bank.vent_area_cm2", n(20.0)),
        ("bank.zone", word("battery box")),
        ("inverters.INV.zone", word("battery box")),
    ];
    vec![
        ("ambient-over-insulation", with(&sound(), &[("runs.W6.legs.L1.ambient_c", n(95.0))])),
        ("ambient-over-insulation", with(&sound(), &[("runs.W6.legs.L1.insulation_c", n(50.0))])),
        ("device-too-hot", with(&sound(), &hot)),
        ("device-too-hot", with(&sound(), &[("bank.zone", word("exhaust"))])),
        (
            "measured-below-copper",
            with(&sound(), &[("runs.W6.return_path", word("chassis")), ("runs.W6.measured_ohm", n(0.0))]),
        ),
        ("sparks-by-battery", with(&sound(), &flooded)),
        ("vents-small", with(&sound(), &flooded)),
    ]
}

/// Three batteries, each on its own 4/0 lead to the bus, the third so many metres long, the others 0.6 m.
pub(super) fn three_leads(length: f64) -> Plan {
    let mut p = sound();
    for name in ["X1", "X2", "X3"] {
        let m = if name == "X3" { length } else { 0.6 };
        let run = format!(
            r#"(id: "{name}", from: "BK", to: "SW", gauge: "4/0 AWG",
            legs: [(id: "L1", length_m: {m:?}, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1)])"#
        );
        p = insert(&p, "runs", &run);
    }
    p.runs.retain(|r| r.id.as_str() != "W3");
    p
}

fn charging() -> Vec<(&'static str, Plan)> {
    let unsensed = with(&named("sorrel"), &[("controllers.C1.temp_sense", word("no"))]);
    let of_system = with(&named("bramble"), &[("bank.unit_v", n(48.0)), ("bank.max_charge_v", Value::Nothing)]);
    let other = with(&named("sorrel"), &[("controllers.C1.temp_comp_mv_k", n(-60.0))]);
    vec![("compensation-not-at-bank", unsensed), ("compensation-unusual", other), ("cells-by-label", of_system)]
}

/// What is drawn and cannot be meant so.
fn contradicted() -> Vec<(&'static str, Plan)> {
    let to_load =
        r#"(id: "W9", from: "FP", to: "L1", gauge: "10 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 90.0)])"#;
    let to_posts =
        r#"(id: "W9", from: "CH", to: "INV", gauge: "4 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
    let charger = r#"(id: "CH", kind: "shore", out_a: 40.0, efficiency_pct: 88.0, absorb_v: 14.2)"#;
    let of = |value: f64| format!(r#"(id: "drop-inverter", value: {value}, reason: "agreed")"#);
    let mut twice = insert(&sound(), "rules", &of(3.0));
    let mut second = twice.rules.clone();
    second.iter_mut().for_each(|change| change.value = coachwire::plan::Known::Is(coachwire::units::Number(4.0)));
    twice.rules.append(&mut second);
    vec![
        ("load-drawn-on-dc", with(&insert(&sound(), "runs", to_load), &[("loads.L1.supply", word("inverter"))])),
        ("meets-at-terminals", insert(&insert(&sound(), "chargers", charger), "runs", to_posts)),
        ("rule-changed-twice", twice),
        ("shunt-without-run", insert(&sound(), "devices", r#"(id: "SH", kind: "shunt")"#)),
    ]
}

/// Each with what it brings up.
pub(super) fn raised() -> Vec<(&'static str, Plan)> {
    [
        panels(),
        stays(),
        runs(),
        places(),
        charging(),
        contradicted(),
        super::below_cut_off::raised(),
        super::starts::raised(),
        super::start_batteries::raised(),
        super::crossed_leads::raised(),
        super::told_apart::raised(),
    ]
    .concat()
}
