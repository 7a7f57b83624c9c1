//! What is new, as an Atom feed (RFC 4287), and the site map.
//!
//! Nothing here reads a clock: the date of an entry is that of its record.

use std::fmt::Write;

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::Date;

use super::book::Book;
use super::leaves::{Page, href};
use super::markup::escaped;
use crate::notebook::SheetKind;

/// Path of the feed in the site.
pub(super) const FEED: &str = "feed.xml";

/// Signs of a hash that tell the errata of one board and day apart: 48 bits.
const SIGNS: usize = 12;

/// Something that readers are told of.
struct Entry {
    date: Date,
    /// What it is, apart from all others and for good: `carrier/revision/B`.
    name: String,
    title: String,
    kind: &'static str,
    says: String,
    path: Utf8PathBuf,
}

/// Whether the edition has anything to tell.
pub(super) fn has_news(book: &Book<'_>) -> bool {
    !entries(book).is_empty()
}

/// The feed, and the site map where the notebook says at which address it will
/// stand.
pub(super) fn files(book: &Book<'_>) -> Vec<(Utf8PathBuf, String)> {
    let mut files = Vec::new();
    let entries = entries(book);
    if let Some(newest) = entries.first().map(|entry| entry.date) {
        files.push((FEED.into(), feed(book, &entries, newest)));
    }
    if let Some(address) = address(book) {
        files.push(("sitemap.xml".into(), site_map(book, &address)));
    }
    files
}

/// The address of the bound notebook, with a slash at its end.
pub(super) fn address(book: &Book<'_>) -> Option<String> {
    let address = book.notebook.records.notebook.address.as_ref()?;
    Some(format!("{}/", address.value.trim_end_matches('/')))
}

/// All entries, the newest first: log entries, revisions and errata that say
/// when they became known.
fn entries(book: &Book<'_>) -> Vec<Entry> {
    let mut entries = Vec::new();
    for (at, sheet) in book.notebook.sheets.iter().enumerate() {
        let board = &book.notebook.records.boards[sheet.board];
        if let SheetKind::Log { date, name } = &sheet.kind
            && book.edition.shows_sheet(book.notebook, at)
        {
            entries.push(Entry {
                date: *date,
                name: format!("{}/log/{name}", board.id.value),
                title: format!("{}: {}", board.title.value, sheet.title()),
                kind: "log",
                says: format!("Log entry of the {}.", board.title.value),
                path: book.leaves.leaf(Page::Written(at)).path.clone(),
            });
        }
    }
    for (at, board) in book.notebook.records.boards.iter().enumerate() {
        if !book.edition.shows_board(at) {
            continue;
        }
        for row in super::corner::revisions(book, book.leaves.leaf(Page::Front(at))) {
            let Some(date) = row.date.as_deref().and_then(|date| date.parse().ok()) else {
                continue;
            };
            entries.push(Entry {
                date,
                name: format!("{}/revision/{}", board.id.value, row.index),
                title: format!("{}, revision {}", board.title.value, row.index),
                kind: "revision",
                says: row.changes.join(" "),
                path: book.leaves.leaf(Page::Front(at)).path.clone(),
            });
        }
        for erratum in &board.errata {
            let Some(date) = &erratum.date else {
                continue;
            };
            let affects: Vec<&str> = erratum
                .affects
                .iter()
                .map(|mark| mark.value.as_str())
                .collect();
            entries.push(Entry {
                date: date.value,
                name: format!(
                    "{}/erratum/{}",
                    board.id.value,
                    told_apart(&erratum.means.value)
                ),
                title: format!(
                    "{}, erratum of revision {}",
                    board.title.value,
                    affects.join(", ")
                ),
                kind: "erratum",
                says: erratum.means.value.clone(),
                path: book.leaves.leaf(Page::Front(at)).path.clone(),
            });
        }
    }
    entries.sort_by(|a, b| b.date.cmp(&a.date).then_with(|| a.name.cmp(&b.name)));
    // The same sentence of the same board on the same day is told once.
    entries.dedup_by(|a, b| (a.date, &a.name) == (b.date, &b.name));
    entries
}

