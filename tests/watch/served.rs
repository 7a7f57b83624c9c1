//! A notebook on a desk, watched, and a plain client to ask for its pages.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpStream};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::date;
use ohmbook::notebook::Notebook;
use ohmbook::page::pages;
use ohmbook::watch::{Stop, Wanted, Watch};
use tempfile::TempDir;

/// The longest that anything is waited for.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// The day on which everything here happens.
fn today() -> jiff::civil::Date {
    date(2026, 6, 1)
}

/// A notebook that is watched until this is dropped.
pub struct Served {
    _dir: TempDir,
    pub folder: Utf8PathBuf,
    pub address: SocketAddr,
    stop: Stop,
    running: Option<JoinHandle<()>>,
}

/// An answer, taken apart.
#[derive(Debug)]
pub struct Reply {
    pub status: u16,
    pub headers: BTreeMap<String, String>,
    pub body: Vec<u8>,
}

impl Reply {
    pub fn text(&self) -> String {
        String::from_utf8(self.body.clone()).expect("it is text")
    }
}

/// The beginning that `ohmbook start` lays out, with a picture and a second sheet.
fn lay_out(folder: &Utf8Path) {
    let from = Utf8Path::new(env!("CARGO_MANIFEST_DIR")).join("src/command/start");
    for entry in walkdir::WalkDir::new(&from) {
        let entry = entry.expect("the beginning can be walked");
        let path = Utf8Path::from_path(entry.path()).expect("it is UTF-8");
        let within = path.strip_prefix(&from).expect("it lies in there");
        let to = folder.join(within.as_str().replace("DATE", "2026-05-01"));
        if path.is_dir() {
            fs::create_dir_all(to).expect("a folder can be made");
        } else {
            fs::copy(path, to).expect("a file can be copied");
        }
    }
}

impl Served {
    /// A small notebook, watched, and bound once.
    pub fn new() -> Served {
        let served = Served::begun(|_| {});
        served.until("it is bound", |served| served.get("/").status == 200);
        served
    }

    /// A small notebook, changed before it is watched.
    pub fn begun(change: impl FnOnce(&Utf8Path)) -> Served {
        let dir = tempfile::tempdir().expect("a folder can be made");
        let path = Utf8Path::from_path(dir.path()).expect("it is UTF-8");
        let folder = path.join("notebook");
        lay_out(&folder);
        change(&folder);
        let watch = Watch::open(Wanted {
            folder: folder.clone(),
            address: IpAddr::V4(Ipv4Addr::LOCALHOST),
            port: 0,
            today,
        });
        let watch = watch.expect("there is a free port");
        let (address, stop) = (watch.address(), watch.stopper());
        let running = std::thread::spawn(move || watch.run(|_| {}).expect("it runs"));
        Served {
            _dir: dir,
            folder,
            address,
            stop,
            running: Some(running),
        }
    }

    /// Ends it, and says how long that took.
    pub fn end(&mut self) -> Duration {
        let start = Instant::now();
        self.stop.stop();
        if let Some(running) = self.running.take() {
            running.join().expect("it ends well");
        }
        start.elapsed()
    }

    pub fn write(&self, path: &str, contents: &str) {
        let path = self.folder.join(path);
        let parent = path.parent().expect("it lies in the notebook");
        fs::create_dir_all(parent).expect("a folder can be made");
        fs::write(path, contents).expect("a file can be written");
    }

    pub fn read(&self, path: &str) -> String {
        fs::read_to_string(self.folder.join(path)).expect("the file is there")
    }

    /// Sends bytes as they are, and takes whatever comes back; `None` where the
    /// connection is closed without an answer.
    pub fn raw(&self, request: &[u8]) -> Option<Reply> {
        let mut stream = TcpStream::connect(self.address).expect("it listens");
        stream.set_read_timeout(Some(PATIENCE)).expect("it is set");
        // The server may answer before it has read all of it.
        let _ = stream.write_all(request);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        reply(&bytes)
    }

