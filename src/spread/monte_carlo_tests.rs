//! What comes by chance, held against what comes out exactly.

#![allow(clippy::unwrap_used)]

use super::*;
use crate::formula::Formula;
use crate::spread::{Distribution, Input, Reel, Sampled, StandardErrors, worst_case};

fn divider() -> (Formula, Vec<Variable>) {
    let formula = Formula::parse("supply * R2 / (R1 + R2)").unwrap();
    let normal = |mean: f64, tolerance: f64| {
        Distribution::normal_expanded(mean, mean * tolerance, 3.0).unwrap()
    };
    let variables = vec![
        Variable::new(1, normal(5.0, 0.02)),
        Variable::new(2, Distribution::triangular(19_800.0, 20_200.0).unwrap()),
        Variable::new(3, Distribution::rectangular(9_900.0, 10_100.0).unwrap()),
    ];
    (formula, variables)
}

fn exactly(count: u64) -> MonteCarlo {
    MonteCarlo {
        trials: Trials::Exactly(count),
        ..MonteCarlo::new(2008)
    }
}

fn run(settings: MonteCarlo) -> Sampled {
    let (formula, variables) = divider();
    let range = Interval::new(3.3, 3.35);
    settings.run(&formula, &variables, &[range]).unwrap()
}

#[test]
fn threads_change_no_bit() {
    let with = |threads: usize, settings: MonteCarlo| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        pool.build().unwrap().install(|| run(settings))
    };
    for settings in [exactly(30_000), exactly(250_123), MonteCarlo::new(1)] {
        assert_eq!(with(1, settings), with(2, settings));
        assert_eq!(with(2, settings), with(3, settings));
    }
}

#[test]
fn a_seed_repeats_and_another_differs() {
    let of = |seed: u64| {
        run(MonteCarlo {
            seed,
            ..exactly(50_000)
        })
    };
    assert_eq!(of(1), of(1));
    assert_ne!(of(1).mean.to_bits(), of(2).mean.to_bits());
    let chance = of(1).errors.unwrap().mean;
    assert!((of(1).mean - of(2).mean).abs() < 5.0 * 1.5 * chance);
}

#[test]
fn the_order_of_the_variables_does_not_matter() {
    let (formula, variables) = divider();
    let settings = exactly(20_000);
    let one = settings.run(&formula, &variables, &[]).unwrap();
    let other_way = Formula::parse("R2 / (R1 + R2) * supply").unwrap();
    let names: Vec<_> = other_way
        .names()
        .iter()
        .map(|name| name.name.clone())
        .collect();
    assert_eq!(names, ["R2", "R1", "supply"]);
    let [v, r2, r1] = &variables[..] else {
        panic!()
    };
    let reordered = [r2.clone(), r1.clone(), v.clone()];
    let other = settings.run(&other_way, &reordered, &[]).unwrap();
    assert!((one.mean - other.mean).abs() < 1e-13);
    assert!((one.least - other.least).abs() < 1e-13);
}

#[test]
fn as_many_trials_are_made_as_are_asked_for() {
    for count in [1, 2, 1000, 1025, 10_240, 20_479, 20_481, 250_000] {
        let found = run(exactly(count));
        assert_eq!((found.trials, found.without_value), (count, 0));
        assert_eq!(found.yields[0].trials, count);
        assert_eq!(found.errors.is_some(), count >= 20_480, "{count}");
    }
    assert_eq!(run(exactly(1)).deviation, 0.0);
}

/// More trials begin with the same ones: nothing that a run finds depends on
/// where its batches end.
#[test]
fn a_longer_run_begins_with_the_shorter_one() {
    let formula = Formula::parse("max(x, 0) + min(x, 0)").unwrap();
    let part = [Variable::new(
        4,
        Distribution::rectangular(0.0, 1.0).unwrap(),
    )];
    let of = |count| exactly(count).run(&formula, &part, &[]).unwrap();
    let (short, long) = (of(5000), of(9000));
    assert!(long.least <= short.least && long.greatest >= short.greatest);
    assert_eq!(of(5000).mean.to_bits(), short.mean.to_bits());
}

