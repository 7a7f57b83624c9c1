//! How long proving and binding the demo take, beside a floor.
//!
//! Whole processes are measured, from start to exit, as whoever types the
//! command meets them: `ohmbook prove content` and `ohmbook bind content`. The
//! floor is what cannot be done without: reading the same files and parsing the
//! same Markdown, in this process; and starting a process that does next to
//! nothing. Each is run some times to warm up, then in turns with the others,
//! so that a machine that grows busy slows all of them; medians are printed.
//! Nothing is asserted: times are of one machine.
//!
//! Run it with `cargo bench`, or for more rounds `cargo bench -- 200`.

#![allow(clippy::print_stdout)] // Printing is what it is for.

mod plain;

use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use pulldown_cmark::{Options, Parser};

use plain::{contents, files, write_plainly};

const PROGRAM: &str = env!("CARGO_BIN_EXE_ohmbook");
const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");

/// Rounds before those that count.
const WARM_UP: usize = 5;
/// Rounds that count, unless another number is given.
const ROUNDS: usize = 50;

/// Something that is measured.
struct Course {
    name: &'static str,
    /// What was aimed at, in milliseconds.
    aim: Option<f64>,
    run: Box<dyn FnMut() -> Duration>,
    took: Vec<Duration>,
}

impl Course {
    fn new(
        name: &'static str,
        aim: Option<f64>,
        run: impl FnMut() -> Duration + 'static,
    ) -> Course {
        Course {
            name,
            aim,
            run: Box::new(run),
            took: Vec::new(),
        }
    }

    /// The time that a share of the rounds kept under, in milliseconds.
    fn quantile(&self, share: f64) -> f64 {
        let mut took = self.took.clone();
        took.sort();
        let at = (share * (took.len() - 1) as f64).round() as usize;
        took[at].as_secs_f64() * 1e3
    }
}

fn timed(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

/// Runs the program to its end and sees that all went well.
fn run(arguments: &[&str]) {
    let mut command = Command::new(PROGRAM);
    command.args(arguments);
    command.stdin(Stdio::null());
    command.stdout(Stdio::null());
    command.stderr(Stdio::null());
    let status = command.status().expect("the program can be run");
    assert!(status.success(), "{arguments:?} ended with {status}");
}

/// Reads every file and parses what is Markdown or TOML, and makes nothing of it.
fn read_and_parse(files: &[PathBuf]) {
    let options =
        Options::ENABLE_TABLES | Options::ENABLE_FOOTNOTES | Options::ENABLE_STRIKETHROUGH;
    for path in files {
        let text = fs::read_to_string(path).expect("the demo is text");
        match path.extension().and_then(|extension| extension.to_str()) {
            Some("md") => {
                black_box(Parser::new_ext(&text, options).into_offset_iter().count());
            }
            Some("toml") => {
                black_box(toml::de::DeTable::parse(&text).is_ok());
            }
            _ => {
                black_box(text.len());
            }
        }
    }
}

fn main() {
    // `cargo bench` passes `--bench`, and `cargo test --benches` tries it once.
    let mut numbers = std::env::args().filter_map(|argument| argument.parse().ok());
    let is_trial = !std::env::args().any(|argument| argument == "--bench");
    let rounds: usize = numbers
        .next_back()
        .unwrap_or(if is_trial { 1 } else { ROUNDS });

    let folder = tempfile::tempdir().expect("a temporary folder can be made");
    let bound = folder.path().join("bound");
    let to = bound
        .to_str()
        .expect("temporary folders have plain names")
        .to_owned();
    run(&["bind", DEMO, "--to", &to]);
    let site = contents(&bound);
    let (count, bytes) = (site.len(), site.iter().map(|(_, b)| b.len()).sum::<usize>());
    let plain = folder.path().join("plain");

    let read = files(Path::new(DEMO));
    let sheets = read.len();
    let mut courses = [
        Course::new("floor: start a process (`--version`)", None, || {
            timed(|| run(&["--version"]))
        }),
        Course::new("floor: read and parse the same files", None, move || {
            timed(|| read_and_parse(&read))
        }),
        Course::new("floor: write as many bytes", None, move || {
            timed(|| write_plainly(&site, &plain))
        }),
        Course::new("ohmbook prove content", Some(50.0), || {
            timed(|| run(&["prove", DEMO]))
        }),
        Course::new("ohmbook bind content", Some(200.0), move || {
            timed(|| run(&["bind", DEMO, "--to", &to]))
        }),
        Course::new("ohmbook thin content", Some(500.0), || {
            timed(|| run(&["thin", DEMO]))
        }),
    ];
    for round in 0..WARM_UP + rounds {
        for course in &mut courses {
            let took = (course.run)();
            if round >= WARM_UP {
                course.took.push(took);
            }
        }
    }

    let build = if cfg!(debug_assertions) {
        "not optimised"
    } else {
        "optimised"
    };
    println!(
        "{sheets} files read, {count} files of {bytes} bytes written; {rounds} rounds, {build}"
    );
    println!(
        "{:<38} {:>9} {:>9} {:>9}  aim",
        "milliseconds", "median", "least", "90 %"
    );
    for course in &courses {
        let aim = course.aim.map_or(String::new(), |aim| format!("  < {aim}"));
        let [median, least, most] = [0.5, 0.0, 0.9].map(|share| course.quantile(share));
        println!(
            "{:<38} {median:>9.2} {least:>9.2} {most:>9.2}{aim}",
            course.name
        );
    }
    let [start, parse, write, prove, bind, _] = courses.map(|course| course.quantile(0.5));
    let floor = start + parse;
    println!(
        "prove is {:.1} times its floor (start, read and parse)",
        prove / floor
    );
    println!(
        "bind is {:.1} times its floor (the same, and write)",
        bind / (floor + write)
    );
}
