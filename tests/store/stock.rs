//! Truck stock, shelf and settings as data.

use coachwire::plan::entry::{Units, parse_in};
use coachwire::plan::{FieldPath, Kind, Known, Plan, Record, Value};
use coachwire::stock::{Settings, Shelf, Stock, Truck};

use crate::plan::full;

#[test]
fn a_full_stock_comes_back_equal() {
    let mut stock = Stock::default();
    full::fill(&mut stock, &FieldPath::new(""));
    assert_eq!(Truck::from_text(&stock.truck.to_text()).unwrap(), stock.truck);
    assert_eq!(Shelf::from_text(&stock.shelf.to_text()).unwrap(), stock.shelf);
    assert_eq!(Settings::from_text(&stock.settings.to_text()).unwrap(), stock.settings);
    assert!(Truck::from_text("(version: 2)").unwrap_err().message.contains("newer"));
    assert!(Truck::from_text("(version: 1, spool: [])").unwrap_err().message.contains("spools"));
}

#[test]
fn typical_rows_are_marked_generic_and_complete() {
    let shelf = Shelf::typical();
    let rows = shelf.find(None, "");
    assert!(rows.len() >= 12, "{} rows", rows.len());
    assert!(rows.iter().all(|r| r.typical));
    for panel in &shelf.panels {
        let p = &panel.panel;
        let (Known::Is(vmp), Known::Is(imp), Known::Is(pmax)) = (p.vmp_v, p.imp_a, p.pmax_w) else {
            panic!("{}", p.name)
        };
        // Rated power is the product of its label's volts and amps, within rounding of the label.
        assert!((vmp * imp / pmax - 1.0).abs() < 0.01, "{}", p.name);
        assert!(p.voc_v.known() > Some(&vmp) && p.isc_a.known() > Some(&imp), "{}", p.name);
        assert_eq!(p.price, Some(Known::Unknown), "{}", p.name);
    }
}

/// Watt-hours of a usual day, each load as those who audit coaches find it. Source: common practice.
#[test]
fn typical_loads_lie_in_the_ranges_of_audits() {
    let ranges = [
        ("12 V compressor refrigerator, chest", 250.0, 400.0),
        ("12 V compressor refrigerator, upright", 450.0, 1000.0),
        ("household refrigerator", 1000.0, 1600.0),
        ("gas refrigerator, control board", 120.0, 300.0),
        ("roof vent fan", 100.0, 300.0),
        ("LED lights, all", 60.0, 250.0),
        ("water pump", 10.0, 30.0),
        ("furnace blower", 150.0, 1000.0),
        ("diesel heater", 150.0, 400.0),
        ("television and sound", 100.0, 250.0),
        ("satellite internet terminal", 400.0, 1500.0),
        ("router and booster", 100.0, 300.0),
        ("laptop", 150.0, 500.0),
        ("phones and tablets", 20.0, 60.0),
        ("sleep apnoea machine, dry", 80.0, 120.0),
        ("sleep apnoea machine, humidifier", 250.0, 500.0),
        ("microwave", 200.0, 400.0),
        ("induction hob", 400.0, 1000.0),
        ("coffee maker or kettle", 120.0, 300.0),
        ("hair dryer", 120.0, 250.0),
        ("air conditioner", 6000.0, 15_000.0),
        ("ice maker", 400.0, 900.0),
        ("gas and CO detectors", 30.0, 80.0),
        ("phantom: memories, booster, panel", 70.0, 350.0),
        // Seldom more than a quarter of an hour a time.
        ("water heater board, on gas", 5.0, 15.0),
        ("tank heaters", 500.0, 1400.0),
        // Not a matter of the day.
        ("breakaway brakes, two axles", 0.0, 0.0),
    ];
    let shelf = Shelf::typical();
    assert_eq!(shelf.loads.len(), ranges.len());
    for (row, (name, least, most)) in shelf.loads.iter().zip(ranges) {
        let load = &row.load;
        let known = |x: Option<f64>| x.unwrap_or_else(|| panic!("{name}"));
        let watts = known(load.watts_w.known().map(|w| w.0)) * known(load.quantity.known().map(|q| q.0));
        let hours = known(load.hours_day.known().map(|h| h.0)) * known(load.duty_pct.known().map(|d| d.0)) / 100.0;
        assert_eq!(load.name, name);
        assert!((least..=most).contains(&(watts * hours)), "{name}: {} Wh of {least} to {most}", watts * hours);
    }
    // A compressor that starts against its locked rotor takes 55 to 80 A of 120 V.
    let cooler = shelf.loads.iter().find(|r| r.load.name == "air conditioner").unwrap();
    let surge = cooler.load.surge_w.as_ref().and_then(Known::known).unwrap().0;
    assert!((55.0..=80.0).contains(&(surge / 120.0)), "{surge} W");
}

