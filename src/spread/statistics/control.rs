//! Factors of control charts, computed from their definitions.

use super::StatisticsFault;
use crate::spread::Interval;
use crate::spread::nodes;
use crate::spread::probability::{normal_below, normal_density};

/// c4(n), the mean of the standard deviation of n standard normal values:
/// √(2/(n-1)) Γ(n/2)/Γ((n-1)/2) (NIST/SEMATECH e-Handbook, 6.3.2). NaN below
/// two values.
pub fn c4(count: usize) -> f64 {
    if count < 2 {
        return f64::NAN;
    }
    let n = count as f64;
    let ratio = (libm::lgamma(0.5 * n) - libm::lgamma(0.5 * (n - 1.0))).exp();
    (2.0 / (n - 1.0)).sqrt() * ratio
}

/// Where the distribution of a range is integrated: beyond 12 deviations lies
/// less than a part in 10^32.
const END: f64 = 12.0;
/// Steps per unit. The trapezoid rule converges faster than any power of the
/// step for functions that are smooth and die away at both ends.
const STEPS: i32 = 8;

/// Sums a smooth function over all x.
fn integral(function: impl Fn(f64) -> f64) -> f64 {
    let step = 1.0 / f64::from(STEPS);
    let last = END as i32 * STEPS;
    let sum: f64 = (-last..=last)
        .map(|at| function(f64::from(at) * step))
        .sum();
    sum * step
}

/// d2(n), the mean of the range of n standard normal values:
/// ∫ 1 - (1-Φ)^n - Φ^n (NIST/SEMATECH e-Handbook, 6.3.2.1). NaN below two
/// values.
pub fn d2(count: usize) -> f64 {
    let Some(n) = whole(count) else {
        return f64::NAN;
    };
    integral(|x| 1.0 - normal_below(-x).powi(n) - normal_below(x).powi(n))
}

/// d3(n), the standard deviation of the range of n standard normal values. NaN
/// below two values.
pub fn d3(count: usize) -> f64 {
    let Some(n) = whole(count) else {
        return f64::NAN;
    };
    // The mean square of the range is 2 ∫ r P(range > r); below r lies
    // n ∫ φ(x) (Φ(x + r) - Φ(x))^(n-1).
    let within = |r: f64| {
        let density =
            |x: f64| normal_density(x) * (normal_below(x + r) - normal_below(x)).powi(n - 1);
        f64::from(n) * integral(density)
    };
    let rule = nodes::uniform(12);
    let mean_square: f64 = (0..END as i32)
        .flat_map(|panel| {
            rule.iter()
                .map(move |(x, w)| (f64::from(panel) + 0.5 + 0.5 * x, w))
        })
        .map(|(r, w)| 2.0 * r * (1.0 - within(r)) * w)
        .sum();
    (mean_square - d2(count).powi(2)).sqrt()
}

/// d2*(m, g), the root of the mean square of the average of g ranges of m
/// values each: √(d2² + d3²/g) (A. Duncan, Quality Control and Industrial
/// Statistics, appendix D3; from memory, confirmed with the factors printed in
/// AIAG Measurement Systems Analysis).
pub fn d2_of_groups(count: usize, groups: usize) -> f64 {
    (d2(count).powi(2) + d3(count).powi(2) / groups as f64).sqrt()
}

/// A group size that has a range.
fn whole(count: usize) -> Option<i32> {
    i32::try_from(count).ok().filter(|&count| count >= 2)
}

/// Limits of a chart of means and ranges.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ControlLimits {
    /// Limits of the mean of a group.
    pub mean: Interval,
    /// Limits of the range of a group.
    pub range: Interval,
}

/// Limits of means and ranges of groups of `count` values, three deviations to
/// each side of the grand mean and of the average range (NIST/SEMATECH
/// e-Handbook, 6.3.2.1).
///
/// # Errors
/// Groups of fewer than two values.
pub fn control_limits(
    count: usize,
    mean: f64,
    average_range: f64,
) -> Result<ControlLimits, StatisticsFault> {
    if count < 2 {
        return Err(StatisticsFault::TooFew {
            found: count,
            needed: 2,
        });
    }
    let of_range = 3.0 * d3(count) / d2(count);
    let reach = 3.0 / (d2(count) * (count as f64).sqrt()) * average_range;
    Ok(ControlLimits {
        mean: Interval::new(mean - reach, mean + reach),
        range: Interval::new(
            average_range * (1.0 - of_range).max(0.0),
            average_range * (1.0 + of_range),
        ),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// The range of two values is the magnitude of a normal value of variance
    /// two: closed forms for its mean and deviation.
    #[test]
    fn two_values_have_closed_forms() {
        use std::f64::consts::PI;
        assert!((d2(2) - 2.0 / PI.sqrt()).abs() < 1e-14);
        assert!((d3(2) - (2.0 - 4.0 / PI).sqrt()).abs() < 1e-13);
        assert!((d2(3) - 3.0 / PI.sqrt()).abs() < 1e-14);
        assert!((c4(2) - (2.0 / PI).sqrt()).abs() < 1e-15);
        assert!(d2(1).is_nan() && c4(1).is_nan());
    }

    #[test]
    fn a_range_is_never_below_zero() {
        let few = control_limits(3, 100.0, 1.7).unwrap();
        assert_eq!(few.range.low(), 0.0);
        let many = control_limits(10, 100.0, 1.7).unwrap();
        assert!(many.range.low() > 0.0 && many.range.high() > 1.7);
        assert!(control_limits(1, 0.0, 1.0).is_err());
    }
}
