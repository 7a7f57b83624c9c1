//! Laws that every solution obeys, on random networks.

use num_complex::Complex64;

use super::sample_tests::{Noise, Sort, compiled, random, resistor};
use super::*;

/// The current that leaves a node into an element's first terminal, given the
/// current as it is reported.
fn into_first(kind: &Kind, current: f64) -> f64 {
    match kind {
        Kind::VoltageSource(_) | Kind::Zener(_) => -current,
        _ => current,
    }
}

/// Most that the currents at a node may differ from zero, as a part of the
/// largest current of the network. The linear solver holds the largest
/// multiplier at 100, so 100 roundings of 1.1e-16 each can add up; the random
/// conductances span five decades more.
const BALANCE: f64 = 1e-9;

fn check_currents(network: &Network, point: &OperatingPoint<'_>) {
    let mut nodes: Vec<(String, f64)> = Vec::new();
    let mut largest = 0.0_f64;
    for element in network.elements() {
        let current = point.current(&element.name).unwrap();
        largest = largest.max(current.abs());
        let (leaving, entering) = match (&element.kind, element.nodes.as_slice()) {
            // What an amplifier delivers comes from its supplies.
            (Kind::Amplifier(_), [_, _, out]) => (None, Some(out)),
            (_, [first, second]) => (Some(first), Some(second)),
            _ => panic!("{element:?}"),
        };
        let current = into_first(&element.kind, current);
        for (node, sign) in [(leaving, 1.0), (entering, -1.0)] {
            let Some(node) = node else { continue };
            match nodes.iter_mut().find(|(name, _)| name == node) {
                Some((_, sum)) => *sum += sign * current,
                None => nodes.push((node.clone(), sign * current)),
            }
        }
    }
    let with_amplifiers = network
        .elements()
        .iter()
        .any(|element| matches!(element.kind, Kind::Amplifier(_)));
    for (node, sum) in nodes {
        if node == network.ground() && with_amplifiers {
            continue;
        }
        assert!(
            sum.abs() <= BALANCE * largest,
            "{node}: {sum} of {largest}; {network:?}"
        );
    }
}

fn check_powers(network: &Network, point: &OperatingPoint<'_>) {
    let (mut balance, mut whole) = (0.0, 0.0);
    for element in network.elements() {
        let power = point.power(&element.name).unwrap();
        whole += power.abs();
        balance += match element.kind {
            Kind::VoltageSource(_) | Kind::CurrentSource(_) | Kind::Amplifier(_) => -power,
            _ => power,
        };
    }
    assert!(
        balance.abs() <= BALANCE * whole,
        "{balance} of {whole}; {network:?}"
    );
}

/// Kirchhoff's current law, and what Tellegen's theorem says of powers: what
/// is delivered is what is taken up.
#[test]
fn currents_and_powers_balance() {
    let mut noise = Noise(1);
    let mut solved = 0;
    for round in 0..600 {
        let sorts = [Sort::Resistive, Sort::Junctions, Sort::Everything];
        let network = random(&mut noise, sorts[round % 3]);
        let compiled = compiled(&network);
        if !compiled.steady_faults().is_empty() {
            // Random inductors lie in parallel at times.
            continue;
        }
        let point = match compiled.operating_point(&compiled.nominal()) {
            Ok(point) => point,
            Err(fault) => panic!("{fault}: {network:?}"),
        };
        check_currents(&network, &point);
        check_powers(&network, &point);
        solved += 1;
    }
    assert!(solved > 500, "{solved}");
}

/// A network of resistors, inductors and capacitors hands a current over from
/// one node to another as well as back (Lorentz reciprocity).
#[test]
fn passive_networks_are_reciprocal() {
    let mut noise = Noise(2);
    for _ in 0..200 {
        let mut network = random(&mut noise, Sort::Reactive);
        network.add("IA", ["0", "1"], Kind::CurrentSource(Source::default()));
        network.add("IB", ["0", "2"], Kind::CurrentSource(Source::default()));
        let compiled = compiled(&network);
        let frequency = [noise.decades(1.0, 1e5)];
        let gain = |source: &str, to: &str| -> Complex64 {
            let transfer = compiled.gain(source, to).unwrap();
            compiled
                .sweep(&compiled.nominal(), &frequency, &transfer)
                .unwrap()[0]
        };
        let (there, back) = (gain("IA", "2"), gain("IB", "1"));
        let scale = gain("IA", "1").norm().max(gain("IB", "2").norm());
        assert!((there - back).norm() <= 1e-10 * scale, "{there} {back}");
    }
}

