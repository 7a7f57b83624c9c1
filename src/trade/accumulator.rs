//! A stored wave and the phase accumulator that reads it out: the integers of a
//! firmware, one for one.
//!
//! The accumulator adds its increment at every sample and forgets what runs
//! over. Its top bits address the table; with interpolation the bits below them
//! weigh one entry against the next. Nothing here rounds but where firmware
//! does: a table entry when it is made, a product of the interpolation downwards.

use std::f64::consts::TAU;

/// Bits of the fraction between two entries: with entries of 24 bit, products
/// still fit 64 bit by far, and no finer step shows.
const FRACTION_BITS: u32 = 15;

/// One period of a wave as whole numbers.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Wave {
    /// Values about zero; a power of two of them.
    entries: Vec<i32>,
    bits: u32,
    interpolated: bool,
}

/// What a phase accumulator is: its width and its increment.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Oscillator {
    /// Phase and increment stand at the top of 64 bits, so that running over
    /// needs no mask whatever the width.
    phase: u64,
    increment: u64,
}

impl Wave {
    /// A wave of `1 << address_bits` entries of so many bits, from the amplitudes
    /// of its harmonics, the fundamental first. All are in sine phase, and the
    /// highest peak among the entries gets the greatest entry,
    /// `2^(bits - 1) - 1`. `None` where there is nothing to hear, or a number is
    /// not finite.
    pub fn new(
        address_bits: u32,
        bits: u32,
        harmonics: &[f64],
        interpolated: bool,
    ) -> Option<Wave> {
        let length = 1usize << address_bits.min(24);
        let value = |at: usize| {
            let of = |(before, amplitude): (usize, &f64)| {
                // The whole turns of a harmonic go first, so that sines of equal
                // angles are equal.
                let part = ((before + 1) * at) % length;
                amplitude * libm::sin(TAU * part as f64 / length as f64)
            };
            harmonics.iter().enumerate().map(of).sum::<f64>()
        };
        let values: Vec<f64> = (0..length).map(value).collect();
        let peak = values
            .iter()
            .fold(0.0, |peak: f64, value| peak.max(value.abs()));
        let whole: f64 = harmonics.iter().map(|amplitude| amplitude.abs()).sum();
        // What rounding leaves of sines at their zeros is no wave.
        let is_heard = whole.is_finite() && peak > 1e-9 * whole;
        if !is_heard || !(2..=24).contains(&bits) {
            return None;
        }
        let greatest = f64::from((1i32 << (bits - 1)) - 1);
        let entry = |value: f64| (value / peak * greatest).round() as i32;
        Some(Wave {
            entries: values.into_iter().map(entry).collect(),
            bits,
            interpolated,
        })
    }

    /// The entries as firmware holds them: about zero, or about the middle of the
    /// range where they are to have no sign.
    pub fn entries(&self, signed: bool) -> impl Iterator<Item = i32> + '_ {
        let middle = if signed { 0 } else { 1 << (self.bits - 1) };
        self.entries.iter().map(move |entry| entry + middle)
    }

    /// The greatest magnitude among the entries.
    pub fn peak(&self) -> i32 {
        self.entries
            .iter()
            .map(|entry| entry.abs())
            .max()
            .unwrap_or(0)
    }

    /// Bits that address an entry.
    fn address_bits(&self) -> u32 {
        self.entries.len().trailing_zeros()
    }

    /// Adds the samples of an oscillator to those that are there, each weighed
    /// by what `level` gives for it: 65 536 for all of it.
    pub(super) fn mix(
        &self,
        oscillator: &mut Oscillator,
        mut level: impl FnMut(usize) -> i64,
        sum: &mut [i64],
    ) {
        for (at, sum) in sum.iter_mut().enumerate() {
            *sum += (i64::from(self.at(oscillator.phase)) * level(at)) >> 16;
            oscillator.step();
        }
    }

    /// Fills in the samples of an oscillator.
    pub fn fill(&self, oscillator: &mut Oscillator, samples: &mut [i32]) {
        if self.interpolated {
            for sample in samples {
                *sample = self.between(oscillator.phase);
                oscillator.step();
            }
            return;
        }
        let shift = 64 - self.address_bits();
        let mask = self.entries.len() - 1;
        for sample in samples {
            *sample = self.entries[(oscillator.phase >> shift) as usize & mask];
            oscillator.step();
        }
    }

    /// The sample at a phase.
    fn at(&self, phase: u64) -> i32 {
        if self.interpolated {
            self.between(phase)
        } else {
            self.entries[(phase >> (64 - self.address_bits())) as usize]
        }
    }

    /// The sample between two entries.
    fn between(&self, phase: u64) -> i32 {
        let bits = self.address_bits();
        let at = (phase >> (64 - bits)) as usize;
        let fraction = ((phase << bits) >> (64 - FRACTION_BITS)) as i64;
        let here = i64::from(self.entries[at]);
        let next = i64::from(self.entries[(at + 1) & (self.entries.len() - 1)]);
        // Between two entries, hence as small as they are.
        (here + (((next - here) * fraction) >> FRACTION_BITS)) as i32
    }
}