#[test]
fn the_shelf_is_searched_by_typing() {
    let mut stock = Stock::first();
    let names =
        |stock: &Stock, typed: &str| stock.shelf.find(None, typed).into_iter().map(|f| f.name).collect::<Vec<_>>();
    assert_eq!(names(&stock, "400 rig"), ["400 W rigid"]);
    assert_eq!(names(&stock, "track 52"), ["tracking, 52 A out, 105 V in"]);
    assert_eq!(stock.shelf.find(Some("batteries"), "100").len(), 3);
    assert!(names(&stock, "no such thing").is_empty());
    // A row that is edited is the shop's own.
    let at = FieldPath::new("shelf.panels.SP3.panel.isc_a");
    let typed = parse_in(Units::STORED, &stock, &at, "13.9a").unwrap().value;
    stock.set(&at, typed).unwrap();
    assert_eq!(stock.get_at(&at), Some(Value::Number(13.9)));
    assert!(!stock.shelf.find(None, "400 W rigid")[0].typical);
    let e = stock.set(&at, Value::Number(900.0)).unwrap_err().to_string();
    assert!(e.contains("shelf.panels.SP3.panel.isc_a") && e.contains("0.05 to 35 A"), "{e}");
}

#[test]
fn equipment_goes_from_plan_to_shelf_and_back() {
    let plan = full::plan();
    let mut shelf = Shelf::default();
    for at in ["panels.P1", "controllers.C1", "bank", "inverters.INV1", "chargers.CH1", "loads.L1"] {
        shelf.save(&plan, &at.into()).unwrap();
    }
    assert!(shelf.save(&plan, &"runs.W1".into()).unwrap_err().contains("does not go on the shelf"));
    let mut fresh = Plan::default();
    for found in shelf.find(None, "") {
        assert!(!found.typical);
        let step = shelf.take(&fresh, &found).unwrap();
        fresh = fresh.with(&step).unwrap_or_else(|e| panic!("{}: {e}", step.name));
    }
    assert_eq!(fresh.panels, plan.panels);
    for (section, record) in
        [("controllers", "C1"), ("inverters", "INV1"), ("chargers", "CH1"), ("loads", "L1"), ("", "bank")]
    {
        let at =
            if section.is_empty() { FieldPath::new(record) } else { FieldPath::new(format!("{section}.{record}")) };
        let (was, is) = (plan.record(&at).unwrap(), fresh.record(&at).unwrap());
        for key in ["name", "out_a", "kind", "watts_w", "unit_ah", "weight_kg", "price"] {
            assert_eq!(was.get(key), is.get(key), "{at}.{key}");
        }
        // What belongs to the coach stays behind.
        let state = is.get("state");
        let default_state = if section == "loads" { "existing" } else { "new" };
        assert_eq!(state, Some(Value::Word(default_state)), "{at}");
        assert_ne!(was.get("state"), state, "{at}");
        for meta in is.metas().iter().filter(|m| matches!(m.kind, Kind::Ref(_)) || m.key == "zone") {
            assert_eq!(is.get(meta.key), Some(Value::Nothing), "{at}.{}", meta.key);
        }
    }
    // A second one of the same gets the next name.
    let found = &shelf.find(Some("panels"), "")[0];
    let twice = fresh.with(&shelf.take(&fresh, found).unwrap()).unwrap();
    assert_eq!(twice.panels.iter().map(|p| p.id.as_str()).collect::<Vec<_>>(), ["P1", "P2"]);
}

