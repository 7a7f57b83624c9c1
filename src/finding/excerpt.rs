//! The few lines of a file that a report shows, cut to the width of a terminal.
//!
//! The library that draws reports takes whole files and trims lines itself, but
//! not those of a patch, not between labels that are far apart, and at a cost
//! that grows with the file. A paragraph of Markdown is one line and may be long;
//! so the library is given no more here than what it shall show.

use std::ops::Range;

use super::SourceFile;
use super::text::{char_width, harmless, width};

/// Lines that two labels may be apart and still be drawn in one excerpt.
const TOGETHER_LINES: usize = 40;

/// Lines around a marked one that may be drawn, and so must read as in the file:
/// the library shows up to four lines of what a label spans, and a single line
/// between two marked ones.
pub(super) const NEAR_LINES: usize = 6;

/// Columns left of a mark that stay when there is hardly any room.
const LEAST_BEFORE: usize = 8;

/// Columns that two marks on one line leave to what is around them.
const SPARED: usize = 16;

/// A stretch to be underlined.
pub(super) struct Mark {
    /// Which bytes of the file, as [`tidy`] returns them.
    pub(super) span: Range<usize>,
    /// Columns that the text beside the underline takes.
    pub(super) label: usize,
}

/// Lines of a file, harmless to a terminal and not longer than asked for.
pub(super) struct Excerpt {
    /// The lines.
    pub(super) text: String,
    /// Number of the first of them in the file, counted from one.
    pub(super) first_line: usize,
    /// The marks, in the order they were given, as bytes of `text`.
    pub(super) marks: Vec<Range<usize>>,
}

/// A span that lies within the file, on the bounds of characters, and does not
/// reach over the end of its last line.
pub(super) fn tidy(file: &SourceFile, span: &Range<usize>) -> Range<usize> {
    let text = &file.text;
    let start = text.floor_char_boundary(span.start);
    let end = text.ceil_char_boundary(span.end).max(start);
    let bare = text[start..end].trim_end_matches(['\n', '\r']);
    start..start + bare.len()
}

/// Whether a mark can be drawn in one excerpt with the others: not many lines
/// away, and on one line only if both can be seen at once.
pub(super) fn fits(file: &SourceFile, others: &[Mark], mark: &Mark, room: usize) -> bool {
    let (first, last) = lines_of(file, &mark.span);
    others.iter().all(|other| {
        let (other_first, other_last) = lines_of(file, &other.span);
        let is_near = first <= other_last + TOGETHER_LINES && other_first <= last + TOGETHER_LINES;
        let on_one_line = [first, last]
            .iter()
            .any(|line| [other_first, other_last].contains(line));
        let start = mark.span.start.min(other.span.start);
        let end = mark.span.end.max(other.span.end);
        // No character takes more than four columns, so this looks at little text.
        let used = match end - start <= 4 * room {
            true => width(&file.text[start..end]),
            false => room,
        };
        let needed = used + mark.label.max(other.label) + SPARED;
        is_near && (!on_one_line || needed <= room)
    })
}

/// First and last line that a span touches.
pub(super) fn lines_of(file: &SourceFile, span: &Range<usize>) -> (usize, usize) {
    (file.line_of(span.start), file.line_of(span.end))
}

impl Excerpt {
    /// Cuts out the lines that the marks touch, each to at most `room` columns.
    pub(super) fn cut(
        file: &SourceFile,
        marks: &[Mark],
        room: usize,
        ellipsis: &'static str,
    ) -> Excerpt {
        let touched: Vec<(usize, usize)> = marks
            .iter()
            .map(|mark| lines_of(file, &mark.span))
            .collect();
        let ends = || touched.iter().flat_map(|&(first, last)| [first, last]);
        let first_line = ends().min().unwrap_or(1);
        let last_line = ends().max().unwrap_or(1);
        let mut excerpt = Excerpt {
            text: String::new(),
            first_line,
            marks: vec![0..0; marks.len()],
        };
        for line in first_line..=last_line {
            if line > first_line {
                excerpt.text.push('\n');
            }
            let on_line = |(at, ends): (usize, &(usize, usize))| {
                let span = &marks[at].span;
                let start = (ends.0 == line).then_some(Point {
                    mark: at,
                    end: false,
                    at: span.start,
                });
                let end = (ends.1 == line).then_some(Point {
                    mark: at,
                    end: true,
                    at: span.end,
                });
                [start, end].into_iter().flatten()
            };
            let points: Vec<Point> = touched.iter().enumerate().flat_map(on_line).collect();
            // What is far from every mark is never drawn; only its number counts.
            if ends().any(|near| near.abs_diff(line) <= NEAR_LINES) {
                let label = points
                    .iter()
                    .map(|p| marks[p.mark].label)
                    .max()
                    .unwrap_or(0);
                excerpt.push_line(
                    file,
                    line,
                    &points,
                    label,
                    Room {
                        columns: room,
                        ellipsis,
                    },
                );
            }
        }
        excerpt
    }

