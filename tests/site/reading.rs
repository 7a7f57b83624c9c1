//! What programs read of a site: feed, site map, figures, tables, linked data,
//! and pictures with their size.

use std::collections::BTreeSet;

use camino::Utf8Path;
use ohmbook::finding::Slug;
use ohmbook::record::Audience;
use serde_json::Value;

use super::copy::{Copy, demo};
use super::page::{Site, target, text};

const ATOM: &str = "http://www.w3.org/2005/Atom";

fn file<'s>(site: &'s Site, path: &str) -> &'s str {
    let content = site.files.get(Utf8Path::new(path));
    let content = content.unwrap_or_else(|| panic!("there is no `{path}`"));
    std::str::from_utf8(content).expect("it is UTF-8")
}

/// What RFC 4287 (4.1.1, 4.1.2) demands of a feed and of each entry, once.
fn ids_of_feed(text: &str) -> Vec<String> {
    let document = roxmltree::Document::parse(text).expect("the feed is XML");
    let feed = document.root_element();
    assert!(feed.has_tag_name((ATOM, "feed")));
    let child = |of: roxmltree::Node<'_, '_>, name: &str| -> String {
        let mut found = of.children().filter(|one| one.has_tag_name((ATOM, name)));
        let first = found.next().unwrap_or_else(|| panic!("no {name}"));
        assert!(found.next().is_none(), "{name} stands twice");
        first.text().unwrap_or_default().to_owned()
    };
    assert!(!child(feed, "title").is_empty());
    assert!(
        feed.children()
            .any(|one| one.has_tag_name((ATOM, "author")))
    );
    let mut ids = vec![child(feed, "id")];
    let mut newest = String::new();
    for entry in feed
        .children()
        .filter(|one| one.has_tag_name((ATOM, "entry")))
    {
        assert!(!child(entry, "title").is_empty());
        let updated = child(entry, "updated");
        assert!(
            updated.ends_with("T00:00:00Z") && updated.len() == 20,
            "{updated}"
        );
        newest = newest.max(updated);
        ids.push(child(entry, "id"));
    }
    assert_eq!(child(feed, "updated"), newest);
    ids
}

#[test]
fn the_feed_tells_of_log_and_revisions_under_names_that_last() {
    let site = Site::of(demo());
    let ids = ids_of_feed(file(&site, "feed.xml"));
    let apart: BTreeSet<&String> = ids.iter().collect();
    assert_eq!(apart.len(), ids.len());
    assert!(
        ids.iter()
            .all(|id| id.starts_with("tag:listening-posts.invalid,2026"))
    );
    assert!(
        ids.iter()
            .any(|id| id.ends_with(":cell_charger/revision/A"))
    );
    assert!(ids.iter().any(|id| id.contains(":cell_charger/log/")));
    assert!(!site.files.contains_key(Utf8Path::new("sitemap.xml")));
    // Customers are told of revisions.
    let shop = Site::for_readers(demo(), Audience::Customers);
    let ids = ids_of_feed(file(&shop, "feed.xml"));
    assert!(ids.iter().any(|id| id.contains("/revision/")));
    assert!(!ids.iter().any(|id| id.contains("/log/")));
}

/// An id is for good (RFC 4287, 4.2.6), whatever is put before an entry or added
/// to what it tells of.
#[test]
fn errata_keep_their_ids_whatever_comes_before_them() {
    let charger = "boards/cell_charger/board.toml";
    let errata = |copy: &Copy| -> BTreeSet<String> {
        let site = Site::of(&copy.prove());
        let ids = ids_of_feed(file(&site, "feed.xml")).into_iter();
        let ids = ids.filter(|id| id.contains("/erratum/"));
        let ids: Vec<String> = ids.collect();
        let apart: BTreeSet<String> = ids.iter().cloned().collect();
        assert_eq!(apart.len(), ids.len(), "{ids:?}");
        apart
    };
    let copy = Copy::of_the_demo();
    let before = errata(&copy);
    assert_eq!(before.len(), 1);
    // One of the same day, one of another, and another way round the first.
    copy.replace(
        charger,
        "[[erratum]]\n",
        "[[erratum]]\nmeans = \"The lamp is dim.\"\naffects = [\"A\"]\ndate = 2026-02-20\n\n\
         [[erratum]]\nmeans = \"The print is faint.\"\naffects = [\"A\"]\ndate = 2026-02-26\n\n\
         [[erratum]]\n",
    );
    copy.replace(charger, "Use revision A with", "Only use revision A with");
    let after = errata(&copy);
    assert_eq!(after.len(), 3);
    assert!(after.is_superset(&before), "{before:?} {after:?}");
    // A sentence that is written twice is told once.
    copy.replace(charger, "The print is faint.", "The lamp is dim.");
    copy.replace(charger, "2026-02-26", "2026-02-20");
    let once = errata(&copy);
    assert_eq!(once.len(), 2);
    assert!(once.is_superset(&before) && once.is_subset(&after));
}

