//! Findings as JSON, for editors, checks in continuous integration and scripts.
//!
//! The form is `ohmbook-findings`, version 1. Members may be added to a version;
//! whatever else changes makes a new one. [`schema`] is the same in JSON Schema.
//!
//! ```json
//! {
//!   "form": "ohmbook-findings",
//!   "version": 1,
//!   "summary": {
//!     "errors": 1, "cautions": 0, "notes": 0,
//!     "figures": { "hold": 30, "of": 31 }
//!   },
//!   "findings": [{
//!     "slug": "figure-disagrees",
//!     "level": "error",
//!     "message": "`charge_slow` is stated as 201 mA, but comes to 196 mA",
//!     "places": [{
//!       "path": "boards/cell_charger/front.md",
//!       "line": 7, "column": 12, "end_line": 7, "end_column": 18,
//!       "start": 214, "end": 220,
//!       "text": "201 mA",
//!       "label": "stated here",
//!       "primary": true
//!     }],
//!     "notes": ["likely typed once and not recomputed"],
//!     "help": "state what is computed",
//!     "mend": {
//!       "path": "boards/cell_charger/front.md",
//!       "line": 7, "column": 12, "end_line": 7, "end_column": 18,
//!       "start": 214, "end": 220,
//!       "text": "201 mA",
//!       "write": "196 mA"
//!     }
//!   }]
//! }
//! ```
//!
//! Every member is always there; what is unknown is `null`. Findings of every
//! level are listed, notes too, in the order given: the same findings are
//! written as the same bytes.

use camino::Utf8Path;
use serde::Serialize;
use serde_json::{Value, json};

use super::{Finding, Level, Place, Slug, Sources, Summary};

/// Name of the form.
pub const FORM: &str = "ohmbook-findings";

/// Version of the form.
pub const VERSION: u32 = 1;

/// Bytes of text at a place up to which the text itself is written.
const LONGEST_TEXT: usize = 400;

/// A run's findings.
#[derive(Serialize, Debug)]
pub struct Report<'a> {
    /// [`FORM`].
    pub form: &'static str,
    /// [`VERSION`].
    pub version: u32,
    /// How many findings of each level there are, and how many figures hold.
    pub summary: &'a Summary,
    /// The findings.
    pub findings: Vec<Entry<'a>>,
}

/// One finding.
#[derive(Serialize, Debug)]
pub struct Entry<'a> {
    /// Kind of the finding.
    pub slug: &'static str,
    /// `error`, `caution` or `note`.
    pub level: &'static str,
    /// What is wrong, in one sentence without a full stop.
    pub message: &'a str,
    /// Where, the place that the finding is about first; it may have none.
    pub places: Vec<LabelledPlace<'a>>,
    /// Further facts.
    pub notes: &'a [String],
    /// What to do about it.
    pub help: Option<&'a str>,
    /// The text that would hold.
    pub mend: Option<MendedPlace<'a>>,
}

/// A stretch of text in a file.
///
/// Lines and columns are counted from one, columns in Unicode code points; the
/// end is that of the first character after the stretch. Bytes are counted from
/// zero in the file's UTF-8.
#[derive(Serialize, Debug)]
pub struct Stretch<'a> {
    /// File, relative to the notebook's folder, with `/` between folders.
    pub path: &'a Utf8Path,
    /// Line of the first character.
    pub line: usize,
    /// Column of the first character.
    pub column: usize,
    /// Line of the first character after it.
    pub end_line: usize,
    /// Column of the first character after it.
    pub end_column: usize,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// What stands there, unless it is longer than 400 bytes.
    pub text: Option<&'a str>,
}

/// A place with what is said of it.
#[derive(Serialize, Debug)]
pub struct LabelledPlace<'a> {
    /// Where.
    #[serde(flatten)]
    pub stretch: Stretch<'a>,
    /// What is said of it, which may be nothing.
    pub label: &'a str,
    /// Whether this is the place that the finding is about.
    pub primary: bool,
}

/// A place with the text that would hold there.
#[derive(Serialize, Debug)]
pub struct MendedPlace<'a> {
    /// What is replaced.
    #[serde(flatten)]
    pub stretch: Stretch<'a>,
    /// The text to put in its place, which may be nothing.
    pub write: &'a str,
}

