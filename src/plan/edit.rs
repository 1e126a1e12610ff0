//! The one language of edits: five verbs, and steps made of them.

mod renamed;
mod text;

use super::Plan;
use super::field::{Kind, List, Meta, Record, Rejected, Value};
use super::job::YesNo;
use super::path::{FieldPath, Id, ItemPath, ListPath};

/// One change to the plan.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// A field gets a value.
    Set { at: FieldPath, to: Value },
    /// An item, given as RON, comes into a list after another (first if `after` is `None`). An id already
    /// taken is replaced by the next free one.
    Insert { list: ListPath, after: Option<Id>, item: String },
    /// An item goes.
    Remove { at: ItemPath },
    /// An item stands after another of its list (first if `None`).
    Move { at: ItemPath, after: Option<Id> },
    /// An item gets another name; every reference follows.
    Rename { at: ItemPath, to: Id },
}

/// What undo steps over: a name and its edits, all or nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    pub name: String,
    pub edits: Vec<Edit>,
}

impl Step {
    /// A step of one edit.
    #[must_use]
    pub fn one(name: impl Into<String>, edit: Edit) -> Self {
        Self { name: name.into(), edits: vec![edit] }
    }
}

impl Plan {
    /// The plan with a step applied.
    ///
    /// # Errors
    /// [`Rejected`] names the field and what is accepted; nothing is applied then.
    pub fn with(&self, step: &Step) -> Result<Self, Rejected> {
        let mut plan = self.clone();
        for edit in &step.edits {
            plan.apply(edit)?;
        }
        Ok(plan)
    }

    /// The record that a path of sections, lists, items and parts leads to.
    #[must_use]
    pub fn record(&self, at: &FieldPath) -> Option<&dyn Record> {
        record_in(self, at)
    }

    fn record_mut(&mut self, at: &FieldPath) -> Option<&mut dyn Record> {
        record_in_mut(self, at)
    }

    /// A list by path.
    #[must_use]
    pub fn list_at(&self, at: &ListPath) -> Option<&dyn List> {
        let (owner, name) = at.split_last();
        self.record(&owner)?.list(name)
    }

    fn list_at_mut(&mut self, at: &ListPath) -> Option<&mut dyn List> {
        let (owner, name) = at.split_last();
        self.record_mut(&owner)?.list_mut(name)
    }

    /// A field's value.
    #[must_use]
    pub fn get_at(&self, at: &FieldPath) -> Option<Value> {
        let (owner, key) = at.split_last();
        self.record(&owner)?.get(key)
    }

