//! What would serve the load that goes short: every answer against the year of a plan that is so changed.

use super::evaluate;
use super::mistakes::with;
use coachwire::engine::report::{Limit, Losses, MonthFigures, Relief, Reliefs, Remedy};
use coachwire::engine::{Engine, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Plan, Strings, Value};
use coachwire::stock::Stock;
use coachwire::units::WattHours;

fn plan(name: &str) -> Plan {
    Plan::from_text(sample(name).unwrap().text).unwrap()
}

fn reliefs(plan: &Plan) -> (Report, Reliefs) {
    let (mut engine, stock) = (Engine::default(), Stock::default());
    let before = engine.evaluate(plan, &stock);
    let reliefs = engine.reliefs(plan, &stock, &before).expect("known");
    (before, reliefs)
}

fn short(report: &Report) -> [f64; 12] {
    std::array::from_fn(|m| report.year.months[m].shortfall_wh_day.clone().unwrap().0)
}

fn of(reliefs: &Reliefs, is: impl Fn(&Remedy) -> bool) -> &Relief {
    reliefs.each.iter().find(|r| is(&r.remedy)).expect("tried")
}

/// The changes made by hand, one plan each.
#[test]
fn each_remedy_serves_what_a_plan_with_it_serves() {
    for name in ["larkspur", "sorrel", "marram"] {
        let plan = plan(name);
        let (before, told) = reliefs(&plan);
        let now = short(&before);
        let array = &plan.arrays[0];
        let mut strings = array.strings.0.clone();
        strings.push(strings[0].clone());
        let at = format!("arrays.{}.strings", array.id);
        let longer = with(&plan, &[(at.as_str(), Value::Text(Strings(strings).to_string()))]);
        let parallel = plan.bank.parallel.known().unwrap().0;
        let doubled = with(&plan, &[("bank.parallel", Value::Number(2.0 * parallel))]);
        for (relief, changed) in [
            (of(&told, |r| *r == Remedy::String(array.id.clone())), longer),
            (of(&told, |r| *r == Remedy::Batteries), doubled),
        ] {
            let then = short(&evaluate(&changed));
            for m in 0..12 {
                let served = relief.served_wh_day[m].unwrap();
                assert!((served - (now[m] - then[m])).abs() < 1e-9, "{name}, {:?}, month {m}: {served}", relief.remedy);
            }
        }
        // No remedy serves more than goes short.
        for relief in &told.each {
            for (served, short) in relief.served_wh_day.iter().zip(now) {
                assert!(served.unwrap() <= short + 1e-9, "{name}: {relief:?}");
            }
        }
    }
}

/// A coach that loses much to a full bank in a month in which load goes short, and that no larger bank would help: with a string more
/// under all that stands on its roof, where shade takes most, and as it is with nothing there.
#[test]
fn a_full_bank_is_no_limit_where_a_larger_one_serves_nothing() {
    let shaded = with(&plan("larkspur"), &[("arrays.A1.strings", Value::Text("2S3P P1".into()))]);
    let mut bare = plan("larkspur");
    bare.roof.obstacles.clear();
    for (plan, lacks) in [(shaded, Limit::Shade), (bare, Limit::Sun)] {
        let (before, told) = reliefs(&plan);
        for (m, month) in before.year.months.iter().enumerate() {
            let (short, full) = (short(&before)[m], month.losses.clone().unwrap().full.unwrap().0);
            let string = told.each.iter().filter(|r| matches!(r.remedy, Remedy::String(_)));
            let string = string.filter_map(|r| r.served_wh_day[m]).fold(0.0, f64::max);
            let bank = of(&told, |r| *r == Remedy::Batteries).served_wh_day[m].unwrap();
            let limit = month.limited_by.clone().unwrap().map(|(limit, _)| limit);
            if short >= 0.5 {
                assert_ne!(limit, Some(Limit::Full), "month {m}");
            } else {
                assert_ne!(limit, Some(Limit::Sun), "month {m}: nothing goes short");
            }
            // February loses to a full bank more than half of what goes short, and a larger one serves next to nothing of it.
            if m == 1 {
                assert!(short > 100.0 && full > 0.5 * short, "{short} and {full}");
                assert!(string > 0.5 * short && bank < 0.05 * short, "{string} by a string, {bank} by batteries");
                assert_eq!(limit, Some(lacks));
                let best = told.best(m, month).expect("something serves");
                assert!(matches!(best.0, Remedy::String(_)) && best.1 == string, "{best:?}");
            }
        }
    }
}

