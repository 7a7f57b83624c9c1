//! Frequency response: gain and phase over a logarithmic frequency.

use super::bound::Bound;
use super::canvas::{Anchor, Canvas, Frame, Place, WIDTH, sheet, text_width};
use super::ink::Ink;
use super::panel::{Panel, Span, around};
use super::ruled::Scale;
use super::table::{Column, Table};
use super::ticks::{DECIBELS, DEGREES, Ticks, frequency, logarithmic, multiples, step_of};
use super::{Plot, PlotError, label};
use crate::draw::caption::Caption;

/// A frequency response to be drawn.
#[derive(Clone, PartialEq, Debug)]
pub struct FrequencyResponse {
    /// What the plot is called.
    pub caption: Caption,
    /// The responses: one as a rule, more for the corners of a spread.
    pub responses: Vec<Response>,
    /// Requirements on the gain.
    pub bounds: Vec<Bound>,
    /// Whether the frequencies are marked at which the first response has
    /// fallen to half of its greatest power (−3 dB).
    pub half_power: bool,
}

/// One response.
#[derive(Clone, PartialEq, Debug)]
pub struct Response {
    /// What is written at its end; empty where there is only one.
    pub name: String,
    /// Its points, by rising frequency.
    pub points: Vec<ResponsePoint>,
}

/// A response at one frequency.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ResponsePoint {
    /// Frequency in Hz, above zero.
    pub frequency_hz: f64,
    /// Gain in dB.
    pub gain_db: f64,
    /// Phase in degrees; turns of 360° between neighbours are taken out.
    pub phase_deg: f64,
}

/// Half of the power, in dB: 10 lg 2.
const HALF_POWER: f64 = 3.010_299_956_639_812;
/// A gain so far below the greatest one is not drawn.
const DEEPEST: f64 = 160.0;
const TOP: f64 = 26.0;
const GAIN: f64 = 160.0;
const BETWEEN: f64 = 30.0;
const PHASE: f64 = 90.0;
const HEIGHT: f64 = TOP + GAIN + BETWEEN + PHASE + 42.0;

type Points = Vec<(f64, f64)>;

impl FrequencyResponse {
    /// Draws gain above phase.
    ///
    /// # Errors
    /// [`PlotError::NothingToDraw`] where the responses do not have two
    /// different frequencies above zero, or no finite gain or phase.
    pub fn plot(&self) -> Result<Plot, PlotError> {
        let responses = self.responses.iter().map(|r| unturned(&r.points));
        let responses: Vec<Vec<ResponsePoint>> = responses.collect();
        let curves = |value: fn(&ResponsePoint) -> f64| -> Vec<Points> {
            let pair = |point: &ResponsePoint| (point.frequency_hz, value(point));
            responses
                .iter()
                .map(|points| points.iter().map(pair).collect())
                .collect()
        };
        let gains = curves(|point| point.gain_db);
        let phases = curves(|point| point.phase_deg);
        let missed = self.bounds.iter();
        let missed = missed.map(|bound| gains.iter().any(|curve| bound.is_missed(curve)));
        let missed: Vec<bool> = missed.collect();
        let axes = self.axes(&gains, &phases)?;
        let svg = sheet(&self.caption, "of-frequency", HEIGHT, |canvas| {
            self.drawn(canvas, &axes, &gains, &phases, &missed)
        })?;
        Ok(Plot {
            svg,
            table: self.table(&responses),
            amiss: missed.contains(&true),
        })
    }

    fn axes(&self, gains: &[Points], phases: &[Points]) -> Result<Axes, PlotError> {
        let hertz = gains.iter().flatten().map(|point| point.0);
        let x = span(Scale::Logarithmic, around(hertz))?;
        if x.from >= x.to {
            return Err(PlotError::NothingToDraw);
        }
        let levels = gains.iter().flatten().map(|point| point.1);
        let levels = levels.chain(self.bounds.iter().map(|bound| bound.level));
        let mut gain = span(Scale::Linear, around(levels))?;
        gain.from = gain.from.max(gain.to - DEEPEST);
        let turns = phases.iter().flatten().map(|point| point.1);
        let phase = span(Scale::Linear, around(turns))?;
        Ok(Axes {
            x,
            gain: rounded(gain, 6, &DECIBELS),
            phase: rounded(phase, 4, &DEGREES),
        })
    }

