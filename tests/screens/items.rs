//! Items of lists: add, copy, move, rename, delete; the walk-round.

use super::{DUNLIN, Screen};
use coachwire::document::usual::{self, Addition};
use coachwire::plan::wiring::FuseAt;
use coachwire::plan::{Known, Plan};
use coachwire::standards::kinds::FuseFamily;
use coachwire::tui::message::{Effect, Message, OpenWhat, Opened};
use coachwire::tui::model::Overlay;

fn ids(screen: &Screen) -> Vec<String> {
    screen.plan().runs.iter().map(|r| r.id.to_string()).collect()
}

#[test]
fn add_copy_move_delete_a_run() {
    let mut screen = Screen::dunlin();
    screen.keys("a");
    assert_eq!(ids(&screen).last().unwrap(), "W7");
    let open = screen.model.field.as_ref().map(|f| f.at.to_string());
    assert_eq!(open.as_deref(), Some("runs.W7.from"), "a new run is asked for its ends first");
    screen.keys("<Esc><Home>c");
    assert_eq!(ids(&screen)[..3], ["W1", "W8", "W2"]);
    assert_eq!(screen.plan().runs[1].gauge, screen.plan().runs[0].gauge);
    screen.keys(">");
    assert_eq!(ids(&screen)[..3], ["W1", "W2", "W8"]);
    screen.keys("KK");
    assert_eq!(ids(&screen)[..3], ["W8", "W1", "W2"]);
    screen.keys("d");
    assert_eq!(ids(&screen).len(), 8, "deleting asks first");
    screen.keys("d");
    assert_eq!(ids(&screen)[..2], ["W1", "W2"]);
    screen.keys("u");
    assert_eq!(ids(&screen)[0], "W8");
}

#[test]
fn renaming_follows_every_reference() {
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab><BackTab><Down>RMPP<Enter>");
    let plan = screen.plan();
    assert_eq!(plan.controllers[0].id.as_str(), "MPP");
    assert_eq!(plan.arrays[0].controller.known().unwrap().as_str(), "MPP");
    assert_eq!(plan.runs[0].to.known().unwrap().as_str(), "MPP");
    screen.keys("RA1<Enter>");
    assert!(screen.model.overlay.is_some(), "a taken name is refused, the question stays");
}

#[test]
fn deleting_a_device_says_which_runs_end_on_it() {
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab><BackTab><Down>d");
    assert!(screen.text().contains("W1 W2"), "{}", screen.text());
    screen.keys("r");
    assert_eq!(ids(&screen), ["W3", "W4", "W5", "W6"]);
    screen.keys("u");
    assert_eq!(ids(&screen).len(), 6, "one step back brings all of it");
}

#[test]
fn a_controller_comes_with_its_run_fused_at_the_bank() {
    let plan = Plan::from_text(DUNLIN).unwrap();
    let (step, at) = usual::add_with_runs(&plan, Addition::Controller);
    let plan = plan.with(&step).unwrap();
    assert_eq!(at.as_str(), "controllers.C2");
    let run = plan.runs.last().unwrap();
    assert_eq!(run.from.known().unwrap().as_str(), "C2");
    assert_eq!(run.to.known().unwrap().as_str(), "BUS");
    assert_eq!(run.protection[0].at, FuseAt::To);
    assert_eq!(run.legs[0].length_m, Known::Unknown, "a length is measured, not guessed");
}

#[test]
fn an_inverter_has_class_t_at_the_bank_and_an_array_no_fuse() {
    let plan = Plan::default();
    let plan = plan.with(&usual::add_with_runs(&plan, Addition::Inverter).0).unwrap();
    let run = &plan.runs[0];
    assert_eq!((run.from.known().unwrap().as_str(), run.to.known().unwrap().as_str()), ("BK", "INV1"));
    assert_eq!(run.protection[0].at, FuseAt::From);
    assert_eq!(run.protection[0].family, Known::Is(FuseFamily::ClassT));
    let plan = plan.with(&usual::add_with_runs(&plan, Addition::Controller).0).unwrap();
    let plan = plan.with(&usual::add_with_runs(&plan, Addition::Array).0).unwrap();
    let run = plan.runs.last().unwrap();
    assert_eq!((run.from.known().unwrap().as_str(), run.to.known().unwrap().as_str()), ("A1", "C1"));
    assert!(run.protection.is_empty());
}

