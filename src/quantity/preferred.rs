//! Preferred values: the E series of IEC 60063.
//!
//! E3 to E24 are a table, a decision of the standard and no formula: rounding
//! 10^(i/24) misses eight of its values. E48, E96 and E192 are rounded powers,
//! with one exception. Every coarser series is every second, fourth or eighth
//! value of the finer one of its kind.
//!
//! Values are plain numbers in whatever unit the caller means: 4.7 kΩ and
//! 4.7 µF are members of E24 alike.

use std::fmt;
use std::sync::LazyLock;

use super::Decimal;

/// A series of preferred values.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Series {
    /// Three values a decade.
    E3,
    /// Six values a decade.
    E6,
    /// Twelve values a decade.
    E12,
    /// Twenty-four values a decade.
    E24,
    /// Forty-eight values a decade.
    E48,
    /// Ninety-six values a decade.
    E96,
    /// One hundred and ninety-two values a decade.
    E192,
}

/// Text that names no series of preferred values.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct UnknownSeries(String);

/// IEC 60063:2015, E24, in tenths. Rounding 10^(i/24) gives something else for
/// 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7 and 8.2.
const E24: [u16; 24] = [
    10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91,
];

/// IEC 60063:2015, E192: the one value, by its place in the decade and in
/// hundredths, that is not 10^(i/192) rounded (which would be 9.19).
const E192_EXCEPTION: (usize, u16) = (185, 920);

/// E192 in hundredths.
static E192: LazyLock<[u16; 192]> = LazyLock::new(|| {
    let mut hundredths = std::array::from_fn(|index| rounded_power(index, 192, 100.0));
    hundredths[E192_EXCEPTION.0] = E192_EXCEPTION.1;
    hundredths
});

/// 10^(index/size) in units of 1/scale, rounded.
fn rounded_power(index: usize, size: usize, scale: f64) -> u16 {
    // At most 10 × 100, so the conversion keeps every digit.
    (scale * 10f64.powf(index as f64 / size as f64)).round() as u16
}

/// A value this close to a member is that member: more than what arithmetic in
/// floats adds, far less than the 1.2 % between neighbours of E192.
const FLOAT_NOISE: f64 = 1e-9;

impl Series {
    /// All series, coarse to fine.
    pub const ALL: [Series; 7] = [
        Series::E3,
        Series::E6,
        Series::E12,
        Series::E24,
        Series::E48,
        Series::E96,
        Series::E192,
    ];

    /// The series of a name as the standard writes it: `E24`.
    ///
    /// # Errors
    /// [`UnknownSeries`], which lists the series that there are.
    pub fn parse(text: &str) -> Result<Series, UnknownSeries> {
        Series::ALL
            .into_iter()
            .find(|series| series.name() == text)
            .ok_or_else(|| UnknownSeries(text.to_owned()))
    }

