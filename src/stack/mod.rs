//! Which boards go together on a module: a search over boards and their
//! alternatives.
//!
//! A board has one setting for each way its straps can stand, and a setting has
//! uses: of pins, addresses, timer slices, supplies, places in the stack. Two
//! uses of one thing may clash. Limits are sums over all boards: current from a
//! supply, current into pull-ups, capacitance. All of this gets no better by
//! adding a board, and the search rests on that: a stack works if its settings
//! can be chosen so that nothing clashes and no limit is passed, and then every
//! part of it works as well.
//!
//! Numbers in, numbers out: nothing here knows a record. What a stack *lacks*,
//! such as a supply that another board would bring, is not a clash, and is for
//! the caller to see.

mod largest;
mod reason;
mod solver;
#[cfg(test)]
mod tests;

pub use largest::{Found, Largest};
pub use reason::{Conflict, Reason};
pub use solver::Solver;

/// Boards that may be stacked on one module.
#[derive(Clone, Debug, Default)]
pub struct Line {
    /// What the module itself uses and gives.
    pub module: Vec<Use>,
    /// The boards.
    pub boards: Vec<Candidate>,
    /// Sums that may not be passed.
    pub limits: Vec<Limit>,
}

/// A board with its alternatives.
#[derive(Clone, Debug, Default)]
pub struct Candidate {
    /// One for each way its straps can stand, the best liked first; at most
    /// [`MOST_SETTINGS`].
    pub settings: Vec<Setting>,
}

/// Most settings that one board may have.
pub const MOST_SETTINGS: usize = 64;

/// One way a board can be set.
#[derive(Clone, Debug, Default)]
pub struct Setting {
    /// What it uses then.
    pub uses: Vec<Use>,
    /// Claims that the module cannot meet then.
    pub unfit: Vec<usize>,
}

/// A use of something by a claim of a board, or by the module.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Use {
    /// Number of the thing.
    pub thing: usize,
    /// How it is used.
    pub manner: Manner,
    /// Number of the claim, as the caller counts them.
    pub claim: usize,
}

/// How a thing is used.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Manner {
    /// By this one alone.
    Alone,
    /// Together with all others that share it as the same.
    Shared(u32),
    /// An output of a timer slice, with its frequency in hertz where it is stated.
    Pulses {
        /// Number of the output.
        output: usize,
        /// Frequency in hertz.
        frequency: Option<f64>,
    },
    /// A supply is given, between these voltages.
    Gives {
        /// Least voltage.
        low: f64,
        /// Greatest voltage.
        high: f64,
        /// Whether current cannot flow back into it.
        blocks: bool,
    },
    /// A supply is taken, between these voltages.
    Takes {
        /// Least voltage.
        low: f64,
        /// Greatest voltage.
        high: f64,
    },
}

/// A sum over boards that may not be passed.
#[derive(Clone, Debug)]
pub struct Limit {
    /// What each board adds, none of it below zero.
    pub adds: Vec<f64>,
    /// What the module adds.
    pub module_adds: f64,
    /// The most that it may come to.
    pub most: f64,
    /// The board that brings the limit; `None` if it is always there.
    pub brought_by: Option<usize>,
}

impl Limit {
    /// What boards come to, where the limit is there for them.
    pub fn sum(&self, boards: &[usize]) -> Option<f64> {
        if self.brought_by.is_some_and(|by| !boards.contains(&by)) {
            return None;
        }
        let adds = boards.iter().map(|&board| self.adds[board]);
        Some(self.module_adds + adds.sum::<f64>())
    }

    /// Whether boards keep to it. What rounding leaves over does not count.
    pub fn holds(&self, boards: &[usize]) -> bool {
        self.sum(boards)
            .is_none_or(|sum| sum <= self.most * (1.0 + 1e-12))
    }
}

/// Why two uses of one thing clash.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Clash {
    /// Only one of them can have it.
    Taken,
    /// Current can flow from one supply into another.
    BackFeed,
    /// A supply gives a voltage that is not taken.
    Voltage,
    /// Two timer outputs that cannot be set apart.
    Timer,
}

/// Whether two uses clash, and how.
pub fn clash(a: &Use, b: &Use) -> Option<Clash> {
    use Manner::{Alone, Gives, Pulses, Shared, Takes};
    if a.thing != b.thing {
        return None;
    }
    match (a.manner, b.manner) {
        (Shared(a), Shared(b)) if a == b => None,
        (
            Pulses {
                output: first,
                frequency: Some(f),
            },
            Pulses {
                output: second,
                frequency: Some(g),
            },
        ) if first != second && (f - g).abs() <= 1e-6 * f.abs().max(g.abs()) => None,
        (Pulses { .. }, Pulses { .. }) => Some(Clash::Timer),
        // Of two sources the one that does not block gets current from the other.
        (Gives { blocks: a, .. }, Gives { blocks: b, .. }) => {
            (!(a && b)).then_some(Clash::BackFeed)
        }
        (Takes { .. }, Takes { .. }) => None,
        (
            Gives { low, high, .. },
            Takes {
                low: from,
                high: to,
            },
        )
        | (
            Takes {
                low: from,
                high: to,
            },
            Gives { low, high, .. },
        ) => (low < from || to < high).then_some(Clash::Voltage),
        (Alone | Shared(_) | Pulses { .. } | Gives { .. } | Takes { .. }, _) => Some(Clash::Taken),
    }
}
