//! A network between a node and ground as a sequence along a rail: what hangs
//! down from it, and what lies in it.

use super::net::Net;
use super::reduce::Tree;
use super::symbol::Symbol;

/// What comes next along a rail.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Item {
    /// From here on the rail is this node.
    Node(usize),
    /// A tree from the rail down to ground.
    Shunt(Tree),
    /// A place of the rail that is kept free for a wire going up.
    Riser(usize),
    /// A tree in the rail, from the node so far to the next one.
    Run { tree: Tree, from: usize, to: usize },
}

/// The branches from a node to ground as a sequence. Signals go from left to
/// right: sources come first, what the rail goes on with comes last.
pub(super) fn items(net: &Net, node: usize, branches: Vec<Tree>) -> Vec<Item> {
    let mut all = vec![Item::Node(node)];
    let leaf = |tree: &Tree| match tree {
        Tree::Leaf { element, .. } => Some(net.symbol(*element)),
        _ => None,
    };
    let is_source = |tree: &Tree| leaf(tree).is_some_and(Symbol::is_source);
    let (sources, mut others): (Vec<Tree>, Vec<Tree>) = branches.into_iter().partition(is_source);
    all.extend(sources.into_iter().map(Item::Shunt));
    let alone = others.len() == 1;
    let leaves: Vec<Symbol> = others.iter().filter_map(leaf).collect();
    let lying = others
        .iter()
        .enumerate()
        .filter(|(_, tree)| !hangs_well(net, tree, alone) || goes_on(net, tree, &leaves))
        .max_by_key(|(_, tree)| (drives(net, tree), tree.elements().len()))
        .map(|(index, _)| index);
    let lying = lying.map(|index| others.remove(index));
    all.extend(others.into_iter().map(Item::Shunt));
    let (chain, joints) = match lying {
        Some(Tree::Series { items, joints }) => (items, joints),
        other => {
            all.extend(other.map(Item::Shunt));
            return all;
        }
    };
    let mut from = node;
    let mut chain = chain.into_iter();
    for to in joints {
        if let Some(tree) = chain.next() {
            all.push(Item::Run { tree, from, to });
        }
        match chain.len() {
            // The last one hangs at the end of the rail.
            1 => {
                let branches = chain.next().map_or_else(Vec::new, Tree::branches);
                all.extend(items(net, to, branches));
            }
            _ => all.push(Item::Node(to)),
        }
        from = to;
    }
    all
}

/// Whether there is a source in a tree.
pub(super) fn drives(net: &Net, tree: &Tree) -> bool {
    let elements = tree.elements();
    elements
        .into_iter()
        .any(|element| net.symbol(element).is_source())
}

/// Whether a small branch is one more stage of a ladder: it ends with what also
/// hangs beside it.
fn goes_on(net: &Net, tree: &Tree, beside: &[Symbol]) -> bool {
    let Tree::Series { items, .. } = tree else {
        return false;
    };
    match items.last() {
        Some(Tree::Leaf { element, .. }) => beside.contains(&net.symbol(*element)),
        _ => false,
    }
}

/// Whether a branch looks better hanging from the rail than lying in it.
///
/// Drawing-office habit, no source: a divider stands upright; a filter, a
/// chain with a switch, and whatever branches again further on lies in the
/// rail. A small branch beside others hangs, whatever it is made of.
fn hangs_well(net: &Net, tree: &Tree, alone: bool) -> bool {
    let Tree::Series { items, .. } = tree else {
        return true;
    };
    let simple = |tree: &Tree| match tree {
        Tree::Leaf { .. } => true,
        Tree::Parallel(items) => items.iter().all(|item| matches!(item, Tree::Leaf { .. })),
        Tree::Series { .. } => false,
    };
    if items.len() > 4 || !items.iter().all(simple) {
        return false;
    }
    if !alone && items.len() == 2 && !drives(net, tree) {
        return true;
    }
    let made_of = |tree: &Tree, of: &dyn Fn(Symbol) -> bool| {
        let elements = tree.elements();
        elements.into_iter().all(|element| of(net.symbol(element)))
    };
    let resists = |symbol| matches!(symbol, Symbol::Resistor | Symbol::Fuse | Symbol::Other);
    let leads =
        |symbol| resists(symbol) || matches!(symbol, Symbol::Diode | Symbol::Zener | Symbol::Led);
    let ends = |symbol| resists(symbol) || symbol == Symbol::CurrentSource;
    match items.split_last() {
        Some((last, before)) => {
            before.iter().all(|tree| made_of(tree, &leads)) && made_of(last, &ends)
        }
        None => true,
    }
}
