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
    store.save_stock(&with_slip).unwrap();
    assert!(fs::read_to_string(data.join("truck.ron.broken")).unwrap().contains("gauge: 8"));
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
