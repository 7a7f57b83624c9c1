//! Editions: what of a notebook is for whom.
//!
//! The team's edition has everything. That for customers leaves out what the
//! records mark as the team's, and what is the team's by its nature:
//!
//! | left out | because |
//! | --- | --- |
//! | boards, figures, workings, parts and fixtures with `audience = "team"` | they are marked |
//! | boards that are only a concept, and fixtures | unless they are marked as the customers' |
//! | every written sheet but the front sheet, the log, the findings with their waivers | they are written for the team and for contributors |
//! | prices, stock, order codes, costs, line totals, and all that hangs on them, expected yields, readings | they are the maker's business |
//! | derivations, relations, circuits and plots that hang on something left out | they would give it away |
//!
//! Of a measured figure customers get the value and not its ends, which are
//! readings. A figure that is for customers keeps its value, whatever it is computed
//! from: somebody has marked it, or rather has not. Cautions are never left
//! out.

use crate::notebook::{NodeId, Notebook, Origin, SheetKind, Sides};
use crate::record::{Audience, PRICE, Purchase};

/// What of a notebook is for whom: a list of flags for each of its lists.
#[derive(Debug)]
pub(crate) struct Edition {
    /// For whom it is.
    pub audience: Audience,
    boards: Vec<bool>,
    parts: Vec<bool>,
    modules: Vec<bool>,
    circuits: Vec<Vec<bool>>,
    nodes: Vec<bool>,
}

impl Edition {
    /// Settles what an audience gets to see.
    pub fn of(notebook: &Notebook, audience: Audience) -> Edition {
        let records = &notebook.records;
        let all = audience == Audience::Team;
        let boards = &records.boards;
        let mut edition = Edition {
            audience,
            boards: boards
                .iter()
                .map(|board| all || board.audience == Audience::Customers)
                .collect(),
            parts: vec![all; records.parts.len()],
            modules: vec![all; records.modules.len()],
            circuits: boards
                .iter()
                .map(|board| vec![true; board.circuits.len()])
                .collect(),
            nodes: vec![all; notebook.graph.len()],
        };
        if !all {
            edition.stock(notebook);
            edition.nodes(notebook);
            edition.circuits(notebook);
            // What hangs on a circuit that is left out is known only now.
            edition.nodes(notebook);
        }
        edition
    }

    /// Parts and modules that a board, as it is or was, or a sheet of this edition
    /// uses.
    fn stock(&mut self, notebook: &Notebook) {
        use crate::notebook::Target;
        let records = &notebook.records;
        for (at, board) in records.boards.iter().enumerate() {
            if !self.boards[at] {
                continue;
            }
            // Whoever has an earlier revision looks up what it carries.
            let earlier = board.revisions.iter().flat_map(|then| &then.fitted);
            for line in board.fitted.iter().chain(earlier) {
                if let Some(part) = records.part_at(&line.part.value) {
                    self.parts[part] = true;
                }
            }
            for (module, record) in records.modules.iter().enumerate() {
                let made_for = board.module.as_ref();
                self.modules[module] |= made_for.is_some_and(|id| id.value == record.id.value);
            }
        }
        for sheet in &notebook.sheets {
            if !(self.boards[sheet.board] && sheet.kind == SheetKind::Front) {
                continue;
            }
            for target in &sheet.targets {
                if let Target::Part(part) = target {
                    self.parts[*part] = true;
                }
            }
        }
        for (shown, part) in self.parts.iter_mut().zip(&records.parts) {
            *shown &= part.audience == Audience::Customers;
        }
    }

    /// Every node, those that it hangs on first.
    fn nodes(&mut self, notebook: &Notebook) {
        let graph = &notebook.graph;
        let mut priced = vec![false; self.nodes.len()];
        let stuck = graph.iter().map(|(node, _)| node);
        let order: Vec<NodeId> = notebook.in_order().iter().copied().chain(stuck).collect();
        self.nodes.fill(false);
        for node in order {
            let at = node.index();
            let origin = &graph.node(node).origin;
            let operands = graph.operands(node);
            let is_price = match origin {
                Origin::Fitted { property, .. } => property == PRICE,
                Origin::Stock { .. } => graph.node(node).name.ends_with(PRICE),
                _ => false,
            };
            priced[at] = is_price || operands.iter().any(|node| priced[node.index()]);
            let for_customers = notebook.audience(node) == Audience::Customers;
            let hangs_on_shown = || operands.iter().all(|node| self.nodes[node.index()]);
            let shown = match origin {
                Origin::Figure { board, .. } => self.boards[*board] && for_customers,
                Origin::Fixture { board, fixture, .. } => {
                    self.shows_fixture(notebook, *board, *fixture)
                }
                Origin::Working { board, result, .. } => {
                    // An input says what somebody put in: a name, a formula.
                    self.boards[*board] && for_customers && (result.is_some() || hangs_on_shown())
                }
                Origin::Fitted { board, part, .. } => self.boards[*board] && self.parts[*part],
                Origin::Stock { part } => self.parts[*part],
                Origin::Module { module } => self.modules[*module],
                Origin::Condition { board } => self.boards[*board],
                Origin::Pins { board } => self.boards[*board] && hangs_on_shown(),
                Origin::Circuit { board, circuit } => {
                    self.boards[*board] && self.circuits[*board][*circuit] && hangs_on_shown()
                }
                Origin::Side => hangs_on_shown(),
            };
            self.nodes[at] = shown && !priced[at];
        }
    }

