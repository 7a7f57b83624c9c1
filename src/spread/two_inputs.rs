//! The distribution of a response to one or two inputs, without chance.
//!
//! Where the response only rises, or only falls, with one of two independent
//! inputs, the share of its values below y is an integral over the other: of
//! the share of the first that brings the response below y (JCGM 101:2008,
//! 5.2 with equation 1). Dividers are of this kind.

use super::coverage::CoverageRule;
use super::nodes::{self, Node};
use super::probability::{normal_density, normal_quantile};
use super::{Gradient, Interval, Response, Variable};

/// Shares are integrated to this.
const CLOSE: f64 = 1e-12;
/// Values at which the share below is known from the start.
const KNOWN: usize = 64;
/// Halvings of a piece that is integrated over.
const MOST_HALVINGS: u32 = 30;
/// What is left out on each side of an endless distribution.
const LEFT_OUT: f64 = 1e-16;

/// A response to one or two independent inputs.
pub struct TwoInputs<'a, R> {
    response: &'a R,
    variables: &'a [Variable],
    /// The input with which the response rises or falls.
    across: Side,
    rises: bool,
    /// The other, if there is one.
    along: Option<Side>,
    /// The values of all inputs, of which those two are replaced.
    point: Vec<f64>,
    rule: Vec<Node>,
    /// Some values and the share below each, in rising order.
    known: Vec<(f64, f64)>,
}

/// An input and the values that it can have.
#[derive(Clone, Copy)]
struct Side {
    at: usize,
    range: Interval,
}

