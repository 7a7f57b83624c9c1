//! What is computed, against what is published.
//!
//! Each file in `tests/published/` holds the cases of one topic, with the
//! source of every value and the difference that is allowed. Every case is
//! judged through the public interface; none is skipped in silence: one that no
//! formula answers is left out with a reason, and one that is disputed stays in
//! and says why.

#![allow(clippy::unwrap_used)] // A test that panics is a test that fails.

#[path = "published/case.rs"]
mod case;
#[path = "published/formulas.rs"]
mod formulas;
#[path = "published/named_results.rs"]
mod named_results;
#[path = "published/networks.rs"]
mod networks;
#[path = "published/preferred_values.rs"]
mod preferred_values;
#[path = "published/sheet.rs"]
mod sheet;
#[path = "published/si_units.rs"]
mod si_units;
#[path = "published/sound.rs"]
mod sound;
#[path = "published/workings.rs"]
mod workings;
