//! Fuses weighed as gauges are: a larger one, or one of a family that loses less, where its wire allows it; two conductors in
//! each pole; what would do where nothing does.

use super::mistakes::{sound, with};
use super::sizing_whole::{read, wires};
use super::{evaluate, found};
use coachwire::engine::sizing::Proposal;
use coachwire::engine::{Engine, LadderOf, Level, Report};
use coachwire::plan::{Known, Plan, Run, Step, Value};
use coachwire::standards::conductor::area_mm2;
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::{Spool, Stock};
use coachwire::units::{Amps, Celsius, Number, Watts};

/// Gauges and ratings that nobody has entered. A van in mm2: two batteries with a fused lead each, a main fuse, solar, an
/// inverter, a DC-DC charger; and a coach in AWG with a 2000 W inverter.
const METRIC_VAN: &str = include_str!("plans/metric-van.ron");
const INVERTER_COACH: &str = include_str!("plans/inverter-coach.ron");

fn sized(p: &Plan) -> (Proposal, Plan, Report) {
    let proposal = Engine::default().propose_sizes(p, &Stock::default(), false);
    let q = p.with(&proposal.step).expect("applies");
    let again = Engine::default().size_all(&q, &Stock::default(), false);
    assert!(again.edits.is_empty(), "sized again: {:?}", again.edits);
    let r = wires(&q);
    (proposal, q, r)
}

fn run<'p>(p: &'p Plan, id: &str) -> &'p Run {
    p.runs.iter().find(|r| r.id.as_str() == id).expect("the run")
}

fn amps(p: &Plan, id: &str) -> f64 {
    run(p, id).protection[0].amps_a.known().expect("a rating").0
}

fn open(r: &Report) -> Vec<String> {
    r.findings.iter().filter(|f| f.level != Level::Note).map(|f| f.text()).collect()
}

/// A fuse loses about the same volts at its rating, whatever that is (common practice): its ohms fall with it. With the
/// smallest ratings neither coach's inverter is within 2 % with any wire (4/0 AWG all along: 2.39 %); with larger ones, within
/// what their wire carries (NEC 240.4), both are, and nothing is left to say.
#[test]
fn a_larger_fuse_reaches_what_no_gauge_does() {
    for text in [METRIC_VAN, INVERTER_COACH] {
        let (_, q, r) = sized(&read(text));
        assert!(open(&r).is_empty(), "{:?}", open(&r));
        for (run, figures) in q.runs.iter().zip(&r.runs) {
            let Some(rating) = run.protection.first().and_then(|f| f.amps_a.known()) else { continue };
            let (least, most) = (figures.fuse_min_a.clone().expect("A"), figures.fuse_max_a.clone().expect("A"));
            assert!(rating.0 >= least.0 - 1e-9 && rating.0 <= most.0 + 1e-9, "{}: {rating:?}", run.id);
        }
    }
    // 2000 W / (12 V x 0.9) and 100 W of loads: 193.5 A, times 1.25 = 242 A: 250 A is the smallest that would do.
    let (_, q, _) = sized(&read(INVERTER_COACH));
    assert!(amps(&q, "W4") > 250.0, "{}", amps(&q, "W4"));
    // Equal leads of batteries in parallel get equal fuses.
    let (_, q, _) = sized(&read(METRIC_VAN));
    assert_eq!(amps(&q, "B1"), amps(&q, "B2"));
}

/// None larger than is of use: the next smaller one for any of them leaves a target missed, or costs more wire.
#[test]
fn no_fuse_is_larger_than_is_of_use() {
    let p = read(INVERTER_COACH);
    let (_, q, _) = sized(&p);
    let copper = |p: &Plan| -> f64 {
        let of = |r: &Run| area_mm2(*r.gauge.known().expect("a gauge")) * r.legs[0].length_m.known().expect("m").0;
        p.runs.iter().map(of).sum()
    };
    let ratings = coachwire::standards::fuse::ratings(FuseFamily::ClassT);
    let lower = ratings.iter().copied().filter(|a| *a < amps(&q, "W4")).fold(0.0, f64::max);
    let mut other = p.clone();
    for (run, sized) in other.runs.iter_mut().zip(&q.runs) {
        run.protection.clone_from(&sized.protection);
        if run.id.as_str() == "W4" {
            run.protection[0].amps_a = Known::Is(Amps(lower));
        }
    }
    let (_, with, r) = sized(&other);
    // It is weighed against copper itself: it stays only where another spares less than half a kilogram of it.
    let worse = !open(&r).is_empty() || copper(&with) > copper(&q) || amps(&with, "W4") > lower;
    assert!(worse, "{lower} A: {} of {}", copper(&with), copper(&q));
}