    /// A field's row of the table.
    #[must_use]
    pub fn meta(&self, at: &FieldPath) -> Option<&'static Meta> {
        let (owner, key) = at.split_last();
        super::rules::meta_of(self.record(&owner)?, key)
    }

    fn apply(&mut self, edit: &Edit) -> Result<(), Rejected> {
        self.leaves_closed(edit)?;
        match edit {
            Edit::Set { at, to } => self.set(at, to.clone()),
            Edit::Insert { list, after, item } => self.insert(list, after.as_ref(), item),
            Edit::Remove { at } => {
                let (list, index) = self.locate_item(at)?;
                self.list_mut_or(&list)?.remove(index);
                Ok(())
            }
            Edit::Move { at, after } => {
                let (list, from) = self.locate_item(at)?;
                let items = self.list_mut_or(&list)?;
                let to = match after {
                    None => 0,
                    Some(id) => {
                        let i = items
                            .position(id.as_str())
                            .ok_or_else(|| Rejected::new(list.clone(), format!("has no item {id}")))?;
                        if i == from {
                            return Ok(());
                        }
                        if i > from { i } else { i + 1 }
                    }
                };
                items.move_item(from, to);
                Ok(())
            }
            Edit::Rename { at, to } => self.rename(at, to),
        }
    }

    /// A closed visit is a record: only opening it again changes it.
    fn leaves_closed(&self, edit: &Edit) -> Result<(), Rejected> {
        let at = match edit {
            Edit::Set { at, .. } | Edit::Remove { at } | Edit::Rename { at, .. } | Edit::Move { at, .. } => at,
            Edit::Insert { list, .. } => list,
        };
        let mut segments = at.segments();
        let id = segments.next().filter(|list| *list == "visits").and_then(|_| segments.next());
        let Some(visit) = self.visits.iter().find(|v| Some(v.id.as_str()) == id) else { return Ok(()) };
        let opens = matches!(edit, Edit::Set { .. }) && segments.next() == Some("closed");
        if visit.closed == YesNo::No || opens || matches!(edit, Edit::Move { .. } if segments.next().is_none()) {
            return Ok(());
        }
        Err(Rejected::new(
            at.clone(),
            format!("{} is closed: what was found then stays; set its closed to no first", visit.id),
        ))
    }

    fn set(&mut self, at: &FieldPath, to: Value) -> Result<(), Rejected> {
        let meta = self.meta(at).ok_or_else(|| no_such(self, at))?;
        check(meta, &to).map_err(|why| Rejected::new(at.clone(), why))?;
        let (owner, key) = at.split_last();
        let record = self.record_mut(&owner).ok_or_else(|| Rejected::new(at.clone(), "there is no such field"))?;
        record.set(key, to).map_err(|why| Rejected::new(at.clone(), why))
    }

    fn locate_item(&self, at: &ItemPath) -> Result<(ListPath, usize), Rejected> {
        let (list, id) = at.split_last();
        let index = self
            .list_at(&list)
            .and_then(|l| l.position(id))
            .ok_or_else(|| Rejected::new(at.clone(), "there is no such item"))?;
        Ok((list, index))
    }

    fn list_mut_or(&mut self, list: &ListPath) -> Result<&mut dyn List, Rejected> {
        self.list_at_mut(list).ok_or_else(|| Rejected::new(list.clone(), "there is no such list"))
    }

    fn insert(&mut self, list: &ListPath, after: Option<&Id>, item: &str) -> Result<(), Rejected> {
        let items = self.list_at(list).ok_or_else(|| Rejected::new(list.clone(), "there is no such list"))?;
        let index = match after {
            None => 0,
            Some(id) => {
                1 + items
                    .position(id.as_str())
                    .ok_or_else(|| Rejected::new(list.clone(), format!("has no item {id}")))?
            }
        };
        let items = self.list_mut_or(list)?;
        items.insert_ron(index, item).map_err(|why| Rejected::new(list.clone(), why))?;
        let id = items.id_at(index).cloned();
        // A file may hold a rule of another program's, which is kept and said; nobody makes a new one.
        if let Some(id) = id.as_ref().filter(|_| list.as_str() == super::rules::LIST)
            && crate::standards::rules::rule(id.as_str()).is_none()
        {
            return Err(Rejected::new(list.join(id.as_str()), super::rules::unknown(id.as_str())));
        }
        let path = list.join(id.as_ref().map_or("", |i| i.as_str()));
        if let Some(item) = items.at(index)
            && let Some((at, _, why)) = first_out_of_bounds(item, path.as_str(), "")
        {
            return Err(Rejected::new(at, why));
        }
        if let Some(id) = id
            && self.taken(list, index, &id)
        {
            let free = self.free_id(list);
            self.list_mut_or(list)?.set_id(index, free);
        }
        Ok(())
    }

    fn rename(&mut self, at: &ItemPath, to: &Id) -> Result<(), Rejected> {
        let (list, index) = self.locate_item(at)?;
        if self.taken(&list, index, to) {
            return Err(Rejected::new(at.clone(), format!("the name {to} is taken")));
        }
        if list.as_str() == super::rules::LIST && crate::standards::rules::rule(to.as_str()).is_none() {
            return Err(Rejected::new(at.clone(), super::rules::unknown(to.as_str())));
        }
        let before = self.clone();
        self.list_mut_or(&list)?.set_id(index, to.clone());
        renamed::Renamed { at, to }.follow(self, &before);
        Ok(())
    }

    /// Whether another item already has this name: in the whole plan for what a run can end on, else in its list.
    fn taken(&self, list: &ListPath, index: usize, id: &Id) -> bool {
        let in_list =
            |l: &dyn List, skip: Option<usize>| (0..l.len()).any(|i| Some(i) != skip && l.id_at(i) == Some(id));
        if super::ENDS.contains(&list.as_str()) {
            matches!(id.as_str(), "BK" | "BK+" | "BK-")
                || super::ENDS
                    .iter()
                    .any(|name| self.list(name).is_some_and(|l| in_list(l, (*name == list.as_str()).then_some(index))))
        } else {
            self.list_at(list).is_some_and(|l| in_list(l, Some(index)))
        }
    }

    /// The next free generated name of a list.
    #[must_use]
    pub fn free_id(&self, list: &ListPath) -> Id {
        let prefix = self.list_at(list).map_or("X", |l| l.prefix());
        let mut n = 1;
        loop {
            let id = Id::numbered(prefix, n);
            if !self.taken(list, usize::MAX, &id) {
                return id;
            }
            n += 1;
        }
    }
}

