//! Ladders: every row is what the engine answers for the plan with it, and what must hold along the rows.

use coachwire::engine::ladder::{Columns, Fit};
use coachwire::engine::{Engine, Finding, LadderOf, Level, Report, Rung};
use coachwire::plan::Plan;
use coachwire::plan::samples::sample;
use coachwire::standards::conductor::area_mm2;
use coachwire::standards::fuse::ratings;
use coachwire::stock::Stock;

fn whole(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("sample").text).unwrap_or_else(|e| panic!("{e}"))
}

fn rows(p: &Plan, of: &LadderOf) -> Vec<Rung> {
    Engine::default().ladder(p, &Stock::default(), of)
}

fn wires(p: &Plan) -> Report {
    Engine::default().evaluate_wires(p, &Stock::default())
}

fn with(p: &Plan, rung: &Rung) -> Plan {
    p.with(&rung.step).unwrap_or_else(|e| panic!("{:?}: {e}", rung.step))
}

fn names(findings: &[Finding], path: &str) -> Vec<&'static str> {
    let by_wire = ["drop-over-target", "conductor-below-current"];
    findings
        .iter()
        .filter(|f| f.subject.as_str() == path && by_wire.contains(&f.check.id))
        .map(|f| f.check.id)
        .collect()
}

#[test]
fn a_gauge_row_is_the_edited_plan_s_answer_and_thicker_is_never_worse() {
    for name in ["larkspur", "sorrel"] {
        let p = whole(name);
        for (i, run) in p.runs.iter().enumerate() {
            let mut rungs = rows(&p, &LadderOf::Gauge(run.id.clone()));
            rungs.sort_by(|a, b| {
                let mm2 = |r: &Rung| area_mm2(r.gauge().expect("a gauge").gauge);
                mm2(a).total_cmp(&mm2(b))
            });
            let path = format!("runs.{}", run.id);
            let mut thinner: Option<(f64, Vec<&str>)> = None;
            for rung in &rungs {
                let c = rung.gauge().expect("a gauge");
                let after = wires(&with(&p, rung));
                let f = &after.runs[i];
                assert_eq!((&c.drop_v, &c.drop_pct, &c.path_drop_pct), (&f.drop_v, &f.drop_pct, &f.path_drop_pct));
                assert_eq!((&c.ampacity_a, &c.fuse_max_a, &c.needs), (&f.ampacity_a, &f.fuse_max_a, &f.proposed));
                let open = names(&after.findings, &path);
                let volts = c.drop_v.as_ref().map_or(f64::MAX, |v| v.0);
                if let Some((more, had)) = &thinner {
                    assert!(volts <= more + 1e-9, "{name} {path}: {} drops {volts}, thinner {more}", c.gauge);
                    assert!(
                        open.iter().all(|id| had.contains(id)),
                        "{name} {path} {}: {open:?} not in {had:?}",
                        c.gauge
                    );
                }
                thinner = Some((volts, open));
            }
        }
    }
}

#[test]
fn a_row_that_brings_a_stop_does_not_read_yes() {
    for name in ["larkspur", "sorrel", "bramble"] {
        let p = whole(name);
        for run in &p.runs {
            let of = [LadderOf::Gauge(run.id.clone()), LadderOf::Fuse(run.id.clone(), None)];
            for rung in of.iter().flat_map(|of| rows(&p, of)) {
                let stop = rung.new.iter().any(|f| f.level == Level::Stop);
                assert!(!stop || matches!(rung.fit, Fit::No(_)), "{name} {} {}: {:?}", run.id, rung.name(), rung.new);
            }
        }
    }
}

#[test]
fn a_fuse_ladder_has_the_ratings_its_family_is_made_in() {
    let p = whole("larkspur");
    let rungs = rows(&p, &LadderOf::Fuse("W2".parse().expect("an id"), None));
    assert!(!rungs.is_empty());
    for rung in &rungs {
        let Columns::Fuse(c) = &rung.columns else { panic!("not a fuse") };
        assert!(ratings(c.family).contains(&c.amps), "{} has no {} A", c.family, c.amps);
        let after = wires(&with(&p, rung));
        let run = after.runs.iter().find(|r| r.id.to_string() == "W2").expect("the run");
        assert_eq!(run.fuses.first().map(|f| &f.interrupt_a), Some(&c.interrupt_a));
    }
}

#[test]
fn a_wiring_ladder_lists_every_factoring_and_keeps_the_panels() {
    for name in ["larkspur", "sorrel", "bramble"] {
        let p = whole(name);
        for (i, array) in p.arrays.iter().enumerate() {
            let n = array.strings.panels();
            let rungs = rows(&p, &LadderOf::Strings(array.id.clone()));
            let names: Vec<String> = rungs.iter().map(Rung::name).collect();
            let all: Vec<String> =
                (1..=n).filter(|s| n.is_multiple_of(*s)).map(|s| format!("{s}S{}P", n / s)).collect();
            assert_eq!(names, all, "{name} {}", array.id);
            for rung in &rungs {
                assert_eq!(with(&p, rung).arrays[i].strings.panels(), n);
                let Columns::Strings(c) = &rung.columns else { panic!("not a wiring") };
                assert_eq!(c.voc_cold_v, wires(&with(&p, rung)).arrays[i].voc_cold_v);
            }
        }
    }
}

#[test]
fn a_finished_row_has_the_whole_answer_s_harvest() {
    let (p, stock, mut engine) = (whole("sorrel"), Stock::default(), Engine::default());
    let before = engine.evaluate(&p, &stock);
    let of = LadderOf::Strings(p.arrays[0].id.clone());
    for mut rung in engine.ladder(&p, &stock, &of) {
        engine.finish(&p, &stock, &before, &mut rung);
        let after = Engine::default().evaluate(&with(&p, &rung), &stock);
        let got = rung.harvest_wh_day.clone().expect("the year is in").map(|w| w.0);
        assert_eq!(got, after.year.harvest_kwh.clone().map(|kwh| kwh * 1000.0 / 365.0));
    }
}

#[test]
fn what_is_not_there_has_no_ladder() {
    let p = whole("larkspur");
    let id = || "Z9".parse().expect("an id");
    for of in [LadderOf::Gauge(id()), LadderOf::Fuse(id(), None), LadderOf::Strings(id()), LadderOf::Controller(id())] {
        assert_eq!(rows(&p, &of), Vec::new(), "{of:?}");
    }
}
