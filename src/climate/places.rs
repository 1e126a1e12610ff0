//! The embedded places, found by typing part of a name.
//!
//! Inflated and folded when the first search is made, never at start.

use std::ops::Range;
use std::sync::LazyLock;

use super::coordinates;
use super::packed::{planar, word};
use crate::arrange::Arrange;
use crate::packed::inflate;

static FILE: &[u8] = include_bytes!("data/places.bin");

/// Below this a height is that of the sea's bed beside an island, unless the country has land so low, m.
const LEAST_ASHORE: f64 = -10.0;
/// Countries with land more than ten metres below the sea's level, by code (ISO 3166-1): Dead Sea, Jordan valley, Caspian
/// shore, deserts of Africa, Asia, the Americas and Australia.
/// Source: from memory.
const BELOW_THE_SEA: [&str; 24] = [
    "AR", "AU", "AZ", "CN", "DJ", "DO", "DZ", "EG", "EH", "ER", "ET", "IL", "IR", "JO", "KZ", "LY", "MA", "PS", "RU",
    "SY", "TM", "TN", "US", "UZ",
];

/// A place on Earth.
///
/// Source: GeoNames (CC BY 4.0); see `data/SOURCE.md`.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Name in its own spelling, or the position where it was typed as one.
    pub name: String,
    /// State or province; empty where there is none.
    pub region: String,
    /// The state's or province's code; letters in the US, Canada and a few more, else mostly digits.
    pub region_code: String,
    /// Country; empty for a typed position.
    pub country: String,
    /// Two-letter country code (ISO 3166-1).
    pub country_code: String,
    /// Latitude, degrees, north positive.
    pub lat_deg: f64,
    /// Longitude, degrees, east positive.
    pub lon_deg: f64,
    /// Elevation, m; not known for a typed position, nor where the list has that of the sea's bed.
    pub elevation_m: Option<f64>,
    /// People living there; 0 for a typed position.
    pub population: u32,
}

impl Place {
    /// A place by its position alone.
    #[must_use]
    pub fn at(lat_deg: f64, lon_deg: f64) -> Self {
        Self {
            name: coordinates::show(lat_deg, lon_deg),
            region: String::new(),
            region_code: String::new(),
            country: String::new(),
            country_code: String::new(),
            lat_deg,
            lon_deg,
            elevation_m: None,
            population: 0,
        }
    }
}

/// At most `most` places that fit the words, best first.
///
/// Every word must begin a word of the name, of the state or province or of the country, be a code of those (`az`,
/// `us`), or lie inside the name. First come names that are what was typed, then names that begin with it as whole
/// words, then names that begin with it in the middle of a word, then names with a word that begins with it, then the rest;
/// among equals the larger town. Case and accents do not count.
/// Text that is a position (`33.66,-114.23`) gives that position; a wrong one gives nothing, and
/// [`coordinates::parse`] says why.
#[must_use]
pub fn find(words: &str, most: usize) -> Vec<Place> {
    if let Some(position) = coordinates::parse(words) {
        return position.map(|(lat, lon)| Place::at(lat, lon)).into_iter().take(most).collect();
    }
    let Some(query) = Query::new(words) else { return Vec::new() };
    let regions: Vec<u64> = TABLE.regions.iter().map(|region| query.in_region(region)).collect();
    let mut found: Vec<(u8, &Entry)> = TABLE
        .entries
        .iter()
        .filter_map(|entry| {
            let outside = regions.get(entry.region).copied().unwrap_or_default();
            let rank = TABLE.keys(entry).split('\t').filter_map(|key| query.rank(key, outside)).min()?;
            Some((rank, entry))
        })
        .collect();
    found.arrange_by_key(|(rank, entry)| (*rank, std::cmp::Reverse(entry.population)));
    found.into_iter().take(most).map(|(_, entry)| TABLE.place(entry)).collect()
}

/// How many places there are.
#[must_use]
pub fn count() -> usize {
    TABLE.entries.len()
}

/// More words than anyone types; they are bits of a `u64`.
const MOST_WORDS: usize = 16;

struct Query {
    words: Vec<String>,
    /// `leads[k]`: the first k + 1 words, as a name would hold them.
    leads: Vec<String>,
}

impl Query {
    fn new(text: &str) -> Option<Self> {
        let words: Vec<String> = fold(text).split(' ').filter(|w| !w.is_empty()).map(str::to_owned).collect();
        let leads = (0..words.len()).map(|k| words[..=k].join(" ")).collect();
        (!words.is_empty() && words.len() <= MOST_WORDS).then_some(Self { words, leads })
    }

