//! The house's own rules, read off the source: which room may know which, who touches files, clocks, the terminal,
//! where sources must be cited, how long things may be, and under what licences we stand.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Rooms and the rooms each may name. Nothing points back.
const ARROWS: [(&str, &[&str]); 18] = [
    ("arrange", &[]),
    ("units", &[]),
    ("words", &[]),
    ("packed", &[]),
    ("standards", &["arrange", "units", "words"]),
    ("physics", &["arrange", "units", "words"]),
    ("climate", &["arrange", "units", "words", "packed", "physics"]),
    ("plan", &["arrange", "units", "words", "packed", "standards"]),
    ("stock", &["arrange", "units", "words", "standards", "plan"]),
    ("engine", &["arrange", "units", "words", "standards", "physics", "climate", "plan", "stock"]),
    ("wording", &["arrange", "units", "words", "standards", "engine", "plan"]),
    ("document", &["arrange", "units", "words", "standards", "engine", "plan", "stock", "wording"]),
    ("papers", &["arrange", "units", "words", "standards", "engine", "plan", "stock", "wording"]),
    ("figures", &["arrange", "units", "words", "standards", "engine", "plan", "stock"]),
    ("store", &["arrange", "plan", "stock"]),
    ("cli", ABOVE_AND_TUI),
    ("tui", ABOVE),
    ("main", &["cli", "tui"]),
];
const ABOVE: &[&str] = &[
    "arrange",
    "units",
    "words",
    "standards",
    "physics",
    "climate",
    "plan",
    "stock",
    "engine",
    "wording",
    "document",
    "papers",
    "figures",
    "store",
];

const ABOVE_AND_TUI: &[&str] = &[
    "arrange",
    "units",
    "words",
    "standards",
    "physics",
    "climate",
    "plan",
    "stock",
    "engine",
    "wording",
    "document",
    "papers",
    "figures",
    "store",
    "tui",
];

/// What only some rooms may name.
const KEPT_TO: [(&str, &[&str]); 13] = [
    ("std::fs", &["store"]),
    ("std::net", &[]),
    ("std::time", &["tui", "store", "cli"]),
    ("std::thread", &["tui", "engine"]),
    ("std::env", &["main", "cli", "tui", "store"]),
    ("std::process", &["main", "cli", "tui", "store"]),
    ("println!", &["main", "cli"]),
    ("eprintln!", &["main", "cli"]),
    ("ratatui", &["tui"]),
    ("crossterm", &["tui"]),
    ("rustix", &["tui", "store"]),
    ("clap::", &["main", "cli"]),
    ("signal_hook", &["tui"]),
];

const FILE_LINES: usize = 600;
const FUNCTION_LINES: usize = 80;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Files of a folder and below, with an extension.
fn files(folder: &Path, extension: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).expect("a folder of the project") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == extension) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// A file of our code.
struct Code {
    /// As printed in messages.
    name: String,
    /// The first module below the crate's root: `tui` for `src/tui/view/bench.rs`.
    room: String,
    /// Modules from the crate's root to the file's own.
    depth: usize,
    lines: Vec<String>,
}

impl Code {
    fn of(path: &Path, base: &str) -> Self {
        let within = path.strip_prefix(root().join(base)).expect("a path below it").with_extension("");
        let parts: Vec<String> = within.iter().map(|p| p.to_string_lossy().into_owned()).collect();
        let text = fs::read_to_string(path).expect("readable source");
        Self {
            name: format!("{base}/{}.rs", parts.join("/")),
            room: parts.first().cloned().unwrap_or_default(),
            depth: parts.len(),
            lines: text.lines().map(ToString::to_string).collect(),
        }
    }

    /// Lines with their numbers, without comments.
    fn code(&self) -> impl Iterator<Item = (usize, &str)> {
        self.lines.iter().enumerate().filter_map(|(i, line)| {
            let line = line.split("//").next().unwrap_or_default();
            (!line.trim().is_empty()).then_some((i + 1, line))
        })
    }
}

fn source() -> Vec<Code> {
    let files = files(&root().join("src"), "rs");
    assert!(files.len() > 30, "the source was not found: {files:?}");
    files.iter().map(|path| Code::of(path, "src")).collect()
}

