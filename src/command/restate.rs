//! `ohmbook restate`: writes texts that hold in the place of those that do not.

use std::fs;
use std::io::{BufRead, IsTerminal, stderr, stdin};

use camino::Utf8Path;
use ohmbook::bind::{Replacement, replace_files};
use ohmbook::finding::unified;
use ohmbook::notebook::{Notebook, Restated};

use super::{Done, Outcome, counted, load, say, tell};

/// The byte order mark, which is no part of a text and stays in its file.
const MARK: &str = "\u{feff}";

/// Shows the change, and writes it where that is wanted.
pub fn run(dir: &Utf8Path, yes: bool) -> Done {
    let notebook = load(dir);
    let restated = notebook.restated();
    if restated.files.is_empty() && restated.left.is_empty() {
        tell("every stated number holds: nothing to restate")?;
        return Ok(Outcome::Holds);
    }
    for file in &restated.files {
        let path = file.path.as_str();
        say(&unified([path, path], &file.before, &file.after))?;
    }
    for (finding, why) in &restated.left {
        let place = finding.place().map(|place| {
            let file = notebook.sources.file(place.file);
            let (line, column) = file.line_column(place.start);
            format!("{}:{line}:{column}: ", file.path)
        });
        let help = finding.help.as_deref().unwrap_or("see `ohmbook prove`");
        tell(&format!("{}{why}; {help}", place.unwrap_or_default()))?;
    }
    if restated.files.is_empty() {
        return Ok(Outcome::Disagrees);
    }
    let texts: usize = restated.files.iter().map(|file| file.texts).sum();
    let (texts, files) = (
        counted(texts, "text"),
        counted(restated.files.len(), "file"),
    );
    let what = format!("{texts} in {files}");
    if !yes && !asked(&what)? {
        return Ok(Outcome::Disagrees);
    }
    write(&notebook, &restated)?;
    tell(&format!("restated {what}"))?;
    Ok(match restated.left.is_empty() {
        true => Outcome::Holds,
        false => Outcome::Disagrees,
    })
}

/// Asks on a terminal; elsewhere says how to be taken at one's word.
fn asked(what: &str) -> Result<bool, String> {
    if !stdin().is_terminal() || !stderr().is_terminal() {
        tell(&format!("nothing was written: with `--yes`, {what} are"))?;
        return Ok(false);
    }
    tell(&format!("Write {what}? Type `yes` to do so."))?;
    let mut answer = String::new();
    let read = stdin().lock().read_line(&mut answer);
    read.map_err(|error| format!("the answer cannot be read: {error}"))?;
    let is_yes = matches!(answer.trim().to_lowercase().as_str(), "yes" | "y");
    if !is_yes {
        tell("nothing was written")?;
    }
    Ok(is_yes)
}

fn write(notebook: &Notebook, restated: &Restated) -> Result<(), String> {
    let mut files = Vec::new();
    for file in &restated.files {
        let path = notebook.root.join(&file.path);
        let path = path.strip_prefix(".").unwrap_or(&path).to_owned();
        let before =
            fs::read(&path).map_err(|error| format!("`{path}` cannot be read: {error}"))?;
        let mark = if before.starts_with(MARK.as_bytes()) {
            MARK
        } else {
            ""
        };
        if before[mark.len()..] != *file.before.as_bytes() {
            return Err(format!(
                "`{path}` has changed since it was read; nothing was changed"
            ));
        }
        let after = format!("{mark}{}", file.after).into_bytes();
        files.push(Replacement {
            path,
            before,
            after,
        });
    }
    replace_files(&files)
}