    /// Asks with a method and further lines of the head.
    pub fn ask(&self, method: &str, target: &str, lines: &str) -> Reply {
        let head = format!(
            "{method} {target} HTTP/1.1\r\nHost: {}\r\n{lines}\r\n",
            self.address
        );
        let reply = self.raw(head.as_bytes());
        reply.unwrap_or_else(|| panic!("no answer to {method} {target}"))
    }

    pub fn get(&self, target: &str) -> Reply {
        self.ask("GET", target, "")
    }

    /// The text of a page.
    pub fn page(&self, target: &str) -> String {
        self.get(target).text()
    }

    /// Waits until something is so.
    #[track_caller]
    pub fn until(&self, what: &str, holds: impl Fn(&Served) -> bool) {
        let end = Instant::now() + PATIENCE;
        while !holds(self) {
            assert!(Instant::now() < end, "not within {PATIENCE:?}: {what}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// The files of a fresh bind of what is on the disk now.
    pub fn bound(&self) -> BTreeMap<Utf8PathBuf, Vec<u8>> {
        let notebook = Notebook::load(&self.folder, today());
        assert!(notebook.holds(), "{:?}", notebook.findings);
        pages(&notebook).expect("its pages can be made")
    }

    /// Whether every page is served as a fresh bind would write it.
    pub fn is_as_bound(&self, bound: &BTreeMap<Utf8PathBuf, Vec<u8>>) -> bool {
        bound.iter().all(|(path, content)| {
            let reply = self.get(&format!("/{path}"));
            reply.status == 200 && without_following(&reply.body) == *content
        })
    }

    /// Waits for news of the watch, as a page does.
    pub fn follow(&self) -> News {
        let mut stream = TcpStream::connect(self.address).expect("it listens");
        stream.set_read_timeout(Some(PATIENCE)).expect("it is set");
        let head = format!(
            "GET /watch/news HTTP/1.1\r\nHost: {}\r\nAccept: text/event-stream\r\n\r\n",
            self.address
        );
        stream.write_all(head.as_bytes()).expect("it is sent");
        News(BufReader::new(stream))
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.end();
    }
}

/// News as they come.
pub struct News(BufReader<TcpStream>);

impl News {
    /// The next ones; `None` when the server has ended.
    pub fn next(&mut self) -> Option<serde_json::Value> {
        let mut line = String::new();
        loop {
            line.clear();
            if self.0.read_line(&mut line).ok()? == 0 {
                return None;
            }
            if let Some(data) = line.strip_prefix("data: ") {
                return Some(serde_json::from_str(data).expect("news are JSON"));
            }
        }
    }
}

fn reply(bytes: &[u8]) -> Option<Reply> {
    let end = bytes.windows(4).position(|found| found == b"\r\n\r\n")?;
    let head = std::str::from_utf8(&bytes[..end]).expect("a head is ASCII");
    let mut lines = head.split("\r\n");
    let status = lines.next()?.split(' ').nth(1)?.parse().ok()?;
    let headers = lines.map(|line| {
        let (name, value) = line.split_once(": ").expect("a line has a name");
        (name.to_ascii_lowercase(), value.to_owned())
    });
    Some(Reply {
        status,
        headers: headers.collect(),
        body: bytes[end + 4..].to_vec(),
    })
}

/// A page without the two lines in its head that let it follow. Nothing else is
/// taken out, so that anything else is found.
pub fn without_following(page: &[u8]) -> Vec<u8> {
    let Ok(text) = std::str::from_utf8(page) else {
        return page.to_vec();
    };
    let start = "<link rel=\"stylesheet\" href=\"/watch/follow.css\">\n\
                 <script defer src=\"/watch/follow.js\" data-edition=\"";
    let Some((before, rest)) = text.split_once(start) else {
        return page.to_vec();
    };
    let (_, after) = rest.split_once("\"></script>\n").expect("the script ends");
    format!("{before}{after}").into_bytes()
}
