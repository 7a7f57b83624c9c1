//! Formulas as MathML Core, symbolic and with numbers put in.

use std::borrow::Cow;

use super::Function;
use super::evaluate::Elementary;
use super::tree::{Expression, Formula, Node, Operator};
use crate::quantity::Shown;

/// How the names of a formula are written.
pub enum Notation<'a> {
    /// As letter symbols: MathML for each name, in the order of
    /// [`Formula::names`].
    Symbols(&'a [String]),
    /// As their values.
    Values(&'a [Shown]),
}

/// How tightly a written piece holds together; what is looser than its place
/// gets brackets.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
enum Hold {
    Sum,
    Product,
    Sign,
    Quantity,
    Atom,
}

impl Formula {
    /// The formula as the inside of a `math` element.
    pub fn mathml(&self, notation: &Notation<'_>) -> String {
        self.root.mathml(notation).0
    }
}

/// A letter symbol as MathML: `R1` and `I_chg` get a subscript, other names
/// are words.
pub fn symbol_mathml(name: &str) -> String {
    let last = name.rsplit('.').next().unwrap_or(name);
    if let Some((letter, index)) = last.split_once('_')
        && letter.chars().count() == 1
    {
        return format!(
            "<msub><mi>{}</mi><mtext>{}</mtext></msub>",
            escape(letter),
            escape(&index.replace('_', " "))
        );
    }
    let digits = last.trim_start_matches(|c: char| c.is_ascii_uppercase());
    let letters = &last[..last.len() - digits.len()];
    if !letters.is_empty() && !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
    {
        return format!("<msub><mi>{letters}</mi><mn>{digits}</mn></msub>");
    }
    format!(
        "<mtext>{}</mtext>",
        escape(&name.replace('_', " ").replace('.', ": "))
    )
}

fn escape(text: &str) -> Cow<'_, str> {
    // Numerals and units, which are most of what comes here, hold none of them.
    if !text.contains(['&', '<', '>', '"']) {
        return Cow::Borrowed(text);
    }
    let text = text.replace('&', "&amp;").replace('<', "&lt;");
    Cow::Owned(text.replace('>', "&gt;").replace('"', "&quot;"))
}

fn quantity(shown: &Shown) -> (String, Hold) {
    let number = format!("<mn>{}</mn>", escape(&shown.numeral));
    let negative = shown.numeral.starts_with(['-', '−']);
    if shown.unit.is_empty() {
        return (number, if negative { Hold::Sum } else { Hold::Atom });
    }
    let unit = format!(
        "<mrow>{number}<mtext>\u{a0}{}</mtext></mrow>",
        escape(&shown.unit)
    );
    (unit, if negative { Hold::Sum } else { Hold::Quantity })
}

fn bracketed((inner, hold): (String, Hold), wanted: Hold) -> String {
    if hold >= wanted {
        inner
    } else {
        format!("<mrow><mo>(</mo>{inner}<mo>)</mo></mrow>")
    }
}

fn function_name(name: &str, inner: &str) -> (String, Hold) {
    let text = format!(
        "<mrow><mi>{name}</mi><mo>\u{2061}</mo><mrow><mo>(</mo>{inner}<mo>)</mo></mrow></mrow>"
    );
    (text, Hold::Atom)
}

impl Expression {
    fn mathml(&self, notation: &Notation<'_>) -> (String, Hold) {
        match &self.node {
            Node::Number { decimal, unit, .. } => quantity(&Shown {
                numeral: decimal.grouped(),
                unit: unit.symbol().to_owned(),
            }),
            Node::Constant { symbol, .. } => (format!("<mi>{symbol}</mi>"), Hold::Atom),
            Node::Name(at) => match notation {
                Notation::Symbols(symbols) => {
                    (symbols.get(*at).cloned().unwrap_or_default(), Hold::Atom)
                }
                Notation::Values(values) => values
                    .get(*at)
                    .map_or_else(|| (String::new(), Hold::Atom), quantity),
            },
            Node::Negative(inner) => {
                let inner = bracketed(inner.mathml(notation), Hold::Product);
                (format!("<mrow><mo>−</mo>{inner}</mrow>"), Hold::Sum)
            }
            Node::Binary(operator, left, right) => binary(*operator, left, right, notation),
            Node::Call(function, arguments) => call(*function, arguments, notation),
        }
    }
}

fn binary(
    operator: Operator,
    left: &Expression,
    right: &Expression,
    notation: &Notation<'_>,
) -> (String, Hold) {
    let l = left.mathml(notation);
    let r = right.mathml(notation);
    match operator {
        Operator::Add => {
            let r = bracketed(r, Hold::Product);
            (
                format!("<mrow>{}<mo>+</mo>{r}</mrow>", bracketed(l, Hold::Sum)),
                Hold::Sum,
            )
        }
        Operator::Subtract => {
            let r = bracketed(r, Hold::Product);
            (
                format!("<mrow>{}<mo>−</mo>{r}</mrow>", bracketed(l, Hold::Sum)),
                Hold::Sum,
            )
        }
        Operator::Multiply => {
            let (l, r) = (bracketed(l, Hold::Product), bracketed(r, Hold::Product));
            (format!("<mrow>{l}<mo>·</mo>{r}</mrow>"), Hold::Product)
        }
        Operator::Divide => (format!("<mfrac>{}{}</mfrac>", l.0, r.0), Hold::Sign),
        Operator::Power => {
            let base = bracketed(l, Hold::Atom);
            (
                format!("<msup><mrow>{base}</mrow><mrow>{}</mrow></msup>", r.0),
                Hold::Atom,
            )
        }
    }
}

fn call(function: Function, arguments: &[Expression], notation: &Notation<'_>) -> (String, Hold) {
    let written: Vec<(String, Hold)> = arguments
        .iter()
        .map(|argument| argument.mathml(notation))
        .collect();
    let list = || {
        written
            .iter()
            .map(|(text, _)| text.as_str())
            .collect::<Vec<_>>()
            .join("<mo>,</mo>")
    };
    match function {
        Function::Parallel => {
            let terms: Vec<String> = written
                .into_iter()
                .map(|term| bracketed(term, Hold::Sign))
                .collect();
            (
                format!("<mrow>{}</mrow>", terms.join("<mo>∥</mo>")),
                Hold::Sum,
            )
        }
        Function::Of(Elementary::SquareRoot) => (format!("<msqrt>{}</msqrt>", list()), Hold::Atom),
        Function::Of(Elementary::Magnitude) => (
            format!("<mrow><mo>|</mo>{}<mo>|</mo></mrow>", list()),
            Hold::Atom,
        ),
        Function::Of(Elementary::Exponential) => (
            format!("<msup><mi>e</mi><mrow>{}</mrow></msup>", list()),
            Hold::Atom,
        ),
        Function::Of(Elementary::Logarithm10) => logarithm("10", &list()),
        Function::Of(Elementary::Logarithm2) => logarithm("2", &list()),
        other => function_name(&other.name().replace('_', " "), &list()),
    }
}

fn logarithm(base: &str, inner: &str) -> (String, Hold) {
    let text = format!(
        "<mrow><msub><mi>log</mi><mn>{base}</mn></msub><mo>\u{2061}</mo><mrow><mo>(</mo>{inner}<mo>)</mo></mrow></mrow>"
    );
    (text, Hold::Atom)
}
