//! Watching: the notebook bound into memory at every save, served to a browser
//! on this computer, and the page following.
//!
//! | module | holds |
//! | --- | --- |
//! | `change` | when something in the notebook's folder is other than it was |
//! | `attempt` | one try at binding: pages, or what stands against them |
//! | `desk` | the closed list of events, and the one loop that holds the state |
//! | `check_print` | findings, laid over a page |
//! | `follow` | what a page is given so that it follows |
//! | `request`, `answer` | HTTP: what is asked, and what is sent |
//! | `serve` | connections |
//!
//! | promise | kept by |
//! | --- | --- |
//! | pages have the bytes that `bind` writes, but for the lines that let them follow | one function makes them for both |
//! | no request reads a file | `desk` looks up exact names among the pages in memory |
//! | no other site reads the notebook | `request` refuses a foreign `Host`, `Origin` or fetch |
//! | any number of saves in a moment is one more try at binding | `desk` asks for the next only when one is done |
//! | nothing is written | there is no write to the disk in here |
//!
//! What is taken over from the try before is told in `attempt` and by those that
//! do it: words of sheets alone are taken in by themselves; otherwise all files are
//! read, values are recalled by what they are made from, and a page is rendered only
//! if what stands on it, or the look, has changed.

mod answer;
mod attempt;
mod census;
mod change;
mod check_print;
mod desk;
mod follow;
mod request;
mod serve;

use std::fmt;
use std::io;
use std::net::{IpAddr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use camino::Utf8PathBuf;
use jiff::civil::Date;

pub use self::attempt::Attempt;
use self::change::Hint;
use self::desk::{Desk, Event};
use self::request::Hosts;

/// What is watched, and where it is served.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// The notebook's folder.
    pub folder: Utf8PathBuf,
    /// The address to serve at. Whoever can reach it can read the notebook.
    pub address: IpAddr,
    /// The port; at 0 the system picks one.
    pub port: u16,
    /// Today's date, which settles which waivers still stand.
    pub today: fn() -> Date,
}

/// Why nothing can be watched or served.
#[derive(Debug)]
#[non_exhaustive]
pub enum WatchError {
    /// Nothing can be served at this address.
    #[non_exhaustive]
    Address {
        /// The address.
        address: SocketAddr,
        /// What the system says.
        source: io::Error,
    },
    /// The system gives no thread.
    Thread(io::Error),
}

impl fmt::Display for WatchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            WatchError::Address { address, source } => {
                write!(f, "nothing can be served at {address}: {source}")?;
                match source.kind() {
                    io::ErrorKind::AddrInUse => {
                        f.write_str("; name another port, or none to have one picked")
                    }
                    io::ErrorKind::PermissionDenied => f.write_str("; name a port above 1023"),
                    io::ErrorKind::AddrNotAvailable => {
                        f.write_str("; name an address that this computer has")
                    }
                    _ => Ok(()),
                }
            }
            WatchError::Thread(source) => write!(f, "a thread cannot be started: {source}"),
        }
    }
}

impl std::error::Error for WatchError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            WatchError::Address { source, .. } | WatchError::Thread(source) => Some(source),
        }
    }
}

/// A watch that has its address and waits to be run.
#[derive(Debug)]
pub struct Watch {
    wanted: Wanted,
    listener: TcpListener,
    address: SocketAddr,
    sender: Sender<Event>,
    events: Receiver<Event>,
}

/// Ends a watch from another thread.
#[derive(Clone, Debug)]
pub struct Stop(Sender<Event>);

impl Stop {
    /// Ends the watch. One that has ended stays so.
    pub fn stop(&self) {
        let _ = self.0.send(Event::Stop);
    }
}

impl Watch {
    /// Takes the address, so that it can be told before anything is bound.
    ///
    /// # Errors
    /// [`WatchError::Address`] where it is taken or not this computer's.
    pub fn open(wanted: Wanted) -> Result<Watch, WatchError> {
        let asked = SocketAddr::new(wanted.address, wanted.port);
        let refused = |source| WatchError::Address {
            address: asked,
            source,
        };
        let listener = TcpListener::bind(asked).map_err(refused)?;
        let address = listener.local_addr().map_err(refused)?;
        let (sender, events) = channel();
        Ok(Watch {
            wanted,
            listener,
            address,
            sender,
            events,
        })
    }

    /// The address, with the port that was picked.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// Something to end the watch with.
    pub fn stopper(&self) -> Stop {
        Stop(self.sender.clone())
    }

    /// Binds at every save and serves, until it is stopped. `report` is told of
    /// each try at binding, on a thread of its own.
    ///
    /// # Errors
    /// [`WatchError::Thread`] where the system gives no thread.
    pub fn run(self, report: impl FnMut(&Attempt) + Send + 'static) -> Result<(), WatchError> {
        let Watch {
            wanted,
            listener,
            address,
            sender,
            events,
        } = self;
        let folder = wanted.folder.clone();
        let (hints, hinted) = channel::<Hint>();
        let watching = {
            let (hints, sender) = (hints.clone(), sender.clone());
            started("changes", move || {
                change::watch(&folder, &hints, &hinted, &sender)
            })?
        };
        let (jobs, waiting) = channel();
        {
            let (folder, today, sender) = (wanted.folder, wanted.today, sender.clone());
            started("binding", move || {
                attempt::bind_when_asked(&folder, today, &waiting, &sender, report);
            })?;
        }
        let closing = Arc::new(AtomicBool::new(false));
        let serving = {
            let (closing, hosts) = (closing.clone(), Hosts::at(address));
            started("serving", move || {
                serve::serve(&listener, hosts, &sender, &closing)
            })?
        };
        Desk::new(jobs).sit(&events);
        closing.store(true, Ordering::SeqCst);
        serve::wake(address);
        // The listener is let go of before this returns, and so is the folder. A
        // binding that is under way is not waited for.
        let _ = hints.send(Hint::Stop);
        let _ = serving.join();
        let _ = watching.join();
        Ok(())
    }
}

fn started(
    name: &str,
    work: impl FnOnce() + Send + 'static,
) -> Result<thread::JoinHandle<()>, WatchError> {
    let builder = thread::Builder::new().name(name.to_owned());
    builder.spawn(work).map_err(WatchError::Thread)
}
