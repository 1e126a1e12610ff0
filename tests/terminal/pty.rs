//! A program in a pseudo-terminal, and a terminal emulator that shows what it drew.

use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};
use rustix::process::{Pid, Signal, kill_process};

/// A machine under load may take so long for what usually takes milliseconds.
const PATIENCE: Duration = Duration::from_secs(20);

/// What the program wrote: every byte, and the screen they make.
struct Seen {
    bytes: Vec<u8>,
    parser: vt100::Parser,
}

/// A program in a pseudo-terminal.
pub(crate) struct Pty {
    master: Option<Box<dyn MasterPty + Send>>,
    writer: Option<Box<dyn Write + Send>>,
    child: Box<dyn Child + Send + Sync>,
    seen: Arc<Mutex<Seen>>,
    reading: Arc<AtomicBool>,
    /// Nothing is read for now.
    stopped: Arc<AtomicBool>,
    reader: Option<JoinHandle<()>>,
}

/// How to start it.
pub(crate) struct Start {
    pub(crate) command: CommandBuilder,
    pub(crate) columns: u16,
    pub(crate) rows: u16,
    /// How many bytes the terminal takes at once, and how long it then takes none.
    pub(crate) line: (usize, Duration),
}

impl Start {
    /// A program with an environment of its own: its home is `home`, nothing else of this machine's is left.
    pub(crate) fn new(program: impl AsRef<Path>, home: &Path) -> Self {
        let mut command = CommandBuilder::new(program.as_ref());
        command.env_clear();
        command.env("HOME", home);
        for (name, folder) in [
            ("XDG_CONFIG_HOME", "config"),
            ("XDG_DATA_HOME", "data"),
            ("XDG_STATE_HOME", "state"),
            ("XDG_CACHE_HOME", "cache"),
            ("XDG_RUNTIME_DIR", "run"),
        ] {
            command.env(name, home.join(folder));
        }
        command.env("TERM", "xterm-256color");
        command.env("PATH", "/usr/bin:/bin");
        command.env("LANG", "C.UTF-8");
        command.cwd(home);
        Self { command, columns: 80, rows: 24, line: (65536, Duration::ZERO) }
    }

    pub(crate) fn arg(mut self, arg: impl AsRef<std::ffi::OsStr>) -> Self {
        self.command.arg(arg);
        self
    }

    pub(crate) fn env(mut self, name: &str, value: &str) -> Self {
        self.command.env(name, value);
        self
    }

    pub(crate) fn size(mut self, columns: u16, rows: u16) -> Self {
        (self.columns, self.rows) = (columns, rows);
        self
    }

    /// A line that takes so many bytes at once, and then none for so long.
    pub(crate) fn slow(mut self, bytes: usize, pause: Duration) -> Self {
        self.line = (bytes, pause);
        self
    }

    pub(crate) fn run(self) -> Pty {
        Pty::start(self)
    }
}

fn nonzero(n: u16) -> NonZeroU16 {
    NonZeroU16::new(n).expect("a terminal has rows and columns")
}

fn pty_size(columns: u16, rows: u16) -> PtySize {
    PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 }
}

impl Pty {
    fn start(start: Start) -> Self {
        let pair = native_pty_system().openpty(pty_size(start.columns, start.rows)).expect("a pseudo-terminal");
        let child = pair.slave.spawn_command(start.command).expect("the program starts");
        let mut output = pair.master.try_clone_reader().expect("its output");
        let writer = pair.master.take_writer().expect("its input");
        let parser = vt100::Parser::new(nonzero(start.rows), nonzero(start.columns), 0);
        let seen = Arc::new(Mutex::new(Seen { bytes: Vec::new(), parser }));
        let reading = Arc::new(AtomicBool::new(true));
        let (sink, go_on) = (Arc::clone(&seen), Arc::clone(&reading));
        let stopped = Arc::new(AtomicBool::new(false));
        let (is_stopped, (at_once, pause)) = (Arc::clone(&stopped), start.line);
        let reader = thread::spawn(move || {
            let mut buffer = vec![0; at_once];
            loop {
                while is_stopped.load(Ordering::SeqCst) {
                    thread::sleep(Duration::from_millis(5));
                }
                thread::sleep(pause);
                let Ok(count) = output.read(&mut buffer) else { return };
                if count == 0 {
                    return;
                }
                let mut seen = sink.lock().expect("the screen");
                seen.bytes.extend_from_slice(&buffer[..count]);
                seen.parser.process(&buffer[..count]);
                drop(seen);
                if !go_on.load(Ordering::SeqCst) {
                    return;
                }
            }
        });
        let (master, writer, reader) = (Some(pair.master), Some(writer), Some(reader));
        Self { master, writer, child, seen, reading, stopped, reader }
    }

    /// Types.
    pub(crate) fn keys(&mut self, keys: &str) {
        let writer = self.writer.as_mut().expect("the terminal is open");
        writer.write_all(keys.as_bytes()).expect("the terminal takes keys");
        writer.flush().expect("the terminal takes keys");
    }

    /// The terminal takes nothing more, as over a line that hangs; or does again.
    pub(crate) fn hold(&self, is_held: bool) {
        self.stopped.store(is_held, Ordering::SeqCst);
    }

