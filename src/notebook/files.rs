//! The files of a notebook, read from disk.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

use camino::{Utf8Path, Utf8PathBuf};
use rayon::prelude::*;
use walkdir::WalkDir;

use crate::finding::{FileId, Finding, Place, Slug, Sources};
use crate::record::{Layout, NotText, Role, decoded, utf8};

/// Largest file of records that is read, in bytes; a board has some thousands.
const LARGEST_TOML: u64 = 5_000_000;
/// Deepest folder that is looked into.
const DEEPEST: usize = 12;

/// What was found in the notebook's folder.
#[derive(Debug, Default)]
pub(super) struct Files {
    pub sources: Sources,
    pub layout: Layout,
    /// Markdown files, in the order of their paths.
    pub markdown: Vec<FileId>,
    /// Every other file, by its path in the notebook.
    pub others: BTreeSet<Utf8PathBuf>,
}

/// Reads a notebook's folder. What cannot be read has a finding and is left
/// out.
pub(super) fn read(root: &Utf8Path, findings: &mut Vec<Finding>) -> Files {
    let walk = WalkDir::new(root)
        .follow_links(true)
        .max_depth(DEEPEST)
        .sort_by_file_name()
        .into_iter()
        .filter_entry(|entry| {
            entry.depth() == 0 || !is_hidden(&entry.file_name().to_string_lossy())
        });
    // Folders that are symbolic links: what lies in there may lie elsewhere.
    let mut links: Vec<PathBuf> = Vec::new();
    let found = walk.filter_map(|entry| {
        let entry = match entry {
            Ok(entry) => entry,
            Err(error) => return Some(Err(Box::new(walk_finding(root, &error)))),
        };
        let is_link = entry.depth() > 0 && entry.path_is_symlink();
        if entry.file_type().is_dir() {
            links.extend(is_link.then(|| entry.into_path()));
            return None;
        }
        let is_linked = is_link || links.iter().any(|link| entry.path().starts_with(link));
        Some(match Utf8PathBuf::from_path_buf(entry.into_path()) {
            Ok(path) => Ok(Entry::of(root, path, is_linked)),
            Err(path) => {
                let message = format!("the name of the file {} is not UTF-8", path.display());
                Err(Box::new(Finding::new(Slug::FileUnreadable, message)))
            }
        })
    });
    let canonical = root.canonicalize_utf8().unwrap_or_else(|_| root.to_owned());
    // Files are read while others are still looked for.
    let read = found.enumerate().par_bridge().map(|(at, entry)| {
        let read = entry.map(|entry| {
            let content = entry.content(&canonical);
            (entry, content)
        });
        (at, read)
    });
    let mut read: Vec<_> = read.collect();
    read.sort_unstable_by_key(|(at, _)| *at);
    let mut files = Files::default();
    for (_, read) in read {
        match read {
            Ok((entry, content)) => files.take(entry, content, findings),
            Err(finding) => findings.push(*finding),
        }
    }
    files
}

/// Hidden files, and the copies that editors leave beside a file.
pub(crate) fn is_hidden(name: &str) -> bool {
    name.starts_with('.') || name.ends_with('~') || (name.starts_with('#') && name.ends_with('#'))
}

fn walk_finding(root: &Utf8Path, error: &walkdir::Error) -> Finding {
    let path = error.path().map(|path| {
        path.strip_prefix(root)
            .unwrap_or(path)
            .display()
            .to_string()
    });
    let path = path.unwrap_or_default();
    if let Some(ancestor) = error.loop_ancestor() {
        let ancestor = ancestor
            .strip_prefix(root)
            .unwrap_or(ancestor)
            .display()
            .to_string();
        let into = if ancestor.is_empty() {
            "the notebook's folder".into()
        } else {
            format!("`{ancestor}`")
        };
        return Finding::new(
            Slug::LinkLoop,
            format!("the symbolic link `{path}` leads back into {into}, which it lies in"),
        )
        .help("take the link away; a notebook's folders hold their files themselves");
    }
    let why = error
        .io_error()
        .map_or_else(|| error.to_string(), ToString::to_string);
    Finding::new(
        Slug::FileUnreadable,
        format!("`{path}` cannot be read: {why}"),
    )
}

