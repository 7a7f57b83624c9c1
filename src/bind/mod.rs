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
//! | nothing but what Ohmbook wrote is ever removed | `filling`: a list that grows before each file; `marker`: the whole list, kept in the site |
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
mod filling;
mod hand;
mod marker;
mod scratch;
mod several;
mod single;
mod target;

use camino::{Utf8Component, Utf8Path, Utf8PathBuf};

pub use self::several::{Replacement, replace_files};
pub use error::BindError;
pub use filling::Filling;
pub use marker::MARKER;
pub use single::put_file;

use filling::Filled;
use hand::{Hand, Step};
use scratch::Scratch;
use target::Found;

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

/// Writes a site to a folder, or changes nothing. Files are put in by `fill` as
/// they are made, side by side if it likes; where it fails, nothing was changed.
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
/// Those of `fill`. Each [`BindError`] says what was not possible and what to do.
/// The folder is then as it was, but for [`BindError::Stranded`], which says where
/// it is.
pub fn write<E: From<BindError>>(
    to: &Utf8Path,
    sources: &Utf8Path,
    fill: impl FnOnce(&Filling<'_>) -> Result<(), E>,
) -> Result<Written, E> {
    write_by(&Hand::free(), to, sources, fill)
}

fn write_by<E: From<BindError>>(
    hand: &Hand<'_>,
    to: &Utf8Path,
    sources: &Utf8Path,
    fill: impl FnOnce(&Filling<'_>) -> Result<(), E>,
) -> Result<Written, E> {
    let (parent, name) = target::named(to)?;
    target::keep_apart(to, sources)?;
    hand.make_folders(&parent)?;
    let mut left = scratch::clear_leftovers(hand, &parent, name, to);
    let found = target::look(to)?;

    let scratch = Scratch::make(hand, &parent, name)?;
    let filled = match filled_by(hand, &scratch, to, found, fill) {
        Ok(filled) => filled,
        Err(failure) => {
            scratch.discard(hand);
            return Err(failure);
        }
    };
    match swap(hand, &scratch, to, found) {
        Ok(()) => {}
        // The earlier site is in there; the next run puts it back.
        Err(stranded @ BindError::Stranded { .. }) => return Err(stranded.into()),
        Err(failure) => {
            scratch.discard(hand);
            return Err(failure.into());
        }
    }
    // The new names are brought to the disk before the earlier site goes. Not
    // every system can, and the site stands in any case.
    let _ = hand.sync_folder(&parent);
    left.extend(scratch.discard(hand));
    Ok(Written {
        files: filled.files.len(),
        bytes: filled.bytes,
        replaced: found == Found::EarlierSite,
        left,
    })
}

/// Fills the new site, and waits for the disk where it will replace something.
fn filled_by<E: From<BindError>>(
    hand: &Hand<'_>,
    scratch: &Scratch,
    to: &Utf8Path,
    found: Found,
    fill: impl FnOnce(&Filling<'_>) -> Result<(), E>,
) -> Result<Filled, E> {
    let earlier = (found != Found::Nothing).then_some(to);
    let filling = Filling::begin(hand, scratch, earlier)?;
    fill(&filling)?;
    let filled = filling.complete()?;
    if earlier.is_some() {
        let files = filled.files.iter().map(String::as_str);
        hand.sync_contents(&scratch.site(), files.chain([MARKER]))?;
    }
    Ok(filled)
}

/// Puts the new site in its place and whatever was there into the scratch folder.
fn swap(hand: &Hand<'_>, scratch: &Scratch, to: &Utf8Path, found: Found) -> Result<(), BindError> {
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
