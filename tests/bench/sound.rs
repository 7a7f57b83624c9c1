//! What the demo's sounds cost, and how fast a phase accumulator runs.
//!
//! `cargo bench --bench sound` renders all notes and chords of the demo to the
//! bytes of their files and takes the spectrum of each; and fills a million
//! samples from a table of 256 entries, with `phase_accumulator.py` in turns with
//! it where python3 with numpy is there: `OHMBOOK_PYTHON` may name another one.
//! The sums of both must agree. Medians are printed; times are of one machine.
//! Without `--bench` everything runs once, quickly, so that it keeps working.

#![allow(clippy::print_stdout)] // A benchmark talks to whoever runs it.
#![allow(clippy::unwrap_used)] // Nothing here is meant to go on after a fault.

use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use camino::Utf8Path;
use jiff::civil::date;
use ohmbook::notebook::Notebook;
use ohmbook::trade::{Oscillator, Samples, Wave};
use realfft::RealFftPlanner;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
/// What rendering and analysing the demo is meant to stay under, in ms.
const AIM: f64 = 300.0;

/// Bits and increment of the accumulator: an A of 440 Hz at 44.1 kHz.
const BITS: u32 = 32;
const INCREMENT: u64 = 42_852_281;

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// All sounds of the demo, rendered anew.
fn rendered(notebook: &Notebook) -> Vec<Samples> {
    let boards = notebook.records.boards.iter().enumerate();
    let places =
        boards.flat_map(|(board, record)| (0..record.workings.len()).map(move |at| (board, at)));
    let worked = places.filter_map(|(board, at)| notebook.graph.working(board, at));
    let render = |worked: &ohmbook::notebook::Worked, sound: &ohmbook::trade::Sound| {
        let nominal = |name: &String| {
            let value = notebook.value(worked.nodes[name]).unwrap();
            value.outcome.nominal
        };
        let operands: Vec<f64> = sound.operands.iter().map(nominal).collect();
        sound.rendering.render(&operands).unwrap()
    };
    worked
        .flat_map(|worked| {
            worked
                .plan
                .sounds
                .iter()
                .map(move |sound| render(worked, sound))
        })
        .collect()
}

/// The frequency of the highest spectral line.
fn highest(planner: &mut RealFftPlanner<f64>, sound: &Samples) -> f64 {
    let mut samples: Vec<f64> = sound
        .samples
        .iter()
        .map(|&sample| f64::from(sample))
        .collect();
    let transform = planner.plan_fft_forward(samples.len());
    let mut lines = transform.make_output_vec();
    transform.process(&mut samples, &mut lines).unwrap();
    let powers = lines.iter().map(|line| line.norm_sqr()).enumerate();
    let (line, _) = powers.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    line as f64 * f64::from(sound.rate) / sound.samples.len() as f64
}

/// Milliseconds for a fill, and the sum over the samples.
fn script(count: usize, rounds: usize) -> Option<[f64; 2]> {
    let python = std::env::var("OHMBOOK_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let script = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/bench/phase_accumulator.py"
    );
    let output = Command::new(python)
        .arg(script)
        .args([count.to_string(), rounds.to_string()])
        .output()
        .ok()
        .filter(|output| output.status.success())?;
    let text = String::from_utf8(output.stdout).ok()?;
    let numbers: Option<Vec<f64>> = text
        .split_whitespace()
        .map(|word| word.parse().ok())
        .collect();
    numbers?.try_into().ok()
}

fn main() {
    let in_earnest = std::env::args().any(|argument| argument == "--bench");
    let (rounds, turns, count) = if in_earnest {
        (20, 5, 1_000_000)
    } else {
        (1, 1, 10_000)
    };

    let notebook = Notebook::load(Utf8Path::new(DEMO), date(2026, 6, 1));
    let (mut took, mut sounds, mut bytes) = (Vec::new(), 0, 0);
    for _ in 0..rounds {
        let start = Instant::now();
        let all = rendered(&notebook);
        let files: Vec<Vec<u8>> = all.iter().map(Samples::wav).collect();
        let mut planner = RealFftPlanner::new();
        for sound in &all {
            black_box(highest(&mut planner, sound));
        }
        took.push(start.elapsed().as_secs_f64() * 1e3);
        (sounds, bytes) = (all.len(), files.iter().map(Vec::len).sum());
    }
    println!(
        "{sounds} sounds of the demo, {} kB, rendered and analysed: {:.1} ms (aim {AIM:.0} ms)",
        bytes / 1000,
        median(took)
    );

    for interpolated in [false, true] {
        let wave = Wave::new(8, 8, &[1.0], interpolated).unwrap();
        let mut samples = vec![0; count];
        let (mut took, mut ratios) = (Vec::new(), Vec::new());
        for _ in 0..turns {
            let mut times = Vec::new();
            for _ in 0..rounds {
                let mut oscillator = Oscillator::new(BITS, INCREMENT);
                let start = Instant::now();
                wave.fill(&mut oscillator, black_box(&mut samples));
                times.push(start.elapsed().as_secs_f64() * 1e3);
            }
            let own = median(times);
            took.push(own);
            if !interpolated && let Some([theirs, sum]) = script(count, rounds) {
                let own_sum: i64 = samples.iter().map(|&sample| i64::from(sample)).sum();
                assert_eq!(own_sum as f64, sum, "both give the same samples");
                ratios.push(theirs / own);
            }
        }
        let how = if interpolated {
            "interpolated"
        } else {
            "as they stand"
        };
        println!(
            "{count} samples of a phase accumulator, entries {how}: {:.3} ms",
            median(took)
        );
        if !interpolated {
            match ratios.is_empty() {
                true => println!("  not compared: no python3 with numpy here"),
                false => println!("  numpy takes {:.1} times as long", median(ratios)),
            }
        }
    }
}