#[test]
fn a_dc_dc_charger_is_fused_at_each_battery() {
    use coachwire::plan::power::ChargerKind;
    use coachwire::plan::wiring::DeviceKind;
    let plan = Plan::default();
    let plan = plan.with(&usual::add(&plan, Addition::Device(DeviceKind::StartBattery)).0).unwrap();
    let plan = plan.with(&usual::add_with_runs(&plan, Addition::Charger(ChargerKind::DcDc)).0).unwrap();
    assert_eq!(plan.runs.len(), 2);
    assert_eq!(plan.runs[0].protection[0].at, FuseAt::From);
    assert_eq!(plan.runs[1].protection[0].at, FuseAt::To);
    assert_eq!(plan.runs[1].to.known().unwrap().as_str(), "BK");
}

#[test]
fn adding_from_the_equipment_offers_the_usual_run() {
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab><BackTab>acontroller<Enter>");
    assert!(screen.text().contains("usual run"), "{}", screen.text());
    screen.keys("<Enter>");
    assert_eq!(screen.plan().controllers.len(), 2);
    assert_eq!(screen.plan().runs.len(), 7);
    assert_eq!(screen.undo_names().len(), 1);
}

#[test]
fn nested_lists_take_items_too() {
    let mut screen = Screen::dunlin();
    // The run's form, down to its legs.
    screen.keys("<Down><Left><Left><Left><Left><Enter>");
    let rows = coachwire::tui::form::rows(&screen.plan(), &screen.model.page().unwrap().place);
    let leg = coachwire::tui::form::row_of(&rows, &"runs.W2.legs.L1".into()).unwrap();
    screen.model.pages.last_mut().unwrap().cursor = leg;
    screen.keys("c");
    assert_eq!(screen.plan().runs[1].legs.len(), 2);
    screen.keys("dd");
    assert_eq!(screen.plan().runs[1].legs.len(), 1);
    screen.keys("a");
    assert_eq!(screen.plan().runs[1].legs.len(), 2);
    let leg = &screen.plan().runs[1].legs[1];
    assert!(leg.zone == Known::Unknown && leg.laid == Known::Unknown, "nobody has said where it lies");
}

#[test]
fn the_walk_round_leads_a_blank_plan_to_its_runs() {
    let mut screen = Screen::with(Screen::start());
    screen.keys("<End><Enter>");
    assert!(matches!(screen.effects.pop(), Some(Effect::Open(OpenWhat::Blank))));
    screen.send(Message::Opened(Ok(Box::new(Opened {
        plan: Plan::blank(),
        path: None,
        locked_by: None,
        recovery: None,
        remark: None,
    }))));
    // A place, the bank, one label, a controller, an array: nothing but g, values, Enter and Tab.
    screen.keys("gquartzsite<Enter><Enter><Enter>");
    assert!(screen.plan().stays[0].latitude_deg.known().is_some(), "{:?}", screen.plan().stays);
    let mut typed = 0;
    for _ in 0..40 {
        screen.keys("g");
        let Some(field) = &screen.model.field else { continue };
        let at = field.at.to_string();
        let value = match at.rsplit('.').next().unwrap() {
            "chemistry" => "lfp",
            "charge_cutoff_c" => "0c",
            "heated" => "no",
            "unit_v" => "12.8",
            "unit_ah" => "100",
            "series" => "1",
            "parallel" => "2",
            "pmax_w" => "100",
            "vmp_v" => "18",
            "imp_a" => "5.56",
            "voc_v" => "22",
            "isc_a" => "5.9",
            "cells" => "36",
            "kind" => "tracking",
            "out_a" => "30",
            "max_pv_v" => "100",
            "absorb_v" => "14.2",
            "strings" => "2S P1",
            "length_m" => "10'",
            "zone" => "cabinet",
            "laid" => "open",
            "gauge" => "10",
            "controller" => "C1",
            "insulation_c" => "90c",
            "amps_a" => "40",
            "family" => "SF30",
            "distance_m" => "6in",
            _ => "?",
        };
        screen.keys(&format!("{value}<Enter>"));
        if screen.model.field.is_some() {
            screen.keys("<Esc>");
        }
        typed += 1;
        if at.ends_with(".family") {
            break;
        }
    }
    let plan = screen.plan();
    assert!(typed > 15, "{typed}");
    assert_eq!(plan.runs.len(), 2, "the array's run and the controller's");
    assert!(
        plan.runs.iter().all(|r| r.gauge.known().is_some() && r.legs[0].length_m.known().is_some()),
        "{:#?}",
        plan.runs
    );
}

