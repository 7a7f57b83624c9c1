//! Propagation of distributions by integration: mean and deviation without
//! chance, for few inputs (JCGM 101:2008, 5.4.2, where the integrals can be
//! done).
//!
//! Every input has nodes and weights of its own; the response is summed over
//! all combinations. That is exact for responses that are polynomials, close to
//! it for smooth ones, and of little use for steps: [`Integrated::uncertain_by`]
//! tells.

use super::distribution::Shape;
use super::lanes::{Lanes, all_finite};
use super::nodes::{self, Node};
use super::probability::normal_density;
use super::stream::LANES;
use super::trial::Scores;
use super::{Distribution, Response, Variable};

/// Most combinations of nodes that are looked at.
const MOST_POINTS: f64 = 250_000.0;
/// Most nodes of one input.
const MOST_NODES: usize = 32;
/// Fewest nodes that say anything.
const LEAST_NODES: usize = 3;

/// Mean and standard deviation of a response.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Integrated {
    /// The mean.
    pub mean: f64,
    /// The standard deviation.
    pub deviation: f64,
    /// How much the two change when fewer nodes are taken; far more than they
    /// are wrong, for smooth responses.
    pub uncertain_by: f64,
}

/// Mean and deviation of a response to variables with these distributions.
///
/// `None` where there are too many inputs, or where the response has no value
/// at some of the nodes.
pub fn integrated<R: Response>(response: &R, variables: &[Variable]) -> Option<Integrated> {
    let grid = Grid::new(variables);
    let varying = grid.axes.iter().filter(|axis| axis.varies()).count();
    // As many nodes for each as the number of points allows.
    let nodes = MOST_POINTS.powf(1.0 / varying.max(1) as f64) as usize;
    let nodes = nodes.min(MOST_NODES);
    if nodes <= LEAST_NODES {
        return None;
    }
    let (mean, deviation) = grid.moments(response, nodes)?;
    let (other_mean, other_deviation) = grid.moments(response, (nodes * 3 / 4).max(LEAST_NODES))?;
    let change = (mean - other_mean)
        .abs()
        .max((deviation - other_deviation).abs());
    Some(Integrated {
        mean,
        deviation,
        uncertain_by: change,
    })
}

/// Something that is integrated over.
enum Axis<'a> {
    /// The score of a reel, or a part's own beside it.
    Score,
    /// A variable by itself.
    Values(&'a Distribution),
}

impl Axis<'_> {
    fn varies(&self) -> bool {
        match self {
            Axis::Score => true,
            Axis::Values(distribution) => distribution.standard_uncertainty() > 0.0,
        }
    }

    fn nodes(&self, count: usize) -> Vec<Node> {
        match self {
            Axis::Score => nodes::normal(count),
            Axis::Values(distribution) if self.varies() => nodes_of(distribution, count),
            Axis::Values(distribution) => vec![(distribution.mean(), 1.0)],
        }
    }
}

/// Nodes and weights for a distribution.
fn nodes_of(distribution: &Distribution, count: usize) -> Vec<Node> {
    let between = |low: f64, high: f64, count: usize| -> Vec<Node> {
        let half = 0.5 * (high - low);
        let rule = nodes::uniform(count).into_iter();
        rule.map(|(x, w)| (low + half + half * x, w)).collect()
    };
    // Weights by a density that need not be normalised.
    let weighted = |nodes: Vec<Node>, density: &dyn Fn(f64) -> f64| -> Vec<Node> {
        let whole: f64 = nodes.iter().map(|(x, w)| w * density(*x)).sum();
        nodes
            .into_iter()
            .map(|(x, w)| (x, w * density(x) / whole))
            .collect()
    };
    match distribution.shape() {
        Shape::Normal { mean, deviation } => {
            let rule = nodes::normal(count).into_iter();
            rule.map(|(z, w)| (mean + deviation * z, w)).collect()
        }
        Shape::Rectangular { low, high } => between(*low, *high, count),
        Shape::Triangular { low, high } => {
            let middle = low + 0.5 * (high - low);
            let mut nodes = between(*low, middle, count.div_ceil(2));
            nodes.extend(between(middle, *high, count.div_ceil(2)));
            weighted(nodes, &|x| (x - low).min(high - x))
        }
        Shape::ArcSine { low, high } => {
            // Equal weights at equal steps of the phase (Gauss and Chebyshev).
            let (half, step) = (0.5 * (high - low), std::f64::consts::PI / count as f64);
            let at = |k: usize| low + half - half * ((k as f64 + 0.5) * step).cos();
            (0..count).map(|k| (at(k), 1.0 / count as f64)).collect()
        }
        Shape::Truncated(truncated) => {
            // Beyond nine deviations nothing is left that could count.
            let (low, high) = (truncated.low.max(-9.0), truncated.high.min(9.0));
            let nodes = weighted(between(low, high, count), &normal_density);
            let value = |z: f64| truncated.mean + truncated.deviation * z;
            nodes.into_iter().map(|(z, w)| (value(z), w)).collect()
        }
        Shape::Measured(measured) => {
            let pieces = measured.pieces().into_iter();
            pieces
                .flat_map(|(low, high, share)| {
                    let count = if high > low { 2 } else { 1 };
                    between(low, high, count)
                        .into_iter()
                        .map(move |(x, w)| (x, w * share))
                })
                .collect()
        }
    }
}

