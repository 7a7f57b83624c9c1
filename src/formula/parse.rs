//! Text to tree.

use std::ops::Range;

use super::Function;
use super::lex::{Lexer, Token};
use super::tree::{Comparator, Comparison, Expression, Formula, NameUse, Node, Operator};
use crate::quantity::{Constant, Dimension, Unit};

/// Longest formula that is read, in bytes; a page of text holds fewer.
const MAX_LENGTH: usize = 4000;
/// Deepest nesting of brackets and functions that is read.
const MAX_DEPTH: usize = 64;

/// Why text is not a formula.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct FormulaFault {
    /// The bytes that are wrong.
    pub span: Range<usize>,
    /// What is wrong with them.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
    /// What sort of fault it is.
    pub sort: FormulaFaultSort,
}

/// Sorts of fault that have a kind of finding of their own.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FormulaFaultSort {
    /// The form of the formula.
    Form,
    /// A comma in a number.
    DecimalComma,
    /// A unit that is not known.
    UnknownUnit,
    /// A function, or a unit in the place of a name, that is not known.
    UnknownName,
}

impl FormulaFault {
    pub(super) fn new(span: Range<usize>, message: impl Into<String>) -> FormulaFault {
        FormulaFault {
            span,
            message: message.into(),
            help: None,
            sort: FormulaFaultSort::Form,
        }
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> FormulaFault {
        self.help = Some(help.into());
        self
    }

    pub(super) fn decimal_comma(self) -> FormulaFault {
        FormulaFault {
            sort: FormulaFaultSort::DecimalComma,
            ..self
        }
    }

    pub(super) fn unknown_unit(self) -> FormulaFault {
        FormulaFault {
            sort: FormulaFaultSort::UnknownUnit,
            ..self
        }
    }

    fn unknown_name(self) -> FormulaFault {
        FormulaFault {
            sort: FormulaFaultSort::UnknownName,
            ..self
        }
    }
}

impl Formula {
    /// Reads a formula.
    ///
    /// # Errors
    /// [`FormulaFault`] for the first thing that is wrong.
    pub fn parse(text: &str) -> Result<Formula, FormulaFault> {
        let mut parser = Parser::new(text)?;
        let root = parser.sum()?;
        if let Token::Compare(_) = parser.token {
            return Err(FormulaFault::new(
                parser.span,
                "a comparison stands where a value is wanted",
            ));
        }
        parser.expect_end()?;
        Ok(Formula {
            text: text.to_owned(),
            root,
            names: parser.names,
        })
    }
}

impl Comparison {
    /// Reads `left <= right`, with `<`, `<=`, `≤`, `>`, `>=` or `≥`.
    ///
    /// # Errors
    /// [`FormulaFault`] for the first thing that is wrong.
    pub fn parse(text: &str) -> Result<Comparison, FormulaFault> {
        let mut parser = Parser::new(text)?;
        let left = parser.sum()?;
        let Token::Compare(comparator) = parser.token else {
            return Err(FormulaFault::new(left.span, "a comparison is wanted here")
                .help("write two sides with `<`, `<=`, `>` or `>=` between them"));
        };
        let left = Formula {
            text: text.to_owned(),
            root: left,
            names: std::mem::take(&mut parser.names),
        };
        parser.advance()?;
        let right = parser.sum()?;
        if let Token::Compare(_) = parser.token {
            return Err(
                FormulaFault::new(parser.span, "a second comparison follows")
                    .help("write a record of its own for each comparison"),
            );
        }
        parser.expect_end()?;
        let right = Formula {
            text: text.to_owned(),
            root: right,
            names: parser.names,
        };
        Ok(Comparison {
            left,
            comparator,
            right,
        })
    }

    /// The sign and both sides as written.
    pub fn text(&self) -> &str {
        self.left.text()
    }

    /// The comparator's sign.
    pub fn comparator(&self) -> Comparator {
        self.comparator
    }
}

struct Parser<'a> {
    lexer: Lexer<'a>,
    token: Token,
    span: Range<usize>,
    names: Vec<NameUse>,
    depth: usize,
}

