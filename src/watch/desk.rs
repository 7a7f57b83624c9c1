//! The closed list of events, and the one loop that holds the state.
//!
//! Connections and the binding have threads of their own and know nothing of each
//! other: whatever they need to know or to tell goes through here.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender};
use std::time::{SystemTime, UNIX_EPOCH};

use camino::{Utf8Path, Utf8PathBuf};

use super::answer::{Answer, Status, content_type};
use super::attempt::Bound;
use super::change::Touched;
use super::follow::{self, Edition};
use crate::page::Pages;

/// Everything that can wake the watch. What is not here cannot.
#[derive(Debug)]
pub(super) enum Event {
    /// Something in the notebook's folder is other than it was.
    FolderChanged(Touched),
    /// A try at binding is done.
    Bound(Bound),
    /// Somebody asks for a file of the site, by its exact path.
    Asked {
        /// The path, without a slash at its front.
        path: String,
        /// Where the answer goes.
        answer: Sender<Answer>,
    },
    /// A page wants to be told of new editions.
    Follows(Sender<String>),
    /// The watch is over.
    Stop,
}

/// The state.
#[derive(Debug)]
pub(super) struct Desk {
    /// Asks for a try at binding, and says what changed since the one before.
    jobs: Sender<Touched>,
    /// Whether one is under way.
    binding: bool,
    /// What changed since that one began.
    again: Option<Touched>,
    /// The last site that held.
    pages: Option<Arc<Pages>>,
    /// What stands against binding now.
    amiss: Option<String>,
    /// Counts what there is to be seen.
    edition: Edition,
    /// Files that are no pages and changed since the start, with the edition in
    /// which they did.
    stamps: BTreeMap<Utf8PathBuf, u64>,
    followers: Vec<Sender<String>>,
}

impl Desk {
    /// A desk with nothing on it yet.
    pub(super) fn new(jobs: Sender<Touched>) -> Desk {
        // A page that outlives the program shall not take the next one's edition
        // for its own.
        let now = SystemTime::now().duration_since(UNIX_EPOCH);
        let run = now.map_or(0, |since| since.as_millis() as u64);
        Desk {
            jobs,
            binding: false,
            again: None,
            pages: None,
            amiss: None,
            edition: Edition { run, number: 0 },
            stamps: BTreeMap::new(),
            followers: Vec::new(),
        }
    }

    /// Deals with events until one says stop.
    pub(super) fn sit(mut self, events: &Receiver<Event>) {
        while let Ok(event) = events.recv() {
            match event {
                Event::FolderChanged(touched) if self.binding => {
                    self.again = Some(match self.again.take() {
                        Some(before) => before.and(touched),
                        None => touched,
                    });
                }
                Event::FolderChanged(touched) => self.bind(touched),
                Event::Bound(bound) => {
                    self.binding = false;
                    self.take(bound);
                    if let Some(touched) = self.again.take() {
                        self.bind(touched);
                    }
                }
                Event::Asked { path, answer } => {
                    // Whoever asked may have gone away.
                    let _ = answer.send(self.answer(&path));
                }
                Event::Follows(follower) => {
                    if follower.send(self.news()).is_ok() {
                        self.followers.push(follower);
                    }
                }
                Event::Stop => break,
            }
        }
    }

    fn bind(&mut self, touched: Touched) {
        self.binding = self.jobs.send(touched).is_ok();
    }

    /// Takes in how a try at binding went; whoever follows is told if there is
    /// anything else to be seen than before.
    fn take(&mut self, bound: Bound) {
        let number = self.edition.number + 1;
        let is_other = match bound {
            Bound::Amiss(amiss) => {
                let is_other = self.amiss.as_ref() != Some(&amiss);
                self.amiss = Some(amiss);
                is_other
            }
            Bound::Holds { pages, changed } => {
                if self.pages.is_some() {
                    let others = changed.iter().filter(|path| !pages.is_page(path));
                    self.stamps
                        .extend(others.map(|path| (path.clone(), number)));
                    self.stamps.retain(|path, _| pages.files.contains_key(path));
                }
                let is_first = self.pages.replace(pages).is_none();
                let was_amiss = self.amiss.take().is_some();
                is_first || was_amiss || !changed.is_empty()
            }
        };
        if is_other {
            self.edition.number = number;
            let news = self.news();
            self.followers
                .retain(|follower| follower.send(news.clone()).is_ok());
        }
    }

    /// What followers are told.
    fn news(&self) -> String {
        follow::news(self.edition, &self.stamps)
    }

    /// The file at a path, and no other: there are no patterns, no folders and no
    /// way up in a list of names.
    fn answer(&self, path: &str) -> Answer {
        let Some(pages) = &self.pages else {
            return self.page(Status::Unavailable, &follow::not_bound_yet());
        };
        let path = Utf8Path::new(path);
        // The same name, and not one that reads as the same path.
        match pages.files.get_key_value(path) {
            Some((name, content)) if name.as_str() == path.as_str() => {
                if pages.is_page(path) {
                    return self.page(Status::Found, content);
                }
                Answer::new(Status::Found, content_type(path), content.to_vec())
            }
            _ => {
                let look = Utf8Path::new("look/drawing.css");
                let page = follow::not_there(pages.files.contains_key(look));
                self.page(Status::NotThere, &page)
            }
        }
    }

    fn page(&self, status: Status, content: &[u8]) -> Answer {
        let content = follow::following(content, self.edition, self.amiss.as_deref());
        Answer::new(status, "text/html; charset=utf-8", content)
    }
}
