//! Networks, against what other ways of computing them gave.

#![allow(clippy::unwrap_used)] // A test that panics is a test that fails.

#[path = "published/networks.rs"]
mod networks;
