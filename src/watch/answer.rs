//! What is sent back.

use std::fmt::Write as _;
use std::io::{self, Write};

use camino::Utf8Path;

/// How a request went (RFC 9110, section 15).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Status {
    /// 200
    Found,
    /// 400
    Malformed,
    /// 403
    Foreign,
    /// 404
    NotThere,
    /// 405
    Method,
    /// 408
    TooSlow,
    /// 421
    OtherHost,
    /// 431
    TooLarge,
    /// 503
    Unavailable,
    /// 505
    Version,
}

impl Status {
    fn line(self) -> &'static str {
        match self {
            Status::Found => "200 OK",
            Status::Malformed => "400 Bad Request",
            Status::Foreign => "403 Forbidden",
            Status::NotThere => "404 Not Found",
            Status::Method => "405 Method Not Allowed",
            Status::TooSlow => "408 Request Timeout",
            Status::OtherHost => "421 Misdirected Request",
            Status::TooLarge => "431 Request Header Fields Too Large",
            Status::Unavailable => "503 Service Unavailable",
            Status::Version => "505 HTTP Version Not Supported",
        }
    }
}

/// What pages may load: everything from here, and nothing from elsewhere. It is
/// the policy that bound pages carry, and keeps them out of other sites' frames.
const POLICY: &str = "default-src 'none'; style-src 'self'; img-src 'self'; font-src 'self'; \
    media-src 'self'; script-src 'self'; connect-src 'self'; base-uri 'none'; \
    form-action 'none'; frame-ancestors 'none'";

/// An answer, whole.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Answer {
    pub(super) status: Status,
    kind: &'static str,
    body: Vec<u8>,
    only_head: bool,
}

impl Answer {
    pub(super) fn new(status: Status, kind: &'static str, body: Vec<u8>) -> Answer {
        Answer {
            status,
            kind,
            body,
            only_head: false,
        }
    }

    /// The same, of which only the head is sent, as `HEAD` asks.
    pub(super) fn without_body(self, only_head: bool) -> Answer {
        Answer { only_head, ..self }
    }

    /// A sentence, and nothing else.
    pub(super) fn text(status: Status, sentence: &str) -> Answer {
        let body = format!("{sentence}\n").into_bytes();
        Answer::new(status, "text/plain; charset=utf-8", body)
    }

    /// Sends it.
    pub(super) fn send(&self, to: &mut impl Write) -> io::Result<()> {
        let mut head = head(self.status, self.kind);
        let _ = write!(head, "Content-Length: {}\r\n\r\n", self.body.len());
        let mut bytes = head.into_bytes();
        if !self.only_head {
            bytes.extend_from_slice(&self.body);
        }
        to.write_all(&bytes)?;
        to.flush()
    }
}

/// The head of an answer but for its length and the empty line.
pub(super) fn head(status: Status, kind: &str) -> String {
    let mut head = format!(
        "HTTP/1.1 {}\r\n\
         Content-Type: {kind}\r\n\
         Content-Security-Policy: {POLICY}\r\n\
         X-Content-Type-Options: nosniff\r\n\
         Cross-Origin-Resource-Policy: same-origin\r\n\
         Cross-Origin-Opener-Policy: same-origin\r\n\
         Referrer-Policy: no-referrer\r\n\
         Cache-Control: no-store\r\n\
         Connection: close\r\n",
        status.line()
    );
    if status == Status::Method {
        head.push_str("Allow: GET, HEAD\r\n");
    }
    head
}

/// The media type of a file, by the ending of its name. What is not known is
/// bytes, which no browser runs.
pub(super) fn content_type(path: &Utf8Path) -> &'static str {
    let ending = path.extension().unwrap_or("").to_ascii_lowercase();
    match ending.as_str() {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "json" => "application/json",
        "xml" => "application/xml",
        "atom" => "application/atom+xml",
        "csv" => "text/csv; charset=utf-8",
        "txt" | "md" | "toml" | "h" | "rs" | "py" => "text/plain; charset=utf-8",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "gif" => "image/gif",
        "webp" => "image/webp",
        "avif" => "image/avif",
        "ico" => "image/vnd.microsoft.icon",
        "wav" => "audio/wav",
        "ogg" => "audio/ogg",
        "mp3" => "audio/mpeg",
        "woff2" => "font/woff2",
        "pdf" => "application/pdf",
        _ => "application/octet-stream",
    }
}
