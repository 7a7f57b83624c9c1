//! Extremes of a response that intervals cannot be put through, such as a
//! voltage of a network.
//!
//! A voltage or a current of a linear network is a ratio of two polynomials
//! that are of the first degree in each element, so it rises or falls with
//! each element all over its tolerance, and its extremes lie at corners. For
//! other responses that is a good guess, which points inside are held against.

use super::worst::{End, Extreme, Extremes};
use super::{Gradient, Input, Response};

/// Up to so many inputs every corner is looked at.
const ALL_CORNERS: usize = 10;
/// Most rounds of going from a corner to a better one.
const MOST_ROUNDS: usize = 20;
/// Points inside that the best corner is held against.
const POINTS: usize = 32;
/// Relative change that solving a network leaves over of none.
const NOISE: f64 = 1e-11;
/// Most rounds of a search inside.
const MOST_STEPS: usize = 200;
/// Step of a search inside that is not worth taking, as a part of the range.
const SMALLEST_STEP: f64 = 1e-8;

/// Both extremes; `None` where the response has no value at some point tried.
pub(super) fn extremes<R: Response>(response: &R, inputs: &[Input]) -> Option<Extremes> {
    let search = |sign| Search {
        response,
        inputs,
        sign,
    };
    // Both searches look at the same points: each is solved for once.
    let tried = Tried::by(&search(1.0))?;
    let low = search(-1.0).run(&tried)?;
    let high = search(1.0).run(&tried)?;
    Some(Extremes { low, high })
}

/// The search for the maximum of `sign` times the response.
struct Search<'a, R> {
    response: &'a R,
    inputs: &'a [Input],
    sign: f64,
}

type Point = (f64, Vec<f64>);

/// Points that both searches look at, each with the response there.
struct Tried {
    /// The nominal point.
    nominal: Point,
    /// All corners, unless there are too many.
    corners: Vec<Point>,
    /// Points inside.
    inside: Vec<Point>,
}

impl Tried {
    /// The response at all of these points; `search` is for the maximum.
    fn by<R: Response>(search: &Search<'_, R>) -> Option<Tried> {
        let inputs = search.inputs;
        let nominal = inputs.iter().map(|input| input.nominal).collect();
        let corners = match inputs.len() {
            count if count <= ALL_CORNERS => 1usize << count,
            _ => 0,
        };
        let corner = |corner: usize| {
            let end = |(at, input): (usize, &Input)| {
                if corner >> at & 1 == 1 {
                    input.high
                } else {
                    input.low
                }
            };
            search.at(inputs.iter().enumerate().map(end).collect())
        };
        Some(Tried {
            nominal: search.at(nominal)?,
            corners: (0..corners).map(corner).collect::<Option<_>>()?,
            inside: search
                .points_inside()
                .map(|point| search.at(point))
                .collect::<Option<_>>()?,
        })
    }
}

