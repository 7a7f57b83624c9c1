//! Text of given quantities: `4k7`, `10 kΩ ±1 %`, `3.3 V +0.1 V -0.05 V`,
//! `-40 °C to 85 °C`.

use super::tolerance::Tolerance;
use super::written::{scan_value, skip_spaces, word_at};
use super::{Decimal, Dimension, TextFault, TextFaultKind, Unit, is_space, shown};

/// A quantity that somebody gives, with its tolerance.
///
/// Invariant: `low <= nominal <= high`, all finite, in coherent SI units.
#[derive(Clone, PartialEq, Debug)]
pub struct Given {
    nominal: f64,
    low: f64,
    high: f64,
    unit: Unit,
    text: String,
}

impl Given {
    /// Reads the text of a quantity. `expected` settles what a value code such
    /// as `4u7` is of and what dimension is wanted.
    ///
    /// A tolerance in % is relative, but for a quantity that is itself in %,
    /// where `90 % ±2 %` is 88 % to 92 %. A range `a to b` has its middle as
    /// nominal value.
    ///
    /// # Errors
    /// [`TextFault`] with the bytes it is about.
    pub fn parse(text: &str, expected: Option<Dimension>) -> Result<Given, TextFault> {
        let start = text.len() - text.trim_start_matches(is_space).len();
        let end = start + text[start..].trim_end_matches(is_space).len();
        let given = parse_given(&text[..end], start, expected)?;
        if let Some(expected) =
            expected.filter(|&expected| !agrees(given.unit.dimension(), expected))
        {
            let found = given.unit.dimension();
            return Err(TextFault {
                span: start..end,
                kind: TextFaultKind::WrongDimension { found },
                expected: Some(expected),
            });
        }
        let finite = given.low.is_finite() && given.high.is_finite() && given.nominal.is_finite();
        if !finite || given.low > given.nominal || given.nominal > given.high {
            return Err(TextFault {
                span: start..end,
                kind: TextFaultKind::Order,
                expected,
            });
        }
        Ok(Given {
            text: text[start..end].to_owned(),
            ..given
        })
    }

    /// The value that readings come to, in coherent SI units: their mean, straying
    /// as far as they do. `None` where there are none, or one is not finite.
    pub fn measured(values: &[f64], unit: &Unit) -> Option<Given> {
        if values.is_empty() || values.iter().any(|value| !value.is_finite()) {
            return None;
        }
        let nominal = values.iter().sum::<f64>() / values.len() as f64;
        let low = values.iter().copied().fold(nominal, f64::min);
        let high = values.iter().copied().fold(nominal, f64::max);
        let half = (high - low) / 2.0;
        let text = format!(
            "{} ({} to {}, {} readings)",
            shown(nominal, half, unit),
            shown(low, half / 10.0, unit),
            shown(high, half / 10.0, unit),
            values.len()
        );
        Some(Given {
            nominal,
            low,
            high,
            unit: unit.clone(),
            text,
        })
    }

    /// The smallest range that holds both of two quantities of one dimension.
    pub fn hull(&self, other: &Given) -> Given {
        let (low, high) = (self.low.min(other.low), self.high.max(other.high));
        let text = format!("{}; {}", self.text, other.text);
        Given {
            nominal: 0.5 * (low + high),
            low,
            high,
            unit: self.unit.clone(),
            text,
        }
    }

    /// The same limits with another nominal value, kept inside them.
    pub fn with_nominal(&self, nominal: f64) -> Given {
        Given {
            nominal: nominal.clamp(self.low, self.high),
            ..self.clone()
        }
    }

    /// Another value with the same tolerance, in proportion to it; a point on a
    /// scale, such as a temperature, keeps the width.
    pub fn around(&self, nominal: f64) -> Given {
        let is_point = self.dimension().scale() != super::Scale::Linear;
        let (below, above) = (self.nominal - self.low, self.high - self.nominal);
        let factor = match is_point || self.nominal == 0.0 {
            true => 1.0,
            false => (nominal / self.nominal).abs(),
        };
        let unit = match is_point {
            true => self.unit.clone(),
            false => super::fitted_unit(nominal, &Unit::coherent(self.dimension())),
        };
        let value = super::shown_digits(nominal, 6, &unit);
        let text = match self.tolerance_text() {
            Some(tolerance) if tolerance.contains('%') => format!("{value} {tolerance}"),
            _ if below == 0.0 && above == 0.0 => value.to_string(),
            _ => format!("{value}, with its tolerance"),
        };
        Given {
            nominal,
            low: nominal - factor * below,
            high: nominal + factor * above,
            unit,
            text: text.replace('\u{a0}', " "),
        }
    }

    /// The text behind the value: `±5 %`; `None` for a range, and where there is
    /// none.
    pub fn tolerance_text(&self) -> Option<&str> {
        let at = self.text.find(['±', '+'])?;
        (at > 0).then(|| &self.text[at..])
    }

    /// Nominal value in coherent SI units.
    pub fn nominal(&self) -> f64 {
        self.nominal
    }

    /// Least value that the tolerance allows.
    pub fn low(&self) -> f64 {
        self.low
    }

    /// Greatest value that the tolerance allows.
    pub fn high(&self) -> f64 {
        self.high
    }

    /// Unit that it was written in.
    pub fn unit(&self) -> &Unit {
        &self.unit
    }

    /// Its dimension.
    pub fn dimension(&self) -> Dimension {
        self.unit.dimension()
    }

    /// The text as written.
    pub fn text(&self) -> &str {
        &self.text
    }
}

/// Whether a value of `found` may be given where `expected` is wanted.
fn agrees(found: Dimension, expected: Dimension) -> bool {
    use super::Scale;
    match (found.scale(), expected.scale()) {
        // A point in °C is no difference.
        (Scale::Point, Scale::Linear) => false,
        _ => found.comparable(expected),
    }
}

