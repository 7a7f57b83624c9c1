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
//! | `press` | one page from its leaf, rendered or taken over |
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
mod glimpse;
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
mod press;
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
mod workings;
mod written;
mod zone;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::fs;
use std::sync::Arc;

use camino::{Utf8Path, Utf8PathBuf};
use rayon::prelude::*;

use self::book::{Book, Shelf};
use self::finder::Index;
use self::leaves::{Leaf, Page};
use self::press::{Made, Press, Printed};
use self::render::Look;
pub use self::render::PageFault;
use crate::notebook::Notebook;
use crate::record::Audience;

/// The files of a notebook's site, and what its pages were made from.
#[derive(Clone, Debug, Default)]
pub struct Pages {
    /// Pages, style sheet, and the files of the notebook that pages link to, by
    /// their paths in the site. A file that is taken over from earlier is the same
    /// one.
    pub files: BTreeMap<Utf8PathBuf, Arc<Vec<u8>>>,
    /// How many pages were rendered; the others were taken over from earlier.
    pub rendered: usize,
    /// What each page was made from.
    made: BTreeMap<Utf8PathBuf, Arc<Made>>,
    kept: Option<Kept>,
}

/// What is kept of the making of all pages, for those that are made once more.
#[derive(Clone)]
struct Kept {
    look: Arc<Look>,
    shelf: Arc<Shelf>,
    index: Index,
}

impl fmt::Debug for Kept {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Kept").finish_non_exhaustive()
    }
}

impl Pages {
    /// Whether the file at a path is a page, and not one that pages link to.
    pub fn is_page(&self, path: &Utf8Path) -> bool {
        self.made.contains_key(path)
    }

    /// Files that are new, gone or not as they were.
    pub fn changed_since(&self, earlier: &Pages) -> Vec<Utf8PathBuf> {
        // Mostly there are the same files, and then none has to be looked up: paths
        // are compared step by step, which takes long where there are thousands.
        let mut paths = earlier.files.keys().zip(self.files.keys());
        if earlier.files.len() == self.files.len()
            && paths.all(|(before, path)| before.as_str() == path.as_str())
        {
            let pairs = earlier.files.iter().zip(&self.files);
            let other = pairs.filter(|((_, before), (_, content))| before != content);
            return other.map(|(_, (path, _))| path.clone()).collect();
        }
        let gone = earlier.files.keys();
        let gone = gone.filter(|path| !self.files.contains_key(*path));
        let now = self.files.iter();
        let other = now.filter(|(path, content)| earlier.files.get(*path) != Some(content));
        gone.chain(other.map(|(path, _)| path)).cloned().collect()
    }

    /// Takes in a page with what goes with it; returns the files of the notebook
    /// that it links to.
    fn take(&mut self, path: &Utf8Path, printed: Printed) -> Vec<Utf8PathBuf> {
        let Printed {
            content,
            made,
            is_new,
            wanted,
            drawn,
        } = printed;
        self.rendered += usize::from(is_new);
        self.files.insert(path.to_owned(), content);
        self.take_texts(drawn);
        let tables = made.tables.iter().cloned();
        self.files.extend(tables);
        self.made.insert(path.to_owned(), made);
        wanted
    }