fn ident(text: &str) -> &str {
    text.split(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap_or_default()
}

fn is_word_start(text: &str, at: usize) -> bool {
    !text.get(..at).and_then(|before| before.chars().next_back()).is_some_and(|c| c.is_alphanumeric() || c == '_')
}

/// Names at the crate's root that a line reaches for.
fn root_names(line: &str, depth: usize) -> Vec<String> {
    let mut names = Vec::new();
    for head in ["crate::", "coachwire::"] {
        for (at, _) in line.match_indices(head).filter(|(at, _)| is_word_start(line, *at)) {
            let rest = &line[at + head.len()..];
            if let Some(group) = rest.strip_prefix('{') {
                let mut nested = 0;
                let mut name = String::new();
                for c in group.chars() {
                    match c {
                        '{' => nested += 1,
                        '}' if nested == 0 => break,
                        '}' => nested -= 1,
                        ',' if nested == 0 => names.push(std::mem::take(&mut name)),
                        c if nested == 0 => name.push(c),
                        _ => {}
                    }
                }
                names.push(name);
            } else {
                names.push(rest.to_string());
            }
        }
    }
    let climb = "super::".repeat(depth);
    for (at, _) in line.match_indices(&climb).filter(|(at, _)| is_word_start(line, *at)) {
        names.push(line[at + climb.len()..].to_string());
    }
    names.iter().map(|name| ident(name.trim()).to_string()).filter(|name| !name.is_empty()).collect()
}

fn fail_on(faults: &[String]) {
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn arrows_run_one_way() {
    let rooms: Vec<&str> = ARROWS.iter().map(|(room, _)| *room).collect();
    let mut faults = Vec::new();
    for file in source().iter().filter(|f| f.room != "lib") {
        let Some((_, may)) = ARROWS.iter().find(|(room, _)| *room == file.room) else {
            faults.push(format!("{}: the room {:?} is not in the table of arrows", file.name, file.room));
            continue;
        };
        for (number, line) in file.code() {
            for name in root_names(line, file.depth) {
                // Macros stand at the root whatever room they belong to.
                let is_room = rooms.contains(&name.as_str());
                if is_room && name != file.room && !may.contains(&name.as_str()) {
                    faults.push(format!("{}:{number}: {} must not know {name}", file.name, file.room));
                }
            }
        }
    }
    fail_on(&faults);
}

#[test]
fn files_clocks_and_the_terminal_are_kept_to_their_rooms() {
    let mut faults = Vec::new();
    for file in source() {
        for (number, line) in file.code() {
            for (word, rooms) in KEPT_TO {
                let named = line.match_indices(word).any(|(at, _)| is_word_start(line, at));
                if named && !rooms.contains(&file.room.as_str()) {
                    faults.push(format!("{}:{number}: {word} belongs to {rooms:?}", file.name));
                }
            }
        }
    }
    fail_on(&faults);
}

/// Figures that the hours of the year come to: they are not there yet where checks run beside it.
const OF_THE_YEAR: [&str; 4] = ["report.year", "loss_wh_day", "clipped_kwh", "low_volts_kwh"];

#[test]
fn checks_that_run_beside_the_year_read_nothing_of_it() {
    let source = source();
    let list = source.iter().find(|f| f.name == "src/engine/checks.rs").expect("the list of checks");
    let begin = list.lines.iter().position(|l| l.contains("fn before_year(")).expect("those that run beside the year");
    let called = list.lines[begin + 1..].iter().map_while(|l| l.trim().strip_suffix("::all(work, out);"));
    let called: Vec<&str> = called.collect();
    assert!(called.len() > 10, "too few were read: {called:?}");
    let mut faults = Vec::new();
    for name in called {
        let (file, folder) = (format!("src/engine/checks/{name}.rs"), format!("src/engine/checks/{name}/"));
        let own: Vec<&Code> = source.iter().filter(|f| f.name == file || f.name.starts_with(&folder)).collect();
        assert!(!own.is_empty(), "no file of {name}");
        for (number, line, file) in own.iter().flat_map(|f| f.code().map(|(number, line)| (number, line, &f.name))) {
            faults.extend(
                OF_THE_YEAR.iter().filter(|word| line.contains(**word)).map(|word| format!("{file}:{number}: {word}")),
            );
        }
    }
    fail_on(&faults);
}

/// The doc comment above a line, with the attributes between them passed over.
fn doc_above(lines: &[String], index: usize) -> String {
    let above = lines[..index].iter().rev().map(|l| l.trim());
    above.take_while(|l| l.starts_with("///") || l.starts_with("#[")).collect::<Vec<_>>().join("\n")
}

#[test]
fn every_formula_and_every_table_cites_its_source() {
    let mut faults = Vec::new();
    for file in source() {
        for (i, line) in file.lines.iter().enumerate() {
            let item = line.trim_start();
            let formula = file.room == "physics" && (item.starts_with("pub fn ") || item.starts_with("pub const fn "));
            let bare =
                item.trim_start_matches("pub ").trim_start_matches("pub(super) ").trim_start_matches("pub(crate) ");
            // A `Source` is a citation itself.
            let table = file.room == "standards"
                && (bare.starts_with("static ") || (bare.starts_with("const ") && !bare.starts_with("const fn ")))
                && !bare.contains(": Source ");
            if (formula || table) && !doc_above(&file.lines, i).contains("Source:") {
                faults.push(format!("{}:{}: no `Source:` in the doc comment of: {item}", file.name, i + 1));
            }
        }
    }
    fail_on(&faults);
}

fn indent(line: &str) -> usize {
    line.len() - line.trim_start().len()
}

#[test]
fn files_and_functions_stay_short() {
    let mut faults = Vec::new();
    let tests = files(&root().join("tests"), "rs").iter().map(|p| Code::of(p, "tests")).collect::<Vec<_>>();
    for file in source().iter().chain(&tests) {
        if file.lines.len() > FILE_LINES {
            faults.push(format!("{}: {} lines, more than {FILE_LINES}", file.name, file.lines.len()));
        }
        for (i, line) in file.lines.iter().enumerate() {
            let item = line.trim_start();
            let is_fn = item.starts_with("fn ") || item.contains(" fn ") && !item.starts_with("//");
            if !is_fn || line.trim_end().ends_with('}') || line.trim_end().ends_with(';') {
                continue;
            }
            // The formatter puts the closing brace under the first letter.
            let end = file.lines[i + 1..].iter().position(|l| l.trim() == "}" && indent(l) == indent(line));
            let length = end.map_or(0, |n| n + 2);
            if length > FUNCTION_LINES {
                faults.push(format!("{}:{}: {length} lines, more than {FUNCTION_LINES}: {item}", file.name, i + 1));
            }
        }
    }
    fail_on(&faults);
}

#[test]
fn no_machine_is_named() {
    let folders = [concat!("/wo", "rk/"), concat!("/tm", "p/"), concat!("/ho", "me/"), concat!("/ro", "ot/")];
    let mut faults = Vec::new();
    for (base, extension) in [("src", "rs"), ("tests", "rs"), ("plans", "ron"), ("src", "md")] {
        let folder = root().join(base);
        for path in if folder.is_dir() { files(&folder, extension) } else { Vec::new() } {
            let text = fs::read_to_string(&path).expect("readable text");
            for (i, line) in text.lines().enumerate() {
                if let Some(named) = folders.iter().find(|named| line.contains(*named)) {
                    faults.push(format!("{}:{}: {named}", path.display(), i + 1));
                }
            }
        }
    }
    fail_on(&faults);
}

/// Licences that ask for no more than a notice.
const LICENCES: [&str; 12] = [
    "MIT",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "ISC",
    "Zlib",
    "Unlicense",
    "Unicode-3.0",
    "0BSD",
    "CC0-1.0",
];

/// Packages with another licence, which we use unchanged, as it then asks of us nothing beyond a notice.
const UNCHANGED: [(&str, &str); 1] = [("option-ext", "MPL-2.0")];

/// Whether an SPDX expression leaves a way that the list allows.
fn allowed(expression: &str) -> bool {
    let flat = expression.replace('/', " OR ").replace(['(', ')'], " ");
    // An AND inside brackets beside an OR does not occur; read as all of its parts.
    flat.split(" AND ").all(|part| part.split(" OR ").any(|licence| LICENCES.contains(&licence.trim())))
}

#[test]
fn licences_allow_what_we_do() {
    for (expression, expected) in [
        ("MIT", true),
        ("MIT OR Apache-2.0", true),
        ("Unlicense/MIT", true),
        ("GPL-3.0-only", false),
        ("(MIT OR Apache-2.0) AND Unicode-3.0", true),
        ("MIT AND GPL-3.0-only", false),
        ("", false),
    ] {
        assert_eq!(allowed(expression), expected, "{expression}");
    }
    let told = Command::new(option_env!("RUSTC").unwrap_or("rustc")).arg("-vV").output().expect("the compiler");
    let told = String::from_utf8_lossy(&told.stdout).into_owned();
    let host = told.lines().find_map(|l| l.strip_prefix("host: ")).expect("the compiler names its host");
    // Only what this machine builds: packages of other systems may never have been downloaded.
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--offline", "--locked", "--format-version", "1", "--filter-platform", host])
        .current_dir(root())
        .output()
        .expect("cargo runs");
    if !output.status.success() {
        println!("skipped: metadata cannot be had offline: {}", String::from_utf8_lossy(&output.stderr));
        return;
    }
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let packages = metadata["packages"].as_array().expect("packages");
    assert!(packages.len() > 20, "only {} packages", packages.len());
    let faults: Vec<String> = packages
        .iter()
        .filter(|package| {
            let licence = package["license"].as_str().unwrap_or_default();
            let name = package["name"].as_str().unwrap_or_default();
            !allowed(licence) && !UNCHANGED.contains(&(name, licence))
        })
        .map(|package| format!("{} {}: {}", package["name"], package["version"], package["license"]))
        .collect();
    fail_on(&faults);
}
