//! What the areas share: reading the reference tables.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::HashMap;
use std::path::Path;

/// One line of a reference table, by column name.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// Line number in the file, for messages.
    pub(crate) line: usize,
    cells: HashMap<String, String>,
}

impl Row {
    /// A cell as written, trimmed.
    pub(crate) fn text(&self, column: &str) -> &str {
        match self.cells.get(column) {
            Some(cell) => cell,
            None => panic!("line {}: no column `{column}` among {:?}", self.line, self.cells.keys()),
        }
    }

    /// A cell as a number.
    pub(crate) fn num(&self, column: &str) -> f64 {
        match self.maybe(column) {
            Some(number) => number,
            None => panic!("line {}: `{}` in `{column}` is no number", self.line, self.text(column)),
        }
    }

    /// A cell as a number where it is one.
    pub(crate) fn maybe(&self, column: &str) -> Option<f64> {
        self.text(column).parse().ok()
    }
}

/// Every row of a table under `tests/reference/`, e.g. `rows("physics/wire.csv")`. Lines that start with `#` are
/// remarks, the first other line is the header; cells may be quoted.
pub(crate) fn rows(name: &str) -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference").join(name);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line.trim_end()))
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'));
    let header = split(lines.next().expect("a header").1);
    let rows: Vec<Row> = lines
        .map(|(line, content)| {
            let cells = split(content);
            assert_eq!(cells.len(), header.len(), "{name} line {line}: cells do not match the header");
            Row { line, cells: header.iter().cloned().zip(cells).collect() }
        })
        .collect();
    assert!(!rows.is_empty(), "{name} has no rows");
    rows
}

/// Cells of one line; a quoted cell may hold commas and doubled quotes.
fn split(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    let mut chars = line.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                cells.last_mut().expect("a cell").push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            c => cells.last_mut().expect("a cell").push(c),
        }
    }
    cells.into_iter().map(|cell| cell.trim().to_owned()).collect()
}

/// Holds where `got` lies within `tolerance` of `want`, relative to `want` (absolute where `want` is zero).
#[track_caller]
pub(crate) fn near_rel(what: &str, got: f64, want: f64, tolerance: f64) {
    let scale = if want == 0.0 { 1.0 } else { want.abs() };
    assert!((got - want).abs() <= tolerance * scale, "{what}: got {got}, want {want} within {tolerance} relative");
}

/// Holds where `got` lies within `tolerance` of `want`.
#[track_caller]
pub(crate) fn near_abs(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{what}: got {got}, want {want} within {tolerance}");
}

#[test]
fn quoted_cells_keep_their_commas() {
    assert_eq!(split(r#"a,"b, ""c""",d"#), ["a", r#"b, "c""#, "d"]);
    assert_eq!(split("a,,"), ["a", "", ""]);
}

#[test]
fn every_reference_table_reads() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let mut count = 0;
    for area in ["climate", "physics", "standards"] {
        for entry in std::fs::read_dir(root.join(area)).unwrap() {
            let file = entry.unwrap().file_name().into_string().unwrap();
            if file.ends_with(".csv") {
                assert!(!rows(&format!("{area}/{file}")).is_empty());
                count += 1;
            }
        }
    }
    assert!(count > 50, "{count} tables");
}
