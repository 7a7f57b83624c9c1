//! Spreads by chance: how the inputs of a figure are distributed, and which
//! policy says what its spread is.

use super::graph::{Body, Graph, NodeId, Origin};
use super::recorded;
use super::slice::{Slice, StepFault};
use crate::quantity::Statement;
use crate::record::{CoverageInterval, Policy, Records, Scatter, ScatterRecord, SpreadPolicy};
use crate::spread::{
    Between, CoverageRule, Distribution, Input, Interval, MonteCarlo, Reel, Sampled, Trials,
    Variable, shares,
};

/// The policy in force for one figure, with nothing left open.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct InForce {
    /// How the tolerances of inputs go together.
    pub spread: SpreadPolicy,
    /// Share of all draws that a spread holds.
    pub coverage: f64,
    /// Which interval with that share.
    pub rule: CoverageRule,
    /// Number that settles all draws.
    pub seed: u64,
}

impl Default for InForce {
    /// Worst case; for draws, a symmetric interval for 95 % and the seed 1.
    fn default() -> InForce {
        InForce {
            spread: SpreadPolicy::WorstCase,
            coverage: COVERAGE,
            rule: CoverageRule::Symmetric,
            seed: 1,
        }
    }
}

/// Share of all draws where no policy says another.
const COVERAGE: f64 = 0.95;
/// Coverage factor of a normal value where no record says another: a data
/// sheet's limits are taken for two standard deviations (common practice, no
/// source).
const COVERAGE_FACTOR: f64 = 2.0;
/// Most trials for one figure; what is stated to more digits than these can
/// tell is said to be so.
const MOST_TRIALS: u64 = 2_000_000;
/// Trials for a yield or a histogram.
const TRIALS_FOR_YIELD: u64 = 100_000;

/// The policy of a node: its figure's, its board's, the notebook's.
pub(super) fn in_force(graph: &Graph, records: &Records, node: NodeId) -> InForce {
    let nothing = Policy::default();
    let (figure, board) = match graph.node(node).origin {
        Origin::Figure { board, figure } => (
            records.boards[board].figures[figure].spread,
            &records.boards[board].policy,
        ),
        Origin::Working { board, .. }
        | Origin::Circuit { board, .. }
        | Origin::Fixture { board, .. } => (None, &records.boards[board].policy),
        // What is given has the spread that it is given with.
        Origin::Fitted { .. }
        | Origin::Stock { .. }
        | Origin::Module { .. }
        | Origin::Condition { .. }
        | Origin::Pins { .. }
        | Origin::Side => (Some(SpreadPolicy::WorstCase), &nothing),
    };
    let given = matches!(graph.node(node).body, Body::Given(_));
    let figure = if given {
        Some(SpreadPolicy::WorstCase)
    } else {
        figure
    };
    let notebook = &records.notebook.policy;
    let coverage = board.coverage.as_ref().or(notebook.coverage.as_ref());
    let interval = board.interval.or(notebook.interval).unwrap_or_default();
    InForce {
        spread: figure
            .or(board.spread)
            .or(notebook.spread)
            .unwrap_or_default(),
        coverage: coverage.map_or(COVERAGE, |coverage| coverage.value.nominal()),
        rule: match interval {
            CoverageInterval::Symmetric => CoverageRule::Symmetric,
            CoverageInterval::Shortest => CoverageRule::Shortest,
        },
        seed: board.seed.or(notebook.seed).unwrap_or(1),
    }
}

/// The variables of a slice, in the order of its inputs. `None` where one of
/// them has no distribution.
pub(super) fn variables(
    graph: &Graph,
    records: &Records,
    slice: &Slice<'_>,
) -> Option<Vec<Variable>> {
    let inputs = slice.inputs.iter().zip(slice.limits());
    inputs
        .map(|(&node, input)| variable(graph, records, node, input))
        .collect()
}

/// What the records say of how a given value lies within its tolerance.
pub(super) fn scatter_of<'r>(records: &'r Records, origin: &Origin) -> Option<&'r ScatterRecord> {
    match origin {
        Origin::Figure { board, figure } => Some(&records.boards[*board].figures[*figure].scatter),
        Origin::Fitted { part, .. } | Origin::Stock { part } => Some(&records.parts[*part].scatter),
        _ => None,
    }
}

