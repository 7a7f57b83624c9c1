//! What a node comes to.

use std::sync::OnceLock;

use super::chance::InForce;
use super::graph::NodeId;
use crate::quantity::{Dimension, Outcome, Shown, Unit, shown};
use crate::spread::{Extremes, Sampled};

/// A node's computed value, in coherent SI units.
#[derive(Clone, Debug)]
pub struct Value {
    /// Its dimension.
    pub dimension: Dimension,
    /// Nominal value, and spread under the policy in force.
    pub outcome: Outcome,
    /// Nominal value, and spread at worst case.
    pub worst: Outcome,
    /// The policy in force.
    pub policy: InForce,
    /// Unit to show it in.
    pub unit: Unit,
    /// Where each extreme is attained; none for a value that does not vary.
    pub extremes: Option<Extremes>,
    /// What drawing it by chance found, where the policy says so.
    pub sampled: Option<Chance>,
    /// The inputs that vary, in the order of the extremes' ends.
    pub inputs: Vec<NodeId>,
    /// How it is shown, once somebody asked: a page says it many times.
    pub(super) shown: OnceLock<Shown>,
}

/// What drawing a value by chance found (JCGM 101).
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Chance {
    /// Trials that were made.
    pub trials: u64,
    /// Mean of the values.
    pub mean: f64,
    /// Standard deviation of the values.
    pub deviation: f64,
    /// Whether the digits that were wanted came before the trials ran out.
    pub settled: bool,
}

impl Chance {
    pub(super) fn of(sampled: &Sampled) -> Chance {
        Chance {
            trials: sampled.trials,
            mean: sampled.mean,
            deviation: sampled.deviation,
            settled: sampled.stabilised.unwrap_or(true),
        }
    }
}

impl Value {
    /// A value as it is given: its spread is its tolerance.
    pub(crate) fn of(dimension: Dimension, outcome: Outcome, unit: Unit, policy: InForce) -> Value {
        Value {
            dimension,
            outcome,
            worst: outcome,
            policy,
            unit,
            extremes: None,
            sampled: None,
            inputs: Vec::new(),
            shown: OnceLock::new(),
        }
    }

    /// Nominal value to the digits that its spread deserves, with unit.
    pub fn shown(&self) -> &Shown {
        self.shown.get_or_init(|| {
            let Outcome { nominal, low, high } = self.outcome;
            shown(nominal, (nominal - low).max(high - nominal), &self.unit)
        })
    }

    /// A value of the same sort, such as an extreme, to one digit more than
    /// the spread deserves.
    pub fn shown_as(&self, value: f64) -> Shown {
        let half = (self.outcome.high - self.outcome.low).abs() / 20.0;
        shown(value, half, &self.unit)
    }

    /// Whether the value has a spread at all.
    pub fn varies(&self) -> bool {
        self.outcome.low < self.outcome.high
    }
}
