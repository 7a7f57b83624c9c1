//! The whole notebook: load, resolve names, order, evaluate, compare.
//!
//! This is the one place where records, prose, formulas and spread meet.
//! [`Notebook::load`] never fails: a notebook that cannot be read is an empty
//! one with findings.

mod affected;
mod bom;
mod bom_map;
mod bom_row;
mod bom_value;
mod build;
mod cause;
mod chance;
mod compare;
mod complete;
mod coverage;
mod drift;
mod emitted;
mod evaluate;
mod evidence;
mod files;
mod firmware;
mod fixture;
mod graph;
mod kept;
mod link;
mod listed_value;
mod loose;
mod manifest;
mod memory;
mod network;
mod order;
mod part_check;
mod pin_free;
mod pin_names;
mod pin_nodes;
mod proof;
mod readings;
mod recorded;
mod relation;
mod resolve;
mod resolve_property;
mod response;
mod restate;
mod revised;
mod reworded;
mod seen;
mod sheet;
mod since;
mod slice;
mod stack_line;
mod stack_sums;
mod stack_told;
mod strain;
mod supposed;
mod temperature;
mod totals;
mod value;
mod waive;
mod working;
mod working_held;
mod working_input;
mod working_order;
mod writing;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::Date;

pub use build::{BoardComparisons, Sides};
pub use chance::InForce;
pub use complete::{DocumentLine, DocumentState};
pub use coverage::{Coverage, Fault, Marks, Seen, Sight, StepRisks};
pub use emitted::{EmittedFile, OnDisk};
pub use evidence::{Measurement, Reading};
pub(crate) use files::is_hidden;
pub use graph::{
    Body, Calculation, Graph, Limited, Network, Node, NodeId, Origin, ParameterSource, Solution,
    Steps, Worked,
};
pub(crate) use kept::hash_apart;
pub use restate::{Restated, RestatedFile};
pub use sheet::{Sheet, SheetKind, Target};
pub use since::{Difference, Differences, FigureDifference, TextDifference};
pub use stack_line::{StackLine, Strapped, Thing};
pub use stack_sums::{BusSum, StackSums, SupplySum};
pub use strain::Strain;
pub use supposed::{Held, Margin, Override, Point, Run, Supposed, Sweep, Wish};
pub use totals::{BoardTotals, Cost, LineTotals};
pub use value::{Chance, Value};
pub use waive::Waived;

use self::memory::Memory;
use self::pin_nodes::{PinNodes, Valued};
use crate::finding::{FigureCount, Finding, Level, Slug, Sources};
use crate::quantity::Outcome;
use crate::quantity::Statement;
use crate::record::{Audience, Records, read_records};
use crate::spread::{Proportion, Sampled, Share};

/// A notebook, read and proved.
#[derive(Debug)]
pub struct Notebook {
    /// Its folder.
    pub root: Utf8PathBuf,
    /// All files that were read.
    pub sources: Sources,
    /// All records.
    pub records: Arc<Records>,
    /// All sheets, by board and kind.
    pub sheets: Vec<Arc<Sheet>>,
    /// Everything that has a value, and what it hangs on.
    pub graph: Graph,
    /// What is wrong, in the order of the files.
    pub findings: Vec<Finding>,
    /// Findings that stand by leave of a waiver.
    pub waived: Vec<Waived>,
    /// Relations and cautions of each board, on the graph.
    pub comparisons: Arc<Vec<BoardComparisons>>,
    /// Files that are neither records nor sheets, by their path.
    pub others: Arc<BTreeSet<Utf8PathBuf>>,
    /// Files for firmware, as they would be written, with what is on the disk.
    pub emitted: Vec<EmittedFile>,
    /// Readings of boards that were measured, in the order of boards and figures.
    pub measurements: Arc<Vec<Measurement>>,
    /// The board and the earlier revision that it is as of, where it is one.
    pub as_of: Option<(usize, usize)>,
    /// What differs from an earlier state, where pages shall tell of it.
    pub since: Option<Arc<Differences>>,
    revised: revised::Revised,
    /// Findings of the reading of files, which no other value changes.
    told_in_reading: Arc<Vec<Finding>>,
    /// What hangs on each node, once somebody asked.
    dependents: Arc<OnceLock<Vec<Vec<NodeId>>>>,
    /// The figures of each board, once somebody asked.
    figures: OnceLock<Vec<Vec<NodeId>>>,
    pin_nodes: Arc<Vec<PinNodes>>,
    values: Vec<Option<Arc<Value>>>,
    /// Distributions by chance of those that were asked for.
    drawn: Vec<OnceLock<Option<Arc<Sampled>>>>,
    sorted: Vec<NodeId>,
    blamed: BTreeSet<NodeId>,
    /// What each value was made from, where the next notebook shall keep it.
    prints: kept::Prints,
    /// What takes long, where another notebook may come after this one.
    memory: Option<Arc<Memory>>,
}

