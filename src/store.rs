//! The one place that touches files: plans, the lock beside them, the recovery copy, and the shop's own files.
//!
//! Everything goes through a small [`Disk`] trait, where tests inject faults. A save is atomic: whatever happens,
//! the old file or the new one is there whole.

pub mod disk;
pub mod error;
mod lock;
mod recovery;
mod shop;
pub mod trail;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

pub use disk::{Disk, Facts, LockTry, RealDisk};
pub use error::{Fault, StoreError};
pub use lock::Locking;
pub use recovery::{Kept, Offer, Whose};
pub use trail::{Past, Trail};

use crate::plan::Plan;
use crate::plan::format::{LARGEST_TEXT, doubled};

/// The environment variable that moves the data directory.
pub const DATA_VARIABLE: &str = "COACHWIRE_DATA";

/// What a file was when it was read or written: to see whether someone else has changed it since.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stamp {
    pub modified: Option<SystemTime>,
    pub len: u64,
    pub hash: u64,
}

impl Stamp {
    fn of(facts: &Facts, bytes: &[u8]) -> Self {
        Self { modified: facts.modified, len: bytes.len() as u64, hash: hash(bytes) }
    }
}

/// A plan as it came from its file.
#[derive(Clone, Debug)]
pub struct Opened {
    pub plan: Plan,
    pub stamp: Stamp,
    /// What to say of the file although it reads: names that stand twice in it, each with its place.
    pub remarks: Vec<String>,
}

/// Files, and the directory of the shop's own.
#[derive(Clone)]
pub struct Store {
    disk: Arc<dyn Disk>,
    data: Option<PathBuf>,
}

impl Store {
    /// The real disk and the user's data directory (or `COACHWIRE_DATA`).
    #[must_use]
    pub fn real() -> Self {
        let named = std::env::var_os(DATA_VARIABLE).filter(|v| !v.is_empty()).map(PathBuf::from);
        let usual = || directories::ProjectDirs::from("", "", "coachwire").map(|d| d.data_dir().to_path_buf());
        Self::new(Arc::new(RealDisk), named.or_else(usual))
    }

    /// Any disk; without a data directory the shop's own files are not kept.
    #[must_use]
    pub fn new(disk: Arc<dyn Disk>, data: Option<PathBuf>) -> Self {
        Self { disk, data }
    }

    /// Where the shop's own files are.
    #[must_use]
    pub fn data_dir(&self) -> Option<&Path> {
        self.data.as_deref()
    }

    /// Reads a plan.
    ///
    /// # Errors
    /// [`StoreError`]: missing, a directory, too large (found without reading it), not UTF-8 (with the byte), or
    /// no plan (with line, column and field).
    pub fn load(&self, path: &Path) -> Result<Opened, StoreError> {
        let (text, stamp) = self.text(path)?;
        let plan = Plan::from_text(&text).map_err(|e| StoreError::not_plan(path, &e))?;
        let remarks = doubled(&text).iter().map(ToString::to_string).collect();
        Ok(Opened { plan, stamp, remarks })
    }

    /// Reads a text file of at most the size of a plan.
    ///
    /// # Errors
    /// As [`Store::load`].
    pub fn text(&self, path: &Path) -> Result<(String, Stamp), StoreError> {
        let (bytes, stamp) = self.bytes(path)?;
        match String::from_utf8(bytes) {
            Ok(text) => Ok((text, stamp)),
            Err(e) => Err(StoreError::not_text(path, e.utf8_error().valid_up_to())),
        }
    }

    fn bytes(&self, path: &Path) -> Result<(Vec<u8>, Stamp), StoreError> {
        let facts = self.disk.metadata(path).map_err(|e| StoreError::io(path, "read", &e))?;
        if facts.is_dir {
            return Err(StoreError::directory(path));
        }
        if !facts.is_file {
            return Err(StoreError::not_a_file(path));
        }
        let limit = LARGEST_TEXT as u64;
        if facts.len > limit {
            return Err(StoreError::too_large(path, facts.len));
        }
        let bytes = self.disk.read(path, limit + 1).map_err(|e| StoreError::io(path, "read", &e))?;
        if bytes.len() as u64 > limit {
            return Err(StoreError::too_large(path, bytes.len() as u64));
        }
        let stamp = Stamp::of(&facts, &bytes);
        Ok((bytes, stamp))
    }

    /// Saves a plan. With the stamp of what was read, a file changed by someone else since is not overwritten;
    /// without one, whatever is there is replaced.
    ///
    /// # Errors
    /// [`StoreError`]; the old file is then still there, whole.
    pub fn save(&self, path: &Path, plan: &Plan, read: Option<&Stamp>) -> Result<Stamp, StoreError> {
        if let Some(read) = read
            && self.changed(path, read)?
        {
            return Err(StoreError::changed(path));
        }
        self.write_whole(path, plan.to_text().as_bytes(), None)
    }

