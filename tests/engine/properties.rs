//! Properties over many plans: nothing panics, nothing is NaN, more copper drops less, proposed fuses fit.

use super::samples::{FIFTH_WHEEL, SOUND, WRONG};
use super::{evaluate, plan};
use coachwire::engine::{Engine, Report};
use coachwire::plan::field::{Kind, Record};
use coachwire::plan::samples::SAMPLES;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};
use coachwire::standards::conductor::Gauge;
use coachwire::stock::Stock;
use proptest::prelude::*;

/// Every field of a record and below, with its path and kind.
fn fields(record: &dyn Record, at: &FieldPath, out: &mut Vec<(FieldPath, Kind, bool, bool)>) {
    for meta in record.metas() {
        out.push((at.join(meta.key), meta.kind, meta.unknown, meta.absent));
    }
    for part in record.part_names() {
        if let Some(part_record) = record.part(part) {
            fields(part_record, &at.join(part), out);
        }
    }
    for list in record.list_names() {
        if let Some(items) = record.list(list) {
            for i in 0..items.len() {
                if let (Some(id), Some(item)) = (items.id_at(i), items.at(i)) {
                    fields(item, &at.join(list).join(id), out);
                }
            }
        }
    }
}

pub(crate) fn all_fields(plan: &Plan) -> Vec<(FieldPath, Kind, bool, bool)> {
    let mut out = Vec::new();
    fields(plan, &FieldPath::new(""), &mut out);
    out
}

/// A value for a field from two random numbers.
pub(crate) fn value(kind: Kind, unknown: bool, absent: bool, pick: u32, share: f64) -> Value {
    match (pick % 6, kind) {
        (0 | 1, _) if unknown => Value::Unknown,
        (2, _) if absent => Value::Nothing,
        (_, Kind::Number { quantity, least, most }) => {
            let x = least + (most - least) * share;
            Value::Number(if quantity == coachwire::plan::Quantity::Count { x.round() } else { x })
        }
        (_, Kind::Words(words)) => Value::Word(words[(share * (words.len() as f64 - 0.001)) as usize]),
        (_, Kind::Gauge) => {
            let i = (share * 13.9) as u8;
            Value::Gauge(if pick.is_multiple_of(2) { Gauge::Awg(i) } else { Gauge::Mm2(i) })
        }
        (_, Kind::Strings) => Value::Text(format!("{}S{}P P1", 1 + pick % 5, 1 + pick % 4)),
        _ if unknown => Value::Unknown,
        _ => Value::Nothing,
    }
}

