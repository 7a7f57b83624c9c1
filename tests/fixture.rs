//! Production fixtures: limits by hand, and faults that are seen or masked.
#![allow(clippy::unwrap_used)]

use std::fs;

use camino::Utf8Path;
use jiff::civil::date;
use ohmbook::finding::{Level, Slug};
use ohmbook::notebook::{Coverage, Fault, Notebook, Sight};

const PARTS: &str = r#"
[part.res_10k]
kind  = "resistor"
value = "10 kΩ ±1 %"
[part.res_10k_coarse]
kind  = "resistor"
value = "10 kΩ ±2 %"
[part.res_10k_stray]
kind   = "resistor"
value  = "10 kΩ ±1 %"
tempco = "0 ppm/K ±100 ppm/K"
[part.res_20k]
kind  = "resistor"
value = "20 kΩ ±1 %"
[part.res_470k]
kind  = "resistor"
value = "470 kΩ ±1 %"
[part.res_47k]
kind  = "resistor"
value = "47 kΩ ±1 %"
[part.led]
kind = "led"
"#;

/// A notebook of one board `b` that tests itself.
fn notebook(fitted: &str, fixture: &str) -> Notebook {
    let dir = tempfile::tempdir().unwrap();
    let root = Utf8Path::from_path(dir.path()).unwrap();
    fs::create_dir_all(root.join("parts")).unwrap();
    fs::create_dir_all(root.join("boards/b")).unwrap();
    let head = "[notebook]\ntitle = \"T\"\nowner = \"O\"\n";
    fs::write(root.join("notebook.toml"), head).unwrap();
    fs::write(root.join("parts/parts.toml"), PARTS).unwrap();
    let board = format!(
        "[board]\ntitle = \"B\"\nrevision = \"A\"\nstatus = \"concept\"\nsummary = \"S.\"\n[fitted]\n{fitted}\n[fixture.f]\ntests = \"b\"\n{fixture}"
    );
    fs::write(root.join("boards/b/board.toml"), board).unwrap();
    let notebook = Notebook::load(root, date(2026, 1, 1));
    let errors: Vec<_> = notebook
        .findings
        .iter()
        .filter(|finding| finding.level == Level::Error)
        .map(|finding| &finding.message)
        .collect();
    assert!(errors.is_empty(), "{errors:?}");
    notebook
}

fn nominal(notebook: &Notebook, name: &str) -> f64 {
    let node = notebook.named(name).unwrap();
    notebook.value(node).unwrap().outcome.nominal
}

fn sight(notebook: &Notebook, coverage: &Coverage, designator: &str, fault: Fault) -> Sight {
    let fitted = &notebook.records.boards[0].fitted;
    let at = fitted
        .iter()
        .position(|line| line.designator.value == designator);
    let mut faults = coverage.faults.iter();
    let seen = faults.find(|seen| Some(seen.fitted) == at && seen.fault == fault);
    seen.unwrap().sight
}

const DIVIDER: &str = r#"
[fixture.f.step.tap]
measures   = "5 V * R1 / (R1 + R2)"
error      = "5 mV"
resolution = "12 bit"
reference  = "5 V"
"#;

/// Truth: 5 V × 9.9 / (9.9 + 20.2) and 5 V × 10.1 / (10.1 + 19.8), 5 mV inside of
/// both; in steps of 5 V / 4096 (arithmetic).
#[test]
fn limits_lie_a_guard_band_within_the_spread_of_good_boards() {
    let notebook = notebook("R1 = \"res_10k\"\nR2 = \"res_20k\"", DIVIDER);
    let (low, high) = (5.0 * 9.9 / 30.1 + 5e-3, 5.0 * 10.1 / 29.9 - 5e-3);
    assert!((nominal(&notebook, "f.tap.low") - low).abs() < 1e-12);
    assert!((nominal(&notebook, "f.tap.high") - high).abs() < 1e-12);
    assert_eq!(nominal(&notebook, "f.tap.low_counts"), 1352.0);
    assert_eq!(nominal(&notebook, "f.tap.high_counts"), 1379.0);
}

#[test]
fn what_a_divider_sees_of_its_resistors() {
    let notebook = notebook(
        "R1 = \"res_10k\"\nR2 = \"res_20k\"\nD1 = \"led\"",
        &format!("good_before = \"95 %\"\n{DIVIDER}sees = {{ D1 = [\"reversed\"] }}\n"),
    );
    let coverage = notebook.coverage(0, 0).unwrap();
    let seen = |designator, fault| sight(&notebook, &coverage, designator, fault);
    for fault in [
        Fault::Missing,
        Fault::Short,
        Fault::ValueUp,
        Fault::ValueDown,
        Fault::Decade,
    ] {
        assert!(seen("R1", fault).catches(), "{fault:?}");
        assert!(seen("R2", fault).catches(), "{fault:?}");
    }
    assert_eq!(seen("D1", Fault::Reversed), Sight::Said(0));
    assert_eq!(seen("D1", Fault::Missing), Sight::Unseen);
    // Six faults of each resistor and one of four of the diode.
    assert!((coverage.caught - 13.0 / 16.0).abs() < 1e-12);
    let escapes = 1.0 - 0.95f64.powf(3.0 / 16.0);
    assert!((coverage.escapes.unwrap() - escapes).abs() < 1e-12);
    assert_eq!((coverage.device.of, coverage.joint.of), (10, 6));
    assert_eq!(coverage.joint.marks, 4.0);
}

