//! Plans on disk.

use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use coachwire::plan::Plan;
use coachwire::store::{Fault, Locking, RealDisk, Store, Whose};

use super::faulty::{Failing, FaultyDisk};

struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("jobs")).unwrap();
        Self { folder }
    }
    fn plan(&self) -> PathBuf {
        self.folder.path().join("jobs/larkspur.ron")
    }
    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }
    fn store(&self) -> Store {
        Store::new(Arc::new(RealDisk), Some(self.data()))
    }
    fn faulty(&self, how: Failing) -> Store {
        Store::new(Arc::new(FaultyDisk::new(how)), Some(self.data()))
    }
    fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.folder.path().join("jobs"))
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

fn titled(title: &str) -> Plan {
    let mut plan = Plan::default();
    plan.job.title = title.into();
    plan
}

#[test]
fn a_plan_is_saved_and_read_back() {
    let place = Place::new();
    let store = place.store();
    let stamp = store.save_new(&place.plan(), &titled("one")).unwrap();
    let opened = store.load(&place.plan()).unwrap();
    assert_eq!(opened.plan, titled("one"));
    assert_eq!(opened.stamp, stamp);
    assert_eq!(place.names(), ["larkspur.ron"]);
    assert_eq!(store.save_new(&place.plan(), &titled("two")).unwrap_err().fault, Fault::Taken);
}

#[test]
fn mode_and_links_are_kept() {
    let place = Place::new();
    let store = place.store();
    let real = place.folder.path().join("real.ron");
    store.save(&real, &titled("one"), None).unwrap();
    fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
    symlink("../real.ron", place.plan()).unwrap();
    store.save(&place.plan(), &titled("two"), None).unwrap();
    assert!(fs::symlink_metadata(place.plan()).unwrap().is_symlink());
    assert_eq!(store.load(&real).unwrap().plan, titled("two"));
    assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o7777, 0o640);
    // A link to what is not there yet makes it.
    let dangling = place.folder.path().join("jobs/new.ron");
    symlink("../later.ron", &dangling).unwrap();
    store.save(&dangling, &titled("three"), None).unwrap();
    assert_eq!(store.load(&place.folder.path().join("later.ron")).unwrap().plan, titled("three"));
    // A link in a circle ends in a message.
    let circle = place.folder.path().join("jobs/circle.ron");
    symlink("circle.ron", &circle).unwrap();
    assert!(store.save(&circle, &titled("x"), None).is_err());
    fs::set_permissions(&real, fs::Permissions::from_mode(0o444)).unwrap();
    let refused = store.save(&real, &titled("four"), None).unwrap_err();
    assert_eq!(refused.fault, Fault::ReadOnly);
    let name = real.file_name().unwrap().to_str().unwrap();
    assert!(refused.reason().starts_with(&format!("{name} is write-protected; ")), "{}", refused.reason());
}

#[test]
fn a_full_disk_or_a_kill_leaves_the_old_plan_or_the_new_one_whole() {
    for at in 1..=8 {
        for how in [Failing::FullAt(at), Failing::KilledAt(at)] {
            let place = Place::new();
            place.store().save(&place.plan(), &titled("old"), None).unwrap();
            let outcome = place.faulty(how).save(&place.plan(), &titled("new"), None);
            let now = place.store().load(&place.plan()).unwrap().plan;
            assert!(now == titled("old") || now == titled("new"), "{how:?}");
            if outcome.is_ok() {
                assert_eq!(now, titled("new"), "{how:?}");
            }
            if let (Failing::FullAt(2..=4), Err(e)) = (how, &outcome) {
                assert_eq!(e.fault, Fault::Full, "{e}");
                assert_eq!(now, titled("old"), "{how:?}");
                assert_eq!(place.names(), ["larkspur.ron"], "{how:?}");
                assert!(e.to_string().contains("make room"), "{e}");
            }
            // Whatever was left behind does not stand in the way of the next save.
            place.store().save(&place.plan(), &titled("next"), None).unwrap();
            assert_eq!(place.store().load(&place.plan()).unwrap().plan, titled("next"));
        }
    }
}

