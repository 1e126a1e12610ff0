//! What sizing all leaves as it is: what is right already, what the truck cannot better, a fuse's type and place.

use super::mistakes::with;
use super::samples::SOUND;
use super::{plan, texts};
use coachwire::engine::sizing::Proposal;
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::wiring::FuseAt;
use coachwire::plan::{Known, Plan, Run, Value};
use coachwire::standards::conductor::area_mm2;
use coachwire::standards::kinds::{FuseFamily, Metal};
use coachwire::stock::{Fuse, Spool, Stock};
use coachwire::units::{Amps, Celsius, Metres, Number};

fn named(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("there").text).expect("reads")
}

fn run<'p>(p: &'p Plan, id: &str) -> &'p Run {
    p.runs.iter().find(|r| r.id.as_str() == id).expect("the run")
}

fn gauge(p: &Plan, id: &str) -> String {
    run(p, id).gauge.known().expect("gauge").to_string()
}

fn wires(p: &Plan, stock: &Stock) -> Report {
    Engine::default().evaluate_wires(p, stock)
}

fn sized(p: &Plan, stock: &Stock, only: bool) -> (Proposal, Plan) {
    let proposal = Engine::default().propose_sizes(p, stock, only);
    let with = p.with(&proposal.step).expect("applies");
    (proposal, with)
}

fn why<'p>(proposal: &'p Proposal, id: &str) -> &'p str {
    &proposal.rows.iter().find(|r| r.run.as_str() == id).expect("a row").why
}

fn counts(r: &Report) -> [usize; 2] {
    [Level::Stop, Level::Caution].map(|level| r.findings.iter().filter(|f| f.level == level).count())
}

/// A truck with these spools of 105 C wire, 60 m each, and these class T fuses, one each.
fn truck(spools: &[&str], fuses: &[f64]) -> Stock {
    let mut stock = Stock::default();
    stock.truck.spools = spools
        .iter()
        .map(|g| Spool {
            gauge: Known::Is(g.parse().expect("gauge")),
            insulation_c: Known::Is(Celsius(105.0)),
            left_m: Known::Is(Metres(60.0)),
            price_per_metre: Some(Known::Is(Number(3.0))),
            ..Spool::default()
        })
        .collect();
    let fuse = |a: &f64| Fuse {
        family: Known::Is(FuseFamily::ClassT),
        amps_a: Known::Is(Amps(*a)),
        count: Known::Is(Number(1.0)),
        ..Fuse::default()
    };
    stock.truck.fuses = fuses.iter().map(fuse).collect();
    stock
}

/// Practice's least wire bounds what is proposed anew, and thickens nothing that raises no finding: an 18 AWG lead on 1 A,
/// 16 AWG on its fuse (18 AWG takes 6 A, 16 AWG 8 A by former NEC 551.10).
#[test]
fn what_is_right_stays_though_practice_lays_thicker() {
    for (name, id, had) in [("thistle", "W11", "18 AWG"), ("bramble", "W7", "16 AWG")] {
        let p = named(name);
        assert_eq!(gauge(&p, id), had);
        let (proposal, with) = sized(&p, &Stock::default(), false);
        assert_eq!(gauge(&with, id), had, "{name}: {}", why(&proposal, id));
    }
    // Too thin for its fuse it is sized anew, and no thinner than practice: 10 A on 18 AWG, which takes 6 A.
    let edits = [
        ("runs.W7.gauge", Value::Gauge("18 AWG".parse().expect("g"))),
        ("runs.W7.protection.F1.amps_a", Value::Number(10.0)),
    ];
    let p = with(&named("bramble"), &edits);
    let above = |f: &&coachwire::engine::Finding| f.check.id == "fuse-above-conductor" && f.run() == Some("W7");
    assert!(wires(&p, &Stock::default()).findings.iter().any(|f| above(&f)));
    assert_eq!(gauge(&sized(&p, &Stock::default(), false).1, "W7"), "14 AWG");
}

