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

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{IpAddr, Ipv4Addr, TcpStream};
use std::time::{Duration, Instant};

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::{Date, date};
use ohmbook::notebook::Notebook;
use ohmbook::page::{Pages, pages_after};
use ohmbook::watch::{Wanted, Watch};

const ROUNDS: usize = 20;
const SHEET: &str = "boards/cell_charger/front.md";

fn today() -> Date {
    date(2026, 6, 1)
}

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
        let notebook = Notebook::load(&folder, today());
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
    let saves = watched(&folder, &save);
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

/// Times from a save to the news of it.
fn watched(folder: &Utf8Path, save: &dyn Fn(usize)) -> Vec<Duration> {
    let watch = Watch::open(Wanted {
        folder: folder.to_owned(),
        address: IpAddr::V4(Ipv4Addr::LOCALHOST),
        port: 0,
        today,
    });
    let watch = watch.expect("there is a free port");
    let (address, stop) = (watch.address(), watch.stopper());
    let running = std::thread::spawn(move || watch.run(|_| {}));
    let mut stream = TcpStream::connect(address).expect("it listens");
    let head = format!("GET /watch/news HTTP/1.1\r\nHost: {address}\r\n\r\n");
    stream.write_all(head.as_bytes()).expect("it is sent");
    let mut lines = BufReader::new(stream).lines();
    let mut news = || {
        lines
            .by_ref()
            .map_while(Result::ok)
            .find(|line| line.starts_with("data: "))
    };
    // Nothing yet, and then the first edition.
    news().expect("news");
    news().expect("news");
    let mut took = Vec::new();
    for round in 0..ROUNDS {
        // Whatever is still looked for after the one before shall be over.
        std::thread::sleep(Duration::from_millis(400));
        let start = Instant::now();
        save(ROUNDS + 1 + round);
        news().expect("news");
        took.push(start.elapsed());
    }
    stop.stop();
    let _ = running.join();
    took
}

fn median(mut took: Vec<Duration>) -> Duration {
    took.sort();
    took[took.len() / 2]
}