#[test]
fn a_finding_is_accepted_with_a_reason_and_comes_back_by_undo() {
    let mut screen = Screen::dunlin();
    screen.keys("5x<Enter>");
    assert!(screen.plan().accepted.is_empty(), "a reason is needed");
    screen.keys("breaker upstream, checked<Enter>");
    let accepted = screen.plan().accepted[0].clone();
    assert_eq!(accepted.reason, "breaker upstream, checked");
    assert_eq!(accepted.date, "2026-09-12");
    let report = screen.model.document.as_ref().unwrap().shown().report.clone();
    assert!(report.findings.iter().any(|f| f.accepted.is_some() && f.check.id == accepted.finding));
    screen.keys("u");
    assert!(screen.plan().accepted.is_empty());
}

#[test]
fn a_ladder_takes_its_harvest_as_it_arrives_and_drops_what_is_stale() {
    use coachwire::tui::model::Overlay;
    use coachwire::units::WattHours;
    let mut screen = Screen::dunlin();
    screen.keys("<Down>l");
    let Some(Effect::Ladder { generation, .. }) = screen.effects.pop() else { panic!("the year is asked for") };
    let rungs = |screen: &Screen| match &screen.model.overlay {
        Some(Overlay::Ladder(ladder)) => ladder.rungs.clone(),
        other => panic!("{other:?}"),
    };
    let mut arrived = rungs(&screen);
    arrived.truncate(1);
    arrived[0].harvest_wh_day = Some(Ok(WattHours(1234.0)));
    let late = Message::Ladder { generation: generation - 1, rungs: arrived.clone(), complete: false };
    screen.send(late);
    assert!(rungs(&screen)[0].harvest_wh_day.is_none(), "stale");
    screen.send(Message::Ladder { generation, rungs: arrived, complete: true });
    assert_eq!(rungs(&screen)[0].harvest_wh_day, Some(Ok(WattHours(1234.0))));
    // Of which months is not known: it is said so.
    assert!(screen.text().contains("1234 (?)"));
    screen.keys("<Down><Enter>");
    assert_eq!(screen.undo_names(), ["W2 gauge 8 AWG -> 6 AWG, fuse 50 A ISO 8820-6"]);
}