impl<'a, R: Response> TwoInputs<'a, R> {
    /// `None` where more than two inputs vary or share a reel, or where the
    /// response has no value, or rises and falls with both inputs.
    pub fn new(response: &'a R, variables: &'a [Variable]) -> Option<TwoInputs<'a, R>> {
        let side = |at: usize| {
            let distribution = &variables[at].distribution;
            let (low, high) = (
                distribution.quantile(LEFT_OUT),
                distribution.quantile(1.0 - LEFT_OUT),
            );
            Side {
                at,
                range: Interval::new(low, high).meet(distribution.support()),
            }
        };
        let varying: Vec<Side> = (0..variables.len())
            .filter(|&at| variables[at].distribution.standard_uncertainty() > 0.0)
            .map(side)
            .collect();
        let in_reels = varying
            .iter()
            .filter(|side| variables[side.at].reel.is_some_and(|reel| reel.share > 0.0));
        if varying.is_empty() || varying.len() > 2 || in_reels.count() > 1 {
            return None;
        }
        let point: Vec<f64> = variables
            .iter()
            .map(|variable| variable.distribution.mean())
            .collect();
        let seeds: Vec<Gradient<Interval>> = (0..variables.len())
            .map(|at| {
                let side = varying.iter().find(|side| side.at == at);
                let range = side.map_or(Interval::new(point[at], point[at]), |side| side.range);
                Gradient::input(range, at, variables.len())
            })
            .collect();
        let gradient = response.at(&seeds).ok()?;
        let slope = |side: &Side| gradient.partial(side.at);
        let position = varying
            .iter()
            .position(|side| slope(side).low() >= 0.0 || slope(side).high() <= 0.0)?;
        let across = varying[position];
        let mut found = TwoInputs {
            response,
            variables,
            across,
            rises: slope(&across).low() >= 0.0,
            along: varying.iter().copied().find(|side| side.at != across.at),
            point,
            rule: nodes::uniform(10),
            known: Vec::new(),
        };
        let (range, steps) = (gradient.value, KNOWN as f64);
        let at = |step: usize| range.low() + range.width() * (step as f64 / steps);
        found.known = (0..=KNOWN)
            .map(|step| (at(step), found.below(at(step))))
            .collect();
        Some(found)
    }

    /// The share of values below `y`.
    pub fn below(&self, y: f64) -> f64 {
        let Some(along) = self.along else {
            return self.share(y, self.point.clone());
        };
        let distribution = &self.variables[along.at].distribution;
        let share = |x: f64| {
            let mut point = self.point.clone();
            point[along.at] = x.clamp(along.range.low(), along.range.high());
            self.share(y, point)
        };
        // Over scores where they are the natural measure, and over shares.
        if distribution.is_normal() {
            let end = -normal_quantile(LEFT_OUT);
            let weighted = |z: f64| normal_density(z) * share(distribution.at_score(z));
            self.integral(&weighted, -end, end)
        } else {
            self.integral(&|p| share(distribution.quantile(p)), 0.0, 1.0)
        }
    }

    /// The value with a share `p` of all values below it.
    pub fn quantile(&self, p: f64) -> f64 {
        let above = self.known.partition_point(|(_, share)| *share < p);
        let above = above.clamp(1, KNOWN);
        let ends = [self.known[above - 1], self.known[above]].map(|(y, share)| (y, share - p));
        crossing(ends, |y| self.below(y) - p)
    }

    /// The coverage interval by a rule.
    pub fn interval(&self, coverage: f64, rule: CoverageRule) -> Interval {
        let start = match rule {
            CoverageRule::Symmetric => 0.5 * (1.0 - coverage),
            CoverageRule::Shortest => self.shortest_start(coverage),
        };
        Interval::new(self.quantile(start), self.quantile(start + coverage))
    }

    /// The share of values below `y` while only the first input varies.
    fn share(&self, y: f64, mut point: Vec<f64>) -> f64 {
        let Side { at, range } = self.across;
        let mut off = |x: f64| -> f64 {
            point[at] = x;
            let value: Result<f64, _> = self.response.at(&point);
            // There is a value everywhere: the enclosure had one.
            value.map_or(
                f64::NAN,
                |value| if self.rises { value - y } else { y - value },
            )
        };
        let ends = [range.low(), range.high()].map(|x| (x, off(x)));
        let up_to = if ends[0].1 >= 0.0 {
            0.0
        } else if ends[1].1 <= 0.0 {
            1.0
        } else {
            let distribution = &self.variables[at].distribution;
            distribution.below(crossing(ends, off))
        };
        if self.rises { up_to } else { 1.0 - up_to }
    }

    fn gauss(&self, function: &dyn Fn(f64) -> f64, low: f64, high: f64) -> f64 {
        let half = 0.5 * (high - low);
        let at = |x: f64| function(low + half + half * x);
        2.0 * half * self.rule.iter().map(|(x, w)| w * at(*x)).sum::<f64>()
    }

    fn integral(&self, function: &dyn Fn(f64) -> f64, low: f64, high: f64) -> f64 {
        let whole = self.gauss(function, low, high);
        self.halved(function, (low, high), whole, MOST_HALVINGS)
    }

    /// An integral, of which the parts are halved until that changes nothing.
    fn halved(
        &self,
        function: &dyn Fn(f64) -> f64,
        (low, high): (f64, f64),
        whole: f64,
        halvings: u32,
    ) -> f64 {
        let middle = 0.5 * (low + high);
        let parts = [
            self.gauss(function, low, middle),
            self.gauss(function, middle, high),
        ];
        let sum = parts[0] + parts[1];
        if (sum - whole).abs() <= CLOSE || halvings == 0 {
            return sum;
        }
        self.halved(function, (low, middle), parts[0], halvings - 1)
            + self.halved(function, (middle, high), parts[1], halvings - 1)
    }

    /// The share below the shortest interval: the least of some lengths, then
    /// of parabolas through three of them.
    fn shortest_start(&self, coverage: f64) -> f64 {
        let room = 1.0 - coverage;
        let length = |start: f64| self.quantile(start + coverage) - self.quantile(start);
        let mut step = room / 8.0;
        let lengths: Vec<f64> = (0..=8).map(|at| length(f64::from(at) * step)).collect();
        let least = (0..=8).fold(0, |a, b| if lengths[b] < lengths[a] { b } else { a });
        let (mut best, mut shortest) = (least as f64 * step, lengths[least]);
        if lengths.iter().all(|&length| length <= 1.01 * shortest) {
            return 0.5 * room;
        }
        for _ in 0..4 {
            let (left, right) = ((best - step).max(0.0), (best + step).min(room));
            let (to_left, to_right) = (length(left) - shortest, length(right) - shortest);
            let (a, b) = (best - left, right - best);
            let below = a * to_right + b * to_left;
            let vertex = best + 0.5 * (b * b * to_left - a * a * to_right) / below;
            step *= 0.25;
            for other in [vertex, left, right] {
                let place = other.clamp(0.0, room);
                let found = if place.is_finite() {
                    length(place)
                } else {
                    f64::INFINITY
                };
                if found < shortest {
                    (best, shortest) = (place, found);
                }
            }
        }
        best
    }
}

