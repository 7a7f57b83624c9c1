//! Uncertainty and statistics, against what is published.
//!
//! Each file in `tests/published/` holds the cases of one topic, with the
//! source of every value and the difference that is allowed. Every case is
//! judged through the public interface; none may be skipped, and a case that
//! is disputed stays in and says why.

#![allow(clippy::unwrap_used)] // A test that panics is a test that fails.

#[path = "published/statistics_case.rs"]
mod case;
#[path = "published/statistics.rs"]
mod statistics;
#[path = "published/supplement.rs"]
mod supplement;
#[path = "published/tolerances.rs"]
mod tolerances;
#[path = "published/uncertainty.rs"]
mod uncertainty;
