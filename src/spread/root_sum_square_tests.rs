//! Laws of propagation, held against what is published and what chance gives.

#![allow(clippy::unwrap_used)]

use super::*;
use crate::formula::Formula;
use crate::spread::{MonteCarlo, Reel, Trials, Variable};

fn of(text: &str, inputs: &[Uncertain], correlations: &Correlations) -> Combined {
    combine(&Formula::parse(text).unwrap(), inputs, correlations).unwrap()
}

fn exactly(count: u64) -> MonteCarlo {
    MonteCarlo {
        trials: Trials::Exactly(count),
        ..MonteCarlo::new(4)
    }
}

#[test]
fn shares_add_up_and_the_largest_comes_first() {
    let inputs = [Uncertain::new(1.0, 0.1), Uncertain::new(2.0, 0.3)];
    let sum = of("a + b", &inputs, &Correlations::none());
    assert!((sum.uncertainty - 0.1f64.hypot(0.3)).abs() < 1e-15);
    assert_eq!(sum.by_share(), [1, 0]);
    let shares: f64 = sum.contributions.iter().map(|part| part.share).sum();
    assert!((shares - 1.0).abs() < 1e-15);
    assert!((sum.contributions[0].share - 0.1).abs() < 1e-15);
}

#[test]
fn correlation_can_cancel_and_can_be_impossible() {
    let inputs = [Uncertain::new(1.0, 0.1); 3];
    let mut together = Correlations::none();
    together.set(0, 1, 1.0).unwrap();
    assert_eq!(of("a - b", &inputs[..2], &together).uncertainty, 0.0);
    assert!((of("a + b", &inputs[..2], &together).uncertainty - 0.2).abs() < 1e-15);
    // Three inputs cannot all run against each other.
    let mut against = Correlations::none();
    for (i, j) in [(0, 1), (0, 2), (1, 2)] {
        against.set(i, j, -1.0).unwrap();
    }
    let formula = Formula::parse("a + b + c").unwrap();
    let fault = combine(&formula, &inputs, &against).unwrap_err();
    assert_eq!(fault, CombinationFault::Correlations);
}

/// Straight formulas: the law of propagation is exact, and trials differ from
/// it only by chance.
#[test]
fn trials_of_straight_formulas_have_the_combined_uncertainty() {
    let reel = |share| Some(Reel { key: 5, share });
    let variables = [
        Variable::new(1, Distribution::normal(1.0, 0.2).unwrap()),
        Variable {
            key: 2,
            distribution: Distribution::rectangular(1.5, 2.5).unwrap(),
            reel: reel(0.7),
        },
        Variable {
            key: 3,
            distribution: Distribution::rectangular(9.0, 9.8).unwrap(),
            reel: reel(0.7),
        },
        Variable::new(4, Distribution::arc_sine(-0.1, 0.1).unwrap()),
    ];
    let inputs = variables
        .clone()
        .map(|variable| Uncertain::of_distribution(&variable.distribution));
    let correlations = Correlations::of_reels(&variables);
    for text in ["a + b + c + x", "2*a + 3*b - 4*c + x/2", "a - b + c - 7*x"] {
        let law = of(text, &inputs, &correlations);
        let formula = Formula::parse(text).unwrap();
        let trials = exactly(200_000).run(&formula, &variables, &[]).unwrap();
        let errors = trials.errors.unwrap();
        let off = (trials.deviation - law.uncertainty).abs();
        assert!(off < 4.0 * errors.deviation, "{text}: {off} {errors:?}");
        let off = (trials.mean - law.estimate).abs();
        assert!(off < 4.0 * errors.mean, "{text}: {off} {errors:?}");
    }
}

