//! When something in the notebook's folder is other than it was.
//!
//! What the system tells of changes is taken as a hint only: a file that is made
//! at once in a new folder is often not told of, nor is anything on some network
//! drives, and a watch on a folder is lost with the folder. So the folder is also
//! walked, soon after a change and every few seconds, and its census compared.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant};

use camino::{Utf8Path, Utf8PathBuf};
use notify::event::{AccessKind, AccessMode, EventKind, ModifyKind, RenameMode};
use notify::{RecommendedWatcher, RecursiveMode, Watcher};

use super::census::Census;
use super::desk::Event;
use crate::notebook::is_hidden;

/// Quiet after which a burst of saves is taken to be over. Editors that truncate
/// and write, or write beside and rename, need a few milliseconds for it.
const QUIET: Duration = Duration::from_millis(20);
/// The same where the system tells that a writer has closed its file, or has
/// put one in the place of another.
const QUIET_WHEN_CLOSED: Duration = Duration::from_millis(3);
/// Longest time that a burst is waited for.
const BURST: Duration = Duration::from_millis(500);
/// When the folder is walked after a change, for what was not told of.
const SECOND_LOOK: Duration = Duration::from_millis(200);
/// How often the folder is walked while nothing changes.
const ROUND: Duration = Duration::from_secs(2);
/// A walk may take at most this share of the time between walks.
const SHARE: u32 = 50;

/// What may be other than it was.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Touched {
    /// The text of these files alone, by their paths in the folder.
    Files(BTreeSet<Utf8PathBuf>),
    /// Anything.
    Anything,
}

impl Touched {
    /// What may be other where both happened.
    pub(super) fn and(self, other: Touched) -> Touched {
        match (self, other) {
            (Touched::Files(mut files), Touched::Files(others)) => {
                files.extend(others);
                Touched::Files(files)
            }
            _ => Touched::Anything,
        }
    }
}

/// What wakes the watching of the folder.
#[derive(Debug)]
pub(super) enum Hint {
    /// The system tells of a change.
    Changed(Change),
    /// The watch is over.
    Stop,
}

/// A change that the system tells of.
#[derive(Debug)]
pub(super) struct Change {
    /// What changed; the folder itself where the system cannot say.
    paths: Vec<PathBuf>,
    /// Whether somebody is done with writing.
    is_closed: bool,
}

/// Sends an event for every change, until it is told to stop.
pub(super) fn watch(
    folder: &Utf8Path,
    hints: &Sender<Hint>,
    hinted: &Receiver<Hint>,
    events: &Sender<Event>,
) {
    let mut known = Census::of(folder);
    let mut told = Told::of(folder, hints.clone());
    let anything = Event::FolderChanged(Touched::Anything);
    if events.send(anything).is_err() {
        return;
    }
    let mut wait = SECOND_LOOK;
    loop {
        let touched = match hinted.recv_timeout(wait) {
            Ok(Hint::Changed(first)) => {
                let Some(burst) = whole_burst(first, hinted) else {
                    return;
                };
                match known.touched(folder, &burst) {
                    Some(files) if files.is_empty() => continue,
                    Some(files) => Touched::Files(files),
                    None => {
                        known = Census::of(folder);
                        Touched::Anything
                    }
                }
            }
            Err(RecvTimeoutError::Timeout) => {
                let start = Instant::now();
                let seen = Census::of(folder);
                if seen == known {
                    wait = ROUND.max(start.elapsed() * SHARE);
                    continue;
                }
                known = seen;
                // Something was not told of: new folders, or a new one in the
                // place of the notebook's.
                told.again(folder);
                Touched::Anything
            }
            Ok(Hint::Stop) | Err(RecvTimeoutError::Disconnected) => return,
        };
        if events.send(Event::FolderChanged(touched)).is_err() {
            return;
        }
        wait = SECOND_LOOK;
    }
}

/// Waits for the end of a burst of changes: all that changed. `None` where it was
/// told to stop.
fn whole_burst(first: Change, hinted: &Receiver<Hint>) -> Option<BTreeSet<PathBuf>> {
    let end = Instant::now() + BURST;
    let mut paths = BTreeSet::new();
    let mut next = first;
    loop {
        let quiet = if next.is_closed {
            QUIET_WHEN_CLOSED
        } else {
            QUIET
        };
        paths.extend(next.paths);
        if Instant::now() >= end {
            return Some(paths);
        }
        match hinted.recv_timeout(quiet) {
            Ok(Hint::Changed(change)) => next = change,
            Ok(Hint::Stop) | Err(RecvTimeoutError::Disconnected) => return None,
            Err(RecvTimeoutError::Timeout) => return Some(paths),
        }
    }
}

