//! Whole notebooks: every record once, with every key, and what becomes of it.

use super::{check, read};
use crate::quantity::Dimension;
use crate::record::{Audience, FigureBody, Hazard, Signal, SpreadPolicy, Status, WorkingInput};

/// Every record there is, with every key it may have.
const FULL: &str = r#"//- notebook.toml
[notebook]
title = "Listening posts"
owner = "The project"
licence = "CC-BY-4.0"
language = "en-GB"
made_by = "Hardware team"
checked_by = "Test bench"
notice = "Invented."
theme = "themes/drawing"
[policy]
spread = "worst-case"
[[waiver]]
finding = "loose-quantity"
place = "boards/cell_charger/front.md:12"
reason = "until the figure is there"
until = 2026-12-31
//- parts/stock.toml
[part.res_5k1]
kind = "resistor"
title = "Resistor 5k1"
value = "5.1 kΩ ±1 %"
package = "0805"
power_rating = "125 mW"
source = "invented"
note = "On the reel."
audience = "team"
height = "0.6 mm"
property = { cold_ratio = "0.74 ±1.5 %" }
[part.cell_600]
kind = "cell"
capacity = "600 mAh ±5 %"
charge_temperature_min = "0 °C"
//- modules/trail.toml
[module.trail]
title = "Trail module"
summary = "A controller."
source = "invented"
supply = "3.3 V"
supply_limit = "300 mA"
logic_high = "2.31 V"
logic_low = "0.99 V"
pin_count = "20 count"
property = { sleep_draw = "15 µA" }
//- boards/cell_charger/board.toml
[board]
id = "cell_charger"
title = "Charger"
revision = "B"
status = "production"
summary = "Charges a cell."
date = 2026-03-04
licence = "CERN-OHL-S-2.0"
module = "trail"
[fitted]
R1 = "res_5k1"
BT1 = { part = "cell_600", fit = false }
[figure.set_constant]
means = "Programming constant"
given = "1000 V ±5 %"
source = "data sheet"
audience = "team"
[figure.charge_slow]
means = "Charge current"
from = "set_constant / R1"
source = "data sheet"
says = "196 mA"
must = "180 mA to 212 mA"
unit = "mA"
symbol = "I_chg"
holds_for = { R1 = "2 kΩ to 50 kΩ", "U1.quiescent" = "at most 1 mA" }
at = "25 °C"
note = "Slow."
headline = true
[relation.cell_takes_it]
means = "The cell stands it"
holds = "charge_slow <= BT1.max_charge_current"
[caution.lithium]
signal = "WARNING"
hazard = "The cell can burn."
consequence = "Fire."
avoid = "Use a cell with protection."
because = "charge_slow > 0 A"
about = "lithium-cell"
[revision.A]
date = 2026-02-03
changes = ["Set resistor raised", "New outline"]
fitted = { R1 = "res_3k3", R9 = { part = "res_5k1", fit = false } }
[working.corner]
kind = "corner-frequency"
means = "Where the filter turns"
resistance = "R1"
capacitance = "100 nF"
[[waiver]]
finding = "figure-disagrees"
place = "boards/cell_charger/front.md"
reason = "reprint ordered"
until = 2026-12-31
"#;

