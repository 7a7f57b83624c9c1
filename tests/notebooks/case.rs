//! A case: the files of a small notebook, with what is to be found in it.
//!
//! One text file a case. Lines before the first file say what it is about.
//!
//! ```text
//! // What the case shows.
//! //- boards/lamp/board.toml
//! [figure.current]
//! form = "5 V / 470 Ω"
//! #^^^ error[unknown-key]: perhaps `from`
//! //- boards/lamp/front.md
//! # Lamp
//!
//! It draws [9 mA](figure:current).
//! //= 3:11 `9 mA` error[figure-disagrees]: comes to 10.6 mA
//! ```
//!
//! | line | says |
//! | --- | --- |
//! | `//- PATH` | the lines that follow are this file's |
//! | `//- PATH (bytes)` | the same, `\xE2` in it is that byte, and `\` at the end of a line takes the line's end away |
//! | `//- PATH -> TARGET` | this path is a symbolic link, its target counted from where it lies |
//! | `//- PATH/` | this path is an empty folder |
//! | `//~ no notebook.toml` | else there is a plain one in every case |
//! | `# ^^^ LEVEL[SLUG]: WORDS` | in TOML, where it is a comment: a finding about what stands above the marks |
//! | `//= LINE:COLUMN` `` `TEXT` `` `LEVEL[SLUG]: WORDS` | a finding about that text of the file above; the text may be left out |
//! | `//= LEVEL[SLUG]: WORDS` | a finding without a place |
//!
//! Marks that start right behind the `#` stand for the `#` as well, so that the
//! first column can be marked. The words, apart from each other by ` | `, must all
//! stand in what the finding says: message, labels, facts and help.

use std::fs;
use std::path::Path;

use jiff::civil::{Date, date};
use ohmbook::finding::{Finding, Summary, TerminalStyle, draw, draw_summary, json};
use ohmbook::notebook::Notebook;

/// The day on which every case is judged.
pub const TODAY: Date = date(2026, 4, 1);

/// What stands in for `notebook.toml` where a case has none of its own.
pub const NOTEBOOK: &str = "[notebook]\ntitle = \"Case\"\nowner = \"Nobody\"\n";

/// What is at a path.
#[derive(Debug)]
enum Entry {
    File(Vec<u8>),
    Link(String),
    Folder,
}

/// A finding that a case expects, or one that was made.
#[derive(Clone, PartialEq, Debug)]
pub struct Told {
    /// File, line and column, where it has a place.
    pub place: Option<(String, usize, usize)>,
    /// What stands at the place; `None` where the case does not say.
    text: Option<String>,
    /// Characters at the place; `None` where the case does not say.
    length: Option<usize>,
    /// `error[figure-disagrees]`.
    kind: String,
    /// Everything that it says, or the words to look for.
    words: String,
}

/// One case.
#[derive(Debug)]
pub struct Case {
    entries: Vec<(String, Entry)>,
    expected: Vec<Told>,
}

impl Case {
    /// Reads a case.
    pub fn parse(text: &str) -> Case {
        let mut case = Case {
            entries: Vec::new(),
            expected: Vec::new(),
        };
        let mut bytes = false;
        let mut own_notebook = false;
        // The line that marks are about, counted from one, and the line itself.
        let (mut line, mut about) = (0, 0);
        for text in text.split_inclusive('\n') {
            if let Some(header) = text.strip_prefix("//- ") {
                (line, about) = (0, 0);
                bytes = case.header(header.trim());
            } else if let Some(rest) = text.strip_prefix("//~ ") {
                assert_eq!(rest.trim(), "no notebook.toml", "the only such line");
                own_notebook = true;
            } else if let Some(rest) = text.strip_prefix("//= ") {
                let path = case.entries.last().map(|(path, _)| path.as_str());
                let told = expectation(path.unwrap_or(""), rest.trim_end());
                case.expected.push(told);
            } else if let Some((path, entry)) = case.entries.last_mut() {
                line += 1;
                let Entry::File(contents) = entry else {
                    assert!(text.trim().is_empty(), "{path} has no lines, and {text:?}");
                    continue;
                };
                match marks(text.trim_end()).filter(|_| path.ends_with(".toml")) {
                    Some((column, length, rest)) => case.expected.push(Told {
                        place: Some((path.clone(), about, column)),
                        text: None,
                        length: Some(length),
                        ..kind_and_words(rest)
                    }),
                    None => about = line,
                }
                match bytes {
                    true => contents.extend(unescaped(text)),
                    false => contents.extend(text.bytes()),
                }
            }
        }
        let has_notebook = case.entries.iter().any(|(path, _)| path == "notebook.toml");
        if !has_notebook && !own_notebook {
            let notebook = Entry::File(NOTEBOOK.into());
            case.entries.push(("notebook.toml".into(), notebook));
        }
        case
    }