#[test]
fn the_worst_case_encloses_every_trial() {
    let formulas = [
        "supply * R2 / (R1 + R2)",
        "R1 * R2 - supply^2",
        "parallel(supply, R1, R2)",
    ];
    for text in formulas {
        let formula = Formula::parse(text).unwrap();
        let inputs = [5.0, 2.0, 3.0].map(|nominal| Input {
            nominal,
            low: nominal * 0.9,
            high: nominal * 1.1,
        });
        let variables: Vec<Variable> = inputs
            .iter()
            .enumerate()
            .map(|(at, input)| {
                // U-shaped: corners come often.
                let shape = Distribution::arc_sine(input.low, input.high);
                Variable::new(at as u64, shape.unwrap())
            })
            .collect();
        let found = exactly(100_000).run(&formula, &variables, &[]).unwrap();
        let worst = worst_case(&formula, &inputs).unwrap();
        let whole = worst.high.value - worst.low.value;
        assert!(worst.low.bound <= found.least && found.greatest <= worst.high.bound);
        // And is not far from what really comes.
        assert!(found.least - worst.low.value < 0.01 * whole, "{text}");
        assert!(worst.high.value - found.greatest < 0.01 * whole, "{text}");
    }
}

#[test]
fn trials_go_on_until_the_digits_stay() {
    let coarse = run(MonteCarlo {
        trials: Trials::Digits(1),
        ..MonteCarlo::new(3)
    });
    let fine = run(MonteCarlo {
        trials: Trials::Within(2e-4),
        ..MonteCarlo::new(3)
    });
    for found in [&coarse, &fine] {
        assert_eq!(found.stabilised, Some(true));
        assert!(2.0 * found.errors.unwrap().greatest() <= found.tolerance.unwrap());
    }
    assert!(fine.trials > coarse.trials);
    let short = MonteCarlo {
        trials: Trials::Within(1e-9),
        most_trials: 100_000,
        ..MonteCarlo::new(3)
    };
    let short = run(short);
    assert_eq!(short.stabilised, Some(false));
    assert!(short.trials <= 100_000);
}

/// What is said to be left to chance is what differs between seeds.
#[test]
fn standard_errors_are_those_that_seeds_show() {
    for rule in [CoverageRule::Symmetric, CoverageRule::Shortest] {
        let runs: Vec<Sampled> = (0..12)
            .map(|seed| {
                run(MonteCarlo {
                    seed,
                    rule,
                    ..exactly(180_000)
                })
            })
            .collect();
        let scatter = |of: &dyn Fn(&Sampled) -> f64| {
            Moments::of(&runs.iter().map(of).collect::<Vec<f64>>()).deviation()
        };
        let usual = |of: &dyn Fn(&StandardErrors) -> f64| {
            let errors: Vec<f64> = runs.iter().map(|run| of(&run.errors.unwrap())).collect();
            Moments::of(&errors).mean()
        };
        for ratio in [
            scatter(&|run| run.mean) / usual(&|errors| errors.mean),
            scatter(&|run| run.deviation) / usual(&|errors| errors.deviation),
            scatter(&|run| run.interval(rule).low()) / usual(&|errors| errors.low),
            scatter(&|run| run.interval(rule).high()) / usual(&|errors| errors.high),
        ] {
            // A deviation from twelve values is itself known within a factor
            // of 0.45 to 1.6 at 99 %.
            assert!((0.45..1.6).contains(&ratio), "{rule:?}: {ratio}");
        }
    }
}

#[test]
fn cells_give_what_sorting_gives() {
    let blocks = 200;
    let found = run(exactly(blocks * LANES as u64));
    let (formula, variables) = divider();
    let plan = Plan::new(&formula, &variables, 2008);
    let mut values = Vec::new();
    (0..blocks).for_each(|block| plan.run(block, LANES, &mut values));
    values.sort_unstable_by(f64::total_cmp);
    assert_eq!(
        (found.least, found.greatest),
        (values[0], values[values.len() - 1])
    );
    let sorted = Quantiles::Sorted(values);
    for p in [0.001, 0.025, 0.5, 0.975, 0.999] {
        let off = (found.quantile(p) - sorted.at(p)).abs();
        // A cell is narrower than that.
        assert!(off < 2e-3 * found.deviation, "{p}: {off}");
    }
    let edges = [3.2, 3.3, 3.35, 3.4, 3.5];
    let shares = found.shares_between(&edges);
    assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-3);
    assert!((shares[1] - found.yields[0].share()).abs() < 2e-4);
}

