//! Dimensions, known at run time.
//!
//! A dimension is the exponents of the seven base quantities of the SI and of
//! three counted ones that a design notebook must not mix up with plain
//! numbers: bits, converter counts and cents of pitch. Exponents are stored
//! doubled, so that the square root of a frequency in V/√Hz is exact.
//!
//! A dimension also says how numbers on its scale are read: as ordinary
//! values, as a point on the temperature scale (25 °C is no difference), or
//! as a level in decibels.

use std::fmt;

/// How many base dimensions there are: seven of the SI, then bit, count, cent.
const BASES: usize = 10;

/// Symbols of the coherent base units, in the order of the exponents.
const BASE_SYMBOLS: [&str; BASES] = [
    "m", "kg", "s", "A", "K", "mol", "cd", "bit", "count", "cent",
];

/// The dimension of a quantity.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Dimension {
    /// Doubled exponents of [`BASE_SYMBOLS`].
    halves: [i8; BASES],
    scale: Scale,
}

/// How the numbers of a dimension are read.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Scale {
    /// Values that add and multiply as numbers do.
    Linear,
    /// A point on a scale with an arbitrary origin: a temperature in °C.
    Point,
    /// The logarithm of a ratio, in decibels.
    Level(Level),
}

/// What a level in decibels is a ratio of (IEC 60027-3).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Level {
    /// A ratio, of what is not said: plain `dB` as written by hand.
    Ratio,
    /// A ratio of powers: 10 log10.
    Power,
    /// A ratio of field quantities (root-power quantities): 20 log10.
    Field,
    /// Power against 1 mW.
    Milliwatt,
    /// Voltage against 1 V.
    Volt,
    /// Voltage against √0.6 V, which is the voltage of 1 mW in 600 Ω.
    Dbu,
    /// Sound pressure against 20 µPa.
    SoundPressure,
}

impl Level {
    /// The unit symbol written after a level.
    pub fn symbol(self) -> &'static str {
        match self {
            Level::Ratio | Level::Power | Level::Field => "dB",
            Level::Milliwatt => "dBm",
            Level::Volt => "dBV",
            Level::Dbu => "dBu",
            Level::SoundPressure => "dB SPL",
        }
    }

    /// Whether the level is a bare ratio, without a reference value.
    pub fn is_ratio(self) -> bool {
        matches!(self, Level::Ratio | Level::Power | Level::Field)
    }

    /// Whether 20 log10 (field quantities) applies rather than 10 log10;
    /// `None` where a bare `dB` does not say.
    pub fn is_field(self) -> Option<bool> {
        match self {
            Level::Ratio => None,
            Level::Power | Level::Milliwatt => Some(false),
            Level::Field | Level::Volt | Level::Dbu | Level::SoundPressure => Some(true),
        }
    }
}

