//! Edits as text, what a person could type: `runs.W2.gauge = 6 AWG`, `remove runs.W5`.

use std::fmt;

use super::{Edit, Step};
use crate::plan::Plan;
use crate::plan::entry;
use crate::plan::field::{Kind, Rejected, Value};
use crate::plan::format::options;
use crate::plan::path::{FieldPath, Id};
use crate::plan::rules;

impl fmt::Display for Edit {
    /// One line, read back by [`Edit::parse`]. Numbers carry the unit they are stored in.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = |after: &Option<Id>| after.as_ref().map_or("first".to_string(), |id| format!("after {id}"));
        match self {
            Self::Set { at, to } => write!(f, "{at} = {}", value_text(at, to)),
            Self::Insert { list, after, item } => write!(f, "insert {list} {} {}", place(after), one_line(item)),
            Self::Remove { at } => write!(f, "remove {at}"),
            Self::Move { at, after } => write!(f, "move {at} {}", place(after)),
            Self::Rename { at, to } => write!(f, "rename {at} {to}"),
        }
    }
}

/// Ends of field names that say the unit stored, where a bare number would be read in the plan's own.
const STORED: [(&str, &str); 5] = [("_m", " m"), ("_c", " C"), ("_kg", " kg"), ("_nm", " N m"), ("_n", " N")];

/// A value as it is typed, with its stored unit where a bare number would be left to the plan's.
fn value_text(at: &FieldPath, value: &Value) -> String {
    let (_, key) = at.split_last();
    let unit = STORED.iter().find(|(end, _)| key.ends_with(end)).map_or("", |(_, unit)| unit);
    match value {
        Value::Unknown => "?".into(),
        Value::Nothing => String::new(),
        Value::Gauge(g) => g.to_string(),
        Value::Word(w) => (*w).into(),
        Value::Id(id) => id.to_string(),
        Value::Number(x) => format!("{x}{unit}"),
        // Twelve of them.
        Value::Text(t) if !unit.is_empty() => format!("{t}{unit}"),
        Value::Text(t) => {
            let plain =
                t.trim() == t && !t.is_empty() && !t.starts_with('"') && !t.contains(char::is_control) && t != "?";
            if plain { t.clone() } else { options().to_string(t).unwrap_or_default() }
        }
    }
}

/// An item's RON on one line: line breaks outside quotes become blanks, inside quotes their escape.
fn one_line(item: &str) -> String {
    let mut out = String::with_capacity(item.len());
    let (mut quoted, mut escaped) = (false, false);
    for c in item.trim().chars() {
        match c {
            '\n' if quoted => out.push_str("\\n"),
            '\r' if quoted => out.push_str("\\r"),
            '\n' | '\r' => out.push(' '),
            _ => out.push(c),
        }
        if c == '"' && !escaped {
            quoted = !quoted;
        }
        escaped = quoted && c == '\\' && !escaped;
    }
    out
}

const FORMS: &str = "write \"runs.W2.gauge = 6 AWG\", \"remove runs.W5\", \"rename runs.W5 W9\", \
                     \"move runs.W5 after W2\" (or first), or \"insert loads after L3 (...)\"";

