//! The dimension of a formula, found without any value.

use std::ops::Range;

use super::Function;
use super::evaluate::Elementary;
use super::tree::{Expression, Formula, Node, Operator};
use crate::quantity::{Dimension, Level, Scale};

/// Why the dimensions of a formula do not fit together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DimensionFault {
    /// The piece that does not fit.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// The pieces that disagree, and what each of them is.
    pub sides: Vec<(Range<usize>, String)>,
    /// What to do about it.
    pub help: Option<String>,
}

impl DimensionFault {
    fn new(expression: &Expression, message: impl Into<String>) -> DimensionFault {
        DimensionFault {
            span: expression.span.clone(),
            message: message.into(),
            sides: Vec::new(),
            help: None,
        }
    }

    fn side(mut self, expression: &Expression, dimension: Dimension) -> DimensionFault {
        self.sides
            .push((expression.span.clone(), dimension.to_string()));
        self
    }

    fn help(mut self, help: &str) -> DimensionFault {
        self.help = Some(help.to_owned());
        self
    }
}

impl Formula {
    /// The dimension, given that of each name in the order of
    /// [`Formula::names`].
    ///
    /// # Errors
    /// [`DimensionFault`] for the first place where sides do not fit together.
    pub fn dimension(&self, names: &[Dimension]) -> Result<Dimension, DimensionFault> {
        self.root.dimension(names)
    }
}

impl Expression {
    fn dimension(&self, names: &[Dimension]) -> Result<Dimension, DimensionFault> {
        match &self.node {
            Node::Number { unit, .. } => Ok(unit.dimension()),
            Node::Constant { dimension, .. } => Ok(*dimension),
            Node::Name(at) => Ok(names.get(*at).copied().unwrap_or(Dimension::ONE)),
            Node::Negative(inner) => self.negative(inner, inner.dimension(names)?),
            Node::Binary(operator, left, right) => {
                let (l, r) = (left.dimension(names)?, right.dimension(names)?);
                match operator {
                    Operator::Add | Operator::Subtract => self.sum(*operator, left, l, right, r),
                    Operator::Multiply | Operator::Divide => {
                        self.product(*operator, left, l, right, r)
                    }
                    Operator::Power => self.power(left, l, right, r),
                }
            }
            Node::Call(function, arguments) => {
                let dimensions: Result<Vec<_>, _> = arguments
                    .iter()
                    .map(|argument| argument.dimension(names))
                    .collect();
                self.call(*function, arguments, &dimensions?)
            }
        }
    }

    fn negative(
        &self,
        inner: &Expression,
        dimension: Dimension,
    ) -> Result<Dimension, DimensionFault> {
        match dimension.scale() {
            // -40 °C is a temperature all the same.
            Scale::Point if !matches!(inner.node, Node::Number { .. }) => Err(DimensionFault::new(
                self,
                "a temperature on its scale has no negative",
            )
            .side(inner, dimension)),
            Scale::Level(level) if !level.is_ratio() => Err(DimensionFault::new(
                self,
                "a level against a reference has no negative",
            )
            .side(inner, dimension)),
            _ => Ok(dimension),
        }
    }

    fn sum(
        &self,
        operator: Operator,
        left: &Expression,
        l: Dimension,
        right: &Expression,
        r: Dimension,
    ) -> Result<Dimension, DimensionFault> {
        let adds = operator == Operator::Add;
        let fault = |message: String| {
            Err(DimensionFault::new(self, message)
                .side(left, l)
                .side(right, r))
        };
        let does = if adds { "adds" } else { "subtracts" };
        match (l.scale(), r.scale()) {
            _ if !l.same_exponents(r) => fault(format!("{does} {l} and {r}")),
            (Scale::Linear, Scale::Linear) => Ok(l),
            (Scale::Point, Scale::Linear) => Ok(l),
            (Scale::Linear, Scale::Point) if adds => Ok(r),
            (Scale::Point, Scale::Point) if !adds => Ok(l.linear()),
            (Scale::Point, Scale::Point) => fault("adds two temperatures on their scale".into())
                .map_err(|fault: DimensionFault| fault.help("a difference is written in K")),
            (Scale::Linear, Scale::Point) => {
                fault("subtracts a temperature on its scale from a difference".into())
            }
            (Scale::Level(a), Scale::Level(b)) => match level_sum(adds, a, b) {
                Some(level) => Ok(Dimension::level(level)),
                None => fault(format!(
                    "{does} {} and {} (levels of different things)",
                    a.symbol(),
                    b.symbol()
                )),
            },
            _ => fault(format!("{does} {l} and {r}")).map_err(|fault| {
                fault.help("a level becomes a number by `power_ratio` or `field_ratio`")
            }),
        }
    }

    fn product(
        &self,
        operator: Operator,
        left: &Expression,
        l: Dimension,
        right: &Expression,
        r: Dimension,
    ) -> Result<Dimension, DimensionFault> {
        match (l.as_level(), r.as_level()) {
            (None, None) => {}
            (Some(level), None) if level.is_ratio() && r.is_one() => return Ok(l),
            (None, Some(level))
                if level.is_ratio() && l.is_one() && operator == Operator::Multiply =>
            {
                return Ok(r);
            }
            // How many times one level difference is the other: 60 dB / 20 dB.
            (Some(a), Some(b))
                if operator == Operator::Divide
                    && a.is_ratio()
                    && b.is_ratio()
                    && level_sum(false, a, b).is_some() =>
            {
                return Ok(Dimension::ONE);
            }
            _ => {
                return Err(DimensionFault::new(
                    self,
                    "a level is multiplied only by a plain number",
                )
                .side(left, l)
                .side(right, r)
                .help("a level becomes a number by `power_ratio` or `field_ratio`"));
            }
        }
        let result = match operator {
            Operator::Divide => l.over(r),
            _ => l.times(r),
        };
        result.ok_or_else(|| too_high(self))
    }