/// Where a rising function crosses zero between two bounds with their values,
/// to the last digits (the Illinois variant of false position, with halving
/// where it is slow).
fn crossing(ends: [(f64, f64); 2], mut function: impl FnMut(f64) -> f64) -> f64 {
    let [(mut low, mut at_low), (mut high, mut at_high)] = ends;
    if at_low >= 0.0 {
        return low;
    }
    if at_high <= 0.0 {
        return high;
    }
    let mut last = 0.0;
    for step in 0..200 {
        let width = high - low;
        if width <= 4.0 * f64::EPSILON * low.abs().max(high.abs()) {
            break;
        }
        let part = at_low / (at_low - at_high);
        let mut x = low + part * width;
        if step % 4 == 3 || !(low < x && x < high) {
            x = low + 0.5 * width;
        }
        let value = function(x);
        if value == 0.0 {
            return x;
        }
        let side = value.signum();
        if side < 0.0 {
            (low, at_low) = (x, value);
            if last == side {
                at_high *= 0.5;
            }
        } else {
            (high, at_high) = (x, value);
            if last == side {
                at_low *= 0.5;
            }
        }
        last = side;
    }
    0.5 * (low + high)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formula::Formula;
    use crate::spread::{Distribution, MonteCarlo, Reel, Trials};

    fn variables(distributions: &[Distribution]) -> Vec<Variable> {
        let numbered = distributions.iter().enumerate();
        numbered
            .map(|(at, shape)| Variable::new(at as u64, shape.clone()))
            .collect()
    }

    fn rectangular(low: f64, high: f64) -> Distribution {
        Distribution::rectangular(low, high).unwrap()
    }

    #[test]
    fn one_input_keeps_its_quantiles() {
        let formula = Formula::parse("3 - 2*x").unwrap();
        let parts = variables(&[Distribution::normal(1.0, 0.5).unwrap()]);
        let found = TwoInputs::new(&formula, &parts).unwrap();
        let interval = found.interval(0.95, CoverageRule::Symmetric);
        assert!((interval.low() - (1.0 - 1.959963984540054)).abs() < 1e-10);
        assert!((interval.high() - (1.0 + 1.959963984540054)).abs() < 1e-10);
    }

    /// The sum of two rectangular values of equal width is triangular, the
    /// product of two between 0 and 1 is below y with the share y - y ln y.
    #[test]
    fn closed_forms_are_met() {
        let parts = variables(&[rectangular(0.0, 1.0), rectangular(0.0, 1.0)]);
        let sum = Formula::parse("a + b").unwrap();
        let found = TwoInputs::new(&sum, &parts).unwrap();
        for p in [0.025, 0.3, 0.5, 0.9] {
            let exact = Distribution::triangular(0.0, 2.0).unwrap().quantile(p);
            assert!((found.quantile(p) - exact).abs() < 1e-10, "{p}");
        }
        let shortest = found.interval(0.8, CoverageRule::Shortest);
        let exact = 2.0 * (1.0 - 0.2f64.sqrt());
        assert!((shortest.width() - exact).abs() < 1e-7, "{shortest:?}");
        let product = Formula::parse("a * b").unwrap();
        let found = TwoInputs::new(&product, &parts).unwrap();
        for y in [0.01f64, 0.2, 0.9] {
            assert!((found.below(y) - (y - y * y.ln())).abs() < 1e-10, "{y}");
        }
    }

    #[test]
    fn trials_agree() {
        let formula = Formula::parse("b / (a + b)").unwrap();
        let shapes = [
            Distribution::arc_sine(18.0, 22.0).unwrap(),
            Distribution::normal(30.0, 1.0).unwrap(),
        ];
        let parts = variables(&shapes);
        let exact = TwoInputs::new(&formula, &parts).unwrap();
        let settings = MonteCarlo {
            trials: Trials::Exactly(100_000),
            ..MonteCarlo::new(12)
        };
        let found = settings.run(&formula, &parts, &[]).unwrap();
        let errors = found.errors.unwrap();
        let (a, b) = (
            exact.interval(0.95, CoverageRule::Symmetric),
            found.interval(CoverageRule::Symmetric),
        );
        assert!((a.low() - b.low()).abs() < 4.0 * errors.low, "{a:?} {b:?}");
        assert!(
            (a.high() - b.high()).abs() < 4.0 * errors.high,
            "{a:?} {b:?}"
        );
    }

    #[test]
    fn what_is_not_of_this_kind_is_refused() {
        let normal = Distribution::normal(0.0, 1.0).unwrap();
        let product = Formula::parse("a * b").unwrap();
        assert!(TwoInputs::new(&product, &variables(&[normal.clone(), normal.clone()])).is_none());
        let sum = Formula::parse("a + b + c").unwrap();
        let three = variables(&[normal.clone(), normal.clone(), normal.clone()]);
        assert!(TwoInputs::new(&sum, &three).is_none());
        let mut reeled = variables(&[normal.clone(), normal]);
        for part in &mut reeled {
            part.reel = Some(Reel { key: 1, share: 0.5 });
        }
        assert!(TwoInputs::new(&Formula::parse("a + b").unwrap(), &reeled).is_none());
        let fixed = variables(&[rectangular(2.0, 2.0)]);
        assert!(TwoInputs::new(&Formula::parse("a").unwrap(), &fixed).is_none());
    }
}
