//! One file on the disk, whole or not at all.

use std::fs;
use std::io::{self, Write};

use camino::Utf8Path;
use tempfile::NamedTempFile;

/// Puts a text into the place of a file: it is written beside it under a hidden
/// name and then renamed, so that no reader sees half of it. Folders on the way
/// to it are made. A file that was there keeps its permissions.
///
/// # Errors
///
/// What the system says where it cannot be written; what was there stands as it
/// was then.
pub fn put_file(path: &Utf8Path, text: &str) -> io::Result<()> {
    fs::create_dir_all(folder(path))?;
    // What is dropped before it is renamed is removed.
    let beside = written_beside(path, text.as_bytes())?;
    beside.persist(path).map_err(|failure| failure.error)?;
    Ok(())
}

/// Bytes on the disk beside a file, under a hidden name, ready to be renamed into
/// its place with its permissions.
pub(super) fn written_beside(path: &Utf8Path, bytes: &[u8]) -> io::Result<NamedTempFile> {
    let name = path.file_name().unwrap_or("file");
    let prefix = format!(".{name}.ohmbook-");
    let mut builder = tempfile::Builder::new();
    builder.prefix(&prefix);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // What the user's mask leaves of it, as with any new file.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder(path))?;
    file.write_all(bytes)?;
    match fs::metadata(path) {
        Ok(data) => fs::set_permissions(file.path(), data.permissions())?,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {}
        Err(error) => return Err(error),
    }
    file.as_file().sync_all()?;
    Ok(file)
}

/// The folder that a file lies in.
fn folder(path: &Utf8Path) -> &Utf8Path {
    match path.parent() {
        Some(parent) if !parent.as_str().is_empty() => parent,
        _ => Utf8Path::new("."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_put_in_a_new_folder_replaced_and_left_alone_where_it_cannot_be() {
        let dir = tempfile::tempdir().expect("a folder can be made");
        let root = Utf8Path::from_path(dir.path()).expect("it is UTF-8");
        let path = root.join("firmware/src/limits.h");
        put_file(&path, "one").expect("it can be written");
        put_file(&path, "two").expect("it can be replaced");
        assert_eq!(fs::read_to_string(&path).expect("it is there"), "two");
        // A folder stands in its place, and a file where a folder should be.
        assert!(put_file(&root.join("firmware/src"), "three").is_err());
        assert!(put_file(&path.join("below.h"), "three").is_err());
        let left = fs::read_dir(root.join("firmware/src")).expect("it is there");
        assert_eq!(left.count(), 1, "nothing is left beside it");
        assert_eq!(
            fs::read_dir(root.join("firmware")).expect("there").count(),
            1
        );
    }

    #[cfg(unix)]
    #[test]
    fn permissions_stay_as_they_were() {
        use std::os::unix::fs::PermissionsExt;
        let dir = tempfile::tempdir().expect("a folder can be made");
        let path = Utf8Path::from_path(dir.path())
            .expect("it is UTF-8")
            .join("limits.h");
        put_file(&path, "one").expect("it can be written");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("it is ours");
        put_file(&path, "two").expect("it can be replaced");
        let mode = fs::metadata(&path)
            .expect("it is there")
            .permissions()
            .mode();
        assert_eq!(mode & 0o777, 0o640);
    }
}
