//! What a remembered stage reads of a plan: named fields alone. The stage is computed from a plan that has nothing else,
//! so that what its key leaves out cannot count.

use crate::plan::power::{Bank, Charger, Controller, Inverter};
use crate::plan::roof::{Obstacle, Roof};
use crate::plan::{
    Array, Choice, Device, Job, Leg, Load, Milestone, Money, Panel, PanelPlace, Plan, Protection, Reading, RuleChange,
    Run, Stay, Task, Tax, Visit,
};

/// A choice of fields of a record.
pub trait Extract<T> {
    /// A record with these fields, and everything else as it is in a blank one.
    fn of(whole: &T) -> T;
    /// Whether two records are alike in them.
    fn alike(a: &T, b: &T) -> bool;
}

/// Declares a choice of fields: one list of them for the copy and for the comparison.
macro_rules! extract {
    ($(#[$doc:meta])* $choice:ident {
        $($of:ident { $($field:ident),* } $([$($list:ident),*])?)*
    }) => {
        $(#[$doc])*
        #[derive(Debug)]
        pub struct $choice;

        $(impl Extract<$of> for $choice {
            fn of(whole: &$of) -> $of {
                $of {
                    $($field: whole.$field.clone(),)*
                    $($($list: <Self as Extract<_>>::of(&whole.$list),)*)?
                    ..$of::default()
                }
            }

            fn alike(a: &$of, b: &$of) -> bool {
                true $(&& a.$field == b.$field)* $($(&& <Self as Extract<_>>::alike(&a.$list, &b.$list))*)?
            }
        })*

        impl<T> Extract<Vec<T>> for $choice
        where
            Self: Extract<T>,
        {
            fn of(whole: &Vec<T>) -> Vec<T> {
                whole.iter().map(<Self as Extract<T>>::of).collect()
            }

            fn alike(a: &Vec<T>, b: &Vec<T>) -> bool {
                a.len() == b.len() && a.iter().zip(b).all(|(a, b)| <Self as Extract<T>>::alike(a, b))
            }
        }
    };
}

extract! {
    /// The drawing: what is there, what joins it, and the name of every item.
    Drawing {
        Plan {} [
            bank, roof, money, stays, panels, arrays, controllers, inverters, chargers, loads, devices, runs, options,
            milestones, visits
        ]
        Bank { parallel, state }
        Roof {} [obstacles]
        Money {} [taxes, tasks]
        Stay { id }
        Panel { id }
        Array { id, strings, controller, state } [places]
        PanelPlace { id }
        Controller { id, state }
        Inverter { id, state }
        Charger { id, kind, alternator, state }
        Load { id, supply, critical, life_safety, state }
        Device { id, kind, state }
        Run { id, from, to, return_path, negative_from, negative_to } [legs, protection]
        Leg { id, state }
        Protection { id, pole, state }
        Choice { id }
        Milestone { id }
        Visit { id } [readings]
        Reading { id }
        Obstacle { id }
        Tax { id }
        Task { id }
    }
}

extract! {
    /// What the loads ask for, and through what.
    Audited {
        Plan {} [job, bank, stays, inverters, loads, rules]
        Job { basis }
        Bank { chemistry, unit_v, series }
        Stay { id, latitude_deg, months }
        Inverter { id, watts_w, surge_w, idle_w, idle_h_day, efficiency_pct, state }
        Load {
            id, watts_w, quantity, hours_day, duty_pct, when, supply, surge_w, months, winter_factor, summer_factor,
            medical, state
        }
        RuleChange { id, value }
    }
}
