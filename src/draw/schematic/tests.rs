//! What must be true of every schematic, whatever its shape: everything is
//! there once, nothing stands on anything else, and the network that can be
//! read off the drawing is the one that was put in.

#![allow(clippy::unwrap_used)] // A test that panics is a test that fails.

mod networks;
mod random;

use std::collections::{BTreeMap, BTreeSet};

use super::geometry::{Point, Rect};
use super::net::Net;
use super::scene::{Lettering, Owner, Placed, Scene, ground_area};
use super::*;
use networks::named;
use random::random;

fn caption() -> Caption {
    Caption {
        id: "c".to_owned(),
        title: "A circuit <&>".to_owned(),
        description: "Drawn for a test".to_owned(),
    }
}

/// Holds a drawing to everything that is asked of any.
fn hold(name: &str, drawing: &Drawing) -> Shape {
    let net = Net::new(drawing);
    let (scene, shape) = scene_of(&net);
    everything_once(name, &net, &scene, shape);
    nothing_on_anything(name, &net, &scene);
    same_network(name, &net, &scene);
    well_formed(name, drawing);
    shape
}

fn everything_once(name: &str, net: &Net, scene: &Scene, shape: Shape) {
    let mut placed: Vec<usize> = scene.placed.iter().map(|one| one.element).collect();
    placed.sort_unstable();
    let all: Vec<usize> = (0..net.nodes.len()).collect();
    assert_eq!(placed, all, "{name}: elements");
    let mut owners: Vec<Owner> = scene.letterings.iter().map(|text| text.owner).collect();
    owners.sort_unstable();
    let count = owners.len();
    owners.dedup();
    assert_eq!(count, owners.len(), "{name}: a text stands twice");
    for (element, record) in net.drawing.elements.iter().enumerate() {
        let there = owners.contains(&Owner::Name(element));
        assert_eq!(there, !record.name.is_empty(), "{name}: {}", record.name);
        let there = owners.contains(&Owner::Value(element));
        assert_eq!(there, !record.value.is_empty(), "{name}: {}", record.value);
    }
    for (node, label) in net.labels.iter().enumerate() {
        let own = |text: &&Lettering| text.owner == Owner::Node(node) && !text.parts[0].is_empty();
        let names = scene.letterings.iter().filter(own).count();
        let wanted = label.is_some_and(|label| !label.name.is_empty()) || shape == Shape::Lines;
        assert_eq!(names, usize::from(wanted), "{name}: {}", net.names[node]);
    }
}

/// Leads and wires, as thin rectangles.
fn strokes(net: &Net, scene: &Scene) -> Vec<Rect> {
    let wires = scene.wires.iter();
    let wires = wires.map(|wire| Rect::between(wire.from, wire.to));
    let leads = scene.placed.iter().flat_map(|placed| {
        (0..net.nodes[placed.element].len())
            .map(|terminal| Rect::between(placed.terminal(terminal), placed.lead(terminal)))
    });
    wires.chain(leads).collect()
}

fn nothing_on_anything(name: &str, net: &Net, scene: &Scene) {
    let texts: Vec<_> = scene
        .letterings
        .iter()
        .map(|text| (text.area(), text))
        .collect();
    let bodies: Vec<Rect> = scene.placed.iter().map(Placed::body).collect();
    let grounds: Vec<Rect> = scene.grounds.iter().map(|at| ground_area(*at)).collect();
    let strokes = strokes(net, scene);
    for (index, (area, text)) in texts.iter().enumerate() {
        for (other, more) in &texts[index + 1..] {
            assert!(
                !area.meets(*other),
                "{name}: {:?} on {:?}",
                text.parts,
                more.parts
            );
        }
        for thing in bodies.iter().chain(&strokes).chain(&grounds) {
            assert!(!area.meets(*thing), "{name}: {:?} on {thing:?}", text.parts);
        }
    }
    for (index, body) in bodies.iter().enumerate() {
        for other in bodies[index + 1..].iter().chain(&grounds) {
            assert!(!body.meets(*other), "{name}: {body:?} on {other:?}");
        }
        for wire in &scene.wires {
            let wire = Rect::between(wire.from, wire.to);
            assert!(!body.meets(wire), "{name}: wire {wire:?} through {body:?}");
        }
    }
}

/// Reads the network off the wires alone, without what each is tagged with.
fn same_network(name: &str, net: &Net, scene: &Scene) {
    let wires = &scene.wires;
    let mut group: Vec<usize> = (0..wires.len()).collect();
    let root = |group: &[usize], mut at: usize| {
        while group[at] != at {
            at = group[at];
        }
        at
    };
    for (one, wire) in wires.iter().enumerate() {
        let straight = wire.from.x == wire.to.x || wire.from.y == wire.to.y;
        assert!(straight, "{name}: {wire:?} is not straight");
        for (other, more) in wires.iter().enumerate().skip(one + 1) {
            let touch = [wire.from, wire.to].into_iter().any(|at| more.passes(at))
                || [more.from, more.to].into_iter().any(|at| wire.passes(at));
            if touch {
                let (a, b) = (root(&group, one), root(&group, other));
                group[a.max(b)] = a.min(b);
            }
        }
    }
    let at = |point: Point| {
        let wire = wires.iter().position(|wire| wire.passes(point));
        wire.map(|wire| root(&group, wire))
    };
    // All ground symbols are one node.
    let grounds: BTreeSet<Option<usize>> = scene.grounds.iter().map(|g| at(*g)).collect();
    let read = |point: Point| at(point).filter(|own| !grounds.contains(&Some(*own)));
    let mut node_of: BTreeMap<Option<usize>, usize> = BTreeMap::new();
    let mut wire_of: BTreeMap<usize, Option<usize>> = BTreeMap::new();
    for placed in &scene.placed {
        for (terminal, node) in net.nodes[placed.element].iter().enumerate() {
            let point = placed.terminal(terminal);
            assert!(at(point).is_some(), "{name}: no wire at {point:?}");
            let wire = read(point);
            let joined = *node_of.entry(wire).or_insert(*node);
            assert_eq!(joined, *node, "{name}: two nodes are joined at {point:?}");
            let whole = *wire_of.entry(*node).or_insert(wire);
            assert_eq!(whole, wire, "{name}: {} is in two pieces", net.names[*node]);
        }
    }
    if let Some(ground) = net.ground {
        assert_eq!(wire_of.get(&ground), Some(&None), "{name}: ground");
    }
    for wire in wires {
        let own = wire_of.get(&wire.node);
        assert_eq!(own, Some(&read(wire.from)), "{name}: {wire:?} is loose");
    }
}

