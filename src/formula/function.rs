//! Functions of mathematics and of the trade.

use super::evaluate::Elementary;

/// A function that formulas may call.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Function {
    /// Parallel connection: reciprocal of the sum of reciprocals.
    Parallel,
    /// The smallest of its arguments.
    Min,
    /// The largest of its arguments.
    Max,
    /// A function of one number.
    Of(Elementary),
    /// Level of a ratio of powers: 10 log10 (IEC 60027-3).
    PowerLevel,
    /// Level of a ratio of field quantities: 20 log10 (IEC 60027-3).
    FieldLevel,
    /// Ratio of powers of a level.
    PowerRatio,
    /// Ratio of field quantities of a level.
    FieldRatio,
    /// Pitch interval of a ratio of frequencies: 1200 log2.
    Cents,
}

/// What a function is called and how many arguments it takes.
struct Entry {
    name: &'static str,
    function: Function,
    arguments: std::ops::RangeInclusive<usize>,
}

const fn one(name: &'static str, elementary: Elementary) -> Entry {
    Entry {
        name,
        function: Function::Of(elementary),
        arguments: 1..=1,
    }
}

/// Longest list of arguments that is read.
const MANY: usize = 32;

const TABLE: &[Entry] = &[
    Entry {
        name: "parallel",
        function: Function::Parallel,
        arguments: 2..=MANY,
    },
    Entry {
        name: "min",
        function: Function::Min,
        arguments: 2..=MANY,
    },
    Entry {
        name: "max",
        function: Function::Max,
        arguments: 2..=MANY,
    },
    one("sqrt", Elementary::SquareRoot),
    one("ln", Elementary::NaturalLogarithm),
    one("log10", Elementary::Logarithm10),
    one("log2", Elementary::Logarithm2),
    one("exp", Elementary::Exponential),
    one("abs", Elementary::Magnitude),
    one("sin", Elementary::Sine),
    one("cos", Elementary::Cosine),
    one("tan", Elementary::Tangent),
    one("asin", Elementary::ArcSine),
    one("acos", Elementary::ArcCosine),
    one("atan", Elementary::ArcTangent),
    one("sinh", Elementary::HyperbolicSine),
    one("cosh", Elementary::HyperbolicCosine),
    one("tanh", Elementary::HyperbolicTangent),
    one("floor", Elementary::Floor),
    one("ceil", Elementary::Ceiling),
    one("round", Elementary::Round),
    Entry {
        name: "power_level",
        function: Function::PowerLevel,
        arguments: 1..=1,
    },
    Entry {
        name: "field_level",
        function: Function::FieldLevel,
        arguments: 1..=1,
    },
    Entry {
        name: "power_ratio",
        function: Function::PowerRatio,
        arguments: 1..=1,
    },
    Entry {
        name: "field_ratio",
        function: Function::FieldRatio,
        arguments: 1..=1,
    },
    Entry {
        name: "cents",
        function: Function::Cents,
        arguments: 1..=1,
    },
];

impl Function {
    /// The function of a name, with how many arguments it takes.
    pub(super) fn by_name(name: &str) -> Option<(Function, std::ops::RangeInclusive<usize>)> {
        let entry = TABLE.iter().find(|entry| entry.name == name)?;
        Some((entry.function, entry.arguments.clone()))
    }

    /// Names of all functions.
    pub fn names() -> impl Iterator<Item = &'static str> {
        TABLE.iter().map(|entry| entry.name)
    }

    /// The name in formulas.
    pub fn name(self) -> &'static str {
        // Every function stands in the table; the empty name cannot come out.
        TABLE
            .iter()
            .find(|entry| entry.function == self)
            .map_or("", |entry| entry.name)
    }
}
