//! Records to and from serde, by their tables: one piece of code for every struct of the document.
//!
//! Working through [`Record`] instead of a derive per struct keeps the program small and quick to build, and lets
//! every refusal name what the field accepts.

use std::fmt;

use serde::de::{self, DeserializeSeed, Deserializer, MapAccess, SeqAccess, Visitor};
use serde::ser::{Serialize, SerializeSeq, SerializeStruct, Serializer};

use super::field::{Kind, List, Meta, Record, Value};
use super::path::Id;

/// Writes a record: its id, fields, parts and lists, in the order of its table; what it leaves out stays out.
///
/// # Errors
/// Whatever the serializer says.
pub fn write<S: Serializer>(record: &dyn Record, s: S) -> Result<S::Ok, S::Error> {
    let metas = record.metas();
    let lists = record.list_names();
    let written_lists = lists.iter().filter(|l| record.list(l).is_some_and(|l| !l.is_empty())).count();
    let written = metas.iter().filter(|m| !record.left_out(m.key)).count();
    let count = usize::from(record.item_id().is_some()) + written + record.part_names().len() + written_lists;
    let mut out = s.serialize_struct("Record", count)?;
    if let Some(id) = record.item_id() {
        out.serialize_field("id", id)?;
    }
    for meta in metas {
        if !record.left_out(meta.key)
            && let Some(value) = record.get(meta.key)
        {
            out.serialize_field(meta.key, &Leaf(meta, value))?;
        }
    }
    for part in record.part_names() {
        if let Some(inner) = record.part(part) {
            out.serialize_field(part, &Whole(inner))?;
        }
    }
    for name in lists {
        if let Some(list) = record.list(name).filter(|l| !l.is_empty()) {
            out.serialize_field(name, &Items(list))?;
        }
    }
    out.end()
}

/// A record to be written.
pub(super) struct Whole<'a>(pub(super) &'a dyn Record);

impl Serialize for Whole<'_> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        write(self.0, s)
    }
}

struct Items<'a>(&'a dyn List);

impl Serialize for Items<'_> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut seq = s.serialize_seq(Some(self.0.len()))?;
        for i in 0..self.0.len() {
            if let Some(item) = self.0.at(i) {
                seq.serialize_element(&Whole(item))?;
            }
        }
        seq.end()
    }
}

struct Leaf<'a>(&'a Meta, Value);

impl Serialize for Leaf<'_> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        match (&self.1, self.0.kind) {
            (Value::Unknown, _) => s.serialize_str("?"),
            (Value::Nothing, _) => s.serialize_none(),
            (Value::Text(text), Kind::Lines) => s.collect_seq(text.split('\n')),
            (Value::Text(text), _) => s.serialize_str(text),
            (Value::Number(x), _) => s.serialize_f64(*x),
            (Value::Gauge(g), _) => s.collect_str(g),
            (Value::Word(word), _) => s.serialize_str(word),
            (Value::Id(id), _) => id.serialize(s),
        }
    }
}

/// Reads a record into one that holds its defaults: names may stand in any order, each once; a name that is not in
/// the table is refused.
///
/// # Errors
/// What is wrong and what is accepted, placed by the deserializer.
pub fn read<'de, D: Deserializer<'de>>(
    record: &mut dyn Record,
    keys: &'static [&'static str],
    d: D,
) -> Result<(), D::Error> {
    d.deserialize_struct("Record", keys, Fields(record))
}

/// A record to be read into.
pub(super) struct Fields<'a>(pub(super) &'a mut dyn Record);

impl<'de> DeserializeSeed<'de> for Fields<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<(), D::Error> {
        let keys = self.0.keys();
        read(self.0, keys, d)
    }
}

impl<'de> Visitor<'de> for Fields<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a {} in parentheses", self.0.what())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let record = self.0;
        let keys = record.keys();
        let mut seen = vec![false; keys.len()];
        while let Some(key) = map.next_key_seed(Key)? {
            let Some(place) = keys.iter().position(|k| *k == key) else {
                return Err(de::Error::unknown_field(&key, keys));
            };
            let name = keys.get(place).copied().unwrap_or_default();
            if std::mem::replace(seen.get_mut(place).unwrap_or(&mut false), true) {
                return Err(de::Error::duplicate_field(name));
            }
            if let Some(meta) = record.metas().into_iter().find(|m| m.key == name) {
                let value = map.next_value_seed(Field(meta))?;
                record.set(name, value).map_err(de::Error::custom)?;
            } else if record.part_names().contains(&name) {
                if let Some(part) = record.part_mut(name) {
                    map.next_value_seed(Fields(part))?;
                }
            } else if let Some(list) = record.list_mut(name) {
                map.next_value_seed(Elements(list))?;
            } else {
                let id: Id = map.next_value()?;
                record.set_item_id(id);
            }
        }
        Ok(())
    }
}

struct Elements<'a>(&'a mut dyn List);

