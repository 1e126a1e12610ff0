//! From nothing: reading and writing a plan, and the whole program from its start to its end.
//!
//! Budget of a release build: 15 ms from start to the first full frame; `figures` does all of that but draw.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::process::{Command, Stdio};

use coachwire::plan::Plan;
use coachwire::plan::samples::sample;
use divan::Bencher;

fn main() {
    divan::main();
}

#[divan::bench]
fn read_plan(bencher: Bencher<'_, '_>) {
    let text = sample("larkspur").expect("a sample").text;
    bencher.bench_local(|| Plan::from_text(text).expect("a plan"));
}

#[divan::bench]
fn write_plan(bencher: Bencher<'_, '_>) {
    let plan = Plan::from_text(sample("larkspur").expect("a sample").text).expect("a plan");
    bencher.bench_local(|| plan.to_text());
}

#[divan::bench]
fn find_place(bencher: Bencher<'_, '_>) {
    bencher.bench_local(|| coachwire::climate::places::find("quartzs", 20));
}

fn program(arguments: &[&str]) {
    let status = Command::new(env!("CARGO_BIN_EXE_coachwire"))
        .args(arguments)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .status()
        .expect("the program starts");
    assert!(status.success(), "{arguments:?}");
}

#[divan::bench]
fn program_version() {
    program(&["--version"]);
}

#[divan::bench]
fn program_figures() {
    program(&["figures", concat!(env!("CARGO_MANIFEST_DIR"), "/plans/larkspur.ron")]);
}
