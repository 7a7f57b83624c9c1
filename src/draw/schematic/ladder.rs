//! A rail with shunts to ground, in as many rows as the width of a phone
//! needs.

use std::collections::BTreeMap;

use super::geometry::{Point, up_to_ten};
use super::items::Item;
use super::net::Net;
use super::run::run;
use super::scene::{Anchor, LINE, Scene};
use super::stack::{AIR, ELEMENT, GAP, height, stack};

/// Widest row, so that letters keep about eleven pixels when the drawing is
/// shrunk to a phone's 328 pixels.
pub(super) const WIDEST: i32 = 440;
/// From the lower rail of a row to the wire that leads to the next one.
const BELOW: i32 = 40;
/// Room that is taken up to nowhere.
const NOWHERE: i32 = i32::MIN / 4;

/// A ladder whose rail starts at (0, 0).
pub(super) struct Ladder {
    pub scene: Scene,
    /// Where the places for risers came to lie.
    pub risers: BTreeMap<usize, i32>,
    /// How far it reaches above the rail.
    pub up: i32,
}

/// How far to the right the room at the start of a rail is taken already, on
/// it and below it.
#[derive(Clone, Copy)]
pub(super) struct Taken {
    pub above: i32,
    pub below: i32,
}

/// Draws a sequence along one rail, however long; the rail starts as a node.
pub(super) fn one_row(
    net: &Net,
    items: &[Item],
    (node, ground): (usize, usize),
    taken: Taken,
) -> Ladder {
    let row = row(net, items, ground, taken, Some(node), true);
    Ladder {
        risers: row.risers,
        up: row.up,
        scene: row.scene,
    }
}

/// Draws a sequence in rows of at most [`WIDEST`], as equal as may be.
pub(super) fn rows(net: &Net, items: &[Item], ground: usize) -> Scene {
    let groups = groups(items);
    let mut best = broken(net, &groups, ground, WIDEST);
    for limit in (0..WIDEST).rev().step_by(10) {
        let narrower = broken(net, &groups, ground, limit);
        if narrower.len() > best.len() || widest(&narrower) > WIDEST {
            break;
        }
        best = narrower;
    }
    joined(best)
}

fn widest(rows: &[Row]) -> i32 {
    rows.iter().map(|row| row.right).max().unwrap_or(0)
}

/// Items that stay in one row: what leads to a node, its label and its first
/// shunt.
fn groups(items: &[Item]) -> Vec<Vec<Item>> {
    let mut groups: Vec<Vec<Item>> = Vec::new();
    for item in items {
        let joins = match (groups.last().and_then(|group| group.last()), item) {
            (None, _) => false,
            (Some(_), Item::Node(_) | Item::Riser(_)) => true,
            (Some(Item::Node(_)), Item::Shunt(_)) => true,
            (Some(_), Item::Shunt(_) | Item::Run { .. }) => false,
        };
        match groups.last_mut().filter(|_| joins) {
            Some(group) => group.push(item.clone()),
            None => groups.push(vec![item.clone()]),
        }
    }
    groups
}

/// Fills rows up to a width, at least one group in each.
fn broken(net: &Net, groups: &[Vec<Item>], ground: usize, limit: i32) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let mut start = 0;
    while start < groups.len() {
        let entry = rows.last().map(|row| row.exit.0);
        let draw = |end: usize| {
            let items = groups[start..end].concat();
            let last = end == groups.len();
            // Where the rail begins, half of the first label may stand to its
            // left; further rows begin at the wire that leads to them.
            let from = if entry.is_none() { NOWHERE } else { 0 };
            let taken = Taken {
                above: from,
                below: from,
            };
            row(net, &items, ground, taken, entry, last)
        };
        let mut end = start + 1;
        let mut kept = draw(end);
        while end < groups.len() {
            let wider = draw(end + 1);
            if wider.right - wider.left > limit {
                break;
            }
            (kept, end) = (wider, end + 1);
        }
        rows.push(kept);
        start = end;
    }
    rows
}

/// Puts rows below one another, with a wire from the end of each to the start
/// of the next.
fn joined(rows: Vec<Row>) -> Scene {
    let mut scene = Scene::default();
    let mut y = 0;
    let mut rows = rows.into_iter().peekable();
    while let Some(row) = rows.next() {
        scene.take(row.scene, Point::new(0, y));
        let Some(next) = rows.peek() else {
            break;
        };
        let (node, x) = row.exit;
        let side = up_to_ten(row.right.max(x)) + 10;
        let below = y + row.height + BELOW;
        let next_y = up_to_ten(below + AIR + next.up.max(GAP));
        let corners = [
            Point::new(x, y),
            Point::new(side, y),
            Point::new(side, below),
            Point::new(0, below),
            Point::new(0, next_y),
        ];
        scene.wire(node, &corners);
        y = next_y;
    }
    scene
}

