//! What becomes of the places on the roof where an array gets other strings: each panel that is left keeps one.

use crate::engine::roof::string_of;
use crate::plan::field::Leaf;
use crate::plan::lists::Strings;
use crate::plan::{Array, Edit, FieldPath, Value};

/// The edits that bring an array to other strings of its panels: its places stay as far as its strings have panels for them,
/// those of strings that are no more go to others that have room, and what is over is taken off the roof.
pub(super) fn restrung(array: &Array, strings: &Strings) -> Vec<Edit> {
    let own = FieldPath::new(format!("arrays.{}", array.id));
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
