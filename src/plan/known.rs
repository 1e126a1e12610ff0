//! Known, unknown, absent, computed: an unknown in the plan is written `?` and is never replaced by a default.

use serde::de::value::{BorrowedStrDeserializer, F64Deserializer, StrDeserializer};
use serde::de::{self, Deserialize, Deserializer, IntoDeserializer, Visitor};
use serde::{Serialize, Serializer};

use super::path::FieldPath;

/// A value that exists but may not be known yet; `"?"` in the file.
///
/// `Option<T>` means something else: there may be none.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Known<T> {
    /// Not known (yet).
    #[default]
    Unknown,
    /// Known to be this.
    Is(T),
}

/// What the engine computes: a figure, or the field it waits for.
pub type Figure<T> = Result<T, Missing>;

/// The unknown field that a figure waits for.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Missing(pub FieldPath);

impl<T: Clone> Known<T> {
    /// The value, or the path of this field as what is missing.
    ///
    /// # Errors
    /// [`Missing`] with the path built by `path` when unknown.
    pub fn at(&self, path: impl FnOnce() -> FieldPath) -> Figure<T> {
        match self {
            Self::Unknown => Err(Missing(path())),
            Self::Is(value) => Ok(value.clone()),
        }
    }
}

impl<T> Known<T> {
    /// The value if known.
    pub fn known(&self) -> Option<&T> {
        match self {
            Self::Unknown => None,
            Self::Is(value) => Some(value),
        }
    }
}

impl<T: Serialize> Serialize for Known<T> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Unknown => s.serialize_str("?"),
            Self::Is(value) => value.serialize(s),
        }
    }
}

struct KnownVisitor<T>(std::marker::PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for KnownVisitor<T> {
    type Value = Known<T>;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a value, or \"?\" where it is not known")
    }

    fn visit_str<E: de::Error>(self, s: &str) -> Result<Known<T>, E> {
        if s == "?" { Ok(Known::Unknown) } else { T::deserialize(StrDeserializer::new(s)).map(Known::Is) }
    }

    fn visit_borrowed_str<E: de::Error>(self, s: &'de str) -> Result<Known<T>, E> {
        if s == "?" { Ok(Known::Unknown) } else { T::deserialize(BorrowedStrDeserializer::new(s)).map(Known::Is) }
    }

    fn visit_f64<E: de::Error>(self, x: f64) -> Result<Known<T>, E> {
        let d: F64Deserializer<E> = x.into_deserializer();
        T::deserialize(d).map(Known::Is)
    }

    fn visit_i64<E: de::Error>(self, x: i64) -> Result<Known<T>, E> {
        self.visit_f64(x as f64)
    }

    fn visit_u64<E: de::Error>(self, x: u64) -> Result<Known<T>, E> {
        self.visit_f64(x as f64)
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Known<T> {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(KnownVisitor(std::marker::PhantomData))
    }
}
