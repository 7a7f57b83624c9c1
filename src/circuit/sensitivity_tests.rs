//! Exact derivatives, against differences of results.

use super::sample_tests::{Noise, Sort, compiled, random, resistor, silicon};
use super::*;

/// Relative step of the differences.
const STEP: f64 = 1e-4;

/// Most that a derivative may differ from the difference, both times the
/// parameter, as a part of the largest such product or the value. What is left
/// of the truncation error is of the order of (40 `STEP`)⁴, 3e-10, for the
/// steepest exponentials.
const CLOSE: f64 = 1e-7;

/// Largest rounding error of a result, as a part of the same, that differences
/// are made of.
const QUIET: f64 = 1e-11;

#[derive(PartialEq, Debug)]
enum Judged {
    Agrees,
    /// There is nothing to compare with: a corner of a characteristic lies
    /// within the step, or the result is the small difference of large numbers.
    Nothing,
}

/// The rounding error of a result: how far it is from lying in the middle
/// between its neighbours, so near that no curvature shows.
fn noise_of(network: &Compiled, wanted: &Wanted, value: f64) -> f64 {
    let mut noise = Noise(5);
    let mut workspace = network.workspace();
    let errors = (0..12).map(|_| {
        let steps: Vec<f64> = (0..network.parameters().len())
            .map(|_| 1e-9 * noise.between(-1.0, 1.0))
            .collect();
        let mut neighbour = |sign: f64| {
            let moved: Vec<f64> = network
                .nominal()
                .iter()
                .zip(&steps)
                .map(|(nominal, step)| nominal * (1.0 + sign * step))
                .collect();
            network.value_in(&mut workspace, &moved, wanted).unwrap()
        };
        (0.5 * (neighbour(1.0) + neighbour(-1.0)) - value).abs()
    });
    errors.fold(0.0, f64::max)
}

/// Compares every derivative with a central difference, extrapolated to a step
/// of zero (Richardson).
fn judge(network: &Compiled, wanted: &Wanted) -> Judged {
    let nominal = network.nominal();
    let (value, gradient) = network.value_and_gradient(&nominal, wanted).unwrap();
    let mut workspace = network.workspace();
    let mut moved = |at: usize, by: f64| {
        let mut parameters = nominal.clone();
        parameters[at] += by;
        network
            .value_in(&mut workspace, &parameters, wanted)
            .unwrap()
    };
    let size = |at: usize| match nominal[at] {
        0.0 => 1.0,
        nominal => nominal.abs(),
    };
    let products = (0..nominal.len()).map(|at| (gradient[at] * size(at)).abs());
    let scale = products.fold(value.abs(), f64::max);
    let noise = noise_of(network, wanted, value);
    if noise > QUIET * scale {
        return Judged::Nothing;
    }
    for (at, &derivative) in gradient.iter().enumerate() {
        if nominal[at] == 0.0 && network.parameters()[at].limit != Limit::Any {
            continue;
        }
        let step = STEP * size(at);
        let mut difference = |step: f64| (moved(at, step) - moved(at, -step)) / (2.0 * step);
        let (wide, narrow) = (difference(step), difference(0.5 * step));
        if ((wide - narrow) * size(at)).abs() > 1e-3 * scale {
            return Judged::Nothing;
        }
        let expected = (4.0 * narrow - wide) / 3.0;
        let apart = ((derivative - expected) * size(at)).abs();
        assert!(
            apart <= CLOSE * scale + 4.0 * noise / STEP,
            "{wanted:?} by {:?}: {derivative} and {expected}, apart {apart} of {scale}, {noise}",
            network.parameters()[at]
        );
    }
    Judged::Agrees
}

/// Everything that can be asked of an element or a node.
fn asked(network: &Compiled, noise: &mut Noise) -> Vec<Wanted> {
    let elements: Vec<String> = network.elements().map(str::to_owned).collect();
    let element = &elements[noise.below(elements.len())];
    let last = elements.last().unwrap();
    let frequency = noise.decades(10.0, 1e5);
    let mut wanted = vec![
        network.voltage("2").unwrap(),
        network.voltage_between("1", "3").unwrap(),
    ];
    for name in [element, last] {
        wanted.push(network.current(name).unwrap());
        wanted.push(network.power(name).unwrap());
    }
    let transfers = [
        network.phasor("2").unwrap(),
        network.phasor_between("3", "1").unwrap(),
        network.transfer("in", "3").unwrap(),
        network.gain("V1", "2").unwrap(),
        network.input_impedance("V1").unwrap(),
        network.phasor_current(element).unwrap(),
        network.phasor_current(last).unwrap(),
    ];
    let aspects = [
        Aspect::Magnitude,
        Aspect::Level,
        Aspect::Phase,
        Aspect::Real,
        Aspect::Imaginary,
    ];
    for transfer in transfers {
        let at = [frequency];
        let phasor = network.sweep(&network.nominal(), &at, &transfer).unwrap()[0];
        // Nothing has a phase, or a level, that is nothing.
        if phasor.norm() > 1e-9 {
            wanted.push(transfer.at(frequency, aspects[noise.below(5)]));
        }
    }
    wanted
}

