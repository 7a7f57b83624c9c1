//! What a save costs while the demo is watched: from the write to the news that
//! open pages hear, and the parts of it.
//!
//! One word of a sheet is changed, over and over, then one word of a record, and
//! the time is taken until the server tells of the new edition, over a real
//! connection. Beside them stand the parts of the second, each in this process:
//! reading and proving from nothing and after an earlier reading, the pages from
//! nothing, and the pages where all others are taken over. Medians are printed and
//! nothing is asserted: times are of one machine.
//!
//! Run it with `cargo bench --bench save`.

#![allow(clippy::print_stdout)] // Printing is what it is for.

mod news;
mod plain;

use std::fs;
use std::time::{Duration, Instant};

use camino::Utf8Path;
use ohmbook::notebook::Notebook;
use ohmbook::page::{Pages, pages, pages_after};

use news::watched;
use plain::{contents, write_plainly};

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
const ROUNDS: usize = 20;

fn main() {
    let dir = tempfile::tempdir().expect("a folder can be made");
    let folder = Utf8Path::from_path(dir.path()).expect("its name is UTF-8");
    write_plainly(&contents(DEMO.as_ref()), dir.path());
    let worded = |path: &str, before: &str| {
        let path = folder.join(path);
        let text = fs::read_to_string(&path).expect("the file is there");
        assert!(text.contains(before), "{path} has no `{before}`");
        let before = before.to_owned();
        move |round: usize| {
            let text = text.replacen(&before, &format!("{before} {round}"), 1);
            fs::write(&path, text).expect("it is written");
        }
    };
    let save = worded("boards/cell_charger/front.md", "One panel");
    let save_record = worded("boards/cell_charger/board.toml", "Slow setting");

    let (mut load, mut reload) = (Vec::new(), Vec::new());
    let (mut anew, mut again) = (Vec::new(), Vec::new());
    let mut last = Pages::default();
    let mut earlier: Option<Notebook> = None;
    let mut rendered = 0;
    for round in 0..=ROUNDS {
        save_record(round);
        let start = Instant::now();
        Notebook::load(folder, news::today());
        load.push(start.elapsed());
        let start = Instant::now();
        let notebook = Notebook::load_after(folder, news::today(), earlier.as_ref());
        reload.push(start.elapsed());
        let start = Instant::now();
        pages(&notebook).expect("its pages can be made");
        anew.push(start.elapsed());
        let start = Instant::now();
        last = pages_after(&notebook, &last).expect("its pages can be made");
        again.push(start.elapsed());
        rendered = last.rendered;
        earlier = Some(notebook);
    }
    // The first of these had nothing before it.
    reload.remove(0);
    again.remove(0);
    let words = watched(folder, ROUNDS, save);
    let records = watched(folder, ROUNDS, |round| save_record(ROUNDS + 1 + round));
    let count = last.files.keys().filter(|path| last.is_page(path)).count();
    for (name, took) in [
        ("words of a sheet, to the news of it".to_owned(), words),
        ("words of a record, to the news".to_owned(), records),
        ("reading and proving".to_owned(), load),
        ("the same after an earlier reading".to_owned(), reload),
        (format!("all {count} pages"), anew),
        (format!("pages after a save, {rendered} rendered"), again),
    ] {
        println!("{name:<36} {:8.1} ms", median(took).as_secs_f64() * 1e3);
    }
}

fn median(mut took: Vec<Duration>) -> Duration {
    took.sort();
    took[took.len() / 2]
}
