//! Reading whole sheets: places, findings, and inputs made to break it.

use std::time::{Duration, Instant};

use super::*;
use crate::finding::{Finding, Place, Slug, Sources};

/// A sheet that has been read.
struct Sheet {
    sources: Sources,
    document: Document,
    findings: Vec<Finding>,
}

fn sheet(text: &str) -> Sheet {
    let mut sources = Sources::default();
    let file = sources.add("front.md", text.to_owned());
    let (document, findings) = read(file, text);
    Sheet {
        sources,
        document,
        findings,
    }
}

impl Sheet {
    fn at(&self, place: &Place) -> &str {
        self.sources.text_at(place)
    }

    /// Line and column of a place, both from one.
    fn line_column(&self, place: &Place) -> (usize, usize) {
        self.sources.file(place.file).line_column(place.start)
    }

    /// Each finding as slug, line, column and the text it points at.
    fn findings(&self) -> Vec<(Slug, usize, usize, &str)> {
        self.findings
            .iter()
            .map(|finding| {
                let place = finding.place().expect("every finding here has a place");
                let (line, column) = self.line_column(place);
                (finding.slug, line, column, self.at(place))
            })
            .collect()
    }
}

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

#[test]
fn a_file_of_fifty_megabytes_is_refused_unread() {
    let text = "[5 V](figure:a) ".repeat(50_000_000 / 16);
    let begun = Instant::now();
    let sheet = sheet(&text);
    assert_eq!(sheet.findings(), [(Slug::TooLarge, 1, 1, "")]);
    assert_eq!(
        sheet.findings[0].message,
        "the file has 50 MB, and no more than 5 MB are read"
    );
    assert!(sheet.document.events.is_empty());
    assert!(begun.elapsed() < Duration::from_secs(5));
}

/// Text made to break a parser, or whoever follows its offsets.
fn nasty() -> Vec<String> {
    let mut all: Vec<String> = [
        "",
        "\0",
        "\u{feff}",
        "\r",
        "\r\n\r\n",
        "[",
        "![",
        "[]()",
        "[](",
        "[]:",
        "<>",
        "<figure:>",
        "[x]: <",
        "[x]:\n",
        "[\\]: x]: y\n\n[\\]: x]",
        "`",
        "[`](figure:a)`",
        "[`` ` ``](figure:a)",
        "![![![a](b)](c)](d)",
        "[![](a.png)](figure:x)",
        "[a](<b\nc>)",
        "[a](b\\",
        "&nbsp;5&micro;V&#0;&#x1F600;",
        "5\u{a0}V\u{2009}Ω𝄞漢[5 V](figure:漢)",
        "5 V\u{301} 5\u{200d}V ½ V ٣ V",
        "| a |\n|-|\n| [5 \\| V](figure:x) | 5 V",
        "[^a]: [^a]\n\n[^a] [^A] ![^a]",
        "a\0b [\0](figure:\0)",
        "- \n  > \n    # \n",
        "<!--",
        "<![CDATA[",
        "<?",
        "# \\#\n#\n###### #######",
        "***a** b*",
        "\t[5 V](figure:x)",
        "[a]( figure:x\t)",
        "] (figure:x",
        "](figure:漢字",
        "5 V-+−±5 V",
        "°5°C",
        "5 ((((((((((((((((((((((((((",
        "5 W/(漢漢漢漢漢漢漢漢漢漢",
        "~~5~~ V",
        "[a\r\nb](figure:x)\r\n",
    ]
    .iter()
    .map(|text| (*text).to_owned())
    .collect();
    // Every way of cutting a text that holds a bit of everything.
    let mixed = "# T 𝄞\r\n\r\n> - **[5&nbsp;`V`][r]** ![ä](<b c> 'd') <b> 7 mΩ/K[^n]\r\n\r\n| ° |\n|:-:|\n| [a](figure:x%20y) \\| ~~5~~ V |\n\n[r]: <figure:Ω> (t)\n[^n]: 5 µ";
    for (cut, _) in mixed.char_indices() {
        all.push(mixed[..cut].to_owned());
        all.push(mixed[cut..].to_owned());
        all.push(mixed[..cut].replace('\n', ""));
    }
    all
}

