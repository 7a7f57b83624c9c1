//! The law of propagation of uncertainty: root-sum-square (JCGM 100:2008).
//!
//! It takes the response for straight around the estimates of the inputs. Where
//! it bends, [`combine_second_order`] adds the next terms, and
//! [`MonteCarlo`](super::MonteCarlo) asks nothing of its shape.

use std::fmt;

use super::probability::{normal_quantile, student_t_quantile};
use super::statistics::Summary;
use super::{Correlations, Distribution, Gradient, Input, Interval, Response};

/// An input with its standard uncertainty.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Uncertain {
    /// Estimate of the input.
    pub estimate: f64,
    /// Standard uncertainty of the estimate, not negative.
    pub uncertainty: f64,
    /// Degrees of freedom of the uncertainty; infinite where it is known
    /// exactly.
    pub degrees_of_freedom: f64,
}

impl Uncertain {
    /// An input whose uncertainty is known exactly.
    pub fn new(estimate: f64, uncertainty: f64) -> Uncertain {
        Uncertain {
            estimate,
            uncertainty,
            degrees_of_freedom: f64::INFINITY,
        }
    }

    /// An input of which limits are known: the larger distance from the nominal
    /// value to a limit is `divisor` standard uncertainties. That is √3 where
    /// every value is as likely (JCGM 100:2008, 4.3.7), k where the tolerance
    /// was stated with a coverage factor k (4.3.3), and 1 where the result
    /// shall be a tolerance of the same kind.
    pub fn of_limits(input: &Input, divisor: f64) -> Uncertain {
        Uncertain::new(input.nominal, input.reach() / divisor)
    }

    /// An input of which a distribution is known (JCGM 100:2008, 4.3).
    pub fn of_distribution(distribution: &Distribution) -> Uncertain {
        Uncertain::new(distribution.mean(), distribution.standard_uncertainty())
    }

    /// The mean of repeated observations (JCGM 100:2008, 4.2).
    pub fn of_observations(summary: &Summary) -> Uncertain {
        Uncertain {
            estimate: summary.mean,
            uncertainty: summary.uncertainty_of_mean(),
            degrees_of_freedom: summary.degrees_of_freedom(),
        }
    }
}

/// A response with its combined standard uncertainty.
#[derive(Clone, PartialEq, Debug)]
pub struct Combined {
    /// Estimate of the response: its value at the estimates of the inputs.
    pub estimate: f64,
    /// Combined standard uncertainty.
    pub uncertainty: f64,
    /// Effective degrees of freedom by Welch and Satterthwaite
    /// (JCGM 100:2008, G.4.1). `None` where inputs with few degrees of freedom
    /// are correlated: the formula holds for independent ones.
    pub degrees_of_freedom: Option<f64>,
    /// What each input contributes, in the order of the inputs.
    pub contributions: Vec<Contribution>,
    /// What pairs of inputs contribute beyond that; empty unless it was asked
    /// for.
    pub second_order: Vec<PairContribution>,
}

/// What one input contributes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Contribution {
    /// Sensitivity coefficient c, the partial derivative at the estimates.
    pub sensitivity: f64,
    /// c u, with the sign of c.
    pub uncertainty: f64,
    /// Share of the variance. All shares, with those of second order, add up to
    /// one; of correlated inputs one may be negative.
    pub share: f64,
}

/// What two inputs, or twice the same, contribute beyond the straight line.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PairContribution {
    /// Numbers of the inputs.
    pub inputs: (usize, usize),
    /// The variance that they add; may be negative.
    pub variance: f64,
}

/// Why uncertainties cannot be combined.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum CombinationFault<F> {
    /// The response has no value, or no derivatives, at the estimates.
    Response(F),
    /// No inputs can be correlated like this: a variance would be negative.
    Correlations,
}

impl<F: fmt::Display> fmt::Display for CombinationFault<F> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CombinationFault::Response(fault) => fault.fmt(f),
            CombinationFault::Correlations => {
                f.write_str("no inputs can be correlated with each other like this")
            }
        }
    }
}

impl<F: fmt::Debug + fmt::Display> std::error::Error for CombinationFault<F> {}

/// Combines the uncertainties of all inputs, to first order
/// (JCGM 100:2008, 5.1.2, and 5.2.2 for correlated inputs).
///
/// # Errors
/// [`CombinationFault`], where there is no value or no such correlation.
pub fn combine<R: Response>(
    response: &R,
    inputs: &[Uncertain],
    correlations: &Correlations,
) -> Result<Combined, CombinationFault<R::Fault>> {
    let seeds: Vec<Gradient<f64>> = inputs
        .iter()
        .enumerate()
        .map(|(at, input)| Gradient::input(input.estimate, at, inputs.len()))
        .collect();
    let gradient = response.at(&seeds).map_err(CombinationFault::Response)?;
    let sensitivities: Vec<f64> = (0..inputs.len()).map(|at| gradient.partial(at)).collect();
    let estimate = gradient.value;
    combined(estimate, &sensitivities, inputs, correlations, Vec::new())
}

