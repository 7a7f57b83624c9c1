//! `ohmbook since`: what differs from an earlier state of the notebook.

mod commit;
mod text;

use std::sync::Arc;

use camino::{Utf8Path, Utf8PathBuf};
use ohmbook::notebook::{Differences, Notebook};
use ohmbook::record::Audience;

use super::bind::bound;
use super::{Done, Outcome, is_notebook, load, say, tell};

/// Compares and prints what differs; with `to`, binds the notebook with a page
/// about it.
pub fn run(dir: &Utf8Path, earlier: &str, to: Option<Utf8PathBuf>, json: bool) -> Done {
    let mut notebook = load(dir);
    let differences = differences(dir, &notebook, earlier)?;
    say(&match json {
        true => text::json(&notebook, &differences)?,
        false => text::write(&notebook, &differences),
    })?;
    let Some(to) = to else {
        return Ok(Outcome::Holds);
    };
    if !notebook.holds() {
        tell(&format!(
            "nothing was bound, since the notebook does not hold; `{to}` is as it was"
        ))?;
        return Ok(Outcome::Disagrees);
    }
    notebook.since = Some(Arc::new(differences));
    bound(&notebook, Audience::Team, &to)?;
    tell(&format!("bound; open {}", to.join("since.html")))?;
    Ok(Outcome::Holds)
}

/// The differences from a folder, a revision of a board or a commit.
fn differences(dir: &Utf8Path, notebook: &Notebook, earlier: &str) -> Result<Differences, String> {
    let folder = Utf8Path::new(earlier);
    if folder.is_dir() {
        if !is_notebook(folder) {
            return Err(format!("`{earlier}` is a folder without a `notebook.toml`"));
        }
        return Ok(notebook.since(&load(folder), earlier));
    }
    if let Some(found) = revision(notebook, earlier)? {
        return Ok(found);
    }
    let taken = commit::take(dir, earlier)?;
    Ok(notebook.since(&load(taken.notebook()), &format!("commit {earlier}")))
}

/// The differences from a revision of a board: `cell_charger.A`, or `A` where
/// only one board had it.
fn revision(notebook: &Notebook, name: &str) -> Result<Option<Differences>, String> {
    let boards = notebook.records.boards.iter().enumerate();
    let (board, mark) = match name.split_once('.') {
        Some((board, mark)) => (Some(board), mark),
        None => (None, name),
    };
    let mut found = Vec::new();
    for (at, record) in boards {
        if board.is_some_and(|board| record.id.value != board) {
            continue;
        }
        let mut revisions = record.revisions.iter();
        found.extend(
            revisions
                .position(|known| known.id.value == mark)
                .map(|revision| (at, revision)),
        );
        if board.is_some() && found.is_empty() {
            let known: Vec<&str> = record
                .revisions
                .iter()
                .map(|known| known.id.value.as_str())
                .collect();
            let known = match known.as_slice() {
                [] => "it has no earlier ones".to_owned(),
                known => format!("there are {}", known.join(", ")),
            };
            return Err(format!(
                "`{}` had no revision `{mark}`; {known}",
                record.id.value
            ));
        }
    }
    let id = |at: usize| &notebook.records.boards[at].id.value;
    match found.as_slice() {
        [] => Ok(None),
        [(at, revision)] => {
            let of = format!("revision {mark} of {}", id(*at));
            let then = notebook.revision(*at, *revision);
            Ok(then.map(|then| notebook.since(&then.notebook, &of)))
        }
        several => {
            let names: Vec<String> = several
                .iter()
                .map(|(at, _)| format!("{}.{mark}", id(*at)))
                .collect();
            Err(format!(
                "several boards had a revision `{mark}`: {}",
                names.join(", ")
            ))
        }
    }
}