    /// The name: `E24`.
    pub fn name(self) -> &'static str {
        match self {
            Series::E3 => "E3",
            Series::E6 => "E6",
            Series::E12 => "E12",
            Series::E24 => "E24",
            Series::E48 => "E48",
            Series::E96 => "E96",
            Series::E192 => "E192",
        }
    }

    /// How many values a decade has.
    pub fn size(self) -> usize {
        match self {
            Series::E3 => 3,
            Series::E6 => 6,
            Series::E12 => 12,
            Series::E24 => 24,
            Series::E48 => 48,
            Series::E96 => 96,
            Series::E192 => 192,
        }
    }

    /// How many decimals the standard prints for a value from 1 to 10.
    fn decimals(self) -> i32 {
        if self <= Series::E24 { 1 } else { 2 }
    }

    /// The tolerance that parts of this series customarily have, as a ratio:
    /// 0.05 for E24. IEC 60063 tied the two in its editions before 2015, with
    /// "more than 20 %" for E3; 40 % for E3 is the trade's figure (common
    /// practice, no source).
    pub fn usual_tolerance(self) -> f64 {
        match self {
            Series::E3 => 0.4,
            Series::E6 => 0.2,
            Series::E12 => 0.1,
            Series::E24 => 0.05,
            Series::E48 => 0.02,
            Series::E96 => 0.01,
            Series::E192 => 0.005,
        }
    }

    /// The values from 1 up to, and without, 10, ascending and with the digits
    /// that the standard prints: `1.0`, `1.1` …
    pub fn values(self) -> impl Iterator<Item = Decimal> {
        (0..self.size()).map(move |index| self.printed(self.hundredths(index)))
    }

    /// What rounding 10^(index/size) gives, without a look at the table; `None`
    /// past the end of the decade. It differs from the standard's value for
    /// eight members of E24 and one of E192.
    pub fn by_rule(self, index: usize) -> Option<Decimal> {
        let scale = 10f64.powi(self.decimals());
        let units = rounded_power(index, self.size(), scale);
        (index < self.size()).then(|| Decimal::new(i128::from(units), -self.decimals()))
    }

    fn printed(self, hundredths: u16) -> Decimal {
        let units = if self.decimals() == 1 {
            hundredths / 10
        } else {
            hundredths
        };
        Decimal::new(i128::from(units), -self.decimals())
    }

    /// The value at a place of the decade, in hundredths; `index` < size.
    fn hundredths(self, index: usize) -> u16 {
        if self <= Series::E24 {
            10 * E24[index * (24 / self.size())]
        } else {
            E192[index * (192 / self.size())]
        }
    }

    /// The member at a place counted through all decades: 0 is 1, the size is 10.
    fn at(self, place: i64) -> f64 {
        let size = self.size() as i64;
        // The remainder is less than 192, and a float's decades fit well.
        let index = place.rem_euclid(size) as usize;
        let decade = place.div_euclid(size) as i32;
        times_power_of_ten(self.hundredths(index), decade - 2)
    }

    /// The place of the last member that is not above `value`; `None` unless
    /// `value` is positive and finite.
    fn place_at_or_below(self, value: f64) -> Option<i64> {
        if !(value.is_finite() && value > 0.0) {
            return None;
        }
        let size = self.size() as i64;
        // The logarithm may miss the decade by one where the value is close to
        // a power of ten, so the search covers the decades beside it as well.
        let decade = value.log10().floor() as i64;
        let (mut low, mut high) = ((decade - 1) * size, (decade + 2) * size);
        let limit = value * (1.0 + FLOAT_NOISE);
        while high - low > 1 {
            let middle = low.midpoint(high);
            if self.at(middle) <= limit {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(low)
    }

    /// Whether the value is a member, in any decade.
    pub fn member(self, value: f64) -> bool {
        self.at_or_below(value)
            .is_some_and(|below| (value - below).abs() <= FLOAT_NOISE * value)
    }

    /// The largest member that is not above the value; `None` unless the value
    /// is positive and finite.
    pub fn at_or_below(self, value: f64) -> Option<f64> {
        let place = self.place_at_or_below(value)?;
        Some(self.at(place)).filter(|member| *member > 0.0)
    }

    /// The smallest member that is not below the value; `None` unless the
    /// value is positive and finite.
    pub fn at_or_above(self, value: f64) -> Option<f64> {
        let place = self.place_at_or_above(value)?;
        Some(self.at(place)).filter(|member| member.is_finite())
    }

    fn place_at_or_above(self, value: f64) -> Option<i64> {
        let below = self.place_at_or_below(value)?;
        let is_member = value - self.at(below) <= FLOAT_NOISE * value;
        Some(if is_member { below } else { below + 1 })
    }

    /// The member whose ratio to the value is closest to one; of two that are
    /// equally close, the larger. `None` unless the value is positive and finite.
    pub fn nearest(self, value: f64) -> Option<f64> {
        let below = self.at_or_below(value)?;
        let above = self.at_or_above(value)?;
        Some(if value / below < above / value {
            below
        } else {
            above
        })
    }

    /// The members of a closed range, ascending; none where the ends are not
    /// positive and finite, or cross.
    pub fn between(self, low: f64, high: f64) -> impl Iterator<Item = f64> {
        let places = self
            .place_at_or_above(low)
            .zip(self.place_at_or_below(high));
        let (first, last) = places.unwrap_or((1, 0));
        (first..=last).map(move |place| self.at(place))
    }
}

/// The float nearest to `units` × 10^`power`.
fn times_power_of_ten(units: u16, power: i32) -> f64 {
    /// Powers of ten that are exact floats, so that one product or quotient
    /// with them is rounded once.
    const EXACT: [f64; 23] = [
        1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
        1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
    ];
    let exact = EXACT.get(power.unsigned_abs() as usize);
    match exact {
        Some(factor) if power >= 0 => f64::from(units) * factor,
        Some(factor) => f64::from(units) / factor,
        None => Decimal::new(i128::from(units), power).to_f64(),
    }
}

impl fmt::Display for Series {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl fmt::Display for UnknownSeries {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "`{}` is no series of preferred values (there are E3, E6, E12, E24, E48, E96 and E192)",
            self.0
        )
    }
}

