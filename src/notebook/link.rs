//! Links of sheets: where they lead, and whether what they state holds.

use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

use camino::{Utf8Path, Utf8PathBuf};

use super::compare::Comparing;
use super::resolve::{is_designator, resolve};
use super::revised;
use super::sheet::{Sheet, SheetKind, Target};
use crate::finding::{Finding, Slug};
use crate::nearest::nearest;
use crate::prose::{Address, Link};
use crate::quantity::{Statement, TextFault, TextFaultKind};

/// Resolves the links of all sheets and checks the numbers that they state.
pub(super) fn check_links(
    comparing: &mut Comparing<'_>,
    sheets: &mut [Sheet],
    others: &BTreeSet<Utf8PathBuf>,
) {
    let index = Index::of(sheets);
    for sheet in sheets.iter_mut() {
        let mut targets = Vec::with_capacity(sheet.document.links.len());
        for link in &sheet.document.links {
            let looked_up = Lookup {
                sheet,
                index: &index,
                others,
            }
            .target(comparing, link);
            targets.push(looked_up.unwrap_or(Target::Nowhere));
        }
        sheet.targets = targets;
    }
}

/// Checks once more the numbers that resolved links state.
pub(super) fn check_stated(comparing: &mut Comparing<'_>, sheets: &[Arc<Sheet>]) {
    for sheet in sheets {
        for (link, target) in sheet.document.links.iter().zip(&sheet.targets) {
            let Target::Figure(node) = target else {
                continue;
            };
            let states = link.text.contains(|c: char| c.is_ascii_digit());
            if !states || !comparing.concerns(*node) {
                continue;
            }
            // What cannot be read has been told.
            if let Ok(stated) = Statement::parse(&link.text, None) {
                comparing.statement(*node, &stated, &link.text_place);
            }
        }
    }
}

/// Where each sheet is, by path, and the headings on it.
struct Index {
    sheets: Vec<(Utf8PathBuf, Vec<String>)>,
    by_path: HashMap<Utf8PathBuf, usize>,
}

impl Index {
    fn of(sheets: &[Sheet]) -> Index {
        let headings = |sheet: &Sheet| {
            sheet
                .document
                .headings
                .iter()
                .map(|heading| heading.id.clone())
                .collect()
        };
        Index {
            sheets: sheets
                .iter()
                .map(|sheet| (sheet.path.clone(), headings(sheet)))
                .collect(),
            by_path: (sheets.iter().enumerate())
                .map(|(at, sheet)| (sheet.path.clone(), at))
                .collect(),
        }
    }

    fn at(&self, path: &Utf8Path) -> Option<usize> {
        self.by_path.get(path).copied()
    }
}

struct Lookup<'a> {
    sheet: &'a Sheet,
    index: &'a Index,
    others: &'a BTreeSet<Utf8PathBuf>,
}

