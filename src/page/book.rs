//! The notebook as its pages need it: every page's address at hand, and for
//! every figure its symbol, what hangs on it and where it is stated.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Deref;
use std::sync::{Arc, OnceLock};

use camino::Utf8Path;
use rayon::prelude::*;

use super::edition::Edition;
use super::feed;
use super::leaves::{Leaf, Leaves, Page, Set, href};
use super::markup::escaped;
use super::pin_values;
use super::prose_html::zones_of_links;
use super::sound::Sounds;
use super::symbol::symbols;
use super::view::Link;
use crate::finding::{FigureCount, Level, Place};
use crate::notebook::{NodeId, Notebook, Origin};
use crate::record::Audience;

/// A comparison that a node is a side of.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Compared {
    /// A relation: board and position.
    Relation(usize, usize),
    /// A caution: board and position.
    Caution(usize, usize),
}

/// What the making of every page draws on.
pub(crate) struct Book<'n> {
    /// The notebook.
    pub notebook: &'n Notebook,
    /// The notebook as it is, where the other is as of an earlier revision.
    pub whole: &'n Notebook,
    shelf: Arc<Shelf>,
}

/// What was looked up once for all pages. It holds nothing that the words of a
/// sheet change.
pub(crate) struct Shelf {
    /// What of the notebook is for whom.
    pub edition: Edition,
    /// All pages.
    pub leaves: Leaves,
    fitted: Vec<Vec<NodeId>>,
    tally: OnceLock<FigureCount>,
    has_news: OnceLock<bool>,
    symbols: Vec<String>,
    compared: BTreeMap<NodeId, Compared>,
    stated: BTreeMap<NodeId, Vec<(usize, usize)>>,
    /// The zone of each link, by sheet.
    link_zones: Vec<Vec<String>>,
    amiss: BTreeSet<Place>,
    /// The sounds of workings, rendered once for all pages.
    pub sounds: Sounds,
}

impl Deref for Book<'_> {
    type Target = Shelf;

    fn deref(&self) -> &Shelf {
        &self.shelf
    }
}

