//! What went wrong with a file, for the person at the screen: path, what, what to do.

use std::io;
use std::path::{Path, PathBuf};

use crate::plan::format::LoadError;

/// Which kind of trouble.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    Missing,
    Directory,
    NotAFile,
    TooLarge,
    NotText,
    NotPlan,
    Denied,
    Full,
    Changed,
    ReadOnly,
    Taken,
    NoDataDirectory,
    Other,
}

/// A file could not be read or written.
#[derive(Clone, Debug, thiserror::Error)]
#[error("{}: {what}{}{advice}", path.display(), if advice.is_empty() { "" } else { "; " })]
pub struct StoreError {
    pub path: PathBuf,
    pub fault: Fault,
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub advice: String,
    /// Where in the text, if it is about the text.
    pub load: Option<Box<LoadError>>,
}

impl StoreError {
    fn new(path: &Path, fault: Fault, what: impl Into<String>, advice: &str) -> Self {
        Self { path: path.to_path_buf(), fault, what: what.into(), advice: advice.into(), load: None }
    }

    /// The file's name, what is wrong with it and what to do, then where: for a line that may be cut.
    #[must_use]
    pub fn reason(&self) -> String {
        let advice = if self.advice.is_empty() { String::new() } else { format!("; {}", self.advice) };
        let name = self.path.file_name().unwrap_or(self.path.as_os_str()).display();
        let mark = if self.what.starts_with("is ") || self.what.starts_with("was ") { "" } else { ":" };
        format!("{name}{mark} {}{advice} ({})", self.what, self.path.display())
    }

    /// With other advice.
    pub(super) fn advised(mut self, advice: &str) -> Self {
        self.advice = advice.into();
        self
    }

    pub(super) fn directory(path: &Path) -> Self {
        Self::new(path, Fault::Directory, "is a directory, not a file", "name the file in it")
    }

    pub(super) fn no_folder(path: &Path) -> Self {
        Self::new(path, Fault::NotAFile, "is a file, not a folder", "name a folder, or one that is to be made")
    }

    pub(super) fn in_the_way(path: &Path) -> Self {
        Self::new(
            path,
            Fault::Directory,
            "is a folder, where a file is to be written",
            "move it away, or name another folder",
        )
    }

    pub(super) fn not_a_file(path: &Path) -> Self {
        Self::new(path, Fault::NotAFile, "is not a regular file", "name the plan's file")
    }

    pub(super) fn too_large(path: &Path, len: u64) -> Self {
        Self::new(path, Fault::TooLarge, format!("{len} bytes is too large (at most 4 MiB)"), "is it the right file?")
    }

    pub(super) fn not_text(path: &Path, byte: usize) -> Self {
        let what = format!("is not text: byte {byte} is not UTF-8");
        Self::new(path, Fault::NotText, what, "is it the right file?")
    }

    pub(super) fn not_plan(path: &Path, load: &LoadError) -> Self {
        Self { load: Some(Box::new(load.clone())), ..Self::new(path, Fault::NotPlan, load.to_string(), "") }
    }

    pub(super) fn changed(path: &Path) -> Self {
        let advice = "save under another name, load it again, or save anyway to overwrite it";
        Self::new(path, Fault::Changed, "was changed by someone else since it was read", advice)
    }

    pub(super) fn read_only(path: &Path) -> Self {
        let advice = "save under another name, or make it writable";
        Self::new(path, Fault::ReadOnly, "is write-protected", advice)
    }

    pub(super) fn taken(path: &Path) -> Self {
        Self::new(path, Fault::Taken, "is there already", "choose another name")
    }

    pub(super) fn no_data_directory() -> Self {
        let advice = "set HOME, or COACHWIRE_DATA to a folder";
        Self::new(Path::new("data directory"), Fault::NoDataDirectory, "there is none", advice)
    }

    pub(super) fn io(path: &Path, doing: &str, e: &io::Error) -> Self {
        let (fault, what, advice) = match e.kind() {
            io::ErrorKind::NotFound if doing == "read" => {
                (Fault::Missing, "there is no such file", "check the name; `coachwire new FILE` starts one")
            }
            io::ErrorKind::NotFound => (Fault::Missing, "its folder is not there", "choose a folder that exists"),
            io::ErrorKind::NotADirectory => {
                (Fault::Missing, "part of its path is a file, not a folder", "choose a folder that exists")
            }
            io::ErrorKind::PermissionDenied => {
                (Fault::Denied, "the system does not allow it", "save to a folder of your own")
            }
            io::ErrorKind::ReadOnlyFilesystem => (Fault::Denied, "its disk is read-only", "save to another folder"),
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                (Fault::Full, "the disk is full", "make room or save elsewhere; the old file is untouched")
            }
            io::ErrorKind::IsADirectory => (Fault::Directory, "is a directory, not a file", "name the file in it"),
            _ => (Fault::Other, "", ""),
        };
        let what =
            if what.is_empty() { format!("cannot {doing} it: {e}") } else { format!("cannot {doing} it: {what}") };
        Self::new(path, fault, what, advice)
    }
}
