//! How long it takes to find which boards go together.
//!
//! Lines are made by chance from a seed: boards with three settings each, which
//! claim pins, addresses and timer slices, and draw from a supply that is too
//! weak for all of them. Beside the search for the largest stacks stands the
//! least that has to be done: looking every pair of boards up once. Nothing is
//! asserted: times are of one machine. Whether the answers are right is tested
//! in `src/stack/tests.rs`.
//!
//! Run it with `cargo bench --bench stacks`.

#![allow(clippy::print_stdout)] // Printing is what it is for.

#[path = "dice.rs"]
mod dice;
#[path = "median.rs"]
mod median;

use std::hint::black_box;

use ohmbook::stack::{Candidate, Limit, Line, Manner, Setting, Solver, Use};

use dice::Dice;
use median::median;

/// Rounds of which the median counts.
const ROUNDS: usize = 9;

/// Boards with three settings each on a module with that many things to claim;
/// each claims two of them, one by a strap. `most` is how many boards the
/// supply can feed.
fn line(seed: u64, boards: usize, things: usize, most: f64) -> Line {
    let mut dice = Dice(seed);
    let mut candidates = Vec::new();
    for _ in 0..boards {
        let fixed = dice.below(things);
        let settings = (0..3).map(|_| {
            let claim = |thing| Use {
                thing,
                manner: Manner::Alone,
                claim: 0,
            };
            Setting {
                uses: vec![claim(fixed), claim(things + dice.below(things))],
                unfit: Vec::new(),
            }
        });
        candidates.push(Candidate {
            settings: settings.collect(),
        });
    }
    Line {
        module: Vec::new(),
        boards: candidates,
        limits: vec![Limit {
            adds: vec![1.0; boards],
            module_adds: 0.0,
            most,
            brought_by: None,
        }],
    }
}

fn main() {
    println!(
        "{:>6} {:>7} {:>6} {:>10} {:>10} {:>8} {:>9} {:>9}",
        "boards", "things", "fed", "pairs", "search", "stacks", "complete", "at most"
    );
    for (boards, things, fed) in [
        (20, 40, 100.0),
        (40, 400, 100.0),
        (40, 120, 100.0),
        (40, 60, 100.0),
        (40, 60, 12.0),
        (40, 20, 100.0),
        (200, 400, 1000.0),
        (200, 100, 1000.0),
    ] {
        let line = line(1, boards, things, fed);
        let pairs = median(ROUNDS, || {
            let solver = Solver::of(&line);
            for second in 0..boards {
                for first in 0..second {
                    black_box(solver.settings(&[first, second]));
                }
            }
        });
        let mut found = None;
        let search = median(ROUNDS, || found = Some(Solver::of(&line).largest()));
        if let Some(found) = found {
            println!(
                "{boards:>6} {things:>7} {fed:>6} {pairs:>7.1} ms {search:>7.1} ms {:>8} {:>9} {:>9}",
                found.stacks.len(),
                found.complete,
                found.at_most
            );
        }
    }
}
