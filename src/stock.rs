//! What the shop has beside any plan: the truck stock, the shelf of equipment typed once, the settings and the
//! recent plans. Data and file formats only; reading and writing is the store's.
//!
//! Everything here has field tables like the plan's, so the same forms edit it.

pub mod recent;
pub mod settings;
pub mod shelf;
pub mod truck;

pub use recent::{Recent, RecentPlan};
pub use settings::{Palette, Settings, StandardTime};
pub use shelf::{Found, Shelf};
pub use truck::{Fuse, Lug, Part, Spool, Truck};

use crate::plan::edit::{check, no_such, record_in, record_in_mut};
use crate::plan::field::{List, Rejected, Value};
use crate::plan::path::{FieldPath, Id, ItemPath, ListPath};
use crate::record;

record! {
    /// All of it as one tree: `truck.spools.SP1.left_m`, `settings.palette`.
    Stock "stock" {}
    parts { truck: Truck, shelf: Shelf, settings: Settings }
}

impl Stock {
    /// What a shop starts with: nothing on the truck, typical equipment on the shelf.
    #[must_use]
    pub fn first() -> Self {
        Self { shelf: Shelf::typical(), ..Self::default() }
    }

    /// A field's value.
    #[must_use]
    pub fn get_at(&self, at: &FieldPath) -> Option<Value> {
        let (owner, key) = at.split_last();
        record_in(self, &owner)?.get(key)
    }

    /// Sets a field. What is typical until replaced is the shop's own once it is edited.
    ///
    /// # Errors
    /// [`Rejected`] names the field and what is accepted.
    pub fn set(&mut self, at: &FieldPath, to: Value) -> Result<(), Rejected> {
        let (owner, key) = at.split_last();
        let missing = no_such(self, at);
        let record = record_in_mut(self, &owner).ok_or_else(|| missing.clone())?;
        let meta = record.metas().into_iter().find(|m| m.key == key).ok_or(missing)?;
        check(meta, &to).and_then(|()| record.set(key, to)).map_err(|why| Rejected::new(at.clone(), why))?;
        if key != "typical" {
            self.no_longer_typical(&owner);
        }
        Ok(())
    }

    fn no_longer_typical(&mut self, owner: &FieldPath) {
        let item: Vec<&str> = owner.segments().take(3).collect();
        if let [part @ "shelf", list, id] = item.as_slice()
            && let Some(item) = record_in_mut(self, &FieldPath::new(format!("{part}.{list}.{id}")))
        {
            // Every item of the shelf has this field and both words are legal in it.
            let _ = item.set("typical", Value::Word("no"));
        }
    }

    /// A list by path: `truck.spools`.
    #[must_use]
    pub fn list_at(&self, at: &ListPath) -> Option<&dyn List> {
        let (owner, name) = at.split_last();
        record_in(self, &owner)?.list(name)
    }

    fn list_at_mut(&mut self, at: &ListPath) -> Option<&mut dyn List> {
        let (owner, name) = at.split_last();
        record_in_mut(self, &owner)?.list_mut(name)
    }

    /// Puts a blank item at the end of a list and says its name.
    ///
    /// # Errors
    /// [`Rejected`] where there is no such list.
    pub fn add(&mut self, at: &ListPath) -> Result<Id, Rejected> {
        let list = self.list_at_mut(at).ok_or_else(|| Rejected::new(at.clone(), "there is no such list"))?;
        let id = free_id(list);
        let blank = list.blank_ron(id.clone());
        list.insert_ron(list.len(), &blank).map_err(|why| Rejected::new(at.clone(), why))?;
        Ok(id)
    }

    /// Puts a copy of an item after it and says its name.
    ///
    /// # Errors
    /// [`Rejected`] where there is no such item.
    pub fn copy(&mut self, at: &ItemPath) -> Result<Id, Rejected> {
        let (list, id) = at.split_last();
        let missing = || Rejected::new(at.clone(), "there is no such item");
        let items = self.list_at_mut(&list).ok_or_else(missing)?;
        let index = items.position(id).ok_or_else(missing)?;
        let ron = items.ron_at(index).ok_or_else(missing)?;
        let free = free_id(items);
        items.insert_ron(index + 1, &ron).map_err(|why| Rejected::new(at.clone(), why))?;
        items.set_id(index + 1, free.clone());
        Ok(free)
    }

    /// Takes an item away.
    ///
    /// # Errors
    /// [`Rejected`] where there is no such item.
    pub fn remove(&mut self, at: &ItemPath) -> Result<(), Rejected> {
        let (list, id) = at.split_last();
        let missing = || Rejected::new(at.clone(), "there is no such item");
        let list = self.list_at_mut(&list).ok_or_else(missing)?;
        let index = list.position(id).ok_or_else(missing)?;
        list.remove(index);
        Ok(())
    }
}

/// The next free generated name of a list.
fn free_id(list: &dyn List) -> Id {
    (1..)
        .map(|n| Id::numbered(list.prefix(), n))
        .find(|id| list.position(id.as_str()).is_none())
        .unwrap_or_else(|| Id::blank(list.prefix()))
}
