//! A site while its files are made.
//!
//! A file is written as soon as it is there, by whatever thread made it. Its path
//! is on a list before, so that everything in the folder can be removed by that
//! list, however far the filling gets.

use std::collections::{BTreeSet, HashSet};
use std::fs::File;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};

use camino::{Utf8Path, Utf8PathBuf};

use super::hand::Hand;
use super::marker::{MARKER, Marker, with_slashes};
use super::scratch::Scratch;
use super::{BindError, is_inside};

/// A site that is being filled with files, by as many threads as there are.
pub struct Filling<'f> {
    hand: &'f Hand<'f>,
    /// The site's folder.
    at: Utf8PathBuf,
    /// What it takes the place of.
    earlier: Option<&'f Utf8Path>,
    known: Mutex<Known>,
    bytes: AtomicU64,
}

/// What has been put in so far.
struct Known {
    /// The list, by which it can be removed.
    list: File,
    files: HashSet<String>,
    folders: HashSet<String>,
}

/// What a site was filled with.
pub(super) struct Filled {
    /// Its files, the list of them not counted, `/` between folders.
    pub files: BTreeSet<String>,
    /// Bytes in them.
    pub bytes: u64,
}

impl<'f> Filling<'f> {
    /// Makes the folder of a site and the list beside it.
    pub(super) fn begin(
        hand: &'f Hand<'f>,
        scratch: &Scratch,
        earlier: Option<&'f Utf8Path>,
    ) -> Result<Filling<'f>, BindError> {
        let list = hand.make_file(&scratch.list())?;
        let at = scratch.site();
        hand.make_folder(&at)?;
        let known = Known {
            list,
            files: HashSet::new(),
            folders: HashSet::new(),
        };
        Ok(Filling {
            hand,
            at,
            earlier,
            known: Mutex::new(known),
            bytes: AtomicU64::new(0),
        })
    }

    /// Puts a file in. One that is the same in the earlier site is kept.
    ///
    /// # Errors
    ///
    /// [`BindError::BadPath`] where the path leads out of the site or is that of
    /// another file or folder of it; [`BindError::Disk`] where the system refuses.
    pub fn put(&self, path: &Utf8Path, bytes: &[u8]) -> Result<(), BindError> {
        self.make_way(path)?;
        self.bytes.fetch_add(bytes.len() as u64, Ordering::Relaxed);
        let at = self.at.join(path);
        let keep = |earlier: &Utf8Path| self.hand.keep_file(&earlier.join(path), &at, bytes);
        if self.earlier.is_some_and(keep) {
            return Ok(());
        }
        self.hand.write_file(&at, bytes)
    }

    /// Lists a file and makes the folders that it lies in.
    fn make_way(&self, path: &Utf8Path) -> Result<(), BindError> {
        let refuse = |why| {
            let path = path.to_owned();
            Err(BindError::BadPath { path, why })
        };
        if !is_inside(path) {
            return refuse("it does not name a file within the site");
        }
        let name = with_slashes(path);
        let first = name.split('/').next().unwrap_or_default();
        if first.eq_ignore_ascii_case(MARKER) {
            return refuse("the list of the site's files has that name");
        }
        // What another thread left when it panicked is what it had put in.
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        let Known {
            list,
            files,
            folders,
        } = &mut *known;
        let above = name.match_indices('/').map(|(end, _)| &name[..end]);
        let missing: Vec<&str> = above.filter(|&folder| !folders.contains(folder)).collect();
        if folders.contains(&name) || missing.iter().any(|&folder| files.contains(folder)) {
            return refuse("a file of the site has the name of its folder");
        }
        if files.contains(&name) {
            return refuse("another file of the site has that name");
        }
        self.hand.list_file(list, &name)?;
        for folder in missing {
            self.hand.make_folder(&self.at.join(folder))?;
            folders.insert(folder.to_owned());
        }
        files.insert(name);
        Ok(())
    }

    /// Writes the whole list into the site: it is one from then on.
    pub(super) fn complete(self) -> Result<Filled, BindError> {
        let known = self.known.into_inner();
        let known = known.unwrap_or_else(PoisonError::into_inner);
        let marker = Marker::of(known.files);
        self.hand
            .write_file(&self.at.join(MARKER), marker.text().as_bytes())?;
        Ok(Filled {
            files: marker.into_files(),
            bytes: self.bytes.into_inner(),
        })
    }
}
