//! Boards as they were in earlier revisions.
//!
//! `[revision.<X>]` says which parts were fitted then; everything else is as it
//! is. A sheet speaks of a revision by `figure:charge_slow@A`, or, where the
//! revision is another board's, by `figure:surplus@cell_charger.A`.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

use super::{NodeId, Notebook, Override, Supposed, Target, Value, link};
use crate::finding::{Finding, Slug};
use crate::nearest::nearest;
use crate::prose::{Address, Link};
use crate::quantity::{Miss, Statement};
use crate::record::{Board, Records};

/// Notebooks as they would be with a board of an earlier revision, by board and
/// revision, each made when somebody asks.
pub(super) type Revised = Vec<Vec<OnceLock<Arc<Supposed>>>>;

pub(super) fn none_yet(records: &Records) -> Revised {
    let boards = records.boards.iter();
    let of = |board: &Arc<Board>| board.revisions.iter().map(|_| OnceLock::new()).collect();
    boards.map(of).collect()
}

/// Errata that speak of revisions which there are not.
pub(super) fn errata(board: &Board, findings: &mut Vec<Finding>) {
    let now = board.revision.value.as_str();
    if now.is_empty() {
        // It could not be read, and a finding says why.
        return;
    }
    let earlier = board.revisions.iter();
    let known: Vec<&str> = earlier
        .map(|revision| revision.id.value.as_str())
        .chain([now])
        .collect();
    let left_out = |name: &str| {
        let mut left_out = board.left_out.iter();
        left_out.any(|record| record.kind == "revision" && record.name == name)
    };
    for erratum in &board.errata {
        if erratum.affects.is_empty() {
            findings.push(
                Finding::new(Slug::BadValue, "an erratum affects no revision")
                    .at(erratum.place.clone(), "this erratum")
                    .help("name the revisions that have it under `affects`"),
            );
        }
        for written in erratum.affects.iter().chain(&erratum.fixed_in) {
            let mark = written.value.as_str();
            if known.contains(&mark) || left_out(mark) {
                continue;
            }
            let message = format!("`{}` had no revision `{mark}`", board.id.value);
            let finding = Finding::new(Slug::UnknownName, message)
                .at(written.place.clone(), "not known here");
            let help = match nearest(mark, known.iter().copied()) {
                Some(near) => format!("perhaps `{near}`"),
                None => format!("it has {}", super::resolve::listed(&known)),
            };
            findings.push(finding.help(help));
        }
        if let Some(fixed) = &erratum.fixed_in
            && let Some(affected) = erratum.affects.iter().find(|at| at.value == fixed.value)
        {
            let message = format!(
                "an erratum is mended in revision {}, and affects it",
                fixed.value
            );
            findings.push(
                Finding::new(Slug::BadValue, message)
                    .at(fixed.place.clone(), "mended here")
                    .at(affected.place.clone(), "and found here")
                    .help("take it out of one of the two"),
            );
        }
    }
}

/// What is wrong with a mark behind `@`, and one that may be meant.
pub(super) type Unmarked = (String, Option<String>);

/// The earlier revision that a mark behind `@` means: `A`, of the board that the
/// figure is on, or `cell_charger.A`. `None` for the revision that the board has
/// now. The error is what is wrong, and a mark that may be meant.
pub(super) fn revision_of(
    records: &Records,
    scope: &str,
    mark: &str,
) -> Result<Option<(usize, usize)>, Unmarked> {
    let (scope, mark, before) = match mark.split_once('.') {
        // Marks may hold points, ids of boards do not.
        Some((board, mark)) if records.board(board).is_some() => (board, mark, format!("{board}.")),
        _ => (scope, mark, String::new()),
    };
    let board = records.board_at(scope);
    let Some(board) = board else {
        return Err((format!("`{scope}` is no board, and has no revisions"), None));
    };
    let record = &records.boards[board];
    if record.revision.value == mark {
        return Ok(None);
    }
    let known = || {
        record
            .revisions
            .iter()
            .map(|revision| revision.id.value.as_str())
    };
    match known().position(|known| known == mark) {
        Some(revision) => Ok(Some((board, revision))),
        None => {
            let all = known().chain([record.revision.value.as_str()]);
            let near = nearest(mark, all).map(|near| format!("@{before}{near}"));
            Err((format!("`{scope}` had no revision `{mark}`"), near))
        }
    }
}

