//! Where the drawing library draws to: SVG text with classes.
//!
//! The library counts in whole numbers, so a pixel of the plot is ten of its
//! steps ([`STEPS`]).

use std::convert::Infallible;
use std::fmt::Write;

use plotters_backend::text_anchor::HPos;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
};

use super::ink::Ink;
use crate::draw::caption::escaped;
use crate::draw::measure::ems;

/// Steps of the library in a pixel.
pub(super) const STEPS: f64 = 10.0;
/// Height of letters, in pixels.
pub(super) const LETTERS: f64 = 14.0;

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

/// A backend that adds elements to a text.
pub(super) struct Svg<'a> {
    out: &'a mut String,
    size: (u32, u32),
}

impl<'a> Svg<'a> {
    /// A backend for a plot of a size in pixels.
    pub fn new(out: &'a mut String, width: u32, height: u32) -> Svg<'a> {
        Svg {
            out,
            size: (width * STEPS as u32, height * STEPS as u32),
        }
    }

    fn line(&mut self, points: &[BackendCoord], ink: Ink, closed: bool) {
        if matches!(ink, Ink::Grid | Ink::FineGrid) && !closed {
            self.ruled(points, ink);
            return;
        }
        // A limit and its hatching are dozens of strokes.
        let is_one_of_many = matches!(ink, Ink::Limit | Ink::LimitAmiss | Ink::Extension);
        match is_one_of_many && !closed {
            true => self.resumed(ink),
            false => {
                let _ = write!(self.out, "<path class=\"{}\" d=\"", ink.class());
            }
        }
        path(points, self.out);
        if closed {
            self.out.push('Z');
        }
        self.out.push('"');
        self.end(ink, closed);
    }

    /// Begins a path, or goes on with the one before it where that is of the
    /// same ink.
    fn resumed(&mut self, ink: Ink) {
        let head = format!("<path class=\"{}\" d=\"", ink.class());
        let last = self.out.rfind('<').unwrap_or(0);
        let data = self.out[last..]
            .strip_prefix(&head)
            .and_then(|rest| rest.find('"'));
        match data {
            Some(length) => self.out.truncate(last + head.len() + length),
            None => self.out.push_str(&head),
        }
    }

    /// A line of the grid, in one path with those before it: a logarithmic
    /// axis has dozens.
    fn ruled(&mut self, points: &[BackendCoord], ink: Ink) {
        self.resumed(ink);
        match *points {
            [(x, y), (to, level)] if y == level => {
                let _ = write!(self.out, "M{} {}H{}", pixels(x), pixels(y), pixels(to));
            }
            [(x, y), (upright, to)] if x == upright => {
                let _ = write!(self.out, "M{} {}V{}", pixels(x), pixels(y), pixels(to));
            }
            _ => path(points, self.out),
        }
        self.out.push('"');
        self.end(ink, false);
    }

    /// A pile of a histogram, in one path with those before it: there are dozens,
    /// and a sheet may have many histograms.
    fn pile(&mut self, (left, top): BackendCoord, (right, bottom): BackendCoord, ink: Ink) {
        self.resumed(ink);
        let [left, top, right, bottom] = [left, top, right, bottom].map(pixels);
        let _ = write!(self.out, "M{left} {top}H{right}V{bottom}H{left}Z\"");
        self.end(ink, true);
    }

    /// Ends an element, with how it is filled and how dense it is.
    fn end(&mut self, ink: Ink, filled: bool) {
        if filled {
            self.out.push_str(" fill=\"currentColor\" stroke=\"none\"");
        }
        let density = ink.opacity();
        if !density.is_empty() {
            let of = if filled { "fill" } else { "stroke" };
            let _ = write!(self.out, " {of}-opacity=\"{density}\"");
        }
        self.out.push_str("/>");
    }
}

/// A number of pixels from a number of steps.
fn pixels(steps: i32) -> String {
    let (whole, tenth) = (steps / 10, (steps % 10).abs());
    match (tenth, steps < 0 && whole == 0) {
        (0, _) => whole.to_string(),
        (tenth, false) => format!("{whole}.{tenth}"),
        (tenth, true) => format!("-0.{tenth}"),
    }
}

/// Path data through points. Points on a straight line between others are left
/// out: a curve of some hundred points is mostly such.
fn path(points: &[BackendCoord], out: &mut String) {
    let mut kept: Vec<BackendCoord> = Vec::new();
    let mut start = 0;
    for (at, point) in points.iter().enumerate() {
        let first = at == 0;
        let straight = !first
            && points[start..=at]
                .iter()
                .all(|between| near_line(*between, points[start], *point));
        if first || !straight {
            // The point before this one was the last on its line.
            start = at.saturating_sub(1);
            if kept.last() != Some(&points[start]) {
                kept.push(points[start]);
            }
        }
    }
    kept.extend(points.last().filter(|last| kept.last() != Some(last)));
    for (index, (x, y)) in kept.into_iter().enumerate() {
        let letter = if index == 0 { 'M' } else { 'L' };
        let _ = write!(out, "{letter}{} {}", pixels(x), pixels(y));
    }
}

/// Whether a point lies within a step of the line between two others, and not
/// beyond them.
fn near_line(point: BackendCoord, from: BackendCoord, to: BackendCoord) -> bool {
    let apart = |a: i32, b: i32| f64::from(a) - f64::from(b);
    let (dx, dy) = (apart(to.0, from.0), apart(to.1, from.1));
    let (px, py) = (apart(point.0, from.0), apart(point.1, from.1));
    let length = dx.hypot(dy);
    let along = px * dx + py * dy;
    (px * dy - py * dx).abs() <= length && along >= 0.0 && along <= length * length
}

impl DrawingBackend for Svg<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        self.size
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, colour: BackendColor) -> Drawn {
        self.draw_rect((x, y), (x + 1, y + 1), &colour, true)
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Drawn {
        self.line(&[from, to], Ink::of(style.color().rgb), false);
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        points: I,
        style: &S,
    ) -> Drawn {
        let points: Vec<BackendCoord> = points.into_iter().collect();
        if points.len() > 1 {
            self.line(&points, Ink::of(style.color().rgb), false);
        }
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        corners: I,
        style: &S,
    ) -> Drawn {
        let corners: Vec<BackendCoord> = corners.into_iter().collect();
        self.line(&corners, Ink::of(style.color().rgb), true);
        Ok(())
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        (left, top): BackendCoord,
        (right, bottom): BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let ink = Ink::of(style.color().rgb);
        if fill && matches!(ink, Ink::Pile | Ink::PileAmiss) {
            self.pile((left, top), (right, bottom), ink);
            return Ok(());
        }
        let _ = write!(
            self.out,
            "<rect class=\"{}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"",
            ink.class(),
            pixels(left),
            pixels(top),
            pixels(right - left),
            pixels(bottom - top)
        );
        self.end(ink, fill);
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        (x, y): BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let ink = Ink::of(style.color().rgb);
        let _ = write!(
            self.out,
            "<circle class=\"{}\" cx=\"{}\" cy=\"{}\" r=\"{}\"",
            ink.class(),
            pixels(x),
            pixels(y),
            f64::from(radius) / STEPS
        );
        self.end(ink, fill);
        Ok(())
    }

    /// Writes a text whose place is on its baseline.
    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        (x, y): BackendCoord,
    ) -> Drawn {
        let anchor = match style.anchor().h_pos {
            HPos::Left => "",
            HPos::Center => " text-anchor=\"middle\"",
            HPos::Right => " text-anchor=\"end\"",
        };
        let _ = write!(
            self.out,
            "<text class=\"{}\" x=\"{}\" y=\"{}\"{anchor} fill=\"currentColor\" stroke=\"none\">{}</text>",
            Ink::of(style.color().rgb).class(),
            pixels(x),
            pixels(y),
            escaped(text)
        );
        Ok(())
    }

    /// The library itself would count bytes.
    fn estimate_text_size<S: BackendTextStyle>(
        &self,
        text: &str,
        _style: &S,
    ) -> Result<(u32, u32), DrawingErrorKind<Infallible>> {
        let letters = LETTERS * STEPS;
        Ok(((ems(text) * letters).ceil() as u32, letters as u32))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn path_of(points: &[BackendCoord]) -> String {
        let mut out = String::new();
        path(points, &mut out);
        out
    }

    #[test]
    fn pixels_have_one_decimal() {
        let written = [0, 5, -5, 10, -10, 123, -123].map(pixels);
        assert_eq!(written, ["0", "0.5", "-0.5", "1", "-1", "12.3", "-12.3"]);
    }

    #[test]
    fn points_on_a_line_are_left_out_and_corners_are_not() {
        let corner = [(0, 0), (10, 0), (20, 0), (20, 50)];
        assert_eq!(path_of(&corner), "M0 0L2 0L2 5");
        assert_eq!(path_of(&[(0, 0), (100, 0), (50, 0)]), "M0 0L10 0L5 0");
        assert_eq!(path_of(&[(0, 0), (0, 0)]), "M0 0");
        assert_eq!(path_of(&[]), "");
    }

    #[test]
    fn a_curve_keeps_its_shape() {
        let curve: Vec<BackendCoord> = (0..500)
            .map(|x| (x * 10, (1000.0 * (f64::from(x) / 80.0).sin()) as i32))
            .collect();
        let out = path_of(&curve);
        let kept: Vec<(f64, f64)> = out[1..]
            .split('L')
            .map(|pair| pair.split_once(' ').expect("x and y"))
            .map(|(x, y)| (x.parse().expect("x"), y.parse().expect("y")))
            .collect();
        assert!(kept.len() < 250, "{}", kept.len());
        for (x, y) in curve {
            let (x, y) = (f64::from(x) / STEPS, f64::from(y) / STEPS);
            let after = kept.partition_point(|point| point.0 < x).max(1);
            let ((x0, y0), (x1, y1)) = (kept[after - 1], kept[after]);
            let on_line = y0 + (y1 - y0) * (x - x0) / (x1 - x0);
            assert!((on_line - y).abs() < 0.3, "{x}: {y} and {on_line}");
        }
    }
}
