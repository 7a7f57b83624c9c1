//! Distributions, held against what is known of each.

#![allow(clippy::unwrap_used)]

use super::super::stream::LANES;
use super::*;

fn all() -> Vec<Distribution> {
    vec![
        Distribution::normal(2.0, 0.5).unwrap(),
        Distribution::normal_expanded(2.0, 1.0, 2.0).unwrap(),
        Distribution::rectangular(1.0, 3.0).unwrap(),
        Distribution::triangular(1.0, 3.0).unwrap(),
        Distribution::arc_sine(1.0, 3.0).unwrap(),
        Distribution::truncated_normal(2.0, 1.0, 1.5, 3.5).unwrap(),
        Distribution::truncated_normal(0.0, 1.0, 5.0, 6.0).unwrap(),
        Distribution::truncated_normal(0.0, 1.0, -6.0, -5.0).unwrap(),
        Distribution::measured(&[1.0, 1.4, 2.0, 4.0], Between::Interpolated).unwrap(),
    ]
}

/// Mean and deviation of the quantile function, summed in small steps: an
/// independent way to both, and to where the quantiles are.
#[test]
fn moments_are_those_of_the_quantile_function() {
    for distribution in all() {
        let steps = 100_000;
        let at = |step: i32| distribution.quantile((f64::from(step) + 0.5) / f64::from(steps));
        let mean = (0..steps).map(at).sum::<f64>() / f64::from(steps);
        let square = (0..steps)
            .map(|step| (at(step) - mean).powi(2))
            .sum::<f64>();
        let deviation = (square / f64::from(steps)).sqrt();
        let exact = distribution.standard_uncertainty();
        assert!(
            (distribution.mean() - mean).abs() < 1e-4 * exact,
            "{distribution:?}"
        );
        assert!(
            (deviation / exact - 1.0).abs() < 2e-4,
            "{distribution:?} {deviation} {exact}"
        );
    }
}

#[test]
fn a_quantile_is_where_its_share_is_below() {
    for distribution in all() {
        for p in [0.001, 0.2, 0.5, 0.77, 0.999] {
            let found = distribution.below(distribution.quantile(p));
            assert!(
                (found - p).abs() < 1e-10,
                "{distribution:?} at {p}: {found}"
            );
        }
        let support = distribution.support();
        assert_eq!(distribution.below(support.low()), 0.0, "{distribution:?}");
        assert_eq!(distribution.below(support.high()), 1.0, "{distribution:?}");
    }
}

/// Draws against the distribution function: the greatest distance of both
/// (Kolmogorov). Its 99.9 % point is 1.95/√n for many draws.
#[test]
fn draws_have_the_distribution() {
    for distribution in all() {
        let mut drawn = Vec::new();
        let mut scores = Vec::new();
        let mut out = [0.0; LANES];
        for block in 0..20 {
            distribution.draw(&mut Stream::new(5, 5, block), &mut out);
            drawn.extend_from_slice(&out);
            Stream::new(6, 6, block).normals(&mut out, |z| z);
            scores.extend(out.iter().map(|&z| distribution.at_score(z)));
        }
        for mut values in [drawn, scores] {
            values.sort_unstable_by(f64::total_cmp);
            let n = values.len() as f64;
            let distance = values
                .iter()
                .enumerate()
                .map(|(at, &value)| (distribution.below(value) - (at as f64 + 0.5) / n).abs())
                .fold(0.0, f64::max);
            assert!(distance < 1.95 / n.sqrt(), "{distribution:?}: {distance}");
        }
    }
}

#[test]
fn an_input_that_cannot_be_is_refused() {
    assert_eq!(
        Distribution::normal(1.0, 0.0),
        Err(DistributionFault::Scale(0.0))
    );
    assert_eq!(
        Distribution::rectangular(2.0, 1.0),
        Err(DistributionFault::Limits(2.0, 1.0))
    );
    assert_eq!(
        Distribution::truncated_normal(0.0, 1.0, 20.0, 30.0),
        Err(DistributionFault::NothingLeft)
    );
    assert_eq!(
        Distribution::measured(&[1.0], Between::Resampled),
        Err(DistributionFault::TooFew(1))
    );
    assert!(Distribution::normal_expanded(1.0, 1.0, f64::NAN).is_err());
    // A part without tolerance is a part.
    let fixed = Distribution::rectangular(2.0, 2.0).unwrap();
    assert_eq!(
        (fixed.quantile(0.3), fixed.standard_uncertainty()),
        (2.0, 0.0)
    );
}
