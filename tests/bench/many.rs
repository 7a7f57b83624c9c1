//! A notebook of a thousand boards and ten thousand figures: a bind beside its
//! floor, a save beside a bind, ten thousand boards beside a thousand.
//!
//! The floor reads the same files, puts the same Markdown through pulldown-cmark
//! and writes the same bytes. Binds are whole processes into a folder that is not
//! there yet; memory is the most that the system saw such a process hold. Medians
//! and ratios are printed and nothing is asserted: times are of one machine.
//!
//! Run it with `cargo bench --bench many`, and with another number of boards by
//! `cargo bench --bench many -- 200`; the tenfold line is left out then.

#![allow(clippy::print_stdout)] // Printing is what it is for.

mod dice;
mod median;
mod news;
mod plain;

use std::fmt::Write;
use std::fs;
use std::hint::black_box;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use camino::{Utf8Path, Utf8PathBuf};
use pulldown_cmark::{Options, Parser, html};

use dice::Dice;
use median::median;
use plain::{contents, files, write_plainly};

const BOARDS: usize = 1000;
const ROUNDS: usize = 5;
/// Words that sheets are filled with.
const WORDS: [&str; 12] = [
    "board", "current", "divider", "takes", "from", "the", "supply", "and", "holds", "a", "lamp",
    "within",
];
/// Figures of each board, by their formulas.
const FIGURES: [(&str, &str); 10] = [
    ("upper", "R1"),
    ("lower", "R2"),
    ("sum", "R1 + R2"),
    ("tap", "5 V * R2 / (R1 + R2)"),
    ("load", "parallel(R2, R3)"),
    ("loaded", "5 V * load / (R1 + load)"),
    ("sag", "tap - loaded"),
    ("drain", "5 V / (R1 + load)"),
    ("heat", "5 V * drain"),
    ("share", "loaded / (5 V)"),
];

fn main() {
    let stated = std::env::args().find_map(|argument| argument.parse().ok());
    let boards: usize = stated.unwrap_or(BOARDS);
    let dir = tempfile::tempdir().expect("a folder can be made");
    let folder = Utf8Path::from_path(dir.path()).expect("its name is UTF-8");
    let notebook = folder.join("notebook");
    lay_out(&notebook, boards);
    // Each round has a folder of its own: to remove one takes time as well.
    let mut folders = (0..).map(|at| folder.join(format!("bound-{at}")));
    let mut fresh = || folders.next().expect("there is no end of names");

    let mut most = 0;
    let bind = median(ROUNDS, || most = most.max(bound(&notebook, &fresh())));
    let site = contents(folder.join("bound-0").as_std_path());
    let bytes: usize = site.iter().map(|(_, bytes)| bytes.len()).sum();
    let read = files(notebook.as_std_path());
    let floor = median(ROUNDS, || {
        read_and_parse(&read);
        write_plainly(&site, fresh().as_std_path());
    });
    println!(
        "{boards} boards, {} figures: {} files, {bytes} bytes",
        boards * FIGURES.len(),
        site.len()
    );
    println!("bind  {bind:8.0} ms, {most} MiB at most");
    println!(
        "floor {floor:8.0} ms; bind is {:.1} times that (aim: 3)",
        bind / floor
    );

    let sheet = notebook.join("boards/board_0/front.md");
    let text = fs::read_to_string(&sheet).expect("the sheet is there");
    let mut saves = news::watched(&notebook, ROUNDS, |round| {
        fs::write(&sheet, format!("{text}\nRound {round}.\n")).expect("it is written");
    });
    saves.sort();
    let save = saves[ROUNDS / 2].as_secs_f64() * 1e3;
    println!(
        "save  {save:8.0} ms to the news of it, 1/{:.0} of a bind (aim: 1/50)",
        bind / save
    );

    if stated.is_none() {
        drop((site, read));
        let notebook = folder.join("tenfold");
        lay_out(&notebook, 10 * boards);
        let start = Instant::now();
        let most = bound(&notebook, &fresh());
        let took = start.elapsed().as_secs_f64() * 1e3;
        println!(
            "ten times the boards: {took:.0} ms, {:.1} times as long (aim: 11), {most} MiB",
            took / bind
        );
    }
}

