//! Why a site was not written, and what to do about it.

use std::error::Error;
use std::fmt;
use std::io;

use camino::{Utf8Path, Utf8PathBuf};

/// Why a site was not written.
#[derive(Debug)]
#[non_exhaustive]
pub enum BindError {
    /// A file of the site has a path that it cannot have.
    BadPath {
        /// The path.
        path: Utf8PathBuf,
        /// What is wrong with it.
        why: &'static str,
    },
    /// The path given for the site names no folder, as `/` and `..` do not.
    Unnamed {
        /// The path.
        to: Utf8PathBuf,
    },
    /// There is a symbolic link where the site should go.
    Link {
        /// The link.
        to: Utf8PathBuf,
    },
    /// There is something where the site should go that is no folder.
    NoFolder {
        /// Its path.
        to: Utf8PathBuf,
    },
    /// The folder where the site should go has something in it, and it was not
    /// Ohmbook that wrote it.
    NotOurs {
        /// The folder.
        to: Utf8PathBuf,
    },
    /// The list of what Ohmbook wrote cannot be read.
    BadMarker {
        /// The list.
        path: Utf8PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// There are files in the earlier site that Ohmbook did not write.
    Foreign {
        /// The earlier site.
        to: Utf8PathBuf,
        /// Paths in it, folders with a `/` at their end.
        files: Vec<Utf8PathBuf>,
    },
    /// The site would lie in the notebook, or the notebook in the site.
    Overlap {
        /// Where the site should go.
        to: Utf8PathBuf,
        /// The notebook's folder.
        sources: Utf8PathBuf,
    },
    /// The system refused a step. The folder is as it was.
    #[non_exhaustive]
    Disk {
        /// What was to be done.
        doing: &'static str,
        /// With which file or folder.
        path: Utf8PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The earlier site was moved away, the new one could not be moved in, and
    /// the earlier one could not be moved back.
    Stranded {
        /// Where the site should be.
        to: Utf8PathBuf,
        /// Where the earlier site is, complete.
        earlier: Utf8PathBuf,
        /// Why the new one could not be moved in.
        failure: Box<BindError>,
    },
}

impl BindError {
    pub(super) fn disk(doing: &'static str, path: &Utf8Path, source: io::Error) -> BindError {
        BindError::Disk {
            doing,
            path: path.to_owned(),
            source,
        }
    }
}

/// Files that a message names before it only counts them.
const NAMED: usize = 5;

impl fmt::Display for BindError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            BindError::BadPath { path, why } => write!(
                f,
                "the site cannot have a file `{path}`: {why}; rename what it is made from"
            ),
            BindError::Unnamed { to } => write!(
                f,
                "`{to}` does not name a folder; end the path with the name that the site's \
                 folder shall have"
            ),
            BindError::Link { to } => write!(
                f,
                "`{to}` is a symbolic link; name the folder that it leads to instead"
            ),
            BindError::NoFolder { to } => write!(
                f,
                "`{to}` is not a folder; name another, or move the file away"
            ),
            BindError::NotOurs { to } => write!(
                f,
                "`{to}` has files in it that Ohmbook did not write, and they would be lost; \
                 name an empty or a new folder"
            ),
            BindError::BadMarker { path, why } => write!(
                f,
                "`{path}` does not say which files Ohmbook wrote: {why}; remove its folder if \
                 it holds nothing of yours, or name another"
            ),
            BindError::Foreign { to, files } => write!(
                f,
                "`{to}` holds what Ohmbook did not write, and it would be lost: {}; move it \
                 elsewhere, or into the notebook if it belongs to the site",
                some_of(files)
            ),
            BindError::Overlap { to, sources } => write!(
                f,
                "the site at `{to}` would overlap the notebook at `{sources}`; name a folder \
                 outside the notebook that does not hold it"
            ),
            BindError::Disk {
                doing,
                path,
                source,
            } => {
                write!(f, "cannot {doing} `{path}`: {source}")?;
                match mend(source) {
                    Some(mend) => write!(f, "; {mend}"),
                    None => Ok(()),
                }
            }
            BindError::Stranded {
                to,
                earlier,
                failure,
            } => write!(
                f,
                "{failure}; nor could the earlier site be put back: it is complete in \
                 `{earlier}`, and the next run moves it to `{to}` again"
            ),
        }
    }
}

/// The first few names, and how many more there are.
fn some_of(files: &[Utf8PathBuf]) -> String {
    let named: Vec<String> = files
        .iter()
        .take(NAMED)
        .map(|file| format!("`{file}`"))
        .collect();
    match files.len() - named.len() {
        0 => named.join(", "),
        more => format!("{} and {more} more", named.join(", ")),
    }
}

impl Error for BindError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            BindError::Disk { source, .. } => Some(source),
            BindError::Stranded { failure, .. } => Some(failure.as_ref()),
            _ => None,
        }
    }
}

/// What helps against a refusal by the system.
fn mend(source: &io::Error) -> Option<&'static str> {
    use io::ErrorKind::{
        AlreadyExists, CrossesDevices, InvalidFilename, NotADirectory, PermissionDenied,
        QuotaExceeded, ReadOnlyFilesystem, ResourceBusy, StorageFull,
    };
    match source.kind() {
        StorageFull | QuotaExceeded => Some("make room, then bind again"),
        PermissionDenied => Some("bind to a folder that you may write to"),
        ReadOnlyFilesystem => Some("bind to a disk that can be written to"),
        CrossesDevices | ResourceBusy => {
            Some("another file system is mounted there; bind to a folder within it")
        }
        NotADirectory => Some("a file stands where there should be a folder; move it away"),
        InvalidFilename => Some("shorten the name"),
        AlreadyExists => {
            Some("two names of the site are one to this file system; rename what one is made from")
        }
        _ => None,
    }
}
