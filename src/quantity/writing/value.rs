//! Values: a numeral, the gap after it, and the unit expression that follows.

use super::lex::{Kind, Token, tokens};
use super::symbol::{Verdict, judge};
use super::{Breach, Rule};
use crate::quantity::RkmCode;

/// What stands between a numeral and the word after it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Gap {
    None,
    Space,
    Hyphen,
}

/// One or more unit symbols joined by solidi, points and brackets.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct UnitExpression {
    /// Places of the symbols among the tokens, with what each is.
    pub(super) symbols: Vec<(usize, Verdict)>,
    /// Solidi outside brackets.
    pub(super) solidi: usize,
    /// Whether a product without brackets follows a solidus.
    pub(super) open_product: bool,
    /// The token after the expression.
    pub(super) end: usize,
}

/// A numeral with what belongs to it.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Value {
    /// The numeral's place among the tokens.
    pub(super) number: usize,
    pub(super) gap: Gap,
    /// The unit, where one is meant.
    pub(super) unit: Option<UnitExpression>,
    /// The token after the value.
    pub(super) end: usize,
}

/// A text, split and with its values found.
pub(super) struct Reading<'a> {
    pub(super) text: &'a str,
    pub(super) tokens: Vec<Token<'a>>,
    pub(super) values: Vec<Value>,
    /// A unit expression that is the whole text: `W/(m K)`.
    pub(super) alone: Option<UnitExpression>,
}

