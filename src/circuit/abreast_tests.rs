//! Many vectors at once, against one after the other.

use super::sample_tests::{Noise, Sort, compiled, random, resistor, silicon};
use super::*;

/// Vectors of parameters near the nominal one, a list for each parameter.
fn columns(network: &Compiled, count: usize, noise: &mut Noise) -> Vec<Vec<f64>> {
    network
        .nominal()
        .iter()
        .map(|nominal| {
            if noise.unit() < 0.2 {
                return vec![*nominal];
            }
            (0..count)
                .map(|_| nominal * noise.between(0.9, 1.1))
                .collect()
        })
        .collect()
}

fn one_by_one(network: &Compiled, columns: &[&[f64]], wanted: &Wanted, count: usize) -> Vec<f64> {
    let mut workspace = network.workspace();
    (0..count)
        .map(|at| {
            let parameters: Vec<f64> = columns
                .iter()
                .map(|column| column[at.min(column.len() - 1)])
                .collect();
            network
                .value_in(&mut workspace, &parameters, wanted)
                .unwrap()
        })
        .collect()
}

#[test]
fn every_result_is_the_same_to_the_last_bit() {
    let mut noise = Noise(31);
    for round in 0..200 {
        let sorts = [Sort::Resistive, Sort::Reactive, Sort::Everything];
        let network = compiled(&random(&mut noise, sorts[round % 3]));
        if !network.steady_faults().is_empty() {
            continue;
        }
        let count = noise.below(20);
        let columns = columns(&network, count, &mut noise);
        let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
        let mut workspace = network.workspace();
        let transfer = network.transfer("in", "2").unwrap();
        for wanted in [
            network.voltage("2").unwrap(),
            network.voltage_between("3", "in").unwrap(),
            network.current("V1").unwrap(),
            network.power("RT2").unwrap(),
            network.current("X1").unwrap(),
            network.power("X0").unwrap(),
            transfer.at(1000.0, Aspect::Phase),
        ] {
            let mut results = vec![0.0; count];
            network
                .values_in(&mut workspace, &columns, &wanted, &mut results)
                .unwrap();
            assert_eq!(results, one_by_one(&network, &columns, &wanted, count));
        }
    }
}

fn divider() -> Compiled {
    let mut network = Network::new("0");
    network
        .add("V1", ["in", "0"], Kind::VoltageSource(Source::steady(5.0)))
        .add("R1", ["in", "out"], resistor(1000.0))
        .add("R2", ["out", "0"], resistor(1000.0));
    compiled(&network)
}

/// Values far from those that the elimination was planned for: the plan is
/// given up for them alone, and nobody notices.
#[test]
fn values_far_from_the_plan_are_solved_too() {
    let mut noise = Noise(32);
    for _ in 0..50 {
        let network = compiled(&random(&mut noise, Sort::Resistive));
        let columns: Vec<Vec<f64>> = network
            .parameters()
            .iter()
            .map(|parameter| match parameter.name {
                "resistance" => (0..40).map(|_| noise.decades(1e-2, 1e7)).collect(),
                _ => vec![parameter.nominal],
            })
            .collect();
        let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
        let wanted = network.voltage("2").unwrap();
        let mut results = vec![0.0; 40];
        network
            .values_in(&mut network.workspace(), &columns, &wanted, &mut results)
            .unwrap();
        assert_eq!(results, one_by_one(&network, &columns, &wanted, 40));
    }
}

#[test]
fn a_fault_in_any_place_is_told() {
    let network = divider();
    let wanted = network.voltage("out").unwrap();
    let nominal = network.nominal();
    let resistor = network.parameter("R2", "resistance").unwrap();
    for at in 0..11 {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let mut values = vec![1000.0; 11];
            values[at] = bad;
            let mut columns: Vec<&[f64]> = nominal.chunks(1).collect();
            columns[resistor] = &values;
            let found =
                network.values_in(&mut network.workspace(), &columns, &wanted, &mut [0.0; 11]);
            assert!(
                matches!(&found, Err(CircuitFault::BadValue { element, .. }) if element == "R2"),
                "{at} {bad}: {found:?}"
            );
        }
    }
}

#[test]
fn lists_of_the_wrong_length_are_refused() {
    let network = divider();
    let wanted = network.voltage("out").unwrap();
    let nominal = network.nominal();
    let mut workspace = network.workspace();
    let mut columns: Vec<&[f64]> = nominal.chunks(1).collect();
    let mut results = [0.0; 3];
    let short = [1.0, 2.0];
    columns[0] = &short;
    let found = network.values_in(&mut workspace, &columns, &wanted, &mut results);
    let (needed, count) = (3, nominal.len());
    assert_eq!(
        found,
        Err(CircuitFault::ParameterCount { found: 2, needed })
    );
    let found = network.values_in(&mut workspace, &columns[1..], &wanted, &mut results);
    let needed = count;
    assert_eq!(
        found,
        Err(CircuitFault::ParameterCount {
            found: count - 1,
            needed
        })
    );
    let none: [&[f64]; 5] = [&[]; 5];
    assert_eq!(
        network.values_in(&mut workspace, &none, &wanted, &mut []),
        Ok(())
    );
}

#[test]
fn an_empty_batch_of_a_nonlinear_network() {
    let mut network = Network::new("0");
    network
        .add("V1", ["in", "0"], Kind::VoltageSource(Source::steady(5.0)))
        .add("R1", ["in", "out"], resistor(1000.0))
        .add("D1", ["out", "0"], silicon());
    let network = compiled(&network);
    let wanted = network.voltage("out").unwrap();
    let nominal = network.nominal();
    let columns: Vec<&[f64]> = nominal.chunks(1).collect();
    let mut workspace = network.workspace();
    assert_eq!(
        network.values_in(&mut workspace, &columns, &wanted, &mut []),
        Ok(())
    );
    let mut results = [0.0; 9];
    network
        .values_in(&mut workspace, &columns, &wanted, &mut results)
        .unwrap();
    assert!(results.iter().all(|result| *result == results[0]));
    assert!((0.6..0.8).contains(&results[0]));
}
