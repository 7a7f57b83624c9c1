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
mod drawing_list;
mod findings;
mod leaves;
mod log_list;
pub(crate) mod markup;
mod numbers;
mod plotted;
mod prose_html;
mod relation;
mod render;
mod response;
mod schematic;
mod slip;
mod stock;
mod symbol;
mod view;
mod where_used;
mod working;
mod written;
mod zone;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use blake3::Hash;
use camino::{Utf8Path, Utf8PathBuf};
use serde::Serialize;

use self::book::Book;
use self::leaves::Page;
use self::render::Look;
pub use self::render::PageFault;
use self::view::Sheet;
use crate::notebook::Notebook;

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
}

impl Pages {
    /// Whether the file at a path is a page, and not one that pages link to.
    pub fn is_page(&self, path: &Utf8Path) -> bool {
        self.made_from.contains_key(path)
    }

    /// A page that was made from the same.
    fn same(&self, path: &Utf8Path, made_from: &Hash) -> Option<&Vec<u8>> {
        let is_same = self.made_from.get(path) == Some(made_from);
        is_same.then(|| self.files.get(path)).flatten()
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
    Ok(pages_after(notebook, &Pages::default())?.files)
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
    let theme = notebook.records.notebook.theme.as_ref();
    let look = Look::load(&notebook.root, theme.map(|theme| theme.value.as_str()))?;
    let book = Book::of(notebook);
    let mut pages = Pages::default();
    let mut wanted = BTreeSet::new();
    let mut tables_behind = Vec::new();
    for leaf in book.leaves.iter() {
        let mut print = Print {
            look: &look,
            earlier,
            path: &leaf.path,
            pages: &mut pages,
        };
        match leaf.page {
            Page::Cover => print.page("drawing_list.html", &drawing_list::cover(&book)),
            Page::Front(board) => {
                let (sheet, needs) = written::front_sheet(&book, board);
                wanted.extend(needs);
                print.page("written.html", &sheet)
            }
            Page::Written(at) => {
                let (sheet, needs) = written::written_sheet(&book, at);
                wanted.extend(needs);
                print.page("written.html", &sheet)
            }
            Page::Figures(board) => {
                let (sheet, tables) = calculation::calculation_sheet(&book, board);
                tables_behind.extend(tables);
                print.page("calculation.html", &sheet)
            }
            Page::Log(board) => print.page("log_list.html", &log_list::log_list(&book, board)),
            Page::WhereUsed => print.page("where_used.html", &where_used::where_used(&book)),
            Page::Part(at) => print.page("stock.html", &stock::part_sheet(&book, at)),
            Page::Module(at) => print.page("stock.html", &stock::module_sheet(&book, at)),
            Page::Findings => print.page("findings.html", &findings::findings_sheet(&book)),
        }?;
    }
    pages.files.extend(look.files());
    let tables = tables_behind.into_iter();
    pages
        .files
        .extend(tables.map(|(path, csv)| (path, csv.into_bytes())));
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

/// One page on its way.
struct Print<'a> {
    look: &'a Look,
    earlier: &'a Pages,
    path: &'a Utf8Path,
    pages: &'a mut Pages,
}

impl Print<'_> {
    /// Adds the page, from a template or from earlier.
    fn page<F: Serialize>(&mut self, template: &str, sheet: &Sheet<F>) -> Result<(), PageFault> {
        let made_from = self.look.made_from(template, sheet)?;
        let content = match self.earlier.same(self.path, &made_from) {
            Some(same) => same.clone(),
            None => {
                self.pages.rendered += 1;
                self.look.page(template, sheet)?
            }
        };
        self.pages.files.insert(self.path.to_owned(), content);
        self.pages.made_from.insert(self.path.to_owned(), made_from);
        Ok(())
    }
}
