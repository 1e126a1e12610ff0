//! Remembered stages: same input, no work.

use std::sync::Arc;

/// A stage's result. Two are equal when they are the same computation, so a key can hold upstream results.
#[derive(Debug)]
pub struct Stage<T>(Arc<T>);

impl<T> Stage<T> {
    /// A result.
    pub fn new(value: T) -> Self {
        Self(Arc::new(value))
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

impl<K: PartialEq, V> Memo<K, V> {
    /// Room for this many results.
    #[must_use]
    pub fn with_room(room: usize) -> Self {
        Self { kept: Vec::new(), room }
    }

    /// The result for a key, computed if it is not remembered.
    pub fn get(&mut self, key: K, compute: impl FnOnce(&K) -> V) -> Stage<V> {
        if let Some(i) = self.kept.iter().position(|(k, _)| *k == key) {
            let entry = self.kept.remove(i);
            let stage = entry.1.clone();
            self.kept.insert(0, entry);
            return stage;
        }
        let stage = Stage::new(compute(&key));
        self.kept.insert(0, (key, stage.clone()));
        self.kept.truncate(self.room);
        stage
    }
}
