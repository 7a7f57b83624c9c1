//! Extremes of a response that intervals cannot be put through, such as a
//! voltage of a network.
//!
//! A voltage or a current of a linear network is a ratio of two polynomials
//! that are of the first degree in each element, so it rises or falls with
//! each element all over its tolerance, and its extremes lie at corners. For
//! other responses that is a good guess, which points inside are held against.

use super::worst::{CLOSE, End, Extreme, Extremes};
use super::{Gradient, Input, Response};
use crate::formula::Asker;

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
    // Both searches look at the same points: each is solved for once.
    let tried = Tried::by(response, inputs)?;
    let search = |sign| Search {
        response,
        ask: response.asker(),
        inputs,
        sign,
    };
    let low = search(-1.0).run(&tried)?;
    let high = search(1.0).run(&tried)?;
    Some(Extremes { low, high })
}

/// The search for the maximum of `sign` times the response.
struct Search<'a, R> {
    response: &'a R,
    ask: Asker<'a>,
    inputs: &'a [Input],
    sign: f64,
}

type Point = (f64, Vec<f64>);

/// Points that both searches look at: the nominal one, all corners unless
/// there are too many, then those inside.
struct Tried {
    /// Places of each input at all of these points.
    columns: Vec<Vec<f64>>,
    /// The response there.
    values: Vec<f64>,
    corners: usize,
}

impl Tried {
    fn by<R: Response>(response: &R, inputs: &[Input]) -> Option<Tried> {
        let corners = match inputs.len() {
            count if count <= ALL_CORNERS => 1usize << count,
            _ => 0,
        };
        let shares = shares_inside(inputs.len());
        let column = |(at, input): (usize, &Input)| {
            let end = |corner: usize| {
                if corner >> at & 1 == 1 {
                    input.high
                } else {
                    input.low
                }
            };
            let inside = shares[at]
                .iter()
                .map(|share| input.low + share * (input.high - input.low));
            let ends = (0..corners).map(end);
            std::iter::once(input.nominal)
                .chain(ends)
                .chain(inside)
                .collect()
        };
        let columns: Vec<Vec<f64>> = inputs.iter().enumerate().map(column).collect();
        let mut values = vec![0.0; 1 + corners + POINTS];
        response.at_each(&columns, &mut values)?;
        Some(Tried {
            columns,
            values,
            corners,
        })
    }

    fn point(&self, at: usize) -> Vec<f64> {
        self.columns.iter().map(|column| column[at]).collect()
    }
}