impl<'n> Book<'n> {
    /// Looks everything up once.
    pub fn of(notebook: &'n Notebook, audience: Audience) -> Book<'n> {
        let edition = Edition::of(notebook, audience);
        let leaves = Leaves::of(notebook, &edition);
        Book::with(notebook, notebook, edition, leaves, None)
    }

    /// The same with a board as it was in an earlier revision; `None` where there
    /// is none.
    pub fn as_of(now: &Book<'n>, board: usize, revision: usize) -> Option<Book<'n>> {
        let whole = now.whole;
        let notebook = &whole.revision(board, revision)?.notebook;
        let leaves = now.leaves.as_of(board, revision);
        let edition = Edition::of(notebook, now.edition.audience);
        Some(Book::with(notebook, whole, edition, leaves, Some(board)))
    }

    /// `sounds_of` is the one board whose sounds are wanted; those of all where
    /// there is none.
    fn with(
        notebook: &'n Notebook,
        whole: &'n Notebook,
        edition: Edition,
        leaves: Leaves,
        sounds_of: Option<usize>,
    ) -> Book<'n> {
        let mut compared = BTreeMap::new();
        for (board, comparisons) in notebook.comparisons.iter().enumerate() {
            for (at, sides) in comparisons.relations.iter().enumerate() {
                for side in sides.iter().flat_map(|sides| [sides.left, sides.right]) {
                    compared.insert(side, Compared::Relation(board, at));
                }
            }
            for (at, sides) in comparisons.cautions.iter().enumerate() {
                for side in sides.iter().flat_map(|sides| [sides.left, sides.right]) {
                    compared.insert(side, Compared::Caution(board, at));
                }
            }
        }
        let errors = notebook
            .findings
            .iter()
            .filter(|finding| finding.level == Level::Error);
        let mut fitted = vec![Vec::new(); notebook.records.boards.len()];
        for (node, record) in notebook.graph.iter() {
            if let Origin::Fitted { board, .. } = record.origin
                && edition.shows(node)
            {
                fitted[board].push(node);
            }
        }
        let link_zones = || {
            let sheets = notebook.sheets.par_iter();
            sheets.map(|sheet| zones_of_links(&sheet.document))
        };
        let ((symbols, link_zones), (stated, sounds)) = rayon::join(
            || rayon::join(|| symbols(notebook), || link_zones().collect()),
            || {
                let sounds = || Sounds::of(notebook, &edition, &leaves, sounds_of);
                rayon::join(|| notebook.stated(), sounds)
            },
        );
        let shelf = Shelf {
            fitted,
            tally: OnceLock::new(),
            has_news: OnceLock::new(),
            sounds,
            edition,
            leaves,
            symbols,
            compared,
            stated,
            link_zones,
            amiss: errors
                .filter_map(|finding| finding.place().cloned())
                .collect(),
        };
        Book {
            notebook,
            whole,
            shelf: Arc::new(shelf),
        }
    }

    /// What was looked up, for another book of the same notebook.
    pub fn shelf(&self) -> Arc<Shelf> {
        self.shelf.clone()
    }

    /// The book of a notebook in which nothing but words of this sheet is other
    /// than when the shelf was filled; `None` where they move a link into another
    /// zone, which pages elsewhere tell of.
    pub fn reworded(notebook: &'n Notebook, shelf: Arc<Shelf>, sheet: usize) -> Option<Book<'n>> {
        let zones = zones_of_links(&notebook.sheets.get(sheet)?.document);
        (shelf.link_zones.get(sheet) == Some(&zones)).then_some(Book {
            notebook,
            whole: notebook,
            shelf,
        })
    }

    /// Whether an error-level finding is about this very place.
    pub fn is_amiss(&self, place: &Place) -> bool {
        self.amiss.contains(place)
    }

    /// Letter symbol of a node, as MathML.
    pub fn symbol(&self, node: NodeId) -> &str {
        self.symbols.get(node.index()).map_or("", String::as_str)
    }

    /// Nominal value of a node, with unit.
    pub fn value_text(&self, node: NodeId) -> String {
        self.notebook
            .value(node)
            .map_or_else(|| "no value".to_owned(), |value| value.shown().to_string())
    }

    /// Address of a node's place on the calculation sheet, among the workings or
    /// among the pins of an earlier revision; of the sheet of that revision for
    /// what has its place elsewhere.
    pub fn revised_place(
        &self,
        from: &Utf8Path,
        node: NodeId,
        board: usize,
        revision: usize,
    ) -> String {
        let (page, fragment) = self.spot(node);
        let page = match page {
            Page::Figures(of) if of == board => Page::RevisionFigures(board, revision),
            Page::Workings(of) if of == board => Page::RevisionWorkings(board, revision),
            Page::Pins(of) if of == board => Page::RevisionPins(board, revision),
            _ => return self.page(from, Page::Revision(board, revision)),
        };
        self.part_of_page(from, page, &fragment)
    }

    /// Address of a page.
    pub fn page(&self, from: &Utf8Path, page: Page) -> String {
        href(from, &self.leaves.leaf(page).path)
    }

    /// A link to a page with its title.
    pub fn link(&self, from: &Utf8Path, leaf: &Leaf) -> Link {
        let title = match leaf.set {
            Set::Board(board) if leaf.page != Page::Front(board) => {
                let board = &self.notebook.records.boards[board];
                format!("{}: {}", board.title.value, leaf.title)
            }
            _ => leaf.title.clone(),
        };
        Link {
            text: title,
            href: href(from, &leaf.path),
        }
    }

    /// Address of a node's place: on the calculation sheet of its board or among
    /// its workings, or on the sheet of its module.
    pub fn place_of(&self, from: &Utf8Path, node: NodeId) -> String {
        let (page, fragment) = self.spot(node);
        self.part_of_page(from, page, &fragment)
    }

    /// The page that a node has its place on.
    pub fn page_of(&self, node: NodeId) -> Page {
        self.spot(node).0
    }

    /// The page that a node has its place on, and the id of that place.
    fn spot(&self, node: NodeId) -> (Page, String) {
        let record = self.notebook.graph.node(node);
        match record.origin {
            Origin::Module { module } => {
                (Page::Module(module), format!("property-{}", record.name))
            }
            Origin::Stock { part } => (Page::Part(part), format!("property-{}", record.name)),
            Origin::Figure { board, .. } | Origin::Fitted { board, .. } => {
                (Page::Figures(board), anchor(&record.name))
            }
            Origin::Working { board, .. } => (Page::Workings(board), anchor(&record.name)),
            Origin::Fixture { board, .. } => (Page::Fixture(board), anchor(&record.name)),
            Origin::Condition { board } => (Page::Figures(board), "Sheet".to_owned()),
            // Of a connector and a module that nobody describes there is no sheet.
            Origin::Pins { board } if !self.leaves.has(Page::Pins(board)) => {
                (Page::Figures(board), "Sheet".to_owned())
            }
            Origin::Pins { board } => (Page::Pins(board), pin_values::place(record)),
            Origin::Circuit { board, circuit } => {
                let id = &self.notebook.records.boards[board].circuits[circuit]
                    .id
                    .value;
                (Page::Workings(board), format!("circuit-{id}"))
            }
            Origin::Side => match self.compared.get(&node) {
                Some(Compared::Relation(board, at)) => {
                    let id = &self.notebook.records.boards[*board].relations[*at].id.value;
                    (Page::Figures(*board), format!("relation-{id}"))
                }
                Some(Compared::Caution(board, _)) => (Page::Front(*board), "Sheet".to_owned()),
                None => (Page::Cover, "Sheet".to_owned()),
            },
        }
    }

    /// Address of an element on a page; on the page itself the fragment alone.
    pub fn part_of_page(&self, from: &Utf8Path, page: Page, fragment: &str) -> String {
        let leaf = self.leaves.leaf(page);
        if leaf.path == from {
            return format!("#{fragment}");
        }
        format!("{}#{fragment}", href(from, &leaf.path))
    }

    /// A link to a node, with its name as the board of the page would write it.
    pub fn node_link(&self, from: &Utf8Path, board: &str, node: NodeId) -> Link {
        let record = self.notebook.graph.node(node);
        Link {
            text: record.name_from(board),
            href: self.place_of(from, node),
        }
    }

    /// Figures, relations and cautions that hang on a node directly.
    pub fn used_in(&self, from: &Utf8Path, node: NodeId) -> Vec<Link> {
        let graph = &self.notebook.graph;
        let board = &graph.node(node).scope;
        let mut links: Vec<Link> = Vec::new();
        for &dependent in &self.notebook.dependents()[node.index()] {
            if !self.shows_dependent(dependent) {
                continue;
            }
            let text = match self.compared.get(&dependent) {
                Some(Compared::Relation(of, at)) => {
                    let record = &self.notebook.records.boards[*of];
                    let id = &record.relations[*at].id.value;
                    if record.id.value == *board {
                        id.clone()
                    } else {
                        format!("{}.{id}", record.id.value)
                    }
                }
                Some(Compared::Caution(of, at)) => {
                    let record = &self.notebook.records.boards[*of];
                    format!("caution {}", record.cautions[*at].id.value)
                }
                None => graph.node(dependent).name_from(board),
            };
            let link = Link {
                text,
                href: self.place_of(from, dependent),
            };
            if !links.iter().any(|known| known.text == link.text) {
                links.push(link);
            }
        }
        links
    }

    /// Whether what hangs on a node may be named: a figure by itself, a
    /// comparison by both its sides.
    fn shows_dependent(&self, node: NodeId) -> bool {
        match self.compared.get(&node) {
            Some(Compared::Relation(of, at)) => {
                let sides = &self.notebook.comparisons[*of].relations[*at];
                sides
                    .as_ref()
                    .is_some_and(|sides| self.edition.compares(sides))
            }
            // A caution is on the board's front sheet in any case.
            Some(Compared::Caution(of, _)) => self.edition.shows_board(*of),
            None => self.edition.shows(node),
        }
    }

    /// The figures of a board that the edition has, workings among them.
    pub fn figures_of(&self, board: usize) -> impl Iterator<Item = NodeId> {
        let figures = self.notebook.figures_of(board).iter().copied();
        figures.filter(|node| self.edition.shows(*node))
    }

    /// What the fitted parts of a board bring to any formula, as far as the edition
    /// has it.
    pub fn fitted_of(&self, board: usize) -> &[NodeId] {
        self.fitted.get(board).map_or(&[], Vec::as_slice)
    }

    /// How many figures of a board hold, of those that the edition has.
    pub fn tally_of(&self, board: usize) -> FigureCount {
        let none = FigureCount { hold: 0, of: 0 };
        self.figures_of(board)
            .fold(none, |sum, figure| FigureCount {
                hold: sum.hold + usize::from(self.notebook.figure_holds(figure)),
                of: sum.of + 1,
            })
    }

    /// How many figures of the whole edition hold.
    pub fn tally(&self) -> FigureCount {
        *self.tally.get_or_init(|| {
            let boards = 0..self.notebook.records.boards.len();
            let tallies = boards.map(|board| self.tally_of(board));
            tallies.fold(FigureCount { hold: 0, of: 0 }, |sum, tally| FigureCount {
                hold: sum.hold + tally.hold,
                of: sum.of + tally.of,
            })
        })
    }

    /// Whether the edition has anything to tell in its feed.
    pub fn has_news(&self) -> bool {
        *self.has_news.get_or_init(|| feed::has_news(self))
    }

    /// Nodes that hang on a node, those of comparisons and those of another
    /// edition left out.
    pub fn figures_on(&self, node: NodeId) -> impl Iterator<Item = NodeId> {
        self.notebook.dependents()[node.index()]
            .iter()
            .copied()
            .filter(|id| self.notebook.graph.node(*id).origin != Origin::Side)
            .filter(|id| self.edition.shows(*id))
    }

    /// Sheets and zones that state a node: `sheet 2, zone C`.
    pub fn stated_on(&self, from: &Utf8Path, node: NodeId) -> Vec<Link> {
        let home = match self.notebook.graph.node(node).origin {
            Origin::Figure { board, .. }
            | Origin::Fitted { board, .. }
            | Origin::Working { board, .. }
            | Origin::Condition { board }
            | Origin::Pins { board }
            | Origin::Circuit { board, .. }
            | Origin::Fixture { board, .. } => Some(board),
            Origin::Module { .. } | Origin::Stock { .. } | Origin::Side => None,
        };
        let uses = self.stated.get(&node).map_or(&[][..], Vec::as_slice);
        self.places(from, home, uses)
    }

    /// Links to sheets and zones, each once, those of the board `home` first.
    pub fn places(
        &self,
        from: &Utf8Path,
        home: Option<usize>,
        uses: &[(usize, usize)],
    ) -> Vec<Link> {
        let mut links: Vec<(bool, Link)> = Vec::new();
        for &(sheet, link) in uses {
            if !self.edition.shows_sheet(self.notebook, sheet) {
                continue;
            }
            let zone = self.link_zones[sheet].get(link).map_or("A", String::as_str);
            let page = self.page_of_sheet(sheet);
            let leaf = self.leaves.leaf(page);
            if leaf.page != page {
                // The front sheet speaks of the revision of today.
                continue;
            }
            let board = self.notebook.sheets[sheet].board;
            let place = format!("sheet {}, zone {zone}", leaf.number);
            let text = if home == Some(board) {
                place
            } else {
                let title = &self.notebook.records.boards[board].title.value;
                format!("{title}, {place}")
            };
            if !links.iter().any(|(_, known)| known.text == text) {
                let href = self.part_of_page(from, leaf.page, zone);
                let at_home = home == Some(board);
                links.push((!at_home, Link { text, href }));
            }
        }
        links.sort_by_key(|(away, _)| *away);
        links.into_iter().map(|(_, link)| link).collect()
    }

    /// The page that a written sheet is on.
    pub fn page_of_sheet(&self, sheet: usize) -> Page {
        if self.leaves.has(Page::Written(sheet)) {
            Page::Written(sheet)
        } else {
            Page::Front(self.notebook.sheets[sheet].board)
        }
    }

    /// A stated number as HTML: a link to its derivation.
    pub fn stated_html(&self, from: &Utf8Path, node: NodeId, text: &str, amiss: bool) -> String {
        let class = if amiss { "stated amiss" } else { "stated" };
        format!(
            "<a class=\"{class}\" href=\"{}\" data-slip=\"{}\">{}</a>",
            escaped(&self.place_of(from, node)),
            escaped(&self.slip_id(node)),
            escaped(text)
        )
    }

    /// Id of a node's slip on any page. It starts with a capital, which no
    /// heading's id does.
    pub fn slip_id(&self, node: NodeId) -> String {
        let record = self.notebook.graph.node(node);
        format!("Slip-{}", record.full_name())
    }
}

/// Id of a node on the calculation sheet of its board, or among its workings.
pub(crate) fn anchor(name: &str) -> String {
    // A part that strays with the temperature is `R1`, and `R1 at 25 °C` as its
    // data sheet has it: both stand in the same row.
    let name = name.split(' ').next().unwrap_or(name);
    format!("figure-{name}")
}