    /// One bit for each word that the region or its country answers to.
    fn in_region(&self, region: &Region) -> u64 {
        let answers = |word: &String| region.codes.contains(word) || begins_word(&region.words, word);
        self.words.iter().enumerate().filter(|(_, word)| answers(word)).map(|(i, _)| 1 << i).sum()
    }

    /// How well a name fits, 0 best; `None` where a word fits nothing.
    fn rank(&self, key: &str, outside: u64) -> Option<u8> {
        let mut worst = 0;
        let mut in_name = false;
        for (i, word) in self.words.iter().enumerate() {
            let elsewhere = outside & 1 << i != 0;
            if begins_word(key, word) {
                in_name = true;
                worst = worst.max(3);
            } else if elsewhere {
            } else if key.contains(word.as_str()) {
                in_name = true;
                worst = worst.max(4);
            } else {
                return None;
            }
        }
        if !in_name {
            return Some(5);
        }
        // The leading words as a name, all words after them as its region.
        for (k, lead) in self.leads.iter().enumerate().rev() {
            let after = !0_u64 << (k + 1) & !(!0_u64 << self.words.len());
            if outside & after == after && key.starts_with(lead.as_str()) {
                let rest = key.get(lead.len()..).unwrap_or_default();
                return Some(if rest.is_empty() { 0 } else { 2 - u8::from(rest.starts_with(' ')) });
            }
        }
        Some(worst)
    }
}

/// Whether a word of the text begins with these letters.
fn begins_word(text: &str, letters: &str) -> bool {
    text.split(' ').any(|word| word.starts_with(letters))
}

struct Region {
    name: String,
    code: String,
    country: usize,
    /// Folded words of region and country.
    words: String,
    codes: [String; 3],
}

struct Entry {
    /// Where the name lies in the table's text.
    name: Range<usize>,
    /// Where in the table's keys the folded name lies and, after a tab, its usual ASCII form where that differs.
    keys: Range<usize>,
    region: usize,
    lat_deg: f64,
    lon_deg: f64,
    elevation_m: f64,
    population: u32,
}

#[derive(Default)]
struct Table {
    countries: Vec<(String, String)>,
    regions: Vec<Region>,
    entries: Vec<Entry>,
    text: String,
    keys: String,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| Table::read(&inflate(FILE.get(4..).unwrap_or_default())));

impl Table {
    /// Header of four numbers, text lines of countries, regions and names, then columns of bytes.
    fn read(bytes: &[u8]) -> Self {
        let (countries, regions, entries, text_length) =
            (word(bytes, 0), word(bytes, 4), word(bytes, 8), word(bytes, 12));
        let text = bytes.get(16..16 + text_length).map(String::from_utf8_lossy).unwrap_or_default().into_owned();
        let columns = bytes.get(16 + text_length..).unwrap_or_default();
        let mut lines = text.split('\n');
        let mut table = Self::default();
        for line in lines.by_ref().take(countries) {
            let (code, name) = line.split_once('\t').unwrap_or_default();
            table.countries.push((code.to_owned(), name.to_owned()));
        }
        let mut regions_of_entries = Vec::with_capacity(entries);
        for line in lines.by_ref().take(regions) {
            let mut cells = line.split('\t');
            let country: usize = cells.next().and_then(|c| c.parse().ok()).unwrap_or_default();
            let count: usize = cells.next().and_then(|c| c.parse().ok()).unwrap_or_default();
            let (code, name) = (cells.next().unwrap_or_default(), cells.next().unwrap_or_default());
            regions_of_entries.extend(std::iter::repeat_n(table.regions.len(), count));
            table.add_region(country, code, name);
        }
        table.keys.reserve(text.len());
        table.entries.reserve(entries);
        let mut at = text.len() - lines.clone().map(|line| line.len() + 1).sum::<usize>().saturating_sub(1);
        for (i, (line, region)) in lines.zip(regions_of_entries).enumerate() {
            let name_length = line.find('\t').unwrap_or(line.len());
            let number = |offset: usize, width: usize| planar(columns, offset * entries, entries, i, width);
            table.entries.push(Entry {
                name: at..at + name_length,
                keys: add_keys(&mut table.keys, line),
                region,
                lat_deg: (f64::from(number(0, 3)) - 90_000.0) / 1000.0,
                lon_deg: (f64::from(number(3, 3)) - 180_000.0) / 1000.0,
                elevation_m: f64::from(number(6, 2)) - 1000.0,
                population: number(8, 4),
            });
            at += line.len() + 1;
        }
        table.text = text;
        table
    }

    fn keys(&self, entry: &Entry) -> &str {
        self.keys.get(entry.keys.clone()).unwrap_or_default()
    }

