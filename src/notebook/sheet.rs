//! Sheets: the Markdown files of boards, their links resolved and their stated
//! numbers checked.

use camino::Utf8PathBuf;
use jiff::civil::Date;
use rayon::prelude::*;

use super::graph::NodeId;
use crate::finding::{FileId, Finding, Place, Slug, Sources};
use crate::prose::Document;
use crate::record::Records;

/// What a sheet is in its board's set.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum SheetKind {
    /// `front.md`: for customers.
    Front,
    /// Any further Markdown file, such as `design.md`; its name without ending.
    Further(String),
    /// A dated entry of the design log.
    Log {
        /// Its date.
        date: Date,
        /// File name without ending: `2026-03-12-first-samples`.
        name: String,
    },
}

/// One Markdown file of a board.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Position of its board in the records.
    pub board: usize,
    /// What it is.
    pub kind: SheetKind,
    /// Its path in the notebook.
    pub path: Utf8PathBuf,
    /// What was read.
    pub document: Document,
    /// Where each link of the document leads, in the same order.
    pub targets: Vec<Target>,
}

impl Sheet {
    /// The first heading, or the file's name where it has none.
    pub fn title(&self) -> String {
        self.document.title.clone().unwrap_or_else(|| {
            self.path
                .file_stem()
                .unwrap_or("sheet")
                .replace(['-', '_'], " ")
        })
    }
}

/// Where a link leads.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Target {
    /// A figure, a part's value, or a working's result.
    Figure(NodeId),
    /// A figure as it was in an earlier revision of a board.
    Revised {
        /// The figure.
        node: NodeId,
        /// The board.
        board: usize,
        /// Which of its earlier revisions.
        revision: usize,
    },
    /// A board, by its position.
    Board(usize),
    /// A designator: board and line of `[fitted]`.
    Fitted(usize, usize),
    /// A part, by its position.
    Part(usize),
    /// A working: board and position.
    Working(usize, usize),
    /// A circuit: board and position.
    Circuit(usize, usize),
    /// The pins of a board.
    Pins(usize),
    /// A sheet, by its position, and a heading on it.
    Sheet(usize, Option<String>),
    /// A heading on the same sheet.
    Heading(String),
    /// Another file of the notebook.
    File(Utf8PathBuf),
    /// An address outside.
    Outside(String),
    /// Nowhere; a finding says so.
    Nowhere,
}

/// Sorts the Markdown files into sheets. A file that belongs to no board has a
/// finding.
pub(super) fn sheets(
    sources: &Sources,
    markdown: &[FileId],
    records: &Records,
    findings: &mut Vec<Finding>,
) -> Vec<Sheet> {
    let mut known = Vec::new();
    for &file in markdown {
        let source = sources.file(file);
        let steps: Vec<&str> = source.path.components().map(|step| step.as_str()).collect();
        let (id, kind) = match steps.as_slice() {
            ["boards", id, "front.md"] => (*id, SheetKind::Front),
            ["boards", id, name] => (
                *id,
                SheetKind::Further(name.trim_end_matches(".md").to_owned()),
            ),
            ["boards", id, "log", name] => {
                let stem = name.trim_end_matches(".md");
                match log_date(stem) {
                    Ok(date) => (
                        *id,
                        SheetKind::Log {
                            date,
                            name: stem.to_owned(),
                        },
                    ),
                    Err(why) => {
                        findings.push(
                            Finding::new(
                                Slug::BadValue,
                                format!("`{name}` is no name of a log entry: {why}"),
                            )
                            .at(Place::new(file, 0..0), "this file")
                            .help("name it `YYYY-MM-DD-slug.md`"),
                        );
                        continue;
                    }
                }
            }
            // Text beside the boards, such as a README for contributors.
            _ => continue,
        };
        let Some(board) = records.board_at(id) else {
            continue;
        };
        known.push((file, board, kind));
    }
    let read = known.into_par_iter().map(|(file, board, kind)| {
        let source = sources.file(file);
        let (document, found) = crate::prose::read(file, &source.text);
        let sheet = Sheet {
            board,
            kind,
            path: source.path.clone(),
            document,
            targets: Vec::new(),
        };
        (sheet, found)
    });
    let mut sheets = Vec::new();
    for (sheet, found) in read.collect::<Vec<_>>() {
        sheets.push(sheet);
        findings.extend(found);
    }
    sheets.sort_by(|a, b| (a.board, &a.kind).cmp(&(b.board, &b.kind)));
    sheets
}

fn log_date(stem: &str) -> Result<Date, String> {
    let date = stem.get(..10).ok_or("it does not start with a date")?;
    if !stem
        .get(10..)
        .is_some_and(|rest| rest.starts_with('-') && rest.len() > 1)
    {
        return Err("a slug is missing after the date".into());
    }
    date.parse().map_err(|error: jiff::Error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_entry_is_named_by_its_day() {
        assert!(log_date("2026-03-12-first-samples").is_ok());
        assert!(log_date("2026-02-30-no-such-day").is_err());
        assert!(log_date("2026-03-12").is_err());
        assert!(log_date("first-samples").is_err());
    }
}
