//! Worst case: the extremes that a response really attains.
//!
//! Where the sign of a derivative is the same over the whole box of inputs,
//! the extreme lies at that input's end. What is left is searched by branch
//! and bound: boxes are split until no box can hold a value that is better by
//! more than [`CLOSE`] than one that was found at a point.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::{Gradient, Input, Interval, Response};
use crate::formula::Scalar;

/// Relative distance of attained extreme and enclosure that ends the search.
pub const CLOSE: f64 = 1e-9;
/// Most boxes that are looked at for one extreme of a response to two inputs.
const MOST_BOXES: usize = 4000;

/// Where an input stands when an extreme is attained.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum End {
    /// At its least value.
    Low,
    /// At its greatest value.
    High,
    /// Between its ends.
    Between(f64),
    /// It does not matter.
    Any,
}

/// One extreme.
#[derive(Clone, PartialEq, Debug)]
pub struct Extreme {
    /// The value, attained at a point of the box.
    pub value: f64,
    /// No value of the box lies beyond this.
    pub bound: f64,
    /// How far value and bound are apart, as a part of the larger of the value
    /// and the nominal one; `None` where nothing encloses the value.
    pub gap: Option<f64>,
    /// Where each input stands then.
    pub ends: Vec<End>,
}

/// Both extremes of a response over a box of inputs.
#[derive(Clone, PartialEq, Debug)]
pub struct Extremes {
    /// The least value.
    pub low: Extreme,
    /// The greatest value.
    pub high: Extreme,
}

/// Least and greatest value of a response while each input keeps to its
/// limits, all independent of each other.
///
/// `None` where the response has no bound, or no value, within the limits.
pub fn worst_case<R: Response>(response: &R, inputs: &[Input]) -> Option<Extremes> {
    if !response.can_be_enclosed() {
        return super::corners::extremes(response, inputs);
    }
    let search = |sign| Search {
        response,
        inputs,
        sign,
    };
    // Both searches begin with the same box.
    let whole: Vec<Interval> = inputs
        .iter()
        .map(|input| Interval::new(input.low, input.high))
        .collect();
    let enclosed = search(1.0).enclosure(&whole);
    let low = search(-1.0).run(whole.clone(), enclosed.clone())?;
    let high = search(1.0).run(whole, enclosed)?;
    Some(Extremes { low, high })
}

/// The search for the maximum of `sign` times the response.
struct Search<'a, R> {
    response: &'a R,
    inputs: &'a [Input],
    sign: f64,
}

/// A part of the box, with the most that the response can be there.
struct Part {
    bound: f64,
    sides: Vec<Interval>,
    /// Input to split next.
    split: Option<usize>,
}

impl PartialEq for Part {
    fn eq(&self, other: &Part) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Part {}
impl PartialOrd for Part {
    fn partial_cmp(&self, other: &Part) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Part {
    fn cmp(&self, other: &Part) -> Ordering {
        self.bound.total_cmp(&other.bound)
    }
}

impl<R: Response> Search<'_, R> {
    /// Searches the whole box, of which `enclosed` is the enclosure.
    fn run(&self, whole: Vec<Interval>, enclosed: Option<Gradient<Interval>>) -> Option<Extreme> {
        let nominal: Vec<f64> = self.inputs.iter().map(|input| input.nominal).collect();
        let mut best = (self.value(&nominal)?, nominal);
        let usual = best.0.abs().max(f64::MIN_POSITIVE);
        // With more inputs each box takes more work, and a search that does not
        // end soon would need a number of boxes that grows with a power of theirs.
        let most_boxes = 8 * MOST_BOXES / self.inputs.len().max(2).pow(3);
        let mut parts = BinaryHeap::new();
        let mut looked = 1;
        parts.push(self.bounded(whole, enclosed, &mut best)?);
        while let Some(part) = parts.pop() {
            let close = part.bound - best.0 <= CLOSE * best.0.abs().max(usual);
            if close || looked >= most_boxes || part.split.is_none() {
                return self.found(best, part.bound, usual);
            }
            // A part that can still hold something better is split in two.
            let at = part.split?;
            let middle = part.sides[at].middle();
            for half in [
                Interval::new(part.sides[at].low(), middle),
                Interval::new(middle, part.sides[at].high()),
            ] {
                let mut sides = part.sides.clone();
                sides[at] = half;
                let enclosed = self.enclosure(&sides);
                let half = self.bounded(sides, enclosed, &mut best)?;
                looked += 1;
                if half.bound > best.0 {
                    parts.push(half);
                }
            }
        }
        let bound = best.0;
        self.found(best, bound, usual)
    }

