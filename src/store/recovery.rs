//! The recovery copy: the plan as last edited, beside its file, until it is saved or closed.
//!
//! Where the folder cannot be written it is kept in the data directory, as are copies of plans never saved. The
//! first line says whose copy it is. A copy left by a program that ended is never written over: the next one takes a
//! further name, and each is offered until the user takes it up or drops it.

use std::fmt::{self, Debug, Formatter};
use std::os::unix::ffi::OsStrExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use super::{LockTry, Past, Store, StoreError, beside, hash, trail};
use crate::arrange::Arrange;
use crate::plan::Plan;

const SUFFIX: &str = "recovery";

/// What stands before the name of a copy of a plan never saved.
const NEVER_SAVED: &str = "unsaved-";

/// Copies in one place that wait to be decided on; where so many do, the next place is taken.
const MOST_COPIES: usize = 64;

const OF_FILE: &str = "// Recovery copy of ";

/// Tells other programs that a copy in the data directory is in use, while it lives.
#[derive(Clone)]
struct Hold(Arc<dyn Send + Sync>);

impl Debug for Hold {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "Hold({})", Arc::strong_count(&self.0))
    }
}

/// A copy found at the start.
#[derive(Clone, Debug)]
pub struct Offer {
    /// Where the copy is.
    pub copy: PathBuf,
    /// Whose it is; `None` for a plan never saved.
    pub of: Option<PathBuf>,
    /// When the copy was written.
    pub written: Option<SystemTime>,
    /// When the plan itself was last written.
    pub saved: Option<SystemTime>,
    pub plan: Plan,
    /// The steps that led to it, newest first, as far as they were kept.
    pub past: Vec<Past>,
    /// Those that were taken back, next first.
    pub undone: Vec<Past>,
    hold: Option<Hold>,
}

/// The copy that this program writes.
#[derive(Debug)]
pub struct Kept {
    pub path: PathBuf,
    _hold: Option<Hold>,
}

impl From<Offer> for Kept {
    /// An offered copy becomes the one that is written.
    fn from(offer: Offer) -> Self {
        Self { path: offer.copy, _hold: offer.hold }
    }
}

