//! The shop's own files.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use coachwire::stock::Stock;
use coachwire::store::{Fault, RealDisk, Store};

fn store(data: &Path) -> Store {
    Store::new(Arc::new(RealDisk), Some(data.to_path_buf()))
}

#[test]
fn stock_is_kept_and_a_broken_file_is_not_thrown_away() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("not/yet/there");
    let store = store(&data);
    let (mut stock, troubles) = store.stock();
    assert!(troubles.is_empty());
    assert_eq!(stock, Stock::first());
    stock.settings.shop_name = "Larkspur Mobile".into();
    stock.add(&"truck.spools".into()).unwrap();
    store.save_stock(&stock).unwrap();
    assert_eq!(store.stock().0, stock);
    fs::write(data.join("truck.ron"), "(version: 1, spools: [(gauge: 8)])").unwrap();
    let (with_slip, troubles) = store.stock();
    assert_eq!(troubles.len(), 1);
    assert_eq!(troubles[0].fault, Fault::NotPlan);
    assert!(troubles[0].to_string().contains("truck.ron"), "{}", troubles[0]);
    assert!(with_slip.truck.spools.is_empty());
    assert_eq!(with_slip.settings.shop_name, "Larkspur Mobile");
    // What is saved beside it leaves it alone, and nothing takes its place.
    store.save_stock(&with_slip).unwrap();
    let mut counted = with_slip.clone();
    counted.add(&"truck.fuses".into()).unwrap();
    let refused = store.save_stock(&counted).unwrap_err();
    assert_eq!(refused.fault, Fault::NotPlan);
    assert!(store.save_truck(&counted.truck, None).is_err());
    assert_eq!(fs::read_to_string(data.join("truck.ron")).unwrap(), "(version: 1, spools: [(gauge: 8)])");
}

#[test]
fn truck_stock_is_saved_only_over_what_was_read() {
    let folder = tempfile::tempdir().unwrap();
    let store = store(folder.path());
    let (path, read) = store.truck();
    let path = path.unwrap();
    assert_eq!(read.unwrap(), None, "no file yet");
    let mut stock = Stock::first();
    stock.add(&"truck.spools".into()).unwrap();
    store.save_truck(&stock.truck, None).unwrap();
    assert_eq!(store.truck().1.unwrap().as_ref(), Some(&stock.truck));
    let was = stock.truck.clone();
    stock.add(&"truck.lugs".into()).unwrap();
    store.save_truck(&stock.truck, Some(&was)).unwrap();
    // Somebody edits it by hand meanwhile.
    let by_hand = "(version: 1, note: \"counted on Friday\")";
    fs::write(&path, by_hand).unwrap();
    let refused = store.save_truck(&stock.truck, Some(&stock.truck)).unwrap_err();
    assert_eq!(refused.fault, Fault::Changed);
    assert_eq!(fs::read_to_string(&path).unwrap(), by_hand);
    fs::write(&path, "(\n    version: 1,\n    spools: [(gauge: \"9 AWG\")],\n)\n").unwrap();
    let broken = store.truck().1.unwrap_err().to_string();
    assert!(broken.contains("truck.ron") && broken.contains("line 3"), "{broken}");
}

#[test]
fn recent_plans_stand_newest_first_and_once() {
    let folder = tempfile::tempdir().unwrap();
    let store = store(folder.path());
    for n in 0..15 {
        store.remember(&folder.path().join(format!("{}.ron", n % 14)), "job", "2026-01-01").unwrap();
    }
    let recent = store.recent();
    assert_eq!(recent.plans.len(), 12);
    assert!(recent.plans[0].path.ends_with("/0.ron"), "{}", recent.plans[0].path);
    assert!(recent.plans[1].path.ends_with("/13.ron"));
    assert_eq!(recent.plans.iter().filter(|p| p.path.ends_with("/0.ron")).count(), 1);
}

#[test]
fn without_a_data_directory_it_is_said() {
    let store = Store::new(Arc::new(RealDisk), None);
    assert_eq!(store.stock().0, Stock::first());
    assert_eq!(store.save_stock(&Stock::first()).unwrap_err().fault, Fault::NoDataDirectory);
}

/// Where the user stood stays with a plan when it is opened again; of a plan that is not on the list nothing is noted.
#[test]
fn where_a_plan_was_left_is_noted() {
    let folder = tempfile::tempdir().unwrap();
    let store = store(folder.path());
    let path = folder.path().join("larkspur.ron");
    store.note_stood(&path, "4 W2").unwrap();
    assert_eq!(store.stood(&path), None);
    store.remember(&path, "first", "2026-01-01").unwrap();
    assert_eq!(store.stood(&path), None);
    store.note_stood(&path, "4 W2").unwrap();
    store.remember(&path, "again", "2026-01-02").unwrap();
    assert_eq!(store.stood(&path).as_deref(), Some("4 W2"));
    fs::write(folder.path().join("recent.ron"), "(version: 1, plans: [(id: \"RP1\", path: ").unwrap();
    assert_eq!(store.stood(&path), None, "a broken list hinders nobody");
}
