//! Many numbers at once, so that a formula's tree is walked once for a block.
//!
//! Each lane holds what the same formula over floats gives, to the last bit.
//! A block is finite when all of its lanes are; who meets a block without a
//! value has to look at its lanes one by one.

use std::cell::RefCell;
use std::rc::Rc;

use super::stream::LANES;
use crate::formula::{Elementary, Scalar, Smooth};

/// [`LANES`] numbers, or one that stands for all of them.
#[derive(Clone)]
pub(super) enum Lanes {
    /// The same in every lane.
    Same(f64),
    /// Each lane its own.
    Each(Rc<Block>),
}

/// The numbers of all lanes, and whether all of them are finite.
pub(super) struct Block {
    values: Vec<f64>,
    finite: bool,
}

thread_local! {
    /// Blocks that are free again: the one that was used last is still near the
    /// processor, and none has to be cleared.
    static FREE: RefCell<Vec<Vec<f64>>> = const { RefCell::new(Vec::new()) };
}

/// Free blocks that a thread keeps: more than a formula of the usual size needs
/// at once.
const MOST_FREE: usize = 32;

impl Drop for Block {
    fn drop(&mut self) {
        let values = std::mem::take(&mut self.values);
        // At the end of a thread the list may be gone already, and the block
        // with it.
        let _ = FREE.try_with(|free| {
            let mut free = free.borrow_mut();
            if free.len() < MOST_FREE {
                free.push(values);
            }
        });
    }
}

impl Lanes {
    /// A block that `fill` writes every lane of, and says whether all of them
    /// are finite.
    pub fn filled(fill: impl FnOnce(&mut [f64]) -> bool) -> Lanes {
        let free = FREE.try_with(|free| free.borrow_mut().pop());
        let mut values = free.ok().flatten().unwrap_or_else(|| vec![0.0; LANES]);
        let finite = fill(&mut values);
        Lanes::Each(Rc::new(Block { values, finite }))
    }

    /// The number in a lane.
    pub fn lane(&self, at: usize) -> f64 {
        match self {
            Lanes::Same(value) => *value,
            Lanes::Each(block) => block.values[at],
        }
    }

    /// Appends the first lanes.
    pub fn append(&self, count: usize, out: &mut Vec<f64>) {
        match self {
            Lanes::Same(value) => out.extend(std::iter::repeat_n(*value, count)),
            Lanes::Each(block) => out.extend_from_slice(&block.values[..count]),
        }
    }

    fn map(&self, function: impl Fn(f64) -> f64) -> Lanes {
        match self {
            Lanes::Same(value) => Lanes::Same(function(*value)),
            Lanes::Each(block) => Lanes::filled(|out| {
                let mut rest = Rest::default();
                for (out, a) in fours_mut(out).iter_mut().zip(fours(&block.values)) {
                    *out = [
                        function(a[0]),
                        function(a[1]),
                        function(a[2]),
                        function(a[3]),
                    ];
                    rest.of(out);
                }
                rest.is_none()
            }),
        }
    }

    fn join(&self, other: &Lanes, function: impl Fn(f64, f64) -> f64) -> Lanes {
        match (self, other) {
            (_, Lanes::Same(b)) => self.map(|a| function(a, *b)),
            (Lanes::Same(a), _) => other.map(|b| function(*a, b)),
            (Lanes::Each(a), Lanes::Each(b)) => Lanes::filled(|out| {
                let mut rest = Rest::default();
                let pairs = fours(&a.values).iter().zip(fours(&b.values));
                for (out, (a, b)) in fours_mut(out).iter_mut().zip(pairs) {
                    *out = [
                        function(a[0], b[0]),
                        function(a[1], b[1]),
                        function(a[2], b[2]),
                        function(a[3], b[3]),
                    ];
                    rest.of(out);
                }
                rest.is_none()
            }),
        }
    }
}

// Loops go by fours, which is what the processor does anyway; written out,
// builds without optimisation gain a lot. Questions about all lanes look at
// every one: without a way out early, the processor looks at several at once.

/// All lanes by fours; their number is a multiple of four.
fn fours(values: &[f64]) -> &[[f64; 4]] {
    values.as_chunks().0
}

fn fours_mut(values: &mut [f64]) -> &mut [[f64; 4]] {
    values.as_chunks_mut().0
}

/// What numbers leave that are taken from themselves: nothing when all of them
/// are finite, and no number for ever after one that is not.
#[derive(Default)]
struct Rest([f64; 4]);

impl Rest {
    #[expect(clippy::eq_op, reason = "that difference is the question")]
    fn of(&mut self, [a, b, c, d]: &[f64; 4]) {
        self.0[0] += a - a;
        self.0[1] += b - b;
        self.0[2] += c - c;
        self.0[3] += d - d;
    }

    fn is_none(&self) -> bool {
        self.0 == [0.0; 4]
    }
}

/// Whether all lanes are finite; a draw of a wide distribution need not be.
pub(super) fn all_finite(values: &[f64]) -> bool {
    let mut rest = Rest::default();
    for four in fours(values) {
        rest.of(four);
    }
    rest.is_none()
}

