//! The document: plain data, its field table, and the one language of edits.

pub mod arrays;
pub mod edit;
pub mod entry;
pub mod field;
pub mod format;
pub mod job;
pub mod known;
pub mod ledger;
pub mod lists;
pub mod locate;
pub mod path;
pub mod power;
pub mod ratings;
pub mod roof;
pub mod rules;
pub mod samples;
pub mod sources;
pub mod wire_form;
pub mod wiring;

pub use arrays::{Array, Panel, PanelPlace};
pub use edit::{Edit, Step};
pub use field::{Kind, Meta, Quantity, Record, Rejected, Value};
pub use job::{Job, Stay, YesNo};
pub use known::{Figure, Known, Missing};
pub use ledger::{Accepted, Choice, Milestone, Money, Reading, RuleChange, Task, Tax, Visit};
pub use lists::{Lines, Monthly, Months, Strings};
pub use path::{FieldPath, Id, ItemPath, ListPath};
pub use power::{Bank, Charger, Controller, Inverter};
pub use ratings::{Ratings, State};
pub use roof::{Obstacle, Roof};
pub use wiring::{Device, DeviceKind, Leg, Load, Protection, Run};

use crate::record;

/// The device name of the bank.
pub const BANK_ID: &str = "BK";

record! {
    /// One job's whole plan.
    Plan "plan" {}
    parts { job: Job, bank: Bank, roof: Roof, money: Money }
    lists {
        stays: Stay, panels: Panel, arrays: Array, controllers: Controller, inverters: Inverter, chargers: Charger,
        loads: Load, devices: Device, runs: Run, options: Choice, milestones: Milestone, visits: Visit,
        rules: RuleChange, accepted: Accepted
    }
}

/// The id of an item that has not been named yet: its prefix with a 1 (the edit language names it properly).
pub fn blank_id(prefix: &str) -> Id {
    Id::blank(prefix)
}

/// The lists and the part whose items a run can end on share one id space.
pub use wiring::ENDS;

impl Plan {
    /// A plan in which nobody has answered anything yet: whether the batteries stand in a heated space is not known, and
    /// not "no", as it is where a file leaves it out.
    #[must_use]
    pub fn blank() -> Self {
        let mut plan = Self::default();
        plan.bank.heated = Known::Unknown;
        plan
    }

    /// Whether a run can end on this name, and what stands there: list name and index (`bank` has index 0).
    ///
    /// The bank answers to `BK`, `BK+`, `BK-`.
    #[must_use]
    pub fn end(&self, id: &str) -> Option<(&'static str, usize)> {
        if matches!(id, BANK_ID | "BK+" | "BK-") {
            return Some(("bank", 0));
        }
        ENDS.iter().find_map(|name| self.list(name)?.position(id).map(|i| (*name, i)))
    }
}
