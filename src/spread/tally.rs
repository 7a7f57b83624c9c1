//! Gathering the batches of a Monte Carlo run.

use rayon::prelude::*;

use super::moments::Moments;
use super::quantiles::{Counts, Layout, Quantiles};
use super::sampled::StandardErrors;
use super::{CoverageRule, Interval, Proportion};

/// Most groups that batches are dealt to.
pub(super) const GROUPS: usize = 16;

/// What some batches of trials gave.
pub(super) struct Batches {
    pub number: u64,
    pub moments: Moments,
    pub trials: u64,
    pub least: f64,
    pub greatest: f64,
    /// How many trials met each requirement.
    pub met: Vec<u64>,
    /// How many values lie in each cell.
    pub cells: Vec<u32>,
}

/// Everything that trials have given so far.
pub(super) struct Tally {
    pub batches: u64,
    pub trials: u64,
    pub moments: Moments,
    pub least: f64,
    pub greatest: f64,
    /// How often batches were added.
    added: usize,
    layout: Layout,
    met: Vec<u64>,
    groups: Vec<Group>,
}

/// Every sixteenth of what was added.
struct Group {
    moments: Moments,
    counts: Counts,
}

impl Tally {
    /// Nothing yet, to be counted in these cells.
    pub fn new(layout: Layout, requirements: usize) -> Tally {
        Tally {
            batches: 0,
            added: 0,
            trials: 0,
            moments: Moments::default(),
            least: f64::INFINITY,
            greatest: f64::NEG_INFINITY,
            layout,
            met: vec![0; requirements],
            groups: Vec::new(),
        }
    }

    /// Where values are counted.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Adds batches, in their order.
    pub fn add(&mut self, batches: &Batches) {
        let at = self.added % GROUPS;
        self.added += 1;
        self.batches += batches.number;
        self.trials += batches.trials;
        self.moments.merge(&batches.moments);
        self.least = self.least.min(batches.least);
        self.greatest = self.greatest.max(batches.greatest);
        for (sum, met) in self.met.iter_mut().zip(&batches.met) {
            *sum += met;
        }
        if at == self.groups.len() {
            self.groups.push(Group {
                moments: Moments::default(),
                counts: Counts::new(self.layout),
            });
        }
        let group = &mut self.groups[at];
        group.moments.merge(&batches.moments);
        let (least, greatest) = (batches.least, batches.greatest);
        group.counts.add(&batches.cells, least, greatest);
    }

    /// Standard deviations of the means over all groups
    /// (JCGM 101:2008, 7.9.4 g and h). `None` for a single group.
    pub fn standard_errors(&self, rule: CoverageRule, coverage: f64) -> Option<StandardErrors> {
        let groups: Vec<&Group> = self
            .groups
            .iter()
            .filter(|group| group.moments.count() > 0.0)
            .collect();
        if groups.len() < 2 {
            return None;
        }
        let intervals: Vec<Interval> = groups
            .par_iter()
            .map(|group| {
                let quantiles = group.counts.clone().quantiles();
                rule.interval(coverage, |p| quantiles.at(p))
            })
            .collect();
        let error = |of: &dyn Fn(usize) -> f64| {
            let values: Vec<f64> = (0..groups.len()).map(of).collect();
            Moments::of(&values).deviation() / (values.len() as f64).sqrt()
        };
        Some(StandardErrors {
            mean: error(&|at| groups[at].moments.mean()),
            deviation: error(&|at| groups[at].moments.deviation()),
            low: error(&|at| intervals[at].low()),
            high: error(&|at| intervals[at].high()),
        })
    }

    /// Yields of all requirements.
    pub fn yields(&self) -> Vec<Proportion> {
        let of = |&met: &u64| Proportion {
            met,
            trials: self.trials,
        };
        self.met.iter().map(of).collect()
    }

    /// The distribution of all values.
    pub fn quantiles(&self) -> Quantiles {
        let mut counts = Counts::new(self.layout);
        for group in &self.groups {
            counts.merge(&group.counts);
        }
        counts.quantiles()
    }
}
