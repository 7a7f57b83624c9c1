//! Networks for tests, with names.

use super::super::{Drawing, Element, NodeLabel, Shape, Symbol};
use Symbol::{
    Amplifier, Capacitor, CurrentSource, Diode, Inductor, Led, Loudspeaker, Other, Resistor,
    Switch, VoltageSource, Zener,
};

/// A drawing from lines such as `R1 in out 10 kΩ`, and labels such as
/// `out 3 V`. The letters of a designator tell the symbol; an amplifier takes
/// three nodes, a box (`Z`) as many as stand before a colon.
pub(super) fn from(lines: &str, labels: &str) -> Drawing {
    let element = |line: &str| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let symbol = symbol(words[0]);
        let colon = words.iter().position(|word| *word == ":");
        let count = match (symbol, colon) {
            (_, Some(colon)) => colon - 1,
            (Amplifier, None) => 3,
            _ => 2,
        };
        let rest = words[1 + count..].iter().filter(|word| **word != ":");
        let value = rest.copied().collect::<Vec<_>>().join(" ");
        Element::new(words[0], symbol, words[1..=count].iter().copied(), value)
    };
    let label = |line: &str| {
        let (node, value) = line.trim().split_once(' ').unwrap_or((line.trim(), ""));
        NodeLabel::new(node, value)
    };
    let filled = |line: &&str| !line.trim().is_empty();
    Drawing {
        elements: lines
            .split([';', '\n'])
            .filter(filled)
            .map(element)
            .collect(),
        ground: "gnd".to_owned(),
        labels: labels.split(';').filter(filled).map(label).collect(),
    }
}

fn symbol(designator: &str) -> Symbol {
    match designator.trim_end_matches(|c: char| c.is_ascii_digit()) {
        "R" => Resistor,
        "C" => Capacitor,
        "L" => Inductor,
        "D" => Diode,
        "DZ" => Zener,
        "LED" => Led,
        "S" => Switch { closed: true },
        "SO" => Switch { closed: false },
        "V" => VoltageSource,
        "I" => CurrentSource,
        "U" => Amplifier,
        "LS" => Loudspeaker,
        _ => Other,
    }
}

/// A ladder of resistors and capacitors.
pub(super) fn rc_ladder(stages: usize) -> Drawing {
    let mut lines = "V1 n0 gnd 1 V".to_owned();
    let mut labels = "gnd;n0 1 V".to_owned();
    for stage in 1..=stages {
        let before = stage - 1;
        lines += &format!(";R{stage} n{before} n{stage} 10 kΩ;C{stage} n{stage} gnd 100 nF");
        labels += &format!(";n{stage} 0.{stage} V");
    }
    from(&lines, &labels)
}