fn parse_given(text: &str, start: usize, expected: Option<Dimension>) -> Result<Given, TextFault> {
    if text[start..].starts_with('(') {
        return parse_bracketed(text, start, expected);
    }
    let centre = scan_value(text, start, expected)?;
    let nominal = centre.value();
    let mut given = Given {
        nominal,
        low: nominal,
        high: nominal,
        unit: centre.unit.clone(),
        text: String::new(),
    };
    let mut at = skip_spaces(text, centre.span.end);
    if let Some(after) = word_at(text, at, "to") {
        let upper = scan_value(text, after, expected)?;
        if !upper.unit.dimension().comparable(given.unit.dimension()) {
            let found = upper.unit.dimension();
            let kind = TextFaultKind::WrongDimension { found };
            return Err(TextFault {
                span: upper.span,
                kind,
                expected: Some(given.unit.dimension()),
            });
        }
        given.high = upper.value();
        given.nominal = 0.5 * (given.low + given.high);
        at = skip_spaces(text, upper.span.end);
    } else if at < text.len() {
        let tolerance = Tolerance::scan(text, at, &centre)?;
        given.low = nominal - tolerance.minus.size(&centre);
        given.high = nominal + tolerance.plus.size(&centre);
        at = skip_spaces(text, tolerance.end);
    }
    if at < text.len() {
        return Err(TextFault {
            span: at..text.len(),
            kind: TextFaultKind::Form,
            expected,
        });
    }
    Ok(given)
}

/// `(10.0 ± 0.1) V`, the bracketed form of ISO 80000-1, 7.1.4.
fn parse_bracketed(
    text: &str,
    start: usize,
    expected: Option<Dimension>,
) -> Result<Given, TextFault> {
    let form = |span| TextFault {
        span,
        kind: TextFaultKind::Form,
        expected,
    };
    let close = text[start..]
        .find(')')
        .ok_or_else(|| form(start..text.len()))?
        + start;
    let unit_start = skip_spaces(text, close + 1);
    let unit = Unit::parse(&text[unit_start..]).map_err(|fault| TextFault {
        span: unit_start..text.len(),
        kind: TextFaultKind::UnknownUnit(fault),
        expected,
    })?;
    let inner = &text[start + 1..close];
    let plain = Given::parse(inner, None).map_err(|mut fault| {
        fault.span = fault.span.start + start + 1..fault.span.end + start + 1;
        fault
    })?;
    if !plain.unit.symbol().is_empty() {
        return Err(form(start..close + 1));
    }
    let scale =
        |value: f64| Decimal::from_f64(value).map_or(f64::NAN, |decimal| unit.value_of(&decimal));
    let (nominal, low, high) = (scale(plain.nominal), scale(plain.low), scale(plain.high));
    Ok(Given {
        nominal,
        low,
        high,
        unit,
        text: String::new(),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn limits(text: &str) -> (f64, f64, f64) {
        let given = Given::parse(text, None).unwrap();
        (given.low(), given.nominal(), given.high())
    }

    #[test]
    fn tolerances_are_read_in_every_form() {
        assert_eq!(limits("10 kΩ ±1 %"), (9900.0, 10_000.0, 10_100.0));
        assert_eq!(limits("3.3 V +0.1 V -0.05 V"), (3.3 - 0.05, 3.3, 3.3 + 0.1));
        assert_eq!(limits("3.3 V +0.1/-0.05 V"), (3.3 - 0.05, 3.3, 3.3 + 0.1));
        assert_eq!(limits("(10.0 ± 0.5) V"), (9.5, 10.0, 10.5));
        assert_eq!(limits("90 % ±2 %"), (0.88, 0.9, 0.92));
        assert_eq!(limits("10 V to 12 V"), (10.0, 11.0, 12.0));
        assert_eq!(limits("4k7 ±10 %"), (4230.0, 4700.0, 5170.0));
        let (low, _, high) = limits("-40 °C to 85 °C");
        assert!((low - 233.15).abs() < 1e-9 && (high - 358.15).abs() < 1e-9);
        assert_eq!(limits("25 °C ±5 K"), (293.15, 298.15, 303.15));
    }

    #[test]
    fn every_space_is_a_space() {
        for text in ["1 000 Hz", "1\u{a0}000\u{a0}Hz", "1\u{2009}000\u{202f}Hz"] {
            assert_eq!(limits(text).1, 1000.0, "{text}");
        }
    }

    #[test]
    fn a_fault_points_at_its_bytes_and_offers_a_way_out() {
        let fault = Given::parse("4,7 kΩ", None).unwrap_err();
        assert_eq!(fault.span, 0..3);
        assert!(fault.mend().unwrap().contains("`4.7`"));
        let fault = Given::parse("10 Kohm ±1 %", None).unwrap_err();
        assert_eq!(fault.span, 3..7);
        assert!(fault.to_string().contains("small k"), "{fault}");
        let fault = Given::parse("10 V ±5", None).unwrap_err();
        assert_eq!(fault.span.start, 7);
        let fault = Given::parse("5 V", Some(Dimension::CURRENT)).unwrap_err();
        assert_eq!(
            fault.to_string(),
            "expected a current (A), found a voltage (V)"
        );
    }

    #[test]
    fn degrees_celsius_are_no_difference() {
        assert!(Given::parse("30 °C", Some(Dimension::TEMPERATURE_DIFFERENCE)).is_err());
        assert!(Given::parse("30 K", Some(Dimension::TEMPERATURE_DIFFERENCE)).is_ok());
        assert!(Given::parse("300 K", Some(Dimension::TEMPERATURE)).is_ok());
    }
}
