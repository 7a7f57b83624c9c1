//! One operational amplifier with its feedback, what drives it and its load.

use super::geometry::{Point, Turn, up_to_ten};
use super::items::{Item, drives, items};
use super::ladder::{Ladder, Taken, one_row};
use super::net::Net;
use super::reduce::Tree;
use super::run::{Run, run};
use super::scene::{Anchor, LINE, Owner, Placed, Scene};
use super::stack::{AIR, GAP, Stack, height, stack};
use super::stage::Stage;

/// Half the height of the triangle.
const HALF: i32 = 40;
/// How far the pins stand above and below the middle.
const PIN: i32 = 20;
/// How far from the pin a wire to the feedback goes up or down.
const RISER: i32 = 20;
/// Least distance of the output's junction from the middle of the triangle.
const OUTPUT: i32 = 60;

/// Draws a stage: the input that is driven above, the other one below.
pub(super) fn draw(net: &Net, stage: &Stage) -> Scene {
    if stage.minus_above(net) {
        inverting(net, stage)
    } else {
        following(net, stage)
    }
}

/// Minus input above, feedback above it.
fn inverting(net: &Net, stage: &Stage) -> Scene {
    let mut scene = Scene::default();
    symbol(net, stage, Turn::LEVEL, &mut scene);
    let (plus, minus) = (Point::new(-HALF, PIN), Point::new(-HALF, -PIN));
    let lower = plus_below(net, stage, plus, &mut scene);

    let rail = rail(net, stage, stage.minus, &stage.at_minus, true);
    let taken = Taken {
        above: RISER - 10,
        below: lower.below,
    };
    let ladder = one_row(net, &rail, (stage.minus, stage.ground), taken);
    let rail_y = match lower.raised {
        0 => minus.y,
        raised => -up_to_ten(at_least(&stage.at_minus) + raised),
    };
    let riser = minus.x - ladder.risers.get(&stage.minus).copied().unwrap_or(0);
    let outer = outer(net, stage, &ladder, minus.x);
    let feedback = feedback(net, stage);
    let over = outer.as_ref().map_or(0, |(x, run)| x + run.width);
    let wide = feedback.as_ref().map_or(0, |run| riser + run.width);
    let output_x = up_to_ten(OUTPUT.max(wide).max(over));

    let mut top = rail_y - ladder.up;
    let mut rail = ladder.scene.mirrored();
    if rail_y != minus.y {
        // The rail lies higher than the pin and comes down at the riser.
        rail.wires.retain(|wire| wire.from.x.max(wire.to.x) < 0);
        let corners = [Point::new(riser, rail_y), Point::new(riser, minus.y), minus];
        scene.wire(stage.minus, &corners);
    }
    scene.take(rail, Point::new(minus.x, rail_y));
    let mut joint = Point::new(output_x, 0);
    if let Some(feedback) = feedback {
        let y = -up_to_ten(HALF + 6 + feedback.down);
        top = top.min(y - feedback.up);
        let ends = (Point::new(riser, minus.y), joint);
        arch(&mut scene, (stage.minus, stage.output), feedback, ends, y);
        joint.y = y;
    }
    outer_arch(stage, &mut scene, outer, rail_y, joint, top);
    let words = words(net, stage, &mut scene, Point::new(lower.words, HALF + 4));
    output(net, stage, &mut scene, output_x, words);
    scene
}

/// What the part below an amplifier takes up.
struct Lower {
    /// Where the amplifier's own text starts.
    words: i32,
    /// How far to the left of the pin the room below the upper rail is taken.
    below: i32,
    /// How far the upper rail has to rise above the ground symbols that hang
    /// from it; zero where it stays at its pin.
    raised: i32,
}

