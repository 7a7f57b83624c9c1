//! Connections: one request each, on a thread of its own.

use std::io::{Read, Write};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, Shutdown, SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use super::answer::{self, Answer, Status};
use super::desk::Event;
use super::follow;
use super::request::{self, Hosts};

/// Connections at once; a page has one for as long as it is open.
const MOST: usize = 200;
/// Time that a reader may take to take in what is sent.
const PATIENCE: Duration = Duration::from_secs(10);
/// How often a page that follows is sent a sign of life, by which it is found out
/// whether the page is still there.
const SIGN_OF_LIFE: Duration = Duration::from_secs(2);
/// What is read of a request after its head, so that its sender gets to see the
/// answer: closing a connection with something unread in it would throw it away.
const LEFTOVER: usize = 256 * 1024;

/// Accepts connections until it is closing.
pub(super) fn serve(
    listener: &TcpListener,
    hosts: Hosts,
    events: &Sender<Event>,
    closing: &AtomicBool,
) {
    let open = Arc::new(AtomicUsize::new(0));
    for stream in listener.incoming() {
        if closing.load(Ordering::SeqCst) {
            return;
        }
        let Ok(mut stream) = stream else {
            // The system may be out of connections for a while.
            thread::sleep(Duration::from_millis(10));
            continue;
        };
        let _ = stream.set_write_timeout(Some(PATIENCE));
        let _ = stream.set_nodelay(true);
        let place = Place::take(&open);
        if open.load(Ordering::SeqCst) > MOST {
            let answer = Answer::text(Status::Unavailable, "too many connections are open");
            let _ = answer.send(&mut stream);
            continue;
        }
        let events = events.clone();
        let attend = move || {
            attend(&mut stream, hosts, &events);
            drop(place);
        };
        // Without a thread the connection is closed; the next may find one.
        let _ = thread::Builder::new().name("reader".into()).spawn(attend);
    }
}

/// Wakes a server that waits for a connection.
pub(super) fn wake(address: SocketAddr) {
    let ip = match address.ip() {
        IpAddr::V4(ip) if ip.is_unspecified() => Ipv4Addr::LOCALHOST.into(),
        IpAddr::V6(ip) if ip.is_unspecified() => Ipv6Addr::LOCALHOST.into(),
        ip => ip,
    };
    let _ =
        TcpStream::connect_timeout(&SocketAddr::new(ip, address.port()), Duration::from_secs(1));
}

/// A connection's place among those that are open, until it is dropped.
struct Place(Arc<AtomicUsize>);

impl Place {
    fn take(open: &Arc<AtomicUsize>) -> Place {
        open.fetch_add(1, Ordering::SeqCst);
        Place(open.clone())
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

fn attend(stream: &mut TcpStream, hosts: Hosts, events: &Sender<Event>) {
    let answer = match request::read(stream, hosts) {
        None => return,
        Some(Err(refusal)) => Some(refusal),
        Some(Ok(request)) if request.path == follow::NEWS => {
            follow(stream, request.only_head, events);
            return;
        }
        Some(Ok(request)) => {
            let own = follow::own_file(&request.path);
            let answer = own.or_else(|| ask(request.path, events));
            answer.map(|answer| answer.without_body(request.only_head))
        }
    };
    // Without an answer the watch is over.
    if let Some(answer) = answer
        && answer.send(stream).is_ok()
    {
        close(stream);
    }
}

fn ask(path: String, events: &Sender<Event>) -> Option<Answer> {
    let (answer, answered) = channel();
    events.send(Event::Asked { path, answer }).ok()?;
    answered.recv().ok()
}

/// Ends a connection such that what was sent arrives.
fn close(stream: &mut TcpStream) {
    if stream.shutdown(Shutdown::Write).is_err() {
        return;
    }
    let end = Instant::now() + Duration::from_secs(1);
    let mut buffer = [0; 4096];
    let mut read = 0;
    let _ = stream.set_read_timeout(Some(Duration::from_millis(200)));
    while read < LEFTOVER && Instant::now() < end {
        match stream.read(&mut buffer) {
            Ok(more) if more > 0 => read += more,
            _ => return,
        }
    }
}

/// Sends news to a page, as server-sent events (HTML Standard, section 9.2), until
/// it goes away or the watch is over.
fn follow(stream: &mut TcpStream, only_head: bool, events: &Sender<Event>) {
    let mut head = answer::head(Status::Found, "text/event-stream");
    head.push_str("\r\n");
    if stream.write_all(head.as_bytes()).is_err() || only_head {
        return;
    }
    let (follower, news) = channel();
    if events.send(Event::Follows(follower)).is_err() {
        return;
    }
    while let Some(message) = message(&news) {
        if stream.write_all(message.as_bytes()).is_err() {
            return;
        }
    }
}

/// The latest news, or a sign of life; `None` where there will be none.
fn message(news: &Receiver<String>) -> Option<String> {
    match news.recv_timeout(SIGN_OF_LIFE) {
        Ok(first) => {
            let latest = news.try_iter().last().unwrap_or(first);
            Some(format!("data: {latest}\n\n"))
        }
        Err(RecvTimeoutError::Timeout) => Some(":\n\n".to_owned()),
        Err(RecvTimeoutError::Disconnected) => None,
    }
}
