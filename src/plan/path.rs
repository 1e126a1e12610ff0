//! Names of things and of fields: `runs.W2.legs.L1.length_m`.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// The identity of a list item: letters, digits, `-`, `_`, `+`; starts with a letter or digit; at most 24 long.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Id(Arc<str>);

impl Id {
    /// The first generated name of a list.
    pub(crate) fn blank(prefix: &str) -> Self {
        Self::numbered(prefix, 1)
    }

    /// A generated name: the list's prefix and a number.
    pub(crate) fn numbered(prefix: &str, n: usize) -> Self {
        Self(Arc::from(format!("{prefix}{n}")))
    }

    /// The text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&*self.0, f)
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl FromStr for Id {
    type Err = String;

    fn from_str(s: &str) -> Result<Self, String> {
        let allowed = |c: char| c.is_ascii_alphanumeric() || "-_+".contains(c);
        if s.is_empty()
            || s.len() > 24
            || !s.chars().all(allowed)
            || !s.starts_with(|c: char| c.is_ascii_alphanumeric())
        {
            return Err(format!(
                "{s:?} cannot be a name here: 1 to 24 of a-z, A-Z, digits, - _ or +, the first a letter or digit"
            ));
        }
        Ok(Self(Arc::from(s)))
    }
}

impl Serialize for Id {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(&self.0)
    }
}

impl<'de> Deserialize<'de> for Id {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let s = <std::borrow::Cow<'de, str>>::deserialize(d)?;
        s.parse().map_err(serde::de::Error::custom)
    }
}

/// The dotted path of a field, a list item or a list.
///
/// A field is `part.field` or `list.id[.list.id][.part].field`.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FieldPath(Box<str>);

/// The path of a list item: `runs.W2`.
pub type ItemPath = FieldPath;

/// The path of a list: `runs`, `runs.W2.legs`.
pub type ListPath = FieldPath;

impl FieldPath {
    /// A path from its text.
    pub fn new(text: impl Into<Box<str>>) -> Self {
        Self(text.into())
    }

    /// A path of these parts.
    #[must_use]
    pub fn of(parts: &[&str]) -> Self {
        Self(parts.join(".").into())
    }

    /// The text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The segments.
    pub fn segments(&self) -> impl Iterator<Item = &str> {
        self.0.split('.').filter(|s| !s.is_empty())
    }

    /// This path with one more segment (or several, dotted).
    #[must_use]
    pub fn join(&self, next: impl fmt::Display) -> Self {
        if self.0.is_empty() { Self(next.to_string().into()) } else { Self(format!("{}.{next}", self.0).into()) }
    }

    /// The path without its last segment, and the last segment.
    #[must_use]
    pub fn split_last(&self) -> (Self, &str) {
        match self.0.rsplit_once('.') {
            Some((head, last)) => (Self(head.into()), last),
            None => (Self("".into()), &self.0),
        }
    }

    /// Whether `self` is `other` or lies below it.
    #[must_use]
    pub fn is_within(&self, other: &Self) -> bool {
        other.0.is_empty()
            || self.0.strip_prefix(&*other.0).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    }
}

impl fmt::Debug for FieldPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&*self.0, f)
    }
}

impl fmt::Display for FieldPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl From<&str> for FieldPath {
    fn from(s: &str) -> Self {
        Self::new(s)
    }
}

impl From<String> for FieldPath {
    fn from(s: String) -> Self {
        Self::new(s)
    }
}
