//! Hostile networks: every fault, with the nodes and elements that it names.

use super::sample_tests::{compiled, resistor, silicon};
use super::*;

fn volts(value: f64) -> Kind {
    Kind::VoltageSource(Source::steady(value))
}

fn amperes(value: f64) -> Kind {
    Kind::CurrentSource(Source::steady(value))
}

const OPEN: Kind = Kind::Switch { closed: false };
const CLOSED: Kind = Kind::Switch { closed: true };
const COIL: Kind = Kind::Inductor { inductance: 1e-3 };
const CAPACITOR: Kind = Kind::Capacitor { capacitance: 1e-7 };
const IDEAL: Kind = Kind::Amplifier(Amplifier::Ideal);

fn network(elements: &[(&str, &[&str], Kind)]) -> Network {
    let mut network = Network::new("gnd");
    for (name, nodes, kind) in elements {
        network.add(*name, nodes.iter().copied(), *kind);
    }
    network
}

/// The faults that keep a network from being compiled, as they are told.
fn told(elements: &[(&str, &[&str], Kind)]) -> Vec<String> {
    match network(elements).compile() {
        Ok(_) => Vec::new(),
        Err(faults) => faults.iter().map(ToString::to_string).collect(),
    }
}

/// The faults that keep a network from having an operating point.
fn told_at_rest(elements: &[(&str, &[&str], Kind)]) -> Vec<String> {
    let network = compiled(&network(elements));
    let faults = network.steady_faults();
    if let Some(first) = faults.first() {
        // What has no operating point says so wherever one is asked for.
        let found = network.operating_point(&network.nominal()).unwrap_err();
        assert_eq!(found, *first);
        let wanted = network.voltage("gnd").unwrap();
        let found = network.value_and_gradient(&network.nominal(), &wanted);
        assert_eq!(found.unwrap_err(), *first);
    }
    faults.iter().map(ToString::to_string).collect()
}

