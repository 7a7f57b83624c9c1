//! What is asked: the head of a request (RFC 9112), and whether to answer it.
//!
//! A page on some other site can make the reader's own browser send requests to
//! this computer. It must not learn anything by it: not by giving its own name
//! this computer's address (then `Host` is that name), not by a script (then there
//! is an `Origin`), and not by drawing on a file as if it were its own (then the
//! browser says so in `Sec-Fetch-Site`).

use std::io::{self, Read};
use std::net::{IpAddr, SocketAddr, TcpStream};
use std::time::{Duration, Instant};

use super::answer::{Answer, Status};

/// Longest head, in bytes. Browsers send with it the cookies of whatever else
/// runs on this computer.
const LONGEST: usize = 32 * 1024;
/// Most lines in a head.
const MOST_LINES: usize = 100;
/// Time in which a head must have come.
const PATIENCE: Duration = Duration::from_secs(10);

/// A request that may be answered.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Request {
    /// Whether only the head of the answer is wanted.
    pub(super) only_head: bool,
    /// The path, decoded, without a slash at its front and without a query. It
    /// may be anything: it is only ever looked up.
    pub(super) path: String,
}

/// Names under which this server may be asked.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hosts {
    port: u16,
    loopback: bool,
}

impl Hosts {
    /// Those of an address.
    pub(super) fn at(address: SocketAddr) -> Hosts {
        Hosts {
            port: address.port(),
            loopback: address.ip().is_loopback(),
        }
    }

    /// Whether an authority, as `Host` has it, names this server. Only numbers
    /// do, and `localhost`: any other name may be anybody's.
    fn has(self, authority: &str) -> bool {
        let (host, port) = match authority.rsplit_once(':') {
            // The colons of an address of version 6 stand in brackets.
            Some((host, port)) if !port.ends_with(']') => (host, port.parse().ok()),
            _ => (authority, Some(80)),
        };
        if port != Some(self.port) {
            return false;
        }
        if host.eq_ignore_ascii_case("localhost") {
            return true;
        }
        let bare = host
            .strip_prefix('[')
            .and_then(|host| host.strip_suffix(']'));
        let address: Option<IpAddr> = match bare {
            Some(bare) => bare.parse().ok().map(IpAddr::V6),
            None => host.parse().ok().map(IpAddr::V4),
        };
        address.is_some_and(|address| address.is_loopback() || !self.loopback)
    }
}

/// Reads the head of a request. `None` where nothing came, or whoever asked went
/// away.
pub(super) fn read(stream: &mut TcpStream, hosts: Hosts) -> Option<Result<Request, Answer>> {
    let end = Instant::now() + PATIENCE;
    let mut head = Vec::new();
    let mut buffer = [0; 4096];
    loop {
        let left = end.saturating_duration_since(Instant::now());
        if left.is_zero() {
            return Some(Err(too_slow()));
        }
        stream.set_read_timeout(Some(left)).ok()?;
        match stream.read(&mut buffer) {
            Ok(0) => return None,
            Ok(read) => head.extend_from_slice(&buffer[..read]),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error)
                if matches!(
                    error.kind(),
                    io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut
                ) =>
            {
                return (!head.is_empty()).then(|| Err(too_slow()));
            }
            Err(_) => return None,
        }
        if let Some(request) = parse(&head, hosts).transpose() {
            return Some(request);
        }
        if head.len() >= LONGEST {
            return Some(Err(too_large()));
        }
    }
}

fn too_slow() -> Answer {
    Answer::text(
        Status::TooSlow,
        "the request did not come to an end in time",
    )
}

fn too_large() -> Answer {
    Answer::text(
        Status::TooLarge,
        "the head of the request is larger than what is read",
    )
}

/// A head that may not be whole yet; `Ok(None)` where it is not.
fn parse(bytes: &[u8], hosts: Hosts) -> Result<Option<Request>, Answer> {
    let mut lines = [httparse::EMPTY_HEADER; MOST_LINES];
    let mut head = httparse::Request::new(&mut lines);
    match head.parse(&bytes[..bytes.len().min(LONGEST)]) {
        Ok(httparse::Status::Complete(_)) => {}
        Ok(httparse::Status::Partial) => return Ok(None),
        Err(httparse::Error::TooManyHeaders) => return Err(too_large()),
        Err(httparse::Error::Version) => {
            return Err(Answer::text(Status::Version, "HTTP/1.1 is spoken here"));
        }
        Err(error) => {
            let sentence = format!("this is no request of HTTP: {error}");
            return Err(Answer::text(Status::Malformed, &sentence));
        }
    }
    let only_head = head.method == Some("HEAD");
    let judged = judge(&head, hosts);
    judged
        .map(Some)
        .map_err(|refusal| refusal.without_body(only_head))
}

