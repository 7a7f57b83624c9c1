//! Coverage intervals of a distribution that is known by its quantiles.

use super::Interval;

/// Which of the intervals that hold a given share of a distribution is taken.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum CoverageRule {
    /// As much below it as above it (JCGM 101:2008, 5.3.3 and 7.7.2).
    Symmetric,
    /// The shortest one (JCGM 101:2008, 5.3.4 and 7.7.4). Where it could lie
    /// anywhere without becoming 1 % longer, the symmetric one.
    Shortest,
}

impl CoverageRule {
    /// The interval that holds a share `coverage` of a distribution.
    pub(super) fn interval(self, coverage: f64, quantile: impl Fn(f64) -> f64) -> Interval {
        let start = match self {
            CoverageRule::Symmetric => 0.5 * (1.0 - coverage),
            CoverageRule::Shortest => shortest_start(coverage, &quantile),
        };
        Interval::new(quantile(start), quantile(start + coverage))
    }
}

/// Steps of the first search, and of the second one around its result.
const STEPS: usize = 128;
/// Lengths within this share of the shortest decide where the minimum lies.
const NEAR: f64 = 0.02;

/// The share of the distribution below the shortest interval.
///
/// The place of the shortest of many lengths that chance has moved is itself
/// moved by the cube root of chance. So the lengths around it are smoothed by a
/// polynomial of the fourth degree, and its minimum is taken.
fn shortest_start(coverage: f64, quantile: &impl Fn(f64) -> f64) -> f64 {
    let room = 1.0 - coverage;
    let length = |start: f64| quantile((start + coverage).min(1.0)) - quantile(start);
    let place = |step: usize| room * step as f64 / STEPS as f64;
    let lengths: Vec<f64> = (0..=STEPS).map(|step| length(place(step))).collect();
    let (shortest, least) = least_of(&lengths);
    if lengths.iter().all(|&length| length <= 1.01 * least) {
        return 0.5 * room;
    }
    let near = |&step: &usize| lengths[step] <= (1.0 + NEAR) * least;
    let first = (0..shortest).rev().take_while(near).last();
    let last = (shortest + 1..=STEPS).take_while(near).last();
    let from = place(first.unwrap_or(shortest).saturating_sub(1));
    let to = place((last.unwrap_or(shortest) + 1).min(STEPS));
    let finer = |step: usize| from + (to - from) * step as f64 / STEPS as f64;
    let lengths: Vec<f64> = (0..=STEPS).map(|step| length(finer(step))).collect();
    let (smoothed, _) = least_of(&smooth(&lengths));
    let (shortest, least) = least_of(&lengths);
    // A polynomial that does not describe the lengths is not followed.
    let at_an_end = (smoothed == 0 && from > 0.0) || (smoothed == STEPS && to < room);
    if at_an_end || lengths[smoothed] > (1.0 + 0.25 * NEAR) * least {
        finer(shortest)
    } else {
        finer(smoothed)
    }
}

/// The first of the least values, and that value.
fn least_of(values: &[f64]) -> (usize, f64) {
    let mut least = (0, f64::INFINITY);
    for (at, &value) in values.iter().enumerate() {
        if value < least.1 {
            least = (at, value);
        }
    }
    least
}

/// The polynomial of the fourth degree that comes nearest to evenly spaced
/// values, at the same places (least squares, by orthogonal polynomials).
fn smooth(values: &[f64]) -> Vec<f64> {
    let n = values.len();
    let place = |at: usize| 2.0 * at as f64 / (n - 1) as f64 - 1.0;
    let dot = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| a * b).sum() };
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let mut smoothed = vec![0.0; n];
    for degree in 0..=4 {
        let mut next: Vec<f64> = (0..n).map(|at| place(at).powi(degree)).collect();
        for other in &basis {
            let part = dot(&next, other);
            next.iter_mut().zip(other).for_each(|(a, b)| *a -= part * b);
        }
        let size = dot(&next, &next).sqrt();
        next.iter_mut().for_each(|a| *a /= size);
        let part = dot(values, &next);
        smoothed
            .iter_mut()
            .zip(&next)
            .for_each(|(sum, a)| *sum += part * a);
        basis.push(next);
    }
    smoothed
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spread::probability::{chi_square_quantile, normal_quantile};

    #[test]
    fn of_a_symmetric_distribution_both_rules_give_the_same() {
        let symmetric = CoverageRule::Symmetric.interval(0.95, normal_quantile);
        let shortest = CoverageRule::Shortest.interval(0.95, normal_quantile);
        assert!((symmetric.high() - 1.959963984540054).abs() < 1e-12);
        assert!((shortest.low() - symmetric.low()).abs() < 5e-3);
        assert!((shortest.high() - symmetric.high()).abs() < 5e-3);
        let flat = CoverageRule::Shortest.interval(0.95, |p| p);
        assert!((flat.low() - 0.025).abs() < 1e-12);
    }

    /// Of an exponential distribution (chi-square with two degrees of freedom)
    /// the shortest interval starts at zero; of one with six, where both ends
    /// are equally likely.
    #[test]
    fn the_shortest_interval_of_a_lopsided_distribution() {
        let falling = CoverageRule::Shortest.interval(0.95, |p| chi_square_quantile(p, 2.0));
        assert_eq!(falling.low(), 0.0);
        assert!((falling.high() - 2.0 * 20f64.ln()).abs() < 1e-9);
        let bent = CoverageRule::Shortest.interval(0.95, |p| chi_square_quantile(p, 6.0));
        let density = |x: f64| x * x * (-0.5 * x).exp();
        assert!(
            (density(bent.low()) / density(bent.high()) - 1.0).abs() < 0.02,
            "{bent:?}"
        );
    }
}
