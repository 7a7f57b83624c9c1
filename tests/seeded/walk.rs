//! What hangs on a fitted part, found by reading the records' text once more.
//!
//! This walk knows nothing of the program's own graph: it takes every word of
//! a formula that is the name of a figure, a working, a circuit or a designator, and
//! follows those words.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use camino::Utf8Path;

/// A board and a name on it: of a figure, of a working, of a circuit, of a fixture, of a
/// designator.
pub type Name = (String, String);

/// The names of a notebook, each with those that its formulas mention.
pub struct Walk {
    mentions: BTreeMap<Name, BTreeSet<Name>>,
}

impl Walk {
    /// Reads the boards of the notebook in a folder.
    pub fn of(root: &Utf8Path) -> Walk {
        let mut boards: BTreeMap<String, toml::Table> = BTreeMap::new();
        let folder = fs::read_dir(root.join("boards")).expect("a notebook has boards");
        for entry in folder {
            let entry = entry.expect("the folder can be read");
            let id = entry.file_name().into_string().expect("an id is plain");
            let text = fs::read_to_string(entry.path().join("board.toml"));
            let table = text.expect("a board has a record").parse();
            boards.insert(id, table.expect("the demo is TOML"));
        }
        let mut mentions = BTreeMap::new();
        for (id, board) in &boards {
            for (figure, record) in records(board, "figure") {
                let words = text_of(record, "from").map(words).unwrap_or_default();
                mentions.insert(own(id, figure), named(&boards, id, words));
            }
            for (working, record) in records(board, "working") {
                let no_input = ["kind", "means", "says", "must", "audience"];
                let inputs = record
                    .iter()
                    .filter(|(key, _)| !no_input.contains(&key.as_str()));
                let texts = inputs.flat_map(|(_, value)| texts_in(value));
                let words = texts.flat_map(words).collect();
                mentions.insert(own(id, working), named(&boards, id, words));
            }
            for (fixture, record) in records(board, "fixture") {
                let keys = ["measures", "error", "resolution", "reference"];
                let steps = records(record, "step");
                let texts = steps.flat_map(|(_, step)| keys.map(|key| text_of(step, key)));
                let words = texts.flatten().flat_map(words).collect();
                mentions.insert(own(id, fixture), named(&boards, id, words));
            }
            for (circuit, record) in records(board, "circuit") {
                let parts = record.get("between").and_then(toml::Value::as_table);
                let parts = parts.into_iter().flat_map(toml::Table::keys);
                let mut words: Vec<&str> = parts.map(String::as_str).collect();
                for (_, drive) in records(record, "drive") {
                    let texts = ["voltage", "current", "amplitude"].iter();
                    words.extend(
                        texts
                            .filter_map(|key| text_of(drive, key))
                            .flat_map(self::words),
                    );
                }
                mentions.insert(own(id, circuit), named(&boards, id, words));
            }
        }
        Walk { mentions }
    }

    /// Everything that hangs on a name, the name itself included.
    pub fn hanging_on(&self, board: &str, name: &str) -> BTreeSet<Name> {
        let mut reached = BTreeSet::from([own(board, name)]);
        loop {
            let next = self.mentions.iter().filter(|(name, mentioned)| {
                !reached.contains(*name) && !mentioned.is_disjoint(&reached)
            });
            let next: Vec<Name> = next.map(|(name, _)| name.clone()).collect();
            if next.is_empty() {
                return reached;
            }
            reached.extend(next);
        }
    }
}

fn own(board: &str, name: &str) -> Name {
    (board.to_owned(), name.to_owned())
}

fn records<'t>(
    board: &'t toml::Table,
    kind: &str,
) -> impl Iterator<Item = (&'t String, &'t toml::Table)> {
    let named = board.get(kind).and_then(toml::Value::as_table);
    let named = named.into_iter().flatten();
    named.filter_map(|(id, record)| Some((id, record.as_table()?)))
}

fn text_of<'t>(record: &'t toml::Table, key: &str) -> Option<&'t str> {
    record.get(key).and_then(toml::Value::as_str)
}

/// The texts in a value, however deep.
fn texts_in(value: &toml::Value) -> Vec<&str> {
    match value {
        toml::Value::String(text) => vec![text],
        toml::Value::Array(values) => values.iter().flat_map(texts_in).collect(),
        toml::Value::Table(table) => table
            .iter()
            .flat_map(|(_, value)| texts_in(value))
            .collect(),
        _ => Vec::new(),
    }
}

/// The words of a formula: letters, digits, underscores and points, starting
/// with a letter. Units are words too; no name is spelled like one.
fn words(formula: &str) -> Vec<&str> {
    let part = |c: char| c.is_alphanumeric() || c == '_' || c == '.';
    let words = formula.split(|c| !part(c));
    words
        .filter(|word| word.starts_with(char::is_alphabetic))
        .collect()
}

/// What the words of a formula on a board name.
fn named(boards: &BTreeMap<String, toml::Table>, board: &str, words: Vec<&str>) -> BTreeSet<Name> {
    let mut named = BTreeSet::new();
    for word in words {
        let (first, rest) = word.split_once('.').unwrap_or((word, ""));
        let (board, name) = if boards.contains_key(first) {
            (first, rest.split('.').next().unwrap_or(rest))
        } else {
            (board, first)
        };
        let record = &boards[board];
        let is_there = ["figure", "working", "circuit", "fitted"]
            .iter()
            .any(|kind| {
                let table = record.get(*kind).and_then(toml::Value::as_table);
                table.is_some_and(|table| table.contains_key(name))
            });
        if is_there {
            named.insert(own(board, name));
        }
    }
    named
}
