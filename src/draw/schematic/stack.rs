//! A tree that hangs down from one node to another.

use super::geometry::{Point, Rect, Turn, up_to_ten};
use super::net::Net;
use super::reduce::Tree;
use super::scene::{Anchor, LINE, Owner, Placed, Scene};

/// Height of one element with its leads and two lines of text beside it.
pub(super) const ELEMENT: i32 = 90;
/// Room between what stands side by side.
pub(super) const GAP: i32 = 14;
/// Room between a symbol or wire and its text.
pub(super) const AIR: i32 = 7;

/// A tree that hangs from (0, 0) down to (0, height).
#[derive(Default)]
pub(super) struct Stack {
    pub scene: Scene,
    /// How far it reaches to the left of the first wire.
    pub left: i32,
    /// How far it reaches to the right of the first wire.
    pub right: i32,
    /// How far a bar at its upper end reaches to the right.
    pub bar: i32,
}

/// The least height of a tree.
pub(super) fn height(tree: &Tree) -> i32 {
    match tree {
        Tree::Leaf { .. } => ELEMENT,
        Tree::Series { items, .. } => items.iter().map(height).sum(),
        Tree::Parallel(items) => items.iter().map(height).max().unwrap_or(ELEMENT),
    }
}

/// Draws a tree between its upper and lower node.
pub(super) fn stack(net: &Net, tree: &Tree, ends: (usize, usize), height: i32) -> Stack {
    match tree {
        Tree::Leaf { element, reversed } => leaf(net, *element, *reversed, ends, height),
        Tree::Series { items, joints } => chain(net, items, joints, ends, &shared(items, height)),
        Tree::Parallel(items) => parallel(net, items, ends, height, 0),
    }
}

fn leaf(net: &Net, element: usize, reversed: bool, ends: (usize, usize), height: i32) -> Stack {
    let middle = height / 2;
    let placed = Placed {
        element,
        symbol: net.symbol(element),
        at: Point::new(0, middle),
        turn: Turn::UPRIGHT.reversed(reversed),
        pins: None,
    };
    let body = placed.body();
    let mut scene = Scene::default();
    let upper = placed.terminal(usize::from(reversed));
    let lower = placed.terminal(usize::from(!reversed));
    scene.wire(ends.0, &[Point::new(0, 0), upper]);
    scene.wire(ends.1, &[lower, Point::new(0, height)]);
    words_beside(&mut scene, net, element, body, middle);
    scene.placed.push(placed);
    Stack {
        scene,
        left: -body.left,
        right: body.right + AIR + net.words_width(element),
        bar: 0,
    }
}

/// Writes designator and value to the right of a symbol.
pub(super) fn words_beside(scene: &mut Scene, net: &Net, element: usize, body: Rect, middle: i32) {
    let lines = net.lines(element);
    // There are two lines at most.
    let top = middle - LINE * lines.len() as i32 / 2;
    for (line, (owner, parts)) in (0..).zip(lines) {
        let at = Point::new(body.right + AIR, top + LINE * line);
        scene.letter(owner, at, Anchor::Start, parts);
    }
}

/// Shares a height among trees one below the other.
pub(super) fn shared(items: &[Tree], wanted: i32) -> Vec<i32> {
    let mut heights: Vec<i32> = items.iter().map(height).collect();
    let spare = wanted - heights.iter().sum::<i32>();
    let each = spare / heights.len().max(1) as i32 / 10 * 10;
    heights.iter_mut().for_each(|height| *height += each);
    let left_over = wanted - heights.iter().sum::<i32>();
    if let Some(last) = heights.last_mut() {
        *last += left_over;
    }
    heights
}

/// Draws trees one below the other, each with its height.
pub(super) fn chain(
    net: &Net,
    items: &[Tree],
    joints: &[usize],
    ends: (usize, usize),
    heights: &[i32],
) -> Stack {
    let mut whole = Stack::default();
    let (mut y, mut upper) = (0, ends.0);
    for (index, (item, own)) in items.iter().zip(heights).enumerate() {
        let lower = joints.get(index).copied().unwrap_or(ends.1);
        let label = joints.get(index).map_or(0, |joint| net.label_width(*joint));
        let above = index.checked_sub(1).map(|above| joints[above]);
        let label_above = above.map_or(0, |joint| net.label_width(joint));
        let part = match item {
            Tree::Parallel(branches) => {
                // A bar leaves room for the label that stands on it.
                let room = label.max(label_above) + AIR + GAP;
                parallel(net, branches, (upper, lower), *own, room)
            }
            other => stack(net, other, (upper, lower), *own),
        };
        whole.scene.take(part.scene, Point::new(0, y));
        whole.left = whole.left.max(part.left);
        whole.right = whole.right.max(part.right);
        if index == 0 {
            whole.bar = part.bar;
        }
        y += own;
        if let Some(next) = items.get(index + 1) {
            let widths = label_joint(&mut whole.scene, net, lower, y, [item, next]);
            whole.left = whole.left.max(widths.0);
            whole.right = whole.right.max(widths.1);
        }
        upper = lower;
    }
    whole
}

/// Writes the label of a joint beside the wire, and tells how far it reaches
/// to the left and to the right.
fn label_joint(
    scene: &mut Scene,
    net: &Net,
    joint: usize,
    y: i32,
    [upper, lower]: [&Tree; 2],
) -> (i32, i32) {
    let width = net.label_width(joint);
    if width == 0 {
        return (0, 0);
    }
    let label = net.label(joint);
    let has_bar = |tree: &Tree| matches!(tree, Tree::Parallel(_));
    let (x, top, anchor) = match (has_bar(upper), has_bar(lower)) {
        (false, false) => (AIR, y - LINE / 2, Anchor::Start),
        (false, true) => (AIR, y - LINE - 3, Anchor::Start),
        (true, false) => (AIR, y + 3, Anchor::Start),
        (true, true) => (-AIR, y - LINE - 3, Anchor::End),
    };
    scene.letter(Owner::Node(joint), Point::new(x, top), anchor, label);
    if anchor == Anchor::End {
        (width + AIR, 0)
    } else {
        (0, width + AIR)
    }
}

/// Draws trees side by side, the second one at least so far to the right.
fn parallel(net: &Net, items: &[Tree], ends: (usize, usize), height: i32, room: i32) -> Stack {
    let mut whole = Stack::default();
    let mut x = 0;
    for (index, item) in items.iter().enumerate() {
        let part = stack(net, item, ends, height);
        if index == 0 {
            whole.left = part.left;
        } else {
            let least = if index == 1 { room } else { 0 };
            let next = up_to_ten((whole.right + GAP + part.left).max(least));
            for (node, y) in [(ends.0, 0), (ends.1, height)] {
                let bar = [Point::new(x, y), Point::new(next, y)];
                whole.scene.wire(node, &bar);
            }
            x = next;
        }
        whole.right = whole.right.max(x + part.right);
        whole.bar = x;
        whole.scene.take(part.scene, Point::new(x, 0));
    }
    whole
}
