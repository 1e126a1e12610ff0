//! The truck stock on screen.

use std::sync::Arc;

use super::Screen;
use coachwire::plan::Known;
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::Truck;
use coachwire::store::{Fault, RealDisk, Store, StoreError};
use coachwire::tui::message::{Effect, Message, TruckFailure};
use coachwire::tui::shop::{TruckFile, TruckState};
use coachwire::units::{Amps, Metres, Number};

/// A screen beside a real folder: effects of the stock are performed as the program performs them.
struct Van {
    screen: Screen,
    store: Store,
    folder: tempfile::TempDir,
}

impl Van {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::new(Arc::new(RealDisk), Some(folder.path().to_path_buf()));
        Self { screen: Screen::dunlin(), store, folder }
    }

    fn keys(&mut self, script: &str) -> &mut Self {
        for key in super::parse(script) {
            self.screen.send(Message::Key(key));
            while let Some(effect) = self.screen.effects.pop() {
                let answer = match effect {
                    Effect::OpenTruck => {
                        let state = match self.store.truck().1 {
                            Ok(Some(truck)) => TruckState::Read(truck),
                            Ok(None) => TruckState::Missing,
                            Err(e) => TruckState::Broken(e.to_string()),
                        };
                        Message::Truck(TruckFile { path: "/van/truck.ron".into(), state })
                    }
                    Effect::SaveTruck { truck, was } => {
                        let saved = self.store.save_truck(&truck, was.as_deref());
                        let failed = |e: StoreError| match (e.fault, self.store.truck().1) {
                            (Fault::Changed, Ok(now)) => TruckFailure::Changed(now.map(Box::new)),
                            _ => TruckFailure::Failed(e.reason()),
                        };
                        Message::TruckSaved(saved.map(|()| truck).map_err(failed))
                    }
                    other => panic!("{other:?}"),
                };
                self.screen.send(answer);
            }
        }
        self
    }

    fn file(&self) -> std::path::PathBuf {
        self.folder.path().join("truck.ron")
    }

    fn on_disk(&self) -> Truck {
        Truck::from_text(&std::fs::read_to_string(self.file()).unwrap()).unwrap()
    }
}

#[test]
fn without_a_file_it_says_so_and_a_starter_begins_one() {
    let mut van = Van::new();
    van.keys("8");
    assert!(van.screen.text().contains("no file yet"), "{}", van.screen.text());
    assert!(van.screen.text().contains("t starter"), "{}", van.screen.text());
    assert!(!van.file().exists(), "looking writes nothing");
    van.keys("t");
    assert_eq!(van.on_disk(), Truck::starter());
    let starter = van.on_disk();
    assert!(starter.spools.iter().all(|s| s.left_m == Known::Unknown), "nothing is counted by guess");
    assert!(starter.fuses.iter().all(|f| f.count == Known::Unknown && f.price == Some(Known::Unknown)));
    assert!(!van.screen.text().contains("t starter"), "{}", van.screen.text());
    van.keys("u");
    assert_eq!(van.on_disk(), Truck::default());
}

