//! The field table: one row per editable field, and the generic walk over any part of the plan.
//!
//! Forms, `--set`, validation, help and labels all derive from the rows.

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::known::Known;
use super::path::{FieldPath, Id};
use crate::standards::Source;
use crate::standards::conductor::Gauge;
use crate::units::{
    AmpHours, Amps, Celsius, Hours, Kilograms, Metres, Number, Ohms, SquareMm, Volts, WattHours, Watts,
};

/// A field's value, whatever its type.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// There is one, not known: `?`.
    Unknown,
    /// There is none.
    Nothing,
    /// Free text.
    Text(String),
    /// A number in the field's own unit.
    Number(f64),
    /// A conductor size.
    Gauge(Gauge),
    /// One of the field's words.
    Word(&'static str),
    /// The name of another item.
    Id(Id),
}

/// What a number measures: decides the units that can be typed and how it is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Lengths along the coach and its wires; stored in metres, shown in feet or metres.
    Length,
    /// Sizes of things; stored in metres, shown in inches or millimetres.
    Size,
    /// Stored in degrees Celsius.
    Temperature,
    Volts,
    Amps,
    Watts,
    WattHours,
    AmpHours,
    Ohms,
    Milliohms,
    Hours,
    /// Stored in kilograms.
    Mass,
    /// A whole number.
    Count,
    Percent,
    /// Temperature coefficient, percent per kelvin (also typed as mV/K or V/K where the label's volts are known).
    PercentPerK,
    MillivoltsPerK,
    /// An angle.
    Degrees,
    MetresPerSecond,
    NewtonMetres,
    /// Stored in newtons.
    Newtons,
    /// Watts per square metre.
    Irradiance,
    Money,
    /// A plain number.
    Plain,
    /// Stored as 1 or 0.
    OnOff,
    Years,
}

/// What a field accepts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// Free text on one line.
    Text,
    /// A number between two bounds, in the stored unit.
    Number { quantity: Quantity, least: f64, most: f64 },
    /// A conductor size.
    Gauge,
    /// One of a list.
    Words(&'static [&'static str]),
    /// The name of an item of one of these lists (or parts).
    Ref(&'static [&'static str]),
    /// Months of the year: `Nov-Mar`, `all`.
    Months,
    /// Twelve numbers, January first.
    Monthly { quantity: Quantity, least: f64, most: f64 },
    /// Strings of panels: `3S2P P1`, or `P1+P1|P1+P2`.
    Strings,
    /// Edits, one a line.
    Lines,
}

/// Why a value or an edit was refused: the field, and what is accepted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{at}: {why}")]
pub struct Rejected {
    /// The field or item.
    pub at: FieldPath,
    /// What is wrong and what is accepted.
    pub why: String,
}

impl Rejected {
    /// A refusal at a path.
    pub fn new(at: impl Into<FieldPath>, why: impl Into<String>) -> Self {
        Self { at: at.into(), why: why.into() }
    }
}

/// What is the same for every item that has this field.
#[derive(Debug)]
pub struct Meta {
    /// Name in the file and in paths.
    pub key: &'static str,
    /// Name on screen.
    pub label: &'static str,
    pub kind: Kind,
    /// One or two sentences.
    pub help: &'static str,
    /// Where the help's claim comes from.
    pub source: &'static Source,
    /// Whether `?` is legal.
    pub unknown: bool,
    /// Whether the field may be absent.
    pub absent: bool,
}

/// One row of a field table.
pub struct Row<T: 'static> {
    pub meta: Meta,
    pub get: fn(&T) -> Value,
    pub set: fn(&mut T, Value) -> Result<(), String>,
}

/// A value type that can stand in a field.
pub trait Leaf: Sized {
    /// Whether `?` is legal.
    const UNKNOWN: bool = false;
    /// Whether absence is legal.
    const ABSENT: bool = false;
    /// As a [`Value`].
    fn to_value(&self) -> Value;
    /// From a [`Value`].
    ///
    /// # Errors
    /// A sentence saying what is accepted.
    fn from_value(value: Value) -> Result<Self, String>;
    /// Whether the file leaves it out.
    fn left_out(&self) -> bool {
        false
    }
}

