//! What somebody who has never met the team needs to make, test, repair and
//! dispose of a board, and where it is (after DIN SPEC 3105-1, which asks for
//! documents that a specialist can work by without asking).

use super::fields::{Fields, Value};
use super::shape::{Key, Shape, Takes};
use super::shapes::{may, record};
use crate::finding::{Located, Place};

/// A document that a board is not complete without.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Document {
    /// The list of parts.
    PartsList,
    /// The circuit drawing.
    CircuitDrawing,
    /// Circuit and layout in the form in which they are edited.
    Layout,
    /// The drawing of where parts go.
    PlacementDrawing,
    /// What a board maker works from.
    Fabrication,
    /// How to put it together.
    Assembly,
    /// How to test it.
    Test,
    /// How to repair it.
    Repair,
    /// What to do with it in the end.
    Disposal,
}

impl Document {
    /// Every document, in the order of a board's life.
    pub const ALL: [Document; 9] = [
        Document::PartsList,
        Document::CircuitDrawing,
        Document::Layout,
        Document::PlacementDrawing,
        Document::Fabrication,
        Document::Assembly,
        Document::Test,
        Document::Repair,
        Document::Disposal,
    ];

    /// Its key in `[complete]`.
    pub fn key(self) -> &'static str {
        match self {
            Document::PartsList => "parts_list",
            Document::CircuitDrawing => "circuit_drawing",
            Document::Layout => "layout",
            Document::PlacementDrawing => "placement_drawing",
            Document::Fabrication => "fabrication",
            Document::Assembly => "assembly",
            Document::Test => "test",
            Document::Repair => "repair",
            Document::Disposal => "disposal",
        }
    }

    /// What people call it.
    pub fn title(self) -> &'static str {
        match self {
            Document::PartsList => "Parts list",
            Document::CircuitDrawing => "Circuit drawing",
            Document::Layout => "Circuit and layout, to be edited",
            Document::PlacementDrawing => "Placement drawing",
            Document::Fabrication => "Fabrication files",
            Document::Assembly => "Assembly instruction",
            Document::Test => "Test instruction",
            Document::Repair => "Repair instruction",
            Document::Disposal => "Disposal instruction",
        }
    }
}

/// Where a document is, or why there is none.
#[derive(Clone, Debug)]
pub enum Kept {
    /// A file, as a path from the board's folder.
    File(Located<String>),
    /// None, for a reason.
    Not(Located<String>),
}

/// `[complete]`: where a board's documents are.
#[derive(Clone, Debug, Default)]
pub struct Complete {
    /// Its header; nowhere if the board has none.
    pub place: Option<Place>,
    /// Each document that something is said of.
    pub documents: Vec<(Document, Kept)>,
}

impl Complete {
    /// What is said of a document.
    pub fn of(&self, document: Document) -> Option<&Kept> {
        let mut said = self.documents.iter();
        let found = said.find(|(known, _)| *known == document);
        found.map(|(_, kept)| kept)
    }
}

static DOCUMENT: Shape = Shape {
    one_of: &[&["file"], &["not"]],
    ..record(
        "document",
        "a document",
        "{ file = \"…\" } or { not = \"…\" }",
        "Where a document of the board is, or why there is none.",
        &[
            may(
                "file",
                Takes::Text,
                "the file, as a path from the board's folder",
            ),
            may("not", Takes::Text, "why there is none"),
        ],
    )
};

const fn document(name: &'static str, means: &'static str) -> Key {
    may(name, Takes::Short("file", &DOCUMENT), means)
}

pub(super) static COMPLETE: Shape = record(
    "complete",
    "the list of documents",
    "[complete]",
    "Where the documents are that somebody needs to make, test and repair the board, or why there are none.",
    &[
        document(
            "parts_list",
            "list of parts, where the parts that are fitted are not the whole of it",
        ),
        document("circuit_drawing", "drawing of the whole circuit"),
        document(
            "layout",
            "circuit and layout in the form in which they are edited",
        ),
        document("placement_drawing", "drawing of where each part goes"),
        document("fabrication", "files that a board maker works from"),
        document("assembly", "how to put the board together"),
        document("test", "how to test it, where no fixture does"),
        document("repair", "how to repair it"),
        document("disposal", "what to do with it in the end"),
    ],
);

/// `[complete]` of a board.
pub(super) fn complete(fields: Option<Fields>) -> Complete {
    let Some(mut fields) = fields else {
        return Complete::default();
    };
    let place = fields.place.clone();
    let mut documents = Vec::new();
    for (key, value) in fields.rest() {
        let mut all = Document::ALL.into_iter();
        let document = all.find(|document| document.key() == key.value);
        let kept = match value {
            Value::Text(file) => Some(Kept::File(file)),
            Value::Table(mut fields) => {
                let (file, not) = (fields.text("file"), fields.text("not"));
                fields.finish();
                file.map(Kept::File).or(not.map(Kept::Not))
            }
            _ => None,
        };
        documents.extend(document.zip(kept));
    }
    fields.finish();
    Complete {
        place: Some(place),
        documents,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_document_has_its_key() {
        for document in Document::ALL {
            assert!(COMPLETE.key(document.key()).is_some(), "{document:?}");
        }
        assert_eq!(COMPLETE.keys.len(), Document::ALL.len());
    }
}
