//! Propagation of distributions by a Monte Carlo method (JCGM 101:2008).
//!
//! Trials are made in batches, which may run on any number of threads; results
//! are gathered in the order of the batches, so that neither threads nor other
//! figures change a bit. Batches are dealt to groups, and what differs between
//! the groups says how far chance has moved the whole (7.9.4, where each batch
//! is a group of its own; here groups grow when there are many).

use std::fmt;

use rayon::prelude::*;

use super::coverage::CoverageRule;
use super::moments::{Gathered, Moments};
use super::quantiles::{Layout, Quantiles};
use super::sampled::Sampled;
use super::stream::LANES;
use super::tally::{Batches, GROUPS, Tally};
use super::trial::Plan;
use super::{Interval, Response, Variable};

/// How many trials are made.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Trials {
    /// As many as stated.
    Exactly(u64),
    /// Until so many significant digits of the standard uncertainty stay
    /// (JCGM 101:2008, 7.9).
    Digits(u32),
    /// Until mean, deviation and both ends of the coverage interval are known
    /// within this tolerance, in the unit of the result.
    Within(f64),
}

/// How distributions are propagated.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct MonteCarlo {
    /// Decides all draws together with the keys of the variables.
    pub seed: u64,
    /// How many trials.
    pub trials: Trials,
    /// Where to stop when the wanted digits do not come, at least 2 batches.
    pub most_trials: u64,
    /// Coverage probability, above 0 and at most 0.999.
    pub coverage: f64,
    /// The coverage interval that has to be known to the wanted digits.
    pub rule: CoverageRule,
}

/// Why nothing can be propagated.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum MonteCarloFault {
    /// A coverage probability that is not above 0 and at most 0.999.
    Coverage(f64),
    /// A reel whose share is not between 0 and 1.
    Share(f64),
    /// No trial is asked for, or more digits than 1 to 4, or a tolerance that
    /// is not above zero.
    Trials,
    /// The response has no value in any trial.
    NoValue,
}

impl fmt::Display for MonteCarloFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MonteCarloFault::Coverage(found) => write!(
                f,
                "a coverage probability lies above 0 and is at most 0.999, not {found}"
            ),
            MonteCarloFault::Share(found) => write!(
                f,
                "what parts of a reel have in common is a share between 0 and 1, not {found}"
            ),
            MonteCarloFault::Trials => {
                f.write_str("it takes at least one trial, 1 to 4 digits, or a tolerance above zero")
            }
            MonteCarloFault::NoValue => f.write_str("it has no value in any of the trials"),
        }
    }
}

impl std::error::Error for MonteCarloFault {}

/// Batches before the first look at the groups: fewer say too little of chance.
const FIRST_LOOK: u64 = 8;
/// Batches that are gathered together, once every group has as many: groups
/// that differ much in size would overstate what chance leaves open.
const TOGETHER: u64 = 4;
/// How many such are under way before the next are begun: what is gathered
/// takes little memory at any time.
const ROUND: u64 = 64;

impl MonteCarlo {
    /// Two digits of the uncertainty and a symmetric interval for 95 %, within
    /// ten million trials.
    pub fn new(seed: u64) -> MonteCarlo {
        MonteCarlo {
            seed,
            trials: Trials::Digits(2),
            most_trials: 10_000_000,
            coverage: 0.95,
            rule: CoverageRule::Symmetric,
        }
    }

