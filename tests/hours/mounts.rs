//! How each array lies: every one on its own mount, glued ones flat, tilted ones close to the roof where they are let down.

use coachwire::engine::Engine;
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

use super::{n, plan, with};
use crate::support::near_rel;

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("an id"))
}

/// Two equal arrays, tilted to the south by so many degrees where they can be, on two controllers or on one.
fn coach(mounts: [&'static str; 2], tilt_deg: f64, on_one: bool) -> Plan {
    let mut set = vec![("arrays.A1.mount", Value::Word(mounts[0])), ("arrays.A2.mount", Value::Word(mounts[1]))];
    for stay in ["stays.ST1", "stays.ST2", "stays.ST3"] {
        set.extend([(stay, "tilt_deg", tilt_deg), (stay, "heading_deg", 180.0)].map(|(stay, key, x)| {
            let at: &'static str = Box::leak(format!("{stay}.{key}").into_boxed_str());
            (at, n(x))
        }));
    }
    if on_one {
        set.extend([("arrays.A2.controller", id("C1")), ("runs.W4.to", id("C1"))]);
    }
    with(&plan("larkspur"), &set)
}

/// What the arrays could give, Wh a mean day of each month.
fn array_wh(plan: &Plan) -> [f64; 12] {
    let report = Engine::default().evaluate(plan, &Stock::default());
    report.year.months.each_ref().map(|m| m.array_wh_day.clone().unwrap_or_else(|m| panic!("waits for {}", m.0)).0)
}

/// On one controller each array has its own mount: which of the two is listed first changes nothing, and together they give what
/// they give on two controllers, but for the volts that unlike warmth and light cost, a percent at most.
/// Source: `models.md` 4, mounts by array; two controllers are two simulations of their own.
#[test]
fn arrays_on_one_controller_have_their_own_mounts() {
    for tilt_deg in [0.0, 30.0] {
        for mounts in [["feet", "glued"], ["tilted", "glued"], ["feet", "tilted"]] {
            let (one, swapped) = (coach(mounts, tilt_deg, true), coach([mounts[1], mounts[0]], tilt_deg, true));
            let (one, swapped, apart) = (array_wh(&one), array_wh(&swapped), array_wh(&coach(mounts, tilt_deg, false)));
            for m in 0..12 {
                let what = format!("{mounts:?} at {tilt_deg}, month {m}");
                near_rel(&what, one[m], swapped[m], 1e-9);
                assert!(
                    one[m] <= apart[m] * (1.0 + 1e-9) && one[m] > 0.985 * apart[m],
                    "{what}: {} {}",
                    one[m],
                    apart[m]
                );
            }
        }
    }
}

/// What is glued lies flat at every stay; what is let down lies over the roof like panels on feet; tilted up they are cooler than on
/// feet, and glued ones the warmest.
/// Source: geometry; `models.md` 4: glued warmer than on feet, those warmer than on an open rack.
#[test]
fn an_array_lies_as_its_mount_lets_it() {
    let both = |mount, tilt_deg| array_wh(&coach([mount, mount], tilt_deg, false));
    assert_eq!(both("glued", 30.0), both("glued", 0.0));
    assert_eq!(both("tilted", 0.0), both("feet", 0.0));
    let (glued, feet) = (both("glued", 0.0), both("feet", 0.0));
    let (tilted, propped) = (both("tilted", 30.0), both("feet", 30.0));
    for m in 0..12 {
        assert!(
            glued[m] < feet[m] && propped[m] < tilted[m],
            "month {m}: {} {} {} {}",
            glued[m],
            feet[m],
            propped[m],
            tilted[m]
        );
    }
}