    /// Takes in the header of a file; whether bytes are escaped in it.
    fn header(&mut self, header: &str) -> bool {
        let (path, bytes) = match header.strip_suffix(" (bytes)") {
            Some(path) => (path, true),
            None => (header, false),
        };
        let entry = match (path.split_once(" -> "), path.strip_suffix('/')) {
            (Some((path, target)), _) => (path.to_owned(), Entry::Link(target.to_owned())),
            (None, Some(folder)) => (folder.to_owned(), Entry::Folder),
            (None, None) => (path.to_owned(), Entry::File(Vec::new())),
        };
        self.entries.push(entry);
        bytes
    }

    /// Lays the files out in a folder.
    pub fn lay_out(&self, folder: &Path) {
        for (path, entry) in &self.entries {
            let path = folder.join(path);
            let parent = path.parent().expect("it lies in the folder");
            fs::create_dir_all(parent).expect("a folder can be made");
            match entry {
                Entry::File(contents) => fs::write(&path, contents),
                Entry::Folder => fs::create_dir(&path),
                Entry::Link(target) => std::os::unix::fs::symlink(target, &path),
            }
            .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        }
    }

    /// Holds what is found against what is expected: all of it, and nothing
    /// else. Each line of the answer is one difference.
    pub fn differences(&self, notebook: &Notebook) -> Vec<String> {
        let mut expected = self.expected.clone();
        let mut wrong = Vec::new();
        for finding in &notebook.findings {
            let told = told(notebook, finding);
            match expected.iter().position(|expected| told.answers(expected)) {
                Some(at) => drop(expected.remove(at)),
                None => wrong.push(format!("not expected: {}", told.as_line())),
            }
        }
        wrong.extend(
            expected
                .iter()
                .map(|expected| format!("not found:    {}", expected.as_line())),
        );
        wrong
    }
}

impl Told {
    /// Whether this finding is the one that was expected.
    fn answers(&self, expected: &Told) -> bool {
        let same = |own: &Option<usize>, wanted: &Option<usize>| wanted.is_none() || own == wanted;
        self.place == expected.place
            && self.kind == expected.kind
            && (expected.text.is_none() || self.text == expected.text)
            && same(&self.length, &expected.length)
            && expected
                .words
                .split(" | ")
                .all(|words| self.words.contains(words))
    }

    /// The line that would expect it.
    fn as_line(&self) -> String {
        let Told {
            place,
            text,
            length,
            kind,
            words,
        } = self;
        let text = match (text, length) {
            (Some(text), _) if !text.is_empty() && !text.contains('\n') => format!("`{text}` "),
            (Some(_), _) => String::new(),
            (None, length) => length.map_or(String::new(), |length| format!("({length} marked) ")),
        };
        match place {
            Some((path, line, column)) => {
                format!("{path}\n//= {line}:{column} {text}{kind}: {words}")
            }
            None => format!("\n//= {kind}: {words}"),
        }
    }
}

