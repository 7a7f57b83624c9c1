//! A network by numbers: which element lies between which nodes.

use std::collections::BTreeMap;

use super::drawing::{Drawing, NodeLabel};
use super::reduce::{Edge, Tree};
use super::scene::{Owner, text_width};
use super::symbol::Symbol;

/// A drawing with its nodes numbered in the order in which they are named.
pub(super) struct Net<'a> {
    pub drawing: &'a Drawing,
    /// The nodes of every element.
    pub nodes: Vec<Vec<usize>>,
    /// Names of the nodes.
    pub names: Vec<&'a str>,
    /// What is written at each node.
    pub labels: Vec<Option<&'a NodeLabel>>,
    /// The reference node, where an element touches it.
    pub ground: Option<usize>,
}

/// A line of text: whom it names, and its two parts.
pub(super) type Line<'a> = (Owner, [&'a str; 2]);

impl<'a> Net<'a> {
    pub fn new(drawing: &'a Drawing) -> Net<'a> {
        let mut numbers: BTreeMap<&str, usize> = BTreeMap::new();
        let mut names: Vec<&str> = Vec::new();
        let mut nodes = Vec::new();
        for element in &drawing.elements {
            let mut own = Vec::new();
            for name in &element.nodes {
                let number = *numbers.entry(name).or_insert_with(|| {
                    names.push(name);
                    names.len() - 1
                });
                own.push(number);
            }
            nodes.push(own);
        }
        let mut labels = vec![None; names.len()];
        for label in &drawing.labels {
            if let Some(number) = numbers.get(label.node.as_str()) {
                labels[*number] = Some(label);
            }
        }
        let ground = numbers.get(drawing.ground.as_str()).copied();
        Net {
            drawing,
            nodes,
            names,
            labels,
            ground,
        }
    }

    pub fn symbol(&self, element: usize) -> Symbol {
        self.drawing.elements[element].symbol
    }

    /// Designator and value of an element.
    fn words(&self, element: usize) -> (&'a str, &'a str) {
        let element = &self.drawing.elements[element];
        (&element.name, &element.value)
    }

    /// Width of the wider of designator and value.
    pub fn words_width(&self, element: usize) -> i32 {
        let (name, value) = self.words(element);
        text_width(name).max(text_width(value))
    }

    /// Lines that designator and value take, with the text of each.
    pub fn lines(&self, element: usize) -> Vec<Line<'a>> {
        let (name, value) = self.words(element);
        let both = [
            (Owner::Name(element), [name, ""]),
            (Owner::Value(element), ["", value]),
        ];
        both.into_iter().filter(|line| line.1 != ["", ""]).collect()
    }

    /// Name and voltage that are written at a node.
    pub fn label(&self, node: usize) -> [&'a str; 2] {
        match self.labels[node] {
            Some(label) => [&label.name, &label.value],
            None => ["", ""],
        }
    }

    /// Width of a node's label in one line; zero without one.
    pub fn label_width(&self, node: usize) -> i32 {
        let [name, value] = self.label(node);
        let gap = if name.is_empty() || value.is_empty() {
            0
        } else {
            5
        };
        text_width(name) + text_width(value) + gap
    }

    /// Lines of a node's label when name and voltage stand above one another,
    /// and the width of the wider one.
    pub fn label_lines(&self, node: usize) -> (Vec<Line<'a>>, i32) {
        let [name, value] = self.label(node);
        let both = [
            (Owner::Node(node), [name, ""]),
            (Owner::NodeValue(node), ["", value]),
        ];
        let lines = both.into_iter().filter(|line| line.1 != ["", ""]).collect();
        (lines, text_width(name).max(text_width(value)))
    }

    /// Whether an element has the terminals of its symbol, between different
    /// nodes, so that a symbol in a line can stand for it.
    pub fn fits(&self, element: usize) -> bool {
        let nodes = &self.nodes[element];
        match self.symbol(element).terminals() {
            Some(3) => nodes.len() == 3,
            _ => nodes.len() == 2 && nodes[0] != nodes[1],
        }
    }

    /// Elements with two terminals out of a list, as edges of a graph.
    pub fn edges(&self, elements: &[usize]) -> Vec<Edge> {
        let two = elements.iter().filter(|e| self.nodes[**e].len() == 2);
        let edge = |element: &usize| Edge {
            from: self.nodes[*element][0],
            to: self.nodes[*element][1],
            tree: Tree::Leaf {
                element: *element,
                reversed: false,
            },
        };
        two.map(edge).collect()
    }

    /// Groups of elements that nothing but ground connects, each in the order
    /// of the record.
    pub fn pieces(&self) -> Vec<Vec<usize>> {
        let mut piece_of_node: Vec<usize> = (0..self.names.len()).collect();
        let root = |of: &[usize], mut at: usize| {
            while of[at] != at {
                at = of[at];
            }
            at
        };
        for nodes in &self.nodes {
            let mut own = nodes.iter().filter(|node| Some(**node) != self.ground);
            if let Some(first) = own.next() {
                for other in own {
                    let (a, b) = (root(&piece_of_node, *first), root(&piece_of_node, *other));
                    piece_of_node[a.max(b)] = a.min(b);
                }
            }
        }
        let mut pieces: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (element, nodes) in self.nodes.iter().enumerate() {
            let own = nodes.iter().find(|node| Some(**node) != self.ground);
            // What hangs on nothing, or on ground alone, comes last.
            let piece = own.map_or(usize::MAX, |node| root(&piece_of_node, *node));
            pieces.entry(piece).or_default().push(element);
        }
        pieces.into_values().collect()
    }
}
