//! What a firmware does to make notes heard: voices, their decay, and the sum
//! scaled to what the converter takes. All of it in whole numbers.

use std::f64::consts::PI;

use super::accumulator::{Oscillator, Wave};
use super::plan::Unworkable;
use super::sound::Samples;

/// Full level of a voice.
const FULL: i64 = 65_536;

/// At each step of the decay a voice loses this part of its level: the 256th.
const LOSS_BITS: u32 = 8;

/// Time over which a sound fades out at its end, in s, so that the file does not
/// click where it is cut off; a firmware goes on.
const FADE: f64 = 0.01;

/// The sound of one firmware.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Instrument {
    pub wave: Wave,
    /// Width of the phase accumulators.
    pub bits: u32,
    /// Samples a second.
    pub rate: f64,
    /// By how many bits the sum of voices is shifted down.
    pub shift: u32,
    /// Bits of the output.
    pub output_bits: u32,
    /// Samples between two steps of the decay; `None` for voices that last.
    pub decay_step: Option<usize>,
    /// Samples that each voice sounds.
    pub length: usize,
}

/// What a speaker leaves of low notes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct RollOff {
    /// Frequency at which half of the power is left, in Hz.
    pub corner: f64,
    /// Order of the high-pass.
    pub order: u32,
}

impl Instrument {
    /// The samples of voices that sound together.
    pub fn together(&self, increments: &[u64]) -> Vec<i64> {
        let levels = self.levels();
        let mut sum = vec![0; self.length];
        for &increment in increments {
            let mut oscillator = Oscillator::new(self.bits, increment);
            match &levels {
                Some(levels) => self.wave.mix(&mut oscillator, |at| levels[at], &mut sum),
                None => self.wave.mix(&mut oscillator, |_| FULL, &mut sum),
            }
        }
        let greatest = (1i64 << (self.output_bits - 1)) - 1;
        for sample in &mut sum {
            *sample = (*sample >> self.shift).clamp(-greatest - 1, greatest);
        }
        sum
    }

    /// The samples of voices that sound one after the other.
    pub fn in_turn(&self, increments: &[u64]) -> Vec<i64> {
        let one = |&increment: &u64| self.together(&[increment]);
        increments.iter().flat_map(one).collect()
    }

    /// The level of a voice at each sample.
    fn levels(&self) -> Option<Vec<i64>> {
        let step = self.decay_step?.max(1);
        let mut level = FULL;
        let level_at = |at: usize| {
            if at > 0 && at.is_multiple_of(step) {
                // Rounded up, so that it comes to rest at zero.
                level -= (level + (1 << LOSS_BITS) - 1) >> LOSS_BITS;
            }
            level
        };
        Some((0..self.length).map(level_at).collect())
    }

    /// Samples between two steps for a level that falls to 1/e in a time:
    /// 256 steps, about (textbook: exponential decay).
    pub fn decay_step(decay: f64, rate: f64) -> f64 {
        (decay * rate / f64::from(1 << LOSS_BITS)).round().max(1.0)
    }

    /// What goes into a file: samples of sixteen bits, through a speaker where
    /// one is given, faded out at the end.
    pub fn heard(&self, samples: &[i64], speaker: Option<RollOff>) -> Result<Samples, Unworkable> {
        let scale = 2f64.powi(16 - self.output_bits as i32);
        let mut heard: Vec<f64> = samples
            .iter()
            .map(|&sample| sample as f64 * scale)
            .collect();
        if let Some(speaker) = speaker {
            speaker.apply(self.rate, &mut heard)?;
        }
        let fade = ((FADE * self.rate) as usize).min(heard.len());
        let count = heard.len();
        for (at, sample) in heard[count - fade..].iter_mut().enumerate() {
            *sample *= (fade - at) as f64 / (fade + 1) as f64;
        }
        let whole = |sample: f64| sample.round().clamp(-32_768.0, 32_767.0) as i16;
        Ok(Samples {
            // A sample rate that is no whole number cannot stand in a file; half
            // a hertz is a tenth of a cent at the least rate there is.
            rate: self.rate.round() as u32,
            samples: heard.into_iter().map(whole).collect(),
        })
    }
}

/// A section of a filter: what it weighs the last inputs and outputs by.
struct Section {
    forward: [f64; 3],
    back: [f64; 2],
}

