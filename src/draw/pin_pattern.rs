//! The pattern of a connector: its contacts as pads without words, small enough
//! to stand in a list. Whoever wants the words finds them on the pin sheet.

use std::fmt::Write;

/// From one contact to the next; the dashes of a row are as far apart.
const PITCH: usize = 8;

/// Draws rows of contacts, each told by whether it is used: a full pad where it
/// is, a ring where it is not. The first row lies below the others and begins on
/// the left, as on a pin view that is turned by a quarter.
///
/// All pads are one dashed line a row and the holes of rings are one path, since
/// a list may have a thousand of these.
pub fn pin_pattern(rows: &[Vec<bool>]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let (width, height) = (columns * PITCH, rows.len() * PITCH);
    let middle = |at: usize| at * PITCH + PITCH / 2;
    let (mut pads, mut holes) = (String::new(), String::new());
    // Writing to a string does not fail.
    for (row, y) in rows.iter().rev().zip((0..).map(middle)) {
        if row.is_empty() {
            continue;
        }
        // A dash right at the end of a line need not be drawn, nor one of no
        // length on paper.
        let end = middle(row.len() - 1) + 1;
        let _ = write!(pads, "M{} {y}H{end}", middle(0));
        for (at, _) in row.iter().enumerate().filter(|(_, used)| !**used) {
            let _ = write!(holes, "M{} {y}h.1", middle(at));
        }
    }
    let mut out = format!(
        "<svg class=\"pattern\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" aria-hidden=\"true\"><path d=\"{pads}\" stroke-dasharray=\".1 {}.9\"/>",
        PITCH - 1
    );
    if !holes.is_empty() {
        let _ = write!(out, "<path class=\"free\" d=\"{holes}\"/>");
    }
    out.push_str("</svg>");
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pad_is_drawn_and_those_that_are_free_have_a_hole() {
        assert_eq!(
            pin_pattern(&[vec![true, false, true], vec![false, true]]),
            "<svg class=\"pattern\" viewBox=\"0 0 24 16\" width=\"24\" height=\"16\" aria-hidden=\"true\">\
             <path d=\"M4 4H13M4 12H21\" stroke-dasharray=\".1 7.9\"/>\
             <path class=\"free\" d=\"M4 4h.1M12 12h.1\"/></svg>"
        );
        assert!(!pin_pattern(&[vec![true]]).contains("free"));
    }

    #[test]
    fn a_large_connector_takes_few_bytes() {
        let forty = vec![vec![false; 20]; 2];
        assert!(pin_pattern(&forty).len() < 600);
    }
}
