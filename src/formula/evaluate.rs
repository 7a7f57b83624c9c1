//! Evaluating a formula over any kind of number.

use std::ops::Range;

use super::Function;
use super::tree::{Expression, Formula, Node, Operator};

/// A kind of number that a formula can be evaluated over: a float, a float
/// with its derivatives, an interval.
pub trait Scalar: Clone {
    /// A number that does not vary.
    fn constant(value: f64) -> Self;
    /// Sum.
    fn add(&self, other: &Self) -> Self;
    /// Difference.
    fn subtract(&self, other: &Self) -> Self;
    /// Product.
    fn multiply(&self, other: &Self) -> Self;
    /// Quotient.
    fn divide(&self, other: &Self) -> Self;
    /// Power with an exponent that is a whole number.
    fn whole_power(&self, exponent: i32) -> Self;
    /// Power.
    fn power(&self, exponent: &Self) -> Self;
    /// A function of one number.
    fn apply(&self, function: Elementary) -> Self;
    /// The smaller of two.
    fn lesser(&self, other: &Self) -> Self;
    /// The larger of two.
    fn greater(&self, other: &Self) -> Self;
    /// A function that is only known point by point; `None` where it has no
    /// value, or where this kind of number cannot be put through it.
    fn through(function: &dyn Smooth, arguments: &[Self]) -> Option<Self>;
    /// Whether the value is a number at all.
    fn is_finite(&self) -> bool;
    /// Whether the value is, or may be, zero. Who leaves that open gives a
    /// quotient by zero that is not finite.
    fn may_be_zero(&self) -> bool;
}

/// Gives the value of a function for one list of arguments after another.
pub type Asker<'a> = Box<dyn FnMut(&[f64]) -> Option<f64> + 'a>;

/// A smooth function of several numbers that no formula writes down, such as a
/// voltage of a network that has to be solved.
pub trait Smooth {
    /// The value for these arguments; `None` where there is none.
    fn value(&self, arguments: &[f64]) -> Option<f64>;

    /// The value, and the derivative by each argument, which is written to
    /// `slopes`.
    fn slopes(&self, arguments: &[f64], slopes: &mut [f64]) -> Option<f64>;

    /// The same as [`Smooth::value`], for asking many times in a row.
    fn asker(&self) -> Asker<'_> {
        Box::new(|arguments| self.value(arguments))
    }

    /// The values for many lists of arguments, given as a list for each
    /// argument: as many values as there are results, or a single one where
    /// the argument does not vary. `None` where one of them has no value.
    fn values(&self, arguments: &[&[f64]], results: &mut [f64]) -> Option<()> {
        let mut ask = self.asker();
        let mut point = vec![0.0; arguments.len()];
        for (at, result) in results.iter_mut().enumerate() {
            for (place, column) in point.iter_mut().zip(arguments) {
                *place = column[at.min(column.len() - 1)];
            }
            *result = ask(&point)?;
        }
        Some(())
    }
}

/// Functions of one number.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub enum Elementary {
    SquareRoot,
    NaturalLogarithm,
    Logarithm10,
    Logarithm2,
    Exponential,
    Magnitude,
    Sine,
    Cosine,
    Tangent,
    ArcSine,
    ArcCosine,
    ArcTangent,
    HyperbolicSine,
    HyperbolicCosine,
    HyperbolicTangent,
    Floor,
    Ceiling,
    Round,
}

impl Elementary {
    /// The value at `x`.
    pub fn at(self, x: f64) -> f64 {
        match self {
            Elementary::SquareRoot => x.sqrt(),
            Elementary::NaturalLogarithm => x.ln(),
            Elementary::Logarithm10 => x.log10(),
            Elementary::Logarithm2 => x.log2(),
            Elementary::Exponential => x.exp(),
            Elementary::Magnitude => x.abs(),
            Elementary::Sine => x.sin(),
            Elementary::Cosine => x.cos(),
            Elementary::Tangent => x.tan(),
            Elementary::ArcSine => x.asin(),
            Elementary::ArcCosine => x.acos(),
            Elementary::ArcTangent => x.atan(),
            Elementary::HyperbolicSine => x.sinh(),
            Elementary::HyperbolicCosine => x.cosh(),
            Elementary::HyperbolicTangent => x.tanh(),
            Elementary::Floor => x.floor(),
            Elementary::Ceiling => x.ceil(),
            Elementary::Round => x.round(),
        }
    }
}

impl Scalar for f64 {
    fn constant(value: f64) -> f64 {
        value
    }
    fn add(&self, other: &f64) -> f64 {
        self + other
    }
    fn subtract(&self, other: &f64) -> f64 {
        self - other
    }
    fn multiply(&self, other: &f64) -> f64 {
        self * other
    }
    fn divide(&self, other: &f64) -> f64 {
        self / other
    }
    fn whole_power(&self, exponent: i32) -> f64 {
        self.powi(exponent)
    }
    fn power(&self, exponent: &f64) -> f64 {
        self.powf(*exponent)
    }
    fn apply(&self, function: Elementary) -> f64 {
        function.at(*self)
    }
    fn lesser(&self, other: &f64) -> f64 {
        self.min(*other)
    }
    fn greater(&self, other: &f64) -> f64 {
        self.max(*other)
    }
    fn through(function: &dyn Smooth, arguments: &[f64]) -> Option<f64> {
        function.value(arguments)
    }
    fn is_finite(&self) -> bool {
        f64::is_finite(*self)
    }
    fn may_be_zero(&self) -> bool {
        *self == 0.0
    }
}

