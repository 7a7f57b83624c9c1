//! The look: templates and style sheet, built in or the notebook's own.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fmt;
use std::fs;
use std::sync::Arc;

use blake3::{Hash, Hasher};
use camino::{Utf8Path, Utf8PathBuf};
use include_dir::{Dir, include_dir};
use memchr::{memchr, memchr_iter, memmem};
use serde::Serialize;
use tera::{Context, ErrorKind, Tera};

use super::markup::text_of;
use super::view::Sheet;
use crate::notebook::hash_apart;

/// The built-in look.
static BUILT_IN: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/themes/drawing");

/// Folder of the site that holds style sheet and pictures of the look.
const FOLDER: &str = "look";

/// Largest file of a look that is read, in bytes.
const LARGEST: u64 = 20_000_000;

thread_local! {
    /// What a template is given or makes. One for all pages of a thread: memory that
    /// was never used before is dear.
    static WRITTEN: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
}

/// Why the pages could not be made.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PageFault {
    /// The file: a template, by its path in the notebook where it is the
    /// notebook's own.
    pub path: Utf8PathBuf,
    /// Line and column, both counted from one, where they are known.
    pub place: Option<(usize, usize)>,
    /// What is wrong with it, and what to do.
    pub message: String,
}

impl fmt::Display for PageFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.path)?;
        if let Some((line, column)) = self.place {
            write!(f, ":{line}:{column}")?;
        }
        write!(f, ": {}", self.message)
    }
}

impl std::error::Error for PageFault {}

impl PageFault {
    pub(crate) fn of_file(path: &Utf8Path, message: impl Into<String>) -> PageFault {
        PageFault {
            path: path.to_owned(),
            place: None,
            message: message.into(),
        }
    }
}

/// Templates, ready to render, and the other files of a look.
pub(crate) struct Look {
    tera: Tera,
    files: BTreeMap<String, Vec<u8>>,
    /// What is the notebook's own.
    own: BTreeMap<String, Own>,
    /// Names and texts of all templates.
    templates: Hash,
}

/// A file of the notebook's own look.
#[derive(PartialEq, Eq)]
struct Own {
    /// Where it is, for messages.
    path: Utf8PathBuf,
    content: Vec<u8>,
}

impl Look {
    /// The built-in look, each file replaced by the one of the same name in the
    /// notebook's own folder. `theme` is that folder, relative to `root`. An
    /// earlier look of the same files is taken over.
    pub fn load(
        root: &Utf8Path,
        theme: Option<&str>,
        earlier: Option<&Arc<Look>>,
    ) -> Result<Arc<Look>, PageFault> {
        let mut own = BTreeMap::new();
        if let Some(theme) = theme {
            let folder = own_folder(root, theme)?;
            read_into(&folder, Utf8Path::new(theme), "", &mut own)?;
        }
        if let Some(earlier) = earlier.filter(|earlier| earlier.own == own) {
            return Ok(earlier.clone());
        }
        let built_in = BUILT_IN.files().filter_map(|file| {
            // The folder is this crate's own and its names are UTF-8.
            Some((file.path().to_str()?.to_owned(), file.contents().to_vec()))
        });
        let mut files: BTreeMap<String, Vec<u8>> = built_in.collect();
        let replaced = own.iter();
        files.extend(replaced.map(|(name, own)| (name.clone(), own.content.clone())));
        let is_template = |name: &str| name.ends_with(".html");
        let mut templates = Vec::new();
        for (name, content) in files.iter().filter(|(name, _)| is_template(name)) {
            let text = String::from_utf8(content.clone()).map_err(|_| {
                PageFault::of_file(&shown_path(&own, name), "this template is not UTF-8 text")
            })?;
            templates.push((name.clone(), text));
        }
        files.retain(|name, _| !is_template(name));
        let mut hasher = Hasher::new();
        for (name, text) in &templates {
            hash_apart(&mut hasher, name.as_bytes());
            hash_apart(&mut hasher, text.as_bytes());
        }
        let mut look = Look {
            tera: Tera::new(),
            files,
            own,
            templates: hasher.finalize(),
        };
        look.tera.autoescape_on([".html"]);
        let added = look.tera.add_raw_templates(templates);
        added.map_err(|error| look.fault(&error, "sheet.html"))?;
        Ok(Arc::new(look))
    }