/// None takes its name before all are written; of those that could not all take it each is the old one or the new one.
#[test]
fn several_texts_are_written_all_or_none() {
    const NAMES: [&str; 3] = ["a.txt", "b.txt", "c.txt"];
    for at in 1..=20 {
        for how in [Failing::FullAt(at), Failing::KilledAt(at)] {
            let place = Place::new();
            let folder = place.folder.path().join("jobs");
            let texts = |text: &'static str| NAMES.map(|name| (name, text));
            place.store().write_texts(&folder, &texts("old")).unwrap();
            let outcome = place.faulty(how).write_texts(&folder, &texts("new"));
            let now = NAMES.map(|name| fs::read_to_string(folder.join(name)).unwrap());
            assert!(now.iter().all(|text| text == "old" || text == "new"), "{how:?}: {now:?}");
            if outcome.is_ok() {
                assert!(now.iter().all(|text| text == "new"), "{how:?}: {now:?}");
            }
            if let (Failing::FullAt(_), Err(e)) = (how, &outcome) {
                assert_eq!(e.fault, Fault::Full, "{e}");
                assert_eq!(place.names(), NAMES, "{how:?}: nothing is left beside them");
            }
            place.store().write_texts(&folder, &texts("next")).unwrap();
        }
    }
    let place = Place::new();
    place
        .faulty(Failing::FullAt(7))
        .write_texts(&place.folder.path().join("jobs"), &[("a.txt", "x"), ("b.txt", "y"), ("c.txt", "z")])
        .unwrap_err();
    assert!(place.names().is_empty(), "{:?}", place.names());
}

#[test]
fn a_change_by_someone_else_is_noticed() {
    let place = Place::new();
    let store = place.store();
    let stamp = store.save(&place.plan(), &titled("mine"), None).unwrap();
    assert!(!store.changed(&place.plan(), &stamp).unwrap());
    // The same length, perhaps in the same tick of the clock.
    fs::write(place.plan(), titled("ours").to_text()).unwrap();
    assert!(store.changed(&place.plan(), &stamp).unwrap());
    let e = store.save(&place.plan(), &titled("mine 2"), Some(&stamp)).unwrap_err();
    assert_eq!(e.fault, Fault::Changed);
    assert_eq!(store.load(&place.plan()).unwrap().plan, titled("ours"));
    // Touched with the same content is no change.
    fs::write(place.plan(), titled("mine").to_text()).unwrap();
    assert!(!store.changed(&place.plan(), &stamp).unwrap());
    let stamp = store.save(&place.plan(), &titled("mine 2"), Some(&stamp)).unwrap();
    // One that has gone is made again.
    fs::remove_file(place.plan()).unwrap();
    store.save(&place.plan(), &titled("mine 3"), Some(&stamp)).unwrap();
}

#[test]
fn a_lock_is_held_by_one_and_a_stale_one_is_taken_over() {
    let place = Place::new();
    let store = place.store();
    store.save(&place.plan(), &titled("x"), None).unwrap();
    let Locking::Ours(held) = store.lock(&place.plan()) else { panic!("the first lock") };
    assert_eq!(place.names(), [".larkspur.ron.lock", "larkspur.ron"]);
    match place.store().lock(&place.plan()) {
        Locking::Elsewhere(who) => assert!(who.contains(&format!("process {}", std::process::id())), "{who}"),
        _ => panic!("the second lock"),
    }
    // Saving does not lose it.
    store.save(&place.plan(), &titled("y"), None).unwrap();
    assert!(matches!(place.store().lock(&place.plan()), Locking::Elsewhere(_)));
    drop(held);
    assert_eq!(place.names(), ["larkspur.ron"]);
    fs::write(place.folder.path().join("jobs/.larkspur.ron.lock"), "pid 999999\nhost gone\n").unwrap();
    assert!(matches!(store.lock(&place.plan()), Locking::Ours(_)));
    match place.faulty(Failing::NoWritesBelow("jobs")).lock(&place.plan()) {
        Locking::Impossible(why) => assert!(why.contains("larkspur.ron"), "{why}"),
        _ => panic!("no lock can be made"),
    }
}

/// The newest copy that is offered for a plan.
fn offered(store: &Store, path: &Path) -> Option<Plan> {
    store.offers(path).pop().map(|offer| offer.plan)
}

