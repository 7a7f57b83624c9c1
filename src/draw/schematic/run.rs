//! A tree that runs from one node at the left to another at the right.

use super::geometry::{Point, Turn, up_to_ten};
use super::net::Net;
use super::reduce::Tree;
use super::scene::{Anchor, LINE, Placed, Scene};
use super::stack::{AIR, GAP};
use super::symbol::REACH;

/// How far the uprights at both ends of a parallel circuit stand inside it.
const UPRIGHT: i32 = 10;

/// A tree that runs from (0, 0) to (width, 0).
#[derive(Default)]
pub(super) struct Run {
    pub scene: Scene,
    pub width: i32,
    /// How far it reaches above its wire.
    pub up: i32,
    /// How far it reaches below its wire.
    pub down: i32,
    /// How much at its left and right end has nothing above the wire.
    pub bare: (i32, i32),
}

/// Draws a tree between its left and right node.
pub(super) fn run(net: &Net, tree: &Tree, ends: (usize, usize)) -> Run {
    match tree {
        Tree::Leaf { element, reversed } => leaf(net, *element, *reversed, ends),
        Tree::Series { items, joints } => series(net, items, joints, ends),
        Tree::Parallel(items) => parallel(net, items, ends),
    }
}

fn leaf(net: &Net, element: usize, reversed: bool, ends: (usize, usize)) -> Run {
    let width = up_to_ten((net.words_width(element) + 10).max(2 * REACH + 20));
    let middle = Point::new(width / 2, 0);
    let bare = (width - net.words_width(element).max(2 * REACH - 20)) / 2;
    let placed = Placed {
        element,
        symbol: net.symbol(element),
        at: middle,
        turn: Turn::LEVEL.reversed(reversed),
        pins: None,
    };
    let body = placed.body();
    let mut scene = Scene::default();
    let left = placed.terminal(usize::from(reversed));
    let right = placed.terminal(usize::from(!reversed));
    scene.wire(ends.0, &[Point::new(0, 0), left]);
    scene.wire(ends.1, &[right, Point::new(width, 0)]);
    let lines = net.lines(element);
    let up = -body.top + AIR - 3 + LINE * lines.len() as i32;
    for (line, (owner, parts)) in (0..).zip(lines) {
        let at = Point::new(middle.x, -up + LINE * line);
        scene.letter(owner, at, Anchor::Middle, parts);
    }
    scene.placed.push(placed);
    Run {
        scene,
        width,
        up,
        down: body.bottom,
        bare: (bare, bare),
    }
}

fn series(net: &Net, items: &[Tree], joints: &[usize], ends: (usize, usize)) -> Run {
    let mut whole = Run::default();
    let mut left = ends.0;
    for (index, item) in items.iter().enumerate() {
        let right = joints.get(index).copied().unwrap_or(ends.1);
        let part = run(net, item, (left, right));
        whole.scene.take(part.scene, Point::new(whole.width, 0));
        whole.width += part.width;
        whole.up = whole.up.max(part.up);
        whole.down = whole.down.max(part.down);
        if index == 0 {
            whole.bare.0 = part.bare.0;
        }
        whole.bare.1 = part.bare.1;
        if index < joints.len() {
            joint(&mut whole, net, right);
        }
        left = right;
    }
    whole
}

/// Adds the wire between two items, with the label of its node above it.
fn joint(whole: &mut Run, net: &Net, node: usize) {
    let (lines, width) = net.label_lines(node);
    if lines.is_empty() {
        return;
    }
    let length = up_to_ten(width + GAP);
    let from = Point::new(whole.width, 0);
    let to = Point::new(whole.width + length, 0);
    whole.scene.wire(node, &[from, to]);
    let up = AIR - 3 + LINE * lines.len() as i32;
    for (line, (owner, parts)) in (0..).zip(lines) {
        let at = Point::new(whole.width + length / 2, -up + LINE * line);
        whole.scene.letter(owner, at, Anchor::Middle, parts);
    }
    whole.width += length;
    whole.up = whole.up.max(up);
}

/// Draws trees above one another, the first one lowest.
fn parallel(net: &Net, items: &[Tree], ends: (usize, usize)) -> Run {
    let parts: Vec<Run> = items.iter().map(|item| run(net, item, ends)).collect();
    let inner = parts.iter().map(|part| part.width).max().unwrap_or(0);
    let width = inner + 2 * UPRIGHT;
    let mut whole = Run {
        width,
        ..Run::default()
    };
    let mut y = 0;
    for (index, part) in parts.into_iter().enumerate() {
        if index == 0 {
            whole.down = part.down;
        } else {
            let next = -up_to_ten(whole.up + AIR + part.down);
            for (node, x) in [(ends.0, UPRIGHT), (ends.1, width - UPRIGHT)] {
                let upright = [Point::new(x, y), Point::new(x, next)];
                whole.scene.wire(node, &upright);
            }
            y = next;
        }
        whole.up = -y + part.up;
        let left = (width - part.width) / 2;
        let outer = if index == 0 { 0 } else { UPRIGHT };
        let leads = [
            (ends.0, outer, left),
            (ends.1, left + part.width, width - outer),
        ];
        for (node, from, to) in leads {
            let lead = [Point::new(from, y), Point::new(to, y)];
            whole.scene.wire(node, &lead);
        }
        whole.scene.take(part.scene, Point::new(left, y));
    }
    whole
}
