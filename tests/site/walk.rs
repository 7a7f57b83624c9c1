//! A walk over every page of the demo, and over what it links to.

use std::collections::{BTreeMap, BTreeSet};

use camino::{Utf8Path, Utf8PathBuf};
use ohmbook::record::Audience;

use super::copy::{Copy, demo};
use super::page::{Page, Site, target, text};

/// What a page may weigh at most with the style sheets and scripts that it links
/// to, in bytes and uncompressed.
const LARGEST: usize = 100_000;

/// What a walk over a site finds amiss; empty where all is well.
pub fn amiss(site: &Site) -> Vec<String> {
    let mut out = Vec::new();
    let ids: BTreeMap<&Utf8Path, BTreeSet<&str>> = site
        .pages
        .iter()
        .map(|(path, page)| (path.as_path(), page.values("id").into_iter().collect()))
        .collect();
    for (path, page) in &site.pages {
        let mut say = |what: String| out.push(format!("{path}: {what}"));
        for fault in page.faults() {
            say(fault);
        }
        links(site, path, page, &ids, &mut say);
        names(page, &ids[path.as_path()], &mut say);
        headings(page, &mut say);
        strict(page, &mut say);
    }
    out
}

fn links(
    site: &Site,
    path: &Utf8Path,
    page: &Page,
    ids: &BTreeMap<&Utf8Path, BTreeSet<&str>>,
    say: &mut dyn FnMut(String),
) {
    for href in page.values("href").into_iter().chain(page.values("src")) {
        let Some((to, fragment)) = target(path, href) else {
            continue;
        };
        if !site.files.contains_key(&to) {
            say(format!("`{href}` leads nowhere"));
        }
        if let Some(fragment) = fragment {
            let known = ids.get(to.as_path());
            if !known.is_some_and(|known| known.contains(fragment.as_str())) {
                say(format!("`{href}` names no element"));
            }
        }
    }
    for link in page.all("a") {
        if text(link).is_empty() {
            say(format!("a link without text: {}", link.html()));
        }
    }
}

fn names(page: &Page, ids: &BTreeSet<&str>, say: &mut dyn FnMut(String)) {
    if page.values("id").len() != ids.len() {
        say("an id stands twice".into());
    }
    for attribute in ["aria-labelledby", "data-slip"] {
        let values = page.values(attribute);
        for id in values.into_iter().flat_map(str::split_whitespace) {
            if !ids.contains(id) {
                say(format!("{attribute} `{id}` names no element"));
            }
        }
    }
    for image in page.all("img, [role=img]") {
        let alt = image
            .value()
            .attr("alt")
            .or(image.value().attr("aria-label"))
            .or(image.value().attr("aria-labelledby"));
        if alt.is_none_or(|alt| alt.trim().is_empty()) {
            say(format!("a picture without words: {}", image.html()));
        }
    }
    for cell in page.all("th") {
        if cell.value().attr("scope").is_none() {
            say(format!("a header without scope: {}", text(cell)));
        }
    }
    for landmark in page.all("nav, [role=region], [role=group]") {
        let name = landmark.value().attr("aria-label");
        let name = name.or(landmark.value().attr("aria-labelledby"));
        if name.is_none_or(|name| name.trim().is_empty()) {
            say(format!("a landmark without name: {}", landmark.html()));
        }
    }
}

/// One heading of the first level, and none that skips a level.
fn headings(page: &Page, say: &mut dyn FnMut(String)) {
    let mut before = 0;
    let mut firsts = 0;
    for heading in page.all("h1, h2, h3, h4, h5, h6") {
        let level = heading.value().name()[1..].parse::<u8>();
        let level = level.expect("the selector picks headings");
        firsts += usize::from(level == 1);
        if level > before + 1 {
            say(format!("`{}` skips a level", text(heading)));
        }
        before = level;
    }
    if firsts != 1 {
        say(format!("{firsts} headings of the first level"));
    }
}

/// What a strict content security policy forbids, and what a page needs to be
/// found and read.
fn strict(page: &Page, say: &mut dyn FnMut(String)) {
    for script in page.all("script") {
        // Scripts are files of the site; none stands on a page.
        if script.value().attr("type") == Some("application/ld+json") {
            // Data, which nothing runs.
            let data = script.inner_html();
            if serde_json::from_str::<serde_json::Value>(&data).is_err() {
                say(format!("linked data that is no JSON: {data}"));
            }
            continue;
        }
        let src = script.value().attr("src").unwrap_or("");
        let is_own = !src.is_empty() && !src.contains(':') && script.inner_html().is_empty();
        if !is_own {
            say(format!("a script: {}", script.html()));
        }
    }
    for forbidden in ["style", "iframe", "object", "form", "[style]"] {
        for element in page.all(forbidden) {
            say(format!("{forbidden}: {}", element.html()));
        }
    }
    for element in page.all("*") {
        for (name, _) in element.value().attrs() {
            if name.starts_with("on") {
                say(format!("an event handler: {name}"));
            }
        }
    }
    let policy = page.one("meta[http-equiv=Content-Security-Policy]");
    let policy = policy.value().attr("content").unwrap_or("");
    if !policy.starts_with("default-src 'none'") || policy.contains("unsafe") {
        say(format!("policy {policy}"));
    }
    let language = page.one("html").value().attr("lang").unwrap_or("");
    let description = page.one("meta[name=description]");
    let description = description.value().attr("content").unwrap_or("");
    for (what, content) in [
        ("lang", language),
        ("description", description),
        ("title", &text(page.one("head > title"))),
    ] {
        if content.is_empty() {
            say(format!("no {what}"));
        }
    }
    for landmark in ["main", "main h1", "a.skip", "footer dl.block"] {
        page.one(landmark);
    }
}

