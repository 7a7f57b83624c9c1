//! When something in the notebook's folder is other than it was.
//!
//! What the system tells of changes is taken as a hint only: a file that is made
//! at once in a new folder is often not told of, nor is anything on some network
//! drives, and a watch on a folder is lost with the folder. So the folder is also
//! walked, soon after a change and every few seconds, and its census compared.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant, SystemTime};

use blake3::Hash;
use camino::Utf8Path;
use notify::{EventKind, RecommendedWatcher, RecursiveMode, Watcher};
use walkdir::WalkDir;

use super::desk::Event;
use crate::notebook::is_hidden;

/// Quiet after which a burst of saves is taken to be over. Editors that truncate
/// and write, or write beside and rename, need a few milliseconds for it.
const QUIET: Duration = Duration::from_millis(20);
/// Longest time that a burst is waited for.
const BURST: Duration = Duration::from_millis(500);
/// When the folder is walked after a change, for what was not told of.
const SECOND_LOOK: Duration = Duration::from_millis(200);
/// How often the folder is walked while nothing changes.
const ROUND: Duration = Duration::from_secs(2);
/// A walk may take at most this share of the time between walks.
const SHARE: u32 = 50;

/// What wakes the watching of the folder.
#[derive(Debug)]
pub(super) enum Hint {
    /// The system tells of a change.
    Changed,
    /// The watch is over.
    Stop,
}

/// Sends an event for every change, until it is told to stop.
pub(super) fn watch(
    folder: &Utf8Path,
    hints: &Sender<Hint>,
    hinted: &Receiver<Hint>,
    events: &Sender<Event>,
) {
    let mut known = census(folder);
    let mut told = Told::of(folder, hints.clone());
    if events.send(Event::FolderChanged).is_err() {
        return;
    }
    let mut wait = SECOND_LOOK;
    loop {
        match hinted.recv_timeout(wait) {
            Ok(Hint::Changed) => {
                if !burst_is_over(hinted) {
                    return;
                }
                known = census(folder);
            }
            Err(RecvTimeoutError::Timeout) => {
                let start = Instant::now();
                let seen = census(folder);
                if seen == known {
                    wait = ROUND.max(start.elapsed() * SHARE);
                    continue;
                }
                known = seen;
                // Something was not told of: new folders, or a new one in the
                // place of the notebook's.
                told.again(folder);
            }
            Ok(Hint::Stop) | Err(RecvTimeoutError::Disconnected) => return,
        }
        if events.send(Event::FolderChanged).is_err() {
            return;
        }
        wait = SECOND_LOOK;
    }
}

/// Waits for the end of a burst of changes; `false` where it was told to stop.
fn burst_is_over(hinted: &Receiver<Hint>) -> bool {
    let end = Instant::now() + BURST;
    while Instant::now() < end {
        match hinted.recv_timeout(QUIET) {
            Ok(Hint::Changed) => {}
            Ok(Hint::Stop) | Err(RecvTimeoutError::Disconnected) => return false,
            Err(RecvTimeoutError::Timeout) => break,
        }
    }
    true
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
            let counts = match event {
                // Reading is no change; it is what binding does.
                Ok(event) => {
                    !matches!(event.kind, EventKind::Access(_))
                        && (event.need_rescan()
                            || event.paths.iter().any(|path| {
                                let path = path.strip_prefix(&root).unwrap_or(path);
                                !path.iter().any(|step| is_hidden(&step.to_string_lossy()))
                            }))
                }
                // Perhaps something was missed.
                Err(_) => true,
            };
            if counts {
                let _ = hints.send(Hint::Changed);
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

/// Names, sizes and times of all files that binding may read. Two files written
/// within the resolution of the disk's clock and of the same size look alike; for
/// those there are hints.
fn census(folder: &Utf8Path) -> Hash {
    let mut hasher = blake3::Hasher::new();
    let walk = WalkDir::new(folder)
        .follow_links(true)
        .sort_by_file_name()
        .into_iter()
        .filter_entry(|entry| {
            entry.depth() == 0 || !is_hidden(&entry.file_name().to_string_lossy())
        });
    for entry in walk.flatten() {
        let path = entry.path().as_os_str().as_encoded_bytes();
        hasher.update(&(path.len() as u64).to_le_bytes());
        hasher.update(path);
        let Ok(data) = entry.metadata() else {
            continue;
        };
        if data.is_dir() {
            continue;
        }
        hasher.update(&data.len().to_le_bytes());
        let modified = data.modified().ok();
        let since = modified.and_then(|time| time.duration_since(SystemTime::UNIX_EPOCH).ok());
        hasher.update(&since.unwrap_or_default().as_nanos().to_le_bytes());
        #[cfg(unix)]
        hasher.update(&std::os::unix::fs::MetadataExt::ino(&data).to_le_bytes());
    }
    hasher.finalize()
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

    #[test]
    fn a_census_sees_what_binding_may_read_and_nothing_else() {
        let (_dir, path) = folder();
        let write = |name: &str, text: &str| fs::write(path.join(name), text).expect("written");
        write("a.md", "one");
        let before = census(&path);
        for unread in [".a.md.swp", "a.md~", "#a.md#"] {
            write(unread, "x");
        }
        assert_eq!(census(&path), before);
        write("a.md", "longer");
        let longer = census(&path);
        assert_ne!(longer, before);
        fs::rename(path.join("a.md"), path.join("b.md")).expect("moved");
        let moved = census(&path);
        assert_ne!(moved, longer);
        fs::remove_dir_all(&path).expect("removed");
        let gone = census(&path);
        assert_ne!(gone, moved);
        assert_eq!(gone, census(&path));
    }

    /// Says when the folder is next told to have changed.
    fn changed(events: &Receiver<Event>) -> bool {
        matches!(
            events.recv_timeout(Duration::from_secs(10)),
            Ok(Event::FolderChanged)
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
