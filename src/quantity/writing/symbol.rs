//! One word where a unit is expected: a symbol, a name, or what went wrong.

use super::Rule;
use crate::quantity::{Dimension, Unit, prefix_power_by_name};

/// What a word after a numeral, or inside a unit expression, is.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Verdict {
    /// A unit symbol, rightly written.
    Unit(Unit),
    /// A unit name in small letters: `volts`, `kilohertz`.
    Name,
    /// Meant as a unit and wrong, with the rule and what to write instead.
    Wrong(Rule, String),
    /// No unit: a word of the sentence, a code, a designator.
    Other,
}

impl Verdict {
    /// Whether a unit was meant, well written or not.
    pub(super) fn is_unit(&self) -> bool {
        !matches!(self, Verdict::Other)
    }

    fn wrong(rule: Rule, mend: impl Into<String>) -> Verdict {
        Verdict::Wrong(rule, mend.into())
    }
}

/// Unit names, singular. English adds an s to most of them.
const NAMES: &[&str] = &[
    "metre", "meter", "gram", "second", "ampere", "kelvin", "mole", "candela", "hertz", "newton",
    "pascal", "joule", "watt", "coulomb", "volt", "farad", "ohm", "siemens", "weber", "tesla",
    "henry", "henries", "lumen", "lux", "minute", "hour", "day", "week", "month", "year", "litre",
    "liter", "degree", "radian", "bel", "decibel", "bit", "byte", "count", "cent", "inch",
    "inches", "foot", "feet", "ounce", "pound", "percent", "baud", "bar", "mil",
];

/// Abbreviations that stand neither for a symbol nor for a name (NIST SP 811,
/// 6.1.8, gives sec, cc and mps as examples), with what to write.
const ABBREVIATIONS: &[(&str, &str)] = &[
    ("sec", "s"),
    ("secs", "s"),
    ("hr", "h"),
    ("hrs", "h"),
    ("mins", "min"),
    ("amp", "A"),
    ("amps", "A"),
    ("cc", "cm^3"),
    ("ccm", "cm^3"),
    ("mps", "m/s"),
    ("kph", "km/h"),
    ("kmh", "km/h"),
    ("gm", "g"),
    ("gms", "g"),
    ("mtr", "m"),
    ("micron", "µm"),
    ("microns", "µm"),
    ("mho", "S"),
    ("ltr", "L"),
];

/// What is attached to a unit symbol although it belongs to the quantity.
const ATTACHED: &[&str] = &[
    "rms", "eff", "pp", "pkpk", "pk", "p", "peak", "max", "min", "avg", "typ", "nom", "ac", "dc",
];

/// Prefixes whose symbols are written in the other case now and then.
const MISCASED: &[(char, char)] = &[('K', 'k'), ('N', 'n'), ('U', 'µ'), ('g', 'G')];

/// Prefixes that are met in compound ones, and standing alone.
const COMMON_PREFIXES: [char; 10] = ['p', 'n', 'µ', 'μ', 'u', 'm', 'k', 'M', 'G', 'T'];

/// Units that are recognised in letters of the wrong case. Units of one letter
/// that make an English word or another unit with a prefix are left out.
const MISCASED_UNITS: &[&str] = &[
    "Hz", "V", "A", "W", "F", "H", "J", "Pa", "Ah", "Wh", "VA", "dB", "dBm", "dBV", "dBu", "g",
    "m", "min",
];

/// Judges a word with its exponent. `attached` says that it follows a numeral
/// without a space, where `47k` is a value code and no bare prefix.
pub(super) fn judge(word: &str, attached: bool) -> Verdict {
    let base = word
        .split('^')
        .next()
        .unwrap_or(word)
        .trim_end_matches(|c| "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻".contains(c));
    if let Some((unit, _)) = base.split_once('_') {
        return match Unit::from_symbol(unit) {
            Ok(_) => with_information(unit),
            Err(_) => Verdict::Other,
        };
    }
    if base == "°K" {
        return Verdict::wrong(Rule::Symbol, "the kelvin has no degree sign: write `K`");
    }
    if base.is_empty() || base.contains(|c: char| c.is_ascii_digit()) {
        return Verdict::Other;
    }
    name(base)
        .or_else(|| Unit::from_symbol(base).ok().map(Verdict::Unit))
        .or_else(|| bare_prefix(base, attached))
        .or_else(|| abbreviation(base))
        .or_else(|| information(base))
        .or_else(|| compound_prefix(base))
        .or_else(|| miscased_prefix(base))
        .or_else(|| plural(base))
        .or_else(|| miscased_symbol(base))
        .unwrap_or(Verdict::Other)
}

