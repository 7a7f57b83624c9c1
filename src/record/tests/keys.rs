//! Keys that are unknown, missing, or hold something of another type.

use super::{check, read};

#[test]
fn an_unknown_key_comes_with_the_nearest_one() {
    check(
        r#"//- boards/a_board/board.toml
[board]
titel = "Board"
#<^^^ unknown-key: a board's record has no key `titel` | not known here | perhaps `title`
revision = "A"
status = "concept"
summary = "None."
[figure.gain]
means = "Gain"
form = "2"
#<^^ unknown-key: perhaps `from`
color = "red"
#<^^^ unknown-key: known here: means, given, from
[fited]
#^^^^^ unknown-key: `board.toml` has no table `fited` | not known here | perhaps `fitted`
"#,
    );
}

#[test]
fn a_quoted_key_is_marked_and_mended_between_its_quotation_marks() {
    let (sources, _, findings) =
        read("//- parts/s.toml\n[part.a]\nkind = \"led\"\n\"titel\" = \"LED\"\n");
    let mend = findings[0].mend.as_ref().expect("there is one");
    assert_eq!(sources.text_at(&mend.place), "titel");
    assert_eq!(mend.text, "title");
}

#[test]
fn a_property_of_another_kind_of_part_is_told_as_that() {
    check(
        r#"//- parts/stock.toml
[part.res_a]
kind = "resistor"
quiescent = "1 mA"
#<^^^^^^^ unknown-key: a part of kind charger, regulator, timer, amplifier, operational-amplifier, sensor has it
quiescnt = "1 mA"
#<^^^^^^ unknown-key: known here
[part.charger_a]
kind = "charger"
quiescnt = "1 mA"
#<^^^^^^ unknown-key: perhaps `quiescent`
"#,
    );
}

#[test]
fn a_part_of_a_misspelt_kind_keeps_its_properties() {
    let records = check(
        r#"//- parts/stock.toml
[part.res_a]
kind = "resitor"
#       ^^^^^^^ bad-value: `resitor` is not a kind of part | not a word for this key | perhaps `resistor`
value = "1 kΩ"
power_rating = "125 mW"
power_rating_w = "1"
#<^^^^^^^^^^^^ unknown-key: perhaps `power_rating`
[part.res_b]
#<^^^^^^^^^^ missing-key: part `res_b` lacks `kind`
power_rating = "125 mW"
"#,
    );
    let part = records.part("res_a").expect("it is kept");
    assert_eq!(part.properties.len(), 2);
    assert_eq!(part.left_out, ["kind"]);
}

#[test]
fn every_key_that_is_missing_is_told() {
    let records = check(
        r#"//- boards/a_board/board.toml
[board]
#<^^^^^ missing-key: a board's record lacks `title`
#<^^^^^ missing-key: lacks `revision`
#<^^^^^ missing-key: lacks `status`
#<^^^^^ missing-key: `summary`: what the board does, in a sentence
[figure.gain]
#<^^^^^^^^^^^ missing-key: figure `gain` lacks `means`
#<^^^^^^^^^^^ missing-key: lacks `given` or `from` or `measured` | exactly one of them is needed
[figure.constant]
#<^^^^^^^^^^^^^^^ missing-key: figure `constant` lacks `source`
means = "Constant"
given = "5 V"
[figure.both]
means = "Both"
from = "5 V"
#<^^ bad-value: figure `both` has both `given` and `from`
given = "5 V"
[relation.r]
#<^^^^^^^^^^ missing-key: relation `r` lacks `holds`
means = "M"
[caution.c]
#<^^^^^^^^^ missing-key: lacks `signal`
#<^^^^^^^^^ missing-key: lacks `hazard`
#<^^^^^^^^^ missing-key: lacks `avoid`
#<^^^^^^^^^ missing-key: lacks `because`
[revision.A]
#<^^^^^^^^^^ missing-key: revision `A` lacks `date`
[working.w]
#<^^^^^^^^^ missing-key: working `w` lacks `kind`
[[waiver]]
#<^^^^^^^^ missing-key: a waiver lacks `finding`
#<^^^^^^^^ missing-key: a waiver lacks `until`
place = "a.md"
reason = "R"
"#,
    );
    let board = &records.boards[0];
    assert_eq!(board.title.value, "a_board");
    let figures: Vec<_> = board
        .figures
        .iter()
        .map(|figure| figure.id.value.as_str())
        .collect();
    assert_eq!(figures, ["constant", "both"]);
    let left_out: Vec<_> = board
        .left_out
        .iter()
        .map(|left_out| (left_out.kind, left_out.name.as_str()))
        .collect();
    let expected = [
        ("figure", "gain"),
        ("relation", "r"),
        ("caution", "c"),
        ("revision", "A"),
        ("working", "w"),
    ];
    assert_eq!(left_out, expected);
    assert!(board.waivers.is_empty());
}

