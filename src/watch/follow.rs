//! What a page is given so that it follows: two lines in its head, and the
//! findings at its end where there are any.
//!
//! None of it is ever part of what is bound.

use std::collections::BTreeMap;
use std::fmt;

use camino::Utf8PathBuf;
use serde_json::json;

use super::answer::{Answer, Status, content_type};

/// Folder of this server's own files. No page is in it.
const FOLDER: &str = "watch/";
/// Where pages wait for news.
pub(super) const NEWS: &str = "watch/news";

const SCRIPT: &str = include_str!("follow.js");
const STYLE: &str = include_str!("follow.css");

/// Counts what there is to be seen.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Edition {
    /// The run of the program.
    pub(super) run: u64,
    /// Which one of this run.
    pub(super) number: u64,
}

impl fmt::Display for Edition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.run, self.number)
    }
}

/// A file of this server's own; `None` where the path is not in its folder.
pub(super) fn own_file(path: &str) -> Option<Answer> {
    let name = path.strip_prefix(FOLDER)?;
    let text = match name {
        "follow.js" => SCRIPT,
        "follow.css" => STYLE,
        _ => return Some(Answer::text(Status::NotThere, "there is nothing here")),
    };
    let kind = content_type(name.into());
    Some(Answer::new(Status::Found, kind, text.into()))
}

/// What pages are told: the edition, and which files other than pages are of which
/// edition.
pub(super) fn news(edition: Edition, stamps: &BTreeMap<Utf8PathBuf, u64>) -> String {
    json!({ "edition": edition.to_string(), "stamps": stamps }).to_string()
}

/// A page that follows. `amiss` is laid over it.
pub(super) fn following(page: &[u8], edition: Edition, amiss: Option<&str>) -> Vec<u8> {
    let head = format!(
        "<link rel=\"stylesheet\" href=\"/{FOLDER}follow.css\">\n\
         <script defer src=\"/{FOLDER}follow.js\" data-edition=\"{edition}\"></script>\n"
    );
    // A look of the notebook's own may leave either tag out, as HTML allows.
    let in_head = find(page, b"</head>").unwrap_or(page.len());
    let at_end = rfind(page, b"</body>").unwrap_or(page.len()).max(in_head);
    let mut out = Vec::with_capacity(page.len() + head.len() + amiss.map_or(0, str::len));
    out.extend_from_slice(&page[..in_head]);
    out.extend_from_slice(head.as_bytes());
    out.extend_from_slice(&page[in_head..at_end]);
    out.extend_from_slice(amiss.unwrap_or("").as_bytes());
    out.extend_from_slice(&page[at_end..]);
    out
}

fn find(page: &[u8], tag: &[u8]) -> Option<usize> {
    page.windows(tag.len()).position(|found| found == tag)
}

fn rfind(page: &[u8], tag: &[u8]) -> Option<usize> {
    page.windows(tag.len()).rposition(|found| found == tag)
}

/// A page for an address where there is none.
pub(super) fn not_there(has_look: bool) -> Vec<u8> {
    let links = "<p><a href=\"/\">The drawing list</a> names every sheet there is.</p>";
    plain("No sheet", "No sheet has this address.", links, has_look)
}

/// A page until one was bound.
pub(super) fn not_bound_yet() -> Vec<u8> {
    let waits = "<p>The sheet comes up here as soon as the notebook holds.</p>";
    plain(
        "Not bound yet",
        "This notebook is not bound yet.",
        waits,
        false,
    )
}

fn plain(title: &str, heading: &str, text: &str, has_look: bool) -> Vec<u8> {
    let look = match has_look {
        true => "<link rel=\"stylesheet\" href=\"/look/drawing.css\">\n",
        false => "",
    };
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <title>{title}</title>\n{look}</head>\n\
         <body class=\"check-blank\">\n<main>\n<h1>{heading}</h1>\n{text}\n</main>\n</body>\n</html>\n"
    )
    .into_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    const EDITION: Edition = Edition { run: 7, number: 2 };

    fn made(page: &str, amiss: Option<&str>) -> String {
        let page = following(page.as_bytes(), EDITION, amiss);
        String::from_utf8(page).expect("it is text")
    }

    #[test]
    fn a_page_is_as_it_was_but_for_the_lines_in_its_head() {
        let page = "<head>a</head><body>b</body>";
        let made = made(page, None);
        let start = made.find("<link").expect("the style");
        let end = made.find("</head>").expect("the end of the head");
        assert_eq!(format!("{}{}", &made[..start], &made[end..]), page);
        assert!(made.contains("data-edition=\"7.2\""));
    }

    #[test]
    fn findings_come_last_whatever_the_page_leaves_out() {
        assert!(
            made("<head></head><body>b</body></html>", Some("X")).ends_with("bX</body></html>")
        );
        assert!(made("b", Some("X")).ends_with("</script>\nX"));
        assert!(made("</body></head>b", Some("X")).contains("X</head>b"));
    }

    #[test]
    fn nothing_but_its_own_files_is_in_the_folder() {
        assert!(own_file("index.html").is_none());
        assert!(own_file("watch").is_none());
        for (path, status) in [
            ("watch/follow.js", Status::Found),
            ("watch/follow.css", Status::Found),
            ("watch/", Status::NotThere),
            ("watch/../follow.rs", Status::NotThere),
        ] {
            assert_eq!(own_file(path).map(|answer| answer.status), Some(status));
        }
    }
}
