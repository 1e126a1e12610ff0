//! The lock beside a plan: `.NAME.lock`.
//!
//! It is beside and not on the plan, since a lock on the plan itself is lost at the first save. It is advisory:
//! whoever finds it held opens the plan for reading only.

use std::path::Path;

use super::{LockTry, Store, StoreError, beside};

/// Whether the plan is ours to write.
pub enum Locking {
    /// Until dropped.
    Ours(Box<dyn Send + Sync>),
    /// Someone has it open: who, in words.
    Elsewhere(String),
    /// No lock can be made there (a folder that cannot be written, say); why, in words.
    Impossible(String),
}

impl Store {
    /// Tries to take the lock of a plan. A lock left by a process that ended is taken over.
    #[must_use]
    pub fn lock(&self, path: &Path) -> Locking {
        let target = self.disk.real_path(path).unwrap_or_else(|_| path.to_path_buf());
        let text = format!("pid {}\nhost {}\n", std::process::id(), host());
        match self.disk.lock(&beside(&target, "lock"), &text) {
            Ok(LockTry::Ours(held)) => Locking::Ours(held),
            Ok(LockTry::Busy(text)) => Locking::Elsewhere(holder(&text)),
            Err(e) => {
                let why = StoreError::io(path, "lock", &e).what;
                Locking::Impossible(format!("{}: {why}; others that open it are not told", path.display()))
            }
        }
    }
}

/// What stands in a lock, in words.
fn holder(text: &str) -> String {
    let field = |name: &str| text.lines().find_map(|l| l.strip_prefix(name)).map(str::trim).filter(|v| !v.is_empty());
    match (field("pid "), field("host ")) {
        (Some(pid), Some(host)) => format!("process {pid} on {host}"),
        (Some(pid), None) => format!("process {pid}"),
        _ => "another process".into(),
    }
}

/// This computer's name.
fn host() -> String {
    std::fs::read_to_string("/proc/sys/kernel/hostname")
        .ok()
        .or_else(|| std::env::var("HOSTNAME").ok())
        .map(|h| h.trim().to_string())
        .filter(|h| !h.is_empty())
        .unwrap_or_else(|| "this computer".into())
}
