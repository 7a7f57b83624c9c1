//! Values with their exact partial derivatives (forward differentiation).

use super::Interval;
use crate::formula::{Elementary, Scalar, Smooth};

/// A kind of number whose functions have slopes of the same kind.
pub trait Differentiable: Scalar {
    /// The derivative of a function of one number, here.
    fn slope(&self, function: Elementary) -> Self;
    /// Whether this is surely less than another; `None` where that is open.
    fn surely_less(&self, other: &Self) -> Option<bool>;
    /// Anything that either of two may be.
    fn either(&self, other: &Self) -> Self;
    /// Value and slopes of a function that is only known point by point;
    /// `None` where this kind of number is no point.
    fn slopes_through(function: &dyn Smooth, arguments: &[Self]) -> Option<(Self, Vec<Self>)>;
}

/// A value with its partial derivatives by each input. A value that depends
/// on no input has no list at all.
#[derive(Clone, PartialEq, Debug)]
pub struct Gradient<N> {
    /// The value.
    pub value: N,
    partials: Vec<N>,
}

impl<N: Differentiable> Gradient<N> {
    /// Input number `at` of `count`, which varies as itself and nothing else.
    pub fn input(value: N, at: usize, count: usize) -> Gradient<N> {
        let partials = (0..count)
            .map(|i| N::constant(f64::from(u8::from(i == at))))
            .collect();
        Gradient { value, partials }
    }

    /// The partial derivative by input number `at`.
    pub fn partial(&self, at: usize) -> N {
        self.partials
            .get(at)
            .cloned()
            .unwrap_or_else(|| N::constant(0.0))
    }

    /// A result of this value alone, with the slope it has here.
    fn chain(&self, value: N, slope: &N) -> Gradient<N> {
        let partials = self
            .partials
            .iter()
            .map(|partial| partial.multiply(slope))
            .collect();
        Gradient { value, partials }
    }

    /// A result of two values, with the slopes it has by each of them.
    fn chain_two(&self, other: &Self, value: N, slope: &N, other_slope: &N) -> Gradient<N> {
        if other.partials.is_empty() {
            return self.chain(value, slope);
        }
        if self.partials.is_empty() {
            return other.chain(value, other_slope);
        }
        let partials = self
            .partials
            .iter()
            .zip(&other.partials)
            .map(|(a, b)| a.multiply(slope).add(&b.multiply(other_slope)))
            .collect();
        Gradient { value, partials }
    }

    fn chosen(&self, other: &Self, value: N, self_is_chosen: Option<bool>) -> Gradient<N> {
        let (zero, one) = (N::constant(0.0), N::constant(1.0));
        let count = self.partials.len().max(other.partials.len());
        match self_is_chosen {
            Some(true) => self.chain(value, &one),
            Some(false) => other.chain(value, &one),
            None => {
                let pick = |from: &Self, at: usize| from.partials.get(at).unwrap_or(&zero).clone();
                let partials = (0..count)
                    .map(|at| pick(self, at).either(&pick(other, at)))
                    .collect();
                Gradient { value, partials }
            }
        }
    }
}

impl<N: Differentiable> Scalar for Gradient<N> {
    fn constant(value: f64) -> Self {
        Gradient {
            value: N::constant(value),
            partials: Vec::new(),
        }
    }

    fn add(&self, other: &Self) -> Self {
        let one = N::constant(1.0);
        self.chain_two(other, self.value.add(&other.value), &one, &one)
    }

    fn subtract(&self, other: &Self) -> Self {
        let value = self.value.subtract(&other.value);
        self.chain_two(other, value, &N::constant(1.0), &N::constant(-1.0))
    }

    fn multiply(&self, other: &Self) -> Self {
        self.chain_two(
            other,
            self.value.multiply(&other.value),
            &other.value,
            &self.value,
        )
    }

    fn divide(&self, other: &Self) -> Self {
        let value = self.value.divide(&other.value);
        let slope = N::constant(1.0).divide(&other.value);
        let other_slope = N::constant(0.0).subtract(&value).multiply(&slope);
        // (du - (u/v) dv) / v, and not du/v - (u/v²) dv: over intervals the
        // first stays of one sign where u and v share an input.
        if self.partials.is_empty() || other.partials.is_empty() {
            return self.chain_two(other, value, &slope, &other_slope);
        }
        let partials = self
            .partials
            .iter()
            .zip(&other.partials)
            .map(|(a, b)| a.subtract(&value.multiply(b)).multiply(&slope))
            .collect();
        Gradient { value, partials }
    }

