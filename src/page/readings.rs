//! What was measured of a board: each column of readings against what is
//! computed and required, and the requirements that no measurement backs.

use camino::{Utf8Path, Utf8PathBuf};
use serde::Serialize;

use super::book::Book;
use super::caution;
use super::corner::{Parts, sheet};
use super::distribution::{requirement, round_step};
use super::leaves::Page;
use super::numbers::{length, percent, running, spread, typeset};
use super::plotted;
use super::view::Sheet;
use super::zone::Zones;
use crate::draw::{Bin, Caption, Distribution, Interval};
use crate::notebook::{Measurement, NodeId, Notebook, Value};
use crate::quantity::{Statement, Unit, shown_digits};
use crate::spread::statistics::{Capability, Summary};

/// Confidence of both limits of an index together: each of them alone is passed
/// by one process in twenty.
const CONFIDENCE: f64 = 0.9;

/// Least share that is told: no process is known to be normal so far out.
const LEAST_SHARE: f64 = 1e-6;

/// What only the sheet of readings has.
#[derive(Debug, Serialize)]
pub(crate) struct ReadingsFace {
    lead: String,
    columns: Vec<ColumnView>,
    backed: BackedView,
}

/// A column of readings.
#[derive(Debug, Serialize)]
struct ColumnView {
    zone: String,
    name: String,
    means: String,
    href: String,
    from_file: String,
    facts: Vec<Fact>,
    outside: Vec<OutsideView>,
    old: Option<String>,
    plot_html: Option<String>,
}

/// A reading that contradicts, with the reason why it may stand.
#[derive(Debug, Serialize)]
struct OutsideView {
    text: String,
    reason: Option<String>,
}

/// A statistic, in words.
#[derive(Debug, Serialize)]
struct Fact {
    name: &'static str,
    value: String,
}

/// What backs each requirement.
#[derive(Debug, Serialize)]
struct BackedView {
    zone: String,
    rows: Vec<BackedRow>,
}

/// A requirement.
#[derive(Debug, Serialize)]
struct BackedRow {
    means: String,
    href: String,
    must: String,
    measured: String,
    open: bool,
}

/// Whether a board has a sheet of readings: it was measured, or other boards
/// were and it has something to measure.
pub(crate) fn has_readings(notebook: &Notebook, board: usize) -> bool {
    !notebook.measurements.is_empty()
        && (notebook.measurements.iter().any(|it| it.board == board)
            || !notebook.required_of(board).is_empty())
}

/// The sheet of a board's readings, and the tables behind its plots.
pub(crate) fn readings_sheet(
    book: &Book<'_>,
    board: usize,
) -> (Sheet<ReadingsFace>, Vec<(Utf8PathBuf, String)>) {
    let page = Page::Readings(board);
    let from = &book.leaves.leaf(page).path;
    let notebook = book.notebook;
    let title = &notebook.records.boards[board].title.value;
    let mut zones = Zones::default();
    zones.next();
    let mut files = Vec::new();
    let ours = notebook.measurements.iter().filter(|it| it.board == board);
    let columns: Vec<ColumnView> = ours
        .filter_map(|measurement| column(book, from, measurement, zones.next(), &mut files))
        .collect();
    let rows: Vec<BackedRow> = notebook
        .required_of(board)
        .into_iter()
        .filter_map(|node| backed(book, from, node))
        .collect();
    let open = rows.iter().filter(|row| row.open).count();
    let lead = match rows.len() {
        0 => "Nothing is required of this board.".to_owned(),
        all => format!(
            "{} of {all} requirements are backed by a measurement of the board as it is made now.",
            all - open
        ),
    };
    let parts = Parts {
        description: format!("What was measured of the {title}, and what was not."),
        cautions: caution::of_board(book, from, board),
        stated: &[],
        face: ReadingsFace {
            lead,
            columns,
            backed: BackedView {
                zone: zones.next(),
                rows,
            },
        },
    };
    (sheet(book, page, parts), files)
}

