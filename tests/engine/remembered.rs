//! What is remembered by a choice of a plan's fields: the choice has every field that is read, so that an answer after
//! any edit is that of a new engine.

use super::properties::{all_fields, value};
use coachwire::engine::Engine;
use coachwire::engine::circuit::Circuit;
use coachwire::engine::drawn::Audit;
use coachwire::engine::extract::{Audited, Drawing, Extract};
use coachwire::plan::field::{Kind, Record};
use coachwire::plan::samples::{SAMPLES, sample};
use coachwire::plan::wiring::Return;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};
use coachwire::stock::Stock;

fn plan(name: &str) -> Plan {
    Plan::from_text(sample(name).unwrap().text).unwrap()
}

/// Looks at the plan with each of its fields at other values, and with each of its items gone. What nothing but a person
/// reads is left as it is.
fn each_change(plan: &Plan, mut look: impl FnMut(&str, &Plan)) {
    let mut at = |what: String, edit: Edit| {
        if let Ok(changed) = plan.with(&Step::one("x", edit)) {
            look(&what, &changed);
        }
    };
    for (field, kind, unknown, absent) in all_fields(plan) {
        let mut values: Vec<Value> = match kind {
            Kind::Text | Kind::Lines => continue,
            Kind::Ref(_) => {
                let ends = plan.devices.iter().map(|d| &d.id).take(2);
                ends.cloned().chain("BK-".parse().ok()).map(Value::Id).collect()
            }
            Kind::Words(words) => words.iter().map(|word| Value::Word(word)).collect(),
            Kind::Months => vec![Value::Text("Feb-Apr".into())],
            kind => vec![value(kind, unknown, absent, 5, 0.7)],
        };
        values.extend(unknown.then_some(Value::Unknown));
        values.extend(absent.then_some(Value::Nothing));
        for to in values {
            at(format!("{field} = {to:?}"), Edit::Set { at: field.clone(), to });
        }
    }
    for list in plan.list_names() {
        let Some(items) = plan.list(list) else { continue };
        for id in (0..items.len()).filter_map(|i| items.id_at(i)) {
            at(format!("without {list} {id}"), Edit::Remove { at: FieldPath::new(format!("{list}.{id}")) });
        }
    }
}

/// Two blank items, under one name, in every list of a record and of what is in it.
fn double(record: &mut dyn Record) {
    for name in record.list_names() {
        let Some(list) = record.list_mut(name) else { continue };
        let at = list.len();
        for item in [at, at + 1] {
            list.push_blank();
            list.set_id(item, "Z9".parse().unwrap());
        }
        if let Some(item) = list.at_mut(at) {
            double(item);
        }
    }
    for name in record.part_names() {
        if let Some(part) = record.part_mut(name) {
            double(part);
        }
    }
}

fn doubled(plan: &Plan) -> Plan {
    let mut whole = plan.clone();
    double(&mut whole);
    whole
}

#[test]
fn a_drawing_has_all_that_its_circuit_reads() {
    let plan = plan("larkspur");
    let alike = |what: &str, p: &Plan| {
        let (whole, of_whole) = Circuit::of(p);
        let (drawn, of_drawn) = Circuit::of(&Drawing::of(p));
        assert!(of_whole == of_drawn, "{what}: {of_whole:?} {of_drawn:?}");
        assert!(format!("{whole:?}") == format!("{drawn:?}"), "{what}: another circuit");
    };
    each_change(&plan, alike);
    alike("doubled", &doubled(&plan));
    // Positives and negatives drawn by themselves are told apart by more.
    let mut singles = plan;
    singles.runs.iter_mut().for_each(|run| run.return_path = Return::None);
    each_change(&singles, alike);
}

#[test]
fn items_under_one_name_are_found_by_the_drawing_alone() {
    let plan = doubled(&plan("larkspur"));
    let found = Circuit::of(&Drawing::of(&plan)).1;
    let subjects: Vec<&str> =
        found.iter().filter(|f| f.check.id == "duplicate-name").map(|f| f.subject.as_str()).collect();
    let nested =
        ["runs.", "money.taxes.", "money.tasks.", "roof.obstacles.", "visits.", "panels.", "stays.", "options."];
    for list in nested {
        assert!(subjects.iter().any(|s| s.starts_with(list)), "{list}: {subjects:?}");
    }
    for below in [".legs.", ".protection.", ".places.", ".readings."] {
        assert!(subjects.iter().any(|s| s.contains(below)), "{below}: {subjects:?}");
    }
}

#[test]
fn an_audit_has_all_that_it_reads() {
    each_change(&plan("larkspur"), |what, p| {
        let (whole, audited) = (Audit::of_loads(p), Audit::of_loads(&Audited::of(p)));
        assert!(whole == audited, "{what}: {whole:?} {audited:?}");
    });
}

#[test]
fn no_field_is_left_out_of_what_wires_are_remembered_by() {
    let (plan, stock) = (plan("larkspur"), Stock::default());
    let mut engine = Engine::default();
    each_change(&plan, |what, p| {
        engine.evaluate_wires(&plan, &stock);
        let (remembered, fresh) = (engine.evaluate_wires(p, &stock), Engine::default().evaluate_wires(p, &stock));
        assert!(remembered == fresh, "{what}: remembered");
    });
}

/// Skies, shades and offers that are made on several threads are those made one after another.
#[test]
fn threads_change_no_answer() {
    let stock = Stock::default();
    for sample in SAMPLES {
        let plan = Plan::from_text(sample.text).unwrap();
        let one = Engine::default().evaluate(&plan, &stock);
        for threads in [2, 5] {
            assert!(Engine::on_threads(threads).evaluate(&plan, &stock) == one, "{} on {threads}", sample.name);
        }
    }
}
