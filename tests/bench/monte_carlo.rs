//! Trials a second of a divider figure on one thread, beside numpy.
//!
//! Run with `cargo bench --bench monte_carlo`. Where `python3` has numpy, the
//! same job is done by `divider.py` in the same run, and the ratio is printed;
//! the goal is 3 at least. Ohmbook's trials always gather what the interval
//! needs; numpy is timed without the interval too.

#![allow(clippy::unwrap_used)] // A bench that cannot run shall say so loudly.
#![allow(clippy::print_stdout)] // Printing is all that it does.

use std::process::Command;
use std::time::Instant;

use ohmbook::formula::Formula;
use ohmbook::spread::{CoverageRule, Distribution, MonteCarlo, Trials, Variable};

/// Trials in a run; enough that nothing but trials takes time.
const TRIALS: u64 = 1 << 21;
/// Both are timed in turns, and the medians count: a busy machine is as busy
/// for one as for the other.
const TURNS: usize = 7;
/// Runs in a turn, the middle one of which counts.
const RUNS: usize = 5;

fn main() {
    // Without `--bench` (as `cargo test` calls it) one short turn shows that it
    // works.
    let in_earnest = std::env::args().any(|argument| argument == "--bench");
    let (trials, turns) = if in_earnest {
        (TRIALS, TURNS)
    } else {
        (1 << 16, 1)
    };
    let mut shapes = ["normal", "rectangular"].map(|shape| Timed {
        shape,
        ..Timed::default()
    });
    for _ in 0..turns {
        let lines = numpy(trials);
        for timed in &mut shapes {
            let shape = timed.shape;
            let (rate, results) = self::rate(shape, trials, 1);
            let (on_two, others) = self::rate(shape, trials, 2);
            assert_eq!(results, others, "threads change no bit");
            timed.one_thread.push(rate);
            timed.two_threads.push(on_two);
            for line in lines.iter().filter(|line| line.shape == shape) {
                timed.numpy.push(line.with_interval);
                timed.ratio.push(rate / line.with_interval);
                timed.numpy_bare.push(line.bare);
                timed.ratio_bare.push(rate / line.bare);
            }
        }
    }
    println!("millions of trials a second, {trials} trials, medians of {turns} turns:");
    for timed in shapes {
        println!(
            "  {}: ohmbook {:.1} ({:.1} on two threads)",
            timed.shape,
            median(timed.one_thread),
            median(timed.two_threads)
        );
        if timed.numpy.is_empty() {
            println!("    python3 with numpy is not here to compare with");
            continue;
        }
        println!(
            "    numpy SFC64 {:.1}, ratio {:.2} (without the interval {:.1}, ratio {:.2})",
            median(timed.numpy),
            median(timed.ratio),
            median(timed.numpy_bare),
            median(timed.ratio_bare),
        );
    }
}

/// Millions of trials a second in each turn, for one shape of the
/// distributions, and their ratios to those of the script.
#[derive(Default)]
struct Timed {
    shape: &'static str,
    one_thread: Vec<f64>,
    two_threads: Vec<f64>,
    numpy: Vec<f64>,
    ratio: Vec<f64>,
    numpy_bare: Vec<f64>,
    ratio_bare: Vec<f64>,
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Millions of trials a second, and what they result in.
fn rate(shape: &str, trials: u64, threads: usize) -> (f64, [f64; 4]) {
    let formula = Formula::parse("supply * R2 / (R1 + R2)").unwrap();
    let parts = [(5.0, 0.02), (20e3, 0.01), (10e3, 0.01)];
    let variables: Vec<Variable> = (1..)
        .zip(parts)
        .map(|(key, (nominal, tolerance))| {
            let reach = nominal * tolerance;
            let distribution = match shape {
                "normal" => Distribution::normal_expanded(nominal, reach, 3.0),
                _ => Distribution::rectangular(nominal - reach, nominal + reach),
            };
            Variable::new(key, distribution.unwrap())
        })
        .collect();
    let settings = MonteCarlo {
        trials: Trials::Exactly(trials),
        ..MonteCarlo::new(2008)
    };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
    pool.build().unwrap().install(|| {
        let run = |_| {
            let start = Instant::now();
            let found = settings.run(&formula, &variables, &[]).unwrap();
            let interval = found.interval(CoverageRule::Symmetric);
            let seconds = start.elapsed().as_secs_f64();
            assert!(interval.contains(found.mean));
            let results = [found.mean, found.deviation, interval.low(), interval.high()];
            (trials as f64 / seconds / 1e6, results)
        };
        let (rates, results): (Vec<f64>, Vec<[f64; 4]>) = (0..RUNS).map(run).unzip();
        (median(rates), results[0])
    })
}

/// What numpy does, in millions of trials a second.
struct Numpy {
    shape: String,
    bare: f64,
    with_interval: f64,
}

/// Runs the script. Empty where there is no python3 with numpy.
fn numpy(trials: u64) -> Vec<Numpy> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/divider.py");
    let output = Command::new("python3")
        .arg(script)
        .args([trials.to_string(), RUNS.to_string()])
        .env("OMP_NUM_THREADS", "1")
        .output();
    let Ok(output) = output else {
        return Vec::new();
    };
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    text.lines()
        .filter_map(|line| {
            let columns: Vec<&str> = line.split(' ').collect();
            let [shape, bare, with_interval] = columns[..] else {
                return None;
            };
            Some(Numpy {
                shape: shape.to_owned(),
                bare: bare.parse().ok()?,
                with_interval: with_interval.parse().ok()?,
            })
        })
        .collect()
}
