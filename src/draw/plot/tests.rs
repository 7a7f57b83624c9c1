//! What must be true of every plot: well-formed, no text on another, nothing
//! outside of the sheet; and the numbers behind it.

#![allow(clippy::unwrap_used)] // A test that panics is a test that fails.

use super::canvas::{Anchor, Frame, lettering};
use super::*;
use crate::draw::caption::Caption;

fn caption() -> Caption {
    Caption {
        id: "p".to_owned(),
        title: "A plot <&>".to_owned(),
        description: "Drawn for a test".to_owned(),
    }
}

/// Holds a plot to everything that is asked of any; gives its texts.
fn hold(name: &str, plot: &Plot) -> Vec<String> {
    let tree = roxmltree::Document::parse(&plot.svg).unwrap_or_else(|e| panic!("{name}: {e}"));
    let mut ids = Vec::new();
    let mut texts: Vec<(Frame, String)> = Vec::new();
    let svg = tree.root_element();
    let number =
        |node: roxmltree::Node, key: &str| -> f64 { node.attribute(key).unwrap().parse().unwrap() };
    let sheet = Frame::new(0.0, 0.0, number(svg, "width"), number(svg, "height"));
    for node in tree.descendants().filter(roxmltree::Node::is_element) {
        if let Some(id) = node.attribute("id") {
            assert!(
                id.starts_with("p-") && !ids.contains(&id),
                "{name}: id {id}"
            );
            ids.push(id);
        }
        assert_eq!(node.attribute("style"), None, "{name}: style");
        for attribute in ["fill", "stroke"] {
            let colour = node.attribute(attribute).unwrap_or("none");
            assert!(
                matches!(colour, "none" | "currentColor"),
                "{name}: {colour}"
            );
        }
        if node.has_tag_name("text") {
            let anchor = match node.attribute("text-anchor") {
                Some("middle") => Anchor::Middle,
                Some("end") => Anchor::End,
                _ => Anchor::Start,
            };
            let text = node.text().unwrap();
            let frame = lettering(text, (number(node, "x"), number(node, "y")), anchor);
            assert!(sheet.holds(frame), "{name}: {text} leaves the sheet");
            for (other, words) in &texts {
                assert!(!frame.meets(*other), "{name}: {text} on {words}");
            }
            texts.push((frame, text.to_owned()));
        }
    }
    for row in &plot.table.rows {
        assert_eq!(row.len(), plot.table.columns.len(), "{name}: table");
    }
    texts.into_iter().map(|(_, text)| text).collect()
}

/// The response of a chain of equal RC stages that do not load one another.
fn low_pass(name: &str, corner_hz: f64, stages: u32) -> Response {
    let point = |step: i32| {
        let frequency_hz = 10f64.powf(1.0 + f64::from(step) / 80.0);
        let ratio = frequency_hz / corner_hz;
        let phase = -f64::from(stages) * ratio.atan().to_degrees();
        ResponsePoint {
            frequency_hz,
            gain_db: -10.0 * f64::from(stages) * (1.0 + ratio * ratio).log10(),
            // As an argument is computed: within half a turn.
            phase_deg: (phase + 180.0).rem_euclid(360.0) - 180.0,
        }
    };
    Response {
        name: name.to_owned(),
        points: (0..=400).map(point).collect(),
    }
}

fn frequency(responses: Vec<Response>, bounds: Vec<Bound>) -> FrequencyResponse {
    FrequencyResponse {
        caption: caption(),
        responses,
        bounds,
        half_power: true,
    }
}

fn at_most(from: f64, level: f64) -> Bound {
    Bound {
        label: format!("at most {level} dB"),
        from: Some(from),
        to: None,
        level,
        side: Side::AtMost,
    }
}

