//! Contrast of text and of lines, by day and by night.
//!
//! Source of the formulas and the limits: Web Content Accessibility Guidelines
//! (WCAG) 2.2, definitions of relative luminance and contrast ratio, and
//! success criteria 1.4.3 (4.5:1 for text) and 1.4.11 (3:1 for what is drawn).

use std::collections::BTreeMap;

const STYLE: &str = include_str!("../../themes/drawing/drawing.css");

/// The colours of one rule, by name.
fn colours(rule: &str) -> BTreeMap<&str, [f64; 3]> {
    let mut colours = BTreeMap::new();
    for line in rule.split(';') {
        let Some((name, value)) = line.split_once(':') else {
            continue;
        };
        let name = name.rsplit("--").next().unwrap_or("").trim();
        let Some(hex) = value.trim().strip_prefix('#') else {
            continue;
        };
        let double: String = match hex.len() {
            3 => hex.chars().flat_map(|digit| [digit, digit]).collect(),
            _ => hex.to_owned(),
        };
        let part = |at: usize| u8::from_str_radix(&double[at..at + 2], 16).map(f64::from);
        if let (Ok(red), Ok(green), Ok(blue)) = (part(0), part(2), part(4)) {
            colours.insert(name, [red / 255.0, green / 255.0, blue / 255.0]);
        }
    }
    colours
}

fn luminance(colour: [f64; 3]) -> f64 {
    let linear = colour.map(|part| {
        if part <= 0.04045 {
            part / 12.92
        } else {
            ((part + 0.055) / 1.055).powf(2.4)
        }
    });
    0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
}

fn contrast(a: [f64; 3], b: [f64; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// The rule that follows a selector.
fn rule<'s>(before: &str, style: &'s str) -> &'s str {
    let from = style.find(before).expect("the rule is there") + before.len();
    let until = style[from..].find('}').expect("the rule ends");
    &style[from..from + until]
}

fn check(colours: &BTreeMap<&str, [f64; 3]>, what: &str) {
    for text in ["ink", "soft", "blue", "red"] {
        for ground in ["paper", "squares"] {
            let ratio = contrast(colours[text], colours[ground]);
            assert!(ratio >= 4.5, "{what}: {text} on {ground} is {ratio:.2}:1");
        }
    }
    for (line, ground) in [
        ("line", "paper"),
        ("line", "desk"),
        ("ink", "band"),
        ("red", "band"),
        ("fine", "paper"),
    ] {
        let ratio = contrast(colours[line], colours[ground]);
        assert!(ratio >= 3.0, "{what}: {line} on {ground} is {ratio:.2}:1");
    }
}

/// Check of the formula itself: black on white is 21:1, by the definition.
#[test]
fn black_on_white_has_the_greatest_contrast() {
    assert!((contrast([0.0; 3], [1.0; 3]) - 21.0).abs() < 1e-9);
}

#[test]
fn everything_can_be_read_by_day_by_night_and_on_paper() {
    check(&colours(rule(":root {", STYLE)), "by day");
    let night = &STYLE[STYLE
        .find("prefers-color-scheme: dark")
        .expect("there is a night")..];
    check(&colours(rule(":root {", night)), "by night");
    let print = &STYLE[STYLE.find("@media print").expect("there is print")..];
    check(&colours(rule(":root {", print)), "on paper");
}

#[test]
fn signal_words_can_be_read() {
    for signal in ["danger", "warning", "caution", "notice"] {
        let colours = colours(rule(&format!(".sign-{signal} {{"), STYLE));
        let ratio = contrast(colours["signal"], colours["on-signal"]);
        assert!(ratio >= 4.5, "{signal} is {ratio:.2}:1");
    }
}
