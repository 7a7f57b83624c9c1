//! The writing rules of the SI, as checks on text.
//!
//! Each breach has its place, the rule and the mend. The rules are those of
//! the SI Brochure and of NIST SP 811 and are advice on how to write, not
//! whether a value is right: text that breaks one may still be read.
//!
//! The trade's own writing is left alone: value codes (`4k7`), `u` for the
//! micro sign, `ohm` for Ω, designators, and counts (`2 × 100 nF`). Prose is
//! checked only where a numeral stands beside what is meant as a unit, since
//! most words of a sentence look like no unit and some look like one.
//!
//! Not here: whether symbols are upright, which plain text does not show.

mod lex;
mod number;
mod symbol;
mod together;
mod value;

use std::ops::Range;

use value::Reading;

/// A place in a text where a writing rule is broken.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Breach {
    /// The bytes of the text that are meant.
    pub span: Range<usize>,
    /// The rule.
    pub rule: Rule,
    /// What to write instead, as a clause without a full stop.
    pub mend: String,
}

/// A writing rule of the SI.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Rule {
    /// A space stands between value and unit symbol, also before °C and %; none
    /// before the signs of angle.
    Space,
    /// One prefix only, right before its unit, in the right case, never alone.
    Prefix,
    /// Symbols are not altered, abbreviated or put in the plural; names have
    /// small letters.
    Symbol,
    /// One decimal sign in a text, a zero before it, and groups of three digits
    /// set apart by spaces alone.
    Decimal,
    /// One unit a value, and nothing attached to it.
    One,
    /// The unit stands after each value of a range or a tolerance.
    Range,
    /// At most one solidus, or brackets.
    Quotient,
}

/// The decimal sign that a text keeps to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DecimalSign {
    /// The point on the line.
    Point,
    /// The comma on the line.
    Comma,
}

impl Rule {
    /// All rules.
    pub const ALL: [Rule; 7] = [
        Rule::Space,
        Rule::Prefix,
        Rule::Symbol,
        Rule::Decimal,
        Rule::One,
        Rule::Range,
        Rule::Quotient,
    ];

    /// A word for the rule: `space`.
    pub fn name(self) -> &'static str {
        match self {
            Rule::Space => "space",
            Rule::Prefix => "prefix",
            Rule::Symbol => "symbol",
            Rule::Decimal => "decimal",
            Rule::One => "one",
            Rule::Range => "range",
            Rule::Quotient => "quotient",
        }
    }

    /// Where the rule is published. (Sections of SP 811 other than 6.2 and 7.2
    /// are cited from memory.)
    pub fn source(self) -> &'static str {
        match self {
            Rule::Space => "NIST SP 811 (2008), 7.2; SI Brochure, 9th edition, 5.4.3 and 5.4.7",
            Rule::Prefix => "NIST SP 811 (2008), 6.2; SI Brochure, 9th edition, 3",
            Rule::Symbol => "NIST SP 811 (2008), 6.1; SI Brochure, 9th edition, 5.2 and 5.3",
            Rule::Decimal => "NIST SP 811 (2008), 10.5; SI Brochure, 9th edition, 5.4.4",
            Rule::One => "NIST SP 811 (2008), 7.3 to 7.5",
            Rule::Range => "NIST SP 811 (2008), 7.7",
            Rule::Quotient => "NIST SP 811 (2008), 6.1.6; SI Brochure, 9th edition, 5.2",
        }
    }
}

/// The breaches of the writing rules in a text with decimal points, in the
/// order of their places.
pub fn breaches(text: &str) -> Vec<Breach> {
    breaches_with(text, DecimalSign::Point)
}