fn column(
    book: &Book<'_>,
    from: &Utf8Path,
    measurement: &Measurement,
    zone: String,
    files: &mut Vec<(Utf8PathBuf, String)>,
) -> Option<ColumnView> {
    let notebook = book.notebook;
    let node = measurement.node;
    let (record, value) = (notebook.graph.node(node), notebook.value(node)?);
    let must = notebook.requirement(node);
    let values = measurement.values();
    let summary = Summary::of(&values).ok()?;
    let day = measurement.date.map(|date| date.to_string());
    let name = measurement.path.file_name().unwrap_or_default();
    let from_file = match &day {
        Some(day) => format!("{name}, column {}, measured {day}", measurement.column),
        None => format!("{name}, column {}, no day stated", measurement.column),
    };
    let outside = measurement.readings.iter().filter(|it| it.is_outside);
    let outside = outside.filter(|_| measurement.is_held && !measurement.is_old);
    let outside = outside.map(|reading| {
        let mut waived = notebook.waived.iter();
        let waived = waived.find(|waived| waived.finding.place() == Some(&reading.place));
        OutsideView {
            text: format!(
                "{} on {} lies outside the computed spread",
                value.shown_as(reading.value),
                reading.of
            ),
            reason: waived.map(|waived| running(&waived.reason)),
        }
    });
    Some(ColumnView {
        zone,
        name: record.name.clone(),
        means: record.means.clone(),
        href: book.place_of(from, node),
        from_file,
        facts: facts(value, must, measurement, &summary),
        outside: outside.collect(),
        old: measurement.is_old.then(|| {
            "Measured before the last change of the board, and so no proof of it.".to_owned()
        }),
        plot_html: plot(book, from, measurement, value, must, files),
    })
}

/// What a column says, and what it proves.
fn facts(
    value: &Value,
    must: Option<&Statement>,
    measurement: &Measurement,
    summary: &Summary,
) -> Vec<Fact> {
    let unit = &value.unit;
    let fact = |name, value| Fact { name, value };
    let mut facts = vec![
        fact("Readings", summary.count.to_string()),
        fact("Mean", value.shown_as(summary.mean).to_string()),
        fact("Standard deviation", length(summary.deviation, unit)),
        fact(
            "Least and greatest",
            format!(
                "{} to {}",
                value.shown_as(summary.least),
                value.shown_as(summary.greatest)
            ),
        ),
    ];
    if measurement.error > 0.0 {
        facts.push(fact(
            "Uncertainty of a reading (k = 2)",
            length(measurement.error, unit),
        ));
    }
    if measurement.is_held {
        facts.push(fact("Computed", value.shown().to_string()));
        let spread = spread(value).unwrap_or_else(|| "no spread".to_owned());
        facts.push(fact("Computed spread", spread));
    }
    let Some(must) = must else { return facts };
    facts.push(fact("Required", typeset(must.text())));
    let limits = must.limits();
    let limit = |limit: f64| limit.is_finite().then_some(limit);
    let capability = Capability::new(
        summary.mean,
        summary.deviation,
        limit(limits.0),
        limit(limits.1),
    );
    // Readings that are all the same, or a requirement without a limit.
    let Ok(capability) = capability else {
        return facts;
    };
    let index = |index: f64| shown_digits(index, 3, &Unit::one()).to_string();
    let sure = |low: f64| format!("at least {} at 95 % confidence", index(low));
    if let (Some(cp), Ok(interval)) = (
        capability.cp(),
        capability.cp_interval(summary.count, CONFIDENCE),
    ) {
        facts.push(fact(
            "Cp",
            format!("{}, {}", index(cp), sure(interval.low())),
        ));
    }
    if let Ok(interval) = capability.cpk_interval(summary.count, CONFIDENCE) {
        let cpk = index(capability.cpk());
        facts.push(fact("Cpk", format!("{cpk}, {}", sure(interval.low()))));
    }
    facts.push(fact(
        "Outside what is required, if normal and in control",
        match capability.share_outside() {
            share if share < LEAST_SHARE => format!("less than {}", percent(LEAST_SHARE)),
            share => percent(share),
        },
    ));
    facts
}