#[test]
fn a_yield_is_the_share_of_the_distribution() {
    let formula = Formula::parse("x").unwrap();
    let part = [Variable::new(8, Distribution::normal(0.0, 1.0).unwrap())];
    let ranges = [
        Interval::new(-1.0, 1.0),
        Interval::new(f64::NEG_INFINITY, 2.0),
        Interval::ALL,
    ];
    let found = exactly(300_000).run(&formula, &part, &ranges).unwrap();
    let exact = [0.682689492137086, 0.977249868051821];
    for (found, exact) in found.yields.iter().zip(exact) {
        let off = (found.share() - exact).abs();
        assert!(off < 4.0 * found.standard_error(), "{found:?}");
        assert!(found.wilson_interval(0.9999).contains(exact));
    }
    assert_eq!(found.yields[2].share(), 1.0);
}

#[test]
fn trials_without_a_value_miss_every_requirement() {
    let formula = Formula::parse("sqrt(x)").unwrap();
    let part = [Variable::new(
        8,
        Distribution::rectangular(-1.0, 3.0).unwrap(),
    )];
    let found = exactly(40_000)
        .run(&formula, &part, &[Interval::ALL])
        .unwrap();
    let share = found.without_value as f64 / 40_000.0;
    assert!((share - 0.25).abs() < 4.0 * (0.25 * 0.75 / 40_000f64).sqrt());
    assert_eq!(found.yields[0].met, 40_000 - found.without_value);
    let never = Formula::parse("sqrt(x - 9)").unwrap();
    assert_eq!(
        exactly(100).run(&never, &part, &[]),
        Err(MonteCarloFault::NoValue)
    );
}

#[test]
fn a_figure_without_spread_has_none() {
    let formula = Formula::parse("2 * x").unwrap();
    let fixed = [Variable::new(
        1,
        Distribution::rectangular(3.0, 3.0).unwrap(),
    )];
    let found = MonteCarlo::new(1).run(&formula, &fixed, &[]).unwrap();
    assert_eq!((found.mean, found.deviation), (6.0, 0.0));
    assert_eq!(
        found.interval(CoverageRule::Shortest),
        Interval::new(6.0, 6.0)
    );
    assert_eq!(found.stabilised, Some(true));
    let nothing = Formula::parse("2 * 3").unwrap();
    let found = exactly(300_000).run(&nothing, &[], &[]).unwrap();
    assert_eq!(found.quantile(0.3), 6.0);
}

#[test]
fn settings_that_make_no_sense_are_refused() {
    let (formula, variables) = divider();
    let with = |change: fn(&mut MonteCarlo)| {
        let mut settings = exactly(1000);
        change(&mut settings);
        settings.run(&formula, &variables, &[]).unwrap_err()
    };
    assert_eq!(with(|s| s.coverage = 1.0), MonteCarloFault::Coverage(1.0));
    assert_eq!(
        with(|s| s.trials = Trials::Exactly(0)),
        MonteCarloFault::Trials
    );
    assert_eq!(
        with(|s| s.trials = Trials::Digits(9)),
        MonteCarloFault::Trials
    );
    assert_eq!(
        with(|s| s.trials = Trials::Within(f64::NAN)),
        MonteCarloFault::Trials
    );
    let mut reeled = variables.clone();
    reeled[0].reel = Some(Reel { key: 1, share: 1.5 });
    let fault = exactly(10).run(&formula, &reeled, &[]).unwrap_err();
    assert_eq!(fault, MonteCarloFault::Share(1.5));
}

/// The examples of JCGM 101:2008, 7.9.2 (from memory).
#[test]
fn the_numerical_tolerance_is_half_of_the_last_digit() {
    let close = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-12;
    assert!(close(numerical_tolerance(0.00035, 2), 0.000005));
    assert!(close(numerical_tolerance(0.00035, 1), 0.00005));
    assert!(close(numerical_tolerance(2.0, 1), 0.5));
    assert!(close(numerical_tolerance(0.0996, 2), 0.005));
    assert_eq!(numerical_tolerance(0.0, 2), 0.0);
}
