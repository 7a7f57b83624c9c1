//! Ten thousand saves of a sheet in a minute: the memory that the watch holds, and
//! whether the page that it serves in the end is that of a fresh bind.
//!
//! The watch runs in this process, so that what is printed is this process's
//! memory. Memory is only printed; another page than that of a fresh bind ends it.
//!
//! Run it with `cargo bench --bench saves`; it takes that minute.

#![allow(clippy::print_stdout)] // Printing is what it is for.

mod news;
mod plain;

use std::fs;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::time::{Duration, Instant};

use camino::Utf8Path;
use ohmbook::notebook::Notebook;
use ohmbook::page::pages;

use plain::{contents, write_plainly};

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
const SAVES: u32 = 10_000;
const MINUTE: Duration = Duration::from_secs(60);
const SHEET: &str = "boards/cell_charger/front.md";
const PAGE: &str = "boards/cell_charger/index.html";

fn main() {
    let dir = tempfile::tempdir().expect("a folder can be made");
    let folder = Utf8Path::from_path(dir.path()).expect("its name is UTF-8");
    write_plainly(&contents(DEMO.as_ref()), folder.as_std_path());
    let sheet = folder.join(SHEET);
    let text = fs::read_to_string(&sheet).expect("the sheet is there");
    let (watch, address, stop) = news::opened(folder);
    let running = std::thread::spawn(move || watch.run(|_| {}));
    while !page(address).contains("<main") {
        std::thread::sleep(Duration::from_millis(20));
    }
    println!("{:>6} saves, {} KiB held", 0, held());
    let start = Instant::now();
    for save in 1..=SAVES {
        fs::write(&sheet, format!("{text}\nSave {save}.\n")).expect("it is written");
        if save % 2000 == 0 {
            let seconds = start.elapsed().as_secs_f64();
            println!("{save:>6} saves, {} KiB held, {seconds:.0} s", held());
        }
        std::thread::sleep((MINUTE * save / SAVES).saturating_sub(start.elapsed()));
    }
    let last = format!("Save {SAVES}.");
    while !page(address).contains(&last) {
        std::thread::sleep(Duration::from_millis(20));
    }
    let bound = pages(&Notebook::load(folder, news::today())).expect("its pages can be made");
    let bound = String::from_utf8_lossy(&bound[Utf8Path::new(PAGE)]).into_owned();
    // What lets the page follow stands in two lines of its head.
    let served = page(address);
    let served: Vec<&str> = served
        .lines()
        .filter(|line| !line.contains("/watch/follow."))
        .collect();
    assert_eq!(served, bound.lines().collect::<Vec<_>>());
    println!("the page is that of a fresh bind");
    stop.stop();
    let _ = running.join();
}

/// The page as it is served; nothing before it is bound.
fn page(address: SocketAddr) -> String {
    let mut stream = TcpStream::connect(address).expect("it listens");
    let head = format!("GET /{PAGE} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
    stream.write_all(head.as_bytes()).expect("it is sent");
    let mut reply = String::new();
    stream.read_to_string(&mut reply).expect("it is text");
    let body = reply.split_once("\r\n\r\n").map_or("", |(_, body)| body);
    body.to_owned()
}

/// The memory that this process holds, in KiB, where the system tells.
fn held() -> String {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let number = line.and_then(|line| line.split_whitespace().next());
    number.unwrap_or("unknown").to_owned()
}
