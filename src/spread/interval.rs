//! Intervals with outward rounding: enclosures that are never too narrow.
//!
//! Sums, products and quotients are widened by one float only where they are
//! not exact; results of the library's transcendental functions by two floats
//! on each side, more than the error that its documentation of glibc gives
//! (below one unit in the last place; from memory).

use crate::formula::{Elementary, Scalar, Smooth};

/// All numbers from `low` to `high`; an end may be infinite.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Interval {
    low: f64,
    high: f64,
}

impl Interval {
    /// Every number.
    pub const ALL: Interval = Interval {
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
    };

    /// The numbers between two ends, in either order; everything, where an end
    /// is no number.
    pub fn new(a: f64, b: f64) -> Interval {
        if a.is_nan() || b.is_nan() {
            return Interval::ALL;
        }
        Interval {
            low: a.min(b),
            high: a.max(b),
        }
    }

    /// Least number.
    pub fn low(self) -> f64 {
        self.low
    }

    /// Greatest number.
    pub fn high(self) -> f64 {
        self.high
    }

    /// Distance between the ends.
    pub fn width(self) -> f64 {
        self.high - self.low
    }

    /// The middle.
    pub fn middle(self) -> f64 {
        self.low + 0.5 * (self.high - self.low)
    }

    /// Whether a number lies within.
    pub fn contains(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// The smallest interval that holds both.
    pub fn hull(self, other: Interval) -> Interval {
        Interval {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
        }
    }

    /// What both hold; `self` where that is nothing.
    pub fn meet(self, other: Interval) -> Interval {
        let (low, high) = (self.low.max(other.low), self.high.min(other.high));
        if low <= high {
            Interval { low, high }
        } else {
            self
        }
    }

    fn widened(self) -> Interval {
        let low = self.low.next_down().next_down();
        Interval {
            low,
            high: self.high.next_up().next_up(),
        }
    }

    /// Image under a rising function.
    fn rising(self, function: Elementary) -> Interval {
        Interval::new(function.at(self.low), function.at(self.high)).widened()
    }

    /// Image under sine or cosine, whose maxima lie at `crest + n 2π`.
    fn wave(self, function: Elementary, crest: f64) -> Interval {
        const TURN: f64 = std::f64::consts::TAU;
        if !self.is_finite() || self.width() >= TURN {
            return Interval::new(-1.0, 1.0);
        }
        let holds = |at: f64| {
            let turns = ((self.low - at) / TURN).ceil();
            // A little generous: a crest just outside only widens the result.
            at + turns * TURN <= self.high + 1e-9 || at + (turns - 1.0) * TURN >= self.low - 1e-9
        };
        let mut image = self.rising(function).meet(Interval::new(-1.0, 1.0));
        if holds(crest) {
            image.high = 1.0;
        }
        if holds(crest + std::f64::consts::PI) {
            image.low = -1.0;
        }
        image
    }
}

/// `value`, lowered by one float where `error` says that it is too high.
fn down(value: f64, error: f64) -> f64 {
    if error < 0.0 || error.is_nan() {
        value.next_down()
    } else {
        value
    }
}

fn up(value: f64, error: f64) -> f64 {
    if error > 0.0 || error.is_nan() {
        value.next_up()
    } else {
        value
    }
}

/// A sum and what rounding took from it (Knuth's two-sum).
fn sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    if !sum.is_finite() {
        return (sum, 0.0);
    }
    let share = sum - a;
    (sum, (a - (sum - share)) + (b - share))
}

/// A product and what rounding took from it. Nothing times everything is nothing.
fn product(a: f64, b: f64) -> (f64, f64) {
    if a == 0.0 || b == 0.0 {
        return (0.0, 0.0);
    }
    let product = a * b;
    if product.abs() < f64::MIN_POSITIVE {
        return (product, f64::NAN);
    }
    if product.is_finite() {
        (product, a.mul_add(b, -product))
    } else {
        (product, 0.0)
    }
}

