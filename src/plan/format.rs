//! The file format: RON, strict, version first.
//!
//! Reading is: size, version (alone, so that a newer file says so), parse, then every value through its row's
//! bounds. Every refusal has a place and says what is accepted. References to nothing and duplicate ids load: they
//! are findings.

use std::collections::HashMap;
use std::fmt;

use ron::Options;
use ron::error::{Error, SpannedError};
use ron::extensions::Extensions;
use ron::ser::PrettyConfig;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::edit::first_out_of_bounds;
use super::field::Record;
use super::locate::{first_field, line_column, path_at, places};
use super::path::FieldPath;
use super::wire_form::{Fields, Whole};
use super::{ENDS, Plan};

pub use super::locate::locate;

/// The version of the format that this program writes.
pub const VERSION: u32 = 1;

/// No plan is larger than this; larger text is refused before it is parsed.
pub const LARGEST_TEXT: usize = 4 * 1024 * 1024;

/// Most names that stand twice are said of one file.
const MOST_DOUBLED: usize = 20;

/// Brings a file one version up. The first one will lead from version 1 to 2.
type Migration = fn(&str) -> Result<String, String>;
const MIGRATIONS: &[Migration] = &[];

/// How RON is read and written here.
#[must_use]
pub fn options() -> Options {
    Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// Reads an item into a blank one.
///
/// # Errors
/// What is wrong with the text.
pub(super) fn read_item(item: &mut dyn Record, text: &str) -> Result<(), String> {
    options().from_str_seed(text, Fields(item)).map_err(|e| e.to_string())
}

/// One item on one line.
pub fn item_text(item: &dyn Record) -> String {
    options()
        .to_string_pretty(&Whole(item), PrettyConfig::new().depth_limit(0).extensions(Extensions::empty()))
        .unwrap_or_default()
}

/// Why a text is no plan: where, which field, what is wrong and what is accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LoadError {
    /// From 1.
    pub line: usize,
    /// From 1, in characters.
    pub column: usize,
    pub field: Option<FieldPath>,
    pub message: String,
}

impl std::error::Error for LoadError {}

impl fmt::Display for LoadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: ", self.line, self.column)?;
        if let Some(field) = &self.field {
            write!(f, "{field}: ")?;
        }
        f.write_str(&self.message)
    }
}

impl LoadError {
    fn at(text: &str, byte: usize, field: Option<FieldPath>, message: impl Into<String>) -> Self {
        let (line, column) = line_column(text, byte);
        Self { line, column, field, message: message.into() }
    }
}

impl Plan {
    /// Reads a plan.
    ///
    /// # Errors
    /// [`LoadError`] with line, column and field.
    pub fn from_text(text: &str) -> Result<Self, LoadError> {
        read(text, "a plan")
    }

    /// The plan as the text of its file.
    #[must_use]
    pub fn to_text(&self) -> String {
        write(self)
    }
}

/// As [`read`], of a file in which every name stands once: what is edited goes by the name.
///
/// # Errors
/// [`LoadError`] with line, column and field; the first name that stands twice among them.
pub fn read_single<T: Record + DeserializeOwned>(text: &str, what: &str) -> Result<T, LoadError> {
    let whole = read(text, what)?;
    match doubled(text).into_iter().next() {
        Some(twice) => Err(twice),
        None => Ok(whole),
    }
}

/// Names that stand twice in the text of a plan, where one name has to be one thing: with the place of the second. Such a
/// plan reads, its references mean the first, and nothing is lost. The first few are enough to say.
#[must_use]
pub fn doubled(text: &str) -> Vec<LoadError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let found = places(text);
    let mut lists: HashMap<Option<usize>, String> = HashMap::new();
    let mut seen: HashMap<(&str, &str), usize> = HashMap::new();
    let mut twice = Vec::new();
    for (_, within, ..) in found.with_id() {
        lists.entry(within).or_insert_with(|| within.map_or_else(String::new, |list| found.slot(list)));
    }
    for (item, within, id, at) in found.with_id() {
        let list = lists.get(&within).map_or("", String::as_str);
        if matches!(list, "rules" | "accepted") {
            continue;
        }
        // What a run can end on has its name once in the whole plan; anything else once in its list.
        let room = if ENDS.contains(&list) { "" } else { list };
        let bank = room.is_empty() && matches!(id, "BK" | "BK+" | "BK-");
        let whose = match seen.get(&(room, id)) {
            Some(first) => format!("the one of line {}", line_column(text, *first).0),
            None if bank => "the bank".into(),
            None => {
                seen.insert((room, id), at);
                continue;
            }
        };
        let message = format!("a second {id}: what names {id} means {whose}; give this one a name of its own");
        if twice.len() >= MOST_DOUBLED {
            break;
        }
        twice.push(LoadError::at(text, at, Some(FieldPath::new(found.path(item))), message));
    }
    twice
}

