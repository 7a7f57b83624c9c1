//! What is known of an input: a distribution of the values it may have.
//!
//! Each knows its mean, its standard uncertainty, its quantiles and how to draw
//! from it, either by itself or from normal scores that it shares with others.

use std::f64::consts::{FRAC_PI_2, PI};
use std::fmt;
use std::sync::Arc;

use super::Interval;
use super::measured::{Between, Measured};
use super::probability::{normal_above, normal_below, normal_density, normal_quantile};
use super::stream::Stream;

/// A distribution of values, in coherent SI units.
#[derive(Clone, PartialEq, Debug)]
pub struct Distribution {
    shape: Shape,
}

#[derive(Clone, PartialEq, Debug)]
pub(super) enum Shape {
    Normal { mean: f64, deviation: f64 },
    Truncated(Truncated),
    Rectangular { low: f64, high: f64 },
    Triangular { low: f64, high: f64 },
    ArcSine { low: f64, high: f64 },
    Measured(Arc<Measured>),
}

/// A normal distribution of which only the part between two limits is left.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Truncated {
    pub mean: f64,
    pub deviation: f64,
    /// Limits as scores.
    pub low: f64,
    pub high: f64,
}

/// Why there is no such distribution.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum DistributionFault {
    /// A parameter is not finite.
    NotFinite,
    /// A deviation or coverage factor that is not above zero.
    Scale(f64),
    /// A lower limit above the upper one.
    Limits(f64, f64),
    /// Sorting leaves less than a part in 10^12 of the parts.
    NothingLeft,
    /// A measured sample of fewer than two values.
    TooFew(usize),
}

impl fmt::Display for DistributionFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            DistributionFault::NotFinite => f.write_str("a value is not a number"),
            DistributionFault::Scale(found) => {
                write!(
                    f,
                    "a deviation or coverage factor is above zero, not {found}"
                )
            }
            DistributionFault::Limits(low, high) => {
                write!(f, "the lower limit {low} lies above the upper one, {high}")
            }
            DistributionFault::NothingLeft => {
                f.write_str("no part of the distribution lies within the limits")
            }
            DistributionFault::TooFew(found) => {
                write!(
                    f,
                    "a measured sample of {found} values says too little: it takes two"
                )
            }
        }
    }
}

impl std::error::Error for DistributionFault {}

impl Distribution {
    /// A normal distribution of this mean and standard uncertainty
    /// (JCGM 101:2008, 6.4.7).
    ///
    /// # Errors
    /// A mean that is not finite or an uncertainty that is not above zero.
    pub fn normal(mean: f64, deviation: f64) -> Result<Distribution, DistributionFault> {
        finite(&[mean, deviation])?;
        above_zero(deviation)?;
        Ok(Shape::Normal { mean, deviation }.into())
    }

    /// A normal distribution, given an expanded uncertainty and the coverage
    /// factor that it was stated with (JCGM 100:2008, 4.3.3).
    ///
    /// # Errors
    /// As [`Distribution::normal`], or a factor that is not above zero.
    pub fn normal_expanded(
        mean: f64,
        expanded: f64,
        coverage_factor: f64,
    ) -> Result<Distribution, DistributionFault> {
        finite(&[coverage_factor])?;
        above_zero(coverage_factor)?;
        Distribution::normal(mean, expanded / coverage_factor)
    }

    /// Every value between two limits, all equally likely
    /// (JCGM 101:2008, 6.4.2).
    ///
    /// # Errors
    /// Limits that are not finite or in the wrong order.
    pub fn rectangular(low: f64, high: f64) -> Result<Distribution, DistributionFault> {
        ordered(low, high)?;
        Ok(Shape::Rectangular { low, high }.into())
    }

    /// Values between two limits, likelier towards the middle
    /// (JCGM 101:2008, 6.4.5).
    ///
    /// # Errors
    /// Limits that are not finite or in the wrong order.
    pub fn triangular(low: f64, high: f64) -> Result<Distribution, DistributionFault> {
        ordered(low, high)?;
        Ok(Shape::Triangular { low, high }.into())
    }

    /// What swings between two limits as a sine of unknown phase: likeliest at
    /// the limits (U-shaped; JCGM 101:2008, 6.4.6).
    ///
    /// # Errors
    /// Limits that are not finite or in the wrong order.
    pub fn arc_sine(low: f64, high: f64) -> Result<Distribution, DistributionFault> {
        ordered(low, high)?;
        Ok(Shape::ArcSine { low, high }.into())
    }

