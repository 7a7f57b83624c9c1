//! The tree of a formula.

use std::ops::Range;

use super::Function;
use crate::quantity::{Decimal, Dimension, Unit};

/// A formula that was read.
#[derive(Clone, PartialEq, Debug)]
pub struct Formula {
    pub(super) text: String,
    pub(super) root: Expression,
    pub(super) names: Vec<NameUse>,
}

/// A name in a formula: `R1`, `U1.quiescent`, `cell_charger.charge_slow`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NameUse {
    /// As written, with its dots.
    pub name: String,
    /// Where it stands first.
    pub span: Range<usize>,
}

/// A piece of a formula, with its place in the text.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Expression {
    pub node: Node,
    pub span: Range<usize>,
}

/// What a piece of a formula is.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Node {
    /// A number with its unit, and its value in coherent SI units.
    Number {
        decimal: Decimal,
        unit: Unit,
        value: f64,
    },
    /// A constant of nature or of mathematics.
    Constant {
        symbol: &'static str,
        value: f64,
        dimension: Dimension,
    },
    /// The name of this number in [`Formula::names`].
    Name(usize),
    /// The negative of something.
    Negative(Box<Expression>),
    /// Two things joined by an operator.
    Binary(Operator, Box<Expression>, Box<Expression>),
    /// A function of one or more things.
    Call(Function, Vec<Expression>),
}

/// An operator between two things.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Operator {
    Add,
    Subtract,
    Multiply,
    Divide,
    Power,
}

/// How the two sides of a comparison are compared.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Comparator {
    /// `<`
    Less,
    /// `<=` or `≤`
    AtMost,
    /// `>`
    Greater,
    /// `>=` or `≥`
    AtLeast,
}

impl Comparator {
    /// The sign as printed.
    pub fn sign(self) -> &'static str {
        match self {
            Comparator::Less => "<",
            Comparator::AtMost => "≤",
            Comparator::Greater => ">",
            Comparator::AtLeast => "≥",
        }
    }

    /// Whether the left side is to be the smaller one.
    pub fn wants_less(self) -> bool {
        matches!(self, Comparator::Less | Comparator::AtMost)
    }

    /// Whether it holds for a difference `left - right`, where a difference
    /// within `noise` of zero counts as equal.
    pub fn holds(self, difference: f64, noise: f64) -> bool {
        match self {
            Comparator::Less => difference < -noise,
            Comparator::AtMost => difference <= noise,
            Comparator::Greater => difference > noise,
            Comparator::AtLeast => difference >= -noise,
        }
    }
}

/// Two formulas and how they compare: `charging.fastest <= BT1.max_charge_current`.
#[derive(Clone, PartialEq, Debug)]
pub struct Comparison {
    /// Left side.
    pub left: Formula,
    /// Sign between the sides.
    pub comparator: Comparator,
    /// Right side. Its spans count from the start of the whole text, as those
    /// of the left side do.
    pub right: Formula,
}

impl Formula {
    /// The text that it was read from; for a side of a comparison, the text of
    /// the whole.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The bytes of [`Formula::text`] that the formula takes.
    pub fn span(&self) -> Range<usize> {
        self.root.span.clone()
    }

    /// All names, each once, in the order of their first use.
    pub fn names(&self) -> &[NameUse] {
        &self.names
    }

    /// The formula when it is nothing but one name.
    pub fn as_single_name(&self) -> Option<&str> {
        match self.root.node {
            Node::Name(at) => self.names.get(at).map(|name| name.name.as_str()),
            _ => None,
        }
    }

    /// The text with every name replaced: `1000 V / 5.1 kΩ`.
    pub fn substituted(&self, mut value: impl FnMut(usize) -> String) -> String {
        let mut uses = Vec::new();
        self.root.collect_names(&mut uses);
        uses.sort_by_key(|(span, _)| span.start);
        let mut out = String::new();
        let mut at = self.root.span.start;
        for (span, name) in uses {
            out.push_str(&self.text[at..span.start]);
            out.push_str(&value(name));
            at = span.end;
        }
        out.push_str(&self.text[at..self.root.span.end]);
        out
    }
}

impl Expression {
    fn collect_names(&self, uses: &mut Vec<(Range<usize>, usize)>) {
        match &self.node {
            Node::Name(name) => uses.push((self.span.clone(), *name)),
            Node::Number { .. } | Node::Constant { .. } => {}
            Node::Negative(inner) => inner.collect_names(uses),
            Node::Binary(_, left, right) => {
                left.collect_names(uses);
                right.collect_names(uses);
            }
            Node::Call(_, arguments) => {
                for argument in arguments {
                    argument.collect_names(uses);
                }
            }
        }
    }

    /// The value, where the piece holds only plain numbers: `2`, `-1/2`.
    pub(super) fn as_plain_constant(&self) -> Option<f64> {
        match &self.node {
            Node::Number { decimal, unit, .. } if unit.dimension().is_one() => {
                Some(unit.value_of(decimal))
            }
            Node::Negative(inner) => Some(-inner.as_plain_constant()?),
            Node::Binary(operator, left, right) => {
                let (left, right) = (left.as_plain_constant()?, right.as_plain_constant()?);
                match operator {
                    Operator::Add => Some(left + right),
                    Operator::Subtract => Some(left - right),
                    Operator::Multiply => Some(left * right),
                    Operator::Divide => Some(left / right),
                    Operator::Power => None,
                }
            }
            _ => None,
        }
    }
}