/// A notebook of so many boards.
fn lay_out(folder: &Utf8Path, boards: usize) {
    let write = |path: Utf8PathBuf, text: &str| {
        let path = folder.join(path);
        fs::create_dir_all(path.parent().expect("it lies in there")).expect("a folder");
        fs::write(path, text).expect("a file can be written");
    };
    write(
        "notebook.toml".into(),
        "[notebook]\ntitle = \"Line\"\nowner = \"Nobody\"\n",
    );
    let ohms: Vec<usize> = (1..=24).map(|step| 1000 * step).collect();
    let mut parts = String::new();
    for (at, ohm) in ohms.iter().enumerate() {
        // Writing to a string does not fail.
        let _ = writeln!(
            parts,
            "[part.res_{at}]\nkind = \"resistor\"\nvalue = \"{ohm} Ω ±1 %\"\npackage = \"0603\"\n"
        );
    }
    write("parts/stock.toml".into(), &parts);
    let mut dice = Dice(20_260_401);
    for board in 0..boards {
        let mut record = format!(
            "[board]\ntitle = \"Board {board}\"\nrevision = \"A\"\nstatus = \"concept\"\nsummary = \"Made by chance.\"\n\n[fitted]\n"
        );
        let picks: [usize; 3] = std::array::from_fn(|_| dice.below(ohms.len()));
        for (at, pick) in picks.iter().enumerate() {
            let _ = writeln!(record, "R{} = \"res_{pick}\"", at + 1);
        }
        for (name, formula) in FIGURES {
            let _ = writeln!(
                record,
                "\n[figure.{name}]\nmeans = \"Made by chance\"\nfrom = \"{formula}\""
            );
        }
        let [upper, lower, _] = picks.map(|pick| ohms[pick] as f64);
        let tap = 5.0 * lower / (upper + lower);
        let next = (board + 1) % boards;
        let mut sheet = format!(
            "# Board {board}\n\nThe tap lies at [{tap:.1} V](figure:tap); see [the next](board:board_{next}).\n"
        );
        for section in 0..4 {
            let words: Vec<&str> = (0..120).map(|_| WORDS[dice.below(WORDS.len())]).collect();
            let _ = write!(sheet, "\n## Section {section}\n\n{}.\n", words.join(" "));
        }
        write(format!("boards/board_{board}/board.toml").into(), &record);
        write(format!("boards/board_{board}/front.md").into(), &sheet);
    }
}

/// Binds a notebook into a folder that is not there yet; the most memory that it
/// held, in MiB, where the system tells.
fn bound(notebook: &Utf8Path, to: &Utf8Path) -> u64 {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ohmbook"));
    command.args(["bind", notebook.as_str(), "--to", to.as_str()]);
    command.stdout(Stdio::null()).stderr(Stdio::null());
    let mut running = command.spawn().expect("the program can be run");
    let mut most = 0;
    loop {
        most = held(running.id()).unwrap_or(0).max(most);
        match running.try_wait().expect("it can be waited for") {
            Some(status) => {
                assert!(status.success(), "it ended with {status}");
                return most / 1024;
            }
            None => std::thread::sleep(Duration::from_millis(5)),
        }
    }
}

/// The most memory that a process has held so far, in KiB.
fn held(process: u32) -> Option<u64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse().ok()
}

/// Reads every file and makes HTML of what is Markdown.
fn read_and_parse(files: &[PathBuf]) {
    for path in files {
        let text = fs::read_to_string(path).expect("it is text");
        if path.extension().is_some_and(|extension| extension == "md") {
            let mut out = String::new();
            html::push_html(&mut out, Parser::new_ext(&text, Options::ENABLE_TABLES));
            black_box(out);
        } else {
            black_box(text);
        }
    }
}
