//! Curves over any quantity, with the units on the axes.

use super::bound::Bound;
use super::canvas::{Anchor, Frame, Place, WIDTH, sheet, text_width};
use super::ink::Ink;
use super::mark::{self, PlotMark};
use super::panel::{Panel, Span, around};
use super::ruled::Scale;
use super::table::{Column, Table};
use super::ticks::{Ticks, linear, logarithmic, multiples, numeral};
use super::{Plot, PlotError, label};
use crate::draw::caption::Caption;

/// Curves to be drawn.
#[derive(Clone, PartialEq, Debug)]
pub struct XyPlot {
    /// What the plot is called.
    pub caption: Caption,
    /// The axis from left to right.
    pub x: Axis,
    /// The axis from below to above.
    pub y: Axis,
    /// The curves.
    pub series: Vec<Series>,
    /// Requirements on all curves.
    pub bounds: Vec<Bound>,
    /// Levels that the curves are read against: as bounds, but no curve has to
    /// keep to them.
    pub lines: Vec<Bound>,
    /// Values that are named on the x axis.
    pub marks: Vec<PlotMark>,
}

/// An axis.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Axis {
    /// The quantity.
    pub name: String,
    /// The unit of its values; empty for a plain number.
    pub unit: String,
    /// How values are spaced.
    pub scale: Scale,
}

/// A curve.
#[derive(Clone, PartialEq, Debug)]
pub struct Series {
    /// What is written at its end; empty where there is only one.
    pub name: String,
    /// Pairs of values, in the units of the axes.
    pub points: Vec<(f64, f64)>,
}

const TOP: f64 = 26.0;
const HIGH: f64 = 210.0;
const HEIGHT: f64 = TOP + HIGH + 44.0;

impl XyPlot {
    /// Draws the curves.
    ///
    /// # Errors
    /// [`PlotError::NothingToDraw`] where fewer than two points have a place
    /// on the axes.
    pub fn plot(&self) -> Result<Plot, PlotError> {
        let held = |(x, y): &&(f64, f64)| self.x.scale.holds(*x) && self.y.scale.holds(*y);
        let points = self.series.iter().flat_map(|series| &series.points);
        let points: Vec<(f64, f64)> = points.filter(held).copied().collect();
        if points.len() < 2 {
            return Err(PlotError::NothingToDraw);
        }
        let levels = self.bounds.iter().chain(&self.lines);
        let levels = levels.map(|bound| bound.level);
        let levels = levels.filter(|level| self.y.scale.holds(*level));
        let marked = self.marks.iter().map(|mark| mark.at);
        let marked = marked.filter(|at| self.x.scale.holds(*at));
        let along = points.iter().map(|point| point.0).chain(marked);
        let (x, x_ticks) = self.x.spanned(around(along), 6, false);
        let along = points.iter().map(|point| point.1).chain(levels);
        let (y, y_ticks) = self.y.spanned(around(along), 6, true);
        let missed = self.bounds.iter().map(|bound| {
            let mut curves = self.series.iter();
            curves.any(|series| bound.is_missed(&series.points))
        });
        let missed: Vec<bool> = missed.collect();
        let widest = y_ticks.at.iter().map(|(_, text)| text_width(text));
        let left = (widest.fold(0.0, f64::max) + 10.0).ceil();
        let names = self.series.iter().map(|series| series.name.as_str());
        let right = WIDTH - label::room(names).max(14.0);
        let frame = Frame::new(left, TOP, right, TOP + HIGH);
        let svg = sheet(&self.caption, "of-curves", HEIGHT, |canvas| {
            let mut panel = Panel::new(canvas, HEIGHT, frame, (x, y))?;
            panel.grid(canvas, &x_ticks, &y_ticks)?;
            panel.axes(canvas)?;
            panel.y_numbers(canvas, &y_ticks)?;
            panel.x_numbers(canvas, &x_ticks)?;
            let (name, at) = (self.y.heading(), (left, TOP - 10.0));
            canvas.text(Ink::AxisName, at, Anchor::Start, &name)?;
            let at = ((left + right) / 2.0, HEIGHT - 8.0);
            canvas.text(Ink::AxisName, at, Anchor::Middle, &self.x.heading())?;
            for (number, series) in self.series.iter().enumerate() {
                panel.curve(canvas, Ink::curve(number), &series.points)?;
            }
            let drawn: Vec<Vec<Place>> = canvas.lines.clone();
            let marks = self.marks.iter();
            let held_marks = marks.filter(|mark| self.x.scale.holds(mark.at));
            mark::draw(canvas, &panel, held_marks)?;
            for line in self
                .lines
                .iter()
                .filter(|line| self.y.scale.holds(line.level))
            {
                line.draw(canvas, &panel, &drawn, false)?;
            }
            for (bound, missed) in self.bounds.iter().zip(&missed) {
                if self.y.scale.holds(bound.level) {
                    bound.draw(canvas, &panel, &drawn, *missed)?;
                }
            }
            let ends = self.series.iter().filter_map(|series| {
                let last = series.points.iter().rev().find(held)?;
                Some((panel.y_at(last.1), series.name.as_str()))
            });
            label::at_ends(canvas, frame, ends.collect())
        })?;
        Ok(Plot {
            svg,
            table: self.table(),
            amiss: missed.contains(&true),
        })
    }

    fn table(&self) -> Table {
        let mut columns = vec![Column::new(self.x.name.clone(), self.x.unit.clone())];
        for series in &self.series {
            let name = match series.name.as_str() {
                "" => self.y.name.clone(),
                name => format!("{}, {name}", self.y.name),
            };
            columns.push(Column::new(name, self.y.unit.clone()));
        }
        let row = |(x, y): &(f64, f64)| (*x, vec![*y]);
        let curves = self.series.iter();
        let curves = curves.map(|series| series.points.iter().map(row).collect());
        Table::joined(columns, &curves.collect::<Vec<_>>())
    }
}

impl Axis {
    fn heading(&self) -> String {
        Column::new(self.name.clone(), self.unit.clone()).heading()
    }

    /// The span of some values and its numbers; rounded to the numbers on both
    /// sides where that is wanted.
    fn spanned(&self, (from, to): (f64, f64), most: usize, round: bool) -> (Span, Ticks) {
        let (mut from, mut to) = (from, to);
        // A curve that is level, as far as numbers can tell, gets a span all
        // the same.
        let size = from.abs().max(to.abs());
        if to - from <= 1e-9 * size {
            let spare = if size == 0.0 { 1.0 } else { 0.1 * size };
            (from, to) = match self.scale {
                Scale::Linear => (from - spare, to + spare),
                Scale::Logarithmic => (from * 0.9, to * 1.1),
            };
        }
        let span = |from, to| Span {
            scale: self.scale,
            from,
            to,
        };
        if self.scale == Scale::Logarithmic {
            let write = |value: f64| numeral(value, value);
            return (span(from, to), logarithmic((from, to), most, &write));
        }
        let ticks = linear((from, to), most);
        let step = match ticks.at.as_slice() {
            [(first, _), (second, _), ..] if round => second - first,
            _ => return (span(from, to), ticks),
        };
        let from = (from / step + 1e-9).floor() * step;
        let to = (to / step - 1e-9).ceil() * step;
        (span(from, to), multiples((from, to), step))
    }
}