/// Draws the plus input where it is the lower one: at ground, held there
/// through a tree, or driven.
fn plus_below(net: &Net, stage: &Stage, plus: Point, scene: &mut Scene) -> Lower {
    let mut lower = Lower {
        words: -10,
        below: 0,
        raised: 0,
    };
    if stage.plus == stage.ground {
        let down = Point::new(plus.x, HALF + 6);
        scene.wire(stage.ground, &[plus, down]);
        scene.grounds.push(down);
        lower.below = 15;
    } else if stage.at_plus.iter().any(|tree| drives(net, tree)) {
        let rail = rail(net, stage, stage.plus, &stage.at_plus, false);
        let taken = Taken {
            above: RISER,
            below: RISER,
        };
        let ladder = one_row(net, &rail, (stage.plus, stage.ground), taken);
        lower.raised = ladder.up + GAP - plus.y + 24;
        // What hangs from the raised rail stands clear of the wire down.
        lower.below = RISER + AIR;
        scene.take(ladder.scene.mirrored(), plus);
    } else if let Some(tree) = Tree::beside(stage.at_plus.clone()) {
        let hanging = stack(net, &tree, (stage.plus, stage.ground), height(&tree));
        lower.words = lower.words.max(plus.x + hanging.right + GAP);
        lower.below = label_at_left(net, stage.plus, plus, scene).max(hanging.left);
        // A bar at its upper end stands clear of the triangle.
        let clear = if hanging.bar > 0 { HALF + AIR } else { plus.y };
        hang(stage.plus, (plus, clear), hanging, height(&tree), scene);
    }
    lower
}

/// Plus input above, feedback below.
fn following(net: &Net, stage: &Stage) -> Scene {
    let mut scene = Scene::default();
    symbol(net, stage, Turn::LEVEL.flipped(), &mut scene);
    let (plus, minus) = (Point::new(-HALF, -PIN), Point::new(-HALF, PIN));
    let corner = minus.x - RISER;
    let lines = net.lines(stage.amplifier).len() as i32;
    let words_top = -HALF - 4 - LINE * lines;
    let words = words(net, stage, &mut scene, Point::new(-10, words_top));

    let feedback = feedback(net, stage);
    let (up, down, width) = feedback
        .as_ref()
        .map_or((0, 0, 0), |run| (run.up, run.down, run.width));
    let lower = if stage.minus == stage.output {
        HALF + 20
    } else {
        up_to_ten(HALF + AIR + up)
    };
    let mut below = RISER + 10;
    let joint = Point::new(corner, lower);
    scene.wire(stage.minus, &[minus, Point::new(corner, minus.y), joint]);
    if stage.minus != stage.output {
        let mut reach = label_at_left(net, stage.minus, joint, &mut scene);
        if let Some(tree) = Tree::beside(stage.at_minus.clone()) {
            let hanging = stack(net, &tree, (stage.minus, stage.ground), height(&tree));
            reach = reach.max(hanging.left);
            // A bar at its upper end stands clear of the feedback.
            let clear = lower + if hanging.bar > 0 { down + AIR } else { 0 };
            let tall = height(&tree);
            hang(stage.minus, (joint, clear), hanging, tall, &mut scene);
        }
        below = RISER + reach;
    }

    let rail = rail(net, stage, stage.plus, &stage.at_plus, false);
    let taken = Taken { above: 5, below };
    let ladder = one_row(net, &rail, (stage.plus, stage.ground), taken);
    let outer = outer(net, stage, &ladder, plus.x);
    let over = outer.as_ref().map_or(0, |(x, run)| x + run.width);
    let output_x = up_to_ten(OUTPUT.max(words + AIR).max(corner + width).max(over));
    let at_output = Point::new(output_x, 0);
    match feedback {
        Some(feedback) => {
            let nodes = (stage.minus, stage.output);
            arch(&mut scene, nodes, feedback, (joint, at_output), lower);
        }
        None if stage.minus == stage.output => {
            let corners = [joint, Point::new(output_x, lower), at_output];
            scene.wire(stage.output, &corners);
        }
        None => {}
    }
    let top = words_top.min(plus.y - ladder.up);
    scene.take(ladder.scene.mirrored(), plus);
    outer_arch(stage, &mut scene, outer, plus.y, at_output, top);
    output(net, stage, &mut scene, output_x, 0);
    scene
}

fn symbol(net: &Net, stage: &Stage, turn: Turn, scene: &mut Scene) {
    scene.placed.push(Placed {
        element: stage.amplifier,
        symbol: net.symbol(stage.amplifier),
        at: Point::new(0, 0),
        turn,
        pins: None,
    });
}

