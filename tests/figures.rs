//! Figures of small notebooks, from record to value and spread.
#![allow(clippy::unwrap_used)]

use std::fs;

use camino::Utf8Path;
use jiff::civil::date;
use ohmbook::finding::{Level, Slug};
use ohmbook::notebook::Notebook;
use ohmbook::quantity::Outcome;

const PARTS: &str = r#"
[part.res_10k]
kind = "resistor"
value = "10 kΩ ±1 %"
power_rating = "100 mW"
[part.res_20k]
kind = "resistor"
value = "20 kΩ ±1 %"
tempco = "0 ppm/K ±100 ppm/K"
[part.res_1r]
kind = "resistor"
value = "1 Ω ±1 %"
power_rating = "250 mW"
[part.zener_3v]
kind = "zener"
zener_voltage = "3.0 V ±2 %"
test_current = "50 mA"
dynamic_resistance = "0.5 Ω"
power_rating = "1.3 W"
[part.cap_10n]
kind = "capacitor"
value = "10 nF ±5 %"
"#;

const BOARD: &str = r#"
[board]
title = "Board"
revision = "A"
status = "concept"
summary = "A board to try things on."
"#;

/// A notebook of one board `b` with these parts and this much more of its record.
fn notebook(more: &str) -> Notebook {
    let dir = tempfile::tempdir().unwrap();
    let root = Utf8Path::from_path(dir.path()).unwrap();
    fs::create_dir_all(root.join("parts")).unwrap();
    fs::create_dir_all(root.join("boards/b")).unwrap();
    fs::write(
        root.join("notebook.toml"),
        "[notebook]\ntitle = \"T\"\nowner = \"O\"\n",
    )
    .unwrap();
    fs::write(root.join("parts/parts.toml"), PARTS).unwrap();
    fs::write(root.join("boards/b/board.toml"), format!("{BOARD}{more}")).unwrap();
    Notebook::load(root, date(2026, 1, 1))
}

fn outcome(notebook: &Notebook, name: &str) -> Outcome {
    let errors: Vec<_> = notebook
        .findings
        .iter()
        .filter(|f| f.level == Level::Error)
        .map(|f| &f.message)
        .collect();
    let node = notebook.named(name).unwrap();
    notebook
        .value(node)
        .unwrap_or_else(|| panic!("{name} has no value: {errors:?}"))
        .outcome
}

fn near(found: f64, expected: f64, relative: f64) {
    assert!(
        (found / expected - 1.0).abs() <= relative,
        "{found} against {expected}"
    );
}

/// Truth: the extremes of a divider, worked out by hand: the part that stands
/// twice is one part.
#[test]
fn a_divider_solved_as_a_circuit_has_the_spread_of_its_formula() {
    let notebook = notebook(
        r#"
[fitted]
R1 = "res_10k"
R2 = "res_20k"
[circuit.tap]
ground = "gnd"
between = { R1 = ["in", "out"], R2 = ["out", "gnd"] }
drive = { supply = { voltage = "3 V", into = "in" } }
[figure.solved]
means = "Tap voltage, solved"
from = "tap.out.voltage"
[figure.formula]
means = "Tap voltage, by formula"
from = "3 V * R2 / (R1 + R2)"
[figure.other_way]
means = "Tap voltage, written another way"
from = "3 V / (1 + R1 / R2)"
"#,
    );
    for name in ["solved", "formula", "other_way"] {
        let Outcome { nominal, low, high } = outcome(&notebook, name);
        near(nominal, 2.0, 1e-12);
        near(low, 3.0 * 19_800.0 / (19_800.0 + 10_100.0), 1e-12);
        near(high, 3.0 * 20_200.0 / (20_200.0 + 9_900.0), 1e-12);
    }
    assert!(notebook.holds(), "{:?}", notebook.findings);
}

/// Truth: the straight line of the zener, by hand: 3.0 V at 50 mA and 0.5 Ω.
#[test]
fn a_zener_and_a_shunt_stand_in_for_a_cell_and_their_ratings_are_held() {
    let record = |current: &str| {
        format!(
            r#"
[fitted]
D1 = "zener_3v"
R1 = "res_1r"
[circuit.emulator]
ground = "gnd"
between = {{ D1 = ["sense", "cell"], R1 = ["sense", "gnd"] }}
drive = {{ charger = {{ current = "{current}", into = "cell" }} }}
[figure.sense]
means = "Voltage across the shunt"
from = "emulator.sense.voltage"
[figure.cell]
means = "Voltage in the place of the cell"
from = "emulator.cell.voltage"
[figure.heat]
means = "Power in the zener"
from = "emulator.D1.power"
"#
        )
    };
    let gentle = notebook(&record("200 mA"));
    near(outcome(&gentle, "sense").nominal, 0.2, 1e-9);
    near(outcome(&gentle, "sense").high, 0.202, 1e-9);
    near(
        outcome(&gentle, "cell").nominal,
        3.0 + 0.15 * 0.5 + 0.2,
        1e-9,
    );
    near(
        outcome(&gentle, "heat").nominal,
        0.2 * (3.0 + 0.15 * 0.5),
        1e-9,
    );
    assert!(gentle.holds(), "{:?}", gentle.findings);
    let strained = notebook(&record("500 mA"));
    let slugs: Vec<Slug> = strained
        .findings
        .iter()
        .map(|finding| finding.slug)
        .collect();
    assert_eq!(
        slugs,
        [Slug::RatingExceeded, Slug::RatingExceeded],
        "{:?}",
        strained.findings
    );
}

