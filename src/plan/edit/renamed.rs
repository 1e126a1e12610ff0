//! What names an item by text follows it to its new name: ends of runs, panels of strings, legs of fuses, findings
//! accepted, readings taken, the edits of options.

use super::Edit;
use crate::plan::field::{Kind, Record, Value};
use crate::plan::lists::Strings;
use crate::plan::path::{FieldPath, Id, ItemPath};
use crate::plan::{Known, Plan};

/// An item with its old name, and its new one.
pub(super) struct Renamed<'a> {
    pub(super) at: &'a ItemPath,
    pub(super) to: &'a Id,
}

impl Renamed<'_> {
    /// All references of a plan in which the item already has its new name; `before` is the plan with the old one.
    pub(super) fn follow(&self, plan: &mut Plan, before: &Plan) {
        let (list, old) = self.at.split_last();
        if let Some(section) = self.section() {
            self.references(plan, section);
            for array in &mut plan.arrays {
                self.panels(section, &mut array.strings);
            }
        } else if list.as_str().ends_with(".legs")
            && let Some(run) = plan.runs.iter_mut().find(|r| list.as_str() == format!("runs.{}.legs", r.id))
        {
            for fuse in &mut run.protection {
                if let Some(Known::Is(leg)) = &mut fuse.leg
                    && leg.as_str() == old
                {
                    *leg = self.to.clone();
                }
            }
        }
        for accepted in &mut plan.accepted {
            if let Some(path) = self.path(&FieldPath::new(accepted.subject.as_str())) {
                accepted.subject = path.to_string();
            }
        }
        self.readings(plan, before);
        for option in &mut plan.options {
            self.lines(before, &mut option.edits.0);
        }
    }

    /// The list, where it is one of the plan's own.
    fn section(&self) -> Option<&str> {
        let mut segments = self.at.segments();
        let first = segments.next();
        (segments.count() == 1).then_some(first).flatten()
    }

    /// A path that leads to the item or into it, by the new name.
    fn path(&self, path: &FieldPath) -> Option<FieldPath> {
        let (list, _) = self.at.split_last();
        let rest = path.as_str().strip_prefix(self.at.as_str())?;
        (rest.is_empty() || rest.starts_with('.')).then(|| FieldPath::new(format!("{}{rest}", list.join(self.to))))
    }

    /// Whether any field of a record that names such items changed.
    fn references(&self, record: &mut dyn Record, section: &str) -> bool {
        let (_, old) = self.at.split_last();
        let mut any = false;
        for meta in record.metas() {
            if let Kind::Ref(lists) = meta.kind
                && lists.contains(&section)
                && let Some(Value::Id(id)) = record.get(meta.key)
                && id.as_str() == old
            {
                // A reference of the right kind cannot be refused.
                any |= record.set(meta.key, Value::Id(self.to.clone())).is_ok();
            }
        }
        for part in record.part_names() {
            if let Some(part) = record.part_mut(part) {
                any |= self.references(part, section);
            }
        }
        for name in record.list_names() {
            if let Some(list) = record.list_mut(name) {
                for i in 0..list.len() {
                    if let Some(item) = list.at_mut(i) {
                        any |= self.references(item, section);
                    }
                }
            }
        }
        any
    }

    fn panels(&self, section: &str, strings: &mut Strings) -> bool {
        let (_, old) = self.at.split_last();
        let mut any = false;
        for panel in strings.0.iter_mut().flatten().filter(|p| section == "panels" && p.as_str() == old) {
            *panel = self.to.clone();
            any = true;
        }
        any
    }

    /// A reading names a thing alone, `W2.drop_v`: it follows where no other list has a thing of that name. That of a
    /// closed visit too: it stays a reading of the same thing.
    fn readings(&self, plan: &mut Plan, before: &Plan) {
        let (_, old) = self.at.split_last();
        let Some(section) = self.section() else { return };
        let read = ["panels", "arrays", "controllers", "chargers", "inverters", "loads", "devices", "runs"];
        let named = |list: &&str| before.list(list).is_some_and(|l| l.position(old).is_some());
        if !read.contains(&section) || read.iter().filter(|list| named(list)).count() != 1 {
            return;
        }
        for reading in plan.visits.iter_mut().flat_map(|v| &mut v.readings) {
            let (of, rest) = reading.what.split_at(reading.what.find('.').unwrap_or(reading.what.len()));
            if of.trim() == old {
                reading.what = format!("{}{rest}", self.to);
            }
        }
    }

    /// The lines of an option, each read on the plan as those before it leave it. Once a line takes the item away or
    /// names it anew, the old name means another from there on.
    fn lines(&self, before: &Plan, lines: &mut [String]) {
        if lines.is_empty() {
            return;
        }
        let mut plan = before.clone();
        for line in lines {
            let Ok(edit) = Edit::parse(&plan, line) else {
                // What does not read is kept as it is but for the path it begins with.
                let head = line.split(['=', ' ']).next().unwrap_or_default().to_string();
                if let Some(path) = self.path(&FieldPath::new(head.as_str())) {
                    *line = line.replacen(&head, path.as_str(), 1);
                }
                continue;
            };
            self.line(&plan, &edit, line);
            let goes = matches!(&edit, Edit::Remove { at } | Edit::Rename { at, .. } if at == self.at);
            if goes || plan.apply(&edit).is_err() && matches!(edit, Edit::Insert { .. }) {
                return;
            }
        }
    }

    fn line(&self, plan: &Plan, edit: &Edit, line: &mut String) {
        let (Edit::Set { at, .. } | Edit::Remove { at } | Edit::Move { at, .. } | Edit::Rename { at, .. }) = edit
        else {
            if let Some(edit) = self.inserted(plan, edit) {
                *line = edit.to_string();
            }
            return;
        };
        let (list, old) = self.at.split_last();
        let path = self.path(at);
        let now = path.clone().unwrap_or_else(|| at.clone());
        match edit {
            Edit::Set { to, .. } if let Some(to) = self.value(plan, at, to) => {
                *line = Edit::Set { at: now, to }.to_string();
            }
            Edit::Move { at, after: Some(after) } if after.as_str() == old && at.split_last().0 == list => {
                *line = Edit::Move { at: now, after: Some(self.to.clone()) }.to_string();
            }
            // The rest stays as it was typed.
            _ if path.is_some() => *line = line.replacen(at.as_str(), now.as_str(), 1),
            _ => {}
        }
    }

    /// A value that names the item, with its new name.
    fn value(&self, plan: &Plan, at: &FieldPath, value: &Value) -> Option<Value> {
        let (list, old) = self.at.split_last();
        let kind = plan.meta(at)?.kind;
        match value {
            Value::Id(id) if id.as_str() == old => {
                let leg = kind == Kind::Text
                    && list.as_str().strip_suffix(".legs").is_some_and(|run| at.is_within(&FieldPath::new(run)));
                let names = matches!((kind, self.section()), (Kind::Ref(lists), Some(own)) if lists.contains(&own));
                (leg || names).then(|| Value::Id(self.to.clone()))
            }
            Value::Text(text) if kind == Kind::Strings => {
                let mut strings: Strings = text.parse().ok()?;
                self.panels(self.section()?, &mut strings).then(|| Value::Text(strings.to_string()))
            }
            _ => None,
        }
    }

    /// An insertion that stands behind the item, in it, or names it.
    fn inserted(&self, plan: &Plan, edit: &Edit) -> Option<Edit> {
        let Edit::Insert { list, after, item } = edit else { return None };
        let (own, old) = self.at.split_last();
        let behind = after.as_ref().is_some_and(|id| id.as_str() == old) && *list == own;
        let path = self.path(list);
        let item_now = self.section().and_then(|section| {
            let mut with = plan.clone();
            with.apply(edit).ok()?;
            let index = match after {
                None => 0,
                Some(id) => 1 + plan.list_at(list)?.position(id.as_str())?,
            };
            let strings = (list.as_str() == "arrays").then(|| with.arrays.get_mut(index)).flatten();
            let panels = strings.is_some_and(|array| self.panels(section, &mut array.strings));
            let named = self.references(with.list_at_mut(list)?.at_mut(index)?, section);
            (panels || named).then(|| with.list_at(list)?.ron_at(index)).flatten()
        });
        (behind || path.is_some() || item_now.is_some()).then(|| Edit::Insert {
            list: path.unwrap_or_else(|| list.clone()),
            after: if behind { Some(self.to.clone()) } else { after.clone() },
            item: item_now.unwrap_or_else(|| item.clone()),
        })
    }
}
