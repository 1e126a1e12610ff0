//! Sizing all uses the next rating up only where no gauge does without it.

use super::comes_back::usual;
use super::mistakes::{sound, with};
use super::{evaluate, found, says, texts};
use coachwire::engine::Engine;
use coachwire::plan::{Known, Plan, Value};
use coachwire::stock::Stock;

fn unknown(p: &Plan) -> Plan {
    let mut p = p.clone();
    for run in &mut p.runs {
        run.gauge = Known::Unknown;
        for fuse in &mut run.protection {
            fuse.amps_a = Known::Unknown;
        }
    }
    p
}

/// Our own choice: the program proposes the next rating up (NEC 240.4(B)) only where no other rating fits. Whatever
/// the inverter, all gauges and fuses being open, thicker wire always fits here.
#[test]
fn what_is_sized_leans_on_no_next_rating_up() {
    for watts in (2400..=4200).step_by(200).map(f64::from) {
        let n = Value::Number;
        let edits = [
            ("bank.unit_v", n(51.2)),
            ("controllers.C1.absorb_v", n(56.8)),
            ("inverters.INV.watts_w", n(watts)),
            ("bank.ohmic_mohm", n(30.0)),
        ];
        let p = unknown(&with(&sound(), &edits));
        let step = Engine::default().size_all(&p, &Stock::default(), false);
        let sized = p.with(&step).expect("applies");
        let r = Engine::default().evaluate_wires(&sized, &Stock::default());
        assert!(sized.runs[2].gauge.known().is_some(), "{watts} W");
        assert!(found(&r, "next-rating-up").is_empty(), "{watts} W:\n{}", texts(&r));
        // And it stays so when it is sized again.
        let again = Engine::default().size_all(&sized, &Stock::default(), false).edits;
        assert!(again.is_empty(), "{watts} W: {again:?}");
    }
}

/// A plan that leans already is sized without, where thicker wire does: 6 AWG on terminals of 75 C carries 95 A, 4 AWG 125 A
/// (NEC 310.17, as corrected), ahead of it stands a fuse of 100 A. Where the terminal takes nothing thicker it leans on.
#[test]
fn what_leaned_before_is_sized_without() {
    let gauge = |text: &str| Value::Gauge(text.parse().expect("gauge"));
    let mut p =
        with(&sound(), &[("runs.W6.gauge", gauge("6 AWG")), ("runs.W3.protection.F1.amps_a", Value::Number(100.0))]);
    p.runs[5].protection.clear();
    let leans =
        |p: &Plan| found(&evaluate(p), "next-rating-up").iter().filter(|f| f.subject.as_str() == "runs.W6").count();
    assert_eq!(leans(&p), 1, "{}", texts(&evaluate(&p)));
    let sized = |p: &Plan| p.with(&Engine::default().size_all(p, &Stock::default(), false)).expect("applies");
    let after = sized(&p);
    assert_eq!(leans(&after), 0, "{}", texts(&evaluate(&after)));
    assert!(after.runs[5].gauge.known() >= "4 AWG".parse().ok().as_ref());
    assert_eq!(sized(&after), after);
    let held = with(&p, &[("devices.FP.ratings.largest_wire", gauge("6 AWG"))]);
    let stays = sized(&held);
    assert_eq!((leans(&stays), stays.runs[5].gauge), (1, p.runs[5].gauge), "{}", texts(&evaluate(&stays)));
}

/// A negative drawn by itself that carries what the fuse of its positive lets through only by the next rating up says so, and
/// is sized without: 150 A of fuse in W3; 4 AWG of 105 C on terminals of 75 C carries 125 A, 3 AWG 145, 2 AWG 170 (NEC
/// 310.17, 75 C), the next standard rating above 145 A is 150 (NEC 240.6(A)).
#[test]
fn a_negative_leans_too() {
    let gauge = |text: &str| Value::Gauge(text.parse().expect("gauge"));
    let p = with(&usual(), &[("runs.N2.gauge", gauge("3 AWG")), ("runs.N2.legs.L1.ambient_c", Value::Number(30.0))]);
    let r = evaluate(&p);
    let note = found(&r, "next-rating-up").into_iter().find(|f| f.subject.as_str() == "runs.N2");
    let text = note.unwrap_or_else(|| panic!("{}", texts(&r))).text();
    assert!(text.contains("F1 of W3 of 150 A, whose current it brings back,") && text.contains("145"), "{text}");
    let sized = p.with(&Engine::default().size_all(&p, &Stock::default(), false)).expect("applies");
    let after = evaluate(&sized);
    assert!(found(&after, "next-rating-up").is_empty(), "{}", texts(&after));
    let thick = with(&p, &[("runs.N2.gauge", gauge("2 AWG"))]);
    assert!(!says(&evaluate(&thick), "next-rating-up", "runs.N2"));
    let thin = with(&p, &[("runs.N2.gauge", gauge("4 AWG"))]);
    assert!(says(&evaluate(&thin), "fuse-above-conductor", "runs.N2"), "{}", texts(&evaluate(&thin)));
}
