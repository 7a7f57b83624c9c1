//! The sheets of earlier revisions: figures, chances and pins as they were, each
//! under an address of its own.

use ohmbook::record::Audience;
use scraper::ElementRef;

use super::copy::demo;
use super::page::{Site, text};

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
