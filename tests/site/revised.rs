//! The sheets of earlier revisions: figures, chances and pins as they were, each
//! under an address of its own.

use std::collections::BTreeSet;

use camino::Utf8Path;
use ohmbook::notebook::Notebook;
use ohmbook::record::Audience;
use scraper::ElementRef;

use super::copy::{Copy, demo};
use super::page::{Page, Site, target, text};
use super::walk::amiss;

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

/// What stands under a heading of a table, in the row of an id.
fn cell(page: &Page, id: &str, label: &str) -> String {
    let cell = page.one(&format!("tr[id=\"{id}\"] td[data-label=\"{label}\"]"));
    text(cell).replace('\u{a0}', " ")
}

fn hrefs<'p>(of: &[ElementRef<'p>]) -> Vec<&'p str> {
    let hrefs = of.iter().filter_map(|link| link.value().attr("href"));
    hrefs.collect()
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
    let page = site.page("boards/cell_charger/revision-A/workings.html");
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
    let now = site.page("boards/cell_charger/workings.html");
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
    for sheet in ["workings.html", "revision-A/workings.html"] {
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
fn pins_of_an_earlier_revision_are_reckoned_with_its_parts() {
    let notebook = revised().prove();
    let site = Site::of(&notebook);
    let folder = "boards/carrier";
    let (now, then) = (
        site.page(&format!("{folder}/pins.html")),
        site.page(&format!("{folder}/revision-A/pins.html")),
    );
    let pull_up = "figure-pins.two_wire.pull_up";
    // 5.1 kΩ and 10 kΩ, 1 % each.
    assert_eq!(cell(now, pull_up, "Value"), "5.10 kΩ");
    assert_eq!(cell(then, pull_up, "Value"), "10.00 kΩ");
    assert!(cell(then, pull_up, "Spread").starts_with("9.900 kΩ"));
    // A formula that is a name leads to that figure as it was.
    let name = then.one(&format!("tr[id=\"{pull_up}\"] td a"));
    assert_eq!(hrefs(&[name]), ["figures.html#figure-R1"]);
    let used = site.page(&format!("{folder}/revision-A/figures.html"));
    assert!(
        used.values("href")
            .contains(&"pins.html#figure-pins.rail.gives")
    );
    // It says which revision it is of, and what it cannot know.
    let block = text(then.one("#TitleBlock")).replace('\u{a0}', " ");
    for expected in ["Pins, revision A", "Pin sheet", "Revision A", "2026-01-15"] {
        assert!(block.contains(expected), "no `{expected}` in {block}");
    }
    let lead = text(then.one("p.lead"));
    assert!(lead.contains("is as in revision B"), "{lead}");
    let lead = text(now.one("p.lead"));
    assert!(!lead.contains("is as in"), "{lead}");
}

#[test]
fn pins_of_an_earlier_revision_are_found_from_its_sheet_and_by_the_finder() {
    let notebook = revised().prove();
    for readers in [Audience::Team, Audience::Customers] {
        let site = Site::for_readers(&notebook, readers);
        let faults = amiss(&site);
        assert!(faults.is_empty(), "{}", faults.join("\n"));
        let sheet = Utf8Path::new("boards/carrier/revision-A/index.html");
        let links = site.page(sheet.as_str());
        let links = hrefs(&links.all("main a"));
        assert!(links.contains(&"pins.html"), "{links:?}");
        assert!(!links.contains(&"../pins.html"), "{links:?}");
        let pins = site.page("boards/carrier/revision-A/pins.html");
        let above = hrefs(&pins.all("header a"));
        let sheet_above = |href: &&str| {
            target(Utf8Path::new("boards/carrier/revision-A/pins.html"), href)
                .is_some_and(|(path, _)| path == sheet)
        };
        assert!(above.iter().any(sheet_above), "{above:?}");
        let index = site.files.get(Utf8Path::new("finder-index.js"));
        let index = std::str::from_utf8(index.expect("there is a finder")).expect("it is UTF-8");
        assert!(index.contains("boards/carrier/revision-A/pins.html"));
        assert!(index.contains("Pins, revision A"));
        // The night switch has pins too; the charger has none, and no such sheet.
        site.page("boards/night_switch/revision-A/pins.html");
        let charger = Utf8Path::new("boards/cell_charger/revision-A/pins.html");
        assert!(!site.pages.contains_key(charger));
    }
}

/// No two files of a site are one on a disk that does not tell capitals from
/// small letters.
#[test]
fn files_of_revisions_lie_apart() {
    let copy = revised();
    // Marks may differ in nothing but the size of a letter.
    copy.replace(
        CARRIER,
        "[complete]\n",
        "[revision.a]\ndate = 2025-12-15\nfitted = { R1 = \"res_1k\" }\n\n[complete]\n",
    );
    let site = Site::of(&copy.prove());
    let faults = amiss(&site);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    let apart: BTreeSet<String> = site
        .files
        .keys()
        .map(|path| path.as_str().to_lowercase())
        .collect();
    assert_eq!(apart.len(), site.files.len());
    let folders = ["", "revision-A/", "revision-a-sheet/"];
    for file in ["pins-2.csv", "figures-1.csv", "filter.hiss.csv"] {
        for folder in folders {
            let path = format!("boards/carrier/{folder}data/{file}");
            assert!(site.files.contains_key(Utf8Path::new(&path)), "{path}");
        }
    }
    // 5.1 kΩ, 10 kΩ and 1 kΩ: each has its own table.
    let tables: BTreeSet<&Vec<u8>> = folders
        .iter()
        .filter_map(|folder| {
            let path = format!("boards/carrier/{folder}data/pins-2.csv");
            site.files.get(Utf8Path::new(&path))
        })
        .collect();
    assert_eq!(tables.len(), folders.len());
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
