//! How many operating points and AC responses a second, one thread.
//!
//! `cargo bench --bench circuit` prints solves a second of a linear network of
//! six nodes, for values that differ from solve to solve, and runs
//! `linear_solve.py` beside it where python3 with numpy is there: the same
//! network, the same values, in batches. The results of both must agree.
//! Without `--bench` everything runs once, quickly, so that it keeps working.

#![allow(clippy::print_stdout)] // A benchmark talks to whoever runs it.
#![allow(clippy::unwrap_used)] // Nothing here is meant to go on after a fault.

use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use ohmbook::circuit::{Aspect, Compiled, Diode, Kind, Network, Source, Wanted};

/// Networks in a batch; the batch is solved again and again.
const BATCH: usize = 4096;

/// Turns that both sides take.
const TURNS: usize = 5;

/// Resistors of the network: the nodes that each is between. Node 0 is ground.
const RESISTORS: [[usize; 2]; 14] = [
    [1, 0],
    [1, 2],
    [2, 0],
    [2, 3],
    [3, 0],
    [3, 4],
    [4, 0],
    [4, 5],
    [5, 0],
    [5, 6],
    [6, 0],
    [1, 4],
    [2, 5],
    [3, 6],
];

/// Resistance of resistor `at` in network `network` of the batch, in Ω: within
/// 1 % of its nominal value, and the same in the script.
fn resistance(network: usize, at: usize) -> f64 {
    let mixed = (network * 14 + at) * 7919 % 10_007;
    let share = mixed as f64 / 10_006.0;
    1000.0 * (at + 1) as f64 * (0.99 + 0.02 * share)
}

struct Case {
    network: Compiled,
    wanted: Wanted,
    batch: Vec<Vec<f64>>,
}

fn case(drive: Kind, load: Option<Kind>, wanted: impl Fn(&Compiled) -> Wanted) -> Case {
    let mut network = Network::new("0");
    network.add("S1", drive_nodes(&drive), drive);
    for (at, ends) in RESISTORS.iter().enumerate() {
        let kind = Kind::Resistor {
            resistance: resistance(0, at),
        };
        network.add(
            format!("R{}", at + 1),
            ends.map(|end| end.to_string()),
            kind,
        );
    }
    if let Some(load) = load {
        network.add("X1", ["6", "0"], load);
    }
    let network = network.compile().unwrap();
    let first = network.parameter("R1", "resistance").unwrap();
    let batch = (0..BATCH)
        .map(|at| {
            let mut parameters = network.nominal();
            for (resistor, place) in parameters[first..first + 14].iter_mut().enumerate() {
                *place = resistance(at, resistor);
            }
            parameters
        })
        .collect();
    let wanted = wanted(&network);
    Case {
        network,
        wanted,
        batch,
    }
}

/// A voltage source has its plus at node 1, a current source its head.
fn drive_nodes(drive: &Kind) -> [&'static str; 2] {
    match drive {
        Kind::CurrentSource(_) => ["0", "1"],
        _ => ["1", "0"],
    }
}

/// Solves a second in the middle one of so many rounds of a batch each: of
/// what else the machine does, neither much nor nothing counts.
fn median_rate(rounds: usize, mut round: impl FnMut()) -> f64 {
    let rates = (0..rounds).map(|_| {
        let start = Instant::now();
        round();
        BATCH as f64 / start.elapsed().as_secs_f64()
    });
    median(rates.collect())
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Solves a second, and the sum of the results over one batch.
fn measure(case: &Case, solves: usize, gradient: bool) -> (f64, f64) {
    let mut workspace = case.network.workspace();
    let mut slopes = case.network.nominal();
    let mut solve = |parameters: &[f64]| {
        let network = &case.network;
        if gradient {
            network.value_and_gradient_in(&mut workspace, parameters, &case.wanted, &mut slopes)
        } else {
            network.value_in(&mut workspace, parameters, &case.wanted)
        }
        .unwrap()
    };
    let sum = case.batch.iter().map(|parameters| solve(parameters)).sum();
    let rounds = solves.div_ceil(BATCH);
    let rate = median_rate(rounds, || {
        for parameters in &case.batch {
            black_box(solve(black_box(parameters)));
        }
    });
    (rate, sum)
}

/// What the script prints: solves a second, solving alone and with the
/// matrices made from the values; and the sum over one batch.
fn script(unknowns: usize, solves: usize) -> Option<[f64; 3]> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/linear_solve.py");
    let output = Command::new("python3")
        .arg(script)
        .args([unknowns.to_string(), solves.to_string()])
        // One thread, as this side has one.
        .env("OPENBLAS_NUM_THREADS", "1")
        .env("OMP_NUM_THREADS", "1")
        .output()
        .ok()
        .filter(|output| output.status.success())?;
    let text = String::from_utf8(output.stdout).ok()?;
    let numbers: Vec<f64> = text
        .split_whitespace()
        .map(|word| word.parse())
        .collect::<Result<_, _>>()
        .ok()?;
    numbers.try_into().ok()
}

