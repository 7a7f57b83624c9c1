//! Holds records against what is to be found in them.
//!
//! A fixture is one or more files, each after a line `//- path`. What is to be
//! found stands under the line that it is about, as a comment:
//!
//! ```text
//! [figure.gain]
//! mean = "Gain of the amplifier"
//! #<^^ unknown-key: perhaps `means`
//! ```
//!
//! The marks stand under the place that is reported; `#<` are marks for the
//! first two columns. A bar stands for a place without extent, `#<|` at the
//! very start. The words after the colon have to occur in what the finding
//! says. A line `//! slug: words` stands for a finding that has no place.

use crate::finding::{Finding, Sources};
use crate::record::{Layout, Records, Role, read_records};

/// The notebook of fixtures that do not bring one.
const NOTEBOOK: &str = "[notebook]\ntitle = \"Test\"\nowner = \"Nobody\"\n";

/// Where and what is to be found: path, line, column, length, slug, words.
type Expected = (String, usize, usize, usize, String, String);

/// Reads the files of a fixture.
pub(crate) fn read(fixture: &str) -> (Sources, Records, Vec<Finding>) {
    let mut files: Vec<(String, String)> = Vec::new();
    for line in fixture.split_inclusive('\n') {
        if let Some(path) = line.strip_prefix("//- ") {
            files.push((path.trim().to_owned(), String::new()));
        } else if let Some((_, text)) = files.last_mut() {
            text.push_str(line);
        }
    }
    let has_notebook = files.iter().any(|(path, _)| path == "notebook.toml");
    if !has_notebook && !fixture.contains("//! ") {
        files.insert(0, ("notebook.toml".into(), NOTEBOOK.into()));
    }
    let mut sources = Sources::default();
    let mut layout = Layout::default();
    for (path, text) in files {
        let role = Role::of(path.as_str().into());
        let role = role.unwrap_or_else(|| panic!("{path} is no file of records"));
        layout.files.push((sources.add(path, text), role));
    }
    let (records, findings) = read_records(&sources, &layout);
    (sources, records, findings)
}

/// Reads the files of a fixture and holds what is found against what is to be
/// found: all of it, and nothing else.
#[track_caller]
pub(crate) fn check(fixture: &str) -> Records {
    let (sources, records, findings) = read(fixture);
    let mut expected = expected(fixture);
    let mut wrong = Vec::new();
    for finding in &findings {
        let (path, line, column, length) = place_of(finding, &sources);
        let says = words_of(finding);
        let found = expected.iter().position(|(p, l, c, n, slug, words)| {
            (p, *l, *c, *n) == (&path, line, column, length)
                && slug == finding.slug.name()
                && says.contains(words.as_str())
        });
        match found {
            Some(at) => {
                expected.remove(at);
            }
            None => wrong.push(format!(
                "not expected: {path}:{line}:{column} +{length} {}: {says}",
                finding.slug
            )),
        }
    }
    wrong.extend(
        expected
            .iter()
            .map(|expected| format!("not found: {expected:?}")),
    );
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
    records
}

fn place_of(finding: &Finding, sources: &Sources) -> (String, usize, usize, usize) {
    let Some(place) = finding.place() else {
        return (String::new(), 0, 0, 0);
    };
    let file = sources.file(place.file);
    let (line, column) = file.line_column(place.start);
    let length = sources.text_at(place).chars().count();
    (file.path.to_string(), line, column, length)
}

/// Everything that a finding says, for a search in it.
fn words_of(finding: &Finding) -> String {
    let labels = finding.labels.iter().map(|label| label.text.as_str());
    let mut words = vec![finding.message.as_str()];
    words.extend(labels);
    words.extend(finding.notes.iter().map(String::as_str));
    words.extend(finding.help.as_deref());
    words.join(" | ")
}

fn expected(fixture: &str) -> Vec<Expected> {
    let mut expected = Vec::new();
    let (mut path, mut line, mut about) = (String::new(), 0, 0);
    for text in fixture.lines() {
        line += 1;
        if let Some(rest) = text.strip_prefix("//- ") {
            (path, line, about) = (rest.trim().to_owned(), 0, 1);
        } else if let Some(rest) = text.strip_prefix("//! ") {
            let (slug, words) = split(rest);
            expected.push((String::new(), 0, 0, 0, slug, words));
        } else if let Some((column, length, rest)) = marks(text) {
            let (slug, words) = split(rest);
            expected.push((path.clone(), about, column, length, slug, words));
        } else {
            about = line;
        }
    }
    expected
}

/// Column and length of the marks in a line, and what follows them.
fn marks(line: &str) -> Option<(usize, usize, &str)> {
    let rest = line.strip_prefix('#')?;
    let (column, before, rest) = match rest.strip_prefix('<') {
        Some(rest) => (1, 2, rest),
        None => {
            let marked = rest.trim_start_matches(' ');
            (rest.len() - marked.len() + 2, 0, marked)
        }
    };
    if let Some(rest) = rest.strip_prefix('|') {
        return Some((column, 0, rest));
    }
    let after = rest.trim_start_matches('^');
    let length = before + rest.len() - after.len();
    (length > 0).then_some((column, length, after))
}

fn split(text: &str) -> (String, String) {
    let (slug, words) = text.split_once(':').unwrap_or((text, ""));
    (slug.trim().to_owned(), words.trim().to_owned())
}