#[test]
fn a_cure_is_applied_as_one_step_and_what_it_cures_is_gone() {
    use coachwire::tui::model::Overlay;
    let mut screen = Screen::dunlin();
    screen.keys("5");
    let count = screen.model.document.as_ref().unwrap().shown().report.findings.len();
    let cured = (0..count).find_map(|_| {
        // The footer promises no more than the key does.
        let promised = screen.model.holds(coachwire::tui::keymap::When::OnAddition);
        screen.keys("<Enter>");
        let Some(Overlay::Finding(view)) = &screen.model.overlay else { panic!("the finding opens") };
        assert!(!promised || !view.cures.is_empty(), "{}", view.finding.text());
        match view.cures.first() {
            Some(cure) => Some((view.finding.clone(), cure.name.clone())),
            None => {
                screen.keys("<Esc><Down>");
                None
            }
        }
    });
    let (finding, name) = cured.expect("one of the findings has a cure");
    let before = screen.plan();
    screen.keys("a");
    assert_ne!(screen.plan(), before, "the cure changes the plan");
    assert_eq!(screen.undo_names(), [name.as_str()]);
    assert!(screen.said().contains(&name), "{}", screen.said());
    let findings = screen.model.document.as_ref().unwrap().shown().report.findings.clone();
    assert!(findings.iter().all(|f| f.identity() != finding.identity()), "{name} left {}", finding.text());
    screen.keys("u");
    assert_eq!(screen.plan(), before);
}

#[test]
fn equipment_goes_to_the_shelf_and_comes_back_onto_another_item() {
    let mut screen = Screen::dunlin();
    // The controller's label goes onto the shelf.
    screen.keys("<BackTab><BackTab><Down>S1");
    let Some(Effect::SaveStock(stock)) = screen.effects.pop() else { panic!("{}", screen.said()) };
    let kept = stock.shelf.find(Some("controllers"), "");
    assert!(kept.iter().any(|found| !found.typical), "{kept:?}");
    // A second, blank controller takes it from there: onto itself, not as a third one.
    screen.keys("acontroller<Enter>2<Esc>");
    let second = screen.plan().controllers[1].clone();
    assert_eq!((second.id.as_str(), second.out_a.known()), ("C2", None));
    screen.keys("strack<Enter>");
    let plan = screen.plan();
    assert_eq!(plan.controllers.len(), 2);
    assert_eq!(plan.controllers[1].id, second.id);
    assert_eq!(plan.controllers[1].out_a, plan.controllers[0].out_a);
    assert_eq!(plan.controllers[1].max_pv_v, plan.controllers[0].max_pv_v);
    assert_eq!(screen.undo_names().first().map(String::as_str), Some("controller from the shelf"));
}

#[test]
fn the_walk_round_goes_on_after_each_answer_and_stops_at_esc() {
    let mut screen = Screen::with(Screen::start());
    screen.send(Message::Opened(Ok(Box::new(Opened {
        plan: Plan::blank(),
        path: None,
        locked_by: None,
        recovery: None,
        remark: None,
    }))));
    screen.keys("gmoab<Enter><Enter><Enter>lfp<Enter>12.8<Enter>100<Enter>1<Enter>2<Enter>0c<Enter>no<Enter>");
    screen.keys(
        "200<Enter>20.4<Enter>9.8<Enter>24.3<Enter>10.4<Enter>36<Enter>tracking<Enter>100<Enter>30<Enter>14.2<Enter>2S<Enter>",
    );
    let at = |screen: &Screen| screen.model.field.as_ref().map(|f| f.at.to_string());
    // Run by run: what is measured, then what is chosen by it.
    assert_eq!(at(&screen).as_deref(), Some("runs.W1.legs.L1.length_m"), "{}", screen.text());
    screen.keys("?<Enter>");
    assert_eq!(at(&screen).as_deref(), Some("runs.W1.legs.L1.laid"), "it goes on, and does not ask for ever");
    screen.keys("?<Enter>");
    assert_eq!(at(&screen).as_deref(), Some("runs.W1.legs.L1.insulation_c"));
    screen.keys("?<Enter>");
    assert_eq!(at(&screen).as_deref(), Some("runs.W1.gauge"));
    screen.keys("10<Enter>");
    assert_eq!(at(&screen).as_deref(), Some("runs.W2.legs.L1.length_m"));
    screen.keys("<Esc>");
    assert_eq!(at(&screen), None, "Esc ends the walk");
    // Asked anew, it goes on where it stood; what was left unknown is for the next round.
    screen.keys("g");
    assert_eq!(at(&screen).as_deref(), Some("runs.W2.legs.L1.length_m"));
    for _ in 0..20 {
        screen.keys("?<Enter>");
        if at(&screen).is_none() {
            break;
        }
    }
    assert_eq!(at(&screen), None);
    assert!(screen.said().contains("left at ?"), "{}", screen.said());
    screen.keys("g");
    assert_eq!(at(&screen).as_deref(), Some("runs.W1.legs.L1.length_m"));
}

