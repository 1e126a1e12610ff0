//! Strings of one array that a run each leads away, drawn as arrays of their own: only so each has its own current and fuse.

use crate::plan::field::Leaf;
use crate::plan::format::item_text;
use crate::plan::{Array, Edit, FieldPath, Id, Known, ListPath, PanelPlace, Plan, Run, Step, Strings, Value};
use crate::units::Number;

/// Findings that a lead of one string has where it counts as the way of all.
const OF_ALL: [&str; 3] = ["fuse-below-design", "conductor-below-current", "string-fuse-missing"];

/// The array that a run leads from as so many arrays as it has strings, where as many runs lead from it.
pub(super) fn steps(plan: &Plan, check: &str, is_about: impl Fn(&Array, &Run) -> bool) -> Option<Step> {
    if !OF_ALL.contains(&check) {
        return None;
    }
    let leads = |a: &Array| -> Vec<(&Run, &'static str)> {
        let is = |k: &Known<Id>| k.known() == Some(&a.id);
        let ends = |r: &Run| [(is(&r.from), "from"), (is(&r.to), "to")].into_iter().find(|(is, _)| *is).map(|e| e.1);
        plan.runs.iter().filter_map(|r| Some((r, ends(r)?))).collect()
    };
    let stay = plan.arrays.iter().filter(|a| a.state.stays() && a.strings.0.len() > 1);
    let mut each = stay.map(|a| (a, leads(a))).filter(|(a, all)| all.len() == a.strings.0.len());
    let (array, leads) = each.find(|(a, all)| all.iter().any(|(run, _)| is_about(a, run)))?;
    let list = ListPath::new("arrays");
    let own = FieldPath::new(format!("arrays.{}", array.id));
    let places = |n: usize| -> Vec<&PanelPlace> {
        let of = |p: &PanelPlace| p.string.as_ref().and_then(Known::known).map_or(1, |s| s.0 as usize);
        array.places.iter().filter(|p| of(p) == n + 1).collect()
    };
    let (mut edits, mut ids) = (Vec::new(), vec![array.id.clone()]);
    let mut with = plan.clone();
    for (n, (string, (run, end))) in array.strings.0.iter().zip(&leads).enumerate() {
        let strings = Strings(vec![string.clone()]);
        if n == 0 {
            edits.push(Edit::Set { at: own.join("strings"), to: strings.to_value() });
            continue;
        }
        let mut apart = Array { id: with.free_id(&list), strings, ..array.clone() };
        apart.places = places(n).into_iter().cloned().collect();
        apart.places.iter_mut().for_each(|p| p.string = Some(Known::Is(Number(1.0))));
        edits.extend(places(n).iter().map(|p| Edit::Remove { at: own.join("places").join(&p.id) }));
        edits.push(Edit::Insert { list: list.clone(), after: ids.last().cloned(), item: item_text(&apart) });
        let at = FieldPath::new(format!("runs.{}.{end}", run.id));
        edits.push(Edit::Set { at, to: Value::Id(apart.id.clone()) });
        ids.push(apart.id.clone());
        with.arrays.push(apart);
    }
    let names: Vec<&str> = ids.iter().map(Id::as_str).collect();
    Some(Step { name: format!("{} drawn apart: {}, a string each", array.id, names.join(", ")), edits })
}