/// The expected share of boards that meet a requirement.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Yield {
    /// All of them: it is met at worst case.
    Certain,
    /// So many of all that were drawn by chance.
    Drawn(Proportion),
}

impl Notebook {
    /// Reads the notebook in a folder and proves it. `today` settles which
    /// waivers still stand.
    pub fn load(root: &Utf8Path, today: Date) -> Notebook {
        Notebook::read(root, today, false, None)
    }

    /// The same, where the notebook may have been read before and will be again: a
    /// value that hangs on nothing but what is as it was is not computed again.
    pub fn load_after(root: &Utf8Path, today: Date, earlier: Option<&Notebook>) -> Notebook {
        Notebook::read(root, today, true, earlier)
    }

    /// `keeps` tells whether another notebook may come after it.
    fn read(root: &Utf8Path, today: Date, keeps: bool, earlier: Option<&Notebook>) -> Notebook {
        let mut told = Vec::new();
        let mut files = files::read(root, &mut told);
        let (records, found) = read_records(&files.sources, &files.layout);
        told.extend(found);
        boards_without_record(&files, &records, &mut told);
        let sheets = sheet::sheets(&files.sources, &files.markdown, &records, &mut told);
        writing::notes(&records, &sheets, &mut told);
        complete::check(&records, &sheets, &files, &mut told);
        part_check::check(&records, &mut told);
        bom::check(&files.sources, &files.others, &records, &mut told);
        let kept = keeps.then(|| kept::Kept::of(earlier, &files.sources));
        let proof::Proof {
            graph,
            values,
            sorted,
            comparisons,
            pin_nodes,
            sheets,
            blamed,
            mut findings,
            prints,
        } = proof::prove(
            &files.sources,
            &records,
            sheets,
            &files.others,
            kept.as_ref(),
        );
        let memory = keeps.then(|| Arc::new(Memory::after(earlier)));
        let measured = evidence::Measuring {
            sources: &files.sources,
            records: &records,
            graph: &graph,
            values: &values,
        };
        let (measurements, outside) = measured.all(&mut told);
        findings.extend(outside);
        findings.extend(told.iter().cloned());
        let emitted = emitted::compare(
            root,
            &mut files.sources,
            &firmware::Gathering {
                graph: &graph,
                records: &records,
                values: &values,
            },
            &mut findings,
        );
        let mut notebook = Notebook {
            root: root.to_owned(),
            sources: files.sources,
            revised: revised::none_yet(&records),
            as_of: None,
            since: None,
            records: Arc::new(records),
            sheets,
            graph,
            findings: Vec::new(),
            waived: Vec::new(),
            comparisons: Arc::new(comparisons),
            others: Arc::new(files.others),
            emitted,
            measurements: Arc::new(measurements),
            told_in_reading: Arc::new(told),
            drawn: values.iter().map(|_| OnceLock::new()).collect(),
            prints,
            memory,
            dependents: Arc::default(),
            figures: OnceLock::new(),
            pin_nodes: Arc::new(pin_nodes),
            values,
            sorted,
            blamed,
        };
        findings.extend(notebook.revised_links(&[], |node| notebook.value(node).is_some()));
        let (sources, records) = (&notebook.sources, &notebook.records);
        notebook.waived = waive::waive(sources, records, today, &mut findings);
        notebook.findings = crate::finding::order(findings, sources);
        notebook
    }

    /// The boards that can be described on a module, with all that they may
    /// clash in. `boards` are positions in the records; one that is there twice
    /// is there twice.
    pub fn stack_line(&self, module: usize, boards: &[usize]) -> StackLine {
        StackLine::of(&self.valued(), module, boards)
    }

    /// Boards that say what they use of a module, and can be said on this one.
    pub fn boards_for(&self, module: usize) -> Vec<usize> {
        stack_line::boards_for(&self.records, module)
    }