    fn power(
        &self,
        base: &Expression,
        b: Dimension,
        exponent: &Expression,
        e: Dimension,
    ) -> Result<Dimension, DimensionFault> {
        if e == Dimension::BITS && b.is_one() {
            return Ok(Dimension::COUNTS);
        }
        if !e.is_one() {
            return Err(DimensionFault::new(
                exponent,
                format!("an exponent is a plain number, this is {e}"),
            )
            .side(exponent, e));
        }
        if b.is_one() {
            return Ok(b);
        }
        if b.as_level().is_some() {
            return Err(
                DimensionFault::new(self, "a level is not raised to a power").side(base, b),
            );
        }
        let Some(value) = exponent.as_plain_constant() else {
            return Err(DimensionFault::new(
                exponent,
                "the exponent of a quantity with a unit is a number",
            )
            .side(base, b)
            .help("divide the base by a reference of the same unit first"));
        };
        let halves = value * 2.0;
        if halves.fract() != 0.0 || halves.abs() > 40.0 {
            return Err(DimensionFault::new(
                exponent,
                "the exponent of a quantity with a unit is a multiple of 1/2, 20 at most",
            )
            .side(base, b)
            .help("divide the base by a reference of the same unit first"));
        }
        b.linear()
            .power_of_halves(halves as i32)
            .ok_or_else(|| too_high(self))
    }

    fn call(
        &self,
        function: Function,
        arguments: &[Expression],
        dimensions: &[Dimension],
    ) -> Result<Dimension, DimensionFault> {
        // Every function takes one argument at least; the parser saw to it.
        let (Some(first), Some(&dimension)) = (arguments.first(), dimensions.first()) else {
            return Ok(Dimension::ONE);
        };
        let name = function.name();
        let wants = |what: &str| {
            Err(
                DimensionFault::new(self, format!("`{name}` takes {what}, this is {dimension}"))
                    .side(first, dimension),
            )
        };
        match function {
            Function::Parallel | Function::Min | Function::Max => {
                for (argument, other) in arguments.iter().zip(dimensions) {
                    if !other.comparable(dimension) || other.scale() != dimension.scale() {
                        return Err(DimensionFault::new(
                            self,
                            format!("`{name}` takes values of one dimension"),
                        )
                        .side(first, dimension)
                        .side(argument, *other));
                    }
                }
                if function == Function::Parallel && dimension.scale() != Scale::Linear {
                    return wants("values that add");
                }
                Ok(dimension)
            }
            Function::PowerLevel if dimension.is_one() => Ok(Dimension::level(Level::Power)),
            Function::FieldLevel if dimension.is_one() => Ok(Dimension::level(Level::Field)),
            Function::Cents if dimension.is_one() => Ok(Dimension::CENTS),
            Function::PowerLevel | Function::FieldLevel | Function::Cents => wants("a ratio"),
            Function::PowerRatio => match dimension.as_level() {
                Some(Level::Ratio | Level::Power) => Ok(Dimension::ONE),
                _ => wants("a level of a ratio of powers"),
            },
            Function::FieldRatio => match dimension.as_level() {
                Some(Level::Ratio | Level::Field) => Ok(Dimension::ONE),
                _ => wants("a level of a ratio of field quantities"),
            },
            Function::Of(elementary) => match elementary {
                Elementary::SquareRoot => dimension
                    .linear()
                    .power_of_halves(1)
                    .filter(|_| dimension.as_level().is_none())
                    .map_or_else(|| wants("a quantity whose square root has a unit"), Ok),
                Elementary::Magnitude if dimension.scale() != Scale::Point => Ok(dimension),
                Elementary::Magnitude => wants("a value with a sign"),
                Elementary::Floor | Elementary::Ceiling | Elementary::Round => {
                    let counted = [Dimension::ONE, Dimension::COUNTS, Dimension::BITS];
                    if counted.contains(&dimension) {
                        Ok(dimension)
                    } else {
                        wants("a number or counts")
                    }
                }
                Elementary::Logarithm2 if dimension == Dimension::COUNTS => Ok(Dimension::BITS),
                _ if dimension.is_one() => Ok(Dimension::ONE),
                _ => wants("a plain number"),
            },
        }
    }
}

/// The level that a sum or difference of two levels is, if it is one. Decibels
/// of a power ratio and of a field ratio add: 6 dB are 6 dB, whichever of the
/// two they were counted from (IEC 60027-3); what they are of is then open.
fn level_sum(adds: bool, a: Level, b: Level) -> Option<Level> {
    match (a.is_ratio(), b.is_ratio()) {
        (true, true) if a == b || b == Level::Ratio => Some(a),
        (true, true) if a == Level::Ratio => Some(b),
        (true, true) => Some(Level::Ratio),
        (false, true) => Some(a),
        (true, false) if adds => Some(b),
        (false, false) if !adds && a == b => Some(if a.is_field() == Some(true) {
            Level::Field
        } else {
            Level::Power
        }),
        _ => None,
    }
}

fn too_high(expression: &Expression) -> DimensionFault {
    DimensionFault::new(expression, "a unit with an exponent that no quantity has")
}