/// What is edited goes by its name, so a name that stands twice in a list is refused, with its place.
#[test]
fn a_name_twice_in_the_truck_stock_is_refused() {
    let text = |second: &str| {
        format!("(version: 1, spools: [\n (id: \"A\", gauge: \"8 AWG\"),\n (id: \"{second}\", gauge: \"2 AWG\")])")
    };
    assert!(Truck::from_text(&text("B")).is_ok(), "{:?}", Truck::from_text(&text("B")));
    let refused = Truck::from_text(&text("A")).unwrap_err().to_string();
    assert!(refused.contains("a second A") && refused.contains("line 3"), "{refused}");
    let shelf = |second: &str| {
        format!("(version: 1, loads: [\n (id: \"A\", load: (name: \"x\")),\n (id: \"{second}\", load: (name: \"y\"))])")
    };
    assert!(Shelf::from_text(&shelf("B")).is_ok(), "{:?}", Shelf::from_text(&shelf("B")));
    assert!(Shelf::from_text(&shelf("A")).unwrap_err().to_string().contains("a second A"));
}

#[test]
fn a_new_plan_starts_with_the_shops_units_and_rates() {
    let mut settings = Settings::default();
    full::fill(&mut settings, &FieldPath::new(""));
    let plan = settings.blank_plan();
    assert_eq!(plan.job.gauge_system, settings.gauge_system);
    assert_eq!(Some(plan.money.labour_rate), settings.labour_rate);
    assert_eq!(plan.job.get("length_unit"), settings.get("length_unit"));
}

/// Typical loads have the months of the north; where all stays are south of the equator they come half a year on, and the step
/// says so. Source: the seasons lie half a year apart.
#[test]
fn typical_loads_have_the_seasons_of_the_stays() {
    let shelf = Shelf::typical();
    let stay = |id: &str, degrees: &str| format!(r#"(id: "{id}", latitude_deg: {degrees}, longitude_deg: -71.3)"#);
    let plan = |stays: &[String]| {
        let text = format!("(version: 1, stays: [{}])", stays.join(", "));
        Plan::from_text(&text).unwrap_or_else(|e| panic!("{e}"))
    };
    let south = [stay("ST1", "-41.1"), stay("ST2", "-33.0")];
    let taken = |plan: &Plan, name: &str| {
        let row = shelf.find(Some("loads"), name).remove(0);
        let step = shelf.take(plan, &row).expect("a step");
        let load = plan.with(&step).unwrap_or_else(|e| panic!("{e}")).loads.last().expect("a load").clone();
        (load.months.to_string(), step.name)
    };
    let northern =
        [vec![], vec![stay("ST1", "41.1")], vec![south[0].clone(), stay("ST2", "12.0")], vec![stay("ST1", r#""?""#)]];
    for (name, north, there) in [
        ("furnace blower", "Oct-Apr", "Apr-Oct"),
        ("roof vent fan", "May-Sep", "Nov-Mar"),
        ("air conditioner", "Jun-Aug", "Dec-Feb"),
        ("tank heaters", "Dec-Feb", "Jun-Aug"),
    ] {
        for stays in &northern {
            assert_eq!(taken(&plan(stays), name), (north.to_string(), format!("{name} from the shelf")));
        }
        let (months, said) = taken(&plan(&south), name);
        assert_eq!(months, there, "{name}");
        assert!(said.contains(there) && said.contains("south"), "{said}");
    }
    assert_eq!(taken(&plan(&south), "household refrigerator").0, "all");
}
