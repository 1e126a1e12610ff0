//! What can be typed after `coachwire`, and what is made of that: help, completions, the man page.

use clap::builder::{PossibleValuesParser, ValueParser};
use clap::{Arg, ArgAction, ArgMatches, Command};
use clap_complete::Shell;

use super::output::{self, Failure};
use crate::plan::samples::SAMPLES;
use crate::tui::theme::Palette;

const ABOUT: &str = "One plan for solar, battery and DC wiring work on motorhomes, vans and\n\
                     trailers: every edit is at once a new answer.";
const CODES: &str = "Exit codes:
  0  done (check: no stop, and every safety check ran)
  1  check found a stop
  2  unreadable plan or wrong usage
  3  check found no stop, but safety checks could not run for want of a value
  4  cannot write
  128 and the number of the signal that ended the full screen

The program checks what was entered. The equipment's instructions, the local
code and a licensed person's judgement come before it.";
const SET_HELP: &str = "Change a field first, as typed on screen: --set runs.W2.gauge=\"6 AWG\". May be repeated; a \
                        later one comes on top of an earlier one.";

/// The command line.
pub(super) fn command() -> Command {
    Command::new("coachwire")
        .version(env!("CARGO_PKG_VERSION"))
        .about(ABOUT)
        .after_help(CODES)
        .args_conflicts_with_subcommands(true)
        .disable_help_subcommand(true)
        .arg(path("PLAN").required(false).help("Plan to open full screen; without it: recent plans and samples"))
        .arg(
            Arg::new("palette")
                .long("palette")
                .value_name("NAME")
                .value_parser(PossibleValuesParser::new(Palette::WORDS))
                .hide_possible_values(true)
                .help("Looks of the full screen: plain, colour or contrast"),
        )
        .arg(Arg::new("ascii").long("ascii").action(ArgAction::SetTrue).help("Borders of the full screen in ASCII"))
        .subcommand(check())
        .subcommand(figures())
        .subcommand(papers())
        .subcommand(new())
        .subcommand(places())
        .subcommand(fields())
        .subcommand(
            Command::new("completions")
                .hide(true)
                .about("Completions for a shell")
                .arg(Arg::new("SHELL").required(true).value_parser(shells())),
        )
        .subcommand(Command::new("man").hide(true).about("The manual page"))
}

fn path(name: &'static str) -> Arg {
    Arg::new(name).required(true).value_parser(ValueParser::path_buf())
}

fn plan() -> Arg {
    path("PLAN").help("Plan file; - reads standard input")
}

fn check() -> Command {
    Command::new("check").about("Findings as text; the exit code says how grave they are").arg(plan()).arg(set())
}

fn figures() -> Command {
    Command::new("figures").about("Every figure as JSON; what is not known is null").arg(plan()).arg(set())
}

fn papers() -> Command {
    Command::new("papers").about("Checks, wire schedule and isolation as text to print").arg(plan()).arg(
        Arg::new("to")
            .long("to")
            .value_name("DIR")
            .required(true)
            .value_parser(ValueParser::path_buf())
            .help("Folder for them, made if missing; papers in it are replaced"),
    )
}

fn set() -> Arg {
    Arg::new("set").long("set").value_name("PATH=VALUE").action(ArgAction::Append).help(SET_HELP)
}

fn new() -> Command {
    let samples: Vec<String> = SAMPLES.iter().map(|s| format!("  {:10} {}", s.name, s.about)).collect();
    Command::new("new")
        .about("A new plan file, blank or from a sample; never replaces a file")
        .arg(path("FILE").help("File to write"))
        .arg(
            Arg::new("from")
                .long("from")
                .value_name("SAMPLE")
                .value_parser(PossibleValuesParser::new(SAMPLES.iter().map(|s| s.name)))
                .hide_possible_values(true)
                .help("Start from a sample plan"),
        )
        .after_help(format!("Samples:\n{}", samples.join("\n")))
}

fn places() -> Command {
    Command::new("places").about("Find a place and its position in the built-in list").arg(
        Arg::new("WORDS")
            .required(true)
            .action(ArgAction::Append)
            .num_args(1..)
            .allow_hyphen_values(true)
            .help("Parts of the name, of the state or the country; or a position: 33.66,-114.23"),
    )
}

fn fields() -> Command {
    Command::new("fields").about("Every field and rule value: what it means and what it accepts").arg(
        Arg::new("WORDS").action(ArgAction::Append).num_args(0..).help("Only fields whose path or help has every word"),
    )
}

fn shells() -> PossibleValuesParser {
    PossibleValuesParser::new(["bash", "elvish", "fish", "powershell", "zsh"])
}

/// Writes the completions of a shell.
pub(super) fn completions(matches: &ArgMatches) -> Result<u8, Failure> {
    let name = matches.get_one::<String>("SHELL").map_or("", String::as_str);
    let shell: Shell = name.parse().map_err(|e| Failure::usage(format!("{name}: {e}")))?;
    let mut bytes = Vec::new();
    clap_complete::generate(shell, &mut command(), "coachwire", &mut bytes);
    output::say(&bytes)?;
    Ok(super::FINE)
}

/// Writes the manual page.
pub(super) fn man() -> Result<u8, Failure> {
    let mut bytes = Vec::new();
    clap_mangen::Man::new(command())
        .render(&mut bytes)
        .map_err(|e| Failure::writing(format!("the manual page: {e}")))?;
    output::say(&bytes)?;
    Ok(super::FINE)
}