    fn whole_power(&self, exponent: i32) -> Self {
        let value = self.value.whole_power(exponent);
        if exponent == 0 {
            return Gradient {
                value,
                partials: Vec::new(),
            };
        }
        let slope = self
            .value
            .whole_power(exponent - 1)
            .multiply(&N::constant(f64::from(exponent)));
        self.chain(value, &slope)
    }

    fn power(&self, exponent: &Self) -> Self {
        let value = self.value.power(&exponent.value);
        let below = self
            .value
            .power(&exponent.value.subtract(&N::constant(1.0)));
        let slope = exponent.value.multiply(&below);
        if exponent.partials.is_empty() {
            return self.chain(value, &slope);
        }
        let other_slope = value.multiply(&self.value.apply(Elementary::NaturalLogarithm));
        self.chain_two(exponent, value, &slope, &other_slope)
    }

    fn apply(&self, function: Elementary) -> Self {
        self.chain(self.value.apply(function), &self.value.slope(function))
    }

    fn lesser(&self, other: &Self) -> Self {
        let less = self.value.surely_less(&other.value);
        self.chosen(other, self.value.lesser(&other.value), less)
    }

    fn greater(&self, other: &Self) -> Self {
        let less = self.value.surely_less(&other.value);
        self.chosen(
            other,
            self.value.greater(&other.value),
            less.map(|less| !less),
        )
    }

    fn through(function: &dyn Smooth, arguments: &[Self]) -> Option<Self> {
        let values: Vec<N> = arguments
            .iter()
            .map(|argument| argument.value.clone())
            .collect();
        let (value, slopes) = N::slopes_through(function, &values)?;
        let count = arguments
            .iter()
            .map(|argument| argument.partials.len())
            .max()
            .unwrap_or(0);
        let mut partials = vec![N::constant(0.0); count];
        for (argument, slope) in arguments.iter().zip(&slopes) {
            for (sum, partial) in partials.iter_mut().zip(&argument.partials) {
                *sum = sum.add(&partial.multiply(slope));
            }
        }
        Some(Gradient { value, partials })
    }

    fn is_finite(&self) -> bool {
        self.value.is_finite()
    }

    fn may_be_zero(&self) -> bool {
        self.value.may_be_zero()
    }
}

/// The slope of a smooth function, over any kind of number.
fn smooth_slope<N: Scalar>(x: &N, function: Elementary) -> N {
    let constant = |value: f64| N::constant(value);
    let one = constant(1.0);
    let scaled_reciprocal = |factor: f64| constant(factor).divide(x);
    let square = |value: &N| value.whole_power(2);
    match function {
        Elementary::SquareRoot => constant(0.5).divide(&x.apply(Elementary::SquareRoot)),
        Elementary::NaturalLogarithm => scaled_reciprocal(1.0),
        Elementary::Logarithm10 => scaled_reciprocal(std::f64::consts::LOG10_E),
        Elementary::Logarithm2 => scaled_reciprocal(std::f64::consts::LOG2_E),
        Elementary::Exponential => x.apply(Elementary::Exponential),
        Elementary::Sine => x.apply(Elementary::Cosine),
        Elementary::Cosine => constant(0.0).subtract(&x.apply(Elementary::Sine)),
        Elementary::Tangent => one.add(&square(&x.apply(Elementary::Tangent))),
        Elementary::ArcSine => one.divide(&one.subtract(&square(x)).apply(Elementary::SquareRoot)),
        Elementary::ArcCosine => {
            constant(-1.0).divide(&one.subtract(&square(x)).apply(Elementary::SquareRoot))
        }
        Elementary::ArcTangent => one.divide(&one.add(&square(x))),
        Elementary::HyperbolicSine => x.apply(Elementary::HyperbolicCosine),
        Elementary::HyperbolicCosine => x.apply(Elementary::HyperbolicSine),
        Elementary::HyperbolicTangent => {
            one.subtract(&square(&x.apply(Elementary::HyperbolicTangent)))
        }
        // Steps and kinks are each kind of number's own business.
        Elementary::Magnitude | Elementary::Floor | Elementary::Ceiling | Elementary::Round => {
            constant(0.0)
        }
    }
}

impl Differentiable for f64 {
    fn slope(&self, function: Elementary) -> f64 {
        match function {
            Elementary::Magnitude => self.signum(),
            smooth => smooth_slope(self, smooth),
        }
    }

    fn surely_less(&self, other: &f64) -> Option<bool> {
        Some(self < other)
    }

    fn either(&self, other: &f64) -> f64 {
        0.5 * (self + other)
    }

