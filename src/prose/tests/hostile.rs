//! Inputs made to break the reader, the page, or whoever follows an offset.

use std::time::{Duration, Instant};

use super::sheet;
use crate::finding::{Place, Slug, Sources};
use crate::prose::{Address, LARGEST_BYTES, html, markup, read};

#[test]
fn a_file_of_fifty_megabytes_is_refused_unread() {
    let text = "[5 V](figure:a) ".repeat(50_000_000 / 16);
    let file = Sources::default().add("front.md", String::new());
    let begun = Instant::now();
    let (document, findings) = read(file, &text);
    // Only the length is looked at, which takes microseconds.
    assert!(begun.elapsed() < Duration::from_secs(1));
    assert!(document.events.is_empty());
    assert_eq!(findings.len(), 1);
    assert_eq!(findings[0].slug, Slug::TooLarge);
    assert_eq!(
        findings[0].message,
        "the file has 50 MB, and no more than 5 MB are read"
    );
}

#[test]
fn a_file_just_small_enough_is_read() {
    let text = "x".repeat(LARGEST_BYTES);
    assert_eq!(sheet(&text).document.events.len(), 3);
    let text = "x".repeat(LARGEST_BYTES + 1);
    assert_eq!(sheet(&text).document.events.len(), 0);
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
            without_comments: false,
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

/// Elements and attributes that a sheet may put on a page.
const ELEMENTS: &str = "html p h1 h2 h3 h4 h5 h6 em strong del code pre blockquote ul ol li \
    table thead tbody tr th td a img sup section div hr br";
const ATTRIBUTES: &str =
    "href src alt title id class role aria-label tabindex scope rel value start loading";

#[test]
fn whatever_a_sheet_holds_its_page_carries_nothing_but_prose() {
    let hostile = [
        "<script>alert(1)</script>",
        "a <img src=x onerror=alert(1)> <style>p{}</style>",
        "[a](javascript:alert(1)) ![a](data:image/svg+xml,x) <javascript:alert(1)>",
        "[a](https://example.org/\"onclick=\"x \"t\"onclick=\"x\")",
        "![\"onerror=\"x](a.png 'b\"onerror=\"x')",
        "[a](&#106;avascript:x) [a](<java&#10;script:x>) [a](//example.org)",
        "# \" onclick=\"x\n\n| a |\n|:-:|\n| <b> |\n\n```\"onclick=\"x\na\n```",
    ];
    for text in nasty().iter().map(String::as_str).chain(hostile) {
        let document = sheet(text).document;
        let options = html::Options {
            without_title: false,
            without_comments: false,
            prefix: "\"><script>".into(),
        };
        let html = html::render(&document, &options, &mut |link| match &link.kind {
            Address::Outside(href) => html::Replacement::Keep { href: href.clone() },
            Address::Path { path, .. } => html::Replacement::Keep { href: path.clone() },
            _ => html::Replacement::Text,
        });
        let page = scraper::Html::parse_fragment(&html);
        for node in page.root_element().descendent_elements() {
            let name = node.value().name();
            assert!(
                ELEMENTS.split(' ').any(|known| known == name),
                "{name} in {html}"
            );
            for (attribute, value) in node.value().attrs() {
                assert!(
                    ATTRIBUTES.split(' ').any(|known| known == attribute),
                    "{attribute} in {html}"
                );
                let address = matches!(attribute, "href" | "src");
                assert!(!address || markup::is_safe(value), "{value} in {html}");
            }
        }
    }
}

#[test]
fn deep_nesting_and_long_rows_end_quickly() {
    let begun = Instant::now();
    for piece in [">", "[", "![", "- a\n", "> - "] {
        check_places(&format!("{}a", piece.repeat(100_000)));
    }
    for piece in [
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
        "5 W/(",
    ] {
        check_places(&piece.repeat(10_000));
    }
    let images = format!("{}a{}", "![".repeat(50_000), "](b.png)".repeat(50_000));
    check_places(&images);
    let quotes = format!("{}[^n]\n\n[^n]: a\n", "> ".repeat(50_000));
    check_places(&quotes);
    // Some ten seconds are usual; a step whose time grows with the square of
    // the size would need hours.
    assert!(begun.elapsed() < Duration::from_secs(300));
}
