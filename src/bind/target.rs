//! The folder that a site is written to: whether it may be, and what is there.

use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};

use camino::{Utf8Path, Utf8PathBuf};

use super::BindError;
use super::marker::Marker;

/// What is where the site should go.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Found {
    /// Nothing at all.
    Nothing,
    /// A folder with nothing in it.
    EmptyFolder,
    /// A site that was bound earlier, and nothing else.
    EarlierSite,
}

/// The folder above, and the name in it.
pub(super) fn named(to: &Utf8Path) -> Result<(Utf8PathBuf, &str), BindError> {
    let unnamed = || BindError::Unnamed { to: to.to_owned() };
    let name = to.file_name().ok_or_else(unnamed)?;
    let parent = to.parent().ok_or_else(unnamed)?;
    match parent.as_str() {
        "" => Ok((Utf8PathBuf::from("."), name)),
        _ => Ok((parent.to_owned(), name)),
    }
}

/// Refuses a target that lies in the notebook's folder, holds it, or is it.
pub(super) fn keep_apart(to: &Utf8Path, sources: &Utf8Path) -> Result<(), BindError> {
    let real_sources = real(sources)?;
    let real_to = real(to)?;
    if real_to.starts_with(&real_sources) || real_sources.starts_with(&real_to) {
        return Err(BindError::Overlap {
            to: to.to_owned(),
            sources: sources.to_owned(),
        });
    }
    Ok(())
}

/// A path without links and `..`; its end need not exist.
fn real(path: &Utf8Path) -> Result<PathBuf, BindError> {
    let failed = |source| BindError::disk("find the folder", path, source);
    let full = std::path::absolute(path).map_err(failed)?;
    for existing in full.ancestors() {
        let Ok(found) = existing.canonicalize() else {
            continue;
        };
        let missing = full.strip_prefix(existing).unwrap_or(Path::new(""));
        if missing
            .components()
            .any(|part| part == Component::ParentDir)
        {
            // What `..` of a folder is that does not exist, nobody can say.
            return Err(BindError::Unnamed {
                to: path.to_owned(),
            });
        }
        return Ok(found.join(missing));
    }
    Err(failed(io::ErrorKind::NotFound.into()))
}

/// Looks at what is there, and refuses whatever would be lost.
pub(super) fn look(to: &Utf8Path) -> Result<Found, BindError> {
    let looking = |source| BindError::disk("look into", to, source);
    let kind = match fs::symlink_metadata(to) {
        Ok(found) => found.file_type(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Found::Nothing),
        Err(error) => return Err(looking(error)),
    };
    let to = to.to_owned();
    if kind.is_symlink() {
        return Err(BindError::Link { to });
    }
    if !kind.is_dir() {
        return Err(BindError::NoFolder { to });
    }
    let Some(marker) = Marker::read(&to)? else {
        return match to.read_dir().map_err(looking)?.next() {
            None => Ok(Found::EmptyFolder),
            Some(_) => Err(BindError::NotOurs { to }),
        };
    };
    match marker.foreign(&to).map_err(looking)? {
        files if files.is_empty() => Ok(Found::EarlierSite),
        files => Err(BindError::Foreign { to, files }),
    }
}
