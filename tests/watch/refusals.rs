//! Who gets nothing, and what every answer carries.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use crate::served::Served;

#[test]
fn every_answer_carries_its_headers() {
    let served = Served::new();
    let kinds = [
        ("/", 200, "text/html; charset=utf-8"),
        ("/look/drawing.css", 200, "text/css; charset=utf-8"),
        ("/look/mark.svg", 200, "image/svg+xml"),
        ("/watch/follow.js", 200, "text/javascript; charset=utf-8"),
        ("/watch/follow.css", 200, "text/css; charset=utf-8"),
        ("/no/such/page", 404, "text/html; charset=utf-8"),
        ("/watch/no_such_file", 404, "text/plain; charset=utf-8"),
        ("/%zz", 400, "text/plain; charset=utf-8"),
    ];
    for (target, status, kind) in kinds {
        let reply = served.get(target);
        let header = |name: &str| reply.headers.get(name).map_or("", String::as_str);
        assert_eq!(reply.status, status, "{target}");
        assert_eq!(header("content-type"), kind, "{target}");
        assert_eq!(header("x-content-type-options"), "nosniff", "{target}");
        assert_eq!(header("cache-control"), "no-store", "{target}");
        assert_eq!(header("cross-origin-resource-policy"), "same-origin");
        let policy = header("content-security-policy");
        assert!(policy.starts_with("default-src 'none'; "), "{policy}");
        assert!(policy.contains("frame-ancestors 'none'"), "{policy}");
        assert!(
            !policy.contains("unsafe") && !policy.contains('*'),
            "{policy}"
        );
        assert_eq!(header("content-length"), reply.body.len().to_string());

        // The head alone is the same head.
        let head = served.ask("HEAD", target, "");
        assert_eq!(head.status, status, "{target}");
        assert_eq!(head.body, b"", "{target}");
        assert_eq!(head.headers, reply.headers, "{target}");
    }
}

#[test]
fn the_policy_of_the_pages_lets_them_follow() {
    let served = Served::new();
    for policy in [
        served.page("/"),
        served.get("/").headers["content-security-policy"].clone(),
    ] {
        for wanted in [
            "script-src 'self'",
            "style-src 'self'",
            "connect-src 'self'",
        ] {
            assert!(policy.contains(wanted), "{wanted} in {policy}");
        }
    }
}

#[test]
fn other_names_and_other_sites_get_nothing_of_the_notebook() {
    let served = Served::new();
    let port = served.address.port();
    let with = |lines: &str| {
        let head = format!("GET / HTTP/1.1\r\n{lines}\r\n");
        served.raw(head.as_bytes()).expect("an answer")
    };
    for own in [format!("127.0.0.1:{port}"), format!("localhost:{port}")] {
        assert_eq!(with(&format!("Host: {own}\r\n")).status, 200, "{own}");
        let origin = format!("Host: {own}\r\nOrigin: http://{own}\r\n");
        assert_eq!(with(&origin).status, 200, "{own}");
    }
    for (lines, status) in [
        (String::new(), 400),
        (format!("Host: rebound.example:{port}\r\n"), 421),
        ("Host: 127.0.0.1\r\n".into(), 421),
        (format!("Host: 127.0.0.1:{port}.example\r\n"), 421),
        (
            format!("Host: 127.0.0.1:{port}\r\nOrigin: http://a.example\r\n"),
            403,
        ),
        (format!("Host: 127.0.0.1:{port}\r\nOrigin: null\r\n"), 403),
        (
            format!(
                "Host: 127.0.0.1:{port}\r\nSec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\n"
            ),
            403,
        ),
    ] {
        let reply = with(&lines);
        assert_eq!(reply.status, status, "{lines}");
        assert!(!reply.text().contains("notebook</"), "{lines}");
        assert!(reply.body.len() < 200, "{lines}");
    }
    // News are as closed to others as pages are.
    let news = format!("GET /watch/news HTTP/1.1\r\nHost: rebound.example:{port}\r\n\r\n");
    assert_eq!(served.raw(news.as_bytes()).expect("an answer").status, 421);
}

