//! From records to the graph of figures.

use rayon::prelude::*;

use super::graph::{Body, Calculation, Graph, Node, NodeId, Origin};
use super::network::Stress;
use super::pin_nodes::PinNodes;
use super::resolve::resolve;
use crate::finding::{Finding, Located, Place, Slug, Sources, stretch};
use crate::formula::{Comparator, Comparison, Formula, FormulaFault, FormulaFaultSort};
use crate::nearest::nearest;
use crate::quantity::Dimension;
use crate::record::{FigureBody, Hazard, Records, WorkingRecord};

/// Both sides of a comparison on the graph.
#[derive(Debug)]
pub struct Sides {
    /// The left side.
    pub left: NodeId,
    /// How they are compared.
    pub comparator: Comparator,
    /// The right side.
    pub right: NodeId,
}

/// Comparisons of one board, each `None` where it could not be read.
#[derive(Debug, Default)]
pub struct BoardComparisons {
    /// Of its relations, in their order.
    pub relations: Vec<Option<Sides>>,
    /// Of its cautions, in their order.
    pub cautions: Vec<Option<Sides>>,
    /// Of what its workings ask for, by working and by number within it.
    pub workings: Vec<(usize, usize, Sides)>,
    /// Ratings of the parts in its circuits.
    pub(super) stresses: Vec<Stress>,
}

/// A formula whose names are still text.
pub(super) struct Pending {
    pub node: NodeId,
    pub board: usize,
    pub formula: Formula,
    pub place: Place,
    /// What is put before a name: the working whose own names these are.
    pub own: Option<String>,
    pub wanted: Option<Dimension>,
}

/// The graph of all figures, and the comparisons that hang on it.
pub(super) fn build(
    sources: &Sources,
    records: &Records,
    findings: &mut Vec<Finding>,
) -> (Graph, Vec<BoardComparisons>, Vec<PinNodes>) {
    let mut builder = Builder {
        sources,
        records,
        graph: Graph::default(),
        pending: Vec::new(),
        findings,
    };
    for (at, formulas) in formulas(records).into_iter().enumerate() {
        builder.check_names(at);
        builder.figures(at, formulas);
        builder.workings(at);
        builder.fixtures(at);
    }
    for at in 0..records.boards.len() {
        builder.circuits(at);
    }
    let pins = (0..records.boards.len())
        .map(|at| builder.pins(at))
        .collect();
    builder.resolve_pending();
    let comparisons = (0..records.boards.len())
        .map(|at| builder.comparisons(at))
        .collect();
    (builder.graph, comparisons, pins)
}

/// A formula, or why there is none.
type Read = Result<Formula, FormulaFault>;

/// The formulas of figures, by board and figure. Nothing hangs on the order in
/// which they are read, and there are many.
fn formulas(records: &Records) -> Vec<Vec<Option<Read>>> {
    let boards = records.boards.par_iter();
    let of_board = boards.map(|board| {
        let figures = board.figures.iter();
        let formulas = figures.map(|figure| match &figure.body {
            FigureBody::From(text) => Some(Formula::parse(&text.value)),
            FigureBody::Given(_) | FigureBody::Measured(_) => None,
        });
        formulas.collect()
    });
    of_board.collect()
}

pub(super) struct Builder<'a> {
    pub sources: &'a Sources,
    pub records: &'a Records,
    pub graph: Graph,
    pub pending: Vec<Pending>,
    pub findings: &'a mut Vec<Finding>,
}

