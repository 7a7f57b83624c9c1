//! Bills of materials, held against what boards have fitted.
//!
//! A list is somebody's export of a moment: what it says of each designator is
//! held against `[fitted]` and the part's record, and what disagrees is told with
//! both places.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use camino::{Utf8Path, Utf8PathBuf};

use super::bom_row::Columns;
use super::resolve::listed;
use crate::finding::{FileId, Finding, Level, Place, Slug, Sources};
use crate::nearest::nearest;
use crate::record::{Board, BomRecord, Cell, Fitted, Part, Records, designators, rows};

/// Separators that spreadsheet programs write, depending on the country.
const SEPARATORS: [char; 3] = [',', ';', '\t'];

/// Holds every list there is against its board.
pub(super) fn check(
    sources: &Sources,
    files: &BTreeSet<Utf8PathBuf>,
    records: &Records,
    findings: &mut Vec<Finding>,
) {
    for board in &records.boards {
        let path = Utf8Path::new("boards")
            .join(&board.id.value)
            .join("bom.csv");
        let file = sources.by_path(&path);
        match (&board.bom, file) {
            (Some(map), Some(file)) if files.contains(&path) => {
                let list = List {
                    sources,
                    records,
                    board,
                    map,
                    file,
                };
                list.check(findings);
            }
            (Some(map), None) => findings.push(
                Finding::new(Slug::MissingRecord, format!("there is no list `{path}`"))
                    .at(map.place.clone(), "its columns are described here")
                    .help("put the bill of materials there, as CSV, or take `[bom]` out"),
            ),
            (None, Some(file)) if files.contains(&path) => {
                let message = format!("nothing holds `{path}` against the board");
                let mut finding = Finding::new(Slug::MissingKey, message)
                    .at(Place::new(file, 0..0), "not read")
                    .help("describe its columns in a table `[bom]` of `board.toml`");
                finding.level = Level::Caution;
                findings.push(finding);
            }
            // No list, or one that could not be read: that has been told.
            _ => {}
        }
    }
}

/// A list with the board that it is of.
pub(super) struct List<'a> {
    pub(super) sources: &'a Sources,
    pub(super) records: &'a Records,
    pub(super) board: &'a Board,
    pub(super) map: &'a BomRecord,
    file: FileId,
}

/// A designator of the list.
pub(super) struct Mention<'a> {
    /// Its name.
    pub name: String,
    /// Where it stands.
    pub place: Place,
    /// Row that it stands in.
    pub row: &'a [Cell],
}

