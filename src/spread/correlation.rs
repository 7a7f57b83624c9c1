//! Correlations between inputs.

use std::fmt;

use super::Variable;

/// Which inputs are correlated, and how much. All others are not.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Correlations {
    pairs: Vec<(usize, usize, f64)>,
}

/// A correlation coefficient that is not between -1 and 1, or one of an input
/// with itself.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct CorrelationFault(pub f64);

impl fmt::Display for CorrelationFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "a correlation is stated between two inputs, from -1 to 1, not {}",
            self.0
        )
    }
}

impl std::error::Error for CorrelationFault {}

impl Correlations {
    /// All inputs are independent.
    pub fn none() -> Correlations {
        Correlations::default()
    }

    /// Correlations of parts that come from common reels: the root of the
    /// product of what each shares with its reel.
    pub fn of_reels(variables: &[Variable]) -> Correlations {
        let mut pairs = Vec::new();
        for (at, one) in variables.iter().enumerate() {
            for (other_at, other) in variables.iter().enumerate().skip(at + 1) {
                let (Some(one), Some(other)) = (one.reel, other.reel) else {
                    continue;
                };
                let share = one.share.clamp(0.0, 1.0) * other.share.clamp(0.0, 1.0);
                if one.key == other.key && share > 0.0 {
                    pairs.push((at, other_at, share.sqrt()));
                }
            }
        }
        Correlations { pairs }
    }

    /// States the correlation of two inputs, by their numbers.
    ///
    /// # Errors
    /// A coefficient that is not between -1 and 1, or one input twice.
    pub fn set(&mut self, one: usize, other: usize, r: f64) -> Result<(), CorrelationFault> {
        if one == other || !(-1.0..=1.0).contains(&r) {
            return Err(CorrelationFault(r));
        }
        let (first, second) = (one.min(other), one.max(other));
        self.pairs
            .retain(|pair| (pair.0, pair.1) != (first, second));
        self.pairs.push((first, second, r));
        Ok(())
    }

    /// Whether no two inputs are correlated.
    pub fn is_none(&self) -> bool {
        self.pairs.iter().all(|pair| pair.2 == 0.0)
    }

    /// The sum Σ a_i b_i + Σ r_ij (a_i b_j + a_j b_i) over lists that go by
    /// input: the covariance of two results, where these are the contributions
    /// of the inputs to each (JCGM 100:2008, 5.2.2, equation 16).
    pub(super) fn product(&self, a: &[f64], b: &[f64]) -> f64 {
        let own: f64 = a.iter().zip(b).map(|(a, b)| a * b).sum();
        let at = |list: &[f64], at: usize| list.get(at).copied().unwrap_or(0.0);
        let crossed: f64 = self
            .pairs
            .iter()
            .map(|&(i, j, r)| r * (at(a, i) * at(b, j) + at(a, j) * at(b, i)))
            .sum();
        own + crossed
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::spread::{Distribution, Reel};

    #[test]
    fn a_correlation_is_stated_once_and_between_bounds() {
        let mut correlations = Correlations::none();
        assert!(correlations.is_none());
        correlations.set(1, 0, 0.5).unwrap();
        correlations.set(0, 1, -0.25).unwrap();
        assert_eq!(correlations.product(&[2.0, 4.0], &[2.0, 4.0]), 20.0 - 4.0);
        assert_eq!(correlations.set(0, 1, 1.5), Err(CorrelationFault(1.5)));
        assert!(correlations.set(2, 2, 1.0).is_err());
        assert!(correlations.set(0, 1, f64::NAN).is_err());
    }

    #[test]
    fn parts_of_one_reel_are_correlated() {
        let part = |key, reel: Option<(u64, f64)>| Variable {
            key,
            distribution: Distribution::normal(1.0, 0.1).unwrap(),
            reel: reel.map(|(key, share)| Reel { key, share }),
        };
        let parts = [
            part(1, Some((7, 0.9))),
            part(2, None),
            part(3, Some((7, 0.4))),
            part(4, Some((8, 0.9))),
        ];
        let mut expected = Correlations::none();
        expected.set(0, 2, (0.9f64 * 0.4).sqrt()).unwrap();
        assert_eq!(Correlations::of_reels(&parts), expected);
    }
}
