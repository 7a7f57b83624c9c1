//! Why data have no such statistic.

use std::fmt;

/// Why data have no such statistic.
#[derive(Clone, PartialEq, Debug)]
pub enum StatisticsFault {
    /// Fewer values than the statistic needs.
    TooFew {
        /// How many there are.
        found: usize,
        /// How many it takes.
        needed: usize,
    },
    /// The value of this number, counted from 0, is no finite number.
    NotFinite(usize),
    /// All values are the same where the statistic needs them to differ.
    NoSpread,
    /// Two lists that belong together are not equally long.
    UnequalLengths(usize, usize),
    /// A confidence that is not between 0 and 1.
    Confidence(f64),
    /// Neither a lower nor an upper limit, or a lower one above the upper.
    Limits,
    /// A study in which not every operator measured every part equally often.
    Unbalanced {
        /// The part.
        part: String,
        /// Who measured it.
        operator: String,
        /// How often.
        found: usize,
        /// How often the first operator measured the first part.
        needed: usize,
    },
}

impl fmt::Display for StatisticsFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            StatisticsFault::TooFew { found, needed } => {
                write!(
                    f,
                    "has {found} of the {needed} values that it takes at least"
                )
            }
            StatisticsFault::NotFinite(at) => write!(f, "value {} is not a number", at + 1),
            StatisticsFault::NoSpread => f.write_str("all values are the same"),
            StatisticsFault::UnequalLengths(one, other) => {
                write!(
                    f,
                    "lists of {one} and {other} values do not belong together"
                )
            }
            StatisticsFault::Confidence(found) => {
                write!(f, "a confidence lies between 0 and 1, not at {found}")
            }
            StatisticsFault::Limits => {
                f.write_str("a specification has a lower limit, an upper one above it, or both")
            }
            StatisticsFault::Unbalanced {
                part,
                operator,
                found,
                needed,
            } => write!(
                f,
                "part {part} was measured {found} times by {operator}, but the first part {needed} \
                 times (every operator measures every part equally often)"
            ),
        }
    }
}

impl std::error::Error for StatisticsFault {}