/// Truth: 1 / sqrt(1 + (2π f R C)²) with f = 1 / (2π R C), textbook.
#[test]
fn a_response_is_read_at_its_frequency() {
    let notebook = notebook(
        r#"
[fitted]
R1 = "res_10k"
C1 = "cap_10n"
[circuit.filter]
ground = "gnd"
between = { R1 = ["in", "out"], C1 = ["out", "gnd"] }
drive = { signal = { voltage = "0 V", amplitude = "1 V", into = "in" } }
response = { corner = { from = "in", to = "out", at = "1591.549431 Hz" } }
[figure.level]
means = "Level at the corner"
from = "filter.corner.level"
says = "-3.01 dB"
[figure.phase]
means = "Phase at the corner"
from = "filter.corner.phase"
says = "-45.0°"
[figure.magnitude]
means = "Magnitude at the corner"
from = "filter.corner.magnitude"
says = "0.707"
"#,
    );
    assert!(notebook.holds(), "{:?}", notebook.findings);
    let ratio = outcome(&notebook, "magnitude");
    let slowest: f64 = 1.01 * 1.05;
    near(ratio.low, 1.0 / (1.0 + slowest * slowest).sqrt(), 1e-6);
}

/// Truth: by hand: 20 kΩ, ±1 %, ±100 ppm/K over 65 K.
#[test]
fn a_part_strays_with_the_temperature_of_its_board() {
    let record = r#"
[fitted]
R1 = "res_20k"
[figure.resistance]
means = "The resistor, where the board works"
from = "R1"
"#;
    let still = notebook(record);
    near(outcome(&still, "resistance").high, 20_200.0, 1e-12);
    let outdoors = notebook(&format!(
        "{record}[condition.field]\nmeans = \"Outdoors\"\nambient = \"-40 °C to 60 °C\"\n"
    ));
    let Outcome { nominal, low, high } = outcome(&outdoors, "resistance");
    near(nominal, 20_000.0, 1e-12);
    near(high, 20_200.0 * (1.0 + 65.0 * 100e-6), 1e-9);
    near(low, 19_800.0 * (1.0 - 65.0 * 100e-6), 1e-9);
}

/// Truth: 100 kΩ over 10 kΩ, both ±1 %: 0.09090909091 ±1.285648693 % by root
/// sum square, and 0.08963388579 to 0.09220060074 for 95 % of rectangular
/// resistors (exact, without random numbers; scipy 1.17.1, kept with its
/// sources in tests/published/02_uncertainty.toml). Worst case by corners.
#[test]
fn a_figure_strays_as_its_policy_says() {
    let record = |policy: &str| {
        notebook(&format!(
            r#"
[policy]
spread = "{policy}"
[figure.top]
means = "Upper resistor"
given = "100 kΩ ±1 %"
source = "made for this test"
[figure.bottom]
means = "Lower resistor"
given = "10 kΩ ±1 %"
source = "made for this test"
[figure.ratio]
means = "Ratio of the divider"
from = "bottom / (top + bottom)"
says = "0.09091"
"#
        ))
    };
    let worst = outcome(&record("worst-case"), "ratio");
    near(worst.low, 9.9 / (9.9 + 101.0), 1e-12);
    near(worst.high, 10.1 / (10.1 + 99.0), 1e-12);
    let rss = outcome(&record("root-sum-square"), "ratio");
    near((rss.high - rss.nominal) / rss.nominal, 0.01285648693, 1e-9);
    near((rss.nominal - rss.low) / rss.nominal, 0.01285648693, 1e-9);
    let notebook = record("monte-carlo");
    let drawn = outcome(&notebook, "ratio");
    // The statement has its last digit at 1e-5, so half of that is wanted.
    assert!((drawn.low - 0.08963388579).abs() < 5e-6, "{drawn:?}");
    assert!((drawn.high - 0.09220060074).abs() < 5e-6, "{drawn:?}");
    let again = outcome(&record("monte-carlo"), "ratio");
    assert_eq!(drawn, again, "one seed gives one result");
}

/// Truth: a rectangular value that must lie in the lower three quarters of its
/// range does so for three boards of four (arithmetic).
#[test]
fn a_yield_is_the_share_of_draws_within_the_requirement() {
    use ohmbook::notebook::Yield;
    let notebook = notebook(
        r#"
[figure.given]
means = "Anything"
given = "100 V ±10 %"
source = "made for this test"
[figure.passed_on]
means = "The same"
from = "given"
must = "at most 105 V"
[figure.safe]
means = "The same, with room"
from = "given"
must = "at most 110 V"
"#,
    );
    let of = |name: &str| notebook.expected_yield(notebook.named(name).unwrap());
    let Some(Yield::Drawn(drawn)) = of("passed_on") else {
        panic!("drawn")
    };
    let error = drawn.standard_error();
    assert!(
        error < 0.002 && (drawn.share() - 0.75).abs() < 4.0 * error,
        "{drawn:?}"
    );
    assert_eq!(of("safe"), Some(Yield::Certain));
    assert_eq!(of("given"), None);
}
