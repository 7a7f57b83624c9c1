//! What one Markdown file holds.

use std::ops::Range;

use pulldown_cmark::Event;

use super::Address;
use crate::finding::{FileId, Place};
use crate::quantity::{Decimal, Dimension, Unit};

/// One Markdown file.
#[derive(Clone, Debug)]
pub struct Document {
    /// The file.
    pub file: FileId,
    /// Text of the first heading, whatever its level; `None` where there is
    /// none or it is empty.
    pub title: Option<String>,
    /// Where the title's text stands.
    pub title_place: Option<Place>,
    /// All headings, in the order written; the first one is the title.
    pub headings: Vec<Heading>,
    /// The parser's events with the bytes of the file that they came from.
    pub events: Vec<(Event<'static>, Range<usize>)>,
    /// All links and images, in the order in which they begin. Those that lie
    /// in another one (an image in a link, a link in an image's text) are
    /// listed too.
    pub links: Vec<Link>,
    /// Quantities in prose that no link hangs on a figure.
    pub loose: Vec<LooseQuantity>,
}

impl Document {
    /// A document without content.
    pub(super) fn empty(file: FileId) -> Document {
        Document {
            file,
            title: None,
            title_place: None,
            headings: Vec::new(),
            events: Vec::new(),
            links: Vec::new(),
            loose: Vec::new(),
        }
    }
}

/// A heading.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Heading {
    /// 1 to 6, as written.
    pub level: u8,
    /// Its visible text.
    pub text: String,
    /// Name to link to, unique within the file: lower-case letters, digits and
    /// hyphens.
    pub id: String,
    /// Where its text stands.
    pub place: Place,
    /// Number of the event that starts it in [`Document::events`].
    pub event: usize,
}

/// A link or an image.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Link {
    /// Where it leads.
    pub kind: Address,
    /// Its visible text without the spaces around it; an image's text for
    /// those who cannot see it. Empty for a bare address of the notebook's own
    /// in angle brackets, `<figure:charge_slow>`, which states nothing.
    pub text: String,
    /// Exactly the visible text: from its first letter to its last, inside
    /// brackets and emphasis. Empty, and just inside the bracket, where there
    /// is no text.
    pub text_place: Place,
    /// Whether the bytes at `text_place` are `text`, so that other text may be
    /// put in their place. Emphasis amid the text, an escape or a line break
    /// makes it false.
    pub literal: bool,
    /// The whole link.
    pub place: Place,
    /// The address alone: inside the parentheses, inside angle brackets, or in
    /// the definition that a reference link points at. The whole link where it
    /// could not be told.
    pub destination_place: Place,
    /// The title after the address, mostly empty.
    pub title: String,
    /// Whether it is an image.
    pub image: bool,
    /// Number of the event that starts it in [`Document::events`].
    pub event: usize,
}

/// A quantity in running text that hangs on no figure.
#[derive(Clone, PartialEq, Debug)]
pub struct LooseQuantity {
    /// As written.
    pub text: String,
    /// Where it stands.
    pub place: Place,
    /// Value in coherent SI units (kelvin for a temperature, decibels for a
    /// level).
    pub value: f64,
    /// Dimension of the value.
    pub dimension: Dimension,
    /// The unit as it was meant.
    pub unit: Unit,
    /// The numeral, with every digit that was written.
    pub decimal: Decimal,
}
