//! The colour code of resistors, IEC 60062: two or three bands of figures, one
//! for the multiplier, one for the tolerance.
//!
//! Figures, multipliers and the tolerances of brown, red, green, blue, violet,
//! gold and silver are the same in all editions. The edition of 2016 gave the
//! rare tolerances new colours: orange is 0.05 %, yellow 0.02 % and grey
//! 0.01 %, where grey was 0.05 % before and the other two were none. It also
//! added pink as the multiplier 10^-3. (The changes of 2016 are from memory.)
//! Who decodes those bands therefore has to say by which edition they were
//! printed.
//!
//! Not here: the sixth band (temperature coefficient) and codes of three bands.

use std::fmt;

use super::{Decimal, Dimension, Unit};

/// A colour of a band.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[allow(missing_docs)] // A colour is a colour.
pub enum Colour {
    Black,
    Brown,
    Red,
    Orange,
    Yellow,
    Green,
    Blue,
    Violet,
    Grey,
    White,
    Gold,
    Silver,
    Pink,
}

/// The edition of IEC 60062 by which a tolerance band is read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ColourEdition {
    /// Editions before 2016: grey is 0.05 %.
    Before2016,
    /// IEC 60062:2016 and later: orange, yellow and grey are 0.05 %, 0.02 %
    /// and 0.01 %.
    From2016,
}

/// A resistance read from its bands.
#[derive(Clone, PartialEq, Debug)]
pub struct ColourCode {
    /// The figures times the multiplier, in ohms.
    pub ohms: Decimal,
    /// The tolerance to both sides as a ratio: 0.05 for gold.
    pub tolerance: f64,
}

/// Why bands are no colour code.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ColourFault {
    /// A word that is no colour of the code.
    Unknown(String),
    /// Neither four nor five bands.
    Count(usize),
    /// A colour that is no figure, where a figure stands.
    Figure(Colour),
    /// A colour that is no multiplier of this edition.
    Multiplier(Colour),
    /// A colour that is no tolerance of this edition.
    Tolerance(Colour),
}

impl Colour {
    /// The colours: ten figures in their order, then the metals and pink.
    pub const ALL: [Colour; 13] = [
        Colour::Black,
        Colour::Brown,
        Colour::Red,
        Colour::Orange,
        Colour::Yellow,
        Colour::Green,
        Colour::Blue,
        Colour::Violet,
        Colour::Grey,
        Colour::White,
        Colour::Gold,
        Colour::Silver,
        Colour::Pink,
    ];

    /// The English word: `violet`.
    pub fn name(self) -> &'static str {
        match self {
            Colour::Black => "black",
            Colour::Brown => "brown",
            Colour::Red => "red",
            Colour::Orange => "orange",
            Colour::Yellow => "yellow",
            Colour::Green => "green",
            Colour::Blue => "blue",
            Colour::Violet => "violet",
            Colour::Grey => "grey",
            Colour::White => "white",
            Colour::Gold => "gold",
            Colour::Silver => "silver",
            Colour::Pink => "pink",
        }
    }

    /// The colour of an English word; `gray` and `purple` are read too.
    ///
    /// # Errors
    /// [`ColourFault::Unknown`].
    pub fn parse(word: &str) -> Result<Colour, ColourFault> {
        let lower = word.to_ascii_lowercase();
        let name = match lower.as_str() {
            "gray" => "grey",
            "purple" => "violet",
            other => other,
        };
        Colour::ALL
            .into_iter()
            .find(|colour| colour.name() == name)
            .ok_or_else(|| ColourFault::Unknown(word.to_owned()))
    }

    /// The figure, 0 to 9; `None` for the metals and pink.
    pub fn figure(self) -> Option<u8> {
        let place = Colour::ALL[..10].iter().position(|known| *known == self)?;
        u8::try_from(place).ok()
    }

    /// The power of ten of a multiplier band; `None` for pink before 2016.
    pub fn multiplier(self, edition: ColourEdition) -> Option<i32> {
        match self {
            Colour::Gold => Some(-1),
            Colour::Silver => Some(-2),
            Colour::Pink => (edition == ColourEdition::From2016).then_some(-3),
            figure => figure.figure().map(i32::from),
        }
    }

    /// The tolerance of a last band in percent.
    fn percent(self, edition: ColourEdition) -> Option<f64> {
        match (self, edition) {
            (Colour::Brown, _) => Some(1.0),
            (Colour::Red, _) => Some(2.0),
            (Colour::Green, _) => Some(0.5),
            (Colour::Blue, _) => Some(0.25),
            (Colour::Violet, _) => Some(0.1),
            (Colour::Gold, _) => Some(5.0),
            (Colour::Silver, _) => Some(10.0),
            (Colour::Grey, ColourEdition::Before2016) => Some(0.05),
            (Colour::Orange, ColourEdition::From2016) => Some(0.05),
            (Colour::Yellow, ColourEdition::From2016) => Some(0.02),
            (Colour::Grey, ColourEdition::From2016) => Some(0.01),
            _ => None,
        }
    }

    /// The tolerance of a last band to both sides, as a ratio: 0.05 for gold.
    pub fn tolerance(self, edition: ColourEdition) -> Option<f64> {
        self.percent(edition).map(|percent| percent / 100.0)
    }
}

