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
//! | `all` | every file of a site, handed on as it is made |
//! | `render` | templates and their faults |
//!
//! The same notebook gives the same bytes: no clock, no chance, and no order
//! that a hash decides.

mod all;
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

use std::collections::BTreeMap;
use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

use camino::{Utf8Path, Utf8PathBuf};

use self::book::{Book, Shelf};
use self::finder::Index;
use self::press::{Made, Press};
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

    /// Takes in files of text.
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
    let Pages { files, .. } = collected(notebook, audience, None)?;
    let files = files.into_iter();
    Ok(files
        .map(|(path, content)| (path, Arc::unwrap_or_clone(content)))
        .collect())
}

/// The same, each file given to `put` with its path as soon as it is made, in no
/// order and by many threads.
///
/// # Errors
/// As for [`pages`], and what `put` fails with.
pub fn pages_into<E: From<PageFault> + Send>(
    notebook: &Notebook,
    audience: Audience,
    put: impl Fn(&Utf8Path, &[u8]) -> Result<(), E> + Sync,
) -> Result<(), E> {
    all::print(notebook, audience, None, |path, content| {
        put(path, &content)
    })?;
    Ok(())
}

/// All files of a site together.
fn collected(
    notebook: &Notebook,
    audience: Audience,
    earlier: Option<&Pages>,
) -> Result<Pages, PageFault> {
    let files = Mutex::new(BTreeMap::new());
    let all = all::print(notebook, audience, earlier, |path, content| {
        // What another thread left when it panicked is what it had put in.
        let mut files = files.lock().unwrap_or_else(PoisonError::into_inner);
        files.insert(path.to_owned(), content);
        Ok::<_, PageFault>(())
    })?;
    Ok(Pages {
        files: files.into_inner().unwrap_or_else(PoisonError::into_inner),
        rendered: all.rendered,
        made: all.made.into_iter().collect(),
        kept: Some(all.kept),
    })
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
    collected(notebook, Audience::Team, Some(earlier))
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
        index.again(&book, leaf, finder::sheet(&book, leaf, &printed));
        pages.rendered += usize::from(printed.is_new);
        // It links to the same files as before, so those are there.
        pages.files.insert(leaf.path.clone(), printed.content);
        pages.take_texts(printed.drawn);
        pages.files.extend(printed.made.tables.iter().cloned());
        pages.made.insert(leaf.path.clone(), printed.made);
    }
    pages.take_texts([(finder::INDEX.into(), index.script())]);
    pages.kept = Some(Kept {
        index,
        ..kept.clone()
    });
    Ok(Some(pages))
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
