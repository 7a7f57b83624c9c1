//! How well a process keeps to its specification.
//!
//! Indices and their limits follow the NIST/SEMATECH e-Handbook of Statistical
//! Methods, 6.1.6. All of them, and the share outside most of all, suppose a
//! normal process that is in control.

use super::StatisticsFault;
use crate::spread::Interval;
use crate::spread::probability::{
    chi_square_quantile, normal_above, normal_below, normal_quantile,
};

/// A process and the limits that its product is held to.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Capability {
    mean: f64,
    deviation: f64,
    lower: Option<f64>,
    upper: Option<f64>,
}

impl Capability {
    /// A process of this mean and standard deviation, held to one limit or two.
    ///
    /// # Errors
    /// No limit, limits in the wrong order, or no deviation.
    pub fn new(
        mean: f64,
        deviation: f64,
        lower: Option<f64>,
        upper: Option<f64>,
    ) -> Result<Capability, StatisticsFault> {
        let given = [Some(mean), Some(deviation), lower, upper];
        if let Some(at) = given.iter().flatten().position(|value| !value.is_finite()) {
            return Err(StatisticsFault::NotFinite(at));
        }
        if deviation <= 0.0 {
            return Err(StatisticsFault::NoSpread);
        }
        match (lower, upper) {
            (None, None) => return Err(StatisticsFault::Limits),
            (Some(lower), Some(upper)) if lower >= upper => return Err(StatisticsFault::Limits),
            _ => {}
        }
        Ok(Capability {
            mean,
            deviation,
            lower,
            upper,
        })
    }

    /// Cp, the width of the specification over six deviations. `None` with one
    /// limit only.
    pub fn cp(&self) -> Option<f64> {
        Some(self.width()? / (6.0 * self.deviation))
    }

    /// Cpu, from the mean to the upper limit over three deviations.
    pub fn cpu(&self) -> Option<f64> {
        Some((self.upper? - self.mean) / (3.0 * self.deviation))
    }

    /// Cpl, from the lower limit to the mean over three deviations.
    pub fn cpl(&self) -> Option<f64> {
        Some((self.mean - self.lower?) / (3.0 * self.deviation))
    }

    /// Cpk, the smaller of Cpu and Cpl.
    pub fn cpk(&self) -> f64 {
        let sides = [self.cpl(), self.cpu()];
        sides.into_iter().flatten().fold(f64::INFINITY, f64::min)
    }

    /// Cpm, which counts the distance from a target as spread; the target is
    /// the centre of the specification where none is given.
    pub fn cpm(&self, target: Option<f64>) -> Option<f64> {
        let width = self.width()?;
        let target = target.unwrap_or(self.lower? + 0.5 * width);
        Some(width / (6.0 * self.deviation.hypot(self.mean - target)))
    }

    /// The share of a normal process outside the limits, 0 to 1.
    pub fn share_outside(&self) -> f64 {
        let score = |limit: f64| (limit - self.mean) / self.deviation;
        let below = self.lower.map_or(0.0, |limit| normal_below(score(limit)));
        let above = self.upper.map_or(0.0, |limit| normal_above(score(limit)));
        below + above
    }

    /// Confidence limits of Cp where the deviation comes from `count` values.
    ///
    /// # Errors
    /// Fewer than two values, one limit only, or a confidence that is not
    /// between 0 and 1.
    pub fn cp_interval(&self, count: usize, confidence: f64) -> Result<Interval, StatisticsFault> {
        let cp = self.cp().ok_or(StatisticsFault::Limits)?;
        let tail = checked_tail(count, confidence)?;
        let freedom = (count - 1) as f64;
        let end = |p: f64| cp * (chi_square_quantile(p, freedom) / freedom).sqrt();
        Ok(Interval::new(end(tail), end(1.0 - tail)))
    }

    /// Approximate confidence limits of Cpk where mean and deviation come from
    /// `count` values: Cpk ± z √(1/(9n) + Cpk²/(2(n-1))).
    ///
    /// # Errors
    /// Fewer than two values, or a confidence that is not between 0 and 1.
    pub fn cpk_interval(&self, count: usize, confidence: f64) -> Result<Interval, StatisticsFault> {
        let tail = checked_tail(count, confidence)?;
        let cpk = self.cpk();
        let n = count as f64;
        let variance = 1.0 / (9.0 * n) + cpk * cpk / (2.0 * (n - 1.0));
        let reach = normal_quantile(1.0 - tail) * variance.sqrt();
        Ok(Interval::new(cpk - reach, cpk + reach))
    }

    fn width(&self) -> Option<f64> {
        Some(self.upper? - self.lower?)
    }
}

/// The probability beyond each end of an interval.
fn checked_tail(count: usize, confidence: f64) -> Result<f64, StatisticsFault> {
    if count < 2 {
        return Err(StatisticsFault::TooFew {
            found: count,
            needed: 2,
        });
    }
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(StatisticsFault::Confidence(confidence));
    }
    Ok(0.5 * (1.0 - confidence))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn one_limit_is_enough_for_what_it_decides() {
        let upper = Capability::new(16.0, 2.0, None, Some(20.0)).unwrap();
        assert_eq!(upper.cp(), None);
        assert_eq!(upper.cpk(), 4.0 / 6.0);
        assert!((upper.share_outside() - 0.022750131948179195).abs() < 1e-16);
        assert_eq!(upper.cp_interval(30, 0.95), Err(StatisticsFault::Limits));
    }

    #[test]
    fn few_boards_prove_little() {
        // The limits of a Cpk of 1.33 from 30 boards, at 90 % to both sides;
        // the formula worked out by hand.
        let process = Capability::new(0.0, 1.0, Some(-3.99), Some(3.99)).unwrap();
        let limits = process.cpk_interval(30, 0.9).unwrap();
        let reach = 1.6448536269514722 * (1.0 / 270.0 + 1.33f64.powi(2) / 58.0).sqrt();
        assert!((limits.low() - (1.33 - reach)).abs() < 1e-12);
        assert!(limits.low() < 1.03 && limits.high() > 1.63);
    }

    #[test]
    fn a_specification_has_to_make_sense() {
        assert!(Capability::new(0.0, 1.0, None, None).is_err());
        assert!(Capability::new(0.0, 1.0, Some(2.0), Some(1.0)).is_err());
        assert!(Capability::new(0.0, 0.0, Some(0.0), Some(1.0)).is_err());
        assert!(Capability::new(f64::NAN, 1.0, Some(0.0), None).is_err());
    }
}