/// What was added is asked for too: no load is known while an inverter's idle draw is not.
#[test]
fn the_walk_round_asks_for_an_added_inverter() {
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab><BackTab>ainverter<Enter>2<Esc>g");
    let at = |screen: &Screen| screen.model.field.as_ref().map(|f| f.at.to_string());
    assert_eq!(at(&screen).as_deref(), Some("inverters.INV2.watts_w"), "{}", screen.text());
    screen.keys("600<Enter>");
    assert_eq!(at(&screen).as_deref(), Some("inverters.INV2.idle_w"));
    screen.keys("6<Enter>");
    assert!(at(&screen).is_some_and(|at| at.starts_with("runs.")), "then the runs go on: {}", screen.text());
}

/// `f` on the gauges of a run that wants no fuse says so, and stays where it was.
#[test]
fn f_on_a_run_without_a_fuse_says_why() {
    let mut screen = Screen::dunlin();
    screen.keys("l");
    assert!(screen.text().contains("GAUGES OF W1"), "{}", screen.text());
    screen.keys("f");
    assert!(screen.text().contains("GAUGES OF W1"));
    assert!(
        screen.text().contains("W1 has no fuse"),
        "{:?} {:?}",
        screen.model.messages,
        screen.model.is_message_stale
    );
}

/// A DC-DC charger draws on the engine's side: what the plan lacks of it is offered with the charger.
#[test]
fn a_dc_dc_charger_brings_the_engines_side_if_one_likes() {
    use coachwire::plan::wiring::DeviceKind;
    let added = |answer: &str| {
        let mut screen = Screen::dunlin();
        screen.keys("<BackTab><BackTab>adc-dc<Enter>");
        assert!(screen.text().contains("start battery and the alternator"), "{}", screen.text());
        screen.keys(answer);
        assert_eq!(screen.undo_names().len(), 1, "one step");
        screen
    };
    let engine = |plan: &Plan| {
        let of = |kind| plan.devices.iter().filter(|d| d.kind == Known::Is(kind)).count();
        (of(DeviceKind::StartBattery), of(DeviceKind::Alternator))
    };
    let input = |plan: &Plan| {
        let id = plan.chargers.last().unwrap().id.clone();
        plan.runs.iter().find(|r| r.to == Known::Is(id.clone())).map(|r| r.from.clone())
    };
    let whole = added("1").plan();
    assert_eq!(engine(&whole), (1, 1));
    let battery = whole.devices.iter().find(|d| d.kind == Known::Is(DeviceKind::StartBattery)).unwrap();
    assert_eq!(input(&whole), Some(Known::Is(battery.id.clone())));
    assert_eq!(battery.state.word(), "existing", "it came with the vehicle");
    let open = added("2").plan();
    assert_eq!((engine(&open), input(&open)), ((0, 0), Some(Known::Unknown)));
    let bare = added("3").plan();
    assert_eq!((engine(&bare), input(&bare)), ((0, 0), None));
}