#[test]
fn a_spool_and_a_fuse_are_entered_counted_and_undone() {
    let mut van = Van::new();
    // A new spool: gauge, then its length in feet as the plan has it.
    van.keys("8a<Enter>2/0<Enter><Down><Down><Down><Down><Enter>25'<Enter>");
    let spool = van.on_disk().spools[0].clone();
    assert_eq!(spool.gauge.known().unwrap().to_string(), "2/0 AWG");
    // 25 ft of 0.3048 m.
    assert_eq!(spool.left_m, Known::Is(Metres(7.62)));
    // Wire is sold by the foot here: 1.25 a foot is 1.25 / 0.3048 = 4.10105 a metre.
    van.keys("<Down><Enter>1.25<Enter>");
    let price = van.on_disk().spools[0].price_per_metre.unwrap().known().unwrap().0;
    assert!((price - 4.101_05).abs() < 1e-5, "{price}");
    assert!(van.screen.text().contains("1.25/ft"), "{}", van.screen.text());
    van.keys("<Enter>4.10/m<Enter>");
    assert_eq!(van.on_disk().spools[0].price_per_metre, Some(Known::Is(Number(4.1))));
    van.keys("u");
    // Its weight by the foot as well, 0.64 lb of 0.45359237 kg; and what is left to the inch: 30 m are 98 ft 5.1 in.
    van.keys("<Down><Enter>0.64<Enter>");
    let kg = van.on_disk().spools[0].kg_per_metre.unwrap().known().unwrap().0;
    assert!((kg - 0.64 * 0.453_592_37 / 0.3048).abs() < 1e-9, "{kg}");
    assert!(van.screen.text().contains("0.64 lb/ft"), "{}", van.screen.text());
    van.keys("u<Up><Up><Enter>30m<Enter>");
    assert!(van.screen.text().contains("98'5\"") && !van.screen.text().contains("5.1"), "{}", van.screen.text());
    assert_eq!(van.on_disk().spools[0].left_m, Known::Is(Metres(30.0)));
    van.keys("u");
    // A fuse, its type from the list.
    van.keys("<Esc><Down>a<Enter>sf30<Enter><Down><Enter>100<Enter><Down><Enter>4<Enter>");
    let fuse = van.on_disk().fuses[0].clone();
    assert_eq!(fuse.family, Known::Is(FuseFamily::Sf30));
    assert_eq!((fuse.amps_a, fuse.count), (Known::Is(Amps(100.0)), Known::Is(Number(4.0))));
    van.keys("c");
    assert_eq!(van.on_disk().fuses.len(), 2);
    assert_eq!(van.on_disk().fuses[1].family, Known::Is(FuseFamily::Sf30));
    van.keys("d");
    assert_eq!(van.on_disk().fuses.len(), 1);
    van.keys("uuu");
    assert_eq!(van.on_disk().fuses[0].count, Known::Unknown);
    van.keys("r");
    assert_eq!(van.on_disk().fuses[0].count, Known::Is(Number(4.0)));
    // The plan's prices and proposals know of it at once.
    let stock = van.screen.model.document.as_ref().unwrap().stock().clone();
    assert_eq!(stock.truck, van.on_disk());
    van.keys("<Esc><Esc>");
    assert!(van.screen.model.shop.is_none() && van.screen.text().contains("RUNS"), "{}", van.screen.text());
}

#[test]
fn what_does_not_parse_stays_open_and_is_not_saved() {
    let mut van = Van::new();
    van.keys("8a<Enter>9 awg<Enter>");
    assert!(van.screen.said().contains("is no AWG size"), "{}", van.screen.said());
    assert!(van.screen.model.shop.as_ref().unwrap().field.is_some());
    assert_eq!(van.on_disk().spools[0].gauge, Known::Unknown);
    van.keys("<Esc>");
    assert!(van.screen.model.shop.as_ref().unwrap().field.is_none());
}

/// A refusal names the field, while it is typed and after Enter.
#[test]
fn a_refusal_names_its_field() {
    let mut van = Van::new();
    van.keys("8a<Enter>7 AWG");
    assert!(van.screen.text().contains("! gauge: "), "{}", van.screen.text());
    van.keys("<Enter>");
    assert!(van.screen.model.messages.last().is_some_and(|said| said.starts_with("gauge: ")), "{}", van.screen.text());
}

#[test]
fn a_broken_file_is_said_with_its_place_and_never_overwritten() {
    let mut van = Van::new();
    let slip = "(\n    version: 1,\n    spools: [\n        (id: \"SP1\", gauge: \"9 AWG\"),\n    ],\n)\n";
    std::fs::write(van.file(), slip).unwrap();
    van.keys("8");
    let text = van.screen.text().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("DOES NOT READ") && text.contains("line 4"), "{text}");
    assert!(text.contains("column"), "{text}");
    van.keys("ta<Enter>a<Enter>10<Enter>cdw<Esc><Esc>");
    assert_eq!(std::fs::read_to_string(van.file()).unwrap(), slip);
    assert_eq!(std::fs::read_dir(van.folder.path()).unwrap().count(), 1, "no copies either");
}

#[test]
fn a_file_edited_by_hand_meanwhile_is_not_overwritten_unasked() {
    let mut van = Van::new();
    van.keys("8t");
    let by_hand = "(version: 1, note: \"counted on Friday\")";
    std::fs::write(van.file(), by_hand).unwrap();
    van.keys("a");
    let text = van.screen.text().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("NOT saved") && text.contains("changed by someone else"), "{text}");
    assert!(text.contains("counted on Friday -> "), "what differs is named: {text}");
    assert!(text.contains("NOT SAVED"), "{text}");
    assert_eq!(std::fs::read_to_string(van.file()).unwrap(), by_hand);
    // What the file holds, and back to what was on screen, which is saved then.
    let own = van.screen.model.stock.truck.clone();
    van.keys("t");
    assert_eq!(van.screen.model.stock.truck.note, "counted on Friday");
    assert_eq!(std::fs::read_to_string(van.file()).unwrap(), by_hand);
    van.keys("u");
    assert_eq!((&van.screen.model.stock.truck, van.on_disk()), (&own, own.clone()));
    // Or over it, once it is known.
    std::fs::write(van.file(), by_hand).unwrap();
    van.keys("wk");
    assert_eq!(std::fs::read_to_string(van.file()).unwrap(), by_hand);
    van.keys("ws");
    assert_eq!(van.on_disk(), own);
}

