//! A requirement on a curve: a line that it must not cross, hatched on the
//! side that is forbidden.

use super::PlotError;
use super::canvas::{Anchor, Canvas, Frame, Place};
use super::ink::Ink;
use super::panel::Panel;

/// On which side of a level a curve must stay.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Side {
    /// The level or above.
    AtLeast,
    /// The level or below.
    AtMost,
}

/// A requirement on curves over a part of the x axis.
#[derive(Clone, PartialEq, Debug)]
pub struct Bound {
    /// What is written at it, such as "at least −40 dB".
    pub label: String,
    /// Where it begins, as a value of the x axis; at the left edge if nothing.
    pub from: Option<f64>,
    /// Where it ends; at the right edge if nothing.
    pub to: Option<f64>,
    /// The level, as a value of the y axis.
    pub level: f64,
    /// The side that is allowed.
    pub side: Side,
}

/// From one stroke of the hatching to the next, in pixels.
const HATCH: f64 = 9.0;

/// Width at which a bound is drawn at least, in pixels.
const NARROWEST: f64 = 24.0;

impl Bound {
    /// Whether a level is forbidden.
    fn forbids(&self, level: f64) -> bool {
        match self.side {
            Side::AtLeast => level < self.level,
            Side::AtMost => level > self.level,
        }
    }

    /// Whether a curve through pairs of values misses it, also where the bound
    /// begins or ends between two of them.
    pub(super) fn is_missed(&self, points: &[(f64, f64)]) -> bool {
        let from = self.from.unwrap_or(f64::NEG_INFINITY);
        let to = self.to.unwrap_or(f64::INFINITY);
        let missed_at = |(x, y): &(f64, f64)| *x >= from && *x <= to && self.forbids(*y);
        let missed_between = |pair: &[(f64, f64)]| {
            let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
            [from, to]
                .into_iter()
                .any(|x| x0 < x && x < x1 && self.forbids(y0 + (y1 - y0) * (x - x0) / (x1 - x0)))
        };
        points.iter().any(missed_at) || points.windows(2).any(missed_between)
    }

    /// Draws the line with its hatching, and in red what curves have beyond
    /// it.
    pub(super) fn draw(
        &self,
        canvas: &mut Canvas,
        panel: &Panel,
        curves: &[Vec<Place>],
        missed: bool,
    ) -> Result<(), PlotError> {
        let left = panel.x_at(self.from.unwrap_or(panel.x.from));
        let right = panel.x_at(self.to.unwrap_or(panel.x.to));
        // A bound at a single value is still to be seen.
        let wider = (NARROWEST - (right - left)).max(0.0) / 2.0;
        let (left, right) = (left - wider, right + wider);
        let y = panel.y_at(self.level);
        let (out, beyond) = match self.side {
            Side::AtLeast => {
                let bottom = panel.frame.bottom + 1.0;
                (1.0, Frame::new(left, y, right, bottom))
            }
            Side::AtMost => (-1.0, Frame::new(left, panel.frame.top - 1.0, right, y)),
        };
        if missed {
            for piece in curves.iter().flat_map(|curve| clipped(curve, beyond)) {
                canvas.line(Ink::CurveAmiss, &piece)?;
            }
        }
        let (ink, label) = if missed {
            (Ink::LimitAmiss, Ink::LabelAmiss)
        } else {
            (Ink::Limit, Ink::Label)
        };
        canvas.line(ink, &[(left, y), (right, y)])?;
        // Texts keep away from the line and from its hatching.
        canvas.lines.push(vec![(left, y), (right, y)]);
        let fringe = y + 6.0 * out;
        canvas.lines.push(vec![(left, fringe), (right, fringe)]);
        let mut x = left + HATCH / 2.0;
        while x + 4.0 <= right {
            canvas.line(ink, &[(x, y), (x + 4.0, fringe)])?;
            x += HATCH;
        }
        let places = places((left, right), y, out, panel.frame);
        canvas.text_where_free(label, &self.label, panel.frame, &places)?;
        Ok(())
    }
}

/// Where the label of a line can stand: near it first, on the forbidden side,
/// which curves keep clear.
fn places((left, right): (f64, f64), y: f64, out: f64, panel: Frame) -> Vec<(Place, Anchor)> {
    let beside = |side: f64, air: f64| {
        // A baseline lies at the foot of the letters.
        if side > 0.0 {
            y + air + 11.5
        } else {
            y - air - 4.0
        }
    };
    let mut places = Vec::new();
    for further in [0.0, 15.0, 30.0] {
        for row in [beside(out, 7.0 + further), beside(-out, 3.0 + further)] {
            places.push(((left + 4.0, row), Anchor::Start));
            places.push(((right - 4.0, row), Anchor::End));
            places.push((((left + right) / 2.0, row), Anchor::Middle));
        }
        places.push(((right + 6.0, y + 4.5), Anchor::Start));
        places.push(((left - 6.0, y + 4.5), Anchor::End));
    }
    // A short bound near the edge of the panel has no room beside it.
    for further in [0.0, 15.0, 30.0, 45.0, 60.0, 75.0] {
        let row = beside(out, 7.0 + further);
        places.push(((panel.right - 4.0, row), Anchor::End));
        places.push(((panel.left + 4.0, row), Anchor::Start));
    }
    places
}

/// The pieces of a curve within a frame.
fn clipped(curve: &[Place], frame: Frame) -> Vec<Vec<Place>> {
    let mut pieces: Vec<Vec<Place>> = Vec::new();
    for pair in curve.windows(2) {
        let Some((from, to)) = frame.clip(pair[0], pair[1]) else {
            continue;
        };
        match pieces.last_mut() {
            Some(piece) if piece.last() == Some(&from) => piece.push(to),
            _ => pieces.push(vec![from, to]),
        }
    }
    // A curve that only touches the level does not overstep it.
    pieces.retain(|piece| piece.windows(2).any(|pair| pair[0] != pair[1]));
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at_most(from: f64, to: f64, level: f64) -> Bound {
        Bound {
            label: String::new(),
            from: Some(from),
            to: Some(to),
            level,
            side: Side::AtMost,
        }
    }

    #[test]
    fn a_bound_is_missed_where_it_holds_alone() {
        let falling = [(0.0, 10.0), (10.0, 0.0)];
        assert!(at_most(0.0, 10.0, 5.0).is_missed(&falling));
        assert!(!at_most(5.0, 10.0, 5.0).is_missed(&falling));
        let between = at_most(4.0, 4.5, 5.0);
        assert!(between.is_missed(&falling), "between the points");
        let touching = at_most(0.0, 10.0, 10.0);
        assert!(!touching.is_missed(&falling));
        let at_least = Bound {
            side: Side::AtLeast,
            ..at_most(0.0, 6.0, 5.0)
        };
        assert!(at_least.is_missed(&falling));
    }

    #[test]
    fn what_is_beyond_is_cut_out() {
        let curve = [(0.0, 0.0), (10.0, 10.0), (20.0, 0.0)];
        let pieces = clipped(&curve, Frame::new(0.0, 5.0, 20.0, 50.0));
        assert_eq!(pieces, [vec![(5.0, 5.0), (10.0, 10.0), (15.0, 5.0)]]);
    }
}