impl Oscillator {
    /// An accumulator of so many bits at phase zero, 1 to 64.
    pub fn new(bits: u32, increment: u64) -> Oscillator {
        Oscillator {
            phase: 0,
            increment: increment << (64 - bits.clamp(1, 64)),
        }
    }

    fn step(&mut self) {
        self.phase = self.phase.wrapping_add(self.increment);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// Truth: 127 times the sine of 45 degrees is 89.8, of 90 degrees 127
    /// (arithmetic); unsigned, 128 stands for zero.
    #[test]
    fn a_sine_of_eight_entries() {
        let wave = Wave::new(3, 8, &[1.0], false).unwrap();
        let signed: Vec<i32> = wave.entries(true).collect();
        assert_eq!(signed, [0, 90, 127, 90, 0, -90, -127, -90]);
        let unsigned: Vec<i32> = wave.entries(false).collect();
        assert_eq!(unsigned, [128, 218, 255, 218, 128, 38, 1, 38]);
    }

    /// Truth: the same done with the remainder of a product, in 128 bits
    /// (arithmetic).
    #[test]
    fn phases_run_over_as_remainders() {
        let wave = Wave::new(8, 8, &[1.0, 0.5], false).unwrap();
        let entries: Vec<i32> = wave.entries(true).collect();
        for bits in [1, 8, 9, 16, 24, 32, 63, 64] {
            let increment = 0x9E37_79B9_7F4A_7C15 >> (64 - bits);
            let mut samples = [0; 300];
            wave.fill(&mut Oscillator::new(bits, increment), &mut samples);
            for (at, sample) in samples.iter().enumerate() {
                let phase = (at as u128 * u128::from(increment)) % (1 << bits);
                let address = (phase << 8) >> bits;
                assert_eq!(*sample, entries[address as usize], "{bits} {at}");
            }
        }
    }

    /// Truth: halfway between two entries lies their mean, rounded down
    /// (arithmetic).
    #[test]
    fn interpolation_goes_in_straight_lines() {
        let wave = Wave::new(2, 8, &[1.0], true).unwrap();
        let mut samples = [0; 8];
        wave.fill(&mut Oscillator::new(3, 1), &mut samples);
        assert_eq!(samples, [0, 63, 127, 63, 0, -64, -127, -64]);
        let mut sum = [100; 8];
        wave.mix(&mut Oscillator::new(3, 1), |_| 65_536, &mut sum);
        assert_eq!(sum, [100, 163, 227, 163, 100, 36, -27, 36]);
    }

    #[test]
    fn silence_is_no_wave() {
        assert_eq!(Wave::new(8, 8, &[0.0], false), None);
        assert_eq!(Wave::new(8, 8, &[], false), None);
        assert_eq!(Wave::new(8, 8, &[f64::NAN], false), None);
        // Harmonics at and above half the table's length alias to nothing.
        assert_eq!(Wave::new(1, 8, &[1.0], false), None);
    }
}