    fn valued(&self) -> Valued<'_> {
        Valued {
            records: &self.records,
            nodes: &self.pin_nodes,
            values: &self.values,
        }
    }

    /// Whether nothing stands against binding.
    pub fn holds(&self) -> bool {
        !self
            .findings
            .iter()
            .any(|finding| finding.level == Level::Error)
    }

    /// The value of a node; `None` where it could not be computed.
    pub fn value(&self, node: NodeId) -> Option<&Value> {
        self.values.get(node.index())?.as_deref()
    }

    /// All nodes in dependency order, operands first.
    pub fn in_order(&self) -> &[NodeId] {
        &self.sorted
    }

    /// Whether no finding speaks against a figure.
    pub fn figure_holds(&self, node: NodeId) -> bool {
        self.value(node).is_some() && !self.blamed.contains(&node)
    }

    /// The sheets of a board, with their positions among all.
    pub fn sheets_of(&self, board: usize) -> impl Iterator<Item = (usize, &Arc<Sheet>)> {
        // They are ordered by board.
        let first = self.sheets.partition_point(|sheet| sheet.board < board);
        let sheets = self.sheets.iter().enumerate().skip(first);
        sheets.take_while(move |(_, sheet)| sheet.board == board)
    }

    /// The figures of a board, workings among them, in dependency order. What
    /// could not be computed comes last.
    pub fn figures_of(&self, board: usize) -> &[NodeId] {
        let by_board = self.figures.get_or_init(|| {
            let mut figures = vec![Vec::new(); self.records.boards.len()];
            let mut seen = vec![false; self.graph.len()];
            let sorted = self.sorted.iter().copied();
            for node in sorted.chain(self.graph.iter().map(|(node, _)| node)) {
                let is_new = !std::mem::replace(&mut seen[node.index()], true);
                if let Some(board) = self.board_of_figure(node).filter(|_| is_new) {
                    figures[board].push(node);
                }
            }
            figures
        });
        by_board.get(board).map_or(&[], Vec::as_slice)
    }

    /// The board that a node is a figure of, or a result of a working.
    fn board_of_figure(&self, node: NodeId) -> Option<usize> {
        match self.graph.node(node).origin {
            Origin::Figure { board, .. } | Origin::Working { board, .. } => Some(board),
            Origin::Fitted { .. }
            | Origin::Stock { .. }
            | Origin::Module { .. }
            | Origin::Condition { .. }
            | Origin::Pins { .. }
            | Origin::Circuit { .. }
            | Origin::Fixture { .. }
            | Origin::Side => None,
        }
    }

    /// How many figures of the whole notebook hold.
    pub fn tally(&self) -> FigureCount {
        let nodes = self.graph.iter().map(|(node, _)| node);
        let figures = nodes.filter(|node| self.board_of_figure(*node).is_some());
        figures.fold(FigureCount { hold: 0, of: 0 }, |sum, figure| FigureCount {
            hold: sum.hold + usize::from(self.figure_holds(figure)),
            of: sum.of + 1,
        })
    }

    /// What each input contributes to a node's spread, the largest first.
    pub fn shares(&self, node: NodeId) -> Vec<(NodeId, Share)> {
        evaluate::shares_of(&self.graph, &self.records, node)
    }

    /// The spread of left side minus right side of a comparison, in coherent SI
    /// units; what moves both sides at once moves their difference by less.
    /// `None` where a side has no value.
    pub fn difference(&self, sides: &Sides) -> Option<Outcome> {
        evaluate::difference_of(&self.graph, sides.left, sides.right)
    }

    /// The distribution of a node by chance, whatever its policy, and the share
    /// of draws within its requirement; `None` where it does not vary.
    pub fn drawn(&self, node: NodeId) -> Option<Arc<Sampled>> {
        let drawn = self.drawn.get(node.index())?;
        drawn.get_or_init(|| self.recall_drawn(node)).clone()
    }

    fn draw(&self, node: NodeId) -> Option<Sampled> {
        let slice = slice::Slice::of(&self.graph, node, &|_| None)?;
        if slice.inputs.is_empty() {
            return None;
        }
        let variables = chance::variables(&self.graph, &self.records, &slice)?;
        let policy = chance::in_force(&self.graph, &self.records, node);
        let must = self.requirement(node).map(Statement::limits);
        chance::sample_for_yield(&slice, &variables, &policy, must)
    }

    /// What a node must be.
    pub fn requirement(&self, node: NodeId) -> Option<&Statement> {
        let must = recorded::must(&self.graph, &self.records, node)?;
        Some(&must.value)
    }

    /// What is printed and published of a node.
    pub fn says(&self, node: NodeId) -> Option<&Statement> {
        let says = recorded::says(&self.graph, &self.records, node)?;
        Some(&says.value)
    }

    /// Who may read of a node.
    pub fn audience(&self, node: NodeId) -> Audience {
        recorded::audience(&self.graph, &self.records, node)
    }

    /// The expected share of boards that meet a node's requirement. `None`
    /// where there is none.
    pub fn expected_yield(&self, node: NodeId) -> Option<Yield> {
        let (must, value) = (self.requirement(node)?, self.value(node)?);
        if must.misses(value.worst).is_empty() {
            return Some(Yield::Certain);
        }
        let drawn = self.drawn(node)?;
        drawn.yields.first().copied().map(Yield::Drawn)
    }

    /// The node of a name: `charge_slow` where only one board has it,
    /// `cell_charger.charge_slow`, `cell_charger.R1`.
    ///
    /// # Errors
    /// A sentence that says why the name means nothing, or which of several
    /// could be meant.
    pub fn named(&self, name: &str) -> Result<NodeId, String> {
        named(&self.graph, name)
    }

    /// Sheets and links that state or show a node, by the node. A board as it was
    /// in an earlier revision is spoken of by those alone that name the revision.
    pub fn stated(&self) -> BTreeMap<NodeId, Vec<(usize, usize)>> {
        let mut stated: BTreeMap<NodeId, Vec<(usize, usize)>> = BTreeMap::new();
        for (at, sheet) in self.sheets.iter().enumerate() {
            for (link, target) in sheet.targets.iter().enumerate() {
                let (node, of) = match target {
                    Target::Figure(node) => (*node, None),
                    Target::Revised {
                        node,
                        board,
                        revision,
                    } => (*node, Some((*board, *revision))),
                    _ => continue,
                };
                if of == self.as_of {
                    stated.entry(node).or_default().push((at, link));
                }
            }
        }
        stated
    }
}