/// The record that a path leads to in any tree of records.
#[must_use]
pub fn record_in<'a>(root: &'a dyn Record, at: &FieldPath) -> Option<&'a dyn Record> {
    let mut record = root;
    let mut segments = at.segments();
    while let Some(name) = segments.next() {
        record = match record.part(name) {
            Some(part) => part,
            None => {
                let list = record.list(name)?;
                list.at(list.position(segments.next()?)?)?
            }
        };
    }
    Some(record)
}

/// The same, to change it.
pub fn record_in_mut<'a>(root: &'a mut dyn Record, at: &FieldPath) -> Option<&'a mut dyn Record> {
    let mut record = root;
    let mut segments = at.segments();
    while let Some(name) = segments.next() {
        record = if record.part_names().contains(&name) {
            record.part_mut(name)?
        } else {
            let list = record.list_mut(name)?;
            let index = list.position(segments.next()?)?;
            list.at_mut(index)?
        };
    }
    Some(record)
}

/// Says how far a path leads and what could follow.
#[must_use]
pub fn no_such(root: &dyn Record, at: &FieldPath) -> Rejected {
    let (owner, key) = at.split_last();
    if let Some(why) = super::rules::no_change(at) {
        return Rejected::new(at.clone(), why);
    }
    match record_in(root, &owner) {
        Some(record) if !record.metas().is_empty() => {
            let keys: Vec<&str> = record.metas().iter().map(|m| m.key).collect();
            Rejected::new(at.clone(), format!("a {} has no field {key:?}; fields: {}", record.what(), keys.join(", ")))
        }
        _ => Rejected::new(at.clone(), "there is nothing of that name in the plan"),
    }
}

/// Path, slot and reason of the first value that its row refuses.
pub(super) fn first_out_of_bounds(record: &dyn Record, path: &str, slot: &str) -> Option<(String, String, String)> {
    let under = |head: &str, next: &str| if head.is_empty() { next.to_string() } else { format!("{head}.{next}") };
    for meta in record.metas() {
        if let Some(value) = record.get(meta.key)
            && let Err(why) = check(meta, &value)
        {
            return Some((under(path, meta.key), under(slot, meta.key), why));
        }
    }
    for name in record.part_names() {
        if let Some(part) = record.part(name)
            && let Some(found) = first_out_of_bounds(part, &under(path, name), &under(slot, name))
        {
            return Some(found);
        }
    }
    for name in record.list_names() {
        let Some(list) = record.list(name) else { continue };
        for i in 0..list.len() {
            if let (Some(item), Some(id)) = (list.at(i), list.id_at(i)) {
                let path = under(&under(path, name), id.as_str());
                let slot = under(&under(slot, name), &i.to_string());
                if let Some(found) = first_out_of_bounds(item, &path, &slot) {
                    return Some(found);
                }
            }
        }
    }
    None
}

/// Whether a value may stand in a field.
///
/// # Errors
/// A sentence saying what is accepted.
pub fn check(meta: &Meta, value: &Value) -> Result<(), String> {
    match (value, meta.kind) {
        (Value::Unknown, _) if meta.unknown => Ok(()),
        (Value::Unknown, _) => Err("cannot be unknown".into()),
        (Value::Nothing, _) if meta.absent || meta.kind == Kind::Text => Ok(()),
        (Value::Nothing, _) => Err("cannot be left out; write ? where it is not known".into()),
        (Value::Number(x), Kind::Number { least, most, quantity }) => {
            if !x.is_finite() {
                Err("a finite number is needed".into())
            } else if *x < least || *x > most {
                Err(format!("{x} is outside {least} to {most}{}", super::entry::unit_suffix(quantity)))
            } else if quantity == super::Quantity::Count && x.fract() != 0.0 {
                Err("a whole number is needed".into())
            } else {
                Ok(())
            }
        }
        (Value::Gauge(_), Kind::Gauge) | (Value::Id(_), Kind::Ref(_)) => Ok(()),
        (Value::Id(_), Kind::Text) => Ok(()),
        (Value::Word(w), Kind::Words(words)) if words.contains(w) => Ok(()),
        (_, Kind::Words(words)) => Err(format!("one of: {}", words.join(", "))),
        (Value::Text(t), Kind::Monthly { quantity, least, most }) => {
            let (monthly, unit) = (t.parse::<super::Monthly>()?, super::entry::unit_suffix(quantity));
            match monthly.0.iter().find(|x| !(least..=most).contains(*x)) {
                Some(x) => Err(format!("{x}{unit} is outside {least} to {most}{unit}")),
                None => Ok(()),
            }
        }
        (Value::Text(_), Kind::Text | Kind::Months | Kind::Strings | Kind::Lines) => Ok(()),
        _ => Err("this kind of value does not belong here".into()),
    }
}
