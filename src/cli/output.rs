//! Writing to standard output and standard error; a closed pipe is quiet.

use std::io::{self, ErrorKind, Write};

use crate::wording::lines::plain;

/// Why a command did not do what it was asked: the message, and the exit code.
#[derive(Debug)]
pub(super) struct Failure {
    pub(super) message: String,
    pub(super) code: u8,
}

impl Failure {
    /// Unreadable plan or wrong usage.
    pub(super) fn usage(message: impl Into<String>) -> Self {
        Self { message: message.into(), code: super::USAGE }
    }

    /// Something could not be written.
    pub(super) fn writing(message: impl Into<String>) -> Self {
        Self { message: message.into(), code: super::CANNOT_WRITE }
    }
}

/// Writes to standard output. A reader that went away has what it wanted: no error.
///
/// # Errors
/// Any other failure, a full disk for one.
pub(super) fn say(bytes: &[u8]) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(Failure::writing(format!("standard output: {e}"))),
        _ => Ok(()),
    }
}

/// Writes a message to standard error, whatever becomes of it.
pub(super) fn complain(message: &str) {
    let _ = writeln!(io::stderr().lock(), "coachwire: {}", plain(message));
}
