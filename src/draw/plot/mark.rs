//! Values that are named on the x axis of a plot: a stroke and a label above it.

use super::PlotError;
use super::canvas::{Anchor, Canvas, text_width};
use super::ink::Ink;
use super::panel::Panel;

/// A value that is named on the x axis.
#[derive(Clone, PartialEq, Debug)]
pub struct PlotMark {
    /// What is written above it.
    pub label: String,
    /// The value.
    pub at: f64,
}

/// Height of the stroke of a label in the lowest row, in pixels.
const STROKE: f64 = 8.0;
/// From one row of labels to the next: the room that letters take, and a little.
const ROW: f64 = 15.0;
/// Most rows; what has no room in them stays without a label.
const ROWS: usize = 6;
/// Air to the left of a label, in pixels.
const AIR: f64 = 3.0;

/// Draws marks on the axis, each label to the left of the end of its stroke.
/// Labels that would touch stand in rows above each other.
pub(super) fn draw<'m>(
    canvas: &mut Canvas,
    panel: &Panel,
    marks: impl Iterator<Item = &'m PlotMark>,
) -> Result<(), PlotError> {
    let mut marks: Vec<&PlotMark> = marks.collect();
    marks.sort_by(|a, b| a.at.total_cmp(&b.at));
    let places: Vec<(f64, f64)> = marks
        .iter()
        .map(|mark| (panel.x_at(mark.at), text_width(&mark.label)))
        .collect();
    let bottom = panel.frame.bottom;
    let rows = rows(&places, panel.frame.left);
    for ((mark, (x, _)), row) in marks.iter().zip(places).zip(rows) {
        let top = bottom - STROKE - row.map_or(0.0, |row| ROW * (row + 1) as f64);
        canvas.line(Ink::Extension, &[(x, bottom), (x, top)])?;
        if row.is_some() {
            let at = (x - 2.0, top + ROW - 3.0);
            canvas.text(Ink::Label, at, Anchor::End, &mark.label)?;
        }
    }
    Ok(())
}

/// The row of each label, given where its stroke is and how wide it is, from
/// left to right: the lowest in which no earlier stroke passes through it. A
/// label ends at its stroke, so later strokes never do.
fn rows(places: &[(f64, f64)], left: f64) -> Vec<Option<usize>> {
    let mut rows: Vec<Option<usize>> = Vec::with_capacity(places.len());
    for (at, &(x, width)) in places.iter().enumerate() {
        let start = x - width - AIR;
        let free = |row: usize| {
            let mut earlier = places[..at].iter().zip(&rows);
            earlier.all(|((other, _), its_row)| {
                *other <= start || its_row.is_none_or(|its_row| its_row < row)
            })
        };
        rows.push((0..ROWS).find(|&row| start >= left && free(row)));
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_that_would_touch_stand_in_rows() {
        let apart = rows(&[(30.0, 20.0), (60.0, 20.0)], 0.0);
        assert_eq!(apart, [Some(0), Some(0)]);
        let near = rows(
            &[(30.0, 20.0), (35.0, 20.0), (40.0, 20.0), (70.0, 20.0)],
            0.0,
        );
        assert_eq!(near, [Some(0), Some(1), Some(2), Some(0)]);
        assert_eq!(
            rows(&[(10.0, 20.0)], 0.0),
            [None],
            "it would cross the axis"
        );
    }
}