impl Notebook {
    /// The notebook with a board as it was in an earlier revision; `None` where
    /// there is no such revision. It is made once.
    pub fn revision(&self, board: usize, revision: usize) -> Option<&Supposed> {
        let made = self.revised.get(board)?.get(revision)?;
        let supposed = made.get_or_init(|| {
            let mut supposed = self.under_plain(&[Override::Revision { board, revision }]);
            self.dress(&mut supposed.notebook, board, revision);
            supposed.notebook.remember_with(self);
            Arc::new(supposed)
        });
        Some(supposed.as_ref())
    }

    /// Makes a notebook one of an earlier revision: its mark and date stand on
    /// the board, and what is printed and published now is not held against it.
    fn dress(&self, notebook: &mut Notebook, board: usize, revision: usize) {
        notebook.as_of = Some((board, revision));
        let text = |finding: &Finding| finding.slug == Slug::FigureDisagrees;
        notebook.findings.retain(|finding| !text(finding));
        let records = Arc::make_mut(&mut notebook.records);
        let record = Arc::make_mut(&mut records.boards[board]);
        let then = &self.records.boards[board].revisions[revision];
        record.revision = then.id.clone();
        record.date = Some(then.date.clone());
        record.tell.clone_from(&then.tell);
        for figure in &mut record.figures {
            figure.says = None;
        }
        for working in &mut record.workings {
            working.says.clear();
        }
        let missed: BTreeSet<NodeId> = notebook
            .blamed
            .iter()
            .copied()
            .filter(|&node| {
                let met = notebook
                    .requirement(node)
                    .zip(notebook.value(node))
                    .is_none_or(|(must, value)| must.misses(value.outcome).is_empty());
                !met || notebook.value(node).is_none()
            })
            .collect();
        let relations = notebook.comparisons.iter().flat_map(|all| &all.relations);
        let broken = relations.flatten().filter(|sides| {
            let room = notebook.room_between(sides);
            room.is_some_and(|room| room < 0.0)
        });
        let sides = broken.flat_map(|sides| [sides.left, sides.right]);
        let operands = sides.flat_map(|side| notebook.graph.operands(side).to_vec());
        let related: Vec<NodeId> = operands
            .filter(|node| notebook.blamed.contains(node))
            .collect();
        notebook.blamed = missed;
        notebook.blamed.extend(related);
    }

    /// Whether a finding is about what a sheet states of an earlier revision.
    pub(super) fn is_of_earlier_revision(&self, finding: &Finding) -> bool {
        let mut links = self.sheets.iter().flat_map(|sheet| {
            let links = sheet.document.links.iter().zip(&sheet.targets);
            links.filter(|(_, target)| matches!(target, Target::Revised { .. }))
        });
        let place = finding.place();
        links.any(|(link, _)| Some(&link.text_place) == place)
    }

    /// Findings of what sheets state of earlier revisions, with these overrides
    /// on top. Figures that have no value now have told of it, and are left out.
    pub(super) fn revised_links(
        &self,
        overrides: &[Override],
        has_value_now: impl Fn(NodeId) -> bool,
    ) -> Vec<Finding> {
        let mut wanted: BTreeMap<(usize, usize), Vec<(&Link, NodeId)>> = BTreeMap::new();
        for (link, node, at) in self.stated_of_earlier_revisions() {
            if has_value_now(node) {
                wanted.entry(at).or_default().push((link, node));
            }
        }
        let mut findings = Vec::new();
        for ((board, revision), links) in wanted {
            let mut all = overrides.to_vec();
            all.push(Override::Revision { board, revision });
            // Only what is stated is computed.
            let nodes: BTreeSet<NodeId> = links.iter().map(|(_, node)| *node).collect();
            let supposed = self.under_for(&all, &nodes);
            for (link, node) in links {
                let then = supposed.twin(self, node);
                let value = then.and_then(|then| supposed.notebook.value(then));
                findings.extend(self.held_then(link, node, (board, revision), value));
            }
        }
        findings
    }

