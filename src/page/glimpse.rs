//! The small picture of a board in a list of boards: the first one of its front
//! sheet, or else the pattern of its pins.

use camino::{Utf8Path, Utf8PathBuf};
use serde::Serialize;

use super::book::Book;
use super::leaves::{Page, href};
use super::prose_html::{file_path, is_shown};
use super::{picture, pins};
use crate::notebook::{SheetKind, Target};

/// What a board looks like; nothing where nobody knows.
#[derive(Debug, Default, Serialize)]
pub(crate) struct Glimpse {
    /// A picture of the front sheet.
    picture: Option<Picture>,
    /// The pattern of its pins, where it has no picture.
    pattern_html: Option<String>,
    /// The file of the picture in the notebook.
    #[serde(skip)]
    pub file: Option<Utf8PathBuf>,
}

#[derive(Debug, Serialize)]
struct Picture {
    href: String,
    /// For those who do not see it.
    alt: String,
    width: usize,
    height: usize,
}

impl Glimpse {
    /// Whether there is nothing to see.
    pub fn is_empty(&self) -> bool {
        self.picture.is_none() && self.pattern_html.is_none()
    }
}

/// What a board looks like, for the page at `from`.
pub(crate) fn glimpse(book: &Book<'_>, from: &Utf8Path, board: usize) -> Glimpse {
    if let Some((picture, file)) = of_front_sheet(book, from, board) {
        return Glimpse {
            picture: Some(picture),
            file: Some(file),
            ..Glimpse::default()
        };
    }
    Glimpse {
        // What an edition has no pin sheet of has no pattern either.
        pattern_html: (book.leaves.has(Page::Pins(board))).then(|| pins::pattern(book, board)),
        ..Glimpse::default()
    }
}

/// The first picture of the front sheet that is a file of the notebook and says
/// how large it is.
fn of_front_sheet(
    book: &Book<'_>,
    from: &Utf8Path,
    board: usize,
) -> Option<(Picture, Utf8PathBuf)> {
    let mut sheets = book.notebook.sheets_of(board).map(|(_, sheet)| sheet);
    let front = sheets.find(|sheet| sheet.kind == SheetKind::Front)?;
    let mut links = front.document.links.iter().zip(&front.targets);
    links.find_map(|(link, target)| match target {
        Target::File(path) if link.image && is_shown(book, target) => {
            let (width, height) = picture::size(&book.notebook.root.join(path))?;
            let picture = Picture {
                href: href(from, &file_path(path)),
                alt: link.text.clone(),
                width,
                height,
            };
            Some((picture, path.clone()))
        }
        _ => None,
    })
}
