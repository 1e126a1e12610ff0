//! Remembered stages: same input, no work.

use std::sync::Arc;

use super::made::made;

/// A stage's result. Two are equal when they are the same computation, so a key can hold upstream results.
#[derive(Debug)]
pub struct Stage<T>(Arc<T>);

impl<T> Stage<T> {
    /// A result.
    pub fn new(value: T) -> Self {
        Self(Arc::new(value))
    }

    /// The result, for a report to share.
    pub fn shared(&self) -> Arc<T> {
        Arc::clone(&self.0)
    }
}

impl<T> Clone for Stage<T> {
    fn clone(&self) -> Self {
        Self(Arc::clone(&self.0))
    }
}

impl<T> PartialEq for Stage<T> {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

impl<T> std::ops::Deref for Stage<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.0
    }
}

/// Results by the inputs they were computed from, newest first, a bounded number of them.
///
/// Keys are compared by content, never by name: a note or a price never runs a year again.
#[derive(Debug)]
pub struct Memo<K, V> {
    kept: Vec<(K, Stage<V>)>,
    room: usize,
}

impl<K: Clone, V> Clone for Memo<K, V> {
    fn clone(&self) -> Self {
        Self { kept: self.kept.clone(), room: self.room }
    }
}

impl<K, V> Default for Memo<K, V> {
    /// Room for a few.
    fn default() -> Self {
        Self::with_room(4)
    }
}

impl<K, V> Memo<K, V> {
    /// Room for this many results.
    #[must_use]
    pub fn with_room(room: usize) -> Self {
        Self { kept: Vec::new(), room }
    }

    /// Lets go of what is older than so many newest results: twice what one answer looks up, at least a few.
    pub fn fit(&mut self, used: usize) {
        self.kept.truncate((2 * used).max(4));
    }

    /// The newest result whose key is so.
    pub fn seek(&mut self, is: impl Fn(&K) -> bool) -> Option<Stage<V>> {
        let at = self.kept.iter().position(|(key, _)| is(key))?;
        self.kept.get_mut(..=at)?.rotate_right(1);
        self.kept.first().map(|(_, stage)| stage.clone())
    }

    /// A result that is not remembered yet.
    pub fn keep(&mut self, key: K, compute: impl FnOnce(&K) -> V) -> Stage<V> {
        let stage = Stage::new(compute(&key));
        self.kept.insert(0, (key, stage.clone()));
        self.kept.truncate(self.room);
        stage
    }
}

impl<K: PartialEq, V> Memo<K, V> {
    /// The result for a key, computed if it is not remembered.
    pub fn get(&mut self, key: K, compute: impl FnOnce(&K) -> V) -> Stage<V> {
        self.seek(|kept| *kept == key).unwrap_or_else(|| self.keep(key, compute))
    }

    /// The results for several keys, those that are not remembered made on so many threads at most.
    pub fn get_all(&mut self, keys: &[&K], threads: usize, compute: impl Fn(&K) -> V + Sync) -> Vec<Stage<V>>
    where
        K: Clone + Sync,
        V: Send,
    {
        let mut all: Vec<Option<Stage<V>>> = keys.iter().map(|key| self.seek(|kept| kept == *key)).collect();
        let mut missing: Vec<&K> = Vec::new();
        for (key, _) in keys.iter().zip(&all).filter(|(_, found)| found.is_none()) {
            if !missing.contains(key) {
                missing.push(key);
            }
        }
        let made = if missing.is_empty() { Vec::new() } else { made(&missing, threads, |key| compute(key)) };
        let made: Vec<(&K, Stage<V>)> =
            missing.into_iter().zip(made).map(|(key, value)| (key, self.keep(key.clone(), |_| value))).collect();
        for (slot, key) in all.iter_mut().zip(keys).filter(|(slot, _)| slot.is_none()) {
            *slot = made.iter().find(|(own, _)| own == key).map(|(_, stage)| stage.clone());
        }
        all.into_iter().flatten().collect()
    }

    /// The same for a key that is copied only where its result is not remembered.
    pub fn get_of(&mut self, key: &K, compute: impl FnOnce(&K) -> V) -> Stage<V>
    where
        K: Clone,
    {
        self.seek(|kept| kept == key).unwrap_or_else(|| self.keep(key.clone(), compute))
    }
}

/// Whether somebody still waits for what is worked out: always, where nobody said otherwise.
#[derive(Clone, Default)]
pub(super) struct Wanted(Option<Arc<dyn Fn() -> bool + Send + Sync>>);

impl Wanted {
    /// As long as something says so.
    pub(super) fn while_said(is: Arc<dyn Fn() -> bool + Send + Sync>) -> Self {
        Self(Some(is))
    }

    pub(super) fn is(&self) -> bool {
        self.0.as_ref().is_none_or(|is| is())
    }
}
