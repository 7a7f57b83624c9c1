//! Which numbers stand at an axis, and how they are written.

use crate::quantity::{Unit, fitted_unit, shown_digits};

/// Numbers at an axis.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Ticks {
    /// Where lines are drawn, and what is written there, if anything.
    pub at: Vec<(f64, String)>,
    /// Where finer lines are drawn.
    pub between: Vec<f64>,
}

/// Steps that engineers read easily, of each power of ten.
const STEPS: [f64; 3] = [1.0, 2.0, 5.0];
/// Steps of a level, in dB.
pub(super) const DECIBELS: [f64; 9] = [0.1, 0.2, 0.5, 1.0, 3.0, 6.0, 10.0, 20.0, 40.0];
/// Steps of a phase, in degrees.
pub(super) const DEGREES: [f64; 7] = [1.0, 5.0, 15.0, 30.0, 45.0, 90.0, 180.0];

/// The smallest step that puts at most so many intervals over a width.
fn step(width: f64, most: usize) -> f64 {
    let least = width / most as f64;
    let power = 10f64.powf(least.log10().floor());
    let nice = STEPS.into_iter().chain([10.0]).map(|step| step * power);
    let mut fitting = nice.filter(|step| *step >= least * (1.0 - 1e-9));
    fitting.next().unwrap_or(10.0 * power)
}

/// The smallest of given steps, or else a usual one.
pub(super) fn step_of(width: f64, most: usize, steps: &[f64]) -> f64 {
    let fits = |step: &&f64| width / **step <= most as f64 + 1e-9;
    let given = steps.iter().find(fits).copied();
    given.unwrap_or_else(|| step(width, most))
}

/// Numbers at the multiples of a step within an interval.
pub(super) fn multiples((from, to): (f64, f64), step: f64) -> Ticks {
    let first = (from / step - 1e-9).ceil();
    let last = (to / step + 1e-9).floor();
    // Steps are chosen so that there are few; a bad one gives none.
    let count = (last - first).clamp(-1.0, 50.0);
    let mut at = Vec::new();
    let mut number = 0.0;
    while number <= count {
        let value = (first + number) * step;
        at.push((value, numeral(value, step)));
        number += 1.0;
    }
    Ticks {
        at,
        between: Vec::new(),
    }
}

/// Numbers at usual steps within an interval.
pub(super) fn linear(range: (f64, f64), most: usize) -> Ticks {
    multiples(range, step(range.1 - range.0, most))
}

/// Numbers of an axis in equal ratios: powers of ten, or 1, 2 and 5 of each
/// where the interval holds few of them.
pub(super) fn logarithmic(
    (from, to): (f64, f64),
    most: usize,
    write: &dyn Fn(f64) -> String,
) -> Ticks {
    let inside = |value: &f64| *value >= from * (1.0 - 1e-9) && *value <= to * (1.0 + 1e-9);
    let first = from.log10().floor() as i32;
    let last = to.log10().ceil() as i32;
    let powers: Vec<i32> = (first..=last).collect();
    let of = |digits: &[f64]| -> Vec<f64> {
        let all = powers
            .iter()
            .flat_map(|power| digits.iter().map(move |digit| digit * 10f64.powi(*power)));
        all.filter(inside).collect()
    };
    let decades = of(&[1.0]);
    let halves = of(&STEPS);
    let mut values = if decades.len() < 3 && halves.len() <= most {
        halves
    } else {
        decades
    };
    if values.len() < 2 {
        let usual = linear((from, to), most).at.into_iter();
        values = usual.map(|(value, _)| value).collect();
    }
    // Every line stays; where they are many, not all have a number.
    let skip = values.len().div_ceil(most.max(1)).max(1);
    let text = |(index, value): (usize, &f64)| match index % skip {
        0 => (*value, write(*value)),
        _ => (*value, String::new()),
    };
    let mut between = of(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0]);
    between.retain(|value| !values.contains(value) && powers.len() <= 9);
    Ticks {
        at: values.iter().enumerate().map(text).collect(),
        between,
    }
}

