//! Price, weight and length of wire in the truck stock, as they are seen.

use coachwire::plan::entry::{self, Units, show};
use coachwire::plan::{Plan, Record, Value};

use super::small;

fn metric() -> Plan {
    let mut plan = small();
    plan.job.set("length_unit", Value::Word("metres")).unwrap();
    plan
}

/// What is typed by the foot is shown by the metre as a person would say it: 3 / 0.3048 m is 9.842519685. The field keeps all of it.
#[test]
fn prices_and_weights_of_wire_are_seen_round_and_with_their_unit() {
    let metas = coachwire::stock::Spool::default().metas();
    let of = |key: &str| *metas.iter().find(|m| m.key == key).expect("a field");
    let (feet, metres) = (Units::of(&small()), Units::of(&metric()));
    let seen = |units: Units, key: &str, x: f64| entry::seen(units, of(key), &Value::Number(x));
    assert_eq!(seen(metres, "price_per_metre", 3.0 / 0.3048), "9.84/m");
    assert_eq!(seen(metres, "price_per_metre", 1.125), "1.125/m");
    assert_eq!(seen(feet, "price_per_metre", 3.0 / 0.3048), "3/ft");
    assert_eq!(show(metres, of("price_per_metre"), &Value::Number(3.0 / 0.3048)), format!("{}/m", 3.0 / 0.3048));
    // 0.1 lb of 0.45359237 kg a foot.
    let tenth = 0.1 * 0.453_592_37 / 0.3048;
    assert_eq!(seen(feet, "kg_per_metre", tenth), "0.1 lb/ft");
    assert_eq!(seen(metres, "kg_per_metre", tenth), "0.1488 kg/m");
    // 30 m are 98 ft 5.102 in.
    assert_eq!(seen(feet, "left_m", 30.0), "98'5\"");
    assert_eq!(seen(metres, "left_m", 30.0), "30 m");
}
