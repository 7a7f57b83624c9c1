//! A value with its uncertainty in brackets: `12.35(98)`.

use crate::quantity::{Decimal, Ties};

/// Writes an estimate with its standard uncertainty in brackets, referred to
/// the last digits of the estimate (JCGM 100:2008, 7.2.2). The uncertainty gets
/// `digits` significant digits, one or two as a rule (7.2.6), and the estimate
/// ends at the same place.
///
/// `None` where either is not finite, or the uncertainty is not above zero.
pub fn concise(estimate: f64, uncertainty: f64, digits: u32) -> Option<String> {
    if uncertainty <= 0.0 || digits == 0 {
        return None;
    }
    // Rounding once may carry into a digit more: 0.0996 to 0.100.
    let carried = Decimal::from_f64(uncertainty)?.to_significant(digits);
    let rounded = carried.to_significant(digits);
    let place = rounded.place();
    let estimate = Decimal::from_f64(estimate)?.rounded(place, Ties::Even);
    let last_digits = rounded.mantissa()?.checked_mul(10i128.checked_pow(
        // Above the units, both are written with their zeros.
        u32::try_from(place.max(0)).ok()?,
    )?)?;
    Some(format!("{estimate}({last_digits})"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_estimate_ends_where_the_uncertainty_does() {
        let written = |x, u, digits| concise(x, u, digits).unwrap_or_default();
        // The example of JCGM 100:2008, 7.2.2.
        assert_eq!(written(100.02147, 0.00035, 2), "100.02147(35)");
        assert_eq!(written(12.3456, 1.23, 2), "12.3(12)");
        assert_eq!(written(12.3456, 0.0996, 2), "12.35(10)");
        assert_eq!(written(-0.2, 0.03, 1), "-0.20(3)");
        assert_eq!(written(12345.0, 120.0, 2), "12340(120)");
        assert_eq!(concise(1.0, 0.0, 2), None);
        assert_eq!(concise(f64::NAN, 1.0, 2), None);
    }
}