/// What the system tells of a folder. Where it tells nothing, walking is all
/// there is.
struct Told {
    watcher: Option<RecommendedWatcher>,
}

impl Told {
    fn of(folder: &Utf8Path, hints: Sender<Hint>) -> Told {
        // The system names what changed by the path that it was given.
        let root = folder.as_std_path().to_owned();
        let watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
            let change = match event {
                Ok(event) => change(event, &root),
                // Perhaps something was missed.
                Err(_) => Some(Change {
                    paths: vec![root.clone()],
                    is_closed: false,
                }),
            };
            if let Some(change) = change {
                let _ = hints.send(Hint::Changed(change));
            }
        });
        let mut told = Told {
            watcher: watcher.ok(),
        };
        told.again(folder);
        told
    }

    /// Asks once more to be told of everything in the folder.
    fn again(&mut self, folder: &Utf8Path) {
        if let Some(watcher) = &mut self.watcher {
            // Either may fail: there may be no such folder now, or more folders
            // than the system watches. The folder is walked in any case.
            let _ = watcher.unwatch(folder.as_std_path());
            let _ = watcher.watch(folder.as_std_path(), RecursiveMode::Recursive);
        }
    }
}

/// What an event of the system says of a folder; `None` where it is no change of
/// what binding reads.
fn change(event: notify::Event, root: &std::path::Path) -> Option<Change> {
    let rescan = event.need_rescan();
    let is_closed = match event.kind {
        EventKind::Access(AccessKind::Close(AccessMode::Write))
        | EventKind::Modify(ModifyKind::Name(RenameMode::To | RenameMode::Both)) => true,
        // Reading is no change; it is what binding does.
        EventKind::Access(_) => return None,
        _ => false,
    };
    let mut paths = event.paths;
    paths.retain(|path| {
        let path = path.strip_prefix(root).unwrap_or(path);
        !path.iter().any(|step| is_hidden(&step.to_string_lossy()))
    });
    if rescan {
        paths.push(root.to_owned());
    }
    (!paths.is_empty()).then_some(Change { paths, is_closed })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;
    use std::sync::mpsc::channel;

    fn folder() -> (tempfile::TempDir, camino::Utf8PathBuf) {
        let dir = tempfile::tempdir().expect("a folder can be made");
        let path = camino::Utf8PathBuf::try_from(dir.path().to_owned()).expect("it is UTF-8");
        (dir, path)
    }

    /// Says when the folder is next told to have changed.
    fn changed(events: &Receiver<Event>) -> bool {
        matches!(
            events.recv_timeout(Duration::from_secs(10)),
            Ok(Event::FolderChanged(_))
        )
    }

    #[test]
    fn a_file_made_at_once_in_new_folders_and_a_folder_put_in_anothers_place_are_seen() {
        let (_dir, path) = folder();
        let root = path.join("notebook");
        fs::create_dir(&root).expect("made");
        let (hints, hinted) = channel();
        let (events, told) = channel();
        let watching = {
            let (root, hints) = (root.clone(), hints.clone());
            std::thread::spawn(move || watch(&root, &hints, &hinted, &events))
        };
        assert!(changed(&told), "it begins with an event");
        fs::create_dir_all(root.join("boards/a/log")).expect("made");
        fs::write(root.join("boards/a/log/x.md"), "x").expect("written");
        assert!(changed(&told));
        // Whatever comes late comes before this, or is as good.
        std::thread::sleep(SECOND_LOOK * 3);
        while told.try_recv().is_ok() {}
        fs::rename(&root, path.join("away")).expect("moved");
        assert!(changed(&told));
        fs::create_dir(&root).expect("made");
        assert!(changed(&told));
        std::thread::sleep(SECOND_LOOK * 3);
        while told.try_recv().is_ok() {}
        fs::write(root.join("notebook.toml"), "x").expect("written");
        assert!(changed(&told));
        hints.send(Hint::Stop).expect("it listens");
        watching.join().expect("it ends");
    }
}
