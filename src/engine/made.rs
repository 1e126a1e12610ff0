//! Results that are wanted at once and do not wait for each other, made on several threads.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// What is made of each key, on so many threads at most; the same as one after another.
pub(super) fn made<K: Sync, V: Send>(keys: &[K], threads: usize, make: impl Fn(&K) -> V + Sync) -> Vec<V> {
    let next = AtomicUsize::new(0);
    let some = || {
        let taken = std::iter::from_fn(|| {
            let at = next.fetch_add(1, Ordering::Relaxed);
            Some((at, keys.get(at)?))
        });
        taken.map(|(at, key)| (at, make(key))).collect::<Vec<_>>()
    };
    let mut all: Vec<Option<V>> = keys.iter().map(|_| None).collect();
    let found = thread::scope(|scope| {
        // What finds no thread, or fails on it, is made below.
        let one = |_| thread::Builder::new().name("stage".into()).spawn_scoped(scope, some).ok();
        let others: Vec<_> = (1..threads.min(keys.len())).filter_map(one).collect();
        let mut found = some();
        found.extend(others.into_iter().filter_map(|other| other.join().ok()).flatten());
        found
    });
    for (at, value) in found {
        if let Some(slot) = all.get_mut(at) {
            *slot = Some(value);
        }
    }
    all.into_iter().zip(keys).map(|(value, key)| value.unwrap_or_else(|| make(key))).collect()
}