fn check_random(seed: u64, sort: Sort, rounds: usize) {
    let mut noise = Noise(seed);
    let (mut agree, mut nothing) = (0, 0);
    for _ in 0..rounds {
        let network = compiled(&random(&mut noise, sort));
        if !network.steady_faults().is_empty() {
            continue;
        }
        for wanted in asked(&network, &mut noise) {
            match judge(&network, &wanted) {
                Judged::Agrees => agree += 1,
                Judged::Nothing => nothing += 1,
            }
        }
    }
    assert!(agree > 8 * rounds, "{agree} comparisons");
    assert!(20 * nothing <= agree, "{nothing} of {agree} without one");
}

#[test]
fn derivatives_of_linear_networks() {
    check_random(21, Sort::Resistive, 12);
    check_random(22, Sort::Reactive, 12);
}

#[test]
fn derivatives_through_the_operating_point() {
    check_random(23, Sort::Junctions, 15);
    check_random(24, Sort::Everything, 20);
}

/// A zener in each of its states, and every parameter of it.
#[test]
fn derivatives_of_a_zener_in_every_state() {
    for supply in [12.0, 3.0, -5.0] {
        let mut network = Network::new("0");
        let source = Source {
            steady: supply,
            amplitude: 0.1,
            phase: 0.0,
        };
        network
            .add("V1", ["in", "0"], Kind::VoltageSource(source))
            .add("R1", ["in", "out"], resistor(470.0))
            .add("R2", ["out", "0"], resistor(4700.0))
            .add("Z1", ["0", "out"], Kind::Zener(Zener::new(5.1, 5e-3, 17.0)));
        let network = compiled(&network);
        let ripple = network.transfer("in", "out").unwrap();
        for wanted in [
            network.voltage("out").unwrap(),
            network.current("Z1").unwrap(),
            network.power("Z1").unwrap(),
            ripple.at(100.0, Aspect::Magnitude),
        ] {
            assert_eq!(judge(&network, &wanted), Judged::Agrees, "{supply}");
        }
    }
}

/// Truth: for `v = V R2 / (R1 + R2)` the derivatives by hand.
#[test]
fn a_divider_by_hand() {
    let mut network = Network::new("0");
    network
        .add("V1", ["in", "0"], Kind::VoltageSource(Source::steady(10.0)))
        .add("R1", ["in", "out"], resistor(3000.0))
        .add("R2", ["out", "0"], resistor(1000.0));
    let network = compiled(&network);
    let wanted = network.voltage("out").unwrap();
    let (value, gradient) = network
        .value_and_gradient(&network.nominal(), &wanted)
        .unwrap();
    let by = |element: &str, name: &str| gradient[network.parameter(element, name).unwrap()];
    assert!((value - 2.5).abs() < 1e-12);
    assert!((by("V1", "voltage") - 0.25).abs() < 1e-12);
    assert_eq!(by("V1", "amplitude"), 0.0);
    assert!((by("R1", "resistance") + 10.0 * 1000.0 / 16e6).abs() < 1e-15);
    assert!((by("R2", "resistance") - 10.0 * 3000.0 / 16e6).abs() < 1e-15);
    let power = network.power("R2").unwrap();
    let (value, gradient) = network
        .value_and_gradient(&network.nominal(), &power)
        .unwrap();
    let at = network.parameter("V1", "voltage").unwrap();
    // V² R2 / (R1 + R2)², and twice that over V.
    assert!((value - 6.25e-3).abs() < 1e-15);
    assert!((gradient[at] - 1.25e-3).abs() < 1e-15);
}

/// The slope of a diode moves with its current, and the small signal with it:
/// `|H| = n V_T / (n V_T + R i)` falls as the steady current rises.
#[test]
fn a_small_signal_depends_on_the_steady_current() {
    let mut network = Network::new("0");
    let bias = Kind::CurrentSource(Source::steady(1e-3));
    network
        .add(
            "V1",
            ["in", "0"],
            Kind::VoltageSource(Source::alternating(1.0)),
        )
        .add("R1", ["in", "c"], resistor(1000.0))
        .add("C1", ["c", "a"], Kind::Capacitor { capacitance: 1.0 })
        .add("I1", ["0", "a"], bias)
        .add("D1", ["a", "0"], silicon())
        .add("R2", ["c", "0"], resistor(1e9));
    let network = compiled(&network);
    let nominal = network.nominal();
    let wanted = network
        .transfer("in", "a")
        .unwrap()
        .at(1e4, Aspect::Magnitude);
    let (value, gradient) = network.value_and_gradient(&nominal, &wanted).unwrap();
    let scale = 1.380_649e-23 / 1.602_176_634e-19 * ROOM_TEMPERATURE;
    let slope = 1e-3 / scale;
    let expected = 1.0 / (1.0 + 1000.0 * slope);
    assert!((value / expected - 1.0).abs() < 1e-5, "{value} {expected}");
    let by_current = -1000.0 / scale * expected * expected;
    let at = network.parameter("I1", "current").unwrap();
    assert!((gradient[at] / by_current - 1.0).abs() < 1e-5);
    assert_eq!(judge(&network, &wanted), Judged::Agrees);
}
