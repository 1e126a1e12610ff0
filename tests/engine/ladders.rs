//! Ladders: every row is what the engine answers for the plan with it, and what must hold along the rows.

use super::plan;
use super::samples::SOUND;
use coachwire::engine::ladder::{Columns, Fit};
use coachwire::engine::{Engine, Finding, LadderOf, Level, Report, Rung};
use coachwire::plan::samples::sample;
use coachwire::plan::{Known, Plan, Step};
use coachwire::standards::conductor::area_mm2;
use coachwire::standards::fuse::ratings;
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::Stock;
use coachwire::units::{Amps, Number};

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
            // Two of a gauge stand after the single ones, not between them.
            rungs.retain(|r| r.gauge().expect("a gauge").per_pole == 1);
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
                assert_eq!((&c.ampacity_a, &c.fuse_max_a), (&f.ampacity_a, &f.fuse_max_a));
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

fn dunlin() -> Plan {
    Plan::from_text(include_str!("../screens/dunlin.ron")).unwrap_or_else(|e| panic!("{e}"))
}

/// W2's fuse cannot open the fault with any gauge that carries the current: no gauge's fault, so no row's verdict.
#[test]
fn a_stop_that_no_buildable_row_avoids_is_no_row_s_fault() {
    let p = dunlin();
    let before = wires(&p);
    let stop = before.findings.iter().find(|f| f.level == Level::Stop && f.subject.as_str() == "runs.W2");
    assert_eq!(stop.map(|f| f.check.id), Some("interrupt-below-fault"));
    let rungs = rows(&p, &LadderOf::Gauge("W2".parse().expect("an id")));
    for rung in &rungs {
        let amps = rung.gauge().expect("gauge").margin_pct.clone().expect("known");
        let brings = rung.new.iter().any(|f| f.level == Level::Stop);
        assert_eq!(matches!(rung.fit, Fit::No(_)), amps < 0.0 || brings, "{}: {:?}", rung.name(), rung.fit);
    }
    assert!(rungs.iter().filter(|r| !matches!(r.fit, Fit::No(_))).count() >= 5);
}

/// A row that can be built and is without a stop of the plan makes the others "no".
#[test]
fn a_stop_that_a_buildable_row_avoids_counts() {
    let p = whole("thistle");
    let mut told = 0;
    for run in &p.runs {
        let rungs = rows(&p, &LadderOf::Gauge(run.id.clone()));
        let before = wires(&p);
        for rung in &rungs {
            let cures = rung.cured.iter().filter(|f| f.level == Level::Stop);
            for f in cures.filter(|_| !matches!(rung.fit, Fit::No(_))) {
                told += 1;
                let current = rungs.iter().find(|r| r.current).expect("what it has");
                // Its own row may bring another fuse, and be without it too.
                let sets = current.gauge().is_some_and(|c| c.sets_fuse);
                assert!(sets || matches!(current.fit, Fit::No(_)), "{} {}: {}", run.id, rung.name(), f.text());
                assert!(before.findings.iter().any(|b| b.identity() == f.identity()));
            }
        }
    }
    assert!(told > 0);
}