    fn slopes_through(function: &dyn Smooth, arguments: &[f64]) -> Option<(f64, Vec<f64>)> {
        let mut slopes = vec![0.0; arguments.len()];
        let value = function.slopes(arguments, &mut slopes)?;
        Some((value, slopes))
    }
}

impl Differentiable for Interval {
    fn slope(&self, function: Elementary) -> Interval {
        match function {
            Elementary::Magnitude if self.low() > 0.0 => Interval::constant(1.0),
            Elementary::Magnitude if self.high() < 0.0 => Interval::constant(-1.0),
            Elementary::Magnitude => Interval::new(-1.0, 1.0),
            Elementary::Floor | Elementary::Ceiling | Elementary::Round => {
                let image = self.apply(function);
                // A step rises, and by how much a slope cannot say.
                let most = if image.width() == 0.0 {
                    0.0
                } else {
                    f64::INFINITY
                };
                Interval::new(0.0, most)
            }
            smooth => smooth_slope(self, smooth),
        }
    }

    fn surely_less(&self, other: &Interval) -> Option<bool> {
        if self.high() < other.low() {
            Some(true)
        } else if other.high() < self.low() {
            Some(false)
        } else {
            None
        }
    }

    fn either(&self, other: &Interval) -> Interval {
        self.hull(*other)
    }

    fn slopes_through(
        _function: &dyn Smooth,
        _arguments: &[Interval],
    ) -> Option<(Interval, Vec<Interval>)> {
        None
    }
}

/// Derivatives of derivatives: a gradient of gradients knows the second ones.
impl<N: Differentiable> Differentiable for Gradient<N> {
    fn slope(&self, function: Elementary) -> Gradient<N> {
        match function {
            Elementary::Magnitude | Elementary::Floor | Elementary::Ceiling | Elementary::Round => {
                Gradient {
                    value: self.value.slope(function),
                    partials: Vec::new(),
                }
            }
            smooth => smooth_slope(self, smooth),
        }
    }

    fn surely_less(&self, other: &Gradient<N>) -> Option<bool> {
        self.value.surely_less(&other.value)
    }

    fn either(&self, other: &Gradient<N>) -> Gradient<N> {
        self.chosen(other, self.value.either(&other.value), None)
    }

    /// Slopes of slopes of what is only known point by point are not known.
    fn slopes_through(_function: &dyn Smooth, _arguments: &[Self]) -> Option<(Self, Vec<Self>)> {
        None
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formula::Formula;

    /// Derivatives against a central difference, the one thing that any
    /// formula can be checked with. Second order in the step, hence 1e-6.
    #[test]
    fn derivatives_agree_with_differences() {
        let formulas = [
            "a/(a + b)",
            "a^3 - b/a",
            "sqrt(a*b) + ln(a)",
            "a^b",
            "2^b * a",
            "sin(a) * cos(b) + tan(a/9)",
            "atan(a/b) + asin(a/9) - acos(b/9)",
            "sinh(a) - cosh(b) + tanh(a)",
            "log10(a) * log2(b)",
            "max(a, b) + min(a, 2*b)",
            "abs(a - b)",
            "parallel(a, b)",
            "exp(-a/b)",
            "a^-2",
            "field_level(a/b) / (1 dB)",
        ];
        let (a, b) = (1.7, 2.9);
        for text in formulas {
            let Ok(formula) = Formula::parse(text) else {
                continue;
            };
            let order = |values: [f64; 2]| -> Vec<f64> {
                formula
                    .names()
                    .iter()
                    .map(|n| if n.name == "a" { values[0] } else { values[1] })
                    .collect()
            };
            let seeds: Vec<Gradient<f64>> = formula
                .names()
                .iter()
                .map(|n| {
                    if n.name == "a" {
                        Gradient::input(a, 0, 2)
                    } else {
                        Gradient::input(b, 1, 2)
                    }
                })
                .collect();
            let exact = formula.evaluate(&seeds).unwrap();
            let step = 1e-5;
            let at = |a: f64, b: f64| formula.evaluate::<f64>(&order([a, b])).unwrap();
            let by_a = (at(a + step, b) - at(a - step, b)) / (2.0 * step);
            let by_b = (at(a, b + step) - at(a, b - step)) / (2.0 * step);
            for (exact, difference) in [(exact.partial(0), by_a), (exact.partial(1), by_b)] {
                assert!(
                    (exact - difference).abs() < 1e-6 * (1.0 + exact.abs()),
                    "{text}: {exact} {difference}"
                );
            }
        }
    }
}
