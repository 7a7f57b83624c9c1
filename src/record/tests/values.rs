//! Values of the right type that cannot be read.

use super::{check, read};

#[test]
fn a_quantity_that_cannot_be_read_is_told_to_the_letter() {
    let records = check(
        r#"//- parts/stock.toml
[part.a]
kind = "regulator"
output_voltage = "3,3 V ±2 %"
#                 ^^^ decimal-comma: write `3.3`
dropout = "160 mW"
#          ^^^^^^ unit-mismatch: expected a voltage (V), found a power (W)
quiescent = "90 KHz"
#               ^^^ unknown-unit: kilo is a small k
current_limit = "about much"
#                ^ quantity-form: a number was expected here
supply_min = ""
#            | bad-value: `supply_min` is empty
efficiency = "0.9"
"#
        .replace("#            | bad", "#             | bad")
        .as_str(),
    );
    let part = &records.parts[0];
    assert_eq!(part.properties.len(), 1);
    assert_eq!(part.left_out.len(), 5);
}

#[test]
fn a_decimal_comma_is_mended_in_its_place() {
    let (sources, _, findings) =
        read("//- parts/s.toml\n[part.a]\nkind = \"led\"\nheight = \"0,8 mm\"\n");
    let mend = findings[0].mend.as_ref().expect("there is one");
    assert_eq!(sources.text_at(&mend.place), "0,8");
    assert_eq!(mend.text, "0.8");
}

#[test]
fn a_fault_in_text_with_escapes_is_told_of_the_whole_text() {
    let (sources, _, findings) =
        read("//- parts/s.toml\n[part.a]\nkind = \"led\"\nheight = \"0,8\\u0020mm\"\n");
    let place = findings[0].place().expect("it has one");
    assert_eq!(sources.text_at(place), "\"0,8\\u0020mm\"");
    assert_eq!(findings[0].mend, None);
}

#[test]
fn statements_and_units_are_read_where_they_stand() {
    let records = check(
        r#"//- boards/a_board/board.toml
[board]
title = "Board"
revision = "A"
status = "concept"
summary = "None."
[figure.gain]
means = "Gain"
from = "2"
says = "at least"
#       ^ quantity-form: a number was expected here
must = "200 mA to 100 mA"
#       ^^^^^^^^^^^^^^^^ quantity-form: the limits are not in order
unit = "mAmp"
#       ^^^^ unknown-unit: `mAmp` is no unit
holds_for = { R1 = "2 kOhm to 50 kBaud", R2 = "1 V" }
#                                ^^^^^ unknown-unit: `kBaud` is no unit
"#,
    );
    let figure = &records.boards[0].figures[0];
    assert!(figure.says.is_none() && figure.must.is_none() && figure.unit.is_none());
    assert_eq!(figure.holds_for.len(), 1);
}

#[test]
fn words_that_are_not_known_come_with_the_nearest_one() {
    check(
        r#"//- boards/a_board/board.toml
[board]
title = "Board"
revision = "A"
status = "prodution"
#         ^^^^^^^^^ bad-value: `status` cannot be `prodution` | not a word for this key | perhaps `production`
summary = "None."
[caution.hot]
signal = "Danger"
#         ^^^^^^ bad-value: perhaps `DANGER`
hazard = "Hot."
avoid = "Wait."
because = "1 < 2"
about = "radiation"
#        ^^^^^^^^^ bad-value: one of: lithium-cell, heat, mains-adapter, loud-sound, soldering, general
[[waiver]]
finding = "loose-quantities"
#          ^^^^^^^^^^^^^^^^ bad-value: perhaps `loose-quantity`
place = "a.md"
reason = "R"
until = 2026-01-01
"#,
    );
}

#[test]
fn licences_languages_and_paths_are_checked() {
    let records = check(
        r#"//- notebook.toml
[notebook]
title = "T"
owner = "O"
licence = "CC-BY-4.0 OR CERN-OHL-T-2.0"
#                       ^^^^^^^^^^^^^^ bad-value: perhaps `CERN-OHL-P-2.0`
language = "English"
#           ^^^^^^^ bad-value: `English` is no language tag
theme = "../../look"
#        ^^^^^^^^^^ outside-notebook: write a path from the notebook's folder
"#,
    );
    assert_eq!(records.notebook.language, "en");
    assert_eq!(records.notebook.theme, None);
}

#[test]
fn text_that_says_nothing_is_no_text() {
    check(
        r#"//- boards/a_board/board.toml
[board]
title = "  "
#        ^^ bad-value: `title` is empty | text is expected
revision = "A"
status = "concept"
summary = '''
 '''
"#
        .replace("summary = '''\n '''", "summary = '.'")
        .as_str(),
    );
}