impl std::error::Error for UnknownSeries {}

#[cfg(test)]
mod tests {
    use super::*;

    fn listed(series: Series) -> String {
        let values: Vec<String> = series.values().map(|value| value.to_string()).collect();
        values.join(" ")
    }

    #[test]
    fn coarse_series_are_picked_from_the_table() {
        assert_eq!(listed(Series::E3), "1.0 2.2 4.7");
        assert_eq!(listed(Series::E6), "1.0 1.5 2.2 3.3 4.7 6.8");
    }

    #[test]
    fn the_rule_and_the_standard_differ_in_nine_places() {
        let differing = |series: Series| -> Vec<String> {
            let pairs = series.values().enumerate();
            pairs
                .filter(|(index, value)| series.by_rule(*index).as_ref() != Some(value))
                .map(|(_, value)| value.to_string())
                .collect()
        };
        assert_eq!(
            differing(Series::E24).join(" "),
            "2.7 3.0 3.3 3.6 3.9 4.3 4.7 8.2"
        );
        assert_eq!(differing(Series::E192).join(" "), "9.20");
        assert!(differing(Series::E96).is_empty());
    }

    /// A power function that is off in its last bits must not change a value,
    /// on whatever machine the notebook is bound.
    #[test]
    fn no_rounded_power_lies_near_a_tie() {
        for index in 0..192 {
            let scaled = 100.0 * 10f64.powf(f64::from(index) / 192.0);
            let from_tie = ((scaled - 0.5) - (scaled - 0.5).round()).abs();
            assert!(from_tie > 1e-6, "10^({index}/192) is close to a tie");
        }
    }

    #[test]
    fn membership_does_not_depend_on_the_decade_or_on_float_noise() {
        assert!(Series::E24.member(4700.0));
        assert!(Series::E24.member(4.7 * 1e-6));
        assert!(Series::E24.member(0.1 + 0.2));
        assert!(!Series::E24.member(5000.0));
        assert!(!Series::E96.member(4700.0), "E96 has 4.64 and 4.75");
        assert!(!Series::E24.member(0.0));
        assert!(!Series::E24.member(-4700.0));
        assert!(!Series::E24.member(f64::NAN));
    }

    #[test]
    fn neighbours_are_found_across_decades() {
        assert_eq!(Series::E96.at_or_above(9.96), Some(10.0));
        assert_eq!(Series::E96.at_or_below(9.96), Some(9.76));
        assert_eq!(Series::E6.at_or_below(1e-9), Some(1e-9));
        assert_eq!(Series::E6.at_or_above(1000.0 * 1e-3), Some(1.0));
        assert_eq!(Series::E24.nearest(-1.0), None);
    }

    #[test]
    fn nearest_is_by_ratio() {
        // The difference to 1.0 is the smaller one, the ratio to 2.2 is.
        assert_eq!(Series::E3.nearest(1.55), Some(2.2));
        assert_eq!(Series::E24.nearest(5000.0), Some(5100.0));
    }

    #[test]
    fn a_closed_range_has_both_its_ends() {
        let ohms: Vec<f64> = Series::E6.between(100.0, 1000.0).collect();
        assert_eq!(ohms, [100.0, 150.0, 220.0, 330.0, 470.0, 680.0, 1000.0]);
        assert_eq!(Series::E192.between(915.0, 925.0).count(), 1);
        assert_eq!(Series::E24.between(10.0, 1.0).count(), 0);
        assert_eq!(Series::E24.between(f64::NAN, 1.0).count(), 0);
    }

    #[test]
    fn the_ends_of_the_floats_are_no_trouble() {
        for series in Series::ALL {
            for value in [f64::MAX, f64::MIN_POSITIVE, 5e-324] {
                let _ = (series.at_or_above(value), series.at_or_below(value));
            }
        }
        assert_eq!(Series::E3.at_or_above(f64::MAX), None);
    }

    #[test]
    fn members_are_the_floats_nearest_to_their_text() {
        assert_eq!(Series::E12.at_or_below(8.2e-12), Some(8.2e-12));
        assert_eq!(Series::E192.at_or_below(9.2e6), Some(9.2e6));
        assert_eq!(Series::E24.at_or_below(1.1e-31), Some(1.1e-31));
    }

    #[test]
    fn a_name_is_read_as_the_standard_writes_it() {
        assert_eq!(Series::parse("E24"), Ok(Series::E24));
        let refused = Series::parse("e25").map_err(|unknown| unknown.to_string());
        assert!(refused.is_err_and(|text| text.starts_with("`e25` is no series")));
    }
}
