//! The drawing for any network: nodes as lines one above the other, every
//! element between the lines that it lies between.

use super::geometry::{Point, Rect, Turn, up_to_ten};
use super::net::Net;
use super::scene::{Anchor, BOX, LINE, Owner, Placed, Scene, text_width};
use super::stack::{AIR, ELEMENT, GAP, words_beside};
use super::symbol::{REACH, Symbol};

/// From one line to the next where no symbol stands between.
const BARE: i32 = 40;
/// From one line to the next where an amplifier stands between.
const TALL: i32 = 110;
/// From the start of the ground's line to its symbol.
const ASIDE: i32 = 12;
/// From one upright of a box to the next.
const PITCH: i32 = 20;

/// An element in its column.
struct Post {
    element: usize,
    /// Lines that it reaches from and to, counted from the top.
    upper: usize,
    lower: usize,
    /// The gap that its symbol stands in, by the line above it.
    gap: usize,
    left: i32,
    right: i32,
}

/// Draws all elements of a network.
pub(super) fn draw(net: &Net) -> Scene {
    let order = order(net);
    let mut line_of = vec![0; order.len()];
    for (line, node) in order.iter().enumerate() {
        line_of[*node] = line;
    }
    let mut posts: Vec<Post> = (0..net.nodes.len())
        .map(|element| post(net, element, &line_of))
        .collect();
    // Short ones first: the lines that they end at end before the long ones,
    // which then cross fewer of them.
    posts.sort_by_key(|post| (post.lower - post.upper, post.upper));
    let columns = columns(posts);
    let mut line_y = vec![0];
    for height in heights(net, &columns, order.len()) {
        line_y.push(line_y[line_y.len() - 1] + height);
    }

    let mut scene = Scene::default();
    let labels = order.iter().map(|node| label_width(net, *node) + AIR);
    let start = up_to_ten(labels.max().unwrap_or(0));
    let mut x = start - GAP + 4;
    if order.len() == 1 && net.ground.is_some() {
        // The ground symbol and the elements share the room below the line.
        x += 2 * ASIDE;
    }
    let mut ends = vec![start; order.len()];
    for column in &columns {
        let left = column.iter().map(|post| post.left).max().unwrap_or(0);
        let right = column.iter().map(|post| post.right).max().unwrap_or(0);
        let at = up_to_ten(x + GAP + left);
        for post in column {
            let touched = place(net, post, at, &line_of, &line_y, &mut scene);
            for (line, reached) in touched {
                ends[line] = ends[line].max(reached);
            }
        }
        x = at + right;
    }
    for (line, node) in order.iter().enumerate() {
        let y = line_y[line];
        label(net, *node, start - AIR, y, &mut scene);
        let from = Point::new(start, y);
        if net.ground == Some(*node) {
            scene.grounds.push(Point::new(start + ASIDE, y));
        }
        scene.wire(*node, &[from, Point::new(ends[line].max(start + 20), y)]);
    }
    scene
}

/// Name and voltage of a node; the name always, as nothing else tells the
/// lines apart.
fn label_text<'a>(net: &Net<'a>, node: usize) -> [&'a str; 2] {
    match net.label(node) {
        ["", value] => [net.names[node], value],
        label => label,
    }
}

fn label_width(net: &Net, node: usize) -> i32 {
    let [name, value] = label_text(net, node);
    text_width(name).max(text_width(value))
}

fn label(net: &Net, node: usize, right: i32, y: i32, scene: &mut Scene) {
    let [name, value] = label_text(net, node);
    let lines = if value.is_empty() { 1 } else { 2 };
    let top = y - LINE * lines / 2;
    let at = Point::new(right, top);
    scene.letter(Owner::Node(node), at, Anchor::End, [name, ""]);
    let at = Point::new(right, top + LINE);
    scene.letter(Owner::NodeValue(node), at, Anchor::End, ["", value]);
}

