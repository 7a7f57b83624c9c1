//! What a Monte Carlo run found.

use super::quantiles::Quantiles;
use super::{CoverageRule, Interval, Proportion};

/// The distribution of a response, as trials show it.
#[derive(Clone, PartialEq, Debug)]
pub struct Sampled {
    /// Trials that were made.
    pub trials: u64,
    /// Trials in which the response has no value. They are left out of the
    /// distribution, and they miss every requirement.
    pub without_value: u64,
    /// Estimate of the response: the mean (JCGM 101:2008, 7.6).
    pub mean: f64,
    /// Standard uncertainty: the standard deviation (JCGM 101:2008, 7.6).
    pub deviation: f64,
    /// Least value that came.
    pub least: f64,
    /// Greatest value that came.
    pub greatest: f64,
    /// What chance leaves open. `None` for a single batch of trials.
    pub errors: Option<StandardErrors>,
    /// The numerical tolerance that was aimed at, where one was.
    pub tolerance: Option<f64>,
    /// Whether twice the standard errors are within the tolerance; if not, the
    /// trials ran out.
    pub stabilised: Option<bool>,
    /// The yield of each requirement.
    pub yields: Vec<Proportion>,
    pub(super) coverage: f64,
    pub(super) quantiles: Quantiles,
}

/// How far chance may have moved results, as standard deviations.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct StandardErrors {
    /// Of the mean.
    pub mean: f64,
    /// Of the standard deviation.
    pub deviation: f64,
    /// Of the lower end of the coverage interval, by the rule that was asked
    /// for.
    pub low: f64,
    /// Of its upper end.
    pub high: f64,
}

impl StandardErrors {
    /// The greatest of the four.
    pub fn greatest(&self) -> f64 {
        self.mean.max(self.deviation).max(self.low).max(self.high)
    }

    /// Whether results have stabilised: twice the greatest is no more than the
    /// tolerance (JCGM 101:2008, 7.9.4 k).
    pub fn within(&self, tolerance: f64) -> bool {
        2.0 * self.greatest() <= tolerance
    }
}

impl Sampled {
    /// The coverage interval by a rule (JCGM 101:2008, 7.7).
    pub fn interval(&self, rule: CoverageRule) -> Interval {
        rule.interval(self.coverage, |p| self.quantiles.at(p))
    }

    /// The value with a share `p` of all values below it, 0 to 1.
    pub fn quantile(&self, p: f64) -> f64 {
        self.quantiles.at(p.clamp(0.0, 1.0))
    }

    /// The share of all values between neighbours in a rising list of edges: a
    /// histogram.
    pub fn shares_between(&self, edges: &[f64]) -> Vec<f64> {
        let whole = (self.trials - self.without_value) as f64;
        let up_to = |edge: f64| self.quantiles.at_most(edge) / whole;
        edges
            .windows(2)
            .map(|pair| up_to(pair[1]) - up_to(pair[0]))
            .collect()
    }
}