/// The breaches of the writing rules in a text that keeps to a decimal sign,
/// in the order of their places.
pub fn breaches_with(text: &str, sign: DecimalSign) -> Vec<Breach> {
    let reading = Reading::of(text);
    let mut found = Vec::new();
    number::check(&reading, sign, &mut found);
    value::check(&reading, &mut found);
    together::check(&reading, &mut found);
    found.sort_by_key(|breach| (breach.span.start, breach.span.end));
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rules(text: &str) -> Vec<Rule> {
        let found = breaches(text);
        for breach in &found {
            assert!(text.get(breach.span.clone()).is_some(), "{breach:?}");
        }
        found.into_iter().map(|breach| breach.rule).collect()
    }

    #[test]
    fn what_engineers_rightly_state_breaks_no_rule() {
        for text in [
            "4k7",
            "47k",
            "100R",
            "R47",
            "4.7 kΩ",
            "4.7 kohm",
            "10 kΩ ±1 %",
            "10 kΩ ± 1 %",
            "3.3 V +0.1 V -0.05 V",
            "-40 °C to 85 °C",
            "1 000 Hz",
            "10\u{a0}000 Hz",
            "2.2 uF",
            "60 mΩ",
            "1.5 h",
            "250 mAh",
            "11 bit",
            "-3 dB",
            "≈ 200 mA",
            "196 mA ± 5 mA",
            "at least 3 h",
            "≥ 3 h",
            "up to 1 mA",
            "2 × 100 nF",
            "10-bit converter",
            "3V3 rail",
            "J mol^-1 K^-1",
            "1.5e-3 V",
            "3 × 10^6 Ω",
            "(10.0 ± 0.1) V",
            "10 ± 2 %",
            "30°",
            "1 h 20 min",
            "gain 10 to 12",
            "2026-03-12",
            "R1 to R4",
            "5 V/µs",
            "0x1F",
            "n/a",
            "connect pin 3 to 5 V",
            "5 V, 2 A and 3 W",
            "0.5 1/h",
            "20 µPa",
            "12 V 7 Ah",
            "",
            "3.3 V +0.2 V -0.5 V",
            "129 s - 3 s",
            "5 W/(m² K)",
            "0.491 722 V",
            "5 m/s in air",
            "(0 to 5) V",
            "(8.2, 9.0, 9.5) GHz",
            "51 mm × 51 mm × 25 mm",
            "R1, R2, 5 V",
            "a 60 Hz hum of 5 V. It fades",
            "1.2.3",
            "pins 1,2,3",
            "8 Ω 0.5 W",
            "at 3 a day",
        ] {
            assert_eq!(rules(text), [], "{text:?}");
        }
    }

    #[test]
    fn each_rule_finds_its_breaches() {
        for (rule, texts) in [
            (
                Rule::Space,
                &[
                    "3.3V",
                    "30.2°C",
                    "30.2° C",
                    "5%",
                    "a 1-m gauge",
                    "30.2K",
                    "12volts",
                    "30 °",
                    "10kΩ",
                    "100nF",
                    "25℃",
                ][..],
            ),
            (
                Rule::Prefix,
                &[
                    "10 k", "M/m^3", "10 KHz", "1 µµF", "10 k Ω", "5 M/m^3", "1 mmF",
                ],
            ),
            (
                Rule::Symbol,
                &["75 cms", "12 Volt", "20 hz", "5 cm. long", "300 °K"],
            ),
            (
                Rule::Decimal,
                &[
                    "1,000 V",
                    "4,7 kΩ",
                    ".5 V",
                    "1.000.000 Hz",
                    "1'000 V",
                    "1,000.5",
                    "-.5 V",
                    "43,279.168 V",
                    "4,7",
                ],
            ),
            (
                Rule::One,
                &[
                    "5 Vpp",
                    "U = 5 Vrms",
                    "l = 1 m 23.4 cm",
                    "5 V_max",
                    "l = 10 m 23 cm 4 mm",
                ],
            ),
            (
                Rule::Range,
                &[
                    "10 to 12 V",
                    "10-12 V",
                    "10 … 12 V",
                    "10.0 ± 0.1 V",
                    "10 V ± 0.1",
                    "3 x 4 mm",
                    "3x4 mm",
                    "80 × 120 × 25 mm",
                    "between 3 and 5 V",
                    "10 +/- 1 V",
                    "0 °C - 100 °C",
                    "0 - 5 V",
                    "8.2, 9.0, 9.5 GHz",
                ],
            ),
            (
                Rule::Quotient,
                &[
                    "m/s/s",
                    "9.8 m/s/s",
                    "5 W/m/K",
                    "W/m·K",
                    "W/m K",
                    "3 J/kg K",
                    "m kg/s^3/A",
                ],
            ),
        ] {
            for text in texts {
                let broken = rules(text);
                assert!(!broken.is_empty(), "{text:?} breaks {rule:?}");
                assert!(
                    broken.iter().all(|found| *found == rule),
                    "{text:?} {broken:?}"
                );
                for breach in breaches(text) {
                    let whole = breach.mend.strip_prefix("write `");
                    let mended = whole.and_then(|mend| mend.strip_suffix('`')).unwrap_or("");
                    assert_eq!(rules(mended), [], "{text:?} is mended to {mended:?}");
                }
            }
        }
    }

    #[test]
    fn the_mend_is_what_to_write() {
        let mends = |text: &str| -> Vec<String> {
            breaches(text)
                .into_iter()
                .map(|breach| breach.mend)
                .collect()
        };
        assert_eq!(mends("3.3V"), ["write `3.3 V`"]);
        assert_eq!(mends("10 to 12 V"), ["write `10 V to 12 V`"]);
        assert_eq!(
            mends("80 x 120 x 25 mm"),
            ["write `80 mm x 120 mm x 25 mm`"]
        );
        assert_eq!(mends("0-5 V"), ["write `0 V to 5 V`"]);
        assert_eq!(mends("3.0..3.6 V"), ["write `3.0 V to 3.6 V`"]);
        assert_eq!(mends("m/s/s"), ["write `m/s^2`"]);
        assert_eq!(mends("5 W/m/K"), ["write `W/(m·K)`"]);
        assert_eq!(mends(".5 V"), ["write `0.5`"]);
        assert_eq!(
            mends("1 m 23.4 cm"),
            ["one unit for one value: write `1.234 m`"]
        );
        assert_eq!(breaches("about 3.3V")[0].span, 6..10);
    }

    #[test]
    fn the_decimal_sign_is_that_of_the_text() {
        let found = |text| breaches_with(text, DecimalSign::Comma).len();
        assert_eq!(found("0,5 V"), 0);
        assert_eq!(found("1 000,5 Hz"), 0);
        assert_eq!(found("0.5 V"), 1);
        assert_eq!(found("1.000.000 Hz"), 1);
    }

    /// Every row of three fragments: no text may bring the checks down, and every
    /// span has to lie between characters.
    #[test]
    fn any_text_is_judged() {
        const FRAGMENTS: [&str; 22] = [
            "5", "1,000", ".5", " ", "\u{2009}", "°", "C", "µ", "k", "V", "Ω", "/", "(", ")", "·",
            "^-2", "±", "-", " to ", "x", "\u{301}", "１",
        ];
        let count = FRAGMENTS.len();
        for row in 0..count.pow(3) {
            let places = [row, row / count, row / count.pow(2)];
            let text: String = places.map(|place| FRAGMENTS[place % count]).concat();
            let _ = rules(&text);
        }
    }
}