    /// The hash of everything that a page is made from: all templates, which of
    /// them is its own, and what it is given.
    pub fn made_from<F: Serialize>(
        &self,
        template: &str,
        sheet: &Sheet<F>,
    ) -> Result<Hash, PageFault> {
        let mut hasher = Hasher::new();
        hasher.update(self.templates.as_bytes());
        hash_apart(&mut hasher, template.as_bytes());
        WRITTEN.with_borrow_mut(|written| {
            written.clear();
            serde_json::to_writer(&mut *written, sheet).map_err(|error| {
                PageFault::of_file(&shown_path(&self.own, template), error.to_string())
            })?;
            // In one piece: a hash of many small ones takes several times as long.
            hasher.update(written);
            Ok(hasher.finalize())
        })
    }

    /// One page.
    pub fn page<F: Serialize>(
        &self,
        template: &str,
        sheet: &Sheet<F>,
    ) -> Result<String, PageFault> {
        let context =
            Context::from_serialize(sheet).map_err(|error| self.fault(&error, template))?;
        WRITTEN.with_borrow_mut(|written| {
            written.clear();
            self.tera
                .render_to(template, &context, &mut *written)
                .map_err(|error| self.fault(&error, template))?;
            Ok(without_blank_lines(&text_of(written)))
        })
    }

    /// Style sheet and pictures, by their paths in the site.
    pub fn files(&self) -> impl Iterator<Item = (Utf8PathBuf, Vec<u8>)> {
        self.files
            .iter()
            .map(|(name, content)| (Utf8Path::new(FOLDER).join(name), content.clone()))
    }

    /// What is wrong with a template, and where.
    fn fault(&self, error: &tera::Error, template: &str) -> PageFault {
        match error.kind() {
            ErrorKind::SyntaxError(report) | ErrorKind::RenderingError(report) => {
                let span = report.span();
                PageFault {
                    path: shown_path(&self.own, report.filename()),
                    place: Some((span.start_line, span.start_col + 1)),
                    message: first_lower(report.message()),
                }
            }
            // Names that mean nothing are reported by their drawn text alone.
            ErrorKind::Msg(drawn) if let Some(placed) = self.placed(drawn) => placed,
            _ => PageFault::of_file(
                &shown_path(&self.own, template),
                first_lower(&error.to_string()),
            ),
        }
    }

    /// The first fault of a text that looks like this:
    ///
    /// ```text
    /// error: Unknown filter `x`
    ///  --> findings.html:2:18
    /// ```
    fn placed(&self, drawn: &str) -> Option<PageFault> {
        let mut lines = drawn.lines();
        let message = lines.next()?.strip_prefix("error: ")?;
        let (_, at) = lines.next()?.split_once("--> ")?;
        let mut parts = at.rsplitn(3, ':');
        let column: usize = parts.next()?.parse().ok()?;
        let line: usize = parts.next()?.parse().ok()?;
        Some(PageFault {
            path: shown_path(&self.own, parts.next()?),
            place: Some((line, column)),
            message: first_lower(message),
        })
    }
}

/// A template's path as its writer knows it.
fn shown_path(own: &BTreeMap<String, Own>, name: &str) -> Utf8PathBuf {
    own.get(name)
        .map(|own| own.path.clone())
        .unwrap_or_else(|| Utf8Path::new("themes/drawing").join(name))
}

fn first_lower(message: &str) -> String {
    let mut letters = message.trim_end_matches('.').chars();
    match letters.next() {
        // An abbreviation keeps its capitals.
        Some(first) if !letters.as_str().starts_with(char::is_uppercase) => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => message.to_owned(),
    }
}

