//! `ohmbook prove`: recompute everything and compare.

use camino::Utf8Path;
use ohmbook::finding::{Level, Slug, draw, to_json};
use ohmbook::notebook::Notebook;

use super::{Done, Outcome, load, say, style};

/// Proves the notebook and prints its findings.
pub fn run(dir: &Utf8Path, json: bool, notes: bool) -> Done {
    let notebook = load(dir);
    report(&notebook, json, notes)?;
    Ok(outcome(&notebook))
}

/// Prints a notebook's findings: drawn to standard error for people, as JSON
/// to standard output for programs.
pub fn report(notebook: &Notebook, json: bool, notes: bool) -> Result<(), String> {
    let tally = notebook.tally();
    if json {
        say(&to_json(&notebook.findings, &notebook.sources, Some((tally.hold, tally.all)))?);
    } else {
        let drawn = draw(&notebook.findings, &notebook.sources, Some((tally.hold, tally.all)), &style(notes));
        anstream::eprint!("{drawn}");
    }
    Ok(())
}

/// What the findings come to. A notebook without a readable `notebook.toml`
/// was not read.
pub fn outcome(notebook: &Notebook) -> Outcome {
    let missing = |slug| notebook.findings.iter().any(|finding| finding.slug == slug);
    let unread = notebook.records.boards.is_empty() && missing(Slug::MissingRecord);
    if unread {
        Outcome::Unreadable
    } else if notebook.findings.iter().any(|finding| finding.level == Level::Error) {
        Outcome::Disagrees
    } else {
        Outcome::Holds
    }
}
