//! What is wrong with a sheet by itself.

use super::sheet;
use crate::finding::Slug;

#[test]
fn the_title_is_the_first_heading() {
    let sheet = sheet("Words\n\n## The *charger*  ##\n\n# Other\n");
    assert_eq!(sheet.document.title.as_deref(), Some("The charger"));
    let place = sheet
        .document
        .title_place
        .as_ref()
        .expect("there is a title");
    assert_eq!(sheet.at(place), "The *charger");
    let ids: Vec<(u8, &str)> = sheet
        .document
        .headings
        .iter()
        .map(|h| (h.level, &*h.id))
        .collect();
    assert_eq!(ids, [(2, "the-charger"), (1, "other")]);
}

#[test]
fn a_byte_order_mark_hides_no_title() {
    assert_eq!(
        sheet("\u{feff}# Charger").document.title.as_deref(),
        Some("Charger")
    );
}

#[test]
fn a_sheet_without_a_title_is_told() {
    assert_eq!(sheet("Words").findings(), [(Slug::NoTitle, 1, 1, "")]);
    assert_eq!(sheet("").findings(), [(Slug::NoTitle, 1, 1, "")]);
    assert_eq!(sheet("x\n\n#\n").findings(), [(Slug::NoTitle, 3, 1, "#\n")]);
}

#[test]
fn refused_addresses_are_errors_at_the_address() {
    let sheet =
        sheet("# T\n\n[a](javascript:x) ![b](https://example.org/b.png)\n\n[c][r]\n\n[r]: /d\n");
    assert_eq!(
        sheet.findings(),
        [
            (Slug::RefusedAddress, 3, 5, "javascript:x"),
            (Slug::RefusedAddress, 3, 24, "https://example.org/b.png"),
            (Slug::RefusedAddress, 7, 6, "/d"),
        ]
    );
    assert_eq!(
        sheet.findings[0].message,
        "the address `javascript:x` is refused: sheets do not link to `javascript:`"
    );
}

#[test]
fn a_figure_written_as_a_picture_comes_with_the_mend() {
    let sheet = sheet("# T\n\n![196 mA](figure:a)\n");
    assert_eq!(
        sheet.findings(),
        [(Slug::RefusedAddress, 3, 11, "figure:a")]
    );
    let mend = sheet.findings[0].mend.as_ref().expect("there is a mend");
    assert_eq!((sheet.at(&mend.place), &*mend.text), ("!", ""));
}

#[test]
fn pictures_without_text_are_told() {
    assert_eq!(
        sheet("# T\n\n![](photo.jpg)\n").findings(),
        [(Slug::NoAlternativeText, 3, 1, "![](photo.jpg)")]
    );
}

#[test]
fn html_is_told_once_for_each_stretch_of_text() {
    let sheet =
        sheet("# T\n\na <b>b</b> <i>c</i>\n\n- x <u>y</u>\n\n<!-- z -->\n\n<div>\nq\n</div>\n");
    assert_eq!(
        sheet.findings(),
        [
            (Slug::RawHtml, 3, 3, "<b>"),
            (Slug::RawHtml, 5, 5, "<u>"),
            (Slug::RawHtml, 7, 1, "<!-- z -->\n"),
            (Slug::RawHtml, 9, 1, "<div>\nq\n</div>\n"),
        ]
    );
}

#[test]
fn references_without_a_definition_are_told() {
    let sheet = sheet("# T\n\n[196 mA][slow], [x][], a[0] and [an aside] and [^n] and \\[^m]\n");
    assert_eq!(
        sheet.findings(),
        [
            (Slug::DeadLink, 3, 1, "[196 mA][slow]"),
            (Slug::DeadLink, 3, 17, "[x][]"),
            (Slug::DeadLink, 3, 48, "[^n]"),
        ]
    );
}

#[test]
fn a_link_that_reads_as_text_is_told() {
    for (line, at) in [
        (
            "x [196 mA](figure:charge slow) y",
            "[196 mA](figure:charge slow)",
        ),
        ("x [196 mA] (figure:a) y", "[196 mA] (figure:a)"),
        (
            "x [a [b](figure:a) c](figure:b) y",
            "[a [b](figure:a) c](figure:b)",
        ),
        ("x [196 mA](figure:a", "[196 mA](figure:a"),
    ] {
        let text = format!("# T\n\n{line}\n");
        assert_eq!(
            sheet(&text).findings(),
            [(Slug::DeadLink, 3, 3, at)],
            "{line:?}"
        );
    }
    assert!(
        sheet("# T\n\n`[a](figure:b c)` \\[a\\](figure:b) (figure: 3)\n")
            .findings
            .is_empty()
    );
}