/// In a linear network every source acts as if the others were at rest.
#[test]
fn sources_superpose() {
    let mut noise = Noise(3);
    for _ in 0..200 {
        let mut network = random(&mut noise, Sort::Resistive);
        network.add("V2", ["in2", "0"], Kind::VoltageSource(Source::steady(3.0)));
        network.add("RV2", ["in2", "2"], resistor(2200.0));
        let compiled = compiled(&network);
        let nominal = compiled.nominal();
        let at = |parameters: &[f64]| {
            let point = compiled.operating_point(parameters).unwrap();
            point.voltage("3").unwrap()
        };
        let is_source = |parameter: &&Parameter| matches!(parameter.name, "voltage" | "current");
        let (mut sum, mut scale) = (0.0, 0.0);
        for source in compiled.parameters().iter().filter(is_source) {
            let alone: Vec<f64> = compiled
                .parameters()
                .iter()
                .map(|parameter| {
                    let other = is_source(&parameter) && parameter.element != source.element;
                    if other { 0.0 } else { parameter.nominal }
                })
                .collect();
            let part = at(&alone);
            sum += part;
            scale += part.abs();
        }
        let together = at(&nominal);
        assert!((sum - together).abs() <= 1e-10 * scale, "{sum} {together}");
    }
}

/// A transfer is the ratio of the phasors that it is of, and a source's gain
/// times its phasor is that phasor where it is alone.
#[test]
fn transfers_are_ratios_of_phasors() {
    let mut noise = Noise(4);
    for _ in 0..100 {
        let network = random(&mut noise, Sort::Reactive);
        let compiled = compiled(&network);
        let nominal = compiled.nominal();
        let frequency = noise.decades(1.0, 1e5);
        let phasors = compiled.phasors(&nominal, frequency).unwrap();
        let ratio = phasors.voltage("2").unwrap() / phasors.voltage("in").unwrap();
        let transfer = compiled.transfer("in", "2").unwrap();
        let found = compiled.sweep(&nominal, &[frequency], &transfer).unwrap()[0];
        assert!((found - ratio).norm() <= 1e-12 * ratio.norm());
        let mut sum = Complex64::new(0.0, 0.0);
        for element in network.elements() {
            if let Kind::VoltageSource(source) | Kind::CurrentSource(source) = element.kind {
                let gain = compiled.gain(&element.name, "2").unwrap();
                let gain = compiled.sweep(&nominal, &[frequency], &gain).unwrap()[0];
                sum += gain * Complex64::from_polar(source.amplitude, source.phase);
            }
        }
        let whole = phasors.voltage("2").unwrap();
        assert!((sum - whole).norm() <= 1e-9 * whole.norm(), "{sum} {whole}");
    }
}

/// Truth: the formulas of inverting and non-inverting amplifiers (textbook),
/// `-R2/R1` and `1 + R2/R1`; with a single pole both have their corner at the
/// gain-bandwidth product over `1 + R2/R1`.
#[test]
fn amplifiers_amplify() {
    let single_pole = Amplifier::SinglePole {
        gain: 1e9,
        gain_bandwidth: 1e6,
        output_resistance: None,
    };
    for (amplifier, allowed) in [(Amplifier::Ideal, 1e-12), (single_pole, 1e-7)] {
        let mut network = Network::new("0");
        let source = Source {
            steady: 0.5,
            amplitude: 1.0,
            phase: 0.0,
        };
        network
            .add("V1", ["in", "0"], Kind::VoltageSource(source))
            .add("R1", ["in", "m"], resistor(1000.0))
            .add("R2", ["m", "out"], resistor(9000.0))
            .add("U1", ["0", "m", "out"], Kind::Amplifier(amplifier))
            .add("R3", ["n", "0"], resistor(1000.0))
            .add("R4", ["n", "out2"], resistor(9000.0))
            .add("U2", ["in", "n", "out2"], Kind::Amplifier(amplifier));
        let compiled = compiled(&network);
        let nominal = compiled.nominal();
        let point = compiled.operating_point(&nominal).unwrap();
        assert!((point.voltage("out").unwrap() + 4.5).abs() < 10.0 * allowed);
        assert!((point.voltage("out2").unwrap() - 5.0).abs() < 10.0 * allowed);
        let corner = [1e5];
        for (node, gain) in [("out", 9.0), ("out2", 10.0)] {
            let transfer = compiled.transfer("in", node).unwrap();
            let found = compiled.sweep(&nominal, &corner, &transfer).unwrap()[0].norm();
            let expected = if amplifier == Amplifier::Ideal {
                gain
            } else {
                gain / std::f64::consts::SQRT_2
            };
            assert!((found / expected - 1.0).abs() < allowed, "{node} {found}");
        }
    }
}

