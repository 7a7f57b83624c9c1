//! `ohmbook bind`: prove, then write the HTML notebook whole or not at all.

use std::error::Error;

use camino::Utf8Path;
use ohmbook::bind::write_with;
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
    let written = while_working("binding", || {
        let written = write_with(to, dir, |filling| {
            pages_into(&notebook, readers, |path, content| {
                Ok::<_, Box<dyn Error + Send + Sync>>(filling.put(path, content)?)
            })
        });
        written.map_err(|error| error.to_string())
    })?;
    if !json {
        let pages = written.files;
        say(&format!(
            "{pages} files bound; open {}",
            to.join("index.html")
        ))?;
    }
    Ok(Outcome::Holds)
}
