//! Values as lists of parts write them: `4k7`, `4.7k`, `100n/50V`, `10 kΩ 1%`.

use std::ops::Range;

use crate::quantity::{Decimal, Dimension, Given, TextFault, Unit};

/// A value of a list.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct ListedValue {
    /// Nominal value in coherent SI units.
    pub nominal: f64,
    /// Least and greatest value, where the list states a tolerance.
    pub limits: Option<(f64, f64)>,
    /// What stands behind the value, piece by piece.
    pub behind: Vec<Range<usize>>,
}

/// Whether two nominal values are the same one: both were written by people, so
/// they differ by nothing or by a step.
pub(super) fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// How a number likely slipped, by what it is of the right one.
pub(super) fn slip(ratio: f64) -> Option<&'static str> {
    let is = |power: i32| (ratio / 10f64.powi(power) - 1.0).abs() < 1e-6;
    match () {
        () if is(1) => Some("likely a decade slip: it is ten times too large"),
        () if is(-1) => Some("likely a decade slip: it is ten times too small"),
        () if is(9) || is(-9) => {
            Some("likely m and M were mixed up: milli is small, mega is large")
        }
        () if is(3) => Some("likely a prefix slip: it is a thousand times too large"),
        () if is(-3) => Some("likely a prefix slip: it is a thousand times too small"),
        () if is(6) => Some("likely a prefix slip: it is a million times too large"),
        () if is(-6) => Some("likely a prefix slip: it is a million times too small"),
        () => None,
    }
}

/// Reads a value of a list.
///
/// The longest beginning that is a quantity is the value; a tolerance without its
/// sign is one too.
///
/// # Errors
/// The fault of the first piece, where not even that is a quantity.
pub(super) fn listed_value(text: &str, dimension: Dimension) -> Result<ListedValue, TextFault> {
    let pieces = pieces(text);
    let mut first_fault = None;
    for count in (1..=pieces.len()).rev() {
        let end = pieces[count - 1].end;
        match one(&text[..end], dimension) {
            Ok(given) => return Ok(with_behind(text, &given, &pieces[count..])),
            Err(fault) => first_fault = Some(fault),
        }
    }
    match first_fault {
        Some(fault) => Err(fault),
        // No piece at all: the fault is that of empty text.
        None => one(text, dimension).map(|given| with_behind(text, &given, &[])),
    }
}

fn with_behind(text: &str, given: &Given, behind: &[Range<usize>]) -> ListedValue {
    let spread = |given: &Given| (given.low() < given.high()).then(|| (given.low(), given.high()));
    let mut value = ListedValue {
        nominal: given.nominal(),
        limits: spread(given),
        behind: Vec::new(),
    };
    let mut rest = behind;
    while let [piece, after @ ..] = rest {
        rest = after;
        let mut span = piece.clone();
        // `1 %` and `50 V` are two pieces, and one quantity.
        if let [next, after @ ..] = after {
            let whole = Given::parse(&text[piece.start..next.end], None);
            if whole.is_ok_and(|whole| !whole.unit().symbol().is_empty()) {
                (span.end, rest) = (next.end, after);
            }
        }
        let bare = text[span.clone()].trim_start_matches(['±', '+', '/', '-']);
        let share = Given::parse(bare, Some(Dimension::ONE)).ok();
        match share.filter(|_| bare.ends_with('%') && value.limits.is_none()) {
            Some(share) => {
                let half = (share.nominal() * value.nominal).abs();
                value.limits = Some((value.nominal - half, value.nominal + half));
            }
            None => value.behind.push(span),
        }
    }
    value
}

/// Pieces with spaces, slashes, commas or semicolons between them. A comma
/// between digits stands for a decimal sign, and separates nothing.
fn pieces(text: &str) -> Vec<Range<usize>> {
    let mut pieces: Vec<Range<usize>> = Vec::new();
    let bytes = text.as_bytes();
    let is_digit = |at: Option<usize>| {
        at.and_then(|at| bytes.get(at))
            .is_some_and(u8::is_ascii_digit)
    };
    for (at, letter) in text.char_indices() {
        let between = match letter {
            ',' => !(is_digit(at.checked_sub(1)) && is_digit(Some(at + 1))),
            // `+/-` is one sign.
            '/' => !text[..at].ends_with('+'),
            ';' => true,
            _ => letter.is_whitespace(),
        };
        if between {
            continue;
        }
        let end = at + letter.len_utf8();
        match pieces.last_mut().filter(|piece| piece.end == at) {
            Some(piece) => piece.end = end,
            None => pieces.push(at..end),
        }
    }
    pieces
}

