//! Drawings that are compared letter by letter with ones that were looked at.
//!
//! These are regression tests: they say that a drawing has changed, not that
//! it is wrong. Look at the new one in a browser, by day and by night, then
//! run the tests with `RENEW_DRAWINGS=1` and commit what has changed.

#![allow(clippy::unwrap_used)] // A test that panics is a test that fails.

use std::path::Path;
use std::{env, fs};

use super::*;

fn compare(name: &str, svg: &str) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/draw/golden");
    let path = folder.join(name);
    // A line for each element, so that a difference can be read.
    let svg = svg.replace("><", ">\n<") + "\n";
    if env::var_os("RENEW_DRAWINGS").is_some() {
        fs::write(&path, &svg).unwrap();
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    let same = kept
        .lines()
        .zip(svg.lines())
        .take_while(|(old, new)| old == new);
    assert!(
        kept == svg,
        "{name} has changed from line {}; the head of this file says what to do",
        same.count() + 1
    );
}

fn caption(title: &str, description: &str) -> Caption {
    Caption {
        id: "golden".to_owned(),
        title: title.to_owned(),
        description: description.to_owned(),
    }
}

fn circuit(elements: Vec<Element>, labels: &[(&str, &str)]) -> Drawing {
    let label = |(node, value): &(&str, &str)| NodeLabel::new(*node, *value);
    Drawing {
        elements,
        ground: "gnd".to_owned(),
        labels: labels.iter().map(label).collect(),
    }
}

#[test]
fn a_loaded_divider() {
    let drawing = circuit(
        vec![
            Element::new("V1", Symbol::VoltageSource, ["in", "gnd"], "5 V"),
            Element::new("R1", Symbol::Resistor, ["in", "out"], "10 kΩ"),
            Element::new("R2", Symbol::Resistor, ["out", "gnd"], "15 kΩ"),
            Element::new("R3", Symbol::Resistor, ["out", "gnd"], "100 kΩ"),
        ],
        &[("in", "5 V"), ("out", "2.83 V"), ("gnd", "")],
    );
    let caption = caption("Loaded divider", "R1 above R2, loaded with R3.");
    compare("loaded_divider.svg", &schematic(&drawing, &caption).svg);
}

#[test]
fn an_inverting_stage() {
    let mut drawing = circuit(
        vec![
            Element::new("V1", Symbol::VoltageSource, ["in", "gnd"], "0.1 V"),
            Element::new("R1", Symbol::Resistor, ["in", "inv"], "10 kΩ"),
            Element::new("R2", Symbol::Resistor, ["inv", "out"], "100 kΩ"),
            Element::new("U1", Symbol::Amplifier, ["gnd", "inv", "out"], "ideal"),
        ],
        &[
            ("in", "0.1 V"),
            ("inv", "0 V"),
            ("out", "−1 V"),
            ("gnd", ""),
        ],
    );
    drawing.elements[1].href = Some("calculation.html#R1".to_owned());
    drawing.labels[2].amiss = true;
    let caption = caption("Amplifier", "An inverting stage with a gain of −10.");
    compare("inverting_stage.svg", &schematic(&drawing, &caption).svg);
}

#[test]
fn a_distribution() {
    let counts = [2, 9, 24, 30, 24, 9, 2];
    let bins = counts.iter().zip(0..).map(|(count, step)| {
        let from = 3.265 + 0.01 * f64::from(step);
        Bin {
            from,
            to: from + 0.01,
            count: *count,
        }
    });
    let plot = Distribution {
        caption: caption(
            "Output voltage",
            "A hundred boards against the requirement.",
        ),
        name: "Output voltage".to_owned(),
        unit: "V".to_owned(),
        counted: "Trials",
        bins: bins.collect(),
        nominal: Some((3.3, "nominal 3.3 V".to_owned())),
        intervals: vec![Interval {
            label: "worst case 3.26 V to 3.34 V".to_owned(),
            low: 3.26,
            high: 3.34,
        }],
        requirement: Some(Requirement {
            label: "must be at most 3.32 V".to_owned(),
            low: None,
            high: Some(3.32),
        }),
    };
    compare("distribution.svg", &plot.plot().unwrap().svg);
}