/// Puts findings into the form, in the order given.
pub fn report<'a>(
    findings: &'a [Finding],
    sources: &'a Sources,
    summary: &'a Summary,
) -> Report<'a> {
    Report {
        form: FORM,
        version: VERSION,
        summary,
        findings: findings.iter().map(|f| entry(f, sources)).collect(),
    }
}

/// Writes findings as JSON text with a line feed at its end.
pub fn write(findings: &[Finding], sources: &Sources, summary: &Summary) -> String {
    // Strings, numbers and lists of them under fixed names: none of what JSON
    // cannot hold. Should that ever change, the error is told in the form's place.
    let written = serde_json::to_string_pretty(&report(findings, sources, summary));
    let mut text =
        written.unwrap_or_else(|error| json!({ "error": error.to_string() }).to_string());
    text.push('\n');
    text
}

fn entry<'a>(finding: &'a Finding, sources: &'a Sources) -> Entry<'a> {
    let labels = finding.labels.iter().enumerate();
    let places = labels.map(|(at, label)| LabelledPlace {
        stretch: stretch(&label.place, sources),
        label: &label.text,
        primary: at == 0,
    });
    Entry {
        slug: finding.slug.name(),
        level: finding.level.word(),
        message: &finding.message,
        places: places.collect(),
        notes: &finding.notes,
        help: finding.help.as_deref(),
        mend: finding.mend.as_ref().map(|mend| MendedPlace {
            stretch: stretch(&mend.place, sources),
            write: &mend.text,
        }),
    }
}

fn stretch<'a>(place: &Place, sources: &'a Sources) -> Stretch<'a> {
    let file = sources.file(place.file);
    let start = file.text.floor_char_boundary(place.start);
    let end = file.text.ceil_char_boundary(place.end).max(start);
    let (line, column) = file.line_column(start);
    let (end_line, end_column) = file.line_column(end);
    let text = &file.text[start..end];
    Stretch {
        path: &file.path,
        line,
        column,
        end_line,
        end_column,
        start,
        end,
        text: Some(text).filter(|text| text.len() <= LONGEST_TEXT),
    }
}

/// The form in JSON Schema (draft 2020-12).
pub fn schema() -> Value {
    let slugs: Vec<&str> = Slug::ALL.iter().map(|slug| slug.name()).collect();
    let levels = [Level::Error, Level::Caution, Level::Note].map(Level::word);
    let text = |says: &str| json!({ "type": "string", "description": says });
    let count = |says: &str| json!({ "type": "integer", "minimum": 0, "description": says });
    let ordinal = |says: &str| json!({ "type": "integer", "minimum": 1, "description": says });
    let stretch = |more: Value| {
        let mut members = json!({
            "path": text("File, relative to the notebook's folder, with / between folders."),
            "line": ordinal("Line of the first character, counted from one."),
            "column": ordinal("Column of the first character, counted from one in code points."),
            "end_line": ordinal("Line of the first character after it."),
            "end_column": ordinal("Column of the first character after it."),
            "start": count("First byte of the file's UTF-8, counted from zero."),
            "end": count("One past the last byte."),
            "text": {
                "type": ["string", "null"],
                "description": "What stands there; null where it is longer than 400 bytes.",
            },
        });
        if let (Value::Object(members), Value::Object(more)) = (&mut members, more) {
            members.extend(more);
        }
        object(members)
    };
    let mut schema = object(json!({
        "form": { "const": FORM },
        "version": { "const": VERSION },
        "summary": object(json!({
            "errors": count("Findings that keep the notebook from being bound."),
            "cautions": count("Findings that somebody should look at."),
            "notes": count("Findings that are worth knowing."),
            "figures": {
                "description": "null where the run did not get as far as computing figures.",
                "oneOf": [{ "type": "null" }, object(json!({
                    "hold": count("Figures that agree with all that is stated and required of them."),
                    "of": count("Figures that were checked."),
                }))],
            },
        })),
        "findings": { "type": "array", "items": object(json!({
            "slug": { "enum": slugs, "description": "Kind of the finding." },
            "level": { "enum": levels },
            "message": text("What is wrong, in one sentence without a full stop."),
            "places": {
                "type": "array",
                "description": "The place that the finding is about first; there may be none.",
                "items": stretch(json!({
                    "label": text("What is said of the place, which may be nothing."),
                    "primary": { "type": "boolean" },
                })),
            },
            "notes": { "type": "array", "items": { "type": "string" } },
            "help": { "type": ["string", "null"] },
            "mend": { "oneOf": [{ "type": "null" }, stretch(json!({
                "write": text("The text to put in the place of what stands there."),
            }))] },
        })) },
    }));
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Findings of a run over a notebook");
    schema
}