macro_rules! number_leaves {
    ($($t:ident)*) => {$(
        impl Leaf for $t {
            fn to_value(&self) -> Value { Value::Number(self.0) }
            fn from_value(value: Value) -> Result<Self, String> {
                match value {
                    Value::Number(x) if x.is_finite() => Ok(Self(x)),
                    _ => Err("a number is needed here".into()),
                }
            }
        }
    )*};
}
number_leaves! { Volts Amps Ohms Watts WattHours AmpHours Metres SquareMm Celsius Hours Kilograms Number }

impl<T: Leaf> Leaf for Known<T> {
    const UNKNOWN: bool = true;
    fn to_value(&self) -> Value {
        match self {
            Self::Unknown => Value::Unknown,
            Self::Is(t) => t.to_value(),
        }
    }
    fn from_value(value: Value) -> Result<Self, String> {
        match value {
            Value::Unknown => Ok(Self::Unknown),
            other => T::from_value(other).map(Self::Is),
        }
    }
}

impl<T: Leaf> Leaf for Option<T> {
    const UNKNOWN: bool = T::UNKNOWN;
    const ABSENT: bool = true;
    fn to_value(&self) -> Value {
        self.as_ref().map_or(Value::Nothing, T::to_value)
    }
    fn from_value(value: Value) -> Result<Self, String> {
        match value {
            Value::Nothing => Ok(None),
            other => T::from_value(other).map(Some),
        }
    }
    fn left_out(&self) -> bool {
        self.is_none()
    }
}

impl Leaf for String {
    fn to_value(&self) -> Value {
        Value::Text(self.clone())
    }
    fn from_value(value: Value) -> Result<Self, String> {
        match value {
            Value::Text(s) => Ok(s),
            Value::Nothing => Ok(Self::new()),
            _ => Err("text is needed here".into()),
        }
    }
    fn left_out(&self) -> bool {
        self.is_empty()
    }
}

impl Leaf for Gauge {
    fn to_value(&self) -> Value {
        Value::Gauge(*self)
    }
    fn from_value(value: Value) -> Result<Self, String> {
        match value {
            Value::Gauge(g) => Ok(g),
            _ => Err("a conductor size is needed here".into()),
        }
    }
}

impl Leaf for Id {
    fn to_value(&self) -> Value {
        Value::Id(self.clone())
    }
    fn from_value(value: Value) -> Result<Self, String> {
        match value {
            Value::Id(id) => Ok(id),
            Value::Text(text) => text.parse(),
            _ => Err("the name of an item is needed here".into()),
        }
    }
}

/// Lets choices made with [`crate::words!`] stand in fields.
#[macro_export]
macro_rules! word_leaves {
    ($($t:ty),* $(,)?) => {$(
        impl $crate::plan::field::Leaf for $t {
            fn to_value(&self) -> $crate::plan::field::Value { $crate::plan::field::Value::Word(self.word()) }
            fn from_value(value: $crate::plan::field::Value) -> Result<Self, String> {
                match value {
                    $crate::plan::field::Value::Word(w) => w.parse(),
                    _ => Err(format!("one of: {}", Self::WORDS.join(", "))),
                }
            }
        }
    )*};
}

/// A struct with a field table, parts (single sub-structs) and lists: any node of the plan.
pub trait Record {
    /// What it is, in a word: `run`, `leg`.
    fn what(&self) -> &'static str;
    /// Every name in the file, in its order: `id` of an item, fields, parts, lists.
    fn keys(&self) -> &'static [&'static str];
    /// The identity, where it is a list item.
    fn item_id(&self) -> Option<&Id> {
        None
    }
    /// Gives a list item its identity.
    fn set_item_id(&mut self, _: Id) {}
    /// Whether the file leaves a field out as it stands.
    fn left_out(&self, key: &str) -> bool;
    /// The fixed side of every row, in the order of the file.
    fn metas(&self) -> Vec<&'static Meta>;
    /// A field's value by key.
    fn get(&self, key: &str) -> Option<Value>;
    /// Sets a field by key.
    ///
    /// # Errors
    /// A sentence saying what is accepted.
    fn set(&mut self, key: &str, value: Value) -> Result<(), String>;
    /// Names of the single sub-structs.
    fn part_names(&self) -> &'static [&'static str];
    fn part(&self, name: &str) -> Option<&dyn Record>;
    fn part_mut(&mut self, name: &str) -> Option<&mut dyn Record>;
    /// Names of the lists.
    fn list_names(&self) -> &'static [&'static str];
    fn list(&self, name: &str) -> Option<&dyn List>;
    fn list_mut(&mut self, name: &str) -> Option<&mut dyn List>;
}