    /// Propagates the distributions of independent variables, or of parts of
    /// common reels, through a response; `requirements` are ranges whose yield
    /// is wanted.
    ///
    /// # Errors
    /// [`MonteCarloFault`], where the settings make no sense or the response
    /// has no value at all.
    pub fn run<R: Response + Sync>(
        &self,
        response: &R,
        variables: &[Variable],
        requirements: &[Interval],
    ) -> Result<Sampled, MonteCarloFault> {
        self.check(variables)?;
        let run = Run {
            plan: Plan::new(response, variables, self.seed),
            requirements,
            blocks: self.blocks_in_a_batch(),
            settings: self,
        };
        // The first batch shows where the values lie.
        let trials = run.trials_of_first();
        let mut first = run.values(0, trials);
        let as_drawn = first.clone();
        first.sort_unstable_by(f64::total_cmp);
        let layout = Layout::of(&first, 0.125 * (1.0 - self.coverage));
        let mut tally = Tally::new(layout, requirements.len());
        tally.add(&run.first(trials, &as_drawn, &layout));
        let tolerance = run.until_enough(&mut tally);
        if tally.moments.count() == 0.0 {
            return Err(MonteCarloFault::NoValue);
        }
        let errors = tally.standard_errors(self.rule, self.coverage);
        let stabilised =
            tolerance.map(|tolerance| errors.is_some_and(|errors| errors.within(tolerance)));
        Ok(Sampled {
            trials: tally.trials,
            without_value: tally.trials - tally.moments.count() as u64,
            mean: tally.moments.mean(),
            deviation: tally.moments.deviation(),
            least: tally.least,
            greatest: tally.greatest,
            coverage: self.coverage,
            errors,
            tolerance,
            stabilised,
            yields: tally.yields(),
            quantiles: if tally.batches == 1 {
                Quantiles::Sorted(first)
            } else {
                tally.quantiles()
            },
        })
    }

    fn check(&self, variables: &[Variable]) -> Result<(), MonteCarloFault> {
        if !(self.coverage > 0.0 && self.coverage <= 0.999) {
            return Err(MonteCarloFault::Coverage(self.coverage));
        }
        let enough = match self.trials {
            Trials::Exactly(count) => count > 0,
            Trials::Digits(digits) => (1..=4).contains(&digits),
            Trials::Within(tolerance) => tolerance > 0.0 && tolerance.is_finite(),
        };
        if !enough {
            return Err(MonteCarloFault::Trials);
        }
        let shares = variables.iter().filter_map(|variable| variable.reel);
        match shares
            .map(|reel| reel.share)
            .find(|share| !(0.0..=1.0).contains(share))
        {
            Some(share) => Err(MonteCarloFault::Share(share)),
            None => Ok(()),
        }
    }

    /// A batch is the larger of 10^4 and 100/(1 - p) trials
    /// (JCGM 101:2008, 7.9.4 b), in whole blocks.
    fn blocks_in_a_batch(&self) -> u64 {
        let trials = (100.0 / (1.0 - self.coverage)).max(1e4);
        (trials / LANES as f64).ceil() as u64
    }
}

/// The numerical tolerance of a standard uncertainty of which so many digits
/// are meaningful: half a unit of the last of them (JCGM 101:2008, 7.9.2).
/// Zero where the uncertainty is zero.
pub fn numerical_tolerance(uncertainty: f64, digits: u32) -> f64 {
    if uncertainty == 0.0 || !uncertainty.is_finite() {
        return 0.0;
    }
    let decimals = digits.max(1) as usize - 1;
    // Written out, since rounding may carry into another digit.
    let written = format!("{uncertainty:.decimals$e}");
    let exponent = written
        .split('e')
        .nth(1)
        .and_then(|text| text.parse::<i32>().ok());
    // A float in this notation always has an exponent.
    0.5 * 10f64.powi(exponent.unwrap_or(0) - decimals as i32)
}

/// A run under way.
struct Run<'a, R> {
    plan: Plan<'a, R>,
    requirements: &'a [Interval],
    blocks: u64,
    settings: &'a MonteCarlo,
}

