//! The files of a notebook, read from disk.

use std::collections::BTreeSet;
use std::fs;

use camino::{Utf8Path, Utf8PathBuf};
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
    let mut files = Files::default();
    let canonical = root.canonicalize_utf8().unwrap_or_else(|_| root.to_owned());
    let walk = WalkDir::new(root)
        .follow_links(true)
        .max_depth(DEEPEST)
        .sort_by_file_name()
        .into_iter()
        .filter_entry(|entry| {
            entry.depth() == 0 || !is_hidden(&entry.file_name().to_string_lossy())
        });
    for entry in walk {
        match entry {
            Ok(entry) if entry.file_type().is_dir() => {}
            Ok(entry) => {
                let path = entry.path();
                let Some(path) = Utf8Path::from_path(path) else {
                    let shown = path.display();
                    findings.push(Finding::new(
                        Slug::FileUnreadable,
                        format!("the name of the file {shown} is not UTF-8"),
                    ));
                    continue;
                };
                files.take(root, &canonical, path, findings);
            }
            Err(error) => findings.push(walk_finding(root, &error)),
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

impl Files {
    fn take(
        &mut self,
        root: &Utf8Path,
        canonical: &Utf8Path,
        path: &Utf8Path,
        findings: &mut Vec<Finding>,
    ) {
        let relative = path.strip_prefix(root).unwrap_or(path).to_owned();
        let inside = path
            .canonicalize_utf8()
            .map_or(true, |real| real.starts_with(canonical));
        if !inside {
            findings.push(
                Finding::new(
                    Slug::OutsideNotebook,
                    format!(
                        "`{relative}` is a symbolic link that leads out of the notebook's folder"
                    ),
                )
                .help("copy the file into the notebook, so that it stands alone"),
            );
            return;
        }
        let role = Role::of(&relative);
        let is_markdown = relative.extension() == Some("md");
        if role.is_none() && !is_markdown {
            self.others.insert(relative);
            return;
        }
        let limit = if is_markdown {
            crate::prose::LARGEST_BYTES as u64
        } else {
            LARGEST_TOML
        };
        let decode = match role {
            Some(Role::Readings | Role::Bom) => decoded,
            _ => utf8,
        };
        match self.text(path, &relative, limit, decode, findings) {
            Some(id) => match role {
                Some(Role::Readings | Role::Bom) => {
                    self.others.insert(relative);
                }
                Some(role) => self.layout.files.push((id, role)),
                None => self.markdown.push(id),
            },
            None => self.layout.unreadable.extend(role),
        }
    }

    /// Reads a file's text into the sources; `None` with a finding where it
    /// cannot be.
    fn text(
        &mut self,
        path: &Utf8Path,
        relative: &Utf8Path,
        limit: u64,
        decode: fn(Vec<u8>) -> Result<String, NotText>,
        findings: &mut Vec<Finding>,
    ) -> Option<FileId> {
        let unreadable = |why: &dyn std::fmt::Display| {
            Finding::new(
                Slug::FileUnreadable,
                format!("`{relative}` cannot be read: {why}"),
            )
        };
        let size = match fs::metadata(path) {
            Ok(data) if !data.is_file() => {
                findings.push(unreadable(&"it is not an ordinary file"));
                return None;
            }
            Ok(data) => data.len(),
            Err(error) => {
                findings.push(unreadable(&error));
                return None;
            }
        };
        if size > limit {
            // The place of a file too large to be read is its first line.
            let id = self.sources.add(relative, String::new());
            findings.push(
                Finding::new(
                    Slug::TooLarge,
                    format!("`{relative}` has {size} bytes; {limit} are read at most"),
                )
                .at(Place::new(id, 0..0), "too large to be read")
                .help("break it into sheets or records of their own"),
            );
            return None;
        }
        let bytes = match fs::read(path) {
            Ok(bytes) => bytes,
            Err(error) => {
                findings.push(unreadable(&error));
                return None;
            }
        };
        match decode(bytes) {
            Ok(text) => Some(self.sources.add(relative, text)),
            Err(fault) => {
                let id = self.sources.add(relative, fault.text);
                let message = format!("`{relative}` is not {} text", fault.encoding);
                findings.push(
                    Finding::new(Slug::FileUnreadable, message)
                        .at(
                            Place::new(id, fault.at..fault.at + '\u{fffd}'.len_utf8()),
                            "this byte starts no character",
                        )
                        .help("save the file as UTF-8"),
                );
                None
            }
        }
    }
}
