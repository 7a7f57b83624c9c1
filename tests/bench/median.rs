//! How long work takes.

use std::time::Instant;

/// Milliseconds that the work takes: the median of so many rounds.
pub fn median(rounds: usize, mut work: impl FnMut()) -> f64 {
    let mut took: Vec<f64> = (0..rounds)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    took.sort_by(f64::total_cmp);
    took[rounds / 2]
}
