//! A quantity swept over a range, and where in it everything holds.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::super::{NodeId, Notebook};
use super::{Override, Supposed, Wish, key};
use crate::finding::{Finding, Level, Slug};
use crate::quantity::{Given, Series};

/// Relative width to which the ends of a range are pinned down.
const CLOSE: f64 = 1e-7;
/// Halvings after which an end is taken as it is, however close.
const MOST_HALVINGS: usize = 60;

/// Findings that come of comparing values of nodes.
const COMPARED: &[Slug] = &[
    Slug::FigureDisagrees,
    Slug::RequirementMissed,
    Slug::RelationBroken,
    Slug::RatingExceeded,
    Slug::OutsideValidity,
    Slug::CautionWithoutCause,
];

/// A sweep, carried out.
#[derive(Debug)]
pub struct Sweep {
    /// Points of the sweep, ascending.
    pub points: Vec<Point>,
    /// Stretches in which every requirement holds.
    pub required: Vec<Run>,
    /// Stretches in which every stated number holds as well.
    pub stated: Vec<Run>,
    /// The quantity as it is.
    pub now: Given,
}

/// One point of a sweep.
#[derive(Debug)]
pub struct Point {
    /// The quantity there.
    pub given: Given,
    /// What it breaks.
    pub broken: Vec<Finding>,
    /// Nodes that comparisons went against; `None` where not every finding comes
    /// of a comparison.
    struck: Option<BTreeSet<NodeId>>,
}

/// A stretch of a sweep in which something holds at every point.
#[derive(Clone, Debug)]
pub struct Run {
    /// Lower end, in coherent SI units.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// What breaks just below; `None` where the sweep begins there.
    pub below: Option<Finding>,
    /// What breaks just above; `None` where the sweep ends there.
    pub above: Option<Finding>,
}

/// What a stretch is about.
#[derive(Clone, Copy, PartialEq)]
enum Of {
    Requirements,
    Everything,
}

impl Of {
    /// The first thing that stands against it.
    fn broken(self, supposed: &[Finding]) -> Option<&Finding> {
        supposed.iter().find(|finding| {
            let is_text = finding.slug == Slug::FigureDisagrees;
            finding.level == Level::Error && (self == Of::Everything || !is_text)
        })
    }
}

impl Notebook {
    /// Sweeps a quantity: over the values of a series, or over `count` values in
    /// equal steps. `others` are supposed all the while. Ends of stretches are
    /// found by halving between the last point that holds and the first that does
    /// not; what comes and goes between two neighbouring points is not seen.
    ///
    /// # Errors
    /// A sentence on why there are no points.
    pub fn sweep(
        &self,
        wish: &Wish,
        others: &[Override],
        series: Option<Series>,
        count: usize,
    ) -> Result<Sweep, String> {
        let (Some((from, up_to, now)), [template]) = (&wish.swept, wish.overrides.as_slice())
        else {
            return Err(format!("`{}` is not swept", wish.name));
        };
        let mut values: Vec<f64> = match series {
            Some(series) => series.between(*from, *up_to).collect(),
            None if count < 2 => return Err("a sweep has two points at least".to_owned()),
            None => {
                let step = (up_to - from) / (count - 1) as f64;
                (0..count).map(|at| from + step * at as f64).collect()
            }
        };
        if values.is_empty() {
            let series = series.map_or("the series", Series::name);
            return Err(format!(
                "{series} has no value in the sweep of `{}`",
                wish.name
            ));
        }
        // What is fitted now is always one of the points.
        let nominal = now.nominal();
        if (*from..=*up_to).contains(&nominal)
            && !values.iter().any(|at| (at / nominal - 1.0).abs() < 1e-9)
        {
            values.push(nominal);
            values.sort_by(f64::total_cmp);
        }
        let course = Course {
            notebook: self,
            template,
            others,
            now,
        };
        let points: Vec<Point> = values
            .par_iter()
            .map(|&value| {
                let supposed = course.at(value, None);
                let mut broken = supposed.broken;
                broken.retain(|finding| finding.level == Level::Error);
                let known = broken
                    .iter()
                    .all(|finding| COMPARED.contains(&finding.slug));
                let struck = supposed.struck;
                Point {
                    given: now.around(value),
                    broken,
                    struck: (known && supposed.same_nodes).then_some(struck),
                }
            })
            .collect();
        let (required, stated) = rayon::join(
            || course.runs(&points, Of::Requirements),
            || course.runs(&points, Of::Everything),
        );
        Ok(Sweep {
            points,
            required,
            stated,
            now: now.clone(),
        })
    }
}

struct Course<'a> {
    notebook: &'a Notebook,
    template: &'a Override,
    others: &'a [Override],
    now: &'a Given,
}

impl Course<'_> {
    fn at(&self, value: f64, only: Option<&BTreeSet<NodeId>>) -> Supposed {
        let mut one = self.template.clone();
        match &mut one {
            Override::Property { given, .. }
            | Override::Given { given, .. }
            | Override::Module { given, .. }
            | Override::Ambient { given, .. } => *given = self.now.around(value),
            _ => {}
        }
        let mut all = self.others.to_vec();
        all.push(one);
        match only {
            Some(nodes) => self.notebook.under_for(&all, nodes),
            None => self.notebook.under(&all),
        }
    }

    fn runs(&self, points: &[Point], of: Of) -> Vec<Run> {
        let holds = |point: &Point| of.broken(&point.broken).is_none();
        let mut runs = Vec::new();
        let mut at = 0;
        while at < points.len() {
            if !holds(&points[at]) {
                at += 1;
                continue;
            }
            let first = at;
            while points.get(at).is_some_and(holds) {
                at += 1;
            }
            let last = at - 1;
            let nominal = |point: &Point| point.given.nominal();
            let below = first.checked_sub(1).and_then(|before| points.get(before));
            let (below, above) = rayon::join(
                || below.map(|before| self.end(nominal(&points[first]), before, of)),
                || {
                    let after = points.get(at);
                    after.map(|after| self.end(nominal(&points[last]), after, of))
                },
            );
            runs.push(Run {
                low: below
                    .as_ref()
                    .map_or(nominal(&points[first]), |(value, _)| *value),
                high: above
                    .as_ref()
                    .map_or(nominal(&points[last]), |(value, _)| *value),
                below: below.map(|(_, finding)| finding),
                above: above.map(|(_, finding)| finding),
            });
        }
        runs
    }

    /// The last value that holds on the way from one that does to a point that
    /// does not, and what breaks behind it.
    fn end(&self, good: f64, point: &Point, of: Of) -> (f64, Finding) {
        let (mut good, mut bad) = (good, point.given.nominal());
        // The point that does not hold has told of something.
        let mut why = of.broken(&point.broken).cloned();
        for _ in 0..MOST_HALVINGS {
            if (bad - good).abs() <= CLOSE * good.abs().max(bad.abs()) {
                break;
            }
            let middle = good.midpoint(bad);
            let supposed = self.at(middle, point.struck.as_ref());
            match of.broken(&supposed.broken) {
                Some(finding) => {
                    // As the point says it, with numbers that are far enough off
                    // to be told apart.
                    let mut same = point.broken.iter();
                    let same = same.find(|known| key(known) == key(finding));
                    why = Some(same.unwrap_or(finding).clone());
                    bad = middle;
                }
                None => good = middle,
            }
        }
        let why =
            why.unwrap_or_else(|| Finding::new(Slug::RequirementMissed, "something does not hold"));
        (good, why)
    }
}