impl List<'_> {
    fn check(&self, findings: &mut Vec<Finding>) {
        let text = &self.sources.file(self.file).text;
        let Some(columns) = self.columns(text, findings) else {
            return;
        };
        let (rows, faults) = rows(text, columns.separator);
        for fault in &faults {
            findings.push(
                Finding::new(Slug::FileUnreadable, fault.says())
                    .at(self.place(fault.span()), "here")
                    .help("a quotation mark within a quoted cell is doubled (RFC 4180)"),
            );
        }
        // What swallows a separator makes nonsense of every cell behind it.
        if !faults.is_empty() {
            return;
        }
        let heads = rows.first().map_or(0, Vec::len);
        let mut mentions: Vec<Mention<'_>> = Vec::new();
        for row in rows.get(1..).unwrap_or_default() {
            if !self.is_whole(row, heads, findings) {
                continue;
            }
            let mentioned = self.mentioned(row, &columns, findings);
            columns.check_row(self, row, &mentioned, findings);
            mentions.extend(mentioned);
        }
        self.twice(&mentions, findings);
        let stands = self.listed_values(&mentions, &columns);
        for mention in &mentions {
            if let Some((line, part)) = self.line_of(mention, findings) {
                columns.check_part(self, mention, line, part, &stands, findings);
            }
        }
        self.missing(&mentions, findings);
        self.map_names(&mentions, findings);
    }

    pub(super) fn place(&self, span: Range<usize>) -> Place {
        Place::new(self.file, span)
    }

    /// The place of a cell; of its whole row where the cell is empty.
    pub(super) fn cell_place(&self, row: &[Cell], cell: &Cell) -> Place {
        let span = if cell.text.is_empty() {
            let first = row.first().map_or(cell.span.start, |cell| cell.span.start);
            let last = row.last().map_or(cell.span.end, |cell| cell.span.end);
            first..last
        } else {
            cell.span.clone()
        };
        self.place(span)
    }

    /// Finds the columns under the separator that shows most of their heads.
    fn columns(&self, text: &str, findings: &mut Vec<Finding>) -> Option<Columns> {
        let tried = SEPARATORS.map(|separator| {
            let head = text.trim_start_matches(['\r', '\n']);
            let first = text.len() - head.len();
            let line = head.find(['\r', '\n']).unwrap_or(head.len());
            let heads = rows(&text[..first + line], separator).0.into_iter().next();
            let heads = heads.unwrap_or_default();
            (Columns::of(self.map, &heads, separator), heads)
        });
        let best = tried.into_iter().reduce(|best, other| {
            let count = |tried: &(Columns, Vec<Cell>)| (tried.0.found(), tried.1.len());
            if count(&other) > count(&best) {
                other
            } else {
                best
            }
        });
        let (columns, heads) = best?;
        let known: Vec<&str> = heads.iter().map(|head| head.text.as_str()).collect();
        let last = heads.last().map_or(0, |head| head.span.end);
        let shown = heads.first().map_or(0, |head| head.span.start)..last;
        for (wanted, at) in columns.wanted(self.map) {
            if at.is_some() {
                continue;
            }
            let help = match nearest(&wanted.value, known.iter().copied()) {
                Some(near) => format!("perhaps `{near}`"),
                None if known.is_empty() => "the list is empty".into(),
                None => format!("its columns are {}", listed(&known)),
            };
            findings.push(
                Finding::new(
                    Slug::UnknownName,
                    format!("the list has no column `{}`", wanted.value),
                )
                .at(wanted.place.clone(), "not a head of a column")
                .at(self.place(shown.clone()), "the heads")
                .help(help),
            );
        }
        columns.designators.is_some().then_some(columns)
    }

    /// Whether a row has as many cells as there are heads; empty ones too many at
    /// its end do no harm.
    fn is_whole(&self, row: &[Cell], heads: usize, findings: &mut Vec<Finding>) -> bool {
        let more = row.get(heads..).unwrap_or_default();
        if row.len() >= heads && more.iter().all(|cell| cell.text.is_empty()) {
            return true;
        }
        let start = row.first().map_or(0, |cell| cell.span.start);
        let end = row.last().map_or(0, |cell| cell.span.end);
        let message = format!(
            "this row has {} cells, and there are {heads} heads of columns",
            row.len()
        );
        findings.push(
            Finding::new(Slug::FileUnreadable, message)
                .at(self.place(start..end), "a cell too few or too many")
                .help("a cell that holds the separator stands in quotation marks (RFC 4180)"),
        );
        false
    }

    /// The designators of a row.
    fn mentioned<'r>(
        &self,
        row: &'r [Cell],
        columns: &Columns,
        findings: &mut Vec<Finding>,
    ) -> Vec<Mention<'r>> {
        let Some(cell) = columns.designators.and_then(|at| row.get(at)) else {
            return Vec::new();
        };
        let start = cell.span.start;
        // Doubled quotation marks would shift the places, and none stands in a
        // list of designators.
        let (found, faults) = designators(&cell.text);
        let exact = cell.span.len() == cell.text.len();
        let place = |span: Range<usize>| match exact {
            true => self.place(start + span.start..start + span.end),
            false => self.place(cell.span.clone()),
        };
        if found.is_empty() && faults.is_empty() {
            findings.push(
                Finding::new(Slug::BomDiffers, "this row names no designator")
                    .at(self.cell_place(row, cell), "of which part?")
                    .at(
                        self.map.designators.place.clone(),
                        "the column of designators",
                    )
                    .help("take the row out, or name the parts that it is about"),
            );
        }
        for fault in faults {
            findings.push(
                Finding::new(
                    Slug::BomDiffers,
                    format!("`{}` is {}", &cell.text[fault.span.clone()], fault.why),
                )
                .at(place(fault.span), "in the column of designators")
                .at(self.map.designators.place.clone(), "this column")
                .help("designators are written `R1`, `R1-R4` or `R1, R7`"),
            );
        }
        found
            .into_iter()
            .map(|listed| Mention {
                name: listed.name,
                place: place(listed.span),
                row,
            })
            .collect()
    }

    /// A designator stands in one row.
    fn twice(&self, mentions: &[Mention<'_>], findings: &mut Vec<Finding>) {
        let mut first: BTreeMap<&str, &Place> = BTreeMap::new();
        for mention in mentions {
            let Some(earlier) = first.insert(&mention.name, &mention.place) else {
                continue;
            };
            let message = format!("the list has `{}` twice", mention.name);
            findings.push(
                Finding::new(Slug::BomDiffers, message)
                    .at(mention.place.clone(), "again here")
                    .at(earlier.clone(), "first here")
                    .help("a designator stands for one part: take it out of one of the rows"),
            );
        }
    }

    /// The line of `[fitted]` that a designator of the list is of, with its part;
    /// tells of one that is not there.
    fn line_of(
        &self,
        mention: &Mention<'_>,
        findings: &mut Vec<Finding>,
    ) -> Option<(&Fitted, &Part)> {
        if self.names_it(&self.map.beyond, &mention.name).is_some() {
            return None;
        }
        let mut lines = self.board.fitted.iter();
        let Some(line) = lines.find(|line| line.designator.value == mention.name) else {
            let left_out = self.board.left_out.iter();
            let mut left_out = left_out.filter(|record| record.kind == "fitted");
            if left_out.any(|record| record.name == mention.name) {
                return None;
            }
            let message = format!(
                "the list has `{}`, and `[fitted]` of `{}` has not",
                mention.name, self.board.id.value
            );
            let mut finding = Finding::new(Slug::BomDiffers, message)
                .at(mention.place.clone(), "one too many, or one forgotten");
            if let Some(last) = self.board.fitted.last() {
                finding = finding.at(last.designator.place.clone(), "the last one fitted");
            }
            findings.push(finding.help(
                "fit it under `[fitted]`, or name it under `beyond` of `[bom]` if it stands for no part",
            ));
            return None;
        };
        Some((line, self.records.part(&line.part.value)?))
    }

    /// The value that the list gives each designator, for telling swapped rows.
    fn listed_values<'r>(
        &self,
        mentions: &[Mention<'r>],
        columns: &Columns,
    ) -> BTreeMap<String, &'r str> {
        let value = |mention: &Mention<'r>| {
            let cell = mention.row.get(columns.value?)?;
            Some((mention.name.clone(), cell.text.as_str()))
        };
        mentions.iter().filter_map(value).collect()
    }

    /// Parts that are fitted and not in the list.
    fn missing(&self, mentions: &[Mention<'_>], findings: &mut Vec<Finding>) {
        let named: BTreeSet<&str> = mentions
            .iter()
            .map(|mention| mention.name.as_str())
            .collect();
        for line in self.board.fitted.iter().filter(|line| line.fit) {
            let name = line.designator.value.as_str();
            if named.contains(name) || self.names_it(&self.map.leaves_out, name).is_some() {
                continue;
            }
            let text = &self.sources.file(self.file).text;
            let first = text.find(['\r', '\n']).unwrap_or(text.len());
            findings.push(
                Finding::new(
                    Slug::BomDiffers,
                    format!("`{name}` is fitted on `{}`, and the list lacks it", self.board.id.value),
                )
                .at(line.designator.place.clone(), format!("`{}` is fitted here", line.part.value))
                .at(self.place(0..first), "in no row of this list")
                .help("export the list anew, or name it under `leaves_out` of `[bom]` if it is rightly not there"),
            );
        }
    }
}
