//! Graphical symbols after IEC 60617, drawn from memory: outlines, terminals
//! and the room that each takes.
//!
//! A symbol lies along the x axis with its first terminal at the left. Text
//! stands at negative y, so whatever sticks out (the arrows of an LED, the
//! plus of a source) sticks out at positive y.

use super::geometry::{Point, Rect};

/// What an element is drawn as, and the order of its terminals.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Symbol {
    /// A resistor; two terminals.
    Resistor,
    /// A fuse; two terminals.
    Fuse,
    /// A capacitor; two terminals.
    Capacitor,
    /// An inductor; two terminals.
    Inductor,
    /// A diode; anode, cathode.
    Diode,
    /// A zener diode; anode, cathode.
    Zener,
    /// A light-emitting diode; anode, cathode.
    Led,
    /// A switch; two terminals.
    Switch {
        /// Whether it is drawn closed.
        closed: bool,
    },
    /// An ideal voltage source; plus, minus.
    VoltageSource,
    /// An ideal current source; tail and head of its arrow.
    CurrentSource,
    /// An operational amplifier; plus input, minus input, output.
    Amplifier,
    /// A loudspeaker; two terminals.
    Loudspeaker,
    /// A plain box with any number of terminals, for what has no symbol here.
    Other,
}

/// Half the length of a symbol with two terminals.
pub(super) const REACH: i32 = 30;

impl Symbol {
    /// What the trade calls it.
    pub fn name(self) -> &'static str {
        match self {
            Symbol::Resistor => "resistor",
            Symbol::Fuse => "fuse",
            Symbol::Capacitor => "capacitor",
            Symbol::Inductor => "inductor",
            Symbol::Diode => "diode",
            Symbol::Zener => "zener diode",
            Symbol::Led => "light-emitting diode",
            Symbol::Switch { .. } => "switch",
            Symbol::VoltageSource => "voltage source",
            Symbol::CurrentSource => "current source",
            Symbol::Amplifier => "operational amplifier",
            Symbol::Loudspeaker => "loudspeaker",
            Symbol::Other => "part",
        }
    }

    /// Whether it drives a network.
    pub(super) fn is_source(self) -> bool {
        matches!(self, Symbol::VoltageSource | Symbol::CurrentSource)
    }

    /// Number of terminals; `None` where any number will do.
    pub(super) fn terminals(self) -> Option<usize> {
        match self {
            Symbol::Amplifier => Some(3),
            Symbol::Other => None,
            _ => Some(2),
        }
    }

    /// Where its terminals are.
    pub(super) fn terminal(self, index: usize) -> Point {
        match (self, index) {
            (Symbol::Amplifier, 0) => Point::new(-40, 20),
            (Symbol::Amplifier, 1) => Point::new(-40, -20),
            (Symbol::Amplifier, _) => Point::new(40, 0),
            (_, 0) => Point::new(-REACH, 0),
            _ => Point::new(REACH, 0),
        }
    }

    /// The room that it takes, leads left out.
    pub(super) fn body(self) -> Rect {
        let (half, text_side, far_side) = match self {
            Symbol::Resistor | Symbol::Fuse => (21, 7, 7),
            Symbol::Capacitor => (4, 13, 13),
            Symbol::Inductor => (20, 6, 1),
            Symbol::Diode => (9, 9, 9),
            Symbol::Zener => (9, 9, 9),
            Symbol::Led => (16, 9, 26),
            Symbol::Switch { closed: false } => (18, 15, 3),
            Symbol::Switch { closed: true } => (18, 3, 3),
            Symbol::VoltageSource => (24, 15, 15),
            Symbol::CurrentSource => (24, 15, 15),
            Symbol::Amplifier => (30, 40, 40),
            Symbol::Loudspeaker => (20, 7, 23),
            Symbol::Other => (21, 13, 13),
        };
        Rect::new(-half, -text_side, half, far_side)
    }

    /// Where its outline begins behind a terminal; a lead goes there.
    pub(super) fn lead(self, index: usize) -> Point {
        let half = match self {
            Symbol::Capacitor => 4,
            Symbol::Inductor => 20,
            Symbol::Diode | Symbol::Zener | Symbol::Led => 8,
            Symbol::Switch { .. } => 18,
            Symbol::VoltageSource | Symbol::CurrentSource => 15,
            Symbol::Amplifier => 30,
            Symbol::Loudspeaker => 12,
            Symbol::Resistor | Symbol::Fuse | Symbol::Other => 21,
        };
        let terminal = self.terminal(index);
        Point::new(half * terminal.x.signum(), terminal.y)
    }

    /// What is drawn between the leads, as SVG path data: outlines, and filled
    /// shapes.
    pub(super) fn paths(self) -> (&'static str, &'static str) {
        match self {
            Symbol::Resistor => ("M-21-7H21V7H-21Z", ""),
            Symbol::Fuse => ("M-21-7H21V7H-21ZM-21 0H21", ""),
            Symbol::Capacitor => ("M-4-13V13M4-13V13", ""),
            Symbol::Inductor => (
                "M-20 0a5 5.5 0 0 1 10 0a5 5.5 0 0 1 10 0a5 5.5 0 0 1 10 0a5 5.5 0 0 1 10 0",
                "",
            ),
            Symbol::Diode => ("M-8 0H8M-8-9V9L8 0ZM8-9V9", ""),
            Symbol::Zener => ("M-8 0H8M-8-9V9L8 0ZM2-9H8V9", ""),
            Symbol::Led => (
                "M-8 0H8M-8-9V9L8 0ZM8-9V9M-4 12L4 20M5 12L13 20",
                "M7.5 23.5L1.5 21L5 17.5ZM16.5 23.5L10.5 21L14 17.5Z",
            ),
            Symbol::Switch { closed: false } => (
                "M-12.4-1.3L14-14M-18 0a3 3 0 1 0 6 0a3 3 0 1 0-6 0M12 0a3 3 0 1 0 6 0a3 3 0 1 0-6 0",
                "",
            ),
            Symbol::Switch { closed: true } => (
                "M-12 0H12M-18 0a3 3 0 1 0 6 0a3 3 0 1 0-6 0M12 0a3 3 0 1 0 6 0a3 3 0 1 0-6 0",
                "",
            ),
            Symbol::VoltageSource => (
                "M-15 0H15M-15 0a15 15 0 1 0 30 0a15 15 0 1 0-30 0M-20 7V15M-24 11H-16",
                "",
            ),
            Symbol::CurrentSource => (
                "M-15 0a15 15 0 1 0 30 0a15 15 0 1 0-30 0M0-15V15",
                "M28 0L19-4V4Z",
            ),
            Symbol::Amplifier => ("M-30-40V40L30 0ZM-25-20H-17M-25 20H-17M-21 16V24", ""),
            Symbol::Loudspeaker => ("M-12-7H12V7H-12ZM-12 7L-20 23H20L12 7", ""),
            Symbol::Other => ("M-21-13H21V13H-21Z", ""),
        }
    }
}
