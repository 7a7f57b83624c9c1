//! Voices summed: what always fits, and how often more would not.
//!
//! Voices at unrelated pitches meet at every phase. The chance that their sum
//! lies beyond a limit is then that of a sum of independent draws from the table,
//! whose distribution is the table's own, folded with itself as often as there
//! are voices (textbook: the distribution of a sum).

use realfft::RealFftPlanner;
use realfft::num_complex::Complex64;

use super::accumulator::Wave;

/// Steps that half the range of a table is told apart in: chances are good to
/// about one part in as many.
const STEPS: f64 = 256.0;

/// How the sum of voices is spread when each plays at its full level.
#[derive(Clone, Debug)]
pub(super) struct Sum {
    /// Chance of each magnitude, from zero in steps.
    beyond: Vec<f64>,
    step: f64,
    /// The greatest magnitude there can be.
    peak: f64,
}

impl Sum {
    /// The spread of a sum of so many voices of a wave.
    pub fn of(wave: &Wave, voices: usize) -> Sum {
        let peak = f64::from(wave.peak());
        let step = (peak / STEPS).max(1.0);
        let steps = (peak / step).round() as usize;
        let length = (2 * steps * voices + 1).next_power_of_two();
        let mut chances = vec![0.0; length];
        let mut count = 0.0;
        for entry in wave.entries(true) {
            let at = (f64::from(entry) / step).round() as i64;
            chances[at.rem_euclid(length as i64) as usize] += 1.0;
            count += 1.0;
        }
        for chance in &mut chances {
            *chance /= count;
        }
        let mut planner = RealFftPlanner::<f64>::new();
        let forward = planner.plan_fft_forward(length);
        let back = planner.plan_fft_inverse(length);
        let mut lines = forward.make_output_vec();
        // Both are as long as the plans have made them, so that these cannot
        // fail.
        let _ = forward.process(&mut chances, &mut lines);
        for line in &mut lines {
            *line = line.powu(u32::try_from(voices).unwrap_or(u32::MAX)) / length as f64;
        }
        // The transform back wants these two without an imaginary part, and
        // they have none but for rounding.
        for at in [0, lines.len() - 1] {
            lines[at] = Complex64::new(lines[at].re, 0.0);
        }
        let _ = back.process(&mut lines, &mut chances);
        let mut beyond = vec![0.0; steps * voices + 1];
        for (at, chance) in chances.iter().enumerate() {
            let magnitude = at.min(length - at);
            if let Some(place) = beyond.get_mut(magnitude) {
                // Rounding leaves less than nothing here and there.
                *place += chance.max(0.0);
            }
        }
        Sum {
            beyond,
            step,
            peak: peak * voices as f64,
        }
    }

    /// The greatest magnitude there can be.
    pub fn peak(&self) -> f64 {
        self.peak
    }

    /// The chance that a magnitude lies beyond a limit.
    pub fn chance_beyond(&self, limit: f64) -> f64 {
        if limit >= self.peak {
            return 0.0;
        }
        let magnitudes = self.beyond.iter().enumerate();
        magnitudes
            .filter(|(at, _)| *at as f64 * self.step > limit)
            .map(|(_, chance)| chance)
            .sum::<f64>()
            .min(1.0)
    }

    /// The least magnitude beyond which no more than this share lies.
    pub fn kept_by_all_but(&self, share: f64) -> f64 {
        let mut beyond = 0.0;
        for (at, chance) in self.beyond.iter().enumerate().rev() {
            beyond += chance;
            if beyond > share {
                return (at as f64 * self.step).min(self.peak);
            }
        }
        0.0
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn sine() -> Wave {
        Wave::new(12, 16, &[1.0], false).unwrap()
    }

    /// Truth: a sine lies above a of its peak for 1 - 2/π asin(a) of the time
    /// (calculus: arcsine distribution).
    #[test]
    fn one_voice_keeps_to_the_arcsine_law() {
        let sum = Sum::of(&sine(), 1);
        for share in [0.25f64, 0.5, 0.75, 0.9] {
            let limit = 32_767.0 * share;
            let expected = 1.0 - 2.0 / std::f64::consts::PI * share.asin();
            let found = sum.chance_beyond(limit);
            assert!(
                (found - expected).abs() < 3e-3,
                "{share}: {found}, {expected}"
            );
        }
        assert_eq!(sum.chance_beyond(32_767.0), 0.0);
    }

    /// Truth: shares of draws by numpy 2.4.6 (tests/published/scripts/voices.py),
    /// whose standard errors are below 2e-4.
    #[test]
    fn a_few_voices_keep_to_draws() {
        for (voices, limit, expected) in
            [(2, 1.0, 0.369_59), (3, 2.0, 0.113_66), (5, 4.0, 0.007_39)]
        {
            let found = Sum::of(&sine(), voices).chance_beyond(32_767.0 * limit);
            assert!(
                (found - expected).abs() < 3e-3,
                "{voices}: {found}, {expected}"
            );
        }
    }

    /// Truth: the variance of a sum is the sum of variances, and many voices
    /// tend to a normal distribution (textbook: central limit theorem): sixteen
    /// sines lie beyond twice their standard deviation, 2 √8 peaks, for about
    /// 4.55 % of the time.
    #[test]
    fn many_voices_tend_to_a_normal_distribution() {
        let sum = Sum::of(&sine(), 16);
        let limit = 2.0 * 8f64.sqrt() * 32_767.0;
        let found = sum.chance_beyond(limit);
        assert!((found - 0.0455).abs() < 0.002, "{found}");
        let back = sum.kept_by_all_but(0.0455);
        assert!((back / limit - 1.0).abs() < 0.01, "{back}, {limit}");
    }
}
