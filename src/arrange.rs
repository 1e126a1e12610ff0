//! Short lists put in order. The library's own sort is made anew for every type and comparison, and sixty of them were a
//! sixteenth of the program; here one alone sorts, by places. What is sorted in every moment of a year keeps the library's.

use std::cmp::Ordering;

/// Lists that can be put in order; what compares alike stays as it was.
pub trait Arrange<T> {
    /// Puts the list in the order of a comparison.
    fn arrange_by(&mut self, compare: impl Fn(&T, &T) -> Ordering);

    /// Puts the list in the order of a key.
    fn arrange_by_key<K: Ord>(&mut self, key: impl Fn(&T) -> K) {
        self.arrange_by(|a, b| key(a).cmp(&key(b)));
    }

    /// The same by a key that is worked out once for each.
    fn arrange_by_cached_key<K: Ord>(&mut self, key: impl FnMut(&T) -> K);
}

impl<T> Arrange<T> for [T] {
    fn arrange_by(&mut self, compare: impl Fn(&T, &T) -> Ordering) {
        let list = &*self;
        let places = places(list.len(), &|a, b| match (list.get(a), list.get(b)) {
            (Some(a), Some(b)) => compare(a, b),
            _ => Ordering::Equal,
        });
        put(self, &places);
    }

    fn arrange_by_cached_key<K: Ord>(&mut self, key: impl FnMut(&T) -> K) {
        let keys: Vec<K> = self.iter().map(key).collect();
        put(self, &places(keys.len(), &|a, b| keys.get(a).cmp(&keys.get(b))));
    }
}

/// Puts what stands at these places in their order.
fn put<T>(list: &mut [T], places: &[usize]) {
    for at in 0..places.len() {
        let from = |at: usize| places.get(at).copied().unwrap_or(at);
        // What stood there was moved on by an earlier exchange: to where its place was taken from.
        let mut now = from(at);
        while now < at {
            now = from(now);
        }
        list.swap(at, now);
    }
}

/// Which place of a list comes first, second and so on.
fn places(count: usize, compare: &dyn Fn(usize, usize) -> Ordering) -> Vec<usize> {
    let mut all: Vec<usize> = (0..count).collect();
    all.sort_by(|a, b| compare(*a, *b));
    all
}