/// Where the family is open too, the wire is no thicker for a family that loses more.
#[test]
fn an_open_family_costs_no_copper() {
    let p = read(INVERTER_COACH);
    let mut q = p.clone();
    for f in q.runs.iter_mut().flat_map(|r| &mut r.protection) {
        (f.family, f.interrupt_a) = (Known::Unknown, None);
    }
    let (known, open_too) = (sized(&p).1, sized(&q));
    assert!(open(&open_too.2).is_empty(), "{:?}", open(&open_too.2));
    for id in ["W3", "W9"] {
        let mm2 = |p: &Plan| area_mm2(*run(p, id).gauge.known().expect("a gauge"));
        assert!(mm2(&open_too.1) <= mm2(&known) + 1e-9, "{id}: {} > {}", mm2(&open_too.1), mm2(&known));
    }
}

/// Two in each pole where the terminals are known to take two (the inverter takes two of each gauge; bus bars have studs):
/// with the fuse held at 250 A by the bar behind it, no single gauge is within 2 % and two in each pole are. Where nothing holds it, it
/// is a larger one.
#[test]
fn two_in_each_pole_reach_what_one_does_not() {
    let mut p = read(INVERTER_COACH);
    for r in &mut p.runs {
        if let Some(f) = r.protection.first_mut().filter(|_| r.id.as_str() == "W4") {
            f.amps_a = Known::Is(Amps(250.0));
        }
    }
    let (_, q, r) = sized(&p);
    assert!(open(&r).is_empty() && amps(&q, "W4") > 250.0, "{:?} {}", open(&r), amps(&q, "W4"));
    let ends = run(&p, "W4").to.known().expect("an end").clone();
    let bar = p.devices.iter_mut().find(|d| d.id == ends).expect("a device");
    bar.ratings.amps_a = Some(Known::Is(Amps(250.0)));
    let (proposal, _, r) = sized(&p);
    let row = proposal.rows.iter().find(|r| r.run.as_str() == "W4").expect("the row");
    assert_eq!(found(&r, "drop-over-target").len(), 1, "{:?}", open(&r));
    assert!(row.why.contains("a fuse of W4 300 A with thicker wire would do"), "{}", row.why);
    p.inverters[0].ratings.wires_each = Some(Known::Is(Number(2.0)));
    let (_, q, r) = sized(&p);
    assert!(open(&r).is_empty(), "{:?}", open(&r));
    let per_pole = run(&q, "W5").legs[0].per_pole.known().expect("a number").0;
    assert!((per_pole - 2.0).abs() < 1e-9, "{per_pole}");
}

/// Two that are drawn stay, where they reach what one does not.
#[test]
fn two_that_are_drawn_stay() {
    let mut p = read(INVERTER_COACH);
    for r in p.runs.iter_mut().filter(|r| ["W4", "W4b", "W5"].contains(&r.id.as_str())) {
        r.legs[0].per_pole = Known::Is(Number(2.0));
    }
    assert!(open(&sized(&p).2).is_empty());
}

/// A drop whose fuse loses most is cured by the next rating that its wire allows, and that is offered.
#[test]
fn a_larger_fuse_is_a_cure_of_a_drop() {
    let mut p = sized(&read(INVERTER_COACH)).1;
    for r in p.runs.iter_mut().filter(|r| r.id.as_str() == "W4") {
        r.protection[0].amps_a = Known::Is(Amps(250.0));
    }
    let r = evaluate(&p);
    let drop = found(&r, "drop-over-target").first().copied().expect("a drop").clone();
    let steps = Engine::default().cures(&p, &Stock::default(), &drop);
    let step: &Step = steps.iter().find(|s| s.name.starts_with("W4 fuse: ")).expect("another fuse");
    let after = evaluate(&p.with(step).expect("applies"));
    assert!(found(&after, "drop-over-target").is_empty() && found(&after, "fuse-above-conductor").is_empty());
}

