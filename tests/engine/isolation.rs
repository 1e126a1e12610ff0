//! What opening each switch does, on whole coaches.

use coachwire::engine::{Isolation, isolation};
use coachwire::plan::Plan;
use coachwire::plan::samples::sample;

fn whole(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("sample").text).unwrap_or_else(|e| panic!("{e}"))
}

fn larkspur() -> Plan {
    whole("larkspur")
}

fn of<'a>(all: &'a [Isolation], name: &str) -> &'a Isolation {
    all.iter().find(|i| i.name == name).unwrap_or_else(|| panic!("{name} among {all:?}"))
}

fn live<'a>(i: &'a Isolation, id: &str) -> &'a str {
    i.live.iter().find(|(x, _)| x.as_str() == id).map_or_else(|| panic!("{id} in {i:?}"), |(_, why)| why.as_str())
}

fn dead(i: &Isolation, id: &str) -> bool {
    i.dead.iter().any(|x| x.as_str() == id)
}

/// The bus is held up by the panels through the controllers and by shore power; the detectors and the brakes never
/// went through the switch.
#[test]
fn main_switch_leaves_the_bus_alive_by_daylight() {
    let all = isolation(&larkspur());
    let sw = of(&all, "SW");
    assert_eq!(live(sw, "BK"), "the battery bank");
    // Pulling the shore plug at noon leaves it alive: each source is said, at each thing it holds up.
    let all_three = "the panels A1 in daylight, through C1; by the panels A2 in daylight, through C2; by CH1, if shore power is \
                     plugged in";
    for id in ["BUS", "INV", "FP", "L7"] {
        assert_eq!(live(sw, id), all_three, "{id}");
    }
    // What hangs on the bank's own post never went through the switch, but what charges the bank came to it by that.
    assert_eq!(live(sw, "L12"), "the battery bank");
    assert_eq!(live(of(&all, "W9 F1"), "L12"), "the battery bank, not through here");
    assert!(live(sw, "L13").contains("battery bank"), "{sw:?}");
    let mut p = larkspur();
    p.chargers.clear();
    let all = isolation(&p);
    let panels = "the panels A1 in daylight, through C1; by the panels A2 in daylight, through C2";
    assert_eq!(live(of(&all, "SW"), "BUS"), panels);
    // Panels that are gone hold nothing up.
    p.arrays.retain(|a| a.id.as_str() == "A2");
    assert_eq!(live(of(&isolation(&p), "SW"), "BUS"), "the panels A2 in daylight, through C2");
    p.arrays.clear();
    let all = isolation(&p);
    let sw = of(&all, "SW");
    assert!(dead(sw, "BUS") && dead(sw, "INV") && dead(sw, "FP"), "{sw:?}");
    // What the inverter feeds dies with it; what hangs on the fuse panel too.
    assert!(dead(sw, "L1") && dead(sw, "L7"), "{sw:?}");
    assert!(!dead(sw, "L12") && !dead(sw, "BK"), "{sw:?}");
}

/// Whatever reaches the bank's post reaches what hangs there (Kirchhoff's current law: one node): with its fuse open the panels are lost to the
/// detector there as to the bank. A branch of the panel takes nothing from it.
#[test]
fn what_hangs_on_the_banks_post_loses_what_the_bank_does() {
    let all = isolation(&whole("marram"));
    for opener in ["SW", "W2 F1", "W3 F1"] {
        let i = of(&all, opener);
        for id in ["BK", "AON", "L8"] {
            assert_eq!(live(i, id), "the battery bank", "{opener}");
        }
    }
    assert_eq!(live(of(&all, "W9 F1"), "L8"), "the battery bank, not through here");
}