    /// Saves a plan under a name that must be free.
    ///
    /// # Errors
    /// [`StoreError`] where something of that name is there already.
    pub fn save_new(&self, path: &Path, plan: &Plan) -> Result<Stamp, StoreError> {
        match self.disk.metadata(path) {
            Ok(_) => Err(StoreError::taken(path)),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                self.write_whole(path, plan.to_text().as_bytes(), None)
            }
            Err(e) => Err(StoreError::io(path, "write", &e)),
        }
    }

    /// Whether two paths lead to one file, through links or from another folder.
    #[must_use]
    pub fn is_same(&self, a: &Path, b: &Path) -> bool {
        let real = |path: &Path| self.disk.real_path(path).ok();
        a == b || (real(a).is_some() && real(a) == real(b))
    }

    /// Writes a text, a report say, as whole as a plan; what has the name is replaced.
    ///
    /// # Errors
    /// [`StoreError`]; an old file is then still there, whole.
    pub fn write_text(&self, path: &Path, text: &str) -> Result<(), StoreError> {
        self.write_whole(path, text.as_bytes(), None).map(|_| ())
    }

    /// Whether the file is no longer what was read (a file that has gone counts as unchanged: saving restores it).
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked at.
    pub fn changed(&self, path: &Path, read: &Stamp) -> Result<bool, StoreError> {
        let facts = match self.disk.metadata(path) {
            Ok(facts) => facts,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(false),
            Err(e) => return Err(StoreError::io(path, "look at", &e)),
        };
        if facts.len != read.len {
            return Ok(true);
        }
        // Times are too coarse to trust: the same second can hold two writes of the same length.
        let (_, now) = self.bytes(path)?;
        Ok(now.hash != read.hash)
    }

    /// Writes texts into a folder, made where it is missing: each as whole as a plan, and none takes its name before all are
    /// written. What has their names is replaced.
    ///
    /// # Errors
    /// [`StoreError`]; the old files are then still there, whole, but those that had their turn before one that would not take
    /// its name.
    pub fn write_texts(&self, folder: &Path, texts: &[(&str, &str)]) -> Result<(), StoreError> {
        if self.disk.metadata(folder).is_ok_and(|facts| !facts.is_dir) {
            return Err(StoreError::no_folder(folder));
        }
        self.disk.make_folder(folder).map_err(|e| StoreError::io(folder, "make", &e))?;
        let mut all = Vec::with_capacity(texts.len());
        let clear = |staged: &[Staged]| staged.iter().for_each(|s| drop(self.disk.remove(&s.beside)));
        for (name, text) in texts {
            let path = folder.join(name);
            if self.disk.metadata(&path).is_ok_and(|facts| facts.is_dir) {
                clear(&all);
                return Err(StoreError::in_the_way(&path));
            }
            match self.stage(&path, text.as_bytes(), None) {
                Ok(staged) => all.push(staged),
                Err(e) => {
                    clear(&all);
                    return Err(e);
                }
            }
        }
        for (i, ((name, _), staged)) in texts.iter().zip(&all).enumerate() {
            if let Err(e) = self.put(&folder.join(name), staged) {
                clear(all.get(i + 1..).unwrap_or_default());
                return Err(e);
            }
        }
        Ok(())
    }

    /// Whether any of some files is in a folder already.
    pub fn has_any(&self, folder: &Path, mut names: impl Iterator<Item = &'static str>) -> bool {
        names.any(|name| self.disk.metadata(&folder.join(name)).is_ok())
    }

    /// Writes a file so that the old one or the new one is there, never half of either: a file beside it is
    /// written and flushed, then takes its name. Links are followed and the mode is kept; a new
    /// file gets the mode `fresh`, or the usual one.
    fn write_whole(&self, path: &Path, bytes: &[u8], fresh: Option<u32>) -> Result<Stamp, StoreError> {
        let staged = self.stage(path, bytes, fresh)?;
        self.put(path, &staged)?;
        let facts = self.disk.metadata(&staged.target).map_err(|e| StoreError::io(path, "write", &e))?;
        Ok(Stamp::of(&facts, bytes))
    }

    /// Writes and flushes the file beside.
    fn stage(&self, path: &Path, bytes: &[u8], fresh: Option<u32>) -> Result<Staged, StoreError> {
        let cannot = |e: &std::io::Error| StoreError::io(path, "write", e);
        let target = self.disk.real_path(path).map_err(|e| cannot(&e))?;
        let mode = match self.disk.metadata(&target) {
            Ok(facts) if facts.is_dir => return Err(StoreError::directory(path)),
            Ok(facts) if !facts.is_file => return Err(StoreError::not_a_file(path)),
            Ok(facts) if facts.mode & 0o222 == 0 => return Err(StoreError::read_only(path)),
            Ok(facts) => Some(facts.mode),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => fresh,
            Err(e) => return Err(cannot(&e)),
        };
        let beside = beside(&target, &format!("{}.new", std::process::id()));
        // One left by a killed process of the same number is of no use.
        let _ = self.disk.remove(&beside);
        let written = self.disk.write_new(&beside, bytes, mode).and_then(|()| self.disk.sync(&beside));
        match written {
            Ok(()) => Ok(Staged { target, beside }),
            Err(e) => {
                let _ = self.disk.remove(&beside);
                Err(cannot(&e))
            }
        }
    }

    /// Gives the file beside its name.
    fn put(&self, path: &Path, staged: &Staged) -> Result<(), StoreError> {
        let Staged { target, beside } = staged;
        if let Err(e) = self.disk.rename(beside, target) {
            let _ = self.disk.remove(beside);
            return Err(StoreError::io(path, "write", &e));
        }
        match target.parent() {
            Some(folder) => self.disk.sync_folder(folder).map_err(|e| StoreError::io(path, "flush the folder of", &e)),
            None => Ok(()),
        }
    }
}

/// A file written beside the one whose name it takes.
struct Staged {
    target: PathBuf,
    beside: PathBuf,
}

/// A 64-bit hash that is the same in every build: names of copies rely on it.
/// Source: FNV-1a, RFC 9923.
fn hash(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(*b)).wrapping_mul(0x0000_0100_0000_01b3))
}

/// The hidden file that belongs to another: `.NAME.SUFFIX` in the same folder.
fn beside(path: &Path, suffix: &str) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{name}.{suffix}"))
}
