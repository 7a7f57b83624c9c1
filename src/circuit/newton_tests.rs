//! Operating points that are hard to find, and those that do not exist.

use super::sample_tests::{Noise, Sort, compiled, random, resistor, silicon};
use super::*;

fn led() -> Kind {
    Kind::Led(Led::new(2.0, 0.01))
}

fn volts(value: f64) -> Kind {
    Kind::VoltageSource(Source::steady(value))
}

/// Every kind of start leads to the same operating point: from the nominal
/// one, from scratch, and while the sources are turned up.
#[test]
fn every_way_leads_to_the_same_point() {
    let mut noise = Noise(11);
    for _ in 0..150 {
        let network = random(&mut noise, Sort::Junctions);
        let compiled = compiled(&network);
        if compiled.is_linear() {
            continue;
        }
        let nominal = compiled.nominal();
        let mut workspace = compiled.workspace();
        compiled.solve_steady(&mut workspace, &nominal).unwrap();
        let expected = workspace.x.clone();
        let scale = expected.iter().fold(1.0, |most: f64, x| most.max(x.abs()));
        compiled.prepare(&mut workspace, &nominal).unwrap();
        assert!(
            compiled.turn_up_sources(&mut workspace).is_ok(),
            "{network:?}"
        );
        let apart = workspace
            .x
            .iter()
            .zip(&expected)
            .fold(0.0, |most: f64, (a, b)| most.max((a - b).abs()));
        assert!(apart <= 1e-9 * scale, "{apart} of {scale}: {network:?}");
    }
}

/// Strings of diodes and LEDs, either way round, at voltages from microvolts
/// to kilovolts: the current through all of them is one, and the voltages add
/// up.
#[test]
fn long_strings_settle() {
    for kind in [silicon(), led(), Kind::Zener(Zener::new(5.1, 5e-3, 10.0))] {
        for count in [1, 2, 5, 30] {
            for supply in [1e-6, 0.5, 5.0, 48.0, 5000.0, -0.5, -5.0, -48.0] {
                let mut network = Network::new("0");
                network.add("V1", ["n0".to_owned(), "0".to_owned()], volts(supply));
                for at in 0..count {
                    let ends = [format!("n{at}"), format!("n{}", at + 1)];
                    network.add(format!("D{at}"), ends, kind);
                }
                network.add("R1", [format!("n{count}"), "0".to_owned()], resistor(470.0));
                let compiled = compiled(&network);
                let point = match compiled.operating_point(&compiled.nominal()) {
                    Ok(point) => point,
                    Err(fault) => panic!("{kind:?} {count} {supply}: {fault}"),
                };
                let current = point.current("V1").unwrap();
                let sign = if matches!(kind, Kind::Zener(_)) {
                    -1.0
                } else {
                    1.0
                };
                for at in 0..count {
                    let own = sign * point.current(&format!("D{at}")).unwrap();
                    // Where the junctions block, what is left of a current is
                    // the rounding error of the largest conductance.
                    let allowed = 1e-9 * current.abs() + 1e-15 * supply.abs();
                    assert!((own - current).abs() <= allowed, "{own} {current}");
                }
                let share = |at: usize| {
                    let voltage = |at: usize| point.voltage(&format!("n{at}")).unwrap();
                    voltage(at) - voltage(at + 1)
                };
                for at in 1..count {
                    let apart = (share(at) - share(0)).abs();
                    assert!(
                        apart < 1e-6 * supply.abs().max(1.0),
                        "{count} {supply}: {apart}"
                    );
                }
            }
        }
    }
}

/// A bridge of diodes turns either sign of its input into one.
#[test]
fn a_bridge_rectifies() {
    for supply in [-9.0, 9.0, -0.3, 0.0] {
        let mut network = Network::new("0");
        network
            .add("V1", ["a", "b"], volts(supply))
            .add("D1", ["a", "p"], silicon())
            .add("D2", ["b", "p"], silicon())
            .add("D3", ["0", "a"], silicon())
            .add("D4", ["0", "b"], silicon())
            .add("R1", ["p", "0"], resistor(1000.0));
        let compiled = compiled(&network);
        let point = compiled.operating_point(&compiled.nominal()).unwrap();
        let out = point.voltage("p").unwrap();
        let drops = if supply == 0.0 { 0.0 } else { 2.0 * 0.7 };
        if supply.abs() > 2.0 {
            assert!((out - (supply.abs() - drops)).abs() < 0.1, "{supply} {out}");
        } else {
            assert!(out.abs() < 1e-6, "{supply} {out}");
        }
    }
}

