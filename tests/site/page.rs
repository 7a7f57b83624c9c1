//! One page, parsed.

use std::collections::BTreeMap;

use camino::{Utf8Path, Utf8PathBuf};
use ohmbook::notebook::Notebook;
use ohmbook::page::pages_for;
use ohmbook::record::Audience;
use scraper::{ElementRef, Html, Selector};

/// All files of a site, and its pages parsed.
pub struct Site {
    pub files: BTreeMap<Utf8PathBuf, Vec<u8>>,
    pub pages: BTreeMap<Utf8PathBuf, Page>,
}

/// One page.
pub struct Page {
    pub text: String,
    html: Html,
}

impl Site {
    /// The site of a notebook.
    pub fn of(notebook: &Notebook) -> Site {
        Site::for_readers(notebook, Audience::Team)
    }

    /// The site of a notebook for some readers.
    pub fn for_readers(notebook: &Notebook, readers: Audience) -> Site {
        Site::of_files(pages_for(notebook, readers).expect("the pages can be made"))
    }

    /// A site of its files.
    pub fn of_files(files: BTreeMap<Utf8PathBuf, Vec<u8>>) -> Site {
        let html = files
            .iter()
            .filter(|(path, _)| path.extension() == Some("html"));
        let parsed = html.map(|(path, content)| {
            let text = String::from_utf8(content.clone()).expect("a page is UTF-8");
            let html = Html::parse_document(&text);
            (path.clone(), Page { text, html })
        });
        Site {
            pages: parsed.collect(),
            files,
        }
    }

    /// A page by its path.
    pub fn page(&self, path: &str) -> &Page {
        self.pages
            .get(Utf8Path::new(path))
            .unwrap_or_else(|| panic!("there is no page `{path}`"))
    }
}

impl Page {
    /// What the parser had to mend.
    pub fn faults(&self) -> Vec<String> {
        self.html.errors.iter().map(ToString::to_string).collect()
    }

    /// All elements that a selector picks.
    pub fn all(&self, selector: &str) -> Vec<ElementRef<'_>> {
        let parsed = Selector::parse(selector).expect("the selector is sound");
        self.html.select(&parsed).collect()
    }

    /// The values of an attribute, wherever it stands.
    pub fn values(&self, attribute: &str) -> Vec<&str> {
        let elements = self.all(&format!("[{attribute}]"));
        let values = elements
            .into_iter()
            .filter_map(|element| element.value().attr(attribute));
        values.collect()
    }

    /// The one element that a selector picks.
    pub fn one(&self, selector: &str) -> ElementRef<'_> {
        let all = self.all(selector);
        assert_eq!(all.len(), 1, "{selector} picks {} elements", all.len());
        all[0]
    }
}

/// The text of an element, its white space run together.
pub fn text(element: ElementRef<'_>) -> String {
    let text: Vec<&str> = element.text().collect();
    text.join(" ")
        .split([' ', '\n', '\t'])
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// A path that an address leads to, and its fragment. `None` for an address
/// outside.
pub fn target(from: &Utf8Path, href: &str) -> Option<(Utf8PathBuf, Option<String>)> {
    if href.starts_with("https://") || href.starts_with("http://") || href.starts_with("mailto:") {
        return None;
    }
    let (path, fragment) = match href.split_once('#') {
        Some((path, fragment)) => (path, Some(decoded(fragment))),
        None => (href, None),
    };
    let mut steps: Vec<String> = from
        .parent()
        .map(|folder| folder.components().map(|step| step.to_string()).collect())
        .unwrap_or_default();
    if path.is_empty() {
        return Some((from.to_owned(), fragment));
    }
    for step in path.split('/') {
        match step {
            "." => {}
            ".." => assert!(steps.pop().is_some(), "`{href}` on {from} leaves the site"),
            step => steps.push(decoded(step)),
        }
    }
    Some((steps.join("/").into(), fragment))
}

/// Text with its percent-encoding undone.
fn decoded(text: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((&first, after)) = rest.split_first() {
        let code = after.get(..2).and_then(|two| std::str::from_utf8(two).ok());
        let code = code.and_then(|two| u8::from_str_radix(two, 16).ok());
        match (first, code) {
            (b'%', Some(byte)) => {
                bytes.push(byte);
                rest = &after[2..];
            }
            _ => {
                bytes.push(first);
                rest = after;
            }
        }
    }
    String::from_utf8(bytes).expect("an address is UTF-8")
}