impl Lookup<'_> {
    /// Where a link leads; `None`, with a finding, where it leads nowhere.
    fn target(&self, comparing: &mut Comparing<'_>, link: &Link) -> Option<Target> {
        let board = self.sheet.board;
        match &link.kind {
            Address::Figure(name) => self.figure(comparing, link, name),
            Address::Board(id) => {
                let boards = &comparing.records.boards;
                let found = comparing.records.board_at(id);
                if found.is_none() {
                    let near = nearest(id, boards.iter().map(|board| board.id.value.as_str()))
                        .map(str::to_owned);
                    dead(comparing, link, format!("there is no board `{id}`"), near);
                }
                found.map(Target::Board)
            }
            Address::Part(name) => self.part(comparing, link, name),
            Address::Working(id) => {
                let workings = &comparing.records.boards[board].workings;
                let found = workings.iter().position(|working| working.id.value == *id);
                if found.is_none() {
                    let near =
                        nearest(id, workings.iter().map(|working| working.id.value.as_str()))
                            .map(str::to_owned);
                    dead(
                        comparing,
                        link,
                        format!("there is no working `{id}` on this board"),
                        near,
                    );
                }
                found.map(|at| Target::Working(board, at))
            }
            Address::Circuit(id) => {
                let circuits = &comparing.records.boards[board].circuits;
                let known = circuits.iter().map(|circuit| circuit.id.value.as_str());
                let found = known.clone().position(|known| known == id);
                if found.is_none() {
                    let near = nearest(id, known).map(str::to_owned);
                    let message = format!("there is no circuit `{id}` on this board");
                    dead(comparing, link, message, near);
                }
                found.map(|at| Target::Circuit(board, at))
            }
            Address::Pins(id) => {
                let boards = &comparing.records.boards;
                let known = boards.iter().filter(|board| board.pins.is_some());
                let found = comparing.records.board_at(id);
                let found = found.filter(|&board| boards[board].pins.is_some());
                if found.is_none() {
                    let near = nearest(id, known.map(|board| board.id.value.as_str()));
                    let near = near.map(str::to_owned);
                    let message = format!("there are no pins of `{id}` to draw");
                    dead(comparing, link, message, near);
                }
                found.map(Target::Pins)
            }
            Address::Log(name) => {
                let path = self.board_folder().join("log").join(format!("{name}.md"));
                let found = self.index.at(&path);
                if found.is_none() {
                    let folder = self.board_folder().join("log");
                    let entries = self
                        .index
                        .sheets
                        .iter()
                        .filter(|(path, _)| path.parent() == Some(&folder));
                    let near = nearest(name, entries.filter_map(|(path, _)| path.file_stem()))
                        .map(str::to_owned);
                    dead(
                        comparing,
                        link,
                        format!("there is no log entry `{name}` on this board"),
                        near,
                    );
                }
                found.map(|at| Target::Sheet(at, None))
            }
            Address::Path { path, fragment } => {
                self.path(comparing, link, path, fragment.as_deref())
            }
            Address::Fragment(id) => {
                let known: Vec<&str> = self
                    .sheet
                    .document
                    .headings
                    .iter()
                    .map(|heading| heading.id.as_str())
                    .collect();
                if known.contains(&id.as_str()) {
                    return Some(Target::Heading(id.clone()));
                }
                let near = nearest(id, known.iter().copied()).map(str::to_owned);
                dead(
                    comparing,
                    link,
                    format!("this sheet has no heading `#{id}`"),
                    near,
                );
                None
            }
            Address::Outside(address) => Some(Target::Outside(address.clone())),
            Address::Refused { .. } => None,
        }
    }

    /// The folder of the sheet's board: `boards/<id>`.
    fn board_folder(&self) -> &Utf8Path {
        let parent = self.sheet.path.parent().unwrap_or(Utf8Path::new(""));
        match self.sheet.kind {
            SheetKind::Log { .. } => parent.parent().unwrap_or(parent),
            SheetKind::Front | SheetKind::Further(_) => parent,
        }
    }

    fn figure(&self, comparing: &mut Comparing<'_>, link: &Link, name: &str) -> Option<Target> {
        let (name, mark) = match name.split_once('@') {
            Some((name, mark)) => (name, Some(mark)),
            None => (name, None),
        };
        let node = match resolve(comparing.graph, comparing.records, self.sheet.board, name) {
            Ok(node) => node,
            Err(unresolved) => {
                comparing
                    .findings
                    .extend(unresolved.finding(link.destination_place.clone()));
                return None;
            }
        };
        comparing.value_given_late(node);
        if let Some(mark) = mark {
            let records = comparing.records;
            match revised::revision_of(records, &comparing.graph.node(node).scope, mark) {
                Ok(Some((board, revision))) => {
                    return Some(Target::Revised {
                        node,
                        board,
                        revision,
                    });
                }
                // The revision that the board has now.
                Ok(None) => {}
                Err((message, near)) => {
                    dead(comparing, link, message, near);
                    return None;
                }
            }
        }
        // A link whose words hold no number only points at the figure.
        if !link.text.contains(|c: char| c.is_ascii_digit()) {
            return Some(Target::Figure(node));
        }
        match Statement::parse(&link.text, None) {
            Ok(stated) => comparing.statement(node, &stated, &link.text_place),
            Err(fault) => comparing.findings.push(unread(link, name, &fault)),
        }
        Some(Target::Figure(node))
    }

    fn part(&self, comparing: &mut Comparing<'_>, link: &Link, name: &str) -> Option<Target> {
        let board = &comparing.records.boards[self.sheet.board];
        if is_designator(name) {
            let designators = board
                .fitted
                .iter()
                .map(|line| line.designator.value.as_str());
            let found = designators
                .clone()
                .position(|designator| designator == name);
            if found.is_none() {
                let near = nearest(name, designators).map(str::to_owned);
                dead(
                    comparing,
                    link,
                    format!("no `{name}` is fitted on this board"),
                    near,
                );
            }
            return found.map(|line| Target::Fitted(self.sheet.board, line));
        }
        let parts = comparing
            .records
            .parts
            .iter()
            .map(|part| part.id.value.as_str());
        let found = parts.clone().position(|id| id == name);
        if found.is_none() {
            let near = nearest(name, parts).map(str::to_owned);
            dead(comparing, link, format!("there is no part `{name}`"), near);
        }
        found.map(Target::Part)
    }

    fn path(
        &self,
        comparing: &mut Comparing<'_>,
        link: &Link,
        path: &str,
        fragment: Option<&str>,
    ) -> Option<Target> {
        let folder = self.sheet.path.parent().unwrap_or(Utf8Path::new(""));
        let Some(target) = joined(folder, path) else {
            comparing.findings.push(
                Finding::new(
                    Slug::OutsideNotebook,
                    format!("the link to `{path}` leads out of the notebook's folder"),
                )
                .at(
                    link.destination_place.clone(),
                    "above the notebook's folder",
                )
                .help("copy the file into the notebook, or link to where it is published"),
            );
            return None;
        };
        if let Some(sheet) = self.index.at(&target) {
            let headings = &self.index.sheets[sheet].1;
            if let Some(id) = fragment.filter(|&id| !headings.iter().any(|known| known == id)) {
                let near = nearest(id, headings.iter().map(String::as_str)).map(str::to_owned);
                dead(
                    comparing,
                    link,
                    format!("`{target}` has no heading `#{id}`"),
                    near,
                );
                return None;
            }
            return Some(Target::Sheet(sheet, fragment.map(str::to_owned)));
        }
        if self.others.contains(&target) {
            return Some(Target::File(target));
        }
        let known = self.index.sheets.iter().map(|(path, _)| path.as_str());
        let known = known.chain(self.others.iter().map(|path| path.as_str()));
        let near = nearest(target.as_str(), known).map(str::to_owned);
        dead(
            comparing,
            link,
            format!("there is no file `{target}`"),
            near,
        );
        None
    }
}

