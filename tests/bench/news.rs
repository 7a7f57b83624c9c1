//! From a save to the news of it, over a real connection.

use std::io::{BufRead, BufReader, Write};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpStream};
use std::time::{Duration, Instant};

use camino::Utf8Path;
use jiff::civil::{Date, date};
use ohmbook::watch::{Stop, Wanted, Watch};

/// The day on which all of it happens.
pub fn today() -> Date {
    date(2026, 6, 1)
}

/// A watch on the loopback, its address, and something to end it with.
pub fn opened(folder: &Utf8Path) -> (Watch, SocketAddr, Stop) {
    let watch = Watch::open(Wanted {
        folder: folder.to_owned(),
        address: IpAddr::V4(Ipv4Addr::LOCALHOST),
        port: 0,
        today,
    });
    let watch = watch.expect("there is a free port");
    let (address, stop) = (watch.address(), watch.stopper());
    (watch, address, stop)
}

/// Times from so many saves of a watched notebook to the news of them.
#[allow(dead_code)] // Not every bench times them.
pub fn watched(folder: &Utf8Path, rounds: usize, save: impl Fn(usize)) -> Vec<Duration> {
    let (watch, address, stop) = opened(folder);
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
    for round in 0..rounds {
        // Whatever is still looked for after the one before shall be over.
        std::thread::sleep(Duration::from_millis(400));
        let start = Instant::now();
        save(round);
        news().expect("news");
        took.push(start.elapsed());
    }
    stop.stop();
    let _ = running.join();
    took
}
