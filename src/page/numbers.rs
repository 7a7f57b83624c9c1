//! Numbers as they stand on a sheet.

use super::view::BarView;
use crate::notebook::Value;
use crate::quantity::{Outcome, Statement, Unit, is_unit_symbol, shown_digits};

/// Digits of a margin: it is read for its size, not copied.
const MARGIN_DIGITS: u32 = 2;

/// `184 mA to 208 mA`; `None` for a value without spread.
pub(crate) fn spread(value: &Value) -> Option<String> {
    let Outcome { low, high, .. } = value.outcome;
    value
        .varies()
        .then(|| format!("{} to {}", value.shown_as(low), value.shown_as(high)))
}

/// Written text of a quantity or a statement with the spaces and signs of
/// print: number and unit stay together, and a minus is one.
pub(crate) fn typeset(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let after = &rest[c.len_utf8()..];
        let before = out.chars().last();
        match c {
            ' ' if before.is_some_and(|c| c.is_ascii_digit()) && !is_word(after) => {
                out.push('\u{a0}');
            }
            ' ' if before.is_some_and(|c| matches!(c, '±' | '≈' | '≤' | '≥' | '<' | '>')) => {
                out.push('\u{a0}');
            }
            '-' if after.starts_with(|c: char| c.is_ascii_digit())
                && before.is_none_or(|c| matches!(c, ' ' | '\u{a0}' | '(')) =>
            {
                out.push('−');
            }
            c => out.push(c),
        }
        rest = after;
    }
    out
}

/// Running text from a record: a number and the unit behind it stay together,
/// and a minus is one.
pub(crate) fn running(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for piece in text.split_inclusive(' ') {
        let unit = piece.trim_end_matches([' ', ',', '.', ';', ':', ')']);
        let digits = out.strip_suffix(' ').unwrap_or("");
        let stays = digits.ends_with(|c: char| c.is_ascii_digit()) && is_unit_symbol(unit);
        if stays {
            out.pop();
            out.push('\u{a0}');
        }
        let number = piece.strip_prefix('-');
        match number.filter(|number| number.starts_with(|c: char| c.is_ascii_digit())) {
            Some(number) => {
                out.push('−');
                out.push_str(number);
            }
            None => out.push_str(piece),
        }
    }
    out
}

/// Whether text goes on with a word of its own, and not with a unit.
fn is_word(text: &str) -> bool {
    ["to ", "of ", "and "]
        .iter()
        .any(|word| text.starts_with(word))
}

/// How far the spread stays inside what is required, at its nearest limit:
/// `3.8 mA below the upper limit`. `None` where there is no limit.
pub(crate) fn margin(value: &Value, must: &Statement) -> Option<String> {
    let (low, high) = must.limits();
    let below = (value.outcome.low - low, "above the lower limit");
    let above = (high - value.outcome.high, "below the upper limit");
    let (distance, inside) = if below.0 < above.0 { below } else { above };
    if !distance.is_finite() {
        return None;
    }
    let one_sided = low.is_infinite() || high.is_infinite();
    let text = length(distance.abs(), &value.unit);
    Some(if distance < 0.0 {
        format!("missed by {text}")
    } else if one_sided {
        text
    } else {
        format!("{text} {inside}")
    })
}

/// A difference of two values of a unit.
pub(crate) fn length(difference: f64, unit: &Unit) -> String {
    shown_digits(difference, MARGIN_DIGITS, &unit.for_difference()).to_string()
}

/// A share in percent, without digits that nobody reads.
pub(crate) fn percent(share: f64) -> String {
    shown_digits(share * 100.0, 2, &Unit::one()).to_string() + "\u{a0}%"
}

/// Width of the drawing that a bar is in.
const WIDTH: f64 = 200.0;

