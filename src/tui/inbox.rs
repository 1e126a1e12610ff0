//! Everything that arrives, on one channel: keys, pastes, sizes, signals, the end of the terminal, workers' answers.
//!
//! Each source is a thread that blocks in the kernel; the loop blocks on the channel. Nothing ticks.

use std::io;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::io::Errno;
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP, SIGWINCH};
use signal_hook::iterator::Signals;

use super::bytes::{Decoder, Input};
use super::message::Message;
use super::session;

/// What arrives.
#[derive(Debug)]
pub enum Arrival {
    /// Something for the update loop.
    Message(Message),
    /// A signal of this number ends us.
    Ended(i32),
    /// Somebody asks us to stop (SIGTSTP).
    Stop,
    /// We were stopped and go on (SIGCONT).
    Continued,
}

/// The loop has so long to leave after the terminal is gone or a signal asks; a loop held up in a write to a terminal
/// that takes nothing would never leave.
const GRACE: Duration = Duration::from_millis(1500);
/// So many arrivals are taken before a frame is drawn, however fast they come.
const BATCH: usize = 512;
/// Rows of a ladder that come one after another share a frame for so long: each frame of its own costs the line as much again.
/// Whatever else arrives, and the last row, is not kept waiting.
const TOGETHER: Duration = Duration::from_millis(30);
/// Bytes taken from the terminal at once.
const READ_BYTES: usize = 4096;

/// The receiving end.
pub struct Inbox {
    receiver: Receiver<Arrival>,
    sender: Sender<Arrival>,
}

/// A sending end.
#[derive(Clone, Debug)]
pub struct Post(Sender<Arrival>);

impl Post {
    /// Sends a message; nobody listens any more when the program is leaving.
    pub fn send(&self, message: Message) {
        let _ = self.0.send(Arrival::Message(message));
    }
}

impl Inbox {
    /// An inbox that nothing arrives in but what its posts send.
    #[must_use]
    pub fn quiet() -> Self {
        let (sender, receiver) = channel();
        Self { receiver, sender }
    }

    /// Starts listening to the terminal and to signals.
    ///
    /// # Errors
    /// Threads or signal handlers cannot be had.
    pub fn open() -> io::Result<Self> {
        let inbox = Self::quiet();
        let signals = Signals::new([SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP, SIGCONT, SIGWINCH])?;
        let sender = inbox.sender.clone();
        thread::Builder::new().name("signals".into()).spawn(move || watch_signals(signals, &sender))?;
        let sender = inbox.sender.clone();
        thread::Builder::new().name("input".into()).spawn(move || {
            read_terminal(&sender);
            leave(&sender, Arrival::Message(Message::HangUp), SIGHUP);
        })?;
        Ok(inbox)
    }

    /// A sending end for workers.
    #[must_use]
    pub fn post(&self) -> Post {
        Post(self.sender.clone())
    }

    /// Waits until something arrives, then takes all that is there.
    pub fn wait(&self) -> Vec<Arrival> {
        // The inbox holds a sender itself, so the channel cannot be closed.
        let Ok(first) = self.receiver.recv() else { return vec![Arrival::Message(Message::HangUp)] };
        let mut all: Vec<Arrival> = std::iter::once(first).chain(self.receiver.try_iter()).take(BATCH).collect();
        let is_row = |a: &Arrival| matches!(a, Arrival::Message(Message::Ladder { complete: false, .. }));
        let since = Instant::now();
        while all.iter().all(is_row) && all.len() < BATCH {
            let Some(left) = TOGETHER.checked_sub(since.elapsed()) else { break };
            match self.receiver.recv_timeout(left) {
                Ok(more) => all.push(more),
                Err(_) => break,
            }
        }
        all
    }

    /// What is there now.
    pub fn ready(&self) -> Vec<Arrival> {
        self.receiver.try_iter().take(BATCH).collect()
    }
}

/// Asks the loop to leave, and ends the process if it cannot, with the exit status a shell gives that signal.
fn leave(sender: &Sender<Arrival>, why: Arrival, signal: i32) {
    if sender.send(why).is_err() {
        return;
    }
    thread::sleep(GRACE);
    session::give_back();
    std::process::exit(128 + signal);
}

fn watch_signals(mut signals: Signals, sender: &Sender<Arrival>) {
    for signal in signals.forever() {
        let arrival = match signal {
            SIGTSTP => Arrival::Stop,
            SIGCONT => Arrival::Continued,
            SIGWINCH => match crossterm::terminal::size() {
                Ok((columns, rows)) => Arrival::Message(Message::Resize(columns, rows)),
                Err(_) => continue,
            },
            signal => return leave(sender, Arrival::Ended(signal), signal),
        };
        if sender.send(arrival).is_err() {
            return;
        }
    }
}

/// Reads until the terminal is gone. A closed terminal shows as a hang-up in `poll`, as an error or as an empty read:
/// each of them ends the reading, none is tried again.
fn read_terminal(sender: &Sender<Arrival>) {
    let terminal = rustix::stdio::stdin();
    let mut decoder = Decoder::default();
    let mut bytes = [0_u8; READ_BYTES];
    let mut inputs = Vec::new();
    loop {
        let patience = decoder.patience().and_then(|d| Timespec::try_from(d).ok());
        let mut fds = [PollFd::new(&terminal, PollFlags::IN)];
        match poll(&mut fds, patience.as_ref()) {
            Err(Errno::INTR) => continue,
            Err(_) => return,
            Ok(0) => decoder.settle(&mut inputs),
            Ok(_) => {
                let happened = fds.first().map_or(PollFlags::ERR, PollFd::revents);
                if happened.intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL) {
                    return;
                }
                match rustix::io::read(terminal, &mut bytes) {
                    Ok(0) => return,
                    Ok(count) => decoder.feed(bytes.get(..count).unwrap_or_default(), &mut inputs),
                    Err(Errno::INTR | Errno::AGAIN) => continue,
                    Err(_) => return,
                }
            }
        }
        for input in inputs.drain(..) {
            let message = match input {
                Input::Key(key) => Message::Key(key),
                Input::NoEsc => Message::NoEsc,
                Input::Paste(text) => Message::Paste(text),
            };
            if sender.send(Arrival::Message(message)).is_err() {
                return;
            }
        }
    }
}
