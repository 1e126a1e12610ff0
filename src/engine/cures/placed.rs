//! What becomes of the places on the roof where an array gets other strings: each panel that is left keeps one.

use crate::engine::roof::string_of;
use crate::plan::field::Leaf;
use crate::plan::lists::Strings;
use crate::plan::{Array, Edit, FieldPath, Value};

/// The edits that wire the panels of an array, taken string by string, into other strings of as many: their places go along.
/// Panels of one string lie near each other, so that neighbours stay together.
pub(in crate::engine) fn rewired(array: &Array, strings: &Strings) -> Vec<Edit> {
    let own = FieldPath::of(&["arrays", array.id.as_str()]);
    let mut edits = vec![Edit::Set { at: own.join("strings"), to: strings.to_value() }];
    let before = |strings: &Strings, k: usize| strings.0.iter().take(k).map(Vec::len).sum::<usize>();
    let mut room: Vec<usize> = strings.0.iter().map(Vec::len).collect();
    let mut taken = vec![0; array.strings.0.len()];
    let turned = Array { strings: strings.clone(), ..array.clone() };
    let (mut new, mut over) = (vec![None; array.places.len()], Vec::new());
    for index in 0..array.places.len() {
        // A place whose string nobody knows keeps that.
        let Some(k) = string_of(array, index) else { continue };
        let nth = taken.get_mut(k).map(|n| std::mem::replace(n, *n + 1));
        let nth = nth.filter(|n| array.strings.0.get(k).is_some_and(|s| *n < s.len()));
        let at = nth.map(|n| before(&array.strings, k) + n);
        let to = at.and_then(|at| (0..strings.0.len()).find(|k| at < before(strings, k + 1)));
        match to.and_then(|k| room.get_mut(k).map(|free| (k, free))) {
            Some((k, free)) => {
                *free = free.saturating_sub(1);
                if let Some(to) = new.get_mut(index) {
                    *to = Some(k);
                }
            }
            None => over.push(index),
        }
    }
    // More than a string had panels: wherever there is room.
    for index in over {
        let Some((k, free)) = room.iter_mut().enumerate().find(|(_, free)| **free > 0) else { break };
        *free -= 1;
        if let Some(to) = new.get_mut(index) {
            *to = Some(k);
        }
    }
    for (index, (place, to)) in array.places.iter().zip(new).enumerate() {
        if let Some(k) = to.filter(|k| string_of(&turned, index) != Some(*k)) {
            let at = own.join("places").join(&place.id).join("string");
            edits.push(Edit::Set { at, to: Value::Number((k + 1) as f64) });
        }
    }
    edits
}

/// The edits that bring an array to other strings of its panels: its places stay as far as its strings have panels for them,
/// those of strings that are no more go to others that have room, and what is over is taken off the roof.
pub(super) fn restrung(array: &Array, strings: &Strings) -> Vec<Edit> {
    let own = FieldPath::of(&["arrays", array.id.as_str()]);
    let mut edits = vec![Edit::Set { at: own.join("strings"), to: strings.to_value() }];
    let mut room: Vec<usize> = strings.0.iter().map(Vec::len).collect();
    let mut take = |k: usize| room.get_mut(k).filter(|free| **free > 0).map(|free| *free -= 1).map(|()| k);
    // A place whose string nobody knows keeps that.
    let known = (0..array.places.len()).filter_map(|place| Some((place, string_of(array, place)?)));
    let kept: Vec<(usize, Option<usize>)> = known.map(|(place, string)| (place, take(string))).collect();
    let left = kept.iter().any(|(_, string)| string.is_none());
    let turned = Array { strings: strings.clone(), ..array.clone() };
    for (index, string) in kept {
        let Some(place) = array.places.get(index) else { continue };
        let at = own.join("places").join(&place.id);
        let string = match string {
            // By its turn alone it would come to another one.
            Some(k) if place.string.is_none() && (left || string_of(&turned, index) != Some(k)) => k,
            Some(_) => continue,
            None => match (0..strings.0.len()).find_map(&mut take) {
                Some(k) => k,
                None => {
                    edits.push(Edit::Remove { at });
                    continue;
                }
            },
        };
        edits.push(Edit::Set { at: at.join("string"), to: Value::Number((string + 1) as f64) });
    }
    edits
}
