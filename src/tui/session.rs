//! The terminal while the full screen has it: taken over once, given back on every way out.

use std::cell::RefCell;
use std::io::{self, IsTerminal, Write};
use std::rc::Rc;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};

use crossterm::cursor::{Hide, Show};
use crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use crossterm::queue;
use crossterm::style::ResetColor;
use crossterm::terminal::{
    BeginSynchronizedUpdate, Clear, ClearType, EndSynchronizedUpdate, EnterAlternateScreen, LeaveAlternateScreen,
    disable_raw_mode, enable_raw_mode,
};
use ratatui::layout::Rect;
use ratatui::{Frame, Terminal};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fd::{AsFd, BorrowedFd, OwnedFd};
use rustix::fs::{Mode, OFlags};
use rustix::io::Errno;
use rustix::termios::{QueueSelector, tcflush, ttyname};

use crate::tui::screen::{self, Screen};

/// Whether the terminal is ours now. Process-wide, because a panic hook and a signal thread must give it back too.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// A frame of so few bytes arrives whole as it is; the marks would be a third of it.
const SMALL_FRAME: usize = 48;

/// Bytes a frame may need before the buffer grows: the first full frame of a large screen.
const FRAME_BYTES: usize = 64 * 1024;

/// Why the full screen cannot be shown here, in words; `None` if it can.
#[must_use]
pub fn refusal(term: Option<&str>, input_is_terminal: bool, output_is_terminal: bool) -> Option<String> {
    let why = if !input_is_terminal {
        "standard input is not a terminal"
    } else if !output_is_terminal {
        "standard output is not a terminal"
    } else if term == Some("dumb") {
        "this terminal cannot place text (TERM=dumb)"
    } else {
        return None;
    };
    Some(format!(
        "{why}, so the full screen cannot be shown. `coachwire check PLAN` prints the findings of a plan as text; \
         `coachwire --help` lists more."
    ))
}

/// [`refusal`] for where this process runs.
#[must_use]
pub fn refusal_here() -> Option<String> {
    let term = std::env::var("TERM").ok();
    refusal(term.as_deref(), io::stdin().is_terminal(), io::stdout().is_terminal())
}

/// Bytes of the frame being made. Nothing leaves before a frame is sent whole: one frame, one write.
#[derive(Clone, Debug, Default)]
pub struct Frames {
    bytes: Rc<RefCell<Vec<u8>>>,
}

impl Write for Frames {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.bytes.borrow_mut().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    /// Does nothing: a frame is sent whole.
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Frames {
    /// Sends what has gathered, between the marks that let the terminal show it at once.
    fn send(&mut self, waits: &mut dyn FnMut()) -> io::Result<()> {
        let frame = std::mem::take(&mut *self.bytes.borrow_mut());
        if frame.is_empty() {
            return Ok(());
        }
        if frame.len() <= SMALL_FRAME {
            return write_all(&frame, waits);
        }
        let mut marked = Vec::with_capacity(frame.len() + 16);
        queue!(marked, BeginSynchronizedUpdate)?;
        marked.extend_from_slice(&frame);
        queue!(marked, EndSynchronizedUpdate)?;
        write_all(&marked, waits)
    }
}

/// The terminal, opened once more so that a write takes what it will and does not hold us up: the shell's own opening must not
/// become so. Standard output where it cannot be had.
fn terminal() -> BorrowedFd<'static> {
    static AGAIN: OnceLock<Option<OwnedFd>> = OnceLock::new();
    let open = || {
        let name = ttyname(rustix::stdio::stdout(), Vec::new()).ok()?;
        let flags = OFlags::WRONLY | OFlags::NONBLOCK | OFlags::NOCTTY | OFlags::CLOEXEC;
        rustix::fs::open(name, flags, Mode::empty()).ok()
    };
    AGAIN.get_or_init(open).as_ref().map_or_else(rustix::stdio::stdout, AsFd::as_fd)
}

/// Writes to the terminal without a buffer in between. Where it is slow: `waits` is called, then it is waited for.
fn write_all(bytes: &[u8], waits: &mut dyn FnMut()) -> io::Result<()> {
    write_within(bytes, &mut || {
        waits();
        Ok(poll(&mut [PollFd::new(&terminal(), PollFlags::OUT)], None).map(|_| ())?)
    })
}

/// Writes; what is to be done where the terminal takes no more for now.
fn write_within(mut bytes: &[u8], full: &mut dyn FnMut() -> io::Result<()>) -> io::Result<()> {
    let out = terminal();
    while !bytes.is_empty() {
        match rustix::io::write(out, bytes) {
            Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
            Ok(count) => bytes = bytes.get(count..).unwrap_or_default(),
            Err(Errno::INTR) => {}
            Err(Errno::AGAIN) => match full() {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                done => done?,
            },
            Err(error) => return Err(error.into()),
        }
    }
    Ok(())
}

/// A terminal that has taken nothing for so long is not waited for when it is given back.
const PATIENCE: Timespec = Timespec { tv_sec: 0, tv_nsec: 400_000_000 };

