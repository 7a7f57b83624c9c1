//! Circuits and spreads as drawings, and the values behind them.

use std::collections::BTreeSet;

use camino::Utf8Path;
use ohmbook::notebook::Notebook;
use scraper::{ElementRef, Selector};

use super::copy::{Copy, demo};
use super::page::{Page, Site, text};

/// The drawings of a circuit on a sheet of workings: those in its zone.
fn schematics<'p>(page: &'p Page, circuit: &str) -> Vec<ElementRef<'p>> {
    let svg = Selector::parse("svg.schematic").expect("the selector is sound");
    let heading = page.one(&format!("#circuit-{circuit}"));
    let zone = heading.parent().and_then(ElementRef::wrap);
    zone.expect("a heading lies in its zone")
        .select(&svg)
        .collect()
}

/// What stands in the drawing, piece by piece.
fn lettering(svg: ElementRef<'_>) -> BTreeSet<String> {
    let span = Selector::parse("tspan").expect("the selector is sound");
    svg.select(&span).map(text).collect()
}

fn csv(site: &Site, path: &str) -> Vec<Vec<f64>> {
    let file = site.files.get(Utf8Path::new(path));
    let file = file.unwrap_or_else(|| panic!("there is no file `{path}`"));
    let text = std::str::from_utf8(file).expect("CSV is UTF-8");
    let number = |cell: &str| cell.parse().expect("a cell is a number");
    let rows = text.lines().skip(1);
    rows.map(|row| row.split(',').map(number).collect())
        .collect()
}

fn value(notebook: &Notebook, board: &str, name: &str) -> f64 {
    let node = notebook.graph.find(board, name).expect("it has a node");
    notebook
        .value(node)
        .expect("it has a value")
        .outcome
        .nominal
}

#[test]
fn every_circuit_is_drawn_among_the_workings_of_its_board() {
    let notebook = demo();
    let site = Site::of(notebook);
    let mut count = 0;
    for board in &notebook.records.boards {
        if board.circuits.is_empty() {
            continue;
        }
        let page = site.page(&format!("boards/{}/workings.html", board.id.value));
        for circuit in &board.circuits {
            let drawn = schematics(page, &circuit.id.value);
            assert_eq!(drawn.len(), 1, "{}", circuit.id.value);
            let written = lettering(drawn[0]);
            let parts = circuit.between.iter().map(|(name, _)| name);
            let nodes = circuit.between.iter().flat_map(|(_, nodes)| nodes);
            let drives = circuit.drives.iter().map(|drive| &drive.name);
            for name in parts.chain(nodes).chain(drives) {
                assert!(written.contains(&name.value), "{} {written:?}", name.value);
            }
            count += 1;
        }
    }
    assert!(count >= 4, "the demo has circuits");
}

/// The divider of the night switch by hand: 3 V over 100 kΩ to 10 kΩ. The
/// voltages on the drawing are those of the figures that name them.
#[test]
fn voltages_stand_at_the_nodes() {
    let notebook = demo();
    let site = Site::of(notebook);
    let page = site.page("boards/night_switch/workings.html");
    let written = lettering(schematics(page, "gate_divider")[0]);
    let (cell, top) = (
        value(notebook, "night_switch", "BT1.empty_voltage"),
        value(notebook, "night_switch", "gate_divider.R2.voltage"),
    );
    let gate = format!("{:.0}\u{a0}mV", 1e3 * (cell - top));
    assert!(written.contains(&gate), "{gate} {written:?}");
    let page = site.page("boards/charger_fixture/workings.html");
    let written = lettering(schematics(page, "fastest")[0]);
    let sense = value(notebook, "charger_fixture", "shunt_fastest");
    let sense = format!("{:.0}\u{a0}mV", 1e3 * sense);
    assert!(written.contains(&sense), "{sense} {written:?}");
}

#[test]
fn parts_of_a_drawing_lead_to_their_figures() {
    let site = Site::of(demo());
    let page = site.page("boards/carrier/workings.html");
    let svg = schematics(page, "filter")[0];
    let link = Selector::parse("a[href]").expect("the selector is sound");
    let hrefs: Vec<&str> = svg
        .select(&link)
        .filter_map(|link| link.value().attr("href"))
        .collect();
    assert_eq!(hrefs, ["figures.html#figure-R8", "figures.html#figure-C3"]);
}

#[test]
fn prose_shows_a_circuit_as_often_as_it_is_asked_to() {
    let copy = Copy::of_the_demo();
    copy.replace(
        "boards/carrier/front.md",
        "\n## ",
        "\n![Filter & all](circuit:filter) and ![](circuit:filter), [there](circuit:filter)\n\n## ",
    );
    let notebook = copy.prove();
    assert!(notebook.holds());
    let site = Site::of(&notebook);
    let page = site.page("boards/carrier/index.html");
    assert_eq!(page.faults(), Vec::<String>::new());
    let drawn = page.all("figure.drawn svg.schematic");
    let captions: Vec<String> = page
        .all("figure.drawn figcaption")
        .into_iter()
        .map(text)
        .collect();
    assert!(
        drawn.len() >= 2 && drawn.len().is_multiple_of(2),
        "{captions:?}"
    );
    assert!(lettering(drawn[0]).contains("R8"));
    // The values behind a drawing stand in its caption.
    for words in ["Filter & all Parts", "Filter on the analogue input Parts"] {
        assert!(
            captions.iter().any(|caption| caption.starts_with(words)),
            "{captions:?}"
        );
    }
    let ids = page.values("id");
    let each: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), each.len(), "an id stands twice");
    assert!(
        page.values("href")
            .contains(&"workings.html#circuit-filter")
    );
    let rows = page.all("figure.drawn details tbody tr").len();
    // Two parts, a source and two nodes.
    assert_eq!(rows, drawn.len() * 5);
}

