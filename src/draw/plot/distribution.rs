//! The distribution of a figure: a histogram, and above it its intervals as
//! dimension lines.

use super::canvas::{Anchor, Canvas, Frame, WIDTH, sheet, text_width};
use super::dimension::{dimension, limits, write_near};
use super::ink::Ink;
use super::panel::{Panel, Span, around};
use super::ruled::Scale;
use super::table::{Column, Table};
use super::ticks::{Ticks, linear};
use super::{Plot, PlotError};
use crate::draw::caption::Caption;

/// A distribution to be drawn.
#[derive(Clone, PartialEq, Debug)]
pub struct Distribution {
    /// What the plot is called.
    pub caption: Caption,
    /// What is distributed; the name of the axis.
    pub name: String,
    /// The unit of every value here; empty for a plain number.
    pub unit: String,
    /// What the histogram counts, as the head of a column: `Trials`.
    pub counted: &'static str,
    /// The histogram, by rising value.
    pub bins: Vec<Bin>,
    /// The nominal value, drawn as a centre line, and what is written at it.
    pub nominal: Option<(f64, String)>,
    /// Intervals, drawn from below to above in this order: the coverage
    /// interval, the worst case.
    pub intervals: Vec<Interval>,
    /// What is required.
    pub requirement: Option<Requirement>,
}

/// A bin of a histogram.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Bin {
    /// Its lower edge.
    pub from: f64,
    /// Its upper edge.
    pub to: f64,
    /// How many trials fell into it.
    pub count: u64,
}

/// An interval of the figure.
#[derive(Clone, PartialEq, Debug)]
pub struct Interval {
    /// What is written on its dimension line, such as "worst case 3.1 V to
    /// 3.4 V".
    pub label: String,
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
}

/// What is required of the figure.
#[derive(Clone, PartialEq, Debug)]
pub struct Requirement {
    /// What is written at it, such as "must be 3.0 V to 3.6 V".
    pub label: String,
    /// The least that is allowed.
    pub low: Option<f64>,
    /// The most that is allowed.
    pub high: Option<f64>,
}

/// From the top of the plot to the first row.
const ABOVE: f64 = 8.0;
/// Height of a row with a dimension line and its text.
const ROW: f64 = 25.0;
/// From the top of a row to its line.
const TO_LINE: f64 = ROW - 6.0;
const PILES: f64 = 130.0;
/// From the bottom of the piles to the bottom of the plot.
const BELOW: f64 = 44.0;
/// A limit that is further away than this many widths of the rest is not drawn
/// to scale: the rest would shrink to a line.
const FAR: f64 = 1.5;

impl Distribution {
    /// Draws the histogram with its intervals.
    ///
    /// # Errors
    /// [`PlotError::NothingToDraw`] where no bin holds anything.
    pub fn plot(&self) -> Result<Plot, PlotError> {
        let sound = self.bins.iter().copied().filter(Bin::is_sound);
        let bins: Vec<Bin> = sound.collect();
        let trials: f64 = bins.iter().map(|bin| bin.count as f64).sum();
        if trials <= 0.0 {
            return Err(PlotError::NothingToDraw);
        }
        let rows = self.intervals.iter().filter(|one| one.is_sound()).count()
            + usize::from(self.requirement.is_some())
            + usize::from(self.nominal.is_some());
        let top = ABOVE + ROW * rows as f64;
        let height = top + PILES + BELOW;
        let share = |bin: &Bin| 100.0 * bin.count as f64 / trials;
        let most = bins.iter().map(share).fold(0.0, f64::max) * 1.08;
        let y = Span {
            scale: Scale::Linear,
            from: 0.0,
            to: most,
        };
        let x = self.span(&bins);
        let shares = percent(linear((y.from, y.to), 4));
        let widest = shares.at.iter().map(|(_, text)| text_width(text));
        let left = (widest.fold(0.0, f64::max) + 10.0).ceil();
        let frame = Frame::new(left, top, WIDTH - 12.0, top + PILES);
        let svg = sheet(&self.caption, "of-distribution", height, |canvas| {
            let panel = Panel::new(canvas, height, frame, (x, y))?;
            let x_ticks = linear((x.from, x.to), 5);
            self.allowed(canvas, &panel)?;
            panel.grid(canvas, &x_ticks, &shares)?;
            panel.y_numbers(canvas, &shares)?;
            panel.x_numbers(canvas, &x_ticks)?;
            for bin in bins.iter().filter(|bin| bin.count > 0) {
                self.pile(canvas, &panel, bin, share(bin))?;
            }
            panel.axes(canvas)?;
            let name = Column::new(self.name.clone(), self.unit.clone()).heading();
            let middle = ((frame.left + frame.right) / 2.0, height - 8.0);
            canvas.text(Ink::AxisName, middle, Anchor::Middle, &name)?;
            self.lines_above(canvas, &panel)
        })?;
        let filled = bins.iter().filter(|bin| bin.count > 0);
        let outside = filled.flat_map(|bin| self.parts(bin)).any(|part| !part.2);
        let overstepped = self.intervals.iter().any(|one| self.oversteps(one));
        Ok(Plot {
            svg,
            table: self.table(trials),
            amiss: outside || overstepped,
        })
    }