/// The last words: what still waits for a terminal that takes nothing is dropped for them, and they are for it.
fn write_last(bytes: &[u8]) {
    let mut is_dropped = false;
    let mut full = || match poll(&mut [PollFd::new(&terminal(), PollFlags::OUT)], Some(&PATIENCE))? {
        0 if is_dropped => Err(io::ErrorKind::TimedOut.into()),
        0 => {
            is_dropped = true;
            Ok(tcflush(terminal(), QueueSelector::OFlush)?)
        }
        _ => Ok(()),
    };
    let _ = write_within(bytes, &mut full);
}

/// The terminal in our hands. Dropping it gives it back.
pub struct Session {
    terminal: Terminal<Screen<Frames>>,
    frames: Frames,
}

impl Session {
    /// Takes the terminal over.
    ///
    /// # Errors
    /// Those of the terminal; it is given back then.
    pub fn start() -> io::Result<Self> {
        let frames = Frames::default();
        frames.bytes.borrow_mut().reserve(FRAME_BYTES);
        let terminal = Terminal::new(Screen::new(frames.clone()))?;
        let mut session = Self { terminal, frames };
        session.take()?;
        Ok(session)
    }

    fn take(&mut self) -> io::Result<()> {
        TAKEN.store(true, Ordering::SeqCst);
        enable_raw_mode()?;
        let mut bytes = Vec::new();
        // A program that was killed leaves its picture there, and blank cells are not sent.
        queue!(bytes, EnterAlternateScreen, Clear(ClearType::All), EnableBracketedPaste, Hide)?;
        write_all(&bytes, &mut || {})
    }

    /// Draws one frame and sends what changed; nothing while the terminal is given back for a stop. `waits`: done before a
    /// terminal is waited for that does not take the frame at once.
    ///
    /// # Errors
    /// The terminal cannot be written to.
    pub fn draw(&mut self, view: impl FnOnce(&mut Frame), mut waits: impl FnMut()) -> io::Result<()> {
        if !TAKEN.load(Ordering::SeqCst) {
            return Ok(());
        }
        self.terminal.draw(|frame| {
            view(frame);
            screen::mend(frame.buffer_mut());
        })?;
        self.frames.send(&mut waits)
    }

    /// The terminal's columns and rows.
    ///
    /// # Errors
    /// The system does not say.
    pub fn size(&self) -> io::Result<(u16, u16)> {
        let size = self.terminal.size()?;
        Ok((size.width, size.height))
    }

    /// Makes the next frame send every cell. (The terminal library's own `clear` asks the terminal where its cursor
    /// is, and waits for an answer that the input thread may have taken.)
    ///
    /// # Errors
    /// The system does not say how large the terminal is.
    pub fn redraw_all(&mut self) -> io::Result<()> {
        let size = self.terminal.size()?;
        self.terminal.resize(Rect::new(0, 0, size.width, size.height))
    }

    /// Gives the terminal back and stops, as the shell's job control asks; returns when continued, or at once where
    /// no shell could continue us. [`Session::resume`] takes the terminal again.
    pub fn suspend(&mut self) {
        if !can_be_continued() {
            return;
        }
        give_back();
        // Emulated: the handler stays installed, the process stops here.
        let _ = signal_hook::low_level::emulate_default_handler(signal_hook::consts::SIGTSTP);
    }

    /// Takes the terminal again after a stop; [`Session::redraw_all`] is due then.
    ///
    /// # Errors
    /// Those of the terminal.
    pub fn resume(&mut self) -> io::Result<()> {
        // Where the stop came without warning (SIGSTOP), raw mode is still noted as ours, but the shell has undone it.
        if TAKEN.swap(false, Ordering::SeqCst) {
            let _ = disable_raw_mode();
        }
        self.take()
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        give_back();
    }
}

/// Whether the parent is a shell of the same session in another process group: only then does anyone continue us.
///
/// Source: POSIX.1-2017, 2.4.3 (orphaned process groups).
fn can_be_continued() -> bool {
    use rustix::process::{getpgid, getpgrp, getppid, getsid};
    let Some(parent) = getppid() else { return false };
    match (getsid(None), getsid(Some(parent)), getpgid(Some(parent))) {
        (Ok(ours), Ok(theirs), Ok(group)) => ours == theirs && group != getpgrp(),
        _ => false,
    }
}

/// Gives the terminal back, if it is ours: from any thread, any number of times.
pub fn give_back() {
    if !TAKEN.swap(false, Ordering::SeqCst) {
        return;
    }
    let mut bytes = Vec::new();
    // Whatever frame was being shown ends here, with its attributes.
    let _ = queue!(bytes, EndSynchronizedUpdate, ResetColor, DisableBracketedPaste, Show, LeaveAlternateScreen);
    write_last(&bytes);
    let _ = disable_raw_mode();
}

/// Name of the threads whose panics end only themselves.
pub(super) const WORKER: &str = "worker";

/// From now on a panic first gives the terminal back, then is told as before. A worker's panic is not told: it ends
/// one candidate, not the program, and words would spoil the screen.
pub fn install_panic_hook() {
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        if std::thread::current().name() == Some(WORKER) {
            return;
        }
        give_back();
        before(info);
    }));
}