impl<R: Response> Search<'_, R> {
    fn run(&self, tried: &Tried) -> Option<Extreme> {
        let mut best = self.climb(self.seen(&tried.nominal))?;
        for corner in &tried.corners {
            if self.sign * corner.0 > best.0 {
                best = self.seen(corner);
            }
        }
        if !self.is_peak(&best.1)? {
            best = self.refine(best)?;
        }
        for point in &tried.inside {
            if self.sign * point.0 > best.0 {
                best = self.refine(self.seen(point))?;
            }
        }
        let (best_value, point) = best;
        let ends = point
            .iter()
            .zip(self.inputs)
            .enumerate()
            .map(|(at, (&value, input))| {
                if !self.matters(at, best_value, &point) {
                    End::Any
                } else if value == input.low {
                    End::Low
                } else if value == input.high {
                    End::High
                } else {
                    End::Between(value)
                }
            });
        let value = self.sign * best_value;
        Some(Extreme {
            value,
            bound: value,
            gap: None,
            ends: ends.collect(),
        })
    }

    /// Whether the response changes, by more than the noise of solving a
    /// network, when an input alone goes to its other end.
    fn matters(&self, at: usize, best: f64, point: &[f64]) -> bool {
        let input = &self.inputs[at];
        [input.low, input.high].into_iter().any(|other| {
            let mut moved = point.to_vec();
            moved[at] = other;
            let change = self
                .at(moved)
                .map_or(f64::INFINITY, |(value, _)| (value - best).abs());
            change > NOISE * best.abs()
        })
    }

    /// A point that was tried, as this search sees it.
    fn seen(&self, (value, point): &Point) -> Point {
        (self.sign * value, point.clone())
    }

    fn at(&self, point: Vec<f64>) -> Option<Point> {
        let value: f64 = self.response.at(&point).ok()?;
        Some((self.sign * value, point))
    }

    /// Goes to the corner that the slopes point to, and on from there.
    fn climb(&self, from: Point) -> Option<Point> {
        let mut best = from;
        for _ in 0..MOST_ROUNDS {
            let gradient = self.slopes(&best.1)?;
            let end = |(at, input): (usize, &Input)| {
                if self.sign * gradient.partial(at) > 0.0 {
                    input.high
                } else {
                    input.low
                }
            };
            let found = self.at(self.inputs.iter().enumerate().map(end).collect())?;
            if found.0 <= best.0 {
                break;
            }
            best = found;
        }
        Some(best)
    }

    /// Whether every slope at a corner leads out of the box.
    fn is_peak(&self, corner: &[f64]) -> Option<bool> {
        let gradient = self.slopes(corner)?;
        let leads_out = |(at, (&value, input)): (usize, (&f64, &Input))| {
            let slope = self.sign * gradient.partial(at);
            (slope >= 0.0 && value == input.high) || (slope <= 0.0 && value == input.low)
        };
        Some(corner.iter().zip(self.inputs).enumerate().all(leads_out))
    }

    fn slopes(&self, point: &[f64]) -> Option<Gradient<f64>> {
        let seeds: Vec<Gradient<f64>> = point
            .iter()
            .enumerate()
            .map(|(at, &value)| Gradient::input(value, at, self.inputs.len()))
            .collect();
        self.response.at(&seeds).ok()
    }

    /// Points spread evenly over the inside: multiples of irrational steps
    /// (the generalised golden ratio), the same for every run.
    fn points_inside(&self) -> impl Iterator<Item = Vec<f64>> {
        let count = self.inputs.len();
        // The root above 1 of x^(count + 1) = x + 1.
        let mut ratio = 2.0f64;
        for _ in 0..40 {
            ratio = (1.0 + ratio).powf(1.0 / (count as f64 + 1.0));
        }
        (1..=POINTS).map(move |step| {
            let place = |(at, input): (usize, &Input)| {
                let share = (0.5 + step as f64 * ratio.powi(-(at as i32 + 1))).fract();
                input.low + share * (input.high - input.low)
            };
            self.inputs.iter().enumerate().map(place).collect()
        })
    }

    /// Steps along one input after another, by smaller steps once none of a
    /// size leads on.
    fn refine(&self, from: Point) -> Option<Point> {
        let mut best = from;
        let mut share = 0.25;
        for _ in 0..MOST_STEPS {
            let before = best.0;
            for (at, input) in self.inputs.iter().enumerate() {
                for step in [-share, share] {
                    let mut point = best.1.clone();
                    let moved = point[at] + step * (input.high - input.low);
                    point[at] = moved.clamp(input.low, input.high);
                    best = better(best, self.at(point)?);
                }
            }
            if best.0 == before {
                share *= 0.5;
            }
            if share < SMALLEST_STEP {
                break;
            }
        }
        Some(best)
    }
}

fn better(a: Point, b: Point) -> Point {
    if b.0 > a.0 { b } else { a }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formula::Formula;

    /// Where both ways can be gone they lead to the same place.
    #[test]
    fn corners_and_enclosures_agree() {
        let input = |nominal: f64| Input {
            nominal,
            low: 0.9 * nominal,
            high: 1.1 * nominal,
        };
        let inputs = [input(2.0), input(3.0), input(5.0)];
        for text in [
            "a / (a + b) * c",
            "a * b - c",
            "a^2 / c + b",
            "(a - 2)^2 + b - c",
        ] {
            let formula = Formula::parse(text).unwrap();
            let searched = extremes(&formula, &inputs).unwrap();
            let enclosed = super::super::worst_case(&formula, &inputs).unwrap();
            assert!(
                (searched.low.value - enclosed.low.value).abs() < 1e-9,
                "{text}"
            );
            assert!(
                (searched.high.value - enclosed.high.value).abs() < 1e-9,
                "{text}"
            );
        }
    }
}
