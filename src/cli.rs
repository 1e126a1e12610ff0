//! The command line: full screen, or an answer as text or JSON on a dumb terminal.
//!
//! Exit codes of `check`: 0 no stop and every safety check ran, 1 a stop (an accepted one too), 3 no stop but safety
//! checks could not run. Of every command: 2 unreadable plan or wrong usage, 4 cannot write.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use clap::ArgMatches;

use crate::stock::Stock;
use crate::store::Store;
use crate::tui::message::OpenWhat;
use crate::tui::{self, Ended, Request};

mod arguments;
mod check;
mod create;
mod fields;
mod figures;
mod output;
mod papers;
mod places;
mod read;

pub use check::text as check_text;

use output::Failure;

/// Done, or nothing to object to.
const FINE: u8 = 0;
/// The plan has a stop.
const STOP: u8 = 1;
/// Unreadable plan or wrong usage.
const USAGE: u8 = 2;
/// No stop, but safety checks could not run.
const NOT_CHECKED: u8 = 3;
/// Cannot write.
const CANNOT_WRITE: u8 = 4;
/// The full screen's terminal went away: 128 and the number of SIGHUP.
const HUNG_UP: u8 = 129;
/// A signal ended the full screen: this and its number, as a shell reports it.
const BY_SIGNAL: u8 = 128;

/// Runs the program on its arguments (the first is its own name) and gives the exit code.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let matches = match arguments::command().try_get_matches_from(arguments) {
        Ok(matches) => matches,
        Err(e) => return usage(&e),
    };
    let done = match matches.subcommand() {
        Some(("check", m)) => check::run(path(m, "PLAN"), &texts(m, "set")),
        Some(("figures", m)) => figures::run(path(m, "PLAN"), &texts(m, "set")),
        Some(("papers", m)) => papers::run(path(m, "PLAN"), path(m, "to")),
        Some(("new", m)) => create::run(path(m, "FILE"), m.get_one::<String>("from").map(String::as_str)),
        Some(("places", m)) => places::run(&texts(m, "WORDS").join(" ")),
        Some(("fields", m)) => fields::run(&texts(m, "WORDS")),
        Some(("completions", m)) => arguments::completions(m),
        Some(("man", _)) => arguments::man(),
        _ => full_screen(&matches),
    };
    done.unwrap_or_else(|failure| {
        output::complain(&failure.message);
        failure.code
    })
}

/// Help and version go to standard output, the rest to standard error.
fn usage(error: &clap::Error) -> u8 {
    // A closed pipe is no reason to complain.
    let _ = error.print();
    if error.use_stderr() { USAGE } else { FINE }
}

fn path<'a>(matches: &'a ArgMatches, name: &str) -> &'a Path {
    matches.get_one::<PathBuf>(name).map_or(Path::new("-"), PathBuf::as_path)
}

fn texts<'a>(matches: &'a ArgMatches, name: &str) -> Vec<&'a str> {
    matches.get_many::<String>(name).into_iter().flatten().map(String::as_str).collect()
}

/// The full screen, on a plan or on the recent ones. Ended by a signal, it exits as a shell reports that
/// signal; by a closed terminal, as it reports a hang-up.
fn full_screen(matches: &ArgMatches) -> Result<u8, Failure> {
    let request = Request {
        open: matches.get_one::<PathBuf>("PLAN").map(|path| OpenWhat::File(path.clone())),
        palette: matches.get_one::<String>("palette").and_then(|name| name.parse().ok()),
        ascii: matches.get_flag("ascii"),
    };
    match tui::run(&request) {
        Ok(Ended::Quit) => Ok(FINE),
        Ok(Ended::HangUp) => Ok(HUNG_UP),
        Ok(Ended::Signal(n, kept)) => {
            if let Some(plan) = kept {
                output::complain(&format!(
                    "edits of {plan} are kept in a recovery copy; opening it again asks about them"
                ));
            }
            Ok(BY_SIGNAL.saturating_add(u8::try_from(n).unwrap_or(0)))
        }
        Err(tui::Failure::Terminal(e)) => Err(Failure::writing(format!("the terminal failed: {e}"))),
        Err(refused) => Err(Failure::usage(refused.to_string())),
    }
}

/// The shop's own stock; what does not read is said.
fn stock() -> Stock {
    let (stock, troubles) = Store::real().stock();
    for trouble in troubles {
        output::complain(&trouble.to_string());
    }
    stock
}
