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
const TRIALS: u64 = 1 << 22;

fn main() {
    // Without `--bench` (as `cargo test` calls it) one short run shows that it
    // works.
    let in_earnest = std::env::args().any(|argument| argument == "--bench");
    let (trials, repeats) = if in_earnest {
        (TRIALS, 7)
    } else {
        (1 << 16, 1)
    };
    let numpy = numpy(trials, if in_earnest { 3 } else { 1 });
    println!("millions of trials a second, one thread, {trials} trials, best of {repeats}:");
    for shape in ["normal", "rectangular"] {
        let ours = best(shape, trials, repeats, 1);
        let two = best(shape, trials, repeats, 2);
        println!("  {shape}: ohmbook {ours:.1} ({two:.1} on two threads)");
        let line = numpy.iter().find(|line| line.shape == shape);
        match line {
            Some(line) => {
                let ratio = ours / line.with_interval;
                println!(
                    "    numpy SFC64, blocks of {}: {:.1}, ratio {ratio:.2} \
                     (without the interval {:.1}, ratio {:.2})",
                    line.block,
                    line.with_interval,
                    line.bare,
                    ours / line.bare,
                );
            }
            None => println!("    python3 with numpy is not here to compare with"),
        }
    }
}

/// Millions of trials a second.
fn best(shape: &str, trials: u64, repeats: u32, threads: usize) -> f64 {
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
        (0..repeats)
            .map(|_| {
                let start = Instant::now();
                let found = settings.run(&formula, &variables, &[]).unwrap();
                let interval = found.interval(CoverageRule::Symmetric);
                let seconds = start.elapsed().as_secs_f64();
                assert!(interval.contains(found.mean));
                trials as f64 / seconds / 1e6
            })
            .fold(0.0, f64::max)
    })
}

/// What numpy does, in millions of trials a second.
struct Numpy {
    shape: String,
    bare: f64,
    with_interval: f64,
    block: String,
}

/// Runs the script. Empty where there is no python3 with numpy.
fn numpy(trials: u64, repeats: u32) -> Vec<Numpy> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/divider.py");
    let output = Command::new("python3")
        .arg(script)
        .args([trials.to_string(), repeats.to_string()])
        .env("OMP_NUM_THREADS", "1")
        .output();
    let Ok(output) = output else {
        return Vec::new();
    };
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    text.lines()
        .filter_map(|line| {
            let columns: Vec<&str> = line.split(' ').collect();
            let [shape, bare, with_interval, block] = columns[..] else {
                return None;
            };
            Some(Numpy {
                shape: shape.to_owned(),
                bare: bare.parse().ok()?,
                with_interval: with_interval.parse().ok()?,
                block: block.to_owned(),
            })
        })
        .collect()
}