/// Networks with names, and the shape that each is drawn in.
pub(super) fn named() -> Vec<(&'static str, Drawing, Shape)> {
    let of = |name, lines, labels, shape| (name, from(lines, labels), shape);
    vec![
        of(
            "divider",
            "V1 in gnd 5 V;R1 in out 10 kΩ;R2 out gnd 15 kΩ",
            "in 5 V;out 3 V;gnd",
            Shape::Ladder,
        ),
        of(
            "loaded divider",
            "V1 in gnd 5 V;R1 in out 10 kΩ;R2 out gnd 15 kΩ;R3 out gnd 100 kΩ",
            "in 5 V;out 2.83 V;gnd",
            Shape::Ladder,
        ),
        of(
            "divider between parallel resistors",
            "V1 in gnd 5 V;R1 in out 10 kΩ;R4 in out 1 MΩ;R2 out gnd 15 kΩ;R3 out gnd 100 kΩ",
            "in 5 V;out 2.83 V;gnd",
            Shape::Ladder,
        ),
        of(
            "zener fed by a current",
            "I1 gnd cell 196 mA;DZ1 sense cell 3.3 V;R9 sense gnd 1 Ω ±1 %",
            "cell 3.5 V;sense 0.196 V;gnd",
            Shape::Ladder,
        ),
        of(
            "LED with resistor and switch",
            "V1 vcc gnd 5 V;S1 vcc a closed;R1 a b 330 Ω;LED1 b gnd red",
            "vcc 5 V;a 5 V;b 2 V;gnd",
            Shape::Ladder,
        ),
        of(
            "open switch",
            "V1 vcc gnd 5 V;SO1 vcc a open;R1 a b 330 Ω;LED1 b gnd",
            "gnd",
            Shape::Ladder,
        ),
        ("three stages", rc_ladder(3), Shape::Ladder),
        ("six stages", rc_ladder(6), Shape::Ladder),
        of(
            "filter with a loudspeaker",
            "V1 in gnd 12 V;L1 in a 10 µH;C1 a gnd 22 µF;D1 a b 0.35 V;C2 b gnd 100 µF
             LS1 b gnd 8 Ω;R9 b q 10 Ω;C9 q gnd 100 nF",
            "in 12 V;a 12 V;b 11.65 V;gnd",
            Shape::Ladder,
        ),
        of(
            "two batteries",
            "V1 a gnd 5 V;R1 a m 1 kΩ;R3 m gnd 4.7 kΩ;R2 m b 2.2 kΩ;V2 b gnd 9 V",
            "a 5 V;m 5.4 V;b 9 V;gnd",
            Shape::Ladder,
        ),
        of(
            "two pieces",
            "V1 a gnd 5 V;R1 a gnd 1 kΩ;V2 b gnd 3 V;R2 b c 1 kΩ;R3 c gnd 1 kΩ",
            "a 5 V;b 3 V;c 1.5 V;gnd",
            Shape::Ladder,
        ),
        of(
            "many loads",
            "V1 a gnd 3.3 V;R1 a gnd 2.2 kΩ ±5 %;R2 a gnd 2.2 kΩ ±5 %;R3 a gnd 2.2 kΩ ±5 %
             R4 a gnd 2.2 kΩ ±5 %;R5 a gnd 2.2 kΩ ±5 %;R6 a gnd 2.2 kΩ ±5 %",
            "a 3.3 V;gnd 0 V",
            Shape::Ladder,
        ),
        of(
            "no source",
            "R1 a b 1 kΩ;L1 b gnd 1 mH;C1 b gnd 1 nF",
            "a;b;gnd",
            Shape::Ladder,
        ),
        of(
            "bridge",
            "V1 top gnd 5 V;R1 top l 1 kΩ;R2 l gnd 1 kΩ;R3 top r 1 kΩ;R4 r gnd 1.01 kΩ
             R5 l r 10 kΩ",
            "top 5 V;l 2.5 V;r 2.512 V;gnd",
            Shape::Bridge,
        ),
        of(
            "bridge with grown arms",
            "V1 top gnd 5 V;R1 top l 1 kΩ;R7 top l 9 MΩ;R2 l x 1 kΩ;C2 x gnd 1 µF;R3 top r 1 kΩ
             LED4 r gnd white;R6 r gnd 12 kΩ;R5 l m 10 kΩ;LED5 m r red;C9 top gnd 10 µF",
            "top 5 V;l 2.5 V;r 2.512 V;gnd;m 2.5 V;x 1 V",
            Shape::Bridge,
        ),
        of(
            "inverting stage",
            "V1 in gnd 0.1 V;R1 in inv 10 kΩ;R2 inv out 100 kΩ;U1 gnd inv out ideal
             R3 out gnd 10 kΩ",
            "in 0.1 V;inv 0 V;out −1 V;gnd",
            Shape::Amplifier,
        ),
        of(
            "inverting stage with a held input",
            "V1 in gnd 0.1 V;R1 in inv 10 kΩ;R2 inv out 100 kΩ;C9 inv out 10 pF;R4 p gnd 9.1 kΩ
             U1 p inv out ideal",
            "in 0.1 V;inv 0 V;p 0 V;out −1 V;gnd",
            Shape::Amplifier,
        ),
        of(
            "non-inverting stage",
            "V1 in gnd 0.1 V;R1 fb gnd 10 kΩ;R2 fb out 100 kΩ;C1 fb out 1 nF;U1 in fb out 1 MHz",
            "in 0.1 V;fb 0.1 V;out 1.1 V;gnd",
            Shape::Amplifier,
        ),
        of(
            "follower",
            "V1 in gnd 5 V;R1 in mid 10 kΩ;R2 mid gnd 10 kΩ;U1 mid out out ideal;R3 out gnd 1 kΩ",
            "in 5 V;mid 2.5 V;out 2.5 V;gnd",
            Shape::Amplifier,
        ),
        of(
            "second-order low-pass with a follower",
            "V1 in gnd 1 V;R1 in a 10 kΩ;R2 a p 10 kΩ;C2 p gnd 10 nF;C1 a out 22 nF
             U1 p out out 1 MHz",
            "in 1 V;a 1 V;p 1 V;out 1 V;gnd",
            Shape::Amplifier,
        ),
        of(
            "second-order low-pass, inverting",
            "V1 in gnd 1 V;R1 in a 10 kΩ;C2 a gnd 10 nF;R2 a n 10 kΩ;R3 a out 10 kΩ;C1 n out 22 nF
             U1 gnd n out 1 MHz",
            "in 1 V;a 1 V;n 0 V;out −1 V;gnd",
            Shape::Amplifier,
        ),
        of(
            "difference",
            "V1 x gnd 1 V;V2 y gnd 2 V;R1 x n 10 kΩ;R2 n out 10 kΩ;R3 y p 10 kΩ;R4 p gnd 10 kΩ
             U1 p n out ideal;R5 out gnd 10 kΩ",
            "x 1 V;y 2 V;n 1 V;p 1 V;out 1 V;gnd",
            Shape::Amplifier,
        ),
        of(
            "twin-T with a load",
            "V1 in gnd 1 V;R1 in a 10 kΩ;R2 a out 10 kΩ;C3 a gnd 200 nF;C1 in b 100 nF
             C2 b out 100 nF;R3 b gnd 5 kΩ;R4 out gnd 1 MΩ",
            "in 1 V;out 0 V;gnd",
            Shape::Lines,
        ),
        of(
            "two amplifiers",
            "V1 p gnd 1.01 V;V2 q gnd 1 V;U1 p a x ideal;U2 q b y ideal;R1 a b 1 kΩ;R2 a x 10 kΩ
             R3 b y 10 kΩ;R4 x y 100 kΩ",
            "p 1.01 V;q 1 V;x 1.11 V;y 0.9 V",
            Shape::Lines,
        ),
        of(
            "everything wrong",
            "R1 a a : 1 kΩ;R2 a : 1 kΩ;Z3 a gnd b c : box;R4 gnd gnd : 1 kΩ;C1 : 1 µF;U1 b c : ?
             R5 loose gnd 1 Ω",
            "a 1 V",
            Shape::Lines,
        ),
        of(
            "without ground",
            "V1 a b 1 V;R1 a b 1 kΩ",
            "a 1 V",
            Shape::Lines,
        ),
        of("an element alone", "R1 a b 1 kΩ", "", Shape::Lines),
        of("both ends at one node", "R1 a a 1 kΩ", "", Shape::Lines),
    ]
}
