//! Published cases that a working of the trade answers: its formulas, procedures
//! and refusals, as a record would get at them.

use std::collections::HashMap;

use ohmbook::formula::Formula;
use ohmbook::quantity::{Dimension, Unit};
use ohmbook::spread::Acceptance;
use ohmbook::trade::{self, Entry, How, Inputs, Plan, Refusal};

use crate::case::{Answer, Case, Judged, cases, judge_all};
use crate::named_results;

/// How a relation is answered by a working.
struct Relation {
    id: &'static str,
    kind: &'static str,
    result: &'static str,
    /// Input of the working, and input of the case.
    inputs: &'static [(&'static str, &'static str)],
    /// Inputs of the working that the relation has no use for.
    idle: &'static [(&'static str, f64)],
}

const RELATIONS: &[Relation] = &[
    Relation {
        id: "rc.tau",
        kind: "corner-frequency",
        result: "time_constant",
        inputs: &[("resistance", "R"), ("capacitance", "C")],
        idle: &[],
    },
    Relation {
        id: "rc.fc",
        kind: "corner-frequency",
        result: "frequency",
        inputs: &[("resistance", "R"), ("capacitance", "C")],
        idle: &[],
    },
    Relation {
        id: "rc.rise",
        kind: "corner-frequency",
        result: "rise_time",
        inputs: &[("resistance", "R"), ("capacitance", "C")],
        idle: &[],
    },
    Relation {
        id: "rc.debounce",
        kind: "debounce",
        result: "resistance_for_bounce",
        inputs: &[
            ("bounce", "t_b"),
            ("capacitance", "C"),
            ("supply", "Vdd"),
            ("rising_threshold", "Vth"),
        ],
        idle: &[("pull_up", 1e3)],
    },
    Relation {
        id: "led.r",
        kind: "led-resistor",
        result: "wanted_resistor",
        inputs: &[
            ("supply", "Vdd"),
            ("forward_voltage", "Vf"),
            ("wanted", "I"),
        ],
        idle: &[("resistor", 1e3)],
    },
    Relation {
        id: "ipc.current",
        kind: "trace-current",
        result: "allowed_current",
        inputs: &[
            ("width", "width"),
            ("thickness", "thickness"),
            ("rise", "dT"),
        ],
        idle: &[("current", 1.0)],
    },
    Relation {
        id: "ipc.area",
        kind: "trace-current",
        result: "needed_area",
        inputs: &[("current", "I"), ("rise", "dT")],
        idle: &[("thickness", 35e-6)],
    },
    Relation {
        id: "ipc.width",
        kind: "trace-current",
        result: "needed_width",
        inputs: &[("current", "I"), ("rise", "dT"), ("thickness", "thickness")],
        idle: &[],
    },
    Relation {
        id: "trace.r",
        kind: "trace-current",
        result: "resistance",
        inputs: &[
            ("length", "L"),
            ("width", "w"),
            ("thickness", "t"),
            ("temperature", "T"),
        ],
        idle: &[("current", 1.0), ("rise", 10.0)],
    },
    Relation {
        id: "ntc.r",
        kind: "thermistor",
        result: "resistance",
        inputs: &[
            ("resistance_25", "R25"),
            ("b_value", "B"),
            ("temperature", "T"),
        ],
        idle: &[],
    },
    Relation {
        id: "ntc.alpha",
        kind: "thermistor",
        result: "coefficient",
        inputs: &[
            ("resistance_25", "R25"),
            ("b_value", "B"),
            ("temperature", "T"),
        ],
        idle: &[],
    },
    Relation {
        id: "ntc.t",
        kind: "thermistor",
        result: "measured_temperature",
        inputs: &[
            ("resistance_25", "R25"),
            ("b_value", "B"),
            ("measured", "R"),
        ],
        idle: &[("temperature", 298.15)],
    },
];

/// Values of all results of a plan, in coherent SI units.
pub fn worked(plan: &Plan, mut known: HashMap<String, f64>) -> HashMap<String, f64> {
    for result in &plan.results {
        let value = match &result.how {
            How::Formula(text) => {
                let formula = Formula::parse(text).unwrap();
                let names = formula.names().iter();
                let values: Vec<f64> = names.map(|used| known[&used.name]).collect();
                formula.evaluate::<f64>(&values).unwrap()
            }
            How::Procedure {
                operands,
                procedure,
                ..
            } => {
                let values: Vec<f64> = operands.iter().map(|name| known[name]).collect();
                procedure.run(&values).unwrap()
            }
        };
        known.insert(result.name.clone(), value);
    }
    known
}

fn by_relation(case: &Case, relation: &Relation) -> Answer {
    let kind = trade::kind(relation.kind).unwrap();
    let (mut inputs, mut known) = (Inputs::default(), HashMap::new());
    let given = relation
        .inputs
        .iter()
        .map(|(name, of)| (name, case.value(of)));
    let idle = relation.idle.iter().map(|(name, value)| (name, *value));
    for (name, value) in given.chain(idle) {
        inputs.put(name, Entry::Quantity);
        known.insert((*name).to_owned(), value);
    }
    if relation.kind == "trace-current" {
        let layer = case.inputs.get("layer").map_or("outer", String::as_str);
        inputs.put("layer", Entry::Word(layer.to_owned()));
    }
    let value = worked(&kind.plan(&inputs).unwrap(), known)[relation.result];
    Answer::Value(value, case.expected_unit())
}