#[test]
fn every_key_of_every_record_is_read() {
    let records = check(FULL);
    let notebook = &records.notebook;
    assert_eq!(notebook.title, "Listening posts");
    assert_eq!(notebook.language, "en-GB");
    assert_eq!(notebook.policy.spread, Some(SpreadPolicy::WorstCase));
    let front = ("boards/cell_charger/front.md", Some(12));
    assert_eq!(notebook.waivers[0].file_and_line(), front);

    let ids: Vec<_> = records
        .parts
        .iter()
        .map(|part| part.id.value.as_str())
        .collect();
    assert_eq!(ids, ["cell_600", "res_5k1"]);
    let resistor = records.part("res_5k1").expect("it was just listed");
    assert_eq!(resistor.kind.name, "resistor");
    assert_eq!(resistor.audience, Audience::Team);
    let names: Vec<_> = resistor
        .properties
        .iter()
        .map(|property| property.name.value.as_str())
        .collect();
    assert_eq!(names, ["value", "power_rating", "height", "cold_ratio"]);
    let value = resistor.property("value").expect("it was just listed");
    assert_eq!(value.given.value.nominal(), 5100.0);
    assert_eq!(value.means, "resistance");

    let module = records.module("trail").expect("the fixture has it");
    assert_eq!(module.properties.len(), 6);
    let supply = module.property("supply").expect("the fixture has it");
    assert_eq!(supply.given.value.dimension(), Dimension::VOLTAGE);

    let board = records.board("cell_charger").expect("the fixture has it");
    assert_eq!(board.status, Status::Production);
    assert_eq!(board.revision.value, "B");
    assert_eq!(
        board
            .date
            .as_ref()
            .map(|date| date.value.to_string())
            .as_deref(),
        Some("2026-03-04")
    );
    assert_eq!(
        board.module.as_ref().map(|module| module.value.as_str()),
        Some("trail")
    );
    let fitted: Vec<_> = board
        .fitted
        .iter()
        .map(|fitted| {
            (
                fitted.designator.value.as_str(),
                fitted.part.value.as_str(),
                fitted.fit,
            )
        })
        .collect();
    assert_eq!(
        fitted,
        [("R1", "res_5k1", true), ("BT1", "cell_600", false)]
    );

    let [given, computed] = board.figures.as_slice() else {
        panic!("two figures expected: {:?}", board.figures);
    };
    assert!(matches!(&given.body, FigureBody::Given(given) if given.value.nominal() == 1000.0));
    assert_eq!(given.audience, Audience::Team);
    assert!(matches!(&computed.body, FigureBody::From(text) if text.value == "set_constant / R1"));
    assert!(computed.headline && !given.headline);
    assert_eq!(
        computed.unit.as_ref().map(|unit| unit.value.symbol()),
        Some("mA")
    );
    let ranges: Vec<_> = computed
        .holds_for
        .iter()
        .map(|range| range.name.value.as_str())
        .collect();
    assert_eq!(ranges, ["R1", "U1.quiescent"]);

    assert_eq!(
        board.relations[0].holds.value,
        "charge_slow <= BT1.max_charge_current"
    );
    assert_eq!(board.cautions[0].signal, Signal::Warning);
    assert_eq!(board.cautions[0].about, Hazard::LithiumCell);
    assert_eq!(board.revisions[0].changes.len(), 2);
    assert_eq!(board.revisions[0].fitted.len(), 2);
    let inputs: Vec<_> = board.workings[0]
        .inputs
        .iter()
        .map(|(name, input)| match input {
            WorkingInput::Text(formula) => (name.value.as_str(), formula.value.as_str()),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(inputs, [("resistance", "R1"), ("capacitance", "100 nF")]);
    assert_eq!(board.waivers[0].finding.value, "figure-disagrees");
    assert!(board.left_out.is_empty() && records.left_out.is_empty());
}

#[test]
fn a_value_knows_the_bytes_between_its_quotation_marks() {
    let (sources, records, _) = read(FULL);
    let board = records.board("cell_charger").expect("the fixture has it");
    let computed = &board.figures[1];
    assert_eq!(sources.text_at(&computed.id.place), "charge_slow");
    let FigureBody::From(formula) = &computed.body else {
        panic!("it is computed");
    };
    assert_eq!(sources.text_at(&formula.place), "set_constant / R1");
    assert_eq!(sources.text_at(&sources.place_in(formula, 15..17)), "R1");
    assert_eq!(sources.text_at(&board.id.place), "[board]");
    let waiver = &records.notebook.waivers[0];
    assert_eq!(sources.text_at(&waiver.place), "[[waiver]]");
}

#[test]
fn text_with_escapes_or_over_several_lines_has_a_place_too() {
    let (sources, records, findings) = read(concat!(
        "//- boards/a_board/board.toml\n",
        "[board]\n",
        "title = \"\"\"\nOver\ntwo lines\"\"\"\n",
        "revision = 'A'\nstatus = \"concept\"\n",
        "summary = \"tab\\tinside\"\n",
    ));
    assert_eq!(findings, []);
    let board = records.board("a_board").expect("the fixture has it");
    assert_eq!(sources.text_at(&board.title.place), "Over\ntwo lines");
    assert_eq!(sources.text_at(&board.revision.place), "A");
    assert_eq!(board.summary.value, "tab\tinside");
    assert_eq!(sources.text_at(&board.summary.place), "\"tab\\tinside\"");
    // A stretch of text with escapes is not a stretch of the file.
    let stretch = sources.place_in(&board.summary, 0..3);
    assert_eq!(stretch, board.summary.place);
}

#[test]
fn a_notebook_without_its_file_has_a_usable_stand_in() {
    let records = check(
        r#"//! missing-record: `notebook.toml`
//- parts/stock.toml
[part.res_10k]
kind = "resistor"
"#,
    );
    assert_eq!(records.notebook.title, "Untitled notebook");
    assert_eq!(records.notebook.language, "en");
    assert_eq!(records.parts.len(), 1);
}

#[test]
fn an_empty_file_says_what_it_lacks() {
    let records = check("//- notebook.toml\n#<| missing-key: lacks `[notebook]`\n");
    assert_eq!(records.notebook.title, "Untitled notebook");
    check("//- notebook.toml\n[policy]\n#<| missing-key: lacks `[notebook]`\n");
    check("//- parts/stock.toml\n#<| missing-key: holds no `[part.<id>]`\n");
    check("//- modules/trail.toml\n#<| missing-key: holds no `[module.<id>]`\n");
    let records = check("//- boards/a_board/board.toml\n#<| missing-key: lacks `[board]`\n");
    let board = records
        .board("a_board")
        .expect("a board without a record is one");
    assert_eq!(board.title.value, "a_board");
}

#[test]
fn order_is_that_of_the_file_and_not_of_the_alphabet() {
    let records = check(
        r#"//- boards/a_board/board.toml
board = { title = "Board", revision = "A", status = "concept", summary = "None." }
fitted.R9 = "res_10k"
fitted.R1 = "res_10k"
figure.zeta = { means = "Last letter", from = "1" }
figure.alpha = { means = "First letter", from = "2" }
"#,
    );
    let board = &records.boards[0];
    assert_eq!(board.fitted[0].designator.value, "R9");
    assert_eq!(board.figures[0].id.value, "zeta");
}

#[test]
fn the_demo_notebook_has_nothing_wrong_in_its_records() {
    let content = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
    let mut fixture = String::new();
    for entry in walkdir::WalkDir::new(content).sort_by_file_name() {
        let entry = entry.expect("the demo can be walked");
        let path = entry
            .path()
            .strip_prefix(content)
            .expect("it lies in there");
        let path = path.to_str().expect("the demo has plain names");
        if crate::record::Role::of(path.into()).is_some() {
            let text = std::fs::read_to_string(entry.path()).expect("the demo can be read");
            fixture.push_str(&format!("//- {path}\n{text}"));
        }
    }
    let records = check(&fixture);
    assert!(records.parts.len() > 20);
    assert_eq!(records.boards.len(), 8);
}
