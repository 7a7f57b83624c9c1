//! A measured sample as a distribution.

use super::Interval;

/// How values between those that were measured are taken.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Between {
    /// Only measured values come, each equally often.
    Resampled,
    /// The quantile function joins the sorted values by straight lines, at
    /// (r - ½)/n for value r, and goes on straight at both ends
    /// (JCGM 101:2008, annex D).
    Interpolated,
}

/// Sorted values; at least two, all finite.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Measured {
    values: Vec<f64>,
    between: Between,
}

impl Measured {
    /// Sorts the values. `None` where there are fewer than two, or one that is
    /// not finite.
    pub fn new(values: &[f64], between: Between) -> Option<Measured> {
        if values.len() < 2 || !values.iter().all(|value| value.is_finite()) {
            return None;
        }
        let mut values = values.to_vec();
        values.sort_unstable_by(f64::total_cmp);
        Some(Measured { values, between })
    }

    /// The value with a share `p` below it.
    pub fn quantile(&self, p: f64) -> f64 {
        let n = self.values.len();
        let place = p * n as f64;
        match self.between {
            Between::Resampled => {
                // The cast cuts; below zero it gives zero.
                self.values[(place as usize).min(n - 1)]
            }
            Between::Interpolated => {
                let at = place - 0.5;
                let below = (at.max(0.0) as usize).min(n - 2);
                let (a, b) = (self.values[below], self.values[below + 1]);
                let part = at.clamp(-0.5, n as f64 - 0.5) - below as f64;
                a + part * (b - a)
            }
        }
    }

    /// The share below a value; of equal values half is below.
    pub fn below(&self, x: f64) -> f64 {
        let n = self.values.len();
        let less = self.values.partition_point(|&value| value < x);
        let not_more = self.values.partition_point(|&value| value <= x);
        let count = match self.between {
            Between::Resampled => 0.5 * (less + not_more) as f64,
            Between::Interpolated if not_more > less => 0.5 * (less + not_more) as f64,
            Between::Interpolated => {
                let below = less.clamp(1, n - 1) - 1;
                let (a, b) = (self.values[below], self.values[below + 1]);
                // Two equal values make a step: infinitely far to either side.
                below as f64 + 0.5 + (x - a) / (b - a)
            }
        };
        (count / n as f64).clamp(0.0, 1.0)
    }

    /// Least and greatest value that can come.
    pub fn support(&self) -> Interval {
        Interval::new(self.quantile(0.0), self.quantile(1.0))
    }

    /// Mean and standard deviation of the distribution: of all that can come,
    /// so that the sum of squares is divided by n.
    pub fn moments(&self) -> (f64, f64) {
        let pieces = self.pieces();
        let mean: f64 = pieces.iter().map(|(a, b, w)| w * 0.5 * (a + b)).sum();
        let variance: f64 = pieces
            .iter()
            .map(|(a, b, w)| {
                let (a, b) = (a - mean, b - mean);
                w * (a * a + a * b + b * b) / 3.0
            })
            .sum();
        (mean, variance.sqrt())
    }

    /// The straight pieces of the quantile function: both ends and the share of
    /// the probability that lies between them.
    pub fn pieces(&self) -> Vec<(f64, f64, f64)> {
        let n = self.values.len();
        let share = 1.0 / n as f64;
        if self.between == Between::Resampled {
            return self
                .values
                .iter()
                .map(|&value| (value, value, share))
                .collect();
        }
        let ends = self.support();
        let mut pieces = vec![(ends.low(), self.values[0], 0.5 * share)];
        pieces.extend(self.values.windows(2).map(|pair| (pair[0], pair[1], share)));
        pieces.push((self.values[n - 1], ends.high(), 0.5 * share));
        pieces
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn resampling_gives_only_measured_values() {
        let sample = Measured::new(&[3.0, 1.0, 2.0, 2.0], Between::Resampled).unwrap();
        let drawn: Vec<f64> = [0.01, 0.3, 0.6, 0.99].map(|p| sample.quantile(p)).to_vec();
        assert_eq!(drawn, [1.0, 2.0, 2.0, 3.0]);
        assert_eq!(sample.below(2.0), 0.5);
        assert_eq!(sample.moments(), (2.0, 0.5f64.sqrt()));
        assert_eq!(sample.support(), Interval::new(1.0, 3.0));
    }

    #[test]
    fn interpolation_goes_through_the_measured_values() {
        let sample = Measured::new(&[0.0, 1.0, 4.0], Between::Interpolated).unwrap();
        for (p, value) in [
            (0.0, -0.5),
            (1.0 / 6.0, 0.0),
            (0.5, 1.0),
            (5.0 / 6.0, 4.0),
            (1.0, 5.5),
        ] {
            assert!((sample.quantile(p) - value).abs() < 1e-12, "{p}");
            assert!((sample.below(value) - p).abs() < 1e-12, "{value}");
        }
        assert_eq!(sample.below(-9.0), 0.0);
        assert_eq!(sample.below(9.0), 1.0);
        // Against the mean of the quantile function, summed in small steps.
        let steps = 60_000;
        let at = |step: i32| sample.quantile((f64::from(step) + 0.5) / f64::from(steps));
        let mean = (0..steps).map(at).sum::<f64>() / f64::from(steps);
        let square = (0..steps).map(|step| at(step).powi(2)).sum::<f64>() / f64::from(steps);
        let (exact, deviation) = sample.moments();
        assert!((exact - mean).abs() < 1e-9);
        assert!((deviation.powi(2) - (square - mean * mean)).abs() < 1e-7);
    }

    #[test]
    fn a_sample_needs_two_numbers() {
        assert!(Measured::new(&[1.0], Between::Resampled).is_none());
        assert!(Measured::new(&[1.0, f64::NAN], Between::Resampled).is_none());
        let same = Measured::new(&[2.0, 2.0], Between::Interpolated).unwrap();
        assert_eq!(same.moments(), (2.0, 0.0));
        assert_eq!(
            (same.below(1.0), same.below(2.0), same.below(3.0)),
            (0.0, 0.5, 1.0)
        );
    }
}
