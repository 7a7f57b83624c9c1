//! Promises of absence, kept by reading the source.
//!
//! What computes opens no file, reads no clock and starts no thread; a module
//! knows only those that stand above it in the table of `src/lib.rs`; only the
//! watch has threads, the clock and the network, and it writes nothing; every
//! file says at its head what it holds, and is short enough to be read.

use std::collections::BTreeSet;
use std::fs;
use std::ops::Range;
use std::path::{Path, PathBuf};

use walkdir::WalkDir;

/// Modules that only compute.
const PURE: [&str; 10] = [
    "quantity", "formula", "spread", "circuit", "emit", "trade", "stack", "record", "prose", "draw",
];

/// What would let the world in, with what it stands for. Names of the standard
/// library stand without `std::`, so that grouped imports are seen too.
const WORLD: [(&str, &str); 11] = [
    ("std::fs", "files"),
    ("std::net", "the network"),
    ("std::env", "the environment"),
    ("std::process", "other programs"),
    ("std::io", "input and output"),
    ("std::thread", "threads of its own"),
    ("SystemTime", "the clock"),
    ("Instant", "the clock"),
    ("Timestamp::now", "the clock"),
    ("Zoned::now", "the clock"),
    ("TimeZone::system", "the place where it runs"),
];

/// Longest file, in lines.
const LONGEST: usize = 700;

/// Modules of the crate that hold no idea of their own, and may be used by all.
const SHARED: [&str; 1] = ["nearest"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All source files below a folder, with their text.
fn sources(folder: &str) -> Vec<(PathBuf, String)> {
    let walk = WalkDir::new(root().join(folder)).sort_by_file_name();
    let entries = walk
        .into_iter()
        .map(|entry| entry.expect("the source can be walked"));
    let rust = entries.filter(|entry| entry.path().extension().is_some_and(|e| e == "rs"));
    let files = rust.map(|entry| {
        let text = fs::read_to_string(entry.path()).expect("source is UTF-8");
        let path = entry.path().strip_prefix(root()).expect("it lies in there");
        (path.to_owned(), text)
    });
    files.collect()
}

/// Whether a file holds nothing but tests.
fn is_test(path: &Path) -> bool {
    let stem = path
        .file_stem()
        .and_then(|stem| stem.to_str())
        .unwrap_or("");
    let is_folder = path.components().any(|step| step.as_os_str() == "tests");
    is_folder || stem == "tests" || stem.ends_with("_tests")
}

/// The module of the table in `src/lib.rs` that a file belongs to.
fn module(path: &Path) -> &str {
    let step = path.components().nth(1).map(|step| step.as_os_str());
    let name = step.and_then(|step| step.to_str()).unwrap_or("");
    name.trim_end_matches(".rs")
}

/// The code of a file: comments, and the text in quotation marks, are blanked
/// out; the tests at its end are left off. Line numbers stay.
fn code(text: &str) -> String {
    let tests = text.find("\n#[cfg(test)]\nmod tests {").or_else(|| {
        let with_lints = text.find("\n#[cfg(test)]\n#[")?;
        text[with_lints..]
            .contains("\nmod tests {")
            .then_some(with_lints)
    });
    let text = &text[..tests.unwrap_or(text.len())];
    let mut code = text.as_bytes().to_vec();
    for span in silent(text) {
        for byte in &mut code[span] {
            if *byte != b'\n' {
                *byte = b' ';
            }
        }
    }
    String::from_utf8(code).expect("whole stretches were blanked")
}

/// The bytes of comments, and of strings and their quotation marks.
fn silent(text: &str) -> Vec<Range<usize>> {
    let mut spans = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let rest = &text[at..];
        let length = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if rest.starts_with("/*") {
            rest.find("*/").map_or(rest.len(), |end| end + 2)
        } else if let Some(hashes) = raw(rest) {
            let close = format!("\"{}", "#".repeat(hashes));
            let open = hashes + 2;
            rest[open..]
                .find(&close)
                .map_or(rest.len(), |end| open + end + close.len())
        } else if rest.starts_with('"') {
            quoted(rest)
        } else if rest.starts_with("'\"'") {
            3
        } else if rest.starts_with("'\\\"'") {
            4
        } else {
            at += rest.chars().next().map_or(1, char::len_utf8);
            continue;
        };
        spans.push(at..at + length);
        at += length;
    }
    spans
}

