//! The Open Know-How manifest of a board, as a file of TOML 1.0.
//!
//! It has the keys that its schema requires and no other: a key that the records
//! do not settle is left out, and where a required one cannot be filled there is
//! no manifest at all.

use std::fmt::Write;

use super::Notebook;
use super::complete::is_described;
use crate::finding::{Finding, Slug};
use crate::record::{Board, Records, Status};

/// The version of the specification that the keys are those of.
const VERSION: &str = "2.4";

/// A key, and its value or what would settle it.
type Entry = (&'static str, Result<String, &'static str>);

fn entries(records: &Records, board: &Board) -> Vec<Entry> {
    let notebook = &records.notebook;
    let licence = board.licence.as_ref().or(notebook.licence.as_ref());
    let text = |text: Option<&crate::finding::Located<String>>, lacks| {
        text.map(|text| text.value.clone()).ok_or(lacks)
    };
    let stated = |text: &str, lacks| match text.is_empty() {
        true => Err(lacks),
        false => Ok(text.to_owned()),
    };
    vec![
        ("okhv", Ok(VERSION.to_owned())),
        ("name", stated(&board.title.value, "`title` of `[board]`")),
        (
            "repo",
            text(notebook.source.as_ref(), "`source` of `[notebook]`"),
        ),
        (
            "version",
            stated(&board.revision.value, "`revision` of `[board]`"),
        ),
        ("license", text(licence, "`licence` of `[board]`")),
        (
            "licensor",
            stated(&notebook.owner, "`owner` of `[notebook]`"),
        ),
        (
            "function",
            text(board.function.as_ref(), "`function` of `[board]`"),
        ),
        (
            "documentation-language",
            stated(&notebook.language, "`language` of `[notebook]`"),
        ),
    ]
}

/// Whether somebody means a board to have a manifest: the notebook is published
/// in the open, or the board says what it is for.
fn is_meant(records: &Records, board: &Board) -> bool {
    let is_told = records.notebook.source.is_some() || board.function.is_some();
    is_told && !matches!(board.status, Status::Concept | Status::Withdrawn)
}

/// Tells of boards that lack what their manifest must have.
pub(super) fn check(records: &Records, findings: &mut Vec<Finding>) {
    for board in records.boards.iter().filter(|it| is_meant(records, it)) {
        let entries = entries(records, board).into_iter();
        let lacks: Vec<&str> = entries.filter_map(|(_, value)| value.err()).collect();
        if lacks.is_empty() {
            continue;
        }
        let message = format!("`{}` gets no Open Know-How manifest", board.id.value);
        findings.push(
            Finding::new(Slug::ManifestIncomplete, message)
                .at(board.id.place.clone(), "this board")
                .help(format!("say {}", lacks.join(" and "))),
        );
    }
}

impl Notebook {
    /// The Open Know-How manifest of a board; `None` where the records do not
    /// settle every key that it must have, or the board is not published.
    pub fn manifest(&self, board: usize) -> Option<String> {
        let record = self.records.boards.get(board)?;
        if !(is_meant(&self.records, record) && is_described(&self.records, record)) {
            return None;
        }
        let mut text =
            "# Open Know-How manifest, written from the records of the board.\n\n".to_owned();
        for (key, value) in entries(&self.records, record) {
            // Writing to a string does not fail.
            let _ = writeln!(text, "{key} = {}", basic_string(&value.ok()?));
        }
        Some(text)
    }
}

/// A basic string of TOML 1.0.
fn basic_string(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out + "\""
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn any_text_comes_back_from_a_basic_string() {
        for text in [
            "plain",
            "a \"quoted\" word",
            "back\\slash",
            "two\nlines\tand\u{1}\u{7f}",
            "µΩ",
        ] {
            let toml = format!("x = {}", basic_string(text));
            let table: toml::Table = toml.parse().unwrap();
            assert_eq!(table["x"].as_str(), Some(text), "{toml}");
        }
    }
}