impl Dimension {
    /// A plain number.
    pub const ONE: Dimension = Dimension::of([0; 7], [0; 3]);
    /// Length, m.
    pub const LENGTH: Dimension = Dimension::of([1, 0, 0, 0, 0, 0, 0], [0; 3]);
    /// Mass, kg.
    pub const MASS: Dimension = Dimension::of([0, 1, 0, 0, 0, 0, 0], [0; 3]);
    /// Time, s.
    pub const TIME: Dimension = Dimension::of([0, 0, 1, 0, 0, 0, 0], [0; 3]);
    /// Electric current, A.
    pub const CURRENT: Dimension = Dimension::of([0, 0, 0, 1, 0, 0, 0], [0; 3]);
    /// Temperature difference, K.
    pub const TEMPERATURE_DIFFERENCE: Dimension = Dimension::of([0, 0, 0, 0, 1, 0, 0], [0; 3]);
    /// Temperature as a point on its scale, °C.
    pub const TEMPERATURE: Dimension = Dimension {
        halves: Dimension::TEMPERATURE_DIFFERENCE.halves,
        scale: Scale::Point,
    };
    /// Amount of substance, mol.
    pub const AMOUNT: Dimension = Dimension::of([0, 0, 0, 0, 0, 1, 0], [0; 3]);
    /// Luminous intensity, cd.
    pub const LUMINOUS_INTENSITY: Dimension = Dimension::of([0, 0, 0, 0, 0, 0, 1], [0; 3]);
    /// Binary digits.
    pub const BITS: Dimension = Dimension::of([0; 7], [1, 0, 0]);
    /// Counts of a converter or a counter.
    pub const COUNTS: Dimension = Dimension::of([0; 7], [0, 1, 0]);
    /// Hundredths of an equal-tempered semitone.
    pub const CENTS: Dimension = Dimension::of([0; 7], [0, 0, 1]);
    /// Electric potential, V.
    pub const VOLTAGE: Dimension = Dimension::of([2, 1, -3, -1, 0, 0, 0], [0; 3]);
    /// Resistance, Ω.
    pub const RESISTANCE: Dimension = Dimension::of([2, 1, -3, -2, 0, 0, 0], [0; 3]);
    /// Power, W.
    pub const POWER: Dimension = Dimension::of([2, 1, -3, 0, 0, 0, 0], [0; 3]);
    /// Capacitance, F.
    pub const CAPACITANCE: Dimension = Dimension::of([-2, -1, 4, 2, 0, 0, 0], [0; 3]);
    /// Inductance, H.
    pub const INDUCTANCE: Dimension = Dimension::of([2, 1, -2, -2, 0, 0, 0], [0; 3]);
    /// Frequency, Hz.
    pub const FREQUENCY: Dimension = Dimension::of([0, 0, -1, 0, 0, 0, 0], [0; 3]);
    /// Electric charge, C.
    pub const CHARGE: Dimension = Dimension::of([0, 0, 1, 1, 0, 0, 0], [0; 3]);
    /// Energy, J.
    pub const ENERGY: Dimension = Dimension::of([2, 1, -2, 0, 0, 0, 0], [0; 3]);
    /// Thermal resistance, K/W.
    pub const THERMAL_RESISTANCE: Dimension = Dimension::of([-2, -1, 3, 0, 1, 0, 0], [0; 3]);
    /// Reciprocal of a temperature difference, 1/K.
    pub const PER_KELVIN: Dimension = Dimension::of([0, 0, 0, 0, -1, 0, 0], [0; 3]);
    /// Area, m².
    pub const AREA: Dimension = Dimension::of([2, 0, 0, 0, 0, 0, 0], [0; 3]);
    /// Volume, m³.
    pub const VOLUME: Dimension = Dimension::of([3, 0, 0, 0, 0, 0, 0], [0; 3]);
    /// A level of which nothing but `dB` is said.
    pub const DECIBEL: Dimension = Dimension::level(Level::Ratio);

    /// From whole exponents: seven of the SI, then bit, count, cent.
    pub(crate) const fn of(si: [i8; 7], counted: [i8; 3]) -> Dimension {
        let mut halves = [0; BASES];
        let mut at = 0;
        while at < BASES {
            halves[at] = 2 * if at < 7 { si[at] } else { counted[at - 7] };
            at += 1;
        }
        Dimension {
            halves,
            scale: Scale::Linear,
        }
    }

    /// The dimension of a level in decibels.
    pub const fn level(level: Level) -> Dimension {
        Dimension {
            halves: [0; BASES],
            scale: Scale::Level(level),
        }
    }

    /// How numbers of this dimension are read.
    pub fn scale(self) -> Scale {
        self.scale
    }

    /// The level, where this is one.
    pub fn as_level(self) -> Option<Level> {
        match self.scale {
            Scale::Level(level) => Some(level),
            Scale::Linear | Scale::Point => None,
        }
    }

    /// Whether this is a plain number.
    pub fn is_one(self) -> bool {
        self == Dimension::ONE
    }

    /// The same exponents, read as ordinary values: a temperature in kelvin
    /// where it was a point on the scale. Levels have no such reading and stay.
    pub fn linear(self) -> Dimension {
        match self.scale {
            Scale::Point => Dimension {
                scale: Scale::Linear,
                ..self
            },
            Scale::Linear | Scale::Level(_) => self,
        }
    }

    /// Whether both have the same exponents, whatever the scale.
    pub fn same_exponents(self, other: Dimension) -> bool {
        self.halves == other.halves
    }

    /// Whether a value of `self` may be set against one of `other`: the same
    /// dimension, a bare `dB` against any ratio, a temperature in kelvin
    /// against one in °C.
    pub fn comparable(self, other: Dimension) -> bool {
        match (self.scale, other.scale) {
            (Scale::Level(a), Scale::Level(b)) => {
                a == b || (a.is_ratio() && b.is_ratio() && (a == Level::Ratio || b == Level::Ratio))
            }
            (Scale::Level(_), _) | (_, Scale::Level(_)) => false,
            _ => self.halves == other.halves,
        }
    }

    /// Product of two dimensions; `None` past exponents of ±63.
    pub fn times(self, other: Dimension) -> Option<Dimension> {
        self.combine(other, i8::checked_add)
    }

    /// Quotient of two dimensions; `None` past exponents of ±63.
    pub fn over(self, other: Dimension) -> Option<Dimension> {
        self.combine(other, i8::checked_sub)
    }

