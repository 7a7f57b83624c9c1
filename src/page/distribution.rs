//! How a figure is distributed, as a plot against what it must be.

use camino::{Utf8Path, Utf8PathBuf};

use super::book::Book;
use super::edition::Edition;
use super::numbers::{percent, typeset};
use super::plotted;
use crate::draw::{Bin, Caption, Distribution, Interval, Requirement};
use crate::notebook::{NodeId, Notebook, Value};
use crate::quantity::{Outcome, Statement, Unit, shown_digits};
use crate::record::SpreadPolicy;
use crate::spread::Sampled;

/// Fewest bins of a histogram; there are at most two and a half times as many.
const FEWEST: f64 = 16.0;
/// Share of all draws that a tail may lack of the histogram, so that a single
/// stray draw does not squeeze the rest.
const TAIL: f64 = 2e-4;

/// Whether an edition shows how a figure is distributed: one whose spread is
/// settled by chance, or that may miss its requirement and may meet it, so that
/// only chance says how often. The bar beside every other says all there is to
/// say of it: of what always meets its requirement, and of what an earlier
/// revision always misses.
pub(crate) fn is_drawn(notebook: &Notebook, edition: &Edition, node: NodeId) -> bool {
    // Readings are the team's, and so is how many boards would be sorted out.
    let Some(value) = notebook.value(node).filter(|_| edition.is_whole()) else {
        return false;
    };
    let must = notebook.requirement(node);
    value.policy.spread == SpreadPolicy::MonteCarlo
        || must.is_some_and(|must| is_at_risk(must, value.worst))
}

/// The distribution of a figure; `None` where nothing varies, or no draw has a
/// value.
pub(crate) fn plot(
    book: &Book<'_>,
    from: &Utf8Path,
    node: NodeId,
    files: &mut Vec<(Utf8PathBuf, String)>,
) -> Option<String> {
    let notebook = book.notebook;
    let value = notebook.value(node)?;
    let must = notebook.requirement(node);
    let sampled = notebook.drawn(node)?;
    let record = notebook.graph.node(node);
    let trials = shown_digits(sampled.trials as f64, 7, &Unit::one());
    let title = format!("Distribution of {} over {trials} draws", record.name);
    let count = |value_si: f64| value.unit.count_of(value_si);
    let drawing = Distribution {
        caption: Caption {
            id: format!("Distribution-{}", record.name),
            title: title.clone(),
            description: format!(
                "Histogram of {} from {} to {}; the table after it has the values.",
                record.means,
                value.shown_as(sampled.least),
                value.shown_as(sampled.greatest)
            ),
        },
        name: record.name.clone(),
        unit: value.unit.symbol().to_owned(),
        counted: "Trials",
        bins: bins(&sampled, value),
        nominal: Some((
            count(value.outcome.nominal),
            format!("nominal {}", value.shown()),
        )),
        intervals: intervals(value, &sampled),
        requirement: must.map(|must| requirement(must, value)),
    };
    let plot = drawing.plot().ok()?;
    Some(plotted::figure(from, &record.name, &title, &plot, files))
}

/// Whether a figure misses what it must be at one of its extremes, and some
/// value between them does not.
fn is_at_risk(must: &Statement, worst: Outcome) -> bool {
    let (low, high) = must.limits();
    !must.misses(worst).is_empty() && worst.low <= high && low <= worst.high
}

/// A histogram with round edges in the unit of the figure.
fn bins(sampled: &Sampled, value: &Value) -> Vec<Bin> {
    let unit = &value.unit;
    let (from, to) = (sampled.quantile(TAIL), sampled.quantile(1.0 - TAIL));
    let (low, high) = (unit.count_of(from), unit.count_of(to));
    let step = round_step((high - low) / FEWEST);
    if !(step > 0.0 && step.is_finite()) {
        return Vec::new();
    }
    let (first, last) = ((low / step).floor(), (high / step).ceil());
    let edges: Vec<f64> = (0..=(last - first) as usize)
        .map(|at| (first + at as f64) * step)
        .collect();
    // An edge in coherent units lies as far from the zero of the unit as it
    // does from the value of nothing at all, which units of temperature tell
    // apart.
    let zero = unit.count_of(0.0);
    let edges_si: Vec<f64> = edges
        .iter()
        .map(|edge| (edge - zero) * unit.step())
        .collect();
    let whole = (sampled.trials - sampled.without_value) as f64;
    let shares = sampled.shares_between(&edges_si);
    edges
        .windows(2)
        .zip(shares)
        .map(|(pair, share)| Bin {
            from: pair[0],
            to: pair[1],
            count: (share * whole).round().max(0.0) as u64,
        })
        .collect()
}

/// The next 1, 2 or 5 times a power of ten that is no greater.
pub(super) fn round_step(step: f64) -> f64 {
    let power = 10f64.powf(step.log10().floor());
    let lead = step / power;
    let round = if lead >= 5.0 {
        5.0
    } else if lead >= 2.0 {
        2.0
    } else {
        1.0
    };
    round * power
}

/// The coverage interval, and the worst case above it.
fn intervals(value: &Value, sampled: &Sampled) -> Vec<Interval> {
    let interval = |words: String, low: f64, high: f64| Interval {
        label: format!(
            "{words} {} to {}",
            value.shown_as(low),
            value.shown_as(high)
        ),
        low: value.unit.count_of(low),
        high: value.unit.count_of(high),
    };
    let covered = sampled.interval(value.policy.rule);
    let Outcome { low, high, .. } = value.worst;
    vec![
        interval(
            percent(value.policy.coverage),
            covered.low(),
            covered.high(),
        ),
        interval("worst case".to_owned(), low, high),
    ]
}

pub(super) fn requirement(must: &Statement, value: &Value) -> Requirement {
    let (low, high) = must.limits();
    let limit = |limit: f64| limit.is_finite().then(|| value.unit.count_of(limit));
    Requirement {
        label: format!("must be {}", typeset(must.text())),
        low: limit(low),
        high: limit(high),
    }
}

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests {
    use super::*;

    #[test]
    fn chance_is_asked_only_where_it_decides() {
        let must = Statement::parse("180 mA to 212 mA", None).expect("a range");
        let worst = |low: f64, high: f64| Outcome {
            nominal: (low + high) / 2.0,
            low,
            high,
        };
        for (low, high, at_risk) in [
            (0.185, 0.205, false),
            (0.185, 0.215, true),
            (0.170, 0.220, true),
            (0.150, 0.181, true),
            (0.285, 0.321, false),
            (0.100, 0.150, false),
        ] {
            assert_eq!(is_at_risk(&must, worst(low, high)), at_risk, "{low} {high}");
        }
    }

    #[test]
    fn edges_of_bins_are_round() {
        let near = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-12;
        for (step, round) in [
            (0.73, 0.5),
            (1.0, 1.0),
            (0.0021, 0.002),
            (4.9e6, 2e6),
            (17.0, 10.0),
        ] {
            assert!(near(round_step(step), round), "{step}");
        }
    }
}
