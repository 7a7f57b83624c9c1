//! Mean, deviation and autocorrelation of a sample.
//!
//! Sums carry what rounding takes from them along, so that a large common part
//! of all values costs no digits of their spread.

use super::StatisticsFault;
use crate::spread::Interval;
use crate::spread::probability::student_t_quantile;

/// What a sample of at least two values says.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Summary {
    /// Number of values.
    pub count: usize,
    /// Arithmetic mean (JCGM 100:2008, 4.2.1).
    pub mean: f64,
    /// Experimental standard deviation, with n - 1 (JCGM 100:2008, 4.2.2).
    pub deviation: f64,
    /// Autocorrelation of neighbours, zero where all values are the same
    /// (NIST/SEMATECH e-Handbook, 1.3.5.12).
    pub lag_one: f64,
    /// Least value.
    pub least: f64,
    /// Greatest value.
    pub greatest: f64,
}

impl Summary {
    /// Describes values in the order in which they were taken.
    ///
    /// # Errors
    /// Fewer than two values, or one that is not finite.
    pub fn of(values: &[f64]) -> Result<Summary, StatisticsFault> {
        let (mean, rest) = exact_mean(values)?;
        if values.len() < 2 {
            return Err(StatisticsFault::TooFew {
                found: values.len(),
                needed: 2,
            });
        }
        let from_mean = |value: &f64| (value - mean) - rest;
        let mut squares = Sum::default();
        let mut neighbours = Sum::default();
        let mut before = None;
        for deviation in values.iter().map(from_mean) {
            squares.add_product(deviation, deviation);
            if let Some(before) = before {
                neighbours.add_product(before, deviation);
            }
            before = Some(deviation);
        }
        let squares = squares.value();
        let lag_one = if squares > 0.0 {
            neighbours.value() / squares
        } else {
            0.0
        };
        Ok(Summary {
            count: values.len(),
            mean,
            deviation: (squares / (values.len() - 1) as f64).sqrt(),
            lag_one,
            least: values.iter().copied().fold(f64::INFINITY, f64::min),
            greatest: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        })
    }

    /// Standard uncertainty of the mean, s/√n (JCGM 100:2008, 4.2.3).
    pub fn uncertainty_of_mean(&self) -> f64 {
        self.deviation / (self.count as f64).sqrt()
    }

    /// Degrees of freedom of the deviation, n - 1 (JCGM 100:2008, 4.2.6).
    pub fn degrees_of_freedom(&self) -> f64 {
        (self.count - 1) as f64
    }

    /// Confidence interval of the mean, by Student's t
    /// (NIST/SEMATECH e-Handbook, 1.3.5.2).
    ///
    /// # Errors
    /// A confidence that is not between 0 and 1.
    pub fn mean_interval(&self, confidence: f64) -> Result<Interval, StatisticsFault> {
        if !(confidence > 0.0 && confidence < 1.0) {
            return Err(StatisticsFault::Confidence(confidence));
        }
        let t = student_t_quantile(0.5 + 0.5 * confidence, self.degrees_of_freedom());
        let reach = t * self.uncertainty_of_mean();
        Ok(Interval::new(self.mean - reach, self.mean + reach))
    }
}

/// Correlation of values that were taken together, and so of their means
/// (JCGM 100:2008, 5.2.3).
///
/// # Errors
/// Fewer than two pairs, lists of unequal length, or a list without spread.
pub fn correlation(one: &[f64], other: &[f64]) -> Result<f64, StatisticsFault> {
    if one.len() != other.len() {
        return Err(StatisticsFault::UnequalLengths(one.len(), other.len()));
    }
    let (a, b) = (Summary::of(one)?, Summary::of(other)?);
    if a.deviation == 0.0 || b.deviation == 0.0 {
        return Err(StatisticsFault::NoSpread);
    }
    let mut products = Sum::default();
    for (x, y) in one.iter().zip(other) {
        products.add_product(x - a.mean, y - b.mean);
    }
    Ok(products.value() / a.degrees_of_freedom() / a.deviation / b.deviation)
}

/// The mean as a float and what that float leaves out.
fn exact_mean(values: &[f64]) -> Result<(f64, f64), StatisticsFault> {
    if let Some(at) = values.iter().position(|value| !value.is_finite()) {
        return Err(StatisticsFault::NotFinite(at));
    }
    if values.is_empty() {
        return Err(StatisticsFault::TooFew {
            found: 0,
            needed: 2,
        });
    }
    let mut sum = Sum::default();
    for &value in values {
        sum.add(value);
    }
    let count = values.len() as f64;
    let mean = sum.value() / count;
    let rest = (-mean).mul_add(count, sum.high) + sum.low;
    Ok((mean, rest / count))
}

/// A sum with its rounding error (Knuth's two-sum, and a fused multiply-add
/// for the error of a product).
#[derive(Clone, Copy, Default)]
struct Sum {
    high: f64,
    low: f64,
}

impl Sum {
    fn add(&mut self, value: f64) {
        let sum = self.high + value;
        let share = sum - self.high;
        self.low += (self.high - (sum - share)) + (value - share);
        self.high = sum;
    }

    fn add_product(&mut self, a: f64, b: f64) {
        let product = a * b;
        self.add(product);
        self.low += a.mul_add(b, -product);
    }

    fn value(&self) -> f64 {
        self.high + self.low
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_large_common_part_costs_no_digits() {
        let plain: Vec<f64> = [4.0, 7.0, 13.0, 16.0].to_vec();
        let shifted: Vec<f64> = plain.iter().map(|x| x + 1e9).collect();
        let (a, b) = (Summary::of(&plain).unwrap(), Summary::of(&shifted).unwrap());
        assert_eq!(a.deviation, 30f64.sqrt());
        assert_eq!(b.deviation, a.deviation);
        assert_eq!(b.mean, a.mean + 1e9);
        assert_eq!(b.lag_one, a.lag_one);
    }

    #[test]
    fn a_sample_that_says_nothing_is_refused() {
        let few = Summary::of(&[1.0]).unwrap_err();
        assert_eq!(
            few.to_string(),
            "has 1 of the 2 values that it takes at least"
        );
        assert_eq!(
            Summary::of(&[1.0, f64::NAN]).unwrap_err(),
            StatisticsFault::NotFinite(1)
        );
        let one = Summary::of(&[2.0, 2.0, 2.0]).unwrap();
        assert_eq!((one.deviation, one.lag_one), (0.0, 0.0));
        assert_eq!(
            correlation(&[1.0, 2.0], &[3.0, 3.0]),
            Err(StatisticsFault::NoSpread)
        );
        assert!(one.mean_interval(1.0).is_err());
    }

    #[test]
    fn what_rises_together_is_correlated() {
        let rising = correlation(&[1.0, 2.0, 3.0], &[10.0, 20.0, 30.0]).unwrap();
        let falling = correlation(&[1.0, 2.0, 3.0], &[3.0, 2.0, 1.0]).unwrap();
        assert!((rising - 1.0).abs() < 1e-15 && (falling + 1.0).abs() < 1e-15);
    }
}
