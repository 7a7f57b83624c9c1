//! What was measured, what is not yet, and what others get with a board: test
//! reports, lists of documents, manifests.

use camino::Utf8Path;
use ohmbook::notebook::Notebook;
use ohmbook::page::pages_for;
use ohmbook::record::Audience;

use super::copy::demo;
use super::page::{Site, text};

/// The team's site of the demo. A parsed page is not shared between threads, so
/// each test has its own.
fn site() -> Site {
    Site::of(demo())
}

/// Keys that a manifest must have by its schema (Open Know-How, schema of
/// `okh.toml`, version 2), and the documentation language, which the text of the
/// specification adds. The list was noted from its published template.
const REQUIRED: [&str; 8] = [
    "okhv",
    "name",
    "repo",
    "version",
    "license",
    "licensor",
    "function",
    "documentation-language",
];

#[test]
fn every_board_of_the_demo_has_a_manifest_that_its_schema_takes() {
    let site = site();
    for board in &demo().records.boards {
        let path = format!("boards/{}/okh.toml", board.id.value);
        let file = &site.files[Utf8Path::new(&path)];
        let file = std::str::from_utf8(file).expect("TOML is UTF-8");
        let manifest: toml::Table = file.parse().expect("it is TOML 1.0");
        let mut keys: Vec<&str> = manifest.keys().map(String::as_str).collect();
        let mut required = REQUIRED.to_vec();
        keys.sort_unstable();
        required.sort_unstable();
        assert_eq!(keys, required, "{path}");
        let value = |key: &str| manifest[key].as_str().expect("every value is text");
        for key in REQUIRED {
            let value = value(key);
            let filler = ["n/a", "none", "unknown", "tbd", "-"];
            assert!(!value.trim().is_empty(), "{path}: {key}");
            assert!(
                !filler.contains(&value.to_lowercase().as_str()),
                "{path}: {key}"
            );
        }
        assert_eq!(value("okhv"), "2.4");
        assert_eq!(value("version"), board.revision.value);
        assert!(value("repo").starts_with("https://"), "{path}");
        assert!(spdx::Expression::parse(value("license")).is_ok(), "{path}");
        assert_eq!(value("documentation-language"), "en-GB");
    }
}

#[test]
fn a_list_of_documents_says_where_each_is_or_why_not() {
    let site = site();
    for board in &demo().records.boards {
        let page = site.page(&format!("boards/{}/documents.html", board.id.value));
        let rows = page.all("#B tbody tr");
        assert_eq!(rows.len(), 18, "{}", board.id.value);
        for row in rows {
            let row = text(row);
            let said = row.split_once(" yes ").or_else(|| row.split_once(" no "));
            let (_, said) = said.unwrap_or_else(|| panic!("neither yes nor no: {row}"));
            assert!(!said.trim().is_empty(), "{row}");
        }
    }
    let page = site.page("boards/cell_charger/documents.html");
    let hrefs = page.values("href");
    for href in [
        "okh.toml",
        "assembly.html",
        "../charger_fixture/fixture.html",
    ] {
        assert!(hrefs.contains(&href), "{href} is not among {hrefs:?}");
    }
}

/// Mean, deviation and indices of the twelve readings, worked out apart from
/// this program: mean and standard deviation by Python's `statistics`; Cp and Cpk
/// by their definitions (NIST/SEMATECH e-Handbook, 6.1.6); the limit of Cpk by
/// Cpk - 1.6449 √(1/(9·12) + Cpk²/22) (Bissell 1990, from memory); that of Cp with
/// the 5 % quantile of chi square for 11 degrees of freedom, 4.575 (table in the
/// same handbook, 1.3.6.7.4).
#[test]
fn a_test_report_says_what_the_readings_prove() {
    let site = site();
    let page = site.page("boards/cell_charger/readings.html");
    let words = text(page.one("#B")).replace('\u{a0}', " ");
    for expected in [
        "Readings 12",
        "Mean 197.3 mA",
        "Standard deviation 4.3 mA",
        "Computed spread 184.1 mA to 208.3 mA",
        "Required 180 mA to 212 mA",
        "Cp 1.23, at least 0.794 at 95 % confidence",
        "Cpk 1.13, at least 0.703 at 95 % confidence",
        "209.6 mA on C-09 lies outside the computed spread",
        "May stand because",
    ] {
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains(expected), "no `{expected}` in {words}");
    }
    assert!(page.all(".amiss").is_empty(), "what is waived is not red");
    assert!(!page.all("#B figure.drawn svg").is_empty());
}

#[test]
fn requirements_without_a_current_measurement_are_listed() {
    let site = site();
    let page = site.page("boards/cell_charger/readings.html");
    let rows: Vec<String> = page.all("#D tbody tr").into_iter().map(text).collect();
    let row = |means: &str| {
        let row = rows.iter().find(|row| row.contains(means));
        row.unwrap_or_else(|| panic!("no `{means}` in {rows:?}"))
    };
    assert!(row("both switch poles off").contains("measured 2026-03-27, 12 boards"));
    assert!(
        row("Charge current, both switch poles on").contains("before the last change: 2026-03-12")
    );
    assert!(row("first switch pole on").contains("not yet measured"));
}

#[test]
fn readings_stay_with_the_team_and_documents_go_out() {
    let notebook: &Notebook = demo();
    let files = pages_for(notebook, Audience::Customers).expect("the pages can be made");
    let has = |path: &str| files.contains_key(Utf8Path::new(path));
    assert!(!has("boards/cell_charger/readings.html"));
    assert!(has("boards/cell_charger/documents.html"));
    assert!(has("boards/cell_charger/okh.toml"));
    for (path, content) in &files {
        let text = String::from_utf8_lossy(content);
        assert!(
            !text.contains("209.6") && !text.contains("C-09"),
            "{path} tells a reading"
        );
    }
}