/// All in parallel on dunlin: six strings, each needs its fuse; one step brings both, and their price.
#[test]
fn a_wiring_that_needs_string_fuses_brings_them() {
    let p = dunlin();
    let mut stock = Stock::default();
    stock.truck.fuses.push(coachwire::stock::Fuse {
        family: Known::Is(FuseFamily::Gpv),
        amps_a: Known::Is(Amps(10.0)),
        price: Some(Known::Is(Number(3.0))),
        ..Default::default()
    });
    let rungs = Engine::default().ladder(&p, &stock, &LadderOf::Strings("A1".parse().expect("an id")));
    for rung in &rungs {
        let Columns::Strings(c) = &rung.columns else { panic!("not a wiring") };
        let needed = matches!(c.string_fuse_a, Ok(Some(_)));
        let after = with(&p, rung);
        let had = p.runs[0].protection.len();
        assert_eq!(after.runs[0].protection.len(), had + usize::from(needed), "{}", rung.name());
        let missing = wires(&after).findings.iter().any(|f| f.check.id == "string-fuse-missing");
        assert!(!missing, "{}", rung.name());
        if needed {
            // Six strings, six fuses.
            assert_eq!(c.fuses_price.clone().map(|x| x.0), Ok(18.0), "{}", rung.name());
            let bare = p.with(&Step { edits: rung.step.edits[..1].to_vec(), ..rung.step.clone() }).expect("applies");
            assert!(wires(&bare).findings.iter().any(|f| f.check.id == "string-fuse-missing"));
        }
    }
    let fused = |r: &&Rung| matches!(&r.columns, Columns::Strings(c) if c.fuses_price.is_ok());
    assert_eq!(rungs.iter().filter(fused).count(), 1);
    // Its wire has no price, so that the whole has none.
    assert!(rungs.iter().all(|r| r.price.is_err()));
    // Taken back, the plan is what it was.
    let mut document = coachwire::document::Document::new(p.clone(), stock.into());
    let report = document.committed().report.clone();
    document.apply(rungs[0].step.clone()).expect("applies");
    assert_ne!(*document.committed().plan, p);
    document.undo();
    assert_eq!((&*document.committed().plan, &*document.committed().report), (&p, &*report));
}

/// The row that is chosen is what is shown, also on a run whose legs have gauges of their own, and sizing all does the
/// same.
#[test]
fn a_gauge_row_covers_legs_with_gauges_of_their_own() {
    let mut p = whole("larkspur");
    let i = p.runs.iter().position(|r| r.id.as_str() == "W5").expect("W5");
    let thin = "10 AWG".parse().expect("gauge");
    p.runs[i].legs[0].gauge = Some(Known::Is(thin));
    let effective = |p: &Plan| {
        let run = &p.runs[i];
        run.legs.iter().map(|l| *l.gauge.as_ref().unwrap_or(&run.gauge).known().expect("known")).collect::<Vec<_>>()
    };
    for rung in rows(&p, &LadderOf::Gauge(p.runs[i].id.clone())) {
        let after = with(&p, &rung);
        let c = rung.gauge().expect("gauge");
        assert!(effective(&after).iter().all(|g| *g == c.gauge), "{}: {:?}", rung.name(), effective(&after));
        assert_eq!(c.ampacity_a, wires(&after).runs[i].ampacity_a);
        assert_eq!(rung.current, effective(&p).iter().all(|g| *g == c.gauge));
    }
    // Beside new legs an existing one keeps its wire.
    p.runs[i].legs[0].state = coachwire::plan::State::Existing;
    if p.runs[i].legs.len() > 1 {
        for rung in rows(&p, &LadderOf::Gauge(p.runs[i].id.clone())) {
            assert_eq!(effective(&with(&p, &rung))[0], thin);
        }
    }
}

/// What a row says before its year is kept when the year comes: nothing it called cured comes back.
#[test]
fn the_year_adds_findings_and_takes_none_back() {
    let (stock, mut engine) = (Stock::default(), Engine::default());
    for (name, of) in [("larkspur", "A1"), ("bramble", "A1")] {
        let p = whole(name);
        let before = engine.evaluate(&p, &stock);
        let of = LadderOf::Strings(of.parse().expect("an id"));
        for early in engine.ladder(&p, &stock, &of) {
            let mut late = early.clone();
            assert!(early.harvest_wh_day.is_none(), "marked as waiting");
            engine.finish(&p, &stock, &before, &mut late);
            let keeps = |a: &[Finding], b: &[Finding]| a.iter().all(|f| b.iter().any(|g| g.identity() == f.identity()));
            assert!(keeps(&early.cured, &late.cured), "{name} {}", early.name());
            assert!(keeps(&early.new, &late.new), "{name} {}", early.name());
        }
    }
}

/// Every rating of a family that cannot open the fault is "no", also where the plan has that stop already; a family that
/// opens it has rows to choose.
#[test]
fn a_fuse_that_cannot_open_the_fault_does_not_fit() {
    let p = dunlin();
    let of = |family| rows(&p, &LadderOf::Fuse("W2".parse().expect("an id"), family));
    let thin = of(None);
    assert!(!thin.is_empty() && thin.iter().all(|r| matches!(r.fit, Fit::No(_))));
    let opens = of(Some(FuseFamily::ClassT));
    let fit: Vec<String> = opens.iter().filter(|r| r.fit == Fit::Yes).map(Rung::name).collect();
    // 40 A x 1.25 to the 70 A that 8 AWG carries.
    assert_eq!(fit, ["50 A", "60 A", "70 A"]);
}