/// Every finite number a report shows.
fn numbers(r: &Report) -> Vec<f64> {
    let mut all: Vec<f64> = r.findings.iter().flat_map(|f| f.numbers.clone()).collect();
    macro_rules! each { ($owner:expr; $($field:ident),*) => {$( if let Ok(x) = &$owner.$field { all.push(x.0); } )*}; }
    for a in &r.arrays {
        each!(a; watts, voc_cold_v, vmp_hot_v, voc_start_v, isc_a, imp_a);
    }
    each!(r.bank; volts, amp_hours, usable_wh, fault_a, discharge_limit_a, charge_limit_a, low_v);
    for k in &r.controllers {
        each!(k; voc_cold_v, isc_a, design_a);
    }
    for i in &r.inverters {
        each!(i; design_a);
    }
    for run in &r.runs {
        each!(run; length_m, design_a, drop_at_a, resistance_ohm, wire_c, drop_v, base_v, path_drop_v, ampacity_a, fuse_min_a, fuse_max_a);
        all.extend(run.drop_pct.iter().chain(run.path_drop_pct.iter()));
        for f in &run.fuses {
            each!(f; amps, fault_a, interrupt_a, circuit_v);
        }
    }
    all
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any fields changed to anything their bounds allow, unknown included: the engine answers, with finite numbers.
    #[test]
    fn evaluate_is_total(sample in 0_usize..3, changes in prop::collection::vec((any::<u32>(), any::<u32>(), 0.0..1.0_f64), 1..40)) {
        let mut p = plan([SOUND, FIFTH_WHEEL, WRONG][sample]);
        let rows = all_fields(&p);
        for (which, pick, share) in changes {
            let (at, kind, unknown, absent) = &rows[which as usize % rows.len()];
            let to = value(*kind, *unknown, *absent, pick, share);
            if let Ok(next) = p.with(&Step::one("x", Edit::Set { at: at.clone(), to })) {
                p = next;
            }
        }
        let r = evaluate(&p);
        for x in numbers(&r) {
            prop_assert!(x.is_finite(), "{x}");
        }
        for f in &r.findings {
            prop_assert!(!f.text().contains("NaN") && !f.text().contains("inf "), "{}", f.text());
        }
        for run in &r.runs {
            if let (Some(p), Ok(least), Ok(ampacity)) = (&run.proposed, &run.fuse_min_a, &run.ampacity_a) {
                prop_assert!(p.amps.0 >= least.0 - 1e-9);
                prop_assert!(run.rounded_up || p.amps.0 <= ampacity.0 + 1e-9);
            }
        }
        prop_assert_eq!(&r, &evaluate(&p), "the same plan, the same answer");
    }

    /// A thicker conductor never drops more, at any length, ambient and watts.
    #[test]
    fn more_copper_never_drops_more(length in 0.1..30.0_f64, ambient in -20.0..80.0_f64, watts in 100.0..4000.0_f64) {
        let mut p = plan(SOUND);
        for (at, to) in [("runs.W5.legs.L1.length_m", length), ("runs.W5.legs.L1.ambient_c", ambient), ("inverters.INV.watts_w", watts)] {
            p = p.with(&Step::one("x", Edit::Set { at: at.into(), to: Value::Number(to) })).expect("edit");
        }
        let (at, mut engine) = (FieldPath::new("runs.W5.gauge"), Engine::default());
        let drops: Vec<f64> = p.runs[4].gauge.known().expect("a gauge").ladder().map(|gauge| {
            let with = p.with(&Step::one("x", Edit::Set { at: at.clone(), to: Value::Gauge(gauge) })).expect("edit");
            engine.evaluate_wires(&with, &Stock::default()).runs[4].drop_v.clone().expect("known").0
        }).collect();
        prop_assert!(drops.len() > 10 && drops.windows(2).all(|w| w[1] <= w[0] + 1e-12), "{drops:?}");
    }
}

/// Thicker wire anywhere in any sample: no run drops more, no finding about drop or ampacity comes that was not there.
#[test]
fn a_thicker_conductor_never_adds_a_drop_or_ampacity_finding() {
    let wire = ["drop-over-target", "conductor-below-current", "ambient-over-insulation", "parallel-too-thin"];
    let plans = SAMPLES.iter().map(|s| Plan::from_text(s.text).expect("reads")).chain([plan(SOUND), plan(WRONG)]);
    let mut tried = 0;
    for p in plans {
        let before = evaluate(&p);
        let drops = |r: &Report| -> Vec<f64> {
            r.findings.iter().filter(|f| f.check.id == "drop-over-target").map(|f| f.n(0)).collect()
        };
        for run in &p.runs {
            let Some(gauge) = run.gauge.known().copied() else { continue };
            for thicker in gauge.ladder().filter(|g| *g > gauge) {
                let at = FieldPath::new(format!("runs.{}.gauge", run.id));
                let next = p.with(&Step::one("x", Edit::Set { at, to: Value::Gauge(thicker) })).expect("applies");
                let after = evaluate(&next);
                tried += 1;
                for (was, is) in before.runs.iter().zip(&after.runs) {
                    if let (Ok(was_v), Ok(is_v)) = (&was.drop_v, &is.drop_v) {
                        assert!(is_v.0 <= was_v.0 + 1e-9, "{}: {} {} to {} V", run.id, is.id, was_v.0, is_v.0);
                    }
                }
                // Each path is said by its own end: none comes that was not there, and none that is worse than all before.
                let worst = drops(&before).into_iter().fold(0.0, f64::max);
                assert!(drops(&after).iter().all(|d| *d <= worst + 1e-9), "{} {thicker}", run.id);
                let new = after
                    .findings
                    .iter()
                    .filter(|f| wire.contains(&f.check.id))
                    .find(|f| !before.findings.iter().any(|b| b.identity() == f.identity()));
                assert!(new.is_none(), "{} {thicker}: {}", run.id, new.map(|f| f.text()).unwrap_or_default());
            }
        }
    }
    assert!(tried > 300, "{tried}");
}

