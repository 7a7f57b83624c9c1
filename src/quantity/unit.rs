//! Units as text: symbols, prefixes, products and quotients of them.
//!
//! Symbols follow the SI Brochure (9th edition) and ISO 80000-1; units of the
//! trade (Ah, mil, oz, dBm, rpm) stand beside them. A prefix goes only where
//! the unit takes one, and an exact symbol wins over a prefixed one: `min` is
//! a minute and no milli-inch.

use super::dimension::Dimension;
use super::unit_table::{Entry, NAMED_PREFIXES, PREFIXES, Prefixes, SLIPS, TABLE};

/// A unit: what one of it is in coherent SI units.
#[derive(Clone, PartialEq, Debug)]
pub struct Unit {
    /// As it is printed: `kΩ`, `K/W`; empty for a plain number.
    symbol: String,
    dimension: Dimension,
    /// Decimal part of the factor, kept apart so that decimal text converts
    /// with one rounding.
    power_of_ten: i32,
    /// What is left of the factor: 1 for all SI units.
    factor: f64,
    /// Added after scaling: 273.15 for °C.
    offset: f64,
    /// The unit that a display prefix may be put before, and whether one may.
    prefixable: bool,
}

/// Why text is not a unit.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum UnitFault {
    /// No unit has this symbol; the nearest one that exists, if any is near.
    Unknown {
        /// The symbol as written.
        symbol: String,
        /// A symbol that may have been meant.
        nearest: Option<String>,
    },
    /// A known slip, with what to write instead.
    Slip {
        /// The symbol as written.
        symbol: String,
        /// The mend.
        mend: &'static str,
    },
    /// More than one solidus (SI Brochure 5.2): `m/s/s`.
    TwoSolidi,
    /// A product below the solidus without brackets: `W/m K`.
    Brackets,
    /// Brackets that do not match, or nothing where a unit was expected.
    Form,
    /// A unit that can only stand alone, such as °C or dB, inside a product.
    NotAlone(String),
    /// An exponent out of the range that is read.
    Exponent,
}

/// The factor of a prefix as a power of ten, by its English name: `kilo` is 3.
/// All 24 of the SI Brochure, 9th edition (v2), Table 7.
pub fn prefix_power_by_name(name: &str) -> Option<i32> {
    let with_symbols = PREFIXES.iter().map(|(_, known, power)| (*known, *power));
    with_symbols
        .chain(NAMED_PREFIXES.iter().copied())
        .find(|(known, _)| *known == name)
        .map(|(_, power)| power)
}

/// The prefix symbol for a power of ten, as display uses them.
pub(crate) fn prefix_for_power(power: i32) -> Option<&'static str> {
    if power == 0 {
        return Some("");
    }
    PREFIXES
        .iter()
        .find(|(_, _, known)| *known == power)
        .map(|(symbols, _, _)| symbols[0])
}

impl Unit {
    /// The plain number's unit: none.
    pub fn one() -> Unit {
        Unit {
            symbol: String::new(),
            dimension: Dimension::ONE,
            power_of_ten: 0,
            factor: 1.0,
            offset: 0.0,
            prefixable: false,
        }
    }

    /// The coherent unit of a dimension, in the way it is usually shown.
    pub fn coherent(dimension: Dimension) -> Unit {
        let symbol = dimension.coherent_symbol();
        let entry = TABLE.iter().find(|entry| entry.symbol == symbol);
        match entry {
            Some(entry) if entry.dimension == dimension || dimension.as_level().is_some() => Unit {
                dimension,
                ..Unit::from_entry(entry)
            },
            // Grams, so that a prefix can be put before them.
            _ if dimension == Dimension::MASS => Unit {
                power_of_ten: -3,
                symbol: "g".into(),
                prefixable: true,
                ..Unit::bare(dimension)
            },
            _ => Unit {
                symbol,
                ..Unit::bare(dimension)
            },
        }
    }

    fn bare(dimension: Dimension) -> Unit {
        Unit {
            dimension,
            ..Unit::one()
        }
    }

    fn from_entry(entry: &Entry) -> Unit {
        Unit {
            symbol: entry.symbol.to_owned(),
            dimension: entry.dimension,
            power_of_ten: entry.power_of_ten,
            factor: entry.factor,
            offset: entry.offset,
            prefixable: entry.prefixes == Prefixes::All,
        }
    }