    /// Links whose text has a number of an earlier revision: of which node, of
    /// which board and of which of its revisions.
    fn stated_of_earlier_revisions(&self) -> impl Iterator<Item = (&Link, NodeId, (usize, usize))> {
        let links = self.sheets.iter().flat_map(|sheet| {
            let targets = sheet.targets.iter();
            sheet.document.links.iter().zip(targets)
        });
        links.filter_map(|(link, target)| match *target {
            Target::Revised {
                node,
                board,
                revision,
            } if link.text.contains(|c: char| c.is_ascii_digit()) => {
                Some((link, node, (board, revision)))
            }
            _ => None,
        })
    }

    /// Holds what a link states of an earlier revision to a value.
    fn held_then(
        &self,
        link: &Link,
        node: NodeId,
        (board, revision): (usize, usize),
        value: Option<&Value>,
    ) -> Option<Finding> {
        let Address::Figure(name) = &link.kind else {
            return None;
        };
        let stated = match Statement::parse(&link.text, None) {
            Ok(stated) => stated,
            Err(fault) => return Some(link::unread(link, name, &fault)),
        };
        let place = &link.text_place;
        let record = &self.records.boards[board];
        let mark = &record.revisions[revision];
        // What has no value now has told of it.
        let now = self.value(node)?;
        let Some(value) = value else {
            let message = format!("`{name}` had no value");
            let finding = Finding::new(Slug::NotComputable, message)
                .at(place.clone(), "stated here")
                .at(mark.id.place.clone(), "with what was fitted then");
            return Some(finding.help("state no number of it"));
        };
        if !stated.dimension().comparable(now.dimension) {
            let (found, wanted) = (stated.dimension(), now.dimension);
            let message = format!("`{name}` is {wanted}, and the text states {found}");
            let finding = Finding::new(Slug::UnitMismatch, message);
            return Some(finding.at(place.clone(), format!("this is {found}")));
        }
        let misses = stated.misses(value.outcome);
        let miss = misses.first()?;
        let reached = match miss {
            Miss::Rounding => value.outcome.nominal,
            Miss::TooLow => value.outcome.low,
            Miss::TooHigh => value.outcome.high,
        };
        let (comes, finer) = (
            match miss {
                Miss::Rounding => "came to",
                Miss::TooLow => "could be as low as",
                Miss::TooHigh => "could be as high as",
            },
            stated.missed(*miss).finer(reached),
        );
        let mark_name = &mark.id.value;
        let message = format!(
            "`{name}` is stated as {}, and in revision {mark_name} {comes} {finer}",
            stated.text()
        );
        let mut finding = Finding::new(Slug::FigureDisagrees, message)
            .at(place.clone(), "stated here")
            .at(
                mark.id.place.clone(),
                format!("revision {mark_name} is described here"),
            );
        for line in mark.fitted.iter().take(3) {
            let label = format!("`{}` was `{}` then", line.designator.value, line.part.value);
            finding = finding.at(line.part.place.clone(), label);
        }
        if stated.misses(now.outcome).is_empty() {
            finding = finding.note(format!(
                "it holds for revision {}, which the board has now",
                record.revision.value
            ));
        }
        let restated = stated.restated(value.outcome);
        finding = finding.help(format!("if the records are right, write `{restated}`"));
        Some(finding.mend(place.clone(), restated))
    }
}