/// Whether a word is a unit name, and which; a prefix may stand before it.
fn base_name(lower: &str) -> Option<&'static str> {
    let known = |text: &str| {
        NAMES
            .iter()
            .find(|name| text == **name || text.strip_suffix('s') == Some(**name))
            .copied()
    };
    known(lower).or_else(|| {
        lower
            .char_indices()
            .filter(|(at, _)| prefix_power_by_name(&lower[..*at]).is_some())
            .find_map(|(at, _)| known(&lower[at..]))
    })
}

fn name(word: &str) -> Option<Verdict> {
    let lower = word.to_lowercase();
    base_name(&lower)?;
    if word == lower {
        return Some(Verdict::Name);
    }
    let mend = format!("unit names have small letters: write `{lower}`, or the symbol");
    Some(Verdict::wrong(Rule::Symbol, mend))
}

fn bare_prefix(word: &str, attached: bool) -> Option<Verdict> {
    if prefix_power_by_name(&word.to_lowercase()).is_some() {
        let mend = format!("the prefix `{word}` never stands alone: write the unit too");
        return Some(Verdict::wrong(Rule::Prefix, mend));
    }
    let mut letters = word.chars();
    let letter = letters.next()?;
    let alone = letters.next().is_none() && COMMON_PREFIXES.contains(&letter);
    (alone && !attached).then(|| {
        let mend = format!(
            "the prefix `{word}` never stands alone: write it and its unit in one, as `{word}Ω` or `{word}Hz`, or a power of ten"
        );
        Verdict::wrong(Rule::Prefix, mend)
    })
}

fn abbreviation(word: &str) -> Option<Verdict> {
    let lower = word.to_lowercase();
    let prefixes = COMMON_PREFIXES.map(Some);
    [None].iter().chain(&prefixes).find_map(|prefix| {
        let stem = match prefix {
            None => lower.as_str(),
            Some(prefix) => word.strip_prefix(*prefix)?,
        };
        let (_, symbol) = ABBREVIATIONS.iter().find(|(short, _)| *short == stem)?;
        let prefix = prefix.map(String::from).unwrap_or_default();
        // A prefix fits a plain symbol: `msec` is `ms`, but there is no `mkm/h`.
        (prefix.is_empty() || !symbol.contains(['/', '^'])).then(|| {
            let mend = format!("`{word}` is no unit symbol: write `{prefix}{symbol}`");
            Verdict::wrong(Rule::Symbol, mend)
        })
    })
}

/// `Vrms`, `mVpp`, `VAC`: information attached to the unit of a voltage, a
/// current or a power.
fn information(word: &str) -> Option<Verdict> {
    // A weighting belongs to the level and not to the decibel (ISO 80000-8).
    if word == "dBA" {
        return Some(with_information("dB"));
    }
    let lower = word.to_ascii_lowercase();
    ATTACHED.iter().find_map(|suffix| {
        let stem = lower.strip_suffix(suffix)?;
        // Lower-casing ASCII letters keeps every place.
        let symbol = &word[..stem.len()];
        let unit = Unit::from_symbol(symbol).ok()?;
        let takes = [Dimension::VOLTAGE, Dimension::CURRENT, Dimension::POWER];
        takes
            .contains(&unit.dimension())
            .then(|| with_information(symbol))
    })
}

fn with_information(symbol: &str) -> Verdict {
    let mend = format!(
        "a unit says nothing about the quantity: write `{symbol}`, and the rest in words or at the symbol of the quantity, as in `U_rms`"
    );
    Verdict::wrong(Rule::One, mend)
}

fn compound_prefix(word: &str) -> Option<Verdict> {
    let rest = word.strip_prefix(COMMON_PREFIXES)?;
    let inner = rest.strip_prefix(COMMON_PREFIXES)?;
    let takes_prefix = Unit::from_symbol(rest).is_ok() && Unit::from_symbol(inner).is_ok();
    takes_prefix.then(|| {
        let outer = &word[..word.len() - rest.len()];
        let mend = format!("one prefix only: put one in place of `{outer}` and the next");
        Verdict::wrong(Rule::Prefix, mend)
    })
}

