//! What terminals take: two smaller conductors in place of a large one, how many lie in one terminal, lugs and studs.

use super::mistakes::{insert, with};
use super::plan;
use super::samples::SOUND;
use coachwire::engine::ladder::Fit;
use coachwire::engine::sizing::Make;
use coachwire::engine::{Engine, LadderOf, Level, Report, Rung};
use coachwire::plan::{Known, Plan, State};
use coachwire::standards::conductor::{Gauge, area_mm2};
use coachwire::stock::{Lug, Spool, Stock};
use coachwire::units::{Celsius, Metres, Number, Watts};

fn gauge(text: &str) -> Gauge {
    text.parse().expect("gauge")
}

fn wires(p: &Plan, stock: &Stock) -> Report {
    Engine::default().evaluate_wires(p, stock)
}

/// 2500 W on 12 V: 1/0 AWG is all that the inverter's terminals take, and alone it is too thin.
fn heavy() -> Plan {
    let mut p = plan(SOUND);
    p.inverters[0].watts_w = Known::Is(Watts(2500.0));
    p.inverters[0].ratings.largest_wire = Some(Known::Is(gauge("1/0 AWG")));
    p.inverters[0].ratings.wires_each = Some(Known::Is(Number(2.0)));
    p.runs[4].legs[0].length_m = Known::Is(Metres(1.5));
    p
}

fn rows(p: &Plan) -> Vec<Rung> {
    Engine::default().ladder(p, &Stock::default(), &LadderOf::Gauge(p.runs[4].id.clone()))
}

fn pair(rungs: &[Rung]) -> &Rung {
    rungs.iter().find(|r| r.name() == "2 x 1/0 AWG").unwrap_or_else(|| panic!("no pair among {}", rungs.len()))
}

#[test]
fn two_conductors_where_the_terminal_takes_none_so_thick() {
    let p = heavy();
    let rungs = rows(&p);
    let row = pair(&rungs);
    let with = p.with(&row.step).expect("applies");
    assert_eq!(with.runs[4].legs[0].per_pole.known(), Some(&Number(2.0)));
    let one = rungs.iter().find(|r| r.name() == "1/0 AWG").and_then(Rung::gauge).expect("one").clone();
    let two = row.gauge().expect("two");
    // Four conductors lie there then: NEC 310.17, 1/0 AWG at 90 C 260 A, air at 40 C x 0.91, four to six in a bundle x 0.80
    // (310.15(C)(1)); of one the terminals take 230 A, at 75 C.
    let amps = |f: &coachwire::plan::Figure<coachwire::units::Amps>| f.clone().expect("known").0;
    assert!((amps(&one.ampacity_a) - 230.0).abs() < 0.5, "{:?}", one.ampacity_a);
    assert!((amps(&two.ampacity_a) - 2.0 * 260.0 * 0.91 * 0.80).abs() < 0.5, "{:?}", two.ampacity_a);
    assert_eq!(with.runs[4].legs[0].bundled.known(), Some(&Number(4.0)));
    assert!(row.weight_kg.clone().expect("kg") > 1.9 * area_mm2(gauge("1/0 AWG")) * 8.89 * 3.0 / 1000.0);
    let four = rungs.iter().find(|r| r.name() == "4/0 AWG").expect("4/0");
    assert!(matches!(&four.fit, Fit::No(why) if why == "the terminals do not take it"), "{:?}", four.fit);

    let s = Engine::default().select(&p, &Stock::default(), &p.runs[4].id).expect("known");
    assert_eq!((s.gauge, s.per_pole), (gauge("1/0 AWG"), 2), "{s:?}");
    let sized = p.with(&Engine::default().size_all(&p, &Stock::default(), false)).expect("applies");
    let run = &sized.runs[4];
    assert_eq!((run.gauge.known(), run.legs[0].per_pole.known()), (Some(&gauge("1/0 AWG")), Some(&Number(2.0))));
    assert!(!wires(&sized, &Stock::default()).findings.iter().any(|f| f.check.id == "conductor-below-current"));
}