    fn combine(self, other: Dimension, op: fn(i8, i8) -> Option<i8>) -> Option<Dimension> {
        let mut halves = [0; BASES];
        for (at, half) in halves.iter_mut().enumerate() {
            *half = op(self.halves[at], other.halves[at])?;
        }
        Some(Dimension {
            halves,
            scale: Scale::Linear,
        })
    }

    /// A power with an exponent that is a multiple of one half, given doubled.
    /// `None` where an exponent would not be a multiple of one half.
    pub fn power_of_halves(self, exponent_halves: i32) -> Option<Dimension> {
        let mut halves = [0; BASES];
        for (at, half) in halves.iter_mut().enumerate() {
            let product = i32::from(self.halves[at]).checked_mul(exponent_halves)?;
            if product % 2 != 0 {
                return None;
            }
            *half = i8::try_from(product / 2).ok()?;
        }
        Some(Dimension {
            halves,
            scale: Scale::Linear,
        })
    }

    /// The field's word for the dimension, where it has one: `voltage`.
    pub fn word(self) -> Option<&'static str> {
        match self.scale {
            Scale::Level(_) => return Some("level"),
            Scale::Point => return Some("temperature"),
            Scale::Linear => {}
        }
        NAMED
            .iter()
            .find(|named| named.dimension == self)
            .map(|named| named.word)
    }

    /// The coherent unit: `V`, `K/W`, `kg·m/s²`; empty for a plain number.
    pub fn coherent_symbol(self) -> String {
        match self.scale {
            Scale::Level(level) => return level.symbol().to_owned(),
            Scale::Point => return "°C".to_owned(),
            Scale::Linear => {}
        }
        if let Some(named) = NAMED.iter().find(|named| named.dimension == self) {
            return named.symbol.to_owned();
        }
        let (mut above, mut below) = (Vec::new(), Vec::new());
        for (symbol, half) in BASE_SYMBOLS.iter().zip(self.halves) {
            match half {
                0 => {}
                1.. => above.push(raised(symbol, half)),
                _ => below.push(raised(symbol, -half)),
            }
        }
        let above = if above.is_empty() {
            "1".to_owned()
        } else {
            above.join("·")
        };
        match below.len() {
            0 => above,
            1 => format!("{above}/{}", below[0]),
            _ => format!("{above}/({})", below.join("·")),
        }
    }
}

/// A base symbol with its exponent, given doubled: `s²`, `Hz^(1/2)`.
fn raised(symbol: &str, halves: i8) -> String {
    const SUPERSCRIPTS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    match halves {
        2 => symbol.to_owned(),
        h if h % 2 == 0 => {
            let digits = (h / 2).to_string();
            let raised: String = digits
                .bytes()
                .map(|digit| SUPERSCRIPTS[usize::from(digit - b'0')])
                .collect();
            format!("{symbol}{raised}")
        }
        h => format!("{symbol}^({h}/2)"),
    }
}

/// A dimension that has a word and a coherent unit of its own.
struct Named {
    dimension: Dimension,
    symbol: &'static str,
    word: &'static str,
}

const fn named(dimension: Dimension, symbol: &'static str, word: &'static str) -> Named {
    Named {
        dimension,
        symbol,
        word,
    }
}