/// Where nothing goes short nothing is tried; where the year is not known it says what it waits for.
#[test]
fn nothing_is_tried_where_nothing_goes_short() {
    let idle = with(&plan("larkspur"), &[("loads.L1.watts_w", Value::Number(0.0))]);
    let mut idle = idle;
    idle.loads.truncate(1);
    let (before, told) = reliefs(&idle);
    assert!(short(&before).iter().all(|wh| *wh < 0.5) && told.each.is_empty(), "{told:?}");
    let unknown = with(&plan("larkspur"), &[("bank.unit_ah", Value::Unknown)]);
    let (mut engine, stock) = (Engine::default(), Stock::default());
    let before = engine.evaluate(&unknown, &stock);
    let waits = engine.reliefs(&unknown, &stock, &before);
    assert!(waits.as_ref().is_err_and(|m| m.0.as_str() == "bank.unit_ah"), "{waits:?}");
    assert!(engine.reliefs_while(&plan("larkspur"), &stock, &evaluate(&plan("larkspur")), || false).is_none());
}

/// A month that loses so much to a full bank, to the bank's charge limit and to the wire to it.
fn losing(full: f64, limited: f64, wire: f64) -> MonthFigures {
    let known = |wh| Ok(WattHours(wh));
    MonthFigures {
        losses: Ok(Losses {
            mismatch: WattHours(0.0),
            array_wire: WattHours(0.0),
            conversion: WattHours(0.0),
            clipped: WattHours(0.0),
            bank_wire: WattHours(wire),
            full: known(full),
            limited: known(limited),
            cold: known(0.0),
        }),
        shortfall_wh_day: known(40.0),
        held_back_wh_day: known(0.0),
        ..MonthFigures::default()
    }
}

/// Of those that serve as much the one comes first that takes least: a setting, then wire, panels, batteries. Panels come after
/// batteries where the bank turns away more than goes short: it is no sun that lacks then. And no bank is said to be full where it
/// turns away less than that.
/// By hand: 40 Wh a day short, which all of them serve alike.
#[test]
fn of_those_that_serve_as_much_the_cheapest_comes_first() {
    let string = |of: &str| Remedy::String(of.parse().unwrap());
    let of = |each: &[(Remedy, f64)]| Reliefs {
        each: each.iter().map(|(r, wh)| Relief { remedy: r.clone(), served_wh_day: [Some(*wh); 12] }).collect(),
    };
    let all = [
        (Remedy::Driving, 10.0),
        (Remedy::Batteries, 40.0),
        (string("A1"), 40.0),
        (string("A2"), 40.0),
        (Remedy::Wire, 40.0),
        (Remedy::CutOff, 40.0),
    ];
    let (full, spare) = (losing(900.0, 0.0, 30.0), losing(8.0, 0.0, 30.0));
    let (tied, with_wire, no_wire) = (of(&all), of(&all[..5]), of(&all[..4]));
    for month in [&full, &spare] {
        assert_eq!(tied.best(3, month), Some((&Remedy::CutOff, 40.0)));
        assert_eq!(tied.limit(3, month), Some("inverter off"));
        // The other array's string is no other remedy, and what serves less no equal.
        assert_eq!(tied.others(3, month).len(), 3, "{:?}", tied.others(3, month));
        assert_eq!(with_wire.best(3, month), Some((&Remedy::Wire, 40.0)));
        assert_eq!(with_wire.limit(3, month), Some("bank wire"));
        assert_eq!(with_wire.of_month(3, month).0.last().unwrap().0, &Remedy::Driving);
    }
    assert_eq!(no_wire.best(3, &full), Some((&Remedy::Batteries, 40.0)));
    assert_eq!((no_wire.limit(3, &full), no_wire.others(3, &full)), (Some("bank full"), vec![&string("A1")]));
    // More of it at the charge limit than by a full bank.
    assert_eq!(no_wire.limit(3, &losing(100.0, 300.0, 30.0)), Some("charge limit"));
    // Little or nothing is turned away: it is the sun that lacks.
    for month in [&spare, &losing(39.0, 0.0, 0.0), &losing(0.0, 0.0, 0.0), &MonthFigures::default()] {
        assert_eq!(no_wire.best(3, month), Some((&string("A1"), 40.0)));
        assert_eq!((no_wire.limit(3, month), no_wire.others(3, month)), (Some("sun"), vec![&Remedy::Batteries]));
    }
    // What batteries alone serve is no full bank's that turns away less.
    let alone = of(&[(Remedy::Batteries, 40.0), (string("A1"), 20.0)]);
    assert_eq!((alone.limit(3, &full), alone.limit(3, &spare)), (Some("bank full"), Some("batteries")));
    // What serves less than a hundredth of it does not limit it: 4 of 785 Wh in a polar night.
    let polar = MonthFigures { shortfall_wh_day: Ok(WattHours(785.0)), ..losing(0.0, 0.0, 4.0) };
    let by_wire = |wh: f64| of(&[(Remedy::Wire, wh)]).limit(3, &polar);
    assert_eq!((by_wire(4.0), by_wire(9.0)), (Some("sun"), Some("bank wire")));
    // But a loss that takes most of what the array gives limits it, though nothing that is tried serves any of that.
    let eaten = |array: f64, lost: f64, short: f64| {
        let mut month = losing(0.0, 0.0, 0.0);
        month.losses.as_mut().expect("known").mismatch = WattHours(lost);
        (month.array_wh_day, month.shortfall_wh_day) = (Ok(WattHours(array)), Ok(WattHours(short)));
        of(&[(Remedy::Tracking(970), 1.0)]).limit(3, &month)
    };
    for (array, lost, short) in [(1130.0, 1130.0, 587.0), (150.0, 150.0, 587.0), (2000.0, 700.0, 587.0)] {
        assert_eq!(eaten(array, lost, short), Some("volts"), "{array} {lost} {short}");
    }
    for (array, lost, short) in [(20.0, 15.0, 785.0), (300.0, 60.0, 587.0), (2000.0, 500.0, 587.0)] {
        assert_eq!(eaten(array, lost, short), Some("sun"), "{array} {lost} {short}");
    }
    // What serves more is first whatever is lost, and whatever it costs; but a ten-thousandth is nothing.
    let apart = of(&[(string("A1"), 40.0), (Remedy::Batteries, 39.0), (Remedy::Wire, 39.0)]);
    assert_eq!(apart.best(3, &full), Some((&string("A1"), 40.0)));
    let nearly = of(&[(Remedy::Batteries, 40.0), (Remedy::Wire, 39.996)]);
    assert_eq!(nearly.best(3, &full), Some((&Remedy::Wire, 39.996)));
}