    /// Reads one symbol with its prefix: `kΩ`, `mAh`, `°C`.
    ///
    /// # Errors
    /// [`UnitFault::Unknown`] or [`UnitFault::Slip`].
    pub fn from_symbol(symbol: &str) -> Result<Unit, UnitFault> {
        if symbol.is_empty() {
            return Err(UnitFault::Form);
        }
        if let Some(entry) = find(symbol) {
            return Ok(Unit::from_entry(entry));
        }
        for (writings, _, power) in PREFIXES {
            for writing in *writings {
                let Some(entry) = symbol.strip_prefix(writing).and_then(find) else {
                    continue;
                };
                let takes = match entry.prefixes {
                    Prefixes::None => false,
                    Prefixes::All => true,
                    Prefixes::Large => *power >= 3,
                };
                if takes {
                    let unit = Unit::from_entry(entry);
                    return Ok(Unit {
                        symbol: format!("{}{}", writings[0], entry.symbol),
                        power_of_ten: unit.power_of_ten + power,
                        prefixable: false,
                        ..unit
                    });
                }
            }
        }
        if let Some((_, mend)) = SLIPS.iter().find(|(slip, _)| *slip == symbol) {
            return Err(UnitFault::Slip {
                symbol: symbol.to_owned(),
                mend,
            });
        }
        let nearest = TABLE
            .iter()
            .map(|entry| entry.symbol)
            .find(|known| known.eq_ignore_ascii_case(symbol))
            .map(str::to_owned);
        Err(UnitFault::Unknown {
            symbol: symbol.to_owned(),
            nearest,
        })
    }

    /// Reads a unit expression: `kΩ`, `V/µs`, `W/(m K)`, `J mol^-1 K^-1`,
    /// `m³`, `1/h`. At most one solidus.
    ///
    /// # Errors
    /// [`UnitFault`], for the first thing that is wrong.
    pub fn parse(text: &str) -> Result<Unit, UnitFault> {
        let text = text.trim_matches(super::is_space);
        if text.is_empty() {
            return Ok(Unit::one());
        }
        if let Ok(unit) = Unit::from_symbol(text) {
            return Ok(unit);
        }
        let mut parts = text.split('/');
        let above = parts.next().unwrap_or("").trim_matches(super::is_space);
        let below = parts.next().map(|part| part.trim_matches(super::is_space));
        if parts.next().is_some() {
            return Err(UnitFault::TwoSolidi);
        }
        let mut unit = if above == "1" && below.is_some() {
            Unit::one()
        } else {
            product(above)?
        };
        if let Some(below) = below {
            let bracketed = below.strip_prefix('(').map(|inner| inner.strip_suffix(')'));
            let divisor = match bracketed {
                Some(Some(inner)) => product(inner)?,
                Some(None) => return Err(UnitFault::Form),
                // `W/m K` could mean either of two units.
                None if below.contains(is_between) => return Err(UnitFault::Brackets),
                None => product(below)?,
            };
            unit = unit.over(&divisor).ok_or(UnitFault::Exponent)?;
            let shown = if divisor.symbol.contains('·') {
                format!("({})", divisor.symbol)
            } else {
                divisor.symbol
            };
            let over = if unit.symbol.is_empty() {
                "1"
            } else {
                &unit.symbol
            };
            unit.symbol = format!("{over}/{shown}");
        }
        Ok(unit)
    }

    /// Symbol as it is printed.
    pub fn symbol(&self) -> &str {
        &self.symbol
    }

    /// Dimension of a value in this unit.
    pub fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// The value of `numeral` of this unit in coherent SI units (kelvin for a
    /// temperature, decibels for a level).
    pub fn value_of(&self, numeral: &super::Decimal) -> f64 {
        numeral.scaled(self.power_of_ten) * self.factor + self.offset
    }

    /// How many of this unit a value in coherent SI units is.
    pub fn count_of(&self, value: f64) -> f64 {
        let value = (value - self.offset) / self.factor;
        // Division by an exact power of ten keeps the last bit; a product with
        // 1e-3 would not.
        if self.power_of_ten >= 0 {
            value / 10f64.powi(self.power_of_ten)
        } else {
            value * 10f64.powi(-self.power_of_ten)
        }
    }

    /// Size of a step of one of this unit, in coherent SI units.
    pub fn step(&self) -> f64 {
        self.factor * 10f64.powi(self.power_of_ten)
    }

    /// The same unit for differences of what it measures: K for °C.
    pub fn for_difference(&self) -> Unit {
        if self.offset == 0.0 {
            return self.clone();
        }
        Unit {
            symbol: if self.factor == 1.0 {
                "K".to_owned()
            } else {
                self.symbol.clone()
            },
            dimension: self.dimension.linear(),
            offset: 0.0,
            ..self.clone()
        }
    }