/// An object that has all these members. More may come within the version.
fn object(members: Value) -> Value {
    let names: Vec<String> = match &members {
        Value::Object(map) => map.keys().cloned().collect(),
        _ => Vec::new(),
    };
    json!({ "type": "object", "properties": members, "required": names })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::finding::FigureCount;

    fn example() -> (Sources, Vec<Finding>) {
        let mut sources = Sources::default();
        let text = "# Läuft\nmit [201 mA](figure:a)\n";
        let file = sources.add("boards/a/front.md", text.to_owned());
        let start = text.find("201").unwrap();
        let stated = Place::new(file, start..start + "201 mA".len());
        let stale = Finding::new(Slug::FigureDisagrees, "201 mA is 196 mA")
            .at(stated.clone(), "stated here")
            .at(Place::new(file, 0..text.len()), "")
            .note("typed \"once\"")
            .mend(stated, "196 mA");
        let placeless = Finding::new(Slug::MissingRecord, "`notebook.toml` is not there");
        (sources, vec![placeless, stale])
    }

    fn written() -> Value {
        let (sources, findings) = example();
        let figures = FigureCount { hold: 0, of: 1 };
        let summary = Summary::of(&findings, Some(figures));
        serde_json::from_str(&write(&findings, &sources, &summary)).unwrap()
    }

    #[test]
    fn a_place_is_written_in_lines_code_points_and_bytes() {
        let place = &written()["findings"][1]["places"][0];
        let expected = json!({
            "path": "boards/a/front.md",
            "line": 2, "column": 6, "end_line": 2, "end_column": 12,
            "start": 14, "end": 20,
            "text": "201 mA", "label": "stated here", "primary": true,
        });
        assert_eq!(*place, expected);
    }

    #[test]
    fn what_is_absent_is_null_and_still_there() {
        let report = written();
        let placeless = &report["findings"][0];
        assert_eq!(placeless["places"], json!([]));
        assert_eq!(placeless["mend"], Value::Null);
        assert_eq!(placeless.as_object().unwrap().len(), 7);
        assert_eq!(report["summary"]["errors"], 2);
        assert_eq!(report["summary"]["figures"], json!({ "hold": 0, "of": 1 }));
    }

    #[test]
    fn a_place_outside_its_file_or_across_a_character_is_brought_inside() {
        let mut sources = Sources::default();
        let file = sources.add("a.md", "Ω".to_owned());
        let at = |span| {
            let place = Place::new(file, span);
            let stretch = stretch(&place, &sources);
            (stretch.start, stretch.end, stretch.text.unwrap().to_owned())
        };
        assert_eq!(at(1..1), (0, 2, "Ω".to_owned()));
        assert_eq!(at(7..9), (2, 2, String::new()));
    }

    #[test]
    fn very_long_text_is_left_to_the_file() {
        let mut sources = Sources::default();
        let file = sources.add("a.md", "x".repeat(1000));
        assert_eq!(stretch(&Place::new(file, 0..1000), &sources).text, None);
    }

    /// The schema and the structs are two accounts of one form; here they are
    /// held against each other member by member.
    #[test]
    fn the_schema_names_exactly_the_members_that_are_written() {
        fn compare(schema: &Value, written: &Value, at: &str) {
            let schema = match schema.get("oneOf") {
                Some(choices) => &choices[usize::from(!written.is_null())],
                None => schema,
            };
            match written {
                Value::Object(members) => {
                    let known = schema["properties"].as_object().unwrap();
                    let mut names: Vec<&String> = known.keys().collect();
                    let mut found: Vec<&String> = members.keys().collect();
                    names.sort();
                    found.sort();
                    assert_eq!(found, names, "{at}");
                    for (name, member) in members {
                        compare(&known[name], member, &format!("{at}/{name}"));
                    }
                }
                Value::Array(items) => {
                    for item in items {
                        compare(&schema["items"], item, at);
                    }
                }
                _ => {}
            }
        }
        compare(&schema(), &written(), "");
    }
}