/// The curve goes through the figure that is stated of it, and the corner of
/// one pole is where 1 / (2 π R C) has it.
#[test]
fn a_response_is_plotted_with_its_values() {
    let notebook = demo();
    let site = Site::of(notebook);
    let page = site.page("boards/carrier/workings.html");
    let plot = page.one("svg.plot.of-frequency");
    let written: Vec<String> = plot
        .select(&Selector::parse("text").expect("the selector is sound"))
        .map(text)
        .collect();
    let corner = value(notebook, "carrier", "filter_corner") / 1e3;
    let corner = format!("−3\u{a0}dB at {corner:.2}\u{a0}kHz");
    assert!(written.contains(&corner), "{corner} {written:?}");
    let bound = "at most −26\u{a0}dB at 50\u{a0}kHz".to_owned();
    assert!(written.contains(&bound), "{written:?}");

    let rows = csv(&site, "boards/carrier/data/filter.hiss.csv");
    let row = rows.iter().find(|row| row[0] == 50e3);
    let row = row.expect("the frequency of the record is a point");
    let stated = value(notebook, "carrier", "hiss_left");
    assert!((row[1] - stated).abs() < 1e-9, "{row:?} {stated}");
    let table = page.all("#Sheet .drawings details tbody tr").len();
    // The page shows a few rows of many; the file has every one.
    assert!((5..=20).contains(&table) && table < rows.len(), "{table}");
}

#[test]
fn a_figure_by_chance_shows_its_distribution() {
    let notebook = demo();
    let site = Site::of(notebook);
    let page = site.page("boards/night_switch/workings.html");
    page.one("svg.plot.of-distribution");
    let rows = csv(&site, "boards/night_switch/data/night_life_usual.csv");
    let node = notebook.graph.find("night_switch", "night_life_usual");
    let drawn = notebook.drawn(node.expect("it has a node"));
    let drawn = drawn.expect("it varies");
    let days = |seconds: f64| seconds / 86_400.0;
    let counted: f64 = rows.iter().map(|row| row[2]).sum();
    let trials = drawn.trials as f64;
    assert!(counted <= trials && counted > 0.999 * trials, "{counted}");
    // The median of the bins is that of the draws, to the width of a bin.
    let mut below = 0.0;
    let middle = rows.iter().find(|row| {
        below += row[2];
        below >= trials / 2.0
    });
    let middle = middle.expect("half of the draws lie below");
    let median = days(drawn.quantile(0.5));
    assert!(
        middle[0] <= median && median <= middle[1],
        "{middle:?} {median}"
    );
    // What holds at worst case has its bar, and needs no draws.
    let page = site.page("boards/cell_charger/workings.html");
    assert!(page.all("svg.plot.of-distribution").is_empty());
}

/// A distribution stands on another sheet than its figure, and each leads to the
/// other.
#[test]
fn a_figure_and_its_distribution_lead_to_each_other() {
    let site = Site::of(demo());
    let link = Selector::parse("a[href]").expect("the selector is sound");
    let mut count = 0;
    for (path, page) in &site.pages {
        for chance in page.all("[id^=\"chance-\"]") {
            let id = chance.value().attr("id").expect("it has an id");
            let zone = chance.parent().and_then(ElementRef::wrap);
            let zone = zone.expect("a heading lies in its zone");
            let name = &id["chance-".len()..];
            let to = format!("figures.html#figure-{name}");
            let mut hrefs = zone
                .select(&link)
                .filter_map(|link| link.value().attr("href"));
            assert!(hrefs.any(|href| href == to), "{path}: {name}");
            let figures = path.with_file_name("figures.html");
            let back = format!("workings.html#{id}");
            let figures = site.page(figures.as_str());
            assert!(
                figures.values("href").contains(&back.as_str()),
                "{path}: {name}"
            );
            count += 1;
        }
    }
    assert!(count >= 2, "{count}");
}

/// What misses its requirement at worst case shows how often, in red.
#[test]
fn a_figure_that_may_miss_its_requirement_shows_how_often() {
    let copy = Copy::of_the_demo();
    copy.replace(
        "boards/cell_charger/board.toml",
        "\"180 mA to 212 mA\"",
        "\"180 mA to 204 mA\"",
    );
    let site = Site::of(&copy.prove());
    let page = site.page("boards/cell_charger/workings.html");
    assert!(!page.all("svg.plot.of-distribution .amiss").is_empty());
    let rows = csv(&site, "boards/cell_charger/data/charge_slow.csv");
    let above: f64 = rows
        .iter()
        .filter(|row| row[0] >= 204.0)
        .map(|row| row[3])
        .sum();
    assert!(above > 0.0 && above < 50.0, "{above} %");
}

/// A circuit that cannot be solved is drawn as it is recorded, without
/// voltages.
#[test]
fn a_circuit_at_fault_is_drawn_all_the_same() {
    let copy = Copy::of_the_demo();
    copy.replace(
        "boards/carrier/board.toml",
        "C3 = [\"filtered\", \"gnd\"]",
        "C3 = [\"filtered\", \"ground\"]",
    );
    let notebook = copy.prove();
    assert!(!notebook.holds());
    let site = Site::of(&notebook);
    let page = site.page("boards/carrier/workings.html");
    let written = lettering(schematics(page, "filter")[0]);
    assert!(
        written.contains("ground") && written.contains("C3"),
        "{written:?}"
    );
    assert!(
        !written.iter().any(|text| text.ends_with('V')),
        "{written:?}"
    );
    assert!(page.all("svg.plot").is_empty());
}
