//! Trials: a response, evaluated for draws of all of its inputs.

use super::lanes::{Lanes, all_finite};
use super::reel::correlation_of_scores;
use super::stream::{LANES, Stream};
use super::{Distribution, Reel, Response};

/// An input that varies by chance.
#[derive(Clone, PartialEq, Debug)]
pub struct Variable {
    /// A number of its own, the same in every run: a hash of the name, say. It
    /// decides the draws together with the seed, so a part that stands in two
    /// figures is the same part in both.
    pub key: u64,
    /// What is known of it.
    pub distribution: Distribution,
    /// The reel, where parts come from one.
    pub reel: Option<Reel>,
}

impl Variable {
    /// A variable that has nothing in common with others.
    pub fn new(key: u64, distribution: Distribution) -> Variable {
        Variable {
            key,
            distribution,
            reel: None,
        }
    }
}

/// Keeps streams of reels apart from those of variables, whatever their keys.
const REELS: u64 = 0x7265_656c_7265_656c;

/// How trials of a response are made.
pub(super) struct Plan<'a, R> {
    response: &'a R,
    variables: &'a [Variable],
    seed: u64,
    scores: Scores,
}

/// How variables of common reels come by their normal scores.
pub(super) struct Scores {
    /// Keys of all reels, each once.
    reels: Vec<u64>,
    links: Vec<Option<Link>>,
}

/// A score made of that of a reel and one of its own.
pub(super) struct Link {
    /// Number of the reel.
    pub reel: usize,
    /// Weights, whose squares add up to one.
    common: f64,
    own: f64,
}

impl Link {
    /// The score, from that of the reel and an own one.
    pub fn score(&self, common: f64, own: f64) -> f64 {
        self.common * common + self.own * own
    }
}

impl Scores {
    /// Of these variables.
    pub fn of(variables: &[Variable]) -> Scores {
        let mut reels: Vec<u64> = Vec::new();
        let links = variables
            .iter()
            .map(|variable| {
                let reel = variable.reel?;
                let correlation = correlation_of_scores(&variable.distribution, reel.share);
                let known = reels.iter().position(|&key| key == reel.key);
                let at = known.unwrap_or_else(|| {
                    reels.push(reel.key);
                    reels.len() - 1
                });
                Some(Link {
                    reel: at,
                    common: correlation.sqrt(),
                    own: (1.0 - correlation).sqrt(),
                })
            })
            .collect();
        Scores { reels, links }
    }

    /// Keys of all reels, each once.
    pub fn reels(&self) -> &[u64] {
        &self.reels
    }

    /// The link of a variable to its reel, if it has one.
    pub fn link(&self, variable: usize) -> Option<&Link> {
        self.links[variable].as_ref()
    }
}

impl<'a, R: Response> Plan<'a, R> {
    /// Trials of a response under a seed.
    pub fn new(response: &'a R, variables: &'a [Variable], seed: u64) -> Plan<'a, R> {
        Plan {
            response,
            variables,
            seed,
            scores: Scores::of(variables),
        }
    }

    /// Appends the values of the first trials of block number `block`, as many
    /// as there are lanes at most. A trial without a value appends nothing.
    pub fn run(&self, block: u64, trials: usize, values: &mut Vec<f64>) {
        let inputs = self.inputs(block);
        let trials = trials.min(LANES);
        match self.response.at(&inputs) {
            Ok(result) => result.append(trials, values),
            Err(_) => {
                // Some lane has no value: look at them one by one.
                for lane in 0..trials {
                    let point: Vec<f64> = inputs.iter().map(|input| input.lane(lane)).collect();
                    if let Ok(value) = self.response.at(&point)
                        && f64::is_finite(value)
                    {
                        values.push(value);
                    }
                }
            }
        }
    }

    fn inputs(&self, block: u64) -> Vec<Lanes> {
        self.scores.draw(self.variables, self.seed, block)
    }
}

