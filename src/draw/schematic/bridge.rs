//! Two arms between a node and ground, with a branch from one to the other.

use super::geometry::{Point, up_to_ten};
use super::net::Net;
use super::reduce::{Edge, Tree};
use super::run::run;
use super::scene::{Anchor, LINE, Owner, Scene};
use super::stack::{AIR, GAP, chain, height, shared, stack};

/// What a bridge is made of, every tree read from above to below and from
/// left to right.
pub(super) struct Bridge {
    top: usize,
    left: usize,
    right: usize,
    /// Branches from the top node straight to ground.
    beside: Vec<Tree>,
    upper: [Tree; 2],
    lower: [Tree; 2],
    across: Tree,
}

/// Finds a bridge in what series-parallel reduction between two nodes left.
pub(super) fn bridge(edges: &[Edge], top: usize, ground: usize) -> Option<Bridge> {
    let between = |a: usize, b: usize| {
        let found = edges.iter().find(|edge| edge.touches(a) && edge.touches(b));
        found.map(|edge| edge.clone().read_from(a).tree)
    };
    let mut middle: Vec<usize> = edges
        .iter()
        .flat_map(|edge| [edge.from, edge.to])
        .filter(|node| *node != top && *node != ground)
        .collect();
    middle.sort_unstable();
    middle.dedup();
    let [one, other] = *middle.as_slice() else {
        return None;
    };
    let (mut left, mut right) = (one, other);
    // The arm that stands first in the record is at the left.
    if between(top, left)?.first() > between(top, right)?.first() {
        (left, right) = (right, left);
    }
    Some(Bridge {
        top,
        left,
        right,
        beside: between(top, ground).map_or_else(Vec::new, Tree::branches),
        upper: [between(top, left)?, between(top, right)?],
        lower: [between(left, ground)?, between(right, ground)?],
        across: between(left, right)?,
    })
}

/// Draws a bridge, its source and what else lies beside it at the left.
pub(super) fn draw(net: &Net, bridge: &Bridge, ground: usize) -> Scene {
    let across = run(net, &bridge.across, (bridge.left, bridge.right));
    let tallest = |trees: &[Tree]| trees.iter().map(height).max().unwrap_or(0);
    // Text of the branch across needs room between the upper halves.
    let upper = tallest(&bridge.upper).max(up_to_ten(across.up + GAP));
    let lower = tallest(&bridge.lower).max(tallest(&bridge.beside) - upper);
    let tall = upper + lower;

    let arm = |side: usize, node: usize| {
        let (mut items, mut joints) = bridge.upper[side].clone().chain();
        let (more, after) = bridge.lower[side].clone().chain();
        let mut heights = shared(&items, upper);
        heights.extend(shared(&more, lower));
        items.extend(more);
        joints.push(node);
        joints.extend(after);
        chain(net, &items, &joints, (bridge.top, ground), &heights)
    };
    let (left_arm, right_arm) = (arm(0, bridge.left), arm(1, bridge.right));

    let mut scene = Scene::default();
    let mut x = 0;
    let mut taken: Option<i32> = None;
    let mut posts = Vec::new();
    for tree in &bridge.beside {
        let part = stack(net, tree, (bridge.top, ground), tall);
        if let Some(taken) = taken {
            x = up_to_ten(taken + GAP + part.left);
        }
        taken = Some(x + part.right);
        scene.take(part.scene, Point::new(x, 0));
        posts.push(x);
    }
    // The left arm carries its text at the left, so that the inside is free.
    // The text of the branch across stands between what reaches inside.
    let left = taken.map_or(0, |taken| up_to_ten(taken + GAP + left_arm.right));
    let words = across.width - across.bare.0.min(across.bare.1) * 2;
    let lettered = words + 2 * (AIR + left_arm.left.max(right_arm.left));
    let arms = left_arm.left + GAP + right_arm.left;
    let inside = up_to_ten(arms.max(across.width).max(lettered));
    let right = left + inside;
    scene.take(left_arm.scene.mirrored(), Point::new(left, 0));
    scene.take(right_arm.scene, Point::new(right, 0));
    let start = left + (inside - across.width) / 2;
    let leads = [
        (bridge.left, left, start),
        (bridge.right, start + across.width, right),
    ];
    for (node, from, to) in leads {
        scene.wire(node, &[Point::new(from, upper), Point::new(to, upper)]);
    }
    scene.take(across.scene, Point::new(start, upper));
    posts.extend([left, right]);
    for pair in posts.windows(2) {
        for (node, y) in [(bridge.top, 0), (ground, tall)] {
            scene.wire(node, &[Point::new(pair[0], y), Point::new(pair[1], y)]);
        }
    }
    // Above the middle of the node's wire.
    let middle = Point::new((posts[0] + right) / 2, -LINE - AIR + 3);
    let label = net.label(bridge.top);
    scene.letter(Owner::Node(bridge.top), middle, Anchor::Middle, label);
    scene.grounds.push(Point::new(posts[0], tall));
    scene
}
