//! Measured responses: two columns of readings, frequency and level.

use super::build::Builder;
use super::readings::{cell_place, head_place, line, not_a_number, unread};
use super::resolve::listed;
use crate::finding::{Finding, Located, Place, Slug};
use crate::nearest::nearest;
use crate::quantity::{Decimal, Dimension, Unit};

/// Fewer points than these show no shape.
const FEWEST: usize = 3;
/// More findings of one file than these tell nothing new.
const MOST_FINDINGS: usize = 8;

impl Builder<'_> {
    /// The points of a measured response, in hertz and decibels, in the order of
    /// rising frequency.
    ///
    /// # Errors
    /// What is wrong with the file, its heads or its rows.
    pub(super) fn response(
        &self,
        board: usize,
        file: &Located<String>,
        frequency: &Located<String>,
        level: &Located<String>,
    ) -> Result<Vec<(f64, f64)>, Vec<Finding>> {
        let id = self
            .readings_file(board, file)
            .map_err(|found| vec![*found])?;
        let text = &self.sources.file(id).text;
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let heads = reader.headers().cloned();
        let heads = heads.map_err(|error| vec![*unread(id, text, &error)])?;
        let column =
            |wanted: &Located<String>| match heads.iter().position(|head| head == wanted.value) {
                Some(column) => Ok(column),
                None => {
                    let known: Vec<&str> = heads.iter().filter(|head| !head.is_empty()).collect();
                    let help = match nearest(&wanted.value, known.iter().copied()) {
                        Some(near) => format!("perhaps `{near}`"),
                        None => format!("its columns are {}", listed(&known)),
                    };
                    let message = format!("`{}` has no column `{}`", file.value, wanted.value);
                    Err(vec![
                        Finding::new(Slug::UnknownName, message)
                            .at(wanted.place.clone(), "not a head of a column")
                            .at(Place::new(id, line(text, 0)), "the heads")
                            .help(help),
                    ])
                }
            };
        let (x, y) = (column(frequency)?, column(level)?);
        let hertz = unit(frequency, "Hz", |unit| {
            unit.dimension() == Dimension::FREQUENCY
        });
        let decibel = unit(level, "dB", |unit| unit.dimension().as_level().is_some());
        let (hertz, decibel) = match (hertz, decibel) {
            (Ok(hertz), Ok(decibel)) => (hertz, decibel),
            (left, right) => {
                return Err(left
                    .err()
                    .into_iter()
                    .chain(right.err())
                    .map(|at| *at)
                    .collect());
            }
        };
        let mut points: Vec<(f64, f64)> = Vec::new();
        let mut findings: Vec<Finding> = Vec::new();
        for row in reader.records() {
            let row = row.map_err(|error| vec![*unread(id, text, &error)])?;
            let cell = |column: usize| row.get(column).unwrap_or_default();
            if cell(x).is_empty() && cell(y).is_empty() {
                continue;
            }
            if findings.len() >= MOST_FINDINGS {
                break;
            }
            let number = |column: usize, unit: &Unit| {
                let found = cell(column).parse().ok().and_then(Decimal::from_f64);
                match found {
                    Some(number) => Ok(unit.value_of(&number)),
                    None if cell(column).is_empty() => {
                        let other = if column == x { frequency } else { level };
                        let message = format!("this row has no `{}`", other.value);
                        let finding = Finding::new(Slug::BadValue, message)
                            .at(Place::new(id, cell_place(text, &row, x.min(y))), "this row")
                            .help("write both numbers, or leave the row out");
                        Err(Box::new(finding))
                    }
                    None => Err(Box::new(not_a_number(id, text, &row, column))),
                }
            };
            let (at, level) = match (number(x, &hertz), number(y, &decibel)) {
                (Ok(at), Ok(level)) => (at, level),
                (left, right) => {
                    findings.extend(left.err().into_iter().chain(right.err()).map(|at| *at));
                    continue;
                }
            };
            let place = || Place::new(id, cell_place(text, &row, x));
            let last = points.last().map_or(0.0, |(last, _)| *last);
            if at <= 0.0 {
                let message = format!("`{}` is no frequency of a response", cell(x));
                findings.push(
                    Finding::new(Slug::BadValue, message)
                        .at(place(), "not above zero")
                        .help("leave out what is not above 0 Hz"),
                );
            } else if at <= last {
                let message = format!("`{}` does not come after the frequency before it", cell(x));
                findings.push(
                    Finding::new(Slug::BadValue, message)
                        .at(place(), "out of order")
                        .help("sort the rows by frequency, each frequency once"),
                );
            } else {
                points.push((at, level));
            }
        }
        if !findings.is_empty() {
            return Err(findings);
        }
        if points.len() < FEWEST {
            let message = format!(
                "`{}` holds a response of {} points",
                file.value,
                points.len()
            );
            return Err(vec![
                Finding::new(Slug::NotComputable, message)
                    .at(file.place.clone(), "this file")
                    .at(Place::new(id, head_place(text)), "its columns")
                    .help(format!(
                        "give it {FEWEST} rows at least, from below the corner to above it"
                    )),
            ]);
        }
        Ok(points)
    }
}

/// The unit in brackets at the end of a head, where it is of the right sort.
fn unit(
    head: &Located<String>,
    example: &str,
    fits: impl Fn(&Unit) -> bool,
) -> Result<Unit, Box<Finding>> {
    let found = super::readings::unit(&head.value);
    found.filter(fits).ok_or_else(|| {
        let message = format!("the column `{}` states no unit that fits", head.value);
        let finding = Finding::new(Slug::UnknownUnit, message)
            .at(head.place.clone(), "this column")
            .help(format!(
                "write the unit of the values in brackets at the end of the head: `… ({example})`"
            ));
        Box::new(finding)
    })
}