/// Histogram of the readings, with the computed spread and what is required.
fn plot(
    book: &Book<'_>,
    from: &Utf8Path,
    measurement: &Measurement,
    value: &Value,
    must: Option<&Statement>,
    files: &mut Vec<(Utf8PathBuf, String)>,
) -> Option<String> {
    let record = book.notebook.graph.node(measurement.node);
    let count = |value_si: f64| value.unit.count_of(value_si);
    let counts: Vec<f64> = measurement.values().into_iter().map(count).collect();
    let title = format!("Readings of {}, {} boards", record.name, counts.len());
    let predicted = Interval {
        label: format!("computed {}", spread(value)?),
        low: count(value.outcome.low),
        high: count(value.outcome.high),
    };
    let drawing = Distribution {
        caption: Caption {
            id: format!("Readings-{}", record.name),
            title: title.clone(),
            description: format!(
                "Histogram of the readings of {}; the table after it has the values.",
                record.means
            ),
        },
        name: record.name.clone(),
        unit: value.unit.symbol().to_owned(),
        counted: "Readings",
        bins: bins(&counts),
        nominal: Some((
            count(value.outcome.nominal),
            format!("nominal {}", value.shown()),
        )),
        intervals: match measurement.is_held {
            true => vec![predicted],
            false => Vec::new(),
        },
        requirement: must.map(|must| requirement(must, value)),
    };
    let plot = drawing.plot().ok()?;
    let name = format!("{}-readings", record.name);
    Some(plotted::figure(from, &name, &title, &plot, files))
}

/// A histogram with round edges; about as many bins as the root of the count
/// (common practice, no source).
fn bins(counts: &[f64]) -> Vec<Bin> {
    let least = counts.iter().copied().fold(f64::INFINITY, f64::min);
    let most = counts.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let step = round_step((most - least) / (counts.len() as f64).sqrt());
    if !(step > 0.0 && step.is_finite()) {
        return Vec::new();
    }
    let first = (least / step).floor();
    let bin_of = |value: f64| (value / step).floor() - first;
    let all = bin_of(most) as usize + 1;
    let mut bins: Vec<Bin> = (0..all)
        .map(|at| Bin {
            from: (first + at as f64) * step,
            to: (first + at as f64 + 1.0) * step,
            count: 0,
        })
        .collect();
    for &value in counts {
        if let Some(bin) = bins.get_mut(bin_of(value) as usize) {
            bin.count += 1;
        }
    }
    bins
}

fn backed(book: &Book<'_>, from: &Utf8Path, node: NodeId) -> Option<BackedRow> {
    let notebook = book.notebook;
    let must = notebook.requirement(node)?;
    let all = notebook.measurements_of(node);
    let newest = |old: bool| {
        let dates = all.iter().filter(move |it| it.is_old == old);
        dates.max_by_key(|it| it.date)
    };
    let words = |it: &Measurement, words: &str| match it.date {
        Some(date) => format!("{words} {date}, {} boards", it.readings.len()),
        None => format!("{words}, {} boards", it.readings.len()),
    };
    let (measured, open) = match (newest(false), newest(true)) {
        (Some(now), _) => (words(now, "measured"), false),
        (None, Some(then)) => (words(then, "measured before the last change:"), true),
        (None, None) => ("not yet measured".to_owned(), true),
    };
    let href = book.place_of(from, node);
    Some(BackedRow {
        means: notebook.graph.node(node).means.clone(),
        href,
        must: typeset(must.text()),
        measured,
        open,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reading_falls_into_one_bin() {
        let readings = [81.4, 82.1, 82.4, 82.7, 83.0, 83.3, 83.6, 83.9, 84.9, 85.3];
        let bins = bins(&readings);
        assert_eq!(bins.iter().map(|bin| bin.count).sum::<u64>(), 10);
        for bin in &bins {
            let inside = readings.iter().filter(|it| (bin.from..bin.to).contains(it));
            assert_eq!(inside.count() as u64, bin.count, "{bin:?}");
        }
        assert!(super::bins(&[3.0, 3.0]).is_empty());
    }
}