/// A quotient and the sign of what rounding took from it.
fn quotient(a: f64, b: f64) -> (f64, f64) {
    let quotient = a / b;
    if a == 0.0 || !quotient.is_finite() || b.is_infinite() {
        return (quotient, 0.0);
    }
    if quotient.abs() < f64::MIN_POSITIVE {
        return (quotient, f64::NAN);
    }
    (quotient, (-quotient).mul_add(b, a) * b.signum())
}

fn of_corners(corners: [(f64, f64); 4]) -> Interval {
    let mut image = Interval {
        low: f64::INFINITY,
        high: f64::NEG_INFINITY,
    };
    for (value, error) in corners {
        if value.is_nan() {
            return Interval::ALL;
        }
        image.low = image.low.min(down(value, error));
        image.high = image.high.max(up(value, error));
    }
    image
}

impl Scalar for Interval {
    fn constant(value: f64) -> Interval {
        Interval::new(value, value)
    }

    fn add(&self, other: &Interval) -> Interval {
        let (low, low_error) = sum(self.low, other.low);
        let (high, high_error) = sum(self.high, other.high);
        if low.is_nan() || high.is_nan() {
            return Interval::ALL;
        }
        Interval {
            low: down(low, low_error),
            high: up(high, high_error),
        }
    }

    fn subtract(&self, other: &Interval) -> Interval {
        self.add(&Interval {
            low: -other.high,
            high: -other.low,
        })
    }

    fn multiply(&self, other: &Interval) -> Interval {
        of_corners([
            product(self.low, other.low),
            product(self.low, other.high),
            product(self.high, other.low),
            product(self.high, other.high),
        ])
    }

    fn divide(&self, other: &Interval) -> Interval {
        if other.may_be_zero() {
            return Interval::ALL;
        }
        of_corners([
            quotient(self.low, other.low),
            quotient(self.low, other.high),
            quotient(self.high, other.low),
            quotient(self.high, other.high),
        ])
    }

    fn whole_power(&self, exponent: i32) -> Interval {
        if exponent < 0 {
            return Interval::constant(1.0).divide(&self.whole_power(-exponent));
        }
        match exponent {
            0 => return Interval::constant(1.0),
            1 => return *self,
            _ => {}
        }
        let ends = Interval::new(self.low.powi(exponent), self.high.powi(exponent)).widened();
        if exponent % 2 == 1 {
            return ends;
        }
        let least = if self.may_be_zero() {
            0.0
        } else {
            ends.low.max(0.0)
        };
        Interval {
            low: least,
            high: ends.high,
        }
    }

    fn power(&self, exponent: &Interval) -> Interval {
        if self.low < 0.0 || (self.low == 0.0 && exponent.low <= 0.0) {
            return Interval::ALL;
        }
        let corner = |base: f64, exponent: f64| (base.powf(exponent), 0.0);
        of_corners([
            corner(self.low, exponent.low),
            corner(self.low, exponent.high),
            corner(self.high, exponent.low),
            corner(self.high, exponent.high),
        ])
        .widened()
        .meet(Interval {
            low: 0.0,
            high: f64::INFINITY,
        })
    }