/// All axes of a set of variables: first those of the variables, then those of
/// their reels.
struct Grid<'a> {
    variables: &'a [Variable],
    scores: Scores,
    axes: Vec<Axis<'a>>,
}

impl<'a> Grid<'a> {
    fn new(variables: &'a [Variable]) -> Grid<'a> {
        let scores = Scores::of(variables);
        let of_variable = |at: usize| match scores.link(at) {
            Some(_) => Axis::Score,
            None => Axis::Values(&variables[at].distribution),
        };
        let mut axes: Vec<Axis> = (0..variables.len()).map(of_variable).collect();
        axes.extend(scores.reels().iter().map(|_| Axis::Score));
        Grid {
            variables,
            scores,
            axes,
        }
    }

    fn moments<R: Response>(&self, response: &R, count: usize) -> Option<(f64, f64)> {
        let rules: Vec<Vec<Node>> = self.axes.iter().map(|axis| axis.nodes(count)).collect();
        let points: f64 = rules.iter().map(|rule| rule.len() as f64).product();
        if points > 4.0 * MOST_POINTS {
            return None;
        }
        let points = points as usize;
        let mut sums = Weighted::default();
        for start in (0..points).step_by(LANES) {
            let size = LANES.min(points - start);
            let inputs: Vec<Lanes> = (0..self.variables.len())
                .map(|at| {
                    Lanes::filled(|out| {
                        for (lane, value) in out.iter_mut().enumerate() {
                            // Lanes beyond the end repeat the last point.
                            let point = start + lane.min(size - 1);
                            *value = self.value(&rules, at, point);
                        }
                        all_finite(out)
                    })
                })
                .collect();
            let result = response.at(&inputs).ok()?;
            for lane in 0..size {
                sums.add(result.lane(lane), weight(&rules, start + lane));
            }
        }
        Some(sums.moments())
    }

    fn value(&self, rules: &[Vec<Node>], at: usize, point: usize) -> f64 {
        let own = node(rules, at, point).0;
        match self.scores.link(at) {
            None => own,
            Some(link) => {
                let common = node(rules, self.variables.len() + link.reel, point).0;
                self.variables[at]
                    .distribution
                    .at_score(link.score(common, own))
            }
        }
    }
}

/// The node of an axis at a point, whose number counts all combinations.
fn node(rules: &[Vec<Node>], axis: usize, point: usize) -> Node {
    let before: usize = rules[..axis].iter().map(Vec::len).product();
    rules[axis][point / before % rules[axis].len()]
}

fn weight(rules: &[Vec<Node>], point: usize) -> f64 {
    (0..rules.len())
        .map(|axis| node(rules, axis, point).1)
        .product()
}

/// Mean and squares of weighted values, gathered one by one (D. West,
/// Communications of the ACM 22, 1979).
#[derive(Default)]
struct Weighted {
    weight: f64,
    mean: f64,
    squares: f64,
}

impl Weighted {
    fn add(&mut self, value: f64, weight: f64) {
        if weight <= 0.0 {
            return;
        }
        self.weight += weight;
        let distance = value - self.mean;
        self.mean += distance * weight / self.weight;
        self.squares += weight * distance * (value - self.mean);
    }

