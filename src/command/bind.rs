//! `ohmbook bind`: prove, then write the HTML notebook whole or not at all.

use std::error::Error;

use camino::Utf8Path;
use ohmbook::bind::{Written, write};
use ohmbook::notebook::Notebook;
use ohmbook::page::pages_into;
use ohmbook::record::Audience;

use super::progress::while_working;
use super::{Done, Outcome, load, prove, say, tell};

/// Proves the notebook in `dir` and, where all holds, writes its pages for some
/// readers to `to`.
pub fn run(dir: &Utf8Path, to: &Utf8Path, readers: Audience, json: bool, notes: bool) -> Done {
    let notebook = load(dir);
    prove::report(&notebook, json, notes)?;
    let outcome = prove::outcome(&notebook);
    if outcome != Outcome::Holds {
        if !json {
            tell(&format!("nothing was bound; `{to}` is as it was"))?;
        }
        return Ok(outcome);
    }
    let written = bound(&notebook, readers, to)?;
    if !json {
        let pages = written.files;
        say(&format!(
            "{pages} files bound; open {}",
            to.join("index.html")
        ))?;
    }
    Ok(Outcome::Holds)
}

/// Writes the pages of a notebook for some readers to `to`.
pub fn bound(notebook: &Notebook, readers: Audience, to: &Utf8Path) -> Result<Written, String> {
    let put_all = || {
        write(to, &notebook.root, |filling| {
            pages_into(notebook, readers, |path, content| {
                Ok::<_, Box<dyn Error + Send + Sync>>(filling.put(path, content)?)
            })
        })
    };
    while_working("binding", || put_all().map_err(|error| error.to_string()))
}
