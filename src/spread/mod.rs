//! How far a figure may stray when its inputs do.
//!
//! A figure is a [`Response`] to independent inputs, each within limits. The
//! same response is evaluated over floats, over floats with exact derivatives
//! and over intervals, so that no formula is written twice.

mod acceptance;
mod concise;
mod corners;
mod correlation;
mod coverage;
mod distribution;
mod gradient;
mod incomplete;
mod integral;
mod interval;
mod lanes;
mod measured;
mod moments;
mod monte_carlo;
mod nodes;
pub mod probability;
mod proportion;
mod quantiles;
mod reel;
mod root_sum_square;
mod sampled;
mod share;
pub mod statistics;
mod stream;
mod tally;
mod trial;
mod two_inputs;
mod worst;

pub use acceptance::Acceptance;
pub use concise::concise;
pub use correlation::{CorrelationFault, Correlations};
pub use coverage::CoverageRule;
pub use distribution::{Distribution, DistributionFault};
pub use gradient::{Differentiable, Gradient};
pub use integral::{Integrated, integrated};
pub use interval::Interval;
pub use measured::Between;
pub use monte_carlo::{MonteCarlo, MonteCarloFault, Trials, numerical_tolerance};
pub use proportion::Proportion;
pub use reel::Reel;
pub use root_sum_square::{
    CombinationFault, Combined, Contribution, PairContribution, Uncertain, combine,
    combine_second_order,
};
pub use sampled::{Sampled, StandardErrors};
pub use share::{Share, shares};
pub use trial::{Variable, draws};
pub use two_inputs::TwoInputs;
pub use worst::{CLOSE, End, Extreme, Extremes, worst_case};

use crate::formula::{Asker, EvaluationFault, Scalar};

/// Something computed from inputs, over any kind of number.
pub trait Response {
    /// Why there is no value.
    type Fault;

    /// The value for these inputs.
    ///
    /// # Errors
    /// Where the response has no value, or none that is bounded.
    fn at<N: Scalar>(&self, inputs: &[N]) -> Result<N, Self::Fault>;

    /// Gives the value for one list of floats after another; it may keep room
    /// for them.
    fn asker(&self) -> Asker<'_> {
        Box::new(|inputs| self.at(inputs).ok())
    }

    /// The values at many points, given the list of places of each input.
    /// `None` where one of them has no value.
    fn at_each(&self, columns: &[Vec<f64>], values: &mut [f64]) -> Option<()> {
        let mut ask = self.asker();
        let mut point = vec![0.0; columns.len()];
        for (at, value) in values.iter_mut().enumerate() {
            for (place, column) in point.iter_mut().zip(columns) {
                *place = column[at];
            }
            *value = ask(&point)?;
        }
        Some(())
    }

    /// Whether intervals can be put through it. Where they cannot, extremes are
    /// searched from corner to corner, and no enclosure backs them.
    fn can_be_enclosed(&self) -> bool {
        true
    }
}

impl Response for crate::formula::Formula {
    type Fault = EvaluationFault;

    fn at<N: Scalar>(&self, inputs: &[N]) -> Result<N, EvaluationFault> {
        self.evaluate(inputs)
    }
}

/// An input: its nominal value and the limits it keeps to.
///
/// `low <= nominal <= high`, all finite, in coherent SI units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Input {
    /// Nominal value.
    pub nominal: f64,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
}

impl Input {
    /// The larger of its distances from the nominal value.
    pub fn reach(&self) -> f64 {
        (self.nominal - self.low).max(self.high - self.nominal)
    }
}