/// An inverter that switches itself off at 12.9 V: in July nothing else goes short, and no cut-off, twice the batteries and one string
/// more serve all of it. The setting costs nothing.
#[test]
fn a_free_setting_comes_before_what_is_bought() {
    let id = plan("larkspur").inverters[0].id.clone();
    let high = with(&plan("larkspur"), &[(&format!("inverters.{id}.cutoff_v"), Value::Number(12.9))]);
    let (before, told) = reliefs(&high);
    let july = &before.year.months[6];
    let (all, off) = (short(&before)[6], july.cut_off_wh_day.clone().unwrap().unwrap().0);
    assert!(all > 1.0 && (all - off).abs() < 1e-9, "{all} {off}");
    for is in [|r: &Remedy| *r == Remedy::CutOff, |r: &Remedy| *r == Remedy::Batteries] {
        assert!((of(&told, is).served_wh_day[6].unwrap() - all).abs() < 1e-6);
    }
    assert_eq!(told.best(6, july).map(|(remedy, _)| remedy), Some(&Remedy::CutOff));
    assert_eq!(told.limit(6, july), Some("inverter off"));
    assert!(told.others(6, july).contains(&&Remedy::Batteries), "{:?}", told.others(6, july));
}

/// A bank that may give 5 A only, however much is in it: what goes short is its limit's, not that of a full bank or of its charge limit,
/// in the hours in which it gives all that it may.
/// Source: those hours, one by one; without the limit the same year serves them.
#[test]
fn a_discharge_limit_is_named() {
    let narrow = with(&plan("larkspur"), &[("bank.max_discharge_a", Value::Number(5.0))]);
    let (before, told) = reliefs(&narrow);
    let limit_a = before.bank.discharge_limit_a.clone().expect("known").0;
    let hours = Engine::default().trace(&narrow, &Stock::default(), 181, 31).expect("hours");
    let at_limit = hours.iter().filter(|h| (h.bank_a + limit_a).abs() < 0.02 * limit_a);
    let by_hour = at_limit.map(|h| h.shortfall_w - h.cut_off_w).sum::<f64>() / 31.0;
    let july = &before.year.months[6];
    let held_back = july.held_back_wh_day.clone().expect("a bank").0;
    assert!(held_back > 100.0 && (held_back - by_hour).abs() < 0.02 * held_back, "{held_back}, {by_hour} by the hours");
    assert_eq!(july.losses.clone().unwrap().limited.unwrap().0, 0.0, "its charge limit loses nothing");
    assert_eq!(july.limited_by.clone().unwrap().map(|(limit, _)| limit), Some(Limit::DischargeLimit));
    assert_eq!(told.limit(6, july), Some("discharge limit"));
    let free = with(&plan("larkspur"), &[("bank.max_discharge_a", Value::Nothing)]);
    let served = short(&before)[6] - short(&evaluate(&free))[6];
    let relief = of(&told, |r| *r == Remedy::Discharge).served_wh_day[6].unwrap();
    assert!((relief - served).abs() < 1e-9 && relief > 0.9 * held_back, "{relief} {served} {held_back}");
    // One that never comes to its limit is not asked.
    let (before, told) = reliefs(&plan("larkspur"));
    assert!(before.year.months.iter().all(|m| m.held_back_wh_day.clone().unwrap().0 == 0.0));
    assert!(of_remedy(&told, &Remedy::Discharge).is_none());
}

