//! Prose: one Markdown file as events, links, headings and loose quantities.
//!
//! A sheet is CommonMark with tables, footnotes and strikethrough, and nothing
//! else: no templates, no front matter, no HTML. [`read`] keeps the parser's
//! events with their byte ranges, so that every finding points at the exact
//! letters, and [`html::render`] writes them as HTML while the caller decides
//! what becomes of each link.
//!
//! Any text is a document. What is wrong with it comes back as findings, and
//! whatever the findings say there is a [`Document`] to show.
//!
//! Not here: whether an address leads anywhere, and whether stated text agrees
//! with its figure. Both need the whole notebook.

mod address;
mod destination;
mod document;
mod footnote;
mod heading;
pub mod html;
mod link;
mod loose;
mod markup;
mod read;
mod refusal;
mod run;
mod stray;
mod table;
mod unit_name;

#[cfg(test)]
mod tests;

pub use address::Address;
pub use document::{Document, Heading, Link, LooseQuantity};
pub use read::{LARGEST_BYTES, read};
pub use refusal::Refusal;