/// Every place there is lies in the text, on the bounds of letters.
fn check_places(text: &str) {
    let sheet = sheet(text);
    let check = |place: &Place, what: &str| {
        assert!(
            place.start <= place.end && text.get(place.span()).is_some(),
            "{what} at {place:?} in {text:?}"
        );
    };
    for finding in &sheet.findings {
        assert!(!finding.labels.is_empty(), "{finding:?}");
        for label in &finding.labels {
            check(&label.place, finding.slug.name());
        }
        if let Some(mend) = &finding.mend {
            check(&mend.place, "mend");
        }
    }
    for (event, range) in &sheet.document.events {
        assert!(text.get(range.clone()).is_some(), "{event:?}");
    }
    for link in &sheet.document.links {
        check(&link.place, "link");
        check(&link.text_place, "text");
        check(&link.destination_place, "address");
        assert!(!link.literal || sheet.at(&link.text_place) == link.text);
    }
    for heading in &sheet.document.headings {
        check(&heading.place, "heading");
    }
    for quantity in &sheet.document.loose {
        check(&quantity.place, "quantity");
        assert!(quantity.value.is_finite());
    }
    for without_title in [false, true] {
        let options = html::Options {
            without_title,
            prefix: "\"<p>-".into(),
        };
        for replacement in [
            html::Replacement::Text,
            html::Replacement::Html("<hr>".into()),
            html::Replacement::Keep { href: "#x".into() },
        ] {
            let html = html::render(&sheet.document, &options, &mut |_| replacement.clone());
            assert!(!html.contains('\0') && !html.contains("style="), "{html}");
        }
    }
}

#[test]
fn nothing_panics_and_every_place_lies_in_the_text() {
    for text in nasty() {
        check_places(&text);
    }
}

#[test]
fn deep_nesting_and_long_rows_end_quickly() {
    let begun = Instant::now();
    for piece in [
        ">",
        "[",
        "![",
        "](figure:a",
        "[^",
        "*",
        "`",
        "<",
        "(",
        "- ",
        "[a](",
        "[a][",
        "~~",
        "|",
        "<b>",
        "5 V ",
        "5 ",
        "1 111 ",
        "&",
        "\\",
        "# \n",
        "![a",
        "[r]\n\n",
        "]",
        "<!-- ",
        "°",
        "-5 V",
    ] {
        let t = Instant::now();
        check_places(&piece.repeat(100_000));
        eprintln!("{piece:?} {:?}", t.elapsed());
    }
    let images = format!("{}a{}", "![".repeat(50_000), "](b.png)".repeat(50_000));
    check_places(&images);
    let quotes = format!("{}[^n]\n\n[^n]: a\n", "> ".repeat(50_000));
    check_places(&quotes);
    assert!(
        begun.elapsed() < Duration::from_secs(120),
        "{:?}",
        begun.elapsed()
    );
}
#[test]
#[ignore]
fn scaling() {
    for piece in [
        "[a](",
        "](figure:",
        "](figure:a)",
        "[^a",
        "5 V +",
        "[a](figure:x)",
        "5 W/(",
        "&amp;",
        "[](<",
        "![](",
        "[a]: b\n\n[a]\n\n",
        "| a | b |\n",
        "\\[",
        "<a",
        "<a href=\"",
        "<!",
        "[a](b \"",
        "a[^n] ",
        "1.",
        "1,",
        "5(",
        "$5",
        "+",
        "5 kV/",
        "12:",
    ] {
        let mut all = format!("{piece:?}");
        for n in [20_000, 40_000, 80_000] {
            let text = format!("| a |\n|-|\n{}a\n\n[^n]: x\n", piece.repeat(n));
            let t = Instant::now();
            let c = pulldown_cmark::Parser::new(&text).count();
            let p = t.elapsed();
            let t = Instant::now();
            let s = sheet(&text);
            let a = t.elapsed();
            let h = html::render(&s.document, &Default::default(), &mut |_| {
                html::Replacement::Html("x".into())
            })
            .len();
            all += &format!(
                "  | {:?} {:?} {:?} {c} {h} {}",
                p.as_millis(),
                a.as_millis(),
                (t.elapsed() - a).as_millis(),
                s.findings.len()
            );
        }
        println!("{all}");
    }
}
