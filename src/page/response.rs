//! The frequency responses of a circuit as plots.

use camino::{Utf8Path, Utf8PathBuf};

use super::book::Book;
use super::circuit::{Solved, amount};
use super::numbers::typeset;
use super::plotted;
use crate::circuit::Transfer;
use crate::draw::{Bound, Caption, FrequencyResponse, Response, ResponsePoint, Side};
use crate::notebook::NodeId;
use crate::quantity::{Dimension, Statement};
use crate::record::ResponseRecord;

/// Points of a decade before any are put between them.
const PER_DECADE: i32 = 10;
/// A straight line between two points may be this far off the curve, in dB.
const OFF: f64 = 0.25;
/// Most points of one response.
const MOST: usize = 240;
/// Decades that are looked at on either side of the frequency of the record
/// for the place from which the response runs straight.
const FURTHEST: i32 = 6;
/// The slope of a response that runs straight changes by less than this from
/// decade to decade, in dB.
const BEND: f64 = 1.0;

/// Every response of a circuit as a plot, with the table behind it. What
/// cannot be solved has a finding, and no plot.
pub(crate) fn plots(
    book: &Book<'_>,
    from: &Utf8Path,
    (board, at): (usize, usize),
    solved: Option<&Solved<'_>>,
    files: &mut Vec<(Utf8PathBuf, String)>,
) -> Vec<String> {
    let circuit = &book.notebook.records.boards[board].circuits[at];
    let responses = circuit.responses.iter();
    let plots = responses.filter_map(|response| {
        let id = &circuit.id.value;
        plot(book, from, (board, id), response, solved?, files)
    });
    plots.collect()
}

fn plot(
    book: &Book<'_>,
    from: &Utf8Path,
    (board, circuit): (usize, &str),
    record: &ResponseRecord,
    solved: &Solved<'_>,
    files: &mut Vec<(Utf8PathBuf, String)>,
) -> Option<String> {
    let (input, output) = (&record.from.value, &record.to.value);
    let transfer = solved.compiled.transfer(input, output).ok()?;
    let at = record.at.value.nominal();
    let points = points(at, |hertz| sweep(solved, &transfer, hertz))?;
    let name = format!("{circuit}.{}", record.name.value);
    let frequency = amount(Some(at), Dimension::FREQUENCY);
    let title = format!("Response {name}: {output} against {input}, parts at nominal value");
    let drawing = FrequencyResponse {
        caption: Caption {
            id: format!("Response-{name}"),
            title: title.clone(),
            description: format!(
                "Gain in dB above phase in degrees, from {} to {}; the table after it has the values.",
                amount(Some(points.first()?.frequency_hz), Dimension::FREQUENCY),
                amount(Some(points.last()?.frequency_hz), Dimension::FREQUENCY)
            ),
        },
        responses: vec![Response {
            name: String::new(),
            points,
        }],
        bounds: bounds(book, board, &name, (at, &frequency)),
        half_power: true,
    };
    let plot = drawing.plot().ok()?;
    Some(plotted::figure(from, &name, &title, &plot, files))
}

/// The response at each frequency; `None` where one of them has none.
fn sweep(solved: &Solved<'_>, transfer: &Transfer, hertz: &[f64]) -> Option<Vec<ResponsePoint>> {
    let swept = solved.compiled.sweep(&solved.parameters, hertz, transfer);
    let swept = swept.ok()?;
    let point = |(hertz, ratio): (&f64, &num_complex::Complex64)| ResponsePoint {
        frequency_hz: *hertz,
        gain_db: 20.0 * ratio.norm().log10(),
        phase_deg: ratio.arg().to_degrees(),
    };
    Some(hertz.iter().zip(&swept).map(point).collect())
}

/// Points over the whole decades in which something happens, and at the
/// frequency of the record itself; closer where the curve bends.
fn points(
    at: f64,
    sweep: impl Fn(&[f64]) -> Option<Vec<ResponsePoint>>,
) -> Option<Vec<ResponsePoint>> {
    let decade = at.log10().floor() as i32;
    let wide: Vec<i32> = (decade - FURTHEST..=decade + FURTHEST + 1).collect();
    let hertz: Vec<f64> = wide.iter().map(|&power| 10f64.powi(power)).collect();
    let (first, last) = bent(&wide, &sweep(&hertz)?, decade);
    let steps = first * PER_DECADE..=last * PER_DECADE;
    let mut hertz: Vec<f64> = steps
        .map(|step| 10f64.powf(f64::from(step) / f64::from(PER_DECADE)))
        .chain([at])
        .collect();
    hertz.sort_by(f64::total_cmp);
    hertz.dedup_by(|b, a| *b <= *a * (1.0 + 1e-9));
    let mut points = sweep(&hertz)?;
    loop {
        let middle = |pair: &[ResponsePoint]| (pair[0].frequency_hz * pair[1].frequency_hz).sqrt();
        let middles: Vec<f64> = points.windows(2).map(middle).collect();
        let between = sweep(&middles)?;
        let off = |at: &usize| {
            let straight = (points[*at].gain_db + points[at + 1].gain_db) / 2.0;
            (between[*at].gain_db - straight).abs() > OFF
        };
        let wanted: Vec<usize> = (0..between.len()).filter(off).collect();
        if wanted.is_empty() || points.len() + wanted.len() > MOST {
            return Some(points);
        }
        points.extend(wanted.into_iter().map(|at| between[at]));
        points.sort_by(|a, b| a.frequency_hz.total_cmp(&b.frequency_hz));
    }
}

