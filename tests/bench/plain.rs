//! Folders read and written in the plainest way: what binding is held against.

use std::fs;
use std::path::{Path, PathBuf};

use walkdir::WalkDir;

/// Every file of a folder.
pub fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = WalkDir::new(folder).into_iter();
    let entries = entries.map(|entry| entry.expect("the folder can be walked"));
    let files = entries.filter(|entry| entry.file_type().is_file());
    files.map(|entry| entry.into_path()).collect()
}

/// Every file of a folder by its path in there, with what it holds.
pub fn contents(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let read = files(folder).into_iter().map(|path| {
        let bytes = fs::read(&path).expect("the site can be read");
        let inside = path.strip_prefix(folder).expect("it lies in there");
        (inside.to_owned(), bytes)
    });
    read.collect()
}

/// Writes files of the same names and sizes as a site's.
pub fn write_plainly(site: &[(PathBuf, Vec<u8>)], to: &Path) {
    for (path, bytes) in site {
        let path = to.join(path);
        fs::create_dir_all(path.parent().expect("it lies in there")).expect("a folder");
        fs::write(path, bytes).expect("a file can be written");
    }
}