/// Reads any document of records: version first, unknown fields refused, every value within its bounds.
///
/// # Errors
/// [`LoadError`] with line, column and field.
pub fn read<T: Record + DeserializeOwned>(text: &str, what: &str) -> Result<T, LoadError> {
    if text.len() > LARGEST_TEXT {
        return Err(LoadError::at(
            text,
            0,
            None,
            format!("{} bytes is too large for {what}; at most 4 MiB", text.len()),
        ));
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (version, at) = version(text, what)?;
    if version.number > VERSION {
        let number = version.number;
        let message =
            format!("written by a newer coachwire (version {number}); this one reads up to version {VERSION}");
        return Err(LoadError::at(text, at, None, message));
    }
    if version.number == 0 {
        return Err(LoadError::at(
            text,
            at,
            None,
            format!("there is no version 0; this program reads version {VERSION}"),
        ));
    }
    // The version is blanked rather than cut, so that every place stays what it is in the file.
    let mut body = text.to_string();
    let blank = " ".repeat(version.end - version.start);
    body.replace_range(version.start..version.end, &blank);
    for migration in MIGRATIONS.iter().skip(version.number as usize - 1) {
        body = migration(&body).map_err(|why| LoadError::at(text, 0, None, why))?;
    }
    let document: T = options().from_str(&body).map_err(|e| explain(&body, &e))?;
    match first_out_of_bounds(&document, "", "") {
        None => Ok(document),
        Some((path, slot, why)) => {
            let found = places(&body);
            let at = (0..found.all.len()).find(|at| found.slot(*at) == slot);
            let byte = at.and_then(|at| found.all.get(at)).map_or(0, |p| p.value);
            Err(LoadError::at(text, byte, Some(FieldPath::new(path)), why))
        }
    }
}

/// Writes any document of records.
#[must_use]
pub fn write<T: Serialize>(document: &T) -> String {
    let pretty = PrettyConfig::new().new_line("\n").struct_names(false).extensions(Extensions::empty());
    // Nothing in a document can fail to be written: strings, numbers, lists and structs only.
    let body = options().to_string_pretty(document, pretty).unwrap_or_default();
    let rest = body.strip_prefix('(').unwrap_or(&body);
    let rest = if rest == ")" { "\n)" } else { rest };
    format!("(\n    version: {VERSION},{rest}\n")
}

struct Version {
    number: u32,
    /// The bytes of `version: 1,`.
    start: usize,
    end: usize,
}

/// The version, read before and without anything else.
fn version(text: &str, what: &str) -> Result<(Version, usize), LoadError> {
    let first = first_field(text);
    let missing = |byte: usize| {
        let message = if text.trim().is_empty() {
            format!("the file is empty; {what} starts with ( and version: {VERSION}")
        } else {
            format!("this is not {what}: it starts with ( and version: {VERSION}")
        };
        LoadError::at(text, byte, None, message)
    };
    let Some((_, place)) = first.filter(|(name, _)| name == "version") else { return Err(missing(0)) };
    let rest = text.get(place.value..).unwrap_or_default();
    let digits = rest.chars().take_while(char::is_ascii_digit).count();
    let is_whole = !rest.get(digits..).is_some_and(|more| more.starts_with(['.', 'e', 'E', '_']));
    let number = rest.get(..digits).and_then(|d| d.parse().ok()).filter(|_| is_whole).ok_or_else(|| {
        LoadError::at(text, place.value, Some("version".into()), format!("a whole number is needed, such as {VERSION}"))
    })?;
    let mut end = place.value + digits;
    let after = text.get(end..).unwrap_or_default();
    let gap = after.len() - after.trim_start().len();
    if after.trim_start().starts_with(',') {
        end += gap + 1;
    }
    Ok((Version { number, start: place.key, end }, place.value))
}

const ENDS_EARLY: &str = "the text ends too early; a bracket or quote is not closed";

/// What the parser found, in words for the person who edits the file.
fn explain(text: &str, e: &SpannedError) -> LoadError {
    let byte = byte_of(text, e.span.end.line, e.span.end.col).min(text.len());
    let start = byte_of(text, e.span.start.line, e.span.start.col).min(byte);
    let rest = text.get(start..).unwrap_or_default().trim_start();
    let field = path_at(text, byte.saturating_sub(1));
    if let Some(byte) = bare_question_mark(text, start.saturating_sub(1), byte + 1) {
        return LoadError::at(text, byte, path_at(text, byte), "an unknown is written \"?\", with quotes");
    }
    // Wherever the parser stood, there was nothing more to read: a cut between two records is no fault of the first.
    let is_cut = rest.is_empty() && text.len() > start.saturating_sub(1) && !text.trim_end().ends_with(')');
    if is_cut || (rest.is_empty() && matches!(e.code, Error::ExpectedNamedStructLike(_) | Error::ExpectedStructLike)) {
        return LoadError::at(text, text.trim_end().len(), None, ENDS_EARLY);
    }
    if let Error::NoSuchStructField { found, .. } = &e.code
        && text.trim_end().ends_with(found.as_ref() as &str)
    {
        // Cut within a field's name.
        return LoadError::at(text, text.trim_end().len(), None, ENDS_EARLY);
    }
    let message = match &e.code {
        Error::NoSuchStructField { expected, found, .. } => {
            format!("unknown field {found:?}; fields here: {}", expected.join(", "))
        }
        Error::DuplicateStructField { field, .. } => format!("field {field:?} stands twice"),
        Error::ExceededRecursionLimit => "nested too deeply for a plan".into(),
        Error::Eof => ENDS_EARLY.into(),
        Error::ExpectedNamedStructLike(_) | Error::ExpectedStructLike => "a record in ( ) is needed here".into(),
        Error::ExpectedString if rest.starts_with(|c: char| c.is_alphanumeric()) => {
            "text in quotes is needed here, as \"new\" or \"10 AWG\"".into()
        }
        Error::InvalidValueForType { expected, found } => format!("{found} does not belong here; {expected} is needed"),
        Error::Message(message) => message.clone(),
        code => code.to_string(),
    };
    let named = matches!(e.code, Error::NoSuchStructField { .. } | Error::DuplicateStructField { .. });
    let place = if named {
        places(text).all.iter().filter(|p| p.key < byte).map(|p| p.key).max().unwrap_or(byte)
    } else if field.is_some() && matches!(e.code, Error::Message(_) | Error::InvalidValueForType { .. }) {
        let found = places(text);
        found.all.iter().filter(|p| p.key < byte).max_by_key(|p| p.key).map_or(byte, |p| p.value)
    } else {
        start.max(byte.saturating_sub(1))
    };
    LoadError::at(text, place, field, message)
}

/// A `?` outside quotes between two bytes or at the value they stand in.
fn bare_question_mark(text: &str, from: usize, to: usize) -> Option<usize> {
    let found = places(text);
    let values = found.all.iter().map(|p| p.value).filter(|v| (from..=to).contains(v) || *v + 1 == from);
    values.chain([from, to]).find(|b| text.as_bytes().get(*b) == Some(&b'?'))
}

/// The byte at a line and column as the parser counts them: from 1, in characters.
fn byte_of(text: &str, line: usize, column: usize) -> usize {
    let start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let rest = text.get(start..).unwrap_or_default();
    start + rest.chars().take(column.saturating_sub(1)).map(char::len_utf8).sum::<usize>()
}
