//! What a run of samples holds beside what is wanted: noise, distortion, and
//! the worst spur.
//!
//! The samples hold a whole number of periods that shares no factor with their
//! count, so that every sample meets the wave at another phase and each spectral
//! line falls into one place; no window is needed (IEEE Std 1241: coherent
//! sampling).

use std::collections::BTreeSet;

use realfft::RealFftPlanner;

/// Harmonics that count as distortion, the fundamental among them (IEEE Std
/// 1241: the second to the tenth, where nothing else is said).
const HARMONICS: usize = 10;

/// A ratio of powers that is told where nothing at all is there.
const NOTHING: f64 = 1e-20;

/// What was measured, as levels in dB.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Measured {
    /// Wanted power over all that is neither wanted nor distortion.
    pub signal_to_noise: f64,
    /// Power of harmonics that are not wanted over wanted power.
    pub distortion: f64,
    /// The greatest single line that is not wanted, against the fundamental.
    pub spur: f64,
    /// Wanted power over everything else.
    pub signal_to_rest: f64,
}

/// Powers of the spectral lines of a run, from zero to half the sample rate.
pub(super) fn powers(samples: &[i32]) -> Vec<f64> {
    let mut planner = RealFftPlanner::<f64>::new();
    let transform = planner.plan_fft_forward(samples.len());
    let mut input: Vec<f64> = samples.iter().map(|&sample| f64::from(sample)).collect();
    let mut lines = transform.make_output_vec();
    // Input and output are as long as the plan has made them, so that it cannot
    // fail; were it to, there would be no power anywhere.
    let _ = transform.process(&mut input, &mut lines);
    lines.iter().map(|line| line.norm_sqr()).collect()
}

/// Measures a run that holds so many periods. Which harmonics are wanted is
/// asked by their numbers, from one; those that lie above half the sample rate
/// are wanted nowhere, for they are heard at another pitch.
pub(super) fn measure(
    samples: &[i32],
    periods: usize,
    listed: usize,
    wanted: impl Fn(usize) -> bool,
) -> Measured {
    let count = samples.len();
    let powers = powers(samples);
    let line = |harmonic: usize| {
        let at = (harmonic * periods) % count;
        at.min(count - at)
    };
    let is_wanted = |harmonic: usize| wanted(harmonic) && 2 * harmonic * periods < count;
    let kept: BTreeSet<usize> = (1..=listed).filter(|&h| is_wanted(h)).map(line).collect();
    let bent: BTreeSet<usize> = (1..=listed.max(HARMONICS))
        .map(line)
        .filter(|at| *at != 0 && !kept.contains(at))
        .collect();
    let signal: f64 = kept.iter().map(|&at| powers[at]).sum();
    let distortion: f64 = bent.iter().map(|&at| powers[at]).sum();
    let rest = (1..powers.len()).filter(|at| !kept.contains(at));
    let (mut noise, mut worst) = (0.0, 0.0f64);
    for at in rest {
        worst = worst.max(powers[at]);
        if !bent.contains(&at) {
            noise += powers[at];
        }
    }
    let fundamental = powers.get(line(1)).copied().unwrap_or(0.0);
    let level = |over: f64, under: f64| 10.0 * (over / under).log10();
    Measured {
        signal_to_noise: level(signal, noise.max(NOTHING * signal)),
        distortion: level(distortion.max(NOTHING * signal), signal),
        spur: level(worst.max(NOTHING * fundamental), fundamental),
        signal_to_rest: level(signal, (noise + distortion).max(NOTHING * signal)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(count: usize, periods: usize, amplitudes: &[f64]) -> Vec<i32> {
        let turn = std::f64::consts::TAU * periods as f64 / count as f64;
        let sample = |at: usize| {
            let of = |(before, amplitude): (usize, &f64)| {
                amplitude * (turn * ((before + 1) * at) as f64).sin()
            };
            amplitudes.iter().enumerate().map(of).sum::<f64>()
        };
        (0..count).map(|at| sample(at).round() as i32).collect()
    }

    /// Truth: 6.02 N + 1.76 dB for a full-scale sine of N bit (W. R. Bennett,
    /// Spectra of Quantized Signals, Bell System Technical Journal 27 (1948),
    /// 446), within half a decibel of a single run.
    #[test]
    fn quantisation_noise_is_that_of_bennett() {
        for bits in [8, 10, 12, 14, 16] {
            let amplitude = f64::from(1 << (bits - 1)) - 1.0;
            let samples = tone(16_384, 1_237, &[amplitude]);
            let found = measure(&samples, 1_237, 1, |_| true).signal_to_rest;
            let theory = 6.020_6 * f64::from(bits) + 1.761;
            assert!(
                (found - theory).abs() < 0.5,
                "{bits} bit: {found}, {theory}"
            );
        }
    }

    /// Truth: a second harmonic of a thousandth is -60 dB, one of a hundredth and
    /// one of a hundredth together -37 dB (definition).
    #[test]
    fn distortion_is_that_of_the_harmonics() {
        let found = measure(&tone(4096, 101, &[1e8, 1e5]), 101, 1, |_| true);
        assert!((found.distortion + 60.0).abs() < 1e-3, "{found:?}");
        assert!((found.spur + 60.0).abs() < 1e-3, "{found:?}");
        let found = measure(&tone(4096, 101, &[1e8, 1e6, 1e6]), 101, 1, |_| true);
        assert!((found.distortion + 36.99).abs() < 0.01, "{found:?}");
        // The same harmonics are no distortion where they are wanted.
        let found = measure(&tone(4096, 101, &[1e8, 1e6, 1e6]), 101, 3, |_| true);
        assert!(found.distortion < -150.0, "{found:?}");
    }

    /// Truth: at 1600 of 4096 the third harmonic lies at 4800, above half of
    /// 4096, and folds to 704: it is heard there and wanted nowhere
    /// (arithmetic).
    #[test]
    fn a_harmonic_above_half_the_rate_is_a_spur() {
        let samples = tone(4096, 1_601, &[1e8, 0.0, 1e7]);
        let found = measure(&samples, 1_601, 3, |harmonic| harmonic != 2);
        assert!((found.spur + 20.0).abs() < 1e-3, "{found:?}");
    }
}