/// Wire that a large fuse once asked for goes again when the fuse does: no thinner gauge has the same findings.
#[test]
fn nothing_stays_thick_for_a_fuse_that_went() {
    let p = named("thistle");
    let (_, q) = sized(&p, &Stock::default(), false);
    let now = wires(&q, &Stock::default());
    let at = |g: &str| wires(&with(&q, &[("runs.W5.gauge", Value::Gauge(g.parse().expect("g")))]), &Stock::default());
    let ladder: Vec<_> = run(&q, "W5").gauge.known().expect("known").ladder().map(|g| g.to_string()).collect();
    let here = ladder.iter().position(|g| *g == gauge(&q, "W5")).expect("in it");
    let thinner = at(&ladder[here - 1]);
    let brings = thinner.findings.iter().any(|f| f.level != Level::Note && !now.says(f));
    let leans = |r: &Report| r.findings.iter().filter(|f| f.check.id == "next-rating-up").count();
    assert!(brings || leans(&thinner) > leans(&now), "{} as well as {}", ladder[here - 1], gauge(&q, "W5"));
}

/// From the truck alone nothing gets worse, and no fuse is put that is not there.
#[test]
fn what_the_truck_cannot_better_is_held() {
    let mut few = truck(&["8 AWG", "10 AWG", "2/0 AWG"], &[30.0]);
    for (spool, left) in few.truck.spools.iter_mut().zip([15.24, 60.0, 12.0]) {
        spool.left_m = Known::Is(Metres(left));
    }
    let thin = truck(&["14 AWG"], &[]);
    let one = truck(&["8 AWG"], &[]);
    let all = [("larkspur", &few), ("thistle", &one), ("bramble", &thin), ("sorrel", &thin)];
    for (name, stock) in all {
        let p = named(name);
        let (proposal, with) = sized(&p, stock, true);
        let (before, after) = (wires(&p, stock), wires(&with, stock));
        let brought: Vec<String> =
            after.findings.iter().filter(|f| f.level != Level::Note && !before.says(f)).map(|f| f.text()).collect();
        assert_eq!(brought, Vec::<String>::new(), "{name}");
        assert!(counts(&after) <= counts(&before), "{name}");
        for (old, new) in p.runs.iter().zip(&with.runs) {
            for (was, is) in old.protection.iter().zip(&new.protection).filter(|(a, b)| a != b) {
                let there = stock.truck.fuses.iter().any(|f| f.family == is.family && f.amps_a == is.amps_a);
                assert!(there, "{name} {}: {was:?} > {is:?}, {}", new.id, why(&proposal, new.id.as_str()));
            }
        }
    }
    // Its brakes' wire, and a home run no thinner than rule least-array-mm2.
    let mm2 = |p: &Plan| area_mm2(*run(p, "W16").gauge.known().expect("gauge"));
    assert!(mm2(&sized(&named("larkspur"), &few, true).1) >= mm2(&named("larkspur")));
    for name in ["bramble", "sorrel"] {
        assert_eq!(gauge(&sized(&named(name), &thin, true).1, "W1"), gauge(&named(name), "W1"));
    }
}

#[test]
fn a_row_that_is_held_names_the_metal() {
    let mut p = plan(SOUND);
    for leg in p.runs.iter_mut().flat_map(|r| &mut r.legs) {
        leg.metal = Metal::Tinned;
    }
    let (proposal, with) = sized(&p, &truck(&["10 AWG", "8 AWG", "2/0 AWG"], &[]), true);
    assert_eq!(with, p);
    let said = why(&proposal, "W6");
    assert!(said.contains("is plain, the run is drawn tinned"), "{said}");
}

/// Its type and its measured place are what the survey found.
#[test]
fn a_fuse_keeps_its_type_and_its_place() {
    let open =
        [("runs.W6.protection.F1.amps_a", Value::Unknown), ("runs.W6.protection.F1.distance_m", Value::Number(0.17))];
    let p = with(&plan(SOUND), &open);
    let family = |p: &Plan| *run(p, "W6").protection[0].family.known().expect("known");
    let (_, with_it) = sized(&p, &Stock::default(), false);
    let fuse = &run(&with_it, "W6").protection[0];
    assert_eq!((family(&with_it), fuse.distance_m.known()), (family(&p), Some(&Metres(0.17))), "{fuse:?}");
    assert!(fuse.amps_a.known().is_some());
    // A blade of 1 kA on a bank of 4 kA has none that opens the fault: another type, said so, where the old one sat.
    let blade = with(&p, &[("runs.W6.protection.F1.family", Value::Word("ISO 8820-3 C"))]);
    let (proposal, with_it) = sized(&blade, &Stock::default(), false);
    let fuse = &run(&with_it, "W6").protection[0];
    assert_eq!(fuse.distance_m.known(), Some(&Metres(0.17)));
    assert_ne!(family(&with_it), family(&blade));
    let said = why(&proposal, "W6");
    assert!(said.contains("in place of ISO 8820-3 C: no ISO 8820-3 C fits there"), "{said}");
}