impl Scores {
    /// The draws of a block, those of each variable.
    fn draw(&self, variables: &[Variable], seed: u64, block: u64) -> Vec<Lanes> {
        let of_reel = |&key: &u64| {
            Lanes::filled(|out| {
                Stream::new(seed ^ REELS, key, block).normals(out, |z| z);
                all_finite(out)
            })
        };
        let reels: Vec<Lanes> = self.reels.iter().map(of_reel).collect();
        let draw = |(at, variable): (usize, &Variable)| {
            let mut stream = Stream::new(seed, variable.key, block);
            Lanes::filled(|out| {
                let Some(link) = self.link(at) else {
                    variable.distribution.draw(&mut stream, out);
                    return variable.distribution.is_bounded() || all_finite(out);
                };
                stream.normals(out, |z| z);
                for (lane, value) in out.iter_mut().enumerate() {
                    let score = link.score(reels[link.reel].lane(lane), *value);
                    *value = variable.distribution.at_score(score);
                }
                all_finite(out)
            })
        };
        variables.iter().enumerate().map(draw).collect()
    }
}

/// So many draws of each variable under a seed: those that trials of a response
/// to them see, so that a part which two responses hang on is the same in both.
pub fn draws(variables: &[Variable], seed: u64, count: usize) -> Vec<Vec<f64>> {
    let scores = Scores::of(variables);
    let mut columns = vec![Vec::with_capacity(count); variables.len()];
    for block in 0..count.div_ceil(LANES) {
        let lanes = scores.draw(variables, seed, block as u64);
        let trials = LANES.min(count - block * LANES);
        for (column, lanes) in columns.iter_mut().zip(&lanes) {
            column.extend((0..trials).map(|lane| lanes.lane(lane)));
        }
    }
    columns
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formula::Formula;

    fn values(formula: &str, variables: &[Variable]) -> Vec<f64> {
        let formula = Formula::parse(formula).unwrap();
        let plan = Plan::new(&formula, variables, 11);
        let mut values = Vec::new();
        for block in 0..40 {
            plan.run(block, LANES, &mut values);
        }
        values
    }

    fn part(key: u64, reel: Option<Reel>) -> Variable {
        Variable {
            key,
            distribution: Distribution::rectangular(-1.0, 1.0).unwrap(),
            reel,
        }
    }

    #[test]
    fn parts_of_one_reel_are_correlated_as_stated() {
        let reel = Some(Reel { key: 9, share: 0.6 });
        let pair = [part(1, reel), part(2, reel)];
        let (a, b) = (values("a", &pair[..1]), values("b", &pair[1..]));
        let found = crate::spread::statistics::correlation(&a, &b).unwrap();
        // Five standard errors of a correlation.
        let error = (1.0 - 0.36) / (a.len() as f64).sqrt();
        assert!((found - 0.6).abs() < 5.0 * error, "{found}");
        let other = [part(1, reel), part(2, None)];
        let b = values("b", &other[1..]);
        let found = crate::spread::statistics::correlation(&a, &b).unwrap();
        assert!(found.abs() < 5.0 / (a.len() as f64).sqrt(), "{found}");
    }

    #[test]
    fn parts_that_share_all_are_the_same() {
        let reel = Some(Reel { key: 1, share: 1.0 });
        let same = values("a - b", &[part(1, reel), part(2, reel)]);
        assert!(same.iter().all(|&difference| difference == 0.0));
    }

    #[test]
    fn a_figure_sees_the_same_part_as_another() {
        let (one, two) = (part(1, None), part(2, None));
        let alone = values("b", std::slice::from_ref(&two));
        let beside = values("0*a + b", &[one, two]);
        assert_eq!(alone, beside);
    }

    #[test]
    fn trials_without_a_value_are_left_out() {
        let roots = values("sqrt(a)", &[part(1, None)]);
        let all = values("a", &[part(1, None)]);
        let good: Vec<f64> = all
            .into_iter()
            .filter(|a| *a >= 0.0)
            .map(f64::sqrt)
            .collect();
        assert_eq!(roots, good);
        assert!(values("1/(a - a)", &[part(1, None)]).is_empty());
    }
}