/// What is held up by sources that come and go is what dies where they are not there; the view names them.
#[test]
fn what_is_held_up_dies_without_what_holds_it() {
    let plan = larkspur();
    let all = isolation(&plan);
    let sw = of(&all, "SW");
    let ids = |list: &[coachwire::plan::Id]| list.iter().map(ToString::to_string).collect::<Vec<_>>();
    assert!(ids(&sw.held).contains(&"BUS".to_string()), "{sw:?}");
    assert!(!ids(&sw.held).contains(&"BK".to_string()), "a battery is always there: {sw:?}");
    let said = sw.holders.join("; ");
    for source in ["the panels A1", "the panels A2", "shore power (CH1)"] {
        assert!(said.contains(source), "{source} in {said}");
    }
    // The same coach without its panels and chargers: what is left of what was held up is dead, and nothing else.
    let mut bare = plan.clone();
    bare.arrays.clear();
    bare.chargers.clear();
    let bare_all = isolation(&bare);
    for with in &all {
        let Some(without) = bare_all.iter().find(|i| i.name == with.name) else {
            // The line of a charger that is gone leads nowhere: nothing is behind its fuse.
            let on_charger = |r: &coachwire::plan::Run| {
                let ends = [&r.from, &r.to].into_iter().filter_map(|end| end.known());
                ends.into_iter().any(|end| plan.chargers.iter().any(|c| c.id == *end))
            };
            let run = plan.runs.iter().find(|r| with.name.split(' ').next() == Some(r.id.as_str()));
            assert!(run.is_some_and(on_charger), "{}", with.name);
            continue;
        };
        let is_left = |id: &String| {
            !plan.arrays.iter().any(|a| a.id.as_str() == id) && !plan.chargers.iter().any(|c| c.id.as_str() == id)
        };
        let mut expected: Vec<String> = ids(&with.dead).into_iter().chain(ids(&with.held)).filter(is_left).collect();
        // What only hung on the sources is behind nothing any more.
        let mut found = ids(&without.dead);
        expected.retain(|id| found.contains(id) || without.live.iter().any(|(x, _)| x.as_str() == id));
        expected.sort();
        found.sort();
        assert_eq!(found, expected, "{}", with.name);
        assert!(without.held.is_empty() && without.holders.is_empty(), "{without:?}");
    }
}

/// A breaker before the controller: the panels stay alive in daylight, the controller by the bank.
#[test]
fn array_breaker_leaves_both_its_sides_alive() {
    let all = isolation(&larkspur());
    let pv = of(&all, "W1 F1");
    assert_eq!(live(pv, "A1"), "the panels A1 in daylight");
    assert_eq!(live(pv, "C1"), "the battery bank");
    assert!(pv.dead.is_empty(), "{pv:?}");
    // A controller's fuse stands at the bar, which loses nothing and stays alive under the hands of whoever pulls it.
    assert_eq!(live(of(&all, "W2 F1"), "BUS"), "the battery bank");
}

/// With the main fuse pulled the always-on panel has its own: only what is behind the fuse changes.
#[test]
fn always_on_fuse_kills_the_detectors_alone() {
    let all = isolation(&larkspur());
    let own = of(&all, "W14 F1");
    assert_eq!(own.dead.iter().map(|i| i.as_str()).collect::<Vec<_>>(), ["AON", "L12"], "{own:?}");
    let main = of(&all, "W3 F1");
    assert!(live(main, "SW").contains("CH1"), "{main:?}");
}

/// The start battery stays alive whatever opens on the coach side, and the running engine holds the bus up
/// through the DC-DC charger.
#[test]
fn start_battery_feeds_on() {
    let mut p = whole("marram");
    p.chargers.retain(|c| c.id.as_str() == "CH1");
    p.arrays.clear();
    let all = isolation(&p);
    assert!(live(of(&all, "SW"), "BUS").ends_with("through CH1"));
    assert!(of(&all, "SW").held.iter().any(|id| id.as_str() == "BUS"), "with the engine off it is dead");
}

/// Nothing drawn, nothing to open; a loop and a run to itself end.
#[test]
fn odd_plans_answer() {
    assert!(isolation(&Plan::default()).is_empty());
    let mut p = larkspur();
    p.runs[5].from = p.runs[5].to.clone();
    let again = p.runs[6].clone();
    p.runs.push(again);
    assert!(!isolation(&p).is_empty());
}

