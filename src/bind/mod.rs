//! The site on disk, whole or not at all.
//!
//! A site is written into a folder of its own beside the one it is meant for,
//! and then the two change places. Until that moment the earlier site is
//! untouched, and whoever opens its path afterwards finds the new one: nobody
//! finds half a site there, and no failure, full disk or kill leaves one.
//!
//! | promise | kept by |
//! | --- | --- |
//! | the earlier site stays until the new one is complete | `scratch` writes beside it, one rename swaps |
//! | nothing but what Ohmbook wrote is ever removed | `marker`: a list of the files, kept in the site |
//! | what a killed run left behind goes at the next run | `scratch`: a lock tells the living from the dead |
//! | a failing step changes nothing | every step goes through `hand`, where the tests make it fail |
//!
//! On Linux the swap is a single step of the kernel. Elsewhere, and on file
//! systems that cannot exchange two folders, the earlier site is moved away and
//! the new one in; a kill between the two leaves no site in place, but the
//! earlier one complete beside it, and the next run puts it back first.
//!
//! A single file is put in its place by [`put_file`], several together by
//! [`replace_files`].
//!
//! Not here: what is in the files, and a way to write without waiting for the
//! disk; a preview has no need of the disk at all. And no promise is made about
//! somebody else who writes into the same folder at the same moment, beyond
//! this: files that are not on the list are not removed.

mod error;
mod hand;
mod marker;
mod scratch;
mod several;
mod single;
mod target;

use std::collections::{BTreeMap, BTreeSet};

use camino::{Utf8Component, Utf8Path, Utf8PathBuf};

pub use self::several::{Replacement, replace_files};
pub use error::BindError;
pub use marker::MARKER;
pub use single::put_file;

use hand::{Hand, Step};
use marker::Marker;
use scratch::Scratch;
use target::Found;

/// Everything that a bound notebook consists of.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Site {
    /// Path within the site, `/` between folders, and content.
    pub files: BTreeMap<Utf8PathBuf, Vec<u8>>,
}

/// What [`write()`] did.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Written {
    /// Files written, the marker not counted.
    pub files: usize,
    /// Bytes in them.
    pub bytes: u64,
    /// Whether an earlier site was replaced.
    pub replaced: bool,
    /// Folders of earlier runs, this one too, that hold something that was not
    /// removed: files that are not Ohmbook's, or whatever the system did not let
    /// it remove.
    pub left: Vec<Utf8PathBuf>,
}

/// Writes a site to a folder, or changes nothing.
///
/// The folder may be missing, empty, or an earlier site that this function wrote
/// and nobody put anything into; any other is refused, as is a symbolic link,
/// since what it leads to would be replaced and not the link. Folders above it
/// are made if need be. `sources` is the notebook's folder, which the site must
/// neither lie in nor hold.
///
/// Folders get the mode 0755 and files 0644, whatever the umask, since a site is
/// there to be read by a web server. Contents reach the disk before they take the
/// place of an earlier site.
///
/// # Errors
///
/// Each [`BindError`] says what was not possible and what to do. The folder is
/// then as it was, but for [`BindError::Stranded`], which says where it is.
pub fn write(site: &Site, to: &Utf8Path, sources: &Utf8Path) -> Result<Written, BindError> {
    write_by(&mut Hand::free(), site, to, sources)
}

fn write_by(
    hand: &mut Hand<'_>,
    site: &Site,
    to: &Utf8Path,
    sources: &Utf8Path,
) -> Result<Written, BindError> {
    site.check()?;
    let (parent, name) = target::named(to)?;
    target::keep_apart(to, sources)?;
    hand.make_folders(&parent)?;
    let mut left = scratch::clear_leftovers(hand, &parent, name, to);
    let found = target::look(to)?;

    let scratch = Scratch::make(hand, &parent, name)?;
    let swapped = site
        .lay_out(hand, &scratch.site(), to)
        .and_then(|()| match found {
            // There is nothing that a site half on the disk would take the place of.
            Found::Nothing => Ok(()),
            _ => site.bring_to_disk(hand, &scratch.site()),
        })
        .and_then(|()| swap(hand, &scratch, to, found));
    if swapped.is_ok() {
        // The new names are brought to the disk before the earlier site goes. Not
        // every system can, and the site stands in any case.
        let _ = hand.sync_folder(&parent);
    }
    if let Err(BindError::Stranded { .. }) = swapped {
        // The earlier site is in there; the next run puts it back.
        drop(scratch);
    } else {
        left.extend(scratch.discard(hand));
    }
    swapped?;
    Ok(Written {
        files: site.files.len(),
        bytes: site.files.values().map(|bytes| bytes.len() as u64).sum(),
        replaced: found == Found::EarlierSite,
        left,
    })
}