impl Edit {
    /// Reads one line as an edit on the plan.
    ///
    /// # Errors
    /// [`Rejected`] names the field or item, what is wrong and what is accepted.
    pub fn parse(plan: &Plan, line: &str) -> Result<Self, Rejected> {
        let line = line.trim();
        let (verb, rest) = line.split_once(' ').unwrap_or((line, ""));
        let rest = rest.trim();
        match verb {
            "remove" => {
                let at = one_word(rest)?;
                item_exists(plan, &at)?;
                Ok(Self::Remove { at })
            }
            "rename" => {
                let (at, to) = rest.split_once(' ').ok_or_else(|| malformed(rest))?;
                let at = FieldPath::new(at);
                item_exists(plan, &at)?;
                let to = to.trim().parse().map_err(|why: String| Rejected::new(at.clone(), why))?;
                Ok(Self::Rename { at, to })
            }
            "move" => {
                let (at, rest) = rest.split_once(' ').ok_or_else(|| malformed(rest))?;
                let at = FieldPath::new(at);
                item_exists(plan, &at)?;
                let (after, rest) = place(&at, rest)?;
                if rest.is_empty() { Ok(Self::Move { at, after }) } else { Err(malformed(rest)) }
            }
            "insert" => {
                let (list, rest) = rest.split_once(' ').ok_or_else(|| malformed(rest))?;
                let list = FieldPath::new(list);
                if plan.list_at(&list).is_none() {
                    return Err(Rejected::new(list, "there is no such list"));
                }
                let (after, item) = place(&list, rest)?;
                if !item.starts_with('(') {
                    return Err(Rejected::new(list, "the item to insert is needed in round brackets"));
                }
                Ok(Self::Insert { list, after, item: item.to_string() })
            }
            _ => {
                let (at, text) = line.split_once('=').ok_or_else(|| malformed(line))?;
                let at = FieldPath::new(at.trim());
                let to = value(plan, &at, text.trim())?;
                Ok(Self::Set { at, to })
            }
        }
    }
}

impl Step {
    /// Reads several lines as one step; each line is read on the plan as the lines before it leave it. Empty
    /// lines are skipped.
    ///
    /// # Errors
    /// [`Rejected`] of the first line that does not read or apply.
    pub fn parse(plan: &Plan, name: &str, lines: &[String]) -> Result<Self, Rejected> {
        let mut plan = plan.clone();
        let mut edits = Vec::new();
        for line in lines.iter().filter(|l| !l.trim().is_empty()) {
            // A rule that the plan does not change yet is changed by naming it.
            let named = line.split_once('=').and_then(|(at, _)| rules::rule_at(&FieldPath::new(at.trim())));
            if let Some(made) = named.and_then(|rule| rules::change(&plan, rule)) {
                plan.apply(&made)?;
                edits.push(made);
            }
            let edit = Edit::parse(&plan, line)?;
            plan.apply(&edit)?;
            edits.push(edit);
        }
        Ok(Self { name: name.into(), edits })
    }
}

fn malformed(text: &str) -> Rejected {
    Rejected::new(text, FORMS)
}

fn one_word(text: &str) -> Result<FieldPath, Rejected> {
    if text.is_empty() || text.contains(' ') { Err(malformed(text)) } else { Ok(FieldPath::new(text)) }
}

fn item_exists(plan: &Plan, at: &FieldPath) -> Result<(), Rejected> {
    plan.locate_item(at).map(|_| ())
}

/// `first` or `after ID`, and what follows.
fn place<'a>(at: &FieldPath, text: &'a str) -> Result<(Option<Id>, &'a str), Rejected> {
    let (word, rest) = text.trim().split_once(' ').unwrap_or((text.trim(), ""));
    match word {
        "first" => Ok((None, rest.trim())),
        "after" => {
            let (id, rest) = rest.trim().split_once(' ').unwrap_or((rest.trim(), ""));
            let id = id.parse().map_err(|why: String| Rejected::new(at.clone(), why))?;
            Ok((Some(id), rest.trim()))
        }
        _ => Err(Rejected::new(at.clone(), "\"first\" or \"after\" and the name of an item is needed")),
    }
}

/// A value as typed; text fields may be quoted, which keeps blanks at the ends and line breaks.
fn value(plan: &Plan, at: &FieldPath, text: &str) -> Result<Value, Rejected> {
    let quotable = plan.meta(at).is_some_and(|m| matches!(m.kind, Kind::Text | Kind::Lines) && !m.unknown);
    if quotable && text.starts_with('"') {
        return match options().from_str::<String>(text) {
            Ok(t) => Ok(Value::Text(t)),
            Err(e) => Err(Rejected::new(at.clone(), format!("the quoted text does not read: {e}"))),
        };
    }
    entry::parse(plan, at, text).map(|parsed| parsed.value)
}
