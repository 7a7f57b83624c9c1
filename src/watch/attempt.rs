//! One try at binding: the pages, or what stands against them.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender};
use std::time::{Duration, Instant};

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::Date;

use super::check_print;
use super::desk::Event;
use crate::notebook::Notebook;
use crate::page::{PageFault, Pages, pages_after};

/// How a try at binding went.
#[derive(Debug)]
pub struct Attempt {
    /// The notebook as it was read; `None` where reading it broke off.
    pub notebook: Option<Notebook>,
    /// What stands against binding that is no finding of the notebook's: a fault
    /// in the look, or in this program.
    pub fault: Option<String>,
    /// Files of the site, where it was bound.
    pub files: Option<usize>,
    /// Pages of them that were rendered, and not taken over.
    pub rendered: usize,
    /// Files of them that are not as they were.
    pub changed: usize,
    /// The time that it took.
    pub took: Duration,
}

/// What the desk gets of it.
#[derive(Debug)]
pub(super) enum Bound {
    /// All holds.
    Holds {
        /// The site.
        pages: Arc<Pages>,
        /// Files of it that are new or not as they were.
        changed: Vec<Utf8PathBuf>,
    },
    /// Something stands against binding: findings, ready to be laid over a page.
    Amiss(String),
}

/// Binds once for each request, and tells the desk and `report`.
pub(super) fn bind_when_asked(
    folder: &Utf8Path,
    today: fn() -> Date,
    asked: &Receiver<()>,
    events: &Sender<Event>,
    mut report: impl FnMut(&Attempt),
) {
    let mut last = Arc::new(Pages::default());
    while asked.recv().is_ok() {
        let (bound, attempt) = bind(folder, today(), &last);
        if let Bound::Holds { pages, .. } = &bound {
            last = pages.clone();
        }
        if events.send(Event::Bound(bound)).is_err() {
            return;
        }
        report(&attempt);
    }
}

fn bind(folder: &Utf8Path, today: Date, last: &Pages) -> (Bound, Attempt) {
    let start = Instant::now();
    let mut attempt = Attempt {
        notebook: None,
        fault: None,
        files: None,
        rendered: 0,
        changed: 0,
        took: Duration::ZERO,
    };
    let bound = match unbroken(|| Notebook::load(folder, today)) {
        Err(why) => {
            let bound = Bound::Amiss(check_print::of_defect(&why));
            attempt.fault = Some(why);
            bound
        }
        Ok(notebook) => {
            let bound = print(&notebook, last, &mut attempt);
            attempt.notebook = Some(notebook);
            bound
        }
    };
    attempt.took = start.elapsed();
    (bound, attempt)
}

/// Makes the pages of a notebook that holds.
fn print(notebook: &Notebook, last: &Pages, attempt: &mut Attempt) -> Bound {
    if !notebook.holds() {
        return Bound::Amiss(check_print::of_findings(notebook));
    }
    match unbroken(|| pages_after(notebook, last)) {
        Ok(Ok(pages)) => {
            let changed = changed(last, &pages);
            attempt.files = Some(pages.files.len());
            attempt.rendered = pages.rendered;
            attempt.changed = changed.len();
            Bound::Holds {
                pages: Arc::new(pages),
                changed,
            }
        }
        Ok(Err(fault)) => {
            attempt.fault = Some(fault.to_string());
            Bound::Amiss(of_fault(notebook, &fault))
        }
        Err(why) => {
            let amiss = check_print::of_defect(&why);
            attempt.fault = Some(why);
            Bound::Amiss(amiss)
        }
    }
}

fn of_fault(notebook: &Notebook, fault: &PageFault) -> String {
    // The line is read from the disk, where it is the notebook's own.
    let text = std::fs::read_to_string(notebook.root.join(&fault.path)).unwrap_or_default();
    check_print::of_fault(fault, &text)
}

/// Files that are new, gone or not as they were.
fn changed(last: &Pages, now: &Pages) -> Vec<Utf8PathBuf> {
    let gone = last
        .files
        .keys()
        .filter(|path| !now.files.contains_key(*path));
    let other = now
        .files
        .iter()
        .filter(|(path, content)| last.files.get(*path) != Some(content));
    gone.chain(other.map(|(path, _)| path)).cloned().collect()
}

/// Does the work, and says what a panic said. A panic is a defect of this
/// program; it shall not take the server down with it.
fn unbroken<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    // What was being made is thrown away, so it does not matter how far it got.
    catch_unwind(AssertUnwindSafe(work)).map_err(|cause| {
        format!(
            "this is a defect of the program, and it is not in the notebook: {}",
            said(cause.as_ref())
        )
    })
}

fn said(cause: &(dyn Any + Send)) -> &str {
    let text = cause.downcast_ref::<String>().map(String::as_str);
    text.or_else(|| cause.downcast_ref::<&str>().copied())
        .unwrap_or("it does not say why")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_is_told_and_goes_no_further() {
        assert_eq!(unbroken(|| 1), Ok(1));
        let why = unbroken(|| -> () { panic!("no {}", "way") });
        assert!(why.is_err_and(|why| why.ends_with("it is not in the notebook: no way")));
    }
}
