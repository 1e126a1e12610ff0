//! Inverters beside each other.

use super::mistakes::{insert, sound, with};
use super::{evaluate, found, near};
use coachwire::plan::Value;

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// Each of two may be borne where one's surge beside the other's rated 1000 W and the 60 W of DC loads is not.
#[test]
fn one_inverter_starts_while_the_other_runs() {
    let two = |peak_a: f64| {
        let p = with(&sound(), &[("inverters.INV.surge_w", n(2000.0)), ("bank.peak_a", n(peak_a))]);
        evaluate(&insert(&p, "inverters", r#"(id: "INV2", watts_w: 1000.0, surge_w: 2000.0)"#))
    };
    let together = (2000.0 + 1000.0) / (12.0 * 0.88) + 60.0 / 12.0;
    assert!(found(&two(together / 3.0 + 1.0), "inverter-surge-over-peak").is_empty());
    let r = two(together / 3.0 - 1.0);
    let f = found(&r, "inverter-surge-over-peak")[0];
    near("surge and rated", Ok(f.n(0)), together, 1e-6);
}
