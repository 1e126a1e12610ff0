//! The program in a real (pseudo-)terminal.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod bytes;
mod lifecycle;
mod pty;
mod screen;
mod session;
mod slow;
mod work;
mod worker;