/// Why a formula has no value.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct EvaluationFault {
    /// The piece that has none.
    pub span: Range<usize>,
    /// Why.
    pub kind: EvaluationFaultKind,
}

/// Why a piece of a formula has no value.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum EvaluationFaultKind {
    /// It divides by zero.
    DivisionByZero,
    /// A function was asked outside its domain, such as the logarithm of a
    /// negative number; or the result is too large to be held.
    NotFinite(&'static str),
}

impl std::fmt::Display for EvaluationFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.kind {
            EvaluationFaultKind::DivisionByZero => f.write_str("divides by zero"),
            EvaluationFaultKind::NotFinite(what) => {
                write!(f, "the {what} has no value here, or one too large to hold")
            }
        }
    }
}

impl Formula {
    /// The value, given that of each name in the order of [`Formula::names`].
    ///
    /// # Errors
    /// [`EvaluationFault`] with the first piece that has no value.
    pub fn evaluate<N: Scalar>(&self, names: &[N]) -> Result<N, EvaluationFault> {
        self.root.evaluate(names)
    }
}

impl Expression {
    fn evaluate<N: Scalar>(&self, names: &[N]) -> Result<N, EvaluationFault> {
        let (value, what) = match &self.node {
            Node::Number { value, .. } => (N::constant(*value), "number"),
            Node::Constant { value, .. } => (N::constant(*value), "constant"),
            Node::Name(at) => match names.get(*at) {
                Some(value) => (value.clone(), "name"),
                None => return Err(self.fault("name")),
            },
            Node::Negative(inner) => self.negative_value(inner, names)?,
            Node::Binary(operator, left, right) => {
                let l = left.evaluate(names)?;
                let r = right.evaluate(names)?;
                match operator {
                    Operator::Add => (l.add(&r), "sum"),
                    Operator::Subtract => (l.subtract(&r), "difference"),
                    Operator::Multiply => (l.multiply(&r), "product"),
                    Operator::Divide if r.may_be_zero() => {
                        let kind = EvaluationFaultKind::DivisionByZero;
                        return Err(EvaluationFault {
                            span: right.span.clone(),
                            kind,
                        });
                    }
                    Operator::Divide => (l.divide(&r), "quotient"),
                    Operator::Power => match whole(right) {
                        Some(exponent) => (l.whole_power(exponent), "power"),
                        None => (l.power(&r), "power"),
                    },
                }
            }
            Node::Call(function, arguments) => {
                let values: Result<Vec<N>, _> = arguments
                    .iter()
                    .map(|argument| argument.evaluate(names))
                    .collect();
                (self.call_value(*function, &values?)?, function.name())
            }
        };
        if value.is_finite() {
            Ok(value)
        } else {
            Err(self.fault(what))
        }
    }

    fn fault(&self, what: &'static str) -> EvaluationFault {
        EvaluationFault {
            span: self.span.clone(),
            kind: EvaluationFaultKind::NotFinite(what),
        }
    }

    fn negative_value<N: Scalar>(
        &self,
        inner: &Expression,
        names: &[N],
    ) -> Result<(N, &'static str), EvaluationFault> {
        // The negative of a written temperature is meant on its own scale:
        // -40 °C, and not minus 313 K.
        if let Node::Number { decimal, unit, .. } = &inner.node
            && unit.has_offset()
        {
            let value = unit.value_of(&decimal.negated());
            return Ok((N::constant(value), "number"));
        }
        let value = inner.evaluate(names)?;
        Ok((N::constant(0.0).subtract(&value), "negative"))
    }

    fn call_value<N: Scalar>(
        &self,
        function: Function,
        values: &[N],
    ) -> Result<N, EvaluationFault> {
        let Some((first, others)) = values.split_first() else {
            return Err(self.fault("function"));
        };
        let scaled = |value: N, factor: f64| value.multiply(&N::constant(factor));
        let ten_to =
            |value: N| scaled(value, std::f64::consts::LN_10).apply(Elementary::Exponential);
        Ok(match function {
            Function::Parallel => return self.parallel(values),
            Function::Min => others
                .iter()
                .fold(first.clone(), |least, value| least.lesser(value)),
            Function::Max => others
                .iter()
                .fold(first.clone(), |most, value| most.greater(value)),
            Function::Of(elementary) => first.apply(elementary),
            Function::PowerLevel => scaled(first.apply(Elementary::Logarithm10), 10.0),
            Function::FieldLevel => scaled(first.apply(Elementary::Logarithm10), 20.0),
            Function::PowerRatio => ten_to(scaled(first.clone(), 0.1)),
            Function::FieldRatio => ten_to(scaled(first.clone(), 0.05)),
            Function::Cents => scaled(first.apply(Elementary::Logarithm2), 1200.0),
        })
    }

    fn parallel<N: Scalar>(&self, values: &[N]) -> Result<N, EvaluationFault> {
        let kind = EvaluationFaultKind::DivisionByZero;
        let mut conductance = N::constant(0.0);
        for value in values {
            if value.may_be_zero() {
                return Err(EvaluationFault {
                    span: self.span.clone(),
                    kind,
                });
            }
            conductance = conductance.add(&N::constant(1.0).divide(value));
        }
        // Of many numbers at once it may be that one of them was zero.
        if conductance.may_be_zero() || !conductance.is_finite() {
            return Err(EvaluationFault {
                span: self.span.clone(),
                kind,
            });
        }
        Ok(N::constant(1.0).divide(&conductance))
    }
}

/// The exponent where it is a written whole number.
fn whole(exponent: &Expression) -> Option<i32> {
    let value = exponent.as_plain_constant()?;
    (value.fract() == 0.0 && value.abs() <= 1000.0).then_some(value as i32)
}