    /// From the least to the greatest value that is drawn.
    fn span(&self, bins: &[Bin]) -> Span {
        let edges = bins.iter().flat_map(|bin| [bin.from, bin.to]);
        let ends = self.intervals.iter().filter(|one| one.is_sound());
        let ends = ends.flat_map(|one| [one.low, one.high]);
        let nominal = self.nominal.iter().map(|(value, _)| *value);
        let (from, to) = around(edges.chain(ends).chain(nominal));
        let width = to - from;
        let limits = self.requirement.iter();
        let limits = limits.flat_map(|one| [one.low, one.high]).flatten();
        let near = |limit: &f64| *limit > from - FAR * width && *limit < to + FAR * width;
        let (from, to) = around(limits.filter(near).chain([from, to]));
        let air = 0.06 * (to - from);
        Span {
            scale: Scale::Linear,
            from: from - air,
            to: to + air,
        }
    }

    /// The band that is required, behind everything else.
    fn allowed(&self, canvas: &Canvas, panel: &Panel) -> Result<(), PlotError> {
        let Some(requirement) = &self.requirement else {
            return Ok(());
        };
        let low = requirement.low.filter(|low| !low.is_nan());
        let high = requirement.high.filter(|high| !high.is_nan());
        let left = low.map_or(panel.frame.left, |low| panel.x_at(low));
        let right = high.map_or(panel.frame.right, |high| panel.x_at(high));
        if left < right {
            let band = Frame::new(left, ABOVE + TO_LINE, right, panel.frame.bottom);
            canvas.area(Ink::Allowed, band)?;
        }
        Ok(())
    }

    /// The parts of a bin, with whether each is allowed.
    fn parts(&self, bin: &Bin) -> Vec<(f64, f64, bool)> {
        let limits = self.requirement.as_ref();
        let low = limits.and_then(|one| one.low).filter(|low| !low.is_nan());
        let high = limits
            .and_then(|one| one.high)
            .filter(|high| !high.is_nan());
        let low = low.unwrap_or(f64::NEG_INFINITY).clamp(bin.from, bin.to);
        let high = high.unwrap_or(f64::INFINITY).clamp(low, bin.to);
        let parts = [
            (bin.from, low, false),
            (low, high, true),
            (high, bin.to, false),
        ];
        parts.into_iter().filter(|part| part.0 < part.1).collect()
    }

    fn pile(&self, canvas: &Canvas, panel: &Panel, bin: &Bin, share: f64) -> Result<(), PlotError> {
        for (from, to, allowed) in self.parts(bin) {
            let ink = if allowed { Ink::Pile } else { Ink::PileAmiss };
            let (left, top) = panel.at(from, share);
            let pile = Frame::new(left, top, panel.x_at(to), panel.frame.bottom);
            canvas.area(ink, pile)?;
        }
        Ok(())
    }

    fn oversteps(&self, interval: &Interval) -> bool {
        self.requirement.as_ref().is_some_and(|one| {
            one.low.is_some_and(|low| interval.low < low)
                || one.high.is_some_and(|high| interval.high > high)
        })
    }

    /// Requirement, intervals and nominal value, each in a row of its own from
    /// the top down. Lines first, so that texts keep away from all of them.
    fn lines_above(&self, canvas: &mut Canvas, panel: &Panel) -> Result<(), PlotError> {
        let mut row = ABOVE + TO_LINE;
        let mut texts: Vec<(Ink, String, (f64, f64))> = Vec::new();
        if let Some(requirement) = &self.requirement {
            let (text, middle) = limits(canvas, panel, requirement, row)?;
            texts.push((Ink::Label, text, (middle, row - 5.0)));
            row += ROW;
        }
        for interval in self.intervals.iter().rev().filter(|one| one.is_sound()) {
            let missed = self.oversteps(interval);
            let middle = dimension(canvas, panel, interval, row, missed)?;
            let ink = if missed { Ink::LabelAmiss } else { Ink::Label };
            texts.push((ink, interval.label.clone(), (middle, row - 5.0)));
            row += ROW;
        }
        let nominal = self.nominal.as_ref();
        if let Some((value, text)) = nominal.filter(|(value, _)| value.is_finite()) {
            let x = panel.x_at(*value);
            canvas.line(Ink::Centre, &[(x, row), (x, panel.frame.bottom)])?;
            texts.push((Ink::Label, text.clone(), (x, row - 5.0)));
        }
        for (ink, text, at) in texts {
            write_near(canvas, panel, ink, &text, at)?;
        }
        Ok(())
    }

    fn table(&self, trials: f64) -> Table {
        let unit = self.unit.as_str();
        let row = |bin: &Bin| {
            let count = bin.count as f64;
            let values = [bin.from, bin.to, count, 100.0 * count / trials];
            values.map(Some).to_vec()
        };
        Table {
            columns: vec![
                Column::new(format!("{}, from", self.name), unit),
                Column::new(format!("{}, to", self.name), unit),
                Column::new(self.counted, ""),
                Column::new("Share", "%"),
            ],
            rows: self
                .bins
                .iter()
                .filter(|bin| bin.is_sound())
                .map(row)
                .collect(),
        }
    }
}

impl Bin {
    fn is_sound(&self) -> bool {
        self.from.is_finite() && self.to.is_finite() && self.from < self.to
    }
}

impl Interval {
    fn is_sound(&self) -> bool {
        self.low.is_finite() && self.high.is_finite()
    }
}

fn percent(mut ticks: Ticks) -> Ticks {
    for (_, text) in &mut ticks.at {
        text.push_str("\u{a0}%");
    }
    ticks
}
