//! Labels at the ends of curves.

use super::PlotError;
use super::canvas::{Anchor, Canvas, Frame, text_width};
use super::ink::Ink;

/// From one line of a label to the next.
const LINE: f64 = 15.0;
/// Widest label beside a panel.
const WIDEST: f64 = 96.0;

/// Breaks a text at its spaces into lines of a width, in pixels. A word that
/// is wider stays whole.
fn lines(text: &str, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if text_width(line) + text_width(" ") + text_width(word) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Room that labels need to the right of a panel.
pub(super) fn room<'a>(labels: impl Iterator<Item = &'a str>) -> f64 {
    let all = labels.flat_map(|label| lines(label, WIDEST));
    let widest = all.map(|line| text_width(&line)).fold(0.0, f64::max);
    if widest > 0.0 { widest + 10.0 } else { 0.0 }
}

/// Writes labels to the right of a panel, each as near to the end of its
/// curve as the others allow.
pub(super) fn at_ends(
    canvas: &mut Canvas,
    panel: Frame,
    labels: Vec<(f64, &str)>,
) -> Result<(), PlotError> {
    let mut blocks: Vec<(f64, Vec<String>)> = labels
        .into_iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(y, text)| (y, lines(text, WIDEST)))
        .collect();
    blocks.sort_by(|a, b| a.0.total_cmp(&b.0));
    let heights = blocks.iter().map(|block| block.1.len() as f64 * LINE);
    let heights: Vec<f64> = heights.collect();
    let wanted: Vec<f64> = blocks.iter().map(|block| block.0).collect();
    let tops = spread(&wanted, &heights, (panel.top - 4.0, panel.bottom + 4.0));
    for ((_, lines), top) in blocks.into_iter().zip(tops) {
        for (line, row) in lines.iter().zip(0..) {
            let y = top + LINE * f64::from(row) + 11.5;
            canvas.text(Ink::Label, (panel.right + 6.0, y), Anchor::Start, line)?;
        }
    }
    Ok(())
}

/// Tops of blocks of some heights, their middles as near to where they are
/// wanted as is possible without overlap: blocks that would overlap move apart
/// evenly.
fn spread(wanted: &[f64], heights: &[f64], (from, to): (f64, f64)) -> Vec<f64> {
    // Groups of blocks that touch: top, height, blocks.
    let mut groups: Vec<(f64, f64, Vec<usize>)> = Vec::new();
    for (index, (middle, height)) in wanted.iter().zip(heights).enumerate() {
        groups.push((middle - height / 2.0, *height, vec![index]));
        loop {
            let count = groups.len();
            if let Some(last) = groups.last_mut() {
                last.0 = last.0.min(to - last.1).max(from);
            }
            let apart = count < 2 || {
                let (above, below) = (&groups[count - 2], &groups[count - 1]);
                above.0 + above.1 <= below.0
            };
            if apart {
                break;
            }
            if let (Some(below), Some(above)) = (groups.pop(), groups.last_mut()) {
                above.2.extend(below.2);
                above.1 += below.1;
                // The middle of the group stands where its blocks want to be
                // on average.
                let sum: f64 = above.2.iter().map(|block| wanted[*block]).sum();
                above.0 = sum / above.2.len() as f64 - above.1 / 2.0;
            }
        }
    }
    let mut tops = vec![0.0; wanted.len()];
    for (mut top, _, blocks) in groups {
        for block in blocks {
            tops[block] = top;
            top += heights[block];
        }
    }
    tops
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_break_at_spaces() {
        assert_eq!(lines("typical", 96.0), ["typical"]);
        let broken = lines("worst case with R1 low", 90.0);
        assert_eq!(broken, ["worst case", "with R1 low"]);
    }

    #[test]
    fn labels_that_would_overlap_move_apart() {
        let sheet = (0.0, 100.0);
        assert_eq!(spread(&[10.0, 50.0], &[15.0; 2], sheet), [2.5, 42.5]);
        assert_eq!(spread(&[50.0, 50.0], &[10.0; 2], sheet), [40.0, 50.0]);
        assert_eq!(spread(&[99.0, 100.0], &[10.0; 2], sheet), [80.0, 90.0]);
        let three = spread(&[0.0, 1.0, 60.0], &[10.0; 3], sheet);
        assert_eq!(three, [0.0, 10.0, 55.0]);
    }
}