/// The first and the last decade that are worth drawing: a decade beyond the
/// last bends of the curve, and one on either side of the frequency asked for.
fn bent(decades: &[i32], points: &[ResponsePoint], asked: i32) -> (i32, i32) {
    let bends = points.windows(3).zip(&decades[1..]);
    let bends = bends.filter(|(three, _)| {
        let slopes = [
            three[1].gain_db - three[0].gain_db,
            three[2].gain_db - three[1].gain_db,
        ];
        (slopes[1] - slopes[0]).abs() > BEND
    });
    let bends: Vec<i32> = bends.map(|(_, decade)| *decade).collect();
    let least = bends.iter().map(|decade| decade - 1).min();
    let greatest = bends.iter().map(|decade| decade + 1).max();
    (
        least.unwrap_or(asked).min(asked - 1),
        greatest.unwrap_or(asked).max(asked + 2),
    )
}

/// What figures that are nothing but the gain must be, at the frequency of the
/// record.
fn bounds(
    book: &Book<'_>,
    board: usize,
    response: &str,
    (at, frequency): (f64, &str),
) -> Vec<Bound> {
    let notebook = book.notebook;
    let scope = &notebook.records.boards[board].id.value;
    let mut bounds = Vec::new();
    for (what, in_db) in [("level", true), ("magnitude", false)] {
        let Some(gain) = notebook.graph.find(scope, &format!("{response}.{what}")) else {
            continue;
        };
        let figures = book.figures_on(gain);
        let figures = figures.filter(|figure| is_same(book, *figure, gain));
        for must in figures.filter_map(|figure| notebook.requirement(figure)) {
            for (level, side) in limits(must) {
                let level = if in_db { level } else { 20.0 * level.log10() };
                if !level.is_finite() {
                    continue;
                }
                bounds.push(Bound {
                    label: format!("{} at {frequency}", typeset(must.text())),
                    from: Some(at),
                    to: Some(at),
                    level,
                    side,
                });
            }
        }
    }
    bounds
}

/// Whether a figure is another node under a name of its own.
fn is_same(book: &Book<'_>, figure: NodeId, node: NodeId) -> bool {
    let value = |node| Some(book.notebook.value(node)?.outcome.nominal);
    book.notebook.graph.operands(figure) == [node] && value(figure) == value(node)
}

fn limits(must: &Statement) -> impl Iterator<Item = (f64, Side)> {
    let (low, high) = must.limits();
    [(low, Side::AtLeast), (high, Side::AtMost)]
        .into_iter()
        .filter(|(limit, _)| limit.is_finite())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// One pole at a corner frequency.
    fn low_pass(corner: f64) -> impl Fn(&[f64]) -> Option<Vec<ResponsePoint>> {
        move |hertz| {
            let point = |&hertz: &f64| ResponsePoint {
                frequency_hz: hertz,
                gain_db: -10.0 * (hertz / corner).powi(2).ln_1p() / std::f64::consts::LN_10,
                phase_deg: -(hertz / corner).atan().to_degrees(),
            };
            Some(hertz.iter().map(point).collect())
        }
    }

    #[test]
    fn the_corner_is_drawn_wherever_the_record_looks() {
        for (corner, at) in [(1.6e3, 50e3), (1.6e3, 20.0), (1.6e3, 1.6e3), (4.0, 9e5)] {
            let points = points(at, low_pass(corner)).unwrap();
            let (first, last) = (
                points[0].frequency_hz,
                points[points.len() - 1].frequency_hz,
            );
            assert!(
                first <= corner / 9.0 && corner * 9.0 <= last,
                "{first} {last}"
            );
            assert!(first <= at && at <= last);
            assert!(points.iter().any(|point| point.frequency_hz == at));
            let rising = |pair: &[ResponsePoint]| pair[0].frequency_hz < pair[1].frequency_hz;
            assert!(points.windows(2).all(rising));
        }
    }

    /// A resonance that is narrow has points enough to show its height.
    #[test]
    fn points_are_closer_at_a_resonance() {
        let q = 30.0;
        let gain = |x: f64| -10.0 * ((1.0 - x * x).powi(2) + (x / q).powi(2)).log10();
        let resonance = |hertz: &[f64]| {
            let point = |&hertz: &f64| ResponsePoint {
                frequency_hz: hertz,
                gain_db: gain(hertz / 730.0),
                phase_deg: 0.0,
            };
            Some(hertz.iter().map(point).collect())
        };
        let points = points(200.0, resonance).unwrap();
        let top = points.iter().map(|point| point.gain_db).fold(0.0, f64::max);
        assert!((top - 20.0 * q.log10()).abs() < 0.5, "{top}");
        assert!(points.len() <= MOST);
    }
}