impl Scalar for Lanes {
    fn constant(value: f64) -> Lanes {
        Lanes::Same(value)
    }
    fn add(&self, other: &Lanes) -> Lanes {
        self.join(other, |a, b| a + b)
    }
    fn subtract(&self, other: &Lanes) -> Lanes {
        self.join(other, |a, b| a - b)
    }
    fn multiply(&self, other: &Lanes) -> Lanes {
        self.join(other, |a, b| a * b)
    }
    fn divide(&self, other: &Lanes) -> Lanes {
        self.join(other, |a, b| a / b)
    }
    fn whole_power(&self, exponent: i32) -> Lanes {
        match exponent {
            2 => self.map(|a| a * a),
            -1 => self.map(|a| 1.0 / a),
            -2 => self.map(|a| 1.0 / (a * a)),
            _ => self.map(|a| a.powi(exponent)),
        }
    }
    fn power(&self, exponent: &Lanes) -> Lanes {
        self.join(exponent, f64::powf)
    }
    fn apply(&self, function: Elementary) -> Lanes {
        // One loop for each of the functions that take few instructions.
        match function {
            Elementary::SquareRoot => self.map(f64::sqrt),
            Elementary::Magnitude => self.map(f64::abs),
            _ => self.map(|a| function.at(a)),
        }
    }
    fn lesser(&self, other: &Lanes) -> Lanes {
        self.join(other, f64::min)
    }
    fn greater(&self, other: &Lanes) -> Lanes {
        self.join(other, f64::max)
    }
    fn through(function: &dyn Smooth, arguments: &[Lanes]) -> Option<Lanes> {
        let mut ask = function.asker();
        let mut point = vec![0.0; arguments.len()];
        // A lane without a value is no number, as in any other operation.
        Some(Lanes::filled(|out| {
            let mut finite = true;
            for (at, out) in out.iter_mut().enumerate() {
                for (place, argument) in point.iter_mut().zip(arguments) {
                    *place = argument.lane(at);
                }
                *out = ask(&point).unwrap_or(f64::NAN);
                finite &= out.is_finite();
            }
            finite
        }))
    }

    fn is_finite(&self) -> bool {
        match self {
            Lanes::Same(value) => value.is_finite(),
            Lanes::Each(block) => block.finite,
        }
    }
    fn may_be_zero(&self) -> bool {
        match self {
            Lanes::Same(value) => *value == 0.0,
            // What is divided by zero is not finite, and that shows without
            // another look at all lanes.
            Lanes::Each(_) => false,
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formula::Formula;

    fn ramp(low: f64, high: f64) -> Lanes {
        Lanes::filled(|out| {
            for (at, value) in out.iter_mut().enumerate() {
                *value = low + (high - low) * at as f64 / LANES as f64;
            }
            true
        })
    }

    #[test]
    fn every_lane_is_what_floats_give_to_the_last_bit() {
        let formulas = [
            "a / (a + b)",
            "a^2 - b^-1 + a^3 - b^-2 + a^7",
            "sqrt(a*b) + ln(a) - log10(b) * log2(a)",
            "a^b + 2^b",
            "sin(a) * cos(b) + tan(a/9)",
            "atan(a/b) + asin(a/9) - acos(b/9)",
            "sinh(a) - cosh(b) + tanh(a)",
            "max(a, b) + min(a, 2*b)",
            "abs(a - b) + floor(a) + ceil(b) - round(a*b)",
            "parallel(a, b, 3)",
            "-exp(-a/b) * 2",
        ];
        let inputs = [ramp(0.5, 3.0), ramp(4.0, 0.1)];
        for text in formulas {
            let formula = Formula::parse(text).unwrap();
            let all = formula.evaluate(&inputs).unwrap();
            for lane in 0..LANES {
                let floats = inputs.clone().map(|input| input.lane(lane));
                let one = formula.evaluate::<f64>(&floats).unwrap();
                assert_eq!(
                    all.lane(lane).to_bits(),
                    one.to_bits(),
                    "{text}, lane {lane}"
                );
            }
        }
    }

    #[test]
    fn one_bad_lane_is_noticed() {
        let with = |bad: f64| {
            Lanes::filled(|out| {
                out.fill(2.0);
                out[777] = bad;
                bad.is_finite()
            })
        };
        assert!(with(3.0).is_finite());
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(!with(bad).is_finite() && !with(bad).add(&with(1.0)).is_finite());
            assert!(!with(bad).multiply(&Lanes::Same(2.0)).is_finite());
        }
        for text in ["1 / x", "parallel(x, 5)"] {
            let formula = Formula::parse(text).unwrap();
            assert!(formula.evaluate(&[with(3.0)]).is_ok());
            for zero in [0.0, -0.0] {
                assert!(formula.evaluate(&[with(zero)]).is_err(), "{text}");
            }
        }
        let formula = Formula::parse("1 / x").unwrap();
        assert!(formula.evaluate(&[with(1e-300)]).is_ok());
    }
}