    /// Whether the unit has an origin of its own: °C, °F.
    pub fn has_offset(&self) -> bool {
        self.offset != 0.0
    }

    /// The unit with the prefix of a power of ten put before it, where it
    /// takes one and there is such a prefix.
    pub(crate) fn prefixed(&self, power: i32) -> Option<Unit> {
        if power == 0 {
            return Some(self.clone());
        }
        let prefix = prefix_for_power(power).filter(|_| self.prefixable)?;
        Some(Unit {
            symbol: format!("{prefix}{}", self.symbol),
            power_of_ten: self.power_of_ten + power,
            prefixable: false,
            ..self.clone()
        })
    }

    fn times(&self, other: &Unit) -> Option<Unit> {
        Some(Unit {
            symbol: [&*self.symbol, &*other.symbol]
                .iter()
                .filter(|symbol| !symbol.is_empty())
                .copied()
                .collect::<Vec<_>>()
                .join("·"),
            dimension: self.dimension.times(other.dimension)?,
            power_of_ten: self.power_of_ten + other.power_of_ten,
            factor: self.factor * other.factor,
            offset: 0.0,
            prefixable: false,
        })
    }

    fn over(&self, other: &Unit) -> Option<Unit> {
        Some(Unit {
            symbol: self.symbol.clone(),
            dimension: self.dimension.over(other.dimension)?,
            power_of_ten: self.power_of_ten - other.power_of_ten,
            factor: self.factor / other.factor,
            offset: 0.0,
            prefixable: false,
        })
    }

    fn raised(&self, exponent: i32) -> Option<Unit> {
        const SUPERSCRIPTS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
        if exponent == 1 {
            return Some(self.clone());
        }
        let mut symbol = self.symbol.clone();
        if exponent < 0 {
            symbol.push('⁻');
        }
        symbol.extend(
            exponent
                .unsigned_abs()
                .to_string()
                .bytes()
                .map(|b| SUPERSCRIPTS[usize::from(b - b'0')]),
        );
        Some(Unit {
            symbol,
            dimension: self.dimension.power_of_halves(exponent * 2)?,
            power_of_ten: self.power_of_ten * exponent,
            factor: self.factor.powi(exponent),
            offset: 0.0,
            prefixable: false,
        })
    }
}

fn find(symbol: &str) -> Option<&'static Entry> {
    TABLE
        .iter()
        .find(|entry| entry.symbol == symbol || entry.also.contains(&symbol))
}

/// What stands between the factors of a product of units.
fn is_between(c: char) -> bool {
    super::is_space(c) || matches!(c, '*' | '·' | '⋅')
}

/// Reads `N m`, `kg·m`, `K^-1`, `mm²`.
fn product(text: &str) -> Result<Unit, UnitFault> {
    let mut unit: Option<Unit> = None;
    for term in text.split(is_between).filter(|term| !term.is_empty()) {
        let (symbol, exponent) = split_exponent(term)?;
        let factor = Unit::from_symbol(symbol)?;
        let alone = factor.has_offset() || factor.dimension.as_level().is_some();
        if alone {
            return Err(UnitFault::NotAlone(symbol.to_owned()));
        }
        let factor = factor.raised(exponent).ok_or(UnitFault::Exponent)?;
        unit = Some(match unit {
            None => factor,
            Some(before) => before.times(&factor).ok_or(UnitFault::Exponent)?,
        });
    }
    unit.ok_or(UnitFault::Form)
}

/// Splits `m^2`, `m²`, `K^-1` and `K⁻¹` into symbol and exponent.
fn split_exponent(term: &str) -> Result<(&str, i32), UnitFault> {
    const SUPERSCRIPTS: &str = "⁰¹²³⁴⁵⁶⁷⁸⁹";
    if let Some((symbol, exponent)) = term.split_once('^') {
        let exponent: i32 = exponent
            .replace('−', "-")
            .parse()
            .map_err(|_| UnitFault::Exponent)?;
        return in_range(symbol, exponent);
    }
    let start = term.find(|c| c == '⁻' || SUPERSCRIPTS.contains(c));
    let Some(start) = start else {
        return Ok((term, 1));
    };
    let (symbol, raised) = term.split_at(start);
    let (sign, digits) = raised
        .strip_prefix('⁻')
        .map_or((1, raised), |rest| (-1, rest));
    let mut exponent = 0;
    for raised in digits.chars() {
        let digit = SUPERSCRIPTS
            .chars()
            .position(|c| c == raised)
            .ok_or(UnitFault::Exponent)?;
        exponent = exponent * 10 + digit as i32;
        in_range(symbol, exponent)?;
    }
    in_range(symbol, sign * exponent)
}