    /// Normal parts of which sorting left only those within limits; `mean` and
    /// `deviation` are those before sorting.
    ///
    /// # Errors
    /// As [`Distribution::normal`], limits in the wrong order, or limits that
    /// leave nothing.
    pub fn truncated_normal(
        mean: f64,
        deviation: f64,
        low: f64,
        high: f64,
    ) -> Result<Distribution, DistributionFault> {
        finite(&[mean, deviation])?;
        above_zero(deviation)?;
        ordered(low, high)?;
        let truncated = Truncated {
            mean,
            deviation,
            low: (low - mean) / deviation,
            high: (high - mean) / deviation,
        };
        if truncated.left() < 1e-12 {
            return Err(DistributionFault::NothingLeft);
        }
        Ok(Shape::Truncated(truncated).into())
    }

    /// The distribution of a measured sample.
    ///
    /// # Errors
    /// Fewer than two values, or one that is not finite.
    pub fn measured(values: &[f64], between: Between) -> Result<Distribution, DistributionFault> {
        finite(values)?;
        match Measured::new(values, between) {
            Some(measured) => Ok(Shape::Measured(Arc::new(measured)).into()),
            None => Err(DistributionFault::TooFew(values.len())),
        }
    }

    /// The mean.
    pub fn mean(&self) -> f64 {
        self.moments().0
    }

    /// The standard deviation, which is the standard uncertainty of a quantity
    /// that is known to this distribution (JCGM 100:2008, 4.3).
    pub fn standard_uncertainty(&self) -> f64 {
        self.moments().1
    }

    fn moments(&self) -> (f64, f64) {
        match &self.shape {
            Shape::Normal { mean, deviation } => (*mean, *deviation),
            Shape::Truncated(truncated) => truncated.moments(),
            Shape::Rectangular { low, high } => middle_and_half(*low, *high, 3.0),
            Shape::Triangular { low, high } => middle_and_half(*low, *high, 6.0),
            Shape::ArcSine { low, high } => middle_and_half(*low, *high, 2.0),
            Shape::Measured(measured) => measured.moments(),
        }
    }

    /// Least and greatest value; infinite for a normal distribution.
    pub fn support(&self) -> Interval {
        match &self.shape {
            Shape::Normal { .. } => Interval::ALL,
            Shape::Truncated(truncated) => {
                Interval::new(truncated.at(truncated.low), truncated.at(truncated.high))
            }
            Shape::Rectangular { low, high }
            | Shape::Triangular { low, high }
            | Shape::ArcSine { low, high } => Interval::new(*low, *high),
            Shape::Measured(measured) => measured.support(),
        }
    }

    /// The value with a share `p` of the distribution below it, 0 to 1.
    pub fn quantile(&self, p: f64) -> f64 {
        match &self.shape {
            Shape::Normal { mean, deviation } => mean + deviation * normal_quantile(p),
            Shape::Truncated(truncated) => truncated.quantile(p),
            Shape::Rectangular { low, high } => low + p * (high - low),
            Shape::Triangular { low, high } if p < 0.5 => low + (high - low) * (0.5 * p).sqrt(),
            Shape::Triangular { low, high } => high - (high - low) * (0.5 * (1.0 - p)).sqrt(),
            Shape::ArcSine { low, high } => low + (high - low) * (FRAC_PI_2 * p).sin().powi(2),
            Shape::Measured(measured) => measured.quantile(p),
        }
    }

    /// The share of the distribution below a value, 0 to 1.
    pub fn below(&self, x: f64) -> f64 {
        let place = |low: f64, high: f64| {
            if high > low {
                ((x - low) / (high - low)).clamp(0.0, 1.0)
            } else {
                f64::from(u8::from(x > low))
            }
        };
        match &self.shape {
            Shape::Normal { mean, deviation } => normal_below((x - mean) / deviation),
            Shape::Truncated(truncated) => truncated.below(x),
            Shape::Rectangular { low, high } => place(*low, *high),
            Shape::Triangular { low, high } => match place(*low, *high) {
                part if part < 0.5 => 2.0 * part * part,
                part => 1.0 - 2.0 * (1.0 - part).powi(2),
            },
            Shape::ArcSine { low, high } => place(*low, *high).sqrt().asin() / FRAC_PI_2,
            Shape::Measured(measured) => measured.below(x),
        }
    }

    /// The shape, for those who integrate over it.
    pub(super) fn shape(&self) -> &Shape {
        &self.shape
    }