/// The finding of a stated text that cannot be read.
pub(super) fn unread(link: &Link, name: &str, fault: &TextFault) -> Finding {
    let slug = match fault.kind {
        TextFaultKind::DecimalComma { .. } => Slug::DecimalComma,
        TextFaultKind::UnknownUnit(_) => Slug::UnknownUnit,
        TextFaultKind::WrongDimension { .. } => Slug::UnitMismatch,
        _ => Slug::QuantityForm,
    };
    let place = if link.literal {
        link.text_place.within(fault.span.clone())
    } else {
        link.text_place.clone()
    };
    let message = format!("a number is stated for `{name}`, and its text cannot be read: {fault}");
    let finding = Finding::new(slug, message).at(place, "here");
    match fault.mend() {
        Some(mend) => finding.help(mend),
        None => finding,
    }
}

fn dead(comparing: &mut Comparing<'_>, link: &Link, message: String, near: Option<String>) {
    let mut finding =
        Finding::new(Slug::DeadLink, message).at(link.destination_place.clone(), "leads nowhere");
    if let Some(near) = near {
        finding = finding.help(format!("perhaps `{near}`"));
    }
    comparing.findings.push(finding);
}

/// A path counted from a folder, with its dots worked out; `None` where it
/// climbs above the notebook's folder.
fn joined(folder: &Utf8Path, path: &str) -> Option<Utf8PathBuf> {
    let mut steps: Vec<&str> = folder.components().map(|step| step.as_str()).collect();
    for step in path.split('/') {
        match step {
            "" | "." => {}
            ".." => {
                steps.pop()?;
            }
            step => steps.push(step),
        }
    }
    Some(steps.join("/").into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_joined_and_never_leave_the_notebook() {
        let join = |path| joined("boards/a/log".into(), path).map(Utf8PathBuf::into_string);
        assert_eq!(join("../front.md").as_deref(), Some("boards/a/front.md"));
        assert_eq!(join("./x.md").as_deref(), Some("boards/a/log/x.md"));
        assert_eq!(join("../../../../etc"), None);
    }
}