/// A divider that nothing is wrong with, to hang something onto.
fn with<'a>(more: &[(&'a str, &'a [&'a str], Kind)]) -> Vec<(&'a str, &'a [&'a str], Kind)> {
    let mut elements: Vec<(&str, &[&str], Kind)> = vec![
        ("V1", &["in", "gnd"], volts(5.0)),
        ("R1", &["in", "out"], resistor(1000.0)),
        ("R2", &["out", "gnd"], resistor(1000.0)),
    ];
    elements.extend_from_slice(more);
    elements
}

#[test]
fn names_and_places() {
    assert_eq!(told(&with(&[])), Vec::<String>::new());
    assert_eq!(
        told(&[
            ("R1", &["a", "b"], resistor(1.0)),
            ("R2", &["a", "b"], resistor(1.0))
        ]),
        ["no part touches the ground node `gnd`"]
    );
    assert_eq!(told(&[]), ["no part touches the ground node `gnd`"]);
    assert_eq!(
        told(&with(&[("R2", &["in", "out"], resistor(1.0))])),
        ["R2 is in the network twice"]
    );
    assert_eq!(
        told(&with(&[("R3", &["in"], resistor(1.0))])),
        ["R3 is between 1 nodes, but its kind (resistor) has 2 terminals"]
    );
    assert_eq!(
        told(&with(&[("U1", &["in", "out"], IDEAL)])),
        ["U1 is between 2 nodes, but its kind (operational amplifier) has 3 terminals"]
    );
    assert_eq!(
        told(&with(&[("R3", &["out", "out"], resistor(1.0))])),
        ["two terminals of R3 are at node `out`"]
    );
    assert_eq!(
        told(&with(&[("R3", &["out", "uot"], resistor(1.0))])),
        ["node `uot` is named once, by R3"]
    );
}

#[test]
fn values() {
    assert_eq!(
        told(&with(&[("R3", &["in", "out"], resistor(0.0))])),
        ["the resistance of R3 is 0, but must be a number above zero"]
    );
    for bad in [-1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(
            told(&with(&[("R3", &["in", "out"], resistor(bad))])).len(),
            1
        );
        assert_eq!(
            told(&with(&[(
                "C1",
                &["in", "out"],
                Kind::Capacitor { capacitance: bad }
            )]))
            .len(),
            1
        );
        assert_eq!(
            told(&with(&[(
                "L1",
                &["in", "out"],
                Kind::Inductor { inductance: bad }
            )]))
            .len(),
            1
        );
    }
    assert_eq!(
        told(&with(&[
            ("V2", &["a", "gnd"], volts(f64::NAN)),
            ("R3", &["a", "out"], resistor(1.0))
        ])),
        ["the voltage of V2 is NaN, but must be a number"]
    );
    let zener = Kind::Zener(Zener::new(5.1, 0.1, 60.0));
    assert_eq!(
        told(&with(&[("D1", &["gnd", "out"], zener)])),
        ["no zener diode has the values of D1"]
    );
    let speaker = Loudspeaker {
        dc_resistance: 6.0,
        coil_inductance: -1e-6,
        resonance: 100.0,
        mechanical_q: 0.0,
        electrical_q: 1.0,
    };
    assert_eq!(
        told(&with(&[(
            "LS1",
            &["out", "gnd"],
            Kind::Loudspeaker(speaker)
        )])),
        [
            "the coil inductance of LS1 is -0.000001, but must be a number that is not below zero",
            "the mechanical q of LS1 is 0, but must be a number above zero",
        ]
    );
}

#[test]
fn loops_of_sources() {
    assert_eq!(
        told(&with(&[("V2", &["in", "gnd"], volts(3.0))])),
        ["a loop of voltage sources and no resistance: V1 and V2 (nodes `in` and `gnd`)"]
    );
    assert_eq!(
        told(&with(&[
            ("V2", &["in", "x"], volts(3.0)),
            ("S1", &["x", "y"], CLOSED),
            ("V3", &["y", "gnd"], volts(3.0)),
        ])),
        [
            "a loop of voltage sources and no resistance: S1, V2, V1 and V3 (nodes `y`, `x`, `in` and `gnd`)"
        ]
    );
    assert_eq!(
        told(&with(&[("S1", &["in", "gnd"], CLOSED)])),
        ["the source V1 is shorted by S1 (nodes `in` and `gnd`)"]
    );
    assert_eq!(
        told(&with(&[("V2", &["out", "out"], volts(3.0))])),
        ["the source V2 is shorted at node `out`"]
    );
    assert_eq!(
        told(&with(&[
            ("S1", &["in", "out"], CLOSED),
            ("S2", &["out", "in"], CLOSED)
        ])),
        ["a loop without resistance: S1 and S2 (nodes `out` and `in`)"]
    );
    assert_eq!(
        told(&with(&[("U1", &["out", "in", "gnd"], IDEAL)])),
        ["the source U1 is shorted at node `gnd`"]
    );
    assert_eq!(
        told(&with(&[("U1", &["out", "gnd", "in"], IDEAL)])),
        ["a loop of voltage sources and no resistance: V1 and U1 (nodes `in` and `gnd`)"]
    );
}

#[test]
fn loops_at_dc() {
    assert_eq!(
        told_at_rest(&with(&[("L1", &["in", "gnd"], COIL)])),
        ["the source V1 is shorted by L1 (nodes `in` and `gnd`) at DC"]
    );
    assert_eq!(
        told_at_rest(&with(&[
            ("L1", &["in", "out"], COIL),
            ("L2", &["in", "out"], COIL)
        ])),
        ["a loop without resistance: L1 and L2 (nodes `in` and `out`) at DC"]
    );
    // Above zero frequency there is nothing wrong with it.
    let network = compiled(&network(&with(&[("L1", &["in", "gnd"], COIL)])));
    let impedance = network.input_impedance("V1").unwrap();
    assert!(
        network
            .sweep(&network.nominal(), &[1e3], &impedance)
            .is_ok()
    );
}

#[test]
fn floating_nodes() {
    assert_eq!(
        told(&with(&[
            ("S1", &["out", "x"], OPEN),
            ("S2", &["x", "gnd"], OPEN),
        ])),
        ["node `x` floats: there is no path to ground through S1 and S2"]
    );
    assert_eq!(
        told(&with(&[
            ("R3", &["x", "y"], resistor(1.0)),
            ("R4", &["x", "y"], resistor(1.0)),
        ])),
        ["no path to ground from nodes `x` and `y`"]
    );
    assert_eq!(
        told(&with(&[
            ("S1", &["out", "x"], OPEN),
            ("R3", &["x", "y"], resistor(1.0)),
            ("S2", &["y", "gnd"], OPEN),
        ])),
        ["no path to ground from nodes `x` and `y`, not through S1 and S2"]
    );
    assert_eq!(
        told_at_rest(&with(&[
            ("C1", &["out", "x"], CAPACITOR),
            ("C2", &["x", "gnd"], CAPACITOR),
        ])),
        ["node `x` floats at DC: there is no path to ground through C1 and C2"]
    );
    assert_eq!(
        told_at_rest(&with(&[
            ("C1", &["out", "x"], CAPACITOR),
            ("U1", &["x", "y", "y"], IDEAL),
            ("R3", &["y", "gnd"], resistor(1.0)),
        ])),
        ["node `x` floats at DC: there is no path to ground through C1 and U1"]
    );
    // A junction that blocks is a path all the same.
    let chain = with(&[
        ("D1", &["x", "out"], silicon()),
        ("D2", &["x", "gnd"], silicon()),
    ]);
    let network = compiled(&network(&chain));
    let point = network.operating_point(&network.nominal()).unwrap();
    assert!(point.voltage("x").unwrap().abs() < 0.03);
}

#[test]
fn cuts_of_current_sources() {
    assert_eq!(
        told(&with(&[
            ("I1", &["gnd", "x"], amperes(1.0)),
            ("I2", &["x", "gnd"], amperes(1.0)),
        ])),
        ["fed by current sources alone: `x` through I1 and I2"]
    );
    assert_eq!(
        told_at_rest(&with(&[
            ("I1", &["gnd", "x"], amperes(1.0)),
            ("C1", &["x", "gnd"], CAPACITOR),
        ])),
        ["fed by current sources alone at DC: `x` through I1"]
    );
}

/// Feedback that leaves something open shows in the equations.
#[test]
fn what_is_left_open_is_named() {
    let integrator = compiled(&network(&with(&[
        ("R3", &["out", "m"], resistor(1000.0)),
        ("C1", &["m", "o"], CAPACITOR),
        ("U1", &["gnd", "m", "o"], IDEAL),
        ("R4", &["o", "gnd"], resistor(1000.0)),
    ])));
    assert_eq!(integrator.steady_faults(), &[]);
    let fault = integrator
        .operating_point(&integrator.nominal())
        .unwrap_err();
    assert!(
        matches!(
            &fault,
            CircuitFault::Undetermined {
                unknown: Unknown::Node(node),
                regime: Regime::Steady,
            } if node == "o"
        ) || matches!(
            &fault,
            CircuitFault::Undetermined { unknown: Unknown::Current(element), .. } if element == "U1"
        ),
        "{fault}"
    );
    assert!(fault.mend().is_some());
    // Above zero frequency it integrates.
    let gain = |node: &str| {
        let gain = integrator.gain("V1", node).unwrap();
        integrator
            .sweep(&integrator.nominal(), &[1000.0], &gain)
            .unwrap()[0]
    };
    let found = gain("o") / gain("out");
    let expected = 1.0 / (std::f64::consts::TAU * 1000.0 * 1000.0 * 1e-7);
    assert!((found.im - expected).abs() < 1e-9 && found.re.abs() < 1e-9);
}

#[test]
fn a_resonance_without_losses_has_no_phasor() {
    let inductance = 1.0;
    let network = compiled(&network(&[
        (
            "I1",
            &["gnd", "a"],
            Kind::CurrentSource(Source::alternating(1.0)),
        ),
        ("L1", &["a", "gnd"], Kind::Inductor { inductance }),
        ("C1", &["a", "gnd"], Kind::Capacitor { capacitance: 1.0 }),
    ]));
    let resonance = 1.0 / std::f64::consts::TAU;
    let fault = network.phasors(&network.nominal(), resonance).unwrap_err();
    assert!(
        matches!(
            fault,
            CircuitFault::Undetermined {
                regime: Regime::Alternating,
                ..
            }
        ),
        "{fault}"
    );
    assert!(network.phasors(&network.nominal(), 1.1 * resonance).is_ok());
}

/// Two nodes that a small resistance joins and next to nothing holds: the
/// answer would be rounding error, and is not given.
#[test]
fn what_hangs_by_a_thread_is_named() {
    let hanging = |resistance: f64| {
        let network = compiled(&network(&[
            ("I1", &["gnd", "a"], amperes(1e-12)),
            ("R1", &["a", "b"], resistor(1e-3)),
            ("R2", &["b", "gnd"], resistor(resistance)),
        ]));
        network
            .operating_point(&network.nominal())
            .map(|point| point.voltage("b").unwrap())
    };
    let held = hanging(1e6).unwrap();
    assert!((held / 1e-6 - 1.0).abs() < 1e-5, "{held}");
    assert!(matches!(
        hanging(1e13),
        Err(CircuitFault::Undetermined { unknown: Unknown::Node(node), .. }) if node == "a" || node == "b"
    ));
}

#[test]
fn questions_that_have_no_answer() {
    let network = compiled(&network(&with(&[("L1", &["out", "gnd"], COIL)])));
    let nominal = network.nominal();
    let fault = network.voltage("uot").unwrap_err();
    assert_eq!(fault.to_string(), "there is no node `uot`");
    assert_eq!(fault.mend().unwrap(), "perhaps `out` is meant");
    let fault = network.current("R7").unwrap_err();
    assert_eq!(fault.to_string(), "there is no part R7");
    assert_eq!(
        network.input_impedance("R1").unwrap_err().to_string(),
        "R1 is a resistor, and not a source"
    );
    let transfer = network.transfer("in", "out").unwrap();
    assert_eq!(
        network.sweep(&nominal, &[50.0], &transfer).unwrap_err(),
        CircuitFault::NothingToCompare { frequency: 50.0 }
    );
    let gain = network.gain("V1", "out").unwrap();
    for frequency in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(
            network.sweep(&nominal, &[frequency], &gain),
            Err(CircuitFault::BadFrequency { .. })
        ));
    }
    let wanted = network.voltage("out").unwrap();
    assert_eq!(
        network
            .value_and_gradient(&nominal[1..], &wanted)
            .unwrap_err(),
        CircuitFault::ParameterCount {
            found: nominal.len() - 1,
            needed: nominal.len(),
        }
    );
    let mut negative = nominal.clone();
    negative[network.parameter("R2", "resistance").unwrap()] = -5.0;
    assert_eq!(
        network
            .value_and_gradient(&negative, &wanted)
            .unwrap_err()
            .to_string(),
        "the resistance of R2 is -5, but must be a number above zero"
    );
}

