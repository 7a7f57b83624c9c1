//! What is asked of a line of two hundred boards, and how long it takes.
//!
//! The line is made by chance from a seed. Beside each answer stands the least
//! that has to be done for it: reading and proving the notebook once. Nothing is
//! asserted: times are of one machine. Whether the answers are right is tested in
//! `tests/thin.rs`.
//!
//! Run it with `cargo bench --bench line`.

#![allow(clippy::print_stdout)] // Printing is what it is for.

#[path = "line/made.rs"]
mod made;

use std::time::{Duration, Instant};

use camino::Utf8Path;
use jiff::civil::date;
use ohmbook::notebook::{LineTotals, Notebook};
use ohmbook::thin::Thinning;

/// Boards on the line.
const BOARDS: usize = 200;
/// Rounds of which the median counts.
const ROUNDS: usize = 3;

/// What something gives, and the median of how long it took.
fn timed<T>(mut what: impl FnMut() -> T) -> (T, Duration) {
    let mut times = Vec::new();
    let mut given = None;
    for _ in 0..ROUNDS {
        let start = Instant::now();
        given = Some(what());
        times.push(start.elapsed());
    }
    times.sort();
    (given.expect("there is a round"), times[ROUNDS / 2])
}

fn main() {
    let folder = tempfile::tempdir().expect("a temporary folder can be made");
    let root = Utf8Path::from_path(folder.path()).expect("temporary folders have plain names");
    made::lay_out(root, BOARDS);
    let (notebook, load) = timed(|| Notebook::load(root, date(2026, 4, 1)));
    println!(
        "read and prove {BOARDS} boards, {} nodes: {load:.1?}; it {}",
        notebook.graph.len(),
        if notebook.holds() {
            "holds"
        } else {
            "does not hold"
        }
    );
    let (totals, time) = timed(|| LineTotals::of(&notebook.records));
    println!("line totals of {} parts: {time:.1?}", totals.uses.len());
    let (thinning, time) = timed(|| Thinning::of(&notebook, false));
    println!(
        "thin: {} of {} parts could go, at most {}; {} swaps recomputed: {time:.1?}",
        thinning.drops.len(),
        totals.uses.len(),
        thinning.at_most,
        thinning.tried,
    );
}
