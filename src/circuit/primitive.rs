//! What elements are made of: the pieces that stand in the equations.
//!
//! The equations are those of modified nodal analysis: the currents that leave
//! each node add up to zero, and each piece that keeps a voltage adds its
//! current as an unknown and its voltage as a row; see C.-W. Ho, A. E. Ruehli
//! and P. A. Brennan, The Modified Nodal Approach to Network Analysis, IEEE
//! Trans. Circuits and Systems 22 (1975) 504-509 (from memory).

use super::derived::Rule;
use super::fault::Regime;
use super::junction::Curve;
use super::kind::{Amplifier, Kind};
use super::plan::Stamp;

/// The place of the value that is always one.
pub(super) const ONE: usize = 0;

/// A piece between two unknown voltages. `value` is the place of the first of
/// its values in the list of all, `branch` the row and column of its current.
/// Its current counts from the first end through the piece to the second.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Piece {
    /// Value: conductance.
    Conductance { value: usize },
    /// Value: capacitance.
    Capacitance { value: usize },
    /// Value: inductance.
    Inductance { value: usize, branch: usize },
    /// Values: steady voltage, amplitude, phase.
    VoltageSource { value: usize, branch: usize },
    /// Values: steady current, amplitude, phase.
    CurrentSource { value: usize },
    /// A closed switch.
    Short { branch: usize },
    /// An open switch.
    Open,
    /// Values: saturation current, n V_T, series resistance, and a place for
    /// the slope at the operating point. `junction` is its number.
    Junction { value: usize, junction: usize },
    /// Values: knee, dynamic resistance, saturation current, n V_T, and a
    /// place for the slope.
    Zener { value: usize, junction: usize },
    /// Values: reciprocal gain, reciprocal gain-bandwidth, output resistance
    /// and its product with the reciprocal gain. Its ends are the output and
    /// ground.
    Amplifier {
        value: usize,
        branch: usize,
        inputs: [usize; 2],
    },
}

/// A piece with the unknowns at its ends.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Placed {
    pub(super) ends: [usize; 2],
    pub(super) piece: Piece,
}

impl Placed {
    /// The junction's characteristic, number, values and place of the slope,
    /// where the piece is a junction.
    #[inline]
    pub(super) fn junction(&self) -> Option<Junction> {
        let (curve, value, number) = match self.piece {
            Piece::Junction { value, junction } => (Curve::Shockley, value, junction),
            Piece::Zener { value, junction } => (Curve::Zener, value, junction),
            _ => return None,
        };
        Some(Junction {
            curve,
            number,
            first: value,
            slope: value + curve.values(),
        })
    }

    /// Adds what the piece puts into the equations: terms by the place of
    /// their value.
    ///
    /// A piece that keeps its voltage has a row that holds the difference of
    /// its nodes' voltages; an amplifier's says
    /// `v₊ - v₋ - (v_out - R_out i) / A = 0`, i being what enters its output.
    pub(super) fn stamps(&self, regime: Regime, out: &mut Vec<Stamp>) {
        let [a, b] = self.ends;
        let at_rest = regime == Regime::Steady;
        let mut add = |row, column, term, sign| {
            out.push(Stamp {
                row,
                column,
                term,
                sign,
            });
        };
        let between = match self.piece {
            Piece::Conductance { value } => Some(value),
            Piece::Capacitance { value } => (!at_rest).then_some(value),
            Piece::Junction { .. } | Piece::Zener { .. } => self.junction().map(|j| j.slope),
            _ => None,
        };
        if let Some(term) = between {
            add(a, a, term, 1.0);
            add(b, b, term, 1.0);
            add(a, b, term, -1.0);
            add(b, a, term, -1.0);
        }
        if let Some(branch) = self.branch() {
            add(a, branch, ONE, 1.0);
            add(b, branch, ONE, -1.0);
            match self.piece {
                Piece::Amplifier {
                    value,
                    inputs: [plus, minus],
                    ..
                } => {
                    add(branch, plus, ONE, 1.0);
                    add(branch, minus, ONE, -1.0);
                    add(branch, a, value, -1.0);
                    add(branch, branch, value + 3, 1.0);
                }
                _ => {
                    add(branch, a, ONE, 1.0);
                    add(branch, b, ONE, -1.0);
                }
            }
            if let (Piece::Inductance { value, .. }, false) = (self.piece, at_rest) {
                add(branch, branch, value, -1.0);
            }
        }
    }

