//! The recovery copy: the plan as last edited, beside its file, until it is saved or closed.
//!
//! Where the folder cannot be written it is kept in the data directory, as are copies of plans never saved. The
//! first line says whose copy it is.

use std::os::unix::ffi::OsStrExt;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::{Past, Store, StoreError, beside, hash, trail};
use crate::plan::Plan;

const SUFFIX: &str = "recovery";

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
}

impl Store {
    /// Keeps a copy of a plan as it stands, for its owner only: beside its file if that can be, else in the data directory.
    /// `steps`: the lines below it that lead back, as [`super::Trail`] writes them.
    ///
    /// # Errors
    /// [`StoreError`] where neither can be written.
    pub fn keep_copy(&self, of: Option<&Path>, plan: &Plan, steps: &str) -> Result<PathBuf, StoreError> {
        let head = match of {
            Some(path) => format!("// Recovery copy of {}\n", path.display().to_string().replace('\n', " ")),
            None => "// Recovery copy of a plan never saved\n".into(),
        };
        let text = format!("{head}{}\n{steps}", plan.to_text().trim_end_matches('\n'));
        let mut last = StoreError::no_data_directory();
        for copy in self.copies(of) {
            if let Some(folder) = copy.parent()
                && self.data.as_deref().is_some_and(|data| copy.starts_with(data))
            {
                let _ = self.disk.make_folder(folder);
            }
            match self.write_whole(&copy, text.as_bytes(), Some(0o600)) {
                Ok(_) => return Ok(copy),
                Err(e) => last = e,
            }
        }
        Err(last)
    }

    /// Removes the copies of a plan, after a clean save or quit.
    pub fn drop_copy(&self, of: Option<&Path>) {
        for copy in self.copies(of) {
            let _ = self.disk.remove(&copy);
        }
    }

    /// Removes a copy that was offered and declined, or taken.
    pub fn drop_offer(&self, offer: &Offer) {
        let _ = self.disk.remove(&offer.copy);
    }

    /// The copy of a plan that holds something else than its file, if one was left.
    #[must_use]
    pub fn offer(&self, path: &Path) -> Option<Offer> {
        let saved_plan = self.load(path).ok();
        let saved = saved_plan.as_ref().and_then(|o| o.stamp.modified);
        let mut offers: Vec<Offer> = self
            .copies(Some(path))
            .into_iter()
            .filter_map(|copy| {
                let offer = self.read_copy(copy, Some(path.to_path_buf()), saved)?;
                let same = saved_plan.as_ref().is_some_and(|s| s.plan == offer.plan);
                (!same).then_some(offer)
            })
            .collect();
        offers.sort_by_key(|o| o.written);
        offers.pop()
    }

    /// Copies of plans never saved, whose process has ended; newest last.
    #[must_use]
    pub fn unsaved_offers(&self) -> Vec<Offer> {
        let Some(folder) = self.recovery_folder() else { return Vec::new() };
        let mut offers: Vec<Offer> = self
            .disk
            .list(&folder)
            .unwrap_or_default()
            .into_iter()
            .filter(|copy| unsaved_by(copy).is_some_and(|pid| !runs(pid)))
            .filter_map(|copy| self.read_copy(copy, None, None))
            .collect();
        offers.sort_by_key(|o| o.written);
        offers
    }

    fn read_copy(&self, copy: PathBuf, of: Option<PathBuf>, saved: Option<SystemTime>) -> Option<Offer> {
        let (text, stamp) = self.text(&copy).ok()?;
        let plan = Plan::from_text(&text).ok()?;
        let past = trail::read(&text, &plan);
        Some(Offer { copy, of, written: stamp.modified, saved, plan, past })
    }

    fn recovery_folder(&self) -> Option<PathBuf> {
        self.data.as_ref().map(|data| data.join(SUFFIX))
    }

    /// Where the copy of a plan may be, best place first.
    fn copies(&self, of: Option<&Path>) -> Vec<PathBuf> {
        let folder = self.recovery_folder();
        match of {
            None => folder.map(|f| f.join(format!("unsaved-{}.{SUFFIX}", std::process::id()))).into_iter().collect(),
            Some(path) => {
                let target = self.disk.real_path(path).unwrap_or_else(|_| path.to_path_buf());
                let hash = hash(target.as_os_str().as_bytes());
                let name = target.file_name().unwrap_or_default().to_string_lossy().into_owned();
                let away = folder.map(|f| f.join(format!("{:016x}-{name}.{SUFFIX}", hash)));
                [Some(beside(&target, SUFFIX)), away].into_iter().flatten().collect()
            }
        }
    }
}

/// The process that kept a copy of a plan never saved.
fn unsaved_by(copy: &Path) -> Option<i32> {
    copy.file_name()?.to_str()?.strip_prefix("unsaved-")?.strip_suffix(".recovery")?.parse().ok()
}

/// Whether another process of that number runs.
fn runs(pid: i32) -> bool {
    u32::try_from(pid).is_ok_and(|p| p != std::process::id())
        && rustix::process::Pid::from_raw(pid).is_some_and(|p| rustix::process::test_kill_process(p).is_ok())
}