    /// A circuit is shown if everything in it is.
    fn circuits(&mut self, notebook: &Notebook) {
        let records = &notebook.records;
        for (node, record) in notebook.graph.iter() {
            if let Origin::Circuit { board, circuit } = record.origin {
                self.circuits[board][circuit] &= self.nodes[node.index()];
            }
        }
        for (board, record) in records.boards.iter().enumerate() {
            for (at, circuit) in record.circuits.iter().enumerate() {
                for (designator, _) in &circuit.between {
                    let line = record
                        .fitted
                        .iter()
                        .position(|line| line.designator.value == designator.value);
                    let shown = line.is_some_and(|line| self.shows_line(notebook, board, line));
                    self.circuits[board][at] &= shown;
                }
            }
        }
    }

    /// Whether it is the team's, which has everything.
    pub fn is_whole(&self) -> bool {
        self.audience == Audience::Team
    }

    /// Whether it has a board.
    pub fn shows_board(&self, board: usize) -> bool {
        self.boards.get(board).copied().unwrap_or(false)
    }

    /// Whether it has a part.
    pub fn shows_part(&self, part: usize) -> bool {
        self.parts.get(part).copied().unwrap_or(false)
    }

    /// Whether it has a controller module.
    pub fn shows_module(&self, module: usize) -> bool {
        self.modules.get(module).copied().unwrap_or(false)
    }

    /// Whether it has a circuit.
    pub fn shows_circuit(&self, board: usize, circuit: usize) -> bool {
        let circuits = self.circuits.get(board);
        let shown = circuits.and_then(|circuits| circuits.get(circuit));
        self.shows_board(board) && shown.copied().unwrap_or(false)
    }

    /// Whether it has a working.
    pub fn shows_working(&self, notebook: &Notebook, board: usize, working: usize) -> bool {
        let workings = notebook.records.boards.get(board);
        let record = workings.and_then(|board| board.workings.get(working));
        let marked = record.is_some_and(|record| record.audience == Audience::Customers);
        self.is_whole() || (self.shows_board(board) && marked)
    }

    /// Whether it has a fixture, and the board that is tested with it.
    pub fn shows_fixture(&self, notebook: &Notebook, board: usize, fixture: usize) -> bool {
        let records = &notebook.records;
        let fixtures = records.boards.get(board).map(|board| &board.fixtures);
        let Some(record) = fixtures.and_then(|fixtures| fixtures.get(fixture)) else {
            return false;
        };
        let mut boards = records.boards.iter();
        let tested = boards.position(|board| board.id.value == record.tests.value);
        self.is_whole()
            || (self.shows_board(board)
                && record.audience == Audience::Customers
                && tested.is_none_or(|tested| self.shows_board(tested)))
    }

    /// Whether it has a written sheet.
    pub fn shows_sheet(&self, notebook: &Notebook, sheet: usize) -> bool {
        let sheet = notebook.sheets.get(sheet);
        self.is_whole()
            || sheet.is_some_and(|sheet| {
                sheet.kind == SheetKind::Front && self.shows_board(sheet.board)
            })
    }

    /// Whether it has the part of a line of `[fitted]`.
    pub fn shows_line(&self, notebook: &Notebook, board: usize, line: usize) -> bool {
        let records = &notebook.records;
        let line = records
            .boards
            .get(board)
            .and_then(|board| board.fitted.get(line));
        let part = line.and_then(|line| records.part_at(&line.part.value));
        self.is_whole()
            || (self.shows_board(board) && part.is_some_and(|part| self.shows_part(part)))
    }

    /// Whether it has a property of a part.
    pub fn shows_property(&self, name: &str) -> bool {
        self.shows_purchase() || name != PRICE
    }

    /// Whether it has prices, stock, order codes and costs.
    pub fn shows_purchase(&self) -> bool {
        Purchase::AUDIENCE.is_shown_to(self.audience)
    }

    /// Whether it has a node: its name and its value.
    pub fn shows(&self, node: NodeId) -> bool {
        self.nodes.get(node.index()).copied().unwrap_or(false)
    }

    /// Whether it may say how a node is worked out: everything that the formula
    /// names is shown, and no readings are behind it.
    pub fn explains(&self, notebook: &Notebook, node: NodeId) -> bool {
        let mut operands = notebook.graph.operands(node).iter();
        self.is_whole()
            || (self.shows_spread(notebook, node) && operands.all(|operand| self.shows(*operand)))
    }

    /// Whether it may say how far a node may stray. The ends of a measured one
    /// are single readings.
    pub fn shows_spread(&self, notebook: &Notebook, node: NodeId) -> bool {
        self.is_whole() || notebook.graph.sample(node).is_none()
    }

    /// Whether it may show both sides of a comparison.
    pub fn compares(&self, sides: &Sides) -> bool {
        self.shows(sides.left) && self.shows(sides.right)
    }
}