/// By hand, one of four equal panels at a tenth of the light: side by side three and about a tenth of four stay, 77 %; in a
/// row its diodes carry the others' current past it, three of four less their drop, some 73 %; in two strings of two the
/// whole one stays and the other follows its shaded panel, 50 and about 5 %.
/// Source: Kirchhoff's laws with bypass diodes (Bishop 1988, Solar Cells 25:73).
#[test]
fn shade_costs_a_wiring_what_its_strings_lose() {
    let p = whole("larkspur");
    let rungs = rows(&p, &LadderOf::Strings(p.arrays[0].id.clone()));
    for (layout, least, most) in [("1S4P", 75.0, 79.0), ("2S2P", 50.0, 57.0), ("4S1P", 69.0, 75.0)] {
        let found = rungs.iter().find_map(|r| match &r.columns {
            Columns::Strings(c) if c.layout == layout => Some(c.shaded_pct.clone().expect("a figure")),
            _ => None,
        });
        let left = found.unwrap_or_else(|| panic!("no {layout}"));
        assert!((least..most).contains(&left), "{layout}: {left} %");
    }
}

/// What a row shows is what choosing it does: its fuse stands in the plan afterwards, the old one where it stays.
#[test]
fn a_gauge_row_brings_the_fuse_it_shows() {
    let mut brought = 0;
    for name in ["larkspur", "sorrel", "bramble", "marram", "thistle"] {
        let p = whole(name);
        for run in &p.runs {
            for rung in rows(&p, &LadderOf::Gauge(run.id.clone())) {
                let c = rung.gauge().expect("a gauge");
                let after = with(&p, &rung);
                let fused = after.runs.iter().find(|r| r.id == run.id).expect("the run").protection.first();
                let there = fused.and_then(|f| Some((*f.amps_a.known()?, *f.family.known()?)));
                assert_eq!(c.fuse, there, "{name} {} {}", run.id, rung.name());
                if c.sets_fuse {
                    brought += 1;
                    let stops = |r: &Report| r.findings.iter().filter(|f| f.level == Level::Stop).count();
                    let bare = rung.step.edits.iter().filter(|e| !format!("{e:?}").contains("protection"));
                    let bare = Step { name: String::new(), edits: bare.cloned().collect() };
                    let bare = wires(&p.with(&bare).expect("applies"));
                    assert!(stops(&wires(&after)) <= stops(&bare), "{name} {} {}", run.id, rung.name());
                } else {
                    assert_eq!(fused, run.protection.first(), "{name} {} {}", run.id, rung.name());
                }
            }
        }
    }
    assert!(brought > 20, "{brought} rows bring a fuse");
}

/// A row that reads yes, and says of no stop that it stays, leaves none on what is chosen for.
#[test]
fn yes_means_that_no_stop_is_left_unsaid() {
    let mut said = 0;
    for name in ["larkspur", "sorrel", "bramble", "marram", "thistle"] {
        let p = whole(name);
        let ids = |list: &[coachwire::plan::Run]| list.iter().map(|r| r.id.clone()).collect::<Vec<_>>();
        let runs = ids(&p.runs).into_iter().flat_map(|id| [LadderOf::Gauge(id.clone()), LadderOf::Fuse(id, None)]);
        for of in runs.chain(p.arrays.iter().map(|a| LadderOf::Strings(a.id.clone()))) {
            let (LadderOf::Gauge(id) | LadderOf::Fuse(id, _) | LadderOf::Strings(id)) = &of else { panic!() };
            let list = if matches!(of, LadderOf::Strings(_)) { "arrays" } else { "runs" };
            let path = coachwire::plan::FieldPath::new(format!("{list}.{id}"));
            for rung in rows(&p, &of) {
                let after = wires(&with(&p, &rung));
                let stops = after.findings.iter().filter(|f| f.level == Level::Stop && f.subject.is_within(&path));
                said += rung.keeps.len();
                if rung.fit == Fit::Yes && rung.keeps.is_empty() {
                    assert_eq!(stops.count(), 0, "{name} {of:?} {}", rung.name());
                }
            }
        }
    }
    assert!(said > 10, "{said} stops said to stay");
}

