//! A drawn schematic of a small network.
//!
//! The shape is recognised from the graph. What series-parallel reduction
//! leaves nothing of becomes a ladder: a rail from left to right, with what
//! hangs down to ground. What it leaves a bridge of becomes two arms with a
//! branch across. One operational amplifier becomes a stage with its feedback.
//! Everything else, also what is no sound network, becomes lines for nodes
//! with the elements between.

mod amplifier;
mod bridge;
mod drawing;
mod geometry;
mod items;
mod ladder;
mod lines;
mod net;
mod reduce;
mod run;
mod scene;
mod stack;
mod stage;
mod svg;
mod symbol;

#[cfg(test)]
mod tests;

use std::collections::BTreeSet;

pub use drawing::{Drawing, Element, NodeLabel};
pub use symbol::Symbol;

use super::caption::Caption;
use geometry::{Point, Rect, up_to_ten};
use net::Net;
use reduce::reduced;
use scene::{Anchor, LINE, Owner, Scene};

/// A drawn schematic.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Schematic {
    /// One `svg` element.
    pub svg: String,
    /// How it is laid out.
    pub shape: Shape,
    /// Width at which a letter is 15 pixels high, in pixels.
    pub width: i32,
    /// Height at that width, in pixels.
    pub height: i32,
}

/// How a network is laid out.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Shape {
    /// Series, parallel and ladder circuits along a rail.
    Ladder,
    /// Two arms with a branch across.
    Bridge,
    /// An operational amplifier with what is around it.
    Amplifier,
    /// Nodes as lines, elements between them.
    Lines,
}

/// More elements than this are no small network: they are drawn between lines.
const MOST: usize = 64;

/// Draws a network.
///
/// Never fails: elements with the wrong number of nodes, loose ends and
/// networks of any other fault are drawn as they are recorded.
///
/// ```
/// use ohmbook::draw::{Caption, Drawing, Element, NodeLabel, Shape, Symbol, schematic};
///
/// let divider = Drawing {
///     elements: vec![
///         Element::new("V1", Symbol::VoltageSource, ["in", "gnd"], "5 V"),
///         Element::new("R1", Symbol::Resistor, ["in", "out"], "10 kΩ"),
///         Element::new("R2", Symbol::Resistor, ["out", "gnd"], "15 kΩ"),
///     ],
///     ground: "gnd".to_owned(),
///     labels: vec![NodeLabel::new("in", "5 V"), NodeLabel::new("out", "3 V")],
/// };
/// let caption = Caption {
///     id: "divider".to_owned(),
///     title: "Divider".to_owned(),
///     description: "R1 above R2, fed with 5 V.".to_owned(),
/// };
/// let drawn = schematic(&divider, &caption);
/// assert_eq!(drawn.shape, Shape::Ladder);
/// assert!(drawn.svg.starts_with("<svg"));
/// ```
pub fn schematic(drawing: &Drawing, caption: &Caption) -> Schematic {
    let net = Net::new(drawing);
    let (scene, shape) = scene_of(&net);
    let (svg, width, height) = svg::written(&net, &scene, caption);
    Schematic {
        svg,
        shape,
        width,
        height,
    }
}

/// Lays out a network.
fn scene_of(net: &Net) -> (Scene, Shape) {
    let by_shape = drawn_by_shape(net);
    let (mut scene, shape) = by_shape.unwrap_or_else(|| (lines::draw(net), Shape::Lines));
    // Between lines, the ground's name stands at its line.
    if let Some(ground) = net.ground.filter(|_| shape != Shape::Lines) {
        label_ground(net, ground, &mut scene);
    }
    (scene, shape)
}

