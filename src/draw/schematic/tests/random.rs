//! Networks at random: series-parallel ones, bridges, stages of an amplifier,
//! and any graph at all.

use super::super::{Drawing, Element, NodeLabel, Symbol};
use Symbol::{
    Amplifier, Capacitor, CurrentSource, Diode, Inductor, Led, Loudspeaker, Other, Resistor,
    Switch, VoltageSource, Zener,
};

/// A small generator, enough to vary shapes: Numerical Recipes' constants.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223) % (1 << 32);
        (self.0 >> 8) as usize % most
    }

    fn one_of<'a>(&mut self, all: &[&'a str]) -> &'a str {
        all[self.below(all.len())]
    }
}

/// A network of a seed.
pub(super) fn random(seed: u64) -> Drawing {
    let mut dice = Dice(seed.wrapping_mul(2_654_435_761) % (1 << 32));
    for _ in 0..4 {
        dice.below(2);
    }
    let mut made = Made::default();
    match dice.below(4) {
        0 => {
            made.add(VoltageSource, &["n0", "gnd"], &mut dice);
            made.grow("n0", "gnd", 9, &mut dice);
        }
        1 => {
            made.add(VoltageSource, &["n0", "gnd"], &mut dice);
            let branches = [
                ("n0", "l"),
                ("n0", "r"),
                ("l", "gnd"),
                ("r", "gnd"),
                ("l", "r"),
            ];
            for (a, b) in branches {
                made.grow(a, b, 2, &mut dice);
            }
        }
        2 => made.amplifier(&mut dice),
        _ => {
            let nodes = ["gnd", "a", "b", "c", "d", "e"];
            for _ in 0..dice.below(9) + 1 {
                let ends = [dice.one_of(&nodes), dice.one_of(&nodes)];
                let symbol = Made::any(&mut dice);
                made.add(symbol, &ends, &mut dice);
            }
            if dice.below(3) == 0 {
                let pins = [
                    dice.one_of(&nodes),
                    dice.one_of(&nodes),
                    dice.one_of(&nodes),
                ];
                made.add(Amplifier, &pins, &mut dice);
            }
        }
    }
    made.labelled(&mut dice)
}

/// A network that grows.
#[derive(Default)]
struct Made {
    elements: Vec<Element>,
    fresh: usize,
}

impl Made {
    fn any(dice: &mut Dice) -> Symbol {
        let all = [
            Resistor,
            Resistor,
            Capacitor,
            Inductor,
            Diode,
            Zener,
            Led,
            Switch { closed: false },
            Switch { closed: true },
            CurrentSource,
            VoltageSource,
            Loudspeaker,
            Other,
        ];
        all[dice.below(all.len())]
    }

    fn add(&mut self, symbol: Symbol, nodes: &[&str], dice: &mut Dice) {
        let values = [
            "",
            "1 Ω",
            "10 kΩ",
            "4.7 kΩ ±1 %",
            "W",
            "ein langer Wert in µF",
        ];
        let value = dice.one_of(&values);
        let name = format!("X{}", self.elements.len() + 1);
        self.elements
            .push(Element::new(name, symbol, nodes.iter().copied(), value));
    }

    /// Puts a series-parallel tree between two nodes.
    fn grow(&mut self, from: &str, to: &str, budget: usize, dice: &mut Dice) {
        if budget < 2 || dice.below(5) == 0 {
            let symbol = Made::any(dice);
            let ends = if dice.below(2) == 0 {
                [from, to]
            } else {
                [to, from]
            };
            self.add(symbol, &ends, dice);
            return;
        }
        let part = 1 + dice.below(budget - 1);
        if dice.below(2) == 0 {
            self.fresh += 1;
            let joint = format!("j{}", self.fresh);
            self.grow(from, &joint, part, dice);
            self.grow(&joint, to, budget - part, dice);
        } else {
            self.grow(from, to, part, dice);
            self.grow(from, to, budget - part, dice);
        }
    }

    fn amplifier(&mut self, dice: &mut Dice) {
        let follower = dice.below(4) == 0;
        let minus = if follower { "out" } else { "n" };
        let plus = if dice.below(3) == 0 { "gnd" } else { "p" };
        self.add(Amplifier, &[plus, minus, "out"], dice);
        if plus == "p" {
            self.input("p", dice);
        }
        if !follower {
            self.input("n", dice);
            self.grow("n", "out", 3, dice);
        }
        if dice.below(2) == 0 {
            self.grow("out", "gnd", 4, dice);
        }
        let outer = self
            .elements
            .iter()
            .any(|e| e.nodes.contains(&"k".to_owned()));
        if outer && dice.below(3) == 0 {
            self.grow("k", "out", 2, dice);
        }
    }

    fn input(&mut self, pin: &str, dice: &mut Dice) {
        let source = format!("s{pin}");
        match dice.below(4) {
            0 => self.add(Resistor, &[pin, "gnd"], dice),
            1 => self.add(VoltageSource, &[pin, "gnd"], dice),
            2 => {
                self.add(VoltageSource, &[&source, "gnd"], dice);
                self.grow(&source, pin, 3, dice);
                if dice.below(2) == 0 {
                    self.grow(pin, "gnd", 3, dice);
                }
            }
            _ => {
                self.add(VoltageSource, &[&source, "gnd"], dice);
                self.grow(&source, "k", 2, dice);
                self.grow("k", pin, 2, dice);
            }
        }
    }

    fn labelled(self, dice: &mut Dice) -> Drawing {
        let mut nodes: Vec<&String> = self.elements.iter().flat_map(|e| &e.nodes).collect();
        nodes.sort();
        nodes.dedup();
        let values = ["", "0 V", "3.297 V", "−12.5 mV ± 2 %"];
        let mut labels = Vec::new();
        for node in nodes {
            if dice.below(4) > 0 {
                labels.push(NodeLabel::new(node.clone(), dice.one_of(&values)));
            }
        }
        Drawing {
            elements: self.elements,
            ground: "gnd".to_owned(),
            labels,
        }
    }
}