/// The list of a working reckons with no fuse that the plan has not and the run does not want: W5 is protected by W4's.
#[test]
fn a_working_reckons_with_the_fuses_that_are_there() {
    let p = sized(&read(INVERTER_COACH)).1;
    let select = |p: &Plan| Engine::default().select(p, &Stock::default(), &"W5".parse().expect("id")).expect("known");
    let now = select(&p);
    assert!(now.fuse.is_none() && now.meets_target, "{now:?}");
    // Over its target: the percent of its own gauge is that of the plan.
    let mut small = p.clone();
    for r in small.runs.iter_mut().filter(|r| r.id.as_str() == "W4") {
        r.protection[0].amps_a = Known::Is(Amps(250.0));
    }
    let figures = evaluate(&small).runs.iter().find(|r| r.id.as_str() == "W5").expect("its line").clone();
    let (pct, gauge) = (figures.path_drop_pct.expect("percent"), *run(&small, "W5").gauge.known().expect("a gauge"));
    let own = format!("{gauge}: the path loses {pct:.2} %");
    let reasons = select(&small).reasons;
    assert!(reasons.iter().any(|r| r.starts_with(&own)), "{own}: {reasons:?}");
}

/// A row of a gauge ladder has the percent of the path that has least room with it, and says which, where it is not that of
/// the plan.
#[test]
fn a_row_says_what_the_plan_says_then() {
    let mut others = 0;
    for (m2, watts) in [(0.3, 1000.0), (0.9, 1000.0), (1.1, 700.0), (1.2, 500.0)] {
        let n = Value::Number;
        let p = with(&sound(), &[("runs.W2.legs.L1.length_m", n(m2)), ("inverters.INV.watts_w", n(watts))]);
        let index = p.runs.iter().position(|r| r.id.as_str() == "W3").expect("the run");
        for row in Engine::default().ladder(&p, &Stock::default(), &LadderOf::Gauge(p.runs[index].id.clone())) {
            let columns = row.gauge().expect("a gauge");
            let after = &evaluate(&p.with(&row.step).expect("applies")).runs[index];
            let pct = after.path_drop_pct.clone().expect("percent");
            assert_eq!(columns.path_drop_pct, Ok(pct), "{}", row.name());
            if let Some((other, shown, target)) = &columns.other_path {
                others += 1;
                let then = (after.path_end.as_ref(), pct, after.target_pct);
                assert_eq!((Some(other), *shown, Some(*target)), then);
            }
        }
    }
    assert!(others > 0, "no row whose judged path changes");
}

/// A stop that a fuse alone cures is cured, though the path is out of reach of any gauge.
#[test]
fn a_fuse_too_small_goes_though_its_path_is_out_of_reach() {
    let n = Value::Number;
    let far = [("runs.W5.legs.L1.length_m", n(9.0)), ("runs.W5.protection.F1.amps_a", n(80.0))];
    let p = with(&sound(), &far);
    let before = wires(&p);
    let small = |r: &Report| r.findings.iter().filter(|f| f.check.id == "fuse-below-design").count();
    assert_eq!(small(&before), 1, "{:?}", open(&before));
    let (_, q, after) = sized(&p);
    assert_eq!(small(&after), 0, "{:?} {:?}", open(&after), amps(&q, "W5"));
}

/// What nobody has entered is no zero: the row says so.
#[test]
fn a_spool_of_unknown_feet_is_not_said_to_be_empty() {
    let mut stock = Stock::default();
    stock.truck.spools.push(Spool {
        gauge: Known::Is("4 AWG".parse().expect("gauge")),
        insulation_c: Known::Is(Celsius(125.0)),
        ..Spool::default()
    });
    let rows = Engine::default().propose_sizes(&sound(), &stock, true).rows;
    assert!(rows.iter().all(|r| !r.why.contains("-0")), "{rows:?}");
    let said = "of a spool it is not entered how much is left";
    assert!(rows.iter().any(|r| r.why.contains(said)), "{rows:?}");
}

