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
mod markup;
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

use camino::Utf8PathBuf;

use self::book::Book;
use self::leaves::Page;
use self::render::Look;
pub use self::render::PageFault;
use crate::notebook::Notebook;

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
    let theme = notebook.records.notebook.theme.as_ref();
    let look = Look::load(&notebook.root, theme.map(|theme| theme.value.as_str()))?;
    let book = Book::of(notebook);
    let mut files = BTreeMap::new();
    let mut wanted = BTreeSet::new();
    for leaf in book.leaves.iter() {
        let page = match leaf.page {
            Page::Cover => look.page("drawing_list.html", &drawing_list::cover(&book)),
            Page::Front(board) => {
                let (sheet, needs) = written::front_sheet(&book, board);
                wanted.extend(needs);
                look.page("written.html", &sheet)
            }
            Page::Written(at) => {
                let (sheet, needs) = written::written_sheet(&book, at);
                wanted.extend(needs);
                look.page("written.html", &sheet)
            }
            Page::Figures(board) => {
                let (sheet, tables) = calculation::calculation_sheet(&book, board);
                let tables = tables.into_iter();
                files.extend(tables.map(|(path, csv)| (path, csv.into_bytes())));
                look.page("calculation.html", &sheet)
            }
            Page::Log(board) => look.page("log_list.html", &log_list::log_list(&book, board)),
            Page::WhereUsed => look.page("where_used.html", &where_used::where_used(&book)),
            Page::Part(at) => look.page("stock.html", &stock::part_sheet(&book, at)),
            Page::Module(at) => look.page("stock.html", &stock::module_sheet(&book, at)),
            Page::Findings => look.page("findings.html", &findings::findings_sheet(&book)),
        };
        files.insert(leaf.path.clone(), page?);
    }
    files.extend(look.files());
    for path in wanted {
        let content = fs::read(notebook.root.join(&path)).map_err(|error| {
            PageFault::of_file(
                &path,
                format!("a sheet links to this file, and it cannot be read: {error}"),
            )
        })?;
        files.insert(prose_html::file_path(&path), content);
    }
    Ok(files)
}