/// The same for independent inputs, with the terms of second order
/// (JCGM 100:2008, note to 5.1.2): for each pair of inputs
/// ½ f_ij² + f_i f_ijj, times both variances. They suppose inputs that are
/// about normal.
///
/// # Errors
/// [`CombinationFault`], where there is no value.
pub fn combine_second_order<R: Response>(
    response: &R,
    inputs: &[Uncertain],
) -> Result<Combined, CombinationFault<R::Fault>> {
    type Third = Gradient<Gradient<Gradient<f64>>>;
    let count = inputs.len();
    let seeds: Vec<Third> = inputs
        .iter()
        .enumerate()
        .map(|(at, input)| {
            let first = Gradient::input(input.estimate, at, count);
            Gradient::input(Gradient::input(first, at, count), at, count)
        })
        .collect();
    let all = response.at(&seeds).map_err(CombinationFault::Response)?;
    let first = |i: usize| all.partial(i).value.value;
    let second = |i: usize, j: usize| all.partial(i).partial(j).value;
    let third = |i: usize, j: usize| all.partial(i).partial(j).partial(j);
    let sensitivities: Vec<f64> = (0..count).map(first).collect();
    let mut pairs = Vec::new();
    for i in 0..count {
        for j in i..count {
            let bend = |i: usize, j: usize| 0.5 * second(i, j).powi(2) + first(i) * third(i, j);
            let both = if i == j {
                bend(i, i)
            } else {
                bend(i, j) + bend(j, i)
            };
            let variance = both * (inputs[i].uncertainty * inputs[j].uncertainty).powi(2);
            if variance != 0.0 {
                pairs.push(PairContribution {
                    inputs: (i, j),
                    variance,
                });
            }
        }
    }
    let estimate = all.value.value.value;
    combined(
        estimate,
        &sensitivities,
        inputs,
        &Correlations::none(),
        pairs,
    )
}

fn combined<F>(
    estimate: f64,
    sensitivities: &[f64],
    inputs: &[Uncertain],
    correlations: &Correlations,
    second_order: Vec<PairContribution>,
) -> Result<Combined, CombinationFault<F>> {
    let parts: Vec<f64> = sensitivities
        .iter()
        .zip(inputs)
        .map(|(sensitivity, input)| sensitivity * input.uncertainty)
        .collect();
    let independent: f64 = parts.iter().map(|part| part * part).sum();
    let bent: f64 = second_order.iter().map(|pair| pair.variance).sum();
    let variance = correlations.product(&parts, &parts) + bent;
    // Rounding may leave a little less than nothing.
    if variance < -1e-12 * independent {
        return Err(CombinationFault::Correlations);
    }
    let variance = variance.max(0.0);
    let share = |at: usize| {
        let mut alone = vec![0.0; parts.len()];
        alone[at] = parts[at];
        correlations.product(&alone, &parts) / variance
    };
    let contributions = sensitivities
        .iter()
        .enumerate()
        .map(|(at, &sensitivity)| Contribution {
            sensitivity,
            uncertainty: parts[at],
            share: if variance > 0.0 { share(at) } else { 0.0 },
        })
        .collect();
    let weight: f64 = parts
        .iter()
        .zip(inputs)
        .map(|(part, input)| part.powi(4) / input.degrees_of_freedom)
        .sum();
    let degrees_of_freedom = if weight == 0.0 {
        Some(f64::INFINITY)
    } else {
        correlations.is_none().then(|| variance * variance / weight)
    };
    Ok(Combined {
        estimate,
        uncertainty: variance.sqrt(),
        degrees_of_freedom,
        contributions,
        second_order,
    })
}

impl Combined {
    /// Coverage factor for a coverage probability: Student's t for the whole
    /// part of the effective degrees of freedom (JCGM 100:2008, G.4.1 and G.6);
    /// that of a normal distribution where these are not known.
    pub fn coverage_factor(&self, coverage: f64) -> f64 {
        let p = 0.5 + 0.5 * coverage;
        match self.degrees_of_freedom {
            Some(freedom) => student_t_quantile(p, freedom.floor().max(1.0)),
            None => normal_quantile(p),
        }
    }

    /// Expanded uncertainty for a coverage probability (JCGM 100:2008, 6.2.1).
    pub fn expanded(&self, coverage: f64) -> f64 {
        self.coverage_factor(coverage) * self.uncertainty
    }

    /// The interval of that width around the estimate.
    pub fn interval(&self, coverage: f64) -> Interval {
        let reach = self.expanded(coverage);
        Interval::new(self.estimate - reach, self.estimate + reach)
    }

    /// The correlation with another result of the same inputs, which are
    /// correlated as stated (JCGM 100:2008, H.2.3). Zero where one of the two
    /// is certain.
    pub fn correlation(&self, other: &Combined, correlations: &Correlations) -> f64 {
        let parts = |result: &Combined| -> Vec<f64> {
            result
                .contributions
                .iter()
                .map(|part| part.uncertainty)
                .collect()
        };
        let whole = self.uncertainty * other.uncertainty;
        if whole == 0.0 {
            return 0.0;
        }
        correlations.product(&parts(self), &parts(other)) / whole
    }

    /// Numbers of the inputs that contribute, the one with the greatest share
    /// of the variance first.
    pub fn by_share(&self) -> Vec<usize> {
        let share = |at: &usize| self.contributions[*at].share.abs();
        let mut order: Vec<usize> = (0..self.contributions.len())
            .filter(|at| self.contributions[*at].uncertainty != 0.0)
            .collect();
        order.sort_by(|a, b| share(b).total_cmp(&share(a)).then(a.cmp(b)));
        order
    }
}

#[cfg(test)]
#[path = "root_sum_square_tests.rs"]
mod tests;