/// Larkspur's June, August and September: little goes short, and twice the batteries serve all of it as a string more does; at the
/// same time a full bank turns away more than that.
#[test]
fn a_month_with_sun_to_spare_is_not_limited_by_the_sun() {
    let (before, told) = reliefs(&plan("larkspur"));
    let mut tied = Vec::new();
    for (m, month) in before.year.months.iter().enumerate() {
        let short = short(&before)[m];
        let served = |is: fn(&Remedy) -> bool| {
            let each = told.each.iter().filter(|r| is(&r.remedy));
            each.filter_map(|r| r.served_wh_day[m]).fold(0.0, f64::max)
        };
        let (strings, batteries) =
            (served(|r| matches!(r, Remedy::String(_))), served(|r| matches!(r, Remedy::Batteries)));
        if short < 0.5 || strings != batteries {
            continue;
        }
        assert!((batteries - short).abs() < 1e-9 && month.unused_wh_day.clone().unwrap().0 > short, "month {m}");
        assert_eq!(told.best(m, month).map(|(remedy, _)| remedy), Some(&Remedy::Batteries), "month {m}");
        tied.push(m);
    }
    assert_eq!(tied, [5, 7, 8]);
}

/// What a PWM controller's amps cut off is its clip, and twice the amps are tried; a tracker in its place has the rule's 97 %, whatever
/// stands in the PWM controller's field.
#[test]
fn a_pwm_controllers_limit_is_its_clip() {
    let sorrel = with(&plan("sorrel"), &[("arrays.A1.strings", Value::Text("1S3P P1".into()))]);
    let of = |amps: f64| with(&sorrel, &[("controllers.C1.out_a", Value::Number(amps))]);
    let (small, large) = (reliefs(&of(10.0)), reliefs(&of(40.0)));
    let june = |(report, _): &(Report, Reliefs)| report.year.months[5].losses.clone().expect("known");
    let (clipped, free) = (june(&small), june(&large));
    assert_eq!(free.clipped.0, 0.0);
    // Of what the larger one passes on the small one cuts off that which is above its amps.
    let month = |of: &(Report, Reliefs)| of.0.year.months[5].harvest_wh_day.clone().expect("known").0;
    let lost = month(&large) - month(&small);
    assert!(lost > 100.0 && (clipped.clipped.0 - lost).abs() < 0.06 * lost, "{} and {lost}", clipped.clipped.0);
    assert!((clipped.mismatch.0 - free.mismatch.0).abs() < 0.15 * clipped.clipped.0, "{clipped:?} {free:?}");
    assert!(super::says(&small.0, "clipping", "controllers.C1"));
    let amps = of_remedy(&small.1, &Remedy::Controllers).expect("tried");
    assert!(amps.kwh() > 0.0);
    assert!(of_remedy(&large.1, &Remedy::Controllers).is_none());
    let tracking = of_remedy(&large.1, &Remedy::Tracking(970)).expect("tried");
    assert_eq!(tracking.remedy.words(), "tracking controllers of 97 %");
    let by_hand = with(
        &of(40.0),
        &[("controllers.C1.kind", Value::Word("tracking")), ("controllers.C1.efficiency_pct", Value::Number(97.0))],
    );
    let (now, then) = (short(&large.0), short(&evaluate(&by_hand)));
    for m in 0..12 {
        let served = tracking.served_wh_day[m].expect("known");
        assert!((served - (now[m] - then[m])).abs() < 1e-9, "month {m}: {served}");
    }
}