/// A record that stands in a list.
pub trait Item: Record + Serialize + DeserializeOwned + Clone + Default + 'static {
    /// What a generated id starts with.
    const PREFIX: &'static str;
    fn id(&self) -> &Id;
    fn set_id(&mut self, id: Id);
}

/// A list of items, whatever their type.
pub trait List {
    fn len(&self) -> usize;
    fn is_empty(&self) -> bool {
        self.len() == 0
    }
    fn id_at(&self, index: usize) -> Option<&Id>;
    fn position(&self, id: &str) -> Option<usize> {
        (0..self.len()).find(|i| self.id_at(*i).is_some_and(|x| x.as_str() == id))
    }
    fn at(&self, index: usize) -> Option<&dyn Record>;
    fn at_mut(&mut self, index: usize) -> Option<&mut dyn Record>;
    /// What a generated id starts with.
    fn prefix(&self) -> &'static str;
    fn set_id(&mut self, index: usize, id: Id);
    /// Inserts an item given as RON.
    ///
    /// # Errors
    /// What is wrong with the text.
    fn insert_ron(&mut self, index: usize, ron: &str) -> Result<(), String>;
    /// An item as RON.
    fn ron_at(&self, index: usize) -> Option<String>;
    /// A blank item of this list as RON, with the id given.
    fn blank_ron(&self, id: Id) -> String;
    fn remove(&mut self, index: usize);
    /// Appends a blank item.
    fn push_blank(&mut self);
    /// Moves an item; `to` counts in the list without it.
    fn move_item(&mut self, from: usize, to: usize);
}

impl<T: Item> List for Vec<T> {
    fn len(&self) -> usize {
        self.len()
    }
    fn id_at(&self, index: usize) -> Option<&Id> {
        self.get(index).map(Item::id)
    }
    fn at(&self, index: usize) -> Option<&dyn Record> {
        self.get(index).map(|t| t as &dyn Record)
    }
    fn at_mut(&mut self, index: usize) -> Option<&mut dyn Record> {
        self.get_mut(index).map(|t| t as &mut dyn Record)
    }
    fn prefix(&self) -> &'static str {
        T::PREFIX
    }
    fn set_id(&mut self, index: usize, id: Id) {
        if let Some(item) = self.get_mut(index) {
            item.set_id(id);
        }
    }
    fn insert_ron(&mut self, index: usize, ron: &str) -> Result<(), String> {
        let mut item = T::default();
        super::format::read_item(&mut item, ron)?;
        self.insert(index.min(self.len()), item);
        Ok(())
    }
    fn ron_at(&self, index: usize) -> Option<String> {
        self.get(index).map(|item| super::format::item_text(item))
    }
    fn blank_ron(&self, id: Id) -> String {
        let mut item = T::default();
        item.set_id(id);
        super::format::item_text(&item)
    }
    fn push_blank(&mut self) {
        self.push(T::default());
    }
    fn remove(&mut self, index: usize) {
        if index < self.len() {
            self.remove(index);
        }
    }
    fn move_item(&mut self, from: usize, to: usize) {
        if from < self.len() {
            let item = self.remove(from);
            self.insert(to.min(self.len()), item);
        }
    }
}

