//! Files that are changed together: all of them, or none.

use std::fs;
use std::io;

use camino::{Utf8Path, Utf8PathBuf};
use tempfile::NamedTempFile;

use super::single::written_beside;

/// A file with its bytes as they were read, and as they shall be.
#[derive(Debug)]
pub struct Replacement {
    /// The file.
    pub path: Utf8PathBuf,
    /// What was read.
    pub before: Vec<u8>,
    /// What shall stand there.
    pub after: Vec<u8>,
}

/// Puts other bytes into files that are there. Each is written beside its file
/// under a hidden name, and only when all of them are on the disk are they
/// renamed into place, one after the other; each keeps its permissions. Where one
/// cannot be renamed, those before it are put back.
///
/// # Errors
///
/// A sentence on the file that changed since it was read, or could not be
/// written, and on what stands there now.
pub fn replace_files(files: &[Replacement]) -> Result<(), String> {
    let mut ready: Vec<(NamedTempFile, Utf8PathBuf, &Replacement)> = Vec::new();
    for file in files {
        // A symbolic link stays one: what it leads to is replaced.
        let real = file.path.canonicalize_utf8();
        let real = real.map_err(|error| cannot(&file.path, &error))?;
        unchanged(&file.path, &file.before)?;
        let beside = written_beside(&real, &file.after);
        let beside = beside.map_err(|error| cannot(&file.path, &error))?;
        ready.push((beside, real, file));
    }
    // Once more, when nothing but renaming is left to do.
    for (_, _, file) in &ready {
        unchanged(&file.path, &file.before)?;
    }
    let mut done: Vec<(Utf8PathBuf, &Replacement)> = Vec::new();
    for (beside, real, file) in ready {
        match beside.persist(&real) {
            Ok(_) => done.push((real, file)),
            Err(failure) => {
                let why = cannot(&file.path, &failure.error);
                return Err(match put_back(&done) {
                    Ok(()) => format!("{why}; nothing was changed"),
                    Err(path) => {
                        format!("{why}; `{path}` was changed already and could not be put back")
                    }
                });
            }
        }
    }
    Ok(())
}

fn cannot(path: &Utf8Path, error: &io::Error) -> String {
    format!("`{path}` cannot be written: {error}")
}

fn unchanged(path: &Utf8Path, before: &[u8]) -> Result<(), String> {
    match fs::read(path) {
        Ok(now) if now == before => Ok(()),
        Ok(_) => Err(format!(
            "`{path}` has changed since it was read; nothing was changed"
        )),
        Err(error) => Err(format!(
            "`{path}` cannot be read any more: {error}; nothing was changed"
        )),
    }
}

/// Puts files back as they were; the error is the first that could not be.
fn put_back(done: &[(Utf8PathBuf, &Replacement)]) -> Result<(), Utf8PathBuf> {
    for (real, file) in done {
        let back = written_beside(real, &file.before);
        let back = back.and_then(|back| back.persist(real).map_err(|failure| failure.error));
        back.map_err(|_| real.clone())?;
    }
    Ok(())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn folder() -> (tempfile::TempDir, Utf8PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let path = Utf8PathBuf::from_path_buf(folder.path().to_owned()).unwrap();
        (folder, path)
    }

    fn file(path: Utf8PathBuf, before: &str, after: &str) -> Replacement {
        Replacement {
            path,
            before: before.into(),
            after: after.into(),
        }
    }

    #[test]
    fn all_are_replaced_and_keep_their_permissions() {
        let (_folder, root) = folder();
        for name in ["a", "b"] {
            fs::write(root.join(name), "old").unwrap();
        }
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            fs::set_permissions(root.join("b"), fs::Permissions::from_mode(0o640)).unwrap();
        }
        let files = ["a", "b"].map(|name| file(root.join(name), "old", "new"));
        replace_files(&files).unwrap();
        assert_eq!(fs::read(root.join("a")).unwrap(), b"new");
        assert_eq!(fs::read(root.join("b")).unwrap(), b"new");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = fs::metadata(root.join("b")).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o640);
        }
        assert_eq!(fs::read_dir(&root).unwrap().count(), 2);
    }

    #[test]
    fn a_file_that_changed_meanwhile_keeps_all_of_them() {
        let (_folder, root) = folder();
        fs::write(root.join("a"), "old").unwrap();
        fs::write(root.join("b"), "somebody else's").unwrap();
        let files = ["a", "b"].map(|name| file(root.join(name), "old", "new"));
        let why = replace_files(&files).unwrap_err();
        assert!(why.contains("changed since it was read"), "{why}");
        assert_eq!(fs::read(root.join("a")).unwrap(), b"old");
        assert_eq!(fs::read_dir(&root).unwrap().count(), 2);
    }

    #[test]
    fn a_file_that_is_gone_keeps_all_of_them() {
        let (_folder, root) = folder();
        fs::write(root.join("a"), "old").unwrap();
        let files = ["a", "b"].map(|name| file(root.join(name), "old", "new"));
        assert!(replace_files(&files).is_err());
        assert_eq!(fs::read(root.join("a")).unwrap(), b"old");
    }

    #[cfg(unix)]
    #[test]
    fn a_symbolic_link_stays_one() {
        let (_folder, root) = folder();
        fs::write(root.join("a"), "old").unwrap();
        std::os::unix::fs::symlink(root.join("a"), root.join("link")).unwrap();
        replace_files(&[file(root.join("link"), "old", "new")]).unwrap();
        assert!(
            fs::symlink_metadata(root.join("link"))
                .unwrap()
                .is_symlink()
        );
        assert_eq!(fs::read(root.join("a")).unwrap(), b"new");
    }
}