impl ColourCode {
    /// Reads four bands (two figures) or five (three figures).
    ///
    /// # Errors
    /// [`ColourFault`], for the first band that does not fit.
    pub fn decode(bands: &[Colour], edition: ColourEdition) -> Result<ColourCode, ColourFault> {
        let (figures, multiplier, tolerance) = match bands {
            [a, b, multiplier, tolerance] => (vec![a, b], multiplier, tolerance),
            [a, b, c, multiplier, tolerance] => (vec![a, b, c], multiplier, tolerance),
            _ => return Err(ColourFault::Count(bands.len())),
        };
        let mut value = 0;
        for &colour in figures {
            let figure = colour.figure().ok_or(ColourFault::Figure(colour))?;
            value = 10 * value + i128::from(figure);
        }
        let power = multiplier
            .multiplier(edition)
            .ok_or(ColourFault::Multiplier(*multiplier))?;
        let tolerance = tolerance
            .tolerance(edition)
            .ok_or(ColourFault::Tolerance(*tolerance))?;
        Ok(ColourCode {
            ohms: Decimal::new(value, power),
            tolerance,
        })
    }

    /// Reads the bands as words with spaces between them:
    /// `yellow violet red gold`.
    ///
    /// # Errors
    /// [`ColourFault`], for the first word or band that does not fit.
    pub fn parse(words: &str, edition: ColourEdition) -> Result<ColourCode, ColourFault> {
        let bands: Result<Vec<Colour>, ColourFault> =
            words.split_whitespace().map(Colour::parse).collect();
        ColourCode::decode(&bands?, edition)
    }

    /// The resistance in ohms.
    pub fn value(&self) -> f64 {
        self.ohms.to_f64()
    }

    /// The unit of the value: Ω.
    pub fn unit(&self) -> Unit {
        Unit::coherent(Dimension::RESISTANCE)
    }
}

/// The bands of a resistance in ohms and a tolerance to both sides given as a
/// ratio: four where the tolerance is wider than 2 % and two figures do, else
/// five (common practice, no source). `None` where the value has more figures
/// than bands, is out of the multipliers' reach, or the tolerance has no colour.
pub fn colour_bands(ohms: f64, tolerance: f64, edition: ColourEdition) -> Option<Vec<Colour>> {
    if !(ohms.is_finite() && ohms > 0.0) {
        return None;
    }
    let last = Colour::ALL.into_iter().find(|colour| {
        let known = colour.tolerance(edition);
        known.is_some_and(|known| (tolerance / known - 1.0).abs() < 1e-9)
    })?;
    // Nine digits: fewer than float noise reaches, more than the bands hold.
    let value = Decimal::from_f64(ohms)?.to_significant(9);
    let needed = value.leading_place() - value.place_without_trailing_zeros() + 1;
    let figures = if needed <= 2 && tolerance > 0.021 {
        2
    } else {
        3
    };
    if needed > figures {
        return None;
    }
    let power = value.leading_place() - figures + 1;
    let value = value.rounded(power, super::Ties::Even);
    let multiplier = Colour::ALL
        .into_iter()
        .find(|colour| colour.multiplier(edition) == Some(power))?;
    let digits = value.mantissa()?.to_string();
    let mut bands: Vec<Colour> = digits
        .bytes()
        .filter_map(|digit| Colour::ALL.get(usize::from(digit - b'0')).copied())
        .collect();
    bands.extend([multiplier, last]);
    Some(bands)
}

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl fmt::Display for ColourFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ColourFault::Unknown(word) => write!(f, "`{word}` is no colour of the colour code"),
            ColourFault::Count(count) => {
                write!(f, "a colour code has four or five bands, this has {count}")
            }
            ColourFault::Figure(colour) => write!(
                f,
                "{colour} is no figure: is the code read from the wrong end?"
            ),
            ColourFault::Multiplier(colour) => {
                write!(f, "{colour} is no multiplier in this edition of IEC 60062")
            }
            ColourFault::Tolerance(colour) => write!(
                f,
                "{colour} is no tolerance in this edition of IEC 60062: is the code read from the wrong end?"
            ),
        }
    }
}