#[test]
fn no_address_leads_out_of_the_pages_and_no_folder_is_listed() {
    let served = Served::new();
    std::fs::write(served.folder.with_file_name("secret.txt"), "SECRET").expect("written");
    for target in [
        "/../secret.txt",
        "/../../secret.txt",
        "/..%2fsecret.txt",
        "/%2e%2e/secret.txt",
        "/%2e%2e%2fsecret.txt",
        "/%252e%252e%252fsecret.txt",
        "/..%5csecret.txt",
        "/..%c0%afsecret.txt",
        "/boards/../../secret.txt",
        "/boards/first_board/../../../secret.txt",
        "//etc/passwd",
        "/etc/passwd",
        "/file:///etc/passwd",
        // Neither are the records, nor other ways to write the name of a page.
        "/notebook.toml",
        "/boards/first_board/board.toml",
        "/boards/first_board/front.md",
        "/./index.html",
        "//index.html",
        "/boards//first_board/index.html",
        "/boards/first_board/../../index.html",
        "/index.html%00.css",
        "/INDEX.html",
        // Folders.
        "/boards",
        "/boards/",
        "/look/",
        "/look",
        "/boards/first_board",
        "/watch/",
        "/watch",
    ] {
        let reply = served.get(target);
        assert!(
            [400, 404].contains(&reply.status),
            "{target}: {}",
            reply.status
        );
        let text = reply.text();
        for hidden in ["SECRET", "root:", "drawing.css</a>", "first_board"] {
            assert!(!text.contains(hidden), "{target}: {text}");
        }
    }
}

#[test]
fn only_reading_is_allowed() {
    let served = Served::new();
    for method in [
        "POST", "PUT", "DELETE", "OPTIONS", "PATCH", "CONNECT", "BREW",
    ] {
        let body = "Content-Length: 5\r\n";
        let head = format!(
            "{method} / HTTP/1.1\r\nHost: {}\r\n{body}\r\nhello",
            served.address
        );
        let reply = served.raw(head.as_bytes()).expect("an answer");
        assert_eq!(reply.status, 405, "{method}");
        assert_eq!(reply.headers["allow"], "GET, HEAD");
    }
}

#[test]
fn what_is_too_large_or_malformed_is_refused_and_the_next_is_served() {
    let served = Served::new();
    let host = format!("Host: {}\r\n", served.address);
    let long = "x".repeat(100_000);
    for (request, status) in [
        (format!("GET /{long} HTTP/1.1\r\n{host}\r\n"), 431),
        (
            format!("GET / HTTP/1.1\r\n{host}Cookie: {long}\r\n\r\n"),
            431,
        ),
        (
            format!("GET / HTTP/1.1\r\n{host}{}\r\n", "a: b\r\n".repeat(500)),
            431,
        ),
        (format!("GET / HTTP/1.1\r\n{host}no colon\r\n\r\n"), 400),
        ("\u{16}\u{3}\u{1}\u{2}\r\n\r\n".to_owned(), 400),
        (format!("GET / HTTP/9.9\r\n{host}\r\n"), 505),
        ("\0\0\0\0".to_owned(), 400),
    ] {
        let reply = served.raw(request.as_bytes()).expect("an answer");
        let shown: String = request.chars().take(60).collect();
        assert_eq!(reply.status, status, "{shown:?}");
    }
    // Whoever goes away in the middle is no trouble.
    for part in ["", "GET / HT", "GET / HTTP/1.1\r\nHost: 127.0.0.1"] {
        let mut stream = TcpStream::connect(served.address).expect("it listens");
        stream.write_all(part.as_bytes()).expect("it is sent");
    }
    assert_eq!(served.get("/").status, 200);
}

#[test]
fn there_is_an_end_to_connections_and_it_passes() {
    let served = Served::new();
    let idle: Vec<TcpStream> = (0..260)
        .map(|_| TcpStream::connect(served.address).expect("it listens"))
        .collect();
    // Those beyond the limit are told so.
    let mut last = idle.last().expect("there are some");
    last.set_read_timeout(Some(Duration::from_secs(10)))
        .expect("it is set");
    let mut answer = [0; 12];
    last.read_exact(&mut answer).expect("an answer");
    assert_eq!(&answer, b"HTTP/1.1 503");
    drop(idle);
    served.until("there is room again", |served| {
        let head = format!("GET / HTTP/1.1\r\nHost: {}\r\n\r\n", served.address);
        served
            .raw(head.as_bytes())
            .is_some_and(|reply| reply.status == 200)
    });
}