/// Nodes from top to bottom, ground at the bottom, so that elements reach over
/// as few lines as may be: from the order of the record, one node is moved at
/// a time as long as that helps.
fn order(net: &Net) -> Vec<usize> {
    let mut order: Vec<usize> = (0..net.names.len()).collect();
    order.retain(|node| Some(*node) != net.ground);
    let free = order.len();
    order.extend(net.ground);
    let cost = |order: &[usize]| -> usize {
        let mut line_of = vec![0; order.len()];
        for (line, node) in order.iter().enumerate() {
            line_of[*node] = line;
        }
        let reach = |nodes: &Vec<usize>| {
            let lines = nodes.iter().map(|node| line_of[*node]);
            let (low, high) = (lines.clone().min(), lines.max());
            high.unwrap_or(0) - low.unwrap_or(0)
        };
        net.nodes.iter().map(reach).sum()
    };
    let mut best = cost(&order);
    // Large networks keep the order of the record: trying every move takes
    // time that grows with the third power.
    let mut better = free <= 40;
    while better {
        better = false;
        for from in 0..free {
            for to in 0..free {
                let mut tried = order.clone();
                let node = tried.remove(from);
                tried.insert(to, node);
                let cost = cost(&tried);
                if cost < best {
                    (order, best, better) = (tried, cost, true);
                }
            }
        }
    }
    order
}

fn post(net: &Net, element: usize, line_of: &[usize]) -> Post {
    let nodes = net.nodes[element].iter();
    let lines: Vec<usize> = nodes.map(|node| line_of[*node]).collect();
    let last = line_of.len().saturating_sub(1);
    let upper = lines.iter().copied().min().unwrap_or(0);
    let lower = lines.iter().copied().max().unwrap_or(upper);
    // What begins and ends at one line needs a gap all the same.
    let upper = if upper == lower {
        upper.min(last.saturating_sub(1))
    } else {
        upper
    };
    let lower = lower.max(upper + 1);
    let words = AIR + net.words_width(element);
    let body = net.symbol(element).body();
    let (gap, left, right) = match way(net, element) {
        Way::Upright => (upper, body.bottom.max(15), -body.top + words),
        Way::Loop => (upper, body.bottom.max(15) + PITCH, -body.top + words),
        Way::Triangle => {
            let gap = lines[2].min(lower - 1).max(upper);
            (gap, 80, 60 + words)
        }
        Way::Box => {
            let half = half_width(lines.len());
            (upper, half, half + words)
        }
    };
    Post {
        element,
        upper,
        lower,
        gap,
        left,
        right,
    }
}

/// How an element stands between lines.
enum Way {
    /// Two terminals at two nodes.
    Upright,
    /// Two terminals at one node.
    Loop,
    /// An amplifier.
    Triangle,
    /// Any other number of terminals.
    Box,
}

fn way(net: &Net, element: usize) -> Way {
    let nodes = &net.nodes[element];
    match (net.symbol(element), nodes.len()) {
        (Symbol::Amplifier, 3) => Way::Triangle,
        (Symbol::Amplifier, _) => Way::Box,
        (_, 2) if nodes[0] == nodes[1] => Way::Loop,
        (_, 2) => Way::Upright,
        _ => Way::Box,
    }
}

fn half_width(pins: usize) -> i32 {
    // A box with more pins than i32 holds cannot be drawn, nor written down.
    BOX + PITCH * i32::try_from(pins.saturating_sub(1)).unwrap_or(0) / 2
}

/// Puts elements that do not reach over the same gaps into one column.
fn columns(posts: Vec<Post>) -> Vec<Vec<Post>> {
    let mut columns: Vec<Vec<Post>> = Vec::new();
    for post in posts {
        let free = |column: &&mut Vec<Post>| {
            let apart = |other: &Post| other.lower <= post.upper || post.lower <= other.upper;
            column.iter().all(apart)
        };
        match columns.iter_mut().find(free) {
            Some(column) => column.push(post),
            None => columns.push(vec![post]),
        }
    }
    columns
}

