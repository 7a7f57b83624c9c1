//! What stands on the sheets: every figure, every caution, and red only for
//! what does not hold.

use std::collections::BTreeSet;

use camino::Utf8Path;
use ohmbook::notebook::{Notebook, Origin, Target};
use scraper::Selector;

use super::copy::{Copy, demo};
use super::page::{Page, Site, target, text};

fn board_pages<'s>(
    site: &'s Site,
    board: &'s str,
) -> impl Iterator<Item = (&'s Utf8Path, &'s Page)> {
    let folder = format!("boards/{board}/");
    site.pages
        .iter()
        .filter(move |(path, _)| path.as_str().starts_with(&folder))
        .map(|(path, page)| (path.as_path(), page))
}

#[test]
fn every_figure_stands_on_the_calculation_sheet_of_its_board() {
    let notebook = demo();
    let site = Site::of(notebook);
    let mut count = 0;
    for (at, board) in notebook.records.boards.iter().enumerate() {
        let ids_of = |sheet: &str| -> BTreeSet<&str> {
            let path = format!("boards/{}/{sheet}.html", board.id.value);
            let page = site.pages.get(Utf8Path::new(&path));
            page.into_iter()
                .flat_map(|page| page.values("id"))
                .collect()
        };
        let (ids, worked) = (ids_of("figures"), ids_of("workings"));
        for &node in notebook.figures_of(at) {
            let node = notebook.graph.node(node);
            let id = format!("figure-{}", node.name);
            // What a working comes to stands with the working.
            let is_worked = matches!(node.origin, Origin::Working { .. });
            let (here, there) = match is_worked {
                true => (&worked, &ids),
                false => (&ids, &worked),
            };
            assert!(here.contains(id.as_str()), "{id}");
            assert!(!there.contains(id.as_str()), "{id} stands twice");
            count += 1;
        }
        for relation in &board.relations {
            let id = format!("relation-{}", relation.id.value);
            assert!(ids.contains(id.as_str()), "{id}");
        }
    }
    assert_eq!(count, notebook.tally().of);
}

/// A figure stands after those that its formula names.
#[test]
fn figures_come_in_the_order_of_computing_them() {
    let notebook = demo();
    let site = Site::of(notebook);
    for (at, board) in notebook.records.boards.iter().enumerate() {
        let place = |sheet: &str, name: &str| {
            let page = site.page(&format!("boards/{}/{sheet}.html", board.id.value));
            let place = page.text.find(&format!("id=\"figure-{name}\""));
            place.unwrap_or_else(|| panic!("{name} is not on {sheet}"))
        };
        // What a working comes to stands with the working, on a sheet of its own.
        let working = |origin: &Origin| match origin {
            Origin::Working { working, .. } => Some(*working),
            _ => None,
        };
        for &node in notebook.figures_of(at) {
            let record = notebook.graph.node(node);
            let own = working(&record.origin);
            let sheet = own.map_or("figures", |_| "workings");
            for &operand in notebook.graph.operands(node) {
                let operand = notebook.graph.node(operand);
                let stands_here = matches!(
                    operand.origin,
                    Origin::Figure { .. } | Origin::Fitted { .. } | Origin::Working { .. }
                ) && working(&operand.origin) == own;
                // A part that strays with the temperature stands in one row.
                let is_row = !operand.name.contains(' ') && !record.name.contains(' ');
                if operand.scope == record.scope && stands_here && is_row {
                    let (before, after) = (place(sheet, &operand.name), place(sheet, &record.name));
                    assert!(before < after, "{}", record.name);
                }
            }
        }
    }
}

#[test]
fn a_figure_is_derived_where_it_stands() {
    let site = Site::of(demo());
    let page = site.page("boards/cell_charger/figures.html");
    let heading = page.one("#figure-charge_slow");
    let entry = heading
        .ancestors()
        .filter_map(scraper::ElementRef::wrap)
        .find(|element| element.value().classes().any(|class| class == "entry"));
    let entry = entry.expect("a figure has an entry");
    let words = text(entry).replace('\u{a0}', " ");
    for expected in [
        "Charge current, both switch poles off",
        "charge_slow",
        "computed",
        "At 25 °C, cell between 3 V and 4.1 V",
        "R1 within 2 kΩ to 50 kΩ",
        "196 mA",
        "Must be 180 mA to 212 mA",
        "Verdict holds",
        "slow_suits_small_cell",
        "sheet 3, zone B",
    ] {
        assert!(words.contains(expected), "no `{expected}` in {words}");
    }
    let math = Selector::parse("math mfrac").expect("the selector is sound");
    assert!(entry.select(&math).next().is_some());
}