impl RollOff {
    /// Takes away what a speaker would: a maximally flat high-pass, made digital
    /// by the bilinear transform with its corner kept (textbook).
    fn apply(self, rate: f64, samples: &mut [f64]) -> Result<(), Unworkable> {
        let corner = self.corner;
        if !(corner > 0.0 && corner < rate / 2.0) {
            return Err(Unworkable::new(
                format!("cannot be heard through a speaker with its corner at {corner} Hz"),
                "give a corner between zero and half the sample rate",
            ));
        }
        let k = libm::tan(PI * corner / rate);
        let mut sections: Vec<Section> = (0..self.order / 2)
            .map(|at| {
                let angle = PI * f64::from(2 * at + 1) / f64::from(2 * self.order);
                let damping = 2.0 * libm::sin(angle);
                let norm = 1.0 / (1.0 + damping * k + k * k);
                Section {
                    forward: [norm, -2.0 * norm, norm],
                    back: [
                        2.0 * (k * k - 1.0) * norm,
                        (1.0 - damping * k + k * k) * norm,
                    ],
                }
            })
            .collect();
        if !self.order.is_multiple_of(2) {
            let norm = 1.0 / (1.0 + k);
            sections.push(Section {
                forward: [norm, -norm, 0.0],
                back: [(k - 1.0) * norm, 0.0],
            });
        }
        for section in sections {
            let (mut input, mut output) = ([0.0; 2], [0.0; 2]);
            for sample in samples.iter_mut() {
                let [now, before, earlier] = section.forward;
                let next = now * *sample + before * input[0] + earlier * input[1]
                    - section.back[0] * output[0]
                    - section.back[1] * output[1];
                input = [*sample, input[0]];
                output = [next, output[0]];
                *sample = next;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn instrument() -> Instrument {
        Instrument {
            wave: Wave::new(8, 8, &[1.0], false).unwrap(),
            bits: 16,
            rate: 8000.0,
            shift: 0,
            output_bits: 8,
            decay_step: None,
            length: 8000,
        }
    }

    /// Truth: responses of maximally flat high-passes by scipy 1.17.1,
    /// `freqz(*butter(order, corner, "high", fs=8000), worN=[f], fs=8000)`.
    #[test]
    fn a_speaker_takes_away_low_notes() {
        for (order, corner, frequency, level) in [
            (1, 1000.0, 1000.0, -3.0103),
            (2, 1000.0, 500.0, -12.96753),
            (3, 1000.0, 500.0, -19.16669),
            (4, 1000.0, 250.0, -49.90612),
            (4, 1000.0, 2000.0, -0.00376),
        ] {
            let mut samples: Vec<f64> = (0..8000)
                .map(|at| (2.0 * PI * frequency * f64::from(at) / 8000.0).sin())
                .collect();
            RollOff { corner, order }
                .apply(8000.0, &mut samples)
                .unwrap();
            // The second half holds whole periods, and the start has died away.
            let power: f64 = samples[4000..].iter().map(|sample| sample * sample).sum();
            let found = 10.0 * (power / 2000.0).log10();
            assert!((found - level).abs() < 2e-3, "{order} {frequency}: {found}");
        }
        let off = RollOff {
            corner: 4000.0,
            order: 1,
        };
        assert!(off.apply(8000.0, &mut [0.0]).is_err());
    }

    /// Truth: 256 steps of 255/256 leave 1/e but for a fifth of a percent
    /// (arithmetic).
    #[test]
    fn a_voice_falls_to_a_third_in_its_decay() {
        let step = Instrument::decay_step(0.4, 8000.0);
        assert_eq!(step, 13.0);
        let levels = Instrument {
            decay_step: Some(13),
            ..instrument()
        }
        .levels()
        .unwrap();
        let share = levels[13 * 256] as f64 / 65_536.0;
        assert!((share - (-1f64).exp()).abs() < 0.004, "{share}");
        let long = Instrument {
            decay_step: Some(1),
            length: 100_000,
            ..instrument()
        };
        assert_eq!(long.levels().unwrap().last(), Some(&0));
    }

    /// Truth: a sum that does not fit is cut off, one that is shifted is not
    /// (definition).
    #[test]
    fn sums_are_cut_off_and_not_wrapped() {
        let loud = instrument().together(&[4096, 4096]);
        assert_eq!(
            (loud.iter().max(), loud.iter().min()),
            (Some(&127), Some(&-128))
        );
        let shifted = Instrument {
            shift: 1,
            ..instrument()
        };
        assert_eq!(
            shifted.together(&[4096, 4096]),
            instrument().together(&[4096])
        );
        let heard = instrument().heard(&loud, None).unwrap();
        assert_eq!(heard.samples.iter().max(), Some(&(127 * 256)));
        assert_eq!(heard.samples.len(), 8000);
        assert!(heard.samples[7999].abs() < 512);
    }

    #[test]
    fn keys_in_turn_follow_one_another() {
        let of = instrument();
        let both = of.in_turn(&[100, 200]);
        assert_eq!(both[..8000], of.together(&[100]));
        assert_eq!(both[8000..], of.together(&[200]));
    }
}
