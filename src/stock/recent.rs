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
        stood: String => "stood", Kind::Text, "The screen and the run that were on when it was left.", &CHOICE;
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
        let stood = self.stood(path).unwrap_or_default().to_string();
        self.plans.retain(|p| p.path != path);
        let (title, opened) = (title.into(), opened.into());
        let entry = RecentPlan { path: path.into(), title, opened, stood, ..RecentPlan::default() };
        self.plans.insert(0, entry);
        self.plans.truncate(KEPT);
        for (i, plan) in self.plans.iter_mut().enumerate() {
            plan.id = Id::numbered("RP", i + 1);
        }
    }

    /// What was on screen when a plan was left.
    #[must_use]
    pub fn stood(&self, path: &str) -> Option<&str> {
        self.plans.iter().find(|p| p.path == path).map(|p| p.stood.as_str())
    }

    /// Notes what is on screen of a plan on the list; whether that is new.
    pub fn stand(&mut self, path: &str, stood: &str) -> bool {
        let Some(plan) = self.plans.iter_mut().find(|p| p.path == path && p.stood != stood) else { return false };
        plan.stood = stood.into();
        true
    }

    /// Takes a plan off the list.
    pub fn forget(&mut self, path: &str) {
        self.plans.retain(|p| p.path != path);
    }
}