#[test]
fn a_low_pass_is_marked_at_its_corner() {
    let plot = frequency(vec![low_pass("", 1591.55, 1)], Vec::new());
    let plot = plot.plot().unwrap();
    let texts = hold("low-pass", &plot);
    // 1 / (2 π 10 kΩ 10 nF) = 1591.5 Hz, by hand.
    let mark = "−3\u{a0}dB at 1.59\u{a0}kHz".to_owned();
    assert!(texts.contains(&mark), "{texts:?}");
    assert!(!plot.amiss);
    assert_eq!(plot.table.rows.len(), 401);
    assert_eq!(plot.table.columns[1].heading(), "Gain in dB");
}

#[test]
fn a_bound_that_is_missed_is_red_and_one_that_holds_is_not() {
    // One stage at ten times its corner is 20.04 dB down.
    let at = |level: f64| frequency(vec![low_pass("", 1e3, 1)], vec![at_most(1e4, level)]);
    let held = at(-20.0).plot().unwrap();
    hold("held", &held);
    assert!(!held.amiss && !held.svg.contains("amiss"));
    let missed = at(-20.1).plot().unwrap();
    hold("missed", &missed);
    assert!(missed.amiss && missed.svg.contains("class=\"curve amiss\""));
}

#[test]
fn phase_goes_on_beyond_half_a_turn() {
    let plot = frequency(vec![low_pass("", 1e3, 4)], Vec::new());
    let plot = plot.plot().unwrap();
    let last = plot.table.rows.last().unwrap()[2].unwrap();
    assert!((last + 360.0).abs() < 3.0, "{last}");
    let texts = hold("four stages", &plot);
    assert!(texts.contains(&"−360".to_owned()), "{texts:?}");
}

#[test]
fn many_responses_have_labels_that_stand_apart() {
    let names = [
        "nominal",
        "lowest corner",
        "highest corner, R1 and C1 low",
        "at 60 °C",
        "cold",
    ];
    let responses = names.iter().zip(0..);
    let responses = responses.map(|(name, step)| low_pass(name, 1e3 + f64::from(step), 2));
    let plot = frequency(responses.collect(), vec![at_most(5e4, -40.0)]);
    let plot = plot.plot().unwrap();
    let texts = hold("five responses", &plot);
    assert!(texts.contains(&"nominal".to_owned()), "{texts:?}");
    assert_eq!(plot.table.columns.len(), 11);
}

type Limits = (Option<f64>, Option<f64>);

fn distribution(requirement: Option<Limits>) -> Distribution {
    let bin = |step: i32| {
        let from = 3.2 + 0.01 * f64::from(step);
        let off = (from + 0.005 - 3.3) / 0.03;
        Bin {
            from,
            to: from + 0.01,
            count: (1000.0 * (-0.5 * off * off).exp()) as u64,
        }
    };
    let interval = |label: &str, low, high| Interval {
        label: label.to_owned(),
        low,
        high,
    };
    Distribution {
        caption: caption(),
        name: "Output voltage".to_owned(),
        unit: "V".to_owned(),
        counted: "Trials",
        bins: (0..20).map(bin).collect(),
        nominal: Some((3.3, "nominal 3.3 V".to_owned())),
        intervals: vec![
            interval("95 % of boards 3.24 V to 3.36 V", 3.24, 3.36),
            interval("worst case 3.19 V to 3.41 V", 3.19, 3.41),
        ],
        requirement: requirement.map(|(low, high)| Requirement {
            label: "must be within limits".to_owned(),
            low,
            high,
        }),
    }
}

#[test]
fn a_distribution_within_its_requirement_is_not_red() {
    let all = [
        None,
        Some((Some(3.1), Some(3.5))),
        Some((Some(3.15), None)),
        Some((None, None)),
        Some((Some(f64::NAN), Some(f64::NAN))),
    ];
    for limits in all {
        let plot = distribution(limits).plot().unwrap();
        hold("within", &plot);
        assert!(!plot.amiss && !plot.svg.contains("amiss"), "{limits:?}");
    }
}

