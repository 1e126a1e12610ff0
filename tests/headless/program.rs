//! Runs the program in a home of its own.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use tempfile::TempDir;

/// What a run of the program left behind.
pub(super) struct Ran {
    pub(super) code: i32,
    pub(super) out: String,
    pub(super) err: String,
}

impl Ran {
    /// Standard output as JSON.
    #[track_caller]
    pub(super) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {}\n{}", self.out, self.err))
    }

    /// The run ended with this code and said this on standard error.
    #[track_caller]
    pub(super) fn refused(&self, code: i32, words: &[&str]) {
        assert_eq!(self.code, code, "{}{}", self.out, self.err);
        assert_eq!(self.out, "", "nothing on standard output");
        for word in words {
            assert!(self.err.contains(word), "{word:?} not in {:?}", self.err);
        }
        assert!(!self.err.contains("panicked"), "{}", self.err);
    }
}

/// A home with nothing in it.
pub(super) struct Home(TempDir);

impl Home {
    pub(super) fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub(super) fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Writes a file and returns its path as text.
    pub(super) fn file(&self, name: &str, bytes: &[u8]) -> String {
        let path = self.path(name);
        std::fs::write(&path, bytes).unwrap();
        path.to_str().unwrap().to_owned()
    }

    pub(super) fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_coachwire"));
        command
            .env_clear()
            .env("HOME", self.0.path())
            .env("XDG_DATA_HOME", self.path("data"))
            .env("XDG_CONFIG_HOME", self.path("config"))
            .env("XDG_STATE_HOME", self.path("state"))
            .env("XDG_CACHE_HOME", self.path("cache"))
            .env("XDG_RUNTIME_DIR", self.path("run"))
            .env("TERM", "dumb")
            .current_dir(self.0.path());
        command
    }

    pub(super) fn run(&self, arguments: &[&str]) -> Ran {
        self.run_with(arguments, b"")
    }

    /// Runs with these bytes on standard input.
    pub(super) fn run_with(&self, arguments: &[&str], input: &[u8]) -> Ran {
        let mut child = self
            .command()
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // A program that does not read its input closes the pipe: no matter.
        let _ = child.stdin.take().unwrap().write_all(input);
        let output = child.wait_with_output().unwrap();
        Ran {
            code: output.status.code().expect("ended by itself"),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

/// A sample's file in the source tree.
pub(super) fn sample(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("plans").join(format!("{name}.ron"));
    path.to_str().unwrap().to_owned()
}