impl<'a> Parser<'a> {
    fn new(text: &'a str) -> Result<Parser<'a>, FormulaFault> {
        if text.len() > MAX_LENGTH {
            let mut end = 20;
            while !text.is_char_boundary(end) {
                end += 1;
            }
            let message = format!(
                "a formula of {} bytes; {MAX_LENGTH} are read at most",
                text.len()
            );
            return Err(
                FormulaFault::new(0..end, message).help("break it into figures of their own")
            );
        }
        let mut parser = Parser {
            lexer: Lexer::new(text),
            token: Token::End,
            span: 0..0,
            names: Vec::new(),
            depth: 0,
        };
        parser.advance()?;
        Ok(parser)
    }

    /// Goes on to the next word and returns the place of the one that was read.
    fn advance(&mut self) -> Result<Range<usize>, FormulaFault> {
        let (token, span) = self.lexer.next()?;
        self.token = token;
        Ok(std::mem::replace(&mut self.span, span))
    }

    fn expect_end(&self) -> Result<(), FormulaFault> {
        let fault = |message: &str| Err(FormulaFault::new(self.span.clone(), message));
        match self.token {
            Token::End => Ok(()),
            Token::Close => fault("a bracket closes that was never opened"),
            Token::Comma => fault("a comma stands outside a list of arguments"),
            _ => fault("an operator is missing before this")
                .map_err(|fault: FormulaFault| fault.help("write `*` to multiply")),
        }
    }

    fn nested<T>(
        &mut self,
        inner: impl FnOnce(&mut Self) -> Result<T, FormulaFault>,
    ) -> Result<T, FormulaFault> {
        self.depth += 1;
        if self.depth > MAX_DEPTH {
            let message = format!("nested more than {MAX_DEPTH} deep");
            return Err(FormulaFault::new(self.span.clone(), message)
                .help("break it into figures of their own"));
        }
        let result = inner(self);
        self.depth -= 1;
        result
    }

    fn sum(&mut self) -> Result<Expression, FormulaFault> {
        self.nested(|parser| {
            let mut left = parser.product()?;
            while let Token::Operator(operator @ (Operator::Add | Operator::Subtract)) =
                parser.token
            {
                parser.advance()?;
                let right = parser.product()?;
                left = binary(operator, left, right);
            }
            Ok(left)
        })
    }

    fn product(&mut self) -> Result<Expression, FormulaFault> {
        let mut left = self.signed()?;
        while let Token::Operator(operator @ (Operator::Multiply | Operator::Divide)) = self.token {
            self.advance()?;
            let right = self.signed()?;
            left = binary(operator, left, right);
        }
        Ok(left)
    }

    fn signed(&mut self) -> Result<Expression, FormulaFault> {
        match self.token {
            Token::Operator(Operator::Subtract) => {
                let sign = self.advance()?;
                let inner = self.nested(Parser::signed)?;
                let span = sign.start..inner.span.end;
                Ok(Expression {
                    node: Node::Negative(Box::new(inner)),
                    span,
                })
            }
            Token::Operator(Operator::Add) => {
                self.advance()?;
                self.nested(Parser::signed)
            }
            _ => self.power(),
        }
    }

    /// A power binds tighter than a sign before it and groups to the right:
    /// `-2^2` is -4, `2^3^2` is 512.
    fn power(&mut self) -> Result<Expression, FormulaFault> {
        let base = self.primary()?;
        if self.token == Token::Operator(Operator::Power) {
            self.advance()?;
            let exponent = self.nested(Parser::signed)?;
            return Ok(binary(Operator::Power, base, exponent));
        }
        Ok(base)
    }

    fn primary(&mut self) -> Result<Expression, FormulaFault> {
        match std::mem::replace(&mut self.token, Token::End) {
            Token::Number { decimal, unit } => {
                let span = self.advance()?;
                Ok(Expression {
                    node: Node::Number {
                        value: unit.value_of(&decimal),
                        decimal,
                        unit,
                    },
                    span,
                })
            }
            Token::Open => {
                let open = self.advance()?;
                let inner = self.sum()?;
                let close = self.close(&open)?;
                Ok(Expression {
                    node: inner.node,
                    span: open.start..close.end,
                })
            }
            Token::Name(name) => {
                let span = self.advance()?;
                if self.token == Token::Open {
                    return self.call(&name, span);
                }
                self.name(name, span)
            }
            Token::End => Err(FormulaFault::new(
                self.span.clone(),
                "the formula ends where a value is wanted",
            )),
            other => {
                self.token = other;
                Err(FormulaFault::new(
                    self.span.clone(),
                    "a value is wanted here",
                ))
            }
        }
    }

    fn close(&mut self, open: &Range<usize>) -> Result<Range<usize>, FormulaFault> {
        if self.token != Token::Close {
            return Err(FormulaFault::new(
                open.clone(),
                "this bracket is never closed",
            ));
        }
        self.advance()
    }

    fn name(&mut self, name: String, span: Range<usize>) -> Result<Expression, FormulaFault> {
        if let Some(node) = constant(&name) {
            return Ok(Expression { node, span });
        }
        if let Ok(unit) = Unit::from_symbol(&name) {
            let symbol = unit.symbol();
            return Err(FormulaFault::new(
                span,
                format!("`{name}` is a unit, and stands only right after a number"),
            )
            .help(format!(
                "write `1 {symbol}`, or a compound unit in brackets: `60 (K/W)`"
            ))
            .unknown_name());
        }
        if name.starts_with('.') || name.ends_with('.') || name.contains("..") {
            return Err(FormulaFault::new(
                span,
                format!("`{name}` is no name: a part of it is empty"),
            ));
        }
        let at = self
            .names
            .iter()
            .position(|known| known.name == name)
            .unwrap_or_else(|| {
                self.names.push(NameUse {
                    name,
                    span: span.clone(),
                });
                self.names.len() - 1
            });
        Ok(Expression {
            node: Node::Name(at),
            span,
        })
    }

    fn call(&mut self, name: &str, span: Range<usize>) -> Result<Expression, FormulaFault> {
        let Some((function, wanted)) = Function::by_name(name) else {
            let nearest = crate::nearest::nearest(name, Function::names());
            let fault =
                FormulaFault::new(span, format!("there is no function `{name}`")).unknown_name();
            return Err(match nearest {
                Some(nearest) => fault.help(format!("perhaps `{nearest}`")),
                None => fault,
            });
        };
        let open = self.advance()?;
        let mut arguments = Vec::new();
        if self.token != Token::Close {
            arguments.push(self.sum()?);
            while self.token == Token::Comma {
                self.advance()?;
                arguments.push(self.sum()?);
            }
        }
        let close = self.close(&open)?;
        let span = span.start..close.end;
        if !wanted.contains(&arguments.len()) {
            let number = arguments.len();
            let takes = match (*wanted.start(), *wanted.end()) {
                (1, 1) => "one argument".to_owned(),
                (least, most) => format!("{least} to {most} arguments"),
            };
            return Err(FormulaFault::new(
                span,
                format!("`{name}` takes {takes}, {number} are given"),
            ));
        }
        Ok(Expression {
            node: Node::Call(function, arguments),
            span,
        })
    }
}

fn binary(operator: Operator, left: Expression, right: Expression) -> Expression {
    let span = left.span.start..right.span.end;
    Expression {
        node: Node::Binary(operator, Box::new(left), Box::new(right)),
        span,
    }
}

/// Whether a name in a formula is a constant: `pi`, or one of nature by its
/// full name, `elementary_charge`.
pub fn is_constant(name: &str) -> bool {
    constant(name).is_some()
}

fn constant(name: &str) -> Option<Node> {
    if name == "pi" {
        return Some(Node::Constant {
            symbol: "π",
            value: std::f64::consts::PI,
            dimension: Dimension::ONE,
        });
    }
    // Short names stay free for figures.
    let lower = name.contains('_') && !name.contains(|c: char| c.is_ascii_uppercase());
    let constant = Constant::by_name(&name.replace('_', " ")).filter(|_| lower)?;
    Some(Node::Constant {
        symbol: constant.symbol,
        value: constant.value,
        dimension: constant.dimension,
    })
}