/// The product of two independent values about zero has no slope there: all of
/// its variance is of second order, and exactly the product of both variances.
#[test]
fn second_order_is_exact_for_a_product() {
    let inputs = [Uncertain::new(0.0, 0.3), Uncertain::new(0.0, 2.0)];
    let formula = Formula::parse("a * b").unwrap();
    let first = combine(&formula, &inputs, &Correlations::none()).unwrap();
    assert_eq!(first.uncertainty, 0.0);
    let second = combine_second_order(&formula, &inputs).unwrap();
    assert!((second.uncertainty - 0.6).abs() < 1e-15);
    assert_eq!(second.second_order[0].inputs, (0, 1));
    // And of a square of a normal value: 2 σ⁴ + 4 μ² σ².
    let square = Formula::parse("a^2").unwrap();
    let found = combine_second_order(&square, &[Uncertain::new(1.5, 0.4)]).unwrap();
    let exact = 2.0 * 0.4f64.powi(4) + 4.0 * 1.5f64.powi(2) * 0.4f64.powi(2);
    assert!((found.uncertainty.powi(2) - exact).abs() < 1e-14);
}

/// Third derivatives by nested gradients against those worked out by hand.
#[test]
fn third_derivatives_are_right() {
    let formula = Formula::parse("exp(2*a) * b^3 + sin(a) / b").unwrap();
    let (a, b): (f64, f64) = (0.3, 1.7);
    let inputs = [Uncertain::new(a, 0.01), Uncertain::new(b, 0.02)];
    let found = combine_second_order(&formula, &inputs).unwrap();
    let e = (2.0 * a).exp();
    let (f1, f2) = (
        2.0 * e * b.powi(3) + a.cos() / b,
        3.0 * e * b * b - a.sin() / (b * b),
    );
    let f12 = 6.0 * e * b * b - a.cos() / (b * b);
    let f122 = 12.0 * e * b + 2.0 * a.cos() / b.powi(3);
    let f211 = 12.0 * e * b * b + a.sin() / (b * b);
    let exact = (f12 * f12 + f1 * f122 + f2 * f211) * (0.01f64 * 0.02).powi(2);
    let pair = found
        .second_order
        .iter()
        .find(|pair| pair.inputs == (0, 1))
        .unwrap();
    assert!((pair.variance / exact - 1.0).abs() < 1e-12);
}

#[test]
fn few_degrees_of_freedom_widen_the_interval() {
    let few = Uncertain {
        degrees_of_freedom: 4.0,
        ..Uncertain::new(10.0, 0.1)
    };
    let one = of("a", &[few], &Correlations::none());
    assert_eq!(one.degrees_of_freedom, Some(4.0));
    assert!((one.coverage_factor(0.95) - 2.7764451051977987).abs() < 1e-12);
    let exact = of("a", &[Uncertain::new(10.0, 0.1)], &Correlations::none());
    assert!((exact.expanded(0.95) - 0.1959963984540054).abs() < 1e-15);
    assert!((exact.interval(0.95).low() - 9.804003601545995).abs() < 1e-12);
    let mut correlations = Correlations::none();
    correlations.set(0, 1, 0.5).unwrap();
    assert_eq!(
        of("a + b", &[few, few], &correlations).degrees_of_freedom,
        None
    );
    let certain = of("a", &[Uncertain::new(1.0, 0.0)], &Correlations::none());
    assert_eq!((certain.uncertainty, certain.by_share().len()), (0.0, 0));
}

#[test]
fn a_tolerance_stays_a_tolerance_with_divisor_one() {
    let input = Input {
        nominal: 100.0,
        low: 95.0,
        high: 101.0,
    };
    assert_eq!(Uncertain::of_limits(&input, 1.0).uncertainty, 5.0);
    let rectangular = Uncertain::of_limits(&input, 3f64.sqrt());
    assert!((rectangular.uncertainty - 5.0 / 3f64.sqrt()).abs() < 1e-15);
}

#[test]
fn a_fault_of_the_response_is_passed_on() {
    let formula = Formula::parse("1 / a").unwrap();
    let fault = combine(&formula, &[Uncertain::new(0.0, 1.0)], &Correlations::none());
    assert!(matches!(fault, Err(CombinationFault::Response(_))));
}
