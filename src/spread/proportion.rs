//! The share of trials that meet a requirement, and how sure it is.

use super::Interval;
use super::probability::{beta_quantile, normal_quantile};

/// How many of how many met a requirement: a yield.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Proportion {
    /// Trials, or boards, that met it.
    pub met: u64,
    /// All of them; at least one.
    pub trials: u64,
}

impl Proportion {
    /// The share that met it, 0 to 1.
    pub fn share(&self) -> f64 {
        self.met as f64 / self.trials as f64
    }

    /// Standard error of the share, √(p(1-p)/n) (NIST/SEMATECH e-Handbook,
    /// 7.2.4). Zero where all trials agree: ask for an interval then.
    pub fn standard_error(&self) -> f64 {
        (self.share() * (1.0 - self.share()) / self.trials as f64).sqrt()
    }

    /// Confidence interval by E. Wilson's method (NIST/SEMATECH e-Handbook,
    /// 7.2.4.1).
    pub fn wilson_interval(&self, confidence: f64) -> Interval {
        let z = normal_quantile(0.5 + 0.5 * confidence);
        let (p, n) = (self.share(), self.trials as f64);
        let whole = 1.0 + z * z / n;
        let centre = (p + z * z / (2.0 * n)) / whole;
        let reach = z / whole * (p * (1.0 - p) / n + (z / (2.0 * n)).powi(2)).sqrt();
        Interval::new((centre - reach).max(0.0), (centre + reach).min(1.0))
    }

    /// Confidence interval that holds at least as often as stated, by C.
    /// Clopper's and E. Pearson's method (Biometrika 26, 1934).
    pub fn exact_interval(&self, confidence: f64) -> Interval {
        let tail = 0.5 * (1.0 - confidence);
        let (met, missed) = (self.met as f64, (self.trials - self.met) as f64);
        let low = if self.met == 0 {
            0.0
        } else {
            beta_quantile(tail, met, missed + 1.0)
        };
        let high = if self.met == self.trials {
            1.0
        } else {
            beta_quantile(1.0 - tail, met + 1.0, missed)
        };
        Interval::new(low, high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_yield_of_all_is_not_sure() {
        let all = Proportion {
            met: 300,
            trials: 300,
        };
        assert_eq!((all.share(), all.standard_error()), (1.0, 0.0));
        // The rule of three: 95 % to one side is 90 % to both.
        assert!((1.0 - all.exact_interval(0.9).low() - 3.0 / 300.0).abs() < 1e-4);
        assert_eq!(all.exact_interval(0.9).high(), 1.0);
        assert!(all.wilson_interval(0.95).low() < 0.99);
    }

    /// Both ends of the exact interval leave the tail that they promise: the
    /// binomial sums are done term by term.
    #[test]
    fn the_exact_interval_leaves_its_tails() {
        let found = Proportion { met: 7, trials: 20 };
        let interval = found.exact_interval(0.95);
        let term = |k: u64, p: f64| {
            let ways = (0..k).fold(1.0, |ways, i| ways * (20 - i) as f64 / (i + 1) as f64);
            ways * p.powi(k as i32) * (1.0 - p).powi(20 - k as i32)
        };
        let above: f64 = (7..=20).map(|k| term(k, interval.low())).sum();
        let below: f64 = (0..=7).map(|k| term(k, interval.high())).sum();
        assert!((above - 0.025).abs() < 1e-12 && (below - 0.025).abs() < 1e-12);
        let wilson = found.wilson_interval(0.95);
        assert!(wilson.low() > interval.low() && wilson.high() < interval.high());
    }
}