/// Every stated number of the prose is a link to its own derivation.
#[test]
fn every_stated_number_links_to_its_derivation() {
    let notebook = demo();
    let site = Site::of(notebook);
    let mut expected = 0;
    for sheet in &notebook.sheets {
        expected += sheet
            .targets
            .iter()
            .filter(|target| matches!(target, Target::Figure(_)))
            .count();
    }
    let mut found = 0;
    for (path, page) in &site.pages {
        for link in page.all(".prose a.stated") {
            let href = link
                .value()
                .attr("href")
                .expect("a stated number is a link");
            let (to, fragment) = target(path, href).expect("it stays in the notebook");
            let sheets = [Some("figures.html"), Some("workings.html")];
            assert!(sheets.contains(&to.file_name()), "{href}");
            let fragment = fragment.expect("it names the figure");
            assert!(fragment.starts_with("figure-"), "{href}");
            let slip = link.value().attr("data-slip").expect("it has a slip");
            let name = slip.strip_prefix("Slip-").expect("slips are named so");
            assert!(
                name.ends_with(&fragment["figure-".len()..]),
                "{href} {slip}"
            );
            found += 1;
        }
    }
    assert_eq!(found, expected);
}

#[test]
fn cautions_stand_on_every_sheet_of_their_board_lithium_first() {
    let notebook = demo();
    let site = Site::of(notebook);
    for board in &notebook.records.boards {
        let about_lithium = |hazard: &str| {
            board.cautions.iter().any(|caution| {
                caution.hazard.value == hazard && caution.about.word() == "lithium-cell"
            })
        };
        let mut sheets = 0;
        for (path, page) in board_pages(&site, &board.id.value) {
            let hazards = page.all(".caution .hazard");
            let hazards: Vec<String> = hazards
                .into_iter()
                .map(|hazard| text(hazard).replace('\u{a0}', " "))
                .collect();
            assert_eq!(hazards.len(), board.cautions.len(), "{path}");
            let lithium: Vec<bool> = hazards.iter().map(|hazard| about_lithium(hazard)).collect();
            assert!(lithium.is_sorted_by(|a, b| a >= b), "{path}: {hazards:?}");
            for signal in page.all(".caution .signal strong") {
                let word = text(signal);
                let known = ["DANGER", "WARNING", "CAUTION", "NOTICE"];
                assert!(known.contains(&word.as_str()), "{word}");
            }
            sheets += 1;
        }
        assert!(sheets >= 2, "{}", board.id.value);
    }
    // The sheets of cells and of chargers warn as their boards do.
    for part in ["cell_1200", "cell_600", "linear_charger"] {
        let page = site.page(&format!("parts/{part}.html"));
        assert!(!page.all(".caution.sign-warning").is_empty(), "{part}");
    }
}

fn red(notebook: &Notebook) -> usize {
    let site = Site::of(notebook);
    // On the sheets of an earlier revision stands what did not hold then, and on
    // that of findings what is waived.
    let pages = site.pages.iter();
    let elsewhere = |path: &str| path.contains("/revision-") || path == "findings.html";
    let now = pages.filter(|(path, _)| !elsewhere(path.as_str()));
    now.map(|(_, page)| page.all(".amiss").len()).sum()
}

#[test]
fn red_is_for_what_does_not_hold() {
    assert_eq!(red(demo()), 0);
    let copy = Copy::of_the_demo();
    copy.replace(
        "boards/cell_charger/board.toml",
        "R1  = \"res_5k1\" ",
        "R1  = \"res_3k3\" ",
    );
    let notebook = &copy.prove();
    assert!(!notebook.holds());
    let site = Site::of(notebook);
    let front = site.page("boards/cell_charger/index.html");
    let amiss = front.all(".prose a.stated.amiss");
    let stale: Vec<String> = amiss.into_iter().map(text).collect();
    assert!(stale.contains(&"196\u{a0}mA".to_owned()), "{stale:?}");
    let figures = site.page("boards/cell_charger/figures.html");
    assert!(!figures.all(".entry.amiss").is_empty());
    assert!(!figures.all("tr.amiss").is_empty());
    assert!(!figures.all("svg.bar.amiss").is_empty());
    let findings = site.page("findings.html");
    assert!(!findings.all("li.amiss").is_empty());
    let tally = text(front.one("footer dl.block > .amiss"));
    assert!(tally.contains("figures hold"), "{tally}");
}

/// A figure without a value has a place all the same.
#[test]
fn what_cannot_be_computed_is_still_shown() {
    let copy = Copy::of_the_demo();
    copy.replace(
        "boards/cell_charger/board.toml",
        "from      = \"set_constant / R1\"",
        "from      = \"set_constant / R99\"",
    );
    let notebook = &copy.prove();
    let site = Site::of(notebook);
    let page = site.page("boards/cell_charger/figures.html");
    page.one("#figure-charge_slow");
    assert!(page.text.contains("cannot be computed"));
    let figures = notebook.graph.iter();
    let figures = figures.filter(|(_, node)| {
        matches!(node.origin, Origin::Figure { .. }) && node.scope == "cell_charger"
    });
    let entries = page.all(".entry").len();
    assert_eq!(entries, figures.count());
}