/// Two conductors in each pole of a pair are four in the bundle, whatever was entered for one: behind the refrigerator, at
/// 55 C, NEC 310.17 has 260 A for 1/0 AWG at 90 C, x 0.76 for the air (310.15(B)(1)), x 0.80 for four (310.15(C)(1)), twice:
/// 316 A, so that 400 A is too much and 350 A the next standard rating above (240.4(B), 240.6(A)). By 33 CFR 183.425 four to
/// six carry x 0.60.
#[test]
fn conductors_in_parallel_lie_in_one_bundle() {
    let at = |bundled: f64, pairs: bool, fuse: f64| {
        let mut p = heavy();
        let run = &mut p.runs[4];
        run.gauge = Known::Is(gauge("1/0 AWG"));
        let leg = &mut run.legs[0];
        (leg.per_pole, leg.bundled) = (Known::Is(Number(2.0)), Known::Is(Number(bundled)));
        leg.ambient_c = Some(Known::Is(Celsius(55.0)));
        if !pairs {
            run.return_path = coachwire::plan::wiring::Return::Chassis;
        }
        run.protection[0].amps_a = Known::Is(coachwire::units::Amps(fuse));
        p
    };
    let amps = |p: &Plan| wires(p, &Stock::default()).runs[4].ampacity_a.clone().expect("known").0;
    for entered in [1.0, 2.0, 4.0] {
        assert!(
            (amps(&at(entered, true, 350.0)) - 316.2).abs() < 0.5,
            "{entered}: {}",
            amps(&at(entered, true, 350.0))
        );
    }
    // Nine in the bundle: x 0.70, as entered. One pole alone has two in it: no factor.
    assert!((amps(&at(9.0, true, 350.0)) - 276.6).abs() < 0.5);
    assert!((amps(&at(2.0, false, 350.0)) - 395.2).abs() < 0.5);
    let over = |p: &Plan| {
        let r = wires(p, &Stock::default());
        r.findings.iter().any(|f| f.check.id == "fuse-above-conductor" && f.subject.as_str() == "runs.W5")
    };
    assert!(over(&at(2.0, true, 400.0)));
    assert!(!over(&at(2.0, true, 350.0)));
    let said = wires(&at(2.0, true, 400.0), &Stock::default());
    let found = said.findings.iter().find(|f| f.check.id == "fuse-above-conductor").expect("over");
    let working =
        coachwire::engine::worked(&at(2.0, true, 400.0), &said.runs[4].id).expect("there").legs.expect("known");
    assert_eq!((working[0].case.bundled, working[0].fewer_bundled), (4, Some(2)), "{found:?}");
    let as_entered = coachwire::engine::worked(&at(4.0, true, 400.0), &said.runs[4].id).expect("there").legs;
    assert_eq!(as_entered.expect("known")[0].fewer_bundled, None);
}

/// Too thin alone, and too thick for the terminal: both are cured by two of the size that it takes.
#[test]
fn two_conductors_cure() {
    for (now, check) in [("1/0 AWG", "conductor-below-current"), ("4/0 AWG", "terminal-does-not-take")] {
        let mut p = heavy();
        p.runs[4].gauge = Known::Is(gauge(now));
        p.runs[4].protection[0].amps_a = Known::Is(coachwire::units::Amps(300.0));
        let r = Engine::default().evaluate(&p, &Stock::default());
        let found = r.findings.iter().find(|f| f.check.id == check && f.subject.as_str() == "runs.W5");
        let cures = Engine::default().cures(&p, &Stock::default(), found.expect("found"));
        assert!(cures.iter().any(|s| s.name == "W5: 2 x 1/0 AWG"), "{now}: {cures:?}");
        for step in &cures {
            let after = wires(&p.with(step).expect("applies"), &Stock::default());
            assert!(!after.findings.iter().any(|f| f.check.id == "terminal-does-not-take"), "{step:?}");
        }
    }
}

#[test]
fn two_are_not_taken_where_a_terminal_takes_one() {
    let mut p = heavy();
    p.inverters[0].ratings.wires_each = Some(Known::Is(Number(1.0)));
    let rungs = rows(&p);
    assert_eq!(pair(&rungs).fit, Fit::No("INV takes 1 in one terminal".into()));
    let s = Engine::default().select(&p, &Stock::default(), &p.runs[4].id);
    assert!(s.is_none_or(|s| s.per_pole == 1));
    p.runs[4].gauge = Known::Is(gauge("1/0 AWG"));
    p.runs[4].legs[0].per_pole = Known::Is(Number(2.0));
    let r = wires(&p, &Stock::default());
    let said = r.findings.iter().find(|f| f.check.id == "terminal-does-not-take").expect("said").text();
    assert_eq!(said, "W5: INV does not take 2 x 1/0 AWG in one terminal");
}

#[test]
fn two_are_asked_about_where_nobody_said() {
    let mut p = heavy();
    p.inverters[0].ratings.wires_each = None;
    let asks = "whether INV takes 2 in one terminal is not known";
    assert_eq!(pair(&rows(&p)).fit, Fit::Unknown(asks.into()));
    let proposal = Engine::default().propose_sizes(&p, &Stock::default(), false);
    assert!(proposal.rows[4].why.contains(asks), "{}", proposal.rows[4].why);
    // Two lugs go on a stud.
    p.inverters[0].ratings.stud = "M10".into();
    assert!(!matches!(pair(&rows(&p)).fit, Fit::Unknown(_)));
}

