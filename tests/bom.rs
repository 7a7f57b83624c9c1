//! Bills of materials: any one cell changed is found, and any one part exchanged.

use std::fs;

use camino::Utf8Path;
use jiff::civil::date;
use ohmbook::finding::Slug;
use ohmbook::notebook::Notebook;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
const BOARD: &str = "boards/cell_charger/board.toml";
const LIST: &str = "boards/cell_charger/bom.csv";

/// The demo's parts and its one board with a list.
struct Copy(tempfile::TempDir);

impl Copy {
    fn new() -> Copy {
        let copy = Copy(tempfile::tempdir().expect("a temporary folder can be made"));
        copy.write(
            "notebook.toml",
            "[notebook]\ntitle = \"List\"\nowner = \"Nobody\"\ncurrency = \"EUR\"\n",
        );
        let parts = fs::read_dir(format!("{DEMO}/parts")).expect("the demo has parts");
        for part in parts {
            let path = part.expect("the folder can be read").path();
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            copy.write(
                &format!("parts/{name}"),
                &fs::read_to_string(&path).expect("parts are text"),
            );
        }
        for path in [BOARD, LIST] {
            copy.write(path, &read(path));
        }
        copy
    }

    fn write(&self, path: &str, text: &str) {
        let path = self.0.path().join(path);
        let parent = path.parent().expect("it lies in the folder");
        fs::create_dir_all(parent).expect("a folder can be made");
        fs::write(&path, text).expect("a file can be written");
    }

    /// What the list is told to differ in, each with its place.
    fn told(&self) -> Vec<String> {
        let root = Utf8Path::from_path(self.0.path()).expect("temporary folders have plain names");
        let notebook = Notebook::load(root, date(2026, 4, 1));
        let found = notebook.findings.iter().filter(|finding| {
            let place = finding
                .place()
                .map(|place| notebook.sources.file(place.file).path.as_str());
            finding.slug == Slug::BomDiffers || place == Some(LIST)
        });
        found.map(|finding| finding.message.clone()).collect()
    }
}

fn read(path: &str) -> String {
    fs::read_to_string(format!("{DEMO}/{path}")).expect("the demo is there")
}

/// Another text that is as likely in a cell.
fn other(cell: &str, column: &str) -> String {
    let swapped = |a: &str, b: &str| cell.contains(a).then(|| cell.replacen(a, b, 1));
    let changed = match column {
        "Reference" => swapped("1", "9")
            .or(swapped("2", "8"))
            .or(swapped("3", "7"))
            .or(swapped("4", "40")),
        "Quantity" => Some(format!("{}0", cell)),
        "Value" => swapped("k", "R")
            .or(swapped("10u", "1u"))
            .or(Some(format!("{cell}X"))),
        "Fit" if cell.is_empty() => Some("no".into()),
        "Fit" => Some(String::new()),
        _ => Some(format!("{cell}7")),
    };
    changed.unwrap_or_else(|| format!("{cell}9"))
}

#[test]
fn the_list_of_the_demo_agrees() {
    assert_eq!(Copy::new().told(), Vec::<String>::new());
}

#[test]
fn any_one_cell_changed_is_found() {
    let copy = Copy::new();
    let list = read(LIST);
    let lines: Vec<&str> = list.lines().collect();
    let heads: Vec<&str> = lines[0].trim_start_matches('\u{feff}').split(';').collect();
    let mut tried = 0;
    for (row, line) in lines.iter().enumerate().skip(1) {
        let cells: Vec<&str> = line.split(';').map(|cell| cell.trim_matches('"')).collect();
        // Holes and test points stand for no part, and nothing is known of them but
        // how many there are.
        let is_part = !cells[0].starts_with("TP") && !cells[0].starts_with('H');
        for (column, cell) in cells.iter().enumerate() {
            if !is_part && !matches!(heads[column], "Reference" | "Quantity") {
                continue;
            }
            let mut changed: Vec<String> = cells.iter().map(|cell| format!("\"{cell}\"")).collect();
            changed[column] = format!("\"{}\"", other(cell, heads[column]));
            let mut lines: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
            lines[row] = changed.join(";");
            copy.write(LIST, &lines.join("\r\n"));
            assert!(!copy.told().is_empty(), "nobody tells of {}", lines[row]);
            tried += 1;
        }
    }
    assert!(tried > 80, "{tried} cells are too few");
}

#[test]
fn a_row_that_is_lost_and_one_that_is_there_twice_are_found() {
    let copy = Copy::new();
    let list = read(LIST);
    let lines: Vec<&str> = list.lines().collect();
    for row in 1..lines.len() {
        let mut without = lines.clone();
        let lost = without.remove(row);
        // What is not fitted, and what stands for no part, may be missing.
        let may_be_missing = lost.ends_with("no") || lost.starts_with(['H', 'T']);
        copy.write(LIST, &without.join("\n"));
        assert_eq!(copy.told().is_empty(), may_be_missing, "{lost}");
        let mut twice = lines.clone();
        twice.insert(row, lines[row]);
        copy.write(LIST, &twice.join("\n"));
        assert!(!copy.told().is_empty(), "{} twice", lines[row]);
    }
}

#[test]
fn any_part_exchanged_on_the_board_is_found() {
    let copy = Copy::new();
    let board = read(BOARD);
    for (was, is) in [
        ("R1  = \"res_5k1\"", "R1  = \"res_3k3\""),
        ("D3  = \"led_red\"", "D3  = \"led_green\""),
        ("C2  = \"cap_10u\"", "C2  = \"cap_100n\""),
        ("J3  = \"cell_socket\"", "J3  = \"screw_terminal\""),
        (
            "R6  = { part = \"res_10k\", fit = false }",
            "R6  = \"res_10k\"",
        ),
        (
            "D2  = \"schottky_1a\"",
            "D2  = { part = \"schottky_1a\", fit = false }",
        ),
        ("R4  = \"res_1k\"\n", ""),
    ] {
        assert!(board.contains(was), "{was}");
        copy.write(BOARD, &board.replacen(was, is, 1));
        assert!(!copy.told().is_empty(), "nobody tells of {is}");
    }
}
