//! The folder beside the target in which a site is made, and in which the
//! earlier one ends.
//!
//! ```text
//! .bound.ohmbook-k3Xq9d/
//!   lock       held as long as the run lives
//!   listed     what has been written so far, or is about to be
//!   site/      the new site; after the exchange the earlier one
//!   earlier/   the earlier site, where it had to be moved away
//! ```

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io;

use camino::{Utf8Path, Utf8PathBuf};

use super::BindError;
use super::hand::{Hand, Step};
use super::marker::remove_site;

/// Characters that are drawn at random for the end of the folder's name.
const RANDOM: usize = 6;

/// How often a new folder is tried for, should another run clear it away in the
/// moment before it is locked.
const TRIES: usize = 5;

/// A folder for one run.
pub(super) struct Scratch {
    folder: Utf8PathBuf,
    lock: File,
}

fn prefix(name: &str) -> String {
    format!(".{name}.ohmbook-")
}

impl Scratch {
    /// Makes a folder beside the one of that name, and locks it.
    pub(super) fn make(
        hand: &Hand<'_>,
        parent: &Utf8Path,
        name: &str,
    ) -> Result<Scratch, BindError> {
        for _ in 0..TRIES {
            let folder = hand.make_hidden_folder(parent, &prefix(name))?;
            let path = folder.join("lock");
            let lock = match hand.make_file(&path) {
                Ok(lock) => lock,
                // Another run took the folder for an empty leftover.
                Err(_) if !folder.exists() => continue,
                Err(failure) => {
                    // Empty as it is, the next run removes it otherwise.
                    let _ = hand.remove_folder(&folder);
                    return Err(failure);
                }
            };
            // Where the file system knows no locks, nobody can tell that this run
            // is dead, and nobody clears away after it.
            let is_taken = matches!(lock.try_lock(), Err(TryLockError::WouldBlock));
            if !is_taken && path.exists() {
                return Ok(Scratch { folder, lock });
            }
        }
        let busy = io::ErrorKind::ResourceBusy.into();
        Err(BindError::disk(
            "make a folder for the new site in",
            parent,
            busy,
        ))
    }

    /// Where the new site is made.
    pub(super) fn site(&self) -> Utf8PathBuf {
        self.folder.join("site")
    }

    /// The list that grows while the new site is made.
    pub(super) fn list(&self) -> Utf8PathBuf {
        self.folder.join("listed")
    }

    /// Where the earlier site goes if it cannot be exchanged.
    pub(super) fn earlier(&self) -> Utf8PathBuf {
        self.folder.join("earlier")
    }

    /// Removes the folder, as far as it holds what Ohmbook wrote. Returns it if
    /// something is left.
    pub(super) fn discard(self, hand: &Hand<'_>) -> Option<Utf8PathBuf> {
        let list = self.list();
        let gone = [self.site(), self.earlier()].map(|site| remove_site(hand, &site, &list));
        let Scratch { folder, lock } = self;
        // Windows removes no file that is open.
        drop(lock);
        let is_gone = gone == [true, true]
            && hand.remove_file(&list).is_ok()
            && hand.remove_file(&folder.join("lock")).is_ok()
            && hand.remove_folder(&folder).is_ok();
        (!is_gone).then_some(folder)
    }
}

/// Removes what killed runs left beside the target, after moving back a site
/// that such a run had moved away. Returns the folders that could not be removed.
///
/// A run that is alive holds the lock of its folder, which the system takes from
/// the dead; a folder without a lock file is none of ours, or an empty one.
pub(super) fn clear_leftovers(
    hand: &Hand<'_>,
    parent: &Utf8Path,
    name: &str,
    to: &Utf8Path,
) -> Vec<Utf8PathBuf> {
    let Ok(entries) = parent.read_dir_utf8() else {
        return Vec::new();
    };
    let prefix = prefix(name);
    let is_ours = |name: &str| {
        name.strip_prefix(&prefix).is_some_and(|end| {
            end.len() == RANDOM && end.bytes().all(|b| b.is_ascii_alphanumeric())
        })
    };
    let mut folders: Vec<Utf8PathBuf> = entries
        .flatten()
        .filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_dir()))
        .filter(|entry| is_ours(entry.file_name()))
        .map(|entry| entry.into_path())
        .collect();
    folders.sort();
    let mut left = Vec::new();
    for folder in folders {
        let lock = match OpenOptions::new().write(true).open(folder.join("lock")) {
            Ok(lock) => lock,
            Err(error) => {
                // Only an empty folder can be removed so.
                if error.kind() == io::ErrorKind::NotFound {
                    let _ = hand.remove_folder(&folder);
                }
                continue;
            }
        };
        if lock.try_lock().is_err() {
            continue;
        }
        let leftover = Scratch { folder, lock };
        let earlier = leftover.earlier();
        if fs::symlink_metadata(to).is_err() && earlier.is_dir() {
            // If it cannot be moved back, it must not be removed either.
            if hand.rename(Step::MoveBack, &earlier, to).is_err() {
                left.push(leftover.folder);
                continue;
            }
        }
        left.extend(leftover.discard(hand));
    }
    left
}