/// A detector whose current comes back over the frame loses it with the switch between the bond and the bank's post: 49 CFR and
/// NFPA 1192 ask that it stays alive. Bonded on the bank's side of the switch, or with a negative of its own there, it does.
#[test]
fn a_switch_between_bond_and_bank_kills_what_returns_by_the_frame() {
    use super::comes_back::usual;
    use super::mistakes::{insert, with};
    let id = |text: &str| coachwire::plan::Value::Id(text.parse().expect("id"));
    let p = insert(&usual(), "devices", r#"(id: "NSW", kind: "switch")"#);
    let p = with(&p, &[("runs.N2.to", id("NSW"))]);
    let on = r#"(id: "N3", from: "NSW", to: "NB", gauge: "4/0 AWG", return_path: "none",
        legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#;
    let p = insert(&p, "runs", on);
    let p =
        insert(&p, "loads", r#"(id: "L9", name: "gas detector", watts_w: 3.0, hours_day: 24.0, life_safety: "yes")"#);
    let feed = r#"(id: "W20", from: "BK", to: "L9", gauge: "14 AWG", return_path: "chassis",
        legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.1)])"#;
    let p = insert(&p, "runs", feed);
    let bond = p.runs.iter().find(|r| r.to.known().is_some_and(|x| x.as_str() == "CHS")).expect("a bond").id.clone();
    let at = |place: &str| with(&p, &[(format!("runs.{bond}.from").as_str(), id(place))]);
    let says = |p: &Plan| super::says(&super::evaluate(p), "life-safety-negative-switched", "loads.L9");
    assert!(says(&at("NB")), "{}", super::texts(&super::evaluate(&at("NB"))));
    assert!(dead(of(&isolation(&at("NB")), "NSW"), "L9"));
    for place in ["SHN", "BK-"] {
        assert!(!says(&at(place)), "{place}");
    }
    super::cures::is_curable(&at("NB"), "life-safety-negative-switched", "loads.L9");
}

/// A fuse at a start battery takes a line off like one at the bank, and so does that of a charger's or a controller's line and of a
/// fuse panel's feed; that of one load alone takes off no more than that load and is not listed.
#[test]
fn fuses_of_start_batteries_and_sources_are_listed() {
    let p = whole("marram");
    let all = isolation(&p);
    for (run, why) in
        [("W6 F1", "at SB"), ("W2 F1", "C1"), ("W7 F1", "CH1"), ("W8 F1", "CH2"), ("W9 F1", "FP"), ("W3 F1", "BK")]
    {
        let _ = of(&all, run);
        assert!(p.runs.iter().any(|r| run.starts_with(r.id.as_str())), "{run}: {why}");
    }
    assert!(!all.iter().any(|i| i.name == "W10 F1"), "one load's own: {all:?}");
    let line = of(&all, "W6 F1");
    assert_eq!(live(line, "SB"), "the start battery SB");
    assert_eq!(live(line, "CH1"), "the battery bank", "its output still hangs on the bus: {line:?}");
    let feed = of(&all, "W9 F1");
    assert!(dead(feed, "FP") && dead(feed, "L1"), "{feed:?}");
    // With the fuse of its own line out the charger feeds nothing any more: the main switch then kills what hangs on the bus.
    let charger = of(&all, "W7 F1");
    assert!(charger.live.iter().any(|(id, _)| id.as_str() == "CH1"), "by its own battery: {charger:?}");
}

/// A DC-DC charger drawn from the bus to a start battery gives to that battery alone: nothing holds the bus up through it, engine running
/// or not, and with the battery's own fuse out what lies between is alive by the bank.
#[test]
fn a_charger_that_the_bank_feeds_holds_nothing_up() {
    use super::mistakes::{insert, sound};
    let mut p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    p.arrays.clear();
    let p = insert(&p, "devices", r#"(id: "J", kind: "bus")"#);
    let p = insert(&p, "chargers", r#"(id: "CH6", kind: "DC-DC", out_a: 5.0, absorb_v: 14.4, efficiency_pct: 90.0)"#);
    let run = |id: &str, from: &str, to: &str, at: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "10 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
                protection: [(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: 10.0, distance_m: 0.1)])"#
        )
    };
    let p = insert(&p, "runs", &run("W20", "BUS", "CH6", "from"));
    let p = insert(&p, "runs", &run("W21", "CH6", "J", "to"));
    let p = insert(&p, "runs", &run("W22", "J", "SB", "to"));
    let all = isolation(&p);
    let sw = of(&all, "SW");
    assert!(sw.held.is_empty() && sw.holders.is_empty(), "{sw:?}");
    for id in ["BUS", "INV", "FP"] {
        assert!(dead(sw, id), "{id}: {sw:?}");
    }
    let post = of(&all, "W22 F1");
    assert_eq!(live(post, "J"), "the battery bank, through CH6", "{post:?}");
}

