//! Headings and the names that links reach them by.

use std::collections::HashMap;
use std::collections::HashSet;
use std::ops::Range;

use pulldown_cmark::{Event, Tag, TagEnd};

use super::document::Heading;
use super::run::Run;
use crate::finding::{FileId, Place};

/// Collects all headings of a document.
pub(super) fn collect(
    file: FileId,
    events: &[(Event<'_>, Range<usize>)],
    source: &str,
) -> Vec<Heading> {
    let mut headings = Vec::new();
    let mut ids = Ids::default();
    let mut open: Option<(u8, usize, Range<usize>, Run)> = None;
    for (at, (event, range)) in events.iter().enumerate() {
        match event {
            Event::Start(Tag::Heading { level, .. }) => {
                open = Some((*level as u8, at, range.clone(), Run::default()));
            }
            Event::End(TagEnd::Heading(_)) => {
                if let Some((level, event, whole, run)) = open.take() {
                    let (text, place) = run.trimmed();
                    headings.push(Heading {
                        level,
                        text: text.to_owned(),
                        id: ids.give(text),
                        place: Place::new(file, place.unwrap_or(whole)),
                        event,
                    });
                }
            }
            _ => {
                if let Some((.., run)) = &mut open {
                    run.push_event(event, range, source);
                }
            }
        }
    }
    headings
}

/// Gives out names, each one once.
#[derive(Default)]
struct Ids {
    given: HashSet<String>,
    /// How often a name has been asked for, so that a thousand headings of the
    /// same text do not cost a million look-ups.
    asked: HashMap<String, usize>,
}

impl Ids {
    fn give(&mut self, text: &str) -> String {
        let plain = plain_id(text);
        let asked = self.asked.entry(plain.clone()).or_insert(0);
        loop {
            *asked += 1;
            let id = match *asked {
                1 => plain.clone(),
                n => format!("{plain}-{n}"),
            };
            if self.given.insert(id.clone()) {
                return id;
            }
        }
    }
}

/// Letters and digits in lower case, with one hyphen for all that lies between.
fn plain_id(text: &str) -> String {
    let mut id = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_alphanumeric() {
            id.extend(c.to_lowercase());
        } else if !id.is_empty() && !id.ends_with('-') {
            id.push('-');
        }
    }
    let id = id.trim_end_matches('-');
    if id.is_empty() {
        "section".to_owned()
    } else {
        id.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_the_headings_words() {
        assert_eq!(plain_id("What is in the box?"), "what-is-in-the-box");
        assert_eq!(plain_id("5 V, 3.3 V & Ω"), "5-v-3-3-v-ω");
        assert_eq!(plain_id("???"), "section");
    }

    #[test]
    fn no_two_headings_get_the_same_name() {
        let mut ids = Ids::default();
        let given: Vec<String> = ["Pins", "Pins 2", "Pins", "pins", ""]
            .iter()
            .map(|text| ids.give(text))
            .collect();
        assert_eq!(given, ["pins", "pins-2", "pins-3", "pins-4", "section"]);
    }
}
