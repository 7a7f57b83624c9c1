//! Dimension lines and limits above a histogram, as on a drawing.

use super::PlotError;
use super::canvas::{Anchor, Canvas, Frame, Place, WIDTH, text_width};
use super::distribution::{Interval, Requirement};
use super::ink::Ink;
use super::panel::Panel;

/// Draws the edges of what is required, hatched on the forbidden side; gives
/// the text and where its middle is wanted. A limit that is too far away to be
/// drawn is pointed at.
pub(super) fn limits(
    canvas: &mut Canvas,
    panel: &Panel,
    requirement: &Requirement,
    top: f64,
) -> Result<(String, f64), PlotError> {
    let mut label = requirement.label.clone();
    let mut ends = [panel.frame.left, panel.frame.right];
    let sides = [(requirement.low, 0, -1.0), (requirement.high, 1, 1.0)];
    for (limit, end, out) in sides {
        let Some(limit) = limit.filter(|limit| limit.is_finite()) else {
            continue;
        };
        if limit < panel.x.from {
            label = format!("← {label}");
            continue;
        }
        if limit > panel.x.to {
            label = format!("{label} →");
            continue;
        }
        let x = panel.x_at(limit);
        ends[end] = x;
        let line = [(x, top), (x, panel.frame.bottom)];
        canvas.line(Ink::Limit, &line)?;
        // Texts keep away from the hatching too.
        canvas.lines.push(line.to_vec());
        canvas
            .lines
            .push(line.map(|(x, y)| (x + 7.0 * out, y)).to_vec());
        let mut y = top + 4.0;
        while y < panel.frame.bottom - 6.0 {
            canvas.line(Ink::Limit, &[(x, y + 4.0), (x + 6.0 * out, y)])?;
            y += 9.0;
        }
    }
    Ok((label, (ends[0] + ends[1]) / 2.0))
}

/// Draws a dimension line with its extension lines (after ISO 129-1, from
/// memory); gives the place for the middle of its text.
pub(super) fn dimension(
    canvas: &mut Canvas,
    panel: &Panel,
    interval: &Interval,
    y: f64,
    missed: bool,
) -> Result<f64, PlotError> {
    let ink = if missed {
        Ink::DimensionAmiss
    } else {
        Ink::Dimension
    };
    let (left, right) = (panel.x_at(interval.low), panel.x_at(interval.high));
    for x in [left, right] {
        let foot = (x, panel.frame.bottom);
        canvas.line(Ink::Extension, &[(x, y - 3.0), foot])?;
        canvas.lines.push(vec![(x, y + 1.0), foot]);
    }
    // Arrows point outwards from within, or inwards where there is no room.
    let within = right - left >= 22.0;
    let reach = if within { 0.0 } else { 14.0 };
    canvas.line(ink, &[(left - reach, y), (right + reach, y)])?;
    for (x, way) in [(left, 1.0), (right, -1.0)] {
        let way = if within { way } else { -way };
        let foot = x + 8.0 * way;
        canvas.tip(ink, [(x, y), (foot, y - 2.6), (foot, y + 2.6)])?;
    }
    Ok((left + right) / 2.0)
}

/// Writes a text as near to where its middle is wanted as lines and the sheet
/// allow.
pub(super) fn write_near(
    canvas: &mut Canvas,
    panel: &Panel,
    ink: Ink,
    text: &str,
    (x, y): Place,
) -> Result<(), PlotError> {
    let half = text_width(text) / 2.0;
    let most = WIDTH - 2.0 - half;
    let least = (panel.frame.left + half).min(most).max(half);
    let mut places = Vec::new();
    for step in 0..60 {
        for way in [-5.0, 5.0] {
            let moved = (x + way * f64::from(step)).min(most).max(least);
            places.push(((moved, y), Anchor::Middle));
        }
    }
    let sheet = Frame::new(0.0, 0.0, WIDTH, panel.frame.bottom);
    canvas.text_where_free(ink, text, sheet, &places)?;
    Ok(())
}