/// How many `#` open the raw string that a text starts with.
fn raw(text: &str) -> Option<usize> {
    let inner = text.strip_prefix('r')?;
    let hashes = inner.len() - inner.trim_start_matches('#').len();
    inner[hashes..].starts_with('"').then_some(hashes)
}

/// Length of the string that a text starts with.
fn quoted(text: &str) -> usize {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at + 1,
            _ => {}
        }
    }
    text.len()
}

/// The line of a byte, counted from one.
fn line(text: &str, at: usize) -> usize {
    text[..at].matches('\n').count() + 1
}

/// Paths of the standard library with their groups taken apart:
/// `std::{fs, io::Write}` is `std::fs` and `std::io::Write`.
fn with_groups_apart(code: &str) -> Vec<(usize, String)> {
    let mut paths = Vec::new();
    for (at, _) in code.match_indices("std::{") {
        let group = &code[at + "std::{".len()..];
        let mut depth = 1;
        let end = group.find(|c| {
            depth += i32::from(c == '{') - i32::from(c == '}');
            depth == 0
        });
        for member in group[..end.unwrap_or(group.len())].split(',') {
            paths.push((at, format!("std::{}", member.trim())));
        }
    }
    paths
}

#[test]
fn what_computes_touches_nothing_outside() {
    let mut found = Vec::new();
    let mut seen = 0;
    for (path, text) in sources("src") {
        if !PURE.contains(&module(&path)) || is_test(&path) {
            continue;
        }
        seen += 1;
        let code = code(&text);
        for (name, what) in WORLD {
            let plain = code.match_indices(name).map(|(at, _)| at);
            let grouped = with_groups_apart(&code);
            let grouped = grouped.iter().filter(|(_, path)| path.starts_with(name));
            for at in plain.chain(grouped.map(|(at, _)| *at)) {
                found.push(format!(
                    "{}:{}: {what} ({name})",
                    path.display(),
                    line(&code, at)
                ));
            }
        }
    }
    assert!(seen > 40, "only {seen} files were looked at");
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

/// The one module of the library that has threads of its own, the clock and the
/// network.
const LIVELY: &str = "watch";

/// What only that module does.
const LIFE: [(&str, &str); 4] = [
    ("std::net", "the network"),
    ("std::thread", "threads of its own"),
    ("SystemTime", "the clock"),
    ("Instant", "the clock"),
];

/// What it does not do, since nothing is written while a notebook is watched.
const WRITING: [&str; 8] = [
    "fs::write",
    "fs::remove",
    "fs::rename",
    "fs::create",
    "fs::copy",
    "fs::set_permissions",
    "File::create",
    "OpenOptions",
];

#[test]
fn only_the_watch_is_lively_and_it_writes_nothing() {
    let mut found = Vec::new();
    let mut lively = BTreeSet::new();
    for (path, text) in sources("src") {
        let is_library = table().iter().any(|name| name == module(&path));
        if !is_library || is_test(&path) {
            continue;
        }
        let code = code(&text);
        let grouped = with_groups_apart(&code);
        let paths = || grouped.iter().map(|(_, path)| path.as_str());
        let has = |name: &str| code.contains(name) || paths().any(|path| path.starts_with(name));
        for (name, what) in LIFE.iter().filter(|(name, _)| has(name)) {
            if module(&path) == LIVELY {
                lively.insert(*name);
            } else {
                found.push(format!("{}: {what} ({name})", path.display()));
            }
        }
        let writes = WRITING.iter().filter(|name| code.contains(**name));
        if module(&path) == LIVELY {
            found.extend(writes.map(|name| format!("{}: writes ({name})", path.display())));
        }
    }
    assert_eq!(
        lively.len(),
        LIFE.len(),
        "what is no longer done: {lively:?}"
    );
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

/// Modules in the order of the table in `src/lib.rs`.
fn table() -> Vec<String> {
    let text = fs::read_to_string(root().join("src/lib.rs")).expect("there is a library");
    let rows = text
        .lines()
        .filter_map(|line| line.strip_prefix("//! | [`"));
    let names = rows.filter_map(|row| row.split('`').next());
    names.map(str::to_owned).collect()
}

#[test]
fn the_table_of_modules_has_all_of_them() {
    let text = fs::read_to_string(root().join("src/lib.rs")).expect("there is a library");
    let public = text
        .lines()
        .filter_map(|line| line.strip_prefix("pub mod "));
    let mut public: Vec<&str> = public.map(|name| name.trim_end_matches(';')).collect();
    let table = table();
    let mut rows: Vec<&str> = table.iter().map(String::as_str).collect();
    public.sort_unstable();
    rows.sort_unstable();
    assert_eq!(public, rows);
}

#[test]
fn a_module_knows_only_those_above_it() {
    let table = table();
    let rank = |name: &str| table.iter().position(|known| known == name);
    let mut found = Vec::new();
    let mut uses = 0;
    for (path, text) in sources("src") {
        let Some(own) = rank(module(&path)).filter(|_| !is_test(&path)) else {
            continue;
        };
        let code = code(&text);
        for (at, name) in roots(&path, &code) {
            uses += 1;
            let is_above = rank(&name).map_or(SHARED.contains(&name.as_str()), |it| it <= own);
            if !is_above {
                let (path, line) = (path.display(), line(&code, at));
                found.push(format!(
                    "{path}:{line}: `{name}` is not above `{}`",
                    table[own]
                ));
            }
        }
    }
    assert!(uses > 100, "only {uses} uses were looked at");
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

/// Every name that is taken from the root of the crate, with the byte where.
fn roots(path: &Path, code: &str) -> Vec<(usize, String)> {
    // `src/quantity/mod.rs` is one module deep, `src/quantity/text.rs` two.
    let steps = path.components().count() - 1;
    let deep = steps - usize::from(path.ends_with("mod.rs"));
    let up = format!("{}::", ["super"].repeat(deep).join("::"));
    let mut roots = Vec::new();
    for prefix in ["crate::", up.as_str()] {
        for (at, _) in code.match_indices(prefix) {
            let is_whole = !code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_');
            let is_longer = code[..at].ends_with("super::");
            if !is_whole || is_longer {
                continue;
            }
            let rest = &code[at + prefix.len()..];
            if let Some(group) = rest.strip_prefix('{') {
                let group = &group[..group.find("};").unwrap_or(group.len())];
                roots.extend(group.split(',').filter_map(|name| Some((at, first(name)?))));
            } else {
                roots.extend(first(rest).map(|name| (at, name)));
            }
        }
    }
    roots
}

/// The name that a path starts with, where it is one of a module.
fn first(path: &str) -> Option<String> {
    let path = path.trim_start();
    let end = path.find(|c: char| !(c.is_alphanumeric() || c == '_'));
    let name = &path[..end.unwrap_or(path.len())];
    let is_module = name.starts_with(|c: char| c.is_lowercase()) && name != "super";
    is_module.then(|| name.to_owned())
}

#[test]
fn every_file_says_what_it_holds_and_can_be_read_at_a_sitting() {
    let mut found = Vec::new();
    let all = ["src", "tests"].into_iter().flat_map(sources);
    for (path, text) in all {
        let path = path.display();
        let header = text
            .strip_prefix("//!")
            .and_then(|rest| rest.lines().next());
        if header.is_none_or(|says| says.trim().len() < 10) {
            found.push(format!(
                "{path}: starts without a `//!` line that says what it holds"
            ));
        }
        let lines = text.lines().count();
        if lines >= LONGEST {
            found.push(format!(
                "{path}: {lines} lines; break it into ideas of their own"
            ));
        }
    }
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn the_reading_of_source_sees_through_comments_strings_and_groups() {
    let text = r##"//! crate::page
use std::{collections::BTreeMap, fs};
const A: &str = "std::net \" std::thread";
const B: char = '"'; /* SystemTime */ use crate::{finding::Place, quantity};
const C: &str = r#"std::env"#; type D = super::super::record::Part;

#[cfg(test)]
mod tests {
    use std::thread;
}
"##;
    let code = code(text);
    for hidden in ["page", "std::net", "std::thread", "SystemTime", "std::env"] {
        assert!(!code.contains(hidden), "{hidden} in {code}");
    }
    let grouped = with_groups_apart(&code);
    assert!(
        grouped.iter().any(|(_, path)| path == "std::fs"),
        "{grouped:?}"
    );
    let mut names: Vec<String> = roots(Path::new("src/trade/a.rs"), &code)
        .into_iter()
        .map(|(_, name)| name)
        .collect();
    names.sort();
    assert_eq!(names, ["finding", "quantity", "record"]);
}