    fn apply(&self, function: Elementary) -> Interval {
        use std::f64::consts::{FRAC_PI_2, PI};
        let positive = Interval {
            low: 0.0,
            high: f64::INFINITY,
        };
        match function {
            Elementary::SquareRoot if self.low < 0.0 => Interval::ALL,
            Elementary::SquareRoot => self.rising(function).meet(positive),
            Elementary::NaturalLogarithm | Elementary::Logarithm10 | Elementary::Logarithm2
                if self.low <= 0.0 =>
            {
                Interval::ALL
            }
            Elementary::NaturalLogarithm
            | Elementary::Logarithm10
            | Elementary::Logarithm2
            | Elementary::ArcTangent
            | Elementary::HyperbolicSine
            | Elementary::HyperbolicTangent => self.rising(function),
            Elementary::Exponential => self.rising(function).meet(positive),
            Elementary::ArcSine | Elementary::ArcCosine if self.low < -1.0 || self.high > 1.0 => {
                Interval::ALL
            }
            // `new` puts the ends of a falling function in order.
            Elementary::ArcSine | Elementary::ArcCosine => self.rising(function),
            Elementary::Magnitude if self.may_be_zero() => Interval {
                low: 0.0,
                high: self.high.max(-self.low),
            },
            Elementary::Magnitude => Interval::new(self.low.abs(), self.high.abs()),
            Elementary::HyperbolicCosine => {
                let magnitude = self.apply(Elementary::Magnitude);
                magnitude.rising(function).meet(Interval {
                    low: 1.0,
                    high: f64::INFINITY,
                })
            }
            Elementary::Sine => self.wave(function, FRAC_PI_2),
            Elementary::Cosine => self.wave(function, 0.0),
            Elementary::Tangent => {
                let branch = |at: f64| ((at + FRAC_PI_2) / PI).floor();
                if !self.is_finite() || branch(self.low) != branch(self.high) {
                    return Interval::ALL;
                }
                self.rising(function)
            }
            Elementary::Floor | Elementary::Ceiling | Elementary::Round => {
                Interval::new(function.at(self.low), function.at(self.high))
            }
        }
    }

    fn lesser(&self, other: &Interval) -> Interval {
        Interval {
            low: self.low.min(other.low),
            high: self.high.min(other.high),
        }
    }

    fn greater(&self, other: &Interval) -> Interval {
        Interval {
            low: self.low.max(other.low),
            high: self.high.max(other.high),
        }
    }

    /// Points say nothing of what lies between them.
    fn through(_function: &dyn Smooth, _arguments: &[Interval]) -> Option<Interval> {
        None
    }

    fn is_finite(&self) -> bool {
        self.low.is_finite() && self.high.is_finite()
    }

    fn may_be_zero(&self) -> bool {
        self.contains(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_enclosure_holds_the_exact_result() {
        // 0.1 + 0.2 is not a float; the interval holds the real sum.
        let sum = Interval::constant(0.1).add(&Interval::constant(0.2));
        assert!(sum.low() < sum.high());
        assert!(
            Interval::constant(1.0)
                .add(&Interval::constant(2.0))
                .width()
                == 0.0
        );
        let third = Interval::constant(1.0).divide(&Interval::constant(3.0));
        assert!(third.low() < third.high() && third.width() < 1e-16);
    }

    #[test]
    fn every_function_encloses_its_values() {
        use Elementary::*;
        let functions = [
            SquareRoot,
            NaturalLogarithm,
            Logarithm10,
            Logarithm2,
            Exponential,
            Magnitude,
            Sine,
            Cosine,
            Tangent,
            ArcSine,
            ArcCosine,
            ArcTangent,
            HyperbolicSine,
            HyperbolicCosine,
            HyperbolicTangent,
            Floor,
            Ceiling,
            Round,
        ];
        for low in [-7.3, -1.0, -0.2, 0.0, 0.3, 0.9, 1.5, 4.0] {
            for width in [0.0, 0.1, 0.7, 3.0, 9.0] {
                let argument = Interval::new(low, low + width);
                for function in functions {
                    let image = argument.apply(function);
                    for step in 0..=50 {
                        let value = function.at(low + width * f64::from(step) / 50.0);
                        assert!(
                            value.is_nan() || image.contains(value),
                            "{function:?} of {argument:?}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn powers_and_quotients_enclose_their_values() {
        for low in [-2.0, -0.5, 0.1, 1.5] {
            let base = Interval::new(low, low + 1.0);
            for exponent in -3..=4 {
                let image = base.whole_power(exponent);
                for step in 0..=20 {
                    let value = (low + f64::from(step) / 20.0).powi(exponent);
                    assert!(
                        value.is_nan() || image.contains(value),
                        "{base:?}^{exponent}"
                    );
                }
            }
        }
        assert!(
            !Interval::constant(1.0)
                .divide(&Interval::new(-1.0, 1.0))
                .is_finite()
        );
    }
}
