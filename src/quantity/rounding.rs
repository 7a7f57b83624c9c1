//! Rounding by the rules of ISO 80000-1 and NIST SP 811.
//!
//! Everything is done on decimal digits, so a tie is a tie as the reader sees
//! it and not as its binary float happens to lie. Round once, from the
//! unrounded value (ISO 80000-1:2009, B.4).

use super::{Decimal, Ties};

impl Decimal {
    /// Rounds to a whole multiple of a rounding range, such as 0.1, 0.25 or 10
    /// (ISO 80000-1:2009, Annex B). Of two multiples that are equally near,
    /// rule A takes the even one ([`Ties::Even`]) and rule B the one farther
    /// from zero ([`Ties::Up`]). The last digit is that of the range.
    ///
    /// `None` where the range is zero, or where value and range together need
    /// more than 38 digits.
    pub fn to_multiple(&self, range: &Decimal, ties: Ties) -> Option<Decimal> {
        let place = self.place().min(range.place());
        let value = self.mantissa_at(place)?.abs();
        let step = range.mantissa_at(place)?.abs();
        if step == 0 {
            return None;
        }
        let below = value / step;
        let twice_over = (value % step).checked_mul(2)?;
        let up = match twice_over.cmp(&step) {
            std::cmp::Ordering::Less => false,
            std::cmp::Ordering::Greater => true,
            std::cmp::Ordering::Equal => ties == Ties::Up || below % 2 == 1,
        };
        let rounded = (below + i128::from(up)).checked_mul(step)?;
        let signed = if self.mantissa()? < 0 {
            -rounded
        } else {
            rounded
        };
        let exact = Decimal::new(signed, place);
        Some(exact.rounded(range.place_without_trailing_zeros(), Ties::Even))
    }

    /// Rounds a converted value to the digits that the written one deserves:
    /// the fewest with which rounding the converted value spoils no more, as a
    /// ratio, than rounding the written one may have (NIST SP 811, 2008
    /// edition, B.7.2). 36 ft is 10.9728 m, reported as 11.0 m.
    ///
    /// `self` is the numeral as written, `converted` its value in the other
    /// unit. `None` where either is zero or not finite.
    pub fn as_converted(&self, converted: f64) -> Option<Decimal> {
        let value = Decimal::from_f64(converted)?;
        if self.is_zero() || value.is_zero() {
            return None;
        }
        let own_share = 10f64.powi(self.place()) / self.to_f64().abs();
        // The bound ends the loop: a float has 17 digits.
        let digits = (1..=17).find(|&digits: &i32| {
            let unit = 10f64.powi(value.leading_place() - digits + 1);
            unit / converted.abs() <= own_share
        })?;
        Some(value.to_significant(digits.unsigned_abs()))
    }

    /// The numeral in units of 10^`place`, where that is a whole number.
    fn mantissa_at(&self, place: i32) -> Option<i128> {
        let zeros = u32::try_from(self.place().checked_sub(place)?).ok()?;
        self.mantissa()?.checked_mul(10i128.checked_pow(zeros)?)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn read(text: &str) -> Decimal {
        Decimal::scan(text).unwrap().0
    }

    fn rounded(value: &str, range: &str, ties: Ties) -> String {
        read(value)
            .to_multiple(&read(range), ties)
            .unwrap()
            .to_string()
    }

    #[test]
    fn ties_go_to_the_even_multiple_or_up() {
        assert_eq!(rounded("12.25", "0.1", Ties::Even), "12.2");
        assert_eq!(rounded("12.25", "0.1", Ties::Up), "12.3");
        assert_eq!(rounded("12.251", "0.1", Ties::Even), "12.3");
        assert_eq!(rounded("1225.0", "10", Ties::Even), "1220");
        assert_eq!(rounded("-12.25", "0.1", Ties::Up), "-12.3");
    }

    #[test]
    fn the_range_need_not_be_a_power_of_ten() {
        assert_eq!(rounded("3.37", "0.25", Ties::Even), "3.25");
        assert_eq!(rounded("0.125", "0.25", Ties::Even), "0.00");
        assert_eq!(rounded("7", "2", Ties::Even), "8");
    }

    #[test]
    fn what_cannot_be_rounded_is_refused() {
        assert_eq!(read("1").to_multiple(&read("0"), Ties::Even), None);
        assert_eq!(read("1e200").to_multiple(&read("1e-200"), Ties::Even), None);
    }

    #[test]
    fn a_converted_value_keeps_the_accuracy_of_the_written_one() {
        let reported = |written: &str, converted: f64| {
            let reported = read(written).as_converted(converted);
            reported.unwrap().to_string()
        };
        assert_eq!(reported("36", 10.9728), "11.0");
        assert_eq!(reported("2.0", 50.8), "51");
        assert_eq!(reported("1", 25.4), "30");
        assert_eq!(read("0").as_converted(1.0), None);
    }
}
