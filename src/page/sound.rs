//! The sounds of workings: one file each, and the browser's own player for it.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;

use camino::{Utf8Path, Utf8PathBuf};

use super::book::Book;
use super::edition::Edition;
use super::leaves::{Leaves, Page, href};
use super::markup::escaped;
use crate::notebook::Notebook;
use crate::trade::Samples;

/// What stands above every player. Nobody knows how loud a visitor's headphones
/// are set.
const CAUTION: &str = "Tones that begin suddenly can hurt. Take headphones off and turn the volume down before you press play, and turn it up from there.";

/// Every sound of a notebook that comes to something at nominal values, by board
/// and working.
#[derive(Debug, Default)]
pub(crate) struct Sounds(BTreeMap<(usize, usize), Vec<Rendered>>);

/// A sound with its place in the site.
#[derive(Debug)]
struct Rendered {
    path: Utf8PathBuf,
    title: String,
    samples: Arc<Samples>,
}

impl Sounds {
    /// Renders the sounds of all workings that an edition has, or of those of
    /// one board.
    pub fn of(
        notebook: &Notebook,
        edition: &Edition,
        leaves: &Leaves,
        only: Option<usize>,
    ) -> Sounds {
        let mut sounds = BTreeMap::new();
        for (board, record) in notebook.records.boards.iter().enumerate() {
            if only.is_some_and(|only| only != board) {
                continue;
            }
            // Beside the calculation sheet, which every board has.
            let sheet = &leaves.leaf(Page::Figures(board)).path;
            let folder = sheet.parent().unwrap_or(Utf8Path::new("")).join("sounds");
            for (at, working) in record.workings.iter().enumerate() {
                if !edition.shows_working(notebook, board, at) {
                    continue;
                }
                let Some(worked) = notebook.graph.working(board, at) else {
                    continue;
                };
                let rendered = worked.plan.sounds.iter().filter_map(|sound| {
                    let name = format!("{}-{}.wav", working.id.value, sound.name);
                    Some(Rendered {
                        path: folder.join(name),
                        title: sound.title.clone(),
                        samples: notebook.samples(board, worked, sound)?,
                    })
                });
                let rendered: Vec<Rendered> = rendered.collect();
                if !rendered.is_empty() {
                    sounds.insert((board, at), rendered);
                }
            }
        }
        Sounds(sounds)
    }

    /// The files of all sounds, by their paths in the site.
    pub fn files(&self) -> impl Iterator<Item = (Utf8PathBuf, Vec<u8>)> {
        let all = self.0.values().flatten();
        all.map(|sound| (sound.path.clone(), sound.samples.wav()))
    }
}

/// A player for each sound of a working, below a caution; `None` where it has
/// no sound.
pub(crate) fn players(
    book: &Book<'_>,
    from: &Utf8Path,
    place: (usize, usize),
    caption: &str,
) -> Option<String> {
    let mut items = String::new();
    for Rendered {
        path,
        title,
        samples,
    } in book.sounds.0.get(&place)?
    {
        let seconds = samples.samples.len() as f64 / f64::from(samples.rate.max(1));
        // Writing to a string does not fail.
        let _ = write!(
            items,
            "<li><span>{title}</span><audio controls preload=\"none\" src=\"{src}\" \
             aria-label=\"{title}\"></audio><a href=\"{src}\" download>WAV, {seconds:.1}\u{a0}s</a></li>",
            title = escaped(title),
            src = escaped(&href(from, path)),
        );
    }
    let caption = match caption {
        "" => String::new(),
        caption => format!("<figcaption>{}</figcaption>", escaped(caption)),
    };
    Some(format!(
        "<figure class=\"sounds\"><p class=\"hearing sign-caution\"><strong>CAUTION</strong> {CAUTION}</p>\
         <ul>{items}</ul>{caption}</figure>"
    ))
}