/// The value of a part that strays with the temperature is worked out, and a fault
/// is one of what its data sheet states.
#[test]
fn a_part_that_strays_with_the_temperature_is_tried_too() {
    let notebook = notebook(
        "R1 = \"res_10k_stray\"\nR2 = \"res_20k\"\n[condition.bench]\nmeans = \"On the bench\"\nambient = \"15 °C to 35 °C\"",
        DIVIDER,
    );
    let coverage = notebook.coverage(0, 0).unwrap();
    for fault in [Fault::Missing, Fault::Short, Fault::ValueUp, Fault::Decade] {
        let seen = sight(&notebook, &coverage, "R1", fault);
        assert!(seen.catches(), "{fault:?}: {seen:?}");
    }
}

/// Truth: a resistor of 10 kΩ with 470 kΩ beside it is 2.1 % off without that one,
/// and with 47 kΩ 21 % (arithmetic); limits of 2 % hide the one and not the other.
#[test]
fn a_large_resistor_is_masked_by_a_small_one_beside_it() {
    let step = "[fixture.f.step.pair]\nmeasures = \"parallel(R1, R2)\"\nerror = \"10 Ω\"\n";
    let far = notebook("R1 = \"res_10k_coarse\"\nR2 = \"res_470k\"", step);
    let near = notebook("R1 = \"res_10k_coarse\"\nR2 = \"res_47k\"", step);
    let missing = |notebook: &Notebook| {
        let coverage = notebook.coverage(0, 0).unwrap();
        sight(notebook, &coverage, "R2", Fault::Missing)
    };
    assert!(missing(&near).catches());
    let far = missing(&far);
    assert!(
        matches!(far, Sight::Tried(share, 0) if share < 0.95),
        "{far:?}"
    );
}

/// Truth: no board is beyond the worst case, so without a guard band only the error
/// of the measurement fails good ones; with none, none (definition).
#[test]
fn good_boards_pass_limits_at_worst_case() {
    let step = "guard = \"0\"\n[fixture.f.step.tap]\nmeasures = \"5 V * R1 / (R1 + R2)\"\nerror = \"0 V\"\n";
    let notebook = notebook("R1 = \"res_10k\"\nR2 = \"res_20k\"", step);
    let coverage = notebook.coverage(0, 0).unwrap();
    assert_eq!(coverage.fails_good, 0.0);
    assert_eq!(coverage.escapes, None);
}

/// The demo's charger with another set resistor: what is printed, what the fixture
/// holds boards to, and what sheets say of both, all named.
#[test]
fn another_set_resistor_fails_currents_limits_and_sentences() {
    let demo = Utf8Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/content"));
    let dir = tempfile::tempdir().unwrap();
    let root = Utf8Path::from_path(dir.path()).unwrap();
    for entry in walkdir::WalkDir::new(demo) {
        let entry = entry.unwrap();
        let path = Utf8Path::from_path(entry.path()).unwrap();
        let to = root.join(path.strip_prefix(demo).unwrap());
        if entry.file_type().is_dir() {
            fs::create_dir_all(to).unwrap();
        } else {
            fs::copy(path, to).unwrap();
        }
    }
    let stock = "\n[part.res_5k6]\nkind = \"resistor\"\nvalue = \"5.6 kΩ ±1 %\"\n";
    fs::write(root.join("parts/more.toml"), stock).unwrap();
    let board = root.join("boards/cell_charger/board.toml");
    let text = fs::read_to_string(&board).unwrap();
    assert!(text.contains("R1  = \"res_5k1\""));
    fs::write(
        &board,
        text.replace("R1  = \"res_5k1\"", "R1  = \"res_5k6\""),
    )
    .unwrap();
    let notebook = Notebook::load(root, date(2026, 11, 1));
    let told = |slug: Slug, path: &str, words: &str| {
        notebook.findings.iter().any(|finding| {
            let place = &finding.labels[0].place;
            finding.slug == slug
                && notebook
                    .sources
                    .file(place.file)
                    .path
                    .as_str()
                    .ends_with(path)
                && finding.message.contains(words)
        })
    };
    let differs = Slug::FigureDisagrees;
    assert!(told(differs, "cell_charger/board.toml", "`charge_slow`"));
    assert!(told(
        differs,
        "charger_fixture/board.toml",
        "`production.set_alone.low_counts`"
    ));
    assert!(told(
        differs,
        "charger_fixture/board.toml",
        "`production.fastest.high_counts`"
    ));
    assert!(told(differs, "cell_charger/front.md", "charge_slow"));
}