/// Whether a request is answered, and what it asks for.
fn judge(head: &httparse::Request<'_, '_>, hosts: Hosts) -> Result<Request, Answer> {
    let all = |name: &str| {
        let lines = head.headers.iter();
        let named = lines.filter(|line| line.name.eq_ignore_ascii_case(name));
        named.map(|line| line.value).collect::<Vec<_>>()
    };
    let text = |value: &[u8]| String::from_utf8_lossy(value).into_owned();

    let other_host = || {
        Answer::text(
            Status::OtherHost,
            "this server is asked by its number, or as `localhost`, and by no other name",
        )
    };
    // There must be one, or nobody knows what was meant (RFC 9112, 3.2).
    let [host] = all("host")[..] else {
        return Err(Answer::text(
            Status::Malformed,
            "a request names its host, and once",
        ));
    };
    if !hosts.has(&text(host)) {
        return Err(other_host());
    }
    let foreign = || Answer::text(Status::Foreign, "other sites do not read this notebook");
    for origin in all("origin") {
        // The same server under another of its names is another origin.
        if text(origin) != format!("http://{}", text(host)) {
            return Err(foreign());
        }
    }
    let mode = all("sec-fetch-mode");
    let follows_link = mode == [b"navigate"] && all("sec-fetch-dest") == [b"document"];
    let from_elsewhere = |site: &&[u8]| matches!(*site, b"cross-site" | b"same-site");
    if all("sec-fetch-site").iter().any(from_elsewhere) && !follows_link {
        return Err(foreign());
    }

    let only_head = match head.method {
        Some("GET") => false,
        Some("HEAD") => true,
        _ => {
            return Err(Answer::text(
                Status::Method,
                "this server is only read from, with GET and HEAD",
            ));
        }
    };
    let mut target = head.path.unwrap_or("");
    if let Some(absolute) = target.strip_prefix("http://") {
        let end = absolute.find('/').unwrap_or(absolute.len());
        if !hosts.has(&absolute[..end]) {
            return Err(other_host());
        }
        target = &absolute[end..];
    }
    let path = target.split(['?', '#']).next().unwrap_or("");
    let path = match (path, target.is_empty()) {
        ("", true) => Some(String::new()),
        _ => path.strip_prefix('/').and_then(decoded),
    };
    let Some(mut path) = path else {
        return Err(Answer::text(Status::Malformed, "this is no address"));
    };
    if path.is_empty() || path.ends_with('/') {
        path.push_str("index.html");
    }
    Ok(Request { only_head, path })
}

