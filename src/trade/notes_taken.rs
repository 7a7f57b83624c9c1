//! Notes that a working takes from a note table of its board, or by frequency.

use super::kind::{Input, Inputs, Refusal, Takes, may_take, optional};
use crate::quantity::Dimension;

/// More notes than these are no instrument of a small board.
const MOST: usize = 128;

/// Notes by the id of a note table.
pub(super) const NOTES: Input = may_take(
    "notes",
    "Notes that are played",
    Takes::Working(&["note-table"]),
);
/// Notes by their frequencies.
pub(super) const NOTE: Input = may_take(
    "note",
    "Frequency of a note that is played",
    Takes::ByName(Dimension::FREQUENCY),
);
/// What a note may lose.
pub(super) const WITHIN: Input = optional(
    "within",
    "How far a note may fall and still count as kept",
    Dimension::DECIBEL,
);

/// A note.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Note {
    /// Its name in results.
    pub id: String,
    /// What people call it.
    pub label: String,
    /// The name that its frequency is known by.
    pub operand: String,
}

/// The notes that a record gives, as `notes`, the id of a note table, or as
/// `note`, frequencies by name.
///
/// # Errors
/// Both of them, or far too many notes.
pub(super) fn notes(given: &Inputs) -> Result<Vec<Note>, Vec<Refusal>> {
    if given.has("notes") && given.has("note") {
        return Err(vec![Refusal::new(
            "note",
            "notes are given twice, by a note table and by frequency",
            "leave `notes` or `note` out",
        )]);
    }
    let mut notes: Vec<Note> = given
        .names("note")
        .into_iter()
        .map(|id| Note {
            id: id.to_owned(),
            label: spoken(id),
            operand: format!("note.{id}"),
        })
        .collect();
    for result in given
        .working("notes")
        .iter()
        .flat_map(|other| &other.results)
    {
        let Some(id) = result.name.strip_suffix(".frequency") else {
            continue;
        };
        // A table labels it with the note and what of it: `C5 frequency`.
        let label = result.label.as_ref().map(|label| {
            let note = label.strip_suffix(" frequency");
            note.unwrap_or(label).to_owned()
        });
        notes.push(Note {
            id: id.replace('.', "_"),
            label: label.unwrap_or_else(|| spoken(id)),
            operand: format!("notes.{}", result.name),
        });
    }
    if notes.len() > MOST {
        let input = if given.has("note") { "note" } else { "notes" };
        return Err(vec![Refusal::new(
            input,
            format!(
                "{} notes are more than a speaker is asked about",
                notes.len()
            ),
            format!("give {MOST} of them at most"),
        )]);
    }
    Ok(notes)
}

/// A name of a record as people say it: `c5` is C5, `small_one` is Small one.
pub(super) fn spoken(name: &str) -> String {
    let text = name.replace(['_', '.'], " ");
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => text,
    }
}