/// A number with the decimals that a step needs, a true minus and groups of
/// three digits.
pub(super) fn numeral(value: f64, step: f64) -> String {
    let decimals = (-(step.abs().log10() + 1e-9).floor()).clamp(0.0, 12.0) as usize;
    let text = format!("{:.decimals$}", value.abs());
    let zero = text.chars().all(|c| matches!(c, '0' | '.'));
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    // A power of ten tells more than a row of zeros (ISO 80000-1, 7.3.2, from
    // memory).
    if whole.len() > 7 || (zero && value != 0.0 && decimals == 12) {
        return power_of_ten(value);
    }
    let mut out = String::new();
    if value < 0.0 && !zero {
        out.push('\u{2212}');
    }
    for (index, digit) in whole.chars().enumerate() {
        // From five digits on: four may stay together (SI Brochure, 5.4.4).
        if index > 0 && whole.len() > 4 && (whole.len() - index).is_multiple_of(3) {
            out.push('\u{a0}');
        }
        out.push(digit);
    }
    out + rest
}

/// A number as digits and a power of ten.
fn power_of_ten(value: f64) -> String {
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let text = format!("{value:.3e}");
    let (digits, power) = text.split_once('e').unwrap_or((&text, "0"));
    let digits = digits.trim_end_matches('0').trim_end_matches('.');
    let raised = |c: char| match c.to_digit(10) {
        Some(digit) => RAISED[digit as usize],
        None => '⁻',
    };
    let power: String = power.chars().map(raised).collect();
    format!("{}×10{power}", digits.replace('-', "\u{2212}"))
}

/// A frequency with its unit, to a number of digits.
pub(super) fn frequency(hertz: f64, digits: u32) -> String {
    match Unit::parse("Hz") {
        Ok(unit) => shown_digits(hertz, digits, &fitted_unit(hertz, &unit)).to_string(),
        Err(_) => format!("{hertz}\u{a0}Hz"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(ticks: &Ticks) -> Vec<&str> {
        ticks.at.iter().map(|(_, text)| text.as_str()).collect()
    }

    fn hertz(value: f64) -> String {
        frequency(value, 3)
    }

    #[test]
    fn steps_are_one_two_five() {
        let unit = linear((0.0, 1.0), 5);
        assert_eq!(written(&unit), ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]);
        assert_eq!(written(&linear((-3.0, 7.0), 5)), ["−2", "0", "2", "4", "6"]);
        let large = linear((0.0, 30_000.0), 3);
        assert_eq!(written(&large)[1..3], ["10\u{a0}000", "20\u{a0}000"]);
        let fine = linear((3.2961, 3.2974), 6);
        assert!(fine.at.len() <= 7 && fine.at.len() >= 2, "{fine:?}");
    }

    #[test]
    fn decades_carry_their_unit() {
        let ticks = logarithmic((10.0, 1e6), 6, &hertz);
        assert_eq!(
            written(&ticks),
            [
                "10\u{a0}Hz",
                "100\u{a0}Hz",
                "1\u{a0}kHz",
                "10\u{a0}kHz",
                "100\u{a0}kHz",
                "1\u{a0}MHz"
            ]
        );
        assert_eq!(ticks.between.len(), 5 * 8);
        let narrow = logarithmic((150.0, 900.0), 6, &hertz);
        assert_eq!(written(&narrow), ["200\u{a0}Hz", "500\u{a0}Hz"]);
        let many = logarithmic((1e-3, 1e9), 6, &hertz);
        let numbers = many.at.iter().filter(|(_, text)| !text.is_empty());
        assert!(numbers.count() <= 7 && many.at.len() == 13, "{many:?}");
    }

    #[test]
    fn numerals_are_those_of_print() {
        assert_eq!(numeral(-1e-17, 0.1), "0.0");
        assert_eq!(numeral(-0.25, 0.05), "−0.25");
        assert_eq!(numeral(1234.0, 1.0), "1234");
        assert_eq!(numeral(-2.5e12, 5e11), "−2.5×10¹²");
        assert_eq!(numeral(2e-15, 1e-15), "2×10⁻¹⁵");
    }
}
