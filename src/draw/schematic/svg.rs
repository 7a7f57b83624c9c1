//! A scene as SVG.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::geometry::{Point, Rect, Turn};
use super::net::Net;
use super::scene::{ASCENT, Anchor, BOX, LETTERS, Lettering, Owner, Placed, Scene, Wire};
use crate::draw::caption::{Caption, escaped};

/// Room around everything.
const MARGIN: i32 = 6;

/// Writes a scene as an `svg` element, and tells its width and height.
pub(super) fn written(net: &Net, scene: &Scene, caption: &Caption) -> (String, i32, i32) {
    let area = scene.bounds().unwrap_or(Rect::new(0, 0, 0, 0));
    let (left, top) = (area.left - MARGIN, area.top - MARGIN);
    let (width, height) = (area.right - left + MARGIN, area.bottom - top + MARGIN);
    let (names, title) = caption.markup();
    // What is inside an image is not told apart by a reader's aids, so a
    // drawing with links in it is a group.
    let mut elements = net.drawing.elements.iter();
    let links = elements.any(|element| element.href.is_some());
    let role = if links { "group" } else { "img" };
    let size = match width {
        ..=460 => "",
        461..=560 => " wide",
        561..=760 => " wider",
        _ => " widest",
    };
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"schematic{size}\" role=\"{role}\" {names} \
         viewBox=\"{left} {top} {width} {height}\" width=\"{width}\" height=\"{height}\" \
         fill=\"none\" stroke=\"currentColor\" stroke-width=\"1.5\" stroke-linecap=\"round\" \
         stroke-linejoin=\"round\" font-size=\"{LETTERS}\">{title}"
    );
    wires(net, scene, &mut out);
    for at in &scene.grounds {
        let _ = write!(
            out,
            "<path class=\"ground\" d=\"M{} {}v10m-10 0h20m-16 5h12m-8 5h4\"/>",
            at.x, at.y
        );
    }
    for placed in &scene.placed {
        element(net, scene, placed, &mut out);
    }
    for node in 0..net.names.len() {
        let own = |owner| matches!(owner, Owner::Node(n) | Owner::NodeValue(n) if n == node);
        let texts = scene.letterings.iter().filter(|text| own(text.owner));
        let texts: Vec<&Lettering> = texts.collect();
        if !texts.is_empty() {
            let amiss = net.labels[node].is_some_and(|label| label.amiss);
            let _ = write!(out, "<g class=\"node{}\">", red(amiss));
            texts.iter().for_each(|text| lettering(text, &mut out));
            out.push_str("</g>");
        }
    }
    out.push_str("</svg>");
    (out, width, height)
}

fn red(amiss: bool) -> &'static str {
    if amiss { " amiss" } else { "" }
}

/// The wires of each node with the leads of its elements, in one path: where
/// two strokes of one path meet, the joint is no darker than the rest.
fn wires(net: &Net, scene: &Scene, out: &mut String) {
    let mut by_node: BTreeMap<usize, String> = BTreeMap::new();
    let leads = scene.placed.iter().flat_map(|placed| {
        let nodes = net.nodes[placed.element].iter().enumerate();
        nodes.map(|(terminal, node)| Wire {
            node: *node,
            from: placed.terminal(terminal),
            to: placed.lead(terminal),
        })
    });
    for wire in scene.wires.iter().copied().chain(leads) {
        let path = by_node.entry(wire.node).or_default();
        let _ = write!(path, "M{} {}", wire.from.x, wire.from.y);
        if wire.from.y == wire.to.y {
            let _ = write!(path, "H{}", wire.to.x);
        } else {
            let _ = write!(path, "V{}", wire.to.y);
        }
    }
    for path in by_node.values() {
        let _ = write!(out, "<path class=\"wire\" d=\"{path}\"/>");
    }
    for Point { x, y } in scene.dots() {
        let _ = write!(
            out,
            "<circle class=\"dot\" cx=\"{x}\" cy=\"{y}\" r=\"3\" fill=\"currentColor\"/>"
        );
    }
    for (_, Point { x, y }) in &scene.ends {
        let _ = write!(out, "<circle class=\"end\" cx=\"{x}\" cy=\"{y}\" r=\"3\"/>");
    }
}

/// A symbol with its designator and value, as a link where it has an address.
fn element(net: &Net, scene: &Scene, placed: &Placed, out: &mut String) {
    let element = &net.drawing.elements[placed.element];
    let own = |owner| matches!(owner, Owner::Name(e) | Owner::Value(e) if e == placed.element);
    let texts = scene.letterings.iter().filter(|text| own(text.owner));
    let texts: Vec<&Lettering> = texts.collect();
    let class = format!("class=\"element{}\"", red(element.amiss));
    if let Some(href) = &element.href {
        let name = format!("{} {}", element.name, element.value);
        let area = texts.iter().map(|text| text.area());
        let area = area.fold(placed.body(), Rect::around);
        let _ = write!(
            out,
            "<a {class} href=\"{}\" aria-label=\"{}\">\
             <rect class=\"reach\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" \
             stroke=\"none\" pointer-events=\"all\"/>",
            escaped(href),
            escaped(name.trim()),
            area.left,
            area.top,
            area.right - area.left,
            area.bottom - area.top
        );
    } else {
        let _ = write!(out, "<g {class}>");
    }
    let Turn { a, b, c, d } = placed.turn;
    let Point { x, y } = placed.at;
    let turn = if placed.turn == Turn::LEVEL {
        format!("translate({x} {y})")
    } else {
        format!("matrix({a} {b} {c} {d} {x} {y})")
    };
    let _ = write!(out, "<g class=\"symbol\" transform=\"{turn}\">");
    outline(placed, out);
    out.push_str("</g>");
    texts.iter().for_each(|text| lettering(text, out));
    out.push_str(if element.href.is_some() {
        "</a>"
    } else {
        "</g>"
    });
}

fn outline(placed: &Placed, out: &mut String) {
    if let Some((half, _)) = &placed.pins {
        let _ = write!(out, "<path d=\"M-{half}-{BOX}H{half}V{BOX}H-{half}Z\"/>");
        return;
    }
    let (outline, filled) = placed.symbol.paths();
    let _ = write!(out, "<path d=\"{outline}\"/>");
    if !filled.is_empty() {
        let _ = write!(
            out,
            "<path class=\"tip\" d=\"{filled}\" fill=\"currentColor\" stroke=\"none\"/>"
        );
    }
}

fn lettering(text: &Lettering, out: &mut String) {
    let anchor = match text.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let classes = match text.owner {
        Owner::Name(_) | Owner::Value(_) => ["designator", "quantity"],
        Owner::Node(_) | Owner::NodeValue(_) => ["node-name", "node-voltage"],
    };
    let _ = write!(
        out,
        "<text x=\"{}\" y=\"{}\"{anchor} fill=\"currentColor\" stroke=\"none\">",
        text.at.x,
        text.at.y + ASCENT
    );
    let mut gap = "";
    for (class, part) in classes.into_iter().zip(&text.parts) {
        if !part.is_empty() {
            let part = escaped(part);
            let _ = write!(out, "<tspan class=\"{class}\"{gap}>{part}</tspan>");
            gap = " dx=\"5\"";
        }
    }
    out.push_str("</text>");
}