/// Source: NEC 310.10: conductors in parallel are 1/0 AWG and larger.
#[test]
fn two_thin_ones_are_never_proposed() {
    let mut p = heavy();
    p.inverters[0].ratings.largest_wire = Some(Known::Is(gauge("2 AWG")));
    let rungs = rows(&p);
    assert!(rungs.iter().all(|r| r.gauge().is_some_and(|g| g.per_pole == 1)));
    let four = rungs.iter().find(|r| r.name() == "4/0 AWG").expect("4/0");
    assert!(matches!(&four.fit, Fit::No(why) if why.contains("nor two of 50 mm2 (1/0 AWG) or more")), "{:?}", four.fit);
    // The plan's own rule decides.
    p.rules.push(coachwire::plan::RuleChange {
        id: "parallel-least-mm2".parse().expect("id"),
        value: Known::Is(Number(30.0)),
        reason: "tested".into(),
    });
    let rungs = rows(&p);
    assert!(rungs.iter().any(|r| r.name() == "2 x 2 AWG"));
}

/// A negative that ends on a bar of its own: what that takes counts as the ends' terminals do.
#[test]
fn the_terminals_of_the_negative_count() {
    let ratings = r#"largest_wire: "1/0 AWG", wires_each: 2.0"#;
    let mut p = insert(&heavy(), "devices", &format!(r#"(id: "NB", kind: "bus", ratings: ({ratings}))"#));
    (p.inverters[0].ratings.largest_wire, p.inverters[0].ratings.wires_each) = (None, Some(Known::Is(Number(2.0))));
    let free = rows(&p);
    assert!(free.iter().all(|r| r.gauge().is_some_and(|g| g.per_pole == 1)));
    for end in ["negative_from", "negative_to"] {
        let to = coachwire::plan::Value::Id("NB".parse().expect("id"));
        let q = with(&p, &[(&format!("runs.W5.{end}"), to)]);
        let s = Engine::default().select(&q, &Stock::default(), &q.runs[4].id).expect("known");
        assert_eq!((s.gauge, s.per_pole), (gauge("1/0 AWG"), 2), "{end}: {s:?}");
        let rungs = rows(&q);
        let four = rungs.iter().find(|r| r.name() == "4/0 AWG").expect("4/0");
        assert!(matches!(&four.fit, Fit::No(why) if why == "the terminals do not take it"), "{end}: {:?}", four.fit);
        let sized = q.with(&Engine::default().size_all(&q, &Stock::default(), false)).expect("applies");
        let said = wires(&sized, &Stock::default()).findings;
        assert!(!said.iter().any(|f| f.check.id == "terminal-does-not-take"), "{end}");
        // NEC 110.14(C): the lowest rating of any terminal it ends on.
        let cool = with(&q, &[("devices.NB.ratings.terminal_c", coachwire::plan::Value::Number(60.0))]);
        let carries = |p: &Plan| wires(p, &Stock::default()).runs[4].ampacity_a.clone().expect("known").0;
        assert!(carries(&cool) < carries(&q), "{end}: {} {}", carries(&cool), carries(&q));
    }
}

/// So many as are drawn lie there already: another gauge of them asks nothing, and may well be the one to take.
#[test]
fn two_that_are_drawn_are_not_asked_about() {
    let mut p = heavy();
    p.inverters[0].ratings.wires_each = None;
    p.inverters[0].ratings.largest_wire = None;
    p.runs[4].legs[0].per_pole = Known::Is(Number(2.0));
    let two: Vec<Rung> = rows(&p).into_iter().filter(|r| r.gauge().is_some_and(|g| g.per_pole == 2)).collect();
    assert!(!two.is_empty());
    for row in two {
        assert!(
            !matches!(&row.fit, Fit::Unknown(why) if why.contains("in one terminal")),
            "{}: {:?}",
            row.name(),
            row.fit
        );
    }
}

#[test]
fn an_existing_leg_is_not_doubled() {
    let mut p = heavy();
    p.runs[4].legs[0].state = State::Existing;
    assert!(rows(&p).iter().all(|r| r.gauge().is_some_and(|g| g.per_pole == 1)));
    let step = Engine::default().size_all(&p, &Stock::default(), false);
    // Its fuse of 150 A is smaller than its current wants: that one is sized, the wire is not.
    let with = p.with(&step).expect("applies");
    assert_eq!((&with.runs[4].legs, &with.runs[4].gauge), (&p.runs[4].legs, &p.runs[4].gauge));
}

#[test]
fn two_take_twice_the_wire_from_the_van() {
    let p = heavy();
    let spool = |left: f64| Spool {
        gauge: Known::Is(gauge("1/0 AWG")),
        insulation_c: Known::Is(Celsius(105.0)),
        left_m: Known::Is(Metres(left)),
        ..Spool::default()
    };
    let count = |left: f64| {
        let mut stock = Stock::default();
        stock.truck.spools.push(spool(left));
        let with = p.with(&Engine::default().size_all(&p, &stock, true)).expect("applies");
        with.runs.iter().map(|r| r.legs[0].per_pole.known().expect("n").0).fold(0.0, f64::max)
    };
    assert_eq!(count(100.0), 2.0);
    // 1.5 m, two poles, two in each: 6 m.
    assert_eq!(count(5.9), 1.0);
}

fn on_stud(stud: &str) -> Plan {
    let mut p = plan(SOUND);
    p.inverters[0].ratings.stud = stud.into();
    p
}

#[test]
fn a_lug_that_is_not_usual_is_noted() {
    let of = |p: &Plan| {
        let r = wires(p, &Stock::default());
        r.findings.iter().find(|f| f.check.id == "lug-not-usual").map(|f| (f.level, f.text()))
    };
    assert_eq!(of(&on_stud("M8")), None);
    assert_eq!(of(&on_stud("a clamp")), None);
    let (level, text) = of(&on_stud("M5")).expect("4/0 on a #10 screw");
    assert_eq!(level, Level::Note);
    assert_eq!(
        text,
        "W5: lugs for 4/0 AWG are not usually made for the #10 (M5) stud of INV; usual: 5/16 (M8), 3/8 (M10), 1/2 (M12)"
    );
    // A size the table lacks says nothing.
    let mut between = on_stud("M5");
    between.runs[4].gauge = Known::Is(gauge("3/0 AWG"));
    assert_eq!(of(&between), None);
}

#[test]
fn a_thin_wire_on_a_thick_stud_is_cured_by_a_thicker_one() {
    let mut p = on_stud("1/2");
    p.inverters[0].watts_w = Known::Is(Watts(500.0));
    p.runs[4].gauge = Known::Is(gauge("2 AWG"));
    let r = Engine::default().evaluate(&p, &Stock::default());
    let found = r.findings.iter().find(|f| f.check.id == "lug-not-usual").expect("noted");
    let cures = Engine::default().cures(&p, &Stock::default(), found);
    assert!(!cures.is_empty());
    let after = wires(&p.with(&cures[0]).expect("applies"), &Stock::default());
    assert!(!after.findings.iter().any(|f| f.check.id == "lug-not-usual"));
}

/// By hand: W5 ends on one known stud, two poles, one conductor each: two lugs at 4.00, with 25 % markup.
#[test]
fn lugs_are_priced_from_the_van_and_the_others_said() {
    let mut p = on_stud("5/16-18");
    p.money.markup_pct = Some(Known::Is(Number(25.0)));
    let bare = wires(&p, &Stock::default()).price;
    assert_eq!((bare.lugs, bare.lugs_not_counted), (0, 2));
    let mut stock = Stock::default();
    let lug = |stud: &str, price: f64| Lug {
        gauge: Known::Is(gauge("4/0 AWG")),
        stud: stud.into(),
        price: Some(Known::Is(Number(price))),
        ..Lug::default()
    };
    stock.truck.lugs.extend([lug("3/8", 1.0), lug("M8", 4.0), lug("5/16", 4.5)]);
    let priced = wires(&p, &stock).price;
    assert_eq!((priced.lugs, priced.lugs_not_counted, priced.unpriced), (2, 0, bare.unpriced));
    assert!((priced.known_parts.0 - bare.known_parts.0 - 2.0 * 4.0 * 1.25).abs() < 1e-9);
    // Two in each pole: four.
    p.runs[4].legs[0].per_pole = Known::Is(Number(2.0));
    assert_eq!(wires(&p, &stock).price.lugs, 4);
    p.runs[4].legs[0].state = State::Existing;
    assert_eq!((wires(&p, &stock).price.lugs, wires(&p, &stock).price.lugs_not_counted), (0, 0));
}

#[test]
fn a_make_is_said_in_words() {
    assert_eq!(Make { gauge: gauge("2/0 AWG"), per_pole: 1 }.to_string(), "2/0 AWG");
    assert_eq!(Make { gauge: gauge("70 mm2"), per_pole: 2 }.to_string(), "2 x 70 mm2");
}

/// 1000 W through an inverter draw more than 50 A of a 12 V bank: a switch in that run must carry them.
/// Source: NEC 110.3(B): equipment within its own rating.
#[test]
fn a_switch_carries_what_its_run_brings() {
    let with = |amps: f64| {
        let mut p = plan(SOUND);
        p.devices[0].ratings.amps_a = Some(Known::Is(coachwire::units::Amps(amps)));
        wires(&p, &Stock::default())
    };
    let over = |r: &Report| {
        r.findings
            .iter()
            .find(|f| f.check.id == "device-below-current")
            .map(|f| (f.subject.to_string(), f.level, f.n(0)))
    };
    let r = with(50.0);
    let (subject, level, amps) = over(&r).expect("it is said");
    assert_eq!((subject.as_str(), level), ("devices.SW", Level::Caution));
    let design = r.runs.iter().filter(|f| ["W3", "W4"].contains(&f.id.as_str()));
    let most = design.map(|f| f.design_a.clone().expect("known").0).fold(0.0, f64::max);
    assert_eq!(amps, most);
    assert!(over(&with(most.ceil())).is_none() && over(&wires(&plan(SOUND), &Stock::default())).is_none());
}

/// 60 W behind a converter draw the same amps from 12 V whatever the bank is: on its own side a 48 V bank gives a quarter.
/// By hand at the rule's low volts: 60 W / 12 V; the fuse panel there is no 48 V circuit.
/// Source: P = V I on either side.
#[test]
fn behind_a_converter_to_12_v_volts_and_amps_are_its_own() {
    use super::mistakes::{insert, with};
    use coachwire::plan::Value;
    let drawn = insert(&plan(SOUND), "devices", r#"(id: "CV", kind: "12 V converter", efficiency_pct: 100.0)"#);
    let load = r#"(id: "W20", from: "FP", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 4.0)])"#;
    let feed = r#"(id: "W21", from: "BUS", to: "CV", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0)])"#;
    let drawn = insert(&insert(&drawn, "runs", load), "runs", feed);
    let mut behind = drawn.clone();
    behind.runs[5].from = Known::Is("CV".parse().expect("an id"));
    let answer = |p: &Plan, series: f64| {
        let edits = [("bank.series", Value::Number(series)), ("devices.FP.ratings.volts_dc_v", Value::Number(32.0))];
        wires(&with(p, &edits), &Stock::default())
    };
    let run = |r: &Report, id: &str| r.runs.iter().find(|f| f.id.as_str() == id).expect("a run").clone();
    let amps = |r: &Report, id: &str| run(r, id).design_a.expect("known").0;
    let pct = |r: &Report| run(r, "W20").path_drop_pct.expect("known");
    let low_volts = |r: &Report| r.findings.iter().filter(|f| f.check.id == "device-volts-low").count();
    let (at_12, at_48) = (answer(&behind, 1.0), answer(&behind, 4.0));
    assert!((amps(&at_48, "W20") - amps(&at_12, "W20")).abs() < 1e-9 && (amps(&at_48, "W20") - 5.0).abs() < 0.5);
    assert!((amps(&at_48, "W21") - amps(&at_12, "W21") / 4.0).abs() < 1e-9);
    // The way to the load begins at the converter: less than with the bank's own wire in it, and of 12 V.
    assert!(pct(&at_48) < pct(&at_12) && pct(&at_48) > 0.3 * pct(&at_12), "{} {}", pct(&at_48), pct(&at_12));
    // The bank's own runs stay in percent of 48 V.
    let main = run(&at_48, "W3");
    assert!((main.drop_pct.expect("known") - main.drop_v.expect("known").0 / 0.48).abs() < 1e-9);
    assert_eq!(low_volts(&at_48), 0);
    assert_eq!(low_volts(&answer(&drawn, 4.0)), 1, "on the 48 V bus it is");
}

/// An inverter made for fewer volts than its circuit reaches is no different from a bus.
/// Source: NEC 110.3(B): equipment within its own rating.
#[test]
fn inverters_and_chargers_stand_their_volts() {
    let low = |volts: f64| {
        let mut p = plan(SOUND);
        p.inverters[0].ratings.volts_dc_v = Some(Known::Is(coachwire::units::Volts(volts)));
        let r = wires(&p, &Stock::default());
        r.findings.iter().any(|f| f.check.id == "device-volts-low" && f.subject.as_str() == "inverters.INV")
    };
    assert!(low(12.0) && !low(17.0));
}