/// Declares a node of the plan: its struct, serde form, defaults, field table, parts and lists.
///
/// `item "X"` makes it a list item with an `id` whose generated form starts with X.
#[macro_export]
macro_rules! record {
    (
        $(#[$doc:meta])*
        $name:ident $what:literal $(item $prefix:literal)? {
            $($key:ident : $ty:ty $(= $default:expr)? => $label:literal, $kind:expr, $help:literal, $source:expr;)*
        }
        $(parts { $($part:ident : $pty:ty),* $(,)? })?
        $(lists { $($list:ident : $lty:ty),* $(,)? })?
    ) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq)]
        pub struct $name {
            $(#[doc = concat!("Generated ids start with `", $prefix, "`.")] pub id: $crate::plan::path::Id,)?
            $(#[doc = $help] pub $key: $ty,)*
            $($(pub $part: $pty,)*)?
            $($(pub $list: Vec<$lty>,)*)?
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                $crate::plan::wire_form::write(self, s)
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                let mut record = Self::default();
                $crate::plan::wire_form::read(&mut record, Self::KEYS, d)?;
                Ok(record)
            }
        }

        impl Default for $name {
            fn default() -> Self {
                Self {
                    $(id: $crate::plan::blank_id($prefix),)?
                    $($key: $crate::record!(@default $($default)?),)*
                    $($($part: Default::default(),)*)?
                    $($($list: Vec::new(),)*)?
                }
            }
        }

        impl $name {
            /// Every name in the file, in its order.
            pub const KEYS: &'static [&'static str] = &[
                $($crate::record!(@id $prefix),)? $(stringify!($key),)* $($(stringify!($part),)*)? $($(stringify!($list),)*)?
            ];

            /// The field table.
            pub const ROWS: &'static [$crate::plan::field::Row<Self>] = &[$(
                $crate::plan::field::Row {
                    meta: $crate::plan::field::Meta {
                        key: stringify!($key), label: $label, kind: $kind, help: $help, source: $source,
                        unknown: <$ty as $crate::plan::field::Leaf>::UNKNOWN,
                        absent: <$ty as $crate::plan::field::Leaf>::ABSENT,
                    },
                    get: |t: &Self| $crate::plan::field::Leaf::to_value(&t.$key),
                    set: |t: &mut Self, v| { t.$key = $crate::plan::field::Leaf::from_value(v)?; Ok(()) },
                },
            )*];
        }

        impl $crate::plan::field::Record for $name {
            fn what(&self) -> &'static str { $what }
            fn keys(&self) -> &'static [&'static str] { Self::KEYS }
            $(
                fn item_id(&self) -> Option<&$crate::plan::path::Id> { let _ = $prefix; Some(&self.id) }
                fn set_item_id(&mut self, id: $crate::plan::path::Id) { let _ = $prefix; self.id = id; }
            )?
            fn left_out(&self, key: &str) -> bool {
                match key { $(stringify!($key) => $crate::plan::field::Leaf::left_out(&self.$key),)* _ => false }
            }
            fn metas(&self) -> Vec<&'static $crate::plan::field::Meta> { Self::ROWS.iter().map(|r| &r.meta).collect() }
            fn get(&self, key: &str) -> Option<$crate::plan::field::Value> {
                Self::ROWS.iter().find(|r| r.meta.key == key).map(|r| (r.get)(self))
            }
            fn set(&mut self, key: &str, value: $crate::plan::field::Value) -> Result<(), String> {
                match Self::ROWS.iter().find(|r| r.meta.key == key) {
                    Some(row) => (row.set)(self, value),
                    None => Err(format!("a {} has no field {key:?}", $what)),
                }
            }
            fn part_names(&self) -> &'static [&'static str] { &[$($(stringify!($part)),*)?] }
            fn part(&self, name: &str) -> Option<&dyn $crate::plan::field::Record> {
                match name { $($(stringify!($part) => Some(&self.$part),)*)? _ => None }
            }
            fn part_mut(&mut self, name: &str) -> Option<&mut dyn $crate::plan::field::Record> {
                match name { $($(stringify!($part) => Some(&mut self.$part),)*)? _ => None }
            }
            fn list_names(&self) -> &'static [&'static str] { &[$($(stringify!($list)),*)?] }
            fn list(&self, name: &str) -> Option<&dyn $crate::plan::field::List> {
                match name { $($(stringify!($list) => Some(&self.$list),)*)? _ => None }
            }
            fn list_mut(&mut self, name: &str) -> Option<&mut dyn $crate::plan::field::List> {
                match name { $($(stringify!($list) => Some(&mut self.$list),)*)? _ => None }
            }
        }

        $(
            impl $crate::plan::field::Item for $name {
                const PREFIX: &'static str = $prefix;
                fn id(&self) -> &$crate::plan::path::Id { &self.id }
                fn set_id(&mut self, id: $crate::plan::path::Id) { self.id = id; }
            }
        )?
    };
    (@id $prefix:literal) => { "id" };
    (@default $default:expr) => { $default };
    (@default) => { Default::default() };
}
