//! Text that is no TOML: each slip is told once, and what is around it is read.

use super::{check, read};
use crate::finding::Slug;

#[test]
fn text_without_quotation_marks_is_told_with_the_mend() {
    let records = check(
        r#"//- parts/stock.toml
[part.res_a]
kind = resistor
#      ^^^^^^^^ toml-syntax: write `"resistor"`
value = 4.7 kΩ
#       ^^^^^^ toml-syntax: write `"4.7 kΩ"`
title = “Resistor”
#       ^^^^^^^^^^ toml-syntax: write `"Resistor"`
package = "0805"
[part.res_b]
kind = "resistor"
value = "10 kΩ"
"#,
    );
    // What was guessed is not used, and what is sound is.
    let half_read = records.part("res_a").expect("it is there");
    assert!(half_read.properties.is_empty());
    assert_eq!(half_read.left_out, ["kind", "value", "title"]);
    assert_eq!(
        half_read.package.as_ref().map(|text| text.value.as_str()),
        Some("0805")
    );
    assert_eq!(
        records.part("res_b").map(|part| part.properties.len()),
        Some(1)
    );
    assert_eq!(records.damaged.len(), 1);
}

#[test]
fn the_mend_for_text_without_quotation_marks_is_toml() {
    let (sources, _, findings) = read("//- parts/s.toml\n[part.a]\nkind = “led”\n");
    let mend = findings[0].mend.as_ref().expect("there is one");
    assert_eq!(sources.text_at(&mend.place), "“led”");
    assert_eq!(mend.text, "\"led\"");
}

#[test]
fn a_value_that_is_missing_is_told_once() {
    check(
        r#"//- boards/a_board/board.toml
[board]
title = "Board"
revision =
#         | toml-syntax: a value is missing
status = "concept"
summary = "None."
"#,
    );
}

#[test]
fn an_open_quotation_mark_ends_with_its_line() {
    let records = check(
        r#"//- boards/a_board/board.toml
[board]
title = "Board
#             | toml-syntax: invalid basic string
revision = "B"
status = "concept"
summary = "None."
"#,
    );
    assert_eq!(records.boards[0].revision.value, "B");
    assert_eq!(records.boards[0].title.value, "a_board");
}

#[test]
fn an_open_header_hides_no_other_record() {
    let records = check(
        r#"//- parts/stock.toml
[part.res_a
#          | toml-syntax: unclosed table
kind = "resistor"
[part.res_b]
kind = "resistor"
"#,
    );
    assert!(records.part("res_b").is_some());
}

#[test]
fn an_open_bracket_is_told_where_it_was_opened() {
    let (sources, _, findings) = read(concat!(
        "//- boards/a_board/board.toml\n",
        "[revision.A]\n",
        "changes = [\"one\", \"two\"\n",
        "[board]\n",
        "title = \"Board\"\n",
    ));
    let told: Vec<_> = findings
        .iter()
        .map(|finding| {
            (
                finding.slug,
                sources.text_at(finding.place().expect("it has one")),
            )
        })
        .collect();
    assert_eq!(told, [(Slug::TomlSyntax, "[")]);
    assert_eq!(findings[0].message, "`[` is never closed");
}

#[test]
fn a_record_that_is_there_twice_names_both_places() {
    check(
        r#"//- parts/stock.toml
[part.res_a]
kind = "resistor"
value = "1 kΩ"
[part.res_b]
kind = "resistor"
[part.res_a] # again
#<^^^^^^^^^^^^^^^^^^ duplicate-id: `part.res_a` is there twice | again here | first here
kind = "resistor"
value = "2 kΩ"
"#,
    );
}

#[test]
fn both_places_of_a_record_that_is_there_twice_are_its_headers() {
    let (sources, _, findings) =
        read("//- parts/s.toml\n[part.a]\nkind = \"led\"\n[ part . a ]\nkind = \"led\"\n");
    let places: Vec<_> = findings[0]
        .labels
        .iter()
        .map(|label| sources.text_at(&label.place))
        .collect();
    assert_eq!(places, ["[ part . a ]", "[part.a]"]);
    assert_eq!(findings.len(), 1);
}

#[test]
fn a_key_that_is_there_twice_names_both_places() {
    let records = check(
        r#"//- boards/a_board/board.toml
[board]
title = "Board"
revision = "A"
status = "concept"
summary = "title = x"
title = "Again"
#<^^^ toml-syntax: `title` is there twice | again here | first here; this one is read
[fitted]
R1 = "res_a"
R1 = "res_b"
#< duplicate-id: `R1` is there twice
[figure]
a = { means = "A", from = "1", means = "B" }
#                              ^^^^^ toml-syntax: `means` is there twice
"#,
    );
    assert_eq!(records.boards[0].title.value, "Board");
    assert_eq!(records.boards[0].fitted[0].part.value, "res_a");
    assert_eq!(records.boards[0].figures[0].means.value, "A");
}

#[test]
fn a_table_where_tables_in_a_row_are_already_is_told() {
    check(
        r#"//- notebook.toml
[notebook]
title = "T"
owner = "O"
[[waiver]]
finding = "loose-quantity"
place = "a.md"
reason = "R"
until = 2026-01-01
[waiver]
#<^^^^^^ toml-syntax: `waiver` is there twice
#<^^^^^^ wrong-type: write it in double square brackets: `[[waiver]]`
finding = "loose-quantity"
place = "b.md"
reason = "R"
until = 2026-01-01
"#,
    );
}

#[test]
fn a_date_that_no_calendar_has_is_told() {
    check(
        r#"//- boards/a_board/board.toml
[board]
title = "Board"
revision = "A"
status = "concept"
summary = "None."
date = 2026-02-30
#      ^^^^^^^^^^ toml-syntax: invalid date, expected day between 01 and 28
"#,
    );
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_are_read_past() {
    let (sources, records, findings) = read(concat!(
        "//- notebook.toml\n",
        "\u{feff}[notebook]\r\ntitle = \"T\"\r\nowner = \"O\"\r\nlicense = \"MIT\"\r\n",
    ));
    assert_eq!(records.notebook.title, "T");
    let place = findings[0].place().expect("it has one");
    assert_eq!(sources.file(place.file).line_column(place.start), (4, 1));
    assert_eq!(
        findings[0].mend.as_ref().map(|mend| mend.text.as_str()),
        Some("licence")
    );
}