impl<'a> Reading<'a> {
    pub(super) fn of(text: &'a str) -> Reading<'a> {
        let tokens = tokens(text);
        let mut reading = Reading {
            text,
            tokens,
            values: Vec::new(),
            alone: None,
        };
        let numbers = |(at, token): (usize, &Token<'a>)| (token.kind == Kind::Number).then_some(at);
        reading.values = (reading.tokens.iter().enumerate())
            .filter_map(numbers)
            .map(|number| reading.value(number))
            .collect();
        if reading.values.is_empty() {
            reading.alone = reading.whole_expression();
        }
        reading
    }

    pub(super) fn kind(&self, at: usize) -> Option<Kind> {
        self.tokens.get(at).map(|token| token.kind)
    }

    fn value(&self, number: usize) -> Value {
        let next = number + 1;
        let after_next = self.kind(next + 1);
        let (gap, start) = match self.kind(next) {
            Some(Kind::Space) => (Gap::Space, next + 1),
            Some(Kind::Mark('-' | '‐' | '\u{2011}')) if after_next == Some(Kind::Word) => {
                (Gap::Hyphen, next + 1)
            }
            _ => (Gap::None, next),
        };
        // `10^6/m^3` is per cubic metre.
        let per = self.kind(start) == Some(Kind::Mark('/')) && gap == Gap::None;
        let unit = self
            .expression(
                if per { start + 1 } else { start },
                gap == Gap::None && !per,
                false,
            )
            .filter(|unit| unit.symbols[0].1.is_unit());
        let end = unit.as_ref().map_or(next, |unit| unit.end);
        // What is read after a solidus has no gap of its own.
        let gap = if per { Gap::Space } else { gap };
        Value {
            number,
            gap,
            unit,
            end,
        }
    }

    /// Reads a unit expression; `None` where no word stands at `start`. It has
    /// at least one symbol. A space is a product where the text is nothing but
    /// the expression, and before a symbol that is no English word: `W/m K`.
    fn expression(&self, start: usize, attached: bool, alone: bool) -> Option<UnitExpression> {
        let word = self
            .tokens
            .get(start)
            .filter(|token| token.kind == Kind::Word)?;
        let mut read = UnitExpression {
            symbols: vec![(start, judge(word.text, attached))],
            solidi: 0,
            open_product: false,
            end: start + 1,
        };
        loop {
            let sign = self.kind(read.end);
            let next = read.end + 1;
            let is_solidus = sign == Some(Kind::Mark('/'));
            let is_spaced = sign == Some(Kind::Space)
                && (alone || (read.solidi > 0 && self.is_no_english_word(next)));
            let is_product = is_spaced || matches!(sign, Some(Kind::Mark('·' | '⋅' | '*')));
            if is_solidus && self.kind(next) == Some(Kind::Mark('(')) {
                let Some(close) =
                    (next..self.tokens.len()).find(|at| self.tokens[*at].is_mark(')'))
                else {
                    break;
                };
                let inner = (next + 1..close).filter(|at| self.kind(*at) == Some(Kind::Word));
                read.symbols
                    .extend(inner.map(|at| (at, judge(self.tokens[at].text, false))));
                read.solidi += 1;
                read.end = close + 1;
            } else if (is_solidus || is_product) && self.kind(next) == Some(Kind::Word) {
                let verdict = judge(self.tokens[next].text, false);
                if !verdict.is_unit() {
                    break;
                }
                read.symbols.push((next, verdict));
                read.solidi += usize::from(is_solidus);
                read.open_product |= is_product && read.solidi > 0;
                read.end = next + 1;
            } else {
                break;
            }
        }
        Some(read)
    }

    fn is_no_english_word(&self, at: usize) -> bool {
        let text = self.tokens.get(at).map_or("", |token| token.text);
        !text.bytes().all(|byte| byte.is_ascii_lowercase())
    }

    /// The unit expression that is the whole text, where every word in it is a
    /// unit or meant as one and there are at least two.
    fn whole_expression(&self) -> Option<UnitExpression> {
        let is_space = |at: usize| self.kind(at) == Some(Kind::Space);
        let start = usize::from(is_space(0));
        let read = self.expression(start, false, true)?;
        let end = read.end + usize::from(is_space(read.end));
        let all_units = read.symbols.iter().all(|(_, verdict)| verdict.is_unit());
        let one_is_right =
            (read.symbols.iter()).any(|(_, verdict)| matches!(verdict, Verdict::Unit(_)));
        (end == self.tokens.len() && read.symbols.len() > 1 && all_units && one_is_right)
            .then_some(read)
    }

    /// The bytes from one token up to, and without, another.
    pub(super) fn bytes(&self, first: usize, end: usize) -> std::ops::Range<usize> {
        let start = self
            .tokens
            .get(first)
            .map_or(self.text.len(), |token| token.start);
        let end = self
            .tokens
            .get(end)
            .map_or(self.text.len(), |token| token.start);
        start..end.max(start)
    }

    /// The text from one token up to, and without, another.
    pub(super) fn between(&self, first: usize, end: usize) -> &'a str {
        &self.text[self.bytes(first, end)]
    }

    /// The unit of a value as it is written.
    pub(super) fn unit_text(&self, unit: &UnitExpression) -> &'a str {
        self.between(unit.symbols[0].0, unit.end)
    }

    /// Whether numeral and word are one value code: `4k7`, `47K`, `3V3`. A code
    /// that ends in a unit symbol (`100m`, `1F`) is not taken for one, save for
    /// `K`, which after a whole number is read as kilohm.
    fn is_value_code(&self, value: &Value) -> bool {
        let Some(word) = self.tokens.get(value.number + 1) else {
            return false;
        };
        if value.gap != Gap::None || word.kind != Kind::Word {
            return false;
        }
        let has_digits = word.text.contains(|c: char| c.is_ascii_digit());
        let code = [self.tokens[value.number].text, word.text].concat();
        let is_unit = matches!(judge(word.text, true), Verdict::Unit(_));
        (has_digits && !word.text.contains('^'))
            || (RkmCode::parse(&code).is_ok() && (word.text == "K" || !is_unit))
    }
}

/// Checks each value and the lone unit expression by themselves.
pub(super) fn check(reading: &Reading<'_>, found: &mut Vec<Breach>) {
    for value in &reading.values {
        if reading.is_value_code(value) {
            continue;
        }
        check_gap(reading, value, found);
        if let Some(unit) = &value.unit {
            check_unit(reading, unit, found);
            check_full_stop(reading, value, unit, found);
        }
    }
    if let Some(unit) = &reading.alone {
        check_unit(reading, unit, found);
    }
}

