//! A panel of a plot: two axes, their grid and numbers, and curves.

use plotters::chart::{ChartBuilder, ChartContext};
use plotters::coord::cartesian::Cartesian2d;
use plotters::series::LineSeries;

use super::PlotError;
use super::backend::{STEPS, Svg};
use super::canvas::{Anchor, Canvas, Frame, Place, WIDTH, lettering};
use super::ink::Ink;
use super::ruled::{Ruled, Scale};
use super::ticks::Ticks;

/// The values along an axis of a panel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Span {
    pub scale: Scale,
    pub from: f64,
    pub to: f64,
}

impl Span {
    /// A value brought to the nearest one on the axis.
    fn bring(self, value: f64) -> f64 {
        value.max(self.from).min(self.to)
    }
}

/// The least and the greatest of the values that are finite; upside down where
/// there are none.
pub(super) fn around(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let finite = values.filter(|value| value.is_finite());
    finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(from, to), value| {
        (from.min(value), to.max(value))
    })
}

/// A panel on a canvas.
pub(super) struct Panel<'a> {
    chart: ChartContext<'a, Svg<'a>, Cartesian2d<Ruled, Ruled>>,
    pub frame: Frame,
    pub x: Span,
    pub y: Span,
}

impl<'a> Panel<'a> {
    /// A panel in a frame of a canvas of a height.
    pub fn new(
        canvas: &Canvas<'a>,
        height: f64,
        frame: Frame,
        (x, y): (Span, Span),
    ) -> Result<Panel<'a>, PlotError> {
        let margin = |pixels: f64| (pixels * STEPS).round() as i32;
        let ruled = |span: Span| Ruled::new(span.scale, (span.from, span.to));
        let chart = ChartBuilder::on(&canvas.root)
            .margin_left(margin(frame.left))
            .margin_right(margin(WIDTH - frame.right))
            .margin_top(margin(frame.top))
            .margin_bottom(margin(height - frame.bottom))
            .build_cartesian_2d(ruled(x), ruled(y))?;
        Ok(Panel { chart, frame, x, y })
    }

    /// Where a pair of values is, in pixels.
    pub fn at(&self, x: f64, y: f64) -> Place {
        let pair = (self.x.bring(x), self.y.bring(y));
        let (x, y) = self.chart.backend_coord(&pair);
        (f64::from(x) / STEPS, f64::from(y) / STEPS)
    }

    pub fn x_at(&self, x: f64) -> f64 {
        self.at(x, self.y.from).0
    }

    pub fn y_at(&self, y: f64) -> f64 {
        self.at(self.x.from, y).1
    }

    /// Draws the lines at the numbers of both axes.
    pub fn grid(&self, canvas: &Canvas, x: &Ticks, y: &Ticks) -> Result<(), PlotError> {
        let Frame {
            left,
            top,
            right,
            bottom,
        } = self.frame;
        let upright = |at: f64| {
            let x = self.x_at(at);
            [(x, top), (x, bottom)]
        };
        let level = |at: f64| {
            let y = self.y_at(at);
            [(left, y), (right, y)]
        };
        for at in &x.between {
            canvas.line(Ink::FineGrid, &upright(*at))?;
        }
        for at in &y.between {
            canvas.line(Ink::FineGrid, &level(*at))?;
        }
        for (at, _) in &x.at {
            canvas.line(Ink::Grid, &upright(*at))?;
        }
        for (at, _) in &y.at {
            canvas.line(Ink::Grid, &level(*at))?;
        }
        Ok(())
    }

    /// Draws both axes, over what stands on them.
    pub fn axes(&self, canvas: &Canvas) -> Result<(), PlotError> {
        let Frame {
            left,
            top,
            right,
            bottom,
        } = self.frame;
        let edge = [(left, top), (left, bottom), (right, bottom)];
        canvas.line(Ink::Frame, &edge)
    }

    /// Writes the numbers at the left edge, as many as have room.
    pub fn y_numbers(&self, canvas: &mut Canvas, ticks: &Ticks) -> Result<(), PlotError> {
        let mut free = f64::INFINITY;
        for (value, text) in ticks.at.iter().filter(|tick| !tick.1.is_empty()) {
            let at = (self.frame.left - 6.0, self.y_at(*value) + 4.5);
            let room = lettering(text, at, Anchor::End);
            if room.bottom <= free {
                canvas.text(Ink::Number, at, Anchor::End, text)?;
                free = room.top;
            }
        }
        Ok(())
    }

    /// Writes the numbers below, as many as have room.
    pub fn x_numbers(&self, canvas: &mut Canvas, ticks: &Ticks) -> Result<(), PlotError> {
        let y = self.frame.bottom + 20.0;
        let mut free = 0.0;
        for (value, text) in ticks.at.iter().filter(|tick| !tick.1.is_empty()) {
            let x = self.x_at(*value);
            let room = lettering(text, (x, y), Anchor::Middle);
            // At the edge of the sheet, a number moves inwards.
            let shift = (WIDTH - 1.0 - room.right).min(0.0);
            if room.left + shift >= free {
                canvas.text(Ink::Number, (x + shift, y), Anchor::Middle, text)?;
                free = room.right + shift + 6.0;
            }
        }
        Ok(())
    }

    /// Draws a curve through pairs of values; where one has no place on the
    /// axes, there is a gap.
    pub fn curve(
        &mut self,
        canvas: &mut Canvas,
        ink: Ink,
        points: &[(f64, f64)],
    ) -> Result<(), PlotError> {
        let (x, y) = (self.x, self.y);
        let held = |point: &(f64, f64)| x.scale.holds(point.0) && y.scale.holds(point.1);
        let pieces = points.split(|point| !held(point));
        for piece in pieces.filter(|piece| !piece.is_empty()) {
            let brought = piece
                .iter()
                .map(|point| (x.bring(point.0), y.bring(point.1)));
            let brought: Vec<(f64, f64)> = brought.collect();
            let line = brought.iter().map(|(x, y)| self.at(*x, *y)).collect();
            canvas.lines.push(line);
            self.chart
                .draw_series(LineSeries::new(brought, ink.stroke()))?;
        }
        Ok(())
    }
}