/// Puts the new site in its place and whatever was there into the scratch folder.
fn swap(
    hand: &mut Hand<'_>,
    scratch: &Scratch,
    to: &Utf8Path,
    found: Found,
) -> Result<(), BindError> {
    let site = scratch.site();
    if found == Found::Nothing {
        return hand.rename(Step::MoveIn, &site, to);
    }
    match hand.exchange(&site, to) {
        Err(BindError::Disk { source, .. }) if hand::cannot_exchange(&source) => {}
        done_or_failed => return done_or_failed,
    }
    let away = scratch.earlier();
    hand.rename(Step::MoveAway, to, &away)?;
    hand.rename(Step::MoveIn, &site, to).map_err(|failure| {
        match hand.rename(Step::MoveBack, &away, to) {
            Ok(()) => failure,
            Err(_) => BindError::Stranded {
                to: to.to_owned(),
                earlier: away.clone(),
                failure: Box::new(failure),
            },
        }
    })
}

impl Site {
    /// Refuses paths that lead out of the site, or that cannot all exist at once.
    fn check(&self) -> Result<(), BindError> {
        let refuse = |path: &Utf8Path, why| {
            Err(BindError::BadPath {
                path: path.to_owned(),
                why,
            })
        };
        let mut above: Option<&Utf8Path> = None;
        for path in self.files.keys() {
            if !is_inside(path) {
                return refuse(path, "it does not name a file within the site");
            }
            let first = path.components().next().map_or("", |part| part.as_str());
            if first.eq_ignore_ascii_case(MARKER) {
                return refuse(path, "the list of the site's files has that name");
            }
            // Paths are ordered by their parts, so what is in a folder follows it.
            if above.is_some_and(|above| path.starts_with(above)) {
                return refuse(path, "a file of the site has the name of its folder");
            }
            above = Some(path);
        }
        Ok(())
    }

    /// Writes everything into a folder that is not there yet. Files that are the
    /// same in the earlier site are kept.
    fn lay_out(
        &self,
        hand: &mut Hand<'_>,
        at: &Utf8Path,
        earlier: &Utf8Path,
    ) -> Result<(), BindError> {
        hand.make_folder(at)?;
        // The list comes first: from then on everything in the folder is on it,
        // and can be removed by it, however far the writing gets.
        let marker = Marker::of(self.files.keys());
        hand.write_file(&at.join(MARKER), marker.text().as_bytes())?;
        for folder in self.folders() {
            hand.make_folder(&at.join(folder))?;
        }
        let files: Vec<(&Utf8PathBuf, &Vec<u8>)> = self.files.iter().collect();
        hand.with_each(&files, |hand, (path, bytes)| {
            let (earlier, path) = (earlier.join(path), at.join(path));
            if hand.keep_file(&earlier, &path, bytes) {
                return Ok(());
            }
            hand.write_file(&path, bytes)
        })
    }

    /// All folders of the site, each after the one that it lies in.
    fn folders(&self) -> BTreeSet<&Utf8Path> {
        let mut folders = BTreeSet::new();
        for path in self.files.keys() {
            let above = path.ancestors().skip(1);
            // The last ancestor is the site's own folder.
            for folder in above.take_while(|folder| !folder.as_str().is_empty()) {
                // Those above a folder that is known are known as well.
                if !folders.insert(folder) {
                    break;
                }
            }
        }
        folders
    }

    /// Waits until everything that was written is on the disk.
    fn bring_to_disk(&self, hand: &mut Hand<'_>, at: &Utf8Path) -> Result<(), BindError> {
        let listed = self.files.keys().map(Utf8PathBuf::as_path);
        hand.sync_contents(at, listed.chain([Utf8Path::new(MARKER)]))
    }
}

/// Whether a path names something inside the folder that it is relative to.
fn is_inside(path: &Utf8Path) -> bool {
    let mut parts = path.components().peekable();
    parts.peek().is_some()
        && parts.all(|part| match part {
            Utf8Component::Normal(name) => !name.contains(['\\', '\0']),
            _ => false,
        })
}

#[cfg(test)]
mod tests;
