//! Places in the files of a notebook.

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use camino::{Utf8Path, Utf8PathBuf};
use memchr::memchr_iter;

/// Number of a file within [`Sources`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct FileId(u32);

/// A stretch of text in a file.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Place {
    /// Which file.
    pub file: FileId,
    /// Which bytes of it.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Place {
    /// The place of the bytes `span` of a file.
    pub fn new(file: FileId, span: Range<usize>) -> Place {
        Place {
            file,
            start: span.start,
            end: span.end.max(span.start),
        }
    }

    /// The bytes.
    pub fn span(&self) -> Range<usize> {
        self.start..self.end
    }

    /// A stretch within this place, counted from its start.
    pub fn within(&self, span: Range<usize>) -> Place {
        let start = (self.start + span.start).min(self.end);
        let end = (self.start + span.end).clamp(start, self.end);
        Place {
            file: self.file,
            start,
            end,
        }
    }
}

/// The place of a stretch of `text`, which was read from `place`: the stretch
/// itself where offsets into the text are offsets into the file, else all of
/// what it was read from. Text with escapes is shorter than what it was read
/// from.
pub(crate) fn stretch(place: &Place, text: &str, span: Range<usize>) -> Place {
    if place.end - place.start == text.len() {
        place.within(span)
    } else {
        place.clone()
    }
}

/// A value with the place that it was read from.
///
/// The place of text from a TOML string is the text inside the quotes wherever
/// the string holds no escapes, so that offsets into the text are offsets into
/// the file; else it is the whole literal.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub place: Place,
}

impl<T> Located<T> {
    /// A value with its place.
    pub fn new(value: T, place: Place) -> Located<T> {
        Located { value, place }
    }
}

/// One file as it was read.
#[derive(Clone, Debug)]
pub struct SourceFile {
    /// Path relative to the notebook's folder, with `/` on every system.
    pub path: Utf8PathBuf,
    /// The whole text.
    pub text: String,
    /// Byte offset of the start of each line.
    line_starts: Vec<usize>,
}

impl SourceFile {
    fn new(path: Utf8PathBuf, text: String) -> SourceFile {
        let starts = memchr_iter(b'\n', text.as_bytes()).map(|end| end + 1);
        SourceFile {
            path,
            line_starts: std::iter::once(0).chain(starts).collect(),
            text,
        }
    }

    /// Line and column of a byte, both counted from one, the column in
    /// characters.
    pub fn line_column(&self, at: usize) -> (usize, usize) {
        let line = self.line_of(at);
        let start = self.line_starts[line - 1];
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        (line, self.text[start..at].chars().count() + 1)
    }

    /// Line of a byte, counted from one.
    pub(crate) fn line_of(&self, at: usize) -> usize {
        self.line_starts
            .partition_point(|&start| start <= at)
            .max(1)
    }

    /// The bytes of a line, counted from one, without the line's end; nothing
    /// where there is no such line.
    pub(crate) fn line_span(&self, line: usize) -> Range<usize> {
        let all = self.text.len();
        let start_of = |line: usize| self.line_starts.get(line).copied();
        let Some(start) = line.checked_sub(1).and_then(start_of) else {
            return all..all;
        };
        let end = start_of(line).unwrap_or(all);
        let written = &self.text[start..end];
        let bare = written.strip_suffix('\n').unwrap_or(written);
        let bare = bare.strip_suffix('\r').unwrap_or(bare);
        start..start + bare.len()
    }

    /// The text of a line, counted from one.
    pub(crate) fn line(&self, line: usize) -> &str {
        &self.text[self.line_span(line)]
    }

    /// Number of lines, at least one.
    pub(crate) fn line_count(&self) -> usize {
        self.line_starts.len()
    }
}

/// All files that were read for one notebook.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    files: Vec<Arc<SourceFile>>,
    /// The first file of each path; shared by copies until one takes in more.
    by_path: Arc<HashMap<Utf8PathBuf, FileId>>,
}

impl Sources {
    /// Takes in a file and returns its number.
    pub fn add(&mut self, path: impl Into<Utf8PathBuf>, text: String) -> FileId {
        let path = path.into();
        // Four thousand million files do not fit in a machine's memory.
        let id = FileId(self.files.len() as u32);
        let by_path = Arc::make_mut(&mut self.by_path);
        by_path.entry(path.clone()).or_insert(id);
        self.files.push(Arc::new(SourceFile::new(path, text)));
        id
    }

    /// Takes in another text of a file.
    pub(crate) fn replace(&mut self, id: FileId, text: String) {
        let path = self.file(id).path.clone();
        self.files[id.0 as usize] = Arc::new(SourceFile::new(path, text));
    }

    /// The file of a number that [`Sources::add`] gave out.
    pub fn file(&self, id: FileId) -> &SourceFile {
        &self.files[id.0 as usize]
    }

    /// The text at a place.
    pub fn text_at(&self, place: &Place) -> &str {
        self.file(place.file).text.get(place.span()).unwrap_or("")
    }

    /// The place of a stretch of a text that was read from a file: the stretch
    /// itself where offsets into the text are offsets into the file, else the
    /// whole of what the text was read from.
    pub fn place_in(&self, text: &Located<String>, span: Range<usize>) -> Place {
        if self.text_at(&text.place) != text.value {
            return text.place.clone();
        }
        // A place never begins or ends inside a character.
        let start = text.value.floor_char_boundary(span.start);
        let end = text.value.ceil_char_boundary(span.end);
        text.place.within(start..end)
    }

    /// The file of a path relative to the notebook's folder.
    pub fn by_path(&self, path: &Utf8Path) -> Option<FileId> {
        self.by_path.get(path).copied()
    }

    /// All files with their numbers, in the order they were read.
    pub fn iter(&self) -> impl Iterator<Item = (FileId, &SourceFile)> {
        self.files
            .iter()
            .enumerate()
            .map(|(at, file)| (FileId(at as u32), file.as_ref()))
    }
}
