//! `ohmbook emit`: files for firmware.

use camino::Utf8Path;
use ohmbook::bind::put_file;
use ohmbook::finding::{Finding, Level, Slug};
use ohmbook::notebook::OnDisk;

use super::prove::{outcome, report};
use super::{Done, Outcome, load, say, tell};

/// Writes the files that differ, and says which. While anything else stands
/// against the notebook, nothing is written.
pub fn run(dir: &Utf8Path, notes: bool) -> Done {
    let mut notebook = load(dir);
    let is_ours = |finding: &Finding| finding.slug == Slug::EmittedFileDiffers;
    if notebook
        .findings
        .iter()
        .any(|finding| finding.level == Level::Error && !is_ours(finding))
    {
        report(&notebook, false, notes)?;
        tell("nothing was emitted")?;
        return Ok(outcome(&notebook));
    }
    if notebook.records.notebook.emits.is_empty() {
        tell("the notebook names no file for firmware: `[[emit]]` in `notebook.toml` does")?;
        return Ok(Outcome::Holds);
    }
    let mut is_refused = false;
    for file in &notebook.emitted {
        let path = notebook.root.join(&file.path);
        let path = path.strip_prefix(".").unwrap_or(&path);
        match file.on_disk {
            OnDisk::Same => say(&format!("{path}: up to date, state {}", file.state))?,
            OnDisk::Foreign => {
                is_refused = true;
                tell(&format!(
                    "{path}: not replaced, since `ohmbook emit` did not write it; move it away, or name another file"
                ))?;
            }
            OnDisk::Missing | OnDisk::Differs => {
                put_file(path, &file.text)
                    .map_err(|error| format!("`{path}` cannot be written: {error}"))?;
                say(&format!("{path}: written, state {}", file.state))?;
            }
        }
    }
    // What a waiver lets stand may have kept a file from being made.
    let missing = notebook.records.notebook.emits.len() - notebook.emitted.len();
    if missing > 0 {
        is_refused = true;
        tell(&format!(
            "{missing} of the files could not be made; `ohmbook prove` says why"
        ))?;
    }
    // Cautions and notes; what differed does no longer.
    notebook.findings.retain(|finding| !is_ours(finding));
    report(&notebook, false, notes)?;
    Ok(if is_refused {
        Outcome::Disagrees
    } else {
        Outcome::Holds
    })
}
