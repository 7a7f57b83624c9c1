//! The pages as a reader's browser finds them: links that lead somewhere,
//! sheets that can be read by ear and by keyboard, and nothing fetched from
//! elsewhere.
#![allow(clippy::expect_used)]

#[path = "site/awkward.rs"]
mod awkward;
#[path = "notebooks/case.rs"]
#[allow(dead_code)] // Here cases are only laid out.
mod case;
#[path = "site/contrast.rs"]
mod contrast;
#[path = "site/copy.rs"]
mod copy;
#[path = "site/drawings.rs"]
mod drawings;
#[path = "site/evidence.rs"]
mod evidence;
#[path = "site/kept.rs"]
mod kept;
#[path = "site/laid_out.rs"]
mod laid_out;
#[path = "site/look.rs"]
mod look;
#[path = "site/page.rs"]
mod page;
#[path = "site/readers.rs"]
mod readers;
#[path = "site/reading.rs"]
mod reading;
#[path = "site/revised.rs"]
mod revised;
#[path = "site/reworded.rs"]
mod reworded;
#[path = "site/sheets.rs"]
mod sheets;
#[path = "site/walk.rs"]
mod walk;