/// Truth: the impedance at resonance is `R_E (1 + Q_MS / Q_ES)` when the
/// coil's inductance is left out (Small 1972, from memory); at DC a
/// loudspeaker is its voice coil.
#[test]
fn a_loudspeaker_is_largest_at_its_resonance() {
    let speaker = Loudspeaker {
        dc_resistance: 6.2,
        coil_inductance: 0.0,
        resonance: 110.0,
        mechanical_q: 3.6,
        electrical_q: 0.9,
    };
    let mut network = Network::new("0");
    let source = Source {
        steady: 3.1,
        amplitude: 1.0,
        phase: 0.0,
    };
    network.add("V1", ["in", "0"], Kind::VoltageSource(source));
    network.add("LS1", ["in", "0"], Kind::Loudspeaker(speaker));
    let compiled = compiled(&network);
    let nominal = compiled.nominal();
    let point = compiled.operating_point(&nominal).unwrap();
    assert!((point.current("LS1").unwrap() - 0.5).abs() < 1e-12);
    assert!((point.power("LS1").unwrap() - 1.55).abs() < 1e-12);
    let impedance = compiled.input_impedance("V1").unwrap();
    let found = compiled.sweep(&nominal, &[110.0], &impedance).unwrap()[0];
    assert!(
        (found - Complex64::new(6.2 * 5.0, 0.0)).norm() < 1e-9,
        "{found}"
    );
}

/// What a current source sees is its own voltage for each ampere.
#[test]
fn a_current_source_sees_the_impedance_too() {
    let mut network = Network::new("0");
    network
        .add("I1", ["0", "a"], Kind::CurrentSource(Source::default()))
        .add("R1", ["a", "0"], resistor(330.0))
        .add("C1", ["a", "0"], Kind::Capacitor { capacitance: 1e-6 });
    let compiled = compiled(&network);
    let impedance = compiled.input_impedance("I1").unwrap();
    let frequency = 1000.0;
    let found = compiled
        .sweep(&compiled.nominal(), &[frequency], &impedance)
        .unwrap()[0];
    let omega = std::f64::consts::TAU * frequency;
    let expected = 1.0 / Complex64::new(1.0 / 330.0, omega * 1e-6);
    assert!((found - expected).norm() < 1e-10 * expected.norm());
}

#[test]
fn a_switch_has_two_positions() {
    let mut network = Network::new("0");
    network
        .add("V1", ["in", "0"], Kind::VoltageSource(Source::steady(6.0)))
        .add("R1", ["in", "out"], resistor(1000.0))
        .add("S1", ["out", "low"], Kind::Switch { closed: true })
        .add("R2", ["low", "0"], resistor(500.0))
        .add("R3", ["out", "0"], resistor(1000.0));
    let voltage = |network: &Network| {
        let compiled = compiled(network);
        let point = compiled.operating_point(&compiled.nominal()).unwrap();
        (
            point.voltage("out").unwrap(),
            point.current("S1").unwrap(),
            point.power("S1").unwrap(),
        )
    };
    let (closed, current, power) = voltage(&network);
    assert!((closed - 1.5).abs() < 1e-12 && (current - 3e-3).abs() < 1e-15);
    assert_eq!(power, 0.0);
    let (open, current, power) = voltage(network.set_switch("S1", false));
    assert!((open - 3.0).abs() < 1e-12);
    assert_eq!((current, power), (0.0, 0.0));
}