/// A run's path is the one that is worst against its target, and says which that is: where a thicker wire elsewhere makes
/// it another one, of a larger percent and a larger target, the name changes with it; by its name no path loses more.
#[test]
fn a_path_is_named_beside_its_drop() {
    let panel = super::mistakes::with(
        &super::mistakes::sound(),
        &[
            ("runs.W5.gauge", Value::Gauge("6 AWG".parse().expect("gauge"))),
            ("runs.W6.gauge", Value::Gauge("10 AWG".parse().expect("gauge"))),
            ("runs.W6.legs.L1.length_m", Value::Number(20.0)),
            ("loads.L1.watts_w", Value::Number(120.0)),
        ],
    );
    let thick = super::mistakes::with(&panel, &[("runs.W5.gauge", Value::Gauge("4/0 AWG".parse().expect("gauge")))]);
    let (was, is) = (evaluate(&panel), evaluate(&thick));
    let (was, is) = (&was.runs[2], &is.runs[2]);
    let (a, b) = (was.path_drop_pct.clone().expect("known"), is.path_drop_pct.clone().expect("known"));
    assert_eq!(was.path_end.as_ref().map(|i| i.as_str()), Some("INV"), "{a} % {:?}", was.path);
    assert_ne!(was.path_end, is.path_end, "{a} {b} %");
    assert!(b > a && is.target_pct > was.target_pct && b / is.target_pct.expect("a") <= a / was.target_pct.expect("a"));
    assert!(is.path.iter().any(|run| run.as_str() == "W6") && was.path.iter().any(|run| run.as_str() == "W5"));
}

/// What carries no sun has no loss of it: the year counts the sun's alone. No figure is a negative nothing.
#[test]
fn runs_without_sun_have_no_loss_of_it() {
    let p = super::mistakes::sound();
    let r = evaluate(&p);
    let known: Vec<&str> = r.runs.iter().filter(|x| x.loss_wh_day.is_ok()).map(|x| x.id.as_str()).collect();
    assert_eq!(known, ["W1", "W2", "W3", "W4"], "array to controller to bus to switch to bank");
    assert!(!r.unknown.iter().any(|path| path.as_str().is_empty()));
    let text = coachwire::figures::json(&p, &r).to_string();
    assert!(
        !text.contains("-0.0"),
        "{}",
        text.split("-0.0").next().expect("a part").chars().rev().take(80).collect::<String>()
    );
}

/// A coach that follows the winter round the globe has no summer: no figure of one.
#[test]
fn a_season_that_is_nowhere_has_no_figure() {
    let months = |text: &str| Value::Text(text.into());
    let north = super::mistakes::with(
        &super::mistakes::sound(),
        &[("stays.ST1.months", months("9 10 11 12 1 2 3 4 5")), ("loads.L1.months", months("1 2 12"))],
    );
    let south = super::mistakes::insert(
        &north,
        "stays",
        r#"(id: "ST2", latitude_deg: -33.0, longitude_deg: 149.0, months: "6 7 8")"#,
    );
    let r = &evaluate(&south).loads.seasons;
    assert!(r.summer_wh_day.is_err() && r.winter_wh_day.is_ok() && r.between_wh_day.is_ok(), "{r:?}");
    assert!(evaluate(&north).loads.seasons.summer_wh_day.is_ok());
}