fn of_remedy<'a>(reliefs: &'a Reliefs, remedy: &Remedy) -> Option<&'a Relief> {
    reliefs.each.iter().find(|r| r.remedy == *remedy)
}

/// Where the winter leaves a bank empty a larger one serves as much, but for the charge it loses by itself: 2 % a month at 25 C (common
/// practice). None lives on what the days before the year left in it.
#[test]
fn no_bank_lives_on_charge_that_no_year_brings() {
    let north = |parallel: f64| {
        let edits = [
            ("stays.ST1.latitude_deg", Value::Number(64.8)),
            ("stays.ST1.longitude_deg", Value::Number(-147.7)),
            ("bank.parallel", Value::Number(parallel)),
        ];
        with(&plan("bramble"), &edits)
    };
    for parallel in [2.0, 3.0, 4.0] {
        let (before, told) = reliefs(&north(parallel));
        let short_kwh = before.year.lived.short_kwh().expect("known");
        assert!(short_kwh > 50.0, "{short_kwh}");
        let twice = of(&told, |r| *r == Remedy::Batteries).kwh();
        // All that the added batteries could lose by themselves.
        let lost_kwh = 0.02 * 12.0 * before.bank.usable_wh.clone().expect("known").0 / 1000.0;
        assert!(twice > -lost_kwh.min(0.1), "{parallel} in parallel: twice as many serve {twice} kWh more");
    }
}

/// Chargers set below what is usual for the bank leave it half empty beside unused sun: the volts themselves are the remedy that serves
/// most, named before batteries that cost, and they serve what a plan so set serves.
#[test]
fn volts_set_low_are_named_where_they_keep_the_bank_empty() {
    let plan = plan("marram");
    let low = with(
        &plan,
        &[("controllers.C1.absorb_v", Value::Number(13.2)), ("controllers.C1.float_v", Value::Number(13.0))],
    );
    let (before, told) = reliefs(&low);
    let volts = of(&told, |r| *r == Remedy::Settings);
    let batteries = of(&told, |r| *r == Remedy::Batteries);
    assert!(volts.kwh() > batteries.kwh() && volts.kwh() > 1.0, "{} {}", volts.kwh(), batteries.kwh());
    assert_eq!(told.of_year().first().map(|(remedy, _)| (*remedy).clone()), Some(Remedy::Settings));
    // The middle of what is usual for it: 14.0 to 14.6 V and 13.4 to 13.6 V for each 12 V (rules of charge volts).
    let text = before.findings.iter().find(|f| f.check.id == "charge-volts-outside-window").expect("told");
    assert_eq!(text.n(2), 14.0, "{}", text.text());
    let to = (f64::midpoint(text.n(2), text.n(3)) * 10.0).round() / 10.0;
    let set = [("controllers.C1.absorb_v", Value::Number(to)), ("controllers.C1.float_v", Value::Number(13.5))];
    let (now, then) = (short(&before), short(&evaluate(&with(&low, &set))));
    for (m, served) in volts.served_wh_day.iter().enumerate() {
        assert!((served.unwrap() - (now[m] - then[m])).abs() < 1e-9, "month {m}");
    }
    // Where they are as usual nothing is tried.
    assert!(reliefs(&plan).1.each.iter().all(|r| r.remedy != Remedy::Settings));
}

/// Whether the bank stands warm is not known: the year takes it outside and says so, and the warm place is weighed as if it were known.
#[test]
fn a_bank_that_may_stand_warm_is_weighed_there() {
    let cold = with(&plan("bramble"), &[("bank.heated", super::mistakes::word("no"))]);
    let open = with(&cold, &[("bank.heated", Value::Unknown)]);
    let (of_cold, told_cold) = reliefs(&cold);
    let (of_open, told_open) = reliefs(&open);
    assert_eq!(of(&told_open, |r| *r == Remedy::Warmth), of(&told_cold, |r| *r == Remedy::Warmth));
    let said = |r: &Report| {
        let found = r.findings.iter().find(|f| f.check.id == "charge-lost-to-cold").expect("told");
        found.text()
    };
    assert!(
        said(&of_open).starts_with(&said(&of_cold)) && said(&of_open).ends_with("takes it outside"),
        "{}",
        said(&of_open)
    );
}