/// A quantity, or a number with a prefix and no unit: `4.7k`, `0.1u`.
fn one(text: &str, dimension: Dimension) -> Result<Given, TextFault> {
    let fault = match Given::parse(text, Some(dimension)) {
        Ok(given) => return Ok(given),
        Err(fault) => fault,
    };
    let symbol = dimension.coherent_symbol();
    // No letter of IEC 60062 for ohms; whoever writes it means milli, or mixed it up
    // with M.
    if let Some((whole, fraction)) = text.split_once('m')
        && dimension == Dimension::RESISTANCE
        && [whole, fraction]
            .iter()
            .all(|digits| !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit()))
    {
        return Given::parse(&format!("{whole}.{fraction} mΩ"), Some(dimension));
    }
    let Ok((_, used)) = Decimal::scan(text) else {
        return Err(fault);
    };
    let (number, prefix) = (&text[..used], text[used..].trim_start());
    let prefix = match prefix {
        // A bare number of ohms is usual; one of farads would be a guess.
        "" if dimension == Dimension::RESISTANCE => "",
        "K" => "k",
        "u" | "μ" => "µ",
        "p" | "n" | "µ" | "m" | "k" | "M" | "G" => prefix,
        _ => return Err(fault),
    };
    Unit::parse(&format!("{prefix}{symbol}"))
        .ok()
        .and_then(|unit| Given::parse(&format!("{number} {}", unit.symbol()), Some(dimension)).ok())
        .ok_or(fault)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn read(text: &str, dimension: Dimension) -> (f64, Vec<&str>) {
        let value = listed_value(text, dimension).unwrap();
        let behind = value.behind.into_iter();
        (value.nominal, behind.map(|span| &text[span]).collect())
    }

    #[test]
    fn one_value_is_read_however_it_is_written() {
        for text in [
            "4k7", "4.7k", "4.7 k", "4.7K", "4700", "4.7 kΩ", "4.7kohm", "0.0047M",
        ] {
            let (value, behind) = read(text, Dimension::RESISTANCE);
            assert!(same(value, 4700.0) && behind.is_empty(), "{text}: {value}");
        }
        for text in ["100n", "0.1u", "0.1 µF", "100 nF"] {
            assert!(same(read(text, Dimension::CAPACITANCE).0, 1e-7), "{text}");
        }
    }

    #[test]
    fn milli_and_mega_are_nine_decades_apart() {
        let mega = read("1M", Dimension::RESISTANCE).0;
        let milli = read("1m", Dimension::RESISTANCE).0;
        assert!(same(mega / milli, 1e9));
        assert!(slip(milli / mega).unwrap().contains("m and M"));
    }

    #[test]
    fn what_stands_behind_a_value_is_kept_apart() {
        assert_eq!(read("100n/50V", Dimension::CAPACITANCE).1, ["50V"]);
        assert_eq!(
            read("100n 50 V X7R", Dimension::CAPACITANCE).1,
            ["50 V", "X7R"]
        );
        let text = "10 kΩ 1 % 0805";
        let value = listed_value(text, Dimension::RESISTANCE).unwrap();
        assert_eq!(value.limits, Some((9900.0, 10_100.0)));
        assert_eq!(&text[value.behind[0].clone()], "0805");
        for text in ["4k7 ±1 %", "4k7 1%", "4k7, 1%", "4.7k/±1%"] {
            let value = listed_value(text, Dimension::RESISTANCE).unwrap();
            assert!(value.limits.is_some() && value.behind.is_empty(), "{text}");
        }
    }

    #[test]
    fn a_decimal_comma_is_no_separator() {
        assert!(listed_value("4,7k", Dimension::RESISTANCE).is_err());
    }
}
