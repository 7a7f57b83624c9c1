//! One try at binding: the pages, or what stands against them.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender};
use std::time::{Duration, Instant};

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::Date;

use super::change::Touched;
use super::check_print;
use super::desk::Event;
use crate::notebook::Notebook;
use crate::page::{PageFault, Pages, pages_after, pages_reworded};

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
    asked: &Receiver<Touched>,
    events: &Sender<Event>,
    mut report: impl FnMut(&Attempt),
) {
    let mut binding = Binding {
        folder,
        last: Arc::new(Pages::default()),
        held: None,
    };
    while let Ok(touched) = asked.recv() {
        let today = today();
        let (bound, attempt) = binding.bind(&touched, today);
        if events.send(Event::Bound(bound)).is_err() {
            return;
        }
        report(&attempt);
        binding.hold(attempt, today);
    }
}

/// What one try hands on to the next.
struct Binding<'a> {
    folder: &'a Utf8Path,
    /// The pages of the last notebook that held.
    last: Arc<Pages>,
    held: Option<Held>,
}

/// The notebook as it was read before.
struct Held {
    notebook: Notebook,
    /// The day that settled which waivers still stand.
    today: Date,
    /// Whether the last pages are its own.
    is_bound: bool,
}

impl Binding<'_> {
    /// Keeps the notebook of a try for the next.
    fn hold(&mut self, attempt: Attempt, today: Date) {
        let is_bound = attempt.files.is_some();
        self.held = attempt.notebook.map(|notebook| Held {
            notebook,
            today,
            is_bound,
        });
    }

    fn bind(&mut self, touched: &Touched, today: Date) -> (Bound, Attempt) {
        let start = Instant::now();
        let mut attempt = Attempt {
            notebook: None,
            fault: None,
            files: None,
            rendered: 0,
            changed: 0,
            took: Duration::ZERO,
        };
        let held = self.held.take();
        let read = unbroken(|| match held {
            Some(held) if held.today == today => held.read(self.folder, touched),
            _ => (Notebook::load_after(self.folder, today, None), None),
        });
        let bound = match read {
            Err(why) => {
                let bound = Bound::Amiss(check_print::of_defect(&why));
                attempt.fault = Some(why);
                bound
            }
            Ok((notebook, sheets)) => {
                let bound = print(&notebook, sheets.as_deref(), &self.last, &mut attempt);
                attempt.notebook = Some(notebook);
                bound
            }
        };
        if let Bound::Holds { pages, .. } = &bound {
            self.last = pages.clone();
        }
        attempt.took = start.elapsed();
        (bound, attempt)
    }
}

impl Held {
    /// The notebook as it is now. Where nothing but words are other than before, it
    /// is not read again; where its pages are made too, these are the sheets whose
    /// pages are not.
    fn read(self, folder: &Utf8Path, touched: &Touched) -> (Notebook, Option<Vec<usize>>) {
        let mut notebook = self.notebook;
        if let Touched::Files(files) = touched {
            let sheets = files.iter().map(|path| notebook.reword(path));
            if let Some(sheets) = sheets.collect() {
                return (notebook, self.is_bound.then_some(sheets));
            }
        }
        let now = Notebook::load_after(folder, self.today, Some(&notebook));
        (now, None)
    }
}

/// Makes the pages of a notebook that holds: those of some sheets, where only their
/// words are other than in the last pages.
fn print(
    notebook: &Notebook,
    sheets: Option<&[usize]>,
    last: &Pages,
    attempt: &mut Attempt,
) -> Bound {
    if !notebook.holds() {
        return Bound::Amiss(check_print::of_findings(notebook));
    }
    let printed = unbroken(|| {
        if let Some(sheets) = sheets
            && let Some(pages) = pages_reworded(notebook, last, sheets)?
        {
            return Ok(pages);
        }
        pages_after(notebook, last)
    });
    match printed {
        Ok(Ok(pages)) => {
            let changed = pages.changed_since(last);
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
