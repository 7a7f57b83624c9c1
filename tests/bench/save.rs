//! What a save costs while the demo is watched: from the write to the news that
//! open pages hear, and the parts of it.
//!
//! One word of a sheet is changed, over and over, and the time is taken until the
//! server tells of the new edition, over a real connection. Beside it stand the
//! parts, each in this process: reading and proving, the pages from nothing, and
//! the pages where all others are taken over. Medians are printed and nothing is
//! asserted: times are of one machine.
//!
//! Run it with `cargo bench --bench save`.

#![allow(clippy::print_stdout)] // Printing is what it is for.

mod news;

use std::fs;
use std::time::{Duration, Instant};

use camino::{Utf8Path, Utf8PathBuf};
use ohmbook::notebook::Notebook;
use ohmbook::page::{Pages, pages_after};

use news::watched;

const ROUNDS: usize = 20;
const SHEET: &str = "boards/cell_charger/front.md";

fn copy_of_demo() -> (tempfile::TempDir, Utf8PathBuf) {
    let dir = tempfile::tempdir().expect("a folder can be made");
    let to = Utf8PathBuf::try_from(dir.path().to_owned()).expect("it is UTF-8");
    let from = Utf8Path::new(env!("CARGO_MANIFEST_DIR")).join("content");
    for entry in walkdir::WalkDir::new(&from) {
        let entry = entry.expect("the demo can be walked");
        let within = entry.path().strip_prefix(&from).expect("it lies in there");
        let to = to.as_std_path().join(within);
        if entry.file_type().is_dir() {
            fs::create_dir_all(to).expect("a folder can be made");
        } else {
            fs::copy(entry.path(), to).expect("a file can be copied");
        }
    }
    (dir, to)
}

fn main() {
    let (_dir, folder) = copy_of_demo();
    let sheet = folder.join(SHEET);
    let text = fs::read_to_string(&sheet).expect("the sheet is there");
    let save = |round: usize| {
        fs::write(&sheet, format!("{text}\nRound {round}.\n")).expect("it is written");
    };

    let (mut load, mut anew, mut again) = (Vec::new(), Vec::new(), Vec::new());
    let mut last = Pages::default();
    let mut rendered = 0;
    for round in 0..=ROUNDS {
        save(round);
        let start = Instant::now();
        let notebook = Notebook::load(&folder, news::today());
        load.push(start.elapsed());
        let start = Instant::now();
        pages_after(&notebook, &Pages::default()).expect("its pages can be made");
        anew.push(start.elapsed());
        let start = Instant::now();
        last = pages_after(&notebook, &last).expect("its pages can be made");
        if round > 0 {
            again.push(start.elapsed());
            rendered = last.rendered;
        }
    }
    let saves = watched(&folder, ROUNDS, |round| save(ROUNDS + 1 + round));
    let pages = last.files.keys().filter(|path| last.is_page(path)).count();
    for (name, took) in [
        ("from a save to the news of it".to_owned(), saves),
        ("reading and proving".to_owned(), load),
        (format!("all {pages} pages"), anew),
        (format!("pages after a save, {rendered} rendered"), again),
    ] {
        println!("{name:<36} {:8.1} ms", median(took).as_secs_f64() * 1e3);
    }
}

fn median(mut took: Vec<Duration>) -> Duration {
    took.sort();
    took[took.len() / 2]
}