/// In the walk-round the same is asked where it would else ask for a device that no list has; both answers go on.
#[test]
fn the_walk_round_offers_the_engines_side_or_passes() {
    let at = |screen: &Screen| screen.model.field.as_ref().map(|f| f.at.to_string());
    let asked = || {
        let mut screen = Screen::dunlin();
        screen.keys("<BackTab><BackTab>adc-dc<Enter>2<Esc>g");
        let mut fields = Vec::new();
        for _ in 0..40 {
            fields.extend(at(&screen));
            if screen.model.overlay.is_some() {
                assert!(fields.contains(&"chargers.CH1.efficiency_pct".to_string()), "{fields:?}");
                return screen;
            }
            screen.keys("?<Enter>");
        }
        panic!("never asked: {}", screen.text());
    };
    let mut screen = asked();
    assert!(screen.text().contains("the engine's side"), "{}", screen.text());
    screen.keys("2");
    assert!(at(&screen).is_some_and(|at| at.starts_with("runs.")), "it goes on: {}", screen.text());
    assert!(screen.plan().devices.iter().all(|d| d.kind.known().is_none_or(|k| k.word() != "alternator")));
    let mut screen = asked();
    let devices = screen.plan().devices.len();
    screen.keys("1");
    assert_eq!(screen.plan().devices.len(), devices + 2);
    assert!(at(&screen).is_some_and(|at| at.starts_with("runs.")), "it goes on: {}", screen.text());
}

/// A size key in the walk-round puts what fits, and the prompt says so; type and rating of a fuse come together.
#[test]
fn the_walk_round_takes_what_fits() {
    let mut screen = Screen::on("(version: 1)", (80, 24));
    screen.keys("gmoab<Enter><Enter><Enter>lfp<Enter>12.8<Enter>100<Enter>1<Enter>1<Enter>0c<Enter>");
    screen.keys(
        "200<Enter>20.4<Enter>9.8<Enter>24.3<Enter>10.4<Enter>36<Enter>tracking<Enter>100<Enter>30<Enter>14.2<Enter>",
    );
    screen.keys("2S<Enter>18'<Enter>open<Enter>90<Enter>");
    let at = |screen: &Screen| screen.model.field.as_ref().map(|f| f.at.to_string());
    assert_eq!(at(&screen).as_deref(), Some("runs.W1.gauge"), "{}", screen.text());
    assert!(screen.text().contains("PgUp: what fits"), "{}", screen.text());
    screen.keys("<PgUp>");
    let shown = |screen: &Screen| screen.model.plan().unwrap().runs[0].gauge.known().is_some();
    assert!(shown(&screen) && screen.plan().runs[0].gauge.known().is_none(), "a draft: {}", screen.text());
    // As if it had been typed, Esc drops it.
    screen.keys("<Esc>");
    assert!(!shown(&screen), "{}", screen.text());
    screen.keys("g<PgUp><Enter>6'<Enter>cabinet<Enter>enclosed<Enter>90<Enter><PgUp><Enter>");
    assert_eq!(at(&screen).as_deref(), Some("runs.W2.protection.F1.amps_a"), "{}", screen.text());
    screen.keys("<PgUp><Enter>");
    let fuse = screen.plan().runs[1].protection[0].clone();
    assert!(fuse.amps_a.known().is_some() && fuse.family.known().is_some(), "{fuse:?}");
    assert_eq!(at(&screen).as_deref(), Some("runs.W2.protection.F1.distance_m"), "the type is answered too");
}

/// The footer offers a size only where a field has one.
#[test]
fn a_text_has_no_size() {
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab><BackTab><Down><Enter>");
    assert!(screen.model.focus().is_some_and(|at| at.as_str().ends_with(".name")));
    assert!(!screen.text().contains("+/- size"), "{}", screen.text());
    screen.keys("<Down><Down>");
    assert!(screen.text().contains("+/- size"), "{}", screen.text());
}

