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
/// From one row of labels to the next.
const ROW: f64 = 14.0;
/// Most rows; what has no room in them stays without a label.
const ROWS: usize = 4;

/// Draws marks on the axis. Labels that would touch stand in rows above each
/// other, each at the end of its stroke.
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
    for (mark, (&(x, width), row)) in marks.iter().zip(places.iter().zip(rows(&places))) {
        let top = bottom - STROKE - row.map_or(0.0, |row| ROW * row as f64);
        canvas.line(Ink::Extension, &[(x, bottom), (x, top)])?;
        if row.is_some() {
            let half = width / 2.0;
            let x = x.clamp(
                panel.frame.left + half,
                (panel.frame.right - half).max(panel.frame.left + half),
            );
            canvas.text(Ink::Label, (x, top - 3.0), Anchor::Middle, &mark.label)?;
        }
    }
    Ok(())
}

/// The row of each label, given where its middle is and how wide it is, from
/// left to right: the lowest in which it touches neither the label before it
/// nor the strokes of labels above.
fn rows(places: &[(f64, f64)]) -> Vec<Option<usize>> {
    let mut rows: Vec<Option<usize>> = Vec::with_capacity(places.len());
    for (at, &(x, width)) in places.iter().enumerate() {
        let free = |row: usize| {
            let earlier = places[..at].iter().zip(&rows);
            earlier
                .into_iter()
                .all(|(&(other, its_width), its_row)| match its_row {
                    Some(its_row) if *its_row == row => {
                        x - width / 2.0 >= other + its_width / 2.0 + 4.0
                    }
                    // A higher label's stroke passes through this row.
                    Some(its_row) if *its_row > row => x - width / 2.0 >= other + 2.0,
                    // This stroke passes through the rows below.
                    Some(_) => x >= other + its_width / 2.0 + 2.0,
                    None => true,
                })
        };
        rows.push((0..ROWS).find(|&row| free(row)));
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_that_would_touch_stand_in_rows() {
        let apart = rows(&[(0.0, 20.0), (30.0, 20.0)]);
        assert_eq!(apart, [Some(0), Some(0)]);
        // The second stroke passes beside the first label.
        let near = rows(&[(0.0, 20.0), (15.0, 20.0), (45.0, 20.0)]);
        assert_eq!(near, [Some(0), Some(1), Some(0)]);
        // The second stroke would pass through the first label.
        assert_eq!(rows(&[(0.0, 20.0), (5.0, 20.0)]), [Some(0), None]);
    }
}