const NAMED: &[Named] = &[
    named(Dimension::ONE, "", "plain number"),
    named(Dimension::LENGTH, "m", "length"),
    named(Dimension::MASS, "kg", "mass"),
    named(Dimension::TIME, "s", "time"),
    named(Dimension::CURRENT, "A", "current"),
    named(
        Dimension::TEMPERATURE_DIFFERENCE,
        "K",
        "temperature difference",
    ),
    named(Dimension::AMOUNT, "mol", "amount of substance"),
    named(Dimension::LUMINOUS_INTENSITY, "cd", "luminous intensity"),
    named(Dimension::BITS, "bit", "number of bits"),
    named(Dimension::COUNTS, "count", "number of counts"),
    named(Dimension::CENTS, "cent", "pitch interval"),
    named(Dimension::VOLTAGE, "V", "voltage"),
    named(Dimension::RESISTANCE, "Ω", "resistance"),
    named(Dimension::POWER, "W", "power"),
    named(Dimension::CAPACITANCE, "F", "capacitance"),
    named(Dimension::INDUCTANCE, "H", "inductance"),
    named(Dimension::FREQUENCY, "Hz", "frequency"),
    named(Dimension::CHARGE, "C", "charge"),
    named(Dimension::ENERGY, "J", "energy"),
    named(Dimension::THERMAL_RESISTANCE, "K/W", "thermal resistance"),
    named(Dimension::PER_KELVIN, "1/K", "temperature coefficient"),
    named(Dimension::AREA, "m²", "area"),
    named(Dimension::VOLUME, "m³", "volume"),
    named(
        Dimension::of([-2, -1, 3, 2, 0, 0, 0], [0; 3]),
        "S",
        "conductance",
    ),
    named(Dimension::of([1, 1, -2, 0, 0, 0, 0], [0; 3]), "N", "force"),
    named(
        Dimension::of([-1, 1, -2, 0, 0, 0, 0], [0; 3]),
        "Pa",
        "pressure",
    ),
    named(
        Dimension::of([0, 1, -2, -1, 0, 0, 0], [0; 3]),
        "T",
        "magnetic flux density",
    ),
    named(
        Dimension::of([2, 1, -2, -1, 0, 0, 0], [0; 3]),
        "Wb",
        "magnetic flux",
    ),
    named(
        Dimension::of([1, 0, -1, 0, 0, 0, 0], [0; 3]),
        "m/s",
        "speed",
    ),
    named(
        Dimension::of([1, 0, -2, 0, 0, 0, 0], [0; 3]),
        "m/s²",
        "acceleration",
    ),
    named(
        Dimension::of([-2, 0, 0, 0, 0, 0, 1], [0; 3]),
        "lx",
        "illuminance",
    ),
    named(
        Dimension::of([2, 1, -3, -1, 0, 0, 0], [0, -1, 0]),
        "V/count",
        "voltage step",
    ),
    named(
        Dimension::of([2, 1, -3, -1, -1, 0, 0], [0; 3]),
        "V/K",
        "change of voltage with temperature",
    ),
    named(
        Dimension::of([2, 1, -3, 0, -1, 0, 0], [0; 3]),
        "W/K",
        "thermal conductance",
    ),
    named(
        Dimension::of([1, 1, -3, -1, 0, 0, 0], [0; 3]),
        "V/m",
        "field strength",
    ),
    named(
        Dimension::of([2, 1, -4, -1, 0, 0, 0], [0; 3]),
        "V/s",
        "slew rate",
    ),
    named(
        Dimension::of([-2, -1, 4, 2, 0, 0, 0], [0; 3]),
        "F",
        "capacitance",
    ),
    named(
        Dimension::of([0, 0, -1, 0, 0, 0, 0], [1, 0, 0]),
        "bit/s",
        "bit rate",
    ),
];

impl fmt::Display for Dimension {
    /// As a message names it: `a voltage (V)`, `kg·m/s³`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let symbol = self.coherent_symbol();
        match self.word() {
            Some(word) if symbol.is_empty() => write!(f, "a {word}"),
            Some(word) => {
                let article = if word.starts_with(['a', 'e', 'i', 'o', 'u']) {
                    "an"
                } else {
                    "a"
                };
                write!(f, "{article} {word} ({symbol})")
            }
            None => f.write_str(&symbol),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ohms_law_holds_for_dimensions() {
        assert_eq!(
            Dimension::VOLTAGE.over(Dimension::RESISTANCE),
            Some(Dimension::CURRENT)
        );
        assert_eq!(
            Dimension::VOLTAGE.times(Dimension::CURRENT),
            Some(Dimension::POWER)
        );
        assert_eq!(
            Dimension::RESISTANCE.times(Dimension::CAPACITANCE),
            Some(Dimension::TIME)
        );
    }

    #[test]
    fn half_powers_are_exact_and_quarter_powers_are_refused() {
        let root_hertz = Dimension::FREQUENCY.power_of_halves(1);
        assert_eq!(
            root_hertz.and_then(|d| d.power_of_halves(4)),
            Some(Dimension::FREQUENCY)
        );
        assert_eq!(root_hertz.and_then(|d| d.power_of_halves(1)), None);
    }

    #[test]
    fn a_level_is_compared_only_with_a_level_of_its_sort() {
        let power = Dimension::level(Level::Power);
        let field = Dimension::level(Level::Field);
        assert!(power.comparable(Dimension::DECIBEL));
        assert!(!power.comparable(field));
        assert!(!Dimension::level(Level::Milliwatt).comparable(Dimension::DECIBEL));
        assert!(!Dimension::ONE.comparable(Dimension::DECIBEL));
    }

    #[test]
    fn dimensions_are_named_as_an_engineer_names_them() {
        assert_eq!(Dimension::VOLTAGE.to_string(), "a voltage (V)");
        assert_eq!(Dimension::TEMPERATURE.to_string(), "a temperature (°C)");
        assert_eq!(Dimension::INDUCTANCE.to_string(), "an inductance (H)");
        let odd = Dimension::VOLTAGE
            .times(Dimension::VOLTAGE)
            .and_then(|d| d.times(Dimension::TIME));
        assert_eq!(
            odd.map(|d| d.to_string()).as_deref(),
            Some("m⁴·kg²/(s⁵·A²)")
        );
    }
}