/// A two-wire bus of one board.
fn bus(
    mode: &str,
    address: Option<&str>,
    known: &[(&str, f64)],
) -> Result<(Plan, HashMap<String, f64>), Vec<Refusal>> {
    let mut board = Inputs::default();
    board.put("capacitance", Entry::Quantity);
    if let Some(address) = address {
        board.put("addresses", Entry::Words(vec![address.to_owned()]));
    }
    let mut inputs = Inputs::default();
    inputs.put("mode", Entry::Word(mode.to_owned()));
    inputs.put("boards", Entry::Groups(vec![("main".to_owned(), board)]));
    let mut values = HashMap::from([
        ("supply".to_owned(), 3.3),
        ("boards.main.capacitance".to_owned(), 100e-12),
    ]);
    values.extend(
        known
            .iter()
            .map(|(name, value)| ((*name).to_owned(), *value)),
    );
    for name in ["supply", "low_output", "sink_current"] {
        if values.contains_key(name) {
            inputs.put(name, Entry::Quantity);
        }
    }
    let plan = trade::kind("bus-pull-up").unwrap().plan(&inputs)?;
    let values = worked(&plan, values);
    Ok((plan, values))
}

/// A limit of a mode as it is written.
fn limit(case: &Case) -> Answer {
    let mode = match case.input("mode") {
        "Standard-mode" => "standard",
        "Fast-mode" => "fast",
        "Fast-mode Plus" => "fast-plus",
        other => panic!("no mode `{other}`"),
    };
    let (plan, values) = bus(mode, None, &[]).unwrap();
    Answer::Text(match case.quantity.as_deref() {
        Some("bit rate") => plan.notes[0]
            .trim_start_matches("The mode clocks at ")
            .trim_end_matches(" at most.")
            .to_owned(),
        Some("tr(max)") => format!("{} ns", (values["rise_limit"] * 1e9).round()),
        Some("Cb(max)") => format!("{} pF", (values["capacitance_limit"] * 1e12).round()),
        Some("IOL") => format!("{} mA", (values["sink_limit"] * 1e3).round()),
        other => panic!("no limit {other:?}"),
    })
}

fn address(case: &Case) -> Answer {
    let refused = bus("fast", Some(case.input("address")), &[]).err();
    Answer::Text(match refused {
        None => "free".to_owned(),
        Some(refusals) => {
            assert!(
                refusals[0].message.ends_with("it is reserved"),
                "{refusals:?}"
            );
            "reserved".to_owned()
        }
    })
}

#[test]
fn board_level_cases_are_answered_by_workings() {
    let all = cases(include_str!("11_board_level.toml"));
    let counts = judge_all(&all, &[], |case| {
        let answer = |mode: &str, known: &[(&str, f64)], result: &str| {
            let (_, values) = bus(mode, None, known).unwrap();
            Judged::Answered(Answer::Value(values[result], case.expected_unit()))
        };
        match case.formula.as_str() {
            "i2c.limit" => Judged::Answered(limit(case)),
            "i2c.address" if case.quantity.is_none() => Judged::Answered(address(case)),
            "i2c.rpmin" => {
                let known = [
                    ("supply", case.value("VDD")),
                    ("low_output", case.value("VOL")),
                    ("sink_current", case.value("IOL")),
                ];
                answer("fast", &known, "least_resistor")
            }
            "i2c.rpmax" => {
                let mode = match case.input("tr") {
                    "1000 ns" => "standard",
                    "300 ns" => "fast",
                    "120 ns" => "fast-plus",
                    other => panic!("no mode rises in {other}"),
                };
                let known = [("boards.main.capacitance", case.value("Cb"))];
                answer(mode, &known, "greatest_resistor")
            }
            id => match RELATIONS.iter().find(|relation| relation.id == id) {
                Some(relation) => Judged::Answered(by_relation(case, relation)),
                // Another test answers it by a formula.
                None => Judged::LeftOut,
            },
        }
    });
    assert_eq!(counts.run, ANSWERED_BY_WORKINGS);
}

/// Written down, so that a case that drops out is noticed.
const ANSWERED_BY_WORKINGS: usize = 71;

#[test]
fn an_address_in_use_is_listed_and_a_word_is_none() {
    let (plan, _) = bus("standard", Some("0x08"), &[]).unwrap();
    assert!(plan.notes.iter().any(|note| note.contains("0x08")));
    assert!(bus("standard", Some("eight"), &[]).is_err());
}

/// A plain number, or a ratio of two.
fn plain(case: &Case, name: &str) -> f64 {
    let text = case.input(name);
    match text.split_once('/') {
        Some((above, below)) => above.parse::<f64>().unwrap() / below.parse::<f64>().unwrap(),
        None => text.parse().unwrap(),
    }
}

#[test]
fn risks_of_production_test_are_integrated() {
    let all = named_results::cases(include_str!("13_test.toml"));
    let counts = judge_all(&all, &[], |case| {
        if case.formula != "false accept and false reject, see header" {
            // Another test answers it by a formula.
            return Judged::LeftOut;
        }
        let uncertainty = 1.0 / plain(case, "ratio");
        let limit = 1.0 - plain(case, "g") * uncertainty;
        let found = Acceptance::of(plain(case, "s_p"), 1.0, uncertainty / 2.0, limit);
        let value = match case.quantity.as_deref() {
            Some("A") => limit,
            Some("itp") => found.conforming,
            Some("p_accept") => found.accepted,
            Some("pfa") => found.false_accept,
            Some("pfr") => found.false_reject,
            // Of no accepted units none is bad.
            Some("pfa_accepted") if found.accepted == 0.0 => 0.0,
            Some("pfa_accepted") => found.false_accept / found.accepted,
            Some("pfr_good") => found.false_reject / found.conforming,
            other => panic!("no result {other:?}"),
        };
        Judged::Answered(Answer::Value(value, Unit::coherent(Dimension::ONE)))
    });
    assert_eq!(counts.run, 91);
}