fn check_gap(reading: &Reading<'_>, value: &Value, found: &mut Vec<Breach>) {
    let Some(unit) = &value.unit else {
        return;
    };
    let (first, verdict) = &unit.symbols[0];
    let numeral = reading.tokens[value.number].text;
    let mut end = value.end;
    let mend = if reading.tokens[*first].text == "°" {
        let split_scale = reading.kind(end) == Some(Kind::Space)
            && reading
                .tokens
                .get(end + 1)
                .is_some_and(|token| matches!(token.text, "C" | "F"));
        if split_scale {
            let scale = reading.tokens[end + 1].text;
            end += 2;
            format!("write `{numeral} °{scale}`")
        } else if value.gap == Gap::Space {
            format!("no space stands before a sign of angle: write `{numeral}°`")
        } else {
            return;
        }
    } else {
        let needs_space = match value.gap {
            Gap::Space => false,
            Gap::None => true,
            // A name may be joined to its numeral: `10-bit converter`.
            Gap::Hyphen => matches!(verdict, Verdict::Unit(_)),
        };
        if !needs_space {
            return;
        }
        format!("write `{numeral} {}`", reading.unit_text(unit))
    };
    found.push(Breach {
        span: reading.bytes(value.number, end),
        rule: Rule::Space,
        mend,
    });
}

fn check_unit(reading: &Reading<'_>, unit: &UnitExpression, found: &mut Vec<Breach>) {
    for (at, verdict) in &unit.symbols {
        if let Verdict::Wrong(rule, mend) = verdict {
            found.push(Breach {
                span: reading.tokens[*at].span(),
                rule: *rule,
                mend: mend.clone(),
            });
        }
    }
    if unit.solidi > 1 || unit.open_product {
        let symbols: Vec<&str> = unit
            .symbols
            .iter()
            .map(|(at, _)| reading.tokens[*at].text)
            .collect();
        let (above, below) = symbols.split_at(1);
        let same = below.iter().all(|symbol| *symbol == below[0]);
        let plain = below
            .iter()
            .all(|symbol| !symbol.contains(['^', '²', '³', '⁻']));
        let mend = if unit.open_product && unit.solidi == 1 {
            "put what stands under the solidus in brackets".to_owned()
        } else if same && plain {
            format!("write `{}/{}^{}`", above[0], below[0], below.len())
        } else {
            format!("write `{}/({})`", above[0], below.join("·"))
        };
        found.push(Breach {
            span: reading.bytes(unit.symbols[0].0, unit.end),
            rule: Rule::Quotient,
            mend,
        });
    }
}

/// A full stop after a symbol, where the sentence goes on.
fn check_full_stop(
    reading: &Reading<'_>,
    value: &Value,
    unit: &UnitExpression,
    found: &mut Vec<Breach>,
) {
    let is_symbol = matches!(unit.symbols[0].1, Verdict::Unit(_));
    if !is_symbol || reading.kind(value.end) != Some(Kind::Mark('.')) {
        return;
    }
    let mut after = reading.text[reading.tokens[value.end].end()..].chars();
    let goes_on = match after.next() {
        Some(',' | ';') => true,
        Some(c) if c.is_whitespace() => {
            let word = after.as_str().split(char::is_whitespace).next();
            // A name such as `cold_rise` may open a sentence.
            word.is_some_and(|word| word.starts_with(char::is_lowercase) && !word.contains('_'))
        }
        _ => false,
    };
    if goes_on {
        found.push(Breach {
            span: reading.bytes(value.number, value.end + 1),
            rule: Rule::Symbol,
            mend: format!(
                "a symbol has no full stop: write `{}`",
                reading.between(value.number, value.end)
            ),
        });
    }
}
