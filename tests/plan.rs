//! The document: entry, file format, edits.

mod edit;
mod entry;
mod format;
pub(crate) mod full;
mod nearest;
mod said;
mod wire_stock;
mod words;

use coachwire::plan::{Edit, FieldPath, Plan, Step};

/// A plan with one of everything that the tests speak of.
pub(crate) fn small() -> Plan {
    let insert = |list: &str, item: &str| Edit::Insert { list: list.into(), after: None, item: item.into() };
    let edits = vec![
        insert("panels", r#"(id: "P1", voc_v: 22.5, isc_a: 6.2, pmax_w: 110.0)"#),
        insert("arrays", r#"(id: "A1", strings: "3S2P P1", controller: "C1")"#),
        insert("controllers", r#"(id: "C1")"#),
        insert("loads", r#"(id: "L1", name: "pump")"#),
        insert(
            "runs",
            r#"(id: "W2", from: "C1", to: "BK", gauge: "6 AWG", legs: [(id: "L1", length_m: 2.0), (id: "L2", gauge: "8 AWG")],
                protection: [(id: "F1", family: "ISO 8820-5 SF51", amps_a: 60.0)])"#,
        ),
    ];
    Plan::default().with(&Step { name: "small".into(), edits }).unwrap()
}

pub(crate) fn path(text: &str) -> FieldPath {
    FieldPath::new(text)
}