/// No unit of the trade is raised past the ninth power.
fn in_range(symbol: &str, exponent: i32) -> Result<(&str, i32), UnitFault> {
    if exponent == 0 || exponent.abs() > 9 {
        Err(UnitFault::Exponent)
    } else {
        Ok((symbol, exponent))
    }
}

/// Whether an id would read as a unit after a number.
pub fn is_unit_symbol(text: &str) -> bool {
    Unit::from_symbol(text).is_ok()
}

impl std::fmt::Display for UnitFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            UnitFault::Unknown {
                symbol,
                nearest: Some(nearest),
            } => {
                write!(f, "`{symbol}` is no unit (perhaps `{nearest}`)")
            }
            UnitFault::Unknown {
                symbol,
                nearest: None,
            } => write!(f, "`{symbol}` is no unit"),
            UnitFault::Slip { symbol, mend } => write!(f, "`{symbol}` is no unit: {mend}"),
            UnitFault::TwoSolidi => {
                f.write_str("more than one solidus in a unit: write `m/s²` or `W/(m K)`")
            }
            UnitFault::Brackets => {
                f.write_str("a product below the solidus needs brackets: write `W/(m K)`")
            }
            UnitFault::Form => f.write_str("a unit is missing, or its brackets do not match"),
            UnitFault::NotAlone(symbol) => {
                write!(
                    f,
                    "`{symbol}` stands alone, never in a product or quotient of units"
                )
            }
            UnitFault::Exponent => f.write_str("the exponent of a unit is out of range"),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::Decimal;

    fn si(text: &str, unit: &str) -> f64 {
        Unit::parse(unit)
            .unwrap()
            .value_of(&Decimal::scan(text).unwrap().0)
    }

    #[test]
    fn a_prefixed_unit_converts_with_one_rounding() {
        assert_eq!(si("196", "mA"), 0.196);
        assert_eq!(si("4.7", "kΩ"), 4700.0);
        assert_eq!(si("2.2", "µF"), 2.2e-6);
        assert_eq!(si("250", "mAh"), 900.0);
        assert_eq!(si("25", "°C"), 298.15);
    }

    #[test]
    fn the_three_ohms_and_the_three_micros_are_the_same() {
        assert_eq!(Unit::parse("k\u{2126}"), Unit::parse("kΩ"));
        assert_eq!(Unit::parse("kohm"), Unit::parse("kΩ"));
        assert_eq!(Unit::parse("uF"), Unit::parse("µF"));
        assert_eq!(Unit::parse("\u{3bc}F"), Unit::parse("µF"));
    }

    #[test]
    fn the_si_has_twenty_four_prefixes() {
        let named = |name| prefix_power_by_name(name);
        assert_eq!(named("kilo"), Some(3));
        assert_eq!(named("deca"), Some(1));
        assert_eq!(named("quetta"), Some(30));
        assert_eq!(named("Kilo"), None);
        assert_eq!(PREFIXES.len() + NAMED_PREFIXES.len(), 24);
    }

    #[test]
    fn exact_symbols_win_over_prefixes_and_case_is_never_folded() {
        assert_eq!(Unit::parse("min").unwrap().dimension(), Dimension::TIME);
        assert_eq!(
            Unit::parse("cd").unwrap().dimension(),
            Dimension::LUMINOUS_INTENSITY
        );
        assert_eq!(si("1", "mHz") * 1e9, si("1", "MHz"));
    }

    #[test]
    fn compound_units_are_read_by_the_rules_of_the_si() {
        assert_eq!(
            Unit::parse("K/W").unwrap().dimension(),
            Dimension::THERMAL_RESISTANCE
        );
        assert_eq!(Unit::parse("W/(m K)").unwrap().symbol(), "W/(m·K)");
        assert_eq!(Unit::parse("m/s/s"), Err(UnitFault::TwoSolidi));
        assert_eq!(Unit::parse("W/m K"), Err(UnitFault::Brackets));
        assert_eq!(
            Unit::parse("1/K").unwrap().dimension(),
            Dimension::PER_KELVIN
        );
        assert!(matches!(Unit::parse("°C/W"), Err(UnitFault::NotAlone(_))));
        assert!(matches!(Unit::parse("Kohm"), Err(UnitFault::Slip { .. })));
    }
}
