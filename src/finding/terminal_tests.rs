//! What the reports look like. The expected drawings were read by eye; whoever
//! changes them does the same.

#![allow(clippy::unwrap_used)]

use super::*;
use crate::finding::{FigureCount, Slug};

/// The place of the first occurrence of some text.
fn place(sources: &Sources, file: FileId, text: &str) -> Place {
    let start = sources.file(file).text.find(text).unwrap();
    Place::new(file, start..start + text.len())
}

/// A stale number in a paragraph of some 400 characters, and the two records
/// that tell another.
fn stale_number() -> (Sources, Finding) {
    let board = "\
[board]
title = \"Solar cell charger\"

[fitted]
R1 = \"res_5k1\"

[figure.charge_slow]
means = \"Charge current, both switch poles off\"
from  = \"set_constant / R1\"
";
    let sheet = format!(
        "# Solar cell charger\n\n{}With both poles off it charges at \
         [201 mA](figure:charge_slow), {}\n",
        "It takes a panel of six volts and leaves it at that. ".repeat(4),
        "which a small cell bears for as long as the sun shines. "
            .repeat(3)
            .trim_end(),
    );
    let mut sources = Sources::default();
    let board = sources.add("boards/cell_charger/board.toml", board.to_owned());
    let sheet = sources.add("boards/cell_charger/front.md", sheet);
    let at = |file, text| place(&sources, file, text);
    let finding = Finding::new(
        Slug::FigureDisagrees,
        "`charge_slow` is stated as 201 mA, but the fitted parts give 196 mA",
    )
    .at(at(sheet, "201 mA"), "stated here")
    .at(at(board, "set_constant / R1"), "computed here")
    .at(at(board, "res_5k1"), "5.1 kΩ")
    .note("1000 V / 5.1 kΩ = 196 mA, which is 2.5 % below what is stated; the last digit allows 0.25 %")
    .help("state what is computed")
    .mend(at(sheet, "201 mA"), "196 mA");
    (sources, finding)
}

#[test]
fn one_report_shows_markdown_toml_note_and_mend() {
    let (sources, finding) = stale_number();
    let expected = "\
error[figure-disagrees]: `charge_slow` is stated as 201 mA, but the fitted parts
                         give 196 mA
 --> boards/cell_charger/front.md:3:248
  |
3 | ... poles off it charges at [201 mA](figure:charge_slow), which a small c...
  |                              ^^^^^^ stated here
  |
 ::: boards/cell_charger/board.toml:9:10
  |
5 | R1 = \"res_5k1\"
  |       ------- 5.1 kΩ
...
9 | from  = \"set_constant / R1\"
  |          ----------------- computed here
  |
  = note: 1000 V / 5.1 kΩ = 196 mA, which is 2.5 % below what is stated; the
          last digit allows 0.25 %
help: state what is computed
  |
3 - ... both poles off it charges at [201 mA](figure:charge_slow), which a sm...
3 + ... both poles off it charges at [196 mA](figure:charge_slow), which a sm...
  |

";
    let drawn = draw(&[finding], &sources, &TerminalStyle::default());
    assert_eq!(drawn, expected, "\n{drawn}");
}

#[test]
fn the_same_report_in_unicode_and_narrower() {
    let (sources, finding) = stale_number();
    let style = TerminalStyle {
        unicode: true,
        width: 60,
        folder: "content".into(),
        ..TerminalStyle::default()
    };
    let expected = "\
error[figure-disagrees]: `charge_slow` is stated as 201 mA,
                         but the fitted parts give 196 mA
  ╭▸ content/boards/cell_charger/front.md:3:248
  │
3 │ …ff it charges at [201 mA](figure:charge_slow), which a…
  │                    ━━━━━━ stated here
  │
  ⸬  content/boards/cell_charger/board.toml:9:10
  │
5 │ R1 = \"res_5k1\"
  │       ─────── 5.1 kΩ
  ┆
9 │ from  = \"set_constant / R1\"
  │          ───────────────── computed here
  │
  ╰ note: 1000 V / 5.1 kΩ = 196 mA, which is 2.5 % below
          what is stated; the last digit allows 0.25 %
help: state what is computed
  ╭╴
3 - …les off it charges at [201 mA](figure:charge_slow), wh…
3 + …les off it charges at [196 mA](figure:charge_slow), wh…
  ╰╴

";
    let drawn = draw(&[finding], &sources, &style);
    assert_eq!(drawn, expected, "\n{drawn}");
}

