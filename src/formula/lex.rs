//! The words of a formula.

use std::ops::Range;

use super::parse::FormulaFault;
use super::tree::{Comparator, Operator};
use crate::quantity::{Decimal, NumeralFault, Unit, is_space};

/// One word of a formula.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Token {
    Number { decimal: Decimal, unit: Unit },
    Name(String),
    Operator(Operator),
    Compare(Comparator),
    Open,
    Close,
    Comma,
    End,
}

/// Reads one word after another.
pub(super) struct Lexer<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Lexer<'a> {
    pub(super) fn new(text: &'a str) -> Lexer<'a> {
        Lexer { text, at: 0 }
    }

    /// The next word and its place.
    pub(super) fn next(&mut self) -> Result<(Token, Range<usize>), FormulaFault> {
        let rest =
            self.text[self.at..].trim_start_matches(|c| is_space(c) || c.is_ascii_whitespace());
        self.at = self.text.len() - rest.len();
        let start = self.at;
        let Some(first) = rest.chars().next() else {
            return Ok((Token::End, start..start));
        };
        if first.is_ascii_digit() || first == '.' {
            return self.number(start);
        }
        if first.is_ascii_alphabetic() || first == '_' {
            return Ok(self.name(start));
        }
        let signs: &[(&str, Token)] = &[
            ("<=", Token::Compare(Comparator::AtMost)),
            (">=", Token::Compare(Comparator::AtLeast)),
            ("≤", Token::Compare(Comparator::AtMost)),
            ("≥", Token::Compare(Comparator::AtLeast)),
            ("<", Token::Compare(Comparator::Less)),
            (">", Token::Compare(Comparator::Greater)),
            ("+", Token::Operator(Operator::Add)),
            ("-", Token::Operator(Operator::Subtract)),
            ("−", Token::Operator(Operator::Subtract)),
            ("*", Token::Operator(Operator::Multiply)),
            ("·", Token::Operator(Operator::Multiply)),
            ("×", Token::Operator(Operator::Multiply)),
            ("/", Token::Operator(Operator::Divide)),
            ("^", Token::Operator(Operator::Power)),
            ("(", Token::Open),
            (")", Token::Close),
            (",", Token::Comma),
        ];
        for (sign, token) in signs {
            if rest.starts_with(sign) {
                self.at += sign.len();
                return Ok((token.clone(), start..self.at));
            }
        }
        Err(FormulaFault::new(
            start..start + first.len_utf8(),
            format!("`{first}` means nothing in a formula"),
        ))
    }

    fn number(&mut self, start: usize) -> Result<(Token, Range<usize>), FormulaFault> {
        let rest = &self.text[start..];
        let (decimal, used) = match Decimal::scan(rest) {
            Ok(read) => read,
            Err(NumeralFault::Comma) if !self.comma_separates(start) => {
                let len = rest
                    .find(|c: char| c != ',' && !c.is_ascii_digit())
                    .unwrap_or(rest.len());
                let mended = rest[..len].replacen(',', ".", 1);
                return Err(
                    FormulaFault::new(start..start + len, "a comma stands in a number")
                        .help(format!("write `{mended}`"))
                        .decimal_comma(),
                );
            }
            // In a list of arguments the numeral ends before the comma.
            Err(NumeralFault::Comma) => {
                let len = rest.find(',').unwrap_or(rest.len());
                Decimal::scan(&rest[..len]).map_err(|_| {
                    FormulaFault::new(start..start + len, "a number was expected here")
                })?
            }
            Err(NumeralFault::TooLong) => {
                let len = rest
                    .find(|c: char| !c.is_ascii_digit())
                    .unwrap_or(rest.len());
                let message = "a numeral is longer or larger than any measured value";
                return Err(FormulaFault::new(start..start + len.max(1), message));
            }
            Err(_) => {
                let message = "a decimal point needs a digit on both sides";
                return Err(FormulaFault::new(start..start + 1, message));
            }
        };
        self.at = start + used;
        let after = &self.text[self.at..];
        let gap: usize = after
            .chars()
            .take_while(|&c| is_space(c))
            .map(char::len_utf8)
            .sum();
        let unit = self.unit(self.at + gap)?;
        Ok((Token::Number { decimal, unit }, start..self.at))
    }

    /// Whether the comma after the numeral at `start` parts two arguments: it
    /// does wherever a bracket is open and a space follows it.
    fn comma_separates(&self, start: usize) -> bool {
        let rest = &self.text[start..];
        let comma = rest.find(',').unwrap_or(0);
        let spaced = rest[comma + 1..].starts_with(is_space);
        let open =
            self.text[..start].matches('(').count() > self.text[..start].matches(')').count();
        open && spaced
    }

    /// The unit right after a number; none where something else follows.
    fn unit(&mut self, at: usize) -> Result<Unit, FormulaFault> {
        let rest = &self.text[at..];
        let is_unit_char = |c: char| {
            c.is_alphanumeric()
                || matches!(
                    c,
                    '°' | '%' | 'Ω' | '\u{2126}' | 'µ' | '℃' | '⁻' | '_' | '.'
                )
        };
        if rest.starts_with('(') {
            let close = rest.find(')').map_or(rest.len(), |close| close + 1);
            let inner = rest[1..close].trim_end_matches(')');
            let unit = Unit::parse(inner).map_err(|fault| {
                FormulaFault::new(
                    at..at + close,
                    format!("brackets right after a number hold its unit: {fault}"),
                )
                .help("to multiply, write `*` between number and bracket")
            })?;
            self.at = at + close;
            return Ok(unit);
        }
        let len = rest.find(|c| !is_unit_char(c)).unwrap_or(rest.len());
        if len == 0 {
            return Ok(Unit::one());
        }
        let word = &rest[..len];
        let unit = Unit::parse(word).map_err(|fault| {
            FormulaFault::new(
                at..at + len,
                format!("right after a number stands its unit: {fault}"),
            )
            .help(
                if word.chars().next().is_some_and(|c| c.is_ascii_alphabetic()) {
                    format!("if `{word}` is a name, write `*` before it")
                } else {
                    "write a unit of the SI, such as `kΩ`".to_owned()
                },
            )
            .unknown_unit()
        })?;
        if rest[len..].starts_with('^') {
            let message = format!("`{word}^` can be read in two ways");
            return Err(FormulaFault::new(at..at + len + 1, message).help(format!(
                "write `({word}^2)` for the unit, or put number and unit in brackets"
            )));
        }
        self.at = at + len;
        Ok(unit)
    }

    fn name(&mut self, start: usize) -> (Token, Range<usize>) {
        let rest = &self.text[start..];
        let is_name_char = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '.';
        let len = rest.find(|c| !is_name_char(c)).unwrap_or(rest.len());
        self.at = start + len;
        (Token::Name(rest[..len].to_owned()), start..self.at)
    }
}
