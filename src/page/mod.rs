//! Pages: from a proved notebook to the files of its site.
//!
//! A page is a drawing sheet. What stands on it is worked out here and handed
//! to a template as finished strings; the templates and the style sheet are
//! built in, and each may be replaced by a file of the same name in the
//! notebook's own folder of a look.
//!
//! | module | holds |
//! | --- | --- |
//! | `view` | what every template is given |
//! | `edition` | what of a notebook is for whom |
//! | `leaves` | which pages there are, their order and addresses |
//! | `book` | links, symbols and where-used, looked up once |
//! | `written` … `findings` | one kind of sheet each |
//! | `render` | templates and their faults |
//!
//! The same notebook gives the same bytes: no clock, no chance, and no order
//! that a hash decides.

mod book;
mod calculation;
mod caution;
mod circuit;
mod corner;
mod distribution;
mod documents;
mod drawing_list;
mod edition;
mod feed;
mod figures_data;
mod finder;
mod findings;
mod fixture;
mod leaves;
mod linked_data;
mod log_list;
pub(crate) mod markup;
mod numbers;
mod part_facts;
mod picture;
mod pin_values;
mod pins;
mod plotted;
mod prose_html;
mod readings;
mod relation;
mod render;
mod response;
mod revision;
mod schematic;
mod since;
mod slip;
mod sound;
mod stacks;
mod stock;
mod symbol;
mod tables;
mod totals;
mod view;
mod where_used;
mod working;
mod written;
mod zone;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use blake3::Hash;
use camino::{Utf8Path, Utf8PathBuf};
use rayon::prelude::*;
use serde::Serialize;

use self::book::Book;
use self::leaves::{Leaf, Page};
use self::render::Look;
pub use self::render::PageFault;
use self::view::Sheet;
use crate::notebook::Notebook;
use crate::record::Audience;

/// The files of a notebook's site, and what its pages were made from.
#[derive(Clone, Debug, Default)]
pub struct Pages {
    /// Pages, style sheet, and the files of the notebook that pages link to, by
    /// their paths in the site.
    pub files: BTreeMap<Utf8PathBuf, Vec<u8>>,
    /// How many pages were rendered; the others were taken over from earlier.
    pub rendered: usize,
    /// Each page with the hash of all that it was made from.
    made_from: BTreeMap<Utf8PathBuf, Hash>,
    /// The files of each page's tables.
    tables: BTreeMap<Utf8PathBuf, Tables>,
}

/// Tables as files, by their paths in the site.
type Tables = Vec<(Utf8PathBuf, String)>;

impl Pages {
    /// Whether the file at a path is a page, and not one that pages link to.
    pub fn is_page(&self, path: &Utf8Path) -> bool {
        self.made_from.contains_key(path)
    }

    /// A page that was made from the same.
    fn same(&self, path: &Utf8Path, made_from: &Hash) -> Option<(Vec<u8>, Tables)> {
        let is_same = self.made_from.get(path) == Some(made_from);
        let content = is_same.then(|| self.files.get(path)).flatten()?;
        let tables = self.tables.get(path).cloned().unwrap_or_default();
        Some((content.clone(), tables))
    }
}

/// The files of a notebook's site by their paths: pages, style sheet, and the
/// files of the notebook that pages link to.
///
/// Whether the notebook holds is for the caller to ask; what does not hold is
/// shown in red.
///
/// # Errors
/// [`PageFault`] where a template, a file of the look or a file that a sheet
/// links to cannot be used.
pub fn pages(notebook: &Notebook) -> Result<BTreeMap<Utf8PathBuf, Vec<u8>>, PageFault> {
    pages_for(notebook, Audience::Team)
}

/// The same for one audience: customers get neither what the records mark as the
/// team's nor what would give it away. No link leads to what is left out.
///
/// # Errors
/// As for [`pages`].
pub fn pages_for(
    notebook: &Notebook,
    audience: Audience,
) -> Result<BTreeMap<Utf8PathBuf, Vec<u8>>, PageFault> {
    Ok(printed(notebook, audience, &Pages::default())?.files)
}

/// The same files as [`pages`], where many of them may have been made before.
///
/// What stands on each page is always worked out anew; a page is rendered only
/// if that, or any template, is not what it was made from before. A template can
/// draw on nothing else, so a page that is taken over is the one that rendering
/// would give.
///
/// # Errors
/// As for [`pages`].
pub fn pages_after(notebook: &Notebook, earlier: &Pages) -> Result<Pages, PageFault> {
    printed(notebook, Audience::Team, earlier)
}