/// Solves a second, and the sum of the results over one batch, when the whole
/// batch is asked for at once.
fn measure_batches(case: &Case, solves: usize) -> (f64, f64) {
    let mut workspace = case.network.workspace();
    let columns: Vec<Vec<f64>> = (0..case.network.parameters().len())
        .map(|at| case.batch.iter().map(|parameters| parameters[at]).collect())
        .collect();
    let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
    let mut results = vec![0.0; BATCH];
    let rate = median_rate(solves.div_ceil(BATCH), || {
        case.network
            .values_in(
                &mut workspace,
                black_box(&columns),
                &case.wanted,
                &mut results,
            )
            .unwrap();
    });
    (rate, results.iter().sum())
}

/// Measures one network in turns with the script, so that a busy time of the
/// machine is one for both, and prints the medians of rates and ratios.
fn compare(name: &str, case: &Case, unknowns: usize, solves: usize) {
    let (alone, sum) = measure(case, solves, false);
    println!(
        "{name}: {:.2} million solves a second, one by one",
        alone / 1e6
    );
    let mut turns = Vec::new();
    for _ in 0..TURNS {
        let (rate, batch_sum) = measure_batches(case, solves / TURNS);
        assert_eq!(sum, batch_sum, "batches give the same results");
        turns.push((rate, script(unknowns, solves / TURNS)));
    }
    let rate = median(turns.iter().map(|turn| turn.0).collect());
    println!("  in batches:                   {:.2} million", rate / 1e6);
    for (at, what) in ["equations given:      ", "made from the values: "]
        .into_iter()
        .enumerate()
    {
        let both = turns
            .iter()
            .filter_map(|&(rate, script)| Some((rate, script?)));
        let (rates, ratios): (Vec<f64>, Vec<f64>) = both
            .map(|(rate, script)| {
                let apart = (sum / script[2] - 1.0).abs();
                assert!(apart < 1e-10, "the results differ by {apart:e} of them");
                (script[at], rate / script[at])
            })
            .unzip();
        if rates.is_empty() {
            println!("  not compared: no python3 with numpy here");
            break;
        }
        println!(
            "  numpy, {what} {:.2} million, ratio {:.1}",
            median(rates) / 1e6,
            median(ratios)
        );
    }
}

fn main() {
    let in_earnest = std::env::args().any(|argument| argument == "--bench");
    let solves = if in_earnest { 1_000_000 } else { TURNS };
    let steady = |network: &Compiled| network.voltage("6").unwrap();

    let current = Kind::CurrentSource(Source::steady(1e-3));
    let by_current = case(current, None, steady);
    compare(
        "6 nodes, 6 unknowns (current source)",
        &by_current,
        6,
        solves,
    );

    let voltage = Kind::VoltageSource(Source::steady(5.0));
    let by_voltage = case(voltage, None, steady);
    compare(
        "6 nodes, 7 unknowns (voltage source)",
        &by_voltage,
        7,
        solves,
    );

    let (rate, _) = measure(&by_voltage, solves, true);
    println!(
        "the same with 14 derivatives: {:.2} million a second",
        rate / 1e6
    );

    let diode = Kind::Diode(Diode {
        saturation_current: 1e-14,
        ideality: 1.0,
        temperature: 298.15,
        series_resistance: None,
    });
    let with_diode = case(voltage, Some(diode), steady);
    let (rate, _) = measure(&with_diode, solves / 4, false);
    println!("with a diode: {:.2} million a second", rate / 1e6);

    let capacitor = Kind::Capacitor { capacitance: 1e-8 };
    let alternating = Kind::VoltageSource(Source::alternating(1.0));
    let filter = case(alternating, Some(capacitor), |network| {
        let transfer = network.transfer("1", "6").unwrap();
        transfer.at(1000.0, Aspect::Magnitude)
    });
    let (rate, _) = measure(&filter, solves / 4, false);
    println!("AC, with a capacitor: {:.2} million a second", rate / 1e6);
}
