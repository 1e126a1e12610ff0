//! coachwire: arguments, full screen or headless, exit codes.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(coachwire::cli::run(std::env::args_os()))
}
