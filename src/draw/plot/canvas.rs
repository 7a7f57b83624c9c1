//! The sheet that a plot is drawn on: strokes and letters by ink, and what
//! room they have taken.

use std::convert::Infallible;

use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon, Rectangle};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{IntoFont, TextStyle};

use super::PlotError;
use super::backend::{LETTERS, STEPS, Svg};
use super::ink::Ink;
use crate::draw::caption::Caption;
use crate::draw::measure::ems;

impl From<DrawingAreaErrorKind<Infallible>> for PlotError {
    fn from(error: DrawingAreaErrorKind<Infallible>) -> PlotError {
        PlotError::Library(error.to_string())
    }
}

/// Width of every plot, in pixels; at a phone's 328 pixels, letters keep eleven.
pub(super) const WIDTH: f64 = 420.0;

/// A place, in pixels.
pub(super) type Place = (f64, f64);

/// A rectangle, in pixels.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Frame {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Frame {
    pub fn new(left: f64, top: f64, right: f64, bottom: f64) -> Frame {
        Frame {
            left,
            top,
            right,
            bottom,
        }
    }

    pub fn meets(self, other: Frame) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    pub fn holds(self, other: Frame) -> bool {
        self.left <= other.left
            && other.right <= self.right
            && self.top <= other.top
            && other.bottom <= self.bottom
    }

    /// The part of a straight line within (Y.-D. Liang and B. A. Barsky, A New
    /// Concept and Method for Line Clipping, ACM Trans. Graphics 3 (1984)
    /// 1-22; from memory).
    pub fn clip(self, from: Place, to: Place) -> Option<(Place, Place)> {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let (mut enter, mut leave) = (0.0f64, 1.0f64);
        let edges = [
            (-dx, from.0 - self.left),
            (dx, self.right - from.0),
            (-dy, from.1 - self.top),
            (dy, self.bottom - from.1),
        ];
        for (towards, room) in edges {
            if towards == 0.0 {
                if room < 0.0 {
                    return None;
                }
            } else if towards < 0.0 {
                enter = enter.max(room / towards);
            } else {
                leave = leave.min(room / towards);
            }
        }
        let at = |part: f64| (from.0 + part * dx, from.1 + part * dy);
        (enter <= leave).then(|| (at(enter), at(leave)))
    }
}

/// Which part of a text stands at its x.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// Width of a text, in pixels.
pub(super) fn text_width(text: &str) -> f64 {
    ems(text) * LETTERS
}

/// The room that a text takes whose baseline starts, has its middle or ends at
/// a place.
pub(super) fn lettering(text: &str, (x, y): Place, anchor: Anchor) -> Frame {
    let width = text_width(text);
    let left = match anchor {
        Anchor::Start => x,
        Anchor::Middle => x - width / 2.0,
        Anchor::End => x - width,
    };
    Frame::new(left, y - 11.0, left + width, y + 3.5)
}

/// A plot while it is drawn.
pub(super) struct Canvas<'a> {
    pub root: DrawingArea<Svg<'a>, Shift>,
    /// Room that letters take.
    letters: Vec<Frame>,
    /// Lines that letters keep away from.
    pub lines: Vec<Vec<Place>>,
}

/// Steps of the library from pixels.
fn steps((x, y): Place) -> (i32, i32) {
    // Saturates far outside of any sheet.
    ((x * STEPS).round() as i32, (y * STEPS).round() as i32)
}

/// Draws a plot of a class and a height, in pixels.
pub(super) fn sheet(
    caption: &Caption,
    class: &str,
    height: f64,
    draw: impl FnOnce(&mut Canvas) -> Result<(), PlotError>,
) -> Result<String, PlotError> {
    let (names, title) = caption.markup();
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"plot {class}\" role=\"img\" {names} \
         viewBox=\"0 0 {WIDTH} {height}\" width=\"{WIDTH}\" height=\"{height}\" fill=\"none\" \
         stroke=\"currentColor\" font-size=\"{LETTERS}\">{title}"
    );
    {
        let backend = Svg::new(&mut svg, WIDTH as u32, height as u32);
        let mut canvas = Canvas {
            root: backend.into_drawing_area(),
            letters: Vec::new(),
            lines: Vec::new(),
        };
        draw(&mut canvas)?;
    }
    svg.push_str("</svg>");
    Ok(svg)
}

impl Canvas<'_> {
    /// Writes a text with its baseline at a place.
    pub fn text(
        &mut self,
        ink: Ink,
        at: Place,
        anchor: Anchor,
        text: &str,
    ) -> Result<(), PlotError> {
        let horizontal = match anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let colour = ink.colour();
        let style = TextStyle::from(("sans-serif", LETTERS * STEPS).into_font())
            .color(&colour)
            .pos(Pos::new(horizontal, VPos::Bottom));
        self.letters.push(lettering(text, at, anchor));
        Ok(self.root.draw_text(text, &style, steps(at))?)
    }

    pub fn line(&self, ink: Ink, points: &[Place]) -> Result<(), PlotError> {
        let points: Vec<(i32, i32)> = points.iter().map(|at| steps(*at)).collect();
        Ok(self.root.draw(&PathElement::new(points, ink.stroke()))?)
    }

    pub fn area(&self, ink: Ink, frame: Frame) -> Result<(), PlotError> {
        let corners = [
            steps((frame.left, frame.top)),
            steps((frame.right, frame.bottom)),
        ];
        Ok(self.root.draw(&Rectangle::new(corners, ink.filled()))?)
    }

    /// A filled triangle.
    pub fn tip(&self, ink: Ink, corners: [Place; 3]) -> Result<(), PlotError> {
        let corners: Vec<(i32, i32)> = corners.into_iter().map(steps).collect();
        Ok(self.root.draw(&Polygon::new(corners, ink.filled()))?)
    }

    pub fn circle(&self, ink: Ink, at: Place, radius: f64) -> Result<(), PlotError> {
        let circle = Circle::new(steps(at), (radius * STEPS) as i32, ink.stroke());
        Ok(self.root.draw(&circle)?)
    }

    /// Whether a text would stand clear of all others and of the lines.
    fn is_free(&self, frame: Frame) -> bool {
        let crossed = |line: &Vec<Place>| {
            let mut pieces = line.windows(2);
            pieces.any(|pair| frame.clip(pair[0], pair[1]).is_some())
        };
        !self.letters.iter().any(|other| frame.meets(*other)) && !self.lines.iter().any(crossed)
    }

    /// Writes a text at the first place that is free and within a frame. Where
    /// none is, rather over a line than over another text. Gives the room that
    /// it takes.
    pub fn text_where_free(
        &mut self,
        ink: Ink,
        text: &str,
        within: Frame,
        places: &[(Place, Anchor)],
    ) -> Result<Option<Frame>, PlotError> {
        let room = |(at, anchor): &(Place, Anchor)| lettering(text, *at, *anchor);
        let inside = |place: &&(Place, Anchor)| within.holds(room(place));
        let apart = |place: &&(Place, Anchor)| {
            let room = room(place);
            !self.letters.iter().any(|other| room.meets(*other))
        };
        let held = || places.iter().filter(inside);
        let chosen = held()
            .find(|place| self.is_free(room(place)))
            .or_else(|| held().find(apart))
            .or_else(|| held().next())
            .or(places.first());
        let Some((at, anchor)) = chosen.copied() else {
            return Ok(None);
        };
        self.text(ink, at, anchor, text)?;
        Ok(Some(lettering(text, at, anchor)))
    }
}