fn miscased_prefix(word: &str) -> Option<Verdict> {
    let (_, right) = MISCASED
        .iter()
        .find(|(wrong, _)| word.starts_with(*wrong))?;
    let mut letters = word.chars();
    letters.next();
    let right = format!("{right}{}", letters.as_str());
    let takes_prefix = Unit::from_symbol(letters.as_str()).is_ok();
    (takes_prefix && Unit::from_symbol(&right).is_ok())
        .then(|| Verdict::wrong(Rule::Prefix, format!("write `{right}`")))
}

/// `cms`, `kgs`. A product with the second, `mAs` or `Vs`, is none.
fn plural(word: &str) -> Option<Verdict> {
    let singular = word.strip_suffix('s')?;
    let one_letter = singular.len() < 2;
    if one_letter || singular.ends_with(['A', 'V', 'W']) {
        return None;
    }
    Unit::from_symbol(singular).ok()?;
    let mend = format!("symbols have no plural: write `{singular}`");
    Some(Verdict::wrong(Rule::Symbol, mend))
}

fn miscased_symbol(word: &str) -> Option<Verdict> {
    let lower = word.to_lowercase();
    let prefixes = ["", "p", "n", "µ", "u", "m", "k", "M", "G"];
    let mut meant: Vec<String> = Vec::new();
    for unit in MISCASED_UNITS {
        for prefix in prefixes {
            let symbol = format!("{prefix}{unit}");
            let same = symbol.to_lowercase() == lower;
            // `a` is an article and `h` an hour.
            let short = lower.chars().count() == 1 && !matches!(*unit, "V" | "W");
            if same && !short && Unit::from_symbol(&symbol).is_ok() {
                meant.push(format!("`{}`", symbol.replace('u', "µ")));
            }
        }
    }
    (!meant.is_empty()).then(|| {
        let mend = format!(
            "capital and small letters count: write {}",
            meant.join(" or ")
        );
        Verdict::wrong(Rule::Symbol, mend)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rule(word: &str) -> Option<Rule> {
        match judge(word, false) {
            Verdict::Wrong(rule, _) => Some(rule),
            _ => None,
        }
    }

    #[test]
    fn symbols_and_names_are_both_right() {
        for word in [
            "kΩ", "µF", "uF", "mAh", "°C", "%", "m^-2", "s²", "dBm", "kohm",
        ] {
            assert!(matches!(judge(word, false), Verdict::Unit(_)), "{word}");
        }
        for word in ["volts", "kilohertz", "ohm", "henries", "days"] {
            assert_eq!(judge(word, false), Verdict::Name, "{word}");
        }
    }

    #[test]
    fn each_slip_breaks_its_own_rule() {
        for (rule_broken, words) in [
            (
                Rule::Prefix,
                &[
                    "mµm", "µµF", "kMHz", "mmm", "µkg", "KHz", "Kohm", "Kg", "NF", "k", "µ", "kilo",
                ][..],
            ),
            (
                Rule::Symbol,
                &[
                    "cms",
                    "kgs",
                    "sec",
                    "msec",
                    "Amps",
                    "cc",
                    "hz",
                    "mhz",
                    "MHZ",
                    "Volt",
                    "KiloHertz",
                    "mah",
                    "db",
                    "uf",
                    "ma",
                    "°K",
                    "micron",
                    "KG",
                    "Min",
                    "kΩs",
                ],
            ),
            (
                Rule::One,
                &["Vrms", "mVpp", "VAC", "Vdc", "Wp", "mApk", "V_max", "dBA"],
            ),
        ] {
            for word in words {
                assert_eq!(rule(word), Some(rule_broken), "{word}");
            }
        }
    }

    #[test]
    fn words_of_a_sentence_are_none() {
        for word in [
            "a",
            "at",
            "to",
            "and",
            "or",
            "parts",
            "pieces",
            "LEDs",
            "times",
            "mVs",
            "of",
            "or",
            "pins",
            "samples",
            "U1",
            "x",
            "amplifiers",
            "V1",
            "_",
            "R",
            "per",
            "steps",
            "K7",
        ] {
            assert_eq!(judge(word, false), Verdict::Other, "{word}");
        }
        assert_eq!(judge("k", true), Verdict::Other, "`47k` is a value code");
    }

    #[test]
    fn the_mend_names_every_symbol_that_may_be_meant() {
        let Verdict::Wrong(_, mend) = judge("mhz", false) else {
            panic!("mhz is wrong")
        };
        assert!(mend.contains("`mHz` or `MHz`"), "{mend}");
    }
}