#[test]
fn a_value_of_another_type_comes_with_what_to_write() {
    let records = check(
        r#"//- boards/a_board/board.toml
[board]
title = 5
#       ^ wrong-type: `title` takes text; this is a whole number | a whole number | write it in quotation marks: `"5"`
revision = 2026-02-03
#          ^^^^^^^^^^ wrong-type: write it in quotation marks: `"2026-02-03"`
status = true
#        ^^^^ wrong-type: `status` takes one of the words concept, prototype, production, withdrawn
summary = ["a"]
#         ^^^^^ wrong-type: this is a list
date = "2026-02-03"
#      ^^^^^^^^^^^^ wrong-type: write it without quotation marks: `2026-02-03`
[figure.gain]
means = { text = "Gain" }
#       ^^^^^^^^^^^^^^^^^ wrong-type: this is a table
from = 4.5
#      ^^^ wrong-type: `from` takes a formula, as text; this is a number | a number | write it in quotation marks: `"4.5"`
says = 4.5
#      ^^^ wrong-type: with its unit, as in `"196 mA"`
headline = "true"
#          ^^^^^^ wrong-type: write it without quotation marks: `true`
holds_for = "R1"
#           ^^^^ wrong-type: `holds_for` takes a table
[figure.other]
means = "Other"
from = "1"
holds_for = { U1.quiescent = "1 mA to 2 mA" }
#             ^^ wrong-type: a name with a point in it stands in quotation marks: `"U1.…" = "…"`
[revision.A]
date = 2026-02-03T10:00:00
#      ^^^^^^^^^^^^^^^^^^^ wrong-type: write only the date, 2026-02-03
changes = "one"
#         ^^^^^ wrong-type: write it in square brackets: `["one"]`
[revision.B]
date = 10:00:00
#      ^^^^^^^^ wrong-type: a date is written 2026-02-03
changes = ["one", 2]
#                 ^ wrong-type: `changes` takes text
"#,
    );
    assert_eq!(records.boards[0].date, None);
    assert_eq!(records.boards[0].figures.len(), 1);
    assert!(records.boards[0].revisions.is_empty());
}

#[test]
fn tables_that_are_something_else_are_told() {
    check(
        r#"//- boards/a_board/board.toml
figure = 3
#        ^ wrong-type: `figure` takes tables, each [figure.<id>]; this is a whole number
fitted = ["R1"]
#        ^^^^^^ wrong-type: `fitted` takes a table with a value for a reference designator
waiver = [1]
#         ^ wrong-type: `waiver` takes tables, each [[waiver]]
[[board]]
#<^^^^^^^ wrong-type: `board` takes a table, [board]; this is a list
[relation]
means = "R"
holds = "1 < 2"
[caution]
other = 3
#       ^ wrong-type: `other` takes a table, [caution.<id>]
"#
        .replace(
            "[relation]\n",
            "[relation]\n# ^^^^^^^^ bad-id: write the header as `[relation.<id>]`\n",
        )
        .replace("# ^^^^^^^^ bad", "#^^^^^^^^ bad")
        .as_str(),
    );
}

#[test]
fn a_quantity_that_is_a_bare_number_is_asked_for_its_unit() {
    check(
        r#"//- parts/stock.toml
[part.charger_a]
kind = "charger"
supply_min = 4.3
#            ^^^ wrong-type: write it as text with its unit, as in `"4.3 V"`
precharge_ratio = 0.1
#                 ^^^ wrong-type: write it in quotation marks: `"0.1"`
property = { share = 3 }
#                    ^ wrong-type: write it in quotation marks: `"3"`
"#,
    );
}