#[test]
fn zones_are_cited_as_they_are_marked() {
    let site = Site::of(demo());
    let front = site.page("boards/cell_charger/index.html");
    let zones = front.all(".zone");
    let letters: Vec<&str> = zones
        .iter()
        .filter_map(|zone| zone.value().attr("id"))
        .collect();
    assert_eq!(letters, ["A", "B", "C", "D", "E"]);
    // The front sheet states the fastest setting's time under its second
    // heading, which is zone C.
    let figures = site.page("boards/cell_charger/figures.html");
    let hrefs = figures.values("href");
    assert!(hrefs.contains(&"index.html#C"));
    let zone = front.one("#C");
    assert!(text(zone).contains("How long it takes"));
}

/// Whoever has an earlier board finds it on the first screen, and its numbers
/// and errata on a sheet of its own, without a script.
#[test]
fn an_earlier_revision_has_its_own_numbers_and_errata() {
    let site = Site::of(demo());
    let front = site.page("boards/cell_charger/index.html");
    let yours = text(front.one("#A .yours")).replace('\u{a0}', " ");
    for expected in ["revision B", "revision A", "1 erratum", "marking 332"] {
        assert!(yours.contains(expected), "no `{expected}` in {yours}");
    }
    assert!(
        front.all("#A .erratum").is_empty(),
        "revision B has no erratum"
    );
    let sheet = site.page("boards/cell_charger/revision-A/index.html");
    let first = text(sheet.one("#A")).replace('\u{a0}', " ");
    for expected in [
        "Erratum, revision A",
        "charges the small cell too fast",
        "What to do:",
        "Mended in revision B",
    ] {
        assert!(first.contains(expected), "no `{expected}` in {first}");
    }
    let words = text(sheet.one("#B")).replace('\u{a0}', " ");
    for expected in ["Resistor 3k3", "303 mA", "196 mA", "does not hold"] {
        assert!(words.contains(expected), "no `{expected}` in {words}");
    }
    let figures = site.page("boards/cell_charger/revision-A/figures.html");
    let block = text(figures.one("#TitleBlock")).replace('\u{a0}', " ");
    assert!(block.contains("Revision A"), "{block}");
    let entry = figures.one("#figure-charge_slow");
    let entry = entry.ancestors().filter_map(scraper::ElementRef::wrap);
    let mut entry = entry.filter(|element| element.value().classes().any(|class| class == "entry"));
    let words = text(entry.next().expect("a figure has an entry")).replace('\u{a0}', " ");
    assert!(
        words.contains("303") && words.contains("does not hold"),
        "{words}"
    );
    // The log speaks of revision A, and leads to its sheets.
    let log = site.page("boards/cell_charger/log/2026-02-20-small-cell-too-hard.html");
    let then = log.all(".prose a.then");
    let hrefs: Vec<&str> = then
        .iter()
        .filter_map(|link| link.value().attr("href"))
        .collect();
    assert!(
        hrefs.contains(&"../revision-A/figures.html#figure-charge_slow"),
        "{hrefs:?}"
    );
}

#[test]
fn the_sheet_of_a_part_says_in_which_revision_it_was_used_and_how_hard() {
    let site = Site::of(demo());
    // Revision A of the charger carried it, and nothing does now.
    let earlier = site.page("parts/res_3k3.html");
    let row = text(earlier.one(".uses tbody tr"));
    assert!(
        row.contains("Solar cell charger") && row.contains("A") && row.contains("R1"),
        "{row}"
    );
    // The zener diode stands in for a cell, and is strained in three circuits.
    let zener = site.page("parts/zener_3v0.html");
    let strains = text(zener.one("#stress + .table"));
    assert!(
        strains.contains("D1") && strains.contains(" %"),
        "{strains}"
    );
    let purchase = text(zener.one("#purchase + table"));
    assert!(purchase.contains("0.95"), "{purchase}");
}

#[test]
fn the_totals_of_the_line_are_those_of_its_records() {
    use ohmbook::notebook::LineTotals;
    let notebook = demo();
    let totals = LineTotals::of(&notebook.records);
    let site = Site::of(notebook);
    let page = site.page("parts/line-totals.html");
    let foot = text(page.all(".totals tfoot")[0]);
    assert!(foot.contains(&totals.uses.len().to_string()), "{foot}");
    assert_eq!(
        page.all(".totals")[0]
            .select(&Selector::parse("tbody tr").expect("a selector"))
            .count(),
        totals.boards.len()
    );
    assert_eq!(page.all(".uses tbody tr").len(), totals.used_once().len());
    let costs = text(page.one("#cost + .table"));
    let most = totals.costs.last().expect("the demo states costs");
    assert!(costs.contains(&format!("{:.2}", most.each)), "{costs}");
}