    fn push_line(
        &mut self,
        file: &SourceFile,
        line: usize,
        points: &[Point],
        label: usize,
        room: Room,
    ) {
        let span = file.line_span(line);
        let written = &file.text[span.clone()];
        let within = |at: usize| at.clamp(span.start, span.end) - span.start;
        let start = points.iter().map(|p| within(p.at)).min().unwrap_or(0);
        let end = points.iter().map(|p| within(p.at)).max().unwrap_or(0);
        let shown = window(written, start..end, label, &room);

        if shown.start > 0 {
            self.text.push_str(room.ellipsis);
        }
        let mut open: Vec<&Point> = points.iter().collect();
        let shown_text = &written[shown.clone()];
        for (at, c) in shown_text.char_indices() {
            let passed = shown.start + at;
            open.retain(|point| within(point.at) > passed || !self.settle(point));
            self.text.push(harmless(c));
        }
        open.retain(|point| within(point.at) > shown.end || !self.settle(point));
        if shown.end < written.len() {
            self.text.push_str(room.ellipsis);
        } else if written.is_empty() && !points.is_empty() {
            // The library knows no empty line at the end of a file.
            self.text.push(' ');
        }
        // What ends beyond the cut ends with the ellipsis.
        for point in open {
            self.settle(point);
        }
    }

    /// Puts one end of a mark where the text ends now.
    fn settle(&mut self, point: &Point) -> bool {
        let mark = &mut self.marks[point.mark];
        match point.end {
            false => mark.start = self.text.len(),
            true => mark.end = self.text.len(),
        }
        true
    }
}

/// One end of a mark.
struct Point {
    /// Number of the mark.
    mark: usize,
    /// Whether it is the far end.
    end: bool,
    /// Byte of the file.
    at: usize,
}

/// How much of a line can be shown.
struct Room {
    columns: usize,
    ellipsis: &'static str,
}

/// Which bytes of a line are shown, so that `core` and a label right of it fit.
///
/// Only as much of the line is looked at as may be shown.
fn window(line: &str, core: Range<usize>, label: usize, room: &Room) -> Range<usize> {
    // A label stands one column off; a mark of nothing is drawn one column long.
    let least = label + 1;
    let (line_start, before) = back(line, core.start, room.columns);
    let (core_end, core_width) = forward(&line[..core.end], core.start, room.columns);
    let (line_end, after) = forward(line, core_end, room.columns);

    let is_short =
        line_start == 0 && line_end == line.len() && before + core_width + after <= room.columns;
    let label_fits = before + core_width + after.max(least) <= room.columns;
    let label_cannot_fit = LEAST_BEFORE + core_width + least > room.columns;
    if is_short && (label_fits || label_cannot_fit) {
        return 0..line.len();
    }

    let inner = room.columns.saturating_sub(2 * width(room.ellipsis));
    let spare = inner.saturating_sub(core_width + least);
    let beyond_the_end = inner.saturating_sub(core_width + after.max(least));
    let take = (spare / 2)
        .max(beyond_the_end)
        .max(LEAST_BEFORE)
        .min(before);
    let (start, taken) = back(line, core.start, take);
    let (end, _) = forward(line, core.start, inner.saturating_sub(taken));
    start..end
}

/// Goes forward by at most so many columns; where that leads, and how far it is.
pub(super) fn forward(line: &str, from: usize, columns: usize) -> (usize, usize) {
    walk(line[from..].chars(), columns, from, |at, c| {
        at + c.len_utf8()
    })
}

/// Goes back by at most so many columns; where that leads, and how far it is.
fn back(line: &str, from: usize, columns: usize) -> (usize, usize) {
    walk(line[..from].chars().rev(), columns, from, |at, c| {
        at - c.len_utf8()
    })
}

fn walk(
    chars: impl Iterator<Item = char>,
    columns: usize,
    from: usize,
    step: impl Fn(usize, char) -> usize,
) -> (usize, usize) {
    let (mut at, mut used) = (from, 0);
    for c in chars {
        let wide = char_width(c);
        if used + wide > columns {
            break;
        }
        at = step(at, c);
        used += wide;
    }
    (at, used)
}
