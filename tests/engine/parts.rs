//! Mistake 24, parts forgotten: the list that the drawing makes, what it is counted by, and a price that has nothing for it.

use super::mistakes::{caught, insert, sound, with, word};
use super::{evaluate, found, texts};
use coachwire::engine::parts::SmallParts;
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Plan, Value};
use coachwire::standards::lug::Stud;
use coachwire::stock::Stock;
use coachwire::wording::parts::small_parts;

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn text(s: &str) -> Value {
    Value::Text(s.into())
}

/// The sound plan with the studs of bank, bus and inverter entered.
fn studded() -> Plan {
    with(
        &insert(&sound(), "money.tasks", r#"(id: "T1", name: "all of it", hours_h: 8.0)"#),
        &[
            ("bank.ratings.stud", text("M8")),
            ("devices.BUS.ratings.stud", text("3/8")),
            ("inverters.INV.ratings.stud", text("5/16")),
        ],
    )
}

/// Counted by hand from the sound plan's drawing: pairs end with two conductors, W7 with one. On the bus W2, W4, W5, W6 and W7; at the
/// bank W3; at the inverter W5. The ends at controller, switch, panel and chassis have no stud entered; the array's has
/// connectors. Each fuse away from a terminal, as well the breaker of W1, cuts its positive: two ends more. Trade practice: two lugs and one fuse of each size to spare, a tube of sealant for 8 to 12 feet and one for the entry.
#[test]
fn m24_the_list_is_made_from_the_drawing() {
    let parts = SmallParts::of(&studded());
    let gauge = |text: &str| Some(text.parse().expect("gauge"));
    let of = |g: &str, stud: Option<Stud>| {
        parts.ends.iter().find(|(of, _)| *of == (gauge(g), stud)).map_or(0, |(_, count)| *count)
    };
    assert_eq!(of("4/0 AWG", Some(Stud::ThreeEighths)), 2 + 2 + 1, "W4, W5, W7 on the bus: {parts:?}");
    assert_eq!(of("4/0 AWG", Some(Stud::FiveSixteenths)), 2 + 2, "W3 at the bank, W5 at the inverter");
    assert_eq!((of("2 AWG", Some(Stud::ThreeEighths)), of("6 AWG", Some(Stud::ThreeEighths))), (2, 2));
    assert_eq!(
        (of("4/0 AWG", None), of("8 AWG", None), of("2 AWG", None), of("6 AWG", None)),
        (2 + 2 + 1 + 2 * 2, 2 + 2, 2 + 2, 2 + 2)
    );
    assert_eq!((parts.lugs(), parts.open_ends()), (13, 11 + 5 * 2));
    assert_eq!((parts.glands(), parts.cables()), (1, Ok(2)), "W1, both poles");
    assert_eq!((parts.feet.clone(), parts.tubes()), (Some(Ok(16.0)), Ok(2 + 1)), "four panels on four feet");
    // 70, 150 twice, 40 A of one family; the breaker of W1 is reset.
    assert_eq!(parts.spare_fuses(), 3);
    let lines = small_parts(&studded());
    for said in [
        "7 lugs 4/0 AWG for 3/8 (M10): 5 at ends of new wire, 2 to spare",
        "9 ends of 4/0 AWG on terminals without a stud entered: lug or ferrule ?",
        "adhesive heat-shrink: a piece on each lug, 13",
        "1 roof gland, where W1 comes in: 2 conductors",
        "3 tubes of sealant of 10 oz, made for this skin: 1 for each 8 of 16 mounting feet, 1 for the cable entry",
        "spare fuses, one of each: 150 A UL 248-15 T, 70 A UL 248-15 T, 40 A UL 248-15 T",
    ] {
        assert!(lines.iter().any(|l| l == said), "{said}\n{lines:#?}");
    }
}

/// What is there already, and what is glued, wants none; a second run through the roof comes in by the same gland; a negative that is
/// said to end elsewhere has the stud of that place; what nobody has entered is left open.
#[test]
fn what_is_there_wants_no_parts() {
    let there: Vec<(String, Value)> = (1..=7).map(|i| (format!("runs.W{i}.legs.L1.state"), word("existing"))).collect();
    let there: Vec<(&str, Value)> = there.iter().map(|(at, to)| (at.as_str(), to.clone())).collect();
    let wired = with(&studded(), &there);
    // New fuses in wire that is there cut it; one on a terminal does not, nor one in a panel.
    let parts = SmallParts::of(&wired);
    assert_eq!((parts.lugs(), parts.open_ends(), parts.glands()), (0, 5 * 2, 0), "{parts:?}");
    let fused = [1, 2, 3, 5, 6].map(|i| format!("runs.W{i}.protection.F1"));
    let at_post = with(&wired, &[(&format!("{}.distance_m", fused[2]), n(0.0))]);
    assert_eq!(SmallParts::of(&at_post).open_ends(), 4 * 2);
    let branch = r#"(id: "W8", from: "FP", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 3.0, state: "existing")],
        protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.03)])"#;
    assert_eq!(SmallParts::of(&insert(&wired, "runs", branch)).open_ends(), 5 * 2);
    let states: Vec<String> = fused.iter().map(|f| format!("{f}.state")).collect();
    let states: Vec<(&str, Value)> = states.iter().map(|at| (at.as_str(), word("existing"))).collect();
    let parts = SmallParts::of(&with(&wired, &states));
    assert!(parts.ends.is_empty() && parts.glands() == 0, "{parts:?}");
    let glued = SmallParts::of(&with(&studded(), &[("arrays.A1.mount", word("glued"))]));
    assert_eq!((glued.feet.clone(), glued.tubes()), (None, Ok(1)), "the entry alone");
    let unsaid = SmallParts::of(&with(&studded(), &[("roof.feet_per_panel", Value::Unknown)]));
    assert_eq!(unsaid.tubes().map_err(|m| m.0.to_string()), Err("roof.feet_per_panel".into()));
    let open = with(&studded(), &[("runs.W5.gauge", Value::Unknown), ("runs.W5.protection.F1.amps_a", Value::Unknown)]);
    let parts = SmallParts::of(&open);
    assert!(parts.ends.contains(&((None, Some(Stud::FiveSixteenths)), 2)), "{parts:?}");
    assert!(parts.fuses.contains(&(None, 1)), "{parts:?}");
    let bar = insert(&studded(), "devices", r#"(id: "NB", kind: "bus", ratings: (stud: "1/4"))"#);
    let parts = SmallParts::of(&with(&bar, &[("runs.W6.negative_from", Value::Id("NB".parse().expect("id")))]));
    let six = |stud| parts.ends.iter().find(|(of, _)| *of == (Some("6 AWG".parse().expect("gauge")), Some(stud)));
    assert_eq!(six(Stud::ThreeEighths).map(|x| x.1), Some(1), "{parts:?}");
    assert_eq!(six(Stud::Quarter).map(|x| x.1), Some(1), "{parts:?}");
}

