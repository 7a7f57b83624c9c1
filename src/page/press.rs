//! One page from its leaf: worked out, then rendered, or taken over from earlier
//! where it was made from the same.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use blake3::Hash;
use camino::{Utf8Path, Utf8PathBuf};
use serde::Serialize;

use super::book::Book;
use super::leaves::{Leaf, Page};
use super::markup::text_of;
use super::render::{Look, PageFault};
use super::view::Sheet;
use super::{
    Pages, calculation, documents, drawing_list, finder, findings, fixture, log_list, pins,
    readings, revision, since, stacks, stock, tables, totals, where_used, workings, written,
};

/// What every page is printed with.
pub(super) struct Press<'a> {
    /// The books of earlier revisions, by board and revision.
    pub revised: &'a BTreeMap<(usize, usize), Book<'a>>,
    /// Templates.
    pub look: &'a Look,
    /// Pages that were made before, where pages are kept.
    pub earlier: Option<&'a Pages>,
    /// What they are made from.
    pub book: &'a Book<'a>,
}

/// What a page was made from, and what was made with it.
#[derive(Debug)]
pub(super) struct Made {
    /// The hash of all that it was made from; `None` where it is not kept.
    from: Option<Hash>,
    /// The files of its tables, by their paths in the site.
    pub tables: Vec<(Utf8PathBuf, Arc<Vec<u8>>)>,
    /// Its words, where somebody asked for them.
    words: OnceLock<String>,
}

/// A page, and what goes with it.
pub(super) struct Printed {
    /// The page.
    pub content: Arc<Vec<u8>>,
    /// What it was made from.
    pub made: Arc<Made>,
    /// Whether it was rendered, and not taken over from earlier.
    pub is_new: bool,
    /// Files of the notebook that it links to.
    pub wanted: Vec<Utf8PathBuf>,
    /// Files of text that it links to and that were worked out with it, by their
    /// paths in the site.
    pub drawn: Tables,
}

impl Printed {
    /// The words of the page's sheet, each once.
    pub fn words(&self) -> &str {
        let words = || finder::words(&text_of(&self.content));
        self.made.words.get_or_init(words)
    }
}

/// Tables as files, by their paths in the site.
type Tables = Vec<(Utf8PathBuf, String)>;