#[test]
fn what_lies_outside_of_a_requirement_is_red() {
    let all = [
        (None, Some(3.335)),
        (Some(3.3), None),
        (Some(3.28), Some(3.32)),
        (Some(3.5), None),
    ];
    for limits in all {
        let plot = distribution(Some(limits)).plot().unwrap();
        hold("outside", &plot);
        assert!(plot.amiss, "{limits:?}");
        assert!(plot.svg.contains("class=\"pile amiss\""), "{limits:?}");
    }
    // The worst case alone oversteps: no trial does.
    let plot = distribution(Some((None, Some(3.405)))).plot().unwrap();
    assert!(plot.amiss && !plot.svg.contains("class=\"pile amiss\""));
}

#[test]
fn a_limit_far_away_is_pointed_at() {
    let plot = distribution(Some((None, Some(12.0)))).plot().unwrap();
    let texts = hold("far", &plot);
    let pointing = "must be within limits →".to_owned();
    assert!(texts.contains(&pointing), "{texts:?}");
}

#[test]
fn shares_of_a_histogram_add_up() {
    let plot = distribution(None).plot().unwrap();
    let shares = plot.table.rows.iter().map(|row| row[3].unwrap());
    assert!((shares.sum::<f64>() - 100.0).abs() < 1e-9);
}

fn curves(points: Vec<(f64, f64)>, x: Scale, y: Scale) -> XyPlot {
    let axis = |name: &str, unit: &str, scale| Axis {
        name: name.to_owned(),
        unit: unit.to_owned(),
        scale,
    };
    XyPlot {
        caption: caption(),
        x: axis("Time", "h", x),
        y: axis("Cell voltage", "V", y),
        series: vec![Series {
            name: String::new(),
            points,
        }],
        bounds: Vec::new(),
        lines: Vec::new(),
        marks: Vec::new(),
    }
}

#[test]
fn any_finite_curve_can_be_drawn() {
    let scales = [Scale::Linear, Scale::Logarithmic];
    let sets: [&[(f64, f64)]; 9] = [
        &[(0.0, 3.0), (1.0, 4.0)],
        &[(1.0, 5.0), (2.0, 5.0)],
        &[(1.0, 0.0), (1.0, 0.0)],
        &[(1e-12, 1e9), (1e12, 1e-9)],
        &[(1.0, 1e300), (2.0, -1e300)],
        &[
            (1.0, 1.0),
            (2.0, f64::NAN),
            (3.0, 2.0),
            (4.0, f64::INFINITY),
            (5.0, 3.0),
        ],
        &[(-5.0, -1e-15), (5.0, 1e-15)],
        &[(1.0, 123_456.0), (1.0001, 123_457.0)],
        &[(3.3, 3.3), (3.3 + 1e-15, 3.3)],
    ];
    for (index, points) in sets.iter().enumerate() {
        for x in scales {
            for y in scales {
                let name = format!("set {index}, {x:?} {y:?}");
                match curves(points.to_vec(), x, y).plot() {
                    Ok(plot) => drop(hold(&name, &plot)),
                    Err(error) => assert_eq!(error, PlotError::NothingToDraw, "{name}"),
                }
            }
        }
    }
}

#[test]
fn nothing_gives_no_plot() {
    let none = PlotError::NothingToDraw;
    let empty = curves(Vec::new(), Scale::Linear, Scale::Linear);
    assert_eq!(empty.plot(), Err(none.clone()));
    let empty = frequency(Vec::new(), Vec::new());
    assert_eq!(empty.plot(), Err(none.clone()));
    let point = ResponsePoint {
        frequency_hz: 0.0,
        gain_db: f64::NAN,
        phase_deg: 0.0,
    };
    let response = Response {
        name: String::new(),
        points: vec![point; 3],
    };
    let nowhere = frequency(vec![response], Vec::new());
    assert_eq!(nowhere.plot(), Err(none.clone()));
    let mut figure = distribution(None);
    figure.bins.iter_mut().for_each(|bin| bin.count = 0);
    assert_eq!(figure.plot(), Err(none));
}

/// Texts of a plot with the places that they are anchored at.
fn placed(plot: &Plot) -> Vec<(String, f64, f64)> {
    let tree = roxmltree::Document::parse(&plot.svg).unwrap();
    let texts = tree.descendants().filter(|node| node.has_tag_name("text"));
    let number = |node: roxmltree::Node, key: &str| node.attribute(key).unwrap().parse().unwrap();
    texts
        .map(|node| {
            (
                node.text().unwrap().to_owned(),
                number(node, "x"),
                number(node, "y"),
            )
        })
        .collect()
}

