//! Every file of a site, handed on as soon as it is made, so that nobody has to
//! hold them all.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::sync::Arc;

use camino::{Utf8Path, Utf8PathBuf};
use rayon::prelude::*;

use super::book::Book;
use super::finder::{self, Index};
use super::leaves::{Leaf, Page};
use super::press::{Made, Press, Printed};
use super::render::{Look, PageFault};
use super::{Kept, Pages, feed, figures_data, prose_html};
use crate::notebook::Notebook;
use crate::record::Audience;

/// What is known of a site beside its files.
pub(super) struct All {
    /// How many pages were rendered, and not taken over.
    pub rendered: usize,
    /// What each page was made from, where there was something earlier.
    pub made: Vec<(Utf8PathBuf, Arc<Made>)>,
    /// What another making can begin with.
    pub kept: Kept,
}

/// A page that was handed on.
struct Done {
    /// Its row in the finder.
    row: Arc<str>,
    /// Files of the notebook that it links to.
    wanted: Vec<Utf8PathBuf>,
    made: Option<Arc<Made>>,
    is_new: bool,
}

/// Makes every file of a site and gives it to `put`, which many threads call at
/// once. Pages that would be as they were earlier are taken over.
///
/// # Errors
/// [`PageFault`] where a template, a file of the look or a file that a sheet
/// links to cannot be used, and what `put` fails with: the first of them in the
/// order of the pages.
pub(super) fn print<E: From<PageFault> + Send>(
    notebook: &Notebook,
    audience: Audience,
    earlier: Option<&Pages>,
    put: impl Fn(&Utf8Path, Arc<Vec<u8>>) -> Result<(), E> + Sync,
) -> Result<All, E> {
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
    let put_text = |(path, text): (Utf8PathBuf, String)| put(&path, Arc::new(text.into_bytes()));
    let hand_on = |leaf: &Leaf| -> Result<Done, E> {
        let printed = press.print(leaf)?;
        let row = finder::sheet(&book, leaf, &printed);
        let Printed {
            content,
            made,
            is_new,
            wanted,
            drawn,
        } = printed;
        put(&leaf.path, content)?;
        drawn.into_iter().try_for_each(put_text)?;
        for (path, table) in &made.tables {
            put(path, table.clone())?;
        }
        Ok(Done {
            row,
            wanted,
            made: earlier.is_some().then_some(made),
            is_new,
        })
    };
    let leaves: Vec<&Leaf> = book.leaves.iter().collect();
    let (done, (data, further)) = rayon::join(
        || {
            // Pages differ much in what they take, so they are dealt out one by one.
            let dealt = leaves.par_iter().with_max_len(1);
            dealt.map(|leaf| hand_on(leaf)).collect::<Vec<_>>()
        },
        || {
            let data = || data(&book, &revised).try_for_each(put_text);
            rayon::join(data, || finder::others(&book))
        },
    );
    let mut rows = Vec::with_capacity(leaves.len());
    let mut wanted = BTreeSet::new();
    let (mut made, mut rendered) = (Vec::new(), 0);
    for (leaf, done) in leaves.iter().zip(done) {
        let done: Done = done?;
        rows.push(done.row);
        wanted.extend(done.wanted);
        made.extend(done.made.map(|made| (leaf.path.clone(), made)));
        rendered += usize::from(done.is_new);
    }
    data?;
    feed::files(&book).into_iter().try_for_each(put_text)?;
    let index = Index::of(rows, further);
    put_text((finder::INDEX.into(), index.script()))?;
    let then = revised.values().flat_map(|book| book.sounds.files());
    let others = look.files().chain(book.sounds.files()).chain(then);
    let linked = wanted.iter().map(|path| linked(notebook, path));
    for file in others.map(Ok).chain(linked) {
        let (path, content) = file?;
        put(&path, Arc::new(content))?;
    }
    Ok(All {
        rendered,
        made,
        kept: Kept {
            look: look.clone(),
            shelf: book.shelf(),
            index,
        },
    })
}

/// A file of the notebook that a page links to, at its place in the site.
fn linked(notebook: &Notebook, path: &Utf8Path) -> Result<(Utf8PathBuf, Vec<u8>), PageFault> {
    let content = fs::read(notebook.root.join(path)).map_err(|error| {
        PageFault::of_file(
            path,
            format!("a sheet links to this file, and it cannot be read: {error}"),
        )
    })?;
    Ok((prose_html::file_path(path), content))
}

/// Figures for programs, of all boards as they are and as they were.
fn data<'b>(
    book: &'b Book<'_>,
    revised: &'b BTreeMap<(usize, usize), Book<'_>>,
) -> impl ParallelIterator<Item = (Utf8PathBuf, String)> + 'b {
    let boards = (0..book.notebook.records.boards.len()).into_par_iter();
    let now = boards.filter(|&board| book.edition.shows_board(board));
    let now = now.flat_map_iter(|board| figures_data::files(book, board));
    let then = revised.par_iter();
    let then = then.flat_map_iter(|((board, _), book)| figures_data::files(book, *board));
    now.chain(then)
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
