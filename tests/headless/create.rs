//! `new`.

use coachwire::plan::samples::SAMPLES;
use coachwire::plan::{Known, Plan};

use super::program::Home;

#[test]
fn a_blank_plan_opens_again() {
    let home = Home::new();
    let path = home.path("blank.ron");
    let ran = home.run(&["new", path.to_str().unwrap()]);
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (0, "", ""));
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.starts_with("(\n    version: 1,"), "{text}");
    let mut blank = Plan::blank();
    // Nobody has said yet that the batteries have no cold cut-off, nor where they stand.
    blank.bank.charge_cutoff_c = Some(Known::Unknown);
    assert_eq!(blank.bank.heated, Known::Unknown);
    assert_eq!(Plan::from_text(&text).unwrap(), blank);
    // Nor where a plan's bank becomes a lithium one on the command line.
    let plain = home.path("plain.ron");
    std::fs::write(&plain, Plan::default().to_text()).unwrap();
    let ran = home.run(&[
        "figures",
        plain.to_str().unwrap(),
        "--set",
        "bank.chemistry=lifepo4",
        "--set",
        "bank.charge_cutoff_c=?",
    ]);
    let once = home.run(&["figures", plain.to_str().unwrap(), "--set", "bank.chemistry=lifepo4"]);
    assert_eq!((ran.code, ran.out), (once.code, once.out));
}

#[test]
fn a_sample_is_copied_as_it_is() {
    let home = Home::new();
    for sample in SAMPLES {
        let path = home.path(&format!("{}-copy.ron", sample.name));
        let ran = home.run(&["new", path.to_str().unwrap(), "--from", sample.name]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), **sample.text);
    }
}

#[test]
fn a_file_is_never_replaced() {
    let home = Home::new();
    let path = home.file("mine.ron", b"mine");
    home.run(&["new", &path]).refused(4, &["mine.ron", "is there already"]);
    assert_eq!(std::fs::read(&path).unwrap(), b"mine");
    let directory = home.path("folder");
    std::fs::create_dir(&directory).unwrap();
    home.run(&["new", directory.to_str().unwrap()]).refused(4, &["is there already"]);
}

#[test]
fn what_cannot_be_written_is_4() {
    let home = Home::new();
    // Below a regular file nothing can be written, whoever asks.
    let file = home.file("plain", b"");
    home.run(&["new", &format!("{file}/plan.ron")]).refused(4, &["plain/plan.ron", "is a file, not a folder"]);
    home.run(&["new", home.path("no/such/folder.ron").to_str().unwrap()])
        .refused(4, &["folder.ron", "folder is not there"]);
}