fn feedback(net: &Net, stage: &Stage) -> Option<Run> {
    let tree = stage.feedback.as_ref()?;
    Some(run(net, tree, (stage.minus, stage.output)))
}

/// The sequence along the rail to a pin, from the pin outwards.
fn rail(net: &Net, stage: &Stage, pin: usize, trees: &[Tree], riser: bool) -> Vec<Item> {
    let mut all = items(net, pin, trees.to_vec());
    if let Some((outer, _)) = &stage.outer {
        let label = all.iter().position(|item| *item == Item::Node(*outer));
        if let Some(label) = label {
            let shunts = all[label + 1..]
                .iter()
                .take_while(|item| matches!(item, Item::Shunt(_)))
                .count();
            all.insert(label + 1 + shunts, Item::Riser(*outer));
        }
    }
    if riser {
        all.insert(0, Item::Riser(pin));
    }
    all
}

/// The least height of what hangs at a pin.
fn at_least(trees: &[Tree]) -> i32 {
    trees.iter().map(height).max().unwrap_or(0)
}

/// Writes a node's label to the left of a place, and tells how far it reaches.
fn label_at_left(net: &Net, node: usize, at: Point, scene: &mut Scene) -> i32 {
    let place = Point::new(at.x - AIR, at.y - LINE / 2);
    scene.letter(Owner::Node(node), place, Anchor::End, net.label(node));
    AIR + net.label_width(node)
}

/// Hangs a tree below a place, its upper end at a height, with ground below.
fn hang(node: usize, (from, clear): (Point, i32), hanging: Stack, height: i32, scene: &mut Scene) {
    let upper = Point::new(from.x, clear);
    scene.wire(node, &[from, upper]);
    scene.take(hanging.scene, upper);
    scene.grounds.push(Point::new(upper.x, upper.y + height));
}

/// The second feedback, and where it goes up.
fn outer(net: &Net, stage: &Stage, ladder: &Ladder, pin: i32) -> Option<(i32, Run)> {
    let (node, tree) = stage.outer.as_ref()?;
    let x = pin - ladder.risers.get(node)?;
    Some((x, run(net, tree, (*node, stage.output))))
}

/// Draws the second feedback over everything else.
fn outer_arch(
    stage: &Stage,
    scene: &mut Scene,
    outer: Option<(i32, Run)>,
    rail_y: i32,
    joint: Point,
    top: i32,
) {
    if let (Some((node, _)), Some((x, over))) = (&stage.outer, outer) {
        let y = -up_to_ten(-top + AIR + over.down);
        let ends = (Point::new(x, rail_y), joint);
        arch(scene, (*node, stage.output), over, ends, y);
    }
}

/// Leads a run at a height from one place to another, up or down to it at
/// both ends.
fn arch(
    scene: &mut Scene,
    (left, right): (usize, usize),
    run: Run,
    (from, to): (Point, Point),
    y: i32,
) {
    let start = from.x + (to.x - from.x - run.width) / 2;
    let end = start + run.width;
    scene.wire(left, &[from, Point::new(from.x, y), Point::new(start, y)]);
    scene.wire(right, &[Point::new(end, y), Point::new(to.x, y), to]);
    scene.take(run.scene, Point::new(start, y));
}

/// Writes the amplifier's own text, and tells how far to the right it goes.
fn words(net: &Net, stage: &Stage, scene: &mut Scene, at: Point) -> i32 {
    let lines = net.lines(stage.amplifier);
    for (line, (owner, parts)) in (0..).zip(lines) {
        let at = Point::new(at.x, at.y + LINE * line);
        scene.letter(owner, at, Anchor::Start, parts);
    }
    at.x + net.words_width(stage.amplifier)
}

/// The output with its load.
fn output(net: &Net, stage: &Stage, scene: &mut Scene, x: i32, words: i32) {
    scene.wire(stage.output, &[Point::new(HALF, 0), Point::new(x, 0)]);
    let items = items(net, stage.output, stage.load.clone());
    let taken = Taken {
        above: 0,
        below: (words - x).max(0),
    };
    let ladder = one_row(net, &items, (stage.output, stage.ground), taken);
    scene.take(ladder.scene, Point::new(x, 0));
}
