//! Truck stock that is broken in any of the ways that files are: said with its place and its field, and left as it is.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use coachwire::stock::Truck;
use coachwire::store::{RealDisk, Store};

fn store(data: &Path) -> Store {
    Store::new(Arc::new(RealDisk), Some(data.to_path_buf()))
}

/// One file: what is wrong, its bytes, and what the message has to name.
type Broken = (&'static str, &'static [u8], &'static [&'static str]);

const WHOLE: &str = "(\n version: 1,\n spools: [\n  (id: \"A\", gauge: \"8 AWG\", left_m: 20.0),\n ],\n)\n";

const BROKEN: [Broken; 14] = [
    ("cut off", b"(\n version: 1,\n spools: [\n  (id: \"A\", gauge: \"8 A", &["line 4"]),
    ("cut off in a list", b"(\n version: 1,\n lugs: [\n", &["line"]),
    (
        "a word for a number",
        b"(\n version: 1,\n spools: [\n  (id: \"A\", left_m: \"many\"),\n ],\n)\n",
        &["line 4", "column", "left_m"],
    ),
    (
        "a number for a text",
        b"(\n version: 1,\n spools: [\n  (id: \"A\", gauge: 8),\n ],\n)\n",
        &["line 4", "column", "gauge"],
    ),
    (
        "less than nothing left",
        b"(\n version: 1,\n spools: [\n  (id: \"A\", gauge: \"8 AWG\", left_m: -3.0),\n ],\n)\n",
        &["line 4", "column", "left_m", "-3"],
    ),
    (
        "no such gauge",
        b"(\n version: 1,\n spools: [\n  (id: \"A\", gauge: \"9 AWG\"),\n ],\n)\n",
        &["line 4", "column", "gauge", "9 AWG"],
    ),
    (
        "a name twice",
        b"(\n version: 1,\n spools: [\n  (id: \"A\", gauge: \"8 AWG\"),\n  (id: \"A\", gauge: \"2 AWG\"),\n ],\n)\n",
        &["line 5", "column", "a second A"],
    ),
    (
        "no number",
        b"(\n version: 1,\n spools: [\n  (id: \"A\", gauge: \"8 AWG\", left_m: NaN),\n ],\n)\n",
        &["line 4", "column", "left_m"],
    ),
    (
        "without end",
        b"(\n version: 1,\n spools: [\n  (id: \"A\", gauge: \"8 AWG\", left_m: inf),\n ],\n)\n",
        &["line 4", "column", "left_m"],
    ),
    ("no text", b"(\n version: 1,\n note: \"\xff\xfe\",\n)\n", &["truck.ron", "UTF-8"]),
    ("empty", b"", &["empty"]),
    ("blank", b" \n\n", &["empty"]),
    ("of a newer program", b"(version: 99)", &["version 99", "newer"]),
    ("a field of none", b"(\n version: 1,\n spool: [],\n)\n", &["line 3", "column", "spool", "spools"]),
];

/// What nobody could read is named by file, place and field, and no edit, be it of the stock or of the shelf, writes over it.
#[test]
fn a_stock_file_that_does_not_read_is_said_and_left() {
    assert!(Truck::from_text(WHOLE).is_ok(), "{:?}", Truck::from_text(WHOLE));
    for (what, bytes, says) in BROKEN {
        let folder = tempfile::tempdir().expect("folder");
        let store = store(folder.path());
        let path = folder.path().join("truck.ron");
        fs::write(&path, bytes).expect("written");
        let (mut stock, troubles) = store.stock();
        assert_eq!(troubles.len(), 1, "{what}: {troubles:?}");
        let text = troubles[0].to_string();
        assert!(text.contains("truck.ron"), "{what}: {text}");
        for word in says {
            assert!(text.contains(word), "{what}: {word:?} is not in {text}");
        }
        assert!(store.truck().1.is_err(), "{what}");
        stock.add(&"truck.spools".into()).expect("a spool");
        let refused = store.save_stock(&stock).expect_err(what).to_string();
        assert!(refused.contains("truck.ron"), "{what}: {refused}");
        assert!(store.save_truck(&stock.truck, None).is_err(), "{what}");
        assert!(store.save_truck(&stock.truck, Some(&stock.truck)).is_err(), "{what}");
        stock.shelf.panels.clear();
        store.save_shelf(&stock).unwrap_or_else(|e| panic!("{what}: {e}"));
        assert_eq!(fs::read(&path).expect("there"), bytes, "{what}");
        // Nothing beside it but the shelf.
        let others: Vec<_> = fs::read_dir(folder.path()).expect("folder").flatten().map(|f| f.file_name()).collect();
        assert!(others.iter().all(|f| f == "truck.ron" || f == "shelf.ron"), "{what}: {others:?}");
        // Mended, it is taken again and saved over as what was read.
        fs::write(&path, WHOLE).expect("written");
        let whole = store.truck().1.expect("reads");
        let mut more = whole.clone().expect("a stock");
        more.note = "mended".into();
        store.save_truck(&more, whole.as_ref()).unwrap_or_else(|e| panic!("{what}: {e}"));
        assert_eq!(store.truck().1.expect("reads"), Some(more), "{what}");
    }
}

/// A folder in the file's place is no file: said, and left.
#[test]
fn a_folder_in_the_place_of_the_stock_is_said_and_left() {
    let folder = tempfile::tempdir().expect("folder");
    let store = store(folder.path());
    let path = folder.path().join("truck.ron");
    fs::create_dir(&path).expect("folder");
    fs::write(path.join("kept.txt"), "kept").expect("written");
    let (mut stock, troubles) = store.stock();
    assert_eq!(troubles.len(), 1, "{troubles:?}");
    let text = troubles[0].to_string();
    assert!(text.contains("truck.ron") && text.contains("is a directory") && text.contains("move it away"), "{text}");
    stock.add(&"truck.spools".into()).expect("a spool");
    assert!(store.save_stock(&stock).is_err() && store.save_truck(&stock.truck, None).is_err());
    assert_eq!(fs::read_to_string(path.join("kept.txt")).expect("there"), "kept");
}

/// What stands there and is no plan either is not called one: too large, no text.
#[test]
fn a_stock_that_cannot_be_text_is_to_be_moved() {
    for bytes in [vec![b' '; 4 * 1024 * 1024 + 1], b"\xff\xfe".to_vec()] {
        let folder = tempfile::tempdir().expect("folder");
        fs::write(folder.path().join("truck.ron"), &bytes).expect("written");
        let text = store(folder.path()).stock().1[0].to_string();
        assert!(text.ends_with("; move it away") && !text.contains("plan") && !text.contains('?'), "{text}");
    }
}
