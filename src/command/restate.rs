//! `ohmbook restate`: writes texts that hold in the place of those that do not.

use std::fs;
use std::io::{BufRead, IsTerminal, stderr, stdin};

use camino::Utf8Path;
use ohmbook::bind::{Replacement, replace_files};
use ohmbook::notebook::{Notebook, Restated, RestatedFile};

use super::{Done, Outcome, load, say, tell};

/// The byte order mark, which is no part of a text and stays in its file.
const MARK: &str = "\u{feff}";
/// Lines that are shown round a change.
const ROUND: usize = 3;

/// Shows the change, and writes it where that is wanted.
pub fn run(dir: &Utf8Path, yes: bool) -> Done {
    let notebook = load(dir);
    let restated = notebook.restated();
    if restated.files.is_empty() && restated.left.is_empty() {
        tell("every stated number holds: nothing to restate")?;
        return Ok(Outcome::Holds);
    }
    for file in &restated.files {
        say(&diff(file))?;
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
    let what = format!(
        "{texts} {} in {} {}",
        plural(texts, "text"),
        restated.files.len(),
        plural(restated.files.len(), "file")
    );
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

fn plural(count: usize, word: &str) -> String {
    match count {
        1 => word.to_owned(),
        _ => format!("{word}s"),
    }
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

/// The change of a file as a unified diff. Lines are changed and never added.
fn diff(file: &RestatedFile) -> String {
    let (was, now): (Vec<&str>, Vec<&str>) =
        (file.before.lines().collect(), file.after.lines().collect());
    let differs = |at: &usize| was.get(*at) != now.get(*at);
    let changed: Vec<usize> = (0..was.len().max(now.len())).filter(differs).collect();
    let mut out = format!("--- {0}\n+++ {0}\n", file.path);
    let mut at = 0;
    while at < changed.len() {
        let mut last = at;
        while changed
            .get(last + 1)
            .is_some_and(|next| next - changed[last] <= 2 * ROUND)
        {
            last += 1;
        }
        let first_line = changed[at].saturating_sub(ROUND);
        let end_line = (changed[last] + ROUND + 1).min(was.len());
        let count = end_line - first_line;
        out.push_str(&format!(
            "@@ -{0},{count} +{0},{count} @@\n",
            first_line + 1
        ));
        let mut line = first_line;
        while line < end_line {
            if !differs(&line) {
                out.push_str(&format!(" {}\n", was[line]));
                line += 1;
                continue;
            }
            let start = line;
            while line < end_line && differs(&line) {
                line += 1;
            }
            for old in &was[start..line] {
                out.push_str(&format!("-{old}\n"));
            }
            for new in now.get(start..line).unwrap_or_default() {
                out.push_str(&format!("+{new}\n"));
            }
        }
        at = last + 1;
    }
    out
}