/// Truth: `v = -n V_T ln(V / (R I_S) + 1)`, from the formula of the diode, for
/// one in the feedback path of an ideal amplifier.
#[test]
fn a_logarithmic_amplifier_takes_logarithms() {
    for input in [1e-6, 1e-3, 1.0, 100.0] {
        let mut network = Network::new("0");
        network
            .add("V1", ["in", "0"], volts(input))
            .add("R1", ["in", "m"], resistor(1e4))
            .add("D1", ["m", "out"], silicon())
            .add("U1", ["0", "m", "out"], Kind::Amplifier(Amplifier::Ideal))
            .add("R2", ["out", "0"], resistor(1e4));
        let compiled = compiled(&network);
        let point = compiled.operating_point(&compiled.nominal()).unwrap();
        let scale = 1.380_649e-23 / 1.602_176_634e-19 * ROOM_TEMPERATURE;
        let expected = -scale * (input / 1e4 / 1e-14).ln_1p();
        let out = point.voltage("out").unwrap();
        assert!((out - expected).abs() < 1e-9, "{input}: {out} {expected}");
    }
}

/// A precision rectifier: the amplifier swings through its diode's voltage.
#[test]
fn a_precision_rectifier_settles() {
    for (input, expected) in [(1.0, 1.0), (0.01, 0.01), (-1.0, 0.0)] {
        let mut network = Network::new("0");
        let amplifier = Amplifier::SinglePole {
            gain: 1e5,
            gain_bandwidth: 1e6,
            output_resistance: Some(100.0),
        };
        network
            .add("V1", ["in", "0"], volts(input))
            .add("U1", ["in", "out", "drive"], Kind::Amplifier(amplifier))
            .add("D1", ["drive", "out"], silicon())
            .add("R1", ["out", "0"], resistor(1e4));
        let compiled = compiled(&network);
        let point = compiled.operating_point(&compiled.nominal()).unwrap();
        let out = point.voltage("out").unwrap();
        assert!((out - expected).abs() < 1e-4, "{input}: {out}");
    }
}

/// A negative resistance made with an amplifier takes current away from a
/// diode; more than it can, and no operating point is left.
fn with_negative_resistance(pulled: f64) -> Network {
    let mut network = Network::new("0");
    network
        .add("D1", ["p", "0"], silicon())
        .add("U1", ["p", "m", "out"], Kind::Amplifier(Amplifier::Ideal))
        .add("R1", ["out", "p"], resistor(1000.0))
        .add("R2", ["out", "m"], resistor(1000.0))
        .add("R3", ["m", "0"], resistor(1000.0))
        .add(
            "I1",
            ["p", "0"],
            Kind::CurrentSource(Source::steady(pulled)),
        );
    network
}

#[test]
fn no_operating_point_is_a_fault_that_names_a_node() {
    let network = compiled(&with_negative_resistance(5e-3));
    let fault = network.operating_point(&network.nominal()).unwrap_err();
    assert!(
        matches!(&fault, CircuitFault::NotSettled { node: Unknown::Node(node), .. } if node == "p" || node == "out"),
        "{fault}"
    );
    assert!(fault.mend().is_some());
    // With less taken away there is one, so that the network is not to blame.
    let network = compiled(&with_negative_resistance(1e-4));
    let point = network.operating_point(&network.nominal()).unwrap();
    let current = point.current("D1").unwrap();
    let expected = point.voltage("p").unwrap() / 1000.0 - 1e-4;
    assert!((current - expected).abs() < 1e-12, "{current} {expected}");
}

/// The same vector gives the same bits, whatever was solved before.
#[test]
fn a_result_does_not_depend_on_those_before_it() {
    let mut noise = Noise(12);
    for _ in 0..50 {
        let network = compiled(&random(&mut noise, Sort::Everything));
        if !network.steady_faults().is_empty() {
            continue;
        }
        let wanted = network.voltage("2").unwrap();
        let nominal = network.nominal();
        let fresh = network.value_and_gradient(&nominal, &wanted).unwrap();
        let mut workspace = network.workspace();
        let other: Vec<f64> = nominal.iter().map(|value| 1.02 * value).collect();
        network.value_in(&mut workspace, &other, &wanted).unwrap();
        let mut gradient = vec![0.0; nominal.len()];
        let again = network
            .value_and_gradient_in(&mut workspace, &nominal, &wanted, &mut gradient)
            .unwrap();
        assert_eq!((again, gradient), fresh);
    }
}

/// A workspace of another network is replaced, not trusted.
#[test]
fn a_foreign_workspace_does_no_harm() {
    let mut noise = Noise(13);
    let one = compiled(&random(&mut noise, Sort::Junctions));
    let other = compiled(&random(&mut noise, Sort::Resistive));
    let mut workspace = one.workspace();
    let wanted = other.voltage("1").unwrap();
    let found = other.value_in(&mut workspace, &other.nominal(), &wanted);
    let expected = other.value_and_gradient(&other.nominal(), &wanted);
    assert_eq!(found, expected.map(|(value, _)| value));
}