    fn drawn(
        &self,
        canvas: &mut Canvas,
        axes: &Axes,
        gains: &[Points],
        phases: &[Points],
        missed: &[bool],
    ) -> Result<(), PlotError> {
        let (gain_ticks, phase_ticks) = (&axes.gain.1, &axes.phase.1);
        let names = self.responses.iter().map(|response| response.name.as_str());
        let numbers = gain_ticks.at.iter().chain(&phase_ticks.at);
        let widest = numbers
            .map(|(_, text)| text_width(text))
            .fold(0.0, f64::max);
        let left = (widest + 10.0).ceil();
        let right = WIDTH - label::room(names).max(14.0);
        let upper = Frame::new(left, TOP, right, TOP + GAIN);
        let lower_top = TOP + GAIN + BETWEEN;
        let lower = Frame::new(left, lower_top, right, lower_top + PHASE);
        let mut gain = Panel::new(canvas, HEIGHT, upper, (axes.x, axes.gain.0))?;
        let mut phase = Panel::new(canvas, HEIGHT, lower, (axes.x, axes.phase.0))?;
        let most = ((right - left) / 58.0) as usize;
        let range = (axes.x.from, axes.x.to);
        let x_ticks = logarithmic(range, most, &|hertz| frequency(hertz, 3));

        gain.grid(canvas, &x_ticks, gain_ticks)?;
        gain.axes(canvas)?;
        gain.y_numbers(canvas, gain_ticks)?;
        phase.grid(canvas, &x_ticks, phase_ticks)?;
        phase.axes(canvas)?;
        phase.y_numbers(canvas, phase_ticks)?;
        phase.x_numbers(canvas, &x_ticks)?;
        let middle = (left + right) / 2.0;
        let names = [
            ((left, TOP - 10.0), Anchor::Start, "Gain in dB"),
            ((left, lower_top - 10.0), Anchor::Start, "Phase in °"),
            ((middle, HEIGHT - 7.0), Anchor::Middle, "Frequency"),
        ];
        for (at, anchor, name) in names {
            canvas.text(Ink::AxisName, at, anchor, name)?;
        }

        for (number, curve) in gains.iter().enumerate() {
            // What is deeper than the panel is cut off, not laid on its edge.
            let deepest = gain.y.from - 0.01 * (gain.y.to - gain.y.from);
            let cut = |(x, y): &(f64, f64)| (*x, if *y < deepest { f64::NAN } else { *y });
            let curve: Points = curve.iter().map(cut).collect();
            gain.curve(canvas, Ink::curve(number), &curve)?;
        }
        let drawn: Vec<Vec<Place>> = canvas.lines.clone();
        for (number, curve) in phases.iter().enumerate() {
            phase.curve(canvas, Ink::curve(number), curve)?;
        }
        let first = gains.first().filter(|_| self.half_power);
        let corners = first.map_or_else(Vec::new, |curve| half_power(curve));
        // Labels of bounds keep away from the lines of the corners, too.
        for (hertz, level) in &corners {
            let (x, y) = gain.at(*hertz, *level);
            canvas.lines.push(vec![(x, y), (x, gain.frame.bottom)]);
        }
        for (bound, missed) in self.bounds.iter().zip(missed) {
            bound.draw(canvas, &gain, &drawn, *missed)?;
        }
        let ends = self.responses.iter().zip(gains);
        let ends = ends.filter_map(|(response, curve)| {
            let last = curve.iter().rev().find(|point| point.1.is_finite())?;
            Some((gain.y_at(last.1), response.name.as_str()))
        });
        label::at_ends(canvas, upper, ends.collect())?;
        for corner in corners {
            mark(canvas, &gain, &phase, corner)?;
        }
        Ok(())
    }

    fn table(&self, responses: &[Vec<ResponsePoint>]) -> Table {
        let mut columns = vec![Column::new("Frequency", "Hz")];
        for response in &self.responses {
            let of = |what: &str| match response.name.as_str() {
                "" => what.to_owned(),
                name => format!("{what}, {name}"),
            };
            columns.push(Column::new(of("Gain"), "dB"));
            columns.push(Column::new(of("Phase"), "°"));
        }
        let row = |point: &ResponsePoint| {
            let values = vec![point.gain_db, point.phase_deg];
            (point.frequency_hz, values)
        };
        let curves = responses
            .iter()
            .map(|points| points.iter().map(row).collect());
        Table::joined(columns, &curves.collect::<Vec<_>>())
    }
}

/// The axes of both panels, with the numbers at those that are rounded.
struct Axes {
    x: Span,
    gain: (Span, Ticks),
    phase: (Span, Ticks),
}

/// Points at frequencies above zero, whole turns between neighbours taken out
/// of the phase.
fn unturned(points: &[ResponsePoint]) -> Vec<ResponsePoint> {
    let held = |point: &&ResponsePoint| Scale::Logarithmic.holds(point.frequency_hz);
    let mut turns = 0.0;
    let mut last: Option<f64> = None;
    let point = |point: &ResponsePoint| {
        if point.phase_deg.is_finite() {
            if let Some(last) = last {
                turns -= ((point.phase_deg - last) / 360.0).round();
            }
            last = Some(point.phase_deg);
        }
        ResponsePoint {
            phase_deg: point.phase_deg + 360.0 * turns,
            ..*point
        }
    };
    points.iter().filter(held).map(point).collect()
}

