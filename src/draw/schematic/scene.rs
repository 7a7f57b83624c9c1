//! A schematic before it becomes markup: what stands where.

use std::collections::{BTreeMap, BTreeSet};

use super::geometry::{Point, Rect, Turn};
use super::symbol::Symbol;
use crate::draw::measure::ems;

/// Height of letters, in steps of the grid.
pub(super) const LETTERS: i32 = 15;
/// From one line of text to the next.
pub(super) const LINE: i32 = 18;
/// How far letters reach above their baseline.
pub(super) const ASCENT: i32 = 14;
/// Half the height of a box with terminals of its own.
pub(super) const BOX: i32 = 20;

/// A straight piece of wire that belongs to a node.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Wire {
    pub node: usize,
    pub from: Point,
    pub to: Point,
}

impl Wire {
    /// Whether a point lies on it.
    pub fn passes(&self, at: Point) -> bool {
        let area = Rect::between(self.from, self.to);
        (area.left..=area.right).contains(&at.x) && (area.top..=area.bottom).contains(&at.y)
    }
}

/// A symbol of an element.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Placed {
    pub element: usize,
    pub symbol: Symbol,
    pub at: Point,
    pub turn: Turn,
    /// For a box with terminals of its own: how wide it is, and where they
    /// are.
    pub pins: Option<(i32, Vec<Point>)>,
}

impl Placed {
    /// Number of terminals.
    pub fn pin_count(&self) -> usize {
        match &self.pins {
            Some((_, pins)) => pins.len(),
            None => self.symbol.terminals().unwrap_or(2),
        }
    }

    /// Where a terminal is.
    pub fn terminal(&self, index: usize) -> Point {
        let local = match &self.pins {
            Some((_, pins)) => pins[index],
            None => self.symbol.terminal(index),
        };
        self.turn.of(local).moved(self.at)
    }

    /// Where the lead of a terminal ends.
    pub fn lead(&self, index: usize) -> Point {
        let local = match &self.pins {
            Some((_, pins)) => Point::new(pins[index].x, BOX * pins[index].y.signum()),
            None => self.symbol.lead(index),
        };
        self.turn.of(local).moved(self.at)
    }

    /// The room that it takes, leads left out.
    pub fn body(&self) -> Rect {
        let body = match &self.pins {
            Some((half, _)) => Rect::new(-half, -BOX, *half, BOX),
            None => self.symbol.body(),
        };
        let one = self.turn.of(Point::new(body.left, body.top));
        let other = self.turn.of(Point::new(body.right, body.bottom));
        Rect::between(one.moved(self.at), other.moved(self.at))
    }
}

/// Whom a text names.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Owner {
    /// Designator of an element.
    Name(usize),
    /// Value of an element.
    Value(usize),
    /// Name and voltage of a node.
    Node(usize),
    /// Voltage of a node whose name stands in a line of its own.
    NodeValue(usize),
}

/// Which part of a text stands at its x.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// A line of text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Lettering {
    pub owner: Owner,
    /// The anchor, at the top of the line.
    pub at: Point,
    pub anchor: Anchor,
    /// The first part is set apart from the second.
    pub parts: [String; 2],
}

impl Lettering {
    pub fn width(&self) -> i32 {
        let [first, second] = &self.parts;
        let gap = !first.is_empty() && !second.is_empty();
        text_width(first) + text_width(second) + if gap { 5 } else { 0 }
    }

    /// The room that it takes.
    pub fn area(&self) -> Rect {
        let width = self.width();
        let left = match self.anchor {
            Anchor::Start => self.at.x,
            Anchor::Middle => self.at.x - (width + 1) / 2,
            Anchor::End => self.at.x - width,
        };
        Rect::new(left, self.at.y, left + width, self.at.y + LINE)
    }
}

/// Width of a text on the grid.
pub(super) fn text_width(text: &str) -> i32 {
    // The sum is finite and, for any text that fits a page, far below i32.
    (ems(text) * f64::from(LETTERS)).ceil() as i32
}

/// Everything that stands on a schematic.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Scene {
    pub wires: Vec<Wire>,
    pub placed: Vec<Placed>,
    pub letterings: Vec<Lettering>,
    /// Where ground symbols hang.
    pub grounds: Vec<Point>,
    /// Open ends of a node, drawn as a small circle.
    pub ends: Vec<(usize, Point)>,
}

impl Scene {
    /// A wire through points, corner by corner.
    pub fn wire(&mut self, node: usize, points: &[Point]) {
        for pair in points.windows(2) {
            if pair[0] != pair[1] {
                self.wires.push(Wire {
                    node,
                    from: pair[0],
                    to: pair[1],
                });
            }
        }
    }

    pub fn letter(&mut self, owner: Owner, at: Point, anchor: Anchor, parts: [&str; 2]) {
        if parts.iter().any(|part| !part.is_empty()) {
            self.letterings.push(Lettering {
                owner,
                at,
                anchor,
                parts: parts.map(str::to_owned),
            });
        }
    }