fn variable(graph: &Graph, records: &Records, node: NodeId, input: &Input) -> Option<Variable> {
    let record = graph.node(node);
    let nothing = ScatterRecord::default();
    let scatter = scatter_of(records, &record.origin).unwrap_or(&nothing);
    let reel = match &record.origin {
        Origin::Fitted { part, property, .. } => scatter.reel_share.as_ref().map(|share| {
            let part = &records.parts[*part].id.value;
            Reel {
                key: key_of(&format!("reel {part}.{property}")),
                share: share.value.nominal(),
            }
        }),
        _ => None,
    };
    let distribution = match graph.sample(node) {
        Some(sample) => Distribution::measured(sample, Between::Interpolated).ok()?,
        None => distribution(scatter, input)?,
    };
    Some(Variable {
        key: key_of(&record.full_name()),
        distribution,
        reel,
    })
}

fn distribution(scatter: &ScatterRecord, input: &Input) -> Option<Distribution> {
    let (low, high) = (input.low, input.high);
    let factor = scatter.coverage_factor.as_ref();
    let factor = factor.map_or(COVERAGE_FACTOR, |factor| factor.value.nominal());
    let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
    match scatter.scatter {
        Scatter::Rectangular => Distribution::rectangular(low, high),
        Scatter::Triangular => Distribution::triangular(low, high),
        Scatter::Normal => Distribution::normal(middle, half / factor),
        Scatter::Sorted => Distribution::truncated_normal(middle, half / factor, low, high),
    }
    .ok()
}

/// What the record of a node states of it.
pub(super) fn stated<'r>(
    graph: &Graph,
    records: &'r Records,
    node: NodeId,
) -> Option<&'r Statement> {
    recorded::says(graph, records, node)
        .or_else(|| recorded::must(graph, records, node))
        .map(|stated| &stated.value)
}

/// How far a slice strays when what each input alone does is added as a root
/// of the sum of squares: first order, independent inputs, tolerances in the
/// place of standard uncertainties (JCGM 100:2008, 5.1.2).
pub(super) fn root_sum_square(slice: &Slice<'_>) -> Result<f64, StepFault> {
    let shares = shares(slice, slice.limits())?;
    Ok(shares
        .iter()
        .map(|share| share.reach * share.reach)
        .sum::<f64>()
        .sqrt())
}

/// Draws a slice until its coverage interval is known to the digits that are
/// stated, or to two digits of its uncertainty.
pub(super) fn sample(
    slice: &Slice<'_>,
    variables: &[Variable],
    policy: &InForce,
    stated: Option<&Statement>,
) -> Option<Sampled> {
    let trials = stated.map_or(Trials::Digits(2), |stated| {
        let written = stated.main();
        let step = 10f64.powi(written.decimal.place()) * written.unit.step();
        Trials::Within(0.5 * step)
    });
    let settings = settings(policy, trials, MOST_TRIALS);
    settings.run(slice, variables, &[]).ok()
}

/// Draws a slice a round number of times, for a histogram, and counts how
/// often it meets a requirement.
pub(super) fn sample_for_yield(
    slice: &Slice<'_>,
    variables: &[Variable],
    policy: &InForce,
    requirement: Option<(f64, f64)>,
) -> Option<Sampled> {
    let settings = settings(policy, Trials::Exactly(TRIALS_FOR_YIELD), TRIALS_FOR_YIELD);
    let requirements: Vec<Interval> = requirement
        .into_iter()
        .map(|(low, high)| Interval::new(low, high))
        .collect();
    settings.run(slice, variables, &requirements).ok()
}

fn settings(policy: &InForce, trials: Trials, most_trials: u64) -> MonteCarlo {
    let InForce {
        coverage,
        rule,
        seed,
        ..
    } = *policy;
    MonteCarlo {
        trials,
        most_trials,
        coverage,
        rule,
        ..MonteCarlo::new(seed)
    }
}

/// A number for a name that is the same in every run (FNV-1a, 64 bits).
fn key_of(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}