#[test]
fn a_recovery_copy_is_kept_offered_and_dropped() {
    let place = Place::new();
    let store = place.store();
    let path = place.plan();
    store.save(&path, &titled("saved"), None).unwrap();
    assert!(store.offers(&path).is_empty());
    let mut kept = None;
    let mut keep = |title: &str| {
        store.keep_copy(Whose::Ours(&path), &titled(title), "", &mut kept).unwrap();
        kept.as_ref().unwrap().path.clone()
    };
    let copy = keep("edited");
    assert_eq!(copy.file_name().unwrap(), ".larkspur.ron.recovery");
    assert_eq!(fs::metadata(&copy).unwrap().permissions().mode() & 0o077, 0);
    let offer = store.offers(&path).pop().unwrap();
    assert_eq!(offer.plan, titled("edited"));
    assert!(offer.written.is_some() && offer.saved.is_some());
    // The same as the file: nothing to offer, now or beside a later file.
    assert_eq!(keep("saved"), copy, "our own is written over");
    assert!(store.offers(&path).is_empty() && !copy.exists());
    keep("edited");
    store.drop_kept(&mut kept);
    assert_eq!(place.names(), ["larkspur.ron"]);
    // Where one waits the next has another name, and a broken file hides neither.
    for (title, name) in [("first", ".larkspur.ron.recovery"), ("second", ".larkspur.ron.recovery-2")] {
        let mut kept = None;
        store.keep_copy(Whose::Ours(&path), &titled(title), "", &mut kept).unwrap();
        assert_eq!(kept.unwrap().path.file_name().unwrap(), name);
    }
    fs::write(&path, "(version: 1, job").unwrap();
    let titles: Vec<_> = store.offers(&path).into_iter().map(|offer| offer.plan.job.title).collect();
    assert_eq!(titles, ["first", "second"]);
}

#[test]
fn where_the_folder_cannot_be_written_the_copy_is_kept_in_the_data_directory() {
    let place = Place::new();
    let path = place.plan();
    place.store().save(&path, &titled("saved"), None).unwrap();
    let store = place.faulty(Failing::NoWritesBelow("jobs"));
    let mut kept = None;
    store.keep_copy(Whose::Ours(&path), &titled("edited"), "", &mut kept).unwrap();
    let copy = kept.as_ref().unwrap().path.clone();
    assert!(copy.starts_with(place.data()), "{}", copy.display());
    assert_eq!(store.save(&path, &titled("edited"), None).unwrap_err().fault, Fault::Denied);
    // In use by whoever keeps it, then left behind.
    assert!(place.store().offers(&path).is_empty());
    drop(kept);
    assert_eq!(offered(&store, &path), Some(titled("edited")));
    let offer = store.offers(&path).pop().unwrap();
    place.store().drop_offer(&offer);
    assert!(store.offers(&path).is_empty());
    let nowhere = Store::new(Arc::new(FaultyDisk::new(Failing::NoWritesBelow("jobs"))), None);
    assert!(nowhere.keep_copy(Whose::Ours(&path), &titled("edited"), "", &mut None).is_err());
}

/// A folder that can no longer be written: the copy moves to the data directory, and what was kept before is still there
/// while nothing newer is.
#[test]
fn a_copy_that_can_no_longer_be_written_moves() {
    let place = Place::new();
    let (path, mut kept) = (place.plan(), None);
    place.store().save(&path, &titled("saved"), None).unwrap();
    place.store().keep_copy(Whose::Ours(&path), &titled("one"), "", &mut kept).unwrap();
    let nowhere = Store::new(Arc::new(FaultyDisk::new(Failing::NoWritesBelow("jobs"))), None);
    assert!(nowhere.keep_copy(Whose::Ours(&path), &titled("two"), "", &mut kept).is_err());
    assert_eq!(offered(&place.store(), &path), Some(titled("one")));
    place.faulty(Failing::NoWritesBelow("jobs")).keep_copy(Whose::Ours(&path), &titled("two"), "", &mut kept).unwrap();
    assert!(kept.as_ref().unwrap().path.starts_with(place.data()));
    drop(kept);
    assert_eq!(offered(&place.store(), &path), Some(titled("two")));
}

#[test]
fn copies_of_plans_never_saved_are_offered() {
    let place = Place::new();
    let store = place.store();
    let mut kept = None;
    store.keep_copy(Whose::Nobodys, &titled("new job"), "", &mut kept).unwrap();
    let copy = kept.as_ref().unwrap().path.clone();
    // One that is in use is its program's own business, whatever number that has.
    assert!(store.unsaved_offers().is_empty());
    drop(kept.take());
    let offers = store.unsaved_offers();
    assert_eq!(offers.len(), 1);
    assert_eq!(offers[0].plan, titled("new job"));
    assert!(store.unsaved_offers().is_empty(), "asked about by one at a time");
    drop(offers);
    // A process of the same number does not write over it, nor does one that runs hide it: process 1 always runs.
    store.keep_copy(Whose::Nobodys, &titled("newer"), "", &mut kept).unwrap();
    assert_ne!(kept.as_ref().unwrap().path, copy);
    fs::rename(&copy, copy.with_file_name("unsaved-1.recovery")).unwrap();
    assert_eq!(store.unsaved_offers().pop().unwrap().plan, titled("new job"));
    store.drop_kept(&mut kept);
    assert_eq!(fs::read_dir(copy.parent().unwrap()).unwrap().count(), 1, "no lock is left either");
}