#[test]
fn a_result_of_another_network_is_refused() {
    let large = compiled(&network(&with(&[
        ("R3", &["out", "x"], resistor(1.0)),
        ("R4", &["x", "y"], resistor(1.0)),
        ("R5", &["y", "gnd"], resistor(1.0)),
    ])));
    let small = compiled(&network(&[
        ("V1", &["a", "gnd"], volts(1.0)),
        ("R1", &["a", "gnd"], resistor(1.0)),
    ]));
    for wanted in [
        large.voltage("y").unwrap(),
        large.current("R5").unwrap(),
        large.power("R5").unwrap(),
        large.phasor("y").unwrap().at(1.0, Aspect::Real),
        large.phasor_current("R5").unwrap().at(1.0, Aspect::Real),
    ] {
        assert_eq!(
            small
                .value_and_gradient(&small.nominal(), &wanted)
                .unwrap_err(),
            CircuitFault::ForeignResult
        );
    }
}

/// Numbers at the ends of what a float holds give faults, never nonsense.
#[test]
fn extreme_values_do_no_harm() {
    for value in [
        f64::MIN_POSITIVE,
        f64::from_bits(1),
        1e-200,
        1e200,
        f64::MAX,
    ] {
        for other in [1.0, f64::MIN_POSITIVE, f64::MAX] {
            let elements = with(&[
                ("R3", &["out", "x"], resistor(value)),
                ("R4", &["x", "gnd"], resistor(other)),
            ]);
            let network = compiled(&network(&elements));
            for wanted in [network.voltage("x").unwrap(), network.power("R3").unwrap()] {
                if let Ok(found) =
                    network.value_in(&mut network.workspace(), &network.nominal(), &wanted)
                {
                    assert!(found.is_finite(), "{value} {other}");
                    assert!((-1e-9..=5.0).contains(&found), "{value} {other}: {found}");
                }
            }
        }
    }
}