    /// Whether the piece drives, or its current is not proportional to its
    /// voltage.
    pub(super) fn is_active(&self) -> bool {
        self.junction().is_some()
            || matches!(
                self.piece,
                Piece::VoltageSource { .. } | Piece::CurrentSource { .. }
            )
    }

    /// The unknown that is the piece's current, where it has one.
    pub(super) fn branch(&self) -> Option<usize> {
        match self.piece {
            Piece::Inductance { branch, .. }
            | Piece::VoltageSource { branch, .. }
            | Piece::Short { branch }
            | Piece::Amplifier { branch, .. } => Some(branch),
            _ => None,
        }
    }
}

/// A junction among the pieces.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Junction {
    pub(super) curve: Curve,
    /// Its number among the junctions.
    pub(super) number: usize,
    first: usize,
    /// Place of its slope among the values.
    pub(super) slope: usize,
}

impl Junction {
    /// Where its values are.
    pub(super) fn values(self) -> std::ops::Range<usize> {
        self.first..self.slope
    }
}

/// Hands out the numbers that pieces need.
#[derive(Debug)]
pub(super) struct Numbers {
    /// Next unknown that is not a node.
    pub(super) unknown: usize,
    /// Next value.
    pub(super) value: usize,
    /// Next junction.
    pub(super) junction: usize,
    /// The unknown of the reference node.
    pub(super) ground: usize,
}

fn next(counter: &mut usize) -> usize {
    *counter += 1;
    *counter - 1
}

/// How many unknowns an element adds: first voltages inside it, then currents.
pub(super) fn unknowns(kind: &Kind) -> (usize, usize) {
    match kind {
        Kind::Resistor { .. }
        | Kind::Capacitor { .. }
        | Kind::CurrentSource(_)
        | Kind::Switch { closed: false }
        | Kind::Diode(_)
        | Kind::Zener(_)
        | Kind::Led(_) => (0, 0),
        Kind::Inductor { .. }
        | Kind::VoltageSource(_)
        | Kind::Switch { closed: true }
        | Kind::Amplifier(_) => (0, 1),
        Kind::Loudspeaker(_) => (2, 2),
    }
}

/// The pieces of an element; the first carries the element's current.
pub(super) fn pieces(kind: &Kind, nodes: &[usize], numbers: &mut Numbers) -> Vec<Placed> {
    let value = numbers.value;
    numbers.value += Rule::of(kind).values();
    let ends = [nodes[0], nodes[1]];
    let mut branch = || next(&mut numbers.unknown);
    let piece = match kind {
        Kind::Resistor { .. } => Piece::Conductance { value },
        Kind::Capacitor { .. } => Piece::Capacitance { value },
        Kind::Inductor { .. } => Piece::Inductance {
            value,
            branch: branch(),
        },
        Kind::VoltageSource(_) => Piece::VoltageSource {
            value,
            branch: branch(),
        },
        Kind::CurrentSource(_) => Piece::CurrentSource { value },
        Kind::Switch { closed: true } => Piece::Short { branch: branch() },
        Kind::Switch { closed: false } => Piece::Open,
        Kind::Zener(_) => Piece::Zener {
            value,
            junction: next(&mut numbers.junction),
        },
        Kind::Diode(_) | Kind::Led(_) => Piece::Junction {
            value,
            junction: next(&mut numbers.junction),
        },
        Kind::Amplifier(Amplifier::Ideal | Amplifier::SinglePole { .. }) => {
            let piece = Piece::Amplifier {
                value,
                branch: branch(),
                inputs: ends,
            };
            return vec![placed([nodes[2], numbers.ground], piece)];
        }
        Kind::Loudspeaker(_) => {
            let [coil, cone] = [branch(), branch()];
            let inductance = |value, branch| Piece::Inductance { value, branch };
            return vec![
                placed([ends[0], coil], Piece::Conductance { value }),
                placed([coil, cone], inductance(value + 1, branch())),
                placed([cone, ends[1]], Piece::Conductance { value: value + 2 }),
                placed([cone, ends[1]], inductance(value + 3, branch())),
                placed([cone, ends[1]], Piece::Capacitance { value: value + 4 }),
            ];
        }
    };
    vec![placed(ends, piece)]
}

fn placed(ends: [usize; 2], piece: Piece) -> Placed {
    Placed { ends, piece }
}