fn span(scale: Scale, (from, to): (f64, f64)) -> Result<Span, PlotError> {
    if from > to {
        return Err(PlotError::NothingToDraw);
    }
    Ok(Span { scale, from, to })
}

/// The next multiples of a step around a span, with the numbers there.
fn rounded(span: Span, most: usize, steps: &[f64]) -> (Span, Ticks) {
    // Curves that are level get a span all the same.
    let least = steps.get(3).copied().unwrap_or(1.0);
    let spare = (least - (span.to - span.from)).max(0.0) / 2.0;
    let (from, to) = (span.from - spare, span.to + spare);
    let step = step_of((to - from) * 1.05, most, steps);
    // A hair beyond a multiple is not worth a step.
    let from = (from / step + 2e-3).floor() * step;
    let to = (to / step - 2e-3).ceil() * step;
    let rounded = Span { from, to, ..span };
    (rounded, multiples((from, to), step))
}

/// Where a curve falls to half of its greatest power, on both sides of it; on
/// the straight line between two points over the logarithm of the frequency.
fn half_power(curve: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let finite = curve.iter().enumerate();
    let finite = finite.filter(|(_, point)| point.1.is_finite());
    let Some((peak, top)) = finite.max_by(|a, b| a.1.1.total_cmp(&b.1.1)) else {
        return Vec::new();
    };
    let level = top.1 - HALF_POWER;
    let crossing = |inner: (f64, f64), outer: (f64, f64)| {
        let part = (inner.1 - level) / (inner.1 - outer.1);
        (inner.0 * (outer.0 / inner.0).powf(part), level)
    };
    let above = curve[peak..].windows(2).find(|pair| pair[1].1 < level);
    let below = curve[..=peak]
        .windows(2)
        .rev()
        .find(|pair| pair[0].1 < level);
    let below = below.map(|pair| crossing(pair[1], pair[0]));
    let above = above.map(|pair| crossing(pair[0], pair[1]));
    let found = below.into_iter().chain(above);
    found.filter(|(hertz, _)| hertz.is_finite()).collect()
}

/// Marks a corner frequency through both panels, and names it.
fn mark(
    canvas: &mut Canvas,
    gain: &Panel,
    phase: &Panel,
    (hertz, level): (f64, f64),
) -> Result<(), PlotError> {
    let (x, y) = gain.at(hertz, level);
    let upper = [(x, y), (x, gain.frame.bottom)];
    let lower = [(x, phase.frame.top), (x, phase.frame.bottom)];
    canvas.line(Ink::Extension, &upper)?;
    canvas.line(Ink::Extension, &lower)?;
    canvas.circle(Ink::Mark, (x, y), 3.5)?;
    let text = format!("−3\u{a0}dB at {}", frequency(hertz, 3));
    let places = places_around((x, y), gain.frame);
    let taken = canvas.text_where_free(Ink::Label, &text, gain.frame, &places)?;
    // A text that is far off gets a leader with a line to stand on (after
    // ISO 128-2, from memory).
    let Some(taken) = taken else {
        return Ok(());
    };
    let (near, end) = if taken.left > x {
        (taken.left, taken.right)
    } else {
        (taken.right, taken.left)
    };
    if (taken.left - x).max(x - taken.right) > 20.0 {
        let foot = taken.bottom;
        let (dx, dy) = (near - x, foot - y);
        let length = dx.hypot(dy).max(1.0);
        let start = (x + dx / length * 3.5, y + dy / length * 3.5);
        canvas.line(Ink::Extension, &[start, (near, foot), (end, foot)])?;
    }
    Ok(())
}

/// Places around a mark, the nearest first, and then along the edges of the
/// panel.
fn places_around((x, y): Place, panel: Frame) -> Vec<(Place, Anchor)> {
    let mut places: Vec<(Place, Anchor)> = Vec::new();
    for across in [8.0, 16.0, 28.0, 44.0, 64.0, 90.0] {
        for down in [-6.0, -24.0, 15.0, 30.0, 48.0, 68.0, 90.0] {
            places.push(((x + across, y + down), Anchor::Start));
            places.push(((x - across, y + down), Anchor::End));
        }
    }
    for down in [15.0, 30.0, 48.0, 68.0] {
        places.push(((panel.right - 4.0, y + down), Anchor::End));
        places.push(((panel.left + 4.0, y + down), Anchor::Start));
    }
    let away = |((to_x, to_y), _): &(Place, Anchor)| (to_x - x).hypot(to_y - 4.5 - y);
    places.sort_by(|a, b| away(a).total_cmp(&away(b)));
    places
}
