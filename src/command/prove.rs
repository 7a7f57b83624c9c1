//! `ohmbook prove`: recompute everything and compare.

use camino::Utf8Path;
use ohmbook::finding::{Level, Slug, Summary, draw, draw_summary, json};
use ohmbook::notebook::Notebook;

use super::{Done, Outcome, load, say, style, tell};

/// Proves the notebook and prints its findings.
pub fn run(dir: &Utf8Path, json: bool, notes: bool) -> Done {
    let notebook = load(dir);
    report(&notebook, json, notes)?;
    Ok(outcome(&notebook))
}

/// Prints a notebook's findings: drawn to standard error for people, as JSON
/// to standard output for programs.
pub fn report(notebook: &Notebook, json: bool, notes: bool) -> Result<(), String> {
    let summary = Summary::of(&notebook.findings, Some(notebook.tally()));
    if json {
        say(&json::write(
            &notebook.findings,
            &notebook.sources,
            &summary,
        ))
    } else {
        let style = style(notebook, notes);
        let drawn = draw(&notebook.findings, &notebook.sources, &style);
        tell(&format!("{drawn}{}", draw_summary(&summary, &style)))
    }
}

/// What the findings come to. A notebook without a readable `notebook.toml`
/// was not read.
pub fn outcome(notebook: &Notebook) -> Outcome {
    let missing = |slug| notebook.findings.iter().any(|finding| finding.slug == slug);
    let unread = notebook.records.boards.is_empty() && missing(Slug::MissingRecord);
    if unread {
        Outcome::Unreadable
    } else if notebook
        .findings
        .iter()
        .any(|finding| finding.level == Level::Error)
    {
        Outcome::Disagrees
    } else {
        Outcome::Holds
    }
}