/// A price that is begun and has nothing for them is told, with the counts of the list; an amount, or that it is still to be found, is
/// an answer. Trade practice: the list is made from the drawing, not by hand.
#[test]
fn m24_a_price_without_small_parts() {
    let right = with(&studded(), &[("money.consumables", n(90.0))]);
    let r = caught("24", &studded(), &right, Level::Note, "small-parts-not-priced", "money.consumables");
    let f = found(&r, "small-parts-not-priced")[0];
    assert_eq!(f.numbers, [13.0, 21.0, 1.0, 3.0, 3.0]);
    let said = "13 lugs, 21 ends of unknown stud, 1 roof gland, 3 tubes of sealant, 3 spare fuses";
    assert!(f.text().contains(said), "{}", f.text());
    super::cures::is_curable(&studded(), "small-parts-not-priced", "money.consumables");
    let mut engine = Engine::default();
    let report = engine.evaluate(&studded(), &Stock::default());
    let lines = engine.explain(&studded(), &report, f).join("\n");
    assert!(lines.contains("13 ends on studs of known size and 21 on others"), "{lines}");
    let asked = with(&studded(), &[("money.consumables", Value::Unknown)]);
    assert!(found(&evaluate(&asked), "small-parts-not-priced").is_empty());
    // Nobody asks for a price where none is made.
    assert!(found(&evaluate(&sound()), "small-parts-not-priced").is_empty(), "{}", texts(&evaluate(&sound())));
}

/// 24 again: the rate of labour alone is entered, the panels are glued and their run is there already: no gland, no sealant, but lugs and fuses.
#[test]
fn m24_a_price_of_wire_alone() {
    let glued = [
        ("arrays.A1.mount", word("glued")),
        ("arrays.A1.state", word("existing")),
        ("controllers.C1.state", word("existing")),
        ("runs.W1.legs.L1.state", word("existing")),
        ("devices.BUS.ratings.stud", text("3/8")),
        ("money.labour_rate", n(120.0)),
    ];
    let wrong = with(&sound(), &glued);
    let right = with(&wrong, &[("money.consumables", n(0.0))]);
    let r = caught("24", &wrong, &right, Level::Note, "small-parts-not-priced", "money.consumables");
    let f = found(&r, "small-parts-not-priced")[0];
    // On the bus 9 of 22 ends, as the controller's own two of W1 are there, and two at each of five fuses and breakers.
    assert_eq!(f.numbers, [9.0, 23.0, 0.0, 0.0, 3.0], "{}", f.text());
    assert!(!f.text().contains("gland") && !f.text().contains("sealant"), "{}", f.text());
}