/// What a finding says and where.
fn told(notebook: &Notebook, finding: &Finding) -> Told {
    let labels = finding.labels.iter().map(|label| label.text.as_str());
    let mut words = vec![finding.message.as_str()];
    words.extend(labels);
    words.extend(finding.notes.iter().map(String::as_str));
    words.extend(finding.help.as_deref());
    let place = finding.place().map(|place| {
        let file = notebook.sources.file(place.file);
        let (line, column) = file.line_column(place.start);
        (file.path.to_string(), line, column)
    });
    let text = finding.place().map(|place| notebook.sources.text_at(place));
    Told {
        place,
        text: text.map(str::to_owned),
        length: text.map(|text| text.chars().count()),
        kind: format!("{}[{}]", finding.level.word(), finding.slug),
        words: words.join(" | "),
    }
}

/// `3:11 `9 mA` error[figure-disagrees]: comes to`
fn expectation(path: &str, line: &str) -> Told {
    let is_placed = line.starts_with(|c: char| c.is_ascii_digit());
    if !is_placed {
        return kind_and_words(line);
    }
    let (place, rest) = line.split_once(' ').expect("a place, then a kind");
    let (at, column) = place.split_once(':').expect("LINE:COLUMN");
    let number = |text: &str| text.parse().expect("a number");
    let (text, rest) = match rest.strip_prefix('`') {
        Some(rest) => {
            let (text, rest) = rest.split_once("` ").expect("text in backquotes");
            (Some(text.to_owned()), rest)
        }
        None => (None, rest),
    };
    Told {
        place: Some((path.to_owned(), number(at), number(column))),
        text,
        ..kind_and_words(rest)
    }
}

fn kind_and_words(text: &str) -> Told {
    let (kind, words) = text.split_once(':').unwrap_or((text, ""));
    let (level, slug) = kind.split_once('[').unwrap_or(("", ""));
    assert!(
        ["error", "caution", "note"].contains(&level) && slug.ends_with(']'),
        "`{text}` should start with `error[slug]:`"
    );
    Told {
        place: None,
        text: None,
        length: None,
        kind: kind.to_owned(),
        words: words.trim().to_owned(),
    }
}

/// Column and length of the marks in a comment, and what follows them.
fn marks(line: &str) -> Option<(usize, usize, &str)> {
    let rest = line.strip_prefix('#')?;
    let blank = rest.len() - rest.trim_start_matches(' ').len();
    let rest = &rest[blank..];
    let marks = rest.len() - rest.trim_start_matches('^').len();
    let after = rest[marks..].trim_start();
    match (blank, marks) {
        (_, 0) => None,
        (0, _) => Some((1, marks + 1, after)),
        _ => Some((blank + 2, marks, after)),
    }
}

/// The bytes of a line in which `\xE2` is a byte.
fn unescaped(line: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut rest = line.strip_suffix("\\\n").unwrap_or(line);
    while let Some((before, after)) = rest.split_once("\\x") {
        bytes.extend(before.bytes());
        let byte = after.get(..2).map(|hex| u8::from_str_radix(hex, 16));
        bytes.push(byte.expect("two digits").expect("hexadecimal"));
        rest = &after[2..];
    }
    bytes.extend(rest.bytes());
    bytes
}

/// Both ways of printing a notebook's findings, which have to bear anything.
pub fn print(notebook: &Notebook) -> (String, serde_json::Value) {
    let summary = Summary::of(&notebook.findings, Some(notebook.tally()));
    let mut drawn = String::new();
    for (colour, width, unicode) in [(true, 40, true), (false, 100, false)] {
        let style = TerminalStyle {
            colour,
            width,
            unicode,
            notes: true,
            folder: notebook.root.clone(),
        };
        drawn = draw(&notebook.findings, &notebook.sources, &style);
        drawn.push_str(&draw_summary(&summary, &style));
    }
    let written = json::write(&notebook.findings, &notebook.sources, &summary);
    let parsed = serde_json::from_str(&written).expect("it is JSON");
    (drawn, parsed)
}