impl Press<'_> {
    /// The page of a leaf.
    ///
    /// # Errors
    /// [`PageFault`] where a template cannot be used.
    pub fn print(&self, leaf: &Leaf) -> Result<Printed, PageFault> {
        let book = self.book;
        match leaf.page {
            Page::Cover => {
                let (sheet, wanted) = drawing_list::cover(book);
                let page = self.page(leaf, "drawing_list.html", &sheet)?;
                Ok(Printed { wanted, ..page })
            }
            Page::Front(board) => {
                let (sheet, wanted) = written::front_sheet(book, board);
                let page = self.page(leaf, "written.html", &sheet)?;
                Ok(Printed { wanted, ..page })
            }
            Page::Written(at) => {
                let (sheet, wanted) = written::written_sheet(book, at);
                let page = self.page(leaf, "written.html", &sheet)?;
                Ok(Printed { wanted, ..page })
            }
            Page::Figures(board) => self.page(
                leaf,
                "calculation.html",
                &calculation::calculation_sheet(book, board),
            ),
            Page::Workings(board) => {
                self.page_with_tables(leaf, "workings.html", workings::workings_sheet(book, board))
            }
            Page::Fixture(board) => {
                self.page(leaf, "fixture.html", &fixture::fixture_sheet(book, board))
            }
            Page::Pins(board) => self.page(leaf, "pins.html", &pins::pin_sheet(book, board)),
            Page::Readings(board) => {
                self.page_with_tables(leaf, "readings.html", readings::readings_sheet(book, board))
            }
            Page::Documents(board) => {
                let (sheet, wanted) = documents::documents_sheet(book, board);
                let page = self.page(leaf, "documents.html", &sheet)?;
                let manifest = documents::manifest(book, board).into_iter();
                Ok(Printed {
                    wanted,
                    drawn: manifest.collect(),
                    ..page
                })
            }
            Page::Stacks => self.page(leaf, "stacks.html", &stacks::stacks_sheet(book)),
            Page::Log(board) => self.page(leaf, "log_list.html", &log_list::log_list(book, board)),
            Page::Revision(board, revision) => {
                let then = self.then(board, revision);
                let sheet = revision::revision_sheet(then, board, revision);
                self.page(leaf, "revision.html", &sheet)
            }
            Page::RevisionFigures(board, revision) => {
                let then = self.then(board, revision);
                let sheet = calculation::calculation_sheet(then, board);
                self.page(leaf, "calculation.html", &sheet)
            }
            Page::RevisionWorkings(board, revision) => {
                let then = self.then(board, revision);
                self.page_with_tables(leaf, "workings.html", workings::workings_sheet(then, board))
            }
            Page::RevisionPins(board, revision) => {
                let then = self.then(board, revision);
                self.page(leaf, "pins.html", &pins::pin_sheet(then, board))
            }
            Page::WhereUsed => self.page(leaf, "where_used.html", &where_used::where_used(book)),
            Page::Totals => self.page(leaf, "totals.html", &totals::totals_sheet(book)),
            Page::Part(at) => self.page(leaf, "stock.html", &stock::part_sheet(book, at)),
            Page::Module(at) => self.page(leaf, "stock.html", &stock::module_sheet(book, at)),
            Page::Since => self.page(leaf, "since.html", &since::since_sheet(book)),
            Page::Findings => self.page(leaf, "findings.html", &findings::findings_sheet(book)),
        }
    }

    /// The book as of an earlier revision of a board.
    fn then(&self, board: usize, revision: usize) -> &Book<'_> {
        self.revised.get(&(board, revision)).unwrap_or(self.book)
    }

    /// The page of a leaf, with tables that were worked out with it.
    fn page_with_tables<F: Serialize>(
        &self,
        leaf: &Leaf,
        template: &str,
        (sheet, drawn): (Sheet<F>, Tables),
    ) -> Result<Printed, PageFault> {
        let page = self.page(leaf, template, &sheet)?;
        Ok(Printed { drawn, ..page })
    }

    /// The page of a leaf, from a template or from earlier.
    fn page<F: Serialize>(
        &self,
        leaf: &Leaf,
        template: &str,
        sheet: &Sheet<F>,
    ) -> Result<Printed, PageFault> {
        let from = match self.earlier {
            Some(_) => Some(self.look.made_from(template, sheet)?),
            None => None,
        };
        let printed = |content: Arc<Vec<u8>>, made: Arc<Made>, is_new: bool| Printed {
            content,
            made,
            is_new,
            wanted: Vec::new(),
            drawn: Vec::new(),
        };
        // The files of its tables are taken over with a page.
        if let Some((content, made)) = self.same(&leaf.path, from) {
            return Ok(printed(content, made, false));
        }
        let page = self.look.page(template, sheet)?;
        let (content, tables) = tables::with_files(&leaf.path, page);
        let tables = tables.into_iter();
        let tables = tables.map(|(path, csv)| (path, Arc::new(csv.into_bytes())));
        let tables = tables.collect();
        let made = Arc::new(Made {
            from,
            tables,
            words: OnceLock::new(),
        });
        Ok(printed(Arc::new(content.into_bytes()), made, true))
    }

    /// A page that was made from the same.
    fn same(&self, path: &Utf8Path, from: Option<Hash>) -> Option<(Arc<Vec<u8>>, Arc<Made>)> {
        let earlier = self.earlier?;
        let made = earlier.made.get(path)?;
        let is_same = from.is_some() && made.from == from;
        let content = earlier.files.get(path).filter(|_| is_same)?;
        Some((content.clone(), made.clone()))
    }
}