    fn found(&self, (value, point): (f64, Vec<f64>), bound: f64, usual: f64) -> Option<Extreme> {
        if !bound.is_finite() {
            return None;
        }
        let ends = point
            .iter()
            .zip(self.inputs)
            .enumerate()
            .map(|(at, (&stands, input))| {
                if input.low == input.high || !self.matters(at, &point, value) {
                    End::Any
                } else if stands == input.low {
                    End::Low
                } else if stands == input.high {
                    End::High
                } else {
                    End::Between(stands)
                }
            });
        let bound = bound.max(value);
        Some(Extreme {
            value: self.sign * value,
            bound: self.sign * bound,
            gap: Some((bound - value) / value.abs().max(usual)),
            ends: ends.collect(),
        })
    }

    /// Whether the response changes when an input alone moves to another place.
    /// `here` is the value at the point.
    fn matters(&self, at: usize, point: &[f64], here: f64) -> bool {
        let input = &self.inputs[at];
        [input.low, input.nominal, input.high]
            .into_iter()
            .filter(|&other| other != point[at])
            .any(|other| {
                let mut moved = point.to_vec();
                moved[at] = other;
                self.value(&moved) != Some(here)
            })
    }

    fn value(&self, point: &[f64]) -> Option<f64> {
        self.response
            .at(point)
            .ok()
            .map(|value: f64| self.sign * value)
    }

    /// Bounds the response over a part of the box, after every input that it
    /// rises or falls with all over the part was put to its end, and tries the
    /// part's best corner and middle as points.
    fn bounded(
        &self,
        mut sides: Vec<Interval>,
        mut enclosed: Option<Gradient<Interval>>,
        best: &mut (f64, Vec<f64>),
    ) -> Option<Part> {
        if let Some(gradient) = &enclosed {
            let mut narrowed = false;
            for (at, side) in sides.iter_mut().enumerate() {
                let partial = gradient.partial(at);
                let (rises, falls) = if self.sign > 0.0 {
                    (partial.low() >= 0.0, partial.high() <= 0.0)
                } else {
                    (partial.high() <= 0.0, partial.low() >= 0.0)
                };
                if side.width() > 0.0 && (rises || falls) {
                    *side = Interval::constant(if rises { side.high() } else { side.low() });
                    narrowed = true;
                }
            }
            // Where nothing is left open the value at that point says it all.
            if narrowed && sides.iter().any(|side| side.width() > 0.0) {
                enclosed = self.enclosure(&sides);
            }
        }
        let middle: Vec<f64> = sides.iter().map(|side| side.middle()).collect();
        let at_middle = self.value(&middle);
        let mut candidates = vec![middle.clone()];
        if let Some(gradient) = &enclosed {
            let corner = sides.iter().enumerate().map(|(at, side)| {
                let up = self.sign * gradient.partial(at).middle() > 0.0;
                if up { side.high() } else { side.low() }
            });
            candidates.push(corner.collect());
        }
        for candidate in candidates {
            if let Some(value) = self.value(&candidate)
                && value > best.0
            {
                *best = (value, candidate);
            }
        }
        let mut bound = f64::INFINITY;
        let open: Vec<usize> = (0..sides.len())
            .filter(|&at| sides[at].width() > 0.0)
            .collect();
        let mut split = open.iter().copied().max_by(|&a, &b| {
            let share =
                |at: usize| sides[at].width() / self.inputs[at].reach().max(f64::MIN_POSITIVE);
            share(a).total_cmp(&share(b))
        });
        if let Some(gradient) = &enclosed {
            bound = if self.sign > 0.0 {
                gradient.value.high()
            } else {
                -gradient.value.low()
            };
            if let Some(at_middle) = at_middle {
                // Mean value form: tight where the part is small.
                let mut linear = Interval::constant(self.sign * at_middle);
                for &at in &open {
                    let step = sides[at].subtract(&Interval::constant(middle[at]));
                    linear = linear.add(&gradient.partial(at).multiply(&step));
                }
                let most = if self.sign > 0.0 {
                    linear.high()
                } else {
                    -linear.low()
                };
                if most.is_finite() {
                    bound = bound.min(most);
                }
                if open.is_empty() {
                    bound = at_middle;
                }
            }
            let pull = |at: usize| {
                let partial = gradient.partial(at);
                partial.high().abs().max(partial.low().abs()) * sides[at].width()
            };
            if open.iter().all(|&at| pull(at).is_finite()) {
                split = open
                    .iter()
                    .copied()
                    .max_by(|&a, &b| pull(a).total_cmp(&pull(b)));
            }
        } else if open.is_empty() {
            // A single point without a value: the response is not defined there.
            return None;
        }
        Some(Part {
            bound,
            sides,
            split,
        })
    }