/// The notebook's own folder of a look, which lies within the notebook.
fn own_folder(root: &Utf8Path, theme: &str) -> Result<Utf8PathBuf, PageFault> {
    let folder = root.join(theme);
    let fault = |message: String| PageFault::of_file(Utf8Path::new(theme), message);
    let real = folder
        .canonicalize_utf8()
        .map_err(|error| fault(format!("the folder of the look cannot be read: {error}")))?;
    let inside = root
        .canonicalize_utf8()
        .is_ok_and(|root| real.starts_with(root));
    if !inside {
        return Err(fault(
            "the folder of the look lies outside the notebook; move it into the notebook's folder"
                .into(),
        ));
    }
    if !real.is_dir() {
        return Err(fault("the look is a folder, and this is none".into()));
    }
    Ok(real)
}

/// Reads a folder of a look. Hidden files and symbolic links are left out.
fn read_into(
    folder: &Utf8Path,
    shown: &Utf8Path,
    within: &str,
    own: &mut BTreeMap<String, Own>,
) -> Result<(), PageFault> {
    let unreadable =
        |path: &Utf8Path, error: std::io::Error| PageFault::of_file(path, error.to_string());
    let entries = folder
        .read_dir_utf8()
        .map_err(|error| unreadable(shown, error))?;
    for entry in entries {
        let entry = entry.map_err(|error| unreadable(shown, error))?;
        let name = entry.file_name();
        let path = shown.join(name);
        let kind = entry
            .file_type()
            .map_err(|error| unreadable(&path, error))?;
        if name.starts_with('.') || name.ends_with('~') || kind.is_symlink() {
            continue;
        }
        let inner = if within.is_empty() {
            name.to_owned()
        } else {
            format!("{within}/{name}")
        };
        if kind.is_dir() {
            read_into(entry.path(), &path, &inner, own)?;
            continue;
        }
        let size = entry
            .metadata()
            .map_err(|error| unreadable(&path, error))?
            .len();
        if size > LARGEST {
            return Err(PageFault::of_file(
                &path,
                "this file is too large for a look",
            ));
        }
        let content = fs::read(entry.path()).map_err(|error| unreadable(&path, error))?;
        own.insert(inner, Own { path, content });
    }
    Ok(())
}

/// Templates leave lines with nothing on them. Text between `pre` tags keeps
/// every line.
fn without_blank_lines(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    // Few pages have such text at all.
    while let Some(start) = memmem::find(rest.as_bytes(), b"<pre") {
        let (before, kept) = rest.split_at(start);
        push_full_lines(&mut out, before);
        let end = kept.find("</pre>").unwrap_or(kept.len());
        let (kept, after) = kept.split_at(end);
        out.push_str(kept);
        rest = after;
    }
    push_full_lines(&mut out, rest);
    out
}

/// Takes in all lines that have anything on them. What stands before the first
/// line's end or after the last one's is part of a line.
fn push_full_lines(out: &mut String, text: &str) {
    let Some(first) = memchr(b'\n', text.as_bytes()) else {
        out.push_str(text);
        return;
    };
    let is_blank = |line: &str| line.bytes().all(|byte| byte.is_ascii_whitespace());
    let begins_line = out.is_empty() || out.ends_with('\n');
    // Where the line begins, and where the text that was not taken in yet.
    let (mut at, mut left) = (first + 1, 0);
    if begins_line && is_blank(&text[..at]) {
        left = at;
    }
    for end in memchr_iter(b'\n', &text.as_bytes()[at..]).map(|end| first + 2 + end) {
        if is_blank(&text[at..end]) {
            out.push_str(&text[left..at]);
            left = end;
        }
        at = end;
    }
    out.push_str(&text[left..]);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_with_nothing_on_them_go_but_for_those_between_pre_tags() {
        for (text, without) in [
            ("\n a\n\n  \t\nb\n\n", " a\nb\n"),
            ("a\n\n<pre>x\n\ny</pre>\n\nb", "a\n<pre>x\n\ny</pre>\nb"),
            (
                "<p>a <pre>\n\n</pre>\n\n<pre></pre>\n \nz",
                "<p>a <pre>\n\n</pre>\n<pre></pre>\nz",
            ),
            ("<pre>\n\nno end\n\n", "<pre>\n\nno end\n\n"),
            ("", ""),
            ("  \n", ""),
            ("one", "one"),
        ] {
            assert_eq!(without_blank_lines(text), without, "{text:?}");
        }
    }
}