/// Heights of the gaps below each line.
fn heights(net: &Net, columns: &[Vec<Post>], lines: usize) -> Vec<i32> {
    let mut heights = vec![BARE; lines.saturating_sub(1).max(1)];
    for post in columns.iter().flatten() {
        let needed = match way(net, post.element) {
            Way::Triangle => TALL,
            _ => ELEMENT,
        };
        heights[post.gap] = heights[post.gap].max(needed);
    }
    heights
}

/// Places an element, and tells how far each line has to reach for it.
fn place(
    net: &Net,
    post: &Post,
    x: i32,
    line_of: &[usize],
    line_y: &[i32],
    scene: &mut Scene,
) -> Vec<(usize, i32)> {
    let element = post.element;
    let nodes = &net.nodes[element];
    let middle = (line_y[post.gap] + line_y[post.gap + 1]) / 2;
    let y_of = |node: usize| line_y[line_of[node]];
    let rises = |node: usize| line_of[node] <= post.gap;
    let mut placed = Placed {
        element,
        symbol: net.symbol(element),
        at: Point::new(x, middle),
        turn: Turn::LEVEL,
        pins: None,
    };
    let mut leads: Vec<(usize, Vec<Point>)> = Vec::new();
    let mut words = None;
    match way(net, element) {
        Way::Upright => {
            placed.turn = Turn::UPRIGHT.reversed(line_of[nodes[0]] > line_of[nodes[1]]);
            for (terminal, node) in nodes.iter().enumerate() {
                let from = placed.terminal(terminal);
                leads.push((*node, vec![from, Point::new(x, y_of(*node))]));
            }
        }
        Way::Loop => {
            placed.turn = Turn::UPRIGHT;
            let (side, y) = (x - PITCH - 15, y_of(nodes[0]));
            for terminal in 0..2 {
                let from = placed.terminal(terminal);
                let corners = if (from.y - y).abs() < (middle - y).abs() {
                    vec![from, Point::new(x, y)]
                } else {
                    let beyond = from.y + (from.y - middle).signum() * 5;
                    let around = [(x, beyond), (side, beyond), (side, y)];
                    let around = around.map(|(x, y)| Point::new(x, y));
                    [from].into_iter().chain(around).collect()
                };
                leads.push((nodes[0], corners));
            }
        }
        Way::Triangle => {
            // The input that goes up is drawn above, so that no leads cross.
            if rises(nodes[0]) && !rises(nodes[1]) {
                placed.turn = Turn::LEVEL.flipped();
            }
            let both = rises(nodes[0]) == rises(nodes[1]);
            for (terminal, node) in nodes.iter().enumerate().take(2) {
                let from = placed.terminal(terminal);
                // Of two that go the same way, the one further off goes around.
                let far = both && (from.y < middle) != rises(*node);
                let turn = Point::new(x - if far { 75 } else { 60 }, from.y);
                let end = Point::new(turn.x, y_of(*node));
                leads.push((*node, vec![from, turn, end]));
            }
            let from = placed.terminal(2);
            let turn = Point::new(x + 55, from.y);
            let end = Point::new(turn.x, y_of(nodes[2]));
            leads.push((nodes[2], vec![from, turn, end]));
            words = Some(Rect::new(x, middle, x + 55, middle));
        }
        Way::Box => {
            let half = half_width(nodes.len());
            let pin = |(index, node): (i32, &usize)| {
                let y = if rises(*node) { -REACH } else { REACH };
                Point::new(BOX - half + PITCH * index, y)
            };
            placed.pins = Some((half, (0..).zip(nodes).map(pin).collect()));
            for (terminal, node) in nodes.iter().enumerate() {
                let from = placed.terminal(terminal);
                leads.push((*node, vec![from, Point::new(from.x, y_of(*node))]));
            }
        }
    }
    let beside = words.unwrap_or(placed.body());
    words_beside(scene, net, element, beside, middle);
    scene.placed.push(placed);
    let mut touched = Vec::new();
    for (node, corners) in leads {
        scene.wire(node, &corners);
        touched.extend(corners.last().map(|end| (line_of[node], end.x)));
    }
    touched
}