    /// Takes in another scene, moved.
    pub fn take(&mut self, other: Scene, by: Point) {
        let moved = other.wires.into_iter().map(|wire| Wire {
            from: wire.from.moved(by),
            to: wire.to.moved(by),
            ..wire
        });
        self.wires.extend(moved);
        self.placed.extend(other.placed.into_iter().map(|mut one| {
            one.at = one.at.moved(by);
            one
        }));
        self.letterings
            .extend(other.letterings.into_iter().map(|mut one| {
                one.at = one.at.moved(by);
                one
            }));
        let grounds = other.grounds.into_iter().map(|at| at.moved(by));
        self.grounds.extend(grounds);
        let ends = other.ends.into_iter();
        self.ends
            .extend(ends.map(|(node, at)| (node, at.moved(by))));
    }

    /// The scene in a mirror that stands upright at x = 0.
    pub fn mirrored(mut self) -> Scene {
        let mirror = |point: Point| Point::new(-point.x, point.y);
        for wire in &mut self.wires {
            (wire.from, wire.to) = (mirror(wire.from), mirror(wire.to));
        }
        for one in &mut self.placed {
            one.at = mirror(one.at);
            one.turn = one.turn.mirrored();
        }
        for text in &mut self.letterings {
            text.at = mirror(text.at);
            text.anchor = match text.anchor {
                Anchor::Start => Anchor::End,
                Anchor::Middle => Anchor::Middle,
                Anchor::End => Anchor::Start,
            };
        }
        for at in &mut self.grounds {
            *at = mirror(*at);
        }
        for (_, at) in &mut self.ends {
            *at = mirror(*at);
        }
        self
    }

    /// The room that everything takes; `None` where there is nothing.
    pub fn bounds(&self) -> Option<Rect> {
        let wires = self.wires.iter().map(|w| Rect::between(w.from, w.to));
        let placed = self.placed.iter().flat_map(|one| {
            let terminals = (0..one.pin_count()).map(|t| one.terminal(t));
            let terminals = terminals.map(|at| Rect::between(at, at));
            terminals.chain([one.body()]).collect::<Vec<_>>()
        });
        let texts = self.letterings.iter().map(Lettering::area);
        let grounds = self.grounds.iter().map(|at| ground_area(*at));
        let ends = self
            .ends
            .iter()
            .map(|(_, at)| Rect::new(at.x - 3, at.y - 3, at.x + 3, at.y + 3));
        let all = wires.chain(placed).chain(texts).chain(grounds).chain(ends);
        all.reduce(Rect::around)
    }

    /// Whether nothing else stands in a place.
    pub fn is_free(&self, area: Rect) -> bool {
        let wires = self.wires.iter().map(|w| Rect::between(w.from, w.to));
        let bodies = self.placed.iter().map(Placed::body);
        let texts = self.letterings.iter().map(Lettering::area);
        let grounds = self.grounds.iter().map(|at| ground_area(*at));
        let mut all = wires.chain(bodies).chain(texts).chain(grounds);
        !all.any(|other| other.meets(area))
    }

    /// Where at least three pieces of one node meet.
    pub fn dots(&self) -> Vec<Point> {
        let mut ways: BTreeMap<Point, BTreeSet<(usize, i32, i32)>> = BTreeMap::new();
        let corners = self.wires.iter().flat_map(|wire| [wire.from, wire.to]);
        for at in corners.chain(self.grounds.iter().copied()) {
            ways.entry(at).or_default();
        }
        for (at, ways) in &mut ways {
            for wire in self.wires.iter().filter(|wire| wire.passes(*at)) {
                for end in [wire.from, wire.to].into_iter().filter(|end| end != at) {
                    let way = ((end.x - at.x).signum(), (end.y - at.y).signum());
                    ways.insert((wire.node, way.0, way.1));
                }
            }
        }
        // A symbol or a ground goes on where the wire ends.
        for one in &self.placed {
            for terminal in 0..one.pin_count() {
                if let Some(ways) = ways.get_mut(&one.terminal(terminal)) {
                    ways.insert((usize::MAX, one.at.x, one.at.y));
                }
            }
        }
        for at in &self.grounds {
            if let Some(ways) = ways.get_mut(at) {
                ways.insert((usize::MAX, 0, 1));
            }
        }
        let meeting = ways.into_iter().filter(|(_, ways)| {
            // Two nodes that cross are no junction.
            let mut nodes = ways.iter().map(|way| way.0).filter(|n| *n != usize::MAX);
            let first = nodes.next();
            ways.len() >= 3 && nodes.all(|node| Some(node) == first)
        });
        meeting.map(|(at, _)| at).collect()
    }
}

/// The room that a ground symbol takes, from where it hangs.
pub(super) fn ground_area(at: Point) -> Rect {
    Rect::new(at.x - 11, at.y, at.x + 11, at.y + 21)
}