#[test]
fn colour_adds_escape_sequences_and_nothing_else() {
    let (sources, finding) = stale_number();
    let plain = TerminalStyle::default();
    let coloured = TerminalStyle {
        colour: true,
        ..plain.clone()
    };
    let findings = [finding];
    let drawn = draw(&findings, &sources, &coloured);
    assert!(drawn.contains("\u{1b}["));
    let stripped = anstream::adapter::strip_str(&drawn).to_string();
    assert_eq!(stripped, draw(&findings, &sources, &plain));
}

#[test]
fn a_finding_without_a_place_is_a_message() {
    let finding = Finding::new(Slug::MissingRecord, "`notebook.toml` is not there")
        .help("`ohmbook start` lays out a notebook that has one");
    let expected = "\
error[missing-record]: `notebook.toml` is not there
 |
 = help: `ohmbook start` lays out a notebook that has one

";
    let drawn = draw(&[finding], &Sources::default(), &TerminalStyle::default());
    assert_eq!(drawn, expected, "\n{drawn}");
}

#[test]
fn a_caution_is_called_a_caution_and_marks_what_spans_lines() {
    let mut sources = Sources::default();
    let text = "Intro.\r\n\r\n<div>\r\nLoud!\r\n</div>\r\n\r\nEnd.\r\n";
    let sheet = sources.add("front.md", text.to_owned());
    let finding = Finding::new(Slug::RawHtml, "HTML is shown as text").at(
        place(&sources, sheet, "<div>\r\nLoud!\r\n</div>\r\n"),
        "from here to here",
    );
    let expected = "\
caution[raw-html]: HTML is shown as text
 --> front.md:3:1
  |
3 | / <div>
4 | | Loud!
5 | | </div>
  | |______^ from here to here

";
    let drawn = draw(&[finding], &sources, &TerminalStyle::default());
    assert_eq!(drawn, expected, "\n{drawn}");
}

#[test]
fn places_that_are_far_apart_are_shown_apart() {
    let mut sources = Sources::default();
    let text = format!("first = 1\n{}last = 1\n", "\n".repeat(300));
    let file = sources.add("board.toml", text);
    let finding = Finding::new(Slug::DuplicateId, "`x` twice")
        .at(place(&sources, file, "last"), "again here")
        .at(place(&sources, file, "first"), "here first");
    let expected = "\
error[duplicate-id]: `x` twice
   --> board.toml:302:1
    |
302 | last = 1
    | ^^^^ again here
    |
   ::: board.toml:1:1
    |
  1 | first = 1
    | ----- here first

";
    let drawn = draw(&[finding], &sources, &TerminalStyle::default());
    assert_eq!(drawn, expected, "\n{drawn}");
}

#[test]
fn a_mend_in_another_file_names_it_and_may_only_take_away() {
    let mut sources = Sources::default();
    let sheet = sources.add("front.md", "Too hot.\n".to_owned());
    let board = sources.add("board.toml", "a = 1\nhot = true\n".to_owned());
    let finding = Finding::new(Slug::CautionWithoutCause, "nothing here gets hot")
        .at(place(&sources, sheet, "hot"), "said here")
        .mend(place(&sources, board, "hot = true"), "");
    let expected = "\
error[caution-without-cause]: nothing here gets hot
 --> front.md:1:5
  |
1 | Too hot.
  |     ^^^ said here
  |
help: leave this out
 --> board.toml:2:1
  |
2 - hot = true
  |

";
    let drawn = draw(&[finding], &sources, &TerminalStyle::default());
    assert_eq!(drawn, expected, "\n{drawn}");
}

#[test]
fn notes_are_drawn_when_asked_for_and_always_counted() {
    let sources = Sources::default();
    let findings = [Finding::new(Slug::LooseQuantity, "5 V hangs on nothing")];
    let summary = Summary::of(&findings, Some(FigureCount { hold: 31, of: 31 }));

    let quiet = TerminalStyle::default();
    assert_eq!(draw(&findings, &sources, &quiet), "");
    assert_eq!(
        draw_summary(&summary, &quiet),
        "1 note (not shown): all 31 figures hold\n"
    );

    let telling = TerminalStyle {
        notes: true,
        ..quiet
    };
    assert_eq!(
        draw(&findings, &sources, &telling),
        "note[loose-quantity]: 5 V hangs on nothing\n\n"
    );
    assert_eq!(
        draw_summary(&summary, &telling),
        "1 note: all 31 figures hold\n"
    );
}

