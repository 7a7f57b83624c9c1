//! The sheets of earlier revisions: figures, chances and pins as they were, each
//! under an address of its own.

use std::collections::BTreeSet;

use camino::Utf8Path;
use ohmbook::notebook::Notebook;
use ohmbook::record::Audience;
use scraper::ElementRef;

use super::copy::{Copy, demo};
use super::page::{Site, text};

const CARRIER: &str = "boards/carrier/board.toml";
const SWITCH: &str = "boards/night_switch/board.toml";

/// The demo, where carrier and night switch have an earlier revision each.
fn revised() -> Copy {
    let copy = Copy::of_the_demo();
    for (board, revision) in [
        (
            CARRIER,
            "changes = [\"Bus pull-up R1 lowered from 10k to 5k1.\"]\nfitted = { R1 = \"res_10k\" }\n",
        ),
        (
            SWITCH,
            "changes = [\"Interval longer.\"]\nfitted = { R1 = \"res_10k\" }\n",
        ),
    ] {
        copy.replace(board, "revision = \"A\"", "revision = \"B\"");
        let record = format!("[revision.A]\ndate = 2026-01-15\n{revision}\n[complete]\n");
        copy.replace(board, "[complete]\n", &record);
    }
    copy
}

/// The median of the draws of a figure, in its own unit.
fn median(notebook: &Notebook, board: &str, name: &str) -> f64 {
    let node = notebook.graph.find(board, name).expect("it has a node");
    let drawn = notebook.drawn(node).expect("it varies");
    let value = notebook.value(node).expect("it has a value");
    value.unit.count_of(drawn.quantile(0.5))
}

/// The bin that half of the draws lie below: its ends.
fn middle(site: &Site, path: &str) -> (f64, f64) {
    let file = site.files.get(Utf8Path::new(path));
    let file = file.unwrap_or_else(|| panic!("there is no file `{path}`"));
    let rows = std::str::from_utf8(file).expect("CSV is UTF-8");
    let rows = rows.lines().skip(1).map(|row| {
        let cells = row
            .split(',')
            .map(|cell| cell.parse().expect("it is a number"));
        cells.collect::<Vec<f64>>()
    });
    let rows: Vec<Vec<f64>> = rows.collect();
    let all: f64 = rows.iter().map(|row| row[2]).sum();
    let mut below = 0.0;
    let row = rows.iter().find(|row| {
        below += row[2];
        below >= all / 2.0
    });
    let row = row.expect("half of the draws lie below");
    (row[0], row[1])
}

/// What may miss what is required now is drawn with its chances, as the board
/// that is made now would be; what always misses has nothing to weigh.
#[test]
fn an_earlier_revision_that_is_at_risk_shows_how_often() {
    let notebook = demo();
    let site = Site::of(notebook);
    let page = site.page("boards/cell_charger/revision-A/figures.html");
    let drawn: BTreeSet<String> = page
        .all("svg.plot.of-distribution")
        .iter()
        .filter_map(|plot| plot.value().attr("aria-labelledby"))
        .filter_map(|ids| Some(ids.split_once("-title")?.0.to_owned()))
        .collect();
    assert!(drawn.contains("Distribution-termination_slow"), "{drawn:?}");
    assert!(!drawn.contains("Distribution-charge_slow"), "{drawn:?}");
    let mut boards = notebook.records.boards.iter();
    let charger = boards.position(|board| board.id.value == "cell_charger");
    let charger = charger.expect("the demo has a charger");
    let then = notebook.revision(charger, 0).expect("it had a revision A");
    let path = "boards/cell_charger/revision-A/data/termination_slow.csv";
    let (from, to) = middle(&site, path);
    let median = median(&then.notebook, "cell_charger", "termination_slow");
    assert!(from <= median && median <= to, "{from} {median} {to}");
    // The board that is made now is at no risk, and has neither plot nor file.
    let now = site.page("boards/cell_charger/figures.html");
    assert!(now.all("svg.plot.of-distribution").is_empty());
    let path = Utf8Path::new("boards/cell_charger/data/termination_slow.csv");
    assert!(!site.files.contains_key(path));
    // How many boards are sorted out is the team's.
    let shop = Site::for_readers(notebook, Audience::Customers);
    for (path, page) in &shop.pages {
        assert!(page.all("svg.plot.of-distribution").is_empty(), "{path}");
    }
    let mut paths = shop.files.keys();
    assert!(!paths.any(|path| path.as_str().ends_with("data/termination_slow.csv")));
}

/// A figure whose spread is settled by chance has its histogram in either
/// revision, and the file behind one is not that behind the other.
#[test]
fn a_figure_by_chance_is_drawn_for_every_revision() {
    let notebook = revised().prove();
    let site = Site::of(&notebook);
    let folder = "boards/night_switch";
    for sheet in ["figures.html", "revision-A/figures.html"] {
        let page = site.page(&format!("{folder}/{sheet}"));
        page.one("[aria-labelledby^=\"Distribution-night_life_usual-\"]");
    }
    let files = ["data", "revision-A/data"];
    let [now, then] =
        files.map(|data| middle(&site, &format!("{folder}/{data}/night_life_usual.csv")));
    // A tenth of the resistance wakes it ten times as often.
    assert!(then.1 < now.0, "{then:?} {now:?}");
}

#[test]
fn heads_name_a_revision_with_a_capital() {
    let site = Site::of(demo());
    let sheet = site.page("boards/cell_charger/revision-A/index.html");
    let heads: Vec<String> = sheet.all("#B thead th").into_iter().map(text).collect();
    assert_eq!(
        heads,
        [
            "Figure",
            "Revision A",
            "Every board",
            "Required now",
            "Revision B"
        ]
    );
}

/// A sheet that states what a figure comes to now says nothing of an earlier
/// revision.
#[test]
fn a_figure_of_an_earlier_revision_is_stated_where_that_is_named() {
    let site = Site::of(demo());
    let entry = |path: &str| {
        let page = site.page(path);
        let figures = page.all(".entry");
        let mut figures = figures.into_iter();
        let is_slow = |entry: &ElementRef<'_>| entry.html().contains("id=\"figure-charge_slow\"");
        let entry = figures.find(is_slow).expect("it has an entry");
        text(entry)
    };
    let now = entry("boards/cell_charger/figures.html");
    assert!(now.contains("Stated on sheet 1"), "{now}");
    let then = entry("boards/cell_charger/revision-A/figures.html");
    let stated = then.split_once("Stated on").expect("the log names it").1;
    assert!(!stated.contains("sheet 1,"), "{stated}");
    let log = site.page("boards/cell_charger/revision-A/figures.html");
    assert!(
        log.values("href")
            .iter()
            .any(|href| href.starts_with("../log/2026-02-20-small-cell-too-hard.html#"))
    );
}

/// Whoever has an earlier board looks up the part that only this one carries.
#[test]
fn customers_find_the_parts_of_their_revision() {
    let site = Site::for_readers(demo(), Audience::Customers);
    site.page("parts/res_3k3.html");
    let figures = site.page("boards/cell_charger/revision-A/figures.html");
    let parts = figures.all(".givens a[href$=\"parts/res_3k3.html\"]");
    let titles: Vec<String> = parts.into_iter().map(text).collect();
    assert_eq!(titles, ["Resistor 3k3"]);
}