impl Builder<'_> {
    /// Names in the record that point at other records.
    fn check_names(&mut self, at: usize) {
        let records = self.records;
        let board = &records.boards[at];
        let unread = |id: &str| {
            let mut left_out = records.left_out.iter();
            left_out.any(|record| record.kind == "part" && record.name == id)
        };
        let lines = board
            .fitted
            .iter()
            .chain(board.revisions.iter().flat_map(|revision| &revision.fitted));
        for line in lines
            .filter(|line| records.part_at(&line.part.value).is_none() && !unread(&line.part.value))
        {
            let written = &line.part.value;
            let message = format!("there is no part `{written}`");
            let mut finding = Finding::new(Slug::UnknownName, message).at(
                line.part.place.clone(),
                format!("fitted as `{}`", line.designator.value),
            );
            let parts = records.parts.iter().map(|part| part.id.value.as_str());
            if let Some(near) = nearest(written, parts) {
                finding = finding
                    .help(format!("perhaps `{near}`"))
                    .mend(line.part.place.clone(), near);
            }
            self.findings.push(finding);
        }
        for revision in &board.revisions {
            if revision.id.value == board.revision.value {
                self.findings.push(
                    Finding::new(
                        Slug::DuplicateId,
                        format!(
                            "revision {} is the one that the board describes now",
                            revision.id.value
                        ),
                    )
                    .at(revision.id.place.clone(), "described again here")
                    .at(board.revision.place.clone(), "the revision of the board")
                    .help("a `[revision.<X>]` says what was different then: name an earlier one"),
                );
            }
            for line in &revision.fitted {
                let designator = &line.designator;
                if !board
                    .fitted
                    .iter()
                    .any(|now| now.designator.value == designator.value)
                {
                    self.findings.push(
                        Finding::new(
                            Slug::UnknownName,
                            format!("no `{}` is fitted on `{}`", designator.value, board.id.value),
                        )
                        .at(designator.place.clone(), "changed here")
                        .help("list it under `[fitted]`, with `fit = false` if its place is empty now"),
                    );
                }
            }
        }
        super::revised::errata(board, self.findings);
        if let Some(module) = &board.module {
            let known = || {
                records
                    .modules
                    .iter()
                    .map(|module| module.id.value.as_str())
            };
            if !known().any(|id| id == module.value) {
                let mut finding = Finding::new(
                    Slug::UnknownName,
                    format!("there is no module `{}`", module.value),
                )
                .at(module.place.clone(), "made for this module");
                if let Some(near) = nearest(&module.value, known()) {
                    finding = finding.help(format!("perhaps `{near}`"));
                }
                self.findings.push(finding);
            }
        }
    }

    /// Takes in the figures of a board, whose formulas were read.
    fn figures(&mut self, at: usize, formulas: Vec<Option<Read>>) {
        let board = &self.records.boards[at];
        for ((figure, record), formula) in board.figures.iter().enumerate().zip(formulas) {
            let stated = record.says.as_ref().or(record.must.as_ref());
            let unit = record.unit.as_ref().map(|unit| unit.value.clone());
            let node = Node {
                scope: board.id.value.clone(),
                name: record.id.value.clone(),
                means: record.means.value.clone(),
                origin: Origin::Figure { board: at, figure },
                place: record.id.place.clone(),
                body: match &record.body {
                    FigureBody::Given(given) => Body::Given(given.value.clone()),
                    FigureBody::From(_) | FigureBody::Measured(_) => Body::Broken,
                },
                unit: unit.or_else(|| {
                    stated
                        .map(|stated| stated.value.main().unit.clone())
                        .filter(|unit| !unit.symbol().is_empty())
                }),
            };
            let id = self.graph.add(node);
            match (&record.body, formula) {
                (FigureBody::From(text), Some(formula)) => {
                    self.waiting(id, at, text, formula, None, None);
                }
                (FigureBody::Measured(measured), _) => self.measured(id, at, measured),
                _ => {}
            }
        }
    }

    /// Makes the networks of a board's circuits, so that formulas can name their
    /// results.
    fn circuits(&mut self, at: usize) {
        let records = self.records;
        for (circuit, record) in records.boards[at].circuits.iter().enumerate() {
            let mut drives = Vec::new();
            for drive in &record.drives {
                let wanted = if drive.is_current {
                    Dimension::CURRENT
                } else {
                    Dimension::VOLTAGE
                };
                let steady = self.drive(at, circuit, &drive.name, "steady", &drive.steady, wanted);
                let amplitude = drive.amplitude.as_ref().map(|amplitude| {
                    self.drive(at, circuit, &drive.name, "amplitude", amplitude, wanted)
                });
                drives.push((steady, amplitude));
            }
            let network = super::network::network(
                &mut self.graph,
                records,
                at,
                circuit,
                &drives,
                self.findings,
            );
            if let Some(network) = network {
                self.graph.add_network(at, circuit, network);
            }
        }
    }

    fn drive(
        &mut self,
        at: usize,
        circuit: usize,
        drive: &Located<String>,
        what: &str,
        text: &Located<String>,
        wanted: Dimension,
    ) -> NodeId {
        let board = &self.records.boards[at];
        let circuit_id = &board.circuits[circuit].id.value;
        let node = self.graph.add(Node {
            scope: board.id.value.clone(),
            name: format!("{circuit_id}.{}.{what}", drive.value),
            means: format!(
                "{what} value of the source `{}` in the circuit `{circuit_id}`",
                drive.value
            ),
            origin: Origin::Circuit { board: at, circuit },
            place: drive.place.clone(),
            body: Body::Broken,
            unit: None,
        });
        self.computed(node, at, text, None, Some(wanted));
        node
    }

    /// Reads a node's formula.
    pub(super) fn computed(
        &mut self,
        node: NodeId,
        board: usize,
        text: &Located<String>,
        own: Option<String>,
        wanted: Option<Dimension>,
    ) {
        let formula = Formula::parse(&text.value);
        self.waiting(node, board, text, formula, own, wanted);
    }

    /// Takes in a node's formula; its names wait until every node is there.
    fn waiting(
        &mut self,
        node: NodeId,
        board: usize,
        text: &Located<String>,
        formula: Read,
        own: Option<String>,
        wanted: Option<Dimension>,
    ) {
        match formula {
            Ok(formula) => {
                let place = text.place.clone();
                self.pending.push(Pending {
                    node,
                    board,
                    formula,
                    place,
                    own,
                    wanted,
                });
            }
            Err(fault) => self.findings.push(formula_finding(fault, text)),
        }
    }

    fn resolve_pending(&mut self) {
        for pending in std::mem::take(&mut self.pending) {
            let Pending {
                node,
                board,
                formula,
                place,
                own,
                wanted,
            } = pending;
            let mut operands = Vec::new();
            for used in formula.names() {
                let name = own
                    .as_ref()
                    .map_or_else(|| used.name.clone(), |own| format!("{own}.{}", used.name));
                match resolve(&mut self.graph, self.records, board, &name) {
                    Ok(id) => operands.push(id),
                    Err(unresolved) => {
                        self.findings.extend(unresolved.finding(stretch(
                            &place,
                            formula.text(),
                            used.span.clone(),
                        )));
                    }
                }
            }
            if operands.len() == formula.names().len() {
                self.graph.node_mut(node).body = Body::Computed(Calculation {
                    formula,
                    place,
                    operands,
                    wanted,
                });
            }
        }
    }

    fn comparisons(&mut self, at: usize) -> BoardComparisons {
        let records = self.records;
        let board = &records.boards[at];
        let relations = board
            .relations
            .iter()
            .map(|relation| self.sides(at, &relation.holds, None))
            .collect();
        let cautions = board
            .cautions
            .iter()
            .map(|caution| self.sides(at, &caution.because, None))
            .collect();
        let mut workings = Vec::new();
        for (working, record) in board.workings.iter().enumerate() {
            let holds: Vec<Located<String>> = self
                .graph
                .working(at, working)
                .into_iter()
                .flat_map(|worked| &worked.plan.holds)
                .map(|holding| asked(record, &holding.comparison))
                .collect();
            for (number, text) in holds.iter().enumerate() {
                let sides = self.sides(at, text, Some(&record.id.value));
                workings.extend(sides.map(|sides| (working, number, sides)));
            }
        }
        let stresses = super::network::stresses(&mut self.graph, self.records, at);
        BoardComparisons {
            relations,
            cautions,
            workings,
            stresses,
        }
    }

    /// Both sides of a comparison; the names in one of a working are its own.
    fn sides(&mut self, at: usize, text: &Located<String>, own: Option<&str>) -> Option<Sides> {
        let comparison = match Comparison::parse(&text.value) {
            Ok(comparison) => comparison,
            Err(fault) => {
                self.findings.push(formula_finding(fault, text));
                return None;
            }
        };
        let comparator = comparison.comparator();
        let left = self.side(at, comparison.left, text, own);
        let right = self.side(at, comparison.right, text, own);
        self.resolve_pending();
        Some(Sides {
            left,
            comparator,
            right,
        })
    }

    fn side(
        &mut self,
        at: usize,
        formula: Formula,
        text: &Located<String>,
        own: Option<&str>,
    ) -> NodeId {
        let span = formula.span();
        let node = self.graph.add(Node {
            scope: self.records.boards[at].id.value.clone(),
            name: text.value.get(span.clone()).unwrap_or("").to_owned(),
            means: String::new(),
            origin: Origin::Side,
            place: stretch(&text.place, &text.value, span),
            body: Body::Broken,
            unit: None,
        });
        let place = text.place.clone();
        self.pending.push(Pending {
            node,
            board: at,
            formula,
            place,
            own: own.map(str::to_owned),
            wanted: None,
        });
        node
    }
}