    fn take_texts(&mut self, texts: impl IntoIterator<Item = (Utf8PathBuf, String)>) {
        let texts = texts.into_iter();
        self.files
            .extend(texts.map(|(path, text)| (path, Arc::new(text.into_bytes()))));
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
    let Pages { files, made, .. } = printed(notebook, audience, None)?;
    // Files of tables are held there too.
    drop(made);
    let files = files.into_iter();
    Ok(files
        .map(|(path, content)| (path, Arc::unwrap_or_clone(content)))
        .collect())
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
    printed(notebook, Audience::Team, Some(earlier))
}

/// The same files as [`pages`], where nothing but words of these sheets is other
/// than when all pages were made: only the sheets themselves are made once more,
/// and their rows in the finder. `None` where other pages must be made too.
///
/// # Errors
/// As for [`pages`].
pub fn pages_reworded(
    notebook: &Notebook,
    earlier: &Pages,
    sheets: &[usize],
) -> Result<Option<Pages>, PageFault> {
    let Some(kept) = &earlier.kept else {
        return Ok(None);
    };
    let mut pages = earlier.clone();
    pages.rendered = 0;
    let mut index = kept.index.clone();
    let revised = BTreeMap::new();
    for &sheet in sheets {
        let Some(book) = Book::reworded(notebook, kept.shelf.clone(), sheet) else {
            return Ok(None);
        };
        let press = Press {
            look: &kept.look,
            earlier: Some(earlier),
            book: &book,
            revised: &revised,
        };
        let leaf = book.leaves.leaf(book.page_of_sheet(sheet));
        let printed = press.print(leaf)?;
        index.again(&book, leaf, finder::sheet(&book, leaf, &printed.content));
        // It links to the same files as before, so those are there.
        pages.take(&leaf.path, printed);
    }
    pages.take_texts([(finder::INDEX.into(), index.script())]);
    pages.kept = Some(Kept {
        index,
        ..kept.clone()
    });
    Ok(Some(pages))
}

fn printed(
    notebook: &Notebook,
    audience: Audience,
    earlier: Option<&Pages>,
) -> Result<Pages, PageFault> {
    let theme = notebook.records.notebook.theme.as_ref();
    let look = Look::load(
        &notebook.root,
        theme.map(|theme| theme.value.as_str()),
        earlier.and_then(|earlier| earlier.kept.as_ref().map(|kept| &kept.look)),
    )?;
    let book = Book::of(notebook, audience);
    let revised = revised(&book);
    let press = Press {
        look: &look,
        earlier,
        book: &book,
        revised: &revised,
    };
    let leaves: Vec<&Leaf> = book.leaves.iter().collect();
    let (printed, (data, others)) = rayon::join(
        || {
            // Pages differ much in what they take, so they are dealt out one by one.
            let dealt = leaves.par_iter().with_max_len(1);
            let printed = dealt.map(|leaf| {
                let printed = press.print(leaf)?;
                let row = finder::sheet(&book, leaf, &printed.content);
                Ok((printed, row))
            });
            printed.collect::<Vec<Result<_, PageFault>>>()
        },
        || rayon::join(|| data(&book, &revised), || finder::others(&book)),
    );
    let mut pages = Pages::default();
    let mut wanted = BTreeSet::new();
    let mut rows = Vec::with_capacity(leaves.len());
    for (leaf, printed) in leaves.iter().zip(printed) {
        let (printed, row) = printed?;
        rows.push(row);
        wanted.extend(pages.take(&leaf.path, printed));
    }
    pages.take_texts(data.into_iter().chain(feed::files(&book)));
    let index = Index::of(rows, others);
    pages.take_texts([(finder::INDEX.into(), index.script())]);
    let others = look.files().chain(book.sounds.files());
    let then = revised.values().flat_map(|book| book.sounds.files());
    let others = others.chain(then);
    pages
        .files
        .extend(others.map(|(path, content)| (path, Arc::new(content))));
    for path in wanted {
        let content = fs::read(notebook.root.join(&path)).map_err(|error| {
            PageFault::of_file(
                &path,
                format!("a sheet links to this file, and it cannot be read: {error}"),
            )
        })?;
        pages
            .files
            .insert(prose_html::file_path(&path), Arc::new(content));
    }
    pages.kept = earlier.is_some().then(|| Kept {
        look: look.clone(),
        shelf: book.shelf(),
        index,
    });
    Ok(pages)
}

/// Figures for programs, of all boards as they are and as they were.
fn data(
    book: &Book<'_>,
    revised: &BTreeMap<(usize, usize), Book<'_>>,
) -> Vec<(Utf8PathBuf, String)> {
    let boards = (0..book.notebook.records.boards.len()).into_par_iter();
    let now = boards.filter(|&board| book.edition.shows_board(board));
    let now = now.flat_map_iter(|board| figures_data::files(book, board));
    let then = revised.par_iter();
    let then = then.flat_map_iter(|((board, _), book)| figures_data::files(book, *board));
    now.chain(then).collect()
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
        let book = Book::as_of(book, board, revision)?;
        Some(((board, revision), book))
    });
    made.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_that_are_new_gone_or_other_are_changed() {
        let pages = |files: &[(&str, &str)]| Pages {
            files: (files.iter())
                .map(|(path, text)| ((*path).into(), Arc::new(text.as_bytes().to_vec())))
                .collect(),
            ..Pages::default()
        };
        let before = pages(&[("a", "1"), ("b", "2")]);
        for (now, expected) in [
            (pages(&[("a", "1"), ("b", "2")]), &[][..]),
            (pages(&[("a", "1"), ("b", "3")]), &["b"]),
            (pages(&[("a", "1"), ("c", "2")]), &["b", "c"]),
            (pages(&[("a", "0"), ("b", "2"), ("c", "3")]), &["a", "c"]),
        ] {
            assert_eq!(now.changed_since(&before), expected);
        }
    }
}