impl<'de> DeserializeSeed<'de> for Elements<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<(), D::Error> {
        d.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Elements<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list in brackets")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        let list = self.0;
        loop {
            let index = list.len();
            list.push_blank();
            let Some(item) = list.at_mut(index) else { return Ok(()) };
            if seq.next_element_seed(Fields(item))?.is_none() {
                list.remove(index);
                return Ok(());
            }
        }
    }
}

struct Key;

impl<'de> DeserializeSeed<'de> for Key {
    type Value = String;
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<String, D::Error> {
        d.deserialize_identifier(self)
    }
}

impl Visitor<'_> for Key {
    type Value = String;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a field name")
    }
    fn visit_str<E: de::Error>(self, s: &str) -> Result<String, E> {
        Ok(s.to_string())
    }
}

/// One field's value, by its kind.
struct Field(&'static Meta);

impl<'de> DeserializeSeed<'de> for Field {
    type Value = Value;
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Value, D::Error> {
        match self.0.kind {
            Kind::Lines => d.deserialize_seq(self),
            _ if self.0.absent => d.deserialize_option(self),
            _ => d.deserialize_any(self),
        }
    }
}

impl Field {
    fn number<E: de::Error>(&self, x: f64) -> Result<Value, E> {
        match self.0.kind {
            Kind::Number { .. } if x.is_finite() => Ok(Value::Number(x)),
            Kind::Number { .. } => Err(E::custom("a finite number is needed here")),
            _ => Err(self.refuse(&format!("the number {x}"))),
        }
    }

    fn refuse<E: de::Error>(&self, found: &str) -> E {
        E::custom(format!("{found} does not belong here; {}", self.accepted()))
    }

    fn accepted(&self) -> String {
        let unknown = if self.0.unknown { ", or \"?\" where it is not known" } else { "" };
        let what = match self.0.kind {
            Kind::Number { .. } => "a number".to_string(),
            Kind::Words(words) => format!("one of these in quotes: {}", words.join(", ")),
            Kind::Gauge => "a gauge in quotes such as \"10 AWG\" or \"16 mm2\"".into(),
            Kind::Ref(_) => "the name of an item in quotes".into(),
            Kind::Lines => "lines of text in brackets".into(),
            Kind::Monthly { .. } => {
                "twelve numbers, January first, in one pair of quotes: \"1 2 3 4 5 6 6 5 4 3 2 1\"".into()
            }
            Kind::Months => "months in quotes such as \"all\" or \"11 12 1 2\"".into(),
            Kind::Strings => "strings of panels in quotes such as \"2S1P P1\"".into(),
            Kind::Text => "text in quotes".into(),
        };
        format!("write {what}{unknown}")
    }
}

impl<'de> Visitor<'de> for Field {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.accepted().trim_start_matches("write "))
    }

    fn visit_none<E: de::Error>(self) -> Result<Value, E> {
        Ok(Value::Nothing)
    }

    fn visit_some<D: Deserializer<'de>>(self, d: D) -> Result<Value, D::Error> {
        d.deserialize_any(self)
    }

    fn visit_f64<E: de::Error>(self, x: f64) -> Result<Value, E> {
        self.number(x)
    }

    fn visit_i64<E: de::Error>(self, x: i64) -> Result<Value, E> {
        self.number(x as f64)
    }

    fn visit_u64<E: de::Error>(self, x: u64) -> Result<Value, E> {
        self.number(x as f64)
    }

    fn visit_bool<E: de::Error>(self, x: bool) -> Result<Value, E> {
        Err(self.refuse(&format!("{x} without quotes")))
    }

    fn visit_unit<E: de::Error>(self) -> Result<Value, E> {
        Err(self.refuse("a word without quotes"))
    }

    fn visit_str<E: de::Error>(self, s: &str) -> Result<Value, E> {
        if s == "?" && self.0.unknown {
            return Ok(Value::Unknown);
        }
        match self.0.kind {
            Kind::Words(words) => match words.iter().find(|w| **w == s) {
                Some(word) => Ok(Value::Word(word)),
                None => Err(E::custom(format!("{s:?} is none of: {}", words.join(", ")))),
            },
            Kind::Gauge => s.parse().map(Value::Gauge).map_err(E::custom),
            Kind::Ref(_) => s.parse().map(Value::Id).map_err(E::custom),
            Kind::Number { .. } => Err(self.refuse(&format!("the text {s:?}"))),
            Kind::Lines | Kind::Text | Kind::Months | Kind::Monthly { .. } | Kind::Strings => {
                Ok(Value::Text(s.to_string()))
            }
        }
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Value, A::Error> {
        if !matches!(self.0.kind, Kind::Lines | Kind::Text) {
            return Err(self.refuse("a list in brackets"));
        }
        let mut lines: Vec<String> = Vec::new();
        while let Some(line) = seq.next_element()? {
            lines.push(line);
        }
        Ok(Value::Text(lines.join("\n")))
    }
}
