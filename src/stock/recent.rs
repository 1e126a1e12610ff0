//! Plans opened lately, newest first.

use crate::plan::field::Kind;
use crate::plan::format::{self, LoadError};
use crate::plan::path::Id;
use crate::plan::sources::CHOICE;
use crate::record;

/// How many are kept.
pub const KEPT: usize = 12;

record! {
    /// Plans opened lately.
    Recent "recent plans" {}
    lists { plans: RecentPlan }
}

record! {
    /// One of them.
    RecentPlan "recent plan" item "RP" {
        path: String => "file", Kind::Text, "Where it is.", &CHOICE;
        title: String => "job", Kind::Text, "What the job is called.", &CHOICE;
        opened: String => "opened", Kind::Text, "When it was last opened.", &CHOICE;
    }
}

impl Recent {
    /// Reads the list's file.
    ///
    /// # Errors
    /// [`LoadError`] with line, column and field.
    pub fn from_text(text: &str) -> Result<Self, LoadError> {
        format::read(text, "a list of recent plans")
    }

    /// The text of its file.
    #[must_use]
    pub fn to_text(&self) -> String {
        format::write(self)
    }

    /// Puts a plan first; each path stands once.
    pub fn remember(&mut self, path: &str, title: &str, opened: &str) {
        self.plans.retain(|p| p.path != path);
        let entry =
            RecentPlan { path: path.into(), title: title.into(), opened: opened.into(), ..RecentPlan::default() };
        self.plans.insert(0, entry);
        self.plans.truncate(KEPT);
        for (i, plan) in self.plans.iter_mut().enumerate() {
            plan.id = Id::numbered("RP", i + 1);
        }
    }

    /// Takes a plan off the list.
    pub fn forget(&mut self, path: &str) {
        self.plans.retain(|p| p.path != path);
    }
}
