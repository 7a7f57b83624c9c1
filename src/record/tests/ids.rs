//! Names that are malformed, taken, or mean something else.

use super::{check, read};

#[test]
fn a_malformed_id_leaves_its_record_out_and_is_remembered() {
    let records = check(
        r#"//- parts/stock.toml
[part.Res-10k]
#     ^^^^^^^ bad-id: `Res-10k` is not an id | this name | an id is made of small letters
kind = "resitor"
#       ^^^^^^^ bad-value: perhaps `resistor`
[part."../../etc"]
#      ^^^^^^^^^ bad-id: is not an id
kind = "resistor"
[part.res_10k]
kind = "resistor"
"#,
    );
    assert_eq!(records.parts.len(), 1);
    let left_out: Vec<_> = records
        .left_out
        .iter()
        .map(|one| one.name.as_str())
        .collect();
    assert_eq!(left_out, ["Res-10k", "../../etc"]);
}

#[test]
fn a_malformed_id_is_mended_where_that_can_be_done() {
    let (_, _, findings) = read("//- parts/s.toml\n[part.Res-10k]\nkind = \"resistor\"\n");
    let mend = findings[0].mend.as_ref().map(|mend| mend.text.as_str());
    assert_eq!(mend, Some("res_10k"));
}

#[test]
fn an_id_that_reads_as_a_unit_or_a_function_is_refused() {
    let records = check(
        r#"//- boards/a_board/board.toml
[board]
title = "Board"
revision = "A"
status = "concept"
summary = "None."
[figure.h]
#       ^ bad-id: the id `h` reads as a unit
means = "Height"
from = "1 m"
[figure.sqrt]
#       ^^^^ bad-id: the id `sqrt` has a meaning in formulas
means = "Root"
from = "1"
[figure.hight]
means = "Height"
from = "1 m"
//- boards/mm/board.toml
[board]
#<^^^^^ bad-id: the folder's name `mm` is no id for a board
title = "Board"
revision = "A"
status = "concept"
summary = "None."
"#,
    );
    // They do no harm where they are, and figures may hang on them.
    assert_eq!(
        records.board("a_board").map(|board| board.figures.len()),
        Some(3)
    );
}

#[test]
fn designators_and_revisions_have_their_own_form() {
    let records = check(
        r#"//- boards/a_board/board.toml
[board]
title = "Board"
revision = "A/B"
#           ^^^ bad-value: `A/B` is no revision
status = "concept"
summary = "None."
[fitted]
r1 = "res_a"
#< bad-id: `r1` is not a reference designator
R2 = "res_a"
R03 = "res_a"
#<^ bad-id: one to three capital letters and a number
U1 = { fit = true }
#    ^^^^^^^^^^^^^^ missing-key: a place for a part `U1` lacks `part`
U2 = { part = "x", fitt = false }
#                  ^^^^ unknown-key: perhaps `fit`
[revision."A B"]
#          ^^^ bad-id: `A B` is not a revision
date = 2026-01-01
"#,
    );
    let board = &records.boards[0];
    let fitted: Vec<_> = board
        .fitted
        .iter()
        .map(|one| one.designator.value.as_str())
        .collect();
    assert_eq!(fitted, ["R2", "U2"]);
    let left_out: Vec<_> = board.left_out.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(left_out, ["r1", "R03", "U1", "A B"]);
}

#[test]
fn one_id_in_two_files_names_both_places() {
    let records = check(
        r#"//- parts/a.toml
[part.res_10k]
kind = "resistor"
//- parts/b.toml
[part.res_10k]
#     ^^^^^^^ duplicate-id: two parts have the id `res_10k` | again here | first here
kind = "capacitor"
[part.res_1k]
kind = "resistor"
"#,
    );
    let kinds: Vec<_> = records.parts.iter().map(|part| part.kind.name).collect();
    assert_eq!(kinds, ["resistor", "resistor"]);
}

#[test]
fn a_board_that_states_an_id_states_its_folder() {
    let board = |id: &str, mark: &str| {
        format!(
            "[board]\nid = \"{id}\"\n{mark}title = \"B\"\nrevision = \"A\"\nstatus = \"concept\"\nsummary = \"S\"\n"
        )
    };
    let taken =
        "#     ^^^^^^^ duplicate-id: two boards have the id `a_board` | again here | first here\n";
    let other = "#     ^^^^^^ bad-value: the board in the folder `third` states the id `fourth`\n";
    let records = check(&format!(
        "//- boards/a_board/board.toml\n{}//- boards/second/board.toml\n{}//- boards/third/board.toml\n{}",
        board("a_board", ""),
        board("a_board", taken),
        board("fourth", other),
    ));
    assert_eq!(records.boards.len(), 3);
}

#[test]
fn a_name_leads_to_one_thing_only() {
    check(
        r#"//- modules/m.toml
[module.trail]
title = "Trail"
[module.a_board]
title = "As a board"
//- boards/a_board/board.toml
[board]
#<^^^^^ duplicate-id: a board and a module have the id `a_board`
title = "Board"
revision = "A"
status = "concept"
summary = "None."
[figure.gain]
means = "Gain"
from = "2"
[working.gain]
#        ^^^^ duplicate-id: a working and a figure have the id `gain`
kind = "divider"
[working.trail]
#        ^^^^^ duplicate-id: a working and a module have the id `trail`
kind = "divider"
"#,
    );
}

#[test]
fn a_property_of_ones_own_hides_none_that_is_known() {
    let records = check(
        r#"//- parts/stock.toml
[part.res_a]
kind = "resistor"
value = "1 kΩ"
property = { value = "2 kΩ", tempco = "1 (1/K)", ratio = "0.5" }
#            ^^^^^ duplicate-id: the property `value` is there twice
"#
        .replace("tempco = \"1 (1/K)\", ", "")
        .as_str(),
    );
    let properties: Vec<_> = records.parts[0]
        .properties
        .iter()
        .map(|property| property.name.value.as_str())
        .collect();
    assert_eq!(properties, ["value", "ratio"]);
    check(
        r#"//- parts/stock.toml
[part.res_a]
kind = "resistor"
property = { power_rating = "1 W" }
#            ^^^^^^^^^^^^ bad-value: write `power_rating` as a key of the record
"#,
    );
}