/// A comparison that a working asks to hold, at the place of the last of its
/// inputs that it names.
fn asked(record: &WorkingRecord, comparison: &str) -> Located<String> {
    let words = comparison.split(|c: char| !c.is_ascii_alphanumeric() && c != '_');
    let named = |word| {
        let mut inputs = record.inputs.iter();
        inputs.find(|(key, _)| key.value == word)
    };
    let place = words
        .filter_map(named)
        .next_back()
        .map(|(key, _)| &key.place);
    let place = place.unwrap_or(&record.kind.place);
    Located::new(comparison.to_owned(), place.clone())
}

/// The finding of a formula that cannot be read.
fn formula_finding(fault: FormulaFault, text: &Located<String>) -> Finding {
    let slug = match fault.sort {
        FormulaFaultSort::Form => Slug::FormulaForm,
        FormulaFaultSort::DecimalComma => Slug::DecimalComma,
        FormulaFaultSort::UnknownUnit => Slug::UnknownUnit,
        FormulaFaultSort::UnknownName => Slug::UnknownName,
    };
    let place = stretch(&text.place, &text.value, fault.span);
    let finding = Finding::new(slug, fault.message).at(place, "here");
    match fault.help {
        Some(help) => finding.help(help),
        None => finding,
    }
}

fn hazard_of(hazard: crate::trade::Hazard) -> Hazard {
    match hazard {
        crate::trade::Hazard::LithiumCell => Hazard::LithiumCell,
        crate::trade::Hazard::Heat => Hazard::Heat,
        crate::trade::Hazard::MainsAdapter => Hazard::MainsAdapter,
        crate::trade::Hazard::LoudSound => Hazard::LoudSound,
    }
}