/// The row that the plan has changes nothing and reports no change.
#[test]
fn the_row_that_is_there_changes_nothing() {
    for name in ["larkspur", "sorrel", "bramble", "marram", "thistle"] {
        let p = whole(name);
        for array in &p.arrays {
            let rungs = rows(&p, &LadderOf::Strings(array.id.clone()));
            let here: Vec<&Rung> = rungs.iter().filter(|r| r.current).collect();
            assert_eq!(here.len(), 1, "{name} {}", array.id);
            assert_eq!(with(&p, here[0]), p, "{name} {}", array.id);
            assert!(here[0].new.is_empty() && here[0].cured.is_empty(), "{name} {}: {:?}", array.id, here[0].new);
        }
        for run in &p.runs {
            for rung in rows(&p, &LadderOf::Gauge(run.id.clone())).iter().filter(|r| r.current) {
                let sets = rung.gauge().is_some_and(|c| c.sets_fuse);
                assert!(sets || with(&p, rung) == p, "{name} {}", run.id);
            }
        }
    }
}

/// A run whose wire is too thin for any fuse that carries its load still has a ladder of fuses, each with what forbids it;
/// choosing a rating puts one at its source end.
#[test]
fn a_run_too_thin_for_its_fuse_shows_ratings_to_be_added() {
    let mut p = plan(SOUND);
    let id = p.runs[4].id.clone();
    p.runs[4].protection.clear();
    p.runs[4].gauge = Known::Is("14 AWG".parse().expect("gauge"));
    let figures = wires(&p).runs.swap_remove(4);
    assert!(figures.proposed.is_none(), "94.7 A on 14 AWG: no fuse does both");
    let rungs = rows(&p, &LadderOf::Fuse(id, None));
    assert!(rungs.len() > 3);
    assert!(rungs.iter().all(|r| matches!(r.fit, Fit::No(_)) && !r.current), "{rungs:?}");
    assert_eq!(with(&p, &rungs[2]).runs[4].protection.len(), 1);
}

/// In a plan in feet no row's reason speaks of metres: 4.57 m are 15'.
#[test]
fn reasons_are_in_the_plans_units() {
    let p = whole("thistle");
    let mut said = 0;
    for run in &p.runs {
        let rows = rows(&p, &LadderOf::Gauge(run.id.clone()));
        for rung in &rows {
            if let Fit::No(why) = &rung.fit {
                assert!(!why.contains(" m of wire") && !why.contains(" mm "), "{}: {why}", run.id);
                said += usize::from(why.contains("of wire"));
            }
        }
    }
    let proposal = Engine::default().propose_sizes(&p, &Stock::default(), false);
    let texts = format!("{proposal:?}");
    assert!(!texts.contains(" m of wire"), "{texts}");
    assert!(said > 0, "no row tells of a distance");
}

/// A row of the fuse ladder says no where the checks say that the fuse is too large, and nowhere else: 6 AWG on terminals of 75 C carries
/// 95 A, and 100 A is the next rating up, which a note says (NEC 310.17, 240.4(B)).
#[test]
fn the_next_rating_up_may_be_chosen_from_the_fuse_ladder() {
    let p = super::mistakes::sound();
    let rows = rows(&p, &LadderOf::Fuse("W6".parse().expect("id"), None));
    let of = |amps: f64| {
        let is = |r: &&Rung| matches!(&r.columns, Columns::Fuse(f) if (f.amps - amps).abs() < 1e-9);
        rows.iter().find(is).expect("a row")
    };
    assert_eq!(of(100.0).fit, Fit::Yes, "{:?}", of(100.0));
    assert!(of(100.0).new.iter().any(|f| f.check.id == "next-rating-up"), "{:?}", of(100.0).new);
    assert!(matches!(of(125.0).fit, Fit::No(_)), "{:?}", of(125.0).fit);
}