#[test]
fn messages_say_path_what_and_what_to_do() {
    let place = Place::new();
    let store = place.store();
    let says = |path: &Path| store.load(path).unwrap_err().to_string();
    let missing = says(&place.plan());
    assert!(missing.contains("larkspur.ron: cannot read it: there is no such file; check the name"), "{missing}");
    assert!(says(place.folder.path()).contains("is a directory"));
    fs::write(place.plan(), b"(version: 1, \xff)").unwrap();
    assert!(says(&place.plan()).contains("byte 13 is not UTF-8"), "{}", says(&place.plan()));
    fs::write(place.plan(), "(version: 1, job: (titel: \"x\"))").unwrap();
    let e = store.load(&place.plan()).unwrap_err();
    assert_eq!(e.fault, Fault::NotPlan);
    assert_eq!(e.load.as_ref().map(|l| l.line), Some(1));
    assert!(e.to_string().contains("line 1, column 20: job.titel: unknown field \"titel\""), "{e}");
}

/// A name that stands twice is said with its place, and the plan is there whole: reading and saving lose neither of both.
#[test]
fn a_name_that_stands_twice_is_said_and_kept() {
    let place = Place::new();
    let text = "(\n    version: 1,\n    devices: [\n        (id: \"BUS\", kind: \"bus\"),\n        (id: \"BUS\", kind: \"switch\"),\n    ],\n)\n";
    fs::write(place.plan(), text).unwrap();
    let opened = place.store().load(&place.plan()).unwrap();
    let said = "line 5, column 14: devices.BUS: a second BUS: what names BUS means the one of line 4; give this one a name of its own";
    assert_eq!(opened.remarks, [said]);
    assert_eq!(opened.plan.devices.len(), 2);
    place.store().save(&place.plan(), &opened.plan, Some(&opened.stamp)).unwrap();
    let again = place.store().load(&place.plan()).unwrap();
    assert_eq!((again.plan == opened.plan, again.remarks.len()), (true, 1));
    fs::write(place.plan(), text.replace("\"BUS\", kind: \"switch\"", "\"SW\", kind: \"switch\"")).unwrap();
    assert!(place.store().load(&place.plan()).unwrap().remarks.is_empty());
}

/// Edits made before a crash come back one by one; what of them does not fit is left out, and the plan is there all the same.
#[test]
fn a_recovery_copy_holds_the_steps_that_led_to_it() {
    use coachwire::store::Trail;
    let place = Place::new();
    let (store, path) = (place.store(), place.plan());
    let plans = ["saved", "one", "two\n//| three", "four"].map(|title| Arc::new(titled(title)));
    store.save(&path, &plans[0], None).unwrap();
    let (mut trail, mut kept) = (Trail::default(), None);
    let none = std::iter::empty;
    let past = |count: usize| {
        let before = plans.iter().take(count).enumerate().rev();
        before.map(|(i, plan)| (format!("step {i}\nof many"), Arc::clone(plan))).collect::<Vec<_>>()
    };
    for (count, plan) in plans.iter().enumerate().skip(1) {
        let steps = trail.below(plan, past(count).into_iter(), none());
        assert_eq!(steps, Trail::default().below(plan, past(count).into_iter(), none()), "as written from nothing");
        store.keep_copy(Whose::Ours(&path), plan, &steps, &mut kept).unwrap();
    }
    let copy = place.folder.path().join("jobs/.larkspur.ron.recovery");
    let offer = store.offers(&path).pop().unwrap();
    assert_eq!(offer.plan, *plans[3]);
    let found: Vec<_> = offer.past.iter().map(|(name, plan)| (name.as_str(), plan.job.title.as_str())).collect();
    let wanted = [("step 2 of many", "two\n//| three"), ("step 1 of many", "one"), ("step 0 of many", "saved")];
    assert_eq!(found, wanted);
    let text = fs::read_to_string(&copy).unwrap();
    fs::write(&copy, text.replace("\"one\"", "\"won\"")).unwrap();
    let offer = store.offers(&path).pop().unwrap();
    assert_eq!((offer.plan == *plans[3], offer.past.len()), (true, 1), "up to the step that does not fit");
    fs::write(&copy, text.replace("//@ ", "//@ 99999999999999999999")).unwrap();
    assert_eq!(store.offers(&path).pop().unwrap().past.len(), 0);
}