#[test]
fn every_page_of_the_demo_is_sound() {
    let site = Site::of(demo());
    let amiss = amiss(&site);
    assert!(site.pages.len() > 50, "{} pages", site.pages.len());
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
}

#[test]
fn every_page_is_reached_from_the_cover() {
    let site = Site::of(demo());
    let mut reached: BTreeSet<Utf8PathBuf> = BTreeSet::new();
    let mut open = vec![Utf8PathBuf::from("index.html")];
    while let Some(path) = open.pop() {
        let Some(page) = site
            .pages
            .get(&path)
            .filter(|_| reached.insert(path.clone()))
        else {
            continue;
        };
        let hrefs = page.all("a[href]");
        let hrefs = hrefs
            .into_iter()
            .filter_map(|link| link.value().attr("href"));
        open.extend(hrefs.filter_map(|href| Some(target(&path, href)?.0)));
    }
    let all: BTreeSet<Utf8PathBuf> = site.pages.keys().cloned().collect();
    assert_eq!(reached, all);
}

/// The style sheets and scripts that a page links to.
fn linked(path: &Utf8Path, page: &Page) -> Vec<Utf8PathBuf> {
    let styles = page.all("link[rel=stylesheet]");
    let styles = styles.iter().filter_map(|link| link.value().attr("href"));
    let scripts = page.all("script[src]");
    let scripts = scripts.iter().filter_map(|link| link.value().attr("src"));
    let links = styles.chain(scripts);
    let own = links.map(|href| target(path, href).expect("it is a file of the site").0);
    own.collect()
}

#[test]
fn no_page_is_heavy() {
    for readers in [Audience::Team, Audience::Customers] {
        let site = Site::for_readers(demo(), readers);
        let mut heavy = Vec::new();
        for (path, page) in &site.pages {
            let linked = linked(path, page);
            assert!(linked.len() >= 2, "{path} links to {linked:?}");
            let weight: usize = linked.iter().map(|path| site.files[path].len()).sum();
            let weight = weight + page.text.len();
            if weight >= LARGEST {
                heavy.push(format!("{path} weighs {weight} bytes"));
            }
        }
        assert!(heavy.is_empty(), "{}", heavy.join("\n"));
    }
}

#[test]
fn the_same_notebook_gives_the_same_bytes() {
    // Proved anew, so that no order of a hash carries over.
    let again = Copy::of_the_demo().prove();
    let (first, second) = (Site::of(demo()), Site::of(&again));
    for (path, content) in &first.files {
        assert!(second.files.get(path) == Some(content), "{path} differs");
    }
    assert_eq!(first.files.len(), second.files.len());
}

/// Style sheets fetch nothing.
#[test]
fn style_sheets_name_no_address() {
    let site = Site::of(demo());
    let is_style = |path: &Utf8Path| path.extension() == Some("css");
    let styles = site.files.iter().filter(|(path, _)| is_style(path));
    let mut count = 0;
    for (path, style) in styles {
        count += 1;
        let style = std::str::from_utf8(style).expect("a style sheet is UTF-8");
        for word in ["url(", "@import", "http"] {
            let found = style.match_indices(word).filter(|(at, _)| {
                // A selector for links that lead outside is no address.
                !style[..*at].ends_with("href^=\"")
            });
            assert_eq!(found.count(), 0, "{path}: {word}");
        }
    }
    assert!(count >= 5, "{count} style sheets");
}

/// Odd names, odd headings and text that would be HTML, all at once.
#[test]
fn hostile_text_does_no_harm() {
    let copy = Copy::of_the_demo();
    copy.write(
        "boards/carrier/figures.md",
        "# Figures\n\n## Sheet\n\n[the list](index.md) [x](a%20b.txt)\n",
    );
    copy.write(
        "boards/carrier/index.md",
        "## Late <b>title</b>\n\n#### Deep\n",
    );
    copy.write(
        "boards/carrier/Design.md",
        "no heading at all [3.3 V](figure:rail)\n",
    );
    copy.write(
        "boards/carrier/a b.txt",
        "a file with a space in its name\n",
    );
    copy.write("boards/carrier/empty.md", "");
    copy.replace(
        "boards/carrier/board.toml",
        "title    = \"Carrier\"",
        "title    = \"</title><script>alert(1)</script> & \\\"Carrier\\\"\"",
    );
    copy.replace(
        "notebook.toml",
        "title      = \"Listening posts\"",
        "title      = \"<img src=x onerror=alert(1)>\"",
    );
    let site = Site::of(&copy.prove());
    let amiss: Vec<String> = amiss(&site)
        .into_iter()
        // Levels that the sheet's own writer skipped.
        .filter(|what| !what.ends_with("`Deep` skips a level"))
        .collect();
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
    let titles: BTreeSet<String> = site
        .pages
        .values()
        .map(|page| text(page.one("head > title")))
        .collect();
    assert!(titles.iter().any(|title| title.contains("<script>")));
    assert!(
        site.files
            .contains_key(Utf8Path::new("files/boards/carrier/a b.txt"))
    );
    // No two pages on a disk that does not tell capitals from small letters.
    let lower: BTreeSet<String> = site
        .files
        .keys()
        .map(|path| path.as_str().to_lowercase())
        .collect();
    assert_eq!(lower.len(), site.files.len());
}
