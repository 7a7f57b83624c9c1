//! The list, kept in a bound site, of the files that Ohmbook wrote.
//!
//! By it a site is known for one, by it files of somebody else's are told apart,
//! and nothing is removed that is not on it. A site that is not complete has none
//! yet: its files are on a list beside it, which grows before each of them is
//! written.

use std::collections::BTreeSet;
use std::fs;
use std::io;

use camino::{Utf8Path, Utf8PathBuf};
use serde::{Deserialize, Serialize};
use walkdir::WalkDir;

use super::BindError;
use super::hand::Hand;
use super::is_inside;

/// Name of the list, in the site's own folder.
pub const MARKER: &str = "bound-by-ohmbook.json";

const FORM: &str = "ohmbook-binding";
const VERSION: u32 = 1;
const NOTICE: &str = "This folder was written by Ohmbook and is replaced as a whole when the \
                      notebook is bound again. Changes to the files listed here are lost then; \
                      any other file keeps the folder from being replaced.";

/// Files that desktops put into folders that are looked at. They are not worth a
/// refusal, and are made again by themselves.
const DESKTOP_LITTER: [&str; 3] = [".DS_Store", "Thumbs.db", "desktop.ini"];

/// What ends each path on the list of a site that is not complete: no path has it.
pub(super) const END: u8 = 0;

/// The list.
#[derive(Serialize, Deserialize, Debug)]
pub(super) struct Marker {
    form: String,
    version: u32,
    #[serde(default)]
    notice: String,
    /// Files of the site, `/` between folders; the list itself is not on it.
    files: BTreeSet<String>,
}

impl Marker {
    /// The list of these files.
    pub(super) fn of(files: impl IntoIterator<Item = String>) -> Marker {
        Marker {
            form: FORM.to_owned(),
            version: VERSION,
            notice: NOTICE.to_owned(),
            files: files.into_iter().collect(),
        }
    }

    /// The files on it.
    pub(super) fn into_files(self) -> BTreeSet<String> {
        self.files
    }

    /// The list as it is written.
    pub(super) fn text(&self) -> String {
        // Strings and a number under fixed names cannot fail to be JSON; an empty
        // list would be refused when it is read.
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }

    /// Reads the list in a folder; `None` where there is none.
    ///
    /// # Errors
    ///
    /// Where it cannot be read, is of another form or version, or names files
    /// outside the folder, so that it must not be removed by.
    pub(super) fn read(folder: &Utf8Path) -> Result<Option<Marker>, BindError> {
        let path = folder.join(MARKER);
        let bad = |why: String| BindError::BadMarker {
            path: path.clone(),
            why,
        };
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(bad(error.to_string())),
        };
        let marker: Marker = serde_json::from_str(&text).map_err(|error| bad(error.to_string()))?;
        if marker.form != FORM || marker.version != VERSION {
            let Marker { form, version, .. } = &marker;
            return Err(bad(format!("it is of the form {form}, version {version}")));
        }
        match (marker.files.iter()).find(|file| !is_inside(Utf8Path::new(file))) {
            Some(outside) => Err(bad(format!("`{outside}` is not within the site"))),
            None => Ok(Some(marker)),
        }
    }

    /// What lies in a folder and is not on the list, folders with a `/` at the
    /// end; what is in them is not listed. Links are not followed.
    pub(super) fn foreign(&self, folder: &Utf8Path) -> io::Result<Vec<Utf8PathBuf>> {
        let mut foreign = Vec::new();
        let mut entries = WalkDir::new(folder)
            .min_depth(1)
            .sort_by_file_name()
            .into_iter();
        while let Some(entry) = entries.next() {
            let entry = entry?;
            let is_folder = entry.file_type().is_dir();
            match within(folder, entry.path()) {
                Some(path) if is_folder && self.has_folder(&path) => continue,
                Some(path) if entry.file_type().is_file() && self.has_file(&path) => continue,
                _ => {}
            }
            let shown = entry.path().strip_prefix(folder).unwrap_or(entry.path());
            let end = if is_folder { "/" } else { "" };
            foreign.push(format!("{}{end}", shown.display()).into());
            if is_folder {
                entries.skip_current_dir();
            }
        }
        Ok(foreign)
    }

    fn has_folder(&self, path: &Utf8Path) -> bool {
        let inner = format!("{path}/");
        let first_after = self.files.range(inner.clone()..).next();
        first_after.is_some_and(|file| file.starts_with(&inner))
    }

    fn has_file(&self, path: &Utf8Path) -> bool {
        let name = path.file_name().unwrap_or("");
        let is_ours = || self.files.contains(path.as_str());
        path == MARKER || is_ours() || DESKTOP_LITTER.contains(&name)
    }
}

/// The list of a site that is not complete; what cannot be read of it is left out.
fn unfinished(list: &Utf8Path) -> Marker {
    let text = fs::read(list).unwrap_or_default();
    let paths = text.split(|&byte| byte == END);
    let paths = paths.filter_map(|path| std::str::from_utf8(path).ok());
    let inside = paths.filter(|path| is_inside(Utf8Path::new(path)));
    Marker::of(inside.map(str::to_owned))
}

/// Removes a site by its list, or by the one that grew beside it, and whatever
/// folders are empty then. Returns whether it is all gone.
///
/// The list goes last, so that a removal that was interrupted can be taken up.
pub(super) fn remove_site(hand: &Hand<'_>, folder: &Utf8Path, growing: &Utf8Path) -> bool {
    if fs::symlink_metadata(folder).is_err() {
        return true;
    }
    let marker = Marker::read(folder).ok().flatten();
    let marker = marker.unwrap_or_else(|| unfinished(growing));
    let entries = WalkDir::new(folder).min_depth(1).contents_first(true);
    for entry in entries.into_iter().flatten() {
        let Some(path) = within(folder, entry.path()) else {
            continue;
        };
        let full = folder.join(&path);
        // Whatever cannot be removed stays, and is told of by the return value.
        let _ = match entry.file_type() {
            kind if kind.is_dir() && marker.has_folder(&path) => hand.remove_folder(&full),
            kind if kind.is_file() && marker.has_file(&path) && path != MARKER => {
                hand.remove_file(&full)
            }
            _ => Ok(()),
        };
    }
    let is_last = |entries: fs::ReadDir| entries.flatten().all(|entry| entry.file_name() == MARKER);
    folder.read_dir().is_ok_and(is_last)
        && hand.remove_file(&folder.join(MARKER)).is_ok()
        && hand.remove_folder(folder).is_ok()
}

/// A path below a folder, if its name is UTF-8, with `/` between folders.
fn within(folder: &Utf8Path, path: &std::path::Path) -> Option<Utf8PathBuf> {
    let path = Utf8Path::from_path(path.strip_prefix(folder).ok()?)?;
    Some(with_slashes(path).into())
}

/// A path with `/` between its folders.
pub(super) fn with_slashes(path: &Utf8Path) -> String {
    let mut name = String::with_capacity(path.as_str().len());
    for (at, part) in path.components().enumerate() {
        if at > 0 {
            name.push('/');
        }
        name.push_str(part.as_str());
    }
    name
}