impl<R: Response> Search<'_, R> {
    fn run(mut self, tried: &Tried) -> Option<Extreme> {
        let (corners, inside) = tried.values[1..].split_at(tried.corners);
        let nominal = self.sign * tried.values[0];
        let mut best = (nominal, tried.point(0));
        if corners.is_empty() {
            best = self.climb(best)?;
        }
        let mut corner = None;
        for (at, value) in corners.iter().enumerate() {
            if self.sign * value > best.0 {
                best.0 = self.sign * value;
                corner = Some(at);
            }
        }
        if let Some(at) = corner {
            best.1 = tried.point(1 + at);
        }
        let usual = nominal.abs().max(best.0.abs());
        if self.promise(&best.1)? > CLOSE * usual {
            best = self.refine(best)?;
        }
        for (at, value) in inside.iter().enumerate() {
            if self.sign * value > best.0 {
                let point = tried.point(1 + tried.corners + at);
                best = self.refine((self.sign * value, point))?;
            }
        }
        let (best_value, point) = best;
        // What was found inside is better than any corner.
        let corner = corner.filter(|at| self.sign * corners[*at] == best_value);
        let ends = point
            .iter()
            .zip(self.inputs)
            .enumerate()
            .map(|(at, (&value, input))| {
                let matters = match corner {
                    // The corner across has been looked at.
                    Some(corner) => {
                        let across = self.sign * corners[corner ^ 1 << at];
                        is_change(across, best_value)
                    }
                    None => self.matters(at, best_value, &point),
                };
                if !matters {
                    End::Any
                } else if value == input.low {
                    End::Low
                } else if value == input.high {
                    End::High
                } else {
                    End::Between(value)
                }
            })
            .collect();
        let value = self.sign * best_value;
        Some(Extreme {
            value,
            bound: value,
            gap: None,
            ends,
        })
    }

    /// Whether the response changes when an input alone goes to its other end.
    fn matters(&mut self, at: usize, best: f64, point: &[f64]) -> bool {
        let input = self.inputs[at];
        let mut moved = point.to_vec();
        [input.low, input.high].into_iter().any(|other| {
            // The point itself has been looked at.
            if other == point[at] {
                return false;
            }
            moved[at] = other;
            self.value(&moved)
                .is_none_or(|value| is_change(value, best))
        })
    }

    fn value(&mut self, point: &[f64]) -> Option<f64> {
        Some(self.sign * (self.ask)(point)?)
    }

    /// Goes to the corner that the slopes point to, and on from there. Where
    /// all that lead on together lead nowhere, as for two inputs of which only
    /// the product counts, they are followed one by one.
    fn climb(&mut self, from: Point) -> Option<Point> {
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
            let corner: Vec<f64> = self.inputs.iter().enumerate().map(end).collect();
            let value = self.value(&corner)?;
            if value > best.0 {
                best = (value, corner);
                continue;
            }
            let before = best.0;
            for (at, &end) in corner.iter().enumerate() {
                let from = std::mem::replace(&mut best.1[at], end);
                let value = if from == end {
                    before
                } else {
                    self.value(&best.1)?
                };
                if value > best.0 {
                    best.0 = value;
                } else {
                    best.1[at] = from;
                }
            }
            if best.0 == before {
                break;
            }
        }
        Some(best)
    }

    /// What the slopes at a point promise to those who follow them to the
    /// sides of the box: nothing at a corner where all of them lead out.
    fn promise(&self, point: &[f64]) -> Option<f64> {
        let gradient = self.slopes(point)?;
        let of_input = |(at, (&value, input)): (usize, (&f64, &Input))| {
            let slope = self.sign * gradient.partial(at);
            let way = if slope > 0.0 { input.high } else { input.low };
            slope * (way - value)
        };
        Some(
            point
                .iter()
                .zip(self.inputs)
                .enumerate()
                .map(of_input)
                .sum(),
        )
    }

    fn slopes(&self, point: &[f64]) -> Option<Gradient<f64>> {
        let seeds: Vec<Gradient<f64>> = point
            .iter()
            .enumerate()
            .map(|(at, &value)| Gradient::input(value, at, self.inputs.len()))
            .collect();
        self.response.at(&seeds).ok()
    }

    /// Steps along one input after another, by smaller steps once none of a
    /// size leads on.
    fn refine(&mut self, from: Point) -> Option<Point> {
        let mut best = from;
        let mut share = 0.25;
        for _ in 0..MOST_STEPS {
            let before = best.0;
            for (at, input) in self.inputs.iter().enumerate() {
                for step in [-share, share] {
                    let from = best.1[at];
                    let moved = from + step * (input.high - input.low);
                    best.1[at] = moved.clamp(input.low, input.high);
                    let value = self.value(&best.1)?;
                    if value > best.0 {
                        best.0 = value;
                    } else {
                        best.1[at] = from;
                    }
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

/// Whether a value differs from another by more than the noise of solving a
/// network.
fn is_change(value: f64, from: f64) -> bool {
    (value - from).abs() > NOISE * from.abs()
}

/// Shares of the range of each input, at points spread evenly over the inside:
/// multiples of irrational steps (the generalised golden ratio), the same for
/// every run.
fn shares_inside(count: usize) -> Vec<[f64; POINTS]> {
    // The root above 1 of x^(count + 1) = x + 1.
    let mut ratio = 2.0f64;
    for _ in 0..40 {
        ratio = (1.0 + ratio).powf(1.0 / (count as f64 + 1.0));
    }
    let of_input = |at: usize| {
        let each = ratio.powi(-(at as i32 + 1));
        std::array::from_fn(|step| (0.5 + (step + 1) as f64 * each).fract())
    };
    (0..count).map(of_input).collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formula::Formula;

    /// Truth: the first product is least where one of its factors is at its
    /// greatest and the other at its least, and the sum in the second grows with
    /// each (calculus). Twelve inputs have too many corners to try each.
    #[test]
    fn inputs_of_which_only_the_product_counts_are_followed_one_by_one() {
        let around = |nominal: f64, reach: f64| Input {
            nominal,
            low: nominal - reach,
            high: nominal + reach,
        };
        let mut inputs = vec![around(0.0, 2.0), around(0.0, 3.0)];
        inputs.extend((0..10).map(|_| around(1.0, 0.1)));
        let names: Vec<String> = (0..10).map(|at| format!("x{at}")).collect();
        let text = format!("p * q + 0.01 * ({})", names.join(" + "));
        let formula = Formula::parse(&text).unwrap();
        let found = extremes(&formula, &inputs).unwrap();
        assert!((found.low.value + 6.0 - 0.09).abs() < 1e-9, "{found:?}");
        assert!((found.high.value - 6.0 - 0.11).abs() < 1e-9, "{found:?}");
    }

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