fn printed(notebook: &Notebook, audience: Audience, earlier: &Pages) -> Result<Pages, PageFault> {
    let theme = notebook.records.notebook.theme.as_ref();
    let look = Look::load(&notebook.root, theme.map(|theme| theme.value.as_str()))?;
    let book = Book::of(notebook, audience);
    let revised = revised(&book);
    let press = Press {
        look: &look,
        earlier,
        book: &book,
        revised: &revised,
    };
    let leaves: Vec<&Leaf> = book.leaves.iter().collect();
    // Pages differ much in what they take, so they are dealt out one by one.
    let dealt = leaves.par_iter().with_max_len(1);
    let printed: Vec<Result<Printed, PageFault>> = dealt.map(|leaf| press.print(leaf)).collect();
    let mut pages = Pages::default();
    let mut wanted = BTreeSet::new();
    for (leaf, printed) in leaves.iter().zip(printed) {
        let printed = printed?;
        pages.rendered += usize::from(printed.is_new);
        pages.files.insert(leaf.path.clone(), printed.content);
        pages.made_from.insert(leaf.path.clone(), printed.made_from);
        let tables = printed.tables.iter().cloned().chain(printed.drawn);
        let tables = tables.map(|(path, csv)| (path, csv.into_bytes()));
        pages.files.extend(tables);
        pages.tables.insert(leaf.path.clone(), printed.tables);
        wanted.extend(printed.wanted);
    }
    let now = (0..notebook.records.boards.len())
        .filter(|&board| book.edition.shows_board(board))
        .map(|board| (&book, board));
    let then = revised.iter().map(|((board, _), book)| (book, *board));
    let boards: Vec<(&Book<'_>, usize)> = now.chain(then).collect();
    let data = boards.into_par_iter();
    let data: Vec<_> = data
        .flat_map_iter(|(book, board)| figures_data::files(book, board))
        .collect();
    let data = data.into_iter().chain(feed::files(&book));
    let data = data.map(|(path, text)| (path, text.into_bytes()));
    pages.files.extend(data);
    let index = finder::index(&book, &pages.files).into_bytes();
    pages.files.insert(finder::INDEX.into(), index);
    pages.files.extend(look.files());
    pages.files.extend(book.sounds.files());
    for book in revised.values() {
        pages.files.extend(book.sounds.files());
    }
    for path in wanted {
        let content = fs::read(notebook.root.join(&path)).map_err(|error| {
            PageFault::of_file(
                &path,
                format!("a sheet links to this file, and it cannot be read: {error}"),
            )
        })?;
        pages.files.insert(prose_html::file_path(&path), content);
    }
    Ok(pages)
}

/// The books of earlier revisions, by board and revision.
fn revised<'n>(book: &Book<'n>) -> BTreeMap<(usize, usize), Book<'n>> {
    let leaves = book.leaves.iter();
    let wanted: Vec<(usize, usize)> = leaves
        .filter_map(|leaf| match leaf.page {
            Page::Revision(board, revision) => Some((board, revision)),
            _ => None,
        })
        .collect();
    // One after another: a thread that waits for one of them must not be given
    // another piece of work that waits for the same.
    let made = wanted.into_iter().filter_map(|(board, revision)| {
        let book = Book::as_of(book.whole, book.edition.audience, board, revision)?;
        Some(((board, revision), book))
    });
    made.collect()
}

/// What every page is printed with.
struct Press<'a> {
    revised: &'a BTreeMap<(usize, usize), Book<'a>>,
    look: &'a Look,
    earlier: &'a Pages,
    book: &'a Book<'a>,
}

/// A page, and what goes with it.
struct Printed {
    content: Vec<u8>,
    made_from: Hash,
    /// Whether it was rendered, and not taken over from earlier.
    is_new: bool,
    /// Files of the notebook that it links to.
    wanted: Vec<Utf8PathBuf>,
    /// Tables and other files of text that it links to, by their paths in the site.
    tables: Tables,
    /// Those that were worked out with it and not taken from it.
    drawn: Tables,
}

impl Press<'_> {
    fn print(&self, leaf: &Leaf) -> Result<Printed, PageFault> {
        let book = self.book;
        match leaf.page {
            Page::Cover => self.page(leaf, "drawing_list.html", &drawing_list::cover(book)),
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
            Page::Figures(board) => self.page_with_tables(
                leaf,
                "calculation.html",
                calculation::calculation_sheet(book, board),
            ),
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
                let then = self.revised.get(&(board, revision)).unwrap_or(book);
                let sheet = revision::revision_sheet(then, board, revision);
                self.page(leaf, "revision.html", &sheet)
            }
            Page::RevisionFigures(board, revision) => {
                let then = self.revised.get(&(board, revision)).unwrap_or(book);
                self.page_with_tables(
                    leaf,
                    "calculation.html",
                    calculation::calculation_sheet(then, board),
                )
            }
            Page::RevisionPins(board, revision) => {
                let then = self.revised.get(&(board, revision)).unwrap_or(book);
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
        let made_from = self.look.made_from(template, sheet)?;
        // The files of its tables are taken over with a page.
        if let Some((content, tables)) = self.earlier.same(&leaf.path, &made_from) {
            return Ok(Printed {
                content,
                made_from,
                is_new: false,
                wanted: Vec::new(),
                tables,
                drawn: Vec::new(),
            });
        }
        let page = self.look.page(template, sheet)?;
        let (content, tables) = tables::with_files(&leaf.path, &String::from_utf8_lossy(&page));
        Ok(Printed {
            content: content.into_bytes(),
            made_from,
            is_new: true,
            wanted: Vec::new(),
            tables,
            drawn: Vec::new(),
        })
    }
}