    fn add_region(&mut self, country: usize, code: &str, name: &str) {
        let (country_code, country_name) = self.countries.get(country).cloned().unwrap_or_default();
        let other_code = match country_code.as_str() {
            "US" => "usa",
            "GB" => "uk",
            _ => "",
        };
        self.regions.push(Region {
            name: name.to_owned(),
            code: code.to_owned(),
            country,
            words: format!("{} {}", fold(name), fold(&country_name)),
            codes: [fold(code), fold(&country_code), other_code.to_owned()],
        });
    }

    fn place(&self, entry: &Entry) -> Place {
        let region = self.regions.get(entry.region);
        let country = region.and_then(|r| self.countries.get(r.country)).cloned().unwrap_or_default();
        let is_ashore = entry.elevation_m >= LEAST_ASHORE || BELOW_THE_SEA.contains(&country.0.as_str());
        Place {
            name: self.text.get(entry.name.clone()).unwrap_or_default().to_owned(),
            region: region.map(|r| r.name.clone()).unwrap_or_default(),
            region_code: region.map(|r| r.code.clone()).unwrap_or_default(),
            country: country.1,
            country_code: country.0,
            lat_deg: entry.lat_deg,
            lon_deg: entry.lon_deg,
            elevation_m: is_ashore.then_some(entry.elevation_m),
            population: entry.population,
        }
    }
}

/// Adds the search keys of a name line (the name and, after a tab, its ASCII form where that differs), parted by a tab.
fn add_keys(keys: &mut String, line: &str) -> Range<usize> {
    let start = keys.len();
    let (name, ascii) = line.split_once('\t').unwrap_or((line, ""));
    fold_into(keys, name);
    let end = keys.len();
    if !ascii.is_empty() {
        keys.push('\t');
        fold_into(keys, ascii);
        if keys.get(start..end) == keys.get(end + 1..) {
            keys.truncate(end);
        }
    }
    start..keys.len()
}

fn fold(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    fold_into(&mut folded, text);
    folded
}

/// Lower case without accents; apostrophes vanish, other punctuation becomes one space.
fn fold_into(folded: &mut String, text: &str) {
    let start = folded.len();
    for c in text.chars() {
        if c.is_ascii() {
            fold_char(folded, start, c.to_ascii_lowercase());
        } else {
            c.to_lowercase().for_each(|c| fold_char(folded, start, c));
        }
    }
    if folded.len() > start && folded.ends_with(' ') {
        folded.pop();
    }
}

fn fold_char(folded: &mut String, start: usize, c: char) {
    match c {
        c if c.is_ascii_alphanumeric() => folded.push(c),
        '\'' | '\u{2018}' | '\u{2019}' | '\u{2bb}' | '\u{300}'..='\u{36f}' => {}
        c if c.is_alphanumeric() => match plain(c) {
            Some(letters) => folded.push_str(letters),
            None => folded.push(c),
        },
        // No space first, and never two.
        _ if folded.len() == start || folded.ends_with(' ') => {}
        _ => folded.push(' '),
    }
}

/// The plain letters of an accented Latin one (code points, lower case).
fn plain(c: char) -> Option<&'static str> {
    Some(match u32::from(c) {
        0xe0..=0xe5 | 0x101 | 0x103 | 0x105 | 0x1ce | 0x1ea1..=0x1eb7 => "a",
        0xe6 => "ae",
        0xe7 | 0x107..=0x10d => "c",
        0xf0 | 0x10f | 0x111 => "d",
        0xe8..=0xeb | 0x113..=0x11b | 0x1eb9..=0x1ec7 => "e",
        0x11d..=0x123 => "g",
        0x125 | 0x127 | 0x1e25 => "h",
        0xec..=0xef | 0x129..=0x131 | 0x1ec9..=0x1ecb => "i",
        0x137 => "k",
        0x13a..=0x142 => "l",
        0xf1 | 0x144..=0x148 => "n",
        0xf2..=0xf6 | 0xf8 | 0x14d..=0x151 | 0x1eb | 0x1ecd..=0x1ee3 => "o",
        0x153 => "oe",
        0x155..=0x159 => "r",
        0x15b..=0x161 | 0x219 => "s",
        0xdf => "ss",
        0x163..=0x167 | 0x21b => "t",
        0xfe => "th",
        0xf9..=0xfc | 0x169..=0x173 | 0x1ee5..=0x1ef1 => "u",
        0xfd | 0xff | 0x177 | 0x1ef3..=0x1ef9 => "y",
        0x17a..=0x17e => "z",
        _ => return None,
    })
}