/// Draws a spread against its requirement, to scale. `None` where the
/// requirement sets no limit.
pub(crate) fn bar(value: &Value, must: &Statement) -> Option<BarView> {
    let Outcome { nominal, low, high } = value.outcome;
    let limits = must.limits();
    let finite = |limit: f64| limit.is_finite().then_some(limit);
    let (limit_low, limit_high) = (finite(limits.0), finite(limits.1));
    if limit_low.is_none() && limit_high.is_none() {
        return None;
    }
    let least = limit_low.map_or(low, |limit| limit.min(low));
    let most = limit_high.map_or(high, |limit| limit.max(high));
    let whole = if most > least { most - least } else { 1.0 };
    // Air on both sides; more where the band is open.
    let air = |limit: Option<f64>| if limit.is_some() { 0.1 } else { 0.25 };
    let from = least - whole * air(limit_low);
    let scale = WIDTH / (most + whole * air(limit_high) - from);
    let at = |value: f64| (value - from) * scale;
    let (band_from, band_to) = (limit_low.map_or(0.0, at), limit_high.map_or(WIDTH, at));
    // A spread of nothing is still to be seen.
    let (spread_from, spread_to) = (at(low), at(high));
    let thin = (2.0 - (spread_to - spread_from)).max(0.0) / 2.0;
    let holds = low >= limits.0 && high <= limits.1;
    let spread_words = spread(value).unwrap_or_else(|| value.shown().to_string());
    let words = format!(
        "{spread_words}, {} what must be: {}",
        if holds { "within" } else { "outside" },
        typeset(must.text())
    );
    Some(BarView {
        words,
        band_from: tenths(band_from),
        band_width: tenths((band_to - band_from).max(0.0)),
        limit_low: limit_low.map(|limit| tenths(at(limit))),
        limit_high: limit_high.map(|limit| tenths(at(limit))),
        spread_from: tenths(spread_from - thin),
        spread_width: tenths(spread_to - spread_from + 2.0 * thin),
        nominal: tenths(at(nominal)),
        holds,
    })
}

/// A length in a drawing.
fn tenths(length: f64) -> String {
    let text = format!("{length:.1}");
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::notebook::InForce;
    use crate::quantity::Dimension;

    fn value(nominal: f64, low: f64, high: f64) -> Value {
        let outcome = Outcome { nominal, low, high };
        let unit = Unit::parse("mA").unwrap();
        Value::of(Dimension::CURRENT, outcome, unit, InForce::default())
    }

    fn must(text: &str) -> Statement {
        Statement::parse(text, None).unwrap()
    }

    fn plain(text: Option<String>) -> String {
        text.unwrap_or_default().replace('\u{a0}', " ")
    }

    #[test]
    fn print_keeps_number_and_unit_together() {
        assert_eq!(typeset("196 mA"), "196\u{a0}mA");
        assert_eq!(typeset("-40 °C to 85 °C"), "−40\u{a0}°C to 85\u{a0}°C");
        assert_eq!(typeset("492 mA ± 30 mA"), "492\u{a0}mA ±\u{a0}30\u{a0}mA");
        assert_eq!(typeset("5 of 6"), "5 of 6");
        assert_eq!(typeset("no-load"), "no-load");
    }

    #[test]
    fn running_text_keeps_its_quantities_together() {
        assert_eq!(
            running("cell at 3 V, 25 °C"),
            "cell at 3\u{a0}V, 25\u{a0}°C"
        );
        assert_eq!(running("5 poles of 2 switches"), "5 poles of 2 switches");
        assert_eq!(
            running("from -10 °C, non-stop"),
            "from −10\u{a0}°C, non-stop"
        );
    }

    #[test]
    fn a_margin_is_counted_to_the_nearest_limit() {
        let value = value(0.196, 0.184, 0.208);
        let margin = |text| plain(margin(&value, &must(text)));
        assert_eq!(margin("181 mA to 212 mA"), "3 mA above the lower limit");
        assert_eq!(margin("180 mA to 211 mA"), "3 mA below the upper limit");
        assert_eq!(margin("at most 250 mA"), "42 mA");
        assert_eq!(margin("at most 200 mA"), "missed by 8 mA");
    }

    #[test]
    fn a_bar_is_drawn_to_scale() {
        let drawn = bar(&value(0.2, 0.19, 0.21), &must("180 mA to 220 mA")).unwrap();
        let number = |text: &str| text.parse::<f64>().unwrap();
        assert!(drawn.holds);
        assert_eq!(number(&drawn.nominal), 100.0);
        let band = number(&drawn.band_width);
        let spread = number(&drawn.spread_width);
        assert!((band / spread - 2.0).abs() < 0.01, "{band} {spread}");
        let open = bar(&value(0.2, 0.19, 0.21), &must("at most 200 mA")).unwrap();
        assert!(!open.holds);
        assert_eq!(open.band_from, "0");
        assert_eq!(open.limit_low, None);
    }
}
