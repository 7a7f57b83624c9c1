//! Levels in decibels, and the values that they stand for.
//!
//! A level is 10 log10 of a ratio of powers, or 20 log10 of a ratio of field
//! quantities such as voltage and sound pressure (IEC 60027-3). Which of the
//! two a bare `dB` means is not written in it, so a bare level has no value
//! until somebody says which.

use super::dimension::{Dimension, Level};

/// The voltage of 1 mW in 600 Ω: √0.6 V, the reference of dBu.
const DBU_REFERENCE_VOLTS: f64 = 0.774_596_669_241_483_4;

const PRESSURE: Dimension = Dimension::of([-1, 1, -2, 0, 0, 0, 0], [0; 3]);

impl Level {
    /// The value at 0 dB in coherent SI units, with its dimension: 1 mW for
    /// dBm, √0.6 V for dBu, 20 µPa for sound pressure, the plain number 1 for a
    /// ratio. `None` for a bare `dB`, which does not say what it is a ratio of.
    pub fn reference(self) -> Option<(f64, Dimension)> {
        match self {
            Level::Ratio => None,
            Level::Power | Level::Field => Some((1.0, Dimension::ONE)),
            Level::Milliwatt => Some((1e-3, Dimension::POWER)),
            Level::Volt => Some((1.0, Dimension::VOLTAGE)),
            Level::Dbu => Some((DBU_REFERENCE_VOLTS, Dimension::VOLTAGE)),
            Level::SoundPressure => Some((20e-6, PRESSURE)),
        }
    }

    /// The level in decibels of a value in coherent SI units. `None` for a
    /// bare `dB`, and for a value that has no logarithm.
    pub fn decibels_of(self, value: f64) -> Option<f64> {
        let (reference, _) = self.reference()?;
        let ratio = value / reference;
        let decibels = if self.is_field()? {
            field_ratio_to_decibels(ratio)
        } else {
            power_ratio_to_decibels(ratio)
        };
        decibels.is_finite().then_some(decibels)
    }

    /// The value in coherent SI units at a level in decibels. `None` for a
    /// bare `dB`, and where the value is no finite number.
    pub fn value_at(self, decibels: f64) -> Option<f64> {
        let (reference, _) = self.reference()?;
        let ratio = if self.is_field()? {
            decibels_to_field_ratio(decibels)
        } else {
            decibels_to_power_ratio(decibels)
        };
        let value = reference * ratio;
        value.is_finite().then_some(value)
    }
}

/// 10 log10 of a ratio of powers; NaN or minus infinity where it has no logarithm.
pub fn power_ratio_to_decibels(ratio: f64) -> f64 {
    10.0 * ratio.log10()
}

/// The ratio of powers at a level difference.
pub fn decibels_to_power_ratio(decibels: f64) -> f64 {
    10f64.powf(decibels / 10.0)
}

/// 20 log10 of a ratio of field quantities; NaN or minus infinity where it has
/// no logarithm.
pub fn field_ratio_to_decibels(ratio: f64) -> f64 {
    20.0 * ratio.log10()
}

/// The ratio of field quantities at a level difference.
pub fn decibels_to_field_ratio(decibels: f64) -> f64 {
    10f64.powf(decibels / 20.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(left: Option<f64>, right: f64) -> bool {
        left.is_some_and(|left| (left - right).abs() <= 1e-12 * right.abs().max(1.0))
    }

    #[test]
    fn doubling_is_three_decibels_of_power_and_six_of_voltage() {
        assert!(close(Level::Power.decibels_of(2.0), 3.010_299_956_639_812));
        assert!(close(Level::Field.decibels_of(2.0), 6.020_599_913_279_624));
    }

    #[test]
    fn references_are_those_of_the_trade() {
        assert!(close(Level::Milliwatt.decibels_of(1.0), 30.0));
        assert!(close(Level::Dbu.value_at(0.0), 0.6f64.sqrt()));
        // 1 mW in 600 Ω, which is where the reference comes from.
        assert!(close(
            Level::Dbu.value_at(0.0).map(|volts| volts * volts / 600.0),
            1e-3
        ));
        assert!(close(
            Level::SoundPressure.value_at(94.0),
            1.002_374_467_254_545
        ));
    }

    #[test]
    fn there_and_back_is_where_it_began() {
        for level in [Level::Power, Level::Field, Level::Volt, Level::Dbu] {
            let back = level
                .value_at(-17.3)
                .and_then(|value| level.decibels_of(value));
            assert!(close(back, -17.3), "{level:?}");
        }
    }

    #[test]
    fn what_has_no_level_has_none() {
        assert_eq!(Level::Ratio.decibels_of(2.0), None);
        assert_eq!(Level::Power.decibels_of(0.0), None);
        assert_eq!(Level::Volt.decibels_of(-1.0), None);
        assert_eq!(Level::Volt.value_at(1e6), None);
    }
}