    /// Whether normal scores become values by scaling alone.
    pub(super) fn is_normal(&self) -> bool {
        matches!(self.shape, Shape::Normal { .. })
    }

    /// Draws a block of values.
    pub(super) fn draw(&self, stream: &mut Stream, out: &mut [f64]) {
        match &self.shape {
            Shape::Normal { mean, deviation } => stream.normals(out, |z| mean + deviation * z),
            Shape::Rectangular { low, high } => {
                let width = high - low;
                stream.uniforms(out, |u| low + width * u);
            }
            Shape::Triangular { low, high } => {
                let half = 0.5 * (high - low);
                stream.uniform_pairs(out, |sum| low + half * sum);
            }
            Shape::ArcSine { low, high } => {
                let half = 0.5 * (high - low);
                let middle = low + half;
                stream.uniforms(out, |u| middle + half * (PI * (u - 0.5)).sin());
            }
            Shape::Truncated(_) | Shape::Measured(_) => {
                stream.uniforms(out, |p| self.quantile(p));
            }
        }
    }

    /// Whether no draw can be too large to hold, whatever chance gives. Where
    /// that is open the draws have to be looked at.
    pub(super) fn is_bounded(&self) -> bool {
        match &self.shape {
            // No score that a float of 53 random bits leads to comes near this.
            Shape::Normal { mean, deviation } => (mean.abs() + 64.0 * deviation).is_finite(),
            Shape::Rectangular { low, high }
            | Shape::Triangular { low, high }
            | Shape::ArcSine { low, high } => (high - low).is_finite(),
            Shape::Truncated(_) | Shape::Measured(_) => false,
        }
    }

    /// The value that stands where a standard normal score stands among its
    /// kind.
    pub(super) fn at_score(&self, score: f64) -> f64 {
        match &self.shape {
            Shape::Normal { mean, deviation } => mean + deviation * score,
            _ => self.quantile(normal_below(score)),
        }
    }
}

impl From<Shape> for Distribution {
    fn from(shape: Shape) -> Distribution {
        Distribution { shape }
    }
}

impl Truncated {
    fn at(&self, score: f64) -> f64 {
        self.mean + self.deviation * score
    }

    /// The share of the whole distribution that is left.
    fn left(&self) -> f64 {
        if self.low > 0.0 {
            normal_above(self.low) - normal_above(self.high)
        } else {
            normal_below(self.high) - normal_below(self.low)
        }
    }

    fn quantile(&self, p: f64) -> f64 {
        // From the side on which the limits lie, where shares keep their digits.
        let score = if self.low > 0.0 {
            -normal_quantile(normal_above(self.low) - p * self.left())
        } else {
            normal_quantile(normal_below(self.low) + p * self.left())
        };
        self.at(score.clamp(self.low, self.high))
    }

    fn below(&self, x: f64) -> f64 {
        let score = ((x - self.mean) / self.deviation).clamp(self.low, self.high);
        let part = if self.low > 0.0 {
            normal_above(self.low) - normal_above(score)
        } else {
            normal_below(score) - normal_below(self.low)
        };
        part / self.left()
    }

    /// Mean and deviation of what is left, from the densities at the cuts.
    fn moments(&self) -> (f64, f64) {
        let (low, high, left) = (self.low, self.high, self.left());
        let (at_low, at_high) = (normal_density(low), normal_density(high));
        let shift = (at_low - at_high) / left;
        let variance = 1.0 + (low * at_low - high * at_high) / left - shift * shift;
        (self.at(shift), self.deviation * variance.max(0.0).sqrt())
    }
}

/// The middle of two limits, and half their distance over a root.
fn middle_and_half(low: f64, high: f64, square: f64) -> (f64, f64) {
    let half = 0.5 * (high - low);
    (low + half, half / square.sqrt())
}

fn finite(values: &[f64]) -> Result<(), DistributionFault> {
    if values.iter().all(|value| value.is_finite()) {
        Ok(())
    } else {
        Err(DistributionFault::NotFinite)
    }
}

fn above_zero(value: f64) -> Result<(), DistributionFault> {
    if value > 0.0 {
        Ok(())
    } else {
        Err(DistributionFault::Scale(value))
    }
}

fn ordered(low: f64, high: f64) -> Result<(), DistributionFault> {
    finite(&[low, high])?;
    if low <= high {
        Ok(())
    } else {
        Err(DistributionFault::Limits(low, high))
    }
}

#[cfg(test)]
#[path = "distribution_tests.rs"]
mod tests;