#[test]
fn with_an_address_there_is_a_site_map_of_whole_addresses() {
    let copy = Copy::of_the_demo();
    let with = |address: &str| format!("[notebook]\naddress = \"{address}\"\n");
    copy.replace(
        "notebook.toml",
        "[notebook]\n",
        &with("https://boards.example/book"),
    );
    let notebook = copy.prove();
    let site = Site::of(&notebook);
    let map = file(&site, "sitemap.xml");
    let map = roxmltree::Document::parse(map).expect("the site map is XML");
    let places: BTreeSet<String> = map
        .descendants()
        .filter(|one| one.has_tag_name(("http://www.sitemaps.org/schemas/sitemap/0.9", "loc")))
        .filter_map(|one| one.text().map(str::to_owned))
        .collect();
    assert_eq!(places.len(), site.pages.len());
    assert!(places.contains("https://boards.example/book/boards/carrier/index.html"));
    let ids = ids_of_feed(file(&site, "feed.xml"));
    assert!(
        ids.iter()
            .all(|id| id.starts_with("tag:boards.example,2026"))
    );
    for bad in [
        "boards.example",
        "ftp://boards.example",
        "https://",
        "https://a b/",
        "https://a/?q",
    ] {
        let copy = Copy::of_the_demo();
        copy.replace("notebook.toml", "[notebook]\n", &with(bad));
        let found = copy.prove().findings;
        assert!(
            found.iter().any(|finding| finding.slug == Slug::BadValue),
            "{bad}"
        );
    }
}

#[test]
fn figures_are_there_as_json_under_addresses_that_exist() {
    let notebook = demo();
    let site = Site::of(notebook);
    for (at, board) in notebook.records.boards.iter().enumerate() {
        let id = &board.id.value;
        let path = format!("boards/{id}/figures.json");
        let whole: Value = serde_json::from_str(file(&site, &path)).expect("it is JSON");
        let figures = whole["figures"].as_array().expect("it lists figures");
        assert_eq!(figures.len(), notebook.figures_of(at).len());
        for figure in figures {
            let address = figure["address"].as_str().expect("it has an address");
            let (page, fragment) = target(Utf8Path::new(&path), address).expect("it is inside");
            let fragment = fragment.expect("it names an element");
            let page = &site.pages[&page];
            assert!(page.values("id").contains(&fragment.as_str()), "{address}");
        }
        let rows = file(&site, &format!("boards/{id}/figures.csv"))
            .lines()
            .count();
        assert_eq!(rows, figures.len() + 1);
    }
    // 1000 V / 5.10 kΩ, as the README derives it.
    let charger: Value =
        serde_json::from_str(file(&site, "boards/cell_charger/figures.json")).expect("JSON");
    let figures = charger["figures"].as_array().expect("a list");
    let slow = figures
        .iter()
        .find(|figure| figure["name"] == "charge_slow")
        .expect("it is there");
    let nominal = slow["value"]["nominal"].as_f64().expect("a number");
    assert!((nominal - 1000.0 / 5100.0).abs() < 1e-12);
    assert_eq!(slow["value"]["unit"], "A");
}

/// RFC 4180: lines end in CR LF, and all have as many fields as the first.
#[test]
fn every_table_has_a_file() {
    let site = Site::of(demo());
    let mut count = 0;
    for (path, page) in &site.pages {
        for link in page.all("p.csv > a") {
            let href = link.value().attr("href").expect("a link");
            let (to, _) = target(path, href).expect("it is inside");
            let text = file(&site, to.as_str());
            if to.extension() != Some("csv") {
                continue;
            }
            count += 1;
            assert!(text.ends_with("\r\n"), "{to}");
            let mut reader = csv::ReaderBuilder::new()
                .has_headers(false)
                .from_reader(text.as_bytes());
            assert!(
                reader.records().all(|row| row.is_ok()),
                "{to}: rows of one length"
            );
        }
        let tables = page.all("main table:not(.data table)").len();
        let files = page.all("main p.csv > a[href*='data/']").len();
        assert!(
            files <= tables + 1,
            "{path}: {files} files for {tables} tables"
        );
    }
    assert!(count > 60, "{count}");
}

