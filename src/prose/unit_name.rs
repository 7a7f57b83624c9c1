//! Units by their names: `3 hours`, `200 milliamperes`.
//!
//! Records take symbols only. Prose may spell a unit out (NIST SP 811, 7.6), so
//! names are read here, and only to find quantities that hang on nothing.

use crate::quantity::{Unit, prefix_power_by_name};

/// Names in the singular, with the symbol they stand for.
const NAMES: &[(&str, &str)] = &[
    ("ampere", "A"),
    ("amp", "A"),
    ("volt", "V"),
    ("watt", "W"),
    ("farad", "F"),
    ("henry", "H"),
    ("hertz", "Hz"),
    ("coulomb", "C"),
    ("joule", "J"),
    ("newton", "N"),
    ("pascal", "Pa"),
    ("kelvin", "K"),
    ("metre", "m"),
    ("meter", "m"),
    ("gram", "g"),
    ("litre", "L"),
    ("liter", "L"),
    ("second", "s"),
    ("minute", "min"),
    ("hour", "h"),
    ("decibel", "dB"),
    // Two names that swallow the last letter of their prefix, and the plain one.
    ("kilohm", "kΩ"),
    ("megohm", "MΩ"),
    ("ohm", "Ω"),
];

/// The unit of a name in small letters, singular or plural, with or without
/// the name of a prefix: `volt`, `millivolts`, `kilohms`.
pub(super) fn read(word: &str) -> Option<Unit> {
    let singular = |word: &str| {
        NAMES.iter().find_map(|(name, symbol)| {
            let prefix = word.strip_suffix(name)?;
            let power = match prefix {
                "" => 0,
                prefix => prefix_power_by_name(prefix)?,
            };
            Unit::from_symbol(symbol).ok()?.prefixed(power)
        })
    };
    singular(word).or_else(|| singular(word.strip_suffix('s')?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_reads_as_its_symbol() {
        for (name, symbol) in [
            ("volt", "V"),
            ("millivolts", "mV"),
            ("hours", "h"),
            ("kilohms", "kΩ"),
            ("microfarads", "µF"),
            ("megahertz", "MHz"),
            ("milliamps", "mA"),
        ] {
            assert_eq!(
                read(name),
                Unit::from_symbol(symbol).ok().and_then(|u| u.prefixed(0)),
                "{name}"
            );
            assert_eq!(
                read(name).map(|u| u.symbol().to_owned()),
                Some(symbol.to_owned())
            );
        }
    }

    #[test]
    fn other_words_are_no_units() {
        for word in [
            "Volt",
            "parts",
            "hourly",
            "s",
            "millihours",
            "lamp",
            "prohm",
        ] {
            assert_eq!(read(word), None, "{word}");
        }
    }
}