/// A file that was found.
struct Entry {
    path: Utf8PathBuf,
    /// Its path in the notebook.
    relative: Utf8PathBuf,
    role: Option<Role>,
    /// Whether a symbolic link leads to it.
    is_linked: bool,
}

/// The text of a file; `None` for one that is neither a record nor a sheet.
type Content = Result<Option<String>, Unread>;

/// Why a file is not read.
enum Unread {
    /// It lies outside the notebook.
    Outside,
    Unreadable(String),
    TooLarge {
        size: u64,
        limit: u64,
    },
    NotText(NotText),
}

impl Entry {
    fn of(root: &Utf8Path, path: Utf8PathBuf, is_linked: bool) -> Entry {
        let relative = path.strip_prefix(root).unwrap_or(&path).to_owned();
        Entry {
            role: Role::of(&relative),
            path,
            relative,
            is_linked,
        }
    }

    fn is_markdown(&self) -> bool {
        self.relative.extension() == Some("md")
    }

    /// Reads it. `canonical` is the notebook's folder without symbolic links.
    fn content(&self, canonical: &Utf8Path) -> Content {
        let real = self.is_linked.then(|| self.path.canonicalize_utf8());
        if let Some(Ok(real)) = real
            && !real.starts_with(canonical)
        {
            return Err(Unread::Outside);
        }
        if self.role.is_none() && !self.is_markdown() {
            return Ok(None);
        }
        let limit = if self.is_markdown() {
            crate::prose::LARGEST_BYTES as u64
        } else {
            LARGEST_TOML
        };
        let unreadable = |error: std::io::Error| Unread::Unreadable(error.to_string());
        let data = fs::metadata(&self.path).map_err(unreadable)?;
        if !data.is_file() {
            return Err(Unread::Unreadable("it is not an ordinary file".into()));
        }
        let size = data.len();
        if size > limit {
            return Err(Unread::TooLarge { size, limit });
        }
        let decode = match self.role {
            Some(Role::Readings | Role::Bom) => decoded,
            _ => utf8,
        };
        let bytes = fs::read(&self.path).map_err(unreadable)?;
        decode(bytes).map(Some).map_err(Unread::NotText)
    }
}

impl Files {
    /// Takes in a file, with a finding where it cannot be read.
    fn take(&mut self, entry: Entry, content: Content, findings: &mut Vec<Finding>) {
        let Entry { relative, role, .. } = entry;
        let text = match content {
            Ok(Some(text)) => text,
            Ok(None) => {
                self.others.insert(relative);
                return;
            }
            Err(why) => {
                if !matches!(why, Unread::Outside) {
                    self.layout.unreadable.extend(role);
                }
                findings.push(self.unread(&relative, why));
                return;
            }
        };
        let id = self.sources.add(&relative, text);
        match role {
            Some(Role::Readings | Role::Bom) => {
                self.others.insert(relative);
            }
            Some(role) => self.layout.files.push((id, role)),
            None => self.markdown.push(id),
        }
    }

    /// The finding of a file that is not read.
    fn unread(&mut self, relative: &Utf8Path, why: Unread) -> Finding {
        match why {
            Unread::Outside => {
                let message = format!(
                    "`{relative}` is a symbolic link that leads out of the notebook's folder"
                );
                Finding::new(Slug::OutsideNotebook, message)
                    .help("copy the file into the notebook, so that it stands alone")
            }
            Unread::Unreadable(why) => Finding::new(
                Slug::FileUnreadable,
                format!("`{relative}` cannot be read: {why}"),
            ),
            Unread::TooLarge { size, limit } => {
                // The place of a file too large to be read is its first line.
                let id = self.sources.add(relative, String::new());
                let message = format!("`{relative}` has {size} bytes; {limit} are read at most");
                Finding::new(Slug::TooLarge, message)
                    .at(Place::new(id, 0..0), "too large to be read")
                    .help("break it into sheets or records of their own")
            }
            Unread::NotText(fault) => {
                let id = self.sources.add(relative, fault.text);
                let byte = fault.at..fault.at + '\u{fffd}'.len_utf8();
                let message = format!("`{relative}` is not {} text", fault.encoding);
                Finding::new(Slug::FileUnreadable, message)
                    .at(Place::new(id, byte), "this byte starts no character")
                    .help("save the file as UTF-8")
            }
        }
    }
}