/// Whose copy is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose<'a> {
    /// Of a plan never saved.
    Nobodys,
    /// Of a plan that is ours to write.
    Ours(&'a Path),
    /// Of a plan that someone else has open: what is beside it is theirs.
    Elsewhere(&'a Path),
}

impl Store {
    /// Keeps a copy of a plan as it stands, for its owner only: beside its file if that can be, else in the data directory.
    /// `steps`: the lines below it that lead back, as [`super::Trail`] writes them. `kept`: the copy that this program has
    /// written so far; it alone is written over.
    ///
    /// # Errors
    /// [`StoreError`] where no place can be written; the copy kept so far is then still there.
    pub fn keep_copy(
        &self,
        whose: Whose<'_>,
        plan: &Plan,
        steps: &str,
        kept: &mut Option<Kept>,
    ) -> Result<(), StoreError> {
        let head = match whose {
            Whose::Nobodys => "// Recovery copy of a plan never saved".to_string(),
            Whose::Ours(path) | Whose::Elsewhere(path) => {
                format!("{OF_FILE}{}", self.target(path).display().to_string().replace('\n', " "))
            }
        };
        let text = format!("{head}\n{}\n{steps}", plan.to_text().trim_end_matches('\n'));
        let mut last = StoreError::no_data_directory();
        if let Some(kept) = kept {
            match self.write_whole(&kept.path, text.as_bytes(), Some(0o600)) {
                Ok(_) => return Ok(()),
                Err(e) => last = e,
            }
        }
        let away = self.recovery_folder().inspect(|folder| {
            let _ = self.disk.make_folder(folder);
        });
        for first in self.places(whose) {
            let is_away = away.as_ref().is_some_and(|folder| first.starts_with(folder));
            let Some(free) = self.free_place(&first, is_away) else { continue };
            match self.write_whole(&free.path, text.as_bytes(), Some(0o600)) {
                Ok(_) => {
                    self.drop_kept(kept);
                    *kept = Some(free);
                    return Ok(());
                }
                Err(e) => last = e,
            }
        }
        Err(last)
    }

    /// A name where nothing is, in the place of this first name.
    fn free_place(&self, first: &Path, is_away: bool) -> Option<Kept> {
        numbered(first).find_map(|path| {
            let is_free = || self.disk.metadata(&path).is_err_and(|e| e.kind() == std::io::ErrorKind::NotFound);
            if !is_free() {
                return None;
            }
            let hold = if is_away { self.hold(&path).ok()? } else { None };
            // Only now nobody else can take it.
            is_free().then(|| Kept { path: path.clone(), _hold: hold })
        })
    }

    /// Takes a copy of the data directory for this program; an error where another has it, nothing where no lock can be made.
    fn hold(&self, copy: &Path) -> Result<Option<Hold>, ()> {
        match self.disk.lock(&beside(copy, "lock"), &format!("pid {}\n", std::process::id())) {
            Ok(LockTry::Ours(held)) => Ok(Some(Hold(held.into()))),
            Ok(LockTry::Busy(_)) => Err(()),
            Err(_) => Ok(None),
        }
    }

    /// Whether a copy that this program wrote is still there.
    #[must_use]
    pub fn is_kept(&self, kept: &Kept) -> bool {
        self.disk.metadata(&kept.path).is_ok()
    }

    /// Removes the copy that this program wrote, after a clean save or quit.
    pub fn drop_kept(&self, kept: &mut Option<Kept>) {
        if let Some(kept) = kept.take() {
            let _ = self.disk.remove(&kept.path);
        }
    }

    /// Removes a copy that was offered and declined.
    pub fn drop_offer(&self, offer: &Offer) {
        let _ = self.disk.remove(&offer.copy);
    }

    /// The copies of a plan that hold something else than its file, or steps taken back; newest last. Others are removed:
    /// beside a later file they would look like edits.
    #[must_use]
    pub fn offers(&self, path: &Path) -> Vec<Offer> {
        let copies: Vec<PathBuf> = self.all_places(path).filter(|copy| self.disk.metadata(copy).is_ok()).collect();
        if copies.is_empty() {
            return Vec::new();
        }
        let saved_plan = self.load(path).ok();
        let saved = saved_plan.as_ref().and_then(|o| o.stamp.modified);
        let mut offers = Vec::new();
        for copy in copies {
            let Some(offer) = self.read_copy(copy, Some(path.to_path_buf()), saved) else { continue };
            if offer.undone.is_empty() && saved_plan.as_ref().is_some_and(|s| s.plan == offer.plan) {
                self.drop_offer(&offer);
            } else {
                offers.push(offer);
            }
        }
        offers.arrange_by_key(|o| o.written);
        offers
    }

    /// Copies of a plan that are there and cannot be read as plans, by a newer version's rules say. They stay as they are.
    #[must_use]
    pub fn unreadable_copies(&self, path: &Path) -> Vec<PathBuf> {
        let is_plan = |copy: &PathBuf| self.text(copy).is_ok_and(|(text, _)| Plan::from_text(&text).is_ok());
        self.all_places(path).filter(|copy| self.disk.metadata(copy).is_ok() && !is_plan(copy)).collect()
    }

    fn all_places(&self, path: &Path) -> impl Iterator<Item = PathBuf> + use<> {
        self.places(Whose::Ours(path)).into_iter().flat_map(|first| numbered(&first))
    }

    /// Copies of plans never saved, and of plans whose file has gone, that no program has in use; newest last.
    #[must_use]
    pub fn unsaved_offers(&self) -> Vec<Offer> {
        let Some(folder) = self.recovery_folder() else { return Vec::new() };
        let mut offers: Vec<Offer> = self
            .disk
            .list(&folder)
            .unwrap_or_default()
            .into_iter()
            .filter(|copy| is_copy(copy))
            .filter_map(|copy| {
                let of = self.whose(&copy)?;
                let is_there = of.as_ref().is_some_and(|path| self.disk.metadata(path).is_ok());
                (!is_there).then(|| self.read_copy(copy, of, None))?
            })
            .collect();
        offers.arrange_by_key(|o| o.written);
        offers
    }

    /// Whose copy it is by its first line: `Some(None)`: of a plan never saved; `None`: it cannot be read.
    fn whose(&self, copy: &Path) -> Option<Option<PathBuf>> {
        let start = self.disk.read(copy, 8192).ok()?;
        let head = String::from_utf8_lossy(start.split(|b| *b == b'\n').next()?).into_owned();
        // Copies with a relative path were made by earlier versions: of which folder, nobody knows.
        Some(head.strip_prefix(OF_FILE).map(PathBuf::from).filter(|path| path.is_absolute()))
    }

    fn read_copy(&self, copy: PathBuf, of: Option<PathBuf>, saved: Option<SystemTime>) -> Option<Offer> {
        self.disk.metadata(&copy).ok()?;
        let is_away = self.recovery_folder().is_some_and(|folder| copy.starts_with(folder));
        let hold = if is_away { self.hold(&copy).ok()? } else { None };
        let (text, stamp) = self.text(&copy).ok()?;
        let plan = Plan::from_text(&text).ok()?;
        let (past, undone) = trail::read(&text, &plan);
        Some(Offer { copy, of, written: stamp.modified, saved, plan, past, undone, hold })
    }

    fn recovery_folder(&self) -> Option<PathBuf> {
        self.data.as_ref().map(|data| data.join(SUFFIX))
    }

    fn target(&self, path: &Path) -> PathBuf {
        self.disk.real_path(path).unwrap_or_else(|_| path.to_path_buf())
    }

    /// Where the first copy of a plan may be, best place first.
    fn places(&self, whose: Whose<'_>) -> Vec<PathBuf> {
        let folder = self.recovery_folder();
        let away = |path: &Path| {
            let target = self.target(path);
            let hash = hash(target.as_os_str().as_bytes());
            let name = target.file_name().unwrap_or_default().to_string_lossy().into_owned();
            folder.as_ref().map(|f| f.join(format!("{hash:016x}-{name}.{SUFFIX}")))
        };
        let (near, far) = match whose {
            Whose::Nobodys => {
                let name = format!("{NEVER_SAVED}{}.{SUFFIX}", std::process::id());
                (None, folder.as_ref().map(|f| f.join(name)))
            }
            Whose::Ours(path) => (Some(beside(&self.target(path), SUFFIX)), away(path)),
            Whose::Elsewhere(path) => (None, away(path)),
        };
        near.into_iter().chain(far).collect()
    }
}

/// The names that copies may have in the place of this first one.
fn numbered(first: &Path) -> impl Iterator<Item = PathBuf> + use<> {
    let first = first.as_os_str().to_os_string();
    (1..=MOST_COPIES).map(move |number| {
        let mut name = first.clone();
        if number > 1 {
            name.push(format!("-{number}"));
        }
        PathBuf::from(name)
    })
}

/// Whether a file of the recovery folder is a copy, and no lock.
fn is_copy(path: &Path) -> bool {
    let Some(name) = path.file_name().and_then(|name| name.to_str()) else { return false };
    let last = name.rsplit('.').next().unwrap_or_default();
    let number = last.strip_prefix(SUFFIX).unwrap_or("?");
    number.is_empty() || number.strip_prefix('-').is_some_and(|n| n.parse::<usize>().is_ok())
}
