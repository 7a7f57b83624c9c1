//! Writing a value to the digits that its spread deserves.

use std::fmt;

use super::{Decimal, Dimension, Ties, Unit};

/// A value as it is printed: digits, then unit.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Shown {
    /// The digits, grouped.
    pub numeral: String,
    /// The unit symbol; empty for a plain number.
    pub unit: String,
}

impl fmt::Display for Shown {
    /// Digits, a no-break space and the unit; no space before a degree of
    /// angle (SI Brochure, 5.4.3).
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.numeral)?;
        if !self.unit.is_empty() && self.unit != "°" {
            f.write_str("\u{a0}")?;
        }
        f.write_str(&self.unit)
    }
}

/// Digits that are shown of a value without spread.
const EXACT_DIGITS: u32 = 4;
/// Most digits that are shown of any value.
const MOST_DIGITS: i32 = 7;

/// Writes a value in coherent SI units to the digits that its spread deserves:
/// two digits of the half spread where it starts with 1 or 2, one digit
/// otherwise (JCGM 100:2008, 7.2.6 allows two at most). Without spread, four
/// digits, and no zeros after the last one that counts.
pub fn shown(value: f64, half_spread: f64, unit: &Unit) -> Shown {
    let in_unit = unit.count_of(value);
    let half = (half_spread / unit.step()).abs();
    let Some(exact) = Decimal::from_f64(in_unit) else {
        return Shown {
            numeral: in_unit.to_string(),
            unit: unit.symbol().to_owned(),
        };
    };
    let spread = Decimal::from_f64(half).filter(|half| !half.is_zero());
    let Some(spread) = spread else {
        return shown_digits(value, EXACT_DIGITS, unit);
    };
    let lead = spread.leading_place();
    let starts_small = spread.to_f64() < 2.5 * 10f64.powi(lead);
    let deserved = if starts_small { lead - 1 } else { lead };
    let finest = exact.leading_place() - MOST_DIGITS + 1;
    // At least two digits, and never a zero in the place of a digit before the
    // point: a prefix keeps those few.
    let coarsest = (exact.leading_place() - 1).min(0).max(finest);
    let numeral = if exact.is_zero() {
        "0".to_owned()
    } else {
        exact
            .rounded(deserved.clamp(finest, coarsest), Ties::Even)
            .grouped()
    };
    Shown {
        numeral,
        unit: unit.symbol().to_owned(),
    }
}

/// Writes a value in coherent SI units to a number of digits, without zeros
/// after the last one that counts.
pub fn shown_digits(value: f64, digits: u32, unit: &Unit) -> Shown {
    let in_unit = unit.count_of(value);
    let numeral = Decimal::from_f64(in_unit).map_or_else(
        || in_unit.to_string(),
        |exact| {
            if exact.is_zero() {
                return "0".to_owned();
            }
            let rounded = exact.to_significant(digits);
            let place = rounded
                .place_without_trailing_zeros()
                .min(0)
                .max(rounded.place());
            rounded.rounded(place, Ties::Even).grouped()
        },
    );
    Shown {
        numeral,
        unit: unit.symbol().to_owned(),
    }
}

/// The unit with the prefix that brings a value between 1 and 1000. Prefixes
/// go in steps of a thousand, from pico to giga, as the trade uses them.
pub fn fitted_unit(value: f64, unit: &Unit) -> Unit {
    let magnitude = unit.count_of(value).abs();
    let Some(decimal) = Decimal::from_f64(magnitude).filter(|decimal| !decimal.is_zero()) else {
        return unit.clone();
    };
    let power = decimal.to_significant(4).leading_place().div_euclid(3) * 3;
    unit.prefixed(power.clamp(-12, 9))
        .unwrap_or_else(|| unit.clone())
}

/// The unit that the trade reads a value of a dimension in, where nobody wrote
/// one: hours of a long time, shares per hour of what takes hours, ampere-hours
/// of a battery, litres of a box; otherwise the coherent one that fits.
pub fn customary_unit(value: f64, dimension: Dimension) -> Unit {
    let magnitude = value.abs();
    let symbol = match dimension {
        Dimension::TIME if magnitude >= 1e4 => "h",
        Dimension::FREQUENCY if magnitude < 1e-3 => "1/h",
        Dimension::CHARGE if magnitude >= 100.0 => "Ah",
        Dimension::VOLUME if magnitude < 1.0 => "L",
        _ => "",
    };
    let unit = match Unit::parse(symbol) {
        Ok(unit) if !symbol.is_empty() && value != 0.0 => unit,
        _ => Unit::coherent(dimension),
    };
    fitted_unit(value, &unit)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn show(value: f64, half: f64, unit: &str) -> String {
        shown(value, half, &Unit::parse(unit).unwrap())
            .to_string()
            .replace('\u{a0}', " ")
    }

    #[test]
    fn digits_follow_the_spread() {
        assert_eq!(show(0.196078, 0.0118, "mA"), "196 mA");
        assert_eq!(show(0.196078, 0.005, "mA"), "196 mA");
        assert_eq!(show(0.196078, 0.0011, "mA"), "196.1 mA");
        assert_eq!(show(0.196078, 0.0005, "mA"), "196.1 mA");
        assert_eq!(show(0.196078, 0.0, "mA"), "196.1 mA");
        assert_eq!(show(5100.0, 0.0, "kΩ"), "5.1 kΩ");
        assert_eq!(show(196.078, 60.0, "V"), "196 V");
    }

    #[test]
    fn a_spread_as_large_as_the_value_leaves_two_digits() {
        assert_eq!(show(1.2345, 3.0, "V"), "1.2 V");
        assert_eq!(show(0.0, 1.0, "V"), "0 V");
        assert_eq!(show(0.0, 0.0, "V"), "0 V");
    }

    #[test]
    fn prefixes_bring_a_value_between_one_and_a_thousand() {
        let fitted = |value: f64, dimension| {
            fitted_unit(value, &Unit::coherent(dimension))
                .symbol()
                .to_owned()
        };
        assert_eq!(fitted(0.196, Dimension::CURRENT), "mA");
        assert_eq!(fitted(5100.0, Dimension::RESISTANCE), "kΩ");
        assert_eq!(fitted(999.99, Dimension::RESISTANCE), "kΩ");
        assert_eq!(fitted(2.2e-6, Dimension::CAPACITANCE), "µF");
        assert_eq!(fitted(300.0, Dimension::TEMPERATURE), "°C");
        assert_eq!(fitted(0.02, Dimension::MASS), "g");
    }

    #[test]
    fn what_the_trade_counts_in_hours_is_shown_so() {
        let customary = |value: f64, dimension| {
            let unit = customary_unit(value, dimension);
            shown_digits(value, 3, &unit)
                .to_string()
                .replace('\u{a0}', " ")
        };
        assert_eq!(customary(1.44e6, Dimension::TIME), "400 h");
        assert_eq!(customary(600.0, Dimension::TIME), "600 s");
        assert_eq!(customary(3.92e-7, Dimension::FREQUENCY), "0.00141 1/h");
        assert_eq!(customary(2e-3, Dimension::FREQUENCY), "2 mHz");
        assert_eq!(customary(0.0, Dimension::FREQUENCY), "0 Hz");
        assert_eq!(customary(3456.0, Dimension::CHARGE), "960 mAh");
        assert_eq!(customary(1.02, Dimension::CHARGE), "1.02 C");
        assert_eq!(customary(8e-6, Dimension::VOLUME), "8 mL");
        assert_eq!(customary(0.02, Dimension::CURRENT), "20 mA");
    }
}