    fn enclosure(&self, sides: &[Interval]) -> Option<Gradient<Interval>> {
        let seeds: Vec<Gradient<Interval>> = sides
            .iter()
            .enumerate()
            .map(|(at, side)| Gradient::input(*side, at, sides.len()))
            .collect();
        self.response.at(&seeds).ok()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formula::Formula;

    fn input(nominal: f64, share: f64) -> Input {
        Input {
            nominal,
            low: nominal * (1.0 - share),
            high: nominal * (1.0 + share),
        }
    }

    fn extremes(text: &str, inputs: &[Input]) -> Extremes {
        worst_case(&Formula::parse(text).unwrap(), inputs).unwrap()
    }

    #[test]
    fn a_part_that_stands_twice_is_one_part() {
        let parts = [input(10_000.0, 0.01), input(20_000.0, 0.01)];
        let one = extremes("a / (a + b)", &parts);
        let other = extremes("1 / (1 + b / a)", &[parts[1], parts[0]]);
        let exact = 10_100.0 / (10_100.0 + 19_800.0);
        assert!((one.high.value - exact).abs() < 1e-15);
        assert!((other.high.value - exact).abs() < 1e-15);
        assert_eq!(one.high.ends, vec![End::High, End::Low]);
        assert_eq!(extremes("a - a", &parts[..1]).high.value, 0.0);
    }

    #[test]
    fn an_extreme_between_the_ends_is_found() {
        let x = Input {
            nominal: 0.0,
            low: -1.0,
            high: 2.0,
        };
        let square = extremes("x^2 - x", &[x]);
        assert!((square.low.value + 0.25).abs() < 1e-9, "{square:?}");
        assert_eq!(square.high.value, 2.0);
        assert!(matches!(square.low.ends[0], End::Between(at) if (at - 0.5).abs() < 1e-4));
        // Power into a load is greatest where the load matches its source.
        let load = Input {
            nominal: 30.0,
            low: 10.0,
            high: 200.0,
        };
        let power = extremes("R / (R + 50)^2", &[load]);
        assert!((power.high.value - 1.0 / 200.0).abs() < 1e-11, "{power:?}");
    }

    #[test]
    fn corners_are_never_beaten_by_points_inside() {
        let formulas = [
            "a*b - b^2",
            "sin(3*a) + b",
            "abs(a - b) * a",
            "max(a, b) - min(a, b^2)",
            "a^2/b - 3*a*b",
        ];
        for text in formulas {
            let inputs = [input(1.0, 0.4), input(1.2, 0.3)];
            let formula = Formula::parse(text).unwrap();
            let found = worst_case(&formula, &inputs).unwrap();
            for i in 0..=60 {
                for j in 0..=60 {
                    let at = |input: &Input, step: i32| {
                        input.low + (input.high - input.low) * f64::from(step) / 60.0
                    };
                    let values: Vec<f64> = formula
                        .names()
                        .iter()
                        .map(|n| {
                            if n.name == "a" {
                                at(&inputs[0], i)
                            } else {
                                at(&inputs[1], j)
                            }
                        })
                        .collect();
                    let value = formula.evaluate::<f64>(&values).unwrap();
                    let slack = 1e-9 * value.abs();
                    assert!(
                        value <= found.high.bound + slack && value >= found.low.bound - slack,
                        "{text}"
                    );
                }
            }
            assert!(
                found.high.gap <= Some(CLOSE) && found.low.gap <= Some(CLOSE),
                "{text}: {found:?}"
            );
        }
    }

    #[test]
    fn what_has_no_bound_has_no_extremes() {
        let wide = Input {
            nominal: 1.0,
            low: -1.0,
            high: 1.5,
        };
        assert_eq!(worst_case(&Formula::parse("1 / x").unwrap(), &[wide]), None);
        assert_eq!(worst_case(&Formula::parse("ln(x)").unwrap(), &[wide]), None);
    }

    #[test]
    fn steps_are_searched_too() {
        let x = Input {
            nominal: 2.0,
            low: 1.4,
            high: 3.3,
        };
        let found = extremes("round(x) * 2", &[x]);
        assert_eq!((found.low.value, found.high.value), (2.0, 6.0));
    }
}
