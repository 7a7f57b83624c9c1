//! What lies in the notebook's folder: names, sizes and times.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use camino::{Utf8Path, Utf8PathBuf};
use walkdir::WalkDir;

use crate::notebook::is_hidden;

/// All files that binding may read, and the folders that they lie in. Two files
/// written within the resolution of the disk's clock and of the same size look
/// alike; for those there are hints.
#[derive(PartialEq, Eq, Debug)]
pub(super) struct Census(BTreeMap<PathBuf, Option<Stamp>>);

/// What tells a file from the one that was there before.
#[derive(PartialEq, Eq, Debug)]
struct Stamp {
    size: u64,
    /// Since the beginning of 1970.
    modified: Duration,
    /// Number of the file on its disk, where there is one.
    file: u64,
}

impl Stamp {
    /// The stamp of a file; `None` for a folder.
    fn of(data: &Metadata) -> Option<Stamp> {
        let modified = data.modified().ok();
        let since = modified.and_then(|time| time.duration_since(SystemTime::UNIX_EPOCH).ok());
        #[cfg(unix)]
        let file = std::os::unix::fs::MetadataExt::ino(data);
        #[cfg(not(unix))]
        let file = 0;
        (!data.is_dir()).then(|| Stamp {
            size: data.len(),
            modified: since.unwrap_or_default(),
            file,
        })
    }
}

impl Census {
    /// Walks a folder.
    pub(super) fn of(folder: &Utf8Path) -> Census {
        let walk = WalkDir::new(folder)
            .follow_links(true)
            .into_iter()
            .filter_entry(|entry| {
                entry.depth() == 0 || !is_hidden(&entry.file_name().to_string_lossy())
            });
        let entries = walk.flatten().map(|entry| {
            let stamp = entry.metadata().ok().and_then(|data| Stamp::of(&data));
            (entry.into_path(), stamp)
        });
        Census(entries.collect())
    }

    /// The files among these paths whose text may be other than it was, by their
    /// paths in the folder, once they are taken in. What was not there and is not
    /// there now counts for nothing. `None` where more may have changed than the
    /// text of files: the folder must be walked.
    pub(super) fn touched(
        &mut self,
        folder: &Utf8Path,
        paths: &BTreeSet<PathBuf>,
    ) -> Option<BTreeSet<Utf8PathBuf>> {
        let mut touched = BTreeSet::new();
        for path in paths {
            match (self.0.get_mut(path), fs::symlink_metadata(path)) {
                (Some(stamp @ Some(_)), Ok(data)) if data.is_file() => {
                    *stamp = Stamp::of(&data);
                    touched.insert(relative(folder, path)?);
                }
                (None, Err(_)) => {}
                _ => return None,
            }
        }
        Some(touched)
    }
}

fn relative(folder: &Utf8Path, path: &Path) -> Option<Utf8PathBuf> {
    let relative = path.strip_prefix(folder).ok()?;
    Utf8Path::from_path(relative).map(Utf8Path::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> (tempfile::TempDir, Utf8PathBuf) {
        let dir = tempfile::tempdir().expect("a folder can be made");
        let path = Utf8PathBuf::try_from(dir.path().to_owned()).expect("it is UTF-8");
        (dir, path)
    }

    #[test]
    fn a_census_sees_what_binding_may_read_and_nothing_else() {
        let (_dir, path) = folder();
        let write = |name: &str, text: &str| fs::write(path.join(name), text).expect("written");
        write("a.md", "one");
        let before = Census::of(&path);
        for unread in [".a.md.swp", "a.md~", "#a.md#"] {
            write(unread, "x");
        }
        assert_eq!(Census::of(&path), before);
        write("a.md", "longer");
        let longer = Census::of(&path);
        assert_ne!(longer, before);
        fs::rename(path.join("a.md"), path.join("b.md")).expect("moved");
        let moved = Census::of(&path);
        assert_ne!(moved, longer);
        fs::remove_dir_all(&path).expect("removed");
        let gone = Census::of(&path);
        assert_ne!(gone, moved);
        assert_eq!(gone, Census::of(&path));
    }

    #[test]
    fn a_save_touches_a_file_and_anything_else_asks_for_a_walk() {
        let (_dir, path) = folder();
        let write = |name: &str, text: &str| fs::write(path.join(name), text).expect("written");
        write("a.md", "one");
        let mut known = Census::of(&path);
        let mut touched = |names: &[&str]| {
            let paths = names.iter().map(|name| path.join(name).into_std_path_buf());
            let touched = known.touched(&path, &paths.collect())?;
            Some(touched.into_iter().map(Utf8PathBuf::into_string).collect())
        };
        let files = |names: &[&str]| Some(names.iter().map(ToString::to_string).collect());
        write("a.md", "other");
        assert_eq!(touched(&["a.md"]), files(&["a.md"]));
        // What an editor wrote beside it and renamed is gone.
        assert_eq!(touched(&["a.md.new", "a.md"]), files(&["a.md"]));
        assert_eq!(touched(&["a.md.new"]), files(&[]));
        write("b.md", "new");
        assert_eq!(touched(&["b.md"]), None);
        fs::remove_file(path.join("a.md")).expect("removed");
        assert_eq!(touched(&["a.md"]), None::<Vec<String>>);
        assert_eq!(touched(&[""]), None, "the folder itself");
    }

    #[test]
    fn a_file_that_was_taken_in_is_known() {
        let (_dir, path) = folder();
        let file = path.join("a.md");
        fs::write(&file, "one").expect("written");
        let mut known = Census::of(&path);
        fs::write(&file, "longer").expect("written");
        assert_ne!(known, Census::of(&path));
        known.touched(&path, &BTreeSet::from([file.into_std_path_buf()]));
        assert_eq!(known, Census::of(&path));
    }
}