#[test]
fn a_board_is_described_for_machines() {
    let site = Site::of(demo());
    let page = site.page("boards/cell_charger/index.html");
    let data = page.one("script[type='application/ld+json']").inner_html();
    let data: Value = serde_json::from_str(&data).expect("it is JSON");
    assert_eq!(data["@context"], "https://schema.org");
    assert_eq!(data["name"], text(page.one("main h1")));
    let figures = data["additionalProperty"].as_array().expect("figures");
    let slow = figures
        .iter()
        .find(|one| one["propertyID"] == "charge_slow")
        .expect("there");
    assert_eq!(slow["unitText"], "mA");
    assert!((slow["value"].as_f64().expect("a number") - 196.1).abs() < 0.06);
}

#[test]
fn pictures_are_copied_with_their_size() {
    let copy = Copy::of_the_demo();
    // The head of a picture of 3 by 2 pixels (PNG, ISO/IEC 15948, 11.2.2).
    let head = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x03\0\0\0\x02\x08\x02\0\0\0\x12\x16\xf1\x4d";
    copy.write("boards/carrier/photo.png", head);
    copy.replace(
        "boards/carrier/front.md",
        "\n## Signals",
        "\n![The board](photo.png)\n\n## Signals",
    );
    let site = Site::of(&copy.prove());
    let picture = site.page("boards/carrier/index.html").one(".prose img");
    let attribute = |name| picture.value().attr(name).unwrap_or("");
    assert_eq!((attribute("width"), attribute("height")), ("3", "2"));
    assert_eq!(
        (attribute("loading"), attribute("alt")),
        ("lazy", "The board")
    );
    assert!(
        site.files
            .contains_key(Utf8Path::new("files/boards/carrier/photo.png"))
    );
}

/// The row of a board on the cover of an edition.
fn row<'s>(site: &'s Site, board: &str) -> scraper::ElementRef<'s> {
    let page = site.page("index.html");
    let rows = page.all("table.drawings tbody tr").into_iter();
    let href = format!("href=\"boards/{board}/index.html\"");
    let mut rows = rows.filter(|row| row.html().contains(&href));
    rows.next().expect("the board is on the cover")
}

#[test]
fn a_board_shows_its_picture_on_the_cover_or_else_its_pins() {
    let copy = Copy::of_the_demo();
    let head = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x03\0\0\0\x02\x08\x02\0\0\0\x12\x16\xf1\x4d";
    copy.write("boards/carrier/photo.png", head);
    copy.write("boards/trail_keypad/readings/bench.png", head);
    copy.replace(
        "boards/carrier/front.md",
        "\n## Signals",
        "\n![No picture](carrier.svg)\n\n![The \"board\"](photo.png)\n\n## Signals",
    );
    copy.write("boards/carrier/carrier.svg", "<svg>");
    copy.append(
        "boards/trail_keypad/front.md",
        "\n![On the bench](readings/bench.png)\n",
    );
    let notebook = copy.prove();
    let has = |site: &Site, board: &str| {
        let html = row(site, board).inner_html();
        (html.contains("<img"), html.contains("class=\"pattern\""))
    };
    for readers in [Audience::Team, Audience::Customers] {
        let site = Site::for_readers(&notebook, readers);
        let picture = site.page("index.html").all("table.drawings img")[0];
        let attribute = |name| picture.value().attr(name).unwrap_or("");
        assert_eq!(attribute("src"), "files/boards/carrier/photo.png");
        assert_eq!(attribute("alt"), "The \"board\"");
        assert_eq!((attribute("width"), attribute("height")), ("3", "2"));
        assert_eq!(attribute("loading"), "lazy");
        let file = Utf8Path::new("files/boards/carrier/photo.png");
        assert!(site.files.contains_key(file));
        assert_eq!(has(&site, "carrier"), (true, false));
        assert_eq!(has(&site, "sound_post"), (false, true));
        // It has neither picture nor pins.
        assert_eq!(has(&site, "bench_breakout"), (false, false));
        // What lies among the readings is the team's.
        let whole = readers == Audience::Team;
        assert_eq!(has(&site, "trail_keypad"), (whole, !whole));
    }
}
