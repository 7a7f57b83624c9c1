//! Numbers as all five forms write them.

/// Significant digits of a number that is not whole: a 32-bit float needs nine
/// to be told from its neighbours (IEEE 754-2019, 5.12.2).
const DIGITS: usize = 9;

/// Significant digits of a spread's ends in a comment.
const SPREAD_DIGITS: usize = 6;

/// A number rounded to so many significant digits.
fn rounded(value: f64, digits: usize) -> f64 {
    let text = format!("{value:.*e}", digits - 1);
    let rounded = text.parse().unwrap_or(value);
    // Minus zero says nothing that zero does not.
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// A number rounded to the digits that are written.
pub(super) fn written(value: f64) -> f64 {
    rounded(value, DIGITS)
}

/// A number as C, Rust, Python and JSON all read it as a floating one.
pub(super) fn float(value: f64) -> String {
    // This form of a number has a point or an exponent always.
    format!("{:?}", written(value))
}

/// A whole number.
pub(super) fn whole(value: f64) -> String {
    format!("{:.0}", if value == 0.0 { 0.0 } else { value })
}

/// A constant's number.
pub(super) fn constant(value: f64, is_whole: bool) -> String {
    if is_whole { whole(value) } else { float(value) }
}

/// A number in a comment.
pub(super) fn in_words(value: f64) -> String {
    let value = rounded(value, SPREAD_DIGITS);
    if value != 0.0 && !(1e-4..1e9).contains(&value.abs()) {
        format!("{value:e}")
    } else {
        value.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nine_digits_are_kept_and_no_more_are_written_than_are_needed() {
        for (value, text) in [
            (0.0, "0.0"),
            (-0.0, "0.0"),
            (0.1 + 0.2, "0.3"),
            (-0.5, "-0.5"),
            (5.0, "5.0"),
            (123_456_789.123, "123456789.0"),
            (1.0 / 3.0, "0.333333333"),
            (-2.5e-13, "-2.5e-13"),
            (6.02214076e23, "6.02214076e23"),
        ] {
            assert_eq!(float(value), text);
        }
        assert_eq!(whole(-0.0), "0");
        assert_eq!(whole(-196_078.0), "-196078");
        assert_eq!(whole(9_007_199_254_740_991.0), "9007199254740991");
        assert_eq!(in_words(0.196_078_431), "0.196078");
        assert_eq!(in_words(1.5e-9), "1.5e-9");
    }

    #[test]
    fn a_32_bit_float_comes_back_as_it_was() {
        let mut bits = 1_u32;
        for _ in 0..20_000 {
            // Steps of a linear congruence reach numbers of all sizes.
            bits = bits.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let number = f32::from_bits(bits);
            if number.is_finite() {
                let back: f32 = float(f64::from(number)).parse().expect("it is a number");
                assert_eq!(back, number);
            }
        }
    }
}
