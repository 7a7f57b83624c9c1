//! Where stated text and addresses stand, to the letter.

use super::sheet;
use crate::prose::Address;

/// The stated text of the only link, with its line and column.
fn stated(text: &str) -> (String, usize, usize, String) {
    let sheet = sheet(text);
    assert_eq!(sheet.document.links.len(), 1, "{text:?}");
    let link = &sheet.document.links[0];
    let (line, column) = sheet.line_column(&link.text_place);
    (
        link.text.clone(),
        line,
        column,
        sheet.at(&link.text_place).to_owned(),
    )
}

fn own(text: &str, line: usize, column: usize, at: &str) -> (String, usize, usize, String) {
    (text.to_owned(), line, column, at.to_owned())
}

#[test]
fn a_stated_number_is_found_to_the_letter() {
    let sheet = sheet("# Charger\n\nIt charges at [196 mA](figure:charge_slow \"slow\").\n");
    let link = &sheet.document.links[0];
    assert_eq!(link.kind, Address::Figure("charge_slow".into()));
    assert_eq!(link.text, "196 mA");
    assert_eq!(link.title, "slow");
    assert!(link.literal);
    assert_eq!(sheet.at(&link.text_place), "196 mA");
    assert_eq!(sheet.line_column(&link.text_place), (3, 16));
    assert_eq!(sheet.at(&link.destination_place), "figure:charge_slow");
    assert_eq!(
        sheet.at(&link.place),
        "[196 mA](figure:charge_slow \"slow\")"
    );
    assert!(matches!(
        sheet.document.events[link.event].0,
        pulldown_cmark::Event::Start(pulldown_cmark::Tag::Link { .. })
    ));
    assert!(sheet.findings.is_empty());
}

#[test]
fn a_stated_number_is_found_wherever_it_stands() {
    let a = "[5 V](figure:a)";
    for (text, line, column) in [
        (format!("{a}\n"), 1, 2),
        (format!("- x\n  - {a}\n"), 2, 6),
        (format!("| a | b |\n|---|---|\n| x | {a} |\n"), 3, 8),
        (format!("> > {a}\n"), 1, 6),
        (format!("# {a}\n"), 1, 4),
        (format!("x\r\n\r\ny {a}\r\n"), 3, 4),
        (format!("\u{feff}{a}\n"), 1, 3),
        (format!("漢字 Ω 𝄞 {a}\n"), 1, 9),
        (format!("**x {a}**\n"), 1, 6),
        (format!("x[^n]\n\n[^n]: y {a}\n"), 3, 10),
        (format!("1. x\n\n   y {a}\n"), 3, 7),
    ] {
        assert_eq!(stated(&text), own("5 V", line, column, "5 V"), "{text:?}");
    }
}

#[test]
fn emphasis_and_code_around_a_stated_number_are_not_part_of_it() {
    assert_eq!(stated("[**5 V**](figure:a)"), own("5 V", 1, 4, "5 V"));
    assert_eq!(stated("[ *5 V* ](figure:a)"), own("5 V", 1, 4, "5 V"));
    assert_eq!(stated("[`` 5 V ``](figure:a)"), own("5 V", 1, 5, "5 V"));
    assert_eq!(stated("[**5** V](figure:a)"), own("5 V", 1, 4, "5** V"));
    assert_eq!(
        stated("[5&nbsp;V](figure:a)"),
        own("5\u{a0}V", 1, 2, "5&nbsp;V")
    );
    assert_eq!(stated("> [5\n> V](figure:a)"), own("5 V", 1, 4, "5\n> V"));
}

#[test]
fn text_that_may_be_replaced_is_told_from_text_that_may_not() {
    let literal = |text: &str| sheet(text).document.links[0].literal;
    assert!(literal("[**5 V**](figure:a)"));
    assert!(literal("[](figure:a)"));
    assert!(!literal("[**5** V](figure:a)"));
    assert!(!literal("[5&nbsp;V](figure:a)"));
}

#[test]
fn an_empty_text_has_a_place_just_inside_its_bracket() {
    assert_eq!(stated("x [](figure:a)"), own("", 1, 4, ""));
    assert_eq!(stated("x <figure:a>"), own("", 1, 4, ""));
}

#[test]
fn addresses_are_found_however_the_link_is_written() {
    for (text, address, visible) in [
        ("[a](figure:x)", "figure:x", "a"),
        ("[a]( <figure:x> )", "figure:x", "a"),
        ("[a](b%20c.md#d 'T')", "b%20c.md#d", "a"),
        ("[a [b] c](figure:x)", "figure:x", "a [b] c"),
        ("[a\\]](figure:x)", "figure:x", "a\\]"),
        ("![a](working:x)", "working:x", "a"),
        ("<figure:x>", "figure:x", ""),
        (
            "<https://example.org>",
            "https://example.org",
            "https://example.org",
        ),
        ("[a][r]\n\n[r]: figure:x 'T'", "figure:x", "a"),
        ("[r][]\n\n[R]: <figure:x>", "figure:x", "r"),
        ("[r]\n\n[r]:\n  figure:x", "figure:x", "r"),
    ] {
        let sheet = sheet(text);
        let link = &sheet.document.links[0];
        assert_eq!(sheet.at(&link.destination_place), address, "{text:?}");
        assert_eq!(sheet.at(&link.text_place), visible, "{text:?}");
        assert!(!matches!(link.kind, Address::Refused { .. }), "{text:?}");
    }
}

#[test]
fn a_reference_link_ends_after_its_label() {
    for whole in ["[a][r]", "[r][]", "[r]", "![a][r]"] {
        let sheet = sheet(&format!("x {whole} y\n\n[r]: b.md"));
        assert_eq!(sheet.at(&sheet.document.links[0].place), whole);
    }
}

#[test]
fn links_within_an_images_text_are_listed_too() {
    let sheet = sheet("![Currents at [196 mA](figure:a)](working:b)");
    let texts: Vec<&str> = sheet.document.links.iter().map(|l| &*l.text).collect();
    assert_eq!(texts, ["Currents at 196 mA", "196 mA"]);
    assert_eq!(
        sheet.at(&sheet.document.links[0].destination_place),
        "working:b"
    );
}
