//! What every sheet has: its place among the others, and its title block.

use super::book::Book;
use super::leaves::{Leaf, Page, Set, href};
use super::slip::slip;
use super::view::{CautionView, Link, RevisionRow, Sheet, SheetLink, TallyView, TitleBlock};
use crate::finding::{FigureCount, Located};
use crate::notebook::{NodeId, SheetKind};
use crate::record::{Audience, Board};

/// What a kind of sheet brings of its own.
pub(crate) struct Parts<'a, F> {
    /// One sentence on what the sheet holds.
    pub description: String,
    /// Cautions of its board.
    pub cautions: Vec<CautionView>,
    /// Figures that it states.
    pub stated: &'a [NodeId],
    /// The rest.
    pub face: F,
}

/// Puts a sheet together.
pub(crate) fn sheet<F>(book: &Book<'_>, page: Page, parts: Parts<'_, F>) -> Sheet<F> {
    let leaf = book.leaves.leaf(page);
    let record = &book.notebook.records.notebook;
    let board = board_of(book, leaf);
    let mut window_title = leaf.title.clone();
    for title in [board.map(|board| &board.title.value), Some(&record.title)] {
        if let Some(title) = title.filter(|title| !window_title.contains(title.as_str())) {
            window_title = format!("{window_title} – {title}");
        }
    }
    Sheet {
        language: record.language.clone(),
        window_title,
        description: parts.description,
        root: "../".repeat(leaf.path.components().count() - 1),
        feed: book.has_news(),
        notice: record.notice.as_ref().map(|notice| notice.value.clone()),
        above: above(book, leaf),
        cautions: parts.cautions,
        block: block(book, leaf, board),
        slips: parts
            .stated
            .iter()
            .map(|&node| slip(book, &leaf.path, node))
            .collect(),
        face: parts.face,
    }
}

fn board_of<'n>(book: &Book<'n>, leaf: &Leaf) -> Option<&'n Board> {
    match leaf.set {
        Set::Board(board) => {
            let boards = &book.notebook.records.boards;
            boards.get(board).map(AsRef::as_ref)
        }
        Set::General | Set::Stock => None,
    }
}

fn above(book: &Book<'_>, leaf: &Leaf) -> Vec<Link> {
    let mut pages = Vec::new();
    if leaf.page != Page::Cover {
        pages.push((Page::Cover, book.notebook.records.notebook.title.clone()));
    }
    match leaf.set {
        Set::Board(board) if leaf.page != Page::Front(board) => {
            let title = &book.notebook.records.boards[board].title.value;
            pages.push((Page::Front(board), title.clone()));
        }
        Set::Stock => pages.push((Page::WhereUsed, "Where used".into())),
        Set::Board(_) | Set::General => {}
    }
    if let Page::RevisionFigures(board, revision)
    | Page::RevisionWorkings(board, revision)
    | Page::RevisionPins(board, revision) = leaf.page
    {
        let page = Page::Revision(board, revision);
        pages.push((page, book.leaves.leaf(page).title.clone()));
    }
    if let (Page::Written(sheet), Set::Board(board)) = (leaf.page, leaf.set)
        && matches!(book.notebook.sheets[sheet].kind, SheetKind::Log { .. })
    {
        pages.push((Page::Log(board), "Design log".into()));
    }
    pages
        .into_iter()
        .map(|(page, text)| Link {
            text,
            href: book.page(&leaf.path, page),
        })
        .collect()
}

/// Document type of a page (ISO 7200).
pub(crate) fn document_type(book: &Book<'_>, page: Page) -> String {
    let kind = match page {
        Page::Cover => "Drawing list",
        Page::Front(_) => "Front sheet",
        Page::Written(sheet) => match &book.notebook.sheets[sheet].kind {
            SheetKind::Log { .. } => "Log entry",
            SheetKind::Front => "Front sheet",
            SheetKind::Further(name) => {
                let mut letters = name.chars();
                let first: String = letters
                    .next()
                    .into_iter()
                    .flat_map(char::to_uppercase)
                    .collect();
                let rest = letters.as_str().replace(['-', '_'], " ");
                return format!("{first}{rest} sheet");
            }
        },
        Page::Figures(_) => "Calculation sheet",
        Page::Workings(_) => "Workings sheet",
        Page::Fixture(_) => "Fixture sheet",
        Page::Pins(_) => "Pin sheet",
        Page::Readings(_) => "Test report",
        Page::Documents(_) => "List of documents",
        Page::Stacks => "Matrix of boards",
        Page::Log(_) => "Design log",
        Page::Revision(..) => "Revision sheet",
        Page::RevisionFigures(..) => "Calculation sheet",
        Page::RevisionWorkings(..) => "Workings sheet",
        Page::RevisionPins(..) => "Pin sheet",
        Page::WhereUsed => "Where-used index",
        Page::Totals => "Line totals",
        Page::Part(_) => "Part sheet",
        Page::Module(_) => "Module sheet",
        Page::Since => "Change sheet",
        Page::Findings => "Findings sheet",
    };
    kind.to_owned()
}