impl<R: Response + Sync> Run<'_, R> {
    /// Trials in a batch.
    fn batch(&self) -> u64 {
        self.blocks * LANES as u64
    }

    /// Trials in the first batch, which takes all where there are less than
    /// two batches.
    fn trials_of_first(&self) -> u64 {
        match self.settings.trials {
            Trials::Exactly(count) if count < 2 * self.batch() => count,
            _ => self.batch(),
        }
    }

    /// Makes all trials that are wanted; the tolerance that was aimed at, if
    /// there was one.
    fn until_enough(&self, tally: &mut Tally) -> Option<f64> {
        let most = (self.settings.most_trials / self.batch()).max(2);
        let mut wanted = FIRST_LOOK.min(most);
        if let Trials::Exactly(count) = self.settings.trials {
            self.advance(tally, (count / self.batch()).max(1), Some(count));
            return None;
        }
        loop {
            self.advance(tally, wanted, None);
            let tolerance = match self.settings.trials {
                Trials::Digits(digits) => numerical_tolerance(tally.moments.deviation(), digits),
                Trials::Within(tolerance) => tolerance,
                Trials::Exactly(_) => return None,
            };
            let (rule, coverage) = (self.settings.rule, self.settings.coverage);
            let Some(errors) = tally.standard_errors(rule, coverage) else {
                return Some(tolerance);
            };
            if errors.within(tolerance) || wanted >= most {
                return Some(tolerance);
            }
            // Chance shrinks with the root of the number of trials; a tenth
            // more than that, but never far beyond what is known.
            let factor = 1.1 * (2.0 * errors.greatest() / tolerance).powi(2);
            let next = (wanted as f64 * factor.clamp(1.0, 4.0)).ceil() as u64;
            wanted = next.max(wanted + 1).min(most);
        }
    }

    /// Makes batches until there are `until`, the last of which reaches to
    /// trial number `last`.
    fn advance(&self, tally: &mut Tally, until: u64, last: Option<u64>) {
        let trials = |number: u64| match last {
            Some(last) if number + 1 == until => last - number * self.batch(),
            _ => self.batch(),
        };
        while tally.batches < until {
            let alone = TOGETHER * GROUPS as u64;
            let (together, round) = if tally.batches < alone {
                (1, alone - tally.batches)
            } else {
                (TOGETHER, TOGETHER * ROUND)
            };
            let end = until.min(tally.batches + round);
            let starts: Vec<u64> = (tally.batches..end).step_by(together as usize).collect();
            let gathered: Vec<Batches> = starts
                .into_par_iter()
                .map(|start| {
                    let batches = start..end.min(start + together);
                    self.gathered(
                        batches.map(|number| (number, trials(number))),
                        tally.layout(),
                    )
                })
                .collect();
            for batches in &gathered {
                tally.add(batches);
            }
        }
    }

    /// The first batch, given what its trials came to.
    fn first(&self, trials: u64, values: &[f64], layout: &Layout) -> Batches {
        let mut sum = self.nothing(layout);
        for values in values.chunks(LANES) {
            self.count(values, layout, &mut sum);
        }
        sum.number = 1;
        sum.trials = trials;
        sum
    }

    /// Some batches, given their numbers and how many trials each has.
    fn gathered(&self, batches: impl Iterator<Item = (u64, u64)>, layout: &Layout) -> Batches {
        let mut sum = self.nothing(layout);
        let mut values = Vec::with_capacity(LANES);
        for (number, trials) in batches {
            for (block, lanes) in self.blocks_of(number, trials) {
                values.clear();
                self.plan.run(block, lanes, &mut values);
                self.count(&values, layout, &mut sum);
            }
            sum.number += 1;
            sum.trials += trials;
        }
        sum
    }

    fn nothing(&self, layout: &Layout) -> Batches {
        Batches {
            number: 0,
            moments: Moments::default(),
            trials: 0,
            least: f64::INFINITY,
            greatest: f64::NEG_INFINITY,
            met: vec![0; self.requirements.len()],
            cells: layout.empty(),
        }
    }

    /// Adds the values of a block.
    fn count(&self, values: &[f64], layout: &Layout, sum: &mut Batches) {
        let gathered = Gathered::about(layout.centre(), values);
        sum.moments.merge(&gathered.moments);
        sum.least = sum.least.min(gathered.least);
        sum.greatest = sum.greatest.max(gathered.greatest);
        for (met, range) in sum.met.iter_mut().zip(self.requirements) {
            let within = values.iter().filter(|value| range.contains(**value));
            *met += within.count() as u64;
        }
        layout.count(values, &mut sum.cells);
    }

    /// The values of a batch.
    fn values(&self, number: u64, trials: u64) -> Vec<f64> {
        let mut values = Vec::with_capacity(trials as usize);
        for (block, lanes) in self.blocks_of(number, trials) {
            self.plan.run(block, lanes, &mut values);
        }
        values
    }

    /// The numbers of a batch's blocks, and how many trials each has.
    fn blocks_of(&self, number: u64, trials: u64) -> impl Iterator<Item = (u64, usize)> + use<R> {
        let first = number * self.blocks;
        (0..trials.div_ceil(LANES as u64)).map(move |block| {
            let rest = trials - block * LANES as u64;
            (first + block, rest.min(LANES as u64) as usize)
        })
    }
}

#[cfg(test)]
#[path = "monte_carlo_tests.rs"]
mod tests;