/// Where a path meets its target only with two in each pole, which has to be asked, the row says with what: made so in a plan
/// whose terminals take two, the path does.
#[test]
fn two_that_have_to_be_asked_for_are_said_with_what_would_do() {
    let mut told = Vec::new();
    for text in [METRIC_VAN, INVERTER_COACH] {
        let (_, fitted, _) = sized(&read(text));
        for times in [1.5, 2.0, 2.5, 3.0, 4.0] {
            let mut far = fitted.clone();
            for leg in far.runs.iter_mut().flat_map(|run| &mut run.legs) {
                let of = |m: &mut coachwire::units::Metres| m.0 *= times;
                if let Known::Is(m) = &mut leg.length_m {
                    of(m);
                }
            }
            let proposal = Engine::default().propose_sizes(&far, &Stock::default(), false);
            for row in &proposal.rows {
                let Some(said) = row.why.split("; ").find_map(|s| s.strip_suffix(" would do then")) else { continue };
                let (wires_said, fuses) = match said.split_once(" with ") {
                    Some((wires, fuses)) => (wires, Some(fuses)),
                    None => (said, None),
                };
                // The other choices of the proposal, its fuses above all, stand.
                let mut plan = far.with(&proposal.step).expect("applies");
                for one in wires_said.split(", ") {
                    let (id, make) = one.split_once(' ').expect("a run and its make");
                    let gauge = make.strip_prefix("2 x ").unwrap_or_else(|| panic!("{said}"));
                    let run = plan.runs.iter_mut().find(|r| r.id.as_str() == id).expect("a run");
                    run.gauge = Known::Is(gauge.parse().expect("a gauge"));
                    for leg in &mut run.legs {
                        (leg.gauge, leg.per_pole) = (None, Known::Is(Number(2.0)));
                    }
                }
                let ratings = fuses.map_or("", |f| f.trim_start_matches("a fuse of ").trim_start_matches("fuses of "));
                for one in ratings.split(", ").filter(|one| !one.is_empty()) {
                    let (id, amps) = one.split_once(' ').expect("a run and its fuse");
                    let run = plan.runs.iter_mut().find(|r| r.id.as_str() == id).expect("a run");
                    let amps: f64 = amps.trim_end_matches(" A").parse().expect("amps");
                    run.protection[0].amps_a = Known::Is(Amps(amps));
                }
                // All else on the path as thick as it comes.
                let path = wires(&far).runs.iter().find(|r| r.id == row.run).expect("its figures").path.clone();
                for run in plan.runs.iter_mut().filter(|r| path.contains(&r.id)) {
                    if !wires_said.split(", ").any(|one| one.starts_with(&format!("{} ", run.id))) {
                        let most = if text == METRIC_VAN { "95 mm2" } else { "4/0 AWG" };
                        run.gauge = Known::Is(most.parse().expect("a gauge"));
                    }
                }
                let figures = wires(&plan).runs.into_iter().find(|r| r.id == row.run).expect("its figures");
                let (pct, target) = (figures.path_drop_pct.expect("known"), figures.target_pct.expect("one"));
                assert!(pct <= target + 0.05, "{}: {said}: {pct} of {target}", row.run);
                told.push(said.to_string());
            }
        }
    }
    assert!(!told.is_empty(), "no path here wants two");
    assert!(told.iter().any(|said| said.contains("fuse")), "{told:?}");
}

/// A fuse above the first rating that 1.25 times its current wants stands nowhere above one ahead of it, and its row says what the path
/// would lose without; where the target is met by wire alone, as with an inverter of half the watts, each is the first.
#[test]
fn a_fuse_is_the_usual_one_where_wire_alone_meets_the_target() {
    let mut raised = 0;
    for (text, watts) in
        [(METRIC_VAN, None), (INVERTER_COACH, None), (METRIC_VAN, Some(500.0)), (INVERTER_COACH, Some(800.0))]
    {
        let mut p = read(text);
        p.inverters.iter_mut().for_each(|i| i.watts_w = watts.map_or(i.watts_w, |w| Known::Is(Watts(w))));
        let (proposal, q, r) = sized(&p);
        let above = |row: &coachwire::engine::sizing::SizedRun| {
            let figures = r.runs.iter().find(|f| f.id == row.run).expect("figures");
            let ((amps, family), least) = (row.fuse.1?, figures.fuse_min_a.clone().ok()?.0);
            let first = coachwire::standards::fuse::smallest_at_least(family, least)?;
            (row.fuse.0.is_none() && amps.0 > first + 1e-9).then_some(amps.0)
        };
        for row in &proposal.rows {
            let Some(amps) = above(row) else { continue };
            raised += 1;
            assert!(watts.is_none(), "{}: {amps} A: {}", row.run, row.why);
            assert!(row.why.contains(" for less drop; with "), "{}: {}", row.run, row.why);
            let main = run(&q, "W4").protection[0].amps_a.known().expect("amps").0;
            assert!(row.run.as_str().starts_with('B') || amps <= main + 1e-9, "{}: {amps} A behind {main} A", row.run);
        }
    }
    assert!(raised > 0);
}
