//! Systems solved by a plan, and without one.

use num_complex::Complex64;

use super::lu::Number;
use super::plan::{Plan, Stamp};
use super::sample_tests::Noise;

/// A sparse matrix with something in every row and column.
fn stamps(order: usize, noise: &mut Noise) -> Vec<Stamp> {
    let mut stamps = Vec::new();
    let mut add = |row, column, sign| {
        let term = stamps.len();
        stamps.push(Stamp {
            row,
            column,
            term,
            sign,
        });
    };
    for row in 0..order {
        add(row, (row + 2) % order, 1.0);
        // Some of these are the reference node's and have no effect.
        for column in 0..=order {
            if noise.unit() > 0.7 {
                add(row, column, if noise.unit() > 0.5 { 1.0 } else { -1.0 });
            }
        }
    }
    stamps
}

fn check<N: Number>(number: impl Fn(&mut Noise) -> N) {
    let mut noise = Noise(9);
    let mut by_plan = 0;
    for round in 0..200 {
        let order = 1 + round % 12;
        let stamps = stamps(order, &mut noise);
        let mut terms = || -> Vec<N> { stamps.iter().map(|_| number(&mut noise)).collect() };
        let typical = terms();
        let plan = Plan::new(order, stamps.clone(), &typical);
        // Half of the values are those that were planned for.
        let terms = if round % 2 == 0 { typical } else { terms() };
        let mut system = plan.system::<N>();
        if system.factor(&plan, &terms).is_err() || system.weakest().share < 1e-6 {
            continue;
        }
        by_plan += u32::from(system.by_plan);
        let truth: Vec<N> = (0..order).map(|_| number(&mut noise)).collect();
        let product = |transposed: bool| -> Vec<N> {
            let mut b = vec![N::ZERO; order];
            for stamp in &stamps {
                let (row, column) = (stamp.row, stamp.column);
                if column < order {
                    let value = terms[stamp.term].scaled(stamp.sign);
                    let (to, from) = if transposed {
                        (column, row)
                    } else {
                        (row, column)
                    };
                    b[to] = b[to] + value * truth[from];
                }
            }
            b
        };
        for transposed in [false, true] {
            let mut x = product(transposed);
            if transposed {
                system.solve_transposed(&plan, &mut x);
            } else {
                system.solve(&plan, &mut x);
            }
            for (&x, &truth) in x.iter().zip(&truth) {
                assert!((x - truth).size() < 1e-6, "order {order}");
            }
        }
    }
    assert!(by_plan > 80, "{by_plan} by their plan");
}

#[test]
fn solves_what_it_multiplied() {
    check(|noise| noise.between(-1.0, 1.0));
    check(|noise| Complex64::new(noise.between(-1.0, 1.0), noise.between(-1.0, 1.0)));
}

#[test]
fn values_that_do_not_suit_the_plan_are_solved_without_it() {
    let at = |row, column, term| Stamp {
        row,
        column,
        term,
        sign: 1.0,
    };
    let stamps = vec![at(0, 0, 0), at(0, 1, 1), at(1, 0, 1), at(1, 1, 0)];
    let plan = Plan::new(2, stamps, &[2.0, 1.0]);
    let mut system = plan.system();
    for (terms, by_plan) in [
        ([2.0, 1.0], true),
        ([1e-9, 1.0], false),
        ([0.0, 1.0], false),
    ] {
        assert_eq!(system.factor(&plan, &terms), Ok(()));
        assert_eq!(system.by_plan, by_plan);
        let mut x = [terms[0] + 2.0 * terms[1], terms[1] + 2.0 * terms[0]];
        system.solve(&plan, &mut x);
        assert!((x[0] - 1.0).abs() < 1e-12 && (x[1] - 2.0).abs() < 1e-12);
    }
    assert_eq!(
        system.factor(&plan, &[1.0, 1.0]).map_err(|p| p.column),
        Err(1)
    );
    assert!(system.factor(&plan, &[f64::NAN, 1.0]).is_err());
}

#[test]
fn there_is_no_plan_for_a_matrix_of_zeros() {
    let stamp = Stamp {
        row: 0,
        column: 0,
        term: 0,
        sign: 1.0,
    };
    let plan = Plan::new(1, vec![stamp], &[0.0]);
    assert!(!plan.is_made());
    let mut system = plan.system();
    assert!(system.factor(&plan, &[0.0]).is_err());
    assert_eq!(system.factor(&plan, &[4.0]), Ok(()));
    let mut x = [2.0];
    system.solve(&plan, &mut x);
    assert_eq!(x, [0.5]);
}
