//! `ohmbook start`: a small working notebook to begin with.

use std::fs;

use camino::{Utf8Path, Utf8PathBuf};
use include_dir::{Dir, include_dir};

use super::{Done, Outcome, say, today};

/// What a new notebook holds.
static BEGINNING: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/src/command/start");

/// Lays out a notebook in a folder that is empty or not there yet.
pub fn run(dir: &Utf8Path) -> Done {
    if dir.exists() {
        let mut entries =
            fs::read_dir(dir).map_err(|error| format!("`{dir}` cannot be read: {error}"))?;
        if entries.next().is_some() {
            return Err(format!(
                "`{dir}` is not empty; name a folder that is empty or not there yet"
            ));
        }
    }
    let mut files: Vec<(Utf8PathBuf, &[u8])> = Vec::new();
    collect(&BEGINNING, &mut files);
    for (path, contents) in files {
        // The first entry of the log is dated today.
        let path = dir.join(path.as_str().replace("DATE", &today().to_string()));
        let failed = |error: std::io::Error| format!("`{path}` cannot be written: {error}");
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent).map_err(failed)?;
        }
        fs::write(&path, contents).map_err(failed)?;
    }
    say(&format!(
        "a notebook with one board is in {dir}\n  ohmbook prove {dir}\n  ohmbook bind {dir} --to site"
    ))?;
    Ok(Outcome::Holds)
}

fn collect<'a>(dir: &'a Dir<'a>, files: &mut Vec<(Utf8PathBuf, &'a [u8])>) {
    for file in dir.files() {
        if let Some(path) = Utf8Path::from_path(file.path()) {
            files.push((path.to_owned(), file.contents()));
        }
    }
    for dir in dir.dirs() {
        collect(dir, files);
    }
}