/// Boards that carry a hazard of which no caution speaks: a fitted cell or a
/// charger without one about lithium cells, a working without one about what it
/// is about.
pub(super) fn hazards(records: &Records, findings: &mut Vec<Finding>) {
    for board in &records.boards {
        let lithium = board.fitted.iter().filter(|line| line.fit).find(|line| {
            let part = records.part(&line.part.value);
            part.is_some_and(|part| matches!(part.kind.name, "cell" | "charger"))
        });
        let warned = board
            .cautions
            .iter()
            .any(|caution| caution.about == Hazard::LithiumCell);
        for (at, working) in board.workings.iter().enumerate() {
            let kind = crate::trade::kind(&working.kind.value);
            for hazard in kind.map_or(&[][..], |kind| kind.hazards()) {
                let about = hazard_of(*hazard);
                let warned = board.cautions.iter().any(|caution| caution.about == about);
                let earlier = &board.workings[..at];
                let told = earlier.iter().any(|earlier| {
                    let kind = crate::trade::kind(&earlier.kind.value);
                    kind.is_some_and(|kind| kind.hazards().contains(hazard))
                });
                if warned || told || (about == Hazard::LithiumCell && lithium.is_some()) {
                    continue;
                }
                let word = about.word();
                let message = format!(
                    "`{}` is about what can hurt somebody, and no caution says so",
                    working.id.value
                );
                findings.push(
                    Finding::new(Slug::HazardWithoutCaution, message)
                        .at(working.id.place.clone(), format!("hazard: {word}"))
                        .help(format!("add a `[caution.<id>]` with `about = \"{word}\"`: what the hazard is, how to avoid it, and what makes it true")),
                );
            }
        }
        if let Some(line) = lithium.filter(|_| !warned) {
            findings.push(
                Finding::new(
                    Slug::HazardWithoutCaution,
                    format!("`{}` carries a lithium cell or its charger, and no caution says so", board.id.value),
                )
                .at(line.designator.place.clone(), format!("`{}` is fitted here", line.part.value))
                .help("add a `[caution.<id>]` with `about = \"lithium-cell\"`: what the hazard is, how to avoid it, and what makes it true"),
            );
        }
    }
}