/// A trailer whose plan ends at its tow connector: the vehicle coupled there feeds the charge line from its own battery (common
/// practice: the charge pin of a seven-pin connector is live from the vehicle).
#[test]
fn a_coupled_vehicle_is_live_behind_its_connector() {
    use super::mistakes::{insert, sound};
    let tow = insert(&sound(), "devices", r#"(id: "TOW", kind: "tow connector")"#);
    let line = |to: &str| {
        let run = format!(
            r#"(id: "WT", from: "TOW", to: "{to}", gauge: "10 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 90.0)],
                protection: [(id: "F1", at: "to", family: "ISO 8820-3 C", amps_a: 30.0, distance_m: 0.1)])"#
        );
        insert(&tow, "runs", &run)
    };
    let vehicle = "the vehicle while coupled at TOW";
    let all = isolation(&line("BUS"));
    let fuse = of(&all, "WT F1");
    assert!(!dead(fuse, "TOW"), "{fuse:?}");
    assert_eq!(live(fuse, "TOW"), vehicle);
    assert_eq!(fuse.holders, ["the vehicle (uncoupled at TOW)"]);
    let main = of(&all, "SW");
    assert!(live(main, "BUS").starts_with(vehicle), "{main:?}");
    assert!(main.holders.iter().any(|h| h == "the vehicle (uncoupled at TOW)"), "{main:?}");
    // It comes and goes: what it feeds is held up, and no battery of the coach's.
    assert!(main.held.iter().any(|id| id.as_str() == "BUS"), "{main:?}");

    // An alternator that is entered, and that no run leads to, feeds nothing and is no drawing of the vehicle.
    let listed = insert(&line("BUS"), "devices", r#"(id: "ALT", kind: "alternator")"#);
    let all = isolation(&listed);
    assert_eq!(live(of(&all, "WT F1"), "TOW"), vehicle);
    assert!(of(&all, "SW").holders.iter().any(|h| h == "the vehicle (uncoupled at TOW)"), "{:?}", of(&all, "SW"));

    // Over a DC-DC charger.
    let charger = r#"(id: "DC", kind: "DC-DC", out_a: 20.0, absorb_v: 14.2)"#;
    let out = r#"(id: "WO", from: "DC", to: "BUS", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "to", family: "ISO 8820-3 C", amps_a: 40.0, distance_m: 0.1)])"#;
    let p = insert(&insert(&line("DC"), "chargers", charger), "runs", out);
    let all = isolation(&p);
    let main = of(&all, "SW");
    assert!(live(main, "BUS").starts_with("the vehicle while coupled at TOW, through DC"), "{main:?}");
    assert_eq!(live(of(&all, "WT F1"), "TOW"), vehicle);

    // With the vehicle drawn its own battery is told, as ever.
    let drawn = insert(&line("BUS"), "devices", r#"(id: "SB", kind: "start battery")"#);
    let feed = r#"(id: "WV", from: "SB", to: "TOW", gauge: "10 AWG", legs: [(id: "L1", length_m: 5.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 30.0, distance_m: 0.1)])"#;
    let all = isolation(&insert(&drawn, "runs", feed));
    assert_eq!(live(of(&all, "WT F1"), "TOW"), "the start battery SB");
}

/// What stays live is the same whichever charger's or controller's fuse is out: all that each of them fed.
#[test]
fn fuses_that_take_a_source_off_name_all_that_stays_live() {
    let all = isolation(&whole("marram"));
    for name in ["W2 F1", "W7 F1", "W8 F1"] {
        let fuse = of(&all, name);
        assert!(fuse.dead.is_empty(), "{fuse:?}");
        for id in ["BUS", "INV", "FP", "L1"] {
            assert_eq!(live(fuse, id), "the battery bank", "{name} {id}");
        }
    }
    // What hangs beside an opened fuse loses nothing by it and is not named.
    let fuse = of(&all, "W9 F1");
    assert!(
        dead(fuse, "FP") && !fuse.live.iter().any(|(id, _)| id.as_str() == "INV") && !dead(fuse, "INV"),
        "{fuse:?}"
    );
}

/// With no battery drawn to the bar the controller alone feeds it: with its fuse out everything there is dead.
#[test]
fn what_a_controller_alone_feeds_dies_with_its_fuse() {
    let mut p = super::mistakes::sound();
    let all = isolation(&p);
    assert_eq!(live(of(&all, "W2 F1"), "INV"), "the battery bank");
    p.runs.retain(|r| r.id.as_str() != "W3");
    let all = isolation(&p);
    let fuse = of(&all, "W2 F1");
    for id in ["BUS", "INV", "FP"] {
        assert!(dead(fuse, id), "{id}: {fuse:?}");
    }
    // The array's own does the same; a point on the way keeps its light.
    assert!(dead(of(&all, "W1 F1"), "BUS") && live(fuse, "C1").contains("A1"), "{fuse:?}");
}