/// What could not be saved is shown again, asked about before leaving, and saved once it can be.
#[test]
fn a_stock_that_could_not_be_saved_stays() {
    let mut van = Van::new();
    van.keys("8t<Enter><Enter><Down><Down><Down><Down><Enter>50'<Enter>");
    let before = van.on_disk();
    // A folder in its place: as where the disk is full, nothing can be written.
    std::fs::remove_file(van.file()).unwrap();
    std::fs::create_dir(van.file()).unwrap();
    van.keys("<Enter>20'<Enter>");
    assert!(van.screen.said().contains("NOT saved"), "{}", van.screen.said());
    let own = van.screen.model.stock.truck.clone();
    assert_ne!(own, before);
    van.keys("<Esc><Esc><Esc>");
    assert!(van.screen.model.shop.is_none() && van.screen.said().contains("NOT in its file"), "{}", van.screen.said());
    van.keys("q");
    assert!(van.screen.text().contains("not in its file. Leave?"), "{}", van.screen.text());
    van.keys("k");
    std::fs::remove_dir(van.file()).unwrap();
    van.keys("8");
    assert_eq!(van.screen.model.stock.truck, own);
    assert!(van.screen.text().contains("NOT SAVED"), "{}", van.screen.text());
    // The file is gone: that is asked about too.
    van.keys("ws");
    assert_eq!(van.on_disk(), own);
    // Left and opened again, what was done can still be undone.
    van.keys("<Esc>8u");
    assert_eq!(van.on_disk(), before);
}

#[test]
fn it_opens_from_the_start_screen_too() {
    let mut van = Van::new();
    van.screen = Screen::with(Screen::start());
    van.keys("8t<Enter><Enter>+");
    assert_eq!(van.on_disk().spools[0].gauge.known().unwrap().to_string(), "12 AWG", "one size up from 14");
    van.keys("?");
    assert!(van.screen.text().contains("HELP"), "{}", van.screen.text());
    van.keys("<Esc><Esc><Esc><Esc>");
    assert!(van.screen.model.document.is_none() && van.screen.model.shop.is_none());
}

/// Keys from a fixed seed over findings, workings, isolation, lists and the stock: nothing panics, at any size.
#[test]
fn any_keys_on_the_new_views_at_any_size() {
    const KEYS: &[&str] = &[
        "8", "t", "a", "d", "c", "u", "r", "5", "1", "e", "i", "x", "g", "n", "0", "?", "+", "-", "b", "<Enter>",
        "<Esc>", "<Up>", "<Down>", "<Left>", "<Right>", "<PgDn>", "<PgUp>", "<Home>", "<End>", "<Tab>", "<BS>",
        "<C-u>", "s", "f", "2", "/",
    ];
    let mut seed: u64 = 20_260_912;
    let mut next = |n: usize| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(seed >> 33).unwrap() % n
    };
    for (columns, rows) in [(40, 12), (60, 16), (80, 24), (120, 40), (200, 60)] {
        for _ in 0..6 {
            let mut van = Van::new();
            van.screen = Screen::on(include_str!("../../plans/thistle.ron"), (columns, rows));
            for _ in 0..60 {
                let key = super::parse(KEYS[next(KEYS.len())])[0];
                van.screen.send(Message::Key(key));
                for effect in std::mem::take(&mut van.screen.effects) {
                    let answer = match effect {
                        Effect::OpenTruck => Message::Truck(TruckFile {
                            path: "/van/truck.ron".into(),
                            state: match next(3) {
                                0 => TruckState::Missing,
                                1 => TruckState::Read(Truck::starter()),
                                _ => TruckState::Broken("line 1, column 1: no".into()),
                            },
                        }),
                        Effect::SaveTruck { truck, .. } => Message::TruckSaved(Ok(truck)),
                        _ => continue,
                    };
                    van.screen.send(answer);
                }
                let text = van.screen.text();
                assert_eq!(text.lines().count(), usize::from(rows));
            }
        }
    }
}

/// A new item left as it came is no item; one that something was entered in stays.
#[test]
fn a_new_item_left_untouched_goes_again() {
    let mut van = Van::new();
    van.keys("8a");
    assert_eq!(van.on_disk().spools.len(), 1);
    van.keys("<Esc>");
    assert_eq!(van.on_disk(), Truck::default());
    assert!(van.screen.text().contains("SP1 is gone again"), "{}", van.screen.text());
    van.keys("a<Enter>6awg<Enter><Esc>");
    assert_eq!(van.on_disk().spools.len(), 1, "{}", van.screen.text());
}