#[test]
fn text_of_the_notebook_cannot_write_to_the_terminal() {
    let nasty = "\u{1b}]0;title\u{7}\u{9b}2J\u{202e}\u{fdd0}0\u{fdd0}\r\u{8}";
    let mut sources = Sources::default();
    let file = sources.add(format!("{nasty}.md"), format!("# {nasty} hot\n"));
    let finding = Finding::new(Slug::UnknownName, nasty)
        .at(place(&sources, file, "hot"), nasty)
        .note(nasty)
        .help(nasty)
        .mend(place(&sources, file, "hot"), nasty);
    let drawn = draw(&[finding], &sources, &TerminalStyle::default());
    assert!(
        drawn.contains("␛]0;title␇"),
        "the text is still there to be read"
    );
    let acted_upon = |c: &char| *c != '\n' && (c.is_control() || *c == '\u{202e}');
    assert_eq!(drawn.chars().find(acted_upon), None, "{drawn:?}");
    assert!(drawn.contains(".md:1:23\n"), "{drawn}");
}

#[test]
fn five_megabytes_on_one_line_are_cut_to_the_place() {
    let text = format!("{}5 V{}", "µ x ".repeat(600_000), "y Ω ".repeat(600_000));
    let mut sources = Sources::default();
    let file = sources.add("long.md", text);
    let at = place(&sources, file, "5 V");
    let whole = Place::new(file, 0..sources.file(file).text.len());
    let finding = Finding::new(Slug::UnknownUnit, "`V`")
        .at(at.clone(), "here")
        .at(whole.clone(), "all of it")
        .mend(whole, "5 V");
    let began = std::time::Instant::now();
    let drawn = draw(&vec![finding; 20], &sources, &TerminalStyle::default());
    // A whole pass through the library takes seconds for each of these.
    assert!(began.elapsed().as_secs_f64() < 5.0, "{:?}", began.elapsed());
    assert!(drawn.len() < 20 * 1000, "{} bytes", drawn.len());
    assert!(
        drawn.contains(" --> long.md:1:2400001\n"),
        "{}",
        &drawn[..600]
    );
    assert!(drawn.contains(" µ x 5 Vy Ω y "), "{}", &drawn[..600]);
}

#[test]
fn what_a_long_mend_replaces_is_not_listed_line_by_line() {
    let mut sources = Sources::default();
    let file = sources.add("front.md", "old\n".repeat(500));
    let finding = Finding::new(Slug::BadValue, "stale table")
        .at(Place::new(file, 0..3), "from here on")
        .mend(Place::new(file, 0..2000), "new\ntable");
    let expected = "\
error[bad-value]: stale table
   --> front.md:1:1
    |
  1 | old
    | ^^^ from here on
    |
help: write instead
    |
  1 | / old
  2 | | old
  3 | | old
  4 | | old
...   |
499 | | old
500 | | old
    | |___^ in the place of this
    |
    = new
      table

";
    let drawn = draw(&[finding], &sources, &TerminalStyle::default());
    assert_eq!(drawn, expected, "\n{drawn}");
}

/// Places that fit nothing, and text of every width: no panic, and no line that
/// is wider than the terminal unless a label, a word or a mend is.
#[test]
fn whatever_the_place_the_report_is_drawn_and_fits() {
    let pieces = [
        "word ", "µ", "電", "\t", "\n", "\r\n", "e\u{301}", "\u{1b}", "\r", "   ", "🐢", "{",
    ];
    let mut seed = 1_u64;
    let mut random = move |below: usize| {
        // Knuth's multiplier; the upper bits are random enough for a test.
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (seed >> 33) as usize % below
    };
    for round in 0..1000 {
        let mut sources = Sources::default();
        let length = random(300);
        let text: String = (0..length).map(|_| pieces[random(pieces.len())]).collect();
        let bytes = text.len();
        let files = [
            sources.add("a.md", text),
            sources.add("b.toml", "x = 1".to_owned()),
        ];
        let mut somewhere = || {
            let start = random(bytes + 3);
            Place::new(
                files[usize::from(random(5) == 0)],
                start..start + random(60) * random(9),
            )
        };
        let mut finding = Finding::new(Slug::BadValue, "m");
        for _ in 0..round % 4 {
            finding = finding.at(somewhere(), "");
        }
        if round % 3 > 0 {
            finding = finding.mend(somewhere(), ["", "new", "two\nlines"][round % 3]);
        }
        for (width, unicode) in [(30, false), (80, true), (usize::MAX, true)] {
            let style = TerminalStyle {
                width,
                unicode,
                ..TerminalStyle::default()
            };
            let drawn = draw(std::slice::from_ref(&finding), &sources, &style);
            let over_lines = finding.mend.as_ref().is_some_and(|mend| {
                let file = sources.file(mend.place.file);
                let (first, last) = lines_of(file, &tidy(file, &mend.place.span()));
                first < last
            });
            if over_lines {
                // Beginning and end of two lines are joined in one.
                continue;
            }
            let widest = drawn.lines().map(super::width).max().unwrap_or(0);
            assert!(
                widest <= width,
                "{widest} > {width} in round {round}\n{drawn}"
            );
            assert!(!drawn.contains(HOLD));
        }
    }
}
