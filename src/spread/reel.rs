//! Parts of one reel: what they have in common.
//!
//! Every part has a normal score of its own and shares one with its reel; the
//! distribution of the part's value stays what it is (a Gaussian copula). The
//! stated share is the correlation of two parts' values. For normal values it
//! is that of their scores too; for others the scores have to be correlated a
//! little more, which is found by F. Mehler's expansion (DLMF 18.18(vii)).

use super::Distribution;

/// The reel of a part.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Reel {
    /// A number that is the same for all parts of the reel, and that no other
    /// reel or variable has.
    pub key: u64,
    /// Share of the variance that all parts of the reel have in common, 0 to 1:
    /// the correlation of two of them.
    pub share: f64,
}

/// Terms of the expansion.
const TERMS: usize = 24;

/// The correlation of normal scores that makes values of a distribution
/// correlated by `share`. Exact for 0 and 1, and for normal values.
pub(super) fn correlation_of_scores(distribution: &Distribution, share: f64) -> f64 {
    if distribution.is_normal() || share <= 0.0 || share >= 1.0 {
        return share.clamp(0.0, 1.0);
    }
    let squares = squares_of_coefficients(distribution);
    let whole: f64 = squares.iter().sum();
    if whole <= 0.0 {
        return share;
    }
    // The correlation of values rises with that of scores.
    let correlation = |r: f64| {
        squares
            .iter()
            .rev()
            .fold(0.0, |sum, square| (sum + square) * r)
    };
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..52 {
        let middle = 0.5 * (low + high);
        if correlation(middle) < share * whole {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Squares of the coefficients of a value as a series of orthonormal Hermite
/// polynomials of its score, from the first on. What the last terms leave out
/// of the variance is counted with the last one.
fn squares_of_coefficients(distribution: &Distribution) -> [f64; TERMS] {
    const STEP: f64 = 1.0 / 32.0;
    let (mean, deviation) = (distribution.mean(), distribution.standard_uncertainty());
    let mut sums = [0.0; TERMS];
    for at in -256..=256 {
        let z = f64::from(at) * STEP;
        let weight = super::probability::normal_density(z) * STEP;
        let value = distribution.at_score(z) - mean;
        let (mut below, mut here) = (1.0, z);
        for (k, sum) in sums.iter_mut().enumerate() {
            *sum += weight * value * here;
            let k = (k + 1) as f64;
            (below, here) = (here, (z * here - k.sqrt() * below) / (k + 1.0).sqrt());
        }
    }
    let mut squares = sums.map(|sum| sum * sum);
    let known: f64 = squares.iter().sum();
    squares[TERMS - 1] += (deviation * deviation - known).max(0.0);
    squares
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// K. Pearson's formula for rectangular values: r = 2 sin(π s/6).
    #[test]
    fn rectangular_values_have_a_closed_form() {
        let part = Distribution::rectangular(9.0, 11.0).unwrap();
        for share in [0.1, 0.5, 0.9] {
            let exact = 2.0 * (std::f64::consts::PI * share / 6.0).sin();
            let found = correlation_of_scores(&part, share);
            assert!((found - exact).abs() < 1e-5, "{share}: {found} {exact}");
        }
        assert_eq!(correlation_of_scores(&part, 0.0), 0.0);
        assert_eq!(correlation_of_scores(&part, 1.0), 1.0);
    }

    #[test]
    fn normal_values_are_their_scores() {
        let part = Distribution::normal(5.0, 2.0).unwrap();
        assert_eq!(correlation_of_scores(&part, 0.37), 0.37);
    }
}