fn well_formed(name: &str, drawing: &Drawing) {
    let drawn = schematic(drawing, &caption());
    let tree = roxmltree::Document::parse(&drawn.svg).unwrap_or_else(|e| panic!("{name}: {e}"));
    let mut ids = BTreeSet::new();
    for node in tree.descendants().filter(roxmltree::Node::is_element) {
        if let Some(id) = node.attribute("id") {
            assert!(id.starts_with("c-") && ids.insert(id), "{name}: id {id}");
        }
        assert_eq!(node.attribute("style"), None, "{name}: style");
        for attribute in ["fill", "stroke"] {
            let colour = node.attribute(attribute).unwrap_or("none");
            assert!(
                matches!(colour, "none" | "currentColor"),
                "{name}: {colour}"
            );
        }
    }
    let svg = tree.root_element();
    let label = svg.attribute("aria-labelledby").unwrap();
    assert!(
        label.split(' ').all(|id| ids.contains(id)),
        "{name}: {label}"
    );
    let view = svg.attribute("viewBox").unwrap().split(' ');
    let view: Vec<i32> = view.map(|part| part.parse().unwrap()).collect();
    assert_eq!(view[2..], [drawn.width, drawn.height], "{name}: view box");
}

#[test]
fn named_networks_hold_and_have_their_shape() {
    for (name, drawing, shape) in named() {
        assert_eq!(hold(name, &drawing), shape, "{name}");
    }
}

#[test]
fn networks_at_random_hold() {
    let mut shapes = BTreeMap::new();
    for seed in 0..400 {
        let shape = hold(&format!("seed {seed}"), &random(seed));
        *shapes.entry(shape).or_insert(0) += 1;
    }
    // The generator reaches every shape often enough to say something of it.
    assert_eq!(shapes.len(), 4, "{shapes:?}");
    assert!(shapes.values().all(|count| *count >= 20), "{shapes:?}");
}

#[test]
fn ladders_break_into_rows_for_a_phone() {
    for stages in 1..=12 {
        let drawn = schematic(&networks::rc_ladder(stages), &caption());
        assert_eq!(drawn.shape, Shape::Ladder);
        assert!(
            drawn.width <= ladder::WIDEST + 50,
            "{stages}: {}",
            drawn.width
        );
    }
}

#[test]
fn large_networks_are_drawn_all_the_same() {
    let drawn = schematic(&networks::rc_ladder(100), &caption());
    assert_eq!(drawn.shape, Shape::Lines);
}

#[test]
fn links_make_a_group_and_names() {
    let (_, mut drawing, _) = named().remove(0);
    drawing.elements[1].href = Some("parts.html?a=1&b=2".to_owned());
    let drawn = schematic(&drawing, &caption());
    let tree = roxmltree::Document::parse(&drawn.svg).unwrap();
    assert_eq!(tree.root_element().attribute("role"), Some("group"));
    let link = tree
        .descendants()
        .find(|node| node.has_tag_name("a"))
        .unwrap();
    assert_eq!(link.attribute("href"), Some("parts.html?a=1&b=2"));
    assert_eq!(link.attribute("aria-label"), Some("R1 10 kΩ"));
}

#[test]
fn what_does_not_hold_is_marked() {
    let (_, mut drawing, _) = named().remove(0);
    drawing.elements[2].amiss = true;
    drawing.labels[1].amiss = true;
    let svg = schematic(&drawing, &caption()).svg;
    assert_eq!(svg.matches("class=\"element amiss\"").count(), 1);
    assert_eq!(svg.matches("class=\"node amiss\"").count(), 1);
}

#[test]
fn junctions_have_dots_and_crossings_do_not() {
    let (_, divider, _) = named().remove(0);
    let (scene, _) = scene_of(&Net::new(&divider));
    // Ground alone joins three: source, lower resistor and the symbol.
    assert_eq!(scene.dots(), scene.grounds);
    let mut crossing = Scene::default();
    crossing.wire(0, &[Point::new(0, 10), Point::new(20, 10)]);
    crossing.wire(1, &[Point::new(10, 0), Point::new(10, 20)]);
    assert_eq!(crossing.dots(), []);
}

#[test]
fn a_drawing_of_nothing_is_a_drawing() {
    let drawn = schematic(&Drawing::default(), &caption());
    assert!(roxmltree::Document::parse(&drawn.svg).is_ok());
}