/// The pieces of a network side by side, if each has a shape.
fn drawn_by_shape(net: &Net) -> Option<(Scene, Shape)> {
    let ground = net.ground?;
    if net.nodes.len() > MOST || !(0..net.nodes.len()).all(|element| net.fits(element)) {
        return None;
    }
    let pieces = net.pieces();
    let drawn = pieces.iter().map(|piece| piece_drawn(net, piece, ground));
    let drawn: Vec<(Scene, Shape)> = drawn.collect::<Option<_>>()?;
    let shape = drawn.iter().map(|(_, shape)| *shape).max()?;
    let mut whole = Scene::default();
    let (mut x, mut y, mut row_bottom) = (0, 0, 0);
    for (scene, _) in drawn {
        let area = scene.bounds()?;
        let (width, height) = (area.right - area.left, area.bottom - area.top);
        if x > 0 && x + width > ladder::WIDEST {
            (x, y) = (0, row_bottom);
        }
        let by = Point::new(up_to_ten(x - area.left), up_to_ten(y - area.top));
        whole.take(scene, by);
        x = up_to_ten(x + width) + 30;
        row_bottom = row_bottom.max(up_to_ten(y + height) + 30);
    }
    Some((whole, shape))
}

fn piece_drawn(net: &Net, piece: &[usize], ground: usize) -> Option<(Scene, Shape)> {
    if piece.iter().any(|e| net.symbol(*e) == Symbol::Amplifier) {
        let stage = stage::stage(net, piece, ground)?;
        return Some((amplifier::draw(net, &stage), Shape::Amplifier));
    }
    let reductions: Vec<_> = tops(net, piece, ground)
        .into_iter()
        .map(|top| {
            let keep = BTreeSet::from([top, ground]);
            (top, reduced(net.edges(piece), &keep))
        })
        .collect();
    for (top, edges) in &reductions {
        if let [edge] = edges.as_slice()
            && edge.touches(ground)
        {
            let branches = edge.clone().read_from(*top).tree.branches();
            let items = items::items(net, *top, branches);
            return Some((ladder::rows(net, &items, ground), Shape::Ladder));
        }
    }
    reductions.iter().find_map(|(top, edges)| {
        let bridge = bridge::bridge(edges, *top, ground)?;
        Some((bridge::draw(net, &bridge, ground), Shape::Bridge))
    })
}

/// Nodes that the rail may start at, the most promising first: where a source
/// stands between it and ground, then in the order of the record.
fn tops(net: &Net, piece: &[usize], ground: usize) -> Vec<usize> {
    let mut tops = Vec::new();
    let grounded = |element: &&usize| net.nodes[**element].contains(&ground);
    for wanted in [Symbol::VoltageSource, Symbol::CurrentSource] {
        let sources = piece.iter().filter(|e| net.symbol(**e) == wanted);
        tops.extend(sources.filter(grounded).flat_map(|e| &net.nodes[*e]));
    }
    tops.extend(piece.iter().flat_map(|element| &net.nodes[*element]));
    let mut seen = BTreeSet::from([ground]);
    tops.retain(|node| seen.insert(*node));
    tops
}

/// Writes the ground's name beside the first ground symbol that has room for
/// it.
fn label_ground(net: &Net, ground: usize, scene: &mut Scene) {
    let width = net.label_width(ground);
    let area = |at: Point, right: bool| {
        let x = if right { at.x + 16 } else { at.x - 16 - width };
        Rect::new(x, at.y + 6, x + width, at.y + 6 + LINE)
    };
    let sides = scene.grounds.iter();
    let sides = sides.flat_map(|at| [area(*at, true), area(*at, false)]);
    let free = sides.clone().find(|area| scene.is_free(*area));
    // Where every place is taken, there is room below the first symbol.
    let (at, anchor) = match (free, scene.grounds.first()) {
        (Some(area), _) => (Point::new(area.left, area.top), Anchor::Start),
        (None, Some(at)) => (Point::new(at.x, at.y + 23), Anchor::Middle),
        (None, None) => return,
    };
    scene.letter(Owner::Node(ground), at, anchor, net.label(ground));
}
