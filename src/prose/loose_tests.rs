//! Which quantities in running text are found loose.

use super::*;
use crate::finding::Sources;
use crate::quantity::Dimension;

/// The quantities of a sheet that is this text.
fn loose(text: &str) -> Vec<LooseQuantity> {
    let mut sources = Sources::default();
    let file = sources.add("front.md", text.to_owned());
    let (document, _) = crate::prose::read(file, text);
    for quantity in &document.loose {
        assert!(!sources.text_at(&quantity.place).is_empty(), "{text:?}");
    }
    document.loose
}

fn texts(text: &str) -> Vec<String> {
    loose(text).into_iter().map(|q| q.text).collect()
}

#[test]
fn a_number_with_a_unit_is_a_quantity() {
    let found = loose("It draws 196 mA.");
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].text, "196 mA");
    assert_eq!(found[0].place.span(), 9..15);
    assert_eq!(found[0].value, 0.196);
    assert_eq!(found[0].dimension, Dimension::CURRENT);
    assert_eq!(found[0].unit.symbol(), "mA");
    assert_eq!(found[0].decimal.to_string(), "196");
}

#[test]
fn quantities_are_found_however_they_are_written() {
    for (text, expected) in [
        ("between 3.3V and 5\u{a0}V", vec!["3.3V", "5\u{a0}V"]),
        ("about 1 000 Hz", vec!["1 000 Hz"]),
        ("-40 °C to 85 °C", vec!["-40 °C", "85 °C"]),
        ("a gain of −3 dB", vec!["−3 dB"]),
        ("60 K/W (junction to air)", vec!["60 K/W"]),
        ("0.3 W/(m K) of FR-4", vec!["0.3 W/(m K)"]),
        ("(5 V)", vec!["5 V"]),
        ("5 V, 3.3 V; 12 V.", vec!["5 V", "3.3 V", "12 V"]),
        ("I=5 mA", vec!["5 mA"]),
        ("a 12-bit converter", vec!["12-bit"]),
        ("the 3.3-V rail", vec!["3.3-V"]),
        ("6 V-tolerant", vec!["6 V"]),
        ("5-10 V", vec!["10 V"]),
        ("2 V-5 V", vec!["2 V", "5 V"]),
        ("2 V–5 V", vec!["2 V", "5 V"]),
        ("10 × 20 mm", vec!["20 mm"]),
        ("94 dB SPL at 1 m", vec!["94 dB SPL", "1 m"]),
        (
            "for 3 hours, 200 milliamps",
            vec!["3 hours", "200 milliamps"],
        ),
        ("1013 hPa", vec!["1013 hPa"]),
        ("no wider than 2 in.", vec!["2 in"]),
        ("2.2 uF, 2.2 µF, 2.2 μF", vec!["2.2 uF", "2.2 µF", "2.2 μF"]),
        ("loses 5 % a year", vec!["5 %"]),
        ("R1 100 Ω", vec!["100 Ω"]),
        ("There is no 5 V rail", vec!["5 V"]),
        (
            "had 4k7, 10k or 2R2 (and 1n5)",
            vec!["4k7", "10k", "2R2", "1n5"],
        ),
    ] {
        assert_eq!(texts(text), expected, "{text:?}");
    }
}

#[test]
fn numbers_that_are_no_quantities_are_left_alone() {
    for text in [
        "in 2026",
        "in the 1990s, tens and 10s of volts",
        "on 2026-03-12 at 10:30",
        "version 1.2.3, v1.2, revision 2 A",
        "R1, U3, GPIO4, BAT-3 V",
        "Figure 2 A, fig. 3 V, No. 5 V, Table 4 m",
        "1 a day, 2 in the box, 3 at once, 4 as well",
        "at 5 pm, 7 am",
        "the 1st, 2nd and 3rd of 4 boards",
        "3 boards, 2 PV panels, 5 TV sets",
        "charged at 1C or 0.5 C",
        "a 2S pack, a 10K ambient, a 3d model",
        "1.2.3 V, 1/2 V, 4,7 kΩ, $5 m, 10^3 V",
        "±5 %, ± 0.1 V, +/- 2 mA",
        "5 Vrms, 3 volted, 7 mAx",
        "5 V/div",
        "0x1F",
        "25 ° C",
        "sheet 3-A",
        "R4k7, v1k2, 4x7, 5G, 4k7k, 10k.5",
    ] {
        assert_eq!(texts(text), Vec::<String>::new(), "{text:?}");
    }
}

#[test]
fn a_value_code_is_read_with_its_unit() {
    let found = loose("The prototype had 4k7.");
    assert_eq!(found[0].value, 4700.0);
    assert_eq!(found[0].unit.symbol(), "kΩ");
    assert_eq!(found[0].decimal.to_string(), "4.7");
    assert_eq!(found[0].dimension, Dimension::RESISTANCE);
}

#[test]
fn a_tolerance_belongs_to_its_quantity() {
    assert_eq!(texts("3.3 V +0.1 V -0.05 V"), ["3.3 V"]);
    assert_eq!(texts("196 mA ± 5 mA"), ["196 mA"]);
}

#[test]
fn links_code_headings_and_struck_out_text_are_not_searched() {
    let text = "# A 5 V supply\n\n[196 mA](figure:x) and `5 V` and ~~6 V~~ and 7 V\n\n    8 V\n";
    assert_eq!(texts(text), ["7 V"]);
}

#[test]
fn emphasis_entities_and_line_ends_do_not_part_number_and_unit() {
    let source = "**196** mA, 5&nbsp;V and 12\n> kΩ";
    let quoted = format!("> {source}");
    let found = loose(&quoted);
    let at: Vec<&str> = found.iter().map(|q| &quoted[q.place.span()]).collect();
    assert_eq!(at, ["196** mA", "5&nbsp;V", "12\n> kΩ"]);
    assert_eq!(found[2].text, "12 kΩ");
    assert_eq!(found[2].value, 12_000.0);
}

#[test]
fn code_and_links_part_number_and_unit() {
    assert_eq!(texts("5`x` V and 5 [V](b.md)"), Vec::<String>::new());
}

#[test]
fn long_rows_of_numbers_take_time_proportional_to_their_length() {
    let groups = "111 ".repeat(200_000);
    assert_eq!(texts(&groups), Vec::<String>::new());
    let many = "5 V ".repeat(100_000);
    assert_eq!(texts(&many).len(), 100_000);
}