impl std::error::Error for ColourFault {}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::Series;

    fn read(words: &str) -> (f64, f64) {
        let code = ColourCode::parse(words, ColourEdition::From2016).unwrap();
        (code.value(), code.tolerance)
    }

    fn written(ohms: f64, tolerance: f64) -> Option<String> {
        let bands = colour_bands(ohms, tolerance, ColourEdition::From2016)?;
        let words: Vec<&str> = bands.iter().map(|colour| colour.name()).collect();
        Some(words.join(" "))
    }

    #[test]
    fn five_bands_have_three_figures_and_four_have_two() {
        assert_eq!(read("yellow violet black brown brown"), (4700.0, 0.01));
        assert_eq!(read("yellow violet red gold"), (4700.0, 0.05));
        assert_eq!(read("brown black silver silver"), (0.1, 0.1));
        assert_eq!(read("blue gray black orange purple"), (680e3, 0.001));
    }

    #[test]
    fn the_place_of_the_last_figure_is_kept() {
        let code = ColourCode::parse("brown black black brown brown", ColourEdition::From2016);
        assert_eq!(code.unwrap().ohms.place(), 1);
    }

    #[test]
    fn rare_tolerances_depend_on_the_edition() {
        let grey = |edition| Colour::Grey.tolerance(edition);
        assert_eq!(grey(ColourEdition::Before2016), Some(0.0005));
        assert_eq!(grey(ColourEdition::From2016), Some(0.0001));
        assert_eq!(Colour::Orange.tolerance(ColourEdition::Before2016), None);
        assert_eq!(Colour::Pink.multiplier(ColourEdition::Before2016), None);
    }

    #[test]
    fn bands_that_do_not_fit_are_named() {
        let refused = |words| ColourCode::parse(words, ColourEdition::From2016).unwrap_err();
        assert_eq!(refused("brown black red"), ColourFault::Count(3));
        assert_eq!(
            refused("gold red violet yellow"),
            ColourFault::Figure(Colour::Gold)
        );
        assert_eq!(
            refused("red red red black"),
            ColourFault::Tolerance(Colour::Black)
        );
        assert_eq!(
            refused("red red mauve gold"),
            ColourFault::Unknown("mauve".into())
        );
    }

    #[test]
    fn a_resistance_is_written_in_the_bands_that_the_trade_prints() {
        let some = |text: &str| Some(text.to_owned());
        assert_eq!(written(5100.0, 0.05), some("green brown red gold"));
        assert_eq!(written(5100.0, 0.01), some("green brown black brown brown"));
        assert_eq!(written(0.47, 0.05), some("yellow violet silver gold"));
        assert_eq!(written(10e6, 0.1), some("brown black blue silver"));
        assert_eq!(written(3320.0, 0.05), some("orange orange red brown gold"));
        assert_eq!(written(1234.0, 0.01), None);
        assert_eq!(written(1000.0, 0.07), None);
        assert_eq!(written(1e13, 0.05), None);
        assert_eq!(written(f64::NAN, 0.05), None);
    }

    #[test]
    fn every_member_of_the_series_survives_the_round_trip() {
        for series in [Series::E24, Series::E96, Series::E192] {
            for ohms in series.between(1.0, 10e6) {
                for tolerance in [0.01, 0.05] {
                    let bands = colour_bands(ohms, tolerance, ColourEdition::From2016).unwrap();
                    let code = ColourCode::decode(&bands, ColourEdition::From2016).unwrap();
                    assert_eq!((code.value(), code.tolerance), (ohms, tolerance));
                }
            }
        }
    }
}
