//! Numerals: the decimal sign, the zero before it, and groups of digits.

use super::lex::{Kind, Token};
use super::value::{Reading, Value};
use super::{Breach, DecimalSign, Rule};

pub(super) fn check(reading: &Reading<'_>, sign: DecimalSign, found: &mut Vec<Breach>) {
    for value in &reading.values {
        let token = reading.tokens[value.number];
        let is_a_value = value.unit.is_some() || stands_alone(reading, value);
        let mend = fault(token.text, sign, is_a_value);
        if let Some(mend) = mend {
            found.push(Breach {
                span: token.span(),
                rule: Rule::Decimal,
                mend,
            });
        }
    }
}

/// Whether the numeral, with a sign or not, is the whole text. Elsewhere a row
/// of digits and commas may be a list: `pins 1,2,3`.
fn stands_alone(reading: &Reading<'_>, value: &Value) -> bool {
    let is_space = |token: &Token<'_>| token.kind == Kind::Space;
    let is_sign = |token: &Token<'_>| matches!(token.kind, Kind::Mark('-' | '−' | '+' | '±' | '≈'));
    let (before, after) = reading.tokens.split_at(value.number);
    before.iter().all(|token| is_space(token) || is_sign(token)) && after[1..].iter().all(is_space)
}

/// What is wrong with a numeral, as the mend.
fn fault(text: &str, sign: DecimalSign, is_a_value: bool) -> Option<String> {
    let mantissa_end = text.find(['e', 'E', '×', '^', '·']).unwrap_or(text.len());
    let mantissa = &text[..mantissa_end];
    let count = |c: char| mantissa.matches(c).count();
    let (points, commas) = (count('.'), count(','));
    let written = match sign {
        DecimalSign::Point => ".",
        DecimalSign::Comma => ",",
    };
    if count('\'') + count('’') > 0 {
        return is_a_value.then(|| group_with_spaces(mantissa, written));
    }
    let groups_of_three = |sign: char| {
        let mut groups = mantissa.split(sign);
        let first = groups.next().map_or(0, str::len);
        (1..=3).contains(&first) && groups.all(|group| group.len() == 3)
    };
    if points > 1 || commas > 1 || (points > 0 && commas > 0) {
        // `1.2.3` is a number of an edition or an address, no value.
        let grouped = groups_of_three('.') || groups_of_three(',') || points * commas > 0;
        return (is_a_value && grouped).then(|| group_with_spaces(mantissa, written));
    }
    if let Some(rest) = text.strip_prefix(['.', ',']) {
        return Some(format!("write `0{written}{rest}`"));
    }
    match sign {
        DecimalSign::Point if commas == 1 && is_a_value => {
            let with_point = mantissa.replacen(',', ".", 1);
            Some(if groups_of_three(',') {
                format!(
                    "write `{}`, or `{with_point}` if the comma was meant as decimal sign",
                    mantissa.replacen(',', " ", 1)
                )
            } else {
                format!("write `{with_point}`")
            })
        }
        DecimalSign::Comma if points == 1 && is_a_value => Some(format!(
            "this text has decimal commas: write `{}`",
            mantissa.replacen('.', ",", 1)
        )),
        _ => None,
    }
}

/// The mend of a numeral whose groups are set apart by something other than a
/// space: the last sign is the decimal one where it differs from the others.
fn group_with_spaces(mantissa: &str, decimal_sign: &str) -> String {
    let signs: Vec<(usize, char)> = mantissa
        .char_indices()
        .filter(|(_, c)| !c.is_ascii_digit())
        .collect();
    let last_is_decimal = match signs.as_slice() {
        [.., (_, before), (_, last)] => before != last && matches!(last, '.' | ','),
        _ => false,
    };
    let decimal_at = signs.last().filter(|_| last_is_decimal).map(|(at, _)| *at);
    let mended: String = mantissa
        .char_indices()
        .map(|(at, c)| match c {
            digit if digit.is_ascii_digit() => digit.to_string(),
            _ if Some(at) == decimal_at => decimal_sign.to_owned(),
            _ => " ".to_owned(),
        })
        .collect();
    format!("spaces alone set groups of digits apart: write `{mended}`")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mend(text: &str) -> String {
        fault(text, DecimalSign::Point, true).unwrap_or_default()
    }

    #[test]
    fn the_mend_keeps_the_value() {
        assert_eq!(mend("4,7"), "write `4.7`");
        assert_eq!(mend(".5e-3"), "write `0.5e-3`");
        assert!(mend("1,000.5").ends_with("write `1 000.5`"));
        assert!(mend("1.000.000").ends_with("write `1 000 000`"));
        assert!(mend("1'000").ends_with("write `1 000`"));
        assert!(mend("1,000").contains("`1 000`, or `1.000`"));
        assert_eq!(mend("10 000.5"), "");
    }

    #[test]
    fn an_edition_is_no_value() {
        assert_eq!(mend("1.2.3"), "");
        assert_eq!(fault("1,2", DecimalSign::Point, false), None);
    }
}