/// The node of a name, as [`Notebook::named`] finds it.
fn named(graph: &Graph, name: &str) -> Result<NodeId, String> {
    if let Some((scope, rest)) = name.split_once('.')
        && let Some(found) = graph.find(scope, rest)
    {
        return Ok(found);
    }
    let is_named = |(_, node): &(NodeId, &Node)| node.origin != Origin::Side;
    let named: Vec<(NodeId, &Node)> = graph
        .iter()
        .filter(|(_, node)| node.name == name)
        .filter(is_named)
        .collect();
    match named.as_slice() {
        [(only, _)] => Ok(*only),
        [] => {
            let known: Vec<String> = graph
                .iter()
                .filter(is_named)
                .flat_map(|(_, node)| [node.name.clone(), node.full_name()])
                .collect();
            Err(
                match crate::nearest::nearest(name, known.iter().map(String::as_str)) {
                    Some(near) => format!("nothing is called `{name}`; perhaps `{near}`"),
                    None => format!("nothing is called `{name}`"),
                },
            )
        }
        several => {
            let names: Vec<String> = several.iter().map(|(_, node)| node.full_name()).collect();
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            Err(format!(
                "several boards have a `{name}`: {}",
                resolve::listed(&names)
            ))
        }
    }
}

/// A folder under `boards` that holds sheets but no record.
fn boards_without_record(files: &files::Files, records: &Records, findings: &mut Vec<Finding>) {
    let mut seen = BTreeSet::new();
    for &file in &files.markdown {
        let path = &files.sources.file(file).path;
        let mut steps = path.components().map(|step| step.as_str());
        let (Some("boards"), Some(id), Some(_)) = (steps.next(), steps.next(), steps.next()) else {
            continue;
        };
        let known = records.board(id).is_some()
            || files
                .sources
                .by_path(&Utf8Path::new("boards").join(id).join("board.toml"))
                .is_some();
        if !known && seen.insert(id.to_owned()) {
            findings.push(
                Finding::new(
                    Slug::MissingRecord,
                    format!("`boards/{id}` has sheets and no `board.toml`"),
                )
                .at(
                    crate::finding::Place::new(file, 0..0),
                    "a sheet of a board without a record",
                )
                .help(format!(
                    "write `boards/{id}/board.toml`, or move the sheet to its board"
                )),
            );
        }
    }
}