    fn moments(&self) -> (f64, f64) {
        (self.mean, (self.squares / self.weight).max(0.0).sqrt())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formula::Formula;
    use crate::spread::{Between, MonteCarlo, Reel, Trials};

    fn all() -> Vec<Distribution> {
        vec![
            Distribution::normal(2.0, 0.5).unwrap(),
            Distribution::rectangular(1.0, 3.0).unwrap(),
            Distribution::triangular(1.0, 3.0).unwrap(),
            Distribution::arc_sine(1.0, 3.0).unwrap(),
            Distribution::truncated_normal(2.0, 1.0, 1.5, 3.5).unwrap(),
            Distribution::measured(&[1.0, 1.4, 2.0, 4.0], Between::Interpolated).unwrap(),
            Distribution::measured(&[1.0, 1.4, 2.0, 4.0], Between::Resampled).unwrap(),
        ]
    }

    #[test]
    fn a_distribution_alone_keeps_its_moments() {
        let formula = Formula::parse("x").unwrap();
        for distribution in all() {
            let variable = Variable::new(1, distribution.clone());
            let found = integrated(&formula, &[variable]).unwrap();
            let (mean, deviation) = (distribution.mean(), distribution.standard_uncertainty());
            assert!(
                (found.mean - mean).abs() < 1e-12,
                "{distribution:?} {found:?}"
            );
            assert!(
                (found.deviation - deviation).abs() < 1e-11,
                "{distribution:?} {found:?}"
            );
        }
    }

    #[test]
    fn trials_agree_with_the_integral() {
        let formula = Formula::parse("a * exp(-b / 4) + a^2").unwrap();
        let distributions = all();
        for pair in distributions.windows(2) {
            let variables = [
                Variable::new(1, pair[0].clone()),
                Variable::new(2, pair[1].clone()),
            ];
            let exact = integrated(&formula, &variables).unwrap();
            let settings = MonteCarlo {
                trials: Trials::Exactly(60_000),
                ..MonteCarlo::new(77)
            };
            let trials = settings.run(&formula, &variables, &[]).unwrap();
            let errors = trials.errors.unwrap();
            assert!(
                (trials.mean - exact.mean).abs() < 5.0 * errors.mean,
                "{variables:?}"
            );
            let off = (trials.deviation - exact.deviation).abs();
            assert!(
                off < 6.0 * errors.deviation,
                "{variables:?} {off} {errors:?}"
            );
        }
    }

    #[test]
    fn reels_are_integrated_over_too() {
        // The difference of two values of variance u² and correlation r has
        // the variance 2 u² (1 - r).
        let variable = |key| Variable {
            key,
            distribution: Distribution::normal(5.0, 0.1).unwrap(),
            reel: Some(Reel { key: 3, share: 0.8 }),
        };
        let formula = Formula::parse("a - b").unwrap();
        let found = integrated(&formula, &[variable(1), variable(2)]).unwrap();
        assert!((found.deviation - 0.1 * 0.4f64.sqrt()).abs() < 1e-13);
    }

    #[test]
    fn what_cannot_be_integrated_is_not() {
        let formula = Formula::parse("sqrt(x)").unwrap();
        let part = Variable::new(1, Distribution::rectangular(-1.0, 1.0).unwrap());
        assert_eq!(integrated(&formula, &[part]), None);
        let text: Vec<String> = (0..20).map(|i| format!("x{i}")).collect();
        let sum = Formula::parse(&text.join(" + ")).unwrap();
        let parts: Vec<Variable> = (0..20)
            .map(|key| Variable::new(key, Distribution::rectangular(0.0, 1.0).unwrap()))
            .collect();
        assert_eq!(integrated(&sum, &parts), None);
        // Nodes that jump say so.
        let step = Formula::parse("round(x)").unwrap();
        let part = Variable::new(1, Distribution::rectangular(0.0, 1.1).unwrap());
        assert!(integrated(&step, &[part]).unwrap().uncertain_by > 1e-4);
    }
}