fn marked(marks: &[(&str, f64)], x: Scale) -> XyPlot {
    let mark = |(label, at): &(&str, f64)| PlotMark {
        label: (*label).to_owned(),
        at: *at,
    };
    XyPlot {
        marks: marks.iter().map(mark).collect(),
        ..curves(vec![(1.0, 3.0), (100.0, 4.0)], x, Scale::Linear)
    }
}

/// Truth: equal steps are equal distances on an even axis, and equal ratios on a
/// logarithmic one (definition of the scales).
#[test]
fn marks_stand_where_the_scale_puts_them() {
    let even = [("low", 20.0), ("middle", 50.0), ("high", 80.0)];
    let ratios = [("low", 3.0), ("middle", 9.0), ("high", 27.0)];
    for (marks, scale) in [(even, Scale::Linear), (ratios, Scale::Logarithmic)] {
        let plot = marked(&marks, scale).plot().unwrap();
        hold("marks", &plot);
        let found = placed(&plot);
        let at = |label: &str| found.iter().find(|(text, ..)| text == label).unwrap().1;
        let steps = [at("middle") - at("low"), at("high") - at("middle")];
        // Pixels have one decimal.
        assert!(
            steps[0] > 20.0 && (steps[0] - steps[1]).abs() <= 0.2,
            "{steps:?}"
        );
    }
}

#[test]
fn an_axis_reaches_as_far_as_what_is_marked_on_it() {
    let beyond = marked(&[("far", 5000.0)], Scale::Logarithmic)
        .plot()
        .unwrap();
    let texts = hold("a far mark", &beyond);
    assert!(texts.iter().any(|text| text == "far"), "{texts:?}");
    // What has no place on the scale is left out, and the curve is drawn.
    let none = marked(
        &[("zero", 0.0), ("less", -1.0), ("no", f64::NAN)],
        Scale::Logarithmic,
    );
    let texts = hold("marks without a place", &none.plot().unwrap());
    assert!(
        !texts
            .iter()
            .any(|text| text == "zero" || text == "less" || text == "no")
    );
}

#[test]
fn marks_that_crowd_keep_clear_of_each_other() {
    let names: Vec<String> = (0..88).map(|key| format!("key {key}")).collect();
    let crowd: Vec<(&str, f64)> = names
        .iter()
        .zip(0..)
        .map(|(name, key)| (name.as_str(), 27.5 * 2f64.powf(f64::from(key) / 12.0)))
        .collect();
    // Holding it finds any two texts that meet.
    let texts = hold(
        "a piano",
        &marked(&crowd, Scale::Logarithmic).plot().unwrap(),
    );
    let told = texts.iter().filter(|text| text.starts_with("key")).count();
    assert!(
        (10..=88).contains(&told),
        "{told} of 88 have room for their names"
    );
}

#[test]
fn a_line_is_read_against_and_nothing_is_amiss_below_it() {
    let line = |level: f64| Bound {
        label: "kept above".into(),
        from: None,
        to: None,
        level,
        side: Side::AtLeast,
    };
    let lines = |level: f64| XyPlot {
        lines: vec![line(level)],
        ..marked(&[("C5", 50.0)], Scale::Linear)
    };
    let read = lines(3.5).plot().unwrap();
    assert!(!read.amiss);
    let texts = hold("a line", &read);
    assert!(texts.iter().any(|text| text == "kept above"), "{texts:?}");
    // The same as a bound is missed by the curve's lower half.
    let bound = XyPlot {
        bounds: vec![line(3.5)],
        ..marked(&[], Scale::Linear)
    };
    assert!(bound.plot().unwrap().amiss);
    // A level beyond the curves widens the axis.
    assert!(
        hold("a high line", &lines(9.0).plot().unwrap())
            .iter()
            .any(|text| text == "kept above")
    );
}