fn block(book: &Book<'_>, leaf: &Leaf, board: Option<&Board>) -> TitleBlock {
    let records = &book.notebook.records;
    let record = &records.notebook;
    let text = |located: &Option<Located<String>>| located.as_ref().map(|text| text.value.clone());
    let title = board.map_or(&record.title, |board| &board.title.value);
    let tally = match leaf.set {
        Set::Board(board) => book.tally_of(board),
        Set::General | Set::Stock => book.tally(),
    };
    let (before, after) = book.leaves.around(leaf.page);
    let link = |leaf_there: &Leaf| book.link(&leaf.path, leaf_there);
    let general = [
        Page::Cover,
        Page::Stacks,
        Page::WhereUsed,
        Page::Since,
        Page::Findings,
    ];
    let general = general.into_iter().filter(|page| book.leaves.has(*page));
    let general: Vec<Link> = general
        .map(|page| Link {
            text: book.leaves.leaf(page).title.clone(),
            href: book.page(&leaf.path, page),
        })
        .collect();
    TitleBlock {
        owner: record.owner.clone(),
        title: title.clone(),
        sheet_title: Some(leaf.title.clone()).filter(|own| own != title),
        kind: document_type(book, leaf.page),
        identification: identification(leaf, board),
        revision: board.map(|board| board.revision.value.clone()),
        status: board.map(|board| board.status.word().to_owned()),
        date: date(book, leaf, board),
        sheet: leaf.number.to_string(),
        sheets: book.leaves.set(leaf.set).count().to_string(),
        made_by: text(&record.made_by),
        // Who let it pass is the team's business.
        checked_by: text(&record.checked_by).filter(|_| book.edition.is_whole()),
        is_whole: book.edition.is_whole(),
        audience: match book.edition.audience {
            Audience::Team => "the team",
            Audience::Customers => "customers",
        },
        tally: tally_view(tally),
        licence: board
            .and_then(|board| text(&board.licence))
            .or_else(|| text(&record.licence)),
        language: record.language.clone(),
        set: set(book, leaf),
        revisions: revisions(book, leaf),
        previous: before.map(link),
        next: after.map(link),
        general,
    }
}

fn identification(leaf: &Leaf, board: Option<&Board>) -> String {
    match (leaf.set, board) {
        (Set::Board(_), Some(board)) => format!("{}-{}", board.id.value, leaf.number),
        (Set::Stock, _) => leaf.path.file_stem().unwrap_or("part").to_owned(),
        _ => format!("set-{}", leaf.number),
    }
}

/// Date of issue. What serves the whole notebook is as new as its newest board.
fn date(book: &Book<'_>, leaf: &Leaf, board: Option<&Board>) -> Option<String> {
    if let Page::Written(sheet) = leaf.page
        && let SheetKind::Log { date, .. } = &book.notebook.sheets[sheet].kind
    {
        return Some(date.to_string());
    }
    let date = match board {
        Some(board) => board.date.as_ref().map(|date| date.value),
        None => {
            let boards = book.notebook.records.boards.iter().enumerate();
            boards
                .filter(|(at, _)| book.edition.shows_board(*at))
                .filter_map(|(_, board)| Some(board.date.as_ref()?.value))
                .max()
        }
    };
    date.map(|date| date.to_string())
}

/// The sheets of the set; of the log only the entry that is being read.
fn set(book: &Book<'_>, leaf: &Leaf) -> Vec<SheetLink> {
    if leaf.set == Set::Stock {
        return Vec::new();
    }
    let is_entry = |page: Page| match page {
        Page::Written(sheet) => {
            matches!(book.notebook.sheets[sheet].kind, SheetKind::Log { .. })
        }
        _ => false,
    };
    book.leaves
        .set(leaf.set)
        .filter(|other| other.page == leaf.page || !is_entry(other.page))
        .map(|other| SheetLink {
            number: other.number.to_string(),
            title: match other.page {
                Page::Front(_) => "Front sheet".into(),
                _ => other.title.clone(),
            },
            href: href(&leaf.path, &other.path),
            here: other.page == leaf.page,
        })
        .collect()
}

/// The revision table, the newest first. The records say of a revision what
/// was changed after it, which is what the next one brought.
pub(super) fn revisions(book: &Book<'_>, leaf: &Leaf) -> Vec<RevisionRow> {
    let Set::Board(at) = leaf.set else {
        return Vec::new();
    };
    let board = &book.whole.records.boards[at];
    let mut earlier: Vec<_> = board.revisions.iter().enumerate().collect();
    earlier.sort_by_key(|(_, revision)| revision.date.value);
    let mut rows = Vec::new();
    let mut brought = vec!["First issue".to_owned()];
    for (number, revision) in earlier {
        let changes = revision.changes.iter().map(|change| change.value.clone());
        rows.push(RevisionRow {
            index: revision.id.value.clone(),
            href: Some(book.page(&leaf.path, Page::Revision(at, number))),
            date: Some(revision.date.value.to_string()),
            changes: std::mem::replace(&mut brought, changes.collect()),
        });
    }
    rows.push(RevisionRow {
        index: board.revision.value.clone(),
        href: None,
        date: board.date.as_ref().map(|date| date.value.to_string()),
        changes: brought,
    });
    rows.reverse();
    rows
}

/// `31 of 31 figures hold`.
pub(crate) fn tally_view(FigureCount { hold, of }: FigureCount) -> TallyView {
    TallyView {
        text: match of {
            0 => "no figures".into(),
            1 => format!("{hold} of {of} figure holds"),
            _ => format!("{hold} of {of} figures hold"),
        },
        all: hold == of,
        hold: hold.to_string(),
        of: of.to_string(),
    }
}