/// Text whose bytes may be percent-encoded, decoded once (RFC 3986, 2.1).
fn decoded(text: &str) -> Option<String> {
    let mut out = Vec::with_capacity(text.len());
    let mut bytes = text.bytes();
    while let Some(byte) = bytes.next() {
        if byte != b'%' {
            out.push(byte);
            continue;
        }
        let mut digit = || char::from(bytes.next()?).to_digit(16);
        out.push((digit()? * 16 + digit()?) as u8);
    }
    String::from_utf8(out).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hosts(address: &str) -> Hosts {
        Hosts::at(address.parse().expect("an address"))
    }

    /// The path that is asked for, or the status of the refusal.
    fn asked(head: &str) -> Result<String, Status> {
        match parse(head.as_bytes(), hosts("127.0.0.1:4000")) {
            Ok(Some(request)) => Ok(request.path),
            Ok(None) => panic!("not whole: {head:?}"),
            Err(answer) => Err(answer.status),
        }
    }

    fn path(target: &str) -> Result<String, Status> {
        asked(&format!(
            "GET {target} HTTP/1.1\r\nHost: 127.0.0.1:4000\r\n\r\n"
        ))
    }

    #[test]
    fn addresses_are_decoded_once() {
        for (target, wanted) in [
            ("/", "index.html"),
            ("/boards/a/", "boards/a/index.html"),
            ("/a%20b.html?x=/../y#z", "a b.html"),
            ("/%ce%a9.svg", "\u{3a9}.svg"),
            ("/%252e%252e/x", "%2e%2e/x"),
            // Whatever this is, it is only looked up.
            ("/../x", "../x"),
            ("//etc/passwd", "/etc/passwd"),
            ("/%2e%2e%2fx", "../x"),
            ("http://127.0.0.1:4000/x", "x"),
            ("http://localhost:4000", "index.html"),
        ] {
            assert_eq!(path(target).as_deref(), Ok(wanted), "{target}");
        }
        for target in ["/%", "/%4", "/%zz", "/%ff", "*", "x", "/%+1", "?x"] {
            assert_eq!(path(target), Err(Status::Malformed), "{target}");
        }
        assert_eq!(path("http://a.example/x"), Err(Status::OtherHost));
    }

    #[test]
    fn only_numbers_and_localhost_name_the_server() {
        let local = hosts("127.0.0.1:4000");
        for own in [
            "127.0.0.1:4000",
            "LocalHost:4000",
            "[::1]:4000",
            "127.1.2.3:4000",
        ] {
            assert!(local.has(own), "{own}");
        }
        for other in [
            "",
            "localhost",
            "localhost:80",
            "127.0.0.1",
            "127.0.0.1:4001",
            "a.example:4000",
            "localhost.a.example:4000",
            "127.0.0.1.a.example:4000",
            "192.0.2.1:4000",
            "0.0.0.0:4000",
            "a@127.0.0.1:4000",
            "[127.0.0.1]:4000",
            "::1:4000",
        ] {
            assert!(!local.has(other), "{other}");
        }
        assert!(hosts("127.0.0.1:80").has("localhost"));
        assert!(hosts("[::1]:80").has("[::1]"));
        let open = hosts("0.0.0.0:4000");
        assert!(open.has("192.0.2.1:4000"));
        assert!(!open.has("a.example:4000"));
    }

    #[test]
    fn other_sites_are_refused() {
        let with = |lines: &str| {
            asked(&format!(
                "GET /x HTTP/1.1\r\nHost: localhost:4000\r\n{lines}\r\n"
            ))
        };
        for fine in [
            "",
            "Origin: http://localhost:4000\r\n",
            "Sec-Fetch-Site: same-origin\r\nSec-Fetch-Mode: cors\r\n",
            "Sec-Fetch-Site: none\r\nSec-Fetch-Mode: navigate\r\n",
            "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: navigate\r\nSec-Fetch-Dest: document\r\n",
        ] {
            assert!(with(fine).is_ok(), "{fine}");
        }
        for foreign in [
            "Origin: http://a.example\r\n",
            "Origin: null\r\n",
            "Origin: https://localhost:4000\r\n",
            "Origin: http://localhost:4001\r\n",
            "ORIGIN: http://127.0.0.1:4000\r\n",
            "Origin: http://localhost:4000\r\nOrigin: http://a.example\r\n",
            "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\nSec-Fetch-Dest: script\r\n",
            "Sec-Fetch-Site: same-site\r\nSec-Fetch-Mode: no-cors\r\n",
            "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: navigate\r\nSec-Fetch-Dest: iframe\r\n",
        ] {
            assert_eq!(with(foreign), Err(Status::Foreign), "{foreign}");
        }
    }

    #[test]
    fn malformed_heads_are_refused_or_waited_for() {
        let host = "Host: localhost:4000\r\n";
        for (head, status) in [
            ("GET /x HTTP/1.1\r\n\r\n".to_owned(), Status::Malformed),
            (
                format!("GET /x HTTP/1.1\r\n{host}{host}\r\n"),
                Status::Malformed,
            ),
            (format!("GET /x HTTP/2.0\r\n{host}\r\n"), Status::Version),
            (format!("GET\r\n{host}\r\n"), Status::Malformed),
            // What comes after a second space is read as a version.
            (format!("GET /x y HTTP/1.1\r\n{host}\r\n"), Status::Version),
            (
                format!("GET /x HTTP/1.1\r\n{host}bad line\r\n\r\n"),
                Status::Malformed,
            ),
            (
                "GET /x HTTP/1.1\r\nHost : localhost:4000\r\n\r\n".to_owned(),
                Status::Malformed,
            ),
            ("\u{16}\u{3}\u{1}".to_owned(), Status::Malformed),
            (format!("POST /x HTTP/1.1\r\n{host}\r\n"), Status::Method),
            (format!("TRACE /x HTTP/1.1\r\n{host}\r\n"), Status::Method),
            (
                format!(
                    "GET /x HTTP/1.1\r\n{host}{}\r\n",
                    "a: b\r\n".repeat(MOST_LINES)
                ),
                Status::TooLarge,
            ),
        ] {
            assert_eq!(asked(&head), Err(status), "{head:?}");
        }
        let whole = format!("GET /x HTTP/1.1\r\n{host}\r\n");
        for end in 0..whole.len() {
            let part = parse(&whole.as_bytes()[..end], hosts("127.0.0.1:4000"));
            assert_eq!(part, Ok(None), "{end}");
        }
    }

    #[test]
    fn no_bytes_break_the_reading() {
        // A small generator of our own: what matters is that it tries much.
        let mut seed = 1u32;
        let whole = b"GET /a%20b?c HTTP/1.1\r\nHost: localhost:4000\r\nOrigin: null\r\n\r\n";
        for _ in 0..20_000 {
            let mut bytes = whole.to_vec();
            for _ in 0..3 {
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let at = (seed >> 8) as usize % bytes.len();
                bytes[at] = (seed >> 24) as u8;
            }
            let _ = parse(&bytes, hosts("127.0.0.1:4000"));
        }
    }
}
