//! A measured response: read between its points, over the logarithm of frequency.

/// Level at a frequency on straight lines over its logarithm.
pub(super) fn between(points: &[(f64, f64)], hertz: f64) -> Option<f64> {
    let after = points.partition_point(|point| point.0 < hertz);
    let upper = points.get(after)?;
    if upper.0 <= hertz {
        return Some(upper.1);
    }
    let lower = points.get(after.checked_sub(1)?)?;
    let part = (hertz / lower.0).ln() / (upper.0 / lower.0).ln();
    Some(lower.1 + part * (upper.1 - lower.1))
}

/// Where a measurement last falls below a level on the way down from where it
/// is greatest.
pub(super) fn measured_fallen(points: &[(f64, f64)], level: f64) -> Option<f64> {
    let top = points
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.1.total_cmp(&b.1.1))?
        .0;
    let pair = points[..=top]
        .windows(2)
        .rev()
        .find(|pair| pair[0].1 < level)?;
    let part = (level - pair[0].1) / (pair[1].1 - pair[0].1);
    Some(pair[0].0 * (pair[1].0 / pair[0].0).powf(part))
}

/// Level of the pass band: the mean over the octave in which a measurement is
/// greatest (after the effective frequency range of IEC 60268-5); the greatest
/// level where it spans no octave.
pub(super) fn pass_band(points: &[(f64, f64)]) -> f64 {
    const STEPS: i32 = 12;
    let mean = |from: f64| {
        let levels: Option<Vec<f64>> = (0..=STEPS)
            .map(|step| between(points, from * 2f64.powf(f64::from(step) / f64::from(STEPS))))
            .collect();
        levels.map(|levels| levels.iter().sum::<f64>() / levels.len() as f64)
    };
    let octaves = points.iter().filter_map(|point| mean(point.0));
    let greatest = octaves.fold(f64::NEG_INFINITY, f64::max);
    if greatest.is_finite() {
        return greatest;
    }
    points
        .iter()
        .map(|point| point.1)
        .fold(f64::NEG_INFINITY, f64::max)
}