/// The goal of sizing help is said in its title, and keys change it; the plan changes by a row that is chosen only.
#[test]
fn the_goal_of_sizing_help_is_changed_by_keys() {
    let mut screen = Screen::on(coachwire::plan::samples::sample("larkspur").unwrap().text, (120, 40));
    let plan = screen.plan();
    screen.model.overlay = None;
    screen.keys("1<BackTab><BackTab>");
    for _ in 0..40 {
        if screen.model.focus().is_some_and(|at| at.as_str() == "bank") {
            break;
        }
        screen.keys("<Down>");
    }
    screen.keys("l");
    assert!(screen.text().contains("GOAL: lasts 2 days without sun, no load short at all stays"), "{}", screen.text());
    screen.climb();
    let rows = |screen: &Screen| match &screen.model.overlay {
        Some(Overlay::Ladder(ladder)) => ladder.rungs.clone(),
        other => panic!("{other:?}"),
    };
    let of_all = rows(&screen);
    assert!(screen.text().contains("*") && screen.text().contains("the plan as it stands"), "{}", screen.text());
    screen.keys("++").climb();
    assert!(screen.text().contains("lasts 3 days without sun"), "{}", screen.text());
    screen.keys("---").climb();
    assert!(screen.text().contains("lasts 1.5 days without sun"), "{}", screen.text());
    // The first stay is marked; left out, the others are named.
    let ids: Vec<String> = plan.stays.iter().map(|s| s.id.to_string()).collect();
    screen.keys("s").climb();
    let text = screen.text();
    assert!(text.contains(&format!("no load short at {}", ids[1..].join(", "))) && text.contains("out]"), "{text}");
    let of_some = rows(&screen);
    assert!(of_all.iter().zip(&of_some).any(|(a, b)| a.columns != b.columns));
    screen.keys("<Right>s<Left>s").climb();
    assert!(screen.text().contains(&format!("no load short at {}", ids[0])), "{}", screen.text());
    screen.keys("<Enter>");
    assert_eq!(screen.plan(), plan, "the plan's own row changes nothing");
    assert!(screen.said().contains("nothing changes"), "{}", screen.said());
}

/// Every box answers `?` with what it is about, and Esc goes back to it; years that arrive meanwhile are in it.
#[test]
fn boxes_say_what_they_are_about() {
    let mut screen = Screen::on(coachwire::plan::samples::sample("larkspur").unwrap().text, (80, 24));
    screen.model.overlay = None;
    screen.keys("1G?");
    assert!(screen.text().contains("SIZING HELP") && screen.text().contains("short d"), "{}", screen.text());
    screen.climb();
    screen.keys("<Esc>");
    match &screen.model.overlay {
        Some(Overlay::Ladder(ladder)) => assert!(ladder.rungs.iter().all(|r| r.harvest_wh_day.is_some())),
        other => panic!("{other:?}"),
    }
    assert!(screen.text().contains("GOAL:"), "{}", screen.text());
    screen.keys("<Esc>");
    for (open, says) in
        [("l", "GAUGES OF A RUN"), ("e", "WORKING OF A RUN"), ("i", "ISOLATION"), ("U", "HISTORY"), ("M", "MESSAGES")]
    {
        screen.keys(open).keys("?");
        assert!(screen.text().contains("HELP") && screen.text().contains(says), "{open}: {}", screen.text());
        screen.keys("<Esc>");
        assert!(screen.model.overlay.is_some(), "{open}");
        screen.keys("<Esc>");
        assert!(screen.model.overlay.is_none(), "{open}");
    }
    screen.keys(":sizing help");
    assert!(screen.text().contains("sizing help"), "{}", screen.text());
}

/// What was added among the equipment is what the next key is about, once its form is closed.
#[test]
fn a_new_device_has_the_cursor() {
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab><BackTab>");
    screen.keys("abus<Enter>");
    screen.keys("<Esc><Esc>");
    assert!(screen.model.is_on_bench());
    let last = screen.plan().devices.last().map(|d| format!("devices.{}", d.id)).expect("the new bus");
    assert_eq!(screen.model.focus().map(|at| at.to_string()), Some(last));
}