    /// Whether the program has ended.
    pub(crate) fn has_ended(&mut self) -> bool {
        self.child.try_wait().expect("its state").is_some()
    }

    /// Types one key after another, each after the last one's frame.
    pub(crate) fn typed(&mut self, keys: &[&str]) {
        for key in keys {
            self.keys(key);
            self.settle();
        }
    }

    /// Waits until nothing has been written for a while.
    pub(crate) fn settle(&self) {
        self.settle_for(Duration::from_millis(120));
    }

    /// Waits until nothing has been written for so long: for what workers work out beside the keys.
    pub(crate) fn settle_for(&self, quiet: Duration) {
        let (mut before, mut since) = (usize::MAX, Instant::now());
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            let now = self.written();
            if now != before {
                (before, since) = (now, Instant::now());
            } else if since.elapsed() > quiet {
                return;
            }
            thread::sleep(Duration::from_millis(10));
        }
    }

    /// Looks at the emulator's screen.
    pub(crate) fn look<T>(&self, at: impl FnOnce(&vt100::Screen) -> T) -> T {
        at(self.seen.lock().expect("the screen").parser.screen())
    }

    /// The screen's text.
    pub(crate) fn text(&self) -> String {
        self.look(vt100::Screen::contents)
    }

    /// How many bytes were written so far.
    pub(crate) fn written(&self) -> usize {
        self.seen.lock().expect("the screen").bytes.len()
    }

    /// The bytes written since there were `from`.
    pub(crate) fn bytes_since(&self, from: usize) -> Vec<u8> {
        self.seen.lock().expect("the screen").bytes[from..].to_vec()
    }

    /// Waits until the screen is as told, and fails with what it showed instead.
    pub(crate) fn wait_for(&mut self, what: &str, mut is_so: impl FnMut(&vt100::Screen) -> bool) {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            if self.look(&mut is_so) {
                return;
            }
            thread::sleep(Duration::from_millis(5));
        }
        let state = self.child.try_wait();
        panic!("waited in vain for {what}; process: {state:?}; on the screen:\n{}", self.text());
    }

    /// Waits until a text stands on the screen.
    pub(crate) fn wait_for_text(&mut self, text: &str) {
        self.wait_for(&format!("{text:?}"), |screen| screen.contents().contains(text));
    }

    /// Changes the terminal's size.
    pub(crate) fn resize(&mut self, columns: u16, rows: u16) {
        self.seen.lock().expect("the screen").parser.screen_mut().set_size(nonzero(rows), nonzero(columns));
        self.master.as_ref().expect("the terminal is open").resize(pty_size(columns, rows)).expect("a new size");
    }

    /// Sends a signal to the program.
    pub(crate) fn signal(&self, signal: Signal) {
        kill_process(self.pid(), signal).expect("the process is there");
    }

    pub(crate) fn pid(&self) -> Pid {
        let pid = self.child.process_id().and_then(|id| i32::try_from(id).ok()).and_then(Pid::from_raw);
        pid.expect("a process id")
    }

    /// Processor time the program has used, in ticks, as the kernel counts it.
    pub(crate) fn ticks(&self) -> u64 {
        let stat = std::fs::read_to_string(format!("/proc/{}/stat", self.pid().as_raw_nonzero())).expect("its state");
        // proc(5): utime and stime are the 12th and 13th field after the name in brackets.
        let after = stat.rsplit_once(')').expect("the name in brackets").1;
        after.split_whitespace().skip(11).take(2).map(|n| n.parse::<u64>().expect("ticks")).sum()
    }

    /// Waits for the end of the program.
    pub(crate) fn wait_exit(&mut self, within: Duration) -> ExitStatus {
        let start = Instant::now();
        while start.elapsed() < within {
            if let Some(status) = self.child.try_wait().expect("its state") {
                // What it wrote last may still be on its way.
                if let Some(reader) = self.reader.take() {
                    let _ = reader.join();
                }
                return status;
            }
            thread::sleep(Duration::from_millis(5));
        }
        panic!("still running after {within:?}; on the screen:\n{}", self.text());
    }

    /// Whether the terminal takes lines and echoes them, as a shell expects it.
    pub(crate) fn is_cooked(&self) -> bool {
        const ICANON: u32 = 0o2;
        const ECHO: u32 = 0o10;
        let modes = self.master.as_ref().and_then(|m| m.get_termios()).expect("terminal modes");
        modes.local_flags.bits() & (ICANON | ECHO) == ICANON | ECHO
    }

    /// Closes the terminal, as a broken connection does. `stir` is a key that makes the program write something.
    pub(crate) fn hang_up(&mut self, stir: &str) {
        self.reading.store(false, Ordering::SeqCst);
        self.keys(stir);
        if let Some(reader) = self.reader.take() {
            reader.join().expect("the reader");
        }
        self.writer = None;
        self.master = None;
    }
}

impl Drop for Pty {
    fn drop(&mut self) {
        if let Ok(None) = self.child.try_wait() {
            let _ = self.child.kill();
            let _ = self.child.wait();
        }
    }
}