/// What tells an erratum from others of its board and day: its sentence, however
/// it is broken into lines. Its place among the others changes when one is put
/// before it, and a name that was given out is for good (RFC 4287, 4.2.6). What
/// to do about it, and which revisions have it, are often found out later.
fn told_apart(means: &str) -> String {
    let words: Vec<&str> = means.split_whitespace().collect();
    let hash = blake3::hash(words.join(" ").as_bytes());
    hash.to_hex().chars().take(SIGNS).collect()
}

/// Who names things here (RFC 4151): the host of the notebook's address, or its
/// title under a name that nobody can own (RFC 2606).
fn authority(book: &Book<'_>) -> String {
    let address = address(book).unwrap_or_default();
    let host = address.split('/').nth(2).unwrap_or("");
    let host = host.split(':').next().unwrap_or("");
    if !host.is_empty() && !host.starts_with('[') {
        return host.to_ascii_lowercase();
    }
    let title = book.notebook.records.notebook.title.to_lowercase();
    let words = title.split(|c: char| !c.is_ascii_alphanumeric());
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    let name = words.join("-");
    // A label of a name has at most 63 letters (RFC 1035).
    let name = if name.is_empty() { "notebook" } else { &name };
    format!(
        "{}.invalid",
        name[..name.len().min(60)].trim_end_matches('-')
    )
}

fn feed(book: &Book<'_>, entries: &[Entry], newest: Date) -> String {
    let record = &book.notebook.records.notebook;
    let who = authority(book);
    // The names are given out for good, so nothing in them may change.
    let name = |on: &str, of: &str| format!("tag:{who},{on}:{of}");
    let readers = book.edition.audience.word();
    let mut out = String::from(
        "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<feed xmlns=\"http://www.w3.org/2005/Atom\"",
    );
    // Writing to a string does not fail.
    let _ = write!(out, " xml:lang=\"{}\"", escaped(&record.language));
    out += ">\n";
    let _ = writeln!(
        out,
        "<id>{}</id>",
        escaped(&name("2026", &format!("news/{readers}")))
    );
    let _ = writeln!(out, "<title>{}</title>", escaped(&record.title));
    let _ = writeln!(out, "<updated>{newest}T00:00:00Z</updated>");
    let owner = if record.owner.is_empty() {
        "not stated"
    } else {
        &record.owner
    };
    let _ = writeln!(out, "<author><name>{}</name></author>", escaped(owner));
    let root = address(book).unwrap_or_default();
    let _ = writeln!(
        out,
        "<link rel=\"self\" type=\"application/atom+xml\" href=\"{}{FEED}\"/>",
        escaped(&root)
    );
    let _ = writeln!(
        out,
        "<link rel=\"alternate\" type=\"text/html\" href=\"{}index.html\"/>",
        escaped(&root)
    );
    for entry in entries {
        let address = href(Utf8Path::new(FEED), &entry.path);
        let _ = writeln!(
            out,
            "<entry>\n<id>{}</id>\n<title>{}</title>\n<updated>{}T00:00:00Z</updated>\n<category term=\"{}\"/>\n<link rel=\"alternate\" type=\"text/html\" href=\"{}{}\"/>\n<summary>{}</summary>\n</entry>",
            escaped(&name(&entry.date.to_string(), &entry.name)),
            escaped(&entry.title),
            entry.date,
            entry.kind,
            escaped(&root),
            escaped(&address),
            escaped(&entry.says),
        );
    }
    out + "</feed>\n"
}

/// All pages by their whole addresses (sitemaps.org, protocol 0.9).
fn site_map(book: &Book<'_>, root: &str) -> String {
    let mut out = String::from(
        "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<urlset xmlns=\"http://www.sitemaps.org/schemas/sitemap/0.9\">\n",
    );
    for leaf in book.leaves.iter() {
        let address = href(Utf8Path::new(""), &leaf.path);
        // Writing to a string does not fail.
        let _ = writeln!(
            out,
            "<url><loc>{}{}</loc></url>",
            escaped(root),
            escaped(&address)
        );
    }
    out + "</urlset>\n"
}
