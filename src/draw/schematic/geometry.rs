//! Points, rectangles and quarter turns on the grid of a schematic.
//!
//! One step of the grid is a pixel of a drawing that is not scaled. Whole
//! numbers, so that "touches" is exact.

/// A place on the grid; y grows downwards.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) struct Point {
    pub x: i32,
    pub y: i32,
}

impl Point {
    pub fn new(x: i32, y: i32) -> Point {
        Point { x, y }
    }

    pub fn moved(self, by: Point) -> Point {
        Point::new(self.x + by.x, self.y + by.y)
    }
}

/// A rectangle with its edges.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Rect {
    pub left: i32,
    pub top: i32,
    pub right: i32,
    pub bottom: i32,
}

impl Rect {
    pub fn new(left: i32, top: i32, right: i32, bottom: i32) -> Rect {
        Rect {
            left,
            top,
            right,
            bottom,
        }
    }

    /// The rectangle between two corners, whichever they are.
    pub fn between(a: Point, b: Point) -> Rect {
        Rect::new(a.x.min(b.x), a.y.min(b.y), a.x.max(b.x), a.y.max(b.y))
    }

    /// Whether two rectangles share more than an edge; one without a width or
    /// height counts by its line.
    pub fn meets(self, other: Rect) -> bool {
        self.left < other.right.max(other.left + 1)
            && other.left < self.right.max(self.left + 1)
            && self.top < other.bottom.max(other.top + 1)
            && other.top < self.bottom.max(self.top + 1)
    }

    pub fn around(self, other: Rect) -> Rect {
        Rect::new(
            self.left.min(other.left),
            self.top.min(other.top),
            self.right.max(other.right),
            self.bottom.max(other.bottom),
        )
    }
}

/// One of the eight ways in which a symbol can lie: a quarter turn, perhaps
/// after a reflection. The matrix of the map, column by column, as SVG writes
/// it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Turn {
    pub a: i32,
    pub b: i32,
    pub c: i32,
    pub d: i32,
}

impl Turn {
    /// First terminal at the left, text above.
    pub const LEVEL: Turn = Turn {
        a: 1,
        b: 0,
        c: 0,
        d: 1,
    };
    /// First terminal at the top, text at the right.
    pub const UPRIGHT: Turn = Turn {
        a: 0,
        b: 1,
        c: -1,
        d: 0,
    };

    /// The same with its terminals exchanged; text stays on its side.
    pub fn reversed(self, reversed: bool) -> Turn {
        let sign = if reversed { -1 } else { 1 };
        Turn {
            a: sign * self.a,
            b: sign * self.b,
            ..self
        }
    }

    /// The same seen in a mirror that stands upright.
    pub fn mirrored(self) -> Turn {
        Turn {
            a: -self.a,
            c: -self.c,
            ..self
        }
    }

    /// The same turned upside down.
    pub fn flipped(self) -> Turn {
        Turn {
            b: -self.b,
            d: -self.d,
            ..self
        }
    }

    pub fn of(self, point: Point) -> Point {
        Point::new(
            self.a * point.x + self.c * point.y,
            self.b * point.x + self.d * point.y,
        )
    }
}

/// The next multiple of ten at or above a number.
pub(super) fn up_to_ten(value: i32) -> i32 {
    -(-value).div_euclid(10) * 10
}