struct Row {
    scene: Scene,
    left: i32,
    right: i32,
    up: i32,
    /// From the rail to the lower rail.
    height: i32,
    risers: BTreeMap<usize, i32>,
    /// The node at the end of the rail, and where that end is.
    exit: (usize, i32),
}

/// Where the pen is along a row.
struct Pen {
    node: usize,
    x: i32,
    /// Room above the rail is taken up to here.
    above: i32,
    /// Room below the rail is taken up to here.
    below: i32,
}

impl Pen {
    /// Goes on along the rail.
    fn go_to(&mut self, scene: &mut Scene, x: i32) {
        scene.wire(self.node, &[Point::new(self.x, 0), Point::new(x, 0)]);
        self.x = x;
    }
}

fn row(
    net: &Net,
    items: &[Item],
    ground: usize,
    taken: Taken,
    entry: Option<usize>,
    last: bool,
) -> Row {
    let shunts = items.iter().filter_map(|item| match item {
        Item::Shunt(tree) => Some(height(tree)),
        _ => None,
    });
    let height = shunts.max().unwrap_or(ELEMENT);
    let mut pen = Pen {
        node: entry.unwrap_or(usize::MAX),
        x: 0,
        above: taken.above,
        below: taken.below,
    };
    let mut row = Row {
        scene: Scene::default(),
        left: 0,
        right: 0,
        up: 0,
        height,
        risers: BTreeMap::new(),
        exit: (0, 0),
    };
    let mut posts: Vec<i32> = Vec::new();
    let mut rest = items.iter().peekable();
    while let Some(item) = rest.next() {
        match item {
            Item::Node(node) => {
                pen.node = *node;
                let next = match rest.peek() {
                    Some(Item::Shunt(tree)) => Some(tree),
                    _ => None,
                };
                let reach = next.map(|tree| stack(net, tree, (*node, ground), height).left);
                label(net, &mut row, &mut pen, reach);
                let starts_here = entry.is_none() && pen.x == 0 && next.is_none();
                if starts_here {
                    row.scene.ends.push((*node, Point::new(pen.x, 0)));
                }
                if last && rest.peek().is_none() {
                    let end = up_to_ten(pen.above.max(pen.x + 10));
                    pen.go_to(&mut row.scene, end);
                    row.scene.ends.push((*node, Point::new(end, 0)));
                }
            }
            Item::Riser(node) => {
                let x = up_to_ten(pen.x.max(pen.above + AIR));
                pen.go_to(&mut row.scene, x);
                pen.above = x;
                row.risers.insert(*node, x);
            }
            Item::Shunt(tree) => {
                let hanging = stack(net, tree, (pen.node, ground), height);
                let x = up_to_ten(pen.x.max(pen.below + GAP + hanging.left));
                pen.go_to(&mut row.scene, x);
                row.left = row.left.min(x - hanging.left);
                row.scene.take(hanging.scene, Point::new(x, 0));
                pen.x = x + hanging.bar;
                pen.below = x + hanging.right;
                posts.push(x);
            }
            Item::Run { tree, from, to } => {
                let lying = run(net, tree, (*from, *to));
                let x = up_to_ten(pen.x.max(pen.above + AIR - lying.bare.0));
                pen.go_to(&mut row.scene, x);
                row.scene.take(lying.scene, Point::new(x, 0));
                row.up = row.up.max(lying.up);
                pen.x = x + lying.width;
                pen.above = pen.x - lying.bare.1;
                pen.node = *to;
            }
        }
    }
    for pair in posts.windows(2) {
        let rail = [Point::new(pair[0], height), Point::new(pair[1], height)];
        row.scene.wire(ground, &rail);
    }
    if let Some(first) = posts.first() {
        row.scene.grounds.push(Point::new(*first, height));
    }
    row.exit = (pen.node, pen.x);
    row.right = pen.x.max(pen.above).max(pen.below);
    row
}

/// Moves on to where a node has room for its label and for what hangs there,
/// and writes the label above the rail.
fn label(net: &Net, row: &mut Row, pen: &mut Pen, reach: Option<i32>) {
    let (lines, width) = net.label_lines(pen.node);
    let half = (width + 1) / 2;
    let below = reach.map_or(NOWHERE, |reach| pen.below + GAP + reach);
    let above = if half == 0 {
        pen.x
    } else {
        pen.above + AIR + half
    };
    let x = up_to_ten(pen.x.max(above).max(below));
    pen.go_to(&mut row.scene, x);
    let up = AIR - 3 + LINE * lines.len() as i32;
    for (line, (owner, parts)) in (0..).zip(lines) {
        let at = Point::new(x, -up + LINE * line);
        row.scene.letter(owner, at, Anchor::Middle, parts);
    }
    if half > 0 {
        row.up = row.up.max(up);
        row.left = row.left.min(x - half);
        pen.above = x + half;
    }
}