/// No gauge for which no fuse fits: 27.9 A want 34.9 A, 10 AWG takes 30 A (former NEC 551.10); and a run that has none and
/// has to have one gets it, at its battery end (common practice).
#[test]
fn a_run_without_a_fuse_has_room_for_one() {
    let mut p = with(&plan(SOUND), &[("runs.W6.design_override_a", Value::Number(27.9))]);
    p.runs[2..6].iter_mut().for_each(|r| r.protection.clear());
    let (proposal, q) = sized(&p, &Stock::default(), false);
    let figures = &wires(&q, &Stock::default()).runs[5];
    let (least, most) = (figures.fuse_min_a.clone().expect("known").0, figures.fuse_max_a.clone().expect("known").0);
    assert!((least - 1.25 * 27.9).abs() < 0.1 && most >= least, "{least} {most} {}", gauge(&q, "W6"));
    let said = why(&proposal, "W3");
    assert!(said.starts_with("had no fuse; "), "{said}");
    let put = &run(&q, "W6").protection[0];
    assert!(put.at == FuseAt::From && put.amps_a.known().is_some_and(|a| a.0 >= least && a.0 <= most), "{put:?}");
    assert!(wires(&p, &Stock::default()).findings.iter().any(|f| f.check.id == "source-end-unfused"));
    assert!(!wires(&q, &Stock::default()).findings.iter().any(|f| f.check.id == "source-end-unfused"));
    // W4 and W5 lie behind a fuse that protects them: none is put there (common practice).
    assert!(run(&q, "W4").protection.is_empty() && run(&p, "W4").protection.is_empty());
    assert!(!why(&sized(&plan(SOUND), &Stock::default(), false).0, "W3").contains("no fuse"));
    // From a truck without fuses none is put, and the row says which it would be.
    let (from_truck, _) = sized(&p, &Stock::default(), true);
    let bare = why(&from_truck, "W3");
    assert!(bare.contains("no fuse: put one") && bare.contains("the truck has none"), "{bare}");
}

/// A panel takes 10 AWG at most, its run is 8 AWG on 40 A: 10 AWG goes with a smaller fuse (30 A at most, former NEC 551.10).
#[test]
fn a_wire_too_thick_for_its_terminal_goes_with_its_fuse() {
    let too_thick =
        |p: &Plan| wires(p, &Stock::default()).findings.iter().any(|f| f.check.id == "terminal-does-not-take");
    let mut p = with(
        &plan(SOUND),
        &[
            ("runs.W6.gauge", Value::Gauge("8 AWG".parse().expect("g"))),
            ("runs.W6.protection.F1.amps_a", Value::Number(40.0)),
        ],
    );
    let to = run(&p, "W6").to.clone();
    let id = to.known().expect("an end").as_str().to_string();
    let load = p.loads.iter_mut().find(|l| l.id.as_str() == id).map(|l| &mut l.ratings);
    let ratings = load.or_else(|| p.devices.iter_mut().find(|d| d.id.as_str() == id).map(|d| &mut d.ratings));
    ratings.expect("its far end").largest_wire = Some(Known::Is("10 AWG".parse().expect("g")));
    assert!(too_thick(&p), "{}", texts(&wires(&p, &Stock::default())));
    let (proposal, q) = sized(&p, &Stock::default(), false);
    assert!(!too_thick(&q), "{}", why(&proposal, "W6"));
    let amps = run(&q, "W6").protection[0].amps_a.known().expect("known").0;
    assert!(amps <= 30.0, "{amps}");
}
